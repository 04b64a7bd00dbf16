"""A second opinion from meshes: plies with their holes cut out as trimesh solids, and cables as samples."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from barnloom.model.building import Span
from barnloom.routing.check.finding import Finding, site_of
from barnloom.routing.check.legs import Legs, legs_of
from barnloom.routing.check.runs import meets_next
from barnloom.routing.check.shapes import Floats, Solids, Truths, near_pairs, solids_of
from barnloom.routing.plan import Plan

if TYPE_CHECKING:
    import trimesh

STEP_IN = 0.5
ASIDE_IN = 0.02
"""A sample counts as in wood if four places this far round it do: a cable on a face has one that does not."""
END_IN = 0.05
"""Samples keep this far off the ends of a leg, where it may touch the next thing."""
SECTIONS = 24

Line = tuple[Floats, Floats, float]
"""Axis of a hole from end to end, each (3,), and its diameter."""


def deep_findings(plan: Plan) -> Iterator[Finding]:
    """Return the cables that are inside wood according to the meshes."""
    site = site_of(plan)
    legs, unreadable = legs_of(site)
    yield from unreadable
    if not len(legs):
        return
    solids = solids_of(plan.building)
    holes = _holes(legs)
    meshes: dict[int, trimesh.Trimesh] = {}
    low, high = np.minimum(legs.start, legs.end) - ASIDE_IN, np.maximum(legs.start, legs.end) + ASIDE_IN
    near: dict[int, list[int]] = defaultdict(list)
    for leg, solid in zip(*near_pairs(low, high, solids.world), strict=True):
        if solids.kinds[solid] == "member":
            near[int(leg)].append(int(solid))
    for leg in sorted(near):
        points = _samples(legs, leg)
        inside = np.zeros(points.shape[:2], dtype=bool)
        for solid in near[leg]:
            if solid not in meshes:
                meshes[solid] = _bored(solids, solid, holes[solids.names[solid]])
            frame = np.full(points.shape[0] * points.shape[1], solid)
            inside |= contains(meshes[solid], solids.frames.local(frame, points.reshape(-1, 3))).reshape(inside.shape)
        count = int(np.sum(inside.all(axis=1)))
        if count:
            names = " ".join(sorted({solids.names[solid] for solid in near[leg]}))
            words = f"leg {legs.number[leg] + 1} has {count} of {len(points)} samples inside the meshes of {names}"
            yield Finding("deep.wood", plan.cables[legs.cable[leg]].id, words)


def bored_block(spans: Sequence[Span], holes: Sequence[Line]) -> trimesh.Trimesh:
    """
    Return a block with holes cut out, as a closed mesh.

    Parameters
    ----------
    spans : three (low, high)
        The block along each axis, inches.
    holes : sequence of (start (3,), end (3,), diameter)
        Each is a prism of 24 sides, its corners on the hole's circle, from ``start`` to ``end``.
    """
    import trimesh

    block: trimesh.Trimesh = trimesh.creation.box(bounds=np.array(spans, dtype=np.float64).T)
    if not holes:
        return block
    drills = [
        trimesh.creation.cylinder(radius=diameter / 2, sections=SECTIONS, segment=np.array([start, end]))
        for start, end, diameter in holes
    ]
    bored: trimesh.Trimesh = trimesh.boolean.difference([block, *drills], engine="manifold")
    return bored


def contains(mesh: trimesh.Trimesh, points: Floats) -> Truths:
    """
    Return which points (n, 3) are inside a closed mesh.

    Notes
    -----
    By the winding number: the solid angles of all triangles seen from inside add up to the whole sphere, from outside
    to nothing (A. van Oosterom and J. Strackee, The solid angle of a plane triangle, 1983).
    """
    corners = np.asarray(mesh.triangles)[None] - points[:, None, None]
    far = np.sqrt(np.sum(corners * corners, axis=3))
    a, b, c = corners[:, :, 0], corners[:, :, 1], corners[:, :, 2]
    volume = np.sum(a * np.cross(b, c), axis=2)
    spread = far[..., 0] * far[..., 1] * far[..., 2]
    spread = spread + np.sum(a * b, axis=2) * far[..., 2]
    spread = spread + np.sum(b * c, axis=2) * far[..., 0] + np.sum(c * a, axis=2) * far[..., 1]
    turns = np.sum(2 * np.arctan2(volume, spread), axis=1) / (4 * np.pi)
    result: Truths = np.abs(turns) > 0.5
    return result


def _holes(legs: Legs) -> dict[str, list[Line]]:
    """Return the holes that cables pass, by member, in the world; two that meet in a corner go into both members."""
    holes: dict[str, list[Line]] = defaultdict(list)
    for leg, track in enumerate(legs.tracks):
        if track.bore is None or track.member is None or legs.length[leg] == 0:
            continue
        way = (legs.end[leg] - legs.start[leg]) / legs.length[leg] * END_IN
        line = (legs.start[leg] - way, legs.end[leg] + way, track.bore.diameter_in)
        members = [track.member]
        members += (
            [m for m in (legs.tracks[leg + 1].member,) if m and meets_next(legs, leg)] if leg + 1 < len(legs) else []
        )
        members += [m for m in (legs.tracks[leg - 1].member,) if m and leg > 0 and meets_next(legs, leg - 1)]
        for member in members:
            holes[member.id].append(line)
    return holes


def _bored(solids: Solids, solid: int, holes: Sequence[Line]) -> trimesh.Trimesh:
    """Return one ply with the holes of its member, in its own axes."""
    frame = np.full(2, solid)
    local = [(*solids.frames.local(frame, np.array([start, end])), diameter) for start, end, diameter in holes]
    spans = [(float(low), float(high)) for low, high in zip(solids.low[solid], solids.high[solid], strict=True)]
    return bored_block(spans, local)


def _samples(legs: Legs, leg: int) -> Floats:
    """Return places along a leg with four round each, (n, 4, 3)."""
    length = float(legs.length[leg])
    ends = (END_IN, length - END_IN) if length > 2 * END_IN else (length / 2, length / 2)
    at = np.linspace(*ends, int(np.ceil((ends[1] - ends[0]) / STEP_IN)) + 1) / max(length, END_IN)
    main = int(np.argmax(np.abs(legs.steps[leg])))
    one, other = (ASIDE_IN * legs.frames.axes[leg, (main + turn) % 3] for turn in (1, 2))
    round_it = np.stack([one + other, one - other, -one + other, -one - other])
    line = legs.start[leg] + at[:, None] * (legs.end[leg] - legs.start[leg])
    result: Floats = line[:, None] + round_it
    return result

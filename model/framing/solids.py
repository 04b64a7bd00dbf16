"""Where solid boxes at any angle run into each other: separating axes, many pairs at once.

Two boxes overlap by the least distance along one direction that would part them; the directions square to a face of
either, or to an edge of each, are enough to look at (the separating axis theorem).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from barnloom.model.building import Member, Ply, Vec
from barnloom.model.spans import Floats, Ints, overlapping

_PARALLEL = 1e-9


@dataclass(frozen=True, slots=True)
class Solids:
    """Boxes: ``centre`` (n, 3), unit ``axes`` (n, 3, 3) by row, ``half`` (n, 3) sizes along them; inches.

    ``owner`` (n,) numbers what each box is part of.
    """

    centre: Floats
    axes: Floats
    half: Floats
    owner: Ints

    @property
    def reach(self) -> Floats:
        """Half sizes (n, 3) of the upright boxes round them."""
        return np.asarray(np.einsum("ni,nij->nj", self.half, np.abs(self.axes)))

    def part(self, chosen: Ints) -> Solids:
        """Return some of them, by number."""
        return Solids(self.centre[chosen], self.axes[chosen], self.half[chosen], self.owner[chosen])


def solid_boxes(corners: Sequence[Vec], axes: Sequence[tuple[Vec, Vec, Vec]], sizes: Sequence[Vec]) -> Solids:
    """Return boxes from the corner where each begins, its directions, and its sizes along them (inches)."""
    directions = np.asarray(axes, dtype=np.float64).reshape(-1, 3, 3)
    half = np.asarray(sizes, dtype=np.float64).reshape(-1, 3) / 2
    low = np.asarray(corners, dtype=np.float64).reshape(-1, 3)
    return Solids(low + np.einsum("ni,nij->nj", half, directions), directions, half, np.arange(len(half)))


def member_solids(members: Sequence[Member]) -> Solids:
    """Return the boxes of all members, one for each ply where plies differ; ``owner`` is the place in ``members``."""
    parts = [(number, ply) for number, member in enumerate(members) for ply in _parts(member)]
    axes = np.asarray([(m.along, m.bit, m.across) for m in (members[number] for number, _ in parts)], dtype=np.float64)
    spans = np.asarray([(ply.along, ply.bit, ply.across) for _, ply in parts], dtype=np.float64).reshape(-1, 3, 2)
    origins = np.asarray([members[number].origin for number, _ in parts], dtype=np.float64).reshape(-1, 3)
    axes = axes.reshape(-1, 3, 3)
    middle, half = spans.mean(axis=2), (spans[:, :, 1] - spans[:, :, 0]) / 2
    owner = np.asarray([number for number, _ in parts], dtype=np.intp)
    return Solids(origins + np.einsum("ni,nij->nj", middle, axes), axes, half, owner)


def _parts(member: Member) -> tuple[Ply, ...]:
    """Return the plies of a member; one box for all where they are equal."""
    if len({(ply.along, ply.across) for ply in member.plies}) > 1:
        return member.plies
    sizes = (member.length_in, member.thickness_in, member.depth_in)
    return (Ply(along=(0.0, sizes[0]), bit=(0.0, sizes[1]), across=(0.0, sizes[2])),)


def near_pairs(a: Solids, b: Solids) -> tuple[Ints, Ints]:
    """Return the pairs (of a, of b) whose upright boxes touch or overlap."""
    if not len(a.half) or not len(b.half):
        return np.empty(0, np.intp), np.empty(0, np.intp)
    axis = int(np.argmax(np.ptp(np.vstack([a.centre, b.centre]), axis=0)))
    reach_a, reach_b = a.reach, b.reach
    order = np.argsort(b.centre[:, axis], kind="stable")
    spans_a, spans_b = (
        np.stack([one.centre[:, axis] - reach[:, axis], one.centre[:, axis] + reach[:, axis]], axis=1)
        for one, reach in ((a, reach_a), (b, reach_b))
    )
    rows, columns = overlapping(spans_a, spans_b[order])
    columns = order[columns]
    touching = np.all(np.abs(a.centre[rows] - b.centre[columns]) <= reach_a[rows] + reach_b[columns], axis=1)
    return rows[touching], columns[touching]


def overlap_in(a: Solids, rows: Ints, b: Solids, columns: Ints) -> Floats:
    """Return how far each pair (a[rows], b[columns]) overlaps (inches, (n,)); negative: apart by at least that."""
    between = b.centre[columns] - a.centre[rows]
    axes_a, axes_b = a.axes[rows], b.axes[columns]
    crossed = np.cross(axes_a[:, :, None, :], axes_b[:, None, :, :]).reshape(len(rows), 9, 3)
    length = np.linalg.norm(crossed, axis=2)
    usable = length > _PARALLEL
    crossed = np.divide(crossed, length[:, :, None], out=np.zeros_like(crossed), where=usable[:, :, None])
    directions = np.concatenate([axes_a, axes_b, crossed], axis=1)
    reach = _reach(directions, axes_a, a.half[rows]) + _reach(directions, axes_b, b.half[columns])
    apart = np.abs(np.einsum("nkj,nj->nk", directions, between))
    depth = reach - apart
    depth[:, 6:][~usable] = np.inf
    return np.asarray(depth.min(axis=1))


def apart_in(a: Solids, rows: Ints, b: Solids, columns: Ints) -> Floats:
    """Return how far apart each pair is at least (inches, (n,)); exact where the two are parallel."""
    between = b.centre[columns] - a.centre[rows]
    axes_a, axes_b = a.axes[rows], b.axes[columns]
    gaps = []
    for directions in (axes_a, axes_b):
        reach = _reach(directions, axes_a, a.half[rows]) + _reach(directions, axes_b, b.half[columns])
        gap = np.abs(np.einsum("nkj,nj->nk", directions, between)) - reach
        gaps.append(np.linalg.norm(np.maximum(gap, 0.0), axis=1))
    return np.asarray(np.maximum(*gaps))


def _reach(directions: Floats, axes: Floats, half: Floats) -> Floats:
    """Return how far boxes reach from their centres in each of their directions, (n, k)."""
    return np.asarray(np.einsum("nki,ni->nk", np.abs(np.einsum("nkj,nij->nki", directions, axes)), half))

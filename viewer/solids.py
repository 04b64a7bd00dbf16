"""The building's pieces as corners, axes and runs in world inches: what every picture and 3D file starts from."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from barnloom.model.building import Box, Building, Member, Vec
from barnloom.routing.plan import Bore

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FACES: Ints = np.array([[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]])
"""Corners of the six faces of a box, counter-clockwise seen from outside; see `corners` for their order."""
EDGES: Ints = np.array([[0, 1], [2, 3], [4, 5], [6, 7], [0, 2], [1, 3], [4, 6], [5, 7], [0, 4], [1, 5], [2, 6], [3, 7]])
"""Ends of its twelve edges."""
STEPS: Ints = np.array([[i, j, k] for i in (0, 1) for j in (0, 1) for k in (0, 1)])
"""Which end of each axis each corner is at."""


def corners(members: Sequence[Member]) -> tuple[Floats, Ints]:
    """
    Corners of every ply of every member.

    Parameters
    ----------
    members : sequence of Member
        May be empty.

    Returns
    -------
    (n, 8, 3) float
        World inches. Corner 4 i + 2 j + k is at the low (0) or high (1) end of the first, second and third axis; the
        axes are along, bit and across, the last reversed where the member's axes are left-handed.
    (n,) int
        Which member each ply belongs to.
    """
    if not members:
        return np.empty((0, 8, 3)), np.empty(0, dtype=np.int64)
    owner = np.repeat(np.arange(len(members)), [len(m.plies) for m in members])
    axes = np.array([(m.along, m.bit, m.across) for m in members], dtype=float)[owner]
    origin = np.array([m.origin for m in members], dtype=float)[owner]
    spans = np.array([(p.along, p.bit, p.across) for m in members for p in m.plies], dtype=float)
    return _box(origin, axes, spans), owner


def box_corners(boxes: Sequence[Box], building: Building) -> Floats:
    """
    Corners of the bodies of boxes and panels, in the same order as `corners`.

    Parameters
    ----------
    boxes : sequence of Box
        Of ``building``. A stub has no body: all its corners are one point.
    building : Building
        Knows the axes of what they are fixed to.

    Returns
    -------
    (n, 8, 3) float
        World inches.
    """
    if not boxes:
        return np.empty((0, 8, 3))
    assemblies = {a.id: (a.u, a.v, a.w) for a in building.assemblies}
    members = {m.id: m for m in building.members}
    axes = np.array([_box_axes(box, assemblies, members) for box in boxes], dtype=float)
    half = np.array([box.size_in if box.kind != "stub" else (0, 0, 0) for box in boxes], dtype=float) / 2
    return _box(np.array([box.at for box in boxes], dtype=float), axes, np.stack([-half, half], axis=-1))


def _box_axes(
    box: Box, assemblies: dict[str, tuple[Vec, Vec, Vec]], members: dict[str, Member]
) -> tuple[Vec, Vec, Vec]:
    if not box.side:
        return assemblies[box.host]
    host = members[box.host]
    return (host.along, host.bit, host.across) if "across" in box.side else (host.along, host.across, host.bit)


def _box(origin: Floats, axes: Floats, spans: Floats) -> Floats:
    """Boxes from (n, 3) origins, (n, 3 axes, 3) unit vectors and (n, 3 axes, 2) spans, right-handed corner order."""
    left_handed = np.linalg.det(axes) < 0
    spans = spans.copy()
    axes = axes.copy()
    axes[left_handed, 2] *= -1
    spans[left_handed, 2] = -spans[left_handed, 2, ::-1]
    at = spans[:, np.arange(3), STEPS]
    corner: Floats = origin[:, None, :] + np.einsum("nca,nax->ncx", at, axes)
    return corner


def bore_ends(bores: Sequence[Bore], building: Building) -> tuple[Floats, Floats]:
    """
    Middle of each bore on the two faces of its member, where the bit enters and where it leaves.

    Returns
    -------
    two of (n, 3) float
        World inches.
    """
    if not bores:
        return np.empty((0, 3)), np.empty((0, 3))
    members = {m.id: m for m in building.members}
    hosts = [members[bore.member] for bore in bores]
    axes = np.array([(m.along, m.bit, m.across) for m in hosts], dtype=float)
    place = np.array([(b.along_in, 0.0, b.across_in) for b in bores])
    start = np.array([m.origin for m in hosts], dtype=float) + np.einsum("na,nax->nx", place, axes)
    return start, start + axes[:, 1] * np.array([m.thickness_in for m in hosts])[:, None]


def rounded(points: Floats, radius_in: float, *, steps: int = 4) -> Floats:
    """
    Round the corners of a polyline by short curves that stay inside them.

    Parameters
    ----------
    points : (n, d) float
        Two points or more.
    radius_in : float
        How far before and after a corner the curve begins and ends; less where a leg is shorter than twice that.
    steps : int
        Pieces of each curve.

    Returns
    -------
    (m, d) float
        With the same first and last point. Consecutive equal points are dropped.
    """
    points = _distinct(points)
    lengths = np.linalg.norm(np.diff(points, axis=0), axis=1)
    pieces = [points[:1]]
    t = np.linspace(0.0, 1.0, steps + 1)[:, None]
    for i in range(1, len(points) - 1):
        before, corner, after = points[i - 1], points[i], points[i + 1]
        cut = min(radius_in, lengths[i - 1] / 2, lengths[i] / 2)
        a = corner + (before - corner) / lengths[i - 1] * cut
        b = corner + (after - corner) / lengths[i] * cut
        pieces.append((1 - t) ** 2 * a + 2 * t * (1 - t) * corner + t**2 * b)
    return _distinct(np.concatenate([*pieces, points[-1:]]))


def _distinct(points: Floats) -> Floats:
    """Less those that are where the one before is, but two at least."""
    moved = np.linalg.norm(np.diff(points, axis=0), axis=1) > 1e-6
    kept = points[np.concatenate([[True], moved])]
    return kept if len(kept) > 1 else points[[0, -1]]


def tube(path: Floats, radius_in: float, *, sides: int) -> tuple[Floats, Ints]:
    """
    Wrap a closed skin round a polyline.

    Parameters
    ----------
    path : (n, 3) float
        No two neighbours equal; bends are rounded already.
    radius_in : float
    sides : int

    Returns
    -------
    (sides * n + 2, 3) float
        Corners; the last two are the ends of the path.
    (2 * sides * n, 3) int
        Triangles, counter-clockwise seen from outside.
    """
    n = len(path)
    legs = np.diff(path, axis=0)
    legs /= np.maximum(np.linalg.norm(legs, axis=1, keepdims=True), 1e-9)
    tangents = np.concatenate([legs[:1], legs[:-1] + legs[1:], legs[-1:]])
    tangents /= np.maximum(np.linalg.norm(tangents, axis=1, keepdims=True), 1e-9)
    # The frame is carried from ring to ring with as little twist as may be.
    across = np.eye(3)[np.argmin(np.abs(tangents[0]))]
    frames = np.empty((n, 2, 3))
    for i, tangent in enumerate(tangents):
        across = across - (across @ tangent) * tangent
        across /= np.linalg.norm(across)
        frames[i] = across, np.cross(tangent, across)
    turns = np.arange(sides) * (2 * np.pi / sides)
    ring = np.stack([np.cos(turns), np.sin(turns)], axis=-1) * radius_in
    points = path[:, None, :] + np.einsum("sk,nkx->nsx", ring, frames)
    here = (np.arange(n - 1)[:, None] * sides + np.arange(sides)).ravel()
    beside = (np.arange(n - 1)[:, None] * sides + (np.arange(sides) + 1) % sides).ravel()
    first, last = np.arange(sides), (n - 1) * sides + np.arange(sides)
    start, end = np.full(sides, n * sides), np.full(sides, n * sides + 1)
    triangles = [
        np.stack([here, beside, beside + sides], axis=-1),
        np.stack([here, beside + sides, here + sides], axis=-1),
        np.stack([start, np.roll(first, -1), first], axis=-1),
        np.stack([end, last, np.roll(last, -1)], axis=-1),
    ]
    return np.concatenate([points.reshape(-1, 3), path[:1], path[-1:]]), np.concatenate(triangles)

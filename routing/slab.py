"""The free space of one assembly: which parts of its mid-depth plane are open, which are wood, which are barred.

A slab is cut along every face of everything that stands in it, so each elementary cell is wholly free, wholly one
member, or barred. Nothing is sampled: the cells are exact for members parallel to the assembly's axes; a member that
is not (a brace, a rafter's foot in a ceiling) is cut into short pieces and each piece's outline is barred.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barnloom.model.building import Assembly, Box, Building, Member
from barnloom.model.limits import Limits

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Truths = NDArray[np.bool_]

FREE = 0
BARRED = -1
SLIVER = -2
"""A gap between two members too narrow to lead a cable along: a bit that goes straight on passes it."""
SAME_IN = 1e-6
PIECE_IN = 6.0
"""A member askew in a slab is cut into pieces of this length; only the pieces' outlines are barred."""
ABREAST_IN = 1.0
"""A foreign solid this near the plane that cables run on is in their way."""
RAIL_IN = 24.0
"""A low, wide space along a plate or a header is at most this high: cable in it is fastened to that."""
NICK_IN = 0.5
"""Two solids may be this far into each other before one bars the other: tapes err (definitions: overlaps)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rect:
    """The outline of a solid in a slab's (u, v), and what it is: a member's number, or ``BARRED``."""

    what: int
    u: tuple[float, float]
    v: tuple[float, float]


@dataclass(frozen=True, eq=False, slots=True)
class Cells:
    """Free boxes of a slab: spans in u and v, shape (n, 2) each; all as deep as the slab."""

    u: Floats
    v: Floats


@dataclass(frozen=True, eq=False, slots=True)
class Slab:
    """An assembly with its occupancy.

    ``faces_u`` (n,) and ``faces_v`` (m,) bound the elementary cells; ``occupied`` (n-1, m-1) holds ``FREE``,
    ``BARRED`` or a member's number plus one. ``crossing`` tells for each member's number along which axis ("u", "v",
    "w") a bit goes through it.
    """

    assembly: Assembly
    number: int
    origin: Floats
    axes: Floats
    faces_u: Floats
    faces_v: Floats
    occupied: Ints
    crossing: dict[int, str]
    cells: Cells
    corners_u: Floats
    corners_v: Floats
    """Edges of what bars the way and is no framing: holes in floors, chimneys, ducts, boxes."""

    @property
    def straight(self) -> Ints:
        """Occupancy for a cable that goes straight across: narrow gaps are passed."""
        result: Ints = np.where(self.occupied == SLIVER, FREE, self.occupied)
        return result

    def sliver_middles(self) -> Floats:
        """Coordinates u in the middle of narrow gaps, where one hole ends and the next begins."""
        columns = np.flatnonzero(np.any(self.occupied == SLIVER, axis=1))
        result: Floats = (self.faces_u[columns] + self.faces_u[columns + 1]) / 2
        return result

    @property
    def plane_in(self) -> float:
        """Depth coordinate w of the plane that cables run on."""
        return self.assembly.depth_in / 2

    def world(self, u: float, v: float, w: float) -> Floats:
        """Point in the world, (3,), of local coordinates."""
        result: Floats = self.origin + np.array([u, v, w]) @ self.axes
        return result

    def local(self, points: Floats) -> Floats:
        """Local (u, v, w), (..., 3), of points in the world, (..., 3)."""
        result: Floats = (points - self.origin) @ self.axes.T
        return result


def unique_sorted(values: Sequence[float] | Floats) -> Floats:
    """Sorted coordinates with those closer than ``SAME_IN`` to the one before left out."""
    array = np.sort(np.asarray(values, dtype=np.float64))
    if array.size == 0:
        return array
    keep = np.concatenate(([True], np.diff(array) > SAME_IN))
    result: Floats = array[keep]
    return result


def cell_at(faces: Floats, place: float) -> int:
    """Number of the cell between two faces that a place is in; the first or last one for a place outside."""
    return int(np.clip(np.searchsorted(faces, place, side="right") - 1, 0, len(faces) - 2))


def free_until(faces: Floats, cells: Ints, start: float, way: float) -> float:
    """How far the cells between faces are free, up (``way`` positive) or down from a place."""
    at = start
    if way > 0:
        k = int(np.searchsorted(faces, start + 1e-6, side="right")) - 1
        while 0 <= k < len(cells) and cells[k] == FREE:
            at, k = float(faces[k + 1]), k + 1
        return at
    k = int(np.searchsorted(faces, start - 1e-6, side="left")) - 1
    while 0 <= k < len(cells) and cells[k] == FREE:
        at, k = float(faces[k]), k - 1
    return at


def member_points(member: Member, places: Floats | Sequence[float]) -> Floats:
    """Points in the world, (..., 3), of places in a member as (along, bit, across), (..., 3)."""
    axes = np.array([member.along, member.bit, member.across])
    result: Floats = np.array(member.origin) + np.asarray(places) @ axes
    return result


_CORNERS = np.array([(a, b, c) for a in (0, 1) for b in (0, 1) for c in (0, 1)])
"""Which end of each of three spans a corner of a box stands at: corners that differ in one share an edge."""
_EDGES = np.array([(a, b) for a in range(8) for b in range(a + 1, 8) if bin(a ^ b).count("1") == 1])


def _box_corners(spans: Floats) -> Floats:
    """Corners (..., 8, 3) of boxes from their spans (..., 3, 2)."""
    result: Floats = np.stack([spans[..., axis, _CORNERS[:, axis]] for axis in range(3)], axis=-1)
    return result


def _outlines(corners: Floats, low: Floats, high: Floats) -> Floats:
    """Bounding spans in u and v, (n, 2, 2), of the part of each convex box between two depths; NaN if there is none.

    ``corners`` (n, 8, 3) in local coordinates, ordered so that corners differing in one bit of their number share an
    edge; ``low`` and ``high`` (n,).
    """
    depth = corners[:, :, 2]
    inside = (depth >= low[:, None] - SAME_IN) & (depth <= high[:, None] + SAME_IN)
    points, counts = [corners[:, :, :2]], [inside]
    start, end = corners[:, _EDGES[:, 0]], corners[:, _EDGES[:, 1]]
    rise = end[:, :, 2] - start[:, :, 2]
    for level in (low[:, None], high[:, None]):
        cut = (start[:, :, 2] - level) * (end[:, :, 2] - level) < 0
        share = np.divide(level - start[:, :, 2], rise, out=np.zeros_like(rise), where=cut)
        points.append((start + share[:, :, None] * (end - start))[:, :, :2])
        counts.append(cut)
    at, counted = np.concatenate(points, axis=1), np.concatenate(counts, axis=1)[:, :, None]
    spans = np.stack([np.where(counted, at, np.inf).min(axis=1), np.where(counted, at, -np.inf).max(axis=1)], axis=2)
    none = ~counted.any(axis=(1, 2)) | (depth.max(axis=1) <= low + SAME_IN) | (depth.min(axis=1) >= high - SAME_IN)
    spans[none] = np.nan
    return spans


@dataclass(frozen=True, eq=False, slots=True)
class _Timber:
    """Members: origins (n, 3), axes (n, 3, 3), assemblies (n,), ends of upright boxes round them (n, 3); and plies."""

    origin: Floats
    axes: Floats
    assembly: NDArray[np.str_]
    low: Floats
    high: Floats
    spans: Floats
    """Of the plies, (p, 3, 2)."""
    owner: Ints
    """Number of the member that each ply is of, (p,)."""


def _timber(members: Sequence[Member]) -> _Timber:
    origin = np.array([member.origin for member in members]).reshape(-1, 3)
    axes = np.array([(member.along, member.bit, member.across) for member in members]).reshape(-1, 3, 3)
    plies = [(number, ply) for number, member in enumerate(members) for ply in member.plies]
    spans = np.array([(ply.along, ply.bit, ply.across) for _, ply in plies]).reshape(-1, 3, 2)
    owner = np.array([number for number, _ in plies], dtype=np.int64)
    corners = origin[owner, None] + _box_corners(spans) @ axes[owner]
    low, high = np.full_like(origin, np.inf), np.full_like(origin, -np.inf)
    np.minimum.at(low, owner, corners.min(axis=1))
    np.maximum.at(high, owner, corners.max(axis=1))
    return _Timber(
        origin, axes, np.array([member.assembly for member in members], dtype=np.str_), low, high, spans, owner
    )


def _parallel(directions: Floats, axes: Floats) -> Ints:
    """Which of a slab's axes each direction (n, 3) runs along, (n,); -1 where it is askew."""
    along = np.abs(directions @ axes.T)
    best = np.argmax(along, axis=1)
    result: Ints = np.where(np.take_along_axis(along, best[:, None], axis=1)[:, 0] > 1 - 1e-9, best, -1)
    return result


def _member_rects(
    timber: _Timber, assembly: Assembly, origin: Floats, axes: Floats, foreign: Ints
) -> tuple[list[Rect], dict[int, str]]:
    """Outlines of members in a slab, and along which of its axes a bit goes through those that stand square in it."""
    own = timber.assembly == assembly.id
    bit = _parallel(timber.axes[:, 1], axes)
    square = (_parallel(timber.axes[:, 0], axes) >= 0) & (bit >= 0)
    plies = np.flatnonzero(np.isin(timber.owner, foreign))
    length = timber.spans[plies, 0, 1] - timber.spans[plies, 0, 0]
    pieces = np.where(square[timber.owner[plies]], 1, np.maximum(1, np.ceil(length / PIECE_IN))).astype(np.int64)
    of = np.repeat(plies, pieces)
    place = np.arange(len(of)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    spans, owner, step = timber.spans[of], timber.owner[of], np.repeat(length / pieces, pieces)
    last = place == np.repeat(pieces, pieces) - 1
    start = spans[:, 0, 0] + place * step
    spans[:, 0, 1] = np.where(last, spans[:, 0, 1], spans[:, 0, 0] + (place + 1) * step)
    spans[:, 0, 0] = start
    # Its own members bar a slab at any depth (a shallow joist is not passed under); a foreign one only where cables
    # run, and not by a tape's error.
    plane, nick = assembly.depth_in / 2, np.where(own[owner], 0.0, NICK_IN)
    low = np.where(own[owner], 0.0, np.maximum(plane - ABREAST_IN, nick))
    high = np.where(own[owner], assembly.depth_in, np.minimum(plane + ABREAST_IN, 2 * plane - nick))
    world = timber.origin[owner, None] + _box_corners(spans) @ timber.axes[owner]
    found = _outlines((world - origin) @ axes.T, low, high)
    rects: list[Rect] = []
    crossing: dict[int, str] = {}
    for k in np.flatnonzero(np.all(found[:, :, 1] - found[:, :, 0] > 2 * nick[:, None], axis=1)).tolist():
        number, (u, v) = int(owner[k]), found[k].tolist()
        rects.append(Rect(what=number + 1 if square[number] else BARRED, u=(u[0], u[1]), v=(v[0], v[1])))
        if square[number]:
            crossing[number] = "uvw"[bit[number]]
    return rects, crossing


def _fill(faces_u: Floats, faces_v: Floats, rects: Sequence[Rect]) -> Ints:
    occupied = np.zeros((len(faces_u) - 1, len(faces_v) - 1), dtype=np.int64)
    for rect in rects:
        u0, u1 = np.searchsorted(faces_u, (rect.u[0] - SAME_IN, rect.u[1] - SAME_IN))
        v0, v1 = np.searchsorted(faces_v, (rect.v[0] - SAME_IN, rect.v[1] - SAME_IN))
        block = occupied[u0:u1, v0:v1]
        block[...] = np.where((block == FREE) | (block == rect.what), rect.what, BARRED)
    return occupied


def _runs(free: NDArray[np.bool_], widths: Floats) -> Floats:
    """Length of the free run that each cell is in, along the first axis; 0 where not free. Shape as ``free``."""
    total = np.zeros(free.shape)
    running = np.zeros(free.shape[1])
    forward = np.zeros(free.shape)
    for i in range(free.shape[0]):
        running = np.where(free[i], running + widths[i], 0.0)
        forward[i] = running
    best = np.zeros(free.shape[1])
    for i in range(free.shape[0] - 1, -1, -1):
        best = np.where(free[i], np.maximum(best, forward[i]), 0.0)
        total[i] = best
    return total


def _beside(occupied: Ints) -> tuple[Ints, Ints]:
    """What comes next before and after each cell along the first axis (FREE: nothing); shape as ``occupied``."""
    count = occupied.shape[0]
    before, after = np.zeros_like(occupied), np.zeros_like(occupied)
    for i in range(1, count):
        before[i] = np.where(occupied[i - 1] == FREE, before[i - 1], occupied[i - 1])
    for i in range(count - 2, -1, -1):
        after[i] = np.where(occupied[i + 1] == FREE, after[i + 1], occupied[i + 1])
    return before, after


def _free_cells(faces_u: Floats, faces_v: Floats, occupied: Ints) -> Cells:
    """Maximal boxes: free runs in v of each column, equal neighbours merged."""
    spans_u: list[tuple[float, float]] = []
    spans_v: list[tuple[float, float]] = []
    open_runs: dict[tuple[float, float], float] = {}
    for i in range(occupied.shape[0]):
        free = np.concatenate(([False], occupied[i] == FREE, [False]))
        edges = np.flatnonzero(free[1:] != free[:-1])
        runs = {(float(faces_v[a]), float(faces_v[b])) for a, b in zip(edges[::2], edges[1::2], strict=True)}
        for run in sorted(set(open_runs) - runs):
            spans_u.append((open_runs.pop(run), float(faces_u[i])))
            spans_v.append(run)
        for run in runs - set(open_runs):
            open_runs[run] = float(faces_u[i])
    for run in sorted(open_runs):
        spans_u.append((open_runs[run], float(faces_u[-1])))
        spans_v.append(run)
    return Cells(np.array(spans_u).reshape(-1, 2), np.array(spans_v).reshape(-1, 2))


def _slab_of(building: Building, number: int, limits: Limits, timber: _Timber, foreign: Ints) -> Slab:
    """Occupancy of one assembly.

    Parameters
    ----------
    number : int
        Which assembly of the building.
    foreign : (n,) int
        Numbers of members that may stand in it: its own and any whose bounding boxes touch it.
    """
    assembly = building.assemblies[number]
    origin, axes = np.array(assembly.origin), np.array([assembly.u, assembly.v, assembly.w])
    rects, crossing = _member_rects(timber, assembly, origin, axes, foreign)
    kept = np.array([(solid.low, solid.high) for solid in building.keep_clear]).reshape(-1, 2, 3).transpose(0, 2, 1)
    depths = np.zeros(len(kept)), np.full(len(kept), assembly.depth_in)
    barred = _outlines((_box_corners(kept) - origin) @ axes.T, *depths)
    for (u0, u1), (v0, v1) in barred[~np.isnan(barred[:, 0, 0])].tolist():
        rects.append(Rect(what=BARRED, u=(u0, u1), v=(v0, v1)))
    rects += [Rect(what=BARRED, u=void.u, v=void.v) for void in assembly.voids]
    rects += [
        _body(box) for box in building.boxes if box.host == assembly.id and not box.side and _in_plane(box, assembly)
    ]
    (u0, u1), (v0, v1) = assembly.extent_u, assembly.extent_v
    rects = [r for r in (_clipped(r, assembly) for r in rects) if r is not None and not _over_top(r, assembly)]
    faces_u = unique_sorted([u0, u1, *(x for r in rects for x in r.u), *(u for u, _ in assembly.top if u0 < u < u1)])
    faces_v = unique_sorted([v0, v1, *(x for r in rects for x in r.v)])
    occupied = _fill(faces_u, faces_v, rects)
    if assembly.top:
        # Studs end at the slope, so their tops cut the space finely enough: a cell is free if it is wholly under it.
        corners = np.array(assembly.top)
        tops = np.interp(faces_u, corners[:, 0], corners[:, 1])
        under = np.minimum(tops[:-1], tops[1:])
        occupied[faces_v[None, 1:] > under[:, None] + SAME_IN] = BARRED
    free = occupied == FREE
    wide_u = _runs(free, np.diff(faces_u))
    wide_v = _runs(free.T, np.diff(faces_v)).T
    passable, support = limits["gap.passable"], limits["cable.support"]
    # Slivers between timbers are no way through. A space wider than the support spacing is a hall, not a bay, unless
    # it lies along a plate or the like, that a cable may be fastened to.
    rails = [number + 1 for number, way in crossing.items() if way == "v"]
    railed = (wide_v <= RAIL_IN) & np.any([np.isin(beside, rails) for beside in _beside(occupied.T)], axis=0).T
    occupied[free & ((wide_v < passable) | ((wide_u > support) & ~railed))] = BARRED
    narrow = free & (wide_u < passable)
    before, after = _beside(occupied)
    occupied[narrow] = np.where((before > 0) & (after > 0), SLIVER, BARRED)[narrow]
    cells = _free_cells(faces_u, faces_v, occupied)
    in_the_way = [r for r in rects if r.what == BARRED]
    corners_u = unique_sorted([x for r in in_the_way for x in r.u])
    corners_v = unique_sorted([x for r in in_the_way for x in r.v])
    return Slab(assembly, number, origin, axes, faces_u, faces_v, occupied, crossing, cells, corners_u, corners_v)


def _in_plane(box: Box, assembly: Assembly) -> bool:
    """Whether the body of a box stands across the plane that cables run on (a shallow ceiling box does not)."""
    return box.kind != "stub" and abs(box.w_in - assembly.depth_in / 2) < box.size_in[2] / 2


def _body(box: Box) -> Rect:
    half_u, half_v = box.size_in[0] / 2, box.size_in[1] / 2
    return Rect(what=BARRED, u=(box.u_in - half_u, box.u_in + half_u), v=(box.v_in - half_v, box.v_in + half_v))


def _over_top(rect: Rect, assembly: Assembly) -> bool:
    """Whether a solid lies over a wall's sloped top (its plates, the rafters on them), which bars the way by itself."""
    if not assembly.top:
        return False
    corners = np.array(assembly.top)
    return bool(rect.v[0] >= np.interp(rect.u, corners[:, 0], corners[:, 1]).min() - SAME_IN)


def _clipped(rect: Rect, assembly: Assembly) -> Rect | None:
    u = (max(rect.u[0], assembly.extent_u[0]), min(rect.u[1], assembly.extent_u[1]))
    v = (max(rect.v[0], assembly.extent_v[0]), min(rect.v[1], assembly.extent_v[1]))
    if u[1] - u[0] <= SAME_IN or v[1] - v[0] <= SAME_IN:
        return None
    return Rect(what=rect.what, u=u, v=v)


def slabs_of(building: Building, limits: Limits) -> list[Slab]:
    """Every assembly's occupancy, in the building's order."""
    timber = _timber(building.members)
    slabs = []
    for number, assembly in enumerate(building.assemblies):
        spans = np.array((assembly.extent_u, assembly.extent_v, (0.0, assembly.depth_in)))
        box = np.array(assembly.origin) + _box_corners(spans) @ np.array([assembly.u, assembly.v, assembly.w])
        near = np.all((timber.low < box.max(axis=0)) & (timber.high > box.min(axis=0)), axis=1)
        foreign = np.flatnonzero(near | (timber.assembly == assembly.id))
        slabs.append(_slab_of(building, number, limits, timber, foreign))
    return slabs

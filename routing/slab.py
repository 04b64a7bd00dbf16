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


def member_corners(member: Member) -> Floats:
    """Corners of a member's plies in the world, (8 x plies, 3)."""
    spans = [np.array(np.meshgrid(p.along, p.bit, p.across, indexing="ij")).reshape(3, -1).T for p in member.plies]
    return member_points(member, np.concatenate(spans))


_EDGES = np.array([(a, b) for a in range(8) for b in range(a + 1, 8) if bin(a ^ b).count("1") == 1])


def outline(corners: Floats, depth: tuple[float, float]) -> tuple[float, float, float, float] | None:
    """Bounding (u0, u1, v0, v1) of the part of a convex box between two depths; None if there is none.

    ``corners`` (8, 3) in local coordinates, ordered so that corners differing in one bit of their number share an edge.
    """
    low, high = depth
    points = [corners[(corners[:, 2] >= low - SAME_IN) & (corners[:, 2] <= high + SAME_IN)]]
    start, end = corners[_EDGES[:, 0]], corners[_EDGES[:, 1]]
    for level in (low, high):
        rise = end[:, 2] - start[:, 2]
        cut = (start[:, 2] - level) * (end[:, 2] - level) < 0
        share = (level - start[cut, 2]) / rise[cut]
        points.append(start[cut] + share[:, None] * (end[cut] - start[cut]))
    inside = np.concatenate(points)
    if len(inside) == 0 or corners[:, 2].max() <= low + SAME_IN or corners[:, 2].min() >= high - SAME_IN:
        return None
    (u0, v0), (u1, v1) = inside[:, :2].min(axis=0), inside[:, :2].max(axis=0)
    return float(u0), float(u1), float(v0), float(v1)


def _parallel(direction: Sequence[float], axes: Floats) -> int | None:
    along = np.abs(axes @ np.asarray(direction))
    best = int(np.argmax(along))
    return best if along[best] > 1 - 1e-9 else None


def _member_rects(number: int, member: Member, assembly: Assembly, origin: Floats, axes: Floats) -> list[Rect]:
    own = member.assembly == assembly.id
    square = _parallel(member.along, axes) is not None and _parallel(member.bit, axes) is not None
    # Its own members bar a slab at any depth (a shallow joist is not passed under); a foreign one only where cables
    # run, and not by a tape's error.
    nick = 0.0 if own else NICK_IN
    plane = assembly.depth_in / 2
    depth = (
        (0.0, assembly.depth_in) if own else (max(plane - ABREAST_IN, nick), min(plane + ABREAST_IN, 2 * plane - nick))
    )
    rects = []
    for ply in member.plies:
        length = ply.along[1] - ply.along[0]
        pieces = 1 if square else max(1, int(np.ceil(length / PIECE_IN)))
        stops = np.linspace(ply.along[0], ply.along[1], pieces + 1)
        for start, end in zip(stops[:-1], stops[1:], strict=True):
            grid = np.array(np.meshgrid((start, end), ply.bit, ply.across, indexing="ij")).reshape(3, -1).T
            local = (member_points(member, grid) - origin) @ axes.T
            found = outline(local, depth)
            if found is not None and found[1] - found[0] > 2 * nick and found[3] - found[2] > 2 * nick:
                what = number + 1 if square else BARRED
                rects.append(Rect(what=what, u=found[:2], v=found[2:]))
    return rects


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


def slab_of(building: Building, number: int, limits: Limits, foreign: Sequence[int]) -> Slab:
    """Occupancy of one assembly.

    Parameters
    ----------
    number : int
        Which assembly of the building.
    foreign : sequence of int
        Numbers of members that may stand in it: its own and any whose bounding boxes touch it.
    """
    assembly = building.assemblies[number]
    origin, axes = np.array(assembly.origin), np.array([assembly.u, assembly.v, assembly.w])
    rects: list[Rect] = []
    crossing: dict[int, str] = {}
    for index in foreign:
        member = building.members[index]
        found = _member_rects(index, member, assembly, origin, axes)
        rects += found
        if found and found[0].what != BARRED:
            crossing[index] = "uvw"[_parallel(member.bit, axes) or 0]
    for solid in building.keep_clear:
        grid = np.array(np.meshgrid(*zip(solid.low, solid.high, strict=True), indexing="ij")).reshape(3, -1).T
        barred = outline((grid - origin) @ axes.T, (0.0, assembly.depth_in))
        if barred is not None:
            rects.append(Rect(what=BARRED, u=barred[:2], v=barred[2:]))
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
    if not building.members:
        return [slab_of(building, n, limits, ()) for n in range(len(building.assemblies))]
    corners = [member_corners(member) for member in building.members]
    low = np.array([c.min(axis=0) for c in corners])
    high = np.array([c.max(axis=0) for c in corners])
    slabs = []
    for number, assembly in enumerate(building.assemblies):
        spans = (assembly.extent_u, assembly.extent_v, (0.0, assembly.depth_in))
        grid = np.array(np.meshgrid(*spans, indexing="ij")).reshape(3, -1).T
        box = np.array(assembly.origin) + grid @ np.array([assembly.u, assembly.v, assembly.w])
        near = np.all((low < box.max(axis=0)) & (high > box.min(axis=0)), axis=1)
        own = np.array([member.assembly == assembly.id for member in building.members])
        slabs.append(slab_of(building, number, limits, [int(i) for i in np.flatnonzero(near | own)]))
    return slabs

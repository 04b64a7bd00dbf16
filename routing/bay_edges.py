"""Edges inside a slab: in its bays, along its members, through them by bores, and in and out of its boxes."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from barnloom.model.building import Box, Building, Right
from barnloom.model.limits import Limits, at_most
from barnloom.routing.bores import BoreMaker, borable
from barnloom.routing.graph import (
    ACROSS,
    ALONG,
    ON_WALL,
    OVERHEAD,
    Collector,
    Numbers,
    Straight,
)
from barnloom.routing.slab import BARRED, FREE, SAME_IN, Floats, Ints, Slab, member_points
from barnloom.routing.wishes import Exit, sight_below


def along_lines(occupied: Ints, faces: Floats, lines: Floats) -> Ints:
    """Occupancy along each line (second axis of ``occupied``): on a face, free if either side is."""
    last = occupied.shape[1] - 1
    low = np.clip(np.searchsorted(faces, lines - 1e-6, side="right") - 1, 0, last)
    high = np.clip(np.searchsorted(faces, lines + 1e-6, side="right") - 1, 0, last)
    a, b = occupied[:, low], occupied[:, high]
    result: Ints = np.where((a == FREE) | (b == FREE), FREE, np.where(a == b, a, BARRED))
    return result


def slab_edges(
    building: Building,
    limits: Limits,
    slab: Slab,
    lines_u: Floats,
    lines_v: Floats,
    base: int,
    exits: Sequence[Exit],
    maker: BoreMaker,
    out: Collector,
) -> None:
    """Edges of one slab: turns, runs across and along, and bores through its members."""
    nu, nv = len(lines_u), len(lines_v)
    if nu == 0 or nv == 0 or len(slab.cells.u) == 0:
        return
    ids = base + 2 * np.arange(nu * nv).reshape(nu, nv)
    rows = along_lines(slab.straight, slab.faces_v, lines_v)  # (u cells, nv)
    columns = along_lines(slab.occupied.T, slab.faces_u, lines_u)  # (v cells, nu)
    overhead = slab.assembly.kind != "wall"
    low_rows, sight = lines_v < sight_below(building, slab) - 1e-6, building.exposed
    taken_rows = low_rows & _rows_of(maker.pulled_through, building, slab, lines_v)
    barred = (low_rows & ~taken_rows, taken_rows)
    # Turns, wherever the place is in free space.
    at_rows = along_lines(rows.T, slab.faces_u, lines_u).T  # (nu, nv): free if any neighbour is
    free = at_rows == FREE
    out.add(ids[free], ids[free] + 1, np.zeros(int(free.sum())), turn=1)
    # Across the members inside a bay.
    span = np.diff(lines_u)
    open_u = open_between(rows, slab.faces_u, lines_u[:-1], lines_u[1:])
    no_level = low_rows & ~_fanned(lines_u, lines_v, exits if sight != "never" else (), limits["cable.fan"])
    if (
        not maker.pulled_through
    ):  # what has been pulled may have to go aside anywhere, from a hole that is not where it was planned
        open_u &= ~no_level
    i, j = np.nonzero(open_u)
    out.add(ids[i, j], ids[i + 1, j], span[i], taken=no_level[i, j])
    # Along the members.
    open_v = open_between(columns, slab.faces_v, lines_v[:-1], lines_v[1:]).T  # (nu, nv - 1)
    if sight == "never":
        open_v &= ~(low_rows[:-1])[None, :]
    lanes = _lanes(building, slab, limits, lines_u, lines_v, open_v, out)
    i, j = np.nonzero(open_v)
    covered = low_rows[j] & (sight == "covered")
    out.add(
        ids[i, j] + 1,
        ids[i, j + 1] + 1,
        np.diff(lines_v)[j],
        staples=OVERHEAD if overhead else ON_WALL,
        lane=lanes[i, j],
        covered=covered,
    )
    for index, way in sorted(slab.crossing.items()):
        if way in "uv":
            _crossings(building, slab, index, way, lines_u, lines_v, rows, columns, ids, barred, maker, out)


def _fanned(lines_u: Floats, lines_v: Floats, exits: Sequence[Exit], most_in: float) -> NDArray[np.bool_]:
    """Between which lines u and on which lines v cables fan out from a box that they leave, (nu - 1, nv)."""
    found = np.zeros((len(lines_u) - 1, len(lines_v)), dtype=bool)
    for way in exits:
        beside = at_most(np.abs(lines_u - way.turn[0]), most_in)
        found[:, np.abs(lines_v - way.turn[1]) < SAME_IN] |= (beside[:-1] & beside[1:])[:, None]
    return found


def _rows_of(holes: Collection[str], building: Building, slab: Slab, lines_v: Floats) -> NDArray[np.bool_]:
    """Lines at which there are these holes."""
    found = np.zeros(len(lines_v), dtype=bool)
    for index in slab.crossing if holes else ():
        for hole in (hole for hole in building.members[index].holes if hole.id in holes):
            place = slab.local(member_points(building.members[index], (hole.along_in, 0.0, 0.0)))
            found |= np.abs(lines_v - float(place[1])) < SAME_IN
    return found


def open_between(occupied: Ints, faces: Floats, start: Floats, end: Floats) -> NDArray[np.bool_]:
    """Whether all cells between two coordinates are free, (len(start), lines)."""
    taken = np.concatenate([np.zeros((1, occupied.shape[1]), dtype=np.int64), np.cumsum(occupied != FREE, axis=0)])
    last = occupied.shape[0]
    first = np.clip(np.searchsorted(faces, start + 1e-6, side="right") - 1, 0, last)
    stop = np.clip(np.searchsorted(faces, end - 1e-6, side="left"), 0, last)
    result: NDArray[np.bool_] = taken[np.maximum(stop, first)] == taken[first]
    return result


def _lanes(
    building: Building,
    slab: Slab,
    limits: Limits,
    lines_u: Floats,
    lines_v: Floats,
    open_v: NDArray[np.bool_],
    out: Collector,
) -> Ints:
    """Number of the bay stretch of each run along a member, (nu, nv - 1); its room and sides go to ``out``."""
    lanes = np.full(open_v.shape, -1, dtype=np.int64)
    room = slab.assembly.depth_in - 2 * limits["cable.face_edge"]
    middles = (lines_v[:-1] + lines_v[1:]) / 2
    row = np.clip(np.searchsorted(slab.faces_v, middles) - 1, 0, slab.occupied.shape[1] - 1)
    column = np.clip(np.searchsorted(slab.faces_u, lines_u + 1e-6, side="right") - 1, 0, slab.occupied.shape[0] - 1)
    free = slab.occupied == FREE
    # A bay is a free run across; number it by the first cell of the run.
    starts = np.where(free, np.arange(free.shape[0])[:, None], 0)
    for k in range(1, free.shape[0]):
        starts[k] = np.where(free[k] & free[k - 1], starts[k - 1], starts[k])
    here = free[np.ix_(column, row)]
    before = np.maximum(column - 1, 0)
    bays = np.where(here, starts[np.ix_(column, row)], starts[np.ix_(before, row)])
    keys = bays * len(middles) + np.arange(len(middles))[None, :]
    used, inverse = np.unique(keys[open_v], return_inverse=True)
    first = len(out.lane_room)
    lanes[open_v] = first + inverse
    for key in used:
        bay, j = divmod(int(key), len(middles))
        out.lane_room.append(room)
        out.lane_sides.append(_fasten_sides(building, slab, bay, int(row[j])))
    return lanes


def _fasten_sides(building: Building, slab: Slab, bay: int, row: int) -> int:
    """How many sides of a bay are members that a cable may be stapled to."""
    sides = 0
    last = bay
    while last + 1 < slab.occupied.shape[0] and slab.occupied[last + 1, row] == FREE:
        last += 1
    for cell in (bay - 1, last + 1):
        if 0 <= cell < slab.occupied.shape[0]:
            what = int(slab.occupied[cell, row])
            sides += what > 0 and building.members[what - 1].fasten is Right.FREE
    return sides


def _crossings(
    building: Building,
    slab: Slab,
    index: int,
    way: str,
    lines_u: Floats,
    lines_v: Floats,
    rows: Ints,
    columns: Ints,
    ids: Ints,
    barred: tuple[NDArray[np.bool_], NDArray[np.bool_]],
    maker: BoreMaker,
    out: Collector,
) -> None:
    """Bores through one member from the nearest line on one side to the nearest on the other.

    ``barred``: lines v that no cable may follow across members, and those that only cables pulled already may.
    """
    closed_rows, taken_rows = barred
    step, other = (lines_u, lines_v) if way == "u" else (lines_v, lines_u)
    low, high = _sides(building, slab, index, way)
    before = int(np.searchsorted(step, low + 1e-6, side="right")) - 1
    after = int(np.searchsorted(step, high - 1e-6, side="left"))
    if before < 0 or after >= len(step):
        return
    beside = rows if way == "u" else columns
    at, along, wish, room = _places(
        building, slab, index, way, (float(step[before]), float(step[after])), other, beside
    )
    if way == "u":
        open_ = ~closed_rows[at]
        at, along, room = at[open_], along[open_], room[open_]
    if len(at) == 0:
        return
    a, b = (ids[before, at], ids[after, at]) if way == "u" else (ids[at, before] + 1, ids[at, after] + 1)
    if not borable(building.members[index]):
        out.closed.append((a, b, np.full(len(at), index), along))
        return
    numbers, across = maker.add(index, along, wish, room_in=room)
    ok = numbers >= 0
    jog = 2 * np.abs(across[ok] - wish)
    taken = taken_rows[at[ok]] if way == "u" else False
    out.add(a[ok], b[ok], (step[after] - step[before]) + jog, bore=numbers[ok], taken=taken)
    out.closed.append((a[~ok], b[~ok], np.full(int((~ok).sum()), index), along[~ok]))


def _sides(building: Building, slab: Slab, index: int, way: str) -> tuple[float, float]:
    """Coordinates of a member's two faces that a bit goes through, along the axis that it goes."""
    member = building.members[index]
    axis = 0 if way == "u" else 1
    start = float(slab.local(np.array(member.origin))[axis])
    low, high = sorted((start, start + float(slab.axes[axis] @ np.array(member.bit)) * member.thickness_in))
    return low, high


def _places(
    building: Building, slab: Slab, index: int, way: str, ends: tuple[float, float], other: Floats, beside: Ints
) -> tuple[Ints, Floats, float, Floats]:
    """Lines on which a bit would meet this member alone.

    Parameters
    ----------
    ends : (float, float)
        Between which coordinates nothing else may stand.
    other : (n,) float
        The lines.
    beside : (cells, n) int
        Occupancy along each of them.

    Returns
    -------
    at : (m,) int
        Numbers of the lines.
    along : (m,) float
        Places along the member.
    wish : float
        Where across it the plane is that cables run on.
    room : (m,) float
        How far it is along it to the next thing on either face.
    """
    member = building.members[index]
    axis = 0 if way == "u" else 1
    faces, rest = (slab.faces_u, slab.faces_v) if way == "u" else (slab.faces_v, slab.faces_u)
    first = max(int(np.searchsorted(faces, ends[0] + 1e-6, side="right")) - 1, 0)
    stop = int(np.searchsorted(faces, ends[1] - 1e-6, side="left"))
    between = beside[first:stop]
    alone = np.all((between == FREE) | (between == index + 1), axis=0) & np.any(between == index + 1, axis=0)
    at = np.flatnonzero(alone)
    start = slab.local(np.array(member.origin))
    along = (other[at] - start[1 - axis]) * np.sign(float(slab.axes[1 - axis] @ np.array(member.along)))
    wish = float((slab.plane_in - start[2]) * np.sign(float(slab.axes[2] @ np.array(member.across))))
    cells = slab.straight if way == "u" else slab.occupied.T
    low, high = _sides(building, slab, index, way)
    room = np.minimum(
        _room_beside(cells, faces, low - 1e-6, rest, other[at]),
        _room_beside(cells, faces, high + 1e-6, rest, other[at]),
    )
    return at, along, wish, room


def uses_of(building: Building, slab: Slab, maker: BoreMaker, lines: Floats, way: str) -> NDArray[np.bool_]:
    """What each line is good for, (n, uses): cells that it is open in, members that may be bored on it.

    ``way``: the axis that the lines run along, "u" for rows across the members.
    """
    if way == "u":
        beside = along_lines(slab.straight, slab.faces_v, lines)
    else:
        beside = along_lines(slab.occupied.T, slab.faces_u, lines)
    found = [beside.T == FREE]
    for index, crossing in sorted(slab.crossing.items()):
        if crossing == way and borable(building.members[index]):
            at, along, wish, room = _places(
                building, slab, index, way, _sides(building, slab, index, way), lines, beside
            )
            legal = np.zeros((len(lines), 1), dtype=bool)
            legal[at, 0] = maker.legal(index, along, wish, room_in=room).any(axis=1)
            found.append(legal)
    result: NDArray[np.bool_] = np.concatenate(found, axis=1)
    return result


def _room_beside(occupied: Ints, faces: Floats, place: float, rest: Floats, at: Floats) -> Floats:
    """How far it is from places beside a member's face to the next thing on it; 0 or less where it is taken."""
    column = int(np.clip(np.searchsorted(faces, place) - 1, 0, len(occupied) - 1))
    taken = np.flatnonzero(occupied[column] != FREE)
    low, high = rest[taken], rest[taken + 1]
    away = np.maximum(low[None, :] - at[:, None], at[:, None] - high[None, :])
    result: Floats = np.min(away, axis=1, initial=np.inf)
    return result


def box_edges(
    building: Building,
    box: Box,
    slab: Slab,
    exits: Sequence[Exit],
    numbers: Numbers,
    boxes: dict[str, int],
    out: Collector,
) -> None:
    """Edges out of a box in a slab, along v as far as its straight start."""
    for way in (e for e in exits if e.box == box.id):
        for heading in (ALONG, ACROSS) if box.rise_in == 0 else (ALONG,):
            (end,) = numbers.nodes(way.slab, np.array(way.turn[:1]), np.array(way.turn[1:]), heading).tolist()
            _from_box(building, slab, boxes[box.id], end, way, (way.entry[1], way.turn[1]), out)


def _from_box(
    building: Building, slab: Slab, box: int, end: int, way: Exit | Straight, span: tuple[float, float], out: Collector
) -> None:
    """Edge along v out of a box, if cable in sight is accepted there at all."""
    low = min(span) < sight_below(building, slab) - 1e-6
    if low and building.exposed == "never":
        return
    out.add(
        np.array([box]),
        np.array([end]),
        np.array([abs(span[1] - span[0])]),
        staples=ON_WALL if slab.assembly.kind == "wall" else OVERHEAD,
        via=out.way(way),
        covered=low and building.exposed == "covered",
    )


def straights(building: Building, slab: Slab, exits: Sequence[Exit], boxes: dict[str, int], out: Collector) -> None:
    """Boxes one above the other in a bay (or in line along a joist) may be joined by a straight cable with no turn."""
    bodies = {box.id: box for box in building.boxes}
    column = sorted((e.entry[0], bodies[e.box].v_in, e.box) for e in {e.box: e for e in exits}.values())
    for (u_a, _, a), (u_b, _, b) in zip(column[:-1], column[1:], strict=True):
        if abs(u_a - u_b) > 1e-6:
            continue
        low, high = bodies[a], bodies[b]
        edges = low.v_in + low.size_in[1] / 2, high.v_in - high.size_in[1] / 2
        occupied = along_lines(slab.occupied.T, slab.faces_u, np.array([u_a]))
        clear = (
            edges[1] > edges[0] + 1e-6
            and open_between(occupied, slab.faces_v, np.array(edges[:1]), np.array(edges[1:]))[0, 0]
        )
        if clear:
            start, end = edges if slab.assembly.kind == "wall" else (low.v_in, high.v_in)
            way = Straight(slab=slab.number, start=(u_a, start), end=(u_a, end))
            _from_box(building, slab, boxes[a], boxes[b], way, (start, end), out)

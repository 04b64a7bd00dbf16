"""Build the graph of everywhere a cable may run.

Prices and the type of cable come after (``routing.cost``): the same graph serves every cable.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from barnloom.model.building import Box, Building, Right
from barnloom.model.lengths import format_length
from barnloom.model.limits import Limits
from barnloom.routing.bores import BoreMaker, borable
from barnloom.routing.faces import Face, Joint, Landing, faces_of, joints_of, landings_of
from barnloom.routing.graph import (
    ACROSS,
    ALONG,
    ON_WALL,
    OVERHEAD,
    Closed,
    Collector,
    FaceExit,
    PortWay,
    Straight,
    Tracks,
    nearest_index,
)
from barnloom.routing.ports import Gate, Meeting, gates_of, meetings_of
from barnloom.routing.slab import BARRED, FREE, Floats, Ints, Slab, slabs_of, unique_sorted
from barnloom.routing.wishes import (
    Exit,
    Wishes,
    exits_of,
    face_sight_below,
    on_rows,
    row_origin,
    sight_below,
    wishes_of,
)

BAY_IN = 24.0
"""Boxes nearer each other than this may hang in one bay."""


class _Node(Protocol):
    """The function that numbers a slab's node."""

    def __call__(self, slab: int, u: float, v: float, heading: int, /) -> int: ...


class _Through(Protocol):
    """The function that numbers a through-node."""

    def __call__(self, slab: int, u: float, v: float, /) -> int: ...


def _combined(occupied: Ints, faces: Floats, lines: Floats) -> Ints:
    """Occupancy along each line (second axis of ``occupied``): on a face, free if either side is."""
    last = occupied.shape[1] - 1
    low = np.clip(np.searchsorted(faces, lines - 1e-6, side="right") - 1, 0, last)
    high = np.clip(np.searchsorted(faces, lines + 1e-6, side="right") - 1, 0, last)
    a, b = occupied[:, low], occupied[:, high]
    result: Ints = np.where((a == FREE) | (b == FREE), FREE, np.where(a == b, a, BARRED))
    return result


def _turn_lines(cells: Floats, wished: Floats, extent: tuple[float, float]) -> Floats:
    """Wished lines, and the middle of every cell that none of them passes through."""
    low, high = extent
    kept = wished[(wished >= low - 1e-6) & (wished <= high + 1e-6)]
    first = np.searchsorted(kept, cells[:, 0] - 1e-6)
    last = np.searchsorted(kept, cells[:, 1] + 1e-6)
    middles = cells[first >= last].mean(axis=1)
    return unique_sorted(np.concatenate([kept, middles]))


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Ground:
    """What the tracks are laid on: free space, faces, ways between them, places of interest. It knows no lines yet."""

    building: Building
    limits: Limits
    slabs: tuple[Slab, ...]
    faces: tuple[Face, ...]
    exits: tuple[tuple[Exit, ...], ...]
    wishes: tuple[Wishes, ...]
    gates: tuple[Gate, ...]
    meetings: tuple[Meeting, ...]
    landings: tuple[Landing, ...]
    joints: tuple[Joint, ...]
    face_places: tuple[Floats, ...]
    notes: tuple[str, ...]


def ground_of(building: Building, limits: Limits) -> Ground:
    """Look at a building's free space; the costly half of laying tracks, done once."""
    slabs = slabs_of(building, limits)
    faces = faces_of(building)
    hosts = {slab.assembly.id: slab for slab in slabs}
    notes: list[str] = []
    exits: list[list[Exit]] = [[] for _ in slabs]
    for box in building.boxes:
        if box.host in hosts and not box.side:
            slab = hosts[box.host]
            found = exits_of(box, slab, building.members, building.tools.grid_in)
            exits[slab.number] += found
            short = [e.short_in for e in found if e.short_in > 0]
            if short:
                missing = format_length(short[0], metric=building.metric)
                notes.append(f"{box.id}: {missing} short of the straight start that a cable should have there")
    wishes = [wishes_of(building, slab, limits, exits[slab.number]) for slab in slabs]
    landings, joints, face_places = _face_ways(building, slabs, faces, wishes)
    return Ground(
        building=building,
        limits=limits,
        slabs=tuple(slabs),
        faces=tuple(faces),
        exits=tuple(tuple(own) for own in exits),
        wishes=tuple(wishes),
        gates=tuple(gates_of(building, slabs, limits)),
        meetings=tuple(meetings_of(slabs, [(w.own_u, w.own_v) for w in wishes])),
        landings=tuple(landings),
        joints=tuple(joints),
        face_places=tuple(face_places),
        notes=tuple(notes),
    )


def tracks_of(ground: Ground, extra: Mapping[str, tuple[float, ...]] | None = None) -> Tracks:
    """Lay the graph.

    Parameters
    ----------
    extra : mapping of member id to places along it
        Places to offer besides the interesting ones (beside a bore that is full).
    """
    building, limits, slabs, faces = ground.building, ground.limits, ground.slabs, ground.faces
    exits, wishes, gates, meetings = ground.exits, ground.wishes, ground.gates, ground.meetings
    landings, joints, face_places = ground.landings, ground.joints, ground.face_places
    hosts = {slab.assembly.id: slab for slab in slabs}
    maker = BoreMaker(building, limits)
    collector = Collector()
    ports = _ports(building, limits, slabs, gates, wishes, maker, extra or {})
    lines_u, lines_v = _lines(building, slabs, wishes, ports, meetings, landings, extra or {})

    sizes = [2 * len(u) * len(v) for u, v in zip(lines_u, lines_v, strict=True)]
    base = np.concatenate(([0], np.cumsum(sizes, dtype=np.int64))).astype(np.int64)
    face_base = base[-1] + np.concatenate(([0], np.cumsum([len(p) for p in face_places], dtype=np.int64))).astype(
        np.int64
    )
    through_base = int(face_base[-1])
    through: dict[tuple[int, int, int], int] = {}
    for slab in slabs:
        _slab_edges(
            building, limits, slab, lines_u[slab.number], lines_v[slab.number], int(base[slab.number]), maker, collector
        )

    def node(slab: int, u: float, v: float, heading: int) -> int:
        i, j = nearest_index(lines_u[slab], u), nearest_index(lines_v[slab], v)
        return int(base[slab]) + 2 * (i * len(lines_v[slab]) + j) + heading

    def through_node(slab: int, u: float, v: float) -> int:
        """A node that goes through the slab's depth, joined to both headings by a turn."""
        key = (slab, nearest_index(lines_u[slab], u), nearest_index(lines_v[slab], v))
        if key not in through:
            through[key] = through_base + len(through)
            for heading in (ACROSS, ALONG):
                collector.add(np.array([through[key]]), np.array([node(slab, u, v, heading)]), np.zeros(1), turn=1)
        return through[key]

    for port in ports:
        _port_edge(building, slabs, port, node, through_node, collector)
    for meeting in meetings:
        via = collector.way(meeting)
        for heading in (ACROSS, ALONG):
            a, b = node(meeting.slab_a, *meeting.at_a, heading), node(meeting.slab_b, *meeting.at_b, heading)
            collector.add(
                np.array([a]), np.array([b]), np.array([meeting.step_in]), turn=int(heading in meeting.turns), via=via
            )
    _face_edges(building, faces, face_places, face_base, landings, joints, node, through_node, slabs, collector)
    boxes_base = through_base + len(through)
    boxes = {box.id: boxes_base + n for n, box in enumerate(building.boxes)}
    for box in building.boxes:
        if box.side:
            _face_box_edges(building, box, faces, face_places, face_base, boxes, collector)
        elif box.host in hosts:
            _box_edges(building, box, hosts[box.host], exits[hosts[box.host].number], node, boxes, collector)
    for slab in slabs:
        _straights(building, slab, exits[slab.number], boxes, collector)
    through_at = tuple(
        (s, float(lines_u[s][i]), float(lines_v[s][j])) for s, i, j in sorted(through, key=lambda k: through[k])
    )
    none = np.empty(0, dtype=np.int64)
    closed = [np.concatenate([part[k] for part in collector.closed] or [none]) for k in range(4)]
    return Tracks(
        building=building,
        limits=limits,
        slabs=slabs,
        faces=faces,
        lines_u=tuple(lines_u),
        lines_v=tuple(lines_v),
        base=base,
        face_places=face_places,
        face_base=face_base,
        through_at=through_at,
        through_base=through_base,
        boxes=boxes,
        node_count=boxes_base + len(boxes),
        edges=collector.edges(),
        bores=maker.table(),
        ways=tuple(collector.ways),
        exits=tuple(e for own in exits for e in own),
        lane_room_in=np.array(collector.lane_room),
        lane_sides=np.array(collector.lane_sides, dtype=np.int64),
        closed=Closed(closed[0], closed[1], closed[2], closed[3].astype(np.float64)),
        gates=gates,
        notes=ground.notes,
    )


@dataclass(frozen=True, eq=False, slots=True)
class _Port:
    """Candidates of one gate: places along the member, their bores, and where they come out on either side."""

    gate: Gate
    bores: Ints
    near: Floats
    """(n, 3) local coordinates of the near mouth in its slab; ``far`` in the other."""
    far: Floats


def _ports(
    building: Building,
    limits: Limits,
    slabs: Sequence[Slab],
    gates: Sequence[Gate],
    wishes: Sequence[Wishes],
    maker: BoreMaker,
    extra: Mapping[str, tuple[float, ...]],
) -> list[_Port]:
    beside: dict[int, set[int]] = {slab.number: {slab.number} for slab in slabs}
    for gate in gates:
        beside[gate.far].add(gate.near)
        beside[gate.near].add(gate.far)
    ports = []
    margin = building.tools.bits_in[0] / 2 + limits["plate.member_gap"]
    for gate in gates:
        member = building.members[gate.member]
        low, high = gate.along[0] + margin, gate.along[1] - margin
        if high < low:
            continue
        along = np.array(member.along)
        wished: list[float] = []
        for number in sorted(beside[gate.far] | {gate.near}):
            slab, wish = slabs[number], wishes[number]
            step = slab.axes @ along
            at = slab.origin - np.array(member.origin)
            for axis, own in ((0, wish.own_u), (1, wish.own_v)):
                if abs(abs(step[axis]) - 1) < 1e-9:
                    wished += list(at @ along + own * step[axis])
        grid = building.tools.grid_in
        ends = [np.ceil(low / grid - 1e-6) * grid, np.floor(high / grid + 1e-6) * grid]
        if ends[0] > ends[1] + 1e-9:
            continue
        olds = [hole.along_in for hole in member.holes if gate.along[0] < hole.along_in < gate.along[1]]
        wished += extra.get(member.id, ())
        # Holes are on the print grid: off it, the places either side are wished for.
        near = [f(x / grid + s) * grid for x in wished for f, s in ((np.floor, 1e-6), (np.ceil, -1e-6))]
        places = unique_sorted([*ends, *[x for x in near if ends[0] < x < ends[1]], *olds])
        strip = (gate.across[0], gate.across[1])
        room = np.minimum(places - gate.along[0], gate.along[1] - places)
        numbers, across = maker.add(gate.member, places, (strip[0] + strip[1]) / 2, strip, room)
        ok = numbers >= 0
        if not ok.any():
            continue
        axes = np.array([member.along, member.bit, member.across])
        if abs(member.bit[2]) < 0.5:
            # Round a corner is across the members: not in sight and in reach, unless the answer is that it may.
            height = np.array(member.origin)[2] + places * member.along[2]
            for number in (gate.near, gate.far):
                ok &= height >= float(slabs[number].origin[2]) + sight_below(building, slabs[number]) - 1e-6
            if not ok.any():
                continue
        snapped = maker_along(places[ok], grid, olds)
        mouths = [
            np.array(member.origin) + np.stack([snapped, np.full(ok.sum(), bit), across[ok]], axis=1) @ axes
            for bit in (gate.near_bit_in, gate.far_bit_in)
        ]
        ports.append(_Port(gate, numbers[ok], slabs[gate.near].local(mouths[0]), slabs[gate.far].local(mouths[1])))
    return ports


def maker_along(places: Floats, grid_in: float, olds: Sequence[float]) -> Floats:
    """Places as candidates have them: on the grid, or where an old hole is."""
    snapped = np.round(places / grid_in) * grid_in
    for old in olds:
        snapped = np.where(np.abs(places - old) < 0.75 * grid_in, old, snapped)
    return snapped


def _face_ways(
    building: Building, slabs: Sequence[Slab], faces: Sequence[Face], wishes: Sequence[Wishes]
) -> tuple[list[Landing], list[Joint], list[Floats]]:
    wished: list[Floats] = []
    for face in faces:
        own = [0.0, face.length_in, *face.clear.ravel()]
        top = face_sight_below(building, building.members[face.member])
        if abs(face.direction[2]) > 0.7 and np.isfinite(top):
            own.append(float((top - face.start[2]) / face.direction[2]))
        for box in building.boxes:
            if box.side and f"{box.host} {box.side}" == face.name:
                half = box.size_in[0] / 2
                own += [box.u_in, box.u_in - half - box.rise_in, box.u_in + half + box.rise_in]
        wished.append(unique_sorted([x for x in own if -1e-6 <= x <= face.length_in + 1e-6]))
    landings: list[Landing] = []
    for number, face in enumerate(faces):
        for slab in slabs:
            step = slab.axes @ face.direction
            at = slab.origin - face.start
            coordinates = list(wished[number])
            for axis, own_line in ((0, wishes[slab.number].own_u), (1, wishes[slab.number].own_v)):
                if abs(abs(step[axis]) - 1) < 1e-9:
                    coordinates += list(at @ face.direction + own_line * step[axis])
            landings += landings_of(number, face, slab, unique_sorted(coordinates))
    joints = joints_of(faces, wished, building)
    places = [list(w) for w in wished]
    for landing in landings:
        places[landing.face].append(landing.along)
    for joint in joints:
        places[joint.face_a].append(joint.along_a)
        places[joint.face_b].append(joint.along_b)
    return landings, joints, [unique_sorted(p) for p in places]


def _lines(
    building: Building,
    slabs: Sequence[Slab],
    wishes: Sequence[Wishes],
    ports: Sequence[_Port],
    meetings: Sequence[Meeting],
    landings: Sequence[Landing],
    extra: Mapping[str, tuple[float, ...]],
) -> tuple[list[Floats], list[Floats]]:
    us = [[*w.u, *_between(w.own_u)] for w in wishes]
    vs = [list(w.v) for w in wishes]
    for port in ports:
        for number, local in ((port.gate.near, port.near), (port.gate.far, port.far)):
            us[number] += list(local[:, 0])
            vs[number] += list(local[:, 1])
    for meeting in meetings:
        for number, (u, v) in ((meeting.slab_a, meeting.at_a), (meeting.slab_b, meeting.at_b)):
            us[number].append(u)
            vs[number].append(v)
    for landing in landings:
        us[landing.slab].append(landing.u)
        vs[landing.slab].append(landing.v)
    # Walls of a storey share their heights, so that a row may go round a corner.
    heights: dict[str, list[float]] = {}
    for slab in slabs:
        if slab.assembly.kind == "wall":
            heights.setdefault(slab.assembly.storey, []).extend(float(slab.origin[2]) + wishes[slab.number].own_v)
    lines_u, lines_v = [], []
    for slab in slabs:
        n = slab.number
        rows = vs[n] + _extra_rows(building, slab, extra)
        # Beside a block or a header the nearest hole is half a bit off it.
        stops: list[float] = [] if slab.assembly.top else [float(x) for x in np.unique(slab.cells.v)[1:-1]]
        rows += [x + way * building.tools.bits_in[0] / 2 for x in stops for way in (-1, 1)]
        if slab.assembly.kind == "wall":
            shared = np.array(heights.get(slab.assembly.storey, [])) - float(slab.origin[2])
            origin = row_origin(slab, building.members)
            rows += list(on_rows(unique_sorted(shared), origin, building.tools.grid_in, True)) if len(shared) else []
        us[n] += list(slab.sliver_middles())
        rows += _grid_neighbours(unique_sorted(rows), row_origin(slab, building.members), building.tools.grid_in)
        lines_u.append(_turn_lines(slab.cells.u, unique_sorted(us[n]), slab.assembly.extent_u))
        lines_v.append(_turn_lines(slab.cells.v, unique_sorted(rows), slab.assembly.extent_v))
    return lines_u, lines_v


def _grid_neighbours(rows: Floats, origin: float, grid_in: float) -> list[float]:
    """Rows on the print grid either side of those that are not on it: only there can a hole be bored."""
    steps = (rows - origin) / grid_in
    off = rows[np.abs(steps - np.round(steps)) * grid_in > 1e-6]
    return [*on_rows(off, origin, grid_in, True), *on_rows(off, origin, grid_in, False)]


def _between(own_u: Floats) -> Floats:
    """A line between boxes that may share a bay: neither one's cable turns back along its own straight start."""
    low, high = own_u[:-1], own_u[1:]
    result: Floats = ((low + high) / 2)[high - low < BAY_IN]
    return result


def _extra_rows(building: Building, slab: Slab, extra: Mapping[str, tuple[float, ...]]) -> list[float]:
    rows = []
    for index, way in slab.crossing.items():
        member = building.members[index]
        if way == "u" and member.id in extra:
            start = float(slab.local(np.array(member.origin))[1])
            sign = float(np.sign(slab.axes[1] @ np.array(member.along)))
            rows += [start + sign * along for along in extra[member.id]]
    return rows


def _slab_edges(
    building: Building,
    limits: Limits,
    slab: Slab,
    lines_u: Floats,
    lines_v: Floats,
    base: int,
    maker: BoreMaker,
    out: Collector,
) -> None:
    nu, nv = len(lines_u), len(lines_v)
    if nu == 0 or nv == 0 or len(slab.cells.u) == 0:
        return
    ids = base + 2 * np.arange(nu * nv).reshape(nu, nv)
    rows = _combined(slab.straight, slab.faces_v, lines_v)  # (u cells, nv)
    columns = _combined(slab.occupied.T, slab.faces_u, lines_u)  # (v cells, nu)
    overhead = slab.assembly.kind != "wall"
    low_rows, sight = lines_v < sight_below(building, slab) - 1e-6, building.exposed
    # Turns, wherever the place is in free space.
    at_rows = _combined(rows.T, slab.faces_u, lines_u).T  # (nu, nv): free if any neighbour is
    free = at_rows == FREE
    out.add(ids[free], ids[free] + 1, np.zeros(int(free.sum())), turn=1)
    # Across the members inside a bay.
    span = np.diff(lines_u)
    open_u = _open_between(rows, slab.faces_u, lines_u[:-1], lines_u[1:]) & ~low_rows[None, :]
    i, j = np.nonzero(open_u)
    out.add(ids[i, j], ids[i + 1, j], span[i])
    # Along the members.
    open_v = _open_between(columns, slab.faces_v, lines_v[:-1], lines_v[1:]).T  # (nu, nv - 1)
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
            _crossings(building, slab, index, way, lines_u, lines_v, rows, columns, ids, low_rows, maker, out)


def _open_between(occupied: Ints, faces: Floats, start: Floats, end: Floats) -> NDArray[np.bool_]:
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
    low_rows: NDArray[np.bool_],
    maker: BoreMaker,
    out: Collector,
) -> None:
    """Bores through one member from the nearest line on one side to the nearest on the other."""
    member = building.members[index]
    axis = 0 if way == "u" else 1
    start = slab.local(np.array(member.origin))
    ends = start + np.outer([0.0, 1.0], slab.axes @ np.array(member.bit)) * member.thickness_in
    low, high = sorted(float(x) for x in ends[:, axis])
    step, other = (lines_u, lines_v) if way == "u" else (lines_v, lines_u)
    occupied, faces, rest = (rows, slab.faces_u, slab.faces_v) if way == "u" else (columns, slab.faces_v, slab.faces_u)
    before = int(np.searchsorted(step, low + 1e-6, side="right")) - 1
    after = int(np.searchsorted(step, high - 1e-6, side="left"))
    if before < 0 or after >= len(step):
        return
    # Only this member may lie between the two lines.
    first = max(int(np.searchsorted(faces, step[before] + 1e-6, side="right")) - 1, 0)
    stop = int(np.searchsorted(faces, step[after] - 1e-6, side="left"))
    between = occupied[first:stop]
    alone = np.all((between == FREE) | (between == index + 1), axis=0) & np.any(between == index + 1, axis=0)
    if way == "u":
        alone &= ~low_rows
    at = np.flatnonzero(alone)
    if len(at) == 0:
        return
    sign = float(slab.axes[1 - axis] @ np.array(member.along))
    along = (other[at] - start[1 - axis]) * np.sign(sign)
    lift = float(slab.axes[2] @ np.array(member.across))
    plane_across = (slab.plane_in - start[2]) * np.sign(lift)
    a, b = (ids[before, at], ids[after, at]) if way == "u" else (ids[at, before] + 1, ids[at, after] + 1)
    if not borable(member):
        out.closed.append((a, b, np.full(len(at), index), along))
        return
    cells = slab.straight if way == "u" else slab.occupied.T
    room = np.minimum(
        _room_beside(cells, faces, low - 1e-6, rest, other[at]),
        _room_beside(cells, faces, high + 1e-6, rest, other[at]),
    )
    numbers, across = maker.add(index, along, plane_across, room_in=room)
    ok = numbers >= 0
    jog = 2 * np.abs(across[ok] - plane_across)
    out.add(a[ok], b[ok], (step[after] - step[before]) + jog, bore=numbers[ok])
    out.closed.append((a[~ok], b[~ok], np.full(int((~ok).sum()), index), along[~ok]))


def _room_beside(occupied: Ints, faces: Floats, place: float, rest: Floats, at: Floats) -> Floats:
    """How far it is from places beside a member's face to the next thing on it; 0 or less where it is taken."""
    column = int(np.clip(np.searchsorted(faces, place) - 1, 0, len(occupied) - 1))
    taken = np.flatnonzero(occupied[column] != FREE)
    low, high = rest[taken], rest[taken + 1]
    away = np.maximum(low[None, :] - at[:, None], at[:, None] - high[None, :])
    result: Floats = np.min(away, axis=1, initial=np.inf)
    return result


def _port_edge(
    building: Building, slabs: Sequence[Slab], port: _Port, node: _Node, through: _Through, out: Collector
) -> None:
    gate = port.gate
    member = building.members[gate.member]
    through_in = abs(gate.far_bit_in - gate.near_bit_in)
    for number, near, far in zip(port.bores, port.near, port.far, strict=True):
        ends = []
        length = through_in
        for slab_number, local in ((gate.near, near), (gate.far, far)):
            slab = slabs[slab_number]
            heading = np.abs(slab.axes @ np.array(member.bit))
            length += abs(float(local[2]) - slab.plane_in)
            if heading[0] > 0.99:
                ends.append(node(slab_number, float(local[0]), float(local[1]), ACROSS))
            elif heading[1] > 0.99:
                ends.append(node(slab_number, float(local[0]), float(local[1]), ALONG))
            else:
                ends.append(through(slab_number, float(local[0]), float(local[1])))
        via = out.way(PortWay(near=gate.near, far=gate.far, near_bit_in=gate.near_bit_in, far_bit_in=gate.far_bit_in))
        out.add(np.array(ends[:1]), np.array(ends[1:]), np.array([length]), bore=int(number), via=via)


def _face_edges(
    building: Building,
    faces: Sequence[Face],
    places: Sequence[Floats],
    face_base: Ints,
    landings: Sequence[Landing],
    joints: Sequence[Joint],
    node: _Node,
    through: _Through,
    slabs: Sequence[Slab],
    out: Collector,
) -> None:
    for number, face in enumerate(faces):
        at = places[number]
        middles = (at[:-1] + at[1:]) / 2
        clear = np.array([bool(np.any((face.clear[:, 0] <= m) & (m <= face.clear[:, 1]))) for m in middles], dtype=bool)
        upright = abs(face.direction[2]) > 0.7
        low = face.start[2] + middles * face.direction[2] < face_sight_below(building, building.members[face.member])
        # In sight and in reach a cable may drop, if that is accepted, but not run level.
        clear &= ~low | (upright & (building.exposed != "never"))
        k = np.flatnonzero(clear)
        kind = ON_WALL if upright or abs(face.normal[2]) < 0.5 else OVERHEAD
        first = len(out.lane_room)
        out.lane_room += [2 * face.half_in - 2 * building_edge(building)] * len(k)
        out.lane_sides += [1] * len(k)
        out.add(
            face_base[number] + k, face_base[number] + k + 1, at[k + 1] - at[k],
            staples=kind, lane=first + np.arange(len(k)), covered=low[k] & (building.exposed == "covered"),
        )  # fmt: skip
    for landing in landings:
        face, slab = faces[landing.face], slabs[landing.slab]
        start = face.point(landing.along)
        points = [start, *[np.array(p) for p in landing.via], slab.world(landing.u, landing.v, slab.plane_in)]
        length = sum(float(np.abs(slab.axes @ (q - p)).sum()) for p, q in zip(points[:-1], points[1:], strict=True))
        a = int(face_base[landing.face]) + nearest_index(places[landing.face], landing.along)
        out.add(
            np.array([a]),
            np.array([through(landing.slab, landing.u, landing.v)]),
            np.array([length]),
            turn=1,
            via=out.way(landing),
        )
    for joint in joints:
        a_face, b_face = faces[joint.face_a], faces[joint.face_b]
        seen = [face_sight_below(building, building.members[f.member]) for f in (a_face, b_face)]
        if min(a_face.point(joint.along_a)[2], b_face.point(joint.along_b)[2]) < max(seen) - 1e-6:
            continue
        points = [a_face.point(joint.along_a), *[np.array(p) for p in joint.via], b_face.point(joint.along_b)]
        length = sum(float(np.linalg.norm(q - p)) for p, q in zip(points[:-1], points[1:], strict=True))
        a = int(face_base[joint.face_a]) + nearest_index(places[joint.face_a], joint.along_a)
        b = int(face_base[joint.face_b]) + nearest_index(places[joint.face_b], joint.along_b)
        turns = 0 if abs(float(a_face.direction @ b_face.direction)) > 0.99 and length < 1.0 else 1
        out.add(np.array([a]), np.array([b]), np.array([length]), turn=turns, via=out.way(joint))


def building_edge(building: Building) -> float:
    """Distance a cable beside a face keeps from its edges (300.4(D))."""
    return Limits(building.limits)["cable.face_edge"]


def _box_edges(
    building: Building,
    box: Box,
    slab: Slab,
    exits: Sequence[Exit],
    node: _Node,
    boxes: dict[str, int],
    out: Collector,
) -> None:
    for way in (e for e in exits if e.box == box.id):
        _from_box(
            building, slab, boxes[box.id], node(way.slab, *way.turn, ALONG), way, (way.entry[1], way.turn[1]), out
        )
        if box.rise_in == 0:
            _from_box(
                building, slab, boxes[box.id], node(way.slab, *way.turn, ACROSS), way, (way.entry[1], way.turn[1]), out
            )


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


def _straights(building: Building, slab: Slab, exits: Sequence[Exit], boxes: dict[str, int], out: Collector) -> None:
    """Boxes one above the other in a bay (or in line along a joist) may be joined by a straight cable with no turn."""
    bodies = {box.id: box for box in building.boxes}
    column = sorted((e.entry[0], bodies[e.box].v_in, e.box) for e in {e.box: e for e in exits}.values())
    for (u_a, _, a), (u_b, _, b) in zip(column[:-1], column[1:], strict=True):
        if abs(u_a - u_b) > 1e-6:
            continue
        low, high = bodies[a], bodies[b]
        edges = low.v_in + low.size_in[1] / 2, high.v_in - high.size_in[1] / 2
        occupied = _combined(slab.occupied.T, slab.faces_u, np.array([u_a]))
        clear = (
            edges[1] > edges[0] + 1e-6
            and _open_between(occupied, slab.faces_v, np.array(edges[:1]), np.array(edges[1:]))[0, 0]
        )
        if clear:
            start, end = edges if slab.assembly.kind == "wall" else (low.v_in, high.v_in)
            way = Straight(slab=slab.number, start=(u_a, start), end=(u_a, end))
            _from_box(building, slab, boxes[a], boxes[b], way, (start, end), out)


def _face_box_edges(
    building: Building,
    box: Box,
    faces: Sequence[Face],
    places: Sequence[Floats],
    face_base: Ints,
    boxes: dict[str, int],
    out: Collector,
) -> None:
    for number, face in enumerate(faces):
        if face.name != f"{box.host} {box.side}":
            continue
        for sign in (1.0, -1.0):
            entry = box.u_in + sign * box.size_in[0] / 2
            turn = entry + sign * box.rise_in
            clear = np.any(
                (face.clear[:, 0] - 1e-6 <= min(entry, turn)) & (max(entry, turn) <= face.clear[:, 1] + 1e-6)
            )
            if not clear:
                continue
            top = face_sight_below(building, building.members[face.member])
            low = min(face.point(entry)[2], face.point(turn)[2]) < top - 1e-6
            if low and (building.exposed == "never" or abs(face.direction[2]) < 0.7):
                continue
            node = int(face_base[number]) + nearest_index(places[number], turn)
            out.add(
                np.array([boxes[box.id]]),
                np.array([node]),
                np.array([abs(turn - entry)]),
                staples=ON_WALL,
                via=out.way(FaceExit(box=box.id, face=number, entry=entry, turn=turn)),
                covered=low and building.exposed == "covered",
            )

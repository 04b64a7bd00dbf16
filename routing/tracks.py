"""Build the graph of everywhere a cable may run.

Prices and the type of cable come after (``routing.cost``): the same graph serves every cable.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from barnloom.model.building import Building, Member
from barnloom.model.lengths import format_length
from barnloom.model.limits import Limits
from barnloom.routing.aims import AimBook
from barnloom.routing.bay_edges import box_edges, slab_edges, straights, uses_of
from barnloom.routing.bores import BoreMaker, BoreTable
from barnloom.routing.face_edges import face_box_edges, face_edges, face_ways
from barnloom.routing.faces import Face, Joint, Landing, faces_of
from barnloom.routing.graph import (
    ACROSS,
    ALONG,
    Closed,
    Collector,
    Edges,
    Numbers,
    PortWay,
    Tracks,
    nearest_indices,
)
from barnloom.routing.ports import Gate, Meeting, gates_of, meetings_of
from barnloom.routing.slab import SAME_IN, Floats, Ints, Slab, member_points, slabs_of, unique_sorted
from barnloom.routing.wishes import (
    Exit,
    Wishes,
    exits_of,
    on_rows,
    row_origin,
    sight_below,
    wishes_of,
    worth_keeping,
)

BAY_IN = 24.0
"""Boxes nearer each other than this may hang in one bay."""


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
    origins: tuple[float, ...]
    """Of each slab, the coordinate v from which its rows count."""
    exits: tuple[tuple[Exit, ...], ...]
    wishes: tuple[Wishes, ...]
    gates: tuple[Gate, ...]
    meetings: tuple[Meeting, ...]
    landings: tuple[Landing, ...]
    joints: tuple[Joint, ...]
    face_places: tuple[Floats, ...]
    notes: tuple[str, ...]
    aims: AimBook
    """Aims that have been worked out, for the next time that tracks are laid here."""


def ground_of(building: Building, limits: Limits, like: Ground | None = None) -> Ground:
    """Look at a building's free space; the costly half of laying tracks, done once.

    Parameters
    ----------
    like : Ground, optional
        Of a building with the same limits, tools and prices: the aims that were worked out there hold here.
    """
    same = like is not None and all(
        getattr(like.building, name) == getattr(building, name) for name in ("limits", "tools", "prices")
    )
    slabs = slabs_of(building, limits)
    faces = faces_of(building)
    hosts = {slab.assembly.id: slab for slab in slabs}
    origins = [row_origin(slab, building.members) for slab in slabs]
    notes: list[str] = []
    exits: list[list[Exit]] = [[] for _ in slabs]
    for box in building.boxes:
        if box.host in hosts and not box.side:
            slab = hosts[box.host]
            found = exits_of(box, slab, origins[slab.number], building.tools.grid_in)
            exits[slab.number] += found
            short = [e.short_in for e in found if e.short_in > 0]
            if short:
                missing = format_length(short[0], metric=building.metric)
                notes.append(f"{box.id}: {missing} short of the straight start that a cable should have there")
    wishes = [wishes_of(building, slab, limits, exits[slab.number]) for slab in slabs]
    landings, joints, face_places = face_ways(building, slabs, faces, wishes)
    return Ground(
        building=building,
        limits=limits,
        slabs=tuple(slabs),
        faces=tuple(faces),
        origins=tuple(origins),
        exits=tuple(tuple(own) for own in exits),
        wishes=tuple(wishes),
        gates=tuple(gates_of(building, slabs, limits)),
        meetings=tuple(meetings_of(slabs, [(w.own_u, w.own_v) for w in wishes])),
        landings=tuple(landings),
        joints=tuple(joints),
        face_places=tuple(face_places),
        notes=tuple(notes),
        aims=AimBook(like.aims if like is not None and same else None),
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
    maker = BoreMaker(building, limits, ground.aims)
    collector = Collector()
    ports = _ports(building, limits, slabs, gates, wishes, maker, extra or {})
    lines_u, lines_v = _lines(ground, ports, extra or {}, maker)

    sizes = [2 * len(u) * len(v) for u, v in zip(lines_u, lines_v, strict=True)]
    base = np.concatenate(([0], np.cumsum(sizes, dtype=np.int64))).astype(np.int64)
    face_base = base[-1] + np.concatenate(([0], np.cumsum([len(p) for p in face_places], dtype=np.int64))).astype(
        np.int64
    )
    through_base = int(face_base[-1])
    numbers = Numbers(lines_u, lines_v, base, through_base)
    for slab in slabs:
        n = slab.number
        slab_edges(building, limits, slab, lines_u[n], lines_v[n], int(base[n]), exits[n], maker, collector)
    for port in ports:
        _port_edges(building, slabs, port, numbers, collector)
    for meeting in meetings:
        via = collector.way(meeting)
        for heading in (ACROSS, ALONG):
            a, b = (
                numbers.nodes(slab, np.array([u]), np.array([v]), heading)
                for slab, (u, v) in ((meeting.slab_a, meeting.at_a), (meeting.slab_b, meeting.at_b))
            )
            collector.add(a, b, np.array([meeting.step_in]), turn=int(heading in meeting.turns), via=via)
    face_edges(building, faces, face_places, face_base, landings, joints, numbers, slabs, collector)
    numbers.turns_of_throughs(collector)
    boxes_base = through_base + len(numbers.through)
    boxes = {box.id: boxes_base + n for n, box in enumerate(building.boxes)}
    for box in building.boxes:
        if box.side:
            face_box_edges(building, box, faces, face_places, face_base, boxes, collector)
        elif box.host in hosts:
            box_edges(building, box, hosts[box.host], exits[hosts[box.host].number], numbers, boxes, collector)
    for slab in slabs:
        straights(building, slab, exits[slab.number], boxes, collector)
    none = np.empty(0, dtype=np.int64)
    closed = [np.concatenate([part[k] for part in collector.closed] or [none]) for k in range(4)]
    bores, edges = maker.table(), collector.edges()
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
        through_at=numbers.through_at(),
        through_base=through_base,
        boxes=boxes,
        node_count=boxes_base + len(boxes),
        edges=edges,
        bores=bores,
        ways=tuple(collector.ways),
        exits=tuple(e for own in exits for e in own),
        lane_room_in=np.array(collector.lane_room),
        lane_sides=np.array(collector.lane_sides, dtype=np.int64),
        closed=Closed(closed[0], closed[1], closed[2], closed[3].astype(np.float64)),
        gates=gates,
        notes=ground.notes,
        old_holes=_old_holes(building, bores),
        taken=_taken(edges, bores),
    )


def _taken(edges: Edges, bores: BoreTable) -> Ints:
    through = np.zeros(len(edges.bore), dtype=bool)
    through[edges.bore >= 0] = bores.taken[edges.bore[edges.bore >= 0]]
    return np.flatnonzero(edges.taken | through)


def _old_holes(building: Building, bores: BoreTable) -> dict[str, tuple[int, ...]]:
    found: dict[str, tuple[int, ...]] = {}
    for candidate in np.flatnonzero(bores.hole >= 0):
        name = building.members[int(bores.member[candidate])].holes[int(bores.hole[candidate])].id
        found[name] = (*found.get(name, ()), int(candidate))
    return found


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
        grid = building.tools.grid_in
        ends = [np.ceil(low / grid - 1e-6) * grid, np.floor(high / grid + 1e-6) * grid]
        if ends[0] > ends[1] + 1e-9:
            continue
        olds = [hole.along_in for hole in member.holes if gate.along[0] < hole.along_in < gate.along[1]]
        wished = _wished(member, slabs, wishes, gate, sorted(beside[gate.far] | {gate.near}), extra.get(member.id, ()))
        # Holes are on the print grid: off it, the places either side are wished for.
        near = np.concatenate([np.floor(wished / grid + 1e-6), np.ceil(wished / grid - 1e-6)]) * grid
        places = unique_sorted([*ends, *near[(near > ends[0]) & (near < ends[1])], *olds])
        strip = (gate.across[0], gate.across[1])
        room = np.minimum(places - gate.along[0], gate.along[1] - places)
        legal = maker.legal(gate.member, places, (strip[0] + strip[1]) / 2, strip, room)
        kept = worth_keeping(places, np.isin(places, olds), legal)
        places, room = places[kept], room[kept]
        numbers, across = maker.add(gate.member, places, (strip[0] + strip[1]) / 2, strip, room)
        ok = numbers >= 0
        if not ok.any():
            continue
        if abs(member.bit[2]) < 0.5:
            # Round a corner is across the members: not in sight and in reach, unless the answer is that it may.
            height = np.array(member.origin)[2] + places * member.along[2]
            for number in (gate.near, gate.far):
                ok &= height >= float(slabs[number].origin[2]) + sight_below(building, slabs[number]) - 1e-6
            if not ok.any():
                continue
        mouths = [
            member_points(member, np.stack([places[ok], np.full(ok.sum(), bit), across[ok]], axis=1))
            for bit in (gate.near_bit_in, gate.far_bit_in)
        ]
        ports.append(_Port(gate, numbers[ok], slabs[gate.near].local(mouths[0]), slabs[gate.far].local(mouths[1])))
    return ports


def _wished(
    member: Member,
    slabs: Sequence[Slab],
    wishes: Sequence[Wishes],
    gate: Gate,
    numbers: Sequence[int],
    extra: Sequence[float],
) -> Floats:
    """Places along a member, near a gate in it, that boxes of some slabs wish for, and what is asked for besides."""
    found = [np.array(extra)]
    for number in numbers:
        step = slabs[number].axes @ np.array(member.along)
        start = float((slabs[number].origin - np.array(member.origin)) @ np.array(member.along))
        for axis, own in ((0, wishes[number].own_u), (1, wishes[number].own_v)):
            if abs(abs(step[axis]) - 1) < 1e-9:
                found.append(start + own * step[axis])
        if number == gate.near and abs(step[0]) > 0.99:
            found.append(start + wishes[number].crowd_u * step[0])
    places = np.concatenate(found)
    result: Floats = places[(places > gate.along[0]) & (places < gate.along[1])]
    return result


def _lines(
    ground: Ground, ports: Sequence[_Port], extra: Mapping[str, tuple[float, ...]], maker: BoreMaker
) -> tuple[list[Floats], list[Floats]]:
    building, slabs, wishes = ground.building, ground.slabs, ground.wishes
    # Where a cable comes in or goes out there is a line; one that is only as good as a line beside it is left out.
    needed_u = [[*w.own_u, *w.old_u, *_between(w.own_u)] for w in wishes]
    needed_v = [[*w.old_v] for w in wishes]
    for exits, vs in zip(ground.exits, needed_v, strict=True):
        vs += [c for e in exits for c in (e.entry[1], e.turn[1])]
    for port in ports:
        for number, local in ((port.gate.near, port.near), (port.gate.far, port.far)):
            needed_u[number] += list(local[:, 0])
            needed_v[number] += list(local[:, 1])
    for meeting in ground.meetings:
        for number, (u, v) in ((meeting.slab_a, meeting.at_a), (meeting.slab_b, meeting.at_b)):
            needed_u[number].append(u)
            needed_v[number].append(v)
    for landing in ground.landings:
        needed_u[landing.slab].append(landing.u)
        needed_v[landing.slab].append(landing.v)
    # Walls of a storey share their heights, so that a row may go round a corner.
    heights: dict[str, list[float]] = {}
    for slab in slabs:
        if slab.assembly.kind == "wall":
            heights.setdefault(slab.assembly.storey, []).extend(float(slab.origin[2]) + wishes[slab.number].own_v)
    lines_u, lines_v = [], []
    for slab in slabs:
        n = slab.number
        needed_u[n] += list(slab.sliver_middles())
        needed_v[n] += _extra_rows(building, slab, extra)
        rows = list(wishes[n].v)
        # Beside a block or a header the nearest hole is half a bit off it.
        stops: list[float] = [] if slab.assembly.top else [float(x) for x in np.unique(slab.cells.v)[1:-1]]
        rows += [x + way * building.tools.bits_in[0] / 2 for x in stops for way in (-1, 1)]
        if slab.assembly.kind == "wall":
            shared = np.array(heights.get(slab.assembly.storey, [])) - float(slab.origin[2])
            rows += (
                list(on_rows(unique_sorted(shared), ground.origins[n], building.tools.grid_in, True))
                if len(shared)
                else []
            )
        rows += _grid_neighbours(unique_sorted([*rows, *needed_v[n]]), ground.origins[n], building.tools.grid_in)
        # A cable that comes into a bay and goes out of it the same way turns at the member's side.
        sides = [*wishes[n].u, *slab.cells.u.ravel()]
        lines_u.append(_thinned(building, slab, maker, "v", needed_u[n], sides))
        lines_v.append(_thinned(building, slab, maker, "u", needed_v[n], rows))
    return lines_u, lines_v


def _thinned(
    building: Building, slab: Slab, maker: BoreMaker, way: str, needed: Sequence[float], wished: Sequence[float]
) -> Floats:
    """Lines along an axis of a slab: the needed ones, and those of the wished that are good for what none beside is."""
    cells, extent = (slab.cells.v, slab.assembly.extent_v) if way == "u" else (slab.cells.u, slab.assembly.extent_u)
    lines = _turn_lines(cells, unique_sorted([*needed, *wished]), extent)
    at = unique_sorted([*needed, np.inf])
    always = np.abs(lines - at[nearest_indices(at, lines)]) <= SAME_IN
    return lines[worth_keeping(lines, always, uses_of(building, slab, maker, lines, way))]


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


def _port_edges(building: Building, slabs: Sequence[Slab], port: _Port, numbers: Numbers, out: Collector) -> None:
    gate = port.gate
    bit = np.array(building.members[gate.member].bit)
    ends, length = [], np.full(len(port.bores), abs(gate.far_bit_in - gate.near_bit_in))
    for slab, (u, v, depth) in ((slabs[gate.near], port.near.T), (slabs[gate.far], port.far.T)):
        length += np.abs(depth - slab.plane_in)
        across, along, _ = np.abs(slab.axes @ bit) > 0.99
        if across or along:
            ends.append(numbers.nodes(slab.number, u, v, ACROSS if across else ALONG))
        else:
            ends.append(numbers.throughs(slab.number, u, v))
    via = out.way(PortWay(near=gate.near, far=gate.far, near_bit_in=gate.near_bit_in, far_bit_in=gate.far_bit_in))
    out.add(ends[0], ends[1], length, bore=port.bores, via=via)

"""Every way that a cable may take, with the least that its drawn line can cost there: a graph below the tracks.

It has the tracks' nodes and edges. A drawn line is never shorter than what is counted here, and never has fewer turns
and staples; the README says why, edge by edge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from barnloom.model.building import CableType
from barnloom.routing.aims import aimed_in
from barnloom.routing.bores import single_bored
from barnloom.routing.bound.items import Items
from barnloom.routing.compiled import chains
from barnloom.routing.core import wanted_edges
from barnloom.routing.cost import pass_key
from barnloom.routing.faces import Joint, Landing
from barnloom.routing.fastening import STEP_IN, STRAIGHT
from barnloom.routing.graph import ALONG, FaceExit, PortWay, Straight, Tracks
from barnloom.routing.ports import Meeting
from barnloom.routing.slab import Floats, Ints
from barnloom.routing.wishes import Exit, face_sight_below, sight_below

OVERHEAD_SHARE, FACE_SHARE = 0.5, 0.9
"""A run takes one staple at least, and one for each stretch of so many inches: any mean of the two is a bound."""
MOVED_IN = 1e-6
"""Two places nearer than this are one."""


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Ways:
    """Directed arcs in CSR order, each with its edge's number; a box is left by one node and entered by another."""

    start: NDArray[np.int32]
    target: NDArray[np.int32]
    edge: NDArray[np.int32]
    inches: Floats
    """(stretches,) least length of the line drawn there."""
    money: Floats
    """(stretches,) least price of turns, staples, covers and of passing a hole."""
    track: Ints
    """(stretches,) the edge of the tracks that it stands for."""
    first: NDArray[np.int32]
    """(edges + 1,) where each edge's stretches begin: it is a chain of them."""
    item_first: NDArray[np.int32]
    """(edges + 1,) where each edge's items begin in ``item``."""
    item: NDArray[np.int32]
    boxes: dict[str, int]
    """Node that a box is left by."""
    into: int
    """Added to that: the node that it is entered by."""

    def prices(self, kind: CableType, slack_share: float, pull_ft: float) -> Floats:
        """(stretches,) least price of each for a cable of a kind, items not counted."""
        return self.inches / 12 * (kind.price_ft * (1 + slack_share) + pull_ft) + self.money

    def of_edges(self, prices: Floats) -> Floats:
        """(edges,) prices of stretches summed up."""
        result: Floats = np.add.reduceat(prices, self.first[:-1]) if len(self.first) > 1 else np.empty(0)
        return result


@dataclass(frozen=True, eq=False, slots=True)
class _Places:
    """Where nodes are: (nodes,) slab (-1: none), coordinates in it, and the node of the other heading (-1: none)."""

    slab: Ints
    u: Floats
    v: Floats
    other: Ints


def ways_of(tracks: Tracks, items: Items) -> Ways:
    """The graph below some tracks."""
    return _Maker(tracks, items).ways()


class _Maker:
    """Edges of the graph in the making.

    A run along one heading, or over a face, is *sure* if some stretch of it is long enough to count for turns and
    staples. A node of a slab stands for its place with the heading of the last sure run, one of a face for a visit with
    a sure run; ``free`` copies of nodes stand for visits without any. Short stretches are there for all of them.
    """

    def __init__(self, tracks: Tracks, items: Items) -> None:
        self.tracks, self.items = tracks, items
        building, edges = tracks.building, tracks.edges
        price, minute = building.prices, building.prices["minute"]
        self.turn = minute * price["turn"]
        wall, overhead = (minute * price[name] + price["staple_each"] for name in ("staple_wall", "staple_overhead"))
        self.on_wall = wall
        above = np.array([abs(face.normal[2]) > 0.5 for face in tracks.faces], dtype=bool)
        self.on_face = np.append(np.where(above, overhead, wall), 0.0)
        in_walls = np.array([slab.assembly.kind == "wall" for slab in tracks.slabs], dtype=bool)
        self.staple = np.append(np.where(in_walls, wall, overhead), 0.0)
        self.share = np.append(np.where(in_walls, 0.0, OVERHEAD_SHARE), 0.0)
        self.places = _places(tracks)
        shifts = port_shifts(tracks)
        self.inches = _inches(tracks, self.places, shifts)
        self.sure = _surely_long(tracks, self.places, self.inches, shifts)
        self.money = self._passing()
        if building.exposed == "covered":
            self.money += _covered_in(tracks, self.places) / 12 * price["cover_ft"]
        self.support = tracks.limits["cable.support"]
        self.faces = (int(tracks.face_base[0]), int(tracks.face_base[-1]))
        self.nodes = tracks.node_count
        self.free = np.full(tracks.node_count, -1)
        self.parts: list[tuple[Ints, Ints, Ints, Floats]] = []
        self.edges = edges

    def ways(self) -> Ways:
        edges = self.edges
        special = edges.via >= 0
        in_slab = (self.places.other[edges.a] >= 0) & (self.places.other[edges.b] >= 0) & ~special
        turns = in_slab & (edges.turn > 0)
        unwanted = turns & ~wanted_edges(self.tracks)
        on_face = self._on_face(edges.a) & self._on_face(edges.b) & ~special
        steep = self._steep()
        self._free_nodes(steep)
        self._turns(np.flatnonzero(turns & ~unwanted))
        self._runs(np.flatnonzero(in_slab & ~turns))
        self._over_faces(np.flatnonzero(on_face))
        self._out_of_depth(np.flatnonzero(~(special | in_slab | on_face)), steep)
        for one in np.flatnonzero(special).tolist():
            self._special(one)
        tail, head, number, more = (np.concatenate(columns) for columns in zip(*self.parts, strict=True))
        return _arcs(self.tracks, self.nodes, tail, head, number, self.inches, self.money[number] + more, self.items)

    def _add(self, tail: Ints, head: Ints, number: Ints, more: Floats | float = 0.0) -> None:
        self.parts.append((tail, head, number, np.broadcast_to(np.asarray(more, dtype=np.float64), tail.shape)))

    def _on_face(self, nodes: Ints) -> NDArray[np.bool_]:
        found: NDArray[np.bool_] = (nodes >= self.faces[0]) & (nodes < self.faces[1])
        return found

    def _face(self, nodes: Ints | int) -> Ints:
        """Numbers of the faces that nodes are on."""
        return np.asarray(np.searchsorted(self.tracks.face_base, nodes, side="right")) - 1

    def _face_end(self, face: int) -> float:
        """Price of one end of a sure run over a face."""
        return float(self.on_face[face]) * (1 - FACE_SHARE) / 2

    def _passing(self) -> Floats:
        price, edges = self.tracks.building.prices, self.tracks.edges
        money = np.zeros(len(edges.a))
        through = edges.bore >= 0
        passing = np.array([price["minute"] * price[pass_key(pose)] for pose in self.tracks.bores.pose])
        money[through] = passing[edges.bore[through]]
        return money

    def _steep(self) -> NDArray[np.bool_]:
        """Nodes in a slab's depth that are reached through wood so thick that its hole is a sure run by itself."""
        edges, tracks = self.edges, self.tracks
        found, other = (np.zeros(tracks.node_count, dtype=bool), np.zeros(tracks.node_count, dtype=bool))
        for number in np.flatnonzero(edges.via >= 0).tolist():
            way = tracks.ways[edges.via[number]]
            ends = [int(edges.a[number]), int(edges.b[number])]
            through = isinstance(way, PortWay) and abs(way.far_bit_in - way.near_bit_in) >= STEP_IN
            if through or (isinstance(way, Landing) and self._drops(way)):
                found[ends] = True
            else:
                other[ends] = True
        deep = np.zeros(tracks.node_count, dtype=bool)
        deep[tracks.through_base : tracks.through_base + len(tracks.through_at)] = True
        steep: NDArray[np.bool_] = found & ~other & deep
        return steep

    def _drops(self, way: Landing) -> bool:
        """Whether a way from a face ends with a stretch through the slab's depth that counts."""
        slab = self.tracks.slabs[way.slab]
        start, end = self.tracks.faces[way.face].point(way.along), slab.world(way.u, way.v, slab.plane_in)
        legs = _long_legs([start, *map(np.array, way.via), end])
        return len(legs) > 0 and abs(float(legs[-1] @ slab.axes[2])) > STRAIGHT

    def _free_nodes(self, steep: NDArray[np.bool_]) -> None:
        """Free copies of all faces' nodes, and of slabs' places that short steps join with a steep node's."""
        edges, other = self.edges, self.places.other
        short = (edges.via < 0) & ~self.sure & (other[edges.a] >= 0) & (other[edges.b] >= 0)
        joins = np.flatnonzero(short)
        turns = np.flatnonzero((edges.turn > 0) & (edges.via < 0) & (steep[edges.a] | steep[edges.b]))
        reached = np.zeros(self.tracks.node_count, dtype=bool)
        reached[edges.a[turns]] = reached[edges.b[turns]] = True
        count = -1
        while count != (count := int(reached.sum())):
            either = reached[edges.a[joins]] | reached[edges.b[joins]]
            reached[edges.a[joins]] |= either
            reached[edges.b[joins]] |= either
        place = np.unique(np.minimum(np.flatnonzero(reached & (other >= 0)), other[reached & (other >= 0)]))
        self.free[place] = self.free[other[place]] = self.nodes + np.arange(len(place))
        self.nodes += len(place)
        on_faces = np.arange(*self.faces)
        self.free[on_faces] = self.nodes + np.arange(len(on_faces))
        self.nodes += len(on_faces)

    def _turns(self, numbers: Ints) -> None:
        """From one heading to the other: a turn, and an end of a run along the members."""
        a, b = self.edges.a[numbers], self.edges.b[numbers]
        self._add(a, b, numbers, self.turn + self._end(self.places.slab[a]))

    def _end(self, slab: Ints | int) -> Floats:
        """Price of one end of a sure run along the members of a slab: half of what its first staple costs at least."""
        result: Floats = self.staple[slab] * (1 - self.share[slab]) / 2
        return result

    def _runs(self, numbers: Ints) -> None:
        """Across and along: what is surely long with its own heading alone, the rest whatever the heading."""
        edges, other = self.edges, self.places.other
        a, b = edges.a[numbers], edges.b[numbers]
        slab, sure = self.places.slab[a], self.sure[numbers]
        fastened = sure & (edges.staples[numbers] > 0)
        count, share = self.inches[numbers] / self.support, self.share[slab]
        staples = self.staple[slab] * (share * count + (1 - share) * np.maximum(count - 1, 0.0))
        self._add(a, b, numbers, np.where(fastened, staples, 0.0))
        a, b, numbers = a[~sure], b[~sure], numbers[~sure]
        self._add(other[a], other[b], numbers)
        free = (self.free[a] >= 0) & (self.free[b] >= 0)
        self._add(self.free[a[free]], self.free[b[free]], numbers[free])

    def _over_faces(self, numbers: Ints) -> None:
        a, b, sure = self.edges.a[numbers], self.edges.b[numbers], self.sure[numbers]
        count = self.inches[numbers] / self.support
        staples = self.on_face[self._face(a)] * (FACE_SHARE * count + (1 - FACE_SHARE) * np.maximum(count - 1, 0.0))
        self._add(a, b, numbers, np.where(sure, staples, 0.0))
        self._add(self.free[a[~sure]], self.free[b[~sure]], numbers[~sure])

    def _out_of_depth(self, numbers: Ints, steep: NDArray[np.bool_]) -> None:
        """Between a node in a slab's depth and either heading: a turn, if what comes from the depth is a sure run."""
        edges = self.edges
        swapped = self.places.other[edges.a[numbers]] >= 0
        deep = np.where(swapped, edges.b[numbers], edges.a[numbers])
        flat = np.where(swapped, edges.a[numbers], edges.b[numbers])
        along = (flat & 1) == ALONG
        more = np.where(steep[deep], self.turn, 0.0) + np.where(along, self._end(self.places.slab[flat]), 0.0)
        self._add(deep, flat, numbers, more)
        free = steep[deep] & (self.free[flat] >= 0)
        self._add(deep[free], self.free[flat[free]], numbers[free])

    def _special(self, number: int) -> None:
        """A way of its own, from every node that stands for one end to every one that stands for the other."""
        way = self.tracks.ways[self.edges.via[number]]
        a, b = int(self.edges.a[number]), int(self.edges.b[number])
        if isinstance(way, Straight):
            count = int(np.ceil(self.inches[number] / self.support - 1e-6)) if self.sure[number] else 0
            # A cable has two staples at least; what its stretches do not ask for is put into a wall.
            self._one(a, b, number, count * float(self.staple[way.slab]) + max(0, 2 - count) * self.on_wall)
        elif isinstance(way, Exit | FaceExit) and self.sure[number]:
            end = self._face_end(way.face) if isinstance(way, FaceExit) else float(self._end(way.slab))
            self._one(a, b, number, end)
        else:
            bends, ends, between = self._bends(way)
            for one, price_one, sure_one in self._stands_for(a):
                for two, price_two, sure_two in self._stands_for(b):
                    turns = (
                        bends + (ends[0] and sure_one) + (ends[1] and sure_two) + (between and sure_one and sure_two)
                    )
                    self._one(one, two, number, price_one + price_two + self.turn * turns)

    def _bends(self, way: object) -> tuple[int, tuple[bool, bool], bool]:
        """Turns in the line of a way over corners; whether runs at its ends bend into it, or, if it is short, on."""
        tracks = self.tracks
        if isinstance(way, Joint):
            faces = [tracks.faces[way.face_a], tracks.faces[way.face_b]]
            line = [faces[0].point(way.along_a), *map(np.array, way.via), faces[1].point(way.along_b)]
        elif isinstance(way, Landing):
            faces, slab = [tracks.faces[way.face]], tracks.slabs[way.slab]
            line = [faces[0].point(way.along), *map(np.array, way.via), slab.world(way.u, way.v, slab.plane_in)]
        else:
            return 0, (False, False), False
        legs = _long_legs(line)
        if not len(legs):
            return (0, (False, False), len(faces) > 1 and _apart(faces[0].direction, faces[1].direction))
        inner = sum(float(one @ other) < STRAIGHT for one, other in pairwise(legs))
        last = len(faces) > 1 and _apart(legs[-1], faces[-1].direction)
        return inner, (_apart(legs[0], faces[0].direction), last), False

    def _one(self, tail: int, head: int, number: int, more: float) -> None:
        self._add(np.array([tail]), np.array([head]), np.array([number]), more)

    def _stands_for(self, node: int) -> list[tuple[int, float, bool]]:
        """Nodes for an end of a way, with the price of the end of a run there, and whether one is sure there."""
        other, free = int(self.places.other[node]), int(self.free[node])
        found = [(node, 0.0, False)]
        if other >= 0:
            end = float(self._end(int(self.places.slab[node])))
            found = [(one, end if one % 2 == ALONG else 0.0, True) for one in (node, other)]
        elif self.faces[0] <= node < self.faces[1]:
            found = [(node, self._face_end(int(self._face(node))), True)]
        return [*found, (free, 0.0, False)] if free >= 0 else found


def _long_legs(line: Sequence[Floats]) -> Floats:
    """(n, 3) directions of those stretches of a line that count."""
    legs = np.diff(np.array(line), axis=0)
    lengths = np.linalg.norm(legs, axis=1)
    result: Floats = legs[lengths >= STEP_IN] / lengths[lengths >= STEP_IN, None]
    return result


def _apart(one: Floats, other: Floats) -> bool:
    """Whether two directions are not on one line, whichever way each is gone."""
    return abs(float(one @ other)) < STRAIGHT


def _arcs(
    tracks: Tracks, nodes: int, one: Ints, two: Ints, number: Ints, inches: Floats, money: Floats, items: Items
) -> Ways:
    """Both directions of all edges, without dead ends, and with what has two neighbours alone put into chains.

    A box is left by its node of the tracks, and entered by one of its own.
    """
    boxes, first_box = len(tracks.boxes), tracks.node_count - len(tracks.boxes)
    kept = np.arange(len(one))
    is_box = np.zeros(nodes, dtype=bool)
    is_box[first_box : tracks.node_count] = True
    while True:
        degree = np.bincount(np.concatenate([one[kept], two[kept]]), minlength=nodes)
        alive = ~(((degree[one[kept]] == 1) & ~is_box[one[kept]]) | ((degree[two[kept]] == 1) & ~is_box[two[kept]]))
        if alive.all():
            break
        kept = kept[alive]
    ends = np.concatenate([one[kept], two[kept]])
    order = np.argsort(ends, kind="stable")
    start = np.searchsorted(ends[order], np.arange(nodes + 1))
    other = np.concatenate([two[kept], one[kept]])[order]
    stops = (degree > 0) & ((degree != 2) | is_box)
    both, first, along = chains(start, other, np.tile(kept, 2)[order], stops)
    both, first, along = np.asarray(both), np.asarray(first), np.asarray(along)
    stops[first_box : tracks.node_count] = True
    place = np.full(nodes, -1)
    place[stops] = np.arange(int(stops.sum()))
    into = int(stops.sum()) - int(place[first_box])
    tail = place[np.concatenate([both[:, 0], both[:, 1]])]
    head = place[np.concatenate([both[:, 1], both[:, 0]])]
    head = np.where((head >= place[first_box]) & (head < place[first_box] + boxes), head + into, head)
    order = np.lexsort((head, tail))
    count = int(stops.sum()) + boxes
    needed = items.of_edge[number[along]]
    some = np.flatnonzero(needed >= 0)
    return Ways(
        start=np.searchsorted(tail[order], np.arange(count + 1)).astype(np.int32),
        target=head[order].astype(np.int32),
        edge=np.tile(np.arange(len(both)), 2)[order].astype(np.int32),
        inches=inches[number[along]],
        money=money[along],
        track=number[along],
        first=first.astype(np.int32),
        item_first=np.searchsorted(some, first).astype(np.int32),
        item=needed[some].astype(np.int32),
        boxes={name: int(place[node]) for name, node in tracks.boxes.items()},
        into=into,
    )


def _places(tracks: Tracks) -> _Places:
    count = tracks.node_count
    slab, u, v = np.full(count, -1), np.zeros(count), np.zeros(count)
    other = np.full(count, -1)
    for n, (us, vs) in enumerate(zip(tracks.lines_u, tracks.lines_v, strict=True)):
        low, high = int(tracks.base[n]), int(tracks.base[n + 1])
        slab[low:high] = n
        u[low:high] = np.repeat(us, 2 * len(vs))
        v[low:high] = np.tile(np.repeat(vs, 2), len(us))
        other[low:high] = (np.arange(high - low) ^ 1) + low
    for n, (number, along_u, along_v) in enumerate(tracks.through_at):
        at = tracks.through_base + n
        slab[at], u[at], v[at] = number, along_u, along_v
    return _Places(slab, u, v, other)


def port_shifts(tracks: Tracks) -> Floats:
    """(candidates,) how far across its member a hole into another slab may lie from where the tracks have it.

    Nothing where every bit that is legal there is aimed at the same place: no other hole may be so near that it would
    drive this one away. Else all that is free.
    """
    building, table = tracks.building, tracks.bores
    single = single_bored(building)
    shifts = np.zeros(len(table.hole))
    into_other = np.isfinite(table.strip).all(axis=1) & (table.hole < 0)
    keys = np.column_stack([table.member, table.strip])[into_other]
    _, group = np.unique(keys, axis=0, return_inverse=True)
    for number in range(group.max(initial=-1) + 1):
        some = np.flatnonzero(into_other)[group == number]
        low, high = (float(x) for x in table.strip[some[0]])
        member = building.members[int(table.member[some[0]])]
        wide = member.id not in single
        room = np.maximum(table.across[some] - max(low, 0.0), min(high, member.depth_in) - table.across[some])
        for k, bit in enumerate(building.tools.bits_in):
            aim = aimed_in(
                building, tracks.limits, member, bit, table.along[some], (low + high) / 2, (low, high), wide=wide
            )
            moved = np.abs(aim.across - table.across[some])
            shifts[some] = np.where(table.legal[some, k] & ~(moved < MOVED_IN), room, shifts[some])
    return shifts


def _inches(tracks: Tracks, places: _Places, shifts: Floats) -> Floats:
    """Least drawn length of each edge: what is moved on the slab's plane, for how deep a cable lies is not known."""
    edges = tracks.edges
    inches = edges.length.copy()
    flat = (edges.via < 0) & (edges.bore >= 0)
    a, b = edges.a[flat], edges.b[flat]
    inches[flat] = np.abs(places.u[a] - places.u[b]) + np.abs(places.v[a] - places.v[b])
    for n in np.flatnonzero(edges.via >= 0):
        way = tracks.ways[edges.via[n]]
        if isinstance(way, PortWay):
            inches[n] = abs(way.far_bit_in - way.near_bit_in) - shifts[edges.bore[n]]
        elif isinstance(way, Meeting):
            inches[n] = 0.0
        elif isinstance(way, Landing):
            slab, face = tracks.slabs[way.slab], tracks.faces[way.face]
            line = np.array([face.point(way.along), *way.via, slab.world(way.u, way.v, slab.plane_in)])
            inches[n] = np.linalg.norm(np.diff(line, axis=0), axis=1).sum()
    return np.minimum(inches, edges.length)


def _surely_long(tracks: Tracks, places: _Places, inches: Floats, shifts: Floats) -> NDArray[np.bool_]:
    """Edges whose line is in a straight stretch that counts as one for turns and staples, wherever holes end up."""
    edges = tracks.edges
    least = np.full(len(edges.a), STEP_IN)
    moved = np.flatnonzero((edges.via >= 0) & (edges.bore >= 0))
    near = np.zeros(tracks.node_count)
    for ends in (edges.a[moved], edges.b[moved]):
        np.maximum.at(near, ends, shifts[edges.bore[moved]])
    with_other = places.other >= 0
    near[with_other] = np.maximum(near[with_other], near[places.other[with_other]])
    least = least + np.maximum(near[edges.a], near[edges.b])
    long: NDArray[np.bool_] = inches >= least - 1e-9
    thick = np.array([member.thickness_in for member in tracks.building.members])
    bored = edges.bore >= 0
    through = thick[tracks.bores.member[edges.bore[bored]]]
    # The mouths of a hole part its line: of either side we only know the sum.
    long[bored] = (through >= STEP_IN) | (inches[bored] - through >= 2 * least[bored])
    return long


def _covered_in(tracks: Tracks, places: _Places) -> Floats:
    """Inches of each edge that are certainly in sight and in reach, where the answer is that they then need a cover."""
    edges, building = tracks.edges, tracks.building
    found = np.zeros(len(edges.a))
    tops = np.array([sight_below(building, slab) for slab in tracks.slabs] + [-np.inf])
    flat = np.flatnonzero((edges.via < 0) & edges.covered & (places.slab[edges.a] >= 0))
    low, high = np.sort(np.stack([places.v[edges.a[flat]], places.v[edges.b[flat]]]), axis=0)
    found[flat] = np.maximum(np.minimum(high, tops[places.slab[edges.a[flat]]]) - low, 0.0)
    for n in np.flatnonzero((edges.via >= 0) & edges.covered).tolist():
        way = tracks.ways[edges.via[n]]
        if isinstance(way, Exit | Straight):
            ends = (way.entry, way.turn) if isinstance(way, Exit) else (way.start, way.end)
            low_v, high_v = sorted((ends[0][1], ends[1][1]))
            found[n] = max(0.0, min(high_v, tops[way.slab]) - low_v)
    for n, face in enumerate(tracks.faces):
        first, last = int(tracks.face_base[n]), int(tracks.face_base[n + 1])
        on = np.flatnonzero(edges.covered & (edges.via < 0) & (edges.a >= first) & (edges.a < last))
        top = face_sight_below(building, building.members[face.member])
        for edge in on.tolist():
            low_z, high_z = sorted(
                float(face.point(float(tracks.face_places[n][node - first]))[2])
                for node in (edges.a[edge], edges.b[edge])
            )
            found[edge] = max(0.0, min(high_z, top) - low_z)
    return found

"""The tracks as a graph: nodes at interesting coordinates, edges that carry quantities, and the way back to places.

A node is a place on a slab's plane together with a heading (across the members, along them, or through the depth), a
place on a face or board, or a box. Changing heading is an edge of its own, so that turns can be priced.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barnloom.model.building import Building
from barnloom.model.limits import Limits
from barnloom.routing.bores import BoreTable
from barnloom.routing.faces import Face, Joint, Landing
from barnloom.routing.ports import Gate, Meeting
from barnloom.routing.slab import Floats, Ints, Slab
from barnloom.routing.wishes import Exit

ACROSS, ALONG = 0, 1
"""Headings of a slab's nodes: along u (across the members), along v (along them)."""
ON_WALL, OVERHEAD = 1, 2
"""Where a run is fastened, for the price of its staples; 0: not fastened along its way."""


def nearest_indices(lines: Floats, values: Floats) -> Ints:
    """Numbers of the lines nearest to coordinates; of two that are as near, the first."""
    after = np.clip(np.searchsorted(lines, values), 0, len(lines) - 1)
    before = np.maximum(after - 1, 0)
    result: Ints = np.where(np.abs(lines[before] - values) <= np.abs(lines[after] - values), before, after)
    return result


def nearest_index(lines: Floats, value: float) -> int:
    """Number of the line nearest to a coordinate."""
    return int(nearest_indices(lines, np.array([value]))[0])


@dataclass(frozen=True, eq=False, slots=True)
class Edges:
    """Parallel arrays over edges, each usable both ways.

    ``staples``: 0, ``ON_WALL`` or ``OVERHEAD`` where the run is fastened to a member's side or a board; ``lane``:
    number of the bay stretch whose sides it takes room on, or -1; ``bore``: candidate, or
    -1; ``via``: number of the special way (port, landing, joint, exit, ...) that knows its corner points, or -1.
    """

    a: Ints
    b: Ints
    length: Floats
    turn: Ints
    staples: Ints
    lane: Ints
    bore: Ints
    via: Ints
    covered: NDArray[np.bool_]
    taken: NDArray[np.bool_]
    """Against a limit, and only for cables that have been pulled there already."""


@dataclass(frozen=True, eq=False, slots=True)
class Closed:
    """Crossings that no bit may make: node on either side, member, place along it."""

    a: Ints
    b: Ints
    member: Ints
    along: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class PortWay:
    """A bore between two slabs: from the near node's place to the far node's, through one member (and a subfloor)."""

    near: int
    far: int
    near_bit_in: float
    far_bit_in: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Straight:
    """Two boxes that face each other in one column: a straight cable with no turn."""

    slab: int
    start: tuple[float, float]
    end: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceExit:
    """A box on a face: from its end along the face to where the cable may turn."""

    box: str
    face: int
    entry: float
    turn: float


Way = PortWay | Landing | Joint | Exit | Straight | Meeting | FaceExit


@dataclass(frozen=True, eq=False, slots=True)
class Tracks:
    """The graph, and what is needed to turn a path in it back into a place in the building."""

    building: Building
    limits: Limits
    slabs: tuple[Slab, ...]
    faces: tuple[Face, ...]
    lines_u: tuple[Floats, ...]
    lines_v: tuple[Floats, ...]
    base: Ints
    """First node of each slab, then of each face's places, then of the through-nodes, then of the boxes."""
    face_places: tuple[Floats, ...]
    face_base: Ints
    through_at: tuple[tuple[int, float, float], ...]
    through_base: int
    boxes: dict[str, int]
    node_count: int
    edges: Edges
    bores: BoreTable
    ways: tuple[Way, ...]
    exits: tuple[Exit, ...]
    lane_room_in: Floats
    lane_sides: Ints
    closed: Closed
    gates: tuple[Gate, ...]
    notes: tuple[str, ...]
    old_holes: Mapping[str, tuple[int, ...]]
    """By id of a hole that is there, the candidates that are it."""
    taken: Ints
    """Edges that only cables pulled already may use: they, or the holes they go through, are against a limit."""

    def slab_of(self, assembly: str) -> Slab | None:
        """Slab of an assembly, by its id; None if it has none (single timbers, boards)."""
        return next((slab for slab in self.slabs if slab.assembly.id == assembly), None)

    def place(self, node: int) -> tuple[int, float, float, int] | None:
        """(slab, u, v, heading) of a node on a slab's plane; heading 2 for a through-node; None for others."""
        if node >= self.through_base and node < self.through_base + len(self.through_at):
            slab, u, v = self.through_at[node - self.through_base]
            return slab, u, v, 2
        if node >= int(self.face_base[0]):
            return None
        slab = int(np.searchsorted(self.base, node, side="right")) - 1
        inside, heading = divmod(node - int(self.base[slab]), 2)
        i, j = divmod(inside, len(self.lines_v[slab]))
        return slab, float(self.lines_u[slab][i]), float(self.lines_v[slab][j]), heading

    def column(self, way: Exit) -> tuple[int, int]:
        """First and last node of a cable's straight start at a box (headings along v)."""
        low, high = sorted((way.entry[1], way.turn[1]))
        rows = self.lines_v[way.slab]
        first = int(np.searchsorted(rows, low - 1e-6))
        last = int(np.searchsorted(rows, high + 1e-6)) - 1
        start = int(self.base[way.slab]) + 2 * nearest_index(self.lines_u[way.slab], way.turn[0]) * len(rows) + 1
        return start + 2 * first, start + 2 * last

    def face_place(self, node: int) -> tuple[int, float] | None:
        """(face, place along it) of a node on a face; None for others."""
        if not int(self.face_base[0]) <= node < int(self.face_base[-1]):
            return None
        face = int(np.searchsorted(self.face_base, node, side="right")) - 1
        return face, float(self.face_places[face][node - int(self.face_base[face])])

    def points(self, nodes: Ints) -> Floats:
        """Where nodes are in the world, (n, 3), slab by slab and face by face; boxes are left out."""
        first_face, through = int(self.face_base[0]), self.through_base
        flat, deep = nodes[nodes < first_face], nodes[(nodes >= through) & (nodes < through + len(self.through_at))]
        on_face = nodes[(nodes >= first_face) & (nodes < int(self.face_base[-1]))]
        found = [np.empty((0, 3))]
        slab = np.searchsorted(self.base, flat, side="right") - 1
        for number in np.unique(slab).tolist():
            i, j = np.divmod((flat[slab == number] - int(self.base[number])) // 2, len(self.lines_v[number]))
            one = self.slabs[number]
            at = np.column_stack([self.lines_u[number][i], self.lines_v[number][j], np.full(len(i), one.plane_in)])
            found.append(one.origin + at @ one.axes)
        for number, u, v in (self.through_at[node - through] for node in deep.tolist()):
            found.append(self.slabs[number].world(u, v, self.slabs[number].plane_in)[None])
        face = np.searchsorted(self.face_base, on_face, side="right") - 1
        for number in np.unique(face).tolist():
            along = self.face_places[number][on_face[face == number] - int(self.face_base[number])]
            found.append(self.faces[number].start + along[:, None] * self.faces[number].direction)
        return np.concatenate(found)


class Numbers:
    """Numbers of the nodes of slabs, and of those through their depth, which are made where they are asked for."""

    def __init__(self, lines_u: Sequence[Floats], lines_v: Sequence[Floats], base: Ints, through_base: int) -> None:
        """Take the lines of every slab, where its nodes begin, and where those through the depth do."""
        self.lines_u, self.lines_v, self.base, self.through_base = lines_u, lines_v, base, through_base
        self.through: dict[tuple[int, int, int], int] = {}
        """By slab and lines."""

    def _lines(self, slab: int, u: Floats, v: Floats) -> tuple[Ints, Ints]:
        return nearest_indices(self.lines_u[slab], u), nearest_indices(self.lines_v[slab], v)

    def nodes(self, slab: int, u: Floats, v: Floats, heading: int) -> Ints:
        """Nodes at places of a slab, (n,), with a heading."""
        i, j = self._lines(slab, u, v)
        result: Ints = int(self.base[slab]) + 2 * (i * len(self.lines_v[slab]) + j) + heading
        return result

    def throughs(self, slab: int, u: Floats, v: Floats) -> Ints:
        """Nodes through the depth of a slab at places of it, (n,)."""
        keys = [(slab, i, j) for i, j in zip(*(lines.tolist() for lines in self._lines(slab, u, v)), strict=True)]
        return np.array([self.through.setdefault(key, self.through_base + len(self.through)) for key in keys])

    def through_at(self) -> tuple[tuple[int, float, float], ...]:
        """Slab and place of each node through a slab's depth, in order."""
        return tuple((s, float(self.lines_u[s][i]), float(self.lines_v[s][j])) for s, i, j in self.through)

    def turns_of_throughs(self, out: Collector) -> None:
        """Join every node through a slab's depth to both headings at its place, by a turn."""
        if self.through:
            slab, i, j = np.array(list(self.through)).T
            rows = np.array([len(lines) for lines in self.lines_v])
            flat = self.base[slab] + 2 * (i * rows[slab] + j)
            through = self.through_base + np.arange(len(flat))
            for heading in (ACROSS, ALONG):
                out.add(through, flat + heading, np.zeros(len(flat)), turn=1)


class Collector:
    """Edges in the making: lists of equal-length arrays, joined at the end."""

    def __init__(self) -> None:
        self.parts: list[dict[str, Ints | Floats | NDArray[np.bool_]]] = []
        self.ways: list[Way] = []
        self.closed: list[tuple[Ints, Ints, Ints, Floats]] = []
        self.lane_room: list[float] = []
        self.lane_sides: list[int] = []

    def add(
        self,
        a: Ints,
        b: Ints,
        length: Floats,
        *,
        turn: int = 0,
        staples: int = 0,
        lane: Ints | int = -1,
        bore: Ints | int = -1,
        via: int = -1,
        covered: NDArray[np.bool_] | bool = False,
        taken: NDArray[np.bool_] | bool = False,
    ) -> None:
        """Take up edges from ``a`` to ``b``; the rest as in ``Edges``, one value for all or one each."""
        n = len(a)
        if n == 0:
            return
        self.parts.append(
            {
                "a": np.asarray(a, dtype=np.int64),
                "b": np.asarray(b, dtype=np.int64),
                "length": np.asarray(length, dtype=np.float64),
                "turn": np.full(n, turn),
                "staples": np.full(n, staples),
                "lane": np.broadcast_to(np.asarray(lane), (n,)),
                "bore": np.broadcast_to(np.asarray(bore), (n,)),
                "via": np.full(n, via),
                "covered": np.broadcast_to(np.asarray(covered), (n,)),
                "taken": np.broadcast_to(np.asarray(taken), (n,)),
            }
        )

    def way(self, way: Way) -> int:
        """Number of a special way, for the edges that use it."""
        self.ways.append(way)
        return len(self.ways) - 1

    def edges(self) -> Edges:
        """Return all edges, one for each pair of nodes."""
        names = ("a", "b", "length", "turn", "staples", "lane", "bore", "via", "covered", "taken")
        joined = {name: np.concatenate([part[name] for part in self.parts]) for name in names}
        # Two ways between the same two nodes: the shorter one is kept, then the earlier one.
        low, high = np.minimum(joined["a"], joined["b"]), np.maximum(joined["a"], joined["b"])
        order = np.lexsort((np.arange(len(low)), joined["length"], high, low))
        first = np.concatenate(([True], (np.diff(low[order]) != 0) | (np.diff(high[order]) != 0)))
        kept = np.sort(order[first])
        return Edges(**{name: joined[name][kept] for name in names})

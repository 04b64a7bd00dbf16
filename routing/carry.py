"""Ways over one network found again over another one, of much the same building: node by node, by where they are."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from barnloom.routing.graph import Tracks
from barnloom.routing.search import Network, Step

SAME_IN = 1e-6
"""Coordinates nearer than this are the same."""


class Carrier:
    """Takes ways from the tracks of a building to those of the same building with something changed."""

    def __init__(self, old: Tracks, new: Network) -> None:
        self.old, self.new = old, new
        self.slabs = {slab.assembly.id: slab.number for slab in new.tracks.slabs}
        self.faces = {face.name: number for number, face in enumerate(new.tracks.faces)}
        base = new.tracks.through_base
        self.through = {
            (slab, round(u, 4), round(v, 4)): base + n for n, (slab, u, v) in enumerate(new.tracks.through_at)
        }
        self.boxes = {node: name for name, node in old.boxes.items()}

    def way(self, steps: Sequence[Step]) -> list[Step]:
        """The same way, with what lines there are now between its nodes; no steps if it is not there any more."""
        nodes = [self._node(node) for node in (steps[0][0], *(b for _, b, _ in steps))]
        found: list[Step] = []
        for at, to in zip(nodes[:-1], nodes[1:], strict=True):
            if at is None or to is None:
                return []
            between = self._between(at, to)
            if not between:
                return []
            found += between
        return found

    def _node(self, node: int) -> int | None:
        """Node of the new network at the place of one of the old tracks."""
        new = self.new.tracks
        count = len(self.old.boxes)
        entered = node >= self.old.node_count
        name = self.boxes.get(node - count if entered else node)
        if name is not None:
            return (self.new.into(name) if entered else self.new.out_of(name)) if name in new.boxes else None
        place = self.old.place(node)
        if place is not None:
            slab = self.slabs.get(self.old.slabs[place[0]].assembly.id)
            if slab is None:
                return None
            _, u, v, heading = place
            if heading == 2:
                return self.through.get((slab, round(u, 4), round(v, 4)))
            i, j = _index(new.lines_u[slab], u), _index(new.lines_v[slab], v)
            if i is None or j is None:
                return None
            return int(new.base[slab]) + 2 * (i * len(new.lines_v[slab]) + j) + heading
        on_face = self.old.face_place(node)
        if on_face is None:
            return None
        face = self.faces.get(self.old.faces[on_face[0]].name)
        at = None if face is None else _index(new.face_places[face], on_face[1])
        return None if face is None or at is None else int(new.face_base[face]) + at

    def _between(self, at: int, to: int) -> list[Step]:
        """Steps between two nodes that were joined by one edge: that edge, or those of the line that they are on."""
        edge = self._edge(at, to)
        if edge is not None:
            return [(at, to, edge)]
        found: list[Step] = []
        stride = self._stride(at, to)
        while stride and at != to:
            ahead = range(at + stride, to + stride, stride)
            there = next(((node, edge) for node in ahead if (edge := self._edge(at, node)) is not None), None)
            if there is None:
                return []
            found.append((at, there[0], there[1]))
            at = there[0]
        return found

    def _stride(self, at: int, to: int) -> int:
        """Numbers between neighbours on the line that two nodes are on; 0 if they are on none."""
        tracks = self.new.tracks
        if max(at, to) >= int(tracks.face_base[-1]):
            return 0
        way = 1 if to > at else -1
        if min(at, to) >= int(tracks.face_base[0]):
            return way
        one, other = tracks.place(at), tracks.place(to)
        if one is None or other is None or one[0] != other[0] or one[3] != other[3]:
            return 0
        rows = len(tracks.lines_v[one[0]])
        return 2 * way if one[1] == other[1] else 2 * rows * way if one[2] == other[2] else 0

    def _edge(self, at: int, to: int) -> int | None:
        key = at * self.new.nodes + to
        place = int(np.searchsorted(self.new.arcs, key))
        there = place < len(self.new.arcs) and int(self.new.arcs[place]) == key
        return int(self.new.edge[place]) if there else None


def _index(lines: np.ndarray[tuple[int], np.dtype[np.float64]], value: float) -> int | None:
    at = int(np.searchsorted(lines, value - SAME_IN))
    return at if at < len(lines) and abs(float(lines[at]) - value) <= SAME_IN else None

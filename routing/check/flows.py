"""Currents in a plan's conductors, as in a network of equal resistors: exact on a tree, and honest about loops."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from barnloom.routing.check.metal import Metal

Numbers = NDArray[np.floating[Any]]
Truths = NDArray[np.bool_]

LEAK = 1e-9
"""Of a conductor's own conductance, to ground: pieces that no source feeds keep a voltage of nought."""


class Way(NamedTuple):
    """A way through a device between two nodes, and in which of the states it is closed."""

    near: int
    far: int
    closed: Truths


class Draw(NamedTuple):
    """Current (amperes, in each state) that leaves the network at one node and comes back at another."""

    into: int
    out: int
    amps: Numbers


class Flows:
    """Currents of a plan's conductors."""

    def __init__(self, metal: Metal, sources: Sequence[int], cables: Sequence[str]) -> None:
        """Lay out the resistors; ``sources`` are nodes held at nought: breakers and bars."""
        self._pieces = np.array(metal.pieces, dtype=np.intp)
        self._fixed = set(sources)
        self._fed = {metal.pieces[node] for node in sources}
        wires, count = metal.wires, len(metal.nodes)
        drops = np.zeros((len(wires), count))
        for row, wire in enumerate(wires):
            drops[row, wire.near] += 1.0
            drops[row, wire.far] -= 1.0
        # A piece without a source takes as much as it gives, so that nothing flows where its first node is held.
        held = self._fixed | (set(metal.pieces) - self._fed)
        conductance = drops.T @ drops
        for node in range(count):
            if node in held or not conductance[node, node]:
                conductance[node, node] += 1.0 / LEAK
        self._per_node = drops @ _inverse(conductance, self._pieces)
        rows: Mapping[str, int] = {name: row for row, name in enumerate(cables)}
        self._cable = np.zeros((len(cables), len(wires)))
        for column, wire in enumerate(wires):
            self._cable[rows[wire.cable], column] = 1.0
        self._sums_per_node = self._cable @ self._per_node

    def at_nodes(self, ways: Sequence[Way], draws: Sequence[Draw], states: int) -> Numbers:
        """Return what devices give to the conductors at each node (a row each) in each state, switches among them."""
        flow = np.zeros((len(self._pieces), states))
        for draw in draws:
            flow[draw.into] -= draw.amps
            flow[draw.out] += draw.amps
        touched = {int(self._pieces[node]) for way in ways for node in (way.near, way.far)}
        free = {piece: row for row, piece in enumerate(sorted(touched - self._fed))}
        if not free:
            return flow
        conductance = np.zeros((states, len(free), len(free)))
        conductance[:, range(len(free)), range(len(free))] = LEAK
        given = np.zeros((states, len(free), 1))
        for node, at_node in enumerate(flow):
            row = free.get(int(self._pieces[node]))
            if row is not None:
                given[:, row, 0] += at_node
        sides = [[free.get(int(self._pieces[node])) for node in (way.near, way.far)] for way in ways]
        for way, (near, far) in zip(ways, sides, strict=True):
            for row in (near, far):
                if row is not None:
                    conductance[:, row, row] += way.closed
            if near is not None and far is not None:
                conductance[:, near, far] -= way.closed
                conductance[:, far, near] -= way.closed
        level = np.linalg.solve(conductance, given)[:, :, 0]
        for way, (near, far) in zip(ways, sides, strict=True):
            low, high = (level[:, row] if row is not None else 0.0 for row in (near, far))
            passed = (low - high) * way.closed
            flow[way.near] -= passed
            flow[way.far] += passed
        return flow

    def sums(self, at_nodes: Numbers) -> Numbers:
        """Return the signed sum of the currents of each cable (a row each), away from the panel, in each state."""
        return self._sums_per_node @ at_nodes

    def sizes(self, at_nodes: Numbers) -> Numbers:
        """Return half of the sum of the sizes of each cable's currents: what goes out in it and comes back."""
        return self._cable @ np.abs(self._per_node @ at_nodes) / 2


def _inverse(conductance: Numbers, pieces: NDArray[np.intp]) -> Numbers:
    """Return the inverse, piece by piece: nodes of two pieces have nothing to do with each other."""
    inverse = np.zeros_like(conductance)
    for piece in np.unique(pieces):
        nodes = np.flatnonzero(pieces == piece)
        block = np.ix_(nodes, nodes)
        inverse[block] = np.linalg.inv(conductance[block])
    return inverse

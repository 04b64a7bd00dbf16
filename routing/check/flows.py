"""Currents in a plan's conductors, as in a network of equal resistors: exact on a tree, and honest about loops."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from barnloom.routing.check.metal import Metal

Numbers = NDArray[np.floating[Any]]
Truths = NDArray[np.bool_]
Places = NDArray[np.intp]

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


class _Piece(NamedTuple):
    """A piece of metal: its nodes (n,), its wires (w,), and the current in each wire for one ampere into each node."""

    nodes: Places
    wires: Places
    per_node: Numbers


class Flows:
    """Currents of a plan's conductors, piece by piece: nodes of two pieces have nothing to do with each other."""

    def __init__(self, metal: Metal, sources: Sequence[int], cables: Sequence[str]) -> None:
        """Lay out the resistors; ``sources`` are nodes held at nought: breakers and bars."""
        self._of = np.array(metal.pieces, dtype=np.intp)
        self._fed = {metal.pieces[node] for node in sources}
        # A piece without a source takes as much as it gives, so that nothing flows where its first node is held.
        held = np.isin(np.arange(len(self._of)), [*sources, *(set(metal.pieces) - self._fed)])
        near = np.array([wire.near for wire in metal.wires], dtype=np.intp)
        far = np.array([wire.far for wire in metal.wires], dtype=np.intp)
        own_wires = _places_by(self._of[near])
        self._pieces = {
            piece: _piece(nodes, own_wires[piece], near, far, held)
            for piece, nodes in _places_by(self._of).items()
            if piece in own_wires
        }
        rows: Mapping[str, int] = {name: row for row, name in enumerate(cables)}
        self._cables = len(cables)
        self._cable = np.array([rows[wire.cable] for wire in metal.wires], dtype=np.intp)

    def at_nodes(self, ways: Sequence[Way], draws: Sequence[Draw], states: int) -> Numbers:
        """Return what devices give to the conductors at each node (a row each) in each state, switches among them."""
        flow = np.zeros((len(self._of), states))
        for draw in draws:
            flow[draw.into] -= draw.amps
            flow[draw.out] += draw.amps
        touched = {int(self._of[node]) for way in ways for node in (way.near, way.far)}
        free = {piece: row for row, piece in enumerate(sorted(touched - self._fed))}
        if not free:
            return flow
        conductance = np.zeros((states, len(free), len(free)))
        conductance[:, range(len(free)), range(len(free))] = LEAK
        given = np.zeros((states, len(free), 1))
        for node in np.flatnonzero(np.isin(self._of, list(free))):
            given[:, free[int(self._of[node])], 0] += flow[node]
        sides = [[free.get(int(self._of[node])) for node in (way.near, way.far)] for way in ways]
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
        return self._by_cable(self._currents(at_nodes))

    def sizes(self, at_nodes: Numbers) -> Numbers:
        """Return half of the sum of the sizes of each cable's currents: what goes out in it and comes back."""
        return self._by_cable(np.abs(self._currents(at_nodes))) / 2

    def _currents(self, at_nodes: Numbers) -> Numbers:
        """Return the current in each wire (a row each) in each state; none in pieces that nothing is given to."""
        found = np.zeros((len(self._cable), at_nodes.shape[1]))
        for number in np.unique(self._of[np.any(at_nodes != 0.0, axis=1)]).tolist():
            if number in self._pieces:
                piece = self._pieces[number]
                found[piece.wires] = piece.per_node @ at_nodes[piece.nodes]
        return found

    def _by_cable(self, currents: Numbers) -> Numbers:
        """Add up what flows in the wires of each cable."""
        found = np.zeros((self._cables, currents.shape[1]))
        np.add.at(found, self._cable, currents)
        return found


def _places_by(keys: Places) -> dict[int, Places]:
    """Return where each key stands."""
    order = np.argsort(keys, kind="stable")
    found, first = np.unique(keys[order], return_index=True)
    return dict(zip(found.tolist(), np.split(order, first[1:]), strict=True)) if len(keys) else {}


def _piece(nodes: Places, wires: Places, near: Places, far: Places, held: Truths) -> _Piece:
    drops = np.zeros((len(wires), len(nodes)))
    every = np.arange(len(wires))
    drops[every, np.searchsorted(nodes, near[wires])] += 1.0
    drops[every, np.searchsorted(nodes, far[wires])] -= 1.0
    conductance = drops.T @ drops
    loose = held[nodes] | (conductance.diagonal() == 0.0)
    conductance[loose, loose] += 1.0 / LEAK
    return _Piece(nodes, wires, drops @ np.linalg.inv(conductance))

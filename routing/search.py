"""Shortest paths over the tracks by scipy's compiled Dijkstra, with exact ties.

Prices become whole numbers of 1e-7 money, and the rest of a float's 53 bits holds the stated tie rule (lowest along first), so
equal prices are equal to the last bit and the same path comes out on every machine.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from barnloom.routing.slab import Floats, Ints
from barnloom.routing.tracks import Tracks

QUANTUM = 1e-7
TIE = 2.0**19
TICK_IN = 1 / 64
"""Lengths count in whole 64ths of an inch, so that equal sums of feet are equal to the last bit."""


@dataclass(frozen=True, eq=False, slots=True)
class Network:
    """The tracks as directed arcs: a box can be left (its first node) or entered (its second), never passed through."""

    tracks: Tracks
    start: Ints
    target: Ints
    edge: Ints
    nodes: int
    boxes: int

    def out_of(self, box: str) -> int:
        """Node to start from at a box."""
        return self.tracks.boxes[box]

    def into(self, box: str) -> int:
        """Node to arrive at, at a box."""
        return self.tracks.boxes[box] + self.boxes


def network_of(tracks: Tracks) -> Network:
    """Arcs of the tracks in CSR order."""
    edges = tracks.edges
    count = len(tracks.boxes)
    first_box = tracks.node_count - count
    tail = np.concatenate([edges.a, edges.b])
    head = np.concatenate([edges.b, edges.a])
    number = np.concatenate([np.arange(len(edges.a))] * 2)
    head = np.where(head >= first_box, head + count, head)
    nodes = tracks.node_count + count
    order = np.lexsort((head, tail))
    start = np.searchsorted(tail[order], np.arange(nodes + 1))
    return Network(tracks, start.astype(np.int64), head[order], number[order], nodes, count)


def whole_prices(network: Network, price: Floats, per_inch: float) -> Floats:
    """Edge prices as whole numbers with the tie rule below them.

    Parameters
    ----------
    price : (edges,) float
        Price of each edge, feet included; infinite where an edge may not be used.
    per_inch : float
        Part of the price that is proportional to length, so that it can be counted exactly.
    """
    edges, bores = network.tracks.edges, network.tracks.bores
    ticks = np.rint(edges.length / TICK_IN)
    rate = np.rint(per_inch * TICK_IN / QUANTUM)
    rest = np.rint((price - edges.length * per_inch) / QUANTUM)
    tie = np.zeros(len(price))
    through = edges.bore >= 0
    tie[through] = np.minimum(np.rint(bores.along[edges.bore[through]] * 2), 4000) + 1
    return (ticks * rate + np.maximum(rest, 0)) * TIE + tie


def money(distance: float) -> float:
    """A whole-number distance as money."""
    return float(np.floor(distance / TIE) * QUANTUM)


def distances(
    network: Network, prices: Floats, source: int, limit: float = np.inf
) -> tuple[Floats, Ints]:
    """Distances and predecessors from one node, (nodes,) each; nothing farther than ``limit``."""
    graph = csr_array(
        (prices[network.edge], network.target.astype(np.int32), network.start.astype(np.int32)), shape=(network.nodes, network.nodes)
    )
    found, before = dijkstra(graph, directed=True, indices=source, return_predecessors=True, limit=limit)
    return found, before.astype(np.int64)


def walk(network: Network, prices: Floats, before: Ints, target: int) -> list[tuple[int, int, int]]:
    """The path to a node as (from node, to node, edge) steps; empty if it was not reached."""
    steps: list[tuple[int, int, int]] = []
    node = target
    while before[node] >= 0:
        previous = int(before[node])
        arcs = slice(int(network.start[previous]), int(network.start[previous + 1]))
        at = np.flatnonzero(network.target[arcs] == node) + arcs.start
        best = at[int(np.argmin(prices[network.edge[at]]))]
        steps.append((previous, node, int(network.edge[best])))
        node = previous
    return steps[::-1]


def layered_path(
    network: Network, prices: Floats, source: int, target: int, musts: list[Ints], limit: float = np.inf
) -> tuple[float, list[tuple[int, int, int]]]:
    """Cheapest path that uses an edge of each set in ``musts``, in order: one copy of the graph a set.

    Returns infinity and no steps if there is none.
    """
    if not musts:
        found, before = distances(network, prices, source, limit)
        return float(found[target]), walk(network, prices, before, target)
    n, layers = network.nodes, len(musts) + 1
    tails = np.repeat(np.arange(n), np.diff(network.start))
    tail = [tails + k * n for k in range(layers)]
    head = [network.target + k * n for k in range(layers)]
    data = [prices[network.edge]] * layers
    for k, must in enumerate(musts):
        chosen = np.isin(network.edge, must)
        tail.append(tails[chosen] + k * n)
        head.append(network.target[chosen] + (k + 1) * n)
        data.append(prices[network.edge[chosen]])
    order = np.lexsort((np.concatenate(head), np.concatenate(tail)))
    tails_all, heads_all, data_all = (np.concatenate(x)[order] for x in (tail, head, data))
    start = np.searchsorted(tails_all, np.arange(n * layers + 1))
    graph = csr_array((data_all, heads_all.astype(np.int32), start.astype(np.int32)), shape=(n * layers, n * layers))
    found, before = dijkstra(graph, directed=True, indices=source, return_predecessors=True, limit=limit)
    steps: list[tuple[int, int, int]] = []
    node = target + (layers - 1) * n
    total = float(found[node])
    while before[node] >= 0:
        previous = int(before[node])
        arcs = slice(int(network.start[previous % n]), int(network.start[previous % n + 1]))
        at = np.flatnonzero(network.target[arcs] == node % n) + arcs.start
        best = at[int(np.argmin(prices[network.edge[at]]))]
        steps.append((previous % n, node % n, int(network.edge[best])))
        node = previous
    return total, steps[::-1]

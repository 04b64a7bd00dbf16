"""Shortest paths over the tracks, with exact ties: scipy's Dijkstra where all nodes are wanted, our own where few are.

Ours ends as soon as what is looked for is found, and most cables are short. Prices become whole numbers of 1e-7 money,
and the rest of a float's 53 bits holds the stated tie rule (lowest along first), so equal prices are equal to the last
bit and the same path comes out on every machine.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from barnloom.routing.compiled import spread, walked
from barnloom.routing.core import Core, core_of
from barnloom.routing.graph import Tracks
from barnloom.routing.slab import Floats, Ints

Arcs = NDArray[np.int32]
"""Numbers as the compiled search takes them, so that no search has to convert them."""
QUANTUM = 1e-7
TIE = 2.0**19
Step = tuple[int, int, int]
"""(from node, to node, edge)."""
UNKNOWN: Floats = np.empty(0)
TICK_IN = 1 / 64
"""Lengths count in whole 64ths of an inch, so that equal sums of feet are equal to the last bit."""


class _Scratch:
    """What searches write on, kept between them: clearing it would cost more than most searches do."""

    def __init__(self) -> None:
        self.now = 0
        self.distance: Floats = np.empty(0)
        self.before, self.by, self.seen, self.aimed = (np.empty(0, dtype=np.int32) for _ in range(4))

    def for_nodes(self, nodes: int) -> int:
        """Make room for so many nodes, and return the number of the next search."""
        if len(self.distance) != nodes:
            self.distance = np.empty(nodes)
            self.before, self.by, self.seen, self.aimed = (np.zeros(nodes, dtype=np.int32) for _ in range(4))
        self.now += 1
        return self.now


@dataclass(frozen=True, eq=False, slots=True)
class Network:
    """The tracks as directed arcs: a box can be left (its first node) or entered (its second), never passed through."""

    tracks: Tracks
    start: Arcs
    target: Arcs
    edge: Ints
    arcs: Ints
    """Tail times the number of nodes, plus head, of every arc: in ascending order."""
    nodes: int
    boxes: int
    own: dict[str, Ints]
    """Edges along the straight start at each box: its own cable does not turn back along them."""
    core: Core
    scratch: _Scratch = field(default_factory=lambda: _Scratch())

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
    start = np.searchsorted(tail[order], np.arange(nodes + 1)).astype(np.int32)
    target = head[order].astype(np.int32)
    arcs = tail[order].astype(np.int64) * nodes + target
    return Network(tracks, start, target, number[order], arcs, nodes, count, _own_columns(tracks), core_of(tracks))


def _own_columns(tracks: Tracks) -> dict[str, Ints]:
    edges = tracks.edges
    plain = np.flatnonzero((edges.turn == 0) & (edges.via < 0))
    order = plain[np.argsort(edges.a[plain], kind="stable")]
    tails = edges.a[order]
    found: dict[str, list[Ints]] = {}
    for way in tracks.exits:
        low, high = tracks.column(way)
        near = order[np.searchsorted(tails, low) : np.searchsorted(tails, high, side="right")]
        found.setdefault(way.box, []).append(near[(edges.b[near] >= low) & (edges.b[near] <= high)])
    return {box: np.concatenate(parts) for box, parts in found.items()}


def whole_prices(tracks: Tracks, price: Floats, per_inch: float) -> Floats:
    """Edge prices as whole numbers with the tie rule below them.

    Parameters
    ----------
    price : (edges,) float
        Price of each edge, feet included; infinite where an edge may not be used.
    per_inch : float
        Part of the price that is proportional to length, so that it can be counted exactly.
    """
    edges, bores = tracks.edges, tracks.bores
    ticks = np.rint(edges.length / TICK_IN)
    rate = np.rint(per_inch * TICK_IN / QUANTUM)
    rest = np.rint((price - edges.length * per_inch) / QUANTUM)
    # Of equal ways: lowest along first, then the one that hangs in the air for fewer bays.
    tie = ((edges.lane < 0) & (edges.bore < 0) & (edges.length > 0)).astype(np.float64)
    through = edges.bore >= 0
    tie[through] = np.minimum(np.rint(bores.along[edges.bore[through]] * 2), 4000) + 1
    result: Floats = (ticks * rate + np.maximum(rest, 0)) * TIE + tie
    return result


def whole_money(price: Floats) -> Floats:
    """Money as whole-number prices, to be added to those of edges."""
    result: Floats = np.rint(price / QUANTUM) * TIE
    return result


def money(distance: float) -> float:
    """A whole-number distance as money."""
    return float(np.floor(distance / TIE) * QUANTUM)


def _everywhere(data: Floats, head: Arcs, start: Arcs, source: int, limit: float) -> tuple[Floats, Ints]:
    """Distances and predecessors over arcs in CSR order."""
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import dijkstra

    nodes = len(start) - 1
    graph = csr_array((data, head, start), shape=(nodes, nodes))
    indices = np.array([source])
    found, before = dijkstra(graph, directed=True, indices=indices, return_predecessors=True, limit=limit)
    found, before = found[0], before[0]
    return np.asarray(found, dtype=np.float64), np.asarray(before, dtype=np.int64)


def distances(network: Network, prices: Floats, source: int, limit: float = np.inf) -> tuple[Floats, Ints]:
    """Distances and predecessors from one node, (nodes,) each; nothing farther than ``limit``."""
    return _everywhere(prices[network.edge], network.target, network.start, source, limit)


def walk(network: Network, before: Ints, target: int) -> list[Step]:
    """The path to a node as (from node, to node, edge) steps; empty if it was not reached.

    ``before`` may be of a layered search: layers are copies of the nodes, one after the other.
    """
    nodes = [target]
    while (previous := int(before[nodes[-1]])) >= 0:
        nodes.append(previous)
    way = np.array(nodes[::-1]) % network.nodes
    # Two nodes have one edge at most, and arcs stand in order of tail and head.
    edges = network.edge[np.searchsorted(network.arcs, way[:-1] * network.nodes + way[1:])]
    return list(zip(way[:-1].tolist(), way[1:].tolist(), edges.tolist(), strict=True))


@dataclass(frozen=True, slots=True)
class Found:
    """A node that was looked for: how far it is (a whole-number price), and the cheapest way there."""

    price: float
    steps: list[Step]


def nearest(
    network: Network,
    prices: Floats,
    sources: Sequence[int],
    goals: Sequence[int],
    *,
    wanted: int | None = None,
    limit: float = np.inf,
    bound: Floats = UNKNOWN,
) -> dict[int, Found]:
    """The cheapest ways from the nearest of several nodes to each goal.

    Parameters
    ----------
    wanted : int, optional
        So many goals are enough, the nearest first; all of them if not given.
    limit : float
        Goals farther than this are left out, like those that nothing leads to.
    bound : (nodes of the core,) float, optional
        Least prices to a single goal, of ``from_everywhere`` at prices that are nowhere higher.
    """
    core, scratch = network.core, network.scratch
    begins, ends = (core.node[np.array(nodes, dtype=np.int64)] for nodes in (sources, goals))
    now = _spread(network, prices, begins, ends, len(goals) if wanted is None else wanted, limit, bound)
    return {
        goal: Found(float(scratch.distance[at]), _walked(network, at))
        for goal, at in zip(goals, ends.tolist(), strict=True)
        if scratch.aimed[at] == -now
    }


def from_everywhere(network: Network, prices: Floats, goal: int) -> Floats:
    """Price of the cheapest way from every node of the core to a box, (nodes of the core,); infinite if there is none.

    A box is left by another node than it is entered by; as every way back is as good, the search sets out at the goal.
    """
    core, scratch = network.core, network.scratch
    out = core.node[np.arange(network.nodes - 2 * network.boxes, network.nodes - network.boxes)]
    into = core.node[np.arange(network.nodes - network.boxes, network.nodes)]
    start = core.node[np.array([goal - network.boxes])]
    now = _spread(network, prices, start, np.empty(0, dtype=np.int64), -1, np.inf, UNKNOWN)
    found: Floats = np.where(np.abs(scratch.seen) == now, scratch.distance, np.inf)
    found[out] = found[into]
    found[core.node[goal]] = 0.0
    return found


def _spread(
    network: Network, prices: Floats, begins: Ints, ends: Ints, wanted: int, limit: float, bound: Floats
) -> int:
    """Search over the core, and return the number of the search; what it found is on the scratch paper."""
    core, scratch = network.core, network.scratch
    now = scratch.for_nodes(len(core.origin))
    spread(
        core.start,
        core.target,
        core.chain,
        core.alone,
        core.first,
        core.edge,
        prices,
        begins,
        ends,
        wanted,
        float(limit),
        bound,
        now,
        scratch.distance,
        scratch.before,
        scratch.by,
        scratch.seen,
        scratch.aimed,
    )
    return now


def _walked(network: Network, goal: int) -> list[Step]:
    """Steps over single edges to a node of the core that a search has just found."""
    core, scratch, edges = network.core, network.scratch, network.tracks.edges
    nodes, numbers = walked(goal, scratch.before, scratch.by, core.first, core.edge, core.origin, edges.a, edges.b)
    way = nodes.tolist()
    return list(zip(way[:-1], way[1:], numbers.tolist(), strict=True))


@contextmanager
def barring(prices: Floats, edges: Ints) -> Iterator[Floats]:
    """Prices without certain edges, for a while."""
    kept = prices[edges]
    prices[edges] = np.inf
    yield prices
    prices[edges] = kept


def cheapest_path(
    network: Network,
    prices: Floats,
    source: int,
    target: int,
    musts: list[Ints],
    limit: float = np.inf,
    bound: Floats = UNKNOWN,
) -> tuple[float, list[Step]]:
    """Cheapest path that uses an edge of each set in ``musts``, in order: one copy of the graph a set.

    Returns infinity and no steps if there is none. ``limit`` and ``bound`` are those of ``nearest``.
    """
    if not musts:
        way = nearest(network, prices, [source], [target], limit=limit, bound=bound).get(target)
        return (np.inf, []) if way is None else (way.price, way.steps)
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
    tails_all, heads_all, data_all = (
        np.concatenate(tail)[order],
        np.concatenate(head)[order],
        np.concatenate(data)[order],
    )
    start = np.searchsorted(tails_all, np.arange(n * layers + 1)).astype(np.int32)
    found, before = _everywhere(data_all, heads_all, start, source, limit)
    last = target + (layers - 1) * n
    return float(found[last]), walk(network, before, last)

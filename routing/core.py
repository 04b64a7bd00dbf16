"""The part of the tracks that cheapest ways use, with plain stretches put together: smaller, and as good.

A stretch along the members that turns at both ends may be slid across its bay at no cost until it lies in line with a
way in or out, against a side of the bay, or at a corner of what stands in the way; so may a stretch across the members.
Lines on which none of these lie need no turns, dead ends lead nowhere, and a node with two neighbours decides nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barnloom.routing.compiled import chains
from barnloom.routing.graph import ACROSS, ALONG, Tracks, nearest_index
from barnloom.routing.slab import Ints, Truths

Arcs = NDArray[np.int32]
"""Numbers as the compiled search takes them."""


@dataclass(frozen=True, eq=False, slots=True)
class Core:
    """Arcs in CSR order between the nodes that decide something; each arc is a chain of edges of the tracks.

    A box is two nodes: one to leave it by, one to enter it by, so that it is never passed through.
    """

    start: Arcs
    target: Arcs
    chain: Arcs
    """(arcs,) chain that each arc is, from either end."""
    alone: Arcs
    """(arcs,) edge of the tracks that each arc is by itself, -1 where its chain has several."""
    first: Arcs
    """(chains + 1,) where each chain's edges begin in ``edge``."""
    edge: Arcs
    origin: Ints
    """(nodes,) node of the network that each node is; ``node`` the other way round, -1 for what is no node here."""
    node: Ints


def core_of(tracks: Tracks) -> Core:
    """Reduce the tracks to what cheapest ways use."""
    edges, count = tracks.edges, tracks.node_count
    boxes = np.zeros(count, dtype=bool)
    boxes[list(tracks.boxes.values())] = True
    kept = wanted_edges(tracks)
    while True:
        degree = np.bincount(np.concatenate([edges.a[kept], edges.b[kept]]), minlength=count)
        dead = kept & (((degree[edges.a] == 1) & ~boxes[edges.a]) | ((degree[edges.b] == 1) & ~boxes[edges.b]))
        if not dead.any():
            break
        kept &= ~dead
    order, start = _sorted_ends(edges.a[kept], edges.b[kept], count)
    number = np.flatnonzero(kept)
    other = np.concatenate([edges.b[kept], edges.a[kept]])[order]
    end = (degree > 0) & ((degree != 2) | boxes)
    ends, first, along = chains(start, other, np.tile(number, 2)[order], end)
    return _as_arcs(tracks, np.asarray(ends), np.asarray(first), np.asarray(along), end)


def _as_arcs(tracks: Tracks, ends: Ints, first: Ints, along: Ints, end: Truths) -> Core:
    boxes = np.array(list(tracks.boxes.values()), dtype=np.int64)
    end = end.copy()
    end[boxes] = True
    origin = np.concatenate([np.flatnonzero(end), boxes + len(boxes)])
    node = np.full(tracks.node_count + len(boxes), -1, dtype=np.int64)
    node[origin] = np.arange(len(origin))
    tail = np.concatenate([ends[:, 0], ends[:, 1]])
    head = np.concatenate([ends[:, 1], ends[:, 0]])
    head = np.where(head >= boxes.min(initial=tracks.node_count), head + len(boxes), head)
    order = np.lexsort((node[head], node[tail]))
    chain = np.tile(np.arange(len(ends)), 2)[order]
    return Core(
        start=np.searchsorted(node[tail][order], np.arange(len(origin) + 1)).astype(np.int32),
        target=node[head][order].astype(np.int32),
        chain=chain.astype(np.int32),
        alone=np.where(np.diff(first)[chain] == 1, along[first[:-1]][chain], -1).astype(np.int32),
        first=first.astype(np.int32),
        edge=along.astype(np.int32),
        origin=origin,
        node=node,
    )


def _sorted_ends(a: Ints, b: Ints, count: int) -> tuple[Ints, Ints]:
    """Order of the ends of edges by node (first ends, then second ones), and where each node's begin."""
    ends = np.concatenate([a, b])
    order = np.argsort(ends, kind="stable")
    return order, np.searchsorted(ends[order], np.arange(count + 1))


def wanted_edges(tracks: Tracks) -> Truths:
    """All edges but those turns that no cheapest way makes."""
    edges = tracks.edges
    low, high = np.minimum(edges.a, edges.b), np.maximum(edges.a, edges.b)
    slab = np.searchsorted(tracks.base, low, side="right") - 1
    grid = (high < int(tracks.face_base[0])) & (np.searchsorted(tracks.base, high, side="right") - 1 == slab)
    plain = grid & (edges.via < 0) & (edges.bore < 0)
    wanted = np.ones(len(low), dtype=bool)
    for one in tracks.slabs:
        base, nv = int(tracks.base[one.number]), len(tracks.lines_v[one.number])
        shape = (len(tracks.lines_u[one.number]), nv)
        here = np.flatnonzero(plain & (slab == one.number))
        place, heading = np.divmod(low[here] - base, 2)
        i, j = np.divmod(place, nv)
        turning = edges.turn[here] == 1
        level, upright, turn = (np.zeros(shape, dtype=bool) for _ in range(3))
        turn[i[turning], j[turning]] = True
        level[i[~turning & (heading == ACROSS)], j[~turning & (heading == ACROSS)]] = True
        upright[i[~turning & (heading == ALONG)], j[~turning & (heading == ALONG)]] = True
        marked = np.zeros(shape, dtype=bool)
        ends = np.concatenate([edges.a[~plain], edges.b[~plain]]) - base
        marked.reshape(-1)[ends[(ends >= 0) & (ends < 2 * marked.size)] // 2] = True
        beside = marked.copy()
        for way in (way for way in tracks.exits if way.slab == one.number):
            column = nearest_index(tracks.lines_u[one.number], way.turn[0])
            beside[max(column - 1, 0) : column + 2] = True  # its own cable does not turn back on its own column
        needed = _lines_needed(level, marked) & _lines_needed(upright.T, beside.T).T
        wanted[here[turning]] = needed[i[turning], j[turning]]
    return wanted


def _lines_needed(step: Truths, marked: Truths) -> Truths:
    """Places on unbroken lines along the first axis that are marked somewhere, or that have no line beside them.

    ``step`` tells whether the line goes on from a place to the next one.
    """
    lonely = step.copy()
    lonely[:, 1:-1] &= ~(step[:, :-2] & step[:, 2:])
    flags = marked | lonely
    flags[1:] |= lonely[:-1]
    begins = np.ones(step.shape, dtype=np.int64)
    begins[1:] = ~step[:-1]
    line = np.cumsum(begins.T.ravel()).reshape(step.shape[::-1]).T
    found = np.zeros(int(line.max(initial=0)) + 1, dtype=bool)
    found[line[flags]] = True
    needed: Truths = found[line]
    return needed

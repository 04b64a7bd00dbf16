"""The bound's inner loop, compiled by numba on first use and kept on disk beside this file."""

from __future__ import annotations

from typing import Any

import numpy as np

from barnloom.routing.compiled import larger, push, sink
from barnloom.routing.jit import compiled

SAME = 1e-9
"""Money by which sums in another order may differ."""


@compiled
def reach(
    start: Any,
    target: Any,
    edge: Any,
    base: Any,
    first: Any,
    item: Any,
    price: Any,
    source: int,
    goal: int,
    ahead: Any,
    now: int,
    distance: Any,
    before: Any,
    by: Any,
    seen: Any,
) -> float:
    """Distance from one node to another, nodes that are nearer to the goal first.

    Parameters
    ----------
    start, target, edge : (nodes + 1,), (arcs,), (arcs,) int
        Arcs in CSR order, each with the number of its edge.
    base : (edges,) float
        Price of each edge without its items, infinite where it may not be used.
    first, item : (edges + 1,), (n,) int
        Where each edge's items begin, and the items.
    price : (items,) float
    ahead : (nodes,) float
        What it costs at least from each node to the goal.
    now : int
        A number that no search over these arrays has had.
    distance, before, by, seen : (nodes,)
        Scratch: distance, previous node and edge of every node with ``seen`` equal to ``now``.
    """
    room = 1024
    keys = np.empty(room, dtype=np.float64)
    nodes = np.empty(room, dtype=np.int64)
    distance[source] = 0.0
    seen[source] = now
    before[source] = -1
    by[source] = -1
    push(keys, nodes, 0, 0.0, source)
    size = 1
    while size > 0:
        key, node = keys[0], nodes[0]
        size -= 1
        if size > 0:
            sink(keys, nodes, size)
        if node == goal:
            return float(distance[goal])
        far = distance[node]
        if node != source and key > far + ahead[node] + SAME:
            continue
        for arc in range(start[node], start[node + 1]):
            number, head = edge[arc], target[arc]
            there = far + base[number]
            for one in range(first[number], first[number + 1]):
                there += price[item[one]]
            if seen[head] == now and there >= distance[head]:
                continue
            whole = there + ahead[head]
            if whole == np.inf:
                continue
            seen[head] = now
            distance[head] = there
            before[head] = node
            by[head] = number
            if size == room:
                keys, nodes, room = larger(keys, nodes, room)
            push(keys, nodes, size, whole, head)
            size += 1
    return np.inf

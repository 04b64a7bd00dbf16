"""The search's inner loop, compiled by numba on first use and kept on disk beside this file."""

from __future__ import annotations

from typing import Any

import numpy as np

from barnloom.routing.jit import compiled


@compiled
def spread(
    start: Any,
    target: Any,
    chain: Any,
    alone: Any,
    first: Any,
    edge: Any,
    price: Any,
    sources: Any,
    goals: Any,
    wanted: int,
    limit: float,
    bound: Any,
    now: int,
    distance: Any,
    before: Any,
    by: Any,
    seen: Any,
    aimed: Any,
) -> int:
    """Dijkstra from several nodes at once until so many goals are settled, by a binary heap of (distance, node).

    Parameters
    ----------
    start, target, chain, alone, first, edge : int
        As in ``core.Core``.
    price : (edges,) float
        Infinite where an edge may not be used.
    sources, goals : (n,) int
        Nodes; of several that are equally far the lower number is settled first. Of equal ways to a node the one over
        the node with the higher number is kept, so boards and faces come before bays.
    wanted : int
        So many goals settled end it.
    limit : float
        Nothing farther is looked at.
    bound : (nodes,) float, or (0,)
        What is left to the goal from each node at least, if that is known, and never falls along an edge by more than
        the edge costs: the search then goes towards the goal.
    now : int
        A number that no search over these arrays has had: what earlier ones left in them is void.
    distance, before, by, seen, aimed : (nodes,) float and int
        Scratch: distance, previous node and chain of every node with ``seen`` equal to ``now`` (reached) or minus
        ``now`` (settled); marks of goals.

    Returns
    -------
    int
        How many goals were settled: those with ``aimed`` equal to minus ``now``.
    """
    room = 1024
    keys = np.empty(room, dtype=np.float64)
    nodes = np.empty(room, dtype=np.int32)
    size = 0
    for goal in goals:
        aimed[goal] = now
    for source in sources:
        distance[source] = 0.0
        seen[source] = now
        before[source] = -1
        by[source] = -1
        if size == room:
            keys, nodes, room = larger(keys, nodes, room)
        push(keys, nodes, size, 0.0, source)
        size += 1
    settled = 0
    guided = len(bound) > 0
    while size > 0:
        node = nodes[0]
        far = distance[node]
        size -= 1
        if size > 0:
            sink(keys, nodes, size)
        if seen[node] == -now:
            continue
        seen[node] = -now
        if aimed[node] == now:
            aimed[node] = -now
            settled += 1
            if settled == wanted:
                return settled
        for arc in range(start[node], start[node + 1]):
            head = target[arc]
            if seen[head] == -now:
                continue
            number = chain[arc]
            there = far
            if alone[arc] >= 0:
                there += price[alone[arc]]
            else:
                for place in range(first[number], first[number + 1]):
                    there += price[edge[place]]
            left = bound[head] if guided else 0.0
            if there + left > limit or there + left == np.inf:
                continue
            again = seen[head] == now
            if again and (there > distance[head] or (there == distance[head] and node < before[head])):
                continue
            before[head] = node
            by[head] = number
            if again and there == distance[head]:
                continue
            seen[head] = now
            distance[head] = there
            if size == room:
                keys, nodes, room = larger(keys, nodes, room)
            push(keys, nodes, size, there + left, head)
            size += 1
    return settled


@compiled
def walked(goal: int, before: Any, by: Any, first: Any, edge: Any, origin: Any, a: Any, b: Any) -> tuple[Any, Any]:
    """The way that a search found to a node of the core: nodes of the network, (n + 1,), and edges between them, (n,).

    Parameters
    ----------
    before, by : (nodes,) int
        Previous node and chain, as ``spread`` leaves them.
    first, edge, origin : int
        As in ``core.Core``.
    a, b : (edges,) int
        Nodes of the tracks at both ends of each edge.
    """
    count, node = 0, goal
    while before[node] >= 0:
        count += first[by[node] + 1] - first[by[node]]
        node = before[node]
    nodes = np.empty(count + 1, dtype=np.int64)
    edges = np.empty(count, dtype=np.int64)
    nodes[count] = origin[goal]
    place, node = count, goal
    while before[node] >= 0:
        low, high = first[by[node]], first[by[node] + 1]
        start = origin[before[node]]
        place -= high - low
        at = start
        onward = a[edge[low]] == start or b[edge[low]] == start
        for step in range(high - low):
            number = edge[low + step] if onward else edge[high - 1 - step]
            nodes[place + step] = at
            edges[place + step] = number
            at = b[number] if a[number] == at else a[number]
        node = before[node]
    return nodes, edges


@compiled
def chains(start: Any, other: Any, edge: Any, end: Any) -> tuple[Any, Any, Any]:
    """Put edges together that lead from one end over nodes with two neighbours to the next end.

    Parameters
    ----------
    start, other, edge : (nodes + 1,), (2 x edges,), (2 x edges,) int
        Every edge from both sides, in CSR order: the node at its other side, and its number.
    end : (nodes,) bool
        Nodes at which chains begin and end.

    Returns
    -------
    ends : (chains, 2) int
        Nodes of every chain, the lower number first; chains that come back to where they began are left out.
    first, along : (chains + 1,), (n,) int
        Where each chain's edges begin in ``along``, in their order from its first node.
    """
    most = len(edge) // 2
    ends = np.empty((most, 2), dtype=np.int64)
    first = np.zeros(most + 1, dtype=np.int64)
    along = np.empty(2 * most, dtype=np.int64)  # the last chain may be one that is left out
    count, size = 0, 0
    for node in range(len(end)):
        if not end[node]:
            continue
        for way in range(start[node], start[node + 1]):
            at, by, length = other[way], edge[way], size
            along[length] = by
            length += 1
            while not end[at]:
                step = start[at] if edge[start[at]] != by else start[at] + 1
                at, by = other[step], edge[step]
                along[length] = by
                length += 1
            if at > node:
                ends[count, 0], ends[count, 1] = node, at
                size = length
                count += 1
                first[count] = size
    return ends[:count], first[: count + 1], along[:size]


@compiled
def larger(keys: Any, nodes: Any, room: int) -> tuple[Any, Any, int]:
    """Give a heap twice its room."""
    more_keys = np.empty(2 * room, dtype=np.float64)
    more_nodes = np.empty(2 * room, dtype=np.int32)
    more_keys[:room] = keys
    more_nodes[:room] = nodes
    return more_keys, more_nodes, 2 * room


@compiled
def push(keys: Any, nodes: Any, size: int, key: float, node: int) -> None:
    """Put in at the end (place ``size``) and let it rise."""
    at = size
    while at > 0:
        above = (at - 1) // 2
        if keys[above] < key or (keys[above] == key and nodes[above] <= node):
            break
        keys[at], nodes[at] = keys[above], nodes[above]
        at = above
    keys[at], nodes[at] = key, node


@compiled
def sink(keys: Any, nodes: Any, size: int) -> None:
    """Put what is at place ``size`` to the front and let it sink."""
    key, node = keys[size], nodes[size]
    at = 0
    while True:
        below = 2 * at + 1
        if below >= size:
            break
        other = below + 1
        if other < size and (keys[other] < keys[below] or (keys[other] == keys[below] and nodes[other] < nodes[below])):
            below = other
        if keys[below] > key or (keys[below] == key and nodes[below] >= node):
            break
        keys[at], nodes[at] = keys[below], nodes[below]
        at = below
    keys[at], nodes[at] = key, node

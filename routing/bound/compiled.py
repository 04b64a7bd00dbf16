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
    nodes = np.empty(room, dtype=np.int32)
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


@compiled
def walked(goal: int, before: Any, by: Any, price: Any, first: Any, item: Any) -> tuple[float, Any]:
    """What the way costs that a search found to a node, items not counted, and the items on it, one after the other.

    Parameters
    ----------
    before, by : (nodes,) int
        Previous node and edge, as ``reach`` leaves them.
    price, first, item
        As for ``reach``.
    """
    count, node, money = 0, goal, 0.0
    while before[node] >= 0:
        count += first[by[node] + 1] - first[by[node]]
        money += price[by[node]]
        node = before[node]
    found = np.empty(count, dtype=np.int64)
    size, node = 0, goal
    while before[node] >= 0:
        for place in range(first[by[node]], first[by[node] + 1]):
            found[size] = item[place]
            size += 1
        node = before[node]
    return money, found


@compiled
def cheapest_feeders(cost: Any) -> Any:
    """Feeder of every node in a cheapest arborescence from node 0, (n,); -1 for node 0, for all if one is not reached.

    Chu, Liu and Edmonds: follow each cheapest arc back; where that closes a ring, the ring becomes one node, into
    which an arc costs what it costs more than the one that it takes the place of.

    Parameters
    ----------
    cost : (n, n) float
        Of the arc from row to column; infinite where there is none, and in column 0.
    """
    n = len(cost)
    most = 2 * n
    price = np.full((most, most), np.inf)
    price[:n, :n] = cost
    tail, head = np.empty((most, most), dtype=np.int64), np.empty((most, most), dtype=np.int64)
    for one in range(n):
        for other in range(n):
            tail[one, other], head[one, other] = one, other
    inside = np.full(most, -1, dtype=np.int64)  # the ring that a node has become part of
    by = np.full(most, -1, dtype=np.int64)
    state = np.zeros(most, dtype=np.int64)  # 1: on the way that is followed, 2: leads to node 0
    state[0] = 2
    way = np.empty(most, dtype=np.int64)
    count = n
    found = np.full(n, -1, dtype=np.int64)
    for begin in range(1, n):
        at, length = begin, 0
        while inside[at] >= 0:
            at = inside[at]
        while state[at] != 2:
            if state[at] == 0:
                state[at] = 1
                way[length] = at
                length += 1
                for one in range(count):
                    if inside[one] < 0 and one != at and (by[at] < 0 or price[one, at] < price[by[at], at]):
                        by[at] = one
                if by[at] < 0 or price[by[at], at] == np.inf:
                    return found
                at = by[at]
                continue
            ring, new = at, count
            count += 1
            while True:
                length -= 1
                inside[way[length]] = new
                if way[length] == ring:
                    break
            for one in range(new):
                if inside[one] >= 0:
                    continue
                for part in range(new):
                    if inside[part] != new:
                        continue
                    into = price[one, part] - price[by[part], part]
                    if into < price[one, new]:
                        price[one, new] = into
                        tail[one, new], head[one, new] = tail[one, part], head[one, part]
                    if price[part, one] < price[new, one]:
                        price[new, one] = price[part, one]
                        tail[new, one], head[new, one] = tail[part, one], head[part, one]
                # What was fed from the ring is fed from what it has become.
                if by[one] >= 0 and inside[by[one]] == new:
                    by[one] = new
            at = new
        for one in range(length):
            state[way[one]] = 2
    into_tail, into_head = np.full(most, -1, dtype=np.int64), np.full(most, -1, dtype=np.int64)
    for node in range(1, count):
        into_tail[node], into_head[node] = tail[by[node], node], head[by[node], node]
    for ring in range(count - 1, n - 1, -1):
        part = into_head[ring]
        while inside[part] != ring:
            part = inside[part]
        into_tail[part], into_head[part] = into_tail[ring], into_head[ring]
    found[1:] = into_tail[1:n]
    return found


@compiled
def wired_tree(price: Any, need: Any, more: Any, sheaths: Any, inside: Any, boxes: Any, runs: int) -> tuple[float, Any]:
    """The cheapest tree of a circuit with what its cables carry and its boxes hold: ``wired.Wired``.

    For each box and each set that hangs on it, itself among them, the least that the set costs without the cable into
    the box; for each box and each set besides it, the least that the set costs as one branch, with its cable. A box
    takes branches one after the other, the one with its lowest box first, and keeps count of cables and conductors.

    Parameters
    ----------
    price : (boxes + 1, boxes + 1) float
        Of a cable from row to column.
    need : (2 ^ boxes,) int
        Conductors of the cable before each set.
    more, sheaths, inside, boxes
        As in ``wired.Wired``.
    runs : int
        Branches that the panel has; 0: any number.

    Returns
    -------
    (float, (boxes + 1,) int)
        Its price, infinite if there is none, and the feeder of each box.
    """
    count = len(price) - 1
    sets = 1 << count
    most, full = boxes.shape[1] - 1, boxes.shape[2] - 1
    hung = np.full((count + 1, sets), np.inf)
    branch = np.full((count + 1, sets), np.inf)
    into = np.zeros((count + 1, sets), dtype=np.int64)
    held = np.full((count + 1, sets, most + 1, full + 1), np.inf)
    taken = np.zeros((count + 1, sets, most + 1, full + 1), dtype=np.int64)
    for box in range(count + 1):
        held[box, 0, 0, 0] = 0.0
    largest = 0
    for number in range(len(inside)):
        largest = max(largest, inside[number])
    for some in range(1, sets):
        for box in range(1, count + 1):
            bit = 1 << (box - 1)
            if not some & bit:
                continue
            rest = some ^ bit
            if rest:
                lowest = rest & -rest
                others = rest ^ lowest
                sub = others
                while True:
                    part = sub | lowest
                    cost = branch[box, part]
                    if cost < np.inf:
                        cables, wires = sheaths[need[part]], inside[need[part]]
                        for k in range(most - cables + 1):
                            for t in range(min(k * largest, full - wires) + 1):
                                there = held[box, rest ^ part, k, t] + cost
                                if there < held[box, rest, k + cables, t + wires]:
                                    held[box, rest, k + cables, t + wires] = there
                                    taken[box, rest, k + cables, t + wires] = part
                    if sub == 0:
                        break
                    sub = (sub - 1) & others
            cables, wires = sheaths[need[some]], inside[need[some]]
            for k in range(most - cables + 1):
                for t in range(min(k * largest, full - wires) + 1):
                    hung[box, some] = min(hung[box, some], held[box, rest, k, t] + boxes[box, k + cables, t + wires])
        for box in range(count + 1):
            if box > 0 and some & (1 << (box - 1)):
                continue
            for first in range(1, count + 1):
                if some & (1 << (first - 1)):
                    there = price[box, first] + more[box, first, need[some]] + hung[first, some]
                    if there < branch[box, some]:
                        branch[box, some] = there
                        into[box, some] = first
    # What hangs on the panel, by its number of branches.
    whole, step = sets - 1, min(runs, 1)
    last = min(runs, count)
    total = np.full((last + 1, sets), np.inf)
    by = np.zeros((last + 1, sets), dtype=np.int64)
    total[0, 0] = 0.0
    for some in range(1, sets):
        lowest = some & -some
        others = some ^ lowest
        sub = others
        while True:
            part = sub | lowest
            for number in range(step, last + 1):
                there = total[number - step, some ^ part] + branch[0, part]
                if there < total[number, some]:
                    total[number, some] = there
                    by[number, some] = part
            if sub == 0:
                break
            sub = (sub - 1) & others
    feeders = np.full(count + 1, -1, dtype=np.int64)
    if total[last, whole] == np.inf:
        return np.inf, feeders
    waiting_box = np.empty(count + 1, dtype=np.int64)
    waiting_set = np.empty(count + 1, dtype=np.int64)
    size, left, number = 0, whole, last
    while left:
        waiting_box[size], waiting_set[size] = 0, by[number, left]
        size += 1
        left ^= by[number, left]
        number -= step
    while size > 0:
        size -= 1
        feeder, some = waiting_box[size], waiting_set[size]
        box = into[feeder, some]
        feeders[box] = feeder
        rest = some ^ (1 << (box - 1))
        cables, wires = sheaths[need[some]], inside[need[some]]
        best_k, best_t, best = 0, 0, np.inf
        for k in range(most - cables + 1):
            for t in range(min(k * largest, full - wires) + 1):
                there = held[box, rest, k, t] + boxes[box, k + cables, t + wires]
                if there < best:
                    best_k, best_t, best = k, t, there
        while rest:
            part = taken[box, rest, best_k, best_t]
            waiting_box[size], waiting_set[size] = box, part
            size += 1
            rest ^= part
            best_k -= sheaths[need[part]]
            best_t -= inside[need[part]]
    return total[last, whole], feeders


@compiled
def alike_tree(price: Any, least: Any, need: Any, group: Any, counts: Any, stride: Any, size: Any) -> tuple[Any, ...]:
    """The cheapest structure that feeds so many boxes of each group: ``alike.Alike``.

    For each box and each count of boxes that hang on it, itself left out, the least that they cost with their cables;
    and the least that they cost as one branch. A box takes branches one after the other, the one with its lowest group
    first.

    Parameters
    ----------
    price : (boxes + 1, MOST + 1, boxes + 1) float
        Of a cable into a box, by its conductors, from each box.
    least : (boxes + 1, MOST + 1, MOST + 1) float
        As in ``alike.Alike``.
    need, counts, group, stride, size
        As in ``alike.Alike``.

    Returns
    -------
    (float, (boxes,) int, (boxes,) int)
        Its price, infinite if there is none; feeding and fed box of each of its cables.
    """
    boxes, groups, states = len(price), len(size), len(need)
    branch = np.full((states, boxes), np.inf)
    held = np.full((states, boxes), np.inf)
    held[0] = 0.0
    part = np.zeros(groups, dtype=np.int64)
    for some in range(1, states):
        its = branch[some]
        for box in range(1, boxes):
            if counts[some, group[box]] > 0:
                rest = some - stride[group[box]]
                hung = held[rest, box] + least[box, need[some], need[rest]]
                if hung < np.inf:
                    into = price[box, need[some]]
                    for by in range(boxes):
                        its[by] = min(its[by], into[by] + hung)
        for by in range(1, boxes):
            if counts[some, group[by]] == size[group[by]]:
                its[by] = np.inf  # it is among them itself
        lowest = _lowest(counts[some])
        part[:] = 0
        part[lowest] = 1
        number = stride[lowest]
        its = held[some]
        digit = lowest
        while digit < groups:
            one, other = branch[number], held[some - number]
            for by in range(boxes):
                its[by] = min(its[by], one[by] + other[by])
            digit = lowest
            while digit < groups:
                if part[digit] < counts[some, digit]:
                    part[digit] += 1
                    number += stride[digit]
                    break
                least_part = 1 if digit == lowest else 0
                number -= stride[digit] * (part[digit] - least_part)
                part[digit] = least_part
                digit += 1
    feeding, fed = (np.zeros(boxes - 1, dtype=np.int64), np.zeros(boxes - 1, dtype=np.int64))
    value = held[states - 1, 0]
    if value == np.inf:
        return value, feeding, fed
    waiting_box, waiting_some = (np.zeros(boxes, dtype=np.int64), np.zeros(boxes, dtype=np.int64))
    waiting_some[0] = states - 1
    size_waiting, found = 1, 0
    while size_waiting > 0:
        size_waiting -= 1
        by, some = waiting_box[size_waiting], waiting_some[size_waiting]
        while some > 0:
            number = _first_branch(by, some, branch, held, counts)
            box, best = 0, np.inf
            for one in range(1, boxes):
                if counts[number, group[one]] > 0:
                    rest = number - stride[group[one]]
                    there = price[one, need[number], by] + held[rest, one] + least[one, need[number], need[rest]]
                    if there < best:
                        box, best = one, there
            feeding[found], fed[found] = by, box
            found += 1
            some -= number
            rest = number - stride[group[box]]
            if rest > 0:
                waiting_box[size_waiting], waiting_some[size_waiting] = box, rest
                size_waiting += 1
    return value, feeding, fed


@compiled
def _lowest(count: Any) -> int:
    """The first group of which there is a box."""
    group = 0
    while count[group] == 0:
        group += 1
    return group


@compiled
def _first_branch(by: int, some: int, branch: Any, held: Any, counts: Any) -> int:
    """Which of the boxes that hang on one hang as its first branch, where that is cheapest."""
    groups, lowest = counts.shape[1], _lowest(counts[some])
    found, best = 0, np.inf
    for number in range(1, some + 1):
        inside = counts[number, lowest] > 0
        for digit in range(groups):
            inside = inside and counts[number, digit] <= counts[some, digit]
        if inside and branch[number, by] + held[some - number, by] < best:
            found, best = number, branch[number, by] + held[some - number, by]
    return found

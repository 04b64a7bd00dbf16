"""Branch and bound over items and groups: a plan either uses one or does not, and pays for it or goes without."""

from __future__ import annotations

import heapq
import math

import numpy as np

from barnloom.routing.bound.raising import raised
from barnloom.routing.bound.shares import Shares
from barnloom.routing.bound.trees import Trees
from barnloom.routing.slab import Floats, Ints

ROUNDS = 15
"""Times that prices are shared out anew where something has been settled."""
ROWS_FIRST = 0.3
"""A group is settled before an item unless so much less money is undecided about it."""
NONE: Ints = np.empty(0, dtype=np.int64)


def branched(trees: Trees, shares: Shares, certain: float, value: float, upper: float, nodes: int) -> float:
    """
    A bound that is no worse, by settling up to so many times what is undecided.

    Parameters
    ----------
    shares, certain, value
        Payments after some rounds, what is paid besides them, and the bound that they gave.
    """
    waiting = [(value, 0, certain, shares, (frozenset[int](), frozenset[int]()))]
    count = 0
    while waiting and waiting[0][0] < upper and count < nodes:
        lowest, _, paid, here, done = heapq.heappop(waiting)
        found = _undecided(here, done)
        if found is None:
            return lowest
        is_group, number = found
        some = np.flatnonzero(here.group == number) if is_group else np.array([number])
        one = np.array([number])
        more = float((here.shared if is_group else here.price)[number])
        without = here.settled(paid=NONE, groups=NONE, closed=some)
        within = here.settled(paid=NONE if is_group else one, groups=one if is_group else NONE, closed=NONE)
        known = (done[0] | {number}, done[1]) if is_group else (done[0], done[1] | {number})
        for child, money in ((without, paid), (within, paid + more)):
            count += 1
            best = max(lowest, raised(trees, child, money, upper, ROUNDS).value)
            if best < upper:
                heapq.heappush(waiting, (best, count, money, child, known))
    return waiting[0][0] if waiting else upper


def _undecided(shares: Shares, done: tuple[frozenset[int], frozenset[int]]) -> tuple[bool, int] | None:
    """The group (True) or item (False) of which most money is undecided; None if all of it is decided."""
    usual = shares.usual()
    of_groups = np.zeros(len(shares.shared))
    grouped = shares.group >= 0
    np.maximum.at(of_groups, shares.group[grouped], usual[grouped])
    groups = _open(of_groups, shares.shared, done[0])
    items = _open(usual, np.where(shares.closed, 0.0, shares.price), done[1])
    most = groups.max(initial=0.0), items.max(initial=0.0)
    if max(most) <= 0 or not math.isfinite(max(most)):
        return None
    return (True, int(groups.argmax())) if most[0] >= ROWS_FIRST * most[1] else (False, int(items.argmax()))


def _open(usual: Floats, price: Floats, done: frozenset[int]) -> Floats:
    money = np.minimum(usual, 1 - usual) * price
    money[list(done)] = 0.0
    return money

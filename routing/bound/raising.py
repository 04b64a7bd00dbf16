"""Rounds in which payments are shared out anew, so that the bound rises."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from barnloom.routing.bound.shares import Shares
from barnloom.routing.bound.trees import Trees

DARE, PATIENCE, LESS, KEEP = 0.5, 10, 0.7, 0.85
"""A step aims at so much of the gap to the plan's cost; after so many rounds with no gain at so much less; and it keeps
so much of the last one's direction."""
APART = 40
"""Rounds in which only boxes by themselves, and all of a circuit, are doors: clusters want many rounds to pay off."""
Progress = Callable[[int, float], None]


@dataclass(frozen=True, slots=True)
class Raised:
    """The best bound of some rounds, and how many there were."""

    value: float
    rounds: int


def raised(
    trees: Trees, shares: Shares, certain: float, upper: float, rounds: int, progress: Progress = lambda *_: None
) -> Raised:
    """Share payments out anew so many times, or until the bound gets to a plan's cost; infinite if there is no plan."""
    best, dare, waited, done = -math.inf, DARE, 0, 0
    while done < rounds and best < upper:
        done += 1
        if done == APART:
            trees.open_clusters()
        value, used = trees.cheapest(shares)
        value += certain - shares.too_much()
        waited = 0 if value > best else waited + 1
        best = max(best, value)
        progress(done, best)
        if waited >= PATIENCE:
            dare, waited = dare * LESS, 0
        if value == math.inf:
            break
        shares.push(used, dare * (upper - value), KEEP)
        trees.balance(dare * (upper - value))
    return Raised(best, done)

"""The bound: the cheapest trees, at prices by which no plan pays more for what its cables share than it costs."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from barnloom.routing.bound.problem import Problem, problem_of
from barnloom.routing.bound.shares import Shares
from barnloom.routing.bound.trees import Trees
from barnloom.routing.job import Job
from barnloom.routing.wiring.kinds import Sizes

Effort = Literal["quick", "normal", "long"]
ROUNDS: dict[Effort, int] = {"quick": 0, "normal": 30, "long": 300}
"""Times that prices are shared out anew."""
DARE, PATIENCE, LESS, KEEP = 0.3, 5, 0.7, 0.75
"""A step aims at so much of the gap to the plan's cost; after so many rounds with no gain at so much less; and it keeps
so much of the last one's direction."""
LARGE = 30
"""So many times fewer rounds in a building for which little can be kept from one to the next."""
MARGIN = 1e-3
"""Money taken off for what sums of floats may err by."""
Progress = Callable[[int, float], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """A bound, money, and after how many rounds; ``closed``: it is the cost of the plan that is known."""

    value: float
    rounds: int
    closed: bool


def lower_bound(
    job: Job, sizes: Sizes, *, upper: float, effort: Effort = "normal", progress: Progress | None = None
) -> Bound:
    """
    A cost that no plan over a job's tracks is below, with conductors of some sizes.

    Parameters
    ----------
    job : Job
        A building laid out for planning.
    sizes : Sizes
        Conductors as they are settled: what grew because of what was routed counts as grown.
    upper : float
        Cost of a plan: steps are measured by how far the bound is from it, and it is closed when it gets there.
    effort : {"quick", "normal", "long"}
        How often prices are shared out anew; nothing here looks at a clock.
    progress : callable, optional
        Is told the round and the best bound so far.

    Returns
    -------
    Bound
        Of all plans in which every box is fed that any track reaches, rounded down to a hundredth.
    """
    return bounded(problem_of(job, sizes), upper, ROUNDS[effort], progress or (lambda *_: None))


def bounded(problem: Problem, upper: float, rounds: int, progress: Progress = lambda *_: None) -> Bound:
    """The same for a problem as plain data, with so many rounds."""
    items, trees = problem.items, Trees(problem)
    rounds = rounds // LARGE if trees.big else rounds
    # Overhead holes tire after the first few: all of them count, less that many of the dearest; or none at all.
    most = float(items.tired.max(initial=0.0)) if problem.fresh > 0 else 0.0
    starts = []
    for tiring in [most] if trees.big else sorted({0.0, most}):
        shares = Shares(items, items.price + np.minimum(items.tired, tiring), trees.count)
        certain = problem.certain - tiring * problem.fresh
        starts.append((certain + trees.cheapest(shares, 0)[0], certain, shares))
    best, certain, shares = max(starts, key=lambda start: start[0])
    dare, waited, done = DARE, 0, 0
    while done < rounds and best < upper - MARGIN:
        done += 1
        value, used = trees.cheapest(shares, done)
        value += certain - shares.too_much()
        waited = 0 if value > best else waited + 1
        best = max(best, value)
        progress(done, best)
        if waited >= PATIENCE:
            dare, waited = dare * LESS, 0
        shares.push(used, dare * (upper - value), KEEP)
    return Bound(value=math.floor((best - MARGIN) * 100) / 100, rounds=done, closed=best >= upper - MARGIN)

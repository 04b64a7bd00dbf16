"""The bound: the cheapest trees, at prices by which no plan pays more for what its cables share than it costs."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from barnloom.routing.bound.branching import branched
from barnloom.routing.bound.problem import Problem, problem_of
from barnloom.routing.bound.raising import Progress, raised
from barnloom.routing.bound.shares import Shares
from barnloom.routing.bound.trees import Trees
from barnloom.routing.job import Effort, Job
from barnloom.routing.wiring.kinds import Sizes

ROUNDS: dict[Effort, int] = {"quick": 0, "normal": 20, "long": 300}
"""Times that prices are shared out anew, with ``USUAL`` cables or more; as many times more often as there are fewer."""
USUAL = 40
NODES: dict[Effort, int] = {"quick": 0, "normal": 0, "long": 1000}
"""Times that something is settled in a building with few cables."""
FEW = 10
"""So many cables are few."""
LARGE = 30
"""So many times fewer rounds in a building for which little can be kept from one to the next."""
MARGIN = 1e-3
"""Money taken off for what sums of floats may err by."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """A bound, money, and after how many rounds; ``closed``: it is the cost of the plan that is known.

    Infinite where no tree of some circuit can be as it is asked for.
    """

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
        Of all plans in which every box is fed that any track reaches, by the home runs that its circuit is to have,
        rounded down to a hundredth.
    """
    problem = problem_of(job, sizes)
    cables = max(sum(len(tree.cables) for tree in problem.trees), 1)
    rounds = ROUNDS[effort] * max(USUAL // cables, 1)
    return bounded(problem, upper, rounds, NODES[effort] if cables <= FEW else 0, progress or (lambda *_: None))


def bounded(problem: Problem, upper: float, rounds: int, nodes: int = 0, progress: Progress = lambda *_: None) -> Bound:
    """The same for a problem as plain data, with so many rounds, and so many times that something is settled."""
    items, trees = problem.items, Trees(problem)
    rounds = rounds // LARGE if trees.big else rounds
    # Overhead holes tire after the first few: all of them count, less that many of the dearest; or none at all.
    most = float(items.tired.max(initial=0.0)) if problem.fresh > 0 else 0.0
    starts = []
    for tiring in [most] if trees.big else sorted({0.0, most}):
        shares = Shares(items, items.price + np.minimum(items.tired, tiring), trees.count, trees.once)
        certain = problem.certain - tiring * problem.fresh
        starts.append((certain + trees.cheapest(shares)[0], certain, shares))
    best, certain, shares = max(starts, key=lambda start: start[0])
    found = raised(trees, shares, certain, upper - MARGIN, rounds, progress)
    best = max(best, found.value)
    if nodes and rounds and best < upper - MARGIN:
        best = max(best, branched(trees, shares, certain, best, upper - MARGIN, nodes))
    if best == math.inf:
        return Bound(value=best, rounds=found.rounds, closed=False)
    return Bound(value=math.floor((best - MARGIN) * 100) / 100, rounds=found.rounds, closed=best >= upper - MARGIN)

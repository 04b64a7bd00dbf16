"""From a building to a plan: sizes, trees, every cable over the same tracks, and the electrical half put in."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from barnloom.model.building import Building
from barnloom.routing.feeds import Trees
from barnloom.routing.finish import fewer_runs, has_faults, sound, whole
from barnloom.routing.first import first_state, rated_circuits, sizes_of
from barnloom.routing.improve import Kept, improvements
from barnloom.routing.job import Effort, Job, Talk, job_of
from barnloom.routing.plan import Plan, Searched
from barnloom.routing.settle import Settled, settled
from barnloom.routing.wiring.growth import resized
from barnloom.routing.wiring.kinds import Sizes
from barnloom.routing.wiring.sizing import Rating
from barnloom.routing.wiring.told import stepped_up

LEAST_SAID = 0.5
"""Percent by which the gap has to have fallen before it is told again."""


def plan_building(
    building: Building, *, earlier: Plan | None = None, effort: Effort = "normal", progress: Talk | None = None
) -> Plan:
    """Plan a building: sizes, trees, routes; anew where what was routed asks for larger conductors.

    Parameters
    ----------
    earlier : Plan, optional
        Of the same building: ids of its holes go on to stand for the same places and for no others, and its trees are
        among those to begin with.
    progress : callable, optional
        Is told in a few words what is being done.

    Raises
    ------
    SceneError
        If something electrical cannot be: every such fault, by its place in the scene.
    """
    usual = rated_circuits(building)
    first = first_state(job_of(building, progress or (lambda _: None), earlier), usual)
    job, rated, sizes, best = first.job, first.rated, first.sizes, first.best
    found, half = first.plan, first.half
    known, interrupted = _searched(job, best, sizes, effort)
    for kept in _spread(known):
        best.layout.restore(kept.lie)
        cheaper = sound(job, Settled(best.layout, kept.orders), rated, sizes)
        if cheaper is not None and (_rank(cheaper[0]) < _rank(found) or has_faults(found)):
            found, half = cheaper
            break
    bound = None
    # What is proven is proven of plans that leave nothing out, and have as many home runs as they are to have.
    if effort != "quick" and not (interrupted or found.unreached or fewer_runs(building, found.cables)):
        bound, interrupted = _bound(job, sizes_of(usual), first.plan.cost, found.cost, effort)
    more = stepped_up(building, found.cables, found.makeups)
    return replace(
        found,
        lower_bound=bound,
        resized=(*resized(found, half, usual, sizes), *more),
        searched=Searched(effort=effort, interrupted=interrupted),
    )


def _rank(plan: Plan) -> tuple[int, float]:
    """By what plans are compared: how many boxes they leave out, then money."""
    return len(plan.unreached), plan.cost


def _bound(job: Job, sizes: Sizes, upper: float, cost: float, effort: Effort) -> tuple[float | None, bool]:
    """What no plan of the building can cost less than, with conductors no larger than their loads ask for.

    None where no tree of some circuit can be as it is asked for, and where the proof is interrupted, which is told
    besides. ``upper``, by which steps are measured, is the cost of the first plan: so it is the same proof whatever the
    search comes to.
    """
    from barnloom.routing.bound import lower_bound

    job.talk("proving what no plan can cost less than")

    said = math.inf

    def told(_: int, value: float) -> None:
        nonlocal said
        gap = 100 * (cost / value - 1) if 0 < value < math.inf else math.inf
        if gap < said - LEAST_SAID:
            said = gap
            job.talk(f"no plan costs less than {value:.2f}: {gap:.1f} % is the most that this one is above the best")

    try:
        value = lower_bound(job, sizes, upper=upper, effort=effort, progress=told).value
    except KeyboardInterrupt:
        job.talk("interrupted: the plan is whole, and nothing is proven")
        return None, True
    return (value if math.isfinite(value) else None), False


def _searched(job: Job, best: Settled, sizes: Sizes, effort: Effort) -> tuple[list[Kept], bool]:
    """All states that a search for a cheaper plan has come to, each cheaper, and whether it was interrupted."""
    known: list[Kept] = []
    try:
        for kept in improvements(job, best, sizes, effort):
            known.append(kept)
            job.talk(f"cost {kept.cost:.2f}")
    except KeyboardInterrupt:
        job.talk("interrupted: the best plan so far is put together (interrupt again to leave without it)")
        return known, True
    return known, False


def _spread(known: Sequence[Kept]) -> list[Kept]:
    """The cheapest state, then some that were before it, farther and farther back; the first is left out."""
    back = [2**n - 1 for n in range(len(known).bit_length())]
    return [known[-1 - n] for n in back if n < len(known) - 1]


def plan(job: Job, trees: Trees, rated: Mapping[str, Rating], sizes: Sizes) -> Plan:
    """Route any trees, and work out the electrical half. Nothing below here knows how they were chosen.

    Raises
    ------
    SceneError
        If no cable has the conductors that a leg needs, a box is too small for what it must hold, or the panel has no
        room.
    """
    return whole(job, settled(job, trees, sizes), rated, sizes)[0]

"""From a building to a plan: sizes, trees, every cable over the same tracks, and the electrical half put in."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from barnloom.model.building import Box, Building
from barnloom.model.errors import SceneError
from barnloom.model.limits import Limits
from barnloom.routing.check import check
from barnloom.routing.cost import plan_cost
from barnloom.routing.explain import unreached_why
from barnloom.routing.feeds import Trees, chosen_trees, plain_kind
from barnloom.routing.holes import final_holes
from barnloom.routing.improve import Effort, Kept, improvements
from barnloom.routing.job import Job, Talk, job_of
from barnloom.routing.layout import Layout
from barnloom.routing.lengths import cable_of
from barnloom.routing.notes import plan_assumptions, plan_warnings
from barnloom.routing.plan import PLAN_VERSION, Bore, Cable, Plan, Searched
from barnloom.routing.runs import run_of
from barnloom.routing.settle import Settled, feeds_by_circuit, left_out, settled, wires_of
from barnloom.routing.trees import Pair
from barnloom.routing.wiring.assembly import Assembled, assembled, twin
from barnloom.routing.wiring.circuit_rules import rule_faults
from barnloom.routing.wiring.flows import feeds_of
from barnloom.routing.wiring.growth import grown_sizes, resized
from barnloom.routing.wiring.kinds import Sizes, Store
from barnloom.routing.wiring.sizing import Rating, ratings
from barnloom.routing.wiring.told import stepped_up, wiring_warnings

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
    limits = Limits(building.limits)
    rated, faults = ratings(building, limits)
    faults = (*faults, *rule_faults(building, limits, rated))
    if faults:
        raise SceneError(faults)
    sizes = Sizes(circuits={name: rating.awg for name, rating in rated.items()})
    job = job_of(building, progress or (lambda _: None), earlier)
    usual, first, feeds = rated, sizes, _earlier_feeds(job)
    while True:
        job.talk("choosing which box feeds which")
        trees = chosen_trees(job.network, sizes, job.rooms, feeds=feeds, settled=sizes.thick())
        best = settled(job, trees, sizes)
        found, half = _whole(job, best, rated, sizes)
        grown = grown_sizes(found, half, rated, sizes)
        if grown is None:
            break
        job.talk("routing again with larger conductors")
        rated, sizes = grown
        feeds = feeds_by_circuit(building, best.layout)
    interrupted, bound = False, None
    if not left_out(building, best.layout):
        known, interrupted = _searched(job, best, sizes, effort)
        for kept in _spread(known):
            best.layout.restore(kept.lie)
            cheaper = _sound(job, Settled(best.layout, kept.orders), rated, sizes)
            if cheaper is not None and cheaper[0].cost < found.cost:
                found, half = cheaper
                break
        bound = _bound(job, first, found.cost, "quick" if interrupted else effort)
    more = stepped_up(building, found.cables, found.makeups)
    return replace(
        found,
        lower_bound=bound,
        resized=(*resized(found, half, usual, sizes), *more),
        searched=Searched(effort=effort, interrupted=interrupted),
    )


def _sound(job: Job, best: Settled, rated: Mapping[str, Rating], sizes: Sizes) -> tuple[Plan, Assembled] | None:
    """A state of the search as a whole plan; None if it breaks a limit, or would want larger conductors again.

    Both only show in the whole: what lies beside what in the end, and how much voltage is lost.
    """
    try:
        found, half = _whole(job, best, rated, sizes)
        grown = grown_sizes(found, half, rated, sizes)
    except SceneError:
        return None
    if grown is not None or any(finding.severity == "fault" for finding in check(found)):
        return None
    return found, half


def _bound(job: Job, sizes: Sizes, cost: float, effort: Effort) -> float:
    """What no plan of the building can cost less than, with conductors no larger than their loads ask for."""
    from barnloom.routing.bound import lower_bound

    job.talk("proving what no plan can cost less than")

    said = math.inf

    def told(_: int, value: float) -> None:
        nonlocal said
        gap = 100 * (cost / value - 1) if value > 0 else math.inf
        if gap < said - LEAST_SAID:
            said = gap
            job.talk(f"no plan costs less than {value:.2f}: {gap:.1f} % is the most that this one is above the best")

    return lower_bound(job, sizes, upper=cost, effort=effort, progress=told).value


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
    return _whole(job, settled(job, trees, sizes), rated, sizes)[0]


def _whole(job: Job, best: Settled, rated: Mapping[str, Rating], sizes: Sizes) -> tuple[Plan, Assembled]:
    layout = best.layout
    wires = wires_of(job.building, feeds_by_circuit(job.building, layout), sizes, best.orders)
    cables, bores = _drawn(layout, job.earlier.bores if job.earlier else ())
    half = assembled(job.building, cables, wires, rated, job.rooms)
    if half.faults:
        raise SceneError(half.faults)
    two = {name: (name, twin(name)) for name in wires.parts}
    bores = [
        replace(bore, cables=tuple(one for cable in bore.cables for one in two.get(cable, (cable,)))) for bore in bores
    ]
    return _finished(job, layout, bores, half, sizes), half


def _earlier_feeds(job: Job) -> dict[str, tuple[Pair, ...]]:
    """Feeds of every circuit in the earlier plan."""
    cables = job.earlier.cables if job.earlier else ()
    return {
        circuit.id: tuple(feeds_of(circuit.panel, [cable for cable in cables if cable.circuit == circuit.id]))
        for circuit in job.building.circuits
    }


def _drawn(best: Layout, earlier: Sequence[Bore]) -> tuple[list[Cable], list[Bore]]:
    """Cables with their centre lines and lengths, and the holes they take."""
    tracks = best.tracks
    boxes: dict[str, Box] = {box.id: box for box in tracks.building.boxes}
    fed = feeds_by_circuit(tracks.building, best)
    legs = [best.legs[f"{circuit}.{box}"] for circuit, feeds in fed.items() for _, box in feeds]
    users: dict[int, list[str]] = {}
    for leg in legs:
        for _, _, edge in best.paths[leg.id]:
            bore = int(tracks.edges.bore[edge])
            if bore >= 0:
                users.setdefault(bore, []).append(leg.id)
    bores, drilled = final_holes(tracks, best.usage, {b: tuple(ids) for b, ids in users.items()}, earlier)
    cables = [
        cable_of(
            tracks,
            leg.id,
            leg.circuit,
            leg.kind,
            boxes[leg.from_box],
            boxes[leg.to_box],
            best.paths[leg.id],
            run_of(tracks, best.paths[leg.id], drilled),
            drilled,
            done=leg.rule.done,
        )
        for leg in legs
    ]
    return cables, bores


def _finished(job: Job, best: Layout, bores: list[Bore], half: Assembled, sizes: Sizes) -> Plan:
    building, limits = job.building, job.limits
    left = left_out(building, best)
    building = replace(building, cable_types=tuple(kind for kind in building.cable_types if not kind.parts))
    parts = plan_cost(building, half.cables, bores, half.makeups)
    store = Store(building)
    kinds = {circuit.id: plain_kind(store, circuit, sizes).id for circuit in building.circuits}
    why = unreached_why(building, limits, best.network, best.usage, kinds, left)
    return Plan(
        version=PLAN_VERSION,
        building=building,
        cables=half.cables,
        bores=tuple(bores),
        cost=round(sum(parts.values()), 6),
        cost_parts=parts,
        lower_bound=None,
        unreached=tuple(sorted({box for box, _ in left})),
        unreached_why=tuple(why),
        assumptions=plan_assumptions(building),
        warnings=(
            *plan_warnings(building, limits, best.tracks, bores),
            *_fewer_runs(building, half.cables),
            *wiring_warnings(building, limits, half.circuits, half.cables),
        ),
        makeups=half.makeups,
        circuits=half.circuits,
    )


def _fewer_runs(building: Building, cables: Sequence[Cable]) -> list[str]:
    """Circuits that have fewer home runs than they were to have, since no more found a way."""
    said = []
    for circuit in building.circuits:
        own = [cable for cable in cables if cable.circuit == circuit.id]
        runs = sum(cable.from_box == circuit.panel for cable in own)
        if circuit.home_runs is not None and own and runs < min(circuit.home_runs, len(own)):
            said.append(f"{circuit.id}: {circuit.home_runs} home runs wanted, {runs} found a way")
    return said

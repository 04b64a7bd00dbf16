"""The first whole plan of a building: trees, routes, and conductors as large as what is routed asks for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from barnloom.model.building import Building
from barnloom.model.errors import SceneError
from barnloom.model.limits import Limits
from barnloom.routing.feeds import chosen_trees
from barnloom.routing.finish import whole
from barnloom.routing.job import Job
from barnloom.routing.plan import Plan
from barnloom.routing.settle import Settled, feeds_by_circuit, settled
from barnloom.routing.trees import Pair
from barnloom.routing.wiring.assembly import Assembled
from barnloom.routing.wiring.circuit_rules import rule_faults
from barnloom.routing.wiring.flows import feeds_of
from barnloom.routing.wiring.growth import grown_sizes
from barnloom.routing.wiring.kinds import Sizes
from barnloom.routing.wiring.sizing import Rating, ratings


@dataclass(frozen=True, eq=False, slots=True)
class State:
    """A plan with its electrical half, and what they were made of."""

    job: Job
    rated: Mapping[str, Rating]
    sizes: Sizes
    best: Settled
    plan: Plan
    half: Assembled


def rated_circuits(building: Building) -> dict[str, Rating]:
    """Breakers and conductors that the loads of circuits ask for.

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
    return rated


def sizes_of(rated: Mapping[str, Rating]) -> Sizes:
    """Conductors of rated circuits."""
    return Sizes(circuits={name: rating.awg for name, rating in rated.items()})


def first_state(job: Job, rated: Mapping[str, Rating]) -> State:
    """Trees and routes, anew as long as what is routed asks for larger conductors."""
    sizes, feeds = sizes_of(rated), _earlier_feeds(job)
    while True:
        job.talk("choosing which box feeds which")
        trees = chosen_trees(job.network, sizes, job.rooms, feeds=feeds, settled=sizes.thick())
        best = settled(job, trees, sizes)
        plan, half = whole(job, best, rated, sizes)
        grown = grown_sizes(plan, half, rated, sizes)
        if grown is None:
            return State(job, rated, sizes, best, plan, half)
        job.talk("routing again with larger conductors")
        rated, sizes = grown
        feeds = feeds_by_circuit(job.building, best.layout)


def _earlier_feeds(job: Job) -> dict[str, tuple[Pair, ...]]:
    """Feeds of every circuit in the earlier plan."""
    cables = job.earlier.cables if job.earlier else ()
    return {
        circuit.id: tuple(feeds_of(circuit.panel, [cable for cable in cables if cable.circuit == circuit.id]))
        for circuit in job.building.circuits
    }

"""A plan that follows its building: what a change touches is planned anew, and the rest stays as it is.

For programs that show a plan while somebody moves a box. What comes out is a whole plan like any other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from barnloom.model.building import Building, Circuit
from barnloom.model.errors import SceneError
from barnloom.model.limits import Limits
from barnloom.routing.carry import Carrier
from barnloom.routing.feeds import chosen_trees
from barnloom.routing.finish import sound, whole
from barnloom.routing.improve import tree_anew
from barnloom.routing.job import Job, job_of
from barnloom.routing.layout import Layout, Leg
from barnloom.routing.plan import Plan
from barnloom.routing.search import Step
from barnloom.routing.settle import Settled, left_out, legs_of, settled, wires_of
from barnloom.routing.sharing import again, route
from barnloom.routing.trees import Pair
from barnloom.routing.wiring.circuit_rules import rule_faults
from barnloom.routing.wiring.growth import grown_sizes
from barnloom.routing.wiring.kinds import Sizes
from barnloom.routing.wiring.sizing import Rating, ratings


@dataclass(frozen=True, eq=False, slots=True)
class _State:
    """A plan, and what it was made of."""

    job: Job
    rated: Mapping[str, Rating]
    sizes: Sizes
    best: Settled
    plan: Plan


class Draft:
    """A plan in memory. ``plan`` is the plan of ``building`` as it is now; both change with ``change`` alone."""

    def __init__(self, building: Building) -> None:
        """Plan a building with little effort.

        Raises
        ------
        SceneError
            If something electrical cannot be.
        """
        self._state = _from_scratch(building, None)

    @property
    def building(self) -> Building:
        """The building as it is now."""
        return self._state.plan.building

    @property
    def plan(self) -> Plan:
        """Its plan."""
        return self._state.plan

    def change(self, building: Building) -> Plan:
        """
        Plan the building as it is to be: a box moved, added or taken out, a member barred, a hole moved, or anything.

        Cables that still can lie as they lay do so, and are looked at again only where something changed. Holes keep
        their ids. Where that leads to no sound plan, all of it is planned anew.

        Raises
        ------
        SceneError
            If something electrical cannot be; the draft is then as it was.
        """
        found = _followed(self._state, building)
        self._state = found if found is not None else _from_scratch(building, self._state.plan)
        return self._state.plan


def _rated(building: Building) -> dict[str, Rating]:
    limits = Limits(building.limits)
    rated, faults = ratings(building, limits)
    faults = (*faults, *rule_faults(building, limits, rated))
    if faults:
        raise SceneError(faults)
    return dict(rated)


def _from_scratch(building: Building, earlier: Plan | None) -> _State:
    rated: Mapping[str, Rating] = _rated(building)
    sizes = Sizes(circuits={name: rating.awg for name, rating in rated.items()})
    job = job_of(building, lambda _: None, earlier)
    while True:
        best = settled(job, chosen_trees(job.network, sizes, job.rooms), sizes)
        plan, half = whole(job, best, rated, sizes)
        grown = grown_sizes(plan, half, rated, sizes)
        if grown is None:
            return _State(job, rated, sizes, best, plan)
        rated, sizes = grown


def _followed(state: _State, building: Building) -> _State | None:
    """The state after a change of the building; None if it takes more than what is near the change."""
    rated = _rated(building)
    fresh = {name: rating.awg for name, rating in rated.items()}
    known = state.sizes
    if any(name in known.circuits and known.circuits[name] != awg for name, awg in fresh.items()) or known.cables:
        return None  # conductors that were made larger may want to be so again, or not
    sizes = Sizes(circuits=fresh)
    job = job_of(building, lambda _: None, state.plan, like=state.job)
    old, orders = state.best.layout, state.best.orders
    layout = Layout(job.network, job.rooms, tired=old.tired)
    feeds = {circuit.id: _begun(circuit, layout, old) for circuit in building.circuits}
    try:
        legs = legs_of(building, feeds, wires_of(job.building, feeds, sizes, orders))
    except SceneError:
        return None
    carried = _carried(old, layout, legs)
    for leg in legs:
        layout.lay(leg, carried.get(leg.id, []))
    missing = [leg for leg in legs if leg.id not in carried]
    route(layout, [layout.lift(leg.id)[0] for leg in missing])
    touched = {leg.circuit for leg in missing}
    for circuit in building.circuits:
        if circuit.id in touched:
            orders = tree_anew(job, Settled(layout, orders), sizes, circuit) or orders
    own = [name for name, leg in layout.legs.items() if leg.circuit in touched]
    near = {other for name in own if name in layout.paths for other in layout.sharing_holes(name)}
    again(layout, sorted({*own, *near}))
    if layout.lost or left_out(building, layout):
        return None
    best = Settled(layout, orders)
    found = sound(job, best, rated, sizes)
    return None if found is None else _State(job, rated, sizes, best, found[0])


def _begun(circuit: Circuit, layout: Layout, old: Layout) -> tuple[Pair, ...]:
    """The old tree of a circuit without boxes that are gone, and with new ones fed from the nearest that is there."""
    there = {circuit.panel, *circuit.boxes}
    feeder = {fed: by for by, fed in old.feeds(circuit.id, circuit.panel)}
    for fed in [fed for fed in feeder if fed not in there]:
        by = feeder.pop(fed)
        feeder = {one: by if feeds == fed else feeds for one, feeds in feeder.items()}
    feeder = {fed: by for fed, by in feeder.items() if by in there}
    hanging = {circuit.panel, *feeder}
    for fed in (box for box in circuit.boxes if box not in feeder):
        at = np.array(layout.boxes[fed].at)
        feeder[fed] = min(sorted(hanging), key=lambda one: float(np.linalg.norm(np.array(layout.boxes[one].at) - at)))
        hanging.add(fed)
    found: list[Pair] = []
    waiting = [circuit.panel]
    for by in waiting:
        fed_by = sorted(fed for fed, one in feeder.items() if one == by)
        found += [(by, fed) for fed in fed_by]
        waiting += fed_by
    return tuple(found)


def _carried(old: Layout, layout: Layout, legs: Sequence[Leg]) -> dict[str, list[Step]]:
    """Ways of legs that are as they were and whose ways are still there, by id."""
    carrier = Carrier(old.tracks, layout.network)
    found: dict[str, list[Step]] = {}
    for leg in legs:
        same = old.legs.get(leg.id)
        ends = (leg.from_box, leg.to_box)
        if same != leg or leg.id not in old.paths or any(old.boxes.get(end) != layout.boxes[end] for end in ends):
            continue
        steps = carrier.way(old.paths[leg.id])
        if steps and np.isfinite(layout.worth(leg, steps)):
            found[leg.id] = steps
    return found

"""A plan that follows its building: what a change touches is planned anew, and the rest stays as it is.

For programs that show a plan while somebody moves a box. What comes out is a whole plan like any other.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from barnloom.model.building import Building, Circuit
from barnloom.model.errors import SceneError
from barnloom.routing.carry import Carrier
from barnloom.routing.finish import sound
from barnloom.routing.first import State, first_state, rated_circuits, sizes_of
from barnloom.routing.improve import tree_anew
from barnloom.routing.job import job_of
from barnloom.routing.layout import Layout, Leg
from barnloom.routing.plan import Plan
from barnloom.routing.search import Step
from barnloom.routing.settle import Settled, left_out, legs_of, wires_of
from barnloom.routing.sharing import again, route
from barnloom.routing.trees import Pair, turned


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


def _from_scratch(building: Building, earlier: Plan | None) -> State:
    rated = rated_circuits(building)
    return first_state(job_of(building, lambda _: None, earlier), rated)


def _followed(state: State, building: Building) -> State | None:
    """The state after a change of the building; None if it takes more than what is near the change."""
    rated = rated_circuits(building)
    sizes, known = sizes_of(rated), state.sizes
    if any(known.circuits.get(name, awg) != awg for name, awg in sizes.circuits.items()) or known.cables:
        return None  # conductors that were made larger may want to be so again, or not
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
    return None if found is None else State(job, rated, sizes, best, *found)


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
    return tuple(turned(circuit.panel, [(by, fed) for fed, by in feeder.items()]))


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

"""The order of work: which cable is pulled first, and what belongs to which phase."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace

from barnloom.routing.plan import Cable, Plan
from barnloom.routing.store import natural_key


def pull_order(plan: Plan) -> tuple[Cable, ...]:
    """
    Cables in the order in which they are pulled, without those that are pulled already.

    Phase by phase: home runs, the longest first, then the largest, then the one through most holes; cables with
    travelers; from device to device, as they are fed. (Common practice, no source.)
    """
    panels = {box.id for box in plan.building.boxes if box.kind == "panel"}
    types = {kind.id: kind for kind in plan.building.cable_types}
    feeds = {(cable.circuit, cable.to_box): cable for cable in plan.cables}
    when = cable_phases(plan)

    def order(cable: Cable) -> tuple[object, ...]:
        kind = types.get(cable.type)
        size = kind.awg or 99 if kind else 99
        phase = when[cable.id]
        if cable.from_box in panels:
            return (phase, 0, -round(cable.cut_in, 6), size, -len(cable.bores), natural_key(cable.id))
        if any(conductor.net.startswith("traveler") for conductor in cable.conductors):
            return (phase, 1, -round(cable.cut_in, 6), size, -len(cable.bores), natural_key(cable.id))
        return (phase, 2, natural_key(cable.circuit), steps_from_panel(feeds, cable), natural_key(cable.id))

    return tuple(sorted((cable for cable in plan.cables if not cable.done), key=order))


def steps_from_panel(feeds: Mapping[tuple[str, str], Cable], cable: Cable) -> int:
    """Count the cables of its circuit through which a cable is fed; 0 for a home run."""
    seen: set[str] = set()
    while cable.id not in seen and (cable.circuit, cable.from_box) in feeds:
        seen.add(cable.id)
        cable = feeds[cable.circuit, cable.from_box]
    return len(seen)


def cable_phases(plan: Plan) -> dict[str, int]:
    """By cable, the phase in which it is pulled: the latest of its circuits' and of the boxes at its ends."""
    circuits = {circuit.id: circuit.phase for circuit in plan.building.circuits}
    boxes = {box.id: box.phase for box in plan.building.boxes}
    return {
        cable.id: max(
            boxes.get(cable.from_box, 1),
            boxes.get(cable.to_box, 1),
            *(circuits.get(circuit, 1) for circuit in cable.circuit.split()),
        )
        for cable in plan.cables
    }


def box_phases(plan: Plan) -> dict[str, int]:
    """
    By box, the phase in which it is bought, put up and made up: its own, and not before the first cable that feeds it.

    So nothing is left half-connected: what comes in a later phase is joined later, and none of it is there before.
    """
    when, fed = cable_phases(plan), defaultdict(list)
    for cable in plan.cables:
        fed[cable.to_box].append(when[cable.id])
    return {box.id: max(box.phase, min(fed[box.id], default=1)) for box in plan.building.boxes}


def phases(plan: Plan) -> tuple[int, ...]:
    """Phases that have cables, in order."""
    return tuple(sorted(set(cable_phases(plan).values())))


def only_phase(plan: Plan, phase: int) -> Plan:
    """
    Return the plan with one phase's cables, boxes and circuits alone, and the holes that are bored for them then.

    A hole is bored in the first phase whose cable passes it; later ones find it there.
    """
    when = cable_phases(plan)
    bores = []
    for bore in plan.bores:
        passing = [when[name] for name in bore.cables if name in when]
        if phase in passing:
            bores.append(replace(bore, existing=bore.existing or min(passing) < phase))
    built = box_phases(plan)
    boxes = tuple(box for box in plan.building.boxes if built[box.id] == phase)
    kept = {box.id for box in boxes}
    circuits = {circuit.id: circuit.phase for circuit in plan.building.circuits}
    return replace(
        plan,
        building=replace(
            plan.building, boxes=boxes, devices=tuple(device for device in plan.building.devices if device.box in kept)
        ),
        cables=tuple(cable for cable in plan.cables if when[cable.id] == phase),
        bores=tuple(bores),
        makeups=tuple(makeup for makeup in plan.makeups if makeup.box in kept),
        circuits=tuple(sheet for sheet in plan.circuits if circuits.get(sheet.circuit, 1) == phase),
    )


def later_tails(plan: Plan) -> tuple[Cable, ...]:
    """Cables of a later phase than the box that feeds them: there the joints are made without them until then."""
    built, when = box_phases(plan), cable_phases(plan)
    return tuple(cable for cable in plan.cables if not cable.done and when[cable.id] > built.get(cable.from_box, 1))

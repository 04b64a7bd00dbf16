"""Larger conductors where a routed plan asks for them: warm bundles, and voltage lost over long runs.

What is made larger changes holes, boxes and terminals, so the whole is planned again. Sizes only grow, so that ends.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from barnloom.model.building import Building, Circuit
from barnloom.model.electrical.conductors import CABLE_SIZES, short_enough
from barnloom.model.errors import SceneError
from barnloom.model.limits import Limits, at_most
from barnloom.routing.plan import Cable, Plan, Resized
from barnloom.routing.wiring.assembly import Assembled
from barnloom.routing.wiring.bundles import Together, bundle_counts, sealed_counts
from barnloom.routing.wiring.flows import flows_of
from barnloom.routing.wiring.kinds import Sizes
from barnloom.routing.wiring.nets import CircuitNets
from barnloom.routing.wiring.sizing import Rating, ratings

Grown = tuple[dict[str, Rating], Sizes]


def grown_sizes(plan: Plan, found: Assembled, rated: Mapping[str, Rating], sizes: Sizes) -> Grown | None:
    """Ratings and sizes that a routed plan asks for, or None if those it has will do.

    Raises
    ------
    SceneError
        If a pinned size would have to grow for its ampacity, or no cable is large enough.
    """
    building, limits = plan.building, Limits(plan.building.limits)
    if not building.devices:
        return None
    factors = {name: together.factor for name, together in warmest(plan, found).items()}
    again, faults = ratings(building, limits, factors)
    if faults:
        raise SceneError(faults)
    thicker = {name: min(rating.awg, rated[name].awg) for name, rating in again.items()}
    new = {name: replace(rating, awg=thicker[name]) for name, rating in again.items()}
    circuits = {name: min(awg, sizes.circuits[name]) for name, awg in thicker.items()}
    cables = {name: min(awg, circuits[name.partition(".")[0]]) for name, awg in sizes.cables.items()}
    grown = Sizes(circuits=circuits, cables=cables)
    if grown == sizes:
        grown = Sizes(circuits=circuits, cables=cables | _against_drop(plan, found, sizes))
    return None if grown == sizes else (new, grown)


def warmest(plan: Plan, found: Assembled) -> dict[str, Together]:
    """By circuit, the place that leaves least of its cables' ampacity; circuits without one left out.

    A bundle shorter than 10 ft and than a tenth of the circuit is left out of account (NEC 310.14(A)(2) exception); a
    sealed hole never is (334.80).
    """
    limits = Limits(plan.building.limits)
    feet: dict[str, float] = {}
    for cable in plan.cables:
        feet[cable.circuit] = feet.get(cable.circuit, 0.0) + cable.cut_in
    worst: dict[str, Together] = {}

    def take(cable: Cable, together: Together) -> None:
        before = worst.get(cable.circuit)
        if together.factor < 1 and (before is None or together.factor < before.factor):
            worst[cable.circuit] = together

    bundles = bundle_counts(plan, found.carrying, bundled=plan.building.wiring.bundled)
    sealed = sealed_counts(plan, found.carrying)
    for cable in plan.cables:
        if cable.id in sealed:
            take(cable, sealed[cable.id])
        beside = bundles[cable.id]
        if not short_enough(beside.length_in, feet[cable.circuit], limits):
            take(cable, beside)
    return worst


def _against_drop(plan: Plan, found: Assembled, sizes: Sizes) -> dict[str, int]:
    """Sizes of single cables that keep the voltage lost within what the scene asks; as large as there are if none do.

    Beginning at the panel, where most current flows, as few cables as will do are made larger, size after size.
    """
    building = plan.building
    most = building.wiring.drop_share
    larger: dict[str, int] = {}
    if not most:
        return larger
    for circuit in building.circuits:
        own = {cable.to_box: cable for cable in plan.cables if cable.circuit == circuit.id}
        if own and not (circuit.awg or circuit.cable):
            larger |= _for_circuit(building, circuit, own, found.nets[circuit.id], sizes, most)
    return larger


def _for_circuit(
    building: Building, circuit: Circuit, own: Mapping[str, Cable], nets: CircuitNets, sizes: Sizes, most: float
) -> dict[str, int]:
    devices = [device for device in building.devices if device.circuit == circuit.id]
    sold = {(kind.family, kind.awg) for kind in building.cable_types}
    offered = [awg for awg in CABLE_SIZES if (building.wiring.family, awg) in sold]
    awg = {box: sizes.of(circuit.id, cable.id) for box, cable in own.items()}
    steps = _from_panel(circuit.panel, own)
    while True:
        flows = flows_of(circuit, devices, nets, own, awg)
        if at_most(max(flows.drop.values(), default=0.0), most):
            break
        thinnest = max(awg.values())
        larger = [size for size in offered if size < thinnest]
        grow = [box for box in steps if awg[box] == thinnest and flows.current_a[box] > 0]
        if not larger or not grow:
            break
        awg[grow[0]] = max(larger)
    return {own[box].id: size for box, size in awg.items() if size != sizes.circuits[circuit.id]}


def _from_panel(panel: str, own: Mapping[str, Cable]) -> list[str]:
    """Far boxes of cables in the order in which the current passes them."""
    found: list[str] = []
    there = {panel}
    waiting = list(own.values())
    while ready := [cable for cable in waiting if cable.from_box in there]:
        found += [cable.to_box for cable in ready]
        there |= {cable.to_box for cable in ready}
        waiting = [cable for cable in waiting if cable not in ready]
    return found


def resized(plan: Plan, found: Assembled, usual: Mapping[str, Rating], sizes: Sizes) -> tuple[Resized, ...]:
    """What was made larger than circuits would usually have, and why.

    Parameters
    ----------
    usual : mapping of circuit to the rating that its load alone asks for
    """
    warm, told = warmest(plan, found), []
    for name, awg in sizes.circuits.items():
        if awg < usual[name].awg:
            why = warm[name].where if name in warm else "what lies beside it"
            words = f"conductors that warm each other: {why} (NEC 310.15(C)(1), 334.80)"
            told.append(Resized(subject=name, before=f"{usual[name].awg} AWG", after=f"{awg} AWG", because=words))
    share = plan.building.wiring.drop_share
    for name, awg in sorted(sizes.cables.items()):
        before = sizes.circuits[name.partition(".")[0]]
        if awg < before:
            words = f"the scene asks for no more than {100 * share:g} % of voltage drop"
            told.append(Resized(subject=name, before=f"{before} AWG", after=f"{awg} AWG", because=words))
    return tuple(told)

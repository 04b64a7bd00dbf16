"""Larger conductors where a routed plan asks for them: warm bundles, and voltage lost over long runs.

What is made larger changes holes, boxes and terminals, so the whole is planned again. Sizes only grow, so that ends.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from barnloom.model.building import Building, Circuit
from barnloom.model.electrical.conductors import CABLE_SIZES, ground_keeps_up, short_enough
from barnloom.model.errors import Fault, SceneError
from barnloom.model.limits import Limits, at_most
from barnloom.routing.plan import Cable, Plan, Resized
from barnloom.routing.wiring.assembly import Assembled
from barnloom.routing.wiring.bundles import Together, bundle_counts, sealed_counts
from barnloom.routing.wiring.flows import feeds_of, flows_of
from barnloom.routing.wiring.kinds import Sizes, Store
from barnloom.routing.wiring.nets import CircuitNets, least_conductors
from barnloom.routing.wiring.sizing import Rating, ratings

Grown = tuple[dict[str, Rating], Sizes]
NO_LARGER = "in larger cable the ground would be too small (NEC 250.122(B)), or there is none"


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
    warm = warmest(plan, found)
    again, faults = ratings(building, limits, {name: together.factor for name, together in warm.items()})
    if faults:
        raise SceneError(tuple(_with_place(fault, warm) for fault in faults))
    thicker = {name: min(rating.awg, rated[name].awg) for name, rating in again.items()}
    new = {name: replace(rating, awg=thicker[name]) for name, rating in again.items()}
    circuits = {name: min(awg, sizes.circuits[name]) for name, awg in thicker.items()}
    cables = {name: min(awg, circuits[name.partition(".")[0]]) for name, awg in sizes.cables.items()}
    grown = Sizes(circuits=circuits, cables=cables)
    if grown == sizes:
        grown = Sizes(circuits=circuits, cables=cables | _against_drop(plan, found, again, sizes))
    return None if grown == sizes else (new, grown)


def _with_place(fault: Fault, warm: Mapping[str, Together]) -> Fault:
    """A fault of a circuit, with where its cables are warm."""
    name = str(fault.where[1]).partition(".")[0]
    return replace(fault, found=f"{fault.found} ({warm[name].where})") if name in warm else fault


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


def _against_drop(plan: Plan, found: Assembled, rated: Mapping[str, Rating], sizes: Sizes) -> dict[str, int]:
    """Sizes of single cables that keep the voltage lost within what the scene asks; as large as there are if none do.

    Beginning at the panel, where most current flows, as few cables as will do are made larger, size after size: no
    pinned one, and none beyond what its ground allows (NEC 250.122(B)).
    """
    building = plan.building
    larger: dict[str, int] = {}
    if not building.wiring.drop_share:
        return larger
    store = Store(building)
    for circuit in building.circuits:
        cables = [cable for cable in plan.cables if cable.circuit == circuit.id]
        own = {cable.to_box: cable for cable in reversed(cables)}  # of two side by side the first
        if own:
            nets, breaker = found.nets[circuit.id], rated[circuit.id].breaker_a
            offered = {box: _offered(store, circuit, box, nets, breaker, sizes) for box in own}
            larger |= _for_circuit(building, circuit, cables, own, nets, offered)
    return larger


def _offered(store: Store, circuit: Circuit, box: str, nets: CircuitNets, breaker_a: float, sizes: Sizes) -> list[int]:
    """Sizes that the cable to a box may have against voltage drop, thin to thick; none where the scene pins it."""
    cable, least = f"{circuit.id}.{box}", sizes.circuits[circuit.id]
    if circuit.awg or circuit.cable or cable in store.pins:
        return []
    count = least_conductors(nets.carried[box])
    return [
        awg
        for awg in CABLE_SIZES
        if awg < least
        and ground_keeps_up(least, awg, breaker_a)
        and store.cable(circuit, cable, count, Sizes(circuits={circuit.id: awg})) is not None
    ]


def _for_circuit(
    building: Building,
    circuit: Circuit,
    cables: Sequence[Cable],
    own: Mapping[str, Cable],
    nets: CircuitNets,
    offered: Mapping[str, Sequence[int]],
) -> dict[str, int]:
    devices = [device for device in building.devices if device.circuit == circuit.id]
    sizes = {kind.id: kind.awg for kind in building.cable_types}
    awg = {box: sizes[cable.type] for box, cable in own.items()}
    steps = [fed for _, fed in feeds_of(circuit.panel, cables)]
    grown: dict[str, int] = {}
    while True:
        flows = flows_of(circuit, devices, nets, cables, awg)
        over = [box for box, lost in flows.drop.items() if not at_most(lost, building.wiring.drop_share)]
        ways = {leg for box in over for leg in flows.way[box] if flows.current_a[own[leg].id] > 0}
        larger = {box: [size for size in offered[box] if size < awg[box]] for box in steps if box in ways}
        grow = [box for box, its in larger.items() if its]
        if not grow:
            return {own[box].id: size for box, size in grown.items()}
        box = max(grow, key=lambda box: awg[box])
        awg[box] = grown[box] = max(larger[box])


def resized(plan: Plan, found: Assembled, usual: Mapping[str, Rating], sizes: Sizes) -> tuple[Resized, ...]:
    """What was made larger than circuits would usually have, and why.

    Parameters
    ----------
    usual : mapping of circuit to the rating that its load alone asks for
    """
    building, told = plan.building, []
    grown = {name: awg for name, awg in sizes.circuits.items() if awg < usual[name].awg}
    if grown:
        warm = warmest(plan, found)
        factors = {name: together.factor for name, together in warm.items()}
        asked, _ = ratings(building, Limits(building.limits), factors)
        for name, awg in grown.items():
            # Sizes only grow: routed with the larger cables, it may lie apart from what it first lay beside.
            still = name in warm and asked[name].awg <= awg
            why = warm[name].where if still else "what it lay beside as first routed"
            words = f"conductors that warm each other: {why} (NEC 310.15(C)(1), 334.80)"
            told.append(Resized(subject=name, before=f"{usual[name].awg} AWG", after=f"{awg} AWG", because=words))
    share = building.wiring.drop_share
    lost = {sheet.circuit: sheet.drop_percent for sheet in plan.circuits}
    for cable in sorted(plan.cables, key=lambda cable: cable.id):
        before = sizes.circuits[cable.circuit]
        awg = sizes.of(cable.circuit, cable.id)
        if awg < before:
            words = f"the scene asks for no more than {100 * share:g} % of voltage drop"
            if not at_most(lost[cable.circuit] / 100, share):
                words += f"; {lost[cable.circuit]:.1f} % is left: {NO_LARGER}"
            told.append(Resized(subject=cable.id, before=f"{before} AWG", after=f"{awg} AWG", because=words))
    return tuple(told)

"""Nets and cables of all circuits over given trees; what no cable can carry is a fault."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from barnloom.model.building import Building, CableType, Circuit
from barnloom.model.errors import Fault
from barnloom.model.wiring import DeviceKind, WiringRules
from barnloom.routing.trees import Pair
from barnloom.routing.wiring.flows import Ways
from barnloom.routing.wiring.kinds import Sizes, Store
from barnloom.routing.wiring.nets import CircuitNets, least_conductors, synthesize
from barnloom.routing.wiring.parting import Parts, parted

Feeds = Mapping[str, Sequence[Pair]]
"""By circuit: (feeding box, fed box), panel first."""


@dataclass(frozen=True, slots=True)
class Wired:
    """Nets by circuit, and the cable of every leg by its id (CIRCUIT.BOX)."""

    nets: dict[str, CircuitNets]
    kinds: dict[str, CableType]
    parts: dict[str, Parts]
    """Of legs that are two cables, the nets in each."""


def wired(
    building: Building, feeds: Feeds, sizes: Sizes, orders: Mapping[str, Sequence[str]]
) -> tuple[Wired, tuple[Fault, ...]]:
    """Nets and cables of all circuits, and a fault for each leg that no cable carries."""
    store = Store(building)
    nets: dict[str, CircuitNets] = {}
    kinds: dict[str, CableType] = {}
    parts: dict[str, Parts] = {}
    faults: list[Fault] = []
    for circuit in building.circuits:
        tree = feeds.get(circuit.id, ())
        devices = [device for device in building.devices if device.circuit == circuit.id]
        controls = [control for control in building.controls if control.circuit == circuit.id]
        own = synthesize(circuit, devices, controls, tree, building.wiring, orders=orders)
        nets[circuit.id] = own
        ways = Ways(circuit, own, tree)
        loads = [one for one in devices if one.box in ways.path and one.kind is not DeviceKind.SWITCH]
        for by, fed in tree:
            leg = f"{circuit.id}.{fed}"
            kind = store.cable(circuit, leg, least_conductors(own.carried[fed]), sizes)
            if kind is not None and kind.parts:
                sold = partial(_sold, store, circuit, leg, sizes)
                two = parted(own.carried[fed], (ways.nets_in(fed, load) for load in loads), sold)
                kind = None if two is None else store.pair(*two[1])
                parts |= {} if two is None else {leg: two[0]}
            if kind is None:
                faults.append(_no_cable(circuit, by, fed, own.carried[fed], store, sizes, building.wiring))
            else:
                kinds[leg] = kind
    return Wired(nets, kinds, parts), tuple(faults)


def _sold(store: Store, circuit: Circuit, leg: str, sizes: Sizes, count: int) -> CableType | None:
    return store.single(circuit, leg, count, sizes)


def _no_cable(
    circuit: Circuit, by: str, fed: str, carried: Sequence[str], store: Store, sizes: Sizes, rules: WiringRules
) -> Fault:
    leg = f"{circuit.id}.{fed}"
    count = least_conductors(carried)
    white = (
        " (a neutral has a white one, and a white one does not return from a switch)" if count > len(carried) else ""
    )
    found = f"{count} conductors from {by} to {fed}{white}: {', '.join(carried)}"
    if leg in store.pins:
        pinned = store.pins[leg]
        do = "leave its type out, or pin one with more conductors"
        return Fault(("cables", leg, "type"), found, f"no more than {pinned} has", do)
    controls = [net.split()[1] for net in carried if net.startswith(("traveler", "switched"))]
    where = ("controls", controls[0]) if controls else ("circuits", circuit.id)
    said = store.types.get(circuit.cable)
    family, size = (said.family, said.awg) if said else (store.family, sizes.of(circuit.id, leg))
    single = [kind for kind in store.types.values() if not kind.parts]
    most = max((kind.conductors for kind in single if (kind.family, kind.awg) == (family, size)), default=0)
    expected = f"no more than the {most} of the largest {family or 'such'} cable of {size} AWG"
    ways = ["let another box lie between them (order, fed_from)"]
    if len(set(controls)) > 1:
        ways.insert(0, "put each control on a circuit of its own, or its points into boxes of their own")
    if most < max(kind.conductors for kind in single):
        ways.append("take a family of cable that is made with more conductors")
    if rules.two_cables:
        expected += ", nor do two in place of it (what one load uses, out and back, stays in one sheath)"
    else:
        ways.append("allow two cables in place of one where currents let it be (wiring: two_cables)")
    if rules.switch_neutral and "neutral" in carried and controls:
        ways.append("keep the answer that no neutral is needed at switches")
    return Fault(where, found, expected, "; or ".join(ways))

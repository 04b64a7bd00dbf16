"""The electrical half of a routed plan: conductors, joints, boxes, currents, breakers; and what cannot be."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from barnloom.model.building import Box, Building, CableType, Circuit
from barnloom.model.errors import Fault
from barnloom.model.limits import Limits
from barnloom.model.wiring import Device
from barnloom.routing.plan import Cable, CircuitSheet, Joint, Makeup
from barnloom.routing.wiring.colours import INSULATED, conductors_for
from barnloom.routing.wiring.flows import Flows, flows_of
from barnloom.routing.wiring.joints import joints_of
from barnloom.routing.wiring.nets import CircuitNets, least_conductors
from barnloom.routing.wiring.panel import Want, placed
from barnloom.routing.wiring.protection import protection_of
from barnloom.routing.wiring.room import Inside, Room, Rooms
from barnloom.routing.wiring.sizing import Rating
from barnloom.routing.wiring.wired import Wired

SHOWN = 3
"""Contributions to the fill of an overfull box that are named."""


@dataclass(frozen=True, slots=True)
class Assembled:
    """The electrical half of a plan, what flows where, and what cannot be."""

    cables: tuple[Cable, ...]
    makeups: tuple[Makeup, ...]
    circuits: tuple[CircuitSheet, ...]
    nets: Mapping[str, CircuitNets]
    carrying: dict[str, int]
    """Current-carrying conductors by cable id."""
    faults: tuple[Fault, ...]


def assembled(
    building: Building,
    routed: Sequence[Cable],
    wires: Wired,
    rated: Mapping[str, Rating],
    rooms: Rooms,
) -> Assembled:
    """Work out the electrical half of routed cables.

    Parameters
    ----------
    wires : Wired
        Nets and cables over the feeds of these cables.
    rated : mapping of circuit to breaker and size
    """
    limits, nets = Limits(building.limits), wires.nets
    types = {kind.id: kind for kind in building.cable_types}
    cables = [one for cable in routed for one in _pulled(cable, types, wires)]
    inside: dict[str, list[Inside]] = defaultdict(list)
    for cable in cables:
        kind = types[cable.type]
        for end in (cable.from_box, cable.to_box):
            inside[end].append((cable.circuit, kind.awg, kind.conductors))
    boxes = {box.id: box for box in building.boxes}
    found = {name: rooms.room(boxes[name], its) for name, its in inside.items() if boxes[name].kind == "box"}
    faults = [_overfull(boxes[name], inside[name], rooms) for name, room in found.items() if room is None]
    faults += [*_phases(boxes, routed), *_crowded(boxes, cables)]
    metal = [n for n, room in found.items() if room and room.offer.box and room.offer.box.material == "metal"]
    joints = joints_of(building, cables, nets, metal)
    makeups = [_makeup(name, found.get(name), joints[name]) for name in sorted(joints)]
    flows = _flows(building, cables, nets)
    cables = [
        replace(
            cable,
            current_a=round(flows[cable.circuit].current_a[cable.id], 6),
            drop_percent=round(100 * flows[cable.circuit].drop[cable.to_box], 6),
        )
        for cable in cables
    ]
    sheets, more = _sheets(building, limits, cables, nets, rated, flows)
    carrying = {cable: count for flow in flows.values() for cable, count in flow.carrying.items()}
    return Assembled(tuple(cables), tuple(makeups), tuple(sheets), nets, carrying, (*faults, *more))


def twin(cable: str) -> str:
    """Id of the second of two cables side by side; no box can have one that makes this."""
    return f"{cable}/2"


def _pulled(cable: Cable, types: Mapping[str, CableType], wires: Wired) -> list[Cable]:
    """A routed cable with its conductors; two cables where two stand in for one."""
    kind = types[cable.type]
    if not kind.parts:
        return [_with_conductors(cable, wires.nets[cable.circuit].carried[cable.to_box], kind)]
    nets = wires.parts[cable.id]
    kinds = [types[part] for part in kind.parts]
    if least_conductors(nets[0]) > kinds[0].conductors or least_conductors(nets[1]) > kinds[1].conductors:
        kinds.reverse()
    names = (cable.id, twin(cable.id))
    return [
        _with_conductors(replace(cable, id=name, type=part.id), its, part)
        for name, part, its in zip(names, kinds, nets, strict=True)
    ]


def _with_conductors(cable: Cable, nets: Sequence[str], kind: CableType) -> Cable:
    known = kind.conductors in INSULATED
    return replace(cable, conductors=conductors_for(nets, kind.conductors)) if known else cable


def _motor_note(circuit: Circuit) -> tuple[str, ...]:
    """What an inspector is told of a breaker that is larger than its conductors would have elsewhere."""
    if not circuit.motor_breaker:
        return ()
    return (f"breaker for one protected motor, set by {circuit.because} (NEC 430.52, 240.4(G))",)


def _phases(boxes: Mapping[str, Box], cables: Sequence[Cable]) -> list[Fault]:
    """Boxes that hang on one that is built in a later phase: their cable would end in the air."""
    faults = []
    for cable in cables:
        by, fed = boxes[cable.from_box], boxes[cable.to_box]
        if by.kind != "panel" and by.phase > fed.phase:
            found = f"{fed.id} of phase {fed.phase}, fed from {by.id} of phase {by.phase}"
            do = f"put {by.id} into phase {fed.phase}, {fed.id} into {by.phase}, or feed it from elsewhere (fed_from)"
            faults.append(Fault(("boxes", fed.id, "phase"), found, "a feeder that is built no later", do))
    return faults


def _crowded(boxes: Mapping[str, Box], cables: Sequence[Cable]) -> list[Fault]:
    """Boxes that more cables enter than they may take: two cables in place of one are two."""
    ends = Counter(end for cable in cables for end in (cable.from_box, cable.to_box))
    return [
        Fault(
            ("boxes", name, "cables_max"),
            f"{count} cables in {name}",
            f"at most {boxes[name].cables_max}, its cables_max",
            f"say cables_max: {count} if it is large enough, or feed something from another box (fed_from, order)",
        )
        for name, count in sorted(ends.items())
        if count > boxes[name].cables_max
    ]


def _makeup(box: str, room: Room | None, joints: Sequence[Joint]) -> Makeup:
    offer = room.offer if room is not None else None
    return Makeup(
        box=box,
        box_type=offer.box.id if offer is not None and offer.box is not None else "",
        ring=offer.ring.id if offer is not None and offer.ring is not None else "",
        volume_in3=offer.volume_in3 if offer is not None else 0.0,
        fill=room.fill if room is not None else (),
        joints=tuple(joints),
    )


def _flows(building: Building, cables: Sequence[Cable], nets: Mapping[str, CircuitNets]) -> dict[str, Flows]:
    types = {kind.id: kind for kind in building.cable_types}
    own: dict[str, list[Cable]] = defaultdict(list)
    for cable in cables:
        own[cable.circuit].append(cable)
    devices: dict[str, list[Device]] = defaultdict(list)
    for device in building.devices:
        devices[device.circuit].append(device)
    return {
        circuit.id: flows_of(
            circuit,
            devices[circuit.id],
            nets[circuit.id],
            own[circuit.id],
            {cable.to_box: types[cable.type].awg for cable in own[circuit.id]},
        )
        for circuit in building.circuits
    }


def _sheets(
    building: Building,
    limits: Limits,
    cables: Sequence[Cable],
    nets: Mapping[str, CircuitNets],
    rated: Mapping[str, Rating],
    flows: Mapping[str, Flows],
) -> tuple[list[CircuitSheet], list[Fault]]:
    """The panel schedule, line by line in the order of the scene's circuits."""
    devices: dict[str, list[Device]] = {circuit.id: [] for circuit in building.circuits}
    for device in building.devices:
        devices[device.circuit].append(device)
    faults: list[Fault] = []
    guards = {}
    for circuit in building.circuits:
        guard = protection_of(
            building, limits, circuit, devices[circuit.id], nets[circuit.id], rated[circuit.id].breaker_a
        )
        guards[circuit.id] = guard
        faults += guard.faults
    spaces: dict[str, tuple[tuple[int, ...], str]] = {}
    for breakers in building.breakers:
        wants = [
            Want(
                circuit=circuit.id,
                poles=_poles(circuit, devices[circuit.id]),
                breaker_a=rated[circuit.id].breaker_a,
                protective=guards[circuit.id].breaker != "plain",
                load_a=rated[circuit.id].load_a,
                multiwire=circuit.multiwire,
            )
            for circuit in building.circuits
            if circuit.panel == breakers.panel
        ]
        where, more = placed(breakers, wants)
        spaces |= where
        faults += more
    sheets = []
    sizes = {kind.id: kind.awg for kind in building.cable_types}
    in_circuit: dict[str, list[Cable]] = defaultdict(list)
    for cable in cables:
        in_circuit[cable.circuit].append(cable)
    for circuit in building.circuits:
        on, rating, own = devices[circuit.id], rated[circuit.id], in_circuit[circuit.id]
        poles = _poles(circuit, on)
        sheets.append(
            CircuitSheet(
                circuit=circuit.id,
                panel=circuit.panel,
                volts=240 if any(device.volts == 240 for device in on) and not circuit.multiwire else 120,
                poles=poles,
                breaker_a=rating.breaker_a,
                breaker=guards[circuit.id].breaker,
                awg=max((sizes[cable.type] for cable in own if sizes[cable.type]), default=rating.awg),
                load_va=round(sum(device.load_va for device in on), 6),
                load_a=round(rating.load_a, 6),
                longest_ft=round(max(_feet_from(circuit.panel, own).values(), default=0.0), 6),
                drop_percent=round(100 * max(flows[circuit.id].drop.values(), default=0.0), 6),
                spaces=spaces.get(circuit.id, ((), ""))[0],
                legs=spaces.get(circuit.id, ((), ""))[1],
                notes=(*_motor_note(circuit), *guards[circuit.id].notes),
            )
        )
    return sheets, faults


def _poles(circuit: Circuit, devices: Sequence[Device]) -> int:
    return 2 if circuit.multiwire or any(device.volts == 240 for device in devices) else 1


def _feet_from(panel: str, cables: Sequence[Cable]) -> dict[str, float]:
    """Feet of cable, cut, from the panel to each box."""
    found = {panel: 0.0}
    waiting = list(cables)
    while ready := [cable for cable in waiting if cable.from_box in found]:
        for cable in ready:
            found[cable.to_box] = found[cable.from_box] + cable.cut_in / 12
        waiting = [cable for cable in waiting if cable not in ready]
    return found


def _overfull(box: Box, inside: Sequence[Inside], rooms: Rooms) -> Fault:
    """A box that nothing holds: how much is wanted, the most that there is, and ways out."""
    known = [one for one in inside if one[1]]
    largest = max(rooms.offers[box.id], key=lambda offer: offer.volume_in3, default=None)
    lines = rooms.fill(box.id, known, largest)
    wanted = sum(line.total_in3 for line in lines)
    most = sorted(lines, key=lambda line: -line.total_in3)[:SHOWN]
    said = ", ".join(f"{line.what} {line.total_in3:g}" for line in most)
    found = f"{wanted:g} in3 of conductors and devices in {box.id} ({said})"
    expected = (
        f"at most the {largest.volume_in3:g} in3 of the largest that may stand there (NEC 314.16)"
        if largest
        else f"a box for {sum(d.yokes for d in rooms.devices.get(box.id, ()))} yokes"
    )
    key = "box" if box.box_type else "volume" if box.volume_in3 else "device"
    pinned = ", ".join(name for name, said in (("box", box.box_type), ("volume", box.volume_in3)) if said)
    larger = f"leave {pinned} out" if pinned else "take a larger series (box:)"
    do = f"{larger}, feed fewer cables from it (fed_from, cables_max), or split it in two"
    return Fault(("boxes", box.id, key), found, expected, do)

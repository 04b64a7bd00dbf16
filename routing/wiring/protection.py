"""Ground-fault and arc-fault protection of a circuit: by its devices where they cover it, else by its breaker.

NEC 210.8: receptacles of 125 to 250 V in garages, accessory buildings and outdoors (expertce.com/courses/
electricians-guide-for-nec-2023/lessons/what-are-the-2023-nec-gfci-requirements-for-non-dwelling-locations); lights stay
off it. 210.12: arc-fault protection where people live, 120 V on 15 and 20 A (serveacademy.it/courses/
2023-nec-changes-michigan/lectures/48886415).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from barnloom.model.building import Building, Circuit
from barnloom.model.errors import Fault
from barnloom.model.limits import Limits, at_most
from barnloom.model.wiring import Device, DeviceKind
from barnloom.routing.wiring.nets import CircuitNets

RECEPTACLES = frozenset({DeviceKind.RECEPTACLE, DeviceKind.OPENER})
FIXED = frozenset({DeviceKind.MACHINE, DeviceKind.HEATER})


@dataclass(frozen=True, slots=True)
class Protection:
    """What a circuit's breaker does besides tripping on its amperes, why, and what cannot be."""

    breaker: str
    """"plain", "ground-fault", "arc-fault" or "dual-function"."""
    notes: tuple[str, ...]
    faults: tuple[Fault, ...]


def protection_of(
    building: Building, limits: Limits, circuit: Circuit, devices: Sequence[Device], nets: CircuitNets, breaker_a: float
) -> Protection:
    """Protection of one circuit."""
    rules = building.wiring
    behind = {t.device for net in nets.nets.values() if net.name.startswith("protected") for t in net.terminals}
    rated = at_most(breaker_a, limits["ground_fault.receptacle_a"])
    open_ones = [
        device
        for device in devices
        if rated and device.kind in RECEPTACLES and not device.ground_fault and device.id not in behind
    ]
    fixed = [device for device in devices if device.kind in FIXED] if rules.hardwired_ground_fault else []
    notes: list[str] = []
    faults: list[Fault] = []
    names = ", ".join(device.id for device in (*open_ones, *fixed))
    ground = False
    if circuit.ground_fault == "breaker":
        ground, notes = True, ["ground-fault breaker, as the scene says"]
    elif circuit.ground_fault == "none" and (open_ones or fixed):
        whose = circuit.because or "the scene"
        notes.append(f"no ground-fault protection for {names}, on the word of {whose} (NEC 210.8): ask the inspector")
    elif circuit.ground_fault == "device" and open_ones:
        found = f"{', '.join(device.id for device in open_ones)}, which no ground-fault device feeds"
        do = "put the protected outlet first (order, fed_from), or say ground_fault: breaker"
        expected = "every receptacle behind one (NEC 210.8)"
        faults.append(Fault(("circuits", circuit.id, "ground_fault"), found, expected, do))
    elif circuit.ground_fault != "none" and (open_ones or fixed):
        ground = True
        notes.append(f"ground-fault breaker, for {names} (NEC 210.8)")
    lights = [device.id for device in devices if device.kind in (DeviceKind.LIGHT, DeviceKind.ALARM)]
    if ground and lights:
        dark = "goes" if len(lights) == 1 else "go"
        notes.append(f"{', '.join(lights)} {dark} dead when it trips: better on a circuit of their own")
    outlets = any(device.kind is not DeviceKind.SWITCH and device.volts == 120 for device in devices)
    arc = rules.dwelling and outlets and at_most(breaker_a, limits["arc_fault.breaker_a"])
    if arc:
        notes.append("arc-fault protection: people live or sleep here (NEC 210.12)")
    word = {(False, False): "plain", (True, False): "ground-fault", (False, True): "arc-fault"}
    return Protection(word.get((ground, arc), "dual-function"), tuple(notes), tuple(faults))

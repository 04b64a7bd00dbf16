"""Breaker and conductor size of every circuit, from what is on it; what no breaker or conductor carries is a fault."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from barnloom.model.building import Building, Circuit
from barnloom.model.electrical.conductors import CABLE_SIZES, least_awg
from barnloom.model.electrical.loads import breaker_for, lasting_a, motor_breaker_most, sizing_a
from barnloom.model.electrical.tables import small_conductor_cap
from barnloom.model.errors import Fault
from barnloom.model.limits import Limits, at_most
from barnloom.model.wiring import Breakers, Device, DeviceKind

USUAL_A = {DeviceKind.RECEPTACLE: 20.0, DeviceKind.OPENER: 20.0}
"""Least breaker of a circuit with such devices on 120 V, where nothing is pinned (common practice, no source)."""
NOTHING_A = 20.0
"""Breaker of a circuit whose boxes say nothing of what they do."""
APART = "keep its cables apart from others (bundled: no, if the inspector reads it so)"
Where = tuple[str, ...]
PLUGGED = frozenset({DeviceKind.RECEPTACLE, DeviceKind.OPENER})


@dataclass(frozen=True, slots=True, kw_only=True)
class Rating:
    """What a circuit needs: amperes that its breaker is sized for, the breaker, and conductors (AWG)."""

    load_a: float
    breaker_a: float
    awg: int


def ratings(
    building: Building, limits: Limits, factors: Mapping[str, float] | None = None
) -> tuple[dict[str, Rating], tuple[Fault, ...]]:
    """Breaker and conductors of every circuit, and what cannot be.

    Parameters
    ----------
    factors : mapping of circuit to float, optional
        What its conductors' ampacity is multiplied by, for bundles and sealed holes; 1 if left out.

    Returns
    -------
    ratings : dict
        Of all circuits; one that cannot be has what comes nearest.
    faults : tuple of Fault

    Raises
    ------
    TableError
        If no table has one of the motors; the reader of scenes lets none such pass.
    """
    on: dict[str, list[Device]] = {circuit.id: [] for circuit in building.circuits}
    for device in building.devices:
        on[device.circuit].append(device)
    panels = {breakers.panel: breakers for breakers in building.breakers}
    found: dict[str, Rating] = {}
    faults: list[Fault] = []
    for circuit in building.circuits:
        devices, panel = on[circuit.id], panels.get(circuit.panel)
        own, legs = _pinned(circuit, building)
        faults += [_unknown(place, awg) for place, awg in (own | legs).items() if awg not in CABLE_SIZES]
        awg = next((size for size in own.values() if size in CABLE_SIZES), 0)
        load = sizing_a(devices, limits)
        offered = _breaker(circuit, devices, load, awg, panel)
        if offered is None or not at_most(load, offered):
            faults.append(_overloaded(circuit, devices, load, offered, panel))
        breaker = offered or load
        motor = next((device for device in devices if device.horsepower), None)
        if circuit.motor_breaker and motor is not None and not at_most(breaker, motor_breaker_most(motor, limits)):
            faults.append(_above_motor(circuit, motor, breaker, motor_breaker_most(motor, limits)))
        several = sum(device.kind in PLUGGED for device in devices) > 1
        factor = (factors or {}).get(circuit.id, 1.0)
        least = least_awg(
            breaker,
            load,
            lasting_a=lasting_a(devices, limits),
            factor=factor,
            one_receptacle_or_fixed=not several,
            motor=circuit.motor_breaker,
        )
        size = awg or least or CABLE_SIZES[-1]
        if least is None and offered:
            faults.append(_no_conductor(circuit, load, breaker, factor))
        elif least is not None and awg > least:
            faults.append(_too_thin(circuit, awg, least, breaker, factor))
        else:
            faults += [
                _thin_leg(place, thin, size, breaker) for place, thin in legs.items() if CABLE_SIZES[0] >= thin > size
            ]
        found[circuit.id] = Rating(load_a=load, breaker_a=breaker, awg=size)
    return found, tuple(faults)


def _above_motor(circuit: Circuit, motor: Device, breaker: float, most: float) -> Fault:
    """A breaker that is pinned above what the code allows for its motor."""
    found = f"a {breaker:g} A breaker for {motor.id}"
    expected = f"at most {most:g} A: 250 % of its table current, next size up (NEC 430.52)"
    return Fault(_place(circuit, "breaker"), found, expected, f"say breaker: {most:g}, or less")


def _pinned(circuit: Circuit, building: Building) -> tuple[dict[Where, int], dict[Where, int]]:
    """Sizes that the scene pins, by place: the circuit's own, and those of its single legs."""
    sizes = {kind.id: kind.awg for kind in building.cable_types if kind.awg}
    own = {_place(circuit, "awg"): circuit.awg, _place(circuit, "cable"): sizes.get(circuit.cable, 0)}
    ids = {f"{circuit.id}.{box}" for box in circuit.boxes}
    legs = {("cables", r.cable, "type"): sizes.get(r.type, 0) for r in building.cable_rules if r.cable in ids}
    return {place: awg for place, awg in own.items() if awg}, {place: awg for place, awg in legs.items() if awg}


def _breaker(
    circuit: Circuit, devices: Sequence[Device], load: float, awg: int, panel: Breakers | None
) -> float | None:
    """The breaker as pinned; else the least that carries the load and suits what is on the circuit."""
    if circuit.breaker_a:
        return circuit.breaker_a
    cap = small_conductor_cap(awg) if awg else None
    if not devices:
        return cap or NOTHING_A
    usual = max((USUAL_A.get(device.kind, 0.0) for device in devices if device.volts == 120), default=0.0)
    rated = max((d.rating_a for d in devices if d.kind in PLUGGED and d.volts == 240), default=0.0)
    wanted = max(load, usual if cap is None or at_most(usual, cap) else cap, rated)
    sizes = panel.sizes_a if panel is not None else Breakers(panel="").sizes_a
    return breaker_for(wanted, sizes)


def _overloaded(
    circuit: Circuit, devices: Sequence[Device], load: float, breaker: float | None, panel: Breakers | None
) -> Fault:
    largest = max(devices, key=lambda device: (device.load_va / device.volts, device.id))
    if breaker is None:
        sizes = ", ".join(f"{size:g}" for size in (panel.sizes_a if panel else ()))
        found = f"{load:.1f} A on {circuit.id} (the largest: {largest.id}), which no offered breaker carries"
        do = f"the panel's label lists {sizes} A: add one that is listed (panel: sizes), or put less on this circuit"
        return Fault(_place(circuit, ""), found, "a breaker of at least that (NEC 210.20(A), 430.52)", do)
    found = f"a {breaker:g} A breaker for {load:.1f} A (continuous loads and heaters at 125 %)"
    do = "leave breaker out, so that it follows the load, or move some of it to another circuit"
    return Fault(_place(circuit, "breaker"), found, "one that carries the load (NEC 210.20(A), 424.4)", do)


def _no_conductor(circuit: Circuit, load: float, breaker: float, factor: float) -> Fault:
    found = f"{load:.1f} A on {circuit.id} behind {breaker:g} A{_warm(factor)}"
    do = "put fewer things on it, or run it in larger conductors than this tool knows (an electrician's work)"
    if factor < 1:
        do = f"{APART}, or put fewer things on it"
    expected = f"a load that conductors up to {CABLE_SIZES[-1]} AWG carry (NEC 310.16, 240.4, 310.15(C))"
    return Fault(_place(circuit, "breaker" if circuit.breaker_a else ""), found, expected, do)


def _too_thin(circuit: Circuit, awg: int, least: int, breaker: float, factor: float) -> Fault:
    key = "awg" if circuit.awg else "cable"
    found = f"{awg} AWG on {circuit.id} behind {breaker:g} A{_warm(factor)}"
    do = f"write {least} AWG, or leave {key} out; or a smaller breaker and less on the circuit"
    if factor < 1:
        do = f"{do}; or {APART}"
    return Fault(_place(circuit, key), found, f"{least} AWG or larger (NEC 240.4(D), 310.16, 310.15(C))", do)


def _warm(factor: float) -> str:
    return f", in cables that keep {factor:.0%} of their ampacity" if factor < 1 else ""


def _thin_leg(place: Where, awg: int, size: int, breaker: float) -> Fault:
    found = f"{awg} AWG in {place[1]} behind {breaker:g} A"
    cap = small_conductor_cap(awg)
    less = f", or say breaker: {cap:g} on the circuit" if cap is not None and not at_most(breaker, cap) else ""
    do = f"leave type out, or take a cable of {size} AWG{less}"
    return Fault(place, found, f"{size} AWG or larger, as on all of the circuit (NEC 240.4(D), 310.16)", do)


def _unknown(place: Where, awg: int) -> Fault:
    expected = f"{CABLE_SIZES[0]} to {CABLE_SIZES[-1]} AWG, the sizes of cable that this tool plans circuits in"
    return Fault(place, f"{awg} AWG", expected, "take one of them; anything else is an electrician's work")


def _place(circuit: Circuit, key: str) -> Where:
    """Where the scene says it; of a circuit that the tool made, at the first box that is to be on one."""
    if circuit.planned and circuit.boxes:
        return ("boxes", circuit.boxes[0], "circuit")
    return ("circuits", circuit.id, key) if key else ("circuits", circuit.id)

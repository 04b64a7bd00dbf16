"""What may be together on one circuit, and what its receptacles and switches carry: faults with ways out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from barnloom.model.building import Building, Circuit
from barnloom.model.electrical.loads import running_a
from barnloom.model.electrical.tables import receptacle_ratings, standard_breakers
from barnloom.model.errors import Fault
from barnloom.model.limits import Limits, at_most
from barnloom.model.wiring import Device, DeviceKind
from barnloom.routing.wiring.sizing import PLUGGED, Rating

FIXED = frozenset({DeviceKind.MACHINE, DeviceKind.HEATER})


def rule_faults(building: Building, limits: Limits, rated: Mapping[str, Rating]) -> tuple[Fault, ...]:
    """Return what the code does not allow on circuits as they are rated.

    Parameters
    ----------
    rated : mapping of circuit to Rating
    """
    found: list[Fault] = []
    for circuit in building.circuits:
        devices = [device for device in building.devices if device.circuit == circuit.id]
        breaker = rated[circuit.id].breaker_a
        found += _voltages(circuit, devices)
        found += _receptacles(circuit, devices, breaker, limits)
        found += _shared(circuit, devices, breaker, limits)
        found += _lights(circuit, devices, breaker, limits)
        found += _heaters(circuit, devices, breaker, limits)
    found += _switches(building)
    return tuple(found)


def _voltages(circuit: Circuit, devices: Sequence[Device]) -> Iterator[Fault]:
    """Two voltages make a multiwire circuit of one, and that is only where it is asked for (210.4)."""
    high = [device.id for device in devices if device.volts == 240]
    low = [device.id for device in devices if device.volts == 120 and device.kind is not DeviceKind.SWITCH]
    if high and low and not circuit.multiwire:
        found = f"{', '.join(high)} on 240 V and {', '.join(low)} on 120 V, both on {circuit.id}"
        do = "put them on two circuits, or say multiwire: yes if that is what is wanted"
        yield Fault(("boxes", _box(devices, high[0]), "circuit"), found, "one voltage on a circuit (NEC 210.4)", do)


def _receptacles(circuit: Circuit, devices: Sequence[Device], breaker: float, limits: Limits) -> Iterator[Fault]:
    """Ratings of receptacles against the breaker (210.21(B)), and what is plugged into one."""
    plugged = [device for device in devices if device.kind in PLUGGED]
    several = len(plugged) > 1 or any(not device.single and device.volts == 120 for device in plugged)
    allowed = receptacle_ratings(breaker)
    if several and not allowed:
        known = [f"{size:g}" for size in standard_breakers() if receptacle_ratings(size)]
        found = f"two receptacles or more on the {breaker:g} A circuit {circuit.id}"
        expected = f"a circuit of {_either(known)} A (NEC Table 210.21(B)(3), 210.23, from memory)"
        do = "split it in two, or write circuit: plan it"
        yield Fault(("boxes", plugged[0].box, "circuit"), found, expected, do)
        return
    for device in plugged:
        yield from _rated(circuit, device, breaker, allowed if several else ())
        most = limits["receptacle.cord_share"] * device.rating_a
        if len(plugged) > 1 and not device.load_assumed and not at_most(running_a(device), most):
            found = f"{running_a(device):.3g} A in a {device.rating_a:g} A receptacle, with others on {circuit.id}"
            do = "a receptacle of a higher rating, or a circuit of its own"
            expected = f"at most {most:g} A plugged in (NEC 210.21(B)(2), from memory)"
            yield Fault(("boxes", device.box, "device"), found, expected, do)


def _rated(circuit: Circuit, device: Device, breaker: float, allowed: Sequence[float]) -> Iterator[Fault]:
    """The rating of one receptacle: one of those allowed beside others, else no lower than its breaker."""
    where, found = ("boxes", device.box, "device"), f"a {device.rating_a:g} A receptacle"
    if allowed and device.rating_a not in allowed:
        expected = f"{_either([f'{size:g}' for size in allowed])} A (NEC Table 210.21(B)(3), from memory)"
        do = f"say rating: {allowed[-1]:g}, or put less on the circuit, so that its breaker is another"
        yield Fault(where, f"{found} beside others on the {breaker:g} A circuit {circuit.id}", expected, do)
    elif not allowed and not at_most(breaker, device.rating_a):
        expected = "a rating no lower than the circuit's (NEC 210.21(B)(1))"
        do = f"say rating: {breaker:g}, or a smaller breaker"
        yield Fault(where, f"{found}, the only one on the {breaker:g} A circuit {circuit.id}", expected, do)


def _shared(circuit: Circuit, devices: Sequence[Device], breaker: float, limits: Limits) -> Iterator[Fault]:
    """What is wired up directly, beside receptacles or lights: at most half of the breaker (210.23)."""
    fixed = [device for device in devices if device.kind in FIXED]
    others = any(device.kind in PLUGGED or device.kind is DeviceKind.LIGHT for device in devices)
    most = limits["load.fixed_share"] * breaker
    load = sum(running_a(device) for device in fixed)
    if fixed and others and not at_most(load, most):
        found = f"{load:.3g} A wired up directly ({', '.join(device.id for device in fixed)}) beside outlets or lights"
        do = "give it a circuit of its own"
        expected = f"at most {most:g} A, half of {circuit.id}'s breaker (NEC 210.23, from memory)"
        yield Fault(("boxes", fixed[0].box, "circuit"), found, expected, do)


def _lights(circuit: Circuit, devices: Sequence[Device], breaker: float, limits: Limits) -> Iterator[Fault]:
    lights = [device for device in devices if device.kind is DeviceKind.LIGHT]
    if lights and not at_most(breaker, limits["lights.breaker_a"]):
        found = f"lights on a {breaker:g} A circuit"
        do = "put them on a circuit of their own"
        expected = f"at most {limits['lights.breaker_a']:g} A (NEC 210.21(A), 210.23, from memory)"
        yield Fault(("boxes", lights[0].box, "circuit"), found, expected, do)


def _heaters(circuit: Circuit, devices: Sequence[Device], breaker: float, limits: Limits) -> Iterator[Fault]:
    heaters = [device for device in devices if device.kind is DeviceKind.HEATER]
    if len(heaters) > 1 and not at_most(breaker, limits["heater.several_a"]):
        found = f"{', '.join(device.id for device in heaters)} on one {breaker:g} A circuit"
        do = "give each of them a circuit of its own"
        expected = f"at most {limits['heater.several_a']:g} A for several heaters (NEC 424.4(B), from memory)"
        yield Fault(("boxes", heaters[1].box, "circuit"), found, expected, do)


def _switches(building: Building) -> Iterator[Fault]:
    """What a switch carries, of all that its control switches, against its rating (404.14(A))."""
    devices = {device.id: device for device in building.devices}
    for control in building.controls:
        amps = sum(running_a(devices[name]) for name in control.lights if name in devices)
        for name in control.points:
            switch = devices.get(name)
            if switch is not None and not at_most(amps, switch.rating_a):
                found = f"{amps:.3g} A through a {switch.rating_a:g} A switch"
                do = "say a higher rating, or split the control in two"
                expected = "no more than its rating (NEC 404.14(A), from memory)"
                yield Fault(("boxes", switch.box, "device"), found, expected, do)


def _either(words: Sequence[str]) -> str:
    return " or ".join(words) if len(words) < 3 else f"{', '.join(words[:-1])} or {words[-1]}"


def _box(devices: Sequence[Device], name: str) -> str:
    return next(device.box for device in devices if device.id == name)

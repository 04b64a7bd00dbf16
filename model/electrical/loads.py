"""What devices draw, what a breaker must carry for them, and how much of many loads counts at once."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from barnloom.model.electrical.tables import demand_steps, lighting_density, motor_current, next_breaker
from barnloom.model.lengths import TOLERANCE_IN
from barnloom.model.limits import at_most
from barnloom.model.wiring import Device, DeviceKind


def running_a(device: Device) -> float:
    """
    Current (A) in a device's line with it fully on: the table's for a motor (NEC 430.6(A)), else what it draws.

    Raises
    ------
    TableError
        If no table has a motor of that horsepower or voltage.

    Examples
    --------
    >>> running_a(Device(id="H", box="H", kind=DeviceKind.HEATER, circuit="H", volts=240, load_va=4800))
    20.0
    """
    return motor_current(device.horsepower, device.volts) if device.horsepower else device.load_va / device.volts


def sizing_a(devices: Sequence[Device], limits: Mapping[str, float]) -> float:
    """
    What a breaker, and its conductor before any factor, must carry for a circuit (A).

    Continuous loads and heaters count 125 % (NEC 210.20(A), 424.4(B)), the largest motor 125 % and the others 100 %
    (430.24), the rest 100 %. Of a multiwire circuit it is the fuller line; what is on 240 V loads both.

    Parameters
    ----------
    devices : sequence of Device
        All of one circuit.
    limits : mapping of str to float
        ``load.continuous``, ``load.heater`` and ``motor.conductor`` of them count.

    Raises
    ------
    TableError
        If no table has one of the motors.

    Examples
    --------
    >>> from barnloom.model.limits import Limits, load_limits
    >>> heater = Device(id="H", box="H", kind=DeviceKind.HEATER, circuit="H", volts=240, load_va=4000)
    >>> round(sizing_a([heater], Limits(load_limits())), 1)
    20.8
    """
    return _fuller_line(devices, limits, limits["load.continuous"])


def lasting_a(devices: Sequence[Device], limits: Mapping[str, float]) -> float:
    """
    What a circuit's conductor must carry under its factor for bundling and heat (A).

    As ``sizing_a``, but continuous loads count once: their 125 % is asked before the factor only (NEC 210.19(A)(1)).
    Motors (430.22, 430.24) and heaters (424.4(B); own caution, the stricter reading) keep theirs.
    """
    return _fuller_line(devices, limits, 1.0)


def _fuller_line(devices: Sequence[Device], limits: Mapping[str, float], continuous: float) -> float:
    lines = ([each for each in devices if each.volts > 120 or each.leg == leg] for leg in (1, 2))
    return max(_line_a(line, limits, continuous) for line in lines)


def _line_a(devices: Sequence[Device], limits: Mapping[str, float], continuous: float) -> float:
    motors = [running_a(device) for device in devices if _is_motor(device)]
    others = [
        running_a(device)
        * (limits["load.heater"] if device.kind is DeviceKind.HEATER else continuous if device.continuous else 1.0)
        for device in devices
        if not _is_motor(device)
    ]
    return math.fsum((*others, *motors, (limits["motor.conductor"] - 1) * max(motors, default=0.0)))


def _is_motor(device: Device) -> bool:
    """Whether it counts as a motor (430.22): by its horsepower, or as a machine with a starting current."""
    return bool(device.horsepower) or (device.kind is DeviceKind.MACHINE and device.starting_a > 0)


def breaker_for(amps: float, sizes: Sequence[float]) -> float | None:
    """
    Smallest of the breakers (A) that the panel lists which carries a current; None if none does.

    Examples
    --------
    >>> breaker_for(20.8, (15, 20, 25, 30)), breaker_for(20, (15, 20)), breaker_for(31, (15, 30))
    (25, 20, None)
    """
    return min((size for size in sizes if at_most(amps, size)), default=None)


def motor_breaker_most(device: Device, limits: Mapping[str, float]) -> float:
    """Largest breaker (A) for one motor: ``motor.breaker`` x its table current, next size up (NEC 430.52, ex. 1)."""
    return next_breaker(limits["motor.breaker"] * running_a(device))


def demand_va(load_va: float, load: str) -> float:
    """
    How much of a load counts at once (VA), by the code's demand factors (NEC 220.45, 220.47, 220.82).

    Parameters
    ----------
    load_va : float
        What is connected. Not the part of receptacles that runs continuously: it counts 125 %, without demand factor.
    load : str
        "receptacles" (not in dwellings), "warehouse lighting", "dwelling lighting", or "dwelling, optional method".

    Raises
    ------
    TableError
        If there are no demand factors for such a load.

    Examples
    --------
    >>> demand_va(20_160, "receptacles")
    15080.0
    """
    counted, below = 0.0, 0.0
    for most, share in demand_steps(load):
        counted += share * max(0.0, min(load_va, most) - below)
        below = most
    return counted


def lighting_va(area_ft2: float, use: str, edition: int = 2020) -> float:
    """
    General lighting load (VA) of a building by its outside area (NEC 220.12; 2020 on: the 125 % is in it already).

    Garages, open porches and unfinished space are not part of a dwelling's area.

    Raises
    ------
    TableError
        If the edition (2020: and later; 2017: and before) or its table has no such use.

    Examples
    --------
    >>> lighting_va(1500, "dwelling"), lighting_va(1000, "warehouse"), lighting_va(1000, "warehouse", 2017)
    (4500.0, 1200.0, 250.0)
    """
    return area_ft2 * lighting_density(use, edition)


def outlets_on(breaker_a: float, limits: Mapping[str, float], *, volts: int = 120, continuous: bool = False) -> int:
    """
    Most receptacle yokes on a circuit at ``load.receptacle`` VA each (NEC 220.14(I)); no limit of dwellings.

    Examples
    --------
    >>> from barnloom.model.limits import Limits, load_limits
    >>> [outlets_on(20, Limits(load_limits()), continuous=lasting) for lasting in (False, True)]
    [13, 10]
    """
    each = limits["load.receptacle"] * (limits["load.continuous"] if continuous else 1.0)
    return math.floor(breaker_a * volts / each + TOLERANCE_IN)

"""The building's load, line by line, and what it comes to against panel and feeder."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from barnloom.model.building import Assembly, Building, Vec
from barnloom.model.electrical.drop import drop_volts
from barnloom.model.electrical.loads import demand_va, lighting_va, running_a
from barnloom.model.electrical.tables import TableError, resistance
from barnloom.model.lengths import format_length
from barnloom.model.limits import Limits, at_most, cited
from barnloom.model.vectors import moved
from barnloom.model.wiring import Device, DeviceKind

SAME_CORNER_IN = 1.0
"""How far off each other the ends of walls that meet may be measured."""
USE = "workshop"
"""Row of the table of lighting loads that an outbuilding is taken for (own caution)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadLine:
    """One line of the load calculation."""

    what: str
    va: float
    """Connected, or by the code's rule."""
    factor: float
    """How much of it counts: demand, continuous use, the largest motor."""
    demand_va: float
    clause: str


def load_sum(building: Building, limits: Mapping[str, float]) -> tuple[LoadLine, ...]:
    """
    Return the load of the whole building, line by line (VA), by the rules for buildings that are no dwellings.

    Lights as connected, or by the building's area where its walls enclose one and that is more (NEC 220.42(A));
    receptacles of no special load at 180 VA a yoke with their demand factor, which continuous ones do not get
    (220.14(I), 220.47); machines at 100 % and a quarter more of the largest (430.24; own caution: any machine is taken
    for a motor); heaters at 100 % (220.51); other continuous loads at 125 % (215.2).

    Raises
    ------
    TableError
        If no table has one of the motors.
    """
    return tuple(_lines(building, limits))


def load_words(building: Building, lines: Sequence[LoadLine]) -> tuple[str, ...]:
    """Return what the load comes to, against the main and the feeder's breaker, and the feeder's voltage drop.

    Nothing where there is no load to speak of.
    """
    return tuple(_verdicts(building, lines)) if lines else ()


def load_amps(building: Building, lines: Sequence[LoadLine]) -> float:
    """Return the amperes that the load is at the supply's voltage, both legs alike."""
    return math.fsum(line.demand_va for line in lines) / _supply_volts(building)


# --- load ------------------------------------------------------------------------------------------------------------


def _lines(building: Building, limits: Mapping[str, float]) -> Iterator[LoadLine]:
    its = {kind: [one for one in building.devices if one.kind is kind] for kind in DeviceKind}
    lasting = limits["load.continuous"]
    yield from _lighting(building, its[DeviceKind.LIGHT], lasting)
    general = [one for one in its[DeviceKind.RECEPTACLE] if one.load_assumed]
    brief, long = _va(one for one in general if not one.continuous), _va(one for one in general if one.continuous)
    each = f"{limits['load.receptacle']:g} VA a yoke"
    if brief:
        counted = demand_va(brief, "receptacles")
        yield LoadLine(
            what=f"receptacles, {each}",
            va=brief,
            factor=counted / brief,
            demand_va=counted,
            clause="NEC 220.14(I), 220.47",
        )
    if long:
        yield _line("receptacles in continuous use", long, lasting, "NEC 220.14(I), 215.2")
    yield from _connected(
        "receptacles for a load of their own",
        [one for one in its[DeviceKind.RECEPTACLE] if not one.load_assumed],
        lasting,
        "NEC 220.14(A)",
    )
    yield from _connected("door openers", its[DeviceKind.OPENER], lasting, "NEC 220.14(A)")
    yield from _connected("machines", its[DeviceKind.MACHINE], lasting, "NEC 220.14(A), 430.24")
    motors = [one for one in building.devices if one.horsepower or one.kind is DeviceKind.MACHINE]
    if motors:
        largest = max(motors, key=lambda one: (_va([one]), one.id))
        more = limits["motor.conductor"] - 1
        yield _line(f"the largest motor, {largest.id}: so much more", _va([largest]), more, "NEC 430.24")
    if its[DeviceKind.HEATER]:
        yield _line("heaters", _va(its[DeviceKind.HEATER]), 1.0, "NEC 220.51")
    if its[DeviceKind.ALARM]:
        yield _line("alarms", _va(its[DeviceKind.ALARM]), 1.0, "NEC 220.14(A)")


def _lighting(building: Building, lights: Sequence[Device], lasting: float) -> Iterator[LoadLine]:
    area = enclosed_ft2(building)
    unit = lighting_va(area, USE)
    connected = list(_connected("lights, connected", lights, lasting, "NEC 220.14(D), 215.2"))
    if connected and connected[0].demand_va >= unit:
        yield connected[0]
    elif unit:
        clause = "NEC 220.42(A), from memory; continuous use is in it"
        yield _line(f"lights, {unit / area:g} VA a square foot of {area:,.0f} ft2 ({USE})", unit, 1.0, clause)


def _connected(what: str, devices: Sequence[Device], lasting: float, clause: str) -> Iterator[LoadLine]:
    """Yield the line of loads that count as connected, the continuous ones but motors for more."""
    va = _va(devices)
    if va:
        more = (lasting - 1) * _va(one for one in devices if one.continuous and not one.horsepower)
        yield LoadLine(what=what, va=va, factor=(va + more) / va, demand_va=va + more, clause=clause)


def _line(what: str, va: float, factor: float, clause: str) -> LoadLine:
    return LoadLine(what=what, va=va, factor=factor, demand_va=va * factor, clause=clause)


def _va(devices: Iterable[Device]) -> float:
    return math.fsum(running_a(device) * device.volts for device in devices)


def enclosed_ft2(building: Building) -> float:
    """Return the area (square feet, outside) that walls enclose, all storeys together; 0 where none is closed."""
    storeys = {storey.id for storey in building.storeys}
    walls = [slab for slab in building.assemblies if slab.kind == "wall"]
    return sum(_ring_in2([wall for wall in walls if wall.storey == storey]) for storey in storeys) / 144


def _ring_in2(walls: Sequence[Assembly]) -> float:
    """Return the largest area that a ring of walls encloses, each beginning where the one before it ends."""
    best = 0.0
    for first in walls:
        ring: list[Assembly] = []
        wall: Assembly | None = first
        while wall is not None and wall not in ring:
            ring.append(wall)
            wall = _after(wall, walls)
        if wall is first:
            best = max(best, abs(_area_in2([one.origin for one in ring])))
    return best


def _after(wall: Assembly, walls: Sequence[Assembly]) -> Assembly | None:
    """Return the wall that begins where this one ends; it ends short by another's depth where it butts against that."""
    end = moved(wall.origin, (wall.u, wall.extent_u[1]))
    near = [one for one in walls if at_most(math.dist(one.origin, end), one.depth_in + SAME_CORNER_IN)]
    return min(near, key=lambda one: math.dist(one.origin, end), default=None)


def _area_in2(corners: Sequence[Vec]) -> float:
    after = [*corners[1:], *corners[:1]]
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(corners, after, strict=True)) / 2


# --- verdicts --------------------------------------------------------------------------------------------------------


def _verdicts(building: Building, lines: Sequence[LoadLine]) -> Iterator[str]:
    supply = building.supply
    volts, amps = _supply_volts(building), load_amps(building, lines)
    total = math.fsum(line.demand_va for line in lines)
    even = ", both legs alike" if volts == 240 else ""
    yield f"Load of the building: {total:,.0f} VA, {amps:.1f} A at {volts} V{even}."
    guards = [(f"the main breaker of {one.panel}", one.main_a) for one in building.breakers]
    for what, size in (*guards, ("the supply's breaker", supply.breaker_a)):
        if size:
            verdict = (
                "carries that" if at_most(amps, size) else "is too small for it: ask for a larger supply, or shed load"
            )
            yield f"{what[0].upper()}{what[1:]}, {size:g} A, {verdict}."
        else:
            yield f"{what[0].upper()}{what[1:]} is not said: it has to carry {amps:.1f} A."
    yield from _drop(building, amps, volts)
    yield (
        "In a dwelling's own outbuilding the receptacles are part of the house's 3 VA a square foot already "
        "(NEC 220.14(J)): this sum is then on the safe side."
    )


def _supply_volts(building: Building) -> int:
    """The voltage between the supply's hot wires, or of its one hot wire to the neutral."""
    return 120 if building.supply.kind == "branch circuit" and building.supply.wires < 4 else 240


def _drop(building: Building, amps: float, volts: int) -> Iterator[str]:
    supply, limits = building.supply, Limits(building.limits)
    if not (supply.length_in and supply.awg):
        yield "Voltage drop of the supply: say its length and the size of its conductors, and it is worked."
        return
    try:
        lost = drop_volts(amps, supply.length_in / 12, resistance(supply.awg))
    except TableError as err:
        yield f"Voltage drop of the supply: not worked, {err}."
        return
    share, advised = lost / volts, limits["drop.branch"]
    verdict = "within" if at_most(share, advised) else "above"
    length = format_length(supply.length_in, metric=building.metric)
    yield (
        f"Voltage drop of the supply, {length} of {supply.awg} AWG at {amps:.1f} A: {lost:.1f} V, {share:.1%}, "
        f"{verdict} the {advised:.0%} that is advised ({cited(limits.limit('drop.branch'))}; no rule)."
    )

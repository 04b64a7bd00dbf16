"""Circuits as a whole: breaker, spaces, conductors, loads, drop, ground-fault protection, boxes of two circuits."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from contextlib import suppress

from barnloom.model.building import Circuit
from barnloom.model.electrical.tables import (
    TableError,
    ampacity,
    motor_current,
    next_breaker,
    resistance,
    small_conductor_cap,
)
from barnloom.model.limits import at_least, at_most
from barnloom.model.wiring import Breakers, Device, DeviceKind
from barnloom.routing.check.finding import Finding, Site
from barnloom.routing.check.metal import Metal, joined, loads_of
from barnloom.routing.plan import Cable, CircuitSheet

SHOWN = 0.005
"""Amperes, percent and feet that lists show with two decimals: a difference that none of them shows."""
PROTECTS = ("ground-fault", "dual-function")


def circuit_findings(site: Site, metal: Metal) -> Iterator[Finding]:
    """Return what is wrong with each circuit's line of the schedule, with spaces, protection and shared boxes."""
    wired = {name for cable in site.plan.cables for name in cable.circuit.split()}
    counts = Counter(sheet.circuit for sheet in site.plan.circuits)
    for name in sorted(wired | set(counts)):
        if name not in site.circuits:
            yield Finding("circuit.sheet", name, "the schedule has a circuit that the scene does not")
        elif counts[name] != 1:
            yield Finding("circuit.sheet", name, f"it has {counts[name]} lines in the schedule, 1 wanted")
        else:
            circuit, sheet = site.circuits[name], site.sheets[name]
            yield from _breaker(circuit, sheet, list(site.cables_of[name]), site)
            yield from _load(circuit, sheet, site)
            yield from _space(circuit, sheet, site)
    yield from _spaces(site)
    yield from _protection(site, metal)
    yield from _shared(site)


# --- breaker and load ------------------------------------------------------------------------------------------------


def _breaker(circuit: Circuit, sheet: CircuitSheet, cables: list[Cable], site: Site) -> Iterator[Finding]:
    if circuit.breaker_a and sheet.breaker_a != circuit.breaker_a:
        words = f"{sheet.breaker_a:g} A, the scene pins {circuit.breaker_a:g} A"
        yield Finding("circuit.breaker", circuit.id, words)
    for cable in cables:
        kind = site.types.get(cable.type)
        if kind is None or not kind.awg:
            continue
        if kind.awg > sheet.awg:
            words = f"it is {kind.awg} AWG, thinner than the circuit's {sheet.awg} AWG"
            yield Finding("circuit.awg", cable.id, words)
        most = _largest_breaker(kind.awg)
        if most is None:
            yield Finding("circuit.awg", cable.id, f"{kind.awg} AWG is in no table of conductors for branch circuits")
        elif not circuit.motor_breaker and not at_most(sheet.breaker_a, most):
            words = f"{sheet.breaker_a:g} A on {kind.awg} AWG, {most:g} A at most (NEC 240.4(D), 334.80)"
            yield Finding("circuit.breaker", cable.id, words)
    if not at_most(sheet.load_a, sheet.breaker_a + SHOWN):
        yield Finding("circuit.breaker", circuit.id, f"{sheet.load_a:g} A on a breaker of {sheet.breaker_a:g} A")


def _largest_breaker(awg: int) -> float | None:
    """Return the largest breaker for a conductor in sheathed cable; None for a size that no table has."""
    try:
        cap = small_conductor_cap(awg)
        return cap if cap is not None else next_breaker(ampacity(awg, 60))
    except TableError:
        return None


def _load(circuit: Circuit, sheet: CircuitSheet, site: Site) -> Iterator[Finding]:
    on_it = site.devices_on[circuit.id]
    devices = site.reached(on_it)
    total = sum(device.load_va for device in on_it)
    if not abs(sheet.load_va - total) <= SHOWN:
        yield Finding("circuit.load", circuit.id, f"{sheet.load_va:.6g} VA said, {total:.6g} VA found")
    legs: dict[int, float] = defaultdict(float)
    for device in devices:
        amps = _counted_amps(device, site)
        for leg in (1, 2) if device.volts == 240 else (device.leg if circuit.multiwire else 1,):
            legs[leg] += amps
    least = max(legs.values(), default=0.0)
    if not at_least(sheet.load_a + SHOWN, least):
        words = f"its breaker is sized for {sheet.load_a:.4g} A, it carries {least:.4g} A"
        yield Finding("circuit.load", circuit.id, f"{words} ({site.rule('load.continuous')})")


def _counted_amps(device: Device, site: Site) -> float:
    """Return what a device counts as: a motor by its table, heaters and continuous loads at 125 %."""
    amps = device.load_va / device.volts
    if device.horsepower:
        with suppress(TableError):  # of a motor that the table has not, what it draws as said
            amps = motor_current(device.horsepower, device.volts)
    factors = [1.0]
    if device.continuous:
        factors.append(site.limits["load.continuous"])
    if device.kind is DeviceKind.HEATER:
        factors.append(site.limits["load.heater"])
    return amps * max(factors)


# --- the panel's spaces ----------------------------------------------------------------------------------------------


def leg_of(space: int) -> str:
    """
    Return the leg of a space: odd ones on the left, even ones on the right, two by two (common practice, no source).

    Examples
    --------
    >>> [leg_of(space) for space in (1, 2, 3, 4, 5)]
    ['A', 'A', 'B', 'B', 'A']
    """
    return "AB"[(space - 1) // 2 % 2]


def _space(circuit: Circuit, sheet: CircuitSheet, site: Site) -> Iterator[Finding]:
    two = circuit.multiwire or any(device.volts == 240 for device in site.devices_on[circuit.id])
    if sheet.poles != (2 if two else 1):
        yield Finding("circuit.poles", circuit.id, f"{sheet.poles} poles, {2 if two else 1} wanted")
    if len(sheet.spaces) != sheet.poles:
        words = f"{len(sheet.spaces)} spaces of the panel for {sheet.poles} poles"
        yield Finding("circuit.spaces", circuit.id, words)
        return
    legs = "".join(sorted({leg_of(space) for space in sheet.spaces}))
    if sheet.legs != legs:
        yield Finding("circuit.legs", circuit.id, f"leg {sheet.legs} said, its spaces are on {legs}")
    if sheet.poles == 2 and abs(sheet.spaces[0] - sheet.spaces[1]) != 2:
        words = f"spaces {sheet.spaces[0]} and {sheet.spaces[1]}: the poles are on opposite legs, one over the other"
        yield Finding("circuit.legs", circuit.id, f"{words} (NEC 210.4)")
    if sheet.panel != circuit.panel:
        yield Finding("circuit.spaces", circuit.id, f"in panel {sheet.panel}, the scene has it in {circuit.panel}")


def _spaces(site: Site) -> Iterator[Finding]:
    """Return spaces that are taken twice or already, are not there, and breakers that the label does not list."""
    panels: Mapping[str, Breakers] = {panel.panel: panel for panel in site.plan.building.breakers}
    taken = Counter((sheet.panel, space) for sheet in site.plan.circuits for space in sheet.spaces)
    for (name, space), count in sorted(taken.items()):
        panel = panels.get(name)
        if count > (2 if panel and space in panel.tandem else 1):
            yield Finding("circuit.spaces", name, f"{count} breakers in space {space}")
        if panel and (space in panel.used or not 1 <= space <= panel.spaces):
            words = f"space {space} is taken already" if space in panel.used else f"it has {panel.spaces} spaces"
            yield Finding("circuit.spaces", name, f"{words}, yet the schedule uses space {space}")
    for sheet in site.plan.circuits:
        panel = panels.get(sheet.panel)
        if panel and sheet.breaker_a not in panel.sizes_a:
            words = f"{sheet.breaker_a:g} A is not among the breakers on the label of {sheet.panel}"
            yield Finding("circuit.breaker", sheet.circuit, words)


# --- ground-fault protection, two circuits in a box ------------------------------------------------------------------


def _protection(site: Site, metal: Metal) -> Iterator[Finding]:
    """Return outlets without ground-fault protection, and lights, alarms and neutrals on the wrong side of a device."""
    links = [(wire.near, wire.far) for wire in metal.wires]
    links += [(way.near, way.far) for way in metal.insides if way.throw is not None]
    zones, _ = joined(len(metal.nodes), links)  # what is joined without going through a ground-fault device
    behind = {
        (zones[node], side): owner
        for (owner, name), node in metal.terminals.items()
        for side, terminal in (("hot", "load hot"), ("neutral", "load neutral"))
        if name == terminal
    }
    hardwired = site.plan.building.wiring.hardwired_ground_fault
    needs = {DeviceKind.RECEPTACLE, DeviceKind.OPENER}
    needs |= {DeviceKind.MACHINE, DeviceKind.HEATER} if hardwired else set()
    for device in site.devices.values():
        circuit, sheet = site.circuits.get(device.circuit), site.sheets.get(device.circuit)
        if circuit is None or sheet is None or device.box not in site.makeups:
            continue
        for load in loads_of(device):
            ends = metal.terminals.get((device.id, load.into)), metal.terminals.get((device.id, load.out))
            if ends[0] is None or ends[1] is None:
                continue
            by, back = behind.get((zones[ends[0]], "hot")), behind.get((zones[ends[1]], "neutral"))
            if by != back and device.volts != 240:
                words = f"its hot is {_side(by)}, its neutral {_side(back)}: the device trips at once"
                yield Finding("circuit.zone", device.id, words)
            safe = by is not None or device.ground_fault or sheet.breaker in PROTECTS
            if device.kind in needs and not safe and circuit.ground_fault != "none":
                yield Finding("circuit.ground_fault", device.id, "no ground-fault protection (NEC 210.8)")
            if device.kind in (DeviceKind.LIGHT, DeviceKind.ALARM) and by is not None:
                words = f"it is behind the ground-fault device {by}: dark or dumb when that trips (common practice)"
                yield Finding("circuit.ground_fault", device.id, words)


def _side(owner: str | None) -> str:
    return f"behind {owner}" if owner else "ahead of every ground-fault device"


def _shared(site: Site) -> Iterator[Finding]:
    """Return boxes with devices that two circuits share without the person's word; splices alone need none."""
    with_devices = {device.box for device in site.devices.values()}
    circuits: dict[str, set[str]] = defaultdict(set)
    for cable in site.plan.cables:
        for end in (cable.from_box, cable.to_box):
            circuits[end].update(cable.circuit.split())
    for name, found in sorted(circuits.items()):
        box = site.boxes.get(name)
        if name in with_devices and box is not None and box.kind != "panel" and len(found) > 1 and not box.shared:
            words = f"circuits {' and '.join(sorted(found))} share it, and the scene does not say so"
            yield Finding("circuit.shared", name, words)


# --- currents and drop -----------------------------------------------------------------------------------------------


def drop_findings(site: Site, amps: Mapping[str, float]) -> Iterator[Finding]:
    """
    Return wrong currents, drops and lengths from the panel.

    Parameters
    ----------
    site : Site
    amps : mapping of str to float
        What flows in each cable with everything on.

    Notes
    -----
    drop = sum of 2 I R L / 1000 (NEC chapter 9 Table 8, at 75 C) over the legs from the panel to a box, and to the
    switches that what is in the box follows: its current goes by way of them.
    """
    for circuit in site.circuits.values():
        own = site.cables_of[circuit.id]
        cables = {cable.to_box: cable for cable in own}
        volts = _volts(circuit, site)
        # Of two cables side by side, in place of a larger one, the one that loses more counts.
        beside: dict[str, list[float | None]] = defaultdict(list)
        for cable in own:
            beside[cable.to_box].append(_lost(cable, amps[cable.id], site))
            if not abs(cable.current_a - amps[cable.id]) <= SHOWN:
                words = f"{cable.current_a:.4g} A said, {amps[cable.id]:.4g} A found"
                yield Finding("circuit.current", cable.id, words)
        lost = {box: None if None in its else max(volt or 0.0 for volt in its) for box, its in beside.items()}
        feet, percents = [], []
        for box, cable in cables.items():
            feet.append(sum(cables[leg].cut_in for leg in _legs(box, cables)) / 12)
            sums = [_sum([lost[leg] for leg in way]) for way in _ways(box, circuit, cables, site)]
            if None in sums:
                continue
            percent = 100 * max(volt for volt in sums if volt is not None) / volts
            percents.append(percent)
            if not abs(cable.drop_percent - percent) <= SHOWN:
                words = f"{cable.drop_percent:.4g} % lost said, {percent:.4g} % found"
                yield Finding("circuit.drop", cable.id, words)
        sheet = site.sheets.get(circuit.id)
        if sheet is None or not cables:
            continue
        if sheet.volts != volts:
            yield Finding("circuit.poles", circuit.id, f"{sheet.volts} V said, {volts} V found")
        if not abs(sheet.longest_ft - max(feet)) <= SHOWN:
            words = f"{sheet.longest_ft:.6g} ft to the farthest box said, {max(feet):.6g} ft found"
            yield Finding("circuit.longest", circuit.id, words)
        if len(percents) == len(cables) and not abs(sheet.drop_percent - max(percents)) <= SHOWN:
            words = f"{sheet.drop_percent:.4g} % lost at most said, {max(percents):.4g} % found"
            yield Finding("circuit.drop", circuit.id, words)


def _volts(circuit: Circuit, site: Site) -> int:
    line_to_line = any(device.volts == 240 for device in site.devices_on[circuit.id])
    return 240 if line_to_line and not circuit.multiwire else 120


def _ways(box: str, circuit: Circuit, feeds: Mapping[str, Cable], site: Site) -> list[set[str]]:
    """Return the legs that current may take to a box, each by its far box: straight, and by way of switches."""
    ways = [_legs(box, feeds)]
    for device in site.reached(site.devices_in[box]):
        control = site.controls.get(device.control)
        if device.circuit == circuit.id and control and any(x.amps for x in loads_of(device)):
            points = [site.devices[name].box for name in control.points if name in site.devices]
            ways.append(set().union(*(_legs(end, feeds) for end in (box, *points))))
    return ways


def _legs(box: str, feeds: Mapping[str, Cable]) -> set[str]:
    """Return the legs from the panel to a box, each by its far box; a ring, which the check of trees names, ends it."""
    legs: set[str] = set()
    while box in feeds and box not in legs:
        legs.add(box)
        box = feeds[box].from_box
    return legs


def _sum(volts: list[float | None]) -> float | None:
    known = [volt for volt in volts if volt is not None]
    return sum(known) if len(known) == len(volts) else None


def _lost(cable: Cable, amps: float, site: Site) -> float | None:
    """Return the volts lost in a cable; None where its size is not known."""
    kind = site.types.get(cable.type)
    if kind is None or not kind.awg:
        return None
    try:
        return 2 * amps * resistance(kind.awg) * cable.cut_in / 12 / 1000
    except TableError:
        return None

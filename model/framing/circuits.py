"""Boxes that say ``circuit: plan it``, put together into circuits: lights apart from outlets, machines on their own.

What must be together is found first; then each kind is strung up, storey by storey, round the panel, and cut where the
fewest circuits have the shortest way from the panel and from one to the next.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, count, pairwise

from barnloom.model.building import Box, Circuit, Vec
from barnloom.model.electrical.loads import running_a, sizing_a
from barnloom.model.limits import Limits, at_least, at_most
from barnloom.model.wiring import Control, Device, DeviceKind

ID_LONGEST = 40
"""Letters of an id."""
SAME_TURN = 1e-5
"""Gaps (radians) that differ by less are equal."""
_FIXED = (DeviceKind.MACHINE, DeviceKind.HEATER)

Node = tuple[str, str]
"""("box", id) of a box to plan, or ("circuit", id) of a circuit that is said: it stands for all that is on it."""
Fits = Callable[[Sequence["_Part"]], bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """Boxes that must be on one circuit, with their devices."""

    boxes: tuple[Box, ...]
    devices: tuple[Device, ...]
    said: str
    """Circuit that something they belong to is on; empty: none."""
    apart: frozenset[str]
    """Devices that run at the same time as one of these, and so are on another circuit."""

    @property
    def id(self) -> str:
        return min(box.id for box in self.boxes)

    @property
    def storey(self) -> str:
        return min(self.boxes, key=lambda box: (box.at[2], box.id)).storey

    def from_place(self, place: Vec) -> float:
        return min(math.dist(box.at, place) for box in self.boxes)

    def from_part(self, other: _Part) -> float:
        return min(self.from_place(box.at) for box in other.boxes)


def planned(
    boxes: tuple[Box, ...],
    devices: tuple[Device, ...],
    controls: tuple[Control, ...],
    circuits: tuple[Circuit, ...],
    limits: Limits,
    *,
    panel: str,
    to_plan: Collection[str],
) -> tuple[tuple[Box, ...], tuple[Device, ...], tuple[Control, ...], tuple[Circuit, ...]]:
    """
    Return all four with the boxes ``to_plan`` on circuits; each in its order, new circuits last.

    A control's lights and points, a box and what feeds it, and all alarms are on one circuit: where part of them is on
    a circuit that the scene says, the rest joins it. On a circuit alone: what runs on 240 V, and what takes more than
    ``load.fixed_share`` of an outlet circuit. Never on one: devices that run together. A circuit of outlets has at most
    ``load.outlets_each`` yokes, and machines and heaters up to that share; one of lights is loaded to
    ``load.lights_share``. Alarms are with lights, so that a dead circuit is noticed (common practice, no source). A
    covered junction joins the circuit of the nearest box. One part that is too large for any of these has a circuit of
    its own all the same: that no breaker carries it is for those who size it.

    Parameters
    ----------
    panel : str
        Id of the box that the new circuits come from.
    to_plan : collection of str
        Ids of boxes.

    Raises
    ------
    TableError
        If no table has one of the motors.
    """
    home = next(box.at for box in boxes if box.id == panel)
    parts = _parts(boxes, devices, controls, to_plan)
    chosen = {box.id: part.said for part in parts if part.said for box in part.boxes}
    kinds: dict[str, list[_Part]] = defaultdict(list)
    for part in parts:
        if not part.said:
            kinds[_kind(part, limits)].append(part)
    shared = [
        *(("lights", its) for its in _strung(kinds["lights"], _lights_fit(limits), home)),
        *(("outlets", its) for its in _strung(kinds["outlets"], _outlets_fit(limits), home)),
    ]
    wired = [box for box in boxes if box.circuits and box.id != panel]
    for part in kinds["bare"]:
        if shared:
            min(shared, key=lambda piece: _from_parts(part, piece[1]))[1].append(part)
        elif wired:
            nearest = min(wired, key=lambda box: (part.from_place(box.at), box.id))
            chosen.update((box.id, nearest.circuits[0]) for box in part.boxes)
        else:
            shared.append(("outlets", [part]))
    made: dict[str, Circuit] = {}
    taken = {circuit.id for circuit in circuits}
    for kind, its in (*shared, *(("alone", [part]) for part in kinds["alone"])):
        name = next(name for name in _names(kind, its) if name not in taken)
        taken.add(name)
        mine = [box for part in its for box in part.boxes]
        chosen.update((box.id, name) for box in mine)
        phase = min(box.phase for box in mine)
        made[name] = Circuit(id=name, title=_title(kind, its), panel=panel, boxes=(), phase=phase, planned=True)
    return _filled(boxes, devices, controls, (*circuits, *made.values()), chosen)


def _filled(
    boxes: tuple[Box, ...],
    devices: tuple[Device, ...],
    controls: tuple[Control, ...],
    circuits: tuple[Circuit, ...],
    chosen: Mapping[str, str],
) -> tuple[tuple[Box, ...], tuple[Device, ...], tuple[Control, ...], tuple[Circuit, ...]]:
    """Return all four with what was chosen for each box written into them."""
    boxes = tuple(replace(box, circuits=(chosen[box.id],)) if box.id in chosen else box for box in boxes)
    devices = tuple(replace(one, circuit=chosen[one.box]) if one.box in chosen else one for one in devices)
    fed = {device.id: device.circuit for device in devices}
    controls = tuple(
        control
        if control.circuit
        else replace(control, circuit=next((fed[one] for one in control.lights if one in fed), ""))
        for control in controls
    )
    changed = set(chosen.values())
    circuits = tuple(
        replace(circuit, boxes=tuple(b.id for b in boxes if circuit.id in b.circuits and b.id != circuit.panel))
        if circuit.id in changed
        else circuit
        for circuit in circuits
    )
    return boxes, devices, controls, circuits


# --- what belongs together -------------------------------------------------------------------------------------------


def _parts(
    boxes: Sequence[Box], devices: Sequence[Device], controls: Sequence[Control], to_plan: Collection[str]
) -> tuple[_Part, ...]:
    """Return the boxes to plan as parts, sorted by id."""
    at = {box.id: box for box in boxes}
    its: dict[str, list[Device]] = defaultdict(list)
    mates: dict[str, set[str]] = defaultdict(set)
    for device in devices:
        its[device.box].append(device)
        for other in device.together:
            mates[device.id].add(other)
            mates[other].add(device.id)
    parts = []
    for nodes in _groups(_links(at, devices, controls, to_plan)):
        mine = tuple(at[name] for what, name in sorted(nodes) if what == "box")
        there = tuple(device for box in mine for device in its[box.id])
        if mine:
            said = min((name for what, name in nodes if what == "circuit"), default="")
            apart = frozenset(mate for device in there for mate in mates[device.id])
            parts.append(_Part(boxes=mine, devices=there, said=said, apart=apart))
    return tuple(sorted(parts, key=lambda part: part.id))


def _links(
    at: Mapping[str, Box], devices: Sequence[Device], controls: Sequence[Control], to_plan: Collection[str]
) -> Iterator[set[Node]]:
    """Yield what is on one circuit for one reason or another; a fault in a scene may leave a thing without any."""
    nodes: dict[str, Node] = {}
    for device in devices:
        if device.box in to_plan:
            nodes[device.id] = ("box", device.box)
            if device.circuit:
                yield {("box", device.box), ("circuit", device.circuit)}
        elif device.circuit:
            nodes[device.id] = ("circuit", device.circuit)
    for name in to_plan:
        box = at[name]
        yield {("box", name)}
        feeder = at.get(box.fed_from)
        if feeder is not None and feeder.kind != "panel":
            fed: set[Node] = {("circuit", circuit) for circuit in feeder.circuits[:1]}
            yield {("box", name)} | (fed or {("box", feeder.id)})
    for control in controls:
        yield {nodes[one] for one in (*control.lights, *control.points) if one in nodes}
    yield {nodes[one.id] for one in devices if one.kind is DeviceKind.ALARM and one.id in nodes}


def _groups(links: Iterable[set[Node]]) -> list[set[Node]]:
    groups: list[set[Node]] = []
    for link in links:
        touched = [group for group in groups if group & link]
        groups = [group for group in groups if not group & link]
        groups.append(link.union(*touched))
    return groups


def _kind(part: _Part, limits: Limits) -> str:
    """Return "alone", "lights", "outlets", or "bare": boxes without a device."""
    if not part.devices:
        return "bare"
    kinds = {device.kind for device in part.devices}
    most = limits["load.fixed_share"] * limits["load.outlets_breaker"]
    if any(
        one.volts > 120 or (one.kind is not DeviceKind.LIGHT and not at_most(sizing_a([one], limits), most))
        for one in part.devices
    ):
        return "alone"
    return "lights" if kinds & {DeviceKind.LIGHT, DeviceKind.ALARM} or kinds == {DeviceKind.SWITCH} else "outlets"


# --- how much goes on a circuit --------------------------------------------------------------------------------------


def _lights_fit(limits: Limits) -> Fits:
    most = limits["load.lights_share"] * limits["load.lights_breaker"]

    def fit(parts: Sequence[_Part]) -> bool:
        return _may_run(parts) and at_most(math.fsum(map(running_a, _devices(parts))), most)

    return fit


def _outlets_fit(limits: Limits) -> Fits:
    breaker = limits["load.outlets_breaker"]

    def fit(parts: Sequence[_Part]) -> bool:
        devices = _devices(parts)
        yokes = sum(one.yokes for one in devices if one.kind is not DeviceKind.SWITCH)
        fixed = [one for one in devices if one.kind in _FIXED]
        return (
            _may_run(parts)
            and at_most(yokes, limits["load.outlets_each"])
            and at_most(sizing_a(devices, limits), breaker)
            and at_most(sizing_a(fixed, limits), limits["load.fixed_share"] * breaker)
        )

    return fit


def _devices(parts: Sequence[_Part]) -> list[Device]:
    return [device for part in parts for device in part.devices]


def _may_run(parts: Sequence[_Part]) -> bool:
    """Return whether no two parts have devices that run together."""
    return not any(
        device.id in other.apart for part in parts for other in parts if other is not part for device in part.devices
    )


# --- in what order, and where it is cut ------------------------------------------------------------------------------


def _row(parts: Sequence[_Part], home: Vec) -> list[_Part]:
    """Return parts storey by storey from the lowest, in each in the order in which a hand sweeps round the panel."""
    storeys: dict[str, list[_Part]] = defaultdict(list)
    for part in parts:
        storeys[part.storey].append(part)
    lowest = {name: min(box.at[2] for part in its for box in part.boxes) for name, its in storeys.items()}
    return [
        part for name in sorted(storeys, key=lambda name: (lowest[name], name)) for part in _swept(storeys[name], home)
    ]


def _swept(parts: Sequence[_Part], home: Vec) -> list[_Part]:
    """Return parts by their angle from the panel, begun after the widest gap; the way round goes by the ids."""
    angles = {}
    for part in parts:
        east, north = (math.fsum(box.at[axis] - home[axis] for box in part.boxes) for axis in (0, 1))
        angles[part.id] = round(math.atan2(north, east), 6)
    rows = []
    for way in (1, -1):
        row = sorted(parts, key=lambda part: (way * angles[part.id], round(part.from_place(home), 3), part.id))
        turns = [way * angles[part.id] for part in row]
        gaps = [after - before for before, after in pairwise((*turns, turns[0] + 2 * math.pi))]
        rows += [row[n:] + row[:n] for n, gap in enumerate(gaps, start=1) if at_least(gap, max(gaps) - SAME_TURN)]
    return min(rows, key=lambda row: [part.id for part in row])


def _cut(row: Sequence[_Part], fits: Fits, home: Vec) -> list[list[_Part]]:
    """Return a row in pieces that fit (or are single parts): as few as can be, then with the shortest ways."""
    links = [0.0, *accumulate(part.from_part(after) for part, after in pairwise(row))]
    best: list[tuple[int, float, tuple[int, ...]]] = [(0, 0.0, ())]
    for end in range(1, len(row) + 1):
        options = []
        for start in reversed(range(end)):
            if end - start > 1 and not fits(row[start:end]):
                break
            far = min(part.from_place(home) for part in row[start:end]) + links[end - 1] - links[start]
            fewest, length, cuts = best[start]
            options.append((fewest + 1, round(length + far, 3), (*cuts, start)))
        best.append(min(options))
    cuts = best[-1][2]
    return [list(row[start:end]) for start, end in pairwise((*cuts, len(row)))]


def _strung(parts: Sequence[_Part], fits: Fits, home: Vec) -> list[list[_Part]]:
    """Return parts of one kind in circuits. Alarms go with the nearest that has room for them."""
    alarms = [part for part in parts if all(one.kind is DeviceKind.ALARM for one in part.devices)]
    pieces = _cut(_row([part for part in parts if part not in alarms], home), fits, home)
    for part in alarms:
        roomy = [piece for piece in pieces if fits([*piece, part])]
        if roomy:
            min(roomy, key=lambda piece: _from_parts(part, piece)).append(part)
        else:
            pieces.append([part])
    return pieces


def _from_parts(part: _Part, others: Sequence[_Part]) -> tuple[float, str]:
    """Return how far a part is from the nearest of others, and its id."""
    return min((part.from_part(other), other.id) for other in others)


# --- what it is called -----------------------------------------------------------------------------------------------


def _names(kind: str, parts: Sequence[_Part]) -> Iterator[str]:
    """Yield ids for a circuit, the best first."""
    if kind != "alone":
        yield from (f"{kind.upper()}-{number}" for number in count(1))
    largest = _largest(parts)
    stem = f"{largest.kind.value.upper()}-{largest.box}"
    yield stem[:ID_LONGEST]
    yield from (f"{stem[: ID_LONGEST - 4]}-{number}" for number in count(2))


def _title(kind: str, parts: Sequence[_Part]) -> str:
    """Return what a circuit feeds and where, for the panel's directory."""
    if kind == "alone":
        largest = _largest(parts)
        said = next(box.title for part in parts for box in part.boxes if box.id == largest.box)
        return said or f"{largest.kind.value} {largest.box}"
    alarms = any(device.kind is DeviceKind.ALARM for device in _devices(parts))
    storeys = dict.fromkeys(part.storey for part in parts)
    return f"{kind}{' and alarms' if alarms else ''}, {' and '.join(storeys)}"


def _largest(parts: Sequence[_Part]) -> Device:
    return max(_devices(parts), key=lambda device: (running_a(device) * device.volts, device.id))

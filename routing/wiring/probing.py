"""Where a meter is held in a plan's wiring, and whether it reads joined there, switch by switch."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from barnloom.model.building import Box
from barnloom.model.wiring import DeviceKind
from barnloom.routing.plan import Joint, Plan
from barnloom.routing.store import natural_key

ALL_POSITIONS_OF = 4
"""Points of a control up to which every combination is tried; beyond, each alone is turned from all at rest."""

ANY = "any"
"""Positions in words where none matters."""
_TOGETHER = ", held together"

Metal = tuple[str, ...]
"""A conductor's end (box, cable, colour), or a terminal (device, name)."""
Positions = Mapping[str, int]
"""By device: 0 is down, position 1 or reset; 1 is up, position 2 or tripped. Devices left out are at 0."""


def end_words(cable: str, colour: str) -> str:
    """
    Name one end of a conductor.

    Examples
    --------
    >>> end_words("LIGHTS.G1", "black")
    'black of LIGHTS.G1'
    """
    return f"{colour} of {cable}"


def terminal_words(device: str, terminal: str) -> str:
    """
    Name a terminal.

    Examples
    --------
    >>> terminal_words("SW1", "common"), terminal_words("G1", "box"), terminal_words("PANEL", "breaker LIGHTS")
    ('common of SW1', 'box G1', 'breaker LIGHTS of PANEL')
    """
    return f"box {device}" if terminal == "box" else f"{terminal} of {device}"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a probe is held."""

    box: str
    metal: Metal
    words: str


class Network:
    """What is one piece of metal, and which contacts of switches join such pieces in which position."""

    def __init__(self, plan: Plan) -> None:
        self._above: dict[Metal, Metal] = {}
        panels = {box.id for box in plan.building.boxes if box.kind == "panel"}
        names: dict[str, set[str]] = defaultdict(set)
        for makeup in plan.makeups:
            for joint in makeup.joints:
                ends = [(makeup.box, *end) for end in joint.ends]
                # At the panel wires are off their terminals; grounds stay on their bar.
                off = makeup.box in panels and joint.net != "ground"
                terminals = [] if off else list(joint.terminals)
                for device, name in terminals:
                    names[device].add(name)
                self._join([*ends, *terminals])
        for cable in plan.cables:
            for conductor in cable.conductors:
                self._join([(box, cable.id, conductor.colour) for box in (cable.from_box, cable.to_box)])
        self._contacts: dict[Metal, list[tuple[Metal, str, int]]] = defaultdict(list)
        self.position_words: dict[str, tuple[str, str]] = {}
        self.three_way = frozenset(device for device, own in names.items() if "common" in own)
        for device, own in sorted(names.items()):
            for one, other, position in _contacts_of(own):
                self.position_words[device] = _position_words(own)
                a, b = self._piece((device, one)), self._piece((device, other))
                self._contacts[a].append((b, device, position))
                self._contacts[b].append((a, device, position))

    def joined(self, a: Metal, b: Metal, positions: Positions) -> bool:
        """Whether a meter between two places reads joined."""
        target, waiting = self._piece(b), [self._piece(a)]
        seen = set(waiting)
        while waiting:
            piece = waiting.pop()
            if piece == target:
                return True
            for other, device, position in self._contacts.get(piece, ()):
                if other not in seen and positions.get(device, 0) == position:
                    seen.add(other)
                    waiting.append(other)
        return False

    def _piece(self, metal: Metal) -> Metal:
        above = self._above.setdefault(metal, metal)
        while above != metal:
            self._above[metal] = self._above[above]
            metal, above = above, self._above[above]
        return metal

    def _join(self, metals: Sequence[Metal]) -> None:
        for metal in metals:
            self._above[self._piece(metal)] = self._piece(metals[0])


def _contacts_of(names: set[str]) -> Iterator[tuple[str, str, int]]:
    """Pairs of terminals that a device joins, and its position then, by the terminals that it has."""
    both = (
        ("line", "load", 1),
        ("common", "traveler 1", 0),
        ("common", "traveler 2", 1),
        ("in 1", "out 1", 0),
        ("in 2", "out 2", 0),
        ("in 1", "out 2", 1),
        ("in 2", "out 1", 1),
        ("line hot", "load hot", 0),
        ("line neutral", "load neutral", 0),
    )
    return (contact for contact in both if names.issuperset(contact[:2]))


def _position_words(names: set[str]) -> tuple[str, str]:
    if "load hot" in names:
        return "reset", "tripped"
    return ("down", "up") if "load" in names else ("position 1", "position 2")


class Work:
    """A plan looked up in the ways that the tests need."""

    def __init__(self, plan: Plan) -> None:
        self.network = Network(plan)
        self.boxes = {box.id: box for box in plan.building.boxes}
        self.joints = {makeup.box: makeup.joints for makeup in plan.makeups}
        self.carried = {cable.id: cable.circuit.split() for cable in plan.cables}
        self.devices = {device.id: device for device in plan.building.devices}
        self.panels = {circuit.id: circuit.panel for circuit in plan.building.circuits}
        wired = {joint.circuit for joints in self.joints.values() for joint in joints}
        self.circuits = tuple(sorted(wired.intersection(self.panels), key=natural_key))
        self.walk = _walk([self.boxes[box] for box in self.joints], [storey.id for storey in plan.building.storeys])
        known = self.network.position_words
        self.three_way = self.network.three_way
        self.points = {
            control.id: tuple(point for point in control.points if point in known) for control in plan.building.controls
        }
        self.control_circuit = {control.id: control.circuit for control in plan.building.controls}
        self._controls: dict[str, list[str]] = defaultdict(list)
        for control in plan.building.controls:
            if self.points[control.id]:
                self._controls[control.circuit].append(control.id)
        self._at_panel: dict[tuple[str, str], list[Place]] = {}
        self._boxes_with: dict[str, dict[str, None]] = defaultdict(dict)
        for box in self.walk:
            for joint in self.joints[box]:
                self._boxes_with[joint.circuit][box] = None
        self.first = {control: self._first_of(control) for control in self.points}
        self._met_in = {control: self._boxes_of(control) for control in self.points}
        self.guards = {device: self.devices[device].circuit for device in known if "reset" in known[device]}

    def controls_of(self, circuit: str) -> list[str]:
        """Controls of a circuit that are wired."""
        return self._controls[circuit]

    def others(self, control: str, *, on: bool) -> list[dict[str, int]]:
        """
        Positions in which those other controls are on, or off, whose wires share a box with this one's.

        A single switch does it alone. One that does not say its position is left out until what follows it has been
        read; then it is on in two ways, so that each of its travelers is live in one of them.
        """
        ways: tuple[dict[str, int], dict[str, int]] = ({}, {})
        for other in self.controls_of(self.control_circuit[control]):
            known = len(self.points[other]) == 1 or self._is_read_before(other, control)
            if other != control and known and self._met_in[other] & self._met_in[control]:
                for way, positions in zip(ways, self._at(other, on=on), strict=False):
                    way |= positions
        return [ways[0]] if ways[0] == ways[1] or not on else list(ways)

    def _at(self, control: str, *, on: bool) -> list[dict[str, int]]:
        """Positions in which a control is on (or off), and the same with both three-way switches turned."""
        place, lines = self.first[control], self.at_panel(self.control_circuit[control], "breaker")
        if place is None:
            return []
        for positions in self.combinations(control):
            if on == any(self.network.joined(line.metal, place.metal, positions) for line in lines):
                turned = {name: at ^ (name in self.three_way) for name, at in positions.items()}
                return [positions, turned]
        return []

    def _is_read_before(self, one: str, other: str) -> bool:
        first, second = (
            self.walk.index(place.box) if place else len(self.walk) for place in map(self.first.get, (one, other))
        )
        return first < second

    def _boxes_of(self, control: str) -> set[str]:
        """Boxes in which wires of a control are: what follows it, and its travelers."""
        own = (f"switched {control}", f"traveler {control} ")
        return {box for box in self.walk if any(joint.net.startswith(own) for joint in self.joints[box])}

    def _first_of(self, control: str) -> Place | None:
        """What follows a control and comes first on the walk; None: nothing does."""
        met = ((box, joint) for box in self.walk for joint in self.joints[box] if joint.net == f"switched {control}")
        return next((place for box, joint in met for place in places_of(box, joint) if follows(self, place)), None)

    def shared(self, one: str, other: str) -> list[str]:
        """Boxes that two circuits share, as the walk meets them."""
        return [box for box in self._boxes_with[one] if box in self._boxes_with[other]]

    def controls_in(self, circuit: str, boxes: Iterable[str]) -> list[str]:
        """Controls of a circuit whose wires are in one of these boxes."""
        return [control for control in self.controls_of(circuit) if not self._met_in[control].isdisjoint(boxes)]

    def at_panel(self, circuit: str, terminal: str) -> list[Place]:
        """Conductors at a circuit's panel that belong on a terminal whose name begins so."""
        if (circuit, terminal) in self._at_panel:
            return self._at_panel[circuit, terminal]
        panel = self.panels[circuit]
        own = self._at_panel[circuit, terminal] = []
        for joint in self.joints.get(panel, ()):
            if joint.circuit not in (circuit, "") or not any(name.startswith(terminal) for _, name in joint.terminals):
                continue
            ends = [
                end for end in joint.ends if joint.net != "ground" or end[0].startswith(f"{circuit}.")
            ] or joint.ends
            if ends:
                own.append(Place(panel, (panel, *ends[0]), held_together([end_words(*end) for end in ends])))
        return own

    def combinations(self, control: str) -> list[dict[str, int]]:
        """Positions of a control's points to try; from one to the next, one point is turned."""
        points = self.points.get(control, ())
        if len(points) <= ALL_POSITIONS_OF:
            codes = [code ^ code >> 1 for code in range(1 << len(points))]
        else:
            codes = [0, *(1 << n for n in range(len(points)))]
        return [{point: code >> n & 1 for n, point in enumerate(points)} for code in codes]

    def words(self, positions: Positions) -> str:
        """Positions in words: "SW1 up, SW2 down"."""
        return ", ".join(f"{name} {self.network.position_words[name][at]}" for name, at in positions.items()) or ANY


def follows(work: Work, place: Place) -> bool:
    """Whether a place on a switched line is what follows the switch, not the switch or a wire on its way."""
    device = work.devices.get(place.metal[0]) if len(place.metal) == 2 else None
    return device is not None and device.kind is not DeviceKind.SWITCH


def places_of(box: str, joint: Joint) -> list[Place]:
    """Where a joint can be probed: its terminals; where it has none, its first wire."""
    if joint.terminals:
        return [Place(box, terminal, terminal_words(*terminal)) for terminal in joint.terminals]
    return [Place(box, (box, *end), end_words(*end)) for end in joint.ends[:1]]


def held_together(words: Sequence[str]) -> str:
    """Places that are held as one, in words."""
    named = " and ".join(one.removesuffix(_TOGETHER) for one in words)
    return named + _TOGETHER if len(words) > 1 or named != words[0] else named


def _walk(boxes: Iterable[Box], storeys: Sequence[str]) -> list[str]:
    """Boxes storey by storey from the panel, each time to the nearest that is left; panels are left out."""
    boxes = sorted(boxes, key=lambda box: natural_key(box.id))
    here = next((box.at for box in boxes if box.kind == "panel"), (0.0, 0.0, 0.0))
    level = {storey: n for n, storey in enumerate(storeys)}
    left = sorted((box for box in boxes if box.kind != "panel"), key=lambda box: level.get(box.storey, len(level)))
    found = []
    for _, group in groupby(left, key=lambda box: box.storey):
        near = list(group)
        away = np.array([box.at for box in near])
        for _ in near:
            square = ((away - here) ** 2).sum(axis=1)
            equal = np.flatnonzero(square <= square.min() * (1 + 1e-9))
            nearest = min(equal.tolist(), key=lambda number: math.dist(near[number].at, here))
            away[nearest] = np.inf
            found.append(near[nearest].id)
            here = near[nearest].at
    return found

"""What a cheap meter must read before power comes on: pairs of places, from a plan's joints and devices alone.

As it is tested: the circuit's breaker is off and its wires, the neutral too, are off their terminals at the panel
(neutral and ground meet where the supply begins, so a white on its bar would always read joined to the ground); lamps
are out, plugs are out, what is wired up directly is off or not connected yet; a ground-fault device is reset. "Joined"
is a reading near 0 ohm, "open" is none.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, groupby, product

import numpy as np

from barnloom.model.building import Box
from barnloom.model.wiring import Device, DeviceKind
from barnloom.routing.plan import Joint, Plan
from barnloom.routing.store import natural_key

ALL_POSITIONS_OF = 4
"""Points of a control up to which every combination is tried; beyond, each alone is turned from all at rest."""

JOINED, OPEN = "joined", "open"
ANY = "any"

Metal = tuple[str, ...]
"""A conductor's end (box, cable, colour), or a terminal (device, name)."""
Positions = Mapping[str, int]
"""By device: 0 is down, position 1 or reset; 1 is up, position 2 or tripped. Devices left out are at 0."""

_ORDER = ("ground", "neutral", "protected neutral", "line", "protected line", "switched", "traveler", "interconnect")
_RETURN = "between two boxes: a long lead, or join this one to the bare at {a} and read it against the bare here"
_RETURN_OF_GROUND = (
    "between two boxes: a long lead, or join another wire of the circuit to the bare at {a} and read the two here"
)
_AS_TESTED = "breaker off, its wires and the neutral off their terminals, lamps and plugs out"
_BOTH_AS_TESTED = "both breakers off, wires and neutrals of both off their terminals, lamps and plugs out"
_TOGETHER = ", held together"
_EACH_WITH_EACH = "each way of one control with each way of the others"
_EITHER_WAY = (
    "such a switch does not say which is position 1: turn one so that the row with all in position 1 reads joined"
)
_AS_NEW = "a new ground-fault device comes tripped, and resets only with power (from memory): then open is right"


@dataclass(frozen=True, slots=True, kw_only=True)
class DeadTest:
    """One reading: between which two conductors or terminals, in which positions, and what it must be."""

    circuit: str
    box_a: str
    conductor_a: str
    box_b: str
    conductor_b: str
    positions: str
    expected: str
    """"joined" or "open"."""
    why: str


def dead_tests(plan: Plan) -> tuple[DeadTest, ...]:
    """
    Readings in the order of one walk: at the panels, from box to box, at the panels once more.

    At a panel: circuit by circuit, then circuit against circuit. At every box: ground, neutral, hot, what follows a
    switch, travelers, interconnect. Of what follows one control the first on the walk is read in each position of its
    switches, the others against that one.
    """
    work = _Work(plan)
    rows = [row for circuit in work.circuits for row in _at_the_panel(work, circuit)]
    rows += [row for one, other in combinations(work.circuits, 2) for row in _apart(work, one, other)]
    for place, box in enumerate(work.walk):
        rows += _in_a_box(work, box, work.walk[:place])
    for circuit in work.circuits:
        rows += _at_the_end(work, circuit)
    return tuple(rows)


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


class _Network:
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


class _Work:
    """A plan looked up in the ways that the tests need."""

    def __init__(self, plan: Plan) -> None:
        self.network = _Network(plan)
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
        return next((place for box, joint in met for place in _places(box, joint) if _follows(self, place)), None)

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
                own.append(Place(panel, (panel, *ends[0]), _together([end_words(*end) for end in ends])))
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


@dataclass(frozen=True, slots=True)
class Place:
    """Where a probe is held."""

    box: str
    metal: Metal
    words: str


def _row(
    work: _Work, circuit: str, a: Place, b: Place, positions: Positions, why: str, *, way_back: str = _RETURN
) -> DeadTest:
    """One reading; where only a reset ground-fault device joins the two, its position is named."""
    joined = work.network.joined(a.metal, b.metal, positions)
    through = [
        guard
        for guard, its in work.guards.items()
        if joined and its in circuit.split() and not work.network.joined(a.metal, b.metal, {**positions, guard: 1})
    ]
    shown = {**positions, **dict.fromkeys(through, 0)}
    notes = [why, *([way_back.format(a=a.box)] if a.box != b.box else []), *([_AS_NEW] if through else [])]
    return DeadTest(
        circuit=circuit,
        box_a=a.box,
        conductor_a=a.words,
        box_b=b.box,
        conductor_b=b.words,
        positions=work.words(shown),
        expected=JOINED if joined else OPEN,
        why="; ".join(notes),
    )


def _at_the_panel(work: _Work, circuit: str) -> Iterator[DeadTest]:
    """Nothing of a circuit may touch anything else of it, whatever its switches do."""
    hots, neutrals, grounds = (work.at_panel(circuit, name) for name in ("breaker", "neutral bar", "ground bar"))
    pairs = [(hot, neutral, "no short from hot to neutral") for hot in hots for neutral in neutrals]
    pairs += [(hot, ground, "no hot touches metal or ground") for hot in hots for ground in grounds]
    pairs += [
        (neutral, ground, "neutral and ground meet nowhere in this building")
        for neutral in neutrals
        for ground in grounds
    ]
    pairs += [(one, other, "no short from line to line") for one, other in zip(hots, hots[1:], strict=False)]
    for a, b, why in pairs:
        yield from _alike(work, circuit, a, b, work.controls_of(circuit), f"{why}; {_AS_TESTED}")
    yield from _on_the_bar(work, circuit)


def _on_the_bar(work: _Work, circuit: str) -> Iterator[DeadTest]:
    """Every bare of a circuit is on the ground bar: all that is grounded further on hangs on it."""
    panel = work.panels[circuit]
    for joint in work.joints.get(panel, ()):
        own = [end for end in joint.ends if joint.net == "ground" and circuit in work.carried[end[0]]]
        bars = [terminal for terminal in joint.terminals if terminal[1].startswith("ground bar")]
        for end, bar in product(own, bars):
            a, b = Place(panel, (panel, *end), end_words(*end)), Place(panel, bar, terminal_words(*bar))
            yield _row(work, circuit, a, b, {}, "the bare is on the ground bar")


def _apart(work: _Work, one: str, other: str) -> Iterator[DeadTest]:
    """
    Two circuits are joined nowhere but at their grounds.

    All of the one against all of the other is one reading, unless some of it would read joined: then that is told.
    Where they share a box, what follows a switch of the one has to be apart from what follows one of the other too.
    That wants both on at once, so of the switches only those whose wires are there are turned.
    """
    shared = work.shared(one, other)
    if not shared and work.panels[one] != work.panels[other]:
        return
    turned = [work.controls_in(circuit, shared) if shared else work.controls_of(circuit) for circuit in (one, other)]
    why = f"two circuits{f' meet in {shared[0]} and' if shared else ''} are joined nowhere; {_BOTH_AS_TESTED}"
    of_one, of_other = (
        [place for name in ("breaker", "neutral bar") for place in work.at_panel(circuit, name)]
        for circuit in (one, other)
    )
    controls, together = [control for own in turned for control in own], bool(shared) and all(turned)
    rows = [
        row
        for a, b in product(of_one, of_other)
        for row in _alike(work, f"{one} {other}", a, b, controls, why, each_with_each=together)
    ]
    if any(row.expected == JOINED for row in rows):
        yield from rows
    elif rows:
        a, b = (_together([place.words for place in own]) for own in (of_one, of_other))
        yield replace(rows[0], conductor_a=a, conductor_b=b)


def _together(words: Sequence[str]) -> str:
    """Places that are held as one, in words."""
    named = " and ".join(one.removesuffix(_TOGETHER) for one in words)
    return named + _TOGETHER if len(words) > 1 or named != words[0] else named


def _alike(
    work: _Work,
    circuit: str,
    a: Place,
    b: Place,
    controls: Sequence[str],
    why: str,
    *,
    each_with_each: bool = False,
) -> Iterator[DeadTest]:
    """
    One row where the reading is the same in all positions of these controls, else one for each.

    Controls are turned one after the other, or ``each_with_each``.
    """
    ways = [work.combinations(control) for control in controls]
    if each_with_each:
        why = f"{why}; {_EACH_WITH_EACH}"
        tried = [{name: at for way in chosen for name, at in way.items()} for chosen in product(*ways)]
    else:
        tried = [positions for own in ways for positions in own] or [{}]
    rows = [_row(work, circuit, a, b, positions, why) for positions in tried]
    if len({row.expected for row in rows}) > 1:
        yield from rows
        return
    said = [_ways(work, control) for control in controls]
    resets = [f"{guard} reset" for guard, its in work.guards.items() if its in circuit.split()]
    yield replace(rows[0], positions="; ".join([*said, *resets]) or ANY)


def _ways(work: _Work, control: str) -> str:
    """Say which positions of a control to try."""
    points, count = work.points[control], len(work.combinations(control))
    if len(points) == 1:
        return f"{points[0]} {' and '.join(work.network.position_words[points[0]])}"
    names = f"{', '.join(points[:-1])} and {points[-1]}"
    if len(points) <= ALL_POSITIONS_OF:
        return f"{names} in all {count} ways"
    return f"{names}: all in position 1, then each alone in position 2"


def _in_a_box(work: _Work, box: str, before: Sequence[str]) -> Iterator[DeadTest]:
    for joint in sorted(work.joints[box], key=lambda joint: (_rank(joint.net), natural_key(joint.circuit), joint.net)):
        if joint.net == "ground":
            yield from _grounded(work, box, joint)
        elif joint.net.startswith("traveler"):
            yield from _traveler(work, box, joint, before)
        elif joint.net == "interconnect":
            yield from _interconnect(work, box, joint, before)
        elif joint.net != "spare":
            yield from _fed(work, box, joint)
    for device in work.devices.values():
        if device.box == box:
            yield from _in_a_device(work, device)


def _grounded(work: _Work, box: str, joint: Joint) -> Iterator[DeadTest]:
    """Every metal part of a box is joined to the ground bar."""
    circuits = [circuit for circuit in work.boxes[box].circuits if circuit in work.panels]
    bars = [place for circuit in circuits for place in work.at_panel(circuit, "ground bar")]
    places = _places(box, joint)
    if bars and places:
        here = Place(box, places[0].metal, " and ".join(place.words for place in places))
        why = "every metal part is grounded"
        yield _row(work, " ".join(circuits), bars[0], here, {}, why, way_back=_RETURN_OF_GROUND)


def _fed(work: _Work, box: str, joint: Joint) -> Iterator[DeadTest]:
    """Neutrals and lines are joined to the panel's; a switched line is where its switches say so."""
    kind = "neutral bar" if "neutral" in joint.net else "breaker"
    ends = work.at_panel(joint.circuit, kind)
    if not ends:
        return
    if joint.net.startswith("switched "):
        yield from _switched(work, box, joint, ends)
        return
    for place in _places(box, joint):
        near = next((a for a in ends if work.network.joined(a.metal, place.metal, {})), ends[0])
        # Tripped, a ground-fault device shows whether the feed is on its LINE side.
        tripped = {place.metal[0]: 1} if place.metal[-1] in ("line hot", "line neutral") else {}
        yield _row(work, joint.circuit, near, place, tripped, _why_fed(joint.net))


def _switched(work: _Work, box: str, joint: Joint, ends: Sequence[Place]) -> Iterator[DeadTest]:
    """
    The first on the walk that follows a control, in each position of its switches; any other, against that one.

    Others are on while it is off, and off while it is on, so that none of them does what it should. What hangs on a
    line that is always hot, or on another control, reads open against the first one while that is off.
    """
    control = joint.net.removeprefix("switched ")
    tried, first = work.combinations(control), work.first.get(control)
    why = f"follows {control} and nothing else"
    for place in _places(box, joint):
        if first is None or not _follows(work, place):
            continue
        near = next((a for a in ends if any(work.network.joined(a.metal, place.metal, at) for at in tried)), ends[0])
        if place != first:
            off = next((at for at in tried if not work.network.joined(near.metal, first.metal, at)), tried[0])
            yield _row(work, joint.circuit, first, place, off, f"follows {control} as {first.words} does")
            continue
        how = f"{why}; {_EITHER_WAY}" if len(work.points[control]) > 1 else why
        for positions in tried:
            joined = work.network.joined(near.metal, place.metal, positions)
            for others in work.others(control, on=not joined):
                yield _row(work, joint.circuit, near, place, {**positions, **others}, how)


def _follows(work: _Work, place: Place) -> bool:
    """Whether a place on a switched line is what follows the switch, not the switch or a wire on its way."""
    device = work.devices.get(place.metal[0]) if len(place.metal) == 2 else None
    return device is not None and device.kind is not DeviceKind.SWITCH


def _why_fed(net: str) -> str:
    if net.startswith("protected"):
        return f"fed through the ground-fault device {net.rpartition(' ')[2]}"
    return "the neutral is never switched" if net == "neutral" else "always fed"


def _traveler(work: _Work, box: str, joint: Joint, before: Sequence[str]) -> Iterator[DeadTest]:
    """At the second of its two switches a traveler is joined to the first; at the first, to its twin it is not."""
    for here in _at_switch(work, [box], joint.circuit, joint.net):
        for there in _at_switch(work, before, joint.circuit, joint.net):
            yield _row(work, joint.circuit, there, here, {}, "a traveler goes from switch to switch unbroken")
        if joint.net.endswith("a"):
            for there in _at_switch(work, [box], joint.circuit, f"{joint.net[:-1]}b"):
                controls = [joint.net.split(" ")[1]]
                yield from _alike(work, joint.circuit, here, there, controls, "the two travelers touch nowhere")


def _at_switch(work: _Work, boxes: Sequence[str], circuit: str, net: str) -> list[Place]:
    """Terminals of switches on a net in these boxes."""
    joints = [(box, joint) for box in boxes for joint in work.joints[box]]
    return [
        Place(box, terminal, terminal_words(*terminal))
        for box, joint in joints
        if (joint.circuit, joint.net) == (circuit, net)
        for terminal in joint.terminals
    ]


def _interconnect(work: _Work, box: str, joint: Joint, before: Sequence[str]) -> Iterator[DeadTest]:
    """From the first alarm on the walk to every other; there, to nothing else."""
    [here, *_] = _places(box, joint)
    met = [(other, one) for other in before for one in work.joints[other]]
    for other, one in met:
        if (one.circuit, one.net) == (joint.circuit, joint.net):
            [there, *_] = _places(other, one)
            yield _row(work, joint.circuit, there, here, {}, "an alarm sets off the others")
            return
    for one in work.joints[box]:
        if one.circuit in (joint.circuit, "") and one is not joint and one.net != "spare":
            [there, *_] = _places(box, one)
            yield _row(work, joint.circuit, here, there, {}, "the interconnect is a net of its own")


def _in_a_device(work: _Work, device: Device) -> Iterator[DeadTest]:
    """Line to line of what runs on 240 V; both sides of a ground-fault device that has tripped."""
    pairs: list[tuple[str, str, Positions, str]] = [("hot 1", "hot 2", {}, "no short from line to line at the device")]
    if device.id in work.guards:
        tripped, why = {device.id: 1}, "what it protects hangs on its LOAD side alone"
        pairs += [("line hot", "load hot", tripped, why), ("line neutral", "load neutral", tripped, why)]
    own = {name for joint in work.joints.get(device.box, ()) for owner, name in joint.terminals if owner == device.id}
    for one, other, positions, why in pairs:
        if own.issuperset((one, other)):
            a, b = (Place(device.box, (device.id, name), terminal_words(device.id, name)) for name in (one, other))
            yield _row(work, device.circuit, a, b, positions, why)


def _at_the_end(work: _Work, circuit: str) -> Iterator[DeadTest]:
    """The walk may have left a test wire behind."""
    for hot in work.at_panel(circuit, "breaker"):
        for ground in work.at_panel(circuit, "ground bar"):
            why = "once more, before the wires go back: nothing joined for a test was left so"
            yield from _alike(work, circuit, hot, ground, work.controls_of(circuit), why)


def _places(box: str, joint: Joint) -> list[Place]:
    """Where a joint can be probed: its terminals; where it has none, its first wire."""
    if joint.terminals:
        return [Place(box, terminal, terminal_words(*terminal)) for terminal in joint.terminals]
    return [Place(box, (box, *end), end_words(*end)) for end in joint.ends[:1]]


def _rank(net: str) -> int:
    return max((n for n, word in enumerate(_ORDER) if net == word or net.startswith(f"{word} ")), default=len(_ORDER))


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

"""What a box diagram shows: cables and devices as blocks of rows, each row a pin, and the joints that tie pins."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace

from barnloom.model.errors import InputError
from barnloom.model.wiring import Device
from barnloom.routing.plan import Cable, Joint, Makeup, Plan
from barnloom.routing.store import natural_key
from barnloom.viewer.drawings.conductors import conductor_tag, joint_colour, sort_of
from barnloom.viewer.joining import folding_order
from barnloom.viewer.schedule import breaker_words, place_words
from barnloom.viewer.text import clean
from barnloom.viewer.wires import devices_in, label, net_words

Pin = tuple[str, str]
"""(cable id, colour) or (device id, terminal); of a panel's bar (its name, number of the screw)."""
_ORDER = (
    "hot", "hot top", "hot bottom", "hot 1", "hot 2", "line hot", "line neutral", "load hot", "load neutral", "line",
    "load", "common", "traveler 1", "traveler 2", "in 1", "in 2", "out 1", "out 2", "neutral", "interconnect", "ground",
)  # fmt: skip
"""Terminals from the top of a device down."""
_BARS = ("neutral bar", "ground bar")
_POLES = {"1": "hot, first pole", "2": "hot, second pole"}
_LEAD = "own white lead"
"""Of a protective breaker: it goes to the neutral bar, and the circuit's neutral to the breaker."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of a block; ``pin`` None: words alone."""

    text: str
    pin: Pin | None = None
    number: int = 0
    """Of its joint."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A cable that enters, or a device, bar or breaker in the box."""

    owner: str
    heads: tuple[str, ...]
    """What it is, from the most important line down."""
    rows: tuple[Row, ...]
    cable: bool = False
    arrives: bool = False
    """Of a cable: it comes from the panel's side."""
    symbol: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tie:
    """One joint as it is drawn."""

    number: int
    words: str
    pins: tuple[Pin, ...]
    colour: str
    """Of the short wires that belong to it."""
    spliced: bool
    """Whether wires are joined here; else one goes straight to its screw, or one is capped."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """All of one box, or what one circuit has in a panel."""

    title: str
    blocks: tuple[Block, ...]
    """Cables from the panel's side, cables that go on, devices."""
    ties: tuple[Tie, ...]
    """In the order in which they are made up."""
    colours: dict[Pin, str]
    """Insulation of each cable's pins."""
    tapes: dict[Pin, str]
    """Colour of the tape, of those that wear one."""

    def of(self, numbers: range) -> Contents:
        """Return the part that some of the ties make: their pins, and blocks that have one of these."""
        ties = tuple(tie for tie in self.ties if tie.number in numbers)
        pins = {pin for tie in ties for pin in tie.pins}
        kept = (
            replace(block, rows=tuple(row for row in block.rows if row.pin is None or row.pin in pins))
            for block in self.blocks
        )
        return replace(self, ties=ties, blocks=tuple(block for block in kept if any(row.pin for row in block.rows)))


def contents(plan: Plan, box_id: str, circuit: str = "") -> Contents:
    """
    Say what is in a box.

    Parameters
    ----------
    plan : Plan
    box_id : str
        A box or a panel.
    circuit : str
        Of a panel: the circuit whose part is shown; empty: all of them.

    Raises
    ------
    InputError
        If nothing is made up there.
    """
    makeup = next((one for one in plan.makeups if one.box == box_id), None)
    if makeup is None:
        raise InputError(box_id, "a box or a panel that a cable of the plan reaches")
    panel = any(box.id == box_id and box.kind == "panel" for box in plan.building.boxes)
    cables = _cables(plan, box_id, circuit)
    joints = _joints(makeup, cables, circuit)
    joints = [part for joint in joints for part in _at_panel(plan, joint)] if panel else folding_order(joints)
    several = len({joint.circuit for joint in joints if joint.circuit}) > 1
    ties = tuple(_tie(plan, joint, number, several=several) for number, joint in enumerate(joints, 1))
    numbers = {pin: tie.number for tie in ties for pin in tie.pins}
    alone = {tie.pins[0] for tie in ties if len(tie.pins) == 1}
    devices = _panel_blocks(plan, ties, alone) if panel else _device_blocks(plan, makeup, ties, alone)
    said = [(cable, conductor, (cable.id, conductor.colour)) for cable in cables for conductor in cable.conductors]
    return Contents(
        title=f"{'panel' if panel else 'box'} {box_id}{f', circuit {circuit}' if circuit else ''}",
        blocks=(*(_cable_block(cable, box_id, numbers, alone) for cable in cables), *devices),
        ties=ties,
        colours={pin: conductor.colour for _, conductor, pin in said},
        tapes={pin: conductor.marked for _, conductor, pin in said if conductor.marked},
    )


def _cables(plan: Plan, box_id: str, circuit: str) -> list[Cable]:
    """What comes from the panel's side first."""
    here = [cable for cable in plan.cables if box_id in (cable.from_box, cable.to_box)]
    kept = [cable for cable in here if not circuit or circuit in cable.circuit.split()]
    return sorted(kept, key=lambda cable: (cable.to_box != box_id, natural_key(cable.id)))


def _joints(makeup: Makeup, cables: list[Cable], circuit: str) -> list[Joint]:
    """Joints of a box; of a panel those of one circuit, the ground with what this circuit brings to it."""
    if not circuit:
        return list(makeup.joints)
    own = {cable.id for cable in cables}
    parts = (
        replace(joint, ends=tuple(end for end in joint.ends if end[0] in own))
        for joint in makeup.joints
        if joint.circuit in (circuit, "")
    )
    return [joint for joint in parts if joint.ends or joint.circuit]


def _tie(plan: Plan, joint: Joint, number: int, *, several: bool) -> Tie:
    words = net_words(joint.net, plan.building.controls)
    words += ", by the breaker's own lead" if any(name == _LEAD for _, name in joint.terminals) else ""
    pins = (*joint.ends, *joint.terminals)
    return Tie(
        number=number,
        words=clean(f"{joint.circuit}, {words}" if several and joint.circuit else words),
        pins=pins,
        colour=joint_colour(joint),
        spliced=len(pins) > 2 or len(joint.ends) == 2,
    )


def _cable_block(cable: Cable, box_id: str, numbers: dict[Pin, int], alone: set[Pin]) -> Block:
    arrives = cable.to_box == box_id
    rows = []
    for conductor in cable.conductors:
        pin = (cable.id, conductor.colour)
        tag = conductor_tag(conductor) + (", capped" if pin in alone else "")
        rows.append(Row(text=tag, pin=pin, number=numbers.get(pin, 0)))
    way = f"from {cable.from_box}" if arrives else f"on to {cable.to_box}"
    return Block(owner=cable.id, heads=(way, label(cable)), rows=tuple(rows), cable=True, arrives=arrives)


def _terminal_rows(owner: str, ties: tuple[Tie, ...], alone: set[Pin]) -> list[Row]:
    found = [(pin, tie.number) for tie in ties for pin in tie.pins if pin[0] == owner and pin[1] != "box"]
    known = {name: n for n, name in enumerate(_ORDER)}
    found.sort(key=lambda one: (known.get(one[0][1], len(known)), natural_key(one[0][1])))
    return [Row(text=f"{pin[1]} (empty)" if pin in alone else pin[1], pin=pin, number=n) for pin, n in found]


# --- boxes -----------------------------------------------------------------------------------------------------------


def _device_blocks(plan: Plan, makeup: Makeup, ties: tuple[Tie, ...], alone: set[Pin]) -> Iterator[Block]:
    for device in devices_in(plan.building, makeup.box):
        rows = _terminal_rows(device.id, ties, alone)
        if rows:
            yield _device_block(device, rows)
    screw = (makeup.box, "box")
    number = next((tie.number for tie in ties if screw in tie.pins), 0)
    if number:
        yield Block(owner=makeup.box, heads=("metal box",), rows=(Row(text="ground screw", pin=screw, number=number),))


def _device_block(device: Device, rows: list[Row]) -> Block:
    sort = sort_of(device, [row.pin[1] for row in rows if row.pin])
    if device.half_switched:
        at = next((n + 1 for n, row in enumerate(rows) if row.text.startswith("hot top")), 0)
        rows.insert(at, Row(text="- tab broken off -"))
    return Block(owner=device.id, heads=(sort.words, device.id), rows=tuple(rows), symbol=sort.symbol)


# --- panels ----------------------------------------------------------------------------------------------------------


def _at_panel(plan: Plan, joint: Joint) -> Iterator[Joint]:
    """
    A joint of a panel as it is made: every wire under a screw of its own on a bar.

    The neutral of a circuit with a protective breaker goes to that breaker, whose own lead goes to the bar.
    """
    bar = next((name for _, name in joint.terminals if name in _BARS), "")
    if not bar:
        yield joint
        return
    if bar == _BARS[0] and _protective(plan, joint.circuit):
        breaker = f"breaker {joint.circuit}"
        yield replace(joint, terminals=((breaker, "neutral"),))
        yield replace(joint, ends=(), terminals=((breaker, _LEAD), (bar, _screw(joint.circuit))))
        return
    for end in joint.ends:
        yield replace(joint, ends=(end,), terminals=((bar, " ".join(end)),))


def _screw(circuit: str) -> str:
    return f"lead of the breaker of {circuit}"


def _protective(plan: Plan, circuit: str) -> bool:
    return any(sheet.circuit == circuit and sheet.breaker != "plain" for sheet in plan.circuits)


def _panel_blocks(plan: Plan, ties: tuple[Tie, ...], alone: set[Pin]) -> Iterator[Block]:
    """Breakers in order of space, then the bars."""
    rows: defaultdict[str, list[Row]] = defaultdict(list)
    for tie in ties:
        for owner, name in tie.pins:
            pin, empty = (owner, name), " (empty)" if (owner, name) in alone else ""
            if name.startswith("breaker "):
                circuit, _, pole = name.removeprefix("breaker ").partition(" ")
                text = _POLES.get(pole, "hot") + empty
                rows[f"breaker {circuit}"].append(Row(text=text, pin=pin, number=tie.number))
            elif owner.startswith("breaker "):
                rows[owner].append(Row(text=name, pin=pin, number=tie.number))
            elif owner in _BARS:
                rows[owner].append(Row(text="a screw", pin=pin, number=tie.number))
    sheets, places = {f"breaker {sheet.circuit}": sheet for sheet in plan.circuits}, place_words(plan)

    def place(owner: str) -> tuple[int, tuple[int, ...], object]:
        return (
            _BARS.index(owner) + 1 if owner in _BARS else 0,
            sheets[owner].spaces if owner in sheets else (),
            natural_key(owner),
        )

    for owner in sorted(rows, key=place):
        heads = [owner]
        if owner in sheets:
            heads.append(f"{breaker_words(sheets[owner])}, {places[sheets[owner].circuit]}")
        yield Block(owner=owner, heads=tuple(heads), rows=tuple(rows[owner]))

"""What is said of a box or a panel, once for text, page and paper: place, cautions, cables, joints, fill."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from barnloom.model.building import Assembly, Box, Member, Role
from barnloom.model.electrical.fill import easy, fill_lines, fits
from barnloom.model.electrical.parts import wire_connectors
from barnloom.model.lengths import format_length
from barnloom.model.limits import Limits, cited
from barnloom.model.wiring import BoxType, Device, DeviceKind
from barnloom.routing.plan import Cable, CircuitSheet, Joint, Makeup, Plan
from barnloom.routing.store import natural_key
from barnloom.viewer.joining import SCREWED, folding_order, joint_sentence
from barnloom.viewer.paths import side_words
from barnloom.viewer.pulling import box_phases, cable_phases
from barnloom.viewer.schedule import breaker_words, place_words, tandems
from barnloom.viewer.splices import USUAL_AWG, connected_sizes, on_breaker
from barnloom.viewer.text import counted
from barnloom.viewer.wires import conductor_words, devices_by_box, label, listed, net_words

_STUB = (
    "It is live as soon as its breaker is on: end it in a box of its own with a blank cover (NEC 300.15; not in the "
    "list of what to buy), or leave its hot wires out of the joint in the box before it, each capped."
)
_CANOPY = (
    "not counted: up to four smaller than 14 AWG and a ground that come from a domed canopy may be left out "
    "[314.16(B)(1), exception: from memory]; without a canopy each counts"
)
_CANOPIED = frozenset({DeviceKind.LIGHT, DeviceKind.ALARM})
_LED = frozenset({DeviceKind.MACHINE, DeviceKind.HEATER})
"""Kinds whose leads are as thick as the circuit's conductors."""
_ONE_WIRE = "most take one wire under a terminal (NEC 110.14(A), from memory)"
_PANEL = (
    "The panel is work for a licensed electrician wherever the law keeps it for one. Its feed stays live while the "
    "main breaker is off."
)
_APART = "neutral bar and ground bar are apart in this panel: take out or leave out the strap between them"


@dataclass(frozen=True, slots=True, kw_only=True)
class CableEntry:
    """A cable that enters a box."""

    cable: str
    label: str
    arrives: bool
    """From the panel's side; else it goes on."""
    other: str
    """The box at its other end."""
    phase: int
    """In which it comes, where that is later than the box; else 0."""
    words: str
    """What each conductor brings; in a panel, a sentence that says where each goes."""

    @property
    def way(self) -> str:
        """Say where it comes from or leads to, without the other box's name."""
        return "from" if self.arrives else "on to"

    @property
    def later(self) -> str:
        """Mark of a cable that comes later than the box; empty for the others."""
        return f", phase {self.phase}" if self.phase else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class JointLine:
    """How a joint is made, and what its net is for."""

    sentence: str
    net: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FillRow:
    """A line of the sum of a box's fill, volumes in cubic inches."""

    count: float
    each_in3: float
    total_in3: float
    what: str
    clause: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """All that is said of a box or a panel; what it has not is empty."""

    box: str
    kind: str
    """As the box has it: "box", "panel", "stub"."""
    title: str
    """Empty where it says no more than the id."""
    place: str
    made_up: bool = False
    """Whether the plan says how it is made up."""
    devices: str = ""
    buy: str = ""
    notes: tuple[str, ...] = ()
    """Phases; what is not joined yet; in a panel, of its bars."""
    cautions: tuple[str, ...] = ()
    cables: tuple[CableEntry, ...] = ()
    """In order of id; in a panel in the order of spaces."""
    joints: tuple[JointLine, ...] = ()
    """In the order of folding; none in a panel."""
    last: str = ""
    """Step after the joints."""
    edition: str = ""
    """Of the code by which the fill is counted."""
    fill: tuple[FillRow, ...] = ()
    fill_notes: tuple[str, ...] = ()
    """First the sum and what is had; then what the sum leaves out."""


def cards(plan: Plan) -> tuple[Card, ...]:
    """Return a card for every box: panels first, each kind in order of id."""
    work = _Work(plan)
    made = {makeup.box: makeup for makeup in plan.makeups}
    boxes = sorted(plan.building.boxes, key=lambda box: (box.kind != "panel", natural_key(box.id)))
    return tuple(_card(work, box, made.get(box.id)) for box in boxes)


class _Work:
    """A plan looked up in the ways that the cards need."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.metric = plan.building.metric
        self.boxes = {box.id: box for box in plan.building.boxes}
        self.types: dict[str, BoxType] = {kind.id: kind for kind in plan.building.box_types}
        self.members: dict[str, Member] = {member.id: member for member in plan.building.members}
        self.assemblies: dict[str, Assembly] = {one.id: one for one in plan.building.assemblies}
        self.floors = {storey.id: storey for storey in plan.building.storeys}
        self.sheets: dict[str, CircuitSheet] = {sheet.circuit: sheet for sheet in plan.circuits}
        self.limits = Limits(plan.building.limits)
        self.cables: dict[str, list[Cable]] = {}
        for cable in sorted(plan.cables, key=lambda cable: natural_key(cable.id)):
            for box in (cable.from_box, cable.to_box):
                self.cables.setdefault(box, []).append(cable)
        awg = {kind.id: kind.awg for kind in plan.building.cable_types}
        self.awg = {cable.id: awg.get(cable.type, 0) for cable in plan.cables}
        self.joined_awg = {cable: size or USUAL_AWG for cable, size in self.awg.items()}
        self.devices = {device.id: device for device in plan.building.devices}
        self.devices_in = devices_by_box(plan.building)
        self.wall_ends: dict[str, str] = {}
        for member in plan.building.members:
            if member.role is Role.SOLE_PLATE:
                self.wall_ends.setdefault(member.assembly, member.along_from)
        self.built, self.phase = box_phases(plan), cable_phases(plan)
        self.places, self.halves = place_words(plan), {sheet.circuit for pair in tandems(plan) for sheet in pair}
        self.tape = {(cable.id, one.colour): one.marked for cable in plan.cables for one in cable.conductors}


def _card(work: _Work, box: Box, makeup: Makeup | None) -> Card:
    title, place = box.title if box.title != box.id else "", _place_words(work, box)
    if makeup is None:
        cables = tuple(_entry(work, box, cable) for cable in work.cables.get(box.id, ()))
        cautions = () if cables else (_unreached_words(work, box),)
        return Card(box=box.id, kind=box.kind, title=title, place=place, cautions=cautions, cables=cables)
    if box.kind == "panel":
        bonded = any(one.panel == box.id and one.neutral_bonded for one in work.plan.building.breakers)
        apart = work.plan.building.supply.separate and not bonded
        return Card(
            box=box.id,
            kind=box.kind,
            title=title,
            place=place,
            made_up=True,
            notes=(_APART,) if apart else (),
            cautions=(_PANEL,),
            cables=tuple(_panel_entries(work, box, makeup)),
        )
    devices = work.devices_in[box.id]
    unjoined = _unjoined(makeup, devices)
    circuits = sorted({joint.circuit for joint in makeup.joints if joint.circuit}, key=natural_key)
    return Card(
        box=box.id,
        kind=box.kind,
        title=title,
        place=place,
        made_up=True,
        devices=_device_words(devices) if box.kind == "box" else "the end of a cable, left for later",
        buy=_bought_words(work, makeup) if box.kind == "box" else "",
        notes=(*_phase_words(work, box), *([_unjoined_words(unjoined)] if unjoined else [])),
        cautions=tuple(_cautions(box, circuits)),
        cables=tuple(_entry(work, box, cable) for cable in work.cables.get(box.id, ())),
        joints=tuple(_joint_lines(work, box, makeup, several=len(circuits) > 1)),
        last=_last_words([device for device in devices if device not in unjoined]),
        edition=work.limits.limit("fill.conductor").edition if makeup.fill else "",
        fill=tuple(_fill_rows(makeup, devices)),
        fill_notes=tuple(_fill_notes(work, makeup, devices)) if makeup.fill else (),
    )


def _unreached_words(work: _Work, box: Box) -> str:
    why = next((lost.reason for lost in work.plan.unreached_why if lost.box == box.id), "")
    return f"No cable of this plan reaches it{f': {why}' if why else ''}."


def _cautions(box: Box, circuits: Sequence[str]) -> Iterator[str]:
    if len(circuits) > 1:
        yield (
            f"TWO CIRCUITS MEET HERE: {listed(circuits)}. Turn off the breakers of all of them before opening it. Join "
            "nothing of one with anything of another but the grounds; above all not their neutrals."
        )
    if box.kind == "stub":
        yield _STUB


def _joint_lines(work: _Work, box: Box, makeup: Makeup, *, several: bool) -> Iterator[JointLine]:
    """Sentences in folding order; where several circuits meet, each net with its circuit."""
    devices, later = work.devices_in[box.id], _later(work, box)
    for joint in folding_order(makeup.joints):
        net = net_words(joint.net, work.plan.building.controls)
        sentence = joint_sentence(joint, devices, work.tape, later) + _groups_words(work, joint)
        yield JointLine(sentence=sentence, net=f"{joint.circuit}, {net}" if several and joint.circuit else net)


def _last_words(joined: Sequence[Device]) -> str:
    if not any(device.yokes for device in joined):
        return ""
    return f"Fold in and fasten {listed([f'the {device.kind.value} {device.id}' for device in joined])}."


def _entry(work: _Work, box: Box, cable: Cable, words: str = "") -> CableEntry:
    arrives = cable.to_box == box.id
    brings = "; ".join(conductor_words(one, work.plan.building.controls) for one in cable.conductors)
    return CableEntry(
        cable=cable.id,
        label=label(cable),
        arrives=arrives,
        other=cable.from_box if arrives else cable.to_box,
        phase=_later(work, box).get(cable.id, 0),
        words=words or brings,
    )


def _later(work: _Work, box: Box) -> dict[str, int]:
    """Cables of a box that come in a later phase than the box, and that phase."""
    own = (cable.id for cable in work.cables.get(box.id, ()))
    return {name: work.phase[name] for name in own if work.phase[name] > work.built[box.id]}


def _phase_words(work: _Work, box: Box) -> Iterator[str]:
    """Say when a box is there, and which of its cables come after it."""
    built, later = work.built[box.id], _later(work, box)
    if built > 1:
        yield f"phase {built}: nothing of it is bought, put up or joined before"
    for phase in sorted(set(later.values())):
        names = [name for name, when in later.items() if when == phase]
        they = "it comes" if len(names) == 1 else "they come"
        yield (
            f"phase {phase} adds {listed(names)}: make the joints without {'it' if len(names) == 1 else 'them'} until "
            f"then, and leave the knockout shut; when {they}, breaker off, open the joints again"
        )


def _groups_words(work: _Work, joint: Joint) -> str:
    """What to do where no connector takes all of a joint."""
    sizes = connected_sizes(joint, work.devices, work.joined_awg)
    groups = wire_connectors(sizes) if sizes else ()
    if len(groups) < 2:
        return ""
    return f" No connector takes them all: make {len(groups)} groups, each joined to the next by a short wire."


def _unjoined(makeup: Makeup, devices: Sequence[Device]) -> list[Device]:
    """Devices of a box that nothing is joined to, for what they serve is not reached."""
    joined = {name for joint in makeup.joints for name, terminal in joint.terminals if terminal != "box"}
    return [device for device in devices if device.id not in joined] if makeup.joints else []


def _unjoined_words(devices: Sequence[Device]) -> str:
    named = listed([f"{device.kind.value} {device.id}" for device in devices])
    return (
        f"left out: {named}, for what belongs to {'it' if len(devices) == 1 else 'them'} is not reached; cap what ends "
        "here, under a blank cover"
    )


def _device_words(devices: Sequence[Device]) -> str:
    if not devices:
        return "a junction under a blank cover; the cover stays in reach"
    return listed([_named(device) for device in devices])


def _named(device: Device) -> str:
    words = [*([device.detects] if device.detects else []), device.kind.value, device.id]
    said = []
    if device.kind in SCREWED:
        said.append(f"{device.rating_a:g} A, {device.volts} V")
    if device.ground_fault:
        said.append("ground-fault")
    if device.half_switched:
        said.append(f"upper half follows {device.control}: break the tab between the two hot (brass) screws")
    elif device.control:
        said.append(f"{'a point of' if device.kind is DeviceKind.SWITCH else 'follows'} {device.control}")
    if device.linked:
        each = f"{device.load_va / device.linked:g} W"
        lights = counted(device.linked, "plug-in light" if device.yokes else "light")
        said.append(f"{lights} of {each}, one hung on the next, no more than their maker allows")
    return " ".join(words) + (f" ({', '.join(said)})" if said else "")


def _place_words(work: _Work, box: Box) -> str:
    """Where a box is: on what, how far along, how high over the floor."""

    def size(inches: float) -> str:
        return format_length(inches, metric=work.metric)

    storey = work.floors[box.storey]
    height = f"centre {size(box.at[2] - storey.floor_in)} over the floor of {storey.id}"
    if box.side:
        member = work.members[box.host]
        side = side_words(member, box.side)
        return f"on the {side} of {box.host}, {size(box.u_in)} from its {member.along_from}; {height}"
    host = work.assemblies.get(box.host)
    if host is None:
        return f"in {box.host}; {height}"
    named = host.id if not host.title or host.id in host.title else f"{host.id} ({host.title})"
    if host.kind == "wall":
        end = work.wall_ends.get(host.id, "start")
        return f"in the wall {named}, centre {size(box.u_in)} from its {end}; {height}"
    across, along = ("along the eave", "up the slope") if host.kind == "roof" else ("across the joists", "along them")
    kind = "roof" if host.kind == "roof" else "ceiling"
    return (
        f"in the {kind} {named}, from its datum corner {size(box.u_in)} {across} and {size(box.v_in)} {along}; {height}"
    )


def _bought_words(work: _Work, makeup: Makeup) -> str:
    bought = [
        f"{name} ({work.types[name].title})" if name in work.types else name for name in (makeup.box_type, makeup.ring)
    ]
    words = " with ".join(name for name in bought if name)
    words = f"to buy: {words}" if words else "the box as the scene gives it"
    kind = work.types.get(makeup.box_type)
    if kind is not None and kind.material == "plastic" and kind.gangs == 1 and kind.clamps == "none":
        near = work.limits.limit("cable.first_support_plain_box")
        size = format_length(near.value, metric=work.metric)
        words += f"; it has no clamp: fasten every cable within {size} of it, measured along the sheath ({cited(near)})"
    return words


def _fill_rows(makeup: Makeup, devices: Sequence[Device]) -> Iterator[FillRow]:
    kinds = _kinds(devices)
    for line in makeup.fill:
        yield FillRow(
            count=line.count,
            each_in3=line.each_in3,
            total_in3=line.total_in3,
            what=kinds.get(line.what, line.what) + (f", {line.awg} AWG" if line.awg else ""),
            clause=line.clause,
        )


def _fill_notes(work: _Work, makeup: Makeup, devices: Sequence[Device]) -> Iterator[str]:
    kinds = _kinds(devices)
    total, volume = makeup.fill_in3, makeup.volume_in3
    if volume:
        yield _share_words(work, total, volume)
    else:
        yield f"{total:.2f} in3 wanted; the volume of the box is not known: read what is marked in it"
    canopied = listed([kinds[device.id] for device in devices if device.kind in _CANOPIED])
    if canopied:
        yield f"wires of {canopied}: {_CANOPY}"
    led = [device.id for device in devices if device.kind in _LED]
    if led:
        yield f"leads of {listed([kinds[name] for name in led])}: {_lead_words(work, makeup, led)}"


def _kinds(devices: Sequence[Device]) -> dict[str, str]:
    return {device.id: f"{device.kind.value} {device.id}" for device in devices}


def _share_words(work: _Work, total: float, volume: float) -> str:
    """What is wanted of a volume, and whether that is too much or more than is aimed at."""
    verdict = ""
    if not fits(total, volume):
        verdict = ": TOO FULL"
    elif not easy(total, volume, work.limits):
        caution = work.limits.limit("fill.caution")
        verdict = f": it fits, but is over the {100 * caution.value:.0f} % aimed at ({cited(caution)})"
    return f"{total:.2f} of {volume:.2f} in3 ({100 * total / volume:.0f} %){verdict}"


def _lead_words(work: _Work, makeup: Makeup, led: Sequence[str]) -> str:
    """
    What the leads of machines take where they come into the box.

    They count like any conductor that enters and is spliced (NEC 314.16(B)(1)), and not at all where they are joined in
    the machine's own housing; a plan does not know which, so the sum leaves them out and this is told beside it.
    """
    leads: Counter[int] = Counter()
    grounds: list[int] = []
    more: list[int] = []
    for joint in makeup.joints:
        sizes = [work.awg[cable] for cable, _ in joint.ends if work.awg.get(cable)]
        own = sum(owner in led and name != "box" for owner, name in joint.terminals)
        if joint.net == "ground":
            grounds, more = sizes, sizes[:1] * own
        elif sizes and own:
            leads[min(sizes)] += own
    with_leads = fill_lines(conductors=leads, grounds=[*grounds, *more], limits=work.limits)
    without = fill_lines(conductors={}, grounds=grounds, limits=work.limits)
    total = makeup.fill_in3 + sum(line.total_in3 for line in with_leads) - sum(line.total_in3 for line in without)
    words = "not counted, as in its own housing; where they come into this box each counts [314.16(B)(1)]"
    if not leads:
        return words
    more_words = listed([f"{count} of {awg} AWG" for awg, count in sorted(leads.items())])
    share = _share_words(work, total, makeup.volume_in3) if makeup.volume_in3 else f"{total:.2f} in3"
    return f"{words}: with {more_words} it is {share}"


def _panel_entries(work: _Work, box: Box, makeup: Makeup) -> Iterator[CableEntry]:
    """Which conductor of which cable goes where, by the space of its breaker."""
    places = {end: _panel_place(work, joint) for joint in makeup.joints for end in joint.ends}
    for cable in sorted(work.cables.get(box.id, ()), key=lambda one: (_first_space(work, one), natural_key(one.id))):
        by_place: dict[str, list[str]] = {}
        for one in cable.conductors:
            tape = f" (taped {one.marked})" if one.marked else ""
            by_place.setdefault(places.get((cable.id, one.colour), "a cap"), []).append(f"the {one.colour}{tape}")
        words = listed([f"{listed(colours)} on {place}" for place, colours in by_place.items()])
        yield _entry(work, box, cable, f"Put {words}." if words else "Its conductors are not planned.")


def _first_space(work: _Work, cable: Cable) -> int:
    sheets = [work.sheets[name] for name in cable.circuit.split() if name in work.sheets]
    return min((space for sheet in sheets for space in sheet.spaces), default=0)


def _panel_place(work: _Work, joint: Joint) -> str:
    """Where in a panel the wires of a joint go."""
    name = next((name for _, name in joint.terminals), "")
    sheet = work.sheets.get(joint.circuit)
    shared = f", joined with the others of {joint.circuit} by a pigtail: {_ONE_WIRE}" if len(joint.ends) > 1 else ""
    if name == "neutral bar" and on_breaker(joint, sheet):
        return f"the neutral terminal of its breaker (the breaker's own white lead goes to the neutral bar){shared}"
    if not name.startswith("breaker "):
        return f"the {name}" if name else "a cap"
    if sheet is None:
        return f"the {name}"
    pole = name.removeprefix(f"breaker {joint.circuit}").strip()
    which = {"1": ", first terminal", "2": ", second terminal"}.get(pole, "")
    place = work.places[sheet.circuit]
    if sheet.circuit in work.halves:
        place += ", half of a tandem breaker"
    return f"the breaker of {joint.circuit} ({breaker_words(sheet)}, {place}{which}){shared}"

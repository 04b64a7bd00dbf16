"""``boxes.txt``: a card for every box and panel: cables that enter, joints as sentences in folding order, its fill."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

from barnloom.model.building import Assembly, Box, Member, Role
from barnloom.model.electrical.fill import easy, fill_lines, fits
from barnloom.model.electrical.parts import wire_connectors
from barnloom.model.lengths import format_length
from barnloom.model.limits import Limits, cited
from barnloom.model.wiring import BoxType, Device, DeviceKind
from barnloom.routing.plan import Cable, CircuitSheet, Joint, Makeup, Plan
from barnloom.routing.store import natural_key
from barnloom.viewer.lists import bullets, head_lines, ruled
from barnloom.viewer.paths import side_words
from barnloom.viewer.pulling import box_phases, cable_phases
from barnloom.viewer.schedule import space_words, tandems
from barnloom.viewer.splices import USUAL_AWG, connected_sizes, on_breaker
from barnloom.viewer.text import counted, paragraph
from barnloom.viewer.wires import conductor_words, devices_in, label, listed, net_words

_NOTE = "  "
_SCREWED = frozenset({DeviceKind.SWITCH, DeviceKind.RECEPTACLE, DeviceKind.OPENER})
"""Kinds with screws, which a pigtail reaches; the others have leads, which are joined like wires."""
_SCREWS = {
    "hot": "hot (brass) screw",
    "hot top": "upper hot (brass) screw",
    "hot bottom": "lower hot (brass) screw",
    "hot 1": "first hot screw",
    "hot 2": "second hot screw",
    "neutral": "neutral (silver) screw",
    "line hot": "hot screw marked LINE",
    "line neutral": "neutral screw marked LINE",
    "load hot": "hot screw marked LOAD",
    "load neutral": "neutral screw marked LOAD",
    "line": "first brass screw",
    "load": "second brass screw",
    "common": "common screw",
    "traveler 1": "first traveler screw",
    "traveler 2": "second traveler screw",
    "in 1": "first IN screw",
    "in 2": "second IN screw",
    "out 1": "first OUT screw",
    "out 2": "second OUT screw",
    "ground": "green screw",
}
_LEADS = {"hot 1": "first hot lead", "hot 2": "second hot lead"}
_READING = (
    "Each joint is one sentence. A pigtail is a short wire of the same size from the joint to a screw.",
    "A white wire that is taped is no neutral: wrap it at both ends with tape of the colour said, first of all.",
    "Fold in this order: grounds to the back, neutrals over them, then the rest, the device last.",
    "What a meter must read before power comes on is in deadtest.csv.",
)
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
_ORDER = ("ground", "neutral", "protected neutral")
"""What is made up and folded first; the rest after it."""


def boxes_text(plan: Plan) -> str:
    """Cards: panels first, then boxes in order of id."""
    work = _Work(plan)
    lines = head_lines(plan, "BOXES TO MAKE UP")
    lines += ["HOW TO READ IT", *bullets(_READING), ""]
    made = [makeup for makeup in plan.makeups if makeup.box in work.boxes]
    made.sort(key=lambda makeup: (work.boxes[makeup.box].kind != "panel", natural_key(makeup.box)))
    for makeup in made:
        box = work.boxes[makeup.box]
        card = _panel_lines(work, box, makeup) if box.kind == "panel" else _box_lines(work, box, makeup)
        lines += [*card, ""]
    if plan.unreached:
        lines += [*ruled("NOT REACHED, SO NOT MADE UP"), *(f"  {box}" for box in plan.unreached)]
    return "\n".join(lines).rstrip("\n") + "\n"


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
        self.devices = {device.id: device for device in plan.building.devices}
        self.built, self.phase = box_phases(plan), cable_phases(plan)
        self.spaces, self.halves = space_words(plan), {sheet.circuit for pair in tandems(plan) for sheet in pair}
        self.tape = {(cable.id, one.colour): one.marked for cable in plan.cables for one in cable.conductors}


def joint_sentence(
    joint: Joint,
    devices: Sequence[Device],
    tape: Mapping[tuple[str, str], str],
    later: Mapping[str, int] = MappingProxyType({}),
) -> str:
    """
    Say one joint as one sentence.

    Parameters
    ----------
    joint : Joint
    devices : sequence of Device
        Those of the box.
    tape : mapping of (cable id, colour) to str
        Colour of the tape on a conductor, empty for none.
    later : mapping of cable id to int
        Phase of the cables that come after the box itself.

    Examples
    --------
    >>> switch = Device(id="SW1", box="SW1", kind=DeviceKind.SWITCH, circuit="LIGHTS")
    >>> joint = Joint(
    ...     net="line",
    ...     circuit="LIGHTS",
    ...     ends=(("LIGHTS.G1", "black"), ("LIGHTS.SW2", "black")),
    ...     terminals=(("SW1", "common"),),
    ... )
    >>> joint_sentence(joint, [switch], {})
    'Join the black of LIGHTS.G1 and the black of LIGHTS.SW2, with a pigtail to the common screw of the switch.'
    """
    ends = []
    for cable, colour in joint.ends:
        notes = [f"taped {tape[cable, colour]}"] if tape.get((cable, colour)) else []
        notes += [f"phase {later[cable]}"] if cable in later else []
        ends.append(f"the {colour} of {cable}" + (f" ({', '.join(notes)})" if notes else ""))
    screws: list[str] = []
    leads: list[str] = []
    for owner, name in joint.terminals:
        words, screwed = _terminal(owner, name, devices)
        (screws if screwed else leads).append(words)
    wires = [*ends, *leads]
    if not wires:
        return f"Link {listed(screws)} with a short wire." if len(screws) > 1 else f"Leave {listed(screws)} empty."
    if len(wires) == 1 and not screws:
        return f"Cap {wires[0]}; nothing else goes with it here."
    if len(wires) == 1 and len(screws) == 1:
        return f"Put {wires[0]} on {screws[0]}."
    pigtails = f"{'a pigtail' if len(screws) == 1 else 'pigtails'} to {listed(screws)}" if screws else ""
    if len(wires) == 1:
        return f"Join {wires[0]} and {pigtails}."
    return f"Join {listed(wires)}{f', with {pigtails}' if pigtails else ''}."


def _terminal(owner: str, name: str, devices: Sequence[Device]) -> tuple[str, bool]:
    """A terminal in words, and whether it is a screw."""
    if name == "box":
        return "the ground screw of the box", True
    device = next((device for device in devices if device.id == owner), None)
    if device is None:
        return f"the {name} of {owner}", True
    alike = sum(other.kind is device.kind for other in devices)
    named = f"the {device.kind.value}" if alike == 1 else f"the {device.kind.value} {device.id}"
    if device.kind in _SCREWED:
        return f"the {_SCREWS.get(name, f'{name} screw')} of {named}", True
    return f"the {_LEADS.get(name, f'{name} lead')} of {named}", False


def _box_lines(work: _Work, box: Box, makeup: Makeup) -> list[str]:
    building = work.plan.building
    devices = devices_in(building, box.id)
    title = f": {box.title}" if box.title and box.title != box.id else ""
    lines = ruled(f"BOX {box.id}{title}")
    lines += paragraph(_device_words(devices) if box.kind == "box" else "the end of a cable, left for later")
    lines += paragraph(_place_words(work, box))
    if box.kind == "box":
        lines += paragraph(_bought_words(work, makeup))
    circuits = sorted({joint.circuit for joint in makeup.joints if joint.circuit}, key=natural_key)
    if len(circuits) > 1:
        lines += paragraph(
            f"TWO CIRCUITS MEET HERE: {listed(circuits)}. Turn off the breakers of all of them before opening it. Join "
            "nothing of one with anything of another but the grounds; above all not their neutrals.",
            first="! ",
        )
    for words in _phase_words(work, box):
        lines += paragraph(words)
    if box.kind == "stub":
        lines += paragraph(_STUB, first="! ")
    if unjoined := _unjoined(makeup, devices):
        lines += paragraph(_unjoined_words(unjoined))
    lines += ["", "Cables", *_cable_lines(work, box)]
    lines += ["", "Joints, in the order of folding"]
    number = 0
    for number, joint in enumerate(_in_order(makeup.joints), 1):
        words = net_words(joint.net, building.controls)
        words = f"{joint.circuit}, {words}" if len(circuits) > 1 and joint.circuit else words
        sentence = joint_sentence(joint, devices, work.tape, _later(work, box)) + _groups_words(work, joint)
        lines += paragraph(f"{sentence} [{words}]", first=f"{number:>3}  ")
    if any(device.yokes for device in devices if device not in unjoined):
        last = listed([f"the {device.kind.value} {device.id}" for device in devices if device not in unjoined])
        lines += paragraph(f"Fold in and fasten {last}.", first=f"{number + 1:>3}  ")
    if makeup.fill:
        edition = work.limits.limit("fill.conductor").edition
        lines += ["", f"Fill, by {edition}", *_fill_lines(work, makeup)]
    return lines


def _cable_lines(work: _Work, box: Box) -> Iterator[str]:
    for cable in work.cables.get(box.id, ()):
        way = f"from {cable.from_box}" if cable.to_box == box.id else f"on to {cable.to_box}"
        way += f", phase {phase}" if (phase := _later(work, box).get(cable.id)) else ""
        brings = "; ".join(conductor_words(one, work.plan.building.controls) for one in cable.conductors)
        yield from paragraph(f"{cable.id}, label {label(cable)}, {way}. {brings}", first=_NOTE, later=_NOTE * 2)


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
    sizes = connected_sizes(joint, work.devices, {name: awg or USUAL_AWG for name, awg in work.awg.items()})
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


def _in_order(joints: Sequence[Joint]) -> list[Joint]:
    """Joints in the order in which they are made up and folded: grounds, neutrals, the rest."""

    def rank(joint: Joint) -> tuple[int, str, str]:
        kinds = [n for n, net in enumerate(_ORDER) if joint.net == net or joint.net.startswith(f"{net} ")]
        last = len(_ORDER) + (joint.net == "spare")
        return (kinds[0] if kinds else last, joint.circuit, joint.net)

    return sorted(joints, key=rank)


def _device_words(devices: Sequence[Device]) -> str:
    if not devices:
        return "a junction under a blank cover; the cover stays in reach"
    return listed([_named(device) for device in devices])


def _named(device: Device) -> str:
    words = [*([device.detects] if device.detects else []), device.kind.value, device.id]
    said = []
    if device.kind in _SCREWED:
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
        plates = (one for one in work.members.values() if one.assembly == host.id and one.role is Role.SOLE_PLATE)
        end = next((plate.along_from for plate in plates), "start")
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


def _fill_lines(work: _Work, makeup: Makeup) -> list[str]:
    lines = []
    kinds = {device.id: f"{device.kind.value} {device.id}" for device in devices_in(work.plan.building, makeup.box)}
    for line in makeup.fill:
        size = f", {line.awg} AWG" if line.awg else ""
        sum_words = f"{line.count:>5g} x {line.each_in3:.2f} = {line.total_in3:>6.2f}"
        lines += paragraph(f"{kinds.get(line.what, line.what)}{size} [{line.clause}]", first=f"{_NOTE}{sum_words}  ")
    total, volume = makeup.fill_in3, makeup.volume_in3
    if volume:
        lines += paragraph(_share_words(work, total, volume), first=_NOTE)
    else:
        said = f"{total:.2f} in3 wanted; the volume of the box is not known: read what is marked in it"
        lines += paragraph(said, first=_NOTE)
    devices = devices_in(work.plan.building, makeup.box)
    canopied = listed([kinds[device.id] for device in devices if device.kind in _CANOPIED])
    if canopied:
        lines += paragraph(f"wires of {canopied}: {_CANOPY}", first=_NOTE)
    led = [device.id for device in devices if device.kind in _LED]
    if led:
        words = f"leads of {listed([kinds[name] for name in led])}: {_lead_words(work, makeup, led)}"
        lines += paragraph(words, first=_NOTE)
    return lines


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


def _panel_lines(work: _Work, box: Box, makeup: Makeup) -> list[str]:
    """Which conductor of which cable goes where."""
    plan = work.plan
    lines = ruled(f"PANEL {box.id}{f': {box.title}' if box.title and box.title != box.id else ''}")
    lines += paragraph(_place_words(work, box))
    lines += paragraph(_PANEL, first="! ")
    bonded = any(one.panel == box.id and one.neutral_bonded for one in plan.building.breakers)
    if plan.building.supply.separate and not bonded:
        lines += paragraph(
            "neutral bar and ground bar are apart in this panel: take out or leave out the strap between them"
        )
    places: dict[tuple[str, str], str] = {}
    for joint in makeup.joints:
        for end in joint.ends:
            places[end] = _panel_place(work, joint)
    cables = sorted(work.cables.get(box.id, ()), key=lambda cable: (_first_space(work, cable), natural_key(cable.id)))
    lines += ["", "Cables"]
    for cable in cables:
        by_place: dict[str, list[str]] = {}
        for one in cable.conductors:
            tape = f" (taped {one.marked})" if one.marked else ""
            by_place.setdefault(places.get((cable.id, one.colour), "a cap"), []).append(f"the {one.colour}{tape}")
        words = listed([f"{listed(colours)} on {place}" for place, colours in by_place.items()])
        said = f"Put {words}." if words else "Its conductors are not planned."
        lines += paragraph(f"{cable.id}, label {label(cable)}. {said}", first=_NOTE, later=_NOTE * 2)
    return lines


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
    one = len(sheet.spaces) == 1
    spaces = f"{'space' if one else 'spaces'} {work.spaces[sheet.circuit]}"
    if sheet.circuit in work.halves:
        spaces += ", half of a tandem breaker"
    kind = "" if sheet.breaker == "plain" else f" {sheet.breaker}"
    return f"the breaker of {joint.circuit} ({sheet.breaker_a:g} A{kind}, {spaces}{which}){shared}"

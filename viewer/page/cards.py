"""Cards of members with their holes, and of cables."""

from __future__ import annotations

from barnloom.model.bore_rules import barred, spoken
from barnloom.model.building import Member
from barnloom.model.lengths import format_length
from barnloom.routing.plan import Bore, Cable
from barnloom.viewer.lists import hole_notes, length_words
from barnloom.viewer.page.index import Index
from barnloom.viewer.page.markup import Markup, element, joined
from barnloom.viewer.page.pieces import card, chips, facts, steps, tick, values
from barnloom.viewer.paths import path_words
from barnloom.viewer.pulling import cable_phases
from barnloom.viewer.text import counted
from barnloom.viewer.wires import conductor_words, label


def member_cards(index: Index) -> list[Markup]:
    """Cards of all members: those with holes in walking order, then the others."""
    return [_member_card(index, member) for member in (*index.bored, *index.unbored)]


def cable_cards(index: Index) -> list[Markup]:
    """Cards of all cables, in pulling order."""
    phases = cable_phases(index.plan)
    several = len(set(phases.values())) > 1
    return [_cable_card(index, cable, phases[cable.id] if several else 0) for cable in index.cables]


def _member_card(index: Index, member: Member) -> Markup:
    metric = index.plan.building.metric
    bores = index.bores.get(member.id, ())
    assembly = index.names.assemblies.get(member.assembly)
    place = f"{spoken(member)} of {assembly.id}" if assembly else spoken(member)
    if assembly and assembly.title and assembly.title != assembly.id:
        place = f"{place} ({assembly.title})"
    about = [f"{place}, {member.section}, {format_length(member.length_in, metric=metric)} long"]
    why = barred(member)
    if why:
        about.append(f"Do not bore it: {why}.")
    elif not bores:
        about.append("No hole of this plan is in it.")
    else:
        hooks = f"Hook the tape on the {member.along_from}; across is from the {member.across_from}."
        about.append(f"{counted(len(bores), 'hole')}. {hooks}")
    kinds = {"floor": "Look at this bay from below", "roof": "Look at this slope from below"}
    words = kinds.get(assembly.kind, "Look at this wall from the room") if assembly else "Look at it alone"
    look = element("button", {"type": "button", "class": "look", "data-look": member.id}, words)
    anchor = index.anchors["member", member.id]
    return card(
        anchor, "member", member.id, about, *(_hole(index, member, bore) for bore in bores), look, plain=not bores
    )


def _hole(index: Index, member: Member, bore: Bore) -> Markup:
    metric = index.plan.building.metric
    anchor = index.anchors["hole", bore.id]

    def size(inches: float) -> str:
        return format_length(inches, metric=metric, feet=False)

    low = format_length(bore.across_min_in, metric=metric, feet=False, rounding="up")
    high = format_length(bore.across_max_in, metric=metric, feet=False, rounding="down")
    place = [
        (f"along, from {member.along_from}", format_length(bore.along_in, metric=metric)),
        (f"aim, across from {member.across_from}", size(bore.across_in)),
    ]
    if not bore.existing:
        place.append(("allowed across", f"{low} to {high}"))
    bit = f"{'old hole' if bore.existing else 'bit'} {size(bore.diameter_in)}"
    return element(
        "section",
        {"class": "hole", "id": anchor, "tabindex": "-1", "aria-labelledby": f"{anchor}-name"},
        element("h3", {"id": f"{anchor}-name"}, "Hole ", bore.id, " ", element("span", None, bit)),
        values(place),
        facts(_hole_facts(index, bore)),
        tick("hole", bore.id, "Drilled", done=bore.existing),
        Markup("") if bore.existing else _moved(bore, member, anchor, metric=metric),
        chips((index.link("cable", name) for name in bore.cables), "Cables through it"),
    )


def _hole_facts(index: Index, bore: Bore) -> list[str]:
    metric = index.plan.building.metric
    spare = format_length(bore.margin_in, metric=metric, feet=False, rounding="down")
    rule = f"rule: {bore.rule}" + ("" if bore.existing else f"; {spare} to spare")
    stick = [f"drill stick No. {index.sticks[bore.id]} (sheet S1)"] if bore.id in index.sticks else []
    return [*hole_notes(index.plan, index.names, [bore]), *stick, rule]


def _moved(bore: Bore, member: Member, anchor: str, *, metric: bool) -> Markup:
    """Fields for where a hole has been bored instead, and the verdict under them."""

    def field(way: str, from_where: str, aim: str) -> Markup:
        name = f"{anchor}-{way}"
        said = {
            "id": name,
            "type": "text",
            "autocomplete": "off",
            "placeholder": aim,
            "data-moved": way,
            "data-name": bore.id,
            "aria-describedby": f"{anchor}-verdict",
        }
        return element(
            "p", None, element("label", {"for": name}, f"{way}, from the {from_where}"), element("input", said)
        )

    along = format_length(bore.along_in, metric=metric)
    across = format_length(bore.across_in, metric=metric, feet=False)
    return element(
        "fieldset",
        {"class": "moved"},
        element("legend", None, "Moved to", element("i", None, f" {bore.id}")),
        field("along", member.along_from, along),
        field("across", member.across_from, across),
        element("output", {"id": f"{anchor}-verdict", "class": "verdict", "aria-live": "polite"}),
    )


def _cable_card(index: Index, cable: Cable, phase: int) -> Markup:
    plan, metric = index.plan, index.plan.building.metric
    floor = cable.floor if cable.floor.startswith("between ") else f"floor {cable.floor}"
    titles = [one.title for one in plan.building.circuits if one.id in cable.circuit.split() and one.title]
    circuit = f"circuit {cable.circuit}" + (f" ({', '.join(titles)})" if titles else "")
    about = [f"{cable.type}, {circuit}, {floor}" + (f", phase {phase}" if phase else "")]
    ends = joined(
        ("From ", index.link("box", cable.from_box), " (the panel's side) to ", index.link("box", cable.to_box))
    )
    extras = [counted(len(cable.bores), "hole"), counted(cable.staples, "staple"), counted(cable.turns, "turn")]
    if cable.board_in:
        extras.append(f"{format_length(cable.board_in, metric=metric)} on boards")
    if cable.covered_in:
        extras.append(f"cover {format_length(cable.covered_in, metric=metric, rounding='up')} of it")
    wires = [conductor_words(one, plan.building.controls) for one in cable.conductors]
    if wires:
        wires.append(f"at most {cable.current_a:.1f} A, drop {cable.drop_percent:.1f} %")
    return card(
        index.anchors["cable", cable.id],
        "cable",
        cable.id,
        about,
        element("p", {"class": "ends"}, ends),
        values([("label, on both ends and at the first staple", label(cable)), *_cut(cable, metric=metric)]),
        tick("cable", cable.id, "Pulled", done=cable.done),
        element("h3", None, "Its way, from the panel's side"),
        steps(path_words(index.names, cable, metric=metric)),
        facts([", ".join(extras)]),
        element("h3", None, "Length, part by part"),
        facts(length_words(cable, metric=metric)),
        element("h3", None, "Where the tails hang"),
        facts(_tails(index, cable, metric=metric)),
        *((element("h3", None, "What is in it"), facts(wires)) if wires else ()),
        chips((index.link("hole", name) for name in cable.bores), "Its holes, in order"),
    )


def _cut(cable: Cable, *, metric: bool) -> list[tuple[str, str]]:
    return [("cut", format_length(cable.cut_in, metric=metric))]


def _tails(index: Index, cable: Cable, *, metric: bool) -> list[str]:
    """How much of a cable hangs out at each end."""
    free = format_length(cable.free_in / 2, metric=metric)
    panels = {box.id for box in index.plan.building.boxes if box.kind == "panel"}

    def end(box: str) -> str:
        if box in panels and cable.panel_in:
            long = format_length(cable.free_in / 2 + cable.panel_in, metric=metric)
            return f"at {box}: {long} out of where it comes in, coiled, the label on"
        return f"at {box}: {free} of free conductor out of the box, the label on"

    return [end(cable.from_box), end(cable.to_box)]

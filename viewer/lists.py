"""The lists for people: ``holes.txt`` to drill by and ``cables.txt`` to pull by, in tape fractions and plain text."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby

from barnloom.model.boring import tie_needed
from barnloom.model.building import Circuit, Role
from barnloom.model.lengths import MILLIMETRE_IN, SIXTEENTH_IN, format_length, snap
from barnloom.model.limits import Limits, cited
from barnloom.routing.cost import is_overhead
from barnloom.routing.plan import Bore, Cable, Plan
from barnloom.routing.store import natural_key
from barnloom.viewer import totals
from barnloom.viewer.cautions import CAUTIONS, answer_lines, title_lines, warnings
from barnloom.viewer.paths import Framing, framing, path_words, run_words, runs
from barnloom.viewer.pulling import cable_phases, later_tails, pull_order, steps_from_panel
from barnloom.viewer.text import COLUMNS, Column, counted, flowed, heading_lines, paragraph, row_lines, width
from barnloom.viewer.wires import conductor_words, label

TICK = "[ ]"
_PLATES = {Role.SOLE_PLATE, Role.TOP_PLATE}
_DONE = "[x]"
_MOVED = "________"
_NOTE = "     "
_HOLE = Column("hole", 25)
_HOLE_COLUMNS = (
    Column("", 3),
    _HOLE,
    Column("along", 11),
    Column("aim", 8),
    Column("allowed", 20),
    Column("cables", 11),
    Column("moved to", 8),
)


_READING = (
    "along: from the end named over each table to the middle of the hole, never from hole to hole",
    "aim: from the edge or face named there to the middle of the hole",
    "allowed: anywhere in this band keeps the limits; it is rounded inward",
    "moved to: bored elsewhere? Write where, and have it checked before the cable goes in",
)


def holes_text(plan: Plan) -> str:
    """Hole list in walking order, one table for each bit and for each place where the tape hooks on anew."""
    names = framing(plan)
    lines = head_lines(plan, "HOLES TO BORE")
    lines += ["HOW TO READ IT", *bullets(_READING), ""]
    to_bore = totals.to_bore(plan)
    for diameter in totals.holes_by_bit(to_bore):
        bores = [bore for bore in to_bore if bore.diameter_in == diameter]
        lines += _bit_lines(plan, names, diameter, bores)
    old = [bore for bore in plan.bores if bore.existing]
    if old:
        lines += ruled("HOLES THERE ALREADY: nothing to bore")
        lines += _place_lines(plan, names, old)
    lines += ruled("TOTALS")
    lines += [
        *(_bit_total(plan, diameter, count) for diameter, count in totals.holes_by_bit(to_bore).items()),
        f"{counted(len(to_bore), 'hole')} to bore, {sum(map(is_overhead, to_bore))} of them overhead",
        *([f"{counted(len(old), 'hole')} there already"] if old else []),
        counted(sum(len(bore.nail_plates) for bore in plan.bores), "nail plate"),
        *_tie_lines(plan, names),
        "The rule that governs each hole, and how much is to spare, is in holes.csv.",
    ]
    return "\n".join(lines) + "\n"


def cables_text(plan: Plan) -> str:
    """Cable list by circuit, home runs first and then as they are fed: path in words, length part by part."""
    names = framing(plan)
    lines = head_lines(plan, "CABLES TO PULL")
    lines += [
        *paragraph(
            "cut = path + entries (into the box, at both ends) + free conductor (both ends) + panel + slack. Lengths "
            "are printed to the nearest mark of a tape, and slack takes up the rounding; cables.csv has every decimal. "
            "Label both ends, and again at the first staple: that label survives the trimming."
        ),
        "",
    ]
    circuits = {circuit.id: circuit for circuit in plan.building.circuits}
    feeds = {(cable.circuit, cable.to_box): cable for cable in plan.cables}

    def order(cable: Cable) -> tuple[object, ...]:
        return (natural_key(cable.circuit), steps_from_panel(feeds, cable), natural_key(cable.id))

    for circuit, cables in groupby(sorted(plan.cables, key=order), key=lambda cable: cable.circuit):
        lines += ruled(_circuit_heading(circuit, circuits))
        for cable in cables:
            lines += [*_cable_lines(plan, names, cable), ""]
    lines += [*ruled("PULL ORDER"), *_pull_lines(plan), ""]
    if plan.unreached:
        lines += [*ruled("NOT REACHED"), *unreached_lines(plan), ""]
    lines += ruled("TOTALS")
    for share in totals.shares(plan):
        if share.by in {"type", "total"}:
            cut, buy = (totals.run_of(feet, metric=plan.building.metric) for feet in (share.feet, share.feet_to_buy))
            lines += paragraph(f"{share.name}: {cut} cut, {buy} of it to buy")
    count = len(plan.cables)
    lines.append(f"{counted(count, 'cable')}, {sum(cable.done for cable in plan.cables)} of them pulled already")
    return "\n".join(lines) + "\n"


def unreached_lines(plan: Plan) -> list[str]:
    """Boxes without a route, each with the reason and with what would open one."""
    lines = []
    for lost in plan.unreached_why:
        lines += paragraph(f"{lost.box} ({lost.circuit}): {lost.reason}", first="  ")
        for change in lost.would_open:
            lines += paragraph(f"would open it: {change}", first="    - ")
    explained = {lost.box for lost in plan.unreached_why}
    for box in plan.unreached:
        if box not in explained:
            lines.append(f"  {box}")
    return lines


def head_lines(plan: Plan, heading: str) -> list[str]:
    """Head of every list for people: title, cautions, what was assumed, the answers kept, warnings."""
    lines = [line for text in (heading, *title_lines(plan)) for line in paragraph(text)]
    lines += ["", "CAUTIONS", *bullets(CAUTIONS)]
    sections = (
        ("ASSUMED, OR CHANGED BY THE SCENE", plan.assumptions),
        ("ANSWERS KEPT", answer_lines(plan)),
        ("WARNINGS", warnings(plan)),
    )
    for title, found in sections:
        if found:
            lines += ["", title, *bullets(found)]
    return [*lines, ""]


def bullets(texts: Iterable[str]) -> list[str]:
    """Texts, each behind a stroke."""
    return [line for text in texts for line in paragraph(text, first="- ")]


def ruled(heading: str) -> list[str]:
    """Lines of a heading and the rule under it."""
    return [*paragraph(heading), "=" * COLUMNS]


def _bit_lines(plan: Plan, names: Framing, diameter: float, bores: Sequence[Bore]) -> list[str]:
    bit = format_length(diameter, metric=plan.building.metric, feet=False)
    return [*ruled(f"BIT {bit}: {counted(len(bores), 'hole')}"), *_place_lines(plan, names, bores)]


def _place_lines(plan: Plan, names: Framing, bores: Sequence[Bore]) -> list[str]:
    """Tables of holes in walking order, a new one wherever the place or the tape's hooks change."""

    def place(bore: Bore) -> tuple[str, str, str]:
        member = names.members[bore.member]
        return member.assembly, member.along_from, member.across_from

    lines: list[str] = []
    for (assembly, along_from, across_from), group in groupby(bores, key=place):
        title = names.assemblies[assembly].title if assembly in names.assemblies else ""
        title = title if assembly in title else f"{assembly}, {title}" if title else assembly
        lines += paragraph(f"{title}: hook the tape on the {along_from}; aim and allowed from the {across_from}")
        lines += heading_lines(_HOLE_COLUMNS)
        for equal in equal_bores(names, list(group)):
            lines += row_lines(_HOLE_COLUMNS, hole_cells(plan, names, equal))
            lines += _under_hole(plan, names, equal)
        lines.append("")
    return lines


def equal_bores(names: Framing, bores: Sequence[Bore]) -> list[list[Bore]]:
    """Return bores in groups that differ in nothing but their member, where the members are neighbours."""

    def alike(bore: Bore) -> tuple[object, ...]:
        return (
            bore.along_in, bore.across_in, bore.across_min_in, bore.across_max_in, bore.diameter_in, bore.cables,
            bore.nail_plates, bore.existing,
        )  # fmt: skip

    groups: list[list[Bore]] = []
    for _, same in groupby(bores, key=alike):
        left = list(same)
        for run in runs(names, [bore.member for bore in left]):
            groups.append(left[: len(run)])
            left = left[len(run) :]
    return groups


def hole_cells(plan: Plan, names: Framing, equal: Sequence[Bore]) -> list[str]:
    """Return a row of holes that are alike: tick, its id or members, along, aim, allowed, cables, room to write."""
    metric, first = plan.building.metric, equal[0]
    members = first.id if first.id.startswith(f"{first.member}.") else f"{first.member}: {first.id}"
    if len(equal) > 1:
        members = f"{run_words(names, [bore.member for bore in equal])}: same"
        if width(members) > _HOLE.columns:
            last = equal[-1].member.removeprefix(f"{names.members[equal[-1].member].assembly}-")
            members = f"{equal[0].member} to {last}: same"
    low = format_length(first.across_min_in, metric=metric, feet=False, rounding="up")
    high = format_length(first.across_max_in, metric=metric, feet=False, rounding="down")
    return [
        _DONE if first.existing else TICK if len(equal) == 1 else "",
        members,
        format_length(first.along_in, metric=metric),
        format_length(first.across_in, metric=metric, feet=False),
        f"{low} to {high}",
        " ".join(sorted(first.cables, key=natural_key)),
        _MOVED if len(equal) == 1 and not first.existing else "",
    ]


def _under_hole(plan: Plan, names: Framing, equal: Sequence[Bore]) -> list[str]:
    """Lines under a hole's row: a tick for each of equal holes, and its notes."""
    lines: list[str] = []
    if len(equal) > 1 and not equal[0].existing:
        lines += flowed((f"{TICK} {bore.id} {_MOVED}" for bore in equal), first=_NOTE)
    for note in hole_notes(plan, names, equal):
        lines += paragraph(note, first=_NOTE)
    return lines


def hole_notes(plan: Plan, names: Framing, equal: Sequence[Bore]) -> list[str]:
    """Return what else to do at holes that are alike: nail plates, members of the same pass, a tie."""
    notes: list[str] = []
    if equal[0].nail_plates:
        notes.append(f"NAIL PLATE on: {', '.join(equal[0].nail_plates)}")
    with_it = [name for bore in equal for name in in_one_go(names, bore)]
    if with_it:
        notes.append(f"in one go with {run_words(names, with_it)}")
    tied = [bore.member for bore in equal if tie_needed(names.members[bore.member], names.limits, bore.diameter_in)]
    if tied:
        notes.append(f"steel tie across {run_words(names, tied)}: {_tie_words(plan)}")
    return notes


def in_one_go(names: Framing, bore: Bore) -> list[str]:
    """Return members of another kind that the same push of the bit goes through: a sole plate with the one below it."""
    role = names.members[bore.member].role
    others = names.passes[bore.drill_pass].items()
    return [name for other, own in others if other is not role and _PLATES.intersection((role, other)) for name in own]


def _tie_words(plan: Plan) -> str:
    limits, metric = Limits(plan.building.limits), plan.building.metric
    wide, past = (format_length(limits[f"plate.tie_{name}"], metric=metric, feet=False) for name in ("width", "past"))
    return (
        f"galvanised steel, at least {limits['plate.tie_thickness']:g} in thick and {wide} wide, {past} past the hole "
        f"and {limits['plate.tie_nails']:g} nails (10d) on each side; {cited(limits.limit('plate.tie_share'))}"
    )


def _tie_lines(plan: Plan, names: Framing) -> list[str]:
    tied = sum(tie_needed(names.members[bore.member], names.limits, bore.diameter_in) for bore in plan.bores)
    return [counted(tied, "plate tie")] if tied else []


def _bit_total(plan: Plan, diameter: float, count: int) -> str:
    return f"bit {format_length(diameter, metric=plan.building.metric, feet=False)}: {counted(count, 'hole')}"


def _pull_lines(plan: Plan) -> list[str]:
    """Cables still to pull, numbered; what comes in a later phase than the box that feeds it."""
    when, order = cable_phases(plan), pull_order(plan)
    in_phases = len(set(when.values())) > 1
    lines = paragraph(
        "Home runs first, the longest, largest and deepest; then cables with travelers; then from device to device. "
        "The panel's end comes last: leave it coiled there, its label on. (Common practice.)"
    )
    for number, cable in enumerate(order, 1):
        phase = f"phase {when[cable.id]}, " if in_phases else ""
        cut = format_length(cable.cut_in, metric=plan.building.metric)
        lines += paragraph(f"{TICK} {label(cable)} ({phase}{cut})", first=f"{number:>4}  ", later=" " * 10)
    panels = {box.id for box in plan.building.boxes if box.kind == "panel"}
    for cable in later_tails(plan):
        near = "on no breaker" if cable.from_box in panels else "joined to nothing"
        lines += paragraph(
            f"{cable.id} is of phase {when[cable.id]}: pulled and joined then. Pulled earlier all the same, its end at "
            f"{cable.to_box} waits in a covered box, capped and tagged: buy that box then, and a blank cover that the "
            f"takeoff does not list. At {cable.from_box} it is capped and tagged too, {near}."
        )
    return lines


def _circuit_heading(circuit: str, circuits: Mapping[str, Circuit]) -> str:
    titles = [circuits[name].title for name in circuit.split() if name in circuits and circuits[name].title]
    return f"CIRCUIT {circuit}" + (f": {', '.join(titles)}" if titles else "")


def _cable_lines(plan: Plan, names: Framing, cable: Cable) -> list[str]:
    metric = plan.building.metric
    state = f"{_DONE} {cable.id} (pulled already)" if cable.done else f"{TICK} {cable.id}"
    floor = cable.floor if cable.floor.startswith("between ") else f"floor {cable.floor}"
    lines = flowed([state, cable.type, f"from {cable.from_box} to {cable.to_box}", floor])
    lines += paragraph(f"label {label(cable)}", first=_NOTE)
    if cable.conductors:
        wires = "; ".join(conductor_words(one, plan.building.controls) for one in cable.conductors)
        lines += paragraph(f"{wires}; at most {cable.current_a:.1f} A, drop {cable.drop_percent:.1f} %", first=_NOTE)
    for number, step in enumerate(path_words(names, cable, metric=metric), 1):
        lines += paragraph(step, first=f"{_NOTE}{number:>3}  ")
    lines += flowed(length_words(cable, metric=metric), first=_NOTE, gap=1)
    extras = [counted(len(cable.bores), "hole"), counted(cable.staples, "staple"), counted(cable.turns, "turn")]
    if cable.board_in:
        extras.append(f"{format_length(cable.board_in, metric=metric)} on boards")
    if cable.covered_in:
        extras.append(f"cover {format_length(cable.covered_in, metric=metric, rounding='up')} of it")
    return [*lines, *paragraph(", ".join(extras), first=_NOTE)]


def length_words(cable: Cable, *, metric: bool) -> list[str]:
    """Return a length part by part; what is printed adds up, because slack takes the rounding of the others."""
    grid = MILLIMETRE_IN if metric else SIXTEENTH_IN
    parts = {
        "path": cable.path_in,
        "entries": cable.entries_in,
        "free conductor": cable.free_in,
        "panel": cable.panel_in,
    }
    cut = snap(cable.cut_in, grid)
    printed = {**parts, "slack": cut - sum(snap(part, grid) for part in parts.values())}
    words = [
        f"{name} {format_length(part, metric=metric)}" for name, part in printed.items() if part or name != "panel"
    ]
    return [words[0], *(f"+ {part}" for part in words[1:]), f"= cut {format_length(cut, metric=metric)}"]

"""Sheets to pull and to connect by: pull list, cable labels, a card for every box, circuits, switching."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from barnloom.model.errors import InputError
from barnloom.model.lengths import format_length
from barnloom.routing.plan import Cable, Plan
from barnloom.routing.store import natural_key
from barnloom.viewer.cards import Card, cards
from barnloom.viewer.drawing import Drawing
from barnloom.viewer.drawings.paper import LABEL_PT, LADDER_PT, MM_PER_INCH, Paper
from barnloom.viewer.drawings.switching import Switching, switching_rows
from barnloom.viewer.drawings.wiring_box import box_diagrams
from barnloom.viewer.drawings.wiring_circuit import circuit_diagrams
from barnloom.viewer.lists import length_words
from barnloom.viewer.paths import framing, path_words
from barnloom.viewer.pulling import cable_phases, pull_order
from barnloom.viewer.sheets.blocks import (
    TICK,
    Beside,
    Block,
    Bullets,
    Cards,
    Column,
    Figure,
    Heading,
    Sheet,
    Table,
    Together,
    Words,
)
from barnloom.viewer.sheets.typeset import room_mm
from barnloom.viewer.text import counted
from barnloom.viewer.wires import label

PULL_COLUMNS = (
    Column(title=TICK),
    Column(title="no.", align="right"),
    Column(title="cable", share=1.0),
    Column(title="label", share=1.5),
    Column(title="from"),
    Column(title="to"),
    Column(title="cut", align="right"),
)
_CARD_MM = (190.0, 120.0)
_BESIDE_MM = 126.0
"""Width of a diagram that leaves room for words beside it."""
_FULL = Paper(scale=1)
_READING = (
    "Numbers before the steps are those of the joints in the diagram. A pigtail is a short wire of the same size from "
    "the joint to a screw. A white wire that is taped is no neutral: wrap it at both ends with tape of the colour "
    "said, first of all. Grounds go to the back, neutrals over them, then the rest, the device last."
)


def pull_sheets(plan: Plan) -> Iterator[Sheet]:
    """Yield the cables in the order of pulling: label, cut length part by part, way in words, plates and staples."""
    names, metric, when = framing(plan), plan.building.metric, cable_phases(plan)
    plates = {bore.id: len(bore.nail_plates) for bore in plan.bores}
    rows: list[list[str] | str] = []
    for number, cable in enumerate(pull_order(plan), 1):
        cut = format_length(cable.cut_in, metric=metric)
        rows.append([TICK, str(number), cable.id, label(cable), cable.from_box, cable.to_box, cut])
        rows.append(";  ".join(f"{n} {step}" for n, step in enumerate(path_words(names, cable, metric=metric), 1)))
        many = sum(plates[name] for name in cable.bores)
        phase = f"; phase {when[cable.id]}" if when[cable.id] > 1 else ""
        rows.append(
            f"{' '.join(length_words(cable, metric=metric))}; {counted(cable.staples, 'staple')}, "
            f"{counted(many, 'nail plate')}{phase}"
        )
    if rows:
        how = Words(
            text="Label both ends and the first staple from each end before the cable goes in. Free ends hang out of "
            "the box as long as the length says; the coil each cut comes off is on the sheet of coils."
        )
        table = Table(columns=PULL_COLUMNS, rows=rows, points=LADDER_PT)
        yield Sheet(number="C1", title="cables in the order of pulling", blocks=[how, table], landscape=True)


def label_sheets(plan: Plan) -> Iterator[Sheet]:
    """Yield labels to cut out: two to a cable."""
    cables = sorted((c for c in plan.cables if not c.done), key=lambda cable: natural_key(cable.id))
    if cables:
        texts = [text for cable in cables for text in (_label_words(cable, "start"), _label_words(cable, "end"))]
        how = Words(text="Cut out, wrap round the cable, cover with clear tape. One for each end.")
        yield Sheet(number="C2", title="cable labels", blocks=[how, Cards(items=texts)])


def _label_words(cable: Cable, end: str) -> tuple[str, str]:
    here, there = (cable.from_box, cable.to_box) if end == "start" else (cable.to_box, cable.from_box)
    return cable.id, f"{label(cable)} · here {here}, other end {there}"


def box_sheets(plan: Plan) -> Iterator[Sheet]:
    """Yield a card for each box: its wiring drawn, all that is said of it, every joint in folding order, its fill."""
    boxes = [card for card in cards(plan) if card.made_up and card.kind != "panel"]
    if boxes:
        blocks = [Together(blocks=_card(plan, card)) for card in boxes]
        how = Words(text=_READING, points=LABEL_PT)
        yield Sheet(number="B1", title="boxes to make up", blocks=[how, *blocks])


def _card(plan: Plan, card: Card) -> list[Block]:
    """A card: what is said of the box beside its diagram if that is narrow enough, else below it; then the steps."""
    title = f"{TICK} box {card.box}{f': {card.title}' if card.title else ''}"
    about: list[Block] = [
        *(Words(text=words, points=LABEL_PT) for words in (card.devices, card.place, card.buy, *card.notes) if words),
        Bullets(items=[f"{one.cable}: {one.label}{one.later}" for one in card.cables], points=LABEL_PT),
    ]
    narrow = _diagrams(plan, card, _BESIDE_MM)
    if len(narrow) == 1:
        drawn: list[Block] = [Beside(left=about, right=narrow, right_mm=_BESIDE_MM)]
    else:
        drawn = [*_diagrams(plan, card, _CARD_MM[0]), *about]
    steps = [f"{number}. {joint.sentence}" for number, joint in enumerate(card.joints, 1)]
    steps += [f"{len(steps) + 1}. {card.last}"] if card.last else []
    cautions = [Bullets(items=card.cautions, framed=True)] if card.cautions else []
    return [Heading(text=title), *cautions, *drawn, Bullets(items=steps, points=LADDER_PT, ticks=True), *_fill(card)]


def _diagrams(plan: Plan, card: Card, width_mm: float) -> list[Block]:
    """Its diagrams so wide; none if they cannot be."""
    try:
        return _figures(box_diagrams(plan, card.box, size_in=(width_mm / MM_PER_INCH, _CARD_MM[1] / MM_PER_INCH)))
    except InputError:
        return []


def _fill(card: Card) -> Iterator[Block]:
    """The sum in one paragraph, then what it leaves out."""
    if card.fill:
        total, *left_out = card.fill_notes
        rows = "; ".join(
            f"{row.count:g} \N{MULTIPLICATION SIGN} {row.each_in3:.2f} = {row.total_in3:.2f} {row.what} [{row.clause}]"
            for row in card.fill
        )
        yield Words(text=f"Fill, by {card.edition}: {rows}. In all {total}", points=LABEL_PT)
        yield from (Words(text=words, points=LABEL_PT) for words in left_out)


def panel_wire_sheets(plan: Plan) -> Iterator[Sheet]:
    """Yield, for each panel, where every wire of every circuit goes in it."""
    size = (_CARD_MM[0] / MM_PER_INCH, _CARD_MM[1] / MM_PER_INCH)
    panels = sorted({sheet.panel for sheet in plan.circuits}, key=natural_key)
    caution = Bullets(
        items=(
            "Work in the panel is for a licensed electrician wherever the law keeps it for one. Its feed stays live "
            "while the main breaker is off.",
        ),
        framed=True,
    )
    for number, panel in enumerate(panels, 1):
        own = sorted((s.circuit for s in plan.circuits if s.panel == panel), key=natural_key)
        wired = [
            name for name in own if any(panel == cable.from_box and name == cable.circuit for cable in plan.cables)
        ]
        figures = [
            Together(
                blocks=[
                    Heading(text=f"{TICK} circuit {name}"),
                    *_figures(box_diagrams(plan, panel, circuit=name, size_in=size)),
                ]
            )
            for name in wired
        ]
        if figures:
            yield Sheet(number=f"K{number}.1", title=f"panel {panel}: where each wire goes", blocks=[caution, *figures])


def _figures(drawings: Sequence[Drawing]) -> list[Block]:
    return [Figure(drawing=drawing, paper=_FULL) for drawing in drawings]


def circuit_sheets(plan: Plan, paper: str) -> Iterator[Sheet]:
    """Yield a diagram of each circuit, and of each control the table of all positions."""
    width, height = room_mm(paper, landscape=True)
    size = (width / MM_PER_INCH, (height - 8.0) / MM_PER_INCH)
    for number, sheet in enumerate(sorted(plan.circuits, key=lambda one: natural_key(one.circuit)), 1):
        if not any(sheet.circuit in cable.circuit.split() for cable in plan.cables):
            continue
        figures = _figures(circuit_diagrams(plan, sheet.circuit, size_in=size))
        yield Sheet(number=f"W{number}", title=f"circuit {sheet.circuit}", blocks=figures, landscape=True)
    tables = [
        Together(blocks=[Heading(text=f"{found.control}: {found.title or found.control}"), *_switching(found)])
        for found in (switching_rows(plan, control.id) for control in plan.building.controls)
    ]
    if tables:
        yield Sheet(number="W0", title="switching: every position of the switches", blocks=tables)


def _switching(found: Switching) -> Iterator[Block]:
    yield Bullets(items=found.words)
    if found.rows:
        columns = [Column(title=name, align="center") for name in (*found.points, *found.lights)]
        rows = [[*row.positions, *("on" if lit else "off" for lit in row.on)] for row in found.rows]
        yield Table(columns=columns, rows=rows)

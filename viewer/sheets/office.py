"""Sheets for table, store and inspector: cover, panel, load, material, questions, tests, blanks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from barnloom.model.lengths import format_length
from barnloom.model.limits import Limits
from barnloom.routing.plan import Plan
from barnloom.routing.store import natural_key
from barnloom.routing.wiring.load import load_sum, load_words
from barnloom.routing.wiring.supply import supply_words
from barnloom.viewer import totals
from barnloom.viewer.asbuilt import broken, done_words, elsewhere
from barnloom.viewer.cautions import CAUTIONS, answer_lines, title_lines, warnings
from barnloom.viewer.drawings.one_line import one_line
from barnloom.viewer.drawings.paper import LADDER_PT, MM_PER_INCH, Paper
from barnloom.viewer.questions import Asked, asked, supply_facts, to_write_in
from barnloom.viewer.rows import Row as TableRow
from barnloom.viewer.schedule import leg_loads, schedule_cells, sheets_of
from barnloom.viewer.sheets.blocks import (
    BLANK,
    TICK,
    Block,
    Bullets,
    Column,
    Figure,
    Heading,
    Lines,
    Sheet,
    Table,
    Together,
    Words,
)
from barnloom.viewer.sheets.typeset import room_mm
from barnloom.viewer.takeoff import coil_rows, takeoff_rows
from barnloom.viewer.text import counted
from barnloom.viewer.wired_tables import dead_rows

WALK = (
    "All boxes are in reach, and nothing is covered before the inspection.",
    "Holes: edge distance kept, or a nail plate on the face that is too near.",
    "Cables: fastened near every box and along the way; no kinks; not in the way of screws.",
    "Cables enter boxes through a clamp or connector; sheath shows inside; free ends as long as asked for.",
    "Box fill: the sums are on the cards.",
    "Grounds joined in every box, and with every metal box and yoke.",
    "Neutrals joined only within their circuit; none switched.",
    "Whites that are no neutral are taped at both ends.",
    "Holes between floors are filled where the code asks for it.",
    "Panel: one wire a terminal, torque as marked, directory filled in, openings closed.",
    "In a separate building neutral and ground are apart in the panel; electrodes connected.",
    "Ground-fault protection trips at its test button, everywhere it feeds.",
)
"""What an inspector looks at, and you before (common practice, no source)."""

ONE_LINE_SHARE = 0.66
"""Of a page's height, for the one-line under the schedule."""


def cover(plan: Plan, sheets: Sequence[Sheet], *, title: str) -> Sheet:
    """Return the first sheet: the job, cautions, assumptions, what is in the pack."""
    job, about = title_lines(plan)
    total = next(share for share in totals.shares(plan) if share.by == "total")
    bore = totals.to_bore(plan)
    metric = plan.building.metric
    boxes = sum(box.kind == "box" for box in plan.building.boxes)
    panels = sum(box.kind == "panel" for box in plan.building.boxes)
    words = (
        f"{counted(len(plan.circuits), 'circuit')} from {counted(panels, 'panel')}, "
        f"{boxes} {'box' if boxes == 1 else 'boxes'}, "
        f"{counted(len(plan.cables), 'cable')} of {totals.run_of(total.feet, metric=metric)} in all, "
        f"{counted(len(bore), 'hole')} to bore."
    )
    blocks: list[Block] = [
        Heading(text=job),
        *([Words(text=about)] if about else []),
        Words(text=words),
        Heading(text="Cautions"),
        Bullets(items=CAUTIONS, framed=True),
    ]
    if plan.resized:
        blocks += [
            Heading(text="Made larger than usual"),
            Bullets(items=[f"{one.subject}: {one.before} to {one.after}: {one.because}" for one in plan.resized]),
        ]
    if plan.unreached:
        blocks += [Heading(text="Not reached"), Words(text=", ".join(plan.unreached))]
    if plan.assumptions:
        blocks += [Heading(text="Assumed, since nobody has answered"), Bullets(items=plan.assumptions)]
    kept = answer_lines(plan)
    if kept:
        blocks += [Heading(text="Answers kept"), Bullets(items=kept)]
    told = warnings(plan)
    if told:
        blocks += [Heading(text="Warnings"), Bullets(items=told)]
    index = [[sheet.number, sheet.title, sheet.scale] for sheet in sheets]
    columns = (Column(title="sheet"), Column(title="what it is", share=1.0), Column(title="scale"))
    blocks += [
        Heading(text="In this pack"),
        Words(text="Drawings are true when the line at the foot of their page measures what is written under it."),
        Table(columns=columns, rows=index),
    ]
    return Sheet(number="0", title=title, blocks=blocks)


def panel_sheets(plan: Plan, paper: str) -> Iterator[Sheet]:
    """Yield of each panel its schedule, one-line and load on each leg; then the load of the building and its supply."""
    width, height = room_mm(paper, landscape=False)
    panels = sorted({sheet.panel for sheet in plan.circuits}, key=natural_key)
    columns = [
        Column(title=title, share=share, align=align)
        for title, share, align in (
            ("space", 0.0, "left"),
            ("leg", 0.0, "center"),
            ("breaker", 0.8, "left"),
            ("circuit", 1.0, "left"),
            ("load; breaker sized for", 0.9, "right"),
            ("cable", 0.7, "left"),
            ("longest run", 0.0, "right"),
            ("drop", 0.0, "right"),
        )
    ]
    for number, panel in enumerate(panels, 1):
        rows: list[Sequence[str] | str] = []
        for sheet, cells in ((one, schedule_cells(plan, one)) for one in sheets_of(plan, panel)):
            rows.append(cells)
            rows += sheet.notes
        legs = ", ".join(f"leg {leg} {va:,.0f} VA" for leg, va in leg_loads(plan, panel).items())
        blocks: list[Block] = [
            Table(columns=columns, rows=rows),
            Words(text=f"Connected: {legs}."),
        ]
        size = (width / MM_PER_INCH, ONE_LINE_SHARE * height / MM_PER_INCH)
        blocks += [Figure(drawing=drawing, paper=Paper(scale=1)) for drawing in one_line(plan, panel, size_in=size)]
        yield Sheet(number=f"K{number}", title=f"panel {panel}: schedule and one-line", blocks=blocks)
    load = load_sum(plan.building, Limits(plan.building.limits))
    if load:
        sums = [
            [line.what, f"{line.va:,.0f}", f"{line.factor:.3f}", f"{line.demand_va:,.0f}", line.clause] for line in load
        ]
        sums.append(["sum", "", "", f"{sum(line.demand_va for line in load):,.0f}", ""])
        heads = (
            Column(title="what", share=1.6),
            Column(title="VA", align="right"),
            Column(title="factor", align="right"),
            Column(title="counts as VA", align="right"),
            Column(title="by", share=1.0),
        )
        blocks = [
            Table(columns=heads, rows=sums, sum_row=True),
            Bullets(items=load_words(plan.building, load)),
            Heading(text="Left to licensed work, and what it has to be"),
            Bullets(items=supply_words(plan.building)),
        ]
        yield Sheet(number="K9", title="load of the building, and its supply", blocks=blocks)


def material_sheets(plan: Plan) -> Iterator[Sheet]:
    """Yield what to buy, aisle by aisle, and which cut comes off which coil."""
    rows: list[list[str] | str] = []
    for row in takeoff_rows(plan):
        size = str(row["size"] or "")
        item = f"{row['item']}, {size}" if size else str(row["item"])
        rows.append(
            [TICK, _quantity(row["quantity"]), str(row["unit"]), item, _money(row["unit_price"]), _money(row["price"])]
        )
    heads = (
        Column(title=TICK),
        Column(title="how many", align="right"),
        Column(title="of"),
        Column(title="what", share=1.0),
        Column(title="each", align="right"),
        Column(title="price", align="right"),
    )
    note = Words(
        text="Prices are placeholders unless the scene gives its own store's. Bring a few spare of all that is small."
    )
    yield Sheet(number="T1", title="what to buy", blocks=[note, Table(columns=heads, rows=rows)])
    cuts = [_coil_cells(row, metric=plan.building.metric) for row in coil_rows(plan)]
    if cuts:
        columns = (
            Column(title=TICK),
            Column(title="type"),
            Column(title="coil"),
            Column(title="of", align="right"),
            Column(title="cut for", share=1.0),
            Column(title="cut", align="right"),
            Column(title="left after it", align="right"),
        )
        note = Words(text="Cut the longest first, as listed. Nothing that is too short is made longer with a splice.")
        yield Sheet(
            number="T2", title="coils, and what is cut from them", blocks=[note, Table(columns=columns, rows=cuts)]
        )


def _quantity(value: object) -> str:
    """A count, or feet to a tenth."""
    return f"{float(str(value)):.1f}" if value not in (None, "") and float(str(value)) % 1 else str(value)


def _money(value: object) -> str:
    return f"{float(value):.2f}" if isinstance(value, int | float) else str(value or "")


def _coil_cells(row: TableRow, *, metric: bool) -> list[str]:
    def length(feet: object) -> str:
        return format_length(float(str(feet)) * 12, metric=metric) if feet not in (None, "") else ""

    return [
        TICK, str(row["type"]), str(row["coil"]), length(row["coil_ft"]), str(row["cable"]), length(row["cut_ft"]),
        length(row["left_ft"]),
    ]  # fmt: skip


def question_sheets(plan: Plan) -> Iterator[Sheet]:
    """Yield what to ask the inspector and the owner, and the walk before the inspection."""
    blocks: list[Block] = []
    for whom, questions in groupby(asked(plan), key=lambda one: one.whom):
        blocks.append(Heading(text=f"For {whom}"))
        blocks += [_question(one) for one in questions]
    load = load_sum(plan.building, Limits(plan.building.limits))
    blocks += [
        Heading(text="For the electrician: the supply"),
        Bullets(items=[*supply_facts(plan), *load_words(plan.building, load)]),
        *([Words(text="The sum of the load, line by line, is on sheet K9.")] if load else []),
        Heading(text="Left to licensed work, and what it has to be"),
        Bullets(items=supply_words(plan.building)),
        Together(blocks=[Heading(text="To write in"), Lines(items=to_write_in())]),
    ]
    yield Sheet(number="Q1", title="questions: call the inspector", blocks=blocks)
    yield Sheet(
        number="Q2", title="walk before the inspection", blocks=[Bullets(items=WALK, points=LADDER_PT, ticks=True)]
    )


def _question(one: Asked) -> Block:
    """A question in bold, what is said of it, and a line to write on where it is open."""
    blocks: list[Block] = [Words(text=f"{one.number}  {one.question}", bold=True)]
    blocks += [Words(text=f"{words[:1].upper()}{words[1:]}") for words in one.under]
    if one.to_write is not None:
        blocks.append(Lines(items=[one.to_write]))
    return Together(blocks=blocks)


def test_sheets(plan: Plan) -> Iterator[Sheet]:
    """Yield what a meter must read before power comes on, with room for what it reads."""
    rows: list[list[str] | str] = []
    for row in dead_rows(plan):
        probes = f"{row['box_a']} {row['conductor_a']}", f"{row['box_b']} {row['conductor_b']}"
        rows.append(
            [str(row["test"]), str(row["circuit"]), *probes, str(row["positions"] or ""), str(row["expected"]), ""]
        )
    if not rows:
        return
    heads = (
        Column(title="no.", align="right"),
        Column(title="circuit", share=0.7),
        Column(title="one probe", share=1.1),
        Column(title="other probe", share=1.1),
        Column(title="switches", share=1.1),
        Column(title="must read"),
        Column(title="reads", share=0.4),
    )
    how = Bullets(
        items=(
            "The breaker is off, the circuit's wires and neutral are off their terminals, lamps and plugs are out, "
            "what is wired up directly is off.",
            "joined: near 0 ohm. open: no reading at all. Anything else: stop and find out why.",
        ),
        framed=True,
    )
    yield Sheet(
        number="D1",
        title="dead tests, before power comes on",
        blocks=[how, Table(columns=heads, rows=rows)],
        landscape=True,
    )


def as_built_sheets(plan: Plan) -> Iterator[Sheet]:
    """Yield what is done, and room for what came out otherwise."""
    rows = [["", "", "", "", ""] for _ in range(16)]
    heads = (
        Column(title="what (hole, cable, box)", share=1.2),
        Column(title="planned", share=1.0),
        Column(title="as built", share=1.0),
        Column(title="why", share=1.4),
        Column(title="date", share=0.6),
    )
    blocks: list[Block] = [
        *_done(plan),
        Words(text="What was done otherwise, so that the plan can be made again as built."),
        Table(columns=heads, rows=rows, points=LADDER_PT + 4),
        Lines(items=[f"{who} {BLANK}" for who in ("done by", "inspected by, date", "permit")]),
    ]
    yield Sheet(number="Z1", title="as built", blocks=blocks)


def _done(plan: Plan) -> Iterator[Block]:
    """What has been reported as done; nothing before that."""
    if plan.as_built is None:
        return
    yield Bullets(items=done_words(plan))
    rows = [[row.hole, row.planned, row.drilled] for row in elsewhere(plan)]
    if rows:
        heads = (
            Column(title="hole", share=0.6),
            Column(title="planned", share=1.0),
            Column(title="drilled", share=1.0),
        )
        yield Heading(text="Drilled elsewhere than planned")
        yield Table(columns=heads, rows=rows)
    yield Heading(text="Drilled holes that break a limit")
    yield Bullets(items=broken(plan) or ["none"])

"""How to measure, what to beware of, what is there of electrics, what to photograph."""

from __future__ import annotations

from collections.abc import Iterator

from barnloom.model.survey.survey import Survey
from barnloom.viewer.cautions import CAUTIONS
from barnloom.viewer.drawings.paper import LADDER_PT
from barnloom.viewer.sheets.blocks import BLANK, Block, Bullets, Column, Heading, Lines, Sheet, Table, Words
from barnloom.viewer.survey.forms import WRITING_MM

HOW = (
    "Hook the tape at one end of a wall, clamp it, and read every number off it: running dimensions only. "
    "Gaps that are added up add up their errors too.",
    "To the same side of every member: the near side, nearer the hook (studs: at). Or to all middles "
    "(centres). Never both in one row; write which on the sheet.",
    "Walls from outside framing corner to outside framing corner, against the clock, the room on your left. What is "
    "nailed on outside is not in it; where you can only get at the inside, say so, and add nothing.",
    "Real breadth and depth of wood, with calipers or a tape on a cut end: small side first. A name (2x6) "
    "tells what it was once called. Full-sawn or planed? Measure two of each kind, and every one that looks "
    "different.",
    "Heights on a wall from under the sole plate; heights in a storey from its floor; levels of storeys "
    "from the lowest floor. Each storey's height at two corners: floors sag.",
    "Both diagonals of every storey and every ceiling, outside corner to outside corner. They tell what no side can.",
    "Of every joist, beam and post: which way it runs, what each end bears on and how much of it, holes and "
    "notches that are there, splits, rot, iron. A truss is never bored: write truss.",
    "What you cannot get at: write ? and why. A question can be planned round; a guess cannot.",
)
BEWARE = (
    "Old cables, boxes and panels count as live until proved dead; panel covers stay on. Look, photograph, write down.",
    "Stored energy: springs of overhead doors, machines that can start or drop, charged capacitors, "
    "batteries and solar, raised loads. Keep off until whoever knows them has made them safe.",
    "Ladders: on firm ground, tied or held, three points of contact, no tape in the hand that holds on. "
    "Loft floors may be rotten: boards over joists, and nobody alone in the building.",
    "Paint from before 1978 may hold lead; old boards, pipe wrap, vermiculite and roofing may hold "
    "asbestos. Do not drill, scrape, break or sweep it: have it tested first.",
    "Droppings, wasps, gas, an overhead line near the roof: leave, and come back with somebody who deals with them.",
)
PHOTOGRAPHS = (
    "each wall from its middle, whole, the tape hooked and in the picture",
    "each corner, low and high: which wall runs through",
    "each ceiling bay from below, with a number on paper in the picture",
    "both ends of a joist, and how it bears; each beam, post and its foot",
    "every hole and notch that is there, with a tape beside it",
    "stair and hatch openings, from above and below",
    "behind the lining wherever it is open: pipes, cables, insulation, chimney",
    "the panel, cover on: its label, the breakers, the words beside them; where the feeder comes in",
    "every old box, switch and outlet, shut; every cable where it goes into wood or ground",
    "ground rods and the wire to them; water and gas pipes; the meter",
    "the outside: where a feeder could come in, overhead lines, gutters, slope of the ground",
    "doors open flat against the wall, benches and machines where they will stand",
)
TRADE = "Years, and what may hold lead or asbestos: common knowledge of the trade; the rules where you are decide."


def cover(survey: Survey, sheets: list[Sheet], *, blank: bool) -> Sheet:
    """How to fill in the sheets, and what they are."""
    names = ", ".join(f"{sheet.number} {sheet.title}" for sheet in sheets)
    opening = (
        "Blank sheets to fill in on site. Numbers go straight into a scene file: the sheets ask for them "
        "just as the file does."
        if blank
        else "What the scene says so far is printed; what is missing, assumed or does not close is marked and numbered."
    )
    blocks: list[Block] = [
        Words(text=opening),
        Words(text=f"Sheets: {names}.", points=8.5),
        Bullets(items=[*CAUTIONS[:3], *BEWARE], framed=True, points=9.0),
        Words(text=TRADE, points=7.5),
        Heading(text="How to measure"),
        Bullets(items=HOW, points=9.5),
        Lines(
            items=[
                "building, place",
                "measured by, date",
                "tape: feet and inches, or millimetres",
                "corner that is [0, 0]",
            ]
        ),
    ]
    return Sheet(number="S1", title="survey: how to measure", blocks=blocks)


def electrics(survey: Survey, *, blank: bool) -> Iterator[Sheet]:
    """Yield what is there of electrics; covers stay on."""
    half = survey.site.half
    facts: list[tuple[str, str]] = []
    panels = [name for name in half.ids("boxes") if half.value("boxes", name, "kind") == "panel"]
    for name in panels or [""]:
        inside = ("boxes", name, "panel")
        used = half.value(*inside, "used")
        facts += [
            (f"panel {name}".strip() + ": what its label says", ""),
            ("main breaker, amperes", _plain(half.value(*inside, "main"))),
            ("spaces in all", _plain(half.value(*inside, "spaces"))),
            ("spaces in use", ", ".join(map(_plain, used)) if isinstance(used, list) else ""),
            ("neutral and ground joined in it", _plain(half.value(*inside, "bonded"))),
        ]
    for key, words in (
        ("from", "fed from"),
        ("kind", "feeder, or one branch circuit"),
        ("breaker", "breaker that feeds it, amperes"),
        ("awg", "conductor size, as printed on it"),
        ("wires", "wires, the ground counted"),
        ("length", "length of the feeder"),
        ("method", "buried, conduit, overhead, attached"),
        ("family", "kind of cable, as printed on it"),
        ("electrodes", "ground electrodes"),
        ("disconnect", "switch that disconnects the building, amperes"),
    ):
        value = half.value("supply", key)
        facts.append((words, survey.site.text(value) if key == "length" and value is not None else _plain(value)))
    rows = [[words, value, ""] for words, value in facts]
    columns: tuple[Column, ...] = (
        Column(title="what is there", share=1.5),
        Column(title="the scene says", share=1.2),
        Column(title="seen on site (?: could not see)", share=1.8),
    )
    circuits = (
        Column(title="space", share=0.5),
        Column(title="amperes, poles", share=0.8),
        Column(title="what it says it feeds", share=1.6),
        Column(title="what it does feed", share=1.6),
        Column(title="cable: size, wires, how old", share=1.3),
        Column(title="stays?", share=0.5),
    )
    old = (
        Column(title="box, switch, outlet, lamp, cable", share=1.4),
        Column(title="where: wall, from the hook, height", share=1.6),
        Column(title="box: size, depth", share=1.0),
        Column(title="cables in it, as printed", share=1.2),
        Column(title="stays? prove dead", share=0.9),
    )
    if blank:
        columns = columns[::2]
        rows = [[words, ""] for words, _, _ in rows]
    yield Sheet(
        number="E1",
        title="what is there of electrics",
        blocks=[
            Bullets(items=[BEWARE[0]], framed=True),
            Table(columns=columns, rows=rows, row_mm=WRITING_MM - 1.0),
            Heading(text="Circuits, as the panel's door says"),
            Table(columns=circuits, rows=[[""] * 6 for _ in range(8)], row_mm=WRITING_MM),
        ],
    )
    yield Sheet(
        number="E2",
        title="old boxes and cables: all to be proved dead",
        blocks=[
            Words(
                text="Every one, also those that nobody uses. An end without a box too. An old hole is no permission."
            ),
            Table(columns=old, rows=[[""] * 5 for _ in range(22)], row_mm=WRITING_MM),
        ],
    )


def photographs() -> Sheet:
    """What to photograph, with room for the numbers."""
    items = [f"{BLANK}  {item}" for item in PHOTOGRAPHS]
    return Sheet(
        number="P1",
        title="photographs",
        blocks=[
            Words(text="A number on a sheet of paper in each picture; write it here and on the survey sheet."),
            Bullets(items=items, ticks=True, points=LADDER_PT),
            Heading(text="Others"),
            Table(
                columns=(Column(title="no.", share=0.3), Column(title="of what", share=3.0)),
                rows=[["", ""] for _ in range(10)],
                row_mm=WRITING_MM,
            ),
        ],
    )


def _plain(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)

"""Everything on the page that is no card: the picture and its legend, the lists to find by, what to read first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from barnloom.model.bore_rules import spoken
from barnloom.model.lengths import format_length
from barnloom.routing.plan import Plan
from barnloom.viewer.cautions import CAUTIONS, answer_lines, title_lines, warnings
from barnloom.viewer.drawing import Circle, Drawing, Item, Polygon, Polyline
from barnloom.viewer.isometric import isometric
from barnloom.viewer.layout import layout
from barnloom.viewer.page.data import REST_OF_ROOF, circuits, groups
from barnloom.viewer.page.index import Index
from barnloom.viewer.page.markup import Markup, element
from barnloom.viewer.page.pieces import facts
from barnloom.viewer.palette import Style
from barnloom.viewer.paths import hole_place
from barnloom.viewer.svg import to_svg
from barnloom.viewer.text import counted

THREE_LICENSE = Path(__file__).with_name("three") / "LICENSE"
_PICTURE_MM = 100.0
_CAN_JUDGE = (
    "A moved hole is judged by the band and the ends that the plan's limits leave in that member, by the distance to "
    "every other hole in it (where those have been moved too: from there), by notches, nail plates and bearings.",
    "It is not judged whether the cable still runs straight through its row and is long enough, whether drill and bit "
    "fit there, what stands in the bay behind, and whether another member bored in the same push is still met. For "
    "that the plan has to be made again: send back what you have ticked and moved.",
)
_READING = (
    "along: from the end named to the middle of the hole, never from hole to hole",
    "across: from the edge or face named to the middle of the hole; the aim is best, the whole allowed band keeps the "
    "limits",
    "ticks and moves stay on this device, in this browser; the screen Done sends them",
)


def figure(plan: Plan) -> Markup:
    """The line drawing of the plan without its words."""
    drawn = isometric(plan).without("labels", "leaders", "title", "legend", "caution")
    area = layout(plan).area
    svg = to_svg(_coarse(replace(drawn, bounds=area)), width_mm=_PICTURE_MM)
    words = f"Line drawing of {plan.building.title}, seen from the south-east, its storeys lifted apart"
    return element("figure", {"id": "drawing", "role": "img", "aria-label": words}, Markup(svg))


def _coarse(drawing: Drawing) -> Drawing:
    """The same to a tenth of an inch, which is half the bytes and less than a phone's pixel."""

    def coarse(item: Item) -> Item:
        if isinstance(item, Polygon | Polyline):
            return replace(item, points=tuple((round(x, 1), round(y, 1)) for x, y in item.points))
        if isinstance(item, Circle):
            return replace(item, centre=(round(item.centre[0], 1), round(item.centre[1], 1)))
        return item

    b = drawing.bounds
    bounds = replace(b, left=round(b.left, 1), right=round(b.right, 1), bottom=round(b.bottom, 1), top=round(b.top, 1))
    return replace(drawing, items=tuple(map(coarse, drawing.items)), bounds=bounds)


def shown_choices(plan: Plan) -> Markup:
    """What the picture shows: a choice for each circuit (which is its legend), each floor and each kind of member."""
    lines = [
        _choice("circuit", name, ": ".join(filter(None, (name, title))), _sample(style))
        for name, title, style in circuits(plan)
    ]
    floors = [_choice("storey", storey.id, storey.title or storey.id) for storey in plan.building.storeys]
    present = dict.fromkeys(sorted(groups(plan).values()))
    kinds = [_choice("group", name, name, on=name != REST_OF_ROOF) for name in present]
    return element(
        "div",
        {"id": "choices"},
        *(
            element("fieldset", None, element("legend", None, title), *rows)
            for title, rows in (("Circuits", lines), ("Floors", floors), ("Framing", kinds))
            if rows
        ),
        element("p", None, "Cables are drawn thicker than they are. Dark plugs are holes to drill; rings are drilled."),
    )


def _choice(kind: str, name: str, words: str, sample: str = "", *, on: bool = True) -> Markup:
    box = element("input", {"type": "checkbox", "data-show": kind, "data-name": name, "checked": on})
    return element("label", {"class": "choice"}, box, Markup(sample), element("span", None, words))


def _sample(style: Style) -> Markup:
    said: dict[str, str | int] = {"x1": 2, "y1": 6, "x2": 58, "y2": 6, "stroke": style.colour, "stroke-width": 4}
    if style.dash:
        said["stroke-dasharray"] = " ".join(f"{4 * part:g}" for part in style.dash)
    return element(
        "svg", {"viewBox": "0 0 60 12", "width": 60, "height": 12, "aria-hidden": "true"}, element("line", said)
    )


def find_lists(index: Index) -> list[Markup]:
    """Links to every card, in the order of the cards."""
    plan = index.plan
    metric = plan.building.metric

    def row(kind: str, name: str, words: str) -> Markup:
        return element("li", {"data-find": kind}, index.link(kind, name), " ", element("span", None, words))

    holes = [
        row(
            "hole",
            bore.id,
            f"{format_length(bore.diameter_in, metric=metric, feet=False)}, {hole_place(bore, member, metric=metric)}",
        )
        for member in index.bored
        for bore in index.bores[member.id]
    ]
    boxes = [row("box", box.id, box.title if box.title != box.id else box.kind) for box in index.boxes]
    cables = [
        row(
            "cable",
            cable.id,
            f"{cable.type}, {cable.from_box} to {cable.to_box}, {format_length(cable.cut_in, metric=metric)}",
        )
        for cable in index.cables
    ]
    bored = [
        row("member", member.id, f"{spoken(member)}, {counted(len(index.bores[member.id]), 'hole')}")
        for member in index.bored
    ]
    others = [row("member", member.id, spoken(member)) for member in index.unbored]
    return [
        _list("Holes, in walking order", holes),
        _list("Members with holes", bored),
        _list("Boxes", boxes),
        _list("Cables, in pulling order", cables),
        _list("Members without holes", others),
    ]


def _list(title: str, rows: list[Markup]) -> Markup:
    if not rows:
        return Markup("")
    summary = element("summary", None, element("h3", None, f"{title} ({len(rows)})"))
    return element("details", {"open": len(rows) <= 400}, summary, element("ul", None, *rows))


def first_read(plan: Plan) -> list[Markup]:
    """What is to be read first: whose it is, cautions, warnings, what is assumed, answers, how to read, licences."""
    unreached = [f"{lost.box} ({lost.circuit}): {lost.reason}" for lost in plan.unreached_why]
    explained = {lost.box for lost in plan.unreached_why}
    unreached += [box for box in plan.unreached if box not in explained]
    sections: tuple[tuple[str, Iterable[str]], ...] = (
        ("Cautions", CAUTIONS),
        ("Not reached by any cable", unreached),
        ("Warnings", warnings(plan)),
        ("Assumed, or changed by the scene", plan.assumptions),
        ("Answers kept", answer_lines(plan)),
        ("How to read it", _READING),
        ("What this page can judge of a moved hole", _CAN_JUDGE),
    )
    about = [element("p", None, line) for line in title_lines(plan)[1:] if line]
    return [*about, *(piece for title, lines in sections for piece in _bullets(title, tuple(lines))), _about()]


def _bullets(title: str, lines: tuple[str, ...]) -> list[Markup]:
    return [element("h3", None, title), facts(lines)] if lines else []


def _about() -> Markup:
    paragraphs = THREE_LICENSE.read_text(encoding="utf-8").strip().split("\n\n")
    return element(
        "section",
        {"id": "about", "aria-labelledby": "about-name"},
        element("h3", {"id": "about-name"}, "About this page"),
        element(
            "p", None, "Made by Barnloom. It is one file, asks the network for nothing, and tells nobody anything."
        ),
        element("p", None, "The turning picture is drawn by three.js, under this licence:"),
        element("blockquote", None, *(element("p", None, text) for text in paragraphs)),
    )

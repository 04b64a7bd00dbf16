"""Cards of boxes and panels: the same words as ``boxes.txt``, as a page shows them."""

from __future__ import annotations

from barnloom.viewer.cards import CableEntry, Card, cards
from barnloom.viewer.page.index import Index
from barnloom.viewer.page.markup import Markup, element, joined
from barnloom.viewer.page.pieces import card, chips, facts, steps, tick, values, warning


def box_cards(index: Index) -> list[Markup]:
    """Cards of all boxes: panels, then in walking order."""
    said = {one.box: one for one in cards(index.plan)}
    return [_box_card(index, said[box.id]) for box in index.boxes]


def _box_card(index: Index, said: Card) -> Markup:
    about = [words for words in (said.devices, said.buy, *said.notes) if words]
    content = [*map(warning, said.cautions), *([facts(about)] if about else [])]
    if said.made_up:
        content += _panel(said) if said.kind == "panel" else _box(index, said)
        built = index.plan.as_built
        content.append(tick("box", said.box, "Made up", done=built is not None and said.box in built.made_up))
    content.append(chips((index.link("cable", one.cable) for one in said.cables), "Its cables"))
    return card(index.anchors["box", said.box], "box", said.box, [said.title, said.place], *content)


def _panel(said: Card) -> list[Markup]:
    rows = [(f"{one.cable}: label {one.label}", one.words) for one in said.cables]
    return [element("h3", None, "Cables, by the space of their breaker"), values(rows, look="named")]


def _box(index: Index, said: Card) -> list[Markup]:
    content = [element("h3", None, "Cables that come in, by their label")]
    if said.cables:
        content.append(values([(one.label, _cable(index, one)) for one in said.cables], look="named"))
    joints = [joined((element("b", None, joint.net), f": {joint.sentence}")) for joint in said.joints]
    content += [element("h3", None, "Joints, in the order of folding in"), steps([*joints, *filter(None, [said.last])])]
    if said.fill:
        content += [element("h3", None, f"How full it is, by {said.edition}"), _fill(said), facts(said.fill_notes)]
    return content


def _cable(index: Index, one: CableEntry) -> Markup:
    return joined((f"{one.cable}, {one.way} ", index.link("box", one.other), f"{one.later}. {one.words}"))


def _fill(said: Card) -> Markup:
    head = element("tr", None, *(element("th", {"scope": "col"}, text) for text in ("what", "count", "each", "in3")))
    rows = []
    for row in said.fill:
        numbers = (f"{row.count:g}", f"{row.each_in3:.2f}", f"{row.total_in3:.2f}")
        cells = (element("td", None, text) for text in numbers)
        rows.append(element("tr", None, element("th", {"scope": "row"}, f"{row.what} [{row.clause}]"), *cells))
    return element("table", {"class": "fill"}, element("thead", None, head), element("tbody", None, *rows))

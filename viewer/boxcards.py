"""``boxes.txt``: a card for every box and panel: cables that enter, joints as sentences in folding order, its fill."""

from __future__ import annotations

from collections.abc import Iterator

from barnloom.routing.plan import Plan
from barnloom.viewer.cards import Card, cards
from barnloom.viewer.lists import bullets, head_lines, ruled
from barnloom.viewer.text import paragraph

_NOTE = "  "
_READING = (
    "Each joint is one sentence. A pigtail is a short wire of the same size from the joint to a screw.",
    "A white wire that is taped is no neutral: wrap it at both ends with tape of the colour said, first of all.",
    "Fold in this order: grounds to the back, neutrals over them, then the rest, the device last.",
    "What a meter must read before power comes on is in deadtest.csv.",
)


def boxes_text(plan: Plan) -> str:
    """Cards: panels first, then boxes in order of id."""
    lines = head_lines(plan, "BOXES TO MAKE UP")
    lines += ["HOW TO READ IT", *bullets(_READING), ""]
    for card in cards(plan):
        if card.made_up:
            lines += [*_card_lines(card), ""]
    if plan.unreached:
        lines += [*ruled("NOT REACHED, SO NOT MADE UP"), *(f"  {box}" for box in plan.unreached)]
    return "\n".join(lines).rstrip("\n") + "\n"


def _card_lines(card: Card) -> Iterator[str]:
    panel = card.kind == "panel"
    yield from ruled(f"{'PANEL' if panel else 'BOX'} {card.box}{f': {card.title}' if card.title else ''}")
    for words in (card.devices, card.place, card.buy):
        if words:
            yield from paragraph(words)
    for words in card.cautions:
        yield from paragraph(words, first="! ")
    for words in card.notes:
        yield from paragraph(words)
    yield from ("", "Cables")
    for one in card.cables:
        way = "" if panel else f", {one.way} {one.other}{one.later}"
        yield from paragraph(f"{one.cable}, label {one.label}{way}. {one.words}", first=_NOTE, later=_NOTE * 2)
    if panel:
        return
    yield from ("", "Joints, in the order of folding")
    steps = [*(f"{joint.sentence} [{joint.net}]" for joint in card.joints), *([card.last] if card.last else [])]
    for number, words in enumerate(steps, 1):
        yield from paragraph(words, first=f"{number:>3}  ")
    if card.fill:
        yield from ("", f"Fill, by {card.edition}")
    for row in card.fill:
        sum_words = f"{row.count:>5g} x {row.each_in3:.2f} = {row.total_in3:>6.2f}"
        yield from paragraph(f"{row.what} [{row.clause}]", first=f"{_NOTE}{sum_words}  ")
    for words in card.fill_notes:
        yield from paragraph(words, first=_NOTE)

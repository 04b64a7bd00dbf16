"""What the changes are told with: a section of text or paper, and everything that is looked up to say it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from barnloom.model.lengths import format_length
from barnloom.routing.plan import Plan
from barnloom.routing.store import natural_key
from barnloom.viewer.cards import cards
from barnloom.viewer.changes.compare import Changes
from barnloom.viewer.changes.matching import members_of
from barnloom.viewer.paths import direction_word, framing
from barnloom.viewer.wires import listed

Row = tuple[str, ...] | str
"""Cells, or a note to the row above."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A table under a heading."""

    heading: str
    columns: tuple[tuple[str, int], ...]
    """Titles, and widths: signs in text, shares on paper."""
    rows: tuple[Row, ...]
    how: tuple[str, ...] = ()
    ticks: bool = False
    """Whether every row is something to do."""
    alike: bool = False
    """Whether rows that say the same of several ids may be told as one."""
    figures: int = 0
    """How many of the last columns are figures."""


class Told:
    """The changes with all that is looked up to say them; of pairs the first is the old plan's."""

    def __init__(self, found: Changes, old: Plan, new: Plan) -> None:
        self.found, self.old, self.new = found, old, new
        self.metric = new.building.metric
        self.renamed = {change.old.id: change.new.id for change in found.cables if change.old and change.new}
        self.before, self.after = framing(old), framing(new)
        self.members = members_of(old), members_of(new)
        self.cards = {card.box: card for card in cards(old)}, {card.box: card for card in cards(new)}

    def inches(self, inches: float) -> str:
        """A short length in the units of the new plan."""
        return format_length(inches, metric=self.metric, feet=False)

    def length(self, inches: float) -> str:
        """A length in the units of the new plan."""
        return format_length(inches, metric=self.metric)

    def moved(self, step: Sequence[float]) -> str:
        """How far something has moved, by the compass; empty where that is nothing on paper."""
        words = []
        for axis, length in enumerate(step):
            if self.inches(abs(length)) != self.inches(0):
                way = direction_word((length * (axis == 0), length * (axis == 1), length * (axis == 2)))
                words.append(f"{self.length(abs(length))} {way}")
        return f"moved {', '.join(words)}" if words else ""


def names(ids: Iterable[str]) -> str:
    """Ids as a sentence names them, in order."""
    return listed(sorted(ids, key=natural_key))


def more(value: Decimal) -> str:
    """Say whether it grew."""
    return "more" if value > 0 else "less"

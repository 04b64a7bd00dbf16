"""``changes.txt``: what changed between two plans, in plain text, what has to be done first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

from barnloom.routing.plan import Plan
from barnloom.viewer.cautions import CAUTIONS, title_lines
from barnloom.viewer.changes.compare import compare
from barnloom.viewer.changes.sections import NOT_KNOWN, NOTHING, in_short, sections, title_words
from barnloom.viewer.changes.told import Row, Section
from barnloom.viewer.lists import TICK, bullets, ruled
from barnloom.viewer.text import Column, heading_lines, paragraph, row_lines

_NOTE = "     "
_TICK = Column("", len(TICK))


def changes_text(old: Plan, new: Plan) -> str:
    """
    Return what changed as text; one line if nothing did.

    Parameters
    ----------
    old, new : Plan
        Lengths are printed in the units of the new one.
    """
    found = compare(old, new)
    if found.nothing:
        return f"{NOTHING}\n"
    lines = [
        *paragraph("CHANGES"),
        *(line for text in (title_words(old, new), *title_lines(new)[1:]) for line in paragraph(text)),
        *paragraph(in_short(found, new)),
        *("", "CAUTIONS", *bullets((*CAUTIONS, *NOT_KNOWN)), ""),
    ]
    for section in sections(found, old, new):
        lines += [*_section_lines(section), ""]
    return "\n".join(lines[:-1]) + "\n"


def _section_lines(section: Section) -> Iterator[str]:
    yield from ruled(section.heading.upper())
    for words in section.how:
        yield from paragraph(words)
    tick = [_TICK] if section.ticks else []
    columns = [*tick, *(Column(title, wide) for title, wide in section.columns)]
    yield from heading_lines(columns)
    for row in _together(section.rows) if section.alike else section.rows:
        if isinstance(row, str):
            yield from paragraph(row, first=_NOTE)
        else:
            yield from row_lines(columns, [*([TICK] if tick else []), *row])


def _together(rows: Iterable[Row]) -> Iterator[Row]:
    """Of rows that say the same one after the other, the first, and the ids of the others as a note."""
    for _, group in groupby(rows, key=lambda row: row[1:]):
        first, *others = group
        yield first
        if others:
            yield f"the same: {', '.join(row[0] for row in others)}"

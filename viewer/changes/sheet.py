"""The changes on paper: one sheet, over as many pages as it needs, of nothing else."""

from __future__ import annotations

from collections.abc import Iterator

from barnloom.routing.plan import Plan
from barnloom.viewer.cautions import CAUTIONS, title_lines
from barnloom.viewer.changes.compare import compare
from barnloom.viewer.changes.sections import NOT_KNOWN, NOTHING, in_short, sections, title_words
from barnloom.viewer.changes.told import Section
from barnloom.viewer.drawings.paper import LADDER_PT
from barnloom.viewer.sheets.blocks import TABLE_PT, TICK, Block, Bullets, Column, Heading, Sheet, Table, Together, Words
from barnloom.viewer.sheets.typeset import to_pdf


def changes_pdf(old: Plan, new: Plan, *, paper: str = "letter") -> bytes:
    """
    Return what changed as a PDF; one line on one page if nothing did.

    Parameters
    ----------
    old, new : Plan
        Lengths are printed in the units of the new one.
    paper : {"letter", "a4"}
    """
    return to_pdf(new, [changes_sheet(old, new)], paper=paper)


def changes_sheet(old: Plan, new: Plan) -> Sheet:
    """Return the sheet itself."""
    found = compare(old, new)
    blocks: list[Block] = [Words(text=NOTHING)]
    if not found.nothing:
        blocks = [
            *(Words(text=words) for words in (title_words(old, new), *title_lines(new)[1:]) if words),
            Words(text=in_short(found, new), bold=True),
            Heading(text="Cautions"),
            Bullets(items=(*CAUTIONS, *NOT_KNOWN), framed=True),
            *(block for section in sections(found, old, new) for block in _blocks(section)),
        ]
    return Sheet(number="X1", title="changes", blocks=blocks)


def _blocks(section: Section) -> Iterator[Block]:
    head: list[Block] = [Heading(text=section.heading), *(Words(text=words) for words in section.how)]
    yield Together(blocks=head, with_next=True)
    tick = [Column(title=TICK)] if section.ticks else []
    words = len(section.columns) - section.figures
    columns = tick + [
        Column(title=title, share=float(wide), align="left" if number < words else "right")
        for number, (title, wide) in enumerate(section.columns)
    ]
    rows = [row if isinstance(row, str) else [*([TICK] if tick else []), *row] for row in section.rows]
    yield Table(columns=columns, rows=rows, points=LADDER_PT if section.ticks else TABLE_PT)

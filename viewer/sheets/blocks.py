"""What a sheet is made of, as plain data; the template that sets it is ``template.typ``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from barnloom.viewer.drawing import Drawing, Item, Symbol, Text
from barnloom.viewer.drawings.paper import LADDER_PT, Paper
from barnloom.viewer.lettering import drawable
from barnloom.viewer.primitives import primitives
from barnloom.viewer.svg import to_svg
from barnloom.viewer.text import clean

TABLE_PT = 9.0
"""Letters of tables that are read at a table."""
BLANK = "________"
TICK = "\N{WHITE SQUARE}"


def said(text: str) -> str:
    """Text of a scene or of ours as it can be set: on one line, signs that the fonts lack as a visible box."""
    return drawable(clean(text))


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """A heading within a sheet."""

    text: str

    def data(self) -> dict[str, Any]:
        """Plain data for the template."""
        return {"kind": "heading", "text": said(self.text)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """A paragraph."""

    text: str
    bold: bool = False
    points: float = TABLE_PT + 1

    def data(self) -> dict[str, Any]:
        """Plain data for the template."""
        return {"kind": "words", "text": said(self.text), "bold": self.bold, "size": self.points}


@dataclass(frozen=True, slots=True, kw_only=True)
class Bullets:
    """Points, or things to tick."""

    items: Sequence[str]
    points: float = TABLE_PT + 1
    ticks: bool = False
    framed: bool = False
    """In a frame: cautions."""

    def data(self) -> dict[str, Any]:
        """Plain data for the template."""
        return {
            "kind": "bullets",
            "items": [said(item) for item in self.items],
            "size": self.points,
            "mark": TICK if self.ticks else "•",
            "framed": self.framed,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column of a table: its title, its share of the free width (0: as wide as it needs), where its text stands."""

    title: str
    share: float = 0.0
    align: str = "left"  # "left" | "right" | "center"


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows under headings that repeat on every page; a row that is one text alone is a note to the one above it."""

    columns: Sequence[Column]
    rows: Sequence[Sequence[str] | str]
    points: float = TABLE_PT
    sum_row: bool = False
    """The last row is a sum."""
    row_mm: float = 0.0
    """Least height of a row: room to write with a pencil, and gloves on."""

    def data(self) -> dict[str, Any]:
        """Plain data for the template."""
        return {
            "kind": "table",
            "titles": [said(column.title) for column in self.columns],
            "shares": [column.share for column in self.columns],
            "align": [column.align for column in self.columns],
            "rows": [said(row) if isinstance(row, str) else [said(cell) for cell in row] for row in self.rows],
            "size": self.points,
            "sum": self.sum_row,
            "row": self.row_mm,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A drawing to scale, and what stands under it."""

    drawing: Drawing
    paper: Paper
    caption: str = ""

    @property
    def width_mm(self) -> float:
        """Width on paper."""
        return self.paper.width_mm(self.drawing.bounds)

    @property
    def height_mm(self) -> float:
        """Height on paper."""
        return self.paper.height_mm(self.drawing.bounds)

    def data(self) -> dict[str, Any]:
        """Plain data for the template: the drawing as SVG, and how large it is on paper."""
        return {
            "kind": "figure",
            "svg": to_svg(_drawable(self.drawing), width_mm=self.width_mm),
            "width": self.width_mm,
            "height": self.height_mm,
            "caption": said(self.caption),
            "size": LADDER_PT,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Blocks beside each other, as many to a line as there is room for."""

    blocks: Sequence[Block]
    gap_mm: float = 4.0

    def data(self) -> dict[str, Any]:
        """Plain data for the template."""
        return {"kind": "row", "blocks": [block.data() for block in self.blocks], "gap": self.gap_mm}


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """Blocks on the left and blocks on the right, which is so wide."""

    left: Sequence[Block]
    right: Sequence[Block]
    right_mm: float

    def data(self) -> dict[str, Any]:
        """Plain data for the template."""
        return {
            "kind": "beside",
            "left": [block.data() for block in self.left],
            "right": [block.data() for block in self.right],
            "width": self.right_mm,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Together:
    """Blocks that stay on one page."""

    blocks: Sequence[Block]
    with_next: bool = False
    """And with what follows them."""

    def data(self) -> dict[str, Any]:
        """Plain data for the template."""
        blocks = [block.data() for block in self.blocks]
        return {"kind": "together", "blocks": blocks, "sticky": self.with_next}


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """Samples with what they mean: the legend of a sheet."""

    entries: Sequence[tuple[Drawing, str]]
    """Drawings in inches of paper."""
    columns: int = 1

    def data(self) -> dict[str, Any]:
        """Plain data for the template."""
        paper = Paper(scale=1)
        return {
            "kind": "key",
            "columns": self.columns,
            "entries": [
                {
                    "svg": to_svg(_drawable(sample), width_mm=paper.width_mm(sample.bounds)),
                    "width": paper.width_mm(sample.bounds),
                    "height": paper.height_mm(sample.bounds),
                    "words": said(words),
                }
                for sample, words in self.entries
            ],
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Cards:
    """Small cards to cut out: a title and words on each."""

    items: Sequence[tuple[str, str]]

    def data(self) -> dict[str, Any]:
        """Plain data for the template."""
        return {"kind": "cards", "items": [[said(title), said(words)] for title, words in self.items]}


@dataclass(frozen=True, slots=True, kw_only=True)
class Break:
    """What follows stands on a new page."""

    def data(self) -> dict[str, Any]:
        """Plain data for the template."""
        return {"kind": "break"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """Room to write: so many lines, each with words before it."""

    items: Sequence[str]

    def data(self) -> dict[str, Any]:
        """Plain data for the template."""
        return {"kind": "lines", "items": [said(item) for item in self.items]}


Block = Heading | Words | Bullets | Table | Figure | Row | Beside | Together | Key | Cards | Break | Lines


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A sheet of the pack; it flows over as many pages as it needs."""

    number: str
    title: str
    blocks: Sequence[Block]
    landscape: bool = False
    scale: str = ""

    def data(self) -> dict[str, Any]:
        """Plain data for the template."""
        return {
            "number": self.number,
            "title": said(self.title),
            "blocks": [block.data() for block in self.blocks],
            "landscape": self.landscape,
            "scale": said(self.scale),
        }


def _drawable(drawing: Drawing) -> Drawing:
    """The drawing with no sign that the fonts lack."""
    items: list[Item] = [
        replace(item, text=drawable(item.text)) if isinstance(item, Text) else item
        for item in primitives(drawing.items)
    ]
    return replace(drawing, items=tuple(items))


def symbols_in(drawings: Sequence[Drawing]) -> list[str]:
    """Names of the symbols on drawings, each once, in order of first use."""
    return list(dict.fromkeys(item.name for one in drawings for item in one.items if isinstance(item, Symbol)))

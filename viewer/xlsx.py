"""Tables as an Office Open XML workbook: formulas with their values, ready to be filtered and printed, the same bytes.

All text is text, whatever it begins with.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Protocol

from barnloom.viewer.cautions import CAUTIONS
from barnloom.viewer.rows import Value
from barnloom.viewer.text import clean, width

if TYPE_CHECKING:
    from xlsxwriter import Workbook  # type: ignore[import-untyped]
    from xlsxwriter.format import Format  # type: ignore[import-untyped]
    from xlsxwriter.worksheet import Worksheet  # type: ignore[import-untyped]

_LONGEST_TEXT, _LONGEST_FOOTER = 32_000, 80
"""Letters that a cell takes (32,767), and that a footer has room for (255 with all its marks), and some to spare."""
_WIDEST, _NARROWEST, _PORTRAIT = 44, 7, 95
"""Columns in letters: the widest and the narrowest, and what an upright page holds."""
_CREATED = datetime(2000, 1, 1)
"""A workbook has to say when it was made; this one says the same each time."""
_LETTER, _A4 = 1, 9
_LOOKS: Mapping[str, Mapping[str, object]] = {
    "text": {"text_wrap": True},
    "whole": {"num_format": "0"},
    "plain": {},
    "one": {"num_format": "0.0"},
    "two": {"num_format": "0.00"},
    "money": {"num_format": "#,##0.00"},
    "yours": {"num_format": "#,##0.00", "border": 4, "bg_color": "#FFF9DB", "locked": False},
}
"""By name: "plain" shows a number with as many places as it has, "yours" is a number to be changed by a person."""


class Place(Protocol):
    """Where a formula stands: no formula looks at the rows above or below, so that a table can be sorted."""

    def __call__(self, key: str) -> str:
        """Address of the cell of a column in the same row."""
        ...

    def whole(self, key: str) -> str:
        """Address of a whole column of the table."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Formula:
    """What a cell works out, from where its row stands, and the value that this has now."""

    text: Callable[[Place], str]
    value: float | str


Cell = Value | Formula
Cells = dict[str, Cell]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: its key in the rows, its heading with the unit, how it looks, what stands at its foot."""

    key: str
    heading: str
    look: str = "text"
    foot: str = ""  # "" | "sum" | "count": of the rows that a filter shows
    widest: int = _WIDEST
    printed: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One table, below lines of text."""

    name: str
    columns: tuple[Column, ...]
    rows: Sequence[Cells]
    above: tuple[str, ...] = ()
    letters: Mapping[str, str] = field(init=False)

    def __post_init__(self) -> None:
        from xlsxwriter.utility import xl_col_to_name  # type: ignore[import-untyped]

        letters = {column.key: xl_col_to_name(index) for index, column in enumerate(self.columns)}
        object.__setattr__(self, "letters", letters)

    @property
    def head(self) -> int:
        """Row of the headings, from 0."""
        return len(self.above)

    def at(self, key: str, index: int) -> str:
        """Address of a cell of the table."""
        return f"{self.letters[key]}{self.head + 2 + index}"

    def whole(self, key: str) -> str:
        """Address of a column of the table."""
        letter, first = self.letters[key], self.head + 2
        return f"${letter}${first}:${letter}${self.head + 1 + len(self.rows)}"

    def abroad(self, key: str) -> str:
        """Address of a column of the table in the formulas of other sheets."""
        return f"{self.name}!{self.whole(key)}"


@dataclass(frozen=True, slots=True)
class _Row:
    """A place in a sheet's table."""

    sheet: Sheet
    index: int

    def __call__(self, key: str) -> str:
        return self.sheet.at(key, self.index)

    def whole(self, key: str) -> str:
        return self.sheet.whole(key)


def to_xlsx(title: str, sheets: Iterable[Sheet], *, metric: bool) -> bytes:
    """
    Write tables as one workbook, a sheet each.

    Parameters
    ----------
    title : str
        Stands at the foot of every page.
    sheets : iterable of Sheet
    metric : bool
        On A4; else on letter.

    Returns
    -------
    bytes
        Headings are frozen, filtered by and printed on every page; a page is as wide as the sheet.
    """
    from xlsxwriter import Workbook

    stream = io.BytesIO()
    book = Workbook(stream, {"in_memory": True})
    book.set_properties({"title": _text(title)[:_LONGEST_FOOTER], "created": _CREATED})
    writer = _Writer(book, _text(title), metric=metric)
    for sheet in sheets:
        writer.add(sheet)
    book.close()
    return stream.getvalue()


class _Writer:
    """Puts sheets into a workbook, each ready to be filtered and printed."""

    def __init__(self, book: Workbook, title: str, *, metric: bool) -> None:
        self.book = book
        self.title = title[:_LONGEST_FOOTER].replace("&", "&&")
        self.paper = _A4 if metric else _LETTER
        common = {"valign": "top"}
        self.looks: dict[str, Format] = {name: book.add_format({**common, **look}) for name, look in _LOOKS.items()}
        self.feet = {name: book.add_format({**common, **look, "bold": True, "top": 1}) for name, look in _LOOKS.items()}
        self.head: Format = book.add_format(
            {"bold": True, "text_wrap": True, "valign": "top", "bottom": 2, "bg_color": "#E8E8E8"}
        )
        self.first: Format = book.add_format({"bold": True, "font_size": 14})

    def add(self, sheet: Sheet) -> None:
        """Write one sheet."""
        page: Worksheet = self.book.add_worksheet(sheet.name)
        for number, line in enumerate(sheet.above):
            page.write_string(number, 0, _text(line), self.looks["plain"] if number else self.first)
        for number, column in enumerate(sheet.columns):
            page.write_string(sheet.head, number, column.heading, self.head)
        for index, row in enumerate(sheet.rows):
            for number, column in enumerate(sheet.columns):
                self._write(page, sheet, index, number, row.get(column.key), self.looks[column.look])
        if any(column.foot for column in sheet.columns) and sheet.rows:
            self._write_foot(page, sheet)
        self._set_up(page, sheet)

    def _write(self, page: Worksheet, sheet: Sheet, index: int, number: int, cell: Cell, look: Format) -> None:
        line = sheet.head + 1 + index
        if isinstance(cell, Formula):
            page.write_formula(line, number, cell.text(_Row(sheet, index)), look, cell.value)
        elif cell is None or cell == "":
            page.write_blank(line, number, None, look)
        elif isinstance(cell, str):
            page.write_string(line, number, _text(cell), look)
        else:
            page.write_number(line, number, float(cell), look)

    def _write_foot(self, page: Worksheet, sheet: Sheet) -> None:
        """Sums of the rows that a filter shows (SUBTOTAL leaves the others out)."""
        line = sheet.head + 1 + len(sheet.rows)
        for number, column in enumerate(sheet.columns):
            look = self.feet["money" if column.look == "yours" else column.look]
            span = f"{sheet.at(column.key, 0)}:{sheet.at(column.key, len(sheet.rows) - 1)}"
            if column.foot == "sum":
                value = float(sum(Decimal(str(_value(row.get(column.key)))) for row in sheet.rows))
                page.write_formula(line, number, f"=SUBTOTAL(9,{span})", look, value)
            elif column.foot == "count":
                page.write_formula(line, number, f"=SUBTOTAL(3,{span})", self.feet["whole"], len(sheet.rows))
            elif number == 0:
                page.write_string(line, number, "of the rows shown", look)
            else:
                page.write_blank(line, number, None, look)

    def _set_up(self, page: Worksheet, sheet: Sheet) -> None:
        last = sheet.head + len(sheet.rows)
        page.autofilter(sheet.head, 0, max(last, sheet.head + 1), len(sheet.columns) - 1)
        page.freeze_panes(sheet.head + 1, 1)
        page.ignore_errors({"number_stored_as_text": "A1:XFD1048576"})
        printed = sum(column.printed for column in sheet.columns)
        page.print_area(0, 0, last + 1, printed - 1)
        widths = [_width(column, sheet.rows) for column in sheet.columns]
        for number, columns in enumerate(widths):
            page.set_column(number, number, columns)
        if sum(widths[:printed]) > _PORTRAIT:
            page.set_landscape()
        page.set_paper(self.paper)
        page.fit_to_pages(1, 0)
        page.repeat_rows(sheet.head)
        page.set_margins(left=0.5, right=0.5, top=0.8, bottom=0.7)
        page.set_header(f"&L{CAUTIONS[0]} All cautions: first sheet.")
        page.set_footer(f"&L{self.title}&C&A&Rpage &P of &N")


def _width(column: Column, rows: Iterable[Cells]) -> int:
    """Width of a column, in letters: of what stands in it, and of the longest word of its heading."""
    said = [width(_text(cell)) for cell in _shown(column, rows)]
    words = [width(word) + 3 for word in column.heading.split()]  # the filter's arrow stands beside it
    return min(column.widest, max([_NARROWEST, *said, *words]) + 1)


def _shown(column: Column, rows: Iterable[Cells]) -> Iterator[str]:
    for row in rows:
        value = _value(row.get(column.key))
        yield value if isinstance(value, str) else f"{float(value):.2f}" if column.look != "plain" else f"{value}"


def _value(cell: Cell) -> str | int | float | Decimal:
    """What a cell comes to; nought if it is empty."""
    value = cell.value if isinstance(cell, Formula) else cell
    return 0 if value is None or value == "" else value


def _text(text: str) -> str:
    """Text on one line, without what a workbook cannot hold."""
    return clean(text.replace("\ufffe", " ").replace("\uffff", " "))[:_LONGEST_TEXT]

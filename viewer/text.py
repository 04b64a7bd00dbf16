"""Plain text for people: cleaned of what could upset a terminal, measured as it is seen, wrapped into columns."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

COLUMNS = 100
"""Widest line of any text output."""
GAP = 2
"""Blanks between the columns of a table."""
_BIDI = {*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200E, 0x200F, 0x061C}


def clean(text: str) -> str:
    """
    Return text on one line, without control signs and without signs that turn the direction of what follows.

    Examples
    --------
    >>> clean("loft" + chr(27) + "[31m" + chr(10) + "lamp")
    'loft [31m lamp'
    """
    if text.isascii() and text.isprintable():
        return " ".join(text.split())
    kept = (
        " " if unicodedata.category(sign) in {"Cc", "Zl", "Zp", "Cs"} else sign
        for sign in text
        if ord(sign) not in _BIDI
    )
    return " ".join("".join(kept).split())


def width(text: str) -> int:
    """Columns that text takes in a terminal: wide signs two, signs that sit on another none."""
    return len(text) if text.isascii() else sum(_sign_width(sign) for sign in text)


def padded(text: str, columns: int) -> str:
    """Text filled with blanks to a width as it is seen."""
    return text + " " * (columns - width(text))


def wrapped(text: str, columns: int) -> list[str]:
    """
    Break text at its blanks into lines of at most so many columns; a word that is too long is broken.

    Examples
    --------
    >>> wrapped("through LOFT-J3 and LOFT-J4", 12)
    ['through', 'LOFT-J3 and', 'LOFT-J4']
    >>> wrapped("", 12)
    ['']
    """
    lines: list[str] = []
    line = ""
    for word in text.split(" "):
        joined = f"{line} {word}" if line else word
        if width(joined) <= columns:
            line = joined
            continue
        if line:
            lines.append(line)
        *full, line = _pieces(word, columns)
        lines.extend(full)
    return [*lines, line]


def paragraph(text: str, *, first: str = "", later: str | None = None, columns: int = COLUMNS) -> list[str]:
    """Wrap text behind a first indent or bullet; later lines stand under the text, or behind ``later``."""
    rest = " " * width(first) if later is None else later
    lines = wrapped(clean(text), columns - max(width(first), width(rest)))
    return [(first if index == 0 else rest) + line for index, line in enumerate(lines)]


def flowed(items: Iterable[str], *, first: str = "", gap: int = GAP, columns: int = COLUMNS) -> list[str]:
    """Lay items side by side on as many lines as they take; an item is broken only where a whole line is too short."""
    room = columns - width(first)
    lines: list[str] = []
    for item in items:
        *full, piece = wrapped(item, room)
        if lines and not full and width(lines[-1]) + gap + width(piece) <= room:
            lines[-1] += " " * gap + piece
        else:
            lines += [*full, piece]
    return [first + line for line in lines]


def counted(number: int, thing: str) -> str:
    """
    Say how many of a thing.

    Examples
    --------
    >>> counted(1, "hole"), counted(3, "hole")
    ('1 hole', '3 holes')
    """
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table: its heading and its width."""

    heading: str
    columns: int


def heading_lines(columns: Sequence[Column]) -> list[str]:
    """Head of a table: the headings and a rule under each."""
    rule = (" " * GAP).join("-" * column.columns for column in columns)
    return [*row_lines(columns, [column.heading for column in columns]), rule]


def row_lines(columns: Sequence[Column], cells: Sequence[str]) -> list[str]:
    """One row of a table; a cell too wide for its column goes on below itself, never beside."""
    stacks = [wrapped(clean(cell), column.columns) for column, cell in zip(columns, cells, strict=True)]
    height = max(len(stack) for stack in stacks)
    return [
        (" " * GAP)
        .join(
            padded(stack[level] if level < len(stack) else "", column.columns)
            for column, stack in zip(columns, stacks, strict=True)
        )
        .rstrip()
        for level in range(height)
    ]


def _pieces(word: str, columns: int) -> list[str]:
    """Cut one word into pieces that fit, after a hyphen, point or stroke where there is one."""
    pieces = [""]
    for sign in word:
        while pieces[-1] and width(pieces[-1] + sign) > columns:
            kept = max(pieces[-1].rfind(mark) for mark in "-./_") + 1 or len(pieces[-1])
            pieces[-1:] = [pieces[-1][:kept], pieces[-1][kept:]]
        pieces[-1] += sign
    return pieces


def _sign_width(sign: str) -> int:
    if unicodedata.combining(sign) or unicodedata.category(sign) in {"Mn", "Me", "Cf"}:
        return 0
    return 2 if unicodedata.east_asian_width(sign) in {"W", "F"} else 1

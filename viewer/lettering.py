"""The lettering of pictures and sheets: which signs can be drawn, and how wide a text comes out.

A sign that the fonts lack would be lost without a word on paper, so it is replaced by a box that can be seen.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path

FONT = "DejaVu Sans"
FONT_FOLDER = Path(__file__).parent / "fonts"
FONT_FILES = {False: FONT_FOLDER / "DejaVuSans.ttf", True: FONT_FOLDER / "DejaVuSans-Bold.ttf"}
"""By whether the text is bold."""
MISSING = "\N{WHITE SQUARE}"


@cache
def _advances(bold: bool) -> Mapping[int, float]:
    """Width of each sign that the font has, in ems, by code point."""
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

    with TTFont(FONT_FILES[bold], lazy=True) as font:
        widths, em = font["hmtx"].metrics, font["head"].unitsPerEm
        return {code: widths[glyph][0] / em for code, glyph in font.getBestCmap().items() if code >= ord(" ")}


def drawable(text: str) -> str:
    """Return ``text`` with every sign that regular or bold letters lack replaced by a visible box."""
    regular, bold = _advances(bold=False), _advances(bold=True)
    return "".join(sign if ord(sign) in regular and ord(sign) in bold else MISSING for sign in text)


def width_in(text: str, height_in: float, *, bold: bool = False) -> float:
    """
    Width of a text as drawn, in inches.

    The sum of the signs' own widths: kerning and joined letters can make it a little narrower.
    """
    widths = _advances(bold)
    return height_in * sum(widths.get(ord(sign), widths[ord(MISSING)]) for sign in text)


def shortened(text: str, height_in: float, room_in: float, *, bold: bool = False) -> str:
    """Return ``text``, or as much of it as fits into ``room_in`` followed by an ellipsis."""
    if width_in(text, height_in, bold=bold) <= room_in:
        return text
    while text and width_in(text + "…", height_in, bold=bold) > room_in:
        text = text[:-1]
    return text + "…"


def lines(text: str, height_in: float, room_in: float, *, bold: bool = False) -> list[str]:
    """Break ``text`` at its blanks into lines no wider than ``room_in``; a word that is too long alone is shortened."""
    found: list[str] = []
    for word in text.split():
        longer = f"{found[-1]} {word}" if found else word
        if found and width_in(longer, height_in, bold=bold) <= room_in:
            found[-1] = longer
        else:
            found.append(shortened(word, height_in, room_in, bold=bold))
    return found

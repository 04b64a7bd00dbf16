"""Lengths and sections as people write them, read into inches and printed back.

One reader and one printer, so that a file, the command line and every list speak the same way.
"""

from __future__ import annotations

import math
import re
import unicodedata
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Literal, overload

from barnloom.model.errors import InputError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from pydantic import ValidationInfo

Rounding = Literal["nearest", "down", "up"]

SIXTEENTH_IN = 1 / 16
MILLIMETRE_IN = 1 / 25.4
TOLERANCE_IN = 1e-6
"""Two lengths closer than this are equal, here and wherever a limit is compared."""

LONGEST_IN = 120_000.0
"""10,000 ft: no building is longer, so a longer length is a slip."""
_BIGGEST = 1e9
"""No number in a scene is larger, whatever its unit."""
LONGEST_TEXT = 60
"""Letters; nobody writes a length or a section longer."""

_INCHES = {
    "in": Fraction(1),
    "ft": Fraction(12),
    "mm": Fraction(10, 254),
    "cm": Fraction(100, 254),
    "m": Fraction(10_000, 254),
}
_EXPECTED = 'a length with its unit, like 12\' 6-1/2", 150 1/2", 12ft 6 1/2in, 3.81 m or 3810 mm'
_NUMBER = r"(?:[0-9]+(?:\s+|\s*-\s*)[0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:\.[0-9]*)?|\.[0-9]+)"
_FEET = r"(?:'|feet|foot|ft)\.?"
_INCH = r"(?:\"|inches|inch|in)\.?"
_US = re.compile(
    rf"(?:(?P<feet>{_NUMBER})\s*{_FEET}(?:\s*-?\s*(?=[0-9.]))?)?(?:(?P<inches>{_NUMBER})\s*{_INCH})?", re.IGNORECASE
)
_METRIC = re.compile(rf"(?P<number>{_NUMBER})\s*(?P<unit>mm|cm|m|metres?|meters?)", re.IGNORECASE)
_BARE = re.compile(_NUMBER)
_SIGNS = str.maketrans(
    {
        **dict.fromkeys("′’‘ʹ`´", "'"),
        **dict.fromkeys("″”“ʺ", '"'),
        **dict.fromkeys("−–‐‑", "-"),
        **dict.fromkeys("\u00a0\u2009\u202f", " "),
        "⁄": "/",
        "×": "x",
        **{sign: f" {unicodedata.normalize('NFKC', sign).replace('⁄', '/')}" for sign in "½¼¾⅛⅜⅝⅞"},
    }
)


class LengthError(InputError):
    """Text that is not a length (or a section); the message says what was found, what is expected and a way out."""


def _plain(text: str) -> str:
    """Text with typographic marks, dashes and fractions as typewriter ones."""
    return text.translate(_SIGNS).replace("''", '"').strip()


def _fraction(number: str) -> Fraction:
    """Value of ``6-1/2``, ``6 1/2``, ``1/2`` or ``6.5``, exactly."""
    whole, *parts = [part for part in re.split(r"[\s-]+", number) if part]
    if parts:
        part = _fraction(parts[0])
        if part >= 1:
            found = f"the fraction {parts[0]} after {whole}"
            raise LengthError(found, "a fraction below 1")
        return Fraction(whole) + part
    if re.search(r"/0+$", whole):
        raise LengthError(whole, "a fraction whose lower number is not 0")
    return Fraction(whole.rstrip("."))


def _checked(inches: Fraction, said: str) -> float:
    """Inches as a float, refused where no building is that long."""
    if abs(inches) > LONGEST_IN:
        raise LengthError(said, "at most 10,000 ft", "check its unit")
    return float(inches)


def _without_unit(number: Fraction, said: str, bare: str | None) -> float:
    """Inches of a number that has no unit: 0 needs none, others the scene's ``bare`` unit."""
    if number == 0:
        return 0.0
    if bare is None:
        way_out = f"write {said}\" for inches, {said}' for feet or {said} mm (or say once in the scene, bare: in)"
        found = f"{said} without a unit"
        raise LengthError(found, _EXPECTED, way_out)
    return _checked(number * _INCHES[bare], said)


def read_length(text: str, *, bare: str | None = None) -> float:
    r"""
    Inches of a length as people write it.

    Parameters
    ----------
    text : str
        Feet and inches, or metric; typographic marks and a leading minus are understood.
    bare : {"in", "ft", "mm", "cm", "m"}, optional
        Unit of a number without one. None: only 0 may go without.

    Raises
    ------
    LengthError
        If the text is no length, has no unit, or is longer than 10,000 ft.

    Examples
    --------
    >>> read_length("12' 6-1/2\""), read_length('150 1/2"'), read_length("12ft 6 1/2in")
    (150.5, 150.5, 150.5)
    >>> read_length("3.81 m") == read_length("3810 mm") == 150.0
    True
    """
    said = text.strip()
    if len(said) > LONGEST_TEXT:
        found = f"{said[:24]!r} and {len(said) - 24} more letters"
        raise LengthError(found, _EXPECTED)
    plain = _plain(said)
    sign, body = (-1, plain[1:].lstrip()) if plain.startswith("-") else (1, plain)
    if _BARE.fullmatch(body):
        return _without_unit(sign * _fraction(body), said, bare)
    if metric := _METRIC.fullmatch(body):
        unit = metric["unit"].lower()
        return _checked(sign * _fraction(metric["number"]) * _INCHES["m" if unit.startswith("me") else unit], said)
    us = _US.fullmatch(body)
    if us is None or not body:
        hint = ""
        if re.fullmatch(rf"{_NUMBER}\s*{_FEET}\s*-?\s*{_NUMBER}", body, re.IGNORECASE):
            hint = f'the last number has no unit: write {said}"'
        elif re.search(r"[0-9],[0-9]", body):
            hint = "write a point, not a comma"
        raise LengthError(repr(said), _EXPECTED, hint)
    feet, inches = (_fraction(us[part]) if us[part] else Fraction(0) for part in ("feet", "inches"))
    if us["feet"] and inches >= 12:
        raise LengthError(repr(said), "inches below 12 after feet", "write it in inches alone if it is meant")
    return _checked(sign * (12 * feet + inches), said)


def read_length_value(value: object, info: ValidationInfo) -> float:
    """Inches of a value as a scene file gives it (text or number); ``info.context["bare"]`` names the bare unit."""
    bare = (info.context or {}).get("bare")
    if isinstance(value, str):
        return read_length(value, bare=bare)
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        if value != value or abs(value) > _BIGGEST:  # a NaN is not itself
            found = "a number that no length has"
            raise LengthError(found, _EXPECTED)
        return _without_unit(Fraction(value), f"{value:.12g}", bare)
    raise LengthError(repr(value), _EXPECTED)


_SECTION_EXPECTED = (
    'a section like 2x10 (nominal), 1-7/8" x 9-1/2" or 47 x 241 mm (true), 2x10 rough (full-sawn), or: not measured'
)
_NOMINAL = re.compile(r"([0-9]{1,2})\s*x\s*([0-9]{1,2})\s*(rough|full[- ]sawn|green|dry|dressed)?", re.IGNORECASE)
_UNIT_AT_END = re.compile(r"(\"|inches|inch|in|mm|cm|m)\.?$", re.IGNORECASE)


def read_section(text: str, *, bare: str | None = None) -> dict[str, Any]:
    """
    Breadth and depth of a timber in inches, as keyword arguments for a scene's section.

    Parameters
    ----------
    text : str
        ``2x10`` is nominal and becomes its dressed size; with units it is the true section; ``2x10 rough`` is full-sawn
        (true as named); ``not measured`` gives size 0 and ``measured`` False.
    bare : str, optional
        Unit of two bare numbers that are no nominal size (``47 x 241`` in millimetres).

    Raises
    ------
    LengthError
        If the text is neither.

    Examples
    --------
    >>> read_section("2x10")
    {'breadth_in': 1.5, 'depth_in': 9.25, 'said': '2x10 (dressed 1-1/2 x 9-1/4)', 'measured': True}
    >>> read_section('2" x 8"')["depth_in"]
    8.0
    """
    from barnloom.model.lumber import LumberError, dressed

    said = text.strip()
    if len(said) > LONGEST_TEXT:
        found = f"{said[:24]!r} and {len(said) - 24} more letters"
        raise LengthError(found, _SECTION_EXPECTED)
    plain = _plain(said)
    if plain.lower() == "not measured":
        return {"breadth_in": 0.0, "depth_in": 0.0, "said": "not measured", "measured": False}
    if nominal := _NOMINAL.fullmatch(plain):
        breadth, depth, word = int(nominal[1]), int(nominal[2]), (nominal[3] or "").lower()
        if word == "rough" or word.startswith("full"):
            return _section(float(breadth), float(depth), f"{said} (full-sawn, {breadth} x {depth})", said)
        try:
            size = dressed(breadth, depth, green=word == "green")
        except LumberError as err:
            if bare is None or word:
                raise LengthError(err.found, err.expected, err.do) from err
        else:
            return _section(*size, f"{said} ({_dressed_words(breadth, depth, size, word)})", said)
    sides = re.split(r"\s*x\s*", plain, flags=re.IGNORECASE)
    if len(sides) != 2 or not all(sides):
        raise LengthError(repr(said), _SECTION_EXPECTED)
    unit = _UNIT_AT_END.search(sides[1])
    if unit and _BARE.fullmatch(sides[0]):
        sides[0] += unit[1]
    try:
        breadth_in, depth_in = (read_length(side, bare=bare) for side in sides)
    except LengthError as err:
        raise LengthError(repr(said), _SECTION_EXPECTED, str(err)) from err
    return _section(breadth_in, depth_in, f"{said} (true)", said)


def _section(breadth_in: float, depth_in: float, words: str, said: str) -> dict[str, Any]:
    if not (breadth_in > 0 and depth_in > 0):
        raise LengthError(repr(said), "two sides above 0")
    return {"breadth_in": breadth_in, "depth_in": depth_in, "said": words, "measured": True}


def _dressed_words(breadth: int, depth: int, size: tuple[float, float], word: str) -> str:
    """How a nominal size was read; for a large timber, where yards sell it dry or green, both."""
    from barnloom.model.lumber import dressed

    def by(pair: tuple[float, float]) -> str:
        return " x ".join(format_length(side, feet=False).rstrip('"') for side in pair)

    if word == "green":
        return f"dressed green {by(size)}"
    green = dressed(breadth, depth, green=True)
    if min(breadth, depth) >= 5 and green != size:
        return f"dressed dry {by(size)}; sold green it is {by(green)}: measure it"
    return f"dressed {by(size)}"


def read_section_value(value: object, info: ValidationInfo) -> dict[str, Any]:
    """Section keyword arguments of a value as a scene file gives it."""
    if not isinstance(value, str):
        raise LengthError(repr(value), _SECTION_EXPECTED)
    return read_section(value, bare=(info.context or {}).get("bare"))


@overload
def snap(value: float, grid_in: float, rounding: Rounding = ...) -> float: ...
@overload
def snap(value: NDArray[np.float64], grid_in: float, rounding: Rounding = ...) -> NDArray[np.float64]: ...
def snap(
    value: float | NDArray[np.float64], grid_in: float, rounding: Rounding = "nearest"
) -> float | NDArray[np.float64]:
    """
    Multiples of ``grid_in`` next to a value (or to each of an array); halves go up, NaN stays.

    A value within the comparison tolerance of the grid is on it, whichever way it is rounded.

    Examples
    --------
    >>> snap(2.03, 1 / 16), snap(2.03, 1 / 16, "up"), snap(2.0 - 1e-9, 1 / 16, "down")
    (2.0, 2.0625, 2.0)
    """
    steps, slack = value / grid_in, TOLERANCE_IN / grid_in
    if rounding == "up":
        return (0.0 - _floor(slack - steps)) * grid_in
    return _floor(steps + (slack if rounding == "down" else 0.5)) * grid_in


@overload
def _floor(value: float) -> float: ...
@overload
def _floor(value: NDArray[np.float64]) -> NDArray[np.float64]: ...
def _floor(value: float | NDArray[np.float64]) -> float | NDArray[np.float64]:
    if isinstance(value, (int, float)):
        return float(math.floor(value)) if math.isfinite(value) else value
    import numpy as np

    return np.floor(value)


def format_length(inches: float, *, metric: bool = False, rounding: Rounding = "nearest", feet: bool = True) -> str:
    r"""
    Words of a length that a tape can use: feet and inches to 1/16, or whole millimetres.

    Parameters
    ----------
    inches : float
        Any finite length, inches.
    metric : bool
        Millimetres instead.
    rounding : {"nearest", "down", "up"}
        Which way to the grid; a limit is rounded so that the printed number keeps it.
    feet : bool
        False: inches alone.

    Examples
    --------
    >>> format_length(98.25), format_length(98.25, feet=False), format_length(0.75), format_length(96)
    ('8\' 2-1/4"', '98-1/4"', '3/4"', '8\' 0"')
    >>> format_length(98.25, metric=True), format_length(2.04, rounding="up"), format_length(-38)
    ('2496 mm', '2-1/16"', '-3\' 2"')
    """
    if metric:
        return f"{round(snap(inches, MILLIMETRE_IN, rounding) / MILLIMETRE_IN)} mm"
    sixteenths = round(snap(inches, SIXTEENTH_IN, rounding) * 16)
    sign = "-" if sixteenths < 0 else ""
    whole, part = divmod(abs(sixteenths), 16)
    fraction = str(Fraction(part, 16)) if part else ""
    whole_feet, whole = divmod(whole, 12) if feet and whole >= 12 else (0, whole)
    number = f"{whole}-{fraction}" if whole and fraction else fraction or str(whole)
    return f"{sign}{whole_feet}' {number}\"" if whole_feet else f'{sign}{number}"'

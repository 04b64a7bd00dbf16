"""How one value of a scene file is read: lengths, sections, ids, numbers, words, each within a sensible range.

Values arrive as the text that stands in the file, or as plain Python values. A reader that refuses one says so by an
InputError, in the words that a person sees.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    StringConstraints,
    ValidationInfo,
    WithJsonSchema,
)

from barnloom.model.errors import InputError
from barnloom.model.lengths import format_length, read_length, read_length_value, read_section_value
from barnloom.model.limits import at_least, at_most

IN, FT = 1.0, 12.0
UNITS = ("in", "ft", "mm", "cm", "m")
HOME_RUNS_MAX = 60
LONGEST_TEXT = 400
CUBIC_CENTIMETRE_IN3 = 2.54**-3
NOT_MEASURED: Literal["not measured"] = "not measured"


def _said(value: object) -> str:
    """Return a value as a person would recognise it in the file."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return "keys with values of their own"
    return "a list" if isinstance(value, (list, tuple)) else " ".join(str(value).split())[:60]


def _words(value: object) -> object:
    """Return text on one line; a number is the text it was written as."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return str(value)
    if not isinstance(value, str):
        raise InputError(_said(value), "a text", "write it on one line")
    line = " ".join(value.split())
    if len(line) > LONGEST_TEXT:
        found = f"a text of {len(line):,} letters"
        raise InputError(found, f"at most {LONGEST_TEXT}", "keep it short: it is printed on one line")
    return line


def _number(value: object) -> float:
    if isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value):
        return float(value)
    if isinstance(value, str) and re.fullmatch(r"[+-]?([0-9]{1,12}(\.[0-9]*)?|\.[0-9]+)", value.strip()):
        return float(value)
    raise InputError(_said(value), "a plain number, like 2 or 0.75", "write it in digits with a point, without a unit")


def whole(value: object) -> int:
    """Return a whole number."""
    try:
        number = _number(value)
        if number.is_integer():
            return int(number)
    except InputError:
        pass
    raise InputError(_said(value), "a whole number", "write it in digits alone, like 2")


def _home_runs(value: object) -> int | str:
    if value == "any":
        return "any"
    try:
        number = whole(value)
    except InputError:
        number = 0
    if not 1 <= number <= HOME_RUNS_MAX:
        raise InputError(_said(value), f"a whole number from 1 to {HOME_RUNS_MAX}, or any", "most circuits have 1")
    return number


def _yes_no(value: object) -> bool:
    if isinstance(value, bool):
        return value
    answer = {"yes": True, "true": True, "no": False, "false": False}.get(str(value).strip().lower())
    if answer is None:
        raise InputError(_said(value), "yes or no", "write one of the two")
    return answer


def _degrees(value: object) -> float:
    text = re.sub(r"\s*(°|deg|degrees)\s*$", "", value) if isinstance(value, str) else value
    try:
        degrees = _number(text)
    except InputError:
        degrees = math.nan
    if not abs(degrees) <= 360:
        raise InputError(_said(value), "degrees from -360 to 360", "write a number like 37.5")
    return degrees


def _heading(value: object) -> object:
    if value in ("east", "north", "west", "south"):
        return value
    try:
        return _degrees(value)
    except InputError:
        expected = "east, north, west, south, or degrees counter-clockwise from east"
        do = "write which way the line goes, as seen from above, like north or 37.5"
        raise InputError(_said(value), expected, do) from None


def _pitch(value: object) -> object:
    match = re.fullmatch(r"\s*([0-9]{1,3}(?:\.[0-9]+)?)\s*(?:/|in|:)\s*12\s*", str(value))
    if match is None or not 0 < float(match[1]) <= 60:
        raise InputError(_said(value), "how far the roof rises in 12, like 8/12", "measure the rise over 12 along")
    return value


def _length_or_not_measured(value: object, info: ValidationInfo) -> object:
    if isinstance(value, str) and value.strip().lower() == NOT_MEASURED:
        return NOT_MEASURED
    return read_length_value(value, info)


def _limit_value(value: object, info: ValidationInfo) -> float:
    """Inches of a length, or a bare number or share as it stands."""
    try:
        return _number_or_share(value)
    except InputError:
        return read_length_value(value, info)


def _number_or_share(value: object) -> float:
    share = re.fullmatch(r"(.*[0-9.])\s*%\s*", value) if isinstance(value, str) else None
    return _number(share[1]) / 100 if share else _number(value)


def _with_unit(quantity: str, *units: str) -> BeforeValidator:
    """Read a plain number, with or without its unit behind it."""

    def read(value: object) -> float:
        text = value
        if isinstance(value, str):
            match = re.fullmatch(rf"(.*?)\s*(?:{'|'.join(units)})", value.strip(), flags=re.IGNORECASE)
            text = match[1] if match else value
        try:
            return _number(text)
        except InputError:
            raise InputError(_said(value), f"{quantity}, like 20", "write the number in digits") from None

    return BeforeValidator(read)


def _horsepower(value: object) -> float:
    match = re.fullmatch(r"(?:([0-9]{1,3})[ -])?([0-9]{1,3}/[1-9][0-9]{0,2})", _bare(value, "hp"))
    if match:
        return float(int(match[1] or 0) + Fraction(match[2]))
    try:
        return _number(_bare(value, "hp"))
    except InputError:
        raise InputError(_said(value), "horsepower, like 1-1/2 or 0.75", "read it off the nameplate") from None


def _bare(value: object, unit: str) -> str:
    return str(value).strip().lower().removesuffix(unit).rstrip()


def _volume(value: object) -> float:
    """Cubic inches of a volume."""
    text = _bare(value, "").replace("³", "3").replace("cu in", "in3").replace("cu. in.", "in3")
    scale = 1.0
    for unit, factor in (("in3", 1.0), ("cm3", CUBIC_CENTIMETRE_IN3)):
        if text.endswith(unit):
            text, scale = text.removesuffix(unit).rstrip(), factor
    try:
        return _number(text) * scale
    except InputError:
        expected = "cubic inches as marked inside the box, like 21, or 344 cm3"
        raise InputError(_said(value), expected, "read it in the box, or leave it out") from None


def _share(value: object) -> float:
    try:
        return _number_or_share(value)
    except InputError:
        raise InputError(_said(value), "a share, like 3 %", "write it in per cent") from None


def _price_or_no(value: object) -> float | str:
    if value is False or (isinstance(value, str) and value.strip().lower() == "no"):
        return "no"
    try:
        price = _number(value)
    except InputError:
        price = -1.0
    if price < 0:
        raise InputError(_said(value), "a price a foot, like 1.10, or no", "write one of the two")
    return price


def _length_text(value: str, info: ValidationInfo) -> str:
    """Return a length as the text it is, for the keys of a table."""
    read_length(value, bare=(info.context or {}).get("bare"))
    return value


def between(low_in: float, high_in: float) -> AfterValidator:
    """Accept lengths (inches) between two bounds only: what lies outside is a slip of the pen or of the unit."""

    def in_range(value: float | str) -> float | str:
        if isinstance(value, float) and not (at_least(value, low_in) and at_most(value, high_in)):
            do = "check the number and its unit (feet ' and inches \")"
            raise InputError(_exact(value), f"from {_exact(low_in)} to {_exact(high_in)}", do)
        return value

    return AfterValidator(in_range)


def _exact(inches: float) -> str:
    return f"{inches / FT:,.0f} ft" if inches and inches % FT == 0 and abs(inches) > FT else format_length(inches)


LENGTH_SCHEMA: dict[str, Any] = {
    "anyOf": [{"type": "string", "pattern": "[0-9½¼¾⅛⅜⅝⅞]"}, {"type": "number"}],
    "description": 'a length with its unit: 12\' 6-1/2", 150 1/2", 12ft 6 1/2in, 3.81 m, 3810 mm, or 0',
}
_TEXT_SCHEMA: dict[str, Any] = {"type": ["string", "number"]}

Length = Annotated[float, BeforeValidator(read_length_value), WithJsonSchema(LENGTH_SCHEMA)]
"""Inches, read from text with a unit; 0 needs none."""

Coordinate = Annotated[Length, between(-2_000 * FT, 2_000 * FT)]
Distance = Annotated[Length, between(0, 2_000 * FT)]
Level = Annotated[Length, between(-100 * FT, 300 * FT)]
Side = Annotated[Length, between(6 * IN, 1_000 * FT)]
"""A side of a building or a wall."""
WallHeight = Annotated[Length, between(6 * IN, 60 * FT)]
OnWall = Annotated[Length, between(0, 60 * FT)]
"""A height on a wall or over a floor."""
Spacing = Annotated[Length, between(3 * IN, 20 * FT)]
OpeningSize = Annotated[Length, between(1 * IN, 60 * FT)]
Thickness = Annotated[Length, between(0, 6 * IN)]
Clearance = Annotated[Length, between(0, 20 * FT)]
Small = Annotated[Length, between(1 / 16, 6 * FT)]
"""A size of a body or a board."""
Diameter = Annotated[Length, between(1 / 8, 12 * IN)]
Depth = Annotated[Length, between(0, 4 * FT)]
CableSize = Annotated[Length, between(0.05, 4 * IN)]
Allowance = Annotated[Length, between(0, 40 * FT)]
"""A length added to a cable."""
Room = Annotated[Length, between(3 * IN, 10 * FT)]
"""Room that a drill needs."""

LengthText = Annotated[str, AfterValidator(_length_text)]

DiameterOrNot = Annotated[
    float | Literal["not measured"],
    BeforeValidator(_length_or_not_measured),
    between(1 / 8, 12 * IN),
    WithJsonSchema({"anyOf": [{"const": NOT_MEASURED}, *LENGTH_SCHEMA["anyOf"]]}),
]
LimitValue = Annotated[
    float,
    BeforeValidator(_limit_value),
    WithJsonSchema(
        {"type": ["string", "number"], "description": "a length with its unit, or a number or share as it is"}
    ),
]

SECTION_SCHEMA: dict[str, Any] = {
    "type": "string",
    "pattern": "[xX×]|not measured",
    "description": '2x10 (nominal, dressed), 1-7/8" x 9-1/2" or 47 x 241 mm (true), 2x10 rough, or: not measured',
}
SECTION_MAX_IN = 4 * FT


class Section(BaseModel):
    """Breadth and depth of a timber, small side first as spoken ("two by ten"), in inches, and how it was given.

    ``2x10`` is nominal and becomes its dressed size; ``1-7/8" x 9-1/2"`` (inch marks) or ``47 x 241 mm`` is the true
    section; ``not measured`` is allowed.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")
    breadth_in: float
    depth_in: float
    said: str
    measured: bool = True


def _sensible(section: Section) -> Section:
    if section.measured and not all(1 / 4 <= side <= SECTION_MAX_IN for side in (section.breadth_in, section.depth_in)):
        raise InputError(section.said, 'sides from 1/4" to 4 ft', "check the numbers and their unit")
    return section


SectionField = Annotated[
    Section,
    BeforeValidator(read_section_value),
    AfterValidator(_sensible),
    WithJsonSchema(SECTION_SCHEMA),
]

Words = Annotated[str, BeforeValidator(_words), WithJsonSchema(_TEXT_SCHEMA)]
"""Free text on one line."""
ID_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$"
Id = Annotated[str, BeforeValidator(_words), StringConstraints(pattern=ID_PATTERN)]
PLAN_IT = "plan it"
"""In place of a circuit: the tool puts the box on one. No id has a blank."""
IdRef = Annotated[Id, WithJsonSchema({"anyOf": [{"type": "string", "pattern": ID_PATTERN}, {"type": "integer"}]})]
"""An id that names something elsewhere in the scene."""
CircuitRef = Annotated[
    str,
    BeforeValidator(_words),
    StringConstraints(pattern=rf"{ID_PATTERN}|^{PLAN_IT}$"),
    WithJsonSchema({"anyOf": [{"type": "string", "pattern": rf"{ID_PATTERN}|^{PLAN_IT}$"}, {"type": "integer"}]}),
]
"""An id of a circuit, or ``plan it``."""
Number = Annotated[float, BeforeValidator(_number)]
Whole = Annotated[int, BeforeValidator(whole)]
YesNo = Annotated[bool, BeforeValidator(_yes_no), WithJsonSchema({"enum": ["yes", "no", True, False]})]
Amps = Annotated[float, _with_unit("amperes", "a", "amp", "amps"), Field(ge=0, le=1000), WithJsonSchema(_TEXT_SCHEMA)]
Watts = Annotated[float, _with_unit("watts", "w", "va"), Field(ge=0, le=100_000), WithJsonSchema(_TEXT_SCHEMA)]
Horsepower = Annotated[float, BeforeValidator(_horsepower), Field(gt=0, le=100), WithJsonSchema(_TEXT_SCHEMA)]
Volume = Annotated[float, BeforeValidator(_volume), Field(ge=1, le=1000), WithJsonSchema(_TEXT_SCHEMA)]
"""Cubic inches."""
Share = Annotated[float, BeforeValidator(_share), Field(ge=0, le=0.2), WithJsonSchema(_TEXT_SCHEMA)]
PriceOrNo = Annotated[
    float | Literal["no"],
    BeforeValidator(_price_or_no),
    WithJsonSchema({"anyOf": [{"type": "number", "minimum": 0}, {"enum": ["no", False]}]}),
]
Awg = Annotated[Literal[14, 12, 10, 8, 6, 4, 3, 2, 1], BeforeValidator(whole)]
"""Size of a copper conductor."""
SupplySize = Annotated[
    Literal["14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0"],
    BeforeValidator(_words),
    WithJsonSchema({"type": ["string", "integer"]}),
]
"""Size of the conductors of a supply."""
Degrees = Annotated[float, BeforeValidator(_degrees), WithJsonSchema(_TEXT_SCHEMA)]
Heading = Annotated[
    Literal["east", "north", "west", "south"] | float,
    BeforeValidator(_heading),
    WithJsonSchema({"anyOf": [{"enum": ["east", "north", "west", "south"]}, {"type": ["number", "string"]}]}),
]
"""A compass word, or degrees counter-clockwise from east."""
Pitch = Annotated[
    str, BeforeValidator(_pitch), WithJsonSchema({"type": "string", "pattern": r"^\s*\d+(\.\d+)?\s*(/|in|:)\s*12\s*$"})
]
HomeRuns = Annotated[
    int | Literal["any"],
    BeforeValidator(_home_runs),
    WithJsonSchema({"anyOf": [{"type": "integer", "minimum": 1, "maximum": HOME_RUNS_MAX}, {"const": "any"}]}),
]


def shape(value: object) -> str:
    """Which branch of a field that takes several shapes a value is for: keys, a list, or a word."""
    if isinstance(value, (Mapping, BaseModel)):
        return KEYS
    return LIST if isinstance(value, (list, tuple)) else WORD


KEYS, LIST, WORD = "<keys>", "<list>", "<word>"
OfShape = Discriminator(shape)

Place2 = tuple[Coordinate, Coordinate]
Place3 = tuple[Coordinate, Coordinate, Coordinate]
Two = tuple[Distance, Distance]

"""The electrical tables of the code, read from ``tables.toml``, which says where each value is from and how sure it is.

Nothing is extrapolated: what a table does not hold is a ``TableError`` that says what it holds.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Sequence
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from barnloom.model.errors import InputError
from barnloom.model.limits import at_least, at_most

Size = int | str
"""A conductor's size in AWG: 14, 12, ..., 1 or "1/0"; a number may be text, too."""
COLUMNS = (60, 75, 90)
"""Temperatures (C) of the columns of Table 310.16."""
NEAR_HP = 0.005
"""How far a horsepower may be off the table's fraction: 0.33 is 1/3."""


class TableError(InputError):
    """A table was asked for something that it does not hold."""


@cache
def _tables() -> dict[str, Any]:
    return tomllib.loads(Path(__file__).with_name("tables.toml").read_text(encoding="utf-8"))


def _of(rows: dict[str, Any], key: Size, what: str) -> Any:
    """Row of a table; TableError that lists the keys if it has none of that name."""
    if str(key) not in rows:
        found = f"{what} {key}"
        raise TableError(found, f"one of {', '.join(rows)}")
    return rows[str(key)]


def _step(steps: Sequence[tuple[float, float]], value: float, what: str) -> float:
    """What the first step gives that serves a value; TableError past the last."""
    for most, given in steps:
        if at_most(value, most):
            return given
    found = f"{what} {value:g}"
    raise TableError(found, f"at most {steps[-1][0]:g}, where the table ends", "ask the code or an engineer")


def ampacity(awg: Size, column: int) -> float:
    """
    Ampacity (A) of copper, up to three current-carrying conductors at 30 C (NEC Table 310.16).

    Parameters
    ----------
    awg : int or str
        Size, 14 to "1/0".
    column : int
        Temperature of the column: 60, 75 or 90 (C).

    Raises
    ------
    TableError
        If the table has no such size or column.

    Examples
    --------
    >>> ampacity(12, 60), ampacity("1/0", 75)
    (20.0, 150.0)
    """
    if column not in COLUMNS:
        found = f"the column {column}"
        raise TableError(found, f"one of {', '.join(map(str, COLUMNS))}")
    return float(_of(_tables()["ampacity"], awg, "the size")[COLUMNS.index(column)])


def small_conductor_cap(awg: Size) -> float | None:
    """
    Largest breaker (A) on a conductor of 14, 12 or 10 AWG, None on a larger one (NEC 240.4(D)).

    It bounds the breaker, not the ampacity. TableError for a size that is in no table of ampacities.
    """
    _of(_tables()["ampacity"], awg, "the size")
    cap = _tables()["small_conductor"].get(str(awg))
    return None if cap is None else float(cap)


def receptacle_ratings(breaker_a: float) -> tuple[float, ...]:
    """
    Ratings (A) that receptacles may have on a circuit with two or more of them (NEC Table 210.21(B)(3)).

    Empty for a breaker that the table has not.

    Examples
    --------
    >>> receptacle_ratings(20), receptacle_ratings(25)
    ((15.0, 20.0), ())
    """
    return tuple(map(float, _tables()["receptacle_ratings"].get(f"{breaker_a:g}", ())))


def standard_breakers() -> tuple[float, ...]:
    """Return the standard ratings of breakers (A), 15 to 200 (NEC 240.6(A))."""
    return tuple(map(float, _tables()["breakers"]["sizes"]))


def next_breaker(amps: float) -> float:
    """
    Smallest standard breaker (A) that is not below a current; TableError past 200.

    Examples
    --------
    >>> next_breaker(28), next_breaker(40)
    (30.0, 40.0)
    """
    return _step([(size, size) for size in standard_breakers()], amps, "amperes")


def adjustment(count: int) -> float:
    """Share of the ampacity left where so many current-carrying conductors lie together (NEC 310.15(C)(1))."""
    return _step(_tables()["adjustment"]["steps"], count, "conductors")


def ambient(celsius: float) -> float:
    """Share of the 90 C ampacity left at an ambient temperature; TableError past 60 C (NEC Table 310.15(B)(1))."""
    return _step(_tables()["ambient"]["steps"], celsius, "degrees C")


def motor_current(horsepower: float, volts: float) -> float:
    """
    Full-load current (A) of a single-phase motor (NEC Table 430.248), whatever its nameplate says (430.6(A)).

    Parameters
    ----------
    horsepower : float
        As the table lists it; 0.33 is taken for 1/3.
    volts : float
        Of the supply: 110 to 120, 200, 208, or 220 to 240.

    Raises
    ------
    TableError
        If the table has no such size or voltage; it names those listed.

    Examples
    --------
    >>> motor_current(1.5, 240), motor_current(1, 120)
    (10.0, 16.0)
    """
    table = _tables()["motor"]
    columns = [i for i, (low, high) in enumerate(table["serves"]) if at_least(volts, low) and at_most(volts, high)]
    if not columns:
        found = f"{volts:g} V"
        raise TableError(found, "110 to 120, 200, 208, or 220 to 240 V", "say the supply's voltage")
    for text, currents in table["horsepower"].items():
        if abs(sum(map(Fraction, text.split())) - horsepower) <= NEAR_HP:
            return float(currents[columns[0]])
    found = f"a motor of {horsepower:g} hp"
    raise TableError(
        found, f"one of {', '.join(table['horsepower'])} hp", "take the next larger one, or say its amperes"
    )


def grounding_awg(breaker_a: float) -> int:
    """
    Size (AWG) of the copper equipment ground by the breaker, never more than the circuit's conductors (NEC 250.122).

    Examples
    --------
    >>> [grounding_awg(breaker) for breaker in (15, 20, 25, 60, 100)]
    [14, 12, 10, 10, 8]
    """
    return int(_step(_tables()["grounding"]["steps"], breaker_a, "a breaker of amperes"))


def cable_ground(awg: Size) -> int:
    """
    Size (AWG) of the ground in cable with conductors of 14 to 6 AWG; TableError for others.

    Examples
    --------
    >>> cable_ground(12), cable_ground(6)
    (12, 10)
    """
    return int(_of(_tables()["cable_ground"], awg, "the size"))


def circular_mils(awg: Size) -> float:
    """Area of a conductor in circular mils (NEC chapter 9 Table 8)."""
    return float(_of(_tables()["chapter_9"], awg, "the size")["mils"])


def least_size(mils: float) -> Size:
    """
    Smallest conductor of at least so many circular mils; TableError past 1/0 AWG.

    Examples
    --------
    >>> least_size(16_510), least_size(16_511), least_size(90_000)
    (8, 6, '1/0')
    """
    sizes: Iterable[str] = _tables()["chapter_9"]
    for size in sizes:
        if at_least(circular_mils(size), mils):
            return int(size) if size.isdigit() else size
    found = f"{mils:,.0f} circular mils"
    raise TableError(found, f"at most {circular_mils('1/0'):,.0f}, where the table ends", "ask an engineer")


def resistance(awg: Size) -> float:
    """Resistance (ohm per 1000 ft) at 75 C, solid to 10 AWG, stranded from 8, as cable is made (chapter 9 Table 8)."""
    return float(_of(_tables()["chapter_9"], awg, "the size")["dc"])


def impedance(awg: Size) -> complex:
    """Resistance and, imaginary, reactance at 60 Hz, PVC column, ohm per 1000 ft to neutral (NEC chapter 9 Table 9)."""
    row = _of(_tables()["chapter_9"], awg, "the size")
    return complex(row["r"], row["x"])


def conductor_volume(awg: Size) -> float:
    """Volume (cubic inches) that one conductor takes in a box (NEC Table 314.16(B)), 18 to 6 AWG."""
    return float(_of(_tables()["box_volume"], awg, "the size"))


def demand_steps(load: str) -> tuple[tuple[float, float], ...]:
    """Demand factors of a kind of load as (up to so many VA, share that counts); TableError that lists the kinds."""
    return tuple((float(most), float(share)) for most, share in _of(_tables()["demand"], load, "the load"))


def lighting_density(use: str, edition: int = 2020) -> float:
    """General lighting (VA a square foot of outside area) by use, from the 2020 edition on or to 2017 (NEC 220.12)."""
    return float(_of(_of(_tables()["lighting"], edition, "the edition"), use, "the use"))


def cover_in(method: str, place: str = "yard") -> float:
    """
    Least cover (inches) over what lies underground (NEC Table 300.5).

    Parameters
    ----------
    method : str
        "buried" (cable alone), "metal conduit", "conduit", or "protected": a dwelling's branch circuit of at most 120 V
        and 20 A with ground-fault protection before it goes underground.
    place : str
        A row of the table, as ``tables.toml`` names it.

    Raises
    ------
    TableError
        If the table has no such method or place; it names those listed.

    Examples
    --------
    >>> cover_in("buried"), cover_in("conduit", "under a slab")
    (24.0, 4.0)
    """
    return float(_of(_of(_tables()["cover"], method, "the method"), place, "the place"))

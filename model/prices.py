"""Prices of work and material: the defaults, the two other ways of counting, and what a scene changes.

A price is a number under a key; ``prices.toml`` beside this file says what each is for and how sure it is.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from pathlib import Path

from barnloom.model.errors import InputError

PRESETS = ("money", "fewest feet", "fewest holes")
HOLES = (
    *("stud", "stud_high", "stud_doubled", "corner", "joist_low", "joist_mid", "joist_high", "joist_above"),
    *("plate_below", "plate_above", "sole_plate", "block", "rim"),
)
"""Keys that price one hole."""
HOLES_DEAR = 20.0
"""A hole under "fewest holes", in usual stud holes: each then weighs about as much as 20 ft of cable."""
ALIKE = {"seal": 0.0, "rough_timber": 1.0, "fatigue": 1.0}
"""What would make one hole dearer than another, without effect: a hole is a hole under "fewest holes"."""


class PriceError(InputError):
    """A price that does not exist, or a value it cannot have."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """One default price: ``unit`` is "min", "money", "count" or "factor"."""

    key: str
    value: float
    unit: str
    confidence: str
    what: str


@cache
def price_list() -> tuple[Price, ...]:
    """All default prices, with what they are for."""
    text = Path(__file__).with_name("prices.toml").read_text(encoding="utf-8")
    return tuple(Price(key=key, **said) for key, said in tomllib.loads(text).items())


def default_prices(preset: str = "money") -> dict[str, float]:
    """
    Prices under one way of counting.

    Parameters
    ----------
    preset : {"money", "fewest feet", "fewest holes"}
        ``money``: minutes at a rate, and material. ``fewest feet``: nothing but cable costs anything. ``fewest holes``:
        as money, but every hole has one and the same price, that of 20 usual stud holes, wherever it is; sealing it,
        rough timber and fatigue add nothing.

    Raises
    ------
    PriceError
        If there is no such preset.

    Examples
    --------
    >>> default_prices()["stud"], default_prices("fewest holes")["rim"], default_prices("fewest feet")["minute"]
    (1.2, 24.0, 0.0)
    """
    if preset not in PRESETS:
        found = f"the prices {preset!r}"
        raise PriceError(found, "one of " + ", ".join(PRESETS) + ", or single prices by name", _near(preset, PRESETS))
    prices = {price.key: float(price.value) for price in price_list()}
    if preset == "fewest feet":
        return {price.key: 0.0 if price.unit in {"min", "money"} else prices[price.key] for price in price_list()}
    if preset == "fewest holes":
        return prices | dict.fromkeys(HOLES, HOLES_DEAR * prices["stud"]) | ALIKE
    return prices


def resolved_prices(said: Mapping[str, float] | str = "money") -> dict[str, float]:
    """
    All prices of a scene: a preset by name, or the money defaults with single prices changed.

    Raises
    ------
    PriceError
        If a key is unknown, or a price is not a number from 0 up.
    """
    if isinstance(said, str):
        return default_prices(said)
    prices = default_prices()
    for key, value in said.items():
        if key not in prices:
            found = f"the price {key!r}"
            raise PriceError(found, "the name of a price", _near(key, prices))
        if not (math.isfinite(value) and value >= 0):
            found = f"{value} for the price {key}"
            raise PriceError(found, "a number from 0 up")
    return prices | {key: float(value) for key, value in said.items()}


def _near(word: str, words: Mapping[str, float] | tuple[str, ...]) -> str:
    near = get_close_matches(word, words, n=1, cutoff=0.4)
    return f"did you mean {near[0]}?" if near else ""


def plate_price(price: Mapping[str, float]) -> float:
    """Price of one nail plate, put on."""
    return price["minute"] * price["nail_plate"] + price["nail_plate_each"]

"""Small material as bought: which wire or cable connector fits, wire for pigtails, and what devices and breakers cost.

All of it, and how sure it is, stands in ``parts.toml`` beside this file. Prices are placeholders.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from barnloom.model.limits import at_most


@dataclass(frozen=True, slots=True)
class Part:
    """One part by its name in lists, and a price; None: no price is known."""

    title: str
    price: float | None


@cache
def _said() -> dict[str, Any]:
    return tomllib.loads(Path(__file__).with_name("parts.toml").read_text(encoding="utf-8"))


def wire_connector(awg: Sequence[int]) -> Part:
    """
    Return the smallest connector for conductors of these sizes; those of several sizes count as the largest.

    Examples
    --------
    >>> wire_connector([12, 12]).title, wire_connector([14, 12, 14, 14]).title, wire_connector([12] * 9)
    ('small (often yellow)', 'large (often red)', Part(title='none takes 9 of 12 AWG: in two groups', price=None))
    """
    largest, count = min(awg), len(awg)
    for said in _said()["wire_connector"]:
        # One alone is capped by what takes two.
        if count <= said["most"].get(str(largest), 0):
            return Part(said["title"], said["price"])
    return Part(f"none takes {count} of {largest} AWG: in two groups", None)


def cable_connector(width_in: float) -> Part:
    """
    Return the smallest connector with its clamp outside the box for one cable of an outside width.

    Examples
    --------
    >>> cable_connector(0.422).title, cable_connector(0.75).title, cable_connector(2.0).price
    ('3/8 in (for a 1/2 in knockout)', '3/4 in', None)
    """
    for said in _said()["cable_connector"]:
        if at_most(width_in, said["width"]):
            return Part(said["title"], said["price"])
    return Part("larger than 1 in", None)


def device_price(kind: str, volts: int, rating_a: float) -> float | None:
    """Price of a device by kind ("receptacle", "three-way switch", ...), volts and rating; None: not known."""
    found: float | None = _said()["device"].get(kind, {}).get(str(volts), {}).get(f"{rating_a:g}")
    return found


def breaker_price(poles: int, protection: str, rating_a: float) -> float | None:
    """Price of a breaker by poles, protection ("plain", "ground-fault", ...) and rating; None: not known."""
    prices = _said()["breaker"].get(str(poles), {}).get(protection, {})
    return min(
        ((int(most), price) for most, price in prices.items() if at_most(rating_a, int(most))), default=(0, None)
    )[1]


def pigtail_in() -> float:
    """Length to which the wire of a pigtail is cut, inches."""
    return float(_said()["pigtail"]["length"])


def pigtail_wire(pigtails: int, awg: int) -> tuple[int, float | None]:
    """
    Whole feet of single wire that so many pigtails of a size want, as a store sells it, and its price a foot.

    Examples
    --------
    >>> pigtail_wire(11, 12), pigtail_wire(3, 14)
    ((8, 0.28), (2, 0.2))
    """
    price: float | None = _said()["pigtail"]["price"].get(str(awg))
    return math.ceil(pigtails * pigtail_in() / 12), price


def price_each(part: str) -> float | None:
    """Price of a part that comes in one kind only; None: not known."""
    found: float | None = _said()["each"].get(part)
    return found


def sealant(holes: int) -> tuple[int, float]:
    """
    Tubes of fire-blocking sealant for so many holes, and the price of one.

    Examples
    --------
    >>> sealant(26)
    (2, 9.0)
    """
    said = _said()["sealant"]
    return math.ceil(holes / said["holes"]), said["price"]

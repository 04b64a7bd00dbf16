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


def wire_connectors(awg: Sequence[int]) -> tuple[Part, ...]:
    """
    Return the smallest connector for conductors of these sizes; those of several sizes count as the largest.

    Where none takes them all: one for each group of them, as few as can be, each joined to the next by a short wire as
    thick as the thickest. (Common practice, no source.)

    Examples
    --------
    >>> [part.title for part in wire_connectors([12, 12])], [part.title for part in wire_connectors([14, 12, 14, 14])]
    (['small (often yellow)'], ['large (often red)'])
    >>> [part.title for part in wire_connectors([12] * 7)]
    ['large (often red)', 'large (often red)']
    """
    sizes = sorted(awg)
    for groups in range(1, len(sizes) + 1):
        found = [_connector(group) for group in _linked(sizes, groups)]
        if found and None not in found:
            return tuple(part for part in found if part is not None)
    return (Part(f"none takes {len(sizes)} of {sizes[0]} AWG", None),)


def _linked(sizes: Sequence[int], groups: int) -> list[list[int]]:
    """Share conductors, the thickest first, over so many groups, each with its ends of the wires between them."""
    room = math.ceil((len(sizes) + 2 * (groups - 1)) / groups)
    shared, taken = [], 0
    for number in range(groups):
        links = (number > 0) + (number < groups - 1)
        own = sizes[taken : taken + room - links]
        if not own:
            return []
        taken += len(own)
        shared.append([*own, *[sizes[0]] * links])
    return shared if taken == len(sizes) else []


def _connector(awg: Sequence[int]) -> Part | None:
    for said in _said()["wire_connector"]:
        # One alone is capped by what takes two.
        if len(awg) <= said["most"].get(str(min(awg)), 0):
            return Part(said["title"], said["price"])
    return None


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
    """
    Price of a breaker by poles, protection ("plain", "ground-fault", ...) and rating; None: not known.

    "tandem" is two breakers of one pole in one space, by the larger rating.
    """
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

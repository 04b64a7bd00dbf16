"""Cables as bought: the default list, how they are sold, and how many go through a hole.

Sizes and prices are in ``cables.toml`` beside this file, with how sure they are.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from barnloom.model.building import CableType
from barnloom.model.lengths import TOLERANCE_IN
from barnloom.model.limits import at_most

CONDUCTORS_MOST = 4
"""Insulated conductors in sheathed cable, at most (common practice, no source): black, red, and two whites."""


@cache
def _said() -> dict[str, dict[str, Any]]:
    return tomllib.loads(Path(__file__).with_name("cables.toml").read_text(encoding="utf-8"))


@cache
def default_cable_types() -> tuple[CableType, ...]:
    """
    Cables that a scene can name without describing them.

    Examples
    --------
    >>> default_cable_types()[2].id, default_cable_types()[2].width_in
    ('12/2', 0.422)
    """
    types = []
    for name, family in _said().items():
        if name == "coils":
            continue
        for cable, said in family.items():
            if cable == "title":
                continue
            awg, conductors = conductors_named(cable) or (0, 0)
            coils, by_foot = usual_coils(said["price_ft"], awg)
            types.append(
                CableType(
                    id=cable,
                    width_in=said["size"][0],
                    thickness_in=said["size"][1],
                    price_ft=said["price_ft"],
                    source=f"{family['title']} with ground, nominal size {said['size_is']}; price a placeholder",
                    conductors=conductors,
                    awg=awg,
                    family=family["title"],
                    coils=coils,
                    by_foot=by_foot,
                )
            )
    return tuple(types)


def usual_coils(price_ft: float, awg: int) -> tuple[tuple[tuple[float, float], ...], float]:
    """
    Coils (feet, price) and the price of a foot cut to length, as a store usually sells a cable of this price and size.

    Lengths are common practice, factors placeholders: ``cables.toml``.

    Examples
    --------
    >>> usual_coils(1.0, 12), usual_coils(3.0, 8)
    ((((25.0, 37.5), (50.0, 62.5), (100.0, 110.0), (250.0, 250.0)), 1.7), (((125.0, 375.0),), 3.45))
    """
    said = _said()["coils"]
    sold = said["thick" if 0 < awg <= said["thick_awg"] else "thin"]
    coils = ((float(feet), round(price_ft * float(feet) * factor, 2)) for feet, factor in sold["lengths"].items())
    return tuple(coils), round(price_ft * sold["by_foot"], 2)


def pairs_of(types: Sequence[CableType]) -> tuple[CableType, ...]:
    """Every two cables of one family and size pulled side by side, as if they were one of more conductors."""
    found = []
    for larger in types:
        for smaller in types:
            alike = (larger.family, larger.awg) == (smaller.family, smaller.awg) and larger.awg
            if alike and larger.conductors >= smaller.conductors > 0:
                found.append(
                    CableType(
                        id=f"{larger.id} + {smaller.id}",
                        width_in=max(larger.width_in, smaller.width_in),
                        thickness_in=larger.thickness_in + smaller.thickness_in,
                        price_ft=larger.price_ft + smaller.price_ft,
                        source="two cables side by side",
                        conductors=larger.conductors + smaller.conductors,
                        awg=larger.awg,
                        family=larger.family,
                        parts=(larger.id, smaller.id),
                    )
                )
    return tuple(found)


def conductors_named(cable: str) -> tuple[int, int] | None:
    """
    Size of the conductors and how many insulated ones there are, as a cable's usual name says; None if it does not.

    Examples
    --------
    >>> conductors_named("UF 12/2"), conductors_named("armoured")
    ((12, 2), None)
    """
    found = re.search(r"(?<![0-9])(1[0-8]|[1-8])[/-]([2-5])(?![0-9/])", cable)
    return (int(found[1]), int(found[2])) if found else None


def stack_diagonal(cables: Sequence[CableType]) -> float:
    """Diagonal (inches) of cables stacked flat, corners taken as sharp: widest width by summed thickness."""
    return math.hypot(
        max((cable.width_in for cable in cables), default=0.0), sum(cable.thickness_in for cable in cables)
    )


def cables_per_hole(diameter_in: float, per_hole: Sequence[tuple[float, int]]) -> int:
    """Most cables in a hole: the count of the largest listed bit that is no larger; 1 below all of them."""
    counts = [(bit, count) for bit, count in per_hole if bit <= diameter_in + TOLERANCE_IN]
    return max(counts)[1] if counts else 1


def fill_ok(
    diameter_in: float,
    cables: Sequence[CableType],
    limits: Mapping[str, float],
    per_hole: Sequence[tuple[float, int]],
) -> bool:
    """
    Whether cables may share a hole: their stack's diagonal against the diameter, and their count.

    Parameters
    ----------
    diameter_in : float
        Of the hole, inches.
    cables : sequence of CableType
        All that would be in it.
    limits : mapping of str to float
        ``hole.fill_share`` of them counts.
    per_hole : sequence of (float, int)
        Most cables by bit (inches), as in the scene's tools.

    Examples
    --------
    >>> from barnloom.model.limits import Limits, load_limits
    >>> twelve = {cable.id: cable for cable in default_cable_types()}["12/2"]
    >>> fits = lambda n: fill_ok(0.75, [twelve] * n, Limits(load_limits()), ((0.75, 2),))
    >>> fits(2), fits(3)
    (True, False)
    """
    few = sum(cable.sheaths for cable in cables) <= cables_per_hole(diameter_in, per_hole)
    return few and at_most(stack_diagonal(cables), limits["hole.fill_share"] * diameter_in)

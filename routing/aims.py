"""Where a bit is aimed across a member: on the print grid, within the legal zone, with as few nail plates as may be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barnloom.model.boring import Bands, bands
from barnloom.model.building import Building, Member
from barnloom.model.limits import Limits
from barnloom.model.prices import plate_price
from barnloom.routing.slab import Floats, Ints

PAGE = 2048
"""Places of the print grid along a member that are worked out at once."""


@dataclass(frozen=True, eq=False, slots=True)
class Aims:
    """Where to aim across: places (n,) on the print grid, NaN where there is none; allowed band rounded inward."""

    across: Floats
    low: Floats
    high: Floats
    plates: Ints
    """Nail plates that a hole there needs."""


def _inward(low: Floats, high: Floats, grid_in: float) -> tuple[Floats, Floats]:
    return np.ceil(low / grid_in - 1e-6) * grid_in, np.floor(high / grid_in + 1e-6) * grid_in


def aims(
    found: Bands, wish_in: Floats | float, grid_in: float, clear_in: tuple[float, float], *, sparing: bool
) -> Aims:
    """Nearest place on the grid to a wish, with as few nail plates as the band allows.

    A band without a point of the grid is no hole.

    Parameters
    ----------
    clear_in : (float, float)
        From the first on the near face needs no plate, up to the second the far one does not (``clear_of_plates``).
    sparing : bool
        Whether a plate costs anything: then one plate comes before two, even if farther from the wish.
    """
    low, high = _inward(found.low, found.high, grid_in)
    plain_low, plain_high = _inward(found.plain_low, found.plain_high, grid_in)
    plain = plain_low <= plain_high + 1e-9
    low, high = np.where(plain, plain_low, low), np.where(plain, plain_high, high)
    near, far = _inward(np.array([clear_in[0]]), np.array([clear_in[1]]), grid_in)
    with np.errstate(invalid="ignore"):
        wish = np.round(np.asarray(wish_in) / grid_in - 1e-9) * grid_in
        across = np.clip(wish, low, high)
        across = np.where(low <= high + 1e-9, across, np.nan)
        # Where no place is free of plates, one that needs a single plate comes before one that needs two.
        needs = (across < near - 1e-9).astype(np.int64) + (across > far + 1e-9)
        for side_low, side_high in ((np.maximum(low, near), high), (low, np.minimum(high, far))) if sparing else ():
            other = np.where(side_low <= side_high + 1e-9, np.clip(wish, side_low, side_high), np.nan)
            fewer = (other < near - 1e-9).astype(np.int64) + (other > far + 1e-9)
            better = np.isfinite(other) & (fewer < needs)
            across, needs = np.where(better, other, across), np.where(better, fewer, needs)
    return Aims(across, low, high, needs)


def aimed_in(
    building: Building,
    limits: Limits,
    member: Member,
    bit_in: float,
    along_in: Floats,
    wish_in: float,
    strip: tuple[float, float],
    *,
    wide: bool,
    holes: Sequence[tuple[float, float, float]] = (),
) -> Aims:
    """Aims of one size of hole at places along a member, (n,), within what is free across it on both faces.

    Parameters
    ----------
    wide : bool
        Whether it may be bored as wide as a doubled stud may.
    holes : sequence of (along, across, diameter)
        New holes in it that these keep off.
    """
    margin = bit_in / 2 + limits["plate.member_gap"]
    found = bands(member, limits, bit_in, along_in, aim_in=wish_in, holes=holes, doubled_ok=wide)
    found = narrowed(found, strip[0] + margin, strip[1] - margin)
    clear = clear_of_plates(member, limits, bit_in)
    return aims(found, wish_in, building.tools.grid_in, clear, sparing=plate_price(building.prices) > 0)


def narrowed(found: Bands, low_in: float, high_in: float) -> Bands:
    """Bands cut to a strip; NaN where nothing is left."""
    low, high = np.maximum(found.low, low_in), np.minimum(found.high, high_in)
    plain_low, plain_high = np.maximum(found.plain_low, low_in), np.minimum(found.plain_high, high_in)
    with np.errstate(invalid="ignore"):
        none, plain_none = ~(low <= high + 1e-9), ~(plain_low <= plain_high + 1e-9)
    return Bands(
        np.where(none, np.nan, low),
        np.where(none, np.nan, high),
        np.where(plain_none, np.nan, plain_low),
        np.where(plain_none, np.nan, plain_high),
    )


def clear_of_plates(member: Member, limits: Limits, diameter_in: float) -> tuple[float, float]:
    """Places across from which, and up to which, a hole needs no plate; towards the room a corner always does."""
    away = limits["cable.edge"] + diameter_in / 2
    low = max(ply.across[0] for ply in member.plies)
    high = min(ply.across[1] for ply in member.plies)
    return (np.inf if member.corner else low + away), high - away


@dataclass(frozen=True, eq=False, slots=True)
class Page:
    """Aims of every bit at places of the print grid along members that are alike.

    ``across`` (places, bits), NaN where there is none; ``plates`` (places, bits), nail plates that a hole needs there.
    """

    across: Floats
    plates: NDArray[np.int8]


class AimBook:
    """Aims on all members of a building, worked out once for all that are alike, page by page as they are asked for."""

    def __init__(self, earlier: AimBook | None = None) -> None:
        """Begin with what an earlier book of the same limits, tools and prices was last asked for."""
        self._earlier = earlier._pages if earlier is not None else {}
        self._pages: dict[tuple[object, ...], dict[tuple[float, tuple[float, float], int], Page]] = {}

    def looked_up(
        self,
        building: Building,
        limits: Limits,
        member: Member,
        steps: Ints,
        wish_in: float,
        strip: tuple[float, float],
        *,
        wide: bool,
    ) -> Page:
        """Aims at places along a member.

        Parameters
        ----------
        steps : (n,) int
            Places along it, in steps of the print grid.
        wish_in, strip, wide
            As for ``aimed_in``.
        """
        kind = (
            member.role, member.plies, member.bearing, member.bore, member.maker, member.holes, member.notches,
            member.bit, member.corner, wide,
        )  # fmt: skip
        known, before = self._pages.setdefault(kind, {}), self._earlier.get(kind, {})
        numbers, places = np.divmod(steps, PAGE)
        bits = len(building.tools.bits_in)
        found = Page(np.empty((len(steps), bits)), np.empty((len(steps), bits), dtype=np.int8))
        for number in np.unique(numbers).tolist():
            key = (wish_in, strip, number)
            if key not in known:
                known[key] = before.get(key) or _page(building, limits, member, number, wish_in, strip, wide=wide)
            here = numbers == number
            found.across[here], found.plates[here] = known[key].across[places[here]], known[key].plates[places[here]]
        return found


def _page(
    building: Building,
    limits: Limits,
    member: Member,
    number: int,
    wish_in: float,
    strip: tuple[float, float],
    *,
    wide: bool,
) -> Page:
    along = np.arange(number * PAGE, (number + 1) * PAGE, dtype=np.float64) * building.tools.grid_in
    found = [
        aimed_in(building, limits, member, bit, along, wish_in, strip, wide=wide) for bit in building.tools.bits_in
    ]
    return Page(
        np.stack([one.across for one in found], axis=1),
        np.stack([one.plates for one in found], axis=1).astype(np.int8),
    )

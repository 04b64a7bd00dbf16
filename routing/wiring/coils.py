"""Which cut comes off which coil, and what is bought by the foot: the cheapest way to buy one type of cable.

Cuts are never joined, as a cable may be spliced in boxes alone (NEC 300.15): each comes whole off one coil, or is cut
to length at the store, which sells whole feet. Least money first, then fewest coils, then fewest feet bought: how that
is found is in ``coil_search``.
"""

from __future__ import annotations

import math
from collections import defaultdict, deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from barnloom.model.building import CableType
from barnloom.model.limits import at_most
from barnloom.routing.plan import Plan
from barnloom.routing.store import natural_key
from barnloom.routing.wiring.coil_search import Answer, Stock, cheapest, pieced, sold_ft

MONEY = 10_000
"""Parts of one unit of money in which prices are counted, so that sums are exact."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One cable as it comes off the coil."""

    cable: str
    feet: float

    @property
    def sold_ft(self) -> int:
        """Whole feet that a store sells for it."""
        return sold_ft(self.feet)


@dataclass(frozen=True, slots=True, kw_only=True)
class Coil:
    """One coil as bought, and the cuts off it, the longest first."""

    type: str
    feet: float
    price: float
    cuts: tuple[Cut, ...]

    @property
    def left_ft(self) -> float:
        """What is left of it."""
        return self.feet - math.fsum(cut.feet for cut in self.cuts)


@dataclass(frozen=True, slots=True, kw_only=True)
class CoilPlan:
    """How one type of cable is bought."""

    type: str
    coils: tuple[Coil, ...]
    """The longest first."""
    by_foot: tuple[Cut, ...]
    foot_price: float
    """Money a foot of what is cut to length; 0 where nothing is."""
    too_long: tuple[Cut, ...]
    """Longer than every coil, and not sold by the foot: nothing on offer makes them."""
    proven: bool
    """No way to buy is cheaper."""
    pieced: float
    """What the same feet would cost if pieces could be joined: never more than ``price``."""

    @property
    def price(self) -> float:
        """Money in all, without what is too long."""
        by_foot = sum(cut.sold_ft for cut in self.by_foot) * self.foot_price
        return round(math.fsum(coil.price for coil in self.coils) + by_foot, 4)


def coil_plans(plan: Plan) -> tuple[CoilPlan, ...]:
    """How every type of cable is bought, all phases together, in order of type; what is pulled already is not."""
    kinds = {kind.id: kind for kind in plan.building.cable_types}
    still = sorted((cable for cable in plan.cables if not cable.done), key=lambda cable: natural_key(cable.type))
    found = []
    for name, cables in groupby(still, key=lambda cable: cable.type):
        cuts = [Cut(cable=cable.id, feet=cable.cut_in / 12) for cable in cables]
        coils, foot = offered(kinds[name]) if name in kinds else ((), None)
        found.append(coil_plan(name, cuts, coils, foot))
    return tuple(found)


def offered(kind: CableType) -> tuple[tuple[tuple[float, float], ...], float | None]:
    """Return coils (feet, price) and the price a foot; where nobody says how it is sold, it is sold by the foot."""
    if kind.by_foot:
        return kind.coils, kind.by_foot
    return kind.coils, None if kind.coils else kind.price_ft


def coil_plan(
    cable_type: str, cuts: Iterable[Cut], coils: Sequence[tuple[float, float]], foot_price: float | None
) -> CoilPlan:
    """
    Return the cheapest way to buy some cuts of one type.

    Parameters
    ----------
    coils : sequence of (float, float)
        Feet and price of the coils on offer; any number of each.
    foot_price : float or None
        Money for each whole foot that is cut to length; None: it is not.

    Examples
    --------
    >>> cuts = [Cut(cable="A", feet=30.0), Cut(cable="B", feet=30.0), Cut(cable="C", feet=30.0)]
    >>> found = coil_plan("12/2", cuts, [(50, 40.0), (100, 90.0)], 1.5)
    >>> [(coil.feet, [cut.cable for cut in coil.cuts]) for coil in found.coils], found.price, found.proven
    ([(100, ['A', 'B', 'C'])], 90.0, True)
    """
    ordered = sorted(cuts, key=lambda cut: (-cut.feet, natural_key(cut.cable)))
    longest = math.inf if foot_price is not None else max((feet for feet, _ in coils), default=0.0)
    wanted = [cut for cut in ordered if at_most(cut.feet, longest)]
    stock = sorted((feet, round(price * MONEY)) for feet, price in coils)
    foot = None if foot_price is None else round(foot_price * MONEY)
    lengths = [cut.feet for cut in wanted]
    answer = cheapest(tuple(lengths), tuple(stock), foot)
    kept, by_foot = _dealt(wanted, answer)
    return CoilPlan(
        type=cable_type,
        coils=tuple(
            Coil(type=cable_type, feet=feet, price=price / MONEY, cuts=tuple(load)) for (feet, price), load in kept
        ),
        by_foot=tuple(by_foot),
        foot_price=foot_price or 0.0,
        too_long=tuple(cut for cut in ordered if not at_most(cut.feet, longest)),
        proven=answer.proven,
        pieced=pieced(math.fsum(lengths), stock, foot) / MONEY,
    )


def coil_words(found: CoilPlan, *, metric: bool) -> str:
    """Return what is bought of one type, what is left on each coil, and why no splice saves any of it."""

    def run(feet: float) -> str:
        return f"{feet * 0.3048:.1f} m" if metric else f"{feet:.1f} ft"

    bought = [f"{len(list(same))} x {run(feet)}" for feet, same in groupby(found.coils, key=lambda coil: coil.feet)] + [
        f"{run(sum(cut.sold_ft for cut in found.by_foot))} by the foot" for _ in found.by_foot[:1]
    ]
    words = []
    if bought:
        words.append(f"{found.type}: {', '.join(bought)}, {found.price:.2f} in all")
        words[-1] += "." if found.proven else "; whether anything is cheaper is not proven."
    if found.coils:
        words.append(f"Left over, coil by coil: {', '.join(run(coil.left_ft) for coil in found.coils)}.")
        saved = found.price - found.pieced
        why = "a cable is joined in boxes alone (NEC 300.15), so each comes whole off one coil or is cut to length"
        if saved >= 0.005:
            words.append(f"Pieced together the same feet would cost {saved:.2f} less, but {why}.")
        else:
            words.append(f"Nothing would be saved by piecing: {why}.")
    if found.too_long:
        names = ", ".join(f"{cut.cable} ({run(cut.feet)})" for cut in found.too_long)
        words.append(
            f"{found.type}: nothing on offer makes {names}; expected a coil that is as long, or a price by the foot: "
            f"say one under cable_types, or plan a box between."
        )
    return " ".join(words)


def _dealt(wanted: Sequence[Cut], answer: Answer) -> tuple[list[tuple[Stock, list[Cut]]], list[Cut]]:
    """
    Cuts on coils in an order that hangs on nothing but lengths and ids, and the cuts by the foot.

    The coils are filled longest first if the cuts go in that way, else as they were found; of equal cuts the one whose
    id comes first stands first.
    """
    queues: dict[float, deque[Cut]] = defaultdict(deque)
    for cut in wanted:
        queues[cut.feet].append(cut)
    loads = sorted(answer.loads, key=lambda load: (-load[0][0], load[0][1], load[1]))
    rooms = [coil[0] for coil, _ in loads]
    filled: list[list[int]] = [[] for _ in loads]
    for i in sorted(i for _, load in loads for i in load):
        into = next((k for k, room in enumerate(rooms) if at_most(wanted[i].feet, room)), None)
        if into is None:
            filled = [sorted(load) for _, load in loads]
            break
        rooms[into] -= wanted[i].feet
        filled[into].append(i)
    kept = [
        (coil, [queues[wanted[i].feet].popleft() for i in load])
        for (coil, _), load in zip(loads, filled, strict=True)
        if load
    ]
    return kept, [queues[wanted[i].feet].popleft() for i in sorted(answer.by_foot)]

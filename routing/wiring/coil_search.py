"""The cheapest way to get cuts off coils and by the foot: purchases tried from below, else every way looked at.

Cuts are lengths in feet, the longest first; coils are (feet, price), prices whole numbers. Purchases are tried from
the cheapest that could hold the cuts upwards, coils being filled as full as they go: mostly the first one holds them,
and so is proven. If it does not, few cuts are put together in every way; of more, an integer program decides if the
sets of them that a coil can hold are few.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from heapq import heappop, heappush
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from barnloom.model.lengths import TOLERANCE_IN
from barnloom.model.limits import at_most

FEW = 8
"""Cuts up to which they are put together in every way."""
LOADS_MOST = 3_000
"""Sets of cuts up to which the integer program is asked."""
NODES_MOST = 300
"""Nodes of its search: a bound that does not hang on the machine's speed."""
PURCHASES_MOST = 5_000
"""Sets of coils that are looked at otherwise; of hundreds of cuts there are far more."""
TRIES_MOST = 200
"""Those of them, each with so much by the foot, that are tried."""
GRID = 1_000
"""Parts of a foot in which a coil is filled."""

Floats = NDArray[np.float64]
Stock = tuple[float, int]
"""A coil on offer: feet, and price."""
Worth = tuple[int, int, float]
"""What is wanted least, in this order: money, coils, feet bought."""
_Column = tuple[Worth, Stock | None, tuple[int, ...]]
"""Some cuts, by number, off one coil or by the foot, and what that is worth."""


@dataclass(frozen=True, slots=True)
class Answer:
    """Cuts (by number) on each coil, cuts by the foot, and whether no other way is better."""

    loads: tuple[tuple[Stock, tuple[int, ...]], ...]
    by_foot: tuple[int, ...]
    proven: bool


@lru_cache(maxsize=64)
def cheapest(cuts: tuple[float, ...], stock: tuple[Stock, ...], foot: int | None) -> Answer:
    """
    Return the way to buy that costs least, of these the one with fewest coils, of these with fewest feet.

    Parameters
    ----------
    cuts : tuple of float
        Feet, the longest first; none longer than every coil unless ``foot`` is given.
    foot : int or None
        Price of each whole foot cut to length; None: it is not.
    """
    if not cuts:
        return Answer((), (), proven=True)
    longest = max((feet for feet, _ in stock), default=0.0)
    long = sum(not at_most(cut, longest) for cut in cuts)
    if long:  # no coil holds these, so they come by the foot whatever becomes of the others
        rest = cheapest(cuts[long:], stock, foot)
        loads = tuple((coil, tuple(i + long for i in load)) for coil, load in rest.loads)
        return Answer(loads, (*range(long), *(i + long for i in rest.by_foot)), rest.proven)
    tried, worth = _by_trying(cuts, stock, foot)
    if tried.proven:
        return tried
    return _of_every_way(cuts, stock, foot) if len(cuts) <= FEW else _by_program(cuts, stock, foot, worth) or tried


def pieced(feet: float, stock: Sequence[Stock], foot: int | None) -> int:
    """Price of so many feet if pieces could be joined: what coils and feet by the foot cost at least."""
    rates = [price / length for length, price in stock] + ([] if foot is None else [float(foot)])
    if feet <= TOLERANCE_IN or not rates:
        return 0
    least, need = min(rates), feet - TOLERANCE_IN
    ways = [(need * least, 0, need)]  # what it comes to at least, price so far, feet still wanted
    seen = set()
    while True:  # a way to buy that has all its feet, and that no other can undercut, is the cheapest
        _, price, lacking = heappop(ways)
        if lacking <= 0:
            return price
        if (place := round(lacking, 6)) in seen:
            continue
        seen.add(place)
        for length, each in stock:
            rest = max(lacking - length, 0.0)
            heappush(ways, (price + each + rest * least, price + each, rest))
        if foot is not None:
            whole = price + math.ceil(lacking) * foot
            heappush(ways, (float(whole), whole, 0.0))


def sold_ft(feet: float) -> int:
    """Whole feet that a store sells for a cut."""
    return math.ceil(feet - TOLERANCE_IN)


def _of_every_way(cuts: Sequence[float], stock: Sequence[Stock], foot: int | None) -> Answer:
    """Return the best for every set of cuts from those for smaller sets: its first cut comes off with some others."""
    loads = _loads(cuts, max((feet for feet, _ in stock), default=0.0))
    columns = _columns(cuts, stock, foot, loads)
    with_first: list[list[tuple[int, _Column]]] = [[] for _ in cuts]
    for column in columns:
        with_first[column[2][0]].append((sum(1 << i for i in column[2]), column))
    best: list[tuple[Worth, tuple[_Column, ...]]] = [((0, 0, 0.0), ())]
    for cuts_of in range(1, 1 << len(cuts)):
        first = (cuts_of & -cuts_of).bit_length() - 1
        ways = []
        for taken, column in with_first[first]:
            if not taken & ~cuts_of:
                (price, coils, feet), (more, one, length) = best[cuts_of ^ taken][0], column[0]
                ways.append(((price + more, coils + one, feet + length), taken, column))
        worth, taken, column = min(ways, key=lambda way: way[0])
        best.append((worth, (column, *best[cuts_of ^ taken][1])))
    return _answer(best[-1][1])


def _columns(
    cuts: Sequence[float], stock: Sequence[Stock], foot: int | None, loads: Iterable[tuple[int, ...]]
) -> list[_Column]:
    """Each load on the cheapest coil that holds it, and each cut by the foot."""
    columns: list[_Column] = []
    for load in loads:
        need = math.fsum(cuts[i] for i in load)
        coil = min((one for one in stock if at_most(need, one[0])), key=lambda one: (one[1], one[0]))
        columns.append(((coil[1], 1, coil[0]), coil, load))
    if foot is not None:
        columns += [((sold_ft(cut) * foot, 0, float(sold_ft(cut))), None, (i,)) for i, cut in enumerate(cuts)]
    return columns


def _answer(taken: Iterable[_Column]) -> Answer:
    taken = list(taken)
    return Answer(
        tuple((coil, load) for _, coil, load in taken if coil is not None),
        tuple(i for _, coil, load in taken if coil is None for i in load),
        proven=True,
    )


def _by_program(cuts: Sequence[float], stock: Sequence[Stock], foot: int | None, worth: Worth) -> Answer | None:
    """Solve the integer program over all loads, at no more money than this; None: too many, or no end found."""
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array, vstack

    loads = list(islice(_loads(cuts, max((feet for feet, _ in stock), default=0.0)), LOADS_MOST + 1))
    if len(loads) > LOADS_MOST:
        return None
    columns = _columns(cuts, stock, foot, loads)
    number, row = zip(*((k, i) for k, (_, _, load) in enumerate(columns) for i in load), strict=True)
    rows = csr_array((np.ones(len(row)), (row, number)), shape=(len(cuts), len(columns)))
    wishes = np.array([values for values, _, _ in columns], dtype=float).T
    rows = csr_array(vstack([rows, csr_array(wishes[:1])]))
    low, high = np.append(np.ones(len(cuts)), 0), np.append(np.ones(len(cuts)), worth[0])
    chosen = np.zeros(len(columns))
    for wish in wishes:
        solved = milp(
            wish,
            constraints=LinearConstraint(rows, low, high),
            bounds=Bounds(0, 1),
            integrality=np.ones(len(columns), dtype=int),
            options={"node_limit": NODES_MOST, "mip_rel_gap": 0.0},
        )
        if solved.status != 0:
            return None
        chosen = np.round(solved.x)
        # What is reached stays while the next wish is looked at.
        rows = csr_array(vstack([rows, csr_array(wish[None, :])]))
        low, high = np.append(low, -np.inf), np.append(high, wish @ chosen + 0.5)
    return _answer(columns[k] for k in np.flatnonzero(chosen))


def _loads(cuts: Sequence[float], room: float) -> Iterator[tuple[int, ...]]:
    """Every set of cuts that the longest coil holds."""

    def more(first: int, load: tuple[int, ...], left: float) -> Iterator[tuple[int, ...]]:
        for i in range(first, len(cuts)):
            if at_most(cuts[i], left):
                yield (*load, i)
                yield from more(i + 1, (*load, i), left - cuts[i])

    return more(0, (), room)


def _by_trying(cuts: Sequence[float], stock: Sequence[Stock], foot: int | None) -> tuple[Answer, Worth]:
    """Try purchases from the cheapest that could do upwards; if none of them does, what first fitting finds."""
    everything = sum(map(sold_ft, cuts))
    start, worth = _first_fit(cuts, stock, foot)
    shortest = _Shortest(cuts)
    tries: list[tuple[Worth, list[Stock], int]] = []
    purchases = list(islice(_purchases(cuts, stock, foot, worth[0]), PURCHASES_MOST + 1))
    for coils, price, room in purchases[:PURCHASES_MOST]:
        for packed in range(shortest.most(room), -1 if foot is not None else everything - 1, -1):
            value = (price + (everything - packed) * (foot or 0), len(coils), room + everything - packed)
            if value >= worth:
                break
            tries.append((value, coils, packed))
    tries.sort(key=lambda one: one[0])
    for number, (value, coils, packed) in enumerate(tries[:TRIES_MOST]):
        inside = shortest.cuts(packed)
        loads = _filled(cuts, inside, coils)
        if loads is not None:
            outside = tuple(sorted(set(range(len(cuts))).difference(inside)))
            return Answer(loads, outside, proven=number == 0 and len(purchases) <= PURCHASES_MOST), value
    return replace(start, proven=not tries and len(purchases) <= PURCHASES_MOST), worth


def _purchases(
    cuts: Sequence[float], stock: Sequence[Stock], foot: int | None, most: int
) -> Iterator[tuple[list[Stock], int, float]]:
    """Coils that could be bought for no more than some money, the rest by the foot: coils, their price, their feet."""
    total = math.fsum(cuts)
    kinds = sorted(stock, key=lambda coil: (coil[1] / coil[0], coil[0]))
    rates = [min([*(p / f for f, p in kinds[k:]), math.inf if foot is None else foot]) for k in range(len(kinds) + 1)]

    def more(k: int, coils: list[Stock], price: int, room: float) -> Iterator[tuple[list[Stock], int, float]]:
        lacking = total - room
        if lacking > TOLERANCE_IN and price + lacking * rates[k] > most:
            return
        if k == len(kinds):
            yield sorted(coils, reverse=True), price, room
            return
        feet, each = kinds[k]
        # One more than the length alone wants, as cuts seldom fill coils to the end.
        for count in range(max(0, math.ceil(lacking / feet)) + 2):
            if price + count * each > most:
                return
            yield from more(k + 1, coils + [kinds[k]] * count, price + count * each, room + count * feet)

    return more(0, [], 0, 0.0)


def _first_fit(cuts: Sequence[float], stock: Sequence[Stock], foot: int | None) -> tuple[Answer, Worth]:
    """Fill coils of one length, longest cuts first, and buy for each load what is cheapest; the best of all lengths."""
    best: tuple[Worth, Answer] | None = None
    for usual in [feet for feet, _ in stock] or [0.0]:
        rooms: list[float] = []
        loads: list[list[int]] = []
        for i, cut in enumerate(cuts):
            into = next((k for k, room in enumerate(rooms) if at_most(cut, room)), len(rooms))
            if into == len(rooms):
                rooms.append(max(usual, cut))
                loads.append([])
            rooms[into] -= cut
            loads[into].append(i)
        kept, by_foot, worth = [], [], (0, 0, 0.0)
        for load in loads:
            need, sold = math.fsum(cuts[i] for i in load), sum(sold_ft(cuts[i]) for i in load)
            ways: list[Worth] = [(price, 1, feet) for feet, price in stock if at_most(need, feet)]
            if foot is not None:
                ways.append((sold * foot, 0, float(sold)))
            price, coils, feet = min(ways)
            worth = (worth[0] + price, worth[1] + coils, worth[2] + feet)
            if coils:
                kept.append(((feet, price), tuple(load)))
            else:
                by_foot += load
        if best is None or worth < best[0]:
            best = worth, Answer(tuple(kept), tuple(by_foot), proven=False)
    assert best is not None  # noqa: S101 - there is always one length to begin with
    return best[1], best[0]


class _Shortest:
    """Least length of cuts that are sold as so many whole feet: what coils are filled with, the rest by the foot."""

    def __init__(self, cuts: Sequence[float]) -> None:
        self.sold = [sold_ft(cut) for cut in cuts]
        self.best = np.full(sum(self.sold) + 1, np.inf)
        self.best[0] = 0.0
        self.took = []
        for cut, sold in zip(cuts, self.sold, strict=True):
            with_it = self.best.copy()
            with_it[sold:] = np.minimum(self.best[sold:], self.best[:-sold] + cut)
            self.took.append(with_it < self.best)
            self.best = with_it
        self.or_more = np.minimum.accumulate(self.best[::-1])[::-1]

    def most(self, room: float) -> int:
        """Most whole feet sold that some length of coil holds, were it one piece."""
        return int(np.searchsorted(self.or_more, room + TOLERANCE_IN, side="right")) - 1

    def cuts(self, least: int) -> tuple[int, ...]:
        """The cuts, by number, of the least length that are sold as so many feet or more."""
        sold = least + int(np.argmin(self.best[least:]))
        found = []
        for number in reversed(range(len(self.sold))):
            if self.took[number][sold]:
                found.append(number)
                sold -= self.sold[number]
        return tuple(reversed(found))


def _filled(
    cuts: Sequence[float], inside: Sequence[int], coils: Sequence[Stock]
) -> tuple[tuple[Stock, tuple[int, ...]], ...] | None:
    """Fill one coil after the other as full as it goes, shortest or longest first; None if cuts are left over."""
    for order in (sorted(coils), sorted(coils, reverse=True)):
        rest, loads = list(inside), []
        for coil in order:
            load = _fullest(cuts, rest, coil[0])
            loads.append((coil, load))
            rest = [i for i in rest if i not in load]
        if not rest:
            return tuple((coil, load) for coil, load in loads if load)
    return None


def _fullest(cuts: Sequence[float], rest: Sequence[int], room: float) -> tuple[int, ...]:
    """The cuts that come nearest to filling a coil, lengths rounded up to a grid."""
    sizes = [math.ceil(cuts[i] * GRID - TOLERANCE_IN) for i in rest]
    inside = (1 << (math.floor(room * GRID + TOLERANCE_IN) + 1)) - 1
    # Bit n: whether cuts of this length together are among the first so many.
    reached = [1]
    for size in sizes:
        reached.append((reached[-1] | (reached[-1] << size)) & inside)
    length, load = reached[-1].bit_length() - 1, []
    for number in reversed(range(len(rest))):
        if not (reached[number] >> length) & 1:
            load.append(rest[number])
            length -= sizes[number]
    return tuple(reversed(load))

"""Which spaces of a panel the breakers take, so that its two legs carry alike.

Spaces are numbered down the panel, odd ones on the left, even ones on the right; the two of one row are on one leg, and
the legs change from row to row: 1 and 2 on A, 3 and 4 on B, 5 and 6 on A. Two breakers below each other on one side are
therefore on opposite legs, which a 240 V or a multiwire circuit needs; both halves of a tandem breaker are on one.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from barnloom.model.errors import Fault
from barnloom.model.limits import at_least
from barnloom.model.wiring import Breakers

EVEN_A = 1e-6
"""Legs nearer to each other than this are even (amperes)."""
Seat = tuple[tuple[int, ...], str]
"""Spaces of a breaker, and its legs: "A", "B" or "AB"."""
_Pairs = tuple[int, tuple[int, ...]]
"""How many spaces that take a tandem are used up, and the upper space of each breaker of two spaces."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Want:
    """A breaker that is wanted."""

    circuit: str
    poles: int
    breaker_a: float
    protective: bool
    """Ground-fault or arc-fault protection in it: it takes a whole space."""
    load_a: float
    multiwire: bool = False
    """Two lines that share a neutral: two spaces with one disconnect, side by side (NEC 210.4(B), (D))."""

    @property
    def spaces(self) -> int:
        """How many spaces it takes, where it is no tandem."""
        return 2 if self.multiwire else self.poles


@dataclass(slots=True)
class _Slot:
    """A place for a breaker of one pole: a space, or one half of a tandem breaker in it."""

    space: int
    half: bool
    want: Want | None = None

    def takes(self, want: Want | None) -> bool:
        return not (self.half and want is not None and want.protective)


def leg_of(space: int) -> str:
    """
    Leg that a space is on.

    Examples
    --------
    >>> "".join(leg_of(space) for space in range(1, 9))
    'AABBAABB'
    """
    return "AB"[(space - 1) // 2 % 2]


def placed(breakers: Breakers, wants: Sequence[Want]) -> tuple[dict[str, Seat], tuple[Fault, ...]]:
    """
    Return the spaces and legs of each breaker that finds some, by circuit, and what is wrong.

    Breakers of two spaces come first, at the top, away from spaces that take a tandem while there are others; the rest
    is shared out over the legs (heaviest first, then by exchanges while these even the legs out). Tandem breakers are
    used only where whole spaces do not suffice, and only for plain breakers of one pole. Two circuits with one and the
    same space are the halves of a tandem breaker.

    Returns
    -------
    dict of circuit to (spaces, legs)
    tuple of Fault
        A breaker of a size that the label does not list; too few spaces, with ways out.
    """
    free = frozenset(range(1, breakers.spaces + 1)) - set(breakers.used)
    wide = [want for want in wants if want.spaces == 2]
    single = [want for want in wants if want.spaces == 1]
    pairs = _pairs(breakers.spaces, free, frozenset(breakers.tandem), len(wide))
    seats: dict[str, Seat] = {
        want.circuit: ((space, space + 2), "AB") for want, space in zip(wide, pairs, strict=False)
    }
    left = sorted(free - {taken for space in pairs for taken in (space, space + 2)})
    plain = sum(not want.protective for want in single)
    tandem = [space for space in left if space in breakers.tandem]
    doubled = _doubled(tandem, left, min(max(0, len(single) - len(left)), len(tandem), plain // 2))
    slots = [_Slot(space, half=space in doubled) for space in left for _ in range(2 if space in doubled else 1)]
    _share_out(slots, single)
    seats |= {slot.want.circuit: ((slot.space,), leg_of(slot.space)) for slot in slots if slot.want is not None}
    without = [want.circuit for want in wants if want.circuit not in seats]
    few = [_too_few(breakers, wants, without, len(free))] if without else []
    return seats, (*_sizes(breakers, wants), *few)


def spare_words(breakers: Breakers, seats: Mapping[str, Seat], limits: Mapping[str, float]) -> tuple[str, ...]:
    """Return a note where fewer spaces stay free than ``panel.spare_share`` of all (own caution); else nothing."""
    taken = {space for spaces, _ in seats.values() for space in spaces} | set(breakers.used)
    spare = breakers.spaces - len(taken)
    if at_least(spare, limits["panel.spare_share"] * breakers.spaces):
        return ()
    share = limits["panel.spare_share"]
    return (f"{breakers.panel}: {spare} of {breakers.spaces} spaces stay free; aim at {share:.0%} (own caution)",)


def _sizes(breakers: Breakers, wants: Sequence[Want]) -> list[Fault]:
    listed = ", ".join(f"{size:g}" for size in breakers.sizes_a)
    return [
        Fault(
            ("boxes", breakers.panel, "panel", "sizes"),
            f"a {want.breaker_a:g} A breaker for {want.circuit}",
            f"one that the panel's label lists: {listed} A",
            f"read the label again, or change what is on {want.circuit}",
        )
        for want in wants
        if want.breaker_a not in breakers.sizes_a
    ]


def _too_few(breakers: Breakers, wants: Sequence[Want], without: Sequence[str], free: int) -> Fault:
    wanted = sum(want.spaces for want in wants)
    if breakers.tandem:
        tandem = (
            f"the label lists tandem breakers in {', '.join(map(str, sorted(breakers.tandem)))} only, for one pole each"
        )
    else:
        tandem = "say tandem: [...] if its label lists spaces for tandem breakers"
    apart = "" if wanted > free else ", of which no two more lie below each other"
    return Fault(
        ("boxes", breakers.panel, "panel", "spaces"),
        f"{wanted} spaces wanted, {free} free{apart}; none left for {', '.join(without)}",
        "a free space for every pole; two below each other on one side for 240 V and multiwire circuits",
        f"take a larger panel, or join circuits; {tandem}",
    )


def _pairs(spaces: int, free: Collection[int], tandem: Collection[int], wanted: int) -> tuple[int, ...]:
    """Return the upper spaces of breakers of two spaces, as many as are wanted or fit, sparing those for tandems."""
    left, right = (_column(range(first, spaces + 1, 2), free, tandem) for first in (1, 2))
    many = min(wanted, max(left) + max(right))
    return min(
        (used + also, tuple(sorted((*tops, *more))))
        for count, (used, tops) in left.items()
        for other, (also, more) in right.items()
        if count + other == many
    )[1]


def _column(column: Sequence[int], free: Collection[int], tandem: Collection[int]) -> dict[int, _Pairs]:
    """Return the best pairs in one column, by how many there are."""
    below: list[dict[int, _Pairs]] = [{0: (0, ())}, {0: (0, ())}]
    for space, under in reversed(list(pairwise(column))):
        best = dict(below[0])
        if space in free and under in free:
            for count, (used, tops) in below[1].items():
                taken = (used + (space in tandem) + (under in tandem), (space, *tops))
                best[count + 1] = min(taken, best.get(count + 1, taken))
        below = [best, below[0]]
    return below[0]


def _doubled(tandem: Sequence[int], left: Sequence[int], many: int) -> set[int]:
    """Return so many spaces for tandem breakers, those that even out the legs' places, lowest in the panel first."""
    room = Counter(map(leg_of, left))
    chosen: set[int] = set()
    for _ in range(many):
        space = min(set(tandem) - chosen, key=lambda space: (room[leg_of(space)], -space))
        chosen.add(space)
        room[leg_of(space)] += 1
    return chosen


def _share_out(slots: Sequence[_Slot], wants: Sequence[Want]) -> None:
    """Put breakers of one pole in slots, as even over the legs as exchanges of two can make it."""
    for want in sorted(wants, key=lambda want: (not want.protective, -want.load_a, want.circuit)):
        open_slots = [slot for slot in slots if slot.want is None and slot.takes(want)]
        if open_slots:
            min(open_slots, key=lambda slot: (_carried(slots, leg_of(slot.space)), slot.space)).want = want
    while _exchanged(slots):
        pass
    order = {want.circuit: number for number, want in enumerate(wants)}
    for leg in "AB":
        its = [slot for slot in slots if leg_of(slot.space) == leg]
        mine = [slot.want for slot in its if slot.want is not None]
        for slot in its:
            slot.want = None
        for want in sorted(mine, key=lambda want: (not want.protective, order[want.circuit])):
            next(slot for slot in its if slot.want is None and slot.takes(want)).want = want


def _exchanged(slots: Sequence[_Slot]) -> bool:
    """Exchange what is in two slots on different legs, the two that even the legs out best; False if none do."""
    apart = _carried(slots, "A") - _carried(slots, "B")
    best = (abs(apart) - EVEN_A, -1, -1)
    for a, one in enumerate(slots):
        for b, other in enumerate(slots):
            if (
                leg_of(one.space) == "A"
                and leg_of(other.space) == "B"
                and one.takes(other.want)
                and other.takes(one.want)
            ):
                best = min(best, (abs(apart - 2 * (_load(one) - _load(other))), a, b))
    if best[1] < 0:
        return False
    one, other = slots[best[1]], slots[best[2]]
    one.want, other.want = other.want, one.want
    return True


def _carried(slots: Sequence[_Slot], leg: str) -> float:
    return math.fsum(_load(slot) for slot in slots if leg_of(slot.space) == leg)


def _load(slot: _Slot) -> float:
    return slot.want.load_a if slot.want is not None else 0.0

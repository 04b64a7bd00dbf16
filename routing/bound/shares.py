"""How the price of what is shared is shared out: what each cable pays for each item, never too much together.

A door is a set of boxes of a circuit: a box alone, or a cluster of several. A cable pays for each item it needs what
every door has to pay that it comes in by (``doors``), what two boxes have to pay for a cable between them in either
direction (``pairs``), and what every cable pays (``each``). Where several cables come in by a door, all but one get
back what the door pays for all items. A tree has at most one cable between two boxes; an item has room for so many
cables. So all cables of any plan together pay for an item at most the sum of its doors and pairs and ``room`` times
``each``, and the bound holds if that is no more than the item's price and what its group gives it (README.md, 3).
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy

import numpy as np

from barnloom.routing.bound.items import Items
from barnloom.routing.slab import Floats, Ints, Truths

Used = tuple[tuple[int, ...], int, Ints]
"""A cable of a cheapest tree: doors that it comes in by, number of its two boxes (-1: one is the panel), its items."""
NO_END = 10**9
"""More than there ever are of anything."""
SMALL = 1e-9
"""What is less than this, in money or in directions, counts as nothing."""
HALVINGS = 40
"""Steps in which it is found by how much all payments for an item have to come down."""


class Shares:
    """Payments, and the memory of where they were pushed to: a subgradient method with a deflected direction."""

    def __init__(self, items: Items, price: Floats, legs: int, once: Truths) -> None:
        """Begin with every cable paying alike for what it uses.

        Parameters
        ----------
        price : (items,) float
            What each item costs at least, once.
        legs : int
            Cables in all.
        once : (doors,) bool
            Whether every tree has exactly one cable that comes in by a door.
        """
        self.group, self.shared, self.price, self.legs, self.once = items.group, items.shared, price, legs, once
        self.room = np.minimum(items.room, legs).astype(np.float64)
        self.each = price / self.room
        self.given = np.zeros(len(price))
        """Of the price of its group, to each item."""
        self.closed = np.zeros(len(price), dtype=bool)
        """Items that no cable may use."""
        self.doors = np.zeros((0, len(price)))
        self.pairs = np.zeros((0, len(price)))
        self._to_doors, self._to_pairs, self._to_each = (self.doors, self.pairs, np.zeros(len(price)))

    def of(self, doors: Sequence[int], pair: int) -> Floats:
        """(items,) what a cable pays that comes in by doors; ``pair``: number of its two boxes, -1 from a panel."""
        paid = self.each
        for door in doors:
            paid = paid + self.doors[door] if door < len(self.doors) else paid
        paid = paid + self.pairs[pair] if 0 <= pair < len(self.pairs) else paid
        return np.where(self.closed, np.inf, paid) if self.closed.any() else paid

    def too_much(self) -> float:
        """What plans might pay for items beyond their price, by the errors of sums: to be taken off the bound."""
        over = self.doors.sum(axis=0) + self.pairs.sum(axis=0) + self.room * self.each - self.price - self.given
        groups = self.group
        sums = np.bincount(groups[groups >= 0], weights=self.given[groups >= 0], minlength=len(self.shared))
        return float(np.maximum(over, 0.0).sum() + np.maximum(sums - self.shared, 0.0).sum())

    def back(self) -> Floats:
        """(doors,) what each cable but one gets back that comes in by a door; nothing where there is but one."""
        found = np.zeros(len(self.once))
        found[: len(self.doors)] = self.doors.sum(axis=1)
        found[self.once] = 0.0
        return found

    def push(self, used: Sequence[Used], missing: float, keep: float) -> None:
        """Let what cables of the cheapest trees use become dearer for them, and all else cheaper.

        Parameters
        ----------
        used : sequence of Used
        missing : float
            Money that the bound may still gain, times what one dares.
        keep : float
            Share of the last direction that the next one keeps.
        """
        self._grow("doors", 1 + max((max(doors) for doors, _, _ in used), default=-1), len(self.once))
        self._grow("pairs", 1 + max((pair for _, pair, _ in used), default=-1))
        for direction in (self._to_doors, self._to_pairs, self._to_each):
            direction *= keep
        paying, wanted = np.zeros(len(self.price)), np.zeros(len(self.price))
        coming = np.zeros(len(self.once), dtype=np.int64)
        for doors, pair, items in used:
            for door in doors:
                self._to_doors[door, items] += 1 - keep
                coming[door] += 1
            self._to_each[items] += 1 - keep
            if pair >= 0:
                self._to_pairs[pair, items] += 1 - keep
            paying[items] += self.of(doors, pair)[items]
            wanted[items] = 1.0
        for door in np.flatnonzero((coming > 1) & ~self.once).tolist():
            self._to_doors[door, self.doors[door] > 0] -= (coming[door] - 1) * (1 - keep)
        some = np.flatnonzero(self._to_each > SMALL)
        into, pairs, each = (self._to_doors[:, some], self._to_pairs[:, some], self._to_each[some])
        norm = float((into**2).sum() + (pairs**2).sum() + (each**2 / self.room[some]).sum())
        step = max(missing, 0.0) / max(norm, SMALL)
        self.doors[:, some] = np.maximum(self.doors[:, some] + step * into, 0.0)
        self.pairs[:, some] += step * pairs
        self.each[some] += step * each / self.room[some]
        budget = self.price + self.given
        # What is paid for in full asks for more of its group's price, and so does what is used at no price yet.
        asking = np.where(budget > SMALL, paying / np.maximum(budget, SMALL), wanted)
        self._give(step * asking)
        self._fit()

    def usual(self) -> Floats:
        """(items,) how much of each item the door uses that lately used most of it, from 0 to 1."""
        result: Floats = np.minimum(self._to_doors.max(axis=0, initial=0.0), 1.0)
        return result

    def settled(self, *, paid: Ints, groups: Ints, closed: Ints) -> Shares:
        """The same where some items and groups are paid for already, and some items are closed."""
        other = copy(self)
        other.price, other.shared, other.closed = self.price.copy(), self.shared.copy(), self.closed.copy()
        other.price[paid], other.shared[groups], other.closed[closed] = 0.0, 0.0, True
        for name in ("doors", "pairs", "each", "given", "_to_doors", "_to_pairs", "_to_each"):
            setattr(other, name, getattr(self, name).copy())
        other._give(np.zeros(len(self.price)))
        other._fit()
        return other

    def _grow(self, name: str, wanted: int, most: int = NO_END) -> None:
        """Make room for so many doors, or pairs, and for more to come."""
        for which in (name, f"_to_{name}"):
            now = getattr(self, which)
            if wanted > len(now):
                more = np.zeros((min(max(wanted, 2 * len(now)), most) - len(now), len(self.price)))
                setattr(self, which, np.concatenate([now, more]))

    def _give(self, more: Floats) -> None:
        """Give items more of their group's price; where a group has no more, all of it get less."""
        groups, shared = self.group, self.shared
        self.given = np.where(groups >= 0, self.given + more, 0.0)
        held = np.flatnonzero(self.given > 0)
        for group in np.unique(groups[held]):
            own = held[groups[held] == group]
            wanted = self.given[own]
            if wanted.sum() > shared[group]:
                low = np.sort(wanted)[::-1]
                over = (np.cumsum(low) - shared[group]) / np.arange(1, len(low) + 1)
                self.given[own] = (
                    np.maximum(wanted - over[np.flatnonzero(low > over)[-1]], 0.0) if shared[group] > 0 else 0.0
                )

    def _fit(self) -> None:
        """Bring payments down to what items cost: the nearest such payments."""
        total = self.doors.sum(axis=0) + self.pairs.sum(axis=0) + self.room * self.each
        over = np.flatnonzero(total > self.price + self.given)
        doors, pairs, each = self.doors[:, over], self.pairs[:, over], self.each[over]
        room, budget = self.room[over], (self.price + self.given)[over]
        low = np.zeros(len(over))
        high = np.maximum(np.maximum(doors.max(axis=0, initial=0.0), pairs.max(axis=0, initial=0.0)), each / room)
        for _ in range(HALVINGS):
            less = (low + high) / 2
            left = np.maximum(doors - less, 0).sum(axis=0) + np.maximum(pairs - less, 0).sum(axis=0)
            much = left + room * np.maximum(each - room * less, 0) > budget
            low, high = np.where(much, less, low), np.where(much, high, less)
        self.doors[:, over] = np.maximum(doors - high, 0)
        self.pairs[:, over] = np.maximum(pairs - high, 0)
        self.each[over] = np.maximum(each - room * high, 0)

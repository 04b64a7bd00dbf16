"""A bound of the cheapest tree of a circuit with many boxes, what its cables carry and its boxes hold counted.

Sets of many boxes are too many to go through, but what a cable carries is decided by how many boxes of each group are
behind it, a group being boxes with the same part in all nets. So counts stand for sets. A structure that feeds so many
boxes of each group may feed one box twice and another one not at all; a price on each keeps that rare.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import prod

import numpy as np

from barnloom.routing.bound.arborescence import MUCH
from barnloom.routing.bound.compiled import alike_tree
from barnloom.routing.slab import Floats, Ints

WORK = 1e8
"""Ways to part counts in two, times boxes, up to which groups stay apart."""
STATES = 2e5
"""Counts of groups, times orders of points, up to which it is worked out what each of them needs."""


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Alike:
    """Money beyond that of ways and ends. Boxes are numbered from 1, the panel is 0; counts of groups are a number."""

    group: Ints
    """(boxes + 1,) number of each box's group; the panel's says nothing."""
    size: Ints
    """(groups,) boxes in each."""
    need: Ints
    """(states,) the fewest conductors of a cable with so many behind it, by the number of counts; 0 for none."""
    more: Floats
    """(boxes + 1, boxes + 1, MOST + 1) what a cable costs more with so many conductors; infinite: none is sold."""
    least: Floats
    """(boxes + 1, MOST + 1, MOST + 1) what a box costs more at least, by the conductors of the cable into it and those
    that what hangs on it would need in one cable."""

    def cheapest(self, price: Floats, worth: Floats, home_runs: int | None) -> tuple[float, list[tuple[int, int]]]:
        """A price that no tree is below, infinite if there is none, and the cables of a structure that costs that.

        Parameters
        ----------
        price : (boxes + 1, boxes + 1) float
            Of a cable from row to column.
        worth : (boxes + 1,) float
            What is added for each cable into a box and taken off once; of the panel, for each home run, and taken off
            as often as there must be home runs. Any is allowed.
        home_runs : int or None
            So many cables leave the panel (one for each box at most); None: any number.
        """
        runs = min(home_runs or 0, len(price) - 1)
        held = price + np.append(0.0, worth[1:])
        charge = MUCH if runs == 1 else float(worth[0]) if runs else 0.0
        held[0] += charge
        np.fill_diagonal(held, np.inf)
        arcs = np.ascontiguousarray((held[:, :, None] + self.more).transpose(1, 2, 0))
        counts, stride = counts_of(self.size), strides_of(self.size)
        value, feeding, fed = alike_tree(arcs, self.least, self.need, self.group, counts, stride, self.size)
        value = float(value) - float(worth[1:].sum()) - charge * runs
        return value, list(zip(feeding.tolist(), fed.tolist(), strict=True)) if np.isfinite(value) else []

    def too_often(self, cables: Sequence[tuple[int, int]], home_runs: int | None) -> Floats:
        """(boxes + 1,) how much more often than once a structure feeds each box, and how many home runs too many."""
        found = np.full(len(self.group), -1.0)
        np.add.at(found, [v for _, v in cables], 1.0)
        wanted = min(home_runs or 0, len(self.group) - 1)
        found[0] = sum(u == 0 for u, _ in cables) - wanted if wanted > 1 else 0.0
        return found


def grouped(parts: Ints) -> tuple[Ints, Ints]:
    """Groups of boxes that are alike; where they make too much work, the most alike are put together.

    Parameters
    ----------
    parts : (boxes, n) int
        The part of each box in all nets.

    Returns
    -------
    exact, group : (boxes,) int
        Number of each box's group before anything is put together, and after.
    """
    rows, exact = np.unique(parts, axis=0, return_inverse=True)
    exact = exact.reshape(-1)
    sizes = np.bincount(exact).tolist()
    held = [[n] for n in range(len(rows))]
    while len(held) > 1 and _work(sizes) * len(parts) > WORK:
        one, other = min(
            combinations(range(len(held)), 2),
            key=lambda pair: (
                int((rows[held[pair[0]][0]] != rows[held[pair[1]][0]]).sum()),
                sizes[pair[0]] + sizes[pair[1]],
                pair,
            ),
        )
        held[one] += held.pop(other)
        sizes[one] += sizes.pop(other)
    found = np.zeros(len(rows), dtype=np.int64)
    for number, own in enumerate(held):
        found[own] = number
    return exact, found[exact]


def _work(sizes: Sequence[int]) -> int:
    """In how many ways all counts of groups can be parted in two."""
    return prod((size + 1) * (size + 2) // 2 for size in sizes)


def states(size: Ints) -> int:
    """How many counts of groups there are, none of any included."""
    return prod((size + 1).tolist())


def counts_of(size: Ints) -> Ints:
    """(states, groups) boxes of each group, by the number of counts."""
    numbers = np.arange(states(size))
    result: Ints = numbers[:, None] // strides_of(size) % (size + 1)
    return result


def strides_of(size: Ints) -> Ints:
    """(groups,) what one box of each group adds to the number of counts."""
    result: Ints = np.append(1, np.cumprod(size + 1)[:-1])
    return result

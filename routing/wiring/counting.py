"""How many conductors each cable of a tree needs, with the cheapest orders of points: compiled, for trees are many.

Boxes are numbered places, the panel first; a cable is known by the box that it feeds, and a net by its boxes, as a row
of ones and noughts. A net runs in a cable exactly if it has boxes on both sides of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from barnloom.routing.jit import compiled

Ints = NDArray[np.int64]
MOST = 12
"""Insulated conductors up to which a cable is weighed; what needs more costs as that."""
ROUNDS = 3
"""Most times that the orders of all controls are looked at again."""
RETURNS = np.array([2, 2, 3, 5], dtype=np.int64)
"""Least conductors of a cable without a neutral by how many nets return from switches in it; five: none is made."""
ALIKE = 1e-9
"""Prices nearer than this are equal, and the earlier order is taken."""


@dataclass(frozen=True, eq=False, slots=True)
class Choices:
    """Orders of the points of all controls, one after the other, and the nets that they make.

    Controls are (k,), their orders together (o,), sets of boxes that nets of orders may have (c, places).
    """

    first_order: Ints
    """(k + 1,) where each control's orders begin."""
    line: Ints
    """(k,) number of the line that feeds each control."""
    lit: Ints
    """(k, places) boxes of each control's lights."""
    firsts: Ints
    """(o,) place of each order's first point, and of its last in ``lasts``."""
    lasts: Ints
    first_made: Ints
    """(o + 1,) where the nets that each order makes begin in ``made`` (numbers of sets) and ``times`` (how often)."""
    made: Ints
    times: Ints
    sets: Ints


def conductors(
    behind: Ints,
    fixed: Ints,
    whites: NDArray[np.bool_],
    lines: Ints,
    choices: Choices,
    costs: NDArray[np.float64],
    chosen: Ints,
) -> Ints:
    """Insulated conductors that each cable of a tree needs, (cables,).

    Parameters
    ----------
    behind : (cables, places) int
        1 for each box behind a cable.
    fixed : (n, places) int
        Boxes of the nets that no order of points changes; ``whites`` (n,) tells the neutrals among them.
    lines : (m, places) int
        Boxes of the lines that feed controls, without the controls.
    costs : (cables, MOST + 1) float
        Price of each cable by the conductors that it needs.
    chosen : (k,) int
        Number of each control's order; -1 is replaced by that of the cheapest, the other controls as they are.
    """
    c = choices
    return np.asarray(
        _conductors(
            behind, fixed, whites, lines, c.first_order, c.line, c.lit, c.firsts, c.lasts, c.first_made, c.made,
            c.times, c.sets, costs, chosen,
        )
    )  # fmt: skip


@compiled
def subtrees(by: Any, fed: Any, places: int) -> Any:
    """(cables, places): 1 for each box behind a cable of a tree.

    Parameters
    ----------
    by, fed : (cables,) int
        Places of the feeding and the fed box of each cable, nearest to the panel first.
    """
    row = np.full(places, -1, dtype=np.int64)
    found = np.zeros((len(fed), places), dtype=np.int64)
    for cable in range(len(fed)):
        row[fed[cable]] = cable
        found[cable, fed[cable]] = 1
    for cable in range(len(fed) - 1, -1, -1):
        above = row[by[cable]]
        if above >= 0:
            for place in range(places):
                found[above, place] += found[cable, place]
    return found


@compiled
def _crosses(behind: Any, net: Any) -> bool:
    """Whether a net has boxes on both sides of a cable."""
    inside, outside = False, False
    for place in range(len(net)):
        if net[place] > 0:
            if behind[place] > 0:
                inside = True
            else:
                outside = True
    return inside and outside


@compiled
def _conductors(
    behind: Any, fixed: Any, whites: Any, lines: Any, first_order: Any, line: Any, lit: Any, firsts: Any, lasts: Any,
    first_made: Any, made: Any, times: Any, sets: Any, costs: Any, chosen: Any,
) -> Any:  # fmt: skip
    cables, controls = len(behind), len(line)
    steady = np.zeros(cables, dtype=np.int64)
    least = np.full(cables, 2, dtype=np.int64)
    white = np.zeros(cables, dtype=np.int64)
    crossed = np.zeros((cables, len(sets)), dtype=np.int64)
    for cable in range(cables):
        for net in range(len(fixed)):
            if _crosses(behind[cable], fixed[net]):
                steady[cable] += 1
                if whites[net]:
                    white[cable] += 1
        if white[cable] > 1:
            least[cable] = 4
        for one in range(len(sets)):
            crossed[cable, one] = _crosses(behind[cable], sets[one])
    open_ones = np.zeros(controls, dtype=np.bool_)
    for control in range(controls):
        if chosen[control] < 0:
            chosen[control] = 0
            open_ones[control] = first_order[control + 1] - first_order[control] > 1
    rounds = ROUNDS if open_ones.sum() > 1 else 1
    for _ in range(rounds):
        gained = False
        for control in range(controls):
            if not open_ones[control]:
                continue
            best = _cheapest(
                control, behind, steady, least, lines, first_order, line, firsts, first_made, made, times, crossed,
                costs, chosen,
            )  # fmt: skip
            if best != chosen[control]:
                chosen[control] = best
                gained = True
        if not gained:
            break
    needed = _counted(-1, behind, steady, lines, first_order, line, firsts, first_made, made, times, crossed, chosen)
    switched = np.empty(lit.shape[1], dtype=np.int64)
    returns = np.zeros(cables, dtype=np.int64)
    for control in range(controls):
        switched[:] = lit[control]
        switched[lasts[first_order[control] + chosen[control]]] = 1
        for cable in range(cables):
            returns[cable] += _crosses(behind[cable], switched)
    for cable in range(cables):
        needed[cable] = max(needed[cable], least[cable])
        if white[cable] == 0:
            needed[cable] = max(needed[cable], RETURNS[min(returns[cable], len(RETURNS) - 1)])
    return needed


@compiled
def _fed(number: int, but: int, lines: Any, first_order: Any, line: Any, firsts: Any, chosen: Any) -> Any:
    """Boxes of a line with the first points of the controls on it, one of them left out."""
    boxes = lines[number].copy()
    for control in range(len(line)):
        if control != but and line[control] == number:
            boxes[firsts[first_order[control] + chosen[control]]] = 1
    return boxes


@compiled
def _counted(
    but: int, behind: Any, steady: Any, lines: Any, first_order: Any, line: Any, firsts: Any, first_made: Any,
    made: Any, times: Any, crossed: Any, chosen: Any,
) -> Any:  # fmt: skip
    """Nets in each cable, without those of one control and the line that feeds it (none left out if it is -1)."""
    count = steady.copy()
    for control in range(len(line)):
        if control != but:
            order = first_order[control] + chosen[control]
            for one in range(first_made[order], first_made[order + 1]):
                count += times[one] * crossed[:, made[one]]
    for number in range(len(lines)):
        if but < 0 or number != line[but]:
            boxes = _fed(number, but, lines, first_order, line, firsts, chosen)
            for cable in range(len(behind)):
                count[cable] += _crosses(behind[cable], boxes)
    return count


@compiled
def _cheapest(
    control: int, behind: Any, steady: Any, least: Any, lines: Any, first_order: Any, line: Any, firsts: Any,
    first_made: Any, made: Any, times: Any, crossed: Any, costs: Any, chosen: Any,
) -> int:  # fmt: skip
    """Number of the cheapest order of one control's points, the other controls as they are."""
    count = _counted(
        control, behind, steady, lines, first_order, line, firsts, first_made, made, times, crossed, chosen
    )
    boxes = _fed(line[control], control, lines, first_order, line, firsts, chosen)
    inside = np.zeros(len(behind), dtype=np.int64)
    for cable in range(len(behind)):
        for place in range(len(boxes)):
            inside[cable] += boxes[place] * behind[cable, place]
    whole = boxes.sum()
    best, least_price = 0, np.inf
    for number in range(first_order[control + 1] - first_order[control]):
        order = first_order[control] + number
        first = firsts[order]
        new = 1 - boxes[first]
        price = 0.0
        for cable in range(len(behind)):
            there = inside[cable] + new * behind[cable, first]
            need = count[cable]
            if 0 < there < whole + new:
                need += 1
            for one in range(first_made[order], first_made[order + 1]):
                need += times[one] * crossed[cable, made[one]]
            price += costs[cable, min(max(need, least[cable]), MOST)]
        if price < least_price - ALIKE:
            best, least_price = number, price
    return best

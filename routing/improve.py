"""Passes that make routed cables cheaper; each keeps only what gains by the price of the whole."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from barnloom.model.building import Circuit
from barnloom.routing.feeds import tree_among
from barnloom.routing.job import Effort, Job
from barnloom.routing.layout import Layout, Lie
from barnloom.routing.settle import Settled, legs_of
from barnloom.routing.sharing import route
from barnloom.routing.slab import Floats
from barnloom.routing.wiring.kinds import Sizes
from barnloom.routing.wiring.wired import wired

SAME_MONEY = 1e-6
TREES_ANEW = 3
"""Most times that the trees of all circuits are looked at again, now that other circuits' holes are there to share."""
TRIES: Mapping[Effort, int] = {"quick": 0, "normal": 4, "long": 60}
"""By effort, for each cable, how often some cables are taken out and put back by other prices of holes."""
TAKEN_OUT = (2, 7)
"""At least so many cables are taken out at a time, and fewer than so many."""
FACTORS = (0.3, 1.2)
"""Between these the prices of holes are shaken."""
SEED = 20


@dataclass(frozen=True, slots=True)
class Kept:
    """Cables as they lay at some moment of the search, the orders of points with them, and what they cost then."""

    cost: float
    lie: Lie
    orders: Mapping[str, Sequence[str]]


def improvements(job: Job, best: Settled, sizes: Sizes, effort: Effort) -> Iterator[Kept]:
    """Make cables cheaper, and return every state that was, beginning with the one given.

    Circuit by circuit another tree at the prices that the others leave, as long as some circuit gains; then so many
    tries by shaken prices, which bring cables into rows and bays where they would not go one by one.
    """
    layout, orders = best.layout, best.orders

    def kept() -> Kept:
        return Kept(layout.price(), layout.snapshot(), orders)

    yield kept()
    circuits = [circuit for circuit in job.building.circuits if circuit.id not in sizes.thick()]
    for _ in range(TREES_ANEW):
        gained = False
        for circuit in circuits:
            found = tree_anew(job, Settled(layout, orders), sizes, circuit)
            if found is not None:
                orders, gained = found, True
                yield kept()
        if not gained:
            break
    dice = np.random.Generator(np.random.PCG64(SEED))
    price, names = layout.price(), sorted(layout.paths)
    for _ in range(TRIES[effort] * len(names)):
        tried = _shaken_loose(layout, names, price, dice)
        if tried < price:
            price = tried
            yield kept()


def tree_anew(job: Job, best: Settled, sizes: Sizes, circuit: Circuit) -> Mapping[str, Sequence[str]] | None:
    """Another tree of one circuit, if it feeds more boxes, or costs less: the orders of points that go with it.

    None leaves all as it was.
    """
    layout = best.layout
    before, kept = layout.price(), layout.snapshot()
    old = layout.feeds(circuit.id, circuit.panel)
    for name in [leg.id for leg in layout.legs.values() if leg.circuit == circuit.id]:
        layout.lift(name)
    trees = tree_among(layout, sizes, circuit, old)
    tree, orders = trees.feeds[circuit.id], {**best.orders, **trees.orders}
    if tree != old and {fed for _, fed in tree} >= {fed for _, fed in old}:
        wires, faults = wired(job.one_circuit(circuit), {circuit.id: tree}, sizes, orders)
        if not faults:
            route(layout, legs_of(job.building, {circuit.id: tree}, wires))
            more = len(layout.feeds(circuit.id, circuit.panel)) - len(old)
            if more > 0 or (more == 0 and layout.price() < before - SAME_MONEY):
                return orders
    layout.restore(kept)
    return None


def _shaken_loose(layout: Layout, names: Sequence[str], price: float, dice: np.random.Generator) -> float:
    """Take out some cables, put them back by shaken prices, and return what all costs then; undone if no less."""
    chosen = _neighbours(layout, names, dice)
    lifted = [layout.lift(name) for name in chosen]
    layout.shake(_row_factors(layout, dice))
    for leg, _ in lifted:
        layout.lay(leg, layout.find(leg)[1])
    layout.shake(None)
    for name in chosen:
        leg, steps = layout.lift(name)
        _, better = layout.find(leg, layout.worth(leg, steps) if steps else np.inf)
        layout.lay(leg, better or steps)
    found = layout.price()
    if found < price - SAME_MONEY:
        return found
    for name in chosen:
        layout.lift(name)
    for leg, steps in lifted:
        layout.lay(leg, steps)
    return price


def _row_factors(layout: Layout, dice: np.random.Generator) -> Floats:
    """Factors of the prices of all candidates, (candidates,): the same for a whole row, for it is set up but once."""
    rows = layout.usage.holes.row
    result: Floats = dice.uniform(*FACTORS, size=int(rows.max(initial=0)) + 2)[rows]
    return result


def _neighbours(layout: Layout, names: Sequence[str], dice: np.random.Generator) -> list[str]:
    """Some cables in an order by chance: one, of those that share holes with it as many as are wanted, else any."""
    first = names[int(dice.integers(len(names)))]
    wanted = int(dice.integers(*TAKEN_OUT))
    picked = [first]
    for group in (layout.sharing_holes(first), names):
        for at in dice.permutation(len(group)).tolist():
            if len(picked) < wanted and group[at] not in picked:
                picked.append(group[at])
    return [picked[at] for at in dice.permutation(len(picked)).tolist()]

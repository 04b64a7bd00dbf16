"""The cheapest trees of all circuits, at prices of items that each cable pays for itself."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np

from barnloom.routing.bound.alike import Alike
from barnloom.routing.bound.arborescence import cheapest_with
from barnloom.routing.bound.clusters import clusters
from barnloom.routing.bound.pricing import Pricer, Way
from barnloom.routing.bound.problem import Problem, Tree
from barnloom.routing.bound.shares import Shares, Used
from barnloom.routing.bound.wired import Wired
from barnloom.routing.slab import Floats, Ints, Truths

NONE: Ints = np.empty(0, dtype=np.int64)
Opinion = Callable[[Floats], tuple[float, list[tuple[int, int]]]]
PASSES = 2
"""Times in a round that what takes long is looked for, priced exactly, and looked for again."""
BALANCE = 0.03
"""Share of the money that is missing by which prices of boxes fed too often change."""
LATELY = 30
"""A cable that was in a cheapest tree so many rounds ago is priced at once, before it is asked for."""
KEEP = 0.5
"""Share of the last direction that prices of boxes fed too often keep."""
HELD = 5e7
"""Numbers that are kept of what is left from each node to each box; of larger buildings, what is needed at the time."""
REACH = 25.0
"""Money up to which it is looked for what is left to a box of a larger building; farther off it is no less."""


class Trees:
    """Prices of trees; what is known whatever items cost is worked out once."""

    def __init__(self, problem: Problem) -> None:
        self.problem, self.pricer = problem, Pricer(problem.ways)
        self.pairs: dict[tuple[int, int, int], int] = {}
        """By circuit and places of two boxes in it."""
        self.circuits: list[_Circuit] = []
        boxes = sum(len(tree.cables) + 1 for tree in problem.trees)
        self.big = boxes * len(problem.ways.start) > HELD
        """Whether what lies ahead of all boxes is too much to be kept."""
        count = 0
        for tree in problem.trees:
            self.circuits.append(_Circuit(tree, count, self.pricer, REACH if self.big else np.inf))
            count += len(tree.cables)
        self._now = 0
        self.count = count
        """Cables in all."""
        self.once = self._doors()
        """(doors,) whether one cable comes in by each in every tree."""

    def _doors(self) -> Truths:
        """Number the doors: boxes in the order of the cables, then all boxes of each circuit, then other clusters."""
        doors = self.count + len(self.circuits)
        for number, circuit in enumerate(self.circuits):
            further = len(circuit.clusters) - 1
            circuit.door_of = np.append(self.count + number, doors + np.arange(further))
            doors += further
        once = np.arange(doors) < self.count
        once[[circuit.door_of[0] for circuit in self.circuits if circuit.tree.home_runs == 1]] = True
        return once

    def cheapest(self, shares: Shares) -> tuple[float, list[Used]]:
        """Price of the cheapest trees, infinite if there are none, and what their cables use."""
        total, used = 0.0, []
        self._now += 1
        back = shares.back()
        for number, circuit in enumerate(self.circuits):
            price, own = self._cheapest(number, circuit, shares, back[circuit.door_of], self._now)
            if self.big:
                circuit.forget()
            total += price
            used += own
        return total, used

    def _cheapest(
        self, number: int, circuit: _Circuit, shares: Shares, back: Floats, now: int
    ) -> tuple[float, list[Used]]:
        """The same of one circuit; ``back``: what all but one of the cables get back that come into each cluster."""
        less = np.tensordot(back, circuit.entered, 1)
        price = circuit.least - less
        ways: dict[tuple[int, int], Way | None] = {}

        def exactly(u: int, v: int) -> None:
            cable, ways[u, v] = circuit.tree.cables[v - 1], None
            if not cable.free:
                paid = shares.of(circuit.doors(u, v), self._pair(number, u, v))
                far, ways[u, v] = self.pricer.reach(cable, circuit.names[u], circuit.ahead(u), paid)
                price[u, v] = far + cable.ends[circuit.names[u]] - less[u, v]

        for (u, v), last in circuit.lately.items():
            if now - last < LATELY:
                exactly(u, v)
        value, chosen = -np.inf, list[tuple[int, int]]()
        for cheapest, most in circuit.opinions():
            for _ in range(most):
                other, others = cheapest(price)
                if not np.isfinite(other):
                    return other, []
                unknown = [arc for arc in dict.fromkeys(others) if arc not in ways]
                for u, v in unknown:
                    exactly(u, v)
                if not unknown:
                    break
            if other > value:
                value, chosen = other, others
        used = []
        for u, v in chosen:
            circuit.lately[u, v] = now
            way = ways[u, v]
            used.append((circuit.doors(u, v), self._pair(number, u, v), NONE if way is None else way.items))
        return value + float(back.sum()), used

    def open_clusters(self) -> None:
        """From now on all clusters count."""
        for circuit in self.circuits:
            circuit.open = len(circuit.clusters)

    def balance(self, missing: float) -> None:
        """After a look at the cheapest trees: in circuits with many boxes, let each be fed as often as it is."""
        for circuit in self.circuits:
            circuit.balance(missing)

    def _pair(self, number: int, u: int, v: int) -> int:
        return self.pairs.setdefault((number, min(u, v), max(u, v)), len(self.pairs)) if u else -1


class _Circuit:
    """A tree with what its cables cost at least, and those that were in a cheapest one lately."""

    def __init__(self, tree: Tree, first: int, pricer: Pricer, limit: float) -> None:
        self.tree, self.first, self.pricer, self.limit = tree, first, pricer, limit
        self.names = [tree.panel, *(cable.box for cable in tree.cables)]
        self._ahead: dict[int, Floats] = {}
        self.least = np.full((len(self.names), len(self.names)), np.inf)
        self.lately: dict[tuple[int, int], int] = {}
        self.worth, self._too_often, self._direction = (np.zeros(len(self.names)) for _ in range(3))
        ways = pricer.ways
        for u, name in enumerate(self.names):
            for v, cable in enumerate(tree.cables, 1):
                if name in cable.ends:
                    far = float(self.ahead(u)[ways.boxes[cable.box] + ways.into])
                    self.least[u, v] = 0.0 if cable.free else far + cable.ends[name]
        self.clusters = clusters(self.least)
        self.entered = ~self.clusters[:, :, None] & self.clusters[:, None, :]
        """(clusters, boxes + 1, boxes + 1) whether a cable from row to column comes into each."""
        self.door_of: Ints = np.empty(0, dtype=np.int64)
        """(clusters,) number of each among all doors; the first cluster is all boxes."""
        self.open = 1 if tree.home_runs == 1 else 0
        """So many of the clusters are doors by now."""
        if np.isfinite(limit):
            self.forget()

    def doors(self, u: int, v: int) -> tuple[int, ...]:
        """Doors that a cable comes in by."""
        return (self.first + v - 1, *self.door_of[: self.open][self.entered[: self.open, u, v]].tolist())

    def opinions(self) -> list[tuple[Opinion, int]]:
        """Ways to find a price that no tree is below, with the cables that make it up, and how often each is asked.

        Where that is until all its cables are priced exactly, each time makes another one known.
        """
        always, wired = len(self.names) ** 2, self.tree.wired
        if isinstance(wired, Wired):
            return [(partial(self._wired, wired), always)]
        return [(self._plain, always), *([(partial(self._alike, wired), PASSES)] if wired is not None else [])]

    def _plain(self, price: Floats) -> tuple[float, list[tuple[int, int]]]:
        value, feeders = cheapest_with(price, self.tree.home_runs)
        return value, _cables(feeders)

    def _wired(self, wired: Wired, price: Floats) -> tuple[float, list[tuple[int, int]]]:
        value, feeders = wired.cheapest(price, self.tree.home_runs)
        return value, _cables(feeders)

    def _alike(self, alike: Alike, price: Floats) -> tuple[float, list[tuple[int, int]]]:
        value, cables = alike.cheapest(price, self.worth, self.tree.home_runs)
        self._too_often = alike.too_often(cables, self.tree.home_runs)
        return value, cables

    def balance(self, missing: float) -> None:
        """Let boxes that were fed too often become dearer, and the others cheaper, by so much money in all."""
        self._direction = KEEP * self._direction + self._too_often
        norm = float(self._direction @ self._direction)
        if norm > 0:
            self.worth += BALANCE * max(missing, 0.0) / norm * self._direction

    def ahead(self, u: int) -> Floats:
        """(nodes,) what is left at least from each node to a box of the circuit."""
        if u not in self._ahead:
            self._ahead[u] = self.pricer.ahead(self.names[u], self.tree.cables, self.limit if u else np.inf)
        return self._ahead[u]

    def forget(self) -> None:
        """Make room: what is left to boxes is found anew when it is asked for."""
        self._ahead.clear()


def _cables(feeders: Ints) -> list[tuple[int, int]]:
    return [(int(u), v) for v, u in enumerate(feeders) if u >= 0]

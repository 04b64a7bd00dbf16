"""The cheapest trees of all circuits, at prices of items that each cable pays for itself."""

from __future__ import annotations

import numpy as np

from barnloom.routing.bound.arborescence import cheapest_with
from barnloom.routing.bound.pricing import Pricer, Way
from barnloom.routing.bound.problem import Problem, Tree
from barnloom.routing.bound.shares import Shares
from barnloom.routing.slab import Floats, Ints

Used = tuple[int, int, Ints]
"""A cable of a cheapest tree: its number, that of its two boxes (-1: one is the panel), the items it needs."""
LATELY = 8
"""A cable that was in a cheapest tree so many rounds ago is priced at once, before it is asked for."""
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

    def cheapest(self, shares: Shares) -> tuple[float, list[Used]]:
        """Price of the cheapest trees, infinite if there are none, and what their cables use."""
        total, used = 0.0, []
        self._now += 1
        for number, circuit in enumerate(self.circuits):
            price, own = self._cheapest(number, circuit, shares, self._now)
            if self.big:
                circuit.forget()
            total += price
            used += own
        return total, used

    def _cheapest(self, number: int, circuit: _Circuit, shares: Shares, now: int) -> tuple[float, list[Used]]:
        price = circuit.least.copy()
        ways: dict[tuple[int, int], Way | None] = {}

        def exactly(u: int, v: int) -> None:
            cable, ways[u, v] = circuit.tree.cables[v - 1], None
            if not cable.free:
                paid = shares.of(circuit.first + v - 1, self._pair(number, u, v))
                far, ways[u, v] = self.pricer.reach(cable, circuit.names[u], circuit.ahead(u), paid)
                price[u, v] = far + cable.ends[circuit.names[u]]

        for (u, v), last in circuit.lately.items():
            if now - last < LATELY:
                exactly(u, v)
        while True:
            value, chosen = circuit.cheapest(price)
            if not np.isfinite(value):
                return value, []
            unknown = [arc for arc in chosen if arc not in ways]
            if not unknown:
                break
            for u, v in unknown:
                exactly(u, v)
        used = []
        for u, v in chosen:
            circuit.lately[u, v] = now
            way = ways[u, v]
            if way is not None:
                used.append((circuit.first + v - 1, self._pair(number, u, v), way.items))
        return value, used

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
        ways = pricer.ways
        for u, name in enumerate(self.names):
            for v, cable in enumerate(tree.cables, 1):
                if name in cable.ends:
                    far = float(self.ahead(u)[ways.boxes[cable.box] + ways.into])
                    self.least[u, v] = 0.0 if cable.free else far + cable.ends[name]
        if np.isfinite(limit):
            self.forget()

    def cheapest(self, price: Floats) -> tuple[float, list[tuple[int, int]]]:
        """The cheapest tree for prices of cables: its price, infinite if there is none, and its cables."""
        if self.tree.wired is not None:
            value, feeders = self.tree.wired.cheapest(price, self.tree.home_runs)
        else:
            value, feeders = cheapest_with(price, self.tree.home_runs)
        return value, [(int(u), v) for v, u in enumerate(feeders) if u >= 0]

    def ahead(self, u: int) -> Floats:
        """(nodes,) what is left at least from each node to a box of the circuit."""
        if u not in self._ahead:
            self._ahead[u] = self.pricer.ahead(self.names[u], self.tree.cables, self.limit if u else np.inf)
        return self._ahead[u]

    def forget(self) -> None:
        """Make room: what is left to boxes is found anew when it is asked for."""
        self._ahead.clear()

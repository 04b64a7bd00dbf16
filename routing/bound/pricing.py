"""The cheapest cable between two boxes, at given prices of items."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from barnloom.routing.bound.compiled import reach, walked
from barnloom.routing.bound.problem import Cable
from barnloom.routing.bound.ways import Ways
from barnloom.routing.compiled import spread
from barnloom.routing.search import UNKNOWN
from barnloom.routing.slab import Floats, Ints


@dataclass(frozen=True, eq=False, slots=True)
class Way:
    """A cable's way: what it costs without items, and the items it needs, each once, in ascending order."""

    money: float
    items: Ints


class Pricer:
    """Searches over ways. It keeps what they write on, since clearing that costs more than they do."""

    def __init__(self, ways: Ways) -> None:
        self.ways = ways
        self._nodes = len(ways.start) - 1
        self._distance = np.empty(self._nodes)
        self._before, self._by, self._seen, self._aimed = (np.zeros(self._nodes, dtype=np.int32) for _ in range(4))
        # To the search an edge is a chain of itself alone.
        self._alone = np.arange(len(ways.first), dtype=np.int32)
        self._now = 0
        self._whole: dict[tuple[str | int, ...], Floats] = {}
        """By box and arrays of prices, what is left to it from everywhere: circuits share their panel."""

    def ahead(self, box: str, cables: Sequence[Cable], limit: float) -> Floats:
        """(nodes,) what any of some cables costs at least from each node to a box, items and ends not counted.

        ``limit``: nothing is looked for that is farther; that much it costs at least.
        """
        ways = self.ways
        kinds = {id(cable.prices): cable.prices for cable in cables}
        key: tuple[str | int, ...] = (box, *sorted(kinds))
        if key in self._whole:
            return self._whole[key]
        # Cables of a kind have one array: the least of all is then that one.
        price = np.minimum.reduce(list(kinds.values()))
        out, none = ways.boxes[box], np.empty(0, dtype=np.int64)
        self._now += 1
        spread(
            ways.start, ways.target, ways.edge, ways.edge, self._alone, self._alone, price, np.array([out]), none, -1,
            limit, UNKNOWN, self._now, self._distance, self._before, self._by, self._seen, self._aimed,
        )  # fmt: skip
        found: Floats = np.where(np.abs(self._seen) == self._now, self._distance, limit)
        # A box is left by one node and entered by another; all other ways are as long in either direction.
        found[out + ways.into] = 0.0
        if limit == np.inf:
            self._whole[key] = found
        return found

    def reach(self, cable: Cable, feeder: str, ahead: Floats, prices: Floats) -> tuple[float, Way | None]:
        """Distance from a box to a cable's box at prices of items (items,), infinite if nothing leads there; the way.

        ``ahead``: what is left at least from each node to the feeding box.
        """
        ways, base = self.ways, cable.prices
        goal = ways.boxes[feeder] + ways.into
        self._now += 1
        open_, base[cable.closed] = base[cable.closed], np.inf
        far = reach(
            ways.start, ways.target, ways.edge, base, ways.item_first, ways.item, prices, ways.boxes[cable.box],
            goal, ahead, self._now, self._distance, self._before, self._by, self._seen,
        )  # fmt: skip
        base[cable.closed] = open_
        return far, self._walked(base, goal) if np.isfinite(far) else None

    def _walked(self, prices: Floats, goal: int) -> Way:
        ways = self.ways
        money, items = walked(goal, self._before, self._by, prices, ways.item_first, ways.item)
        return Way(float(money), np.unique(items))

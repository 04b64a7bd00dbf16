"""Which box feeds which, with conductors and boxes counted: the plain tree, made cheaper by cutting and reconnecting.

Ways, conductors and boxes hang together: another feed changes what its cable carries, what other cables carry, and how
full boxes get. So a tree is priced as a whole, and one cable after the other is taken out and the two sides joined
anew wherever that is cheapest, until nothing is gained.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import compress, pairwise, permutations

import numpy as np

from barnloom.model.building import Building, CableType, Circuit
from barnloom.routing.cost import CANNOT
from barnloom.routing.lengths import ends_ft
from barnloom.routing.trees import Pair, turned
from barnloom.routing.wiring.counting import MOST, Ints
from barnloom.routing.wiring.entry import entries, misfed
from barnloom.routing.wiring.kinds import Sizes, Store
from barnloom.routing.wiring.nets import CircuitNets, Circuitry, Costs
from barnloom.routing.wiring.room import Cables, Rooms

MOST_POINTS = 5
"""Points of a control up to which all their orders are compared for a tree to begin with."""
NEAREST = 2
"""Trees to begin with that are improved where none of them can be."""
SAME = 1e-6
"""Money below which two trees are equally good."""


@dataclass(frozen=True, slots=True)
class Way:
    """The cheapest way between two boxes: its price in the circuit's two-conductor cable, and its length in feet."""

    price: float
    feet: float


Ways = Mapping[Pair, Way]
"""By pair of ids in order."""


class TreePrices:
    """Prices of the trees of one circuit."""

    def __init__(
        self,
        building: Building,
        circuit: Circuit,
        ways: Ways,
        store: Store,
        sizes: Sizes,
        rooms: Rooms,
        others: Cables,
        most: Mapping[str, int],
    ) -> None:
        """Take what the trees of a circuit are priced by.

        Parameters
        ----------
        others : mapping of box to the cables of other circuits in it
        most : mapping of box to the most cables of this circuit in it
            Of the boxes that are reached, and the panel.
        """
        self.building, self.circuit, self.ways = building, circuit, ways
        self.store, self.sizes, self.rooms, self.others = store, sizes, rooms, others
        self.most = most
        there = set(most)
        self.devices = [d for d in building.devices if d.circuit == circuit.id and d.box in there]
        self.boxes = {box.id: box for box in building.boxes if box.id in there}
        rules = {rule.cable: rule.from_box for rule in building.cable_rules}
        feeders = {box: rules.get(f"{circuit.id}.{box}") or its.fed_from for box, its in self.boxes.items()}
        self.pins = {box: feeder for box, feeder in feeders.items() if feeder in there}
        self.base = store.cable(circuit, "", 2, sizes)
        self.ends_ft = ends_ft(building)
        least = (min((offer.price for offer in rooms.offers.get(name, ())), default=0.0) for name in self.boxes)
        self.boxes_least = sum(least)
        """Money that the boxes cost whatever the tree."""
        self._kinds: dict[tuple[str, int], CableType | None] = {}
        self._boxes: dict[tuple[str, tuple[str, ...]], float] = {}
        reached = [box for box in circuit.boxes if box in most]
        own = [control for control in building.controls if control.circuit == circuit.id]
        self.circuitry = Circuitry(circuit, self.devices, own, reached, building.wiring)
        self.controls = list(self.circuitry.controls.values())
        """Those of which points and lights are reached."""
        self.entries = entries(building.wiring.feed_at, self.controls, self.circuitry.devices)
        """What is to be kept of where power comes to first."""
        self.must_guard = circuit.ground_fault not in ("breaker", "none")
        places = self.circuitry.places
        phase = np.array([-np.inf, *(self.boxes[box].phase for box in list(places)[1:])])
        self._later = phase[:, None] > phase
        """(places, places) whether a box hangs on one that is built in a later phase, by number of feeder and fed."""
        self._more_for = np.full((len(places), len(places), MOST + 1), np.nan)
        """What a cable costs beyond one of two conductors, by feeder, fed and how many it needs; nan: not looked up."""
        self._sold = np.zeros((len(places), len(places), MOST + 1), dtype=np.bool_)
        """Whether there is a way, and such a cable."""
        self._plain = np.zeros((len(places), len(places)))
        """Price of the way in a cable of two conductors; 0 where there is none."""

    def way(self, one: str, other: str) -> Way | None:
        """The cheapest way between two boxes, if there is one."""
        return self.ways.get((one, other) if one < other else (other, one))

    def kind(self, box: str, count: int) -> CableType | None:
        """Cable that feeds a box, for so many nets."""
        if (box, count) not in self._kinds:
            self._kinds[box, count] = self.store.cable(self.circuit, f"{self.circuit.id}.{box}", count, self.sizes)
        return self._kinds[box, count]

    def nets(self, feeds: Sequence[Pair]) -> CircuitNets:
        """Nets of the circuit over a tree, the points of its controls in the cheapest order."""
        return self.circuitry.over(feeds, self._costs(feeds, self.circuitry.numbers(feeds)), {})

    def _costs(self, feeds: Sequence[Pair], numbers: Ints) -> Costs:
        """What each cable costs beyond one of two conductors, by how many it needs."""
        by, fed = numbers
        for missing in np.flatnonzero(np.isnan(self._more_for[by, fed, 0])).tolist():
            self._look_up(feeds[missing], (int(by[missing]), int(fed[missing])))
        found: Costs = self._more_for[by, fed]
        return found

    def _look_up(self, pair: Pair, at: tuple[int, int]) -> None:
        """Take down what a cable between two boxes costs."""
        way = self.way(*pair)
        self._plain[at] = 0.0 if way is None else way.price
        for count in range(MOST + 1):
            kind = self.kind(pair[1], count)
            if way is None or kind is None:
                self._more_for[at][count] = CANNOT * count  # what is not sold: the fewer, the nearer to what can be
            else:
                self._more_for[at][count], self._sold[at][count] = self._more(way, kind), True

    def price(self, feeds: Sequence[Pair], below: float = math.inf) -> float:
        """Price of a tree: its ways, what its conductors add, its boxes; what cannot be counts ``CANNOT``.

        Where it cannot be below ``below``, that is found out sooner, and what is returned is no less than that.
        """
        by, fed = numbers = self.circuitry.numbers(feeds)
        counts = np.minimum(self.circuitry.conductors(feeds, self._costs(feeds, numbers)), MOST)
        sold = self._sold[by, fed, counts]
        amiss = int(self._later[by, fed].sum()) + self.circuitry.parted(feeds) + len(misfed(self.entries, feeds))
        amiss += len(self.circuitry.places) - 1 - len(feeds)  # boxes that it leaves out
        amiss += self.unpinned(feeds) + (self.circuitry.unguarded(feeds) if self.must_guard else 0)
        total = CANNOT * amiss + float((self._more_for[by, fed, counts] + self._plain[by, fed] * sold).sum())
        if total + self.boxes_least >= below:
            return total + self.boxes_least
        held: dict[str, list[str]] = {box: [] for box in self.boxes}
        for ends_of, count in zip(compress(feeds, sold), counts[sold].tolist(), strict=True):
            kind = self.kind(ends_of[1], count)
            for box in ends_of:
                held[box].append(kind.id if kind is not None else "")
        return total + sum(self._box(name, tuple(sorted(kinds))) for name, kinds in held.items())

    def _box(self, name: str, kinds: tuple[str, ...]) -> float:
        """Price of a box with such cables of this circuit in it; what it does not hold counts ``CANNOT``."""
        if (name, kinds) not in self._boxes:
            its, cables = self.boxes[name], [self.store.types[kind] for kind in kinds]
            inside = [(self.circuit.id, *one) for kind in cables for one in self.store.inside(kind)]
            ends = sum(kind.sheaths for kind in cables)
            price: float | None = 0.0
            if its.kind == "box":
                price = self.rooms.price(its, [*self.others.get(name, ()), *inside])
            over = max(0, ends - self.most[name])
            self._boxes[name, kinds] = (CANNOT * ends if price is None else price) + CANNOT * over
        return self._boxes[name, kinds]

    def unpinned(self, feeds: Sequence[Pair]) -> int:
        """How many boxes are not fed from where the scene has them fed from."""
        feeder = {fed: by for by, fed in feeds}
        return sum(feeder.get(box) != by for box, by in self.pins.items())

    def _more(self, way: Way, kind: CableType) -> float:
        """What a cable of another kind costs more over a way than the one the way was priced with."""
        if self.base is None:
            return 0.0
        feet = way.feet * (1 + self.building.lengths.slack_share) + self.ends_ft
        return (kind.price_ft - self.base.price_ft) * feet


def in_rows(trees: TreePrices, *, from_shared: bool = False) -> list[Pair]:
    """Return a tree as one draws it first: the feed to each control's first point, on to the others, to the lights.

    Where power is to come to the lights first: the feed to the lights, and from one of them on to the points. What is
    always on lies on the feed. With the points first it needs three conductors between points and two elsewhere, as far
    as controls do not share boxes, so a search that begins here begins with something that can be. Boxes that no way
    joins are left out.

    Parameters
    ----------
    from_shared : bool
        Whether power comes to a box with points of several controls first: no line has to lie beside travelers then.
    """
    rows = _Rows(trees)
    for feeder, pinned in sorted((by, box) for box, by in trees.pins.items()):
        rows.join(feeder, pinned)
    at = {device.id: device.box for device in trees.devices}
    fed = {device.box for device in trees.devices if not device.control or device.half_switched}
    fed |= set(trees.boxes) - {device.box for device in trees.devices} - {trees.circuit.panel}
    shared = shared_boxes(trees) if from_shared else set()
    lit_first = {one.control for one in trees.entries} if trees.building.wiring.feed_at == "light" else set()
    for control in sorted(trees.controls, key=lambda control: (-len(control.points), control.id)):
        points = list(dict.fromkeys(at[point] for point in control.points if point in at))
        lights = {at[light] for light in control.lights if light in at}
        orders = [points] if control.in_order or len(points) > MOST_POINTS else permutations(points)
        before, after = fed or {trees.circuit.panel}, lights
        if control.id in lit_first:
            head = min(lights, key=lambda light: (rows.length([light], before, ()), light))
            rows.grow({head}, lights)
            fed.add(head)
            before, after = lights, set()
        order = min(orders, key=lambda one: (one[0] not in shared, rows.length(one, before, after), one))
        for one, other in pairwise(order):
            rows.join(one, other)
        if control.id in lit_first:
            rows.grow(lights, {order[0]}, once=True)
        else:
            rows.grow({order[-1]}, lights)
            fed.add(order[0])
    rows.grow(set(sorted(fed)[:1]), fed)
    rows.grow(set(sorted(fed)[:1]), set(trees.boxes) - {trees.circuit.panel})
    rows.grow({trees.circuit.panel}, fed or set(trees.boxes), once=True)
    return turned(trees.circuit.panel, rows.feeds)


def shared_boxes(trees: TreePrices) -> set[str]:
    """Boxes with points of several controls."""
    at = {device.id: device.box for device in trees.devices}
    count = Counter(box for control in trees.controls for box in {at[point] for point in control.points if point in at})
    return {box for box, controls in count.items() if controls > 1}


def with_home_runs(trees: TreePrices, feeds: Sequence[Pair], wanted: int) -> list[Pair]:
    """Return a tree with so many home runs, or as many as there are ways for: each made where it costs least."""
    panel, best = trees.circuit.panel, list(feeds)
    while sum(by == panel for by, _ in best) < wanted:
        more = []
        for by, fed in best:
            if by != panel and trees.pins.get(fed) != by:
                kept = [feed for feed in best if feed != (by, fed)]
                more += [turned(panel, [*kept, (panel, box)]) for box in _behind(best, fed) if trees.way(panel, box)]
        if not more:
            break
        best = min(more, key=lambda tree: (trees.price(tree), tree))
    return best


class _Rows:
    """Cables of a tree in the making, and which boxes hang together already."""

    def __init__(self, trees: TreePrices) -> None:
        self.trees = trees
        self.feeds: list[Pair] = []
        self.part = {box: box for box in trees.boxes}

    def price(self, one: str, other: str) -> float:
        """Of the way between two boxes."""
        way = self.trees.way(one, other)
        return math.inf if way is None else way.price

    def length(self, order: Sequence[str], before: Collection[str], lights: Collection[str]) -> float:
        """Price of an order of points: from what is fed to the first, from one to the next, from the last to lights."""
        ends = (
            min((self.price(a, b) for b in those if b != a), default=0.0)
            for a, those in ((order[0], before), (order[-1], lights))
        )
        return sum(self.price(one, other) for one, other in pairwise(order)) + sum(ends)

    def join(self, one: str, other: str) -> None:
        """Lay a cable, if there is a way and the two do not hang together already."""
        if self.part[one] != self.part[other] and math.isfinite(self.price(one, other)):
            self.feeds.append((one, other))
            old, new = self.part[other], self.part[one]
            self.part = {box: new if part == old else part for box, part in self.part.items()}

    def grow(self, begin: set[str], wanted: Collection[str], *, once: bool = False) -> None:
        """Join wanted boxes to those that the tree begins with, the nearest first; ``once``: by one cable alone."""
        there = set(begin)
        left = {box for box in wanted if box not in there}
        while left and there:
            price, one, other = min((self.price(a, b), a, b) for a in there for b in left)
            if not math.isfinite(price):
                return
            self.join(one, other)
            if once:
                return
            there.add(other)
            left.remove(other)


def improved(trees: TreePrices, feeds: Sequence[Pair]) -> list[Pair]:
    """Return a tree that no single cut and reconnection makes cheaper, beginning from one that is given.

    What the scene pins stays as it is, and so does the number of home runs, unless any will do.
    """
    best = list(feeds)
    panel = trees.circuit.panel
    home_runs = None if trees.circuit.home_runs is None else sum(by == panel for by, _ in best)
    price = trees.price(best)
    while True:
        found = _exchange(trees, best, price, home_runs)
        if found is None:
            return best
        price, best = found


def cheapest_of(trees: TreePrices, starts: Sequence[Sequence[Pair]]) -> list[Pair]:
    """Return the cheapest of what several trees to begin with are improved to; of equals the first.

    Those that cannot be are left out where another can; where none can, the nearest to it are tried, for that is slow.
    Before all comes what the scene pins: one that is drawn without regard for pins may be improved to keep them, or is
    turned to, and improved from there.
    """
    different = sorted(dict.fromkeys(map(tuple, starts)), key=trees.price)
    sound = [start for start in different if trees.price(start) < CANNOT]
    found = [improved(trees, start) for start in sound or different[:NEAREST]]
    if all(trees.unpinned(tree) for tree in found):
        found += [improved(trees, with_pins(trees, tree)) for tree in found]
    return min(found, key=lambda tree: (trees.unpinned(tree), trees.price(tree)))


def with_pins(trees: TreePrices, feeds: Sequence[Pair]) -> list[Pair]:
    """A tree in which boxes are fed from where the scene has them fed from, and as little else is otherwise as can be.

    Of two pins that are in each other's way the later one is kept.
    """
    panel, found = trees.circuit.panel, list(feeds)
    for box, by in trees.pins.items():
        feeder = {fed: one for one, fed in found}
        if feeder.get(box, by) == by or by not in {panel, *feeder}:
            continue
        rest = [pair for pair in found if pair != (feeder[box], box)]
        if by in _behind(found, box):
            # What fed the box feeds the one that is to feed it, and the way between the two runs the other way.
            turned_about = turned(panel, [*rest, (feeder[box], by)])
            rest = [pair for pair in turned_about if pair[1] != box]
        found = turned(panel, [*rest, (by, box)])
    return found


def _exchange(
    trees: TreePrices, feeds: list[Pair], price: float, home_runs: int | None
) -> tuple[float, list[Pair]] | None:
    """The first exchange of a cable that gains, those that save most of the way before others; None if none does."""
    panel = trees.circuit.panel
    plain = sum(way.price for by, fed in feeds if (way := trees.way(by, fed)) is not None)
    spare = price - plain - trees.boxes_least
    """What conductors and boxes add now: no exchange can save more than that and the difference of the ways."""
    unpinned = trees.unpinned(feeds)
    moves: list[tuple[float, Pair, Pair]] = []
    for by, fed in feeds:
        if trees.pins.get(fed) == by:
            continue
        old = trees.way(by, fed)
        behind = _behind(feeds, fed)
        for (one, other), way in trees.ways.items():
            if (one in behind) != (other in behind) and {one, other} != {by, fed}:
                more = way.price - (old.price if old is not None else CANNOT)
                if more < spare - SAME:
                    moves.append((more, (by, fed), (one, other)))
    for _, out, into in sorted(moves):
        changed = turned(panel, [*(feed for feed in feeds if feed != out), into])
        if home_runs is not None and sum(by == panel for by, _ in changed) != home_runs:
            continue
        if trees.unpinned(changed) > unpinned:
            continue
        total = trees.price(changed, price - SAME)
        if total < price - SAME:
            return total, changed
    return None


def _behind(feeds: Sequence[Pair], box: str) -> set[str]:
    """A box and all that it feeds, straight or through others."""
    found = {box}
    for by, fed in feeds:  # panel first, so a feeder comes before what it feeds
        if by in found:
            found.add(fed)
    return found

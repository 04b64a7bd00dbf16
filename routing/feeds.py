"""Which box feeds which: for every circuit the plain tree, then made cheaper with conductors and boxes counted."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np

from barnloom.model.building import Building, CableRule, CableType, Circuit
from barnloom.model.wiring import DeviceKind
from barnloom.routing.cost import CANNOT, ends_price
from barnloom.routing.layout import Layout, barred_edges
from barnloom.routing.search import Found, Network, barring, from_everywhere, money, nearest
from barnloom.routing.sharing import reach
from barnloom.routing.slab import Floats, Ints
from barnloom.routing.trees import Pair, plain_tree
from barnloom.routing.usage import Usage
from barnloom.routing.wiring.choice import (
    TreePrices,
    Way,
    cheapest_of,
    in_rows,
    shared_boxes,
    with_home_runs,
)
from barnloom.routing.wiring.kinds import Sizes, Store
from barnloom.routing.wiring.nets import least_conductors
from barnloom.routing.wiring.room import Inside, Rooms


@dataclass(frozen=True, slots=True, kw_only=True)
class Trees:
    """Feeds of every circuit, and boxes that no track reaches."""

    feeds: dict[str, tuple[Pair, ...]]
    unreached: tuple[tuple[str, str], ...]
    """(box, circuit)."""
    orders: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Points of controls, by device id, from the line to the lights; of those left out the cheapest order is sought."""


def chosen_trees(
    network: Network,
    sizes: Sizes,
    rooms: Rooms,
    *,
    feeds: Mapping[str, Sequence[Pair]] = MappingProxyType({}),
    settled: Collection[str] = (),
) -> Trees:
    """The tree of every circuit, each cable priced as if alone in the building.

    Parameters
    ----------
    sizes : Sizes
        Of the circuits' conductors.
    rooms : Rooms
        What boxes hold, and cost.
    feeds : mapping of circuit to feeds, panel first, optional
        Trees to begin with besides.
    settled : collection of circuits
        Those that keep the tree they begin with, unless it cannot be any more.
    """
    building = network.tracks.building
    chooser = _Chooser(network, Usage(network.tracks), sizes, rooms, feeds)
    chooser.empty = True
    # A box on several circuits keeps a place for a cable of each that is still to come.
    waiting = Counter(box for circuit in building.circuits for box in circuit.boxes)
    for box, count in waiting.items():
        chooser.room[box] -= count
    for circuit in building.circuits:
        for box in circuit.boxes:
            chooser.room[box] += 1
        chooser.choose(circuit, settled=circuit.id in settled)
    return Trees(feeds=chooser.feeds, unreached=tuple(chooser.unreached), orders=chooser.orders)


def tree_among(layout: Layout, sizes: Sizes, circuit: Circuit, begin: Sequence[Pair]) -> Trees:
    """The tree of one circuit whose cables are not laid, at the prices that those of the others leave.

    Parameters
    ----------
    begin : sequence of (feeding box, fed box)
        The tree that is made cheaper.
    """
    chooser = _Chooser(layout.network, layout.usage, sizes, layout.rooms, {circuit.id: begin})
    chooser.inside |= layout.inside()
    chooser.quoted = layout.quoted
    for leg in layout.legs.values():
        for end in (leg.from_box, leg.to_box):
            chooser.room[end] -= leg.kind.sheaths
    chooser.choose(circuit, anew=False)
    return Trees(feeds=chooser.feeds, unreached=tuple(chooser.unreached), orders=chooser.orders)


class _Chooser:
    """Trees chosen so far, and what they leave of the room in boxes."""

    def __init__(
        self, network: Network, usage: Usage, sizes: Sizes, rooms: Rooms, known: Mapping[str, Sequence[Pair]]
    ) -> None:
        self.network, self.usage, self.sizes, self.rooms, self.known = network, usage, sizes, rooms, known
        self.empty = False
        """Whether nothing is in use, so that prices of ways are the same for all circuits."""
        self._left: dict[tuple[str, str], Floats] = {}
        self.quoted: Callable[[Floats, Ints], AbstractContextManager[Floats]] = barring
        self.building = network.tracks.building
        self.store = Store(self.building)
        self.boxes = {box.id: box for box in self.building.boxes}
        self.feeds: dict[str, tuple[Pair, ...]] = {}
        self.orders: dict[str, tuple[str, ...]] = {}
        self.unreached: list[tuple[str, str]] = []
        self.room = {box.id: box.cables_max for box in self.building.boxes}
        self.inside: dict[str, list[Inside]] = defaultdict(list)

    def choose(self, circuit: Circuit, *, anew: bool = True, settled: bool = False) -> None:
        """Choose the tree of one circuit.

        Parameters
        ----------
        anew : bool
            False: beginning with the known one alone.
        settled : bool
            Whether the known one is taken as it is, if it can be.
        """
        kind = plain_kind(self.store, circuit, self.sizes)
        switches = switched(self.building, circuit)
        for limit in [np.inf] if switches else _limits(self.building, circuit, kind):
            ways = self._ways(circuit, kind, limit)
            reached = _connected(circuit.panel, circuit.boxes, ways)
            most = {box: self.room[box] for box in (circuit.panel, *reached)}
            others = {box: tuple(self.inside[box]) for box in most}
            pricing = TreePrices(self.building, circuit, ways, self.store, self.sizes, self.rooms, others, most)
            tree = list(self.known.get(circuit.id, ()))
            if not (settled and tree and pricing.price(tree) < CANNOT):
                tree = cheapest_of(pricing, self._starts(circuit, pricing, anew=anew))
            # A tree takes pairs from the cheapest up: once it has all boxes, dearer pairs change nothing.
            home_runs = circuit.home_runs or _home_runs(circuit, tree)
            whole = len(tree) == len(circuit.boxes) and _home_runs(circuit, tree) == home_runs
            if whole and pricing.price(tree) < CANNOT:
                break
        self._take(circuit, kind, pricing, tree)
        hanging = {box for _, box in tree}
        self.unreached += [(box, circuit.id) for box in circuit.boxes if box not in reached]
        self.unreached += [(box, circuit.id) for box in reached if box not in hanging]

    def _ways(self, circuit: Circuit, kind: CableType, limit: float) -> dict[Pair, Way]:
        """The cheapest ways between a circuit's boxes at live prices."""
        barred = barred_edges(self.network, CableRule(cable=""), (circuit.panel, *circuit.boxes))
        left = self._left_to(circuit.panel, kind) if self.empty else None
        with self.quoted(self.usage.prices(kind.id), barred) as prices:
            return _ways(self.network, prices, circuit, kind, limit, left)

    def _left_to(self, panel: str, kind: CableType) -> Floats:
        """Price of the cheapest way to a panel from everywhere, for a type of cable."""
        key = (panel, kind.id)
        if key not in self._left:
            self._left = {known: left for known, left in self._left.items() if known[0] == panel}
            self._left[key] = from_everywhere(self.network, self.usage.prices(kind.id), self.network.into(panel))
        return self._left[key]

    def _starts(self, circuit: Circuit, pricing: TreePrices, *, anew: bool) -> list[list[Pair]]:
        """Trees to begin with: what is known, if it has all boxes; else the plain one too, and those in rows."""
        reached = [box for box in pricing.most if box != circuit.panel]
        known = list(self.known.get(circuit.id, ()))
        fits = {box for _, box in known} == set(reached)
        if fits and not anew:
            return [known]
        prices = {pair: way.price for pair, way in pricing.ways.items()}
        room = {box: pricing.most[box] for box in reached}
        plain = plain_tree(
            circuit.panel, reached, prices, home_runs=circuit.home_runs, pins=pricing.pins, cables_max=room
        )
        first = [known, plain] if fits else [plain]
        if not pricing.controls:
            return first
        drawn = [
            in_rows(pricing, from_shared=shared) for shared in ([False, True] if shared_boxes(pricing) else [False])
        ]
        rows = [with_home_runs(pricing, tree, circuit.home_runs or 1) for tree in drawn]
        runs = _home_runs(circuit, plain) if circuit.home_runs else None
        alike = [tree for tree in rows if len(tree) == len(plain) and runs in (None, _home_runs(circuit, tree))]
        return [*first, *alike]

    def _take(self, circuit: Circuit, kind: CableType, pricing: TreePrices, tree: list[Pair]) -> None:
        """Keep a tree, and take the room that its cables have in boxes."""
        nets = pricing.nets(tree)
        self.orders |= nets.orders
        self.feeds[circuit.id] = tuple(tree)
        for feeder, fed in tree:
            count = least_conductors(nets.carried[fed])
            bought = self.store.cable(circuit, f"{circuit.id}.{fed}", count, self.sizes) or kind
            for end in (feeder, fed):
                self.room[end] -= bought.sheaths
                self.inside[end] += [(circuit.id, *one) for one in self.store.inside(bought)]


def plain_kind(store: Store, circuit: Circuit, sizes: Sizes) -> CableType:
    """Cable of a circuit for two conductors, or the one with the fewest that there is."""
    return store.cable(circuit, "", 2, sizes) or next(iter(store.types.values()))


def _home_runs(circuit: Circuit, tree: Sequence[Pair]) -> int:
    return sum(feeder == circuit.panel for feeder, _ in tree)


def switched(building: Building, circuit: Circuit) -> bool:
    """Whether some cable of a circuit may need more than two conductors."""
    own = [device for device in building.devices if device.circuit == circuit.id]
    alarms = sum(device.kind is DeviceKind.ALARM for device in own)
    return circuit.multiwire or alarms > 1 or any(device.control or device.ground_fault for device in own)


def _limits(building: Building, circuit: Circuit, kind: CableType) -> list[float]:
    """How far to look for a box's neighbours: a little farther than the boxes are apart, then everywhere."""
    if circuit.home_runs not in (1, None) or len(circuit.boxes) < 2:
        return [np.inf]
    places = {box.id: box.at for box in building.boxes}
    at = np.array([places[box] for box in circuit.boxes])
    apart = np.linalg.norm(at[:, None] - at[None, :], axis=2)
    longest = _longest_link(apart)
    return [reach(kind, building, longest), reach(kind, building, 3 * longest), np.inf]


def _longest_link(apart: Floats) -> float:
    """The longest link of the shortest tree over places that are so far apart, (places, places)."""
    near, longest = apart[0].copy(), 0.0
    left = np.ones(len(apart), dtype=bool)
    left[0] = False
    while left.any():
        at = int(np.argmin(np.where(left, near, np.inf)))
        longest = max(longest, float(near[at]))
        left[at] = False
        near = np.minimum(near, apart[at])
    return longest


def _ways(
    network: Network, prices: Floats, circuit: Circuit, kind: CableType, limit: float, left: Floats | None
) -> dict[Pair, Way]:
    """The cheapest ways between boxes up to a limit, and of every box with the panel, ends of cables included.

    ``left``: what is left to the panel at least from every node of the network's core, if that is known.
    """
    boxes = {box.id: box for box in network.tracks.building.boxes}
    lengths = network.tracks.edges.length
    result: dict[Pair, Way] = {}

    def take(a: str, b: str, found: Found) -> None:
        feet = float(sum(lengths[edge] for _, _, edge in found.steps)) / 12
        ends = ends_price(network.tracks.building, kind, (boxes[a], boxes[b]))
        result[(a, b) if a < b else (b, a)] = Way(money(found.price) + ends, feet)

    ids = [circuit.panel, *circuit.boxes]
    if left is not None:
        panel = network.into(circuit.panel)
        for box in ids[1:]:
            for way in nearest(network, prices, [network.out_of(box)], [panel], bound=left).values():
                take(circuit.panel, box, way)
    for n, a in enumerate(ids[:-1]):
        if n > 0 or left is None:
            goals = {network.into(b): b for b in ids[n + 1 :]}
            found = nearest(network, prices, [network.out_of(a)], list(goals), limit=np.inf if n == 0 else limit)
            for node, way in found.items():
                take(a, goals[node], way)
    return result


def _connected(panel: str, boxes: Sequence[str], ways: Mapping[Pair, Way]) -> list[str]:
    reached, queue = {panel}, [panel]
    while queue:
        at = queue.pop()
        for a, b in ways:
            other = b if a == at else a if b == at else None
            if other is not None and other not in reached:
                reached.add(other)
                queue.append(other)
    return [box for box in boxes if box in reached]

"""Cables as they lie at some moment of a search: their paths, the holes and bay sides in use, what it all costs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np

from barnloom.model.building import CableRule, CableType
from barnloom.routing.cost import CANNOT, board_price, edge_prices, ends_price, making_price
from barnloom.routing.graph import Tracks
from barnloom.routing.search import Network, Step, barring, cheapest_path, from_everywhere, whole_money
from barnloom.routing.slab import Floats, Ints
from barnloom.routing.trees import Pair
from barnloom.routing.usage import Usage, base_prices
from barnloom.routing.wiring.flows import feeds_of
from barnloom.routing.wiring.kinds import Store
from barnloom.routing.wiring.room import Inside, Rooms

NO_EDGES: Ints = np.empty(0, dtype=np.int64)


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """A cable to be routed: circuit, its ends (panel's side first), the cable it is pulled in, what the scene fixes."""

    id: str
    circuit: str
    from_box: str
    to_box: str
    kind: CableType
    rule: CableRule


@dataclass(frozen=True, slots=True)
class _Laid:
    """What a cable that is laid uses and costs: candidates and lanes, boards by member, money of its way and ends."""

    holes: list[int]
    lanes: list[int]
    boards: frozenset[int]
    way: float
    ends: float


Lie = tuple[tuple[Leg, list[Step]], ...]
"""All legs with their paths (no steps: lost), at some moment."""


class Layout:
    """Legs and their paths over one network. Cables come and go in a search, so it remembers what they use.

    ``legs`` are all that are wanted, by id; those without a path are not in ``paths``.
    """

    def __init__(self, network: Network, rooms: Rooms, *, tired: bool = False) -> None:
        """Begin with no cables.

        Parameters
        ----------
        tired : bool
            Whether overhead holes are priced as those after the first few.
        """
        self.network, self.rooms, self.tired = network, rooms, tired
        self.usage = Usage(network.tracks, tired=tired)
        self.store = Store(network.tracks.building)
        self.boxes = {box.id: box for box in network.tracks.building.boxes}
        self._making = making_price(network.tracks.building)
        self.legs: dict[str, Leg] = {}
        self.paths: dict[str, list[Step]] = {}
        self._laid: dict[str, _Laid] = {}
        self._users: dict[int, dict[str, None]] = {}
        self._in_box: dict[str, list[Inside]] = defaultdict(list)
        self._box_prices: dict[str, float] = {}
        self._plain: dict[str, Floats] = {}
        self._least: dict[tuple[str, str], Floats] = {}
        self._on_board = self._board_edges()
        self._shaken: tuple[Ints, Floats] | None = None

    def _board_edges(self) -> Ints:
        """Member number of the board that each edge runs on, (edges,); -1 for none."""
        tracks, found = self.tracks, np.full(len(self.tracks.edges.a), -1, dtype=np.int64)
        low = np.minimum(tracks.edges.a, tracks.edges.b)
        high = np.maximum(tracks.edges.a, tracks.edges.b)
        for face, first, after in zip(tracks.faces, tracks.face_base[:-1], tracks.face_base[1:], strict=True):
            if face.board:
                found[(low >= first) & (high < after)] = face.member
        return found

    @property
    def tracks(self) -> Tracks:
        """The tracks that are searched."""
        return self.network.tracks

    @property
    def lost(self) -> list[Leg]:
        """Legs without a path."""
        return [leg for leg in self.legs.values() if leg.id not in self.paths]

    def lay(self, leg: Leg, steps: list[Step]) -> None:
        """Put a cable where it goes; without steps it is wanted, and lost."""
        self.legs[leg.id] = leg
        if not steps:
            return
        self.paths[leg.id] = steps
        laid = self._laid[leg.id] = self._as_laid(leg, steps)
        self.usage.add(leg.kind.id, laid.holes, laid.lanes)
        for hole in laid.holes:
            self._users.setdefault(hole, {})[leg.id] = None
        for end in (leg.from_box, leg.to_box):
            self._in_box[end] += [(leg.circuit, *one) for one in self.store.inside(leg.kind)]
            self._box_prices.pop(end, None)

    def lift(self, name: str) -> tuple[Leg, list[Step]]:
        """Take a cable out, and return it with its path (no steps if it had none)."""
        leg, steps = self.legs.pop(name), self.paths.pop(name, [])
        if not steps:
            return leg, steps
        laid = self._laid.pop(name)
        self.usage.add(leg.kind.id, laid.holes, laid.lanes, -1)
        for hole in laid.holes:
            self._users[hole].pop(name, None)
        for end in (leg.from_box, leg.to_box):
            for one in self.store.inside(leg.kind):
                self._in_box[end].remove((leg.circuit, *one))
            self._box_prices.pop(end, None)
        return leg, steps

    def sharing_holes(self, name: str) -> list[str]:
        """Other cables in the holes of one that is laid, in the order of its holes."""
        found = {other: None for hole in self._laid[name].holes for other in self._users[hole]}
        return [other for other in found if other != name]

    def find(self, leg: Leg, limit: float = np.inf) -> tuple[float, list[Step]]:
        """The cheapest way for a leg that is not laid, as a whole-number price and steps; infinity and none if none."""
        with self.quoted(self.live(leg), self.barred(leg)) as prices:
            return self._path(prices, leg, limit)

    def lacks_holes(self, leg: Leg) -> bool:
        """Whether a lost leg would find a way if no hole were full or too near another."""
        prices = self.usage.prices_of_empty_holes(leg.kind.id)
        with barring(prices, self.barred(leg)):
            return bool(self._path(prices, leg, np.inf)[1])

    def worth(self, leg: Leg, steps: Sequence[Step]) -> float:
        """Whole-number price of steps for a leg that is not laid."""
        with self.quoted(self.live(leg), NO_EDGES) as prices:
            return float(sum(prices[edge] for _, _, edge in steps))

    @contextmanager
    def quoted(self, live: Floats, barred: Ints) -> Iterator[Floats]:
        """Live prices for a while without the barred edges, and shaken as is asked."""
        if self._shaken is None:
            with barring(live, barred) as prices:
                yield prices
            return
        edges = self._shaken[0][self.usage.unbored(self._shaken[0])]
        kept = live[edges]
        live[edges] += self._shaken[1][self.tracks.edges.bore[edges]]
        with barring(live, barred) as prices:
            yield prices
        live[edges] = kept

    def shake(self, factors: Floats | None) -> None:
        """Quote prices of new holes times these factors, (candidates,), from now on; None: as they are."""
        if factors is None:
            self._shaken = None
            return
        more = whole_money(self.usage.boring * (factors - 1))
        edges = self.tracks.edges.bore >= 0
        self._shaken = (np.flatnonzero(edges), more)

    def snapshot(self) -> Lie:
        """All cables as they lie."""
        return tuple((leg, self.paths.get(leg.id, [])) for leg in self.legs.values())

    def restore(self, kept: Lie) -> None:
        """Lay all cables as they once lay."""
        there = {leg.id: (leg, steps) for leg, steps in kept}
        for name in list(self.legs):
            leg, steps = there.get(name, (None, None))
            if self.legs[name] is not leg or self.paths.get(name, []) is not steps:
                self.lift(name)
        for leg, steps in kept:
            if leg.id not in self.legs:
                self.lay(leg, steps)
        self.legs = {leg.id: leg for leg, _ in kept}

    def barred(self, leg: Leg) -> Ints:
        """Edges that a leg may not use."""
        return barred_edges(self.network, leg.rule, (leg.from_box, leg.to_box))

    def live(self, leg: Leg) -> Floats:
        """Live edge prices for a leg; where it goes by the holes that it is in already, those cost nothing."""
        prices = self.usage.prices(leg.kind.id)
        if leg.rule.holes is None and not leg.rule.done:
            return prices
        bore = self.tracks.edges.bore
        through = np.flatnonzero(bore >= 0)
        prices = prices.copy()
        if leg.rule.holes is not None:
            own = [candidate for name in leg.rule.holes for candidate in self.tracks.old_holes.get(name, ())]
            its = np.isin(bore[through], own)
            prices[through[~its]] = np.inf
            prices[through[its]] = base_prices(self.tracks, leg.kind)[through[its]]
        else:
            prices[through[self.tracks.bores.hole[bore[through]] < 0]] = np.inf
        return prices

    def feeds(self, circuit: str, panel: str) -> tuple[Pair, ...]:
        """Feeds of a circuit by cables that have a path, panel first; what hangs on nothing is left out."""
        # They come and go, so that the order they are in says nothing.
        there = [self.legs[name] for name in sorted(self.paths) if self.legs[name].circuit == circuit]
        return tuple(feeds_of(panel, there))

    def inside(self) -> dict[str, list[Inside]]:
        """Cables in each box, lost ones left out."""
        return {box: list(cables) for box, cables in self._in_box.items()}

    def price(self) -> float:
        """What it all costs, in money, as ``cost.plan_cost`` counts a finished plan.

        What is only known of drawn lines (whole staples, steps too short for a turn) is counted by the foot.
        """
        building = self.tracks.building
        total = self._making + CANNOT * (len(self.legs) - len(self.paths))
        total += sum(laid.way + laid.ends for laid in self._laid.values())
        total += self.usage.holes.total(list(self.usage.loads))
        boards = frozenset().union(*(laid.boards for laid in self._laid.values()))
        total += sum(board_price(building, building.members[number]) for number in sorted(boards))
        return total + sum(self._box_price(name) for name, cables in self._in_box.items() if cables)

    def _box_price(self, name: str) -> float:
        if name not in self._box_prices:
            box = self.boxes[name]
            held = self.rooms.price(box, self._in_box[name]) if box.kind == "box" else 0.0
            self._box_prices[name] = CANNOT if held is None else held
        return self._box_prices[name]

    def _as_laid(self, leg: Leg, steps: Sequence[Step]) -> _Laid:
        edges = np.array([edge for _, _, edge in steps], dtype=np.int64)
        bores, lanes = self.tracks.edges.bore[edges], self.tracks.edges.lane[edges]
        if leg.kind.id not in self._plain:
            self._plain[leg.kind.id] = edge_prices(self.tracks, leg.kind)
        ends = self.boxes[leg.from_box], self.boxes[leg.to_box]
        done = leg.rule.done
        return _Laid(
            holes=bores[bores >= 0].tolist(),
            lanes=lanes[lanes >= 0].tolist(),
            boards=frozenset() if done else frozenset(self._on_board[edges].tolist()) - {-1},
            way=0.0 if done else float(self._plain[leg.kind.id][edges].sum()),
            ends=0.0 if done else ends_price(self.tracks.building, leg.kind, ends),
        )

    def _path(self, prices: Floats, leg: Leg, limit: float) -> tuple[float, list[Step]]:
        network = self.network
        source, target = network.out_of(leg.from_box), network.into(leg.to_box)
        musts = [edges_of(network.tracks, name) for name in leg.rule.through]
        if self.boxes[leg.from_box].kind == "panel" and not musts:
            # A home run is looked for from its box on, for what is left to the panel at least is known from everywhere.
            back, there = network.out_of(leg.to_box), network.into(leg.from_box)
            price, steps = cheapest_path(network, prices, back, there, [], limit, self._to_panel(leg))
            found = price, _turned_back(steps, source, target)
        else:
            found = cheapest_path(network, prices, source, target, musts, limit)
        if leg.rule.holes is None or not found[1] or holes_passed(network.tracks, found[1]) == leg.rule.holes:
            return found
        # The cheapest way through its own holes leaves one out: now each of them is asked for, which takes far longer.
        return cheapest_path(network, prices, source, target, _each_of(network.tracks, leg.rule.holes), limit)

    def _to_panel(self, leg: Leg) -> Floats:
        """Least price from everywhere to the panel that a leg begins at: with all holes there, and all bays free."""
        key = (leg.kind.id, leg.from_box)
        if key not in self._least:
            base = base_prices(self.tracks, leg.kind)
            self._least[key] = from_everywhere(self.network, base, self.network.into(leg.from_box))
        return self._least[key]


def barred_edges(network: Network, rule: CableRule, ends: Sequence[str]) -> Ints:
    """Edges that a cable between boxes may not use.

    Turning back beside its own start, members it must avoid, and what is there only for cables pulled already.
    """
    found = [network.own.get(box, NO_EDGES) for box in ends]
    found += [edges_of(network.tracks, name) for name in rule.avoid]
    if rule.holes is None:
        found.append(network.tracks.taken)
    return np.unique(np.concatenate(found))


def edges_of(tracks: Tracks, member_id: str) -> Ints:
    """Edges that use a member: through a hole in it, or along one of its faces."""
    number = next(n for n, member in enumerate(tracks.building.members) if member.id == member_id)
    edges = tracks.edges
    bored = np.flatnonzero(edges.bore >= 0)
    found = [bored[tracks.bores.member[edges.bore[bored]] == number]]
    for n, face in enumerate(tracks.faces):
        if face.member == number:
            low, high = int(tracks.face_base[n]), int(tracks.face_base[n + 1])
            found.append(np.flatnonzero((edges.a >= low) & (edges.a < high) & (edges.b >= low) & (edges.b < high)))
    return np.concatenate(found)


def _turned_back(steps: Sequence[Step], source: int, target: int) -> list[Step]:
    """Steps the other way round; boxes are left by other nodes than they are entered by."""
    turned = [(b, a, edge) for a, b, edge in reversed(steps)]
    if turned:
        turned[0] = (source, *turned[0][1:])
        turned[-1] = (turned[-1][0], target, turned[-1][2])
    return turned


def holes_passed(tracks: Tracks, steps: Sequence[Step]) -> tuple[str, ...]:
    """Ids of the old holes on a path, in order."""
    table, members = tracks.bores, tracks.building.members
    bores = [int(tracks.edges.bore[edge]) for _, _, edge in steps if tracks.edges.bore[edge] >= 0]
    return tuple(members[table.member[bore]].holes[table.hole[bore]].id for bore in bores if table.hole[bore] >= 0)


def _each_of(tracks: Tracks, holes: Sequence[str]) -> list[Ints]:
    """Edges through each of these holes."""
    return [np.flatnonzero(np.isin(tracks.edges.bore, tracks.old_holes.get(name, ()))) for name in holes]

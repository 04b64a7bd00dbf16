"""Cables of all circuits over the same tracks: one by one at the prices the others leave, sharing holes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from barnloom.model.building import Building, CableRule, CableType
from barnloom.routing.cost import edge_prices
from barnloom.routing.graph import Tracks
from barnloom.routing.search import QUANTUM, TIE, Network, Step, barring, cheapest_path
from barnloom.routing.slab import Floats, Ints
from barnloom.routing.usage import Usage, base_prices

ROUNDS = 3
"""Most times that every cable is routed anew at the prices the others leave."""
LIKELY = 5.0
"""A cable rarely costs more than so many times its feet as the crow flies; where it does, it is looked for farther."""
NEARLY_IN = 24.0
"""Added when it is asked whether a change is too far off to matter: holes beside it, stretches between its nodes."""
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


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Routed:
    """Paths by leg, what they use, the legs without one, and the price of it all as the search counts."""

    network: Network
    usage: Usage
    paths: dict[str, list[Step]]
    legs: list[Leg]
    lost: list[Leg]
    price: float
    reach_in: dict[str, float]
    """How far around each leg a change may matter to it."""

    @property
    def tracks(self) -> Tracks:
        """The tracks that were searched."""
        return self.network.tracks


def reach(kind: CableType, building: Building, inches: float) -> float:
    """Whole-number price that a cable over such a distance, as the crow flies, is likely to stay below."""
    per_foot = kind.price_ft + building.prices["minute"] * building.prices["pull_ft"]
    return LIKELY * inches / 12 * per_foot / QUANTUM * TIE


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


def routed(network: Network, legs: list[Leg], start: Routed | None = None) -> Routed:
    """Route every leg, then each anew as long as one gets cheaper (at most ``ROUNDS`` times).

    Parameters
    ----------
    start : Routed, optional
        Legs as they were routed over the same network: those that are still the same begin with their path.
    """
    tracks = network.tracks
    usage = Usage(tracks)
    barred = {leg.id: barred_edges(network, leg.rule, (leg.from_box, leg.to_box)) for leg in legs}
    paths: dict[str, list[Step]] = {}
    watch = _Watch(tracks)
    if start is not None:
        watch.begins_with(start, legs)
        paths = {leg.id: start.paths[leg.id] for leg in legs if leg in start.legs and leg.id in start.paths}
        for leg in legs:
            if leg.id in paths:
                _use(usage, tracks, leg, paths[leg.id], 1)
    # Cables that are in already, or must go a certain way, have the first choice; then the rest as fed.
    order = sorted(legs, key=lambda leg: (not leg.rule.done, not leg.rule.through))
    for _ in range(1 + ROUNDS):
        gained = False
        for leg in order:
            if not watch.news_for(leg):
                continue
            known = paths.pop(leg.id, None)
            if known is not None:
                _use(usage, tracks, leg, known, -1)
            prices = _live(usage, leg)
            with barring(prices, barred[leg.id]):
                limit = float(sum(prices[edge] for _, _, edge in known)) if known is not None else np.inf
                total, steps = _path(network, prices, leg, limit)
            if steps and total < limit - TIE:
                watch.moved(leg, [*(known or []), *steps])
                known, gained = steps, True
            watch.searched(leg, min(total, limit))
            if known is not None:
                paths[leg.id] = known
                _use(usage, tracks, leg, known, 1)
        if not gained:
            break
    total = float(sum(usage.boring[bore] for bore in usage.loads))
    plain = {kind: edge_prices(tracks, leg.kind) for kind, leg in {leg.kind.id: leg for leg in legs}.items()}
    for leg in legs:
        total += float(sum(plain[leg.kind.id][edge] for _, _, edge in paths.get(leg.id, [])))
    lost = [leg for leg in legs if leg.id not in paths]
    return Routed(network=network, usage=usage, paths=paths, legs=legs, lost=lost, price=total, reach_in=watch.reach_in)


class _Watch:
    """Who has to be routed anew: only a cable near which another has moved since it was last looked for.

    A way over a place costs at least its feet to there and on; if that is more than the cable costs now, what happened
    at the place does not matter to it.
    """

    def __init__(self, tracks: Tracks) -> None:
        self.tracks = tracks
        self.places = {box.id: np.array(box.at) for box in tracks.building.boxes}
        self.moves: list[tuple[str, Floats]] = []
        self.since: dict[str, int] = {}
        self.reach_in: dict[str, float] = {}

    def news_for(self, leg: Leg) -> bool:
        """Whether it was never looked for, or something has changed where it may want to go."""
        if leg.id not in self.since:
            return True
        start, end, far = self.places[leg.from_box], self.places[leg.to_box], self.reach_in[leg.id]
        recent = [spots for who, spots in self.moves[self.since[leg.id] :] if who != leg.id]
        if not recent:
            return False
        spots = np.concatenate(recent)
        way = np.linalg.norm(spots - start, axis=1) + np.linalg.norm(spots - end, axis=1)
        return bool(way.min(initial=np.inf) < far + NEARLY_IN)

    def begins_with(self, start: Routed, legs: Sequence[Leg]) -> None:
        """Take over what is known of legs that are as they were; those that are gone have left their places."""
        self.moves += [move for leg in start.legs if leg not in legs for move in [self._left(leg, start)] if move]
        for leg in legs:
            if leg in start.legs and leg.id in start.paths:
                self.since[leg.id], self.reach_in[leg.id] = 0, start.reach_in[leg.id]

    def _left(self, leg: Leg, start: Routed) -> tuple[str, Floats] | None:
        steps = start.paths.get(leg.id)
        return None if steps is None else (f"{leg.id} before", self._spots(steps))

    def searched(self, leg: Leg, price: float) -> None:
        """It was looked for now, and costs this much (a whole-number price)."""
        self.since[leg.id] = len(self.moves)
        per_foot = reach(leg.kind, self.tracks.building, 12.0) / LIKELY
        self.reach_in[leg.id] = price / per_foot * 12 if per_foot > 0 else np.inf

    def moved(self, leg: Leg, steps: Sequence[Step]) -> None:
        """It takes another way now; ``steps`` are those it leaves and those it takes."""
        self.moves.append((leg.id, self._spots(steps)))

    def _spots(self, steps: Sequence[Step]) -> Floats:
        nodes = sorted({node for a, b, _ in steps for node in (a, b)})
        spots = [spot for spot in (_spot(self.tracks, node) for node in nodes) if spot is not None]
        return np.array(spots).reshape(-1, 3)


def _spot(tracks: Tracks, node: int) -> Floats | None:
    """Where a node is in the world; None for a box."""
    place, on_face = tracks.place(node), tracks.face_place(node)
    if place is not None:
        slab = tracks.slabs[place[0]]
        return slab.world(place[1], place[2], slab.plane_in)
    return tracks.faces[on_face[0]].point(on_face[1]) if on_face is not None else None


def rescued(best: Routed, feeders: Mapping[str, Sequence[str]]) -> Routed:
    """Try to feed what found no way from another box of its circuit: the cheapest one that has.

    Parameters
    ----------
    feeders : mapping of leg id to boxes that could feed its far box
    """
    network = best.network
    legs = {leg.id: leg for leg in best.legs}
    for leg in best.lost:
        found = []
        for box in feeders.get(leg.id, ()):
            other = replace(leg, from_box=box)
            with barring(_live(best.usage, other), barred_edges(network, leg.rule, (box, leg.to_box))) as prices:
                total, steps = _path(network, prices, other, np.inf)
            if steps:
                found.append((total, box, other, steps))
        if found:
            _, _, legs[leg.id], steps = min(found, key=lambda one: one[:2])
            best.paths[leg.id] = steps
            _use(best.usage, best.tracks, leg, steps, 1)
    lost = [leg for leg in best.lost if leg.id not in best.paths]
    return replace(best, legs=list(legs.values()), lost=lost)


def reached_by(best: Routed, circuit: str, panel: str) -> set[str]:
    """Boxes of a circuit that hang on its panel by cables that have a path, the panel among them."""
    feeds = [(leg.from_box, leg.to_box) for leg in best.legs if leg.circuit == circuit and leg.id in best.paths]
    reached = {panel}
    while more := {to for by, to in feeds if by in reached} - reached:
        reached |= more
    return reached


def rooted(best: Routed, panels: Mapping[str, str]) -> Routed:
    """Take out the cables that hang on nothing because one nearer to the panel has no path; they count as lost."""
    reached = {circuit: reached_by(best, circuit, panel) for circuit, panel in panels.items()}
    loose = [leg for leg in best.legs if leg.id in best.paths and leg.from_box not in reached[leg.circuit]]
    for leg in loose:
        _use(best.usage, best.tracks, leg, best.paths.pop(leg.id), -1)
    return replace(best, lost=[*best.lost, *loose])


def without(best: Routed, circuit: str, way: int) -> None:
    """Take the cables of a circuit out of what is in use (``way`` -1), or put them back (1)."""
    for leg in best.legs:
        if leg.circuit == circuit and leg.id in best.paths:
            _use(best.usage, best.tracks, leg, best.paths[leg.id], way)


def _live(usage: Usage, leg: Leg) -> Floats:
    """Live edge prices for a leg; where it goes by the holes that it is in already, those cost nothing."""
    prices = usage.prices(leg.kind.id)
    if leg.rule.holes is None and not leg.rule.done:
        return prices
    bore = usage.tracks.edges.bore
    through = np.flatnonzero(bore >= 0)
    prices = prices.copy()
    if leg.rule.holes is not None:
        own = [candidate for name in leg.rule.holes for candidate in usage.tracks.old_holes.get(name, ())]
        its = np.isin(bore[through], own)
        prices[through[~its]] = np.inf
        prices[through[its]] = base_prices(usage.tracks, leg.kind)[through[its]]
    else:
        prices[through[usage.tracks.bores.hole[bore[through]] < 0]] = np.inf
    return prices


def _path(network: Network, prices: Floats, leg: Leg, limit: float) -> tuple[float, list[Step]]:
    source, target = network.out_of(leg.from_box), network.into(leg.to_box)
    musts = [edges_of(network.tracks, name) for name in leg.rule.through]
    found = cheapest_path(network, prices, source, target, musts, limit)
    if leg.rule.holes is None or not found[1] or holes_passed(network.tracks, found[1]) == leg.rule.holes:
        return found
    # The cheapest way through its own holes leaves one out: now with each of them asked for, which takes far longer.
    return cheapest_path(network, prices, source, target, _each_of(network.tracks, leg.rule.holes), limit)


def holes_passed(tracks: Tracks, steps: Sequence[Step]) -> tuple[str, ...]:
    """Ids of the old holes on a path, in order."""
    table, members = tracks.bores, tracks.building.members
    bores = [int(tracks.edges.bore[edge]) for _, _, edge in steps if tracks.edges.bore[edge] >= 0]
    return tuple(members[table.member[bore]].holes[table.hole[bore]].id for bore in bores if table.hole[bore] >= 0)


def _each_of(tracks: Tracks, holes: Sequence[str]) -> list[Ints]:
    """Edges through each of these holes."""
    return [np.flatnonzero(np.isin(tracks.edges.bore, tracks.old_holes.get(name, ()))) for name in holes]


def _use(usage: Usage, tracks: Tracks, leg: Leg, steps: Sequence[Step], way: int) -> None:
    edges = np.array([edge for _, _, edge in steps], dtype=np.int64)
    bores = tracks.edges.bore[edges]
    lanes = tracks.edges.lane[edges]
    usage.add(leg.kind.id, [int(b) for b in bores if b >= 0], [int(n) for n in lanes if n >= 0], way)

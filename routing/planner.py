"""From a building to a plan: trees first, then every cable over the same tracks, sharing holes up to the limits."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from barnloom.model.building import Box, Building, CableRule, CableType, Circuit
from barnloom.model.limits import Limits
from barnloom.routing.cost import edge_prices, plan_cost
from barnloom.routing.explain import unreached_why
from barnloom.routing.graph import Tracks
from barnloom.routing.holes import final_holes
from barnloom.routing.lengths import cable_of
from barnloom.routing.notes import plan_assumptions, plan_warnings
from barnloom.routing.plan import PLAN_VERSION, Cable, Plan
from barnloom.routing.runs import run_of
from barnloom.routing.search import Network, Step, cheapest_path, distances, money, network_of, whole_prices
from barnloom.routing.slab import Floats, Ints
from barnloom.routing.tracks import tracks_of
from barnloom.routing.trees import Pair, plain_tree
from barnloom.routing.usage import Usage

ROUNDS = 3
"""Most times that every cable is routed anew at the prices the others leave."""
NO_EDGES: Ints = np.empty(0, dtype=np.int64)
Talk = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """A cable to be routed: circuit, its ends (panel's side first), the cable it is pulled in, what the scene fixes."""

    id: str
    circuit: str
    from_box: str
    to_box: str
    kind: CableType
    rule: CableRule


@dataclass(frozen=True, slots=True, kw_only=True)
class Trees:
    """Feeds of every circuit, and boxes that no track reaches."""

    feeds: dict[str, tuple[Pair, ...]]
    unreached: tuple[tuple[str, str], ...]
    """(box, circuit)."""


def cable_for(building: Building, circuit: Circuit, feed: Pair) -> CableType:
    """The cable that a leg is pulled in: the circuit's own, until conductors decide it."""
    del feed
    return next(kind for kind in building.cable_types if kind.id == circuit.cable)


def plan_building(building: Building, *, progress: Talk | None = None) -> Plan:
    """Plan a building: plain trees, then routes.

    Parameters
    ----------
    progress : callable, optional
        Is told in a few words what is being done.
    """
    talk = progress or (lambda _: None)
    limits = Limits(building.limits)
    talk("looking for bays, ways through and legal places")
    tracks = tracks_of(building, limits)
    talk("choosing which box feeds which")
    trees = plain_trees(tracks)
    return plan(building, trees, tracks=tracks, progress=talk)


def plan(building: Building, trees: Trees, *, tracks: Tracks | None = None, progress: Talk | None = None) -> Plan:
    """Route any trees. Nothing below here knows how they were chosen.

    Parameters
    ----------
    tracks : Tracks, optional
        The building's, if they are at hand.
    """
    talk = progress or (lambda _: None)
    limits = Limits(building.limits)
    tracks = tracks or tracks_of(building, limits)
    legs = _legs(building, trees)
    talk(f"routing {len(legs)} cables")
    routed = _routed(tracks, legs)
    places = routed.usage.full_places()
    if places:
        talk("making room beside full holes")
        wider = tracks_of(building, limits, places)
        again = _routed(wider, legs)
        if (len(again.lost), again.price) < (len(routed.lost), routed.price - 1e-9):
            routed = again
    return _finished(building, limits, trees, routed)


def plain_trees(tracks: Tracks) -> Trees:
    """The plain tree of every circuit, each cable priced as if alone in the building."""
    building = tracks.building
    network = network_of(tracks)
    usage = Usage(tracks)
    boxes = {box.id: box for box in building.boxes}
    priced: dict[str, Floats] = {}
    feeds: dict[str, tuple[Pair, ...]] = {}
    unreached: list[tuple[str, str]] = []
    for circuit in building.circuits:
        if circuit.cable not in priced:
            kind = next(k for k in building.cable_types if k.id == circuit.cable)
            priced[circuit.cable] = _prices(network, kind, usage.alone_costs(kind.id), None, frozenset(), ())
        prices = priced[circuit.cable].copy()
        for box in (circuit.panel, *circuit.boxes):
            prices[network.own.get(box, NO_EDGES)] = np.inf
        pair_prices = _pair_prices(network, prices, circuit)
        reached = _connected(circuit.panel, circuit.boxes, pair_prices)
        unreached += [(box, circuit.id) for box in circuit.boxes if box not in reached]
        pins = {box: boxes[box].fed_from for box in reached if boxes[box].fed_from in (*reached, circuit.panel)}
        feeds[circuit.id] = tuple(
            plain_tree(
                circuit.panel,
                reached,
                pair_prices,
                home_runs=circuit.home_runs,
                pins=pins,
                cables_max={box: boxes[box].cables_max for box in reached},
            )
        )
    return Trees(feeds=feeds, unreached=tuple(unreached))


def _pair_prices(network: Network, prices: Floats, circuit: Circuit) -> dict[Pair, float]:
    ids = [circuit.panel, *circuit.boxes]
    result: dict[Pair, float] = {}
    for n, a in enumerate(ids[:-1]):
        found, _ = distances(network, prices, network.out_of(a))
        for b in ids[n + 1 :]:
            distance = float(found[network.into(b)])
            if np.isfinite(distance):
                result[(a, b) if a < b else (b, a)] = money(distance)
    return result


def _connected(panel: str, boxes: Sequence[str], prices: Mapping[Pair, float]) -> list[str]:
    reached, queue = {panel}, [panel]
    while queue:
        at = queue.pop()
        for a, b in prices:
            other = b if a == at else a if b == at else None
            if other is not None and other not in reached:
                reached.add(other)
                queue.append(other)
    return [box for box in boxes if box in reached]


def _legs(building: Building, trees: Trees) -> list[Leg]:
    rules = {rule.cable: rule for rule in building.cable_rules}
    legs = []
    for circuit in building.circuits:
        for feed in trees.feeds.get(circuit.id, ()):
            name = f"{circuit.id}.{feed[1]}"
            legs.append(
                Leg(
                    id=name,
                    circuit=circuit.id,
                    from_box=feed[0],
                    to_box=feed[1],
                    kind=cable_for(building, circuit, feed),
                    rule=rules.get(name, CableRule(cable=name)),
                )
            )
    return legs


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Routed:
    tracks: Tracks
    usage: Usage
    paths: dict[str, list[Step]]
    legs: list[Leg]
    lost: list[Leg]
    price: float


def _prices(
    network: Network, kind: CableType, bores: Floats, lanes: Floats | None, avoid: frozenset[int], ends: tuple[str, ...]
) -> Floats:
    """Whole-number edge prices for one cable between two boxes, at these prices of holes and lanes."""
    tracks = network.tracks
    edges = tracks.edges
    price = edge_prices(tracks, kind)
    through = edges.bore >= 0
    price[through] += bores[edges.bore[through]]
    if lanes is not None and len(lanes):
        run = edges.lane >= 0
        price[run] += lanes[edges.lane[run]]
    if avoid:
        numbers = np.array(sorted(avoid))
        price[through & np.isin(np.where(through, tracks.bores.member[np.maximum(edges.bore, 0)], -1), numbers)] = (
            np.inf
        )
        barred = [n for n, face in enumerate(tracks.faces) if face.member in avoid]
        for face in barred:
            low, high = int(tracks.face_base[face]), int(tracks.face_base[face + 1])
            price[(edges.a >= low) & (edges.a < high)] = np.inf
    for box in ends:
        price[network.own.get(box, NO_EDGES)] = np.inf
    building = tracks.building
    per_inch = (
        kind.price_ft * (1 + building.lengths.slack_share) + building.prices["minute"] * building.prices["pull_ft"]
    ) / 12
    return whole_prices(network, price, per_inch)


def _routed(tracks: Tracks, legs: list[Leg]) -> _Routed:
    """Route legs one by one at the prices that the ones before leave, then anew until nothing gets cheaper."""
    network = network_of(tracks)
    usage = Usage(tracks)
    paths: dict[str, list[Step]] = {}
    prices: dict[str, float] = {}
    lost: list[Leg] = []
    # Cables that are in already, or must go a certain way, have the first choice; then home runs, then the rest as fed.
    order = sorted(legs, key=lambda leg: (not leg.rule.done, not leg.rule.through))
    for leg in order:
        found = _one(network, usage, leg)
        if found is None:
            lost.append(leg)
            continue
        prices[leg.id], paths[leg.id] = found
        _use(usage, tracks, leg, paths[leg.id], 1)
    for _ in range(ROUNDS):
        gained = False
        for leg in [x for x in order if x.id in paths]:
            _use(usage, tracks, leg, paths[leg.id], -1)
            before = _priced(network, usage, leg, paths[leg.id])
            found = _one(network, usage, leg)
            if found is not None and found[0] < before - 1e-6:
                gained = True
                paths[leg.id] = found[1]
            _use(usage, tracks, leg, paths[leg.id], 1)
        for leg in list(lost):
            found = _one(network, usage, leg)
            if found is not None:
                lost.remove(leg)
                paths[leg.id] = found[1]
                _use(usage, tracks, leg, found[1], 1)
                gained = True
        if not gained:
            break
    total = sum(
        float(edge_prices(tracks, leg.kind)[[s[2] for s in paths[leg.id]]].sum()) for leg in legs if leg.id in paths
    )
    total += float(sum(usage.boring[bore] for bore in usage.loads))
    return _Routed(tracks=tracks, usage=usage, paths=paths, legs=legs, lost=lost, price=total)


def _live(network: Network, usage: Usage, leg: Leg) -> Floats:
    tracks = network.tracks
    numbers = {member.id: n for n, member in enumerate(tracks.building.members)}
    avoid = frozenset(numbers[name] for name in leg.rule.avoid)
    bores = usage.bore_costs(leg.kind.id)
    if leg.rule.done:
        bores = np.where(tracks.bores.hole >= 0, bores, np.inf)
    return _prices(network, leg.kind, bores, usage.full_lanes(leg.kind), avoid, (leg.from_box, leg.to_box))


def _one(network: Network, usage: Usage, leg: Leg) -> tuple[float, list[Step]] | None:
    prices = _live(network, usage, leg)
    source, target = network.out_of(leg.from_box), network.into(leg.to_box)
    musts = [_edges_of(network.tracks, name) for name in leg.rule.through]
    total, steps = cheapest_path(network, prices, source, target, musts)
    return (money(total), steps) if np.isfinite(total) and steps else None


def _edges_of(tracks: Tracks, member_id: str) -> Ints:
    """Edges that use a member: through a hole in it, or along one of its faces."""
    number = next(n for n, member in enumerate(tracks.building.members) if member.id == member_id)
    edges = tracks.edges
    through = edges.bore >= 0
    chosen = (
        through & (tracks.bores.member[np.maximum(edges.bore, 0)] == number) if len(tracks.bores.member) else through
    )
    for face_number, face in enumerate(tracks.faces):
        if face.member == number:
            low, high = int(tracks.face_base[face_number]), int(tracks.face_base[face_number + 1])
            chosen = chosen | ((edges.a >= low) & (edges.a < high) & (edges.b >= low) & (edges.b < high))
    return np.flatnonzero(chosen)


def _priced(network: Network, usage: Usage, leg: Leg, steps: Sequence[Step]) -> float:
    prices = _live(network, usage, leg)
    return money(float(sum(prices[edge] for _, _, edge in steps)))


def _use(usage: Usage, tracks: Tracks, leg: Leg, steps: Sequence[Step], way: int) -> None:
    edges = np.array([edge for _, _, edge in steps], dtype=np.int64)
    bores = tracks.edges.bore[edges]
    lanes = tracks.edges.lane[edges]
    usage.add(leg.kind.id, [int(b) for b in bores if b >= 0], [int(n) for n in lanes if n >= 0], way)


def _finished(building: Building, limits: Limits, trees: Trees, routed: _Routed) -> Plan:
    tracks = routed.tracks
    boxes: dict[str, Box] = {box.id: box for box in building.boxes}
    users: dict[int, list[str]] = {}
    for leg in routed.legs:
        for _, _, edge in routed.paths.get(leg.id, []):
            bore = int(tracks.edges.bore[edge])
            if bore >= 0:
                users.setdefault(bore, []).append(leg.id)
    bores, drilled = final_holes(tracks, routed.usage, {b: tuple(ids) for b, ids in users.items()})
    cables: list[Cable] = []
    for leg in routed.legs:
        steps = routed.paths.get(leg.id)
        if steps is not None:
            cables.append(
                cable_of(
                    tracks,
                    leg.id,
                    leg.circuit,
                    leg.kind,
                    boxes[leg.from_box],
                    boxes[leg.to_box],
                    steps,
                    run_of(tracks, steps, drilled),
                    drilled,
                    done=leg.rule.done,
                )
            )
    lost = _cut_off(trees, {leg.to_box + " " + leg.circuit for leg in routed.lost})
    unreached = sorted({box for box, _ in trees.unreached} | {box for box, _ in lost})
    parts = plan_cost(building, cables, bores)
    why = unreached_why(building, limits, tracks, routed.usage, [*trees.unreached, *lost])
    return Plan(
        version=PLAN_VERSION,
        building=building,
        cables=tuple(cables),
        bores=tuple(bores),
        cost=round(sum(parts.values()), 6),
        cost_parts=parts,
        lower_bound=None,
        unreached=tuple(unreached),
        unreached_why=tuple(why),
        assumptions=plan_assumptions(building),
        warnings=plan_warnings(building, limits, tracks, bores, cables),
    )


def _cut_off(trees: Trees, lost: set[str]) -> list[tuple[str, str]]:
    """Boxes whose own cable found no room, as (box, circuit)."""
    return [
        (fed, circuit)
        for circuit, feeds in sorted(trees.feeds.items())
        for _, fed in feeds
        if f"{fed} {circuit}" in lost
    ]

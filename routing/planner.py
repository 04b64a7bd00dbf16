"""From a building to a plan: trees first, then every cable over the same tracks, sharing holes up to the limits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse.csgraph import minimum_spanning_tree

from barnloom.model.building import Box, Building, CableRule, CableType, Circuit
from barnloom.model.limits import Limits
from barnloom.routing.cost import plan_cost
from barnloom.routing.explain import unreached_why
from barnloom.routing.holes import final_holes
from barnloom.routing.lengths import cable_of
from barnloom.routing.notes import plan_assumptions, plan_warnings
from barnloom.routing.plan import PLAN_VERSION, Cable, Plan
from barnloom.routing.runs import run_of
from barnloom.routing.search import Network, distances, money, network_of
from barnloom.routing.sharing import (
    NO_EDGES,
    Leg,
    Routed,
    barred_edges,
    base_prices,
    prices_with,
    reach,
    reached_by,
    rescued,
    rooted,
    routed,
)
from barnloom.routing.slab import Floats
from barnloom.routing.tracks import Ground, ground_of, tracks_of
from barnloom.routing.trees import Pair, plain_tree
from barnloom.routing.usage import Usage

NO_LANES: Floats = np.empty(0)
Talk = Callable[[str], None]


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
    ground = ground_of(building, limits)
    network = network_of(tracks_of(ground))
    talk("choosing which box feeds which")
    return plan(building, plain_trees(network), ground=ground, network=network, progress=talk)


def plan(
    building: Building,
    trees: Trees,
    *,
    ground: Ground | None = None,
    network: Network | None = None,
    progress: Talk | None = None,
) -> Plan:
    """Route any trees. Nothing below here knows how they were chosen.

    Parameters
    ----------
    ground, network : Ground, Network, optional
        The building's, if they are at hand.
    """
    talk = progress or (lambda _: None)
    limits = Limits(building.limits)
    ground = ground or ground_of(building, limits)
    legs = _legs(building, trees)
    talk(f"routing {len(legs)} cables")
    best = routed(network or network_of(tracks_of(ground)), legs)
    if best.lost:
        # A cable that finds no way may find one through a second hole beside a full one; for prices it is not worth
        # laying the tracks again (a tenth of a per cent in the boat shed).
        talk("making room beside full holes")
        again = routed(network_of(tracks_of(ground, best.usage.full_places())), legs)
        best = min(best, again, key=lambda plan: (len(plan.lost), plan.price))
    if best.lost:
        talk("looking for other feeds")
        best = rooted(rescued(best, _other_feeders(building, best)), {c.id: c.panel for c in building.circuits})
    return _finished(building, limits, trees, best)


def plain_trees(network: Network) -> Trees:
    """The plain tree of every circuit, each cable priced as if alone in the building."""
    building = network.tracks.building
    usage = Usage(network.tracks)
    boxes = {box.id: box for box in building.boxes}
    priced: dict[str, Floats] = {}
    feeds: dict[str, tuple[Pair, ...]] = {}
    unreached: list[tuple[str, str]] = []
    room = {box.id: box.cables_max for box in building.boxes}
    waiting = Counter(box for circuit in building.circuits for box in circuit.boxes)
    for circuit in building.circuits:
        # A box on several circuits keeps a place for a cable of each that is still to come.
        waiting.subtract(circuit.boxes)
        if circuit.cable not in priced:
            kind = next(k for k in building.cable_types if k.id == circuit.cable)
            alone = usage.alone_costs(kind.id)
            priced[circuit.cable] = prices_with(network, base_prices(network, kind), alone, NO_LANES, NO_EDGES)
        prices = priced[circuit.cable].copy()
        prices[barred_edges(network, (), (circuit.panel, *circuit.boxes))] = np.inf
        for limit in _limits(building, circuit):
            pair_prices = _pair_prices(network, prices, circuit, limit)
            reached = _connected(circuit.panel, circuit.boxes, pair_prices)
            tree = plain_tree(
                circuit.panel,
                reached,
                pair_prices,
                home_runs=circuit.home_runs,
                pins={box: boxes[box].fed_from for box in reached if boxes[box].fed_from in (*reached, circuit.panel)},
                cables_max={box: room[box] - waiting[box] for box in reached},
            )
            # The tree takes pairs from the cheapest up: once it has all boxes, dearer pairs would change nothing.
            home_runs = sum(feeder == circuit.panel for feeder, _ in tree)
            if len(tree) == len(circuit.boxes) and home_runs == (circuit.home_runs or home_runs):
                break
        unreached += [(box, circuit.id) for box in circuit.boxes if box not in reached]
        feeds[circuit.id] = tuple(tree)
        hanging = {box for _, box in tree}
        for end in (end for feed in tree for end in feed):
            room[end] -= 1
        unreached += [(box, circuit.id) for box in reached if box not in hanging]
    return Trees(feeds=feeds, unreached=tuple(unreached))


def _limits(building: Building, circuit: Circuit) -> list[float]:
    """How far to look for a box's neighbours: a little farther than the boxes are apart, then everywhere."""
    if circuit.home_runs not in (1, None) or len(circuit.boxes) < 2:
        return [np.inf]
    places = {box.id: box.at for box in building.boxes}
    at = np.array([places[box] for box in circuit.boxes])
    apart = np.linalg.norm(at[:, None] - at[None, :], axis=2)
    longest = float(minimum_spanning_tree(apart).toarray().max())
    kind = cable_for(building, circuit, (circuit.panel, circuit.boxes[0]))
    return [reach(kind, building, longest), reach(kind, building, 3 * longest), np.inf]


def _pair_prices(network: Network, prices: Floats, circuit: Circuit, limit: float) -> dict[Pair, float]:
    """Prices of pairs of boxes up to a limit, and of every box with the panel."""
    ids = [circuit.panel, *circuit.boxes]
    result: dict[Pair, float] = {}
    for n, a in enumerate(ids[:-1]):
        found, _ = distances(network, prices, network.out_of(a), np.inf if n == 0 else limit)
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


def _finished(building: Building, limits: Limits, trees: Trees, best: Routed) -> Plan:
    tracks = best.tracks
    boxes: dict[str, Box] = {box.id: box for box in building.boxes}
    users: dict[int, list[str]] = {}
    for leg in best.legs:
        for _, _, edge in best.paths.get(leg.id, []):
            bore = int(tracks.edges.bore[edge])
            if bore >= 0:
                users.setdefault(bore, []).append(leg.id)
    bores, drilled = final_holes(tracks, best.usage, {b: tuple(ids) for b, ids in users.items()})
    cables: list[Cable] = []
    for leg in best.legs:
        steps = best.paths.get(leg.id)
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
    lost = [(leg.to_box, leg.circuit) for leg in best.lost]
    unreached = sorted({box for box, _ in trees.unreached} | {box for box, _ in lost})
    parts = plan_cost(building, cables, bores)
    why = unreached_why(building, limits, best.network, best.usage, [*trees.unreached, *lost])
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
        warnings=(*plan_warnings(building, limits, tracks, bores), *_fewer_runs(building, cables)),
    )


def _other_feeders(building: Building, best: Routed) -> dict[str, list[str]]:
    """Boxes that could feed what has no path: of its circuit, on the panel's side, with room, and not against a pin."""
    boxes = {box.id: box for box in building.boxes}
    panels = {circuit.id: circuit.panel for circuit in building.circuits}
    cables: dict[str, int] = {}
    for leg in best.legs:
        if leg.id in best.paths:
            for end in (leg.from_box, leg.to_box):
                cables[end] = cables.get(end, 0) + 1
    found = {}
    for leg in best.lost:
        reached = reached_by(best, leg.circuit, panels[leg.circuit]) - {panels[leg.circuit]}
        roomy = sorted(box for box in reached if cables.get(box, 0) < boxes[box].cables_max)
        found[leg.id] = [] if boxes[leg.to_box].fed_from else roomy
    return found


def _fewer_runs(building: Building, cables: Sequence[Cable]) -> list[str]:
    """Circuits that have fewer home runs than they were to have, since no more found a way."""
    said = []
    for circuit in building.circuits:
        own = [cable for cable in cables if cable.circuit == circuit.id]
        runs = sum(cable.from_box == circuit.panel for cable in own)
        if circuit.home_runs is not None and own and runs < min(circuit.home_runs, len(own)):
            said.append(f"{circuit.id}: {circuit.home_runs} home runs wanted, {runs} found a way")
    return said

"""From a building to a plan: sizes, trees, every cable over the same tracks, and the electrical half put in."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from barnloom.model.building import Box, Building, CableRule
from barnloom.model.cables import pairs_of
from barnloom.model.errors import SceneError
from barnloom.model.limits import Limits
from barnloom.routing.cost import plan_cost
from barnloom.routing.explain import unreached_why
from barnloom.routing.feeds import Trees, chosen_trees, plain_kind
from barnloom.routing.holes import final_holes
from barnloom.routing.lengths import cable_of, ends_ft
from barnloom.routing.notes import plan_assumptions, plan_warnings
from barnloom.routing.plan import PLAN_VERSION, Bore, Cable, Plan
from barnloom.routing.runs import run_of
from barnloom.routing.search import Network, network_of
from barnloom.routing.sharing import Leg, Routed, reached_by, rescued, rooted, routed
from barnloom.routing.tracks import Ground, ground_of, tracks_of
from barnloom.routing.trees import Pair
from barnloom.routing.wiring.assembly import Assembled, assembled, twin
from barnloom.routing.wiring.circuit_rules import rule_faults
from barnloom.routing.wiring.flows import feeds_of
from barnloom.routing.wiring.growth import grown_sizes, resized
from barnloom.routing.wiring.kinds import Sizes, Store
from barnloom.routing.wiring.room import Inside, Rooms
from barnloom.routing.wiring.sizing import Rating, ratings
from barnloom.routing.wiring.told import stepped_up, wiring_warnings
from barnloom.routing.wiring.wired import Wired, wired

Talk = Callable[[str], None]
SAME_MONEY = 1e-6
FED_ANEW = 3
"""Most times that cables are chosen anew because some box had to be fed from elsewhere."""


def plan_building(building: Building, *, earlier: Plan | None = None, progress: Talk | None = None) -> Plan:
    """Plan a building: sizes, trees, routes; anew where what was routed asks for larger conductors.

    Parameters
    ----------
    earlier : Plan, optional
        Of the same building: ids of its holes go on to stand for the same places and for no others, and its trees are
        among those to begin with.
    progress : callable, optional
        Is told in a few words what is being done.

    Raises
    ------
    SceneError
        If something electrical cannot be: every such fault, by its place in the scene.
    """
    limits = Limits(building.limits)
    rated, faults = ratings(building, limits)
    faults = (*faults, *rule_faults(building, limits, rated))
    if faults:
        raise SceneError(faults)
    sizes = Sizes(circuits={name: rating.awg for name, rating in rated.items()})
    job = job_of(building, progress or (lambda _: None), earlier)
    usual = rated
    while True:
        job.talk("choosing which box feeds which")
        trees = chosen_trees(job.network, sizes, job.rooms, feeds=_earlier_feeds(job))
        best = _settled(job, trees, sizes)
        if not _left_out(building, best.routes):
            best = _fed_cheaper(job, best, sizes)
        found, half = _whole(job, best, rated, sizes)
        grown = grown_sizes(found, half, rated, sizes)
        if grown is None:
            more = stepped_up(building, found.cables, found.makeups)
            return replace(found, resized=(*resized(found, half, usual, sizes), *more))
        job.talk("routing again with larger conductors")
        rated, sizes = grown


@dataclass(frozen=True, eq=False, slots=True)
class Job:
    """A building, and what is worked out of it once."""

    building: Building
    limits: Limits
    ground: Ground
    network: Network
    rooms: Rooms
    talk: Talk
    earlier: Plan | None


def job_of(building: Building, talk: Talk, earlier: Plan | None) -> Job:
    """Lay a building out for planning; where two cables may stand in for one, pairs are among those that are sold."""
    if building.wiring.two_cables:
        building = replace(building, cable_types=(*building.cable_types, *pairs_of(building.cable_types)))
    talk("looking for bays, ways through and legal places")
    limits = Limits(building.limits)
    ground = ground_of(building, limits)
    return Job(building, limits, ground, network_of(tracks_of(ground)), Rooms(building, limits), talk, earlier)


@dataclass(frozen=True, eq=False, slots=True)
class _Settled:
    """Trees with their cables and routes."""

    trees: Trees
    wires: Wired
    routes: Routed


def plan(job: Job, trees: Trees, rated: Mapping[str, Rating], sizes: Sizes) -> Plan:
    """Route any trees, and work out the electrical half. Nothing below here knows how they were chosen.

    Raises
    ------
    SceneError
        If no cable has the conductors that a leg needs, a box is too small for what it must hold, or the panel has no
        room.
    """
    return _whole(job, _settled(job, trees, sizes), rated, sizes)[0]


def _settled(job: Job, trees: Trees, sizes: Sizes) -> _Settled:
    """Cables and routes of trees; where a box had to be fed from elsewhere, cables are those of the feeds it has."""
    feeds = trees.feeds
    for _ in range(FED_ANEW):
        wires = _wired(job.building, feeds, sizes, trees)
        best = _routed(job, _legs(job.building, feeds, wires), sizes, trees.orders)
        fed = _feeds(job.building, best)
        if fed == feeds:
            break
        # What lost its way, or was fed from elsewhere, changes what the other cables carry.
        again = _wired(job.building, fed, sizes, trees)
        if all(wires.kinds.get(leg) == kind for leg, kind in again.kinds.items()):
            wires = again
            break
        feeds = fed
    return _Settled(trees, wires, best)


def _fed_cheaper(job: Job, best: _Settled, sizes: Sizes) -> _Settled:
    """Trees chosen once more, now that other circuits' holes are there to share; kept only where all of it gains."""
    if best.routes.network is not job.network:
        return best
    trees = chosen_trees(job.network, sizes, job.rooms, routes=best.routes)
    if trees.feeds == best.trees.feeds or trees.unreached:
        return best
    wires, faults = wired(job.building, trees.feeds, sizes, trees.orders)
    if faults:
        return best
    routes = routed(job.network, _legs(job.building, trees.feeds, wires), best.routes)
    other = _Settled(trees, wires, routes)
    gains = not routes.lost and _price(job, other) < _price(job, best) - SAME_MONEY
    return other if gains else best


def _price(job: Job, settled: _Settled) -> float:
    """Price of routes and boxes, as the search counts."""
    inside: dict[str, list[Inside]] = defaultdict(list)
    store = Store(job.building)
    for leg in settled.routes.legs:
        for end in (leg.from_box, leg.to_box):
            inside[end] += [(leg.circuit, *one) for one in store.inside(leg.kind)]
    held = [job.rooms.price(box, inside[box.id]) for box in job.building.boxes if box.kind == "box" and inside[box.id]]
    boxes = sum(math.inf if price is None else price for price in held)
    ends = sum(leg.kind.price_ft for leg in settled.routes.legs) * ends_ft(job.building)
    return settled.routes.price + boxes + ends


def _whole(job: Job, settled: _Settled, rated: Mapping[str, Rating], sizes: Sizes) -> tuple[Plan, Assembled]:
    cables, bores = _drawn(settled.routes, job.earlier.bores if job.earlier else ())
    half = assembled(job.building, cables, settled.wires, rated, job.rooms)
    if half.faults:
        raise SceneError(half.faults)
    two = {name: (name, twin(name)) for name in settled.wires.parts}
    bores = [
        replace(bore, cables=tuple(one for cable in bore.cables for one in two.get(cable, (cable,)))) for bore in bores
    ]
    return _finished(job, settled, bores, half, sizes), half


def _wired(building: Building, feeds: Mapping[str, Sequence[Pair]], sizes: Sizes, trees: Trees) -> Wired:
    wires, faults = wired(building, feeds, sizes, trees.orders)
    if faults:
        raise SceneError(faults)
    return wires


def _routed(job: Job, legs: list[Leg], sizes: Sizes, orders: Mapping[str, Sequence[str]]) -> Routed:
    job.talk(f"routing {len(legs)} cables")
    best = routed(job.network, legs)
    if best.lost:
        # A cable that finds no way may find one through a second hole beside a full one; for prices it is not worth
        # laying the tracks again (a tenth of a per cent in the boat shed).
        job.talk("making room beside full holes")
        again = routed(network_of(tracks_of(job.ground, best.usage.full_places())), legs)
        best = min(best, again, key=lambda plan: (len(plan.lost), plan.price))
    if best.lost:
        job.talk("looking for other feeds")
        panels = {circuit.id: circuit.panel for circuit in job.building.circuits}
        best = rooted(rescued(best, _other_feeders(job, best, sizes, orders)), panels)
    return best


def _feeds(building: Building, best: Routed) -> dict[str, tuple[Pair, ...]]:
    """Feeds of every circuit that found a way, panel first."""
    there = [leg for leg in best.legs if leg.id in best.paths]
    return {
        circuit.id: tuple(feeds_of(circuit.panel, [leg for leg in there if leg.circuit == circuit.id]))
        for circuit in building.circuits
    }


def _earlier_feeds(job: Job) -> dict[str, tuple[Pair, ...]]:
    """Feeds of every circuit in the earlier plan."""
    cables = job.earlier.cables if job.earlier else ()
    return {
        circuit.id: tuple(feeds_of(circuit.panel, [cable for cable in cables if cable.circuit == circuit.id]))
        for circuit in job.building.circuits
    }


def _left_out(building: Building, best: Routed) -> list[tuple[str, str]]:
    """Boxes that no cable of a circuit reaches, each with that circuit: without a track, or without a path."""
    fed = _feeds(building, best)
    there = {(box, circuit) for circuit, feeds in fed.items() for _, box in feeds}
    return [(box, c.id) for c in building.circuits for box in c.boxes if (box, c.id) not in there]


def _legs(building: Building, feeds: Mapping[str, Sequence[Pair]], wires: Wired) -> list[Leg]:
    rules = {rule.cable: rule for rule in building.cable_rules}
    legs = []
    for circuit in building.circuits:
        for by, fed in feeds.get(circuit.id, ()):
            name = f"{circuit.id}.{fed}"
            legs.append(
                Leg(
                    id=name,
                    circuit=circuit.id,
                    from_box=by,
                    to_box=fed,
                    kind=wires.kinds[name],
                    rule=rules.get(name, CableRule(cable=name)),
                )
            )
    return legs


def _drawn(best: Routed, earlier: Sequence[Bore]) -> tuple[list[Cable], list[Bore]]:
    """Cables with their centre lines and lengths, and the holes they take."""
    tracks = best.tracks
    boxes: dict[str, Box] = {box.id: box for box in tracks.building.boxes}
    users: dict[int, list[str]] = {}
    for leg in best.legs:
        for _, _, edge in best.paths.get(leg.id, []):
            bore = int(tracks.edges.bore[edge])
            if bore >= 0:
                users.setdefault(bore, []).append(leg.id)
    bores, drilled = final_holes(tracks, best.usage, {b: tuple(ids) for b, ids in users.items()}, earlier)
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
    return cables, bores


def _finished(job: Job, settled: _Settled, bores: list[Bore], half: Assembled, sizes: Sizes) -> Plan:
    building, limits, best = job.building, job.limits, settled.routes
    left = _left_out(building, best)
    building = replace(building, cable_types=tuple(kind for kind in building.cable_types if not kind.parts))
    parts = plan_cost(building, half.cables, bores, half.makeups)
    store = Store(building)
    kinds = {circuit.id: plain_kind(store, circuit, sizes).id for circuit in building.circuits}
    why = unreached_why(building, limits, best.network, best.usage, kinds, left)
    return Plan(
        version=PLAN_VERSION,
        building=building,
        cables=half.cables,
        bores=tuple(bores),
        cost=round(sum(parts.values()), 6),
        cost_parts=parts,
        lower_bound=None,
        unreached=tuple(sorted({box for box, _ in left})),
        unreached_why=tuple(why),
        assumptions=plan_assumptions(building),
        warnings=(
            *plan_warnings(building, limits, best.tracks, bores),
            *_fewer_runs(building, half.cables),
            *wiring_warnings(building, limits, half.circuits, half.cables),
        ),
        makeups=half.makeups,
        circuits=half.circuits,
    )


def _other_feeders(job: Job, best: Routed, sizes: Sizes, orders: Mapping[str, Sequence[str]]) -> dict[str, list[str]]:
    """Boxes that could feed what has no path: of its circuit, on the panel's side, with room, and not against a pin.

    Left out is what no cable could carry then, and what would overfill a box or hang on a later phase.
    """
    building, store = job.building, Store(job.building)
    boxes = {box.id: box for box in building.boxes}
    circuits = {circuit.id: circuit for circuit in building.circuits}
    inside: dict[str, list[Inside]] = defaultdict(list)
    for leg in best.legs:
        if leg.id in best.paths:
            for end in (leg.from_box, leg.to_box):
                inside[end] += [(leg.circuit, *one) for one in store.inside(leg.kind)]
    feeds = _feeds(building, best)

    def can_feed(name: str, leg: Leg) -> bool:
        box, more = boxes[name], [*inside[name], *((leg.circuit, *one) for one in store.inside(leg.kind))]
        if len(more) > box.cables_max or box.phase > boxes[leg.to_box].phase:
            return False
        if box.kind == "box" and job.rooms.price(box, more) is None:
            return False
        tree = (*feeds[leg.circuit], (name, leg.to_box))
        return not wired(replace(building, circuits=(circuits[leg.circuit],)), {leg.circuit: tree}, sizes, orders)[1]

    found = {}
    for leg in best.lost:
        panel = circuits[leg.circuit].panel
        reached = sorted(reached_by(best, leg.circuit, panel) - {panel})
        pinned = leg.rule.from_box or boxes[leg.to_box].fed_from
        found[leg.id] = [] if pinned else [name for name in reached if can_feed(name, leg)]
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

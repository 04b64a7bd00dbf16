"""Cables for chosen trees: their types, their routes, and other feeds for what finds no way."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from barnloom.model.building import Building, CableRule
from barnloom.model.errors import SceneError
from barnloom.routing.feeds import Trees
from barnloom.routing.job import Job
from barnloom.routing.layout import Layout, Leg
from barnloom.routing.search import network_of
from barnloom.routing.sharing import Watch, again, laid, rescue, root
from barnloom.routing.tracks import tracks_of
from barnloom.routing.trees import Pair
from barnloom.routing.wiring.flows import feeds_of
from barnloom.routing.wiring.kinds import Sizes
from barnloom.routing.wiring.wired import Wired, wired

FED_ANEW = 3
"""Most times that cables are chosen anew because some box had to be fed from elsewhere."""
STARTS = 60
"""So many cables are laid in all, however few there are: twenty in three sequences, thirty in two."""


@dataclass(frozen=True, eq=False, slots=True)
class Settled:
    """Cables as they are to lie, and the orders of the points of controls that go with them."""

    layout: Layout
    orders: Mapping[str, Sequence[str]]


def settled(job: Job, trees: Trees, sizes: Sizes) -> Settled:
    """Cables and routes of trees; where a box had to be fed from elsewhere, cables are those of the feeds it has."""
    feeds = trees.feeds
    layout = Layout(job.network, job.rooms)
    for _ in range(FED_ANEW):
        wires = wires_of(job.building, feeds, sizes, trees.orders)
        layout = _routed(job, legs_of(job.building, feeds, wires), sizes, trees.orders, layout)
        fed = feeds_by_circuit(job.building, layout)
        if fed == feeds:
            break
        # What lost its way, or was fed from elsewhere, changes what the other cables carry.
        other = wires_of(job.building, fed, sizes, trees.orders)
        if all(leg.id not in other.kinds or other.kinds[leg.id] == leg.kind for leg in layout.legs.values()):
            break
        feeds = fed
    return Settled(layout, trees.orders)


def wires_of(
    building: Building, feeds: Mapping[str, Sequence[Pair]], sizes: Sizes, orders: Mapping[str, Sequence[str]]
) -> Wired:
    """Nets and cables over trees.

    Raises
    ------
    SceneError
        If no cable has the conductors that a leg needs.
    """
    wires, faults = wired(building, feeds, sizes, orders)
    if faults:
        raise SceneError(faults)
    return wires


def _routed(job: Job, legs: list[Leg], sizes: Sizes, orders: Mapping[str, Sequence[str]], before: Layout) -> Layout:
    """Routes of legs; those that lay like that before, over the same tracks, begin with their ways.

    Who is laid first finds all room free, and makes holes for those that come later: so what few cables there are is
    laid in several sequences, and what finds no way in any is laid first of all.
    """
    job.talk(f"routing {len(legs)} cables")
    longest = _longest_first(job.building, legs)
    sequences = [legs, longest, longest[::-1]]
    starts = 1 if before.legs else max(STARTS // max(len(legs), 1), 1)
    best = min((_begun(job, each, sizes, orders, before) for each in sequences[:starts]), key=_lost_money)
    while best.lost:
        lost = {leg.id for leg in best.lost}
        first = sorted(legs, key=lambda leg: leg.id not in lost)
        other = _begun(job, first, sizes, orders, Layout(job.network, job.rooms))
        if len(other.lost) >= len(lost):
            break
        best = other
    return best


def _longest_first(building: Building, legs: Sequence[Leg]) -> list[Leg]:
    """Legs by how far their boxes are apart, as the crow flies."""
    places = {box.id: box.at for box in building.boxes}
    return sorted(legs, key=lambda leg: -math.dist(places[leg.from_box], places[leg.to_box]))


def _lost_money(layout: Layout) -> tuple[int, float]:
    """By what layouts are compared: how many cables are lost, then the price of all."""
    return len(layout.lost), layout.price()


def _begun(job: Job, legs: Sequence[Leg], sizes: Sizes, orders: Mapping[str, Sequence[str]], before: Layout) -> Layout:
    """Routes of legs that are laid in this sequence."""
    same = before.network is job.network
    best = Layout(job.network, job.rooms, tired=same and before.tired)
    kept = [leg for leg in legs if same and before.legs.get(leg.id) == leg and leg.id in before.paths]
    for leg in kept:
        best.lay(leg, before.paths[leg.id])
    watch = laid(best, [leg for leg in legs if leg not in kept])
    watch = Watch(best, [leg.id for leg in legs]) if kept else watch
    _refed(job, best, sizes, orders)
    if not _lacks_room(best):
        best = _in_rounds(job, watch, sizes, orders)
    if _lacks_room(best):
        # What no other box can feed may find a way through a second hole beside a full one; for prices it is not worth
        # laying the tracks again (a tenth of a per cent in the boat shed).
        job.talk("making room beside full holes")
        network = network_of(tracks_of(job.ground, best.usage.full_places()))
        roomier = Layout(network, job.rooms, tired=best.tired or _tires(best))
        roomier = _in_rounds(job, laid(roomier, legs), sizes, orders)
        best = min(_in_rounds(job, watch, sizes, orders), roomier, key=_lost_money) if roomier.lost else roomier
    root(best, {circuit.id: circuit.panel for circuit in job.building.circuits})
    return best


def _in_rounds(job: Job, watch: Watch, sizes: Sizes, orders: Mapping[str, Sequence[str]]) -> Layout:
    """The cables that are watched, each looked at again as long as one gets cheaper."""
    watch.rounds()
    layout = watch.layout
    if not layout.tired and _tires(layout):
        # From the tenth overhead hole on the next one costs more: then all do, for it is one of them that is spared.
        kept, layout = layout.snapshot(), Layout(layout.network, job.rooms, tired=True)
        layout.restore(kept)
        again(layout, list(layout.legs))
    _refed(job, layout, sizes, orders)
    return layout


def _tires(layout: Layout) -> bool:
    return layout.usage.holes.tires(list(layout.usage.loads))


def _lacks_room(layout: Layout) -> bool:
    """Whether some cable is lost for want of holes."""
    return any(layout.lacks_holes(leg) for leg in layout.lost)


def _refed(job: Job, layout: Layout, sizes: Sizes, orders: Mapping[str, Sequence[str]]) -> None:
    """Feed what found no way from another box, where one can; each beside all that has been fed by then."""
    if layout.lost:
        job.talk("looking for other feeds")
        for leg in layout.lost:
            rescue(layout, leg, _other_feeders(job, layout, leg, sizes, orders))


def feeds_by_circuit(building: Building, layout: Layout) -> dict[str, tuple[Pair, ...]]:
    """Feeds of every circuit that found a way, panel first."""
    return {circuit.id: layout.feeds(circuit.id, circuit.panel) for circuit in building.circuits}


def left_out(building: Building, layout: Layout) -> list[tuple[str, str]]:
    """Boxes that no cable of a circuit reaches, each with that circuit: without a track, or without a path."""
    fed = feeds_by_circuit(building, layout)
    there = {(box, circuit) for circuit, feeds in fed.items() for _, box in feeds}
    return [(box, c.id) for c in building.circuits for box in c.boxes if (box, c.id) not in there]


def legs_of(building: Building, feeds: Mapping[str, Sequence[Pair]], wires: Wired) -> list[Leg]:
    """Legs to be routed, of the circuits that have feeds."""
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


def _other_feeders(job: Job, layout: Layout, leg: Leg, sizes: Sizes, orders: Mapping[str, Sequence[str]]) -> list[str]:
    """Boxes that could feed what has no path: of its circuit, on the panel's side, with room, and not against a pin.

    Left out is what no cable could carry then, and what would overfill a box or hang on a later phase.
    """
    boxes = layout.boxes
    if leg.rule.from_box or boxes[leg.to_box].fed_from:
        return []
    circuit = next(one for one in job.building.circuits if one.id == leg.circuit)
    inside = layout.inside()
    own = [one for name in sorted(layout.paths) if (one := layout.legs[name]).circuit == circuit.id]

    def can_feed(name: str) -> bool:
        box, more = boxes[name], [*inside[name], *((leg.circuit, *one) for one in layout.store.inside(leg.kind))]
        if len(more) > box.cables_max or box.phase > boxes[leg.to_box].phase:
            return False
        if box.kind == "box" and job.rooms.price(box, more) is None:
            return False
        tree = feeds_of(circuit.panel, [*own, replace(leg, from_box=name)])  # with all that hangs on it
        return not wired(job.one_circuit(circuit), {leg.circuit: tree}, sizes, orders)[1]

    return [name for name in sorted(fed for _, fed in layout.feeds(circuit.id, circuit.panel)) if can_feed(name)]

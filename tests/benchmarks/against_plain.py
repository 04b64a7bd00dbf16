"""The plans against the plainest one: trees and ways of single cables, nothing looked at twice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from measuring import Cell, Table
from staged import barn_of, boat_shed, boxes_of, plan_in_stages

from barnloom.model.building import Box, Building, CableRule, Circuit
from barnloom.routing.cost import CANNOT, ends_price
from barnloom.routing.feeds import chosen_trees, plain_kind
from barnloom.routing.job import Job
from barnloom.routing.layout import Layout, barred_edges
from barnloom.routing.search import barring, money, nearest
from barnloom.routing.settle import legs_of, wires_of
from barnloom.routing.trees import Pair, plain_tree
from barnloom.routing.wiring.kinds import Sizes
from barnloom.routing.wiring.room import Inside
from barnloom.routing.wiring.wired import wired


@dataclass(frozen=True)
class Plainest:
    """What the plainest plan costs in the search's own price, and the limits that it breaks."""

    price: float
    breaks: list[str]

    def told(self) -> str:
        """The limits in one line."""
        return "; ".join(self.breaks)


def plainest(job: Job, sizes: Sizes) -> Plainest:
    """Every circuit's plain tree over cheapest ways, every cable its own cheapest way as if alone, holes counted once.

    Where the plain tree wants a cable that there is none of (its switches), the circuit has the planner's tree for
    cables as if alone.
    """
    building = job.building
    alone, laid = (Layout(job.network, job.rooms) for _ in range(2))
    feeds = {circuit.id: _plain_feeds(alone, circuit, sizes) for circuit in building.circuits}
    faulty = [c.id for c in building.circuits if wired(job.one_circuit(c), {c.id: feeds[c.id]}, sizes, {})[1]]
    orders: Mapping[str, Sequence[str]] = {}
    if faulty:
        chosen = chosen_trees(job.network, sizes, job.rooms)
        feeds, orders = feeds | {name: chosen.feeds[name] for name in faulty}, chosen.orders
    for leg in legs_of(building, feeds, wires_of(building, feeds, sizes, orders)):
        laid.lay(leg, alone.find(leg)[1])
    breaks = _broken(laid)
    if faulty:
        breaks.append(f"no cable for the plain tree: {', '.join(faulty)}, with the planner's first tree instead")
    return Plainest(laid.price() % CANNOT, breaks)


def _plain_feeds(alone: Layout, circuit: Circuit, sizes: Sizes) -> tuple[Pair, ...]:
    network, boxes = alone.network, alone.boxes
    kind = plain_kind(alone.store, circuit, sizes)
    ids = [circuit.panel, *circuit.boxes]
    ways: dict[Pair, float] = {}
    with barring(alone.usage.prices(kind.id), barred_edges(network, CableRule(cable=""), ids)) as prices:
        for n, a in enumerate(ids[:-1]):
            goals = {network.into(b): b for b in ids[n + 1 :]}
            for node, way in nearest(network, prices, [network.out_of(a)], list(goals)).items():
                b = goals[node]
                ends = ends_price(network.tracks.building, kind, (boxes[a], boxes[b]))
                ways[min(a, b), max(a, b)] = money(way.price) + ends
    return tuple(
        plain_tree(
            circuit.panel,
            circuit.boxes,
            ways,
            home_runs=circuit.home_runs,
            pins={box: by for box in circuit.boxes if (by := boxes[box].fed_from)},
            cables_max={box: boxes[box].cables_max for box in circuit.boxes},
        )
    )


def _broken(layout: Layout) -> list[str]:
    """Limits that cables break which know nothing of each other, in words."""
    usage, tracks = layout.usage, layout.tracks
    holes = sum(usage.bit_for(hole, load) is None for hole, load in usage.loads.items())
    widest = np.maximum(usage.lane_widest, 1e-3)
    room = np.maximum(np.floor((tracks.lane_room_in + 1e-6) / widest), 1) * tracks.lane_sides
    bays = int((usage.lane_count > room).sum())
    inside = layout.inside()
    boxes = sum(_overfull(layout, layout.boxes[name], inside[name]) for name in inside)
    found = ((holes, "holes too full or too near another"), (bays, "bay sides too full"), (boxes, "boxes too full"))
    return [f"{what}: {count}" for count, what in found if count] + (
        [f"cables with no way: {len(layout.lost)}"] if layout.lost else []
    )


def _overfull(layout: Layout, box: Box, cables: Sequence[Inside]) -> bool:
    return box.kind == "box" and (len(cables) > box.cables_max or layout.rooms.price(box, cables) is None)


def part(*, long: bool) -> Sequence[Table]:
    """The boat shed and two barns."""
    efforts = ("quick", "normal", *(["long"] if long else []))
    rows: list[list[Cell]] = []
    notes = [
        "In the search's own price (cable, pulling, holes, rows, ends, boxes, making up), the same for all; a part of "
        "it (devices made up, the boxes themselves) no plan can spare."
    ]
    buildings: list[tuple[str, Building]] = [
        ("sail-loft", boat_shed()),
        ("barn, 1/4", barn_of(0.25)),
        ("barn, 1", barn_of(1)),
    ]
    for name, building in buildings:
        plans = [plan_in_stages(building, effort) for effort in efforts]
        plain = plainest(plans[0].job, plans[0].sizes)
        cells: list[Cell] = [name, boxes_of(building), plain.price]
        for staged in plans:
            cells += [staged.price, 100 * (1 - staged.price / plain.price)]
        rows.append(cells)
        if plain.breaks:
            notes.append(f"{name}: the plainest plan cannot be built, and is priced all the same: {plain.told()}.")
    head = ["", "boxes", "plainest"]
    for effort in efforts:
        head += [effort, "% cheaper"]
    return [Table("Against the plainest plan", tuple(head), rows, notes)]

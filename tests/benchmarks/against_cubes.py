"""Single ways on the tracks against a grid of cubes in a general graph library."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import rustworkx as rx
from measuring import Cell, Table, spread, timed, times_of
from staged import barn_of
from voxels import grid_of

from barnloom.model.building import Building
from barnloom.model.limits import Limits
from barnloom.routing.search import money, nearest, network_of
from barnloom.routing.tracks import ground_of, tracks_of
from barnloom.routing.usage import Usage

KIND = "12/2"
NOT_COUNTED = ("turn", "staple_wall", "staple_overhead", "staple_each", "nail_plate", "nail_plate_each", "ladder_move")
REPEATS = 20
"""Times that one of our own searches is timed: they are short."""


def _plainly_priced(building: Building) -> Building:
    """The building with only feet, holes and pulls priced, and cables free to turn at the box: what cubes can count."""
    boxes = tuple(replace(box, rise_in=0.0) for box in building.boxes)
    return replace(building, boxes=boxes, prices=building.prices | dict.fromkeys(NOT_COUNTED, 0.0))


def part(*, cube_in: float, pairs: int) -> Sequence[Table]:
    """From the panel to the last box of some circuits, at equal prices."""
    building = _plainly_priced(barn_of(1))
    limits = Limits(building.limits)
    laid, network = timed(lambda: network_of(tracks_of(ground_of(building, limits))))
    kind = next(kind for kind in building.cable_types if kind.id == KIND)
    per_foot = kind.price_ft * (1 + building.lengths.slack_share)
    per_foot += building.prices["minute"] * building.prices["pull_ft"]
    filled, grid = timed(lambda: grid_of(building, limits, cube_in, per_foot))
    prices = Usage(network.tracks).prices(kind.id)
    boxes = {box.id: box for box in building.boxes}
    rows: list[list[Cell]] = []
    ratios, dearer = [], []
    for panel, box in [(circuit.panel, circuit.boxes[-1]) for circuit in building.circuits][:pairs]:
        source, target = network.out_of(panel), network.into(box)
        ours = times_of(partial(nearest, network, prices, [source], [target]), REPEATS).middle
        cost = money(nearest(network, prices, [source], [target])[target].price)
        start, goal = grid.node(boxes[panel].at), grid.node(boxes[box].at)
        took, found = timed(partial(rx.dijkstra_shortest_path_lengths, grid.graph, start, float, goal=goal))
        theirs = dict(found).get(goal, math.inf)
        ratios.append(took / ours)
        dearer.append(theirs / cost)
        rows.append([f"{panel} to {box}", 1000 * ours, 1000 * took, took / ours, cost, theirs, theirs / cost])
    return [
        Table(
            f"Single ways in a barn of one length, against a grid of {cube_in:g}-inch cubes (rustworkx)",
            ("", "tracks ms", "cubes ms", "times as fast", "tracks cost", "cubes cost", "cubes / tracks"),
            [*rows, ["median", None, None, spread(ratios).middle, None, None, spread(dearer).middle]],
            [
                f"Tracks: {network.nodes:,} nodes, of which the search uses {len(network.core.origin):,}; laid in "
                f"{laid:.3g} s. Cubes: {grid.graph.num_nodes():,} nodes, {grid.graph.num_edges():,} edges; filled in "
                f"{filled:.3g} s.",
                "Both count feet, holes and pulls alone, for cubes know no turns. Cubes go in steps along the axes and "
                "may be half a cube off a legal zone, so their cost is a check of the tracks, not a better way.",
            ],
        )
    ]

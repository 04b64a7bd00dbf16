"""What is to be bounded, as plain data: ways, items, and the cables that every plan has."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components, dijkstra

from barnloom.model.building import Circuit
from barnloom.routing.bound.alike import Alike
from barnloom.routing.bound.certain import Leg, boxes, devices, legs_of
from barnloom.routing.bound.items import Items, items_of
from barnloom.routing.bound.ways import Ways, ways_of
from barnloom.routing.bound.wired import Wired, wired_of
from barnloom.routing.cost import ends_price
from barnloom.routing.job import Job
from barnloom.routing.layout import edges_of
from barnloom.routing.slab import Floats, Ints
from barnloom.routing.usage import Index
from barnloom.routing.wiring.kinds import Sizes


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Cable:
    """The cable into a box of a circuit: what it costs over each edge without items, and at its ends."""

    box: str
    prices: Floats
    """(edges,) money; infinite where no cable may go. One array for all cables of a kind: it is not to be changed."""
    ends: dict[str, float]
    """By box that may feed it, money beyond its way."""
    closed: Ints = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    """Edges that only this cable may not take."""
    free: bool = False
    """It is there already, and costs nothing."""


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Tree:
    """A circuit: its panel, and a cable into each of its boxes."""

    panel: str
    cables: list[Cable]
    home_runs: int | None
    """So many cables leave the panel, one for each box at most; None: any number."""
    wired: Wired | Alike | None = None
    """What its cables carry and its boxes hold, where that is counted by the tree."""


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Problem:
    """All of it. ``certain`` money is paid by every plan besides cables and items."""

    ways: Ways
    items: Items
    trees: list[Tree]
    certain: float
    fresh: int
    """So many of the holes that tire are bored before they do."""


def problem_of(job: Job, sizes: Sizes) -> Problem:
    """What is to be bounded of a building, with conductors of these sizes."""
    tracks, building = job.network.tracks, job.building
    items = items_of(tracks)
    ways = ways_of(tracks, items)
    legs = _reachable(ways, legs_of(building, sizes))
    standing = Index(ways.track)  # edges of the ways that stand for edges of the tracks
    nowhere, prices = np.empty(0, dtype=np.int64), dict[str, Floats]()
    told = any(rule.holes is not None for rule in building.cable_rules)
    kept_out = standing.of(nowhere if told else tracks.taken)
    slack, pull_ft = (building.lengths.slack_share, building.prices["minute"] * building.prices["pull_ft"])
    there = {box.id: box for box in building.boxes}
    first, further = boxes(building, job.rooms, legs)
    into = Counter(leg.box for leg in legs)
    lengths = _graph(ways, ways.of_edges(ways.inches)[ways.edge])
    counted = {box: (money, further.get(box, 0.0)) for box, money in first.items() if into[box] == 1}

    def cable(leg: Leg, names: list[str]) -> Cable:
        if leg.kind.id not in prices:
            of_stretches = ways.prices(leg.kind, slack, pull_ft)
            of_stretches[kept_out] = np.inf
            prices[leg.kind.id] = ways.of_edges(of_stretches)
        # A cable does not turn back along the straight start at its own box.
        barred = [job.network.own.get(leg.box, nowhere), *(edges_of(tracks, member) for member in leg.avoid)]
        stretches = standing.of(np.concatenate(barred))
        feeders = [leg.feeder] if leg.feeder in names else [name for name in names if name != leg.box]
        ends = {
            name: ends_price(building, leg.kind, (there[name], there[leg.box])) + further.get(name, 0.0)
            for name in feeders
        }
        closed = np.unique(np.searchsorted(ways.first, stretches, side="right") - 1)
        return Cable(box=leg.box, prices=prices[leg.kind.id], ends=ends, closed=closed, free=leg.done)

    def tree(circuit: Circuit) -> Tree:
        own = [leg for leg in legs if leg.circuit.id == circuit.id]
        names = [circuit.panel, *(leg.box for leg in own)]
        cables = [cable(leg, names) for leg in own]
        wired = wired_of(building, job.rooms, sizes, own, counted, lambda them: _feet(lengths, ways, them))
        return Tree(panel=circuit.panel, cables=cables, home_runs=circuit.home_runs, wired=wired)

    return Problem(
        ways=ways,
        items=items,
        trees=[tree(circuit) for circuit in building.circuits],
        certain=devices(building, legs) + sum(first.values()),
        fresh=int(building.prices["fatigue_after"]),
    )


def _graph(ways: Ways, of_arcs: Floats) -> csr_array:
    """Ways as a library takes them, with something of each arc."""
    return csr_array((of_arcs, ways.target, ways.start), shape=(len(ways.start) - 1,) * 2)


def _feet(lengths: csr_array, ways: Ways, names: Sequence[str]) -> Floats:
    """Least length of a line from each of some boxes to each other, feet."""
    nodes = [ways.boxes[name] for name in names]
    found: Floats = dijkstra(lengths, indices=nodes)[:, [node + ways.into for node in nodes]] / 12
    return found


def _reachable(ways: Ways, legs: list[Leg]) -> list[Leg]:
    """Those of which the box hangs together with the panel, by whatever way."""
    _, part = connected_components(_graph(ways, np.ones(len(ways.target))), directed=False)
    return [leg for leg in legs if part[ways.boxes[leg.box]] == part[ways.boxes[leg.circuit.panel]]]

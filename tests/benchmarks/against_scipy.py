"""The quick search against scipy's Dijkstra: all of it, over the time for the shortest-path trees of all boxes."""

from __future__ import annotations

import time
from collections.abc import Sequence

import numpy as np
from measuring import Cell, Table, spread
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra
from staged import barn_of, boat_shed, boxes_of, plan_in_stages

from barnloom.routing.search import Network
from barnloom.routing.usage import Usage

AIM = 3
AT_ONCE = 20
"""Sources of one call, so that its answers do not fill the memory."""


def scipy_seconds(network: Network, *, core: bool = False, most: int | None = None) -> float:
    """Seconds of scipy for a tree from every box at the prices of an empty building.

    Parameters
    ----------
    core : bool
        Over the reduced graph that our own search uses, instead of all tracks.
    most : int, optional
        Try so many boxes only, and count up to all.
    """
    building = network.tracks.building
    prices = Usage(network.tracks).prices(building.cable_types[0].id)
    boxes = np.array([network.out_of(box.id) for box in building.boxes])
    chosen = boxes if most is None else boxes[:: -(-len(boxes) // most)]
    if core:
        part = network.core
        chains = np.add.reduceat(prices[part.edge], part.first[:-1])
        graph = _csr(chains[part.chain], part.target, part.start)
        chosen = part.node[chosen]
    else:
        graph = _csr(prices[network.edge], network.target, network.start)
    start = time.perf_counter()
    for first in range(0, len(chosen), AT_ONCE):
        dijkstra(graph, directed=True, indices=chosen[first : first + AT_ONCE], return_predecessors=True)
    return (time.perf_counter() - start) * len(boxes) / len(chosen)


def _csr(data: NDArray[np.float64], head: NDArray[np.int32], start: NDArray[np.int32]) -> csr_array:
    return csr_array((data, head, start), shape=(len(start) - 1, len(start) - 1))


def part(times: int) -> Sequence[Table]:
    """The boat shed and two barns, every ratio from one run."""
    rows: list[list[Cell]] = []
    for name, building in (("sail-loft", boat_shed()), ("barn, 1/4", barn_of(0.25)), ("barn, 1", barn_of(1))):
        ours, all_tracks, reduced = [], [], []
        plan_in_stages(building, "quick")  # compiled loops are loaded
        for _ in range(times):
            staged = plan_in_stages(building, "quick")
            ours.append(staged.searched())
            all_tracks.append(scipy_seconds(staged.job.network))
            reduced.append(scipy_seconds(staged.job.network, core=True))
        ratios, stricter = (
            spread([a / b for a, b in zip(ours, theirs, strict=True)]) for theirs in (all_tracks, reduced)
        )
        middles = (1000 * spread(figures).middle for figures in (ours, all_tracks, reduced))
        a, b, c = middles
        rows.append([name, boxes_of(building), a, b, ratios.middle, f"{ratios.least:.3g} - {ratios.most:.3g}", c,
                     stricter.middle])  # fmt: skip
    head = ("", "boxes", "trees, routes, search ms", "scipy, all tracks ms", "ratio", "from - to", "scipy, core ms",
            "ratio")  # fmt: skip
    return [
        Table(
            "The quick search against scipy's shortest-path trees of all boxes",
            head,
            rows,
            [
                f"Aim: a ratio of at most {AIM} on the same graph, in the same run (all tracks). Medians of {times}.",
                "The core is what our own search reduces the tracks to: the stricter comparison, with no aim to it.",
            ],
        )
    ]

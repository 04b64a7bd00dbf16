"""The part of the tracks that is searched has all ways that cost least, to the last bit."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from small_scenes import tracks
from test_brute_force import KINDS, with_boxes

from barnloom.model import read_building
from barnloom.model.building import Building
from barnloom.routing.search import distances, nearest, network_of
from barnloom.routing.usage import Usage

SCENES = sorted((Path(__file__).parents[2] / "scenes").glob("*.yaml"))


def same_ways(building: Building) -> int:
    """Compare all pairs of boxes with what a library finds over all tracks; returns how many ways there are."""
    laid = tracks(building)
    network, usage = network_of(laid), Usage(laid)
    count = 0
    for kind in sorted({circuit.cable for circuit in building.circuits} & set(usage.types)) or [
        next(iter(usage.types))
    ]:
        prices = usage.prices(kind)
        for box in laid.boxes:
            everywhere, _ = distances(network, prices, network.out_of(box))
            goals = [network.into(other) for other in laid.boxes if other != box]
            found = nearest(network, prices, [network.out_of(box)], goals)
            assert {goal: way.price for goal, way in found.items()} == {
                goal: everywhere[goal] for goal in goals if np.isfinite(everywhere[goal])
            }
            for goal, way in found.items():
                ends = [network.out_of(box), *(b for _, b, _ in way.steps)]
                assert ends[:-1] == [a for a, _, _ in way.steps]
                assert ends[-1] == goal
                assert sum(prices[edge] for _, _, edge in way.steps) == way.price
            count += len(found)
    assert len(network.core.origin) < network.nodes
    return count


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_many_nodes_are_where_each_of_them_is(path: Path) -> None:
    laid = tracks(read_building(path))
    nodes = np.random.default_rng(7).choice(laid.node_count, 500, replace=False)
    nodes = np.unique(np.concatenate([nodes, np.arange(laid.through_base, laid.node_count)]))
    one_by_one = []
    for node in nodes.tolist():
        if (place := laid.place(node)) is not None:
            slab, u, v, _ = place
            one_by_one.append(laid.slabs[slab].world(u, v, laid.slabs[slab].plane_in))
        elif (on_face := laid.face_place(node)) is not None:
            one_by_one.append(laid.faces[on_face[0]].point(on_face[1]))
    assert len(one_by_one) == len(nodes) - len(laid.boxes)
    found = laid.points(nodes)
    assert sorted(map(tuple, np.round(found, 6))) == sorted(map(tuple, np.round(one_by_one, 6)))


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_all_ways_between_boxes_of_a_scene_are_as_cheap_as_over_all_tracks(path: Path) -> None:
    assert same_ways(read_building(path)) > 0


@pytest.mark.parametrize("kind", KINDS, ids=[kind.__name__ for kind in KINDS])
def test_all_ways_in_small_random_buildings_are_as_cheap_as_over_all_tracks(
    kind: Callable[[random.Random], dict[str, Any]],
) -> None:
    dice = random.Random(f"core {kind.__name__}")
    buildings = [building for _ in range(12) if (building := with_boxes(kind(dice), dice, 8.0)) is not None]
    assert sum(map(same_ways, buildings)) > 0

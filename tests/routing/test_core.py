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
def test_all_ways_between_boxes_of_a_scene_are_as_cheap_as_over_all_tracks(path: Path) -> None:
    assert same_ways(read_building(path)) > 0


@pytest.mark.parametrize("kind", KINDS, ids=[kind.__name__ for kind in KINDS])
def test_all_ways_in_small_random_buildings_are_as_cheap_as_over_all_tracks(
    kind: Callable[[random.Random], dict[str, Any]],
) -> None:
    dice = random.Random(f"core {kind.__name__}")
    buildings = [building for _ in range(12) if (building := with_boxes(kind(dice), dice, 8.0)) is not None]
    assert sum(map(same_ways, buildings)) > 0

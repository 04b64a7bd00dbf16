"""Which box feeds which with conductors and boxes counted: against scipy's trees, brute force, and pins."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse.csgraph import minimum_spanning_tree

from barnloom.model.building import Building, Circuit
from barnloom.model.limits import Limits
from barnloom.routing.trees import Pair, plain_tree, turned
from barnloom.routing.wiring.choice import CANNOT, TreePrices, Way, improved, with_pins
from barnloom.routing.wiring.kinds import Sizes, Store
from barnloom.routing.wiring.room import Rooms
from tests.routing.wired_scenes import bay, building_of, wall_scene

BOXES = ("S1", "S2", "L1", "L2", "R")
BUILDING = building_of(
    wall_scene(
        {
            "S1": f'circuit: A, device: switch, {bay(8)}, height: 48"',
            "S2": f'circuit: A, device: switch, {bay(20)}, height: 48"',
            "L1": f'circuit: A, device: light, {bay(12)}, height: 80"',
            "L2": f'circuit: A, device: light, {bay(16)}, height: 80"',
            "R": f'circuit: A, device: receptacle, {bay(24)}, height: 48"',
        },
        more="controls: {ROW: {lights: [L1, L2], points: [S1, S2]}}\ncircuits: {A: {home_runs: any}}",
    )
)
PAIRS = tuple(combinations(sorted(("PANEL", *BOXES)), 2))


def priced(building: Building, ways: dict[Pair, Way]) -> TreePrices:
    circuit = building.circuits[0]
    rooms = Rooms(building, Limits(building.limits))
    most = dict.fromkeys(("PANEL", *BOXES), 9)
    return TreePrices(building, circuit, ways, Store(building), Sizes(circuits={"A": 14}), rooms, {}, most)


def plain(circuit: Circuit, ways: dict[Pair, Way]) -> list[Pair]:
    prices = {pair: way.price for pair, way in ways.items()}
    return plain_tree("PANEL", BOXES, prices, home_runs=circuit.home_runs)


def alike(building: Building) -> Building:
    """Every cable at one price and with as many conductors as anybody wants, boxes and folding in for nothing."""
    two = next(kind for kind in building.cable_types if kind.id == "14/2")
    cables = (replace(two, id=f"14/{count}", conductors=count, price_ft=1.0) for count in range(2, 9))
    return replace(
        building,
        cable_types=tuple(cables),
        box_types=tuple(replace(kind, price=0.0, volume_in3=999.0) for kind in building.box_types),
        prices={**building.prices, "tight_box": 0.0},
    )


def all_trees() -> list[list[Pair]]:
    """Every tree over panel and boxes, turned away from the panel (by Pruefer's codes)."""
    ids = ("PANEL", *BOXES)
    found = []
    for code in product(range(len(ids)), repeat=len(ids) - 2):
        degree = [1 + code.count(n) for n in range(len(ids))]
        edges = []
        for n in code:
            leaf = degree.index(1)
            edges.append((leaf, n))
            degree[leaf] -= 1
            degree[n] -= 1
        edges.append(tuple(n for n, left in enumerate(degree) if left == 1))
        near: dict[str, list[str]] = {}
        for a, b in edges:
            near.setdefault(ids[a], []).append(ids[b])
            near.setdefault(ids[b], []).append(ids[a])
        feeds, seen, queue = [], {"PANEL"}, ["PANEL"]
        for box in queue:
            for other in near[box]:
                if other not in seen:
                    seen.add(other)
                    feeds.append((box, other))
                    queue.append(other)
        found.append(feeds)
    return found


TREES = all_trees()
WAYS = st.lists(st.integers(1, 60), min_size=len(PAIRS), max_size=len(PAIRS)).map(
    lambda feet: {pair: Way(price=float(f), feet=float(f)) for pair, f in zip(PAIRS, feet, strict=True)}
)


def test_there_are_as_many_trees_as_cayley_counts() -> None:
    assert len(TREES) == 6**4  # Cayley's formula, n^(n-2)


@settings(max_examples=60, deadline=None)
@given(WAYS)
def test_where_conductors_and_boxes_cost_nothing_the_tree_is_scipys(ways: dict[Pair, Way]) -> None:
    # scipy.sparse.csgraph.minimum_spanning_tree
    # Without its control: that is kept on one home run.
    free = tuple(replace(device, control="") for device in BUILDING.devices)
    building = replace(alike(BUILDING), devices=free, controls=())
    trees = priced(building, ways)
    matrix = np.zeros((6, 6))
    ids = ("PANEL", *BOXES)
    for (a, b), way in ways.items():
        matrix[ids.index(a), ids.index(b)] = way.price
    least = minimum_spanning_tree(matrix).sum()
    feeds = improved(trees, plain(building.circuits[0], ways))
    assert sum(ways[min(f), max(f)].price for f in feeds) == pytest.approx(least)


@settings(max_examples=25, deadline=None)
@given(WAYS)
def test_no_exchange_of_one_cable_is_cheaper_and_most_plans_are_the_best_of_all(ways: dict[Pair, Way]) -> None:
    trees = priced(BUILDING, ways)
    begin = plain(BUILDING.circuits[0], ways)
    feeds = improved(trees, begin)
    price = trees.price(feeds)
    assert price <= trees.price(begin) + 1e-9
    own = {frozenset(feed) for feed in feeds}
    for other in TREES:
        theirs = {frozenset(feed) for feed in other}
        if len(own - theirs) <= 1:
            assert trees.price(other) >= price - 1e-6


def test_a_dearer_way_is_taken_where_it_saves_a_conductor() -> None:
    """Switches in a row to the lights: going round by the light would need a cable of three more conductors."""
    far = {pair: Way(price=100.0, feet=100.0) for pair in PAIRS}
    near = {("PANEL", "S1"): 10.0, ("L1", "S1"): 20.0, ("L1", "S2"): 20.0, ("S1", "S2"): 20.5, ("L1", "L2"): 5.0}
    ways = far | {pair: Way(price=p, feet=p) for pair, p in near.items()} | {("L2", "R"): Way(5.0, 5.0)}
    trees = priced(BUILDING, ways)
    feeds = improved(trees, plain(BUILDING.circuits[0], ways))
    assert ("S1", "S2") in feeds
    assert ("S2", "L1") in feeds


def test_what_is_pinned_stays() -> None:
    boxes = tuple(replace(box, fed_from="R") if box.id == "L1" else box for box in BUILDING.boxes)
    building = replace(BUILDING, boxes=boxes)
    ways = {pair: Way(price=10.0 + n, feet=10.0 + n) for n, pair in enumerate(PAIRS)}
    trees = priced(building, ways)
    begin = plain_tree("PANEL", BOXES, {p: w.price for p, w in ways.items()}, home_runs=None, pins={"L1": "R"})
    assert ("R", "L1") in improved(trees, begin)


def test_a_tree_is_turned_to_keep_a_pin_by_two_other_cables_at_most() -> None:
    ids = ("PANEL", *BOXES)
    for by, box in [(by, box) for by in ids for box in BOXES if by != box]:
        pinned = replace(BUILDING, boxes=tuple(replace(b, fed_from=by if b.id == box else "") for b in BUILDING.boxes))
        trees = priced(pinned, {pair: Way(1.0, 1.0) for pair in PAIRS})
        assert trees.pins == {box: by}
        for tree in all_trees()[::7]:
            found = with_pins(trees, tree)
            assert {fed: one for one, fed in found}[box] == by
            assert set(found) == set(turned("PANEL", found))
            assert sorted(fed for _, fed in found) == sorted(BOXES)
            assert len({frozenset(pair) for pair in found} - {frozenset(pair) for pair in tree}) <= 2
            assert with_pins(trees, found) == found


def test_each_cable_too_many_and_each_cable_in_a_box_that_holds_none_counts() -> None:
    """So a search among trees that cannot be goes towards those that can."""
    trees = priced(BUILDING, {pair: Way(1.0, 1.0) for pair in PAIRS})
    trees.most["R"] = 1
    star = [("PANEL", "R"), *(("R", box) for box in BOXES if box != "R")]
    fewer = [*star[:-1], ("L1", "L2")]
    assert trees.price(star) > trees.price(fewer) + 0.9 * CANNOT
    tiny = [replace(box, box_type="", series="", volume_in3=1.0) if box.id == "R" else box for box in BUILDING.boxes]
    trees = priced(replace(BUILDING, boxes=tuple(tiny)), {pair: Way(1.0, 1.0) for pair in PAIRS})
    assert trees.price(star) > trees.price(fewer) + 0.9 * CANNOT

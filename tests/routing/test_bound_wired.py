"""The cheapest tree with conductors and boxes counted, against all trees one by one."""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barnloom.model.building import Building
from barnloom.model.limits import Limits
from barnloom.routing.bound.certain import legs_of
from barnloom.routing.bound.wired import FEW_BOXES, Wired, wired_of
from barnloom.routing.slab import Floats
from barnloom.routing.trees import turned
from barnloom.routing.wiring.choice import TreePrices, Way
from barnloom.routing.wiring.counting import MOST
from barnloom.routing.wiring.kinds import Sizes, Store
from barnloom.routing.wiring.room import Rooms
from tests.routing.wired_scenes import bay, building_of, wall_scene

SIZES = Sizes(circuits={"A": 14})


def all_trees(count: int) -> Iterator[list[tuple[int, int]]]:
    """Every tree over so many boxes as (feeder, box), the panel being 0."""
    for feeders in product(range(count + 1), repeat=count):
        hanging = {0}
        while more := {v for v, u in enumerate(feeders, 1) if u in hanging} - hanging:
            hanging |= more
        if len(hanging) == count + 1:
            yield [(u, v) for v, u in enumerate(feeders, 1)]


def runs_of(tree: list[tuple[int, int]]) -> int:
    """Cables that leave the panel."""
    return sum(u == 0 for u, _ in tree)


def behind(tree: list[tuple[int, int]], box: int) -> int:
    """The set of boxes that hang on one, as a number."""
    return (1 << (box - 1)) | sum(behind(tree, v) for u, v in tree if u == box)


def price_of(tree: list[tuple[int, int]], price: Floats, wired: Wired, orders: int) -> float:
    """The price of a tree, cable by cable and box by box."""
    need = {v: int(wired.need[orders, behind(tree, v)]) for _, v in tree}
    total = sum(float(price[u, v] + wired.more[u, v, need[v]]) for u, v in tree)
    for _, box in tree:
        own = [need[v] for u, v in tree if box in (u, v)]
        cables, wires = sum(int(wired.sheaths[n]) for n in own), sum(int(wired.inside[n]) for n in own)
        outside = cables >= wired.boxes.shape[1] or wires >= wired.boxes.shape[2]
        total += np.inf if outside else float(wired.boxes[box, cables, wires])
    return total


@given(st.integers(1, 4), st.integers(0, 2**32 - 1), st.sampled_from([None, 1, 2, 3]))
@settings(deadline=None, max_examples=60)
def test_it_is_the_cheapest_of_all_trees(count: int, seed: int, home_runs: int | None) -> None:
    dice = np.random.default_rng(seed)
    more = dice.uniform(0, 4, size=(count + 1, count + 1, MOST + 1)) * (dice.random(MOST + 1) < 0.6)
    more[:, :, 5] = np.inf
    sheaths = np.array([2 if n == 4 else 1 for n in range(MOST + 1)])
    boxes = dice.uniform(0, 3, size=(count + 1, 6, 16)) * (dice.random((count + 1, 6, 16)) < 0.7)
    boxes[dice.random(boxes.shape) < 0.1] = np.inf
    wired = Wired(
        need=dice.integers(2, 6, size=(2, 2**count)),
        more=more,
        sheaths=sheaths,
        inside=np.maximum(np.arange(MOST + 1), 2),
        boxes=boxes,
    )
    price = dice.uniform(1, 9, size=(count + 1, count + 1))
    price[dice.random(price.shape) < 0.1] = np.inf
    trees = [tree for tree in all_trees(count) if runs_of(tree) == min(home_runs or runs_of(tree), count)]
    prices = [min(price_of(tree, price, wired, orders) for orders in range(2)) for tree in trees]
    value, feeders = wired.cheapest(price, home_runs)
    assert value == pytest.approx(min(prices))
    if np.isfinite(value):
        chosen = [(int(u), v) for v, u in enumerate(feeders) if v]
        assert min(price_of(chosen, price, wired, orders) for orders in range(2)) == pytest.approx(value)


def building(more: str) -> Building:
    places = {"S1": ("switch", 8, 48), "S2": ("switch", 20, 48), "L1": ("light", 12, 80), "L2": ("light", 16, 80)}
    said = {
        name: f'circuit: A, device: {what}, {bay(at)}, height: {high}"' for name, (what, at, high) in places.items()
    }
    said["R"] = f'circuit: A, device: receptacle, {bay(24)}, height: 48"'
    return building_of(wall_scene(said, more=f"controls: {more}\ncircuits: {{A: {{}}}}"))


CONTROLS = (
    "{ROW: {lights: [L1, L2], points: [S1, S2]}}",
    "{ONE: {lights: [L1], points: [S1]}, TWO: {lights: [L2], points: [S2]}}",
)


@pytest.mark.parametrize("controls", CONTROLS, ids=["three-way", "two switches"])
def test_no_tree_of_a_switched_circuit_costs_less_and_the_cheapest_hardly_more(controls: str) -> None:
    shed = building(controls)
    circuit, rooms = shed.circuits[0], Rooms(shed, Limits(shed.limits))
    legs = legs_of(shed, SIZES)
    names = [circuit.panel, *(leg.box for leg in legs)]
    dice = random.Random(controls)
    for _ in range(3):
        feet, price = (np.zeros((len(names), len(names))) for _ in range(2))
        for a, b in combinations(range(len(names)), 2):
            feet[a, b] = feet[b, a] = dice.uniform(3, 30)
            price[a, b] = price[b, a] = 2 * feet[a, b]
        ways = {
            (min(names[a], names[b]), max(names[a], names[b])): Way(price[a, b], feet[a, b])
            for a, b in combinations(range(len(names)), 2)
        }
        pricing = TreePrices(
            shed, circuit, ways, Store(shed), SIZES, rooms, {}, dict.fromkeys(names, 4) | {circuit.panel: 9}
        )
        wired = wired_of(shed, rooms, SIZES, legs, {leg.box: (0.0, 0.0) for leg in legs}, lambda _, feet=feet: feet)
        assert wired is not None
        best = min(
            pricing.price(turned(circuit.panel, [(names[u], names[v]) for u, v in tree]))
            for tree in all_trees(len(legs))
            if runs_of(tree) == 1
        )
        value, _ = wired.cheapest(price, 1)
        assert 0.99 * best <= value <= best + 1e-6


def test_nothing_is_asked_of_many_boxes() -> None:
    said = {f"R{n}": f'circuit: A, device: receptacle, {bay(8 + 4 * n)}, height: 48"' for n in range(FEW_BOXES + 1)}
    shed = building_of(wall_scene(said, more="circuits: {A: {}}"))
    legs = legs_of(shed, SIZES)
    feet = np.ones((len(legs) + 1,) * 2)
    counted = {leg.box: (0.0, 0.0) for leg in legs}
    rooms = Rooms(shed, Limits(shed.limits))
    assert wired_of(shed, rooms, SIZES, legs, counted, lambda _: feet) is None
    assert wired_of(shed, rooms, SIZES, legs[:-1], counted, lambda _: feet[:-1, :-1]) is not None

"""The cheapest tree with conductors and boxes counted, against all trees one by one."""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Iterator
from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barnloom.model.building import Building
from barnloom.model.limits import Limits
from barnloom.routing.bound import alike, wired
from barnloom.routing.bound.alike import Alike, grouped, strides_of
from barnloom.routing.bound.certain import legs_of
from barnloom.routing.bound.wired import FEW_BOXES, Wired, least_of, wired_of
from barnloom.routing.slab import Floats, Ints
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


def price_of(tree: list[tuple[int, int]], price: Floats, asked: Wired, orders: int) -> float:
    """The price of a tree, cable by cable and box by box."""
    need = {v: int(asked.need[orders, behind(tree, v)]) for _, v in tree}
    total = sum(float(price[u, v] + asked.more[u, v, need[v]]) for u, v in tree)
    for _, box in tree:
        own = [need[v] for u, v in tree if box in (u, v)]
        cables, wires = sum(int(asked.sheaths[n]) for n in own), sum(int(asked.inside[n]) for n in own)
        outside = cables >= asked.boxes.shape[1] or wires >= asked.boxes.shape[2]
        total += np.inf if outside else float(asked.boxes[box, cables, wires])
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
    asked = Wired(
        need=dice.integers(2, 6, size=(2, 2**count)),
        more=more,
        sheaths=sheaths,
        inside=np.maximum(np.arange(MOST + 1), 2),
        boxes=boxes,
    )
    price = dice.uniform(1, 9, size=(count + 1, count + 1))
    price[dice.random(price.shape) < 0.1] = np.inf
    trees = [tree for tree in all_trees(count) if runs_of(tree) == min(home_runs or runs_of(tree), count)]
    prices = [min(price_of(tree, price, asked, orders) for orders in range(2)) for tree in trees]
    value, feeders = asked.cheapest(price, home_runs)
    assert value == pytest.approx(min(prices))
    if np.isfinite(value):
        chosen = [(int(u), v) for v, u in enumerate(feeders) if v]
        assert min(price_of(chosen, price, asked, orders) for orders in range(2)) == pytest.approx(value)


def many(group: list[int], need: Ints, plain: Wired) -> Alike:
    """The same as ``plain``, for which groups decide what a cable needs, by how many of each there are."""
    numbers = np.array(group)
    size = np.bincount(numbers)
    return Alike(
        group=np.append(0, numbers),
        size=size,
        need=need,
        more=plain.more,
        least=least_of(plain.boxes, plain.sheaths, plain.inside),
    )


@given(st.lists(st.integers(0, 2), min_size=1, max_size=4), st.integers(0, 2**32 - 1), st.sampled_from([None, 1, 2]))
@settings(deadline=None, max_examples=80)
def test_counting_groups_no_tree_costs_less(draft: list[int], seed: int, home_runs: int | None) -> None:
    dice = np.random.default_rng(seed)
    count, group = len(draft), [sorted(set(draft)).index(one) for one in draft]
    size = np.bincount(group)
    stride, states = strides_of(size), int(np.prod(size + 1))
    need = np.append(0, dice.integers(2, 6, size=states - 1))
    sets = [sum(int(stride[group[n]]) for n in range(count) if some >> n & 1) for some in range(2**count)]
    boxes = np.zeros((count + 1, 6, 31))
    boxes[1:] = np.add.outer(dice.uniform(0, 1, size=count), np.add.outer(np.arange(6), np.arange(31) / 2))
    boxes[:, 5] = np.inf
    plain = Wired(
        need=np.maximum(need[np.array(sets)], 2)[None],
        more=dice.uniform(0, 4, size=(count + 1, count + 1, MOST + 1)),
        sheaths=np.array([2 if n == 4 else 1 for n in range(MOST + 1)]),
        inside=np.maximum(np.arange(MOST + 1), 2),
        boxes=boxes,
    )
    price = dice.uniform(1, 9, size=(count + 1, count + 1))
    trees = [tree for tree in all_trees(count) if runs_of(tree) == min(home_runs or runs_of(tree), count)]
    best = min(price_of(tree, price, plain, 0) for tree in trees)
    asked = many(group, need, plain)
    for worth in (np.zeros(count + 1), dice.normal(size=count + 1)):
        value, cables = asked.cheapest(price, worth, home_runs)
        assert value <= best + 1e-6
        assert np.isfinite(value) == (len(cables) > 0)
    free = dataclasses.replace(plain, boxes=np.zeros_like(boxes))
    if len(size) == count and home_runs != 2:
        # With every box in a group of its own, and nothing to pay for boxes, nothing is left out.
        value, cables = many(group, need, free).cheapest(price, dice.normal(size=count + 1), home_runs)
        assert value == pytest.approx(min(price_of(tree, price, free, 0) for tree in trees))
        assert not many(group, need, free).too_often(cables, home_runs).any()


def test_what_is_fed_too_often_is_told() -> None:
    nothing = Wired(
        need=np.full((1, 8), 2), more=np.zeros((4, 4, MOST + 1)), sheaths=np.ones(MOST + 1, dtype=np.int64),
        inside=np.full(MOST + 1, 2), boxes=np.zeros((4, 7, 15)),
    )  # fmt: skip
    asked = many([0, 0, 0], np.array([0, 2, 2, 2]), nothing)
    price = np.full((4, 4), 9.0)
    price[0, 1] = 1.0  # the same box three times is cheapest
    value, cables = asked.cheapest(price, np.zeros(4), None)
    assert (value, cables) == (3.0, [(0, 1)] * 3)
    assert asked.too_often(cables, None).tolist() == [0, 2, -1, -1]
    assert asked.too_often(cables, 2).tolist() == [1, 2, -1, -1]
    # Dear for being fed so often, each is fed once.
    value, cables = asked.cheapest(price, np.array([0.0, 8.0, 0.0, 0.0]), None)
    assert value == 1 + 9 + 9


@pytest.mark.parametrize("work", [np.inf, 60 * 5])
def test_groups_are_put_together_where_they_make_too_much_work(monkeypatch: pytest.MonkeyPatch, work: float) -> None:
    monkeypatch.setattr(alike, "WORK", work)
    parts = np.array([[1, 0, 0, 0], [0, 1, 1, 1], [1, 0, 0, 0], [1, 1, 0, 0], [0, 1, 1, 0]])
    exact, group = grouped(parts)
    assert [[bool(a == b) for b in exact] for a in exact] == [[(a == b).all() for b in parts] for a in parts]
    sizes = sorted(np.bincount(group).tolist())
    assert sizes == ([1, 1, 1, 2] if work == np.inf else [2, 3])
    assert group[0] == group[2] == (group[3] if work != np.inf else group[0])


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


@pytest.mark.parametrize(("work", "share"), [(np.inf, 0.94), (300, 0.85)], ids=["apart", "together"])
@pytest.mark.parametrize("controls", CONTROLS, ids=["three-way", "two switches"])
def test_no_tree_of_a_switched_circuit_costs_less_and_the_cheapest_hardly_more(
    controls: str, work: float, share: float, monkeypatch: pytest.MonkeyPatch
) -> None:
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
        none_yet = {leg.box: (0.0, 0.0) for leg in legs}
        asked = wired_of(shed, rooms, SIZES, legs, none_yet, lambda _, feet=feet: feet)
        assert isinstance(asked, Wired)
        best = min(
            pricing.price(turned(circuit.panel, [(names[u], names[v]) for u, v in tree]))
            for tree in all_trees(len(legs))
            if runs_of(tree) == 1
        )
        value, _ = asked.cheapest(price, 1)
        assert 0.99 * best <= value <= best + 1e-6
        with monkeypatch.context() as without:
            without.setattr(wired, "FEW_BOXES", 0)
            without.setattr(alike, "WORK", work)
            counted = wired_of(shed, rooms, SIZES, legs, none_yet, lambda _, feet=feet: feet)
        assert isinstance(counted, Alike)
        values, worth = [], np.zeros(len(names))
        for step in range(60):
            value, cables = counted.cheapest(price, worth, 1)
            values.append(value)
            worth += 6 / (step + 3) * counted.too_often(cables, 1)
        assert share * best <= max(values) <= best + 1e-6


def test_nothing_is_asked_of_many_boxes() -> None:
    said = {f"R{n}": f'circuit: A, device: receptacle, {bay(8 + 4 * n)}, height: 48"' for n in range(FEW_BOXES + 1)}
    shed = building_of(wall_scene(said, more="circuits: {A: {}}"))
    legs = legs_of(shed, SIZES)
    feet = np.ones((len(legs) + 1,) * 2)
    counted = {leg.box: (0.0, 0.0) for leg in legs}
    rooms = Rooms(shed, Limits(shed.limits))
    assert wired_of(shed, rooms, SIZES, legs, counted, lambda _: feet) is None
    assert wired_of(shed, rooms, SIZES, legs[:-1], counted, lambda _: feet[:-1, :-1]) is not None

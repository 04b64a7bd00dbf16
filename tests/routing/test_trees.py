"""The plain tree: a minimum spanning tree where nothing is fixed, else near the cheapest that keeps what is."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator, Mapping

import networkx as nx
import numpy as np
import pytest
from scipy.sparse.csgraph import minimum_spanning_tree

from barnloom.routing.trees import Pair, plain_tree


def random_prices(seed: int, boxes: int) -> tuple[list[str], dict[Pair, float]]:
    """Box ids and a price for every pair of them and the panel P, all different."""
    dice = random.Random(seed)
    ids = [f"b{n}" for n in range(boxes)]
    pairs = [tuple(sorted(pair)) for pair in itertools.combinations(["P", *ids], 2)]
    prices = dice.sample(range(10, 10 + 5 * len(pairs)), len(pairs))
    return ids, {(a, b): float(price) for (a, b), price in zip(pairs, prices, strict=True)}


def total(tree: list[Pair], prices: Mapping[Pair, float]) -> float:
    return sum(prices[min(a, b), max(a, b)] for a, b in tree)


def labelled_trees(nodes: list[str]) -> Iterator[list[Pair]]:
    """Every tree on the nodes, by its sequence of Prüfer: n^(n-2) of them."""
    if len(nodes) == 2:
        yield [(nodes[0], nodes[1])]
        return
    for code in itertools.product(range(len(nodes)), repeat=len(nodes) - 2):
        degree = [1 + code.count(n) for n in range(len(nodes))]
        edges = []
        for n in code:
            leaf = next(k for k, d in enumerate(degree) if d == 1)
            edges.append((nodes[leaf], nodes[n]))
            degree[leaf] -= 1
            degree[n] -= 1
        a, b = [k for k, d in enumerate(degree) if d == 1]
        edges.append((nodes[a], nodes[b]))
        yield edges


def fed_by(edges: list[Pair]) -> dict[str, str]:
    """What feeds each box of a tree, seen from the panel."""
    feeder: dict[str, str] = {}
    queue = ["P"]
    while queue:
        at = queue.pop()
        for a, b in edges:
            other = b if a == at else a if b == at else None
            if other is not None and other != feeder.get(at):
                feeder[other] = at
                queue.append(other)
    return feeder


def cheapest(
    nodes: list[str],
    prices: Mapping[Pair, float],
    *,
    home_runs: int | None,
    cables_max: Mapping[str, int] | None = None,
    pins: Mapping[str, str] | None = None,
) -> float:
    """Price of the cheapest of all trees that keep what is fixed; infinite if none does."""
    best = np.inf
    for edges in labelled_trees(nodes):
        degree = {node: sum(node in edge for edge in edges) for node in nodes}
        if home_runs is not None and degree["P"] != home_runs:
            continue
        if any(degree[box] > most for box, most in (cables_max or {}).items()):
            continue
        if pins and not set(pins.items()) <= fed_by(edges).items():
            continue
        best = min(best, total(edges, prices))
    return best


def fed_once(tree: list[Pair], ids: list[str]) -> bool:
    """Whether every box is fed exactly once, from something that is fed before it."""
    fed = ["P"]
    for feeder, box in tree:
        if feeder not in fed or box in fed:
            return False
        fed.append(box)
    return sorted(fed) == sorted(["P", *ids])


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("boxes", [1, 5, 12, 30])
def test_with_any_home_runs_it_is_a_minimum_spanning_tree(seed: int, boxes: int) -> None:
    ids, prices = random_prices(seed, boxes)
    tree = plain_tree("P", ids, prices, home_runs=None)
    graph = nx.Graph()
    graph.add_weighted_edges_from((a, b, price) for (a, b), price in prices.items())
    of_networkx = nx.minimum_spanning_tree(graph).size(weight="weight")
    number = {name: n for n, name in enumerate(["P", *ids])}
    matrix = np.zeros((boxes + 1, boxes + 1))
    for (a, b), price in prices.items():
        matrix[number[a], number[b]] = price
    assert total(tree, prices) == of_networkx == minimum_spanning_tree(matrix).sum()
    assert fed_once(tree, ids)


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize(
    ("boxes", "home_runs"), [(3, 1), (4, 1), (5, 1), (6, 1), (4, 2), (5, 2), (6, 2), (5, 3), (6, 3)]
)
def test_with_so_many_home_runs_no_tree_at_all_is_cheaper(seed: int, boxes: int, home_runs: int) -> None:
    ids, prices = random_prices(seed, boxes)
    tree = plain_tree("P", ids, prices, home_runs=home_runs)
    assert sum(feeder == "P" for feeder, _ in tree) == home_runs
    assert fed_once(tree, ids)
    assert total(tree, prices) == cheapest(["P", *ids], prices, home_runs=home_runs)


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("home_runs", [1, 2])
def test_pins_are_kept_the_way_round_they_are_and_the_tree_is_near_the_cheapest(seed: int, home_runs: int) -> None:
    ids, prices = random_prices(seed, 6)
    pins = {"b1": "b0", "b4": "b1"} if seed % 2 else {"b5": "b2"}
    tree = plain_tree("P", ids, prices, home_runs=home_runs, pins=pins)
    assert all((feeder, fed) in tree for fed, feeder in pins.items())
    assert sum(feeder == "P" for feeder, _ in tree) == home_runs
    best = cheapest(["P", *ids], prices, home_runs=home_runs, pins=pins)
    assert best <= total(tree, prices) <= 1.4 * best


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("most", [1, 2, 3])
def test_no_box_has_more_cables_than_it_may_and_none_is_left_out(seed: int, most: int) -> None:
    ids, prices = random_prices(seed, 6)
    limit = dict.fromkeys(ids, max(most, 2)) | {ids[0]: most}
    tree = plain_tree("P", ids, prices, cables_max=limit)
    assert fed_once(tree, ids)
    for box in ids:
        assert sum(box in pair for pair in tree) <= limit[box]
    assert sum(feeder == "P" for feeder, _ in tree) == 1


@pytest.mark.parametrize("seed", range(10))
def test_whatever_is_fixed_about_the_panel_and_the_boxes_the_tree_is_near_the_cheapest(seed: int) -> None:
    # Cables a box make the cheapest tree a hard problem; the plain tree is a greedy one and may be a little dearer.
    ids, prices = random_prices(seed, 6)
    limit = dict.fromkeys(ids, 2)
    tree = plain_tree("P", ids, prices, cables_max=limit)
    best = cheapest(["P", *ids], prices, home_runs=1, cables_max=limit)
    assert best <= total(tree, prices) <= 1.5 * best


def test_of_equal_prices_the_lower_id_wins() -> None:
    ids = ["a", "b", "c"]
    prices = {tuple(sorted(pair)): 1.0 for pair in itertools.combinations(["P", *ids], 2)}
    assert plain_tree("P", ids, prices) == [("P", "a"), ("a", "b"), ("a", "c")]  # type: ignore[arg-type]
    assert plain_tree("P", ids[::-1], dict(reversed(prices.items()))) == plain_tree("P", ids, prices)  # type: ignore[arg-type]


def test_a_pair_without_a_price_is_never_joined() -> None:
    prices = {("P", "a"): 9.0, ("P", "b"): 1.0, ("a", "b"): 1.0, ("b", "c"): 5.0}
    assert plain_tree("P", ["a", "b", "c"], prices, home_runs=1) == [("P", "b"), ("b", "a"), ("b", "c")]


def test_a_panel_id_that_sorts_after_the_boxes_changes_nothing() -> None:
    prices = {("a", "b"): 2.0, ("a", "z"): 5.0, ("b", "z"): 6.0}
    assert plain_tree("z", ["a", "b"], prices) == [("z", "a"), ("a", "b")]

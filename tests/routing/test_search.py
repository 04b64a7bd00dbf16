"""Shortest paths over tracks: equal to networkx's, ties by the stated rule, what must be visited is visited."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import networkx as nx
import numpy as np
import pytest
from small_scenes import box, built, panel, scene, tracks, wall

from barnloom.routing.core import Core
from barnloom.routing.cost import edge_prices
from barnloom.routing.search import (
    Network,
    barring,
    cheapest_path,
    distances,
    money,
    nearest,
    network_of,
    walk,
    whole_prices,
)
from barnloom.routing.usage import Usage


def random_network(seed: int, *, nodes: int = 40, edges: int = 110) -> tuple[Network, np.ndarray[Any, Any]]:
    """A network of plain edges between nodes, with no boxes, and whole-number prices."""
    dice = np.random.default_rng(seed)
    ends = dice.integers(0, nodes, size=(edges, 2))
    ends = ends[ends[:, 0] != ends[:, 1]]
    _, first = np.unique(np.sort(ends, axis=1), axis=0, return_index=True)
    ends = ends[np.sort(first)]
    tail, head = np.concatenate([ends, ends[:, ::-1]]).T
    number = np.tile(np.arange(len(ends)), 2)
    order = np.lexsort((head, tail))
    start = np.searchsorted(tail[order], np.arange(nodes + 1))
    nowhere: Any = SimpleNamespace(edges=SimpleNamespace(a=ends[:, 0].copy(), b=ends[:, 1].copy()))
    own, same = np.arange(len(ends) + 1), np.arange(nodes)
    core = Core(start, head[order], number[order], number[order], own, own[:-1], same, same)
    network = Network(nowhere, start, head[order], number[order], tail[order] * nodes + head[order], nodes, 0, {}, core)
    return network, dice.integers(1, 60, size=len(ends)).astype(float)


def as_networkx(network: Network, prices: np.ndarray[Any, Any]) -> nx.Graph:
    graph = nx.Graph()
    graph.add_nodes_from(range(network.nodes))
    tails = np.repeat(np.arange(network.nodes), np.diff(network.start))
    for tail, head, edge in zip(tails, network.target, network.edge, strict=True):
        graph.add_edge(int(tail), int(head), price=prices[edge], edge=int(edge))
    return graph


@pytest.mark.parametrize("seed", range(12))
def test_distances_equal_networkx_on_random_graphs(seed: int) -> None:
    network, prices = random_network(seed)
    graph = as_networkx(network, prices)
    found, before = distances(network, prices, 0)
    expected = nx.single_source_dijkstra_path_length(graph, 0, weight="price")
    for node in range(network.nodes):
        assert found[node] == expected.get(node, np.inf)
        steps = walk(network, before, node)
        if node in expected and node != 0:
            assert [a for a, _, _ in steps] + [node] == [0] + [b for _, b, _ in steps]
            assert sum(prices[edge] for _, _, edge in steps) == found[node]
        else:
            assert steps == []


def test_nothing_is_found_beyond_a_limit() -> None:
    network, prices = random_network(3)
    everything, _ = distances(network, prices, 0)
    bound = float(np.median(everything[np.isfinite(everything)]))
    near, _ = distances(network, prices, 0, bound)
    assert np.array_equal(np.isfinite(near), everything <= bound)


@pytest.mark.parametrize("seed", range(12))
def test_the_nearest_goals_are_those_of_networkx(seed: int) -> None:
    network, prices = random_network(seed)
    dice = np.random.default_rng(300 + seed)
    sources, goals = (dice.choice(network.nodes, size=n, replace=False).tolist() for n in (3, 8))
    expected = nx.multi_source_dijkstra_path_length(as_networkx(network, prices), set(sources), weight="price")
    reached = sorted((expected[goal], goal) for goal in goals if goal in expected)
    found = nearest(network, prices, sources, goals)
    assert {goal: way.price for goal, way in found.items()} == {goal: price for price, goal in reached}
    for goal, way in found.items():
        assert sum(prices[edge] for _, _, edge in way.steps) == way.price
        ends = [a for a, _, _ in way.steps] + [goal]
        assert ends[0] in sources
        assert ends[1:] == [b for _, b, _ in way.steps]
    some = nearest(network, prices, sources, goals, wanted=3)
    assert sorted(way.price for way in some.values()) == [price for price, _ in reached[:3]]
    bound = reached[len(reached) // 2][0]
    near = nearest(network, prices, sources, goals, limit=bound)
    assert set(near) == {goal for price, goal in reached if price <= bound}


def test_what_is_barred_for_a_while_has_its_price_again() -> None:
    network, prices = random_network(7)
    kept = prices.copy()
    with barring(prices, np.array([1, 4])):
        assert np.isinf(prices[[1, 4]]).all()
    assert np.array_equal(prices, kept)


def test_an_edge_of_infinite_price_is_never_used() -> None:
    network, prices = random_network(4)
    barred = prices.copy()
    barred[::3] = np.inf
    graph = as_networkx(network, prices)
    graph.remove_edges_from([(a, b) for a, b, said in graph.edges(data=True) if said["edge"] % 3 == 0])
    expected = nx.single_source_dijkstra_path_length(graph, 0, weight="price")
    found, _ = distances(network, barred, 0)
    assert {n: d for n, d in enumerate(found) if np.isfinite(d)} == expected


@pytest.mark.parametrize("seed", range(8))
def test_a_path_that_must_use_edges_is_the_cheapest_that_does_so_in_order(seed: int) -> None:
    network, prices = random_network(seed, nodes=24, edges=70)
    graph = as_networkx(network, prices)
    dice = np.random.default_rng(100 + seed)
    musts = [dice.choice(len(prices), size=3, replace=False) for _ in range(2)]
    total, steps = cheapest_path(network, prices, 0, network.nodes - 1, musts)
    # By hand: through one edge of the first set, then one of the second, either way round, shortest paths between.
    distance = dict(nx.all_pairs_dijkstra_path_length(graph, weight="price"))
    ends = {said["edge"]: (a, b) for a, b, said in graph.edges(data=True)}

    def between(a: int, b: int) -> float:
        return float(distance[a].get(b, np.inf))

    expected = min(
        between(0, a) + prices[x] + between(b, c) + prices[y] + between(d, network.nodes - 1)
        for x in musts[0]
        for y in musts[1]
        for a, b in (ends[x], ends[x][::-1])
        for c, d in (ends[y], ends[y][::-1])
    )
    assert total == expected
    used = [edge for _, _, edge in steps]
    first = next(n for n, edge in enumerate(used) if edge in musts[0])
    assert any(edge in musts[1] for edge in used[first + 1 :])
    assert sum(prices[edge] for edge in used) == total
    assert [b for _, b, _ in steps[:-1]] == [a for a, _, _ in steps[1:]]


def test_with_nothing_to_visit_a_cheapest_path_is_the_shortest_path() -> None:
    network, prices = random_network(5)
    found, _ = distances(network, prices, 0)
    assert cheapest_path(network, prices, 0, 7, [])[0] == found[7]


def test_no_path_is_told_by_infinity_and_no_steps() -> None:
    network, prices = random_network(6)
    total, steps = cheapest_path(network, np.full(len(prices), np.inf), 0, 7, [np.arange(3)])
    assert total == np.inf
    assert steps == []


def test_a_box_is_never_passed_through() -> None:
    # Two studs, three boxes in three bays in one row: from the first to the third, past the second.
    said = scene(
        walls={"S": wall((0, 0), "east", 80)},
        boxes={"P": panel("S", 8, 48), "B": box("S", 24, 48), "C": box("S", 40, 48)},
    )
    building = built(said)
    laid = tracks(building)
    network = network_of(laid)
    assert network.start[network.into("B")] == network.start[network.into("B") + 1], "no arc leaves a box's way in"
    assert network.out_of("B") not in network.target, "no arc leads to a box's way out"


def test_of_equal_prices_the_hole_lowest_along_wins() -> None:
    # Boxes of equal height: the row above and the row below cost the same; the lower holes are lower along the studs.
    said = scene(walls={"S": wall((0, 0), "east", 80)}, boxes={"P": panel("S", 8, 48), "B": box("S", 40, 48)})
    building = built(said)
    laid = tracks(building)
    network, usage = network_of(laid), Usage(laid)
    kind = next(k for k in building.cable_types if k.id == "12/2")
    price = edge_prices(laid, kind)
    through = laid.edges.bore >= 0
    price[through] += usage.alone_costs(kind.id)[laid.edges.bore[through]]
    prices = whole_prices(laid, price, 0.01)
    found, before = distances(network, prices, network.out_of("P"))
    steps = walk(network, before, network.into("B"))
    rows = {float(laid.bores.along[laid.edges.bore[e]]) for _, _, e in steps if laid.edges.bore[e] >= 0}
    # 48 - 2 (half the box) - 8 (straight start) - 1-1/2 (sole plate) = 36-1/2 along the stud; above it would be 56-1/2.
    assert rows == {36.5}
    higher = np.isin(laid.edges.bore, np.flatnonzero(laid.bores.along < 50))
    above, _ = distances(network, np.where(higher, np.inf, prices), network.out_of("P"))
    assert money(float(above[network.into("B")])) == money(float(found[network.into("B")]))
    assert above[network.into("B")] > found[network.into("B")]


def test_prices_equal_in_money_are_equal_to_the_last_bit() -> None:
    building = built(
        scene(walls={"S": wall((0, 0), "east", 80)}, boxes={"P": panel("S", 8, 48), "B": box("S", 40, 48)})
    )
    laid = tracks(building)
    rate = 0.1 / 12
    prices = whole_prices(laid, laid.edges.length * rate, rate)
    plain = (laid.edges.bore < 0) & (laid.edges.lane >= 0)  # what hangs in the air has a tie of its own
    pairs: dict[float, set[float]] = {}
    for length, price in zip(np.round(laid.edges.length[plain], 6), prices[plain], strict=True):
        pairs.setdefault(float(length), set()).add(float(price))
    assert all(len(found) == 1 for found in pairs.values())

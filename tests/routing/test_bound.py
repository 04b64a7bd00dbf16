"""The bound is below every plan: of all trees and paths on tiny lattices, tried one by one, and of what is planned."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise, product
from pathlib import Path

import networkx as nx
import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from small_scenes import Said, box, built, inches, panel, scene
from test_brute_force import KINDS

from barnloom.model import build, read_scene
from barnloom.model.building import Building
from barnloom.model.errors import SceneError
from barnloom.model.limits import Limits
from barnloom.routing.bound import lower_bound, raising
from barnloom.routing.bound.arborescence import cheapest, cheapest_with
from barnloom.routing.bound.bounding import bounded
from barnloom.routing.bound.clusters import clusters
from barnloom.routing.bound.items import Items
from barnloom.routing.bound.problem import Cable, Problem, Tree, problem_of
from barnloom.routing.bound.shares import Shares
from barnloom.routing.bound.trees import Trees
from barnloom.routing.bound.ways import Ways
from barnloom.routing.cost import pass_key
from barnloom.routing.fastening import staples
from barnloom.routing.job import Job, job_of
from barnloom.routing.plan import Plan
from barnloom.routing.planner import plan_building
from barnloom.routing.wiring.kinds import Sizes
from barnloom.routing.wiring.sizing import ratings

SCENES = Path(__file__).parents[2] / "scenes"
NAMES = ("cider-mill", "garden-studio", "sail-loft", "sheep-shed")
PENNY = 0.011
"""What rounding down and the margin take off."""


# --- tiny lattices: every tree, every path ---------------------------------------------------------------------------


@dataclass(frozen=True)
class Lattice:
    """Places joined by edges, each with a price and perhaps a hole; circuits with the places of their boxes."""

    places: int
    edges: list[tuple[int, int, float, int]]
    holes: list[tuple[float, int, int, float]]
    """Price, room, row (-1: none), what it costs more once tired."""
    rows: list[float]
    fresh: int
    panel: int
    circuits: list[list[int]]
    home_runs: int | None

    def problem(self) -> Problem:
        """The same as the bound takes it: a place is a node, and boxes are two nodes joined to it at no price."""
        boxes = [
            ("P", self.panel),
            *((f"{c}{n}", at) for c, own in enumerate(self.circuits) for n, at in enumerate(own)),
        ]
        first, into = self.places, len(boxes)
        tail, head, edge = [], [], []
        for n, (a, b, _, _) in enumerate(self.edges):
            tail, head, edge = [*tail, a, b], [*head, b, a], [*edge, n, n]
        for n, (_, at) in enumerate(boxes):
            number = len(self.edges) + n
            tail, head, edge = [*tail, first + n, at], [*head, at, first + into + n], [*edge, number, number]
        order = np.lexsort((head, tail))
        count = len(self.edges) + len(boxes)
        item = np.array([hole for *_, hole in self.edges] + [-1] * len(boxes))
        price = np.array([price for _, _, price, _ in self.edges] + [0.0] * len(boxes))
        ways = Ways(
            start=np.searchsorted(np.array(tail)[order], np.arange(first + 2 * into + 1)).astype(np.int32),
            target=np.array(head)[order].astype(np.int32),
            edge=np.array(edge)[order].astype(np.int32),
            inches=price,
            money=price,
            track=np.arange(count),
            first=np.arange(count + 1).astype(np.int32),
            item_first=np.concatenate([[0], np.cumsum(item >= 0)]).astype(np.int32),
            item=item[item >= 0].astype(np.int32),
            boxes={name: first + n for n, (name, _) in enumerate(boxes)},
            into=into,
        )
        items = Items(
            price=np.array([hole[0] for hole in self.holes]),
            room=np.array([hole[1] for hole in self.holes], dtype=np.int64),
            group=np.array([hole[2] for hole in self.holes], dtype=np.int64),
            shared=np.array(self.rows),
            tired=np.array([hole[3] for hole in self.holes]),
            of_bore=np.empty(0, dtype=np.int64),
            of_edge=item,
        )
        trees = []
        for c, own in enumerate(self.circuits):
            names = ["P", *(f"{c}{n}" for n in range(len(own)))]
            cables = [
                Cable(box=name, prices=price, ends={other: 1.0 for other in names if other != name})
                for name in names[1:]
            ]
            trees.append(Tree(panel="P", cables=cables, home_runs=self.home_runs))
        return Problem(ways=ways, items=items, trees=trees, certain=5.0, fresh=self.fresh)

    def best(self) -> float:
        """Price of the cheapest plan: all trees and all simple paths, one by one."""
        best = np.inf
        for legs in product(*(list(self._trees(own)) for own in self.circuits)):
            for ways in product(*(self._paths(*leg) for tree in legs for leg in tree)):
                best = min(best, self._cost(ways))
        return best

    def _trees(self, own: list[int]) -> Iterator[list[tuple[int, int]]]:
        """Every tree of a circuit as cables from place to place."""
        count = len(own) + 1
        for feeders in product(range(count), repeat=count - 1):
            hanging = {0}
            while more := {v for v, u in enumerate(feeders, 1) if u in hanging} - hanging:
                hanging |= more
            if len(hanging) == count and feeders.count(0) in self._runs(len(own)):
                places = [self.panel, *own]
                yield [(places[u], places[v]) for v, u in enumerate(feeders, 1)]

    def _runs(self, boxes: int) -> range:
        """How many cables of a circuit with so many boxes may leave the panel."""
        few = 1 if self.home_runs is None else min(self.home_runs, boxes)
        return range(few, (boxes if self.home_runs is None else few) + 1)

    def _paths(self, start: int, end: int) -> list[tuple[float, frozenset[int]]]:
        """Price and holes of every simple path between two places."""
        found, waiting = [], [((start,), 0.0, frozenset[int]())]
        while waiting:
            way, price, holes = waiting.pop()
            if way[-1] == end:
                found.append((price, holes))
                continue
            for a, b, more, hole in self.edges:
                for here, there in ((a, b), (b, a)):
                    if here == way[-1] and there not in way and hole not in holes:
                        waiting.append(((*way, there), price + more, holes | ({hole} if hole >= 0 else frozenset())))
        return found

    def _cost(self, ways: tuple[tuple[float, frozenset[int]], ...]) -> float:
        used = [hole for _, holes in ways for hole in holes]
        bored = set(used)
        if any(used.count(hole) > self.holes[hole][1] for hole in bored):
            return np.inf
        tired = sorted((self.holes[hole][3] for hole in bored if self.holes[hole][3] > 0), reverse=True)
        rows = {self.holes[hole][2] for hole in bored} - {-1}
        return (
            5.0
            + sum(price + 1.0 for price, _ in ways)
            + sum(self.holes[hole][0] for hole in bored)
            + sum(self.rows[row] for row in rows)
            + (sum(tired[self.fresh :]) if self.fresh > 0 else 0.0)
        )


def lattice(dice: random.Random) -> Lattice:
    """A random lattice with one to three boxes in each of one or two circuits."""
    wide, high = dice.choice([(2, 2), (3, 2), (2, 3)])
    steps = [(x + wide * y, x + 1 + wide * y) for y in range(high) for x in range(wide - 1)]
    steps += [(x + wide * y, x + wide * (y + 1)) for y in range(high - 1) for x in range(wide)]
    rows = [dice.choice([0.0, 1.0, 3.0]) for _ in range(2)]
    edges, holes = [], []
    for a, b in steps:
        bored = dice.random() < 0.7
        edges.append((a, b, dice.choice([0.5, 1.0, 2.0]), len(holes) if bored else -1))
        if bored:
            tires = dice.random() < 0.5
            hole = (
                dice.choice([1.0, 2.0, 4.0]),
                dice.choice([1, 2, 3, 9]),
                dice.choice([-1, 0, 1]),
                1.0 if tires else 0.0,
            )
            holes.append(hole)
    places = range(wide * high)
    count = dice.choice([[2], [3], [1, 2], [2, 2]])
    circuits = [[dice.choice(places) for _ in range(boxes)] for boxes in count]
    return Lattice(
        places=wide * high, edges=edges, holes=holes, rows=rows, fresh=dice.choice([0, 1, 3]),
        panel=dice.choice(places), circuits=circuits, home_runs=dice.choice([None, 1, 1, 2]),
    )  # fmt: skip


def test_bound_is_below_the_best_of_all_trees_and_paths_and_near_it(monkeypatch: pytest.MonkeyPatch) -> None:
    gaps = []
    for seed in range(240):
        monkeypatch.setattr(raising, "APART", 3 if seed % 3 else 40)
        tiny = lattice(random.Random(seed))
        best = tiny.best()
        if not np.isfinite(best):
            continue
        for rounds, nodes in ((0, 0), (25, 0 if seed % 4 else 40)):
            found = bounded(tiny.problem(), best, rounds, nodes)
            assert found.value <= best + 1e-9, seed
            assert not found.closed or found.value >= best - PENNY, seed
        if seed % 4 == 0:
            gaps.append((best - found.value) / best)
    assert len(gaps) > 40
    assert float(np.mean(gaps)) < 0.02
    assert sum(gap < 0.002 for gap in gaps) > 0.6 * len(gaps)


def test_what_is_called_closed_is_never_above_the_best() -> None:
    """Told a cost that no plan has, the bound does not follow it."""
    for seed in range(50):
        tiny = lattice(random.Random(seed))
        best = tiny.best()
        if np.isfinite(best):
            found = bounded(tiny.problem(), 2 * best, 25, 30)
            assert found.value <= best + 1e-9
            assert not found.closed


@given(st.integers(2, 5), st.randoms(use_true_random=False))
@settings(deadline=None, max_examples=60)
def test_arborescence_is_the_cheapest_of_all(count: int, dice: random.Random) -> None:
    price = np.array([[dice.choice([1.0, 2.0, 3.0, 5.0, 8.0]) for _ in range(count)] for _ in range(count)])
    sums = []
    for feeders in product(range(count), repeat=count - 1):
        hanging = {0}
        while more := {v for v, u in enumerate(feeders, 1) if u in hanging and u != v} - hanging:
            hanging |= more
        if len(hanging) == count:
            sums.append(sum(price[u, v] for v, u in enumerate(feeders, 1)))
    found = cheapest(price)
    assert sum(price[u, v] for v, u in enumerate(found) if u >= 0) == min(sums)


@given(st.integers(2, 14), st.sampled_from([5, 50]), st.integers(0, 2**32 - 1))
@settings(deadline=None, max_examples=150)
def test_arborescence_costs_what_networkx_finds(count: int, dearest: int, seed: int) -> None:
    dice = np.random.default_rng(seed)
    price = dice.integers(1, dearest, size=(count, count)).astype(np.float64)
    price[dice.random((count, count)) < 0.3] = np.inf
    graph = nx.DiGraph()
    graph.add_nodes_from(range(count))
    arcs = [(u, v) for u, v in product(range(count), range(1, count)) if u != v and np.isfinite(price[u, v])]
    graph.add_weighted_edges_from((u, v, price[u, v]) for u, v in arcs)
    if len(nx.descendants(graph, 0)) < count - 1:
        with pytest.raises(ValueError, match="no cable reaches"):
            cheapest(price)
        return
    try:
        known = nx.minimum_spanning_arborescence(graph).edges(data="weight")
    except nx.NetworkXException:  # of a thousand graphs there are one or two in which it misses every arborescence
        assume(False)
    found = cheapest(price)
    assert sum(price[found[v], v] for v in range(1, count)) == sum(weight for *_, weight in known)
    hanging = nx.DiGraph((int(found[v]), v) for v in range(1, count))
    assert nx.descendants(hanging, 0) == set(range(1, count))


@given(st.integers(2, 4), st.integers(1, 4), st.randoms(use_true_random=False))
@settings(deadline=None, max_examples=60)
def test_no_arborescence_with_so_many_home_runs_is_cheaper(count: int, runs: int, dice: random.Random) -> None:
    price = np.array([[dice.uniform(1, 9) for _ in range(count + 1)] for _ in range(count + 1)])
    few, found = min(runs, count), []
    for feeders in product(range(count + 1), repeat=count):
        hanging = {0}
        while more := {v for v, u in enumerate(feeders, 1) if u in hanging} - hanging:
            hanging |= more
        if len(hanging) == count + 1 and feeders.count(0) == few:
            found.append(sum(price[u, v] for v, u in enumerate(feeders, 1)))
    value, _ = cheapest_with(price, runs)
    assert value == pytest.approx(min(found))


def test_where_no_tree_can_be_the_bound_is_infinite_and_nothing_is_closed() -> None:
    problem = lattice(random.Random(1)).problem()
    tree, *others = problem.trees
    cable, *rest = tree.cables
    nobody = replace(tree, cables=[replace(cable, ends={}), *rest])
    bound = bounded(replace(problem, trees=[nobody, *others]), 100.0, 3)
    assert bound.value == np.inf
    assert not bound.closed


@pytest.mark.parametrize("seed", range(12))
def test_payments_never_come_to_more_than_items_cost(seed: int) -> None:
    problem = lattice(random.Random(seed)).problem()
    trees = Trees(problem)
    shares = Shares(problem.items, problem.items.price, trees.count, trees.once)
    for turn in range(40):
        if turn == 10:
            trees.open_clusters()
        _, used = trees.cheapest(shares)
        shares.push(used, 20.0, 0.5)
        assert shares.too_much() < 1e-9
        assert min(shares.doors.min(), shares.pairs.min(initial=0.0), shares.each.min(), shares.given.min()) >= 0


def test_clusters_are_what_is_joined_and_what_hangs_on_a_joint() -> None:
    places = np.array([0.0, 10.0, 11.0, 13.0, 30.0])  # a panel and four boxes in a row
    found = clusters(np.abs(places[:, None] - places))
    assert [np.flatnonzero(one).tolist() for one in found] == [[1, 2, 3, 4], [1, 2], [1, 2, 3], [2, 3, 4], [3, 4]]
    assert [np.flatnonzero(one).tolist() for one in clusters(np.array([[np.inf, 1.0], [1.0, np.inf]]))] == [[1]]


def test_a_hole_that_whatever_home_run_needs_is_paid_once_for_a_circuit() -> None:
    """Three boxes behind one hole: a third of a home run into each of them does not do."""
    behind = [(1, 2, 1.0, -1), (2, 3, 1.0, -1), (1, 3, 1.0, -1)]
    tiny = Lattice(
        places=4, edges=[(0, 1, 1.0, 0), *behind], holes=[(6.0, 9, -1, 0.0)], rows=[], fresh=0,
        panel=0, circuits=[[1, 2, 3]], home_runs=1,
    )  # fmt: skip
    best = tiny.best()
    assert best - PENNY <= bounded(tiny.problem(), best, 40).value <= best


@pytest.mark.parametrize("home_runs", [None, 2])
def test_a_hole_that_two_cables_into_a_cluster_need_is_paid_once(
    home_runs: int | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(raising, "APART", 2)
    tiny = Lattice(
        places=4, edges=[(0, 1, 0.2, 0), (1, 2, 2.0, -1), (1, 3, 2.0, -1)], holes=[(6.0, 9, -1, 0.0)], rows=[], fresh=0,
        panel=0, circuits=[[2, 3]], home_runs=home_runs,
    )  # fmt: skip
    best = tiny.best()
    assert best == pytest.approx(5 + 2 * (0.2 + 2 + 1) + 6)
    assert bounded(tiny.problem(), best + 3, 60).value <= best


# --- buildings -------------------------------------------------------------------------------------------------------


def laid_out(building: Building) -> Job:
    return job_of(building, lambda _: None, None)


def sizes_of(plan: Plan) -> Sizes:
    """Conductors as a plan has them, cable by cable."""
    rated, _ = ratings(plan.building, Limits(plan.building.limits))
    sizes = {kind.id: kind.awg for kind in plan.building.cable_types}
    awg = {cable.id: sizes[cable.type] for cable in plan.cables}
    return Sizes(circuits={name: rating.awg for name, rating in rated.items()}, cables=awg)


@cache
def planned(name: str) -> tuple[Job, Plan]:
    building = build(read_scene(SCENES / f"{name}.yaml").scene)
    return laid_out(building), plan_building(building)


def drawn_price(plan: Plan, name: str) -> float:
    """What a cable's line costs by the plan's own figures: feet, holes passed, turns, staples, covers; not its ends."""
    building = plan.building
    price, cable = building.prices, next(cable for cable in plan.cables if cable.id == name)
    minute, kind = price["minute"], next(kind for kind in building.cable_types if kind.id == cable.type)
    poses = {bore.id: bore.pose for bore in plan.bores}
    feet = (cable.path_in + cable.slack_in) / 12 * kind.price_ft + minute * price["pull_ft"] * cable.path_in / 12
    work = minute * (cable.turns * price["turn"] + sum(price[pass_key(poses[bore])] for bore in cable.bores))
    wall, above = staples(building, cable.points, cable.tracks, Limits(building.limits)["cable.support"])
    held = minute * (wall * price["staple_wall"] + above * price["staple_overhead"])
    covered = cable.covered_in / 12 * price["cover_ft"]
    return feet + work + held + (wall + above) * price["staple_each"] + covered


def check_lines(job: Job, plan: Plan) -> int:
    """Every cable of a plan costs at least what the ways below say of its holes and boards."""
    problem, tracks = problem_of(job, sizes_of(plan)), job.network.tracks
    trees, checked = Trees(problem), 0
    members = {member.id: n for n, member in enumerate(plan.building.members)}
    holes = {bore.id: bore for bore in plan.bores}
    boards = [tracks.building.members[face.member].id for face in tracks.faces]
    for circuit in trees.circuits:
        for n, cable in enumerate(circuit.tree.cables):
            line = next((c for c in plan.cables if c.to_box == cable.box and c.from_box in circuit.names), None)
            if line is None or line.done or line.circuit != job.building.circuits[trees.circuits.index(circuit)].id:
                continue
            prices = np.full(len(problem.items.price), np.inf)
            for bore in (holes[name] for name in line.bores):
                near = (tracks.bores.member == members[bore.member]) & (abs(tracks.bores.along - bore.along_in) < 1e-3)
                prices[problem.items.of_bore[near & (problem.items.of_bore >= 0)]] = 0.0
            walked = {track.split(" ")[0] for track in line.tracks}
            for number, face in enumerate(boards):
                if face in walked:
                    low, high = int(tracks.face_base[number]), int(tracks.face_base[number + 1])
                    on = problem.items.of_edge[(tracks.edges.a >= low) & (tracks.edges.a < high)]
                    prices[on[on >= 0]] = np.where(np.isinf(prices[on[on >= 0]]), 0.0, prices[on[on >= 0]])
            at = circuit.names.index(line.from_box)
            far, _ = trees.pricer.reach(cable, line.from_box, circuit.ahead(at), prices)
            assert far <= drawn_price(plan, line.id) + 1e-6, line.id
            assert circuit.names[n + 1] == cable.box
            checked += 1
    return checked


@pytest.mark.parametrize("name", NAMES)
def test_no_cable_of_a_scene_costs_less_than_its_ways(name: str) -> None:
    job, plan = planned(name)
    assert check_lines(job, plan) >= 3


@pytest.mark.parametrize("name", NAMES)
def test_no_scene_costs_less_than_its_bound(name: str) -> None:
    job, plan = planned(name)
    found = [lower_bound(job, sizes_of(plan), upper=plan.cost, effort="quick")]
    if name != "sail-loft":
        found.append(lower_bound(job, sizes_of(plan), upper=plan.cost))
    values = [bound.value for bound in found]
    assert values == sorted(values)
    assert plan.cost * 0.6 < values[-1] <= plan.cost


PRICES = ({}, {"turn": 3, "staple_wall": 2, "staple_overhead": 3}, {"stud": 6, "row_setup": 9}, {"fatigue_after": 1})


@st.composite
def buildings(draw: st.DrawFn) -> Building | None:
    """A panel and up to five boxes of one or two circuits in a small building; None where they do not fit."""
    dice = draw(st.randoms(use_true_random=False))
    said = draw(st.sampled_from(KINDS))(dice)
    boxes = {"P": panel(*somewhere(said, dice))}
    for n in range(draw(st.integers(1, 5))):
        circuit = draw(st.sampled_from("AB"))
        floors = list(said.get("floors", {}))
        if floors and draw(st.booleans()):
            size = [float(x.rstrip('"')) for x in said["floors"][floors[0]]["size"]]
            at = [inches(dice.randrange(8, int(x) - 8)) for x in size]
            light = {"ceiling": floors[0], "at": at, "size": ['4"', '4"', '1-1/2"']}
            boxes[f"B{n}"] = {"circuit": circuit, **light}
        else:
            boxes[f"B{n}"] = box(*somewhere(said, dice), circuit)
    circuits = {name: {"cable": "12/2", "panel": "P"} for name in "AB"}
    lengths = {"slack": draw(st.sampled_from([0, 0.05])), "box_rise": inches(draw(st.sampled_from([0, 8])))}
    prices = draw(st.sampled_from([*PRICES, "fewest feet"]))
    try:
        return built(scene(**said, boxes=boxes, circuits=circuits, lengths=lengths, prices=prices))
    except SceneError:
        return None


def somewhere(said: Said, dice: random.Random) -> tuple[str, int, int]:
    """A wall, and how far along it and how high up."""
    name = dice.choice(list(said["walls"]))
    length = float(said["walls"][name]["length"].rstrip('"'))
    return name, dice.randrange(6, int(length) - 6), dice.randrange(16, 60)


@given(buildings())
@settings(deadline=None, max_examples=15, suppress_health_check=list(HealthCheck))
def test_no_small_building_costs_less_than_its_bound(building: Building | None) -> None:
    assume(building is not None)
    plan = plan_building(building)
    assume(not plan.unreached)
    job = laid_out(building)
    found = lower_bound(job, sizes_of(plan), upper=plan.cost)
    assert found.value <= plan.cost
    check_lines(job, plan)


def test_rounds_only_raise_it() -> None:
    job, plan = planned("garden-studio")
    heard: list[float] = []
    found = lower_bound(
        job, sizes_of(plan), upper=plan.cost, effort="normal", progress=lambda _, value: heard.append(value)
    )
    assert all(a <= b for a, b in pairwise(heard))
    assert heard[-1] - PENNY <= found.value <= plan.cost
    assert found == lower_bound(job, sizes_of(plan), upper=plan.cost, effort="normal")

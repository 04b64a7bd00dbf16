"""The search for a cheaper plan: one price for all passes, which is the plan's; never dearer; the same each time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from barnloom.model import read_building
from barnloom.model.building import Building
from barnloom.model.limits import Limits
from barnloom.routing import improve, planner
from barnloom.routing.check import check
from barnloom.routing.cost import LADDER_HOLES, hole_prices
from barnloom.routing.feeds import chosen_trees
from barnloom.routing.finish import whole
from barnloom.routing.improve import Kept, improvements
from barnloom.routing.job import Job, job_of
from barnloom.routing.plan import Plan
from barnloom.routing.planner import plan_building
from barnloom.routing.settle import Settled, settled
from barnloom.routing.store import plan_to_json
from barnloom.routing.wiring.kinds import Sizes
from barnloom.routing.wiring.sizing import Rating, ratings

SCENES = sorted((Path(__file__).parents[2] / "scenes").glob("*.yaml"))


def begun(building: Building) -> tuple[Job, Settled, Sizes, dict[str, Rating]]:
    """A building with its first routes."""
    rated, _ = ratings(building, Limits(building.limits))
    sizes = Sizes(circuits={name: rating.awg for name, rating in rated.items()})
    job = job_of(building, lambda _: None, None)
    return job, settled(job, chosen_trees(job.network, sizes, job.rooms), sizes), sizes, dict(rated)


@pytest.fixture(params=SCENES, ids=lambda path: path.stem)
def building(request: pytest.FixtureRequest) -> Building:
    return read_building(request.param)


def test_the_search_counts_what_the_plan_costs(building: Building) -> None:
    """All but what is only known of a drawn line: staples, and steps that are no turns."""
    job, best, sizes, rated = begun(building)
    plan, _ = whole(job, best, rated, sizes)
    price, parts = building.prices, plan.cost_parts
    by_search = best.layout.price()
    turns = price["minute"] * price["turn"]
    staple = price["minute"] * price["staple_overhead"] + price["staple_each"]
    # Each stretch between two turns may begin a staple more than its feet ask for.
    stretches = sum(len(cable.tracks) + 2 for cable in plan.cables)  # two staples at least
    assert by_search <= plan.cost + turns * len(plan.cables)
    assert plan.cost <= by_search + staple * stretches
    # What is counted of holes is the same to a millionth where no hole lies beside its place in the row.
    holes = sum(parts[name] for name in ("holes", "overhead", "rows", "nail plates"))
    assert best.layout.usage.holes.total(list(best.layout.usage.loads)) == pytest.approx(holes, rel=0.01)


def test_the_price_of_holes_is_the_sum_of_what_each_part_of_it_says() -> None:
    """By hand: twelve overhead holes in one row, each 2.5 min; ten do not tire, two cost half as much again."""
    building = read_building(next(path for path in SCENES if path.stem == "sail-loft"))
    building = replace(building, prices={**building.prices, "minute": 1.0, "nail_plate": 0.0, "nail_plate_each": 0.0})
    job = job_of(building, lambda _: None, None)
    holes = hole_prices(job.network.tracks)
    poses = job.network.tracks.bores.pose
    low = [n for n, pose in enumerate(poses) if pose == "joist_low"]
    rows = holes.row[low]
    row = max(set(rows.tolist()), key=rows.tolist().count)
    twelve = [n for n in low if holes.row[n] == row][:12]
    assert len(twelve) == 12
    price = building.prices
    expected = 12 * price["joist_low"] + 2 * 0.5 * price["joist_low"] + price["row_setup"]
    expected += 12 / LADDER_HOLES * price["ladder_move"]
    assert holes.total(twelve) == pytest.approx(expected)
    assert not holes.tires(twelve[:9])
    assert holes.tires(twelve[:10])


def test_every_state_of_the_search_is_a_plan_without_fault_and_cheaper_than_the_one_before(building: Building) -> None:
    job, best, sizes, rated = begun(building)
    before: Kept | None = None
    checked = 0
    for kept in improvements(job, best, sizes, "normal"):
        assert kept.cost == pytest.approx(best.layout.price())
        if before is not None:
            assert kept.cost < before.cost
        if before is None or checked < 6:
            plan, _ = whole(job, Settled(best.layout, kept.orders), rated, sizes)
            # Conductors are not made larger here, as a whole plan would have them.
            faults = [
                one for one in check(plan) if one.severity == "fault" and not one.code.startswith(("drop", "amp"))
            ]
            assert faults == []
            checked += 1
        before = kept
    assert before is not None
    best.layout.restore(before.lie)
    assert best.layout.price() == pytest.approx(before.cost)


def test_more_effort_is_never_dearer_and_the_same_each_time() -> None:
    building = read_building(next(path for path in SCENES if path.stem == "cider-mill"))
    plans = [plan_building(building, effort=effort) for effort in ("quick", "normal", "normal")]
    assert plans[1].cost <= plans[0].cost
    assert plan_to_json(plans[1]) == plan_to_json(plans[2])
    assert [plan.searched.effort for plan in plans if plan.searched] == ["quick", "normal", "normal"]


def test_an_interrupted_search_gives_the_best_plan_so_far_marked_so(monkeypatch: pytest.MonkeyPatch) -> None:
    building = read_building(next(path for path in SCENES if path.stem == "sail-loft"))
    real = improve.improvements

    def cut_short(job: Job, best: Settled, sizes: Sizes, effort: str) -> Iterator[Kept]:
        for number, kept in enumerate(real(job, best, sizes, effort)):
            yield kept
            if number == 2:
                best.layout.lift(next(iter(best.layout.paths)))  # in the middle of a try
                raise KeyboardInterrupt

    monkeypatch.setattr(planner, "improvements", cut_short)
    said: list[str] = []
    plan: Plan = plan_building(building, effort="normal", progress=said.append)
    assert plan.searched is not None
    assert plan.searched.interrupted
    assert any("interrupted" in line for line in said)
    assert plan.unreached == ()
    assert [finding for finding in check(plan) if finding.severity == "fault"] == []
    assert plan.cost < plan_building(building, effort="quick").cost + 40

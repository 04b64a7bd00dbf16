"""What-ifs: plans of the scene that are counted with its own prices, each the best of all found for what it seeks."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from barnloom.model import read_building
from barnloom.model.building import Building
from barnloom.model.errors import InputError
from barnloom.model.prices import default_prices
from barnloom.routing.check import check
from barnloom.routing.plan import Plan
from barnloom.routing.whatif import (
    GROUPS,
    Chosen,
    Tried,
    applies,
    chosen,
    plan_what_if,
    sought,
    what_if_named,
    what_ifs,
)
from tests.routing.small_scenes import box, built, panel, planned, scene, wall

SCENES = Path(__file__).parents[2] / "scenes"
OVERHEAD = {"joist_low", "joist_mid", "joist_high", "plate_below"}
"""Poses of holes bored from below, over one's head (common practice, no source)."""


@pytest.fixture(scope="module")
def mill() -> Building:
    return read_building(SCENES / "cider-mill.yaml")


@pytest.fixture(scope="module")
def found(mill: Building) -> dict[str, Plan]:
    """The plan that each search finds."""
    begin = plan_what_if(mill, what_ifs()[0])
    return {one.id: begin if one is what_ifs()[0] else plan_what_if(mill, one, begin=begin) for one in what_ifs()}


@pytest.fixture(scope="module")
def rows(mill: Building, found: dict[str, Plan]) -> dict[str, Chosen]:
    """The plan of each what-if, by its id."""
    tried = [Tried(what_if=what_if_named(name), plan=plan) for name, plan in found.items()]
    return {one.what_if.id: one for one in chosen(mill, tried)}


def plan_of(row: Chosen) -> Plan:
    assert row.plan is not None
    return row.plan


def counted(plan: Plan) -> dict[str, float]:
    """What a plan comes to, counted anew."""
    new = [bore for bore in plan.bores if not bore.existing]
    return {
        "money": plan.cost,
        "feet": sum(cable.cut_in for cable in plan.cables),
        "holes": len(new),
        "overhead": sum(bore.pose in OVERHEAD for bore in new),
    }


def same(*plans: tuple[str, Plan | None]) -> list[Tried]:
    """Plans by the what-if whose search found them."""
    return [Tried(what_if=what_if_named(name), plan=plan, why="" if plan else "why not") for name, plan in plans]


# --- what they are ---------------------------------------------------------------------------------------------------


def test_the_scene_as_it_is_comes_first_and_changes_nothing() -> None:
    first = what_ifs()[0]
    assert (first.id, first.prices, first.rest, first.feed_at) == ("scene", {}, 1.0, "")


def test_every_price_that_a_what_if_names_is_one() -> None:
    for one in what_ifs():
        assert {key for name in one.prices for key in GROUPS.get(name, (name,))} <= default_prices().keys()


def test_a_name_that_is_none_is_told_with_the_nearest() -> None:
    with pytest.raises(InputError, match=r"fewest-hole.*did you mean fewest-holes"):
        what_if_named("fewest-hole")


def test_where_no_light_follows_a_switch_feeds_are_not_asked_about(mill: Building) -> None:
    studio = read_building(SCENES / "garden-studio.yaml")
    assert [one.id for one in what_ifs() if not applies(one, studio)] == ["feed-at-light", "feed-at-switch"]
    assert all(applies(one, mill) for one in what_ifs())


# --- what is found ---------------------------------------------------------------------------------------------------


def test_each_is_a_sound_plan_of_the_scene_at_its_own_prices(mill: Building, rows: dict[str, Chosen]) -> None:
    """The check adds up the cost anew, from the building that is in the plan."""
    for name, row in rows.items():
        plan = plan_of(row)
        assert [str(one) for one in check(plan) if one.severity == "fault"] == []
        assert plan.building.prices == mill.prices
        wiring = replace(mill.wiring, feed_at={"feed-at-light": "light", "feed-at-switch": "switch"}.get(name, ""))
        assert plan.building == replace(mill, wiring=wiring)


def test_none_is_beaten_in_what_it_seeks(found: dict[str, Plan], rows: dict[str, Chosen]) -> None:
    for row in rows.values():
        if not row.what_if.feed_at:
            seeks = row.what_if.seeks
            least = min(counted(plan)[seeks] for plan in found.values())
            assert counted(plan_of(row))[seeks] == pytest.approx(least, abs=1e-6)
            assert sought(plan_of(row), seeks) == pytest.approx(least, abs=1e-6)


def test_each_search_gains_in_what_it_seeks(found: dict[str, Plan]) -> None:
    """In the cider mill there is a way to have less of each; these are found by the searches themselves."""
    scene_ = counted(found["scene"])
    for name, seeks in (("fewest-feet", "feet"), ("fewest-holes", "holes"), ("fewest-overhead", "overhead")):
        assert counted(found[name])[seeks] < scene_[seeks]
        assert counted(found[name])["money"] > scene_["money"]


def test_work_weighs_in_a_search_even_where_the_scene_counts_cable_alone(mill: Building) -> None:
    feet_only = replace(mill, prices=default_prices("fewest feet"))
    scene_, fewest = (plan_what_if(feet_only, what_if_named(name)) for name in ("scene", "fewest-holes"))
    assert counted(fewest)["holes"] < counted(scene_)["holes"]
    assert fewest.building.prices == feet_only.prices


def test_a_lower_bound_holds_only_for_the_prices_it_was_proven_with(monkeypatch: pytest.MonkeyPatch) -> None:
    small = built(
        scene(walls={"N": wall((240, 0), "west", 240)}, boxes={"P": panel("N", 24, 48), "B": box("N", 88, 48)})
    )
    plan = replace(planned(small), lower_bound=1.0)
    monkeypatch.setattr("barnloom.routing.whatif.plan_building", lambda building, **_: replace(plan, building=building))
    bounds = {one.id: plan_what_if(small, one).lower_bound for one in what_ifs()}
    assert bounds["scene"] == 1.0
    assert [bounds[name] for name in ("fewest-feet", "fewest-holes", "fewest-overhead")] == [None] * 3


# --- which of them is taken ------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def small() -> Plan:
    boxes = {"P": panel("N", 24, 48), "B": box("N", 88, 48)}
    return planned(scene(walls={"N": wall((240, 0), "west", 240)}, boxes=boxes))


def test_a_cheaper_plan_of_another_search_is_the_scenes(small: Plan) -> None:
    cheaper = replace(small, cost=small.cost - 1)
    rows = chosen(small.building, same(("scene", small), ("fewest-holes", cheaper)))
    assert [(row.found_by.id, plan_of(row).cost) for row in rows] == [("fewest-holes", cheaper.cost)] * 2


def test_of_plans_that_are_as_good_each_keeps_its_own(small: Plan) -> None:
    rows = chosen(small.building, same(("scene", small), ("fewest-holes", small)))
    assert [row.found_by.id for row in rows] == ["scene", "fewest-holes"]


def test_fewer_holes_count_more_than_money_and_reached_boxes_more_than_holes(small: Plan) -> None:
    fewer = replace(small, bores=small.bores[:1], cost=small.cost + 9)
    [_, row] = chosen(small.building, same(("scene", small), ("fewest-holes", fewer)))
    assert (row.found_by.id, plan_of(row).cost) == ("fewest-holes", fewer.cost)
    lost = replace(fewer, unreached=("B",))
    [_, row] = chosen(small.building, same(("scene", small), ("fewest-holes", lost)))
    assert row.found_by.id == "scene"


def test_a_search_without_a_plan_takes_the_best_there_is_and_none_is_none(small: Plan) -> None:
    [_, row] = chosen(small.building, same(("scene", small), ("fewest-holes", None)))
    assert (row.found_by.id, row.tried.why, plan_of(row).cost) == ("scene", "why not", small.cost)
    assert [row.plan for row in chosen(small.building, same(("scene", None)))] == [None]


def test_a_cheap_plan_that_feeds_otherwise_is_not_taken(mill: Building, found: dict[str, Plan]) -> None:
    gift = replace(found["feed-at-light"], cost=1.0)
    rows = chosen(
        mill, same(("scene", found["scene"]), ("feed-at-light", gift), ("feed-at-switch", found["feed-at-switch"]))
    )
    assert [row.found_by.id for row in rows] == ["feed-at-light", "feed-at-light", "feed-at-switch"]
    assert [plan_of(row).building.wiring.feed_at for row in rows] == ["", "light", "switch"]


def test_where_neither_keeps_it_each_stays_with_what_its_own_warnings_say(
    mill: Building, found: dict[str, Plan]
) -> None:
    at_light = replace(mill, wiring=replace(mill.wiring, feed_at="light"))
    broken = replace(found["feed-at-switch"], building=at_light)
    rows = chosen(mill, same(("scene", replace(broken, building=mill, cost=1.0)), ("feed-at-light", broken)))
    assert [row.found_by.id for row in rows] == ["scene", "feed-at-light"]
    assert plan_of(rows[1]).warnings == broken.warnings

"""Prices: the defaults, the other ways of counting, and a scene's changes."""

from __future__ import annotations

import pytest

from barnloom.model.prices import HOLES, PriceError, default_prices, price_list, resolved_prices

MINUTES = {  # common practice, no source: minutes for a handy owner
    **{"stud": 1.2, "stud_high": 1.8, "stud_doubled": 2.5, "corner": 3.0, "block": 2.0, "sole_plate": 2.0, "rim": 6.0},
    **{
        "joist_low": 2.5,
        "joist_mid": 3.5,
        "joist_high": 5.0,
        "joist_above": 1.5,
        "plate_below": 3.0,
        "plate_above": 2.0,
    },
    **{"pull_ft": 0.06, "pass_stud": 0.1, "pass_joist": 0.2, "off_row": 0.4, "turn": 0.5, "thread_plate": 1.0},
    **{"staple_wall": 0.35, "staple_overhead": 0.6, "nail_plate": 0.5, "seal": 0.7, "box_entry": 2.0, "panel_end": 8.0},
    **{"board_wall_ft": 0.3, "board_overhead_ft": 0.5, "row_setup": 3.0, "ladder_move": 1.0},
    **{"make_receptacle": 6.0, "make_switch": 6.0, "make_three_way": 9.0, "make_light": 12.0},
    "tight_box": 5.0,  # this tool's own
}


@pytest.mark.parametrize(("key", "minutes"), MINUTES.items())
def test_minutes_are_those_of_common_practice(key: str, minutes: float) -> None:
    assert default_prices()[key] == minutes


def test_the_list_says_unit_and_confidence_of_every_price() -> None:
    for price in price_list():
        assert price.unit in {"min", "money", "count", "factor"}
        assert price.confidence in {"high", "medium", "low", "placeholder"}
        assert price.what
    assert {price.key for price in price_list() if price.unit == "min"} == set(MINUTES)


def test_the_other_ways_of_counting_price_the_same_keys() -> None:
    assert set(default_prices("fewest feet")) == set(default_prices("fewest holes")) == set(default_prices())


def test_fewest_feet_makes_work_and_material_free() -> None:
    free = default_prices("fewest feet")
    assert {price.key for price in price_list() if free[price.key] > 0} == {"fatigue_after", "fatigue", "rough_timber"}


def test_under_fewest_holes_every_hole_weighs_as_much_as_twenty_stud_holes() -> None:
    money, dear = default_prices(), default_prices("fewest holes")
    assert {dear[key] for key in HOLES} == {20 * 1.2}
    assert (dear["seal"], dear["rough_timber"], dear["fatigue"]) == (0.0, 1.0, 1.0)
    assert all(dear[key] == money[key] for key in set(money) - set(HOLES) - {"seal", "rough_timber", "fatigue"})


def test_a_scene_changes_single_prices_of_the_default() -> None:
    assert resolved_prices({"stud": 2, "minute": 1}) == default_prices() | {"stud": 2.0, "minute": 1.0}
    assert resolved_prices("fewest feet") == default_prices("fewest feet")
    assert resolved_prices({}) == resolved_prices() == default_prices()


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"studs": 1}, r"the price 'studs'.*did you mean stud\?"),
        ({"stud": -1}, "-1 for the price stud; expected a number from 0 up"),
        ({"stud": float("nan")}, "expected a number from 0 up"),
        ({"stud": float("inf")}, "expected a number from 0 up"),
        ("fewest feets", r"expected one of money.*did you mean fewest feet\?"),
    ],
)
def test_a_price_that_cannot_be_is_refused_with_a_way_out(said: dict[str, float] | str, words: str) -> None:
    with pytest.raises(PriceError, match=words):
        resolved_prices(said)


def test_changing_the_answer_does_not_change_the_defaults() -> None:
    default_prices()["stud"] = 99
    assert default_prices()["stud"] == 1.2

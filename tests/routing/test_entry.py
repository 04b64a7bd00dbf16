"""Where power comes to first in a control: trees worked by hand (common practice, no source), and the check's own word.

A switch loop: power in the light's box, and a cable from there to the switch and nothing behind it.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from barnloom.routing.check import check
from barnloom.routing.plan import Plan
from barnloom.routing.planner import plan_building
from barnloom.routing.trees import Pair
from barnloom.routing.wiring.entry import Entry, misfed
from tests.routing.wired_scenes import bay, building_of, wall_scene

ROW = "controls: {ROW: {lights: [L1], points: [S1]}}\n"
LIGHT_NEAR = {"L1": f'circuit: A, device: light, {bay(5)}, height: 80"', "S1": f"circuit: A, device: switch, {bay(8)}"}
SWITCH_NEAR = {"L1": f'circuit: A, device: light, {bay(8)}, height: 80"', "S1": f"circuit: A, device: switch, {bay(5)}"}
TWO_WAYS = {
    "S1": f"circuit: A, device: switch, {bay(8)}",
    "L1": f'circuit: A, device: light, {bay(12)}, height: 80"',
    "L2": f'circuit: A, device: light, {bay(16)}, height: 80"',
    "S2": f"circuit: A, device: switch, {bay(20)}",
    "R": f"circuit: A, device: receptacle, {bay(24)}",
}
TWO_WAYS_ROW = "controls: {ROW: {lights: [L1, L2], points: [S1, S2]}}\n"


def planned(boxes: dict[str, str], feed_at: str = "", more: str = ROW) -> Plan:
    """The plan of a wall of boxes, of which the check may warn, and finds no fault."""
    said = {name: words if "height" in words else f'{words}, height: 48"' for name, words in boxes.items()}
    wiring = f"wiring: {{feed_at: {feed_at}}}\n" if feed_at else ""
    plan = plan_building(building_of(wall_scene(said, more=f"{more}circuits: {{A: {{}}}}\n{wiring}")))
    assert [str(finding) for finding in check(plan) if finding.severity == "fault"] == []
    return plan


def feeds(plan: Plan) -> set[Pair]:
    return {(cable.from_box, cable.to_box) for cable in plan.cables}


def nets(plan: Plan, box: str) -> set[str]:
    """Nets of the cable that feeds a box, without its ground."""
    return next({one.net for one in cable.conductors} - {"ground"} for cable in plan.cables if cable.to_box == box)


def read_as(plan: Plan, feed_at: str) -> list[str]:
    """Boxes that the check blames, if the scene had said this."""
    wiring = replace(plan.building.wiring, feed_at=feed_at)
    other = replace(plan, building=replace(plan.building, wiring=wiring))
    return [finding.subject for finding in check(other) if finding.code == "tree.feed_at"]


def entry(first: set[str], behind: set[str]) -> Entry:
    return Entry("ROW", frozenset(first), frozenset(behind))


@pytest.mark.parametrize(
    ("tree", "at_switch", "at_light"),
    [
        ([("P", "S"), ("S", "L")], True, False),
        ([("P", "L"), ("L", "S")], False, True),
        ([("P", "S"), ("S", "R"), ("R", "L")], True, False),  # an outlet in between changes nothing
        ([("P", "L"), ("L", "R"), ("R", "S")], False, True),
        ([("P", "R"), ("R", "S"), ("R", "L")], False, False),  # both hang on the outlet: neither is first
    ],
)
def test_what_comes_first_on_the_way_from_the_panel(tree: list[Pair], *, at_switch: bool, at_light: bool) -> None:
    assert (misfed([entry({"S"}, {"L"})], tree) == ()) == at_switch
    assert (misfed([entry({"L"}, {"S"})], tree) == ()) == at_light


def test_a_light_and_its_switch_in_one_box_keep_both() -> None:
    assert misfed([entry({"B"}, {"B"})], [("P", "B")]) == ()


def test_of_three_lights_one_before_the_switch_is_enough_to_break_it() -> None:
    tree = [("P", "L1"), ("L1", "S"), ("S", "L2"), ("S", "L3")]
    assert misfed([entry({"S"}, {"L1", "L2", "L3"})], tree) == ("ROW",)
    assert misfed([entry({"L1", "L2", "L3"}, {"S"})], tree) == ()


@pytest.mark.parametrize("boxes", [LIGHT_NEAR, SWITCH_NEAR])
def test_at_the_switch_two_conductors_go_on_to_the_light(boxes: dict[str, str]) -> None:
    plan = planned(boxes, "switch")
    assert feeds(plan) == {("PANEL", "S1"), ("S1", "L1")}
    assert nets(plan, "L1") == {"switched ROW", "neutral"}
    assert (read_as(plan, "switch"), read_as(plan, "light")) == ([], ["S1"])


@pytest.mark.parametrize("boxes", [LIGHT_NEAR, SWITCH_NEAR])
def test_at_the_light_the_switch_hangs_on_a_loop_of_three(boxes: dict[str, str]) -> None:
    plan = planned(boxes, "light")
    assert feeds(plan) == {("PANEL", "L1"), ("L1", "S1")}
    assert nets(plan, "S1") == {"line", "switched ROW", "neutral"}  # a neutral at every switch, as the scene answers
    assert (read_as(plan, "light"), read_as(plan, "switch")) == ([], ["L1"])


def test_a_switch_that_is_nearest_is_fed_first_where_nothing_is_said() -> None:
    assert feeds(planned(SWITCH_NEAR)) == {("PANEL", "S1"), ("S1", "L1")}


def test_two_points_hang_behind_the_lights_or_the_lights_behind_both() -> None:
    at_light, at_switch = (planned(TWO_WAYS, rule, TWO_WAYS_ROW) for rule in ("light", "switch"))
    assert (read_as(at_light, "light"), read_as(at_switch, "switch")) == ([], [])
    assert read_as(at_switch, "light") == ["S1", "S2"]
    assert read_as(at_light, "switch") == ["L1", "L2"]


def test_a_switched_receptacle_is_no_light() -> None:
    boxes = {"R1": f"circuit: A, device: {{kind: receptacle, half: yes}}, {bay(5)}", "S1": LIGHT_NEAR["S1"]}
    row = "controls: {HALF: {lights: [R1], points: [S1]}}\n"
    plan = planned(boxes, "", row)
    for rule in ("switch", "light"):
        assert read_as(plan, rule) == []
        assert feeds(planned(boxes, rule, row)) == feeds(plan)


def test_a_control_that_a_pin_keeps_from_it_is_told_and_planned_all_the_same() -> None:
    pinned = {**LIGHT_NEAR, "S1": f"{LIGHT_NEAR['S1']}, fed_from: L1"}
    plan = planned(pinned, "switch")
    assert feeds(plan) == {("PANEL", "L1"), ("L1", "S1")}
    [told] = [words for words in plan.warnings if words.startswith("ROW: ")]
    assert "feed_at: switch" in told
    [finding] = [finding for finding in check(plan) if finding.code == "tree.feed_at"]
    assert (finding.subject, finding.severity) == ("L1", "warning")
    silent = replace(plan, warnings=())
    assert [f.severity for f in check(silent) if f.code == "tree.feed_at"] == ["fault"]

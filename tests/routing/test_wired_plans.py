"""Whole plans with their electrical half that once went wrong, each as the smallest scene that showed it."""

from __future__ import annotations

import pytest

from barnloom.model.errors import SceneError
from barnloom.routing.check import check
from barnloom.routing.plan import Plan
from barnloom.routing.planner import plan_building
from tests.routing.wired_scenes import ANSWERS, bay, building_of, wall_scene

SPLIT = "members: {NORTH-S6: {bore: never, because: split}}\n"
"""A stud that nothing passes: what is beyond the fifth bay cannot be reached."""


def planned(text: str) -> Plan:
    """The plan of a scene, which the check must find no fault in."""
    plan = plan_building(building_of(text), effort="quick")
    assert [str(finding) for finding in check(plan) if finding.severity == "fault"] == []
    return plan


def at(number: int, device: str, circuit: str = "C", **more: str) -> str:
    """A box in a bay of the wall."""
    words = "".join(f", {key}: {value}" for key, value in more.items())
    return f'{bay(number)}, height: 48", circuit: {circuit}, device: {device}{words}'


def nets(plan: Plan, cable: str) -> set[str]:
    return next({one.net for one in its.conductors} - {"ground"} for its in plan.cables if its.id == cable)


def terminals(plan: Plan, device: str) -> set[str]:
    """Names of a device's terminals that are joined; the ground screw of a box that has its id is none of them."""
    joints = (joint for makeup in plan.makeups for joint in makeup.joints)
    return {name for joint in joints for owner, name in joint.terminals if owner == device} - {"box"}


# --- what no cable reaches -------------------------------------------------------------------------------------------


def test_a_control_keeps_the_points_that_are_reached() -> None:
    boxes = {"S1": at(3, "switch"), "L1": at(4, "light"), "S2": at(8, "switch"), "S3": at(9, "switch")}
    row = "controls: {ROW: {lights: [L1], points: [S1, S2, S3]}}\ncircuits: {C: {}}\n"
    plan = planned(wall_scene(boxes, more=row + SPLIT))
    assert plan.unreached == ("S2", "S3")
    assert terminals(plan, "S1") == {"line", "load", "ground"}


@pytest.mark.parametrize(("switch", "light", "left"), [(3, 8, "L1"), (8, 3, "S1")])
def test_without_its_light_or_its_only_switch_a_control_is_left_for_another_time(
    switch: int, light: int, left: str
) -> None:
    boxes = {"R1": at(4, "receptacle"), "S1": at(switch, "switch"), "L1": at(light, "light")}
    row = "controls: {ROW: {lights: [L1], points: [S1]}}\ncircuits: {C: {}}\n"
    plan = planned(wall_scene(boxes, more=row + SPLIT))
    assert plan.unreached == (left,)
    assert terminals(plan, "S1") | terminals(plan, "L1") == set()
    assert terminals(plan, "R1") == {"hot", "neutral", "ground"}
    assert {cable.id: cable.current_a for cable in plan.cables}["C.R1"] == 1.5  # the receptacle alone


def test_a_circuit_that_reaches_nothing_has_no_wires_at_the_panel() -> None:
    heater = "{kind: heater, volts: 240, watts: 2000}"
    boxes = {"R1": at(4, "receptacle"), "H1": at(8, heater, "FAR"), "J1": at(4, "junction", "FAR").replace("48", "20")}
    plan = planned(
        wall_scene(boxes | {"R2": at(9, "receptacle", "OTHER")}, more="circuits: {C: {}, FAR: {}, OTHER: {}}\n" + SPLIT)
    )
    assert plan.unreached == ("H1", "R2")
    assert terminals(plan, "PANEL") == {
        *("breaker C", "breaker FAR 1", "breaker FAR 2"),
        *("neutral bar", "ground bar"),
    }
    assert {sheet.circuit: (sheet.poles, sheet.load_va) for sheet in plan.circuits} == {
        "C": (1, 180.0),
        "FAR": (2, 2000.0),
        "OTHER": (1, 180.0),
    }


def test_in_a_box_of_two_circuits_only_what_is_reached_of_each_is_made_up() -> None:
    boxes = {
        "S1": at(3, "switch", "[C, FAR]", shared="yes"),
        "L1": at(8, "light"),
        "L2": at(4, "light", "FAR"),
        "S2": at(4, "switch", "FAR").replace("48", "20"),
    }
    rows = "controls: {ROW: {lights: [L1], points: [S1]}, NEAR: {lights: [L2], points: [S2]}}\n"
    plan = planned(wall_scene(boxes, more=rows + "circuits: {C: {}, FAR: {}}\n" + SPLIT))
    assert plan.unreached == ("L1",)
    assert terminals(plan, "S1") == set()


def test_what_lost_its_way_stays_told_when_cables_are_chosen_anew() -> None:
    # The pinned order puts S2 out of reach between the two others, so that S1 becomes an ordinary switch, and its
    # cable another.
    boxes = {"S1": at(3, "switch"), "L1": at(4, "light"), "S2": at(8, "switch")}
    row = "controls: {ROW: {lights: [L1], points: [S1, S2], in_order: yes}}\ncircuits: {C: {order: [S1, S2, L1]}}\n"
    plan = planned(wall_scene(boxes, more=row + SPLIT))
    assert "S2" in plan.unreached
    assert {cable.to_box for cable in plan.cables} == {"S1", "L1"} - set(plan.unreached)


def test_a_box_pinned_behind_one_out_of_reach_is_fed_from_elsewhere_and_that_is_told() -> None:
    boxes = {"R1": at(3, "receptacle"), "R2": at(8, "receptacle"), "R3": at(4, "receptacle")}
    plan = planned(wall_scene(boxes, more="circuits: {C: {order: [R1, R2, R3]}}\n" + SPLIT))
    assert plan.unreached == ("R2",)
    said = [finding for finding in check(plan) if finding.code == "tree.pin"]
    assert [(finding.subject, finding.severity) for finding in said] == [("C.R3", "warning")]


# --- multiwire circuits ----------------------------------------------------------------------------------------------


def amps(plan: Plan) -> dict[str, float]:
    return {cable.id: round(cable.current_a, 3) for cable in plan.cables}


def test_two_lines_of_one_cable_are_counted_apart_where_each_has_a_neutral_of_its_own() -> None:
    # 1.5 A for a receptacle (180 VA, NEC 220.14(I)); what loses voltage on one line does not on the other.
    guard = "{kind: receptacle, rating: 20, ground_fault: yes, leg: 1}"
    boxes = {
        "G1": at(3, guard),
        "R2": at(4, "{kind: receptacle, leg: 2}"),
        "R3": at(5, "{kind: receptacle, leg: 1}"),
    }
    plan = planned(wall_scene(boxes, more="circuits: {C: {multiwire: yes, order: [G1, R2, R3]}}\n"))
    assert nets(plan, "C.R2") == {"line 2", "neutral", "protected line G1", "protected neutral G1"}
    assert amps(plan) == {"C.G1": 3.0, "C.R2": 1.5, "C.R3": 1.5}


def test_what_runs_between_both_lines_counts_on_each() -> None:
    heater = "{kind: heater, volts: 240, watts: 1200}"  # 5 A
    boxes = {
        "R1": at(4, "{kind: receptacle, leg: 1}"),
        "R2": at(5, "{kind: receptacle, leg: 2, amps: 8}"),
        "H1": at(3, heater),
    }
    plan = planned(wall_scene(boxes, more="circuits: {C: {multiwire: yes, order: [H1, R1, R2]}}\n"))
    assert amps(plan) == {"C.H1": 13.0, "C.R1": 8.0, "C.R2": 8.0}


def test_a_multiwire_circuit_has_something_on_each_line() -> None:
    one = {"R1": at(3, "{kind: receptacle, leg: 1}"), "R2": at(4, "{kind: receptacle, leg: 1}")}
    more = "circuits: {C: {multiwire: yes}}\n"
    with pytest.raises(SceneError) as caught:
        planned(wall_scene(one, more=more))
    assert [fault.where for fault in caught.value.faults] == [("circuits", "C", "multiwire")]
    planned(wall_scene(one | {"R2": at(4, "receptacle")}, more=more))


# --- boxes -----------------------------------------------------------------------------------------------------------


def test_a_device_counts_by_the_conductors_on_it_and_not_by_the_grounds_of_its_box() -> None:
    # NEC 314.16(B)(4): the largest conductor connected to it. The switch is on 14 AWG, the splices beside it on 12.
    boxes = {
        "L1": at(3, "light"),
        "S1": at(4, "switch", "[C, D]", shared="yes"),
        "R1": at(5, "{kind: receptacle, rating: 20}", "D"),
    }
    more = "controls: {ROW: {lights: [L1], points: [S1]}}\ncircuits: {C: {awg: 14}, D: {awg: 12}}\n"
    plan = planned(wall_scene(boxes, more=more))
    made = next(makeup for makeup in plan.makeups if makeup.box == "S1")
    assert [(line.count, line.each_in3) for line in made.fill if line.what == "S1"] == [(2, 2.0)]


def test_nothing_is_fed_through_a_stub() -> None:
    # The stub is nearer to the panel than the receptacles, and one on the other line keeps the device from all of them.
    guard = "{kind: receptacle, rating: 20, ground_fault: yes, leg: 1}"
    boxes = {
        "G1": at(6, guard),
        "R1": at(9, "{kind: receptacle, leg: 1}"),
        "R2": at(11, "{kind: receptacle, leg: 1}"),
        "R3": at(13, "{kind: receptacle, leg: 2}"),
        "END": f'{bay(4)}, height: 18", circuit: C, kind: stub',
    }
    plan = planned(wall_scene(boxes, more="circuits: {C: {multiwire: yes}}\n"))
    assert "END" not in {cable.from_box for cable in plan.cables}


def test_near_boxes_alone_are_not_taken_where_their_tree_cannot_be() -> None:
    # The stub and the heater are near to each other, and the way between them is long: looked for among the nearest
    # first, the heater would hang on the stub.
    text = f"""
barnloom: 1
title: Three walls
answers: {ANSWERS.replace("lining: none", "lining: now")}
storeys: {{GROUND: {{floor: 0}}}}
walls:
  SOUTH: {{start: [0, 0], heading: east, length: 272", height: 97", section: 2x6, studs: {{every: 16"}}}}
  NORTH: {{start: [272", 128"], heading: west, length: 272", height: 97", section: 2x6, studs: {{every: 16"}}}}
  WEST: {{start: [0, 128"], heading: south, length: 128", height: 97", section: 2x6, studs: {{every: 16"}}}}
boxes:
  PANEL: {{kind: panel, wall: WEST, along: 72", height: 54", size: [14", 30", 3-1/2"]}}
  H1: {{circuit: C, device: {{kind: heater, volts: 240, watts: 5000}}, wall: NORTH, along: 200", height: 18"}}
  END: {{kind: stub, circuit: C, wall: WEST, along: 40", height: 18"}}
  M1: {{circuit: D, device: {{kind: machine, hp: 1.5}}, wall: SOUTH, along: 120", height: 18"}}
circuits: {{C: {{}}, D: {{}}}}
prices: fewest holes
"""
    plan = planned(text)
    assert {(cable.from_box, cable.to_box) for cable in plan.cables} == {
        ("PANEL", "H1"),
        ("H1", "END"),
        ("PANEL", "M1"),
    }


# --- trees that the conductors of a cable allow ----------------------------------------------------------------------

DAMP = ANSWERS.replace("plain_cable: yes, surroundings: dry", "plain_cable: no, surroundings: damp")
"""UF-B, which has three conductors at most: two travelers and the neutral, and no line beside them."""


def test_power_comes_first_to_the_box_where_the_points_of_two_controls_meet() -> None:
    boxes = {
        "S1": at(21, "switch"),
        "S2": at(8, "switch"),
        "S3": at(23, "[switch, switch]"),
        "S4": at(10, "switch"),
        "S5": at(11, "switch"),
        "L1": at(18, "light"),
        "L2": at(19, "light"),
    }
    rows = "controls: {ROW: {lights: [L1], points: [S1, S2, S3, S5]}, END: {lights: [L2], points: [S3, S4]}}\n"
    plan = planned(wall_scene(boxes, more=rows + "circuits: {C: {}}\n", answers=DAMP))
    assert nets(plan, "C.S3") == {"line", "neutral"}


def test_a_row_of_three_way_switches_and_a_second_home_run() -> None:
    boxes = {
        "S1": at(9, "switch"),
        "S2": at(3, "switch"),
        "L1": at(6, "light"),
        "R1": at(12, "receptacle"),
        "R2": at(14, "receptacle"),
    }
    rows = "controls: {ROW: {lights: [L1], points: [S1, S2], in_order: yes}}\n"
    plan = planned(wall_scene(boxes, more=rows + "circuits: {C: {home_runs: 2}}\n", answers=DAMP))
    assert sum(cable.from_box == "PANEL" for cable in plan.cables) == 2


@pytest.mark.parametrize("runs", ["2", "any"])
def test_no_switched_wires_are_joined_in_the_panel(runs: str) -> None:
    # The panel lies between the switch and its light, so that the shortest cables would go by way of it.
    boxes = {"S1": at(3, "switch"), "R1": at(4, "receptacle"), "L1": at(15, "light"), "R2": at(16, "receptacle")}
    text = wall_scene(
        boxes, more=f"controls: {{ROW: {{lights: [L1], points: [S1]}}}}\ncircuits: {{C: {{home_runs: {runs}}}}}\n"
    )
    plan = planned(
        text.replace('PANEL: {kind: panel, wall: NORTH, along: 24"', f"PANEL: {{kind: panel, wall: NORTH, {bay(9)}")
    )
    own = {joint.net for makeup in plan.makeups if makeup.box == "PANEL" for joint in makeup.joints}
    assert own == {"line", "neutral", "ground"}

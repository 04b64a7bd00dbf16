"""What is done stays: holes where they are, cables through them, names; what breaks a limit is named and kept."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from small_scenes import box, built, cable, holes, inches, panel, planned, scene, wall

from barnloom.model.building import Building
from barnloom.routing.asbuilt import Moves, as_built, read_moves
from barnloom.routing.asbuilt.moves import MovesError, Place
from barnloom.routing.check import check
from barnloom.routing.plan import Bore, Plan
from barnloom.routing.planner import plan_building
from barnloom.routing.store import plan_from_json, plan_hash, plan_to_json


def in_a_row(**more: object) -> Plan:
    """A panel and three boxes in a wall: A.B1 goes through studs S4 and S5, the others on from box to box."""
    boxes = {"P": panel("S", 40, 54), "B1": box("S", 72, 54), "B2": box("S", 104, 54), "B3": box("S", 136, 54)}
    return planned(scene(walls={"S": wall((0, 0), "east", 192)}, boxes=boxes, **more))


ROW = in_a_row()
CROSSED = ("S-S4.a", "S-S5.a")
"""Holes of A.B1: the studs at 48 and 64 in lie between 40 and 72."""


def two_circuits() -> Building:
    boxes = {
        "P": panel("S", 40, 54),
        **{f"A{n}": box("S", 56 + 32 * n, 20) for n in range(1, 4)},
        **{f"B{n}": box("S", 72 + 32 * n, 50, circuit="B") for n in range(1, 4)},
    }
    circuits = {name: {"cable": "12/2", "panel": "P"} for name in "AB"}
    return built(scene(walls={"S": wall((0, 0), "east", 240)}, boxes=boxes, circuits=circuits))


TWO = plan_building(two_circuits())


def report(plan: Plan, text: str, tmp_path: Path) -> Moves:
    path = tmp_path / "moves.txt"
    path.write_text(text, encoding="utf-8")
    return read_moves(path, plan)


def again(plan: Plan, text: str, tmp_path: Path) -> Plan:
    """The plan after a report, which the checker must find no fault in."""
    found = as_built(plan, report(plan, text, tmp_path))
    assert [finding for finding in check(found) if finding.severity == "fault"] == []
    return found


def broken(plan: Plan) -> dict[str, str]:
    return {finding.subject: finding.words for finding in check(plan) if finding.code == "hole.built"}


def in_wood(plan: Plan, name: str) -> tuple[str, float, float]:
    """Member and place of a hole that is there."""
    found = [(m.id, h.along_in, h.across_in) for m in plan.building.members for h in m.holes if h.id == name]
    (one,) = found
    return one


def hole(plan: Plan, name: str) -> Bore:
    return next(bore for bore in plan.bores if bore.id == name)


def faults(plan: Plan, text: str, tmp_path: Path) -> str:
    with pytest.raises(MovesError) as error:
        as_built(plan, report(plan, text, tmp_path))
    return str(error.value)


# --- what stays -------------------------------------------------------------------------------------------------------


def test_the_row_is_as_it_was_thought() -> None:
    assert cable(ROW, "A.B1").bores == CROSSED


def test_what_is_drilled_as_planned_changes_nothing_but_what_is_left_to_do(tmp_path: Path) -> None:
    found = again(ROW, "all drilled\n", tmp_path)
    assert found.as_built is not None
    assert set(found.as_built.drilled) == {bore.id for bore in ROW.bores}
    assert {bore.id: (bore.member, bore.along_in, bore.across_in, bore.cables) for bore in found.bores} == {
        bore.id: (bore.member, bore.along_in, bore.across_in, bore.cables) for bore in ROW.bores
    }
    assert [one.points for one in found.cables] == [one.points for one in ROW.cables]
    assert all(bore.existing for bore in found.bores)
    assert (ROW.cost_parts["holes"] > 0, found.cost_parts["holes"]) == (True, 0)


def test_a_pulled_cable_is_not_bought_and_its_holes_count_as_drilled(tmp_path: Path) -> None:
    found = again(ROW, "A.B1 pulled", tmp_path)
    assert [(one.id, one.done) for one in found.cables] == [("A.B1", True), ("A.B2", False), ("A.B3", False)]
    assert {bore.id for bore in found.bores if bore.existing} == set(CROSSED)
    assert cable(found, "A.B1").points == cable(ROW, "A.B1").points


def test_a_moved_hole_is_where_it_was_drilled_and_the_cable_goes_through_it(tmp_path: Path) -> None:
    before = hole(ROW, "S-S4.a")
    found = again(ROW, 'S-S4.a moved to 70-1/2"\nA.B1 pulled', tmp_path)
    assert in_wood(found, "S-S4.a") == ("S-S4", 70.5, before.across_in)
    assert hole(found, "S-S4.a").along_in == 70.5
    # A stud's holes are measured up from its bottom, which stands on a plate of 1-1/2 in.
    ends = [point for point in cable(found, "A.B1").points if point[2] == 72.0]
    assert {point[0] for point in ends} >= {47.25, 48.75}  # both faces of the stud centred on 48
    assert found.as_built is not None
    (moved,) = found.as_built.moved
    assert (moved.hole, moved.planned_along_in) == ("S-S4.a", before.along_in)


def test_a_pulled_cable_stays_in_a_hole_that_breaks_a_limit_and_no_other_uses_it(tmp_path: Path) -> None:
    # Stud of 3-1/2, hole of 3/4: 5/8 from the edge (IRC 2021 R602.6) is reached at 1 in across; 7/8 is 1/8 too near.
    found = again(ROW, 'S-S4.a moved to 70-1/2", 7/8"\nA.B1 pulled', tmp_path)
    words = broken(found)["S-S4.a"]
    assert "R602.6" in words
    assert "0.5 in" in words
    assert "stud" in words.partition("To mend it: ")[2]
    assert hole(found, "S-S4.a").cables == ("A.B1",)


def test_a_hole_that_breaks_a_limit_takes_no_cable_that_is_still_to_be_pulled(tmp_path: Path) -> None:
    found = again(ROW, 'S-S4.a moved to 70-1/2", 7/8"', tmp_path)
    assert set(broken(found)) == {"S-S4.a"}
    assert in_wood(found, "S-S4.a") == ("S-S4", 70.5, 0.875)
    assert "S-S4.a" not in {bore.id for bore in found.bores}
    (other,) = [bore for bore in holes(found, "A.B1") if bore.member == "S-S4"]
    assert (other.id, other.existing) == ("S-S4.b", False)
    assert abs(other.along_in - 70.5) > 1.5  # 3/4 and 3/4 with a diameter of wood between them (own caution)


def test_two_holes_that_were_drilled_too_near_each_other_are_named(tmp_path: Path) -> None:
    found = again(ROW, 'S-S4.a moved to 70-1/2"', tmp_path)
    new = again(found, "all drilled", tmp_path)
    assert broken(new) == {}
    near = again(in_a_row(), 'S-S4.a moved to 70-1/2", 7/8"', tmp_path)
    other = next(bore for bore in near.bores if bore.member == "S-S4")
    worse = again(near, f'{other.id} moved to 71-1/4"', tmp_path)
    # 3/4 in apart along: with holes of 3/4 there is next to no wood between them.
    assert any("from hole" in words for words in broken(worse).values())


def test_ids_go_on_to_stand_for_the_same_holes(tmp_path: Path) -> None:
    boxes = {"P": panel("S", 40, 54), "B1": box("S", 72, 54), "B2": box("S", 104, 20, circuit="B")}
    circuits = {"A": {"cable": "12/2", "panel": "P"}, "B": {"cable": "12/2", "panel": "P"}}
    plan = planned(scene(walls={"S": wall((0, 0), "east", 192)}, boxes=boxes, circuits=circuits))
    found = again(plan, 'S-S4.a moved to 60"\n', tmp_path)
    old = {bore.id: bore for bore in plan.bores}
    for bore in found.bores:
        if bore.id in old and bore.id != "S-S4.a":
            assert (bore.member, bore.along_in) == (old[bore.id].member, old[bore.id].along_in)
    assert len({bore.id for bore in found.bores}) == len(found.bores)


def test_a_made_up_box_stays_the_box_that_it_is(tmp_path: Path) -> None:
    text = """
barnloom: 1
title: One wall
storeys: {GROUND: {floor: 0}}
walls: {N: {start: [20', 0], heading: west, length: 20', height: 8', section: 2x6, studs: {every: 16"}}}
answers: {plain_cable: yes, surroundings: dry, dwelling: no}
boxes:
  PANEL: {kind: panel, wall: N, along: 24", height: 54", size: [14", 30", 3-1/2"]}
  R1: {wall: N, along: 88", height: 20", device: receptacle, circuit: A}
circuits: {A: {}}
"""
    path = tmp_path / "scene.yaml"
    path.write_text(text, encoding="utf-8")
    from barnloom.model import read_building

    plan = plan_building(read_building(path))
    (makeup,) = [one for one in plan.makeups if one.box == "R1"]
    other = "square-4x2-1-8"
    assert makeup.box_type not in ("", other)
    same = again(plan, "R1 made up", tmp_path)
    assert next(one for one in same.makeups if one.box == "R1").box_type == makeup.box_type
    larger = again(plan, f"R1 box {other}", tmp_path)
    assert next(one for one in larger.makeups if one.box == "R1").box_type == other
    assert larger.as_built is not None
    assert (larger.as_built.made_up, larger.as_built.other_boxes) == (("R1",), ("R1",))


def test_a_pulled_cable_goes_aside_in_its_bay_where_no_new_one_might(tmp_path: Path) -> None:
    # Cable in sight may only go up and down here: planned straight up through a block, it now has to go 1 in aside.
    answers = {"exposed": "drops", "lining": "none", "insulated": "no"}
    blocks = [{"height": inches(45), "between": [inches(32), inches(48)]}]
    boxes = {"P": panel("S", 40, 20), "B1": box("S", 40, 66)}
    walls = {"S": wall((0, 0), "east", 96, blocking=blocks)}
    plan = planned(scene(answers=answers, walls=walls, boxes=boxes))
    (bore,) = plan.bores
    found = again(plan, f"{bore.id} moved to {inches(bore.along_in + 1)}\nA.B1 pulled", tmp_path)
    told = [finding for finding in check(found) if finding.code == "run.exposed"]
    assert {(finding.subject, finding.severity) for finding in told} == {("A.B1", "warning")}
    other = again(plan, f"{bore.id} moved to {inches(bore.along_in + 1)}", tmp_path)
    assert not [finding for finding in check(other) if finding.code == "run.exposed"]


def test_a_cable_that_became_too_short_is_named(tmp_path: Path) -> None:
    # Up to a hole 4 ft higher than the next one, and down again: 8 ft more than it was cut for.
    near, far = (again(ROW, f'S-S4.a moved to {place}"\nA.B1 pulled', tmp_path) for place in (43, 90))
    assert not any(words.startswith("A.B1: cut to") for words in near.warnings)
    (short,) = [words for words in far.warnings if words.startswith("A.B1: cut to")]
    assert "300.14" in short


# --- reports ----------------------------------------------------------------------------------------------------------


def test_a_report_by_hand_says_one_thing_a_line(tmp_path: Path) -> None:
    text = """
        # from the ladder
        S-S4.a, S-S5.a drilled  # both
        S-S6.a Moved  To 6' 2-1/2", 1-3/4"
        A pulled
        all made up
    """
    moves = report(ROW, text, tmp_path)
    assert moves.holes["S-S4.a"] == Place()
    assert moves.holes["S-S6.a"] == Place(along_in=74.5, across_in=1.75)
    assert moves.cables == {"A.B1", "A.B2", "A.B3"}
    assert set(moves.boxes) == {"B1", "B2", "B3"}


def test_members_walls_and_all_stand_for_their_holes(tmp_path: Path) -> None:
    every = {bore.id for bore in ROW.bores}
    assert set(report(ROW, "S drilled", tmp_path).holes) == set(report(ROW, "all drilled", tmp_path).holes) == every
    assert set(report(ROW, "S-S4 drilled", tmp_path).holes) == {"S-S4.a"}


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("S-S4.q drilled", "did you mean S-S4.a?"),
        ("S-S4.a moved to", "expected a length"),
        ("S-S4.a moved to 8 furlongs", "expected a length"),
        ('S-S4.a moved to 8\', 2", 3"', "after a comma"),
        ("S-S4.a, S-S5.a moved to 8'", "write a line for each"),
        ("S moved to 8'", "say which"),
        ("S-S4.a drilled well", "nothing after drilled"),
        ("A.B9 pulled", "did you mean A.B3?"),
        ("B9 made up", "expected the id of a box"),
        ("B1 box shoe", "expected a box as bought"),
        ("S-S4.a", "IDS drilled"),
        ('S-S4.a moved to 40"\nS-S4.a moved to 41"', "one place for a hole"),
    ],
)
def test_a_line_that_cannot_be_is_told_with_its_place(line: str, said: str, tmp_path: Path) -> None:
    words = faults(ROW, f"\n{line}\n", tmp_path)
    assert f"moves.txt:{line.count(chr(10)) + 2}: " in words
    assert said in words


def test_all_wrong_lines_are_told_at_once(tmp_path: Path) -> None:
    assert len(faults(ROW, "one\ntwo\nS-S4.a drilled\nthree", tmp_path).splitlines()) == 3


def page_file(plan: Plan, **parts: object) -> str:
    head = {"what": "barnloom as built", "version": 1, "plan": {"title": "x", "hash": plan_hash(plan)}}
    return json.dumps({**head, "holes": {}, "cables": {}, "boxes": {}, **parts})


def test_the_file_of_the_page_says_the_same(tmp_path: Path) -> None:
    text = page_file(
        ROW,
        holes={"S-S4.a": {"drilled": True}, "S-S5.a": {"along_in": 74.5, "across_in": 1.75, "typed": {"along": "x"}}},
        cables={"A.B1": {"pulled": True}},
        boxes={"B1": {"made_up": True}},
    )
    moves = report(ROW, text, tmp_path)
    assert moves.holes == {"S-S4.a": Place(), "S-S5.a": Place(along_in=74.5, across_in=1.75)}
    assert (moves.cables, dict(moves.boxes)) == ({"A.B1"}, {"B1": ""})


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "no JSON"),
        ('{"what": "something"}', "expected the page's file"),
        (page_file(ROW, holes=[1]), "expected things by id"),
        (page_file(ROW, holes={"S-S4.a": 1}), "what is done to it"),
        (page_file(ROW, holes={"S-S4.a": {"along_in": "far"}}), "expected inches, a number"),
        (page_file(ROW, holes={"S-S9.z": {"drilled": True}}), "holes/S-S9.z"),
        (page_file(ROW).replace(plan_hash(ROW), "0" * 16), "another plan"),
    ],
)
def test_a_file_that_cannot_be_is_told(text: str, said: str, tmp_path: Path) -> None:
    assert said in faults(ROW, text, tmp_path)


def test_a_file_that_is_missing_or_no_text_is_told(tmp_path: Path) -> None:
    with pytest.raises(MovesError, match="cannot be read"):
        read_moves(tmp_path / "none.txt", ROW)
    (tmp_path / "bytes").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(MovesError, match="UTF-8"):
        read_moves(tmp_path / "bytes", ROW)


@pytest.mark.parametrize("line", ["S-S4.a moved to 9'", 'S-S4.a moved to 40", 3-1/4"', 'S-S4.a moved to 40", 0"'])
def test_a_place_outside_the_wood_is_told(line: str, tmp_path: Path) -> None:
    assert "expected a place wholly in the wood of S-S4" in faults(ROW, line, tmp_path)


def test_a_pulled_cable_that_has_no_way_through_its_holes_is_told_with_the_hole_that_was_moved(tmp_path: Path) -> None:
    # A row of blocks closes the bay half way up: from above it nothing comes back down to the next hole.
    blocks = [{"height": inches(66), "between": [inches(48), inches(64)]}]
    boxes = {"P": panel("S", 40, 54), "B1": box("S", 72, 54)}
    plan = planned(
        scene(
            walls={"S": wall((0, 0), "east", 192, blocking=blocks)},
            boxes=boxes,
        )
    )
    assert cable(plan, "A.B1").bores == CROSSED
    words = faults(plan, 'S-S4.a moved to 80"\nA.B1 pulled', tmp_path)
    assert "found no way through its holes" in words
    assert "look at S-S4.a" in words


# --- report after report ----------------------------------------------------------------------------------------------


def test_reports_add_up_and_a_drilled_hole_is_not_moved_again(tmp_path: Path) -> None:
    first = again(ROW, 'S-S4.a moved to 70-1/2"', tmp_path)
    first = plan_from_json(plan_to_json(first))
    second = again(first, 'A.B1 pulled\nS-S4.a moved to 70-1/2"', tmp_path)
    assert second.as_built is not None
    assert second.as_built.plans == (plan_hash(ROW), plan_hash(first))
    assert [moved.hole for moved in second.as_built.moved] == ["S-S4.a"]
    assert "in the wood already" in faults(first, 'S-S4.a moved to 60"', tmp_path)


def test_the_page_of_an_earlier_plan_can_be_sent_again(tmp_path: Path) -> None:
    first = again(ROW, "S-S4.a drilled", tmp_path)
    text = page_file(ROW, holes={"S-S4.a": {"drilled": True}, "S-S5.a": {"drilled": True}})
    second = again(first, text, tmp_path)
    assert second.as_built is not None
    assert second.as_built.drilled == CROSSED


def test_the_title_says_how_far_it_is(tmp_path: Path) -> None:
    some = again(ROW, "S-S4.a drilled", tmp_path)
    assert some.building.title == "AS BUILT SO FAR: A test"
    every = again(some, "all drilled\nall pulled\nall made up\nP made up", tmp_path)
    assert every.building.title == "AS BUILT: A test"
    assert sum(every.cost_parts[part] for part in ("cable", "holes", "pulling", "staples")) == 0


def test_two_holes_in_one_place_are_told(tmp_path: Path) -> None:
    one, other = (bore for bore in TWO.bores if bore.member == "S-S8")
    place = inches(one.along_in)
    assert f"as far along as {one.id}" in faults(TWO, f"{other.id} moved to {place}\n{one.id} drilled", tmp_path)
    assert again(TWO, f"{other.id} moved to {place}", tmp_path).as_built is not None  # the other one is no hole yet


# --- whatever is reported ---------------------------------------------------------------------------------------------


SHIFTS = st.sampled_from([-6.0, -2.0, -1.0, -0.25, 0.0625, 0.5, 1.0, 3.0, 8.0])


@settings(deadline=None, max_examples=40)
@given(data=st.data())
def test_whatever_is_reported_stays_and_the_rest_keeps_the_limits(data: st.DataObject) -> None:
    drilled = data.draw(st.sets(st.sampled_from([bore.id for bore in TWO.bores])))
    by_id = {bore.id: bore for bore in TWO.bores}
    places = {}
    for name in sorted(drilled):
        shift = data.draw(st.none() | SHIFTS)
        places[name] = Place() if shift is None else Place(along_in=by_id[name].along_in + shift)
    pulled = data.draw(st.frozensets(st.sampled_from([one.id for one in TWO.cables])))
    said = {name: f"here: {name}" for name in (*places, *pulled)}
    wood = [(by_id[name].member, place.along_in or by_id[name].along_in) for name, place in places.items()]
    assume(len(set(wood)) == len(wood))
    found = as_built(TWO, Moves(holes=places, cables=pulled, said=said))
    assert [finding for finding in check(found) if finding.severity == "fault"] == []
    for name, place in places.items():
        along = by_id[name].along_in if place.along_in is None else place.along_in
        assert in_wood(found, name) == (by_id[name].member, along, by_id[name].across_in)
    before = {one.id: one for one in TWO.cables}
    for name in pulled:
        assert cable(found, name).bores == before[name].bores
        assert cable(found, name).done
    for bore in found.bores:
        if bore.id in by_id and bore.id not in places:
            assert (bore.member, bore.along_in) == (by_id[bore.id].member, by_id[bore.id].along_in)

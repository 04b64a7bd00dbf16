"""Whole plans: shared holes, spacing, rows, lanes, what a scene fixes, and what is said of a box out of reach."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from small_scenes import box, built, cable, holes, inches, panel, planned, scene, wall, with_limit

from barnloom.model import read_building
from barnloom.model.building import Right
from barnloom.model.errors import SceneError
from barnloom.model.framing import build
from barnloom.model.limits import Limits
from barnloom.model.scene.read import read_text
from barnloom.model.scene.starter import new_scene
from barnloom.routing import settle, sharing
from barnloom.routing.check import check
from barnloom.routing.feeds import chosen_trees
from barnloom.routing.job import job_of
from barnloom.routing.layout import Layout, Leg
from barnloom.routing.plan import Plan
from barnloom.routing.planner import plan_building
from barnloom.routing.settle import settled
from barnloom.routing.store import plan_to_json
from barnloom.routing.wiring.kinds import Sizes
from barnloom.routing.wiring.sizing import ratings

Said = dict[str, Any]


def home_runs(count: int, **more: Any) -> Said:
    """A panel at the start of a wall and so many circuits of one box each, in one bay at its far end, high and low."""
    boxes = {"P": panel("S", 8, 60, cables_max=40)}
    for n in range(count):
        boxes[f"B{n}"] = box("S", 104, 20 + 14 * n, f"C{n}", rise='4"')
    circuits = {f"C{n}": {"cable": "12/2", "panel": "P"} for n in range(count)}
    return scene(walls={"S": wall((0, 0), "east", 128)}, boxes=boxes, circuits=circuits, **more)


def far_apart(plan: Plan, gap_diameters: float = 1.0) -> bool:
    """Whether new holes of each stud and plate leave so many diameters of wood between them."""
    by_member: dict[str, list[Any]] = {}
    for bore in plan.bores:
        by_member.setdefault(bore.member, []).append(bore)
    return all(
        math.hypot(a.along_in - b.along_in, a.across_in - b.across_in)
        >= (a.diameter_in + b.diameter_in) / 2 + gap_diameters * max(a.diameter_in, b.diameter_in) - 1e-6
        for own in by_member.values()
        for a, b in itertools.combinations(own, 2)
    )


# --- sharing ---------------------------------------------------------------------------------------------------------


def test_two_cables_share_their_holes() -> None:
    plan = planned(home_runs(2))
    shared = [b for b in plan.bores if len(b.cables) == 2]
    assert {b.diameter_in for b in shared} == {0.75}
    assert len({b.member for b in shared}) >= 5  # studs at 16 .. 96 lie between the panel and the far bay


@pytest.mark.parametrize("count", [3, 4, 5])
def test_no_hole_holds_more_cables_than_it_may(count: int) -> None:
    plan = planned(home_runs(count))
    assert plan.unreached == ()
    most = {0.75: 2, 1.0: 3, 1.25: 3}
    assert all(len(b.cables) <= most[b.diameter_in] for b in plan.bores)
    # Stacked flat: 0.422 wide and 0.163 thick each (12/2), against nine tenths of the hole.
    types = {k.id: k for k in plan.building.cable_types}
    for b in plan.bores:
        kinds = [types[cable(plan, name).type] for name in b.cables]
        assert (
            math.hypot(max(k.width_in for k in kinds), sum(k.thickness_in for k in kinds)) <= 0.9 * b.diameter_in + 1e-6
        )
    assert far_apart(plan)


def test_where_a_hole_is_full_a_second_one_is_bored_beside_it() -> None:
    plan = planned(home_runs(5, tools={"bits": ['3/4"'], "per_hole": {'3/4"': 2}}))
    assert plan.unreached == ()
    by_stud = {m: [b for b in plan.bores if b.member == m] for m in ("S-S3", "S-S4", "S-S5")}
    assert all(len(own) >= 3 for own in by_stud.values())
    assert far_apart(plan)


def test_as_many_cables_share_a_hole_as_the_scene_says() -> None:
    one = planned(home_runs(2, tools={"per_hole": {'3/4"': 1, '1"': 1, '1-1/4"': 1}}))
    assert all(len(b.cables) == 1 for b in one.bores)
    assert far_apart(one)


def test_a_bay_side_takes_only_as_many_cables_as_keep_off_its_edges() -> None:
    # A 2x4 stud leaves 3-1/2 - 2 x 1-1/4 = 1 in of its side for cables: two 12/2 of 0.422 abreast, four in a bay of
    # two sides. Nine cables out of one panel in one bay cannot all run along that bay.
    boxes: Said = {"P": panel("S", 72, 60, cables_max=40)}
    circuits = {}
    for n in range(9):
        boxes[f"B{n}"] = box("S", 8 + 16 * n if n != 4 else 140, 24, f"C{n}")
        circuits[f"C{n}"] = {"cable": "12/2", "panel": "P"}
    plan = plan_building(built(scene(walls={"S": wall((0, 0), "east", 180)}, boxes=boxes, circuits=circuits)))
    assert [f for f in check(plan) if f.severity == "fault"] == []
    assert len(plan.cables) + len(plan.unreached) == 9


# --- rows ------------------------------------------------------------------------------------------------------------


def test_a_row_of_holes_in_equal_joists_is_at_exactly_mid_depth_in_one_pass() -> None:
    floor = {
        "bottom": '96"', "below": "ground", "corner": [0, 0], "size": ["16'", "10'"],
        "joists": {"section": "2x8", "every": '16"', "run": "depth"},
    }  # fmt: skip
    place = {"circuit": "A", "ceiling": "F", "size": ['4"', '4"', '1-1/2"']}
    boxes = {"P": {**place, "kind": "panel", "at": ['24"', '60"']}, "B": {**place, "at": ['152"', '60"']}}
    plan = planned(scene(floors={"F": floor}, boxes=boxes))
    found = holes(plan, "A.B")
    assert len(found) == 8
    assert {b.across_in for b in found} == {3.625}
    assert len({(b.along_in, b.drill_pass) for b in found}) == 1


def test_a_row_through_joists_of_other_depth_has_one_height_where_their_bands_meet() -> None:
    # 2x10 joists with one of 2x8 hung flush above: its bottom edge is 2 in higher. Mid-depths 4-5/8 and 2 + 3-5/8 =
    # 5-5/8 over the others' bottom; the mean of three is 4.958, on the print grid 4-15/16 over the bottom of the deep
    # ones.
    floor = {
        "bottom": '96"', "below": "ground", "corner": [0, 0], "size": ["8'", "10'"],
        "joists": {"section": "2x10", "every": '16"', "run": "depth"},
    }  # fmt: skip
    place = {"circuit": "A", "ceiling": "F", "size": ['4"', '4"', '1-1/2"']}
    boxes = {"P": {**place, "kind": "panel", "at": ['24"', '60"']}, "B": {**place, "at": ['72"', '60"']}}
    plies = [{"section": "2x8", "bottom": '2"'}]
    plan = planned(scene(floors={"F": floor}, boxes=boxes, members={"F-J4": {"plies": plies}}))
    found = holes(plan, "A.B")
    levels = {m.id: m.origin[2] for m in plan.building.members}
    heights = {round(levels[b.member] + b.across_in - 96, 6) for b in found}
    assert len(found) == 3
    assert len(heights) == 1
    assert abs(heights.pop() - (4.625 + 4.625 + 5.625) / 3) <= 1 / 32 + 1e-6


def test_holes_along_a_wall_lie_as_far_above_the_boxes_as_a_cable_goes_straight() -> None:
    for rise in (6.0, 8.0, 10.5):
        plan = planned(
            scene(
                walls={"S": wall((0, 0), "east", 96)},
                boxes={"P": panel("S", 24, 48), "B": box("S", 72, 48)},
                lengths={"box_rise": inches(rise)},
            )
        )
        # 48 - 2 - rise, less 1-1/2 of sole plate; or 48 + 2 + rise.
        assert {b.along_in for b in plan.bores} <= {48 - 2 - rise - 1.5, 48 + 2 + rise - 1.5}


# --- what a scene fixes ----------------------------------------------------------------------------------------------


def in_a_row(**more: Any) -> Said:
    """Four boxes along a wall of 16 ft, nearest the panel first."""
    boxes = {
        "P": panel("S", 8, 48, cables_max=8),
        **{f"B{n}": box("S", 24 + 32 * n, 48) for n in range(4)},
    }
    return {**scene(walls={"S": wall((0, 0), "east", 192)}, boxes=boxes), **more}


def feeds(plan: Plan) -> dict[str, str]:
    return {c.to_box: c.from_box for c in plan.cables}


def test_with_nothing_fixed_each_box_feeds_the_next() -> None:
    assert feeds(planned(in_a_row())) == {"B0": "P", "B1": "B0", "B2": "B1", "B3": "B2"}


def test_an_order_is_kept() -> None:
    plan = planned(in_a_row(circuits={"A": {"cable": "12/2", "panel": "P", "order": ["B2", "B0", "B3", "B1"]}}))
    assert feeds(plan) == {"B2": "P", "B0": "B2", "B3": "B0", "B1": "B3"}


def test_a_feed_is_kept_the_way_round_it_is_said() -> None:
    said = in_a_row()
    said["boxes"]["B0"]["fed_from"] = "B3"
    plan = planned(said)
    assert feeds(plan)["B0"] == "B3"
    assert list(feeds(plan).values()).count("P") == 1


@pytest.mark.parametrize(("said", "count"), [(2, 2), (4, 4)])
def test_as_many_cables_leave_the_panel_as_the_circuit_says(said: int, count: int) -> None:
    plan = planned(in_a_row(circuits={"A": {"cable": "12/2", "panel": "P", "home_runs": said}}))
    assert list(feeds(plan).values()).count("P") == count


def test_a_cable_goes_through_the_member_it_must_and_not_through_one_it_must_not() -> None:
    free = planned(in_a_row())
    assert [b.member for b in holes(free, "A.B1")] == ["S-S3", "S-S4"]
    # Through a far stud: on past its box and back.
    forced = planned(in_a_row(cables={"A.B1": {"through": ["S-S6"]}}))
    assert "S-S6" in [b.member for b in holes(forced, "A.B1")]
    floor = {"bottom": '97-1/8"', "below": "ground", "corner": [0, 0], "size": ["16'", "10'"],
             "joists": {"section": "2x8", "every": '16"', "run": "depth"}}  # fmt: skip
    avoiding = planned(in_a_row(cables={"A.B1": {"avoid": ["S-S3"]}}, floors={"F": floor}))
    assert "S-S3" not in [b.member for b in holes(avoiding, "A.B1")]
    assert avoiding.unreached == ()


def test_a_cable_that_is_done_uses_old_holes_and_costs_nothing() -> None:
    old = {"along": '36-1/2"', "across": '1-3/4"', "diameter": '3/4"'}
    members = {name: {"holes": [old]} for name in ("S-S3", "S-S4")}
    pulled = planned(in_a_row(members=members, cables={"A.B1": {"done": "yes"}}))
    new = planned(in_a_row(members=members))
    assert all(b.existing for b in holes(pulled, "A.B1"))
    assert cable(pulled, "A.B1").done
    assert pulled.cost < new.cost


@pytest.mark.parametrize("more", [{}, {"device": "receptacle", "shared": "yes"}], ids=["splices", "outlet of A"])
def test_a_box_may_be_on_two_circuits_and_one_of_them_may_end_there(more: Said) -> None:
    # Splices alone need nobody's word; where a device hangs, the scene says that the box is shared.
    said = in_a_row(circuits={name: {"cable": "12/2", "panel": "P"} for name in ("A", "B")})
    said["boxes"]["B2"] |= {"circuit": ["A", "B"], **more}
    plan = planned(said)
    assert {c.circuit for c in plan.cables if c.to_box == "B2"} == {"A", "B"}


# --- what cannot be --------------------------------------------------------------------------------------------------


def walled_off(bore: str = "never") -> Said:
    """Two studs that may not be bored, either side of the last box; everything else as before."""
    members = {name: {"bore": bore, "because": "carries the hoist"} for name in ("S-S8", "S-S9")}
    return in_a_row(members=members)


def test_a_box_that_cannot_be_reached_is_named_with_the_members_and_the_rule_and_the_rest_is_planned() -> None:
    plan = planned(walled_off())
    assert plan.unreached == ("B3",)
    assert set(feeds(plan)) == {"B0", "B1", "B2"}
    (why,) = plan.unreached_why
    assert (why.box, why.circuit) == ("B3", "A")
    assert set(why.closed_by) >= {"S-S8", "S-S9"}
    assert "S-S8" in why.reason
    assert "carries the hoist" in why.reason


def test_a_reason_has_the_rule_and_its_numbers() -> None:
    # A wall of 2x3: 40 % of 2-1/2 in is 1 in, but 5/8 either side leaves 1-1/4 in for 1-1/2 in bits; with 3/4 in it
    # can be bored.
    said = in_a_row(tools={"bits": ['1-1/2"'], "per_hole": {'1-1/2"': 3}})
    plan = planned(said)
    assert set(plan.unreached) == {"B0", "B1", "B2", "B3"}
    why = plan.unreached_why[0]
    assert "40 %" in why.reason
    assert "R602.6" in why.reason
    assert why.would_open, "a smaller hole opens it"


def test_a_cable_thicker_than_every_bit_is_told_with_the_bit_that_it_wants_and_what_hangs_on_it_is_told_apart() -> None:
    # Two switches turn a light on and off: three conductors between them, two to the light. UF-B 14/3 is 0.55 by 0.176
    # in, 0.578 in from corner to corner: 90 % of 0.642 in, so 5/8 in is too small for it, but not for 14/2 (0.423 by
    # 0.168).
    boxes = {
        "P": panel("S", 8, 48),
        "S1": box("S", 40, 48, device="switch"),
        "S2": box("S", 72, 48, device="switch"),
        "L": box("S", 104, 80, device="light"),
    }
    said = scene(
        walls={"S": wall((0, 0), "east", 120)},
        boxes=boxes,
        circuits={"A": {"cable": "UF 14/2", "order": ["S1", "S2", "L"]}},
        controls={"ROW": {"lights": ["L"], "points": ["S1", "S2"]}},
        tools={"bits": ['5/8"']},
    )
    plan = planned(said)
    why = {one.box: one for one in plan.unreached_why}
    assert set(why) == {"S2", "L"}
    assert why["S2"].reason.startswith('UF 14/3 wants a hole of 11/16" (it may take 90 % of it, own caution)')
    assert why["S2"].reason.endswith("UF 14/2 would find a way")
    assert why["S2"].would_open == ('a larger hole: with a 3/4" bit there is a way',)
    assert why["L"].reason == "its cable is to come from S2, which is not reached"
    assert planned({**said, "tools": {"bits": ['3/4"']}}).unreached == ()


def test_of_the_answers_that_would_open_a_way_the_one_that_asks_least_is_told() -> None:
    # The wall ends 12 in over the height up to which nothing may be in sight: covered drops lead up to a free row.
    boxes = {"P": panel("S", 8, 48), "A": box("S", 72, 48)}
    said = scene(walls={"S": wall((0, 0), "east", 96)}, boxes=boxes)
    told = {}
    for answer in ("never", "covered", "drops", "free"):
        plan = planned({**said, "answers": {**said["answers"], "exposed": answer}})
        told[answer] = [(why.reason, why.would_open) for why in plan.unreached_why]
    assert told["covered"] == told["drops"] == told["free"] == []
    [(reason, ways)] = told["never"]
    assert reason.endswith("cable in sight below 7' 0\": answer 'never'")
    assert ways == ("the inspector's word that cable in sight is accepted there (answers: exposed: covered)",)


def test_what_would_open_a_way_does_so() -> None:
    plan = planned(walled_off("unknown"))
    (why,) = plan.unreached_why
    assert why.would_open
    named = [name for name in ("S-S8", "S-S9") if any(name in way for way in why.would_open)]
    assert named
    building = plan.building
    freed = replace(building, members=tuple(
        replace(m, bore=Right.FREE) if m.id in named else m for m in building.members
    ))  # fmt: skip
    assert planned(freed).unreached == ()


# --- members that are walls ------------------------------------------------------------------------------------------


def across(section: str, **joists: Any) -> Said:
    """A ceiling with a box either side of a few joists; rims none, so that nothing else joins the bays."""
    floor = {
        "bottom": '96"', "below": "ground", "corner": [0, 0], "size": ["8'", "10'"], "rims": "none",
        "joists": {"section": section, "every": '16"', "run": "depth", **joists},
    }  # fmt: skip
    place = {"circuit": "A", "ceiling": "F", "size": ['4"', '4"', '1-1/2"']}
    boxes = {"P": {**place, "kind": "panel", "at": ['24"', '60"']}, "B": {**place, "at": ['72"', '60"']}}
    return scene(floors={"F": floor}, boxes=boxes)


def test_joists_of_2x6_take_three_quarters_but_those_of_2x4_take_nothing() -> None:
    # 5-1/2: a third is 1.83, and 2 in either side leave 1-1/2. 3-1/2: less than twice 2 in.
    assert {b.across_in for b in planned(across("2x6")).bores} == {2.75}
    shallow = planned(across("2x4"))
    assert shallow.bores == ()
    assert shallow.unreached == ("B",)
    assert "2" in shallow.unreached_why[0].reason
    assert "R502.8.1" in shallow.unreached_why[0].reason


def test_engineered_joists_are_never_bored_unless_their_maker_allows_it() -> None:
    assert planned(across("2x10", engineered="yes")).unreached == ("B",)
    said = across("2x10", engineered="yes")
    maker = {
        "diameter_max": '1-1/2"', "edge_min": '2"', "spacing_min": '2"', "end_min": '12"', "source": "its data sheet",
    }  # fmt: skip
    said["members"] = {f"F-J{n}": {"bore": "maker", "maker": maker} for n in (3, 4, 5)}
    assert len(planned(said).bores) == 3


def test_a_member_whose_section_nobody_measured_is_never_bored() -> None:
    said = across("2x10")
    said["members"] = {"F-J4": {"not_measured": ["section"]}}
    assert planned(said).unreached == ("B",)


def test_a_flush_girder_parts_the_bays() -> None:
    # A girder of the joists' own depth in the middle of the ceiling: no cable goes through it or past it along the
    # bays.
    girder = {
        "role": "girder",
        "from": [0, '60"', '100.625"'],
        "to": ['96"', '60"', '100.625"'],
        "section": '5-1/2" x 9-1/4"',
    }
    said = across("2x10")
    said["floors"]["F"]["girders"] = [{"at": '57.25"', "width": '5-1/2"'}]
    said["timbers"] = {"G": girder}
    said["boxes"]["P"]["at"], said["boxes"]["B"]["at"] = ['24"', '30"'], ['24"', '90"']
    plan = planned(said)
    assert all(b.member != "G" for b in plan.bores)
    if plan.cables:
        # Only round it: never a straight 60 in.
        assert plan.cables[0].path_in > 60


def test_a_stair_hole_is_not_crossed_in_mid_air() -> None:
    # The hole lies between the boxes: without it the way is 8 + 48 + 8; with it the cable goes round by the bays
    # beside it.
    open_floor = across("2x10")
    open_floor["floors"]["F"] |= {"size": ["16'", "10'"], "rims": "both"}
    open_floor["boxes"]["B"]["at"] = ['152"', '60"']
    open_floor["prices"] = "fewest feet"
    plain = planned(open_floor)
    assert plain.cables[0].path_in == 8 + 128 + 8
    stair = {**open_floor["floors"]["F"], "openings": {"STAIR": {"at": ['70"', '30"'], "size": ['40"', '60"']}}}
    round_it = planned({**open_floor, "floors": {"F": stair}})
    # Past the hole's end at y = 30 (its header of two plies in front) or y = 90.
    assert round_it.cables[0].path_in > 8 + 128 + 8 + 2 * (30 - 8)
    for a, b in itertools.pairwise(round_it.cables[0].points):
        x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
        assert not (70 < x < 110 and 30 < y < 90)


# --- the same again --------------------------------------------------------------------------------------------------


def test_the_same_scene_gives_the_same_plan_to_the_byte() -> None:
    said = home_runs(4)
    assert plan_to_json(planned(said)) == plan_to_json(planned(said))


def test_a_box_in_a_wood_is_refused_before_any_planning() -> None:
    with pytest.raises(SceneError):
        built(scene(walls={"S": wall((0, 0), "east", 96)}, boxes={"P": panel("S", 16, 48)}, circuits={}))


@pytest.mark.parametrize("shortest", [False, True], ids=["longest first", "shortest first"])
def test_what_finds_no_way_is_laid_first_of_all(monkeypatch: pytest.MonkeyPatch, shortest: bool) -> None:
    shed = with_limit(read_building(Path(__file__).parents[2] / "scenes" / "sail-loft.yaml"), "cable.fan", 0.0)
    rated, _ = ratings(shed, Limits(shed.limits))
    sizes = Sizes(circuits={name: rating.awg for name, rating in rated.items()})
    job = job_of(shed, lambda _: None, None)
    trees = chosen_trees(job.network, sizes, job.rooms)
    places = {box.id: box.at for box in shed.boxes}

    def unlucky(*what: Any) -> list[Leg]:
        legs = legs_of(*what)
        return sorted(legs, key=lambda leg: math.dist(places[leg.from_box], places[leg.to_box]), reverse=not shortest)

    lost: list[int] = []

    def begun(*what: Any) -> Layout:
        found = begin(*what)
        lost.append(len(found.lost))
        return found

    legs_of, begin = settle.legs_of, settle._begun
    monkeypatch.setattr(settle, "legs_of", unlucky)
    monkeypatch.setattr(settle, "_begun", begun)
    assert settled(job, trees, sizes).layout.lost == []
    assert lost[0] > 0


def test_few_cables_are_laid_in_several_sequences_and_the_cheapest_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    long_shed = build(read_text(new_scene(528, 216, 97.125), Path("new.yaml")).scene)
    several = plan_building(long_shed, effort="quick").cost
    monkeypatch.setattr(settle, "STARTS", 1)
    assert several < 0.99 * plan_building(long_shed, effort="quick").cost


def test_looking_anew_only_where_something_moved_finds_all_that_looking_everywhere_does(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    shed = read_building(Path(__file__).parents[2] / "scenes" / "sail-loft.yaml")
    rated, _ = ratings(shed, Limits(shed.limits))
    sizes = Sizes(circuits={name: rating.awg for name, rating in rated.items()})
    job = job_of(shed, lambda _: None, None)
    trees = chosen_trees(job.network, sizes, job.rooms)
    looked: list[str] = []
    find = Layout.find
    monkeypatch.setattr(
        Layout, "find", lambda self, leg, limit=math.inf: looked.append(leg.id) or find(self, leg, limit)
    )
    usual = settled(job, trees, sizes).layout
    few = len(looked)
    monkeypatch.setattr(sharing.Watch, "news_for", lambda *_: True)
    everywhere = settled(job, trees, sizes).layout
    assert usual.paths == everywhere.paths
    assert usual.price() == pytest.approx(everywhere.price(), rel=1e-12)
    assert few < len(looked) - few

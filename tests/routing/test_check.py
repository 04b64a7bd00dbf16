"""The checker passes a plan worked by hand, and finds each of many faults planted in it, and nothing else."""

from __future__ import annotations

import ast
import re
from dataclasses import replace
from math import cos, hypot, sin
from pathlib import Path

import pytest
from hand_plan import EAST, NORTH, UP, member
from plan_changes import (
    Change,
    bits,
    bore,
    both,
    building,
    cable,
    limit,
    maker,
    more_members,
    moved,
    part,
    rerouted,
    whole,
    without_bore,
)
from planted_faults import (
    BOTH_SIDES,
    FAULTS,
    HAND,
    RULE_2,
    WARNINGS,
    joist_beside_plate_hole,
    narrow_board,
    old_hole,
    stick,
)

import barnloom.routing.check
from barnloom.model.building import Notch, Ply, Right, Role
from barnloom.routing.check import Finding, check
from barnloom.routing.check.bays import fits
from barnloom.routing.plan import Plan

BOOKS = {"cost.part", "cost.pose", "cost.fastening"}


def looked(plan: Plan) -> tuple[Finding, ...]:
    """Return what the checker says of a changed plan, the books left out: what moves a hole moves money."""
    return tuple(finding for finding in check(plan) if finding.code not in BOOKS)


def test_a_plan_worked_by_hand_has_no_findings() -> None:
    assert [str(finding) for finding in check(HAND)] == []


@pytest.mark.parametrize("words", FAULTS)
def test_a_planted_fault_is_found_and_nothing_else(words: str) -> None:
    change, codes = FAULTS[words]
    plan = change(HAND)
    assert plan != HAND
    # Whatever moves a hole or a leg moves money too: the books are asked about only where they are what is wrong.
    found = [finding for finding in check(plan) if finding.code not in BOOKS - codes]
    assert {finding.code for finding in found} == codes, [str(finding) for finding in found]
    assert {finding.code for finding in found if finding.severity == "warning"} == codes & WARNINGS
    assert all(finding.subject and finding.words for finding in found)


def test_every_code_of_the_checker_has_a_planted_fault() -> None:
    folder = Path(barnloom.routing.check.__file__).parent
    text = "".join(path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.py")))
    parts = "bore|run|lanes|length|cost|plan|tree|id|box|cable|rule|plate|stud|hole|notch"
    given = set(re.findall(rf"""["']((?:{parts})\.[a-z_]+)["']""", text))
    limits = {limit.name for limit in HAND.building.limits}
    planted = set().union(*(codes for _, codes in FAULTS.values()))
    assert given - limits - planted == {"stud.doubled", "tree.feed_at"}  # planted in tests of their own


def test_the_checker_imports_the_model_and_the_plan_and_nothing_of_the_router() -> None:
    allowed = (
        *("barnloom.model.building", "barnloom.model.wiring", "barnloom.model.limits", "barnloom.model.mends"),
        *("barnloom.model.electrical.tables", "barnloom.routing.plan", "barnloom.routing.check"),
    )
    for path in Path(barnloom.routing.check.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("barnloom"):
                assert (node.module or "").startswith(allowed), f"{path.name}: {node.module}"
            if isinstance(node, ast.Import):
                assert not any(name.name.startswith("barnloom") for name in node.names), path.name


@pytest.mark.parametrize(
    "field", ["storeys", "assemblies", "members", "boxes", "circuits", "cable_rules", "cable_types", "limits"]
)
def test_a_plan_with_parts_of_its_building_missing_is_judged_and_never_raises(field: str) -> None:
    parts = getattr(HAND.building, field)
    for left_out in range(0, len(parts), 1 + len(parts) // 12):
        less = building(**{field: parts[:left_out] + parts[left_out + 1 :]})(HAND)
        assert all(finding.words for finding in check(less))
    assert check(building(**{field: ()})(HAND)) or field in ("storeys", "cable_rules")


def test_a_plan_with_cables_or_holes_missing_is_judged_and_never_raises() -> None:
    for n in range(len(HAND.cables)):
        assert check(whole(cables=HAND.cables[:n] + HAND.cables[n + 1 :])(HAND))
    for n in range(len(HAND.bores)):
        assert check(whole(bores=HAND.bores[:n] + HAND.bores[n + 1 :])(HAND))
    assert check(whole(cables=(), bores=())(HAND))


def test_a_metric_building_is_judged_in_millimetres() -> None:
    plan = both(FAULTS["joist hole 1/16 in nearer the bottom edge than 2 in"][0], building(metric=True))(HAND)
    words = {finding.words for finding in check(plan) if finding.code == "bore.edge"}
    assert words == {"49.21 mm from hole edge to the edge of LOFT-J3, 50.8 mm needed (IRC 2021 R502.8.1 / R802.7.1)"}


def test_the_planted_faults_are_all_different() -> None:
    plans = [change(HAND) for change, _ in FAULTS.values()]
    assert len(plans) >= 40
    assert all(one != other for k, one in enumerate(plans) for other in plans[:k])


def test_every_limit_moved_the_other_way_passes() -> None:
    """What a fault misses by 1/16 in, the neighbour on the grid keeps: equality with a limit passes."""
    for change in (
        moved("SOUTH-S3.a", across=1.625),
        moved("LOFT-J3.a", across=2.375),
        moved("LOFT-J3.a", across=6.875),
        moved("LOFT-J5.a", across=3.375),
        moved("SOUTH-TP1.a", across=1.0),
        moved("LOFT-J5.a", along=26.375),
        old_hole("LOFT-J3", 48.5 + 2.75, 0.75),
        old_hole("LOFT-J3", 48.5 + 3.375, None),
        old_hole("SOUTH-S3", 33.5 + 1.875, 1.0, across=1.75),
        both(
            both(limit("joist.notch_share", 0.25), limit("joist.notch_span_share", 0.4)),
            part("members", "LOFT-J3", notches=(Notch(along=(48.5, 50.0), edge="low", depth_in=2.25),)),
        ),
        part("members", "SOUTH-S3", notches=(Notch(along=(33.875, 40.0), edge="high", depth_in=0.25),)),
        moved("LOFT-J3.a", along=11.625),
        part("boxes", "PANEL", rise_in=8.0),
        both(stick("SOUTH-X1", 38.25, (52.0, 58.0)), stick("SOUTH-X2", 40.25, (52.0, 58.0))),
        stick("SOUTH-X1", 33.5, (35.25, 60.0)),  # 3/4 in beyond a hole's mouth
        joist_beside_plate_hole(24.625),
        narrow_board(0.372),
    ):
        assert looked(change(HAND)) == ()


def test_equality_with_a_limit_passes_and_a_thousandth_more_does_not() -> None:
    unheld = both(part("members", "UP-S2", fasten=Right.NEVER), part("members", "UP-S3", fasten=Right.NEVER))
    one_side = part("members", "SOUTH-S2", fasten=Right.NEVER)
    in_sight = both(
        part("assemblies", "SOUTH", lining="none"), building(exposed="drops"), cable("U1.UP1", covered_in=0.0)
    )
    run = 3.0 + 9.25 + 2.25 + 11.0 + 0.5625 + 33.5  # from the plates over SOUTH up to the box in UP
    for at_it, beyond in (
        (limit("stud.hole_share_bearing", 0.75 / 3.5), limit("stud.hole_share_bearing", 0.749 / 3.5)),
        (maker(diameter_max_in=0.75), maker(diameter_max_in=0.749)),
        (limit("hole.fill_share", hypot(0.422, 0.366) / 0.75), limit("hole.fill_share", hypot(0.422, 0.365) / 0.75)),
        (
            both(one_side, limit("cable.face_edge", (3.5 - 0.794) / 2)),
            both(one_side, limit("cable.face_edge", (3.5 - 0.793) / 2)),
        ),
        (
            both(unheld, limit("cable.support", run), limit("cable.first_support", run)),
            both(unheld, limit("cable.support", run - 1e-3), limit("cable.first_support", run)),
        ),
        (
            both(unheld, limit("cable.support", run), limit("cable.first_support", run)),
            both(unheld, limit("cable.support", run), limit("cable.first_support", run - 1e-3)),
        ),
        (limit("cable.support", 2 * 7.25), limit("cable.support", 2 * 7.249)),  # the bays are 14.5 wide
        (bore("LOFT-J3.a", margin_in=0.0), bore("LOFT-J3.a", margin_in=-1e-3)),
        (whole(lower_bound=HAND.cost), whole(lower_bound=HAND.cost + 1e-3)),
        (both(in_sight, building(exposed_below_in=35.0)), both(in_sight, building(exposed_below_in=35.001))),
        (edge_of_joist(5.125), edge_of_joist(5.124)),
    ):
        assert looked(at_it(HAND)) == ()
        assert looked(beyond(HAND)) != ()


def edge_of_joist(depth: float) -> Change:
    """Make the joist with the old hole so shallow that the hole's edge, 5.125 up, is at its own."""
    ply = Ply(along=(0.0, 140.0), bit=(0.0, 1.5), across=(0.0, depth))
    return both(
        part("members", "LOFT-J4", bore=Right.MAKER, depth_in=depth, plies=(ply,)),
        bore("OLD1", nail_plates=("top edge",)),
    )


def test_a_plate_hole_may_be_drawn_from_the_top_of_the_subfloor() -> None:
    points = HAND.cables[3].points
    longer = rerouted(
        "U1.UP1",
        (*points[:5], (24.0, 2.3125, 107.5), *points[6:]),
        ", ".join(HAND.cables[3].tracks),
    )
    assert looked(longer(HAND)) == ()


def test_an_old_hole_near_an_end_is_used_with_a_warning() -> None:
    short = (Ply(along=(0.0, 70.0), bit=(0.0, 1.5), across=(0.0, 9.25)),)
    found = looked(part("members", "LOFT-J4", plies=short)(HAND))
    assert {(finding.code, finding.severity) for finding in found} == {("bore.end", "warning")}


def doubled_row(count: int) -> Plan:
    """Successive studs of UP as packs of two, each with a 2 in hole (57 % of 3-1/2 in) that carries nothing."""
    names = [f"UP-S{n}" for n in range(3, 3 + count)]
    two = (
        Ply(along=(0.0, 87.0), bit=(0.0, 1.5), across=(0.0, 3.5)),
        Ply(along=(0.0, 87.0), bit=(1.5, 3.0), across=(0.0, 3.5)),
    )
    plan = both(*(part("members", name, thickness_in=3.0, plies=two) for name in names), bits(0.75, 2.0))(HAND)
    hole = replace(
        plan.bores[0], diameter_in=2.0, along_in=60.0, across_min_in=1.625, across_max_in=1.875, nail_plates=BOTH_SIDES
    )
    return replace(
        plan, bores=(*plan.bores, *(replace(hole, id=f"{name}.a", member=name, cables=()) for name in names))
    )


def test_two_successive_doubled_studs_may_be_bored_wide_and_a_third_may_not() -> None:
    # IRC 2021 R602.6: over 40 % and up to 60 % only in doubled studs, not more than two successive ones.
    found = {count: {finding.code for finding in looked(doubled_row(count))} for count in (2, 3)}
    assert found == {2: {"bore.cables"}, 3: {"bore.cables", "stud.doubled"}}
    just_single = limit("stud.hole_share_bearing", 2.0 / 3.5)(doubled_row(3))
    assert {finding.code for finding in looked(just_single)} == {"bore.cables"}


def test_doubled_studs_with_a_single_one_between_are_not_successive() -> None:
    plan = doubled_row(4)
    single = next(m for m in HAND.building.members if m.id == "UP-S5")
    plan = part("members", "UP-S5", thickness_in=1.5, plies=single.plies)(plan)
    plan = without_bore("UP-S5.a")(plan)
    assert "stud.doubled" not in {finding.code for finding in looked(plan)}


def test_a_short_straight_start_is_a_warning_where_the_plan_says_so() -> None:
    short = part("boxes", "LAMP4", rise_in=10.5)(HAND)
    assert {(f.code, f.severity) for f in looked(short)} == {("run.rise", "fault")}
    told = replace(short, warnings=("LAMP4: there is room for 10 in of straight cable only",))
    assert {(f.code, f.severity) for f in looked(told)} == {("run.rise", "warning")}
    other = replace(short, warnings=("LAMP40: there is room for 10 in of straight cable only",))
    assert {(f.code, f.severity) for f in looked(other)} == {("run.rise", "fault")}


def cornered(*, corner: bool) -> Plan:
    """A stud flat against SOUTH's room side begins a wall going north; the cable turns in SOUTH-S3, and bores both."""
    flat = member(
        "NORTHW-S1", Role.STUD, "NORTHW", (30.25, 3.5, 1.5), (UP, NORTH, EAST), (93.0, 1.5, 3.5), corner=corner
    )
    south, box = HAND.building.assemblies[0], HAND.building.boxes[1]
    wall = replace(south, id="NORTHW", origin=(33.75, 3.5, 0.0), u=NORTH, w=(-1.0, 0.0, 0.0))
    second = replace(HAND.bores[0], id="NORTHW-S1.a", member="NORTHW-S1", nail_plates=("room side",))
    return both(
        more_members(flat),
        part("members", "SOUTH-S3", corner=corner),
        building(assemblies=(*HAND.building.assemblies, wall), cable_rules=(RULE_2,)),
        part("boxes", "OUT1", host="NORTHW", u_in=20.0, at=(33.75 - box.w_in, 23.5, 48.0)),
        part("circuits", "P1", boxes=("OUT1",)),
        lambda plan: whole(cables=tuple(c for c in plan.cables if c.id != "P1.OUT2"))(plan),
        without_bore("SOUTH-S4.a"),
        whole(unreached=(), unreached_why=()),
        rerouted(
            "P1.OUT1",
            (
                (24.0, 1.75, 43.0),
                (24.0, 1.75, 35.0),
                (31.25, 1.75, 35.0),
                (32.0, 1.75, 35.0),
                (32.0, 5.0, 35.0),
                (32.0, 23.5, 35.0),
                (32.0, 23.5, 46.0),
            ),
            "SOUTH, SOUTH, bore SOUTH-S3.a, bore NORTHW-S1.a, NORTHW, NORTHW",
        ),
        bore("SOUTH-S3.a", nail_plates=("room side",)),
        lambda plan: whole(bores=(*plan.bores, second))(plan),
    )(HAND)


def test_two_holes_that_meet_in_a_framed_corner_pass() -> None:
    assert [str(finding) for finding in looked(cornered(corner=True))] == []


def test_two_holes_that_meet_where_there_is_no_corner_do_not() -> None:
    found = {finding.code for finding in looked(cornered(corner=False))}
    assert found == {"run.bore", "run.wood", "bore.nail_plates"}


@pytest.mark.parametrize(
    ("depth", "width", "count", "passes"),
    [
        # Cable along a face keeps 1-1/4 in from both edges (NEC 2023 300.4(D)): (3.5 - 2 x 0.422) / 2 = 1.33 and so on.
        (3.5, 0.422, 2, True),
        (3.5, 0.422, 3, False),
        (3.5, 0.372, 2, True),
        (3.5, 0.372, 3, False),
        (5.5, 0.422, 3, True),
        (5.5, 0.422, 4, True),
    ],
)
def test_lanes_on_the_side_of_a_stud(depth: float, width: float, count: int, *, passes: bool) -> None:
    edge = next(limit.value for limit in HAND.building.limits if limit.name == "cable.face_edge")
    assert fits([width] * count, [depth - 2 * edge]) is passes


def test_two_sides_of_a_bay_take_twice_as_many_cables() -> None:
    assert fits([0.422] * 4, [1.0, 1.0])
    assert not fits([0.422] * 5, [1.0, 1.0])


@pytest.mark.parametrize("turn", [1, 2, 3])
def test_the_verdict_does_not_depend_on_which_way_the_building_stands(turn: int) -> None:
    angle = 0.7 * turn
    for words in (
        "cable through a stud with no hole",
        "cable 1/16 in below its hole",
        "hole 1/32 in off the print grid",
    ):
        change, expected = FAULTS[words]
        assert {finding.code for finding in looked(turned(change(HAND), angle))} == expected
    assert looked(turned(HAND, angle)) == ()


def turned(plan: Plan, angle: float) -> Plan:
    """The plan with the building turned about the vertical and set elsewhere, without the chimney, which cannot."""

    def way(v: tuple[float, float, float]) -> tuple[float, float, float]:
        return (cos(angle) * v[0] - sin(angle) * v[1], sin(angle) * v[0] + cos(angle) * v[1], v[2])

    def place(v: tuple[float, float, float]) -> tuple[float, float, float]:
        x, y, z = way(v)
        return (x + 300.0, y - 75.0, z)

    old = plan.building
    return replace(
        plan,
        building=replace(
            old,
            keep_clear=(),
            members=tuple(
                replace(m, origin=place(m.origin), along=way(m.along), bit=way(m.bit), across=way(m.across))
                for m in old.members
            ),
            assemblies=tuple(
                replace(a, origin=place(a.origin), u=way(a.u), v=way(a.v), w=way(a.w)) for a in old.assemblies
            ),
            boxes=tuple(replace(b, at=place(b.at)) for b in old.boxes),
        ),
        cables=tuple(replace(c, points=tuple(place(p) for p in c.points)) for c in plan.cables),
    )

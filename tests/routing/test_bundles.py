"""Cables that lie together: over a length, or in a sealed hole. Plans drawn by hand, counts by pencil."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from math import dist

import pytest
from hand_plan import hand_building, hand_plan

from barnloom.model.building import Hole, Role, Vec
from barnloom.model.limits import load_limits
from barnloom.routing.plan import Bore, Cable, Plan
from barnloom.routing.wiring.bundles import bundle_counts, sealed_counts

Line = tuple[Vec, ...]


def cable(name: str, points: Line, tracks: tuple[str, ...] = ()) -> Cable:
    tracks = tracks or ("SOUTH",) * (len(points) - 1)
    path = sum(dist(a, b) for a, b in pairwise(points))
    return Cable(
        id=name,
        circuit=name,
        type="12/2",
        from_box="PANEL",
        to_box="FAR",
        points=points,
        tracks=tracks,
        bores=tuple(track.removeprefix("bore ") for track in tracks if track.startswith("bore ")),
        path_in=path,
        entries_in=8.0,
        free_in=16.0,
        panel_in=0.0,
        slack_in=0.0,
        cut_in=path,
        floor="SHOP",
        staples=0,
        turns=0,
        board_in=0.0,
        covered_in=0.0,
    )


def level(name: str, start: float, end: float, height: float = 60.0, track: str = "SOUTH") -> Cable:
    return cable(name, ((start, 1.75, height), (end, 1.75, height)), (track,))


def plan_of(*cables: Cable, bores: tuple[Bore, ...] = (), insulated: str = "yes") -> Plan:
    return replace(hand_plan(), building=hand_building(insulated=insulated), cables=cables, bores=bores)


def counts(*cables: Cable, each: int = 2, bundled: bool = True) -> dict[str, int]:
    plan = plan_of(*cables, insulated="no")
    return {
        name: found.count for name, found in bundle_counts(plan, {c.id: each for c in cables}, bundled=bundled).items()
    }


# NEC 310.15(C)(1): without maintained spacing for more than 24 in continuous
# (voltagelab.com/table-310-15b3a-adjustment-factors; ecmweb.com/nec/code-qa-0, 23 Sept 2004).


def test_24_in_together_is_no_bundle_and_more_is() -> None:
    assert counts(level("A", 0, 100), level("B", 40, 64)) == {"A": 2, "B": 2}
    assert counts(level("A", 0, 100), level("B", 40, 64.01)) == {"A": 4, "B": 4}


def test_half_an_inch_apart_touches_and_more_does_not() -> None:
    assert counts(level("A", 0, 60), level("B", 0, 60, height=60.5)) == {"A": 4, "B": 4}
    assert counts(level("A", 0, 60), level("B", 0, 60, height=60.51)) == {"A": 2, "B": 2}


def test_only_what_follows_one_track_is_together() -> None:
    # one on each side of a board, say
    assert counts(level("A", 0, 60), level("B", 0, 60, track="RUN")) == {"A": 2, "B": 2}


def test_crossing_is_not_beside() -> None:
    assert counts(level("A", 0, 60), cable("B", ((30.0, 1.75, 0.0), (30.0, 1.75, 90.0)))) == {"A": 2, "B": 2}


def test_a_cable_pulled_the_other_way_lies_beside_all_the_same() -> None:
    assert counts(level("A", 0, 60), level("B", 60, 0)) == {"A": 4, "B": 4}


def test_the_answer_that_nothing_is_a_bundle_leaves_each_alone() -> None:
    assert counts(level("A", 0, 60), level("B", 0, 60), bundled=False) == {"A": 2, "B": 2}


def test_those_that_stay_together_count_and_not_all_that_come_by() -> None:
    # A has B at 0 to 30 and C at 25 to 60: never both for more than 24 in.
    assert counts(level("A", 0, 60), level("B", 0, 30), level("C", 25, 60)) == {"A": 4, "B": 4, "C": 4}
    # B at 0 to 40, C at 10 to 60: both over 10 to 40.
    assert counts(level("A", 0, 60), level("B", 0, 40), level("C", 10, 60)) == {"A": 6, "B": 6, "C": 6}


def test_two_short_stretches_are_no_long_one() -> None:
    away = cable("B", ((0.0, 1.75, 60.0), (20.0, 1.75, 60.0), (20.0, 1.75, 70.0), (40.0, 1.75, 70.0),
                       (40.0, 1.75, 60.0), (60.0, 1.75, 60.0)))  # fmt: skip
    assert counts(level("A", 0, 100), away) == {"A": 2, "B": 2}


def test_studs_and_their_holes_and_a_turn_do_not_part_what_goes_on_together() -> None:
    tracks = ("SOUTH", "bore SOUTH-S3.a", "SOUTH", "SOUTH")
    line: Line = ((20.0, 1.75, 35.0), (31.25, 1.75, 35.0), (32.75, 1.75, 35.0), (40.0, 1.75, 35.0), (40.0, 1.75, 40.0))
    # 11-1/4 + 1-1/2 + 7-1/4 + 5 = 25 in
    assert counts(cable("A", line, tracks), cable("B", line, tracks)) == {"A": 4, "B": 4}
    # the same a little beside each other: the turn is cut by half an inch
    inner: Line = (
        *((20.0, 1.75, 35.5), (31.25, 1.75, 35.5), (32.75, 1.75, 35.5), (39.5, 1.75, 35.5), (39.5, 1.75, 40.5)),
    )
    assert counts(cable("A", line, tracks), cable("B", inner, tracks))["A"] == 4


def test_factor_and_words() -> None:
    # Four 12/2: 8 current-carrying conductors at 70 % (mikeholt.com/dailycodetipcalendar.php); 10 to 20 at 50 %
    # (buildmyowncabin.com/nec/nec2014_table310.15(b)(3)(a).html).
    four = [level(name, 0, 60) for name in "ABCD"]
    found = bundle_counts(plan_of(*four, insulated="no"), dict.fromkeys("ABCD", 2), bundled=True)["A"]
    assert (found.count, found.factor) == (8, pytest.approx(0.7))
    assert found.where == "beside B, C, D for 5' 0\" in SOUTH"
    five = [level(name, 0, 60) for name in "ABCDE"]
    found = bundle_counts(plan_of(*five, insulated="no"), dict.fromkeys("ABCDE", 2), bundled=True)["A"]
    assert (found.count, found.factor) == (10, pytest.approx(0.5))
    alone = bundle_counts(plan_of(level("A", 0, 60), insulated="no"), {"A": 2}, bundled=True)["A"]
    assert (alone.count, alone.factor, alone.where) == (2, 1.0, "")


def test_the_length_is_the_buildings_limit() -> None:
    plan = plan_of(level("A", 0, 60), level("B", 0, 60), insulated="no")
    loose = replace(plan.building, limits=load_limits(changes={"cable.bundle": (60.0, "as the inspector reads it")}))
    assert bundle_counts(replace(plan, building=loose), {"A": 2, "B": 2}, bundled=True)["A"].count == 2


# NEC 334.80: more than two cables in contact with thermal insulation without spacing, over any length
# (life-improver.com/diy/electrical-why-would-an-inspection-company-flag-two-nm-12-gauge-wires-going-through-
# the-same-joist-hole).


def test_in_insulation_more_than_two_count_over_any_length_and_no_shortness_excuses_them() -> None:
    short = [level(name, 0, 12) for name in "ABC"]
    carrying = dict.fromkeys("ABC", 2)
    found = bundle_counts(plan_of(*short, insulated="yes"), carrying, bundled=True)["A"]
    assert (found.count, found.factor, found.length_in) == (6, pytest.approx(0.8), math.inf)
    assert found.where == "in insulation beside B, C in SOUTH"
    assert bundle_counts(plan_of(*short, insulated="no"), carrying, bundled=True)["A"].count == 2
    assert bundle_counts(plan_of(*short, insulated="yes"), carrying, bundled=False)["A"].count == 2
    assert bundle_counts(plan_of(*short[:2], insulated="yes"), {"A": 2, "B": 2}, bundled=True)["A"].count == 2


# NEC 334.80: more than two cables of two or more current-carrying conductors through one opening in wood that is to be
# sealed (forums.mikeholt.com/threads/bundling-nm.14282, forums.mikeholt.com/goto/post?id=1294209).


def plate_bore(*cables: str, member: str = "SOUTH-TP1", name: str = "SOUTH-TP1.a") -> Bore:
    return Bore(
        id=name,
        member=member,
        along_in=20.0,
        across_in=1.75,
        across_min_in=1.5,
        across_max_in=2.0,
        diameter_in=1.0,
        cables=cables,
        nail_plates=(),
        rule="",
        margin_in=0.0,
        existing=False,
        drill_pass=name,
        pose="plate_below",
    )


THREE = tuple(level(name, 0, 60, height) for name, height in (("A", 10.0), ("B", 20.0), ("C", 30.0)))


def test_two_cables_in_a_sealed_plate_stand_and_three_are_derated() -> None:
    two = {"A": 2, "B": 2, "C": 2}
    assert sealed_counts(plan_of(*THREE, bores=(plate_bore("A", "B"),)), two) == {}
    found = sealed_counts(plan_of(*THREE, bores=(plate_bore("A", "B", "C"),)), two)
    assert {name: (one.count, one.factor) for name, one in found.items()} == dict.fromkeys("ABC", (6, 0.8))
    assert found["B"].where == "3 cables through the sealed hole SOUTH-TP1.a of SOUTH-TP1"


def test_a_cable_of_one_current_carrying_conductor_is_none_of_the_three() -> None:
    assert sealed_counts(plan_of(*THREE, bores=(plate_bore("A", "B", "C"),)), {"A": 2, "B": 2, "C": 1}) == {}


def test_an_uninsulated_building_and_a_hole_in_a_stud_seal_nothing() -> None:
    two = {"A": 2, "B": 2, "C": 2}
    assert sealed_counts(plan_of(*THREE, bores=(plate_bore("A", "B", "C"),), insulated="no"), two) == {}
    assert sealed_counts(plan_of(*THREE, bores=(plate_bore("A", "B", "C"),), insulated="later"), two) != {}
    stud = plate_bore("A", "B", "C", member="SOUTH-S3", name="SOUTH-S3.a")
    assert sealed_counts(plan_of(*THREE, bores=(stud,)), two) == {}


def test_a_cable_that_is_in_the_hole_already_counts() -> None:
    building = hand_building()
    old = Hole(id="OLD9", along_in=20.0, across_in=1.75, diameter_in=1.0, holds=("12/2",))
    members = tuple(
        replace(member, holes=(old,)) if member.role is Role.TOP_PLATE else member for member in building.members
    )
    plan = plan_of(*THREE, bores=(plate_bore("A", "B", name="OLD9"),))
    found = sealed_counts(replace(plan, building=replace(building, members=members)), {"A": 2, "B": 2, "C": 2})
    assert {name: one.count for name, one in found.items()} == {"A": 6, "B": 6}


def test_the_fullest_hole_of_a_cable_counts() -> None:
    plan = plan_of(
        *THREE, level("D", 0, 60, 40.0), bores=(plate_bore("A", "B", "C", "D"), plate_bore("A", "B", "C", name="Z"))
    )
    assert sealed_counts(plan, dict.fromkeys("ABCD", 2))["A"].count == 8

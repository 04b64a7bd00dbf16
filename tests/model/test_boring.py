"""Legal zones worked by hand and against the derived tables, and what is said about them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from timbers import drilled, member

from barnloom.model.boring import (
    along_spans,
    bands,
    governing,
    interesting_along,
    nail_plates,
    near_bearing,
    reason,
    reusable,
    tie_needed,
)
from barnloom.model.building import MakerHoles, Member, Notch, Right, Role
from barnloom.model.limits import Limits, load_limits

LIMITS = Limits(load_limits())


def zone(timber: Member, diameter: float, along: float = 60.0, aim: float | None = None, **more) -> tuple[float, ...]:
    """Band and plain band at one place, inches."""
    wish = timber.depth_in / 2 if aim is None else aim
    found = bands(timber, LIMITS, diameter, np.array([along]), aim_in=wish, **more)
    return tuple(float(part[0]) for part in (found.low, found.high, found.plain_low, found.plain_high))


STUD = member(Role.STUD, depth=3.5, length=92.625)
WALL_BLOCK = {"along": (1.0, 0.0, 0.0), "bit": (0.0, 0.0, 1.0), "across": (0.0, 1.0, 0.0)}


# Worked by hand


@pytest.mark.parametrize(
    ("timber", "diameter", "expected"),
    [
        # 2 + 3/8 from each edge of 9-1/4; always plain, because 2 is more than 1-1/4
        (member(), 0.75, (2.375, 6.875, 2.375, 6.875)),
        # the edge rule alone leaves a 2x6 one place for 1-1/2
        (member(depth=5.5), 1.5, (2.75, 2.75, 2.75, 2.75)),
        (member(depth=241 / 25.4), 0.75, (2.375, 241 / 25.4 - 2.375, 2.375, 241 / 25.4 - 2.375)),
        # 5/8 + 3/8 from each face of a 2x4 stud; plain between 1-5/8 and 1-7/8
        (STUD, 0.75, (1.0, 2.5, 1.625, 1.875)),
        (STUD, 1.0, (1.125, 2.375, 1.75, 1.75)),
        (STUD, 1.25, (1.25, 2.25, math.nan, math.nan)),
        # 1/4 + 3/8 from each face of a plate (own caution)
        (member(Role.TOP_PLATE, depth=5.5), 0.75, (0.625, 4.875, 1.625, 3.875)),
        (member(Role.SOLE_PLATE, depth=3.5), 3.0, (1.75, 1.75, math.nan, math.nan)),
        (member(Role.BLOCK, depth=3.5, **WALL_BLOCK), 0.75, (0.625, 2.875, 1.625, 1.875)),
        (member(Role.BLOCK, depth=9.25), 0.75, (2.375, 6.875, 2.375, 6.875)),
        (member(Role.RAFTER, depth=7.25), 1.0, (2.5, 4.75, 2.5, 4.75)),
        (member(Role.POST, depth=5.5), 2.0, (1.625, 3.875, 2.25, 3.25)),
    ],
)
def test_a_zone_worked_by_hand(timber: Member, diameter: float, expected: tuple[float, ...]) -> None:
    assert zone(timber, diameter) == pytest.approx(expected, abs=1e-9, nan_ok=True)


@pytest.mark.parametrize(
    ("timber", "most"),
    [
        # joists: the smaller of a third and the depth less 4 in (derived)
        (member(depth=3.5), 0.0),
        (member(depth=5.5), 1.5),
        (member(depth=7.25), 7.25 / 3),
        (member(depth=9.25), 9.25 / 3),
        (member(depth=11.25), 3.75),
        (member(depth=6.0), 2.0),
        (member(depth=8.0), 8 / 3),
        # studs: 40 % where bearing, 60 % where not or where doubled (derived)
        (member(Role.STUD, depth=3.5), 1.4),
        (member(Role.STUD, depth=5.5), 2.2),
        (member(Role.STUD, depth=4.0), 1.6),
        (member(Role.STUD, depth=3.5, bearing=False), 2.1),
        (member(Role.KING, depth=5.5, bearing=False), 3.3),
        (member(Role.STUD, depth=3.5, plies=[(0, 144, 0, 3.5)] * 2), 2.1),
        (member(Role.TOP_PLATE, depth=3.5), 3.0),
    ],
)
def test_the_largest_hole_is_that_of_the_derived_tables(timber: Member, most: float) -> None:
    sizes = np.arange(1, 100) / 16
    legal = [size for size in sizes if not math.isnan(zone(timber, size)[0])]
    assert max(legal, default=0.0) == pytest.approx(math.floor(most * 16 + 1e-6) / 16, abs=1e-9)
    if most:
        assert not math.isnan(zone(timber, most)[0])
        assert math.isnan(zone(timber, most + 1e-4)[0])


def test_the_largest_hole_without_a_nail_plate_in_a_2x4_is_one_inch() -> None:
    assert not math.isnan(zone(STUD, 1.0)[2])
    assert math.isnan(zone(STUD, 1.001)[2])


def test_the_third_doubled_stud_in_a_row_is_bored_like_a_single_one() -> None:
    doubled = member(Role.STUD, depth=3.5, plies=[(0, 144, 0, 3.5)] * 2)
    assert not math.isnan(zone(doubled, 1.5)[0])
    assert math.isnan(zone(doubled, 1.5, doubled_ok=False)[0])
    assert not math.isnan(zone(doubled, 1.375, doubled_ok=False)[0])


def test_a_pack_takes_what_all_its_plies_take() -> None:
    sistered = member(plies=[(0, 144, 0, 9.25), (40, 100, 1, 8.25)])
    assert zone(sistered, 0.75, 20)[:2] == (2.375, 6.875)
    assert zone(sistered, 0.75, 60)[:2] == (3.375, 5.875)
    assert not math.isnan(zone(sistered, 2.4, 60)[0])  # a third of 7-1/4, the shallower ply
    assert math.isnan(zone(sistered, 2.5, 60)[0])


@pytest.mark.parametrize(("along", "legal"), [(37.6, True), (37.7, False), (40, False), (42.3, False), (42.4, True)])
def test_the_end_of_any_ply_keeps_its_distance_on_both_sides(along: float, legal: bool) -> None:
    sistered = member(plies=[(0, 144, 0, 9.25), (40, 100, 0, 9.25)])
    assert math.isnan(zone(sistered, 0.75, along)[0]) is not legal


def test_a_gap_between_plies_is_no_wood() -> None:
    parted = member(plies=[(0, 40, 0, 9.25), (100, 144, 0, 9.25)])
    assert math.isnan(zone(parted, 0.75, 70)[0])
    assert "no wood" in reason(parted, LIMITS, 0.75, 70)


def holds(band: tuple[float, ...], across: float) -> bool:
    return band[0] - 1e-9 <= across <= band[1] + 1e-9


@pytest.mark.parametrize(("apart", "legal"), [(2.75, True), (2.7499, False), (-2.75, True), (0.0, False)])
def test_two_holes_of_three_quarters_at_one_height_keep_centres_two_and_three_quarters_apart(
    apart: float, legal: bool
) -> None:
    old, new = member(depth=5.5, holes=drilled((60, 2.75, 0.75))), [(60.0, 2.75, 0.75)]
    assert holds(zone(old, 0.75, 60 + apart), 2.75) is legal
    assert holds(zone(member(depth=5.5), 0.75, 60 + apart, holes=new), 2.75) is legal


def test_an_old_hole_splits_the_zone_and_the_part_nearest_the_aim_is_given() -> None:
    bored = member(depth=11.25, holes=drilled((60, 5.625, 0.75)))
    assert zone(bored, 0.75, 60, aim=8)[:2] == pytest.approx((8.375, 8.875), abs=1e-9)
    assert zone(bored, 0.75, 60, aim=3)[:2] == pytest.approx((2.375, 2.875), abs=1e-9)
    assert zone(bored, 0.75, 60, aim=5.625)[:2] == pytest.approx((2.375, 2.875), abs=1e-9)


def test_studs_and_plates_keep_one_diameter_of_the_larger_clear() -> None:
    bored = member(Role.TOP_PLATE, depth=3.5, holes=drilled((60, 1.75, 1.25)))
    reach = 0.375 + 0.625 + 1.25
    assert not holds(zone(bored, 0.75, 60 + reach - 1e-3, aim=1.75), 1.75)
    assert zone(bored, 0.75, 60 + reach, aim=1.75)[:2] == (0.625, 2.875)


def test_an_old_hole_that_is_not_measured_counts_as_two_inches() -> None:
    unknown, known = (member(holes=drilled((60, 4.625, d))) for d in (None, 2.0))
    for along in (55.0, 57.0, 61.0, 63.4):
        assert zone(unknown, 0.75, along) == pytest.approx(zone(known, 0.75, along), nan_ok=True)
    assert math.isnan(zone(replace(unknown, depth_in=5.5, plies=member(depth=5.5).plies), 0.75, 62)[0])


def test_a_notch_in_a_joist_keeps_two_inches_in_any_direction() -> None:
    notched = member(notches=(Notch(along=(60, 63), edge="low", depth_in=1.5),))
    assert zone(notched, 0.75, 61)[:2] == pytest.approx((1.5 + 2.375, 6.875), abs=1e-9)
    beside = math.sqrt(2.375**2 - 1.0)  # 1 in beside the notch
    assert zone(notched, 0.75, 59)[:2] == pytest.approx((1.5 + beside, 6.875), abs=1e-9)
    assert zone(notched, 0.75, 57.6)[:2] == pytest.approx((2.375, 6.875), abs=1e-9)
    topped = member(notches=(Notch(along=(60, 63), edge="high", depth_in=1.5),))
    assert zone(topped, 0.75, 61)[:2] == pytest.approx((2.375, 9.25 - 1.5 - 2.375), abs=1e-9)


@pytest.mark.parametrize(
    ("along", "legal"), [(39.625, True), (39.7, False), (41, False), (42.3, False), (42.375, True)]
)
def test_a_stud_has_no_hole_where_a_notch_is(along: float, legal: bool) -> None:
    notched = replace(STUD, notches=(Notch(along=(40, 42), edge="low", depth_in=0.5),))
    assert math.isnan(zone(notched, 0.75, along)[0]) is not legal


def test_the_maker_of_an_engineered_member_decides() -> None:
    maker = MakerHoles(diameter_max_in=1.5, edge_min_in=3.0, spacing_min_in=4.0, end_min_in=12.0, source="data sheet 7")
    engineered = member(depth=11.875, bore=Right.MAKER, maker=maker)
    assert zone(engineered, 1.5)[:2] == (3.75, 8.125)
    assert math.isnan(zone(engineered, 1.5625)[0])
    assert math.isnan(zone(engineered, 1.5, 12.7)[0])
    assert not math.isnan(zone(engineered, 1.5, 12.75)[0])
    assert zone(engineered, 1.5, 60, holes=[(65.5, 5.9, 1.5)])[:2] == (3.75, 8.125)
    assert math.isnan(zone(engineered, 1.5, 60, holes=[(65, 5.9375, 1.5)])[0])
    assert reason(engineered, LIMITS, 2, 60) == '2" is more than 1-1/2" (data sheet 7)'


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"bore": Right.NEVER, "reason": "carries the ridge"}, "not to be bored: carries the ridge"),
        ({"bore": Right.MAKER}, "engineered: only by its maker's data"),
        (
            {"bore": Right.MAKER, "reason": "engineered: only by its maker's data"},
            "engineered: only by its maker's data",
        ),
        ({"bore": Right.MAKER, "reason": "LVL"}, "engineered: only by its maker's data: LVL"),
        ({"bore": Right.UNKNOWN}, "not known whether it may be bored"),
        ({"role": Role.BOARD}, "a board is not bored"),
        ({"unmeasured": ("section",)}, "not measured: section"),
        ({"unmeasured": ("ends", "holes")}, "not measured: ends, holes"),
    ],
)
def test_a_member_that_may_not_be_bored_has_no_zone_and_says_why(said: dict, words: str) -> None:
    timber = member(**said)
    assert zone(timber, 0.75) == pytest.approx((math.nan,) * 4, nan_ok=True)
    assert along_spans(timber, LIMITS, 0.75) == interesting_along(timber, LIMITS, 0.75) == []
    assert reason(timber, LIMITS, 0.75, 60) == words


def test_whether_a_stud_bears_may_be_unmeasured_and_is_read_the_stricter_way() -> None:
    assert math.isnan(zone(replace(STUD, unmeasured=("bearing",)), 1.5)[0])


def test_a_limit_that_the_scene_tightens_narrows_the_zone() -> None:
    strict = Limits(load_limits(changes={"joist.edge": (3.0, "county")}))
    found = bands(member(), strict, 0.75, np.array([60.0]), aim_in=4.625)
    assert (found.low[0], found.high[0]) == (3.375, 5.875)
    assert "changed by the scene" in reason(member(depth=6.5), strict, 0.75, 60)


# In words


@pytest.mark.parametrize(
    ("timber", "diameter", "along", "words"),
    [
        (member(depth=1.875), 0.75, 60, '3/4" is more than a third of 1-7/8" (IRC 2021 R502.8.1)'),
        (
            member(depth=3.5),
            0.75,
            60,
            '2" to the edge each side leaves no room for 3/4" in 3-1/2" (IRC 2021 R502.8.1)',
        ),
        (
            member(Role.CEILING_JOIST, depth=3.5),
            0.75,
            60,
            '2" to the edge each side leaves no room for 3/4" in 3-1/2" (IRC 2021 R802.7.1)',
        ),
        (
            member(Role.HEADER, depth=3.5),
            1.25,
            60,
            '1-1/4" is more than a third of 3-1/2" (IRC 2021 R502.8.1, kept for a header as own caution)',
        ),
        (STUD, 1.5, 60, '1-1/2" is more than 40 % of 3-1/2" (IRC 2021 R602.6)'),
        (member(), 0.75, 1.0, '5/8" from an end, where 2" (own caution) is kept'),
        (
            member(depth=5.5, holes=drilled((60, 2.75, 0.75))),
            0.75,
            61,
            '1/4" from another hole, where 2" (IRC 2021 R502.8.1) is kept',
        ),
        (
            member(depth=5.5, holes=drilled((60, 2.75, 0.75))),
            0.75,
            60,
            '0" from another hole, where 2" (IRC 2021 R502.8.1) is kept',
        ),
        (
            replace(STUD, notches=(Notch(along=(40, 42), edge="low", depth_in=0.5),)),
            0.75,
            41,
            "no hole where a notch is (IRC 2021 R602.6)",
        ),
        (member(), 0.75, 60, ""),
    ],
)
def test_the_reason_names_rule_numbers_and_clause(timber: Member, diameter: float, along: float, words: str) -> None:
    assert reason(timber, LIMITS, diameter, along) == words


def test_the_reason_speaks_metric_where_asked() -> None:
    words = reason(member(depth=100 / 25.4), LIMITS, 20 / 25.4, 60, metric=True)
    assert words == "51 mm to the edge each side leaves no room for 20 mm in 100 mm (IRC 2021 R502.8.1)"


def test_the_governing_rule_is_the_tightest_with_its_margin() -> None:
    words, margin = governing(STUD, LIMITS, 0.75, 40, 1.75)
    assert words == 'hole edge to edge of the wood at least 1-1/4" without a nail plate (NEC 2023 300.4(A)(1))'
    assert margin == pytest.approx(0.125, abs=1e-9)
    words, margin = governing(STUD, LIMITS, 0.75, 40, 1.0)
    assert words == 'hole edge to edge of the wood at least 5/8" (IRC 2021 R602.6)'
    assert margin == pytest.approx(0.0, abs=1e-9)
    words, margin = governing(member(), LIMITS, 0.75, 40, 4.625, [(44, 4.625, 0.75), (40, 4.625, 0.75)])
    assert words == 'hole edge to hole edge at least 2" (IRC 2021 R502.8.1)'
    assert margin == pytest.approx(1.25, abs=1e-9)


def test_nail_plates_name_the_faces_that_are_too_near() -> None:
    assert nail_plates(STUD, LIMITS, 0.75, 1.75) == ()
    assert nail_plates(STUD, LIMITS, 0.75, 1.625) == ()
    assert nail_plates(STUD, LIMITS, 0.75, 1.5) == ("room side",)
    assert nail_plates(STUD, LIMITS, 0.75, 2.0) == ("far side",)
    assert nail_plates(STUD, LIMITS, 1.25, 1.75) == ("room side", "far side")
    assert nail_plates(member(depth=9.25), LIMITS, 0.75, 1.0) == ("bottom edge",)
    assert nail_plates(member(depth=9.25), LIMITS, 0.75, 8.5) == ("top edge",)


def test_a_plate_beside_the_end_joist_wants_a_nail_plate_on_the_room_side() -> None:
    # a 2x4 plate under an end joist leaves 2 in: 3/4 centred 1 in from the inside leaves 5/8 to the edge
    plate = member(Role.TOP_PLATE, depth=3.5)
    assert zone(plate, 0.75, aim=1.0)[0] == 0.625
    assert nail_plates(plate, LIMITS, 0.75, 1.0) == ("room side",)


def test_a_framed_corner_always_wants_a_nail_plate_on_the_room_side() -> None:
    corner = replace(STUD, corner=True)
    assert nail_plates(corner, LIMITS, 0.75, 1.75) == ("room side",)
    assert nail_plates(corner, LIMITS, 0.75, 2.0) == ("room side", "far side")
    assert zone(corner, 0.75) == pytest.approx((1.0, 2.5, math.nan, math.nan), nan_ok=True)


def test_nail_plates_look_at_the_plies_that_are_there() -> None:
    sistered = member(plies=[(0, 144, 0, 9.25), (40, 100, 2, 9.25)])
    assert nail_plates(sistered, LIMITS, 0.75, 3.0, 20) == ()
    assert nail_plates(sistered, LIMITS, 0.75, 3.0, 60) == nail_plates(sistered, LIMITS, 0.75, 3.0) == ("bottom edge",)


def test_a_top_plate_of_a_bearing_wall_cut_past_half_wants_a_tie() -> None:
    plate = member(Role.TOP_PLATE, depth=3.5)
    assert not tie_needed(plate, LIMITS, 1.75)
    assert tie_needed(plate, LIMITS, 1.76)
    assert not tie_needed(replace(plate, bearing=False), LIMITS, 2.0)
    assert not tie_needed(member(Role.SOLE_PLATE, depth=3.5), LIMITS, 2.0)


@pytest.mark.parametrize(("along", "near"), [(2, True), (13.0, True), (13.125, False), (72, False), (140, True)])
def test_within_a_depth_of_a_bearing_is_near(along: float, near: bool) -> None:
    # 3-1/2 in of bearing, 9-1/4 of depth, 3/8 of hole
    timber = member(bearings=((0.0, 3.5), (140.5, 144.0)))
    assert near_bearing(timber, LIMITS, 0.75, along) is near


@pytest.mark.parametrize(
    ("timber", "hole", "words"),
    [
        (member(), (60, 4.625, 1.0), ""),
        (member(), (60, 4.625, None), "its diameter is not measured"),
        (member(), (60, 4.625, 3.5), '3-1/2" is more than a third of 9-1/4" (IRC 2021 R502.8.1)'),
        (member(), (60, 2.0, 1.0), '1-1/2" to the edge, where 2" is kept (IRC 2021 R502.8.1)'),
        (member(), (60, 0.25, 1.0), "it is not wholly inside the wood"),
        (member(), (150, 4.625, 1.0), "it is not wholly inside the wood"),
        (member(), (1.0, 4.625, 1.0), ""),  # its distance to the end is as it is
        (STUD, (40, 1.75, 1.5), '1-1/2" is more than 40 % of 3-1/2" (IRC 2021 R602.6)'),
        (STUD, (40, 1.0, 0.75), ""),
        (STUD, (40, 0.9, 0.75), '1/2" to the edge, where 5/8" is kept (IRC 2021 R602.6)'),
        (member(bore=Right.MAKER), (60, 2.0, 4.0), ""),  # no rule without the maker's data
        (member(bore=Right.MAKER), (60, 1.5, 4.0), "it is not wholly inside the wood"),
        (member(bore=Right.NEVER), (60, 4.625, 1.0), "not to be bored"),
        (member(bore=Right.NEVER, reason="split"), (60, 4.625, 1.0), "not to be bored: split"),
        (member(bore=Right.UNKNOWN), (60, 4.625, 1.0), "not to be bored: not known whether it may be bored"),
        (
            member(bore=Right.UNKNOWN, unmeasured=("ends",)),
            (60, 4.625, 1.0),
            "not to be bored: not measured: ends",
        ),
        (
            member(bore=Right.UNKNOWN, unmeasured=("section",)),
            (60, 4.625, 1.0),
            "the section of its member is not measured",
        ),
        (
            replace(STUD, notches=(Notch(along=(39, 41), edge="low", depth_in=0.5),)),
            (40, 1.75, 0.75),
            "no hole where a notch is (IRC 2021 R602.6)",
        ),
    ],
)
def test_an_old_hole_is_used_only_if_its_size_and_edges_pass(timber: Member, hole: tuple, words: str) -> None:
    assert reusable(timber, LIMITS, drilled(hole)[0]) == words


def test_beside_an_old_hole_the_first_place_for_mid_depth_is_interesting() -> None:
    places = interesting_along(member(holes=drilled((60, 4.625, 1.0))), LIMITS, 0.75)
    assert places == pytest.approx([2.375, 60 - 2.875, 60 + 2.875, 144 - 2.375], abs=1e-9)


def test_a_member_that_is_a_single_place_long_still_has_it() -> None:
    short = member(length=4.75)
    assert along_spans(short, LIMITS, 0.75) == [(2.375, 2.375)]


def test_bands_are_independent_of_the_company_of_other_places() -> None:
    timber = member(plies=[(0, 144, 0, 9.25), (40, 100, 1, 9)], holes=drilled((60, 4, 1), (63, 6, None)))
    alongs = np.linspace(0, 144, 97)
    together = bands(timber, LIMITS, 0.75, alongs, aim_in=4.0)
    for n, along in enumerate(alongs):
        alone = bands(timber, LIMITS, 0.75, np.array([along]), aim_in=np.array([4.0]))
        np.testing.assert_equal(alone.low[0], together.low[n])
        np.testing.assert_equal(alone.high[0], together.high[n])

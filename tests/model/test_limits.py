"""The US limits against what public pages print, and how a scene changes them.

The official texts were not opened; each row names the page that states its value, "memory" where none was found, "own"
for the tool's own cautions.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from barnloom.model.limits import LimitError, Limits, at_least, at_most, cited, load_limits

LIMITS = Limits(load_limits())

JOIST_PAGE = "hinarratives.com/notching-boring-framing/"
TIE_PAGE = "life-improver.com/diy/plumbing-how-to-property-tie-a-top-plate-that-is-bored-instead-of-notched/"
EDGE_PAGE = "ecmweb.com/national-electrical-code/qa/article/21248578/code-qa"
FACE_PAGE = "neca-neis.org/code-question-of-the-day/code-question/cqd-12-25-2017"
SUPPORT_PAGE = "forums.mikeholt.com/threads/bored-holes.97380"
BEND_PAGE = "electricallicenserenewal.com NEC-Content.php?sectionID=1924"
FREE_PAGE = "ecmweb.com/national-electrical-code/qa/article/21255990/code-qa-free-conductor-length-requirements"
PLAIN_BOX_PAGE = "codelibrary.amlegal.com/codes/centervillein/latest/centerville_in/0-0-0-4137"
SHEATH_PAGE = "electricallicenserenewal.com Course-GetQuestion.php?QID=1480.0"
BUNDLE_PAGE = "voltagelab.com/table-310-15b3a-adjustment-factors"
SEALED_PAGE = "mikeholt.com/dailycodetipcalendar.php"
ATTIC_PAGE = "ecmweb.com/print/code-quiz-day/installing-type-ac-cable-accessible-attic-spaces"
CONTINUOUS_PAGE = "forums.mikeholt.com/threads/coffee-pot-question.103218/page-2"
HEATER_PAGE = "mikeholt.com/newsletters.php?action=display&letterID=2089"
MOTOR_PAGE = "ecmweb.com/national-electrical-code/code-basics/article/20904830/motor-calculations-part-2"
SHORT_PAGE = "forums.mikeholt.com/threads/310-15-a-2-selection-of-ampacities.24785/"
DROP_PAGE = "bartleby.com, Electrical Wiring Residential 19th ed., ch. 4"
RECEPTACLE_PAGE = "forums.mikeholt.com/threads/number-of-duplex-recepticals.36947"
GROUND_FAULT_PAGE = "expertce.com electricians-guide-for-nec-2023, gfci-requirements-for-non-dwelling-locations"
ARC_FAULT_PAGE = "serveacademy.it/courses/2023-nec-changes-michigan/lectures/48886415"
HANDLE_PAGE = "ecmweb.com/qampa/code-qa-switch-accessibility"
VEHICLE_BAY_PAGE = "captaincode2017.leviton.com/node/128"
WORKING_SPACE_PAGE = "contractortalk.com/threads/subpanel-working-clearance.250081/"  # the same figures as IRC E3405
DISCONNECT_PAGE = "forums.mikeholt.com/threads/red-tagged-225-39.13023"
UNDER_JOISTS_PAGE = "ecmag.com/section/codes-standards/semantics"
STUD_PAGE = "app.leg.wa.gov/WAC/default.aspx?cite=296-150C-1000"  # the same figures as IRC R602.6

ROWS = [
    # joists and rafters, IRC 2021 R502.8.1 and R802.7.1
    ("joist.hole_share", 1 / 3, "share", "R502.8.1", JOIST_PAGE),
    ("joist.edge", 2, "in", "R502.8.1", JOIST_PAGE),
    ("joist.hole_gap", 2, "in", "R502.8.1", JOIST_PAGE),
    ("joist.notch_gap", 2, "in", "R502.8.1", JOIST_PAGE),
    ("joist.notch_share", 1 / 6, "share", "R502.8.1", JOIST_PAGE),
    ("joist.notch_length_share", 1 / 3, "share", "R502.8.1", JOIST_PAGE),
    ("joist.end_notch_share", 1 / 4, "share", "R502.8.1", JOIST_PAGE),
    ("joist.notch_span_share", 1 / 3, "share", "R502.8.1", JOIST_PAGE),
    ("joist.tension_notch_breadth", 4, "in", "R502.8.1", JOIST_PAGE),
    ("joist.bearing_depths", 1, "depths", "", "own"),
    # studs and plates, IRC 2021 R602.6 and R602.6.1
    ("stud.hole_share_bearing", 0.40, "share", "R602.6", STUD_PAGE),
    ("stud.hole_share_doubled", 0.60, "share", "R602.6", STUD_PAGE),
    ("stud.hole_share_nonbearing", 0.60, "share", "R602.6", STUD_PAGE),
    ("stud.doubled_run", 2, "count", "R602.6", STUD_PAGE),
    ("stud.edge", 0.625, "in", "R602.6", STUD_PAGE),
    ("stud.notch_share_bearing", 0.25, "share", "R602.6", STUD_PAGE),
    ("stud.notch_share_nonbearing", 0.40, "share", "R602.6", STUD_PAGE),
    ("stud.hole_gap_diameters", 1, "diameters", "", "own"),
    ("plate.tie_share", 0.50, "share", "R602.6.1", TIE_PAGE),
    ("plate.tie_thickness", 0.054, "in", "R602.6.1", TIE_PAGE),
    ("plate.tie_width", 1.5, "in", "R602.6.1", TIE_PAGE),
    ("plate.tie_past", 6, "in", "R602.6.1", TIE_PAGE),
    ("plate.tie_nails", 8, "count", "R602.6.1", TIE_PAGE),
    ("plate.edge", 0.25, "in", "", "own"),
    ("plate.member_gap", 0.25, "in", "", "own"),
    ("member.end", 2, "in", "", "own"),
    ("hole.unknown_diameter", 2, "in", "", "own"),
    ("hole.fill_share", 0.9, "share", "", "own"),
    ("gap.passable", 0.5, "in", "", "own"),
    ("fireblock.height", 120, "in", "R302.11", "memory"),
    # cables, NEC (NFPA 70)
    ("cable.edge", 1.25, "in", "300.4(A)(1)", EDGE_PAGE),
    ("cable.plate_thickness", 1 / 16, "in", "300.4(A)(1)", EDGE_PAGE),
    ("cable.fan", 4, "in", "", "own"),
    ("cable.face_edge", 1.25, "in", "300.4(D)", FACE_PAGE),
    ("cable.deck_below", 1.5, "in", "300.4(E)", "memory"),
    ("cable.support", 54, "in", "334.30", SUPPORT_PAGE),
    ("cable.first_support", 12, "in", "334.30", SUPPORT_PAGE),
    ("cable.first_support_plain_box", 8, "in", "314.17(C)", PLAIN_BOX_PAGE),
    ("cable.first_support_sheath", 18, "in", "334.30", "memory"),
    ("cable.sheath_in_box", 0.25, "in", "314.17", SHEATH_PAGE),
    ("cable.bend_diameters", 5, "diameters", "334.24", BEND_PAGE),
    ("cable.free", 6, "in", "300.14", FREE_PAGE),
    ("cable.free_outside", 3, "in", "300.14", FREE_PAGE),
    ("cable.free_opening", 8, "in", "300.14", FREE_PAGE),
    ("cable.bundle", 24, "in", "310.15(C)(1)", BUNDLE_PAGE),
    ("cable.sealed_together", 2, "count", "334.80", SEALED_PAGE),
    ("cable.attic_height", 84, "in", "320.23", ATTIC_PAGE),
    ("cable.attic_scuttle", 72, "in", "320.23", ATTIC_PAGE),
    ("cable.floor_sleeve", 6, "in", "334.15(B)", "memory"),
    ("cable.under_joists_two", 6, "AWG", "334.15(C)", UNDER_JOISTS_PAGE),
    ("cable.under_joists_three", 8, "AWG", "334.15(C)", UNDER_JOISTS_PAGE),
    # conductors, loads, voltage drop, supply, NEC
    ("load.continuous", 1.25, "factor", "210.20(A)", CONTINUOUS_PAGE),
    ("load.heater", 1.25, "factor", "424.4(B)", HEATER_PAGE),
    ("load.receptacle", 180, "VA", "220.14(I)", RECEPTACLE_PAGE),
    ("load.light", 100, "VA", "", "own"),
    ("load.alarm", 10, "VA", "", "own"),
    ("load.opener", 600, "VA", "", "own"),
    ("load.outlets_breaker", 20, "A", "", "own"),
    ("load.outlets_each", 10, "count", "", "own"),
    ("load.fixed_share", 0.5, "share", "210.23(B)(2)", "memory"),
    ("load.lights_breaker", 15, "A", "", "own"),
    ("load.lights_share", 0.8, "share", "210.20(A)", CONTINUOUS_PAGE),  # 1 / 1.25
    ("motor.conductor", 1.25, "factor", "430.22", MOTOR_PAGE),
    ("motor.breaker", 2.5, "factor", "430.52", MOTOR_PAGE),
    ("conductor.short_length", 120, "in", "310.14(A)(2)", SHORT_PAGE),
    ("conductor.short_share", 0.10, "share", "310.14(A)(2)", SHORT_PAGE),
    ("drop.branch", 0.03, "share", "210.19", DROP_PAGE),
    ("drop.total", 0.05, "share", "210.19", DROP_PAGE),
    ("drop.starting", 0.10, "share", "", "own"),
    ("feeder.disconnects", 6, "count", "225.33", DISCONNECT_PAGE),
    ("feeder.disconnect_one", 15, "A", "225.39(A)", "memory"),
    ("feeder.disconnect_two", 30, "A", "225.39(B)", DISCONNECT_PAGE),
    ("feeder.disconnect_house", 100, "A", "225.39(C)", "memory"),
    ("feeder.disconnect_other", 60, "A", "225.39(D)", DISCONNECT_PAGE),
    ("feeder.rod", 6, "AWG", "250.66(A)", "memory"),
    ("feeder.rod_ohms", 25, "ohm", "250.53(A)(2)", "memory"),
    ("ground_fault.receptacle_a", 50, "A", "210.8(B)", GROUND_FAULT_PAGE),
    ("arc_fault.breaker_a", 20, "A", "210.12", ARC_FAULT_PAGE),
    # what a person reaches and stands in, NEC; heights that no code gives
    ("reach.handle", 79, "in", "404.8(A)", HANDLE_PAGE),
    ("reach.machine", 24, "in", "", "own"),
    ("height.receptacle_low", 12, "in", "", "own"),
    ("height.receptacle_high", 66, "in", "210.52(G)(1)", VEHICLE_BAY_PAGE),
    ("height.switch_low", 36, "in", "", "own"),
    ("height.switch_high", 60, "in", "", "own"),
    ("height.sheet", 48, "in", "", "own"),
    ("height.sheet_plate", 2.25, "in", "", "own"),
    ("panel.space_depth", 36, "in", "110.26(A)(1)", WORKING_SPACE_PAGE),
    ("panel.space_width", 30, "in", "110.26(A)(2)", WORKING_SPACE_PAGE),
    ("panel.space_height", 78, "in", "110.26(A)(3)", WORKING_SPACE_PAGE),
    ("panel.spare_share", 0.2, "share", "", "own"),
    ("receptacle.cord_share", 0.8, "share", "210.21(B)(2)", "memory"),
    ("lights.breaker_a", 20, "A", "210.23", "memory"),
    ("heater.several_a", 30, "A", "424.4(B)", "memory"),
    ("terminal.receptacle_awg", 10, "AWG", "110.3(B)", "memory"),
    ("terminal.receptacle_a", 20, "A", "", "own"),
    ("motor.small_hp", 1, "hp", "430.32", "memory"),
    ("lining.no_screw", 2, "in", "", "own"),
]
CONFIDENCE = {"memory": "from memory", "own": "own caution"}


@pytest.mark.parametrize(
    ("name", "value", "unit", "clause", "page"),
    ROWS,
    ids=[f"{row[0]}-{row[4]}".replace("memory", "from_memory") for row in ROWS],
)
def test_each_limit_is_what_its_page_states(name: str, value: float, unit: str, clause: str, page: str) -> None:
    limit = LIMITS.limit(name)
    assert limit.value == pytest.approx(value, abs=1e-12)
    assert limit.unit == unit
    assert clause in limit.clause
    assert limit.confidence == CONFIDENCE.get(page, "confirmed")


def test_every_limit_of_the_profile_but_those_of_the_fill_is_looked_at_here() -> None:
    rows = [row[0] for row in ROWS]
    others = {name for name in LIMITS if not name.startswith("fill.")}
    assert sorted(rows) == sorted(others), "fill.* has its rows in test_box_fill.py, where none may be missing either"


def test_own_cautions_name_no_code_and_code_limits_name_clause_and_edition() -> None:
    for limit in load_limits():
        own = limit.confidence == "own caution"
        assert bool(limit.clause) is bool(limit.edition) is not own, limit.name
        assert limit.note, limit.name


# Derived sizes: depth, third, depth less 4, largest hole (None: no hole), notch depth, notch length, end notch.
# Derived by arithmetic. Printed so: 2x8 2-3/8 in (rounded down) at
# jlconline.com/how-to/framing/q-a-notches-holes-in-joists_o; 2x10 end notch 2.31, notch 1.54 x 3.08 at
# open-exam-prep.com (floor construction, common traps).
JOISTS = [
    ("2x4", 3.5, 1.167, -0.5, None, 0.583, 1.167, 0.875),
    ("2x6", 5.5, 1.833, 1.5, 1.5, 0.917, 1.833, 1.375),
    ("2x8", 7.25, 2.417, 3.25, 2.417, 1.208, 2.417, 1.8125),
    ("2x10", 9.25, 3.083, 5.25, 3.083, 1.542, 3.083, 2.3125),
    ("2x12", 11.25, 3.75, 7.25, 3.75, 1.875, 3.75, 2.8125),
    ("full-sawn 6", 6, 2, 2, 2, 1, 2, 1.5),
    ("full-sawn 8", 8, 2.667, 4, 2.667, 1.333, 2.667, 2),
    ("full-sawn 10", 10, 3.333, 6, 3.333, 1.667, 3.333, 2.5),
]


@pytest.mark.parametrize(("name", "d", "third", "less", "hole", "notch", "length", "end"), JOISTS)
def test_joist_limits_give_the_derived_table(
    name: str, d: float, third: float, less: float, hole: float | None, notch: float, length: float, end: float
) -> None:
    most = min(d * LIMITS["joist.hole_share"], d - 2 * LIMITS["joist.edge"])
    assert d * LIMITS["joist.hole_share"] == pytest.approx(third, abs=5e-4)
    assert d - 2 * LIMITS["joist.edge"] == less
    assert (most if most > 0 else None) == (hole if hole is None else pytest.approx(hole, abs=5e-4))
    assert d * LIMITS["joist.notch_share"] == pytest.approx(notch, abs=5e-4)
    assert d * LIMITS["joist.notch_length_share"] == pytest.approx(length, abs=5e-4)
    assert d * LIMITS["joist.end_notch_share"] == pytest.approx(end, abs=5e-4)


STUDS = [
    ("2x4", 3.5, 0.875, 1.4, 2.1, 2.25, 1.0, 1.75),
    ("2x6", 5.5, 1.375, 2.2, 3.3, 4.25, 3.0, 2.75),
    ("full-sawn 4", 4, 1.0, 1.6, 2.4, 2.75, 1.5, 2.0),
]


@pytest.mark.parametrize(("name", "d", "quarter", "forty", "sixty", "edges", "plain", "tie"), STUDS)
def test_stud_limits_give_the_derived_table(
    name: str, d: float, quarter: float, forty: float, sixty: float, edges: float, plain: float, tie: float
) -> None:
    assert d * LIMITS["stud.notch_share_bearing"] == pytest.approx(quarter, abs=1e-9)
    assert d * LIMITS["stud.hole_share_bearing"] == pytest.approx(forty, abs=1e-9)
    assert d * LIMITS["stud.hole_share_doubled"] == pytest.approx(sixty, abs=1e-9)
    assert d * LIMITS["stud.hole_share_nonbearing"] == pytest.approx(sixty, abs=1e-9)
    assert d - 2 * LIMITS["stud.edge"] == pytest.approx(edges, abs=1e-9)
    assert d - 2 * LIMITS["cable.edge"] == pytest.approx(plain, abs=1e-9)
    assert d * LIMITS["plate.tie_share"] == pytest.approx(tie, abs=1e-9)


def test_two_holes_of_three_quarters_keep_centres_two_and_three_quarters_apart() -> None:
    assert 0.75 + LIMITS["joist.hole_gap"] == 2.75


@given(st.floats(-1e4, 1e4), st.floats(-1e-7, 1e-7))
def test_equality_passes_both_ways_and_past_the_tolerance_fails(limit: float, noise: float) -> None:
    assert at_most(limit + noise, limit)
    assert at_least(limit + noise, limit)
    assert not at_most(limit + 3e-6, limit)
    assert not at_least(limit - 3e-6, limit)


def test_comparison_works_on_arrays_and_never_passes_a_missing_value() -> None:
    values = np.array([1.0, 2.0, np.nan])
    assert at_most(values, 1.0).tolist() == [True, False, False]
    assert at_least(values, np.array([1.0, 3.0, 0.0])).tolist() == [True, False, False]
    assert at_most(1.5, values).tolist() == [False, True, False]
    assert not at_most(math.nan, 1.0)


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("joist.edge", 2.5, "tightened from 2: county"),
        ("joist.edge", 1.5, "loosened from 2: county"),
        ("joist.hole_share", 0.25, "tightened from 0.3333: county"),
        ("cable.support", 60.0, "loosened from 54: county"),
        ("cable.support", 54.0, "kept at 54: county"),
    ],
)
def test_a_changed_limit_records_value_direction_and_reason(name: str, value: float, words: str) -> None:
    changed = Limits(load_limits(changes={name: (value, "county")}))
    assert changed[name] == value
    assert changed.limit(name).amended == words
    assert "changed by the scene" in cited(changed.limit(name))
    others = set(LIMITS) - {name}
    assert all(changed.limit(other) == LIMITS.limit(other) for other in others)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"joist.edges": (2, "county")}, r"joist\.edges.*did you mean joist\.edge\?"),
        ({"zzz": (2, "county")}, "the limit 'zzz'; expected the name of a limit"),
        ({"joist.edge": (-1, "county")}, "-1 for the limit joist.edge; expected a number from 0 up"),
        ({"joist.edge": (math.nan, "county")}, "expected a number from 0 up"),
        ({"joist.hole_share": (1.5, "county")}, "expected a share from 0 to 1"),
        ({"joist.edge": (3, " ")}, "without a reason"),
    ],
)
def test_a_change_that_cannot_be_is_refused_with_a_way_out(changes: dict[str, tuple[float, str]], words: str) -> None:
    with pytest.raises(LimitError, match=words):
        load_limits(changes=changes)


def test_an_unknown_profile_is_refused() -> None:
    with pytest.raises(LimitError, match="the profile '../us'; expected one of us"):
        load_limits("../us")


def test_the_citation_says_edition_clause_and_doubt() -> None:
    assert cited(LIMITS.limit("cable.edge")) == "NEC 2023 300.4(A)(1)"
    assert cited(LIMITS.limit("fireblock.height")) == "IRC 2021 R302.11, from memory"
    assert cited(LIMITS.limit("member.end")) == "own caution"

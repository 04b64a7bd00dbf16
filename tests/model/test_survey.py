"""What does not close in a scene: every number worked by hand here, every corner and member named."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barnloom.model.lengths import format_length
from barnloom.model.scene.half import half_text
from barnloom.model.survey.finding import Finding
from barnloom.model.survey.survey import Survey, survey_of

SCENES = Path(__file__).parents[2] / "scenes"
TEXTS = {path.stem: path.read_text(encoding="utf-8") for path in sorted(SCENES.glob("*.yaml"))}


def surveyed(text: str) -> Survey:
    return survey_of(half_text(text, Path("survey.yaml")))


def opened(text: str) -> list[Finding]:
    return [finding for finding in surveyed(text).findings if finding.kind == "open"]


def changed(name: str, old: str, new: str) -> str:
    assert old in TEXTS[name]
    return TEXTS[name].replace(old, new, 1)


def only(found: list[Finding]) -> Finding:
    assert len(found) == 1, [one.found for one in found]
    return found[0]


@pytest.mark.parametrize("name", TEXTS)
def test_the_scenes_close(name: str) -> None:
    assert {finding.kind for finding in surveyed(TEXTS[name]).findings} == {"assumed"}


# --- corners ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "wall", "length", "longer", "meets"),
    [
        ("sail-loft", "SOUTH", "start: [0, 0]\n    heading: east\n    length: 36'", "36' 3\"", "EAST"),
        ("sail-loft", "EAST", "start: [36', 0]\n    heading: north\n    length: 24'", "24' 3\"", "NORTH"),
        ("sail-loft", "NORTH", "start: [36', 24']\n    heading: west\n    length: 36'", "36' 3\"", "WEST"),
        ("sail-loft", "WEST", "start: [0, 24']\n    heading: south\n    length: 24'", "23' 9\"", "SOUTH"),
        ("garden-studio", "NORTH", "heading: west, length: 12'", "12' 3\"", "WEST"),
    ],
)
def test_three_inches_in_one_length_open_one_corner(name: str, wall: str, length: str, longer: str, meets: str) -> None:
    said = length.rsplit("length: ", 1)[0] + f"length: {longer}"
    found = only(opened(changed(name, length, said)))
    assert found.where == ("walls", wall, "length")
    assert f'corner of {wall} and {meets} is open by 3"' in found.found
    assert found.off_in == pytest.approx(3.0)
    assert found.measure.startswith(f"measure wall {wall} from outside framing corner")
    assert set(found.parts) == {("walls", wall), ("walls", meets)}


def test_a_wall_that_is_off_at_both_ends_has_its_start_in_doubt() -> None:
    found = only(opened(changed("sail-loft", "start: [36', 24']", "start: [36' 3\", 24']")))
    assert found.where == ("walls", "NORTH", "start")
    assert 'NORTH stands off by 3" at both its ends' in found.found


def test_opposite_sides_are_compared_where_no_place_is_known() -> None:
    text = changed("sail-loft", "start: [0, 24']", "start: ?")
    text = text.replace("heading: west\n    length: 36'", "heading: west\n    length: 35' 9\"", 1)
    found = only(opened(text))
    assert found.where == ("walls", "NORTH", "length")  # the floor is 36 ft wide too, as SOUTH is
    assert '3" apart' in found.found


RECTANGLE = """\
barnloom: 1
title: rectangle
storeys: {{G: {{floor: 0}}}}
walls:
  S: {{start: [0, 0], heading: east, length: {a}", height: 8', section: 2x4, studs: {{every: 16"}}}}
  E: {{start: [{wide}", 0], heading: north, length: {b}", height: 8', section: 2x4, studs: {{every: 16"}}}}
  N: {{start: [{wide}", {deep}"], heading: west, length: {c}", height: 8', section: 2x4, studs: {{every: 16"}}}}
  W: {{start: [0, {deep}"], heading: south, length: {d}", height: 8', section: 2x4, studs: {{every: 16"}}}}
measured:
  SN: {{from: S, to: N, length: {sn}"}}
  EW: {{from: E, to: W, length: {ew}"}}
"""
sides = st.integers(min_value=8 * 16, max_value=60 * 16).map(lambda sixteenths: sixteenths * 12 / 16)


def rectangle(
    wide: float, deep: float, *, a: float = 0, b: float = 0, c: float = 0, d: float = 0, **tapes: float
) -> str:
    straight = math.sqrt(wide * wide + deep * deep)  # Pythagoras
    return RECTANGLE.format(
        wide=wide,
        deep=deep,
        a=wide + a,
        b=deep + b,
        c=wide + c,
        d=deep + d,
        sn=f"{straight + tapes.get('sn', 0):.4f}",
        ew=f"{straight + tapes.get('ew', 0):.4f}",
    )


@settings(max_examples=40, deadline=None)
@given(wide=sides, deep=sides)
def test_every_true_rectangle_closes(wide: float, deep: float) -> None:
    assert opened(rectangle(wide, deep)) == []


@settings(max_examples=40, deadline=None)
@given(wide=sides, deep=sides, which=st.sampled_from("abcd"), off=st.sampled_from([-12, -3, -1, 1, 3, 12]))
def test_one_wrong_side_of_a_rectangle_is_the_one_to_measure(wide: float, deep: float, which: str, off: int) -> None:
    found = only(opened(rectangle(wide, deep, **{which: off})))
    assert found.where == ("walls", dict(zip("abcd", "SENW", strict=True))[which], "length")
    assert found.off_in == pytest.approx(abs(off))


# --- control measurements --------------------------------------------------------------------------------------------


def test_a_diagonal_that_fits_says_nothing() -> None:
    # 12 ft by 9 ft: 3-4-5, so 15 ft.
    assert opened(rectangle(144, 108)) == []
    assert "180.0000" in rectangle(144, 108)


def test_of_two_diagonals_one_misread_is_the_one_to_measure_again() -> None:
    found = only(opened(rectangle(144, 108, ew=2.0)))  # 15 ft and 15 ft 2 in
    assert found.where == ("measured", "EW", "length")
    assert "15' 0\" from the start of S to that of N, 15' 2\" from E to W" in found.found
    assert found.measure == "measure again from the start of E to the start of W"


def test_diagonals_that_fit_together_tell_how_far_out_of_square() -> None:
    # A rectangle of 144 x 108 leaning by 2 in: the diagonals are those of 146 x 108 and 142 x 108 (nearly, for 108
    # shortens by 0.02), so 181.60 and 178.40 in: 3-3/16 in apart, as (181.60^2 - 178.40^2) / (4 x 144) = 2.0 in.
    longer, shorter = math.hypot(146, 108) - 180, math.hypot(142, 108) - 180
    found = only(opened(rectangle(144, 108, sn=longer, ew=shorter)))
    assert 'out of square by 2" over the length of E' in found.expected
    assert "if it stays" in found.measure


def test_two_diagonals_that_agree_put_a_side_in_doubt() -> None:
    found = only(opened(rectangle(144, 108, sn=3.0, ew=3.0)))
    assert found.measure == "measure wall S from outside framing corner to outside framing corner"


def test_one_diagonal_alone_asks_for_the_other() -> None:
    text = rectangle(144, 108, sn=2.0)
    found = only(opened("\n".join(line for line in text.splitlines() if not line.startswith("  EW"))))
    assert found.found.endswith("the tape read 15' 2\"")
    assert found.expected.startswith("15' 0\", by the walls")
    assert found.measure.startswith("measure the other diagonal, from the start of E to the start of W")


# --- rows ------------------------------------------------------------------------------------------------------------


def test_a_stud_that_was_passed_over() -> None:
    found = only(opened(changed("cider-mill", "400 mm, 870 mm, 1310 mm", "400 mm, 1310 mm")))
    assert found.where == ("walls", "SCREEN", "studs", "at", 2)
    assert found.found.startswith(
        "910 mm between stud 2 and stud 3 of wall SCREEN, where 450 mm is usual"
    )  # 1310 - 400
    assert "between 400 mm and 1310 mm" in found.measure


def test_running_dimensions_that_go_backwards() -> None:
    found = only(opened(changed("cider-mill", "870 mm, 1310 mm", "1310 mm, 870 mm")))
    assert found.where == ("walls", "SCREEN", "studs", "at", 3)
    assert "backwards" in found.found
    assert found.measure.endswith("to the near side of stud 4")


def test_a_slip_far_ahead_is_the_one_to_measure_again_and_not_those_after_it() -> None:
    found = only(opened(changed("cider-mill", "400 mm, 870 mm", "400 mm, 3870 mm")))
    assert found.where == ("walls", "SCREEN", "studs", "at", 2)


def test_a_member_past_the_end() -> None:
    found = only(opened(changed("cider-mill", "5500 mm, 5850 mm", "5500 mm, 5950 mm")))
    assert "ends 100 mm past the end" in found.found  # 5950 + 50 - 5900
    found = only(opened(changed("cider-mill", "5865 mm,\n        6225 mm", "5865 mm,\n        6325 mm")))
    assert found.where == ("floors", "WEST", "joists", "at", 13)
    assert "ends 100 mm past the end" in found.found  # 6325 + 75 - 6300


def test_two_members_in_one_place() -> None:
    found = only(opened(changed("cider-mill", "[0, 500 mm, 1010 mm,", "[0, 500 mm, 540 mm, 1010 mm,")))
    assert "begins 40 mm after the one before, which is 100 mm wide" in found.found


def test_a_wall_longer_than_its_studs_say() -> None:
    found = only(opened(changed("cider-mill", "length: 5900 mm", "length: 5976 mm")))
    assert "ends 76 mm before the wall's end" in found.found  # 5976 - 5850 - 50


# --- levels, edges, bearings -----------------------------------------------------------------------------------------


def test_a_floor_level_that_does_not_add_up() -> None:
    # Wall 109-1/8 + joist 9-1/4 + boards 3/4 = 119-1/8 in = 9 ft 11-1/8 in.
    assert 109.125 + 9.25 + 0.75 == 9 * 12 + 11.125
    found = opened(changed("sail-loft", "LOFT: {floor: 9' 11-1/8\"", "LOFT: {floor: 10' 2-1/8\""))
    assert found[0].where == ("storeys", "LOFT", "floor")
    assert "(SOUTH, EAST, NORTH, WEST) are at 9' 1-1/8\"" in found[0].found
    assert '3" gap' in found[0].expected


def test_a_wall_that_is_not_as_high_as_the_others() -> None:
    found = only(opened(changed("sail-loft", "height: 9' 1-1/8\"  ", "height: 9' 4-1/8\"  ")))
    assert found.where == ("walls", "SOUTH", "height")
    assert '3" above the underside of the joists of DECK' in found.found


def test_a_floor_that_is_wider_than_its_walls() -> None:
    found = only(opened(changed("sail-loft", "size: [36', 24']\n    joists", "size: [36' 3\", 24']\n    joists")))
    assert found.where == ("floors", "DECK", "size", 0)
    assert '3" off the outer or inner face of wall EAST' in found.found


def test_plates_of_a_roof_that_are_not_on_the_walls() -> None:
    found = only(opened(changed("sail-loft", "plate: 13' 11-1/8\"", "plate: 14' 2-1/8\"")))
    assert found.where == ("roofs", "ROOF", "plate")
    assert '3" gap' in found.expected


def test_joists_whose_ends_hang_free() -> None:
    text = changed("cider-mill", "{at: 4700 mm, width: 100 mm}", "{at: 4600 mm, width: 100 mm}")
    found = only(opened(text))
    assert "far ends of the joists of WEST hang free by 100 mm" in found.found  # 4800 - 4700
    text = changed("cider-mill", "bearings: [{at: 0, width: 200 mm}, {at: 4700", "bearings: [{at: 4700")
    assert "near ends of the joists of WEST hang free by 4700 mm" in only(opened(text)).found


def test_a_short_joist_with_nothing_under_its_end() -> None:
    text = changed("cider-mill", "WEST-J11: {bore: never", "WEST-J11: {end: 3000 mm, bore: never")
    found = only(opened(text))
    assert found.where == ("members", "WEST-J11", "end")
    assert ("floors", "WEST") in found.parts


def test_a_post_that_does_not_reach_its_beam() -> None:
    found = only(opened(changed("cider-mill", "to: [100 mm, 100 mm, 2260 mm]", "to: [100 mm, 100 mm, 2200 mm]")))
    assert found.where == ("timbers", "POST-SW", "to")
    assert "60 mm below the underside of BEAM-W" in found.found  # 2500 - 240 - 2200


def test_an_opening_past_the_end_and_over_the_top() -> None:
    found = only(opened(changed("sheep-shed", "at: 14', width: 40\"", "at: 25', width: 40\"")))
    assert "from 25' 0\" to 28' 4\"" in found.found
    found = only(opened(changed("sheep-shed", 'width: 40", top: 84"', "width: 40\", top: 11'")))
    assert found.where[-1] == "top"


# --- order, assumptions ----------------------------------------------------------------------------------------------


def test_what_stops_planning_comes_first() -> None:
    text = changed("sail-loft", "    height: 9' 1-1/8\"  ", "    height: ?  ")
    text = text.replace(
        "start: [36', 0]\n    heading: north\n    length: 24'", "start: [36', 0]\n    heading: north\n    length: 25'"
    )
    text = text.replace("pitch: 8/12", "pitch: steep").replace("lining: later", "lining: ?")
    kinds = [finding.kind for finding in surveyed(text).findings]
    assert list(dict.fromkeys(kinds)) == ["unsound", "missing", "open", "unsaid", "assumed"]


def test_what_is_assumed_is_told_once_with_all_it_is_assumed_of() -> None:
    found = {finding.found: finding for finding in surveyed(TEXTS["garden-studio"]).findings}
    spaced = found["studs every 1' 4\", the first flush at the hooked end and the last at the other"]
    assert spaced.parts == (("walls", "NORTH"), ("walls", "WEST"))
    assert "2x4 (dressed 1-1/2 x 3-1/2), by its name" in found
    assert not [words for words in found if "2x" in words and "dressed" not in words]
    measured = [finding.found for finding in surveyed(TEXTS["cider-mill"]).findings]
    assert not [words for words in measured if "every" in words or "by its name" in words]  # all of it was measured


def test_lengths_are_in_the_scenes_own_units() -> None:
    found = only(opened(changed("cider-mill", "5500 mm, 5850 mm", "5500 mm, 5950 mm")))
    assert format_length(100 / 25.4, metric=True) in found.found

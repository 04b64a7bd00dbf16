"""Lengths and sections: what people write, what is refused, and what is printed."""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction
from typing import Annotated

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BeforeValidator, TypeAdapter, ValidationError

from barnloom.model.lengths import (
    LengthError,
    format_length,
    read_length,
    read_length_value,
    read_section,
    read_section_value,
    snap,
)

LENGTH = TypeAdapter(Annotated[float, BeforeValidator(read_length_value)])
SECTION = TypeAdapter(Annotated[dict[str, object], BeforeValidator(read_section_value)])


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("12' 6-1/2\"", 150.5),
        ('150 1/2"', 150.5),
        ("12ft 6 1/2in", 150.5),
        ("12'6\"", 150.0),
        ("12'-6\"", 150.0),
        ("12' - 6 1/2\"", 150.5),
        ("12 feet 6 inches", 150.0),
        ("12.5 ft", 150.0),
        ("6 1/2'", 78.0),
        ("8'", 96.0),
        ('3/4"', 0.75),
        ("6-1/2 in", 6.5),
        ("6 - 1/2 in", 6.5),
        ('.5"', 0.5),
        ("6''", 6.0),
        ("0", 0.0),
        ("0.0", 0.0),
        ("-0", 0.0),
        ("-3' 2\"", -38.0),
        ("\u2212 3 in", -3.0),
        ("12\u2032 6\u2033", 150.0),
        ("12\u2019 6\u00bd\u201d", 150.5),
        ("6\u00a01\u20442 in", 6.5),
        ("3.81 m", 150.0),
        ("3810 mm", 150.0),
        ("38.1 cm", 15.0),
        ("3810MM", 150.0),
        ("1.27 metres", 50.0),
    ],
)
def test_a_length_is_read_as_people_write_it(text: str, inches: float) -> None:
    assert read_length(text) == inches


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("6", r"found 6 without a unit.*write 6\" for inches, 6' for feet"),
        ("-6-1/2", "found -6-1/2 without a unit"),
        ("12' 6", "the last number has no unit"),
        ("12 6", "expected a length with its unit"),
        ("3,81 m", "write a point, not a comma"),
        ("3' 14\"", "inches below 12 after feet"),
        ("3' 12\"", "inches below 12 after feet"),
        ("6 5/4 in", "a fraction below 1"),
        ("1/0 in", "lower number is not 0"),
        ("6-1/0 in", "lower number is not 0"),
        ("nan", "expected a length"),
        ("inf ft", "expected a length"),
        ("1e3 mm", "expected a length"),
        ("", "expected a length"),
        ("-", "expected a length"),
        ("'", "expected a length"),
        ("6 yd", "expected a length"),
        ("--6 in", "expected a length"),
        ("10001 ft", "at most 10,000 ft.*check its unit"),
        ("9" * 50 + " m", "at most 10,000 ft"),
        ("9" * 500 + " m", "476|more letters"),
        ("\u0663 in", "expected a length"),
    ],
)
def test_what_is_no_length_is_refused_with_a_way_out(text: str, words: str) -> None:
    with pytest.raises(LengthError, match=words):
        read_length(text)


def test_ten_thousand_feet_is_still_a_length() -> None:
    assert read_length("10000 ft") == 120_000


@pytest.mark.parametrize(("unit", "inches"), [("in", 6.0), ("ft", 72.0), ("mm", 6 / 25.4), ("cm", 60 / 25.4)])
def test_a_bare_number_takes_the_unit_that_the_scene_names(unit: str, inches: float) -> None:
    assert read_length("6", bare=unit) == pytest.approx(inches, abs=1e-12)
    assert LENGTH.validate_python(6, context={"bare": unit}) == pytest.approx(inches, abs=1e-12)


@pytest.mark.parametrize("value", [6, 6.5, "6", True, None, float("nan"), float("inf"), -float("inf"), 10**400, [6]])
def test_a_value_that_is_no_length_is_refused(value: object) -> None:
    with pytest.raises(ValidationError, match="expected a length with its unit"):
        LENGTH.validate_python(value)


@pytest.mark.parametrize(("value", "inches"), [(0, 0.0), (0.0, 0.0), ("0", 0.0), ("12'", 144.0)])
def test_a_value_may_be_text_or_a_bare_zero(value: object, inches: float) -> None:
    assert LENGTH.validate_python(value) == inches


def test_an_absurd_number_is_refused_even_with_a_unit_named() -> None:
    with pytest.raises(ValidationError, match="at most 10,000 ft"):
        LENGTH.validate_python(10_001, context={"bare": "ft"})


@given(st.text(max_size=80))
def test_any_text_is_a_length_or_a_length_error(text: str) -> None:
    with suppress(LengthError):
        assert abs(read_length(text)) <= 120_000


@given(st.text(alphabet="0123456789 '\"/-.xftinm", max_size=24))
def test_any_near_length_is_read_or_refused(text: str) -> None:
    for read in (read_length, read_section):
        with suppress(LengthError):
            assert read(text) is not None


@given(st.integers(0, 9000), st.integers(0, 11), st.integers(0, 63))
def test_feet_inches_and_fraction_add_up(feet: int, inches: int, part: int) -> None:
    expected = float(12 * feet + inches + Fraction(part, 64))
    assert read_length(f"{feet}' {inches} {part}/64\"") == expected
    assert read_length(f"-{feet}ft {inches}-{part}/64in") == -expected


@given(st.integers(0, 3_000_000))
def test_metric_units_agree_to_the_last_bit(millimetres: int) -> None:
    metres = f"{millimetres // 1000}.{millimetres % 1000:03d} m"
    assert read_length(f"{millimetres} mm") == read_length(metres) == read_length(f"{millimetres}", bare="mm")


@given(st.integers(-16 * 5000, 16 * 5000), st.booleans())
def test_what_is_printed_reads_back(sixteenths: int, feet: bool) -> None:
    inches = sixteenths / 16
    assert read_length(format_length(inches, feet=feet)) == inches


@given(st.integers(-100_000, 100_000))
def test_what_is_printed_in_millimetres_reads_back(millimetres: int) -> None:
    assert format_length(millimetres / 25.4, metric=True) == f"{millimetres} mm"


@given(st.floats(-5000, 5000), st.booleans())
def test_printing_a_limit_never_breaks_it(inches: float, metric: bool) -> None:
    step = 1 / 25.4 if metric else 1 / 16
    down = read_length(format_length(inches, metric=metric, rounding="down"))
    up = read_length(format_length(inches, metric=metric, rounding="up"))
    assert inches - step - 1e-6 < down <= inches + 1e-6
    assert inches - 1e-6 <= up < inches + step + 1e-6
    assert abs(read_length(format_length(inches, metric=metric)) - inches) <= step / 2 + 1e-9


@pytest.mark.parametrize(
    ("inches", "words"),
    [
        (0, '0"'),
        (0.75, '3/4"'),
        (11.5, '11-1/2"'),
        (12, "1' 0\""),
        (98.25, "8' 2-1/4\""),
        (-0.01, '0"'),
        (11.99, "1' 0\""),
    ],
)
def test_a_length_is_printed_for_a_tape(inches: float, words: str) -> None:
    assert format_length(inches) == words


def test_a_value_that_misses_the_grid_by_less_than_the_tolerance_is_on_it() -> None:
    assert snap(2 - 1e-9, 1 / 16, "down") == 2
    assert snap(2 + 1e-9, 1 / 16, "up") == 2
    assert snap(2 - 1e-5, 1 / 16, "down") == 1.9375


@given(st.lists(st.floats(-1000, 1000), min_size=1, max_size=5), st.sampled_from(["nearest", "down", "up"]))
def test_an_array_is_snapped_like_each_of_its_values(values: list[float], rounding: str) -> None:
    together = snap(np.array(values), 1 / 25.4, rounding)
    assert together.tolist() == [snap(value, 1 / 25.4, rounding) for value in values]


def test_snapping_keeps_a_missing_value_missing() -> None:
    assert np.isnan(snap(np.array([np.nan, 1.0]), 1 / 16)).tolist() == [True, False]
    assert snap(float("nan"), 1 / 16) != snap(float("nan"), 1 / 16)


@pytest.mark.parametrize(
    ("text", "breadth", "depth", "said"),
    [
        ("2x10", 1.5, 9.25, "2x10 (dressed 1-1/2 x 9-1/4)"),
        ("2 X 4", 1.5, 3.5, "2 X 4 (dressed 1-1/2 x 3-1/2)"),
        ("1x6", 0.75, 5.5, "1x6 (dressed 3/4 x 5-1/2)"),
        ("4x6", 3.5, 5.5, "4x6 (dressed 3-1/2 x 5-1/2)"),
        ("6x8", 5.5, 7.25, "6x8 (dressed dry 5-1/2 x 7-1/4; sold green it is 5-1/2 x 7-1/2: measure it)"),
        ("8\u00d78 green", 7.5, 7.5, "8\u00d78 green (dressed green 7-1/2 x 7-1/2)"),
        ("2x8 rough", 2.0, 8.0, "2x8 rough (full-sawn, 2 x 8)"),
        ("2x8 full-sawn", 2.0, 8.0, "2x8 full-sawn (full-sawn, 2 x 8)"),
        ("7x9 rough", 7.0, 9.0, "7x9 rough (full-sawn, 7 x 9)"),
        ('1-7/8" x 9-1/2"', 1.875, 9.5, '1-7/8" x 9-1/2" (true)'),
        ("1-7/8 x 9-1/2 in", 1.875, 9.5, "1-7/8 x 9-1/2 in (true)"),
        ('2" x 8"', 2.0, 8.0, '2" x 8" (true)'),
        ("47 x 241 mm", 47 / 25.4, 241 / 25.4, "47 x 241 mm (true)"),
        ("47mm x 241mm", 47 / 25.4, 241 / 25.4, "47mm x 241mm (true)"),
    ],
)
def test_a_section_is_nominal_or_true_as_it_is_written(text: str, breadth: float, depth: float, said: str) -> None:
    section = read_section(text)
    assert (section["breadth_in"], section["depth_in"]) == pytest.approx((breadth, depth), abs=1e-12)
    assert section["said"] == said
    assert section["measured"] is True


def test_a_section_that_is_not_measured_says_so() -> None:
    section = SECTION.validate_python("Not measured")
    assert section == {"breadth_in": 0.0, "depth_in": 0.0, "said": "not measured", "measured": False}


def test_two_bare_numbers_are_a_true_section_only_where_the_scene_names_the_unit() -> None:
    assert read_section("47 x 241", bare="mm")["depth_in"] == pytest.approx(241 / 25.4, abs=1e-12)
    with pytest.raises(LengthError, match="expected a section"):
        read_section("47 x 241")


def test_a_nominal_size_stays_nominal_whatever_the_bare_unit() -> None:
    assert read_section("2x10", bare="in")["depth_in"] == 9.25


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("2x7", "lumber table.*write the measured section"),
        ("2x9 green", "lumber table"),
        ('2" x 8', "without a unit"),
        ('0" x 8"', "two sides above 0"),
        ('-2" x 8"', "two sides above 0"),
        ("2x", "expected a section"),
        ("two by four", "expected a section"),
        ("2x4x6", "expected a section"),
        ("x" * 100, "more letters"),
    ],
)
def test_what_is_no_section_is_refused_with_a_way_out(text: str, words: str) -> None:
    with pytest.raises(LengthError, match=words):
        read_section(text)


@pytest.mark.parametrize("value", [10, None, ["2x10"], {"breadth_in": 2}])
def test_a_section_is_text(value: object) -> None:
    with pytest.raises(ValidationError, match="expected a section"):
        SECTION.validate_python(value)

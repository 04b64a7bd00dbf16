"""Which conductor a load and a breaker need, against published examples and the traps of the tables."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barnloom.model.electrical.conductors import (
    CABLE_SIZES,
    breaker_most,
    cable_ampacity,
    ground_keeps_up,
    grown_grounding,
    least_awg,
    short_enough,
)
from barnloom.model.electrical.tables import (
    adjustment,
    ambient,
    ampacity,
    circular_mils,
    least_size,
    small_conductor_cap,
    standard_breakers,
)
from barnloom.model.limits import Limits, load_limits

LIMITS = Limits(load_limits())


@pytest.mark.parametrize(
    ("awg", "conductors", "amps"),
    [
        # NEC 334.80, to nine at 70 % of the 90 C column (17.5, 21, 28 A), no more than 60 C: ecmweb.com/nec/code-qa-0
        (14, 9, 15),
        (12, 9, 20),
        (10, 9, 28),
        # four 12/2: eight conductors, 30 x 0.7 = 21: forums.mikeholt.com/goto/post?id=1294209
        (12, 8, 20),
        # ten and more at 50 %, derived
        (12, 10, 15),
        (14, 10, 12.5),
    ],
)
def test_cable_starts_from_90_c_and_ends_at_60_c(awg: int, conductors: int, amps: float) -> None:
    assert cable_ampacity(awg, adjustment(conductors)) == pytest.approx(amps, abs=1e-9)


@pytest.mark.parametrize(("awg", "amps"), [(14, 17.5), (12, 21), (10, 28)])
def test_seventy_per_cent_of_the_90_c_column_is_what_is_printed(awg: int, amps: float) -> None:
    assert ampacity(awg, 90) * adjustment(9) == pytest.approx(amps, abs=1e-9)  # ecmweb.com/nec/code-qa-0


def test_bundling_and_a_hot_loft_multiply() -> None:
    # derived: 12 AWG, 30 x 0.8 x 0.82 = 19.68
    assert cable_ampacity(12, adjustment(6) * ambient(48)) == pytest.approx(19.68, abs=1e-9)


def test_four_twelve_two_together_still_carry_twenty_amperes_and_five_do_not() -> None:
    assert least_awg(20, 16, factor=adjustment(8)) == 12
    assert least_awg(20, 16, factor=adjustment(10)) == 10  # 12 AWG is left 15 A, 10 AWG 20


@pytest.mark.parametrize(("breaker", "awg"), [(15, 14), (20, 12), (25, 10), (30, 10), (40, 8), (50, 6), (55, 6)])
def test_every_usual_breaker_has_its_usual_conductor(breaker: float, awg: int) -> None:
    # NEC 240.4(D) and the 60 C column of 310.16
    assert least_awg(breaker, breaker) == awg


@pytest.mark.parametrize(
    ("amps", "awg", "next_awg"), [(15, 14, 12), (20, 12, 10), (30, 10, 8), (40, 8, 6), (55, 6, None)]
)
def test_exactly_at_the_limit_passes_and_past_it_does_not(amps: float, awg: int, next_awg: int | None) -> None:
    assert least_awg(amps, amps) == least_awg(amps + 1e-9, amps + 1e-9) == awg
    assert least_awg(amps + 0.01, amps) == next_awg
    assert least_awg(amps, amps + 0.01) == next_awg


def test_no_fourteen_on_twenty_and_no_twelve_on_twenty_five_though_their_75_c_column_is_as_large() -> None:
    # NEC 240.4(D)
    assert ampacity(14, 75) == 20
    assert least_awg(20, 1) == 12
    assert least_awg(25, 1, one_receptacle_or_fixed=True) == 10


def test_the_next_standard_size_serves_what_is_wired_up_directly_only() -> None:
    # NEC 240.4(B): intrysys.com/tools/electrical/standard-breaker-sizes. 10 AWG at 70 % is 28 A, on a breaker of 30.
    assert least_awg(30, 24, factor=0.7, one_receptacle_or_fixed=True) == 10
    assert least_awg(30, 24, factor=0.7) == 8
    # an ampacity that is a standard size has no next one: 12 AWG at 50 % is 15 A
    assert breaker_most(12, factor=0.5, one_receptacle_or_fixed=True) == 15
    # 14 AWG at 50 % is 12.5 A, on 15
    assert breaker_most(14, factor=0.5, one_receptacle_or_fixed=True) == 15


def test_a_published_space_heater_takes_six_gauge_on_sixty_amperes() -> None:
    # mikeholt.com/newsletters.php?action=display&letterID=2089: 43 A x 1.25 = 53.75 A -> 6 AWG at 60 C, 60 A
    assert least_awg(60, 53.75, one_receptacle_or_fixed=True) == 6
    assert least_awg(60, 53.75) is None


def test_a_heater_of_four_kilowatts_needs_ten_gauge() -> None:
    # derived: 4000 / 240 x 1.25 = 20.8 A: 12 AWG carries 20
    assert least_awg(25, 4000 / 240 * 1.25) == 10
    assert least_awg(25, 20.8, one_receptacle_or_fixed=True) == 10
    assert least_awg(25, 20, motor=True) == 12  # it is the load that 12 AWG would not carry


def test_a_motor_of_one_horsepower_takes_twelve_gauge_behind_forty_amperes() -> None:
    # ecmweb.com/national-electrical-code/code-basics/article/20904830/motor-calculations-part-2: 16 x 1.25 = 20 A
    assert least_awg(40, 16 * 1.25, motor=True) == 12
    assert least_awg(40, 16 * 1.25) == 8  # not pinned: the small-conductor limits stand


def test_a_motor_of_five_horsepower_takes_eight_gauge_in_cable() -> None:
    # electricianmath.com/neccalculations/motorovercurrentprotection.htm: 28 x 1.25 = 35 A, 10 AWG at 75 C; in cable, at
    # 60 C, derived
    assert ampacity(10, 75) == 28 * 1.25
    assert least_awg(70, 28 * 1.25, motor=True) == 8


def test_a_continuous_load_is_asked_before_the_factor_and_the_load_itself_after_it() -> None:
    # NEC 210.19(A)(1): forums.mikeholt.com/threads/coffee-pot-question.103218/page-2. Lights of 12 A for hours: 15 A of
    # the 60 C column, 12 A of what is left: 14 AWG at 50 % has 12.5 A.
    assert least_awg(15, 15, lasting_a=12, factor=0.5, one_receptacle_or_fixed=True) == 14
    assert least_awg(15, 15, factor=0.5, one_receptacle_or_fixed=True) == 12
    assert least_awg(15, 15, lasting_a=12.6, factor=0.5, one_receptacle_or_fixed=True) == 12
    # and 58 A, of which 46.4 last, are too much for the 55 A of 6 AWG, though a breaker of 60 A would guard it
    assert least_awg(60, 55, lasting_a=44, one_receptacle_or_fixed=True) == 6
    assert least_awg(60, 58, lasting_a=46.4, one_receptacle_or_fixed=True) is None


def test_what_no_cable_carries_has_no_size() -> None:
    assert least_awg(60, 56, one_receptacle_or_fixed=True) is None
    assert least_awg(20, 16, factor=0.2) is None


@pytest.mark.parametrize(
    ("lower_ft", "circuit_ft", "ignored"),
    [(10, 100, True), (10.1, 200, False), (5, 50, True), (5.1, 50, False), (10, 300, True)],
)
def test_a_short_part_of_lower_ampacity_is_left_out_of_account(
    lower_ft: float, circuit_ft: float, ignored: bool
) -> None:
    # NEC 310.14(A)(2) exception, the lesser of 10 ft and 10 %:
    # forums.mikeholt.com/threads/310-15-a-2-selection-of-ampacities.24785/
    assert short_enough(12 * lower_ft, 12 * circuit_ft, LIMITS) is ignored


def test_the_ground_grows_by_circular_mils_as_published() -> None:
    # inwindustrialtraining.com/post/code-talk-episode-32-notes: 250 -> 350 kcmil, ground 4 AWG: 58,436 -> 2 AWG
    grown = 350 / 250 * circular_mils(4)
    assert round(grown) == 58_436
    assert least_size(grown) == 2


def test_a_ground_that_just_passes_six_gauge_is_four() -> None:
    # derived: 16,510 x 105,600 / 66,360 = 26,273 circular mils, 6 AWG has 26,240; an answer rounded to 160 % says 6
    assert circular_mils(8) * circular_mils("1/0") / circular_mils(2) == pytest.approx(26_273, abs=1)
    assert grown_grounding(2, "1/0", 8) == 4


@pytest.mark.parametrize(
    ("before", "after", "ground", "grown"),
    # derived; in branch circuits conductor and ground are of one size to 10 AWG, so they grow together
    [
        (14, 12, 14, 12),
        (12, 10, 12, 10),
        (14, 10, 14, 10),
        (10, 8, 10, 8),
        (8, 6, 10, 8),
        (12, 12, 12, 12),
        (14, 12, 12, 12),
        (8, 10, 10, 10),
    ],
)
def test_the_ground_grows_with_the_conductors_and_never_past_them(
    before: int, after: int, ground: int, grown: int
) -> None:
    assert grown_grounding(before, after, ground) == grown


@pytest.mark.parametrize(
    ("before", "after", "breaker", "enough"),
    # derived from Table 250.122 (brunsengineering.com/nec-table-250-122/), circular mils, and the grounds of cable
    [
        (14, 12, 15, True),
        (14, 10, 15, True),
        (12, 10, 20, True),
        # 8 AWG has a ground of 10: 14 and 12 AWG want one of 8 with it
        (14, 8, 15, False),
        (12, 8, 20, False),
        # nothing larger than 10 AWG behind 25 and 30 A: its ground was 10 already
        (10, 8, 25, False),
        (10, 6, 30, False),
        # 10,380 x 26,240 / 16,510 = 16,497 circular mils: 8 AWG
        (8, 6, 40, False),
        # larger for a bundle's sake before: 20 A ask for a ground of 12, 6,530 x 26,240 / 16,510 = 10,378: 10 AWG
        (8, 6, 20, True),
    ],
)
def test_the_ground_in_a_larger_cable_keeps_up_or_does_not(
    before: int, after: int, breaker: float, enough: bool
) -> None:
    assert ground_keeps_up(before, after, breaker) is enough


@pytest.mark.parametrize("awg", [14, 12, 10])
@pytest.mark.parametrize("fixed", [False, True])
@pytest.mark.parametrize("count", [2, 6, 9, 20, 30, 40, 41])
def test_no_cable_gets_a_breaker_above_its_small_conductor_limit(awg: int, fixed: bool, count: int) -> None:
    cap = small_conductor_cap(awg)
    assert cap is not None
    assert breaker_most(awg, factor=adjustment(count), one_receptacle_or_fixed=fixed) <= cap
    assert breaker_most(awg, one_receptacle_or_fixed=fixed) == cap


FACTORS = st.floats(0.05, 1)
LOADS = st.floats(0, 70)
BREAKERS = st.sampled_from(standard_breakers())


def _thickness(awg: int | None) -> int:
    return len(CABLE_SIZES) if awg is None else CABLE_SIZES.index(awg)


@given(BREAKERS, LOADS, FACTORS, FACTORS, st.booleans(), st.booleans())
def test_a_smaller_factor_never_allows_a_thinner_conductor(
    breaker: float, load: float, one: float, other: float, fixed: bool, motor: bool
) -> None:
    more, less = (
        least_awg(breaker, load, factor=factor, one_receptacle_or_fixed=fixed, motor=motor)
        for factor in (max(one, other), min(one, other))
    )
    assert _thickness(less) >= _thickness(more)


@given(BREAKERS, BREAKERS, LOADS, LOADS, FACTORS, st.booleans())
def test_more_load_or_a_larger_breaker_never_allows_a_thinner_conductor(
    breaker: float, other: float, load: float, more: float, factor: float, fixed: bool
) -> None:
    little, much = (
        least_awg(breakers, loads, factor=factor, one_receptacle_or_fixed=fixed)
        for breakers, loads in ((min(breaker, other), min(load, more)), (max(breaker, other), max(load, more)))
    )
    assert _thickness(much) >= _thickness(little)


@given(BREAKERS, LOADS, FACTORS, st.booleans())
def test_what_is_chosen_carries_the_load_and_keeps_the_small_conductor_limit(
    breaker: float, load: float, factor: float, fixed: bool
) -> None:
    awg = least_awg(breaker, load, factor=factor, one_receptacle_or_fixed=fixed)
    if awg is not None:
        assert load <= min(ampacity(awg, 90) * factor, ampacity(awg, 60)) + 1e-5
        assert breaker <= {14: 15, 12: 20, 10: 30}.get(awg, 60)

"""The electrical tables against the values that public pages print; what is known only by heart says so in its id."""

from __future__ import annotations

import math

import pytest

from barnloom.model.electrical.tables import (
    TableError,
    adjustment,
    ambient,
    ampacity,
    cable_ground,
    circular_mils,
    conductor_volume,
    cover_in,
    grounding_awg,
    impedance,
    least_size,
    lighting_density,
    motor_current,
    next_breaker,
    resistance,
    small_conductor_cap,
    standard_breakers,
)

# NEC Table 310.16, copper: voltagelab.com/table-310-16-ampacity-of-conductors (75 C), scribd.com/document/768710860
# (60 C and 90 C from 8 AWG up).
AMPACITIES = [
    (14, 15, 20, 25),
    (12, 20, 25, 30),
    (10, 30, 35, 40),
    (8, 40, 50, 55),
    (6, 55, 65, 75),
    (4, 70, 85, 95),
    pytest.param(3, 85, 100, 115, id="3-its_90_C_from_memory"),
    (2, 95, 115, 130),
    pytest.param(1, 110, 130, 145, id="1-its_90_C_from_memory"),
    ("1/0", 125, 150, 170),
]


@pytest.mark.parametrize(("awg", "at_60", "at_75", "at_90"), AMPACITIES)
def test_ampacities_are_those_of_the_table(awg: int | str, at_60: float, at_75: float, at_90: float) -> None:
    assert (ampacity(awg, 60), ampacity(awg, 75), ampacity(awg, 90)) == (at_60, at_75, at_90)
    assert ampacity(str(awg), 75) == at_75


@pytest.mark.parametrize(
    ("awg", "old"), [(14, (20, 20, 25)), (12, (25, 25, 30)), (3, (85, 100, 110)), (1, (110, 130, 150))]
)
def test_ampacities_are_not_those_of_older_tables(awg: int, old: tuple[int, ...]) -> None:
    # ask-the-electrician.com/national-electrical-code-nec-table310-16.html still prints the table before 2011
    assert tuple(ampacity(awg, column) for column in (60, 75, 90)) != old


@pytest.mark.parametrize(("awg", "cap"), [(14, 15), (12, 20), (10, 30), (8, None), (6, None)])
def test_the_small_conductor_limit_bounds_the_breaker_and_not_the_ampacity(awg: int, cap: float | None) -> None:
    # NEC 240.4(D): builders.theknowledgegardens.com/knowledge/nec-article-240-overcurrent
    assert small_conductor_cap(awg) == cap
    assert cap is None or ampacity(awg, 75) > cap


def test_standard_breakers_are_those_of_the_code() -> None:
    # NEC 240.6(A): sparkshift.app/code/nec-240-6, callout.app/codes/nec-2023-240-6
    listed = "15 20 25 30 35 40 45 50 60 70 80 90 100 110 125 150 175 200"
    assert standard_breakers() == tuple(map(float, listed.split()))


@pytest.mark.parametrize(("amps", "breaker"), [(28, 30), (30, 30), (30 + 1e-9, 30), (30.01, 35), (115, 125), (0, 15)])
def test_the_next_breaker_is_the_standard_size_at_or_above(amps: float, breaker: float) -> None:
    # 115 -> 125: intrysys.com/tools/electrical/standard-breaker-sizes
    assert next_breaker(amps) == breaker


@pytest.mark.parametrize(
    ("counts", "share"),
    [((0, 3), 1), ((4, 6), 0.8), ((7, 9), 0.7), ((10, 20), 0.5), ((21, 30), 0.45), ((31, 40), 0.4), ((41, 500), 0.35)],
)
def test_adjustment_changes_where_the_table_does(counts: tuple[int, int], share: float) -> None:
    # NEC 310.15(C)(1): voltagelab.com/table-310-15b3a-adjustment-factors
    assert [adjustment(count) for count in counts] == [share, share]


@pytest.mark.parametrize(
    ("low", "high", "share"),
    [(31, 35, 0.96), (36, 40, 0.91), (41, 45, 0.87), (46, 50, 0.82), (51, 55, 0.76), (56, 60, 0.71), (26, 30, 1.0)],
)
def test_ambient_correction_is_that_of_the_90_c_column(low: float, high: float, share: float) -> None:
    # NEC Table 310.15(B)(1): up.codes/s/correction-factor-for-ambient-temperatures
    assert (ambient(low), ambient(high), ambient(low - 0.5)) == (share, share, share)


def test_a_cold_place_gains_nothing() -> None:
    assert ambient(-20) == 1.0  # own caution: the code's table goes up to 1.15


# NEC Table 430.248, 115, 200, 208, 230 V: paigewire.com/resources/430-148
MOTORS = [
    (1 / 6, 4.4, 2.5, 2.4, 2.2),
    (1 / 4, 5.8, 3.3, 3.2, 2.9),
    (1 / 3, 7.2, 4.1, 4.0, 3.6),
    (1 / 2, 9.8, 5.6, 5.4, 4.9),
    (3 / 4, 13.8, 7.9, 7.6, 6.9),
    (1, 16, 9.2, 8.8, 8.0),
    (1.5, 20, 11.5, 11.0, 10),
    (2, 24, 13.8, 13.2, 12),
    (3, 34, 19.6, 18.7, 17),
    (5, 56, 32.2, 30.8, 28),
    (7.5, 80, 46.0, 44.0, 40),
    (10, 100, 57.5, 55.0, 50),
]


@pytest.mark.parametrize(("horsepower", "at_115", "at_200", "at_208", "at_230"), MOTORS)
def test_motor_currents_are_those_of_the_table(
    horsepower: float, at_115: float, at_200: float, at_208: float, at_230: float
) -> None:
    # the 115 V column serves 110 to 120 V, the 230 V one 220 to 240 V:
    # ecmweb.com/national-electrical-code/code-basics/article/20904830/motor-calculations-part-2
    assert {motor_current(horsepower, volts) for volts in (110, 115, 120)} == {at_115}
    assert {motor_current(horsepower, volts) for volts in (220, 230, 240)} == {at_230}
    assert (motor_current(horsepower, 200), motor_current(horsepower, 208)) == (at_200, at_208)
    assert motor_current(round(horsepower, 2), 115) == at_115


@pytest.mark.parametrize(
    ("breakers", "awg"),
    [((15,), 14), ((20,), 12), ((25, 30, 40, 50, 60), 10), ((70, 100), 8), ((110, 200), 6), ((300,), 4), ((400,), 3)],
)
def test_the_ground_follows_the_breaker(breakers: tuple[float, ...], awg: int) -> None:
    # NEC Table 250.122: brunsengineering.com/nec-table-250-122/
    assert {grounding_awg(breaker) for breaker in breakers} == {awg}


@pytest.mark.parametrize(("awg", "ground"), [(14, 14), (12, 12), (10, 10), (8, 10), (6, 10)])
def test_cable_has_a_ground_from_memory(awg: int, ground: int) -> None:
    # 6 AWG: doityourself.com/forum/electrical-ac-dc/270071-size-ground-wire.html; the rest from memory
    assert cable_ground(awg) == ground


# circular mils; Table 8 dc, ohm per 1000 ft (voltdropcalc.com/nec-chapter-9-table-8/, which calls the solid 14 to 8 AWG
# stranded); Table 9 R and X in PVC (scribd.com document 481338126, 1/0 from its row in ohm per km).
CHAPTER_9 = [
    (14, 4110, 3.07, 3.1, 0.058),
    (12, 6530, 1.93, 2.0, 0.054),
    (10, 10380, 1.21, 1.2, 0.050),
    pytest.param(8, 16510, 0.778, 0.78, 0.052, id="8-its_stranded_dc_from_memory"),
    (6, 26240, 0.491, 0.49, 0.051),
    (4, 41740, 0.308, 0.31, 0.048),
    (3, 52620, 0.245, 0.25, 0.047),
    (2, 66360, 0.194, 0.19, 0.045),
    (1, 83690, 0.154, 0.15, 0.046),
    ("1/0", 105600, 0.122, 0.12, 0.044),
]


@pytest.mark.parametrize(("awg", "mils", "dc", "r", "x"), CHAPTER_9)
def test_areas_and_resistances_are_those_of_chapter_9(
    awg: int | str, mils: float, dc: float, r: float, x: float
) -> None:
    assert (circular_mils(awg), resistance(awg), impedance(awg)) == (mils, dc, complex(r, x))
    assert least_size(mils) == awg


@pytest.mark.parametrize("awg", [14, 12, 10, 8, 6, 4, 3, 2, 1, "1/0"])
def test_areas_and_resistances_agree_with_physics(awg: int | str) -> None:
    # The gauge is geometric by definition (ASTM B258): 5 mil x 92^((36 - n) / 39) across. K = R x area: 12.6 (solid) to
    # 12.9 (stranded) ohm circular mils per foot for copper at 75 C, derived.
    number = 0 if awg == "1/0" else int(awg)
    assert circular_mils(awg) == pytest.approx((5 * 92 ** ((36 - number) / 39)) ** 2, rel=2e-3)
    constant = resistance(awg) * circular_mils(awg) / 1000
    assert constant == pytest.approx(12.6 if number >= 10 else 12.9, abs=0.06)


@pytest.mark.parametrize(("awg", "in3"), [(18, 1.5), (16, 1.75), (14, 2.0), (12, 2.25), (10, 2.5), (8, 3.0), (6, 5.0)])
def test_a_conductor_takes_the_volume_of_the_table(awg: int, in3: float) -> None:
    # NEC Table 314.16(B): synthmind.com/Electrical_Box_Sizing_Guide.htm
    assert conductor_volume(awg) == in3


@pytest.mark.parametrize(
    ("edition", "use", "va"),
    [
        # Table 220.12 of 2017: engdatabase.com/data/nec-general-lighting-loads
        (2017, "loft building", 2),
        (2017, "office", 3.5),
        # 3 VA in a dwelling, 220.14(J) of 2020: forums.mikeholt.com/threads/new-house.2569503/page-2
        (2020, "dwelling", 3),
        pytest.param(2017, "dwelling", 3, id="2017-dwelling-from_memory"),
        pytest.param(2017, "warehouse", 0.25, id="2017-warehouse-from_memory"),
        pytest.param(2017, "commercial garage", 0.5, id="2017-garage-from_memory"),
        pytest.param(2020, "warehouse", 1.2, id="2020-warehouse-from_memory"),
        pytest.param(2020, "workshop", 1.7, id="2020-workshop-from_memory"),
        pytest.param(2020, "manufacturing", 2.2, id="2020-manufacturing-from_memory"),
        pytest.param(2020, "automotive", 1.5, id="2020-automotive-from_memory"),
        pytest.param(2020, "parking garage", 0.3, id="2020-parking-from_memory"),
        pytest.param(2020, "office", 1.3, id="2020-office-from_memory"),
        pytest.param(2020, "retail", 1.9, id="2020-retail-from_memory"),
    ],
)
def test_lighting_by_area_is_that_of_its_edition(edition: int, use: str, va: float) -> None:
    assert lighting_density(use, edition) == va


PLACES = (
    *("yard", "under 2 in of concrete", "under a building"),
    *("under a slab", "under a road", "under a driveway of a dwelling"),
)


@pytest.mark.parametrize(
    ("method", "covers"),
    [
        ("buried", (24, 18, 0, 18, 24, 18)),
        ("metal conduit", (6, 6, 0, 4, 24, 18)),
        ("conduit", (18, 12, 0, 4, 24, 18)),
        ("protected", (12, 6, 0, 6, 24, 12)),
    ],
)
def test_cover_underground_is_that_of_the_table(method: str, covers: tuple[float, ...]) -> None:
    # NEC Table 300.5: up.codes/s/underground-installations
    assert tuple(cover_in(method, place) for place in PLACES) == covers


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda: ampacity(5, 60), r"the size 5; expected one of 14, 12, .*1/0"),
        (lambda: ampacity(12, 70), "the column 70; expected one of 60, 75, 90"),
        (lambda: small_conductor_cap(16), "the size 16"),
        (lambda: next_breaker(201), "amperes 201; expected at most 200, where the table ends"),
        (lambda: next_breaker(math.nan), "where the table ends"),
        (lambda: ambient(60.1), "degrees C 60.1; expected at most 60, where the table ends"),
        (lambda: motor_current(4, 230), r"a motor of 4 hp; expected one of 1/6, .*, 3, 5, 7 1/2, 10 hp; .* larger one"),
        (lambda: motor_current(1, 277), "277 V; expected 110 to 120, 200, 208, or 220 to 240 V"),
        (lambda: cable_ground(4), "the size 4; expected one of 14, 12, 10, 8, 6"),
        (lambda: grounding_awg(401), "a breaker of amperes 401; expected at most 400"),
        (lambda: least_size(105_601), "105,601 circular mils; expected at most 105,600"),
        (lambda: conductor_volume(4), "the size 4; expected one of 18, 16"),
        (lambda: lighting_density("barn"), "the use barn; expected one of .*warehouse, workshop"),
        (lambda: lighting_density("office", 2019), "the edition 2019; expected one of 2017, 2020"),
        (lambda: cover_in("overhead"), "the method overhead; expected one of buried"),
    ],
)
def test_what_is_in_no_table_is_refused_and_never_extrapolated(ask, words: str) -> None:
    with pytest.raises(TableError, match=words):
        ask()

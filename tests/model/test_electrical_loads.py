"""What devices draw and breakers carry, and demand, against published examples."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barnloom.model.electrical.conductors import least_awg
from barnloom.model.electrical.loads import (
    breaker_for,
    demand_va,
    lasting_a,
    lighting_va,
    motor_breaker_most,
    outlets_on,
    running_a,
    sizing_a,
)
from barnloom.model.electrical.tables import TableError, standard_breakers
from barnloom.model.limits import Limits, load_limits
from barnloom.model.wiring import Breakers, Device, DeviceKind

LIMITS = Limits(load_limits())
COMMON = Breakers(panel="P").sizes_a


def device(kind: str, va: float = 0.0, **said: Any) -> Device:
    """A device alone in its box."""
    return Device(id="D", box="D", kind=DeviceKind(kind), circuit="C", load_va=va, **said)


def motor(horsepower: float, volts: int = 240, **said: Any) -> Device:
    return device("machine", volts=volts, horsepower=horsepower, **said)


# L1 to L6: worked examples of loads as published


def test_l1_eight_receptacles_are_1440_va() -> None:
    # grabsew.blogspot.com/2021/09/14-25-receptacle-outlets-22014i.html
    assert 8 * LIMITS["load.receptacle"] == 1440
    outlets = [device("receptacle", LIMITS["load.receptacle"])] * 8
    assert sizing_a(outlets, LIMITS) == pytest.approx(1440 / 120)


@pytest.mark.parametrize(("breaker", "continuous", "outlets"), [(20, False, 13), (20, True, 10), (15, False, 10)])
def test_l2_outlets_on_a_circuit(breaker: float, continuous: bool, outlets: int) -> None:
    # grabsew.blogspot.com/2021/09/14-25-receptacle-outlets-22014i.html; 15 A: exactly 10
    # g-wonlinetextbooks.com/cdn-1496400779960/modern-commercial-wiring-2015/152
    assert outlets_on(breaker, LIMITS, continuous=continuous) == outlets


def test_l3_receptacles_above_ten_kva_count_half() -> None:
    # forums.mikeholt.com/threads/appling-220-44-to-220-14-i-h-loads.75064: 15,300 + 4,860 -> 10,000 + 5,080
    assert 85 * LIMITS["load.receptacle"] == 15_300
    assert demand_va(15_300 + 4_860, "receptacles") == 15_080


def test_l4_continuous_receptacles_count_125_per_cent_and_take_no_demand_factor() -> None:
    # scribd.com/document/661469951/Receptacle-Loads-Code-Calc: 12,375 + 9,900 = 22,275 VA
    half = 55 * LIMITS["load.receptacle"]
    assert half * LIMITS["load.continuous"] == 12_375
    assert demand_va(half, "receptacles") == 9_900
    assert half * LIMITS["load.continuous"] + demand_va(half, "receptacles") == 22_275


def test_l5_annex_d1a_one_family_dwelling() -> None:
    # flylib.com/books/en/2.419.1/example_no_d1_a_one_family_dwelling.html: 1500 ft2, 12 kW range, 5.5 kW dryer
    general = lighting_va(1500, "dwelling") + 2 * 1500 + 1500
    assert lighting_va(1500, "dwelling") == 4500
    assert general == 9000
    counted = demand_va(general, "dwelling lighting")
    assert counted == pytest.approx(5100)
    assert counted + 8000 + 5500 == pytest.approx(18_600)
    assert (counted + 8000 + 5500) / 240 == pytest.approx(77.5)
    assert counted + 0.7 * (8000 + 5500) == pytest.approx(14_550)  # neutral, 220.61


def test_l6_annex_d2b_optional_method() -> None:
    # flylib.com/books/en/2.419.1/example_no_d2_b_...: six 7 A air conditioners at 240 V, the heater of 1.5 kW left out
    general = lighting_va(1500, "dwelling") + 3000 + 1500 + 8000 + 5100 + 4500 + 1200 + 5000
    assert general == 32_800
    assert demand_va(general, "dwelling, optional method") == pytest.approx(19_120)
    total = demand_va(general, "dwelling, optional method") + 6 * 7 * 240
    assert total == pytest.approx(29_200)
    assert round(total / 240) == 122


@pytest.mark.parametrize(
    ("load", "connected", "counted"),
    [
        # NEC 220.45, 220.47:
        # electricalcode.net/2024/03/13/article-220-branch-circuit-feeder-and-service-load-calculations-part-3-220-44
        ("receptacles", 10_000, 10_000),
        ("receptacles", 10_002, 10_001),
        ("warehouse lighting", 12_500, 12_500),
        ("warehouse lighting", 20_000, 16_250),
        ("dwelling lighting", 3_000, 3_000),
        ("dwelling lighting", 120_000, 43_950),
        ("dwelling lighting", 121_000, 44_200),
        ("dwelling lighting", 0, 0),
    ],
)
def test_demand_changes_where_the_code_does(load: str, connected: float, counted: float) -> None:
    assert demand_va(connected, load) == pytest.approx(counted)


def test_demand_of_an_unknown_load_is_refused() -> None:
    with pytest.raises(TableError, match="the load hay; expected one of receptacles, warehouse lighting"):
        demand_va(1, "hay")


def test_the_lighting_of_2020_is_not_that_of_2017() -> None:
    # that the table was made anew: electricallicenserenewal.com NEC-Content.php?sectionID=834; values from memory
    assert lighting_va(1000, "warehouse", 2017) == 250
    assert lighting_va(1000, "warehouse") == 1200


# heaters and continuous loads


def test_a_heater_of_four_kilowatts_fails_on_twenty_amperes() -> None:
    # NEC 424.4(B) at 125 %: 16.7 A running, 20.8 A for the breaker (derived)
    heater = device("heater", 4000, volts=240)
    assert running_a(heater) == pytest.approx(16.67, abs=5e-3)
    asked = sizing_a([heater], LIMITS)
    assert asked == pytest.approx(20.83, abs=5e-3)
    assert breaker_for(asked, COMMON) == 25
    assert breaker_for(asked, (15, 20, 30)) == 30
    assert least_awg(25, asked) == least_awg(30, asked) == 10


def test_a_published_space_heater_with_a_blower() -> None:
    # mikeholt.com/newsletters.php?action=display&letterID=2089: 9600 VA at 240 V and 3 A: 43 A, 53.75 A, 60 A
    heater = device("heater", 9600 + 3 * 240, volts=240)
    assert running_a(heater) == 43
    assert sizing_a([heater], LIMITS) == pytest.approx(53.75)
    assert breaker_for(53.75, standard_breakers()) == 60


def test_a_continuous_load_counts_125_per_cent_for_the_breaker_and_once_under_a_factor() -> None:
    # NEC 210.20(A), 210.19(A)(1): forums.mikeholt.com/threads/coffee-pot-question.103218/page-2
    lights = [device("light", 1200, continuous=True), device("light", 240)]
    assert sizing_a(lights, LIMITS) == pytest.approx(10 * 1.25 + 2)
    assert lasting_a(lights, LIMITS) == pytest.approx(12)
    assert lasting_a([device("heater", 2400, volts=240)], LIMITS) == pytest.approx(12.5)
    assert sizing_a([device("heater", 2400, volts=240, continuous=True)], LIMITS) == pytest.approx(12.5)


def test_sixteen_continuous_amperes_just_pass_on_twenty() -> None:
    assert breaker_for(sizing_a([device("light", 16 * 120, continuous=True)], LIMITS), COMMON) == 20
    assert breaker_for(sizing_a([device("light", 16 * 120 + 1, continuous=True)], LIMITS), COMMON) == 25


# motors


def test_a_published_motor_of_one_horsepower() -> None:
    # ecmweb.com/national-electrical-code/code-basics/article/20904830/motor-calculations-part-2: 16 A, 20 A, breaker 40
    saw = motor(1, volts=120)
    assert running_a(saw) == 16
    assert sizing_a([saw], LIMITS) == lasting_a([saw], LIMITS) == 20
    assert motor_breaker_most(saw, LIMITS) == 40
    assert least_awg(40, sizing_a([saw], LIMITS), motor=True) == 12


def test_a_published_motor_of_five_horsepower() -> None:
    # electricianmath.com/neccalculations/motorovercurrentprotection.htm: 28 A, 35 A, breaker at most 70
    saw = motor(5)
    assert running_a(saw) == 28
    assert sizing_a([saw], LIMITS) == 35
    assert motor_breaker_most(saw, LIMITS) == 70
    assert least_awg(40, sizing_a([saw], LIMITS)) == 8  # 60 C: 10 AWG carries 30 A only (derived)


def test_the_breaker_of_a_motor_goes_up_to_the_next_standard_size() -> None:
    # NEC 430.52 exception 1 (buildmyowncabin.com/nec/nec2011_table430.52.html): 17 x 2.5 = 42.5 -> 45
    assert motor_breaker_most(motor(3), LIMITS) == 45


def test_the_table_counts_and_not_the_nameplate() -> None:
    # NEC 430.6(A): electricianmath.com/neccalculations/motorovercurrentprotection.htm
    saw = device("machine", 1000, volts=240, horsepower=2)
    assert running_a(saw) == 12


def test_the_largest_of_several_motors_counts_125_per_cent_and_the_rest_once() -> None:
    # NEC 430.24: up.codes/s/several-motors-or-a-motor-s-and-other-load-s; sums derived:
    # 2 hp 12 A x 1.25, 1 hp 8 A, a continuous 10 A x 1.25, 5 A once
    motors = [motor(1, continuous=True), motor(2)]
    others = [device("machine", 2400, volts=240, continuous=True), device("machine", 1200, volts=240)]
    assert sizing_a(motors, LIMITS) == pytest.approx(12 * 1.25 + 8)
    assert sizing_a([*motors, *others], LIMITS) == pytest.approx(12 * 1.25 + 8 + 12.5 + 5)
    assert lasting_a([*motors, *others], LIMITS) == pytest.approx(12 * 1.25 + 8 + 10 + 5)


def test_a_motor_that_no_table_lists_is_refused() -> None:
    with pytest.raises(TableError, match="a motor of 4 hp; expected one of 1/6"):
        sizing_a([motor(4)], LIMITS)


# multiwire circuits, nothing at all


def test_a_multiwire_circuit_is_sized_by_its_fuller_line() -> None:
    one, other = device("receptacle", 1200, leg=1), device("receptacle", 1800, leg=2)
    assert sizing_a([one, other], LIMITS) == 15
    assert sizing_a([one, other, device("machine", 1200, volts=240)], LIMITS) == 20  # loads both lines
    assert sizing_a([one, one, other], LIMITS) == 20


def test_nothing_on_a_circuit_is_no_load() -> None:
    assert sizing_a([], LIMITS) == 0
    assert breaker_for(0, COMMON) == 15
    assert breaker_for(50.01, COMMON) is None
    assert breaker_for(50, COMMON) == 50


DEVICES = st.one_of(
    st.builds(
        device,
        st.sampled_from(["receptacle", "light", "heater", "machine"]),
        st.floats(0, 2400),
        volts=st.sampled_from([120, 240]),
        continuous=st.booleans(),
        leg=st.sampled_from([1, 2]),
    ),
    st.builds(motor, st.sampled_from([1 / 3, 1, 2, 5]), volts=st.sampled_from([120, 240]), leg=st.sampled_from([1, 2])),
)


@given(st.lists(DEVICES, max_size=6), DEVICES)
def test_adding_a_load_never_lowers_the_breaker(devices: list[Device], more: Device) -> None:
    before, after = sizing_a(devices, LIMITS), sizing_a([*devices, more], LIMITS)
    assert after >= before - 1e-9
    assert (breaker_for(after, COMMON) or 999) >= (breaker_for(before, COMMON) or 999)
    assert lasting_a(devices, LIMITS) <= before + 1e-9


@given(
    st.floats(0, 3e5), st.floats(0, 1e5), st.sampled_from(["receptacles", "warehouse lighting", "dwelling lighting"])
)
def test_demand_grows_with_the_load_and_never_faster(load: float, more: float, kind: str) -> None:
    assert -1e-6 <= demand_va(load + more, kind) - demand_va(load, kind) <= more + 1e-6

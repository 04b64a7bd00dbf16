"""Breaker and conductors of circuits, from scenes: usual sizes, traps of the tables, and what cannot be.

Ampacities are those of NEC Table 310.16 (scribd.com/document/768710860, voltagelab.com/table-310-16-ampacity-of-
conductors), caps of small conductors 240.4(D) (builders.theknowledgegardens.com/knowledge/nec-article-240-overcurrent).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from barnloom.model.building import Building
from barnloom.model.electrical.tables import TableError
from barnloom.model.errors import Fault, SceneError
from barnloom.model.limits import Limits
from barnloom.routing.wiring.sizing import Rating, ratings
from tests.routing.wired_scenes import bay, building_of, wall_scene

HEATER = "{kind: heater, watts: 4000, volts: 240}"
MOTOR = "{kind: machine, hp: 5, volts: 240}"


def building(*devices: str, circuit: str = "", more: str = "", panel: str = "") -> Building:
    """Devices in boxes B1, B2, ... of one circuit C on 20 ft of wall."""
    boxes = {
        f"B{number}": f'{bay(3 + number)}, height: 52", circuit: C, device: {device}'
        for number, device in enumerate(devices, start=1)
    }
    text = wall_scene(boxes, more=f"circuits: {{C: {{panel: PANEL{circuit}}}}}\n{more}", length="20'")
    return building_of(text.replace("kind: panel,", f"kind: panel, {panel},") if panel else text)


def rated(of: Building, factors: Mapping[str, float] | None = None) -> tuple[Rating, tuple[Fault, ...]]:
    found, faults = ratings(of, Limits(of.limits), factors)
    assert set(found) == {"C"}
    return found["C"], faults


def sizes(of: Building, factors: Mapping[str, float] | None = None) -> tuple[float, int]:
    """Breaker and AWG of what can be."""
    rating, faults = rated(of, factors)
    assert faults == ()
    return rating.breaker_a, rating.awg


def fault(of: Building, factors: Mapping[str, float] | None = None) -> Fault:
    _, (only,) = rated(of, factors)
    return only


LIGHTS = ("light", "light", "switch")
ROW = "controls: {ROW: {lights: [B1, B2], points: [B3]}}"


# --- usual sizes -----------------------------------------------------------------------------------------------------


def test_lights_alone_have_15_a_and_14_awg() -> None:
    # common practice, no source; 14 AWG on 15 A: 240.4(D)
    assert sizes(building(*LIGHTS, more=ROW)) == (15, 14)


def test_receptacles_have_20_a_and_12_awg_and_so_have_lights_beside_one() -> None:
    # common practice, no source; 12 AWG on 20 A: 240.4(D)
    assert sizes(building("receptacle", "receptacle")) == (20, 12)
    assert sizes(building(*LIGHTS, "receptacle", more=ROW)) == (20, 12)
    assert sizes(building("opener")) == (20, 12)


def test_a_receptacle_on_240_v_has_the_breaker_of_its_rating() -> None:
    # NEC 210.21(B)(1), from memory: a single receptacle alone is rated for its breaker. 8 AWG carries 40 A, 6 AWG 55
    assert sizes(building("{kind: receptacle, volts: 240, rating: 15}")) == (15, 14)
    assert sizes(building("{kind: receptacle, volts: 240, rating: 30}")) == (30, 10)
    assert sizes(building("{kind: receptacle, volts: 240, rating: 50}")) == (50, 6)


def test_boxes_that_do_nothing_have_20_a_or_what_their_pinned_cable_takes() -> None:
    assert sizes(building("junction", "junction")) == (20, 12)
    assert sizes(building("junction", circuit=", cable: 14/2")) == (15, 14)


def test_a_circuit_of_lights_grows_with_its_load() -> None:
    # derived: 2 x 1,000 W for hours, 16.67 A x 1.25 = 20.8 A (NEC 210.20(A),
    # forums.mikeholt.com/threads/coffee-pot-question.103218/page-2)
    lights = ("{kind: light, watts: 1000, continuous: yes}", "{kind: light, watts: 1000, continuous: yes}", "switch")
    rating, faults = rated(building(*lights, more=ROW))
    assert faults == ()
    assert (rating.breaker_a, rating.awg) == (25, 10)
    assert rating.load_a == pytest.approx(20.83, abs=0.005)


# --- traps -----------------------------------------------------------------------------------------------------------


def test_four_kilowatts_of_heat_need_ten_gauge() -> None:
    # derived: 4,000 / 240 = 16.7 A, x 1.25 = 20.8 A (NEC 424.4(B),
    # mikeholt.com/newsletters.php?action=display&letterID=2089): 12 AWG on 20 A fails, 10 AWG on 25 A passes
    rating, faults = rated(building(HEATER))
    assert faults == ()
    assert rating.load_a == pytest.approx(20.8, abs=0.05)
    assert (rating.breaker_a, rating.awg) == (25, 10)


def test_a_panel_without_25_a_takes_the_next_that_it_lists() -> None:
    assert sizes(building(HEATER, panel="panel: {spaces: 12, sizes: [15, 20, 30]}")) == (30, 10)


def test_a_motor_of_five_horsepower_needs_eight_gauge_in_cable() -> None:
    # electricianmath.com/neccalculations/motorovercurrentprotection.htm: 28 x 1.25 = 35 A, 10 AWG at 75 C. Cable is
    # used at 60 C (334.80, mikeholt.com/dailycodetipcalendar.php), where 10 AWG carries 30 A and 8 AWG 40 (derived)
    rating, faults = rated(building(MOTOR))
    assert faults == ()
    assert rating.load_a == 35
    assert (rating.breaker_a, rating.awg) == (40, 8)


def test_a_pinned_motor_breaker_stands_above_the_small_conductor_limit() -> None:
    # ecmweb.com/national-electrical-code/code-basics/article/20904830/motor-calculations-part-2: 1 hp on 115 V,
    # 16 A x 1.25 = 20 A, 12 AWG at 60 C, breaker 16 x 2.5 = 40 A (NEC 240.4(G))
    motor = "{kind: machine, hp: 1, volts: 120, protected: yes}"
    pinned = ", breaker: 40, motor_breaker: yes, because: the electrician"
    assert sizes(building(motor, circuit=pinned)) == (40, 12)
    assert sizes(building(motor, circuit=", breaker: 40")) == (40, 8)


# --- bundles ---------------------------------------------------------------------------------------------------------


def test_half_of_the_ampacity_makes_twelve_gauge_grow_to_ten() -> None:
    # Ten to twenty conductors: 50 % (buildmyowncabin.com/nec/nec2014_table310.15(b)(3)(a).html). Of the 90 C column
    # (334.80): 12 AWG 30 x 0.5 = 15 A fails a 20 A circuit, 10 AWG 40 x 0.5 = 20 A does (derived)
    outlets = building("receptacle", "receptacle")
    assert sizes(outlets, {"C": 0.5}) == (20, 10)
    assert sizes(outlets, {"OTHER": 0.5}) == (20, 12)
    # Nine: 70 %, 12 AWG 21 A (ecmweb.com/nec/code-qa-0)
    assert sizes(outlets, {"C": 0.7}) == (20, 12)


def test_a_pinned_size_does_not_grow_and_is_a_fault_then() -> None:
    told = fault(building("receptacle", "receptacle", circuit=", awg: 12"), {"C": 0.5})
    assert told.where == ("circuits", "C", "awg")
    assert told.found == "12 AWG on C behind 20 A, in cables that keep 50% of their ampacity"
    assert told.expected.startswith("10 AWG or larger")
    assert "bundled: no" in told.do


def test_where_no_conductor_is_left_the_bundle_is_named() -> None:
    # 41 and more conductors: 35 %; 6 AWG 75 x 0.35 = 26.25 A (derived)
    told = fault(building("{kind: machine, amps: 30, volts: 240}"), {"C": 0.35})
    assert "35% of their ampacity" in told.found
    assert "keep its cables apart" in told.do


# --- what cannot be --------------------------------------------------------------------------------------------------


def test_a_machine_that_no_offered_breaker_carries_is_named_with_the_sizes_of_the_label() -> None:
    # 7-1/2 hp on 230 V: 40 A (paigewire.com/resources/430-148) x 1.25 = 50
    small = building("{kind: machine, hp: 7-1/2, volts: 240}", panel="panel: {spaces: 12, sizes: [15, 20, 30, 40]}")
    told = fault(small)
    assert told.where == ("circuits", "C")
    assert told.found == "50.0 A on C (the largest: B1), which no offered breaker carries"
    assert "15, 20, 30, 40 A" in told.do
    assert sizes(building("{kind: machine, hp: 7-1/2, volts: 240}")) == (50, 6)


def test_a_load_above_every_conductor_is_a_fault() -> None:
    # 6 AWG at 60 C: 55 A
    large = building("{kind: machine, amps: 56, volts: 240}", panel="panel: {spaces: 12, sizes: [20, 60]}")
    told = fault(large)
    assert told.where == ("circuits", "C")
    assert "conductors up to 6 AWG" in told.expected


def test_a_pinned_breaker_too_small_is_a_fault() -> None:
    told = fault(building(HEATER, circuit=", breaker: 20"))
    assert told.where == ("circuits", "C", "breaker")
    assert "a 20 A breaker for 20.8 A" in told.found
    assert sizes(building(HEATER, circuit=", breaker: 30")) == (30, 10)


def test_a_pinned_size_too_thin_is_a_fault() -> None:
    for pin in ("awg", "cable"):
        said = "12/2" if pin == "cable" else "12"
        told = fault(building(HEATER, circuit=f", {pin}: {said}"))
        assert told.where == ("circuits", "C", pin)
        assert told.found == "12 AWG on C behind 25 A"
        assert told.expected.startswith("10 AWG or larger")
    assert sizes(building(HEATER, circuit=", awg: 8")) == (25, 8)


def test_fourteen_gauge_pinned_lowers_the_breaker_that_nobody_pinned() -> None:
    # 240.4(D): 15 A at most
    assert sizes(building("receptacle", "receptacle", circuit=", awg: 14")) == (15, 14)


def test_a_leg_pinned_thinner_than_its_circuit_is_a_fault_in_its_own_place() -> None:
    outlets = ("receptacle", "receptacle")
    leg = "cables: {C.B2: {type: 14/2}}"
    told = fault(building(*outlets, more=leg))
    assert told.where == ("cables", "C.B2", "type")
    assert "14 AWG in C.B2 behind 20 A" in told.found
    assert "say breaker: 15" in told.do
    assert sizes(building(*outlets, more=leg, circuit=", breaker: 15")) == (15, 14)
    assert sizes(building(*outlets, more="cables: {C.B2: {type: 10/2}}")) == (20, 12)


@pytest.mark.parametrize(
    ("circuit", "more", "where", "awg"),
    [
        (", cable: 18/2", "", ("circuits", "C", "cable"), 18),
        ("", "cables: {C.B1: {type: 18/2}}\n", ("cables", "C.B1", "type"), 18),
        (", awg: 4", "", ("circuits", "C", "awg"), 4),
    ],
)
def test_a_size_that_no_cable_of_a_circuit_has_is_a_fault(
    circuit: str, more: str, where: tuple[str, ...], awg: int
) -> None:
    bell = 'cable_types: {18/2: {width: 0.2", thickness: 0.1", price: 0.2}}'
    told = fault(building("receptacle", circuit=circuit, more=more + bell))
    assert (told.where, told.found) == (where, f"{awg} AWG")
    assert "14 to 6 AWG" in told.expected


def test_a_horsepower_that_no_table_has_is_a_fault_of_the_scene() -> None:
    # NEC Table 430.248 has 3 and 5 hp and none between (paigewire.com/resources/430-148)
    with pytest.raises(SceneError) as told:
        building("{kind: machine, hp: 4, volts: 240}")
    (only,) = told.value.faults
    assert only.where == ("boxes", "B1", "device", "hp")
    assert "4 hp" in only.found
    assert "2, 3, 5, 7 1/2" in only.expected
    # A building that no scene has made says the same, without a place.
    made = building(MOTOR)
    odd = replace(made, devices=tuple(replace(one, horsepower=4.0) for one in made.devices))
    with pytest.raises(TableError, match="4 hp"):
        rated(odd)


def test_a_motor_breaker_is_pinned_no_higher_than_250_percent_next_size_up() -> None:
    """1 hp at 115 V: 16 A x 2.5 = 40 A (ecmweb.com/national-electrical-code/code-basics/article/20904830)."""
    boxes = {"M": f'circuit: C, device: {{kind: machine, hp: 1, protected: yes}}, {bay(8)}, height: 48"'}

    def faults(breaker: int) -> tuple[Fault, ...]:
        more = f"circuits: {{C: {{breaker: {breaker}, motor_breaker: yes, because: an electrician}}}}"
        building = building_of(wall_scene(boxes, more=more))
        return ratings(building, Limits(building.limits))[1]

    assert faults(40) == ()
    assert ["430.52" in fault.expected for fault in faults(50)] == [True]

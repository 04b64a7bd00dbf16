"""Spaces of a panel, their legs, and the load of the building against its supply."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import hypot
from typing import Any

import pytest
from hand_plan import hand_building
from hypothesis import given, settings
from hypothesis import strategies as st

from barnloom.model.building import Assembly, Building
from barnloom.model.framing import build
from barnloom.model.limits import Limits, load_limits
from barnloom.model.scene.schema import Scene
from barnloom.model.wiring import Breakers, Device, DeviceKind, Supply
from barnloom.routing.wiring.panel import Want, leg_of, placed, spare_words
from barnloom.routing.wiring.supply import enclosed_ft2, load_sum, load_words, supply_words

LIMITS = Limits(load_limits())


def want(name: str, load: float = 10.0, **more: Any) -> Want:
    said: dict[str, Any] = {"poles": 1, "breaker_a": 20.0, "protective": False}
    return Want(circuit=name, load_a=load, **(said | more))


def panel(spaces: int = 12, **more: Any) -> Breakers:
    return Breakers(panel="PANEL", spaces=spaces, **more)


# Numbering and legs of a load centre: odd spaces left, even ones right, rows on alternate legs (common practice, no
# source).


def test_one_breaker_on_each_leg_in_turn() -> None:
    seats, faults = placed(panel(), [want(name) for name in "abcd"])
    assert faults == ()
    assert seats == {"a": ((1,), "A"), "b": ((3,), "B"), "c": ((2,), "A"), "d": ((4,), "B")}


def test_two_poles_lie_below_each_other_on_both_legs() -> None:
    seats, _ = placed(panel(), [want("light"), want("saw", poles=2), want("share", multiwire=True)])
    assert seats == {"saw": ((1, 3), "AB"), "share": ((2, 4), "AB"), "light": ((5,), "A")}


def test_used_spaces_stay_used() -> None:
    seats, faults = placed(panel(6, used=(1, 4)), [want("saw", poles=2), want("a"), want("b")])
    assert faults == ()
    assert seats == {"saw": ((3, 5), "AB"), "a": ((2,), "A"), "b": ((6,), "A")}


def test_loads_are_balanced() -> None:
    # 16 | 12 + 5 by hand: heaviest first gives A 16, B 12 + 5
    seats, _ = placed(panel(), [want("a", 12.0), want("b", 5.0), want("c", 16.0)])
    assert {name: legs for name, (_, legs) in seats.items()} == {"c": "A", "a": "B", "b": "B"}
    # 8 + 5 + 4 | 7 + 6, and 5 for 4 or 6 exchanged betters nothing; 8 + 7 | 6 + 5 + 4 is even
    loads = {"a": 8.0, "b": 7.0, "c": 6.0, "d": 5.0, "e": 4.0}
    seats, _ = placed(panel(), [want(name, load) for name, load in loads.items()])
    legs = {leg: sum(loads[name] for name, (_, its) in seats.items() if its == leg) for leg in "AB"}
    assert abs(legs["A"] - legs["B"]) <= 2.0


def test_a_size_that_the_label_does_not_list() -> None:
    seats, faults = placed(panel(sizes_a=(15.0, 20.0)), [want("heat", breaker_a=25.0), want("b", breaker_a=15.0)])
    assert [fault.where for fault in faults] == [("boxes", "PANEL", "panel", "sizes")]
    assert "a 25 A breaker for heat" in faults[0].found
    assert faults[0].expected.endswith("15, 20 A")
    assert set(seats) == {"heat", "b"}


def test_too_few_spaces_say_how_many_and_ways_out() -> None:
    seats, faults = placed(panel(4, used=(2,)), [want("saw", poles=2), *(want(name) for name in "abc")])
    assert set(seats) == {"saw", "a"}
    assert [fault.where for fault in faults] == [("boxes", "PANEL", "panel", "spaces")]
    assert "5 spaces wanted, 3 free; none left for b, c" in faults[0].found
    for way in ("larger panel", "join circuits", "tandem"):
        assert way in faults[0].do
    # Enough, but none below each other: 1 and 4 are free.
    _, faults = placed(panel(4, used=(2, 3)), [want("saw", poles=2)])
    assert "2 spaces wanted, 2 free, of which no two" in faults[0].found


def test_tandem_breakers_only_where_they_are_listed_and_needed() -> None:
    three = [want(name) for name in "abc"]
    assert placed(panel(2), three)[1]
    seats, faults = placed(panel(2, tandem=(2,)), three)
    assert faults == ()
    assert sorted(spaces for spaces, _ in seats.values()) == [(1,), (2,), (2,)]
    assert len({spaces for spaces, _ in placed(panel(4, tandem=(1, 2, 3, 4)), three)[0].values()}) == 3


def test_no_tandem_under_a_protective_a_two_pole_or_a_multiwire_breaker() -> None:
    listed = panel(4, tandem=(1, 2, 3, 4))
    for special in ({"poles": 2}, {"multiwire": True}):
        assert placed(listed, [want(name, **special) for name in "abc"])[1]
    assert placed(listed, [want(name, protective=True) for name in "abcde"])[1]
    # four plain ones in two tandems, three protective ones do not go into the other two
    assert placed(listed, [want(n, protective=True) for n in "abc"] + [want(n) for n in "wxyz"])[1]
    seats, faults = placed(listed, [want(n, protective=True) for n in "ab"] + [want(n) for n in "wxyz"])
    assert faults == ()
    assert len({seats[name] for name in "ab"}) == 2
    assert not {seats[name] for name in "ab"} & {seats[name] for name in "wxyz"}


def test_two_poles_keep_off_the_spaces_for_tandems() -> None:
    seats, faults = placed(panel(6, tandem=(1, 3)), [want("saw", poles=2), *(want(name) for name in "abcdef")])
    assert faults == ()
    assert seats["saw"] == ((2, 4), "AB")


def test_a_fifth_stays_free_or_it_is_said() -> None:
    ten = [want(name) for name in "abcdefgh"]
    assert spare_words(panel(10), placed(panel(10), ten)[0], LIMITS) == ()
    nine = placed(panel(10, used=(1,)), ten)[0]
    assert spare_words(panel(10, used=(1,)), nine, LIMITS) == (
        "PANEL: 1 of 10 spaces stay free; aim at 20% (own caution)",
    )


# --- whatever is wanted ----------------------------------------------------------------------------------------------

wishes = st.lists(
    st.tuples(st.sampled_from(["plain", "plain", "protective", "two", "multiwire"]), st.integers(1, 30)),
    min_size=1,
    max_size=7,
)


@st.composite
def panels(draw: st.DrawFn) -> Breakers:
    spaces = draw(st.integers(2, 8))
    some = st.sets(st.integers(1, spaces), max_size=4)
    used = draw(some)
    return panel(spaces, used=tuple(sorted(used)), tandem=tuple(sorted(draw(some))))


def all_fit(breakers: Breakers, wants: list[Want]) -> bool:
    """Whether every breaker finds a place: every way to put the wide ones is tried."""
    free = set(range(1, breakers.spaces + 1)) - set(breakers.used)
    wide = sum(one.spaces == 2 for one in wants)
    single = [one for one in wants if one.spaces == 1]
    plain = sum(not one.protective for one in single)

    def wides(left: set[int], many: int) -> bool:
        if many == 0:
            tandem = len(left & set(breakers.tandem))
            return any(len(single) <= len(left) + t and 2 * t <= plain for t in range(tandem + 1))
        return any(wides(left - {s, s + 2}, many - 1) for s in left if s + 2 in left)

    return wides(free, wide)


@settings(max_examples=300, deadline=None)
@given(panels(), wishes)
def test_breakers_keep_the_rules_and_find_a_place_if_there_is_one(
    breakers: Breakers, wished: list[tuple[str, int]]
) -> None:
    more: dict[str, dict[str, Any]] = {"protective": {"protective": True}, "two": {"poles": 2}}
    more |= {"multiwire": {"multiwire": True, "protective": True}, "plain": {}}
    wants = [want(f"C{n}", float(load), **more[kind]) for n, (kind, load) in enumerate(wished)]
    seats, faults = placed(breakers, wants)
    assert (not faults) == all_fit(breakers, wants) == (len(seats) == len(wants))
    in_space: dict[int, list[Want]] = {}
    for one in wants:
        for space in seats[one.circuit][0] if one.circuit in seats else ():
            in_space.setdefault(space, []).append(one)
    for space, its in in_space.items():
        assert 1 <= space <= breakers.spaces
        assert space not in breakers.used
        assert len(its) == 1 or (len(its) == 2 and space in breakers.tandem)
        assert len(its) == 1 or not any(one.protective or one.spaces == 2 for one in its)
    for one in wants:
        if one.circuit in seats:
            spaces, legs = seats[one.circuit]
            assert len(spaces) == one.spaces
            assert legs == "".join(map(leg_of, sorted(spaces, key=leg_of)))
            assert one.spaces == 1 or (spaces[1] == spaces[0] + 2 and legs == "AB")


@settings(max_examples=200, deadline=None)
@given(st.lists(st.integers(1, 40), min_size=1, max_size=8), st.integers(8, 16))
def test_no_exchange_evens_the_legs_out_better(loads: list[int], spaces: int) -> None:
    wants = [want(f"C{n}", float(load)) for n, load in enumerate(loads)]
    seats, _ = placed(panel(spaces), wants)
    found = abs(sum(load if seats[f"C{n}"][1] == "A" else -load for n, load in enumerate(loads)))
    most = {leg: sum(leg_of(space) == leg for space in range(1, spaces + 1)) for leg in "AB"}
    best = min(
        abs(sum(sign * load for sign, load in zip(signs, loads, strict=True)))
        for signs in product((1, -1), repeat=len(loads))
        if signs.count(1) <= most["A"] and signs.count(-1) <= most["B"]
    )
    assert best <= found <= max(best, max(loads))
    # no single breaker moved to the other leg, and no two exchanged, would do better
    sides = [seats[f"C{n}"][1] for n in range(len(loads))]
    apart = sum(load if leg == "A" else -load for load, leg in zip(loads, sides, strict=True))
    for n, m in product(range(len(loads)), repeat=2):
        if sides[n] == "A" and sides[m] == "B":
            assert abs(apart - 2 * (loads[n] - loads[m])) >= found


@pytest.mark.parametrize("turn", [1, 3])
def test_the_order_of_equals_changes_no_leg_load(turn: int) -> None:
    loads = [9.0, 9.0, 4.0, 7.0, 7.0]
    wants = [want(f"C{n}", load) for n, load in enumerate(loads)]
    first, again = placed(panel(), wants)[0], placed(panel(), wants[turn:] + wants[:turn])[0]
    assert {name: legs for name, (_, legs) in first.items()} == {name: legs for name, (_, legs) in again.items()}


# --- load of the building --------------------------------------------------------------------------------------------


def thing(name: str, kind: str, va: float, **more: Any) -> Device:
    said: dict[str, Any] = {"box": name, "circuit": "C", "load_va": va}
    return Device(id=name, kind=DeviceKind(kind), **(said | more))


def building(*devices: Device, **more: Any) -> Building:
    """The hand-worked building: it has no ring of walls, so no area."""
    return replace(hand_building(), devices=devices, **more)


def receptacles(number: int, name: str = "R", **more: Any) -> list[Device]:
    return [thing(f"{name}{n}", "receptacle", 180.0, load_assumed=True, **more) for n in range(number)]


def lines_of(*devices: Device, **more: Any) -> dict[str, tuple[float, float]]:
    return {line.what: (line.va, line.demand_va) for line in load_sum(building(*devices, **more), LIMITS)}


def test_receptacles_beyond_10_kva_count_half() -> None:
    # 20,160 VA come to 10,000 + 5,080 = 15,080 (forums.mikeholt.com/threads/appling-220-44-to-220-14-i-h-loads.75064):
    # 112 yokes of 180 VA
    assert lines_of(*receptacles(112)) == {"receptacles, 180 VA a yoke": (20_160.0, 15_080.0)}


def test_continuous_receptacles_count_125_percent_and_get_no_demand_factor() -> None:
    # 55 and 55: 12,375 + 9,900 = 22,275 VA (scribd.com/document/661469951/Receptacle-Loads-Code-Calc)
    found = lines_of(*receptacles(55), *receptacles(55, "C", continuous=True))
    assert found == {
        "receptacles, 180 VA a yoke": (9_900.0, 9_900.0),
        "receptacles in continuous use": (9_900.0, 12_375.0),
    }


def test_machines_and_the_largest_motor_a_quarter_more() -> None:
    # 1 hp at 115 V: 16 A; 5 hp at 230 V: 28 A (Table 430.248, paigewire.com/resources/430-148)
    fan = thing("FAN", "machine", 0.0, horsepower=1.0)
    saw = thing("SAW", "machine", 0.0, horsepower=5.0, volts=240, continuous=True)
    assert lines_of(fan, saw) == {
        "machines": (16 * 120 + 28 * 240, 16 * 120 + 28 * 240),
        "the largest motor, SAW: so much more": (28 * 240, 28 * 60),
    }


def test_heaters_count_once_and_continuous_lights_125_percent() -> None:
    # 220.51: heaters at 100 % for the feeder (from memory); 215.2: continuous 125 %
    # (forums.mikeholt.com/threads/coffee-pot-question.103218/page-2)
    heater = thing("H", "heater", 4000.0, volts=240)
    lights = [thing("L1", "light", 400.0, continuous=True), thing("L2", "light", 100.0)]
    assert lines_of(heater, *lights, thing("A", "alarm", 10.0), thing("D", "opener", 600.0)) == {
        "lights, connected": (500.0, 600.0),
        "door openers": (600.0, 600.0),
        "heaters": (pytest.approx(4000.0), pytest.approx(4000.0)),
        "alarms": (10.0, 10.0),
    }
    own = thing("P", "receptacle", 1200.0)
    assert lines_of(own) == {"receptacles for a load of their own": (1200.0, 1200.0)}


def ring(*corners: tuple[float, float]) -> tuple[Assembly, ...]:
    """Walls from corner to corner."""
    wall = hand_building().assemblies[0]
    walls = []
    for n, (a, b) in enumerate(zip(corners, [*corners[1:], corners[0]], strict=True)):
        length = hypot(b[0] - a[0], b[1] - a[1])
        way = ((b[0] - a[0]) / length, (b[1] - a[1]) / length, 0.0)
        walls.append(replace(wall, id=f"W{n}", origin=(*a, 0.0), u=way, extent_u=(0.0, length)))
    return tuple(walls)


def test_lights_by_area_where_that_is_more() -> None:
    # 1.7 VA/ft2 of a workshop (from memory); 20 ft by 30 ft: 600 ft2, 1020 VA
    shed = ring((0.0, 0.0), (240.0, 0.0), (240.0, 360.0), (0.0, 360.0))
    assert enclosed_ft2(building(assemblies=shed)) == pytest.approx(600.0)
    few = lines_of(thing("L", "light", 500.0), assemblies=shed)
    assert few == {"lights, 1.7 VA a square foot of 600 ft2 (workshop)": (pytest.approx(1020.0), pytest.approx(1020.0))}
    many = lines_of(thing("L", "light", 1100.0), assemblies=shed)
    assert many == {"lights, connected": (1100.0, 1100.0)}
    # an L: 20 x 30 less 10 x 10
    ell = ring((0.0, 0.0), (240.0, 0.0), (240.0, 240.0), (120.0, 240.0), (120.0, 360.0), (0.0, 360.0))
    assert enclosed_ft2(building(assemblies=ell)) == pytest.approx(500.0)
    assert enclosed_ft2(building(assemblies=shed[:3])) == 0.0


def test_the_area_of_framed_walls_is_that_outside() -> None:
    # 16 ft by 12 ft, walls that butt against each other at the corners, and a partition that encloses nothing
    walls = (
        ((0, 0), "east", "16'"),
        (("16'", 0), "north", "12'"),
        (("16'", "12'"), "west", "16'"),
        ((0, "12'"), "south", "12'"),
        (("8'", '3-1/2"'), "north", "5'"),
    )
    said = {
        f"W{n}": {
            "start": start,
            "heading": way,
            "length": length,
            "height": "8'",
            "section": "2x4",
            "studs": {"every": '16"'},
        }
        for n, (start, way, length) in enumerate(walls)
    }
    scene = {"barnloom": 1, "title": "shed", "storeys": {"G": {"floor": 0}}, "walls": said}
    box = {"PANEL": {"kind": "panel", "wall": "W0", "along": '40"', "height": '60"'}}
    assert enclosed_ft2(build(Scene.model_validate(scene | {"boxes": box}))) == pytest.approx(192.0)


def test_no_load_no_words() -> None:
    assert words_of() == ""


def words_of(*devices: Device, **more: Any) -> str:
    whole = building(*devices, **more)
    return "\n".join(load_words(whole, load_sum(whole, LIMITS)))


def test_load_against_main_and_feeder() -> None:
    # 9,600 VA are 40 A at 240 V
    heater = thing("H", "heater", 9600.0, volts=240)
    supply = Supply(breaker_a=40.0, said=True)
    words = words_of(heater, breakers=(panel(main_a=30.0),), supply=supply)
    assert "9,600 VA, 40.0 A at 240 V" in words
    assert "The main breaker of PANEL, 30 A, is too small" in words
    assert "The supply's breaker, 40 A, carries that." in words
    assert "220.14(J)" in words
    assert "is not said: it has to carry 40.0 A" in words_of(heater, breakers=(panel(),), supply=supply)
    one = Supply(kind="branch circuit", wires=3, breaker_a=20.0)
    assert "1,200 VA, 10.0 A at 120 V." in words_of(thing("L", "light", 1200.0), supply=one)


def test_feeder_drop() -> None:
    # 2 x 40 A x 0.491 ohm/kft (chapter 9 Table 8, 6 AWG) x 100 ft / 1000 = 3.93 V, 1.6 % of 240
    heater = thing("H", "heater", 9600.0, volts=240)
    near = Supply(awg="6", length_in=1200.0)
    assert "100' 0\" of 6 AWG at 40.0 A: 3.9 V, 1.6%, within the 3%" in words_of(heater, supply=near)
    assert "7.9 V, 3.3%, above the 3%" in words_of(heater, supply=replace(near, length_in=2400.0))
    assert "say its length" in words_of(heater, supply=Supply(awg="6"))
    assert "not worked" in words_of(heater, supply=replace(near, awg="4/0"))


# --- the supply, told plainly ----------------------------------------------------------------------------------------


def supply_text(circuits: int = 3, **supply: Any) -> str:
    whole = hand_building()
    return "\n".join(supply_words(replace(whole, circuits=whole.circuits[:circuits], supply=Supply(**supply))))


def test_what_a_feeder_wants() -> None:
    # forums.mikeholt.com/threads/detached-garage.39148 (225.30 to 225.39, 250.32); working space
    # ecmag.com/magazine/articles/article-detail/codes-standards-general-installation-requirements-part-xix
    words = supply_text()
    for clause in (
        "225.30",
        "225.31",
        "225.39",
        "250.32(A)",
        "250.32(B)",
        "110.26(A)",
        "240.24(A)",
        "334.30",
        "110.14(D)",
    ):
        assert clause in words
    for said in ("four wires", "at least 60 A", "6 AWG copper", "3' 0\" deep, 2' 6\" wide", "6' 6\" high", "6' 7\""):
        assert said in words
    assert "Table 300.5" not in words


def test_a_branch_circuit_needs_no_electrode_and_a_smaller_disconnect() -> None:
    words = supply_text(1, kind="branch circuit", disconnect_a=10.0)
    assert "needs no ground electrode" in words
    assert "at least 15 A" in words
    assert "the scene says 10 A, which is too little" in words
    assert "four wires" not in words
    assert "at least 30 A" in supply_text(2, disconnect_a=30.0)
    assert "too little" not in supply_text(2, disconnect_a=30.0)


def test_a_part_of_the_house_is_no_separate_building() -> None:
    words = supply_text(separate=False)
    assert "225.30" not in words
    assert "110.26(A)" in words


def test_cover_by_method() -> None:
    # Table 300.5, yard: studylib.net/doc/18633587/depth-requirements-for-residential-underground-electrical...
    assert 'a buried cable, from its top to finished grade: 24"' in supply_text(method="buried")
    assert 'a plastic conduit, from its top to finished grade: 18"' in supply_text(method="conduit")

"""The load of the whole building, line by line, and against main and supply."""

from __future__ import annotations

from dataclasses import replace
from math import hypot
from typing import Any

import pytest
from hand_plan import hand_building

from barnloom.model.building import Assembly, Building
from barnloom.model.framing import build
from barnloom.model.limits import Limits, load_limits
from barnloom.model.scene.schema import Scene
from barnloom.model.wiring import Breakers, Device, DeviceKind, Supply
from barnloom.routing.wiring.load import enclosed_ft2, load_sum, load_words

LIMITS = Limits(load_limits())


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
    words = words_of(heater, breakers=(Breakers(panel="PANEL", main_a=30.0),), supply=supply)
    assert "9,600 VA, 40.0 A at 240 V" in words
    assert "The main breaker of PANEL, 30 A, is too small" in words
    assert "The supply's breaker, 40 A, carries that." in words
    assert "220.14(J)" in words
    assert "is not said: it has to carry 40.0 A" in words_of(heater, breakers=(Breakers(panel="PANEL"),), supply=supply)
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

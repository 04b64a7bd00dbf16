"""What may be together on a circuit, and ratings of receptacles and switches: at the limit, past it, and the way out.

The clauses are from memory; 210.21(B)(1) besides at builders.theknowledgegardens.com (article 210).
"""

from __future__ import annotations

import pytest

from barnloom.model.building import Building
from barnloom.model.electrical.tables import receptacle_ratings, standard_breakers
from barnloom.model.errors import Fault, SceneError
from barnloom.model.limits import Limits
from barnloom.routing.planner import plan_building
from barnloom.routing.wiring.circuit_rules import rule_faults
from barnloom.routing.wiring.sizing import ratings
from tests.routing.wired_scenes import bay, building_of, wall_scene

ROW = "controls: {ROW: {lights: [B1], points: [B2]}}"


def building(*devices: str, circuit: str = "", more: str = "") -> Building:
    """Devices in boxes B1, B2, ... of one circuit C."""
    boxes = {
        f"B{number}": f'{bay(3 + number)}, height: 52", circuit: C, device: {device}'
        for number, device in enumerate(devices, start=1)
    }
    return building_of(wall_scene(boxes, more=f"circuits: {{C: {{{circuit}}}}}\n{more}", length="20'"))


def faults(*devices: str, circuit: str = "", more: str = "") -> tuple[Fault, ...]:
    whole = building(*devices, circuit=circuit, more=more)
    limits = Limits(whole.limits)
    rated, others = ratings(whole, limits)
    assert others == ()
    return rule_faults(whole, limits, rated)


def test_ratings_of_receptacles_by_the_circuit() -> None:
    # NEC Table 210.21(B)(3), from memory: 15: 15, 20: 15 or 20, 30: 30, 40: 40 or 50, 50: 50
    table = {15: (15,), 20: (15, 20), 30: (30,), 40: (40, 50), 50: (50,)}
    assert {size: receptacle_ratings(size) for size in standard_breakers()} == {
        size: table.get(int(size), ()) for size in standard_breakers()
    }


@pytest.mark.parametrize(
    ("breaker", "rating", "fine"),
    [(15, 15, True), (15, 20, False), (20, 15, True), (20, 20, True), (30, 15, False), (30, 20, False), (30, 30, True)],
)
def test_receptacles_beside_others(breaker: int, rating: int, fine: bool) -> None:
    # NEC Table 210.21(B)(3), from memory; a duplex one is two receptacles (Article 100)
    one = f"{{kind: receptacle, rating: {rating}}}"
    for devices in ((one, one), (one,)):
        found = faults(*devices, circuit=f"breaker: {breaker}")
        assert [fault.where for fault in found] == (
            [] if fine else [("boxes", f"B{n + 1}", "device") for n in range(len(devices))]
        )
        assert all("210.21(B)(3)" in fault.expected for fault in found)


def test_no_circuit_of_several_receptacles_has_a_breaker_between_the_sizes_of_the_table() -> None:
    # 2 x 10 A and 4 A more need 25 A; 210.23 has no such circuit (from memory)
    own = "{kind: receptacle, watts: 1200, rating: 20}"
    (fault,) = faults(own, own, "{kind: receptacle, watts: 480, rating: 20}")
    assert "25 A circuit" in fault.found
    assert "15, 20, 30, 40 or 50 A" in fault.expected


def test_one_receptacle_alone_is_rated_for_its_breaker() -> None:
    # 210.21(B)(1): no lower than the circuit's. 2,400 VA at 125 % are 25 A
    single = "{kind: receptacle, single: yes, rating: %d, watts: 2400, continuous: yes}"
    (fault,) = faults(single % 20)
    assert "210.21(B)(1)" in fault.expected
    assert "25 A circuit" in fault.found
    assert faults(single % 30) == ()


def test_what_is_plugged_in_beside_others_is_at_most_80_percent_of_the_receptacle() -> None:
    # NEC 210.21(B)(2) and its table, from memory: 12 A in one of 15 A, 16 A in one of 20 A
    for rating, most in ((15, 12), (20, 16)):
        own = f"{{kind: receptacle, rating: {rating}, watts: %d}}"
        assert faults(own % (120 * most), "receptacle") == ()
        (fault,) = faults(own % (120 * most + 60), "receptacle")
        assert "210.21(B)(2)" in fault.expected
        assert fault.where == ("boxes", "B1", "device")
        assert faults(own % (120 * most + 60)) == (), "alone on the circuit it may take all of it"


def test_what_is_wired_up_directly_beside_outlets_takes_half() -> None:
    # NEC 210.23(A)(2), from memory: 10 A of a 20 A circuit
    heater = "{kind: heater, watts: %d}"
    for beside, more in ((("receptacle",), ""), (("light", "switch"), ROW)):
        devices = [*beside, heater % 1200]
        assert faults(*devices, circuit="breaker: 20", more=more) == ()
        devices[-1] = heater % 1260
        (fault,) = faults(*devices, circuit="breaker: 20", more=more)
        assert "half of C's breaker" in fault.expected
    assert faults(heater % 1800) == ()


def test_lights_are_behind_20_a_at_most() -> None:
    # NEC 210.23(B), from memory: lights on 30 A only with heavy-duty lampholders
    assert faults("light", "switch", circuit="breaker: 20", more=ROW) == ()
    (fault,) = faults("light", "switch", circuit="breaker: 25", more=ROW)
    assert "at most 20 A" in fault.expected


def test_several_heaters_are_behind_30_a_at_most() -> None:
    # NEC 424.4(B), from memory
    heater = "{kind: heater, volts: 240, watts: %d}"
    assert faults(heater % 2880, heater % 2880) == (), "24 A at 125 %"
    (fault,) = faults(heater % 3600, heater % 3600)
    assert "424.4(B)" in fault.expected
    assert faults(heater % 7200) == ()


def test_two_voltages_on_a_circuit_only_where_a_multiwire_one_is_asked_for() -> None:
    # NEC 210.4(C), from memory: line-to-neutral loads only, but for ...
    devices = ("{kind: heater, volts: 240, watts: 1000}", "receptacle")
    (fault,) = faults(*devices)
    assert fault.expected == "one voltage on a circuit (NEC 210.4)"
    assert faults(*devices, circuit="multiwire: yes") == ()


def test_a_switch_carries_what_it_is_rated_for() -> None:
    # NEC 404.14(A), from memory
    more = "controls: {ROW: {lights: [B1], points: [B2, B3]}}"
    light = "{kind: light, watts: %d}"
    assert faults(light % 1800, "switch", "switch", circuit="breaker: 20", more=more) == ()
    found = faults(light % 1860, "switch", "{kind: switch, rating: 20}", circuit="breaker: 20", more=more)
    assert [fault.where for fault in found] == [("boxes", "B2", "device")]


def test_the_planner_refuses_them() -> None:
    with pytest.raises(SceneError, match="210.21"):
        plan_building(building("{kind: receptacle, rating: 20}", circuit="breaker: 15"))

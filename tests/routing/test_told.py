"""Warnings of the wiring: what a person should know of it that breaks no rule."""

from __future__ import annotations

from barnloom.routing.planner import plan_building
from tests.routing.wired_scenes import ANSWERS, bay, building_of, wall_scene


def warnings(*devices: str, circuit: str = "", answers: str = ANSWERS) -> str:
    """What is told of devices in boxes B1, B2, ... of one circuit C."""
    boxes = {
        f"B{number}": f'{bay(3 + number)}, height: 52", circuit: C, device: {device}'
        for number, device in enumerate(devices, start=1)
    }
    text = wall_scene(boxes, more=f"circuits: {{C: {{{circuit}}}}}", length="20'", answers=answers)
    return "\n".join(plan_building(building_of(text)).warnings)


def test_a_motor_above_1_hp_is_told_to_need_overload_protection() -> None:
    # NEC 430.32, from memory
    assert "overload" not in warnings("{kind: machine, volts: 240, hp: 1}")
    assert "overload" not in warnings("{kind: machine, volts: 240, hp: 1-1/2, protected: yes}")
    assert "B1: a breaker guards the cable and not the motor" in warnings("{kind: machine, volts: 240, hp: 1-1/2}")


def test_what_is_wired_up_directly_needs_a_switch_in_sight() -> None:
    # NEC 422.31, 424.19, 430.102(B), from memory
    assert "in sight of it" not in warnings("receptacle")
    assert "B1: wired up directly" in warnings("{kind: heater, volts: 240, watts: 1500}")


def test_thick_conductors_do_not_go_under_the_screws_of_a_usual_receptacle() -> None:
    # 15 and 20 A devices take 14 to 10 AWG: common practice, no source
    assert "screws" not in warnings("receptacle", circuit="awg: 10")
    assert "B1: conductors thicker than 10 AWG" in warnings(
        "{kind: receptacle, single: yes}", circuit="awg: 8, breaker: 15"
    )
    assert "screws" not in warnings("{kind: receptacle, volts: 240, rating: 50}")


def test_damp_places_and_livestock() -> None:
    # NEC 314.15, 406.9, 547, from memory
    damp = ANSWERS.replace("surroundings: dry", "surroundings: damp").replace("plain_cable: yes", "plain_cable: no")
    animals = damp.replace("surroundings: damp", "surroundings: livestock")
    assert "damp places" not in warnings("receptacle")
    assert "damp places" in warnings("receptacle", answers=damp)
    assert "equipotential" not in warnings("receptacle", answers=damp)
    assert "equipotential" in warnings("receptacle", answers=animals)


def test_two_that_run_together_on_one_circuit() -> None:
    # common practice, no source
    beside = "{kind: receptacle, watts: 600, with: [B2]}"
    assert "B1 and B2 run together, and both are on C" in warnings(beside, "receptacle")
    assert "run together" not in warnings("receptacle", "receptacle")


def test_a_motor_that_starts_far_off_dims_the_lamps() -> None:
    # 50 A over some 15 ft of 12 AWG: 2 x 50 x 1.98 x 15 / 1000 = 3 V of 120, 2.5 %; 400 A: 20 %, above the own caution
    motor = "{kind: machine, watts: 1200, starting: %d}"
    assert "lamps dip" not in warnings(motor % 50)
    assert "lamps dip" in warnings(motor % 400)


def test_plain_cable_that_has_to_be_concealed_and_is_not() -> None:
    # NEC 334.10(3) (garagejournal.com/forum/threads/wiring-a-pole-barn-conduit-or-bare-romex.9709/)
    hidden = ANSWERS.replace("plain_cable: yes", "plain_cable: concealed")
    assert "C.B1: plain cable (NM-B) that is in part not behind a lining" in warnings("receptacle", answers=hidden)
    lined = hidden.replace("lining: none", "lining: later")
    assert "334.10" not in warnings("receptacle", answers=lined)
    assert "334.10" not in warnings("receptacle")


def test_alarms_on_two_circuits() -> None:
    # IRC R314.4, from memory
    alarm = "{kind: alarm, detects: smoke}"
    boxes = {f"A{n}": f'{bay(3 + n)}, height: 80", circuit: C{n}, device: {alarm}' for n in (1, 2)}
    text = wall_scene(boxes, more="circuits: {C1: {}, C2: {}}", length="20'")
    assert "A1, A2: alarms on C1, C2" in "\n".join(plan_building(building_of(text)).warnings)
    assert "alarms" not in warnings(alarm, alarm)

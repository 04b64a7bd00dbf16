"""Currents, voltage lost and conductors that carry, by hand: cables of round lengths, sums by pencil.

Ohms per 1000 ft: 14 AWG 3.07, 12 AWG 1.93, 10 AWG 1.21 (chapter 9 Table 8, voltdropcalc.com/nec-chapter-9-table-8/).
Volts lost are 2 I R L / 1000. Which conductors count: voltagelab.com/table-310-15b3a-adjustment-factors.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import pytest

from barnloom.model.building import Circuit
from barnloom.model.wiring import Control, Device, DeviceKind, WiringRules
from barnloom.routing.plan import Cable
from barnloom.routing.wiring.colours import conductors_for
from barnloom.routing.wiring.flows import Flows, flows_of
from barnloom.routing.wiring.nets import least_conductors, synthesize

PANEL = "P"
OHMS = {14: 3.07, 12: 1.93, 10: 1.21}
LIGHT_A = 100 / 120
OUTLET_A = 180 / 120


def device(kind: str, name: str, **more: Any) -> Device:
    loads = {"light": 100.0, "receptacle": 180.0}
    said = {"box": name, "circuit": "C", "load_va": loads.get(kind, 0.0), **more}
    return Device(id=name, kind=DeviceKind(kind), **said)


def cable(near: str, far: str, feet: float, carried: Sequence[str], conductors: int) -> Cable:
    return Cable(
        id=f"C.{far}",
        circuit="C",
        type="",
        from_box=near,
        to_box=far,
        **dict.fromkeys(("points", "tracks", "bores"), ()),
        **dict.fromkeys(("path_in", "entries_in", "free_in", "panel_in", "slack_in", "board_in", "covered_in"), 0.0),
        cut_in=12 * feet,
        floor="SHOP",
        staples=0,
        turns=0,
        conductors=conductors_for(carried, conductors),
    )


def flowing(
    tree: str,
    *devices: Device,
    controls: Sequence[Control] = (),
    awg: int | Mapping[str, int] = 12,
    multiwire: bool = False,
    conductors: Mapping[str, int] | None = None,
) -> Flows:
    """Flows of a circuit; ``tree``: "P R1 20, R1 R2 10" are feeding box, fed box and feet of each cable.

    ``conductors``: of cables that have more than they need.
    """
    legs = [(near, far, float(feet)) for near, far, feet in (leg.split() for leg in tree.split(","))]
    boxes = tuple(far for _, far, _ in legs)
    circuit = Circuit(id="C", title="", panel=PANEL, boxes=boxes, multiwire=multiwire)
    feeds = [(near, far) for near, far, _ in legs]
    nets = synthesize(circuit, devices, controls, feeds, WiringRules())
    cables = {}
    for near, far, feet in legs:
        count = max(least_conductors(nets.carried[far]), (conductors or {}).get(far, 0))
        cables[far] = cable(near, far, feet, nets.carried[far], count)
    sizes = dict.fromkeys(boxes, awg) if isinstance(awg, int) else awg
    flows = flows_of(circuit, devices, nets, list(cables.values()), sizes)
    return replace(
        flows,
        current_a={cable.to_box: flows.current_a[cable.id] for cable in cables.values()},
        carrying={cable.to_box: flows.carrying[cable.id] for cable in cables.values()},
    )


def control(points: str, lights: str) -> Control:
    return Control(
        id="ROW", title="", circuit="C", points=tuple(points.split()), lights=tuple(lights.split()), in_order=True
    )


def volts(*legs: tuple[float, float], awg: int = 12) -> float:
    """Lost over cables of so many amperes and feet."""
    return sum(2 * amps * OHMS[awg] * feet / 1000 for amps, feet in legs)


# --- chains ----------------------------------------------------------------------------------------------------------


def chain(awg: int | Mapping[str, int] = 12) -> Flows:
    return flowing("P R1 20, R1 R2 10, R2 R3 10", *(device("receptacle", f"R{n}") for n in (1, 2, 3)), awg=awg)


def test_each_cable_of_a_chain_carries_what_is_behind_it() -> None:
    assert chain().current_a == pytest.approx({"R1": 4.5, "R2": 3.0, "R3": 1.5})


def test_what_a_chain_loses_adds_up_to_its_end() -> None:
    # 4.5 A x 20 ft, 3 x 10, 1.5 x 10: 90, 120, 135 A ft; 2 x 1.93 x 135 / 1000 = 0.5211 V of 120: 0.434 %
    drop = chain().drop
    assert drop == pytest.approx({"R1": 2 * 1.93 * 90 / 120e3, "R2": 2 * 1.93 * 120 / 120e3, "R3": 0.00434250})
    assert chain().way["R2"] == {"R1", "R2"}


def test_only_the_cables_on_the_way_count_and_each_by_its_own_size() -> None:
    # 10 AWG for the first: 2 x (1.21 x 90 + 1.93 x 45) / 1000 = 0.3915 V
    assert chain({"R1": 10, "R2": 12, "R3": 12}).drop["R3"] == pytest.approx(0.3915 / 120)
    # A branch to R2 that carries 15 A does not change what R1 loses but for the cable that both have.
    saw = device("machine", "M", load_va=1800.0)
    flows = flowing("P R1 20, R1 M 50", device("receptacle", "R1"), saw)
    assert flows.drop["R1"] == pytest.approx(volts((16.5, 20)) / 120)
    assert flows.drop["M"] == pytest.approx(volts((16.5, 20), (15, 50)) / 120)


def test_a_cable_to_a_box_that_does_nothing_carries_and_loses_nothing() -> None:
    flows = flowing("P R1 20, R1 END 30", device("receptacle", "R1"))
    assert (flows.current_a["END"], flows.carrying["END"]) == (0, 0)
    assert flows.drop["END"] == flows.drop["R1"] == pytest.approx(volts((1.5, 20)) / 120)


def test_a_cable_of_unknown_size_is_taken_to_lose_nothing() -> None:
    assert chain({"R1": 0, "R2": 12, "R3": 12}).drop["R3"] == pytest.approx(volts((3, 10), (1.5, 10)) / 120)


def test_behind_a_ground_fault_receptacle_all_goes_on_through_it() -> None:
    guard = device("receptacle", "R1", ground_fault=True)
    flows = flowing("P R1 20, R1 R2 10", guard, device("receptacle", "R2"))
    assert flows.current_a == pytest.approx({"R1": 3.0, "R2": 1.5})
    assert flows.carrying == {"R1": 2, "R2": 2}
    # A light farther on stays before the guard: its line and neutral go past beside those behind the guard.
    with_light = flowing("P R1 20, R1 R2 10, R2 L 5", guard, device("receptacle", "R2"), device("light", "L"))
    assert with_light.carrying == {"R1": 2, "R2": 4, "L": 2}


# --- switches --------------------------------------------------------------------------------------------------------


def test_a_switch_that_lies_off_the_way_is_counted_in_what_its_light_loses() -> None:
    # Power at the light: out to the switch and back is 15 ft more each way. 2 x 0.8333 x 3.07 x 45 / 1000 = 0.23025 V
    flows = flowing("P LAMP 30, LAMP S 15", device("light", "LAMP", control="ROW"),
                    device("switch", "S", control="ROW"), controls=[control("S", "LAMP")], awg=14)  # fmt: skip
    assert flows.current_a == pytest.approx({"LAMP": LIGHT_A, "S": LIGHT_A})
    assert flows.drop["LAMP"] == pytest.approx(0.23025 / 120)
    assert flows.way["LAMP"] == {"LAMP", "S"}


def three_way(**more: Any) -> Flows:
    """Power at the first switch, the light between, the second switch beyond it, a dead end."""
    return flowing("P S1 30, S1 LAMP 20, LAMP S2 15", device("switch", "S1", control="ROW"),
                   device("switch", "S2", control="ROW"), device("light", "LAMP", control="ROW"),
                   controls=[control("S1 S2", "LAMP")], awg=14, **more)  # fmt: skip


def test_a_light_loses_over_its_dead_end_three_way_switch_too() -> None:
    # 30 + 20 + 15 ft: 2 x 0.8333 x 3.07 x 65 / 1000 = 0.33258 V, 0.277 %; without the dead end it would be 0.213
    flows = three_way()
    assert flows.current_a == pytest.approx(dict.fromkeys(("S1", "LAMP", "S2"), LIGHT_A))
    assert flows.drop["LAMP"] == pytest.approx(0.332583 / 120, rel=1e-5)
    assert flows.way["LAMP"] == {"S1", "LAMP", "S2"}
    assert flows.drop["S1"] == pytest.approx(volts((LIGHT_A, 30), awg=14) / 120)


def test_of_two_lights_in_a_box_the_one_that_loses_more_counts() -> None:
    controls = [
        Control(id=name, title="", circuit="C", points=(switch,), lights=(light,))
        for name, switch, light in (("NEAR", "S1", "BOX.1"), ("FAR", "S2", "BOX.2"))
    ]
    lights = [device("light", f"BOX.{n}", box="BOX", control=name) for n, name in ((1, "NEAR"), (2, "FAR"))]
    switches = [device("switch", "S1", control="NEAR"), device("switch", "S2", control="FAR")]
    flows = flowing("P BOX 30, BOX S1 5, BOX S2 40", *lights, *switches, controls=controls, awg=14)
    assert flows.drop["BOX"] == pytest.approx(volts((2 * LIGHT_A, 30), (LIGHT_A, 40), awg=14) / 120)
    assert flows.way["BOX"] == {"BOX", "S2"}


# --- 240 V and multiwire ---------------------------------------------------------------------------------------------


def test_what_is_on_240_v_goes_out_in_one_line_and_back_in_the_other() -> None:
    # 4,000 / 240 = 16.667 A; 2 x 16.667 x 1.21 x 60 / 1000 = 2.42 V of 240: 1.008 %
    heater = device("heater", "H", volts=240, load_va=4000.0, neutral=False)
    flows = flowing("P H 60", heater, awg=10)
    assert flows.current_a == pytest.approx({"H": 16.6667}, rel=1e-5)
    assert flows.drop["H"] == pytest.approx(0.0100833, rel=1e-5)
    assert flows.carrying == {"H": 2}


def test_a_motor_draws_what_the_table_says() -> None:
    # NEC Table 430.248: 5 hp on 230 V 28 A (paigewire.com/resources/430-148), whatever its nameplate
    motor = device("machine", "M", volts=240, horsepower=5.0, load_va=1.0, neutral=False)
    assert flowing("P M 60", motor, awg=10).current_a == {"M": 28}


def multiwire(**more: Any) -> Flows:
    """1.5 A on line 1 in R1, 3 A on line 2 in R2, 4.5 A on line 2 in R3."""
    return flowing("P R1 20, R1 R2 10, R1 R3 10", device("receptacle", "R1"),
                   device("receptacle", "R2", leg=2, load_va=360.0), device("receptacle", "R3", leg=2, load_va=540.0),
                   multiwire=True, **more)  # fmt: skip


def test_of_a_multiwire_circuit_the_fuller_line_counts() -> None:
    flows = multiwire()
    assert flows.current_a == pytest.approx({"R1": 7.5, "R2": 3.0, "R3": 4.5})
    # of 120 V, as if its own neutral brought it back: 2 x 1.93 x (7.5 x 20 + 4.5 x 10) / 1000 = 0.7527 V
    assert flows.drop["R3"] == pytest.approx(0.7527 / 120)


def test_what_is_on_240_v_loads_both_lines_of_a_multiwire_circuit() -> None:
    # 1,800 / 240 = 7.5 A in both lines, 1.5 A more in one; still of 120 V: 2 x 1.93 x 9 x 20 / 1000 = 0.6948 V
    saw = device("machine", "M", volts=240, load_va=1800.0, neutral=False)
    flows = flowing("P R1 20, R1 M 10", device("receptacle", "R1"), saw, multiwire=True)
    assert flows.current_a == pytest.approx({"R1": 9.0, "M": 7.5})
    assert flows.drop["R1"] == pytest.approx(0.6948 / 120)


# --- which conductors count ------------------------------------------------------------------------------------------


def test_line_and_neutral_count_and_grounds_do_not() -> None:
    assert chain().carrying == {"R1": 2, "R2": 2, "R3": 2}


def test_two_travelers_count_as_one_and_the_neutral_of_a_switch_not_at_all() -> None:
    # LAMP: two travelers and the neutral; S2: two travelers, the switched line back, and a neutral that nothing uses
    assert three_way().carrying == {"S1": 2, "LAMP": 2, "S2": 2}


def test_a_neutral_that_carries_what_two_lines_leave_over_does_not_count() -> None:
    # Both lines are loaded in the cable to R1, and one line alone in those to R2 and R3: there its neutral carries all.
    assert multiwire().carrying == {"R1": 2, "R2": 2, "R3": 2}
    first = flowing("P R1 20, R1 R2 10", device("receptacle", "R1", leg=2), device("receptacle", "R2"), multiwire=True)
    assert first.carrying == {"R1": 2, "R2": 2}


def test_spares_count() -> None:
    assert three_way(conductors={"S1": 3}).carrying["S1"] == 3
    assert flowing("P R1 20", device("receptacle", "R1"), conductors={"R1": 4}).carrying == {"R1": 4}

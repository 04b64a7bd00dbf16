"""Boxes that the tool puts together into circuits: what must be together, what apart, and how much goes on one."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barnloom.model.building import Box, Circuit, Vec
from barnloom.model.electrical.loads import sizing_a
from barnloom.model.framing.circuits import planned
from barnloom.model.limits import Limits, load_limits
from barnloom.model.wiring import Control, Device, DeviceKind

LIMITS = Limits(load_limits())
HOME: Vec = (0.0, 0.0, 60.0)
USUAL_VA = {"receptacle": 180.0, "light": 100.0, "alarm": 10.0, "opener": 600.0}


def box(name: str, at: Vec, **more: Any) -> Box:
    said: dict[str, Any] = {"title": "", "kind": "box", "circuits": (), "storey": "SHOP", "size_in": (4.0, 4.0, 2.125)}
    rest: dict[str, Any] = {"host": "SOUTH", "side": "", "u_in": 0.0, "v_in": 0.0, "w_in": 0.0, "rise_in": 8.0}
    return Box(id=name, at=at, cables_max=4, **(said | rest | more))


def device(name: str, kind: str, **more: Any) -> Device:
    said: dict[str, Any] = {"box": name, "circuit": "", "load_va": USUAL_VA.get(kind, 0.0)}
    return Device(id=name, kind=DeviceKind(kind), **(said | more))


def control(name: str, lights: str, points: str) -> Control:
    return Control(id=name, title="", circuit="", lights=tuple(lights.split()), points=tuple(points.split()))


class Shed:
    """Boxes in a row from the panel, one device each, and what came of planning all that have no circuit."""

    def __init__(
        self,
        *devices: Device,
        controls: tuple[Control, ...] = (),
        circuits: tuple[Circuit, ...] = (),
        boxes: tuple[Box, ...] = (),
        limits: Limits = LIMITS,
    ) -> None:
        said = {one.id for one in boxes}
        names = [name for name in dict.fromkeys(one.box for one in devices) if name not in said]
        row = [box(name, (48.0 * n, 0.0, 48.0)) for n, name in enumerate(names, start=1)]
        every = (box("PANEL", HOME, kind="panel"), *row, *boxes)
        free = {one.id for one in every if not one.circuits and one.kind != "panel"}
        self.boxes, self.devices, self.controls, self.circuits = planned(
            every, devices, controls, circuits, limits, panel="PANEL", to_plan=free
        )

    @property
    def on(self) -> dict[str, str]:
        """Box ids of each circuit, as one word list."""
        return {circuit.id: " ".join(circuit.boxes) for circuit in self.circuits}


def outlets(number: int, **more: Any) -> list[Device]:
    return [device(f"R{n:02}", "receptacle", **more) for n in range(1, number + 1)]


# --- apart -----------------------------------------------------------------------------------------------------------


def test_lights_and_outlets_are_apart() -> None:
    shed = Shed(
        device("R1", "receptacle"),
        device("L1", "light"),
        device("S1", "switch"),
        device("R2", "receptacle"),
        controls=(control("ROW", "L1", "S1"),),
    )
    assert shed.on == {"LIGHTS-1": "L1 S1", "OUTLETS-1": "R1 R2"}
    assert shed.controls[0].circuit == "LIGHTS-1"
    assert [one.circuit for one in shed.devices] == ["OUTLETS-1", "LIGHTS-1", "LIGHTS-1", "OUTLETS-1"]
    assert [one.circuits for one in shed.boxes] == [(), ("OUTLETS-1",), ("LIGHTS-1",), ("LIGHTS-1",), ("OUTLETS-1",)]
    assert all(one.planned and one.panel == "PANEL" for one in shed.circuits)
    assert [one.title for one in shed.circuits] == ["lights, SHOP", "outlets, SHOP"]


def test_what_runs_together_is_apart_whichever_of_the_two_says_so() -> None:
    saw, dust = device("SAW", "receptacle", together=("DUST",)), device("DUST", "receptacle")
    for devices in ((saw, dust), (dust, saw)):
        assert Shed(*devices).on == {"OUTLETS-1": "DUST", "OUTLETS-2": "SAW"} or Shed(*devices).on == {
            "OUTLETS-1": "SAW",
            "OUTLETS-2": "DUST",
        }


def test_240_v_is_alone() -> None:
    # little on it, and all the same a two-pole breaker of its own
    shed = Shed(device("R1", "receptacle"), device("WELD", "receptacle", volts=240), device("R2", "receptacle"))
    assert shed.on == {"OUTLETS-1": "R1 R2", "RECEPTACLE-WELD": "WELD"}


@pytest.mark.parametrize(
    ("kind", "load_va", "alone"),
    [
        # 210.23(B)(2) (from memory): fastened in place, with others on the circuit, at most half of 20 A x 120 V
        ("machine", 1200.0, False),
        ("machine", 1212.0, True),
        # a heater counts 125 % (424.4(B), from memory): 8 A are 10
        ("heater", 960.0, False),
        ("heater", 972.0, True),
    ],
)
def test_more_than_half_a_circuit_is_alone(kind: str, load_va: float, alone: bool) -> None:
    shed = Shed(device("R1", "receptacle"), device("M", kind, load_va=load_va), device("R2", "receptacle"))
    assert shed.on == (
        {"OUTLETS-1": "R1 R2", f"{kind.upper()}-M": "M"} if alone else {"OUTLETS-1": "R1 M R2"}  # fmt: skip
    )


def test_machines_up_to_half_a_circuit_together() -> None:
    # 600 + 600 VA are half of 2400; a third does not go on the same circuit.
    three = [device(name, "machine", load_va=600.0) for name in ("M1", "M2", "M3")]
    assert Shed(*three[:2]).on == {"OUTLETS-1": "M1 M2"}
    assert len(Shed(*three).on) == 2


def test_a_motor_counts_by_its_table_and_a_quarter_more() -> None:
    # 1/4 hp at 115 V: 5.8 A (Table 430.248, paigewire.com/resources/430-148), x 1.25 = 7.25 A, under half of 20;
    # 1/2 hp: 9.8 x 1.25 = 12.25 A, over it
    assert Shed(device("R1", "receptacle"), device("FAN", "machine", horsepower=0.25)).on == {"OUTLETS-1": "R1 FAN"}
    assert set(Shed(device("R1", "receptacle"), device("FAN", "machine", horsepower=0.5)).on) == {
        "OUTLETS-1",
        "MACHINE-FAN",
    }


# --- how much --------------------------------------------------------------------------------------------------------


def test_ten_outlets_a_circuit_and_never_more_than_thirteen() -> None:
    assert len(Shed(*outlets(10)).on) == 1
    assert len(Shed(*outlets(11)).on) == 2
    # 180 VA a yoke: 13 on 20 A, 10 continuous (grabsew.blogspot.com/2021/09/14-25-receptacle-outlets-22014i.html)
    many = Limits(load_limits(changes={"load.outlets_each": (99.0, "to see the code's own")}))
    assert len(Shed(*outlets(13), limits=many).on) == 1
    assert len(Shed(*outlets(14), limits=many).on) == 2
    assert len(Shed(*outlets(10, continuous=True), limits=many).on) == 1
    assert len(Shed(*outlets(11, continuous=True), limits=many).on) == 2


def test_every_yoke_in_a_box_counts_and_a_switch_is_none() -> None:
    double = [device(f"{name}.{n}", "receptacle", box=name) for name in ("A", "B", "C", "D", "E") for n in (1, 2)]
    switch = device("E.3", "switch", box="E")
    fed = control("HALF", "E.1", "E.3")
    assert Shed(*double, switch, controls=(fed,)).on == {"OUTLETS-1": "A B C D E"}
    assert len(Shed(*double, switch, device("F", "receptacle"), controls=(fed,)).on) == 2


def test_lights_up_to_80_percent_of_15_a() -> None:
    # 0.8 x 15 A x 120 V = 1440 VA
    assert len(Shed(*(device(f"L{n}", "light", load_va=360.0) for n in range(4))).on) == 1
    assert len(Shed(*(device(f"L{n}", "light", load_va=361.0) for n in range(4))).on) == 2


def test_a_part_that_is_too_large_for_any_circuit_has_one_to_itself() -> None:
    row = [device(f"L{n}", "light", load_va=800.0) for n in range(3)]
    shed = Shed(*row, device("S", "switch"), device("L9", "light"), controls=(control("ROW", "L0 L1 L2", "S"),))
    assert sorted(shed.on.values()) == ["L0 L1 L2 S", "L9"]


# --- together --------------------------------------------------------------------------------------------------------


def test_a_control_stays_whole_even_where_that_takes_another_circuit() -> None:
    lights = [device(f"L{n}", "light", load_va=400.0) for n in range(6)]
    rows = (control("A", "L0 L3 L5", "S1 S2"), control("B", "L1 L2 L4", "S3"))
    shed = Shed(*lights, *(device(f"S{n}", "switch") for n in (1, 2, 3)), controls=rows)
    assert set(shed.on.values()) == {"L0 L3 L5 S1 S2", "L1 L2 L4 S3"}


def test_controls_that_share_a_box_share_a_circuit() -> None:
    gang = (device("G.1", "switch", box="G"), device("G.2", "switch", box="G"))
    shed = Shed(
        device("L1", "light", load_va=900.0),
        device("L2", "light", load_va=900.0),
        *gang,
        controls=(control("A", "L1", "G.1"), control("B", "L2", "G.2")),
    )
    assert shed.on == {"LIGHTS-1": "L1 L2 G"}


def test_alarms_are_on_one_circuit_with_lights() -> None:
    alarms = [device(f"A{n}", "alarm") for n in range(3)]
    spread = [device("L1", "light", load_va=1200.0), alarms[0], device("R1", "receptacle"), alarms[1]]
    shed = Shed(*spread, device("L2", "light", load_va=1200.0), alarms[2])
    circuits = {one.circuit for one in shed.devices if one.kind is DeviceKind.ALARM}
    assert len(circuits) == 1
    assert circuits <= {one.circuit for one in shed.devices if one.kind is DeviceKind.LIGHT}
    assert sorted(one.title for one in shed.circuits) == ["lights and alarms, SHOP", "lights, SHOP", "outlets, SHOP"]
    assert Shed(*alarms).on == {"LIGHTS-1": "A0 A1 A2"}


def test_what_belongs_to_a_circuit_that_is_said_joins_it() -> None:
    said = Circuit(id="SHOP", title="", panel="PANEL", boxes=("L1",), cable="14/2")
    there = box("L1", (10.0, 10.0, 96.0), circuits=("SHOP",))
    shed = Shed(
        device("L1", "light", circuit="SHOP"),
        device("S1", "switch"),
        device("R1", "receptacle"),
        device("R2", "receptacle"),
        controls=(control("ROW", "L1", "S1"),),
        circuits=(said,),
        boxes=(there, box("R2", (99.0, 0.0, 48.0), fed_from="L1")),
    )
    assert shed.on == {"SHOP": "S1 L1 R2", "OUTLETS-1": "R1"}
    assert shed.circuits[0] == replace(said, boxes=("S1", "L1", "R2"))
    assert shed.controls[0].circuit == "SHOP"


def test_a_box_is_with_what_feeds_it_unless_that_is_the_panel() -> None:
    pinned = box("R01", (48.0, 0.0, 48.0), fed_from="L1")
    assert Shed(device("R01", "receptacle"), device("L1", "light"), boxes=(pinned,)).on == {"LIGHTS-1": "L1 R01"}
    free = box("R01", (48.0, 0.0, 48.0), fed_from="PANEL")
    assert set(Shed(device("R01", "receptacle"), device("L1", "light"), boxes=(free,)).on) == {"LIGHTS-1", "OUTLETS-1"}


def test_a_junction_joins_the_nearest() -> None:
    tail = box("J", (100.0, 5.0, 48.0))
    both = Shed(device("R1", "receptacle"), device("L1", "light"), boxes=(tail,))  # R1 at 48, L1 at 96
    assert both.on == {"LIGHTS-1": "L1 J", "OUTLETS-1": "R1"}
    said = Circuit(id="X", title="", panel="PANEL", boxes=("B",))
    assert Shed(boxes=(tail, box("B", (0.0, 9.0, 48.0), circuits=("X",))), circuits=(said,)).on == {"X": "J B"}
    assert Shed(boxes=(tail,)).on == {"OUTLETS-1": "J"}


# --- near, and named -------------------------------------------------------------------------------------------------


def test_outlets_are_cut_where_the_way_between_them_is_longest() -> None:
    # Six on the east wall and six on the west one, the panel in the middle of the south wall.
    east = [box(f"E{n}", (200.0, 40.0 * n, 48.0)) for n in range(6)]
    west = [box(f"W{n}", (-200.0, 40.0 * n, 48.0)) for n in range(6)]
    devices = [device(one.id, "receptacle") for pair in zip(east, west, strict=True) for one in pair]
    shed = Shed(*devices, boxes=(*east, *west))
    assert set(shed.on.values()) == {"E0 E1 E2 E3 E4 E5", "W0 W1 W2 W3 W4 W5"}


def test_storey_by_storey() -> None:
    up = [box(f"U{n}", (40.0 * n, 10.0, 168.0), storey="LOFT") for n in range(6)]
    down = [box(f"D{n}", (40.0 * n, 0.0, 48.0)) for n in range(6)]
    shed = Shed(*(device(one.id, "receptacle") for one in (*up, *down)), boxes=(*up, *down))
    assert {one.title: " ".join(one.boxes) for one in shed.circuits} == {
        "outlets, SHOP": "D0 D1 D2 D3 D4 D5",
        "outlets, LOFT": "U0 U1 U2 U3 U4 U5",
    }


def test_ids_that_are_taken_are_passed_over_and_none_is_longer_than_40() -> None:
    said = tuple(Circuit(id=name, title="", panel="PANEL", boxes=()) for name in ("OUTLETS-1", "MACHINE-SAW"))
    shed = Shed(device("R1", "receptacle"), device("SAW", "machine", load_va=1800.0), circuits=said)
    assert set(shed.on) - {one.id for one in said} == {"OUTLETS-2", "MACHINE-SAW-2"}
    long = "THE-" + "VERY-" * 7 + "S"
    assert max(map(len, Shed(device(long, "machine", load_va=1800.0)).on)) == 40


def test_title_and_phase() -> None:
    saw = box("SAW", (48.0, 0.0, 48.0), title="table saw", phase=3)
    second = box("R2", (96.0, 0.0, 48.0), phase=2)
    shed = Shed(
        device("SAW", "machine", load_va=1800.0),
        device("R2", "receptacle"),
        device("R1", "receptacle"),
        boxes=(saw, second),
    )
    assert {one.id: (one.title, one.phase) for one in shed.circuits} == {
        "MACHINE-SAW": ("table saw", 3),
        "OUTLETS-1": ("outlets, SHOP", 1),
    }


# --- whatever there is -----------------------------------------------------------------------------------------------

KINDS = ("receptacle", "light", "machine", "heater", "opener", "alarm", "switch")
places = st.tuples(
    st.integers(-300, 300).map(float), st.integers(-200, 200).map(float), st.sampled_from([48.0, 96.0, 170.0])
)


@st.composite
def sheds(draw: st.DrawFn) -> tuple[list[Box], list[Device], list[Control]]:
    boxes, devices = [], []
    for n in range(draw(st.integers(1, 18))):
        at = draw(places)
        boxes.append(box(f"B{n}", at, storey="LOFT" if at[2] > 100 else "SHOP"))
        kind = draw(st.sampled_from(KINDS))
        load = draw(st.integers(50, 1500)) if kind in ("machine", "heater", "light") else USUAL_VA.get(kind, 0.0)
        volts = draw(st.sampled_from([120, 120, 240])) if kind in ("machine", "heater") else 120
        mates = tuple(f"B{m}" for m in draw(st.lists(st.integers(0, n), max_size=1)) if m != n)
        devices.append(
            device(f"B{n}", kind, load_va=float(load), volts=volts, together=mates if kind != "alarm" else ())
        )
    lights = [one.id for one in devices if one.kind is DeviceKind.LIGHT]
    switches = [one.id for one in devices if one.kind is DeviceKind.SWITCH]
    controls = [control(f"C{n}", a, b) for n, (a, b) in enumerate(zip(lights, switches, strict=False))]
    return boxes, devices, controls


@settings(max_examples=80, deadline=None)
@given(sheds(), st.randoms(use_true_random=False))
def test_rules_hold_whatever_there_is(shed: tuple[list[Box], list[Device], list[Control]], random: Any) -> None:
    boxes, devices, controls = shed
    made = Shed(*devices, controls=tuple(controls), boxes=tuple(boxes))
    told = {one.id: one for one in made.devices}
    # every box on exactly one circuit, its device too
    assert sorted(name for one in made.circuits for name in one.boxes) == sorted(one.id for one in boxes)
    for circuit in made.circuits:
        its = [told[name] for name in circuit.boxes]
        assert all(one.circuit == circuit.id for one in its)
        parts = len(its) > 1 and not any(
            {*c.lights, *c.points} >= {one.id for one in its} for c in controls
        )  # more than one thing that must be together
        kinds = {one.kind for one in its}
        alone = circuit.id.startswith(("MACHINE", "HEATER"))
        assert alone == (
            len(its) == 1 and (its[0].volts == 240 or (sizing_a(its, LIMITS) > 10 and not kinds & {"light"}))
        )
        if parts and kinds != {"alarm"}:
            lights = circuit.id.startswith("LIGHTS")
            amps = math.fsum(one.load_va / 120 for one in its) if lights else sizing_a(its, LIMITS)
            assert amps <= (12 if lights else 20) + 1e-6
            assert lights or sizing_a([one for one in its if one.kind in ("machine", "heater")], LIMITS) <= 10 + 1e-6
            assert lights == bool(kinds <= {"light", "switch", "alarm"})
    for one in devices:
        # only what a control holds together may share a circuit with its mate
        for mate in one.together:
            held = any({one.id, mate} <= {*c.lights, *c.points} for c in controls)
            assert held or told[one.id].circuit != told[mate].circuit
    for one in made.controls:
        assert {told[name].circuit for name in (*one.lights, *one.points)} == {one.circuit}
    # the order in which it is written changes nothing
    for things in (boxes, devices, controls):
        random.shuffle(things)
    again = Shed(*devices, controls=tuple(controls), boxes=tuple(boxes))
    assert {one.id: frozenset(one.boxes) for one in again.circuits} == {
        one.id: frozenset(one.boxes) for one in made.circuits
    }


@settings(max_examples=40, deadline=None)
@given(sheds())
def test_mirroring_the_building_changes_no_circuit(shed: tuple[list[Box], list[Device], list[Control]]) -> None:
    boxes, devices, _ = shed
    boxes = [one for one in boxes if one.at[:2] != HOME[:2]]  # right over the panel is no direction from it
    its = [device for device in devices if any(one.id == device.box for one in boxes)]
    plain = Shed(*its, boxes=tuple(boxes))
    other = Shed(*its, boxes=tuple(replace(one, at=(-one.at[0], one.at[1], one.at[2])) for one in boxes))
    assert {one.id: one.boxes for one in other.circuits} == {one.id: one.boxes for one in plain.circuits}

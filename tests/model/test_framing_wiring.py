"""What a scene says about devices, controls, circuits, panel and supply, resolved: with a pencil, from the scene."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from scene_sample import WIRED, edited, faults_of

from barnloom.model import build
from barnloom.model.building import Box, Building
from barnloom.model.electrical.boxes import default_box_types
from barnloom.model.errors import SceneError
from barnloom.model.scene.read import read_text
from barnloom.model.wiring import Breakers, Device, Supply
from tests.routing.wired_scenes import building_of, wall_scene

HUT = """\
barnloom: 1
title: Garden hut
storeys: {G: {floor: 0}}
answers: {}
walls:
  NORTH: {start: [12', 10'], heading: west, length: 12', height: 8', section: 2x4, studs: {every: 16"}}
  WEST: {start: [0, 10'], heading: south, length: 10', height: 8', section: 2x4, studs: {every: 16"}}
boxes:
  PANEL: {kind: panel, wall: WEST, along: 7' 4", height: 54"}
  R1: {circuit: A, wall: NORTH, along: 7' 4", height: 52"}
  R2: {circuit: B, wall: NORTH, along: 3' 4", height: 52"}
circuits:
  A: {cable: 12/2}
  B: {}
"""
"""Boxes and circuits alone, as scenes were before they said what boxes do."""


def built(text: str) -> Building:
    return build(read_text(text, Path("wired.yaml")).scene)


BUILDING = built(WIRED)
BOXES = {box.id: box for box in BUILDING.boxes}
DEVICES = {device.id: device for device in BUILDING.devices}
CIRCUITS = {circuit.id: circuit for circuit in BUILDING.circuits}


def device(said: str) -> Device:
    """The device S1 of the sample, as another one that no control names."""
    text = edited("device: switch, wall", f"device: {said}, wall", edited("points: [S1]}", "points: [S9]}", WIRED))
    text = edited(
        "  S1: {circuit",
        '  S9: {circuit: LIGHTS, device: switch, wall: SOUTH, along: 24\' 8", height: 48"}\n  S1: {circuit',
        text,
    )
    return next(one for one in built(text).devices if one.id == "S1")


# --- devices ---------------------------------------------------------------------------------------------------------


def test_a_device_alone_has_its_boxs_id_and_several_are_numbered_as_written() -> None:
    assert {"S1", "S2.1", "S2.2", "R2.1", "R2.2"} <= set(DEVICES)
    assert not {"S2", "R2", "S1.1", "PANEL", "END"} & set(DEVICES)
    assert (DEVICES["R2.1"].kind, DEVICES["R2.2"].kind) == ("receptacle", "switch")
    assert {DEVICES[name].box for name in ("S2.1", "S2.2")} == {"S2"}


@pytest.mark.parametrize(
    ("name", "load", "assumed"),
    [
        # 180 VA a yoke: NEC 220.14(I), forums.mikeholt.com/threads/number-of-duplex-recepticals.36947
        ("R1", 180, True),
        ("L1", 100, True),  # own caution
        ("A1", 10, True),  # own caution
        ("S1", 0, False),
        ("L2", 60, False),
        ("R3", 4 * 40, False),
        ("DUST", 12 * 120, False),
        ("HEAT", 4000, False),
        ("SAW", 17 * 240, False),  # 3 hp at 230 V: 17 A, NEC Table 430.248, paigewire.com/resources/430-148
    ],
)
def test_a_load_is_as_said_else_the_usual_one_of_its_kind(name: str, load: float, assumed: bool) -> None:
    assert (DEVICES[name].load_va, DEVICES[name].load_assumed) == (pytest.approx(load), assumed)


def test_an_opener_draws_what_is_usual_of_openers_and_hangs_on_a_receptacle() -> None:
    opener = device("opener")
    assert (opener.load_va, opener.load_assumed, opener.yokes) == (600, True, 1)  # own caution


def test_a_scene_can_change_what_is_usual() -> None:
    changed = edited(
        "answers: {lining: none}\n",
        "answers: {lining: none}\nlimits: {load.light: {value: 15, because: LED strips}}\n",
        WIRED,
    )
    assert next(one for one in built(changed).devices if one.id == "L1").load_va == 15


@pytest.mark.parametrize(
    ("said", "rating"),
    [
        ("receptacle", 15),
        ("{kind: receptacle, volts: 240}", 20),
        ("{kind: receptacle, rating: 20}", 20),
        ("{kind: receptacle, volts: 240, rating: 50}", 50),
    ],
)
def test_a_rating_not_said_is_the_usual_one(said: str, rating: float) -> None:
    assert device(said).rating_a == rating


@pytest.mark.parametrize(
    ("said", "neutral"),
    [
        ("{kind: machine, amps: 5}", True),
        ("{kind: machine, amps: 5, volts: 240}", False),
        ("{kind: machine, amps: 5, volts: 240, neutral: yes}", True),
    ],
)
def test_240_volts_need_no_neutral_unless_it_is_said(said: str, neutral: bool) -> None:
    assert device(said).neutral is neutral


def test_a_machine_keeps_all_that_it_says() -> None:
    saw = DEVICES["SAW"]
    assert (saw.volts, saw.horsepower, saw.overload_protected, saw.together) == (240, 3, True, ("DUST",))
    place = "{at: [4', 3'], size: [30\", 2'], height: 36\"}"
    lathe = device(f"{{kind: machine, amps: 9 A, starting: 40, continuous: yes, footprint: {place}}}")
    assert (lathe.load_va, lathe.starting_a, lathe.continuous, lathe.horsepower) == (9 * 120, 40, True, 0)
    assert lathe.footprint == ((48, 78), (36, 60), 36)
    assert saw.footprint is None


@pytest.mark.parametrize(("said", "hp"), [("1-1/2", 1.5), ("1 1/2 hp", 1.5), ("3/4", 0.75), ("0.5", 0.5), ("2", 2)])
def test_horsepower_reads_as_on_a_nameplate(said: str, hp: float) -> None:
    assert device(f"{{kind: machine, hp: {said}}}").horsepower == hp


def test_halves_singles_legs_alarms_and_protection_are_kept() -> None:
    assert (DEVICES["R1"].ground_fault, DEVICES["R3"].ground_fault) == (True, False)
    assert (DEVICES["R2.1"].half_switched, DEVICES["R1"].half_switched) == (True, False)
    assert (DEVICES["ONE"].single, DEVICES["ONE"].rating_a, DEVICES["R1"].single) == (True, 20, False)
    assert (DEVICES["M1"].leg, DEVICES["M2"].leg) == (1, 2)
    assert DEVICES["A1"].detects == "smoke"


def test_in_a_box_of_two_circuits_a_device_is_on_the_first_or_on_the_one_it_says() -> None:
    assert DEVICES["J1"].circuit == "OUTLETS"
    other = edited("shared: yes, device: receptacle", "shared: yes, device: {kind: receptacle, circuit: LIGHTS}", WIRED)
    assert next(one for one in built(other).devices if one.id == "J1").circuit == "LIGHTS"


# --- controls --------------------------------------------------------------------------------------------------------


def test_controls_take_the_switches_of_a_box_in_their_own_order() -> None:
    controls = {control.id: (control.lights, control.points, control.circuit) for control in BUILDING.controls}
    assert controls == {
        "DOOR": (("L1",), ("S1",), "LIGHTS"),
        "ROW": (("L2",), ("S2.1",), "LIGHTS"),
        "YARD": (("L4",), ("S2.2",), "LIGHTS"),
        "LAMP": (("R2.1",), ("R2.2",), "OUTLETS"),
    }
    named = {device.id: device.control for device in BUILDING.devices if device.control}
    assert named == {
        **{"L1": "DOOR", "S1": "DOOR", "L2": "ROW", "S2.1": "ROW", "L4": "YARD", "S2.2": "YARD"},
        **{"R2.1": "LAMP", "R2.2": "LAMP"},
    }


def test_a_switch_that_is_named_itself_is_not_handed_out_again() -> None:
    swapped = edited("ROW: {lights: [L2], points: [S2]}", "ROW: {lights: [L2], points: [S2.2]}", WIRED)
    points = {control.id: control.points for control in built(swapped).controls}
    assert (points["ROW"], points["YARD"]) == (("S2.2",), ("S2.1",))


def test_a_light_can_be_worked_from_any_number_of_points() -> None:
    three = edited(
        "DOOR: {lights: [L1], points: [S1]}", "DOOR: {in_order: yes, lights: [L1], points: [S1, S8, S9]}", WIRED
    )
    for name, along in (("S8", "24' 8\""), ("S9", "27' 4\"")):
        box = f'  {name}: {{circuit: LIGHTS, device: switch, wall: SOUTH, along: {along}, height: 48"}}\n'
        three = edited("  S1: {circuit", f"{box}  S1: {{circuit", three)
    door = next(control for control in built(three).controls if control.id == "DOOR")
    assert (door.points, door.in_order) == (("S1", "S8", "S9"), True)


def test_a_box_of_receptacles_follows_wholly() -> None:
    text = edited("[{kind: receptacle, half: yes}, switch]", "[receptacle, receptacle, switch]", WIRED)
    lamp = next(control for control in built(text).controls if control.id == "LAMP")
    assert (lamp.lights, lamp.points) == (("R2.1", "R2.2"), ("R2.3",))


# --- boxes as bought -------------------------------------------------------------------------------------------------


def box(said: str) -> Box:
    """The box L3 of the sample with something else in it."""
    text = edited("device: {kind: light, switched: no}, ceiling: CEILING, at: [7' 4\", 5']", said, WIRED)
    return next(one for one in built(text).boxes if one.id == "L3")


IN_WALL, OVERHEAD = 'wall: SOUTH, along: 27\' 4", height: 48"', "ceiling: CEILING, at: [7' 4\", 5']"


@pytest.mark.parametrize(
    ("said", "series", "size"),
    [
        (f"{OVERHEAD}", "square-4", (4, 4, 2.125)),
        (f"{IN_WALL}", "square-4", (4, 4, 2.125)),
        (f"device: {{kind: light, switched: no}}, {OVERHEAD}", "octagon-4", (4, 4, 2.125)),
        (f"device: {{kind: light, switched: no}}, {IN_WALL}", "octagon-4", (4, 4, 2.125)),
        (f"device: {{kind: alarm, detects: heat}}, {OVERHEAD}", "octagon-4", (4, 4, 2.125)),
        (f"device: {{kind: alarm, detects: heat}}, {IN_WALL}", "square-4", (4, 4, 2.125)),
        (f"device: opener, {OVERHEAD}", "square-4", (4, 4, 2.125)),
        (f"device: [receptacle, {{kind: light, switched: no}}], {OVERHEAD}", "square-4", (4, 4, 2.125)),
        (f"device: [receptacle, receptacle], {IN_WALL}", "square-4", (4, 4, 2.125)),
        (f"device: [receptacle, receptacle, receptacle], {IN_WALL}", "plastic-3", (5.75, 3.75, 3.25)),
        (f"device: [receptacle, receptacle, receptacle, receptacle], {IN_WALL}", "plastic-4", (7.5, 3.75, 3.25)),
        (f"box: plastic-1, device: receptacle, {IN_WALL}", "plastic-1", (2.25, 3.75, 3.5)),
    ],
)
def test_a_box_that_says_no_size_is_the_deepest_of_its_series(
    said: str, series: str, size: tuple[float, float, float]
) -> None:
    one = box(said)
    assert (one.series, one.box_type, one.size_in, one.size_known) == (series, "", size, False)


@pytest.mark.parametrize(
    ("said", "pinned", "size"),
    [
        ("box: square-4x1-1-2", ("square-4", "square-4x1-1-2"), (4, 4, 1.5)),
        ('size: [2", 3", 2-1/2"]', ("device-3x2", "device-3x2x2-1-2"), (2, 3, 2.5)),
        # square and octagonal boxes are 4 x 4: the one of the usual series is meant
        ('size: [4", 4", 1-1/2"]', ("square-4", "square-4x1-1-2"), (4, 4, 1.5)),
        ('size: [5", 5", 2"]', ("", ""), (5, 5, 2)),
        ('box: plastic-1, size: [2", 3-1/2", 3"]', ("plastic-1", ""), (2, 3.5, 3)),
    ],
)
def test_a_box_is_pinned_by_its_id_or_by_a_size_that_one_box_has(
    said: str, pinned: tuple[str, str], size: tuple[float, float, float]
) -> None:
    one = box(f"device: receptacle, {said}, {IN_WALL}")
    assert ((one.series, one.box_type), one.size_in) == (pinned, size)


def test_ring_volume_and_sharing_are_kept() -> None:
    one = box(f"device: receptacle, ring: square-4-extension, volume: 344 cm3, {IN_WALL}")
    assert (one.ring, one.volume_in3) == ("square-4-extension", pytest.approx(20.99, abs=0.01))  # 344 / 16.387
    assert box(f"volume: 21 in3, {IN_WALL}").volume_in3 == box(f"volume: 21, {IN_WALL}").volume_in3 == 21
    assert (BOXES["J1"].shared, BOXES["R1"].shared) == (True, False)


def test_panels_and_stubs_are_no_boxes_as_bought_and_the_catalogue_is_there() -> None:
    assert {(BOXES[name].series, BOXES[name].box_type) for name in ("PANEL", "END")} == {("", "")}
    assert BUILDING.box_types == default_box_types()


# --- circuits, cables, panel, supply ---------------------------------------------------------------------------------


def test_what_is_pinned_of_a_circuit_is_kept_and_the_rest_is_left_to_the_plan() -> None:
    saw, pair = CIRCUITS["SAW"], CIRCUITS["PAIR"]
    assert (saw.breaker_a, saw.awg, saw.motor_breaker, saw.cable) == (50, 12, True, "")
    assert (pair.multiwire, pair.cable, pair.breaker_a, pair.awg) == (True, "12/3", 0, 0)
    assert (CIRCUITS["ONE"].ground_fault, CIRCUITS["LIGHTS"].ground_fault) == ("breaker", "")


def test_a_box_to_plan_comes_on_a_circuit_that_the_thing_beside_it_is_not_on() -> None:
    dust = DEVICES["DUST"]
    assert dust.circuit == BOXES["DUST"].circuits[0] not in ("", "SAW")
    assert CIRCUITS[dust.circuit].planned
    assert CIRCUITS[dust.circuit].boxes == ("DUST",)
    assert not CIRCUITS["SAW"].planned


def test_a_scene_whose_boxes_are_all_to_plan_needs_no_circuits() -> None:
    text = (
        HUT.partition("circuits:")[0]
        .replace("circuit: A", "circuit: plan it")
        .replace("circuit: B", "circuit: plan it")
    )
    building = built(text)
    assert all(box.circuits for box in building.boxes if box.kind == "box")
    assert all(circuit.planned and circuit.panel == "PANEL" for circuit in building.circuits)


def test_a_cable_of_a_planned_circuit_can_be_named_and_a_wrong_one_is_told() -> None:
    circuit = DEVICES["DUST"].circuit
    text = edited("supply: {from", f"cables: {{{circuit}.DUST: {{type: 12/2}}}}\nsupply: {{from", WIRED)
    assert built(text).cable_rules[0].type == "12/2"
    with pytest.raises(SceneError, match=f"did you mean {circuit}.DUST"):
        built(edited("supply: {from", f"cables: {{{circuit}X.DUST: {{done: no}}}}\nsupply: {{from", WIRED))


def test_phases_come_from_the_circuit_unless_the_box_says_its_own() -> None:
    assert not BUILDING.wiring.phases
    text = edited("OUTLETS: {breaker: 20", "OUTLETS: {phase: 2, breaker: 20", WIRED)
    text = edited("R1: {circuit", "R1: {phase: 3, circuit", text)
    boxes = {one.id: one.phase for one in built(text).boxes}
    assert (boxes["R1"], boxes["R3"], boxes["L1"], boxes["PANEL"]) == (3, 2, 1, 1)
    # two circuits meet in it: it is there with the first
    assert boxes["J1"] == 1
    assert built(text).wiring.phases


def test_a_panel_is_as_its_label_says_else_the_usual_one() -> None:
    assert BUILDING.breakers == (
        Breakers(panel="PANEL", spaces=8, used=(1,), tandem=(7,), sizes_a=(15, 20, 30, 50), said=True),
    )
    assert built(HUT).breakers == (Breakers(panel="PANEL"),)


def test_the_supply_is_as_said() -> None:
    assert BUILDING.supply == Supply(
        from_where="the house", breaker_a=60, awg="6", length_in=1020, method="buried", family="UF-B", said=True
    )
    assert built(HUT).supply == Supply()
    branch = edited("supply: {from: the house, breaker: 60, awg: 6, wires: 4,", "supply: {kind: branch circuit,", WIRED)
    assert (built(branch).supply.wires, built(branch).supply.kind) == (3, "branch circuit")


def test_a_cable_of_the_scenes_own_is_known_by_what_it_says_or_by_its_name() -> None:
    said = """\
cable_types:
  14/2: {coils: {250': 150, 50': 40}, by_foot: no}
  12/3 armoured: {width: 0.6", thickness: 0.6", price: 2, family: AC, by_foot: 2.50}
  flat one: {width: 0.5", thickness: 0.2", price: 1, conductors: 2, awg: 10}
  plain one: {width: 0.5", thickness: 0.2", price: 1}
supply: {from"""
    types = {kind.id: kind for kind in built(edited("supply: {from", said, WIRED)).cable_types}
    usual = types["14/2"]
    assert (usual.coils, usual.by_foot) == (((50, 40), (250, 150)), 0)
    assert (usual.conductors, usual.awg, usual.family) == (2, 14, "NM-B")
    armoured = types["12/3 armoured"]
    assert (armoured.conductors, armoured.awg, armoured.family, armoured.by_foot) == (3, 12, "AC", 2.5)
    assert (types["flat one"].conductors, types["flat one"].awg, types["flat one"].family) == (2, 10, "")
    assert (types["plain one"].conductors, types["plain one"].awg) == (0, 0)


# --- answers ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("answers", "family", "surroundings"),
    [
        ("{}", "UF-B", "damp"),
        ("{plain_cable: yes}", "NM-B", "dry"),
        ("{plain_cable: concealed}", "NM-B", "dry"),
        ("{plain_cable: no}", "UF-B", "damp"),
        ("{plain_cable: yes, surroundings: damp}", "UF-B", "damp"),
        ("{surroundings: dry}", "UF-B", "dry"),
        ("{plain_cable: {answer: yes, who: county}, surroundings: {answer: dry}}", "NM-B", "dry"),
        ("{plain_cable: no, surroundings: livestock}", "UF-B", "livestock"),
    ],
)
def test_plain_cable_is_planned_only_where_it_is_allowed_and_dry(answers: str, family: str, surroundings: str) -> None:
    text = edited("A: {cable: 12/2}", "A: {}", edited("answers: {}", f"answers: {answers}", HUT))
    rules = built(text).wiring
    assert (rules.family, rules.surroundings) == (family, surroundings)


def test_answers_and_wishes_come_to_rules() -> None:
    strict = built(HUT).wiring
    assert (strict.dwelling, strict.bundled, strict.switch_neutral, strict.hardwired_ground_fault) == (True,) * 4
    assert (strict.two_cables, strict.drop_share, strict.plain_cable) == (False, 0, "no")
    said = (
        "answers: {dwelling: no, bundled: no, switch_neutral: {answer: no, when: May}, hardwired_ground_fault: no}\n"
        "wiring: {two_cables: yes, drop: 3 %}\n"
    )
    rules = built(edited("answers: {}\n", said, HUT)).wiring
    assert (rules.dwelling, rules.bundled, rules.switch_neutral, rules.hardwired_ground_fault) == (False,) * 4
    assert (rules.two_cables, rules.drop_share) == (True, pytest.approx(0.03))


def test_lining_and_insulation_can_be_kept_with_who_said_so() -> None:
    said = "answers: {lining: {answer: later, who: owner}, insulated: {answer: no, when: May}}\n"
    building = built(edited("answers: {}\n", said, HUT))
    kept: dict[str, Any] = {answer.question.split(":")[0]: answer for answer in building.answers}
    assert (kept["lining"].answer, kept["lining"].who, kept["lining"].assumed) == ("later", "owner", False)
    assert (kept["insulated"].when, building.insulated) == ("May", "no")
    assert {wall.lining for wall in building.assemblies if wall.kind == "wall"} == {"later"}


# --- a scene of routes alone -----------------------------------------------------------------------------------------


def test_a_scene_without_devices_is_as_it_was() -> None:
    building = built(HUT)
    assert (building.devices, building.controls) == ((), ())
    boxes = [one for one in building.boxes if one.kind == "box"]
    assert {(one.size_in, one.series, one.box_type) for one in boxes} == {((4.0, 4.0, 2.125), "square-4", "")}
    assert [circuit.cable for circuit in building.circuits] == ["12/2", ""]
    # two circuits in a box of junctions need no word, and an open question is no fault of a cable that is pinned
    assert faults_of(edited("circuit: A", "circuit: [A, B]", HUT)) == ()


def test_a_fault_in_one_box_does_not_make_faults_of_what_names_it() -> None:
    faults = faults_of(edited("device: switch, wall", "device: swich, wall", WIRED))
    assert [fault.where for fault in faults] == [("boxes", "S1", "device")]
    faults = faults_of(edited("device: [switch, switch], box", "device: [switch, switch], bx", WIRED))
    assert [fault.where for fault in faults] == [("boxes", "S2", "bx")]


def test_on_a_multiwire_circuit_both_lines_carry_alike_unless_said() -> None:
    """Opposite legs that carry alike leave the shared neutral least (common practice, no source)."""
    boxes = {
        "A1": 'circuit: M, device: {kind: receptacle, amps: 8}, along: 40", height: 48"',
        "A2": 'circuit: M, device: {kind: receptacle, amps: 5}, along: 72", height: 48"',
        "A3": 'circuit: M, device: {kind: receptacle, amps: 2}, along: 104", height: 48"',
        "A4": 'circuit: M, device: {kind: receptacle, leg: 2}, along: 136", height: 48"',
    }
    building = building_of(wall_scene(boxes, more="circuits: {M: {multiwire: yes}}"))
    assert {device.id: device.leg for device in building.devices} == {"A1": 1, "A2": 2, "A3": 2, "A4": 2}


def test_lights_that_hang_one_on_the_next_are_counted() -> None:
    devices = {device.id: device for device in built(WIRED).devices}
    assert (devices["R3"].linked, devices["R3"].load_va) == (4, 160.0)
    assert {device.linked for name, device in devices.items() if name != "R3"} == {0}

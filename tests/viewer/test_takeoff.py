"""What to buy, counted by hand on small plans: coils, boxes, devices, joints, breakers, phases, prices."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from sample_plan import box, sample_building, sample_plan
from wired_sample import wired_plan

import barnloom.model.electrical.parts
from barnloom.model.building import CableType
from barnloom.model.electrical.boxes import default_box_types
from barnloom.model.electrical.parts import (
    breaker_price,
    cable_connector,
    pigtail_in,
    pigtail_wire,
    sealant,
    wire_connectors,
)
from barnloom.model.wiring import Control, Device, DeviceKind
from barnloom.routing.plan import CircuitSheet, Joint, Makeup, Plan
from barnloom.viewer.pulling import only_phase
from barnloom.viewer.rows import Row
from barnloom.viewer.tables import csv_text
from barnloom.viewer.takeoff import COILS_COLUMNS, TAKEOFF_COLUMNS, coil_rows, takeoff_rows

PARTS = Path(barnloom.model.electrical.parts.__file__).with_name("parts.toml")
SOLD = (
    CableType(
        id="12/2", width_in=0.422, thickness_in=0.19, price_ft=1.0, source="", conductors=2, awg=12,
        coils=((25.0, 30.0), (50.0, 50.0)), by_foot=2.0,
    ),
    CableType(
        id="14/2", width_in=0.372, thickness_in=0.176, price_ft=0.7, source="", conductors=2, awg=14,
        coils=((50.0, 40.0),),
    ),
)  # fmt: skip


def device(name: str, kind: DeviceKind, **more: Any) -> Device:
    """One device in the box that its name begins with."""
    return Device(id=name, box=name.split(".")[0], kind=kind, circuit="P1", **more)


def joint(net: str, ends: list[str], terminals: list[tuple[str, str]], colour: str = "black") -> Joint:
    """One joint of cables by id and terminals."""
    circuit = "" if net == "ground" else "P1"
    return Joint(net=net, circuit=circuit, ends=tuple((end, colour) for end in ends), terminals=tuple(terminals))


def makeup(name: str, box_type: str, joints: list[Joint], ring: str = "") -> Makeup:
    """One box made up."""
    return Makeup(box=name, box_type=box_type, ring=ring, volume_in3=21.0, fill=(), joints=tuple(joints))


def plan_of(makeups: tuple[Makeup, ...] = (), circuits: tuple[CircuitSheet, ...] = (), **building: Any) -> Plan:
    """The sample plan with cables as sold, the usual boxes, and what a test adds."""
    said = {"cable_types": SOLD, "box_types": default_box_types()} | building
    return sample_plan(building=sample_building(**said), makeups=makeups, circuits=circuits, unreached=())


def sheet(name: str, **more: Any) -> CircuitSheet:
    """A line of the panel schedule, 20 A on one pole where nothing else is said."""
    said: dict[str, Any] = {"volts": 120, "poles": 1, "breaker_a": 20.0, "breaker": "plain", "awg": 12}
    rest: dict[str, Any] = {"load_va": 0, "load_a": 0, "longest_ft": 0, "drop_percent": 0, "spaces": (1,), "legs": "A"}
    return CircuitSheet(circuit=name, **({"panel": "PANEL"} | said | rest | more))


def found(plan: Plan, item: str) -> dict[str, int | Decimal]:
    """Quantities of one item by size, phases together."""
    counts: dict[str, Any] = {}
    for row in takeoff_rows(plan):
        if row["item"] == item:
            counts[str(row["size"])] = counts.get(str(row["size"]), 0) + row["quantity"]
    return counts


def one(plan: Plan, item: str, size: str = "") -> Row:
    """The single row of an item and size."""
    (row,) = [row for row in takeoff_rows(plan) if (row["item"], row["size"]) == (item, size)]
    return row


OUTLET = [("TOOL", "hot")]
TOOL_ENDS = ["P1.TOOL", "P1.DESK"]
TOOL_JOINTS = [
    joint("line", TOOL_ENDS, OUTLET),
    joint("neutral", TOOL_ENDS, [("TOOL", "neutral")], "white"),
    joint("ground", TOOL_ENDS, [("TOOL", "ground"), ("TOOL", "box")], "bare"),
]
RECEPTACLE = device("TOOL", DeviceKind.RECEPTACLE, rating_a=20.0)


def test_rows_have_the_columns_and_stand_by_aisle() -> None:
    rows = takeoff_rows(plan_of())
    assert all(tuple(row) == TAKEOFF_COLUMNS for row in rows)
    aisles = list(dict.fromkeys(row["where"] for row in rows))
    assert aisles == [
        aisle for aisle in ("cable", "boxes", "devices", "fastening", "panel", "tools") if aisle in aisles
    ]
    assert all(tuple(row) == COILS_COLUMNS for row in coil_rows(plan_of()))
    assert csv_text(COILS_COLUMNS, coil_rows(plan_of())).startswith("type,coil,coil_ft,price,cable,cut_ft,left_ft\n")


def test_coils_cost_what_is_paid_and_cuts_cost_nothing() -> None:
    plan = plan_of()
    rows = takeoff_rows(plan)
    assert one(plan, "cable", "14/2")["price"] is None
    paid = sum(float(row["price"] or 0) for row in rows if row["where"] == "cable")  # type: ignore[arg-type]
    by_coil = sum(float(row["price"] or 0) for row in coil_rows(plan))  # type: ignore[arg-type]
    # 14/2: 12.6, 9.5 and 6.2 ft come off one coil of 50 ft at 40. 12/2: 8.0 and 4.8 ft are sold as 8 and 5 ft at 2,
    # cheaper than the 30 of a coil.
    assert found(plan, "coil") == {"14/2, 50 ft": 1}
    assert found(plan, "cable by the foot") == {"12/2": 13}
    assert paid == by_coil == pytest.approx(40 + 13 * 2)


def total_14(plan: Plan) -> float:
    """Feet of 14/2 still to be bought."""
    return sum(cable.cut_in for cable in plan.cables if cable.type == "14/2" and not cable.done) / 12


def test_what_is_left_on_a_coil_goes_down_cut_by_cut() -> None:
    rows = [row for row in coil_rows(plan_of()) if row["type"] == "14/2"]
    left = [row["left_ft"] for row in rows]
    assert left == sorted(left, reverse=True)  # type: ignore[type-var]
    assert left[-1] == pytest.approx(50 * len({row["coil"] for row in rows}) - total_14(plan_of()), abs=1e-3)
    assert [row["price"] is None for row in rows] == [False] + [True] * (len(rows) - 1)


def test_a_cut_that_nothing_on_offer_makes_stands_in_both_lists() -> None:
    short = (SOLD[0], replace(SOLD[1], coils=((10.0, 9.0),)))
    plan = plan_of(cable_types=short)
    assert "14/2" in found(plan, "cable not on offer so long")
    assert {row["coil"] for row in coil_rows(plan) if row["type"] == "14/2"} >= {"not on offer so long"}


def test_a_metric_scene_reads_cable_in_metres_and_pays_the_same() -> None:
    feet, metres = plan_of(), plan_of(metric=True)
    assert "14/2, 15.2 m" in found(metres, "coil")
    assert {row["unit"] for row in takeoff_rows(metres)}.isdisjoint({"ft"})
    assert float(found(metres, "cable")["14/2"]) == pytest.approx(
        float(found(feet, "cable")["14/2"]) * 0.3048, abs=1e-4
    )
    by_metre, by_foot = one(metres, "cable by the metre", "12/2"), one(feet, "cable by the foot", "12/2")
    assert by_metre["price"] == by_foot["price"]
    paid = round(float(by_metre["quantity"]) * float(by_metre["unit_price"]), 2)  # type: ignore[arg-type]
    assert paid == by_metre["price"]
    # A foot is 0.3048 m (exact by definition); lists for programs say their unit in the column's name.
    assert [row["cut_ft"] for row in coil_rows(metres)] == [row["cut_ft"] for row in coil_rows(feet)]


def test_boxes_and_rings_come_from_the_catalogue_the_others_by_their_body() -> None:
    made = (makeup("TOOL", "square-4x1-1-2", TOOL_JOINTS, ring="square-4-mud-1x1-2"),)
    plan = plan_of(made, devices=(RECEPTACLE,))
    assert one(plan, "box", "square-4x1-1-2: square box, 4 x 4 in")["unit_price"] == 2.5
    assert one(plan, "box", '4" x 4" x 2-1/8"')["quantity"] == 6
    assert found(plan, "ring") == {"square-4-mud-1x1-2: mud ring, one gang, for a square box 4 x 4 in": 1}
    assert found(plan, "plate") == {"1 gang: duplex receptacle": 1}


def test_a_metal_box_without_a_ring_has_a_cover_of_its_own_and_a_junction_a_blank_one() -> None:
    made = (makeup("TOOL", "square-4x1-1-2", TOOL_JOINTS), makeup("FAR", "octagon-4x1-1-2", []))
    covers = found(plan_of(made, devices=(RECEPTACLE, device("LAMP1", DeviceKind.LIGHT))), "box cover")
    assert covers["1 gang: duplex receptacle; for square box, 4 x 4 in"] == 1
    assert covers["blank; for octagonal box, 4 in"] == 1
    assert covers['blank; for box of 4" x 4"'] == 4  # DESK, LAMP2, LAMP3, NEST: LAMP1's light covers it


# What closes a box over its devices: common practice, no source.
@pytest.mark.parametrize(
    ("box_type", "ring", "devices", "item", "size", "price"),
    [
        ("square-4x1-1-2", "square-4-extension", 1, "box cover", "1 gang: {}; for square box, 4 x 4 in", 1.8),
        ("square-4x1-1-2", "square-4-extension", 2, "box cover", "2 gang: {}; for square box, 4 x 4 in", 2.2),
        ("square-4x1-1-2", "", 2, "box cover", "2 gang: {}; for square box, 4 x 4 in", 2.2),
        ("square-4x1-1-2", "square-4-mud-1x5-8", 1, "plate", "1 gang: {}", 0.7),
        ("square-4x1-1-2", "square-4-mud-2x5-8", 1, "plate", "2 gang: {}, blank", 1.4),
        ("square-4x1-1-2", "square-4-mud-2x5-8", 2, "plate", "2 gang: {}", 1.4),
        ("handy-4x2x2-1-8", "", 1, "box cover", "1 gang: {}; for handy box, 4 x 2-1/8 in", 0.9),
        ("fd-2", "", 1, "box cover", "2 gang: {}, blank; for weatherproof cast box, two gangs", 14.0),
        ("device-3x2x3-1-2", "", 1, "plate", "1 gang: {}", 0.7),
        ("plastic-2-32", "", 1, "plate", "2 gang: {}, blank", 1.4),
    ],
)
def test_what_closes_a_box_over_its_devices(
    box_type: str, ring: str, devices: int, item: str, size: str, price: float
) -> None:
    outlets = tuple(replace(RECEPTACLE, id=f"TOOL.{n}", box="TOOL") for n in range(devices))
    plan = plan_of((makeup("TOOL", box_type, [], ring),), devices=outlets)
    row = one(plan, item, size.format(", ".join(["duplex receptacle"] * devices)))
    assert (row["quantity"], row["price"]) == (1, price)
    other = {"box cover": "plate", "plate": "box cover"}[item]
    assert not [words for words in found(plan, other) if "receptacle" in words]


def test_a_blank_cover_has_the_price_of_its_box_and_none_on_a_body_of_its_own() -> None:
    plan = plan_of((makeup("FAR", "octagon-4x1-1-2", []),))
    assert one(plan, "box cover", "blank; for octagonal box, 4 in")["price"] == 0.9
    assert one(plan, "box cover", 'blank; for box of 4" x 4"')["price"] is None


def test_wire_for_pigtails_counted_by_hand_on_a_whole_plan() -> None:
    # SW1, SW2, SW3: the green screw of a switch of 14 AWG. O1, MIX: that of a receptacle, of 12 AWG (MIX has 14 AWG in
    # its joint too). Lights and the saw have leads; all other screws take one end straight.
    assert found(wired_plan(), "single wire") == {
        '14 AWG, bare or green; for 3 pigtails of 8"': 2,
        '12 AWG, bare or green; for 2 pigtails of 8"': 2,
    }
    assert found(wired_plan(), "ground screw with pigtail") == {"": len(wired_plan().makeups) - 1}


@pytest.mark.parametrize(
    ("net", "colour"), [("neutral", "white"), ("protected neutral O1", "white"), ("line", "black")]
)
def test_a_pigtail_has_the_colour_that_its_net_must_have(net: str, colour: str) -> None:
    # 200.6, 200.7: only the grounded conductor is white (from memory); a taped white joins a black pigtail
    made = makeup("TOOL", "square-4x1-1-2", [joint(net, TOOL_ENDS, OUTLET, "white")])
    assert found(plan_of((made,), devices=(RECEPTACLE,)), "single wire") == {
        f'12 AWG, {colour}; for 1 pigtail of 8"': 1
    }


def test_where_all_is_red_the_pigtail_is_red() -> None:
    made = makeup("TOOL", "square-4x1-1-2", [joint("switched ROW", TOOL_ENDS, OUTLET, "red")])
    assert found(plan_of((made,), devices=(RECEPTACLE,)), "single wire") == {'12 AWG, red; for 1 pigtail of 8"': 1}


def test_screws_that_are_linked_without_a_cable_want_a_wire_too() -> None:
    screws = [("TOOL", "hot top"), ("TOOL", "hot bottom")]
    made = makeup("TOOL", "square-4x1-1-2", [joint("line", [], screws), joint("spare", ["P1.TOOL"], [], "red")])
    assert found(plan_of((made,), devices=(RECEPTACLE,)), "single wire") == {'12 AWG, black; for 1 pigtail of 8"': 1}


@pytest.mark.parametrize("awg", [14, 12, 10])
@pytest.mark.parametrize("count", range(1, 40))
def test_wire_for_pigtails_is_whole_feet_and_never_short(count: int, awg: int) -> None:
    # 6 in at least: NEC 300.14, ecmweb.com/national-electrical-code/qa/article/21255990 (free conductor lengths)
    feet, price = pigtail_wire(count, awg)
    assert pigtail_in() >= 6
    assert count * pigtail_in() <= feet * 12 < count * pigtail_in() + 12
    assert price is not None


def test_one_roll_of_tape_for_each_colour_in_the_first_phase_that_wants_it() -> None:
    row = one(wired_plan(), "marking tape", "red; for white wires that are no neutrals")
    assert (row["quantity"], row["unit"], row["phase"]) == (1, "roll", 1)  # LOOP.SW3; SAW.SAW is of phase 2
    assert found(plan_of(), "marking tape") == {}


def test_devices_by_kind_volts_and_rating() -> None:
    devices = (
        device("TOOL", DeviceKind.RECEPTACLE, rating_a=20.0, ground_fault=True),
        device("DESK", DeviceKind.RECEPTACLE, rating_a=20.0, volts=240),
        device("NEST.1", DeviceKind.RECEPTACLE, single=True),
        device("NEST.2", DeviceKind.OPENER),
        device("FAR", DeviceKind.ALARM, detects="heat"),
    )
    plan = plan_of(devices=devices)
    assert found(plan, "ground-fault receptacle") == {"120 V, 20 A": 1}
    assert found(plan, "receptacle") == {"single, 240 V, 20 A": 1, "single, 120 V, 15 A": 1, "duplex, 120 V, 15 A": 1}
    assert found(plan, "alarm") == {"heat": 1}
    assert found(plan, "plate") == {
        "1 gang: ground-fault receptacle": 1,
        "1 gang: single receptacle 20 A": 1,
        "2 gang: single receptacle 15 A, duplex receptacle": 1,
    }


def test_a_receptacle_with_load_terminals_in_use_is_a_ground_fault_one() -> None:
    made = makeup("TOOL", "square-4x1-1-2", [joint("line", ["P1.TOOL"], [("TOOL", "line hot")])])
    assert found(plan_of((made,), devices=(RECEPTACLE,)), "ground-fault receptacle") == {"120 V, 20 A": 1}


def test_four_points_are_two_three_way_and_two_four_way_switches() -> None:
    points = ("TOOL", "DESK", "NEST", "FAR")
    devices = tuple(device(name, DeviceKind.SWITCH, control="ROW") for name in points)
    row = Control(id="ROW", title="", circuit="P1", points=points, lights=("LAMP1",))
    plan = plan_of(devices=devices, controls=(row,))
    # common practice, no source: n points are two three-way switches with n - 2 four-way ones between them
    assert found(plan, "three-way switch") == {"120 V, 15 A": 2}
    assert found(plan, "four-way switch") == {"120 V, 15 A": 2}
    alone = plan_of(devices=devices[:1], controls=(replace(row, points=("TOOL",)),))
    assert found(alone, "single-pole switch") == {"120 V, 15 A": 1}


def test_terminals_decide_over_the_order_in_which_points_are_written() -> None:
    points = ("TOOL", "DESK", "NEST")
    devices = tuple(device(name, DeviceKind.SWITCH, control="ROW") for name in points)
    row = Control(id="ROW", title="", circuit="P1", points=points, lights=("LAMP1",))
    made = (
        makeup("TOOL", "", [joint("traveler ROW 1a", ["P1.TOOL"], [("TOOL", "in 1")])]),
        makeup("DESK", "", [joint("line", ["P1.DESK"], [("DESK", "common")])]),
        makeup("NEST", "", [joint("switched ROW", ["L1.NEST"], [("NEST", "common")])]),
    )
    plan = plan_of(made, devices=devices, controls=(row,))
    assert (found(plan, "four-way switch"), found(plan, "three-way switch")) == (
        {"120 V, 15 A": 1},
        {"120 V, 15 A": 2},
    )


def test_an_outlet_in_the_middle_wants_three_connectors_three_pigtails_and_a_ground_screw() -> None:
    # Line and neutral: 2 ends + 1 pigtail = 3 of 12 AWG, tan; ground: 2 ends + device + box = 4, red
    # (electrical101.com/wire-connectors.html: tan 2 to 3 of 14 or 12, red 3 to 4).
    plan = plan_of((makeup("TOOL", "square-4x1-1-2", TOOL_JOINTS),), devices=(RECEPTACLE,))
    assert found(plan, "wire connector") == {"medium (often tan)": 2, "large (often red)": 1}
    # each 8 in, as its sentence on the box's card says "with a pigtail": 8 in of each colour are a foot at the store
    assert found(plan, "single wire") == {
        '12 AWG, bare or green; for 1 pigtail of 8"': 1,
        '12 AWG, black; for 1 pigtail of 8"': 1,
        '12 AWG, white; for 1 pigtail of 8"': 1,
    }
    assert one(plan, "ground screw with pigtail")["quantity"] == 1


def test_the_last_outlet_lands_on_its_screws_a_light_does_not_and_a_spare_end_is_capped() -> None:
    last = [joint("line", ["P1.TOOL"], OUTLET), joint("ground", ["P1.TOOL"], [("TOOL", "ground")], "bare")]
    assert found(plan_of((makeup("TOOL", "plastic-1-18", last),), devices=(RECEPTACLE,)), "wire connector") == {}
    light = [joint("switched ROW", ["L1.LAMP1"], [("LAMP1", "hot")]), joint("spare", ["L1.LAMP1"], [], "red")]
    lamp = plan_of((makeup("LAMP1", "", light),), devices=(device("LAMP1", DeviceKind.LIGHT),))
    assert found(lamp, "wire connector") == {"small (often yellow)": 2}
    assert found(lamp, "single wire") == {}


def test_joints_in_the_panel_are_made_on_its_bars() -> None:
    bars = makeup("PANEL", "", [joint("neutral", ["P1.TOOL", "L1.LAMP1"], [("PANEL", "neutral bar")], "white")])
    assert found(plan_of((bars,)), "wire connector") == {}


def test_a_connector_for_each_cable_at_the_panel_and_where_clamps_are_outside() -> None:
    # PANEL has P1.TOOL and L1.LAMP1; TOOL has P1.TOOL and P1.DESK.
    assert found(plan_of(), "cable connector") == {"3/8 in (for a 1/2 in knockout)": 2}
    outside = plan_of((makeup("TOOL", "handy-4x2x2-1-8", TOOL_JOINTS),), devices=(RECEPTACLE,))
    assert sum(found(outside, "cable connector").values()) == 4
    inside = plan_of((makeup("TOOL", "square-4x1-1-2", TOOL_JOINTS),), devices=(RECEPTACLE,))
    assert sum(found(inside, "cable connector").values()) == 2


def test_breakers_by_size_poles_and_protection() -> None:
    plan = plan_of((), (sheet("P1"), sheet("L1", breaker="ground-fault"), sheet("S1", poles=2, breaker_a=30.0)))
    assert found(plan, "breaker") == {
        "20 A, 1-pole, plain": 1,
        "20 A, 1-pole, ground-fault": 1,
        "30 A, 2-pole, plain": 1,
    }
    assert one(plan, "breaker", "20 A, 1-pole, plain")["where"] == "panel"


def test_four_labels_a_cable_and_sealant_only_for_sealed_holes() -> None:
    plan = plan_of()
    open_cables = sum(not cable.done for cable in plan.cables)
    assert list(found(plan, "cable label").values()) == [4 * open_cables]
    assert found(plan, "sealant") == {"fire-blocking, for 1 hole": 1}  # SOUTH-T1.a
    assert found(plan_of(insulated="no"), "sealant") == {}


def test_prices_are_those_of_the_scene_and_blank_where_there_is_none() -> None:
    assert one(plan_of(), "staple", "for 14/2")["price"] is None
    priced = plan_of(prices={"staple_each": 0.25})
    staples = one(priced, "staple", "for 14/2")
    assert (staples["unit_price"], staples["price"]) == (0.25, 3.0)  # 12 staples


def test_a_later_box_takes_its_cables_with_it_and_a_shared_hole_stays_in_the_first_phase() -> None:
    building = sample_building()
    later = tuple(replace(one, phase=2 if one.id == "DESK" else 1) for one in building.boxes)
    plan = plan_of(boxes=later)
    feet = {
        row["phase"]: row["quantity"] for row in takeoff_rows(plan) if (row["item"], row["size"]) == ("cable", "12/2")
    }
    desk = next(cable for cable in plan.cables if cable.id == "P1.DESK")
    assert float(feet[2]) == pytest.approx(desk.cut_in / 12, abs=1e-4)  # type: ignore[arg-type]
    shared = replace(
        plan, bores=tuple(replace(b, cables=("P1.DESK", "P1.TOOL"), nail_plates=("far side",)) for b in plan.bores)
    )
    assert {row["phase"] for row in takeoff_rows(shared) if row["item"] == "nail plate"} == {1}
    alone = replace(plan, bores=tuple(replace(b, cables=("P1.DESK",), nail_plates=("far side",)) for b in plan.bores))
    assert {row["phase"] for row in takeoff_rows(alone) if row["item"] == "nail plate"} == {2}
    assert {row["phase"] for row in takeoff_rows(alone) if row["item"] == "bit"} == {2}


def test_nothing_of_a_later_box_is_bought_before_it() -> None:
    later = tuple(replace(one, phase=2 if one.id == "DESK" else 1) for one in sample_building().boxes)
    both = plan_of(boxes=later, devices=(device("DESK", DeviceKind.RECEPTACLE),))
    first = plan_of(boxes=tuple(one for one in later if one.id != "DESK"))
    without = replace(first, cables=tuple(cable for cable in first.cables if cable.id != "P1.DESK"))

    def in_phase_one(plan: Plan) -> list[tuple[object, ...]]:
        rows = (row for row in takeoff_rows(plan) if row["phase"] == 1 and row["where"] in ("boxes", "devices"))
        return [(row["item"], row["size"], row["quantity"]) for row in rows]

    assert in_phase_one(both) == in_phase_one(without)
    assert {row["phase"] for row in takeoff_rows(both) if row["item"] in ("receptacle", "plate")} == {2}


def test_a_box_is_bought_with_the_first_cable_that_feeds_it() -> None:
    """The saw's box is said to be of phase 1, its circuit of phase 2: before, it would be a box without a cable."""
    rows = [row for row in takeoff_rows(wired_plan()) if row["item"] == "box" and row["phase"] == 2]
    assert [row["quantity"] for row in rows] == [2]  # G2 and SAW


def test_what_is_not_reached_is_not_bought() -> None:
    devices = (device("TOOL", DeviceKind.RECEPTACLE), device("FAR", DeviceKind.RECEPTACLE))
    whole = plan_of(devices=devices)
    part = replace(whole, unreached=("FAR",))
    lost = {(row["item"], row["quantity"]) for row in takeoff_rows(whole) if row["where"] in ("boxes", "devices")} - {
        (row["item"], row["quantity"]) for row in takeoff_rows(part)
    }
    assert {("box", 7), ("receptacle", 2), ("plate", 2)} <= lost
    assert found(part, "receptacle") == {"duplex, 120 V, 15 A": 1}


def test_a_device_that_nothing_is_joined_to_leaves_a_blank_cover() -> None:
    # A switch whose lights are not reached: what comes in is capped.
    joints = [joint("line", ["P1.TOOL"], []), joint("ground", ["P1.TOOL"], [("TOOL", "box")], "bare")]
    switch = device("TOOL", DeviceKind.SWITCH, control="ROW")
    row = Control(id="ROW", title="", circuit="P1", points=("TOOL",), lights=())
    plan = plan_of((makeup("TOOL", "square-4x1-1-2", joints),), devices=(switch,), controls=(row,))
    assert found(plan, "single-pole switch") == {}
    assert found(plan, "box cover")["blank; for square box, 4 x 4 in"] == 1


def test_a_switch_of_a_control_that_is_reached_in_part_is_bought_as_it_is_joined() -> None:
    points = ("TOOL", "FAR")
    row = Control(id="ROW", title="", circuit="P1", points=points, lights=("LAMP1",))
    joints = [joint("line", ["P1.TOOL"], [("TOOL", "line")]), joint("switched ROW", ["P1.DESK"], [("TOOL", "load")])]
    devices = tuple(device(name, DeviceKind.SWITCH, control="ROW") for name in points)
    plan = plan_of((makeup("TOOL", "square-4x1-1-2", joints),), devices=devices, controls=(row,))
    part = replace(plan, unreached=("FAR",))
    assert found(part, "single-pole switch") == {"120 V, 15 A; a three-way one once FAR is reached": 1}
    assert found(part, "three-way switch") == {}


def test_plug_in_lights_are_bought_too_and_so_are_lights_that_hang_one_on_the_next() -> None:
    outlet = device("TOOL", DeviceKind.RECEPTACLE, control="ROW", load_va=144.0, linked=4)
    light = device("LAMP1", DeviceKind.LIGHT, load_va=60.0, linked=3)
    plan = plan_of(devices=(outlet, light, device("LAMP2", DeviceKind.LIGHT)))
    assert found(plan, "plug-in light") == {"36 W, one hung on the next, as its maker allows": 4}
    assert found(plan, "light") == {"20 W, one hung on the next, as its maker allows": 3, "": 1}
    assert found(plan, "receptacle") == {"duplex, 120 V, 15 A": 1}


def test_a_plastic_box_is_nailed_on_without_a_bracket() -> None:
    """Common practice, no source."""
    metal, plastic = (plan_of((makeup("TOOL", kind, []),)) for kind in ("square-4x1-1-2", "plastic-1-18"))
    assert found(metal, "bracket")["to a stud"] == found(plastic, "bracket").get("to a stud", 0) + 1


def test_two_home_runs_on_one_breaker_are_joined_with_a_pigtail() -> None:
    # One wire under a terminal: NEC 110.14(A), from memory. 2 ends + 1 pigtail = 3 of 12 AWG, tan.
    hot = joint("line", ["P1.TOOL", "P1.DESK"], [("PANEL", "breaker P1")])
    white = joint("neutral", ["P1.TOOL", "P1.DESK"], [("PANEL", "neutral bar")], "white")
    plain = plan_of((makeup("PANEL", "", [hot, white]),), (sheet("P1"),))
    assert found(plain, "wire connector") == {"medium (often tan)": 1}
    assert found(plain, "single wire") == {'12 AWG, black; for 1 pigtail of 8"': 1}
    guarded = plan_of((makeup("PANEL", "", [hot, white]),), (sheet("P1", breaker="ground-fault"),))
    assert found(guarded, "wire connector") == {"medium (often tan)": 2}  # its breaker takes the white too
    alone = replace(hot, ends=hot.ends[:1])
    assert found(plan_of((makeup("PANEL", "", [alone]),), (sheet("P1"),)), "wire connector") == {}


def test_halves_of_a_tandem_breaker_are_bought_as_one() -> None:
    sheets = (
        sheet("P1", spaces=(5,)),
        sheet("L1", spaces=(5,), breaker_a=15.0),
        sheet("S1", spaces=(6,)),
        sheet("X1", spaces=()),
        sheet("X2", spaces=()),
        sheet("Y1", spaces=(5,), panel="OTHER"),
    )
    plan = plan_of((), sheets)
    assert found(plan, "breaker") == {
        "15 A + 20 A, tandem: two of 1 pole in one space": 1,
        "20 A, 1-pole, plain": 4,
    }
    assert one(plan, "breaker", "15 A + 20 A, tandem: two of 1 pole in one space")["price"] is not None


def test_a_joint_too_large_for_a_connector_is_made_in_groups_and_counted_so() -> None:
    # 7 of 12 AWG: 4 and 3, each with an end of the short wire: 5 and 4, which red takes
    # (engineerfix.com/what-color-wire-connector-should-you-use/: five of 12 in red)
    ends = [f"P1.{name}" for name in ("TOOL", "DESK")] * 3
    crowd = joint("ground", ends, [("TOOL", "ground")], "bare")
    plan = plan_of((makeup("TOOL", "square-4x2-1-8", [crowd]),), devices=(RECEPTACLE,))
    assert found(plan, "wire connector") == {"large (often red)": 2}
    assert found(plan, "single wire") == {'12 AWG, bare or green; for 2 pigtails of 8"': 2}  # to the device; between


@pytest.mark.parametrize("awg", [14, 12, 10, 8, 6])
@pytest.mark.parametrize("count", range(1, 25))
def test_groups_take_every_conductor_and_the_wires_between_them(count: int, awg: int) -> None:
    said = tomllib.loads(PARTS.read_text(encoding="utf-8"))["wire_connector"]
    most = {part["title"]: part["most"].get(str(awg), 0) for part in said}
    found_parts = wire_connectors([awg] * count)
    room = sum(most.get(part.title, 0) for part in found_parts)
    if found_parts[0].price is None:
        assert max(most.values()) == 2  # between two others a group has room for the wires between them alone
        assert count > 2
        return
    assert room >= count + 2 * (len(found_parts) - 1)
    assert max(most.values()) * (len(found_parts) - 1) < count + 2 * (len(found_parts) - 2) or len(found_parts) == 1


def test_one_phase_alone_can_be_listed() -> None:
    later = tuple(replace(one, phase=2 if one.id == "DESK" else 1) for one in sample_building().boxes)
    plan = plan_of((makeup("TOOL", "handy-4x2x2-1-8", TOOL_JOINTS),), boxes=later, devices=(RECEPTACLE,))
    rows = takeoff_rows(only_phase(plan, 2))
    assert [row["quantity"] for row in rows if row["item"] == "box"] == [1]


def test_a_breaker_comes_with_the_first_box_of_its_circuit() -> None:
    boxes = tuple(replace(one, phase=3 if "P1" in one.circuits else 1) for one in sample_building().boxes)
    assert one(plan_of((), (sheet("P1"),), boxes=boxes), "breaker", "20 A, 1-pole, plain")["phase"] == 3


def test_a_box_of_the_scenes_own_measures_needs_no_catalogue() -> None:
    odd = box("ODD", ("P1",), "SOUTH", (40, 1.75, 48), size_in=(3.0, 2.0, 1.5))
    assert '3" x 2" x 1-1/2"' in found(plan_of(boxes=(*sample_building().boxes, odd)), "box")


@pytest.mark.parametrize(
    ("awg", "title"),
    [
        # electrical101.com/wire-connectors.html
        ([14, 14], "small (often yellow)"),
        ([12, 12], "small (often yellow)"),
        ([12, 12, 12], "medium (often tan)"),
        ([14, 14, 14, 14], "large (often red)"),
        ([10, 10, 10], "large (often red)"),
        # engineerfix.com/what-color-wire-connector-should-you-use/
        ([12] * 5, "large (often red)"),
        # own caution: several sizes count as the largest
        ([10, 14, 14, 14], "extra large (often grey or blue)"),
    ],
)
def test_wire_connectors_against_published_charts(awg: list[int], title: str) -> None:
    assert [part.title for part in wire_connectors(awg)] == [title]


def test_parts_that_the_list_does_not_have_are_named_without_a_price() -> None:
    assert [(part.title, part.price) for part in wire_connectors([4, 4])] == [("none takes 2 of 4 AWG", None)]
    assert cable_connector(1.5).price is None
    assert breaker_price(1, "plain", 200.0) is None
    assert sealant(25) == (1, 9.0)

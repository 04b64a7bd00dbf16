"""CSV lists of the electrical half: columns that were promised, sums of a fill, what is joined with what."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from decimal import Decimal

import pytest
from sample_plan import sample_plan
from wired_sample import JOINTS, RUNS, wired_plan

from barnloom.routing.plan import Plan
from barnloom.viewer.tables import TABLES, csv_tables


def read(plan: Plan, name: str) -> list[dict[str, str]]:
    """Rows of one file as a spreadsheet would read them."""
    return list(csv.DictReader(io.StringIO(csv_tables(plan)[name])))


def one(plan: Plan, name: str, **said: str) -> dict[str, str]:
    """The one row that has these values."""
    [row] = [row for row in read(plan, name) if all(row[key] == value for key, value in said.items())]
    return row


def test_every_row_has_exactly_the_columns_of_its_file() -> None:
    for columns, rows in TABLES.values():
        assert all(tuple(row) == columns for row in rows(wired_plan()))


def test_a_plan_without_wiring_still_has_its_lists() -> None:
    for name in ("boxfill.csv", "circuits.csv", "nets.csv", "deadtest.csv"):
        assert read(sample_plan(), name) == []
    assert one(sample_plan(), "cables.csv", cable="P1.TOOL")["conductors"] == ""
    assert one(sample_plan(), "boxes.csv", box="TOOL")["fill_in3"] == ""


@pytest.mark.parametrize(
    ("cable", "conductors", "awg", "label"),
    [
        ("LIGHTS.SW2", "3", "14", "LIGHTS SW1>SW2 14/3"),
        ("SAW.SAW", "2", "10", "SAW PANEL>SAW 10/2"),
        ("OUT.MIX", "2", "12", "OUT O1>MIX 12/2"),
    ],
)
def test_a_cable_says_its_conductors_its_size_and_what_to_write_on_it(
    cable: str, conductors: str, awg: str, label: str
) -> None:
    row = one(wired_plan(), "cables.csv", cable=cable)
    assert [row[c] for c in ("conductors", "awg", "family", "label")] == [conductors, awg, "NM-B", label]
    assert [row[c] for c in ("current_a", "drop_percent")] == ["5", "1.25"]
    assert Decimal(row["length_ft"]) == pytest.approx(Decimal(row["cut_in"]) / 12, abs=Decimal("0.0001"))


def test_labels_are_all_different() -> None:
    labels = [row["label"] for row in read(wired_plan(), "cables.csv")]
    assert len(set(labels)) == len(labels) == len(RUNS)


def test_a_cable_belongs_to_the_latest_phase_of_its_circuit_and_ends() -> None:
    phases = {row["cable"]: row["phase"] for row in read(wired_plan(), "cables.csv")}
    assert {name for name, phase in phases.items() if phase == "2"} == {"LIGHTS.G2", "SAW.SAW"}


def test_a_box_says_its_device_its_volume_and_what_feeds_it() -> None:
    mix, switch = (one(wired_plan(), "boxes.csv", box=name) for name in ("MIX", "SW1"))
    assert (mix["device"], mix["fed_from"], mix["volume_in3"], mix["fill_in3"]) == (
        ("light + receptacle", "O1 PANEL", "", "")
    )
    assert [switch[c] for c in ("device", "volume_in3", "fill_in3", "box_type", "ring", "height_in", "fed_from")] == (
        ["switch", "21", "18", "square-4x1-1-2", "square-4-mud-1x1-2", "48", "PANEL"]
    )
    assert one(wired_plan(), "boxes.csv", box="PANEL")["device"] == ""


def test_a_height_is_over_the_floor_of_the_storey() -> None:
    row = one(sample_plan(), "boxes.csv", box="NEST")
    assert Decimal(row["height_in"]) == Decimal(row["z_in"]) - 106  # the loft's floor


def test_a_box_without_a_device_is_a_junction() -> None:
    assert one(sample_plan(), "boxes.csv", box="TOOL")["device"] == "junction"


def test_a_fill_adds_up_and_ends_with_the_volume() -> None:
    rows = [row for row in read(wired_plan(), "boxfill.csv") if row["box"] == "SW1"]
    *lines, total, volume = rows
    assert (total["what"], volume["what"]) == ("total", "volume")
    assert sum(Decimal(row["count"]) * Decimal(row["each_in3"]) for row in lines) == Decimal(total["total_in3"])
    # NEC 314.16(B): a 14/2 and a 14/3 are 5 conductors, clamps 1, a switch 2, grounds 1: 9 x 2.00 in3 (table S64, S65:
    # synthmind.com/Electrical_Box_Sizing_Guide.htm).
    assert (total["total_in3"], volume["total_in3"]) == ("18", "21")
    assert [row["total_in3"] for row in lines] == ["10", "2", "4", "2"]
    assert {row["clause"] for row in lines} == {"314.16(B)"}


def test_boxes_stand_in_order_of_id_in_the_fill() -> None:
    boxes = [row["box"] for row in read(wired_plan(), "boxfill.csv")]
    assert boxes == sorted(boxes, key=["G2", "SW1"].index)


def test_the_panel_schedule_has_its_columns() -> None:
    saw, lights = (one(wired_plan(), "circuits.csv", circuit=name) for name in ("SAW", "LIGHTS"))
    assert [saw[c] for c in ("space", "leg", "breaker_a", "breaker", "poles", "volts")] == (
        ["4 6", "AB", "30", "plain", "2", "240"]
    )
    assert [saw[c] for c in ("load_va", "load_a", "awg", "longest_run_ft", "drop_percent", "phase", "notes")] == (
        ["3600", "18.75", "10", "62", "1.25", "2", "a note"]
    )
    assert (lights["title"], lights["panel"], lights["space"]) == ("Stair lights", "PANEL", "1")


def test_every_end_of_every_conductor_is_listed_once() -> None:
    rows = read(wired_plan(), "nets.csv")
    ends = {(row["box"], row["cable"], row["conductor"]) for row in rows}
    wanted = {
        (box, cable.id, one.colour)
        for cable in wired_plan().cables
        for box in (cable.from_box, cable.to_box)
        for one in cable.conductors
    }
    assert ends == wanted
    assert len(rows) == len(ends)


def test_what_a_conductor_is_joined_with_is_as_the_joint_says() -> None:
    row = one(wired_plan(), "nets.csv", box="G1", cable="LIGHTS.G1", conductor="black")
    assert (row["circuit"], row["net"], row["joined_with"]) == (
        ("LIGHTS", "switched STAIR", "black of LIGHTS.G2; hot of G1")
    )
    assert "G1 LIGHTS switched STAIR: LIGHTS.G1 black; LIGHTS.G2 black; G1 hot" in JOINTS
    white = one(wired_plan(), "nets.csv", box="SW3", cable="LOOP.SW3", conductor="white")
    assert (white["marked"], white["net"], white["joined_with"]) == ("red", "line", "line of SW3")
    ground = one(wired_plan(), "nets.csv", box="PANEL", cable="SAW.SAW", conductor="bare")
    assert ground["circuit"] == "SAW"
    assert ground["joined_with"].endswith("; ground bar of PANEL")


def test_joining_goes_both_ways() -> None:
    rows = read(wired_plan(), "nets.csv")
    joined = {(row["box"], f"{row['conductor']} of {row['cable']}"): row["joined_with"].split("; ") for row in rows}
    for (box, own), others in joined.items():
        for other in others:
            if (box, other) in joined:
                assert own in joined[box, other]


def test_behind_a_breaker_that_protects_the_neutral_goes_to_the_breaker() -> None:
    """Common practice, no source: on the bar the breaker would trip, or not protect."""
    guarded = one(wired_plan(), "nets.csv", box="PANEL", cable="OUT.O1", conductor="white")
    assert guarded["joined_with"] == "neutral terminal of breaker OUT of PANEL"
    plain = one(wired_plan(), "nets.csv", box="PANEL", cable="LIGHTS.SW1", conductor="white")
    assert plain["joined_with"] == "neutral bar of PANEL"


def test_dead_tests_are_numbered_in_the_order_of_the_walk() -> None:
    rows = read(wired_plan(), "deadtest.csv")
    assert [row["test"] for row in rows] == [str(n) for n in range(1, len(rows) + 1)]
    assert {row["expected"] for row in rows} == {"joined", "open"}
    row = one(wired_plan(), "deadtest.csv", conductor_b="hot of G2", positions="SW1 position 1, SW2 position 2")
    assert (row["circuit"], row["box_a"], row["conductor_a"], row["expected"]) == (
        ("LIGHTS", "PANEL", "black of LIGHTS.SW1", "open")
    )


def test_a_formula_in_a_title_stays_text() -> None:
    plan = wired_plan()
    circuits = tuple(replace(circuit, title="=1+1") for circuit in plan.building.circuits)
    plan = replace(plan, building=replace(plan.building, circuits=circuits))
    assert {row["title"] for row in read(plan, "circuits.csv")} == {"'=1+1"}

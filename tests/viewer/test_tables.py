"""CSV lists: the promised columns, sums that are exact as printed, cells that stay names."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sample_plan import bore, sample_building, sample_members, sample_plan

from barnloom.model.building import Right
from barnloom.routing.plan import Plan
from barnloom.viewer.tables import TABLES, Row, csv_tables, csv_text, feet_rows, hole_rows, takeoff_rows

FIRST_COLUMNS = {
    "members.csv": "member,role,bearing,thickness_in,depth_in,length_in,boring",
    "boxes.csv": "box,circuit,x_in,y_in,z_in",
    "holes.csv": "hole,member,along_from,along_in,across_from,across_in,across_min_in,across_max_in,diameter_in,cables,"
    "nail_plates,rule",
    "cables.csv": "cable,circuit,type,from,to,path_in,entries_in,free_in,panel_in,slack_in,cut_in,holes",
    "feet.csv": "by,name,feet,holes",
    "takeoff.csv": "item,size,quantity,unit",
    "boxfill.csv": "box,what,count,awg,each_in3,total_in3,clause",
    "circuits.csv": "circuit,title,panel,space,leg,breaker_a,breaker,poles,volts,load_va,load_a,awg,longest_run_ft,"
    "drop_percent,phase,notes",
    "nets.csv": "box,circuit,cable,conductor,marked,net,joined_with",
    "deadtest.csv": "test,circuit,box_a,conductor_a,box_b,conductor_b,positions,expected,why",
}


def read(plan: Plan, name: str) -> list[dict[str, str]]:
    """Rows of one file as a spreadsheet would read them."""
    return list(csv.DictReader(io.StringIO(csv_tables(plan)[name])))


def by_first(plan: Plan, name: str) -> dict[str, dict[str, str]]:
    """Rows of one file by their first column."""
    return {next(iter(row.values())): row for row in read(plan, name)}


def test_all_files_begin_with_the_promised_columns() -> None:
    tables = csv_tables(sample_plan())
    assert set(FIRST_COLUMNS) <= set(tables)
    for name, columns in FIRST_COLUMNS.items():
        head = tables[name].split("\n", 1)[0]
        assert f"{head},".startswith(f"{columns},"), name


def test_every_row_has_exactly_the_columns_of_its_file() -> None:
    plan = sample_plan()
    for columns, rows in TABLES.values():
        assert all(tuple(row) == columns for row in rows(plan))


def test_a_member_shows_what_it_is_and_leaves_blank_what_nobody_measured() -> None:
    members = sample_members()
    plain = replace(members[0], id="SOUTH-S9", unmeasured=("section", "ends"), bore=Right.UNKNOWN, bearing=False)
    rows = by_first(sample_plan(building=sample_building(members=(*members, plain))), "members.csv")
    stud, joist, girder, unknown = (rows[name] for name in ("SOUTH-S1", "LOFT-J1", "GIRDER", "SOUTH-S9"))
    assert (stud["role"], stud["bearing"], stud["thickness_in"], stud["depth_in"]) == ("stud", "yes", "1.5", "3.5")
    assert (joist["role"], joist["length_in"], joist["boring"]) == ("joist", "120", "free")
    assert (girder["bearing"], girder["boring"], girder["reason"]) == ("", "never", "it carries the loft")
    assert [unknown[c] for c in ("bearing", "thickness_in", "depth_in", "length_in", "boring")] == [
        "no",
        "",
        "",
        "",
        "unknown",
    ]


def test_members_stand_in_the_order_a_person_counts_in() -> None:
    members = sample_members()
    tenth = replace(members[0], id="SOUTH-S10")
    plan = sample_plan(building=sample_building(members=(tenth, *members)))
    names = [row["member"] for row in read(plan, "members.csv") if row["role"] == "stud"]
    assert names == [f"SOUTH-S{i}" for i in (1, 2, 3, 4, 5, 6, 10)]


def test_a_box_shows_its_centre_its_circuits_and_whether_it_is_reached() -> None:
    rows = by_first(sample_plan(), "boxes.csv")
    assert [rows["DESK"][c] for c in ("circuit", "x_in", "y_in", "z_in")] == ["P1", "56", "1.75", "48"]
    assert (rows["NEST"]["circuit"], rows["PANEL"]["circuit"]) == ("L1 P1", "")
    assert (rows["FAR"]["reached"], rows["LAMP2"]["reached"], rows["LAMP2"]["cables"]) == ("no", "yes", "3")


def test_holes_stand_in_walking_order_and_say_where_the_tape_hooks_on() -> None:
    rows = read(sample_plan(), "holes.csv")
    assert [row["hole"] for row in rows] == [one.id for one in sample_plan().bores]
    plate = rows[2]
    assert (plate["along_from"], plate["along_in"], plate["across_from"]) == ("west end", "24", "room-side face")
    assert (plate["across_min_in"], plate["across_in"], plate["across_max_in"]) == ("1.625", "1.75", "1.875")
    assert (plate["nail_plates"], plate["existing"], plate["pose"]) == ("room side", "no", "plate_below")
    assert plate["words"] == '2\' 0" from the west end, 1-3/4" from the room-side face'
    assert rows[-1]["existing"] == "yes"


def test_cables_of_a_hole_are_ids_with_blanks_between_in_order() -> None:
    shared = bore("LOFT-J3.a", "LOFT-J3", 60.0, 4.625, ("P1.TOOL", "L1.LAMP10", "L1.LAMP2"))
    assert hole_rows(sample_plan(bores=(shared,)))[0]["cables"] == "L1.LAMP2 L1.LAMP10 P1.TOOL"


def test_the_parts_of_a_cut_add_up_exactly_as_printed() -> None:
    plan = sample_plan()
    odd = replace(plan.cables[0], path_in=100 / 3, slack_in=5 / 3, cut_in=100 / 3 + 8 + 16 + 36 + 5 / 3)
    for row in read(replace(plan, cables=(odd, *plan.cables[1:])), "cables.csv"):
        parts = [Decimal(row[f"{part}_in"]) for part in ("path", "entries", "free", "panel", "slack")]
        assert sum(parts) == Decimal(row["cut_in"])
    row = by_first(plan, "cables.csv")["P1.TOOL"]
    assert [row[c] for c in ("path_in", "entries_in", "free_in", "panel_in", "slack_in", "cut_in", "holes")] == (
        ["34", "8", "16", "36", "1.7", "95.7", "1"]
    )


def test_a_cable_says_its_path_in_words() -> None:
    rows = by_first(sample_plan(), "cables.csv")
    assert rows["L1.LAMP2"]["path"] == "east 4' 0\" in LOFT, through LOFT-J3 to LOFT-J5"
    assert rows["L1.LAMP1"]["path"].split("; ") == [
        "up 2' 0\" in SOUTH between SOUTH-S2 and SOUTH-S3, through SOUTH-T1",
        """up 4-5/8" in LOFT between LOFT-J2 and LOFT-J3""",
        "north 4' 10-1/4\" in LOFT between LOFT-J2 and LOFT-J3",
    ]
    assert "along the south side of GIRDER" in rows["L1.NEST"]["path"]
    assert "along board RUN1" in rows["L1.NEST"]["path"]


@given(st.lists(st.floats(1, 3000), min_size=6, max_size=6))
def test_feet_of_each_kind_add_up_to_the_total_whatever_the_lengths(paths: list[float]) -> None:
    plan = sample_plan()
    cables = tuple(replace(one, cut_in=cut) for one, cut in zip(plan.cables, paths, strict=True))
    rows = feet_rows(replace(plan, cables=cables))
    total = rows[-1]
    assert (total["by"], total["name"]) == ("total", "total")
    assert abs(float(str(total["feet"])) - sum(paths) / 12) < 0.001
    for kinds in ({"circuit"}, {"type"}, {"floor", "between"}):
        own = [row for row in rows if row["by"] in kinds]
        for column in ("feet", "holes", "feet_to_buy", "holes_to_bore"):
            assert sum(Decimal(str(row[column])) for row in own) == total[column], (kinds, column)


def test_a_shared_hole_counts_once_for_its_first_cable() -> None:
    shared = bore("LOFT-J3.a", "LOFT-J3", 60.0, 4.625, ("P1.TOOL", "L1.LAMP2"))
    rows = {(row["by"], row["name"]): row["holes"] for row in feet_rows(sample_plan(bores=(shared,)))}
    assert (rows["circuit", "L1"], rows["circuit", "P1"], rows["total", "total"]) == (1, 0, 1)


def test_a_run_between_storeys_counts_between_them() -> None:
    rows = {(row["by"], row["name"]): row for row in feet_rows(sample_plan())}
    assert str(rows["between", "between SHOP and LOFT"]["feet"]) == "9.4703"  # 113.64375 / 12
    assert ("floor", "between SHOP and LOFT") not in rows


def test_the_takeoff_leaves_out_what_is_there_already() -> None:
    rows = {(row["item"], row["size"]): (row["quantity"], row["unit"]) for row in takeoff_rows(sample_plan())}
    assert rows["cable", "14/2"] == (Decimal("28.2719"), "ft")  # without L1.LAMP3, pulled already
    assert rows["staple", "for 14/2"] == (12, "each")
    assert rows["box", '4" x 4" x 2-1/8"'] == (6, "each")  # FAR is not reached
    assert rows["nail plate", ""] == (1, "each")
    assert rows["running board", '3/4" x 3-1/2"'] == (Decimal(12), "ft")
    assert rows["cable cover", ""] == (Decimal("0.8333"), "ft")
    assert rows["bit", '3/4"'] == (1, "each")
    assert ("plate tie", 'for a plate 3-1/2" wide') not in rows


def test_a_board_in_place_or_without_a_cable_is_not_bought() -> None:
    plan = sample_plan()
    there = tuple(replace(member, in_place=True) for member in plan.building.members)
    items = {row["item"] for row in takeoff_rows(sample_plan(building=sample_building(members=there)))}
    assert "running board" not in items
    unused = [one for one in plan.cables if one.id != "L1.NEST"]
    assert "running board" not in {row["item"] for row in takeoff_rows(replace(plan, cables=tuple(unused)))}


@pytest.mark.parametrize(("diameter", "ties"), [(1.75, 0), (1.8125, 1)])
def test_a_plate_cut_over_half_its_width_wants_a_tie_and_just_half_does_not(diameter: float, ties: int) -> None:
    wide = bore("SOUTH-T1.a", "SOUTH-T1", 24.0, 1.75, ("L1.LAMP1",), diameter_in=diameter)
    found = [row["quantity"] for row in takeoff_rows(sample_plan(bores=(wide,))) if row["item"] == "plate tie"]
    assert found == [1] * ties


def test_a_metric_scene_buys_in_its_own_sizes() -> None:
    building = sample_building(metric=True)
    rows = takeoff_rows(sample_plan(building=building))
    assert "102 mm x 102 mm x 54 mm" in {row["size"] for row in rows}


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", " =", "＝"])
def test_text_that_a_spreadsheet_takes_for_a_formula_gets_an_apostrophe(start: str) -> None:
    plan = sample_plan()
    boxes = tuple(replace(box, title=f"{start}HYPERLINK(1)") for box in plan.building.boxes)
    rows = read(sample_plan(building=sample_building(boxes=boxes)), "boxes.csv")
    assert {row["title"] for row in rows} == {f"'{start}HYPERLINK(1)"}


def test_a_negative_number_stays_a_number() -> None:
    row: Row = {"a": -1.5, "b": -2, "c": Decimal("-0.000000000"), "d": None, "e": 0.1 + 0.2}
    assert csv_text(list("abcde"), [row]) == "a,b,c,d,e\n-1.5,-2,0,,0.3\n"


def test_line_ends_and_quotes_in_a_title_stay_inside_their_cell() -> None:
    plan = sample_plan()
    boxes = tuple(replace(box, title='a"b,c\r\n../../etc/<b>x</b>') for box in plan.building.boxes)
    rows = read(sample_plan(building=sample_building(boxes=boxes)), "boxes.csv")
    assert {row["title"] for row in rows} == {'a"b,c  ../../etc/<b>x</b>'}
    assert len(rows) == len(boxes)


def test_a_number_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="expected a number"):
        csv_text(["a"], [{"a": math.nan}])

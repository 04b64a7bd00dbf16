"""What changed between two plans: told once each, with sums worked out here from what the lists say."""

from __future__ import annotations

import csv
import io
import json
import re
import tempfile
from collections import Counter
from dataclasses import replace
from decimal import Decimal
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader
from sample_plan import bore, box, cable, sample_building, sample_plan
from wired_sample import wired_plan

from barnloom.model import read_building
from barnloom.model.building import Box
from barnloom.routing import Plan, plan_building
from barnloom.routing.plan import Bore, Cable
from barnloom.routing.store import plan_from_json, plan_to_json
from barnloom.viewer.changes import Changes, changes_json, changes_pdf, changes_text, compare
from barnloom.viewer.changes.compare import Change
from barnloom.viewer.tables import csv_tables
from barnloom.viewer.text import width

SCENES = Path(__file__).parents[2] / "scenes"
LETTER, A4 = (612.0, 792.0), (595.28, 841.89)
"""Points: ANSI Y14.1 size A, ISO 216."""
MIRRORED = {"added": "gone", "gone": "added", "changed": "changed"}
KINDS = ("holes", "cables", "boxes", "circuits", "members")


def with_bore(plan: Plan, name: str, **more: object) -> Plan:
    assert any(one.id == name for one in plan.bores)
    return replace(plan, bores=tuple(replace(one, **more) if one.id == name else one for one in plan.bores))


def with_cable(plan: Plan, name: str, **more: object) -> Plan:
    assert any(one.id == name for one in plan.cables)
    return replace(plan, cables=tuple(replace(one, **more) if one.id == name else one for one in plan.cables))


def with_part(plan: Plan, field: str, name: str, **more: object) -> Plan:
    """One box, member ... of the building otherwise."""
    parts = getattr(plan.building, field)
    assert any(one.id == name for one in parts)
    changed = tuple(replace(one, **more) if one.id == name else one for one in parts)
    return replace(plan, building=replace(plan.building, **{field: changed}))


def only(found: Changes, kind: str) -> Change:
    """The one change of a kind, with nothing else of what is bored, pulled or made up."""
    others = {name: getattr(found, name) for name in KINDS if name != kind}
    assert not any(others.values()), others
    [change] = getattr(found, kind)
    return change


def text_sections(text: str) -> dict[str, list[str]]:
    """Lines by the heading that they stand under; a heading has a rule of = under it."""
    found: dict[str, list[str]] = {}
    lines = text.splitlines()
    heading = ""
    for line, after in zip(lines, [*lines[1:], ""], strict=True):
        if after.startswith("====="):
            heading = line
            assert heading not in found
            found[heading] = []
        elif heading and not line.startswith("====="):
            found[heading].append(line)
    return found


def pdf_text(data: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)


def rows_of(plan: Plan, name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(csv_tables(plan)[name])))


# Nothing


@pytest.mark.parametrize("make", [sample_plan, wired_plan])
def test_a_plan_against_itself_and_against_its_own_file_is_one_line(make):
    plan = make()
    for other in (plan, plan_from_json(plan_to_json(plan))):
        assert compare(plan, other).nothing
        assert changes_text(plan, other).count("\n") == 1
        data = json.loads(changes_json(plan, other))
        assert data["nothing"] is True
        assert not any(data[kind] for kind in KINDS)
        assert "Nothing has changed" in pdf_text(changes_pdf(plan, other))


# Holes


@pytest.mark.parametrize(("metric", "grid"), [(False, 1 / 16), (True, 1 / 25.4)])
def test_less_than_a_step_of_the_print_grid_is_no_move(metric, grid):
    """1/16 in and 1 mm: what the printed lengths are rounded to."""
    building = sample_building(metric=metric)
    plan = sample_plan(building=replace(building, tools=replace(building.tools, grid_in=grid)))
    assert compare(plan, with_bore(plan, "LOFT-J3.a", along_in=60 + 0.9 * grid)).nothing
    change = only(compare(plan, with_bore(plan, "LOFT-J3.a", along_in=60 + grid)), "holes")
    assert change.differs == ("place",)
    assert change.by_in == pytest.approx((grid, 0.0))


def test_a_moved_hole_says_by_how_much_and_from_where():
    plan = sample_plan()
    new = with_bore(plan, "LOFT-J4.a", along_in=60 + 38.25, across_in=4.625 - 1)
    change = only(compare(plan, new), "holes")
    assert (change.kind, change.differs, change.by_in) == ("changed", ("place",), (38.25, -1.0))
    found = " ".join(" ".join(text_sections(changes_text(plan, new))["HOLES THAT HAVE MOVED"]).split())
    assert 'moved 3\' 2-1/4" farther from the south end, 1" nearer to the bottom edge' in found
    assert 'was 5\' 0" from the south end, 4-5/8" from the bottom edge' in found
    assert re.search(r"\[ \] LOFT-J4.a 3/4\" 8' 2-1/4\" from the south 3-5/8\" from the bottom", found)


def test_a_hole_that_only_got_another_id_is_renamed():
    plan = sample_plan()
    new = with_bore(plan, "SOUTH-S3.a", id="SOUTH-S3.b")
    new = with_cable(
        new, "P1.TOOL", bores=("SOUTH-S3.b",), tracks=("SOUTH", "SOUTH", "bore SOUTH-S3.b", "SOUTH", "SOUTH")
    )
    change = only(compare(plan, new), "holes")
    assert (change.old.id, change.new.id, change.differs) == ("SOUTH-S3.a", "SOUTH-S3.b", ("id",))
    assert "renamed SOUTH-S3.a to SOUTH-S3.b" in changes_text(plan, new)


def test_ids_that_change_places_are_two_renamed_holes_and_no_moved_one():
    plan = sample_plan()
    second = bore("LOFT-J3.b", "LOFT-J3", 90.0, 4.625, ("L1.LAMP2",))
    old = replace(plan, bores=(*plan.bores, second))
    new = replace(
        old,
        bores=tuple(
            replace(one, id={"LOFT-J3.a": "LOFT-J3.b", "LOFT-J3.b": "LOFT-J3.a"}.get(one.id, one.id))
            for one in old.bores
        ),
    )
    found = compare(old, new).holes
    assert {(one.old.id, one.new.id, one.differs) for one in found} == {
        ("LOFT-J3.a", "LOFT-J3.b", ("id",)),
        ("LOFT-J3.b", "LOFT-J3.a", ("id",)),
    }


def test_a_member_measured_from_its_other_end_moves_no_hole():
    plan = with_bore(sample_plan(), "LOFT-J5.a", along_in=40.0)
    joist = next(one for one in plan.building.members if one.id == "LOFT-J5")
    x, y, z = joist.origin
    turned = with_part(
        plan, "members", "LOFT-J5", origin=(x, y + 120.0, z), along=(0.0, -1.0, 0.0), along_from="north end"
    )
    new = with_bore(turned, "LOFT-J5.a", along_in=80.0)  # 120 - 40
    [change] = compare(plan, new).holes
    assert change.differs == ("from",)
    assert "5' 0\"" not in changes_text(plan, new)
    assert "6' 8\" from the north end" in " ".join(changes_text(plan, new).split())
    unmoved = compare(plan, with_bore(turned, "LOFT-J5.a", along_in=40.0)).holes
    assert unmoved[0].differs == ("place", "from")
    assert unmoved[0].by_in == pytest.approx((-40.0, 0.0))


@pytest.mark.parametrize(
    ("more", "differs", "heading", "words"),
    [
        ({"diameter_in": 1.0}, "bit", "HOLES TO BORE LARGER", '[ ] LOFT-J3.a bit 1", was 3/4"'),
        ({"diameter_in": 0.625}, "bit", "HOLES AT THE SAME PLACE, OTHERWISE USED OR NAMED", 'bit 5/8", was 3/4"'),
        (
            {"nail_plates": ("far side",)},
            "plates",
            "HOLES AT THE SAME PLACE, OTHERWISE USED OR NAMED",
            "nail plate on: far side; was: none",
        ),
        (
            {"cables": ("L1.LAMP2", "P1.TOOL")},
            "cables",
            "HOLES AT THE SAME PLACE, OTHERWISE USED OR NAMED",
            "now for P1.TOOL",
        ),
        ({"across_min_in": 3.0}, "band", "HOLES AT THE SAME PLACE, OTHERWISE USED OR NAMED", 'band 3" to 6-7/8"'),
        ({"existing": True}, "there", "HOLES THAT ARE THERE ALREADY", "LOFT-J3.a bored"),
    ],
)
def test_what_else_can_be_otherwise_at_a_hole(more, differs, heading, words):
    plan = sample_plan()
    new = with_bore(plan, "LOFT-J3.a", **more)
    assert only(compare(plan, new), "holes").differs == (differs,)
    assert words in " ".join(" ".join(text_sections(changes_text(plan, new))[heading]).split())


def test_a_hole_that_was_bored_elsewhere_than_planned_is_nothing_to_bore():
    plan = sample_plan()
    new = with_bore(plan, "LOFT-J3.a", along_in=61.0, existing=True)
    new = replace(new, bores=(*new.bores, bore("LOFT-J1.a", "LOFT-J1", 30.0, 4.625, ("L1.LAMP2",), existing=True)))
    sections = text_sections(changes_text(plan, new))
    assert not [name for name in sections if "BORE" in name or "MOVED" in name]
    words = " ".join(" ".join(sections["HOLES THAT ARE THERE ALREADY"]).split())
    assert 'LOFT-J3.a 5\' 1" from the south end, 4-5/8" from the bottom edge: 1" farther from the south end' in words
    assert "LOFT-J1.a 2' 6\" from the south end" in words


def test_a_hole_bored_larger_is_no_hole_to_bore_larger_backwards():
    plan = sample_plan()
    assert "HOLES TO BORE LARGER" not in text_sections(
        changes_text(with_bore(plan, "LOFT-J3.a", diameter_in=1.0), plan)
    )


def test_a_hole_in_a_plate_that_is_not_used_is_told_as_one_and_one_in_a_stud_not():
    plan = sample_plan()
    for gone, cable_id, sealed in (("SOUTH-T1.a", "L1.LAMP1", True), ("SOUTH-S4.a", "P1.DESK", False)):
        new = replace(
            plan,
            bores=tuple(one for one in plan.bores if one.id != gone),
            cables=tuple(one for one in plan.cables if one.id != cable_id),
        )
        lines = " ".join(text_sections(changes_text(plan, new))["HOLES NO LONGER USED"])
        assert gone in lines
        assert ("in a plate or rim" in lines) is sealed
        assert ("common practice, no source" in lines) is sealed


# Cables


@pytest.mark.parametrize(
    ("more", "differs", "heading"),
    [
        ({"type": "12/2"}, ("type",), "CABLES TO CUT ANEW"),
        ({"cut_in": 200.0}, ("longer",), "CABLES TO CUT ANEW"),
        ({"cut_in": 20.0}, ("shorter",), "CABLES THAT STAY, OTHERWISE LABELLED OR CONNECTED"),
        ({"from_box": "DESK"}, ("ends",), "CABLES TO PULL OTHERWISE"),
        ({"from_box": "DESK", "cut_in": 200.0}, ("ends", "longer"), "CABLES TO CUT ANEW"),
        ({"done": True}, ("pulled",), "CABLES THAT STAY, OTHERWISE LABELLED OR CONNECTED"),
        ({"done": True, "cut_in": 200.0}, ("longer", "pulled"), "CABLES THAT STAY, OTHERWISE LABELLED OR CONNECTED"),
    ],
)
def test_a_piece_that_is_cut_does_or_does_not(more, differs, heading):
    plan = sample_plan()
    new = with_cable(plan, "L1.LAMP2", **more)
    assert only(compare(plan, new), "cables").differs == differs
    sections = text_sections(changes_text(plan, new))
    told = [name for name, lines in sections.items() if "CABLES" in name and any("L1.LAMP2" in x for x in lines)]
    assert told == [heading]


def test_a_longer_cable_says_what_the_old_piece_would_leave_of_slack():
    plan = sample_plan()
    old = next(one for one in plan.cables if one.id == "L1.LAMP2")
    # The path is 48 in, so slack 2.4; 1.5 in more path: without slack 1.5 longer, so 0.9 in of the old slack is left.
    assert (old.path_in, old.slack_in) == (48.0, 2.4)
    new = with_cable(plan, "L1.LAMP2", path_in=49.5, slack_in=2.475, cut_in=old.cut_in + 1.575)
    words = " ".join(changes_text(plan, new).split())
    assert '1-9/16" longer' in words
    assert 'the old piece would leave 7/8" of slack instead of 2-1/2"' in words
    far = with_cable(plan, "L1.LAMP2", path_in=60.0, slack_in=3.0, cut_in=old.cut_in + 12.6)
    assert "slack instead" not in " ".join(changes_text(plan, far).split())


def test_a_cable_fed_from_its_other_end_is_the_same_piece_with_another_label():
    plan = sample_plan()
    old = next(one for one in plan.cables if one.id == "P1.DESK")
    new = with_cable(
        plan, "P1.DESK", id="P1.TOOL2", from_box="DESK", to_box="TOOL", points=old.points[::-1],
        tracks=old.tracks[::-1],
    )  # fmt: skip
    new = with_bore(new, "SOUTH-S4.a", cables=("P1.TOOL2",))
    change = only(compare(plan, new), "cables")
    assert (change.old.id, change.new.id, change.differs) == ("P1.DESK", "P1.TOOL2", ("id", "direction"))
    lines = " ".join(changes_text(plan, new).split())
    assert "renamed P1.DESK to P1.TOOL2" in lines
    assert "its label was P1 TOOL>DESK 12/2" in lines


def test_another_way_names_the_members_that_it_leaves_and_takes():
    plan = sample_plan()
    new = replace(
        plan,
        bores=tuple(
            replace(one, id="SOUTH-S5.a", member="SOUTH-S5") if one.id == "SOUTH-S4.a" else one for one in plan.bores
        ),
    )
    new = with_cable(
        new, "P1.DESK", bores=("SOUTH-S5.a",), tracks=("SOUTH", "SOUTH", "bore SOUTH-S5.a", "SOUTH", "SOUTH")
    )
    found = compare(plan, new)
    [change] = found.cables
    assert change.differs == ("members", "way")
    assert {one.kind for one in found.holes} == {"added", "gone"}
    assert "no longer through SOUTH-S4; now through SOUTH-S5" in changes_text(plan, new)


# Boxes, circuits, framing


def test_a_box_says_how_far_it_has_moved_and_which_way():
    plan = sample_plan()
    new = with_part(plan, "boxes", "DESK", at=(20.0, 1.75, 49.5), u_in=20.0, v_in=49.5)
    change = only(compare(plan, new), "boxes")
    assert (change.differs, change.by_in) == (("place",), (-36.0, 0.0, 1.5))
    assert 'moved 3\' 0" west, 1-1/2" up' in " ".join(text_sections(changes_text(plan, new))["BOXES THAT HAVE MOVED"])


def test_a_joint_that_is_made_otherwise_is_told_before_and_after_and_no_other():
    plan = wired_plan()
    card = next(one for one in plan.makeups if one.box == "SW2")
    bare = next(one for one in card.joints if one.net == "ground")
    neutral = next(one for one in card.joints if one.net == "neutral")
    joints = tuple(replace(one, ends=one.ends[:1]) if one is neutral else one for one in card.joints)
    joints = tuple(replace(one, ends=one.ends[::-1]) if one is bare else one for one in joints)  # the same metal
    new = replace(plan, makeups=tuple(replace(m, joints=joints) if m is card else m for m in plan.makeups))
    change = only(compare(plan, new), "boxes")
    assert (change.differs, change.opened) == (("joints",), (neutral,))
    assert [one.ends for one in change.made] == [neutral.ends[:1]]
    lines = " ".join(" ".join(text_sections(changes_text(plan, new))["JOINTS TO OPEN AND MAKE AGAIN"]).split())
    assert "was: Join the white of LIGHTS.SW2 and the white of LIGHTS.G1." in lines
    assert "now: Cap the white of LIGHTS.SW2" in lines


@pytest.mark.parametrize(
    ("box_more", "makeup_more", "differs"),
    [
        ({}, {"box_type": "square-4x2-1-8"}, "bought"),
        ({}, {"ring": ""}, "bought"),
        ({"size_in": (4.0, 4.0, 3.0)}, {}, "size"),
        ({"circuits": ("LIGHTS", "OUT")}, {}, "circuits"),
    ],
)
def test_a_box_to_swap(box_more, makeup_more, differs):
    plan = wired_plan()
    new = with_part(plan, "boxes", "SW1", **box_more)
    new = replace(new, makeups=tuple(replace(m, **makeup_more) if m.box == "SW1" else m for m in new.makeups))
    assert only(compare(plan, new), "boxes").differs == (differs,)
    sections = text_sections(changes_text(plan, new))
    assert any("SW1" in line for line in sections["BOXES TO SWAP, OR WITH OTHER DEVICES"])


def test_another_device_in_a_box():
    plan = wired_plan()
    new = with_part(plan, "devices", "O1", ground_fault=False)
    assert only(compare(plan, new), "boxes").differs == ("devices",)
    words = " ".join(changes_text(plan, new).split())
    assert "in it: receptacle O1 (15 A, 120 V); was: receptacle O1 (15 A, 120 V, ground-fault)" in words


def test_a_circuit_tells_each_figure_as_printed():
    plan = wired_plan()
    sheets = [
        replace(one, breaker_a=20.0, awg=12, drop_percent=1.26) if one.circuit == "LIGHTS" else one
        for one in plan.circuits
    ]
    new = replace(plan, circuits=tuple(sheets))
    # 1.25 and 1.26 per cent are printed 1.2 and 1.3 (half to even).
    change = only(compare(plan, new), "circuits")
    assert change.differs == ("breaker_a", "awg", "drop_percent")
    words = " ".join(text_sections(changes_text(plan, new))["CIRCUITS IN THE PANEL"])
    assert "breaker 20 A, was 15 A; conductors 12 AWG, was 14 AWG; drop 1.3 %, was 1.2 %" in words


def test_framing_that_moved_or_has_another_section_is_told():
    plan = sample_plan()
    moved = with_part(plan, "members", "LOFT-J2", origin=(17.25, 0.0, 96.0))
    assert only(compare(plan, moved), "members").by_in == (2.0, 0.0, 0.0)
    assert 'moved 2" east' in changes_text(plan, moved)
    other = with_part(plan, "members", "LOFT-J2", depth_in=7.25, section="2x8 (dressed 1-1/2 x 7-1/4)")
    assert only(compare(plan, other), "members").differs == ("section",)
    leaning = with_part(plan, "members", "LOFT-J2", along=(0.001, 0.9999995, 0.0))  # 0.12 in at its far end
    assert only(compare(plan, leaning), "members").differs == ("place",)


def test_boxes_that_are_no_longer_reached_and_that_are_now():
    plan = sample_plan()
    new = replace(plan, unreached=("NEST",), unreached_why=())
    data = json.loads(changes_json(plan, new))
    assert data["unreached"] == {"now": ["NEST"], "no_longer": ["FAR"]}
    words = text_sections(changes_text(plan, new))["BOXES WITHOUT A ROUTE"]
    assert any(re.match(r"FAR +reached now", line) for line in words)
    assert any(re.match(r"NEST +no longer reached", line) for line in words)


def test_warnings_and_assumptions_of_one_plan_alone_are_told():
    plan = sample_plan()
    new = replace(plan, warnings=("the loft sags",), assumptions=plan.assumptions[:1])
    said = {(one["about"], one["text"], one["gone"]) for one in json.loads(changes_json(plan, new))["said"]}
    assert said == {
        ("warning", "the loft sags", False),
        ("warning", plan.warnings[0], True),
        ("assumption", plan.assumptions[1], True),
    }


# Really planned


@cache
def planned(easel: str = "3' 4\"") -> Plan:
    """The studio with its outlet at the easel so far along the north wall."""
    text = (SCENES / "garden-studio.yaml").read_text(encoding="utf-8")
    place = "EASEL: {circuit: A, device: receptacle, wall: NORTH, along: 3' 4\""
    assert text.count(place) == 1
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "studio.yaml"
        path.write_text(text.replace(place, place.replace("3' 4\"", easel)), encoding="utf-8")
        return plan_building(read_building(path), effort="quick")


def test_one_box_moved_in_a_scene_moves_that_box_and_the_sums_are_those_of_the_lists():
    old, new = planned(), planned("2' 0\"")
    found, data = compare(old, new), json.loads(changes_json(old, new))
    [easel] = found.boxes
    assert (easel.new.box.id, easel.differs) == ("EASEL", ("place",))
    assert easel.by_in == pytest.approx((16.0, 0.0, 0.0))  # NORTH runs west: 16 in nearer to its start is 16 in east

    cut = [{row["cable"]: Decimal(row["cut_in"]) for row in rows_of(plan, "cables.csv")} for plan in (old, new)]
    longer = sum(cut[1].values()) - sum(cut[0].values())
    assert longer
    total = next(one for one in found.feet if one.name == "total")
    assert float(total.more) == pytest.approx(float(longer / 12), abs=1e-3)
    changed = {name for name in cut[0] if abs(cut[0][name] - cut[1][name]) >= Decimal(1) / 16}
    assert {one["id"] for one in data["cables"] if {"longer", "shorter"} & {*one["differs"]}} == changed

    money = [
        sum((Decimal(row["price"]) for row in rows_of(plan, "takeoff.csv") if row["price"]), Decimal(0))
        for plan in (old, new)
    ]
    assert found.more_money == money[1] - money[0]
    assert data["more_money"] == pytest.approx(float(money[1] - money[0]))

    bits = [Counter(row["diameter_in"] for row in rows_of(plan, "holes.csv")) for plan in (old, new)]
    more = {name: bits[1][name] - bits[0][name] for name in {*bits[0], *bits[1]} if bits[0][name] != bits[1][name]}
    assert {one["name"]: one["more"] for one in data["holes_by_bit"]} == more

    places = [
        {(row["member"], row["along_in"], row["across_in"]) for row in rows_of(plan, "holes.csv")}
        for plan in (old, new)
    ]
    told_new = {(one.new.member, one.new.along_in, one.new.across_in) for one in found.holes if one.kind == "added"}
    assert {(member, float(along), float(across)) for member, along, across in places[1] - places[0]} >= told_new
    assert len(places[1]) - len(places[0]) == sum({"added": 1, "gone": -1}.get(one.kind, 0) for one in found.holes)


def fewer_joints() -> Plan:
    """The wired shed with fewer pigtails, and all of it in one phase."""
    plan = wired_plan()
    boxes = tuple(replace(one, phase=1) for one in plan.building.boxes)
    makeups = tuple(
        replace(one, joints=tuple(replace(joint, terminals=()) for joint in one.joints)) if one.box == "MIX" else one
        for one in plan.makeups
    )
    return replace(plan, building=replace(plan.building, boxes=boxes), makeups=makeups)


@pytest.mark.parametrize(
    "pair", [lambda: (planned(), planned("2' 0\"")), lambda: (wired_plan(), fewer_joints())], ids=["scene", "by hand"]
)
def test_what_to_buy_more_and_less_is_the_difference_of_the_lists(pair):
    old, new = pair()
    bought = []
    for plan in (old, new):
        found: Counter[tuple[str, ...]] = Counter()
        for row in rows_of(plan, "takeoff.csv"):
            size = re.split(r"[,;] for [0-9]+ [a-z]", row["size"])[0]  # "for 13 pigtails" is a count, not a size
            found[row["where"], row["item"], size, row["unit"]] += Decimal(row["quantity"])
        bought.append(found)
    more = {key: bought[1][key] - bought[0][key] for key in {*bought[0], *bought[1]}}
    told = {
        (one["where"], one["item"], one["size"], one["unit"]): one["more"]
        for one in json.loads(changes_json(old, new))["bought"]
    }
    assert {key: pytest.approx(float(value)) for key, value in more.items() if value} == told


def test_in_text_every_hole_to_bore_has_its_tick_and_holes_that_stay_alike_are_one_row():
    plan = sample_plan()
    new = plan
    for name in ("LOFT-J3.a", "LOFT-J4.a"):
        new = with_bore(new, name, along_in=70.0)
    moved = text_sections(changes_text(plan, new))["HOLES THAT HAVE MOVED"]
    assert [line.split()[2] for line in moved if line.startswith("[ ]")] == ["LOFT-J3.a", "LOFT-J4.a"]
    new = plan
    for name in ("LOFT-J3.a", "LOFT-J4.a", "LOFT-J5.a"):
        new = with_bore(new, name, diameter_in=0.625)
    same = text_sections(changes_text(plan, new))["HOLES AT THE SAME PLACE, OTHERWISE USED OR NAMED"]
    assert [line.strip() for line in same if "the same: LOFT-J4.a, LOFT-J5.a" in line]


# Any two plans


@st.composite
def pairs(draw: st.DrawFn) -> tuple[Plan, Plan]:
    """Two plans out of one stock of cables with their holes, and of boxes; ids of holes run along each member."""
    stock = sample_plan()
    joists = [f"LOFT-J{i}" for i in range(1, 6)]
    cables: list[Cable] = list(stock.cables)
    bores: list[Bore] = list(stock.bores)
    for number in range(4):
        name = f"L1.EXTRA{number}"
        member = draw(st.sampled_from(joists))
        hole = f"{member}.x{number}"
        points = ((24, 60, 100), (25, 60, 100), (26, 60, 100), (40, 60, 100))
        cables.append(cable(name, ("LAMP1", f"E{number}"), points, ("LOFT", f"bore {hole}", "LOFT"), 0.0))
        bores.append(bore(hole, member, 12.0 + 7 * number, 4.625, (name,)))
    boxes: list[Box] = [*stock.building.boxes, *(box(f"E{n}", ("L1",), "LOFT", (8.0 * n, 60, 97)) for n in range(4))]
    return _side(draw, stock, cables, bores, boxes), _side(draw, stock, cables, bores, boxes)


def _side(draw: st.DrawFn, stock: Plan, cables: list[Cable], bores: list[Bore], boxes: list[Box]) -> Plan:
    kept = draw(st.lists(st.sampled_from(cables), unique_by=lambda one: one.id))
    ids = {one.id for one in kept}
    holes = [
        replace(one, cables=tuple(name for name in one.cables if name in ids))
        for one in bores
        if ids.intersection(one.cables)
    ]
    names = {}
    for member in {one.member for one in holes}:
        own = sorted((one for one in holes if one.member == member), key=lambda one: one.along_in)
        names |= {one.id: f"{member}.{letter}" for one, letter in zip(own, "abcdefgh", strict=False)}
    renamed = [
        replace(
            one,
            bores=tuple(names[hole] for hole in one.bores),
            tracks=tuple(
                f"bore {names[track.removeprefix('bore ')]}" if track.startswith("bore ") else track
                for track in one.tracks
            ),
        )
        for one in kept
    ]
    needed = {"PANEL", *(end for one in kept for end in (one.from_box, one.to_box))}
    some = draw(st.sets(st.sampled_from([one.id for one in boxes])))
    return replace(
        stock,
        building=replace(
            stock.building,
            boxes=tuple(one for one in boxes if one.id in needed | some),
            circuits=stock.building.circuits,
        ),
        cables=tuple(renamed),
        bores=tuple(draw(st.permutations([replace(one, id=names[one.id]) for one in holes]))),
        unreached=(),
        unreached_why=(),
    )


def place(one: Bore) -> tuple[str, float, float]:
    return one.member, one.along_in, one.across_in


@settings(max_examples=60, deadline=None)
@given(pairs())
def test_everything_that_one_plan_alone_has_is_told_once_and_nothing_that_both_have_as_new_or_gone(pair):
    old, new = pair
    found, data = compare(old, new), json.loads(changes_json(old, new))
    before, after = {place(one) for one in old.bores}, {place(one) for one in new.bores}
    gone = Counter(place(one.old) for one in found.holes if one.kind == "gone" or "place" in one.differs)
    come = Counter(place(one.new) for one in found.holes if one.kind == "added" or "place" in one.differs)
    assert gone == Counter(before - after)
    assert come == Counter(after - before)
    for kind, name_of in (("cables", lambda one: one.id), ("boxes", lambda one: one.id)):
        sides = [
            {name_of(one) for one in (plan.cables if kind == "cables" else plan.building.boxes)} for plan in (old, new)
        ]
        told = [Counter(one["id"] for one in data[kind] if one["change"] == change) for change in ("gone", "added")]
        assert told == [Counter(sides[0] - sides[1]), Counter(sides[1] - sides[0])]
    text = changes_text(old, new)
    assert found.nothing is (text.count("\n") == 1)
    assert all(width(line) <= 100 for line in text.splitlines())
    sections = text_sections(text)
    for heading, holes in (
        ("HOLES TO BORE NEW", [one.new.id for one in found.holes if one.kind == "added" and not one.new.existing]),
        ("HOLES NO LONGER USED", [one.old.id for one in found.holes if one.kind == "gone"]),
    ):
        words = re.findall(r"(?<![\w.-])(?:LOFT|SOUTH)-\w+\.[a-h](?![\w.])", "\n".join(sections.get(heading, [])))
        assert Counter(words) == Counter(holes)


@settings(max_examples=30, deadline=None)
@given(pairs())
def test_backwards_it_is_the_mirror(pair):
    old, new = pair
    there, back = compare(old, new), compare(new, old)
    turn = {"longer": "shorter", "shorter": "longer"}

    def told(changes, *, mirrored):
        for kind in KINDS:
            for one in getattr(changes, kind):
                sides = (one.new, one.old) if mirrored else (one.old, one.new)
                differs = frozenset(turn.get(word, word) if mirrored else word for word in one.differs)
                by = tuple(round(-step if mirrored else step, 9) + 0.0 for step in one.by_in)
                yield kind, MIRRORED[one.kind] if mirrored else one.kind, *map(repr, sides), differs, by

    assert Counter(told(there, mirrored=False)) == Counter(told(back, mirrored=True))
    for part in ("feet", "holes_by_bit", "cost"):
        ways = [{one.name: one.more for one in getattr(way, part)} for way in (there, back)]
        assert ways[0] == {name: -more for name, more in ways[1].items()}
    assert there.more_money == -back.more_money


# Paper and JSON


@pytest.mark.parametrize(("paper", "size"), [("letter", LETTER), ("a4", A4)])
def test_the_sheet_has_every_id_on_paper_of_that_size(paper, size):
    old, new = planned(), planned("2' 0\"")
    data = changes_pdf(old, new, paper=paper)
    assert data == changes_pdf(old, new, paper=paper)
    for page in PdfReader(io.BytesIO(data)).pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(size, abs=0.1)
    words = re.sub(r"-\s+", "-", pdf_text(data))
    told = json.loads(changes_json(old, new))
    ids = [one["id"] for kind in KINDS for one in told[kind]]
    assert ids
    assert not [name for name in ids if name not in words]
    assert "Nothing live" in words


def test_what_a_scene_says_is_set_as_text():
    plan = sample_plan()
    title = '<script> #strong[x] $ x $ \\ "q" \x1b[31m ]]'
    new = with_part(plan, "boxes", "DESK", at=(20.0, 1.75, 48.0), title=title)
    new = replace(new, warnings=(title,), building=replace(new.building, title=title))
    assert "#strong[x] $ x $" in pdf_text(changes_pdf(plan, new))
    text = changes_text(plan, new)
    assert "\x1b" not in text
    assert "<script>" in text


def test_lengths_are_in_the_units_of_the_new_plan():
    plan = sample_plan()
    metric = replace(plan, building=replace(plan.building, metric=True))
    new = with_bore(metric, "LOFT-J4.a", along_in=72.0)
    assert "moved 305 mm farther from the south end" in changes_text(plan, new)  # 12 in x 25.4 = 304.8
    assert "moved 1' 0\" nearer to the south end" in changes_text(new, plan)


def test_the_json_has_the_form_that_is_written_down():
    plan = sample_plan()
    new = with_bore(plan, "LOFT-J4.a", along_in=72.0)
    data = json.loads(changes_json(plan, new))
    assert (data["format"], data["version"], data["nothing"]) == ("barnloom changes", 1, False)
    assert data["counts"]["holes"] == {"added": 0, "gone": 0, "changed": 1}
    [hole] = data["holes"]
    assert (hole["change"], hole["id"], hole["differs"], hole["moved_in"]) == (
        "changed",
        "LOFT-J4.a",
        ["place"],
        [12.0, 0.0],
    )
    assert (hole["old"]["along_in"], hole["new"]["along_in"]) == (60.0, 72.0)
    assert hole["new"]["along_from"] == "south end"
    assert changes_json(plan, new) == changes_json(plan_from_json(plan_to_json(plan)), new)


def test_order_is_what_is_to_be_done_first():
    plan = sample_plan()
    new = with_bore(plan, "LOFT-J4.a", along_in=72.0)
    new = with_cable(new, "P1.TOOL", cut_in=400.0)
    new = with_part(new, "boxes", "DESK", at=(20.0, 1.75, 48.0))
    headings = list(text_sections(changes_text(plan, new)))
    wanted = ["HOLES THAT HAVE MOVED", "CABLES TO CUT ANEW", "BOXES THAT HAVE MOVED", "SUMS"]
    assert [one for one in headings if one in wanted] == wanted

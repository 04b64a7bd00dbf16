"""Lists for people: tape fractions, equal members on one line, sums that add up, tables that hold any text."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sample_plan import bore, cable, sample_building, sample_members, sample_plan

from barnloom.model.building import Role
from barnloom.model.lengths import read_length
from barnloom.routing.plan import Plan
from barnloom.viewer.cautions import CAUTIONS
from barnloom.viewer.lists import cables_text, holes_text
from barnloom.viewer.paths import direction_word, framing, run_words, runs, side_words
from barnloom.viewer.report import figures, summary
from barnloom.viewer.text import COLUMNS, clean, flowed, width, wrapped

TEXTS = (holes_text, cables_text, summary)


def line_of(text: str, start: str) -> str:
    """The one line of a text that begins so, blanks at its start apart."""
    [line] = [line for line in text.splitlines() if line.strip().startswith(start)]
    return line


def section(text: str, heading: str) -> str:
    """What stands under a heading, up to the next ruled one."""
    body = text.split(heading, 1)[1]
    return re.split(r"\n[^\n]*\n={20,}", body.split("\n", 2)[2] if "====" in body.split("\n", 2)[1] else body)[0]


def test_a_hole_shows_along_aim_and_band_in_tape_fractions() -> None:
    line = line_of(holes_text(sample_plan()), "[ ]  SOUTH-S3")
    assert line.split() == (
        ["[", "]", "SOUTH-S3.a", "3'", '1/2"', '1-3/4"', '1-11/16"', "to", '1-13/16"', "P1.TOOL", "________"]
    )


def test_equal_holes_of_neighbours_share_one_line_with_a_tick_for_each() -> None:
    text = holes_text(sample_plan())
    assert "LOFT-J3 to LOFT-J5: same   5' 0\"" in text
    assert line_of(text, "[ ] LOFT-J3") == "     [ ] LOFT-J3.a ________  [ ] LOFT-J4.a ________  [ ] LOFT-J5.a ________"


@pytest.mark.parametrize(
    "change", [{"along_in": 61.0}, {"across_max_in": 6.75}, {"cables": ("P1.TOOL",)}, {"nail_plates": ("bottom edge",)}]
)
def test_holes_that_differ_in_anything_do_not_share_a_line(change: dict[str, object]) -> None:
    plan = sample_plan()
    bores = tuple(replace(one, **change) if one.id == "LOFT-J4.a" else one for one in plan.bores)
    text = holes_text(replace(plan, bores=bores))
    assert "same" not in text
    assert sum(line.startswith("[ ]  LOFT-J") for line in text.splitlines()) == 3


def test_a_line_for_equal_members_never_spans_a_member_that_has_no_hole() -> None:
    plan = sample_plan()
    text = holes_text(replace(plan, bores=tuple(one for one in plan.bores if one.id != "LOFT-J4.a")))
    assert "same" not in text


def test_a_line_for_equal_members_with_long_names_says_their_assembly_once() -> None:
    plan = sample_plan()
    building = plan.building

    def renamed(name: str) -> str:
        return name.replace("LOFT", "SAIL-LOFT-FLOOR")

    members = tuple(replace(m, id=renamed(m.id), assembly=renamed(m.assembly)) for m in building.members)
    assemblies = tuple(replace(a, id=renamed(a.id)) for a in building.assemblies)
    bores = tuple(replace(one, member=renamed(one.member)) for one in plan.bores)
    text = holes_text(replace(plan, building=replace(building, members=members, assemblies=assemblies), bores=bores))
    assert "     SAIL-LOFT-FLOOR-J3 to J5:  5' 0\"" in text


def test_holes_are_grouped_by_bit_and_keep_walking_order_in_it() -> None:
    text = holes_text(sample_plan())
    assert text.index('BIT 3/4": 5 holes') < text.index("SOUTH-S3") < text.index("SOUTH-S4") < text.index("LOFT-J3")
    assert text.index("LOFT-J3") < text.index('BIT 1": 1 hole') < text.index("SOUTH-T1")


def test_every_table_says_where_the_tape_hooks_on() -> None:
    text = holes_text(sample_plan())
    assert "SOUTH, South wall: hook the tape on the west end; aim and allowed from the room-side face" in text
    assert "LOFT, Loft floor: hook the tape on the south end; aim and allowed from the bottom edge" in text


def test_a_nail_plate_names_its_face_and_an_old_hole_is_not_bored() -> None:
    text = holes_text(sample_plan())
    assert "NAIL PLATE on: room side" in text
    assert "[x]  LOFT-J6: OLD1" in section(text, "HOLES THERE ALREADY: nothing to bore")


def test_the_foot_of_the_hole_list_adds_up() -> None:
    text = section(holes_text(sample_plan()), "TOTALS")
    assert text.splitlines()[:5] == [
        'bit 3/4": 5 holes',
        'bit 1": 1 hole',
        "6 holes to bore, 4 of them overhead",
        "1 hole there already",
        "1 nail plate",
    ]


def test_the_band_is_printed_inward() -> None:
    odd = bore("LOFT-J3.a", "LOFT-J3", 60.0, 4.625, ("L1.LAMP2",), across_min_in=2.38, across_max_in=6.87)
    assert '2-7/16" to 6-13/16"' in line_of(holes_text(sample_plan(bores=(odd,))), "[ ]  LOFT-J3")


def test_a_metric_scene_is_printed_in_millimetres() -> None:
    text = holes_text(sample_plan(building=sample_building(metric=True)))
    assert '"' not in section(text, "BIT 19 mm")
    assert "1524 mm" in text


def test_members_of_two_kinds_drilled_in_one_pass_name_each_other() -> None:
    plan = sample_plan()
    row = tuple(replace(one, drill_pass="row") if one.member.startswith("LOFT") else one for one in plan.bores)
    sole = bore("SOUTH-P1.a", "SOUTH-P1", 24.0, 1.75, ("L1.LAMP1",), drill_pass="SOUTH-T1.a", diameter_in=1.0)
    text = holes_text(replace(plan, bores=(*row, sole)))
    assert "in one go with SOUTH-P1" in text
    assert "in one go with SOUTH-T1" in text
    assert "in one go with LOFT" not in text


def test_a_row_of_joists_and_trimmers_is_no_single_push_of_the_bit() -> None:
    plan = sample_plan()
    row = tuple(replace(one, drill_pass="row") for one in plan.bores if one.member.startswith("LOFT"))
    members = tuple(replace(m, role=Role.TRIMMER) if m.id == "LOFT-J5" else m for m in plan.building.members)
    text = holes_text(replace(plan, bores=row, building=replace(plan.building, members=members)))
    assert "in one go" not in text


def test_a_tie_is_asked_for_with_its_clause() -> None:
    wide = bore("SOUTH-T1.a", "SOUTH-T1", 24.0, 1.75, ("L1.LAMP1",), diameter_in=2.0)
    text = holes_text(sample_plan(bores=(wide,)))
    assert "steel tie across SOUTH-T1" in text
    assert "R602.6.1" in text
    assert "1 plate tie" in text


@pytest.mark.parametrize("text_of", TEXTS)
def test_cautions_assumptions_and_changed_limits_stand_on_every_text(text_of: object) -> None:
    text = " ".join(text_of(sample_plan()).split())  # type: ignore[operator]
    for caution in CAUTIONS:
        assert caution in text
    assert "cable in sight below 7 ft is covered" in text
    assert "limit joist.edge changed to 2.5 in: tightened from 2: the inspector asks for more" in text
    assert "LOFT-J6: an old hole is large" in text


def test_an_answer_that_somebody_gave_says_who_and_when() -> None:
    text = holes_text(sample_plan())
    assert "- Is a lining to come? later [Ada, May]" in text
    assert "Is cable in sight" not in text


def test_a_cable_shows_its_parts_and_they_add_up_as_printed() -> None:
    plan = sample_plan()
    odd = replace(plan.cables[0], path_in=100 / 3, slack_in=5 / 3, cut_in=100 / 3 + 60 + 5 / 3)
    text = cables_text(replace(plan, cables=(odd, *plan.cables[1:])))
    sums = re.findall(r"path .*?\n?.*?= cut .*", text)
    assert len(sums) == 6
    for line in sums:
        parts, cut = line.split("= cut ")
        printed = [read_length(re.sub(r"^[a-z ]*", "", part.strip())) for part in parts.split("+")]
        assert sum(printed) == read_length(cut)


def test_a_cable_names_both_ends_its_steps_and_its_floor() -> None:
    text = cables_text(sample_plan())
    assert line_of(text, "[ ] P1.TOOL") == "[ ] P1.TOOL  12/2  from PANEL to TOOL  floor SHOP"
    assert line_of(text, "[ ] L1.NEST").endswith("from LAMP2 to NEST  between SHOP and LOFT")
    assert "  2  east 1' 4\" in SOUTH between SOUTH-S2 and SOUTH-S3, through SOUTH-S3\n" in text
    assert 'cover 10" of it' in text


def test_a_cable_comes_after_the_one_that_feeds_it() -> None:
    text = cables_text(sample_plan())
    assert text.index("L1.LAMP1") < text.index("L1.LAMP2") < text.index("L1.LAMP3")
    plan = sample_plan()
    renamed = tuple(replace(one, id="P1.A") if one.id == "P1.DESK" else one for one in plan.cables)
    text = cables_text(replace(plan, cables=renamed))
    assert text.index("P1.TOOL") < text.index("P1.A")


def test_a_step_that_begins_in_wood_names_no_bay() -> None:
    plan = sample_plan()
    inside = cable("L1.LAMP2", ("LAMP1", "LAMP2"), ((31.25, 60, 100), (32.75, 60, 100)), ("bore LOFT-J3.a",), 0.0)
    assert '1  east 1-1/2" in LOFT, through LOFT-J3\n' in cables_text(replace(plan, cables=(inside,)))


def test_home_runs_come_first_in_their_circuit_and_pulled_cables_are_ticked() -> None:
    text = cables_text(sample_plan())
    assert text.index("P1.TOOL") < text.index("P1.DESK")
    assert "[x] L1.LAMP3 (pulled already)" in text
    assert "CIRCUIT L1 P1: Lights, Bench outlets" in text


def test_a_box_without_a_route_is_named_with_the_reason_and_what_would_open_one() -> None:
    for text in (cables_text(sample_plan()), summary(sample_plan())):
        assert "FAR (P1): GIRDER may not be bored: it carries the loft" in text
        assert "would open it: a running board from x to y" in text
    assert "NOT REACHED\n  FAR\n" in summary(sample_plan(unreached_why=()))


def strange(plan: Plan, title: str, name: str) -> Plan:
    """The sample with another title everywhere, and longest ids."""
    building = plan.building
    renamed = {box.id: f"{box.id}-{name}"[:40] for box in building.boxes}
    return replace(
        plan,
        building=replace(
            building,
            title=title,
            about={"use": title},
            assemblies=tuple(replace(one, title=title) for one in building.assemblies),
            circuits=tuple(replace(one, title=title) for one in building.circuits),
        ),
        cables=tuple(
            replace(one, from_box=renamed[one.from_box], to_box=renamed[one.to_box], type=name) for one in plan.cables
        ),
        bores=tuple(replace(one, cables=tuple(f"{c}-{name}"[:40] for c in one.cables)) for one in plan.bores),
        warnings=(title, name),
    )


@pytest.mark.parametrize(
    "title",
    [
        "舟小屋の二階" * 30,
        "سقيفة القوارب " * 20,
        "e\u0301" * 200,
        "<script>alert(1)</script>\n\x1b[31m" * 10,
        "x" * 500,
        "",
    ],
)
def test_titles_of_any_script_and_the_longest_ids_keep_every_line_within_the_page(title: str) -> None:
    plan = strange(sample_plan(), title, "Q" * 40)
    for text_of in TEXTS:
        for line in text_of(plan).splitlines():
            assert width(line) <= COLUMNS, line
            assert "\x1b" not in line


def test_wide_signs_do_not_push_columns_out_of_line() -> None:
    plan = sample_plan()
    bores = (*plan.bores[:2], replace(plan.bores[3], cables=("舟小屋",)))
    line = line_of(holes_text(replace(plan, bores=bores)), "[ ]  LOFT-J3")
    assert width(line) == width(line_of(holes_text(plan), "[ ]  SOUTH-S3"))


@given(st.text(max_size=60), st.integers(1, 40))
def test_wrapped_text_fits_and_loses_nothing(text: str, columns: int) -> None:
    lines = wrapped(clean(text), max(columns, 2))
    assert all(width(line) <= max(columns, 2) for line in lines)
    assert "".join(lines).replace(" ", "") == clean(text).replace(" ", "")


def test_a_word_is_broken_after_a_mark_and_again_where_the_rest_is_too_wide() -> None:
    assert wrapped("SAIL-LOFT-J3", 7) == ["SAIL-", "LOFT-J3"]
    assert wrapped("-a舟", 2) == ["-", "a", "舟"]


def test_clean_text_has_no_control_signs_and_turns_no_direction() -> None:
    assert clean("a\x1b[31m\tb\r\n\u202ec\u2028d") == "a [31m b c d"


def test_flowed_items_stay_whole_where_a_line_can_hold_them() -> None:
    assert flowed(["one two", "three four", "five"], first="- ", columns=16) == ["- one two", "- three four", "- five"]


def test_runs_of_neighbours_have_no_gap_and_one_direction() -> None:
    members = sample_members()
    names = framing(sample_plan(building=sample_building(members=members)))
    joists = [f"LOFT-J{i}" for i in (1, 2, 3, 5, 4, 3, 6)]
    assert runs(names, joists) == [joists[:3], joists[3:6], joists[6:]]
    assert run_words(names, joists) == "LOFT-J1 to LOFT-J3, LOFT-J5 to LOFT-J3, LOFT-J6"
    assert run_words(names, ["SOUTH-S1", "LOFT-J2"]) == "SOUTH-S1, LOFT-J2"


def test_an_added_member_breaks_a_run_that_skips_it() -> None:
    members = sample_members()
    joist = next(member for member in members if member.id == "LOFT-J4")
    added = replace(joist, id="LOFT-J4a", origin=(55.0, 0.0, 96.0))
    names = framing(sample_plan(building=sample_building(members=(*members, added))))
    assert run_words(names, ["LOFT-J3", "LOFT-J4", "LOFT-J5"]) == "LOFT-J3, LOFT-J4, LOFT-J5"
    assert run_words(names, ["LOFT-J3", "LOFT-J4", "LOFT-J4a", "LOFT-J5"]) == "LOFT-J3 to LOFT-J5"


@pytest.mark.parametrize(
    ("step", "word"),
    [
        ((0, 0, 5), "up"),
        ((1, 0, 0), "east"),
        ((0, -2, 0), "south"),
        ((-3, 3, 0), "north-west"),
        ((-1, -0.1, 0), "west"),
        ((0, 12, 8), "up the slope"),
        ((0, -12, -8), "down the slope"),
    ],
)
def test_directions_have_words(step: tuple[float, float, float], word: str) -> None:
    assert direction_word(step) == word


def test_faces_of_a_timber_are_named_by_where_they_look() -> None:
    girder = next(member for member in sample_members() if member.role is Role.GIRDER)
    assert [side_words(girder, side) for side in ("+across", "-across", "+bit", "-bit")] == (
        ["top", "underside", "north side", "south side"]
    )


def test_the_summary_gives_feet_holes_and_cost_with_its_parts() -> None:
    text = summary(sample_plan())
    assert re.search(r"L1 +22\.2 ft +5 holes", text)
    assert re.search(r"between SHOP and LOFT +9\.5 ft +0 holes", text)
    assert re.search(r"ALL CABLES +44\.4 ft +7 holes", text)
    assert "6 to bore, 4 of them overhead" in text
    assert "L1.LAMP1, PANEL to LAMP1: 12' 7-1/4\" cut" in text
    assert re.search(r"bores +43\.46\n  total +123\.46\n  lower bound: none proven", text)
    assert "lower bound 100.00: no plan can cost less" in summary(sample_plan(lower_bound=100.0))


def test_the_figures_are_the_same_numbers_as_plain_data() -> None:
    data = json.loads(json.dumps(figures(sample_plan())))
    assert data["feet"]["total"]["total"] == {"feet": 44.4469, "holes": 7}
    assert data["holes"] == {"to_bore": 6, "overhead": 4, "reused": 1, "by_bit_in": {"0.75": 5, "1": 1}}
    assert data["longest_run"] == {"cable": "L1.LAMP1", "cut_in": 151.21875}
    assert (data["cost"], data["lower_bound"], data["unreached"]) == (123.456, None, ["FAR"])
    assert data["unreached_why"] == [
        {
            "box": "FAR",
            "circuit": "P1",
            "reason": "GIRDER may not be bored: it carries the loft",
            "closed_by": ["GIRDER"],
            "would_open": ["a running board from x to y"],
        }
    ]


def test_a_plan_without_any_cable_still_has_its_lists() -> None:
    empty = sample_plan(cables=(), bores=())
    assert "0 holes to bore" in holes_text(empty)
    assert "0 cables" in cables_text(empty)
    assert "LONGEST RUN" not in summary(empty)


def test_a_leg_of_no_length_and_a_leg_up_a_slope_make_sense_in_words() -> None:
    up = cable("P1.DESK", ("TOOL", "DESK"), ((0, 0, 0), (0, 0, 0), (0, 12, 8)), ("SOUTH", "SOUTH"), 0.0)
    assert "       1  up the slope 1' 2-7/16\" in SOUTH" in cables_text(sample_plan(cables=(up,), bores=()))


def test_width_is_counted_as_a_terminal_shows_it() -> None:
    assert [width(text) for text in ("joist", "舟小屋", "e\u0301te", "a\u200db")] == [5, 6, 3, 2]

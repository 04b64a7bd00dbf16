"""A sound scene is read as it was meant, knows where each value stands, and tells all faults of a bad one at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from scene_sample import SHED, edited, faults_of, shed

from barnloom.model.errors import Fault, SceneError
from barnloom.model.scene.read import format_faults, read_scene, read_text
from barnloom.model.scene.schema import KeptAnswer, PlySaid, Scene


def scene(text: str) -> Scene:
    return read_text(text, Path("shed.yaml")).scene


def with_part(part: str) -> Scene:
    return scene(SHED + part)


def test_lengths_sections_and_words_are_read_as_people_write_them() -> None:
    wall = shed().scene.walls["SOUTH"]
    assert (wall.length, wall.height, wall.studs.every) == (144, 96, 16)
    assert (wall.section.breadth_in, wall.section.depth_in) == (1.5, 3.5)
    assert wall.openings["D1"].top == 82
    assert wall.openings["D1"].door is not None
    assert wall.openings["D1"].door.swings == "in"
    assert shed().scene.walls["EAST"].studs.at == [0, 17, 33.25, 48, 62, 118.5]
    assert shed().scene.timbers["POST"].from_ == (72, 60, 0)


def test_a_number_is_an_id_or_a_title_where_one_belongs() -> None:
    read = scene(SHED.replace("R1", "3").replace("Pump house", "2026"))
    assert read.title == "2026"
    assert read.boxes["R2"].fed_from == "3"
    assert read.circuits["OUTLETS"].order == ["3", "R2"]
    assert "010" in scene(SHED.replace("R1", "010")).boxes


@pytest.mark.parametrize("said", ["yes", "Yes", "true", "no", "No", "false"])
def test_yes_and_no_are_answers(said: str) -> None:
    read = scene(edited("run: depth}", f"run: depth, engineered: {said}}}"))
    assert read.floors["LOFT"].joists.engineered is (said in {"yes", "Yes", "true"})


@pytest.mark.parametrize(("said", "meant"), [("90", 90.0), ("-37.5", -37.5), ("37.5°", 37.5), ("north", "north")])
def test_a_heading_is_a_compass_word_or_degrees(said: str, meant: object) -> None:
    assert scene(edited("heading: east", f"heading: {said}")).walls["SOUTH"].heading == meant


def test_bare_numbers_take_the_unit_that_the_scene_gives_once() -> None:
    read = scene(edited("length: 12' ", "length: 3.5", edited("title:", "bare: m\ntitle:")))
    assert read.walls["SOUTH"].length == pytest.approx(3500 / 25.4)


def test_a_wrong_bare_unit_is_one_fault_and_not_one_more_for_each_number() -> None:
    faults = faults_of(edited("length: 12' ", "length: 144", edited("title:", "bare: yard\ntitle:")))
    assert [fault.where for fault in faults] == [("bare",)]


def test_a_field_of_several_shapes_takes_each() -> None:
    read = with_part(
        "answers: {exposed: {answer: drops, below: 7', who: county, when: 2026-05-04}}\n"
        "members: {SOUTH-S2: {plies: 2}, SOUTH-S3: {plies: [{section: 2x4}, {end: 4'}], holes: [{along: 3', "
        'across: 1-3/4", diameter: not measured}]}}\nprices: fewest holes\n'
        'limits: {hole.fill_share: {value: 80 %, because: house rule}, joist.edge: {value: 2-1/2", because: county}}\n'
    )
    assert read.answers.exposed == KeptAnswer(answer="drops", below="7'", who="county", when="2026-05-04")  # type: ignore[arg-type]
    assert read.members["SOUTH-S2"].plies == 2
    plies = read.members["SOUTH-S3"].plies
    assert isinstance(plies, list)
    assert plies[1] == PlySaid.model_construct(end=48.0)
    assert read.members["SOUTH-S3"].holes[0].diameter == "not measured"
    assert read.prices == "fewest holes"
    assert (read.limits["hole.fill_share"].value, read.limits["joist.edge"].value) == (0.8, 2.5)


def test_a_part_with_every_line_turned_into_a_remark_is_an_empty_part() -> None:
    read = with_part("cables:\n  # LIGHTS.S1: {done: yes}\nlengths:\njoints:\n")
    assert (read.cables, read.joints, read.lengths.entry) == ({}, [], None)


def test_a_text_runs_on_over_lines_and_is_one_line_when_read() -> None:
    assert scene(edited("title: Pump house", "title: >\n  Pump\n  house")).title == "Pump house"


@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
def test_line_ends_of_any_machine_and_a_byte_order_mark_change_nothing(ends: str, tmp_path: Path) -> None:
    path = tmp_path / "shed.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + SHED.replace("\n", ends).encode())
    file = read_scene(path)
    assert file.scene == shed().scene
    assert file.locate(("walls", "SOUTH", "length")) == (12, 13)


@pytest.mark.parametrize(
    ("where", "place"),
    [
        (("title",), (3, 8)),
        (("walls", "SOUTH"), (9, 3)),
        (("walls", "SOUTH", "height"), (13, 13)),
        (("walls", "SOUTH", "openings", "D1", "top"), (17, 37)),
        (("walls", "EAST", "studs", "at", 2), (24, 26)),
        (("walls", "SOUTH", "profile"), (9, 3)),
        (("nothing", "here"), (2, 1)),
        ((), (2, 1)),
    ],
)
def test_every_value_knows_its_line_and_column_and_what_is_not_there_the_part_around_it(
    where: tuple[str | int, ...], place: tuple[int, int]
) -> None:
    assert shed().locate(where) == place


def test_faults_of_a_later_stage_get_their_places_in_the_order_of_the_file() -> None:
    later = [Fault(("boxes", "S1"), "a", "b", "c"), Fault(("walls", "SOUTH", "length"), "a", "b", "c")]
    assert [(fault.where[0], fault.line, fault.column) for fault in shed().placed(later)] == [
        ("walls", 12, 13),
        ("boxes", 35, 3),
    ]


def test_all_faults_are_told_at_once_in_the_order_of_the_file() -> None:
    text = SHED
    for old, new in [
        ("title: Pump house", "title: [Pump house]"),
        ("heading: east", "haeding: east"),
        ("length: 12' ", "length: 12 "),
        ("wall: SOUTH", "wall: SUOTH"),
        ("{cable: 14/2}", "{cable: 14-2}"),
        ("carries: UP", "carries: &x UP"),
    ]:
        text = edited(old, new, text)
    told = [("/".join(map(str, fault.where)), fault.line) for fault in faults_of(text)]
    assert told == [
        ("title", 3),
        ("walls/SOUTH/heading", 9),
        ("walls/SOUTH/haeding", 11),
        ("walls/SOUTH/length", 12),
        ("floors/LOFT/carries", 27),
        ("boxes/S1/wall", 35),
        ("circuits/LIGHTS/cable", 40),
    ]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("heading: east", "heading: #east"),
        ("start: [12', 0]", "start: *corner"),
        ("    studs: {at: [0, 17\", 2' 9-1/4\", 4', 5' 2\", 9' 10-1/2\"]}", "    studs: {at: #[0]\n      }"),
    ],
)
def test_one_slip_is_told_once_though_it_shows_in_two_ways(old: str, new: str) -> None:
    assert len(faults_of(edited(old, new))) == 1


def test_what_refers_to_a_part_that_is_itself_at_fault_is_not_told_as_unknown() -> None:
    faults = faults_of(edited("length: 12' ", "length: 12 "))
    assert [fault.where for fault in faults] == [("walls", "SOUTH", "length")]
    faults = faults_of(edited('height: 48"', "height: 48", SHED + "cables: {LIGHTS.S1: {done: yes}}\n"))
    assert [fault.where for fault in faults] == [("boxes", "S1", "height")]
    faults = faults_of(edited("along: 3' 6\"", "along: 3"))
    assert [fault.where for fault in faults] == [("boxes", "PANEL", "along")]


def test_faults_are_printed_one_a_line_with_the_file_in_front() -> None:
    text = edited("heading: east", "haeding: east")
    with pytest.raises(SceneError) as caught:
        read_text(text, Path("shed.yaml"))
    assert format_faults("shed.yaml", caught.value.faults).splitlines() == [
        "shed.yaml:9:3: walls/SOUTH/heading: found no heading; expected heading: which way it goes from there: east, "
        "north, west, south, or degrees counter-clockwise from east; add heading: with its value",
        "shed.yaml:11:5: walls/SOUTH/haeding: found the key haeding; expected a key that is known here; "
        "did you mean heading?",
    ]


def test_a_scene_says_nothing_that_was_not_said() -> None:
    assert shed().scene.walls["SOUTH"].base is None
    assert shed().scene.answers.exposed is None
    assert shed().scene.boxes["S1"].size is None

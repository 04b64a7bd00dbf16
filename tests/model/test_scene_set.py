"""``set`` changes one value and not one byte more; what would spoil the scene is refused, and the file stays."""

from __future__ import annotations

import os
import stat
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scene_sample import SHED

from barnloom.model.errors import InputError, SceneError
from barnloom.model.scene import write
from barnloom.model.scene.read import read_scene, read_text
from barnloom.model.scene.text import Node, parsed
from barnloom.model.scene.write import Change, set_value


@pytest.fixture
def path(tmp_path: Path) -> Path:
    file = tmp_path / "shed.yaml"
    file.write_bytes(SHED.encode())
    return file


@pytest.mark.parametrize(
    ("where", "value", "old", "new"),
    [
        ("walls/SOUTH/length", "14' 6\"", "length: 12'      # outside", "length: 14' 6\"      # outside"),
        ("walls.SOUTH.length", "14'", "length: 12'      # outside", "length: 14'      # outside"),
        ("boxes/S1/height", '52"', "along: 8', height: 48\"}", "along: 8', height: 52\"}"),
        ("walls/SOUTH/openings/D1/door/hinge", "end", "{hinge: start}", "{hinge: end}"),
        ("walls/EAST/studs/at/1", '16-1/2"', "[0, 17\", 2'", "[0, 16-1/2\", 2'"),
        ("walls/SOUTH/start", '[6", 0]', "start: [0, 0]", 'start: [6", 0]'),
        ("circuits/OUTLETS/order", "[R2, R1]", "order: [R1, R2]", "order: [R2, R1]"),
        ("title", "No. 3 #4", "title: Pump house", "title: 'No. 3 #4'"),
        ("title", "Pump: it's new", "title: Pump house", "title: 'Pump: it''s new'"),
        ("title", "null", "title: Pump house", "title: 'null'"),
        ("title", "- dash", "title: Pump house", "title: '- dash'"),
        ("about/use", "pumps, mostly", "{use: pumps,", "{use: 'pumps, mostly',"),
    ],
)
def test_one_value_changes_and_every_other_byte_stays(path: Path, where: str, value: str, old: str, new: str) -> None:
    if "R2, R1" in new:
        path.write_text(path.read_text(encoding="utf-8").replace(", fed_from: R1", ""), encoding="utf-8")
    before = path.read_text(encoding="utf-8")
    assert before.count(old) == 1
    change = set_value(path, where, value)
    assert path.read_text(encoding="utf-8") == before.replace(old, new)
    assert change.line == before[: before.index(old)].count("\n") + 1


@pytest.mark.parametrize(
    ("where", "value", "old", "new"),
    [
        ("boxes/S1/title", "by the door", 'height: 48"}', 'height: 48", title: by the door}'),
        ("walls/SOUTH/bearing", "yes", "door: {hinge: start}}\n", "door: {hinge: start}}\n    bearing: yes\n"),
        ("walls/EAST/title", "east", "9' 10-1/2\"]}\n", "9' 10-1/2\"]}\n    title: east\n"),
        ("units", "metric", "order: [R1, R2]}\n", "order: [R1, R2]}\nunits: metric\n"),
        ("circuits/OUTLETS/cable", "10/2", "{order: [R1, R2]}", "{order: [R1, R2], cable: 10/2}"),
    ],
)
def test_a_key_that_is_not_there_is_added_to_its_part(path: Path, where: str, value: str, old: str, new: str) -> None:
    assert SHED.count(old) == 1
    assert set_value(path, where, value).before == ""
    assert path.read_text(encoding="utf-8") == SHED.replace(old, new)


def test_a_value_left_empty_and_an_empty_part_are_filled(path: Path) -> None:
    path.write_text(SHED.replace("{cable: 14/2}", "{}").replace("    height: 8'\n", "    height:   # to do\n", 1))
    with pytest.raises(SceneError, match="walls/SOUTH/height: found nothing but the remark"):
        set_value(path, "circuits/LIGHTS/cable", "14/2")
    assert set_value(path, "walls/SOUTH/height", "8'") == Change(line=13, before="", after="8'")
    assert "    height: 8'   # to do\n" in path.read_text()
    assert set_value(path, "circuits/LIGHTS/cable", "14/2").before == ""
    assert "  LIGHTS: {cable: 14/2}\n" in path.read_text()


def test_a_last_line_without_its_end_and_line_ends_of_other_machines_are_kept(path: Path) -> None:
    path.write_bytes(b"\xef\xbb\xbf" + SHED.rstrip("\n").replace("\n", "\r\n").encode())
    set_value(path, "units", "metric")
    set_value(path, "walls/SOUTH/title", "south")
    raw = path.read_bytes()
    assert raw.startswith(b"\xef\xbb\xbf# a pump house\r\n")
    assert raw.endswith(b"\r\nunits: metric")
    assert b"\r\n    title: south\r\n  EAST:" in raw
    assert raw.count(b"\n") == raw.count(b"\r\n")


def test_ids_with_dots_are_found_with_dots_or_strokes_between_keys(path: Path) -> None:
    path.write_text(SHED.replace("R1", "R.1"))
    assert set_value(path, "boxes.R.1.height", '50"').before == '52"'
    assert set_value(path, "boxes/R.1/height", '49"').before == '50"'


@pytest.mark.parametrize(
    ("where", "value", "words"),
    [
        ("walls/SOUTH", "3'", "a part with values of its own"),
        ("walls/SUOTH/length", "3'", "no SUOTH in walls; .* did you mean SOUTH?"),
        ("walls/SOUTH/lenght", "3'", "no lenght in walls/SOUTH; .* did you mean length?"),
        ("boxes/S9/height", "3'", "no S9 in boxes"),
        ("title/more", "3'", "no more in title"),
        ("", "3'", "no  in the scene"),
        ("title", "one\ntwo", "text on one line"),
        ("title", "a\x1bb", "text on one line"),
        ("walls/SOUTH/start", "[0, 0", "brackets hold a list"),
        ("walls/SOUTH/start", "[0, 0] # x\n", "brackets hold a list"),
        ("walls/SOUTH/start", "{a: 1}\nunits: metric", "text on one line"),
    ],
)
def test_a_place_or_value_that_cannot_be_is_refused(path: Path, where: str, value: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        set_value(path, where, value)
    assert path.read_text() == SHED


@pytest.mark.parametrize(
    ("where", "value", "words"),
    [
        ("walls/SOUTH/length", "12", "without a unit"),
        ("walls/SOUTH/length", "12' # wide", "a length with its unit"),
        ("boxes/L1/fed_from", "R1", "which is on circuit OUTLETS"),
        ("boxes/R2/fed_from", "R2", "ring|the box itself|one feeder"),
        ("walls/SOUTH/start", "[0, 0, 0]", "2 values in brackets"),
        ("circuits/SPARE", "{}", "no box on this circuit"),
    ],
)
def test_what_would_spoil_the_scene_is_refused_and_the_file_stays(
    path: Path, where: str, value: str, words: str
) -> None:
    with pytest.raises(SceneError, match=words):
        set_value(path, where, value)
    assert path.read_text() == SHED
    assert list(path.parent.iterdir()) == [path]


def test_a_write_that_is_interrupted_leaves_the_old_file_and_nothing_else(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(write.os, "replace", stopped)
    with pytest.raises(KeyboardInterrupt):
        set_value(path, "title", "New")
    assert path.read_text() == SHED
    assert list(path.parent.iterdir()) == [path]


def test_an_edit_that_would_change_more_than_the_value_is_never_written(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    right = write._replacement
    too_far = SHED.index("\nstoreys:")
    monkeypatch.setattr(write, "_replacement", lambda *said: replace(right(*said), end=too_far))
    with pytest.raises(InputError, match="a value that can stand there"):
        set_value(path, "title", "New")
    assert path.read_text() == SHED


def test_permissions_and_a_link_to_the_file_are_kept(path: Path, tmp_path: Path) -> None:
    path.chmod(0o640)
    link = tmp_path / "link.yaml"
    link.symlink_to(path)
    set_value(link, "title", "New")
    assert link.is_symlink()
    assert stat.S_IMODE(os.stat(path).st_mode) == 0o640
    assert read_scene(path).scene.title == "New"


def leaves(node: Node, where: str = "") -> list[tuple[str, Node]]:
    if isinstance(node.value, str):
        return [(where.strip("/"), node)]
    inner = node.value.items() if isinstance(node.value, dict) else enumerate(node.value or [])
    return [leaf for key, child in inner for leaf in leaves(child, f"{where}/{key}")]


LEAVES = leaves(parsed(SHED)[0])


@pytest.mark.parametrize("where", [where for where, _ in LEAVES])
def test_setting_a_value_to_what_it_is_changes_nothing(path: Path, where: str) -> None:
    node = dict(LEAVES)[where]
    assert isinstance(node.value, str)
    change = set_value(path, where, node.value)
    assert (change.before, change.after) == (node.value, node.value)
    assert path.read_text() == SHED


@given(title=st.text(st.characters(codec="utf-8", exclude_categories=["C", "Zl", "Zp"]), max_size=60))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_text_can_be_a_title_and_comes_back_as_it_was(tmp_path: Path, title: str) -> None:
    path = tmp_path / "any.yaml"
    path.write_text(SHED, encoding="utf-8")
    if title.strip()[:1] in ("[", "{"):
        title = "x" + title
    set_value(path, "title", title)
    text = path.read_text(encoding="utf-8")
    assert read_text(text, path).scene.title == " ".join(title.split())
    assert text.splitlines()[:2] + text.splitlines()[3:] == SHED.splitlines()[:2] + SHED.splitlines()[3:]

"""What is hostile or broken as a whole is refused quickly, in little memory, and only ever with a SceneError."""

from __future__ import annotations

import time
import tracemalloc
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scene_sample import SHED, faults_of

from barnloom.model.errors import SceneError
from barnloom.model.scene.read import format_faults, read_scene, read_text
from barnloom.model.scene.text import BYTES_MAX, UNSEEN

BOMB = "a: &a [x]\n" + "".join(
    f"{to}: &{to} [{', '.join([f'*{one}'] * 9)}]\n" for one, to in zip("abcdefgh", "bcdefghi", strict=True)
)

WHOLE_FILES: dict[str, tuple[bytes, int, int, str]] = {
    "empty": (b"", 1, 1, "an empty file"),
    "only remarks": (b"# nothing yet\n", 1, 1, "an empty file"),
    "only a text": (b"hello there\n", 1, 1, "only the text hello there"),
    "a list": (b"- a\n- b\n", 1, 1, "a list"),
    "not UTF-8": (SHED.replace("Pump house", "Pump h½use").encode("latin-1"), 3, 14, "a byte 0xbd that is not UTF-8"),
    "UTF-16": (SHED.encode("utf-16"), 1, 1, "not UTF-8"),
    "a picture": (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", 1, 1, "not UTF-8"),
    "a zero byte": (b"barnloom: 1\ntitle: a\0b\n", 2, 9, "U+0000"),
    "a sign that turns text round": ("title: a\u202eb\n".encode(), 1, 9, "U+202E"),
    "5,000 brackets": (b"a: " + b"[" * 5000, 1, 23, "more than 20 deep"),
    "brackets unclosed and closed": (b"a: " + b"[" * 5000 + b"]" * 5000, 1, 23, "more than 20 deep"),
    "keys in keys": (b"? " * 5000, 1, 41, "more than 20 deep"),
    "dashes in dashes": (b"- " * 5000, 1, 41, "more than 20 deep"),
    "alias bomb": (BOMB.encode(), 2, 8, "*a, a value borrowed"),
    "too many values": (b"a: [" + b"1," * 90_000 + b"]", 1, 159_997, "at most 40,000 values"),
    "another YAML": (b"%YAML 1.1\n---\ntitle: a\n", 1, 1, "begins with %"),
    "too long": (b"#" * (BYTES_MAX + 1), 0, 0, "more than 1,000,000 bytes"),
}


@pytest.mark.parametrize("name", WHOLE_FILES)
def test_a_file_that_is_no_scene_is_refused_with_the_place_where_that_shows(name: str, tmp_path: Path) -> None:
    raw, line, column, words = WHOLE_FILES[name]
    path = tmp_path / "bad.yaml"
    path.write_bytes(raw)
    began = time.perf_counter()
    with pytest.raises(SceneError) as caught:
        read_scene(path)
    assert time.perf_counter() - began < 60
    told = [fault for fault in caught.value.faults if words in str(fault)]
    assert told, str(caught.value)[:500]
    assert (line, column) in {(fault.line, fault.column) for fault in told}


def test_a_file_of_100_megabytes_costs_neither_time_nor_memory(tmp_path: Path) -> None:
    path = tmp_path / "huge.yaml"
    with path.open("wb") as file:
        file.truncate(100_000_000)
    tracemalloc.start()
    began = time.perf_counter()
    with pytest.raises(SceneError, match="more than 1,000,000 bytes"):
        read_scene(path)
    seconds, (_, peak) = time.perf_counter() - began, tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert seconds < 1
    assert peak < 10_000_000


@pytest.mark.parametrize("path", ["missing.yaml", "."])
def test_what_cannot_be_read_as_a_file_is_a_fault_of_the_scene(path: str, tmp_path: Path) -> None:
    with pytest.raises(SceneError, match=r"expected a scene file to read; check the name"):
        read_scene(tmp_path / path)


def test_thousands_of_faults_are_printed_as_200_lines_and_a_count() -> None:
    keys = "".join(f"key{number}: 1\n" for number in range(3000))
    lines = format_faults("x.yaml", faults_of(SHED + keys)).splitlines()
    assert len(lines) == 201
    assert lines[-1] == "x.yaml: and 2800 more"


def test_a_huge_key_and_a_huge_value_are_told_in_few_letters() -> None:
    faults = faults_of(SHED.replace("heading: east", "heading: " + "e" * 50_000) + "k" * 1000 + ": 1\n")
    assert len(faults) == 2
    assert all(len(line) < 700 for line in format_faults("x.yaml", faults).splitlines())


def refused_or_read(text: str) -> None:
    try:
        read_text(text, Path("x.yaml"))
    except SceneError as err:
        assert err.faults  # noqa: PT017
        for line in format_faults("x.yaml", err.faults).splitlines():
            assert not UNSEEN.search(line)


@given(st.text(max_size=200))
@settings(max_examples=300, deadline=None)
def test_random_text_never_gives_anything_but_a_scene_error(text: str) -> None:
    refused_or_read(text)


@given(st.text(alphabet="ab:-[]{}&*!|>'\"#%@` \n\t0,?.~<=", max_size=80))
@settings(max_examples=500, deadline=None)
def test_random_yaml_signs_never_give_anything_but_a_scene_error(text: str) -> None:
    refused_or_read(text)


VALUES = ["", "null", "yes", "0", "-1", "3'", "[0]", "[0, 0]", "{}", "{a: 1}", "SOUTH", "R1", "1e9", '"', "2x4", "any"]


@given(st.data())
@settings(max_examples=300, deadline=None)
def test_a_scene_with_any_line_or_value_spoilt_never_gives_anything_but_a_scene_error(data: st.DataObject) -> None:
    lines = SHED.splitlines()
    for _ in range(data.draw(st.integers(1, 3))):
        number = data.draw(st.integers(0, len(lines) - 1))
        key, colon, _ = lines[number].partition(": ")
        spoilt = data.draw(st.sampled_from(["", "  " + lines[number], lines[number].lstrip(), lines[number][:-1]]))
        lines[number] = data.draw(st.sampled_from([spoilt, *(key + colon + value for value in VALUES)]))
    refused_or_read("\n".join(lines))

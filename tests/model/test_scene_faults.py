"""A corpus of bad scenes: each says where (line and column), what was found, and what to do about it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from scene_sample import MARK, SHED, WIRED, edited, faults_of, marked


def cases(corpus: str, sample: str) -> dict[str, tuple[re.Match[str], str]]:
    text = Path(__file__).with_name(corpus).read_text(encoding="utf-8").partition("\n\n")[2]
    found = re.finditer(
        r"^(?P<name>[^\n]+)\n-(?P<old>.*?)\n\+(?P<new>.*?)\n>(?P<words>[^\n]+)$", text, re.MULTILINE | re.DOTALL
    )
    return {case["name"]: (case, sample) for case in found}


CASES = cases("bad_scenes.txt", SHED) | cases("bad_scenes_wiring.txt", WIRED)
JARGON = ("pydantic", "input should", "validat", "yaml", "scanner", "mapping", "scalar", "none.")


def piece(said: str) -> str:
    return said.replace("\n|", "\n").replace("¶", "\n")


@pytest.mark.parametrize("name", CASES)
def test_a_bad_value_is_told_with_its_line_its_column_and_a_way_out(name: str) -> None:
    case, sample = CASES[name]
    text, line, column = marked(edited(piece(case["old"]), piece(case["new"]), sample))
    faults = faults_of(text)
    told = [fault for fault in faults if all(word in str(fault) for word in case["words"].split(" / "))]
    assert told, [str(fault) for fault in faults]
    if MARK in case["new"]:
        assert (line, column) in {(fault.line, fault.column) for fault in told}, told
    for fault in faults:
        assert fault.line > 0
        assert fault.column > 0
        assert fault.found
        assert fault.expected
        assert fault.do
        assert not [word for word in JARGON if word in str(fault).lower()]


def test_the_corpus_is_all_read_and_holds_more_than_a_hundred_kinds() -> None:
    assert len(CASES) > 160
    assert faults_of(SHED) == ()
    assert faults_of(WIRED) == ()


def test_a_box_may_be_as_full_as_it_says() -> None:
    feeding = edited("{circuit: OUTLETS, wall", "{circuit: OUTLETS, cables_max: 2, wall")
    assert faults_of(feeding) == ()
    assert faults_of(edited("{circuit: OUTLETS, wall", "{circuit: OUTLETS, cables_max: 1, wall")) != ()
    assert faults_of(edited("{circuit: LIGHTS, wall", "{circuit: [LIGHTS, OUTLETS], cables_max: 2, wall")) == ()
    assert faults_of(edited("OUTLETS: {order", "OUTLETS: {home_runs: 2, order")) == ()
    assert faults_of(edited("kind: panel, ", "kind: panel, cables_max: 2, ")) == ()

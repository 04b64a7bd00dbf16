"""Control measurements: each names two corners by the walls that start there, and changes no building."""

from __future__ import annotations

from pathlib import Path

import pytest
from scene_sample import SHED

from barnloom.model import build
from barnloom.model.errors import SceneError
from barnloom.model.scene.read import read_text

TAPE = "measured:\n  A: {from: SOUTH, to: EAST, length: 12' 1/4\"}\n"


def test_it_is_read() -> None:
    tape = read_text(SHED + TAPE, Path("shed.yaml")).scene.measured["A"]
    assert (tape.from_, tape.to, tape.length) == ("SOUTH", "EAST", 144.25)


def test_it_changes_no_building() -> None:
    studio = (Path(__file__).parents[2] / "scenes" / "garden-studio.yaml").read_text(encoding="utf-8")
    taped = studio + "measured: {A: {from: NORTH, to: WEST, length: 12'}}\n"
    assert build(read_text(taped, Path("studio.yaml")).scene) == build(read_text(studio, Path("studio.yaml")).scene)


@pytest.mark.parametrize(
    ("old", "new", "place", "words"),
    [
        ("to: EAST", "to: EATS", ("measured", "A", "to"), "did you mean EAST?"),
        ("to: EAST", "to: SOUTH", ("measured", "A", "to"), "another corner"),
        ("12' 1/4\"", '3"', ("measured", "A", "length"), "from 6"),
    ],
)
def test_what_cannot_be_is_told(old: str, new: str, place: tuple[str, ...], words: str) -> None:
    with pytest.raises(SceneError) as caught:
        read_text(SHED + TAPE.replace(old, new), Path("shed.yaml"))
    (fault,) = caught.value.faults
    assert fault.where == place
    assert words in str(fault)

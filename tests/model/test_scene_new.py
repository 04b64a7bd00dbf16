"""A starter scene reads, builds, explains itself, and says its lengths as people write them."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barnloom.model import build
from barnloom.model.building import Building
from barnloom.model.errors import InputError, SceneError
from barnloom.model.scene.read import format_faults, read_text
from barnloom.model.scene.starter import HEIGHT_IN, SIDE_IN, new_scene

Units = Literal["us", "metric"]
Storeys = Literal[1, 2]


def built(text: str) -> Building:
    file = read_text(text, Path("new.yaml"))
    try:
        return build(file.scene)
    except SceneError as err:
        raise AssertionError(format_faults("new.yaml", file.placed(err.faults))) from err


@given(
    width=st.floats(*SIDE_IN),
    depth=st.floats(*SIDE_IN),
    height=st.floats(*HEIGHT_IN),
    storeys=st.sampled_from([1, 2]),
    units=st.sampled_from(["us", "metric"]),
)
@settings(max_examples=40, deadline=None)
def test_a_starter_of_any_size_reads_and_builds(
    width: float, depth: float, height: float, storeys: Storeys, units: Units
) -> None:
    building = built(new_scene(width, depth, height, storeys=storeys, units=units))
    assert len(building.storeys) == storeys
    assert {circuit.id for circuit in building.circuits} == {"LIGHTS", "OUTLETS"}
    assert [(control.lights, control.points) for control in building.controls] == [
        (("L1", "L2"), ("S1", "S2")[:storeys])
    ]
    assert not building.warnings


@pytest.mark.parametrize("side", SIDE_IN)
@pytest.mark.parametrize("height", HEIGHT_IN)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_smallest_and_the_largest_build_too(side: float, height: float, units: Units) -> None:
    assert built(new_scene(side, side, height, storeys=2, units=units)).metric is (units == "metric")


def test_it_has_the_size_that_was_asked_for() -> None:
    scene = read_text(new_scene(288.03, 150.5, 97.125), Path("new.yaml")).scene
    assert (scene.walls["SOUTH"].length, scene.walls["EAST"].length, scene.walls["WEST"].height) == (288, 150.5, 97.125)
    metric = read_text(new_scene(7200 / 25.4, 4800 / 25.4, 2440 / 25.4, units="metric"), Path("new.yaml")).scene
    assert metric.walls["SOUTH"].length == pytest.approx(7200 / 25.4)


@pytest.mark.parametrize(("units", "storeys"), [("us", 1), ("us", 2), ("metric", 1), ("metric", 2)])
def test_its_examples_in_remarks_hold_when_the_signs_in_front_are_removed(units: Units, storeys: Storeys) -> None:
    text = new_scene(240, 192, 97.125, storeys=storeys, units=units)
    parts = re.sub(r"^# (members:|  [A-Z-]+[0-9]+: )", r"\1", text, flags=re.MULTILINE)
    answers = re.sub(r"^  # ([a-z_]+):", r"  \1:", parts, flags=re.MULTILINE)
    building = built(answers)
    assert answers.count("#") == text.count("#") - 12
    assert not any(answer.assumed for answer in building.answers)
    assert [member.reason for member in building.members if member.reason] == ["split at the knot"]
    assert sum(len(member.holes) for member in building.members) == 1
    box = "R9: {circuit: OUTLETS, on: EAST-S3, side: end, along: 4' 4\"}"
    assert "{on: EAST-S3, side: end, along: 4' 4\"}" in text
    assert "R9" in {box.id for box in built(text.replace("\nboxes:\n", f"\nboxes:\n  {box}\n")).boxes}


def test_its_lengths_have_units_and_no_quotes_and_its_remarks_outnumber_its_parts() -> None:
    text = new_scene(240, 144, 96, storeys=2)
    code = [line.partition("#")[0] for line in text.splitlines()]
    assert not re.search(r"""(?<![\w'"/-])(["'])""", "\n".join(code))
    assert 'every: 16"' in text
    assert "height: 8'" in text
    assert text.count("#") > 25
    assert all(len(line) <= 120 for line in text.splitlines())
    assert "$" not in text


@pytest.mark.parametrize(
    ("sides", "words"),
    [
        ((60, 144, 96), "5' 0\"; expected a width from 8' 0\" to 100' 0\""),
        ((144, 3000, 96), "250' 0\"; expected a depth"),
        ((144, 144, 60), "5' 0\"; expected a height from 6' 8\" to 16' 0\""),
    ],
)
def test_a_size_no_starter_has_is_refused_with_what_one_can_have(sides: tuple[float, float, float], words: str) -> None:
    with pytest.raises(InputError, match=re.escape(words)):
        new_scene(*sides)

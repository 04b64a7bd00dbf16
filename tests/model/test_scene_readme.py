"""The reference of the scene format names every key there is, and its examples hold."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from barnloom.model import build
from barnloom.model.errors import SceneError
from barnloom.model.scene import schema
from barnloom.model.scene.refer import faults_between
from barnloom.model.scene.schema import Said, Scene
from barnloom.model.scene.text import parsed

TEXT = (Path(__file__).parents[2] / "scenes" / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```yaml\n(.*?)^```$", TEXT, flags=re.MULTILINE | re.DOTALL)
PARTS = [part for part in map(schema.__dict__.get, schema.__all__) if isinstance(part, type) and issubclass(part, Said)]


def merged(base: Any, more: Any) -> Any:
    if isinstance(base, dict) and isinstance(more, dict):
        return {**base, **{key: merged(base.get(key), value) for key, value in more.items()}}
    return more


def whole() -> Scene:
    data: Any = {}
    for block in BLOCKS:
        top, faults = parsed(block)
        assert not faults
        data = merged(data, top.data())
    return Scene.model_validate(data, context={"bare": None})


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.__name__)
def test_every_key_of_every_part_is_named(part: type[Said]) -> None:
    keys = [field.alias or name for name, field in part.model_fields.items()]
    assert [key for key in keys if f"`{key}`" not in TEXT] == []


def test_every_key_that_a_table_names_is_one() -> None:
    known = {field.alias or name for part in PARTS for name, field in part.model_fields.items()}
    named = re.findall(r"^\| ((?:`[a-z_]+`(?:, )?)+) \|", TEXT, flags=re.MULTILINE)
    keys = {key for cell in named for key in re.findall("[a-z_]+", cell)}
    assert len(keys) > 80
    assert keys - known == set()


def test_the_first_example_is_a_whole_scene() -> None:
    assert build(Scene.model_validate(parsed(BLOCKS[0])[0].data(), context={})).title == "Garden hut"


def test_all_examples_together_are_one_sound_building() -> None:
    scene = whole()
    assert faults_between(scene) == []
    try:
        building = build(scene)
    except SceneError as err:
        raise AssertionError(str(err)) from err
    assert len(building.boxes) == 20
    circuit = {device.id: device.circuit for device in building.devices}
    assert len({circuit["SAW"], circuit["DUST"], "A", "BENCH", "HEAT"}) == 5
    assert {control.id: control.points for control in building.controls} == {
        "BENCH-LIGHT": ("S2.1",),
        "ROW": ("S1", "S2.2", "S3"),
        "LAMP": ("S4",),
    }
    assert {hole.id for member in building.members for hole in member.holes} == {"WEST-S4.old1"}

"""The published JSON Schema is the one the code makes, and agrees with what is read."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import jsonschema
import pytest
from ruamel.yaml import YAML
from scene_sample import SHED, edited, faults_of

from barnloom.model.scene.published import FILE, scene_json_schema, schema_text
from barnloom.model.scene.starter import new_scene

SCENES = sorted((Path(__file__).parents[2] / "scenes").glob("*.yaml"))


def told(text: str) -> list[str]:
    """What a general checker says of a scene's text, by the published schema; a date is a text, as for editors."""
    yaml = YAML(typ="safe", pure=True)
    reading = yaml.constructor
    as_text = {"tag:yaml.org,2002:timestamp": type(reading).construct_yaml_str}
    reading.yaml_constructors = {**reading.yaml_constructors, **as_text}
    data: Any = yaml.load(text)
    return [error.message for error in jsonschema.Draft202012Validator(scene_json_schema()).iter_errors(data)]


def test_the_committed_file_is_what_the_code_makes() -> None:
    assert FILE.read_text(encoding="utf-8") == schema_text()


def test_it_is_a_sound_schema_without_null_and_with_a_text_for_every_key() -> None:
    schema = scene_json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    assert "null" not in schema_text()
    for name, part in [("the scene", schema), *schema["$defs"].items()]:
        for key, said in part.get("properties", {}).items():
            assert said.get("description"), f"{name}: {key}"


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_every_scene_that_comes_along_keeps_it(path: Path) -> None:
    assert told(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("storeys", [1, 2])
def test_the_sample_and_starters_keep_it(units: Any, storeys: Any) -> None:
    assert told(SHED) == []
    assert told(new_scene(288, 192, 97, storeys=storeys, units=units)) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("heading: east", "haeding: east"),
        ("    heading: east\n", ""),
        ("length: 12' ", "length: long "),
        ("{role: post", "{role: pst"),
        ("top: 6' 10\",", "top: 6' 10\", jacks: 9,"),
        ("start: [0, 0]", "start: [0]"),
        ("section: 2x8", "section: thick"),
        ("{floor: 0}", "0"),
        ("barnloom: 1", "barnloom: 2"),
    ],
)
def test_what_it_refuses_the_reader_refuses_too(old: str, new: str) -> None:
    text = edited(old, new)
    assert told(text)
    assert faults_of(text)

"""The published JSON Schema of scene files, for editors that complete and check while one writes.

Run as a module, it writes ``schema.json`` beside this file.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pydantic.json_schema import GenerateJsonSchema

from barnloom.model.described import field_words
from barnloom.model.scene.schema import Said, Scene
from barnloom.model.scene.values import LENGTH_SCHEMA, SECTION_SCHEMA

FILE = Path(__file__).with_name("schema.json")
SHARED = {"Length": LENGTH_SCHEMA, "Section": SECTION_SCHEMA}
"""What stands under most keys, said once."""


RENAMED = {"ge": "minimum", "le": "maximum"}
"""Pydantic leaves these as they are where a value is read before its bounds are looked at."""


class _Plain(GenerateJsonSchema):
    """Without titles that only repeat the key."""

    def field_title_should_be_set(self, schema: Any) -> bool:
        return False


def scene_json_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a scene file as YAML reads it: texts, numbers, true and false."""
    schema = Scene.model_json_schema(schema_generator=_Plain)
    parts = {cls.__name__: cls for cls in _parts(Said)}
    defs = {name: _plain(_described(said, parts.get(name))) for name, said in schema.pop("$defs").items()}
    head = {"$schema": GenerateJsonSchema.schema_dialect, "title": "Barnloom scene"}
    return {**head, **_plain(_described(schema, Scene)), "$defs": SHARED | defs}


def schema_text() -> str:
    """Text of the published file."""
    return json.dumps(scene_json_schema(), indent=1, ensure_ascii=False) + "\n"


def _parts(cls: type[Said]) -> Iterator[type[Said]]:
    """Yield every part of a scene that is built on another, at any remove."""
    for part in cls.__subclasses__():
        yield part
        yield from _parts(part)


def _described(schema: dict[str, Any], cls: type[Said] | None) -> dict[str, Any]:
    """Return the schema of a part of a scene with the words below each of its fields."""
    if cls is None:
        return schema
    said = {field.alias or name: field_words(cls)[name] for name, field in cls.model_fields.items()}
    own = {key: dict(sorted({**one, "description": said[key]}.items())) for key, one in schema["properties"].items()}
    return {**schema, "properties": own}


def _plain(schema: Any) -> Any:
    """Return a schema in which "not said" is to leave the key out (no null), and lengths and sections are said once."""
    if isinstance(schema, list):
        return [_plain(part) for part in schema]
    if not isinstance(schema, dict):
        return schema
    for name, shared in SHARED.items():
        if all(schema.get(key) == value for key, value in shared.items() if key != "description"):
            said = schema.get("description", "")
            own = {} if said in ("", shared["description"]) else {"description": _one_line(said)}
            return {"$ref": f"#/$defs/{name}"} | own
    choices = [choice for choice in schema.get("anyOf", []) if choice != {"type": "null"}]
    if len(choices) == 1:
        return _plain(choices[0] | {key: value for key, value in schema.items() if key != "anyOf"})
    plain = {RENAMED.get(key, key): _plain(value) for key, value in schema.items()}
    if choices:
        plain["anyOf"] = _plain(choices)
    if isinstance(plain.get("title"), str):
        del plain["title"]
    if isinstance(plain.get("description"), str):
        plain["description"] = _one_line(plain["description"])
    if not isinstance(plain.get("default"), str | int | float) or plain["default"] == "":
        plain.pop("default", None)
    return plain


def _one_line(text: str) -> str:
    return " ".join(text.split()).replace("``", "`")


if __name__ == "__main__":
    FILE.write_text(schema_text(), encoding="utf-8")

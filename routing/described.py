"""The JSON Schema of a data class with what its source says of each field: words below it, choices beside it, unit."""

from __future__ import annotations

import ast
import re
import typing
from dataclasses import is_dataclass
from typing import Any

from pydantic import TypeAdapter
from pydantic.json_schema import GenerateJsonSchema

from barnloom.model.described import fields_in, source_of

DIALECT = GenerateJsonSchema.schema_dialect
_UNITS = {
    "in": "inches",
    "in3": "cubic inches",
    "ft": "feet",
    "a": "amperes",
    "va": "volt-amperes",
    "percent": "percent",
}
"""By how a name ends."""
_WHOLE_NAMES = {"volts": "volts", "volume": "cubic inches", "awg": "AWG"}


class _Untitled(GenerateJsonSchema):
    """Without titles that only repeat the key."""

    def field_title_should_be_set(self, schema: Any) -> bool:
        return False


def described_schema(adapter: TypeAdapter[Any], root: type) -> dict[str, Any]:
    """
    Return the JSON Schema of a data class, its fields and those of all classes in it described.

    Parameters
    ----------
    adapter : TypeAdapter
        Of ``root``.
    root : type
        A data class whose source can be read.
    """
    schema = adapter.json_schema(schema_generator=_Untitled)
    for name, cls in _classes(root).items():
        part = schema if cls is root else schema["$defs"].get(name, {})
        if "description" in part:
            part["description"] = _one_line(part["description"])
        words = _field_words(cls) if is_dataclass(cls) else {}
        for key, said in part.get("properties", {}).items():
            text = _with_unit(key, words.get(key, ""))
            if text:
                said["description"] = text
    return schema


def _classes(root: type) -> dict[str, type]:
    """Find the classes that a data class is made of, by name."""
    found: dict[str, type] = {}

    def visit(kind: Any) -> None:
        for part in typing.get_args(kind):
            visit(part)
        if isinstance(kind, type) and kind.__module__.startswith("barnloom.") and kind.__name__ not in found:
            found[kind.__name__] = kind
            if is_dataclass(kind):
                for hint in typing.get_type_hints(kind).values():
                    visit(hint)

    visit(root)
    return found


def _field_words(cls: type) -> dict[str, str]:
    """By field: the choices that stand in a comment beside it, and the text below it."""
    source = source_of(cls)
    lines = source.splitlines()
    words = {}
    for field, said in fields_in(source):
        below = _one_line(said)
        name = typing.cast(ast.Name, field.target).id
        beside = re.search(r"  # (.+)$", lines[(field.end_lineno or 1) - 1])
        words[name] = " ".join(part for part in (below, f"One of: {beside[1]}." if beside else "") if part)
    return words


def _with_unit(key: str, words: str) -> str:
    unit = _WHOLE_NAMES.get(key, _UNITS.get(key.rpartition("_")[2], "") if "_" in key else "")
    if not unit or unit.rstrip("es") in words.lower() or key.startswith("price"):
        return words
    return f"{words} In {unit}." if words else f"In {unit}."


def _one_line(text: str) -> str:
    return " ".join(text.split()).replace("``", "`")

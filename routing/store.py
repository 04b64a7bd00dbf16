"""A plan as a file: ``plan.json``, the same bytes for the same plan on every machine, and its published JSON Schema.

The file is the ``Plan`` data class as it is, the whole resolved building within it, so nothing else is needed to check,
draw or list a plan later. Lists whose order means nothing are written in order of id; bores stay in walking order.

Run as a module, it writes the schema, ``plan.schema.json``, beside this file.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache, lru_cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError
from pydantic_core import to_json

from barnloom.model.building import Building
from barnloom.model.errors import BarnloomError
from barnloom.routing.plan import PLAN_VERSION, Plan

DECIMALS, DECIMALS_SMALL = 9, 12
"""Numbers are written to a billionth of an inch, far under any limit's tolerance; those up to 1 (directions, shares),
which may be multiplied by a building's length, to three digits more."""
LARGEST_FILE = 256 * 1024 * 1024
"""Bytes; a plan of thousands of boxes is a tenth of this."""
SCHEMA_FILE = Path(__file__).with_name("plan.schema.json")
_SCHEMA_HEAD = ("title", "description")
_SHOWN_FAULTS = 5


class PlanError(BarnloomError, ValueError):
    """A file that is no plan, or a plan that cannot be written down."""


def plan_to_json(plan: Plan) -> str:
    """
    Write a plan down as the text of ``plan.json``.

    Raises
    ------
    PlanError
        If a number in it is not finite.
    """
    data = _adapter().dump_python(_sorted(plan), mode="json")
    try:
        return to_json(_rounded(data), indent=1).decode() + "\n"
    except FloatingPointError:
        where, value = next(_not_finite(data, "plan"))
        msg = f"{where}: found {value}; expected a number"
        raise PlanError(msg) from None


def plan_hash(plan: Plan) -> str:
    """Sixteen letters that stand for this very plan."""
    return sha256(plan_to_json(plan).encode()).hexdigest()[:16]


def plan_from_json(text: str, *, name: str = "plan.json") -> Plan:
    """
    Read a plan from the text of ``plan.json``.

    Parameters
    ----------
    text : str
    name : str, optional
        What error messages call the file.

    Raises
    ------
    PlanError
        If the text is not JSON, holds a number that is not finite, is of another version, or is no plan.
    """
    try:
        data = json.loads(text, parse_float=_finite, parse_constant=_finite)
    except (ValueError, RecursionError) as error:
        msg = f"{name}: found text that is not a plan's JSON ({error}); expected a plan.json that barnloom wrote"
        raise PlanError(msg) from error
    version = data.get("version") if isinstance(data, dict) else None
    if type(version) is not int:
        msg = f"{name}: found no plan version; expected a plan.json that barnloom wrote"
        raise PlanError(msg)
    if version != PLAN_VERSION:
        msg = (
            f"{name}: found plan version {version}; expected {PLAN_VERSION}. "
            "Plan the scene again with this barnloom, or read it with the one that wrote it"
        )
        raise PlanError(msg)
    try:
        return _adapter().validate_json(text, strict=True)
    except ValidationError as error:
        raise PlanError(_faults(name, error)) from error


def read_plan(path: Path) -> Plan:
    """
    Read a plan from a file, or from the ``plan.json`` of a folder.

    Raises
    ------
    PlanError
        If there is no such file, or it is no plan of this version.
    """
    if path.is_dir():
        path = path / "plan.json"
    try:
        size = path.stat().st_size
        if size > LARGEST_FILE:
            msg = f"{path}: found {size} bytes; expected a plan of at most {LARGEST_FILE}"
            raise PlanError(msg)
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        msg = f"{path}: cannot be read ({error.strerror}); expected a plan.json, or the folder that holds one"
        raise PlanError(msg) from error
    except UnicodeDecodeError as error:
        msg = f"{path}: found bytes that are not UTF-8 text; expected a plan.json that barnloom wrote"
        raise PlanError(msg) from error
    return plan_from_json(text, name=str(path))


def plan_json_schema() -> dict[str, Any]:
    """Return the published JSON Schema (draft 2020-12) of ``plan.json``."""
    from barnloom.routing.described import DIALECT, described_schema

    schema = described_schema(_adapter(), Plan)
    schema["properties"]["version"]["const"] = PLAN_VERSION
    head = {"$schema": DIALECT, "$id": f"urn:barnloom:plan:{PLAN_VERSION}", "title": "Barnloom plan"}
    words = f"{schema['description']} Lengths and places are in inches, in axes that point east, north and up."
    return {**head, "description": words, **{key: part for key, part in schema.items() if key not in _SCHEMA_HEAD}}


def schema_text() -> str:
    """Text of the published file."""
    return json.dumps(plan_json_schema(), ensure_ascii=False, indent=1) + "\n"


@lru_cache(maxsize=100_000)
def natural_key(name: str) -> tuple[tuple[int, int | str], ...]:
    """
    Order in which a person looks an id up: numbers by value.

    Examples
    --------
    >>> sorted(["LOFT-J10", "LOFT-J9", "LOFT-J9a"], key=natural_key)
    ['LOFT-J9', 'LOFT-J9a', 'LOFT-J10']
    """
    return tuple((0, int(part)) if part.isdecimal() else (1, part) for part in re.split(r"(\d+)", name) if part)


@cache
def _adapter() -> TypeAdapter[Plan]:
    return TypeAdapter(Plan)


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        msg = f"{text} is not a number"
        raise ValueError(msg)
    return value


def _sorted(plan: Plan) -> Plan:
    """Put every list whose order means nothing in order of id."""

    def by_id(values: tuple[Any, ...], field: str = "id") -> tuple[Any, ...]:
        return tuple(sorted(values, key=lambda value: natural_key(getattr(value, field))))

    building: Building = replace(
        plan.building,
        assemblies=by_id(plan.building.assemblies),
        members=by_id(plan.building.members),
        keep_clear=by_id(plan.building.keep_clear),
        boxes=by_id(plan.building.boxes),
        circuits=by_id(plan.building.circuits),
        cable_rules=by_id(plan.building.cable_rules, "cable"),
        cable_types=by_id(plan.building.cable_types),
        limits=by_id(plan.building.limits, "name"),
    )
    return replace(
        plan,
        building=building,
        cables=by_id(plan.cables),
        unreached=tuple(sorted(plan.unreached, key=natural_key)),
        unreached_why=by_id(plan.unreached_why, "box"),
    )


def _rounded(value: Any, *, free: bool = False) -> Any:
    """
    Copy JSON data with numbers rounded and the keys of free mappings in order.

    Raises
    ------
    FloatingPointError
        If a number is not finite.
    """
    if isinstance(value, float):
        if not math.isfinite(value):
            raise FloatingPointError
        return round(value, DECIMALS if abs(value) > 1 else DECIMALS_SMALL) + 0.0  # + 0.0 turns -0.0 into 0.0
    if isinstance(value, list):
        return [_rounded(item) for item in value]
    if isinstance(value, dict):
        return {key: _rounded(value[key], free=key in _FREE_MAPPINGS) for key in (sorted(value) if free else value)}
    return value


def _not_finite(value: Any, where: str) -> Iterator[tuple[str, float]]:
    """Yield the numbers in JSON data that are not finite, and where they stand."""
    if isinstance(value, float) and not math.isfinite(value):
        yield where, value
    elif isinstance(value, list | dict):
        for key, item in value.items() if isinstance(value, dict) else enumerate(value):
            yield from _not_finite(item, f"{where}/{key}")


_FREE_MAPPINGS = {"about", "prices", "cost_parts"}


def _faults(name: str, error: ValidationError) -> str:
    """Say in lines what is wrong, the first few only."""
    faults = error.errors(include_url=False)
    lines = []
    for fault in faults[:_SHOWN_FAULTS]:
        where = "/".join(str(part) for part in fault["loc"]) or "plan"
        found = "nothing" if fault["type"] == "missing" else f"{fault['input']!r:.60}"
        lines.append(f"{name}: {where}: found {found}; expected otherwise ({fault['msg'].lower()})")
    if len(faults) > _SHOWN_FAULTS:
        lines.append(f"{name}: and {len(faults) - _SHOWN_FAULTS} more faults")
    return "\n".join(lines)


if __name__ == "__main__":
    SCHEMA_FILE.write_text(schema_text(), encoding="utf-8")

"""A scene that is only half filled in: what it says so far, and every value that nobody knows yet, with its line.

``?`` in place of a value says "not known yet"; so do a key without a value, and a key that a scene must have and this
one has not. Everything else is read as by ``read``, value by value, so that one gap hides nothing beside it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from inspect import isclass
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import TypeAdapter, ValidationError

from barnloom.model.errors import Fault, SceneError
from barnloom.model.scene.read import SceneFile, in_order, read_text, scene_bytes
from barnloom.model.scene.refer import NEEDS
from barnloom.model.scene.schema import Said, Scene
from barnloom.model.scene.text import Node, Where, decoded, nearest, parsed
from barnloom.model.scene.values import UNITS
from barnloom.model.scene.words import kinds_at, known_keys, meaning, takes_parts

UNKNOWN = "?"
_MARK = "\ue000"
"""Stands in for a bare ``?``, which YAML takes for a key: one sign for one sign, so that every place stays. It is one
of the signs that mean nothing, so no text has it."""
_BARE = re.compile(r"((?:[:,\[]|^ *-|: *-)\s*)\?(?=\s*(?:[,\]}]|#|$))", re.MULTILINE)
_LATER = ("boxes", "circuits")
"""What a scene has at last, and a survey does not ask for."""
_EITHER = (
    ("walls", (), ("height", "profile"), "sole-plate bottom to top-plate top"),
    ("walls", ("studs",), ("every", "centres", "at"), "where the studs stand, from the wall's start"),
    ("floors", (), ("carries", "bottom"), "the storey it carries, or the level of the underside of its joists"),
    ("floors", ("joists",), ("every", "centres", "at"), "where the joists stand, from the datum corner"),
    ("roofs", ("rafters",), ("every", "centres", "at"), "where the rafters stand, along the eave"),
)
"""Part, place in it, and keys of which one has to be said, with what they say."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """A value that nobody knows yet."""

    where: Where
    line: int
    column: int
    says: str
    """What the value would say."""
    required: bool
    """Whether nothing can be planned without it; else the default holds once its key is left out."""
    marked: bool = False
    """Whether it is written as ``?``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfScene:
    """What a scene file says so far."""

    path: Path
    top: Node
    values: Mapping[str, Any]
    """As in the file, lengths in inches; None for what is not known or cannot be read."""
    missing: tuple[Missing, ...]
    """In the order of the file."""
    faults: tuple[Fault, ...]
    """What is wrong with the rest of it."""
    scene: SceneFile | None
    """The scene, if it is whole."""

    def value(self, *where: str | int) -> Any:
        """Value at a place; None if it is not said, not known or not readable."""
        found: Any = self.values
        for key in where:
            if isinstance(found, Mapping):
                found = found.get(key)
            elif isinstance(found, (list, tuple)) and isinstance(key, int) and key < len(found):
                found = found[key]
            else:
                return None
        return found

    def ids(self, part: str) -> list[str]:
        """Ids that are written in a part, in the order of the file."""
        table = self.values.get(part)
        return list(table) if isinstance(table, Mapping) else []

    def place(self, where: Where) -> tuple[int, int]:
        """Line and column, from 1, of a place, or of what is nearest around it."""
        return nearest(self.top, where).place


def read_half(path: Path) -> HalfScene:
    """
    Read a scene file that may have gaps.

    Raises
    ------
    SceneError
        If the file cannot be read, or is no YAML.
    """
    return half_text(decoded(scene_bytes(path)), path)


def half_text(text: str, path: Path) -> HalfScene:
    """
    Read a scene with gaps from its text; ``path`` only says whose it is.

    Raises
    ------
    SceneError
        If the text is no YAML.
    """
    marked = _BARE.sub(rf"\1{_MARK}", text)
    top, structure = parsed(marked)
    bare = top.child("bare")
    context = {"bare": bare.value if bare and bare.value in UNITS else None}
    missing = sorted((*_unknown(top, ()), *_absent(top, ())), key=lambda one: (one.line, one.column, str(one.where)))
    scene, faults = None, tuple(structure)
    if not missing and not structure:
        try:
            scene = read_text(text, path)
        except SceneError as err:
            faults = err.faults
    else:
        try:
            read_text(marked, path)
        except SceneError as err:
            faults = err.faults
    gaps = {one.where for one in missing}
    return HalfScene(
        path=path,
        top=top,
        values=_read(top, Scene, context) or {},
        missing=tuple(missing),
        faults=in_order(fault for fault in faults if not _is_gap(fault, gaps, top)),
        scene=scene,
    )


def _is_gap(fault: Fault, gaps: set[Where], top: Node) -> bool:
    """Whether a fault only says again that something is not known yet."""
    if fault.where in gaps or any(fault.where == gap[: len(fault.where)] != () for gap in gaps):
        return True
    later = len(fault.where) == 1 and fault.where[0] in _LATER
    return later and top.child(fault.where[0]) is None


def _unknown(node: Node, where: Where) -> Iterator[Missing]:
    """Yield what is marked ``?`` or has no value."""
    if isinstance(node.value, dict):
        for key, child in node.value.items():
            yield from _unknown(child, (*where, key))
    elif isinstance(node.value, list):
        for number, child in enumerate(node.value):
            yield from _unknown(child, (*where, number))
    elif node.value in (UNKNOWN, _MARK) or (node.value is None and kinds_at(where) and not takes_parts(where)):
        yield replace(_gap(where, node.place), marked=node.value in (UNKNOWN, _MARK))


def _gap(where: Where, place: tuple[int, int]) -> Missing:
    keyed = next((where[:end] for end in range(len(where), 0, -1) if isinstance(where[end - 1], str)), where)
    field = known_keys(keyed[:-1]).get(str(keyed[-1])) if keyed else None
    either = any(_at(where, part, inside, keys) for part, inside, keys, _ in _EITHER)
    # A value of a list is there because somebody saw that there is something: without it the list is wrong.
    placing = len(where) == 3 and where[0] == "boxes" and any(where[2] in needed for needed in NEEDS.values())
    needed = either or placing or keyed != where or field is None or field.is_required()
    return Missing(where=where, line=place[0], column=place[1], says=meaning(keyed), required=needed)


def _at(where: Where, part: str, inside: Where, keys: tuple[str, ...]) -> bool:
    return len(where) == 3 + len(inside) and where[0] == part and where[2:-1] == inside and where[-1] in keys


def _absent(node: Node, where: Where) -> Iterator[Missing]:
    """Yield keys that must be said and are not."""
    if isinstance(node.value, list):
        for number, child in enumerate(node.value):
            yield from _absent(child, (*where, number))
    if node.value is None and takes_parts(where):
        node = Node(line=node.line, column=node.column, start=0, key_line=node.key_line, value={})
    if not isinstance(node.value, dict):
        return
    line, column = node.place
    if len([kind for kind in kinds_at(where) if _is_part(kind)]) == 1:
        for key, field in known_keys(where).items():
            place = (*where, key)
            if field.is_required() and key not in node.value and not (where == () and key in _LATER):
                yield Missing(where=place, line=line, column=column, says=meaning(place), required=True)
    for part, inside, keys, says in _EITHER:
        if where == (part, *where[1:2], *inside) and len(where) > 1 and not any(key in node.value for key in keys):
            yield Missing(where=(*where, keys[0]), line=line, column=column, says=says, required=True)
    for key, child in node.value.items():
        yield from _absent(child, (*where, key))


def _is_part(kind: Any) -> bool:
    return isclass(kind) and issubclass(kind, Said)


def _plain(annotation: Any) -> Iterator[Any]:
    """Types in an annotation, without unions and what is said about them."""
    if get_origin(annotation) is Annotated:
        yield from _plain(get_args(annotation)[0])
    elif get_origin(annotation) in (Union, UnionType):
        for part in get_args(annotation):
            yield from _plain(part)
    else:
        yield annotation


def _read(node: Node, annotation: Any, context: Mapping[str, Any]) -> Any:
    """Value of a node as the schema means it; None where there is none, and in place of each value that is none."""
    value = node.value
    if isinstance(value, str):
        return None if value in (UNKNOWN, _MARK) else _leaf(value.replace(_MARK, UNKNOWN), annotation, context)
    for kind in _plain(annotation):
        origin, args = get_origin(kind), get_args(kind)
        if isinstance(value, dict) and _is_part(kind):
            fields = {field.alias or name: field for name, field in kind.model_fields.items()}
            return {
                key: _read(child, _annotation(fields[key]), context) for key, child in value.items() if key in fields
            }
        if isinstance(value, dict) and origin is dict:
            return {key: _read(child, args[1], context) for key, child in value.items()}
        if isinstance(value, list) and origin is list:
            return [_read(child, args[0], context) for child in value]
        if isinstance(value, list) and origin is tuple:
            read = [_read(child, one, context) for child, one in zip(value, args, strict=False)]
            return (*read, *[None] * (len(args) - len(read)))
    return None


def _annotation(field: Any) -> Any:
    return Annotated[(field.annotation, *field.metadata)] if field.metadata else field.annotation


@lru_cache(maxsize=1000)
def _adapter(annotation: Any) -> TypeAdapter[Any]:
    return TypeAdapter(annotation)


def _leaf(value: str, annotation: Any, context: Mapping[str, Any]) -> Any:
    try:
        return _adapter(annotation).validate_python(value, context=dict(context))
    except (ValidationError, SceneError):
        return None

"""A scene file from disk: the scene, each value knowing its line, or every fault in it at once, each with its place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, get_origin

from pydantic import ValidationError

from barnloom.model.errors import Fault, SceneError
from barnloom.model.scene.refer import faults_between
from barnloom.model.scene.schema import Scene
from barnloom.model.scene.text import BYTES_MAX, Node, Where, decoded, nearest, parsed
from barnloom.model.scene.values import UNITS
from barnloom.model.scene.words import empty_faults, faults_in_words, kinds_at, takes_parts

FAULTS_SHOWN = 200
"""More than this helps nobody: they have one cause."""

REQUIRED = {"barnloom": "1", "title": "not said", "boxes": {}}
"""What stands in for a part that is missing, so that the rest can still be checked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SceneFile:
    """A scene and the file it came from."""

    path: Path
    text: str
    scene: Scene
    top: Node

    def locate(self, where: Where) -> tuple[int, int]:
        """Line and column, from 1, of a place in the scene, or of what is nearest around it."""
        return nearest(self.top, where).place

    def placed(self, faults: Iterable[Fault]) -> tuple[Fault, ...]:
        """Faults with their lines and columns, in the order of the file."""
        return in_order(_placed(fault, self.top) for fault in faults)


def read_scene(path: Path) -> SceneFile:
    """
    Read a scene file.

    Parameters
    ----------
    path : Path
        A file in UTF-8, at most 1 MB.

    Raises
    ------
    SceneError
        With every fault that could be found, each with line and column, in the order of the file.
    """
    return read_text(decoded(scene_bytes(path)), path)


def scene_bytes(path: Path) -> bytes:
    """
    Bytes of a scene file; of one that is far too long only as many as show that.

    Raises
    ------
    SceneError
        If the file cannot be read.
    """
    try:
        with path.open("rb") as file:
            return file.read(BYTES_MAX + 1)
    except OSError as err:
        do = "check the name and the folder; `barnloom new` writes a scene to start from"
        raise SceneError([Fault((), (err.strerror or "an error").lower(), "a scene file to read", do)]) from err


def read_text(text: str, path: Path) -> SceneFile:
    """
    Read a scene from its text; ``path`` only says whose it is.

    Raises
    ------
    SceneError
        As `read_scene`.
    """
    top, structure = parsed(text)
    empty = empty_faults(top, text)
    data = _filled(top, ())
    scene: Scene | None
    try:
        scene, values = _scene(data), []
    except ValidationError as err:
        values = faults_in_words(err, top)
        scene = _sound_part(data, [*structure, *empty, *values])
    faults = _first_only(structure, empty, values)
    if scene is not None:
        between = faults_between(scene, written=_written(top), broken=_broken(faults))
        faults += [_placed(fault, top) for fault in between]
    if faults or scene is None:
        raise SceneError(in_order(faults))
    return SceneFile(path=path, text=text, scene=scene, top=top)


def format_faults(file: Path | str, faults: Iterable[Fault]) -> str:
    """
    Write faults as lines for people and editors: ``file:line:column: place: found ...; expected ...; way out``.

    Examples
    --------
    >>> print(format_faults("shed.yaml", [Fault(("title",), "nothing", "a title", "write one", 2, 1)]))
    shed.yaml:2:1: title: found nothing; expected a title; write one
    """
    all_faults = list(faults)
    lines = []
    for fault in all_faults[:FAULTS_SHOWN]:
        place = f"{file}:{fault.line}:{fault.column}" if fault.line else f"{file}"
        said = str(fault) if fault.where else str(fault).removeprefix("scene: ")
        lines.append(f"{place}: {said}")
    if len(all_faults) > FAULTS_SHOWN:
        lines.append(f"{file}: and {len(all_faults) - FAULTS_SHOWN} more")
    return "\n".join(lines)


def in_order(faults: Iterable[Fault]) -> tuple[Fault, ...]:
    """Faults in the order of the file; those that have no line come first."""
    return tuple(sorted(faults, key=lambda fault: (fault.line, fault.column, [str(key) for key in fault.where])))


def _scene(data: dict[str, Any]) -> Scene:
    bare = data.get("bare")
    return Scene.model_validate(data, context={"bare": bare if bare is None or bare in UNITS else "in"})


def _first_only(*stages: Iterable[Fault]) -> list[Fault]:
    """Faults of all stages of reading, without those of a later stage at a place an earlier one found at fault."""
    faults: list[Fault] = []
    for stage in stages:
        seen = {fault.where for fault in faults}
        faults += [fault for fault in stage if not fault.where or fault.where not in seen]
    return faults


def _written(top: Node) -> dict[str, list[str]]:
    """Ids that are written in each part of the file, sound or not."""
    parts = top.value.items() if isinstance(top.value, dict) else ()
    return {part: list(node.value) for part, node in parts if isinstance(node.value, dict)}


def _placed(fault: Fault, top: Node) -> Fault:
    if fault.line:
        return fault
    line, column = nearest(top, fault.where).place
    return replace(fault, line=line, column=column)


def _filled(node: Node, where: Where) -> Any:
    """Plain data of a node: a part left empty has no keys, a value left empty is not said."""
    if isinstance(node.value, dict):
        inner = {key: _filled(child, (*where, key)) for key, child in node.value.items()}
        return {key: value for key, value in inner.items() if value is not None or not kinds_at((*where, key))}
    if isinstance(node.value, list):
        return [_filled(child, (*where, number)) for number, child in enumerate(node.value)]
    if node.value is None and takes_parts(where):
        return [] if any(get_origin(kind) is list for kind in kinds_at(where)) else {}
    return node.value


def _sound_part(data: dict[str, Any], faults: Iterable[Fault]) -> Scene | None:
    """Read what is left of a scene without the parts at fault; None if that is no scene."""
    for part, name in _broken(faults):
        table = data.get(part)
        if name and isinstance(table, dict):
            table.pop(name, None)
        else:
            data.pop(part, None)
    try:
        return _scene(REQUIRED | data)
    except ValidationError:
        return None


def _broken(faults: Iterable[Fault]) -> set[tuple[str, str]]:
    """Parts of a scene that have a fault: (walls, SOUTH) where a part is a table of ids, else (about, nothing)."""
    places = {fault.where for fault in faults if fault.where}
    return {(str(where[0]), str(where[1]) if len(where) > 1 and _is_table(str(where[0])) else "") for where in places}


def _is_table(part: str) -> bool:
    return any(get_origin(kind) is dict for kind in kinds_at((part,)))

"""One value of a scene file changed in place: every other byte, remarks and layout included, stays as it is."""

from __future__ import annotations

import os
import re
import shutil
import tempfile
from codecs import BOM_UTF8
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from barnloom.model.errors import Fault, InputError, SceneError
from barnloom.model.scene.names import did_you_mean, listed
from barnloom.model.scene.read import read_text, scene_bytes
from barnloom.model.scene.text import UNSEEN, Data, Node, Where, clipped, decoded, parsed
from barnloom.model.scene.words import kinds_at, known_keys

_NEW_KEY = re.compile(r"[\w.-]{1,60}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What became of a value: its line (from 1), and its text before and after; nothing before: it is new."""

    line: int
    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Target:
    """A value that is there, or (with a new key) the part that gets one."""

    place: Where
    node: Node
    new_key: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Edit:
    """Characters of a text to replace, with what, and where the value begins in that."""

    start: int
    end: int
    new: str
    value_at: int

    def done(self, text: str) -> str:
        return text[: self.start] + self.new + text[self.end :]


def set_value(path: Path, where: str, value: str) -> Change:
    """
    Change one value of a scene file, or add a key to a part that is there.

    Parameters
    ----------
    path : Path
        The scene file; it is replaced whole or not at all.
    where : str
        Keys from the top with slashes between them, ``boxes/K1/height``; dots do where no key holds one. Items of a
        list count from 0.
    value : str
        The value as one would say it, ``4' 4"``; in brackets a list or keys, ``[3', 4']``. Quotes are put where YAML
        needs them.

    Raises
    ------
    InputError
        If there is no such place, it is a part with keys of its own, or the value is more than one line of text.
    SceneError
        If the file is no scene, or would be none with the new value; the file is then as it was.
    """
    path = path.resolve()
    raw = scene_bytes(path)
    text = decoded(raw)
    value = value.strip()
    if UNSEEN.search(value) or "\n" in value or "\r" in value:
        found = "a value with line ends or signs that cannot be seen"
        raise InputError(found, "text on one line", "leave them out")
    top, _ = parsed(text)
    target = _target(top, where)
    for written in _ways_to_write(value):
        edit = _addition(text, target, written) if target.new_key else _replacement(text, target.node, written)
        changed = edit.done(text)
        if _changes_only(changed, top, target, value):
            break
    else:
        do = "brackets hold a list [3', 4'] or keys {x: 3'}; anything else is text"
        raise InputError(clipped(value) or "nothing", "a value that can stand there", do)
    read_text(changed, path)
    if changed != text:
        _replace(path, (BOM_UTF8 if raw.startswith(BOM_UTF8) else b"") + changed.encode())
    line = len(re.findall(r"\r\n|\r|\n", changed[: edit.start + edit.value_at])) + 1
    before = "" if target.new_key or target.node.value is None else text[target.node.start : target.node.end].rstrip()
    return Change(line=line, before=before, after=written)


def _target(top: Node, where: str) -> _Target:
    """Find a place: at each step the longest run of words that is a key, as ids may hold the separator."""
    separator = "/" if "/" in where else "."
    words = where.strip(separator).split(separator)
    node, place = top, Where()
    while words:
        for count in range(len(words), 0, -1):
            key: str | int = separator.join(words[:count])
            if isinstance(node.value, list) and str(key).isdecimal():
                key = int(key)
            inner = node.child(key)
            if inner is not None:
                node, place, words = inner, (*place, key), words[count:]
                break
        else:
            break
    part = "/".join(map(str, place)) or "the scene"
    if not words:
        if isinstance(node.value, dict | list) and not node.bracketed:
            found = f"{part}, a part with values of its own"
            inside = list(node.value) if isinstance(node.value, dict) else range(len(node.value))
            raise InputError(found, "the place of one value", f"name one of its values: {listed(map(str, inside))}")
        return _Target(place=place, node=node)
    key = words[0]
    if len(words) == 1 and isinstance(node.value, dict) and _NEW_KEY.fullmatch(key) and kinds_at((*place, key)):
        return _Target(place=(*place, key), node=node, new_key=key)
    found, known = f"no {key} in {part}", [*(node.value if isinstance(node.value, dict) else ()), *known_keys(place)]
    do = did_you_mean(key, known) or "write the keys from the top, with / between them, like boxes/K1/height"
    raise InputError(found, "the place of a value that is there, or can be", do)


def _ways_to_write(value: str) -> Iterator[str]:
    """Ways to write a value in YAML, the plainest first."""
    if value:
        yield value
    if value[:1] not in ("[", "{"):
        yield "'" + value.replace("'", "''") + "'"


def _replacement(text: str, node: Node, written: str) -> _Edit:
    if node.value is not None or node.start < node.end:
        # a text on lines of its own (after | or >) ends with its last line's end
        ends = re.search(r"[\r\n]*$", text[node.start : node.end])
        end = node.end - (len(ends[0]) if ends else 0)
        return _Edit(start=node.start, end=end, new=written, value_at=0)
    colon = re.match(r"[ \t]*:", text[node.end :])
    at = node.end + (colon.end() if colon else 0)
    new = f" {written}" if colon else f": {written}"
    return _Edit(start=at, end=at, new=new, value_at=len(new) - len(written))


def _addition(text: str, target: _Target, written: str) -> _Edit:
    """Write a new key behind the last value of a part, as its other values are written."""
    children = list(target.node.value.values()) if isinstance(target.node.value, dict) else []
    entry = f"{target.new_key}: {written}"
    if target.node.bracketed:
        at = children[-1].end if children else target.node.end - 1
        new = f", {entry}" if children else entry
        return _Edit(start=at, end=at, new=new, value_at=len(new) - len(written))
    ends = re.compile(r"\r\n|\r|\n")
    rest = ends.search(text, max(target.node.end - 1, 0))
    first = ends.search(text)
    newline = first[0] if first else "\n"
    indent = " " * (children[0].key_column - 1)
    if rest is None:
        return _Edit(start=len(text), end=len(text), new=f"{newline}{indent}{entry}", value_at=len(newline + indent))
    new = f"{indent}{entry}{newline}"
    return _Edit(start=rest.end(), end=rest.end(), new=new, value_at=len(indent))


def _changes_only(changed: str, top: Node, target: _Target, value: str) -> bool:
    """Whether a changed text reads as before, but for the value in its place."""
    try:
        new, _ = parsed(changed)
    except SceneError:
        return False
    read = new
    for key in target.place:
        inner = read.child(key)
        if inner is None:
            return False
        read = inner
    if value[:1] in ("[", "{"):
        if isinstance(read.value, str | None) or changed[read.start : read.end] != value:
            return False
    elif read.data() != value:
        return False
    return new.data() == _with(top.data(), target.place, read.data())


def _with(data: Data, place: Where, value: Data) -> Data:
    """Return data with another value at a place."""
    if not place:
        return value
    key, *rest = place
    if isinstance(data, list) and isinstance(key, int):
        return [*data[:key], _with(data[key], tuple(rest), value), *data[key + 1 :]]
    if isinstance(data, dict):
        return {**data, str(key): _with(data.get(str(key)), tuple(rest), value)}
    return value


def _replace(path: Path, raw: bytes) -> None:
    """Put a file in place of another, whole or not at all, with the same permissions."""
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(raw)
                file.flush()
                os.fsync(file.fileno())
            shutil.copymode(path, name)
            os.replace(name, path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as err:
        do = "the scene is as it was; check that its folder may be written to"
        raise SceneError([Fault((), (err.strerror or "an error").lower(), "a file that can be written", do)]) from err

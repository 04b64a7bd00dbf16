"""What is wrong with a scene's keys and values, in plain words: what was meant, what belongs there, and a way out."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from functools import lru_cache
from inspect import isclass
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import ValidationError
from pydantic.fields import FieldInfo

from barnloom.model.described import field_words
from barnloom.model.errors import Fault, InputError
from barnloom.model.scene.schema import Said, Scene
from barnloom.model.scene.text import Node, Where, clipped, nearest
from barnloom.model.scene.values import KEYS, LIST, WORD

_AT_KEY = "[key]"


def faults_in_words(error: ValidationError, top: Node) -> list[Fault]:
    """Every fault that the schema found in a file's data, with its line and column."""
    return [_fault(said, top) for said in error.errors(include_url=False)]


def empty_faults(top: Node, text: str) -> list[Fault]:
    """
    Faults for keys without a value, which are often a value lost to a remark.

    A part that may hold keys or a list (``cables:`` with every line under it turned into a remark) may stay empty.
    """
    lines = text.splitlines()
    faults = []
    for where, node in _empties(top, ()):
        if not kinds_at(where) or takes_parts(where):
            continue
        line, column = node.place
        remark = re.search(r":\s+(#.*)$", lines[line - 1] if line <= len(lines) else "")
        found = f"nothing but the remark {clipped(remark[1], 30)}" if remark else "nothing"
        unless = "put quotes round it if it has a # in it" if remark else "or delete the line"
        do = f"write the value after the colon, {unless}"
        faults.append(Fault(where, found, meaning(where) or "a value", do, line, column))
    return faults


@lru_cache(maxsize=1000)
def kinds_at(where: Where) -> tuple[Any, ...]:
    """Types that the schema allows at a place; empty where it knows no such place."""
    kinds: list[Any] = [Scene]
    for key in where:
        kinds = [inner for kind in kinds for inner in _inside(kind, key)]
    return tuple(kinds)


def takes_parts(where: Where) -> bool:
    """Whether keys or a list belong at a place, and one value cannot."""
    kinds = kinds_at(where)
    return bool(kinds) and all(get_origin(kind) in (dict, list) or _is_part(kind) for kind in kinds)


@lru_cache(maxsize=1000)
def known_keys(where: Where) -> Mapping[str, FieldInfo]:
    """Keys that may stand under a place, with their fields."""
    return {
        field.alias or name: field
        for kind in kinds_at(where)
        if _is_part(kind)
        for name, field in kind.model_fields.items()
    }


def meaning(where: Where) -> str:
    """Return what the schema says about a place, in a sentence."""
    key = str(where[-1]) if where else ""
    words = [
        field_words(kind)[name]
        for kind in kinds_at(where[:-1])
        if _is_part(kind)
        for name, field in kind.model_fields.items()
        if key == (field.alias or name)
    ]
    said = words[-1].replace("``", "").rstrip(".") if words else ""
    return said[:1].lower() + said[1:]


def _is_part(kind: Any) -> bool:
    return isclass(kind) and issubclass(kind, Said)


def _inside(kind: Any, key: str | int) -> Iterator[Any]:
    origin, args = get_origin(kind), get_args(kind)
    if _is_part(kind):
        for name, field in kind.model_fields.items():
            if key == (field.alias or name):
                yield from _plain(field.annotation)
    elif origin is dict:
        yield from _plain(args[1])
    elif origin is list:
        yield from _plain(args[0])
    elif origin is tuple and isinstance(key, int) and key < len(args):
        yield from _plain(args[key])


def _plain(annotation: Any) -> Iterator[Any]:
    """Types in an annotation, without unions and what is said about them."""
    if get_origin(annotation) is Annotated:
        yield from _plain(get_args(annotation)[0])
    elif get_origin(annotation) in (Union, UnionType):
        for part in get_args(annotation):
            yield from _plain(part)
    elif annotation is not type(None):
        yield annotation


def _empties(node: Node, where: Where) -> Iterator[tuple[Where, Node]]:
    if node.value is None:
        yield where, node
    elif not isinstance(node.value, str):
        inner = node.value.items() if isinstance(node.value, dict) else enumerate(node.value)
        for key, child in inner:
            yield from _empties(child, (*where, key))


def _fault(said: Mapping[str, Any], top: Node) -> Fault:
    kind, loc, context = said["type"], said["loc"], said.get("ctx", {})
    where: Where = tuple(part for part in loc if part not in (KEYS, LIST, WORD, _AT_KEY))
    node = nearest(top, where)
    place = (node.key_line, node.key_column) if loc[-1:] == (_AT_KEY,) or kind == "extra_forbidden" else node.place
    found = str(where[-1]) if loc[-1:] == (_AT_KEY,) and where else _shown(node)
    expected, do = meaning(where), ""
    if kind == "value_error" and isinstance(context.get("error"), InputError):
        error = context["error"]
        found, expected, do = error.found, error.expected, error.do or expected
    elif kind == "extra_forbidden":
        found = f"the key {clipped(str(where[-1]), 40)}"
        expected, do = _unknown_key(where)
    elif kind == "missing" and isinstance(where[-1], str):
        found, expected = f"no {where[-1]}", f"{where[-1]}: {expected}"
        do = f"add {where[-1]}: with its value"
    elif kind in ("missing", "too_long", "tuple_type", "list_type", "too_short"):
        list_at = where[:-1] if isinstance(where[-1], int) and kind == "missing" else where
        found, expected, do = _list_words(list_at, nearest(top, list_at))
    elif kind == "literal_error":
        expected, do = _one_of(where, found)
    elif kind == "string_pattern_mismatch":
        expected = "an id: letters, digits and . _ - only, beginning with a letter or digit, at most 40"
        do = "use a short id, and write anything else as its title"
    elif kind in ("greater_than_equal", "less_than_equal"):
        bound = f"at least {context['ge']:g}" if "ge" in context else f"at most {context['le']:g}"
        expected, do = f"{bound} ({expected})" if expected else bound, "check the number"
    elif kind in ("dict_type", "model_type", "model_attributes_type"):
        expected, do = "keys with values below it", _under(where)
    elif kind == "union_tag_invalid":
        expected, do = f"{_shapes(where)} ({expected})", "write it in one of these ways"
    return Fault(where, found, expected or "another value", do or "compare with the examples in the README", *place)


def _shown(node: Node) -> str:
    """Return what stands at a place, as briefly as it can be said."""
    if isinstance(node.value, str):
        return clipped(node.value) or "an empty text"
    if node.value is None:
        return "nothing"
    name = "a list" if isinstance(node.value, list) else "keys"
    return f"{name} of {len(node.value)}" if node.value else f"{'an empty list' if name == 'a list' else 'no keys'}"


def _unknown_key(where: Where) -> tuple[str, str]:
    """Return what was expected in place of an unknown key, and the key that was probably meant."""
    key, keys = str(where[-1]), known_keys(where[:-1])
    head = re.match(r"([\w-]+)\s*:", key)
    if head and head[1] in keys:
        return "a space after the colon", f"write {head[1]}: {clipped(key[head.end() :]) or '...'}"
    alike = {name.casefold().replace("_", ""): name for name in keys}
    folded = re.sub(r"[-_\s]", "", key).casefold()
    near = get_close_matches(folded, alike, n=1, cutoff=0.6)
    known = "a key that is known here"
    if get_close_matches(folded, alike, n=1, cutoff=0.9):
        return known, f"did you mean {alike[near[0]]}?"
    deeper = [name for name in keys if key in known_keys((*where[:-1], name))]
    if deeper:
        return known, f"{key} belongs under {deeper[0]}"
    higher = [where[:-up] for up in range(2, len(where) + 1) if key in known_keys(where[:-up])]
    if higher:
        owner = "/".join(map(str, higher[0])) or "the scene itself"
        return known, f"{key} belongs to {owner}: check how far the line is indented"
    if near:
        return known, f"did you mean {alike[near[0]]}?"
    return f"one of {', '.join(keys)}", "delete it, or turn it into a remark with # in front"


def _one_of(where: Where, found: str) -> tuple[str, str]:
    """Words that may stand at a place, and the one probably meant."""
    words = [str(word) for kind in kinds_at(where) if get_origin(kind) is Literal for word in get_args(kind)]
    meant = {"true": "yes", "on": "yes", "false": "no", "off": "no"}.get(found.casefold(), found.casefold())
    near = [word for word in words if word == meant] or get_close_matches(meant, words, n=1, cutoff=0.5)
    if where == ("barnloom",):
        return "1, the version of this format", "write barnloom: 1"
    return f"one of {', '.join(words)}", f"did you mean {near[0]}?" if near else f"write {words[0]}, for example"


def _list_words(where: Where, node: Node) -> tuple[str, str, str]:
    """Return what stands in place of a list, the list that belongs there, and how to write it."""
    kinds = kinds_at(where)
    said = meaning(where)
    count = next((len(get_args(kind)) for kind in kinds if get_origin(kind) is tuple), 0)
    if count:
        expected = f"{count} values in brackets" + (f" ({said})" if said else "")
        sample = {2: "[3' 6\", 8']", 3: "[3' 6\", 8', 0]"}[count]
    else:
        expected = "a list with at least one value" + (f" ({said})" if said else "")
        sample = f"[{clipped(node.value, 20)}]" if isinstance(node.value, str) and node.value else "[..., ...]"
    return _shown(node), expected, f"write it like {sample}"


def _under(where: Where) -> str:
    keys = known_keys(where)
    if keys:
        first = next((name for name, field in keys.items() if field.is_required()), next(iter(keys)))
        return f"write {first}: and the like on lines below it, two spaces further in"
    return "write each id on a line below it, two spaces further in, with a colon behind it"


def _shapes(where: Where) -> str:
    names = []
    for kind in kinds_at(where):
        origin = get_origin(kind)
        if origin is Literal:
            names.append(" or ".join(str(word) for word in get_args(kind)))
        elif origin is list:
            names.append("a list")
        else:
            names.append("keys with values below" if _is_part(kind) or origin is dict else "one value")
    return ", or ".join(dict.fromkeys(names))

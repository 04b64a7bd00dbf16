"""The text of a scene file as plain data, every value knowing its place.

Only the plain part of YAML is taken: mappings, lists and text. Whatever lets a short file stand for a huge or strange
one (anchors, aliases, tags, merge keys, several documents) is refused; size, depth and number of values have bounds,
so that time and memory have. Every value stays the text that stands in the file: what ``010``, ``no`` or ``1.10`` means
is for the field to say.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice
from typing import cast

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, StringMark
from ruamel.yaml.events import (
    AliasEvent,
    CollectionStartEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    NodeEvent,
    ScalarEvent,
    SequenceEndEvent,
    StreamEndEvent,
)

from barnloom.model.errors import Fault, SceneError
from barnloom.model.scene.slips import slip

BYTES_MAX = 1_000_000
VALUES_MAX = 40_000
DEPTH_MAX = 20

Where = tuple[str | int, ...]
Data = str | dict[str, "Data"] | list["Data"] | None

# Signs that nobody sees and that could break a line, a list or a terminal; tab and line ends are fine.
UNSEEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ufffe\uffff]")


@dataclass(slots=True, kw_only=True)
class Node:
    """A value in the file: a text, nothing at all, a mapping or a list, and where it stands.

    ``start`` and ``end`` count characters of the file's text; a mapping or list without brackets ends with its last
    value, a value that is not there begins and ends with its key. Lines and columns count from 1; those of the key are
    0 in a list and at the top.
    """

    line: int
    column: int
    start: int
    end: int = 0
    key_line: int = 0
    key_column: int = 0
    bracketed: bool = False
    value: str | None | dict[str, Node] | list[Node] = None

    @property
    def place(self) -> tuple[int, int]:
        """Line and column a person looks at: a text's own, else its key's."""
        if isinstance(self.value, str) or not self.key_line:
            return self.line, self.column
        return self.key_line, self.key_column

    def data(self) -> Data:
        """Plain data without the places."""
        if isinstance(self.value, dict):
            return {key: node.data() for key, node in self.value.items()}
        if isinstance(self.value, list):
            return [node.data() for node in self.value]
        return self.value

    def child(self, key: str | int) -> Node | None:
        """Value under a key or at an index; None if there is none."""
        if isinstance(self.value, dict):
            return self.value.get(str(key))
        if isinstance(self.value, list) and isinstance(key, int) and 0 <= key < len(self.value):
            return self.value[key]
        return None


def nearest(top: Node, where: Where) -> Node:
    """Node at a place, or the innermost one around it that exists."""
    node = top
    for key in where:
        inner = node.child(key)
        if inner is None:
            break
        node = inner
    return node


def decoded(raw: bytes) -> str:
    """
    Text of a file, with whatever byte order mark it has left off.

    Raises
    ------
    SceneError
        If it is too long or is not UTF-8.
    """
    if len(raw) > BYTES_MAX:
        found = f"more than {BYTES_MAX:,} bytes"
        do = "a scene written by hand is far shorter: is this the right file?"
        raise SceneError([Fault((), found, f"a scene file of at most {BYTES_MAX:,} bytes", do)])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as err:
        before = raw[: err.start].decode("utf-8", errors="replace").removeprefix("\ufeff")
        line, column = _line_column(before, len(before))
        found = f"a byte {raw[err.start]:#04x} that is not UTF-8 text"
        do = "save the file as UTF-8 in your editor (a typed ½ or an accent saved in another way looks like this)"
        raise SceneError([Fault((), found, "a text file in UTF-8", do, line, column)]) from err


def parsed(text: str) -> tuple[Node, list[Fault]]:
    """
    Read a text as one tree of nodes, with every fault that does not stop the reading.

    Raises
    ------
    SceneError
        If the text holds signs that cannot be seen, is no YAML, is empty, holds several documents, is no mapping, is
        too deep or too long.
    """
    do = "delete it; text pasted from elsewhere often brings such signs"
    unseen = [
        Fault((), _sign(match[0]), "text that can be seen", do, *_line_column(text, match.start()))
        for match in islice(UNSEEN.finditer(text), 20)
    ]
    if unseen:
        raise SceneError(unseen)
    events = _counted(YAML(typ="safe", pure=True).parse(text))
    reading = _Reading(events)
    try:
        next(events)  # the stream's start
        first = next(events)
        if isinstance(first, StreamEndEvent):
            do = "write a scene, or begin with the one that `barnloom new` writes"
            raise SceneError([Fault((), "an empty file", "a scene", do, 1, 1)])
        if isinstance(first, DocumentStartEvent) and (first.version or first.tags):
            found, do = "a line that begins with %", "delete it"
            reading.faults.append(Fault((), found, "a scene", do, text[: text.find("%")].count("\n") + 1, 1))
        top = reading.node(next(events), ())
        next(events)  # the document's end
        after = next(events)
    except MarkedYAMLError as err:
        raise SceneError([slip(err, text)]) from err
    if not isinstance(after, StreamEndEvent):
        found, do = (
            "a second document after the first",
            "keep one scene to a file: delete the --- or ... and what follows",
        )
        raise SceneError([*reading.faults, _fault((), after.start_mark, found, "one scene in the file", do)])
    if not isinstance(top.value, dict):
        found = "a list" if isinstance(top.value, list) else f"only the text {clipped(top.value or 'null')}"
        do = "begin with barnloom: 1 and title: My shed; `barnloom new` writes a scene to start from"
        raise SceneError([Fault((), found, "keys with values", do, top.line, top.column)])
    return top, reading.faults


def clipped(text: str, longest: int = 60) -> str:
    """Shorten a text to what fits in a message."""
    line = " ".join(text.split())
    return line if len(line) <= longest else line[: longest - 3] + "..."


@dataclass(slots=True)
class _Reading:
    """Events that are still to come, and the faults met so far."""

    events: Iterator[Event]
    faults: list[Fault] = field(default_factory=list)

    def refuse(self, where: Where, mark: StringMark, found: str, do: str) -> None:
        self.faults.append(_fault(where, mark, found, "every value written out in plain", do))

    def node(self, event: Event, where: Where) -> Node:
        mark = event.start_mark
        if isinstance(event, AliasEvent):
            do = "write the value out; a text that begins with * needs quotes round it"
            self.refuse(where, mark, f"*{clipped(event.anchor)}, a value borrowed from elsewhere", do)
            return _node(event)
        if isinstance(event, NodeEvent) and event.anchor is not None:
            do = "delete it, and write each value out where it belongs; a text that begins with & needs quotes round it"
            self.refuse(where, mark, f"&{clipped(event.anchor)}, a name for a value", do)
        if isinstance(event, ScalarEvent | CollectionStartEvent) and event.tag:
            tag = clipped(event.tag.replace("tag:yaml.org,2002:", "!!"))
            self.refuse(where, mark, f"{tag}, a tag", "delete it; a text that begins with ! needs quotes round it")
        if isinstance(event, ScalarEvent):
            return self._text(event, where)
        if len(where) == DEPTH_MAX:
            found, do = f"values nested more than {DEPTH_MAX} deep", "a scene needs far fewer: look at the brackets"
            raise SceneError([*self.faults, _fault((), mark, found, f"at most {DEPTH_MAX} levels", do)])
        if isinstance(event, MappingStartEvent):
            return self._mapping(event, where)
        return self._list(cast(CollectionStartEvent, event), where)

    def _text(self, event: ScalarEvent, where: Where) -> Node:
        node = _node(event, end=event.end_mark.index)
        if event.style is None and event.value in ("", "~", "null"):
            return node
        node.value = event.value
        unseen = UNSEEN.search(event.value)
        if unseen:  # only an escape in double quotes can bring one in here
            found, do = _sign(unseen[0]), "leave it out of the text"
            self.faults.append(_fault(where, event.start_mark, found, "text that can be seen", do))
        return node

    def _list(self, event: CollectionStartEvent, where: Where) -> Node:
        items: list[Node] = []
        node = _node(event, bracketed=event.flow_style, value=items)
        while not isinstance(item := next(self.events), SequenceEndEvent):
            items.append(self.node(item, (*where, len(items))))
        node.end = item.end_mark.index if node.bracketed else items[-1].end
        return node

    def _mapping(self, event: CollectionStartEvent, where: Where) -> Node:
        entries: dict[str, Node] = {}
        node = _node(event, bracketed=event.flow_style, value=entries)
        last = node.start
        while not isinstance(begins := next(self.events), MappingEndEvent):
            key, mark = self._key(begins, where), begins.start_mark
            value = self.node(next(self.events), (*where, key))
            value.key_line, value.key_column = mark.line + 1, mark.column + 1
            if value.value is None and value.start == value.end:
                value.start = value.end = begins.end_mark.index
            last = max(last, value.end)
            if key == "<<":
                self.refuse((*where, key), mark, "<<, a merge of other keys", "write the keys out")
            elif key in entries:
                found = f"{clipped(key)} a second time (first on line {entries[key].key_line})"
                do = "delete one, or give it a name of its own"
                self.faults.append(_fault((*where, key), mark, found, "each key once", do))
            elif key:
                entries[key] = value
        node.end = begins.end_mark.index if node.bracketed else last
        return node

    def _key(self, event: Event, where: Where) -> str:
        self.node(event, (*where, "?"))  # refuses what a key may not have, and takes in all of a key that is no text
        if isinstance(event, ScalarEvent) and event.value:
            return str(event.value)
        found, do = "something that is no name before a colon", "write it as name: value"
        self.faults.append(_fault(where, event.start_mark, found, "a name before each colon", do))
        return ""


def _counted(events: Iterator[Event]) -> Iterator[Event]:
    for count, event in enumerate(events):
        if count > 2 * VALUES_MAX:
            found, do = "far more values than anyone writes by hand", "is this the right file?"
            raise SceneError([_fault((), event.start_mark, found, f"at most {VALUES_MAX:,} values", do)])
        yield event


def _node(
    event: Event, end: int = 0, *, bracketed: bool = False, value: dict[str, Node] | list[Node] | None = None
) -> Node:
    mark = event.start_mark
    return Node(line=mark.line + 1, column=mark.column + 1, start=mark.index, end=end, bracketed=bracketed, value=value)


def _fault(where: Where, mark: StringMark, found: str, expected: str, do: str) -> Fault:
    return Fault(where, found, expected, do, mark.line + 1, mark.column + 1)


def _sign(sign: str) -> str:
    return f"a sign that cannot be seen (U+{ord(sign):04X})"


def _line_column(text: str, index: int) -> tuple[int, int]:
    before = text[:index].replace("\r\n", "\n").replace("\r", "\n")
    return before.count("\n") + 1, len(before) - before.rfind("\n")

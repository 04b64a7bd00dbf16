"""What somebody reports from the ladder: the phone's file, or lines written by hand.

The phone's file is told in ``viewer/page/README.md``. By hand, a line says one thing of one or more ids::

    LOFT-J7.a moved to 8' 3"              # along, from the hooked end; drilled there
    LOFT-J7.b moved to 8' 3", 4-1/2"      # along, and across
    LOFT, SOUTH-S4 drilled                # every hole of a floor and of a stud
    LIGHTS.SW1, OUTLETS pulled            # a cable, and all cables of a circuit
    SW1 made up
    SW2 box square-4-2.125                # made up, in another box than was planned
    all drilled
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from barnloom.model.errors import BarnloomError, InputError
from barnloom.model.lengths import read_length
from barnloom.model.scene.names import did_you_mean
from barnloom.routing.plan import Plan

LARGEST_FILE = 16 * 1024 * 1024
"""Bytes; a report on thousands of holes is a tenth of this."""
_VERB = re.compile(r"\s+(drilled|moved\s+to|pulled|made\s+up|box)\b", re.IGNORECASE)
_ALL = "all"
_EXPECTED = (
    "IDS drilled, ID moved to LENGTH[, LENGTH], IDS pulled, IDS made up, or ID box TYPE, like LOFT-J7.a moved to 8' 3\""
)


class MovesError(BarnloomError, ValueError):
    """A report that cannot be read: every fault in it, each with its place."""

    def __init__(self, faults: Iterable[str]) -> None:
        super().__init__("\n".join(faults))


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a hole is: None where it is as planned. Inches, in its member's own axes."""

    along_in: float | None = None
    across_in: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Moves:
    """A report: what is done, by id, each with where it is said (``file:line``)."""

    plan: str = ""
    """Hash of the plan that it is of; empty: not said."""
    holes: Mapping[str, Place] = field(default_factory=dict)
    """Those that are drilled; a moved hole is one of them."""
    cables: frozenset[str] = frozenset()
    """Those that are pulled."""
    boxes: Mapping[str, str] = field(default_factory=dict)
    """Those that are made up, with the box as bought that was put up; empty: as planned."""
    said: Mapping[str, str] = field(default_factory=dict)
    """By id, where it is said."""


def read_moves(path: Path, plan: Plan) -> Moves:
    """
    Read a report on a plan.

    Raises
    ------
    MovesError
        If the file cannot be read, or says anything that cannot be of this plan: every such fault, by line or key.
    """
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise MovesError([f"{path}: found {path.stat().st_size} bytes; expected at most {LARGEST_FILE}"])
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise MovesError([f"{path}: cannot be read ({error.strerror})"]) from error
    except UnicodeDecodeError as error:
        raise MovesError([f"{path}: found bytes that are not UTF-8 text; expected a report"]) from error
    report = _Report(str(path), plan)
    if text.lstrip().startswith("{"):
        report.read_file(text)
    else:
        report.read_lines(text)
    return report.moves()


class _Report:
    """A report while it is read: it collects all that is said, and all faults."""

    def __init__(self, name: str, plan: Plan) -> None:
        self.name, self.plan = name, plan
        self.bare = "mm" if plan.building.metric else "in"
        self.of = ""
        self.holes: dict[str, Place] = {}
        self.cables: set[str] = set()
        self.boxes: dict[str, str] = {}
        self.said: dict[str, str] = {}
        self.faults: list[str] = []
        members = {member.id: member for member in plan.building.members}
        # What is in the wood already may be said again, but is not meant by "all" or by its member's id.
        there = [hole.id for member in plan.building.members for hole in member.holes]
        self.known_holes: dict[str, list[str]] = {_ALL: []}
        self.known_holes |= {name: [name] for name in (*there, *(bore.id for bore in plan.bores))}
        for bore in (bore for bore in plan.bores if not bore.existing):
            for many in {bore.member, members[bore.member].assembly, _ALL}:
                self.known_holes.setdefault(many, []).append(bore.id)
        self.known_cables: dict[str, list[str]] = {_ALL: []} | {cable.id: [cable.id] for cable in plan.cables}
        for cable in plan.cables:
            for many in {*cable.circuit.split(), _ALL}:
                self.known_cables.setdefault(many, []).append(cable.id)
        made = [makeup.box for makeup in plan.makeups]
        panels = {box.id for box in plan.building.boxes if box.kind == "panel"}
        self.known_boxes = {box: [box] for box in made} | {_ALL: [box for box in made if box not in panels]}

    def moves(self) -> Moves:
        """Return what was read; raise what was wrong with it."""
        if self.faults:
            raise MovesError(self.faults)
        return Moves(plan=self.of, holes=self.holes, cables=frozenset(self.cables), boxes=self.boxes, said=self.said)

    def read_lines(self, text: str) -> None:
        """Read what was written by hand."""
        for number, line in enumerate(text.splitlines(), 1):
            words = line.partition("#")[0].strip()
            if words:
                try:
                    self._line(f"{self.name}:{number}", words)
                except InputError as error:
                    self.faults.append(f"{self.name}:{number}: {error}")

    def read_file(self, text: str) -> None:
        """Read what the phone page gave."""
        try:
            data = json.loads(text)
        except (ValueError, RecursionError) as error:
            line = getattr(error, "lineno", 1)
            self.faults.append(f"{self.name}:{line}: found text that is no JSON ({error}); expected the page's file")
            return
        if not isinstance(data, dict) or data.get("what") != "barnloom as built" or data.get("version") != 1:
            self.faults.append(
                f'{self.name}: found no "what": "barnloom as built" with "version": 1; expected the page\'s file'
            )
            return
        plan = data.get("plan")
        self.of = str(plan.get("hash", "")) if isinstance(plan, dict) else ""
        readers = {"holes": self._file_hole, "cables": self._file_cable, "boxes": self._file_box}
        for part, read in readers.items():
            things = data.get(part, {})
            if not isinstance(things, dict):
                self.faults.append(f"{self.name}: {part}: found {_shown(things)}; expected things by id")
                continue
            for name, said in things.items():
                where = f"{self.name}: {part}/{name[:40]}"
                try:
                    if not isinstance(said, dict):
                        raise InputError(_shown(said), "what is done to it")
                    read(where, name, said)
                except InputError as error:
                    self.faults.append(f"{where}: {error}")

    def _line(self, where: str, words: str) -> None:
        parted = _VERB.search(words)
        if parted is None:
            raise InputError(repr(words[:60]), _EXPECTED)
        names = [name.strip() for name in words[: parted.start()].split(",")]
        verb, rest = " ".join(parted.group(1).casefold().split()), words[parted.end() :].strip()
        if rest and verb not in ("moved to", "box"):
            raise InputError(repr(rest[:40]), f"nothing after {verb}")
        if verb == "moved to":
            self._one(names, verb)
            self._hole(where, names[0], self._place(rest))
        elif verb == "box":
            self._one(names, verb)
            self._box(where, names[0], self._bought(rest))
        else:
            does = {"drilled": self._drilled, "pulled": self._pulled, "made up": self._made_up}[verb]
            for name in names:
                does(where, name)

    def _file_hole(self, where: str, name: str, said: Mapping[str, Any]) -> None:
        ways = [said.get("along_in"), said.get("across_in")]
        for way in ways:
            if way is not None and (isinstance(way, bool) or not isinstance(way, (int, float))):
                raise InputError(_shown(way), "inches, a number")
        if said.get("drilled") is True or any(way is not None for way in ways):
            self._hole(where, name, Place(along_in=ways[0], across_in=ways[1]))

    def _file_cable(self, where: str, name: str, said: Mapping[str, Any]) -> None:
        if said.get("pulled") is True:
            self._pulled(where, name)

    def _file_box(self, where: str, name: str, said: Mapping[str, Any]) -> None:
        bought = said.get("box")
        if bought is not None:
            self._box(where, name, self._bought(str(bought)))
        elif said.get("made_up") is True:
            self._made_up(where, name)

    def _hole(self, where: str, name: str, place: Place) -> None:
        holes = _of(self.known_holes, name, "hole")
        if holes != [name]:
            which = f"it has {len(holes)}: say which"
            raise InputError(name, "the id of one hole", which)
        before = self.holes.get(name, Place())
        if before != Place() and place not in (Place(), before):
            found = f"{name} at another place than before"
            raise InputError(found, "one place for a hole", "keep the right line")
        self.holes[name] = place if place != Place() else before
        self.said[name] = where

    def _drilled(self, where: str, name: str) -> None:
        for hole in _of(self.known_holes, name, "hole, member, wall or floor with holes"):
            self._hole(where, hole, Place())

    def _pulled(self, where: str, name: str) -> None:
        for cable in _of(self.known_cables, name, "cable or circuit"):
            self.cables.add(cable)
            self.said[cable] = where

    def _made_up(self, where: str, name: str) -> None:
        for box in _of(self.known_boxes, name, "box"):
            self._box(where, box, self.boxes.get(box, ""))

    def _box(self, where: str, name: str, bought: str) -> None:
        if _of(self.known_boxes, name, "box") != [name]:
            raise InputError(name, "the id of one box")
        self.boxes[name] = bought
        self.said[name] = where

    def _one(self, names: Sequence[str], verb: str) -> None:
        if len(names) > 1:
            found = f"{len(names)} ids before {verb!r}"
            raise InputError(found, "one", "write a line for each")

    def _place(self, words: str) -> Place:
        parts = [re.sub(r"\s*(along|across)\s*$", "", part.strip()) for part in words.split(",")]
        if len(parts) > 2:
            raise InputError(repr(words[:60]), "how far along and, after a comma, how far across")
        along, across = [read_length(part, bare=self.bare) for part in parts] + [None] * (2 - len(parts))
        return Place(along_in=along, across_in=across)

    def _bought(self, words: str) -> str:
        known = {kind.id for kind in self.plan.building.box_types if kind.what == "box"}
        name = words.strip()
        if name not in known:
            raise InputError(repr(name[:40]), f"a box as bought: {', '.join(sorted(known))}", did_you_mean(name, known))
        return name


def _of(known: Mapping[str, list[str]], name: str, what: str) -> list[str]:
    if name not in known:
        raise InputError(repr(name[:60]), f"the id of a {what} of this plan", did_you_mean(name, known))
    return known[name]


def _shown(value: object) -> str:
    return repr(value)[:40]

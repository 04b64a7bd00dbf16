"""Where walls meet: which one runs through, where the other's framing begins, and the studs that a meeting adds.

At a corner two walls' outside corner points are one place; the wall written first runs through unless the scene says
otherwise. At a tee a wall's end stands against another wall's face. All of it is worked in the through wall's own
axes, so walls may meet at any angle.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from barnloom.model.building import Span, Vec
from barnloom.model.errors import Fault
from barnloom.model.framing.common import TAPE_IN, Context
from barnloom.model.framing.pieces import storey_at
from barnloom.model.scene.schema import Wall
from barnloom.model.vectors import dot, heading_vec, left_of, minus, moved, opposite

CORNER_IN = 1.0
"""Outside corner points (and bases) closer than this are one corner."""
SHOWS_IN = 1.0
"""What a backing stud shows beyond the wall it backs, to nail a lining to (common practice, no source)."""
STAND_IN = (1.5, 3.5)
"""A wall not measured is drawn as a dressed 2x4, and its members are never bored."""
_SQUARE_ENOUGH = 0.1
"""Sine of the least angle between a wall and the face it stands against."""

End = Literal["start", "end"]


@dataclass(frozen=True, slots=True)
class Line:
    """A wall's outer face line and its axes: ``u`` along it, ``w`` from the outer face into the room; inches."""

    origin: Vec
    u: Vec
    w: Vec
    length: float
    breadth: float
    depth: float


@dataclass(frozen=True, slots=True)
class Backing:
    """A stud that a meeting asks for: its place along the through wall, and whether cable may go round there."""

    span: Span
    open: bool


@dataclass(frozen=True, slots=True)
class Meetings:
    """What one wall has from all its neighbours.

    ``start_open`` and ``end_open``: whether cable may go through its first and last stud into the neighbour; None where
    it does not end against one. ``start_with`` and ``end_with`` name the neighbours at its corners.
    """

    framed: Span
    backing: tuple[Backing, ...] = ()
    start_open: bool | None = None
    end_open: bool | None = None
    start_with: str = ""
    end_with: str = ""
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True, slots=True)
class _Contact:
    """A wall's end against a through wall: the face, how far in the framing begins, the footprint on that face."""

    face: Literal["room", "outer", "end"]
    inset: float
    footprint: Span


def wall_base(wall: Wall, context: Context) -> float:
    """Return the level of the sole plate's bottom (inches): as said, else its storey's floor."""
    if wall.base is not None:
        return wall.base
    return context.floors.get(wall_storey(wall, context), 0.0)


def wall_storey(wall: Wall, context: Context) -> str:
    """Return a wall's storey: as said, else the highest whose floor is at or below its base, else the first."""
    if wall.storey is not None:
        return wall.storey
    if wall.base is not None:
        return storey_at(wall.base + CORNER_IN, context.floors)
    return next(iter(context.floors), "")


def wall_line(wall: Wall, context: Context) -> Line:
    """Return the line and axes of a wall; a section not measured counts as a dressed 2x4."""
    u = heading_vec(wall.heading)
    w = left_of(u) if wall.room == "left" else opposite(left_of(u))
    section = wall.section
    breadth, depth = (section.breadth_in, section.depth_in) if section.measured else STAND_IN
    return Line((*wall.start, wall_base(wall, context)), u, w, wall.length, breadth, depth)


def neighbours(walls: Mapping[str, Wall], context: Context) -> dict[str, dict[str, Wall]]:
    """Return, for each wall, the walls near enough to meet it (and itself), in the order written.

    A wall looks only at these, so that the work grows with the number of walls and not with its square.
    """
    lines = [wall_line(wall, context) for wall in walls.values()]
    middles = np.asarray([moved(line.origin, (line.u, line.length / 2))[:2] for line in lines]).reshape(-1, 2)
    reach = np.asarray([line.length / 2 + line.depth + CORNER_IN for line in lines])
    names = list(walls)
    near: dict[str, dict[str, Wall]] = {}
    for number, name in enumerate(names):
        apart = np.hypot(*(middles - middles[number]).T)
        near[name] = {names[other]: walls[names[other]] for other in np.flatnonzero(apart <= reach + reach[number])}
    return near


def meetings(name: str, context: Context) -> Meetings:
    """Return where the framing of wall ``name`` begins and ends, and what its neighbours ask of it.

    Faults: two walls that both must run through one corner, or both must butt.
    """
    wall = context.walls[name]
    line = wall_line(wall, context)
    limits: dict[End, float] = {"start": 0.0, "end": line.length}
    passage: dict[End, bool | None] = {"start": None, "end": None}
    with_walls: dict[End, str] = {"start": "", "end": ""}
    backing: list[Backing] = []
    faults: list[Fault] = []
    for other_name, other in context.walls.items():
        if other_name == name:
            continue
        other_line = wall_line(other, context)
        is_open = wall.corner_passage == "yes" and other.corner_passage == "yes"
        corners = list(_corners(wall, line, other, other_line))
        for own_end, other_end in corners:
            with_walls[own_end] = with_walls[own_end] or other_name
            own_said, its_said = _said(wall, own_end), _said(other, other_end)
            if own_said == its_said != "auto" and not _first(name, other_name, context):
                faults.append(_undecided(name, own_end, other_name, other_end, own_said))
            if _runs_through(own_said, its_said, first=_first(name, other_name, context)):
                contact = _contact(other_line, other_end, line, own_end)
                if contact is None:
                    continue
                limits[own_end] = _outermost(own_end, limits[own_end], contact)
                if contact.face == "end":
                    passage[own_end] = is_open if passage[own_end] is None else passage[own_end] and is_open
                else:
                    backing.append(Backing(_nailer(own_end, limits[own_end], contact, line.breadth), is_open))
            else:
                contact = _contact(line, own_end, other_line, other_end)
                inset = contact.inset if contact is not None else 0.0
                limits[own_end] = _further_in(own_end, limits[own_end], inset, line.length)
                passage[own_end] = is_open if passage[own_end] is None else passage[own_end] and is_open
        for own_end in _tees(wall, line, other_line, skip={end for end, _ in corners}):
            tee = _against(line, own_end, other_line)
            if tee is not None:
                limits[own_end] = _further_in(own_end, limits[own_end], tee.inset, line.length)
                passage[own_end] = is_open
        for other_end in _tees(other, other_line, line, skip={end for _, end in corners}):
            tee = _against(other_line, other_end, line)
            if tee is not None:
                backing += [Backing(span, is_open) for span in _tee_backing(tee.footprint, line.breadth)]
    return Meetings(
        framed=(limits["start"], limits["end"]),
        backing=tuple(sorted(backing, key=lambda stud: stud.span)),
        start_open=passage["start"],
        end_open=passage["end"],
        start_with=with_walls["start"],
        end_with=with_walls["end"],
        faults=tuple(faults),
    )


def _end_point(line: Line, end: End) -> Vec:
    return line.origin if end == "start" else moved(line.origin, (line.u, line.length))


def _said(wall: Wall, end: End) -> str:
    return wall.start_corner if end == "start" else wall.end_corner


def _corners(wall: Wall, line: Line, other: Wall, other_line: Line) -> Iterator[tuple[End, End]]:
    """Yield the pairs of ends of two walls that are one corner."""
    ends: tuple[End, End] = ("start", "end")
    for own in ends:
        for its in ends:
            gap = minus(_end_point(line, own), _end_point(other_line, its))
            free = "free" in (_said(wall, own), _said(other, its))
            if not free and abs(gap[2]) <= CORNER_IN and dot(gap[:2], gap[:2]) <= CORNER_IN**2:
                yield own, its


def _first(name: str, other_name: str, context: Context) -> bool:
    return next(wall for wall in context.walls if wall in (name, other_name)) == name


def _runs_through(own_said: str, its_said: str, *, first: bool) -> bool:
    """Return whether a wall runs through its corner with another."""
    if own_said == its_said:
        return first
    return own_said == "through" or its_said == "butt"


def _undecided(name: str, own_end: End, other_name: str, other_end: End, said: str) -> Fault:
    return Fault(
        ("walls", name, f"{own_end}_corner"),
        f"{said}, as {other_name} says of its {other_end} corner at the same place",
        "one wall that runs through and one that butts",
        f"leave out {own_end}_corner: then the wall written first runs through",
    )


def _contact(butt: Line, butt_end: End, through: Line, through_end: End) -> _Contact | None:
    """Return how a butting wall's end meets the through wall at a corner; the footprint counts from the corner inward.

    Of the through wall's room face, outer face and end, the one that the butting wall clears soonest; a face wins over
    the end within a tape's error.
    """
    inward = butt.u if butt_end == "start" else opposite(butt.u)
    along = through.u if through_end == "start" else opposite(through.u)
    corner = _end_point(through, through_end)
    places = [minus(place, corner) for place in _end_face(butt, butt_end)]
    depths = [dot(place, through.w) for place in places]
    fars = [dot(place, along) for place in places]
    away, on = dot(inward, through.w), dot(inward, along)
    found: list[tuple[float, Literal["room", "outer", "end"], float]] = []
    if away > _SQUARE_ENOUGH:
        inset = max((through.depth - depth) / away for depth in depths)
        found.append((inset, "room", inset))
    if away < -_SQUARE_ENOUGH:
        inset = max(-depth / away for depth in depths)
        found.append((inset, "outer", inset))
    if on < -_SQUARE_ENOUGH:
        inset = max(-far / on for far in fars)
        found.append((inset + TAPE_IN, "end", inset))
    if not found:
        return None
    _, face, inset = min(found, key=lambda entry: entry[0])
    inset = max(inset, 0.0)
    reached = [far + on * inset for far in fars]
    return _Contact(face, inset, (min(reached), max(reached)))


def _end_face(line: Line, end: End) -> tuple[Vec, Vec]:
    """Return the outer and the room-side corner of a wall's end, on plan."""
    outer = _end_point(line, end)
    return outer, moved(outer, (line.w, line.depth))


def _outermost(end: End, limit: float, contact: _Contact) -> float:
    """Return where a through wall's framing ends: on past the corner, where a wall turns away behind its outer face."""
    past = max(0.0, -contact.footprint[0]) if contact.face == "outer" else 0.0
    return min(limit, -past) if end == "start" else max(limit, limit + past)


def _further_in(end: End, limit: float, inset: float, length: float) -> float:
    return max(limit, inset) if end == "start" else min(limit, length - inset)


def _nailer(end: End, limit: float, contact: _Contact, breadth: float) -> Span:
    """Return the span of the stud that backs a lining in the corner, clear of the end stud at ``limit``."""
    past = max(0.0, -contact.footprint[0]) if contact.face == "outer" else 0.0
    far = max(contact.footprint[1] + past + SHOWS_IN, 2 * breadth)
    return (limit + far - breadth, limit + far) if end == "start" else (limit - far, limit - far + breadth)


def _tees(wall: Wall, line: Line, other_line: Line, *, skip: set[End]) -> Iterator[End]:
    """Yield the ends of a wall that stand against a face of another, not at a corner with it."""
    ends: tuple[End, End] = ("start", "end")
    for end in ends:
        if end not in skip and _said(wall, end) != "free" and _against(line, end, other_line) is not None:
            yield end


def _against(line: Line, end: End, through: Line) -> _Contact | None:
    """Return how a wall's end stands against a long face of another (within 1/2 in), or None where it does not."""
    inward = line.u if end == "start" else opposite(line.u)
    places = [minus(place, through.origin) for place in _end_face(line, end)]
    away = dot(inward, through.w)
    if abs(away) <= _SQUARE_ENOUGH or abs(places[0][2]) > CORNER_IN:
        return None
    face: Literal["room", "outer"] = "room" if away > 0 else "outer"
    level = through.depth if face == "room" else 0.0
    depths = [dot(place, through.w) for place in places]
    if abs(depths[0] - level) > TAPE_IN:
        return None
    inset = max(0.0, *((level - depth) / away for depth in depths))
    reached = [dot(place, through.u) + dot(inward, through.u) * inset for place in places]
    if max(reached) < 0.0 or min(reached) > through.length:
        return None
    return _Contact(face, inset, (min(reached), max(reached)))


def _tee_backing(footprint: Span, breadth: float) -> tuple[Span, Span]:
    """Return the spans of the two studs behind a tee: clear of each other by the abutting wall's depth less 1 in."""
    middle = (footprint[0] + footprint[1]) / 2
    half = max(0.0, footprint[1] - footprint[0] - SHOWS_IN) / 2
    return (middle - half - breadth, middle - half), (middle + half, middle + half + breadth)

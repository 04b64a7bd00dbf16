"""Walls, floors and roofs of a half-filled scene as far as they are known: None is what nobody knows yet."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from barnloom.model.lengths import format_length
from barnloom.model.scene.half import HalfScene
from barnloom.model.scene.text import Where
from barnloom.model.scene.values import Section
from barnloom.model.survey.finding import Finding, Kind

Point = tuple[float, float]
HEADINGS = {"east": 0.0, "north": 90.0, "west": 180.0, "south": 270.0}
_OPPOSITE = {"east": "west", "north": "south", "west": "east", "south": "north"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Members of a row, by their stations from the hooked end."""

    where: Where
    """Place of what says where they stand."""
    one: str
    """What a member is called: stud, joist, rafter."""
    of: str
    """Whose they are: "wall SOUTH"."""
    hook: str
    """Where the tape is hooked."""
    key: str
    """How they are said: ``at``, ``centres``, ``every``, or nothing."""
    every: float | None
    stations: tuple[float | None, ...]
    """As said, by ``at`` or ``centres``."""
    extra: tuple[float | None, ...]
    """Near faces of those added by hand."""
    breadth: float | None
    length: float | None
    """Of what they stand in, from the hooked end."""
    parted: tuple[tuple[float, float], ...]
    """Openings among them, from and to."""

    @property
    def near(self) -> tuple[float | None, ...]:
        """Near faces of the members that are said one by one."""
        if self.key == "at":
            return self.stations
        half = None if self.breadth is None else self.breadth / 2
        return tuple(None if at is None or half is None else at - half for at in self.stations)

    @property
    def side(self) -> str:
        """What of a member is measured."""
        return "middle" if self.key == "centres" else "near side"


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """A wall whose place is known, from above."""

    id: str
    start: Point
    end: Point
    along: Point
    """Unit vector from start to end."""
    inward: Point
    """Unit vector from the outer face into the room."""
    length: float
    depth: float
    """How thick it is; 0 if not known."""

    def seen(self, point: Point) -> tuple[float, float]:
        """How far along the wall a point is, and how far inward of its outer face."""
        to = minus(point, self.start)
        return dot(to, self.along), dot(to, self.inward)


@dataclass(frozen=True, slots=True, kw_only=True)
class WallPart:
    """A wall."""

    id: str
    storey: str
    start: tuple[float | None, float | None]
    heading: float | None
    """Degrees counter-clockwise from east."""
    length: float | None
    room: str
    base: float | None
    height: float | None
    profile: tuple[tuple[float | None, float | None], ...]
    breadth: float | None
    depth: float | None
    exterior: bool
    bearing: str
    corners: tuple[str, str]
    openings: Mapping[str, Mapping[str, Any]]
    studs: Row

    @property
    def along(self) -> Point | None:
        """Unit vector from start to end."""
        return None if self.heading is None else unit(self.heading)

    @property
    def frame(self) -> Frame | None:
        """The wall from above, if start, heading and length are known."""
        u, (x, y) = self.along, self.start
        if u is None or x is None or y is None or self.length is None:
            return None
        return Frame(
            id=self.id,
            start=(x, y),
            end=(x + u[0] * self.length, y + u[1] * self.length),
            along=u,
            inward=(-u[1], u[0]) if self.room == "left" else (u[1], -u[0]),
            length=self.length,
            depth=self.depth or 0.0,
        )

    @property
    def top(self) -> float | None:
        """Level of the top of its plates, if that is level."""
        return None if self.base is None or self.height is None else self.base + self.height

    @property
    def starts_at(self) -> str:
        """Words for its start: where the tape is hooked."""
        return f"the start of wall {self.id}" + _end_words(self.heading)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rectangle:
    """A floor or roof from above."""

    corner: tuple[float | None, float | None]
    heading: float | None
    size: tuple[float | None, float | None]

    @property
    def edges(self) -> tuple[tuple[str, Point, Point], ...]:
        """Name and ends of each edge, against the clock; none where the rectangle is not known."""
        (x, y), (wide, deep) = self.corner, self.size
        if x is None or y is None or wide is None or deep is None or self.heading is None:
            return ()
        u = unit(self.heading)
        a, b = (x, y), (x + u[0] * wide, y + u[1] * wide)
        c, d = (b[0] - u[1] * deep, b[1] + u[0] * deep), (x - u[1] * deep, y + u[0] * deep)
        return ("near width", a, b), ("far depth", b, c), ("far width", c, d), ("near depth", d, a)


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorPart:
    """A floor or ceiling."""

    id: str
    storey: str
    """The storey below it; empty if not known."""
    carries: str
    under: float | None
    """Level of the underside of its joists."""
    shape: Rectangle
    run: str
    depth: float | None
    subfloor: float
    rims: str
    rim_breadth: float | None
    bearings: tuple[tuple[float | None, float | None], ...] | None
    girders: tuple[tuple[float | None, float | None], ...]
    openings: Mapping[str, Mapping[str, Any]]
    joists: Row

    @property
    def span(self) -> float | None:
        """Its length along the joists."""
        return None if not self.run else self.shape.size[0 if self.run == "width" else 1]


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofPart:
    """A roof."""

    id: str
    storey: str
    shape: Rectangle
    plate: float | None
    rafters: Row


class Site:
    """All parts of a half-filled scene."""

    def __init__(self, half: HalfScene) -> None:
        self.half = half
        self.metric: bool = half.value("units") == "metric"
        self.storeys: dict[str, float | None] = {
            name: half.value("storeys", name, "floor") for name in half.ids("storeys")
        }
        self.walls = {name: self._wall(name) for name in half.ids("walls")}
        self.floors = {name: self._floor(name) for name in half.ids("floors")}
        self.roofs = {name: self._roof(name) for name in half.ids("roofs")}

    @property
    def rows(self) -> tuple[Row, ...]:
        """All rows of members."""
        walls, floors, roofs = self.walls.values(), self.floors.values(), self.roofs.values()
        return (*(wall.studs for wall in walls), *(floor.joists for floor in floors), *(roof.rafters for roof in roofs))

    @property
    def shapes(self) -> tuple[Rectangle, ...]:
        """Rectangles of all floors and roofs."""
        return (*(floor.shape for floor in self.floors.values()), *(roof.shape for roof in self.roofs.values()))

    def text(self, inches: float) -> str:
        """Words of a length."""
        return format_length(inches, metric=self.metric)

    def point(self, at: Point) -> str:
        """Words of a place, as a scene has it."""
        return f"[{self.text(at[0])}, {self.text(at[1])}]"

    def found(
        self,
        where: Where,
        found: str,
        expected: str,
        measure: str,
        *,
        kind: Kind = "open",
        off_in: float = 0.0,
        also: Iterable[tuple[str, str]] = (),
    ) -> Finding:
        """A finding with its line."""
        own = [(str(where[0]), str(where[1]))] if len(where) > 1 else []
        return Finding(
            kind=kind,
            where=where,
            line=self.half.place(where)[0],
            found=found,
            expected=expected,
            measure=measure,
            parts=tuple(dict.fromkeys([*own, *also])),
            off_in=abs(off_in),
        )

    def _wall(self, name: str) -> WallPart:
        said = Said(self.half.value("walls", name))
        base, storey = said.number("base"), said.word("storey")
        if not storey:
            known = {one: level for one, level in self.storeys.items() if level is not None}
            under = [one for one, level in known.items() if base is not None and level <= base]
            storey = max(under, key=known.__getitem__) if under else next(iter(self.storeys), "")
        if not said.says("base"):
            base = self.storeys.get(storey)
        breadth, depth = said.section("section")
        heading, openings = said.heading(None), said.table("openings")
        spans = [(Said(one).number("at"), Said(one).number("width")) for one in openings.values()]
        return WallPart(
            id=name,
            storey=storey,
            start=said.two("start"),
            heading=heading,
            length=said.number("length"),
            room=said.word("room") or "left",
            base=base,
            height=said.number("height"),
            profile=tuple(_pair(one) for one in said.list("profile")),
            breadth=breadth,
            depth=depth,
            exterior=said.word("exterior") != "no",
            bearing=said.word("bearing"),
            corners=(said.word("start_corner"), said.word("end_corner")),
            openings=openings,
            studs=Row(
                where=("walls", name, "studs"),
                one="stud",
                of=f"wall {name}",
                hook=f"the start of wall {name}" + _end_words(heading),
                extra=tuple(said.list("extra_studs")),
                breadth=breadth,
                length=said.number("length"),
                parted=tuple((at, at + wide) for at, wide in spans if at is not None and wide is not None),
                **_stations(said.table("studs")),
            ),
        )

    def _floor(self, name: str) -> FloorPart:
        said = Said(self.half.value("floors", name))
        joists = Said(said.table("joists"))
        breadth, depth = joists.section("section")
        shape = _rectangle(said)
        run, carries = joists.word("run"), said.word("carries")
        subfloor = said.number("subfloor") if said.says("subfloor") else 0.0
        under = said.number("bottom")
        if carries:
            level = self.storeys.get(carries)
            under = None if level is None or depth is None or subfloor is None else level - subfloor - depth
        across = 1 if run == "width" else 0
        openings = said.table("openings")
        spans = [(Said(one).two("at")[across], Said(one).two("size")[across]) for one in openings.values()]
        rim = said.section("rim_section") if said.says("rim_section") else (breadth, depth)
        return FloorPart(
            id=name,
            storey=said.word("below") or self._under(carries),
            carries=carries,
            under=under,
            shape=shape,
            run=run,
            depth=depth,
            subfloor=subfloor or 0.0,
            rims=said.word("rims") or "both",
            rim_breadth=rim[0],
            bearings=_strips(said.list("bearings")) if said.says("bearings") else None,
            girders=_strips(said.list("girders")),
            openings=openings,
            joists=Row(
                where=("floors", name, "joists"),
                one="joist",
                of=name,
                hook=f"the datum corner of {name}, along its {'depth' if run == 'width' else 'width'}",
                extra=tuple(joists.list("extra")),
                breadth=breadth,
                length=shape.size[across] if run else None,
                parted=tuple((at, at + wide) for at, wide in spans if at is not None and wide is not None),
                **_stations(said.table("joists")),
            ),
        )

    def _under(self, carries: str) -> str:
        names = list(self.storeys)
        return names[names.index(carries) - 1] if carries in names[1:] else ""

    def _roof(self, name: str) -> RoofPart:
        said = Said(self.half.value("roofs", name))
        rafters = Said(said.table("rafters"))
        shape = _rectangle(said)
        return RoofPart(
            id=name,
            storey=said.word("storey"),
            shape=shape,
            plate=said.number("plate"),
            rafters=Row(
                where=("roofs", name, "rafters"),
                one="rafter",
                of=name,
                hook=f"the datum corner of {name}, along its eave",
                extra=tuple(rafters.list("extra")),
                breadth=rafters.section("section")[0],
                length=shape.size[1 if said.word("ridge") == "depth" else 0],
                parted=(),
                **_stations(said.table("rafters")),
            ),
        )


class Said:
    """Keys of one part, each taken for what it should be."""

    def __init__(self, keys: Any) -> None:
        self.keys: Mapping[str, Any] = keys if isinstance(keys, Mapping) else {}

    def says(self, key: str) -> bool:
        """Whether the key is there, known or not."""
        return key in self.keys

    def number(self, key: str) -> float | None:
        """A length, inches."""
        value = self.keys.get(key)
        return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None

    def word(self, key: str) -> str:
        """A word; empty if there is none."""
        value = self.keys.get(key)
        return value if isinstance(value, str) else ""

    def table(self, key: str) -> Mapping[str, Any]:
        """Keys below a key."""
        value = self.keys.get(key)
        return value if isinstance(value, Mapping) else {}

    def list(self, key: str) -> list[Any]:
        """Values of a list."""
        value = self.keys.get(key)
        return list(value) if isinstance(value, (list, tuple)) else []

    def two(self, key: str) -> tuple[float | None, float | None]:
        """Two lengths."""
        return _pair(self.keys.get(key))

    def section(self, key: str) -> tuple[float | None, float | None]:
        """Breadth and depth of a section that is known."""
        value = self.keys.get(key)
        return (value.breadth_in, value.depth_in) if isinstance(value, Section) and value.measured else (None, None)

    def heading(self, default: float | None) -> float | None:
        """Degrees counter-clockwise from east."""
        value = self.keys.get("heading", default)
        return HEADINGS.get(value) if isinstance(value, str) else value


def unit(degrees: float) -> Point:
    """Unit vector so many degrees counter-clockwise from east; exact for right angles."""
    quarter = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}.get(degrees % 360)
    return quarter or (math.cos(math.radians(degrees)), math.sin(math.radians(degrees)))


def dot(a: Point, b: Point) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1]


def minus(a: Point, b: Point) -> Point:
    """From b to a."""
    return a[0] - b[0], a[1] - b[1]


def _end_words(heading: float | None) -> str:
    word = next((word for word, degrees in HEADINGS.items() if heading is not None and heading % 360 == degrees), "")
    return f" (its {_OPPOSITE[word]} end)" if word else ""


def _rectangle(said: Said) -> Rectangle:
    return Rectangle(corner=said.two("corner"), heading=said.heading(0.0), size=said.two("size"))


def _stations(keys: Mapping[str, Any]) -> dict[str, Any]:
    key = next((key for key in ("at", "centres", "every") if key in keys), "")
    stations = tuple(Said(keys).list(key)) if key in ("at", "centres") else ()
    return {"key": key, "every": Said(keys).number("every"), "stations": stations}


def _strips(said: Iterable[Any]) -> tuple[tuple[float | None, float | None], ...]:
    return tuple((Said(one).number("at"), Said(one).number("width")) for one in said)


def _pair(value: Any) -> tuple[float | None, float | None]:
    if isinstance(value, (list, tuple)) and len(value) == 2:
        return value[0], value[1]
    return None, None

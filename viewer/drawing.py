"""A small neutral drawing in two dimensions: what every picture and sheet is made of before it has a file format.

Everything is in true inches, x to the right and y up: places, pen widths and letter heights alike. A sheet at 1:24 that
wants letters 3 mm high asks for ``3 / 25.4 * 24``. Items are painted in their order.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

Point = tuple[float, float]
BLACK = "#000000"
WHITE = "#ffffff"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """How a line is drawn: width and dashes (on, off, on, off, ...) in inches, colour as ``#rrggbb``."""

    width_in: float
    colour: str = BLACK
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """How an area is filled: colour as ``#rrggbb``, and how much of what lies below it hides (0 to 1)."""

    colour: str
    opacity: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A straight line."""

    start: Point
    end: Point
    pen: Pen
    layer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Polyline:
    """An open line through points, with round joints and flat ends."""

    points: tuple[Point, ...]
    pen: Pen
    layer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Polygon:
    """A closed area; ``pen`` None: no outline; ``fill`` None: outline only."""

    points: tuple[Point, ...]
    pen: Pen | None
    fill: Fill | None
    layer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle:
    """A circle; ``pen`` None: no outline; ``fill`` None: outline only."""

    centre: Point
    radius_in: float
    pen: Pen | None
    fill: Fill | None
    layer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """One line of text. ``at`` is on its base line at its left end, middle or right end (``anchor``)."""

    at: Point
    text: str
    height_in: float
    """Size of the letters (the em, as a font size is given); capitals are about 0.73 of it."""
    layer: str
    anchor: str = "start"  # "start" | "middle" | "end"
    bold: bool = False
    colour: str = BLACK
    turn_deg: float = 0.0
    """Counter-clockwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Arc:
    """Part of a circle, counter-clockwise from one angle to another (degrees from the x axis)."""

    centre: Point
    radius_in: float
    from_deg: float
    to_deg: float
    pen: Pen
    layer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Hatch:
    """A closed area filled with parallel lines."""

    points: tuple[Point, ...]
    angle_deg: float
    spacing_in: float
    pen: Pen
    layer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """A length in figures: between two points, along a line that lies ``offset_in`` to their left.

    The text is ours and not measured anew, so that paper says what the plan says.
    """

    start: Point
    end: Point
    offset_in: float
    text: str
    height_in: float
    pen: Pen
    layer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Symbol:
    """A symbol of `barnloom.viewer.symbols` by name, its middle ``at``, ``size_in`` wide."""

    name: str
    at: Point
    size_in: float
    layer: str
    turn_deg: float = 0.0
    """Counter-clockwise."""


Primitive = Line | Polyline | Polygon | Circle | Arc | Text
Item = Primitive | Hatch | Dimension | Symbol
"""Some formats have hatches, dimensions and symbols of their own; `barnloom.viewer.primitives` is for the others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """The part of the plane that a drawing shows (inches)."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width_in(self) -> float:
        """Right less left."""
        return self.right - self.left

    @property
    def height_in(self) -> float:
        """Top less bottom."""
        return self.top - self.bottom


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """Items in the order they are painted, and the part of the plane that is shown."""

    title: str
    items: tuple[Item, ...]
    bounds: Bounds

    def without(self, *layers: str) -> Drawing:
        """Return the same drawing less some layers."""
        return replace(self, items=tuple(item for item in self.items if item.layer not in layers))

"""Hatches, dimensions and symbols as plain lines and text, for formats that have none of their own."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

from barnloom.viewer.drawing import (
    Arc,
    Circle,
    Dimension,
    Hatch,
    Item,
    Line,
    Pen,
    Point,
    Polygon,
    Polyline,
    Primitive,
    Symbol,
    Text,
)
from barnloom.viewer.symbols import SYMBOLS

_GAP, _BEYOND, _TICK = 0.35, 0.45, 0.4
"""Of a dimension, in heights of its text: gap to what is measured, how far lines run past each other, half a stroke."""


def primitives(items: Iterable[Item]) -> Iterator[Primitive]:
    """Yield the items in their order, with what is compound taken apart."""
    for item in items:
        match item:
            case Hatch():
                yield from _hatch(item)
            case Dimension():
                yield from _dimension(item)
            case Symbol():
                yield from _symbol(item)
            case _:
                yield item


def _hatch(hatch: Hatch) -> Iterator[Primitive]:
    """Lines through the area by the even-odd rule, the first at half a spacing inside."""
    turn = math.radians(hatch.angle_deg)
    along, up = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))
    corners = [(x * along[0] + y * along[1], x * up[0] + y * up[1]) for x, y in hatch.points]
    low, high = min(v for _, v in corners), max(v for _, v in corners)
    for number in range(math.floor((high - low) / hatch.spacing_in + 0.5)):
        level = low + (number + 0.5) * hatch.spacing_in
        cuts = sorted(
            u1 + (level - v1) * (u2 - u1) / (v2 - v1)
            for (u1, v1), (u2, v2) in zip(corners, corners[1:] + corners[:1], strict=True)
            if (v1 > level) != (v2 > level)
        )
        for left, right in zip(cuts[::2], cuts[1::2], strict=True):
            start, end = ((u * along[0] + level * up[0], u * along[1] + level * up[1]) for u in (left, right))
            yield Line(start=start, end=end, pen=hatch.pen, layer=hatch.layer)


def _dimension(dim: Dimension) -> Iterator[Primitive]:
    """Two lines out, the line between them with a stroke at each end, and the text above its middle."""
    (x1, y1), (x2, y2) = dim.start, dim.end
    length = math.hypot(x2 - x1, y2 - y1)
    along = ((x2 - x1) / length, (y2 - y1) / length)
    left = (-along[1], along[0])
    side, size = math.copysign(1.0, dim.offset_in), dim.height_in

    def at(origin: Point, ahead: float, aside: float) -> Point:
        return origin[0] + along[0] * ahead + left[0] * aside, origin[1] + along[1] * ahead + left[1] * aside

    for origin in (dim.start, dim.end):
        out = at(origin, 0, side * _GAP * size), at(origin, 0, dim.offset_in + side * _BEYOND * size)
        yield Line(start=out[0], end=out[1], pen=dim.pen, layer=dim.layer)
        stroke = (
            at(origin, -_TICK * size, dim.offset_in - _TICK * size),
            at(origin, _TICK * size, dim.offset_in + _TICK * size),
        )
        yield Line(start=stroke[0], end=stroke[1], pen=replace(dim.pen, width_in=2 * dim.pen.width_in), layer=dim.layer)
    yield Line(start=at(dim.start, 0, dim.offset_in), end=at(dim.end, 0, dim.offset_in), pen=dim.pen, layer=dim.layer)
    turn = math.degrees(math.atan2(along[1], along[0]))
    upright = -90.0 < turn <= 90.0
    middle = at(dim.start, length / 2, dim.offset_in + (0.25 if upright else -0.25) * size)
    yield Text(
        at=middle,
        text=dim.text,
        height_in=size,
        layer=dim.layer,
        anchor="middle",
        turn_deg=turn if upright else turn + 180.0,
        colour=dim.pen.colour,
    )


def _symbol(symbol: Symbol) -> Iterator[Primitive]:
    turn = math.radians(symbol.turn_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    size, layer = symbol.size_in, symbol.layer

    def at(point: Point) -> Point:
        x, y = point[0] * size, point[1] * size
        return symbol.at[0] + x * cos - y * sin, symbol.at[1] + x * sin + y * cos

    def drawn(pen: Pen) -> Pen:
        return replace(pen, width_in=pen.width_in * size)

    for item in SYMBOLS[symbol.name].items:
        match item:
            case Line():
                yield replace(item, start=at(item.start), end=at(item.end), pen=drawn(item.pen), layer=layer)
            case Polyline():
                yield replace(item, points=tuple(map(at, item.points)), pen=drawn(item.pen), layer=layer)
            case Polygon():
                pen = item.pen and drawn(item.pen)
                yield replace(item, points=tuple(map(at, item.points)), pen=pen, layer=layer)
            case Circle():
                pen = item.pen and drawn(item.pen)
                yield replace(item, centre=at(item.centre), radius_in=item.radius_in * size, pen=pen, layer=layer)
            case Arc():
                yield replace(
                    item,
                    centre=at(item.centre),
                    radius_in=item.radius_in * size,
                    from_deg=item.from_deg + symbol.turn_deg,
                    to_deg=item.to_deg + symbol.turn_deg,
                    pen=drawn(item.pen),
                    layer=layer,
                )
            case Text():  # letters stay upright
                below = (symbol.at[0] + item.at[0] * size, symbol.at[1] + item.at[1] * size)
                yield replace(item, at=below, height_in=item.height_in * size, layer=layer)

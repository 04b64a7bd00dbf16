"""The neutral drawing as SVG: real text, sizes in millimetres, the same bytes for the same drawing."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from itertools import groupby
from xml.sax.saxutils import escape, quoteattr

from barnloom.viewer.drawing import (
    Arc,
    Bounds,
    Circle,
    Drawing,
    Fill,
    Line,
    Pen,
    Point,
    Polygon,
    Polyline,
    Primitive,
    Text,
)
from barnloom.viewer.lettering import FONT
from barnloom.viewer.primitives import primitives

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def to_svg(drawing: Drawing, *, width_mm: float, background: str = "") -> str:
    """
    Write a drawing as one SVG document.

    Parameters
    ----------
    drawing : Drawing
        In inches, y up.
    width_mm : float
        Width on paper. The height follows, and a sheet at 1:24 passes ``bounds.width_in * 25.4 / 24``.
    background : str, optional
        Colour as ``#rrggbb``; none if left out.

    Returns
    -------
    str
        With ``width`` and ``height`` in mm and a ``viewBox`` in inches; each layer in groups of class ``layer``.
    """
    b = drawing.bounds
    height_mm = width_mm * b.height_in / b.width_in
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_number(width_mm)}mm" height="{_number(height_mm)}mm" '
        f'viewBox="0 0 {_number(b.width_in)} {_number(b.height_in)}" font-family="\'{FONT}\', sans-serif">',
        f"<title>{_content(drawing.title)}</title>",
    ]
    if background:
        lines.append(f'<rect width="100%" height="100%" fill={quoteattr(background)}/>')
    for layer, items in groupby(primitives(drawing.items), key=lambda item: item.layer):
        lines += [f"<g class={_attribute(layer)}>", *_elements(items, b), "</g>"]
    lines.append("</svg>")
    return "\n".join(lines) + "\n"


def _elements(items: Iterable[Primitive], b: Bounds) -> Iterable[str]:
    for item in items:
        match item:
            case Line():
                (x1, y1), (x2, y2) = _place(item.start, b), _place(item.end, b)
                yield f'<line x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}"{_stroke(item.pen)}/>'
            case Polyline():
                yield f'<polyline points="{_points(item.points, b)}" fill="none"{_stroke(item.pen)}/>'
            case Polygon():
                yield f'<polygon points="{_points(item.points, b)}"{_fill(item.fill)}{_stroke(item.pen)}/>'
            case Circle():
                x, y = _place(item.centre, b)
                radius = _number(item.radius_in)
                yield f'<circle cx="{x}" cy="{y}" r="{radius}"{_fill(item.fill)}{_stroke(item.pen)}/>'
            case Arc():
                yield _arc(item, b)
            case Text():
                yield _text(item, b)


def _arc(item: Arc, b: Bounds) -> str:
    (x, y), r = item.centre, item.radius_in
    angles = [math.radians(angle) for angle in (item.from_deg, item.to_deg)]
    start, end = (_place((x + r * math.cos(angle), y + r * math.sin(angle)), b) for angle in angles)
    large = int((item.to_deg - item.from_deg) % 360 > 180)
    radius = _number(r)
    path = f"M{','.join(start)} A{radius},{radius} 0 {large} 0 {','.join(end)}"
    return f'<path d="{path}" fill="none"{_stroke(item.pen)}/>'


def _text(item: Text, b: Bounds) -> str:
    x, y = _place(item.at, b)
    anchor = f' text-anchor="{item.anchor}"' if item.anchor != "start" else ""
    weight = ' font-weight="bold"' if item.bold else ""
    turn = f' transform="rotate({_number(-item.turn_deg)} {x} {y})"' if item.turn_deg else ""
    return (
        f'<text x="{x}" y="{y}" font-size="{_number(item.height_in)}" fill={quoteattr(item.colour)}'
        f"{anchor}{weight}{turn}>{_content(item.text)}</text>"
    )


def _stroke(pen: Pen | None) -> str:
    if pen is None:
        return ""
    dash = f' stroke-dasharray="{" ".join(map(_number, pen.dash))}"' if pen.dash else ""
    return f' stroke={quoteattr(pen.colour)} stroke-width="{_number(pen.width_in)}" stroke-linejoin="round"{dash}'


def _fill(fill: Fill | None) -> str:
    if fill is None:
        return ' fill="none"'
    opacity = f' fill-opacity="{_number(fill.opacity)}"' if fill.opacity != 1 else ""
    return f" fill={quoteattr(fill.colour)}{opacity}"


def _points(points: Iterable[Point], b: Bounds) -> str:
    return " ".join(",".join(_place(point, b)) for point in points)


def _place(point: Point, b: Bounds) -> tuple[str, str]:
    return _number(point[0] - b.left), _number(b.top - point[1])


def _number(value: float) -> str:
    """To a ten-thousandth of an inch, without trailing zeros or a negative zero."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _content(text: str) -> str:
    return escape(_NOT_XML.sub("\ufffd", text))


def _attribute(text: str) -> str:
    return quoteattr(_NOT_XML.sub("\ufffd", text))

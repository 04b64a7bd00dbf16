"""What a drawing looks like on paper, read back from its lines and texts."""

from __future__ import annotations

import math
from itertools import combinations

from barnloom.viewer.drawing import Circle, Drawing, Polygon, Primitive, Text
from barnloom.viewer.lettering import width_in
from barnloom.viewer.primitives import primitives

Rectangle = tuple[float, float, float, float]
CAPITALS = 0.73
"""Height of capitals, in ems: DejaVu Sans."""
ROUNDING = 1e-6


def text_box(text: Text) -> Rectangle:
    """Left, bottom, right and top of the capitals of a text, turned as it is (by quarter turns exactly)."""
    wide, high = width_in(text.text, text.height_in, bold=text.bold), CAPITALS * text.height_in
    left = {"start": 0.0, "middle": -wide / 2, "end": -wide}[text.anchor]
    c, s = math.cos(math.radians(text.turn_deg)), math.sin(math.radians(text.turn_deg))
    corners = [(x * c - y * s, x * s + y * c) for x in (left, left + wide) for y in (0.0, high)]
    xs, ys = zip(*corners, strict=True)
    return text.at[0] + min(xs), text.at[1] + min(ys), text.at[0] + max(xs), text.at[1] + max(ys)


def overlap(a: Rectangle, b: Rectangle) -> bool:
    """Whether two rectangles have an area in common."""
    return a[0] < b[2] - ROUNDING and b[0] < a[2] - ROUNDING and a[1] < b[3] - ROUNDING and b[1] < a[3] - ROUNDING


def painted(drawing: Drawing) -> list[Primitive]:
    """Return everything that is drawn, as lines and texts."""
    return list(primitives(drawing.items))


def reading_faults(drawing: Drawing) -> list[str]:
    """Texts over texts, texts over holes, texts that are not wholly on the sheet."""
    items = painted(drawing)
    texts = [(text_box(item), item.text) for item in items if isinstance(item, Text)]
    found = [f"{one} over {other}" for (a, one), (b, other) in combinations(texts, 2) if overlap(a, b)]
    holes = [box(item) for item in items if item.layer == "holes" and isinstance(item, Polygon | Circle)]
    found += [f"{text} over a hole" for a, text in texts for hole in holes if overlap(a, hole)]
    b = drawing.bounds
    sheet = (b.left - ROUNDING, b.bottom - ROUNDING, b.right + ROUNDING, b.top + ROUNDING)
    found += [
        f"{text} is not on the sheet"
        for a, text in texts
        if a[0] < sheet[0] or a[1] < sheet[1] or a[2] > sheet[2] or a[3] > sheet[3]
    ]
    return found


def box(item: Polygon | Circle) -> Rectangle:
    """Left, bottom, right and top of a shape."""
    if isinstance(item, Circle):
        (x, y), r = item.centre, item.radius_in
        return x - r, y - r, x + r, y + r
    xs, ys = zip(*item.points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)

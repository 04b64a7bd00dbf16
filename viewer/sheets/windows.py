"""A drawing that is larger than its sheet, broken into parts with match lines."""

from __future__ import annotations

import math
from dataclasses import replace

from barnloom.viewer.drawing import WHITE, Bounds, Circle, Drawing, Fill, Item, Line, Text
from barnloom.viewer.drawings.paper import LADDER_PT, Paper

OVERLAP_MM = 8.0
"""What two neighbouring parts show twice, on either side of their match line."""
MARK_MM = 2.8
"""Radius of the mark at the ends of a match line."""


def parts(size_in: tuple[float, float], paper: Paper, room_mm: tuple[float, float]) -> int:
    """Return in how many parts a drawing of this size (inches) is broken."""
    cuts = [
        len(_cuts(0.0, size, paper.mm(room), paper.mm(OVERLAP_MM))) - 1
        for size, room in zip(size_in, room_mm, strict=True)
    ]
    return cuts[0] * cuts[1]


def windows(drawing: Drawing, paper: Paper, room_mm: tuple[float, float]) -> list[Drawing]:
    """
    Return the drawing in parts that fit on sheets, row by row from the top left; itself where it fits.

    Parameters
    ----------
    room_mm : (width, height)
        Free on a sheet.
    """
    b = drawing.bounds
    across = _cuts(b.left, b.right, paper.mm(room_mm[0]), paper.mm(OVERLAP_MM))
    up = _cuts(b.bottom, b.top, paper.mm(room_mm[1]), paper.mm(OVERLAP_MM))
    if len(across) == 2 and len(up) == 2:
        return [drawing]
    extra = paper.mm(OVERLAP_MM)
    found = []
    names = {cut: chr(ord("A") + n) for n, cut in enumerate([*across[1:-1], *up[1:-1]])}
    for top in range(len(up) - 1, 0, -1):
        for right in range(1, len(across)):
            bounds = Bounds(
                left=max(b.left, across[right - 1] - extra),
                right=min(b.right, across[right] + extra),
                bottom=max(b.bottom, up[top - 1] - extra),
                top=min(b.top, up[top] + extra),
            )
            lines = [
                *(item for x in across[1:-1] for item in _match(names[x], paper, bounds, x=x)),
                *(item for y in up[1:-1] for item in _match(names[y], paper, bounds, y=y)),
            ]
            found.append(replace(drawing, items=(*drawing.items, *lines), bounds=bounds))
    return found


def _cuts(low: float, high: float, room: float, overlap: float) -> list[float]:
    """Ends of equal parts, as few as fit into the room with what they show twice."""
    if high - low <= room + 1e-9:
        return [low, high]
    parts = math.ceil((high - low) / (room - 2 * overlap))
    return [low + (high - low) * n / parts for n in range(parts + 1)]


def _match(name: str, paper: Paper, b: Bounds, *, x: float | None = None, y: float | None = None) -> list[Item]:
    """A line with its letter at both ends, on the edge of the sheet where nothing else is."""
    pen, inset = paper.pen(0.4, dash=(12.0, 4.0, 3.0, 4.0)), paper.mm(MARK_MM)
    if x is not None and b.left < x < b.right:
        start, end = (x, b.bottom + inset), (x, b.top - inset)
    elif y is not None and b.bottom < y < b.top:
        start, end = (b.left + inset, y), (b.right - inset, y)
    else:
        return []
    found: list[Item] = [Line(start=start, end=end, pen=pen, layer="match lines")]
    size = paper.points(LADDER_PT)
    for at in (start, end):
        found.append(
            Circle(centre=at, radius_in=inset, pen=paper.pen(0.3), fill=Fill(colour=WHITE), layer="match lines")
        )
        below = (at[0], at[1] - 0.365 * size)
        found.append(Text(at=below, text=name, height_in=size, anchor="middle", bold=True, layer="match lines"))
    return found

"""How time grows with size: the exponent, and the plot."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np

from barnloom.viewer.drawing import BLACK, WHITE, Bounds, Circle, Drawing, Fill, Item, Line, Pen, Point, Polyline, Text
from barnloom.viewer.svg import to_svg

AIM, FROM = 1.3, 40
"""Aim of the growth, and the number of boxes that it counts from."""
GREY = "#999999"
PLOT_IN, HIGH_IN = 6.0, 4.5
LETTERS_IN = 0.13
LEFT_IN, RIGHT_IN, BELOW_IN, ABOVE_IN = 0.85, 1.7, 0.7, 0.45
DASHES: tuple[tuple[float, ...], ...] = (
    (),
    (0.12, 0.05),
    (0.03, 0.04),
    (0.12, 0.04, 0.03, 0.04),
    (0.25, 0.06),
    (0.06, 0.06),
    (0.2, 0.04, 0.03, 0.04, 0.03, 0.04),
)
APART_IN = 0.2
"""From one name of a line to the next."""
Points = Sequence[tuple[int, float]]
At = Callable[[float, float], Point]
"""Place on the plot of (boxes, seconds)."""


def exponent(points: Points) -> float:
    """The power of boxes that seconds grow with: least squares on logarithms."""
    boxes, seconds = np.log(np.array(points, dtype=np.float64)).T
    return float(np.polyfit(boxes, seconds, 1)[0])


def plot(lines: Mapping[str, Points]) -> str:
    """Seconds against boxes as SVG, both in decades.

    The first line is drawn heavier, the others are told apart by their dashes; with them goes the growth that is aimed
    at, through the first line's point at the size that it counts from.
    """
    known = {name: points for name, points in lines.items() if points}
    boxes = [size for points in known.values() for size, _ in points]
    seconds = [took for points in known.values() for _, took in points]
    first, last = math.log10(min(boxes)), math.log10(max(boxes))
    low, high = math.floor(math.log10(min(seconds))), math.ceil(math.log10(max(seconds)))

    def at(size: float, took: float) -> Point:
        x = (math.log10(size) - first) / (last - first) * PLOT_IN
        return x, (math.log10(took) - low) / (high - low) * HIGH_IN

    items: list[Item] = _axes(sorted(set(boxes)), range(low, high + 1), at)
    ends: dict[str, Point] = {}
    for n, (name, points) in enumerate(known.items()):
        places = tuple(at(*point) for point in points)
        pen = Pen(width_in=0.03 if n == 0 else 0.014, dash=DASHES[n % len(DASHES)])
        items.append(Polyline(points=places, pen=pen, layer="lines"))
        for place in places:
            items.append(Circle(centre=place, radius_in=0.035, pen=None, fill=Fill(colour=BLACK), layer="lines"))
        ends[name] = places[-1]
    begin = [point for point in next(iter(known.values())) if point[0] >= FROM]
    if len(begin) > 1:
        (size, took), (last_size, _) = begin[0], begin[-1]
        aim = (at(size, took), at(last_size, took * (last_size / size) ** AIM))
        items.insert(0, Polyline(points=aim, pen=Pen(width_in=0.03, colour=GREY), layer="aim"))
        ends[f"aim: n to the {AIM}"] = aim[1]
    items += _names(ends)
    bounds = Bounds(left=-LEFT_IN, bottom=-BELOW_IN, right=PLOT_IN + RIGHT_IN, top=HIGH_IN + ABOVE_IN)
    drawing = Drawing(title="Time of a quick plan against boxes", items=tuple(items), bounds=bounds)
    return to_svg(drawing, width_mm=bounds.width_in * 25.4, background=WHITE)


def _axes(sizes: Sequence[int], decades: range, at: At) -> list[Item]:
    thin, line = Pen(width_in=0.004, colour=GREY), Pen(width_in=0.012)
    items: list[Item] = []
    for decade in decades:
        _, y = at(sizes[0], 10.0**decade)
        items.append(Line(start=(0, y), end=(PLOT_IN, y), pen=thin, layer="grid"))
        items.append(_words((-0.08, y - 0.04), f"{10.0**decade:,g}", anchor="end"))
    for size in sizes:
        x, _ = at(size, 10.0 ** decades[0])
        items.append(Line(start=(x, 0), end=(x, HIGH_IN), pen=thin, layer="grid"))
        items.append(_words((x, -0.22), f"{size:,}", anchor="middle"))
    items.append(Polyline(points=((0, HIGH_IN), (0, 0), (PLOT_IN, 0)), pen=line, layer="axes"))
    items.append(_words((PLOT_IN / 2, -0.5), "boxes", anchor="middle"))
    items.append(
        Text(at=(-0.62, HIGH_IN / 2), text="seconds", height_in=LETTERS_IN, layer="words", anchor="middle", turn_deg=90)
    )
    items.append(Text(at=(0, HIGH_IN + 0.2), text="Time of a quick plan against boxes, both in decades",
                      height_in=LETTERS_IN, layer="words", bold=True))  # fmt: skip
    return items


def _names(ends: Mapping[str, Point]) -> list[Item]:
    """Names of the lines beside the plot, lowest first, no nearer to each other than can be read."""
    items: list[Item] = []
    thin, free = Pen(width_in=0.006), -math.inf
    for name, (x, y) in sorted(ends.items(), key=lambda end: end[1][1]):
        level = max(y, free)
        free = level + APART_IN
        items.append(Line(start=(x + 0.05, y), end=(PLOT_IN + 0.3, level), pen=thin, layer="names"))
        items.append(_words((PLOT_IN + 0.35, level - 0.04), name))
    return items


def _words(at: Point, words: str, anchor: str = "start") -> Text:
    return Text(at=at, text=words, height_in=LETTERS_IN, layer="words", anchor=anchor)

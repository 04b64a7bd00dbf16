"""Names and figures on a drawing: placed so that none covers another or what must be seen, with leaders."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from barnloom.viewer.drawing import BLACK, WHITE, Bounds, Circle, Fill, Item, Line, Pen, Point, Polygon, Text
from barnloom.viewer.drawings.paper import Paper
from barnloom.viewer.labels import Label, Spot, placed
from barnloom.viewer.lettering import drawable, width_in
from barnloom.viewer.solids import Floats
from barnloom.viewer.text import clean

PAD_MM = 0.4
"""White around the letters."""
NEAR_MM = 1.2
"""A tag nearer than this to what it names needs no leader."""
_CAPITALS = 0.73
_BASE = 0.14
"""Of the em: how high capitals are; how far the base line lies over the foot of the em, so that both look centred."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tag:
    """A name or a figure, and the places it may point at, all as good as each other."""

    text: str
    targets: tuple[Point, ...]
    points: float
    """Size of its letters."""
    bold: bool = False
    colour: str = BLACK
    """Of its leader."""
    layer: str = "labels"
    reach_in: float = 0.0
    """How far what it names reaches round the target: the leader ends there; 0: it ends in a dot."""


def tagged(
    tags: Sequence[Tag], area: Bounds, paper: Paper, *, busy: Floats, blocked: Floats
) -> tuple[tuple[Item, ...], tuple[str, ...]]:
    """
    Place tags, the first where they like best.

    Parameters
    ----------
    tags : sequence of Tag
        In order of importance.
    area : Bounds
        Where they may be.
    busy : (n, 2) float
        Points of what had better not be covered.
    blocked : (n, 4) float
        Rectangles that no tag covers: left, bottom, right, top.

    Returns
    -------
    items : tuple of Item
        Leaders first.
    left_out : tuple of str
        Tags for which there was no room.
    """
    pad = paper.mm(PAD_MM)
    shown = [drawable(clean(tag.text)) for tag in tags]
    labels = [
        Label(
            targets=tag.targets,
            width_in=width_in(text, paper.points(tag.points), bold=tag.bold) + 2 * pad,
            height_in=paper.points(tag.points) + 2 * pad,
        )
        for tag, text in zip(tags, shown, strict=True)
    ]
    spots = placed(labels, area, busy=busy, margin_in=pad / 2, blocked=blocked)
    drawn = [(tag, text, spot) for tag, text, spot in zip(tags, shown, spots, strict=True) if spot is not None]
    leaders = [item for tag, _, spot in drawn for item in _leader(tag, spot, paper)]
    plates = [item for tag, text, spot in drawn for item in _plate(tag, text, spot, paper)]
    left_out = tuple(text for text, spot in zip(shown, spots, strict=True) if spot is None)
    return (*leaders, *plates), left_out


def _leader(tag: Tag, spot: Spot, paper: Paper) -> Iterator[Item]:
    far = math.dist(spot.nearest, spot.target)
    if far - tag.reach_in < paper.mm(NEAR_MM):
        return
    (x, y), (x1, y1), share = spot.nearest, spot.target, tag.reach_in / far
    end = (x1 + (x - x1) * share, y1 + (y - y1) * share)
    yield Line(start=spot.nearest, end=end, pen=Pen(width_in=paper.mm(0.6), colour=WHITE), layer="leaders")
    yield Line(start=spot.nearest, end=end, pen=paper.pen(0.18, colour=tag.colour), layer="leaders")
    if not tag.reach_in:
        dot = Fill(colour=tag.colour)
        yield Circle(centre=end, radius_in=paper.mm(0.35), pen=None, fill=dot, layer="leaders")


def _plate(tag: Tag, text: str, spot: Spot, paper: Paper) -> Iterator[Item]:
    corners = ((spot.left, spot.bottom), (spot.right, spot.bottom), (spot.right, spot.top), (spot.left, spot.top))
    yield Polygon(points=corners, pen=None, fill=Fill(colour=WHITE, opacity=0.85), layer="plates")
    size = paper.points(tag.points)
    at = ((spot.left + spot.right) / 2, spot.bottom + paper.mm(PAD_MM) + _BASE * size)
    yield Text(at=at, text=text, height_in=size, anchor="middle", bold=tag.bold, layer=tag.layer)


def spread(wanted: Sequence[float], apart: float) -> list[float]:
    """
    Return places as near as can be to those wanted (ascending) and no nearer to each other than ``apart``.

    Neighbours that would be too near form a group about the mean of what they want.

    Examples
    --------
    >>> spread([0.0, 1.0, 10.0], 2.0)
    [-0.5, 1.5, 10.0]
    """
    groups: list[list[float]] = []  # sum of (wanted - rank in the group * apart), count
    for place in wanted:
        groups.append([place, 1])
        while len(groups) > 1:
            (low, many), (high, more) = groups[-2:]
            if low / many + many * apart <= high / more:
                break
            groups[-2:] = [[low + high - more * many * apart, many + more]]
    return [total / count + rank * apart for total, count in groups for rank in range(int(count))]


def along_line(line: Floats, step_in: float) -> Floats:
    """Points (n, 2) every so many inches along a line of corners."""
    far = np.concatenate([[0.0], np.hypot(*np.diff(line, axis=0).T).cumsum()])
    at = np.arange(0.0, far[-1] + step_in, step_in)
    result: Floats = np.stack([np.interp(at, far, line[:, 0]), np.interp(at, far, line[:, 1])], axis=-1)
    return result

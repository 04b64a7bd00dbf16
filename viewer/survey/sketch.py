"""Drawings to fill in on site: what is known to scale on a light grid, room to sketch the rest."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from barnloom.model.survey.parts import FloorPart, Frame, Point, Rectangle, Said, Site, WallPart, dot, unit
from barnloom.viewer.drawing import BLACK, WHITE, Bounds, Circle, Drawing, Fill, Item, Line, Polygon, Text
from barnloom.viewer.drawings.paper import LABEL_PT, MM_PER_INCH, SCALES_METRIC, SCALES_US, Paper
from barnloom.viewer.lettering import width_in
from barnloom.viewer.text import clean

OUTLINE_TOP_MM = 9.0
ARROW = "draw an arrow: which way the joists run"
GRID = "#c4c4c4"
GRID_MM = 5.0
"""Squares of a grid on which nothing is to scale yet."""
FOOT_IN, METRE_PART_IN = 12.0, 250 / MM_PER_INCH
"""Squares of a grid that is to scale."""
ROUND_MM = 12.0
"""Room round what is drawn, for words."""
FIGURES_MM = 20.0
"""Room for running dimensions, which stand at right angles to the row."""
SMALLEST = (128, 160, 192, 240, 320, 400, 500, 640, 1000)
"""Scales for what no ruler's scale brings onto a page."""


@dataclass(frozen=True, slots=True)
class Upright:
    """A member of a row as it is drawn: near face, breadth, its figure."""

    near: float
    breadth: float
    figure: str


def wall_sketch(
    site: Site, wall: WallPart, studs: Sequence[Upright], room_mm: tuple[float, float]
) -> tuple[Drawing, Paper]:
    """A wall from its room: to scale where length and height are known, else an empty frame."""
    top = max([wall.height or 0.0, *(y for _, y in wall.profile if y is not None)])
    title = f"wall {wall.id}"
    if wall.length is None or not top:
        return _empty_wall(wall, title, room_mm)
    long = wall.length
    paper = _fitting(long, top, room_mm, metric=site.metric, above=FIGURES_MM)
    mirrored = wall.room == "left"  # from the room, such a wall starts on the right

    def at(x: float, y: float) -> Point:
        return (long - x if mirrored else x), y

    def area(x: float, y: float, to_x: float, to_y: float, pen_mm: float, fill: str | None = None) -> Polygon:
        points = (at(x, y), at(to_x, y), at(to_x, to_y), at(x, to_y))
        return Polygon(points=points, pen=paper.pen(pen_mm), fill=Fill(colour=fill) if fill else None, layer="framing")

    profile = [(x, y) for x, y in wall.profile if x is not None and y is not None] or [(0.0, top), (long, top)]
    outline = (at(0, 0), at(long, 0), *(at(x, y) for x, y in reversed(profile)))
    items: list[Item] = [*_grid(Bounds(left=0, bottom=0, right=long, top=top), _step(site), paper)]
    items.append(Polygon(points=outline, pen=paper.pen(0.5), fill=None, layer="framing"))
    for stud in studs:
        high = _height(profile, stud.near)
        items.append(area(stud.near, 0, stud.near + stud.breadth, high, 0.2, WHITE))
    for name, keys in wall.openings.items():
        said = Said(keys)
        near, wide, head = said.number("at"), said.number("width"), said.number("top")
        if near is None or wide is None:
            continue
        sill = said.number("bottom") or 0.0
        items.append(area(near, sill, near + wide, head or top / 2, 0.35, WHITE))
        middle = at(near + wide / 2, (sill + (head or top / 2)) / 2)
        items += _label(name, middle, paper)
    last = -math.inf
    for stud in studs:
        x = stud.near + stud.breadth / 2
        if x - last < paper.mm(3.2):
            continue
        last = x
        y = _height(profile, x) + paper.mm(1.0)
        place = (at(x, 0)[0] + paper.points(LABEL_PT) * 0.3, y)
        items.append(_text(stud.figure, place, paper, turn=90.0, points=LABEL_PT - 1))
    length, height = site.text(long), site.text(wall.height) if wall.height is not None else "sloped top"
    items += [
        *_hook(at(0, 0), paper, left=not mirrored),
        _text(f"length {length}", (long / 2, -paper.mm(11.0)), paper, anchor="middle"),
        _text(height, (-paper.mm(2.0), top / 2), paper, anchor="middle", turn=90.0),
    ]
    return _drawn(title, items, Bounds(left=0, bottom=0, right=long, top=top), paper, above=FIGURES_MM), paper


def floor_sketch(
    site: Site, floor: FloorPart, joists: Sequence[Upright], room_mm: tuple[float, float]
) -> tuple[Drawing, Paper]:
    """A floor from above, its datum corner below on the left."""
    wide, deep = floor.shape.size
    if wide is None or deep is None:
        return _empty_floor(floor.id, room_mm)
    along_width = floor.run == "width"
    beyond = {"right": FIGURES_MM} if along_width else {"above": FIGURES_MM}
    paper = _fitting(wide, deep, room_mm, metric=site.metric, **beyond)
    area = Bounds(left=0, bottom=0, right=wide, top=deep)
    items: list[Item] = [*_grid(area, _step(site), paper), _rect(0, 0, wide, deep, paper, 0.5)]

    def strip(at: float, to: float, low: float = 0.0, high: float | None = None) -> tuple[float, float, float, float]:
        """A strip across the joists (or, with low and high, a part of one), as a rectangle."""
        end = (deep if along_width else wide) if high is None else high
        return (at, low, to, end) if along_width else (low, at, end, to)

    def upright(near: float, far: float) -> tuple[float, float, float, float]:
        return (0.0, near, wide, far) if along_width else (near, 0.0, far, deep)

    if floor.run:
        for joist in joists:
            items.append(_rect(*upright(joist.near, joist.near + joist.breadth), paper, 0.15, fill=WHITE))
        for at, width in (*(floor.bearings or ()), *floor.girders):
            if at is not None and width is not None:
                items.append(_rect(*strip(at, at + width), paper, 0.35, dash=(4.0, 2.0)))
        items += _arrow(wide, deep, paper, along_width=along_width)
    else:
        items += _label(ARROW, (wide / 2, deep / 2), paper)
    for name, keys in floor.openings.items():
        (x, y), (w, d) = Said(keys).two("at"), Said(keys).two("size")
        if x is not None and y is not None and w is not None and d is not None:
            items.append(_rect(x, y, x + w, y + d, paper, 0.35, fill=WHITE))
            items += _label(name, (x + w / 2, y + d / 2), paper)
    last = -math.inf
    for joist in joists if floor.run else ():
        middle = joist.near + joist.breadth / 2
        if middle - last < paper.mm(3.2):
            continue
        last = middle
        size = LABEL_PT - 1
        if along_width:
            items.append(
                _text(joist.figure, (wide + paper.mm(1.0), middle - paper.points(size) * 0.35), paper, points=size)
            )
        else:
            place = (middle + paper.points(size) * 0.35, deep + paper.mm(1.0))
            items.append(_text(joist.figure, place, paper, turn=90.0, points=size))
    items += [
        *_hook((0.0, 0.0), paper, left=True, words="datum corner: hook here"),
        _text(f"width {site.text(wide)}", (wide / 2, -paper.mm(11.0)), paper, anchor="middle"),
        _text(f"depth {site.text(deep)}", (-paper.mm(2.0), deep / 2), paper, anchor="middle", turn=90.0),
    ]
    return _drawn(f"floor {floor.id}", items, area, paper, **beyond), paper


def outline_sketch(
    site: Site, storey: str, marked: dict[str, str], room_mm: tuple[float, float]
) -> tuple[Drawing, Paper]:
    """A storey from above, north up: every wall whose place is known, with its length; else an empty grid.

    Parameters
    ----------
    site : Site
    storey : str
    marked : dict
        By wall, what stands behind its name: marks of findings.
    room_mm : (float, float)
        Width and height on paper.
    """
    frames = [frame for wall in site.walls.values() if wall.storey == storey and (frame := wall.frame)]
    shapes = [floor.shape for floor in site.floors.values() if floor.storey == storey] or list(site.shapes)
    points = [point for frame in frames for point in (frame.start, frame.end)]
    points += [a for shape in shapes for _, a, _ in shape.edges]
    title = f"outline of {storey}"
    if not points:
        paper = Paper(scale=1)
        return _blank(title, room_mm, paper), paper
    low = min(x for x, _ in points), min(y for _, y in points)
    high = max(x for x, _ in points), max(y for _, y in points)
    wide, deep = max(high[0] - low[0], 12.0), max(high[1] - low[1], 12.0)
    paper = _fitting(wide, deep, room_mm, metric=site.metric, above=OUTLINE_TOP_MM)
    area = Bounds(left=low[0], bottom=low[1], right=low[0] + wide, top=low[1] + deep)
    items: list[Item] = [*_grid(area, _step(site), paper)]
    for shape in shapes:
        items += _edges(shape, paper)
    for frame in frames:
        items += _wall_from_above(site, frame, marked.get(frame.id, ""), paper)
    for name in site.half.ids("measured"):
        items += _diagonal(site, name, frames, paper)
    return _drawn(title, items, area, paper, above=OUTLINE_TOP_MM), paper


# --- pieces ----------------------------------------------------------------------------------------------------------


def _wall_from_above(site: Site, frame: Frame, mark: str, paper: Paper) -> Iterator[Item]:
    u, w = frame.along, frame.inward
    thick = max(frame.depth, paper.mm(0.8))

    def at(along: float, inward: float) -> Point:
        return frame.start[0] + u[0] * along + w[0] * inward, frame.start[1] + u[1] * along + w[1] * inward

    corners = (at(0, 0), at(frame.length, 0), at(frame.length, thick), at(0, thick))
    yield Polygon(points=corners, pen=paper.pen(0.35), fill=Fill(colour=WHITE), layer="walls")
    yield Circle(centre=frame.start, radius_in=paper.mm(0.9), pen=None, fill=Fill(colour=BLACK), layer="walls")
    turn = math.degrees(math.atan2(u[1], u[0]))
    upside = not -90.0 < turn <= 90.0
    turn = turn + 180.0 if upside else turn
    words = f"{frame.id} {site.text(frame.length)} {mark}".strip()
    up = (-math.sin(math.radians(turn)), math.cos(math.radians(turn)))
    outside = dot(up, w) < 0
    off = paper.mm(2.0) if outside else -paper.mm(2.0) - paper.points(LABEL_PT) * 0.75
    middle = at(frame.length / 2, 0.0)
    place = middle[0] + up[0] * off, middle[1] + up[1] * off
    yield Text(at=place, text=words, height_in=paper.points(LABEL_PT), layer="words", anchor="middle", turn_deg=turn)


def _diagonal(site: Site, name: str, frames: Sequence[Frame], paper: Paper) -> Iterator[Item]:
    starts = {frame.id: frame.start for frame in frames}
    a, b = (starts.get(str(site.half.value("measured", name, key))) for key in ("from", "to"))
    if a is None or b is None:
        return
    yield Line(start=a, end=b, pen=paper.pen(0.25, dash=(8.0, 5.0)), layer="measured")
    length = site.half.value("measured", name, "length")
    words = f"{name} {site.text(length) if length is not None else '?'}"
    yield from _label(words, ((a[0] * 2 + b[0]) / 3, (a[1] * 2 + b[1]) / 3), paper)


def _edges(shape: Rectangle, paper: Paper) -> Iterator[Item]:
    for _, a, b in shape.edges:
        yield Line(start=a, end=b, pen=paper.pen(0.18, dash=(6.0, 6.0)), layer="floors")


def _hook(at: Point, paper: Paper, *, left: bool, words: str = "hook here") -> Iterator[Item]:
    """A mark under the end from which everything is measured."""
    x, y = at
    size = paper.mm(2.4)
    points = (
        (x, y - paper.mm(0.6)),
        (x - size / 2, y - size - paper.mm(0.6)),
        (x + size / 2, y - size - paper.mm(0.6)),
    )
    yield Polygon(points=points, pen=None, fill=Fill(colour=BLACK), layer="hook")
    place = (x - size / 2 if left else x + size / 2, y - paper.mm(6.4))
    yield _text(words, place, paper, anchor="start" if left else "end", bold=True)


def _arrow(wide: float, deep: float, paper: Paper, *, along_width: bool) -> Iterator[Item]:
    """Which way the joists run."""
    long = min(wide if along_width else deep, paper.mm(60)) * 0.6
    u = unit(0.0 if along_width else 90.0)
    middle = wide / 2, deep / 2
    head = paper.mm(3.0)
    for sign in (1.0, -1.0):
        tip = middle[0] + sign * u[0] * long / 2, middle[1] + sign * u[1] * long / 2
        base = tip[0] - sign * u[0] * head, tip[1] - sign * u[1] * head
        side = (-u[1] * head * 0.4, u[0] * head * 0.4)
        yield Line(start=middle, end=base, pen=paper.pen(0.6), layer="run")
        points = (tip, (base[0] + side[0], base[1] + side[1]), (base[0] - side[0], base[1] - side[1]))
        yield Polygon(points=points, pen=None, fill=Fill(colour=BLACK), layer="run")
    yield from _label("joists run this way", middle, paper, upright=not along_width)


def _empty_wall(wall: WallPart, title: str, room_mm: tuple[float, float]) -> tuple[Drawing, Paper]:
    paper = Paper(scale=1)
    left = wall.room == "right"
    drawing = _blank(title, room_mm, paper)
    bounds = drawing.bounds
    foot, head = paper.mm(10.0), bounds.top - paper.mm(6.0)
    x, to = paper.mm(12.0), bounds.right - paper.mm(12.0)
    lines = [foot, foot + paper.mm(1.5), head, head - paper.mm(1.5), head - paper.mm(3.0)]
    items: list[Item] = [
        *drawing.items,
        *(Line(start=(x, y), end=(to, y), pen=paper.pen(0.35), layer="framing") for y in lines),
        *(Line(start=(end, foot), end=(end, head), pen=paper.pen(0.35), layer="framing") for end in (x, to)),
        *_hook((x if left else to, foot), paper, left=left),
        _text("far end", (to if left else x, foot - paper.mm(6.4)), paper, anchor="end" if left else "start"),
    ]
    return Drawing(title=title, items=tuple(items), bounds=bounds), paper


def _empty_floor(name: str, room_mm: tuple[float, float]) -> tuple[Drawing, Paper]:
    paper = Paper(scale=1)
    drawing = _blank(f"floor {name}", room_mm, paper)
    bounds = drawing.bounds
    low, high = (paper.mm(12.0), paper.mm(10.0)), (bounds.right - paper.mm(12.0), bounds.top - paper.mm(6.0))
    words = "width", "depth"
    items: list[Item] = [
        *drawing.items,
        _rect(*low, *high, paper, 0.35),
        *_label(ARROW, ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2), paper),
        *_hook(low, paper, left=True, words="datum corner: hook here"),
        _text(words[0], ((low[0] + high[0]) / 2, low[1] - paper.mm(6.4)), paper, anchor="middle"),
        _text(words[1], (low[0] - paper.mm(2.0), (low[1] + high[1]) / 2), paper, anchor="middle", turn=90.0),
    ]
    return Drawing(title=drawing.title, items=tuple(items), bounds=bounds), paper


def _blank(title: str, room_mm: tuple[float, float], paper: Paper) -> Drawing:
    bounds = Bounds(left=0, bottom=0, right=paper.mm(room_mm[0]), top=paper.mm(room_mm[1]))
    return Drawing(title=title, items=tuple(_grid(bounds, paper.mm(GRID_MM), paper)), bounds=bounds)


def _grid(area: Bounds, step: float, paper: Paper) -> Iterator[Item]:
    while step < paper.mm(2.0):
        step *= 2
    pen = paper.pen(0.12, colour=GRID)
    for n in range(math.floor(area.width_in / step + 1e-9) + 1):
        x = area.left + n * step
        yield Line(start=(x, area.bottom), end=(x, area.top), pen=pen, layer="grid")
    for n in range(math.floor(area.height_in / step + 1e-9) + 1):
        y = area.bottom + n * step
        yield Line(start=(area.left, y), end=(area.right, y), pen=pen, layer="grid")


def _step(site: Site) -> float:
    return METRE_PART_IN if site.metric else FOOT_IN


def _fitting(
    wide: float,
    high: float,
    room_mm: tuple[float, float],
    *,
    metric: bool,
    right: float = ROUND_MM,
    above: float = ROUND_MM,
) -> Paper:
    """The largest scale at which something, and the words and figures round it, has room (millimetres of paper)."""
    scales = (*(SCALES_METRIC if metric else SCALES_US), *SMALLEST)
    for scale in scales:
        paper = Paper(scale=scale, metric=metric)
        if wide <= paper.mm(room_mm[0] - ROUND_MM - right) and high <= paper.mm(room_mm[1] - ROUND_MM - above):
            return paper
    return Paper(scale=scales[-1], metric=metric)


def _drawn(
    title: str, items: Sequence[Item], area: Bounds, paper: Paper, *, right: float = ROUND_MM, above: float = ROUND_MM
) -> Drawing:
    edge = paper.mm(ROUND_MM)
    bounds = Bounds(
        left=area.left - edge,
        bottom=area.bottom - edge,
        right=area.right + paper.mm(right),
        top=area.top + paper.mm(above),
    )
    return Drawing(title=title, items=tuple(items), bounds=bounds)


def _rect(
    x: float,
    y: float,
    to_x: float,
    to_y: float,
    paper: Paper,
    pen_mm: float,
    *,
    fill: str | None = None,
    dash: tuple[float, ...] = (),
) -> Polygon:
    return Polygon(
        points=((x, y), (to_x, y), (to_x, to_y), (x, to_y)),
        pen=paper.pen(pen_mm, dash=dash),
        fill=Fill(colour=fill) if fill else None,
        layer="framing",
    )


def _label(words: str, at: Point, paper: Paper, *, upright: bool = False) -> Iterator[Item]:
    """Words about a point, on a white ground so that nothing runs through them."""
    text = _text(words, at, paper, anchor="middle", turn=90.0 if upright else 0.0)
    half, low, high = width_in(text.text, text.height_in) / 2 + paper.mm(0.5), -0.35, 0.95
    corners = [(-half, low), (half, low), (half, high), (-half, high)]
    flat = [(x, y * text.height_in) for x, y in corners]
    points = tuple((at[0] + (-y if upright else x), at[1] + (x if upright else y)) for x, y in flat)
    yield Polygon(points=points, pen=None, fill=Fill(colour=WHITE), layer="words")
    yield text


def _text(
    words: str,
    at: Point,
    paper: Paper,
    *,
    anchor: str = "start",
    turn: float = 0.0,
    points: float = LABEL_PT,
    bold: bool = False,
) -> Text:
    size = paper.points(points)
    return Text(at=at, text=clean(words), height_in=size, layer="words", anchor=anchor, turn_deg=turn, bold=bold)


def _height(profile: Sequence[Point], x: float) -> float:
    """Height of a wall's top at a station."""
    for (a, low), (b, high) in zip(profile, profile[1:], strict=False):
        if a <= x <= b and b > a:
            return low + (high - low) * (x - a) / (b - a)
    return profile[-1][1] if x > profile[0][0] else profile[0][1]

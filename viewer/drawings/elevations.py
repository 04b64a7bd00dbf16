"""The elevation of a face: its members by id, holes with figures from the hooked end, cables, boxes, no-screw bands."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
from scipy.spatial import ConvexHull

from barnloom.model.building import Box, Member, Role
from barnloom.model.lengths import format_length
from barnloom.model.limits import Limits
from barnloom.model.vectors import dot
from barnloom.routing.plan import Bore, Cable, Plan
from barnloom.routing.store import natural_key
from barnloom.viewer.drawing import (
    BLACK,
    WHITE,
    Bounds,
    Circle,
    Dimension,
    Drawing,
    Fill,
    Hatch,
    Item,
    Line,
    Point,
    Polygon,
    Polyline,
    Text,
)
from barnloom.viewer.drawings.faces import Face
from barnloom.viewer.drawings.paper import LABEL_PT, LADDER_PT, Paper
from barnloom.viewer.drawings.tags import Tag, along_line, spread, tagged
from barnloom.viewer.lanes import side_by_side
from barnloom.viewer.lettering import drawable, width_in
from barnloom.viewer.palette import Style, styles
from barnloom.viewer.solids import Floats, bore_ends, box_corners, corners
from barnloom.viewer.text import clean

GREY = "#666666"
MARGIN_MM = 7.0
CABLE_MM, LANE_MM = 0.55, 1.1
HOLE_MM = 1.3
"""Least size of a hole on paper."""
_ALONG = math.cos(math.radians(1))


def elevation(plan: Plan, face: Face, paper: Paper) -> tuple[Drawing, tuple[str, ...]]:
    """
    Draw a face.

    Returns
    -------
    Drawing
        Inches of the building, right and up as the face has them.
    left_out : tuple of str
        Names and figures for which there was no room.
    """
    building = plan.building
    shapes = _shapes(face)
    places = np.concatenate([np.array(points) for _, points in shapes])
    low, high = places.min(axis=0), places.max(axis=0)
    bores = [bore for bore in plan.bores if bore.member in face.hosts]
    runs = list(_runs(plan, face, paper))
    marks, blocked = _holes(plan, face, bores, paper)
    bodies = {box.id: face.plane(box_corners([box], building)[0]) for box in face.boxes}
    below, above = _margins(face, paper)
    over = paper.mm(MARGIN_MM)
    area = Bounds(
        left=float(low[0]) - over,
        right=float(high[0]) + over,
        bottom=float(low[1]) - (0.0 if below.items else 2 * over),
        top=float(high[1]) + (0.0 if above.items else 2 * over),
    )
    busy = np.concatenate(
        [
            np.empty((0, 2)),
            *(along_line(line, paper.mm(1.0)) for _, _, line in runs),
            *(_cells(b) for b in bodies.values()),
        ]
    )
    tags = [*_box_tags(plan, face, bodies), *_row_tags(plan, face, bores), *_cable_tags(runs, styles(plan))]
    tags += _member_tags(face)
    named, left_out = tagged(tags, area, paper, busy=busy, blocked=blocked)
    items: list[Item] = [
        *_framing(shapes, paper),
        *_openings(face, paper),
        *_bands(plan, runs, paper),
        *_cables(runs, styles(plan), paper),
        *_boxes(face, bodies, paper),
        *marks,
        *_rows(plan, face, bores, paper),
        *below.items,
        *above.items,
        *named,
        *_overall(low, high, max(below.depth_in, float(low[1]) - area.bottom), paper, metric=building.metric),
    ]
    bounds = Bounds(
        left=area.left - paper.mm(MARGIN_MM),
        right=area.right,
        bottom=min(area.bottom, float(low[1]) - below.depth_in) - paper.mm(MARGIN_MM + 1),
        top=max(area.top, float(high[1]) + above.depth_in) + paper.mm(1),
    )
    return Drawing(title=f"{face.title}, {face.seen}", items=tuple(items), bounds=bounds), left_out


def face_size(face: Face, paper: Paper) -> tuple[float, float]:
    """Width and height (inches) of a face's elevation with everything round it, before it is drawn."""
    places = np.concatenate([np.array(points) for _, points in _shapes(face)])
    low, high = places.min(axis=0), places.max(axis=0)
    margins = sum(margin.depth_in or 2 * paper.mm(MARGIN_MM) for margin in _margins(face, paper))
    return (
        float(high[0] - low[0]) + 3 * paper.mm(MARGIN_MM),
        float(high[1] - low[1]) + margins + paper.mm(MARGIN_MM + 2),
    )


def in_use(plan: Plan, face: Face) -> bool:
    """Whether anything is bored, fixed or run in a face."""
    members = {bore.id: bore.member for bore in plan.bores}
    return (
        bool(face.boxes)
        or any(bore.member in face.hosts for bore in plan.bores)
        or any(host_of(track, members) in face.hosts for cable in plan.cables for track in cable.tracks)
    )


# --- framing ---------------------------------------------------------------------------------------------------------


def _shapes(face: Face) -> list[tuple[Member, tuple[Point, ...]]]:
    """Outline of every ply, those far from the eye first."""
    solid, owner = corners(face.members)
    towards = np.cross(face.right, face.up)
    flat = face.plane(solid)
    order = np.argsort([float((one @ towards).max()) for one in solid], kind="stable")
    return [(face.members[owner[n]], outline(flat[n])) for n in order]


def outline(points: Floats) -> tuple[Point, ...]:
    """Return the corners of the smallest convex shape about points (n, 2), counter-clockwise."""
    return tuple((float(x), float(y)) for x, y in points[ConvexHull(points).vertices])


def _framing(shapes: Sequence[tuple[Member, tuple[Point, ...]]], paper: Paper) -> Iterator[Item]:
    for member, points in shapes:
        dash = () if member.in_place else (6.0, 4.0)
        pen = paper.pen(0.13, colour=GREY, dash=dash)
        yield Polygon(points=points, pen=pen, fill=Fill(colour=WHITE), layer="framing")


def _openings(face: Face, paper: Paper) -> Iterator[Item]:
    if face.assembly is None:
        return
    slab = face.assembly
    for void in slab.voids:
        ends = np.array([[u, v] for u in void.u for v in void.v])
        world = np.array(slab.origin) + ends @ np.array([slab.u, slab.v])
        (a, b, c, d) = ((float(x), float(y)) for x, y in face.plane(world))
        pen = paper.pen(0.13, colour=GREY, dash=(8.0, 6.0))
        yield Line(start=a, end=d, pen=pen, layer="openings")
        yield Line(start=b, end=c, pen=pen, layer="openings")


@dataclass(frozen=True, slots=True)
class _Margin:
    """Ids of members that stand upright in the drawing, beyond its lower or upper edge, and how far they reach."""

    items: tuple[Item, ...] = ()
    depth_in: float = 0.0


def _margins(face: Face, paper: Paper) -> tuple[_Margin, _Margin]:
    """Ids below the drawing, of members that stand on its foot, and above it, of the others that reach its top."""
    flat = _flat(face)
    foot, top = (
        min(float(one[:, 1].min()) for one in flat.values()),
        max(float(one[:, 1].max()) for one in flat.values()),
    )
    left = min(float(one[:, 0].min()) for one in flat.values())
    below, above = _standing(face)
    return (
        _margin(face, below, flat, left, foot, -1.0, paper),
        _margin(face, above, flat, left, top, 1.0, paper),
    )


def _margin(
    face: Face,
    members: Sequence[Member],
    flat: Mapping[str, Floats],
    left: float,
    edge: float,
    way: float,
    paper: Paper,
) -> _Margin:
    if not members:
        return _Margin()
    size, gap = paper.points(LABEL_PT), paper.mm(2.0)
    middles = {m.id: float(flat[m.id][:, 0].min() + flat[m.id][:, 0].max()) / 2 for m in members}
    ends = {m.id: float(flat[m.id][:, 1].max() if way > 0 else flat[m.id][:, 1].min()) for m in members}
    ordered = sorted(members, key=lambda m: (middles[m.id], natural_key(m.id)))
    places = spread([middles[m.id] for m in ordered], 1.05 * size)
    shift = max(0.0, left - places[0])
    items: list[Item] = []
    widest = 0.0
    for member, place in zip(ordered, places, strict=True):
        text, at, x = drawable(clean(short_id(face, member.id))), place + shift, middles[member.id]
        start = ends[member.id]
        bend = edge + way * 0.3 * gap
        leader = ((x, start), (x, bend), (at, edge + way * 0.9 * gap))
        items.append(Polyline(points=leader, pen=paper.pen(0.1, colour=GREY), layer="leaders"))
        items.append(
            Text(
                at=(at + 0.36 * size, edge + way * gap),
                text=text,
                height_in=size,
                anchor="end" if way < 0 else "start",
                turn_deg=90.0,
                layer="members",
            )
        )
        widest = max(widest, width_in(text, size))
    return _Margin(tuple(items), gap + widest)


def _flat(face: Face) -> dict[str, Floats]:
    """Corners (n, 2) of each member on the drawing."""
    solid, owner = corners(face.members)
    plane = face.plane(solid)
    return {member.id: plane[owner == n].reshape(-1, 2) for n, member in enumerate(face.members)}


def _standing(face: Face) -> tuple[list[Member], list[Member]]:
    """Members that run up the drawing: those near its foot, and the others near its top."""
    flat = _flat(face)
    low = min(float(one[:, 1].min()) for one in flat.values())
    high = max(float(one[:, 1].max()) for one in flat.values())
    upright = [member for member in face.members if abs(dot(member.along, face.up)) >= _ALONG]
    reach = 0.2 * (high - low)
    below = [member for member in upright if flat[member.id][:, 1].min() <= low + reach]
    above = [m for m in upright if m not in below and flat[m.id][:, 1].max() >= high - reach]
    return below, above


def _member_tags(face: Face) -> Iterator[Tag]:
    """Names of members that do not stand on the lower edge."""
    standing = {member.id for own in _standing(face) for member in own}
    for member in sorted(face.members, key=lambda m: natural_key(m.id)):
        if member.id in standing or member.role in (Role.BLOCK, Role.SILL):
            continue
        flat = face.plane(corners([member])[0]).reshape(-1, 2)
        start, end = flat.min(axis=0), flat.max(axis=0)
        shares = (0.5, 0.3, 0.7, 0.15, 0.85)
        targets = tuple((float(x), float(y)) for x, y in (start + share * (end - start) for share in shares))
        if abs(dot(member.along, face.up)) > math.sin(math.radians(5)):
            targets = targets[:1]
        yield Tag(text=short_id(face, member.id), targets=targets, points=LABEL_PT, colour=GREY, layer="members")


def short_id(face: Face, name: str) -> str:
    """Return a member's id without the id of the assembly whose drawing it is on."""
    return name.removeprefix(f"{face.id}-")


# --- holes -----------------------------------------------------------------------------------------------------------


def _holes(plan: Plan, face: Face, bores: Sequence[Bore], paper: Paper) -> tuple[list[Item], Floats]:
    """A mark for each hole, dark where it wants a nail plate; and the rectangles that no name may cover."""
    items: list[Item] = []
    blocked = []
    starts, ends = (face.plane(side) for side in bore_ends(bores, plan.building))
    for bore, start, end in zip(bores, starts, ends, strict=True):
        size = max(bore.diameter_in, paper.mm(HOLE_MM))
        fill = Fill(colour=BLACK if bore.nail_plates else WHITE)
        pen = paper.pen(0.25)
        length = float(np.hypot(*(end - start)))
        middle = (start + end) / 2
        if length < 1e-6:
            at = (float(middle[0]), float(middle[1]))
            items.append(Circle(centre=at, radius_in=size / 2, pen=pen, fill=fill, layer="holes"))
            blocked.append([at[0] - size / 2, at[1] - size / 2, at[0] + size / 2, at[1] + size / 2])
            continue
        way = (end - start) / length
        side = np.array([-way[1], way[0]]) * size / 2
        shape = np.array([start - side, end - side, end + side, start + side])
        items.append(Polygon(points=tuple((float(x), float(y)) for x, y in shape), pen=pen, fill=fill, layer="holes"))
        blocked.append([*shape.min(axis=0), *shape.max(axis=0)])
    return items, np.array(blocked).reshape(-1, 4)


def _in_rows(plan: Plan, face: Face, bores: Sequence[Bore]) -> Iterator[tuple[str, Floats]]:
    """Holes at one figure from one kind of end, as words and the middles in order along the row."""
    members = {member.id: member for member in face.members}
    starts, ends = (face.plane(side) for side in bore_ends(bores, plan.building))
    middles = (starts + ends) / 2
    keyed = []
    for bore, middle in zip(bores, middles, strict=True):
        member = members[bore.member]
        way = np.array([dot(member.along, face.right), dot(member.along, face.up)])
        if np.hypot(*way) < _ALONG:
            continue
        words = format_length(bore.along_in, metric=plan.building.metric)
        level, place = float(middle @ way), float(middle @ np.array([-way[1], way[0]]))
        keyed.append(((tuple(np.round(way, 3)), round(level, 1), words), place, middle))
    keyed.sort(key=lambda one: (one[0], one[1]))
    for (_, _, words), own in groupby(keyed, key=lambda one: one[0]):
        yield words, np.array([middle for _, _, middle in own])


def _rows(plan: Plan, face: Face, bores: Sequence[Bore], paper: Paper) -> Iterator[Item]:
    """A thin line through the holes of a row."""
    for _, middles in _in_rows(plan, face, bores):
        if len(middles) > 1:
            start, end = ((float(x), float(y)) for x, y in (middles[0], middles[-1]))
            pen = paper.pen(0.1, dash=(14.0, 5.0, 2.0, 5.0))
            yield Line(start=start, end=end, pen=pen, layer="rows")


def _row_tags(plan: Plan, face: Face, bores: Sequence[Bore]) -> Iterator[Tag]:
    for words, middles in _in_rows(plan, face, bores):
        ends = (middles[0], middles[-1])
        targets = tuple((float(x), float(y)) for x, y in ends)
        many = f"{words} ×{len(middles)}" if len(middles) > 1 else words
        yield Tag(text=many, targets=targets, points=LADDER_PT, bold=True, layer="dimensions")


# --- cables and boxes ------------------------------------------------------------------------------------------------


def _runs(plan: Plan, face: Face, paper: Paper) -> Iterator[tuple[Cable, str, Floats]]:
    """Parts of cables that run in the face, side by side where they lie on one line: cable, circuit, corners (n, 2)."""
    found: list[tuple[Cable, Floats]] = []
    members = {bore.id: bore.member for bore in plan.bores}
    for cable in sorted(plan.cables, key=lambda one: natural_key(one.id)):
        here = [host_of(track, members) in face.hosts for track in cable.tracks]
        for number, inside in enumerate(here):
            if not inside:
                continue
            if number and here[number - 1]:
                continue
            last = next((n for n in range(number, len(here)) if not here[n]), len(here))
            line = face.plane(np.array(cable.points[number : last + 1]))
            if np.ptp(line, axis=0).max() > 1.0:
                found.append((cable, line))
    moved = side_by_side([line for _, line in found], apart_in=paper.mm(LANE_MM), along_in=6.0)
    for (cable, _), line in zip(found, moved, strict=True):
        yield cable, cable.circuit, line


def host_of(track: str, bored: Mapping[str, str]) -> str:
    """Return the assembly or member that a leg of a cable is in or on."""
    first, _, rest = track.partition(" ")
    return bored.get(rest, rest) if first == "bore" else first


def _cables(runs: Sequence[tuple[Cable, str, Floats]], style: Mapping[str, Style], paper: Paper) -> Iterator[Item]:
    for _, circuit, line in runs:
        points = tuple((float(x), float(y)) for x, y in line)
        pen = paper.pen(CABLE_MM, colour=style[circuit].colour, dash=style[circuit].dash)
        yield Polyline(points=points, pen=pen, layer=f"cables {circuit}")


def _cable_tags(runs: Sequence[tuple[Cable, str, Floats]], style: Mapping[str, Style]) -> Iterator[Tag]:
    """Each cable once, at the longest part that is seen."""
    longest: dict[str, tuple[float, str, Floats]] = {}
    for cable, circuit, line in runs:
        far = float(np.hypot(*np.diff(line, axis=0).T).sum())
        if far > longest.get(cable.id, (0.0,))[0]:
            longest[cable.id] = (far, circuit, line)
    for name, (far, circuit, line) in longest.items():
        points = along_line(line, far / 8)[1:-1]
        targets = tuple((float(x), float(y)) for x, y in points)
        yield Tag(text=name, targets=targets, points=LABEL_PT, colour=style[circuit].colour, layer="cables")


def _bands(plan: Plan, runs: Sequence[tuple[Cable, str, Floats]], paper: Paper) -> Iterator[Item]:
    """Where no screw goes when the face is lined: beside every cable."""
    reach = Limits(plan.building.limits)["lining.no_screw"]
    pen = paper.pen(0.1, colour="#888888")
    for _, _, line in runs:
        for start, end in zip(line[:-1], line[1:], strict=True):
            length = float(np.hypot(*(end - start)))
            if length < 1.0:
                continue
            side = np.array([-(end - start)[1], (end - start)[0]]) / length * reach
            shape = tuple((float(x), float(y)) for x, y in (start - side, end - side, end + side, start + side))
            yield Hatch(points=shape, angle_deg=45.0, spacing_in=paper.mm(1.6), pen=pen, layer="no-screw bands")


def _boxes(face: Face, bodies: dict[str, Floats], paper: Paper) -> Iterator[Item]:
    for box in face.boxes:
        points = bodies[box.id]
        if np.ptp(points, axis=0).max() < 0.1:
            at = (float(points[0, 0]), float(points[0, 1]))
            yield Circle(centre=at, radius_in=paper.mm(0.8), pen=None, fill=Fill(colour=BLACK), layer="boxes")
            continue
        yield Polygon(points=outline(points), pen=paper.pen(0.35), fill=Fill(colour=WHITE), layer="boxes")


def _box_tags(plan: Plan, face: Face, bodies: dict[str, Floats]) -> Iterator[Tag]:
    floors = {storey.id: storey.floor_in for storey in plan.building.storeys}
    for box in sorted(face.boxes, key=lambda one: (one.kind != "panel", natural_key(one.id))):
        middle = bodies[box.id].mean(axis=0)
        yield Tag(
            text=f"{box.id} {_height_words(box, face, floors, metric=plan.building.metric)}".strip(),
            targets=((float(middle[0]), float(middle[1])),),
            points=LADDER_PT,
            bold=True,
            layer="boxes",
            reach_in=float(np.ptp(bodies[box.id], axis=0).min()) / 2,
        )


def _height_words(box: Box, face: Face, floors: dict[str, float], *, metric: bool) -> str:
    """How high a box's middle is over its floor, where the drawing stands upright."""
    if face.up[2] < _ALONG or box.storey not in floors:
        return ""
    return format_length(box.at[2] - floors[box.storey], metric=metric)


def _cells(body: Floats) -> Floats:
    """Points all over a box."""
    low, high = body.min(axis=0), body.max(axis=0)
    at = np.linspace(0, 1, 5)
    result: Floats = low + np.stack(np.meshgrid(at, at), -1).reshape(-1, 2) * (high - low)
    return result


# --- dimensions ------------------------------------------------------------------------------------------------------


def _overall(low: Floats, high: Floats, depth: float, paper: Paper, *, metric: bool) -> Iterator[Item]:
    pen, size = paper.pen(0.15), paper.points(LADDER_PT)
    width, height = (format_length(float(value), metric=metric) for value in high - low)
    left, bottom = float(low[0]), float(low[1])
    yield Dimension(
        start=(left, bottom - depth),
        end=(float(high[0]), bottom - depth),
        offset_in=-paper.mm(6),
        text=width,
        height_in=size,
        pen=pen,
        layer="dimensions",
    )
    if float(high[1]) - bottom < 3 * size:
        return
    yield Dimension(
        start=(left, bottom),
        end=(left, float(high[1])),
        offset_in=paper.mm(MARGIN_MM),
        text=height,
        height_in=size,
        pen=pen,
        layer="dimensions",
    )

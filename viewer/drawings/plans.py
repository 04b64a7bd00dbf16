"""The plan of a storey: walls and posts lightly, boxes by symbol, cables by circuit, what controls what."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

import numpy as np

from barnloom.model.building import Assembly, Box, Building, Member
from barnloom.model.lengths import format_length
from barnloom.model.vectors import UP, dot
from barnloom.model.wiring import Device, DeviceKind
from barnloom.routing.plan import Cable, Plan
from barnloom.routing.store import natural_key
from barnloom.viewer.drawing import (
    BLACK,
    WHITE,
    Bounds,
    Circle,
    Dimension,
    Drawing,
    Fill,
    Item,
    Line,
    Point,
    Polygon,
    Polyline,
    Symbol,
)
from barnloom.viewer.drawings.elevations import CABLE_MM, GREY, LANE_MM, host_of, outline
from barnloom.viewer.drawings.paper import LABEL_PT, Paper
from barnloom.viewer.drawings.tags import Tag, along_line, tagged
from barnloom.viewer.lanes import side_by_side
from barnloom.viewer.palette import Style, styles
from barnloom.viewer.solids import Floats, corners

SYMBOL_MM = 5.0
MARGIN_MM = 8.0
OUT_MM = 3.6
"""How far the symbol of a box in a wall stands in the room."""
BULGE = 0.12
"""Of a curve between a switch and what it controls, of its length: so that it is never taken for a cable."""
_UPRIGHT = math.cos(math.radians(10))


def storey_plan(plan: Plan, storey: str, paper: Paper) -> tuple[Drawing, tuple[str, ...]]:
    """
    Draw a storey from above, north up.

    Parameters
    ----------
    storey : str
        Id of a storey of the building.

    Returns
    -------
    Drawing
        Inches of the building, x east and y north.
    left_out : tuple of str
        Names for which there was no room.
    """
    building = plan.building
    low, high = _extent(building, storey)
    edge = paper.mm(MARGIN_MM)
    area = Bounds(left=low[0] - edge, bottom=low[1] - edge, right=high[0] + edge, top=high[1] + edge)
    style = styles(plan)
    runs = list(_runs(plan, storey, paper))
    spots = {box.id: _spot(box, building, paper) for box in building.boxes if box.storey == storey}
    symbols = [item for box in building.boxes if box.id in spots for item in _symbols(plan, box, spots[box.id], paper)]
    half = paper.mm(SYMBOL_MM) / 2
    blocked = np.array([[s.at[0] - half, s.at[1] - half, s.at[0] + half, s.at[1] + half] for s in symbols]).reshape(
        -1, 4
    )
    busy = np.concatenate([np.empty((0, 2)), *(along_line(line, paper.mm(1.0)) for _, line in runs)])
    steps = _steps(plan, storey)
    tags = [*_box_tags(plan, storey, spots, half), *_step_tags(steps, paper.mm(0.9)), *_circuit_tags(plan, runs, style)]
    tags += _far_tags(plan, storey, spots)
    named, left_out = tagged(tags, area, paper, busy=busy, blocked=blocked)
    items: list[Item] = [
        *_walls(building, storey, paper),
        *_openings(building, storey, paper),
        *_uprights(building, storey, paper),
        *_keep_clear(building, storey, paper),
        *_controls(plan, storey, spots, paper),
        *_cables(runs, style, paper),
        *(_step_mark(at, paper) for at in steps),
        *symbols,
        *named,
        *_overall(low, high, paper, metric=building.metric),
    ]
    bounds = Bounds(
        left=area.left - paper.mm(MARGIN_MM), bottom=area.bottom - paper.mm(MARGIN_MM), right=area.right, top=area.top
    )
    title = next(one.title or one.id for one in building.storeys if one.id == storey)
    return Drawing(title=f"{title}, from above", items=tuple(items), bounds=bounds), left_out


def plan_size(building: Building, storey: str, paper: Paper) -> tuple[float, float]:
    """Width and height (inches) of a storey's plan with everything round it."""
    low, high = _extent(building, storey)
    edge = 3 * paper.mm(MARGIN_MM)
    return high[0] - low[0] + edge, high[1] - low[1] + edge


def _extent(building: Building, storey: str) -> tuple[Point, Point]:
    """South-west and north-east corner of what stands on a storey."""
    members = [member for member in building.members if _stands(member, storey)] or list(building.members)
    places = [corners(members)[0].reshape(-1, 3)[:, :2]] if members else []
    boxes = [box.at[:2] for box in building.boxes if box.storey == storey]
    points = np.concatenate([*places, np.array(boxes).reshape(-1, 2)])
    if not len(points):
        points = np.zeros((1, 2))
    low, high = points.min(axis=0), points.max(axis=0)
    return (float(low[0]), float(low[1])), (float(high[0]), float(high[1]))


def _stands(member: Member, storey: str) -> bool:
    return member.storey == storey and abs(dot(member.along, UP)) >= _UPRIGHT


# --- the building ----------------------------------------------------------------------------------------------------


def _walls(building: Building, storey: str, paper: Paper) -> Iterator[Item]:
    for wall in _of(building, storey, "wall"):
        yield Polygon(
            points=_footprint(wall, wall.extent_u), pen=paper.pen(0.25), fill=Fill(colour="#f2f2f2"), layer="walls"
        )
        for void in wall.voids:
            door = void.v[0] < 12.0
            yield Polygon(
                points=_footprint(wall, void.u), pen=paper.pen(0.13), fill=Fill(colour=WHITE), layer="openings"
            )
            if not door:
                middle = wall.depth_in / 2
                start, end = (_on_plan(wall, u, middle) for u in void.u)
                yield Line(start=start, end=end, pen=paper.pen(0.13), layer="openings")


def _of(building: Building, storey: str, kind: str) -> list[Assembly]:
    return [slab for slab in building.assemblies if slab.kind == kind and slab.storey == storey]


def _on_plan(slab: Assembly, u: float, w: float) -> Point:
    x, y = (slab.origin[n] + slab.u[n] * u + slab.w[n] * w for n in (0, 1))
    return (x, y)


def _footprint(wall: Assembly, span: tuple[float, float]) -> tuple[Point, ...]:
    low, high = span
    deep = wall.depth_in
    return tuple(_on_plan(wall, u, w) for u, w in ((low, 0.0), (high, 0.0), (high, deep), (low, deep)))


def _openings(building: Building, storey: str, paper: Paper) -> Iterator[Item]:
    """Holes in the floor that people of this storey stand on: those of the ceiling of the storey below."""
    order = [one.id for one in building.storeys]
    below = order[order.index(storey) - 1] if order.index(storey) else ""
    pen = paper.pen(0.13, colour=GREY, dash=(10.0, 6.0))
    for floor in _of(building, below, "floor"):
        for void in floor.voids:
            ends = [
                tuple(floor.origin[n] + floor.u[n] * u + floor.v[n] * v for n in (0, 1))
                for u, v in (
                    (void.u[0], void.v[0]),
                    (void.u[1], void.v[0]),
                    (void.u[1], void.v[1]),
                    (void.u[0], void.v[1]),
                )
            ]
            shape = tuple((float(x), float(y)) for x, y in ends)
            yield Polygon(points=shape, pen=pen, fill=None, layer="openings")
            yield Line(start=shape[0], end=shape[2], pen=pen, layer="openings")


def _uprights(building: Building, storey: str, paper: Paper) -> Iterator[Item]:
    members = [member for member in building.members if _stands(member, storey)]
    if members:
        for solid in corners(members)[0]:
            points = outline(solid[:, :2])
            yield Polygon(points=points, pen=paper.pen(0.1, colour=GREY), fill=Fill(colour="#dddddd"), layer="framing")


def _keep_clear(building: Building, storey: str, paper: Paper) -> Iterator[Item]:
    floors = sorted((one.floor_in, one.id) for one in building.storeys)
    level = next(floor for floor, name in floors if name == storey)
    over = min((floor for floor, _ in floors if floor > level), default=math.inf)
    for solid in building.keep_clear:
        if solid.low[2] < over and solid.high[2] > level:
            (x1, y1, _), (x2, y2, _) = solid.low, solid.high
            pen = paper.pen(0.13, colour=GREY, dash=(2.0, 4.0))
            yield Polygon(points=((x1, y1), (x2, y1), (x2, y2), (x1, y2)), pen=pen, fill=None, layer="keep clear")


# --- boxes -----------------------------------------------------------------------------------------------------------


def symbol_names(plan: Plan, box: Box) -> list[str]:
    """Symbols of a box: of each device in it, or of what it is without one."""
    if box.kind in ("panel", "stub"):
        return [box.kind]
    points = {name: len(control.points) for control in plan.building.controls for name in control.points}
    last = {name for control in plan.building.controls for name in (*control.points[:1], *control.points[-1:])}
    devices = [device for device in plan.building.devices if device.box == box.id]
    return [_symbol(device, points, last) for device in devices] or ["junction"]


def _symbol(device: Device, points: Mapping[str, int], last: set[str]) -> str:
    if device.kind is DeviceKind.SWITCH:
        if points.get(device.id, 1) == 1:
            return "switch"
        return "three-way switch" if device.id in last else "four-way switch"
    if device.kind is not DeviceKind.RECEPTACLE:
        return device.kind.value
    if device.volts == 240:
        return "240 V receptacle"
    if device.half_switched:
        return "half-switched receptacle"
    if device.ground_fault:
        return "protected receptacle"
    return "single receptacle" if device.single else "receptacle"


def _spot(box: Box, building: Building, paper: Paper) -> tuple[Point, Point]:
    """Where a box's symbols go, and the direction along the wall; a box in a wall stands in the room before it."""
    wall = next((slab for slab in building.assemblies if slab.id == box.host and slab.kind == "wall"), None)
    if wall is None:
        return (box.at[0], box.at[1]), (1.0, 0.0)
    into = (wall.w[0], wall.w[1])
    out = max(wall.depth_in - box.w_in, 0.0) + paper.mm(OUT_MM)
    return (box.at[0] + into[0] * out, box.at[1] + into[1] * out), (wall.u[0], wall.u[1])


def _symbols(plan: Plan, box: Box, spot: tuple[Point, Point], paper: Paper) -> Iterator[Symbol]:
    (x, y), (dx, dy) = spot
    names = symbol_names(plan, box)
    size = paper.mm(SYMBOL_MM)
    turn = math.degrees(math.atan2(dy, dx))
    for number, name in enumerate(names):
        aside = (number - (len(names) - 1) / 2) * 0.95 * size
        # A receptacle's strokes go into the wall, a panel lies along it.
        across = 90.0 if "receptacle" in name else 0.0
        yield Symbol(
            name=name, at=(x + dx * aside, y + dy * aside), size_in=size, layer="boxes", turn_deg=turn + across
        )


def _box_tags(plan: Plan, storey: str, spots: Mapping[str, tuple[Point, Point]], reach_in: float) -> Iterator[Tag]:
    """Names, with the height over the floor of what is not on a ceiling or a slope."""
    floor = next(one.floor_in for one in plan.building.storeys if one.id == storey)
    overhead = {slab.id for slab in plan.building.assemblies if slab.kind != "wall"}
    for box in sorted(plan.building.boxes, key=lambda one: (one.kind != "panel", natural_key(one.id))):
        if box.id in spots:
            height = format_length(box.at[2] - floor, metric=plan.building.metric)
            yield Tag(
                text=box.id if box.host in overhead else f"{box.id} {height}",
                targets=(spots[box.id][0],),
                points=LABEL_PT,
                bold=True,
                layer="boxes",
                reach_in=reach_in,
            )


# --- cables ----------------------------------------------------------------------------------------------------------


def _leg_storeys(plan: Plan, cable: Cable) -> list[str]:
    """Storey of each leg: that of the wall, floor or member it is in or on."""
    members = {bore.id: bore.member for bore in plan.bores}
    storeys = {slab.id: slab.storey for slab in plan.building.assemblies}
    storeys |= {member.id: storeys.get(member.assembly, member.storey) for member in plan.building.members}
    return [storeys.get(host_of(track, members), "") for track in cable.tracks]


def _runs(plan: Plan, storey: str, paper: Paper) -> Iterator[tuple[Cable, Floats]]:
    found: list[tuple[Cable, Floats]] = []
    for cable in sorted(plan.cables, key=lambda one: natural_key(one.id)):
        inside = [where == storey for where in _leg_storeys(plan, cable)]
        start = 0
        for number in range(len(inside) + 1):
            if number < len(inside) and inside[number]:
                continue
            if number > start:
                line = _unrepeated(np.array(cable.points[start : number + 1])[:, :2])
                if len(line) > 1:
                    found.append((cable, line))
            start = number + 1
    moved = side_by_side([line for _, line in found], apart_in=paper.mm(LANE_MM), along_in=6.0)
    yield from ((cable, line) for (cable, _), line in zip(found, moved, strict=True))


def _unrepeated(line: Floats) -> Floats:
    """A line without corners that lie on the one before: what runs up or down."""
    steps = np.hypot(*np.diff(line, axis=0).T)
    result: Floats = line[np.concatenate([[True], steps > 0.05])]
    return result


def _cables(runs: Sequence[tuple[Cable, Floats]], style: Mapping[str, Style], paper: Paper) -> Iterator[Item]:
    for cable, line in runs:
        points = tuple((float(x), float(y)) for x, y in line)
        pen = paper.pen(CABLE_MM, colour=style[cable.circuit].colour, dash=style[cable.circuit].dash)
        yield Polyline(points=points, pen=pen, layer=f"cables {cable.circuit}")


def _circuit_tags(plan: Plan, runs: Sequence[tuple[Cable, Floats]], style: Mapping[str, Style]) -> Iterator[Tag]:
    """Each circuit where its home run is, and along its longest line on the storey."""
    panels = {box.id for box in plan.building.boxes if box.kind == "panel"}
    longest: dict[str, tuple[float, Floats]] = {}
    for cable, line in runs:
        far = float(np.hypot(*np.diff(line, axis=0).T).sum())
        if cable.from_box in panels:
            target = tuple(map(float, along_line(line, max(far / 6, 1.0))[1]))
            yield Tag(
                text=f"{cable.circuit}, home run",
                targets=((target[0], target[1]),),
                points=LABEL_PT,
                colour=style[cable.circuit].colour,
                layer="cables",
            )
        elif far > longest.get(cable.circuit, (0.0,))[0]:
            longest[cable.circuit] = (far, line)
    for name, (far, line) in longest.items():
        targets = tuple((float(x), float(y)) for x, y in along_line(line, far / 6)[1:-1])
        yield Tag(text=name, targets=targets, points=LABEL_PT, colour=style[name].colour, layer="cables")


def _steps(plan: Plan, storey: str) -> dict[Point, str]:
    """Where cables leave the storey, and the words for it with all that lies that way."""
    order = {one.id: one.floor_in for one in plan.building.storeys}
    found: dict[Point, dict[str, list[str]]] = {}
    for cable in sorted(plan.cables, key=lambda one: natural_key(one.id)):
        legs = _leg_storeys(plan, cable)
        for number, (one, other) in enumerate(pairwise(legs), 1):
            if storey not in (one, other) or one == other or not (one in order and other in order):
                continue
            away, target = (other, cable.to_box) if one == storey else (one, cable.from_box)
            word = "UP" if order[away] > order[storey] else "DN"
            x, y, _ = cable.points[number]
            targets = found.setdefault((round(x, 1), round(y, 1)), {}).setdefault(word, [])
            if target not in targets:
                targets.append(target)
    return {
        at: "; ".join(f"{word} to {', '.join(targets)}" for word, targets in sorted(words.items()))
        for at, words in found.items()
    }


def _step_mark(at: Point, paper: Paper) -> Item:
    return Circle(centre=at, radius_in=paper.mm(0.9), pen=paper.pen(0.25), fill=Fill(colour=WHITE), layer="cables")


def _step_tags(steps: Mapping[Point, str], reach_in: float) -> Iterator[Tag]:
    for at, words in steps.items():
        yield Tag(text=words, targets=(at,), points=LABEL_PT, layer="cables", reach_in=reach_in)


# --- controls --------------------------------------------------------------------------------------------------------


def _controls(plan: Plan, storey: str, spots: Mapping[str, tuple[Point, Point]], paper: Paper) -> Iterator[Item]:
    """Curves from each point of a control to the nearest light of it, and from light to light."""
    pen = paper.pen(0.13, colour=BLACK, dash=(9.0, 7.0))
    where = {device.id: device.box for device in plan.building.devices}
    for control in plan.building.controls:
        points, lights = (
            list(dict.fromkeys(where[name] for name in names if where.get(name) in spots))
            for names in (control.points, control.lights)
        )
        for one, other in [*_nearest(points, lights, spots), *_chain(lights, spots)]:
            yield Polyline(points=_curve(spots[one][0], spots[other][0]), pen=pen, layer="controls")


def _nearest(
    points: Sequence[str], lights: Sequence[str], spots: Mapping[str, tuple[Point, Point]]
) -> Iterator[tuple[str, str]]:
    for point in points:
        if lights:
            yield point, min(lights, key=lambda light: (math.dist(spots[point][0], spots[light][0]), light))


def _chain(lights: Sequence[str], spots: Mapping[str, tuple[Point, Point]]) -> Iterator[tuple[str, str]]:
    """Join lights one to the next nearest, from the first."""
    left = list(lights)
    here = left.pop(0) if left else ""
    while left:
        after = min(left, key=lambda light: (math.dist(spots[here][0], spots[light][0]), light))
        yield here, after
        left.remove(after)
        here = after


def _curve(start: Point, end: Point) -> tuple[Point, ...]:
    (x1, y1), (x2, y2) = start, end
    ends = ((x1 + x2) / 2 - (y2 - y1) * 2 * BULGE, (y1 + y2) / 2 + (x2 - x1) * 2 * BULGE)
    shares = [step / 12 for step in range(13)]
    return tuple(
        (
            (1 - t) ** 2 * x1 + 2 * t * (1 - t) * ends[0] + t * t * x2,
            (1 - t) ** 2 * y1 + 2 * t * (1 - t) * ends[1] + t * t * y2,
        )
        for t in shares
    )


def _far_tags(plan: Plan, storey: str, spots: Mapping[str, tuple[Point, Point]]) -> Iterator[Tag]:
    """At a point whose lights are all on other storeys: what it controls."""
    where = {device.id: device.box for device in plan.building.devices}
    for control in plan.building.controls:
        if any(where.get(name) in spots for name in control.lights):
            continue
        for name in control.points:
            if where.get(name) in spots:
                at = spots[where[name]][0]
                yield Tag(text=f"controls {control.id}", targets=(at,), points=LABEL_PT, layer="controls")


def _overall(low: Point, high: Point, paper: Paper, *, metric: bool) -> Iterator[Item]:
    pen, size, out = paper.pen(0.15), paper.points(LABEL_PT + 1.5), paper.mm(MARGIN_MM + 2)
    for start, end, offset in ((low, (high[0], low[1]), -out), (low, (low[0], high[1]), out)):
        text = format_length(math.dist(start, end), metric=metric)
        yield Dimension(start=start, end=end, offset_in=offset, text=text, height_in=size, pen=pen, layer="dimensions")

"""Everything on a picture of the plan that is read rather than looked at: title, labels, legend, cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from barnloom.model.building import Assembly
from barnloom.viewer.drawing import BLACK, WHITE, Circle, Fill, Item, Line, Pen, Point, Polygon, Text
from barnloom.viewer.labels import Label, Spot, placed
from barnloom.viewer.layout import MARGIN_PX, Layout, shown_members
from barnloom.viewer.legend import GREY, legend
from barnloom.viewer.lettering import shortened, width_in
from barnloom.viewer.look import look_words
from barnloom.viewer.solids import Floats
from barnloom.viewer.text import clean

CAUTION = (
    "Dead before touching. Permit and inspection. Local code governs. A licensed electrician or engineer where "
    "required. Look behind before boring."
)
BOX_PX, CIRCUIT_PX, SMALL_PX = 15.0, 16.0, 14.0
HOLE_PX = 12.0
MOST_HOLE_NAMES = 60
"""Above that they would hide what they name."""
TOGETHER_PX = 45.0
"""Cables that leave the picture no farther apart are named together."""
_MOST_ENDS = 3
NEAR_PX = 170.0
"""A cable whose middle is no farther from a label of its circuit gets no other."""
_PAD_PX = 3.5
_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)


def captions(layout: Layout) -> tuple[Item, ...]:
    """Title, labels, legend and cautions, in the order they are painted."""
    labels, left_out = _labels(layout)
    return (*_title(layout), *labels, *legend(layout, left_out))


def liberties(layout: Layout) -> str:
    """Say what is not drawn as it is."""
    words = "Not to scale: cables are drawn thicker, and side by side where they run behind one another"
    if layout.storeys_apart:
        words += "; the ceiling is drawn lifted" if len(layout.look.storeys) == 1 else "; storeys are drawn apart"
    if any(member not in shown_members(layout.plan) for member in layout.plan.building.members):
        words += "; roof timbers without cables are left out"
    return words + "."


def _title(layout: Layout) -> list[Item]:
    px, b, building = layout.px, layout.bounds, layout.plan.building
    left, room = b.left + MARGIN_PX * px, b.width_in - 2 * MARGIN_PX * px
    title = shortened(clean(building.title), 30 * px, room, bold=True)
    under = shortened(look_words(layout.whole, layout.look), 17 * px, room)
    items: list[Item] = [
        Text(at=(left, b.top - 44 * px), text=title, height_in=30 * px, bold=True, layer="title"),
        Text(at=(left, b.top - 70 * px), text=under, height_in=17 * px, colour=GREY, layer="title"),
    ]
    for row, line in enumerate((liberties(layout), CAUTION)):
        at = (left, b.bottom + (42 - 21 * row) * px)
        items.append(Text(at=at, text=line, height_in=SMALL_PX * px, colour=GREY, layer="caution"))
    return items


@dataclass(frozen=True, slots=True)
class _Named:
    """A label and how it is drawn. ``colour`` empty: no plate, and no leader where the name is near enough."""

    label: Label
    text: str
    colour: str = ""
    bold: bool = False
    dot: bool = False
    """The leader ends in a dot, on a cable."""


def _labels(layout: Layout) -> tuple[list[Item], list[str]]:
    """Names of panels, boxes, cables, walls and storeys, and those for which no place was left."""
    wanted = [*_box_names(layout), *_cable_names(layout), *_end_names(layout), *_framing_names(layout)]
    if not layout.look.whole and len(layout.plan.bores) <= MOST_HOLE_NAMES:
        wanted += _hole_names(layout)
    px = layout.px
    area = replace(layout.area, right=layout.area.right - 12 * px)
    spots = placed([named.label for named in wanted], area, busy=_busy(layout), margin_in=3 * px)
    leaders: list[Item] = []
    plates: list[Item] = []
    left_out = []
    for named, spot in zip(wanted, spots, strict=True):
        if spot is None:
            left_out.append(named.text)
            continue
        leaders += _leader(spot, named, px)
        plates += _plate(spot, named, px)
    return leaders + plates, list(dict.fromkeys(left_out))


def _named(
    layout: Layout,
    text: str,
    size_px: float,
    targets: Sequence[Point],
    *,
    colour: str = "",
    bold: bool = False,
    dot: bool = False,
) -> _Named:
    px = layout.px
    width = width_in(text, size_px * px, bold=bold) + 2 * _PAD_PX * px
    label = Label(targets=tuple(targets), width_in=width, height_in=(size_px + 2 * _PAD_PX) * px)
    return _Named(label, text, colour, bold, dot)


def _box_names(layout: Layout) -> list[_Named]:
    named = []
    for box in layout.plan.building.boxes:
        if box.id in layout.quiet_boxes:
            continue
        panel = box.kind == "panel"
        x, y = layout.view.plane(np.array(box.at))
        size = CIRCUIT_PX if panel else BOX_PX
        named.append(_named(layout, box.id, size, [(float(x), float(y))], colour=BLACK if panel else GREY, bold=panel))
    return named


def _cable_names(layout: Layout) -> list[_Named]:
    """One at the panel's end of every home run, one along every cable that has none of its circuit near its middle."""
    panels = {box.id for box in layout.plan.building.boxes if box.kind == "panel"}
    ends, middles = [], []
    near: dict[str, list[Point]] = {}
    for cable, line in zip(layout.plan.cables, layout.lines(), strict=True):
        if cable.circuit in layout.quiet_circuits:
            continue
        colour = layout.styles[cable.circuit].colour
        done = near.setdefault(cable.circuit, [])
        if cable.from_box in panels:
            at = [_along(line, share * layout.px) for share in (40, 60, 25)]
            ends.append(_named(layout, cable.circuit, CIRCUIT_PX, at, colour=colour, bold=True, dot=True))
            done.append(at[0])
        length = float(_far(line)[-1])
        at = [_along(line, share * length) for share in (0.5, 0.42, 0.58, 0.66, 0.34, 0.74)]
        if not done or np.hypot(*(np.array(done) - at[0]).T).min() > NEAR_PX * layout.px:
            middles.append(_named(layout, cable.circuit, CIRCUIT_PX, at, colour=colour, bold=True, dot=True))
            done.append(at[0])
    return ends + middles


def _end_names(layout: Layout) -> list[_Named]:
    """Where cables leave the picture: which way, and to which boxes; those that leave together are named together."""
    together: list[tuple[Point, str, list[str]]] = []
    for end in layout.ends:
        line = layout.view.plane(layout.paths[end.cable])
        at = (float(line[-1 if end.last else 0, 0]), float(line[-1 if end.last else 0, 1]))
        for place, way, boxes in together:
            if way == end.way and np.hypot(at[0] - place[0], at[1] - place[1]) < TOGETHER_PX * layout.px:
                boxes.append(end.to)
                break
        else:
            together.append((at, end.way, [end.to]))
    named = []
    for place, way, boxes in together:
        names = list(dict.fromkeys(boxes))
        rest = len(names) - _MOST_ENDS
        words = f"{way} to {', '.join(names[:_MOST_ENDS])}" + (f" and {rest} more" if rest > 0 else "")
        named.append(_named(layout, words, SMALL_PX, [place]))
    return named


def _hole_names(layout: Layout) -> list[_Named]:
    """Ids of holes, without the wall or floor where that is all the picture shows."""
    prefix = f"{layout.look.assemblies[0]}-" if len(layout.look.assemblies) == 1 else ""
    named = []
    for bore, places in zip(layout.plan.bores, layout.rings, strict=True):
        targets = [(float(x), float(y)) for x, y in layout.view.plane(places)]
        named.append(_named(layout, bore.id.removeprefix(prefix), HOLE_PX, targets))
    return named


def _framing_names(layout: Layout) -> list[_Named]:
    """Storeys at their leftmost corner, walls and floors at the middle of their lower edge."""
    building = layout.plan.building
    walls = [a for a in building.assemblies if a.kind == "wall"]
    named = []
    for storey in building.storeys:
        ends = [_at(a, u, 0.0) for a in walls if a.storey == storey.id for u in a.extent_u]
        if ends:
            plane = layout.view.plane(np.array(ends))
            x, y = plane[np.argmin(plane[:, 0])]
            named.append(
                _named(layout, clean(storey.title or storey.id), CIRCUIT_PX, [(float(x), float(y))], bold=True)
            )
    for wall in walls:
        edge = [_at(wall, wall.extent_u[0] + share * (wall.extent_u[1] - wall.extent_u[0]), 0.0) for share in _SHARES]
        targets = [(float(x), float(y)) for x, y in layout.view.plane(np.array(edge))]
        named.append(_named(layout, f"wall {wall.id}", SMALL_PX, targets))
    return named


def _at(assembly: Assembly, u: float, v: float) -> Floats:
    return np.array(assembly.origin) + u * np.array(assembly.u) + v * np.array(assembly.v)


def _far(line: Floats) -> Floats:
    """How far along a line each of its corners is."""
    result: Floats = np.concatenate([[0.0], np.hypot(*np.diff(line, axis=0).T).cumsum()])
    return result


def _along(line: Floats, far_in: float) -> Point:
    steps = _far(line)
    return (float(np.interp(far_in, steps, line[:, 0])), float(np.interp(far_in, steps, line[:, 1])))


def _busy(layout: Layout) -> Floats:
    """Points every few pixels along the cables, and all over the boxes."""
    step = 6 * layout.px
    points = [np.empty((0, 2))]
    for line in layout.lines():
        far = _far(line)
        at = np.arange(0.0, far[-1], step)
        points.append(np.stack([np.interp(at, far, line[:, 0]), np.interp(at, far, line[:, 1])], axis=-1))
    for body in layout.view.plane(layout.bodies):
        (left, bottom), (right, top) = body.min(axis=0), body.max(axis=0)
        points.append(
            np.stack(np.meshgrid(np.arange(left, right, step), np.arange(bottom, top, step)), -1).reshape(-1, 2)
        )
    return np.concatenate(points)


def _leader(spot: Spot, named: _Named, px: float) -> list[Item]:
    start = spot.nearest
    if np.hypot(start[0] - spot.target[0], start[1] - spot.target[1]) < (24 if not named.colour else 8) * px:
        return []
    colour = named.colour or GREY
    halo = Line(start=start, end=spot.target, pen=Pen(width_in=3.5 * px, colour=WHITE), layer="leaders")
    line = Line(start=start, end=spot.target, pen=Pen(width_in=1.2 * px, colour=colour), layer="leaders")
    dot = Circle(centre=spot.target, radius_in=2.6 * px, pen=None, fill=Fill(colour=colour), layer="leaders")
    return [halo, line, dot] if named.dot else [halo, line]


def _plate(spot: Spot, named: _Named, px: float) -> list[Item]:
    height = spot.top - spot.bottom - 2 * _PAD_PX * px
    corners = ((spot.left, spot.bottom), (spot.right, spot.bottom), (spot.right, spot.top), (spot.left, spot.top))
    at = ((spot.left + spot.right) / 2, spot.bottom + _PAD_PX * px + 0.14 * height)
    text = Text(
        at=at,
        text=named.text,
        height_in=height,
        anchor="middle",
        bold=named.bold,
        layer="labels",
        colour=BLACK if named.colour else GREY,
    )
    if not named.colour:
        return [Polygon(points=corners, pen=None, fill=Fill(colour=WHITE, opacity=0.7), layer="labels"), text]
    pen = Pen(width_in=(1.8 if named.bold else 0.8) * px, colour=named.colour)
    return [Polygon(points=corners, pen=pen, fill=Fill(colour=WHITE, opacity=0.93), layer="labels"), text]

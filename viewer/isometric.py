"""The plan as a line drawing seen from a corner in the sky: framing in thin grey, cables by circuit, bores as rings."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from barnloom.routing.plan import Plan
from barnloom.viewer.captions import captions
from barnloom.viewer.drawing import BLACK, WHITE, Circle, Drawing, Fill, Item, Pen, Point, Polygon, Polyline
from barnloom.viewer.ghost import Weight
from barnloom.viewer.layout import CABLE_PX, RING_PX, Layout, layout
from barnloom.viewer.look import Look
from barnloom.viewer.palette import QUIET
from barnloom.viewer.solids import FACES, Floats, corners

WOOD = "#9a9a9a"
_WOOD_PENS = {Weight.FAINT: (0.7, "#c2c2c2"), Weight.PLAIN: (0.8, WOOD), Weight.FIRM: (1.0, "#6e6e6e")}
"""Width in pixels, and colour."""


def isometric(plan: Plan, look: Look | None = None) -> Drawing:
    """
    Draw a plan.

    Parameters
    ----------
    plan : Plan
    look : Look, optional
        What of it is shown, and from where; by default all, from the south-east.

    Returns
    -------
    Drawing
        Inches on the plane of the view; layers framing, boxes, cables, bores, leaders, labels, title, legend, caution.
    """
    laid = layout(plan, look)
    items = (*_framing(laid), *_boxes(laid), *_cables(laid), *_bores(laid), *captions(laid))
    return Drawing(title=plan.building.title, items=items, bounds=laid.bounds)


def _framing(laid: Layout) -> list[Item]:
    """Faces that look at the eye, the farthest piece first."""
    solids, owner = corners(laid.members)
    order = np.argsort(laid.view.nearness(solids.mean(axis=1)), kind="stable")
    pens = {weight: Pen(width_in=width * laid.px, colour=colour) for weight, (width, colour) in _WOOD_PENS.items()}
    each = [pens[laid.weights[member]] for member in owner[order]]
    return _faces(solids[order], laid, each, Fill(colour=WHITE, opacity=0.55), "framing")


def _boxes(laid: Layout) -> list[Item]:
    usual, quiet = Pen(width_in=1.4 * laid.px), Pen(width_in=0.8 * laid.px, colour=QUIET.colour)
    each = [quiet if box.id in laid.quiet_boxes else usual for box in laid.plan.building.boxes]
    return _faces(laid.bodies, laid, each, Fill(colour="#e4e4e4"), "boxes")


def _faces(solids: Floats, laid: Layout, pens: Sequence[Pen], fill: Fill, layer: str) -> list[Item]:
    faces = solids[:, FACES]
    normals = np.cross(faces[:, :, 1] - faces[:, :, 0], faces[:, :, 3] - faces[:, :, 0])
    seen = normals @ laid.view.axes[2] > 1e-9
    plane = laid.view.plane(faces)
    return [
        Polygon(points=_points(plane[i, j]), pen=pens[i], fill=fill, layer=layer)
        for i, j in zip(*np.nonzero(seen), strict=True)
    ]


def _cables(laid: Layout) -> list[Item]:
    """Each over a white edge, so that one is seen to cross over another; quiet ones and the farthest first."""
    cables = laid.plan.cables
    near = [float(laid.view.nearness(path).mean()) for path in laid.paths]
    items: list[Item] = []
    for i in sorted(range(len(cables)), key=lambda i: (cables[i].circuit not in laid.quiet_circuits, near[i])):
        style = laid.styles[cables[i].circuit]
        width = CABLE_PX * laid.px * style.thick
        points = _points(laid.view.plane(laid.paths[i]))
        dash = tuple(width * part for part in style.dash)
        items.append(Polyline(points=points, pen=Pen(width_in=1.5 * width, colour=WHITE), layer="cables"))
        items.append(Polyline(points=points, pen=Pen(width_in=width, colour=style.colour, dash=dash), layer="cables"))
    return items


def _bores(laid: Layout) -> list[Item]:
    """Draw a dark ring on every cable at every bore, and join the rings of one bore."""
    pen = Pen(width_in=1.5 * laid.px, colour=BLACK)
    items: list[Item] = []
    for ring in laid.rings:
        places = laid.view.plane(ring)
        if len(places) > 1:
            items.append(Polyline(points=_points(places), pen=pen, layer="bores"))
        items += [
            Circle(centre=_point(at), radius_in=RING_PX * laid.px, pen=pen, fill=None, layer="bores") for at in places
        ]
    return items


def _points(points: Floats) -> tuple[Point, ...]:
    return tuple(_point(point) for point in points)


def _point(point: Floats) -> Point:
    return (float(point[0]), float(point[1]))

"""The plan as a line drawing seen from a corner in the sky: framing in thin grey, cables by circuit, bores as rings."""

from __future__ import annotations

import numpy as np

from barnloom.routing.plan import Plan
from barnloom.viewer.axonometry import View
from barnloom.viewer.captions import captions
from barnloom.viewer.drawing import BLACK, WHITE, Circle, Drawing, Fill, Item, Pen, Point, Polygon, Polyline
from barnloom.viewer.layout import CABLE_PX, RING_PX, Layout, layout
from barnloom.viewer.solids import FACES, Floats, corners

WOOD = "#9a9a9a"


def isometric(plan: Plan, view: View | None = None) -> Drawing:
    """
    Draw the whole plan.

    Parameters
    ----------
    plan : Plan
    view : View, optional
        By default from the south-east.

    Returns
    -------
    Drawing
        Inches on the plane of the view; layers framing, boxes, cables, bores, leaders, labels, title, legend, caution.
    """
    laid = layout(plan, view)
    items = (*_framing(laid), *_boxes(laid), *_cables(laid), *_bores(laid), *captions(laid))
    return Drawing(title=plan.building.title, items=items, bounds=laid.bounds)


def _framing(laid: Layout) -> list[Item]:
    """Faces that look at the eye, the farthest piece first."""
    solids, _ = corners(laid.members)
    solids = solids[np.argsort(laid.view.nearness(solids.mean(axis=1)), kind="stable")]
    pen = Pen(width_in=0.8 * laid.px, colour=WOOD)
    return _faces(solids, laid, pen, Fill(colour=WHITE, opacity=0.55), "framing")


def _boxes(laid: Layout) -> list[Item]:
    return _faces(laid.bodies, laid, Pen(width_in=1.4 * laid.px), Fill(colour="#e4e4e4"), "boxes")


def _faces(solids: Floats, laid: Layout, pen: Pen, fill: Fill, layer: str) -> list[Item]:
    faces = solids[:, FACES]
    normals = np.cross(faces[:, :, 1] - faces[:, :, 0], faces[:, :, 3] - faces[:, :, 0])
    seen = normals @ laid.view.axes[2] > 1e-9
    plane = laid.view.plane(faces)
    return [
        Polygon(points=_points(plane[i, j]), pen=pen, fill=fill, layer=layer)
        for i, j in zip(*np.nonzero(seen), strict=True)
    ]


def _cables(laid: Layout) -> list[Item]:
    """Each over a white edge, so that one is seen to cross over another; the farthest first."""
    cables = laid.plan.cables
    near = [float(laid.view.nearness(path).mean()) for path in laid.paths]
    items: list[Item] = []
    width = CABLE_PX * laid.px
    for i in sorted(range(len(cables)), key=lambda i: near[i]):
        style = laid.styles[cables[i].circuit]
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

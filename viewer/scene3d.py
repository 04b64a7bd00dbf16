"""The plan as a lit scene: ghosted framing, cables as tubes by circuit, dark rings at the bores.

Framing is see-through with its edges drawn, since solid framing hides nearly all cable. Depth peeling stays off: on
some software drivers it makes see-through framing vanish.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from barnloom.viewer.axonometry import View
from barnloom.viewer.captions import liberties
from barnloom.viewer.drawing import Bounds
from barnloom.viewer.ghost import Weight
from barnloom.viewer.layout import CABLE_PX, RING_PX, Layout
from barnloom.viewer.legend import share_words, total_lines
from barnloom.viewer.lettering import FONT_FILES, drawable
from barnloom.viewer.palette import QUIET
from barnloom.viewer.solids import EDGES, FACES, Floats, corners

if TYPE_CHECKING:
    import pyvista as pv

WOOD, WOOD_EDGE, BODY, DARK = "#c9a36b", "#5f4f38", "#8c8c8c", "#111111"
_GHOSTS = {Weight.FAINT: (0.05, 0.2), Weight.PLAIN: (0.12, 0.42), Weight.FIRM: (0.22, 0.75)}
"""How much the faces and the edges of framing hide."""
_RING_WIDTH_PX = 1.3
_TURNS = 24
_SWATCH = "\u25a0\u25a0"


def scene(laid: Layout, plotter: pv.Plotter) -> None:
    """Put the plan into a plotter, and light it."""
    members, owner = corners(laid.members)
    firmness = np.array(laid.weights, dtype=int)[owner]
    for weight, (face, edge) in _GHOSTS.items():
        _solids(plotter, members[firmness == weight], WOOD, WOOD_EDGE, face_opacity=face, edge_opacity=edge)
    quiet = np.array([box.id in laid.quiet_boxes for box in laid.plan.building.boxes], dtype=bool)
    _solids(plotter, laid.bodies[quiet], BODY, QUIET.colour, face_opacity=0.3, edge_opacity=1.0)
    _solids(plotter, laid.bodies[~quiet], BODY, DARK, face_opacity=1.0, edge_opacity=1.0)
    cables = laid.plan.cables
    for name, style in laid.styles.items():
        radius = CABLE_PX / 2 * laid.px * style.thick
        paths = [path for cable, path in zip(cables, laid.paths, strict=True) if cable.circuit == name]
        pieces = [piece for path in paths for piece in dashes(path, [2 * radius * part for part in style.dash])]
        _tubes(plotter, pieces, radius, style.colour)
    _tubes(plotter, list(_rings(laid)), _RING_WIDTH_PX * laid.px, DARK)
    _light(plotter)


def aim(plotter: pv.Plotter, view: View, bounds: Bounds) -> None:
    """Turn the camera so that the window shows exactly ``bounds`` of the view's plane."""
    right, up, toward = view.axes
    middle = right * (bounds.left + bounds.right) / 2 + up * (bounds.bottom + bounds.top) / 2
    camera = plotter.camera
    camera.focal_point = tuple(middle)
    camera.position = tuple(middle + toward * 4 * (bounds.width_in + bounds.height_in))
    camera.up = tuple(up)
    camera.parallel_projection = True
    camera.parallel_scale = bounds.height_in / 2
    plotter.reset_camera_clipping_range()


def dashes(path: Floats, pattern: Sequence[float]) -> list[Floats]:
    """
    Cut a polyline into dashes.

    Parameters
    ----------
    path : (n, 3) float
    pattern : sequence of float
        Lengths on, off, on, off, ... in inches; empty: the line is left whole.
    """
    if not pattern:
        return [path]
    far = np.concatenate([[0.0], np.linalg.norm(np.diff(path, axis=0), axis=1).cumsum()])
    marks = np.concatenate([[0.0], np.cumsum(np.tile(pattern, int(far[-1] // sum(pattern)) + 1))])
    pieces = []
    for start, end in zip(marks[0::2], np.minimum(marks[1::2], far[-1]), strict=False):
        if end - start > 1e-6:
            at = np.concatenate([[start], far[(far > start) & (far < end)], [end]])
            pieces.append(np.stack([np.interp(at, far, path[:, axis]) for axis in range(3)], axis=-1))
    return pieces


def _rings(laid: Layout) -> Iterable[Floats]:
    """Give a closed line round every cable at every bore, square to the bit, and lines that join those of one bore."""
    members = {member.id: member for member in laid.plan.building.members}
    turns = np.linspace(0, 2 * np.pi, _TURNS + 1)
    for bore, places in zip(laid.plan.bores, laid.rings, strict=True):
        host = members[bore.member]
        circle = np.outer(np.cos(turns), host.along) + np.outer(np.sin(turns), host.across)
        yield from (place + circle * RING_PX * laid.px for place in places)
        if len(places) > 1:
            yield places


def _solids(
    plotter: pv.Plotter, solids: Floats, colour: str, edge_colour: str, *, face_opacity: float, edge_opacity: float
) -> None:
    import pyvista as pv

    if not len(solids):
        return
    points = solids.reshape(-1, 3)
    start = 8 * np.arange(len(solids))[:, None, None]
    faces = np.concatenate([np.full((len(solids), len(FACES), 1), 4), FACES[None] + start], axis=-1)
    edges = np.concatenate([np.full((len(solids), len(EDGES), 1), 2), EDGES[None] + start], axis=-1)
    plotter.add_mesh(pv.PolyData(points, faces=faces.ravel()), color=colour, opacity=face_opacity, ambient=0.55)
    plotter.add_mesh(pv.PolyData(points, lines=edges.ravel()), color=edge_colour, opacity=edge_opacity, line_width=1.5)


def _tubes(plotter: pv.Plotter, paths: Sequence[Floats], radius_in: float, colour: str) -> None:
    """All paths as one mesh."""
    import pyvista as pv

    if not paths:
        return
    sizes = [len(path) for path in paths]
    starts = np.cumsum([0, *sizes[:-1]])
    cells = np.concatenate([[size, *range(start, start + size)] for start, size in zip(starts, sizes, strict=True)])
    mesh = pv.PolyData(np.concatenate(list(paths)), lines=cells).tube(radius=radius_in, n_sides=14, capping=True)
    plotter.add_mesh(mesh, color=colour, ambient=0.45, smooth_shading=True)


def name_tags(laid: Layout, plotter: pv.Plotter) -> None:
    """Names of boxes and circuits that turn with the scene, and a key of the circuits, for a window."""
    font = str(FONT_FILES[False])
    boxes = [box for box in laid.plan.building.boxes if box.id not in laid.quiet_boxes]
    told = [
        each for each in zip(laid.plan.cables, laid.paths, strict=True) if each[0].circuit not in laid.quiet_circuits
    ]
    tags = [
        (np.array([box.at for box in boxes]).reshape(-1, 3), [drawable(box.id) for box in boxes], 13),
        (
            np.array([path[len(path) // 2] for _, path in told]).reshape(-1, 3),
            [drawable(cable.circuit) for cable, _ in told],
            14,
        ),
    ]
    for places, names, size in tags:
        if names:
            plotter.add_point_labels(
                places, names, font_size=size, font_file=font, text_color="black", shape_color="white",
                shape_opacity=0.8, show_points=False, always_visible=True,
            )  # fmt: skip
    told_shares = [share for share in laid.shares if share.by == "circuit"]
    rows = [
        *((f"{s.name}: {share_words(s, laid.plan)}", laid.styles[s.name].colour) for s in told_shares),
        *((line, "") for line in total_lines(laid)),
    ]
    for row, (text, colour) in enumerate(rows):
        high = 0.97 - 0.024 * row
        plotter.add_text(drawable(text), position=(0.76, high), viewport=True, font_size=9, font_file=font, color=DARK)
        if colour:
            plotter.add_text(_SWATCH, position=(0.735, high), viewport=True, font_size=9, font_file=font, color=colour)
    plotter.add_text(drawable(liberties(laid)), position="lower_left", font_size=8, font_file=font, color=DARK)


def _light(plotter: pv.Plotter) -> None:
    """Three lamps that go with the camera, so that no side of the building is in the dark."""
    import pyvista as pv

    plotter.remove_all_lights()
    for place, strength in (((0.0, 0.0, 1.0), 0.4), ((1.0, 1.0, 0.6), 0.22), ((-1.0, 0.6, 0.6), 0.18)):
        plotter.add_light(pv.Light(position=place, intensity=strength, light_type="camera light"))

"""A window on the desktop in which a plan can be turned and looked into."""

from __future__ import annotations

import math
import os
import sys
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from barnloom.model.building import Role
from barnloom.model.errors import BarnloomError
from barnloom.routing.plan import Plan
from barnloom.viewer.axonometry import View
from barnloom.viewer.layout import layout
from barnloom.viewer.lettering import FONT_FILES, drawable
from barnloom.viewer.look import BELOW, Look, before_the_eye, look_words
from barnloom.viewer.pointing import Thing, pointed, words
from barnloom.viewer.scene3d import DARK, aim, name_tags, scene
from barnloom.viewer.solids import Floats
from barnloom.viewer.text import clean, wrapped

if TYPE_CHECKING:
    import pyvista as pv

_NO_SCREEN = "no screen to open a window on ({}); draw a file instead: barnloom view PLAN --picture FILE"
_OFF_SCREEN = {"vtkEGLRenderWindow", "vtkOSOpenGLRenderWindow"}
"""What VTK falls back to when it finds no screen."""
_KEYS = "k: next circuit    l: next storey    h: hide framing    x: cut open    d: from below    click: what is it?"
_WITHIN_PX = 5.0
_COLUMNS = 110
_UPRIGHT = (Role.STUD, Role.KING, Role.JACK, Role.CRIPPLE)
_LEVEL = (Role.JOIST, Role.CEILING_JOIST, Role.RAFTER, Role.RIM, Role.BLOCK, Role.COLLAR_TIE, Role.PURLIN)
_FRAMING: tuple[tuple[Role, ...], ...] = ((), _UPRIGHT, _LEVEL, (*_UPRIGHT, *_LEVEL), tuple(Role))
"""What of the framing is hidden, one after the other."""


class NoScreenError(BarnloomError):
    """There is no screen to open a window on."""


def show(plan: Plan, look: Look | None = None) -> None:
    """
    Open the window and wait until it is closed.

    Parameters
    ----------
    plan : Plan
    look : Look, optional
        What is shown at first.

    Raises
    ------
    NoScreenError
        If no screen is to be had.
    """
    if sys.platform.startswith("linux") and not os.environ.get("DISPLAY"):
        raise NoScreenError(_NO_SCREEN.format("DISPLAY is not set"))
    import pyvista as pv

    plotter = pv.Plotter(title=clean(plan.building.title), window_size=[1400, 1000], lighting="none")
    if type(plotter.render_window).__name__ in _OFF_SCREEN:
        raise NoScreenError(_NO_SCREEN.format(f"DISPLAY={os.environ.get('DISPLAY')} cannot be reached"))
    Window(plan, plotter, look or Look())
    plotter.show()


class Window:
    """What is in the window, and what keys and clicks do to it: they change one look, and it is drawn anew."""

    def __init__(self, plan: Plan, plotter: pv.Plotter, look: Look) -> None:
        import pyvista as pv

        self.look = look
        self._plan, self._plotter = plan, plotter
        plotter.background_color = pv.Color("white")
        plotter.enable_anti_aliasing("ssaa")
        keys = {
            "k": self.next_circuit,
            "l": self.next_storey,
            "h": self.next_framing,
            "x": self.cut_open,
            "d": self.from_below,
        }
        for key, change in keys.items():
            plotter.add_key_event(key, change)  # type: ignore[arg-type]
        plotter.track_click_position(lambda at: self.click(*at), side="left", viewport=True)  # type: ignore[arg-type]
        self._draw()
        self._aim()

    def next_circuit(self) -> None:
        """Let the next circuit stand out; after the last one, all."""
        named = [circuit.id for circuit in self._plan.building.circuits]
        self._change(replace(self.look, circuits=_next(named, self.look.circuits)))

    def next_storey(self) -> None:
        """Show the next storey alone; after the last one, all."""
        storeys = [storey.id for storey in self._plan.building.storeys]
        self._change(replace(self.look, storeys=_next(storeys, self.look.storeys), assemblies=()))

    def next_framing(self) -> None:
        """Hide more of the framing; after all of it, nothing."""
        now = _FRAMING.index(self.look.without_roles) if self.look.without_roles in _FRAMING else 0
        self._change(replace(self.look, without_roles=_FRAMING[(now + 1) % len(_FRAMING)]))

    def cut_open(self) -> None:
        """Take away the walls that stand before the eye, or put them back."""
        walls = () if self.look.without else before_the_eye(self._plan, self._eye)
        self._change(replace(self.look, without=walls))

    def from_below(self) -> None:
        """Look from below, or from above again."""
        self._change(replace(self.look, view=View() if self.look.view.elevation_deg < 0 else BELOW))
        self._aim()

    def click(self, x: float, y: float) -> Thing | None:
        """Say what is at a place of the window (pixels from its lower left corner)."""
        near, far = (self._world(x, y, depth) for depth in (0.0, 1.0))
        way = (far - near) / np.linalg.norm(far - near)
        inch_px = 2 * self._plotter.camera.parallel_scale / self._plotter.window_size[1]
        thing = pointed(self._laid, near, way, within_in=_WITHIN_PX * inch_px)
        self._say(words(self._plan, thing) if thing else "")
        return thing

    @property
    def _eye(self) -> View:
        """From where the scene is seen now that it may have been turned."""
        camera = self._plotter.camera
        east, north, up = np.array(camera.position) - np.array(camera.focal_point)
        return View(
            azimuth_deg=math.degrees(math.atan2(north, east)),
            elevation_deg=math.degrees(math.atan2(up, math.hypot(east, north))),
        )

    def _aim(self) -> None:
        aim(self._plotter, self._laid.view, self._laid.area)
        self._plotter.reset_camera()  # type: ignore[call-arg]

    def _world(self, x: float, y: float, depth: float) -> Floats:
        """Return the place in the world that is seen at a pixel, as near as the eye sees (0) or as far (1)."""
        renderer = self._plotter.renderer
        renderer.SetDisplayPoint(x, y, depth)
        renderer.DisplayToWorld()
        *place, scale = renderer.GetWorldPoint()
        world: Floats = np.array(place) / scale
        return world

    def _change(self, look: Look) -> None:
        self.look = look
        for name in list(self._plotter.actors):
            self._plotter.remove_actor(name, render=False)  # type: ignore[arg-type]
        self._draw()
        self._plotter.reset_camera_clipping_range()
        self._plotter.render()

    def _draw(self) -> None:
        self._laid = layout(self._plan, self.look)
        scene(self._laid, self._plotter)
        name_tags(self._laid, self._plotter)
        self._say("")

    def _say(self, text: str) -> None:
        """What is shown, the keys, and what was pointed at."""
        lines = [look_words(self._plan, self.look), _KEYS, *(wrapped(text, _COLUMNS) if text else [])]
        self._plotter.add_text(
            "\n".join(map(drawable, lines)), position="upper_left", font_size=8, font_file=str(FONT_FILES[False]),
            color=DARK, name="said",
        )  # fmt: skip


def _next(names: Sequence[str], shown: tuple[str, ...]) -> tuple[str, ...]:
    """Return the name after the one that is shown alone; nothing, which is all, after the last."""
    after = names.index(shown[0]) + 1 if shown and shown[0] in names else 0
    return tuple(names[after : after + 1])

"""A window on the desktop in which a plan can be turned and looked into."""

from __future__ import annotations

import os
import sys

from barnloom.model.errors import BarnloomError
from barnloom.routing.plan import Plan
from barnloom.viewer.layout import layout
from barnloom.viewer.scene3d import look, name_tags, scene
from barnloom.viewer.text import clean

_NO_SCREEN = "no screen to open a window on ({}); draw a file instead: barnloom view PLAN --picture FILE"
_OFF_SCREEN = {"vtkEGLRenderWindow", "vtkOSOpenGLRenderWindow"}
"""What VTK falls back to when it finds no screen."""


class NoScreenError(BarnloomError):
    """There is no screen to open a window on."""


def show(plan: Plan) -> None:
    """
    Open the window and wait until it is closed.

    Raises
    ------
    NoScreenError
        If no screen is to be had.
    """
    if sys.platform.startswith("linux") and not os.environ.get("DISPLAY"):
        raise NoScreenError(_NO_SCREEN.format("DISPLAY is not set"))
    import pyvista as pv

    laid = layout(plan)
    plotter = pv.Plotter(title=clean(plan.building.title), window_size=[1400, 1000], lighting="none")
    if type(plotter.render_window).__name__ in _OFF_SCREEN:
        raise NoScreenError(_NO_SCREEN.format(f"DISPLAY={os.environ.get('DISPLAY')} cannot be reached"))
    plotter.background_color = pv.Color("white")
    plotter.enable_anti_aliasing("ssaa")
    scene(laid, plotter)
    look(plotter, laid.view, laid.area)
    name_tags(laid, plotter)
    plotter.show()

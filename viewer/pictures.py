"""The pictures of a plan: ``picture.png``, lit where the machine can, else a line drawing, and ``building.glb``."""

from __future__ import annotations

import ctypes.util
import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from barnloom.routing.plan import Plan
from barnloom.routing.store import plan_to_json
from barnloom.viewer.files import write_file
from barnloom.viewer.glb import building_glb
from barnloom.viewer.isometric import isometric
from barnloom.viewer.png import to_image, to_png

RENDER = (sys.executable, "-m", "barnloom.viewer.render")
TIMEOUT_S = 180.0
_WINDOWS = {"EGL": "vtkEGLRenderWindow", "OSMesa": "vtkOSOpenGLRenderWindow"}
"""What VTK draws with, by the library that it needs; tried in this order."""
_CHOICE = "VTK_DEFAULT_OPENGL_WINDOW"


def make_pictures(plan: Plan, folder: Path) -> list[str]:
    """
    Write ``picture.png`` and ``building.glb``, each whole or not at all.

    Parameters
    ----------
    plan : Plan
    folder : Path
        Made if missing.

    Returns
    -------
    list of str
        What the person should be told, a line each.
    """
    png, talk = picture(plan)
    write_file(folder / "picture.png", png, replace=True)
    write_file(folder / "building.glb", building_glb(plan), replace=True)
    return talk


def picture(plan: Plan, *, render: Sequence[str] = RENDER) -> tuple[bytes, list[str]]:
    """
    Draw a plan: lit if the machine can, else as a line drawing.

    Parameters
    ----------
    plan : Plan
    render : sequence of str, optional
        Program that is given a plan and a file to draw into. It may crash.

    Returns
    -------
    bytes
        An 8-bit RGB PNG.
    list of str
        What the person should be told: nothing, or one line on what is missing.
    """
    why = "there is neither EGL nor OSMesa"
    with tempfile.TemporaryDirectory() as folder:
        source, target = Path(folder) / "plan.json", Path(folder) / "picture.png"
        source.write_text(plan_to_json(plan), encoding="utf-8")
        for environment in _environments():
            why = _drawn([*render, str(source), str(target)], environment)
            if not why:
                return target.read_bytes(), []
    line = (
        f"picture.png is a line drawing, since 3D cannot be drawn here ({why}). "
        "On Debian this brings 3D: apt-get install libosmesa6 (or libegl1 and libgl1-mesa-dri)"
    )
    return to_png(to_image(isometric(plan))), [line]


def _environments() -> list[dict[str, str]]:
    """Environments to try the renderer in: one for each way to draw without a screen that is installed."""
    if _CHOICE in os.environ or not sys.platform.startswith("linux"):
        return [dict(os.environ)]
    return [{**os.environ, _CHOICE: window} for name, window in _WINDOWS.items() if ctypes.util.find_library(name)]


def _drawn(command: list[str], environment: dict[str, str]) -> str:
    """Run the renderer; return why it failed, or nothing if the picture is there."""
    try:
        done = subprocess.run(command, env=environment, capture_output=True, timeout=TIMEOUT_S, check=False)
    except subprocess.TimeoutExpired:
        return f"it took more than {TIMEOUT_S:.0f} s"
    except OSError as error:
        return f"the renderer did not start: {error.strerror}"
    if done.returncode < 0:
        return f"the renderer crashed, signal {-done.returncode}"
    if done.returncode > 0:
        said = done.stderr.decode("utf-8", "replace").strip().splitlines()
        return f"the renderer stopped: {said[-1][:200] if said else f'exit code {done.returncode}'}"
    return "" if Path(command[-1]).is_file() else "the renderer drew nothing"

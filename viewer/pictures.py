"""The pictures of a plan, lit where the machine can, else line drawings: one, or a set that explains it; the GLB."""

from __future__ import annotations

import ctypes.util
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from itertools import count
from pathlib import Path

from barnloom.routing.plan import Plan
from barnloom.routing.store import plan_to_json
from barnloom.viewer.files import write_file
from barnloom.viewer.glb import building_glb
from barnloom.viewer.isometric import isometric
from barnloom.viewer.look import Look, looks_to_json, standard_looks
from barnloom.viewer.png import to_image, to_png

RENDER = (sys.executable, "-m", "barnloom.viewer.render")
TIMEOUT_S = 180.0
"""For one picture."""
_NOT_PLAIN = re.compile("[^A-Za-z0-9._-]")
_LONGEST = 80
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
    with ThreadPoolExecutor(max_workers=1) as beside:
        glb = beside.submit(building_glb, plan)  # meanwhile the renderer draws, in a process of its own
        png, talk = picture(plan)
        write_file(folder / "picture.png", png, replace=True)
        write_file(folder / "building.glb", glb.result(), replace=True)
    return talk


def picture(plan: Plan, look: Look | None = None, *, render: Sequence[str] = RENDER) -> tuple[bytes, list[str]]:
    """
    Draw a plan: lit if the machine can, else as a line drawing.

    Parameters
    ----------
    plan : Plan
    look : Look, optional
        What of it is shown, and from where; by default all, from the south-east.
    render : sequence of str, optional
        Program that is given a plan, looks by file name, and a folder to draw into. It may crash.

    Returns
    -------
    bytes
        An 8-bit RGB PNG.
    list of str
        What the person should be told: nothing, or one line on what is missing.
    """
    pictures, talk = _pictures(plan, {"picture.png": look or Look()}, render)
    return pictures["picture.png"], talk


def picture_set(plan: Plan, *, render: Sequence[str] = RENDER) -> tuple[dict[str, bytes], list[str]]:
    """
    Draw the pictures that explain a plan (see `barnloom.viewer.look.standard_looks`).

    Parameters
    ----------
    plan : Plan
    render : sequence of str, optional
        As for `picture`.

    Returns
    -------
    dict of bytes
        By file name ("whole.png", "circuit-LIGHTS.png"): an 8-bit RGB PNG each.
    list of str
        What the person should be told: nothing, or one line on what is missing.
    """
    looks = standard_looks(plan)
    return _pictures(plan, dict(zip(_file_names(looks), looks.values(), strict=True)), render)


def _file_names(names: Iterable[str]) -> list[str]:
    """Names of files that are good everywhere: plain signs, not too long, none of them another's in other case."""
    files: list[str] = []
    taken: set[str] = set()
    for name in names:
        plain = _NOT_PLAIN.sub("_", name)[:_LONGEST]
        file = next(each for n in count(1) if (each := plain if n == 1 else f"{plain}-{n}").casefold() not in taken)
        taken.add(file.casefold())
        files.append(f"{file}.png")
    return files


def _pictures(plan: Plan, looks: Mapping[str, Look], render: Sequence[str]) -> tuple[dict[str, bytes], list[str]]:
    """All pictures from one run of the renderer; line drawings of those that it does not draw."""
    why = "there is neither EGL nor OSMesa"
    drawn: dict[str, bytes] = {}
    with tempfile.TemporaryDirectory() as folder:
        source, wanted, out = (Path(folder) / name for name in ("plan.json", "looks.json", "out"))
        source.write_text(plan_to_json(plan), encoding="utf-8")
        wanted.write_text(looks_to_json(looks), encoding="utf-8")
        out.mkdir()
        for environment in _environments():
            command = [*render, str(source), str(wanted), str(out)]
            why = _run(command, environment, TIMEOUT_S * len(looks))
            drawn = {name: (out / name).read_bytes() for name in looks if (out / name).is_file()}
            if len(drawn) == len(looks):
                return drawn, []
            why = why or "the renderer drew nothing"
    left = [name for name in looks if name not in drawn]
    line = (
        f"{left[0] if len(left) == 1 else f'{len(left)} of {len(looks)} pictures'} "
        f"{'is a line drawing' if len(left) == 1 else 'are line drawings'}, since 3D cannot be drawn here ({why}). "
        "On Debian this brings 3D: apt-get install libosmesa6 (or libegl1 and libgl1-mesa-dri)"
    )
    return {name: drawn.get(name) or to_png(to_image(isometric(plan, look))) for name, look in looks.items()}, [line]


def _environments() -> list[dict[str, str]]:
    """Environments to try the renderer in: one for each way to draw without a screen that is installed."""
    if _CHOICE in os.environ or not sys.platform.startswith("linux"):
        return [dict(os.environ)]
    return [{**os.environ, _CHOICE: window} for name, window in _WINDOWS.items() if ctypes.util.find_library(name)]


def _run(command: list[str], environment: dict[str, str], timeout_s: float) -> str:
    """Run the renderer; return why it failed, or nothing."""
    try:
        done = subprocess.run(command, env=environment, capture_output=True, timeout=timeout_s, check=False)
    except subprocess.TimeoutExpired:
        return f"it took more than {timeout_s:.0f} s"
    except OSError as error:
        return f"the renderer did not start: {error.strerror}"
    if done.returncode < 0:
        return f"the renderer crashed, signal {-done.returncode}"
    if done.returncode > 0:
        said = done.stderr.decode("utf-8", "replace").strip().splitlines()
        return f"the renderer stopped: {said[-1][:200] if said else f'exit code {done.returncode}'}"
    return ""

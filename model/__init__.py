"""What is there, and what is wanted: lengths, framing, boxes, circuits, cable, the limits.

``read_building`` turns a scene file into a `Building`; ``build`` does so from a `Scene` already read. What this package
offers is loaded when it is first asked for, so that importing it costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from barnloom.model.errors import BarnloomError, Fault, SceneError

if TYPE_CHECKING:
    from barnloom.model.building import Building
    from barnloom.model.framing import build
    from barnloom.model.limits import Limits, load_limits
    from barnloom.model.scene.read import read_scene
    from barnloom.model.scene.schema import Scene

__all__ = [
    "BarnloomError",
    "Building",
    "Fault",
    "Limits",
    "Scene",
    "SceneError",
    "build",
    "load_limits",
    "read_building",
    "read_scene",
]

_HOMES = {
    "Building": "barnloom.model.building",
    "Limits": "barnloom.model.limits",
    "Scene": "barnloom.model.scene.schema",
    "build": "barnloom.model.framing",
    "load_limits": "barnloom.model.limits",
    "read_scene": "barnloom.model.scene.read",
}


def read_building(path: Path | str) -> Building:
    """
    Return the building that a scene file describes.

    Parameters
    ----------
    path : Path or str
        A scene file.

    Raises
    ------
    SceneError
        With every fault that could be found, each with its line and column, in the order of the file.
    """
    from barnloom.model.framing import build
    from barnloom.model.scene.read import read_scene

    file = read_scene(Path(path))
    try:
        return build(file.scene)
    except SceneError as err:
        raise SceneError(file.placed(err.faults)) from err


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        msg = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(msg)
    return getattr(import_module(_HOMES[name]), name)

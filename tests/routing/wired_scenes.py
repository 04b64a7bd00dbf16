"""Small scenes with devices, as text: one long wall of boxes."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path

from barnloom.model import read_building
from barnloom.model.building import Building

ANSWERS = (
    "{plain_cable: yes, surroundings: dry, dwelling: no, bundled: no, switch_neutral: yes, "
    "hardwired_ground_fault: no, exposed: free, lining: none, insulated: no}"
)


def building_of(text: str) -> Building:
    """Return the building of a scene's text."""
    path = Path(tempfile.mkdtemp()) / "scene.yaml"
    path.write_text(text, encoding="utf-8")
    return read_building(path)


def wall_scene(boxes: Mapping[str, str], *, more: str = "", answers: str = ANSWERS, length: str = "60'") -> str:
    """Text of a scene of one wall with a panel at its start; boxes by id, as the inside of a table.

    ``more`` is appended: controls, circuits and whatever else.
    """
    lines = "\n".join(f"  {name}: {{wall: NORTH, {said}}}" for name, said in boxes.items())
    return f"""
barnloom: 1
title: One wall
answers: {answers}
storeys: {{GROUND: {{floor: 0}}}}
walls:
  NORTH: {{start: [{length}, 0], heading: west, length: {length}, height: 8', section: 2x6, studs: {{every: 16"}}}}
boxes:
  PANEL: {{kind: panel, wall: NORTH, along: 24", height: 54", size: [14", 30", 3-1/2"]}}
{lines}
{more}
"""


def bay(number: int) -> str:
    """Place of the middle of a bay of the wall, for ``along``."""
    return f'along: {8 + 16 * number}"'

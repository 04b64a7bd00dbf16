"""Boxes as bought: the catalogue, and which of them holds a fill.

Volumes, sizes and prices are in ``boxes.toml`` beside this file, with how sure they are.
"""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from barnloom.model.wiring import BoxType


@cache
def _catalogue() -> dict[str, Any]:
    return tomllib.loads(Path(__file__).with_name("boxes.toml").read_text(encoding="utf-8"))


@cache
def default_box_types() -> tuple[BoxType, ...]:
    """
    Boxes of all series, each series followed by the rings that fit it (a ring has the series of its boxes).

    Examples
    --------
    >>> [(box.id, box.volume_in3) for box in default_box_types() if box.series == "octagon-4"][:2]
    [('octagon-4x1-1-4', 12.5), ('octagon-4x1-1-2', 15.5)]
    """
    types = []
    for series, said in _catalogue()["series"].items():
        for box, size in said["boxes"].items():
            types.append(_type(box, series, said, said, size, what="box", clamps=said["clamps"]))
        for ring in said.get("rings", {}).values():
            for name, size in ring["sizes"].items():
                types.append(_type(name, series, said, ring, size, what="ring", clamps="none"))
    return tuple(types)


def _type(
    name: str,
    series: str,
    face: dict[str, Any],
    kind: dict[str, Any],
    size: dict[str, float],
    *,
    what: str,
    clamps: str,
) -> BoxType:
    """Return a box or a ring: ``face`` says what it shares with its series, ``kind`` with others like it."""
    return BoxType(
        id=name,
        series=series,
        title=kind["title"],
        what=what,
        material=face["material"],
        width_in=face["face"][0],
        height_in=face["face"][1],
        depth_in=size["depth"],
        volume_in3=float(size["in3"]),
        gangs=kind["gangs"],
        clamps=clamps,
        price=size["price"],
        confidence=kind["confidence"],
        source=f"{kind['source']}; price a placeholder",
    )

"""Turns and staples of a cable, counted from its centre line."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from barnloom.model.building import Building, Vec
from barnloom.model.vectors import dot, minus

STEP_IN = 2.0
"""A stretch shorter than this is a step beside something, no turn, and takes no staple of its own."""
STRAIGHT = 0.999
"""Cosine above which two stretches are one straight line."""


def turns(points: Sequence[Vec]) -> int:
    """How often a centre line changes direction, short steps left out."""
    line = np.array(points)
    legs = np.diff(line, axis=0)
    long = legs[np.linalg.norm(legs, axis=1) >= STEP_IN]
    if len(long) < 2:
        return 0
    ways = long / np.linalg.norm(long, axis=1, keepdims=True)
    return int(((ways[1:] * ways[:-1]).sum(axis=1) < STRAIGHT).sum())


def staples(building: Building, points: Sequence[Vec], tracks: Sequence[str], support_in: float) -> tuple[int, int]:
    """Staples of a cable (on walls and uprights, overhead): as many as each stretch along a member asks for.

    Stretches across members are held by the holes they pass. A cable has two staples at least, one at each end.
    """
    slabs = {assembly.id: assembly for assembly in building.assemblies}
    on = {track.partition(" ")[0] for track in tracks}.difference(slabs, ("bore",))
    members = {member.id: member for member in building.members if member.id in on} if on else {}
    wall = overhead = 0
    for start, end, track in zip(points[:-1], points[1:], tracks, strict=True):
        length = math.dist(start, end)
        name, _, face = track.partition(" ")
        if length < STEP_IN or name == "bore":
            continue
        slab = slabs.get(name)
        if slab is not None:
            way, above = slab.v, slab.kind != "wall"
        else:
            member = members[name]
            way, above = member.along, abs((member.bit if face.endswith("bit") else member.across)[2]) > 0.5
        if abs(dot(minus(end, start), way)) > 0.5 * length:
            count = max(1, math.ceil(length / support_in - 1e-9))
            wall, overhead = (wall, overhead + count) if above else (wall + count, overhead)
    return wall + max(0, 2 - wall - overhead), overhead

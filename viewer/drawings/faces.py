"""What an elevation looks at: a wall, a floor from below, a slope of a roof, or a frame of single timbers."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from barnloom.model.building import Assembly, Box, Building, Member, Role, Vec
from barnloom.model.vectors import COMPASS, UP, compass, dot, left_of, opposite
from barnloom.routing.store import natural_key
from barnloom.viewer.solids import Floats, corners

FRAME_APART_IN = 12.0
"""Timbers whose middles lie within this of one upright plane are one frame."""
_LEVEL = math.cos(math.radians(85))


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """Members that are seen together, and from where: unit vectors to the right and up on paper."""

    id: str
    title: str
    seen: str
    """From where, in words."""
    origin: Vec
    right: Vec
    up: Vec
    members: tuple[Member, ...]
    boxes: tuple[Box, ...]
    hosts: frozenset[str]
    """Ids that a cable's track begins with where it runs here: the assembly, the members."""
    assembly: Assembly | None = None

    def plane(self, points: Floats) -> Floats:
        """World points (..., 3) as right and up on the drawing (..., 2), inches."""
        result: Floats = (points - np.array(self.origin)) @ np.array([self.right, self.up]).T
        return result


def faces(building: Building) -> tuple[Face, ...]:
    """Every face of a building: storey by storey walls, the ceiling over them, roofs; then frames of timbers."""
    order = {storey.id: number for number, storey in enumerate(building.storeys)}
    kinds = {"wall": 0, "floor": 1, "roof": 2}
    slabs = sorted(
        building.assemblies, key=lambda a: (order.get(a.storey, len(order)), kinds[a.kind], natural_key(a.id))
    )
    found = [_of_assembly(building, slab) for slab in slabs]
    slab_ids = {slab.id for slab in slabs}
    loose = [member for member in building.members if member.assembly not in slab_ids]
    return (*found, *_frames(building, loose))


def _of_assembly(building: Building, slab: Assembly) -> Face:
    """A wall from its room, a floor or a roof from below."""
    towards = opposite(slab.w) if slab.kind == "wall" else slab.w
    up = slab.v
    if slab.kind == "floor" and max(abs(dot(slab.u, COMPASS["north"])), abs(dot(slab.v, COMPASS["north"]))) > _TURNED:
        up = COMPASS["north"]
    right = _cross(towards, up)
    members = tuple(member for member in building.members if member.assembly == slab.id)
    names = {slab.id, *(member.id for member in members)}
    seen = {
        "wall": f"seen from its room, {compass(right) or 'its start'} is on the right",
        "floor": f"seen from below: {compass(right) or 'its far side'} is on the right",
        "roof": f"seen from below: {compass(right) or 'its far side'} is on the right",
    }[slab.kind]
    return Face(
        id=slab.id,
        title=slab.title,
        seen=seen,
        origin=slab.origin,
        right=right,
        up=up,
        members=members,
        boxes=tuple(box for box in building.boxes if box.host in names),
        hosts=frozenset(names),
        assembly=slab,
    )


_TURNED = math.cos(math.radians(0.5))


def _frames(building: Building, loose: Sequence[Member]) -> Iterator[Face]:
    """Upright planes that hold single timbers: level ones make a plane, posts and braces within join it."""
    level = [m for m in loose if abs(dot(m.along, UP)) < _LEVEL and m.role is not Role.COLLAR_TIE]
    lines: dict[tuple[float, float], list[tuple[float, Member]]] = {}
    for member in level:
        way = _way(member)
        lines.setdefault((round(way[0], 2), round(way[1], 2)), []).append((dot(_middle(member), left_of(way)), member))
    middle = _middle_of(building.members)
    for heading in sorted(lines):
        way = (heading[0], heading[1], 0.0)
        for across, own in _clusters(lines[heading]):
            near = [
                m for m in loose if m not in level and abs(dot(_middle(m), left_of(way)) - across) <= FRAME_APART_IN
            ]
            yield _frame(building, way, across, sorted({*own, *near}, key=lambda m: natural_key(m.id)), middle)


def _frame(building: Building, way: Vec, across: float, members: Sequence[Member], middle: Vec) -> Face:
    """A frame as it is seen from the building's middle."""
    inside = dot(middle, left_of(way)) >= across
    towards = opposite(left_of(way)) if inside else left_of(way)
    right = _cross(towards, UP)
    names = {member.id for member in members}
    main = max(members, key=lambda m: (abs(dot(m.along, way)) * m.length_in, m.id))
    low = min(float(value) for value in corners(members)[0][:, :, 2].min(axis=1))
    return Face(
        id=f"FRAME-{main.id}",
        title=f"frame with {main.id}",
        seen=f"seen from inside: {compass(right) or 'the far end'} is on the right",
        origin=(left_of(way)[0] * across, left_of(way)[1] * across, low),
        right=right,
        up=UP,
        members=tuple(members),
        boxes=tuple(box for box in building.boxes if box.host in names),
        hosts=frozenset(names),
    )


def _clusters(found: Iterable[tuple[float, Member]]) -> Iterator[tuple[float, list[Member]]]:
    """Members by where they are across, those within ``FRAME_APART_IN`` of the one before together."""
    groups: list[list[tuple[float, Member]]] = []
    for across, member in sorted(found, key=lambda pair: (pair[0], pair[1].id)):
        if groups and across - groups[-1][-1][0] <= FRAME_APART_IN:
            groups[-1].append((across, member))
        else:
            groups.append([(across, member)])
    for group in groups:
        yield sum(across for across, _ in group) / len(group), [member for _, member in group]


def _way(member: Member) -> Vec:
    """The level direction of a member, the same for both its ends."""
    x, y, _ = member.along
    length = math.hypot(x, y)
    x, y = x / length, y / length
    return (x, y, 0.0) if (round(x, 6), round(y, 6)) > (0, 0) or round(x, 6) > 0 else (-x, -y, 0.0)


def _middle(member: Member) -> Vec:
    axes = ((member.along, member.length_in), (member.bit, member.thickness_in), (member.across, member.depth_in))
    x, y, z = (member.origin[n] + sum(axis[n] * size / 2 for axis, size in axes) for n in range(3))
    return (x, y, z)


def _middle_of(members: Sequence[Member]) -> Vec:
    places = [_middle(member) for member in members]
    x, y, z = (sum(place[n] for place in places) / len(places) for n in range(3))
    return (x, y, z)


def _cross(a: Vec, b: Vec) -> Vec:
    return (
        a[1] * b[2] - a[2] * b[1] + 0.0,
        a[2] * b[0] - a[0] * b[2] + 0.0,
        a[0] * b[1] - a[1] * b[0] + 0.0,
    )

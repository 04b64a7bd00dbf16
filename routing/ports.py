"""Ways from one assembly into another: bores through plates, round framed corners and tees, and open meetings of slabs.

A port is found from geometry alone: on one side of a member is a free cell of its own assembly, on the other side a
free cell of another one (through a subfloor, if there is one). Nothing here knows a wall from a roof.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from barnloom.model.building import Building, Member, Role
from barnloom.model.limits import Limits
from barnloom.model.spans import overlapping
from barnloom.routing.slab import Floats, Slab, member_points, unique_sorted

TOUCH_IN = 0.5
"""Surfaces this near each other touch (tapes err)."""
EAVE_IN = 4.0
"""A rafter's underside may lie this far over the plate it is notched onto."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """A rectangle on a member, in its (along, across), through which a bit gets from one slab's cell to another's."""

    member: int
    near: int
    far: int
    near_bit_in: float
    """Bit coordinate of the near mouth, and of the far one (beyond a subfloor if there is one)."""
    far_bit_in: float
    along: tuple[float, float]
    across: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Meeting:
    """Where free cells of two slabs are open to each other: a cable passes over with no hole.

    ``step_in``: how far the two planes are apart there (the step is made in the deeper slab); ``turns``: headings (0
    across, 1 along the members) in which the way over is a bend.
    """

    slab_a: int
    at_a: tuple[float, float]
    slab_b: int
    at_b: tuple[float, float]
    step_in: float = 0.0
    turns: tuple[int, ...] = ()


def _cell_spans(slab: Slab, member: Member) -> Floats | None:
    """Cells of a slab as spans in a member's (along, bit, across), (n, 3, 2); None if their axes are askew."""
    axes = np.array([member.along, member.bit, member.across])
    turn = slab.axes @ axes.T
    if not np.all(np.isclose(np.abs(turn), 0, atol=1e-9) | np.isclose(np.abs(turn), 1, atol=1e-9)):
        return None
    count = len(slab.cells.u)
    local = np.stack(
        [slab.cells.u, slab.cells.v, np.tile([[0.0, slab.assembly.depth_in]], (count, 1))], axis=1
    )  # (n, axis, end)
    offset = (slab.origin - np.array(member.origin)) @ axes.T
    ends = np.einsum("nae,ab->nbe", local, turn) + offset[None, :, None]
    result: Floats = np.sort(ends, axis=2)
    return result


def _line_spans(slab: Slab, start: Floats, direction: Floats, slack: tuple[float, float]) -> Floats:
    """Stretches of a line that lie in the cells of a slab, (n, 2): distances along it; empty cells give start > end.

    ``start`` (3,) or, one for each cell, (n, 3); ``slack`` widens the slab below its low face and above its high face.
    """
    count = len(slab.cells.u)
    depth = np.tile([[-slack[0], slab.assembly.depth_in + slack[1]]], (count, 1))
    low = np.stack([slab.cells.u[:, 0], slab.cells.v[:, 0], depth[:, 0]], axis=1)
    high = np.stack([slab.cells.u[:, 1], slab.cells.v[:, 1], depth[:, 1]], axis=1)
    at, step = slab.local(start), slab.axes @ direction
    with np.errstate(divide="ignore", invalid="ignore"):
        first, second = (low - at) / step, (high - at) / step
    level = np.abs(step) < 1e-12
    inside = (at > low - 1e-9) & (at < high + 1e-9)
    first = np.where(level, np.where(inside, -np.inf, np.inf), first)
    second = np.where(level, np.where(inside, np.inf, -np.inf), second)
    spans = np.stack([np.minimum(first, second).max(axis=1), np.maximum(first, second).min(axis=1)], axis=1)
    spans[np.any(level & ~inside, axis=1)] = (np.inf, -np.inf)
    return spans


def _boundary_members(building: Building, slabs: Sequence[Slab]) -> list[int]:
    """Members with another assembly possibly behind them: plates, and the outermost members of walls and floors."""
    chosen = []
    numbers = {slab.assembly.id: slab for slab in slabs}
    for index, member in enumerate(building.members):
        slab = numbers.get(member.assembly)
        if slab is None:
            continue
        if member.role in (Role.SOLE_PLATE, Role.TOP_PLATE) or member.corner or _outermost(member, slab):
            chosen.append(index)
    return chosen


def _outermost(member: Member, slab: Slab) -> bool:
    """Whether one side of it, as a bit goes, is at the edge of its slab."""
    middle = np.array(member.origin) + np.array(member.along) * member.length_in / 2
    ends = slab.local(np.stack([middle, middle + np.array(member.bit) * member.thickness_in]))
    for axis, extent in ((0, slab.assembly.extent_u), (1, slab.assembly.extent_v)):
        if abs(ends[1, axis] - ends[0, axis]) > 0.99 * member.thickness_in:
            return bool(ends[:, axis].min() < extent[0] + TOUCH_IN or ends[:, axis].max() > extent[1] - TOUCH_IN)
    return False


def gates_of(building: Building, slabs: Sequence[Slab], limits: Limits) -> list[Gate]:
    """Every gate between two slabs. ``limits`` gives how far a plate hole stays off the members beside it."""
    numbers = {slab.assembly.id: slab.number for slab in slabs}
    boxes = np.array([_world_box(slab) for slab in slabs]).reshape(-1, 2, 3)
    gates: list[Gate] = []
    for index in _boundary_members(building, slabs):
        member = building.members[index]
        near = slabs[numbers[member.assembly]]
        own = _cell_spans(near, member)
        if own is None or len(own) == 0:
            continue
        for side in (1, -1):
            face = member.thickness_in if side > 0 else 0.0
            back = 0.0 if side > 0 else member.thickness_in
            behind = own[np.abs(own[:, 1, 1 if side > 0 else 0] - back) < TOUCH_IN]
            if len(behind) == 0:
                continue
            low, high = _face_box(member, face, side)
            met = np.all((low <= boxes[:, 1] + TOUCH_IN) & (high >= boxes[:, 0] - TOUCH_IN), axis=1)
            for number in np.flatnonzero(met).tolist():
                if number != near.number:
                    gates += _gates_between(index, member, near, slabs[number], behind, side)
    return gates


def _world_box(slab: Slab) -> tuple[Floats, Floats]:
    spans = (slab.assembly.extent_u, slab.assembly.extent_v, (0.0, slab.assembly.depth_in + slab.assembly.skin_in))
    grid = np.array(np.meshgrid(*spans, indexing="ij")).reshape(3, -1).T
    box = slab.origin + grid @ slab.axes
    return box.min(axis=0), box.max(axis=0)


def _face_box(member: Member, face: float, side: int) -> tuple[Floats, Floats]:
    """World box of the thin space just beyond one face of a member (deep enough for an eave)."""
    spans = ((0.0, member.length_in), sorted((face, face + side * EAVE_IN)), (0.0, member.depth_in))
    grid = np.array(np.meshgrid(*spans, indexing="ij")).reshape(3, -1).T
    points = member_points(member, grid)
    return points.min(axis=0), points.max(axis=0)


def _gates_between(index: int, member: Member, near: Slab, far: Slab, behind: Floats, side: int) -> list[Gate]:
    spans = _cell_spans(far, member)
    face = member.thickness_in if side > 0 else 0.0
    near_bit = 0.0 if side > 0 else member.thickness_in
    if spans is None:
        return _askew_gates(index, member, near, far, behind, side)
    # A subfloor lies on the high-w side only: it counts when the far slab is entered from above.
    skin = far.assembly.skin_in if side * float(np.dot(member.bit, far.axes[2])) < -0.99 else 0.0
    edge = spans[:, 1, 0] if side > 0 else spans[:, 1, 1]
    deep = spans[:, 1, 1] if side > 0 else spans[:, 1, 0]
    gap = (edge - face) * side
    reach = (deep - face) * side
    ahead = spans[(gap < skin + TOUCH_IN) & (reach > skin + TOUCH_IN)]
    rows, columns = overlapping(behind[:, 0], ahead[:, 0])
    own, other = behind[rows, ::2], ahead[columns, ::2]
    low = np.maximum(np.maximum(own[..., 0], other[..., 0]), 0.0)
    high = np.minimum(np.minimum(own[..., 1], other[..., 1]), (member.length_in, member.depth_in))
    wide = np.all(high - low > TOUCH_IN, axis=1)
    return [
        Gate(
            member=index,
            near=near.number,
            far=far.number,
            near_bit_in=near_bit,
            far_bit_in=face + side * skin,
            along=(start[0], end[0]),
            across=(start[1], end[1]),
        )
        for start, end in zip(low[wide].tolist(), high[wide].tolist(), strict=True)
    ]


def _askew_gates(index: int, member: Member, near: Slab, far: Slab, behind: Floats, side: int) -> list[Gate]:
    """Gates into a slab whose axes are askew to the member's (a rafter bay over a plate, a wall at an angle)."""
    face = member.thickness_in if side > 0 else 0.0
    skin = far.assembly.skin_in if side * float(np.dot(member.bit, far.axes[2])) < -0.5 else 0.0
    mouth = face + side * skin
    slack = (EAVE_IN, 0.0) if far.assembly.kind == "roof" else (TOUCH_IN, TOUCH_IN)
    strips = _strips(far, member)
    # Only the line down the middle of each strip is looked at: askew, its ends are not square.
    middles = np.stack(np.broadcast_arrays(0.0, mouth + side * 0.05, strips.mean(axis=1)), axis=1)
    spans = _line_spans(far, member_points(member, middles), np.array(member.along), slack)
    cells, rows = overlapping(spans, behind[:, 0])
    begin = np.maximum(np.maximum(spans[cells, 0], behind[rows, 0, 0]), 0.0)
    end = np.minimum(np.minimum(spans[cells, 1], behind[rows, 0, 1]), member.length_in)
    low = np.maximum(strips[cells, 0], behind[rows, 2, 0])
    high = np.minimum(strips[cells, 1], behind[rows, 2, 1])
    found = np.stack([begin, end, low, high], axis=1)[(end - begin > TOUCH_IN) & (high - low > TOUCH_IN)]
    return [
        Gate(
            member=index,
            near=near.number,
            far=far.number,
            near_bit_in=0.0 if side > 0 else member.thickness_in,
            far_bit_in=mouth,
            along=(begin, end),
            across=(low, high),
        )
        for begin, end, low, high in found.tolist()
    ]


def _strips(far: Slab, member: Member) -> Floats:
    """How much of a member's width each cell lies over, (n, 2): exact where the slab has an axis that way, else all."""
    step = far.axes @ np.array(member.across)
    for axis, spans in ((0, far.cells.u), (1, far.cells.v)):
        if abs(abs(step[axis]) - 1) < 1e-9:
            offset = float((far.origin - np.array(member.origin)) @ np.array(member.across))
            result: Floats = np.clip(np.sort(offset + step[axis] * spans, axis=1), 0.0, member.depth_in)
            return result
    return np.tile((0.0, member.depth_in), (len(far.cells.u), 1))


def meetings_of(slabs: Sequence[Slab], wishes: Sequence[tuple[Floats, Floats]]) -> list[Meeting]:
    """Where bays are open to each other: rafters' beside joists' or over an open ridge, and joists' end to end.

    Parameters
    ----------
    wishes : sequence of (u, v) arrays, one pair a slab
        Coordinates of boxes there; a meeting is offered at each of them and at the ends of each common stretch.
    """
    meetings = []
    flat = [slab for slab in slabs if slab.assembly.kind in ("roof", "floor")]
    for n, a in enumerate(flat):
        for b in flat[n + 1 :]:
            if a.assembly.kind == b.assembly.kind == "floor":
                meetings += _end_to_end(a, b, wishes)
            elif np.linalg.norm(np.cross(a.axes[2], b.axes[2])) > 1e-9:
                meetings += _crossing_planes(a, b, wishes)
    return meetings


def _crossing_planes(a: Slab, b: Slab, wishes: Sequence[tuple[Floats, Floats]]) -> list[Meeting]:
    """Meetings on the line in which the mid-depth planes of two slabs cross."""
    direction = np.cross(a.axes[2], b.axes[2])
    direction = direction / np.linalg.norm(direction)
    normals = np.stack([a.axes[2], b.axes[2], direction])
    levels = [float(s.axes[2] @ s.origin) + s.plane_in for s in (a, b)]
    start = np.linalg.solve(normals, np.array([*levels, 0.0]))
    found = []
    in_a, in_b = (_line_spans(slab, start, direction, (0.0, 0.0)) for slab in (a, b))
    wished = np.concatenate([_on_line(slab, start, direction, *wishes[slab.number]) for slab in (a, b)])
    for row, column in zip(*overlapping(in_a, in_b), strict=True):
        begin, end = max(in_a[row, 0], in_b[column, 0]), min(in_a[row, 1], in_b[column, 1])
        if end - begin <= TOUCH_IN:
            continue
        inside = wished[(wished > begin) & (wished < end)]
        for stop in unique_sorted([begin + 1e-4, end - 1e-4, *inside]):
            point = start + stop * direction
            at_a, at_b = a.local(point), b.local(point)
            found.append(
                Meeting(
                    slab_a=a.number,
                    at_a=(float(at_a[0]), float(at_a[1])),
                    slab_b=b.number,
                    at_b=(float(at_b[0]), float(at_b[1])),
                    turns=(1,),
                )
            )
    return found


def _end_to_end(a: Slab, b: Slab, wishes: Sequence[tuple[Floats, Floats]]) -> list[Meeting]:
    """Meetings of two floors whose joists run the same way and whose bays touch, over a beam or a wall, with no rim."""
    turn = b.axes @ a.axes.T
    if not np.all(np.abs(np.abs(np.diag(turn)) - 1) < 1e-9):
        return []
    shift = a.local(b.origin)
    step = float(shift[2]) + b.plane_in - a.plane_in
    deeper = a if a.assembly.depth_in >= b.assembly.depth_in else b
    other = b if deeper is a else a
    level = float(deeper.local(other.world(0.0, 0.0, other.plane_in))[2])
    if not 0.0 <= level <= deeper.assembly.depth_in:
        return []
    found = []
    us = np.sort(shift[0] + turn[0, 0] * b.cells.u, axis=1)
    vs = np.sort(shift[1] + turn[1, 1] * b.cells.v, axis=1)
    wished = np.concatenate([wishes[a.number][0], shift[0] + turn[0, 0] * wishes[b.number][0]])
    for row, column in zip(*overlapping(a.cells.u, us), strict=True):
        (u, v), (u_b, v_b) = (a.cells.u[row], a.cells.v[row]), (us[column], vs[column])
        low, high = max(u[0], u_b[0]), min(u[1], u_b[1])
        touching = [v[1]] if abs(v[1] - v_b[0]) < TOUCH_IN else [v[0]] if abs(v[0] - v_b[1]) < TOUCH_IN else []
        if high - low <= TOUCH_IN or not touching:
            continue
        inside = wished[(wished > low) & (wished < high)]
        for place in unique_sorted([low + TOUCH_IN / 2, high - TOUCH_IN / 2, *inside]):
            at_b = b.local(a.world(float(place), float(touching[0]), a.plane_in))
            edge = np.clip(at_b[1], b.assembly.extent_v[0], b.assembly.extent_v[1])
            found.append(
                Meeting(
                    slab_a=a.number,
                    at_a=(float(place), float(touching[0])),
                    slab_b=b.number,
                    at_b=(float(at_b[0]), float(edge)),
                    step_in=abs(step),
                    turns=(0,),
                )
            )
    return found


def _on_line(slab: Slab, start: Floats, direction: Floats, u: Floats, v: Floats) -> Floats:
    """Where a line that runs along one axis of a slab has the wished coordinates of that axis."""
    step, at = slab.axes @ direction, slab.local(start)
    for axis, wished in ((0, u), (1, v)):
        if abs(abs(step[axis]) - 1) < 1e-9:
            result: Floats = (wished - at[axis]) / step[axis]
            return result
    return np.empty(0)

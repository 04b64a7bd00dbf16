"""Heights, edges of floors and roofs over walls, and what bears on what."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from barnloom.model.framing.common import TAPE_IN
from barnloom.model.scene.text import Where
from barnloom.model.survey.finding import Finding
from barnloom.model.survey.parts import FloorPart, Frame, Point, Rectangle, Said, Site, WallPart, dot, minus

MEANT_IN = 12.0
"""Two levels nearer than this were meant to be one (own caution)."""
EDGE_IN = 6.0
"""An edge and a wall's face nearer than this were meant to be one (own caution)."""
FREE = 1 / 3
"""Joists that reach out farther than this share of their length are hardly meant to."""


def level_findings(site: Site) -> Iterator[Finding]:
    """Yield what does not close about heights, edges, openings and bearings."""
    for floor in site.floors.values():
        yield from _under_floor(site, floor)
        yield from _edges(site, ("floors", floor.id), floor.shape, floor.storey, inside=True)
        yield from _bearings(site, floor)
        yield from _short_joists(site, floor)
    for roof in site.roofs.values():
        walls = [wall for wall in site.walls.values() if wall.storey == roof.storey and wall.exterior]
        if roof.plate is not None:
            yield from _meet(site, walls, roof.plate, ("roofs", roof.id, "plate"), f"the plates of {roof.id}", "")
        yield from _edges(site, ("roofs", roof.id), roof.shape, roof.storey, inside=False)
    for wall in site.walls.values():
        yield from _openings(site, wall)
    yield from _posts(site)


# --- heights ---------------------------------------------------------------------------------------------------------


def _under_floor(site: Site, floor: FloorPart) -> Iterator[Finding]:
    if floor.under is None:
        return
    walls = [
        wall
        for wall in site.walls.values()
        if wall.storey == floor.storey and (frame := wall.frame) and _over(floor.shape, frame)
    ]
    if not floor.carries:
        where: Where = ("floors", floor.id, "bottom")
        sum_words = ""
    else:
        where = ("storeys", floor.carries, "floor")
        level = site.storeys.get(floor.carries) or 0.0
        sum_words = (
            f" ({floor.carries} at {site.text(level)}, less {site.text(floor.subfloor)} of subfloor, less "
            f"{site.text(floor.depth or 0.0)} of joist)"
        )
    yield from _meet(site, walls, floor.under, where, f"the underside of the joists of {floor.id}", sum_words)


def _over(shape: Rectangle, wall: Frame) -> bool:
    """Whether the middle of a wall is under a rectangle, or nearly."""
    edges = shape.edges
    middle = ((wall.start[0] + wall.end[0]) / 2, (wall.start[1] + wall.end[1]) / 2)
    return bool(edges) and all(_outside(middle, a, b) <= EDGE_IN for _, a, b in edges)


def _outside(point: Point, a: Point, b: Point) -> float:
    """How far a point is outside an edge that goes against the clock."""
    length = _length(a, b)
    across = minus(b, a)
    return dot(minus(point, a), (across[1], -across[0])) / length


def _length(a: Point, b: Point) -> float:
    return math.hypot(*minus(b, a))


def _meet(
    site: Site, walls: Sequence[WallPart], level: float, where: Where, what: str, sum_words: str
) -> Iterator[Finding]:
    """Yield walls whose tops are not at a level; if it is all of them, the level is in doubt and not the walls."""
    tops = {wall.id: wall.top - level for wall in walls if wall.top is not None}
    off = {name: by for name, by in tops.items() if TAPE_IN < abs(by) <= MEANT_IN}
    off = {name: by for name, by in off.items() if by > 0 or site.walls[name].bearing != "no"}
    if len(off) > 1 and len(off) == len(tops) and max(off.values()) - min(off.values()) <= TAPE_IN:
        name, by = next(iter(off.items()))
        wall = site.walls[name]
        yield site.found(
            where,
            f"{what} at {site.text(level)}{sum_words}; the tops of the walls below ({', '.join(off)}) are at "
            f"{site.text(level + by)}",
            f"one level: {site.text(abs(by))} {'overlap' if by > 0 else 'gap'}",
            f"beside wall {name} measure from the floor it stands on straight up to {what}",
            off_in=by,
            also=[("walls", one) for one in off],
        )
        return
    for name, by in off.items():
        wall = site.walls[name]
        yield site.found(
            ("walls", name, "height"),
            f"the top of wall {name} is at {site.text(level + by)} ({site.text(wall.base or 0.0)} + "
            f"{site.text(wall.height or 0.0)}), {site.text(abs(by))} {'above' if by > 0 else 'below'} {what}",
            f"{site.text(level)}{sum_words}",
            f"at the middle of wall {name} measure from the underside of the sole plate to the top of the top plate",
            off_in=by,
            also=[(str(where[0]), str(where[1]))],
        )


# --- edges -----------------------------------------------------------------------------------------------------------


def _edges(site: Site, where: Where, shape: Rectangle, storey: str, *, inside: bool) -> Iterator[Finding]:
    """Yield edges of a floor or roof that are near a wall's faces and at none of them."""
    for name, a, b in shape.edges:
        walls = [wall for wall in site.walls.values() if wall.storey == storey and wall.exterior]
        near = []
        for wall in walls:
            frame = wall.frame
            if frame is None or wall.depth is None or not _parallel(frame, a, b):
                continue
            beyond = _outside(frame.start, a, b)  # of the outer face, beyond the edge
            faces = [beyond, beyond - wall.depth] if inside else [beyond]
            if min(map(abs, faces)) <= EDGE_IN:
                near.append((min(map(abs, faces)), wall.id))
        off, wall_id = min(near, default=(0.0, ""))
        if off <= TAPE_IN:
            continue
        side, number = ("width", 0) if name.endswith("depth") else ("depth", 1)
        faces_words = "outer or inner face" if inside else "outer face"
        yield site.found(
            (*where, "size", number) if name.startswith("far") else (*where, "corner"),
            f"the {name} edge of {where[1]} is {site.text(off)} off the {faces_words} of wall {wall_id}",
            f"the edge at the {faces_words}",
            f"measure the {side} of {where[1]}, to the {faces_words} of wall {wall_id} "
            f"(said: {site.text(shape.size[number] or 0.0)})",
            off_in=off,
            also=[("walls", wall_id)],
        )


def _parallel(wall: Frame, a: Point, b: Point) -> bool:
    """Whether a wall runs along an edge, with its room on the edge's inner side and some of it beside the edge."""
    length = _length(a, b)
    along = (minus(b, a)[0] / length, minus(b, a)[1] / length)
    if abs(dot(wall.inward, along)) > 1e-6 or dot(wall.inward, (-along[1], along[0])) < 0:
        return False
    ends = sorted(dot(minus(point, a), along) for point in (wall.start, wall.end))
    return ends[0] < length - TAPE_IN and ends[1] > TAPE_IN


# --- openings --------------------------------------------------------------------------------------------------------


def _openings(site: Site, wall: WallPart) -> Iterator[Finding]:
    for name, keys in wall.openings.items():
        said = Said(keys)
        at, wide, top = said.number("at"), said.number("width"), said.number("top")
        where = ("walls", wall.id, "openings", name)
        if at is not None and wide is not None and wall.length is not None and at + wide - wall.length > TAPE_IN:
            yield site.found(
                (*where, "at"),
                f"{name} of wall {wall.id} from {site.text(at)} to {site.text(at + wide)}",
                f"within the wall's {site.text(wall.length)}",
                f"hook at {wall.starts_at} and measure to the near side of the rough opening {name}",
                off_in=at + wide - wall.length,
            )
        if top is not None and wall.height is not None and top - wall.height > TAPE_IN:
            yield site.found(
                (*where, "top"),
                f"the top of {name} in wall {wall.id} at {site.text(top)}",
                f"below the wall's {site.text(wall.height)}",
                f"measure from the underside of the sole plate to the underside of the header of {name}",
                off_in=top - wall.height,
            )


# --- bearings --------------------------------------------------------------------------------------------------------


def _bearings(site: Site, floor: FloorPart) -> Iterator[Finding]:
    ends = _joist_ends(floor)
    if ends is None or not floor.bearings or any(None in strip for strip in floor.bearings):
        return
    strips = [(at or 0.0, (at or 0.0) + (wide or 0.0)) for at, wide in floor.bearings]
    where = ("floors", floor.id, "bearings")
    first, last = min(a for a, _ in strips), max(b for _, b in strips)
    span = ends[1] - ends[0]
    for free, which in ((first - ends[0], "near"), (ends[1] - last, "far")):
        if TAPE_IN < free <= MEANT_IN or free > span * FREE:
            yield site.found(
                where,
                f"the {which} ends of the joists of {floor.id} hang free by {site.text(free)}: bearings from "
                f"{' and '.join(f'{site.text(a)} to {site.text(b)}' for a, b in strips)}",
                f"something under each end of joists that go from {site.text(ends[0])} to {site.text(ends[1])}",
                f"hook at the {which} end of joist 1 of {floor.id} and measure to the nearest thing it bears on",
                off_in=free,
            )
    if floor.span is not None and last - floor.span > TAPE_IN:
        yield site.found(
            where,
            f"a bearing of {floor.id} ends at {site.text(last)}, {site.text(last - floor.span)} past the floor's edge",
            f"within {site.text(floor.span)}",
            f"hook at the near end of joist 1 of {floor.id} and measure to the near face of its last bearing",
            off_in=last - floor.span,
        )


def _joist_ends(floor: FloorPart) -> tuple[float, float] | None:
    """Where the joists begin and end, along them; None where that is not known."""
    if floor.span is None or (floor.rims != "none" and floor.rim_breadth is None):
        return None
    rim = floor.rim_breadth or 0.0
    near = rim if floor.rims in ("both", "near") else 0.0
    return near, floor.span - (rim if floor.rims in ("both", "far") else 0.0)


def _short_joists(site: Site, floor: FloorPart) -> Iterator[Finding]:
    """Yield joists that end short, and on nothing."""
    ends, strips = _joist_ends(floor), [*(floor.bearings or ()), *floor.girders]
    if ends is None or floor.bearings is None or floor.girders or floor.openings or any(None in one for one in strips):
        return
    for name in site.half.ids("members"):
        if not re.fullmatch(re.escape(floor.id) + r"-C?J[0-9]+[a-z]*", name):
            continue
        said = Said(site.half.value("members", name))
        for key in ("start", "end"):
            along = said.number(key)
            if along is None:
                continue
            at = ends[0] + along
            if any((a or 0.0) - TAPE_IN <= at <= (a or 0.0) + (wide or 0.0) + TAPE_IN for a, wide in strips):
                continue
            yield site.found(
                ("members", name, key),
                f"joist {name} {key}s at {site.text(along)} along it, with nothing under it",
                "a bearing under its end",
                f"hook at the named end of {name} and measure to what its {key} bears on",
                also=[("floors", floor.id)],
            )


# --- posts -----------------------------------------------------------------------------------------------------------


def _posts(site: Site) -> Iterator[Finding]:
    """Yield posts whose top is near the underside of a girder over them, and not at it."""
    timbers = site.half.values.get("timbers")
    parts: dict[str, Mapping[str, Any]] = (
        {name: keys for name, keys in timbers.items() if isinstance(keys, Mapping)}
        if isinstance(timbers, Mapping)
        else {}
    )
    girders = {name: keys for name, keys in parts.items() if keys.get("role") == "girder"}
    for name, keys in parts.items():
        head = _upper(keys)
        if keys.get("role") != "post" or head is None or keys.get("line", "centre") != "centre":
            continue
        gaps = {
            one: head[2] - under for one, other in girders.items() if (under := _underside(other, head)) is not None
        }
        if not gaps:
            continue
        nearest = min(gaps, key=lambda one: abs(gaps[one]))
        off = gaps[nearest]
        if not TAPE_IN < abs(off) <= MEANT_IN or frozenset((name, nearest)) in _joints(site):
            continue
        yield site.found(
            ("timbers", name, "to"),
            f"post {name} ends at {site.text(head[2])}, {site.text(abs(off))} {'above' if off > 0 else 'below'} the "
            f"underside of {nearest}",
            f"its top at {site.text(head[2] - off)}, or a joint of the two",
            f"beside post {name} measure from its foot to the underside of {nearest}",
            off_in=off,
            also=[("timbers", nearest)],
        )


def _joints(site: Site) -> set[frozenset[str]]:
    return {frozenset(map(str, pair)) for pair in site.half.values.get("joints") or () if pair}


def _triple(value: Any) -> tuple[float, float, float] | None:
    whole = isinstance(value, (list, tuple)) and len(value) == 3 and None not in value
    return (value[0], value[1], value[2]) if whole else None


def _upper(keys: Mapping[str, Any]) -> tuple[float, float, float] | None:
    ends = [_triple(keys.get(key)) for key in ("from", "to")]
    return max((end for end in ends if end is not None), key=lambda end: end[2]) if None not in ends else None


def _underside(keys: Mapping[str, Any], over: tuple[float, float, float]) -> float | None:
    """Level of a level girder's underside where it passes over a point; None where it does not."""
    a, b = _triple(keys.get("from")), _triple(keys.get("to"))
    breadth, depth = Said(keys).section("section")
    if a is None or b is None or breadth is None or depth is None or abs(a[2] - b[2]) > TAPE_IN or keys.get("turn"):
        return None
    length = _length(a[:2], b[:2])
    if not length:
        return None
    along = (minus(b[:2], a[:2])[0] / length, minus(b[:2], a[:2])[1] / length)
    to = minus(over[:2], a[:2])
    if (
        not -TAPE_IN <= dot(to, along) <= length + TAPE_IN
        or abs(dot(to, (-along[1], along[0]))) > breadth / 2 + TAPE_IN
    ):
        return None
    return a[2] - {"centre": depth / 2, "bottom": 0.0, "top": depth}[keys.get("line") or "centre"]

"""The one measurement that fills each gap, in words, and what it will likely be where the rest of the scene says so."""

from __future__ import annotations

import math
from collections.abc import Iterator

from barnloom.model.framing.common import TAPE_IN
from barnloom.model.scene.half import Missing
from barnloom.model.scene.text import Where
from barnloom.model.survey.finding import Finding
from barnloom.model.survey.parts import Site, dot, minus
from barnloom.model.survey.rows import member_words

_TURN = 0.1
"""Sine of the least turn into the room at which one wall goes on from another round a corner."""
_FROM_ZERO = "from the corner that you called [0, 0]"
_WAYS = ("straight east", "straight north", "straight up")
_ASKED: tuple[tuple[tuple[str, ...], str], ...] = (
    (("storeys", "*", "floor"), "at the stair, measure straight up from the lowest floor to the floor of {id}"),
    (("walls", "*", "start"), "measure " + _FROM_ZERO + " {way} to the outside framing corner where wall {id} starts"),
    (("walls", "*", "heading"), "stand at the start of wall {id}, the room on your left, and note which way you look"),
    (("walls", "*", "length"), "measure wall {id} from outside framing corner to outside framing corner"),
    (("walls", "*", "base"), "measure from the floor to the underside of the sole plate of wall {id}"),
    (
        ("walls", "*", "height"),
        "at the middle of wall {id}, measure from the underside of the sole plate to the top of the top plate",
    ),
    (
        ("walls", "*", "profile"),
        "hook at the start of wall {id}: measure to each corner of its top, and there up from under the sole plate",
    ),
    (("walls", "*", "section"), "measure one stud of wall {id} with calipers: breadth, then depth"),
    (
        ("walls", "*", "studs"),
        "hook at the start of wall {id} and read off the near side of every stud, the tape left alone",
    ),
    (("walls", "*", "bearing"), "look whether a floor or a roof stands on wall {id}"),
    (
        ("walls", "*", "openings", "*", "at"),
        "hook at the start of wall {id} and measure to the near side of the rough opening {inner}",
    ),
    (("walls", "*", "openings", "*", "width"), "measure the rough opening {inner} of wall {id} from side to side"),
    (
        ("walls", "*", "openings", "*", "bottom"),
        "at {inner} of wall {id}, measure from the underside of the sole plate to the top of the rough sill",
    ),
    (
        ("walls", "*", "openings", "*", "top"),
        "at {inner} of wall {id}, measure from the underside of the sole plate to the underside of the header",
    ),
    (("walls", "*", "openings", "*", "header"), "measure one ply of the header over {inner}: breadth, then depth"),
    (
        ("walls", "*", "blocking", "*", "height"),
        "measure from the underside of the sole plate to the middle of the blocks",
    ),
    (("floors", "*", "corner"), "measure " + _FROM_ZERO + " {way} to the datum corner of {id}"),
    (("floors", "*", "size"), "measure the {side} of {id}, edge to edge of its framing"),
    (("floors", "*", "bottom"), "measure from the floor below straight up to the underside of a joist of {id}"),
    (("floors", "*", "carries"), "measure from the floor below straight up to the underside of a joist of {id}"),
    (("floors", "*", "subfloor"), "at a gap or the stair hole, measure how thick the boards on {id} are"),
    (("floors", "*", "joists", "section"), "measure one joist of {id} with calipers: breadth, then depth"),
    (("floors", "*", "joists", "run"), "look which way the joists of {id} run: along its width or its depth"),
    (
        ("floors", "*", "joists"),
        "hook at the datum corner of {id} and read off the near side of every joist, the tape left alone",
    ),
    (
        ("floors", "*", "bearings"),
        "hook at the near end of joist 1 of {id} and measure to what it bears on: near face, width",
    ),
    (("floors", "*", "girders"), "hook at the near end of joist 1 of {id} and measure to the girder: near face, width"),
    (
        ("floors", "*", "openings"),
        "hook at the datum corner of {id} and measure to the hole {inner}, its near corner and size",
    ),
    (("roofs", "*", "corner"), "measure " + _FROM_ZERO + " {way} to the datum corner of {id}, outside of the plates"),
    (("roofs", "*", "size"), "measure the {side} of {id}, outside of plate to outside of plate"),
    (
        ("roofs", "*", "plate"),
        "measure from the lowest floor straight up to the top of the plate under a rafter of {id}",
    ),
    (("roofs", "*", "pitch"), "hold a level along a rafter of {id}: measure how far it rises in 12 along"),
    (("roofs", "*", "overhang"), "measure level from the outside of the plate to the end of a rafter of {id}"),
    (("roofs", "*", "rafters", "section"), "measure one rafter of {id} with calipers: breadth, then depth"),
    (
        ("roofs", "*", "rafters"),
        "hook at the datum corner of {id} and read off the near side of every rafter, the tape left alone",
    ),
    (("timbers", "*", "from"), "measure " + _FROM_ZERO + " {way} to the one end of {id}"),
    (("timbers", "*", "to"), "measure " + _FROM_ZERO + " {way} to the other end of {id}"),
    (("timbers", "*", "section"), "measure {id} with calipers: breadth, then depth"),
    (("boards", "*", "from"), "measure " + _FROM_ZERO + " {way} to the one end of {id}"),
    (("boards", "*", "to"), "measure " + _FROM_ZERO + " {way} to the other end of {id}"),
    (("keep_clear", "*", "from"), "measure " + _FROM_ZERO + " {way} to the nearest corner of {id}"),
    (("keep_clear", "*", "to"), "measure " + _FROM_ZERO + " {way} to the farthest corner of {id}"),
    (("members", "*", "section"), "measure {id} with calipers: breadth, then depth"),
    (("members", "*", "holes", "*", "along"), "hook at the named end of {id} and measure to the middle of the hole"),
    (("members", "*", "holes", "*", "across"), "measure from the lower edge of {id} to the middle of the hole"),
    (("members", "*", "holes", "*", "diameter"), "measure across the hole in {id}"),
    (("members", "*", "notches"), "hook at the named end of {id} and measure to the notch, and how deep it is"),
    (
        ("measured", "*", "length"),
        "hook at the outside framing corner where {from_} starts, and read the tape where {to} does",
    ),
    (("boxes", "*", "along"), "hook at the start of what {id} hangs on and measure to the middle of the box"),
    (("boxes", "*", "height"), "measure from the floor to the middle of the box {id}"),
    (("boxes", "*", "at"), "hook at the datum corner and measure both ways to the middle of the box {id}"),
    (("boxes", "*", "size"), "measure the box {id}: width, height, depth"),
    (("boxes", "*", "panel", "spaces"), "cover on, count the spaces for breakers in {id}"),
    (("boxes", "*", "panel", "used"), "cover on, write down the spaces of {id} that hold a breaker"),
    (("boxes", "*", "panel", "main"), "read the amperes on the main breaker of {id}"),
    (("supply", "length"), "measure or pace the way of the feeder from where it begins to where it comes in"),
    (("supply", "breaker"), "read the amperes on the breaker that feeds this building"),
)
"""Places in a scene and the measurement for each; the first that a place begins with, or is. ``*`` is any key."""


def missing_findings(site: Site) -> Iterator[Finding]:
    """Yield every gap, with the measurement that fills it."""
    for gap in site.half.missing:
        said = "?" if _stands(site, gap) else "nothing is said"
        yield Finding(
            kind="missing" if gap.required else "unsaid",
            where=gap.where,
            line=gap.line,
            found=said,
            expected=_likely(site, gap.where),
            measure=asked(site, gap.where, gap.says),
            parts=((str(gap.where[0]), str(gap.where[1])),) if len(gap.where) > 1 else (),
        )


def asked(site: Site, where: Where, says: str) -> str:
    """Words for the one measurement that tells what belongs at a place."""
    if (one := _of_row(site, where)) is not None:
        return one
    for pattern, words in _ASKED:
        if len(where) >= len(pattern) and all(key in ("*", str(own)) for key, own in zip(pattern, where, strict=False)):
            number = where[len(pattern)] if len(where) > len(pattern) else None
            way = _WAYS[number] if isinstance(number, int) and number < len(_WAYS) else "both ways"
            side = {0: "width", 1: "depth"}.get(number if isinstance(number, int) else -1, "width and depth")
            inner = str(where[3]) if len(where) > 3 else ""
            from_, to = (site.half.value(*where[:2], key) or "the one wall" for key in ("from", "to"))
            name = where[1] if len(where) > 1 else ""
            return words.format(id=name, inner=inner, way=way, side=side, from_=from_, to=to)
    return f"find out {says}" if says else "find out, and write it down"


def _of_row(site: Site, where: Where) -> str | None:
    """Words for one station of a row: between which two the member stands."""
    for row in site.rows:
        if where[:-1] != (*row.where, row.key) or not isinstance(where[-1], int):
            continue
        number = where[-1]
        before = next((at for at in reversed(row.stations[:number]) if at is not None), None)
        after = next((at for at in row.stations[number + 1 :] if at is not None), None)
        words = f"hook at {row.hook} and measure to {member_words(row, number)}"
        if before is not None and after is not None:
            return f"{words}, between {site.text(before)} and {site.text(after)}"
        return words if before is None else f"{words}, past {site.text(before)}"
    return None


def _stands(site: Site, gap: Missing) -> bool:
    node = site.half.top
    for key in gap.where:
        inner = node.child(key)
        if inner is None:
            return False
        node = inner
    return isinstance(node.value, str)


def _likely(site: Site, where: Where) -> str:
    """What a wall's length or start will likely be, by the walls beside it."""
    if where[0] == "measured":
        ends = [site.walls.get(str(site.half.value(*where[:2], key))) for key in ("from", "to")]
        starts = [(x, y) for wall in ends if wall for x, y in [wall.start] if x is not None and y is not None]
        if len(starts) == 2:
            return f"{site.text(math.hypot(*minus(*starts)))}, if the walls are as they are written"
    if where[0] != "walls" or len(where) < 3 or str(where[1]) not in site.walls:
        return ""
    wall = site.walls[str(where[1])]
    walls = [one for one in site.walls.values() if one.storey == wall.storey and one.id != wall.id]
    if where[2] == "length" and wall.along and None not in wall.start:
        (x, y), along = wall.start, wall.along
        for other in walls:
            u, v = other.start
            if x is None or y is None or u is None or v is None:
                continue
            to = minus((u, v), (x, y))
            ahead = dot(to, along)
            if ahead > TAPE_IN and abs(math.hypot(*to) - ahead) <= TAPE_IN:
                return f"{site.text(ahead)}, if it ends where {other.id} starts"
    if where[2] == "start":
        taken = [one.start for one in walls]
        for other in walls:
            frame = other.frame
            if frame is None or any(_same(frame.end, start) for start in taken):
                continue
            if not wall.along or dot(wall.along, frame.inward) > _TURN:
                return f"{site.point(frame.end)}, if it starts where {other.id} ends"
    return ""


def _same(point: tuple[float, float], start: tuple[float | None, float | None]) -> bool:
    x, y = start
    return x is not None and y is not None and math.hypot(*minus(point, (x, y))) <= TAPE_IN

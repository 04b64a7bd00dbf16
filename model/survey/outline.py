"""Whether walls meet at their corners, opposite sides agree, and diagonals fit the sides."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

from barnloom.model.framing.common import TAPE_IN
from barnloom.model.survey.finding import Finding
from barnloom.model.survey.parts import Frame, Point, Site, WallPart, dot, minus

NEAR_IN = 24.0
"""Two ends of walls nearer than this were meant to be one corner (own caution)."""
SHORT_IN = 6.0
"""A wall that ends this near another's face was meant to stand against it (own caution)."""


@dataclass(frozen=True, slots=True)
class _End:
    wall: WallPart
    which: int
    """0: its start, 1: its end."""
    at: Point

    @property
    def words(self) -> str:
        return f"{self.wall.id} {('starts', 'ends')[self.which]}"


@dataclass(frozen=True, slots=True)
class _Gap:
    one: _End
    two: _End

    @property
    def apart(self) -> Point:
        return minus(self.one.at, self.two.at)

    @property
    def size(self) -> float:
        return math.hypot(*self.apart)


def outline_findings(site: Site) -> Iterator[Finding]:
    """Yield what does not close about the walls as seen from above."""
    for storey in dict.fromkeys(wall.storey for wall in site.walls.values()):
        walls = [wall for wall in site.walls.values() if wall.storey == storey]
        open_corners = list(_corners(site, walls))
        yield from open_corners
        told = {part for finding in open_corners for part in finding.parts}
        yield from _sides(site, [wall for wall in walls if ("walls", wall.id) not in told])
    yield from _tapes(site)


# --- corners ---------------------------------------------------------------------------------------------------------


def _corners(site: Site, walls: Sequence[WallPart]) -> Iterator[Finding]:
    frames = [frame for wall in walls if (frame := wall.frame)]
    ends = [end for wall in walls for end in _ends(wall)]
    gaps: list[_Gap] = []
    for end in ends:
        others = [other for other in ends if other.wall.id != end.wall.id]
        if end.wall.corners[end.which] == "free" or any(_apart(end, other) <= TAPE_IN for other in others):
            continue
        frames_else = [frame for frame in frames if frame.id != end.wall.id]
        if any(_stands_against(end, frame) for frame in frames_else):
            continue
        near = min(others, key=lambda other: _apart(end, other), default=None)
        if near is not None and _apart(end, near) <= NEAR_IN:
            if not any({gap.one.words, gap.two.words} == {end.words, near.words} for gap in gaps):
                gaps.append(_Gap(end, near))
        else:
            yield from _short(site, end, frames_else)
    moved = {wall.id: pair for wall in walls if (pair := _moved(wall, gaps))}
    for name, pair in moved.items():
        yield _start_is_off(site, name, pair)
    for gap in gaps:
        if not any(gap in pair for pair in moved.values()):
            yield _corner_is_open(site, gap, walls)


def _ends(wall: WallPart) -> Iterator[_End]:
    """Yield what is known of a wall's start and end."""
    x, y = wall.start
    if x is not None and y is not None:
        yield _End(wall, 0, (x, y))
    if (frame := wall.frame) is not None:
        yield _End(wall, 1, frame.end)


def _apart(one: _End, two: _End) -> float:
    return math.hypot(*minus(one.at, two.at))


def _stands_against(end: _End, wall: Frame) -> bool:
    """Whether an end touches another wall between that one's corners."""
    along, off = wall.seen(end.at)
    corner = max(end.wall.depth or 0.0, TAPE_IN)
    return corner + TAPE_IN < along < wall.length - corner - TAPE_IN and -TAPE_IN <= off <= wall.depth + TAPE_IN


def _short(site: Site, end: _End, walls: Sequence[Frame]) -> Iterator[Finding]:
    """Yield a finding for an end that does not reach a wall it was meant to stand against, or goes into it."""
    for wall in walls:
        along, off = wall.seen(end.at)
        gap = max(off - wall.depth, -off)
        if not 0 < along < wall.length or not TAPE_IN < gap <= SHORT_IN:
            continue
        if abs(dot(end.wall.along or (0.0, 0.0), wall.along)) > 0.9:
            continue
        yield site.found(
            ("walls", end.wall.id, "length"),
            f"{end.words} {site.text(gap)} short of wall {wall.id}",
            f"it stands against {wall.id}, or says {('start', 'end')[end.which]}_corner: free",
            f"hook at {end.wall.starts_at} and measure along wall {end.wall.id} to the face of {wall.id}",
            off_in=gap,
            also=[("walls", wall.id)],
        )


def _moved(wall: WallPart, gaps: Sequence[_Gap]) -> tuple[_Gap, _Gap] | None:
    """Gaps at both ends of a wall that are one and the same: then the wall itself stands elsewhere."""
    mine = [gap if gap.one.wall.id == wall.id else _Gap(gap.two, gap.one) for gap in gaps if wall.id in _ids(gap)]
    if len(mine) != 2 or {gap.one.which for gap in mine} != {0, 1}:
        return None
    if math.hypot(*minus(mine[0].apart, mine[1].apart)) > TAPE_IN:
        return None
    first, second = (gap for gap in gaps if wall.id in _ids(gap))
    return first, second


def _ids(gap: _Gap) -> tuple[str, str]:
    return gap.one.wall.id, gap.two.wall.id


def _start_is_off(site: Site, name: str, pair: tuple[_Gap, _Gap]) -> Finding:
    at_start = next(gap for gap in pair for end in (gap.one, gap.two) if end.wall.id == name and end.which == 0)
    mine, other = (at_start.one, at_start.two) if at_start.one.wall.id == name else (at_start.two, at_start.one)
    return site.found(
        ("walls", name, "start"),
        f"{name} stands off by {site.text(at_start.size)} at both its ends: it starts at {site.point(mine.at)}, "
        f"{other.words} at {site.point(other.at)}",
        f"{name} starts at {site.point(other.at)}",
        f"measure wall {other.wall.id} from outside framing corner to outside framing corner"
        + (f"; if it is {site.text(other.wall.length)}, mend the start of {name}" if other.wall.length else ""),
        off_in=at_start.size,
        also=[("walls", one) for gap in pair for one in _ids(gap)],
    )


def _corner_is_open(site: Site, gap: _Gap, walls: Sequence[WallPart]) -> Finding:
    """A corner whose walls do not meet; the wall that runs the way of the gap has the length in doubt."""
    ahead = [abs(dot(gap.apart, end.wall.along or (0.0, 0.0))) for end in (gap.one, gap.two)]
    suspect, other = (gap.one, gap.two) if ahead[0] >= ahead[1] - 1e-6 else (gap.two, gap.one)
    wall = suspect.wall
    frame = wall.frame
    far = None if frame is None else (frame.end, frame.start)[suspect.which]
    fits = "" if far is None else f"it closes if {wall.id} is {site.text(math.hypot(*minus(other.at, far)))} long"
    facing = _opposite(wall, walls)
    if facing is not None and facing.length is not None:
        fits += f"; {facing.id}, opposite, is {site.text(facing.length)}"
    return site.found(
        ("walls", wall.id, "length"),
        f"corner of {wall.id} and {other.wall.id} is open by {site.text(gap.size)}: {suspect.words} at "
        f"{site.point(suspect.at)}, {other.words} at {site.point(other.at)}",
        fits,
        f"measure wall {wall.id} from outside framing corner to outside framing corner"
        + (f" (said: {site.text(wall.length)})" if wall.length is not None else ""),
        off_in=gap.size,
        also=[("walls", other.wall.id)],
    )


def _opposite(wall: WallPart, walls: Sequence[WallPart]) -> WallPart | None:
    """The one other wall that goes the other way, if there are four."""
    facing = [one for one in walls if one.along and wall.along and dot(one.along, wall.along) < -0.99]
    return facing[0] if len(walls) == 4 and len(facing) == 1 else None


# --- opposite sides --------------------------------------------------------------------------------------------------


def _sides(site: Site, walls: Sequence[WallPart]) -> Iterator[Finding]:
    """Yield opposite sides that differ, where no place of the walls shows that already."""
    if len(walls) != 4 or all(wall.frame for wall in walls):
        return
    along = [wall.along for wall in walls]
    if any(u is None for u in along):
        return
    if any(abs(dot(a, b)) > 1e-6 for a, b in pairwise([*along, along[0]]) if a and b):
        return
    for one, two in ((walls[0], walls[2]), (walls[1], walls[3])):
        if one.length is None or two.length is None or abs(one.length - two.length) <= TAPE_IN:
            continue
        agreeing = [wall for wall in (one, two) if any(_agrees(wall.length, side) for side in _said_sides(site))]
        doubted = two if agreeing != [two] else one
        yield site.found(
            ("walls", doubted.id, "length"),
            f"{one.id} is {site.text(one.length)} long, {two.id} opposite {site.text(two.length)}: "
            f"{site.text(abs(one.length - two.length))} apart",
            "the same length, if corners are square",
            f"measure wall {doubted.id} from outside framing corner to outside framing corner",
            off_in=one.length - two.length,
            also=[("walls", one.id), ("walls", two.id)],
        )


def _said_sides(site: Site) -> list[float]:
    return [side for shape in site.shapes for side in shape.size if side is not None]


def _agrees(length: float | None, side: float) -> bool:
    return length is not None and abs(length - side) <= TAPE_IN


# --- control measurements --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Tape:
    id: str
    between: tuple[str, str]
    reads: float
    drawn: float

    @property
    def off(self) -> float:
        return self.reads - self.drawn

    @property
    def fits(self) -> bool:
        return abs(self.off) <= TAPE_IN


def _tapes(site: Site) -> Iterator[Finding]:
    tapes = [tape for name in site.half.ids("measured") if (tape := _tape(site, name))]
    told: set[str] = set()
    for one, two in combinations(tapes, 2):
        if _crosses(site, one, two) and not (one.fits and two.fits):
            told |= {one.id, two.id}
            yield _pair_is_off(site, one, two)
    for tape in tapes:
        if tape.fits or tape.id in told:
            continue
        a, b = tape.between
        yield site.found(
            ("measured", tape.id, "length"),
            f"from the start of {a} to the start of {b} the tape read {site.text(tape.reads)}",
            f"{site.text(tape.drawn)}, by the walls as they are written ({site.text(abs(tape.off))} "
            f"{'more' if tape.off > 0 else 'less'} was read)",
            _other_diagonal(site, tape),
            off_in=tape.off,
            also=[("walls", a), ("walls", b)],
        )


def _tape(site: Site, name: str) -> _Tape | None:
    a, b = (site.half.value("measured", name, key) for key in ("from", "to"))
    reads = site.half.value("measured", name, "length")
    starts = [site.walls[one].start if one in site.walls else (None, None) for one in (a, b)]
    (x, y), (u, v) = starts
    if reads is None or x is None or y is None or u is None or v is None:
        return None
    return _Tape(name, (a, b), reads, math.hypot(u - x, v - y))


def _ring(site: Site, one: str) -> list[str]:
    """Ids of the four walls of a storey, if it has four, in order round the building."""
    walls = [wall for wall in site.walls.values() if wall.storey == site.walls[one].storey]
    return [wall.id for wall in walls] if len(walls) == 4 else []


def _crosses(site: Site, one: _Tape, two: _Tape) -> bool:
    ring = _ring(site, one.between[0])
    names = {*one.between, *two.between}
    return set(ring) == names and all(_is_diagonal(ring, tape) for tape in (one, two))


def _is_diagonal(ring: Sequence[str], tape: _Tape) -> bool:
    a, b = tape.between
    return a in ring and b in ring and abs(ring.index(a) - ring.index(b)) == 2


def _other_diagonal(site: Site, tape: _Tape) -> str:
    ring = _ring(site, tape.between[0])
    if _is_diagonal(ring, tape):
        a, b = (one for one in ring if one not in tape.between)
        return (
            f"measure the other diagonal, from the start of {a} to the start of {b}: if it is off by as much the other "
            "way, the building is out of square; if it fits, this one was misread"
        )
    return f"measure again from the start of {tape.between[0]} to the start of {tape.between[1]}, outside corners"


def _pair_is_off(site: Site, one: _Tape, two: _Tape) -> Finding:
    """Two diagonals that do not fit: out of square, or one of them or a side misread."""
    # In a parallelogram the squares of the diagonals add up to those of the sides, however it leans.
    mean = math.hypot(one.reads, two.reads) / math.sqrt(2)
    drawn = max(one.drawn, two.drawn)
    found = (
        f"diagonals: {site.text(one.reads)} from the start of {one.between[0]} to that of {one.between[1]}, "
        f"{site.text(two.reads)} from {two.between[0]} to {two.between[1]}"
    )
    worst = max((one, two), key=lambda tape: abs(tape.off))
    ring = _ring(site, one.between[0])
    sides = [site.walls[name] for name in ring[:2]]
    a, b = worst.between
    again = f"measure again from the start of {a} to the start of {b}"
    expected = f"both {site.text(drawn)}, by the sides"
    if abs(mean - drawn) <= TAPE_IN:
        lean = abs(one.reads**2 - two.reads**2) / (4 * (sides[0].length or drawn))
        expected += (
            f"; together they fit the sides, so the corners are out of square by {site.text(lean)} over the length"
        )
        expected += f" of {sides[1].id}"
        again += "; if it stays, give the walls their true headings in degrees"
    elif abs(one.reads - two.reads) <= TAPE_IN:
        longer = max(sides, key=lambda wall: wall.length or 0.0)
        expected += "; the two agree, so a side was misread"
        again = f"measure wall {longer.id} from outside framing corner to outside framing corner"
    else:
        expected += f"; that from {a} to {b} is off by {site.text(abs(worst.off))}"
    return site.found(
        ("measured", worst.id, "length"),
        found,
        expected,
        again,
        off_in=worst.off,
        also=[("measured", one.id), ("measured", two.id), *(("walls", name) for name in ring)],
    )

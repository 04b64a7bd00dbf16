"""Gable and shed roofs: rafters, ridge, collar ties.

Axes of a slope: u along the eave (the way the ridge runs), v up the slope, w square to it from the rafters' underside
outward. The seat rule: a level birdsmouth as wide as ``SEAT_IN``, so the rafters' underside meets the plates' top that
far in from their outside, and w = 0 there. v = 0 is plumb under the plates' outer edge, so a place ``s`` in from that
edge, measured level, is at v = s / cos(pitch): the carpenter's "run" and "length". A gable has slopes "-A" (eave on the
datum corner's side) and "-B"; a shed has "-A".

A rafter is a box with square ends, as long as its underside is between plumb cuts: from ``overhang`` past the plates to
the ridge's face (without a ridge: to the middle; a shed's without one: to ``overhang`` past the high plates, whose top
is by the same seat rule (span - seat) x pitch over the low ones). The wedge of wood that a plumb cut leaves beyond the
upper end is not in the box; where the wedge of air at the tail reaches in over the plates, a notch keeps holes out.
The ridge stands plumb in the middle (a shed's inside the high edge), its top level with the rafters' where they meet.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from barnloom.model.building import Assembly, Member, Notch, Role, Span, Vec
from barnloom.model.errors import Fault
from barnloom.model.framing.common import LETTERS, SAME_IN, Context, Framed, applied, row_ids, stations, stray
from barnloom.model.framing.pieces import Lie, piece, sides
from barnloom.model.scene.schema import RoofSaid
from barnloom.model.vectors import UP, compass, dot, end_name, heading_vec, left_of, minus, moved, opposite

SEAT_IN = 3.5
"""Width of the birdsmouth's level cut: a 2x4 wall's plate."""
STEEPEST = 24.0
"""Rise in 12 beyond which a roof is a slip of the pen."""
RIDGE_NOT_BORED = "no published limit for holes in a ridge: not bored unless the scene says so"
TIE_NOT_BORED = "no published limit for holes in a collar tie: not bored unless the scene says so"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Slope:
    """One slope as its rafters need it: axes, the level way in from the eave, the pitch's cosine and sine.

    ``run`` is from the tails to the upper ends, measured level from the plates' outside (inches).
    """

    id: str
    inward: Vec
    origin: Vec
    u: Vec
    v: Vec
    w: Vec
    run: Span
    cos: float
    sin: float

    def place(self, u: float, v: float, w: float) -> Vec:
        """Return the world's coordinates of a place in the slope."""
        return moved(self.origin, (self.u, u), (self.v, v), (self.w, w))

    def near(self, member: Member) -> float:
        """Return where a rafter's near face is along the eave."""
        return dot(minus(member.origin, self.origin), self.u)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Roof:
    """A roof as its parts need it: what was said, the rectangle's axes and sizes, and the rafters' section (inches)."""

    id: str
    said: RoofSaid
    context: Context
    corner: Vec
    u: Vec
    s: Vec
    """Level, square to the ridge: from the datum corner's side, for a shed from the eave."""
    extent_u: float
    span: float
    cos: float
    sin: float
    breadth: float
    depth: float
    ridge: tuple[float, float]
    """Breadth and depth of the ridge; breadth 0 for none."""

    @property
    def is_gable(self) -> bool:
        """Whether there are two slopes."""
        return self.said.kind == "gable"

    @property
    def ridge_span(self) -> Span:
        """From where to where the ridge is, across the roof."""
        if self.is_gable:
            return ((self.span - self.ridge[0]) / 2, (self.span + self.ridge[0]) / 2)
        return (self.span - self.ridge[0], self.span)

    def underside(self, s: float) -> float:
        """Return the level of the rafters' underside, ``s`` in from the plates' outside."""
        return underside_in(self.said, s)

    @property
    def ridge_top(self) -> float:
        """Level of the ridge's top."""
        return self.underside(self.ridge_span[0]) + self.depth / self.cos

    def place(self, u: float, s: float, level: float) -> Vec:
        """Return the world's coordinates of a place in the roof, by its level."""
        x, y, _ = moved(self.corner, (self.u, u), (self.s, s))
        return (x, y, level)


def frame_roof(roof_id: str, said: RoofSaid, context: Context) -> Framed:
    """Return a roof's slopes and members: rafters, ridge, collar ties (see the module for where they lie)."""
    if said.storey not in context.floors:
        return Framed()  # found where names are looked up
    roof = _roof(roof_id, said, context)
    where = ("roofs", roof_id)
    faults = _slips(roof)
    if faults:
        return Framed(faults=faults)
    row: Span = (0.0, roof.extent_u)
    place = (*where, "rafters")
    nears, faults = stations(
        said.rafters, start=0.0, end=roof.extent_u, breadth_in=roof.breadth, where=place, context=context
    )
    faults += stray(
        said.rafters.extra,
        start=0.0,
        end=roof.extent_u,
        breadth_in=roof.breadth,
        where=(*place, "extra"),
        context=context,
    )
    if faults:
        return Framed(faults=faults)

    slopes = _slopes(roof)
    members: list[Member] = []
    pairs: dict[str, list[tuple[_Slope, Member]]] = {}
    for slope in slopes:
        for name, near in row_ids(slope.id, Role.RAFTER, nears, said.rafters.extra):
            rafter, found = applied(_rafter(roof, slope, name, near), context, station_in=near, row=row, high=True)
            faults += found
            if rafter is None:
                continue
            faults += _stray_move(roof, slope, rafter)
            rafter = _seated(roof, slope, rafter)
            members.append(rafter)
            pairs.setdefault(name.removeprefix(f"{slope.id}-{LETTERS[Role.RAFTER]}"), []).append((slope, rafter))
    for single in (*_ridge(roof), *_ties(roof, len(nears), pairs)):
        done, found = applied(single, context)
        faults += found
        members += [done] if done is not None else []
    return Framed(tuple(_assembly(roof, slope) for slope in slopes), tuple(members), faults)


def _roof(roof_id: str, said: RoofSaid, context: Context) -> _Roof:
    e = heading_vec(said.heading)
    n = left_of(e)
    u, s, (extent_u, span) = (e, n, said.size) if said.ridge == "width" else (n, e, (said.size[1], said.size[0]))
    corner: Vec = (*said.corner, 0.0)
    if said.kind == "shed":
        high = left_of(u) if said.high == "left" else opposite(left_of(u))
        if dot(high, s) < 0:
            corner, s = moved(corner, (s, span)), opposite(s)
    slant = math.hypot(12.0, _rise(said))
    return _Roof(
        id=roof_id,
        said=said,
        context=context,
        corner=corner,
        u=u,
        s=s,
        extent_u=extent_u,
        span=span,
        cos=12.0 / slant,
        sin=_rise(said) / slant,
        breadth=sides(said.rafters.section)[0],
        depth=sides(said.rafters.section)[1],
        ridge=(0.0, 0.0) if said.ridge_section is None else sides(said.ridge_section),
    )


def underside_in(said: RoofSaid, s_in: float) -> float:
    """
    Return the level (inches) of the rafters' underside, and so of a gable wall's top.

    ``s_in`` is how far in from the plates' outside, measured level from the eave, at most to the ridge.
    """
    return said.plate + (s_in - SEAT_IN) * _rise(said) / 12.0


def _rise(said: RoofSaid) -> float:
    """Return the rise in 12 of a pitch like 8/12."""
    number = re.match(r"\s*([0-9.]+)", said.pitch)
    return float(number[1]) if number else 0.0


def _slips(roof: _Roof) -> tuple[Fault, ...]:
    """Return what cannot be, of a roof's pitch, overhang, sizes and ties."""
    where, text, said = ("roofs", roof.id), roof.context.text, roof.said
    rise = _rise(said)
    if not 0 < rise <= STEEPEST:
        do = "measure how far the roof rises in 12 along"
        return (Fault((*where, "pitch"), said.pitch, f"more than 0 and at most {STEEPEST:g}/12", do),)
    faults: list[Fault] = []
    if said.overhang < 0:
        do = "measure level, from the plates' outside to the tails; 0 for none"
        faults.append(Fault((*where, "overhang"), text(said.overhang), "0 or more", do))
    reach = roof.ridge_span[0] if roof.is_gable or roof.ridge[0] else roof.span - SEAT_IN
    if roof.extent_u < roof.breadth or reach <= SEAT_IN:
        found = f"{text(said.size[0])} by {text(said.size[1])}"
        do = "measure outside to outside of the plates, as (width, depth)"
        faults.append(Fault((*where, "size"), found, "room for rafters from the plates to the ridge", do))
    elif SEAT_IN * roof.sin >= roof.depth:
        found = f"rafters {text(roof.depth)} deep at {said.pitch}"
        do = "check both; the cut on the plates would take all of the rafter"
        expected = f"more than {text(SEAT_IN * roof.sin)}, for a seat {text(SEAT_IN)} wide"
        faults.append(Fault((*where, "rafters", "section"), found, expected, do))
    ties = said.collar_ties
    if ties is not None and not faults:
        most = (roof.ridge_top - roof.ridge[1] if roof.ridge[0] else roof.underside(roof.span / 2)) - said.plate
        top = ties.height + sides(ties.section)[1]
        if not roof.is_gable:
            faults.append(Fault((*where, "collar_ties"), "ties in a shed", "ties in a gable", "leave them out"))
        elif ties.height < 0 or top > most + SAME_IN:
            found = f"ties from {text(ties.height)} to {text(top)} over the plates"
            do = "measure from the plates' top to the ties' underside"
            faults.append(Fault((*where, "collar_ties", "height"), found, f"0 to {text(most)}, under the ridge", do))
    return tuple(faults)


def _slopes(roof: _Roof) -> tuple[_Slope, ...]:
    overhang = roof.said.overhang
    top = roof.ridge_span[0] if roof.is_gable or roof.ridge[0] else roof.span + overhang
    both = [("A", 0.0, roof.s)] + ([("B", roof.span, opposite(roof.s))] if roof.is_gable else [])
    return tuple(
        _Slope(
            id=f"{roof.id}-{letter}",
            inward=inward,
            origin=roof.place(0.0, eave, roof.underside(0.0)),
            u=roof.u,
            v=moved((0.0, 0.0, 0.0), (inward, roof.cos), (UP, roof.sin)),
            w=moved((0.0, 0.0, 0.0), (inward, -roof.sin), (UP, roof.cos)),
            run=(-overhang, top),
            cos=roof.cos,
            sin=roof.sin,
        )
        for letter, eave, inward in both
    )


def _assembly(roof: _Roof, slope: _Slope) -> Assembly:
    """Return a slope as a slab: over the plates' rectangle only, for cables stay out of the overhang."""
    faces = compass(opposite(slope.inward))
    which = f"{faces} slope" if faces else f"slope {slope.id[-1]}"
    return Assembly(
        id=slope.id,
        kind="roof",
        title=f"{roof.said.title or f'roof {roof.id}'}, {which}",
        storey=roof.said.storey,
        origin=slope.origin,
        u=slope.u,
        v=slope.v,
        w=slope.w,
        extent_u=(0.0, roof.extent_u),
        extent_v=(0.0, min(slope.run[1], roof.span) / slope.cos),
        depth_in=roof.depth,
    )


def _rafter(roof: _Roof, slope: _Slope, name: str, near: float) -> Member:
    tail, top = slope.run[0] / slope.cos, slope.run[1] / slope.cos
    return piece(
        name,
        Role.RAFTER,
        Lie(origin=slope.place(near, tail, 0.0), along=slope.v, bit=slope.u, across=slope.w),
        top - tail,
        roof.said.rafters.section,
        assembly=slope.id,
        storey=roof.said.storey,
        along_from="lower end",
        bearings=tuple((a / slope.cos - tail, b / slope.cos - tail) for a, b in _seats(roof)),
    )


def _seats(roof: _Roof) -> tuple[Span, ...]:
    """Return where rafters sit on plates, level from the plates' outside at the eave."""
    low: Span = (0.0, SEAT_IN)
    return (low,) if roof.is_gable or roof.ridge[0] else (low, (roof.span - SEAT_IN, roof.span))


def _seated(roof: _Roof, slope: _Slope, rafter: Member) -> Member:
    """Return a rafter with its birdsmouths, and its plumb tail if that is over the plates, wherever it now lies."""
    gone = minus(rafter.origin, slope.origin)
    tail, underside = dot(gone, slope.v), dot(gone, slope.w)
    seats = [(a / slope.cos - tail, b / slope.cos - tail, SEAT_IN * slope.sin - underside) for a, b in _seats(roof)]
    wedge = (0.0, rafter.depth_in * slope.sin / slope.cos, rafter.depth_in / 2)
    cuts = [(*seat, "low") for seat in seats] + ([(*wedge, "high")] if tail + wedge[1] > SAME_IN else [])
    notches = (
        Notch(along=(max(0.0, start), min(rafter.length_in, end)), edge=edge, depth_in=depth, seat=True)
        for start, end, depth, edge in cuts
        if depth > 0 and min(rafter.length_in, end) - max(0.0, start) > SAME_IN
    )
    return replace(rafter, notches=(*rafter.notches, *notches))


def _stray_move(roof: _Roof, slope: _Slope, rafter: Member) -> tuple[Fault, ...]:
    """Return a fault where the scene moved a rafter out of its roof."""
    said = roof.context.overrides.get(rafter.id)
    if said is None or (said.at is None and said.centre is None):
        return ()
    where = ("members", rafter.id, "at" if said.at is not None else "centre")
    return stray(
        [slope.near(rafter)],
        start=0.0,
        end=roof.extent_u,
        breadth_in=rafter.thickness_in,
        where=where,
        context=roof.context,
    )


def _ridge(roof: _Roof) -> Iterator[Member]:
    """Yield the ridge, if there is one: an assembly of its own, for it lies in neither slope's axes."""
    section = roof.said.ridge_section
    if section is None:
        return
    name = f"{roof.id}-{LETTERS[Role.RIDGE]}1"
    yield piece(
        name,
        Role.RIDGE,
        Lie(
            origin=roof.place(0.0, roof.ridge_span[0], roof.ridge_top - roof.ridge[1]),
            along=roof.u,
            bit=roof.s,
            across=UP,
        ),
        roof.extent_u,
        section,
        assembly=name,
        storey=roof.said.storey,
        along_from=end_name(roof.u, "datum end"),
        never=RIDGE_NOT_BORED,
    )


def _ties(roof: _Roof, count: int, pairs: dict[str, list[tuple[_Slope, Member]]]) -> Iterator[Member]:
    """Yield the collar ties: at every n-th pair of rafters after the first, on the pair's far side.

    The pairs at the roof's ends have none: they stand on gable walls (common practice, no source; a tie there is a
    timber). A tie is nailed to its rafters' faces, its upper corners cut to the roof: the box ends where its top meets
    the rafters' top edges, or at the plates' outside.
    """
    said = roof.said.collar_ties
    if said is None:
        return
    depth = sides(said.section)[1]
    level = roof.said.plate + said.height
    start = max(0.0, SEAT_IN + (said.height + depth - roof.depth / roof.cos) * roof.cos / roof.sin)
    for number in range(1 + said.each, count, said.each):
        pair = pairs.get(str(number))
        if not pair:
            continue  # both rafters are missing
        slope, rafter = pair[0]
        far = slope.near(rafter) + rafter.thickness_in
        name = f"{roof.id}-{LETTERS[Role.COLLAR_TIE]}{number}"
        yield piece(
            name,
            Role.COLLAR_TIE,
            Lie(origin=roof.place(far, start, level), along=roof.s, bit=roof.u, across=UP),
            roof.span - 2 * start,
            said.section,
            assembly=name,
            storey=roof.said.storey,
            along_from=end_name(roof.s, "datum end"),
            never=TIE_NOT_BORED,
        )

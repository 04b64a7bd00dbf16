"""The timber of one wall, placed by distances along it (u), up from the sole plate's bottom (v), and through it (w)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from barnloom.model.building import Member, Right, Role, Span, Vec
from barnloom.model.framing.common import SAME_IN, pack
from barnloom.model.vectors import UP, end_name, moved, opposite, reach


@dataclass(frozen=True, slots=True)
class Segment:
    """A straight stretch of a line over the wall: from (u0, v0) to (u1, v1), u0 < u1; inches."""

    u0: float
    v0: float
    u1: float
    v1: float

    def at(self, u: float) -> float:
        """Return the height at ``u``."""
        return self.v0 + (self.v1 - self.v0) * (u - self.u0) / (self.u1 - self.u0)


def lowest(line: Sequence[Segment], span: Span) -> float:
    """Return the least height (inches) of a line over a span; the nearest end's where the span leaves the line."""
    near = max(min(span[0], line[-1].u1), line[0].u0)
    far = max(min(span[1], line[-1].u1), line[0].u0)
    heights = [
        segment.at(u)
        for segment in line
        if segment.u0 <= far + SAME_IN and segment.u1 >= near - SAME_IN
        for u in (max(near, segment.u0), min(far, segment.u1))
        if far - near <= SAME_IN or min(far, segment.u1) - max(near, segment.u0) > SAME_IN
    ]
    return min(heights)


@dataclass(frozen=True, slots=True, kw_only=True)
class Slab:
    """A wall as its members need it: its axes, its section, and what they have in common.

    ``origin`` is at the wall's outside start, on the outer face, at the sole plate's bottom.
    """

    id: str
    storey: str
    origin: Vec
    u: Vec
    w: Vec
    breadth: float
    depth: float
    section: str
    bearing: bool
    bore: Right
    unmeasured: tuple[str, ...]
    start_with: str = ""

    def place(self, u: float, v: float, w: float) -> Vec:
        """Return the world's coordinates of a place in the wall."""
        return moved(self.origin, (self.u, u), (UP, v), (self.w, w))

    def span(self, member: Member) -> Span:
        """Return from where to where a member stands along the wall."""
        return reach(member, self.origin, self.u)

    def upright(self, name: str, role: Role, near: float, rise: Span) -> Member:
        """Return a stud, king, jack or cripple with its near face at ``near``, standing from rise[0] to rise[1]."""
        return self._member(
            name,
            role,
            origin=self.place(near, rise[0], self.depth),
            axes=(UP, self.u, opposite(self.w)),
            size=(rise[1] - rise[0], self.breadth, self.depth),
        )

    def rise(self, member: Member) -> Span:
        """Return from where to where a member reaches above the sole plate's bottom."""
        return reach(member, self.origin, UP)

    def flat(
        self, name: str, role: Role, span: Span, bottom: float, *, plies: int = 1, section: Span | None = None
    ) -> Member:
        """Return a plate, sill or block lying flat, flush with the room side, of ``plies`` pieces one on the other.

        ``section`` is (breadth, depth), where it is not the wall's own.
        """
        breadth, depth = section or (self.breadth, self.depth)
        return self._member(
            name,
            role,
            origin=self.place(span[0], bottom, self.depth),
            axes=(self.u, UP, opposite(self.w)),
            size=(span[1] - span[0], breadth * plies, depth),
            plies=plies,
        )

    def sloped(self, name: str, top: Segment, floor: float, plies: int) -> Member | None:
        """Return the plates under one slope of the wall's top, or None where there is no room for any.

        A box along the slope: as long as fits between plumb cuts, and clear of what lies at ``floor``. What the cuts
        would leave beyond its square ends (a wedge of thickness times the slope) is not in it.
        """
        run, rise = top.u1 - top.u0, top.v1 - top.v0
        length = math.hypot(run, rise)
        along_u, along_v = run / length, rise / length
        thick = self.breadth * plies
        begin = max(0.0, -thick * along_v / along_u)
        end = min(length, length - thick * along_v / along_u)
        if abs(along_v) > SAME_IN:
            clear = (floor - top.v0 + thick * along_u) / along_v
            begin, end = (max(begin, clear), end) if along_v > 0 else (begin, min(end, clear))
        if end - begin <= thick:
            return None
        along = moved((0.0, 0.0, 0.0), (self.u, along_u), (UP, along_v))
        normal = moved((0.0, 0.0, 0.0), (self.u, -along_v), (UP, along_u))
        return self._member(
            name,
            Role.TOP_PLATE,
            origin=moved(self.place(top.u0, top.v0, self.depth), (along, begin), (normal, -thick)),
            axes=(along, normal, opposite(self.w)),
            size=(end - begin, thick, self.depth),
            plies=plies,
        )

    def header(
        self, name: str, span: Span, bottom: float, *, plies: int, breadth: float, depth: float, bears: float
    ) -> Member:
        """Return a header on edge, flush with the outer face; ``bears`` is how much of each end stands on jacks."""
        length = span[1] - span[0]
        return self._member(
            name,
            Role.HEADER,
            origin=self.place(span[0], bottom, 0.0),
            axes=(self.u, self.w, UP),
            size=(length, breadth * plies, depth),
            plies=plies,
            bearings=((0.0, bears), (length - bears, length)) if bears > 0 else (),
        )

    def _member(
        self,
        name: str,
        role: Role,
        *,
        origin: Vec,
        axes: tuple[Vec, Vec, Vec],
        size: tuple[float, float, float],
        plies: int = 1,
        bearings: tuple[Span, ...] = (),
    ) -> Member:
        along, bit, across = axes
        length, thickness, depth = size
        fallback = f"start end (the corner with {self.start_with})" if self.start_with else "start end"
        return Member(
            id=name,
            role=role,
            assembly=self.id,
            storey=self.storey,
            origin=origin,
            along=along,
            bit=bit,
            across=across,
            length_in=length,
            thickness_in=thickness,
            depth_in=depth,
            plies=pack(length, thickness / plies, depth, plies),
            section=self.section,
            along_from="bottom end" if along == UP else end_name(self.u, fallback),
            across_from="bottom edge" if across == UP else "room side face",
            bearing=self.bearing,
            bearings=bearings,
            bore=self.bore,
            reason="section not measured" if self.bore is Right.UNKNOWN else "",
            unmeasured=self.unmeasured,
        )

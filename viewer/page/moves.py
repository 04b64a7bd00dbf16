"""Where a hole may go instead: what a page needs to judge a moved hole on the ladder, worked out here once.

The numbers come from the same limits and zones as the plan's own holes, rounded inward to the print grid. What they
cannot say, the plan has to be made again for: whether the cable still runs through the row without a jog and is long
enough, whether drill and bit fit there, and what stands in the bay behind the new place.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from barnloom.model.bore_rules import Rule, hole_gap, notch_edges, old_holes, rule_kind, rule_of, source_words
from barnloom.model.boring import along_spans, bands
from barnloom.model.building import Member
from barnloom.model.lengths import TOLERANCE_IN, snap
from barnloom.model.limits import Limits
from barnloom.routing.plan import Bore


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A stretch along a member where a hole may be, and the band across there; inches, of the hole's centre."""

    along: tuple[float, float]
    across: tuple[float, float]
    plates_off: tuple[float, float]
    """Below the first the low face needs a nail plate, above the second the high face; the two may cross."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Neighbour:
    """Another hole of the member: its place, and how far centre and centre are kept apart (inches)."""

    id: str
    along_in: float
    across_in: float
    apart_in: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Closed:
    """A rectangle of the member from which the hole's centre keeps at least so far (a notch); None: open that way."""

    along: tuple[float, float]
    across: tuple[float | None, float | None]
    apart_in: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """Everything that bounds where one hole may be moved to, and by which rule."""

    stretches: tuple[Stretch, ...]
    neighbours: tuple[Neighbour, ...]
    closed: tuple[Closed, ...]
    bearings: tuple[tuple[float, float], ...]
    bearing_apart_in: float
    """A centre nearer than this to a bearing is warned of; no limit."""
    faces: tuple[str, str]
    """What the low and the high face of the member are called."""
    always_plated: bool
    """The low face wants a plate wherever the hole is (a framed corner)."""
    band_rule: str
    gap_rule: str
    notch_rule: str
    bearing_rule: str


def room(bore: Bore, member: Member, limits: Limits, others: Sequence[Bore], *, grid_in: float) -> Room | None:
    """
    Work out where a new hole may be moved to within its member.

    Parameters
    ----------
    bore : Bore
    member : Member
        That it is in.
    limits : Limits
    others : sequence of Bore
        The other holes of the plan in that member.
    grid_in : float
        The print grid.

    Returns
    -------
    Room or None
        None for an old hole, and where the member has no rule.
    """
    rule = rule_of(member, limits)
    if rule is None or bore.existing:
        return None
    radius = bore.diameter_in / 2
    joist = rule_kind(member) == "joist"

    def source(name: str) -> str:
        return source_words(member, limits.limit(name)) if name else member.maker.source if member.maker else ""

    return Room(
        stretches=tuple(_stretches(bore, member, limits, others, grid_in)),
        neighbours=tuple(_neighbours(bore, member, limits, rule, others)),
        closed=tuple(_closed(member, rule, radius)),
        bearings=member.bearings if joist and not member.maker else (),
        bearing_apart_in=limits["joist.bearing_depths"] * member.depth_in + radius,
        faces=("bottom edge", "top edge") if joist else ("room side", "far side"),
        always_plated=member.corner,
        band_rule="; ".join(dict.fromkeys((source(rule.edge), source(rule.end)))),
        gap_rule=source(rule.gap),
        notch_rule=source("stud.notch_share_bearing" if rule.notch_gap_in is None else rule.gap and "joist.notch_gap"),
        bearing_rule=source("joist.bearing_depths"),
    )


def _stretches(bore: Bore, member: Member, limits: Limits, others: Sequence[Bore], grid_in: float) -> Iterator[Stretch]:
    """Stretches where edges, ends and size allow the hole; the wood does not change within one."""
    bare = replace(member, holes=(), notches=())
    middle = member.depth_in / 2
    plain = limits["cable.edge"] + bore.diameter_in / 2
    kept = _kept_band(bore, member, limits, others, grid_in)
    for start, end in along_spans(member, limits, bore.diameter_in):
        along = (snap(start, grid_in, "up"), snap(end, grid_in, "down"))
        place = (start + end) / 2
        band = bands(bare, limits, bore.diameter_in, np.array([place]), aim_in=middle)
        across = (snap(float(band.low[0]), grid_in, "up"), snap(float(band.high[0]), grid_in, "down"))
        if kept:
            across = (max(across[0], kept[0]), min(across[1], kept[1]))
        there = [ply.across for ply in member.plies if ply.along[0] <= place <= ply.along[1]]
        plates_off = (
            snap(max(low for low, _ in there) + plain, grid_in, "up"),
            snap(min(high for _, high in there) - plain, grid_in, "down"),
        )
        if along[0] <= along[1] + TOLERANCE_IN and across[0] <= across[1] + TOLERANCE_IN:
            yield Stretch(along=along, across=across, plates_off=plates_off)


def _kept_band(
    bore: Bore, member: Member, limits: Limits, others: Sequence[Bore], grid_in: float
) -> tuple[float, float] | None:
    """
    Band of the plan where it is narrower than edges, neighbours and plates explain; None elsewhere.

    Such a hole is kept clear of something outside its member (what stands behind a plate), which a move along cannot
    tell anything about: the plan's own band holds wherever it goes.
    """
    placed = [(other.along_in, other.across_in, other.diameter_in) for other in others if not other.existing]
    zone = bands(member, limits, bore.diameter_in, np.array([bore.along_in]), aim_in=bore.across_in, holes=placed)
    low, high = float(zone.low[0]), float(zone.high[0])
    plain = limits["cable.edge"] + bore.diameter_in / 2
    there = [ply.across for ply in member.plies if ply.along[0] <= bore.along_in <= ply.along[1]]
    near, far = max(a for a, _ in there) + plain, min(b for _, b in there) - plain
    if bore.across_in >= near - TOLERANCE_IN:
        low = max(low, near)
    if bore.across_in <= far + TOLERANCE_IN:
        high = min(high, far)
    expected = snap(low, grid_in, "up"), snap(high, grid_in, "down")
    narrower = bore.across_min_in > expected[0] + grid_in / 2 or bore.across_max_in < expected[1] - grid_in / 2
    return (bore.across_min_in, bore.across_max_in) if narrower else None


def _neighbours(bore: Bore, member: Member, limits: Limits, rule: Rule, others: Sequence[Bore]) -> Iterator[Neighbour]:
    old = zip((hole.id for hole in member.holes), old_holes(member, limits), strict=True)
    new = ((one.id, (one.along_in, one.across_in, one.diameter_in)) for one in others if not one.existing)
    for name, (along, across, diameter) in (*new, *old):
        gap = float(hole_gap(rule, bore.diameter_in, diameter))
        apart = gap + (bore.diameter_in + diameter) / 2
        yield Neighbour(id=name, along_in=along, across_in=across, apart_in=apart)


def _closed(member: Member, rule: Rule, radius: float) -> Iterator[Closed]:
    for notch in member.notches:
        if rule.notch_gap_in is None:
            yield Closed(along=notch.along, across=(None, None), apart_in=radius)
            continue
        low, high = (end if math.isfinite(end) else None for end in notch_edges(member, notch))
        yield Closed(along=notch.along, across=(low, high), apart_in=radius + rule.notch_gap_in)

"""Where a member may be bored: the legal zone of a hole, and in words what bounds it.

A hole's place is (along, across) in its member's own axes, inches. A pack is bored through every ply that is there, so
its zone is the intersection of theirs.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from barnloom.model.bore_rules import (
    Numbers,
    Placed,
    Rule,
    barred,
    diameter_most,
    hole_gap,
    notch_edges,
    old_holes,
    rule_kind,
    rule_of,
    share_words,
    source_words,
    wood_at,
)
from barnloom.model.building import Hole, Member, Right, Role
from barnloom.model.cables import fill_ok as fill_ok
from barnloom.model.lengths import TOLERANCE_IN, format_length
from barnloom.model.limits import Limits, at_least, at_most


@dataclass(frozen=True, slots=True, eq=False)
class Bands:
    """Where a hole's centre may be across a member, at each place along it: arrays of one shape, inches.

    ``low`` to ``high`` keeps every hard limit, NaN where no hole may be; ``plain_low`` to ``plain_high`` is the part of
    it that needs no nail plate, NaN where there is none.
    """

    low: Numbers
    high: Numbers
    plain_low: Numbers
    plain_high: Numbers


def _closed(low: Numbers, high: Numbers) -> tuple[Numbers, Numbers]:
    """Intervals by their ends, NaN where empty; one that closes to a point (within the tolerance) is that point."""
    some = at_most(low, high)
    middle = (low + high) / 2
    return np.where(some, np.minimum(low, middle), np.nan), np.where(some, np.maximum(high, middle), np.nan)


def bands(
    member: Member,
    limits: Limits,
    diameter_in: float,
    along_in: Numbers,
    *,
    aim_in: float | Numbers,
    holes: Sequence[Placed] = (),
    doubled_ok: bool = True,
) -> Bands:
    """
    Legal zone of a new hole at places along a member.

    Parameters
    ----------
    member : Member
        Its own holes and notches always count.
    limits : Limits
        All of a profile.
    diameter_in : float
        Of the new hole, inches.
    along_in : (n,) float
        Places, inches.
    aim_in : float or (n,) float
        Wished place across. Where holes and notches split the zone, the part nearest the aim is given (the lower of two
        equally near).
    holes : sequence of (along, across, diameter)
        New holes that are placed already, inches.
    doubled_ok : bool
        False: a doubled stud is bored like a single one (the third in a row).

    Returns
    -------
    Bands
        Arrays of shape (n,).
    """
    along = np.asarray(along_in, dtype=np.float64)
    rule = rule_of(member, limits)
    if rule is None:
        return Bands(*(np.full(along.shape, np.nan) for _ in range(4)))
    radius = diameter_in / 2
    wood = wood_at(member, along)
    ok = (
        (wood.plies > 0)
        & at_most(diameter_in, diameter_most(wood, rule, doubled_ok=doubled_ok))
        & at_least(wood.from_end, rule.end_in + radius)
    )
    if rule.notch_gap_in is None:
        for notch in member.notches:
            ok &= at_most(along + radius, notch.along[0]) | at_least(along - radius, notch.along[1])
    hard = rule.edge_in + radius
    low, high = _closed(np.where(ok, wood.low + hard, np.nan), np.where(ok, wood.high - hard, np.nan))
    closed = _closed_intervals(member, limits, rule, diameter_in, along, holes)
    if closed is not None:
        low, high = _nearest_part(low, high, np.broadcast_to(aim_in, along.shape), *closed)
    if member.corner:
        return Bands(low, high, np.full(along.shape, np.nan), np.full(along.shape, np.nan))
    plain = limits["cable.edge"] + radius
    plain_low, plain_high = _closed(np.maximum(low, wood.low + plain), np.minimum(high, wood.high - plain))
    return Bands(low, high, plain_low, plain_high)


def _closed_intervals(
    member: Member, limits: Limits, rule: Rule, diameter_in: float, along: Numbers, holes: Sequence[Placed]
) -> tuple[Numbers, Numbers] | None:
    """Intervals across that other holes and notches close at each place along, as (k, n) lower and upper ends."""
    lows, highs = [], []
    others = np.array([*old_holes(member, limits), *holes], dtype=np.float64).reshape(-1, 3, 1)
    if len(others):
        reach = diameter_in / 2 + others[:, 2] / 2 + hole_gap(rule, diameter_in, others[:, 2])
        half = _half_chord(reach, np.abs(along - others[:, 0]))
        lows.append(others[:, 1] - half)
        highs.append(others[:, 1] + half)
    if rule.notch_gap_in is not None and member.notches:
        for notch in member.notches:
            start, end = notch.along
            away = np.maximum(np.maximum(start - along, along - end), 0.0)
            half = _half_chord(diameter_in / 2 + rule.notch_gap_in, away)
            bottom, top = notch_edges(member, notch)
            lows.append((bottom - half)[None])
            highs.append((top + half)[None])
    if not lows:
        return None
    low, high = np.concatenate(lows), np.concatenate(highs)
    some = ~np.isnan(low).all(axis=1)
    return (low[some], high[some]) if some.any() else None


def _half_chord(reach: float | Numbers, away: Numbers) -> Numbers:
    """Half the chord of a circle of radius ``reach`` at distance ``away`` from its centre; NaN outside of it."""
    inside = ~at_least(away, reach)
    return np.where(inside, np.sqrt(np.maximum(reach * reach - away * away, 0.0)), np.nan)


def _nearest_part(
    low: Numbers, high: Numbers, aim: Numbers, closed_low: Numbers, closed_high: Numbers
) -> tuple[Numbers, Numbers]:
    """Part of each band that its closed intervals leave, the one nearest the aim."""
    touched = ~np.isnan(closed_low).all(axis=0) & ~np.isnan(low)
    if not touched.any():
        return low, high
    bottom, top, wish = low[touched], high[touched], aim[touched]
    below, above = closed_low[:, touched], closed_high[:, touched]
    ends = np.concatenate([np.clip(wish, bottom, top)[None], below, above])
    free = at_least(ends, bottom) & at_most(ends, top)
    for shut_low, shut_high in zip(below, above, strict=True):  # NaN shuts nothing
        free &= ~((ends > shut_low + TOLERANCE_IN) & (ends < shut_high - TOLERANCE_IN))
    off = np.where(free, np.abs(ends - wish), np.inf)
    best = off.argmin(axis=0)
    columns = np.arange(best.size)
    found = np.isfinite(off[best, columns])
    place = np.where(found, np.clip(ends[best, columns], bottom, top), np.nan)
    part_low = np.fmax.reduce(np.where(at_most(above, place), above, np.nan), axis=0, initial=-np.inf)
    part_high = np.fmin.reduce(np.where(at_least(below, place), below, np.nan), axis=0, initial=np.inf)
    low, high = low.copy(), high.copy()
    low[touched] = np.where(found, np.minimum(np.maximum(bottom, part_low), place), np.nan)
    high[touched] = np.where(found, np.maximum(np.minimum(top, part_high), place), np.nan)
    return low, high


def along_spans(member: Member, limits: Limits, diameter_in: float) -> list[tuple[float, float]]:
    """
    Stretches along a member where some hole of a diameter may be, old holes and notches left out of account.

    Returns
    -------
    list of (float, float)
        Inches, in order; where the member may not be bored, none.
    """
    rule = rule_of(member, limits)
    if rule is None:
        return []
    reach = rule.end_in + diameter_in / 2
    marks = sorted({end + way * reach for ply in member.plies for end in ply.along for way in (-1.0, 1.0)})
    middles = [(a + b) / 2 for a, b in zip(marks, marks[1:], strict=False)]
    bare = bands(_unworked(member), limits, diameter_in, np.array(marks + middles), aim_in=member.depth_in / 2)
    legal = ~np.isnan(bare.low)
    at_mark, between = legal[: len(marks)], legal[len(marks) :]
    spans = [(a, b) for a, b, some in zip(marks, marks[1:], between, strict=False) if some]
    spans += [(a, a) for a, some in zip(marks, at_mark, strict=True) if some]
    joined: list[tuple[float, float]] = []
    for start, end in sorted(spans):
        if joined and start <= joined[-1][1] + TOLERANCE_IN:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return joined


def _unworked(member: Member) -> Member:
    return replace(member, holes=(), notches=()) if member.holes or member.notches else member


def interesting_along(member: Member, limits: Limits, diameter_in: float, holes: Sequence[Placed] = ()) -> list[float]:
    """
    Places along a member where a cheapest path may want its hole.

    These are the ends of the legal stretches, and the first place on each side of an old hole, a notch or a new hole
    where a hole at mid-depth is legal.

    Returns
    -------
    list of float
        Inches, ascending, each with a legal zone.
    """
    rule = rule_of(member, limits)
    if rule is None:
        return []
    radius, middle = diameter_in / 2, member.depth_in / 2
    places = {end for span in along_spans(member, limits, diameter_in) for end in span}
    for along, across, other in [*old_holes(member, limits), *holes]:
        reach, off = radius + other / 2 + float(hole_gap(rule, diameter_in, other)), abs(across - middle)
        if off < reach:
            half = math.sqrt(reach**2 - off**2)
            places |= {along - half, along + half}
    for notch in member.notches:
        reach = radius
        if rule.notch_gap_in is not None:
            bottom, top = notch_edges(member, notch)
            off, kept = max(bottom - middle, middle - top, 0.0), radius + rule.notch_gap_in
            if off >= kept:
                continue
            reach = math.sqrt(kept**2 - off**2)
        places |= {notch.along[0] - reach, notch.along[1] + reach}
    ordered = np.array(sorted(places))
    legal = ~np.isnan(bands(member, limits, diameter_in, ordered, aim_in=middle, holes=holes).low)
    return [float(place) for place in ordered[legal]]


@dataclass(frozen=True, slots=True)
class _Test:
    """One test of one hole: how much room is left (inches; below 0 it fails), the rule, and the fault in words."""

    about: str  # "end" | "size" | "edge" | "plate" | "notch" | "hole"
    margin_in: float
    rule: str
    fault: str


def _tests(
    member: Member,
    limits: Limits,
    diameter_in: float,
    along_in: float,
    across_in: float | None,
    others: Sequence[Placed],
    *,
    metric: bool,
    doubled_ok: bool,
) -> Iterator[_Test]:
    """Every test of a hole beside ``others``; with ``across_in`` None, those that no place across can pass."""
    rule = rule_of(member, limits)
    wood = wood_at(member, np.array([along_in]))
    if rule is None or not wood.plies[0]:
        return

    def inch(inches: float) -> str:
        return format_length(max(inches, 0.0), metric=metric, feet=False)

    def source(name: str) -> str:
        return source_words(member, limits.limit(name)) if name else member.maker.source if member.maker else ""

    radius = diameter_in / 2
    low, high, depth = float(wood.low[0]), float(wood.high[0]), float(wood.depth[0])
    from_end = float(wood.from_end[0]) - radius
    kept = f"{inch(rule.end_in)} ({source(rule.end)})"
    yield _Test(
        "end",
        from_end - rule.end_in,
        f"hole edge to an end at least {kept}",
        f"{inch(from_end)} from an end, where {kept} is kept",
    )
    most = float(diameter_most(wood, rule, doubled_ok=doubled_ok)[0])
    if math.isfinite(most):
        doubled = bool(wood.plies[0] >= 2) and doubled_ok and rule.doubled_share > rule.share
        kept = inch(most) if math.isfinite(rule.diameter_in) else ""
        if not kept:
            kept = f"{share_words(rule.doubled_share if doubled else rule.share)} of {inch(depth)}"
        kept += f" ({source('stud.hole_share_doubled' if doubled else rule.share_name)})"
        yield _Test("size", most - diameter_in, f"diameter at most {kept}", f"{inch(diameter_in)} is more than {kept}")
    words = f"hole edge to edge of the wood at least {inch(rule.edge_in)} ({source(rule.edge)})"
    if across_in is None:
        fault = (
            f"{inch(rule.edge_in)} to the edge each side leaves no room for {inch(diameter_in)} in {inch(high - low)} "
            f"({source(rule.edge)})"
        )
        yield _Test("edge", high - low - 2 * rule.edge_in - diameter_in, words, fault)
    else:
        from_edge = min(across_in - low, high - across_in) - radius
        fault = f"{inch(from_edge)} to the edge, where {inch(rule.edge_in)} is kept ({source(rule.edge)})"
        yield _Test("edge", from_edge - rule.edge_in, words, fault)
        plain = from_edge - limits["cable.edge"]
        if at_least(plain, 0.0) and not member.corner:
            kept = f"{inch(limits['cable.edge'])} without a nail plate ({source('cable.edge')})"
            yield _Test("plate", plain, f"hole edge to edge of the wood at least {kept}", "")
    for notch in member.notches:
        beside = max(notch.along[0] - along_in, along_in - notch.along[1], 0.0)
        if rule.notch_gap_in is None:
            words = f"no hole where a notch is ({source('stud.notch_share_bearing')})"
            yield _Test("notch", beside - radius, words, words)
        elif across_in is not None:
            bottom, top = notch_edges(member, notch)
            clear = math.hypot(beside, max(bottom - across_in, across_in - top, 0.0)) - radius
            kept = f"{inch(rule.notch_gap_in)} ({source('joist.notch_gap' if rule.gap else '')})"
            yield _Test(
                "notch",
                clear - rule.notch_gap_in,
                f"hole edge to a notch at least {kept}",
                f"{inch(clear)} from a notch, where {kept} is kept",
            )
    if across_in is None:
        return
    for along, across, other in others:
        gap = float(hole_gap(rule, diameter_in, other))
        clear = math.hypot(along - along_in, across - across_in) - radius - other / 2
        kept = f"{inch(gap)} ({source(rule.gap)})"
        yield _Test(
            "hole",
            clear - gap,
            f"hole edge to hole edge at least {kept}",
            f"{inch(clear)} from another hole, where {kept} is kept",
        )


def reason(
    member: Member,
    limits: Limits,
    diameter_in: float,
    along_in: float,
    *,
    holes: Sequence[Placed] = (),
    doubled_ok: bool = True,
    metric: bool = False,
) -> str:
    """
    Why no hole of a diameter may be at a place along a member, with rule, numbers and clause; "" where one may.

    Parameters
    ----------
    member, limits, diameter_in, holes, doubled_ok
        As for `bands`.
    along_in : float
        Place along the member, inches.
    metric : bool
        Numbers in millimetres.
    """
    if why := barred(member):
        return why
    middle = member.depth_in / 2
    zone = bands(member, limits, diameter_in, np.array([along_in]), aim_in=middle, holes=holes, doubled_ok=doubled_ok)
    if not np.isnan(zone.low[0]):
        return ""
    others = [*old_holes(member, limits), *holes]
    for across in (None, middle):
        for test in _tests(member, limits, diameter_in, along_in, across, others, metric=metric, doubled_ok=doubled_ok):
            if not at_least(test.margin_in, 0.0):
                return test.fault
    return f"no wood {format_length(along_in, metric=metric)} along it"


def governing(
    member: Member,
    limits: Limits,
    diameter_in: float,
    along_in: float,
    across_in: float,
    holes: Sequence[Placed] = (),
    *,
    doubled_ok: bool = True,
    metric: bool = False,
) -> tuple[str, float]:
    """
    Tightest rule of a legal hole, and its margin.

    Parameters
    ----------
    member, limits, diameter_in, along_in, doubled_ok
        As for `bands`.
    across_in : float
        Place of its centre across the member, inches.
    holes : sequence of (along, across, diameter)
        New holes, inches; one at the very place is the hole itself.
    metric : bool
        Numbers in millimetres.

    Returns
    -------
    (str, float)
        The rule with its clause, and how much room it leaves, inches.
    """
    others = [
        other
        for other in (*old_holes(member, limits), *holes)
        if math.hypot(other[0] - along_in, other[1] - across_in) > TOLERANCE_IN
    ]
    tests = _tests(member, limits, diameter_in, along_in, across_in, others, metric=metric, doubled_ok=doubled_ok)
    tightest = min(tests, key=lambda test: test.margin_in, default=None)
    if tightest is None:
        return "there already; not enlarged", min(across_in, member.depth_in - across_in) - diameter_in / 2
    return tightest.rule, tightest.margin_in


def reusable(member: Member, limits: Limits, hole: Hole, *, metric: bool = False) -> str:
    """
    Why an old hole may not be used, "" if it may.

    Its size and its edges must keep the rules for a new one; its distance to ends and to other holes is as it is. In an
    engineered member without its maker's data there is no rule to keep, and a hole that is there may be used as it is;
    in one that is never bored, or of which that is not known, it may not.
    """
    if hole.diameter_in is None:
        return "its diameter is not measured"
    if "section" in member.unmeasured:
        return "the section of its member is not measured"
    if member.bore in (Right.NEVER, Right.UNKNOWN):
        why = barred(member)
        return why if member.bore is Right.NEVER and why.startswith("not to") else f"not to be bored: {why}"
    wood = wood_at(member, np.array([hole.along_in]))
    radius = hole.diameter_in / 2
    from_edge = min(hole.across_in - float(wood.low[0]), float(wood.high[0]) - hole.across_in) - radius
    if not (wood.plies[0] and at_least(from_edge, 0.0)):
        return "it is not wholly inside the wood"
    tests = _tests(member, limits, hole.diameter_in, hole.along_in, hole.across_in, (), metric=metric, doubled_ok=True)
    asked = {"size", "edge"} if rule_kind(member) == "joist" else {"size", "edge", "notch"}
    faults = (test.fault for test in tests if test.about in asked and not at_least(test.margin_in, 0.0))
    return next(faults, "")


def nail_plates(
    member: Member, limits: Limits, diameter_in: float, across_in: float, along_in: float | None = None
) -> tuple[str, ...]:
    """
    Faces of a member that need a nail plate at a hole, in words.

    Parameters
    ----------
    along_in : float, optional
        Place along the member (inches), to look at the plies there; None looks at all of them.

    Returns
    -------
    tuple of str
        Of "bottom edge", "top edge" (joists and what is kept like them), "room side", "far side" (studs and plates).
    """
    there = [ply for ply in member.plies if along_in is None or ply.along[0] <= along_in <= ply.along[1]]
    low = max((ply.across[0] for ply in there), default=0.0)
    high = min((ply.across[1] for ply in there), default=member.depth_in)
    names = ("bottom edge", "top edge") if rule_kind(member) == "joist" else ("room side", "far side")
    need = (across_in - low, high - across_in)
    return tuple(
        name
        for name, distance in zip(names, need, strict=True)
        if not at_least(distance - diameter_in / 2, limits["cable.edge"]) or (member.corner and name == "room side")
    )


def tie_needed(member: Member, limits: Limits, diameter_in: float) -> bool:
    """Whether a hole takes so much of a bearing wall's top plate that it needs a steel tie across it."""
    top_plate = member.role is Role.TOP_PLATE and member.bearing
    return top_plate and not at_most(diameter_in, limits["plate.tie_share"] * member.depth_in)


def near_bearing(member: Member, limits: Limits, diameter_in: float, along_in: float) -> bool:
    """Whether a hole in a joist is nearer to a bearing than the tool's own caution likes (a warning, no limit)."""
    kept = limits["joist.bearing_depths"] * member.depth_in + diameter_in / 2
    return any(not at_least(max(start - along_in, along_in - end, 0.0), kept) for start, end in member.bearings)

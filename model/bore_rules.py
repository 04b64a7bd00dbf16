"""Which rule bounds the holes of a member, and what wood is there: the ground that legal zones stand on.

The rule follows from the member's role: joists and what is kept like them, studs, plates; engineered members have their
maker's. All numbers are in the limits.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barnloom.model.building import ENGINEERED, Limit, Member, Notch, Right, Role
from barnloom.model.limits import Limits, cited

Numbers = NDArray[np.float64]
Placed = tuple[float, float, float]
"""A hole as (along, across, diameter), inches."""

JOISTS = {
    *(Role.JOIST, Role.RIM, Role.RAFTER, Role.CEILING_JOIST, Role.HEADER, Role.TRIMMER, Role.COLLAR_TIE),
    *(Role.GIRDER, Role.GIRT, Role.PURLIN, Role.BRACE, Role.RIDGE, Role.BLOCK),
}
STUDS = {Role.STUD, Role.KING, Role.JACK, Role.CRIPPLE, Role.POST}
PLATES = {Role.SOLE_PLATE, Role.TOP_PLATE, Role.SILL}
NAMED_BY_CODE = {
    *(Role.JOIST, Role.RAFTER, Role.CEILING_JOIST, Role.GIRDER),
    *(Role.STUD, Role.KING, Role.JACK, Role.CRIPPLE, Role.TOP_PLATE),
}
"""Roles that the code's own words cover; the others keep a rule by own caution."""


@dataclass(frozen=True, slots=True)
class Rule:
    """What bounds holes in one member, with the names of the limits that say so ("" for the maker's own)."""

    edge_in: float
    edge: str
    end_in: float
    end: str
    share: float
    """Largest diameter as a share of the depth; infinite where the rule has none."""
    share_name: str
    doubled_share: float
    diameter_in: float
    gap_in: float
    gap_diameters: float
    gap: str
    notch_gap_in: float | None
    """Distance from a notch in any direction; None: merely not at the same cross-section."""


def rule_kind(member: Member) -> str:
    """Rule of a role: "joist", "stud", "plate", or "" for what is never bored (boards)."""
    if member.role in PLATES or (member.role is Role.BLOCK and abs(member.bit[2]) > 1 - 1e-3):
        return "plate"  # a block in a wall is bored upward, one between joists or rafters is not
    return "joist" if member.role in JOISTS else "stud" if member.role in STUDS else ""


def barred(member: Member) -> str:
    """Why a member may not be bored at all; "" if it may."""
    if unmeasured := [part for part in ("section", "ends", "holes") if part in member.unmeasured]:
        return f"not measured: {', '.join(unmeasured)}"
    if not rule_kind(member):
        return f"a {spoken(member)} is not bored"
    if member.bore is Right.FREE or (member.bore is Right.MAKER and member.maker):
        return ""
    said = f": {member.reason}" if member.reason else ""
    return {
        Right.NEVER: f"not to be bored{said}",
        Right.MAKER: ENGINEERED if member.reason in ("", ENGINEERED) else f"{ENGINEERED}{said}",
        Right.UNKNOWN: f"not known whether it may be bored{said}",
    }[member.bore]


def rule_of(member: Member, limits: Limits) -> Rule | None:
    """Rule for holes in a member, None if it may not be bored."""
    if barred(member):
        return None
    if member.bore is Right.MAKER and member.maker:
        maker = member.maker
        return Rule(
            edge_in=maker.edge_min_in,
            edge="",
            end_in=maker.end_min_in,
            end="",
            share=math.inf,
            share_name="",
            doubled_share=math.inf,
            diameter_in=maker.diameter_max_in,
            gap_in=maker.spacing_min_in,
            gap_diameters=0.0,
            gap="",
            notch_gap_in=maker.spacing_min_in,
        )
    kind = rule_kind(member)
    share_name = {
        "joist": "joist.hole_share",
        "stud": "stud.hole_share_bearing" if member.bearing else "stud.hole_share_nonbearing",
        "plate": "",
    }[kind]
    share = limits[share_name] if share_name else math.inf
    joist = kind == "joist"
    gap = "joist.hole_gap" if joist else "stud.hole_gap_diameters"
    return Rule(
        edge_in=limits[f"{kind}.edge"],
        edge=f"{kind}.edge",
        end_in=limits["member.end"],
        end="member.end",
        share=share,
        share_name=share_name,
        doubled_share=max(share, limits["stud.hole_share_doubled"]) if kind == "stud" else share,
        diameter_in=math.inf,
        gap_in=limits[gap] if joist else 0.0,
        gap_diameters=0.0 if joist else limits[gap],
        gap=gap,
        notch_gap_in=limits["joist.notch_gap"] if joist else None,
    )


@dataclass(frozen=True, slots=True, eq=False)
class Wood:
    """What is at each place along a member.

    Edges common to all plies there, their least depth, how many they are, and how far the nearest end of any ply is.
    """

    low: Numbers
    high: Numbers
    depth: Numbers
    plies: NDArray[np.int64]
    from_end: Numbers


def wood_at(member: Member, along: Numbers) -> Wood:
    """Wood at places along a member (n,), inches; edges and depth infinite or NaN where no ply is."""
    low, high = np.full(along.shape, -np.inf), np.full(along.shape, np.inf)
    depth, from_end = np.full(along.shape, np.inf), np.full(along.shape, np.inf)
    plies = np.zeros(along.shape, dtype=np.int64)
    for ply in member.plies:
        (start, end), (bottom, top) = ply.along, ply.across
        there = (along >= start) & (along <= end)
        plies += there
        np.maximum(low, bottom, out=low, where=there)
        np.minimum(high, top, out=high, where=there)
        np.minimum(depth, top - bottom, out=depth, where=there)
        np.minimum(from_end, np.minimum(np.abs(along - start), np.abs(along - end)), out=from_end)
    return Wood(low, high, np.where(plies > 0, depth, np.nan), plies, from_end)


def diameter_most(wood: Wood, rule: Rule, *, doubled_ok: bool) -> Numbers:
    """Largest diameter at each place along."""
    doubled = (wood.plies >= 2) & doubled_ok
    return np.minimum(rule.diameter_in, np.where(doubled, rule.doubled_share, rule.share) * wood.depth)


def hole_gap(rule: Rule, diameter_in: float | Numbers, other_in: float | Numbers) -> float | Numbers:
    """Clear distance that two holes keep, edge to edge."""
    return rule.gap_in + rule.gap_diameters * np.maximum(diameter_in, other_in)


def old_holes(member: Member, limits: Limits) -> Iterator[Placed]:
    """Holes in the wood; one that is not measured counts as the limits say."""
    for hole in member.holes:
        unknown = hole.diameter_in is None
        yield (
            hole.along_in,
            hole.across_in,
            limits["hole.unknown_diameter"] if unknown else float(hole.diameter_in or 0),
        )


def notch_edges(member: Member, notch: Notch) -> tuple[float, float]:
    """Lower and upper end of a notch across its member; it is open on the outside."""
    if notch.edge == "low":
        return -math.inf, notch.depth_in
    return member.depth_in - notch.depth_in, math.inf


def spoken(member: Member) -> str:
    """Role of a member in plain words."""
    return member.role.value.replace("_", " ")


def source_words(member: Member, limit: Limit) -> str:
    """Clause of a limit as it holds for a member: rafters have their own number, and some roles only our caution."""
    before, stroke, after = limit.clause.partition(" / ")
    words = cited(limit)
    if stroke:
        words = words.replace(limit.clause, after if member.role in {Role.RAFTER, Role.CEILING_JOIST} else before)
    if limit.clause and member.role not in NAMED_BY_CODE:
        words += f", kept for a {spoken(member)} as own caution"
    return words


def share_words(share: float) -> str:
    """Words for a share: "a third", "40 %"."""
    return "a third" if math.isclose(share, 1 / 3) else f"{share * 100:.3g} %"

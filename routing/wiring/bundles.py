"""Cables that warm each other: how many current-carrying conductors lie together, and what that leaves of an ampacity.

Three causes, kept apart: cables that run beside each other for more than 24 in (NEC 310.15(C)(1)); more than two of
them in contact with insulation without spacing, over any length; and more than two through one hole that gets sealed
(334.80).
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from barnloom.model.building import Building, Member, Role, Span, Vec
from barnloom.model.electrical.tables import adjustment
from barnloom.model.lengths import TOLERANCE_IN, format_length
from barnloom.model.limits import Limits, at_most
from barnloom.model.vectors import dot, minus
from barnloom.routing.plan import Cable, Plan

Floats = NDArray[np.float64]
BESIDE_IN = 0.5
"""Centre lines no farther apart are cables that touch: about the width of one (own caution)."""
_PARALLEL = 1.0 - 1e-6
PLATES = frozenset({Role.SOLE_PLATE, Role.TOP_PLATE})
"""What is bored between two storeys, or between a wall and the space over it: such holes get sealed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Together:
    """The worst place of a cable."""

    count: int
    """Current-carrying conductors that lie together there; its own alone where it keeps apart."""
    factor: float
    """What is left of an ampacity (NEC 310.15(C)(1))."""
    where: str
    """With whom, how far and where; empty where it keeps apart."""
    length_in: float = 0.0
    """How much of the cable lies with others for longer than ``cable.bundle``; infinite where no shortness excuses."""


@dataclass(frozen=True, slots=True)
class _Leg:
    """One straight leg: from a point of the world, in a direction, so far; ``start_in`` from the cable's begin."""

    start: Vec
    way: Vec
    length_in: float
    start_in: float
    track: str


@dataclass(frozen=True, eq=False, slots=True)
class _Track:
    """All legs in one track, as parallel arrays."""

    cables: tuple[str, ...]
    starts: Floats
    ways: Floats
    lengths: Floats


def bundle_counts(plan: Plan, carrying: Mapping[str, int], *, bundled: bool) -> dict[str, Together]:
    """
    Return for each cable how many current-carrying conductors run together for more than ``cable.bundle``.

    Cables are together where they follow one track with centre lines within ``BESIDE_IN``; a turn that they take
    together does not part them. What is together must stay so over one unbroken stretch (NEC 310.15(C)(1)).

    Parameters
    ----------
    carrying : mapping of str to int
        Current-carrying conductors by cable id.
    bundled : bool
        Whether cables beside each other, untied, count as a bundle; False: each counts by itself.
    """
    limits = Limits(plan.building.limits)
    longest = limits["cable.bundle"]
    in_insulation = None if plan.building.insulated == "no" else limits["cable.sealed_together"]
    legs = {cable.id: _legs(cable) for cable in plan.cables}
    by_track: dict[str, list[tuple[str, _Leg]]] = defaultdict(list)
    for cable, its in legs.items():
        for leg in its:
            by_track[leg.track].append((cable, leg))
    tracks = {name: _track(its) for name, its in by_track.items()} if bundled else {}
    found = {}
    for cable, its in legs.items():
        beside = _beside(cable, its, tracks) if bundled else {}
        found[cable] = _worst(cable, its, beside, carrying, longest, in_insulation, metric=plan.building.metric)
    return found


def sealed_counts(plan: Plan, carrying: Mapping[str, int]) -> dict[str, Together]:
    """
    Return for each cable the most current-carrying conductors in one sealed hole of a plate, where that matters.

    It does where more than ``cable.sealed_together`` cables of two or more such conductors share the hole, however
    short it is (NEC 334.80). Old cables in a hole that is used again count with all their insulated conductors. Empty
    where the building stays uninsulated.
    """
    if plan.building.insulated == "no":
        return {}
    most = Limits(plan.building.limits)["cable.sealed_together"]
    members = {member.id: member for member in plan.building.members}
    found: dict[str, Together] = {}
    for bore in plan.bores:
        member = members[bore.member]
        if member.role not in PLATES:
            continue
        old = _old_counts(member, bore.id, plan.building)
        counts = [count for count in (*(carrying[cable] for cable in bore.cables), *old) if count > 1]
        if at_most(len(counts), most):
            continue
        total = sum(counts)
        where = f"{len(counts)} cables through the sealed hole {bore.id} of {member.id}"
        for cable in bore.cables:
            if cable not in found or found[cable].count < total:
                found[cable] = Together(count=total, factor=adjustment(total), where=where)
    return found


def _old_counts(member: Member, hole: str, building: Building) -> list[int]:
    """Insulated conductors of each cable that was in a hole before; two where a cable's type does not say."""
    types = {kind.id: kind.conductors for kind in building.cable_types}
    return [types.get(held, 0) or 2 for old in member.holes if old.id == hole for held in old.holds]


def _legs(cable: Cable) -> list[_Leg]:
    legs, far = [], 0.0
    for (start, end), track in zip(pairwise(cable.points), cable.tracks, strict=True):
        along = minus(end, start)
        length = dot(along, along) ** 0.5
        if length > TOLERANCE_IN:
            way = (along[0] / length, along[1] / length, along[2] / length)
            legs.append(_Leg(start, way, length, far, track))
        far += length
    return legs


def _track(legs: Sequence[tuple[str, _Leg]]) -> _Track:
    return _Track(
        cables=tuple(cable for cable, _ in legs),
        starts=np.array([leg.start for _, leg in legs]),
        ways=np.array([leg.way for _, leg in legs]),
        lengths=np.array([leg.length_in for _, leg in legs]),
    )


def _beside(cable: str, legs: Sequence[_Leg], tracks: Mapping[str, _Track]) -> dict[str, list[Span]]:
    """Return the stretches of a cable, counted from its begin, that each other cable runs beside it."""
    spans: dict[str, list[Span]] = defaultdict(list)
    for leg in legs:
        track = tracks[leg.track]
        for number, low, high in _shared(leg, track):
            if track.cables[number] != cable:
                spans[track.cables[number]].append((leg.start_in + low, leg.start_in + high))
    return {other: _joined(its) for other, its in spans.items()}


def _shared(leg: _Leg, track: _Track) -> Iterator[tuple[int, float, float]]:
    """Yield the legs of its track that lie beside a leg, by number, and where along it."""
    way = np.array(leg.way)
    turn = track.ways @ way
    step = track.starts - leg.start
    start = step @ way
    aside = np.linalg.norm(step - start[:, None] * way, axis=1)
    end = start + turn * track.lengths
    low, high = np.maximum(np.minimum(start, end), 0.0), np.minimum(np.maximum(start, end), leg.length_in)
    near = (np.abs(turn) >= _PARALLEL) & at_most(aside, BESIDE_IN) & (high - low > TOLERANCE_IN)
    for number in np.flatnonzero(near).tolist():
        yield number, float(low[number]), float(high[number])


def _joined(spans: Sequence[Span]) -> list[Span]:
    """Return spans with those joined that a turn alone parts: one cable lies inside of the other there."""
    joined: list[Span] = []
    for low, high in sorted(spans):
        if joined and low <= joined[-1][1] + 2 * BESIDE_IN + TOLERANCE_IN:
            joined[-1] = (joined[-1][0], max(joined[-1][1], high))
        else:
            joined.append((low, high))
    return joined


def _worst(
    cable: str,
    legs: Sequence[_Leg],
    beside: Mapping[str, Sequence[Span]],
    carrying: Mapping[str, int],
    longest: float,
    in_insulation: float | None,
    *,
    metric: bool,
) -> Together:
    """Return the most conductors that stay together for longer than that: such a stretch begins where a span does.

    In insulation more cables than ``in_insulation`` count over any length, and no shortness excuses them (334.80).
    """
    best, words = carrying[cable], ""
    long = sorted(
        (span, other) for other, its in beside.items() for span in its if not at_most(span[1] - span[0], longest)
    )
    for begin in sorted({span[0] for span, _ in long}):
        mates = {o: span[1] for span, o in long if span[0] <= begin and not at_most(span[1] - begin, longest)}
        count = carrying[cable] + sum(carrying[other] for other in mates)
        if count > best:
            best = count
            far = format_length(min(mates.values()) - begin, metric=metric)
            words = f"beside {', '.join(sorted(mates))} for {far} in {_place(legs, begin)}"
    length = sum(high - low for low, high in _joined([span for span, _ in long]))
    if in_insulation is not None and carrying[cable] > 1:
        spans = sorted((span, o) for o, its in beside.items() for span in its if carrying[o] > 1)
        for begin in sorted({span[0] for span, _ in spans}):
            near = {other for span, other in spans if span[0] <= begin < span[1]}
            count = carrying[cable] + sum(carrying[other] for other in near)
            if not at_most(len(near) + 1, in_insulation) and count >= best:
                best, length = count, math.inf
                words = f"in insulation beside {', '.join(sorted(near))} in {_place(legs, begin)}"
    return Together(count=best, factor=adjustment(best), where=words, length_in=length)


def _place(legs: Sequence[_Leg], begin: float) -> str:
    """Return the first track from there on that is not a hole."""
    after = [leg.track for leg in legs if leg.start_in + leg.length_in > begin + TOLERANCE_IN]
    return next((track for track in after if not track.startswith("bore ")), after[0])

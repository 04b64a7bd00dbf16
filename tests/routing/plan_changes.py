"""Small changes to a plan, each of one thing, to be planted as faults."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from barnloom.model.building import Member, Vec
from barnloom.routing.plan import Bore, Cable, Plan

Change = Callable[[Plan], Plan]


def both(*changes: Change) -> Change:
    def change(plan: Plan) -> Plan:
        for one in changes:
            plan = one(plan)
        return plan

    return change


def whole(**changes: Any) -> Change:
    return lambda plan: replace(plan, **changes)


def bore(name: str, **changes: Any) -> Change:
    return lambda plan: replace(plan, bores=tuple(replace(b, **changes) if b.id == name else b for b in plan.bores))


def without_bore(name: str) -> Change:
    return lambda plan: replace(plan, bores=tuple(b for b in plan.bores if b.id != name))


def cable(name: str, **changes: Any) -> Change:
    return lambda plan: replace(plan, cables=tuple(replace(c, **changes) if c.id == name else c for c in plan.cables))


def building(**changes: Any) -> Change:
    return lambda plan: replace(plan, building=replace(plan.building, **changes))


def part(field: str, name: str, **changes: Any) -> Change:
    """Change one member, box, assembly, circuit ... of the building."""

    def change(plan: Plan) -> Plan:
        parts = getattr(plan.building, field)
        assert any(p.id == name for p in parts), name
        return building(**{field: tuple(replace(p, **changes) if p.id == name else p for p in parts)})(plan)

    return change


def maker(**changes: Any) -> Change:
    """Change what the maker of the engineered joist allows."""

    def change(plan: Plan) -> Plan:
        data = the_member(plan, "LOFT-J6").maker
        assert data is not None
        return part("members", "LOFT-J6", maker=replace(data, **changes))(plan)

    return change


def limit(name: str, value: float) -> Change:
    def change(plan: Plan) -> Plan:
        limits = plan.building.limits
        return building(limits=tuple(replace(one, value=value) if one.name == name else one for one in limits))(plan)

    return change


def more_members(*new: Member) -> Change:
    return lambda plan: building(members=(*plan.building.members, *new))(plan)


def bits(*sizes: float) -> Change:
    return lambda plan: building(tools=replace(plan.building.tools, bits_in=sizes))(plan)


def relengthed(old: Cable, points: tuple[Vec, ...], tracks: tuple[str, ...]) -> Cable:
    """A cable on another centre line along the world's axes, its lengths and its bores' names right for that."""
    legs = zip(points[:-1], points[1:], strict=True)
    path = sum(sum(abs(b - a) for a, b in zip(p, q, strict=True)) for p, q in legs)
    return replace(
        old,
        points=points,
        tracks=tracks,
        bores=tuple(track.removeprefix("bore ") for track in tracks if track.startswith("bore ")),
        path_in=path,
        slack_in=0.05 * path,
        cut_in=1.05 * path + old.entries_in + old.free_in + old.panel_in,
    )


def rerouted(name: str, points: tuple[Vec, ...], tracks: str) -> Change:
    def change(plan: Plan) -> Plan:
        new = relengthed(the_cable(plan, name), points, tuple(tracks.split(", ")))
        return replace(plan, cables=tuple(new if c.id == name else c for c in plan.cables))

    return change


def moved(name: str, *, along: float = 0.0, across: float = 0.0) -> Change:
    """Move a hole in its member to another place; its cables jog to it along the member's faces and back."""

    def change(plan: Plan) -> Plan:
        hole = the_bore(plan, name)
        wood = the_member(plan, hole.member)
        by_along, by_across = (along - hole.along_in if along else 0.0), (across - hole.across_in if across else 0.0)
        step = [by_along * a + by_across * c for a, c in zip(wood.along, wood.across, strict=True)]
        plan = bore(
            name,
            along_in=hole.along_in + by_along,
            across_in=hole.across_in + by_across,
            across_min_in=min(hole.across_min_in, hole.across_in + by_across),
            across_max_in=max(hole.across_max_in, hole.across_in + by_across),
        )(plan)
        return replace(plan, cables=tuple(_jogged(c, f"bore {name}", step) for c in plan.cables))

    return change


def _jogged(old: Cable, track: str, step: list[float]) -> Cable:
    if track not in old.tracks:
        return old
    leg = old.tracks.index(track)
    x0, y0, z0 = (p + d for p, d in zip(old.points[leg], step, strict=True))
    x1, y1, z1 = (p + d for p, d in zip(old.points[leg + 1], step, strict=True))
    points = (*old.points[: leg + 1], (x0, y0, z0), (x1, y1, z1), *old.points[leg + 1 :])
    before, after = old.tracks[leg - 1], old.tracks[leg + 1]
    return relengthed(old, points, (*old.tracks[:leg], before, track, after, *old.tracks[leg + 1 :]))


def the_member(plan: Plan, name: str) -> Member:
    return next(m for m in plan.building.members if m.id == name)


def the_bore(plan: Plan, name: str) -> Bore:
    return next(b for b in plan.bores if b.id == name)


def the_cable(plan: Plan, name: str) -> Cable:
    return next(c for c in plan.cables if c.id == name)

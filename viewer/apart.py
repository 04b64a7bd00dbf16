"""The storeys of a plan lifted apart, so that a floor does not lie over the walls below it in a picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from barnloom.model.building import Box, Building, Member, Ply, Span, Vec
from barnloom.routing.plan import Bore, Plan
from barnloom.viewer.solids import corners

_UNDER_IN = 1.25
"""Boards and cables no farther than this under the joists go with them; a plate is thicker."""
_THROUGH_IN = 12.0
"""An upright member that reaches this far over and under a gap goes through it, and is drawn longer."""


def apart(plan: Plan, gap_in: float) -> Plan:
    """
    Lift every floor that carries an upper storey with walls or boxes, and all above it, away from what is below.

    For pictures only. Members, boxes, points and bores are moved, and long posts stretched; lengths in numbers stay.

    Parameters
    ----------
    plan : Plan
    gap_in : float
        Opened under the joists of every such floor.
    """
    building = plan.building
    lift = _Lift(_cuts(building), gap_in)
    if not lift.cuts:
        return plan
    levels = _levels(building.members)
    members = {m.id: _lifted_member(m, lift, *levels[m.id]) for m in building.members}
    raised = {m.id: m.origin[2] - old.origin[2] for m, old in zip(members.values(), building.members, strict=True)}
    raised |= {a.id: lift.at(a.origin[2]) - a.origin[2] for a in building.assemblies if a.kind == "floor"}

    def moved(point: Vec) -> Vec:
        return (point[0], point[1], lift.at(point[2] + _UNDER_IN) - _UNDER_IN)

    def moved_box(box: Box) -> Box:
        at = (box.at[0], box.at[1], box.at[2] + raised[box.host]) if box.host in raised else moved(box.at)
        return replace(box, at=at)

    old = {m.id: m for m in building.members}
    return replace(
        plan,
        building=replace(
            building,
            assemblies=tuple(replace(a, origin=moved(a.origin)) for a in building.assemblies),
            members=tuple(members.values()),
            boxes=tuple(moved_box(box) for box in building.boxes),
            keep_clear=tuple(replace(s, low=moved(s.low), high=moved(s.high)) for s in building.keep_clear),
        ),
        cables=tuple(replace(cable, points=tuple(map(moved, cable.points))) for cable in plan.cables),
        bores=tuple(_lifted_bore(bore, old[bore.member], members[bore.member], lift) for bore in plan.bores),
    )


@dataclass(frozen=True, slots=True)
class _Lift:
    cuts: tuple[float, ...]
    gap_in: float

    def at(self, level: float) -> float:
        """Where a level goes."""
        return level + self.gap_in * sum(level >= cut - 1e-6 for cut in self.cuts)


def _cuts(building: Building) -> tuple[float, ...]:
    """Undersides of the floors that carry an upper storey on which walls stand, or above which boxes are."""
    upper = sorted(storey.floor_in for storey in building.storeys)[1:]
    walls = [a.origin[2] for a in building.assemblies if a.kind == "wall"]
    above = max([*walls, *(box.at[2] for box in building.boxes)], default=0.0)
    tops = {a.origin[2]: a.origin[2] + a.depth_in + a.skin_in for a in building.assemblies if a.kind == "floor"}
    carrying = (
        low for low, top in tops.items() if any(abs(top - floor) < 1.0 for floor in upper) and above > top - 1.0
    )
    return tuple(sorted(carrying))


def _levels(members: Sequence[Member]) -> dict[str, Span]:
    """Lowest and highest corner of every member."""
    solids, owner = corners(members)
    levels: dict[str, Span] = {}
    for i, z in zip(owner, solids[:, :, 2], strict=True):
        low, high = levels.get(members[i].id, (float("inf"), float("-inf")))
        levels[members[i].id] = (min(low, float(z.min())), max(high, float(z.max())))
    return levels


def _lifted_member(member: Member, lift: _Lift, low: float, high: float) -> Member:
    x, y, z = member.origin
    if _stretches(member, lift):
        plies = tuple(
            Ply(along=(_far(member, p.along[0], lift), _far(member, p.along[1], lift)), bit=p.bit, across=p.across)
            for p in member.plies
        )
        length = _far(member, member.length_in, lift)
        return replace(member, origin=(x, y, lift.at(z)), plies=plies, length_in=length)
    level = max((low + high) / 2, low + _UNDER_IN)
    return replace(member, origin=(x, y, z + lift.at(level) - level))


def _lifted_bore(bore: Bore, old: Member, new: Member, lift: _Lift) -> Bore:
    return replace(bore, along_in=_far(old, bore.along_in, lift)) if new.length_in != old.length_in else bore


def _stretches(member: Member, lift: _Lift) -> bool:
    if abs(member.along[2]) < 0.99:
        return False
    ends = sorted((member.origin[2], member.origin[2] + member.along[2] * member.length_in))
    return any(ends[0] < cut - _THROUGH_IN and ends[1] > cut + _THROUGH_IN for cut in lift.cuts)


def _far(member: Member, along_in: float, lift: _Lift) -> float:
    """Distance along an upright member once it is stretched."""
    start, end = member.origin[2], member.origin[2] + member.along[2] * along_in
    return (lift.at(end) - lift.at(start)) / member.along[2]

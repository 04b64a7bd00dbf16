"""What a person should be told about a plan: assumptions that stand in for answers, and warnings that break no rule."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from barnloom.model.boring import reusable
from barnloom.model.building import Building
from barnloom.model.lengths import format_length
from barnloom.model.limits import Limits, at_least
from barnloom.routing.graph import Tracks
from barnloom.routing.plan import Bore
from barnloom.routing.slab import Floats, Slab, cell_at, free_until, member_points


def plan_assumptions(building: Building) -> tuple[str, ...]:
    """Unanswered questions with the reading that was planned, and every limit the scene changed."""
    found = [
        f"{a.question}: not answered; planned as: {a.answer}{' ' + a.detail if a.detail else ''}"
        for a in building.answers
        if a.assumed
    ]
    found += [
        f"limit {lim.name} changed to {lim.value:g} {lim.unit}: {lim.amended}" for lim in building.limits if lim.amended
    ]
    return tuple(found)


def plan_warnings(building: Building, limits: Limits, tracks: Tracks, bores: Sequence[Bore]) -> tuple[str, ...]:
    """What the planner alone knows: how the scene was read, what was not measured, room for drill and cable."""
    metric = building.metric
    found: list[str] = list(building.warnings)
    for member in building.members:
        unmeasured = [h for h in member.holes if h.diameter_in is None or "section" in member.unmeasured]
        found += [f"{h.id}: an old hole, not used: {reusable(member, limits, h, metric=metric)}" for h in unmeasured]
    tight = _drill_room(building, tracks, bores)
    if tight:
        found.append(
            f"drill and bit need {format_length(building.tools.drill_in, metric=metric)}; less room on either side at "
            + ", ".join(tight)
            + " (bore at a slant only if both faces keep the limits, or use a shorter bit)"
        )
    return tuple([*found, *tracks.notes])


def _drill_room(building: Building, tracks: Tracks, bores: Sequence[Bore]) -> list[str]:
    """Holes at whose place neither side of the member has room for the drill, square to it."""
    members = {member.id: (n, member) for n, member in enumerate(building.members)}
    tight = []
    for bore in bores:
        number, member = members[bore.member]
        slab = tracks.slab_of(member.assembly)
        if bore.existing or slab is None or slab.crossing.get(number) != "u":
            continue
        sides = []
        for bit, way in ((0.0, -1), (member.thickness_in, 1)):
            place = slab.local(member_points(member, (bore.along_in, bit, bore.across_in)))
            sides.append(_room(slab, place, way * float(np.sign(slab.axes[0] @ np.array(member.bit)))))
        if not at_least(max(sides), building.tools.drill_in):
            tight.append(bore.id)
    return tight


def _room(slab: Slab, place: Floats, way: float) -> float:
    """Free distance along u from a face of a member to the next thing; unlimited at the slab's edge."""
    start = float(place[0])
    end = free_until(slab.faces_u, slab.occupied[:, cell_at(slab.faces_v, float(place[1]))], start, way)
    at_edge = end >= slab.faces_u[-1] - 1e-6 if way > 0 else end <= slab.faces_u[0] + 1e-6
    return float("inf") if at_edge else abs(end - start)

"""What a person should be told about a plan: assumptions that stand in for answers, and warnings that break no rule."""

from __future__ import annotations

from collections.abc import Sequence

from barnloom.model.boring import reusable
from barnloom.model.building import Building
from barnloom.model.lengths import format_length
from barnloom.model.limits import Limits, at_least
from barnloom.routing.graph import Tracks
from barnloom.routing.plan import Bore


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
    import numpy as np

    members = {member.id: (n, member) for n, member in enumerate(building.members)}
    slabs = {slab.assembly.id: slab for slab in tracks.slabs}
    tight = []
    for bore in bores:
        number, member = members[bore.member]
        slab = slabs.get(member.assembly)
        if bore.existing or slab is None or slab.crossing.get(number) != "u":
            continue
        axes = np.array([member.along, member.bit, member.across])
        sides = []
        for bit, way in ((0.0, -1), (member.thickness_in, 1)):
            place = slab.local(np.array(member.origin) + np.array([bore.along_in, bit, bore.across_in]) @ axes)
            sign = way * float(np.sign(slab.axes[0] @ np.array(member.bit)))
            sides.append(
                _room(slab.faces_u, slab.occupied[:, _row(slab.faces_v, float(place[1]))], float(place[0]), sign)
            )
        if not at_least(max(sides), building.tools.drill_in):
            tight.append(bore.id)
    return tight


def _row(faces: object, v: float) -> int:
    import numpy as np

    array = np.asarray(faces)
    return int(np.clip(np.searchsorted(array, v, side="right") - 1, 0, len(array) - 2))


def _room(faces: object, column: object, start: float, sign: float) -> float:
    """Free distance from a face of a member to the next thing; unlimited at the slab's edge."""
    import numpy as np

    edges, cells = np.asarray(faces), np.asarray(column)
    if sign > 0:
        k = int(np.searchsorted(edges, start - 1e-6))
        while k < len(cells) and cells[k] == 0:
            k += 1
        return float("inf") if k >= len(cells) else float(edges[k] - start)
    k = int(np.searchsorted(edges, start + 1e-6, side="right")) - 2
    while k >= 0 and cells[k] == 0:
        k -= 1
    return float("inf") if k < 0 else float(start - edges[k + 1])

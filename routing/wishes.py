"""Interesting coordinates: because a price is linear in every shared coordinate, a cheapest path uses only these.

They are the places of boxes and the turns above and below them, the ends of legal zones, the edges of what is in the
way, and the heights at which prices or answers change. Everything else in a bay is as good as one of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barnloom.model.boring import interesting_along
from barnloom.model.building import Box, Building, Member, Role
from barnloom.model.limits import Limits
from barnloom.routing.slab import Floats, Slab, Truths, cell_at, free_until, unique_sorted

KNEELING_IN = 24.0
"""Below this height over the floor one kneels to bore (own caution: price only)."""
BESIDE_IN = 0.75
"""Of two lines this near each other that are good for the same, one is enough."""
REACH_IN = 84.0
"""Above this height one stands on a ladder (7 ft)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Exit:
    """Where a cable leaves a box: entry point, and the first point at which it may turn; local (u, v)."""

    box: str
    slab: int
    entry: tuple[float, float]
    turn: tuple[float, float]
    short_in: float
    """How much of the wished straight start does not fit; 0 if it does."""


def row_origin(slab: Slab, members: tuple[Member, ...]) -> float:
    """Coordinate v from which places along most of a slab's members count, so that rows fall on their print grid."""
    starts = []
    for index, way in slab.crossing.items():
        if way == "u" and members[index].assembly == slab.assembly.id:
            starts.append(round(float(slab.local(np.array(members[index].origin))[1]), 6))
    if not starts:
        return 0.0
    values, counts = np.unique(starts, return_counts=True)
    return float(values[int(np.argmax(counts))])


def on_rows(values: Floats, origin: float, grid_in: float, up: bool) -> Floats:
    """Coordinates moved onto the print grid counted from ``origin``, away from the box (up or down)."""
    steps = (values - origin) / grid_in
    whole = np.ceil(steps - 1e-6) if up else np.floor(steps + 1e-6)
    result: Floats = origin + whole * grid_in
    return result


def exits_of(box: Box, slab: Slab, origin: float, grid_in: float) -> list[Exit]:
    """Ways out of a box in a slab: along v both ways, straight for its ``rise_in`` as far as there is room.

    A wall box has its entry points in the middle of its top and bottom faces; a box in a floor or roof at its own (u,
    v). Where neither way has the full room, the longer one is offered with what is missing. ``origin`` is that of the
    slab's rows.
    """
    half = box.size_in[1] / 2 if slab.assembly.kind == "wall" else 0.0
    column = slab.occupied[cell_at(slab.faces_u, box.u_in)]
    found = []
    for way in (1, -1):
        entry = box.v_in + way * half
        wished = entry + way * box.rise_in
        turn = float(on_rows(np.array([wished]), origin, grid_in, way > 0)[0]) if box.rise_in else wished
        outer = box.v_in + way * (box.size_in[1] / 2)
        room = free_until(slab.faces_v, column, outer, way)
        if (room - turn) * way >= -1e-6:
            found.append(
                Exit(box=box.id, slab=slab.number, entry=(box.u_in, entry), turn=(box.u_in, turn), short_in=0.0)
            )
        elif (room - entry) * way > 1e-6:
            missing = abs(wished - room)
            found.append(
                Exit(box=box.id, slab=slab.number, entry=(box.u_in, entry), turn=(box.u_in, room), short_in=missing)
            )
    full = [e for e in found if e.short_in == 0]
    if full:
        return full
    return sorted(found, key=lambda e: e.short_in)[:1]


@dataclass(frozen=True, eq=False, slots=True)
class Wishes:
    """Interesting coordinates of one slab: ``own_*`` from its boxes (passed on to its neighbours), ``u``/``v`` all."""

    own_u: Floats
    own_v: Floats
    u: Floats
    v: Floats
    old_u: Floats
    old_v: Floats
    """Places of holes that are there."""
    crowd_u: Floats
    """Places beside a panel for the plate holes of its home runs, which do not all fit into one."""


def wishes_of(building: Building, slab: Slab, limits: Limits, exits: list[Exit]) -> Wishes:
    """Interesting coordinates of a slab on its own, before neighbours and ports add theirs."""
    own_u = [e.entry[0] for e in exits]
    own_v = [c for e in exits for c in (e.entry[1], e.turn[1])]
    if slab.assembly.kind == "wall":
        # Prices and answers change at these heights; neighbours share them, so that a row may go round a corner.
        base = floor_v(building, slab)
        own_v += [base + KNEELING_IN, base + REACH_IN, base + building.exposed_below_in]
        if building.prices["stud_high"] < building.prices["stud"]:
            grid = building.tools.grid_in
            own_v += [base + KNEELING_IN - grid, base + REACH_IN + grid]
    u, v = list(own_u), list(own_v)
    for box in building.boxes:
        if box.host == slab.assembly.id and not box.side and box.kind != "stub":
            u += [box.u_in - box.size_in[0] / 2, box.u_in + box.size_in[0] / 2]
    # A shortest path bends round the corners of what is in its way.
    u += list(slab.corners_u)
    v += list(slab.corners_v)
    v += list(np.unique(slab.cells.v))
    old_u, old_v = _old_places(building, slab)
    if not slab.assembly.top:
        # Under a slope every stud ends elsewhere; a row just below each top would only make the graph large.
        v += _zone_ends(building, slab, limits)
    crowd_u, crowd_v = _crowd(building, slab, limits, exits)
    v += crowd_v
    low, high = slab.assembly.extent_v
    kept = unique_sorted([x for x in v if low - 1e-6 <= x <= high + 1e-6])
    left, right = slab.assembly.extent_u
    return Wishes(
        unique_sorted(own_u),
        unique_sorted(own_v),
        unique_sorted([x for x in u if left - 1e-6 <= x <= right + 1e-6]),
        kept,
        np.array(old_u),
        np.array(old_v),
        np.array(crowd_u),
    )


def worth_keeping(lines: Floats, always: Truths, uses: Truths) -> Truths:
    """Which of some parallel lines to keep: those that are good for something that no line beside them is.

    Parameters
    ----------
    lines : (n,) float
        Sorted coordinates.
    always : (n,) bool
        Kept whatever they are good for.
    uses : (n, m) bool
        What each is good for.
    """
    kept = always.copy()
    first = np.searchsorted(lines, lines - BESIDE_IN)
    last = np.searchsorted(lines, lines + BESIDE_IN, side="right")
    for k in np.lexsort((lines, -uses.sum(axis=1))).tolist():
        if not kept[k]:
            near = np.arange(first[k], last[k])[kept[first[k] : last[k]]]
            kept[k] = not np.any(np.all(uses[near] | ~uses[k], axis=1))
    return kept


def _crowd(building: Building, slab: Slab, limits: Limits, exits: list[Exit]) -> tuple[list[float], list[float]]:
    """Further rows and plate holes at a panel, as many as its home runs may need, one diameter clear of each other."""
    bit, most = building.tools.per_hole[0]
    step = on_rows(np.array([bit * (1 + limits["stud.hole_gap_diameters"])]), 0.0, building.tools.grid_in, True)[0]
    us: list[float] = []
    vs: list[float] = []
    panels = {box.id for box in building.boxes if box.kind == "panel"}
    for way in (e for e in exits if e.box in panels):
        runs = sum(c.home_runs or len(c.boxes) for c in building.circuits if c.panel == way.box)
        beside = np.arange(1, -(-runs // most)) * step
        up = 1.0 if way.turn[1] > way.entry[1] else -1.0
        vs += list(way.turn[1] + up * beside)
        us += [*(way.entry[0] + beside), *(way.entry[0] - beside)]
    return us, vs


def floor_v(building: Building, slab: Slab) -> float:
    """Coordinate v of the floor that people stand on at a wall."""
    floor = next(s.floor_in for s in building.storeys if s.id == slab.assembly.storey)
    return floor - slab.assembly.origin[2]


def sight_below(building: Building, slab: Slab) -> float:
    """Coordinate v below which cable in this slab is in sight and in reach, with no answer that it is free."""
    wall = slab.assembly
    if wall.kind != "wall" or wall.lining != "none" or building.exposed == "free":
        return -np.inf
    return floor_v(building, slab) + building.exposed_below_in


def face_sight_below(building: Building, member: Member) -> float:
    """Height in the world below which cable on a timber's face is in sight and in reach; a board is made for cable."""
    if building.exposed == "free" or member.role is Role.BOARD:
        return -np.inf
    floor = next((s.floor_in for s in building.storeys if s.id == member.storey), 0.0)
    return floor + building.exposed_below_in


def _old_places(building: Building, slab: Slab) -> tuple[list[float], list[float]]:
    """Coordinates u, and v, at which there are holes already in members that a cable would cross by them."""
    found: dict[str, list[float]] = {"u": [], "v": []}
    for index, way in slab.crossing.items():
        if way not in found:
            continue
        member, axis = building.members[index], 1 if way == "u" else 0
        start = float(slab.local(np.array(member.origin))[axis])
        sign = float(np.sign(slab.axes[axis] @ np.array(member.along)))
        found[way] += [start + sign * hole.along_in for hole in member.holes]
    return found["v"], found["u"]


def _zone_ends(building: Building, slab: Slab, limits: Limits) -> list[float]:
    """Ends of the legal zones of the members that a row would cross."""
    found: list[float] = []
    seen: dict[tuple[object, ...], list[float]] = {}
    for index, way in slab.crossing.items():
        member = building.members[index]
        if way != "u":
            continue
        start = float(slab.local(np.array(member.origin))[1])
        sign = 1.0 if float(np.dot(slab.axes[1], member.along)) > 0 else -1.0
        key = (member.role, member.plies, member.bearing, member.bore, member.maker, member.holes, member.notches)
        if key not in seen:
            ends = [a for bit in building.tools.bits_in[:1] for a in interesting_along(member, limits, bit)]
            grid = building.tools.grid_in
            seen[key] = [round(a / grid) * grid for a in ends]
        found += [start + sign * along for along in seen[key]]
    return found

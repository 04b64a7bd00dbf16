"""What a picture of the whole plan is laid out from: its scale, its parts on the plane, a lane for every cable.

The line drawing and the rendered picture share one layout, so that labels and legend fit both.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from barnloom.model.building import Member, Role
from barnloom.routing.plan import Plan
from barnloom.routing.store import natural_key
from barnloom.viewer.apart import apart
from barnloom.viewer.axonometry import View
from barnloom.viewer.drawing import Bounds
from barnloom.viewer.ghost import Weight, weights
from barnloom.viewer.lanes import side_by_side
from barnloom.viewer.look import Look
from barnloom.viewer.palette import QUIET, Style, styles
from barnloom.viewer.seen import CutEnd, seen
from barnloom.viewer.solids import STEPS, Floats, bore_ends, box_corners, corners, rounded
from barnloom.viewer.totals import Share, shares

WIDTH_PX = 1600
LEGEND_PX = 390
MARGIN_PX = 28
TITLE_PX = 92
CAUTION_PX = 62
LEGEND_ROW_PX = 70
LEGEND_REST_PX = 330
"""Of the legend, without its circuits."""
LEGEND_PART_PX = 190
"""Of what a legend says more where a picture does not show all."""
TALLEST_PX = 1700
"""Of the building; a tall one is drawn smaller."""
CABLE_PX = 4.6
LANE_PX = 7.5
BEND_PX, RING_PX = 5.0, 4.8
BOX_PX, STUB_PX = 18.0, 6.0
"""Least diagonal of a box; side of a stub."""
STOREY_GAP = 0.9
"""Storeys are drawn apart by this share of the building's shorter side; at 1.0 they would just not overlap."""


_ROOF = {Role.RAFTER, Role.RIDGE, Role.COLLAR_TIE}


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """A plan placed on its picture; ``px`` is what a pixel measures on the plane of the view, in inches."""

    plan: Plan
    """What is shown of it (see `barnloom.viewer.seen`): with its storeys lifted apart, in order of id, without cables
    that have no line to draw."""
    whole: Plan
    """All of it, as it was given."""
    look: Look
    storeys_apart: bool
    view: View
    px: float
    bounds: Bounds
    """The whole picture."""
    area: Bounds
    """Where the building and its labels are: left of the legend, between title and cautions."""
    styles: Mapping[str, Style]
    quiet_circuits: frozenset[str]
    """Those of ``Cable.circuit`` that are only hinted at: thin, grey, not named."""
    quiet_boxes: frozenset[str]
    ends: tuple[CutEnd, ...]
    """Where cables leave the picture."""
    shares: tuple[Share, ...]
    """Feet and holes, of the cables that are shown and not quiet; of a cable that is cut, all its feet."""
    members: tuple[Member, ...]
    """Those that are shown."""
    weights: tuple[Weight, ...]
    """How firmly each of them is drawn."""
    bodies: Floats
    """(n, 8, 3) corners of the boxes, small ones enlarged to be seen, stubs drawn as very small boxes."""
    paths: tuple[Floats, ...]
    """(n, 3) centre line of each cable in the world, with its bends rounded and moved beside those it would lie on."""
    rings: tuple[Floats, ...]
    """(n, 3) for each bore: its middle as it lies on each of its cables, in the order of `Bore.cables`."""

    def lines(self) -> tuple[Floats, ...]:
        """(n, 2) line of each cable on the plane."""
        return tuple(self.view.plane(path) for path in self.paths)


def layout(plan: Plan, look: Look | None = None) -> Layout:
    """
    Lay a plan out on its picture.

    Parameters
    ----------
    plan : Plan
        May be without cables, boxes or members.
    look : Look, optional
        What of it is shown, and from where; by default all, from the south-east.
    """
    look = look or Look()
    view = look.view
    given = plan
    ordered = _ordered(plan)
    part = seen(ordered if look.assemblies else apart(ordered, _gap_in(ordered)), look)
    totals = shares(plan if look.whole else _told(part.plan, part.quiet_circuits))
    plan = part.plan
    building = plan.building
    members = tuple(member for member in shown_members(plan) if member.role not in look.without_roles)
    solid = [corners(members)[0].reshape(-1, 3), box_corners(building.boxes, building).reshape(-1, 3)]
    places = view.plane(np.concatenate([*solid, *(np.array(c.points) for c in plan.cables)]))
    if not len(places):
        places = np.zeros((1, 2))
    low, high = places.min(axis=0), places.max(axis=0)
    room = WIDTH_PX - LEGEND_PX - 4 * MARGIN_PX
    px = float(max((high[0] - low[0]) / room, (high[1] - low[1]) / TALLEST_PX, 1e-3))
    middle = (low + high) / 2
    legend_px = LEGEND_REST_PX + LEGEND_ROW_PX * len({c.circuit for c in plan.cables} - part.quiet_circuits)
    legend_px += 0 if look.whole else LEGEND_PART_PX
    height = float(max((high[1] - low[1]) / px + 4 * MARGIN_PX, legend_px))
    area = Bounds(
        left=float(middle[0] - (room / 2 + MARGIN_PX) * px),
        right=float(middle[0] + (room / 2 + MARGIN_PX) * px),
        bottom=float(middle[1] - height / 2 * px),
        top=float(middle[1] + height / 2 * px),
    )
    left, bottom = area.left - MARGIN_PX * px, area.bottom - CAUTION_PX * px
    height_px = math.ceil(height + TITLE_PX + CAUTION_PX)
    bounds = Bounds(left=left, right=left + WIDTH_PX * px, bottom=bottom, top=bottom + height_px * px)
    runs = side_by_side_runs(plan, view, apart_in=LANE_PX * px, along_in=12.0)
    return Layout(
        plan=plan,
        whole=given,
        look=look,
        storeys_apart=_differ(members, given),
        view=view,
        px=px,
        bounds=bounds,
        area=area,
        styles={name: QUIET if name in part.quiet_circuits else style for name, style in styles(given).items()},
        quiet_circuits=part.quiet_circuits,
        quiet_boxes=part.quiet_boxes,
        ends=part.ends,
        shares=totals,
        members=members,
        weights=weights(members, plan.bores, look),
        bodies=_enlarged(box_corners(building.boxes, building), px),
        paths=tuple(rounded(run, BEND_PX * px) for run in runs),
        rings=tuple(_rings(plan, view, runs)),
    )


def side_by_side_runs(plan: Plan, view: View, *, apart_in: float, along_in: float) -> list[Floats]:
    """Points (n, 3) of every cable, moved within the picture's plane so that none lies on another."""
    points = [np.array(cable.points) for cable in plan.cables]
    lines = [view.plane(each) for each in points]
    moved = side_by_side(lines, apart_in=apart_in, along_in=along_in)
    return [p + (new - old) @ view.axes[:2] for p, old, new in zip(points, lines, moved, strict=True)]


def _differ(members: Sequence[Member], given: Plan) -> bool:
    """Whether some of the members are lifted farther than others, or stretched."""
    before = {member.id: member for member in given.building.members}
    lifts = {round(m.origin[2] - before[m.id].origin[2], 6) for m in members}
    return len(lifts) > 1 or any(m.length_in != before[m.id].length_in for m in members)


def _told(plan: Plan, quiet: frozenset[str]) -> Plan:
    """Return the plan without quiet circuits, each cable once."""
    once = {cable.id: cable for cable in plan.cables if cable.circuit not in quiet}
    return replace(plan, cables=tuple(once.values()))


def _ordered(plan: Plan) -> Plan:
    """Put everything into order of id, so that its order in the plan changes nothing; keep cables that have a line."""
    cables = sorted((c for c in plan.cables if len(c.points) > 1), key=lambda cable: natural_key(cable.id))
    building = plan.building
    boxes = sorted(building.boxes, key=lambda box: (box.kind != "panel", natural_key(box.id)))
    members = sorted(building.members, key=lambda member: natural_key(member.id))
    assemblies = sorted(building.assemblies, key=lambda assembly: natural_key(assembly.id))
    building = replace(building, boxes=tuple(boxes), members=tuple(members), assemblies=tuple(assemblies))
    return replace(plan, cables=tuple(cables), building=building)


def _enlarged(bodies: Floats, px: float) -> Floats:
    """Boxes as they are, or as large as can be seen; a stub, which has no size, as a small cube."""
    middles = bodies.mean(axis=1, keepdims=True)
    sizes = np.linalg.norm(bodies[:, 7] - bodies[:, 0], axis=1)[:, None, None]
    larger: Floats = middles + (bodies - middles) * np.maximum(1.0, BOX_PX * px / np.maximum(sizes, 1e-6))
    cube: Floats = middles + (STEPS - 0.5) * STUB_PX * px
    larger[sizes[:, 0, 0] <= 1e-6] = cube[sizes[:, 0, 0] <= 1e-6]
    return larger


def _gap_in(plan: Plan) -> float:
    places = corners(plan.building.members)[0][:, :, :2].reshape(-1, 2)
    return STOREY_GAP * float(np.ptp(places, axis=0).min()) if len(places) else 0.0


def shown_members(plan: Plan) -> tuple[Member, ...]:
    """Every member but those of roofs that no cable goes through and no box is on: they would hide what is below."""
    building = plan.building
    roofs = {a.id for a in building.assemblies if a.kind == "roof"}
    in_use = {bore.member for bore in plan.bores} | {box.host for box in building.boxes}
    return tuple(m for m in building.members if m.id in in_use or not (m.assembly in roofs or m.role in _ROOF))


def _rings(plan: Plan, view: View, runs: list[Floats]) -> list[Floats]:
    """For each bore, its middle as it lies on each of its cables (n, 3); on its own where it has none."""
    start, end = bore_ends(plan.bores, plan.building)
    index = {(cable.id, bore): i for i, cable in enumerate(plan.cables) for bore in cable.bores}
    found = []
    for bore, middle in zip(plan.bores, (start + end) / 2, strict=True):
        on = [index[cable, bore.id] for cable in bore.cables if (cable, bore.id) in index]
        moves = [_move_at(np.array(plan.cables[i].points), runs[i], middle) for i in on]
        found.append(middle + np.array(moves) if moves else middle[None])
    return found


def _move_at(points: Floats, moved: Floats, place: Floats) -> Floats:
    """How far a cable is moved where it passes a place."""
    a, b = points[:-1], points[1:]
    legs = b - a
    t = np.clip(((place - a) * legs).sum(axis=1) / np.maximum((legs**2).sum(axis=1), 1e-12), 0.0, 1.0)
    i = int(np.argmin(np.linalg.norm(a + t[:, None] * legs - place, axis=1)))
    by = moved - points
    move: Floats = by[i] + t[i] * (by[i + 1] - by[i])
    return move

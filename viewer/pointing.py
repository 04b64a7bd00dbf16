"""What a person points at in the 3D window, and what is said of it.

Framing is see-through there, so what counts is what is seen under the pointer: a hole before a box, a box before a
cable, a cable before the timber in front of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from barnloom.model.building import Member
from barnloom.model.lengths import format_length
from barnloom.routing.plan import Plan
from barnloom.viewer.layout import CABLE_PX, RING_PX, Layout
from barnloom.viewer.paths import hole_place
from barnloom.viewer.solids import Floats, corners
from barnloom.viewer.text import clean, counted
from barnloom.viewer.totals import feet, run_of


@dataclass(frozen=True, slots=True)
class Thing:
    """A "hole", "box", "cable" or "member", by its id."""

    kind: str
    id: str


def pointed(laid: Layout, near: Floats, way: Floats, *, within_in: float) -> Thing | None:
    """
    Find what a line of sight meets.

    Parameters
    ----------
    laid : Layout
        What is drawn.
    near : (3,) float
        The line's point at the eye, inches.
    way : (3,) float
        Its direction, away from the eye, of length 1.
    within_in : float
        How far beside the line thin things still count.
    """
    square = _square_to(way)
    plan = laid.plan
    rings = [(square @ (places - near).T).T for places in laid.rings]
    hole = _least([float(np.hypot(*places.T).min()) for places in rings], max(within_in, RING_PX * laid.px))
    if hole is not None:
        return Thing("hole", plan.bores[hole].id)
    box = _first(laid.bodies, near, way)
    if box is not None:
        return Thing("box", plan.building.boxes[box].id)
    lines = [(square @ (path - near).T).T for path in laid.paths]
    cable = _least([_from_origin(line) for line in lines], max(within_in, CABLE_PX / 2 * laid.px))
    if cable is not None:
        return Thing("cable", plan.cables[cable].id)
    solids, owner = corners(laid.members)
    timber = _first(solids, near, way)
    return None if timber is None else Thing("member", laid.members[owner[timber]].id)


def words(plan: Plan, thing: Thing) -> str:
    """Say of a thing what the lists say: lengths, and where its holes are."""
    metric = plan.building.metric
    members = {member.id: member for member in plan.building.members}
    if thing.kind == "hole":
        bore = next(bore for bore in plan.bores if bore.id == thing.id)
        low = format_length(bore.across_min_in, metric=metric, feet=False, rounding="up")
        high = format_length(bore.across_max_in, metric=metric, feet=False, rounding="down")
        bit = format_length(bore.diameter_in, metric=metric, feet=False)
        place = hole_place(bore, members[bore.member], metric=metric)
        return f"hole {bore.id}: {bit} bit, {place}, allowed {low} to {high}; cables {', '.join(bore.cables)}"
    if thing.kind == "box":
        box = next(box for box in plan.building.boxes if box.id == thing.id)
        named = f" {clean(box.title)};" if box.title else ""
        return f"{box.kind} {box.id}:{named} circuits {', '.join(box.circuits)}"
    if thing.kind == "cable":
        cable = next(cable for cable in plan.cables if cable.id == thing.id)
        cut, holes = run_of(feet(cable.cut_in), metric=metric), counted(len(cable.bores), "hole")
        return f"cable {cable.id}: {cable.type}, {cable.from_box} to {cable.to_box}, cut {cut}, {holes}"
    return _member_words(plan, members[thing.id])


def _member_words(plan: Plan, member: Member) -> str:
    metric = plan.building.metric
    holes = [f"{b.id} {hole_place(b, member, metric=metric)}" for b in plan.bores if b.member == member.id]
    length = format_length(member.length_in, metric=metric)
    what = f"{member.role.replace('_', ' ')} {member.id}: {clean(member.section)}, {length} long"
    return "; ".join([what, *(holes or ["no holes"])])


def _square_to(way: Floats) -> Floats:
    """Two unit vectors square to a direction, as rows."""
    across = np.cross(way, np.eye(3)[np.argmin(np.abs(way))])
    across /= np.linalg.norm(across)
    return np.stack([across, np.cross(way, across)])


def _least(far: Sequence[float], within_in: float) -> int | None:
    if not far or min(far) > within_in:
        return None
    return int(np.argmin(far))


def _from_origin(line: Floats) -> float:
    """Distance between the origin and a polyline on the plane."""
    a, legs = line[:-1], np.diff(line, axis=0)
    t = np.clip(-(a * legs).sum(axis=1) / np.maximum((legs**2).sum(axis=1), 1e-12), 0.0, 1.0)
    return float(np.hypot(*(a + t[:, None] * legs).T).min())


def _first(solids: Floats, near: Floats, way: Floats) -> int | None:
    """Return which of (n, 8, 3) boxes a line meets first."""
    if not len(solids):
        return None
    axes = np.stack([solids[:, 4], solids[:, 2], solids[:, 1]], axis=1) - solids[:, :1]
    size = np.maximum(np.linalg.norm(axes, axis=2), 1e-9)
    axes = axes / size[:, :, None]
    start = np.einsum("nax,nx->na", axes, near - solids[:, 0])
    step = axes @ way
    step = np.where(np.abs(step) < 1e-12, 1e-12, step)
    ends = np.stack([-start / step, (size - start) / step])
    enter, leave = ends.min(axis=0).max(axis=1), ends.max(axis=0).min(axis=1)
    met = np.where(enter <= leave, enter, np.inf)
    best = int(np.argmin(met))
    return best if np.isfinite(met[best]) else None

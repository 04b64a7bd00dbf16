"""Where new holes open: their mouths must not lie against the wood of another member."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from barnloom.model.limits import at_least
from barnloom.routing.check.bores import rule_of
from barnloom.routing.check.finding import SAME_IN, Finding, Site
from barnloom.routing.check.runs import TAPE_IN
from barnloom.routing.check.shapes import (
    Floats,
    Ints,
    Solids,
    assembly_axes,
    distances,
    in_world,
    member_axes,
    near_pairs,
)
from barnloom.routing.plan import Bore


@dataclass(frozen=True, slots=True)
class Mouth:
    """One end of a hole: its middle in the world, axes (along its member, outward, across), the room it wants."""

    bore: Bore
    place: Floats
    axes: Floats
    room_in: float


def mouth_findings(site: Site, solids: Solids) -> Iterator[Finding]:
    """Return the new holes that open against the wood of another member, wholly or in part."""
    mouths = [mouth for bore in site.plan.bores for mouth in _mouths(bore, site)]
    if not mouths:
        return
    partners = _bored_together(site)
    places, rooms = np.array([mouth.place for mouth in mouths]), np.array([mouth.room_in for mouth in mouths])
    reach = np.maximum(rooms, TAPE_IN)[:, None]
    a, b = near_pairs(places - reach, places + reach, solids.world)
    far = _clear(places, np.array([mouth.axes for mouth in mouths]), solids, a, b)
    least: dict[tuple[str, str], tuple[float, float]] = {}
    for k in np.flatnonzero(~at_least(far, rooms[a])):
        bore, name = mouths[a[k]].bore, solids.names[b[k]]
        if solids.kinds[b[k]] == "member" and name != bore.member and name not in partners[bore.id]:
            radius = bore.diameter_in / 2
            gap = (float(far[k]) - radius, float(rooms[a[k]]) - radius)
            least[bore.id, name] = min(least.get((bore.id, name), gap), gap)
    for (bore_id, name), (gap_in, needed) in least.items():
        words = f"its mouth is {site.text(gap_in)} off {name}, {site.text(needed)} needed"
        yield Finding("bore.mouth", bore_id, f"{words} ({site.rule('plate.member_gap')})")


def _clear(places: Floats, axes: Floats, solids: Solids, a: Ints, b: Ints) -> Floats:
    """Return how far from the middles of mouths ``a`` solids ``b`` stand on the face, (k,); infinite if not on it."""
    turn = np.einsum("kij,klj->kil", axes[a], solids.frames.axes[b])
    low, high = solids.low[b], solids.high[b]
    middle = np.einsum("kl,klj->kj", (low + high) / 2, solids.frames.axes[b]) + solids.frames.origin[b]
    middle = np.einsum("kij,kj->ki", axes[a], middle - places[a])
    half = np.einsum("kil,kl->ki", np.abs(turn), (high - low) / 2)
    beside = np.maximum(np.abs(middle) - half, 0.0)
    on_face = (middle[:, 1] - half[:, 1] < TAPE_IN) & (middle[:, 1] + half[:, 1] > SAME_IN)
    square = np.all((np.abs(turn) < 1e-6) | (np.abs(turn) > 1 - 1e-6), axis=(1, 2))
    straight = np.where(on_face, np.hypot(beside[:, 0], beside[:, 2]), np.inf)
    askew = distances(solids.frames.local(b, places[a] + SAME_IN * axes[a, 1]), low, high)
    result: Floats = np.where(square, straight, askew)
    return result


def _bored_together(site: Site) -> dict[str, set[str]]:
    """Return for each bore the members that a cable enters straight out of it, through holes of their own."""
    partners: dict[str, set[str]] = defaultdict(set)
    for cable in site.plan.cables:
        last: Bore | None = None
        since = math.inf
        for start, end, track in zip(cable.points, cable.points[1:], cable.tracks, strict=False):
            bore = site.bores.get(track.removeprefix("bore "))
            if bore is None:
                since += math.dist(start, end)
                continue
            if last is not None and since < TAPE_IN:
                partners[last.id].add(bore.member)
                partners[bore.id].add(last.member)
            last, since = bore, 0.0
    return partners


def _mouths(bore: Bore, site: Site) -> Iterator[Mouth]:
    """Return both mouths of a new hole, and the one beyond a subfloor that it goes through."""
    member = site.members.get(bore.member)
    if member is None or bore.existing or member.corner:
        return  # in a framed corner holes end inside the wood of the next member
    wood = [ply.bit for ply in member.plies if ply.along[0] < bore.along_in < ply.along[1]]
    if not wood:
        return  # the hole itself is at fault
    room = bore.diameter_in / 2 + (site.limits["plate.member_gap"] if rule_of(member, site) == "plate" else 0.0)
    for side, face in ((-1.0, min(span[0] for span in wood)), (1.0, max(span[1] for span in wood))):
        place = in_world(member.origin, member_axes(member), (bore.along_in, face, bore.across_in))
        axes = np.array([member.along, side * np.array(member.bit), member.across])
        yield Mouth(bore, place, axes, room)
        skin = _skin(place, axes[1], site)
        if skin:
            yield Mouth(bore, place + skin * axes[1], axes, room)


def _skin(place: Floats, out: Floats, site: Site) -> float:
    """Return the thickness of the subfloor that a mouth opens against; 0 if there is none."""
    for slab in site.plan.building.assemblies:
        if slab.skin_in > 0 and float(np.dot(out, slab.w)) < -0.999:
            u, v, w = np.array(assembly_axes(slab)) @ (place - np.array(slab.origin))
            on_it = slab.extent_u[0] <= u <= slab.extent_u[1] and slab.extent_v[0] <= v <= slab.extent_v[1]
            if on_it and abs(w - slab.depth_in - slab.skin_in) < TAPE_IN:
                return slab.skin_in
    return 0.0

"""Where new holes open: their mouths must not lie against the wood of another member."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

import numpy as np

from barnloom.model.building import Member
from barnloom.model.limits import at_least
from barnloom.routing.check.bores import rule_of
from barnloom.routing.check.finding import SAME_IN, Finding, Site
from barnloom.routing.check.runs import TAPE_IN
from barnloom.routing.check.shapes import (
    Floats,
    Solids,
    assembly_axes,
    distances,
    in_world,
    member_axes,
    near_pairs,
)
from barnloom.routing.plan import Bore

PROUD_IN = 1e-3
"""A mouth is looked at this far outside the wood, where what covers it stands."""


def mouth_findings(site: Site, solids: Solids) -> Iterator[Finding]:
    """Return the new holes that open against the wood of another member, wholly or in part."""
    partners = _bored_together(site)
    bores: list[Bore] = []
    points: list[Floats] = []
    reaches: list[float] = []
    for bore in site.plan.bores:
        member = site.members.get(bore.member)
        if member is None or bore.existing or member.corner:
            continue  # in a framed corner holes end inside the wood of the next member
        kept = site.limits["plate.member_gap"] if rule_of(member, site) == "plate" else 0.0
        for point in _mouth_points(member, bore, site):
            bores.append(bore)
            points.append(point)
            reaches.append(bore.diameter_in / 2 + kept)
    if not bores:
        return
    places, reach = np.array(points), np.array(reaches)
    a, b = near_pairs(places - reach[:, None], places + reach[:, None], solids.world)
    far = distances(solids.frames.local(b, places[a]), solids.low[b], solids.high[b])
    least: dict[tuple[str, str], tuple[float, float]] = {}
    for k in np.flatnonzero(~at_least(far, reach[a])):
        bore, name = bores[a[k]], solids.names[b[k]]
        if solids.kinds[b[k]] == "member" and name != bore.member and name not in partners[bore.id]:
            radius = bore.diameter_in / 2
            gap = (float(far[k]) - radius, float(reach[a[k]]) - radius)
            least[bore.id, name] = min(least.get((bore.id, name), gap), gap)
    for (bore_id, name), (gap_in, needed) in least.items():
        words = f"its mouth is {site.text(gap_in)} off {name}, {site.text(needed)} needed"
        yield Finding("bore.mouth", bore_id, f"{words} ({site.rule('plate.member_gap')})")


def _bored_together(site: Site) -> dict[str, set[str]]:
    """Return for each bore the members that a cable enters straight out of it: they have holes of their own there."""
    partners: dict[str, set[str]] = defaultdict(set)
    for cable in site.plan.cables:
        for pair in zip(cable.tracks[:-1], cable.tracks[1:], strict=True):
            one, other = (site.bores.get(track.removeprefix("bore ")) for track in pair)
            if one is not None and other is not None:
                partners[one.id].add(other.member)
                partners[other.id].add(one.member)
    return partners


def _mouth_points(member: Member, bore: Bore, site: Site) -> Iterator[Floats]:
    """Return places just outside both mouths of a hole, and beyond a subfloor that it goes through."""
    wood = [ply.bit for ply in member.plies if ply.along[0] < bore.along_in < ply.along[1]]
    if not wood:
        return
    for side, face in ((-1.0, min(span[0] for span in wood)), (1.0, max(span[1] for span in wood))):
        for out in (PROUD_IN, TAPE_IN):
            point = in_world(member.origin, member_axes(member), (bore.along_in, face + side * out, bore.across_in))
            yield point
        for slab in site.plan.building.assemblies:
            if slab.skin_in > 0 and side * float(np.dot(member.bit, slab.w)) < -0.999:
                place = np.array(assembly_axes(slab)) @ (point - np.array(slab.origin))
                inside = all(
                    span[0] - SAME_IN <= at <= span[1] + SAME_IN
                    for at, span in zip(place, (slab.extent_u, slab.extent_v), strict=False)
                )
                if inside and slab.depth_in - TAPE_IN < place[2] < slab.depth_in + slab.skin_in:
                    yield point + side * np.array(member.bit) * slab.skin_in

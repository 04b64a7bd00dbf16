"""Every leg of every cable against the framing: where it may run, what is in its way, its holes from face to face."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

import numpy as np

from barnloom.model.building import Member, Right, Role, Vec
from barnloom.routing.check.finding import SAME_IN, Finding, Site
from barnloom.routing.check.legs import Legs, Track, skew
from barnloom.routing.check.shapes import (
    HAIR_IN,
    Floats,
    Ints,
    Solids,
    Truths,
    assembly_axes,
    in_world,
    member_axes,
    near_pairs,
    product,
    stretches,
)
from barnloom.routing.plan import Bore

TAPE_IN = 0.5
"""Surfaces this near each other touch: tapes err."""
EAVE_IN = 4.0
"""A rafter is let down onto its plate, so the hole through the plate may open this far under the rafters' underside."""


def run_findings(site: Site, legs: Legs, solids: Solids) -> Iterator[Finding]:
    """Return where cables run as they must not, and which holes and cables do not name each other."""
    names = site.plan.cables
    for leg in skew(legs):
        words = f"leg {legs.number[leg] + 1} runs along more than one axis of {legs.tracks[leg].host.id} at once"
        yield Finding("run.axis", names[legs.cable[leg]].id, words)
    yield from _outside(site, legs)
    yield from _sloped_tops(site, legs)
    yield from _voids(site, legs)
    yield from _skins(site, legs)
    yield from _faces(site, legs)
    yield from _through(site, legs)
    yield from _in_the_way(site, legs, solids)
    yield from _named(site)


def beside_bores(legs: Legs) -> Truths:
    """Return which legs begin or end at a bore of the same cable, (n,)."""
    bored = np.array([track.bore is not None for track in legs.tracks], dtype=bool)
    beside = np.zeros(len(legs), dtype=bool)
    same = legs.cable[1:] == legs.cable[:-1]
    beside[1:] |= bored[:-1] & same
    beside[:-1] |= bored[1:] & same
    result: Truths = beside & ~bored
    return result


# --- where a leg says it is ------------------------------------------------------------------------------------------


def _region(track: Track, opens: bool) -> tuple[Vec, Vec]:
    """Return the spans, in its host's axes, that a leg keeps; one that ``opens`` into a hole may go past them."""
    if track.assembly is not None:
        slab = track.assembly
        # Parts that touch do so only as far as a tape goes: a cable steps over a gap, or past an edge, by that much.
        slack = TAPE_IN
        under = EAVE_IN if opens and slab.kind == "roof" else slack
        over = max(slack, slab.skin_in) if opens else slack
        return (
            (slab.extent_u[0] - slack, slab.extent_v[0] - slack, -under),
            (slab.extent_u[1] + slack, slab.extent_v[1] + slack, slab.depth_in + over),
        )
    member = track.member
    assert member is not None
    if track.bore is not None:
        along, across = track.bore.along_in, track.bore.across_in
        return (along, -np.inf, across), (along, np.inf, across)
    low, high = [0.0, 0.0, 0.0], [member.length_in, member.thickness_in, member.depth_in]
    # A cable gets onto a board's face over the board's edge: there it may be anywhere in its thickness.
    if track.face and member.role is not Role.BOARD:
        axis = 1 if track.face.endswith("bit") else 2
        low[axis] = high[axis] = high[axis] if track.face.startswith("+") else low[axis]
    # Timbers are flush, and touch, only as far as a tape goes: a cable steps from one to the other by that much.
    slack = TAPE_IN if track.face else 0.0
    return (low[0] - slack, low[1] - slack, low[2] - slack), (high[0] + slack, high[1] + slack, high[2] + slack)


def _outside(site: Site, legs: Legs) -> Iterator[Finding]:
    opens = beside_bores(legs)
    regions = [_region(track, bool(near)) for track, near in zip(legs.tracks, opens, strict=True)]
    spans = np.array(regions, dtype=np.float64).reshape(-1, 2, 3)
    beyond = np.maximum(spans[:, 0] - legs.low(), legs.high() - spans[:, 1]).max(axis=1, initial=-np.inf)
    for leg in np.flatnonzero(beyond > SAME_IN):
        track, cable = legs.tracks[leg], site.plan.cables[legs.cable[leg]]
        by = site.text(float(beyond[leg]))
        if track.bore is not None:
            words = f"leg {legs.number[leg] + 1} is {by} off the axis of bore {track.bore.id}"
            yield Finding("run.bore", cable.id, words)
        else:
            where = cable.tracks[legs.number[leg]]
            yield Finding("run.outside", cable.id, f"leg {legs.number[leg] + 1} is {by} outside {where}: in mid-air")


def _sloped_tops(site: Site, legs: Legs) -> Iterator[Finding]:
    highest = legs.high()[:, 1]
    for leg, track in enumerate(legs.tracks):
        if track.assembly is None or not track.assembly.top:
            continue
        u, v = zip(*track.assembly.top, strict=True)
        ends = sorted((float(legs.local_start[leg, 0]), float(legs.local_end[leg, 0])))
        stops = [*ends, *(corner for corner in u if ends[0] < corner < ends[1])]
        over = float(highest[leg] - np.min(np.interp(stops, u, v)))
        if over > SAME_IN:
            words = f"leg {legs.number[leg] + 1} is {site.text(over)} over the top of {track.assembly.id}"
            yield Finding("run.outside", site.plan.cables[legs.cable[leg]].id, words)


def _voids(site: Site, legs: Legs) -> Iterator[Finding]:
    for slab in site.plan.building.assemblies:
        own = np.array([leg for leg, track in enumerate(legs.tracks) if track.assembly is slab], dtype=np.int64)
        if not slab.voids or not len(own):
            continue
        for void in slab.voids:
            low = np.array([void.u[0] + SAME_IN, void.v[0] + SAME_IN, -np.inf])
            high = np.array([void.u[1] - SAME_IN, void.v[1] - SAME_IN, np.inf])
            found = stretches(legs.local_start[own], legs.local_end[own], low, high)
            inside = (found[:, 1] - found[:, 0]) * legs.length[own]
            for place in np.flatnonzero(inside > SAME_IN):
                leg = own[place]
                length = site.text(float(inside[place]))
                words = f"leg {legs.number[leg] + 1} crosses {void.id} of {slab.id} in mid-air for {length}"
                yield Finding("run.void", site.plan.cables[legs.cable[leg]].id, words)


def _skins(site: Site, legs: Legs) -> Iterator[Finding]:
    """Return the legs that go through a subfloor elsewhere than in the hole of the plate on it."""
    opens = beside_bores(legs)
    for slab in site.plan.building.assemblies:
        if slab.skin_in <= 0 or not len(legs):
            continue
        axes = np.array(assembly_axes(slab))
        start, end = ((points - np.array(slab.origin)) @ axes.T for points in (legs.start, legs.end))
        low = np.array([slab.extent_u[0], slab.extent_v[0], slab.depth_in]) + SAME_IN
        high = np.array([slab.extent_u[1], slab.extent_v[1], slab.depth_in + slab.skin_in]) - SAME_IN
        found = stretches(start, end, low, high)
        for leg in np.flatnonzero((found[:, 1] - found[:, 0]) * legs.length > SAME_IN):
            upright = bool(np.all(np.abs(end[leg] - start[leg])[:2] < SAME_IN))
            if upright and (legs.tracks[leg].bore is not None or opens[leg]):
                continue
            ends = start[leg] + np.outer(found[leg], end[leg] - start[leg])
            if not any(_within(ends, void.u, void.v) for void in slab.voids):
                words = f"leg {legs.number[leg] + 1} goes through the subfloor of {slab.id} where no plate is bored"
                yield Finding("run.subfloor", site.plan.cables[legs.cable[leg]].id, words)


def _within(points: Floats, u: tuple[float, float], v: tuple[float, float]) -> bool:
    low, high = np.array([u[0], v[0]]) - SAME_IN, np.array([u[1], v[1]]) + SAME_IN
    return bool(np.all((points[:, :2] >= low) & (points[:, :2] <= high)))


def _faces(site: Site, legs: Legs) -> Iterator[Finding]:
    for leg, track in enumerate(legs.tracks):
        if track.member is not None and track.bore is None and track.member.fasten is not Right.FREE:
            why = f": {track.member.reason}" if track.member.reason else ""
            words = f"it runs on {track.member.id}, where no cable may be fastened ({track.member.fasten.value}){why}"
            yield Finding("run.fasten", site.plan.cables[legs.cable[leg]].id, words)


# --- through the wood ------------------------------------------------------------------------------------------------


def meets_next(legs: Legs, leg: int) -> bool:
    """Whether a leg and the next are two holes that meet inside a framed corner."""
    if leg < 0 or leg + 1 >= len(legs) or legs.cable[leg] != legs.cable[leg + 1]:
        return False
    one, other = legs.tracks[leg], legs.tracks[leg + 1]
    if one.bore is None or other.bore is None or one.member is None or other.member is None:
        return False
    return one.member.corner and other.member.corner and abs(product(one.member.bit, other.member.bit)) < 0.999


def _through(site: Site, legs: Legs) -> Iterator[Finding]:
    """Return the bore legs that do not go from one face of the member to the other."""
    lows, highs, ahead = legs.low()[:, 1], legs.high()[:, 1], legs.steps[:, 1] >= 0
    for leg, track in enumerate(legs.tracks):
        bore, member = track.bore, track.member
        if bore is None or member is None:
            continue
        wood = [ply.bit for ply in member.plies if ply.along[0] < bore.along_in < ply.along[1]]
        if not wood:
            continue  # the hole itself is at fault
        meets_low, meets_high = (meets_next(legs, leg - 1), meets_next(legs, leg))[:: 1 if ahead[leg] else -1]
        low, high = float(lows[leg]), float(highs[leg])
        first, last = min(span[0] for span in wood), max(span[1] for span in wood)
        cable = site.plan.cables[legs.cable[leg]]
        short = max(0.0 if meets_low else low - first, 0.0 if meets_high else last - high)
        if short > SAME_IN:
            words = f"leg {legs.number[leg] + 1} ends {site.text(short)} inside {member.id}"
            yield Finding("run.bore", cable.id, f"{words}, not at the mouth of bore {bore.id}")
        for over, meets, bit in ((-low, meets_low, low), (high - member.thickness_in, meets_high, high)):
            if over > SAME_IN and not meets and not _in_skin(member, bore, bit, over, site):
                words = (
                    f"leg {legs.number[leg] + 1} says it is in bore {bore.id} for {site.text(over)} beyond {member.id}"
                )
                yield Finding("run.bore", cable.id, words)


def _in_skin(member: Member, bore: Bore, bit: float, over: float, site: Site) -> bool:
    """Whether a bore's mouth lies under the subfloor that its plate stands on."""
    mouth = in_world(member.origin, member_axes(member), (bore.along_in, bit, bore.across_in))
    for slab in site.plan.building.assemblies:
        if slab.skin_in > 0 and over <= slab.skin_in + TAPE_IN + SAME_IN:
            place = np.array(assembly_axes(slab)) @ (mouth - np.array(slab.origin))
            upright = abs(float(np.dot(member.bit, slab.w))) > 0.999
            if upright and abs(float(place[2]) - slab.depth_in) < SAME_IN:
                return True
    return False


def _in_the_way(site: Site, legs: Legs, solids: Solids) -> Iterator[Finding]:
    codes = {"member": "run.wood", "box": "run.box", "keep clear": "run.clear"}
    for leg, solid, share in blocked(site, legs, solids):
        kind, name = solids.kinds[solid], solids.names[solid]
        length = site.text(share * float(legs.length[leg]))
        words = f"leg {legs.number[leg] + 1} runs through {name} ({kind}) for {length}"
        yield Finding(codes[kind], site.plan.cables[legs.cable[leg]].id, words)


def blocked(site: Site, legs: Legs, solids: Solids) -> list[tuple[int, int, float]]:
    """
    Return which legs run inside which solids, and for what share of their length.

    Notes
    -----
    A leg on a face is free if one side of it is. So each leg is looked at as four hairs round it, and it is blocked
    where all four are in wood: inside one solid, or between two that touch.
    """
    if not len(legs) or not len(solids):
        return []
    main = np.argmax(np.abs(legs.steps), axis=1)
    every = np.arange(len(legs))
    one, other = legs.frames.axes[every, (main + 1) % 3], legs.frames.axes[every, (main + 2) % 3]
    hairs = HAIR_IN * np.stack([one + other, one - other, -one + other, -one - other], axis=1)
    a, b = near_pairs(np.minimum(legs.start, legs.end), np.maximum(legs.start, legs.end), solids.world)
    keep = ~_allowed(site, legs, solids, a, b) & (legs.length[a] > SAME_IN)
    a, b = a[keep], b[keep]
    axes, origin = solids.frames.axes[b], solids.frames.origin[b]
    start = np.einsum("kij,khj->khi", axes, legs.start[a][:, None] + hairs[a] - origin[:, None])
    step = np.einsum("kij,kj->ki", axes, legs.end[a] - legs.start[a])
    found = stretches(start, start + step[:, None], solids.low[b][:, None], solids.high[b][:, None])
    touched = (found[..., 1] - found[..., 0]) * legs.length[a][:, None] > SAME_IN
    common = found[..., 1].min(axis=1) - found[..., 0].max(axis=1)
    inside = common * legs.length[a] > SAME_IN
    result = [(int(a[k]), int(b[k]), float(common[k])) for k in np.flatnonzero(inside)]
    result += _between(legs, a, b, found, touched, {leg for leg, _, _ in result})
    return sorted(result)


def _allowed(site: Site, legs: Legs, solids: Solids, a: Ints, b: Ints) -> Truths:
    """Return which pairs of leg and solid are no clash: a bore's own member, a corner's two, a ceiling box's body."""
    names = {name: number for number, name in enumerate(dict.fromkeys(solids.names))}
    owner = np.array([names[name] for name in solids.names], dtype=np.int64)
    pairs: list[int] = []
    last = np.append(legs.cable[1:] != legs.cable[:-1], True)

    def allow(leg: int, name: str) -> None:
        if name in names:
            pairs.append(leg * len(names) + names[name])

    for leg, track in enumerate(legs.tracks):
        if track.bore is not None and track.member is not None:
            allow(leg, track.member.id)
            if meets_next(legs, leg):
                partner = legs.tracks[leg + 1].member
                assert partner is not None
                allow(leg, partner.id)
                allow(leg + 1, track.member.id)
        elif track.assembly is not None and track.assembly.kind != "wall":
            cable = site.plan.cables[legs.cable[leg]]
            # In a floor or a roof the entry point is on the mid-depth plane, which may lie inside the box.
            for at_end, name in ((legs.number[leg] == 0, cable.from_box), (last[leg], cable.to_box)):
                box = site.boxes.get(name)
                if at_end and box is not None and not box.side:
                    allow(leg, name)
    result: Truths = np.isin(a * len(names) + owner[b], np.array(pairs, dtype=np.int64))
    return result


def _between(
    legs: Legs, a: Ints, b: Ints, found: Floats, touched: Truths, done: set[int]
) -> Iterator[tuple[int, int, float]]:
    """Return the legs with wood on all sides though no one solid is round them: they run in a crack."""
    pairs: dict[int, list[int]] = defaultdict(list)
    for k in np.flatnonzero(touched.any(axis=1)):
        pairs[int(a[k])].append(int(k))
    for leg, rows in pairs.items():
        if leg in done or len(rows) < 2 or not touched[rows].any(axis=0).all():
            continue
        spans = found[rows]
        stops = np.unique(np.clip(spans, 0.0, 1.0))
        middle = (stops[1:] + stops[:-1]) / 2
        covered = ((spans[:, :, 0, None] < middle) & (spans[:, :, 1, None] > middle)).any(axis=0).all(axis=0)
        share = float(np.sum(np.diff(stops)[covered]))
        if share * float(legs.length[leg]) > SAME_IN:
            yield leg, int(b[rows[0]]), share


# --- holes and cables name each other --------------------------------------------------------------------------------


def _named(site: Site) -> Iterator[Finding]:
    passing: dict[str, list[str]] = defaultdict(list)
    for cable in site.plan.cables:
        through = tuple(track.removeprefix("bore ") for track in cable.tracks if track.startswith("bore "))
        if through != cable.bores:
            words = (
                f"it names the bores {' '.join(cable.bores) or 'none'}, but runs through {' '.join(through) or 'none'}"
            )
            yield Finding("run.bores", cable.id, words)
        for name in through:
            passing[name].append(cable.id)
    for bore in site.plan.bores:
        if sorted(bore.cables) != sorted(passing[bore.id]):
            there = " ".join(sorted(passing[bore.id])) or "none"
            words = f"it names the cables {' '.join(sorted(bore.cables)) or 'none'}, but {there} pass it"
            yield Finding("bore.cables", bore.id, words)

"""Final holes: which bit, in which row, at which height, with which band, plates and governing rule.

A row of bores has one height from a common datum: inside every band, nearest the mean of their middles; it breaks
only where bands do not meet.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from barnloom.model.boring import governing, nail_plates
from barnloom.model.building import Building, Member
from barnloom.model.limits import at_least, at_most
from barnloom.routing.aims import Aims, aimed_in
from barnloom.routing.bores import is_wood_row, single_bored
from barnloom.routing.graph import Tracks
from barnloom.routing.plan import Bore
from barnloom.routing.runs import Drilled
from barnloom.routing.slab import Floats, member_points
from barnloom.routing.usage import Usage


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sized:
    candidate: int
    member: Member
    along_in: float
    diameter_in: float
    old: int
    wide: bool
    """Whether it may be bored as wide as a doubled stud may."""


def letters(number: int) -> str:
    """a, b, ..., z, aa, ab, ...: the number-th hole of a member, from 0."""
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(ord("a") + rest) + text
    return text


def final_holes(
    tracks: Tracks, usage: Usage, cables: Mapping[int, tuple[str, ...]], earlier: Sequence[Bore] = ()
) -> tuple[list[Bore], dict[int, Drilled]]:
    """Holes of a set of routed cables.

    Parameters
    ----------
    cables : mapping of candidate number to the ids of the cables in it
    earlier : sequence of Bore
        Of an earlier plan: a hole at the place of one of these has its id, and no other hole has one of their ids.

    Returns
    -------
    bores : list of Bore
        In walking order (assembly by assembly, member by member, along each).
    drilled : mapping of candidate number to its final place
    """
    table, members = tracks.bores, tracks.building.members
    sized, single = [], single_bored(tracks.building)
    for candidate in sorted(cables):
        diameter = usage.bit_for(candidate, usage.loads[candidate])
        assert diameter is not None  # noqa: S101 - the router only fills holes that take it
        member = members[int(table.member[candidate])]
        sized.append(
            _Sized(
                candidate=candidate,
                member=member,
                along_in=float(table.along[candidate]),
                diameter_in=diameter,
                old=int(table.hole[candidate]),
                wide=member.id not in single,
            )
        )
    new: dict[str, list[_Sized]] = {}
    for one in sized:
        if one.old < 0:
            new.setdefault(one.member.id, []).append(one)
    aimed = {one.candidate: _aim(tracks, one, _others(tracks, one, same)) for same in new.values() for one in same}
    across = {one.candidate: float(aimed[one.candidate].across[0]) for one in sized if one.old < 0}
    across |= {one.candidate: one.member.holes[one.old].across_in for one in sized if one.old >= 0}
    rows = _rows(tracks, sized)
    passes: dict[int, str] = {}
    for name, row in rows:
        for one in row:
            if one.old < 0:
                passes[one.candidate] = name
        for part in _level(tracks, row, aimed, across):
            across |= part
    return _bores(tracks, sized, new, aimed, across, passes, cables, earlier)


def _others(tracks: Tracks, one: _Sized, same: list[_Sized]) -> list[tuple[float, float, float]]:
    """Return the other new holes of a member, as the router placed them."""
    table = tracks.bores
    return [(o.along_in, float(table.across[o.candidate]), o.diameter_in) for o in same if o is not one]


def _middle(tracks: Tracks, one: _Sized) -> float:
    """Place across that is wished for: the middle of the strip that is clear on both sides, else of the member."""
    low, high = (float(x) for x in tracks.bores.strip[one.candidate])
    return (low + high) / 2 if np.isfinite(low) else one.member.depth_in / 2


def _aim(tracks: Tracks, one: _Sized, others: list[tuple[float, float, float]]) -> Aims:
    low, high = (float(x) for x in tracks.bores.strip[one.candidate])
    along, wished = np.array([one.along_in]), _middle(tracks, one)
    return aimed_in(
        tracks.building,
        tracks.limits,
        one.member,
        one.diameter_in,
        along,
        wished,
        (low, high),
        wide=one.wide,
        holes=others,
    )


def _plate_band(tracks: Tracks, one: _Sized, place: float, low: float, high: float) -> tuple[float, float]:
    """Band cut to where the plates that are needed at ``place`` are enough; rounded inward to the grid."""
    there = [ply for ply in one.member.plies if ply.along[0] <= one.along_in <= ply.along[1]]
    near = max(ply.across[0] for ply in there) + tracks.limits["cable.edge"] + one.diameter_in / 2
    far = min(ply.across[1] for ply in there) - tracks.limits["cable.edge"] - one.diameter_in / 2
    grid = tracks.building.tools.grid_in
    if at_least(place, near):
        low = max(low, float(np.ceil(near / grid - 1e-6) * grid))
    if at_most(place, far):
        high = min(high, float(np.floor(far / grid + 1e-6) * grid))
    return low, high


def _rows(tracks: Tracks, sized: list[_Sized]) -> list[tuple[str, list[_Sized]]]:
    """Holes that lie in one line across the members of a slab, by name, in order across; old ones among new ones."""
    lines: dict[tuple[str, float], list[tuple[float, _Sized]]] = {}
    rows: list[tuple[str, list[_Sized]]] = []
    for one in sized:
        slab = tracks.slab_of(one.member.assembly)
        # A hole into another slab (a plate's, a corner's) has what is clear behind it to keep to, not a row's height.
        into_other = bool(np.isfinite(tracks.bores.strip[one.candidate]).all())
        if slab is None or into_other or not is_wood_row(one.member.role):
            if one.old >= 0:
                continue
            rows.append((f"{one.member.id} at {one.along_in:g}", [one]))
            continue
        place = slab.local(_place(one, 0.0))
        lines.setdefault((slab.assembly.id, round(float(place[1]), 3)), []).append((float(place[0]), one))
    for (assembly, v), line in lines.items():
        line.sort(key=lambda pair: pair[0])
        if any(one.old < 0 for _, one in line):
            rows.append((f"{assembly} row {v:g}", [one for _, one in line]))
    return rows


def _place(one: _Sized, across: float) -> Floats:
    return member_points(one.member, (one.along_in, one.member.thickness_in / 2, across))


def _level(
    tracks: Tracks, row: list[_Sized], aimed: Mapping[int, Aims], across: Mapping[int, float]
) -> list[dict[int, float]]:
    """One height for each stretch of a row whose bands meet, as across places by candidate; an old hole is as it is."""
    slab = tracks.slab_of(row[0].member.assembly)
    if slab is None or len(row) < 2:
        return []
    spans = []
    for one in row:
        zero = float(slab.local(_place(one, 0.0))[2])
        sign = float(np.sign(slab.axes[2] @ np.array(one.member.across)))
        if one.old >= 0:
            height = zero + sign * one.member.holes[one.old].across_in
            ends, middle = [height, height], height
        else:
            band = aimed[one.candidate]
            ends = sorted((zero + sign * float(band.low[0]), zero + sign * float(band.high[0])))
            middle = zero + sign * _middle(tracks, one)
        spans.append((one, zero, sign, ends, middle))
    results, start = [], 0
    while start < len(spans):
        low, high, stop = spans[start][3][0], spans[start][3][1], start + 1
        while stop < len(spans) and max(low, spans[stop][3][0]) <= min(high, spans[stop][3][1]) + 1e-9:
            low, high, stop = max(low, spans[stop][3][0]), min(high, spans[stop][3][1]), stop + 1
        height = float(np.clip(np.mean([s[4] for s in spans[start:stop]]), low, high))
        part = {}
        for one, zero, sign, _, _ in spans[start:stop]:
            if one.old >= 0:
                continue
            band = aimed[one.candidate]
            grid = tracks.building.tools.grid_in
            wish = round(sign * (height - zero) / grid - 1e-9) * grid
            part[one.candidate] = float(np.clip(wish, band.low[0], band.high[0]))
        results.append(part)
        start = stop
    return results


def _bores(
    tracks: Tracks,
    sized: list[_Sized],
    new: Mapping[str, list[_Sized]],
    aimed: Mapping[int, Aims],
    across: Mapping[int, float],
    passes: Mapping[int, str],
    cables: Mapping[int, tuple[str, ...]],
    earlier: Sequence[Bore],
) -> tuple[list[Bore], dict[int, Drilled]]:
    table, limits, building = tracks.bores, tracks.limits, tracks.building
    numbers = {member.id: n for n, member in enumerate(building.members)}
    order = sorted(sized, key=lambda one: (numbers[one.member.id], one.along_in, across[one.candidate]))
    names = _names(order, across, building, earlier)
    held: dict[str, list[str]] = {}
    for one in order:
        held.setdefault(names[one.candidate], []).extend(cables[one.candidate])
    bores, drilled = [], {}
    for one in order:
        member, place, name = one.member, across[one.candidate], names[one.candidate]
        if one.old >= 0:
            low, high = place, place
            rule, margin = "an old hole, reused as it is", 0.0
        else:
            low, high = float(aimed[one.candidate].low[0]), float(aimed[one.candidate].high[0])
            low, high = _plate_band(tracks, one, place, low, high)
            others = [(o.along_in, across[o.candidate], o.diameter_in) for o in new[member.id] if o is not one]
            rule, margin = governing(
                member, limits, one.diameter_in, one.along_in, place, others, metric=building.metric
            )
        plates = nail_plates(member, limits, one.diameter_in, place, one.along_in)
        drilled[one.candidate] = Drilled(id=name, along_in=one.along_in, across_in=place)
        if name not in held:
            continue  # an old hole that lies in two ways through its member
        bores.append(
            Bore(
                id=name,
                member=member.id,
                along_in=round(one.along_in, 9),
                across_in=round(place, 9),
                across_min_in=round(low, 9),
                across_max_in=round(high, 9),
                diameter_in=one.diameter_in,
                cables=tuple(sorted(held.pop(name))),
                nail_plates=plates,
                rule=rule,
                margin_in=round(margin, 6),
                existing=one.old >= 0,
                drill_pass=passes.get(one.candidate, name),
                pose=table.pose[one.candidate],
            )
        )
    walked = {drilled[one.candidate].id: _walk(tracks, one, numbers) for one in order}
    return sorted(bores, key=lambda bore: walked[bore.id]), drilled


def _names(
    order: Sequence[_Sized], across: Mapping[int, float], building: Building, earlier: Sequence[Bore]
) -> dict[int, str]:
    """Return ids: of an old hole its own, of one at the place of an earlier one that one's, else the next letter."""
    grid = building.tools.grid_in
    taken = {hole.id for member in building.members for hole in member.holes}
    there: dict[str, list[Bore]] = {}
    for bore in earlier:
        if bore.id not in taken:
            there.setdefault(bore.member, []).append(bore)
    taken |= {bore.id for bore in earlier}
    names: dict[int, str] = {}
    for one in order:
        if one.old >= 0:
            names[one.candidate] = one.member.holes[one.old].id
            continue
        place = (one.along_in, across[one.candidate])
        known = there.get(one.member.id, [])
        same = [b for b in known if np.hypot(b.along_in - place[0], b.across_in - place[1]) < grid / 2]
        if same:
            known.remove(same[0])
            names[one.candidate] = same[0].id
    counts: dict[str, int] = {}
    for one in order:
        while one.candidate not in names:
            number = counts.get(one.member.id, 0)
            counts[one.member.id] = number + 1
            name = f"{one.member.id}.{letters(number)}"
            if name not in taken:
                names[one.candidate] = name
    return names


def _walk(tracks: Tracks, one: _Sized, numbers: Mapping[str, int]) -> tuple[float, ...]:
    """Return the place of a hole in walking order: slab by slab, row by row and along each, then plates."""
    slab = tracks.slab_of(one.member.assembly)
    if slab is None:
        return (len(tracks.slabs), 1, numbers[one.member.id], one.along_in)
    u, v, _ = (float(x) for x in slab.local(_place(one, 0.0)))
    if is_wood_row(one.member.role):
        return (slab.number, 0, round(v, 3), u)
    return (slab.number, 1, numbers[one.member.id], one.along_in)

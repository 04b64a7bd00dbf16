"""The part of a plan that a look shows: members, boxes, bores, and cables cut where they leave the picture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from barnloom.model.building import Box, Vec
from barnloom.routing.plan import Cable, Plan
from barnloom.viewer.look import Look
from barnloom.viewer.places import Place, Places

_AHEAD_IN, _RISE_IN = 12.0, 2.5
"""A cable goes up or down where it climbs or falls this much within so much of its way; a top plate, but no lath."""


@dataclass(frozen=True, slots=True)
class CutEnd:
    """Where a cable goes on beyond the picture."""

    cable: int
    """Its place among the plan's cables."""
    last: bool
    """At its last point; else at its first."""
    way: str
    """"up", "down" or "on"."""
    to: str
    """The box that it goes to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What is shown."""

    plan: Plan
    """Without what is hidden. A cable that leaves the picture and comes back is there once for each part, cut lengths
    and ids unchanged; its ``bores`` are those of the part."""
    quiet_circuits: frozenset[str]
    """Those of ``Cable.circuit`` that are only hinted at."""
    quiet_boxes: frozenset[str]
    ends: tuple[CutEnd, ...]


def seen(plan: Plan, look: Look) -> Seen:
    """
    Take away what a look does not show.

    Parameters
    ----------
    plan : Plan
    look : Look
        Its ids are known to the plan.
    """
    quiet = frozenset(c.circuit for c in plan.cables if look.circuits and not set(c.circuit.split()) & {*look.circuits})
    if look.whole:
        return Seen(plan=plan, quiet_circuits=quiet, quiet_boxes=frozenset(), ends=())
    places = Places(plan)
    own = {*look.assemblies, *places.carriers(look.assemblies)}

    def shows(place: Place) -> bool:
        return (
            (not look.storeys or place.storey in look.storeys)
            and (not own or place.assembly in own)
            and place.assembly not in look.without
        )

    cables: list[Cable] = []
    ends: list[CutEnd] = []
    # Cables that are told come first, so that these lie where they are and the quiet ones beside them.
    for cable in sorted(plan.cables, key=lambda cable: cable.circuit in quiet):
        for start, end in _stretches([shows(place) for place in places.legs(cable)]):
            part = _part(cable, start, end)
            if _length(part) < 1e-6:
                continue
            if cable.circuit in quiet:
                part = replace(part, bores=())
            else:
                ends += _ends(cable, start, end, len(cables))
            cables.append(part)
    building = plan.building
    members = tuple(m for m in building.members if shows(places.of(m.id)))
    shown = {member.id for member in members}
    told = {bore for cable in cables for bore in cable.bores}
    boxes = tuple(box for box in building.boxes if shows(places.of_box(box)))
    return Seen(
        plan=replace(
            plan,
            cables=tuple(cables),
            bores=tuple(bore for bore in plan.bores if bore.member in shown and (bore.id in told or not bore.cables)),
            building=replace(
                building,
                members=members,
                boxes=boxes,
                assemblies=tuple(a for a in building.assemblies if shows(places.of(a.id))),
                storeys=tuple(s for s in building.storeys if not look.storeys or s.id in look.storeys),
            ),
        ),
        quiet_circuits=quiet,
        quiet_boxes=frozenset(box.id for box in boxes if look.circuits and not _is_of(box, look)),
        ends=tuple(ends),
    )


def _is_of(box: Box, look: Look) -> bool:
    return box.kind == "panel" or bool({*box.circuits} & {*look.circuits})


def _stretches(shown: list[bool]) -> Iterator[tuple[int, int]]:
    """First leg, and the leg after the last, of every run of shown ones."""
    start = 0
    for leg, here in enumerate([*shown, False]):
        if not here:
            if leg > start:
                yield start, leg
            start = leg + 1


def _part(cable: Cable, start: int, end: int) -> Cable:
    if (start, end) == (0, len(cable.tracks)):
        return cable
    tracks = cable.tracks[start:end]
    bores = tuple(bore for bore in cable.bores if f"bore {bore}" in tracks)
    return replace(cable, points=cable.points[start : end + 1], tracks=tracks, bores=bores)


def _length(cable: Cable) -> float:
    return float(np.abs(np.diff(np.array(cable.points), axis=0)).sum())


def _ends(cable: Cable, start: int, end: int, index: int) -> Iterator[CutEnd]:
    if start > 0:
        yield CutEnd(index, False, _way(cable.points[start::-1]), cable.from_box)
    if end < len(cable.tracks):
        yield CutEnd(index, True, _way(cable.points[end:]), cable.to_box)


def _way(onward: Sequence[Vec]) -> str:
    """Whether a cable goes up, down or on along these points."""
    points = np.array(onward)
    far = np.abs(np.diff(points, axis=0)).sum(axis=1).cumsum()
    rise = float(np.interp(_AHEAD_IN, [0.0, *far], points[:, 2]) - points[0, 2])
    return "on" if abs(rise) < _RISE_IN else "up" if rise > 0 else "down"

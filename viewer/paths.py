"""Places and paths in words: where a hole is, which way a cable runs, in which bay, along and through what."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barnloom.model.building import Assembly, Member, Role, Vec
from barnloom.model.lengths import format_length
from barnloom.model.limits import Limits
from barnloom.model.vectors import dot, minus, reach
from barnloom.routing.plan import Bore, Cable, Plan
from barnloom.routing.store import natural_key

_COMPASS = ("east", "north-east", "north", "north-west", "west", "south-west", "south", "south-east")
_STRAIGHT = math.cos(math.radians(10))
"""Within 10 degrees of plumb is up or down, within 10 degrees of level is a compass word."""
_NEAR_IN = 0.01
"""A cable this near a member's face, inches, lies beside it and not in it."""


@dataclass(frozen=True, eq=False, slots=True)
class _Uprights:
    """The members that run along v of an assembly, and their spans (n, 2) there along u and along v (inches)."""

    members: tuple[str, ...]
    u: NDArray[np.float64]
    v: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Framing:
    """The members and assemblies of a building by id, and the members of each assembly and role in order."""

    members: Mapping[str, Member]
    assemblies: Mapping[str, Assembly]
    row: Mapping[str, tuple[int, int]]
    """For each member's id, a number of its row and its place there: members of one assembly and role, in line."""
    bays: Mapping[str, _Uprights]
    """For each assembly's id, the members that its bays lie between."""
    bored: Mapping[str, str]
    """For each bore's id, its member's."""
    passes: Mapping[str, Mapping[Role, Sequence[str]]]
    """For each pass of the drill, the ids of the members it goes through, by what they are."""
    limits: Limits


def framing(plan: Plan) -> Framing:
    """Index a plan's members and bores for looking places up."""
    members = sorted(plan.building.members, key=lambda member: natural_key(member.id))
    rows: dict[tuple[str, str, int], list[str]] = {}
    own: dict[str, list[Member]] = {}
    by_id = {member.id: member for member in members}
    passes: dict[str, dict[Role, list[str]]] = {}
    for member in members:
        own.setdefault(member.assembly, []).append(member)
        # Joists cut at a girder stand in a row of their own on either side of it.
        start = round(sum(a * b for a, b in zip(member.origin, member.along, strict=True)))
        rows.setdefault((member.assembly, member.role.value, start), []).append(member.id)
    for bore in plan.bores:
        passes.setdefault(bore.drill_pass, {}).setdefault(by_id[bore.member].role, []).append(bore.member)
    return Framing(
        members=by_id,
        assemblies={assembly.id: assembly for assembly in plan.building.assemblies},
        row={name: (n, place) for n, row in enumerate(rows.values()) for place, name in enumerate(row)},
        bays={assembly.id: _uprights(assembly, own.get(assembly.id, ())) for assembly in plan.building.assemblies},
        bored={bore.id: bore.member for bore in plan.bores},
        passes=passes,
        limits=Limits(plan.building.limits),
    )


def direction_word(step: Vec) -> str:
    """
    Which way a step in the world goes, in a word or two.

    Examples
    --------
    >>> direction_word((0, 0, -3)), direction_word((2, 2, 0)), direction_word((0, 4, 3))
    ('down', 'north-east', 'up the slope')
    """
    length = math.hypot(*step)
    if abs(step[2]) >= _STRAIGHT * length:
        return "up" if step[2] > 0 else "down"
    if math.hypot(step[0], step[1]) >= _STRAIGHT * length:
        return _COMPASS[round(math.degrees(math.atan2(step[1], step[0])) / 45) % 8]
    return "up the slope" if step[2] > 0 else "down the slope"


def side_words(member: Member, side: str) -> str:
    """Name a long face ("+across", "-bit", ...) of a member: its underside, its top, its north side."""
    axis = member.across if side.endswith("across") else member.bit
    sign = -1.0 if side.startswith("-") else 1.0
    outward = direction_word((sign * axis[0], sign * axis[1], sign * axis[2]))
    return {
        "up": "top",
        "down": "underside",
        "up the slope": "upper side",
        "down the slope": "lower side",
    }.get(outward, f"{outward} side")


def hole_place(bore: Bore, member: Member, *, metric: bool) -> str:
    """Place of a hole's centre, as a tape finds it."""
    return place_in(member, bore.along_in, bore.across_in, metric=metric)


def place_in(member: Member, along_in: float, across_in: float, *, metric: bool) -> str:
    """Place in a member, as a tape finds it."""
    along = format_length(along_in, metric=metric)
    across = format_length(across_in, metric=metric, feet=False)
    return f"{along} from the {member.along_from}, {across} from the {member.across_from}"


def runs(names: Framing, members: Sequence[str]) -> list[list[str]]:
    """
    Split members, as a cable or a person meets them, into unbroken runs of neighbours.

    A run has no gap and one direction, so that "LOFT-J3 to LOFT-J11" says no more than is meant.
    """
    groups: list[list[str]] = []
    way = 0
    for member in members:
        row, place = names.row[member]
        step = 0
        if groups and names.row[groups[-1][-1]][0] == row:
            step = place - names.row[groups[-1][-1]][1]
        if abs(step) == 1 and (len(groups[-1]) == 1 or step == way):
            groups[-1].append(member)
            way = step
        else:
            groups.append([member])
    return groups


def run_words(names: Framing, members: Sequence[str]) -> str:
    """Members in words: "LOFT-J3 to LOFT-J5, LOFT-J8"."""
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs(names, members))


def path_words(names: Framing, cable: Cable, *, metric: bool) -> list[str]:
    """
    Return a cable's path step by step: which way and how far, in which bay, along which face or board, through what.

    Steps follow the cable from the panel's side. A straight row of holes is one step.
    """
    return [_step_words(names, step, metric=metric) for step in _steps(names, cable)]


@dataclass(slots=True, kw_only=True)
class _Step:
    """A straight piece of a path in one place; grows while the path is followed."""

    place: str
    """Assembly, timber, board, or member and face, as in the cable's tracks."""
    way: str
    length_in: float
    through: list[str]
    middle: Vec | None
    """Middle of its first leg; None if that is in wood."""


def _steps(names: Framing, cable: Cable) -> list[_Step]:
    steps: list[_Step] = []
    for start, end, track in zip(cable.points, cable.points[1:], cable.tracks, strict=False):
        step = minus(end, start)
        through = names.bored[track.removeprefix("bore ")] if track.startswith("bore ") else ""
        length = math.hypot(*step)
        if length <= _NEAR_IN:
            continue
        place = names.members[through].assembly if through else track
        way = direction_word(step)
        if not (steps and steps[-1].place == place and steps[-1].way == way):
            half = (start[0] + step[0] / 2, start[1] + step[1] / 2, start[2] + step[2] / 2)
            middle = None if through else half
            steps.append(_Step(place=place, way=way, length_in=0.0, through=[], middle=middle))
        steps[-1].length_in += length
        if through:
            steps[-1].through.append(through)
    return steps


def _step_words(names: Framing, step: _Step, *, metric: bool) -> str:
    words = f"{step.way} {format_length(step.length_in, metric=metric)} {_place_words(names, step)}"
    return f"{words}, through {run_words(names, step.through)}" if step.through else words


def _place_words(names: Framing, step: _Step) -> str:
    """Where a step runs: in a bay of an assembly, along a board, along a side of a timber."""
    if step.place in names.assemblies:
        assembly = names.assemblies[step.place]
        bay = _bay_words(names, assembly, step.middle) if step.middle and len(step.through) < 2 else ""
        return f"in {step.place}{bay}"
    name, _, side = step.place.partition(" ")
    if not side:
        member = names.members.get(name)
        return f"along board {name}" if member and member.role is Role.BOARD else f"at {name}"
    return f"along the {side_words(names.members[name], side)} of {name}"


def _bay_words(names: Framing, assembly: Assembly, place: Vec) -> str:
    """Name the members on either side of a place in an assembly: " between LOFT-J3 and LOFT-J4"."""
    offset = minus(place, assembly.origin)
    u, v = dot(offset, assembly.u), dot(offset, assembly.v)
    bays = names.bays[assembly.id]
    near = (bays.v[:, 0] - _NEAR_IN <= v) & (v <= bays.v[:, 1] + _NEAR_IN)
    below, above = near & (bays.u[:, 1] <= u + _NEAR_IN), near & (bays.u[:, 0] >= u - _NEAR_IN)
    beside = []
    if below.any():
        beside.append(bays.members[np.where(below, bays.u[:, 1], -np.inf).argmax()])
    if above.any():
        beside.append(bays.members[np.where(above, bays.u[:, 0], np.inf).argmin()])
    return f" {'between' if len(beside) > 1 else 'beside'} {' and '.join(beside)}" if beside else ""


def _uprights(assembly: Assembly, members: Sequence[Member]) -> _Uprights:
    found = [member for member in members if abs(dot(member.along, assembly.v)) >= _STRAIGHT]
    return _Uprights(
        tuple(member.id for member in found),
        np.array([reach(member, assembly.origin, assembly.u) for member in found]).reshape(-1, 2),
        np.array([reach(member, assembly.origin, assembly.v) for member in found]).reshape(-1, 2),
    )

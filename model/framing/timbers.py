"""Single timbers and running boards: pieces with free end points, each a host of its own.

A timber's ``along`` goes from its first point to its second; a post's always goes up. ``across`` is its depth: up from
the bottom edge, for a post (or anything plumb) from the south face to the north. ``bit`` is its breadth: level, to the
left of ``along``; for a post east.
"""

from __future__ import annotations

import math
from dataclasses import replace

from barnloom.model.building import Member, Right, Role, Vec
from barnloom.model.errors import Fault
from barnloom.model.framing.common import SAME_IN, Context, Framed, applied
from barnloom.model.framing.pieces import TIMBER_STAND_IN, Lie, edge_name, piece, sides, storey_at
from barnloom.model.scene.schema import Board, Section, Timber
from barnloom.model.vectors import UP, dot, end_name, heading_vec, minus, moved, opposite

NOT_BORED = "single timbers are not bored unless the scene says so"
BOARD_NOT_BORED = "running boards carry cable, they are not bored"
_HALF_WAY = math.sqrt(0.5)
"""Cosine of 45 degrees: steeper is a post that stands, nearer is a face that looks along its board."""
_SOUTH_TO_NORTH: Vec = (0.0, 1.0, 0.0)


def cross(a: Vec, b: Vec) -> Vec:
    """Return the vector product."""
    return (
        a[1] * b[2] - a[2] * b[1] + 0.0,
        a[2] * b[0] - a[0] * b[2] + 0.0,
        a[0] * b[1] - a[1] * b[0] + 0.0,
    )


def unit(vector: Vec) -> Vec:
    """Return the vector at length 1."""
    size = math.sqrt(dot(vector, vector))
    return (vector[0] / size, vector[1] / size, vector[2] / size)


def square_to(direction: Vec, along: Vec) -> Vec:
    """Return the unit vector nearest to ``direction`` that is square to ``along``."""
    return unit(moved(direction, (along, -dot(direction, along))))


def frame_timber(timber_id: str, said: Timber, context: Context) -> Framed:
    """Return a single timber as one member; never bored where neither it nor its override says otherwise."""
    where = ("timbers", timber_id)
    start, end = said.from_, said.to
    if math.dist(start, end) <= SAME_IN:
        do = "give its two ends, each as (east, north, up)"
        return Framed(faults=(Fault((*where, "to"), "the same point as from", "another end", do),))
    is_post = said.role == "post"
    if is_post and end[2] < start[2]:
        start, end = end, start
    along = unit(minus(end, start))
    upright = is_post and abs(along[2]) > _HALF_WAY or math.hypot(along[0], along[1]) <= SAME_IN
    if upright and said.line != "centre":
        do = "give the points on its middle line and leave line: out"
        return Framed(faults=(Fault((*where, "line"), f"{said.line}, of a timber that stands", "centre", do),))

    across = square_to(_SOUTH_TO_NORTH if upright else UP, along)
    bit = cross(across, along)
    turn = math.radians(said.turn)
    if turn:
        bit, across = (
            moved((0.0, 0.0, 0.0), (bit, math.cos(turn)), (across, math.sin(turn))),
            moved((0.0, 0.0, 0.0), (across, math.cos(turn)), (bit, -math.sin(turn))),
        )
    breadth, depth = sides(said.section, TIMBER_STAND_IN)
    if said.line != "centre":
        down, half = _lowest_face(bit, across, breadth, depth)
        start = moved(start, (down, -half if said.line == "bottom" else half))
    low, high = min(said.from_[2], said.to[2]), max(said.from_[2], said.to[2])
    fallback = "start end" if high - low <= SAME_IN else "lower end" if end[2] > start[2] else "upper end"
    member = piece(
        timber_id,
        Role(said.role),
        Lie(origin=moved(start, (bit, -breadth / 2), (across, -depth / 2)), along=along, bit=bit, across=across),
        math.dist(said.from_, said.to),
        said.section,
        assembly=timber_id,
        storey=said.storey or storey_at(low, context.floors),
        along_from="bottom end" if upright else end_name(along, fallback),
        across_from=edge_name(across),
        stand_in=TIMBER_STAND_IN,
    )
    timber, faults = applied(_with_rights(member, said), context)
    if timber is None:
        return Framed(faults=faults)
    if said.bore == "maker" and timber.bore is Right.MAKER and timber.maker is None:
        do = f"add members: {timber_id}: maker: with the numbers of its data sheet, or say never"
        faults += (Fault((*where, "bore"), "maker", "the maker's allowance for it", do),)
    return Framed(members=(timber,), faults=faults)


def _lowest_face(bit: Vec, across: Vec, breadth: float, depth: float) -> tuple[Vec, float]:
    """Return the way the lowest of the four long faces looks, and how far it is from the middle."""
    faces = ((opposite(across), depth / 2), (across, depth / 2), (opposite(bit), breadth / 2), (bit, breadth / 2))
    return min(faces, key=lambda face: round(face[0][2], 9))


def _with_rights(member: Member, said: Timber) -> Member:
    """Return the member with what its timber says of its three rights and of bearing."""
    bore = Right(said.bore)
    if bore is not Right.NEVER and not said.section.measured:
        bore = Right.UNKNOWN
    reasons = {Right.NEVER: NOT_BORED, Right.UNKNOWN: member.reason}
    return replace(
        member,
        bearing=said.bearing != "no",
        bore=bore,
        fasten=Right(said.fasten),
        mount=Right(said.mount),
        reason=said.because or reasons.get(bore, ""),
        unmeasured=tuple(sorted((*member.unmeasured, *(["bearing"] if said.bearing == "not measured" else [])))),
    )


def frame_board(board_id: str, said: Board, context: Context) -> Framed:
    """
    Return a running board as one member whose face "+bit" carries the cable, on the line between its two points.

    ``across`` goes over the width, upward where that is possible. A board that slopes keeps its carrying face square to
    its length.
    """
    where = ("boards", board_id)
    length = math.dist(said.from_, said.to)
    if length <= SAME_IN:
        do = "give its two ends, each as (east, north, up)"
        return Framed(faults=(Fault((*where, "to"), "the same point as from", "another end", do),))
    along = unit(minus(said.to, said.from_))
    looks = {"down": opposite(UP), "up": UP}.get(said.face) or heading_vec(said.face)
    if abs(dot(looks, along)) > _HALF_WAY:
        do = "say which way the face with the cable looks: square to the board's length"
        return Framed(faults=(Fault((*where, "face"), said.face, "a side of the board, not an end", do),))
    bit = square_to(looks, along)
    across = cross(along, bit)
    if across[2] < -SAME_IN:
        across = opposite(across)
    rise = said.to[2] - said.from_[2]
    fallback = "start end" if abs(rise) <= SAME_IN else "lower end" if rise > 0 else "upper end"
    section = Section(
        breadth_in=said.thickness,
        depth_in=said.width,
        said=f"board {context.text(said.thickness)} x {context.text(said.width)}",
    )
    member = piece(
        board_id,
        Role.BOARD,
        Lie(
            origin=moved(said.from_, (bit, -said.thickness), (across, -said.width / 2)),
            along=along,
            bit=bit,
            across=across,
        ),
        length,
        section,
        assembly=board_id,
        storey=said.storey or storey_at(min(said.from_[2], said.to[2]), context.floors),
        along_from=end_name(along, fallback),
        across_from=edge_name(across),
        never=BOARD_NOT_BORED,
    )
    board, faults = applied(replace(member, bearing=False, in_place=said.in_place), context)
    return Framed(members=() if board is None else (board,), faults=faults)

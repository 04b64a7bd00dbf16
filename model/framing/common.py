"""What every kind of framing shares: stations of a row, ids, boxes, and what the scene says about a single member.

A row is numbered by station from the datum corner. A member added by hand (or for a corner) takes its lower
neighbour's id plus a letter, and a removed one leaves a gap, so that an id once written on wood stays true.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from barnloom.model.building import Assembly, Hole, MakerHoles, Member, Notch, Ply, Right, Role, Span, Vec
from barnloom.model.errors import Fault
from barnloom.model.lengths import Rounding, format_length
from barnloom.model.scene.schema import MemberSaid, PlySaid, Section, Stations, Wall
from barnloom.model.vectors import moved

LETTERS: Mapping[Role, str] = {
    Role.STUD: "S",
    Role.KING: "K",
    Role.JACK: "JK",
    Role.CRIPPLE: "C",
    Role.SOLE_PLATE: "SP",
    Role.TOP_PLATE: "TP",
    Role.HEADER: "H",
    Role.SILL: "SL",
    Role.BLOCK: "B",
    Role.JOIST: "J",
    Role.RIM: "RM",
    Role.TRIMMER: "T",
    Role.RAFTER: "R",
    Role.RIDGE: "RG",
    Role.COLLAR_TIE: "CT",
    Role.CEILING_JOIST: "CJ",
}
TAPE_IN = 0.5
"""Tapes err: an overlap or an overrun up to this is a warning, more is a fault (own caution)."""
SAME_IN = 1e-6
"""Two places computed two ways are one place."""
MOST_IN_ROW = 2000
"""A row longer than this is a slip of the pen, and would only fill the memory."""

Place = tuple[str | int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Context:
    """What one wall, floor or roof has to know of the others.

    ``floors`` are the storeys' levels in inches in the order written, ``lining`` the answer for walls that do not say.
    """

    floors: Mapping[str, float]
    walls: Mapping[str, Wall]
    overrides: Mapping[str, MemberSaid]
    lining: str = "none"
    metric: bool = False

    def text(self, inches: float, rounding: Rounding = "nearest") -> str:
        """Return a length as the scene's owner reads it; a limit is rounded so that the printed number keeps it."""
        return format_length(inches, metric=self.metric, rounding=rounding)


@dataclass(frozen=True, slots=True)
class Framed:
    """What became of one part of a scene; with faults its members are not to be trusted."""

    assemblies: tuple[Assembly, ...] = ()
    members: tuple[Member, ...] = ()
    faults: tuple[Fault, ...] = ()
    warnings: tuple[str, ...] = ()


# --- rows ------------------------------------------------------------------------------------------------------------


def stations(
    said: Stations, *, start: float, end: float, breadth_in: float, where: Place, context: Context
) -> tuple[tuple[float, ...], tuple[Fault, ...]]:
    """Near faces of a row's members between ``start`` and ``end`` (inches from the datum), sorted.

    ``every`` puts one member flush at ``start``, centres at multiples of the spacing from the datum (0), not from
    ``start``, and the last flush at ``end``; a layout member that would overlap either of these two, or leave less
    than 1/2 in beside it, is left out.
    Measured ``centres`` and near faces ``at`` are taken as they are.

    Returns
    -------
    nears, faults
        A member more than 1/2 in past the row's ends, a spacing that its members do not fit in, and a row that does
        not say exactly one of the three are faults.
    """
    given = [name for name in ("every", "centres", "at") if getattr(said, name) is not None]
    if len(given) != 1:
        found = " and ".join(given) or "none of every, centres, at"
        do = "say where the members stand in one of the three ways"
        return (), (Fault(where, found, "one of every, centres, at", do),)
    if said.every is None:
        half = breadth_in / 2 if said.centres is not None else 0.0
        nears = sorted(place - half for place in said.centres or said.at or [])
        place = (*where, given[0])
        return tuple(nears), stray(nears, start=start, end=end, breadth_in=breadth_in, where=place, context=context)
    spacing, last = said.every, end - breadth_in
    if spacing <= breadth_in or (end - start) / spacing > MOST_IN_ROW:
        fault = Fault(
            (*where, "every"),
            context.text(spacing),
            f"more than a member's own {context.text(breadth_in)}, and at most {MOST_IN_ROW} members in the row",
            'write the spacing from centre to centre, 16" for example',
        )
        return (), (fault,)
    if last < start + breadth_in - SAME_IN:
        return (start,), ()
    steps = range(math.floor(start / spacing), math.ceil(end / spacing) + 1)
    layout = (step * spacing - breadth_in / 2 for step in steps)
    # Nobody stands a layout member a finger's breadth from the first or the last.
    low, high = start + breadth_in + TAPE_IN, last - breadth_in - TAPE_IN
    between = [near for near in layout if low - SAME_IN <= near <= high + SAME_IN]
    return (start, *between, last), ()


def stray(
    nears: Iterable[float], *, start: float, end: float, breadth_in: float, where: Place, context: Context
) -> tuple[Fault, ...]:
    """Return a fault for each member that stands more than 1/2 in past either end of its row."""
    return tuple(
        Fault(
            where,
            f"a member from {context.text(near)} to {context.text(near + breadth_in)}",
            f"between {context.text(start)} and {context.text(end)}, where the framing begins and ends",
            "measure the station again from the named start, or correct the length",
        )
        for near in nears
        if near < start - TAPE_IN - SAME_IN or near + breadth_in > end + TAPE_IN + SAME_IN
    )


def member_id(assembly: str, role: Role, number: int, letter: str = "") -> str:
    """Return the id a person writes on the wood.

    >>> member_id("SOUTH", Role.STUD, 3), member_id("SOUTH", Role.STUD, 3, "a")
    ('SOUTH-S3', 'SOUTH-S3a')
    """
    return f"{assembly}-{LETTERS[role]}{number}{letter}"


def row_ids(assembly: str, role: Role, nears: Sequence[float], *added: Iterable[float]) -> list[tuple[str, float]]:
    """Return (id, near face) of a row sorted by station: numbers for ``nears``, letters after a number for ``added``.

    An added member below the first of the row is lettered after number 0. A later group of added ones takes the letters
    that the earlier groups leave.

    >>> row_ids("W", Role.STUD, [0.0, 15.25], [8.0, 20.0, 9.5])
    [('W-S1', 0.0), ('W-S1a', 8.0), ('W-S1b', 9.5), ('W-S2', 15.25), ('W-S2a', 20.0)]
    """
    row = [(member_id(assembly, role, number), near) for number, near in enumerate(nears, start=1)]
    taken: dict[int, int] = {}
    for near in (near for group in added for near in sorted(group)):
        number = sum(1 for regular in nears if regular <= near + SAME_IN)
        row.append((member_id(assembly, role, number, letter(taken.get(number, 0))), near))
        taken[number] = taken.get(number, 0) + 1
    return sorted(row, key=lambda entry: (entry[1], entry[0]))


def letter(count: int) -> str:
    """Return the letter of the member added as number ``count`` (from 0): a to z, then za, zb.

    >>> letter(0), letter(25), letter(26)
    ('a', 'z', 'za')
    """
    return "z" * (count // 26) + chr(ord("a") + count % 26)


# --- one member ------------------------------------------------------------------------------------------------------


def pack(length_in: float, breadth_in: float, depth_in: float, count: int = 1) -> tuple[Ply, ...]:
    """Return ``count`` equal plies side by side in the direction of the bit."""
    sides = ((n * breadth_in, (n + 1) * breadth_in) for n in range(count))
    return tuple(Ply(along=(0.0, length_in), bit=side, across=(0.0, depth_in)) for side in sides)


def far_corner(member: Member) -> Vec:
    """Return the corner opposite to ``member.origin``."""
    return moved(
        member.origin,
        (member.along, member.length_in),
        (member.bit, member.thickness_in),
        (member.across, member.depth_in),
    )


def applied(
    member: Member,
    context: Context,
    *,
    station_in: float | None = None,
    row: Span | None = None,
    high: bool = False,
) -> tuple[Member | None, tuple[Fault, ...]]:
    """Return a generated member with what the scene says about it, or None where it is missing.

    Parameters
    ----------
    station_in : float, optional
        Near face of the member as generated, in the row that ``at`` and ``centre`` are measured in, along its ``bit``.
        None: the member has no station and cannot be moved.
    row : pair of float, optional
        Where that row begins and ends. A member that grows thicker grows away from its near face, unless it would
        leave the row at the far end: then its far face stays.
    high : bool
        The face at the far end of ``across`` stays when the section changes, as under a subfloor or roof boards; else
        the across = 0 face. A ply that says its own ``bottom`` keeps that.

    Notes
    -----
    A wider section keeps its near face where it is. ``start`` and ``end`` cut the member; a pack with plies of its own
    has the box round all its plies, so its ``along`` and ``across`` count from its outermost end and lowest edge.
    Section, ends or holes not measured make boring unknown: the stricter reading.
    """
    said = context.overrides.get(member.id)
    if said is None:
        return member, ()
    if said.missing:
        return None, ()
    where: Place = ("members", member.id)
    faults: list[Fault] = []
    member = _resized(member, said, high=high)
    if said.at is not None or said.centre is not None:
        member, moves = _at_station(member, said, where, station_in)
        faults += moves
    member, cuts = _cut(member, said, where, context)
    faults += cuts
    if row is not None and station_in is not None:
        member = _kept_in_row(member, said, station_in, row)
    member = _rights(member, said)
    if said.bore == "maker" and said.maker is None and member.maker is None:
        do = "add maker: with the numbers of its data sheet"
        faults.append(Fault((*where, "bore"), "maker", "the maker's allowance", do))
    member, marks = _marked(member, said, where, context)
    return member, (*faults, *marks)


def _resized(member: Member, said: MemberSaid, *, high: bool) -> Member:
    """Return the member with its own section and plies, box round all plies."""
    if said.section is None and said.plies is None:
        return member
    first = member.plies[0]
    section = said.section
    old_breadth, old_depth = first.bit[1] - first.bit[0], first.across[1] - first.across[0]
    own = section if section is not None and section.measured else None
    breadth, depth = (own.breadth_in, own.depth_in) if own else (old_breadth, old_depth)
    plies = said.plies if said.plies is not None else len(member.plies)
    if isinstance(plies, int):
        plies = [PlySaid()] * plies
    packed = _own_plies(plies, member.length_in, (breadth, depth), top=member.depth_in if high else None)
    resized = _boxed(member, packed)
    return replace(resized, section=section_text(section)) if section is not None else resized


def _own_plies(
    plies: Sequence[PlySaid], length_in: float, section: tuple[float, float], *, top: float | None
) -> tuple[Ply, ...]:
    """Plies side by side; one that does not say its bottom is flush with ``top``, or (None) with the bottom (0)."""
    packed: list[Ply] = []
    near = 0.0
    for ply in plies:
        own = ply.section if ply.section is not None and ply.section.measured else None
        thick, deep = (own.breadth_in, own.depth_in) if own else section
        low = ply.bottom if ply.bottom is not None else 0.0 if top is None else top - deep
        ends = (ply.start if ply.start is not None else 0.0, ply.end if ply.end is not None else length_in)
        packed.append(Ply(along=ends, bit=(near, near + thick), across=(low, low + deep)))
        near += thick
    return tuple(packed)


def _boxed(member: Member, plies: Sequence[Ply]) -> Member:
    """Return the member made of ``plies`` (in its present axes), with the box round them as its own."""
    along = min(ply.along[0] for ply in plies), max(ply.along[1] for ply in plies)
    bit = min(ply.bit[0] for ply in plies), max(ply.bit[1] for ply in plies)
    across = min(ply.across[0] for ply in plies), max(ply.across[1] for ply in plies)
    length = along[1] - along[0]
    low = (along[0], bit[0], across[0])
    shifted = tuple(
        Ply(along=_less(ply.along, low[0]), bit=_less(ply.bit, low[1]), across=_less(ply.across, low[2]))
        for ply in plies
    )
    bearings = (_less(span, along[0]) for span in member.bearings)
    return replace(
        member,
        origin=moved(member.origin, (member.along, low[0]), (member.bit, low[1]), (member.across, low[2])),
        length_in=length,
        thickness_in=bit[1] - bit[0],
        depth_in=across[1] - across[0],
        plies=shifted,
        bearings=tuple((max(a, 0.0), min(b, length)) for a, b in bearings if b > 0.0 and a < length),
    )


def _less(span: Span, by: float) -> Span:
    return (span[0] - by, span[1] - by)


def _at_station(
    member: Member, said: MemberSaid, where: Place, station_in: float | None
) -> tuple[Member, tuple[Fault, ...]]:
    key = "at" if said.at is not None else "centre"
    if station_in is None:
        fault = Fault((*where, key), f"a {member.role.value}", "a member of a row", "move what it hangs on instead")
        return member, (fault,)
    near = said.at if said.at is not None else (said.centre or 0.0) - member.thickness_in / 2
    return replace(member, origin=moved(member.origin, (member.bit, near - station_in))), ()


def _kept_in_row(member: Member, said: MemberSaid, station_in: float, row: Span) -> Member:
    """Return a member that grew thicker with its far face kept, if growing took it past the far end of its row."""
    if said.at is not None or said.centre is not None:
        return member
    past = station_in + member.thickness_in - row[1]
    if past <= SAME_IN or (said.section is None and said.plies is None):
        return member
    return replace(member, origin=moved(member.origin, (member.bit, -past)))


def _cut(member: Member, said: MemberSaid, where: Place, context: Context) -> tuple[Member, tuple[Fault, ...]]:
    """Return the member short at either end, as said; ends are places along the member as it would have been."""
    if said.start is None and said.end is None:
        return member, ()
    start = said.start if said.start is not None else 0.0
    end = said.end if said.end is not None else member.length_in
    if not 0.0 <= start < end <= member.length_in + TAPE_IN:
        fault = Fault(
            (*where, "start" if said.start is not None else "end"),
            f"from {context.text(start)} to {context.text(end)}",
            f"a piece of its {context.text(member.length_in)}, measured from its {member.along_from}",
            "measure both from the same end",
        )
        return member, (fault,)
    whole = member.length_in
    ends = ((max(a, start), end if b >= whole - SAME_IN else min(b, end)) for a, b in (p.along for p in member.plies))
    plies = [replace(ply, along=span) for ply, span in zip(member.plies, ends, strict=True)]
    return _boxed(member, [ply for ply in plies if ply.along[1] > ply.along[0]]), ()


def _rights(member: Member, said: MemberSaid) -> Member:
    unmeasured = set(member.unmeasured) | set(said.not_measured)
    bearing = member.bearing
    if said.bearing is not None:
        bearing = said.bearing == "yes"
        unmeasured -= {"bearing"}
    if said.section is not None:
        unmeasured = unmeasured - {"section"} if said.section.measured else unmeasured | {"section"}
    if "bearing" in said.not_measured:
        bearing = True
    maker = said.maker
    bore = Right(said.bore) if said.bore is not None else Right.MAKER if maker is not None else member.bore
    if said.section is not None and said.section.measured and said.bore is None and "section" in member.unmeasured:
        bore = Right.FREE if bore is Right.UNKNOWN else bore
    if unmeasured & {"section", "ends", "holes"} and bore is not Right.NEVER:
        bore = Right.UNKNOWN
    return replace(
        member,
        bearing=bearing,
        unmeasured=tuple(sorted(unmeasured)),
        bore=bore,
        fasten=Right(said.fasten) if said.fasten is not None else member.fasten,
        mount=Right(said.mount) if said.mount is not None else member.mount,
        reason=said.because or member.reason,
        maker=member.maker
        if maker is None
        else MakerHoles(
            diameter_max_in=maker.diameter_max,
            edge_min_in=maker.edge_min,
            spacing_min_in=maker.spacing_min,
            end_min_in=maker.end_min,
            source=maker.source,
        ),
    )


def _marked(member: Member, said: MemberSaid, where: Place, context: Context) -> tuple[Member, tuple[Fault, ...]]:
    """Return the member with the holes and notches that are in it already."""
    faults: list[Fault] = []
    box = f"{context.text(member.length_in)} long and {context.text(member.depth_in)} across"
    holes: list[Hole] = []
    for number, hole in enumerate(said.holes):
        if not (0.0 <= hole.along <= member.length_in and 0.0 <= hole.across <= member.depth_in):
            found = f"a hole {context.text(hole.along)} along, {context.text(hole.across)} across"
            do = f"measure from the {member.along_from} and the {member.across_from}"
            faults.append(Fault((*where, "holes", number), found, f"inside the member, {box}", do))
        diameter = None if hole.diameter == "not measured" else float(hole.diameter)
        holes.append(
            Hole(
                id=hole.id or f"{member.id}.old{number + 1}",
                along_in=hole.along,
                across_in=hole.across,
                diameter_in=diameter,
                holds=tuple(hole.has),
            )
        )
    names = {"room": "low", "far": "high"} if "room" in member.across_from else {"bottom": "low", "top": "high"}
    notches: list[Notch] = []
    for number, notch in enumerate(said.notches):
        place = (*where, "notches", number)
        if notch.edge not in names:
            do = f"this member's two edges are called {' and '.join(names)}"
            faults.append(Fault((*place, "edge"), notch.edge, " or ".join(names), do))
        elif not (0.0 <= notch.from_ < notch.to <= member.length_in and 0.0 < notch.depth < member.depth_in):
            found = f"{context.text(notch.from_)} to {context.text(notch.to)}, {context.text(notch.depth)} deep"
            faults.append(Fault(place, found, f"inside the member, {box}", f"measure from the {member.along_from}"))
        else:
            notches.append(Notch(along=(notch.from_, notch.to), edge=names[notch.edge], depth_in=notch.depth))
    return replace(member, holes=(*member.holes, *holes), notches=(*member.notches, *notches)), tuple(faults)


def section_text(section: Section) -> str:
    """Return a section as said and as read: "2x10 (dressed 1-1/2 x 9-1/4)"; ``Section.said`` already carries both."""
    return section.said

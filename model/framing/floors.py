"""Floors and ceilings: joists between rims, trimmers and headers round holes, rows of blocks.

Axes: u across the joists from the datum corner, v along them, w up from the joists' underside (either hand). Joists and
trimmers are numbered together by station: a trimmer that takes a joist's place takes its number (``LOFT-T5`` for
``LOFT-J5``), one that stands in a bay takes its lower neighbour's number and a letter. Headers have the number of the
trimmer at the hole's near side, blocks that of the joist at the bay's near side. What a hole or a flush girder cuts in
pieces keeps its id in the piece nearest the datum end; the next one is ``LOFT-J5-2``, and so on. A second row of
blocks is ``LOFT-B1-2`` ... likewise.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from barnloom.model.building import Assembly, Member, Role, Span, Vec, Void
from barnloom.model.errors import Fault
from barnloom.model.framing.common import LETTERS, SAME_IN, Context, Framed, applied, letter, row_ids, stations, stray
from barnloom.model.framing.holes import Gap, Ground, gaps, same_pack
from barnloom.model.framing.pieces import Lie, lap_in, piece, sides, storey_at
from barnloom.model.scene.schema import FloorSaid, Section
from barnloom.model.vectors import UP, dot, end_name, heading_vec, left_of, minus, moved

PLATE_IN = 3.5
"""What joists bear on at either end, from the floor's outer edge, where nobody says: a 2x4 wall's plate."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bed:
    """A floor as its pieces need it: its axes and sizes (inches), and what they have in common."""

    id: str
    said: FloorSaid
    context: Context
    storey: str
    origin: Vec
    u: Vec
    v: Vec
    extent_u: float
    extent_v: float
    breadth: float
    depth: float
    run: Span
    """From where to where joists go, along v: inside the rims."""
    role: Role

    @property
    def stops(self) -> tuple[Span, ...]:
        """The flush girders, as spans along the joists."""
        return tuple((girder.at, girder.at + girder.width) for girder in self.said.girders)

    @property
    def bearings(self) -> tuple[Span, ...]:
        """Where the joists bear, as spans along v."""
        if self.said.bearings is None:
            return ((0.0, PLATE_IN), (self.extent_v - PLATE_IN, self.extent_v))
        return tuple((strip.at, strip.at + strip.width) for strip in self.said.bearings)

    def place(self, u: float, v: float, w: float) -> Vec:
        """Return the world's coordinates of a place in the floor."""
        return moved(self.origin, (self.u, u), (self.v, v), (UP, w))

    def row_id(self, role: Role, label: str) -> str:
        """Return a member's id from its number and letter."""
        return f"{self.id}-{LETTERS[role]}{label}"

    def lengthwise(self, name: str, role: Role, near: float, span: Span, plies: int) -> Member:
        """Return a joist or trimmer with its near face at ``near``, from span[0] to span[1] along v."""
        spans = ((max(a, span[0]), min(b, span[1])) for a, b in self.bearings)
        return piece(
            name,
            role,
            Lie(origin=self.place(near, span[0], 0.0), along=self.v, bit=self.u, across=UP),
            span[1] - span[0],
            self.said.joists.section,
            assembly=self.id,
            storey=self.storey,
            along_from=end_name(self.v, "datum end"),
            plies=plies,
            bearings=tuple((a - span[0], b - span[0]) for a, b in spans if b - a > SAME_IN),
            engineered=self.said.joists.engineered,
        )

    def crosswise(
        self, name: str, role: Role, span: Span, near: float, section: Section, plies: int = 1, *, sawn: bool = False
    ) -> Member:
        """Return a rim, header or block over a span across the joists, its near face at ``near`` along v."""
        depth = sides(section, (self.breadth, self.depth))[1]
        return piece(
            name,
            role,
            Lie(origin=self.place(span[0], near, self.level(depth)), along=self.u, bit=self.v, across=UP),
            span[1] - span[0],
            section,
            assembly=self.id,
            storey=self.storey,
            along_from=end_name(self.u, "datum end"),
            plies=plies,
            engineered=self.said.joists.engineered and not sawn,
        )

    def level(self, depth: float) -> float:
        """Return how far over the joists' underside a piece begins: flush below in a ceiling, else above."""
        return 0.0 if self.said.ceiling else self.depth - depth

    def finished(self, member: Member, station_in: float, row: Span) -> tuple[Member | None, tuple[Fault, ...]]:
        """Return the member with what the scene says about it."""
        return applied(member, self.context, station_in=station_in, row=row, high=not self.said.ceiling)

    def spans(self, member: Member) -> tuple[Span, Span]:
        """Return where a lengthwise member lies, along u and along v."""
        gone = minus(member.origin, self.origin)
        u, v = dot(gone, self.u), dot(gone, self.v)
        return (u, u + member.thickness_in), (v, v + member.length_in)


@dataclass(frozen=True, slots=True)
class _Strip:
    """A joist or a pack of trimmers as it would stand without any hole: label ("5", "5a"), near face, plies."""

    label: str
    role: Role
    near: float
    plies: int


def frame_floor(floor_id: str, said: FloorSaid, context: Context) -> Framed:
    """
    Return a floor or ceiling as one assembly and its members.

    Joists run between the rims, the first and last flush with the floor's edges; other depths are flush with the
    subfloor above, in a ceiling with the underside. A storey that is not in the scene makes an empty answer: that fault
    is found where names are looked up.
    """
    where = ("floors", floor_id)
    named = [name for name in (said.carries, said.below) if name is not None]
    if any(name not in context.floors for name in named):
        return Framed()
    breadth, depth = sides(said.joists.section)
    if said.bottom is not None and said.carries is None:
        bottom = said.bottom
    elif said.carries is not None and said.bottom is None:
        bottom = context.floors[said.carries] - said.subfloor - depth
    else:
        found = "both carries and bottom" if said.carries is not None else "neither carries nor bottom"
        do = "write carries: STOREY for a floor that people stand on, bottom: for a ceiling"
        return Framed(faults=(Fault(where, found, "one of the two, for the level", do),))

    e = heading_vec(said.heading)
    lengthwise = said.joists.run == "depth"
    u, v = (e, left_of(e)) if lengthwise else (left_of(e), e)
    extent_u, extent_v = said.size if lengthwise else (said.size[1], said.size[0])
    rim = sides(said.rim_section or said.joists.section, (breadth, depth))[0]
    bed = _Bed(
        id=floor_id,
        said=said,
        context=context,
        storey=_storey(said, bottom, context),
        origin=(*said.corner, bottom),
        u=u,
        v=v,
        extent_u=extent_u,
        extent_v=extent_v,
        breadth=breadth,
        depth=depth,
        run=(rim if said.rims in ("both", "near") else 0.0, extent_v - (rim if said.rims in ("both", "far") else 0.0)),
        role=Role.CEILING_JOIST if said.ceiling else Role.JOIST,
    )
    faults = _slips(bed)
    if faults:
        return Framed(faults=faults)
    nears, faults = stations(
        said.joists, start=0.0, end=extent_u, breadth_in=breadth, where=(*where, "joists"), context=context
    )
    added = said.joists.extra
    faults += stray(
        added, start=0.0, end=extent_u, breadth_in=breadth, where=(*where, "joists", "extra"), context=context
    )
    ground = Ground(extent_u=extent_u, extent_v=extent_v, breadth=breadth, run=bed.run, stops=bed.stops)
    holes, hole_faults = gaps(said.openings, ground, where=(*where, "openings"), swap=not lengthwise, context=context)
    faults += hole_faults
    if faults:
        return Framed(faults=faults)
    return _framed(bed, nears, added, holes)


def _storey(said: FloorSaid, bottom: float, context: Context) -> str:
    """Return the storey whose ceiling a floor is: as said, the one under the storey it carries, or by its level."""
    if said.below is not None:
        return said.below
    if said.carries is None:
        return storey_at(bottom, context.floors)
    level = context.floors[said.carries]
    under = {name: floor for name, floor in context.floors.items() if floor < level}
    return max(under, key=lambda name: under[name]) if under else said.carries


def _slips(bed: _Bed) -> tuple[Fault, ...]:
    """Return what cannot be, of a floor's sizes, girders, bearings and rows of blocks."""
    where, text = ("floors", bed.id), bed.context.text
    faults: list[Fault] = []
    if bed.extent_u < bed.breadth or bed.run[1] - bed.run[0] <= SAME_IN:
        found = f"{text(bed.said.size[0])} by {text(bed.said.size[1])}"
        faults.append(Fault((*where, "size"), found, "room for a joist between the rims", "measure outside to outside"))
    strips = [("girders", strip) for strip in bed.said.girders]
    strips += [("bearings", strip) for strip in bed.said.bearings or []]
    counts: dict[str, int] = {}
    for key, strip in strips:
        place = (*where, key, counts.get(key, 0))
        counts[key] = counts.get(key, 0) + 1
        if not (strip.at >= -SAME_IN and strip.width > 0 and strip.at + strip.width <= bed.extent_v + SAME_IN):
            found = f"from {text(strip.at)} to {text(strip.at + strip.width)} along the joists"
            do = "measure from the datum corner's side, along the joists"
            faults.append(Fault(place, found, f"within the floor's {text(bed.extent_v)}", do))
    for number, row in enumerate(bed.said.blocking):
        half = sides(row.section or bed.said.joists.section, (bed.breadth, bed.depth))[0] / 2
        if not (bed.run[0] - SAME_IN <= row.at - half and row.at + half <= bed.run[1] + SAME_IN):
            expected = f"blocks within {text(bed.run[0])} to {text(bed.run[1])}, where the joists go"
            do = "measure the row's middle along the joists, from the datum corner's side"
            faults.append(Fault((*where, "blocking", number, "at"), text(row.at), expected, do))
    return tuple(faults)


def _framed(bed: _Bed, nears: Sequence[float], added: Sequence[float], holes: Sequence[Gap]) -> Framed:
    """Return the assembly with all its members, once nothing about stations and holes is wrong."""
    row: Span = (0.0, bed.extent_u)
    strips, faults = _strips(bed, nears, added, holes)
    members: list[Member] = []
    standing: list[tuple[str, Member]] = []
    for strip in strips:
        name = bed.row_id(strip.role, strip.label)
        over = (strip.near, strip.near + strip.plies * bed.breadth)
        for number, span in enumerate(_uncut(bed, over, holes), start=1):
            part = name if number == 1 else f"{name}-{number}"
            joist, found = bed.finished(
                bed.lengthwise(part, strip.role, strip.near, span, strip.plies), strip.near, row
            )
            faults += found
            if joist is not None:
                standing.append((strip.label, joist))
    members += [joist for _, joist in standing]
    length: Span = (0.0, bed.extent_v)
    for crosspiece, near in (*_rims(bed), *_headers(bed, strips, holes)):
        done, found = bed.finished(crosspiece, near, length)
        faults += found
        members += [done] if done is not None else []
    blocks, found = _blocks(bed, standing, holes)
    faults += found
    for block, near in blocks:
        done, found = bed.finished(block, near, length)
        faults += found
        members += [done] if done is not None else []
    kind = "ceiling" if bed.said.ceiling else "floor"
    assembly = Assembly(
        id=bed.id,
        kind="floor",
        title=bed.said.title or f"{kind} {bed.id}",
        storey=bed.storey,
        origin=bed.origin,
        u=bed.u,
        v=bed.v,
        w=UP,
        extent_u=row,
        extent_v=length,
        depth_in=bed.depth,
        voids=tuple(Void(id=hole.id, u=hole.u, v=hole.v) for hole in holes),
        skin_in=bed.said.subfloor,
    )
    return Framed((assembly,), tuple(members), faults)


def _strips(
    bed: _Bed, nears: Sequence[float], added: Sequence[float], holes: Sequence[Gap]
) -> tuple[list[_Strip], tuple[Fault, ...]]:
    """Return joists and trimmers by station; what a trimmer would overlap (a joist, its own twin) gives way to it."""
    faults: tuple[Fault, ...] = ()
    joists: list[_Strip] = []
    for name, near in row_ids(bed.id, bed.role, nears, added):
        standing, found = _stands(bed, name, near)
        faults += found
        joists.append(_Strip(name.removeprefix(bed.row_id(bed.role, "")), bed.role, standing, 1))
    taken = {joist.label for joist in joists}
    strips = list(joists)
    for near, plies in sorted(side for hole in holes for side in hole.trimmers):
        over = (near, near + plies * bed.breadth)
        replaced = [j for j in strips if lap_in(over, (j.near, j.near + j.plies * bed.breadth)) > SAME_IN]
        strips = [strip for strip in strips if strip not in replaced]
        lower = sum(1 for regular in nears if regular <= near + SAME_IN)
        label = replaced[0].label if replaced else next(_free_labels(lower, taken))
        taken.add(label)
        strips.append(_Strip(label, Role.TRIMMER, near, plies))
    return sorted(strips, key=lambda strip: (strip.near, strip.label)), faults


def _free_labels(number: int, taken: set[str]) -> Iterator[str]:
    """Yield the number with each letter that nobody has."""
    count = 0
    while True:
        label = f"{number}{letter(count)}"
        if label not in taken:
            yield label
        count += 1


def _stands(bed: _Bed, name: str, near: float) -> tuple[float, tuple[Fault, ...]]:
    """Return the near face of a joist, moved where the scene says so."""
    said = bed.context.overrides.get(name)
    if said is None or said.missing or (said.at is None and said.centre is None):
        return near, ()
    joist, _ = bed.finished(bed.lengthwise(name, bed.role, near, bed.run, 1), near, (0.0, bed.extent_u))
    if joist is None:
        return near, ()
    standing = bed.spans(joist)[0][0]
    where = ("members", name, "at" if said.at is not None else "centre")
    faults = stray(
        [standing], start=0.0, end=bed.extent_u, breadth_in=joist.thickness_in, where=where, context=bed.context
    )
    return standing, faults


def _uncut(bed: _Bed, over: Span, holes: Sequence[Gap]) -> Iterator[Span]:
    """Yield what holes and flush girders leave of a joist that lies over a span of u."""
    cuts = [hole.cut for hole in holes if lap_in(over, hole.u) > SAME_IN]
    start = bed.run[0]
    for low, high in sorted((*cuts, *bed.stops)):
        if low - start > SAME_IN:
            yield (start, low)
        start = high
    if bed.run[1] - start > SAME_IN:
        yield (start, bed.run[1])


def _rims(bed: _Bed) -> Iterator[tuple[Member, float]]:
    """Yield the rims with their near faces: RM1 at the datum end, RM2 at the far one."""
    section = bed.said.rim_section or bed.said.joists.section
    across: Span = (0.0, bed.extent_u)
    if bed.said.rims in ("both", "near"):
        yield bed.crosswise(bed.row_id(Role.RIM, "1"), Role.RIM, across, 0.0, section), 0.0
    if bed.said.rims in ("both", "far"):
        yield bed.crosswise(bed.row_id(Role.RIM, "2"), Role.RIM, across, bed.run[1], section), bed.run[1]


def _headers(bed: _Bed, strips: Sequence[_Strip], holes: Sequence[Gap]) -> Iterator[tuple[Member, float]]:
    """Yield the headers of every hole with their near faces."""
    trimmers = [strip for strip in strips if strip.role is Role.TRIMMER]
    taken: set[str] = set()
    for hole in sorted(holes, key=lambda hole: (hole.u, hole.v)):
        beside = next(t.label for t in trimmers if same_pack((t.near, t.plies), hole.trimmers[0]))
        for near, plies in hole.headers:
            number = int(beside.rstrip("abcdefghijklmnopqrstuvwxyz"))
            label = beside if beside not in taken else next(_free_labels(number, taken))
            taken.add(label)
            name = bed.row_id(Role.HEADER, label)
            yield bed.crosswise(name, Role.HEADER, hole.u, near, bed.said.joists.section, plies), near


def _blocks(
    bed: _Bed, standing: Sequence[tuple[str, Member]], holes: Sequence[Gap]
) -> tuple[list[tuple[Member, float]], tuple[Fault, ...]]:
    """Return the blocks of every row, one a bay, with their near faces; a row into a header or girder is a fault."""
    blocks: list[tuple[Member, float]] = []
    faults: list[Fault] = []
    for number, row in enumerate(bed.said.blocking, start=1):
        section = row.section or bed.said.joists.section
        half = sides(section, (bed.breadth, bed.depth))[0] / 2
        over: Span = (row.at - half, row.at + half)
        wanted = row.between or (0.0, bed.extent_u)
        barred = _barred(bed, over, wanted, holes)
        if barred:
            text = bed.context.text
            found = f"a row from {text(over[0])} to {text(over[1])} along the joists"
            do = "move the row, or say between which joists it goes"
            faults.append(Fault(("floors", bed.id, "blocking", number - 1, "at"), found, f"clear of {barred}", do))
            continue
        for label, bay in _bays(bed, standing, over):
            middle = (bay[0] + bay[1]) / 2
            inside = any(lap_in(bay, hole.u) > SAME_IN and lap_in(over, hole.v) > SAME_IN for hole in holes)
            if inside or not wanted[0] - SAME_IN <= middle <= wanted[1] + SAME_IN:
                continue
            name = bed.row_id(Role.BLOCK, label) + (f"-{number}" if number > 1 else "")
            sawn = row.section is not None
            blocks.append((bed.crosswise(name, Role.BLOCK, bay, over[0], section, sawn=sawn), over[0]))
    return blocks, tuple(faults)


def _barred(bed: _Bed, over: Span, wanted: Span, holes: Sequence[Gap]) -> str:
    """Return in words what a row of blocks would run into, or nothing."""
    if any(lap_in(over, stop) > SAME_IN for stop in bed.stops):
        return "the flush girder"
    for hole in holes:
        across = lap_in(wanted, hole.u) > SAME_IN
        inside = hole.v[0] <= over[0] + SAME_IN and over[1] <= hole.v[1] + SAME_IN
        if across and lap_in(over, hole.cut) > SAME_IN and not inside:
            return f"the headers of {hole.id}"
    return ""


def _bays(bed: _Bed, standing: Sequence[tuple[str, Member]], over: Span) -> Iterator[tuple[str, Span]]:
    """Yield the gaps between the joists that stand beside a row of blocks, each with its near joist's label."""
    beside = []
    for label, joist in standing:
        u, v = bed.spans(joist)
        if lap_in(v, over) > SAME_IN:
            beside.append((u, label))
    beside.sort()
    for ((_, low), label), ((high, _), _) in zip(beside, beside[1:], strict=False):
        if high - low > SAME_IN:
            yield label, (low, high)

"""Stick-framed walls: plates, studs, openings, blocks, corners and tees, under a level or a sloped top.

A stud under a slope is a box up to the lower side of its cut top: the wedge above it, its breadth times the slope high,
is left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from barnloom.model.building import Assembly, Member, Right, Role, Span, Void
from barnloom.model.errors import Fault
from barnloom.model.framing.common import (
    SAME_IN,
    TAPE_IN,
    Context,
    Framed,
    Place,
    applied,
    member_id,
    row_ids,
    stations,
    stray,
)
from barnloom.model.framing.corners import Meetings, meetings, wall_line, wall_storey
from barnloom.model.framing.openings import Framing, framing, opening_faults
from barnloom.model.framing.pieces import lap_in
from barnloom.model.framing.slab import Segment, Slab, lowest
from barnloom.model.scene.schema import Section, Wall, WallBlocking
from barnloom.model.vectors import UP

NARROWEST_BLOCK_IN = 3.0
"""A gap between studs narrower than this gets no block (common practice, no source)."""
CLOSED = "corner closed by the scene"
UNMEASURED = "section not measured"


@dataclass(frozen=True, slots=True)
class _Job:
    """One wall being framed: what was said, what it meets, and the levels its members stand between."""

    name: str
    said: Wall
    context: Context
    slab: Slab
    met: Meetings
    tops: tuple[Segment, ...]
    under: tuple[Segment, ...]
    sole: float
    openings: Mapping[str, Framing]


@dataclass(slots=True)
class _Made:
    """Members of the wall so far, with what the scene says of each, and what was wrong with that."""

    context: Context
    members: list[Member] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    def add(self, draft: Member | None, *, station: float | None = None, row: Span | None = None) -> None:
        if draft is None:
            return
        member, faults = applied(draft, self.context, station_in=station, row=row)
        self.faults += faults
        if member is not None:
            self.members.append(member)


def frame_wall(name: str, said: Wall, context: Context) -> Framed:
    """Return a wall's assembly and members; with faults, what the scene has to put right instead."""
    where: Place = ("walls", name)
    met = meetings(name, context)
    tops, faults = _tops(said, met.framed, where, context)
    if faults or met.faults:
        return Framed(faults=(*met.faults, *faults))
    line, section = wall_line(said, context), said.section
    bearing = said.bearing != "no" or said.exterior == "yes"
    unmeasured = () if section.measured else ("section",)
    slab = Slab(
        id=name,
        storey=wall_storey(said, context),
        origin=line.origin,
        u=line.u,
        w=line.w,
        breadth=line.breadth,
        depth=line.depth,
        section=section.said if section.measured else f"{section.said} (drawn as 2x4)",
        bearing=bearing,
        bore=Right.FREE if section.measured else Right.UNKNOWN,
        unmeasured=(*unmeasured, "bearing") if said.bearing == "not measured" and said.exterior == "no" else unmeasured,
        start_with=met.start_with,
    )
    sole, plates = said.sole_plates * line.breadth, said.top_plates * line.breadth
    under = tuple(_lowered(top, plates) for top in tops)
    openings = {
        opening: framing(opening, its, breadth=line.breadth, sole=sole, underside=under)
        for opening, its in said.openings.items()
    }
    job = _Job(name, said, context, slab, met, tops, under, sole, openings)
    return _framed(job)


def _framed(job: _Job) -> Framed:
    """Return the wall of a job whose shape is sound."""
    said, context, framed = job.said, job.context, job.met.framed
    where: Place = ("walls", job.name)
    faults = list(
        opening_faults(
            job.openings,
            where=(*where, "openings"),
            wall=framed,
            depth=job.slab.depth,
            sole=job.sole,
            underside=job.under,
            context=context,
        )
    )
    nears, stray_faults = stations(
        said.studs,
        start=framed[0],
        end=framed[1],
        breadth_in=job.slab.breadth,
        where=(*where, "studs"),
        context=context,
    )
    faults += [*stray_faults, *_extra_faults(job, where)]
    if faults:
        return Framed(faults=tuple(faults))
    made = _Made(context)
    _plates(job, made)
    _studs(job, nears, made)
    _opening_frames(job, made)
    made.members = _cornered(job, made.members)
    _blocks(job, where, made)
    level = said.profile is None
    assembly = Assembly(
        id=job.name,
        kind="wall",
        title=said.title or job.name,
        storey=job.slab.storey,
        origin=job.slab.origin,
        u=job.slab.u,
        v=UP,
        w=job.slab.w,
        extent_u=framed,
        extent_v=(0.0, max(max(top.v0, top.v1) for top in job.tops)),
        depth_in=job.slab.depth,
        top=() if level else _corners_of(job.under),
        voids=tuple(
            Void(id=f"{job.name}.{name}", u=frame.wide, v=(frame.said.bottom, frame.said.top))
            for name, frame in job.openings.items()
        ),
        lining=said.lining or context.lining,
        bearing=job.slab.bearing,
        exterior=said.exterior == "yes",
    )
    return Framed((assembly,), tuple(made.members), tuple(made.faults), _overruns(job, made.members))


# --- the shape -------------------------------------------------------------------------------------------------------


def _tops(said: Wall, framed: Span, where: Place, context: Context) -> tuple[tuple[Segment, ...], tuple[Fault, ...]]:
    """Return the line of the plates' top over the framing, stretch by stretch, or what is wrong with it."""
    text = context.text
    breadth = wall_line(said, context).breadth
    if framed[1] - framed[0] < 2 * breadth - SAME_IN:
        found = f"{text(said.length)}, of which {text(framed[1] - framed[0])} is left between the walls it meets"
        return (), (Fault((*where, "length"), found, "room for two studs", "measure it between outside corners"),)
    if (said.height is None) == (said.profile is None):
        found = "neither height nor profile" if said.height is None else "both height and profile"
        do = "give height: for a level top, profile: for a sloped one"
        return (), (Fault(where, found, "one of the two", do),)
    least = (said.sole_plates + said.top_plates + 1) * breadth
    if said.height is not None:
        if said.height < least:
            do = "measure from the sole plate's bottom to the top plates' top"
            return (), (
                Fault((*where, "height"), text(said.height), f"at least {text(least, 'up')}, plates and a stud", do),
            )
        return (Segment(framed[0], said.height, framed[1], said.height),), ()
    profile = said.profile or []
    alongs = [along for along, _ in profile]
    if (
        len(profile) < 2
        or alongs != sorted(alongs)
        or abs(alongs[0]) > TAPE_IN
        or abs(alongs[-1] - said.length) > TAPE_IN
    ):
        found = ", ".join(text(along) for along in alongs) or "no corners"
        expected = f"corners from 0 to the wall's length, {text(said.length)}, in order"
        return (), (Fault((*where, "profile"), found, expected, "write [along, height] from the start to the end"),)
    if max(height for _, height in profile) < least:
        do = "measure heights from the sole plate's bottom to the top plates' top"
        found = f"at most {text(max(height for _, height in profile))}"
        return (), (Fault((*where, "profile"), found, f"{text(least, 'up')} somewhere, plates and a stud", do),)
    whole = [Segment(u0, v0, u1, v1) for (u0, v0), (u1, v1) in pairwise(profile) if u1 - u0 > SAME_IN]
    whole[0] = replace(whole[0], u0=min(whole[0].u0, framed[0]), v0=whole[0].at(min(whole[0].u0, framed[0])))
    whole[-1] = replace(whole[-1], u1=max(whole[-1].u1, framed[1]), v1=whole[-1].at(max(whole[-1].u1, framed[1])))
    clipped = [
        Segment(near, top.at(near), far, top.at(far))
        for top in whole
        for near, far in [(max(top.u0, framed[0]), min(top.u1, framed[1]))]
        if far - near > SAME_IN
    ]
    return tuple(clipped), ()


def _lowered(top: Segment, plates: float) -> Segment:
    """Return the underside of plates ``plates`` thick (square to the slope) whose top is ``top``."""
    drop = plates * math.hypot(top.u1 - top.u0, top.v1 - top.v0) / (top.u1 - top.u0)
    return Segment(top.u0, top.v0 - drop, top.u1, top.v1 - drop)


def _corners_of(line: Sequence[Segment]) -> tuple[tuple[float, float], ...]:
    points = [point for stretch in line for point in ((stretch.u0, stretch.v0), (stretch.u1, stretch.v1))]
    kept = points[:1]
    for point in points[1:]:
        if math.dist(point, kept[-1]) > SAME_IN:
            kept.append(point)
    return tuple(kept)


def _extra_faults(job: _Job, where: Place) -> list[Fault]:
    """Return what is wrong with the studs added by hand: past the ends, or standing in an opening."""
    said, text = job.said, job.context.text
    breadth, (start, end) = job.slab.breadth, job.met.framed
    place = (*where, "extra_studs")
    faults = list(stray(said.extra_studs, start=start, end=end, breadth_in=breadth, where=place, context=job.context))
    for number, near in enumerate(said.extra_studs):
        opening = _opening_at(job, (near, near + breadth))
        if opening is not None:
            found = f"a stud from {text(near)} to {text(near + breadth)}, in the framing of {opening.id}"
            do = "move it, or say more kings or jacks of that opening"
            faults.append(Fault((*place, number), found, "a stud beside the openings", do))
    return faults


def _overruns(job: _Job, members: Iterable[Member]) -> tuple[str, ...]:
    """Return a warning for each stud that a tape has put a little past the wall's end."""
    start, end = job.met.framed
    spans = ((member, job.slab.span(member)) for member in members if member.along == UP)
    past = ((member, max(start - near, far - end)) for member, (near, far) in spans)
    return tuple(
        f"{member.id} stands {job.context.text(over)} past the end of the wall's framing"
        for member, over in past
        if over > SAME_IN
    )


# --- the members -----------------------------------------------------------------------------------------------------


def _plates(job: _Job, made: _Made) -> None:
    """Add sole plates, cut at doors, and top plates, one member a stretch."""
    said, (start, end) = job.said, job.met.framed
    doors = sorted(frame.wide for frame in job.openings.values() if frame.said.bottom < job.sole - SAME_IN)
    cuts = [start, *(edge for door in doors for edge in door), end]
    if said.sole_plates:
        pieces = [(a, b) for a, b in zip(cuts[::2], cuts[1::2], strict=True) if b - a > TAPE_IN]
        for number, piece in enumerate(pieces, start=1):
            plate = member_id(job.name, Role.SOLE_PLATE, number)
            made.add(job.slab.flat(plate, Role.SOLE_PLATE, piece, 0.0, plies=said.sole_plates))
    if said.top_plates:
        for number, top in enumerate(job.tops, start=1):
            plate = member_id(job.name, Role.TOP_PLATE, number)
            made.add(job.slab.sloped(plate, top, job.sole, said.top_plates))


def _studs(job: _Job, nears: Sequence[float], made: _Made) -> None:
    """Add studs, the backing of corners and tees, and cripples where the layout meets an opening."""
    backing, merged = _backing(job, nears)
    numbers = {member_id(job.name, Role.STUD, number): number for number, _ in enumerate(nears, start=1)}
    for name, near in row_ids(job.name, Role.STUD, nears, job.said.extra_studs, backing):
        if name in numbers and near in merged:
            continue
        stud = _standing(job, made, name, Role.STUD, near)
        if stud is None:
            continue
        span = job.slab.span(stud)
        opening = _opening_at(job, span)
        if opening is None:
            made.members.append(stud)
        elif name in numbers:
            _cripples(job, made, opening, numbers[name], span)


def _standing(job: _Job, made: _Made, name: str, role: Role, near: float) -> Member | None:
    """Return a full-height upright as the scene has it; its height is that at the place it was moved to."""
    framed, breadth = job.met.framed, job.slab.breadth
    span: Span = (near, near + breadth)
    member: Member | None = None
    faults: tuple[Fault, ...] = ()
    for _ in range(2):
        rise = (job.sole, lowest(job.under, span))
        if rise[1] - rise[0] < breadth:
            return None
        member, faults = applied(job.slab.upright(name, role, near, rise), job.context, station_in=near, row=framed)
        if member is None or job.slab.span(member) == span:
            break
        span = job.slab.span(member)
    made.faults += faults
    return member


def _backing(job: _Job, nears: Sequence[float]) -> tuple[list[float], set[float]]:
    """Return the near faces of the studs that corners and tees add, and of the layout studs that give way to them.

    Where the studs were measured, all of them were: none is added, none gives way.
    """
    if job.said.studs.every is None:
        return [], set()
    breadth, (start, end) = job.slab.breadth, job.met.framed
    fixed = [(near, near + breadth) for near in (*nears[:1], *nears[-1:], *job.said.extra_studs)]
    kept: list[Span] = []
    for stud in job.met.backing:
        inside = start - SAME_IN <= stud.span[0] and stud.span[1] <= end + SAME_IN
        clear = not any(lap_in(stud.span, other) > SAME_IN for other in (*fixed, *kept))
        if inside and clear and _opening_at(job, stud.span) is None:
            kept.append(stud.span)
    merged = {
        near for near in nears[1:-1] for span in kept if lap_in((near, near + breadth), span) > -TAPE_IN + SAME_IN
    }
    return [span[0] for span in kept], merged


def _cripples(job: _Job, made: _Made, opening: Framing, number: int, span: Span) -> None:
    """Add the cripples that go on the layout of stud ``number``: over the header C5, under the sill C5a."""
    rises: list[tuple[str, Span]] = []
    if lap_in(span, opening.within) > span[1] - span[0] - SAME_IN:
        rises.append(("", (opening.over, lowest(job.under, span))))
    if lap_in(span, opening.wide) > span[1] - span[0] - SAME_IN:
        rises.append(("a", (job.sole, opening.said.bottom - job.slab.breadth)))
    for letter, rise in rises:
        if rise[1] - rise[0] > TAPE_IN:
            name = member_id(job.name, Role.CRIPPLE, number, letter)
            made.add(job.slab.upright(name, Role.CRIPPLE, span[0], rise), station=span[0], row=job.met.framed)


def _opening_frames(job: _Job, made: _Made) -> None:
    """Add the kings, jacks, headers and sills of all openings, numbered along the wall."""
    frames = sorted(job.openings.values(), key=lambda frame: frame.zone)
    kings = sorted(near for frame in frames for near in frame.kings)
    for name, near in row_ids(job.name, Role.KING, kings):
        king = _standing(job, made, name, Role.KING, near)
        if king is not None:
            made.members.append(king)
    jacks = sorted((near, frame.said.top) for frame in frames for near in frame.jacks)
    for number, (near, top) in enumerate(jacks, start=1):
        name = member_id(job.name, Role.JACK, number)
        made.add(job.slab.upright(name, Role.JACK, near, (job.sole, top)), station=near, row=job.met.framed)
    for number, frame in enumerate(frames, start=1):
        if frame.header is not None:
            made.add(_header(job, member_id(job.name, Role.HEADER, number), frame))
        if frame.sill:
            name, bottom = member_id(job.name, Role.SILL, number), frame.said.bottom - job.slab.breadth
            made.add(job.slab.flat(name, Role.SILL, frame.wide, bottom))


def _header(job: _Job, name: str, frame: Framing) -> Member | None:
    """Return the header of an opening; one whose section nobody said is not for boring."""
    if frame.header is None:
        return None
    bears = frame.wide[0] - frame.within[0]
    breadth, depth = frame.header
    plies = frame.said.header_plies
    header = job.slab.header(name, frame.within, frame.said.top, plies=plies, breadth=breadth, depth=depth, bears=bears)
    header = replace(header, section=frame.header_section)
    return _known(header) if frame.header_known else _unknown(header, "header's section not said")


def _known(member: Member) -> Member:
    """Return a member with a measured section of its own in a wall whose section may not be."""
    if "section" not in member.unmeasured:
        return member
    unmeasured = tuple(name for name in member.unmeasured if name != "section")
    return replace(member, bore=Right.FREE, reason="", unmeasured=unmeasured)


def _unknown(member: Member, reason: str) -> Member:
    unmeasured = tuple(sorted({*member.unmeasured, "section"}))
    return replace(member, bore=Right.UNKNOWN, reason=reason, unmeasured=unmeasured)


def _cornered(job: _Job, members: Iterable[Member]) -> list[Member]:
    """Return the members with those marked through which cable goes round a corner or a tee, or may not."""
    met, (start, end) = job.met, job.met.framed
    edges = [((start - TAPE_IN, start + TAPE_IN), met.start_open), ((end - TAPE_IN, end + TAPE_IN), met.end_open)]
    places = [(span, is_open) for span, is_open in edges if is_open is not None]
    places += [(stud.span, stud.open) for stud in met.backing]
    marked: list[Member] = []
    for member in members:
        if member.role in (Role.STUD, Role.KING):
            span = job.slab.span(member)
            passages = [is_open for place, is_open in places if lap_in(span, place) > SAME_IN]
            if passages and all(passages):
                member = replace(member, corner=True)
            elif passages:
                member = replace(member, bore=Right.NEVER, reason=CLOSED)
        marked.append(member)
    return marked


# --- blocks ----------------------------------------------------------------------------------------------------------


def _blocks(job: _Job, where: Place, made: _Made) -> None:
    """Add rows of blocks, one in every bay that has room; numbered row by row as written, along each row."""
    obstacles = [(job.slab.span(member), job.slab.rise(member)) for member in made.members]
    uprights = [pair for pair, member in zip(obstacles, made.members, strict=True) if member.role is not Role.TOP_PLATE]
    number = 0
    for row_number, row in enumerate(job.said.blocking):
        place = (*where, "blocking", row_number)
        section, depth = _block_section(job, row.section)
        if depth > job.slab.depth + TAPE_IN:
            found = f"a block {job.context.text(depth)} deep"
            expected = f"at most the wall's depth, {job.context.text(job.slab.depth)}"
            made.faults.append(Fault((*place, "section"), found, expected, "give a smaller section"))
            continue
        rise = (row.height - section / 2, row.height + section / 2)
        bays = _bays(job, row, rise, [span for span, its in uprights if lap_in(its, rise) > SAME_IN])
        if not bays:
            found = f"a row of blocks at {job.context.text(row.height)} with no bay to stand in"
            expected = f"a height between the plates, from {job.context.text(job.sole)} up, where there are studs"
            made.faults.append(Fault((*place, "height"), found, expected, "measure to the blocks' centre"))
        for bay in bays:
            number += 1
            name = member_id(job.name, Role.BLOCK, number)
            block = job.slab.flat(name, Role.BLOCK, bay, rise[0], section=(section, depth))
            if row.section is not None:
                block = replace(block, section=row.section.said)
                block = _known(block) if row.section.measured else _unknown(block, UNMEASURED)
            made.add(block)


def _block_section(job: _Job, said: Section | None) -> Span:
    if said is None or not said.measured:
        return job.slab.breadth, job.slab.depth
    return said.breadth_in, said.depth_in


def _bays(job: _Job, row: WallBlocking, rise: Span, standing: Iterable[Span]) -> list[Span]:
    """Return the clear spans between neighbouring members at the height of a row, openings and slopes left out."""
    voids = (frame.wide for frame in job.openings.values() if lap_in(rise, (frame.said.bottom, frame.said.top)) > 0)
    solid = sorted([*standing, *voids])
    bays: list[Span] = []
    far = solid[0][1] if solid else 0.0
    for span in solid[1:]:
        if span[0] - far >= NARROWEST_BLOCK_IN - SAME_IN:
            bays.append((far, span[0]))
        far = max(far, span[1])
    low, high = row.between or job.met.framed
    return [
        bay
        for bay in bays
        if low <= (bay[0] + bay[1]) / 2 <= high
        and rise[0] >= job.sole - SAME_IN
        and rise[1] <= lowest(job.under, bay) + SAME_IN
    ]


def _opening_at(job: _Job, span: Span) -> Framing | None:
    """Return the opening in whose framing something from span[0] to span[1] along the wall would stand."""
    return next((frame for frame in job.openings.values() if lap_in(frame.zone, span) > SAME_IN), None)

"""What cannot be, once a building stands: members in each other, boxes in members, in the air, or in each other."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches

import numpy as np

from barnloom.model.building import Assembly, Box, KeepClear, Member, Role, Span, Vec
from barnloom.model.errors import Fault
from barnloom.model.framing.boxes import Site, box_axes, in_assembly
from barnloom.model.framing.common import TAPE_IN, Context, Place
from barnloom.model.framing.solids import Solids, apart_in, member_solids, near_pairs, overlap_in, solid_boxes
from barnloom.model.lengths import snap
from barnloom.model.scene.schema import Wall
from barnloom.model.spans import Floats
from barnloom.model.vectors import dot, moved

TOUCH_IN = 1 / 16
"""A tape reads no finer: bodies that overlap by no more only touch."""
NEIGHBOUR_IN = 48.0
"""How far round a box its nearest free place is sought."""
_LET_IN = frozenset(
    frozenset(pair)
    for pair in (
        (Role.RAFTER, Role.TOP_PLATE),
        (Role.RAFTER, Role.RIDGE),
        (Role.RAFTER, Role.RAFTER),
        (Role.RAFTER, Role.CEILING_JOIST),
        (Role.RAFTER, Role.JOIST),
        (Role.RAFTER, Role.RIM),
        (Role.COLLAR_TIE, Role.RAFTER),
        (Role.RIDGE, Role.TOP_PLATE),
        (Role.RIDGE, Role.STUD),
        (Role.RIDGE, Role.CRIPPLE),
    )
)
"""Kinds of members that are cut to each other or nailed side by side, and are drawn as whole boxes."""


# --- members ---------------------------------------------------------------------------------------------------------


def member_overlaps(
    members: Sequence[Member], joints: Iterable[tuple[str, str]], paths: Mapping[str, Place], context: Context
) -> tuple[tuple[Fault, ...], tuple[str, ...]]:
    """Return faults and warnings for members that stand in each other.

    More than 1/2 in deep is a fault, less a warning; pairs listed in ``joints``, and kinds that are always cut to each
    other, are neither. Of two assemblies' members the deepest overlap is told, with how many more there are.

    Parameters
    ----------
    paths : mapping of str to tuple
        Place in the scene of each assembly, timber and board, in the order written.
    """
    solids = member_solids(members)
    first, second = near_pairs(solids, solids)
    first, second = first[first < second], second[first < second]
    deep = overlap_in(solids, first, solids, second)
    declared = {frozenset(pair) for pair in joints}
    found: dict[tuple[str, str, bool], dict[frozenset[str], tuple[float, Member, Member]]] = defaultdict(dict)
    for a, b, depth in zip(solids.owner[first], solids.owner[second], deep, strict=True):
        one, other = members[a], members[b]
        pair = frozenset((one.id, other.id))
        if depth <= TOUCH_IN or a == b or pair in declared or frozenset((one.role, other.role)) in _LET_IN:
            continue
        group = found[(one.assembly, other.assembly, bool(depth > TAPE_IN + 1e-6))]
        if depth > group.get(pair, (0.0,))[0]:
            group[pair] = (float(depth), one, other)
    faults, warnings = [], []
    for (_, _, is_fault), pairs in sorted(found.items()):
        depth, one, other = max(pairs.values(), key=lambda entry: (entry[0], entry[1].id, entry[2].id))
        more = f" (and {len(pairs) - 1} more such pairs)" if len(pairs) > 1 else ""
        said = f"{other.id} stands {context.text(depth)} deep in {one.id}{more}"
        if not is_fault:
            warnings.append(f"{said}: measure again, or let it be")
            continue
        where = _blamed(one, other, paths, context)
        do = f"measure both again, or list the pair under joints: [{one.id}, {other.id}]"
        faults.append(Fault(where, said, f"members side by side, or at most {context.text(TAPE_IN)} deep", do))
    return tuple(faults), tuple(warnings)


def _blamed(one: Member, other: Member, paths: Mapping[str, Place], context: Context) -> Place:
    """Return the place in the scene to look at: a member said to be different, else the part written later."""
    changed = [("members", member.id) for member in (one, other) if member.id in context.overrides]
    order = list(paths)
    later = max((one.assembly, other.assembly), key=lambda name: order.index(name) if name in paths else -1)
    return changed[0] if changed else paths.get(later, ())


def unknown_members(names: Iterable[tuple[Place, str]], known: Iterable[str]) -> tuple[Fault, ...]:
    """Return a fault for each id that no member has, with the nearest one, of the same wall or floor if any is."""
    ids = sorted(known)
    there = set(ids)
    faults = []
    for where, name in names:
        if name not in there:
            part = name.rpartition("-")[0]
            own = [other for other in ids if part and other.startswith(f"{part}-")]
            near = get_close_matches(name, own, n=1, cutoff=0.0) or get_close_matches(name, ids, n=1, cutoff=0.6)
            nearest = f"the nearest there is: {near[0]}; " if near else ""
            do = f"{nearest}members.csv of a first plan has them all"
            faults.append(Fault(where, name, "the id of a member", do))
    return tuple(faults)


def holes_twice(members: Iterable[Member]) -> Iterator[Fault]:
    """Yield a fault for each old hole whose id another has already."""
    seen: set[str] = set()
    for member in members:
        for number, hole in enumerate(member.holes):
            if hole.id in seen:
                where = ("members", member.id, "holes", number, "id")
                yield Fault(
                    where, f"{hole.id}, the id of another hole", "an id of its own", "leave it out, or change it"
                )
            seen.add(hole.id)


# --- boxes -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Around:
    """The framing, the keep-clear solids and the boxes as solid boxes, to hold a body against."""

    members: tuple[Member, ...]
    timber: Solids
    kept: tuple[KeepClear, ...]
    clear: Solids
    boxes: tuple[Box, ...]
    bodies: Solids
    rows: Mapping[str, tuple[Floats, Floats]]
    """From where to where the members of each assembly reach along u and along v of it, (n, 2) each."""


def box_faults(boxes: Sequence[Box], keep_clear: Sequence[KeepClear], site: Site) -> tuple[Fault, ...]:
    """Return what is wrong with where boxes hang: in a member, in a keep-clear solid, in mid-air, or in another box.

    A body in a member is told the nearest place along its host where it is free; a body in mid-air the nearest member.
    """
    members = tuple(site.members.values())
    spans = [tuple(high - low for low, high in zip(solid.low, solid.high, strict=True)) for solid in keep_clear]
    world = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    clear = solid_boxes(
        [solid.low for solid in keep_clear], [world for _ in keep_clear], [(x, y, z) for x, y, z in spans]
    )
    bodies = _bodies(boxes, site)
    bodied = np.array([number for number, box in enumerate(boxes) if box.kind != "stub"], dtype=np.intp)
    hosts = {box.host: site.assemblies[box.host] for box in boxes if not box.side}
    around = _Around(
        members,
        member_solids(members),
        tuple(keep_clear),
        clear,
        tuple(boxes[number] for number in bodied),
        bodies.part(bodied),
        _rows(members, hosts.values()),
    )
    in_timber, in_clear = _deepest(bodies, around.timber), _deepest(bodies, clear)
    faults: list[Fault] = []
    for number, box in enumerate(boxes):
        where: Place = ("boxes", box.id)
        fault = _in_timber(box, in_timber.get(number), around, site, where)
        fault = fault or _in_clear(in_clear.get(number), around, where)
        body = bodies.part(np.array([number]))
        if fault is None:
            reason = _mid_air(box, body, around, site)
            fault = None if reason is None else _hanging(reason, body, around, site, where)
        if fault is not None:
            faults.append(fault)
    return (*faults, *_in_each_other(around, site))


def behind_doors(boxes: Iterable[Box], walls: Mapping[str, Wall]) -> Iterator[str]:
    """Yield a warning for each box that a door leaf stands before when it is open flat against its wall."""
    for box in boxes:
        wall = walls.get(box.host)
        for name, opening in wall.openings.items() if wall is not None else ():
            if opening.door is None or opening.door.swings == "out" or box.v_in > opening.top:
                continue
            hinge = opening.at if opening.door.hinge == "start" else opening.at + opening.width
            leaf = (hinge - opening.width, hinge) if opening.door.hinge == "start" else (hinge, hinge + opening.width)
            if leaf[0] < box.u_in < leaf[1]:
                yield f"{box.id} is behind the door {name} of {box.host} when that stands open"


def _bodies(boxes: Sequence[Box], site: Site) -> Solids:
    """Return the bodies of boxes (a stub's is a point)."""
    axes = [box_axes(box, site) for box in boxes]
    corners = [
        moved(box.at, *((axis, -size / 2) for axis, size in zip(its, box.size_in, strict=True)))
        for box, its in zip(boxes, axes, strict=True)
    ]
    return solid_boxes(corners, axes, [box.size_in for box in boxes])


def _deepest(bodies: Solids, others: Solids) -> dict[int, tuple[int, float]]:
    """Return which of the others each body, by number, stands deepest in, and how deep; not those that only touch."""
    rows, columns = near_pairs(bodies, others)
    deep = overlap_in(bodies, rows, others, columns)
    found: dict[int, tuple[int, float]] = {}
    for k in np.flatnonzero(deep > TOUCH_IN).tolist():
        if float(deep[k]) > found.get(int(rows[k]), (0, 0.0))[1]:
            found[int(rows[k])] = int(others.owner[columns[k]]), float(deep[k])
    return found


def _in_timber(box: Box, hit: tuple[int, float] | None, around: _Around, site: Site, where: Place) -> Fault | None:
    if hit is None:
        return None
    member, deep = around.members[hit[0]], hit[1]
    found = f"a {box.kind} {site.context.text(deep)} deep in {member.id}"
    free = _free_place(box, around, site)
    do = (
        f"the nearest free place: {free}" if free else "there is no free place near it along the row: move it otherwise"
    )
    return Fault(where, found, "a body clear of the framing", do)


def _in_clear(hit: tuple[int, float] | None, around: _Around, where: Place) -> Fault | None:
    if hit is None:
        return None
    solid = around.kept[hit[0]]
    do = "move the box, or correct the solid or its clearance"
    return Fault(where, f"a body in {solid.id}, which is kept clear ({solid.kind})", "a body outside it", do)


def _hanging(reason: str, body: Solids, around: _Around, site: Site, where: Place) -> Fault:
    near = ""
    if around.members:
        rows = np.zeros(len(around.timber.half), np.intp)
        far = apart_in(body, rows, around.timber, np.arange(len(rows)))
        nearest = int(np.argmin(far))
        member = around.members[int(around.timber.owner[nearest])]
        near = f"the nearest member is {member.id}, {site.context.text(float(far[nearest]))} away: "
    do = f"{near}move the box to a bay, or fix it to a member with on: and side:"
    return Fault(where, f"a box in mid-air, {reason}", "a bay, or a member that it touches", do)


def _mid_air(box: Box, body: Solids, around: _Around, site: Site) -> str | None:
    """Return why nothing holds a box, or None where something does."""
    if box.side:
        host = site.members[box.host]
        within = -TOUCH_IN <= box.u_in <= host.length_in + TOUCH_IN
        return None if within else f"past the end of {host.id}, which is {site.context.text(host.length_in)} long"
    assembly = site.assemblies[box.host]
    u = (box.u_in - box.size_in[0] / 2, box.u_in + box.size_in[0] / 2)
    v = (box.v_in - box.size_in[1] / 2, box.v_in + box.size_in[1] / 2)
    for span, extent in ((u, assembly.extent_u), (v, assembly.extent_v)):
        if span[0] < extent[0] - TOUCH_IN or span[1] > extent[1] + TOUCH_IN:
            return f"past the edge of {assembly.id}"
    if box.size_in[2] > assembly.depth_in + TOUCH_IN:
        return f"deeper than {assembly.id}, which has {site.context.text(assembly.depth_in)} of framing"
    if assembly.top and v[1] > _underside(assembly, u) + TOUCH_IN:
        return f"over the sloped top of {assembly.id}"
    for void in assembly.voids:
        if _reaches_into(u, void.u) and _reaches_into(v, void.v):
            return f"in the opening {void.id}"
    return None if _held(assembly, u, v, body, around) else f"in no bay of {assembly.id}"


def _underside(assembly: Assembly, span: Span) -> float:
    """Return the lowest of a sloped top's underside over a span along the wall."""
    alongs, heights = (np.asarray(values) for values in zip(*assembly.top, strict=True))
    inner = heights[(alongs > span[0]) & (alongs < span[1])]
    return float(min(*np.interp(span, alongs, heights), *inner))


def _held(assembly: Assembly, u: Span, v: Span, body: Solids, around: _Around) -> bool:
    """Return whether a body has members of its assembly on both sides along the row, or touches one (within 1/2 in)."""
    along, up = around.rows[assembly.id]
    beside = np.minimum(up[:, 1], v[1]) - np.maximum(up[:, 0], v[0]) >= -TOUCH_IN
    left, right = along[beside, 1] <= u[0] + TOUCH_IN, along[beside, 0] >= u[1] - TOUCH_IN
    if left.any() and right.any():
        return True
    rows, columns = near_pairs(replace(body, half=body.half + TAPE_IN), around.timber)
    return bool(np.any(apart_in(body, rows, around.timber, columns) <= TAPE_IN))


def _rows(members: Sequence[Member], assemblies: Iterable[Assembly]) -> dict[str, tuple[Floats, Floats]]:
    """Return from where to where the members of each assembly reach along u and along v of it, (n, 2) each."""
    own: dict[str, list[Member]] = defaultdict(list)
    for member in members:
        own[member.assembly].append(member)
    rows = {}
    for assembly in assemblies:
        mine = own[assembly.id]
        start = np.array([member.origin for member in mine]).reshape(-1, 3) - assembly.origin
        axes = np.array([(member.along, member.bit, member.across) for member in mine]).reshape(-1, 3, 3)
        sizes = np.array([(member.length_in, member.thickness_in, member.depth_in) for member in mine]).reshape(-1, 3)
        steps = (axes @ np.array([assembly.u, assembly.v]).T) * sizes[:, :, None]
        low, high = np.minimum(steps, 0.0).sum(axis=1), np.maximum(steps, 0.0).sum(axis=1)
        at = start @ np.array([assembly.u, assembly.v]).T
        spans = at[:, :, None] + np.stack([low, high], axis=2)
        rows[assembly.id] = spans[:, 0], spans[:, 1]
    return rows


def _free_place(box: Box, around: _Around, site: Site) -> str:
    """Return, in the scene's words, the nearest place along its row where a box is free and held; "" if none is."""
    half, grid = box.size_in[0] / 2, 1 / 25.4 if site.context.metric else TOUCH_IN
    direction = box_axes(box, site)[0]
    at = dot(box.at, direction)
    middles = np.asarray(around.timber.centre @ np.asarray(direction)) - at
    clear = np.einsum("ni,ni->n", np.abs(around.timber.axes @ np.asarray(direction)), around.timber.half) + half
    steps = {snap(float(step), grid, "up") for step in middles + clear if 0 < step < NEIGHBOUR_IN}
    steps |= {snap(float(step), grid, "down") for step in middles - clear if -NEIGHBOUR_IN < step < 0}
    bodies = _bodies([other for other in around.boxes if other.id != box.id], site)
    for step in sorted(steps, key=lambda step: (abs(step), step)):
        there = _shifted(box, step, direction, site)
        body = _bodies([there], site)
        solid = any(_deepest(body, others) for others in (around.timber, around.clear, bodies))
        if not solid and _mid_air(there, body, around, site) is None:
            return _said_place(there, step, site)
    return ""


def _shifted(box: Box, step: float, direction: Vec, site: Site) -> Box:
    at = moved(box.at, (direction, step))
    if not box.side:
        host = site.assemblies[box.host]
        at = in_assembly(host, (box.u_in + step, box.v_in, box.w_in))
    return replace(box, u_in=box.u_in + step, at=at)


def _said_place(box: Box, step: float, site: Site) -> str:
    """Return a box's place as its scene would say it."""
    text = site.context.text
    floor = site.floors.get(box.host)
    if floor is not None:
        way = "further from" if step > 0 else "nearer to"
        return f"{text(abs(step))} {way} the datum corner, across the joists"
    return f"along {text(box.u_in)}"


def _in_each_other(around: _Around, site: Site) -> Iterator[Fault]:
    first, second = near_pairs(around.bodies, around.bodies)
    first, second = first[first < second], second[first < second]
    for a, b, deep in zip(first, second, overlap_in(around.bodies, first, around.bodies, second), strict=True):
        if deep > TOUCH_IN:
            found = f"a body {site.context.text(float(deep))} deep in that of {around.boxes[a].id}"
            yield Fault(("boxes", around.boxes[b].id), found, "bodies side by side", "move one of the two")


def _reaches_into(span: Span, gap: Span) -> bool:
    """Return whether a span (a point too) lies partly in a gap, by more than a tape's error."""
    return span[1] > gap[0] + TOUCH_IN and span[0] < gap[1] - TOUCH_IN

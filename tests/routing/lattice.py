"""Brute force: the shortest cable between two boxes on a plain lattice, with the rules written out by hand once more.

It shares no code with the router: every inch of each assembly's mid-depth plane is a node, and so is every coordinate
at which something begins or ends. Walls and floors square to the world only; one bit, one cable, feet only.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import dijkstra

from barnloom.model.building import Assembly, Box, Building, Member, Right

Floats = NDArray[np.float64]
STEP, EPS = 1.0, 1e-3
BIT = 0.75
END, STUD_EDGE, JOIST_EDGE, PLATE_GAP, TOUCH = 2.0, 0.625, 2.0, 0.25, 0.5
JOIST_LIKE = {"joist", "rim", "rafter", "ceiling_joist", "header", "trimmer", "girder", "ridge"}
SLIVER = -2
STUD_LIKE = {"stud", "king", "jack", "cripple"}


@dataclass
class Plane:
    """One assembly's mid-depth plane: solids in its own axes, low and high corners (n, 3), and whose they are."""

    assembly: Assembly
    axes: Floats
    origin: Floats
    low: Floats
    high: Floats
    whose: list[int]
    us: set[float]
    vs: set[float]

    def local(self, points: Floats) -> Floats:
        return (points - self.origin) @ self.axes.T

    def taken(self, u: Floats, v: Floats, *, straight: bool = False) -> NDArray[np.bool_]:
        """Whether wood or another solid is at each (u, v), (len(u), len(v)); outside of the assembly everything is.

        ``straight``: narrow gaps between two members are passed.
        """
        (u0, u1), (v0, v1) = self.assembly.extent_u, self.assembly.extent_v
        result = ~(((u > u0) & (u < u1))[:, None] & ((v > v0) & (v < v1))[None, :])
        for low, high, owner in zip(self.low, self.high, self.whose, strict=True):
            if straight and owner == SLIVER:
                continue
            result |= ((u > low[0]) & (u < high[0]))[:, None] & ((v > low[1]) & (v < high[1]))[None, :]
        return result


def _world_box(member: Member) -> Iterator[tuple[Floats, Floats]]:
    axes = np.array([member.along, member.bit, member.across])
    for ply in member.plies:
        ends = np.array(member.origin) + np.array([ply.along, ply.bit, ply.across]).T @ axes
        yield ends.min(axis=0), ends.max(axis=0)


def _plane(building: Building, assembly: Assembly) -> Plane:
    axes, origin = np.array([assembly.u, assembly.v, assembly.w]), np.array(assembly.origin)
    low, high, whose = [], [], []

    def add(a: Floats, b: Floats, owner: int, nick: float) -> None:
        if b[2] > nick and a[2] < assembly.depth_in - nick:
            low.append(a)
            high.append(b)
            whose.append(owner)

    for number, member in enumerate(building.members):
        nick = 0.0 if member.assembly == assembly.id else TOUCH
        for corner, other in _world_box(member):
            ends = (np.array([corner, other]) - origin) @ axes.T
            add(ends.min(axis=0), ends.max(axis=0), number, nick)
    for box in building.boxes:
        middle, half = np.array([box.u_in, box.v_in, box.w_in]), np.array(box.size_in) / 2
        if box.host == assembly.id and abs(box.w_in - assembly.depth_in / 2) < half[2]:
            add(middle - half, middle + half, -1, 0.0)
    for void in assembly.voids:
        add(np.array([void.u[0], void.v[0], 0.0]), np.array([void.u[1], void.v[1], 99.0]), -1, 0.0)
    for solid in building.keep_clear:
        ends = (np.array([solid.low, solid.high]) - origin) @ axes.T
        add(ends.min(axis=0), ends.max(axis=0), -1, 0.0)
    _fill_slivers(low, high, whose)
    plane = Plane(assembly, axes, origin, np.array(low), np.array(high), whose, set(), set())
    for lines, extent, k in ((plane.us, assembly.extent_u, 0), (plane.vs, assembly.extent_v, 1)):
        whole = np.ceil(plane.origin @ axes[k] + extent[0]) - plane.origin @ axes[k]
        lines |= set(np.arange(whole, extent[1], STEP)) | set(extent)
        for edge in (*plane.low[:, k], *plane.high[:, k]):
            lines |= {edge - BIT / 2, edge + BIT / 2}
            lines |= {
                edge,
                edge - END - BIT / 2,
                edge + END + BIT / 2,
                edge - PLATE_GAP - BIT / 2,
                edge + PLATE_GAP + BIT / 2,
            }
        lines.intersection_update([x for x in lines if extent[0] - 1e-9 <= x <= extent[1] + 1e-9])
    return plane


def _fill_slivers(low: list[Floats], high: list[Floats], whose: list[int]) -> None:
    """Gaps of less than half an inch are no way through, but a bit goes straight on from one stud into the next."""
    count = len(whose)
    for a in range(count):
        for b in range(count):
            for k in (0, 1):
                gap = low[b][k] - high[a][k]
                sides = max(low[a][1 - k], low[b][1 - k]), min(high[a][1 - k], high[b][1 - k])
                if 1e-6 < gap < TOUCH - 1e-6 and sides[1] - sides[0] > 1e-6:
                    start, end = np.zeros(3), np.full(3, 99.0)
                    start[k], end[k] = high[a][k], low[b][k]
                    start[1 - k], end[1 - k] = sides
                    low.append(start)
                    high.append(end)
                    whose.append(SLIVER if k == 0 and whose[a] >= 0 and whose[b] >= 0 else -1)


def _round(lines: set[float]) -> Floats:
    return np.unique(np.round(np.array(sorted(lines)), 6))


def _span(member: Member, axis: Floats) -> tuple[float, float]:
    """A member's extent along an axis of the world, all its plies together."""
    ends = [x for corners in _world_box(member) for x in (corners[0] @ axis, corners[1] @ axis)]
    return min(ends), max(ends)


def _legal_along(member: Member, along: float) -> bool:
    """Whether a hole may be that far along a member, as far as its ends go."""
    return all(p.along[0] + END + BIT / 2 - 1e-6 <= along <= p.along[1] - END - BIT / 2 + 1e-6 for p in member.plies)


def _band(member: Member) -> tuple[float, float]:
    """Where its middle may be across a member; empty if it is too large for it."""
    role = member.role.value
    joist = role in JOIST_LIKE or (role == "block" and member.depth_in > 6)
    share = 1 / 3 if joist else (0.4 if member.bearing else 0.6) if role in STUD_LIKE else 1.0
    if member.bore is not Right.FREE or share * member.depth_in + 1e-6 < BIT:
        return 1.0, 0.0
    edge = (JOIST_EDGE if joist else STUD_EDGE) + BIT / 2
    return edge, member.depth_in - edge


@dataclass
class Port:
    near: int
    near_at: tuple[float, float]
    far: int
    far_at: tuple[float, float]
    length: float


def _gaps(low: float, high: float, taken: list[tuple[float, float]]) -> list[tuple[float, float]]:
    free = [(low, high)]
    for a, b in taken:
        free = [part for s, e in free for part in ((s, min(e, a)), (max(s, b), e)) if part[1] - part[0] > TOUCH]
    return free


def _ports(building: Building, planes: list[Plane]) -> Iterator[Port]:
    """Holes from one assembly into another: sole plates with their subfloor, top plates, studs at a corner."""
    by_id = {plane.assembly.id: n for n, plane in enumerate(planes)}
    for member in building.members:
        if member.assembly not in by_id or _band(member)[0] > _band(member)[1]:
            continue
        near = planes[by_id[member.assembly]]
        axes = np.array([member.along, member.bit, member.across])
        corners = np.array([corner for pair in _world_box(member) for corner in pair])
        for far in planes:
            spans = np.array([far.assembly.extent_u, far.assembly.extent_v, (0.0, far.assembly.depth_in)])
            ends = far.local(corners)
            if far is near or np.any(ends.max(axis=0) < spans[:, 0] - 2) or np.any(ends.min(axis=0) > spans[:, 1] + 2):
                continue
            for side in (1, -1):
                yield from _through(member, axes, side, near, far, by_id)


def _through(member: Member, axes: Floats, side: int, near: Plane, far: Plane, by_id: dict[str, int]) -> Iterator[Port]:
    face, back = (member.thickness_in, 0.0) if side > 0 else (0.0, member.thickness_in)
    down = side * float(axes[1] @ far.axes[2])
    skin = far.assembly.skin_in if down < -0.5 else 0.0
    mouth = face + side * skin
    for along in _places(member, axes, near, far):
        if not _legal_along(member, along):
            continue
        strips = [
            _strips(member, axes, along, bit, plane)
            for plane, bit in ((near, back - side * 0.1), (far, mouth + side * (TOUCH + 0.1)))
        ]
        for a in strips[0]:
            for b in strips[1]:
                strip = max(a[0], b[0]), min(a[1], b[1])
                place = _aim(member, strip)
                if place is None:
                    continue
                points = np.array(member.origin) + np.array([[along, back, place], [along, mouth, place]]) @ axes
                here, there = near.local(points[0]), far.local(points[1])
                length = abs(mouth - back)
                length += abs(here[2] - near.assembly.depth_in / 2) if abs(near.axes[2] @ axes[1]) < 0.5 else 0.0
                length += abs(there[2] - far.assembly.depth_in / 2)
                yield Port(
                    by_id[near.assembly.id], (here[0], here[1]), by_id[far.assembly.id], (there[0], there[1]), length
                )


def _places(member: Member, axes: Floats, *planes: Plane) -> list[float]:
    """Every coordinate of the two planes that runs along a member."""
    found = {END + BIT / 2, member.length_in - END - BIT / 2}
    for plane in planes:
        step, at = plane.axes @ axes[0], plane.local(np.array(member.origin))
        for k, lines in ((0, plane.us), (1, plane.vs)):
            if abs(step[k]) > 0.5:
                found |= {(x - at[k]) * step[k] for x in lines}
    return [float(x) for x in np.unique(np.round(sorted(found), 6)) if 0 <= x <= member.length_in]


def _strips(member: Member, axes: Floats, along: float, bit: float, plane: Plane) -> list[tuple[float, float]]:
    """Free stretches across a member, in a plane's assembly, just off it; the bit keeps its distance along as well."""
    keep = BIT / 2 + PLATE_GAP - 1e-6
    points = np.array([[along - keep, bit, 0.0], [along + keep, bit, member.depth_in]]) @ axes + np.array(member.origin)
    ends = plane.local(points)
    low, high = ends.min(axis=0), ends.max(axis=0)
    extents = np.array([plane.assembly.extent_u, plane.assembly.extent_v, (0.0, plane.assembly.depth_in)])
    way = plane.axes @ axes[2]
    k = int(np.argmax(np.abs(way)))
    if any(low[n] < extents[n, 0] - 1e-6 or high[n] > extents[n, 1] + 1e-6 for n in range(3) if n != k):
        return []
    zero = float(plane.local(np.array(member.origin))[k])
    meets = (plane.low < high - 1e-6) & (plane.high > low + 1e-6)
    meets[:, k] = meets[:, 2] = True
    hit = np.flatnonzero(meets.all(axis=1))
    if k == 2 and len(hit):
        return []
    taken = [tuple(sorted(((plane.low[n, k] - zero) * way[k], (plane.high[n, k] - zero) * way[k]))) for n in hit]
    inside = sorted(((extents[k, 0] - zero) * way[k], (extents[k, 1] - zero) * way[k]))
    return _gaps(max(0.0, inside[0]), min(member.depth_in, inside[1]), taken if k != 2 else [])


def _aim(member: Member, strip: tuple[float, float]) -> float | None:
    """The middle of the strip, moved as little as may be into the band, without a nail plate where one can do so."""
    edge, far = _band(member)
    keep = PLATE_GAP + BIT / 2
    low, high = max(edge, strip[0] + keep), min(far, strip[1] - keep)
    plain = max(low, 1.25 + BIT / 2), min(high, member.depth_in - 1.25 - BIT / 2)
    if plain[0] <= plain[1] + 1e-9 and not member.corner:
        low, high = plain
    return float(np.clip(sum(strip) / 2, low, high)) if low <= high + 1e-9 else None


def has_room(building: Building, name: str) -> bool:
    """Whether a cable can leave a box straight for as far as it should, above or below."""
    box = next(box for box in building.boxes if box.id == name)
    return bool(_exits(box, _plane(building, next(a for a in building.assemblies if a.id == box.host))))


def shortest(building: Building, start: str, end: str) -> float:
    """Length of the shortest legal cable between two boxes (inches); infinite if there is none."""
    planes = [_plane(building, a) for a in building.assemblies]
    hosts = {plane.assembly.id: plane for plane in planes}
    for box in building.boxes:
        plane = hosts[box.host]
        plane.us |= {box.u_in, *((box.u_in + other.u_in) / 2 for other in building.boxes if other.host == box.host)}
        plane.vs |= {box.v_in + s * (box.size_in[1] / 2 + r) for s in (1, -1) for r in (0, box.rise_in)} | {box.v_in}
        plane.vs |= {box.v_in + s * box.rise_in for s in (1, -1)}
    ports = list(_ports(building, planes))
    for port in ports:
        for n, (u, v) in ((port.near, port.near_at), (port.far, port.far_at)):
            planes[n].us.add(u)
            planes[n].vs.add(v)
    grids = [(_round(p.us), _round(p.vs)) for p in planes]
    base = np.cumsum([0] + [len(u) * len(v) for u, v in grids])
    tails, heads, lengths = [], [], []

    def join(a: NDArray[np.int64], b: NDArray[np.int64], length: Floats) -> None:
        tails.extend([a, b])
        heads.extend([b, a])
        lengths.extend([length, length])

    def node(n: int, u: float, v: float) -> int:
        us, vs = grids[n]
        i, j = int(np.argmin(np.abs(us - u))), int(np.argmin(np.abs(vs - v)))
        assert abs(us[i] - u) < 1e-5
        assert abs(vs[j] - v) < 1e-5
        return int(base[n]) + i * len(vs) + j

    for n, (plane, (us, vs)) in enumerate(zip(planes, grids, strict=True)):
        ids = base[n] + np.arange(len(us) * len(vs)).reshape(len(us), len(vs))
        mid_u, mid_v = (us[:-1] + us[1:]) / 2, (vs[:-1] + vs[1:]) / 2
        open_u = ~(plane.taken(mid_u, vs + EPS, straight=True) & plane.taken(mid_u, vs - EPS, straight=True))
        i, j = np.nonzero(open_u)
        join(ids[i, j], ids[i + 1, j], np.diff(us)[i])
        open_v = ~(plane.taken(us + EPS, mid_v) & plane.taken(us - EPS, mid_v))
        for box in (b for b in building.boxes if b.host == plane.assembly.id):
            # A cable does not turn back along its own straight start.
            for turn, _ in _exits(box, plane):
                low, high = sorted((turn, turn - np.sign(turn - box.v_in) * box.rise_in))
                open_v[np.ix_(np.abs(us - box.u_in) < 1e-6, (mid_v > low) & (mid_v < high))] = False
        i, j = np.nonzero(open_v)
        join(ids[i, j], ids[i, j + 1], np.diff(vs)[j])
        for member in building.members:
            if member.assembly == plane.assembly.id:
                _cross(plane, member, us, vs, ids, join)
    ends = {start: int(base[-1]), end: int(base[-1]) + 1}
    for port in ports:
        join(
            np.array([node(port.near, *port.near_at)]),
            np.array([node(port.far, *port.far_at)]),
            np.array([port.length]),
        )
    boxes = {box.id: box for box in building.boxes}
    for name, number in ends.items():
        box = boxes[name]
        n = next(k for k, plane in enumerate(planes) if plane.assembly.id == box.host)
        for turn, length in _exits(box, planes[n]):
            join(np.array([number]), np.array([node(n, box.u_in, turn)]), np.array([length]))
    a, b = boxes[start], boxes[end]
    if a.host == b.host and abs(a.u_in - b.u_in) < 1e-9 and hosts[a.host].assembly.kind == "wall":
        low, high = sorted((a, b), key=lambda x: x.v_in)
        edges = low.v_in + low.size_in[1] / 2, high.v_in - high.size_in[1] / 2
        if edges[1] - edges[0] > EPS and _clear_column(hosts[a.host], a.u_in, *edges):
            join(np.array([ends[start]]), np.array([ends[end]]), np.array([edges[1] - edges[0]]))
    count = int(base[-1]) + 2
    length = np.concatenate(lengths)
    tail, head = np.concatenate(tails), np.concatenate(heads)
    # The matrix adds up entries of the same pair; only the shortest of them may stay.
    order = np.lexsort((length, head, tail))
    pair = np.stack([tail[order], head[order]])
    first = np.concatenate(([True], np.any(np.diff(pair, axis=1) != 0, axis=0)))
    graph = coo_array((length[order][first] + 1e-12, (pair[0][first], pair[1][first])), shape=(count, count)).tocsr()
    return float(dijkstra(graph, indices=ends[start])[ends[end]])


def _cross(plane: Plane, member: Member, us: Floats, vs: Floats, ids: NDArray[np.int64], join: object) -> None:
    """A bore through one member, with free space on both sides of it."""
    low, high = _band(member)
    middle = float(plane.local(np.array(member.origin))[2])
    across = (plane.assembly.depth_in / 2 - middle) * float(np.sign(plane.axes[2] @ np.array(member.across)))
    if low > high:
        return
    off = abs(float(np.clip(across, low, high)) - across)
    bit = plane.axes @ np.array(member.bit)
    k = int(np.argmax(np.abs(bit)))
    if k == 2:
        return
    ends = plane.local(
        np.array([np.array(member.origin), np.array(member.origin) + member.thickness_in * np.array(member.bit)])
    )
    first, last = np.sort(ends[:, k])
    lines, others = (us, vs) if k == 0 else (vs, us)
    start = float(ends[0, 1 - k])
    sign = float(np.sign((plane.axes @ np.array(member.along))[1 - k]))
    i, j = int(np.argmin(np.abs(lines - first))), int(np.argmin(np.abs(lines - last)))
    for m, place in enumerate(others):
        if not _legal_along(member, (place - start) * sign):
            continue
        # The whole mouth must open into free space on both sides.
        keep = BIT / 2 + (PLATE_GAP if member.role.value == "block" and member.depth_in < 6 else 0.0)
        asides = place + np.linspace(-keep + EPS, keep - EPS, 9)
        faces = np.array([first - EPS, last + EPS])
        if not (plane.taken(faces, asides, straight=True) if k == 0 else plane.taken(asides, faces)).any():
            a, b = (ids[i, m], ids[j, m]) if k == 0 else (ids[m, i], ids[m, j])
            join(np.array([a]), np.array([b]), np.array([last - first + 2 * off]))  # type: ignore[operator]


def _clear_column(plane: Plane, u: float, low: float, high: float) -> bool:
    if high - low < 2 * EPS:
        return high >= low
    v = np.linspace(low + EPS, high - EPS, 200)
    return not (plane.taken(np.array([u - EPS]), v) & plane.taken(np.array([u + EPS]), v)).any()


def _exits(box: Box, plane: Plane) -> list[tuple[float, float]]:
    """Where a cable may first turn above and below a box, and how long it is until there."""
    half = box.size_in[1] / 2 if plane.assembly.kind == "wall" else 0.0
    full = []
    for way in (1, -1):
        entry = box.v_in + way * half
        turn = entry + way * box.rise_in
        if _clear_column(plane, box.u_in, min(entry, turn), max(entry, turn)):
            full.append((turn, box.rise_in))
    return full

"""Tracks outside the framing: along the long faces of single timbers, and along the running boards a scene offers.

Each is a line down the middle of a face. It may be used where nothing stands in front of it, and joined wherever that
face touches a bay or another such face.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np

from barnloom.model.building import Box, Building, Member, Right, Role
from barnloom.model.framing.solids import Solids, near_pairs
from barnloom.routing.slab import Floats, Ints, Slab, unique_sorted

TOUCH_IN = 0.5
PROUD_IN = 0.25
"""A cable's middle lies about this far off the face it is stapled to; what is nearer stands in its way."""


@dataclass(frozen=True, eq=False, slots=True)
class Face:
    """A face that may carry cable: its middle line, and the stretches (n, 2) of it that are clear."""

    name: str
    member: int
    board: bool
    start: Floats
    direction: Floats
    normal: Floats
    side: Floats
    """Unit vector over the face."""
    half_in: float
    thick_in: float
    """Of its member, behind the face."""
    length_in: float
    clear: Floats

    def point(self, along: float) -> Floats:
        """Point in the world of a place on the middle line."""
        result: Floats = self.start + along * self.direction
        return result

    def holds(self, point: Floats) -> bool:
        """Whether a point in the world lies on the face."""
        from_start = point - self.start
        along, over = float(from_start @ self.direction), abs(float(from_start @ self.side))
        level = abs(float(from_start @ self.normal)) < TOUCH_IN
        return level and -1e-6 <= along <= self.length_in + 1e-6 and over <= self.half_in + 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Landing:
    """A way from a place on a face into a bay of a slab: corner points in between, in the world; (u, v) there."""

    face: int
    along: float
    slab: int
    u: float
    v: float
    via: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """A way from one face to another that it touches, through the points ``via`` on their surfaces."""

    face_a: int
    along_a: float
    face_b: int
    along_b: float
    via: tuple[tuple[float, float, float], ...]


_SIDES = {"+bit": (1, 1), "-bit": (1, -1), "+across": (2, 1), "-across": (2, -1)}


def _member_faces(member: Member) -> tuple[str, ...]:
    if member.role == Role.BOARD:
        return ("+bit",)
    if member.role == Role.POST:
        return ("+across", "+bit", "-across", "-bit")
    return ("+bit", "-bit")


def faces_of(building: Building) -> list[Face]:
    """Faces of single timbers and boards that a cable may be fastened along."""
    blocks = _solids(building)
    hung: dict[tuple[str, str], list[Box]] = {}
    for box in building.boxes:
        if box.side and box.kind != "stub":
            hung.setdefault((box.host, box.side), []).append(box)
    faces = []
    for index, member in enumerate(building.members):
        if member.assembly != member.id or member.fasten is not Right.FREE:
            continue
        axes = np.array([member.along, member.bit, member.across])
        sizes = (member.length_in, member.thickness_in, member.depth_in)
        for name in _member_faces(member):
            axis, sign = _SIDES[name]
            other = 3 - axis
            middle = np.array([0.0, sizes[1] / 2, sizes[2] / 2])
            middle[axis] = sizes[axis] if sign > 0 else 0.0
            start = np.array(member.origin) + middle @ axes
            normal = sign * axes[axis]
            clear = _clear(start + PROUD_IN * normal, axes[0], member.length_in, index, blocks)
            for box in hung.get((member.id, name), ()):
                clear = _without(clear, box.u_in - box.size_in[0] / 2, box.u_in + box.size_in[0] / 2)
            if len(clear):
                faces.append(
                    Face(
                        f"{member.id} {name}", index, member.role == Role.BOARD, start, axes[0], normal, axes[other],
                        sizes[other] / 2, sizes[axis], member.length_in, clear,
                    )
                )  # fmt: skip
    return faces


@dataclass(frozen=True, eq=False, slots=True)
class _Solids:
    """Plies and keep-clear boxes: origin (n, 3), axes (n, 3, 3), low and high (n, 3), owner's number (n,)."""

    origin: Floats
    axes: Floats
    low: Floats
    high: Floats
    owner: Ints

    def near(self, point: Floats, reach_in: float) -> _Solids:
        """Those whose upright boxes come as near to a point as this, along every axis of the world."""
        middle, half = (self.low + self.high) / 2, (self.high - self.low) / 2
        centre = self.origin + np.einsum("ni,nij->nj", middle, self.axes)
        box = np.einsum("ni,nij->nj", half, np.abs(self.axes))
        found = np.all(np.abs(centre - point) <= box + reach_in, axis=1)
        return _Solids(self.origin[found], self.axes[found], self.low[found], self.high[found], self.owner[found])


def _solids(building: Building) -> _Solids:
    plies = [(index, member, ply) for index, member in enumerate(building.members) for ply in member.plies]
    upright = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    origin = [member.origin for _, member, _ in plies] + [(0.0, 0.0, 0.0) for _ in building.keep_clear]
    axes = [(member.along, member.bit, member.across) for _, member, _ in plies] + [
        upright for _ in building.keep_clear
    ]
    low = [(ply.along[0], ply.bit[0], ply.across[0]) for _, _, ply in plies] + [s.low for s in building.keep_clear]
    high = [(ply.along[1], ply.bit[1], ply.across[1]) for _, _, ply in plies] + [s.high for s in building.keep_clear]
    return _Solids(
        np.array(origin).reshape(-1, 3),
        np.array(axes).reshape(-1, 3, 3),
        np.array(low).reshape(-1, 3),
        np.array(high).reshape(-1, 3),
        np.array([index for index, _, _ in plies] + [-1 for _ in building.keep_clear], dtype=np.int64),
    )


def _pierced(solids: _Solids, start: Floats, direction: Floats) -> Floats:
    """Stretches (n, 2) of a line inside each solid; start > end where it misses."""
    at = np.einsum("nij,nj->ni", solids.axes, start - solids.origin)
    step = np.einsum("nij,j->ni", solids.axes, direction)
    level = np.abs(step) < 1e-12
    with np.errstate(divide="ignore", invalid="ignore"):
        first, second = (solids.low - at) / step, (solids.high - at) / step
    inside = (at > solids.low + 1e-6) & (at < solids.high - 1e-6)
    first = np.where(level, np.where(inside, -np.inf, np.inf), first)
    second = np.where(level, np.where(inside, np.inf, -np.inf), second)
    spans = np.stack([np.minimum(first, second).max(axis=1), np.maximum(first, second).min(axis=1)], axis=1)
    spans[np.any(level & ~inside, axis=1)] = (np.inf, -np.inf)
    result: Floats = spans
    return result


def _without(spans: Floats, low: float, high: float) -> Floats:
    """Stretches left of ``spans`` when low..high is taken out."""
    kept = [piece for a, b in spans for piece in ((a, min(b, low)), (max(a, high), b)) if piece[1] - piece[0] > 1e-6]
    return np.array(kept).reshape(-1, 2)


def _clear(start: Floats, direction: Floats, length: float, own: int, solids: _Solids) -> Floats:
    clear = np.array([[0.0, length]])
    spans = _pierced(solids, start, direction)
    for low, high in spans[(solids.owner != own) & (spans[:, 1] > spans[:, 0])].tolist():
        clear = _without(clear, low, high)
    return clear


def landings_of(face_number: int, face: Face, slab: Slab, wished: Floats) -> list[Landing]:
    """Ways from a face into the bays of a slab that it touches.

    Parameters
    ----------
    wished : (n,) float
        Places along the face that are interesting (boxes on it, boxes of the slab).
    """
    step = slab.axes @ face.direction
    if np.max(np.abs(step)) < 1 - 1e-9:
        return []
    axis = int(np.argmax(np.abs(step)))
    if axis == 2:
        return _end_landings(face_number, face, slab)
    found = []
    for sign in (1.0, -1.0):
        edge = face.start + sign * face.half_in * face.side
        # The cable leaves over one edge of the face and goes on straight into the slab, along the slab's depth.
        for origin in (edge + 1e-3 * sign * face.side, edge):
            at = slab.local(origin)
            way = slab.axes[2] @ (face.side * sign), slab.axes[2] @ -face.normal
            # A board stands off what it is nailed to by its own thickness; a timber's edge has to touch.
            reach = TOUCH_IN + (face.thick_in if abs(way[1]) > 0.5 else 0.0)
            askew = max(abs(way[0]), abs(way[1])) < 1 - 1e-9
            if askew or not -reach <= at[2] <= slab.assembly.depth_in + reach:
                continue
            heading = (slab.plane_in - at[2]) * (way[0] if abs(way[0]) > 0.5 else way[1])
            if heading < -1e-6 and abs(way[0]) > 0.5:
                continue
            spans = _bay_spans(slab, at, step)
            for low, high in spans:
                for a, b in face.clear:
                    begin, end = max(low, a), min(high, b)
                    if end - begin < 1.0:
                        continue
                    stops = unique_sorted([begin + 0.25, end - 0.25, *[x for x in wished if begin < x < end]])
                    for stop in stops:
                        corner = edge + stop * face.direction
                        local = slab.local(corner)
                        # Down the edge of a board the way is still on the board; then it is in the bay.
                        level = float(np.clip(local[2], 0.0, slab.assembly.depth_in))
                        mouth = slab.world(float(local[0]), float(local[1]), level)
                        via = [corner] if abs(level - local[2]) < 1e-9 else [corner, mouth]
                        found.append(
                            Landing(
                                face=face_number,
                                along=float(stop),
                                slab=slab.number,
                                u=float(local[0]),
                                v=float(local[1]),
                                via=tuple((float(x), float(y), float(z)) for x, y, z in via),
                            )
                        )
            if spans.size:
                break
    return found


def _bay_spans(slab: Slab, at: Floats, step: Floats) -> Floats:
    """Stretches along a face during which its edge lies over a free cell of the slab, (n, 2)."""
    axis = int(np.argmax(np.abs(step)))
    run, rest = (slab.cells.u, slab.cells.v) if axis == 0 else (slab.cells.v, slab.cells.u)
    other = at[1 - axis]
    over = (rest[:, 0] < other + 1e-6) & (rest[:, 1] > other - 1e-6)
    ends = (run[over] - at[axis]) / step[axis]
    result: Floats = np.sort(ends, axis=1)
    return result


def _end_landings(face_number: int, face: Face, slab: Slab) -> list[Landing]:
    """A face that runs into a slab's depth (a post up to a ceiling) lands where its line meets the plane."""
    found = []
    at, step = slab.local(face.start), slab.axes @ face.direction
    inside = (
        (slab.cells.u[:, 0] < at[0] + 1e-3) & (slab.cells.u[:, 1] > at[0] - 1e-3)
        & (slab.cells.v[:, 0] < at[1] + 1e-3) & (slab.cells.v[:, 1] > at[1] - 1e-3)
    )  # fmt: skip
    if not inside.any():
        return []
    for a, b in face.clear:
        for stop in (a, b):
            w = at[2] + stop * step[2]
            if -TOUCH_IN <= w <= slab.assembly.depth_in + TOUCH_IN:
                found.append(
                    Landing(
                        face=face_number, along=float(stop), slab=slab.number, u=float(at[0]), v=float(at[1]), via=()
                    )
                )
    return found


def joints_of(faces: Sequence[Face], wished: Sequence[Floats], building: Building) -> list[Joint]:
    """Ways between faces that touch: round a post's edge, from a post onto the girder over it, end to end."""
    solids = _solids(building)
    beside: dict[int, list[Face]] = {}
    for face in faces:
        beside.setdefault(face.member, []).append(face)
    joints = []
    for i, j in _near_pairs(faces):
        a, b = faces[i], faces[j]
        if a.member == b.member and building.members[a.member].role != Role.POST:
            continue
        around = beside[a.member] + (beside[b.member] if a.member != b.member else [])
        for along_a, along_b in _approaches(a, b, wished[i], wished[j]):
            via = _surface_way(a, b, a.point(along_a), b.point(along_b), solids, around)
            if via is not None:
                joints.append(Joint(face_a=i, along_a=along_a, face_b=j, along_b=along_b, via=via))
    return joints


def _near_pairs(faces: Sequence[Face]) -> list[tuple[int, int]]:
    """Pairs of faces that may touch: upright boxes round their middle lines, as wide as the faces, overlap."""
    if not faces:
        return []
    lines = np.array([(face.point(0.0), face.point(face.length_in)) for face in faces])
    wide = np.array([face.half_in + 2 * TOUCH_IN for face in faces])[:, None]
    world = np.broadcast_to(np.eye(3), (len(faces), 3, 3))
    solids = Solids(lines.mean(axis=1), world, np.abs(lines[:, 1] - lines[:, 0]) / 2 + wide, np.arange(len(faces)))
    rows, columns = near_pairs(solids, solids)
    return sorted((i, j) for i, j in zip(rows.tolist(), columns.tolist(), strict=True) if i < j)


def _approaches(a: Face, b: Face, wished_a: Floats, wished_b: Floats) -> list[tuple[float, float]]:
    between = b.start - a.start
    cosine = float(a.direction @ b.direction)
    reach = a.half_in + b.half_in + 2 * TOUCH_IN
    if abs(cosine) > 1 - 1e-9:
        rest = between - (between @ a.direction) * a.direction
        if np.abs(rest).sum() > reach:
            return []
        shift = float(between @ a.direction)
        low, high = sorted((shift, shift + cosine * b.length_in))
        begin, end = max(0.0, low), min(a.length_in, high)
        if begin - end > TOUCH_IN:
            return []
        stops = [begin, end, *[x for x in wished_a if begin < x < end]]
        stops += [s for s in (shift + cosine * x for x in wished_b) if begin < s < end]
        return [(min(s, a.length_in), (s - shift) * cosine) for s in unique_sorted(stops)]
    if abs(cosine) > 1e-9:
        return []
    along_a = float(np.clip(between @ a.direction, 0.0, a.length_in))
    along_b = float(np.clip(-between @ b.direction, 0.0, b.length_in))
    gap = b.point(along_b) - a.point(along_a)
    if np.abs(gap).sum() > reach:
        return []
    found = [(along_a, along_b)]
    # Where a board covers the middle of a face, a cable comes onto it over either edge of the board.
    if b.board:
        found += [
            (along_a + way * b.half_in, along_b) for way in (-1.0, 1.0) if 0 <= along_a + way * b.half_in <= a.length_in
        ]
    if a.board:
        found += [
            (along_a, along_b + way * a.half_in) for way in (-1.0, 1.0) if 0 <= along_b + way * a.half_in <= b.length_in
        ]
    return found


def _on_clear(face: Face, along: float) -> bool:
    return bool(np.any((face.clear[:, 0] - 1e-6 <= along) & (along <= face.clear[:, 1] + 1e-6)))


def _surface_way(
    a: Face, b: Face, p: Floats, q: Floats, solids: _Solids, around: Sequence[Face]
) -> tuple[tuple[float, float, float], ...] | None:
    """Corner points of a rectilinear way from p to q outside all wood; None if there is none."""
    if not (_on_clear(a, float((p - a.start) @ a.direction)) and _on_clear(b, float((q - b.start) @ b.direction))):
        return None
    axes = np.stack([a.direction, a.normal, a.side])
    gap = axes @ (q - p)
    moves = [k for k in range(3) if abs(gap[k]) > 1e-6]
    lift = 1e-3 * (a.normal + b.normal)
    near = solids.near(p, float(np.abs(gap).sum()) + 1.0)
    for order in permutations(moves):
        points = [p]
        for k in order:
            points.append(points[-1] + gap[k] * axes[k])
        legs = list(zip(points[:-1], points[1:], strict=True))
        if all(_open(x + lift, y + lift, near) and face_at((x + y) / 2, around) for x, y in legs):
            return tuple((float(x), float(y), float(z)) for x, y, z in points[1:-1])
    return None


def face_at(point: Floats, faces: Sequence[Face]) -> Face | None:
    """Return the face that a place lies on; None if it is on none of these."""
    return next((face for face in faces if face.holds(point)), None)


def _open(start: Floats, end: Floats, solids: _Solids) -> bool:
    length = float(np.linalg.norm(end - start))
    if length < 1e-9:
        return True
    spans = _pierced(solids, start, (end - start) / length)
    return not bool(np.any((np.minimum(spans[:, 1], length) - np.maximum(spans[:, 0], 0.0)) > 1e-2))

"""From a path in the tracks to the cable's centre line in the building: corner points, and what each leg runs in.

Between holes the depth w is free: a cable keeps the height of the hole it came through until the next one, and takes
the mid-depth plane where it came from below or above.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from barnloom.model.building import Vec
from barnloom.model.vectors import dot
from barnloom.routing.faces import Joint, Landing, face_at
from barnloom.routing.graph import FaceExit, PortWay, Straight, Tracks
from barnloom.routing.ports import Meeting
from barnloom.routing.slab import Floats, member_points
from barnloom.routing.wishes import Exit

if TYPE_CHECKING:
    from barnloom.routing.search import Step


@dataclass(frozen=True, slots=True, kw_only=True)
class Drilled:
    """Final place of a candidate: its id and where the hole is, along and across its member."""

    id: str
    along_in: float
    across_in: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A cable's centre line: points in the world, and for each leg between them its track."""

    points: tuple[Vec, ...]
    tracks: tuple[str, ...]
    length_in: float


class _Line:
    """Points and leg names in the making."""

    def __init__(self) -> None:
        self.points: list[Floats] = []
        self.names: list[str] = []

    def go(self, point: Floats, name: str) -> None:
        if not self.points:
            self.points.append(point)
            return
        after = _between(self.points[-1], point)
        if max(map(abs, after)) < 1e-9:
            return
        if self.names and self.names[-1] == name and len(self.points) > 1:
            before = _between(self.points[-2], self.points[-1])
            if math.hypot(*_crossed(before, after)) < 1e-9 * math.hypot(*before) and dot(before, after) > 0:
                self.points[-1] = point
                return
        self.points.append(point)
        self.names.append(name)


def _between(start: Floats, end: Floats) -> Vec:
    (a, b, c), (x, y, z) = start.tolist(), end.tolist()
    return x - a, y - b, z - c


def _crossed(one: Vec, other: Vec) -> Vec:
    """Vector product."""
    (a, b, c), (x, y, z) = one, other
    return b * z - c * y, c * x - a * z, a * y - b * x


def run_of(tracks: Tracks, steps: Sequence[Step], drilled: Mapping[int, Drilled]) -> Run:
    """Centre line of a path.

    Parameters
    ----------
    steps : sequence of (from node, to node, edge)
    drilled : mapping of candidate number to its final place
    """
    writer = _Writer(tracks, drilled)
    for a, b, edge in steps:
        writer.step(a, b, edge)
    line = writer.line
    length = sum(float(np.linalg.norm(q - p)) for p, q in zip(line.points[:-1], line.points[1:], strict=True))
    points = tuple((round(float(p[0]), 9), round(float(p[1]), 9), round(float(p[2]), 9)) for p in line.points)
    return Run(points=points, tracks=tuple(line.names), length_in=round(length, 9))


class _Writer:
    """Walks a path step by step, remembering the place and depth it has reached."""

    def __init__(self, tracks: Tracks, drilled: Mapping[int, Drilled]) -> None:
        self.tracks = tracks
        self.drilled = drilled
        self.line = _Line()
        self.slab = -1
        self.at = np.zeros(3)
        self.carried = False

    def enter(self, slab: int, u: float, v: float, w: float) -> None:
        """Be at a place of a slab without a leg to it (the point is drawn by whoever brought us here)."""
        self.slab, self.at = slab, np.array([u, v, w])
        self.line.go(self.tracks.slabs[slab].world(u, v, w), "")

    def move(self, u: float, v: float, w: float | None) -> None:
        """Go to a place in the same slab: depth first, then along, then across."""
        slab = self.tracks.slabs[self.slab]
        depth = w if w is not None else (float(self.at[2]) if self.carried else slab.plane_in)
        name = slab.assembly.id
        here = (float(self.at[0]), float(self.at[1]), float(self.at[2]))
        for target in ((here[0], here[1], depth), (here[0], v, depth), (u, v, depth)):
            if target != here:
                self.line.go(slab.world(*target), name)
                here = target
        self.at = np.array([u, v, depth])

    def step(self, a: int, b: int, edge: int) -> None:
        edges = self.tracks.edges
        via, bore = int(edges.via[edge]), int(edges.bore[edge])
        forward = self._is_forward(a, edge)
        if via >= 0:
            self._special(self.tracks.ways[via], bore, forward, b)
        elif bore >= 0:
            self._through(bore, b)
        else:
            place = self.tracks.place(b)
            on_face = self.tracks.face_place(b)
            if place is not None:
                self.move(place[1], place[2], None)
            elif on_face is not None:
                face = self.tracks.faces[on_face[0]]
                self.line.go(face.point(on_face[1]), face.name)

    def _is_forward(self, a: int, edge: int) -> bool:
        boxes = len(self.tracks.boxes)
        first = self.tracks.node_count - boxes
        start = int(self.tracks.edges.a[edge])
        return a == start or (a >= first and a - boxes == start)

    def _through(self, bore: int, b: int) -> None:
        """A bore inside a slab: to its near mouth, through, and on to the node behind it."""
        place = self.tracks.place(b)
        assert place is not None  # noqa: S101 - crossings join nodes of one slab by construction
        slab = self.tracks.slabs[self.slab]
        member = self.tracks.building.members[int(self.tracks.bores.member[bore])]
        hole = self.drilled[bore]
        mouths = [
            slab.local(member_points(member, (hole.along_in, bit, hole.across_in)))
            for bit in (0.0, member.thickness_in)
        ]
        first, second = sorted(mouths, key=lambda m: float(np.abs(m - self.at)[:2].sum()))
        self.move(float(first[0]), float(first[1]), float(first[2]))
        self.line.go(slab.world(*second), f"bore {hole.id}")
        self.at, self.carried = second, True
        self.move(place[1], place[2], None)

    def _special(self, way: object, bore: int, forward: bool, b: int) -> None:
        if isinstance(way, PortWay):
            self._port(way, bore, forward)
        elif isinstance(way, Exit):
            slab = self.tracks.slabs[way.slab]
            points = [(*way.entry, slab.plane_in), (*way.turn, slab.plane_in)]
            self._inside(way.slab, points if forward else points[::-1])
        elif isinstance(way, Straight):
            slab = self.tracks.slabs[way.slab]
            points = [(*way.start, slab.plane_in), (*way.end, slab.plane_in)]
            self._inside(way.slab, points if forward else points[::-1])
        elif isinstance(way, Meeting):
            self._over(way, forward)
        elif isinstance(way, Landing):
            self._landing(way, forward)
        elif isinstance(way, Joint):
            self._joint(way, forward)
        elif isinstance(way, FaceExit):
            face = self.tracks.faces[way.face]
            stops = (way.entry, way.turn) if forward else (way.turn, way.entry)
            for stop in stops:
                self.line.go(face.point(stop), face.name)

    def _joint(self, way: Joint, forward: bool) -> None:
        one, other = self.tracks.faces[way.face_a], self.tracks.faces[way.face_b]
        around = [face for face in self.tracks.faces if face.member in (one.member, other.member)]
        points = [one.point(way.along_a), *[np.array(p) for p in way.via], other.point(way.along_b)]
        if not forward:
            points.reverse()
        for start, end in zip(points[:-1], points[1:], strict=True):
            middle = (start + end) / 2
            on = face_at(middle, [one, other]) or face_at(middle, around)
            self.line.go(end, (on or other).name)

    def _inside(self, slab: int, points: Sequence[tuple[float, float, float]]) -> None:
        first, last = points
        if self.slab != slab or not self.line.points:
            self.carried = False
            self.enter(slab, *first)
        else:
            self.move(*first)
        self.carried = False
        self.move(*last)

    def _over(self, way: Meeting, forward: bool) -> None:
        """From one slab into another that is open to it; a step between their planes is made in the deeper one."""
        number, (u, v) = (way.slab_b, way.at_b) if forward else (way.slab_a, way.at_a)
        old, new = self.tracks.slabs[self.slab], self.tracks.slabs[number]
        self._to_plane()
        if way.step_in > 0 and old.assembly.depth_in >= new.assembly.depth_in:
            self.move(float(self.at[0]), float(self.at[1]), float(old.local(new.world(u, v, new.plane_in))[2]))
        start = new.local(self.line.points[-1])
        self.slab, self.at, self.carried = number, start, False
        self.move(u, v, new.plane_in)

    def _to_plane(self) -> None:
        self.move(float(self.at[0]), float(self.at[1]), self.tracks.slabs[self.slab].plane_in)

    def _port(self, way: PortWay, bore: int, forward: bool) -> None:
        member = self.tracks.building.members[int(self.tracks.bores.member[bore])]
        hole = self.drilled[bore]
        ends = [(way.near, way.near_bit_in), (way.far, way.far_bit_in)]
        mouths = []
        for number, bit in ends if forward else ends[::-1]:
            point = member_points(member, (hole.along_in, bit, hole.across_in))
            mouths.append((number, self.tracks.slabs[number].local(point)))
        (_, near), (number, far) = mouths
        self.move(float(near[0]), float(near[1]), float(near[2]))
        slab = self.tracks.slabs[number]
        self.line.go(slab.world(*far), f"bore {hole.id}")
        self.slab, self.at = number, far
        # Out of a plate into a floor the cable rises to mid-depth; out of a stud round a corner it keeps to its new
        # plane too.
        self.carried = False

    def _landing(self, way: Landing, forward: bool) -> None:
        slab, face = self.tracks.slabs[way.slab], self.tracks.faces[way.face]
        via = [np.array(p) for p in way.via]
        if forward:
            for point in via:
                self.line.go(point, face.name)
            end = slab.world(way.u, way.v, slab.plane_in)
            self.line.go(end, slab.assembly.id)
            self.slab, self.at, self.carried = way.slab, np.array([way.u, way.v, slab.plane_in]), False
        else:
            self.move(way.u, way.v, slab.plane_in)
            for k, point in enumerate(via[::-1]):
                self.line.go(point, slab.assembly.id if k == 0 else face.name)
            self.line.go(face.point(way.along), face.name if via else slab.assembly.id)

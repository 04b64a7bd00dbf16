"""Edges outside the framing: along faces and boards, onto them and off them, and at boxes on them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from barnloom.model.building import Box, Building
from barnloom.model.limits import Limits
from barnloom.routing.faces import Face, Joint, Landing, joints_of, landings_of
from barnloom.routing.graph import (
    ON_WALL,
    OVERHEAD,
    Collector,
    FaceExit,
    Numbers,
    nearest_index,
)
from barnloom.routing.slab import Floats, Ints, Slab, unique_sorted
from barnloom.routing.wishes import Wishes, face_sight_below


def face_ways(
    building: Building, slabs: Sequence[Slab], faces: Sequence[Face], wishes: Sequence[Wishes]
) -> tuple[list[Landing], list[Joint], list[Floats]]:
    """Ways onto faces and between them, and the places along each face that are of interest."""
    wished: list[Floats] = []
    for face in faces:
        own = [0.0, face.length_in, *face.clear.ravel()]
        top = face_sight_below(building, building.members[face.member])
        if abs(face.direction[2]) > 0.7 and np.isfinite(top):
            own.append(float((top - face.start[2]) / face.direction[2]))
        for box in building.boxes:
            if box.side and f"{box.host} {box.side}" == face.name:
                half = box.size_in[0] / 2
                own += [box.u_in, box.u_in - half - box.rise_in, box.u_in + half + box.rise_in]
        wished.append(unique_sorted([x for x in own if -1e-6 <= x <= face.length_in + 1e-6]))
    landings: list[Landing] = []
    for number, face in enumerate(faces):
        for slab in slabs:
            step = slab.axes @ face.direction
            at = slab.origin - face.start
            coordinates = list(wished[number])
            for axis, own_line in ((0, wishes[slab.number].own_u), (1, wishes[slab.number].own_v)):
                if abs(abs(step[axis]) - 1) < 1e-9:
                    coordinates += list(at @ face.direction + own_line * step[axis])
            landings += landings_of(number, face, slab, unique_sorted(coordinates))
    joints = joints_of(faces, wished, building)
    places = [list(w) for w in wished]
    for landing in landings:
        places[landing.face].append(landing.along)
    for joint in joints:
        places[joint.face_a].append(joint.along_a)
        places[joint.face_b].append(joint.along_b)
    return landings, joints, [unique_sorted(p) for p in places]


def face_edges(
    building: Building,
    faces: Sequence[Face],
    places: Sequence[Floats],
    face_base: Ints,
    landings: Sequence[Landing],
    joints: Sequence[Joint],
    numbers: Numbers,
    slabs: Sequence[Slab],
    out: Collector,
) -> None:
    """Edges along faces and boards, from them into bays, and from one to another."""
    edge = Limits(building.limits)["cable.face_edge"]
    for number, face in enumerate(faces):
        at = places[number]
        middles = (at[:-1] + at[1:]) / 2
        clear = np.array([bool(np.any((face.clear[:, 0] <= m) & (m <= face.clear[:, 1]))) for m in middles], dtype=bool)
        upright = abs(face.direction[2]) > 0.7
        low = face.start[2] + middles * face.direction[2] < face_sight_below(building, building.members[face.member])
        # In sight and in reach a cable may drop, if that is accepted, but not run level.
        clear &= ~low | (upright & (building.exposed != "never"))
        k = np.flatnonzero(clear)
        kind = ON_WALL if upright or abs(face.normal[2]) < 0.5 else OVERHEAD
        first = len(out.lane_room)
        out.lane_room += [2 * face.half_in - 2 * edge] * len(k)
        out.lane_sides += [1] * len(k)
        out.add(
            face_base[number] + k, face_base[number] + k + 1, at[k + 1] - at[k],
            staples=kind, lane=first + np.arange(len(k)), covered=low[k] & (building.exposed == "covered"),
        )  # fmt: skip
    for landing in landings:
        face, slab = faces[landing.face], slabs[landing.slab]
        start = face.point(landing.along)
        points = [start, *[np.array(p) for p in landing.via], slab.world(landing.u, landing.v, slab.plane_in)]
        length = sum(float(np.abs(slab.axes @ (q - p)).sum()) for p, q in zip(points[:-1], points[1:], strict=True))
        a = int(face_base[landing.face]) + nearest_index(places[landing.face], landing.along)
        out.add(
            np.array([a]),
            numbers.throughs(landing.slab, np.array([landing.u]), np.array([landing.v])),
            np.array([length]),
            turn=1,
            via=out.way(landing),
        )
    for joint in joints:
        a_face, b_face = faces[joint.face_a], faces[joint.face_b]
        seen = [face_sight_below(building, building.members[f.member]) for f in (a_face, b_face)]
        if min(a_face.point(joint.along_a)[2], b_face.point(joint.along_b)[2]) < max(seen) - 1e-6:
            continue
        points = [a_face.point(joint.along_a), *[np.array(p) for p in joint.via], b_face.point(joint.along_b)]
        length = sum(float(np.linalg.norm(q - p)) for p, q in zip(points[:-1], points[1:], strict=True))
        a = int(face_base[joint.face_a]) + nearest_index(places[joint.face_a], joint.along_a)
        b = int(face_base[joint.face_b]) + nearest_index(places[joint.face_b], joint.along_b)
        turns = 0 if abs(float(a_face.direction @ b_face.direction)) > 0.99 and length < 1.0 else 1
        out.add(np.array([a]), np.array([b]), np.array([length]), turn=turns, via=out.way(joint))


def face_box_edges(
    building: Building,
    box: Box,
    faces: Sequence[Face],
    places: Sequence[Floats],
    face_base: Ints,
    boxes: dict[str, int],
    out: Collector,
) -> None:
    """Edges out of a box on a face, along it as far as its straight start."""
    for number, face in enumerate(faces):
        if face.name != f"{box.host} {box.side}":
            continue
        for sign in (1.0, -1.0):
            entry = box.u_in + sign * box.size_in[0] / 2
            turn = entry + sign * box.rise_in
            clear = np.any(
                (face.clear[:, 0] - 1e-6 <= min(entry, turn)) & (max(entry, turn) <= face.clear[:, 1] + 1e-6)
            )
            if not clear:
                continue
            top = face_sight_below(building, building.members[face.member])
            low = min(face.point(entry)[2], face.point(turn)[2]) < top - 1e-6
            if low and (building.exposed == "never" or abs(face.direction[2]) < 0.7):
                continue
            node = int(face_base[number]) + nearest_index(places[number], turn)
            out.add(
                np.array([boxes[box.id]]),
                np.array([node]),
                np.array([abs(turn - entry)]),
                staples=ON_WALL,
                via=out.way(FaceExit(box=box.id, face=number, entry=entry, turn=turn)),
                covered=low and building.exposed == "covered",
            )

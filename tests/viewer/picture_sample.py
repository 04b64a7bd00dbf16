"""A plan made by hand for the picture tests: a two-storey shed, 24 x 16 ft, three circuits."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from barnloom.model.building import (
    Assembly,
    Box,
    Building,
    CableType,
    Circuit,
    LengthRules,
    Member,
    Ply,
    Role,
    Storey,
    Tools,
    Vec,
)
from barnloom.routing.plan import PLAN_VERSION, Bore, Cable, Plan

WIDE, DEEP = 288.0, 192.0
LOW, LOFT = 96.0, 60.0  # wall heights
JOISTS_AT, FLOOR = 96.0, 106.0  # underside of the loft joists, top of the subfloor
WALL = 3.5


def scaled(vector: Vec, length: float) -> np.ndarray:
    return np.array(vector) * length


def timber(id_: str, role: Role, assembly: str, storey: str, origin, along: Vec, bit: Vec, across: Vec, size, plies=1):
    length, thickness, depth = size
    each = thickness / plies
    return Member(
        id=id_,
        role=role,
        assembly=assembly,
        storey=storey,
        origin=tuple(float(x) for x in origin),
        along=along,
        bit=bit,
        across=across,
        length_in=length,
        thickness_in=thickness,
        depth_in=depth,
        plies=tuple(
            Ply(along=(0.0, length), bit=(i * each, (i + 1) * each), across=(0.0, depth)) for i in range(plies)
        ),
        section="as drawn",
        along_from="named end",
        across_from="named face",
    )


def wall(id_: str, storey: str, start: Vec, u: Vec, length: float, height: float) -> tuple[Assembly, list[Member]]:
    """A wall with the room on its left: u along it, v up, w from the outer face to the room."""
    up: Vec = (0.0, 0.0, 1.0)
    w: Vec = (-u[1], u[0], 0.0)
    out: Vec = (-w[0], -w[1], 0.0)
    assembly = Assembly(
        id=id_,
        kind="wall",
        title=f"wall {id_}",
        storey=storey,
        origin=start,
        u=u,
        v=up,
        w=w,
        extent_u=(0.0, length),
        extent_v=(0.0, height),
        depth_in=WALL,
    )
    room = np.array(start) + scaled(w, WALL)
    members = [
        timber(f"{id_}-P1", Role.SOLE_PLATE, id_, storey, room, u, up, out, (length, 1.5, WALL)),
        timber(
            f"{id_}-T1", Role.TOP_PLATE, id_, storey, room + scaled(up, height - 3), u, up, out, (length, 3.0, WALL), 2
        ),
    ]
    stations = [*np.arange(0.0, length - 3, 24.0), length - 1.5]
    for i, at in enumerate(stations):
        origin = room + scaled(u, at) + scaled(up, 1.5)
        members.append(timber(f"{id_}-S{i + 1}", Role.STUD, id_, storey, origin, up, u, out, (height - 4.5, 1.5, WALL)))
    return assembly, members


def framing() -> tuple[list[Assembly], list[Member]]:
    assemblies: list[Assembly] = []
    members: list[Member] = []
    for storey, base, height, names in (("ground", 0.0, LOW, "SENW"), ("loft", FLOOR, LOFT, "senw")):
        runs = (
            ((0.0, 0.0, base), (1.0, 0.0, 0.0), WIDE),
            ((WIDE, WALL, base), (0.0, 1.0, 0.0), DEEP - 2 * WALL),
            ((WIDE, DEEP, base), (-1.0, 0.0, 0.0), WIDE),
            ((0.0, DEEP - WALL, base), (0.0, -1.0, 0.0), DEEP - 2 * WALL),
        )
        for name, (start, u, length) in zip(names, runs, strict=True):
            assembly, more = wall(name, storey, start, u, length, height)
            assemblies.append(assembly)
            members += more
    assemblies.append(
        Assembly(
            id="FLOOR",
            kind="floor",
            title="loft floor",
            storey="ground",
            origin=(0.0, 0.0, JOISTS_AT),
            u=(1.0, 0.0, 0.0),
            v=(0.0, 1.0, 0.0),
            w=(0.0, 0.0, 1.0),
            extent_u=(0.0, WIDE),
            extent_v=(0.0, DEEP),
            depth_in=9.25,
            skin_in=0.75,
        )
    )
    for i, x in enumerate([*np.arange(0.0, WIDE - 3, 16.0), WIDE - 1.5]):
        members.append(
            timber(
                f"FLOOR-J{i + 1}",
                Role.JOIST,
                "FLOOR",
                "ground",
                (x, 1.5, JOISTS_AT),
                (0.0, 1.0, 0.0),
                (1.0, 0.0, 0.0),
                (0.0, 0.0, 1.0),
                (DEEP - 3, 1.5, 9.25),
            )
        )
    for name, y in (("FLOOR-R1", 0.0), ("FLOOR-R2", DEEP - 1.5)):
        members.append(
            timber(
                name,
                Role.RIM,
                "FLOOR",
                "ground",
                (0.0, y, JOISTS_AT),
                (1.0, 0.0, 0.0),
                (0.0, 1.0, 0.0),
                (0.0, 0.0, 1.0),
                (WIDE, 1.5, 9.25),
            )
        )
    slope = math.hypot(DEEP / 2, 72.0)
    plate = FLOOR + LOFT
    for side, y, sign in (("ROOFS", 0.0, 1.0), ("ROOFN", DEEP, -1.0)):
        v: Vec = (0.0, sign * DEEP / 2 / slope, 72.0 / slope)
        w: Vec = (0.0, -sign * 72.0 / slope, DEEP / 2 / slope)
        assemblies.append(
            Assembly(
                id=side,
                kind="roof",
                title=side,
                storey="loft",
                origin=(0.0, y, plate),
                u=(1.0, 0.0, 0.0),
                v=v,
                w=w,
                extent_u=(0.0, WIDE),
                extent_v=(0.0, slope),
                depth_in=5.5,
            )
        )
        for i, x in enumerate([*np.arange(0.0, WIDE - 3, 24.0), WIDE - 1.5]):
            members.append(
                timber(
                    f"{side}-R{i + 1}",
                    Role.RAFTER,
                    side,
                    "loft",
                    (x, y, plate),
                    v,
                    (1.0, 0.0, 0.0),
                    w,
                    (slope, 1.5, 5.5),
                )
            )
    return assemblies, members


class Pulls:
    """Collects cables and bores: a bore wherever a leg of a cable goes through a member along that member's bit."""

    def __init__(self, members: list[Member]) -> None:
        self.members = members
        self.bores: dict[tuple[str, float, float], Bore] = {}
        self.cables: list[Cable] = []

    def pull(self, circuit: str, from_box: Box, to_box: Box, way: list[Vec]) -> None:
        id_ = f"{circuit}.{to_box.id}"
        used: list[str] = []
        points = [np.array(p) for p in way]
        for a, b in zip(points, points[1:], strict=False):
            for _, bore in sorted(self.crossed(a, b, id_), key=lambda hit: hit[0]):
                place = (bore.member, round(bore.along_in, 3), round(bore.across_in, 3))
                old = self.bores.get(place, bore)
                self.bores[place] = replace(old, cables=tuple(dict.fromkeys((*old.cables, id_))))
                used.append(self.bores[place].id)
        path = sum(float(np.abs(b - a).sum()) for a, b in zip(points, points[1:], strict=False))
        panel = 36.0 if from_box.kind == "panel" else 0.0
        same = from_box.storey == to_box.storey
        self.cables.append(
            Cable(
                id=id_,
                circuit=circuit,
                type="12/2" if circuit != "LIGHT" else "14/2",
                from_box=from_box.id,
                to_box=to_box.id,
                points=tuple(tuple(float(x) for x in p) for p in points),
                tracks=(),
                bores=tuple(used),
                path_in=path,
                entries_in=8.0,
                free_in=16.0,
                panel_in=panel,
                slack_in=0.05 * path,
                cut_in=1.05 * path + 24 + panel,
                floor=to_box.storey if same else f"between {from_box.storey} and {to_box.storey}",
                staples=0,
                turns=0,
                board_in=0.0,
                covered_in=0.0,
            )
        )

    def crossed(self, a: np.ndarray, b: np.ndarray, cable: str):
        for m in self.members:
            axes = np.array([m.along, m.bit, m.across])
            (s, start, t), (s2, end, t2) = axes @ (a - m.origin), axes @ (b - m.origin)
            lo, hi = sorted((start, end))
            square = abs(s - s2) < 1e-6 and abs(t - t2) < 1e-6
            inside = 0 < s < m.length_in and 0 < t < m.depth_in
            if square and inside and lo < 0.1 and hi > m.thickness_in - 0.1:
                letter = "abcdefgh"[sum(key[0] == m.id for key in self.bores)]
                yield (
                    abs(start),
                    Bore(
                        id=f"{m.id}.{letter}",
                        member=m.id,
                        along_in=float(s),
                        across_in=float(t),
                        across_min_in=1.0,
                        across_max_in=m.depth_in - 1.0,
                        diameter_in=0.75,
                        cables=(),
                        nail_plates=(),
                        rule="made up",
                        margin_in=0.0,
                        existing=False,
                        drill_pass="",
                        pose="",
                    ),
                )


def sample_plan(title: str = "Shed for two dinghies") -> Plan:
    assemblies, members = framing()
    by_id = {a.id: a for a in assemblies}

    def box(
        id_: str, circuit: str, host: str, u: float, v: float, kind: str = "box", size: Vec = (4.0, 4.0, 2.125)
    ) -> Box:
        a = by_id[host]
        w = a.depth_in - size[2] / 2 if a.kind == "wall" else size[2] / 2
        at = np.array(a.origin) + scaled(a.u, u) + scaled(a.v, v) + scaled(a.w, w)
        return Box(
            id=id_,
            title=f"{id_} title",
            kind=kind,
            circuits=tuple(circuit.split()),
            storey=a.storey,
            host=host,
            side="",
            u_in=u,
            v_in=v,
            w_in=w,
            size_in=size,
            at=tuple(float(x) for x in at),
            rise_in=8.0,
            cables_max=4,
        )

    panel = box("PANEL", "LIGHT TOOLS LOFT", "W", 100.0, 60.0, "panel", (14.5, 24.0, 3.5))
    boxes = {
        b.id: b
        for b in (
            panel,
            box("door-switch", "LIGHT", "S", 40.0, 48.0),
            box("lamp-1", "LIGHT", "FLOOR", 72.0, 96.0),
            box("lamp-2", "LIGHT", "FLOOR", 200.0, 96.0),
            box("bench-1", "TOOLS", "N", 60.0, 44.0),
            box("bench-2", "TOOLS", "N", 132.0, 44.0),
            box("saw", "TOOLS", "E", 90.0, 18.0),
            box("winch", "TOOLS", "S", 228.0, 18.0),
            box("stair-switch", "LOFT", "w", 60.0, 44.0),
            box("sail-table", "LOFT", "n", 156.0, 18.0),
            box("sewing", "LOFT", "s", 84.0, 18.0),
            box("gable-lamp", "LOFT", "e", 100.0, 44.0),
        )
    }
    z, half = JOISTS_AT + 4.625, WALL / 2
    at = {id_: b.at for id_, b in boxes.items()}
    west, north, east, south = half, DEEP - half, WIDE - half, half
    pulls = Pulls(members)

    def pull(circuit: str, a: str, b: str, *way: Vec) -> None:
        pulls.pull(circuit, boxes[a], boxes[b], list(way))

    px, py = west, at["PANEL"][1]
    pull("LIGHT", "PANEL", "lamp-1", (px, py, 72), (px, py, z), (72, py, z), (72, 96, z))
    pull("LIGHT", "lamp-1", "lamp-2", (72, 96, z), (72, 110, z), (200, 110, z), (200, 96, z))
    pull(
        "LIGHT",
        "lamp-1",
        "door-switch",
        (72, 96, z),
        (72, 80, z),
        (42, 80, z),
        (42, south, z),
        (42, south, 70),
        (40, south, 70),
        (40, south, 50),
    )
    pull(
        "TOOLS",
        "PANEL",
        "bench-2",
        (px, py, 48),
        (px, py, 30),
        (px, DEEP - 9, 30),
        (10, north, 30),
        (156, north, 30),
        (156, north, 42),
    )
    pull("TOOLS", "bench-2", "bench-1", (156, north, 46), (156, north, 56), (228, north, 56), (228, north, 46))
    pull(
        "TOOLS",
        "bench-1",
        "saw",
        (228, north, 42),
        (228, north, 30),
        (east - 8, north, 30),
        (east, north - 8, 30),
        (east, at["saw"][1], 30),
        (east, at["saw"][1], 20),
    )
    pull(
        "TOOLS",
        "saw",
        "winch",
        (east, at["saw"][1], 16),
        (east, at["saw"][1], 8),
        (east, 10, 8),
        (east - 10, south, 8),
        (228, south, 8),
        (228, south, 16),
    )
    pull(
        "LOFT",
        "PANEL",
        "stair-switch",
        (px, py, 72),
        (px, py, z),
        (66, py, z),
        (66, at["stair-switch"][1], z),
        (px, at["stair-switch"][1], z),
        (px, at["stair-switch"][1], FLOOR + 42),
    )
    pull(
        "LOFT",
        "stair-switch",
        "sail-table",
        (px, at["stair-switch"][1], FLOOR + 46),
        (px, at["stair-switch"][1], FLOOR + 52),
        (px, DEEP - 9, FLOOR + 52),
        (10, north, FLOOR + 52),
        (132, north, FLOOR + 52),
        (132, north, FLOOR + 20),
    )
    pull(
        "LOFT",
        "sail-table",
        "gable-lamp",
        (132, north, FLOOR + 16),
        (132, north, FLOOR + 8),
        (WIDE - 10, north, FLOOR + 8),
        (east, DEEP - 10, FLOOR + 8),
        (east, at["gable-lamp"][1], FLOOR + 8),
        (east, at["gable-lamp"][1], FLOOR + 42),
    )
    pull(
        "LOFT",
        "stair-switch",
        "sewing",
        (px, at["stair-switch"][1], FLOOR + 42),
        (px, at["stair-switch"][1], FLOOR + 30),
        (px, 9, FLOOR + 30),
        (10, south, FLOOR + 30),
        (84, south, FLOOR + 30),
        (84, south, FLOOR + 20),
    )

    circuits = tuple(
        Circuit(
            id=c, title=t, panel="PANEL", cable="12/2", boxes=tuple(b.id for b in boxes.values() if b.circuits == (c,))
        )
        for c, t in (("LIGHT", "lights below"), ("TOOLS", "bench outlets"), ("LOFT", "everything upstairs"))
    )
    building = Building(
        title=title,
        about={"use": "boats"},
        metric=False,
        storeys=(Storey(id="ground", title="ground", floor_in=0.0), Storey(id="loft", title="loft", floor_in=FLOOR)),
        assemblies=tuple(assemblies),
        members=tuple(members),
        keep_clear=(),
        boxes=tuple(boxes.values()),
        circuits=circuits,
        cable_rules=(),
        cable_types=(CableType(id="12/2", width_in=0.43, thickness_in=0.18, price_ft=0.8, source="made up"),),
        limits=(),
        prices={},
        lengths=LengthRules(),
        tools=Tools(),
        answers=(),
    )
    return Plan(
        version=PLAN_VERSION,
        building=building,
        cables=tuple(pulls.cables),
        bores=tuple(pulls.bores.values()),
        cost=0.0,
        cost_parts={},
        lower_bound=None,
        unreached=(),
        unreached_why=(),
        assumptions=(),
        warnings=(),
    )

"""A small plan made by hand: a shed with a loft, one wall, six joists, a board, a girder, six cables, one lost box."""

from __future__ import annotations

from barnloom.model.building import (
    Answer,
    Assembly,
    Box,
    Building,
    CableType,
    Circuit,
    Hole,
    LengthRules,
    Member,
    Ply,
    Right,
    Role,
    Storey,
    Tools,
    Vec,
)
from barnloom.model.limits import load_limits
from barnloom.routing.plan import PLAN_VERSION, Bore, Cable, Plan, Unreached

EAST, NORTH, UP, SOUTH = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0)
MID = 100.625
"""Level of the joists' mid-depth."""


def member(
    name: str, role: Role, assembly: str, origin: Vec, axes: tuple[Vec, Vec, Vec], size: Vec, **more: object
) -> Member:
    """One solid piece, axes (along, bit, across), size (length, thickness, depth)."""
    length, thickness, depth = size
    said: dict[str, object] = {
        "storey": "SHOP",
        "section": "2x4 (dressed 1-1/2 x 3-1/2)",
        "along_from": "bottom end",
        "across_from": "room-side face",
    }
    said.update(more)
    return Member(
        id=name,
        role=role,
        assembly=assembly,
        origin=origin,
        along=axes[0],
        bit=axes[1],
        across=axes[2],
        length_in=length,
        thickness_in=thickness,
        depth_in=depth,
        plies=(Ply(along=(0, length), bit=(0, thickness), across=(0, depth)),),
        **said,  # type: ignore[arg-type]
    )


def sample_members() -> tuple[Member, ...]:
    """Studs and plates of SOUTH, joists of LOFT, a girder, a board."""
    stations = (0.0, 15.25, 31.25, 47.25, 63.25, 79.25)
    studs = [
        member(f"SOUTH-S{i}", Role.STUD, "SOUTH", (x, 3.5, 1.5), (UP, EAST, SOUTH), (91.5, 1.5, 3.5))
        for i, x in enumerate(stations, 1)
    ]
    plate = {"along_from": "west end", "across_from": "room-side face"}
    joist = {"section": "2x10 (dressed 1-1/2 x 9-1/4)", "along_from": "south end", "across_from": "bottom edge"}
    joists = [
        member(
            f"LOFT-J{i}",
            Role.JOIST,
            "LOFT",
            (x, 0.0, 96.0),
            (NORTH, EAST, UP),
            (120.0, 1.5, 9.25),
            holes=(Hole(id="OLD1", along_in=60, across_in=4.625, diameter_in=1.0),) if i == 6 else (),
            **joist,
        )
        for i, x in enumerate(stations, 1)
    ]
    return (
        *studs,
        member("SOUTH-P1", Role.SOLE_PLATE, "SOUTH", (0, 3.5, 0), (EAST, UP, SOUTH), (144, 1.5, 3.5), **plate),
        member("SOUTH-T1", Role.TOP_PLATE, "SOUTH", (0, 3.5, 93), (EAST, UP, SOUTH), (144, 3, 3.5), **plate),
        *joists,
        member(
            "GIRDER",
            Role.GIRDER,
            "GIRDER",
            (0, 90, 86),
            (EAST, NORTH, UP),
            (144, 5.5, 10),
            bore=Right.NEVER,
            reason="it carries the loft",
            unmeasured=("bearing",),
            along_from="west end",
            across_from="bottom edge",
        ),
        member(
            "RUN1",
            Role.BOARD,
            "RUN1",
            (0, 110, 95.25),
            (EAST, UP, NORTH),
            (144, 0.75, 3.5),
            section='3/4" x 3-1/2"',
            in_place=False,
            along_from="west end",
            across_from="south edge",
        ),
    )


def box(name: str, circuits: tuple[str, ...], host: str, at: Vec, **more: object) -> Box:
    """One box of 4 x 4 x 2-1/8 in with its centre at a place of the world."""
    said: dict[str, object] = {
        "title": name.title(),
        "kind": "box",
        "storey": "SHOP",
        "side": "",
        "size_in": (4.0, 4.0, 2.125),
        "rise_in": 8.0,
        "cables_max": 4,
    }
    said.update(more)
    return Box(id=name, circuits=circuits, host=host, u_in=at[0], v_in=at[2], w_in=at[1], at=at, **said)  # type: ignore[arg-type]


def sample_building(**more: object) -> Building:
    """The shed itself."""
    said: dict[str, object] = {
        "title": "Net shed",
        "about": {"use": "workshop", "owner": "Ada", "place": "Mudbank"},
        "metric": False,
        "storeys": (
            Storey(id="SHOP", title="Workshop", floor_in=0.0),
            Storey(id="LOFT", title="Loft", floor_in=106.0),
        ),
        "assemblies": (
            Assembly(
                id="SOUTH", kind="wall", title="South wall", storey="SHOP", origin=(0, 0, 0), u=EAST, v=UP, w=NORTH,
                extent_u=(0, 144), extent_v=(0, 96), depth_in=3.5,
            ),
            Assembly(
                id="LOFT", kind="floor", title="Loft floor", storey="SHOP", origin=(0, 0, 96), u=EAST, v=NORTH, w=UP,
                extent_u=(0, 144), extent_v=(0, 120), depth_in=9.25, skin_in=0.75,
            ),
        ),
        "members": sample_members(),
        "keep_clear": (),
        "boxes": (
            box("PANEL", (), "SOUTH", (24, 1.75, 60), kind="panel", size_in=(12.0, 24.0, 3.5)),
            box("TOOL", ("P1",), "SOUTH", (40, 1.75, 48)),
            box("DESK", ("P1",), "SOUTH", (56, 1.75, 48)),
            box("LAMP1", ("L1",), "LOFT", (24, 60, 97)),
            box("LAMP2", ("L1",), "LOFT", (72, 60, 97)),
            box("LAMP3", ("L1",), "LOFT", (88, 60, 97)),
            box("NEST", ("L1", "P1"), "LOFT", (72, 112, 108), storey="LOFT"),
            box("FAR", ("P1",), "LOFT", (100, 110, 97)),
        ),
        "circuits": (
            Circuit(id="L1", title="Lights", panel="PANEL", cable="14/2", boxes=("LAMP1", "LAMP2", "LAMP3", "NEST")),
            Circuit(id="P1", title="Bench outlets", panel="PANEL", cable="12/2", boxes=("TOOL", "DESK", "NEST", "FAR")),
        ),
        "cable_rules": (),
        "cable_types": (
            CableType(id="12/2", width_in=0.422, thickness_in=0.19, price_ft=0.95, source="own invention"),
            CableType(id="14/2", width_in=0.365, thickness_in=0.175, price_ft=0.65, source="own invention"),
        ),
        "limits": load_limits(changes={"joist.edge": (2.5, "the inspector asks for more")}),
        "prices": {"joist_low": 2.5, "stud": 1.2},
        "lengths": LengthRules(),
        "tools": Tools(),
        "answers": (
            Answer(question="Is cable in sight accepted below 7 ft?", answer="covered", assumed=True),
            Answer(question="Is a lining to come?", answer="later", assumed=False, who="Ada", when="May"),
        ),
    }  # fmt: skip
    said.update(more)
    return Building(**said)  # type: ignore[arg-type]


def bore(name: str, on: str, along: float, across: float, cables: tuple[str, ...], **more: object) -> Bore:
    """One 3/4 in hole in the middle of a joist's band."""
    said: dict[str, object] = {
        "across_min_in": 2.375,
        "across_max_in": 6.875,
        "diameter_in": 0.75,
        "nail_plates": (),
        "rule": "IRC 2021 R502.8.1: 2 in to the edge",
        "margin_in": 2.25,
        "existing": False,
        "drill_pass": name,
        "pose": "joist_low",
    }
    said.update(more)
    return Bore(id=name, member=on, along_in=along, across_in=across, cables=cables, **said)  # type: ignore[arg-type]


def cable(
    name: str, ends: tuple[str, str], points: tuple[Vec, ...], tracks: tuple[str, ...], panel: float, **more: object
) -> Cable:
    """One cable whose length parts follow from its points."""
    path = sum(
        sum(abs(b - a) for a, b in zip(start, end, strict=True)) for start, end in zip(points, points[1:], strict=False)
    )
    bores = tuple(track.removeprefix("bore ") for track in tracks if track.startswith("bore "))
    said: dict[str, object] = {
        "circuit": name.split(".")[0],
        "type": "14/2" if name.startswith("L1") else "12/2",
        "floor": "SHOP",
        "staples": 4,
        "turns": 2,
        "board_in": 0.0,
        "covered_in": 0.0,
    }
    said.update(more)
    return Cable(
        id=name,
        from_box=ends[0],
        to_box=ends[1],
        points=points,
        tracks=tracks,
        bores=bores,
        path_in=path,
        entries_in=8.0,
        free_in=16.0,
        panel_in=panel,
        slack_in=round(0.05 * path, 9),
        cut_in=round(path + 8.0 + 16.0 + panel + 0.05 * path, 9),
        **said,  # type: ignore[arg-type]
    )


def sample_plan(**more: object) -> Plan:
    """Six cables through eight holes, one of them old."""
    wall, stud = "SOUTH", {"across_min_in": 1.6875, "across_max_in": 1.8125, "pose": "stud"}
    plate = {"across_min_in": 1.625, "across_max_in": 1.875, "pose": "plate_below", "nail_plates": ("room side",)}
    across: dict[str, tuple[Vec, ...]] = {
        "L1.LAMP2": (
            (24, 60, MID), (31.25, 60, MID), (32.75, 60, MID), (47.25, 60, MID), (48.75, 60, MID), (63.25, 60, MID),
            (64.75, 60, MID), (72, 60, MID),
        ),
    }  # fmt: skip
    cables = (
        cable(
            "P1.TOOL",
            ("PANEL", "TOOL"),
            ((24, 1.75, 48), (24, 1.75, 38), (31.25, 1.75, 38), (32.75, 1.75, 38), (40, 1.75, 38), (40, 1.75, 46)),
            (wall, wall, "bore SOUTH-S3.a", wall, wall),
            36.0,
            covered_in=10.0,
        ),
        cable(
            "P1.DESK",
            ("TOOL", "DESK"),
            ((40, 1.75, 46), (40, 1.75, 38), (47.25, 1.75, 38), (48.75, 1.75, 38), (56, 1.75, 38), (56, 1.75, 46)),
            (wall, wall, "bore SOUTH-S4.a", wall, wall),
            0.0,
        ),
        cable(
            "L1.LAMP1",
            ("PANEL", "LAMP1"),
            ((24, 1.75, 72), (24, 1.75, 93), (24, 1.75, 96), (24, 1.75, MID), (24, 60, MID)),
            (wall, "bore SOUTH-T1.a", "LOFT", "LOFT"),
            36.0,
        ),
        cable(
            "L1.LAMP2",
            ("LAMP1", "LAMP2"),
            across["L1.LAMP2"],
            ("LOFT", "bore LOFT-J3.a", "LOFT", "bore LOFT-J4.a", "LOFT", "bore LOFT-J5.a", "LOFT"),
            0.0,
        ),
        cable(
            "L1.LAMP3",
            ("LAMP2", "LAMP3"),
            ((72, 60, MID), (79.25, 60, MID), (80.75, 60, MID), (88, 60, MID)),
            ("LOFT", "bore OLD1", "LOFT"),
            0.0,
            done=True,
        ),
        cable(
            "L1.NEST",
            ("LAMP2", "NEST"),
            ((72, 60, MID), (72, 88, MID), (72, 88, 95.25), (72, 110, 95.25), (72, 112, 95.25), (100, 112, 95.25)),
            ("LOFT", "LOFT", "GIRDER -bit", "RUN1", "RUN1"),
            0.0,
            circuit="L1 P1",
            floor="between SHOP and LOFT",
            board_in=30.0,
        ),
    )
    said: dict[str, object] = {
        "version": PLAN_VERSION,
        "building": sample_building(),
        "cables": cables,
        "bores": (
            bore("SOUTH-S3.a", "SOUTH-S3", 36.5, 1.75, ("P1.TOOL",), **stud),
            bore("SOUTH-S4.a", "SOUTH-S4", 36.5, 1.75, ("P1.DESK",), **stud),
            bore("SOUTH-T1.a", "SOUTH-T1", 24.0, 1.75, ("L1.LAMP1",), **{**plate, "diameter_in": 1.0}),
            bore("LOFT-J3.a", "LOFT-J3", 60.0, 4.625, ("L1.LAMP2",)),
            bore("LOFT-J4.a", "LOFT-J4", 60.0, 4.625, ("L1.LAMP2",)),
            bore("LOFT-J5.a", "LOFT-J5", 60.0, 4.625, ("L1.LAMP2",)),
            bore("OLD1", "LOFT-J6", 60.0, 4.625, ("L1.LAMP3",), diameter_in=1.0, existing=True, pose="joist_low"),
        ),
        "cost": 123.456,
        "cost_parts": {"cable": 80.0, "bores": 43.456},
        "lower_bound": None,
        "unreached": ("FAR",),
        "unreached_why": (
            Unreached(
                box="FAR",
                circuit="P1",
                reason="GIRDER may not be bored: it carries the loft",
                closed_by=("GIRDER",),
                would_open=("a running board from x to y",),
            ),
        ),
        "assumptions": (
            "cable in sight below 7 ft is covered",
            "limit joist.edge changed to 2.5 in: tightened from 2: the inspector asks for more",
        ),
        "warnings": ("LOFT-J6: an old hole is large",),
    }
    said.update(more)
    return Plan(**said)  # type: ignore[arg-type]

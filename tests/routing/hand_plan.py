"""A plan worked by hand, pencil sums beside it: two walls over each other, a floor, a girder, a board, eight cables.

All inches. x east, y north, z up. SOUTH is a 2x4 wall on the line y = 0, its room side at y = 3.5; LOFT lies on it, its
joists run north; UP stands on LOFT over SOUTH. Levels: sole plate 0-1.5, studs to 94.5, top plates to 97.5, joists to
106.75, subfloor to 107.5, sole plate of UP to 109. So mid-depth of the joists is 97.5 + 9.25 / 2 = 102.125, of the
walls y = 1.75.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from barnloom.model.building import (
    Assembly,
    Box,
    Building,
    CableRule,
    CableType,
    Circuit,
    Hole,
    KeepClear,
    LengthRules,
    MakerHoles,
    Member,
    Ply,
    Right,
    Role,
    Storey,
    Tools,
    Vec,
    Void,
)
from barnloom.model.limits import load_limits
from barnloom.model.prices import default_prices
from barnloom.routing.plan import PLAN_VERSION, Bore, Cable, Plan, Unreached

EAST, NORTH, UP, SOUTH, DOWN = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0)
STATIONS = (0.0, 15.25, 31.25, 47.25, 63.25, 79.25, 95.25, 118.5)
"""Near (west) faces of studs and joists: 16 in centres, the last flush."""
MID = 102.125
PRICES = {
    **{"minute": 0.75, "pull_ft": 0.06, "turn": 0.5, "pass_stud": 0.1, "pass_joist": 0.2, "thread_plate": 1.0},
    **{"stud": 1.2, "joist_mid": 3.5, "plate_below": 3.0, "sole_plate": 2.0, "seal": 0.7, "rough_timber": 2.5},
    **{"row_setup": 3.0, "ladder_move": 1.0, "fatigue_after": 10.0, "fatigue": 1.5, "staple_each": 0.08},
    **{"staple_wall": 0.35, "staple_overhead": 0.6, "nail_plate": 0.5, "nail_plate_each": 0.6, "cover_ft": 1.5},
    **{"board_overhead_ft": 0.5, "board_ft": 0.8, "panel_end": 8.0, "box_entry": 2.0},
}
"""The prices that the cost below was worked with."""
CAUTIONS = {
    **{"plate.edge": 0.625, "plate.member_gap": 0.25, "member.end": 2.0, "joist.bearing_depths": 1.0},
    **{"hole.unknown_diameter": 2.0, "hole.fill_share": 0.9, "stud.hole_gap_diameters": 1.0, "gap.passable": 0.5},
}
"""The limits that no code sets, as the bands below were worked with them."""


def member(name: str, role: Role, host: str, origin: Vec, axes: tuple[Vec, Vec, Vec], size: Vec, **more: Any) -> Member:
    """One stick; axes (along, bit, across), size (length, thickness, depth)."""
    length, thickness, depth = size
    said: dict[str, Any] = {
        "storey": "SHOP",
        "section": "as drawn",
        "along_from": "one end",
        "across_from": "one face",
        "plies": (Ply(along=(0.0, length), bit=(0.0, thickness), across=(0.0, depth)),),
    }
    return Member(
        id=name,
        role=role,
        assembly=host,
        origin=origin,
        along=axes[0],
        bit=axes[1],
        across=axes[2],
        length_in=length,
        thickness_in=thickness,
        depth_in=depth,
        **{**said, **more},
    )


def _wall_members(wall: str, base: float, stud_in: float) -> list[Member]:
    studs = [
        member(f"{wall}-S{n}", Role.STUD, wall, (x, 3.5, base + 1.5), (UP, EAST, SOUTH), (stud_in, 1.5, 3.5))
        for n, x in enumerate(STATIONS, 1)
    ]
    plates = [
        member(f"{wall}-SP1", Role.SOLE_PLATE, wall, (0.0, 3.5, base), (EAST, UP, SOUTH), (120.0, 1.5, 3.5)),
        member(
            f"{wall}-TP1", Role.TOP_PLATE, wall, (0.0, 3.5, base + 1.5 + stud_in), (EAST, UP, SOUTH), (120.0, 3.0, 3.5)
        ),
    ]
    return studs + plates


def _floor_members() -> list[Member]:
    """Joists from the rim's inside (y = 1.5) north; J4 has an old hole, J5 a shallower sister, J6 is engineered."""
    more: dict[int, dict[str, Any]] = {
        4: {"holes": (Hole(id="OLD1", along_in=68.5, across_in=4.625, diameter_in=1.0, holds=("12/2",)),)},
        5: {
            "plies": (
                Ply(along=(0.0, 140.0), bit=(0.0, 1.5), across=(0.0, 9.25)),
                Ply(along=(24.0, 120.0), bit=(1.5, 3.0), across=(1.0, 8.25)),
            )
        },
        6: {
            "bore": Right.MAKER,
            "maker": MakerHoles(
                diameter_max_in=1.0, edge_min_in=1.0, spacing_min_in=2.0, end_min_in=12.0, source="sheet 7"
            ),
        },
    }
    joists = [
        member(
            f"LOFT-J{n}",
            Role.JOIST,
            "LOFT",
            (x, 1.5, 97.5),
            (NORTH, EAST, UP),
            (140.0, 3.0 if n == 5 else 1.5, 9.25),
            bearings=((0.0, 2.0),),
            **more.get(n, {}),
        )
        for n, x in enumerate(STATIONS, 1)
    ]
    rim = member("LOFT-RM1", Role.RIM, "LOFT", (0.0, 0.0, 97.5), (EAST, NORTH, UP), (120.0, 1.5, 9.25))
    return [*joists, rim]


def _timbers() -> list[Member]:
    """A girder under the joists, and a board under them that carries cable on its lower face."""
    girder = member(
        "GIRDER",
        Role.GIRDER,
        "GIRDER",
        (0.0, 100.0, 87.5),
        (EAST, NORTH, UP),
        (120.0, 5.5, 10.0),
        bore=Right.NEVER,
        reason="it carries the loft",
    )
    board = member(
        "RUN",
        Role.BOARD,
        "RUN",
        (70.0, 118.25, 97.5),
        (EAST, DOWN, NORTH),
        (48.0, 0.75, 3.5),
        bore=Right.NEVER,
        in_place=False,
    )
    return [girder, board]


def _assemblies() -> tuple[Assembly, ...]:
    wall: dict[str, Any] = {"kind": "wall", "u": EAST, "v": UP, "w": NORTH, "extent_u": (0.0, 120.0), "depth_in": 3.5}
    return (
        Assembly(
            id="SOUTH",
            title="",
            storey="SHOP",
            origin=(0.0, 0.0, 0.0),
            extent_v=(0.0, 97.5),
            lining="later",
            **wall,
        ),
        Assembly(
            id="LOFT",
            title="",
            kind="floor",
            storey="SHOP",
            origin=(0.0, 0.0, 97.5),
            u=EAST,
            v=NORTH,
            w=UP,
            extent_u=(0.0, 120.0),
            extent_v=(0.0, 144.0),
            depth_in=9.25,
            skin_in=0.75,
            voids=(Void(id="STAIR", u=(97.0, 118.0), v=(20.0, 60.0)),),
        ),
        Assembly(id="UP", title="", storey="LOFT", origin=(0.0, 0.0, 107.5), extent_v=(0.0, 91.5), **wall),
    )


def _box(name: str, circuits: tuple[str, ...], host: str, place: Vec, at: Vec, **more: Any) -> Box:
    said: dict[str, Any] = {
        "title": name,
        "kind": "box",
        "storey": "SHOP",
        "side": "",
        "size_in": (4.0, 4.0, 2.125),
        "rise_in": 8.0,
        "cables_max": 4,
    }
    u, v, w = place
    return Box(id=name, circuits=circuits, host=host, u_in=u, v_in=v, w_in=w, at=at, **{**said, **more})


def _boxes() -> tuple[Box, ...]:
    # Wall boxes are flush with the room side: w = 3.5 - 2.125 / 2 = 2.4375; ceiling boxes with the joists' bottom.
    return (
        _box(
            "PANEL",
            ("P1", "L1", "U1"),
            "SOUTH",
            (24.0, 55.0, 1.75),
            (24.0, 1.75, 55.0),
            kind="panel",
            size_in=(12.0, 24.0, 3.5),
            cables_max=20,
        ),
        _box("OUT1", ("P1",), "SOUTH", (40.0, 48.0, 2.4375), (40.0, 2.4375, 48.0)),
        _box("OUT2", ("P1",), "SOUTH", (56.0, 48.0, 2.4375), (56.0, 2.4375, 48.0)),
        _box("FAR", ("P1",), "SOUTH", (108.0, 48.0, 2.4375), (108.0, 2.4375, 48.0)),
        _box("UP1", ("U1",), "UP", (24.0, 48.0, 2.4375), (24.0, 2.4375, 155.5), storey="LOFT"),
        _box("LAMP1", ("L1",), "LOFT", (40.0, 60.0, 1.0625), (40.0, 60.0, 98.5625)),
        _box("LAMP2", ("L1",), "LOFT", (72.0, 60.0, 1.0625), (72.0, 60.0, 98.5625)),
        _box("LAMP4", ("L1",), "LOFT", (88.0, 60.0, 1.0625), (88.0, 60.0, 98.5625), fed_from="LAMP2"),
        # On the girder's south face, 104 along it: the face is y = 100, its middle z = 87.5 + 5.
        _box("LAMP3", ("L1",), "GIRDER", (104.0, 0.0, 0.0), (104.0, 98.9375, 92.5), side="-bit"),
        # The end of a cable left on the board's lower face, 40 along it.
        _box(
            "TAIL",
            ("L1",),
            "RUN",
            (40.0, 0.0, 0.0),
            (110.0, 120.0, 96.75),
            side="+bit",
            kind="stub",
            size_in=(0.0, 0.0, 0.0),
            rise_in=0.0,
        ),
    )


def hand_building(**more: Any) -> Building:
    """The building; ``more`` replaces fields."""
    building = Building(
        title="Hand-worked shed",
        about={},
        metric=False,
        storeys=(Storey(id="SHOP", title="", floor_in=0.0), Storey(id="LOFT", title="", floor_in=107.5)),
        assemblies=_assemblies(),
        members=(
            *_wall_members("SOUTH", 0.0, 93.0),
            *_floor_members(),
            *_wall_members("UP", 107.5, 87.0),
            *_timbers(),
        ),
        keep_clear=(
            KeepClear(id="CHIMNEY", kind="chimney", low=(46.0, 80.0, 0.0), high=(60.0, 96.0, 200.0), clearance_in=2.0),
        ),
        boxes=_boxes(),
        circuits=(
            Circuit(id="P1", title="", panel="PANEL", cable="12/2", boxes=("OUT1", "OUT2", "FAR")),
            Circuit(id="L1", title="", panel="PANEL", cable="14/2", boxes=("LAMP1", "LAMP2", "LAMP3", "LAMP4", "TAIL")),
            Circuit(id="U1", title="", panel="PANEL", cable="12/2", boxes=("UP1",)),
        ),
        cable_rules=(
            CableRule(cable="L1.LAMP2", through=("LOFT-J4", "LOFT-J5")),
            CableRule(cable="P1.OUT2", avoid=("SOUTH-S1",)),
        ),
        cable_types=(
            CableType(id="12/2", width_in=0.422, thickness_in=0.19, price_ft=1.0, source=""),
            CableType(id="14/2", width_in=0.372, thickness_in=0.176, price_ft=0.7, source=""),
        ),
        limits=load_limits(changes={name: (value, "worked with it") for name, value in CAUTIONS.items()}),
        prices={**default_prices(), **PRICES},
        lengths=LengthRules(),
        tools=Tools(),
        answers=(),
        exposed="covered",
    )
    return replace(building, **more)


def _bore(
    name: str, place: tuple[float, float], band: tuple[float, float], cables: str, pose: str, **more: Any
) -> Bore:
    said: dict[str, Any] = {
        "diameter_in": 0.75,
        "nail_plates": (),
        "rule": "hole edge to the edge of the wood",
        "margin_in": 0.125,
        "existing": False,
        "drill_pass": name,
        "member": name.rpartition(".")[0],
    }
    return Bore(
        id=name,
        along_in=place[0],
        across_in=place[1],
        across_min_in=band[0],
        across_max_in=band[1],
        cables=tuple(cables.split()),
        pose=pose,
        **{**said, **more},
    )


def _bores() -> tuple[Bore, ...]:
    # A 3/4 in hole in a 2x4 stud without a plate: 1.25 + 0.375 = 1.625 to 3.5 - 1.625 = 1.875.
    stud = (1.625, 1.875)
    # In a plate over or under the rim (y up to 1.5): across is 3.5 - y, at most 3.5 - (1.5 + 0.25 + 0.375) = 1.375, and
    # 5/8 + 3/8 = 1 at least; 1.1875 - 0.375 = 0.8125 is under 1-1/4: a nail plate on the room side.
    plate = (1.0, 1.375)
    # A 2x10: 2 + 0.375 = 2.375 to 6.875; with the sister 1 to 8.25 up: 3.375 to 5.875; the maker's 1 in
    # gives way to 1-1/4 without a nail plate: 1.625 to 7.625.
    return (
        _bore("SOUTH-S3.a", (33.5, 1.75), stud, "P1.OUT1", "stud"),  # 35 - 1.5
        _bore("SOUTH-S4.a", (58.5, 1.75), stud, "P1.OUT2", "stud"),  # 60 - 1.5
        _bore("SOUTH-TP1.a", (24.0, 1.1875), plate, "L1.LAMP1 U1.UP1", "plate_below", nail_plates=("room side",)),
        _bore("UP-SP1.a", (24.0, 1.1875), plate, "U1.UP1", "sole_plate", nail_plates=("room side",)),
        _bore("LOFT-J3.a", (48.5, 4.625), (2.375, 6.875), "L1.LAMP1", "joist_mid"),  # 50 - 1.5
        _bore(
            "OLD1",
            (68.5, 4.625),
            (4.625, 4.625),
            "L1.LAMP2",
            "joist_mid",
            diameter_in=1.0,
            existing=True,
            member="LOFT-J4",
        ),
        _bore("LOFT-J5.a", (68.5, 4.625), (3.375, 5.875), "L1.LAMP2", "joist_mid"),  # 70 - 1.5
        _bore("LOFT-J6.a", (48.5, 4.625), (1.625, 7.625), "L1.LAMP4", "joist_mid"),
    )


def _cable(
    name: str, start: str, points: tuple[Vec, ...], tracks: str, path: float, panel: float, cut: float, **more: Any
) -> Cable:
    named = tuple(tracks.split(", "))
    circuit, _, far = name.partition(".")
    said: dict[str, Any] = {"floor": "SHOP", "staples": 2, "turns": 2, "board_in": 0.0, "covered_in": 0.0}
    return Cable(
        id=name,
        circuit=circuit,
        type="14/2" if circuit == "L1" else "12/2",
        from_box=start,
        to_box=far,
        points=points,
        tracks=named,
        bores=tuple(track.removeprefix("bore ") for track in named if track.startswith("bore ")),
        path_in=path,
        entries_in=8.0,
        free_in=16.0,
        panel_in=panel,
        slack_in=0.05 * path,
        cut_in=cut,
        **{**said, **more},
    )


def _cables() -> tuple[Cable, ...]:
    # The panel's part: 12 + 24 - 2 = 34.
    return (
        # Down 8 from the panel's bottom (43), 16 across through one stud, up 11 to the outlet's bottom (46): 35.
        # 35 + 8 + 16 + 34 + 1.75 = 94.75.
        _cable(
            "P1.OUT1",
            "PANEL",
            (
                (24.0, 1.75, 43.0),
                (24.0, 1.75, 35.0),
                (31.25, 1.75, 35.0),
                (32.75, 1.75, 35.0),
                (40.0, 1.75, 35.0),
                (40.0, 1.75, 46.0),
            ),
            "SOUTH, SOUTH, bore SOUTH-S3.a, SOUTH, SOUTH",
            35.0,
            34.0,
            94.75,
        ),
        # Up 10, across 16, down 10: 36. 36 + 24 + 1.8 = 61.8.
        _cable(
            "P1.OUT2",
            "OUT1",
            (
                (40.0, 1.75, 50.0),
                (40.0, 1.75, 60.0),
                (47.25, 1.75, 60.0),
                (48.75, 1.75, 60.0),
                (56.0, 1.75, 60.0),
                (56.0, 1.75, 50.0),
            ),
            "SOUTH, SOUTH, bore SOUTH-S4.a, SOUTH, SOUTH",
            36.0,
            0.0,
            61.8,
        ),
        # From the panel's top (67) up 27.5 to the plates, 0.5625 aside on the way (y 1.75 to 2.3125), 3 of plates,
        # 4.625 up to mid-depth, 47.6875 north to y = 50, 16 east through one joist, 10 north to the lamp: 109.375.
        # 109.375 + 24 + 34 + 5.46875 = 172.84375.
        _cable(
            "L1.LAMP1",
            "PANEL",
            (
                (24.0, 1.75, 67.0),
                (24.0, 1.75, 80.0),
                (24.0, 2.3125, 80.0),
                (24.0, 2.3125, 94.5),
                (24.0, 2.3125, 97.5),
                (24.0, 2.3125, MID),
                (24.0, 50.0, MID),
                (31.25, 50.0, MID),
                (32.75, 50.0, MID),
                (40.0, 50.0, MID),
                (40.0, 60.0, MID),
            ),
            "SOUTH, SOUTH, SOUTH, bore SOUTH-TP1.a, LOFT, LOFT, LOFT, bore LOFT-J3.a, LOFT, LOFT",
            109.375,
            34.0,
            172.84375,
            turns=3,
            staples=4,
        ),
        # 86.5 up from 67 to the outlet's bottom (153.5), aside 0.5625 and back: 87.625.
        # + 24 + 34 + 4.38125 = 150.00625.
        # In sight and in reach in UP, which has no lining: from the sole plate (109) up to the box (153.5): 44.5.
        _cable(
            "U1.UP1",
            "PANEL",
            (
                (24.0, 1.75, 67.0),
                (24.0, 1.75, 80.0),
                (24.0, 2.3125, 80.0),
                (24.0, 2.3125, 94.5),
                (24.0, 2.3125, 97.5),
                (24.0, 2.3125, 106.75),
                (24.0, 2.3125, 109.0),
                (24.0, 2.3125, 120.0),
                (24.0, 1.75, 120.0),
                (24.0, 1.75, 153.5),
            ),
            "SOUTH, SOUTH, SOUTH, bore SOUTH-TP1.a, LOFT, bore UP-SP1.a, UP, UP, UP",
            87.625,
            34.0,
            150.00625,
            floor="between SHOP and LOFT",
            covered_in=44.5,
            turns=0,
            staples=4,
        ),
        # 10 north, 32 east through an old hole and a doubled joist, 10 south: 52. + 24 + 2.6 = 78.6.
        _cable(
            "L1.LAMP2",
            "LAMP1",
            (
                (40.0, 60.0, MID),
                (40.0, 70.0, MID),
                (47.25, 70.0, MID),
                (48.75, 70.0, MID),
                (63.25, 70.0, MID),
                (66.25, 70.0, MID),
                (72.0, 70.0, MID),
                (72.0, 60.0, MID),
            ),
            "LOFT, LOFT, bore OLD1, LOFT, bore LOFT-J5.a, LOFT, LOFT",
            52.0,
            0.0,
            78.6,
        ),
        # 10 + 16 + 10 = 36, through the engineered joist. + 24 + 1.8 = 61.8.
        _cable(
            "L1.LAMP4",
            "LAMP2",
            (
                (72.0, 60.0, MID),
                (72.0, 50.0, MID),
                (79.25, 50.0, MID),
                (80.75, 50.0, MID),
                (88.0, 50.0, MID),
                (88.0, 60.0, MID),
            ),
            "LOFT, LOFT, bore LOFT-J6.a, LOFT, LOFT",
            36.0,
            0.0,
            61.8,
        ),
        # 40 north to the girder's face, 4.625 down to its top, 5 to its middle, 30 east to the box (104 - 2): 79.625.
        # + 24 + 3.98125 = 107.60625.
        _cable(
            "L1.LAMP3",
            "LAMP2",
            (
                (72.0, 60.0, MID),
                (72.0, 100.0, MID),
                (72.0, 100.0, 97.5),
                (72.0, 100.0, 92.5),
                (102.0, 100.0, 92.5),
            ),
            "LOFT, LOFT, GIRDER -bit, GIRDER -bit",
            79.625,
            0.0,
            107.60625,
        ),
        # 58.25 north to the board's edge, 4.625 down; on it 0.75 down its edge, 1.75 to its middle, 38 east: 40.5.
        # 103.375 + 24 + 5.16875 = 132.54375.
        _cable(
            "L1.TAIL",
            "LAMP2",
            (
                (72.0, 60.0, MID),
                (72.0, 118.25, MID),
                (72.0, 118.25, 97.5),
                (72.0, 118.25, 96.75),
                (72.0, 120.0, 96.75),
                (110.0, 120.0, 96.75),
            ),
            "LOFT, LOFT, RUN +bit, RUN +bit, RUN +bit",
            103.375,
            0.0,
            132.54375,
            board_in=40.5,
            staples=3,
        ),
    )


def _cost_parts() -> dict[str, float]:
    """What the plan costs, in money, part by part."""
    return {
        # 12/2 at 1 a foot: 94.75 + 61.8 + 150.00625; 14/2 at 0.7: 172.84375 + 78.6 + 61.8 + 107.60625 + 132.54375.
        "cable": 306.55625 / 12 + 0.7 * 553.39375 / 12,
        # 539 in at 0.06 min a foot, 15 turns; holes passed: 2 in studs, 3 times one in a plate, 4 in joists.
        "pulling": 0.75 * (539 / 12 * 0.06 + 15 * 0.5 + 2 * 0.1 + 3 * 1.0 + 4 * 0.2),
        # 2 studs, a top plate and a sole plate with their seals, 3 joists over 8 ft (their underside is 97.5 up).
        "holes": 0.75 * (2 * 1.2 + (3 + 0.7) + (2 + 0.7) + 3 * 3.5),
        "overhead": 0.0,  # 4 of them; they tire after 10
        "rows": 0.75 * (5 * 3 + 4 / 3),  # 5 holes that are no plates', each a row of its own; the ladder, every 3
        "nail plates": 2 * (0.75 * 0.5 + 0.6),
        # On upright wood 2 + 2 + 2 (LAMP1) + 4 (UP1) + 1 (girder) = 11; overhead 2 (LAMP1) + 2 + 2 + 1 + 3 (TAIL) = 10.
        "staples": 0.75 * (11 * 0.35 + 10 * 0.6) + 21 * 0.08,
        "boards": 48 / 12 * (0.75 * 0.5 + 0.8),
        "covers": 44.5 / 12 * 1.5,
        "ends": 0.75 * (3 * 8 + 13 * 2),  # 8 cables have 16 ends, 3 of them at the panel
    }


def hand_plan() -> Plan:
    """The plan; nothing is wrong with it."""
    building, cables, bores, parts = hand_building(), _cables(), _bores(), _cost_parts()
    return Plan(
        version=PLAN_VERSION,
        building=building,
        cables=cables,
        bores=bores,
        cost=round(sum(parts.values()), 6),
        cost_parts=parts,
        lower_bound=None,
        unreached=("FAR",),
        unreached_why=(Unreached(box="FAR", circuit="P1", reason="left out", closed_by=(), would_open=()),),
        assumptions=(),
        warnings=(),
    )

"""What stands in a person's way: at a panel, at a plug, at a switch."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from barnloom.model.building import Building, Role
from barnloom.model.framing import build
from barnloom.model.framing.clashes import clash_warnings
from barnloom.model.scene.schema import Scene
from barnloom.model.wiring import Device, DeviceKind

Said = dict[str, Any]
WALL: Said = {"height": '97-1/8"', "section": "2x4", "studs": {"every": '16"'}}
PANEL: Said = {"kind": "panel", "wall": "EAST", "along": '72"', "height": '60"', "size": ['14"', '28"', '3-1/2"']}
"""In the middle of the east wall, its room side at x = 192 - 3.5 = 188.5; y from 65 to 79, top 74 over the floor."""


def shed(*devices: Device, walls: Said | None = None, **parts: Any) -> Building:
    """A shed of four walls, 16 ft by 12 ft, with a panel in the east wall."""
    base: Said = {
        "barnloom": 1,
        "title": "shed",
        "storeys": {"ground": {"floor": 0}},
        "walls": {
            "SOUTH": WALL | {"start": [0, 0], "heading": "east", "length": "16'"},
            "EAST": WALL | {"start": ["16'", 0], "heading": "north", "length": "12'"},
            "NORTH": WALL | {"start": ["16'", "12'"], "heading": "west", "length": "16'"},
            "WEST": WALL | {"start": [0, "12'"], "heading": "south", "length": "12'"},
        },
    }  # fmt: skip
    for name, more in (walls or {}).items():
        base["walls"][name] |= more
    boxes = {"PANEL": PANEL} | parts.pop("boxes", {})
    circuits = {"C1": {}} if any("circuit" in box for box in boxes.values()) else {}
    scene = Scene.model_validate(base | parts | {"boxes": boxes, "circuits": circuits})
    return replace(build(scene), devices=devices)


def device(name: str, kind: str, **more: Any) -> Device:
    return Device(id=name, box=name, kind=DeviceKind(kind), circuit="C1", **more)


def one_box(name: str, **said: Any) -> Said:
    return {"boxes": {name: {"circuit": "C1", "wall": "SOUTH", "along": '40"', "height": '52"'} | said}}


def told(building: Building) -> str:
    return "\n".join(clash_warnings(building))


def test_nothing_in_the_way_nothing_told() -> None:
    assert clash_warnings(shed(device("R1", "receptacle"), **one_box("R1"))) == ()


# --- working space: 36 in deep, 30 in wide, 6-1/2 ft high; the panel need not be in its middle -----------------------
# (110.26(A): ecmag.com/magazine/articles/article-detail/codes-standards-general-installation-requirements-part-xix,
# ecmweb.com/what039s-wrong-here/what-s-wrong-here-hint-its-limbo-time)


def solid(west: float, east: float, south: float, north: float, low: float = 0, high: float = 40) -> Said:
    corners = {"from": [f'{west}"', f'{south}"', f'{low}"'], "to": [f'{east}"', f'{north}"', f'{high}"']}
    return {"keep_clear": {"BENCH": {"kind": "other", "clearance": 0} | corners}}


@pytest.mark.parametrize(
    ("place", "clear"),
    [
        (solid(100, 152.5, 60, 90), True),  # 36 in before the wall's face at 188.5
        (solid(100, 153, 60, 90), False),
        (solid(160, 180, 20, 64), True),  # beside the panel: 64 to 94 is free
        (solid(160, 180, 20, 66), False),  # before its very corner
        (solid(160, 180, 20, 150, 78, 90), True),  # over 6-1/2 ft
        (solid(160, 180, 20, 150, 77, 90), False),
    ],
)
def test_working_space(place: Said, clear: bool) -> None:
    words = told(shed(**place))
    assert ("BENCH in the working space of PANEL" in words) != clear
    assert clear == (words == "")
    assert clear or "2' 6\" wide, 3' 0\" deep (NEC 2023 110.26(A)(1))" in words


def test_between_two_things_30_in_are_wanted() -> None:
    # south of it up to 63, north of it from 93 or from 92
    for north, clear in ((93.0, True), (92.0, False)):
        south = solid(160, 180, 20, 63)["keep_clear"]["BENCH"]
        other = solid(160, 180, north, 140)["keep_clear"]["BENCH"]
        words = told(shed(keep_clear={"SHELF": south, "RACK": other}))
        assert (words == "") == clear
        assert clear or words.startswith("RACK, SHELF in the working space")


def test_a_post_and_a_machine_are_named_and_a_board_and_a_box_are_not() -> None:
    post = {"role": "post", "from": ['170"', '72"', 0], "to": ['170"', '72"', "8'"], "section": '4" x 4"'}
    assert "POST in the working space" in told(shed(timbers={"POST": post}))
    rail = {"role": "girt", "from": ['180"', '40"', '40"'], "to": ['180"', '110"', '40"'], "section": '1" x 4"'}
    railed = shed(timbers={"RAIL": rail})
    assert "RAIL in the working space" in told(railed)
    boards = tuple(replace(one, role=Role.BOARD) if one.id == "RAIL" else one for one in railed.members)
    assert told(replace(railed, members=boards)) == ""
    saw = device("SAW", "machine", footprint=((150.0, 170.0), (60.0, 90.0), 40.0))
    assert "SAW in the working space" in told(shed(saw, **one_box("SAW")))
    near = device("R1", "receptacle")
    assert told(shed(near, **one_box("R1", wall="EAST", along='90"'))) == ""


def test_a_panel_in_a_corner_has_its_space_from_the_next_wall_on() -> None:
    # 6 to 14 in from the corner; the south wall's face is at 3-1/2, so 30 in are clear up to 33-1/2
    boxes = {"PANEL": PANEL | {"along": '10"', "size": ['8"', '28"', '3-1/2"']}}
    assert told(shed(boxes=boxes, **solid(160, 180, 33.5, 60))) == ""
    assert told(shed(boxes=boxes, **solid(160, 180, 33, 60))).startswith("BENCH, SOUTH in the working space")


# --- within reach: the middle of a handle at most 6 ft 7 in ----------------------------------------------------------
# (240.24(A), 404.8(A): ecmweb.com/qampa/code-qa-33, ecmweb.com/qampa/code-qa-switch-accessibility)


def test_the_panels_top() -> None:
    assert told(shed(boxes={"PANEL": PANEL | {"height": '65"'}})) == ""
    assert "the top of PANEL is above 6' 7\"" in told(shed(boxes={"PANEL": PANEL | {"height": '65-1/8"'}}))


def test_switches() -> None:
    assert "the switch" not in told(shed(device("S", "switch"), **one_box("S", height='79"')))
    words = told(shed(device("S", "switch"), **one_box("S", height='79-1/8"')))
    assert "the switch S is above 6' 7\" (NEC 2023 240.24(A), 404.8(A))" in words
    assert "the switch" not in told(shed(device("S", "light"), **one_box("S", height='90"')))


def test_a_ground_fault_device_overhead() -> None:
    loft = {
        "LOFT": {
            "bottom": '97-1/8"',
            "below": "ground",
            "corner": [0, 0],
            "size": ["16'", "12'"],
            "joists": {"section": "2x8", "run": "depth", "every": '16"'},
        }
    }
    box = {"D": {"circuit": "C1", "ceiling": "LOFT", "at": ['40"', '60"']}}
    words = told(shed(device("D", "opener", ground_fault=True), boxes=box, floors=loft))
    assert words == "D has a ground-fault device overhead, not readily accessible (210.8): protect at the breaker"
    assert told(shed(device("D", "opener"), boxes=box, floors=loft)) == ""
    high = one_box("D", height='80"')
    assert "D has a ground-fault device above" in told(shed(device("D", "receptacle", ground_fault=True), **high))


# --- plugs -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("east", "north", "tall", "free"),
    [
        ((30.0, 50.0), (27.5, 60.0), 60.0, True),  # 24 in before the wall's face at 3-1/2
        ((30.0, 50.0), (27.0, 60.0), 60.0, False),
        ((41.0, 60.0), (10.0, 40.0), 60.0, True),  # beside it
        ((30.0, 50.0), (10.0, 40.0), 50.0, True),  # lower than the plug
        ((30.0, 50.0), (3.5, 40.0), 60.0, False),  # against the wall
    ],
)
def test_a_machine_before_a_receptacle(east: Any, north: Any, tall: float, free: bool) -> None:
    boxes = one_box("R1")["boxes"] | one_box("SAW", along='100"')["boxes"]
    saw = device("SAW", "machine", footprint=(east, north, tall))
    words = told(shed(device("R1", "receptacle"), saw, boxes=boxes))
    assert ("the receptacle R1 is behind SAW" in words) != free
    assert free == (words == "")
    assert told(shed(device("R1", "light"), saw, boxes=boxes)) == ""


# --- heights (common practice, no source, and own cautions) ----------------------------------------------------------


def test_heights_out_of_the_usual_are_told_in_one_line_a_kind() -> None:
    boxes = one_box("R1", height='6"')["boxes"] | one_box("R2", height='67"', along='88"')["boxes"]
    words = clash_warnings(shed(device("R1", "receptacle"), device("R2", "receptacle"), boxes=boxes))
    assert words == ("R1, R2: a receptacle is usually 1' 0\" to 5' 6\" over the floor",)
    # A receptacle of each vehicle bay at most 5-1/2 ft up (210.52(G)(1), captaincode2017.leviton.com/node/128).
    assert told(shed(device("R1", "receptacle"), **one_box("R1", height='66"'))) == ""
    assert "a switch is usually" in told(shed(device("S", "switch"), **one_box("S", height='30"')))


@pytest.mark.parametrize(("height", "clear"), [('48"', False), ('50"', False), ('50-1/4"', True), ('45-3/4"', True)])
def test_the_edge_of_a_sheet(height: str, clear: bool) -> None:
    words = told(shed(device("R1", "receptacle"), **one_box("R1", height=height)))
    assert (words == "") == clear
    assert clear or "R1: the edge of a 4' 0\" sheet, or a seam, comes behind the plate; 3' 8\" or 4' 4\"" in words


def test_a_switch_at_a_seam_only_where_there_is_a_lining() -> None:
    switch = device("S", "switch")
    assert told(shed(switch, **one_box("S", height='48"'))) == ""
    lined = shed(switch, walls={"SOUTH": {"lining": "later"}}, **one_box("S", height='48"'))
    assert "S: the edge of a 4' 0\" sheet" in told(lined)


def test_the_same_building_turned_is_told_the_same() -> None:
    # the panel in the north wall now, the bench before it
    def bench(**box: float) -> str:
        corners = {"from": [f'{box["w"]}"', f'{box["s"]}"', 0], "to": [f'{box["e"]}"', f'{box["n"]}"', '40"']}
        return told(
            shed(
                boxes={"PANEL": PANEL | {"wall": "NORTH", "along": '104"'}},
                keep_clear={"BENCH": {"kind": "other", "clearance": 0} | corners},
            )
        )

    # NORTH runs west from x = 192: the panel's middle is at x = 88, the wall's face at y = 140.5
    assert bench(w=80.0, e=100.0, s=60.0, n=104.5) == ""
    assert "BENCH in the working space" in bench(w=80.0, e=100.0, s=60.0, n=105.0)

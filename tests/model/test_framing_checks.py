"""What cannot be, once all stands: members in each other, names of nothing; and what a building carries resolved."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import barnloom.model
from barnloom.model.building import Building
from barnloom.model.errors import SceneError
from barnloom.model.framing import build
from barnloom.model.framing.corners import neighbours
from barnloom.model.framing.house import context_of
from barnloom.model.framing.solids import apart_in, near_pairs, overlap_in, solid_boxes
from barnloom.model.limits import Limits
from barnloom.model.scene.schema import Scene

Said = dict[str, Any]
WALL: Said = {"height": '97-1/8"', "section": "2x4", "studs": {"every": '16"'}}


def shed(**parts: Any) -> Scene:
    """A boat shed of four walls, 16 ft by 12 ft, with a panel and two boxes."""
    base: Said = {
        "barnloom": 1,
        "title": "boat shed",
        "storeys": {"ground": {"floor": 0}},
        "walls": {
            "SOUTH": WALL | {"start": [0, 0], "heading": "east", "length": "16'"},
            "EAST": WALL | {"start": ["16'", 0], "heading": "north", "length": "12'"},
            "NORTH": WALL | {"start": ["16'", "12'"], "heading": "west", "length": "16'"},
            "WEST": WALL | {"start": [0, "12'"], "heading": "south", "length": "12'"},
        },
        "boxes": {
            "PANEL": {"kind": "panel", "wall": "EAST", "along": '40"', "height": '60"'},
            "A": {"wall": "SOUTH", "along": '40"', "height": "4'", "circuit": "C1"},
            "B": {"wall": "SOUTH", "along": '88"', "height": "4'", "circuit": "C1"},
        },
        "circuits": {"C1": {}},
    }
    return Scene.model_validate(base | parts)


def faults(**parts: Any) -> dict[tuple[str | int, ...], str]:
    with pytest.raises(SceneError) as caught:
        build(shed(**parts))
    return {fault.where: str(fault) for fault in caught.value.faults}


def timber(start: list[Any], end: list[Any], role: str = "girt", section: str = '4" x 4"') -> Said:
    return {"role": role, "from": start, "to": end, "section": section}


# --- members in each other -------------------------------------------------------------------------------------------


def test_a_framed_shed_has_no_overlap_and_no_warning() -> None:
    assert build(shed()).warnings == ()


def test_a_timber_in_a_wall_is_a_fault_that_names_the_deepest_pair_and_counts_the_rest() -> None:
    # y from 1-1/2 to 5-1/2, so 2 in deep in the 3-1/2 in wall; 48 to 90 along meets the studs whose near faces are
    # 47-1/4 (only 3/4 in of it), 63-1/4 and 79-1/4
    found = faults(timbers={"RAIL": timber(["4'", '3-1/2"', "2'"], ['90"', '3-1/2"', "2'"])})
    text = found[("timbers", "RAIL")]
    assert 'SOUTH-S6 stands 2" deep in RAIL (and 2 more such pairs)' in text
    assert "joints: [RAIL, SOUTH-S6]" in text


def test_half_an_inch_is_a_warning_and_more_a_fault() -> None:
    def at(inner: str) -> Said:
        return {"RAIL": timber(["4'", inner, "2'"], ['90"', inner, "2'"])}

    # middle at 5 in: the rail begins at 3 in, half an inch in the studs
    warnings = build(shed(timbers=at('5"'))).warnings
    assert len(warnings) == 1
    assert '1/2" deep' in warnings[0]
    assert ("timbers", "RAIL") in faults(timbers=at('4-15/16"'))
    assert build(shed(timbers=at('5-7/16"'))).warnings == ()


def test_a_declared_joint_is_no_fault() -> None:
    timbers = {
        "POST": timber(["8'", "6'", 0], ["8'", "6'", "8'"], "post"),
        "BEAM": timber(["4'", "6'", "7'"], ["12'", "6'", "7'"], "girder"),
    }
    assert "joints: [BEAM, POST]" in faults(timbers=timbers)[("timbers", "BEAM")]
    assert build(shed(timbers=timbers, joints=[["POST", "BEAM"]])).warnings == ()


def test_two_walls_in_one_place_are_one_fault_at_the_later_one() -> None:
    south = WALL | {"start": [0, 0], "heading": "east", "length": "16'"}
    east = WALL | {"start": ["16'", 0], "heading": "north", "length": "12'"}
    twin = WALL | {"start": ["1'", '1"'], "heading": "east", "length": "10'"}
    assert list(faults(walls={"SOUTH": south, "EAST": east, "ALSO": twin})) == [("walls", "ALSO")]


def test_a_sistered_joist_with_a_short_ply_overlaps_only_where_its_wood_is() -> None:
    floors = {
        "LOFT": {
            "bottom": '97-1/8"',
            "below": "ground",
            "corner": [0, 0],
            "size": ["16'", "12'"],
            "joists": {"section": "2x8", "run": "depth", "every": '16"'},
        }
    }
    # LOFT-J4 from 47-1/4: second ply 48-3/4 to 50-1/4 for 5 ft only; a strut beside it further on is free
    members = {"LOFT-J4": {"plies": [{}, {"end": "5'"}]}}
    strut = timber(['49-1/2"', "7'", '100"'], ['49-1/2"', "9'", '100"'], section='1-1/2" x 2"')
    assert build(shed(floors=floors, members=members, timbers={"STRUT": strut})).warnings == ()
    near = strut | {"from": ['49-1/2"', "3'", '100"']}
    assert list(faults(floors=floors, members=members, timbers={"STRUT": near})) == [("members", "LOFT-J4")]


def test_rafters_let_into_plates_and_ties_nailed_to_rafters_are_no_faults() -> None:
    roof = {
        "storey": "ground",
        "kind": "gable",
        "corner": [0, 0],
        "size": ["16'", "12'"],
        "plate": '97-1/8"',
        "pitch": "8/12",
        "overhang": "1'",
        "rafters": {"section": "2x6", "every": '16"'},
        "ridge_section": "2x8",
        "collar_ties": {"section": "2x4", "height": "2'"},
    }
    building = build(shed(roofs={"ROOF": roof}))
    assert building.warnings == ()
    assert any(member.role == "collar_tie" for member in building.members)


# --- names of nothing ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("parts", "where"),
    [
        ({"members": {"SOUTH-S77": {"plies": 2}}}, ("members", "SOUTH-S77")),
        ({"joints": [["SOUTH-S1", "S0UTH-S2"]]}, ("joints", 0, 1)),
        ({"cables": {"C1.A": {"through": ["SOUTH-S1", "SUTH-S2"]}}}, ("cables", "C1.A", "through", 1)),
        ({"cables": {"C1.A": {"avoid": ["SOUTH-X2"]}}}, ("cables", "C1.A", "avoid", 0)),
    ],
)
def test_a_member_that_does_not_exist_is_told_the_nearest_that_does(parts: Said, where: tuple[str | int, ...]) -> None:
    found = faults(**parts)
    assert list(found) == [where]
    assert "the nearest there is: " in found[where]


def test_a_missing_member_and_one_in_an_opening_are_known() -> None:
    assert build(shed(members={"SOUTH-S5": {"missing": "yes"}}))


def test_two_old_holes_with_one_id_are_a_fault() -> None:
    hole = {"id": "OLD", "along": "4'", "across": '1-3/4"', "diameter": '3/4"'}
    found = faults(members={"SOUTH-S3": {"holes": [hole]}, "SOUTH-S5": {"holes": [hole]}})
    assert list(found) == [("members", "SOUTH-S5", "holes", 0, "id")]


def test_a_timber_called_like_a_stud_is_a_fault() -> None:
    found = faults(timbers={"SOUTH-S3": timber(["8'", "6'", 0], ["8'", "6'", "8'"], "post")})
    assert "the id of another member" in found[("timbers", "SOUTH-S3")]


def test_faults_of_several_parts_are_told_at_once() -> None:
    walls = {
        "SOUTH": WALL
        | {
            "start": [0, 0],
            "heading": "east",
            "length": "16'",
            "openings": {"D": {"at": 0, "width": "3'", "top": "9'"}},
        }
    }
    walls |= {"EAST": WALL | {"start": ["16'", 0], "heading": "north", "length": "12'", "studs": {"at": [0, "13'"]}}}
    found = faults(walls=walls)
    assert ("walls", "SOUTH", "openings", "D", "top") in found
    assert ("walls", "EAST", "studs", "at") in found


def test_references_are_checked_before_anything_is_framed() -> None:
    assert ("boxes", "A", "circuit") in faults(
        boxes={
            "PANEL": {"kind": "panel", "wall": "EAST", "along": '40"', "height": '60"'},
            "A": {"wall": "SOUTH", "along": '40"', "height": "4'", "circuit": "C9"},
        }
    )


def test_a_wall_looks_only_at_walls_that_can_meet_it() -> None:
    said = shed(
        walls={
            "A": WALL | {"start": [0, 0], "heading": "east", "length": "16'"},
            "B": WALL | {"start": ["16'", 0], "heading": "north", "length": "12'"},
            "FAR": WALL | {"start": ["60'", 0], "heading": "north", "length": "12'"},
        }
    )
    near = neighbours(said.walls, context_of(said))
    assert {name: list(walls) for name, walls in near.items()} == {"A": ["A", "B"], "B": ["A", "B"], "FAR": ["FAR"]}


# --- separating axes -------------------------------------------------------------------------------------------------

WORLD = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
Frame = tuple[tuple[float, float, float], tuple[float, float, float], tuple[float, float, float]]


def turned(yaw: float, pitch: float, roll: float) -> Frame:
    def about(axis: int, angle: float) -> np.ndarray[Any, np.dtype[np.float64]]:
        c, s = math.cos(angle), math.sin(angle)
        matrix = np.eye(3)
        one, two = (axis + 1) % 3, (axis + 2) % 3
        matrix[one, one], matrix[one, two], matrix[two, one], matrix[two, two] = c, -s, s, c
        return matrix

    rows = (about(2, yaw) @ about(1, pitch) @ about(0, roll)).T
    return tuple(tuple(float(value) for value in row) for row in rows)  # type: ignore[return-value]


def test_overlap_of_upright_boxes_is_the_least_of_three() -> None:
    # x: 4 - 3 = 1, y: 2, z: 0.5
    a = solid_boxes([(0, 0, 0)], [WORLD], [(4, 2, 6)])
    b = solid_boxes([(3, -1, 5.5)], [WORLD], [(4, 9, 6)])
    pair = np.array([0])
    assert overlap_in(a, pair, b, pair) == pytest.approx([0.5])
    away = solid_boxes([(7, 0, 10)], [WORLD], [(1, 1, 1)])
    assert apart_in(a, pair, away, pair) == pytest.approx([5.0])  # 3 along x, 4 along z
    assert overlap_in(a, pair, away, pair)[0] < 0


def test_a_turned_box_is_as_far_as_its_nearest_corner() -> None:
    # unit cubes, the second on its edge 3 in off: 3 - 1/2 - sqrt(1/2)
    a = solid_boxes([(-0.5, -0.5, -0.5)], [WORLD], [(1, 1, 1)])
    axes = turned(math.pi / 4, 0.0, 0.0)
    b = solid_boxes([(3.0, -math.sqrt(0.5), -0.5)], [axes], [(1, 1, 1)])
    pair = np.array([0])
    assert apart_in(a, pair, b, pair) == pytest.approx([3 - 0.5 - math.sqrt(0.5)])
    assert apart_in(b, pair, a, pair) == pytest.approx([3 - 0.5 - math.sqrt(0.5)])


def test_two_crossed_bars_that_miss_by_an_edge_are_apart() -> None:
    # bars 1 in square, at right angles and both on edge: axes 1.5 apart in height, half diagonals 0.707 each
    on_edge = turned(0.0, 0.0, math.pi / 4)
    a = solid_boxes([(0, 0, 0)], [on_edge], [(10, 1, 1)])
    across = turned(math.pi / 2, 0.0, math.pi / 4)
    b = solid_boxes([(0, 0, 0)], [across], [(10, 1, 1)])
    lift = a.centre[0] + np.array([0, 0, 1.5]) - b.centre[0]
    b = solid_boxes([(lift[0], lift[1], lift[2])], [across], [(10, 1, 1)])
    pair = np.array([0])
    assert overlap_in(a, pair, b, pair) == pytest.approx([2**0.5 - 1.5])


angles = st.floats(-math.pi, math.pi)
places = st.tuples(st.floats(-8, 8), st.floats(-8, 8), st.floats(-8, 8))
sizes = st.tuples(st.floats(0.5, 12), st.floats(0.5, 6), st.floats(0.5, 6))


@given(angles, angles, angles, places, sizes, sizes)
@settings(max_examples=150, deadline=None)
def test_boxes_that_share_a_point_overlap_and_boxes_apart_share_none(
    yaw: float,
    pitch: float,
    roll: float,
    place: tuple[float, float, float],
    one: tuple[float, float, float],
    other: tuple[float, float, float],
) -> None:
    a = solid_boxes([(0, 0, 0)], [WORLD], [one])
    axes = turned(yaw, pitch, roll)
    b = solid_boxes([place], [axes], [other])
    pair = np.array([0])
    depth = float(overlap_in(a, pair, b, pair)[0])
    grid = np.stack(np.meshgrid(*[np.linspace(0, 1, 9)] * 3), axis=-1).reshape(-1, 3)
    points = np.asarray(place) + (grid * np.asarray(other)) @ np.asarray(axes)
    inside = np.min(np.minimum(points, np.asarray(one) - points), axis=1)
    # a shared point this deep in both parts them by at least as much
    in_other = np.min(np.minimum(grid, 1 - grid) * np.asarray(other), axis=1)
    shared = np.minimum(inside, in_other)
    if np.max(shared) > 1e-9:
        assert depth >= np.max(shared) - 1e-9
    if depth < -1e-9:
        assert np.max(inside) < 1e-9
        gap = np.linalg.norm(np.maximum(np.maximum(-points, points - np.asarray(one)), 0), axis=1)
        assert apart_in(a, pair, b, pair)[0] <= gap.min() + 1e-9


@given(st.lists(st.tuples(places, sizes, angles), min_size=1, max_size=12))
@settings(max_examples=50, deadline=None)
def test_no_touching_pair_is_missed_by_the_first_look(bodies: list[Any]) -> None:
    solids = solid_boxes(
        [place for place, _, _ in bodies],
        [turned(yaw, 0.3, 0.0) for _, _, yaw in bodies],
        [size for _, size, _ in bodies],
    )
    found = set(zip(*(side.tolist() for side in near_pairs(solids, solids)), strict=True))
    count = len(bodies)
    rows, columns = np.repeat(np.arange(count), count), np.tile(np.arange(count), count)
    touching = overlap_in(solids, rows, solids, columns) >= 0
    assert {(int(a), int(b)) for a, b in zip(rows[touching], columns[touching], strict=True)} <= found


# --- what a building carries -----------------------------------------------------------------------------------------


def test_unanswered_questions_get_the_stricter_reading_and_are_assumptions() -> None:
    building = build(shed())
    kept = {answer.question.split(":")[0]: (answer.answer, answer.assumed) for answer in building.answers}
    assert kept == {
        "exposed": ("covered", True),
        "lining": ("none", True),
        "insulated": ("yes", True),
        "plain_cable": ("no", True),
        "dwelling": ("yes", True),
        "surroundings": ("damp", True),
        "bundled": ("yes", True),
        "switch_neutral": ("yes", True),
        "hardwired_ground_fault": ("yes", True),
    }
    assert (building.exposed, building.exposed_below_in) == ("covered", 84.0)


def test_kept_answers_are_kept_with_who_and_when() -> None:
    said = {"exposed": {"answer": "drops", "below": "8'", "who": "inspector", "when": "May"}, "lining": "later"}
    more = {"dwelling": {"answer": "no", "who": "owner"}, "plain_cable": "yes", "surroundings": "dry", "bundled": "no"}
    rest = {"insulated": "no", "switch_neutral": "no", "hardwired_ground_fault": "no"}
    building = build(shed(answers=said | more | rest))
    exposed, dwelling = building.answers[0], building.answers[4]
    assert (dwelling.answer, dwelling.who) == ("no", "owner")
    assert (exposed.answer, exposed.assumed, exposed.who, exposed.when) == ("drops", False, "inspector", "May")
    assert (building.exposed, building.exposed_below_in) == ("drops", 96.0)
    assert {assembly.lining for assembly in building.assemblies} == {"later"}
    assert not any(answer.assumed for answer in building.answers)


def test_a_circuit_takes_the_only_panel_and_the_boxes_that_name_it() -> None:
    circuit = build(shed(circuits={"C1": {"home_runs": "any", "title": "benches"}})).circuits[0]
    assert (circuit.panel, circuit.boxes, circuit.home_runs, circuit.cable) == ("PANEL", ("A", "B"), None, "")


def test_a_panel_that_names_its_own_circuit_is_not_a_box_on_it() -> None:
    boxes = {
        "PANEL": {"kind": "panel", "wall": "EAST", "along": '40"', "height": '60"', "circuit": "C1"},
        "A": {"wall": "SOUTH", "along": '40"', "height": "4'", "circuit": "C1"},
    }
    assert build(shed(boxes=boxes)).circuits[0].boxes == ("A",)


def test_an_order_is_a_chain_of_feeds_from_the_panel() -> None:
    boxes = {box.id: box.fed_from for box in build(shed(circuits={"C1": {"order": ["B", "A"]}})).boxes}
    assert boxes == {"PANEL": "", "B": "PANEL", "A": "B"}


def test_an_order_against_a_pin_is_a_fault() -> None:
    boxes = {
        "PANEL": {"kind": "panel", "wall": "EAST", "along": '40"', "height": '60"'},
        "A": {"wall": "SOUTH", "along": '40"', "height": "4'", "circuit": "C1", "fed_from": "B"},
        "B": {"wall": "SOUTH", "along": '88"', "height": "4'", "circuit": "C1"},
    }
    assert list(faults(boxes=boxes, circuits={"C1": {"order": ["A"]}})) == [("circuits", "C1", "order", 0)]


def test_a_scenes_limits_lengths_tools_and_cables_replace_the_usual_ones() -> None:
    building = build(
        shed(
            limits={"joist.edge": {"value": '2-1/2"', "because": "county"}},
            lengths={"free": '6"', "slack": 0.1, "box_rise": '10"'},
            tools={"bits": ['1"', '3/4"'], "per_hole": {'1"': 2}},
            cable_types={"12/2": {"price": 1.5}},
        )
    )
    assert Limits(building.limits)["joist.edge"] == 2.5
    assert (building.lengths.free_in, building.lengths.slack_share, building.lengths.entry_in) == (6.0, 0.1, 4.0)
    assert building.tools.bits_in == (0.75, 1.0)
    assert dict(building.tools.per_hole) == {0.75: 2, 1.0: 2, 1.25: 3}
    cable = next(cable for cable in building.cable_types if cable.id == "12/2")
    assert (cable.price_ft, cable.width_in) == (1.5, 0.422)
    assert cable.source.startswith("price as the scene says; the rest: ")
    assert {box.rise_in for box in building.boxes} == {10.0}


def test_a_metric_scene_prints_on_whole_millimetres() -> None:
    building = build(shed(units="metric"))
    assert (building.metric, building.tools.grid_in) == (True, 1 / 25.4)


def test_a_keep_clear_solid_has_its_clearance_added_and_its_corners_in_order() -> None:
    said = {"FLUE": {"from": ["9'", "7'", 0], "to": ["8'", "6'", "8'"], "clearance": '2"'}}
    solid = build(shed(keep_clear=said)).keep_clear[0]
    assert (solid.low, solid.high) == ((94.0, 70.0, -2.0), (110.0, 86.0, 98.0))


def test_the_order_of_writing_changes_nothing_but_through_corners() -> None:
    def turned_round(building: Building) -> tuple[Any, ...]:
        return building.assemblies, building.members, building.boxes, building.circuits

    said = shed()
    plain = build(said)
    boxes = dict(reversed(list(said.boxes.items())))
    free = {"start_corner": "free", "end_corner": "free"}
    walls = {name: wall.model_copy(update=free) for name, wall in said.walls.items()}
    back = dict(reversed(list(walls.items())))
    assert turned_round(build(said.model_copy(update={"boxes": boxes}))) == turned_round(plain)
    spread = {
        name: wall.model_copy(update={"start": (wall.start[0] * 2, wall.start[1] * 2)}) for name, wall in walls.items()
    }
    flipped = {name: spread[name] for name in back}
    assert turned_round(build(said.model_copy(update={"walls": spread}))) == turned_round(
        build(said.model_copy(update={"walls": flipped}))
    )


# --- from a file -----------------------------------------------------------------------------------------------------

FILE = """\
barnloom: 1
title: Boat shed
storeys: {ground: {floor: 0}}
walls:
  SOUTH: {start: [0, 0], heading: east, length: 12', height: 97-1/8", section: 2x4, studs: {every: 16"}}
members:
  SOUTH-S44: {missing: yes}
boxes:
  PANEL: {kind: panel, wall: SOUTH, along: 8', height: 60", size: [12", 20", 3-1/2"]}
  A: {wall: SOUTH, along: 48", height: 48", circuit: C1}
circuits: {C1: {}}
"""


def test_a_file_becomes_a_building_or_all_its_faults_with_their_lines(tmp_path: Path) -> None:
    path = tmp_path / "shed.yaml"
    path.write_text(FILE, encoding="utf-8")
    with pytest.raises(SceneError) as caught:
        barnloom.model.read_building(path)
    assert [(fault.where, fault.line) for fault in caught.value.faults] == [
        (("members", "SOUTH-S44"), 7),
        (("boxes", "PANEL"), 9),
        (("boxes", "A"), 10),
    ]
    right = FILE.replace("S44", "S4").replace("along: 8'", 'along: 72"').replace('along: 48"', "along: 30 in")
    path.write_text(right.replace("along: 30 in", 'along: 27"'), encoding="utf-8")
    assert barnloom.model.read_building(path).title == "Boat shed"


def test_the_model_offers_its_names_and_no_others() -> None:
    for name in barnloom.model.__all__:
        assert getattr(barnloom.model, name) is not None
    with pytest.raises(AttributeError, match="nothing_like_it"):
        barnloom.model.nothing_like_it  # noqa: B018

"""Walls against a pencil: stations, plates, openings, corners, tees, gables; and what holds for any wall."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import combinations
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barnloom.model.building import Assembly, Member, Right, Role, Span
from barnloom.model.framing.common import Context, Framed
from barnloom.model.framing.walls import frame_wall
from barnloom.model.scene.schema import MemberSaid, Wall
from barnloom.model.vectors import dot, minus

Said = dict[str, Any]
UPRIGHT = (Role.STUD, Role.KING, Role.JACK, Role.CRIPPLE)
BOAT_WALL: Said = {
    "start": [0, 0],
    "heading": "east",
    "length": "12'",
    "height": '97-1/8"',
    "section": "2x4",
    "studs": {"every": '16"'},
}
"""12 ft long, precut 92-5/8 in studs: 1-1/2 + 92-5/8 + 3 = 97-1/8 in."""


def context(walls: Mapping[str, Said], members: Mapping[str, Said] | None = None) -> Context:
    return Context(
        floors={"ground": 0.0, "loft": 108.0},
        walls={name: Wall.model_validate(BOAT_WALL | said) for name, said in walls.items()},
        overrides={name: MemberSaid.model_validate(said) for name, said in (members or {}).items()},
    )


def framed(walls: Mapping[str, Said], name: str, members: Mapping[str, Said] | None = None) -> Framed:
    site = context(walls, members)
    return frame_wall(name, site.walls[name], site)


def alone(said: Said | None = None, members: Mapping[str, Said] | None = None) -> Framed:
    return framed({"SOUTH": said or {}}, "SOUTH", members)


def spans(assembly: Assembly, member: Member) -> tuple[Span, Span, Span]:
    """Where a member stands in its wall's (u, v, w)."""
    start = minus(member.origin, assembly.origin)
    sizes = ((member.along, member.length_in), (member.bit, member.thickness_in), (member.across, member.depth_in))
    found = []
    for axis in (assembly.u, assembly.v, assembly.w):
        reach = [dot(way, axis) * size for way, size in sizes]
        low = dot(start, axis) + sum(r for r in reach if r < 0)
        found.append((low, low + sum(abs(r) for r in reach)))
    return found[0], found[1], found[2]


def standing(result: Framed, *roles: Role) -> dict[str, tuple[float, ...]]:
    """(near face, far face, bottom, top) of each member of the roles, by id."""
    assert not result.faults, [str(fault) for fault in result.faults]
    return {
        m.id: (*spans(result.assemblies[0], m)[0], *spans(result.assemblies[0], m)[1])
        for m in result.members
        if m.role in roles
    }


def by_id(result: Framed) -> dict[str, Member]:
    assert not result.faults, [str(fault) for fault in result.faults]
    return {member.id: member for member in result.members}


def fault_text(result: Framed) -> str:
    assert result.faults
    assert result.members == ()
    return "\n".join(str(fault) for fault in result.faults)


# --- studs and plates ------------------------------------------------------------------------------------------------


def test_a_12_ft_wall_at_16_in_has_10_studs_first_and_last_flush() -> None:
    # centres at 16, 32, ... 128: near faces 3/4 in before; 144 would be 143-1/4, in the last stud at 142-1/2
    expected = [0, 15.25, 31.25, 47.25, 63.25, 79.25, 95.25, 111.25, 127.25, 142.5]
    studs = standing(alone(), Role.STUD)
    assert [place[0] for place in studs.values()] == expected
    assert list(studs) == [f"SOUTH-S{n}" for n in range(1, 11)]


def test_a_precut_stud_is_92_5_8_in_long_between_the_plates() -> None:
    studs = standing(alone(), Role.STUD)
    assert {(bottom, top) for _, _, bottom, top in studs.values()} == {(1.5, 94.125)}
    assert by_id(alone())["SOUTH-S4"].length_in == 92.625


def test_a_doubled_top_plate_is_one_member_3_in_thick() -> None:
    plate = by_id(alone())["SOUTH-TP1"]
    assert (plate.thickness_in, plate.depth_in, plate.length_in, len(plate.plies)) == (3.0, 3.5, 144.0, 2)
    assert [ply.bit for ply in plate.plies] == [(0.0, 1.5), (1.5, 3.0)]


def test_ends_and_faces_have_the_names_a_person_uses() -> None:
    members = by_id(alone())
    stud, plate = members["SOUTH-S2"], members["SOUTH-SP1"]
    assert (stud.along_from, stud.across_from) == ("bottom end", "room side face")
    assert (plate.along_from, plate.across_from) == ("west end", "room side face")
    assert stud.across == (0.0, -1.0, 0.0)
    assert stud.origin == (15.25, 3.5, 1.5)


def test_a_wall_off_the_compass_names_the_wall_at_its_start_corner() -> None:
    walls = {"A": {"heading": 30.0}, "B": {"start": [0, 0], "heading": 120.0, "room": "right"}}
    assert by_id(framed(walls, "A"))["A-SP1"].along_from == "start end (the corner with B)"


def test_a_room_on_the_right_mirrors_the_wall() -> None:
    wall = alone({"room": "right"}).assemblies[0]
    assert wall.w == (0.0, -1.0, 0.0)
    assert by_id(alone({"room": "right"}))["SOUTH-S1"].across == (0.0, 1.0, 0.0)


def test_measured_near_faces_and_centres_are_taken_as_they_are_and_sorted() -> None:
    at = standing(alone({"studs": {"at": [0, '33"', '17-1/2"', '142-1/2"']}}), Role.STUD)
    assert [place[0] for place in at.values()] == [0, 17.5, 33, 142.5]
    centres = standing(alone({"studs": {"centres": ['18-1/4"', '33-3/4"']}}), Role.STUD)
    assert [place[0] for place in centres.values()] == [17.5, 33.0]


def test_a_metric_wall_is_exact() -> None:
    said = {"length": "3600 mm", "height": "2400 mm", "section": "45 x 95 mm", "studs": {"every": "600 mm"}}
    studs = standing(alone(said), Role.STUD)
    # centres 600 ... 3000, last flush at 3600 - 45
    expected = [0, 577.5, 1177.5, 1777.5, 2377.5, 2977.5, 3555]
    assert [place[0] * 25.4 for place in studs.values()] == pytest.approx(expected, abs=1e-6)


def test_two_sole_plates_are_one_member_and_none_is_none() -> None:
    double = by_id(alone({"sole_plates": 2}))
    assert double["SOUTH-SP1"].thickness_in == 3.0
    assert double["SOUTH-S1"].origin[2] == 3.0
    assert "SOUTH-SP1" not in by_id(alone({"sole_plates": 0}))


def test_a_wall_stands_on_its_storeys_floor_unless_it_says_its_base() -> None:
    assert alone({"storey": "loft"}).assemblies[0].origin[2] == 108.0
    raised = alone({"base": '120"'}).assemblies[0]
    assert (raised.origin[2], raised.storey) == (120.0, "loft")


def test_bearing_is_yes_for_an_exterior_wall_and_where_nobody_measured_it() -> None:
    inner = {"exterior": "no"}
    assert by_id(alone({"bearing": "no"}))["SOUTH-S2"].bearing
    unsure = by_id(alone(inner))["SOUTH-S2"]
    assert (unsure.bearing, unsure.unmeasured) == (True, ("bearing",))
    assert not by_id(alone(inner | {"bearing": "no"}))["SOUTH-S2"].bearing


def test_a_section_not_measured_is_drawn_as_2x4_and_never_bored() -> None:
    stud = by_id(alone({"section": "not measured"}))["SOUTH-S2"]
    assert (stud.thickness_in, stud.depth_in, stud.bore, stud.unmeasured) == (1.5, 3.5, Right.UNKNOWN, ("section",))


# --- openings --------------------------------------------------------------------------------------------------------

DOOR: Said = {"openings": {"D": {"at": "5'", "width": '38"', "top": '82-1/2"', "header": "2x6"}}}


def test_a_door_38_in_wide_has_jacks_at_its_edges_and_kings_beside_them() -> None:
    # 60 to 98 clear; jacks 58-1/2 and 98; kings 57 and 99-1/2
    result = alone(DOOR)
    jacks, kings = standing(result, Role.JACK), standing(result, Role.KING)
    assert jacks == {"SOUTH-JK1": (58.5, 60, 1.5, 82.5), "SOUTH-JK2": (98, 99.5, 1.5, 82.5)}
    assert kings == {"SOUTH-K1": (57, 58.5, 1.5, 94.125), "SOUTH-K2": (99.5, 101, 1.5, 94.125)}


def test_its_header_spans_between_the_kings_and_bears_on_the_jacks() -> None:
    header = by_id(alone(DOOR))["SOUTH-H1"]
    assert (header.length_in, header.thickness_in, header.depth_in) == (41.0, 3.0, 5.5)
    assert header.bearings == ((0.0, 1.5), (39.5, 41.0))
    assert header.origin == (58.5, 0.0, 82.5)
    assert header.bit == (0.0, 1.0, 0.0)
    assert header.bore is Right.FREE


def test_a_header_nobody_described_is_drawn_as_2x8_and_not_bored() -> None:
    header = by_id(alone({"openings": {"D": {"at": "5'", "width": '38"', "top": '82-1/2"'}}}))["SOUTH-H1"]
    assert (header.depth_in, header.bore, header.unmeasured) == (7.25, Right.UNKNOWN, ("section",))


def test_a_header_with_little_room_is_the_deepest_that_fits() -> None:
    # 94-1/8 - 88 = 6-1/8: a 2x6 (5-1/2) fits, a 2x8 (7-1/4) does not
    header = by_id(alone({"openings": {"D": {"at": "5'", "width": '38"', "top": '88"'}}}))["SOUTH-H1"]
    assert header.depth_in == 5.5


def test_the_sole_plate_is_cut_at_a_door_and_not_at_a_window() -> None:
    door = standing(alone(DOOR), Role.SOLE_PLATE)
    assert door == {"SOUTH-SP1": (0, 60, 0, 1.5), "SOUTH-SP2": (98, 144, 0, 1.5)}
    window = {"openings": {"W": {"at": "5'", "width": '38"', "bottom": '40"', "top": '76"'}}}
    assert list(standing(alone(window), Role.SOLE_PLATE)) == ["SOUTH-SP1"]


def test_studs_in_an_opening_become_cripples_on_the_same_layout_and_leave_gaps_in_the_numbers() -> None:
    # layout studs 5, 6, 7 at 63-1/4, 79-1/4, 95-1/4; over the header 82-1/2 + 5-1/2 = 88 up to 94-1/8
    result = alone(DOOR)
    assert [f"SOUTH-S{n}" for n in (1, 2, 3, 4, 8, 9, 10)] == list(standing(result, Role.STUD))
    assert standing(result, Role.CRIPPLE) == {
        "SOUTH-C5": (63.25, 64.75, 88, 94.125),
        "SOUTH-C6": (79.25, 80.75, 88, 94.125),
        "SOUTH-C7": (95.25, 96.75, 88, 94.125),
    }


def test_a_window_has_a_sill_between_its_jacks_and_cripples_under_it() -> None:
    said = {"openings": {"W": {"at": "5'", "width": '38"', "bottom": '40"', "top": '76"', "header": "2x6"}}}
    result = alone(said)
    assert standing(result, Role.SILL) == {"SOUTH-SL1": (60, 98, 38.5, 40)}
    under = {name: place for name, place in standing(result, Role.CRIPPLE).items() if name.endswith("a")}
    assert set(under) == {"SOUTH-C5a", "SOUTH-C6a", "SOUTH-C7a"}
    assert {place[2:] for place in under.values()} == {(1.5, 38.5)}


def test_a_stud_that_meets_a_king_gives_way_to_it() -> None:
    result = alone({"openings": {"D": {"at": '64"', "width": '30"', "top": '80"'}}})
    # king 61 to 62-1/2, jack 62-1/2 to 64: the layout stud 63-1/4 to 64-3/4 stands in jack and opening
    assert "SOUTH-S5" not in by_id(result)
    assert standing(result, Role.CRIPPLE)["SOUTH-C5"][:2] == (63.25, 64.75)


def test_two_jacks_and_no_king_are_framed_as_said() -> None:
    said = {"openings": {"D": {"at": "5'", "width": '38"', "top": '82"', "jacks": 2, "kings": 0, "header": "2x6"}}}
    result = alone(said)
    assert [place[0] for place in standing(result, Role.JACK).values()] == [57, 58.5, 98, 99.5]
    assert standing(result, Role.KING) == {}
    assert by_id(result)["SOUTH-H1"].length_in == 44.0


def test_an_opening_up_to_the_plates_has_no_header() -> None:
    result = alone({"openings": {"D": {"at": "5'", "width": '38"', "top": '94-1/8"'}}})
    assert standing(result, Role.HEADER) == {}


def test_a_door_at_the_walls_end_leaves_no_sliver_of_sole_plate() -> None:
    said = {"openings": {"D": {"at": 0, "width": '38"', "top": '82"', "jacks": 0, "kings": 0}}}
    assert standing(alone(said), Role.SOLE_PLATE) == {"SOUTH-SP1": (38, 144, 0, 1.5)}


def test_an_opening_just_over_the_sole_plate_has_no_sill() -> None:
    said = {"openings": {"D": {"at": "5'", "width": '38"', "bottom": '2"', "top": '82"'}}}
    assert standing(alone(said), Role.SILL) == {}
    assert [name for name in standing(alone(said), Role.CRIPPLE) if name.endswith("a")] == []


def test_the_void_is_the_rough_opening() -> None:
    void = alone(DOOR).assemblies[0].voids[0]
    assert (void.id, void.u, void.v) == ("SOUTH.D", (60.0, 98.0), (0.0, 82.5))


@pytest.mark.parametrize(
    ("opening", "words"),
    [
        ({"at": "5'", "width": '38"', "top": '96"'}, "underside of the wall's top plates"),
        ({"at": "5'", "width": '38"', "top": '90"', "header": "2x8"}, "a header up to"),
        ({"at": "10'", "width": '38"', "top": '80"'}, "where the wall's framing begins and ends"),
        ({"at": '2"', "width": '38"', "top": '80"'}, "where the wall's framing begins and ends"),
        ({"at": "5'", "width": '38"', "bottom": '1"', "top": '80"'}, "the sole plate's top"),
        ({"at": "5'", "width": '38"', "top": '80"', "header": "2x6", "header_plies": 3}, "through the wall"),
    ],
)
def test_an_opening_that_cannot_be_framed_is_a_fault(opening: Said, words: str) -> None:
    assert words in fault_text(alone({"openings": {"D": opening}}))


def test_openings_whose_framing_overlaps_are_a_fault_at_the_later_one() -> None:
    # kings of D end at 101, those of W begin at 103 - 3 = 100
    said = {
        "openings": DOOR["openings"] | {"W": {"at": '103"', "width": '20"', "bottom": '40"', "top": '70"'}},
    }
    result = alone(said)
    assert [fault.where for fault in result.faults] == [("walls", "SOUTH", "openings", "W", "at")]
    said["openings"]["W"]["at"] = '104"'
    assert not alone(said).faults


# --- stations past the end, spans, shapes ----------------------------------------------------------------------------


def test_a_stud_past_the_walls_end_is_a_fault_and_half_an_inch_a_warning() -> None:
    assert "where the framing begins and ends" in fault_text(alone({"studs": {"at": [0, '143-1/4"']}}))
    near = alone({"studs": {"at": [0, '142-7/8"']}})
    assert not near.faults
    assert near.warnings == ("SOUTH-S2 stands 3/8\" past the end of the wall's framing",)


def test_height_and_profile_are_one_of_the_two() -> None:
    assert "neither height nor profile" in fault_text(alone({"height": None}))
    assert "both height and profile" in fault_text(alone({"profile": [[0, "8'"], ["12'", "8'"]]}))


def test_a_profile_has_to_run_from_end_to_end() -> None:
    said = {"height": None, "profile": [[0, "8'"], ["11'", "9'"]]}
    assert "corners from 0 to the wall's length" in fault_text(alone(said))


# --- blocking --------------------------------------------------------------------------------------------------------


def test_a_row_of_blocks_fills_every_bay_at_its_height() -> None:
    blocks = standing(alone({"blocking": [{"height": '48"'}]}), Role.BLOCK)
    # 9 bays between 10 studs; the first from 1-1/2 to 15-1/4
    assert len(blocks) == 9
    assert blocks["SOUTH-B1"] == (1.5, 15.25, 47.25, 48.75)
    assert blocks["SOUTH-B9"] == (128.75, 142.5, 47.25, 48.75)


def test_blocks_keep_out_of_openings_and_of_bays_outside_their_stretch() -> None:
    said = DOOR | {"blocking": [{"height": '48"', "between": ["4'", "12'"]}]}
    blocks = standing(alone(said), Role.BLOCK)
    # left of the door the bay 48-3/4 to 57; right of it 101 to 111-1/4 and two more
    assert [place[:2] for place in blocks.values()] == [(48.75, 57), (101, 111.25), (112.75, 127.25), (128.75, 142.5)]


@pytest.mark.parametrize(("height", "plates"), [('96"', 1), ('1"', 1), ('1/2"', 0)])
def test_a_row_of_blocks_in_no_bay_is_a_fault(height: str, plates: int) -> None:
    result = alone({"sole_plates": plates, "blocking": [{"height": height}]})
    assert [fault.where for fault in result.faults] == [("walls", "SOUTH", "blocking", 0, "height")]


def test_blocks_under_a_slope_stay_under_it() -> None:
    # the blocks' top is at 94.45, the underside at 1-1/2, beside the first stud, 97 + 43 x 1.5 / 60 - 3.69 = 94.38
    blocks = standing(alone(GABLE | {"blocking": [{"height": '93.7"'}]}), Role.BLOCK)
    assert [place[0] for place in blocks.values()] == [16.75, 32.75, 48.75, 64.75, 80.75, 96.75]


def test_the_hollow_of_a_corner_gets_no_block() -> None:
    walls = CORNER | {"SOUTH": {"blocking": [{"height": '48"'}]}}
    # the hollow 141 to 142-1/2 is no bay; the last block ends at the nailer
    assert max(place[1] for place in standing(framed(walls, "SOUTH"), Role.BLOCK).values()) == 139.5


# --- corners and tees ------------------------------------------------------------------------------------------------

CORNER: dict[str, Said] = {"SOUTH": {}, "EAST": {"start": ["12'", 0], "heading": "north", "length": "10'"}}


def test_the_wall_written_first_runs_through_and_the_other_butts() -> None:
    assert framed(CORNER, "SOUTH").assemblies[0].extent_u == (0.0, 144.0)
    east = framed(CORNER, "EAST")
    assert east.assemblies[0].extent_u == (3.5, 120.0)
    # stations still count from its outside start: 3-1/2, then centres 16, 32
    assert [place[0] for place in standing(east, Role.STUD).values()][:3] == [3.5, 15.25, 31.25]


def test_the_through_wall_gets_a_nailer_with_a_hollow_behind() -> None:
    # 3-1/2 in of butting wall and 1 in to show: faces 3 and 4-1/2 in from the outside corner, 1-1/2 in hollow
    studs = standing(framed(CORNER, "SOUTH"), Role.STUD)
    assert studs["SOUTH-S9a"][:2] == (139.5, 141.0)
    assert studs["SOUTH-S10"][:2] == (142.5, 144.0)


def test_the_nailer_and_the_butting_end_stud_are_where_cable_goes_round() -> None:
    south, east = by_id(framed(CORNER, "SOUTH")), by_id(framed(CORNER, "EAST"))
    assert [name for name, member in south.items() if member.corner] == ["SOUTH-S9a"]
    assert [name for name, member in east.items() if member.corner] == ["EAST-S1"]


def test_a_2x6_wall_that_butts_moves_the_nailer() -> None:
    walls = CORNER | {"EAST": CORNER["EAST"] | {"section": "2x6"}}
    # 5-1/2 + 1 = 6-1/2 from the corner is its far face
    assert standing(framed(walls, "SOUTH"), Role.STUD)["SOUTH-S9a"][:2] == (137.5, 139.0)


def test_a_corner_closed_by_the_scene_is_never_bored() -> None:
    walls = CORNER | {"EAST": CORNER["EAST"] | {"corner_passage": "no"}}
    for wall, name in (("SOUTH", "SOUTH-S9a"), ("EAST", "EAST-S1")):
        member = by_id(framed(walls, wall))[name]
        assert (member.corner, member.bore, member.reason) == (False, Right.NEVER, "corner closed by the scene")


def test_a_scene_can_say_which_wall_runs_through() -> None:
    walls = {"SOUTH": {"end_corner": "butt"}, "EAST": CORNER["EAST"]}
    assert framed(walls, "SOUTH").assemblies[0].extent_u == (0.0, 140.5)
    assert framed(walls, "EAST").assemblies[0].extent_u == (0.0, 120.0)
    assert standing(framed(walls, "EAST"), Role.STUD)["EAST-S1a"][:2] == (3.0, 4.5)


def test_two_walls_that_both_run_through_are_one_fault() -> None:
    walls = {"SOUTH": {"end_corner": "through"}, "EAST": CORNER["EAST"] | {"start_corner": "through"}}
    assert not framed(walls, "SOUTH").faults
    assert "one wall that runs through" in fault_text(framed(walls, "EAST"))


def test_a_free_corner_is_no_corner() -> None:
    walls = {"SOUTH": {"end_corner": "free"}, "EAST": CORNER["EAST"]}
    assert "SOUTH-S9a" not in by_id(framed(walls, "SOUTH"))
    assert framed(walls, "EAST").assemblies[0].extent_u == (0.0, 120.0)


def test_corner_points_an_inch_apart_meet_and_more_do_not() -> None:
    for gap, butts in (("0.9 in", True), ("1.1 in", False)):
        walls = {"SOUTH": {}, "EAST": CORNER["EAST"] | {"start": ["12'", gap]}}
        assert (framed(walls, "EAST").assemblies[0].extent_u[0] > 0.0) is butts


def test_a_layout_stud_close_to_the_nailer_gives_way_and_leaves_a_gap() -> None:
    # nailer of a 124-3/4 in wall: 120-1/4 to 121-3/4; the layout stud at 6 x 20 = 120 reaches from 119-1/4 to 120-3/4
    walls = {
        "SOUTH": {"length": '124-3/4"', "studs": {"every": '20"'}},
        "EAST": {"start": ['124-3/4"', 0], "heading": "north", "length": "10'"},
    }
    studs = standing(framed(walls, "SOUTH"), Role.STUD)
    assert studs["SOUTH-S7a"][:2] == (120.25, 121.75)
    assert "SOUTH-S7" not in studs
    assert studs["SOUTH-S8"][:2] == (123.25, 124.75)


def test_a_layout_stud_a_quarter_inch_from_the_nailer_gives_way_too() -> None:
    # nailer 119-3/4 to 121-1/4; a stud at 6 x 19.75 = 118.5 ends at 119-1/4, 1/2 in off: it stays; at 6 x 19.79 =
    # 118.74 it ends at 119.49, about 1/4 in off
    for every, stays in (('19-3/4"', True), ('19.79"', False)):
        walls = {
            "SOUTH": {"length": '124-1/4"', "studs": {"every": every}},
            "EAST": {"start": ['124-1/4"', 0], "heading": "north", "length": "10'"},
        }
        assert ("SOUTH-S7" in standing(framed(walls, "SOUTH"), Role.STUD)) is stays


def test_in_thick_timber_the_nailer_stands_beside_the_end_stud() -> None:
    rough = {"section": '4" x 4"'}
    walls = {"SOUTH": rough, "EAST": CORNER["EAST"] | rough}
    assert standing(framed(walls, "SOUTH"), Role.STUD)["SOUTH-S9a"][:2] == (136.0, 140.0)
    thin = CORNER | {"EAST": CORNER["EAST"] | {"section": '1-1/2" x 2"'}}
    studs = standing(framed(thin, "SOUTH"), Role.STUD)
    assert (studs["SOUTH-S9a"][:2], studs["SOUTH-S10"][:2]) == ((141.0, 142.5), (142.5, 144.0))


def test_a_king_at_the_corner_stands_in_for_the_nailer() -> None:
    # king 138-1/2 to 140, jack to 141-1/2 would be in the nailer's place 139-1/2 to 141
    door = {"D": {"at": '100"', "width": '37"', "top": '80"'}}
    members = by_id(framed(CORNER | {"SOUTH": {"openings": door}}, "SOUTH"))
    assert [m.id for m in members.values() if m.role is Role.STUD and m.origin[0] > 130] == ["SOUTH-S10"]
    assert [m.id for m in members.values() if m.corner] == ["SOUTH-K2"]


def test_a_nailer_that_a_king_stands_in_for_takes_no_layout_stud_away() -> None:
    # king up to 140, nailer would be 139-1/2 to 141, layout stud at 3 x 47 = 141 from 140-1/4
    door = {"D": {"at": '100"', "width": '37"', "top": '80"'}}
    south = {"openings": door, "studs": {"every": '47"'}}
    assert standing(framed(CORNER | {"SOUTH": south}, "SOUTH"), Role.STUD)["SOUTH-S4"][0] == pytest.approx(140.25)


def test_a_stud_of_two_meetings_is_closed_if_one_of_them_is() -> None:
    stall = {"start": ["4'", '3-1/2"'], "heading": "north", "length": "6'"}
    annex = {"start": ['44-1/2"', 0], "heading": "south", "length": "6'", "corner_passage": "no"}
    members = by_id(framed({"SOUTH": {}, "STALL": stall, "ANNEX": annex}, "SOUTH"))
    assert (members["SOUTH-S3a"].corner, members["SOUTH-S3a"].bore) == (False, Right.NEVER)


def test_measured_studs_are_all_there_are_and_one_at_the_corner_serves_as_nailer() -> None:
    walls = CORNER | {"SOUTH": {"studs": {"at": [0, "3'", "6'", "9'", '139-1/4"', '142-1/2"']}}}
    result = by_id(framed(walls, "SOUTH"))
    assert [name for name, member in result.items() if member.role is Role.STUD] == [f"SOUTH-S{n}" for n in range(1, 7)]
    assert [name for name, member in result.items() if member.corner] == ["SOUTH-S5"]


def test_at_a_reentrant_corner_the_through_wall_runs_on_to_back_the_other() -> None:
    # SOUTH goes east with its room to the north; JOG turns south at its end, its room to the east
    walls = {"SOUTH": {}, "JOG": {"start": ["12'", 0], "heading": "south", "length": "8'"}}
    south, jog = framed(walls, "SOUTH"), framed(walls, "JOG")
    assert south.assemblies[0].extent_u == (0.0, 147.5)
    assert jog.assemblies[0].extent_u == (0.0, 96.0)
    # same hollow, from the framing's end: 147-1/2 - 4-1/2 to 147-1/2 - 3
    assert standing(south, Role.STUD)["SOUTH-S9a"][:2] == (143.0, 144.5)


def test_a_reentrant_corner_a_little_off_square_is_one_too() -> None:
    # 7 degrees off: JOG begins 3.5 x tan 7 = 0.43 in down its line, clear of the face, and is 3.5 / cos 7 wide along it
    walls = {"SOUTH": {}, "JOG": {"start": ["12'", 0], "heading": 277.0, "length": "8'"}}
    assert framed(walls, "JOG").assemblies[0].extent_u[0] == pytest.approx(3.5 * math.tan(math.radians(7)), abs=1e-9)
    ends = 144 + 3.5 / math.cos(math.radians(7))
    assert framed(walls, "SOUTH").assemblies[0].extent_u[1] == pytest.approx(ends, abs=1e-9)


def test_walls_in_one_line_meet_end_to_end() -> None:
    walls = {"SOUTH": {}, "MORE": {"start": ["12'", 0], "length": "8'"}}
    south, more = by_id(framed(walls, "SOUTH")), by_id(framed(walls, "MORE"))
    assert south["SOUTH-S10"].corner
    assert more["MORE-S1"].corner
    assert [name for name in south if name.startswith("SOUTH-S") and name.endswith("a")] == []


def test_a_tee_has_two_backing_studs_an_inch_closer_than_the_wall_is_deep() -> None:
    # partition 44-1/2 to 48 along SOUTH: middle 46-1/4, clear 2-1/2, so 43-1/2 to 45 and 47-1/2 to 49
    walls = {"SOUTH": {}, "STALL": {"start": ["4'", '3-1/2"'], "heading": "north", "length": "6'"}}
    studs = standing(framed(walls, "SOUTH"), Role.STUD)
    assert studs["SOUTH-S3a"][:2] == (43.5, 45.0)
    assert studs["SOUTH-S4a"][:2] == (47.5, 49.0)
    # the layout stud 47-1/4 to 48-3/4 gives way to the second
    assert "SOUTH-S4" not in studs
    stall = framed(walls, "STALL")
    assert stall.assemblies[0].extent_u == (0.0, 72.0)
    assert [m.id for m in stall.members if m.corner] == ["STALL-S1"]
    assert [m.id for m in framed(walls, "SOUTH").members if m.corner] == ["SOUTH-S3a", "SOUTH-S4a"]


def test_a_partition_measured_a_little_into_the_wall_begins_at_its_face() -> None:
    walls = {"SOUTH": {}, "STALL": {"start": ["4'", '3-1/4"'], "heading": "north", "length": "6'"}}
    assert framed(walls, "STALL").assemblies[0].extent_u == (0.25, 72.0)


def test_a_new_partition_renames_no_stud() -> None:
    walls = {"SOUTH": {}, "STALL": {"start": ["6'", '3-1/2"'], "heading": "north", "length": "6'"}}
    before, after = standing(alone(), Role.STUD), standing(framed(walls, "SOUTH"), Role.STUD)
    assert all(after[name] == place for name, place in before.items() if name in after)


@given(st.floats(0, 360), st.floats(30, 150), st.sampled_from(["2x4", "2x6"]), st.sampled_from(["left", "right"]))
@settings(max_examples=40, deadline=None)
def test_two_walls_that_meet_at_any_angle_do_not_overlap(turn: float, angle: float, section: str, room: str) -> None:
    bend = (turn + (angle if room == "left" else -angle)) % 360
    ten = 120.0
    end = [ten * math.cos(math.radians(turn)), ten * math.sin(math.radians(turn))]
    walls = {
        "A": {"heading": turn, "length": "10'", "room": room},
        "B": {
            "start": [f"{end[0]:.9f} in", f"{end[1]:.9f} in"],
            "heading": bend,
            "length": "10'",
            "room": room,
            "section": section,
        },
    }
    a, b = framed(walls, "A"), framed(walls, "B")
    wall = a.assemblies[0]
    for member in b.members:
        along, _, through = spans(wall, member)
        start = minus(member.origin, wall.origin)
        reach = (member.along, member.length_in), (member.bit, member.thickness_in), (member.across, member.depth_in)
        corners = [
            (
                dot(start, wall.u) + sum(k * dot(way, wall.u) * size for k, (way, size) in zip(ks, reach, strict=True)),
                dot(start, wall.w) + sum(k * dot(way, wall.w) * size for k, (way, size) in zip(ks, reach, strict=True)),
            )
            for ks in ((i, j, k) for i in (0, 1) for j in (0, 1) for k in (0, 1))
        ]
        beside = all(w >= wall.depth_in - 1e-6 for _, w in corners) or all(
            u >= wall.extent_u[1] - 1e-6 for u, _ in corners
        )
        assert beside, (member.id, along, through)


# --- gables ----------------------------------------------------------------------------------------------------------

GABLE: Said = {"height": None, "length": "10'", "profile": [[0, '97"'], ["5'", '140"'], ["10'", '97"']]}


def test_gable_studs_are_cut_to_the_underside_of_the_sloped_plates() -> None:
    # rise 43 in 60; plates 3 in thick take 3 x hypot(60, 43) / 60 = 3.690865 in of height
    # stud 3 from 31-1/4: underside at its lower side 97 + 43 x 31.25 / 60 - 3.690865 = 115.704968
    result = alone(GABLE)
    drop = 3 * math.hypot(60, 43) / 60
    assert standing(result, Role.STUD)["SOUTH-S3"][3] == pytest.approx(97 + 43 * 31.25 / 60 - drop, abs=1e-9)
    # stud 5 from 63-1/4 to 64-3/4 is on the falling side: its far face is the lower
    assert standing(result, Role.STUD)["SOUTH-S5"][3] == pytest.approx(97 + 43 * (120 - 64.75) / 60 - drop, abs=1e-9)


def test_a_gable_has_a_plate_a_slope_square_to_it_and_its_top_is_their_underside() -> None:
    result = alone(GABLE)
    plates = [member for member in result.members if member.role is Role.TOP_PLATE]
    assert [plate.id for plate in plates] == ["SOUTH-TP1", "SOUTH-TP2"]
    for plate in plates:
        assert dot(plate.along, plate.bit) == pytest.approx(0, abs=1e-12)
        assert plate.bit[2] > 0
        assert plate.thickness_in == 3.0
        # from plumb cut to plumb cut, less thickness x tan(slope): hypot(60, 43) - 3 x 43 / 60
        assert plate.length_in == pytest.approx(math.hypot(60, 43) - 3 * 43 / 60, abs=1e-9)
    drop = 3 * math.hypot(60, 43) / 60
    expected = [0, 97 - drop, 60, 140 - drop, 120, 97 - drop]
    assert [value for corner in result.assemblies[0].top for value in corner] == pytest.approx(expected, abs=1e-9)


def test_a_gable_down_to_its_sole_plate_has_no_stud_where_there_is_no_room() -> None:
    said = GABLE | {"profile": [[0, '3"'], ["5'", '63"'], ["10'", '3"']]}
    result = alone(said)
    studs = standing(result, Role.STUD)
    # at 0 the underside is below the sole plate's top; stud 2 at 15-1/4: 3 + 15.25 - 3 x sqrt 2 = 14.007
    assert "SOUTH-S1" not in studs
    assert studs["SOUTH-S2"][3] == pytest.approx(18.25 - 3 * math.sqrt(2), abs=1e-9)
    plate = by_id(result)["SOUTH-TP1"]
    assert plate.origin[2] >= 1.5 - 1e-9


def test_an_opening_under_a_slope_is_measured_against_the_slope() -> None:
    said = GABLE | {"openings": {"D": {"at": '6"', "width": '30"', "top": '96"', "header": "2x6"}}}
    # at 4-1/2, the near king's inner face, the underside is 97 + 43 x 4.5 / 60 - 3.69 = 96.53: 96 fits, the header not
    assert "a header up to 8' 5-1/2\"; expected at most 8' 1/2\"" in fault_text(alone(said))


# --- what is different about one member ------------------------------------------------------------------------------


def test_a_missing_stud_leaves_a_gap_and_blocks_span_it() -> None:
    result = alone({"blocking": [{"height": '48"'}]}, {"SOUTH-S3": {"missing": "yes"}})
    assert "SOUTH-S3" not in by_id(result)
    assert standing(result, Role.BLOCK)["SOUTH-B2"][:2] == (16.75, 47.25)


def test_a_moved_stud_keeps_its_number() -> None:
    studs = standing(alone(members={"SOUTH-S3": {"at": '33"'}, "SOUTH-S4": {"centre": '48"'}}), Role.STUD)
    assert studs["SOUTH-S3"][:2] == (33.0, 34.5)
    assert studs["SOUTH-S4"][:2] == (47.25, 48.75)


def test_a_stud_moved_under_a_slope_is_cut_to_its_new_place() -> None:
    drop = 3 * math.hypot(60, 43) / 60
    studs = standing(alone(GABLE, {"SOUTH-S3": {"at": '20"'}}), Role.STUD)
    assert studs["SOUTH-S3"] == pytest.approx((20, 21.5, 1.5, 97 + 43 * 20 / 60 - drop), abs=1e-9)


def test_a_doubled_stud_grows_away_from_its_near_face_and_the_last_into_the_wall() -> None:
    studs = standing(alone(members={"SOUTH-S3": {"plies": 2}, "SOUTH-S10": {"plies": 2}}), Role.STUD)
    assert studs["SOUTH-S3"][:2] == (31.25, 34.25)
    assert studs["SOUTH-S10"][:2] == (141.0, 144.0)


def test_a_stud_added_by_hand_takes_its_lower_neighbours_number_and_a_letter() -> None:
    studs = standing(alone({"extra_studs": ['40"', '38"']}), Role.STUD)
    assert studs["SOUTH-S3a"][:2] == (38, 39.5)
    assert studs["SOUTH-S3b"][:2] == (40, 41.5)
    assert studs["SOUTH-S4"][:2] == (47.25, 48.75)


def test_a_stud_added_in_an_opening_is_a_fault() -> None:
    assert "in the framing of D" in fault_text(alone(DOOR | {"extra_studs": ['70"']}))


def test_holes_notches_and_rights_of_one_member_are_kept() -> None:
    said = {
        "holes": [{"along": '48"', "across": '1-3/4"', "diameter": '3/4"', "has": ["12/2"]}],
        "notches": [{"from": '20"', "to": '24"', "edge": "far", "depth": '1/2"'}],
        "bore": "never",
        "because": "strap nailed over it",
    }
    stud = by_id(alone(members={"SOUTH-S3": said}))["SOUTH-S3"]
    hole, notch = stud.holes[0], stud.notches[0]
    assert (hole.id, hole.along_in, hole.across_in, hole.diameter_in) == ("SOUTH-S3.old1", 48.0, 1.75, 0.75)
    assert (notch.along, notch.edge, notch.depth_in) == ((20.0, 24.0), "high", 0.5)
    assert (stud.bore, stud.reason) == (Right.NEVER, "strap nailed over it")


def test_a_hole_off_its_member_is_a_fault() -> None:
    said = {"holes": [{"along": "9'", "across": '1-3/4"', "diameter": '3/4"'}]}
    result = alone(members={"SOUTH-S3": said})
    assert [fault.where for fault in result.faults] == [("members", "SOUTH-S3", "holes", 0)]


# --- what holds for any wall -----------------------------------------------------------------------------------------


@st.composite
def any_wall(draw: st.DrawFn) -> Said:
    """A wall with up to two openings, a row of blocks, level or gabled, with regular or measured studs."""
    length = draw(st.integers(96, 288))
    openings: dict[str, Said] = {}
    near = 8
    for name in "DW"[: draw(st.integers(0, 2))]:
        at = near + draw(st.integers(0, 40))
        width = draw(st.integers(12, 48))
        if at + width + 8 > length:
            break
        bottom = draw(st.sampled_from([0, 20, 36]))
        openings[name] = {
            "at": f'{at}"',
            "width": f'{width}"',
            "bottom": f'{bottom}"' if bottom else 0,
            "top": f'{draw(st.integers(50, 78))}"',
            "jacks": draw(st.integers(0, 2)),
            "kings": draw(st.integers(1, 2)),
        }
        near = at + width + 16
    if draw(st.booleans()):
        studs: Said = {"every": f'{draw(st.sampled_from([12, 16, 19.2, 24]))}"'}
    else:
        places, at = [], 0
        while at < length - 4:
            places.append(f'{at}"')
            at += draw(st.integers(5, 30))
        studs = {"at": places}
    said: Said = {
        "start": [0, 0],
        "heading": 0.0,
        "length": f'{length}"',
        "section": draw(st.sampled_from(["2x4", "2x6", '2" x 4"'])),
        "studs": studs,
        "openings": openings,
        "top_plates": draw(st.integers(1, 2)),
        "blocking": draw(st.sampled_from([[], [{"height": '44"'}]])),
    }
    if draw(st.booleans()):
        peak = draw(st.integers(20, length - 20))
        rise = draw(st.integers(0, 80))
        said["height"] = None
        said["profile"] = [[0, '97"'], [f'{peak}"', f'{97 + rise}"'], [f'{length}"', '97"']]
    return said


def deepest_overlap(assembly: Assembly, one: Member, other: Member) -> float:
    """How deep two members stand in each other; a sloped plate is looked at in its own axes."""
    if abs(one.along[2]) not in (0.0, 1.0) or abs(other.along[2]) not in (0.0, 1.0):
        plate, rest = (one, other) if one.role is Role.TOP_PLATE else (other, one)
        frame = (plate.along, plate.bit, plate.across)
        sizes = (plate.length_in, plate.thickness_in, plate.depth_in)
        low = minus(rest.origin, plate.origin)
        reach = ((rest.along, rest.length_in), (rest.bit, rest.thickness_in), (rest.across, rest.depth_in))
        depths = []
        for axis, size in zip(frame, sizes, strict=True):
            steps = [dot(way, axis) * far for way, far in reach]
            start = dot(low, axis) + sum(step for step in steps if step < 0)
            depths.append(min(size, start + sum(abs(step) for step in steps)) - max(0.0, start))
        level = [
            min(a[1], b[1]) - max(a[0], b[0]) for a, b in zip(spans(assembly, one), spans(assembly, other), strict=True)
        ]
        return min(*depths, *level)
    pairs = zip(spans(assembly, one), spans(assembly, other), strict=True)
    return min(min(a[1], b[1]) - max(a[0], b[0]) for a, b in pairs)


@given(any_wall())
@settings(max_examples=60, deadline=None)
def test_no_two_members_of_a_wall_overlap(said: Said) -> None:
    result = framed({"A": said}, "A")
    assert not result.faults, [str(fault) for fault in result.faults]
    for one, other in combinations(result.members, 2):
        assert deepest_overlap(result.assemblies[0], one, other) < 1e-6, (one.id, other.id)


@given(any_wall())
@settings(max_examples=60, deadline=None)
def test_every_upright_stands_on_the_sole_plate_and_reaches_no_further_than_the_top(said: Said) -> None:
    result = framed({"A": said}, "A")
    wall = result.assemblies[0]
    for member in result.members:
        if member.role in UPRIGHT:
            (near, far), (bottom, top), through = spans(wall, member)
            assert near >= wall.extent_u[0] - 1e-9
            assert far <= wall.extent_u[1] + 1e-9
            assert bottom >= by_id(result)["A-SP1"].thickness_in - 1e-9
            assert through == pytest.approx((0.0, wall.depth_in))
            for u, v in wall.top:
                if near < u < far:
                    assert top <= v + 1e-9
            assert top <= wall.extent_v[1]


@given(any_wall(), st.floats(0, 360), st.sampled_from(["left", "right"]))
@settings(max_examples=40, deadline=None)
def test_turning_and_mirroring_a_wall_changes_nothing_in_its_own_axes(said: Said, turn: float, room: str) -> None:
    plain = framed({"A": said}, "A")
    turned = framed({"A": said | {"heading": turn, "start": ["31'", "-7'"], "room": room}}, "A")
    there = by_id(turned)
    assert set(there) == set(by_id(plain))
    for name, member in by_id(plain).items():
        ours, theirs = spans(plain.assemblies[0], member), spans(turned.assemblies[0], there[name])
        assert [end for span in ours for end in span] == pytest.approx(
            [end for span in theirs for end in span], abs=1e-8
        )

"""Where boxes hang, against a pencil: in walls, ceilings, roofs, on members; and where they may not."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import pytest

from barnloom.model.building import Box, Building
from barnloom.model.errors import SceneError
from barnloom.model.framing import build
from barnloom.model.scene.schema import Scene
from barnloom.model.vectors import dot, minus

Said = dict[str, Any]
WALL: Said = {"height": '97-1/8"', "section": "2x4", "studs": {"every": '16"'}}


def shed(boxes: Mapping[str, Said], **parts: Any) -> Scene:
    """A sail shed, 20 ft by 12 ft, 2x8 loft joists across it, a post inside, a roof; with the boxes given."""
    base: Said = {
        "barnloom": 1,
        "title": "sail shed",
        "storeys": {"ground": {"floor": 0}, "loft": {"floor": '105-1/8"'}},
        "walls": {
            "SOUTH": WALL
            | {
                "start": [0, 0],
                "heading": "east",
                "length": "20'",
                "openings": {"D": {"at": "5'", "width": '38"', "top": '82-1/2"'}},
            },
            "EAST": WALL | {"start": ["20'", 0], "heading": "north", "length": "12'"},
        },
        "floors": {
            "LOFT": {
                "carries": "loft",
                "corner": [0, 0],
                "size": ["20'", "12'"],
                "joists": {"section": "2x8", "run": "depth", "every": '16"'},
                "subfloor": '3/4"',
                "openings": {"STAIR": {"at": ["12'", '40"'], "size": ["3'", "6'"]}},
            }
        },
        "timbers": {
            "POST": {"role": "post", "from": ["10'", "6'", 0], "to": ["10'", "6'", "8'"], "section": "6x6"},
            "TIE": {"role": "girt", "from": ["2'", "6'", "4'"], "to": ["9'", "6'", "4'"], "section": "4x6"},
        },
        "boards": {"RUN": {"from": ["2'", "9'", '96-3/8"'], "to": ["9'", "9'", '96-3/8"']}},
        "circuits": {"C1": {}},
        "boxes": {
            "PANEL": {"kind": "panel", "wall": "EAST", "along": '40"', "height": '60"'},
            "ANY": {"wall": "EAST", "along": "7' 6\"", "height": "4'", "circuit": "C1", "kind": "stub"},
        }
        | {name: {"circuit": "C1"} | said for name, said in boxes.items()},
    }
    return Scene.model_validate(base | parts)


def hung(said: Said, **parts: Any) -> tuple[Box, Building]:
    building = build(shed({"BOX": said}, **parts))
    return next(box for box in building.boxes if box.id == "BOX"), building


def faults(boxes: Mapping[str, Said], **parts: Any) -> dict[tuple[str | int, ...], str]:
    with pytest.raises(SceneError) as caught:
        build(shed(boxes, **parts))
    return {fault.where: str(fault) for fault in caught.value.faults}


# --- in a wall -------------------------------------------------------------------------------------------------------


def test_a_box_in_a_wall_is_flush_with_the_room_side() -> None:
    # SOUTH: u east from 0, room side at y = 3-1/2; body 2-1/8 deep, its middle 1-1/16 behind the face
    box, _ = hung({"wall": "SOUTH", "along": '40"', "height": '48"'})
    assert (box.u_in, box.v_in, box.w_in) == (40.0, 48.0, 3.5 - 1.0625)
    assert box.at == (40.0, 3.5 - 1.0625, 48.0)
    assert (box.host, box.side, box.storey, box.size_in) == ("SOUTH", "", "ground", (4.0, 4.0, 2.125))
    assert (box.rise_in, box.cables_max, box.size_known) == (8.0, 4, False)


@pytest.mark.parametrize(("to", "middle"), [("centre", 48.0), ("top", 46.0), ("bottom", 50.0)])
def test_a_height_is_to_the_part_of_the_body_that_it_says(to: str, middle: float) -> None:
    assert hung({"wall": "SOUTH", "along": '40"', "height": '48"', "to": to})[0].v_in == middle


def test_a_height_above_a_finished_floor_counts_from_its_top() -> None:
    assert hung({"wall": "SOUTH", "along": '40"', "height": '48"', "above": '3/4"'})[0].v_in == 48.75


def test_a_height_is_over_the_floor_not_over_the_walls_base() -> None:
    walls = {"LOW": WALL | {"start": [0, "5'"], "heading": "east", "length": "20'", "base": '6"', "storey": "ground"}}
    box, _ = hung(
        {"wall": "LOW", "along": '40"', "height": '48"'},
        walls=walls | {"EAST": WALL | {"start": ["30'", 0], "heading": "north", "length": "12'"}},
        floors={},
        timbers={},
    )
    assert (box.v_in, box.at[2]) == (42.0, 48.0)


def test_a_stub_is_a_point_on_the_mid_depth_plane() -> None:
    box, _ = hung({"kind": "stub", "wall": "SOUTH", "along": '40"', "height": '48"'})
    assert (box.size_in, box.w_in, box.rise_in, box.size_known) == ((0.0, 0.0, 0.0), 1.75, 0.0, True)


def test_a_panel_without_a_size_is_drawn_with_the_usual_one_and_says_so() -> None:
    _, building = hung({"wall": "SOUTH", "along": '40"', "height": '48"'})
    panel = next(box for box in building.boxes if box.kind == "panel")
    assert (panel.size_in, panel.size_known) == ((14.25, 28.0, 3.5), False)


def test_the_scenes_own_rise_size_and_count_are_kept() -> None:
    said = {"rise": '5"', "size": ['3"', '5"', '2-1/2"'], "cables_max": 6}
    box, _ = hung({"wall": "SOUTH", "along": '40"', "height": '48"'} | said)
    assert (box.rise_in, box.size_in, box.cables_max, box.size_known) == (5.0, (3.0, 5.0, 2.5), 6, True)
    lower, _ = hung({"wall": "SOUTH", "along": '40"', "height": '48"'}, lengths={"box_rise": '6"'})
    assert lower.rise_in == 6.0


# --- in a ceiling or a roof ------------------------------------------------------------------------------------------


def test_a_ceiling_box_hangs_flush_with_the_joists_and_belongs_to_the_storey_below() -> None:
    # joists run along the depth: u is the width; joists' underside at 105-1/8 - 3/4 - 7-1/4 = 97-1/8
    box, _ = hung({"ceiling": "LOFT", "at": ['40"', "6'"]})
    assert (box.u_in, box.v_in, box.w_in) == (40.0, 72.0, 1.0625)
    assert box.at == pytest.approx((40.0, 72.0, 97.125 + 1.0625))
    assert (box.storey, box.size_in) == ("ground", (4.0, 4.0, 2.125))


def test_a_ceiling_box_is_placed_by_width_and_depth_whichever_way_the_joists_run() -> None:
    floor = {
        "carries": "loft",
        "corner": ["20'", 0],
        "heading": "north",
        "size": ["12'", "20'"],
        "joists": {"section": "2x8", "run": "width", "every": '16"'},
    }
    said = {"ceiling": "LOFT", "at": ["6'", '40"'], "size": ['4"', '6"', '2"']}
    box, building = hung(said, floors={"LOFT": floor})
    # width goes north from (20 ft, 0), depth west of it: 72 north, 40 west
    assert box.at[:2] == pytest.approx((200.0, 72.0))
    loft = next(a for a in building.assemblies if a.id == "LOFT")
    # across the joists (east-west) the body measures its height, 6; along them its width, 4
    assert box.size_in == (6.0, 4.0, 2.0)
    assert (box.u_in, box.v_in) == (40.0, 72.0)
    assert abs(dot(loft.u, (1.0, 0.0, 0.0))) == 1.0


def test_a_box_in_a_roof_slope_hangs_flush_with_the_rafters_underside() -> None:
    roof = {
        "storey": "loft",
        "kind": "gable",
        "corner": [0, "30'"],
        "size": ["20'", "12'"],
        "plate": "16'",
        "pitch": "12/12",
        "rafters": {"section": "2x8", "every": '24"'},
        "ridge_section": "2x10",
    }
    box, building = hung({"roof": "TOP-A", "at": ["3'", "4'"]}, roofs={"TOP": roof})
    slope = next(a for a in building.assemblies if a.id == "TOP-A")
    assert (box.u_in, box.v_in, box.w_in, box.storey) == (36.0, 48.0, 1.0625, "loft")
    off = minus(box.at, slope.origin)
    assert (dot(off, slope.u), dot(off, slope.v), dot(off, slope.w)) == pytest.approx((36.0, 48.0, 1.0625))
    # 45 degrees: 4 ft up the slope is 48 / sqrt 2 up, less what the depth of the body takes or gives
    assert off[2] == pytest.approx((48 + 1.0625) / math.sqrt(2))


def test_a_roof_that_has_no_such_slope_is_a_fault_that_names_one() -> None:
    roof = {
        "storey": "loft",
        "kind": "shed",
        "corner": [0, "30'"],
        "size": ["20'", "12'"],
        "plate": "16'",
        "pitch": "4/12",
        "rafters": {"section": "2x8", "every": '24"'},
    }
    found = faults({"BOX": {"roof": "TOP", "at": ["3'", "4'"]}}, roofs={"TOP": roof})
    assert "did you mean TOP-A?" in found[("boxes", "BOX", "roof")]


# --- on a member -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("side", "u"), [("start", 31.25 - 2), ("end", 32.75 + 2), ("west", 29.25), ("east", 34.75)])
def test_a_box_on_a_stud_sits_beside_it_in_the_bay_on_that_side(side: str, u: float) -> None:
    # SOUTH-S3 from 31-1/4 to 32-3/4, standing on 1-1/2 in of sole plate: 46-1/2 along it is 48 up
    box, _ = hung({"on": "SOUTH-S3", "side": side, "along": '46-1/2"'})
    assert (box.host, box.side, box.u_in, box.v_in) == ("SOUTH", "", u, 48.0)


def test_a_box_on_a_joist_is_measured_from_the_joists_named_end() -> None:
    box, building = hung({"on": "LOFT-J4", "side": "east", "along": "6'"})
    joist = next(m for m in building.members if m.id == "LOFT-J4")
    assert box.host == "LOFT"
    assert box.u_in == pytest.approx(joist.origin[0] + 1.5 + 2)
    assert abs(box.at[1] - joist.origin[1]) == pytest.approx(72.0)


def test_a_box_on_a_post_sits_on_the_face_that_looks_that_way() -> None:
    # the post's west face is at 120 - 2-3/4; the body reaches 2-1/8 out from it
    box, _ = hung({"on": "POST", "side": "west", "along": "4'"})
    assert (box.host, box.u_in, box.v_in, box.w_in) == ("POST", 48.0, 0.0, 0.0)
    assert box.at == pytest.approx((120 - 2.75 - 1.0625, 72.0, 48.0))
    assert box.side in ("+bit", "-bit", "+across", "-across")
    tall, _ = hung({"on": "POST", "side": "west", "along": "4'", "size": ['3"', '5"', '2"']})
    assert tall.size_in == (5.0, 3.0, 2.0)


def test_a_box_under_a_timber_and_on_a_board_hangs_from_the_face() -> None:
    under, _ = hung({"on": "TIE", "side": "down", "along": "3'"})
    assert under.at == pytest.approx((60.0, 72.0, 48 - 2.75 - 1.0625))
    board, _ = hung({"on": "RUN", "side": "down", "along": "3'"})
    assert board.at == pytest.approx((60.0, 108.0, 96.375 - 1.0625))


@pytest.mark.parametrize(
    ("said", "where", "words"),
    [
        ({"on": "SOUTH-S99", "side": "end", "along": "4'"}, "on", "did you mean SOUTH-S"),
        ({"on": "SOUTH-TP1", "side": "down", "along": "4'"}, "on", "a stud, joist, rafter or single timber"),
        ({"on": "SOUTH-S3", "side": "north", "along": "4'"}, "side", "which of its two sides"),
        ({"on": "POST", "side": "up", "along": "4'"}, "side", "east or north or south or west"),
    ],
)
def test_what_a_box_cannot_be_on_is_told_at_its_key(said: Said, where: str, words: str) -> None:
    assert words in faults({"BOX": said})[("boxes", "BOX", where)]


def test_a_member_that_may_carry_no_box_carries_none() -> None:
    for word in ("never", "maker", "unknown"):
        members = {"SOUTH-S3": {"mount": word, "because": "carved"}}
        found = faults({"BOX": {"on": "SOUTH-S3", "side": "end", "along": "4'"}}, members=members)
        assert f"SOUTH-S3, whose mount is {word} (carved)" in found[("boxes", "BOX", "on")]


# --- where nothing holds it, or something is in the way --------------------------------------------------------------


@pytest.mark.parametrize(
    ("said", "reason", "nearest"),
    [
        # door from 60 to 98: the body's left side at 70 is 10 in from the jack's face at 60
        ({"wall": "SOUTH", "along": '72"', "height": "4'"}, "in the opening SOUTH.D", 'SOUTH-JK1, 10" away'),
        ({"wall": "SOUTH", "along": "21'", "height": "4'"}, "past the edge of SOUTH", '10" away'),
        ({"wall": "SOUTH", "along": '40"', "height": "9'"}, "past the edge of SOUTH", "LOFT-RM"),
        # stair 144 to 180: trimmers at its edges, the body's right side at 166 is 14 in off
        ({"ceiling": "LOFT", "at": ["13' 8\"", "6'"]}, "in the opening", "1' 2\" away"),
        ({"on": "POST", "side": "west", "along": "9'"}, "past the end of POST", "POST, "),
        ({"wall": "SOUTH", "along": '40"', "height": "4'", "size": ['4"', '4"', '4"']}, "deeper than SOUTH", ""),
    ],
)
def test_a_box_in_mid_air_is_told_the_nearest_member_and_how_far_it_is(said: Said, reason: str, nearest: str) -> None:
    found = faults({"BOX": said})[("boxes", "BOX")]
    assert reason in found
    assert nearest in found


def test_a_box_over_a_sloped_top_is_in_mid_air() -> None:
    gable = WALL | {
        "start": [0, "40'"],
        "heading": "east",
        "length": "20'",
        "height": None,
        "profile": [[0, "3'"], ["10'", "13'"], ["20'", "3'"]],
    }
    walls = {"GABLE": gable, "EAST": WALL | {"start": ["20'", 0], "heading": "north", "length": "12'"}}
    found = faults({"BOX": {"wall": "GABLE", "along": "3'", "height": "10'"}}, walls=walls, floors={})
    assert "over the sloped top of GABLE" in found[("boxes", "BOX")]
    # under the slope it is in a bay: 3 ft along the underside is at 36 + 36 - 3 sqrt 2 = 67.8
    boxes = {"BOX": {"wall": "GABLE", "along": "41 in", "height": "5'"}}
    assert build(shed(boxes, walls=walls, floors={})).boxes


def test_a_bay_with_a_stud_gone_on_one_side_holds_no_box_in_the_middle() -> None:
    members = {"EAST-S10": {"missing": "yes"}}
    found = faults({"BOX": {"wall": "EAST", "along": '137"', "height": "4'"}}, members=members)
    assert "in no bay of EAST" in found[("boxes", "BOX")]
    beside = {"BOX": {"wall": "EAST", "along": '130-3/4"', "height": "4'"}}
    assert build(shed(beside, members=members)).boxes


def test_a_short_stud_makes_no_bay_over_its_top() -> None:
    members = {"EAST-S10": {"end": "4'"}}
    box = {"wall": "EAST", "along": '137"'}
    assert "in no bay of EAST" in faults({"BOX": box | {"height": "6'"}}, members=members)[("boxes", "BOX")]
    assert build(shed({"BOX": box | {"height": "3'"}}, members=members)).boxes


def test_a_box_in_a_stud_is_told_the_nearest_free_place() -> None:
    # SOUTH-S3 31-1/4 to 32-3/4; a 4 in body at 31 is free at 29-1/4 (1-3/4 off) and at 34-3/4
    found = faults({"BOX": {"wall": "SOUTH", "along": '31"', "height": "4'"}})
    assert 'a box 1-3/4" deep in SOUTH-S3' in found[("boxes", "BOX")]
    assert "the nearest free place: along 2' 5-1/4\"" in found[("boxes", "BOX")]


def test_the_free_place_is_not_in_an_opening_nor_in_another_box() -> None:
    # stud 47-1/4 to 48-3/4: west of it 45-1/4 would be nearest, but another box is there; east of it 50-3/4
    boxes = {
        "BOX": {"wall": "SOUTH", "along": '46"', "height": "4'"},
        "OTHER": {"wall": "SOUTH", "along": '43-1/2"', "height": '46"'},
    }
    found = faults(boxes)
    assert "the nearest free place: along 4' 2-3/4\"" in found[("boxes", "BOX")]


def test_a_free_place_is_rounded_away_from_the_member() -> None:
    # measured stud at 30 mm x 10 = 300 mm = 11.811 in; body west of it: 11.811 - 2 = 9.811, down to 9-13/16 - 1/16
    wall = WALL | {"start": [0, 0], "heading": "east", "length": "20'", "studs": {"at": [0, "300 mm", "239 in"]}}
    walls = {
        "SOUTH": wall | {"length": "240.5 in"},
        "EAST": WALL | {"start": ["30'", 0], "heading": "north", "length": "12'"},
    }
    found = faults({"BOX": {"wall": "SOUTH", "along": '11"', "height": "4'"}}, walls=walls, floors={})
    assert 'along 9-3/4"' in found[("boxes", "BOX")]


def test_a_free_place_beyond_the_member_is_rounded_away_too() -> None:
    # stud 12.02 to 13.52; body east of it: 15.52, nearest sixteenth 15-1/2, up to 15-9/16
    wall = WALL | {"start": [0, 0], "heading": "east", "length": "20'", "studs": {"at": [0, "12.02 in", "238.5 in"]}}
    walls = {"SOUTH": wall, "EAST": WALL | {"start": ["30'", 0], "heading": "north", "length": "12'"}}
    found = faults({"BOX": {"wall": "SOUTH", "along": '14"', "height": "4'"}}, walls=walls, floors={})
    assert "along 1' 3-9/16\"" in found[("boxes", "BOX")]


def test_a_box_in_a_jack_is_not_sent_into_the_opening() -> None:
    # jack 58-1/2 to 60, king from 57: east of the jack, 62, would be 2-1/2 off; west of the king 55 is 4-1/2 off
    found = faults({"BOX": {"wall": "SOUTH", "along": '59-1/2"', "height": "4'"}})
    assert "the nearest free place: along 4' 7\"" in found[("boxes", "BOX")]


def test_over_a_header_there_is_a_bay_again() -> None:
    # header 82-1/2 to 89-3/4, plates at 94-1/8; cripples 63-1/4 to 64-3/4 and 79-1/4 to 80-3/4
    assert hung({"wall": "SOUTH", "along": '72"', "height": '91-7/8"'})[0].v_in == 91.875


def test_what_hangs_on_framing_with_faults_is_not_judged() -> None:
    walls = {"SOUTH": shed({}).walls["SOUTH"], "EAST": shed({}).walls["EAST"]}
    bad = WALL | {"start": [0, "20'"], "heading": "east", "length": "8'", "studs": {"at": [0, "9'"]}}
    boxes = {
        "BOX": {"on": "BAD-S1", "side": "end", "along": "4'"},
        "OTHER": {"wall": "BAD", "along": "1'", "height": "4'"},
    }
    assert list(faults(boxes, walls=walls | {"BAD": bad})) == [("walls", "BAD", "studs", "at")]
    roof = {
        "storey": "loft",
        "kind": "shed",
        "corner": [0, "30'"],
        "size": ["20'", "12'"],
        "plate": "16'",
        "pitch": "30/12",
    }
    roof |= {"rafters": {"section": "2x8", "every": '24"'}}
    boxes = {"BOX": {"roof": "TOP-A", "at": ["3'", "4'"]}}
    assert list(faults(boxes, roofs={"TOP": roof})) == [("roofs", "TOP", "pitch")]


def test_a_stub_may_lie_in_a_box() -> None:
    boxes = {
        "BOX": {"wall": "SOUTH", "along": '40"', "height": "4'"},
        "OLD": {"kind": "stub", "wall": "SOUTH", "along": '40"', "height": "4'"},
    }
    assert build(shed(boxes)).boxes


def test_a_sixteenth_in_a_stud_is_a_tapes_error() -> None:
    assert build(shed({"BOX": {"wall": "SOUTH", "along": '29-5/16"', "height": "4'"}})).boxes
    assert faults({"BOX": {"wall": "SOUTH", "along": '29-3/8"', "height": "4'"}})


def test_a_box_against_another_walls_or_a_timbers_wood_is_a_fault_too() -> None:
    timbers = {"STRUT": {"role": "brace", "from": ['40"', '2"', '30"'], "to": ['40"', "3'", '30"'], "section": "2x4"}}
    found = faults({"BOX": {"wall": "SOUTH", "along": '40"', "height": '30"'}}, timbers=timbers)
    assert "deep in STRUT" in found[("boxes", "BOX")]


@pytest.mark.parametrize(
    ("door", "along", "hidden"),
    [
        # opening 60 to 98, leaf 38 wide: hinged at the start it opens over 22 to 60, at the end over 98 to 136
        ({"hinge": "start"}, '40"', True),
        ({"hinge": "end"}, '40"', False),
        ({"hinge": "end"}, '120"', True),
        ({"hinge": "end", "swings": "out"}, '120"', False),
        ({"hinge": "end"}, '138"', False),
    ],
)
def test_a_box_behind_an_open_door_is_warned_of(door: Said, along: str, *, hidden: bool) -> None:
    opening = {"at": "5'", "width": '38"', "top": '82-1/2"', "door": door}
    south = WALL | {"start": [0, 0], "heading": "east", "length": "20'", "openings": {"D": opening}}
    walls = {"SOUTH": south, "EAST": shed({}).walls["EAST"]}
    _, building = hung({"wall": "SOUTH", "along": along, "height": "4'"}, walls=walls)
    assert (building.warnings == ("BOX is behind the door D of SOUTH when that stands open",)) is hidden


def test_two_boxes_in_each_other_are_a_fault() -> None:
    boxes = {
        "A": {"wall": "SOUTH", "along": '37"', "height": "4'"},
        "B": {"wall": "SOUTH", "along": '39"', "height": "4'"},
    }
    assert "in that of A" in faults(boxes)[("boxes", "B")]
    boxes["B"]["along"] = '41"'
    assert build(shed(boxes)).boxes


def test_a_box_in_a_solid_that_is_kept_clear_is_a_fault() -> None:
    flue = {"FLUE": {"kind": "chimney", "from": ['43"', '4"', 0], "to": ['55"', '20"', "8'"], "clearance": '2"'}}
    found = faults({"BOX": {"wall": "SOUTH", "along": '40"', "height": "4'"}}, keep_clear=flue)
    assert "in FLUE, which is kept clear (chimney)" in found[("boxes", "BOX")]


def test_a_stub_in_a_stud_or_an_opening_is_a_fault() -> None:
    stub = {"kind": "stub", "wall": "SOUTH", "height": "4'"}
    assert "deep in SOUTH-S3" in faults({"BOX": stub | {"along": '32"'}})[("boxes", "BOX")]
    assert "in the opening" in faults({"BOX": stub | {"along": "6'"}})[("boxes", "BOX")]


def test_all_boxes_are_judged_at_once() -> None:
    boxes = {
        "A": {"wall": "SOUTH", "along": "6'", "height": "4'"},
        "B": {"wall": "SOUTH", "along": '32"', "height": "4'"},
        "C": {"on": "NOBODY", "side": "end", "along": "4'"},
    }
    assert set(faults(boxes)) == {("boxes", "A"), ("boxes", "B"), ("boxes", "C", "on")}


@pytest.mark.parametrize("turn", [90.0, 180.0, 37.0])
def test_turning_the_wall_turns_the_box_with_it(turn: float) -> None:
    walls = {"SOUTH": WALL | {"start": ["50'", 0], "heading": turn, "length": "20'"}, "EAST": shed({}).walls["EAST"]}
    box, _ = hung({"wall": "SOUTH", "along": '40"', "height": '48"'}, walls=walls)
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    assert box.at == pytest.approx((600 + 40 * c - 2.4375 * s, 40 * s + 2.4375 * c, 48.0))

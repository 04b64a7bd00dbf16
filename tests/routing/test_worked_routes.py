"""Routes of many kinds worked by hand: the pencil work stands beside each.

Used throughout: a 2x4 wall of 97-1/8 in has its sole plate to 1-1/2, studs to 94-1/8 and two top plates to 97-1/8; its
mid-depth is 1-3/4 from the outer face. Boxes are 4 in high, so that one at 48 has its entry points at 46 and 50. Studs
and joists at 16 in stand at centres 16, 32, 48, ... 2x8 joists are 7-1/4 deep, 2x10 9-1/4.
"""

from __future__ import annotations

from typing import Any

import pytest
from small_scenes import FEET_ONLY, box, cable, holes, inches, panel, planned, scene, wall

from barnloom.routing.plan import Plan

Said = dict[str, Any]


def only(said: Said) -> Plan:
    """The plan of a scene in which only feet count."""
    return planned({**FEET_ONLY, **said})


def ceiling(name: str, x: float, y: float, **changes: Any) -> Said:
    """A shallow round box in a ceiling: the cable enters at its middle, on the mid-depth plane above it."""
    return {
        "circuit": "A", "ceiling": name, "at": [inches(x), inches(y)], "size": ['4"', '4"', '1-1/2"'], **changes,
    }  # fmt: skip


def floor(section: str, run: str, **changes: Any) -> Said:
    """A floor of 12 by 10 ft on the walls, joists at 16 in, with a 3/4 in subfloor."""
    joists = {"section": section, "every": '16"', "run": run}
    return {
        "carries": "loft",
        "corner": [0, 0],
        "size": ["12'", "10'"],
        "joists": joists,
        "subfloor": '3/4"',
        **changes,
    }


def low_ceiling() -> Said:
    """The same as a ceiling of 2x6 joists, 5-1/2 deep, with its underside at 96 in and nothing on it."""
    said = floor("2x6", "depth", bottom='96"', below="ground", ceiling="yes")
    return {key: value for key, value in said.items() if key not in ("carries", "subfloor")}


def loft(depth: float) -> Said:
    """Storeys whose loft lies on joists of that depth over a wall of 97-1/8 in."""
    return {"ground": {"floor": 0}, "loft": {"floor": inches(97.125 + depth + 0.75)}}


# --- one wall --------------------------------------------------------------------------------------------------------


def test_two_boxes_with_two_studs_between_are_44_in_apart_with_two_holes() -> None:
    # 6 in straight down from 46 to 40, 32 along, 6 up again: 44. Two studs at 48 and 64 lie between 40 and 72. Both
    # rows (40 and 56) cost the same; the lower one is taken: 40 - 1-1/2 of sole plate = 38-1/2 along the studs, and
    # the middle of a 3-1/2 in stud is 1-3/4; 1-1/4 + 3/8 = 1-5/8 from either face needs no plate.
    plan = planned(
        scene(
            walls={"S": wall((0, 0), "east", 144)},
            boxes={"P": panel("S", 8, 60), "B": box("S", 40, 48), "C": box("S", 72, 48)},
            circuits={"A": {"cable": "12/2", "panel": "P", "order": ["B", "C"]}},
            lengths={"box_rise": '6"'},
        )
    )
    assert cable(plan, "A.C").path_in == 44.0
    found = holes(plan, "A.C")
    assert [(h.member, h.along_in, h.across_in) for h in found] == [("S-S4", 38.5, 1.75), ("S-S5", 38.5, 1.75)]
    assert {(h.across_min_in, h.across_max_in, h.nail_plates) for h in found} == {(1.625, 1.875, ())}
    # Cut: 44 + two entries of 4 + twice 8 free + 5 % of 44.
    assert cable(plan, "A.C").cut_in == pytest.approx(44 + 8 + 16 + 2.2)


def test_stacked_boxes_are_joined_straight() -> None:
    # From the top of one, 30 + 2 = 32, to the bottom of the other, 60 - 2 = 58: 26 and no hole, whatever the straight
    # start.
    plan = only(scene(walls={"S": wall((0, 0), "east", 96)}, boxes={"P": panel("S", 40, 30), "B": box("S", 40, 60)}))
    assert cable(plan, "A.B").path_in == 26.0
    assert cable(plan, "A.B").bores == ()
    assert cable(plan, "A.B").turns == 0


def test_a_stub_is_a_point_that_a_cable_reaches_without_a_straight_end() -> None:
    # From 48 + 2 = 50 straight up 8 to 58, along from 24 to 40 through the stud at 32, and there it ends.
    stub = {"kind": "stub", "circuit": "A", "wall": "S", "along": '40"', "height": '58"'}
    plan = only(scene(walls={"S": wall((0, 0), "east", 96)}, boxes={"P": panel("S", 24, 48), "B": stub}))
    assert cable(plan, "A.B").path_in == 24.0
    assert [h.member for h in holes(plan, "A.B")] == ["S-S3"]
    # A stub has an end like any box: 4 in of entry and 8 of free conductor.
    assert (cable(plan, "A.B").entries_in, cable(plan, "A.B").free_in) == (8.0, 16.0)


def test_an_old_hole_is_used_in_an_engineered_joist_but_not_in_one_never_to_be_bored() -> None:
    # A ceiling of joists at 16 in, running north, no way round them. Panel at 24 and box at 72 east, both 60 north;
    # the joists at 32, 48 and 64 have old holes 2 in further north at mid-depth, and no rule allows a new one.
    old = {"along": '62"', "across": '2-3/4"', "diameter": '1"'}
    slab = low_ceiling()
    said = scene(
        floors={"F": {**slab, "rims": "none", "joists": {**slab["joists"], "engineered": "yes"}}},
        members={f"F-CJ{n}": {"holes": [old]} for n in (3, 4, 5)},
        boxes={"P": ceiling("F", 24, 60, kind="panel"), "B": ceiling("F", 72, 60)},
    )
    used = [(h.member, h.along_in, h.existing) for h in holes(only(said), "A.B")]
    assert used == [(name, 62.0, True) for name in ("F-CJ3", "F-CJ4", "F-CJ5")]
    said["members"]["F-CJ4"] = {"holes": [old], "bore": "never", "because": "split"}
    assert planned(said).unreached == ("B",)


# --- up and over -----------------------------------------------------------------------------------------------------


def door_scene(door: bool, run: str, rims: str) -> Said:
    """Boxes at 40 and 104, either side of a door of 38 in whose 2x10 header is tight to the plates; 2x8 joists."""
    opening = {"at": '56"', "width": '38"', "top": inches(94.125 - 9.25), "header": "2x10", "door": {"hinge": "start"}}
    return scene(
        storeys=loft(7.25),
        walls={"S": wall((0, 0), "east", 144, storey="ground", openings={"D": opening} if door else {})},
        floors={"F": floor("2x8", run, rims=rims)},
        boxes={"P": panel("S", 40, 50), "B": box("S", 104, 50)},
    )


def test_without_a_door_a_row_runs_straight() -> None:
    # 52 + 8 = 60: 8 + 64 + 8, or the same below.
    assert cable(only(door_scene(False, "depth", "none")), "A.B").path_in == 80.0


def test_a_door_with_a_tight_header_adds_81_and_a_half_two_plate_holes_and_the_way_over_to_them() -> None:
    # From the row at 60 up through the plates to the middle of the joists, 97-1/8 + 3-5/8 = 100-3/4, and down again: 2
    # x 40-3/4 = 81-1/2 more, with joists along the wall no further hole. The end joist takes the outer 1-1/2 of the
    # plate; of the 2 in left the hole takes the middle, 1 in from the room: 3/4 off the wall's mid-depth, there and
    # back.
    plan = only(door_scene(True, "width", "none"))
    assert cable(plan, "A.B").path_in == 80 + 81.5 + 2 * 0.75
    assert [(h.member, h.across_in, h.nail_plates) for h in holes(plan, "A.B")] == 2 * [("S-TP1", 1.0, ("room side",))]


def test_over_a_door_and_across_the_joists_the_holes_keep_off_the_joists_ends() -> None:
    # No rims: the plate holes are in the middle, 1-3/4 from the joists' ends; the holes in the joists at 48, 64, 80
    # and 96 must be 2 + 3/8 from there: 5/8 further in, there and back.
    plan = only(door_scene(True, "depth", "none"))
    assert cable(plan, "A.B").path_in == 80 + 81.5 + 2 * 0.625
    found = holes(plan, "A.B")
    assert [h.member for h in found] == ["S-TP1", "F-J4", "F-J5", "F-J6", "F-J7", "S-TP1"]
    assert {h.across_in for h in found if h.member == "S-TP1"} == {1.75}
    assert {(h.along_in, h.across_in) for h in found[1:5]} == {(2.375, 3.625)}


def test_behind_a_rim_both_the_plate_holes_and_those_in_the_joists_move_in() -> None:
    # The joists begin behind 1-1/2 of rim: their holes are at y = 1-1/2 + 2-3/8 = 3-7/8, the plate holes at 3-1/2 - 1
    # = 2-1/2: 3/4 in the wall and 1-3/8 in the bay, there and back.
    plan = only(door_scene(True, "depth", "both"))
    assert cable(plan, "A.B").path_in == 80 + 81.5 + 2 * (0.75 + 1.375)
    found = [h for h in holes(plan, "A.B") if h.member == "S-TP1"]
    assert {(h.across_in, h.nail_plates) for h in found} == {(1.0, ("room side",))}


@pytest.mark.parametrize(
    ("section", "aim", "band", "plates", "off"),
    [("2x4", 1.0, (0.625, 1.375), ("room side",), 0.75), ("2x6", 2.0, (1.625, 3.375), (), 0.75)],
)
def test_a_wall_parallel_to_the_joists_is_left_beside_the_end_joist(
    section: str, aim: float, band: tuple[float, float], plates: tuple[str, ...], off: float
) -> None:
    # The end joist stands on the outer 1-1/2 of the plate.
    # 2x4: a strip of 2 in; 3/4 in centred 1 in from the inside leaves 5/8 to the edge: a plate. To edge and joist 1/4:
    # 5/8 to 1-3/8. 2x6: a strip of 4; aim 2; 1-1/4 + 3/8 = 1-5/8 from the inside without a plate, 4 - 1/4 - 3/8 =
    # 3-3/8 off the joist. From 50 up to 94-1/8 (44-1/8), over to the hole (the wall's middle, 1-3/4 or 2-3/4 from the
    # room: 3/4), 3 of plates, up to the middle of 2x10 joists (4-5/8); in the bay across from y = 2-1/2 or 3-1/2 to 10
    # (7-1/2 or 6-1/2) and from 40 to 60 along.
    plan = only(
        scene(
            storeys=loft(9.25),
            walls={"S": wall((0, 0), "east", 144, storey="ground", section=section)},
            floors={"F": floor("2x10", "width")},
            boxes={"P": panel("S", 40, 48), "B": ceiling("F", 60, 10)},
        )
    )
    (hole,) = holes(plan, "A.B")
    depth = {"2x4": 3.5, "2x6": 5.5}[section]
    assert cable(plan, "A.B").path_in == 44.125 + off + 3 + 4.625 + (10 - (depth - aim)) + 20
    assert (hole.member, hole.across_in, hole.nail_plates) == ("S-TP1", aim, plates)
    assert (hole.across_min_in, hole.across_max_in) == band


def test_up_through_a_floor_into_the_wall_above() -> None:
    # 50 to 94-1/8: 44-1/8; over to the hole 3/4; plates 3, joists 9-1/4, subfloor 3/4, sole plate 1-1/2; back 3/4;
    # from 97-1/8 + 9-1/4 + 3/4 + 1-1/2 = 108-5/8 up to the bottom of the box, 107-1/8 + 30 - 2 = 135-1/8: 26-1/2. In
    # all 86-5/8.
    plan = only(
        scene(
            storeys=loft(9.25),
            walls={
                "S": wall((0, 0), "east", 144, storey="ground"),
                "U": wall((0, 0), "east", 144, storey="loft", height='72"'),
            },
            floors={"F": floor("2x10", "depth")},
            boxes={"P": panel("S", 40, 48), "B": box("U", 40, 30)},
        )
    )
    assert cable(plan, "A.B").path_in == 44.125 + 0.75 + 3 + 9.25 + 0.75 + 1.5 + 0.75 + 26.5 == 86.625
    assert [h.member for h in holes(plan, "A.B")] == ["S-TP1", "U-SP1"]
    assert cable(plan, "A.B").floor == "between ground and loft"


# --- floors ----------------------------------------------------------------------------------------------------------


def test_along_a_joist_bay_a_cable_is_as_long_as_the_boxes_are_apart() -> None:
    plan = only(
        scene(
            storeys=loft(9.25),
            floors={"F": floor("2x10", "depth")},
            boxes={"P": {**ceiling("F", 56, 30), "kind": "panel"}, "B": ceiling("F", 56, 90)},
        )
    )
    assert cable(plan, "A.B").path_in == 60.0
    assert cable(plan, "A.B").bores == ()


def test_across_joists_the_holes_are_at_mid_depth() -> None:
    # 8 along the joist, 32 across the joists at 32 and 48, 8 back: 48. 2 + 3/8 from either edge of 9-1/4; the middle
    # is 4-5/8.
    plan = only(
        scene(
            storeys=loft(9.25),
            floors={"F": floor("2x10", "depth")},
            boxes={"P": {**ceiling("F", 24, 60), "kind": "panel"}, "B": ceiling("F", 56, 60)},
        )
    )
    assert cable(plan, "A.B").path_in == 48.0
    found = holes(plan, "A.B")
    assert [(h.member, h.across_in) for h in found] == [("F-J3", 4.625), ("F-J4", 4.625)]
    assert {(h.across_min_in, h.across_max_in) for h in found} == {(2.375, 6.875)}
    assert len({h.drill_pass for h in found}) == 1


def test_a_running_board_carries_a_cable_under_joists_that_may_not_be_bored() -> None:
    # 2x6 joists, underside at 96, mid-depth 98-3/4, and a board 3-1/2 x 3/4 under them along y = 60: its face is at
    # 95-1/4 and its edges at 58-1/4 and 61-3/4. From a box at y = 40: along the bay to 58-1/4 (18-1/4), down beside
    # the board (3-1/2), in to its middle (1-3/4), along it from 40 to 72 (32), and the same back: 2 x 23-1/2 + 32 =
    # 79.
    never = {f"F-CJ{n}": {"bore": "never", "because": "old and dry"} for n in range(1, 11)}
    plan = only(
        scene(
            floors={"F": low_ceiling()},
            members=never,
            boards={"RB": {"from": ['12"', '60"', '95.25"'], "to": ['132"', '60"', '95.25"']}},
            boxes={"P": {**ceiling("F", 40, 40), "kind": "panel"}, "B": ceiling("F", 72, 40)},
        )
    )
    assert cable(plan, "A.B").path_in == 79.0
    # On the board lie the 32, and at each end 1-3/4 over its face and 3/4 over its edge.
    assert cable(plan, "A.B").board_in == 32 + 2 * 2.5
    assert plan.bores == ()


# --- round a corner --------------------------------------------------------------------------------------------------


def test_round_a_framed_corner_two_holes_meet_and_the_length_goes_by_the_mid_depths() -> None:
    # The wall S runs through to x = 96; E butts against it, from y = 3-1/2, its mid-depth at 96 - 1-3/4 = 94-1/4. The
    # lining's nailer stands at 91-1/2 .. 93, the end stud at 94-1/2 .. 96: in the bay between, 1-1/2 wide, the hole
    # through E's first stud is in the middle, 93-3/4, 1-1/4 from the room.
    # 8 down, 17-3/4 along from 76, then from y = 1-3/4 to 24 (22-1/4), 1/2 over to E's mid-depth, 8 up: 56-1/2.
    plan = only(
        scene(
            walls={"S": wall((0, 0), "east", 96), "E": wall((96, 0), "north", 96)},
            boxes={"P": panel("S", 76, 48), "B": box("E", 24, 48)},
        )
    )
    assert cable(plan, "A.B").path_in == 8 + 17.75 + 22.25 + 0.5 + 8 == 56.5
    found = holes(plan, "A.B")
    assert len(found) == 4
    nailer, first = found[1], found[2]
    assert (nailer.pose, first.pose) == ("corner", "corner")
    assert (first.member, first.across_in) == ("E-S1", 1.25)
    assert all("room side" in h.nail_plates for h in (nailer, first))


# --- roofs and timbers -----------------------------------------------------------------------------------------------


def test_along_a_rafter_lengths_go_by_the_slope() -> None:
    # Places in a slope are measured along the eave and up the slope: 60 up the slope in one bay is 60 in of cable,
    # though the boxes of a 12/12 roof are only 42.4 apart on plan.
    roof = {
        "storey": "ground", "kind": "gable", "corner": [0, 0], "size": ["12'", "16'"], "pitch": "12/12",
        "plate": '97-1/8"', "rafters": {"section": "2x8", "every": '16"'},
    }  # fmt: skip
    size = ['4"', '4"', '1-1/2"']
    place = {"circuit": "A", "roof": "R-A", "size": size}
    boxes = {
        "P": {**place, "kind": "panel", "at": ['24"', '30"']},
        "B": {**place, "at": ['24"', '90"']},
    }
    plan = only(scene(roofs={"R": roof}, boxes=boxes))
    assert cable(plan, "A.B").path_in == pytest.approx(60.0)
    a, b = cable(plan, "A.B").points
    assert abs(b[2] - a[2]) == pytest.approx(60 / 2**0.5)


def test_on_the_side_of_a_girder_a_cable_runs_straight_along_it() -> None:
    # Boxes 4 in wide, centres 24 and 120 along: from 26 to 118, 92 in, no hole.
    girder = {"role": "girder", "from": [0, '60"', '91"'], "to": ['144"', '60"', '91"'], "section": '6" x 10"'}
    on = {"circuit": "A", "on": "G", "side": "north", "size": ['4"', '4"', '2"']}
    boxes = {"P": {**on, "kind": "panel", "along": '24"'}, "B": {**on, "along": '120"'}}
    plan = only(scene(timbers={"G": girder}, boxes=boxes))
    assert cable(plan, "A.B").path_in == 92.0
    assert plan.bores == ()


def test_from_a_dropped_girder_a_cable_climbs_over_its_edge_into_the_bay() -> None:
    # A girder 6 x 10 under 2x6 joists whose underside is at 96: its middle at 91, its north face at y = 63. From the
    # box at 24: out at 26, along to the bay of the light at 40 (14), up the face to 96 (5), on to the joists'
    # mid-depth (2-3/4), along the joists to the light at y = 90 (27): 48-3/4.
    girder = {"role": "girder", "from": [0, '60"', '91"'], "to": ['144"', '60"', '91"'], "section": '6" x 10"'}
    on = {"circuit": "A", "on": "G", "side": "north", "size": ['4"', '4"', '2"'], "along": '24"', "kind": "panel"}
    plan = only(
        scene(
            floors={"F": low_ceiling()},
            timbers={"G": girder},
            boxes={"P": on, "B": ceiling("F", 40, 90)},
        )
    )
    assert cable(plan, "A.B").path_in == 48.75
    assert plan.bores == ()

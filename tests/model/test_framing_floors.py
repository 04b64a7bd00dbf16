"""Floors against a pencil: near faces, holes, blocks, girders, other depths; and what holds for any heading."""

from __future__ import annotations

import math
from itertools import combinations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from barnloom.model.building import Member, Right, Role
from barnloom.model.framing.common import Context, Framed
from barnloom.model.framing.floors import frame_floor
from barnloom.model.scene.schema import FloorSaid, MemberSaid
from barnloom.model.vectors import dot, minus

FLOORS = {"GROUND": 0.0, "LOFT": 108.0}
Said = dict[str, object]


def context(**overrides: Said) -> Context:
    said = {name.replace("_", "-"): MemberSaid.model_validate(value) for name, value in overrides.items()}
    return Context(floors=FLOORS, walls={}, overrides=said)


def framed(said: Said, **overrides: Said) -> Framed:
    """The floor of a sail loft, 16 ft by 12 ft, 2x10 joists at 16 in, changed as said."""
    floor: Said = {"carries": "LOFT", "corner": [0, 0], "size": ["16'", "12'"], "subfloor": '3/4"'}
    joists: Said = {"section": "2x10", "run": "depth", "every": '16"'} | dict(said.get("joists", {}))  # type: ignore[call-overload]
    return frame_floor("LOFT", FloorSaid.model_validate(floor | said | {"joists": joists}), context(**overrides))


def members(result: Framed, role: Role | None = None) -> dict[str, Member]:
    assert not result.faults, [str(fault) for fault in result.faults]
    return {m.id: m for m in result.members if role is None or m.role is role}


def local(result: Framed, member: Member) -> tuple[tuple[float, float], tuple[float, float], tuple[float, float]]:
    """Spans of a member in its floor's (u, v, w)."""
    floor = result.assemblies[0]
    start = minus(member.origin, floor.origin)
    sizes = ((member.along, member.length_in), (member.bit, member.thickness_in), (member.across, member.depth_in))
    spans = []
    for axis in (floor.u, floor.v, floor.w):
        reach = [dot(way, axis) * size for way, size in sizes]
        low, high = sum(r for r in reach if r < 0), sum(r for r in reach if r > 0)
        spans.append((dot(start, axis) + low, dot(start, axis) + high))
    return spans[0], spans[1], spans[2]


def one_fault(result: Framed) -> str:
    assert len(result.faults) == 1, [str(fault) for fault in result.faults]
    assert result.members == ()
    return str(result.faults[0])


# --- joists and rims -------------------------------------------------------------------------------------------------


def test_a_16_ft_floor_at_16_in_has_13_joists_flush_at_both_edges() -> None:
    # Centres at 16, 32 ... 176 are near faces 15-1/4 ... 175-1/4; the last is flush: 192 - 1-1/2 = 190-1/2.
    result = framed({})
    nears = [local(result, joist)[0][0] for joist in members(result, Role.JOIST).values()]
    assert nears == pytest.approx([0.0, *(16 * n - 0.75 for n in range(1, 12)), 190.5])
    assert list(members(result, Role.JOIST)) == [f"LOFT-J{n}" for n in range(1, 14)]


def test_joists_end_inside_the_rims_and_the_rims_run_through() -> None:
    # 144 in deep, less two rims of 1-1/2 in: joists of 141 in.
    result = framed({})
    joist = members(result)["LOFT-J2"]
    assert (joist.length_in, joist.thickness_in, joist.depth_in) == (141.0, 1.5, 9.25)
    assert local(result, joist)[1] == pytest.approx((1.5, 142.5))
    near, far = members(result, Role.RIM).values()
    assert (near.id, local(result, near)) == ("LOFT-RM1", ((0.0, 192.0), (0.0, 1.5), (0.0, 9.25)))
    assert (far.id, local(result, far)) == ("LOFT-RM2", ((0.0, 192.0), (142.5, 144.0), (0.0, 9.25)))
    assert (near.bit, near.along, near.across) == ((0.0, 1.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))


@pytest.mark.parametrize(("rims", "run"), [("none", (0, 144)), ("near", (1.5, 144)), ("far", (0, 142.5))])
def test_without_a_rim_joists_reach_the_floors_edge(rims: str, run: tuple[float, float]) -> None:
    result = framed({"rims": rims})
    assert local(result, members(result)["LOFT-J2"])[1] == pytest.approx(run)
    assert set(members(result, Role.RIM)) == {"none": set(), "near": {"LOFT-RM1"}, "far": {"LOFT-RM2"}}[rims]


def test_the_joists_hang_under_the_subfloor_of_the_storey_they_carry() -> None:
    # 108 - 3/4 - 9-1/4 = 98.
    floor = framed({}).assemblies[0]
    assert (floor.origin, floor.depth_in, floor.skin_in) == ((0.0, 0.0, 98.0), 9.25, 0.75)
    assert (floor.kind, floor.storey, floor.title) == ("floor", "GROUND", "floor LOFT")


def test_a_ceiling_is_placed_by_its_underside_and_belongs_to_the_storey_it_covers() -> None:
    result = framed({"carries": None, "bottom": "17'", "ceiling": "yes", "subfloor": 0})
    assert result.assemblies[0].origin[2] == 204.0
    assert result.assemblies[0].storey == "LOFT"
    assert "LOFT-CJ13" in members(result, Role.CEILING_JOIST)


def test_the_floor_of_the_lowest_storey_belongs_to_it() -> None:
    assert framed({"carries": "GROUND"}).assemblies[0].storey == "GROUND"


def test_joists_along_the_width_are_counted_from_the_datum_corner_along_the_depth() -> None:
    # 12 ft of depth at 16 in: near faces 0, 15-1/4 ... 127-1/4, 142-1/2: ten joists, 192 - 3 = 189 in long.
    result = framed({"joists": {"run": "width"}})
    floor = result.assemblies[0]
    joists = list(members(result, Role.JOIST).values())
    assert (floor.u, floor.v, floor.extent_u, floor.extent_v) == ((0, 1, 0), (1, 0, 0), (0, 144), (0, 192))
    assert (len(joists), joists[1].origin, joists[1].length_in) == (10, (1.5, 15.25, 98.0), 189.0)
    assert joists[1].along_from == "west end"


@pytest.mark.parametrize(
    ("heading", "run", "end"),
    [
        ("east", "depth", "south end"),
        ("north", "depth", "east end"),
        ("west", "width", "east end"),
        (30, "depth", None),
    ],
)
def test_ends_are_named_by_the_compass_where_it_fits(heading: str | float, run: str, end: str | None) -> None:
    joist = members(framed({"heading": heading, "joists": {"run": run}}))["LOFT-J1"]
    assert (joist.along_from, joist.across_from) == (end or "datum end", "bottom edge")


def test_joists_bear_on_3_and_a_half_in_of_plate_unless_said() -> None:
    # Plates cover v 0 to 3-1/2 and 140-1/2 to 144; the joist begins at 1-1/2 and is 141 long.
    joist = members(framed({}))["LOFT-J3"]
    assert joist.bearings == ((0.0, 2.0), (139.0, 141.0))
    said: Said = {"bearings": [{"at": 0, "width": '5-1/2"'}, {"at": "6'", "width": '3"'}]}
    assert members(framed(said))["LOFT-J3"].bearings == ((0.0, 4.0), (70.5, 73.5))


# --- holes -----------------------------------------------------------------------------------------------------------

STAIR: Said = {"STAIR": {"at": ["5'", "2'"], "size": ["3'", "8'"]}}


def test_a_stair_hole_has_doubled_trimmers_and_headers_just_outside() -> None:
    # Hole u 60 to 96, v 24 to 120. Trimmers 57-60 and 96-99; headers 21-24 and 120-123.
    # Joists: J5 63-1/4 and J6 79-1/4 are cut; J7 95-1/4 to 96-3/4 gives way to the trimmer at 96; J4 47-1/4 stays.
    result = framed({"openings": STAIR})
    trimmers = {name: local(result, m)[:2] for name, m in members(result, Role.TRIMMER).items()}
    assert trimmers == {"LOFT-T4a": ((57, 60), (1.5, 142.5)), "LOFT-T7": ((96, 99), (1.5, 142.5))}
    headers = {name: local(result, m)[:2] for name, m in members(result, Role.HEADER).items()}
    assert headers == {"LOFT-H4a": ((60, 96), (21, 24)), "LOFT-H4b": ((60, 96), (120, 123))}
    assert all(len(m.plies) == 2 for m in members(result).values() if m.role in (Role.TRIMMER, Role.HEADER))
    void = result.assemblies[0].voids[0]
    assert (void.id, void.u, void.v) == ("STAIR", (60, 96), (24, 120))
    assert "LOFT-J7" not in members(result)


def test_joists_cut_by_a_hole_are_two_pieces_the_one_at_the_datum_end_keeping_the_id() -> None:
    result = framed({"openings": STAIR})
    near, far = members(result)["LOFT-J5"], members(result)["LOFT-J5-2"]
    assert local(result, near)[:2] == ((63.25, 64.75), (1.5, 21.0))
    assert local(result, far)[:2] == ((63.25, 64.75), (123.0, 142.5))
    assert (near.bearings, far.bearings) == (((0.0, 2.0),), ((17.5, 19.5),))


def test_the_same_hole_with_joists_the_other_way_is_given_as_width_and_depth_still() -> None:
    result = framed({"openings": STAIR, "joists": {"run": "width"}})
    void = result.assemblies[0].voids[0]
    assert (void.u, void.v) == ((24, 120), (60, 96))


def test_a_hole_against_the_rim_has_one_header_and_no_tail_there() -> None:
    # v from 1-1/2 (inside of the rim) to 97-1/2.
    result = framed({"openings": {"STAIR": {"at": ["5'", '1-1/2"'], "size": ["3'", "8'"]}}})
    assert [local(result, m)[1] for m in members(result, Role.HEADER).values()] == [(97.5, 100.5)]
    assert local(result, members(result)["LOFT-J5"])[1] == (100.5, 142.5)
    assert "LOFT-J5-2" not in members(result)


def test_a_hole_beside_the_end_joist_has_that_joist_for_a_trimmer() -> None:
    result = framed({"openings": {"STAIR": {"at": ['1-1/2"', "2'"], "size": ["3'", "8'"]}}})
    end = members(result)["LOFT-T1"]
    assert (local(result, end)[0], len(end.plies)) == ((0.0, 1.5), 1)
    assert "LOFT-J1" not in members(result)


def test_two_holes_in_line_share_their_trimmers() -> None:
    # Second hole v 126 + ... needs its header clear: hole 1 ends at 60 (header to 63), hole 2 begins at 66 (from 63).
    holes: Said = {
        "STAIR": {"at": ["5'", "2'"], "size": ["3'", "3'"]},
        "HATCH": {"at": ["5'", '66"'], "size": ["3'", "3'"]},
    }
    result = framed({"openings": holes})
    assert list(members(result, Role.TRIMMER)) == ["LOFT-T4a", "LOFT-T7"]
    spans = [local(result, members(result)[name])[1] for name in ("LOFT-J5", "LOFT-J5-2")]
    assert spans == [(1.5, 21.0), (105.0, 142.5)]
    assert sorted(members(result, Role.HEADER)) == ["LOFT-H4a", "LOFT-H4b", "LOFT-H4c", "LOFT-H4d"]


@pytest.mark.parametrize(
    ("hole", "found"),
    [
        ({"at": ["14'", "2'"], "size": ["3'", "8'"]}, "of the floor's width"),
        ({"at": ["5'", "6'"], "size": ["3'", "8'"]}, "of the floor's depth"),
        ({"at": ['2"', "2'"], "size": ["3'", "8'"]}, 'found 2" between its side nearer to the datum corner'),
        ({"at": ["5'", '4"'], "size": ["3'", "8'"]}, 'found 2-1/2" between its side nearer'),
        ({"at": ["5'", 0], "size": ["3'", "8'"]}, 'found -1-1/2" between its side nearer'),
    ],
)
def test_a_hole_that_does_not_fit_its_floor_is_a_fault(hole: Said, found: str) -> None:
    assert found in one_fault(framed({"openings": {"STAIR": hole}}))


@pytest.mark.parametrize(
    ("second", "why"),
    [
        ({"at": ["6'", "4'"], "size": ["3'", "4'"]}, "overlaps STAIR"),
        ({"at": ["5'", '121"'], "size": ["3'", '12"']}, "overlaps STAIR"),
        ({"at": ['98"', "2'"], "size": ["3'", "4'"]}, "trimmers in the way of those of STAIR"),
    ],
)
def test_holes_that_overlap_or_crowd_each_other_are_a_fault(second: Said, why: str) -> None:
    assert why in one_fault(framed({"openings": STAIR | {"HATCH": second}}))


# --- girders, blocks, depths -----------------------------------------------------------------------------------------


def test_a_flush_girder_parts_every_joist() -> None:
    # A girder 5-1/2 in wide at 6 ft: joists 1-1/2 to 72 and 77-1/2 to 142-1/2.
    result = framed({"girders": [{"at": "6'", "width": '5-1/2"'}]})
    assert local(result, members(result)["LOFT-J4"])[1] == (1.5, 72.0)
    assert local(result, members(result)["LOFT-J4-2"])[1] == (77.5, 142.5)
    assert len(members(result, Role.JOIST)) == 26


def test_a_flush_girder_may_be_the_line_between_two_floors() -> None:
    near = framed({"size": ["16'", "6'"], "rims": "near"})
    far = framed({"size": ["16'", '66-1/2"'], "corner": [0, '77-1/2"'], "rims": "far"})
    ends = members(near)["LOFT-J4"], members(far)["LOFT-J4"]
    assert ends[0].origin[1] + ends[0].length_in == 72.0
    assert ends[1].origin[1] == 77.5


def test_a_hole_may_end_at_a_flush_girder_but_not_cross_it() -> None:
    girder = [{"at": "6'", "width": '5-1/2"'}]
    hole: Said = {"at": ["5'", '77-1/2"'], "size": ["3'", "4'"]}
    result = framed({"girders": girder, "openings": {"STAIR": hole}})
    assert [local(result, m)[1] for m in members(result, Role.HEADER).values()] == [(125.5, 128.5)]
    assert "across a flush girder" in one_fault(framed({"girders": girder, "openings": STAIR}))


def test_blocks_fill_every_bay_but_the_hole() -> None:
    # Bays of 14-1/2 in; the first from 1-1/2 to 15-1/4; between J4 (to 48-3/4) and the trimmer at 57: 8-1/4.
    result = framed({"openings": STAIR, "blocking": [{"at": "6'"}]})
    blocks = members(result, Role.BLOCK)
    assert list(blocks) == [f"LOFT-B{n}" for n in (1, 2, 3, 4, 7, 8, 9, 10, 11, 12)]
    assert [blocks[f"LOFT-B{n}"].length_in for n in (1, 2, 4)] == [13.75, 14.5, 8.25]
    assert local(result, blocks["LOFT-B2"]) == ((16.75, 31.25), (71.25, 72.75), (0.0, 9.25))


def test_a_second_row_of_blocks_leaves_the_ids_of_the_first_alone() -> None:
    one = members(framed({"blocking": [{"at": "4'"}]}), Role.BLOCK)
    two = members(framed({"blocking": [{"at": "4'"}, {"at": "8'", "between": ["4'", "8'"]}]}), Role.BLOCK)
    assert {name: two[name] for name in one} == one
    assert set(two) - set(one) == {"LOFT-B4-2", "LOFT-B5-2", "LOFT-B6-2"}


def test_blocks_reach_from_pack_to_pack_where_joists_are_doubled_or_moved() -> None:
    said: Said = {"blocking": [{"at": "4'"}]}
    blocks = members(framed(said, LOFT_J3={"plies": 2}, LOFT_J5={"at": '61"'}), Role.BLOCK)
    assert blocks["LOFT-B3"].length_in == pytest.approx(47.25 - (31.25 + 3.0))
    assert blocks["LOFT-B4"].length_in == pytest.approx(61.0 - 48.75)


@pytest.mark.parametrize(
    ("row", "found"),
    [({"at": '22"'}, "clear of the headers of STAIR"), ({"at": '1"'}, "where the joists go")],
)
def test_blocks_in_a_header_or_outside_the_joists_are_a_fault(row: Said, found: str) -> None:
    result = framed({"openings": STAIR, "blocking": [row]})
    assert [found in str(fault) for fault in result.faults] == [True]


def test_a_deeper_joist_keeps_its_top_under_a_subfloor_and_its_bottom_in_a_ceiling() -> None:
    # 2x12 is 11-1/4 deep: 2 in more than 2x10.
    floor = framed({}, LOFT_J3={"section": "2x12"})
    assert local(floor, members(floor)["LOFT-J3"])[2] == (-2.0, 9.25)
    ceiling = framed({"carries": None, "bottom": "8'", "ceiling": "yes"}, LOFT_CJ3={"section": "2x12"})
    assert local(ceiling, members(ceiling)["LOFT-CJ3"])[2] == (0.0, 11.25)


def test_a_rim_and_a_block_of_another_depth_are_flush_with_the_subfloor() -> None:
    result = framed({"rim_section": '1-1/4" x 11-1/4"', "blocking": [{"at": "6'", "section": "2x6"}]})
    assert local(result, members(result)["LOFT-RM1"])[1:] == ((0.0, 1.25), (-2.0, 9.25))
    assert local(result, members(result)["LOFT-B2"])[2] == (3.75, 9.25)


def test_a_sistered_ply_may_say_its_own_bottom() -> None:
    plies = [{}, {"section": "2x8", "bottom": '1"'}]
    result = framed({}, LOFT_J3={"plies": plies})
    joist = members(result)["LOFT-J3"]
    assert (joist.thickness_in, [ply.across for ply in joist.plies]) == (3.0, [(0.0, 9.25), (1.0, 8.25)])


def test_a_moved_joist_is_cut_where_it_now_stands() -> None:
    # J4 moved from 47-1/4 to 70 is in the hole; J6 moved from 79-1/4 to 104 is out of it.
    result = framed({"openings": STAIR}, LOFT_J4={"at": '70"'}, LOFT_J6={"centre": '104-3/4"'})
    found = members(result)
    assert local(result, found["LOFT-J4"])[:2] == ((70.0, 71.5), (1.5, 21.0))
    assert local(result, found["LOFT-J4-2"])[:2] == ((70.0, 71.5), (123.0, 142.5))
    assert local(result, found["LOFT-J6"])[:2] == ((104.0, 105.5), (1.5, 142.5))
    assert "LOFT-J6-2" not in found


def test_a_missing_joist_leaves_a_gap_in_the_numbers_and_an_added_one_a_letter() -> None:
    found = members(framed({"joists": {"extra": ['20"']}}, LOFT_J5={"missing": True}), Role.JOIST)
    assert "LOFT-J5" not in found
    assert list(found)[:4] == ["LOFT-J1", "LOFT-J2", "LOFT-J2a", "LOFT-J3"]


def test_a_hole_elsewhere_renames_no_joist() -> None:
    plain, holed = members(framed({})), members(framed({"openings": STAIR}))
    kept = set(plain) & set(holed)
    assert {"LOFT-J4", "LOFT-J8", "LOFT-J13"} <= kept
    assert all(plain[name].origin == holed[name].origin for name in kept)


# --- rights ----------------------------------------------------------------------------------------------------------


def test_engineered_members_are_bored_only_by_their_makers_data() -> None:
    maker = {"diameter_max": '1"', "edge_min": '1/2"', "spacing_min": '2"', "end_min": '6"', "source": "data sheet"}
    found = members(framed({"joists": {"engineered": "yes"}}, LOFT_J3={"maker": maker}))
    assert (found["LOFT-J2"].bore, found["LOFT-J2"].reason) == (Right.MAKER, "engineered: only by its maker's data")
    assert (found["LOFT-J2"].maker, found["LOFT-RM1"].bore) == (None, Right.MAKER)
    assert found["LOFT-J3"].bore is Right.MAKER
    assert found["LOFT-J3"].maker is not None


def test_an_engineered_member_never_becomes_free_by_being_measured() -> None:
    said = {"joists": {"engineered": "yes", "section": "not measured"}}
    found = members(framed(said, LOFT_J3={"section": "2x8"}))
    assert (found["LOFT-J2"].bore, found["LOFT-J2"].unmeasured) == (Right.MAKER, ("section",))
    assert (found["LOFT-J3"].bore, found["LOFT-J3"].unmeasured) == (Right.MAKER, ())


def test_joists_not_measured_stand_there_but_may_not_be_bored() -> None:
    joist = members(framed({"joists": {"section": "not measured"}}))["LOFT-J3"]
    assert (joist.bore, joist.unmeasured, joist.depth_in) == (Right.UNKNOWN, ("section",), 7.25)


# --- slips -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ({"carries": None}, "neither carries nor bottom"),
        ({"bottom": "8'"}, "both carries and bottom"),
        ({"joists": {"every": None, "at": [0, "20'"]}}, "a member from 20' 0\""),
        ({"joists": {"every": '3"', "section": "4x10"}}, "more than a member's own"),
        ({"joists": {"at": [0]}}, "every and at"),
        ({"joists": {"extra": ["17'"]}}, "a member from 17' 0\""),
        ({"size": ["16'", '6"'], "rim_section": "4x10"}, "room for a joist between the rims"),
        ({"girders": [{"at": "12'", "width": '5"'}]}, "girders/0"),
        ({"bearings": [{"at": 0, "width": '5"'}, {"at": "12'", "width": '5"'}]}, "bearings/1"),
    ],
)
def test_what_cannot_be_is_named(said: Said, found: str) -> None:
    assert found in one_fault(framed(said))


def test_a_joist_moved_out_of_its_floor_is_a_fault() -> None:
    faults = framed({}, LOFT_J3={"at": "17'"}).faults
    assert [fault.where for fault in faults] == [("members", "LOFT-J3", "at")]


def test_an_unknown_storey_is_left_to_the_look_up_of_names() -> None:
    assert framed({"carries": "ATTIC"}) == Framed()


# --- any floor -------------------------------------------------------------------------------------------------------

INCHES = st.integers(0, 60).map(lambda n: n / 4)


@st.composite
def floors(draw: st.DrawFn) -> Said:
    """Floors of any size and spacing, with a stair hole that fits."""
    width, depth = draw(st.integers(120, 300)), draw(st.integers(120, 300))
    hole = {
        "at": [f'{4.5 + draw(INCHES)}"', f'{4.5 + draw(INCHES)}"'],
        "size": [f'{draw(st.integers(20, 80))}"', f'{draw(st.integers(20, 80))}"'],
        "trimmers": draw(st.integers(1, 2)),
        "headers": draw(st.integers(1, 2)),
    }
    return {
        "size": [f'{width}"', f'{depth}"'],
        "joists": {"every": f'{draw(st.integers(9, 24))}"', "run": draw(st.sampled_from(["width", "depth"]))},
        "rims": draw(st.sampled_from(["both", "none", "near", "far"])),
        "openings": draw(st.sampled_from([{}, {"STAIR": hole}])),
        "blocking": draw(st.sampled_from([[], [{"at": f'{depth / 2}"', "between": [0, '20"']}]])),
    }


@settings(max_examples=60, deadline=None)
@given(floors())
def test_no_two_members_of_a_floor_overlap_and_none_leaves_it(said: Said) -> None:
    result = framed(said)
    if result.faults:  # a row of blocks may happen on a header, or beyond joists that run the other way
        assert all("blocking" in fault.where for fault in result.faults)
        return
    spans = [local(result, member) for member in result.members]
    floor = result.assemblies[0]
    box = (floor.extent_u, floor.extent_v, (0.0, floor.depth_in))
    for lie in spans:
        assert all(low[0] - 1e-9 <= span[0] < span[1] <= low[1] + 1e-9 for span, low in zip(lie, box, strict=True))
    for a, b in combinations(spans, 2):
        laps = [min(p[1], q[1]) - max(p[0], q[0]) for p, q in zip(a, b, strict=True)]
        assert min(laps) <= 1e-9
    voids = [(void.u, void.v) for void in floor.voids]
    for a in spans:
        for void in voids:
            assert min(min(p[1], q[1]) - max(p[0], q[0]) for p, q in zip(a[:2], void, strict=True)) <= 1e-9


MIDDLE_AT_THE_END: Said = {
    "size": ['120"', '120"'],
    "joists": {"every": '12"', "run": "depth"},
    "openings": {"STAIR": {"at": ['16.75"', '4.5"'], "size": ['20"', '20"'], "trimmers": 1, "headers": 1}},
    "blocking": [{"at": '60"', "between": [0, '20"']}],
}
"""The middle of its second bay is where the row of blocks ends."""


@example(MIDDLE_AT_THE_END, 1.0, (17, 0))
@settings(max_examples=40, deadline=None)
@given(floors(), st.floats(-360, 360), st.tuples(st.integers(-900, 900), st.integers(-900, 900)))
def test_turning_and_shifting_a_floor_changes_nothing_in_its_own_axes(
    said: Said, heading: float, corner: tuple[int, int]
) -> None:
    plain = framed(dict(said))
    turned = framed(said | {"heading": heading, "corner": [f'{corner[0]}"', f'{corner[1]}"']})
    assert [fault.where for fault in plain.faults] == [fault.where for fault in turned.faults]
    assert [member.id for member in plain.members] == [member.id for member in turned.members]
    for a, b in zip(plain.members, turned.members, strict=True):
        assert [c for span in local(plain, a) for c in span] == pytest.approx(
            [c for span in local(turned, b) for c in span], abs=1e-6
        )
        axes = (b.along, b.bit, b.across)
        for p, q in combinations(range(3), 2):
            assert math.isclose(dot(axes[p], axes[q]), 0.0, abs_tol=1e-9)
        assert all(math.isclose(dot(axis, axis), 1.0, abs_tol=1e-9) for axis in axes)
        assert (b.length_in, b.thickness_in, b.depth_in) == pytest.approx((a.length_in, a.thickness_in, a.depth_in))

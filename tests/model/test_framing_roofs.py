"""Roofs against Pythagoras: rafter lengths, seats, ridges, ties; and what holds for any roof."""

from __future__ import annotations

import math
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barnloom.model.building import Assembly, Member, Right, Role, Vec
from barnloom.model.framing.common import Context, Framed, far_corner
from barnloom.model.framing.roofs import SEAT_IN, frame_roof, underside_in
from barnloom.model.scene.schema import MemberSaid, RoofSaid
from barnloom.model.vectors import dot, minus, moved

Said = dict[str, object]
ROOT_208 = math.hypot(12, 8)  # 14.4222: how long 12 along and 8 up is


def said_roof(said: Said) -> RoofSaid:
    """A gable roof over 16 ft by 24 ft, ridge along the width, 8/12, plates at 200 in, 2x8 rafters at 24 in."""
    rafters: Said = {"section": "2x8", "every": '24"'} | dict(said.get("rafters", {}))  # type: ignore[call-overload]
    roof: Said = {"storey": "LOFT", "kind": "gable", "corner": [0, 0], "size": ["16'", "24'"], "plate": '200"'}
    return RoofSaid.model_validate(roof | {"pitch": "8/12"} | said | {"rafters": rafters})


def framed(said: Said, **overrides: Said) -> Framed:
    context = Context(
        floors={"GROUND": 0.0, "LOFT": 108.0},
        walls={},
        overrides={name.replace("_", "-"): MemberSaid.model_validate(value) for name, value in overrides.items()},
    )
    return frame_roof("ROOF", said_roof(said), context)


def members(result: Framed, role: Role | None = None) -> dict[str, Member]:
    assert not result.faults, [str(fault) for fault in result.faults]
    return {m.id: m for m in result.members if role is None or m.role is role}


def slope(result: Framed, name: str) -> Assembly:
    return next(assembly for assembly in result.assemblies if assembly.id == name)


def one_fault(result: Framed) -> str:
    assert len(result.faults) == 1, [str(fault) for fault in result.faults]
    return str(result.faults[0])


# --- rafters ---------------------------------------------------------------------------------------------------------


def test_a_rafter_without_ridge_is_as_long_as_pythagoras_says() -> None:
    # Run 12 ft at 8/12: 12 x 14.4222 = 173.07 in from the plates' outside to the middle.
    rafter = members(framed({}))["ROOF-A-R1"]
    assert rafter.length_in == pytest.approx(12 * ROOT_208)
    assert rafter.length_in == pytest.approx(173.07, abs=0.01)


def test_a_rafter_ends_at_the_ridges_face_and_its_tail_past_the_plates() -> None:
    # Run 144 - 3/4 = 143-1/4 in, and 12 in of overhang measured level: (143-1/4 + 12) x 14.4222 / 12 = 186.59.
    rafter = members(framed({"ridge_section": "2x10", "overhang": '12"'}))["ROOF-A-R1"]
    assert rafter.length_in == pytest.approx(155.25 * ROOT_208 / 12)
    assert rafter.origin[:2] == pytest.approx((0.0, -12.0))


def test_the_seat_is_as_wide_as_a_plate_and_the_underside_meets_its_inner_edge() -> None:
    # Underside: level 200 at 3-1/2 in from the outside; plumb under the outside 3-1/2 x 8/12 = 2-1/3 lower.
    result = framed({"overhang": '12"'})
    a = slope(result, "ROOF-A")
    assert a.origin == pytest.approx((0.0, 0.0, 200 - 7 / 3))
    up_to_inner_edge = 3.5 * ROOT_208 / 12
    assert moved(a.origin, (a.v, up_to_inner_edge)) == pytest.approx((0.0, 3.5, 200.0))
    # The wood over the plate's outside, plumb: 7-1/4 x 14.4222/12 - 2-1/3 = 6.38 in.
    rafter = members(result)["ROOF-A-R1"]
    top_over_outside = moved(a.origin, (a.w, rafter.depth_in), (a.v, rafter.depth_in * 8 / 12))
    assert top_over_outside == pytest.approx((0.0, 0.0, 200 + 6.380), abs=1e-3)


def test_holes_keep_off_the_birdsmouth_and_it_is_no_fault_of_anyones() -> None:
    # Seat: 3-1/2 level is 4.2065 along; square to the rafter 3-1/2 x 8/14.4222 = 1.9415 deep. Tail 12 x 14.4222/12.
    rafter = members(framed({"overhang": '12"'}))["ROOF-A-R1"]
    (seat,) = rafter.notches
    assert (seat.edge, seat.seat) == ("low", True)
    assert seat.along == pytest.approx((ROOT_208, ROOT_208 + 4.2065), abs=1e-3)
    assert seat.depth_in == pytest.approx(1.9415, abs=1e-4)
    (bearing,) = rafter.bearings
    assert bearing == pytest.approx(seat.along)


def test_a_plumb_tail_over_the_plates_is_kept_off_too() -> None:
    # Without overhang the plumb cut rises 7-1/4 x 8/12 = 4-5/6 in along the top.
    low, high = members(framed({}))["ROOF-A-R1"].notches
    assert (low.edge, high.edge, high.depth_in) == ("low", "high", 3.625)
    assert high.along == pytest.approx((0.0, 29 / 6))


def test_rafters_stand_flush_with_both_ends_and_in_pairs() -> None:
    # 192 in at 24: near faces 0, 23-1/4 ... 167-1/4, 190-1/2.
    result = framed({})
    for name in ("ROOF-A", "ROOF-B"):
        own = [m for m in members(result, Role.RAFTER).values() if m.assembly == name]
        assert [m.origin[0] for m in own] == pytest.approx([0.0, *(24 * n - 0.75 for n in range(1, 8)), 190.5])
        assert [m.id for m in own] == [f"{name}-R{n}" for n in range(1, 10)]
        assert {(m.along_from, m.across_from) for m in own} == {("lower end", "bottom edge")}


def test_the_slopes_are_named_by_the_way_they_look() -> None:
    result = framed({})
    assert [(a.id, a.title, a.storey) for a in result.assemblies] == [
        ("ROOF-A", "roof ROOF, south slope", "LOFT"),
        ("ROOF-B", "roof ROOF, north slope", "LOFT"),
    ]
    assert [a.title for a in framed({"ridge": "depth", "title": "Hall"}).assemblies] == [
        "Hall, west slope",
        "Hall, east slope",
    ]
    assert framed({"heading": 20}).assemblies[0].title == "roof ROOF, slope A"


def test_a_slope_is_a_slab_over_the_plates_only() -> None:
    a = slope(framed({"ridge_section": "2x10", "overhang": '12"'}), "ROOF-A")
    assert a.extent_v == pytest.approx((0.0, 143.25 * ROOT_208 / 12))
    assert (a.extent_u, a.depth_in) == ((0.0, 192.0), 7.25)


def test_a_deeper_rafter_keeps_its_top_and_its_seat_goes_deeper() -> None:
    # 2x10 is 2 in deeper than 2x8.
    result = framed({"overhang": '12"'}, ROOF_A_R2={"section": "2x10"})
    plain, deep = members(result)["ROOF-A-R1"], members(result)["ROOF-A-R2"]
    w = slope(result, "ROOF-A").w
    assert dot(minus(far_corner(deep), far_corner(plain)), w) == pytest.approx(0.0)
    assert deep.notches[0].depth_in == pytest.approx(plain.notches[0].depth_in + 2.0)


def test_a_rafter_cut_short_keeps_its_seat_where_the_plate_is() -> None:
    result = framed({"overhang": '12"'}, ROOF_A_R2={"start": '6"'})
    plain, short = members(result)["ROOF-A-R1"], members(result)["ROOF-A-R2"]
    assert short.notches[0].along == pytest.approx(tuple(place - 6 for place in plain.notches[0].along))


# --- ridge and ties --------------------------------------------------------------------------------------------------


def test_the_ridge_stands_plumb_in_the_middle_level_with_the_rafters_tops() -> None:
    # At the ridge's face, 143-1/4 in: (143-1/4 - 3-1/2) x 8/12 = 93-1/6; + 7-1/4 x 14.4222/12 = 8.7134: 101.880 up.
    result = framed({"ridge_section": "2x10"})
    ridge = members(result)["ROOF-RG1"]
    assert ridge.origin == pytest.approx((0.0, 143.25, 200 + 101.880 - 9.25), abs=1e-3)
    assert far_corner(ridge) == pytest.approx((192.0, 144.75, 301.880), abs=1e-3)
    assert (ridge.assembly, ridge.bore, ridge.across) == ("ROOF-RG1", Right.NEVER, (0.0, 0.0, 1.0))


def test_rafters_touch_the_ridge_and_do_not_enter_it() -> None:
    result = framed({"ridge_section": "2x10"})
    for name, face in (("ROOF-A-R3", 143.25), ("ROOF-B-R3", 144.75)):
        rafter = members(result)[name]
        ys = [
            moved(rafter.origin, (rafter.along, a), (rafter.across, w))[1]
            for a in (0, rafter.length_in)
            for w in (0, rafter.depth_in)
        ]
        nearest = max(ys) if face < 144 else min(ys)
        assert nearest == pytest.approx(face)


def test_collar_ties_lie_beside_every_nth_pair_with_their_tops_cut_to_the_roof() -> None:
    # Underside 40 in over the plates, 5-1/2 deep: top at 45-1/2. The rafters' top is there at
    # 3-1/2 + (45-1/2 - 8.7134) x 12/8 = 58.680 in from either side; 288 - 2 x 58.680 = 170.640 long.
    ties = members(framed({"collar_ties": {"section": "1x6", "height": '40"', "each": 2}}), Role.COLLAR_TIE)
    assert list(ties) == [f"ROOF-CT{n}" for n in (3, 5, 7)]
    third = ties["ROOF-CT3"]
    assert third.origin == pytest.approx((47.25 + 1.5, 58.680, 240.0), abs=1e-3)
    assert third.length_in == pytest.approx(170.640, abs=1e-3)
    assert (third.thickness_in, third.depth_in) == (0.75, 5.5)
    assert (third.along, third.bit, third.bore) == ((0.0, 1.0, 0.0), (1.0, 0.0, 0.0), Right.NEVER)


def test_the_pairs_over_the_gable_walls_have_no_tie() -> None:
    ties = members(framed({"collar_ties": {"section": "1x6", "height": '40"'}}), Role.COLLAR_TIE)
    assert list(ties) == [f"ROOF-CT{n}" for n in range(2, 9)]


def test_a_tie_on_the_plates_reaches_to_their_outside() -> None:
    # Top at 5-1/2 is under the rafters' top over the outside (6.38): nothing to cut.
    tie = members(framed({"collar_ties": {"section": "2x6", "height": 0}}))["ROOF-CT2"]
    assert tie.length_in == 288.0


def test_a_tie_follows_its_rafter() -> None:
    said: Said = {"collar_ties": {"section": "1x6", "height": '40"'}}
    ties = members(framed(said, ROOF_A_R2={"at": '30"'}), Role.COLLAR_TIE)
    assert ties["ROOF-CT2"].origin[0] == 31.5
    assert "ROOF-CT2" not in members(framed(said, ROOF_A_R2={"missing": True}, ROOF_B_R2={"missing": True}))


# --- sheds -----------------------------------------------------------------------------------------------------------


def test_a_shed_has_one_slope_that_sits_on_two_plates() -> None:
    # 10 ft wide at 3/12: seat at 0 to 3-1/2, and at 116-1/2 to 120 where the plates are (120 - 3-1/2) x 3/12 higher.
    result = framed({"kind": "shed", "size": ["16'", "10'"], "pitch": "3/12", "overhang": '6"'})
    rafter = members(result)["ROOF-A-R1"]
    slant = math.hypot(12, 3) / 12
    assert [a.id for a in result.assemblies] == ["ROOF-A"]
    assert rafter.length_in == pytest.approx(132 * slant)
    assert rafter.bearings[1] == pytest.approx(((116.5 + 6) * slant, (120 + 6) * slant))
    assert len(rafter.notches) == 2
    assert slope(result, "ROOF-A").extent_v == pytest.approx((0.0, 120 * slant))
    high_plate = moved(slope(result, "ROOF-A").origin, (rafter.along, 120 * slant))
    assert high_plate[2] == pytest.approx(200 + 116.5 * 3 / 12)


@pytest.mark.parametrize(
    ("ridge", "high", "origin", "up"),
    [
        ("width", "left", (0.0, 0.0), (0.0, 1.0)),
        ("width", "right", (0.0, 288.0), (0.0, -1.0)),
        ("depth", "left", (192.0, 0.0), (-1.0, 0.0)),
        ("depth", "right", (0.0, 0.0), (1.0, 0.0)),
    ],
)
def test_a_sheds_high_side_is_seen_along_its_ridge(
    ridge: str, high: str, origin: tuple[float, float], up: tuple[float, float]
) -> None:
    a = framed({"kind": "shed", "ridge": ridge, "high": high, "pitch": "3/12"}).assemblies[0]
    level = math.hypot(a.v[0], a.v[1])
    assert a.origin[:2] == origin
    assert (a.v[0] / level, a.v[1] / level) == pytest.approx(up)
    assert a.v[2] > 0


def test_a_sheds_ridge_lies_inside_its_high_edge() -> None:
    result = framed({"kind": "shed", "ridge_section": "2x10", "pitch": "3/12"})
    ridge = members(result)["ROOF-RG1"]
    assert ridge.origin[1] == 286.5
    assert members(result)["ROOF-A-R1"].length_in == pytest.approx(286.5 * math.hypot(12, 3) / 12)


def test_a_gable_walls_top_is_the_rafters_underside() -> None:
    # Under the ridge: 200 + (144 - 3-1/2) x 8/12 = 293-2/3.
    said = said_roof({})
    assert underside_in(said, SEAT_IN) == 200.0
    assert underside_in(said, 144.0) == pytest.approx(293 + 2 / 3)


# --- slips -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ({"pitch": "25/12"}, "at most 24/12"),
        ({"size": ["16'", '7"']}, "room for rafters"),
        ({"pitch": "24/12", "rafters": {"section": '2" x 3"'}}, 'for a seat 3-1/2" wide'),
        ({"rafters": {"every": None, "centres": ['3/4"', "20'"]}}, "a member from 19' 11-1/4\""),
        ({"rafters": {"extra": ["17'"]}}, "a member from 17' 0\""),
        ({"collar_ties": {"section": "1x6", "height": "8'"}}, "under the ridge"),
        ({"kind": "shed", "collar_ties": {"section": "1x6", "height": "2'"}}, "ties in a shed"),
    ],
)
def test_what_cannot_be_is_named(said: Said, found: str) -> None:
    assert found in one_fault(framed(said))


def test_a_rafter_moved_out_of_its_roof_is_a_fault() -> None:
    faults = framed({}, ROOF_B_R3={"at": "17'"}).faults
    assert [fault.where for fault in faults] == [("members", "ROOF-B-R3", "at")]


# --- any roof --------------------------------------------------------------------------------------------------------


@st.composite
def roofs(draw: st.DrawFn) -> Said:
    ridge = draw(st.sampled_from([None, "2x10", "4x12"]))
    return {
        "kind": draw(st.sampled_from(["gable", "shed"])),
        "size": [f'{draw(st.integers(100, 400))}"', f'{draw(st.integers(100, 400))}"'],
        "pitch": f"{draw(st.integers(2, 16))}/12",
        "overhang": f'{draw(st.integers(0, 24))}"',
        "ridge": draw(st.sampled_from(["width", "depth"])),
        "high": draw(st.sampled_from(["left", "right"])),
        "rafters": {"every": f'{draw(st.integers(12, 32))}"', "section": draw(st.sampled_from(["2x8", "2x12"]))},
        "ridge_section": ridge,
    }


def corners(member: Member) -> list[Vec]:
    sizes = ((member.along, member.length_in), (member.bit, member.thickness_in), (member.across, member.depth_in))
    ways = [(axis, far) for axis, far in sizes]
    return [
        moved(member.origin, *((axis, far * bit) for (axis, far), bit in zip(ways, bits, strict=True)))
        for bits in [(i & 1, i >> 1 & 1, i >> 2) for i in range(8)]
    ]


@settings(max_examples=60, deadline=None)
@given(roofs())
def test_in_any_roof_the_rafters_underside_runs_from_the_plates_to_the_ridge(said: Said) -> None:
    result = framed(said)
    roof = said_roof(said)
    rise = float(roof.pitch.split("/")[0]) / 12
    for rafter in members(result, Role.RAFTER).values():
        own = slope(result, rafter.assembly)
        upper = moved(rafter.origin, (rafter.along, rafter.length_in))
        level = math.hypot(upper[0] - rafter.origin[0], upper[1] - rafter.origin[1])
        assert upper[2] - rafter.origin[2] == pytest.approx(level * rise)
        assert rafter.length_in == pytest.approx(math.hypot(level, level * rise))
        assert rafter.origin[2] == pytest.approx(underside_in(roof, -roof.overhang))
        assert dot(minus(rafter.origin, own.origin), own.w) == pytest.approx(0.0, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(roofs())
def test_no_rafter_enters_the_ridge_or_its_fellow(said: Said) -> None:
    result = framed(said)
    first = [m for m in members(result, Role.RAFTER).values() if m.id.endswith("-R1")]
    ridge = members(result, Role.RIDGE).get("ROOF-RG1")
    a = slope(result, "ROOF-A")
    inward = (a.v[0], a.v[1], 0.0)
    size = math.hypot(*inward)

    def reach(member: Member) -> tuple[float, float]:
        places = [dot(minus(corner, a.origin), inward) / size for corner in corners(member)]
        return min(places), max(places)

    spans = [reach(m) for m in ([*first, ridge] if ridge is not None else first)]
    for p, q in combinations(spans, 2):
        assert min(p[1], q[1]) - max(p[0], q[0]) <= 1e-6


@settings(max_examples=40, deadline=None)
@given(roofs(), st.floats(-360, 360), st.tuples(st.integers(-900, 900), st.integers(-900, 900)))
def test_turning_and_shifting_a_roof_changes_nothing_in_its_own_axes(
    said: Said, heading: float, corner: tuple[int, int]
) -> None:
    ties: Said = {"collar_ties": {"section": "1x6", "height": '4"'}} if said["kind"] == "gable" else {}
    plain = framed(said | ties)
    turned = framed(said | ties | {"heading": heading, "corner": [f'{corner[0]}"', f'{corner[1]}"']})
    assert [fault.where for fault in plain.faults] == [fault.where for fault in turned.faults]
    assert [member.id for member in plain.members] == [member.id for member in turned.members]
    for a, b in zip(plain.members, turned.members, strict=True):
        was, now = plain.assemblies[0], turned.assemblies[0]
        for p, q in zip(corners(a), corners(b), strict=True):
            before = [dot(minus(p, was.origin), axis) for axis in (was.u, was.v, was.w)]
            after = [dot(minus(q, now.origin), axis) for axis in (now.u, now.v, now.w)]
            assert after == pytest.approx(before, abs=1e-6)
        axes = (b.along, b.bit, b.across)
        assert all(math.isclose(dot(p, q), 0.0, abs_tol=1e-9) for p, q in combinations(axes, 2))
        assert all(math.isclose(dot(axis, axis), 1.0, abs_tol=1e-9) for axis in axes)

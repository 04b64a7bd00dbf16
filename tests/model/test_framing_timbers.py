"""Single timbers and boards against a pencil: where they lie, what their ends and faces are called, their rights."""

from __future__ import annotations

import math
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barnloom.model.building import Member, Right, Role, Vec
from barnloom.model.framing.common import Context, Framed, far_corner
from barnloom.model.framing.timbers import frame_board, frame_timber
from barnloom.model.scene.schema import Board, MemberSaid, Timber
from barnloom.model.vectors import dot, minus, moved

Said = dict[str, object]


def context(said: Said | None = None) -> Context:
    overrides = {"T": MemberSaid.model_validate(said)} if said else {}
    return Context(floors={"GROUND": 0.0, "LOFT": 108.0}, walls={}, overrides=overrides)


def timber(said: Said, override: Said | None = None) -> Framed:
    """A 6x8 girder (dressed 5-1/2 x 7-1/4), 10 ft to the east at 90 in up, changed as said."""
    girder: Said = {"role": "girder", "from": [0, 0, '90"'], "to": ["10'", 0, '90"'], "section": "6x8"}
    return frame_timber("T", Timber.model_validate(girder | said), context(override))


def board(said: Said) -> Framed:
    """A board 10 ft to the east under joists at 98 in."""
    under: Said = {"from": [0, 0, '98"'], "to": ["10'", 0, '98"']}
    return frame_board("T", Board.model_validate(under | said), context())


def one(result: Framed) -> Member:
    assert not result.faults, [str(fault) for fault in result.faults]
    (member,) = result.members
    return member


def box(member: Member) -> tuple[Vec, Vec]:
    """Lowest and highest corner of a member along the world's axes."""
    a, b = member.origin, far_corner(member)
    low, high = (tuple(pick(p, q) for p, q in zip(a, b, strict=True)) for pick in (min, max))
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def near(*places: tuple[float, float, float]) -> list[object]:
    return [pytest.approx(place, abs=1e-9) for place in places]


# --- where it lies ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "bottom"),
    [("centre", 90 - 3.625), ("bottom", 90.0), ("top", 90 - 7.25)],
)
def test_a_girders_points_are_on_its_middle_bottom_or_top_line(line: str, bottom: float) -> None:
    girder = one(timber({"line": line}))
    assert list(box(girder)) == near((0, -2.75, bottom), (120, 2.75, bottom + 7.25))
    assert (girder.along, girder.bit, girder.across) == ((1, 0, 0), (0, 1, 0), (0, 0, 1))
    assert (girder.length_in, girder.thickness_in, girder.depth_in) == (120.0, 5.5, 7.25)
    assert (girder.along_from, girder.across_from) == ("west end", "bottom edge")
    assert (girder.assembly, girder.role, girder.storey) == ("T", Role.GIRDER, "GROUND")


def test_a_girder_turned_a_quarter_lies_flat_and_its_bottom_is_the_lower_face() -> None:
    # Clockwise seen from the west: its bit, to the left (north), turns up; its depth, up, turns right (south).
    girder = one(timber({"turn": 90, "line": "bottom"}))
    assert list(box(girder)) == near((0, -3.625, 90), (120, 3.625, 95.5))
    assert girder.across == pytest.approx((0, -1, 0), abs=1e-12)
    assert girder.bit == pytest.approx((0, 0, 1), abs=1e-12)
    assert girder.across_from == "north face"


@pytest.mark.parametrize("down", [False, True])
def test_a_post_goes_up_from_its_bottom_end_with_its_depth_north_and_south(down: bool) -> None:
    ends: list[object] = [["5'", "6'", 0], ["5'", "6'", "8'"]]
    post = one(timber({"role": "post", "from": ends[down], "to": ends[not down]}))
    assert list(box(post)) == near((57.25, 68.375, 0), (62.75, 75.625, 96))
    assert (post.along, post.bit, post.across) == ((0, 0, 1), (1, 0, 0), (0, 1, 0))
    assert (post.along_from, post.across_from) == ("bottom end", "south face")


def test_a_post_turned_30_degrees_turns_counter_clockwise_seen_from_above() -> None:
    post = one(timber({"role": "post", "from": [0, 0, 0], "to": [0, 0, "8'"], "turn": 30}))
    assert post.bit == pytest.approx((math.sqrt(3) / 2, 0.5, 0))
    assert post.across == pytest.approx((-0.5, math.sqrt(3) / 2, 0))


def test_a_brace_at_45_degrees_keeps_its_depth_in_its_own_upright_plane() -> None:
    # 3 ft over and 3 ft up: 36 x 1.41421 = 50.912 long.
    brace = one(timber({"role": "brace", "from": [0, 0, "5'"], "to": ["3'", 0, "8'"], "section": "4x6"}))
    half = math.sqrt(0.5)
    assert brace.length_in == pytest.approx(50.912, abs=1e-3)
    assert brace.across == pytest.approx((-half, 0, half))
    assert brace.bit == pytest.approx((0, 1, 0))
    assert (brace.along_from, brace.across_from) == ("lower end", "lower edge")


def test_a_plumb_timber_of_any_role_lies_as_a_post_does() -> None:
    brace = one(timber({"role": "brace", "from": [0, 0, "8'"], "to": [0, 0, "5'"]}))
    assert (brace.along, brace.across) == ((0, 0, -1), (0, 1, 0))


def test_a_timber_off_the_compass_says_which_end_was_written_first() -> None:
    assert one(timber({"to": ["10'", "3'", '90"']})).along_from == "start end"


def test_the_storey_is_the_one_its_lower_end_is_on() -> None:
    assert one(timber({"from": [0, 0, '108"'], "to": [0, 0, "17'"], "role": "post"})).storey == "LOFT"
    assert one(timber({"storey": "LOFT"})).storey == "LOFT"
    assert one(timber({"from": [0, 0, '-12"'], "to": ["9'", 0, '-12"']})).storey == "GROUND"


# --- rights ----------------------------------------------------------------------------------------------------------


def test_a_single_timber_is_not_bored_unless_the_scene_says_so() -> None:
    girder = one(timber({}))
    assert (girder.bore, girder.fasten, girder.mount) == (Right.NEVER, Right.FREE, Right.FREE)
    assert girder.reason == "single timbers are not bored unless the scene says so"
    assert (girder.bearing, girder.unmeasured) == (True, ("bearing",))
    said = one(timber({"bore": "free", "mount": "never", "because": "my own oak", "bearing": "no"}))
    assert (said.bore, said.mount, said.reason, said.bearing) == (Right.FREE, Right.NEVER, "my own oak", False)
    assert one(timber({}, {"bore": "free"})).bore is Right.FREE


def test_a_timber_not_measured_may_not_be_bored_whatever_is_said() -> None:
    girder = one(timber({"section": "not measured", "bore": "free"}))
    assert (girder.bore, girder.unmeasured, girder.depth_in) == (Right.UNKNOWN, ("bearing", "section"), 5.5)


def test_a_maker_is_asked_for_his_numbers() -> None:
    maker = {"diameter_max": '1"', "edge_min": '2"', "spacing_min": '4"', "end_min": "1'", "source": "data sheet"}
    assert [fault.where for fault in timber({"bore": "maker"}).faults] == [("timbers", "T", "bore")]
    assert one(timber({"bore": "maker"}, {"maker": maker})).bore is Right.MAKER


def test_a_missing_timber_is_gone() -> None:
    assert timber({}, {"missing": True}) == Framed()


# --- boards ----------------------------------------------------------------------------------------------------------


def test_a_board_under_joists_carries_the_cable_on_its_face_looking_down() -> None:
    # The line is on the carrying face: the board is 3/4 in thick above it, 3-1/2 wide, half on either side.
    run = one(board({}))
    assert list(box(run)) == near((0, -1.75, 98), (120, 1.75, 98.75))
    assert run.bit == (0, 0, -1)
    assert moved(run.origin, (run.bit, run.thickness_in), (run.across, 1.75)) == pytest.approx((0, 0, 98))
    assert (run.role, run.bore, run.bearing, run.in_place) == (Role.BOARD, Right.NEVER, False, False)


def test_a_board_on_a_wall_lies_behind_its_face_and_its_width_goes_up() -> None:
    run = one(board({"face": "north", "width": '5-1/2"', "in_place": "yes"}))
    assert list(box(run)) == near((0, -0.75, 95.25), (120, 0, 100.75))
    assert (run.bit, run.across, run.across_from, run.in_place) == ((0, 1, 0), (0, 0, 1), "bottom edge", True)


def test_a_boards_width_goes_up_from_its_bottom_edge_whichever_way_its_line_is_written() -> None:
    run = one(board({"face": "south"}))
    assert (run.bit, run.across, run.across_from) == ((0, -1, 0), (0, 0, 1), "bottom edge")


def test_a_board_that_slopes_keeps_its_face_square_to_its_length() -> None:
    run = one(board({"to": ["10'", 0, "10'"]}))
    assert dot(run.bit, run.along) == pytest.approx(0.0)
    assert run.bit[2] < -0.9


# --- slips -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("result", "key"),
    [
        (timber({"to": [0, 0, '90"']}), "to"),
        (timber({"role": "post", "to": [0, 0, 0], "line": "top"}), "line"),
        (board({"to": [0, 0, '98"']}), "to"),
        (board({"face": "east"}), "face"),
    ],
)
def test_what_cannot_be_is_named(result: Framed, key: str) -> None:
    assert [fault.where[2] for fault in result.faults] == [key]
    assert result.members == ()


# --- any timber ------------------------------------------------------------------------------------------------------

POINTS = st.tuples(*[st.integers(-300, 300)] * 3)


def said_point(point: tuple[float, ...]) -> list[str]:
    return [f'{coordinate:.6f}"' for coordinate in point]


@settings(max_examples=150, deadline=None)
@given(POINTS, POINTS, st.floats(-180, 180), st.sampled_from(["post", "brace", "girder"]))
def test_any_timber_has_square_axes_and_its_points_on_its_middle_line(
    a: tuple[float, ...], b: tuple[float, ...], turn: float, role: str
) -> None:
    if a == b:
        return
    piece = one(timber({"from": said_point(a), "to": said_point(b), "turn": turn, "role": role}))
    axes = (piece.along, piece.bit, piece.across)
    assert all(math.isclose(dot(p, q), 0.0, abs_tol=1e-9) for p, q in combinations(axes, 2))
    assert all(math.isclose(dot(axis, axis), 1.0, abs_tol=1e-9) for axis in axes)
    middle = moved(piece.origin, (piece.bit, 2.75), (piece.across, 3.625))
    ends = (middle, moved(middle, (piece.along, piece.length_in)))
    assert min(math.dist(ends[0], a) + math.dist(ends[1], b), math.dist(ends[0], b) + math.dist(ends[1], a)) < 1e-5


@settings(max_examples=80, deadline=None)
@given(POINTS, POINTS, st.integers(0, 3), st.sampled_from(["centre", "bottom", "top"]))
def test_turning_a_level_or_sloping_timber_about_the_vertical_keeps_its_shape(
    a: tuple[float, ...], b: tuple[float, ...], quarters: int, line: str
) -> None:
    if a[:2] == b[:2]:
        return

    def turned(point: tuple[float, ...]) -> Vec:
        x, y, z = point
        for _ in range(quarters):
            x, y = -y, x
        return (x, y, z)

    plain = one(timber({"from": said_point(a), "to": said_point(b), "line": line, "role": "brace"}))
    other = one(timber({"from": said_point(turned(a)), "to": said_point(turned(b)), "line": line, "role": "brace"}))
    assert other.origin == pytest.approx(turned(plain.origin), abs=1e-6)
    for axis in ("along", "bit", "across"):
        assert getattr(other, axis) == pytest.approx(turned(getattr(plain, axis)), abs=1e-9)
    assert minus(far_corner(other), other.origin) == pytest.approx(turned(minus(far_corner(plain), plain.origin)))

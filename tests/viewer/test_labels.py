"""Placing labels, and lanes for cables that lie on one another."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barnloom.viewer.drawing import Bounds
from barnloom.viewer.labels import Label, placed
from barnloom.viewer.lanes import side_by_side

AREA = Bounds(left=0, bottom=0, right=400, top=300)
NOTHING = np.empty((0, 2))


def overlap(a, b) -> bool:
    return a.left < b.right and b.left < a.right and a.bottom < b.top and b.bottom < a.top


@settings(deadline=None, max_examples=30)
@given(st.lists(st.tuples(st.floats(0, 400), st.floats(0, 300), st.floats(5, 90)), max_size=40))
def test_labels_never_overlap_nor_leave_the_area(wanted):
    labels = [Label(targets=((x, y),), width_in=width, height_in=10) for x, y, width in wanted]
    spots = [spot for spot in placed(labels, AREA, busy=NOTHING, margin_in=1) if spot]
    assert not any(overlap(a, b) for a, b in combinations(spots, 2))
    assert all(s.left >= 0 and s.right <= 400 and s.bottom >= 0 and s.top <= 300 for s in spots)


def test_forty_labels_for_one_place_are_all_placed_apart():
    labels = [Label(targets=((200, 150),), width_in=40, height_in=10)] * 40
    spots = placed(labels, AREA, busy=NOTHING, margin_in=1)
    assert None not in spots
    assert not any(overlap(a, b) for a, b in combinations(spots, 2))


def test_no_place_is_said_and_not_squeezed_in():
    tight = Bounds(left=0, bottom=0, right=50, top=12)
    labels = [Label(targets=((25, 6),), width_in=40, height_in=10)] * 2
    assert placed(labels, tight, busy=NOTHING, margin_in=1).count(None) >= 1


def test_a_label_keeps_off_what_is_drawn():
    label = Label(targets=((200, 150),), width_in=60, height_in=10)
    right_half = np.stack(np.meshgrid(np.arange(200, 400, 2.0), np.arange(0, 300, 2.0)), axis=-1).reshape(-1, 2)
    (spot,) = placed([label], AREA, busy=right_half, margin_in=1)
    assert spot.right <= 203


APART = 4.0
LINE = ((0, 0), (100, 0))


def levels(lines, degrees: float = 0.0) -> list[float]:
    """How far each line is moved across its first leg; drawn turned by some degrees, and turned back."""
    turn = np.radians(degrees)
    matrix = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    turned = [np.array(line, dtype=float) @ matrix for line in lines]
    moved = side_by_side(turned, apart_in=APART, along_in=10)
    return [float(((new - old) @ matrix.T)[0, 1]) for old, new in zip(turned, moved, strict=True)]


def test_lines_on_one_another_get_lanes_of_their_own():
    apart = ((0, 30), (100, 30))
    assert levels([LINE, LINE, apart, LINE[::-1]]) == pytest.approx([0, APART, 0, -APART])


def test_a_line_is_not_moved_onto_another():
    assert levels([LINE, ((0, APART), (100, APART)), LINE]) == pytest.approx([0, 0, -APART])


def test_crossing_and_following_lines_stay_where_they_are():
    assert levels([LINE, ((50, -50), (50, 50)), ((95, 0), (200, 0))]) == pytest.approx([0, 0, 0])


def test_legs_cut_up_by_bores_are_one():
    cut_up = tuple((x, 0.0) for x in range(0, 100, 4))
    (_, moved) = side_by_side([np.array(cut_up)] * 2, apart_in=APART, along_in=10)
    assert moved - cut_up == pytest.approx(np.tile([0.0, APART], (25, 1)))


def test_only_the_legs_that_are_hidden_move_and_corners_stay_square():
    bent = np.array([[0.0, 0.0], [100, 0], [100, 80], [160, 80]])
    (_, moved) = side_by_side([np.array(LINE, dtype=float), bent], apart_in=APART, along_in=10)
    assert moved == pytest.approx(np.array([[0, APART], [100, APART], [100, 80], [160, 80]]))


def test_the_way_back_is_drawn_beside_the_way_out():
    out_and_back = np.array([[0.0, 0.0], [100, 0], [100, 50], [100, 0], [200, 0]])
    (moved,) = side_by_side([out_and_back], apart_in=APART, along_in=10)
    assert np.isfinite(moved).all()
    assert np.abs(moved - out_and_back).max() <= APART


def test_standing_still_is_no_leg():
    still = np.array([[5.0, 5.0], [5, 5], [5, 5]])
    (moved,) = side_by_side([still], apart_in=APART, along_in=10)
    assert moved == pytest.approx(still)


def test_a_crowd_fills_the_lanes_and_then_shares_them():
    given = levels([LINE] * 30)
    assert sorted(given[:17]) == pytest.approx([APART * k for k in range(-8, 9)])
    assert max(np.abs(given)) == pytest.approx(8 * APART)


@given(st.integers(0, 359))
def test_lanes_do_not_depend_on_direction(degrees):
    bent, beside = ((0, 0), (100, 0), (100, 80)), ((40, 0.5), (90, 0.5))
    assert np.abs(levels([bent, beside], degrees)) == pytest.approx([0, APART])

"""Placing labels, and lanes for cables that lie on one another."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from barnloom.viewer.drawing import Bounds
from barnloom.viewer.labels import Label, placed
from barnloom.viewer.lanes import lanes

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


def lanes_of(lines, degrees: float = 0.0) -> list[int]:
    turn = np.radians(degrees)
    matrix = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    step = np.array([0.0, 4.0]) @ matrix
    return lanes([np.array(line, dtype=float) @ matrix for line in lines], step=step, apart_in=2, along_in=10)


LINE = ((0, 0), (100, 0))


def test_lines_on_one_another_get_lanes_of_their_own():
    apart = ((0, 30), (100, 30))
    assert lanes_of([LINE, LINE, apart, LINE[::-1]]) == [0, 1, 0, -1]


def test_a_lane_is_not_moved_onto_another_line():
    assert lanes_of([LINE, ((0, 4), (100, 4)), LINE]) == [0, 0, -1]


def test_crossing_and_following_lines_stay_in_the_middle():
    assert lanes_of([LINE, ((50, -50), (50, 50)), ((95, 0), (200, 0))]) == [0, 0, 0]


def test_legs_cut_up_by_bores_count_as_one():
    cut_up = tuple((x, 0.0) for x in range(0, 100, 4))
    assert lanes_of([cut_up, cut_up]) == [0, 1]


def test_a_crowd_gets_the_lanes_where_least_is_hidden():
    given = lanes_of([LINE] * 30)
    assert sorted(given[:13]) == list(range(-6, 7))
    assert len(given) == 30


@given(st.integers(0, 359))
def test_lanes_do_not_depend_on_direction(degrees):
    bent, beside = ((0, 0), (100, 0), (100, 80)), ((40, 0.5), (90, 0.5))
    assert lanes_of([bent, beside], degrees) == [0, 1]

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


def test_lines_on_one_another_get_lanes_of_their_own():
    line = np.array([[0.0, 0.0], [100.0, 50.0]])
    apart = line + [0.0, 20.0]
    assert lanes([line, line, apart, line[::-1]], apart_in=1, along_in=10) == [0, 1, 0, -1]


def test_crossing_and_following_lines_stay_in_the_middle():
    cross = [np.array([[0.0, 0.0], [100.0, 0.0]]), np.array([[50.0, -50.0], [50.0, 50.0]])]
    follow = np.array([[95.0, 0.0], [200.0, 0.0]])
    assert lanes([*cross, follow], apart_in=1, along_in=10) == [0, 0, 0]


@given(st.integers(0, 359))
def test_lanes_do_not_depend_on_direction(degrees):
    turn = np.radians(degrees)
    matrix = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    line = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 80.0]])
    beside = np.array([[40.0, 0.5], [90.0, 0.5]])
    assert lanes([line @ matrix, beside @ matrix], apart_in=1, along_in=10) == [0, 1]

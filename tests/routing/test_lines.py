"""Lines of the tracks: which are laid, and which are as good as one beside them."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from small_scenes import box, built, panel, scene, tracks, wall

from barnloom.routing.aims import AimBook
from barnloom.routing.bay_edges import uses_of
from barnloom.routing.bores import BoreMaker
from barnloom.routing.slab import SAME_IN
from barnloom.routing.wishes import BESIDE_IN, worth_keeping


@given(st.integers(0, 2**32 - 1))
def test_what_is_left_out_is_good_for_nothing_that_a_kept_line_beside_it_is_not(seed: int) -> None:
    dice = np.random.default_rng(seed)
    lines = np.unique(dice.uniform(0, 12, size=dice.integers(1, 40)))
    always, uses = dice.random(len(lines)) < 0.2, dice.random((len(lines), 4)) < 0.6
    kept = worth_keeping(lines, always, uses)
    assert kept[always].all()
    for out in np.flatnonzero(~kept):
        near = kept & (np.abs(lines - lines[out]) <= BESIDE_IN)
        assert np.any(np.all(uses[near] | ~uses[out], axis=1))


@given(st.integers(0, 2**32 - 1))
def test_no_kept_line_is_as_good_as_another_beside_it(seed: int) -> None:
    dice = np.random.default_rng(seed)
    lines = np.unique(dice.uniform(0, 12, size=dice.integers(1, 40)))
    uses = dice.random((len(lines), 4)) < 0.6
    kept = np.flatnonzero(worth_keeping(lines, np.zeros(len(lines), dtype=bool), uses))
    for one in kept:
        for other in kept:
            if one != other and abs(lines[one] - lines[other]) <= BESIDE_IN:
                assert (uses[one] & ~uses[other]).any()


def test_boxes_keep_their_own_lines_however_near_they_are() -> None:
    boxes = {"P": panel("S", 8, 48), "A": box("S", 40, 48), "B": box("S", 40.5, 30)}
    laid = tracks(built(scene(walls={"S": wall((0, 0), "east", 80)}, boxes=boxes)))
    for place in (8, 40, 40.25, 40.5):
        assert np.abs(laid.lines_u[0] - place).min() < SAME_IN
    assert np.diff(laid.lines_v[0]).min() > SAME_IN


def test_a_row_is_good_for_the_studs_that_may_be_bored_on_it() -> None:
    boxes = {"P": panel("S", 8, 48), "A": box("S", 40, 48)}
    building = built(scene(walls={"S": wall((0, 0), "east", 80)}, boxes=boxes))
    laid = tracks(building)
    studs = sum(way == "u" for way in laid.slabs[0].crossing.values())
    uses = uses_of(building, laid.slabs[0], BoreMaker(building, laid.limits, AimBook()), np.array([2.0, 48.0]), "u")
    # A hole stays 2 in off the end of a stud (own caution), which stands on a plate of 1-1/2 in: so none 1/2 in up.
    assert uses.shape == (2, len(laid.slabs[0].faces_u) - 1 + studs)
    assert not uses[0, -studs:].any()
    assert uses[1, -studs:].sum() > studs / 2

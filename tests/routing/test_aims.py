"""The book of aims: what it says is what each place by itself comes to."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_scenes import box, built, panel, scene, wall

from barnloom.model.limits import Limits
from barnloom.routing import aims
from barnloom.routing.aims import PAGE, AimBook, Aims, aimed_in

BOXES = {"P": panel("S", 8, 48), "A": box("S", 40, 48)}
BUILDING = built(scene(walls={"S": wall((0, 0), "east", 240)}, boxes=BOXES))
LIMITS = Limits(BUILDING.limits)
LONG = max(range(len(BUILDING.members)), key=lambda n: max(ply.along[1] for ply in BUILDING.members[n].plies))


@given(
    st.integers(0, len(BUILDING.members) - 1),
    st.lists(st.integers(-2 * PAGE, 3 * PAGE), min_size=1, max_size=9),
    st.sampled_from([0.5, 1.75, 2.0]),
    st.sampled_from([(-np.inf, np.inf), (0.5, 2.5)]),
    st.booleans(),
)
def test_the_book_says_of_many_places_what_is_worked_out_for_each(
    number: int, places: list[int], wish: float, strip: tuple[float, float], wide: bool
) -> None:
    member, steps = BUILDING.members[number], np.array(places)
    found = AimBook().looked_up(BUILDING, LIMITS, member, steps, wish, strip, wide=wide)
    for k, bit in enumerate(BUILDING.tools.bits_in):
        alone = aimed_in(BUILDING, LIMITS, member, bit, steps * BUILDING.tools.grid_in, wish, strip, wide=wide)
        np.testing.assert_array_equal(found.across[:, k], alone.across)
        there = np.isfinite(alone.across)
        np.testing.assert_array_equal(found.plates[there, k], alone.plates[there])


def test_a_plate_of_several_pages_may_be_bored_on_each() -> None:
    steps = np.arange(4 * PAGE, step=64)
    found = AimBook().looked_up(BUILDING, LIMITS, BUILDING.members[LONG], steps, 1.75, (-np.inf, np.inf), wide=True)
    fits = np.isfinite(found.across[:, 0])
    assert fits[steps // PAGE == 0].any()
    assert fits[steps // PAGE == 1].any()
    # The wall is 240 in long, and the print grid 1/16 in: past its end there is no wood.
    assert not fits[steps > 240 * 16].any()


def test_a_book_begins_with_what_the_last_one_was_asked_for_and_forgets_the_rest(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    worked: list[float] = []

    def counted(*args: Any, **options: Any) -> Aims:
        worked.append(args[5])
        return aimed_in(*args, **options)

    monkeypatch.setattr(aims, "aimed_in", counted)

    def wishes_worked(book: AimBook, *wishes: float) -> set[float]:
        worked.clear()
        for wish in wishes:
            book.looked_up(BUILDING, LIMITS, BUILDING.members[0], np.array([320]), wish, (-np.inf, np.inf), wide=True)
        return set(worked)

    first = AimBook()
    assert wishes_worked(first, 1.75, 2.0, 1.75) == {1.75, 2.0}
    second = AimBook(first)
    assert wishes_worked(second, 1.75) == set()
    assert wishes_worked(AimBook(second), 1.75, 2.0) == {2.0}

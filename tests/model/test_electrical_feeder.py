"""The disconnect and the electrode of a separate building, against published rules."""

from __future__ import annotations

import pytest

from barnloom.model.electrical.feeder import disconnect_least_a, electrode_needed
from barnloom.model.limits import Limits, load_limits

LIMITS = Limits(load_limits())


@pytest.mark.parametrize(
    ("circuits", "house", "amps"),
    [
        # NEC 225.39: forums.mikeholt.com/threads/red-tagged-225-39.13023 (30 and 60 A)
        (2, False, 30),
        (3, False, 60),
        (8, False, 60),
        # the parallel 230.79: necarticle230.examzify.com (15 A),
        # forums.mikeholt.com/threads/service-disconnect-rating.29497 (100 A)
        pytest.param(1, False, 15, id="one-from_memory"),
        pytest.param(2, True, 100, id="house-from_memory"),
        pytest.param(9, True, 100, id="larger_house-from_memory"),
    ],
)
def test_the_disconnect_is_rated_by_what_it_disconnects(circuits: int, house: bool, amps: float) -> None:
    assert disconnect_least_a(circuits, LIMITS, house=house) == amps


def test_a_feeder_wants_an_electrode_and_a_single_branch_circuit_none() -> None:
    # NEC 250.32(A) and its exception: ecmag.com/section/codes-standards/power-down-earth
    assert electrode_needed("feeder")
    assert not electrode_needed("branch circuit")

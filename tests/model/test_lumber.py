"""Dressed lumber sizes against the published table of the lumber standard PS 20.

Pages: engineeringtoolbox.com/amp/softwood-lumber-standard-d_1270.html, sizes.com/materials/lumberSoftDimen_US.htm,
mail.vterrain.org/Hawaii/Ben/lumber.htm.
"""

from __future__ import annotations

import pytest

from barnloom.model.lumber import LumberError, dressed


@pytest.mark.parametrize(
    ("nominal", "dry", "green"),
    [
        ((2, 4), (1.5, 3.5), (1 + 9 / 16, 3 + 9 / 16)),
        ((2, 6), (1.5, 5.5), (1 + 9 / 16, 5.625)),
        ((2, 8), (1.5, 7.25), (1 + 9 / 16, 7.5)),
        ((2, 10), (1.5, 9.25), (1 + 9 / 16, 9.5)),
        ((2, 12), (1.5, 11.25), (1 + 9 / 16, 11.5)),
        ((2, 14), (1.5, 13.25), (1 + 9 / 16, 13.5)),
        ((3, 8), (2.5, 7.25), (2 + 9 / 16, 7.5)),
        ((4, 4), (3.5, 3.5), (3 + 9 / 16, 3 + 9 / 16)),
        ((4, 6), (3.5, 5.5), (3 + 9 / 16, 5.625)),
        ((2, 5), (1.5, 4.5), (1 + 9 / 16, 4.625)),
        ((1, 4), (0.75, 3.5), (25 / 32, 3 + 9 / 16)),
        ((1, 6), (0.75, 5.5), (25 / 32, 5.625)),
        ((1, 8), (0.75, 7.25), (25 / 32, 7.5)),
        ((1, 10), (0.75, 9.25), (25 / 32, 9.5)),
        ((1, 12), (0.75, 11.25), (25 / 32, 11.5)),
        # timbers: 1/2 off up to 6; from 7 to 15, 3/4 off dry and 1/2 off green
        ((6, 6), (5.5, 5.5), (5.5, 5.5)),
        ((5, 6), (4.5, 5.5), (4.5, 5.5)),
        ((6, 8), (5.5, 7.25), (5.5, 7.5)),
        ((8, 8), (7.25, 7.25), (7.5, 7.5)),
        ((7, 9), (6.25, 8.25), (6.5, 8.5)),
        ((12, 15), (11.25, 14.25), (11.5, 14.5)),
    ],
)
def test_dressed_sizes_are_those_of_the_standard(
    nominal: tuple[int, int], dry: tuple[float, float], green: tuple[float, float]
) -> None:
    assert dressed(*nominal) == dry
    assert dressed(*nominal, green=True) == green
    assert dressed(*nominal[::-1]) == dry[::-1]


@pytest.mark.parametrize("nominal", [(2, 7), (0, 4), (2, 16), (16, 16), (13, 2)])
def test_a_size_that_is_not_in_the_table_is_refused(nominal: tuple[int, int]) -> None:
    with pytest.raises(LumberError, match="write the measured section"):
        dressed(*nominal)

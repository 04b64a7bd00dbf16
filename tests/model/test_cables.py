"""Default cables against makers' sheets, and how many go through a hole."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barnloom.model.building import Tools
from barnloom.model.cables import cables_per_hole, default_cable_types, fill_ok, stack_diagonal
from barnloom.model.limits import Limits, load_limits

LIMITS = Limits(load_limits())
CABLES = {cable.id: cable for cable in default_cable_types()}
TIGHT = {"hole.fill_share": 1.0}
"""Geometry alone, without the margin for pulling."""
ANY = ((0.25, 99),)
"""As many as go in."""


@pytest.mark.parametrize(
    ("cable", "width", "thickness"),
    [
        # southwire.com SPEC 10028, cabletechsupport.southwire.com/en/tile/55/spec/10028/
        ("14/2", 0.372, 0.176),
        ("14/3", 0.478, 0.176),
        ("12/2", 0.422, 0.190),
        ("12/3", 0.524, 0.190),
        ("10/2", 0.505, 0.218),
        ("14/4", 0.350, 0.350),
        ("12/4", 0.395, 0.395),
        # cabletechsupport.southwire.com/en/tile/30/spec/10036/
        ("UF 14/2", 0.423, 0.168),
    ],
)
def test_sizes_are_those_of_the_makers_sheet(cable: str, width: float, thickness: float) -> None:
    assert (CABLES[cable].width_in, CABLES[cable].thickness_in) == (width, thickness)
    assert "confirmed" in CABLES[cable].source


@pytest.mark.parametrize("cable", ["10/3", "8/3", "6/3", "UF 14/3", "UF 12/2", "UF 12/3", "UF 10/2", "UF 10/3"])
def test_sizes_from_memory_say_so(cable: str) -> None:
    assert "from memory" in CABLES[cable].source


def test_every_price_says_that_it_is_a_placeholder() -> None:
    assert all("placeholder" in cable.source and cable.price_ft > 0 for cable in default_cable_types())
    assert (CABLES["14/2"].price_ft, CABLES["12/2"].price_ft) == (0.65, 0.95)


@pytest.mark.parametrize(
    ("cable", "diagonals"),
    [("12/2", (0.463, 0.568, 0.709, 0.869)), ("14/2", (0.412, 0.512, 0.646, 0.796))],
)
def test_a_flat_stack_has_the_diagonal_that_geometry_gives(cable: str, diagonals: tuple[float, ...]) -> None:
    # derived: hypot(width, n x thickness)
    for n, diagonal in enumerate(diagonals, start=1):
        assert stack_diagonal([CABLES[cable]] * n) == pytest.approx(diagonal, abs=5e-4)


@pytest.mark.parametrize("cable", ["12/2", "14/2"])
def test_three_quarters_of_an_inch_passes_three_two_wire_cables_and_not_four(cable: str) -> None:
    assert fill_ok(0.75, [CABLES[cable]] * 3, TIGHT, ANY)
    assert not fill_ok(0.75, [CABLES[cable]] * 4, TIGHT, ANY)


def test_the_margin_for_pulling_leaves_two_twelve_two_in_three_quarters() -> None:
    assert fill_ok(0.75, [CABLES["12/2"]] * 2, LIMITS, ANY)
    assert not fill_ok(0.75, [CABLES["12/2"]] * 3, LIMITS, ANY)


def test_the_count_for_a_bit_holds_even_where_geometry_would_allow_more() -> None:
    assert fill_ok(1.0, [CABLES["14/2"]] * 4, LIMITS, ANY)
    assert not fill_ok(1.0, [CABLES["14/2"]] * 4, LIMITS, Tools().per_hole)
    assert fill_ok(1.0, [CABLES["14/2"]] * 3, LIMITS, Tools().per_hole)


def test_cables_of_different_sizes_count_by_the_widest_and_their_sum() -> None:
    assert stack_diagonal([CABLES["14/2"], CABLES["10/2"]]) == pytest.approx((0.505**2 + 0.394**2) ** 0.5, abs=1e-12)


@pytest.mark.parametrize(("diameter", "most"), [(0.5, 1), (0.75, 2), (0.875, 2), (1.0, 3), (2.0, 3)])
def test_a_hole_between_two_bits_counts_as_the_smaller(diameter: float, most: int) -> None:
    assert cables_per_hole(diameter, Tools().per_hole) == most


def test_every_default_cable_goes_alone_through_the_largest_default_bit() -> None:
    tools = Tools()
    assert all(fill_ok(max(tools.bits_in), [cable], LIMITS, tools.per_hole) for cable in default_cable_types())


@given(st.lists(st.sampled_from(default_cable_types()), min_size=1, max_size=6), st.floats(0.25, 3))
def test_taking_a_cable_out_of_a_hole_that_fits_still_fits(cables: list, diameter: float) -> None:
    if fill_ok(diameter, cables, LIMITS, ANY):
        assert fill_ok(diameter, cables[1:], LIMITS, ANY)
        assert fill_ok(diameter + 0.1, cables, LIMITS, ANY)

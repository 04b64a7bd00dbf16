"""Hatches, dimensions and symbols taken apart into lines and text, and arcs in SVG."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barnloom.viewer.drawing import Arc, Bounds, Dimension, Drawing, Hatch, Line, Pen, Symbol, Text
from barnloom.viewer.lettering import drawable, width_in
from barnloom.viewer.primitives import primitives
from barnloom.viewer.svg import to_svg
from barnloom.viewer.symbols import SYMBOLS

PEN = Pen(width_in=0.01)


@given(
    st.lists(st.floats(0.5, 3.0), min_size=5, max_size=9),
    st.floats(0, 180),
    st.tuples(st.floats(-9, 9), st.floats(-9, 9)),
)
def test_lines_of_a_hatch_cover_the_area(radii: list[float], angle: float, middle: tuple[float, float]) -> None:
    # A star about its middle; the area by the shoelace formula. Lines times their spacing come to the area.
    turns = [2 * math.pi * n / len(radii) for n in range(len(radii))]
    corners = [(middle[0] + r * math.cos(t), middle[1] + r * math.sin(t)) for r, t in zip(radii, turns, strict=True)]
    area = abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise([*corners, corners[0]]))) / 2
    hatch = Hatch(points=tuple(corners), angle_deg=angle, spacing_in=0.01, pen=PEN, layer="h")
    lines = list(primitives([hatch]))
    assert all(isinstance(line, Line) for line in lines)
    assert sum(math.dist(line.start, line.end) for line in lines) * 0.01 == pytest.approx(area, rel=0.02)


@given(st.floats(-180, 180), st.sampled_from((-2.0, 2.0)))
def test_a_dimension_lies_beside_what_it_measures_and_reads_upright(turn_deg: float, offset: float) -> None:
    turn = math.radians(turn_deg)
    along, left = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))
    end = (10 * along[0], 10 * along[1])
    dim = Dimension(start=(0, 0), end=end, offset_in=offset, text='10"', height_in=0.3, pen=PEN, layer="d")
    items = list(primitives([dim]))
    (text,) = (item for item in items if isinstance(item, Text))
    assert text.text == '10"'
    assert -90 - 1e-9 <= (text.turn_deg + 180) % 360 - 180 <= 90 + 1e-9
    middle = [5 * along[n] + offset * left[n] for n in (0, 1)]
    assert math.dist(text.at, middle) < 0.3
    beside = [[offset * left[n] for n in (0, 1)], [end[n] + offset * left[n] for n in (0, 1)]]
    assert any(
        math.dist(item.start, beside[0]) < 1e-9 and math.dist(item.end, beside[1]) < 1e-9
        for item in items
        if isinstance(item, Line)
    )


@pytest.mark.parametrize("name", SYMBOLS)
def test_a_symbol_keeps_to_its_size_and_its_letters_upright(name: str) -> None:
    assert drawable(SYMBOLS[name].words) == SYMBOLS[name].words
    for turn in (0.0, 90.0, 225.0):
        symbol = Symbol(name=name, at=(30, -10), size_in=4, layer="boxes", turn_deg=turn)
        for item in primitives([symbol]):
            assert item.layer == "boxes"
            points = []
            match item:
                case Line():
                    points = [item.start, item.end]
                case Text():
                    half = width_in(item.text, item.height_in, bold=True) / 2
                    points = [(item.at[0] - half, item.at[1]), (item.at[0] + half, item.at[1] + item.height_in)]
                    assert item.turn_deg == 0
                case _:
                    points = list(getattr(item, "points", ()))
            assert all(math.dist(point, (30, -10)) <= 4 * 0.72 for point in points), name


@pytest.mark.parametrize(("to_deg", "large"), [(90, "0"), (180, "0"), (181, "1"), (270, "1")])
def test_an_arc_in_svg_goes_counter_clockwise(to_deg: float, large: str) -> None:
    # SVG 1.1, 8.3.8: radii, rotation, large-arc flag, sweep flag; y goes down there, so counter-clockwise is sweep 0
    arc = Arc(centre=(0, 0), radius_in=2, from_deg=0, to_deg=to_deg, pen=PEN, layer="a")
    bounds = Bounds(left=-5, bottom=-5, right=5, top=5)
    root = ET.fromstring(to_svg(Drawing(title="t", items=(arc,), bounds=bounds), width_mm=100))
    (path,) = root.iter("{http://www.w3.org/2000/svg}path")
    start, rest = path.get("d").removeprefix("M").split("A")
    radii, _, flag, sweep, end = rest.split(" ")
    assert (start.strip(), radii, flag, sweep) == ("7,5", "2,2", large, "0")
    x, y = map(float, end.split(","))
    expected = (5 + 2 * math.cos(math.radians(to_deg)), 5 - 2 * math.sin(math.radians(to_deg)))
    assert (x, y) == pytest.approx(expected, abs=1e-3)

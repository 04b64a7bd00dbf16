"""DXF read back by ezdxf's recovering reader and its audit, and compared with the drawing item by item."""

from __future__ import annotations

import hashlib
import io
import math
import os
import subprocess
import sys
from itertools import combinations, pairwise
from pathlib import Path

import pytest
from ezdxf import recover
from ezdxf.document import Drawing as Document
from ezdxf.tools.text import fast_plain_mtext
from hypothesis import given, settings
from hypothesis import strategies as st
from picture_sample import sample_plan

from barnloom.viewer.drawing import (
    BLACK,
    WHITE,
    Arc,
    Bounds,
    Circle,
    Dimension,
    Drawing,
    Fill,
    Hatch,
    Item,
    Line,
    Pen,
    Polygon,
    Polyline,
    Symbol,
    Text,
)
from barnloom.viewer.dxf import to_dxf
from barnloom.viewer.isometric import isometric
from barnloom.viewer.lettering import width_in
from barnloom.viewer.primitives import primitives
from barnloom.viewer.symbols import SYMBOLS

PEN = Pen(width_in=0.25 / 25.4 * 24)
"""0.25 mm on paper at 1:24."""
HOSTILE = [
    "50%%d %%c %%u %%%",
    "\\P new {\\C1;red} \\U+0041 \\M+14E02",
    "^J ^I ^ caret",
    "<> [] {}",
    "船小屋 ⛵😀 שלום",
    "  0\n  0\nEOF",
    "tab\there, bell\x07, next\x85line",
    "lone \ud800 surrogate",
    "'; DROP -- <script>&amp;",
    "=1+1",
]


def drawing(*items: Item, title: str = "t") -> Drawing:
    return Drawing(title=title, items=items, bounds=Bounds(left=-30, bottom=-40, right=170, top=110))


def read(*drawings: Drawing, scale: float = 24, notes: tuple[str, ...] = ()) -> Document:
    doc, auditor = recover.read(io.BytesIO(to_dxf([(one, scale) for one in drawings], notes=notes)))
    assert (auditor.errors, auditor.fixes) == ([], [])
    return doc


def entities(doc: Document, kind: str) -> list:
    return [one for one in doc.modelspace().query(kind) if one.dxf.layer not in ("DRAWING-NAMES", "NOTES")]


def as_read(text: str) -> str:
    """What a text comes to when control signs are blanks and what is no sign is the sign for that."""
    return (
        "".join(" " if ord(sign) < 32 or 127 <= ord(sign) < 160 or sign in "\u2028\u2029" else sign for sign in text)
        .translate(dict.fromkeys([*range(0xD800, 0xE000), 0xFFFE, 0xFFFF], "\ufffd"))
        .replace("\\M+", "\\M +")
    )


def shoelace(points) -> float:
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise([*points, points[0]]))) / 2


def filled_area(vertices) -> float:
    """Of a polygon, or of a disc made of two half circles (bulge 1)."""
    if vertices[0][2] == 1:
        return math.pi / 4 * math.dist(vertices[0][:2], vertices[1][:2]) ** 2
    return shoelace(vertices)


def seen(pen: Pen | None) -> bool:
    return pen is not None and pen.colour != WHITE


def test_units_are_inches_at_full_size() -> None:
    # DXF Reference, HEADER: $INSUNITS 1 = inches, $MEASUREMENT 0 = English
    doc = read(drawing(Line(start=(0, 0), end=(120, 96), pen=PEN, layer="a")))
    assert (doc.header["$INSUNITS"], doc.header["$MEASUREMENT"], doc.header["$LTSCALE"]) == (1, 0, 1)
    (line,) = entities(doc, "LINE")
    assert (*line.dxf.start, *line.dxf.end) == (0, 0, 0, 120, 96, 0)


def test_every_line_area_circle_and_text_of_a_real_picture_is_there() -> None:
    picture = isometric(sample_plan())
    doc = read(picture, scale=48)
    lines, circles, areas, texts = [], [], [], []
    for item in picture.items:
        layer = item.layer.upper()
        match item:
            case Line() if seen(item.pen):
                lines.append((layer, False, (item.start, item.end)))
            case Polyline() if seen(item.pen):
                lines.append((layer, False, item.points))
            case Polygon():
                if seen(item.pen):
                    lines.append((layer, True, item.points))
                if item.fill and item.fill.colour != WHITE:
                    areas.append((layer, round(shoelace(item.points), 3)))
            case Circle():
                if seen(item.pen):
                    circles.append((layer, item.centre, item.radius_in))
                if item.fill and item.fill.colour != WHITE:
                    areas.append((layer, round(math.pi * item.radius_in**2, 3)))
            case Text():
                texts.append((layer, item.text, item.at))
    assert min(len(lines), len(circles), len(areas), len(texts)) > 10

    def rounded(points) -> tuple:
        return tuple((round(x, 4), round(y, 4)) for x, y, *_ in points)

    found = [(one.dxf.layer, False, rounded([one.dxf.start, one.dxf.end])) for one in entities(doc, "LINE")]
    found += [(one.dxf.layer, bool(one.closed), rounded(one.vertices())) for one in entities(doc, "LWPOLYLINE")]
    assert sorted(found) == sorted((layer, closed, rounded(points)) for layer, closed, points in lines)
    round_ones = [
        (one.dxf.layer, *rounded([one.dxf.center]), round(one.dxf.radius, 6)) for one in entities(doc, "CIRCLE")
    ]
    assert sorted(round_ones) == sorted((layer, *rounded([at]), round(r, 6)) for layer, at, r in circles)
    filled = [(one.dxf.layer, round(filled_area(one.paths[0].vertices), 3)) for one in entities(doc, "HATCH")]
    assert sorted(filled) == sorted(areas)
    written = [(one.dxf.layer, one.plain_text(), *rounded([one.get_placement()[1]])) for one in entities(doc, "TEXT")]
    assert sorted(written) == sorted((layer, text, *rounded([at])) for layer, text, at in texts)


@pytest.mark.parametrize(("anchor", "halign"), [("start", 0), ("middle", 1), ("end", 2)])
def test_text_keeps_its_place_side_turn_size_and_weight(anchor: str, halign: int) -> None:
    # DXF Reference, TEXT: 72 = 0 left, 1 centre, 2 right; 73 = 0 on the base line; 40 is the height of capitals.
    item = Text(
        at=(30, 20), text="J7", height_in=4, layer="a", anchor=anchor, bold=True, turn_deg=-90, colour="#aa0000"
    )
    (text,) = entities(read(drawing(item)), "TEXT")
    assert (text.dxf.halign, text.dxf.valign, text.dxf.rotation, text.rgb) == (halign, 0, 270, (0xAA, 0, 0))
    assert text.dxf.height == pytest.approx(0.73 * 4)
    place = text.dxf.insert if anchor == "start" else text.dxf.align_point
    assert (place.x, place.y) == (30, 20)
    assert "bd" in text.doc.styles.get(text.dxf.style).dxf.font


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_stays_text_everywhere(text: str) -> None:
    dim = Dimension(start=(0, 0), end=(60, 0), offset_in=-9, text=text, height_in=3, pen=PEN, layer=text)
    items = (Text(at=(0, 0), text=text, height_in=3, layer=text), dim)
    doc = read(drawing(*items, title=text), notes=(text,))
    (first,) = entities(doc, "TEXT")
    (measured,) = entities(doc, "DIMENSION")
    (shown,) = (one for one in doc.blocks.get(measured.dxf.geometry) if one.dxftype() == "TEXT")
    (note,) = (one for one in doc.modelspace().query("TEXT") if one.dxf.layer == "NOTES")
    assert [first.plain_text(), shown.plain_text(), note.plain_text()] == [as_read(text)] * 3
    names = [one.plain_text() for one in doc.modelspace().query("TEXT") if one.dxf.layer == "DRAWING-NAMES"]
    assert " ".join(names).split() == as_read(text).split()  # in lines, broken at blanks
    assert fast_plain_mtext(measured.dxf.text) == as_read(text)
    assert not {"<>", "[]"} & {measured.dxf.text[n : n + 2] for n in range(len(measured.dxf.text))}


@given(st.text(min_size=1))
@settings(max_examples=60, deadline=None)
def test_any_text_can_be_read_back(text: str) -> None:
    dim = Dimension(start=(0, 0), end=(60, 0), offset_in=-9, text=text, height_in=3, pen=PEN, layer="d")
    doc = read(drawing(Text(at=(0, 0), text=text, height_in=3, layer=text), dim, title="t"))
    shown = as_read(text).rstrip("^")  # the reader drops carets at the end, though they are written
    assert [one.plain_text() for one in entities(doc, "TEXT")] == ([shown] if as_read(text).strip() else [])
    assert fast_plain_mtext(entities(doc, "DIMENSION")[0].dxf.text) == as_read(text)


def test_layers_have_plain_names_of_their_own_and_the_look_of_most_of_their_lines() -> None:
    thick = Pen(width_in=2 * PEN.width_in, colour="#d55e00", dash=(6, 3))
    pens = {"cables": [thick, thick, PEN], "Cables": [PEN], "wall: ä/船": [PEN], "0": [PEN], "defpoints": [PEN]}
    doc = read(
        drawing(*(Line(start=(0, 0), end=(9, 9), pen=pen, layer=layer) for layer in pens for pen in pens[layer]))
    )
    lines = entities(doc, "LINE")
    names = [line.dxf.layer for line in lines]
    assert names == [*["CABLES"] * 3, "CABLES-2", "WALL_", "0", "DEFPOINTS-2"]
    layer = doc.layers.get("CABLES")
    assert (layer.rgb, layer.dxf.lineweight) == ((0xD5, 0x5E, 0), 50)
    assert doc.linetypes.get(layer.dxf.linetype).pattern_tags.compile() == pytest.approx((6, 3))
    # 256 = by layer, -1 = by layer (DXF Reference, common group codes 62 and 370); 7 is black on white, white on black
    assert [(one.dxf.color, one.dxf.lineweight, one.dxf.linetype) for one in lines[:3]] == [
        (256, -1, "BYLAYER"),
        (256, -1, "BYLAYER"),
        (7, 25, "CONTINUOUS"),
    ]


def test_an_odd_row_of_dashes_goes_round_twice() -> None:
    # As in SVG 1.1, 11.4, stroke-dasharray.
    line = Line(start=(0, 0), end=(9, 9), pen=Pen(width_in=0.1, dash=(5, 1, 2)), layer="a")
    doc = read(drawing(line))
    found = doc.linetypes.get(doc.layers.get("A").dxf.linetype)
    assert found.pattern_tags.compile() == pytest.approx((5, 1, 2, 5, 1, 2))


@given(st.floats(-180, 180), st.sampled_from((-9.0, 9.0)), st.floats(1, 100))
@settings(max_examples=30, deadline=None)
def test_a_dimension_measures_what_the_drawing_does_and_says_what_it_says(turn: float, off: float, far: float) -> None:
    end = (far * math.cos(math.radians(turn)), far * math.sin(math.radians(turn)))
    dim = Dimension(start=(0, 0), end=end, offset_in=off, text="1' 2-3/4\"", height_in=3, pen=PEN, layer="d")
    doc = read(drawing(dim))
    (found,) = entities(doc, "DIMENSION")
    assert found.get_measurement() == pytest.approx(far)
    assert found.dxf.actual_measurement == pytest.approx(far)
    assert (found.dxf.text, found.dimtype) == ("1' 2-3/4\"", 1)
    line = (found.dxf.defpoint.x, found.dxf.defpoint.y)  # on the dimension line, over the end
    assert math.dist(line, end) == pytest.approx(abs(off))
    style = doc.dimstyles.get(found.dxf.dimstyle)
    assert (style.dxf.dimtxt, style.dxf.dimtsz > 0) == (pytest.approx(0.73 * 3), True)
    # Its picture is that of the sheets.
    block = doc.blocks.get(found.dxf.geometry)
    shown = [(*one.dxf.start, *one.dxf.end) for one in block if one.dxftype() == "LINE"]
    expected = [(*item.start, 0, *item.end, 0) for item in primitives([dim]) if isinstance(item, Line)]
    assert shown == [pytest.approx(line) for line in expected]


def test_a_hatch_is_one_hatch_whose_lines_lie_where_the_sheets_have_them() -> None:
    area = ((10, 10), (70, 10), (70, 40), (40, 60), (10, 40))
    item = Hatch(points=area, angle_deg=30, spacing_in=4, pen=PEN, layer="wood")
    (hatch,) = entities(read(drawing(item)), "HATCH")
    assert (hatch.dxf.solid_fill, hatch.dxf.layer) == (0, "WOOD")
    assert shoelace(hatch.paths[0].vertices) == pytest.approx(shoelace(area)) == pytest.approx(1800 + 600)
    (row,) = hatch.pattern.lines
    up = (-math.sin(math.radians(30)), math.cos(math.radians(30)))
    assert (row.angle, row.offset.x, row.offset.y) == pytest.approx((30, 4 * up[0], 4 * up[1]))
    # Those who know the pattern by its name alone draw the same: ANSI31 is at 45 degrees, 1/8 in apart (acad.pat).
    assert hatch.dxf.pattern_name == "ANSI31"
    assert (45 + hatch.dxf.pattern_angle, hatch.dxf.pattern_scale / 8) == (30, 4)
    ours = sorted(line.start[0] * up[0] + line.start[1] * up[1] for line in primitives([item]))
    steps = [(level - (row.base_point.x * up[0] + row.base_point.y * up[1])) / 4 for level in ours]
    assert steps == pytest.approx(range(len(steps)), abs=1e-9)


def test_areas_are_solid_and_see_through_as_far_as_they_are() -> None:
    fill = Fill(colour="#e4e4e4", opacity=0.25)
    square = Polygon(points=((0, 0), (9, 0), (9, 9), (0, 9)), pen=None, fill=fill, layer="a")
    disc = Circle(centre=(40, 40), radius_in=5, pen=None, fill=Fill(colour=BLACK), layer="a")
    hiding = Circle(centre=(40, 40), radius_in=5, pen=Pen(width_in=1, colour=WHITE), fill=Fill(colour=WHITE), layer="a")
    doc = read(drawing(square, disc, hiding))
    first, second = entities(doc, "HATCH")
    assert (first.rgb, first.dxf.solid_fill) == ((0xE4, 0xE4, 0xE4), 1)
    assert first.transparency == pytest.approx(0.75, abs=0.01)
    assert second.paths[0].vertices == [(35, 40, 1), (45, 40, 1)]  # two half circles (bulge: DXF Reference, LWPOLYLINE)
    assert len(entities(doc, "*")) == 2


def test_an_arc_goes_counter_clockwise_and_a_pen_too_wide_for_a_weight_is_an_area() -> None:
    arc = Arc(centre=(50, 50), radius_in=20, from_deg=-30, to_deg=200, pen=PEN, layer="a")
    broad = Arc(centre=(50, 50), radius_in=20, from_deg=0, to_deg=180, pen=Pen(width_in=5), layer="b")
    doc = read(drawing(arc, broad))
    (found,) = entities(doc, "ARC")
    assert (found.dxf.start_angle, found.dxf.end_angle, found.dxf.radius) == (330, 200, 20)
    (wide,) = entities(doc, "LWPOLYLINE")
    assert wide.dxf.const_width == 5
    (start, end) = wide.get_points("xyb")
    assert start == pytest.approx((70, 50, 1))
    assert end[:2] == pytest.approx((30, 50))


def test_a_symbol_is_one_block_put_in_with_its_size_and_turn() -> None:
    places = [(20.0 * n, 30.0) for n in range(len(SYMBOLS))]
    items = [
        Symbol(name=name, at=at, size_in=6, layer="boxes", turn_deg=turn)
        for turn in (0, 90)
        for name, at in zip(SYMBOLS, places, strict=True)
    ]
    doc = read(drawing(*items))
    inserts = entities(doc, "INSERT")
    assert [(one.dxf.insert.x, one.dxf.rotation, one.dxf.xscale, one.dxf.yscale) for one in inserts] == [
        (item.at[0], item.turn_deg, 6, 6) for item in items
    ]
    assert len({one.dxf.name for one in inserts}) == len(SYMBOLS)
    assert len({one.dxf.name: one for one in doc.blocks if not one.dxf.name.startswith("*")}) == len(SYMBOLS)
    for item, insert in zip(items, inserts, strict=True):
        block = doc.blocks.get(insert.dxf.name)
        assert block.block.dxf.description == SYMBOLS[item.name].words
        for part in block:
            assert part.dxf.layer == "0"  # takes the layer that it is put on
            assert part.dxf.color == 0  # and its colour
        ours = [part for part in primitives([item]) if isinstance(part, Text)]
        letters = [(one.plain_text(), one.dxf.rotation, *one.dxf.align_point) for one in insert.attribs]
        assert letters == [(text.text, 0, *text.at, 0) for text in ours]


def test_several_drawings_stand_apart_by_whole_feet_each_with_its_title() -> None:
    border = {"pen": PEN, "fill": None, "layer": "a"}
    sizes = [(200, 100), (90.5, 40), (300, 260), (17, 11), (120, 120), (60.25, 200)]
    drawings = [
        Drawing(
            title=f"sheet {n}",
            items=(Polygon(points=((5.5, 3), (5.5 + w, 3), (5.5 + w, 3 + h), (5.5, 3 + h)), **border),),
            bounds=Bounds(left=5.5, bottom=3, right=5.5 + w, top=3 + h),
        )
        for n, (w, h) in enumerate(sizes)
    ]
    doc = read(*drawings)
    frames = []
    for (w, h), frame in zip(sizes, entities(doc, "LWPOLYLINE"), strict=True):
        points = list(frame.vertices())
        (x1, y1), (x2, y2) = points[0], points[2]
        assert (x2 - x1, y2 - y1) == (w, h)
        assert ((x1 - 5.5) % 12, (y1 - 3) % 12) == (0, 0)
        frames.append((x1, y1, x2, y2))
    assert frames[0][:2] == (5.5, 3)
    for a, b in combinations(frames, 2):
        assert a[2] < b[0] or b[2] < a[0] or a[3] < b[1] or b[3] < a[1]
    names = [one for one in doc.modelspace().query("TEXT") if one.dxf.layer == "DRAWING-NAMES"]
    assert [one.plain_text() for one in names] == [f"sheet {n}" for n in range(6)]
    for name, frame in zip(names, frames, strict=True):
        assert frame[0] == name.dxf.insert.x
        x, y = name.dxf.insert.x, name.dxf.insert.y
        assert 0 < frame[1] - y < 20
        assert not [one for one in frames if one[0] <= x <= one[2] and one[1] <= y <= one[3]]


def test_a_title_longer_than_its_drawing_is_broken_and_keeps_off_its_neighbours() -> None:
    bounds = Bounds(left=0, bottom=0, right=30, top=30)
    title = "screen between the press and the barrels, as seen from its own room, south is on the right"
    edge = Polygon(points=((0, 0), (30, 0), (30, 30), (0, 30)), pen=PEN, fill=None, layer="a")
    doc = read(*(Drawing(title=title, items=(edge,), bounds=bounds) for _ in range(5)))
    names = [one for one in doc.modelspace().query("TEXT") if one.dxf.layer == "DRAWING-NAMES"]
    assert " ".join(one.plain_text() for one in names) == " ".join([title] * 5)
    areas = []
    for one in names:
        x, y = one.dxf.insert.x, one.dxf.insert.y
        wide = width_in(one.plain_text(), one.dxf.height / 0.73)
        areas.append((x, y, x + wide, y + one.dxf.height))
    areas += [(*min(line.vertices()), *max(line.vertices())) for line in entities(doc, "LWPOLYLINE")]
    assert len(areas) > 15
    for a, b in combinations(areas, 2):
        assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


def test_notes_stand_below_everything_and_all_of_it_is_in_sight_when_opened() -> None:
    doc = read(drawing(Line(start=(0, 0), end=(120, 96), pen=PEN, layer="a")), notes=("one", "two"))
    notes = [one for one in doc.modelspace().query("TEXT") if one.dxf.layer == "NOTES"]
    assert [one.plain_text() for one in notes] == ["one", "two"]
    assert max(one.dxf.insert.y for one in notes) < -40
    (window,) = doc.viewports.get("*ACTIVE")
    assert window.dxf.center.y - window.dxf.height / 2 < notes[1].dxf.insert.y
    assert window.dxf.center.y + window.dxf.height / 2 > 110


def test_a_file_without_drawings_is_a_file() -> None:
    assert len(read().modelspace()) == 0


@pytest.mark.parametrize("seed", "123")
def test_the_same_drawings_give_the_same_bytes_in_another_process(seed: str) -> None:
    code = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "import hashlib; from picture_sample import sample_plan; from barnloom.viewer.isometric import isometric\n"
        "from barnloom.viewer.dxf import to_dxf\n"
        "print(hashlib.sha256(to_dxf([(isometric(sample_plan()), 48)])).hexdigest())"
    )
    command = [sys.executable, "-c", code, str(Path(__file__).parent)]
    environment = {**os.environ, "PYTHONHASHSEED": seed}
    other = subprocess.run(command, capture_output=True, text=True, check=True, env=environment).stdout.strip()
    assert other == hashlib.sha256(to_dxf([(isometric(sample_plan()), 48)])).hexdigest()

"""The neutral drawing and its SVG."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barnloom.viewer.drawing import Bounds, Circle, Drawing, Fill, Line, Pen, Polygon, Polyline, Text
from barnloom.viewer.svg import to_svg

SVG = "{http://www.w3.org/2000/svg}"
PEN = Pen(width_in=0.5, colour="#123456", dash=(2.0, 1.0))
HOSTILE = [
    "<script>alert(1)</script>",
    "a & b &amp; c",
    "\"quoted\" 'twice'",
    "]]><!-- x -->",
    "שלום עולם",
    "\u202eturned",
    "⛵😀👩‍🌾",
    "船小屋",
    "null\x00bell\x07\x1b[31m",
    "lone \ud800 surrogate",
]


def drawing(*items, title="t") -> Drawing:
    return Drawing(title=title, items=items, bounds=Bounds(left=10, bottom=20, right=110, top=70))


def elements(drawing_: Drawing, tag: str) -> list[ET.Element]:
    return list(ET.fromstring(to_svg(drawing_, width_mm=200)).iter(SVG + tag))


def test_size_is_in_millimetres_and_the_view_in_inches():
    root = ET.fromstring(to_svg(drawing(), width_mm=200))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("200mm", "100mm", "0 0 100 50")


def test_y_goes_up_in_the_drawing_and_down_in_svg():
    (line,) = elements(drawing(Line(start=(10, 20), end=(110, 70), pen=PEN, layer="a")), "line")
    assert [float(line.get(k)) for k in ("x1", "y1", "x2", "y2")] == [0, 50, 100, 0]


def test_every_kind_of_item_is_written_with_its_pen_and_fill():
    fill = Fill(colour="#abcdef", opacity=0.25)
    d = drawing(
        Polyline(points=((10, 20), (20, 30)), pen=PEN, layer="a"),
        Polygon(points=((10, 20), (20, 20), (20, 30)), pen=None, fill=fill, layer="a"),
        Circle(centre=(60, 45), radius_in=3, pen=PEN, fill=None, layer="a"),
    )
    (polyline,), (polygon,), (circle,) = (elements(d, tag) for tag in ("polyline", "polygon", "circle"))
    assert (polyline.get("points"), polyline.get("stroke-dasharray")) == ("0,50 10,40", "2 1")
    assert (polygon.get("fill"), polygon.get("fill-opacity"), polygon.get("stroke")) == ("#abcdef", "0.25", None)
    assert (circle.get("cx"), circle.get("cy"), circle.get("r"), circle.get("fill")) == ("50", "25", "3", "none")
    assert circle.get("stroke-width") == "0.5"


def test_layers_become_groups_in_painting_order():
    names = ["floor", "cables", "floor"]
    d = drawing(*(Line(start=(10, 20), end=(20, 20), pen=PEN, layer=name) for name in names))
    assert [group.get("class") for group in elements(d, "g")] == names


def test_a_layer_can_be_left_out():
    d = drawing(*(Line(start=(10, 20), end=(20, 20), pen=PEN, layer=name) for name in "abc"))
    assert [item.layer for item in d.without("b").items] == ["a", "c"]


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_stays_text(text):
    d = drawing(Text(at=(10, 20), text=text, height_in=2, layer="a"), title=text)
    root = ET.fromstring(to_svg(d, width_mm=100).encode())
    assert {element.tag for element in root.iter()} == {SVG + "svg", SVG + "title", SVG + "g", SVG + "text"}
    expected = re.sub("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff]", "\ufffd", text)
    assert [root.find(f".//{SVG}{tag}").text for tag in ("title", "text")] == [expected, expected]


@given(st.text(min_size=1))
def test_any_text_gives_xml_that_can_be_read_back(text):
    d = drawing(Text(at=(10, 20), text=text, height_in=2, layer=text), title=text)
    (element,) = ET.fromstring(to_svg(d, width_mm=100).encode()).iter(SVG + "text")
    assert len(element.text.replace("\n", "")) == len(text.replace("\r\n", "\n").replace("\r", "\n").replace("\n", ""))


def test_fonts_are_named_and_text_is_not_outlines():
    d = drawing(Text(at=(10, 20), text="joist 7", height_in=2, layer="a", anchor="end", bold=True, turn_deg=90))
    assert "DejaVu Sans" in ET.fromstring(to_svg(d, width_mm=100)).get("font-family")
    (text,) = elements(d, "text")
    assert (text.text, text.get("text-anchor"), text.get("font-weight")) == ("joist 7", "end", "bold")
    assert text.get("transform") == "rotate(-90 0 50)"


def test_the_same_drawing_gives_the_same_bytes():
    def once() -> str:
        return to_svg(
            drawing(Circle(centre=(1 / 3, 2 / 3), radius_in=0.1, pen=PEN, fill=None, layer="a")), width_mm=99.9
        )

    assert once() == once()
    assert once().count('cy="69.3333"') == 1

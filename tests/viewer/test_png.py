"""Drawings as PNG pictures, and the lettering in them."""

from __future__ import annotations

from io import BytesIO
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from picture_sample import sample_plan
from PIL import Image
from test_drawing import HOSTILE

from barnloom.viewer.drawing import Bounds, Drawing, Fill, Polygon, Text
from barnloom.viewer.isometric import isometric
from barnloom.viewer.lettering import MISSING, drawable, lines, shortened, width_in
from barnloom.viewer.png import to_image, to_png


def written(text: str, *, bold: bool = False) -> np.ndarray:
    """Black text 20 px high on a picture of 800 x 40 px, as rows of darkness (0 to 255)."""
    item = Text(at=(10, 10), text=text, height_in=20, bold=bold, layer="a")
    drawing = Drawing(title=text, items=(item,), bounds=Bounds(left=0, bottom=0, right=800, top=40))
    return 255 - np.asarray(Image.open(BytesIO(to_png(to_image(drawing, width_px=800)))).convert("L"))


def test_picture_is_8_bit_rgb_of_the_width_asked_for():
    png = to_png(to_image(isometric(sample_plan())))
    image = Image.open(BytesIO(png))
    assert (png[:8], png[24], png[25]) == (b"\x89PNG\r\n\x1a\n", 8, 2)
    assert (image.mode, image.width) == ("RGB", 1600)


def test_the_same_drawing_gives_the_same_bytes():
    assert to_png(to_image(isometric(sample_plan()))) == to_png(to_image(isometric(sample_plan())))


def test_ground_is_white_and_colours_are_kept():
    square = Polygon(points=((0, 0), (50, 0), (50, 50), (0, 50)), pen=None, fill=Fill(colour="#0072b2"), layer="a")
    drawing = Drawing(title="", items=(square,), bounds=Bounds(left=0, bottom=0, right=100, top=50))
    image = Image.open(BytesIO(to_png(to_image(drawing, width_px=100))))
    assert (image.getpixel((25, 25)), image.getpixel((75, 25))) == ((0, 0x72, 0xB2), (255, 255, 255))


@pytest.mark.parametrize("bold", [False, True])
def test_text_is_as_wide_as_measured(bold):
    for text in ("LOFT-J7", "Circuits: 218.7 ft", "ÆØÅ ½″"):
        ink = np.nonzero(written(text, bold=bold).max(axis=0) > 60)[0]
        measured = width_in(text, 20, bold=bold)
        # The room beside the first and last sign has no ink, and some pairs stand closer.
        assert measured - 10 < ink[-1] - ink[0] < measured


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_drawn(text):
    assert written(text).max() > 128


def test_signs_that_the_font_lacks_are_shown_as_boxes():
    assert drawable("船 shed") == f"{MISSING} shed"
    assert (written("船") == written(MISSING)).all()
    assert written("船").max() > 128


@given(st.text(max_size=30))
def test_nothing_is_lost_silently(text):
    shown = drawable(text)
    assert len(shown) == len(text)
    assert drawable(shown) == shown
    assert width_in(shown, 1.0) == pytest.approx(sum(width_in(sign, 1.0) for sign in shown))


def test_every_sign_that_counts_as_drawable_leaves_ink():
    signs = "½⅓⅔¼¾⅛⅜⅝⅞′″⌀☐☑×–—°→←↑↓▲△…§éßłğøåשعΩЖ"
    assert drawable(signs) == signs
    for sign in signs:
        assert written(sign).max() > 100, sign


def test_long_text_is_shortened_to_its_room():
    text = "a boat shed with a sail loft over it"
    short = shortened(text, 10, 120)
    assert short.endswith("…")
    assert width_in(short, 10) <= 120
    assert shortened(text, 10, 1e6) == text


def test_lines_keep_every_word_and_fit_their_room():
    words = "Boxes without a route: " + ", ".join(f"lamp-{i}" for i in range(9))
    broken = lines(words, 10, 150)
    assert " ".join(broken) == words
    assert all(width_in(line, 10) <= 150 for line in broken)
    assert all(width_in(f"{a} {b.split()[0]}", 10) > 150 for a, b in pairwise(broken))


@pytest.mark.parametrize("height", [301, 901, 1330, 1396, 1495, 1711])
def test_every_row_of_pixels_is_there(height):
    stripes = tuple(
        Polygon(points=((0, y), (1600, y), (1600, y + 1), (0, y + 1)), pen=None, fill=Fill(colour="#000000"), layer="a")
        for y in range(0, height, 2)
    )
    drawing = Drawing(title="", items=stripes, bounds=Bounds(left=0, bottom=0, right=1600, top=height))
    opaque = np.asarray(to_image(drawing))[::-1, 50, 3]
    assert opaque.shape == (height,)
    assert (opaque[0::2] > 200).all()
    assert (opaque[1::2] < 50).all()

"""The pack as a PDF, read back by another program: pages, true measures, every number, hostile text."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from pypdf import PageObject, PdfReader
from pypdf.generic import ContentStream

from barnloom.model import read_building
from barnloom.model.lengths import format_length
from barnloom.routing import Plan, plan_building
from barnloom.viewer.drawing import Bounds, Drawing, Line, Pen
from barnloom.viewer.drawings.paper import Paper
from barnloom.viewer.sheets.blocks import Figure, Sheet, Words
from barnloom.viewer.sheets.pack import pack_sheets, permit_sheets
from barnloom.viewer.sheets.typeset import room_mm, to_pdf
from barnloom.viewer.sheets.windows import OVERLAP_MM, windows

SCENES = Path(__file__).parents[3] / "scenes"
POINTS_PER_MM = 72 / 25.4
LETTER, A4 = (612.0, 792.0), (595.28, 841.89)
"""Points: ANSI Y14.1 size A, ISO 216."""
HOSTILE = ["<script>", "#strong[x]", "$ x^2 $", "\\ #set page()", '"quoted"', "]]", "שלום", "😀", "a\x00b"]


@cache
def planned(name: str = "garden-studio") -> Plan:
    return plan_building(read_building(SCENES / f"{name}.yaml"), effort="quick")


@cache
def pack(name: str, paper: str) -> bytes:
    plan = planned(name)
    return to_pdf(plan, pack_sheets(plan, paper), paper=paper)


def segments(page: PageObject) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    """Straight lines of a page in points of paper: what the content stream draws, through every matrix it sets."""
    forms = page["/Resources"].get("/XObject", {})
    yield from _segments(ContentStream(page.get_contents(), page.pdf), forms, np.eye(3), page)


def _segments(content, forms, matrix, page):
    stack, at = [], (0.0, 0.0)
    for operands, operator in content.operations:
        if operator == b"q":
            stack.append(matrix)
        elif operator == b"Q":
            matrix = stack.pop()
        elif operator == b"cm":
            a, b, c, d, e, f = map(float, operands)
            matrix = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ matrix
        elif operator in (b"m", b"l"):
            x, y, _ = np.array([float(operands[0]), float(operands[1]), 1.0]) @ matrix
            if operator == b"l":
                yield at, (float(x), float(y))
            at = (float(x), float(y))
        elif operator == b"Do" and operands[0] in forms:
            form = forms[operands[0]].get_object()
            if form.get("/Subtype") == "/Form":
                own = np.array([[*map(float, row), last] for row, last in _rows(form.get("/Matrix"))])
                inner = form.get("/Resources", {}).get("/XObject", {})
                yield from _segments(ContentStream(form, page.pdf), inner, own @ matrix, page)


def _rows(matrix):
    a, b, c, d, e, f = matrix or (1, 0, 0, 1, 0, 0)
    return ((a, b), 0.0), ((c, d), 0.0), ((e, f), 1.0)


def lengths(page: PageObject) -> list[float]:
    return [float(np.hypot(b[0] - a[0], b[1] - a[1])) for a, b in segments(page)]


@pytest.mark.parametrize(("paper", "size"), [("letter", LETTER), ("a4", A4)])
def test_pages_are_letter_or_a4_and_carry_a_line_that_is_true(paper: str, size: tuple[float, float]) -> None:
    reader = PdfReader(io.BytesIO(pack("garden-studio", paper)))
    assert len(reader.pages) > 10
    for page in reader.pages:
        assert sorted((float(page.mediabox.width), float(page.mediabox.height))) == pytest.approx(size, abs=0.02)
        # 4 in are 288 points; within 0.5 mm
        assert any(abs(long - 288.0) < 0.5 * POINTS_PER_MM for long in lengths(page))
        assert "4 in when printed at 100 %" in page.extract_text()


def test_a_metric_job_has_a_line_of_100_mm() -> None:
    reader = PdfReader(io.BytesIO(pack("cider-mill", "a4")))
    for page in reader.pages:
        assert any(abs(long - 100 * POINTS_PER_MM) < 0.5 * POINTS_PER_MM for long in lengths(page))
        assert "100 mm when printed at 100 %" in page.extract_text()


@pytest.mark.parametrize("scale", [1, 24, 48])
def test_drawings_are_to_scale_on_paper(scale: int) -> None:
    # 192 in at 1:24 are 203.2 mm; measured in the PDF
    long = 6.0 * scale
    pen = Pen(width_in=0.001 * scale)
    line = Line(start=(0, 0), end=(long, 0), pen=pen, layer="a")
    bounds = Bounds(left=-scale * 0.1, bottom=-scale, right=long + scale * 0.1, top=scale)
    drawing = Drawing(title="t", items=(line,), bounds=bounds)
    sheet = Sheet(number="X1", title="t", blocks=[Figure(drawing=drawing, paper=Paper(scale=scale))])
    reader = PdfReader(io.BytesIO(to_pdf(planned(), [sheet], paper="letter")))
    assert any(abs(one - 6.0 * 72) < 0.2 for one in lengths(reader.pages[0]))


@pytest.mark.parametrize("name", ["garden-studio", "cider-mill"])
def test_every_hole_cable_and_box_is_somewhere_in_the_pack(name: str) -> None:
    plan = planned(name)
    reader = PdfReader(io.BytesIO(pack(name, "a4")))
    text = " ".join("\n".join(page.extract_text() for page in reader.pages).split())
    joined = text.replace(" ", "")
    for one in plan.building.boxes:
        assert one.id in text
    for cable in plan.cables:
        assert cable.id in joined
        assert format_length(cable.cut_in, metric=plan.building.metric).replace(" ", "") in joined
    for bore in plan.bores:
        if not bore.existing:
            assert format_length(bore.along_in, metric=plan.building.metric).replace(" ", "") in joined
    for sheet in pack_sheets(plan, "a4"):
        assert sheet.number in text
    assert "\x00" not in text


def test_the_same_plan_gives_the_same_bytes() -> None:
    plan = planned()
    assert to_pdf(plan, pack_sheets(plan, "letter"), paper="letter") == pack("garden-studio", "letter")


@pytest.mark.parametrize("text", HOSTILE)
def test_text_of_a_scene_is_never_read_as_markup(text: str) -> None:
    plan = planned()
    plan = replace(plan, building=replace(plan.building, title=text))
    sheet = Sheet(number="X1", title=text, blocks=[Words(text=text)])
    reader = PdfReader(io.BytesIO(to_pdf(plan, [sheet], paper="letter")))
    assert len(reader.pages) == 1
    said = reader.pages[0].extract_text()
    if text.isascii() and text.isprintable():
        assert said.count(text) == 3
    assert "\x00" not in said


def test_a_permit_set_is_a_few_sheets_of_the_same_pack() -> None:
    plan = planned()
    numbers = [sheet.number for sheet in pack_sheets(plan, "letter")]
    few = [sheet.number for sheet in permit_sheets(plan, "letter")]
    assert set(few) <= set(numbers)
    reader = PdfReader(io.BytesIO(to_pdf(plan, permit_sheets(plan, "letter"), paper="letter")))
    assert 4 <= len(reader.pages) <= 8


# --- drawings larger than their sheet --------------------------------------------------------------------------------


def test_a_large_drawing_is_broken_with_match_lines_and_nothing_is_lost() -> None:
    paper = Paper(scale=48)
    room = room_mm("letter", landscape=True)
    bounds = Bounds(left=-10.0, bottom=0.0, right=1490.0, top=700.0)
    parts = windows(Drawing(title="t", items=(), bounds=bounds), paper, room)
    # 1500 in and 700 in at 1:48 are 793.8 and 370.4 mm; 243.4 and 163.9 are free besides what is shown twice: 4 by 3
    assert len(parts) == 12
    for part in parts:
        assert paper.width_mm(part.bounds) <= room[0] + 1e-6
        assert paper.height_mm(part.bounds) <= room[1] + 1e-6
    rng = np.random.default_rng(0)
    for x, y in rng.uniform((-10, 0), (1490, 700), (500, 2)):
        seen = [p for p in parts if p.bounds.left <= x <= p.bounds.right and p.bounds.bottom <= y <= p.bounds.top]
        assert seen
    assert OVERLAP_MM > 0


def test_a_drawing_that_fits_is_whole() -> None:
    drawing = Drawing(title="t", items=(), bounds=Bounds(left=0, bottom=0, right=400, top=300))
    assert windows(drawing, Paper(scale=48), (250.0, 170.0)) == [drawing]

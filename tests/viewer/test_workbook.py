"""The workbook read back by openpyxl; every formula worked out again here, and compared with the plan's own sums."""

from __future__ import annotations

import io
import math
import os
import re
import subprocess
import sys
import zipfile
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet
from sample_plan import sample_plan
from wired_sample import wired_plan

from barnloom.model import build, read_scene
from barnloom.model.building import Answer
from barnloom.routing import Plan, plan_building
from barnloom.viewer import totals
from barnloom.viewer.cautions import CAUTIONS
from barnloom.viewer.takeoff import takeoff_rows
from barnloom.viewer.workbook import workbook

SCENES = Path(__file__).parents[2] / "scenes"
SHEETS = ["Read first", "Takeoff", "Coils", "Totals", "Cables", "Holes", "Boxes", "Fill", "Circuits"]
HOSTILE = [
    "=1+1",
    "@SUM(A1)",
    "+cmd|' /C calc'!A0",
    "-2",
    "{=A1}",
    "http://example.invalid",
    "12/2",
    "1e5",
    "_x0041_",
    "<b>&amp;",
    "船小屋 ⛵😀",
    "null\x00 bell\x07 lone\ud800 ends\ufffe",
    "&L&P &16",
    "x" * 40_000,
]


@cache
def planned(name: str) -> Plan:
    if name.startswith("sample"):
        plan = wired_plan()
        done = tuple(replace(cable, done=n == 1) for n, cable in enumerate(plan.cables))
        return replace(plan, cables=done, building=replace(plan.building, metric=name.endswith("metric")))
    return plan_building(build(read_scene(SCENES / f"{name}.yaml").scene), effort="quick")


@pytest.fixture(scope="module", params=["sample", "sample metric", "garden-studio", "cider-mill"])
def plan(request: pytest.FixtureRequest) -> Plan:
    return planned(request.param)


def read(plan: Plan, *, values: bool = False) -> Workbook:
    return openpyxl.load_workbook(io.BytesIO(workbook(plan)), data_only=values)


def table(page: Worksheet) -> list[dict[str, object]]:
    """Rows below the headings, by heading; without the foot."""
    first, last = re.findall(r"\d+", page.auto_filter.ref)
    head, *rows = page.iter_rows(min_row=int(first), max_row=int(last), values_only=True)
    return [dict(zip(head, row, strict=True)) for row in rows if any(cell is not None for cell in row)]


def foot(page: Worksheet) -> dict[str, object]:
    """By heading, the line under the table."""
    first, last = (int(row) for row in re.findall(r"\d+", page.auto_filter.ref))
    return dict(zip(*(next(page.iter_rows(n, n, values_only=True)) for n in (first, last + 1)), strict=True))


class Calculator:
    """Works formulas out by Python, from the cells alone (ECMA-376 part 1, 18.17: what the functions mean)."""

    CELL = re.compile(r"(?:(\w+)!)?(\$?[A-Z]{1,2}\$?\d+)(?::(\$?[A-Z]{1,2}\$?\d+))?(?![\w(])")

    def __init__(self, book: Workbook) -> None:
        self.book = book

    def value(self, page: Worksheet, place: str) -> object:
        found = page[place].value
        return self.result(page, found) if isinstance(found, str) and found.startswith("=") else found

    def result(self, page: Worksheet, formula: str) -> object:
        def reference(match: re.Match[str]) -> str:
            name, first, last = match.groups()
            return f"cells({name or page.title!r:}, {first!r}, {last!r})".replace(f"({name},", f"({name!r},")

        text = self.CELL.sub(reference, formula[1:])
        text = re.sub(r"(?<![<>=])=(?!=)", "==", text).replace("IF(", "IF_(")
        names = {"SUM": self.sum, "SUBTOTAL": self.subtotal, "ROUND": self.round, "MAX": max, "IF_": self.if_}
        names |= {"SUMPRODUCT": self.sum, "EXACT": lambda a, b: np.array([x == b for x in a])}
        return eval(text, {"__builtins__": {}}, names | {"cells": self.cells})

    def cells(self, name: str, first: str, last: str | None) -> object:
        page = self.book[name]
        if last is None:
            value = self.value(page, first.replace("$", ""))
            return "" if value is None else value
        span = page[f"{first}:{last}".replace("$", "")]
        values = [self.value(page, cell.coordinate) for row in span for cell in row]
        if all(value is None or isinstance(value, int | float) for value in values):
            return np.array([value or 0 for value in values], dtype=float)
        return np.array(["" if value is None else value for value in values], dtype=object)

    @staticmethod
    def sum(values: np.ndarray) -> float:
        return math.fsum(value for value in values if isinstance(value, int | float | np.number))

    @staticmethod
    def subtotal(kind: int, values: np.ndarray) -> float:
        return Calculator.sum(values) if kind == 9 else sum(value != "" for value in values)

    @staticmethod
    def round(value: float | str, digits: int) -> float | str:
        """Halves away from nought, as spreadsheets do it; what is not chosen by IF may be no number."""
        if isinstance(value, str):
            return value
        return math.copysign(math.floor(abs(value) * 10**digits + 0.5 + 1e-9) / 10**digits, value)

    @staticmethod
    def if_(test: bool, yes: object, no: object) -> object:
        return yes if test else no


def test_every_formula_comes_to_the_value_that_is_written_with_it(plan: Plan) -> None:
    book, shown = read(plan), read(plan, values=True)
    calculator, count = Calculator(book), 0
    for page in book:
        for row in page.iter_rows():
            for cell in row:
                if isinstance(cell.value, str) and cell.data_type == "f":
                    count += 1
                    found = calculator.value(page, cell.coordinate)
                    cached = shown[page.title][cell.coordinate].value
                    where = f"{page.title} {cell.coordinate} {cell.value}"
                    # Cut off from a coil, feet are kept to more places than they are printed with.
                    off = 2e-3 if page.title == "Coils" else 2e-4
                    expected = pytest.approx(cached, abs=off) if isinstance(cached, int | float) else (cached or "")
                    assert found == expected, where
    assert count > 30


def metres_or_feet(plan: Plan, feet: object) -> float:
    return float(str(feet)) * (0.3048 if plan.building.metric else 1)


def test_sums_are_those_of_the_plan(plan: Plan) -> None:
    book = read(plan, values=True)
    unit, small = ("m", "mm") if plan.building.metric else ("ft", "in")
    shares = {(share.by, share.name): share for share in totals.shares(plan)}
    rows = {(row["by"], row["name"]): row for row in table(book["Totals"])}
    assert rows.keys() == shares.keys()
    for key, share in shares.items():
        assert rows[key][f"cable, {unit}"] == pytest.approx(metres_or_feet(plan, share.feet), abs=1e-3)
        assert rows[key][f"of it to buy, {unit}"] == pytest.approx(metres_or_feet(plan, share.feet_to_buy), abs=1e-3)
        assert rows[key]["holes"] == share.holes
    total = shares["total", "total"].feet
    assert foot(book["Cables"])[f"cut, {unit}"] == pytest.approx(metres_or_feet(plan, total), abs=1e-3)
    cut = math.fsum(cable.cut_in for cable in plan.cables) * (25.4 if plan.building.metric else 1)
    assert foot(book["Cables"])[f"cut, {small}"] == pytest.approx(cut, abs=1e-3)
    if plan.bores:
        assert foot(book["Holes"])["member"] == len(plan.bores)
        assert foot(book["Holes"])["nail plates"] == sum(len(bore.nail_plates) for bore in plan.bores)
    price = math.fsum(row["price"] for row in takeoff_rows(plan) if row["price"] is not None)
    assert foot(book["Takeoff"])["price"] == pytest.approx(price, abs=0.005)
    filled = {row["box"]: row["together, cu in"] for row in table(book["Fill"]) if row["what"] == "total"}
    assert filled == pytest.approx({made.box: made.fill_in3 for made in plan.makeups if made.fill})
    boxes = {row["box"]: row["filled, cu in"] for row in table(book["Boxes"]) if row["filled, cu in"] is not None}
    assert boxes == pytest.approx(filled)


def test_every_cable_and_hole_stands_there_as_numbers_and_as_a_tape_reads_them(plan: Plan) -> None:
    book = read(plan, values=True)
    by, unit = (25.4, "mm") if plan.building.metric else (1, "in")
    cables = {row["cable"]: row for row in table(book["Cables"])}
    assert cables.keys() == {cable.id for cable in plan.cables}
    for cable in plan.cables:
        row = cables[cable.id]
        assert (row["type"], row["from"], row["to"]) == (cable.type, cable.from_box, cable.to_box)
        assert row[f"path, {unit}"] == pytest.approx(cable.path_in * by, abs=1e-5)
        assert row[f"cut, {unit}"] == pytest.approx(cable.cut_in * by, abs=1e-5)
    holes = table(book["Holes"])
    assert [row["hole"] for row in holes] == [bore.id for bore in plan.bores]
    for bore, row in zip(plan.bores, holes, strict=True):
        places = ("along", "aim across", "allowed from", "allowed to", "bit")
        values = (bore.along_in, bore.across_in, bore.across_min_in, bore.across_max_in, bore.diameter_in)
        assert [row[f"{place}, {unit}"] for place in places] == pytest.approx([value * by for value in values])
        assert row["cables"].split() == sorted(bore.cables) or len(bore.cables) > 1
    assert [row["box"] for row in table(book["Boxes"])]


def test_a_length_on_the_tape_is_feet_inches_and_sixteenths_or_millimetres() -> None:
    us, metric = (
        {row["cable"]: row["cut, on the tape"] for row in table(read(planned(name), values=True)["Cables"])}
        for name in ("sample", "sample metric")
    )
    for cable in planned("sample").cables:
        feet, inches, part = re.fullmatch(r"(?:(\d+)' )?(\d+)?-?(\d+/\d+)?\"", us[cable.id]).groups()
        above, _, below = (part or "0/1").partition("/")
        whole = 12 * int(feet or 0) + int(inches or 0) + int(above) / int(below)
        assert whole == pytest.approx(cable.cut_in, abs=1 / 32 + 1e-6)
        assert int(metric[cable.id].removesuffix(" mm")) == pytest.approx(cable.cut_in * 25.4, abs=0.5 + 1e-6)


def test_numbers_are_numbers_and_text_is_text(plan: Plan) -> None:
    words = {"cable", "circuit", "type", "from", "to", "box", "title", "hole", "member", "name", "item", "size", "unit"}
    for page in read(plan, values=True):
        for row in table(page):
            for heading, value in row.items():
                if heading in words:
                    assert value is None or isinstance(value, str), (page.title, heading, value)
                elif re.search(r", (in|ft|mm|m|A|VA|%|cu in)$", heading):
                    assert value is None or isinstance(value, int | float), (page.title, heading, value)


def test_changing_a_price_changes_the_sum() -> None:
    book = read(planned("sample"))
    page, calculator = book["Takeoff"], Calculator(book)
    names = {cell.value: get_column_letter(cell.column) for cell in page[1]}
    price, last = names["price of one (yours to change)"], page.max_row
    total = f"{names['price']}{last}"
    before = calculator.value(page, total)
    known = next(n for n in range(2, last) if page[f"{price}{n}"].value is not None)
    unknown = next(n for n in range(2, last) if page[f"{names['item']}{n}"].value == "light")
    assert page[f"{price}{unknown}"].value is None
    page[f"{price}{known}"].value += 2
    page[f"{price}{unknown}"].value = 10
    gained = 2 * page[f"{names['quantity']}{known}"].value + 10 * page[f"{names['quantity']}{unknown}"].value
    assert calculator.value(page, total) == pytest.approx(before + gained, abs=0.011)
    assert page[f"{price}{known}"].protection.locked is False


def test_cautions_questions_and_assumptions_come_first() -> None:
    answers = (
        Answer(question="kind: What is it?", answer="farm", assumed=True),
        Answer(question="permit: Is one needed?", answer="yes", assumed=False, who="the office", when="2026-05-04"),
    )
    base = sample_plan(assumptions=("ends bear 1-1/2 in",), warnings=("look here",))
    book = read(replace(base, building=replace(base.building, answers=answers)))
    assert book.sheetnames == SHEETS
    page = book["Read first"]
    assert page["A1"].value == base.building.title
    rows = table(page)
    assert [row["in words"] for row in rows if row["what"] == "caution"] == list(CAUTIONS)
    by_kind = {row["what"]: row for row in rows}
    assert by_kind["open question"]["answer"] == "not answered; planned as: farm"
    assert by_kind["question"]["who says so"] == "the office"
    assert by_kind["assumed"]["in words"] == "ends bear 1-1/2 in"
    assert "look here" in [row["in words"] for row in rows if row["what"] == "warning"]
    assert any("FAR" in row["in words"] for row in rows if row["what"] == "not reached")


def test_sheets_can_be_filtered_and_printed() -> None:
    for name, paper in (("sample", 1), ("sample metric", 9)):  # ECMA-376, 18.3.1.63: 1 letter, 9 A4
        for page in read(planned(name)):
            first = int(re.findall(r"\d+", page.auto_filter.ref)[0])
            assert page.freeze_panes == f"B{first + 1}"
            assert page.print_title_rows == f"${first}:${first}"
            assert (page.page_setup.fitToWidth or 1, page.page_setup.fitToHeight) == (1, 0)  # 1 goes without saying
            assert page.sheet_properties.pageSetUpPr.fitToPage
            assert int(page.page_setup.paperSize) == paper
            assert page.oddFooter.left.text == planned(name).building.title
            assert "&P" in page.oddFooter.right.text.replace("&[Page]", "&P")
            assert CAUTIONS[0] in page.oddHeader.left.text
            assert all(cell.font.b for cell in page[first] if cell.value)
    landscape = {page.title: page.page_setup.orientation for page in read(planned("sample"))}
    assert (landscape["Cables"], landscape["Totals"]) == ("landscape", "portrait")


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_stays_text(text: str) -> None:
    plan = planned("sample")
    building = replace(
        plan.building,
        title=text,
        boxes=tuple(replace(box, title=text) for box in plan.building.boxes),
        circuits=tuple(replace(circuit, title=text) for circuit in plan.building.circuits),
    )
    data = workbook(replace(plan, building=building, warnings=(text,)))
    book = openpyxl.load_workbook(io.BytesIO(data))
    expected = " ".join(re.sub("[\x00-\x1f\ud800\ufffe]", " ", text).split())[:32_000]
    cells = [book["Read first"]["A1"], *book["Boxes"]["B"][1:2], *book["Circuits"]["B"][1:2]]
    cells += [cell for cell in book["Read first"]["B"] if cell.value == expected]
    assert len(cells) == 4
    for cell in cells:
        assert (cell.value, cell.data_type, cell.hyperlink) == (expected, "s", None)
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        footer = re.search("<oddFooter>(.*?)</oddFooter>", archive.read("xl/worksheets/sheet2.xml").decode())[1]
    assert len(footer) < 255
    assert footer.endswith("&amp;Rpage &amp;P of &amp;N")
    assert "&amp;L&amp;&amp;L&amp;&amp;P" in footer or not text.startswith("&L")


def test_a_plan_without_cables_or_holes_is_a_workbook_still() -> None:
    plan = replace(planned("sample"), cables=(), bores=(), makeups=(), circuits=())
    book = read(plan)
    assert book.sheetnames == SHEETS
    assert table(book["Holes"]) == []


def test_the_same_plan_gives_the_same_bytes_in_another_process() -> None:
    code = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "from wired_sample import wired_plan; from barnloom.viewer.workbook import workbook\n"
        "sys.stdout.buffer.write(workbook(wired_plan()))"
    )
    command = [sys.executable, "-c", code, str(Path(__file__).parent)]
    other = subprocess.run(command, capture_output=True, check=True, env={**os.environ, "TZ": "Pacific/Auckland"})
    assert other.stdout == workbook(wired_plan())

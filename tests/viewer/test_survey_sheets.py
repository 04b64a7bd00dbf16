"""Survey sheets, read back by another program: a page a wall and a ceiling, room to write, marks, the same as text."""

from __future__ import annotations

import io
import json
import re
from functools import cache
from pathlib import Path

import pytest
from pypdf import PageObject, PdfReader
from pypdf.generic import ContentStream

from barnloom.model.errors import InputError
from barnloom.model.scene.half import half_text
from barnloom.model.survey.blank import blank_scene
from barnloom.model.survey.survey import Survey, survey, survey_of
from barnloom.viewer.survey.sheets import blank_survey, survey_pdf, survey_sheets
from barnloom.viewer.survey.told import survey_data, survey_text

SCENES = Path(__file__).parents[2] / "scenes"
NAMES = ("cider-mill", "garden-studio", "sail-loft", "sheep-shed")
LETTER, A4 = (612.0, 792.0), (595.28, 841.89)
"""Points: ANSI Y14.1 size A, ISO 216."""
POINTS_PER_MM = 72 / 25.4
BEARINGS = 'bearings: [{at: 0, width: 3-1/2"}, {at: 11\' 8-1/2", width: 3-1/2"}]'
HALF = (
    ("    length: 36'\n", "    length: 36' 3\"\n"),
    ("    length: 24'\n    height: 9' 1-1/8\"", "    length: 24'\n    height: ?"),
    (
        '    studs: {every: 16"}\n    bearing: yes\n    lining: later',
        '    studs: {at: [0, 15", ?, 47", 63", 95"]}\n    bearing: yes\n    lining: later',
    ),
    ('section: 5-1/4" x 9-1/4"', "section: ?"),
)


def surveyed(text: str) -> Survey:
    return survey_of(half_text(text, Path("half.yaml")))


@cache
def half_filled() -> Survey:
    text = (SCENES / "sail-loft.yaml").read_text(encoding="utf-8")
    for old, new in HALF:
        assert old in text
        text = text.replace(old, new, 1)
    return surveyed(text[: text.index("# along: from the wall's start to the middle of the box")])


@cache
def printed(name: str, paper: str) -> PdfReader:
    if name == "blank":
        raw = blank_survey(storeys=2, width_in=432.0, depth_in=288.0, paper=paper)
    else:
        found = half_filled() if name == "half" else survey(SCENES / f"{name}.yaml")
        raw = survey_pdf(found, paper=paper)
    return PdfReader(io.BytesIO(raw))


@cache
def pages(name: str, paper: str = "letter") -> tuple[str, ...]:
    return tuple(" ".join(page.extract_text().split()) for page in printed(name, paper).pages)


def page_of(name: str, sheet: str) -> str:
    """Text of all pages of a sheet, by its number at the head."""
    found = [text for text in pages(name) if re.search(rf"\b{sheet} ", text[:80])]
    assert found, sheet
    return " ".join(found)


def rules(page: PageObject) -> list[float]:
    """Heights (mm) of level lines straight on a page, the ruling of tables, from the top down."""
    heights, at, matrix, stack = set(), (0.0, 0.0), [1.0, 0.0, 0.0, 1.0, 0.0, 0.0], []
    for operands, operator in ContentStream(page.get_contents(), page.pdf).operations:
        if operator == b"q":
            stack.append(matrix)
        elif operator == b"Q":
            matrix = stack.pop()
        elif operator == b"cm":
            a, b, c, d, e, f = map(float, operands)
            m = matrix
            matrix = [
                a * m[0] + b * m[2],
                a * m[1] + b * m[3],
                c * m[0] + d * m[2],
                c * m[1] + d * m[3],
                e * m[0] + f * m[2] + m[4],
                e * m[1] + f * m[3] + m[5],
            ]
        elif operator in (b"m", b"l"):
            x, y = float(operands[0]), float(operands[1])
            place = x * matrix[0] + y * matrix[2] + matrix[4], x * matrix[1] + y * matrix[3] + matrix[5]
            if operator == b"l" and abs(place[1] - at[1]) < 0.01 and abs(place[0] - at[0]) > 20:
                heights.add(round(place[1] / POINTS_PER_MM, 2))
            at = place
    return sorted(heights, reverse=True)


# --- blank -----------------------------------------------------------------------------------------------------------


def test_blank_sheets_have_a_page_for_every_wall_and_ceiling() -> None:
    heads = [re.search(r"\b([A-Z][0-9]+) ", text[:60]) for text in pages("blank")]
    numbers = list(dict.fromkeys(head[1] for head in heads if head))
    walls = [f"W{number}" for number in range(1, 9)]  # four sides, two storeys
    assert numbers == ["S1", "S2", "S3", *walls, "C1", "C2", "R1", "T1", "E1", "E2", "P1"]
    assert "wall NORTH-2" in page_of("blank", "W7")
    assert "36' 0\"" in page_of("blank", "W1")
    assert "draw an arrow: which way the joists run" in page_of("blank", "C1")


def test_blank_sheets_carry_no_marks_and_beware_of_what_hurts() -> None:
    text = " ".join(pages("blank"))
    assert "►" not in text
    assert "▲" not in text
    for word in (
        "Nothing live",
        "Stored energy",
        "Ladders",
        "count as live",
        "asbestos",
        "lead",
        "Hook the tape",
        "diagonals",
    ):
        assert word in text, word


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_hand_in_a_glove_can_write_in_the_rows(paper: str) -> None:
    reader = printed("blank", paper)
    back = next(page for page in reader.pages if "W1 " in page.extract_text() and "50" in page.extract_text())
    heights = rules(back)
    steps = [a - b for a, b in zip(heights, heights[1:], strict=False)]
    rows = [step for step in steps if 7.0 <= step <= 9.5]
    assert len(rows) >= 25  # 50 studs, two to a row
    assert min(rows) >= 7.4


@pytest.mark.parametrize(
    ("name", "paper"), [(name, paper) for name in ("blank", "half", *NAMES) for paper in ("letter", "a4")]
)
def test_pages_are_the_papers_size_and_all_text_is_on_them(name: str, paper: str) -> None:
    size = LETTER if paper == "letter" else A4
    for page in printed(name, paper).pages:
        wide, high = float(page.mediabox.width), float(page.mediabox.height)
        assert sorted((wide, high)) == pytest.approx(size, abs=0.02)
        places: list[tuple[float, float]] = []

        def note(text: str, cm: list[float], tm: list[float], font: object, points: float, to: list = places) -> None:
            if text.strip():
                x, y = tm[4], tm[5]
                to.append((x * cm[0] + y * cm[2] + cm[4], x * cm[1] + y * cm[3] + cm[5]))

        page.extract_text(visitor_text=note)
        assert places
        assert all(10 < x < wide - 10 and 10 < y < high - 10 for x, y in places)


def test_the_blank_scene_asks_what_the_blank_sheets_ask() -> None:
    text = blank_scene(storeys=2, width_in=432.0, depth_in=288.0)
    marks = sum(len(re.findall(r"[:\[,] \?|\[\?", line)) for line in text.splitlines() if not line.startswith("#"))
    half = half_text(text, Path("blank.yaml"))
    assert len(half.missing) == marks
    assert half.faults == ()


def test_a_blank_scene_filled_in_is_a_scene_that_closes() -> None:
    text = blank_scene(width_in=240.0, depth_in=144.0)  # 20 ft by 12 ft: the diagonal is sqrt(544) ft = 23 ft 3-7/8 in
    values = {
        "title: ?": "title: shed",
        "height: ?": "height: 8'",
        "studs: {at: [?]}": 'studs: {every: 16"}',
        "bearing: ?": "bearing: yes",
        "bottom: ?": "bottom: 8'",
        "joists: {section: ?, run: ?, at: [?]}": 'joists: {section: 2x8, run: depth, every: 16"}',
        "bearings: [{at: ?, width: ?}, {at: ?, width: ?}]": BEARINGS,
        "subfloor: ?": 'subfloor: 3/4"',
        "kind: ?": "kind: gable",
        "plate: ?": "plate: 8'",
        "pitch: ?": "pitch: 8/12",
        "overhang: ?": "overhang: 0",
        "rafters: {section: ?, at: [?]}": 'rafters: {section: 2x6, every: 24"}',
        "section: ?": "section: 2x4",
        "length: ?": "length: 23' 3-7/8\"",
    }
    for mark, value in values.items():
        assert mark in text
        text = text.replace(mark, value)
    for start in ("[20', 0]", "[20', 12']", "[0, 12']"):
        text = text.replace("start: ?", f"start: {start}", 1)
    assert {finding.kind for finding in surveyed(text).findings} == {"assumed"}


@pytest.mark.parametrize("wrong", [{"storeys": 0}, {"storeys": 5}, {"walls": 2}])
def test_a_blank_survey_of_too_much_or_nothing_is_refused(wrong: dict[str, int]) -> None:
    with pytest.raises(InputError):
        blank_survey(**wrong)  # type: ignore[arg-type]


# --- from a scene ----------------------------------------------------------------------------------------------------


def test_what_is_missing_is_marked_and_all_else_printed() -> None:
    found = {finding.where: number for number, finding in enumerate(half_filled().findings, start=1)}
    east = page_of("half", "W2")
    assert east.count(f"► {found['walls', 'EAST', 'height']} ") == 2  # in its place, and in words below
    assert "24' 0\"" in east
    assert "measure from the underside of the sole plate to the top of the top plate" in east
    north = page_of("half", "W3")
    assert north.count(f"► {found['walls', 'NORTH', 'studs', 'at', 2]} ") == 2
    for known in ("1' 3\"", "3' 11\"", "5' 3\"", "7' 11\""):  # 15, 47, 63 and 95 in
        assert known in north
    assert f"► {found['timbers', 'GIRDER', 'section']}" in page_of("half", "T1")


def test_what_does_not_close_is_marked_where_it_is() -> None:
    found = {finding.where: number for number, finding in enumerate(half_filled().findings, start=1)}
    sign = f"▲ {found['walls', 'SOUTH', 'length']}"
    for sheet in ("S2", "W1", "W2"):
        assert sign in page_of("half", sheet)
    assert 'corner of SOUTH and EAST is open by 3"' in page_of("half", "F1")


@pytest.mark.parametrize("name", ["half", *NAMES])
def test_list_text_and_data_say_the_same(name: str) -> None:
    found = half_filled() if name == "half" else survey(SCENES / f"{name}.yaml")
    data = json.loads(json.dumps(survey_data(found)))
    assert sum(data["counts"].values()) == len(data["findings"]) == len(found.findings)
    told = " ".join(survey_text(found).split())
    sheet = page_of(name, "F1").replace(" ", "")
    for one in data["findings"]:
        assert one["where"] in told.replace(" ", "")
        assert f"line {one['line']}" in told
        assert one["measure"] in told
        assert one["measure"].replace(" ", "") in sheet
    assert max(map(len, survey_text(found).splitlines())) <= 100


@pytest.mark.parametrize("name", NAMES)
def test_every_wall_floor_roof_and_timber_has_its_place(name: str) -> None:
    found = survey(SCENES / f"{name}.yaml")
    sheets = survey_sheets(found, "letter")
    titles = [sheet.title for sheet in sheets]
    assert found.building is not None
    for part in (*found.site.walls, *found.site.floors, *found.site.roofs):
        assert any(part in title for title in titles), part
    text = " ".join(pages(name)).replace(" ", "")
    for timber in found.site.half.ids("timbers"):
        assert timber in text


def test_members_of_a_whole_scene_are_those_of_its_plan() -> None:
    building = survey(SCENES / "garden-studio.yaml").building
    assert building is not None
    text = page_of("garden-studio", "W1")
    studs = [member for member in building.members if re.fullmatch(r"NORTH-S[0-9]+a?", member.id)]
    assert len(studs) == 11
    for stud in studs:
        assert f" {stud.id.removeprefix('NORTH-')} " in text
    assert "3' 11-1/4\" *" in text  # the stud at 48 in on centre, its near side 3/4 in before


def test_the_same_scene_gives_the_same_bytes() -> None:
    assert survey_pdf(half_filled(), paper="a4") == survey_pdf(half_filled(), paper="a4")


@pytest.mark.parametrize("hostile", ["#strong[x] $ x^2 $", "<script>alert(1)</script>", "]] \\ #set page()", "שלום 塔"])
def test_foreign_text_stays_text(hostile: str) -> None:
    text = (SCENES / "garden-studio.yaml").read_text(encoding="utf-8")
    found = surveyed(text.replace("title: Garden studio", f"title: '{hostile}'").replace("height: 8'", "height: ?", 1))
    reader = PdfReader(io.BytesIO(survey_pdf(found)))
    shown = "".join(reader.pages[0].extract_text().split())
    for word in hostile.split():
        if word.isascii():
            assert word in shown
    assert hostile in survey_text(found).replace("\n", " ")


def test_a_scene_of_next_to_nothing_has_its_sheets() -> None:
    found = surveyed("barnloom: 1\ntitle: ?\nstoreys:\n  G: {floor: 0}\nwalls:\n  A:\n")
    reader = PdfReader(io.BytesIO(survey_pdf(found)))
    assert any("wall A" in page.extract_text() for page in reader.pages)
    assert {finding.where[-1] for finding in found.findings if finding.kind == "missing"} == {
        "title", "start", "heading", "length", "height", "section", "studs",
    }  # fmt: skip

"""Sheets as a PDF, by Typst, with the fonts that are shipped here and no others: the same bytes on every machine."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Literal

from barnloom.routing.plan import Plan
from barnloom.viewer.lettering import FONT_FOLDER
from barnloom.viewer.sheets.blocks import Sheet, said

TEMPLATE = Path(__file__).with_name("template.typ")
CAUTION = (
    "Nothing live: prove dead first. Permit and inspection; local code decides. Licensed work to those licensed. "
    "Look behind before boring."
)
PAPERS = {"letter": "us-letter", "a4": "a4"}
SIZES_MM = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}
"""Width and height, portrait."""
MARGIN_MM = 10.0
HEAD_MM = 18.0
"""Margins of every page: left and right, and above and below."""


def room_mm(paper: str, *, landscape: bool) -> tuple[float, float]:
    """Width and height that are free on a page, millimetres."""
    width, height = SIZES_MM[paper]
    if landscape:
        width, height = height, width
    return width - 2 * MARGIN_MM, height - 2 * HEAD_MM


def to_pdf(plan: Plan, sheets: Sequence[Sheet], *, paper: str) -> bytes:
    """Set sheets of a plan as a PDF, as `sheets_pdf`."""
    return sheets_pdf(sheets, title=plan.building.title, metric=plan.building.metric, paper=paper)


def sheets_pdf(sheets: Sequence[Sheet], *, title: str, metric: bool, paper: str) -> bytes:
    """
    Set sheets as a PDF.

    Parameters
    ----------
    sheets : sequence of Sheet
    title : str
        Of the job, at the head of every page.
    metric : bool
        Whether the check line is 100 mm long, or 4 in.
    paper : {"letter", "a4"}

    Raises
    ------
    RuntimeError
        If Typst warns of anything: then something would be missing on paper.
    """
    return _compiled(sheets, title, metric, paper, "pdf")[0]


def to_pages(plan: Plan, sheets: Sequence[Sheet], *, paper: str, dots_per_inch: float = 72.0) -> list[bytes]:
    """Set sheets as one PNG a page."""
    return _compiled(sheets, plan.building.title, plan.building.metric, paper, "png", dots_per_inch)


def _compiled(
    sheets: Sequence[Sheet],
    title: str,
    metric: bool,
    paper: str,
    kind: Literal["pdf", "png"],
    ppi: float | None = None,
) -> list[bytes]:
    import typst

    data = {
        "title": said(title),
        "metric": metric,
        "paper": PAPERS[paper],
        "caution": CAUTION,
        "sheets": [sheet.data() for sheet in sheets],
    }
    made, notes = typst.compile_with_warnings(
        TEMPLATE.read_bytes(),
        format=kind,
        ppi=ppi,
        font_paths=typst.Fonts(False, False, [str(FONT_FOLDER)]),
        sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
    )
    if notes:
        words = "; ".join(str(note.message) for note in notes)
        msg = f"Typst warns: {words}"
        raise RuntimeError(msg)
    return made if isinstance(made, list) else [made]

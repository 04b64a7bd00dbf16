"""The findings of a survey as text, as plain data, and as a sheet: what to settle, what stops planning first."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import Any

from barnloom.model.survey.finding import KINDS, Finding
from barnloom.model.survey.survey import Survey
from barnloom.viewer.drawings.paper import LADDER_PT
from barnloom.viewer.sheets.blocks import Block, Bullets, Column, Heading, Sheet, Table, Words
from barnloom.viewer.survey.marks import LEGEND, Marks
from barnloom.viewer.text import counted, paragraph

_NOTHING = "Nothing is missing and everything closes."
_UNKNOWN = ("?", "nothing is said")


def survey_text(survey: Survey) -> str:
    """
    Findings for a terminal, one paragraph each, numbered as on the sheets.

    Lines are at most 100 columns wide; the last one ends without a line end.
    """
    marks = Marks(survey, blank=False)
    lines = paragraph(f"{survey.title}: {_sum(survey)}")
    for kind, findings in _by_kind(survey):
        lines += ["", KINDS[kind].upper()]
        for one in findings:
            lines += paragraph(f"{_where(one)}: {_said(one)}", first=f"{marks.number(one):4}  ", later=" " * 6)
            if one.measure:
                lines += paragraph(one.measure, first="      -> ", later=" " * 9)
            if len(one.parts) > 1:
                lines += paragraph(f"at {_parts(one)}", first="      ", later=" " * 6)
    return "\n".join(lines)


def survey_data(survey: Survey) -> dict[str, Any]:
    """
    Findings as plain data for JSON.

    Returns
    -------
    dict
        ``title``, ``counts`` by kind, and ``findings`` in order, each with ``number``, ``kind``, ``where`` (keys with
        slashes), ``line`` (from 1), ``found``, ``expected``, ``measure``, ``off_in`` (inches by which it does not
        close) and ``parts``.
    """
    return {
        "title": survey.title,
        "counts": {kind: sum(one.kind == kind for one in survey.findings) for kind in KINDS},
        "findings": [
            {
                "number": number,
                "kind": one.kind,
                "where": one.place,
                "line": one.line,
                "found": one.found,
                "expected": one.expected,
                "measure": one.measure,
                "off_in": round(one.off_in, 6),
                "parts": ["/".join(part) for part in one.parts],
            }
            for number, one in enumerate(survey.findings, start=1)
        ],
    }


def told_sheet(survey: Survey) -> Sheet:
    """Everything to settle, with a tick and room for what was measured."""
    marks = Marks(survey, blank=False)
    blocks: list[Block] = [Words(text=f"{_sum(survey)} {LEGEND}")]
    columns = (
        Column(title="no."),
        Column(title="where, line", share=1.0),
        Column(title="what is said, what was expected", share=2.0),
        Column(title="the one measurement", share=2.0),
        Column(title="reads", share=0.8),
    )
    for kind, findings in _by_kind(survey):
        rows = [[marks.sign(one), _where(one), _told(one), one.measure, ""] for one in findings]
        blocks += [Heading(text=KINDS[kind]), Table(columns=columns, rows=rows, points=8.5, row_mm=9.0)]
    if not survey.findings:
        blocks.append(Bullets(items=[_NOTHING], points=LADDER_PT))
    return Sheet(number="F1", title="what to settle, what stops planning first", blocks=blocks, landscape=True)


def _by_kind(survey: Survey) -> Iterator[tuple[Any, list[Finding]]]:
    for kind, findings in groupby(survey.findings, key=lambda one: one.kind):
        yield kind, list(findings)


def _sum(survey: Survey) -> str:
    counts = [(sum(one.kind == kind for one in survey.findings), words) for kind, words in KINDS.items()]
    said = "; ".join(f"{counted(count, 'place')} {words}" for count, words in counts if count)
    return f"{said}." if said else _NOTHING


def _where(one: Finding) -> str:
    line = f", line {one.line}" if one.line else ""
    return f"{one.place or 'the file'}{line}"


def _said(one: Finding) -> str:
    known = "not known" if one.found in _UNKNOWN else one.found
    return f"{known}; expected: {one.expected}" if one.expected else known


def _told(one: Finding) -> str:
    return f"{_said(one)}. At {_parts(one)}." if one.kind == "assumed" and len(one.parts) > 1 else _said(one)


def _parts(one: Finding) -> str:
    return ", ".join(name for _, name in one.parts)

"""A survey as a PDF: blank sheets to fill in, or those of a half-filled scene with what is known printed."""

from __future__ import annotations

from pathlib import Path

from barnloom.model.scene.half import half_text
from barnloom.model.survey.blank import blank_scene
from barnloom.model.survey.survey import Survey, survey_of
from barnloom.viewer.sheets.blocks import Sheet
from barnloom.viewer.sheets.typeset import sheets_pdf
from barnloom.viewer.survey.cover import cover, electrics, photographs
from barnloom.viewer.survey.forms import Forms
from barnloom.viewer.survey.told import told_sheet


def survey_sheets(survey: Survey, paper: str, *, blank: bool = False) -> list[Sheet]:
    """Every sheet of a survey; ``blank``: without marks and lists, for nothing has been measured yet."""
    forms = Forms(survey, paper, blank=blank)
    sheets = [
        *([] if blank else [told_sheet(survey)]),
        *forms.outlines(),
        *forms.walls(),
        *forms.floors(),
        *forms.roofs(),
        *forms.timbers(),
        *electrics(survey, blank=blank),
        photographs(),
    ]
    return [cover(survey, sheets, blank=blank), *sheets]


def survey_pdf(survey: Survey, *, paper: str = "letter") -> bytes:
    """
    Sheets of a half-filled scene: what is known printed, what is missing, assumed or does not close marked.

    Parameters
    ----------
    survey : Survey
    paper : {"letter", "a4"}
    """
    sheets = survey_sheets(survey, paper)
    return sheets_pdf(sheets, title=survey.title, metric=survey.metric, paper=paper)


def blank_survey(
    *,
    storeys: int = 1,
    walls: int = 4,
    width_in: float | None = None,
    depth_in: float | None = None,
    paper: str = "letter",
    metric: bool = False,
    title: str = "",
) -> bytes:
    """
    Blank sheets, before any scene exists: `barnloom.model.survey.blank.blank_scene` on paper.

    Raises
    ------
    InputError
        As `blank_scene`.
    """
    text = blank_scene(storeys=storeys, walls=walls, width_in=width_in, depth_in=depth_in, metric=metric, title=title)
    survey = survey_of(half_text(text, Path("survey.yaml")))
    sheets = survey_sheets(survey, paper, blank=True)
    return sheets_pdf(sheets, title=title or "Survey", metric=metric, paper=paper)

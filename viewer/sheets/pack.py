"""The pack: which sheets, in which order."""

from __future__ import annotations

from barnloom.routing.plan import Plan
from barnloom.viewer.sheets.blocks import Sheet
from barnloom.viewer.sheets.framing import face_sheets, member_sheets, plan_sheets, stick_sheets
from barnloom.viewer.sheets.making import box_sheets, circuit_sheets, label_sheets, panel_wire_sheets, pull_sheets
from barnloom.viewer.sheets.office import (
    as_built_sheets,
    cover,
    material_sheets,
    panel_sheets,
    question_sheets,
    test_sheets,
)
from barnloom.viewer.sheets.typeset import to_pdf


def pack_sheets(plan: Plan, paper: str) -> list[Sheet]:
    """Every sheet of the pack, in the order in which the work is done."""
    sheets = [
        *plan_sheets(plan, paper),
        *face_sheets(plan, paper),
        *member_sheets(plan, paper),
        *stick_sheets(plan),
        *pull_sheets(plan),
        *label_sheets(plan),
        *box_sheets(plan),
        *circuit_sheets(plan, paper),
        *panel_sheets(plan, paper),
        *panel_wire_sheets(plan),
        *material_sheets(plan),
        *question_sheets(plan),
        *test_sheets(plan),
        *as_built_sheets(plan),
    ]
    return [cover(plan, sheets, title="wiring plan"), *sheets]


def permit_sheets(plan: Plan, paper: str) -> list[Sheet]:
    """The few sheets that an office wants: plans, panel, load and supply, questions."""
    sheets = [*plan_sheets(plan, paper), *panel_sheets(plan, paper)]
    return [cover(plan, sheets, title="wiring plan for a permit"), *sheets]


def pack_pdf(plan: Plan, *, paper: str = "letter") -> bytes:
    """The whole pack as a PDF."""
    return to_pdf(plan, pack_sheets(plan, paper), paper=paper)


def permit_pdf(plan: Plan, *, paper: str = "letter") -> bytes:
    """The permit set as a PDF."""
    return to_pdf(plan, permit_sheets(plan, paper), paper=paper)

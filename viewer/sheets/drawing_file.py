"""Every plan and elevation of a plan with its scale: what goes on paper, and into a drawing file."""

from __future__ import annotations

from collections.abc import Iterator

from barnloom.routing.plan import Plan
from barnloom.viewer.drawing import Drawing
from barnloom.viewer.drawings.elevations import elevation, in_use
from barnloom.viewer.drawings.faces import faces
from barnloom.viewer.drawings.paper import Paper
from barnloom.viewer.drawings.plans import storey_plan
from barnloom.viewer.dxf import to_dxf
from barnloom.viewer.sheets.typeset import CAUTION

SCALE_US, SCALE_METRIC = 48, 50
"""Scale that lettering in a drawing file is made for: a quarter of an inch to the foot."""


def drawing_file(plan: Plan) -> bytes:
    """Return all plans and elevations in one DXF file, in true inches, one beside the other."""
    return to_dxf(list(_drawn(plan)), notes=(plan.building.title, CAUTION))


def _drawn(plan: Plan) -> Iterator[tuple[Drawing, float]]:
    metric = plan.building.metric
    paper = Paper(scale=SCALE_METRIC if metric else SCALE_US, metric=metric)
    for storey in plan.building.storeys:
        if any(box.storey == storey.id for box in plan.building.boxes):
            yield storey_plan(plan, storey.id, paper)[0], paper.scale
    for face in faces(plan.building):
        if in_use(plan, face):
            yield elevation(plan, face, paper)[0], paper.scale

"""What to do about it: tracks, paths, which box feeds which, bores, lengths, the independent check.

``plan_building`` plans a building with the plain trees (``routing.planner.plan`` with any), ``routing.check.check``
looks at a plan with eyes of its own. What this package offers is loaded when it is first asked for.

Examples
--------
A shed of two walls, planned from text:

>>> import tempfile
>>> from pathlib import Path
>>> from barnloom.model import read_building
>>> from barnloom.routing import plan_building
>>> from barnloom.routing.check import check
>>> scene = Path(tempfile.mkdtemp()) / "shed.yaml"
>>> _ = scene.write_text('''
... barnloom: 1
... title: Shed
... answers: {exposed: free, lining: none, insulated: no}
... storeys: {GROUND: {floor: 0}}
... walls: {SOUTH: {start: [0, 0], heading: east, length: 12', height: 8', section: 2x4, studs: {every: 16"}}}
... boxes: {PANEL: {kind: panel, wall: SOUTH, along: 24", height: 54"},
...   LAMP: {circuit: A, wall: SOUTH, along: 40", height: 54"}}
... circuits: {A: {cable: 14/2}}
... ''')
>>> plan = plan_building(read_building(scene))
>>> [(cable.id, cable.path_in, cable.bores) for cable in plan.cables]
[('A.LAMP', 44.0, ('SOUTH-S3.a',))]
>>> check(plan)
()
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from barnloom.routing.feeds import Trees
    from barnloom.routing.plan import Bore, Cable, Plan, Unreached
    from barnloom.routing.planner import plan_building
    from barnloom.routing.store import plan_from_json, plan_to_json, read_plan

__all__ = [
    "Bore",
    "Cable",
    "Plan",
    "Trees",
    "Unreached",
    "plan_building",
    "plan_from_json",
    "plan_to_json",
    "read_plan",
]

_HOMES = {
    "Bore": "plan",
    "Cable": "plan",
    "Plan": "plan",
    "Unreached": "plan",
    "Trees": "feeds",
    "plan_building": "planner",
    "plan_from_json": "store",
    "plan_to_json": "store",
    "read_plan": "store",
}


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        msg = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(msg)
    return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)

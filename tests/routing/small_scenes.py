"""Small scenes as plain dictionaries, and the way from one to a checked plan, for the tests of routing.

A dictionary written as JSON is YAML too, so every scene here goes through the same reader as a person's file.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from barnloom.model.building import Building
from barnloom.model.framing import build
from barnloom.model.limits import Limits
from barnloom.model.scene.read import read_text
from barnloom.routing.check import check
from barnloom.routing.graph import Tracks
from barnloom.routing.plan import Bore, Cable, Plan
from barnloom.routing.planner import plan_building
from barnloom.routing.tracks import ground_of, tracks_of

Said = dict[str, Any]
STUD_WALL: Said = {
    "height": '97-1/8"',
    "section": "2x4",
    "studs": {"every": '16"'},
    "exterior": "yes",
    "bearing": "yes",
}
"""Sole plate 0-1-1/2, studs 92-5/8 to 94-1/8, two top plates to 97-1/8; cables run 1-3/4 from the outer face."""
FEET_ONLY: Said = {"prices": "fewest feet", "lengths": {"slack": 0}}
"""Nothing but feet of cable costs anything, and a foot costs the same everywhere."""


def inches(value: float) -> str:
    """A length as a scene says it."""
    return f'{value}"'


def wall(start: tuple[float, float], heading: str | float, length: float, **changes: Any) -> Said:
    """A 2x4 wall with studs at 16 in; places in inches."""
    return {**STUD_WALL, "start": [inches(x) for x in start], "heading": heading, "length": inches(length), **changes}


def box(host: str, along: float, height: float, circuit: str = "A", **changes: Any) -> Said:
    """A box 2 x 4 in, 2-1/2 deep, in a wall."""
    place = {"wall": host, "along": inches(along), "height": inches(height), "size": ['2"', '4"', '2-1/2"']}
    return {"circuit": circuit, **place, **changes}


def panel(host: str, along: float, height: float, **changes: Any) -> Said:
    """A panel 4 x 4 in: as small as a box, so that a route from it is worked like a route from a box."""
    place = {"wall": host, "along": inches(along), "height": inches(height), "size": ['4"', '4"', '3-1/2"']}
    return {"kind": "panel", **place, **changes}


def scene(**parts: Any) -> Said:
    """A whole scene: one storey, one circuit A in 12/2, cable in sight accepted, unless said otherwise."""
    usual: Said = {
        "barnloom": 1,
        "title": "A test",
        "answers": {"exposed": "free", "lining": "none", "insulated": "no"},
        "storeys": {"ground": {"floor": 0}},
        "circuits": {"A": {"cable": "12/2", "panel": "P"}},
    }
    return {**usual, **parts}


def built(said: Said) -> Building:
    """The building of a scene."""
    return build(read_text(json.dumps(said), Path("test.yaml")).scene)


def tracks(building: Building) -> Tracks:
    """The graph of a building."""
    return tracks_of(ground_of(building, Limits(building.limits)))


def planned(said: Said | Building) -> Plan:
    """The plan of a scene, which the checker must find no fault in."""
    plan = plan_building(said if isinstance(said, Building) else built(said), effort="quick")
    faults = [finding for finding in check(plan) if finding.severity == "fault"]
    assert faults == []
    return plan


def cable(plan: Plan, name: str) -> Cable:
    """A cable by its id."""
    return next(c for c in plan.cables if c.id == name)


def holes(plan: Plan, name: str) -> list[Bore]:
    """Holes that a cable passes, in order."""
    by_id = {bore.id: bore for bore in plan.bores}
    return [by_id[bore] for bore in cable(plan, name).bores]


def with_limit(building: Building, name: str, value: float) -> Building:
    """The same building under another value of a limit."""
    assert name in {one.name for one in building.limits}
    return replace(
        building, limits=tuple(replace(one, value=value) if one.name == name else one for one in building.limits)
    )

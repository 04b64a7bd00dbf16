"""What the page's script is given: the building as boxes and lines, and for every hole what bounds a move of it.

Inches to a thousandth for the picture, and to a billionth for what is judged. The shape of it is told in ``README.md``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from barnloom.model.building import Box, Role
from barnloom.model.limits import Limits
from barnloom.routing.plan import Plan
from barnloom.routing.store import natural_key, plan_hash
from barnloom.viewer.axonometry import View
from barnloom.viewer.layout import shown_members, side_by_side_runs
from barnloom.viewer.lists import in_one_go
from barnloom.viewer.page.index import Index
from barnloom.viewer.page.moves import Room, room
from barnloom.viewer.palette import Style, styles
from barnloom.viewer.solids import Floats, bore_ends, box_corners, corners

GROUPS = {
    "joists": (Role.JOIST, Role.RIM, Role.TRIMMER, Role.CEILING_JOIST),
    "studs and posts": (Role.STUD, Role.KING, Role.JACK, Role.CRIPPLE, Role.POST, Role.BRACE, Role.GIRT),
    "plates, headers, blocks": (Role.SOLE_PLATE, Role.TOP_PLATE, Role.HEADER, Role.SILL, Role.BLOCK),
    "girders": (Role.GIRDER,),
    "rafters": (Role.RAFTER, Role.RIDGE, Role.COLLAR_TIE, Role.PURLIN),
    "boards": (Role.BOARD,),
}
REST_OF_ROOF = "rest of the roof"
"""Members of a roof that nothing goes through and no box is on: hidden until asked for."""
CABLES_APART_IN = 2.4
_LANE_VIEW = View(azimuth_deg=17.3, elevation_deg=41.9)
"""From nowhere in particular, so that only cables that really run together come to lie on one line."""


def circuits(plan: Plan) -> list[tuple[str, str, Style]]:
    """Circuits that have cables: id, title, and how they are drawn."""
    titles = {circuit.id: circuit.title for circuit in plan.building.circuits}
    drawn = styles(plan)
    names: list[str] = sorted({cable.circuit for cable in plan.cables}, key=natural_key)
    return [(name, titles.get(name, ""), drawn[name]) for name in names]


def groups(plan: Plan) -> Mapping[str, str]:
    """By member, the group that it is shown and hidden with."""
    named = {role: name for name, roles in GROUPS.items() for role in roles}
    shown = {member.id for member in shown_members(plan)}
    return {m.id: named[m.role] if m.id in shown else REST_OF_ROOF for m in plan.building.members}


def page_data(index: Index) -> dict[str, Any]:
    """All data of the page, ready for JSON, the same for the same plan."""
    plan = index.plan
    axes: dict[tuple[float, ...], int] = {}
    rules: dict[str, dict[str, Any]] = {}
    return {
        "plan": {"title": plan.building.title, "hash": plan_hash(plan), "metric": plan.building.metric},
        "members": _members(index, axes),
        "boxes": _boxes(index, axes),
        "cables": _cables(index),
        "holes": _holes(index, rules),
        "assemblies": {a.id: {"kind": a.kind, "v": _short(a.v), "w": _short(a.w)} for a in plan.building.assemblies},
        "circuits": [{"id": name, "colour": of.colour, "dash": list(of.dash)} for name, _, of in circuits(plan)],
        "axes": [list(one) for one in axes],
        "rules": list(rules.values()),
    }


def _members(index: Index, axes: dict[tuple[float, ...], int]) -> list[dict[str, Any]]:
    members = (*index.bored, *index.unbored)
    solids, owner = corners(members)
    group = groups(index.plan)
    return [
        {
            "id": member.id,
            "anchor": index.anchors["member", member.id],
            "storey": member.storey,
            "group": group[member.id],
            "assembly": member.assembly,
            "solids": [_solid(solid, axes) for solid in solids[owner == number]],
        }
        for number, member in enumerate(members)
    ]


def _boxes(index: Index, axes: dict[tuple[float, ...], int]) -> list[dict[str, Any]]:
    hosts = {member.id: member.assembly for member in index.plan.building.members}
    solids = box_corners(index.boxes, index.plan.building)
    circuits_of: dict[str, set[str]] = {box.id: set() for box in index.boxes}
    for cable in index.plan.cables:
        for name in (cable.from_box, cable.to_box):
            circuits_of.setdefault(name, set()).add(cable.circuit)
    return [
        {
            "id": box.id,
            "anchor": index.anchors["box", box.id],
            "storey": box.storey,
            "assembly": hosts.get(box.host, box.host),
            "circuits": sorted(circuits_of[box.id], key=natural_key),
            "solids": [_solid(_seen(box, solid), axes)],
        }
        for box, solid in zip(index.boxes, solids, strict=True)
    ]


def _seen(box: Box, solid: Floats) -> Floats:
    """A stub has no body, and is drawn as a small cube."""
    steps = np.array([[i, j, k] for i in (-1, 1) for j in (-1, 1) for k in (-1, 1)], dtype=float)
    return np.array(box.at) + 1.5 * steps if box.kind == "stub" else solid


def _cables(index: Index) -> list[dict[str, Any]]:
    drawn = [cable for cable in index.cables if len(cable.points) > 1]
    ordered = sorted(drawn, key=lambda cable: natural_key(cable.id))
    plan = index.plan
    runs = side_by_side_runs(replace(plan, cables=tuple(ordered)), _LANE_VIEW, apart_in=CABLES_APART_IN, along_in=1.0)
    line = {cable.id: run for cable, run in zip(ordered, runs, strict=True)}
    members = {member.id: member.assembly for member in plan.building.members}
    bored = {bore.id: bore.member for bore in plan.bores}
    found: list[dict[str, Any]] = []
    for cable in drawn:
        passed = (bored[track.removeprefix("bore ")] if track.startswith("bore ") else track for track in cable.tracks)
        places = {members.get(place.partition(" ")[0], place) for place in passed}
        found.append(
            {
                "id": cable.id,
                "anchor": index.anchors["cable", cable.id],
                "circuit": cable.circuit,
                "storey": cable.floor,
                "ends": [cable.from_box, cable.to_box],
                "assemblies": sorted(places, key=natural_key),
                "points": [_short(point) for point in line[cable.id]],
            }
        )
    return found


def _holes(index: Index, rules: dict[str, dict[str, Any]]) -> list[dict[str, Any]]:
    plan = index.plan
    limits, grid = Limits(plan.building.limits), plan.building.tools.grid_in
    found: list[dict[str, Any]] = []
    for member in index.bored:
        own = index.bores[member.id]
        starts, ends = bore_ends(own, plan.building)
        for bore, start, end in zip(own, starts, ends, strict=True):
            others = [other for other in own if other is not bore]
            bounds = room(bore, member, limits, others, grid_in=grid)
            found.append(
                {
                    "id": bore.id,
                    "anchor": index.anchors["hole", bore.id],
                    "member": member.id,
                    "ends": [_short(start), _short(end)],
                    "diameter": bore.diameter_in,
                    "cables": list(bore.cables),
                    "place": {"along": bore.along_in, "across": bore.across_in},
                    "from": {"along": member.along_from, "across": member.across_from},
                    "plates": list(bore.nail_plates),
                    "together": in_one_go(index.names, bore),
                    "room": _room(bounds, rules) if bounds else None,
                }
            )
    return found


def _room(bounds: Room, rules: dict[str, dict[str, Any]]) -> dict[str, Any]:
    words = {
        "faces": list(bounds.faces),
        "alwaysPlated": bounds.always_plated,
        "bandRule": bounds.band_rule,
        "gapRule": bounds.gap_rule,
        "notchRule": bounds.notch_rule,
        "bearingRule": bounds.bearing_rule,
    }
    rules.setdefault(repr(words), words)
    return {
        "stretches": [
            {"along": _exact(one.along), "across": _exact(one.across), "platesOff": _exact(one.plates_off)}
            for one in bounds.stretches
        ],
        "neighbours": [
            {
                "id": one.id,
                "along": round(one.along_in, 9),
                "across": round(one.across_in, 9),
                "apart": round(one.apart_in, 9),
            }
            for one in bounds.neighbours
        ],
        "closed": [
            {"along": _exact(one.along), "across": list(one.across), "apart": round(one.apart_in, 9)}
            for one in bounds.closed
        ],
        "bearings": [_exact(span) for span in bounds.bearings],
        "bearingApart": round(bounds.bearing_apart_in, 9),
        "rules": list(rules).index(repr(words)),
    }


def _solid(solid: Floats, axes: dict[tuple[float, ...], int]) -> list[float]:
    """Middle, size and number of the axes of a box by its corners."""
    middle = (solid[0] + solid[7]) / 2
    edges = solid[[4, 2, 1]] - solid[0]
    size = np.linalg.norm(edges, axis=1)
    units = np.round(edges / np.maximum(size, 1e-9)[:, None], 6) + 0.0
    key = tuple(float(x) for x in units.ravel())
    number = axes.setdefault(key, len(axes))
    return [*_short(middle), *_short(size), number]


def _short(values: Sequence[float] | Floats) -> list[float]:
    return [round(float(value), 3) + 0.0 for value in values]


def _exact(values: Sequence[float]) -> list[float]:
    return [round(float(value), 9) for value in values]

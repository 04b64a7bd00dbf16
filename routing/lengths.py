"""A cable's lengths, part by part, as a person with a tape would add them up (definitions in the README)."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from barnloom.model.building import Box, Building, CableType
from barnloom.routing.fastening import staples, turns
from barnloom.routing.graph import Tracks
from barnloom.routing.plan import Cable
from barnloom.routing.runs import Drilled, Run
from barnloom.routing.wishes import face_sight_below, sight_below

if TYPE_CHECKING:
    from barnloom.routing.search import Step

PANEL_LESS_IN = 2.0
"""Of the panel's height and width, this much lies before the farthest terminal (definition of the panel's part)."""


def floor_label(a: Box, b: Box) -> str:
    """Storey of a cable whose ends are on one; else "between A and B", lower storey as the building lists them."""
    return a.storey if a.storey == b.storey else f"between {a.storey} and {b.storey}"


def panel_part(building: Building, ends: Sequence[Box]) -> float:
    """Extra length at a panel's end: its height + width - 2 in where known, else the scene's allowance; inches."""
    total = 0.0
    for box in ends:
        if box.kind == "panel":
            total += box.size_in[0] + box.size_in[1] - PANEL_LESS_IN if box.size_known else building.lengths.panel_in
    return total


def ends_ft(building: Building) -> float:
    """Feet at the two ends of any cable: entries, and free conductor."""
    return (2 * building.lengths.entry_in + 2 * building.lengths.free_in) / 12


def cable_of(
    tracks: Tracks,
    name: str,
    circuit: str,
    kind: CableType,
    start: Box,
    end: Box,
    steps: Sequence[Step],
    run: Run,
    drilled: Mapping[int, Drilled],
    *,
    done: bool,
) -> Cable:
    """A routed cable with its lengths. ``start`` is the panel's side."""
    building, edges = tracks.building, tracks.edges
    numbers = np.array([edge for _, _, edge in steps], dtype=np.int64)
    lengths = building.lengths
    path = run.length_in
    entries, free = 2 * lengths.entry_in, 2 * lengths.free_in
    panel = panel_part(building, (start, end))
    slack = round(path * lengths.slack_share, 9)
    order = {storey.id: n for n, storey in enumerate(building.storeys)}
    low, high = sorted((start, end), key=lambda box: order[box.storey])
    through = [int(edges.bore[n]) for n in numbers if edges.bore[n] >= 0]
    return Cable(
        id=name,
        circuit=circuit,
        type=kind.id,
        from_box=start.id,
        to_box=end.id,
        points=run.points,
        tracks=run.tracks,
        bores=tuple(drilled[bore].id for bore in through),
        path_in=path,
        entries_in=entries,
        free_in=free,
        panel_in=panel,
        slack_in=slack,
        cut_in=round(path + entries + free + panel + slack, 9),
        floor=floor_label(low, high),
        staples=sum(staples(building, run.points, run.tracks, tracks.limits["cable.support"])),
        turns=turns(run.points),
        board_in=round(_on_boards(tracks, run), 9),
        covered_in=round(_to_cover(tracks, run), 9),
        done=done,
    )


def _on_boards(tracks: Tracks, run: Run) -> float:
    boards = {face.name for face in tracks.faces if face.board}
    legs = zip(run.points[:-1], run.points[1:], run.tracks, strict=True)
    return sum(math.dist(a, b) for a, b, track in legs if track in boards)


def _to_cover(tracks: Tracks, run: Run) -> float:
    """Length of a run that is in sight and in reach, where the answer is that it then needs a cover."""
    building = tracks.building
    if building.exposed != "covered":
        return 0.0
    tops = {slab.assembly.id: float(slab.origin[2]) + sight_below(building, slab) for slab in tracks.slabs}
    for face in tracks.faces:
        tops[face.name] = face_sight_below(building, building.members[face.member])
    total = 0.0
    for a, b, track in zip(run.points[:-1], run.points[1:], run.tracks, strict=True):
        low, high = sorted((a[2], b[2]))
        top = tops.get(track, -math.inf)
        total += max(0.0, min(high, top) - low)
    return total

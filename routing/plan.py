"""The plan: cables, bores, cost, and what could not be planned, as plain values in inches and money.

The checker and every list, drawing and picture read these types; they know nothing of how the plan was found.
"""

from __future__ import annotations

from dataclasses import dataclass

from barnloom.model.building import Building, Vec

PLAN_VERSION = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Bore:
    """One bit through one member: a new hole, or an old one reused (``existing``)."""

    id: str
    """The member's id and a letter ("LOFT-J7.a"), or the scene's own id for an old hole."""
    member: str
    along_in: float
    across_in: float
    across_min_in: float
    across_max_in: float
    """Allowed band of the hole's centre, rounded inward to the print grid: without a nail plate if it needs none."""
    diameter_in: float
    cables: tuple[str, ...]
    nail_plates: tuple[str, ...]
    """Faces that need a plate, in words ("room side", "far side")."""
    rule: str
    """The clause that governs, in words with the margin's meaning."""
    margin_in: float
    existing: bool
    drill_pass: str
    """Bores with the same pass are drilled in one go (a sole plate with the plate below it, a row)."""
    pose: str
    """Key of the price that this bore has (see the prices)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cable:
    """One cable between two boxes; ``from_box`` is the panel's side. Lengths in inches, each part shown."""

    id: str
    circuit: str
    """Circuit ids, space-separated."""
    type: str
    from_box: str
    to_box: str
    points: tuple[Vec, ...]
    """Centre line, entry point to entry point; at a bore it has a point on each face of the member."""
    tracks: tuple[str, ...]
    """For each leg between two points: the assembly, face ("GIRDER +bit") or board it runs in, or "bore HOLE"."""
    bores: tuple[str, ...]
    """Ids of the bores it passes, in order."""
    path_in: float
    entries_in: float
    free_in: float
    panel_in: float
    slack_in: float
    cut_in: float
    floor: str
    """Storey id, or "between A and B"."""
    staples: int
    turns: int
    board_in: float
    """How much of the path runs on boards (inches)."""
    covered_in: float
    """How much of the path needs a cover because it is in sight and in reach (inches)."""
    done: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Unreached:
    """A box with no legal route: what bounds the part that can be reached, by rule, and what was tried."""

    box: str
    circuit: str
    reason: str
    closed_by: tuple[str, ...]
    """Members that bound what can be reached."""
    would_open: tuple[str, ...]
    """Changes that open it, each verified by planning again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A checked plan and the building it is for. ``lower_bound`` None until one is proven."""

    version: int
    building: Building
    cables: tuple[Cable, ...]
    bores: tuple[Bore, ...]
    """In walking order."""
    cost: float
    cost_parts: dict[str, float]
    lower_bound: float | None
    unreached: tuple[str, ...]
    """Ids of boxes without a route."""
    unreached_why: tuple[Unreached, ...]
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]

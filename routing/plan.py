"""The plan: cables, bores, cost, and what could not be planned, as plain values in inches and money.

The checker and every list, drawing and picture read these types; they know nothing of how the plan was found.
"""

from __future__ import annotations

from dataclasses import dataclass

from barnloom.model.building import Building, Vec
from barnloom.model.electrical.fill import FillLine

PLAN_VERSION = 2


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
class Conductor:
    """One conductor of a cable: its insulation, and what it carries."""

    colour: str
    """"black", "red", "white", "white with a red stripe", "bare"."""
    net: str
    """"line", "line 1", "line 2", "neutral", "ground", "switched ROW" (a control), "traveler ROW 1a" (of the pair
    between its first and second point), "protected line B1", "protected neutral B1" (behind the ground-fault device
    B1), "interconnect", "spare"."""
    marked: str = ""
    """Colour of the tape that a white one wears at both ends because it is no neutral; empty: none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """Everything in one box that is one piece of metal: conductor ends, and terminals of devices."""

    net: str
    circuit: str
    """Empty for the ground, which all circuits of a box share."""
    ends: tuple[tuple[str, str], ...]
    """(cable id, colour)."""
    terminals: tuple[tuple[str, str], ...]
    """(device id, terminal): a receptacle's "hot" and "neutral" ("hot top" is the switched half, "hot bottom" the
    other), of a ground-fault one "line hot", "line neutral", "load hot", "load neutral"; a light's, heater's or
    machine's "hot", "neutral" (240 V: "hot 1", "hot 2"); an alarm's also "interconnect"; a switch's "line", "load", of
    a three-way one "common", "traveler 1", "traveler 2", of a four-way one "in 1", "in 2", "out 1", "out 2"; of all
    "ground"; (box id, "box") the ground screw of a metal box; at the panel, by its id, "breaker CIRCUIT" ("breaker
    CIRCUIT 1" and "2" of a two-pole one), "neutral bar", "ground bar"."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Makeup:
    """One box made up: what it is, how full, and every joint in it. A panel has joints alone."""

    box: str
    box_type: str
    ring: str
    volume_in3: float
    """0: not known."""
    fill: tuple[FillLine, ...]
    joints: tuple[Joint, ...]

    @property
    def fill_in3(self) -> float:
        """Volume that is wanted."""
        return sum(line.total_in3 for line in self.fill)


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitSheet:
    """One line of the panel schedule."""

    circuit: str
    panel: str
    volts: int
    poles: int
    breaker_a: float
    breaker: str
    """"plain", "ground-fault", "arc-fault", "dual-function"."""
    awg: int
    """Of its thinnest conductors."""
    load_va: float
    """What is connected."""
    load_a: float
    """What the breaker is sized for: continuous loads at 125 %, motors by their table."""
    longest_ft: float
    """From the panel to its farthest box, along the cables' cut lengths."""
    drop_percent: float
    """At the box that loses most."""
    spaces: tuple[int, ...]
    legs: str
    """"A", "B" or "AB"."""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Resized:
    """Something the tool made larger than would be usual, and why."""

    subject: str
    before: str
    after: str
    because: str


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
    conductors: tuple[Conductor, ...] = ()
    """Insulated ones, and the bare ground last."""
    current_a: float = 0.0
    """What its line conductors carry at most, with everything on that it feeds."""
    drop_percent: float = 0.0
    """Voltage lost from the panel to its far box, of the circuit's voltage, with everything on."""


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
class Moved:
    """A hole that was drilled elsewhere than planned, and where it was to be (inches, as its bore has them)."""

    hole: str
    planned_along_in: float
    planned_across_in: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AsBuilt:
    """What is done already, as reported; everything else of the plan is still to be done."""

    plans: tuple[str, ...]
    """Hash of every plan that a report was on, first to last."""
    drilled: tuple[str, ...]
    """Holes, by id: each is among its member's holes."""
    moved: tuple[Moved, ...]
    """Of those that are drilled."""
    pulled: tuple[str, ...]
    """Cables."""
    made_up: tuple[str, ...]
    """Boxes."""
    other_boxes: tuple[str, ...]
    """Of those that are made up, where another box was put up than planned."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Searched:
    """How long a plan was searched for."""

    effort: str
    """quick, normal or long."""
    interrupted: bool
    """Whether the search was ended before it was through: a longer one may find a cheaper plan."""


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
    makeups: tuple[Makeup, ...] = ()
    """Of every box that a cable reaches, and of the panels."""
    circuits: tuple[CircuitSheet, ...] = ()
    resized: tuple[Resized, ...] = ()
    as_built: AsBuilt | None = None
    """None: nothing is done yet."""
    searched: Searched | None = None
    """None: the plan was not searched for."""

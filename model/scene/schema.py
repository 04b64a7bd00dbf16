"""What a scene file may say, as data classes that also write the published JSON Schema.

Every field is what a person would say aloud. Lengths are inches once read. ``None`` means "not said": the builder then
takes the documented default, or the stricter reading and records an assumption. How one value is read is in ``values``;
reading, line numbers and the checks that need more than one value are in the modules beside this one. The texts under
the fields are what an editor shows, so they speak to the person who writes the scene.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, Tag

from barnloom.model.scene.answers import (
    Answers,
    Exposed,
    Kept,
    KeptAnswer,
    KeptInsulated,
    KeptLining,
    KeptPlainCable,
    KeptSurroundings,
    KeptYesNo,
)
from barnloom.model.scene.electrical import (
    CableKind,
    CableSaid,
    Circuits,
    CircuitSaid,
    ControlSaid,
    Devices,
    DeviceSaid,
    FootprintSaid,
    PanelSaid,
    Phase,
    SupplySaid,
    WiringSaid,
)
from barnloom.model.scene.framing import (
    Bearing,
    Board,
    CollarTies,
    Door,
    FloorBlocking,
    FloorOpening,
    FloorSaid,
    HoleSaid,
    Joists,
    KeepClearSaid,
    Lining,
    MakerSaid,
    MeasuredSaid,
    MemberSaid,
    NotchSaid,
    Opening,
    PlySaid,
    RightWord,
    RoofRafters,
    RoofSaid,
    Said,
    Stations,
    Timber,
    Titled,
    Wall,
    WallBlocking,
)
from barnloom.model.scene.values import (
    KEYS,
    WORD,
    Allowance,
    Diameter,
    Distance,
    Id,
    IdRef,
    LengthText,
    Level,
    LimitValue,
    Number,
    OfShape,
    OnWall,
    Room,
    Section,
    Small,
    Thickness,
    Two,
    Volume,
    Whole,
    Words,
    YesNo,
    whole,
)

__all__ = [
    "About",
    "Answers",
    "Bearing",
    "Board",
    "BoxSaid",
    "CableKind",
    "CableSaid",
    "CircuitSaid",
    "CollarTies",
    "Door",
    "ControlSaid",
    "DeviceSaid",
    "Exposed",
    "FootprintSaid",
    "Kept",
    "FloorBlocking",
    "FloorOpening",
    "FloorSaid",
    "HoleSaid",
    "Joists",
    "KeepClearSaid",
    "KeptAnswer",
    "KeptInsulated",
    "KeptLining",
    "KeptPlainCable",
    "KeptSurroundings",
    "KeptYesNo",
    "LengthsSaid",
    "LimitChange",
    "Lining",
    "MakerSaid",
    "MeasuredSaid",
    "MemberSaid",
    "NotchSaid",
    "Opening",
    "PanelSaid",
    "PlySaid",
    "RightWord",
    "RoofRafters",
    "RoofSaid",
    "Said",
    "Scene",
    "Section",
    "Stations",
    "StorySaid",
    "SupplySaid",
    "Timber",
    "Titled",
    "ToolsSaid",
    "Wall",
    "WallBlocking",
    "WiringSaid",
]


class About(Said):
    """What the building is and whose: printed on outputs, and what local answers hang on."""

    use: Words = "not said"
    """What the building is used for: workshop, storage, animals."""
    owner: Words = "not said"
    """Whose it is."""
    place: Words = "not said"
    """Where it stands: the local code and the inspector depend on it."""


class LimitChange(Said):
    """A limit that this place changes, by its name in the profile."""

    value: LimitValue
    """The new value: a length with its unit, or a plain number or share."""
    because: Words
    """Why, and who says so: it is printed wherever the limit is."""


class StorySaid(Titled):
    """A storey and the level of the floor that people stand on there (top of subfloor or slab)."""

    floor: Level
    """Level of the floor: 0 for the lowest, as a rule."""


class BoxSaid(Said):
    """A box, panel or stub: in a wall, in a ceiling or floor, in a roof slope, or on the side of a member."""

    title: Words = ""
    """What it is for people: "lights over the bench"."""
    kind: Literal["box", "panel", "stub"] = "box"
    """box; panel; or stub (a cable end left for later, without a body)."""
    circuit: Circuits | None = None
    """The circuit it is on, a list of circuits, or plan it."""
    device: Devices | None = None
    """What is in it: receptacle, light, switch, machine, heater, opener, alarm or junction; or keys, or a list."""
    box: Words | None = None
    """The box as bought, by its id in the catalogue, or the name of a series (square-4) whose depth the tool finds."""
    ring: Words | None = None
    """The ring on it, by its id in the catalogue."""
    volume: Volume | None = None
    """Volume as marked inside it: 21 (cubic inches), or 344 cm3."""
    shared: YesNo = False
    """Yes if two circuits may meet in it."""
    phase: Phase | None = None
    """When it is built: 1 first; as its circuit if not said."""
    panel: PanelSaid | None = None
    """Of a panel: its spaces and breakers."""
    wall: IdRef | None = None
    """In a wall: its id, with ``along`` and ``height``."""
    along: Distance | None = None
    """Middle of the body, along the wall from its start; with ``on``: along the member."""
    height: OnWall | None = None
    """Height above the storey's floor; ``to`` says to which part of the body."""
    to: Literal["centre", "top", "bottom"] = "centre"
    """Which part of the body the height is measured to."""
    above: Thickness = 0.0
    """Thickness of the finished floor that the height is measured from."""
    ceiling: IdRef | None = None
    """In a ceiling or floor: its id, with ``at``."""
    roof: IdRef | None = None
    """In a roof slope, with ``at``: the roof's id and -A (the slope whose eave is at its datum corner) or -B."""
    at: Two | None = None
    """In a ceiling or floor: (width, depth) from its datum corner; in a roof slope: (along the eave, up the slope)."""
    on: IdRef | None = None
    """On the side of a member: its id, with ``along`` and ``side``."""
    side: Words | None = None
    """With ``on``: east, west, north, south, up or down (which side of the timber); studs and joists: start or end
    side."""
    size: tuple[Small, Small, Small] | None = None
    """(width, height, depth) of the body; if not said, as the box as bought, a usual one 4 x 4 x 2-1/8 in, a panel
    14-1/4 x 28 x 3-1/2 in."""
    rise: Allowance | None = None
    """How far its cables go straight before the first turn; as in ``lengths`` if not said."""
    cables_max: Annotated[Whole, Field(ge=1, le=60)] = 4
    """Most cables that may enter it."""
    fed_from: IdRef | None = None
    """The box or panel that feeds it, if that is to be so."""


class LengthsSaid(Said):
    """What a cut is made of: path + entries + free conductor + panel + slack."""

    box_rise: Allowance | None = None
    """A cable leaves a box straight for this far before its first turn or bore; 8 in if not said."""
    entry: Allowance | None = None
    """From the box's face to where the sheath ends, at each end; 4 in if not said."""
    free: Allowance | None = None
    """Free conductor at each end; 8 in if not said."""
    panel: Allowance | None = None
    """Extra at the panel's end; its height + width - 2 in where known, else 36 in."""
    slack: Annotated[Number | None, Field(ge=0, le=1)] = None
    """Share of the path: 0.05 if not said."""


class ToolsSaid(Said):
    """Bits owned, most cables in a hole of each, and the room that drill and bit need."""

    bits: Annotated[list[Diameter], Field(min_length=1)] | None = None
    """Bits that are to hand: [3/4", 1", 1-1/4"]."""
    per_hole: dict[LengthText, Annotated[Whole, Field(ge=1, le=20)]] | None = None
    """Most cables in a hole of each bit: {3/4": 2, 1": 3}."""
    drill: Room | None = None
    """Room that drill and bit need, square to the member."""


class Scene(Said):
    """A whole scene file."""

    barnloom: Annotated[Literal[1], BeforeValidator(whole)]
    """Version of this format: 1."""
    title: Words
    """What the building is called."""
    about: About = About()
    """What the building is used for, whose it is and where."""
    units: Literal["us", "metric"] = "us"
    """How lengths are printed."""
    bare: Literal["in", "ft", "mm", "cm", "m"] | None = None
    """Unit of lengths written without one; without this they are errors."""
    code: Literal["us"] = "us"
    """Which profile of limits applies."""
    limits: dict[str, LimitChange] = {}
    """Limits that this place changes, by their names in the profile."""
    answers: Answers = Answers()
    """Questions for the inspector or the owner, with the answers kept."""
    storeys: Annotated[dict[Id, StorySaid], Field(min_length=1)]
    """Storeys, the lowest first."""
    walls: dict[Id, Wall] = {}
    """Stick-framed walls, by id."""
    floors: dict[Id, FloorSaid] = {}
    """Floors and ceilings, by id."""
    roofs: dict[Id, RoofSaid] = {}
    """Roofs, by id."""
    timbers: dict[Id, Timber] = {}
    """Single timbers, by id: posts, girders, braces, girts."""
    boards: dict[Id, Board] = {}
    """Running boards offered for cable, by id."""
    keep_clear: dict[Id, KeepClearSaid] = {}
    """What cables keep away from, by id."""
    members: dict[Id, MemberSaid] = {}
    """What is different about single members, by their ids."""
    joints: list[tuple[IdRef, IdRef]] = []
    """Pairs of members that are let into each other on purpose."""
    measured: dict[Id, MeasuredSaid] = {}
    """Control measurements, by id: diagonals and overall lengths that a survey checks the walls against."""
    boxes: dict[Id, BoxSaid]
    """Boxes, panels and stubs, by id."""
    controls: dict[Id, ControlSaid] = {}
    """Which lights follow which switches, by id."""
    circuits: dict[Id, CircuitSaid] = {}
    """Circuits, by id; may be left out where every box says plan it."""
    cables: dict[Id, CableSaid] = {}
    """What is fixed about single cables, by their ids (CIRCUIT.BOX, the far box)."""
    cable_types: dict[str, CableKind] = {}
    """Cables the store sells, where they are not the usual ones."""
    supply: SupplySaid = SupplySaid()
    """How the building is supplied."""
    wiring: WiringSaid = WiringSaid()
    """What the wiring may do."""
    lengths: LengthsSaid = LengthsSaid()
    """What a cut is made of."""
    tools: ToolsSaid = ToolsSaid()
    """Bits and drill."""
    prices: Annotated[
        Annotated[dict[str, Annotated[Number, Field(ge=0, le=1_000_000)]], Tag(KEYS)]
        | Annotated[Literal["money", "fewest feet", "fewest holes"], Tag(WORD)],
        OfShape,
    ] = "money"
    """What best means: money, fewest feet, fewest holes, or single prices by name."""

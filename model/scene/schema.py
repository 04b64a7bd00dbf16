"""What a scene file may say, as data classes that also write the published JSON Schema.

Every field is what a person would say aloud. Lengths are inches once read. ``None`` means "not said": the builder then takes
the documented default, or the stricter reading and records an assumption. Reading, line numbers and the checks that need
more than one value are in the modules beside this one.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints, WithJsonSchema

from barnloom.model.lengths import read_length_value, read_section_value

Length = Annotated[
    float,
    BeforeValidator(read_length_value),
    WithJsonSchema(
        {
            "anyOf": [{"type": "string", "pattern": "[0-9]"}, {"type": "number"}],
            "description": "a length with its unit: 12' 6-1/2\", 150 1/2\", 12ft 6 1/2in, 3.81 m, 3810 mm, or 0",
        }
    ),
]
"""Inches, read from text with a unit; 0 needs none. May be negative only where the field says so."""


class Section(BaseModel):
    """Breadth and depth of a timber, small side first as spoken ("two by ten"), in inches, and how it was given.

    ``2x10`` is nominal and becomes its dressed size; ``1-7/8" x 9-1/2"`` (inch marks) or ``47 x 241 mm`` is the true
    section; ``not measured`` is allowed.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")
    breadth_in: float
    depth_in: float
    said: str
    measured: bool = True


SectionField = Annotated[
    Section,
    BeforeValidator(read_section_value),
    WithJsonSchema(
        {
            "type": "string",
            "description": "2x10 (nominal, dressed), 1-7/8\" x 9-1/2\" or 47 x 241 mm (true), or: not measured",
        }
    ),
]
Id = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$")]
Place2 = tuple[Length, Length]
Place3 = tuple[Length, Length, Length]
Heading = Annotated[
    Literal["east", "north", "west", "south"] | float,
    Field(description="a compass word, or degrees counter-clockwise from east"),
]
RightWord = Literal["free", "never", "maker", "unknown"]
Lining = Literal["now", "later", "none"]


class Said(BaseModel):
    """Base of every part of a scene: unknown keys are errors, values do not change once read."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class About(Said):
    """What the building is and whose: printed on outputs, and what local answers hang on."""

    use: str = "not said"
    owner: str = "not said"
    place: str = "not said"


class KeptAnswer(Said):
    """A question answered: by whom and when, so that it can be shown."""

    answer: str
    below: Length | None = None
    who: str = ""
    when: str = ""


class Answers(Said):
    """Questions whose answers change routes. Leave one out and the stricter reading is planned and printed."""

    exposed: KeptAnswer | Literal["free", "drops", "covered", "never"] | None = None
    """Cable in sight in an unlined wall below a height: free; drops (vertical only); covered (vertical, and covered); never."""
    lining: Lining | None = None
    """Default for every wall."""
    insulated: Literal["yes", "no", "later"] | None = None


class LimitChange(Said):
    """A limit that this place changes, by its name in the profile."""

    value: Length | float
    because: str


class StorySaid(Said):
    """A storey and the level of the floor that people stand on there (top of subfloor or slab)."""

    floor: Length
    title: str = ""


class Stations(Said):
    """Where the members of a row stand: ``every`` a spacing, or measured ``centres``, or measured near faces ``at``."""

    every: Length | None = None
    centres: list[Length] | None = None
    at: list[Length] | None = None


class Door(Said):
    """A door leaf: which side of the opening its hinges are on (seen along the wall), and where it swings."""

    hinge: Literal["start", "end"]
    swings: Literal["in", "out"] = "in"


class Opening(Said):
    """A rough opening in a wall. ``at``: its near side from the wall's start; heights from the sole plate's bottom."""

    at: Length
    width: Length
    bottom: Length = 0.0
    top: Length
    header: SectionField | None = None
    header_plies: int = Field(2, ge=1, le=4)
    jacks: int = Field(1, ge=0, le=3)
    kings: int = Field(1, ge=0, le=3)
    door: Door | None = None
    title: str = ""


class WallBlocking(Said):
    """A row of blocks between studs at a height (centre), between two stations or all along."""

    height: Length
    section: SectionField | None = None
    between: Place2 | None = None


class Wall(Said):
    """A stick-framed wall: ``start`` and ``length`` between outside framing corners, its outer face on that line."""

    title: str = ""
    storey: Id | None = None
    start: Place2
    heading: Heading
    length: Length
    room: Literal["left", "right"] = "left"
    """Side of the line, seen along the heading, on which the wall's thickness and the room lie."""
    base: Length | None = None
    height: Length | None = None
    """Sole-plate bottom to top-plate top; not with ``profile``."""
    profile: list[Place2] | None = None
    """For a sloped top: (along, height of the top plate's top) corner by corner from start to end."""
    section: SectionField
    studs: Stations
    extra_studs: list[Length] = []
    """Near faces of studs added by hand; each takes its lower neighbour's id plus a letter."""
    sole_plates: int = Field(1, ge=0, le=2)
    top_plates: int = Field(2, ge=0, le=3)
    bearing: Literal["yes", "no", "not measured"] = "not measured"
    exterior: Literal["yes", "no"] = "yes"
    start_corner: Literal["auto", "through", "butt", "free"] = "auto"
    end_corner: Literal["auto", "through", "butt", "free"] = "auto"
    corner_passage: Literal["yes", "no"] = "yes"
    """Whether cable may go round its framed corners and tees through two holes that meet."""
    lining: Lining | None = None
    openings: dict[Id, Opening] = {}
    blocking: list[WallBlocking] = []


class Joists(Stations):
    """Joists of a floor: their section, where they stand (from the datum corner) and which way they run."""

    section: SectionField
    run: Literal["width", "depth"]
    """Along the floor's first or second dimension."""
    engineered: bool = False
    extra: list[Length] = []


class FloorOpening(Said):
    """A stair or hatch hole: nearest corner from the datum corner, and size, both in (width, depth)."""

    at: Place2
    size: Place2
    trimmers: int = Field(2, ge=1, le=3)
    headers: int = Field(2, ge=1, le=3)
    title: str = ""


class FloorBlocking(Said):
    """A row of blocks between joists: centre, as a distance along the joists from the datum corner's side."""

    at: Length
    section: SectionField | None = None
    between: Place2 | None = None


class Bearing(Said):
    """Where joists bear: near face and width, as distances along the joists."""

    at: Length
    width: Length


class FloorSaid(Said):
    """A floor or ceiling. ``corner`` is its datum corner; ``size`` is (width along the heading, depth to the left of it)."""

    title: str = ""
    carries: Id | None = None
    """The storey it carries: its subfloor's top is that storey's floor level."""
    bottom: Length | None = None
    """Underside of the joists, for a ceiling that carries no storey."""
    below: Id | None = None
    """The storey whose ceiling it is; else the one under ``carries``."""
    corner: Place2
    heading: Heading = "east"
    size: Place2
    joists: Joists
    ceiling: bool = False
    """True: its members are ceiling joists."""
    rims: Literal["both", "none", "near", "far"] = "both"
    rim_section: SectionField | None = None
    subfloor: Length = 0.0
    bearings: list[Bearing] | None = None
    openings: dict[Id, FloorOpening] = {}
    blocking: list[FloorBlocking] = []


class RoofRafters(Stations):
    """Rafters: section and stations along the eave."""

    section: SectionField
    extra: list[Length] = []


class CollarTies(Said):
    """Collar ties (or rafter ties): height of their underside over the plates, at every n-th pair of rafters."""

    section: SectionField
    height: Length
    each: int = Field(1, ge=1)


class RoofSaid(Said):
    """A gable or shed roof over the rectangle ``corner``/``size`` (outside of the plates)."""

    title: str = ""
    storey: Id
    """Storey that boxes in it belong to."""
    kind: Literal["gable", "shed"]
    corner: Place2
    heading: Heading = "east"
    size: Place2
    ridge: Literal["width", "depth"] = "width"
    """Which way the ridge (shed: the high edge) runs."""
    plate: Length
    """Level of the top of the plates that carry the rafters."""
    pitch: Annotated[str, StringConstraints(pattern=r"^\s*\d+(\.\d+)?\s*(/|in|:)\s*12\s*$")]
    """Rise in 12: 8/12."""
    overhang: Length = 0.0
    rafters: RoofRafters
    ridge_section: SectionField | None = None
    collar_ties: CollarTies | None = None
    high: Literal["left", "right"] = "left"
    """Shed only: the high side seen along the ridge's direction."""


class Timber(Said):
    """A single timber from end to end. ``line`` says which line of it the two points are on."""

    title: str = ""
    role: Literal["post", "girder", "brace", "girt", "purlin", "ridge", "header", "joist", "rafter", "collar_tie", "block"]
    from_: Place3 = Field(alias="from")
    to: Place3
    section: SectionField
    line: Literal["centre", "bottom", "top"] = "centre"
    turn: float = 0.0
    """Degrees its section is turned about its own axis; at 0 the depth is vertical (posts: north-south)."""
    storey: Id | None = None
    bearing: Literal["yes", "no", "not measured"] = "not measured"
    bore: RightWord = "never"
    fasten: RightWord = "free"
    mount: RightWord = "free"
    because: str = ""


class Board(Said):
    """A running board that the scene offers for cable across members or along a wall: straight, on its own face."""

    from_: Place3 = Field(alias="from")
    to: Place3
    width: Length = 3.5
    thickness: Length = 0.75
    face: Literal["down", "up", "east", "west", "north", "south"] = "down"
    """Which way the face that carries the cable looks; the two points are on the middle line of that face."""
    storey: Id | None = None
    in_place: bool = False
    """Already there: not bought, not put up."""


class KeepClearSaid(Said):
    """A chimney, duct, tank, stair or old cable: a box between two opposite corners, and a clearance round it."""

    kind: Literal["chimney", "duct", "tank", "stair", "cable", "other"] = "other"
    from_: Place3 = Field(alias="from")
    to: Place3
    clearance: Length = 0.0
    title: str = ""


class HoleSaid(Said):
    """A hole that is there: place as on the hole list of its member, size, and what is in it."""

    id: Id | None = None
    along: Length
    across: Length
    diameter: Length | Literal["not measured"]
    has: list[str] = []


class NotchSaid(Said):
    """A notch that is there: from and to along the member, its edge, its depth."""

    from_: Length = Field(alias="from")
    to: Length
    edge: Literal["bottom", "top", "room", "far"]
    depth: Length


class PlySaid(Said):
    """One ply of a pack: own section, own ends (along the member from its named end), own bottom edge."""

    section: SectionField | None = None
    start: Length | None = None
    end: Length | None = None
    bottom: Length | None = None
    """How far its bottom edge is above the member's; may be negative."""


class MakerSaid(Said):
    """The maker's allowance for holes in an engineered member, from its data sheet."""

    diameter_max: Length
    edge_min: Length
    spacing_min: Length
    end_min: Length
    source: str


class MemberSaid(Said):
    """What is different about one member, by its id."""

    missing: bool = False
    at: Length | None = None
    """Moved: near face at this station."""
    centre: Length | None = None
    section: SectionField | None = None
    plies: int | list[PlySaid] | None = None
    """2 or 3: doubled or tripled; or each ply with its own section and ends."""
    start: Length | None = None
    """Short: it begins this far along where it would have begun."""
    end: Length | None = None
    """Short: it ends this far along from its named end; or: not measured (leave out, and list "ends" there)."""
    not_measured: list[Literal["section", "bearing", "ends", "holes"]] = []
    bearing: Literal["yes", "no"] | None = None
    bore: RightWord | None = None
    fasten: RightWord | None = None
    mount: RightWord | None = None
    because: str = ""
    maker: MakerSaid | None = None
    holes: list[HoleSaid] = []
    notches: list[NotchSaid] = []


class BoxSaid(Said):
    """A box, panel or stub: in a wall, in a ceiling or floor, in a roof slope, or on the side of a member."""

    title: str = ""
    kind: Literal["box", "panel", "stub"] = "box"
    circuit: Id | list[Id] | None = None
    wall: Id | None = None
    along: Length | None = None
    height: Length | None = None
    """Above the storey's floor; ``to`` says to which part of the body, ``above`` that a finished floor lies between."""
    to: Literal["centre", "top", "bottom"] = "centre"
    above: Length = 0.0
    """Thickness of the finished floor that the height is measured from."""
    ceiling: Id | None = None
    roof: Id | None = None
    at: Place2 | None = None
    """In a ceiling or floor: (width, depth) from its datum corner; in a roof slope: (along the eave, up the slope)."""
    on: Id | None = None
    side: str | None = None
    """With ``on``: east, west, north, south, up or down (which side of the timber); studs and joists: start or end side."""
    size: Place3 | None = None
    """(width, height, depth) of the body; default 4 x 4 x 2-1/8 in."""
    rise: Length | None = None
    cables_max: int = Field(4, ge=1, le=60)
    fed_from: Id | None = None


class CircuitSaid(Said):
    """A circuit: its cable, its panel, how many cables leave the panel, and a pinned order if wanted."""

    title: str = ""
    cable: str = "12/2"
    panel: Id | None = None
    home_runs: int | Literal["any"] = 1
    order: list[Id] | None = None
    """Shorthand for a chain of ``fed_from`` from the panel."""


class CableSaid(Said):
    """What is fixed about one cable, by its id (CIRCUIT.BOX, the far box)."""

    through: list[Id] = []
    avoid: list[Id] = []
    done: bool = False


class CableKind(Said):
    """A cable the scene's store sells, or other sizes than the nominal ones."""

    width: Length | None = None
    thickness: Length | None = None
    price: float | None = Field(None, ge=0, description="money a foot")


class LengthsSaid(Said):
    """What a cut is made of; see the README."""

    box_rise: Length | None = None
    entry: Length | None = None
    free: Length | None = None
    panel: Length | None = None
    slack: float | None = Field(None, ge=0, le=1)


class ToolsSaid(Said):
    """Bits owned, most cables in a hole of each, and the room that drill and bit need."""

    bits: list[Length] | None = None
    per_hole: dict[str, int] | None = None
    drill: Length | None = None


class Scene(Said):
    """A whole scene file."""

    barnloom: Literal[1]
    title: str
    about: About = About()
    units: Literal["us", "metric"] = "us"
    """How lengths are printed."""
    bare: Literal["in", "ft", "mm", "cm", "m"] | None = None
    """Unit of lengths written without one; without this they are errors."""
    code: Literal["us"] = "us"
    limits: dict[str, LimitChange] = {}
    answers: Answers = Answers()
    storeys: dict[Id, StorySaid]
    walls: dict[Id, Wall] = {}
    floors: dict[Id, FloorSaid] = {}
    roofs: dict[Id, RoofSaid] = {}
    timbers: dict[Id, Timber] = {}
    boards: dict[Id, Board] = {}
    keep_clear: dict[Id, KeepClearSaid] = {}
    members: dict[Id, MemberSaid] = {}
    joints: list[tuple[Id, Id]] = []
    """Pairs of members that are let into each other on purpose."""
    boxes: dict[Id, BoxSaid]
    circuits: dict[Id, CircuitSaid]
    cables: dict[Id, CableSaid] = {}
    cable_types: dict[str, CableKind] = {}
    lengths: LengthsSaid = LengthsSaid()
    tools: ToolsSaid = ToolsSaid()
    prices: dict[str, float] | Literal["money", "fewest feet", "fewest holes"] = "money"

"""What stands there already, or will: walls, floors, roofs, timbers, and what is different about one member.

The first half of what a scene file may say; ``schema`` has the other half and the whole, and is where to import from.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, Tag

from barnloom.model.scene.values import (
    LIST,
    WORD,
    Clearance,
    Coordinate,
    Degrees,
    Depth,
    Diameter,
    DiameterOrNot,
    Distance,
    Heading,
    Id,
    IdRef,
    Level,
    OfShape,
    OnWall,
    OpeningSize,
    Pitch,
    Place2,
    Place3,
    SectionField,
    Side,
    Small,
    Spacing,
    Thickness,
    Two,
    WallHeight,
    Whole,
    Words,
    YesNo,
)

RightWord = Literal["free", "never", "maker", "unknown"]
Lining = Literal["now", "later", "none"]


class Said(BaseModel):
    """Base of every part of a scene: unknown keys are errors, values do not change once read."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Titled(Said):
    """A part that has a name for people besides its id."""

    title: Words = ""
    """A name for people, in any script."""


class Stations(Said):
    """Where the members of a row stand: exactly one of ``every``, ``centres`` and ``at``."""

    every: Spacing | None = None
    """Spacing: one member flush at the start, centres at its multiples, the last flush at the end."""
    centres: Annotated[list[Distance], Field(min_length=1)] | None = None
    """Measured centres from the start, one by one."""
    at: Annotated[list[Distance], Field(min_length=1)] | None = None
    """Measured near faces from the start, one by one."""


class Door(Said):
    """A door leaf in an opening."""

    hinge: Literal["start", "end"]
    """Which side of the opening its hinges are on: the one nearer the wall's start, or its end."""
    swings: Literal["in", "out"] = "in"
    """Where it swings: into the room or out of it."""


class Opening(Titled):
    """A rough opening in a wall, by its near side from the wall's start and heights from the sole plate's bottom."""

    at: Distance
    """Near side of the rough opening, from the wall's start."""
    width: OpeningSize
    """Width of the rough opening."""
    bottom: OnWall = 0.0
    """Height of its lower edge (a window's); 0 for a door."""
    top: OnWall
    """Height of its upper edge: the underside of the header."""
    header: SectionField | None = None
    """Section of one ply of the header; if not said, the largest of 2x8, 2x6, 2x4 that fits is drawn, never bored."""
    header_plies: Annotated[Whole, Field(ge=1, le=4)] = 2
    """How many plies the header has."""
    jacks: Annotated[Whole, Field(ge=0, le=3)] = 1
    """Jack studs on each side."""
    kings: Annotated[Whole, Field(ge=0, le=3)] = 1
    """King studs on each side."""
    door: Door | None = None
    """The door leaf, if there is one: no switch goes behind it."""


class WallBlocking(Said):
    """A row of blocks between studs."""

    height: OnWall
    """Height of their middle over the sole plate's bottom."""
    section: SectionField | None = None
    """Section of the blocks; that of the studs if not said."""
    between: Two | None = None
    """From and to, along the wall; the whole wall if not said."""


class Wall(Titled):
    """A stick-framed wall: ``start`` and ``length`` between outside framing corners, its outer face on that line."""

    storey: IdRef | None = None
    """Storey it stands on; if not said, by its base, else the first."""
    start: Place2
    """Where it starts, as (east, north): an outside framing corner."""
    heading: Heading
    """Which way it goes from there: east, north, west, south, or degrees counter-clockwise from east."""
    length: Side
    """Outside framing corner to outside framing corner."""
    room: Literal["left", "right"] = "left"
    """Side of the line, seen along the heading, on which the wall's thickness and the room lie."""
    base: Level | None = None
    """Level of the sole plate's bottom; the storey's floor if not said."""
    height: WallHeight | None = None
    """Sole-plate bottom to top-plate top; not with ``profile``."""
    profile: Annotated[list[Two], Field(min_length=2)] | None = None
    """For a sloped top: (along, height of the top plate's top) corner by corner from start to end."""
    section: SectionField
    """Section of studs and plates: 2x4, 2x6, or as measured."""
    studs: Stations
    """Where the studs stand, from the wall's start."""
    extra_studs: list[Distance] = []
    """Near faces of studs added by hand; each takes its lower neighbour's id plus a letter."""
    sole_plates: Annotated[Whole, Field(ge=0, le=2)] = 1
    """How many sole plates lie under the studs."""
    top_plates: Annotated[Whole, Field(ge=0, le=3)] = 2
    """How many top plates lie on the studs."""
    bearing: Literal["yes", "no", "not measured"] = "not measured"
    """Whether floors or roofs bear on it."""
    exterior: Literal["yes", "no"] = "yes"
    """Whether its far side is outdoors."""
    start_corner: Literal["auto", "through", "butt", "free"] = "auto"
    """At its start: runs through the corner, butts against the other wall, or stands free."""
    end_corner: Literal["auto", "through", "butt", "free"] = "auto"
    """At its end: runs through the corner, butts against the other wall, or stands free."""
    corner_passage: Literal["yes", "no"] = "yes"
    """Whether cable may go round its framed corners and tees through two holes that meet."""
    lining: Lining | None = None
    """Whether this wall gets a lining: now, later or none."""
    openings: dict[Id, Opening] = {}
    """Doors and windows, by id."""
    blocking: list[WallBlocking] = []
    """Rows of blocks between the studs."""


class Joists(Stations):
    """Joists of a floor: their section, where they stand (from the datum corner) and which way they run."""

    section: SectionField
    """Section of one joist."""
    run: Literal["width", "depth"]
    """Along the floor's first or second dimension."""
    engineered: YesNo = False
    """Yes for I-joists and the like: bored only as their maker says."""
    extra: list[Distance] = []
    """Near faces of joists added by hand."""


class FloorOpening(Titled):
    """A stair or hatch hole in a floor."""

    at: Two
    """Nearest corner from the floor's datum corner, as (width, depth)."""
    size: tuple[OpeningSize, OpeningSize]
    """Its size, as (width, depth)."""
    trimmers: Annotated[Whole, Field(ge=1, le=3)] = 2
    """Joists side by side along each side of it."""
    headers: Annotated[Whole, Field(ge=1, le=3)] = 2
    """Plies of the headers across its ends."""


class FloorBlocking(Said):
    """A row of blocks between joists."""

    at: Distance
    """Middle of the row, along the joists from the datum corner's side."""
    section: SectionField | None = None
    """Section of the blocks; the joists' if not said."""
    between: Two | None = None
    """From and to, across the joists; the whole floor if not said."""


class Bearing(Said):
    """A strip that joists bear on: a wall's plate, a girder."""

    at: Distance
    """Near face, along the joists."""
    width: Small
    """How wide it is, along the joists."""


class FloorSaid(Titled):
    """A floor or ceiling: joists over a rectangle that starts at its datum corner."""

    carries: IdRef | None = None
    """The storey it carries: its subfloor's top is that storey's floor level."""
    bottom: Level | None = None
    """Level of the underside of the joists, for a ceiling that carries no storey."""
    below: IdRef | None = None
    """The storey whose ceiling it is; else the one under ``carries``."""
    corner: Place2
    """Its datum corner, as (east, north): joists are counted from there."""
    heading: Heading = "east"
    """Which way its width goes; its depth goes to the left of that."""
    size: tuple[Side, Side]
    """(width along the heading, depth to the left of it)."""
    joists: Joists
    """Section, places and direction of the joists."""
    ceiling: YesNo = False
    """Yes: its members are ceiling joists."""
    rims: Literal["both", "none", "near", "far"] = "both"
    """Rim joists across the joists' ends: at both, at none, at the near or the far end."""
    rim_section: SectionField | None = None
    """Section of the rims; the joists' if not said."""
    subfloor: Thickness = 0.0
    """Thickness of the boards or sheets on the joists."""
    bearings: list[Bearing] | None = None
    """What the joists bear on; if not said, 3-1/2 in of plate at both ends."""
    girders: list[Bearing] = []
    """Flush girders that part the joists (each a timber besides): every joist is then cut there in pieces."""
    openings: dict[Id, FloorOpening] = {}
    """Stair and hatch holes, by id."""
    blocking: list[FloorBlocking] = []
    """Rows of blocks between the joists."""


class RoofRafters(Stations):
    """Rafters: section and stations along the eave."""

    section: SectionField
    """Section of one rafter."""
    extra: list[Distance] = []
    """Near faces of rafters added by hand."""


class CollarTies(Said):
    """Collar ties or rafter ties across pairs of rafters."""

    section: SectionField
    """Section of one tie."""
    height: OnWall
    """Height of their underside over the plates."""
    each: Annotated[Whole, Field(ge=1, le=20)] = 1
    """At every n-th pair of rafters after the first; the pairs at the roof's ends have none."""


class RoofSaid(Titled):
    """A gable or shed roof over the rectangle ``corner``/``size`` (outside of the plates)."""

    storey: IdRef
    """Storey that boxes in it belong to."""
    kind: Literal["gable", "shed"]
    """gable: two slopes that meet at a ridge; shed: one slope."""
    corner: Place2
    """Its datum corner: a corner of the plates' outside, as (east, north)."""
    heading: Heading = "east"
    """Which way its width goes; its depth goes to the left of that."""
    size: tuple[Side, Side]
    """(width along the heading, depth to the left of it), outside of the plates."""
    ridge: Literal["width", "depth"] = "width"
    """Which way the ridge (shed: the high edge) runs."""
    plate: Level
    """Level of the top of the plates that carry the rafters."""
    pitch: Pitch
    """Rise in 12: 8/12."""
    overhang: Clearance = 0.0
    """How far the rafters reach past the plates, measured level."""
    rafters: RoofRafters
    """Section and places of the rafters, along the eave."""
    ridge_section: SectionField | None = None
    """Section of the ridge board; none if not said."""
    collar_ties: CollarTies | None = None
    """Collar ties, if there are any."""
    high: Literal["left", "right"] = "left"
    """Shed only: the high side seen along the ridge's direction."""


class Timber(Titled):
    """A single timber from end to end: post, girder, brace, girt. Never bored unless it says so."""

    role: Literal[
        "post", "girder", "brace", "girt", "purlin", "ridge", "header", "joist", "rafter", "collar_tie", "block"
    ]
    """What it is: the limits are chosen by it."""
    from_: Place3 = Field(alias="from")
    """One end, as (east, north, up)."""
    to: Place3
    """The other end, as (east, north, up)."""
    section: SectionField
    """Its section."""
    line: Literal["centre", "bottom", "top"] = "centre"
    """Which line of the timber the two points are on: its middle, or the middle of its bottom or top face."""
    turn: Degrees = 0.0
    """Degrees its section is turned, clockwise seen from ``from`` (posts: from below); at 0 the depth is upright
    (posts: north-south)."""
    storey: IdRef | None = None
    """Storey it belongs to; by its lower end if not said."""
    bearing: Literal["yes", "no", "not measured"] = "not measured"
    """Whether it carries load."""
    bore: RightWord = "never"
    """Whether it may be bored: free, never, maker (as its maker says), unknown."""
    fasten: RightWord = "free"
    """Whether a cable may be fastened to it."""
    mount: RightWord = "free"
    """Whether a box may be mounted on it."""
    because: Words = ""
    """Why, where something is not free."""


class Board(Said):
    """A running board that the scene offers for cable across members or along a wall: straight, on its own face."""

    from_: Place3 = Field(alias="from")
    """One end, as (east, north, up), on the middle line of the face that carries the cable."""
    to: Place3
    """The other end."""
    width: Small = 3.5
    """Width of the board."""
    thickness: Small = 0.75
    """Thickness of the board."""
    face: Literal["down", "up", "east", "west", "north", "south"] = "down"
    """Which way the face that carries the cable looks."""
    storey: IdRef | None = None
    """Storey it belongs to; by its height if not said."""
    in_place: YesNo = False
    """Already there: not bought, not put up."""


class MeasuredSaid(Said):
    """A control measurement: straight between two outside framing corners, each named by the wall that starts there."""

    from_: IdRef = Field(alias="from")
    """The wall that starts at one corner."""
    to: IdRef
    """The wall that starts at the other corner."""
    length: Side
    """What the tape reads between the two, straight."""


class KeepClearSaid(Titled):
    """A chimney, duct, tank, stair or old cable: a box between two opposite corners, and a clearance round it."""

    kind: Literal["chimney", "duct", "tank", "stair", "cable", "other"] = "other"
    """What it is."""
    from_: Place3 = Field(alias="from")
    """One corner, as (east, north, up)."""
    to: Place3
    """The opposite corner."""
    clearance: Clearance = 0.0
    """How far cables and holes keep away from it."""


class HoleSaid(Said):
    """A hole that is there already: its place as on the hole list of its member."""

    id: Id | None = None
    """A name for it; the member's id with .old1 and so on if not said."""
    along: Distance
    """Middle of the hole along the member: joists from the named end, studs from the bottom, plates from the wall's
    start."""
    across: Distance
    """Middle of the hole across it: joists up from the bottom edge, studs and plates from the room-side face."""
    diameter: DiameterOrNot
    """Its diameter, or: not measured (then it is never reused)."""
    has: list[Words] = []
    """Cables in it that are not planned here, as types: [12/2, 14/2]."""


class NotchSaid(Said):
    """A notch that is there already."""

    from_: Distance = Field(alias="from")
    """Where it begins, along the member."""
    to: Distance
    """Where it ends, along the member."""
    edge: Literal["bottom", "top", "room", "far"]
    """The edge it is cut into: bottom or top of a joist, room or far side of a stud."""
    depth: Depth
    """How deep it is."""


class PlySaid(Said):
    """One ply of a doubled or tripled member; what is not said is as the member itself."""

    section: SectionField | None = None
    """Its own section."""
    start: Distance | None = None
    """Where it begins, along the member from its named end."""
    end: Distance | None = None
    """Where it ends, along the member from its named end."""
    bottom: Coordinate | None = None
    """How far its bottom edge is above the member's; may be negative."""


class MakerSaid(Said):
    """The maker's allowance for holes in an engineered member, from its data sheet."""

    diameter_max: Diameter
    """Largest hole."""
    edge_min: Depth
    """Least wood between a hole and an edge."""
    spacing_min: Distance
    """Least wood between two holes."""
    end_min: Distance
    """Least distance of a hole from an end."""
    source: Words
    """The data sheet: maker, number, date."""


class MemberSaid(Said):
    """What is different about one member, by its id; the ids are in ``members.csv`` of a first plan."""

    missing: YesNo = False
    """It is not there."""
    at: Distance | None = None
    """Moved: near face at this station."""
    centre: Distance | None = None
    """Moved: middle at this station."""
    section: SectionField | None = None
    """Its own section."""
    plies: (
        Annotated[
            Annotated[Annotated[Whole, Field(ge=1, le=4)], Tag(WORD)]
            | Annotated[list[PlySaid], Field(min_length=1, max_length=4), Tag(LIST)],
            OfShape,
        ]
        | None
    ) = None
    """2 or 3: doubled or tripled; or a list, each ply with its own section and ends."""
    start: Distance | None = None
    """Short: it begins this far along where it would have begun."""
    end: Distance | None = None
    """Short: it ends this far along from its named end. (An end nobody measured: list "ends" under not_measured.)"""
    not_measured: list[Literal["section", "bearing", "ends", "holes"]] = []
    """What nobody measured: left blank in lists, the stricter reading in rules."""
    bearing: Literal["yes", "no"] | None = None
    """Whether it carries load."""
    bore: RightWord | None = None
    """Whether it may be bored: free, never, maker (as its maker says), unknown."""
    fasten: RightWord | None = None
    """Whether a cable may be fastened to it."""
    mount: RightWord | None = None
    """Whether a box may be mounted on it."""
    because: Words = ""
    """Why."""
    maker: MakerSaid | None = None
    """What the maker of an engineered member allows."""
    holes: list[HoleSaid] = []
    """Holes that are there already."""
    notches: list[NotchSaid] = []
    """Notches that are there already."""

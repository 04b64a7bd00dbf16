"""The building as the rest of the house sees it: plain, immutable values in inches.

Axes of the world: x east, y north, z up. Every assembly has axes of its own (u across its members, v along them,
w through its depth), and every member has its own (along, bit, across), so nothing here assumes a square building.
All of it serialises through pydantic's ``TypeAdapter``, which also writes the published JSON Schema.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from barnloom.model.wiring import BoxType, Breakers, Control, Device, Supply, WiringRules

EXPOSED_BELOW_IN = 84.0
"""Height over its floor below which cable in sight is in reach, where the scene keeps no answer (own caution)."""

Vec = tuple[float, float, float]
Span = tuple[float, float]


class Right(StrEnum):
    """What may be done to a member: one answer each for boring, fastening a cable, mounting a box."""

    FREE = "free"
    NEVER = "never"
    MAKER = "maker"
    UNKNOWN = "unknown"


ENGINEERED = "engineered: only by its maker's data"
"""Why a member whose ``bore`` is ``MAKER`` is not bored where the scene holds no such data."""


class Role(StrEnum):
    """What a member is; the limits are chosen by it."""

    JOIST = "joist"
    RIM = "rim"
    RAFTER = "rafter"
    CEILING_JOIST = "ceiling_joist"
    STUD = "stud"
    KING = "king"
    JACK = "jack"
    CRIPPLE = "cripple"
    SOLE_PLATE = "sole_plate"
    TOP_PLATE = "top_plate"
    HEADER = "header"
    SILL = "sill"
    TRIMMER = "trimmer"
    BLOCK = "block"
    GIRDER = "girder"
    RIDGE = "ridge"
    COLLAR_TIE = "collar_tie"
    POST = "post"
    BRACE = "brace"
    GIRT = "girt"
    PURLIN = "purlin"
    BOARD = "board"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ply:
    """One piece of a pack, as spans in its member's own axes (inches)."""

    along: Span
    bit: Span
    across: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A hole that is in the wood already. ``diameter_in`` None: not measured (never reused)."""

    id: str
    along_in: float
    across_in: float
    diameter_in: float | None
    holds: tuple[str, ...] = ()
    """Cables in it that are not ours, as types ("12/2"); they count for the fill."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Notch:
    """A notch from the low edge (across = 0) or the high edge of a member."""

    along: Span
    edge: str  # "low" | "high"
    depth_in: float
    seat: bool = False
    """A cut that the framing itself makes (birdsmouth, plumb tail): holes keep off it, it is no fault to warn of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MakerHoles:
    """What the maker of an engineered member allows, from its data sheet, as the scene carries it."""

    diameter_max_in: float
    edge_min_in: float
    spacing_min_in: float
    end_min_in: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """One piece of framing, or one pack of them, as a box-shaped solid.

    ``origin`` is the corner at along = bit = across = 0. ``along``, ``bit`` and ``across`` are orthonormal (either
    hand): a drill goes in the direction of ``bit``, ``thickness_in`` is what it goes through, and a hole's place is
    (along, across), measured from the end and the face that ``along_from`` and ``across_from`` name for a person.
    Joist, rim, rafter, block between joists: along from the named end, across up from the bottom edge. Stud, post:
    along from the bottom end, across from the room-side face. Plate, block in a wall: along from the end nearest the
    wall's start, across from the room-side face.
    """

    id: str
    role: Role
    assembly: str
    """Id of the wall, floor or roof slope it is framed into; of itself for a single timber or a board."""
    storey: str
    origin: Vec
    along: Vec
    bit: Vec
    across: Vec
    length_in: float
    thickness_in: float
    depth_in: float
    plies: tuple[Ply, ...]
    section: str
    """As the scene said it, and how it was read: "2x10 (dressed 1-1/2 x 9-1/4)"."""
    along_from: str
    across_from: str
    bearing: bool = True
    """True for a stud of a bearing or exterior wall, and wherever it is not known."""
    bearings: tuple[Span, ...] = ()
    """Where it bears, as spans along it."""
    bore: Right = Right.FREE
    fasten: Right = Right.FREE
    mount: Right = Right.FREE
    reason: str = ""
    maker: MakerHoles | None = None
    holes: tuple[Hole, ...] = ()
    notches: tuple[Notch, ...] = ()
    corner: bool = False
    """A member of a framed corner or tee, where a bore has its own price and wants nail plates."""
    in_place: bool = True
    """False: a running board still to be bought and put up."""
    unmeasured: tuple[str, ...] = ()
    """Of "section", "bearing", "ends", "holes": not measured; blank in lists, the stricter reading in rules."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Void:
    """An opening in an assembly: a cable does not cross it in mid-air."""

    id: str
    u: Span
    v: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembly:
    """A wall, a floor (or ceiling), or one slope of a roof: a slab of framing in its own axes.

    ``origin`` is at u = v = w = 0. Walls: u from the wall's start along it, v up from the sole plate's bottom, w from
    the outer face (0) to the room-side face (its depth). Floors: u across the joists from the datum corner, v along
    them, w up from the joists' bottom. Roof slopes: u along the eave, v up the slope from the plate line, w up from the
    rafters' underside. Either hand of axes may occur.
    """

    id: str
    kind: str  # "wall" | "floor" | "roof"
    title: str
    storey: str
    """Storey that a box in it belongs to: a ceiling box belongs to the storey below its floor."""
    origin: Vec
    u: Vec
    v: Vec
    w: Vec
    extent_u: Span
    extent_v: Span
    depth_in: float
    """The slab is 0 <= w <= depth_in; cables run on the mid-depth plane w = depth_in / 2."""
    top: tuple[tuple[float, float], ...] = ()
    """For a wall with a sloped top: the underside of its top plates as (u, v) corners; empty for a level one."""
    voids: tuple[Void, ...] = ()
    skin_in: float = 0.0
    """Thickness of the subfloor on the high-w side (floors only)."""
    lining: str = "none"  # "now" | "later" | "none"
    bearing: bool = True
    exterior: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A box, a panel, or a stub (a box without a body), in its host's axes.

    In an assembly, ``u_in``, ``v_in`` and ``w_in`` are the centre of the body there and ``size_in`` its extents along
    u, v, w. On a timber or board (``side`` not empty) they are along the member from its ``origin``, 0, and 0: the box
    sits centred on that long face, and ``size_in`` is (along the member, over the face, out from it).
    """

    id: str
    title: str
    kind: str  # "box" | "panel" | "stub"
    circuits: tuple[str, ...]
    storey: str
    host: str
    side: str
    """"" in an assembly; else the face of the host member: "+across", "-across", "+bit", "-bit"."""
    u_in: float
    v_in: float
    w_in: float
    size_in: Vec
    at: Vec
    """Centre of the body in the world."""
    size_known: bool = True
    """False: the scene gives none and the usual one is drawn (a panel's share of a cut length is then the flat one)."""
    rise_in: float
    """How far a cable goes straight before its first turn or bore; 0 for stubs."""
    cables_max: int
    fed_from: str = ""
    """Pinned: the box that feeds this one, panel side."""
    series: str = ""
    """Series of boxes as bought that its face belongs to; empty: the scene gives a body and no box that is known."""
    box_type: str = ""
    """Pinned: the box as bought; empty: the tool chooses among the series."""
    ring: str = ""
    """Pinned: the ring on it; empty: the tool chooses."""
    volume_in3: float = 0.0
    """As marked in it, where the scene says so; 0: that of the box as bought."""
    shared: bool = False
    """Two circuits in it, on the person's word."""
    phase: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """A branch circuit: its panel and its boxes, and what of its cable and breaker is fixed."""

    id: str
    title: str
    panel: str
    boxes: tuple[str, ...]
    cable: str = ""
    """Pinned: every cable of it is of this type; empty: conductors and load decide."""
    home_runs: int | None = 1
    """Cables of it that leave the panel; None: any number."""
    breaker_a: float = 0.0
    """Pinned; 0: the load decides."""
    awg: int = 0
    """Pinned; 0: breaker and load decide."""
    ground_fault: str = ""  # "breaker" | "device" | "none" | "": as its devices ask
    multiwire: bool = False
    """Two lines on opposite legs that share a neutral."""
    because: str = ""
    """Who says so, where that leaves protection out or sets a larger breaker for a motor."""
    motor_breaker: bool = False
    """An electrician has pinned a breaker above the small-conductor limit, for one motor with overload protection."""
    phase: int = 1
    planned: bool = False
    """The tool put its boxes together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CableRule:
    """What the scene fixes about one cable (named by its id, circuit and far box)."""

    cable: str
    through: tuple[str, ...] = ()
    """Members (bored, or followed along a face or board) that it must use, in this order from the panel's side."""
    avoid: tuple[str, ...] = ()
    done: bool = False
    """Already pulled: it is not bought, and its holes are not bored."""
    type: str = ""
    """Pinned: the cable as bought."""
    from_box: str = ""
    """Pinned: the box that it comes from."""
    holes: tuple[str, ...] | None = None
    """Pulled already through these holes (by id, from the panel's side) and no others, whatever the limits say of them;
    None: not said."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepClear:
    """A solid to keep out of, clearance already added: a box along the world's axes."""

    id: str
    kind: str
    low: Vec
    high: Vec
    clearance_in: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CableType:
    """A cable as bought: outside width and thickness in inches, price a foot, what is inside."""

    id: str
    width_in: float
    thickness_in: float
    price_ft: float
    source: str
    conductors: int = 0
    """Insulated ones; 0: not said (a cable of the scene's own), so nothing is checked that hangs on it."""
    awg: int = 0
    """Size of its conductors; 0: not said."""
    family: str = ""
    """"NM-B", "UF-B", or a name of the scene's own."""
    coils: tuple[tuple[float, float], ...] = ()
    """What the store sells: (length in feet, price of the coil); empty: only by the foot."""
    by_foot: float = 0.0
    """Price a foot where it is cut to length; 0: it is not."""
    parts: tuple[str, ...] = ()
    """Two cables that stand in for a larger one, by id: planned as one, and two in every list; empty: one cable."""

    @property
    def sheaths(self) -> int:
        """How many cables it is."""
        return len(self.parts) or 1


@dataclass(frozen=True, slots=True, kw_only=True)
class LengthRules:
    """What a cable's cut length is made of (inches), definitions as in the README; all a scene's choice."""

    box_rise_in: float = 8.0
    entry_in: float = 4.0
    free_in: float = 8.0
    panel_in: float = 36.0
    """At the panel's end, where the panel's own size is not known."""
    slack_share: float = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Tools:
    """The bits a person owns and the drill that has to fit the bay (inches)."""

    bits_in: tuple[float, ...] = (0.75, 1.0, 1.25)
    per_hole: tuple[tuple[float, int], ...] = ((0.75, 2), (1.0, 3), (1.25, 3))
    """Most cables in a hole of that bit."""
    drill_in: float = 12.0
    """Room that drill and bit need, square to the member."""
    grid_in: float = 1 / 16
    """Places are chosen and printed on this grid (1/16 in, or 1 mm)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A question to the inspector, the owner or oneself, with the answer kept; unanswered ones are assumptions."""

    question: str
    answer: str
    assumed: bool
    detail: str = ""
    who: str = ""
    when: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One limit: its value, where it comes from, and how sure that is."""

    name: str
    value: float
    unit: str
    clause: str
    edition: str
    confidence: str  # "confirmed" | "from memory" | "common practice" | "own caution"
    note: str = ""
    amended: str = ""
    """The scene's reason where the scene changed it; empty otherwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Storey:
    """A storey: the level of the floor people stand on (top of its subfloor or slab), inches."""

    id: str
    title: str
    floor_in: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Building:
    """Everything the planner needs to know, resolved: no defaults are left to look up."""

    title: str
    about: dict[str, str]
    metric: bool
    storeys: tuple[Storey, ...]
    assemblies: tuple[Assembly, ...]
    members: tuple[Member, ...]
    keep_clear: tuple[KeepClear, ...]
    boxes: tuple[Box, ...]
    circuits: tuple[Circuit, ...]
    cable_rules: tuple[CableRule, ...]
    cable_types: tuple[CableType, ...]
    limits: tuple[Limit, ...]
    prices: dict[str, float]
    lengths: LengthRules
    tools: Tools
    answers: tuple[Answer, ...]
    exposed: str = "covered"  # "free" | "drops" | "covered" | "never"
    """What is accepted for cable in sight in unlined walls below ``exposed_below_in`` over their floor."""
    exposed_below_in: float = EXPOSED_BELOW_IN
    insulated: str = "yes"  # "yes" | "no" | "later"
    """Whether holes between floors get sealed and cables lie in insulation: then more than two in one are derated."""
    warnings: tuple[str, ...] = field(default=())
    devices: tuple[Device, ...] = ()
    controls: tuple[Control, ...] = ()
    box_types: tuple[BoxType, ...] = ()
    """Boxes and rings that the store sells: the catalogue, with the scene's own."""
    breakers: tuple[Breakers, ...] = ()
    """One for each panel."""
    supply: Supply = Supply()
    wiring: WiringRules = WiringRules()

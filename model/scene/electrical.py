"""What boxes do, and how the building is supplied: devices, panels, controls, circuits, cables, supply.

The electrical half of what a scene file may say; ``schema`` is where to import from.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, Tag

from barnloom.model.cables import CONDUCTORS_MOST
from barnloom.model.scene.framing import Said, Titled
from barnloom.model.scene.values import (
    KEYS,
    LIST,
    WORD,
    Amps,
    Awg,
    CableSize,
    CircuitRef,
    Distance,
    HomeRuns,
    Horsepower,
    IdRef,
    LengthText,
    Number,
    OfShape,
    OnWall,
    OpeningSize,
    Place2,
    PriceOrNo,
    Share,
    SupplySize,
    Watts,
    Whole,
    Words,
    YesNo,
    whole,
)

DeviceWord = Literal["receptacle", "light", "switch", "machine", "heater", "opener", "alarm", "junction"]
Space = Annotated[Whole, Field(ge=1, le=84)]
Phase = Annotated[Whole, Field(ge=1, le=20)]


class FootprintSaid(Said):
    """Where a machine or a heater stands, seen from above, and how high it is."""

    at: Place2
    """Its south-west corner, [east, north]."""
    size: tuple[OpeningSize, OpeningSize]
    """[west to east, south to north]."""
    height: OnWall
    """How high it is, over the floor."""


class DeviceSaid(Said):
    """What is in a box, or is wired up there directly."""

    kind: DeviceWord
    """receptacle, light, switch, machine, heater, opener (of a door), alarm, or junction (nothing: a cover)."""
    rating: Annotated[Literal[15, 20, 30, 50], BeforeValidator(whole)] | None = None
    """Amperes that a receptacle or a switch is made for; 15 if not said, a 240 V receptacle 20."""
    volts: Annotated[Literal[120, 240], BeforeValidator(whole)] = 120
    """120, or 240: between the two lines."""
    amps: Amps | None = None
    """What it draws at most, in amperes; say one of amps, watts and hp."""
    watts: Watts | None = None
    """What it draws at most, in watts; with ``linked``, each of them."""
    hp: Horsepower | None = None
    """Horsepower of its motor: the current is then the code's for that motor."""
    starting: Amps | None = None
    """Amperes that its motor draws as it starts."""
    continuous: YesNo = False
    """Whether it runs for three hours or more."""
    ground_fault: YesNo = False
    """A receptacle with ground-fault protection of its own, which protects those that it feeds."""
    half: YesNo = False
    """A receptacle of which one half follows its control, and the other is always on."""
    single: YesNo = False
    """One receptacle on the yoke instead of two."""
    neutral: YesNo | None = None
    """Whether something on 240 V needs a neutral; no if not said."""
    leg: Annotated[Literal[1, 2], BeforeValidator(whole)] | None = None
    """On a multiwire circuit: which of its two lines feeds it, 1 or 2."""
    circuit: IdRef | None = None
    """In a box of two circuits: which one feeds it; the first if not said."""
    with_: list[IdRef] = Field(default=[], alias="with")
    """Boxes or devices that run at the same time as this one: they go on other circuits."""
    switched: YesNo = True
    """No for a light with a switch of its own, which is always fed."""
    protected: YesNo = False
    """Whether its motor is guarded by an overload device of its own."""
    detects: Literal["smoke", "heat"] | None = None
    """Of an alarm: smoke, or heat (in dust and frost)."""
    linked: Annotated[Whole, Field(ge=1, le=200)] | None = None
    """How many plug-in lights hang one on the next; ``watts`` is then that of each."""
    linked_most: Annotated[Whole, Field(ge=1, le=200)] | None = None
    """How many of them their maker allows."""
    footprint: FootprintSaid | None = None
    """Where a machine or a heater stands."""


OneDevice = Annotated[Annotated[DeviceSaid, Tag(KEYS)] | Annotated[DeviceWord, Tag(WORD)], OfShape]
Devices = Annotated[
    Annotated[DeviceSaid, Tag(KEYS)]
    | Annotated[DeviceWord, Tag(WORD)]
    | Annotated[list[OneDevice], Field(min_length=1), Tag(LIST)],
    OfShape,
]
Circuits = Annotated[Annotated[CircuitRef, Tag(WORD)] | Annotated[list[IdRef], Tag(LIST)], OfShape]


class PanelSaid(Said):
    """A panel as its label and its owner describe it."""

    spaces: Space = 12
    """How many spaces for breakers it has, those in use counted."""
    used: list[Space] = []
    """Spaces that are taken already."""
    main: Amps | None = None
    """Its main breaker, or the rating of its lugs, in amperes."""
    sizes: Annotated[list[Amps], Field(min_length=1)] | None = None
    """Breakers that its label lists, in amperes."""
    tandem: list[Space] = []
    """Spaces that take a tandem breaker (two breakers in one space, on one leg)."""
    bonded: YesNo = False
    """Whether neutral and ground are joined in it: never in a separate building."""


class ControlSaid(Titled):
    """Lights that follow any of several switches."""

    lights: Annotated[list[IdRef], Field(min_length=1)]
    """Lights and receptacles that follow, as boxes or devices."""
    points: Annotated[list[IdRef], Field(min_length=1)]
    """Switches that they follow, as boxes or devices."""
    in_order: YesNo = False
    """Whether power comes to the first point and goes on in the order written; else the cheapest order is sought."""


class CircuitSaid(Said):
    """A circuit: its panel and breaker, its cable, how many cables leave the panel, a pinned order if wanted."""

    title: Words = ""
    """What it feeds, for people: "bench outlets"."""
    cable: Words = ""
    """The cable it is pulled in; a leg that carries more conductors takes the next one. Not said: the tool decides."""
    panel: IdRef | None = None
    """The panel it comes from; may be left out where there is only one."""
    home_runs: HomeRuns = 1
    """How many of its cables leave the panel: 1, 2, ... or any."""
    order: Annotated[list[IdRef], Field(min_length=1)] | None = None
    """Boxes in the order in which they feed each other, from the panel."""
    breaker: Annotated[Amps | None, Field(ge=10, le=200)] = None
    """Its breaker in amperes; if not said, the load decides."""
    awg: Awg | None = None
    """Size of its conductors; if not said, breaker and load decide."""
    ground_fault: Literal["breaker", "device", "none"] | None = None
    """Where its ground-fault protection is: breaker, device (receptacles that have it feed all others), or none, with
    ``because``."""
    multiwire: YesNo = False
    """Yes for two lines on opposite legs that share a neutral."""
    motor_breaker: YesNo = False
    """Yes where an electrician has set a larger breaker for one protected motor, with ``because``."""
    phase: Phase = 1
    """When it is built: 1 first."""
    because: Words = ""
    """Who says so, for ground_fault none and motor_breaker."""


class CableSaid(Said):
    """What is fixed about one cable, by its id (CIRCUIT.BOX, the far box)."""

    through: list[IdRef] = []
    """Members or boards it must use, in this order from the panel's side."""
    avoid: list[IdRef] = []
    """Members or boards it must not use."""
    done: YesNo = False
    """Already pulled: not bought, its holes not bored."""
    type: Words = ""
    """Cable as bought, for this leg alone."""


class CableKind(Said):
    """A cable the scene's store sells, or other sizes than the nominal ones."""

    width: CableSize | None = None
    """Outside width."""
    thickness: CableSize | None = None
    """Outside thickness."""
    price: Annotated[Number | None, Field(ge=0, le=1000)] = None
    """Money a foot."""
    conductors: Annotated[Whole, Field(ge=2, le=CONDUCTORS_MOST)] | None = None
    """How many insulated conductors it has; if not said, as its name says (12/2: two)."""
    awg: Awg | None = None
    """Size of its conductors; if not said, as its name says (12/2: 12)."""
    family: Words = ""
    """What it is: NM-B, UF-B, or a name of your own."""
    coils: dict[LengthText, Annotated[Number, Field(ge=0, le=100_000)]] | None = None
    """What the store sells it in, with the price of each coil: {50': 48, 250': 190}."""
    by_foot: PriceOrNo | None = None
    """Price a foot where the store cuts it to length, or no."""


class SupplySaid(Said):
    """How the building is supplied; told plainly, and left to licensed work."""

    from_: Words = Field(default="", alias="from")
    """Where it comes from: "panel in the house, space 14"."""
    separate: YesNo = True
    """Whether this is a building of its own."""
    kind: Literal["feeder", "branch circuit"] = "feeder"
    """A feeder, or one branch circuit."""
    breaker: Amps | None = None
    """Breaker at its beginning, in amperes."""
    awg: SupplySize | None = None
    """Size of its conductors: 6, or 1/0."""
    wires: Annotated[Whole, Field(ge=2, le=CONDUCTORS_MOST)] | None = None
    """How many wires it has, the ground counted; 4 if not said, of a branch circuit 3."""
    length: Distance | None = None
    """How long it is."""
    method: Literal["buried", "conduit", "overhead", "attached"] | None = None
    """buried; conduit (in the ground); overhead; or attached (the buildings touch)."""
    family: Literal["NM-B", "UF-B", "single conductors"] | None = None
    """What it is made of: NM-B, UF-B, or single conductors."""
    electrodes: Words = ""
    """Its ground electrodes: "two rods"."""
    disconnect: Amps | None = None
    """Rating of the switch that disconnects the building, in amperes."""


class WiringSaid(Said):
    """What the scene allows the wiring to do, and asks of it."""

    two_cables: YesNo = False
    """Whether two cables may stand in for one of more conductors."""
    drop: Share | None = None
    """Voltage drop up to which cables are made larger: 3 %; if not said, the drop is only told."""
    feed_at: Literal["switch", "light"] | None = None
    """Where power comes to first, a control's switches or its lights; if not said, wherever is cheapest."""

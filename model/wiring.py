"""What is wanted of the wiring, resolved: devices in boxes, what switches what, boxes as bought, panel and supply.

Plain values beside those of ``building``; amperes, volts, volt-amperes and cubic inches where the names say so.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class DeviceKind(StrEnum):
    """What a device is; a box without a device is a covered junction."""

    RECEPTACLE = "receptacle"
    LIGHT = "light"
    SWITCH = "switch"
    MACHINE = "machine"
    HEATER = "heater"
    OPENER = "opener"
    ALARM = "alarm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """One device on one yoke, or one thing that is wired up directly (a light, a machine, a heater, an alarm)."""

    id: str
    """The box's id where it is the only device there, else the box's id with .1, .2, ... as written."""
    box: str
    kind: DeviceKind
    circuit: str
    volts: int = 120
    """120: one line and neutral. 240: line to line."""
    rating_a: float = 15.0
    """Of a receptacle or a switch."""
    load_va: float = 0.0
    """What it draws at most: as said, or the usual value of its kind; 0 for switches."""
    load_assumed: bool = False
    """The scene gives none and the usual value is taken."""
    continuous: bool = False
    """Three hours or more (counts at 125 %)."""
    horsepower: float = 0.0
    """Of a motor; its current is the table's then. 0: no motor, or not said."""
    starting_a: float = 0.0
    overload_protected: bool = False
    """A motor that its own overload device guards."""
    ground_fault: bool = False
    """A receptacle with ground-fault protection of its own: it protects receptacles that it feeds."""
    half_switched: bool = False
    """A receptacle of which one half follows its control, and the other is always on."""
    single: bool = False
    """One receptacle on the yoke instead of two."""
    neutral: bool = True
    """Whether it needs a neutral. False for a machine or heater on 240 V unless the scene says so."""
    leg: int = 1
    """On a multiwire circuit: which of its two lines feeds it, 1 or 2."""
    control: str = ""
    """Id of the control that a switch is a point of, or that a light or a receptacle follows; empty: always on."""
    detects: str = ""
    """Of an alarm: "smoke" or "heat"."""
    linked: int = 0
    """Lights that hang one on the next, from a receptacle or as this light, and draw ``load_va`` together; 0: none."""
    together: tuple[str, ...] = ()
    """Devices that run at the same time as this one, on other circuits."""
    footprint: tuple[tuple[float, float], tuple[float, float], float] | None = None
    """Where a machine or a heater stands: from and to eastward and northward in the world, and how high it is over the
    storey's floor (inches); None: not said."""

    @property
    def yokes(self) -> int:
        """Yokes that it takes in its box (NEC 314.16(B)(4))."""
        return 1 if self.kind in (DeviceKind.RECEPTACLE, DeviceKind.SWITCH, DeviceKind.OPENER) else 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """Lights (or switched receptacles) that follow any of several points."""

    id: str
    title: str
    circuit: str
    points: tuple[str, ...]
    """Switches, by device id, as written."""
    lights: tuple[str, ...]
    """Lights and switched receptacles, by device id."""
    in_order: bool = False
    """Power comes to the first point and goes on in the order written; else the cheapest order is sought."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxType:
    """A box, or a ring on a box, as bought."""

    id: str
    series: str
    """Boxes of one series have one face, so that one can stand for another without moving anything."""
    title: str
    what: str  # "box" | "ring"
    material: str  # "metal" | "plastic"
    width_in: float
    height_in: float
    depth_in: float
    volume_in3: float
    gangs: int
    """Yokes that it takes; 0: a round or octagonal box for a light or a splice."""
    clamps: str  # "inside" | "outside" | "none": "inside" ones count for the fill
    stud: bool = False
    """A fixture stud or hickey inside, which counts for the fill."""
    price: float = 0.0
    confidence: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Breakers:
    """A panel as its label and its owner describe it."""

    panel: str
    spaces: int = 12
    used: tuple[int, ...] = ()
    """Spaces that are taken already."""
    main_a: float = 0.0
    """Main breaker or rating of the lugs; 0: not said."""
    sizes_a: tuple[float, ...] = (15.0, 20.0, 25.0, 30.0, 40.0, 50.0)
    """Breakers that the label lists."""
    tandem: tuple[int, ...] = ()
    """Spaces that take a tandem breaker (both of its poles are on one leg)."""
    neutral_bonded: bool = False
    """Whether neutral and ground are joined in it: never in a separate building."""
    said: bool = False
    """False: the scene says nothing of it, and the usual panel is taken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """How the building is supplied; told plainly, and left to licensed work."""

    from_where: str = ""
    separate: bool = True
    """A building of its own: ground bar apart from the neutral, electrodes, a disconnect."""
    kind: str = "feeder"  # "feeder" | "branch circuit"
    breaker_a: float = 0.0
    awg: str = ""
    """Size of its conductors ("6", "1/0"); empty: not said."""
    wires: int = 4
    length_in: float = 0.0
    method: str = ""  # "buried" | "conduit" | "overhead" | "attached" | ""
    family: str = ""
    """Family of the cable ("NM-B", "UF-B", "single conductors"); empty: not said."""
    electrodes: str = ""
    disconnect_a: float = 0.0
    said: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class WiringRules:
    """What the kept answers come to, and what the scene allows."""

    family: str = "NM-B"
    """Family of cable that is planned where the scene pins none."""
    plain_cable: str = "yes"  # "yes" | "concealed" | "no"
    dwelling: bool = False
    surroundings: str = "dry"  # "dry" | "damp" | "livestock"
    bundled: bool = True
    """Whether cables that run beside each other for more than 24 in count as a bundle."""
    switch_neutral: bool = True
    """Whether there is a neutral at every switch."""
    hardwired_ground_fault: bool = True
    """Whether what is wired up directly (machines, heaters) is protected against ground faults too."""
    two_cables: bool = False
    """Whether two cables may stand in for one of more conductors."""
    drop_share: float = 0.0
    """Voltage drop up to which cables are made larger; 0: none is, the drop is only told."""
    phases: bool = False
    """Whether the work is done in phases."""
    feed_at: str = ""  # "switch" | "light" | ""
    """Where power comes to first in each control of lights, its switches or its lights; empty: wherever is cheapest."""

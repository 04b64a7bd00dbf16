"""How wiring diagrams draw and name what they are made of: conductors, joints, devices.

A conductor is told by its word first, by its pattern next, by its colour last: black is full, red is in long dashes,
white is two thin lines, bare is in dots.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from barnloom.model.wiring import Device, DeviceKind
from barnloom.routing.plan import Conductor, Joint
from barnloom.routing.wiring.colours import STRIPED
from barnloom.viewer.drawing import BLACK, WHITE, Line, Pen, Point, Polyline

WIRE_IN = 0.036
"""Width of a conductor."""
TAPES: Mapping[str, str] = {"black": BLACK, "red": "#c4161c", "blue": "#0a4fa3"}
_RED, _COPPER = TAPES["red"], "#8a4b00"
_CORE_IN = 0.6 * WIRE_IN


@dataclass(frozen=True, slots=True)
class Sort:
    """What a device is called in a diagram, and its symbol."""

    words: str
    symbol: str


def strokes(points: Sequence[Point], colour: str, layer: str) -> Iterator[Polyline]:
    """
    Draw a conductor.

    Parameters
    ----------
    points : sequence of (x, y)
        Inches.
    colour : str
        As a conductor of a plan has it ("black", "white with a red stripe", "bare").
    layer : str
    """
    for pen in _pens(colour):
        yield Polyline(points=tuple(points), pen=pen, layer=layer)


def crossing(at: Point, colour: str, layer: str) -> Iterator[Line]:
    """Draw the piece of an upright conductor that passes over another, with white on both sides of it."""
    x, y = at
    ends = (x, y - 1.4 * WIRE_IN), (x, y + 1.4 * WIRE_IN)
    yield Line(start=ends[0], end=ends[1], pen=Pen(width_in=2.8 * WIRE_IN, colour=WHITE), layer=layer)
    for pen in _pens(colour):
        yield Line(start=ends[0], end=ends[1], pen=Pen(width_in=pen.width_in, colour=pen.colour), layer=layer)


def _pens(colour: str) -> tuple[Pen, ...]:
    """From the lowest to the topmost."""
    if colour.startswith("white"):
        shell = Pen(width_in=1.4 * WIRE_IN), Pen(width_in=_CORE_IN * 1.4, colour=WHITE)
        stripe = Pen(width_in=_CORE_IN, colour=_RED, dash=(0.05, 0.09))
        return (*shell, stripe) if colour == STRIPED else shell
    known = {
        "red": Pen(width_in=WIRE_IN, colour=_RED, dash=(0.16, 0.05)),
        "bare": Pen(width_in=WIRE_IN, colour=_COPPER, dash=(0.04, 0.04)),
    }
    return (known.get(colour, Pen(width_in=WIRE_IN)),)


def conductor_tag(conductor: Conductor) -> str:
    """
    Name a conductor in as few words as do.

    Examples
    --------
    >>> conductor_tag(Conductor(colour="white", net="line", marked="red"))
    'white taped red'
    """
    colour = "white, red stripe" if conductor.colour == STRIPED else conductor.colour
    return f"{colour} taped {conductor.marked}" if conductor.marked else colour


def joint_colour(joint: Joint) -> str:
    """Insulation of the short wires that belong to a joint: as the code has it, never white for what is hot."""
    if joint.net == "ground":
        return "bare"
    if "neutral" in joint.net:
        return "white"
    return next((colour for _, colour in joint.ends if not colour.startswith("white")), "black")


def sort_of(device: Device, terminals: Collection[str]) -> Sort:
    """Say what a device is, by what it is and by the terminals that joints name, and with which symbol it is drawn."""
    if device.kind is DeviceKind.SWITCH:
        words = {"in 1": "four-way switch", "common": "three-way switch"}
        said = next((words[name] for name in words if name in terminals), "switch")
        return Sort(said, said)
    if device.kind is not DeviceKind.RECEPTACLE:
        return Sort(device.kind.value, device.kind.value)
    if device.ground_fault and device.volts != 240:
        return Sort("ground-fault receptacle", "protected receptacle")
    said = "half-switched receptacle" if device.half_switched else "receptacle"
    said = "single receptacle" if device.single else said
    said = "240 V receptacle" if device.volts == 240 else said
    return Sort(said, said)

"""The wiring of a plan as one graph: joints, the conductors between them, and what goes on inside devices.

Everything is by number, so that the checks can work on arrays. Nothing is judged here, and nothing in a plan that is
wrong (an end in two joints, a device that is not there) stops it: what cannot be placed is left out, and the checks of
joints name it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from barnloom.model.wiring import Device, DeviceKind
from barnloom.routing.check.finding import Site

NEUTRAL_BAR, GROUND_BAR = "neutral bar", "ground bar"


class Node(NamedTuple):
    """A joint; one at a bar of the panel is a node for each conductor under its screws."""

    box: str
    net: str
    circuit: str


class Wire(NamedTuple):
    """A conductor of a cable between two nodes; ``near`` is the panel's side."""

    cable: str
    colour: str
    near: int
    far: int


class Inside(NamedTuple):
    """A way through a device between two nodes, closed when its switch is at ``throw``; None: always."""

    device: str
    near: int
    far: int
    throw: int | None


class Load(NamedTuple):
    """Something that draws current between two terminals of a device; ``control`` empty: it is always fed."""

    device: str
    into: str
    out: str
    control: str
    amps: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Metal:
    """The graph of a plan."""

    nodes: tuple[Node, ...]
    wires: tuple[Wire, ...]
    insides: tuple[Inside, ...]
    terminals: Mapping[tuple[str, str], int]
    """Node of (device, terminal), of (box, "box") and of (panel, "breaker ..."); the bars are apart."""
    bars: Mapping[str, tuple[int, ...]]
    """Nodes at the neutral bars and at the ground bars of all panels."""
    pieces: tuple[int, ...]
    """For each node, the piece of metal that it is part of: nodes that conductors join."""
    loops: tuple[int, ...]
    """Conductors whose two ends other conductors join already."""


def metal_of(site: Site) -> Metal:
    """Lay the joints, conductors and devices of a plan out as a graph."""
    nodes: list[Node] = []
    ends: dict[tuple[str, str, str], int] = {}
    terminals: dict[tuple[str, str], int] = {}
    bars: dict[str, list[int]] = {NEUTRAL_BAR: [], GROUND_BAR: []}
    for makeup in site.makeups.values():
        for joint in makeup.joints:
            at_bars = [name for owner, name in joint.terminals if owner == makeup.box and name in bars]
            for group in [[end] for end in joint.ends] or [[]] if at_bars else [list(joint.ends)]:
                for bar in at_bars:
                    bars[bar].append(len(nodes))
                for cable, colour in group:
                    ends.setdefault((makeup.box, cable, colour), len(nodes))
                for terminal in joint.terminals:
                    if terminal[1] not in bars:
                        terminals.setdefault(terminal, len(nodes))
                nodes.append(Node(makeup.box, joint.net, joint.circuit))
    wires = tuple(
        Wire(cable.id, conductor.colour, near, far)
        for cable in site.plan.cables
        for conductor in cable.conductors
        for near in [ends.get((cable.from_box, cable.id, conductor.colour))]
        for far in [ends.get((cable.to_box, cable.id, conductor.colour))]
        if near is not None and far is not None
    )
    pieces, loops = joined(len(nodes), [(wire.near, wire.far) for wire in wires])
    return Metal(
        nodes=tuple(nodes),
        wires=wires,
        insides=tuple(inside for device in site.devices.values() for inside in _insides(device, terminals)),
        terminals=terminals,
        bars={name: tuple(at) for name, at in bars.items()},
        pieces=tuple(pieces),
        loops=tuple(loops),
    )


WAYS: tuple[tuple[str, str, int | None], ...] = (
    ("line", "load", 1),
    ("common", "traveler 1", 0),
    ("common", "traveler 2", 1),
    ("in 1", "out 1", 0),
    ("in 2", "out 2", 0),
    ("in 1", "out 2", 1),
    ("in 2", "out 1", 1),
)
"""What a switch joins, and in which of its two positions: single-pole, three-way, four-way."""
THROUGH = (("line hot", "load hot", None), ("line neutral", "load neutral", None))
"""What a receptacle with ground-fault protection of its own passes on, while it is not tripped."""


def _insides(device: Device, terminals: Mapping[tuple[str, str], int]) -> Iterator[Inside]:
    for near, far, throw in WAYS if device.kind is DeviceKind.SWITCH else THROUGH:
        ends = terminals.get((device.id, near)), terminals.get((device.id, far))
        if ends[0] is not None and ends[1] is not None:
            yield Inside(device.id, ends[0], ends[1], throw)


def loads_of(device: Device) -> tuple[Load, ...]:
    """Return what draws current in a device: nothing in a switch, two things in a half-switched receptacle."""
    if device.kind is DeviceKind.SWITCH:
        return ()
    amps = device.load_va / device.volts
    if device.volts == 240:
        return (Load(device.id, "hot 1", "hot 2", device.control, amps),)
    if device.half_switched:
        # All of it may be plugged into the switched half, whose way is the longer one.
        return (
            Load(device.id, "hot top", "neutral", device.control, amps),
            Load(device.id, "hot bottom", "neutral", "", 0.0),
        )
    if own_protection(device):
        return (Load(device.id, "line hot", "line neutral", device.control, amps),)
    return (Load(device.id, "hot", "neutral", device.control, amps),)


def own_protection(device: Device) -> bool:
    """Whether it is a receptacle for 120 V with ground-fault protection of its own, and so with two sides."""
    return device.kind is DeviceKind.RECEPTACLE and device.ground_fault and device.volts == 120


def joined(count: int, links: Iterable[Sequence[int]]) -> tuple[list[int], list[int]]:
    """
    Put things together that are linked.

    Parameters
    ----------
    count : int
        How many things there are.
    links : iterable of (int, int)
        Pairs of them.

    Returns
    -------
    list of int
        For each thing the lowest of those it is together with.
    list of int
        Places of the links whose two things were together before: those that close loops.

    Examples
    --------
    >>> joined(5, [(4, 1), (1, 2), (2, 4)])
    ([0, 1, 1, 3, 1], [2])
    """
    lowest = list(range(count))

    def root(at: int) -> int:
        while lowest[at] != at:
            lowest[at] = at = lowest[lowest[at]]
        return at

    closing = []
    for place, (one, other) in enumerate(links):
        low, high = sorted((root(one), root(other)))
        if low == high:
            closing.append(place)
        lowest[high] = low
    return [root(at) for at in range(count)], closing

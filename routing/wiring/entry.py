"""Where power comes to first in a control of lights: its switches, or its lights with the switches behind them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from barnloom.model.building import Building
from barnloom.model.wiring import Control, Device, DeviceKind
from barnloom.routing.plan import Cable
from barnloom.routing.trees import Pair
from barnloom.routing.wiring.flows import feeds_of


@dataclass(frozen=True, slots=True)
class Entry:
    """What a control has to keep: each box of ``behind`` is one of ``first``, or is fed through one of them."""

    control: str
    first: frozenset[str]
    behind: frozenset[str]


def entries(feed_at: str, controls: Iterable[Control], devices: Mapping[str, Device]) -> tuple[Entry, ...]:
    """Return what each control of lights has to keep where power is to come to its switches first, or to its lights.

    Parameters
    ----------
    feed_at : {"switch", "light", ""}
        Empty: nothing has to be kept.
    devices : mapping of id to device
        Those that are reached; a control without a switch or without a light among them has nothing to keep.
    """
    found = []
    for control in controls if feed_at else ():
        points, lights = _places(control.points, devices), _places(lamps(control, devices), devices)
        if points and lights:
            first, behind = (points, lights) if feed_at == "switch" else (lights, points)
            found.append(Entry(control.id, first, behind))
    return tuple(found)


def lamps(control: Control, devices: Mapping[str, Device]) -> tuple[str, ...]:
    """Return the lights of a control; a switched receptacle is none."""
    return tuple(name for name in control.lights if name in devices and devices[name].kind is DeviceKind.LIGHT)


def misfed(wanted: Iterable[Entry], feeds: Sequence[Pair]) -> tuple[str, ...]:
    """Return the controls that a tree (panel first) feeds otherwise than wanted."""
    return tuple(one.control for one in wanted if not one.behind <= _fed_through(one.first, feeds))


def misfed_in(building: Building, cables: Sequence[Cable], feed_at: str) -> tuple[str, ...]:
    """Return the controls that routed cables feed otherwise than wanted, as far as cables reach their parts."""
    found: tuple[str, ...] = ()
    for circuit in building.circuits:
        feeds = feeds_of(circuit.panel, [cable for cable in cables if cable.circuit == circuit.id])
        there = {fed for _, fed in feeds}
        devices = {one.id: one for one in building.devices if one.circuit == circuit.id and one.box in there}
        controls = [control for control in building.controls if control.circuit == circuit.id]
        found += misfed(entries(feed_at, controls, devices), feeds)
    return found


def _places(names: Iterable[str], devices: Mapping[str, Device]) -> frozenset[str]:
    return frozenset(devices[name].box for name in names if name in devices)


def _fed_through(first: Collection[str], feeds: Sequence[Pair]) -> set[str]:
    """These boxes and all that is fed through them."""
    found = set(first)
    for by, fed in feeds:  # panel first, so a feeder comes before what it feeds
        if by in found:
            found.add(fed)
    return found

"""Which devices a scene has, by id, and which of them its controls name."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from barnloom.model.scene.electrical import DeviceSaid
from barnloom.model.scene.schema import BoxSaid, Scene
from barnloom.model.scene.text import Where
from barnloom.model.scene.values import PLAN_IT

YOKED = ("receptacle", "switch", "opener")
"""Kinds of device that take a yoke of their box (NEC 314.16(B)(4))."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InBox:
    """One device where the scene says it: its id, its box, its place in the file."""

    id: str
    box: str
    said: DeviceSaid
    where: Where

    @property
    def follows(self) -> bool:
        """Whether it may follow a control: a light without a switch of its own, or a receptacle."""
        return (self.said.kind == "light" and self.said.switched) or self.said.kind == "receptacle"


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """One name in a control, and the devices that are meant; none where it names nothing that can be meant."""

    control: str
    key: str  # "lights" | "points"
    name: str
    where: Where
    devices: tuple[InBox, ...]


def devices_in(scene: Scene) -> tuple[InBox, ...]:
    """Devices of all boxes, box by box as written; a junction is none."""
    return tuple(device for name, box in scene.boxes.items() for device in _of_box(name, box))


def said_devices(box: BoxSaid) -> tuple[DeviceSaid, ...]:
    """Everything that a box says under device, junctions too."""
    said = box.device if isinstance(box.device, list) else [] if box.device is None else [box.device]
    return tuple(one if isinstance(one, DeviceSaid) else DeviceSaid(kind=one) for one in said)


def _of_box(name: str, box: BoxSaid) -> Iterator[InBox]:
    said = said_devices(box)
    real = [(number, one) for number, one in enumerate(said) if one.kind != "junction"]
    for count, (number, one) in enumerate(real, start=1):
        where: Where = ("boxes", name, "device", number) if isinstance(box.device, list) else ("boxes", name, "device")
        yield InBox(id=name if len(real) == 1 else f"{name}.{count}", box=name, said=one, where=where)


def circuits_of(box: BoxSaid) -> tuple[str, ...]:
    """Circuits that a box is on; none yet where the tool is to find it one."""
    if box.circuit is None or box.circuit == PLAN_IT:
        return ()
    return tuple(box.circuit) if isinstance(box.circuit, list) else (box.circuit,)


def circuit_of(device: InBox, scene: Scene) -> str:
    """Circuit that feeds a device: as it says, else the first of its box; empty where the tool is to find it one."""
    return device.said.circuit or next(iter(circuits_of(scene.boxes[device.box])), "")


def by_name(devices: Iterable[InBox]) -> dict[str, list[InBox]]:
    """Devices by the names that they have: their own id, and that of their box."""
    found: dict[str, list[InBox]] = {}
    for device in devices:
        for name in dict.fromkeys((device.id, device.box)):
            found.setdefault(name, []).append(device)
    return found


def by_circuit(devices: Iterable[InBox], scene: Scene) -> dict[str, list[InBox]]:
    """Devices by the circuit that feeds them."""
    found: dict[str, list[InBox]] = {}
    for device in devices:
        found.setdefault(circuit_of(device, scene), []).append(device)
    return found


def called(name: str, devices: Mapping[str, Sequence[InBox]]) -> tuple[InBox, ...]:
    """Of devices by name, those that a name means: the one with that id, or all in the box of that id."""
    known = devices.get(name, ())
    exact = [device for device in known if device.id == name and device.box != name]
    return tuple(exact or [device for device in known if device.box == name])


def named_in_controls(scene: Scene, devices: Sequence[InBox]) -> tuple[Named, ...]:
    """
    Every name in the controls with the devices that it means.

    A box among the lights means its lights and half-switched receptacles, or its receptacles if it has none of these.
    A box among the points means its switch; several switches of it go one by one to the controls that name the box, in
    the order of the controls.
    """
    known = by_name(devices)
    switches: dict[str, list[InBox]] = {}
    for device in devices:
        if device.said.kind == "switch":
            switches.setdefault(device.box, []).append(device)
    taken = {name for said in scene.controls.values() for name in said.points}
    free = {box: [one for one in its if one.id == box or one.id not in taken] for box, its in switches.items()}
    turn: Counter[str] = Counter()
    named = []
    for control, said in scene.controls.items():
        for number, name in enumerate(said.lights):
            where: Where = ("controls", control, "lights", number)
            found = _lights(name, known)
            named.append(Named(control=control, key="lights", name=name, where=where, devices=found))
        for number, name in enumerate(said.points):
            where = ("controls", control, "points", number)
            if name in free:
                found = tuple(free[name][turn[name] : turn[name] + 1])
                turn[name] += 1
            else:
                found = tuple(device for device in called(name, known) if device.said.kind == "switch")
            named.append(Named(control=control, key="points", name=name, where=where, devices=found))
    return tuple(named)


def controls_of(named: Iterable[Named]) -> Mapping[str, str]:
    """Control that each device is named in, by the device's id: the first, where more than one names it."""
    control: dict[str, str] = {}
    for name in named:
        for device in name.devices:
            control.setdefault(device.id, name.control)
    return control


def _lights(name: str, devices: Mapping[str, Sequence[InBox]]) -> tuple[InBox, ...]:
    meant = [device for device in called(name, devices) if device.follows]
    if len(meant) == 1 and meant[0].id == name:
        return tuple(meant)
    chosen = [device for device in meant if device.said.kind == "light" or device.said.half]
    return tuple(chosen or meant)

"""Devices and controls from a scene, with the usual values of what it does not say."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from barnloom.model.electrical.tables import motor_current
from barnloom.model.scene.devices import (
    InBox,
    by_name,
    called,
    circuit_of,
    controls_of,
    devices_in,
    named_in_controls,
)
from barnloom.model.scene.schema import DeviceSaid, FootprintSaid, Scene
from barnloom.model.scene.supplied import USUAL_RATING_A
from barnloom.model.wiring import Control, Device, DeviceKind


def devices(scene: Scene, limits: Mapping[str, float]) -> tuple[Device, ...]:
    """
    Return every device, box by box as written; its circuit is empty where its box says ``plan it``.

    Parameters
    ----------
    scene : Scene
        A scene without faults.
    limits : mapping of str to float
        ``load.receptacle``, ``load.light``, ``load.alarm`` and ``load.opener`` count where a load is not said.
    """
    known = devices_in(scene)
    called_so = by_name(known)
    control = controls_of(named_in_controls(scene, known))
    found = [
        _device(
            one,
            circuit_of(one, scene),
            control.get(one.id, ""),
            tuple(dict.fromkeys(other.id for name in one.said.with_ for other in called(name, called_so))),
            limits,
        )
        for one in known
    ]
    said = {one.id: one.said.leg for one in known if one.said.leg is not None}
    for circuit in (name for name, its in scene.circuits.items() if its.multiwire):
        legs = _legs([device for device in found if device.circuit == circuit], said)
        found = [replace(device, leg=legs.get(device.id, device.leg)) for device in found]
    return tuple(found)


def _legs(devices: Sequence[Device], said: Mapping[str, int]) -> dict[str, int]:
    """Return the line of a multiwire circuit that feeds each device: as said, the rest so that both carry alike.

    What follows one control is on one line.
    """
    groups: dict[str, list[Device]] = {}
    for device in devices:
        if device.kind is not DeviceKind.SWITCH and device.volts == 120:
            groups.setdefault(device.control or f" {device.id}", []).append(device)
    load = {1: 0.0, 2: 0.0}
    found: dict[str, int] = {}
    waiting = sorted(groups.values(), key=lambda group: (-sum(one.load_va for one in group), group[0].id))
    for group in sorted(waiting, key=lambda group: not any(one.id in said for one in group)):
        leg = next((said[one.id] for one in group if one.id in said), min(load, key=lambda leg: (load[leg], leg)))
        load[leg] += sum(one.load_va for one in group)
        found |= {one.id: leg for one in group}
    return found


def controls(scene: Scene) -> tuple[Control, ...]:
    """Return the controls with the devices that they name, as written; a control is on the circuit of its lights."""
    named = named_in_controls(scene, devices_in(scene))
    found: dict[tuple[str, str], list[InBox]] = {}
    for name in named:
        found.setdefault((name.control, name.key), []).extend(name.devices)
    return tuple(
        Control(
            id=name,
            title=said.title,
            circuit=next(filter(None, (circuit_of(light, scene) for light in found[name, "lights"])), ""),
            points=tuple(device.id for device in found[name, "points"]),
            lights=tuple(device.id for device in found[name, "lights"]),
            in_order=said.in_order,
        )
        for name, said in scene.controls.items()
    )


def _device(one: InBox, circuit: str, control: str, together: tuple[str, ...], limits: Mapping[str, float]) -> Device:
    said = one.said
    kind = DeviceKind(said.kind)
    load, assumed = _load(kind, said, limits)
    usual = USUAL_RATING_A[said.volts] if kind is DeviceKind.RECEPTACLE else USUAL_RATING_A[120]
    return Device(
        id=one.id,
        box=one.box,
        kind=kind,
        circuit=circuit,
        volts=said.volts,
        rating_a=float(said.rating or usual),
        load_va=load,
        load_assumed=assumed,
        continuous=said.continuous,
        horsepower=said.hp or 0.0,
        starting_a=said.starting or 0.0,
        overload_protected=said.protected,
        ground_fault=said.ground_fault,
        half_switched=said.half,
        single=said.single,
        neutral=said.neutral if said.neutral is not None else said.volts == 120,
        leg=said.leg or 1,
        control=control,
        detects=said.detects or "",
        linked=said.linked or 0,
        together=together,
        footprint=_footprint(said.footprint),
    )


def _load(kind: DeviceKind, said: DeviceSaid, limits: Mapping[str, float]) -> tuple[float, bool]:
    """Return what a device draws at most (VA), and whether that is only the usual value of its kind."""
    if said.hp is not None:
        return motor_current(said.hp, said.volts) * said.volts, False
    if said.amps is not None:
        return said.amps * said.volts, False
    if said.watts is not None:
        return said.watts * (said.linked or 1), False
    if kind is DeviceKind.SWITCH:
        return 0.0, False
    return limits[f"load.{kind.value}"], True


def _footprint(said: FootprintSaid | None) -> tuple[tuple[float, float], tuple[float, float], float] | None:
    if said is None:
        return None
    (east, north), (wide, deep) = said.at, said.size
    return (east, east + wide), (north, north + deep), said.height

"""Faults of what boxes do: devices, the boxes that hold them, and what follows which switch."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from barnloom.model.electrical.boxes import default_box_types
from barnloom.model.errors import Fault
from barnloom.model.scene.devices import (
    YOKED,
    InBox,
    Named,
    by_name,
    called,
    circuit_of,
    circuits_of,
    controls_of,
    devices_in,
    named_in_controls,
    said_devices,
)
from barnloom.model.scene.names import Names, anded, counted, did_you_mean, listed
from barnloom.model.scene.schema import BoxSaid, Scene
from barnloom.model.scene.text import Where
from barnloom.model.wiring import BoxType

LOADS = ("amps", "watts", "hp")
_DRAWS = ("volts", *LOADS, "continuous", "leg", "circuit", "with")
_PLUGS = (*_DRAWS, "rating", "ground_fault", "single", "neutral", "starting", "protected")
KEYS_OF = {
    "receptacle": (*_PLUGS, "half", "linked", "linked_most"),
    "light": (*_DRAWS, "switched", "linked", "linked_most"),
    "switch": ("rating", "circuit"),
    "machine": (*_DRAWS, "starting", "neutral", "protected", "footprint"),
    "heater": (*_DRAWS, "neutral", "footprint"),
    "opener": _PLUGS,
    "alarm": (*_DRAWS, "detects"),
    "junction": (),
}
"""Keys that mean something for each kind of device, besides kind."""
YOKES_MOST = 4
"""Yokes of the largest box that is taken where none is said."""


def device_faults(scene: Scene, names: Names) -> Iterator[Fault]:
    """Yield faults of devices by themselves, and of the boxes that they are in."""
    devices = devices_in(scene)
    called_so, known = by_name(devices), {*scene.boxes, *(device.id for device in devices)}
    catalogue = default_box_types()
    for name, box in scene.boxes.items():
        yield from _bodiless(name, box)
        yield from _meaningless(name, box)
        yield from _two_circuits(name, box)
        yield from _box_as_bought(name, box, catalogue)
    for device in devices:
        if device.id != device.box and device.id in scene.boxes:
            do = f"give the box another id: a device in {device.box} has this one"
            yield Fault(("boxes", device.id), f"{device.id}, a device's id too", "an id of its own", do)
        yield from _load(device)
        yield from _one_device(device, scene, names, called_so, known)


def control_faults(scene: Scene, names: Names) -> Iterator[Fault]:
    """Yield faults of what follows which switch: names that mean nothing, twice, or parts that nothing names."""
    devices = devices_in(scene)
    named = named_in_controls(scene, devices)
    called_so = by_name(devices)
    known = {*scene.boxes, *(device.id for device in devices)}
    first: dict[str, Named] = {}
    said: set[tuple[str, str, str]] = set()
    for name in named:
        if (name.control, name.key, name.name) in said:
            do = "delete one of the two; of two switches in one box name the device: BOX.1"
            yield Fault(name.where, f"{name.name} a second time", f"each once among the {name.key}", do)
            continue
        said.add((name.control, name.key, name.name))
        yield from _name(name, names, called_so, known)
        for device in name.devices:
            if first.setdefault(device.id, name) is not name:
                before = f"controls/{first[device.id].control}"
                do = "take it out of one of the two; a light follows all points of its control"
                yield Fault(name.where, f"{name.name} a second time", f"each once; {before} names it", do)
    yield from _on_one_circuit(named, scene)
    if not {"boxes", "controls"} & set(names.unsound):
        yield from _left_out(devices, named, scene)


def _bodiless(name: str, box: BoxSaid) -> Iterator[Fault]:
    """Yield faults of keys of a box at a panel or a stub, and of a panel's at a box."""
    if box.kind != "panel" and box.panel is not None:
        do = "make it kind: panel, or delete panel"
        yield Fault(("boxes", name, "panel"), f"a panel's spaces at a {box.kind}", "kind: panel with them", do)
    if box.kind == "box":
        return
    for key in ("device", "box", "ring", "volume"):
        if getattr(box, key) is not None:
            do = "delete it, or make it kind: box"
            yield Fault(("boxes", name, key), f"{key} at a {box.kind}", f"no {key}: only a box has one", do)


def _meaningless(name: str, box: BoxSaid) -> Iterator[Fault]:
    """Yield faults of keys that mean nothing for the kind of device they are said of."""
    for number, said in enumerate(said_devices(box)):
        where: Where = ("boxes", name, "device", *([number] if isinstance(box.device, list) else []))
        fields = type(said).model_fields
        for key in (fields[field].alias or field for field in said.model_fields_set if field != "kind"):
            if key not in KEYS_OF[said.kind]:
                kinds = [kind for kind, keys in KEYS_OF.items() if key in keys]
                do = f"delete {key}, or correct the kind"
                yield Fault((*where, key), f"{key} at a {said.kind}", f"{key} with {anded(kinds)} only", do)


def _two_circuits(name: str, box: BoxSaid) -> Iterator[Fault]:
    circuits = circuits_of(box)
    if len(set(circuits)) > 1 and not box.shared and box.device is not None:
        found = f"{anded(circuits)}, two circuits, at a box with devices"
        expected = "one circuit, or your word for it (own caution; NEC 210.7 joins the breakers of two on one yoke)"
        yield Fault(("boxes", name, "circuit"), found, expected, "say shared: yes if it is to be so, or split the box")


def _box_as_bought(name: str, box: BoxSaid, catalogue: Sequence[BoxType]) -> Iterator[Fault]:
    """Yield faults of the box and the ring that are pinned, and of how many yokes they take."""
    where: Where = ("boxes", name)
    boxes = {kind.id: kind for kind in catalogue if kind.what == "box"}
    rings = {kind.id: kind for kind in catalogue if kind.what == "ring"}
    series = {kind.series: kind for kind in boxes.values()}
    yokes = sum(one.kind in YOKED for one in said_devices(box))
    kind = boxes.get(box.box or "") or series.get(box.box or "")
    if box.box is not None and kind is None:
        known = [*boxes, *series]
        do = did_you_mean(box.box, known) or f"use a series ({listed(series, 20)}), or the id of one of its boxes"
        yield Fault((*where, "box"), box.box, "the id of a box in the catalogue, or of a series", do)
    elif kind is not None and yokes > kind.gangs:
        wider = sorted({known.series for known in series.values() if known.gangs >= yokes})
        found = f"{box.box}, which takes {counted(kind.gangs, 'yoke') if kind.gangs else 'no device'}"
        do = f"take one of {listed(wider)}, or leave box out" if wider else "spread the devices over more boxes"
        yield Fault((*where, "box"), found, f"a box for {counted(yokes, 'device')} on yokes", do)
    elif kind is None and box.box is None and yokes > YOKES_MOST:
        found = f"{yokes} devices on yokes"
        do = "spread them over two boxes, or pin one with box:"
        yield Fault((*where, "device"), found, f"at most {YOKES_MOST} in one box of the catalogue", do)
    if box.ring is None:
        return
    ring = rings.get(box.ring)
    if ring is None:
        do = did_you_mean(box.ring, rings) or f"use one of {listed(rings, 20)}"
        yield Fault((*where, "ring"), box.ring, "the id of a ring in the catalogue", do)
    elif kind is not None and ring.series != kind.series:
        fitting = [known.id for known in rings.values() if known.series == kind.series]
        do = f"use one of {listed(fitting)}" if fitting else "leave ring out: none fits that box"
        yield Fault((*where, "ring"), f"{ring.id}, for a box of {ring.series}", f"a ring for {kind.series}", do)
    elif yokes > ring.gangs:
        found = f"{ring.id}, which takes {counted(ring.gangs, 'yoke') if ring.gangs else 'no device'}"
        do = "take a ring for as many, or leave ring out"
        yield Fault((*where, "ring"), found, f"a ring for {counted(yokes, 'device')} on yokes", do)


def _load(device: InBox) -> Iterator[Fault]:
    said = device.said
    given = [key for key in LOADS if getattr(said, key) is not None]
    if len(given) > 1:
        found, do = anded(given), "keep the one on its nameplate"
        yield Fault((*device.where, given[1]), found, f"one of {anded(LOADS)}: what it draws at most", do)
    if not given and said.kind in ("machine", "heater"):
        do = "add amps, watts or hp, as its nameplate says"
        yield Fault(device.where, f"a {said.kind} without a load", f"one of {anded(LOADS)} (NEC 220.14(A))", do)
    if said.linked is not None and said.watts is None:
        do = "add watts: of one light, as its label says"
        yield Fault((*device.where, "linked"), "linked lights without watts", "what each of them draws", do)
    if said.linked is not None and said.linked_most is not None and said.linked > said.linked_most:
        found = f"{said.linked} lights, one hung on the next"
        do = "begin a second row at another outlet"
        expected = f"at most {said.linked_most}, as their maker allows (NEC 110.3(B))"
        yield Fault((*device.where, "linked"), found, expected, do)


def _one_device(
    device: InBox, scene: Scene, names: Names, devices: Mapping[str, Sequence[InBox]], known: set[str]
) -> Iterator[Fault]:
    said, where = device.said, device.where
    if said.kind == "alarm" and said.detects is None:
        do = "say detects: smoke, or heat where dust or frost would set it off"
        yield Fault(where, "an alarm", "what it detects (IRC R314)", do)
    if said.neutral is False and said.volts == 120:
        do = "delete neutral, or say volts: 240"
        yield Fault((*where, "neutral"), "no neutral on 120 V", "a neutral: 120 V is between a line and it", do)
    yield from _device_circuit(device, scene, names)
    for number, other in enumerate(said.with_):
        place = (*where, "with", number)
        meant = called(other, devices)
        if device in meant:
            yield Fault(place, f"{other}, the device itself", "another device", "name what runs beside it")
        elif not meant and not _unread(other, names):
            yield from _no_device(place, other, known, "device", "runs at the same time")


def _device_circuit(device: InBox, scene: Scene, names: Names) -> Iterator[Fault]:
    said, where = device.said, device.where
    own = circuits_of(scene.boxes[device.box])
    if said.circuit is not None and said.circuit not in own:
        near = did_you_mean(said.circuit, own)
        do = near or f"add it to the circuits of {device.box}, or leave it out"
        yield Fault((*where, "circuit"), said.circuit, f"a circuit of {device.box}: {anded(own) or 'none'}", do)
        return
    circuit = scene.circuits.get(circuit_of(device, scene))
    if said.leg is not None and "circuits" not in names.unsound and not (circuit and circuit.multiwire):
        do = "delete leg, or say multiwire: yes at the circuit"
        found = f"leg {said.leg} on a circuit of one line"
        yield Fault((*where, "leg"), found, "a multiwire circuit (NEC 210.4)", do)


def _name(name: Named, names: Names, devices: Mapping[str, Sequence[InBox]], known: set[str]) -> Iterator[Fault]:
    """Yield the fault of a name that means nothing which can be meant there."""
    if name.devices:
        return
    meant, lights = called(name.name, devices), name.key == "lights"
    what = "light or receptacle" if lights else "switch"
    if not meant:
        if not _unread(name.name, names):
            yield from _no_device(name.where, name.name, known, what, "follows" if lights else "switches")
        return
    kinds = [device.said.kind for device in meant]
    if not lights and "switch" in kinds:
        number = kinds.count("switch")
        found = f"{name.name} once more, which has {counted(number, 'switch', 'switches')}"
        do = f"add a switch to the devices of {name.name}, or take it out of one control"
        yield Fault(name.where, found, "as many switches as controls name", do)
    elif lights and "alarm" in kinds:
        do = "take it out: an alarm is always fed"
        yield Fault(name.where, f"{name.name}, an alarm", "lights: no switch turns off an alarm (IRC R314.6)", do)
    elif lights and "light" in kinds:
        do = "take it out of the control, or out of its device take switched: no"
        yield Fault(name.where, f"{name.name}, a light with a switch of its own", "lights without one", do)
    else:
        do = f"write device: {'light' if lights else 'switch'} at {name.name}, or name another box"
        yield Fault(name.where, f"{name.name}, a {anded(sorted(set(kinds)))}", f"a {what}", do)


def _unread(name: str, names: Names) -> bool:
    """Whether a name may mean a box, or a device in one, that has faults of its own."""
    return "boxes" in names.unsound and bool({name, name.rpartition(".")[0]} & set(names.written.get("boxes", ())))


def _no_device(where: Where, name: str, known: set[str], what: str, does: str) -> Iterator[Fault]:
    """Yield the fault of a name that no device has: a box without one, or nothing at all."""
    if name in known:
        word = what.split()[0]
        found = f"{name}, a box that has no device"
        yield Fault(where, found, f"what {does}: a {what}", f"write device: {word} at {name}, or name another box")
    else:
        do = did_you_mean(name, known) or f"use one of {listed(sorted(known))}"
        yield Fault(where, name, f"the id of a box or device: a {what}", do)


def _on_one_circuit(named: Sequence[Named], scene: Scene) -> Iterator[Fault]:
    """Yield a fault for the first part of each control that is on another circuit than those before it."""
    home: dict[str, tuple[str, str]] = {}
    told: set[str] = set()
    for name in named:
        for device in name.devices:
            circuit = circuit_of(device, scene)
            if not circuit or name.control in told:
                continue
            first, part = home.setdefault(name.control, (circuit, device.id))
            if circuit != first:
                told.add(name.control)
                found = f"{device.id} on circuit {circuit}, and {part} on {first}"
                do = f"put both on one circuit, or make it two controls; in a box of two circuits say circuit: {first}"
                expected = "lights and switches of one circuit, in cables of that circuit (NEC 300.3(B))"
                yield Fault(name.where, found, expected, do)


def _left_out(devices: Sequence[InBox], named: Sequence[Named], scene: Scene) -> Iterator[Fault]:
    """Yield a fault for each light, switch and half-switched receptacle that no control names."""
    control = controls_of(named)
    for device in devices:
        if device.id in control:
            continue
        said, name = device.said, device.id
        if said.kind == "light" and said.switched:
            do = (
                f"name it in a control, as controls: {{ROW: {{lights: [{name}], points: [...]}}}}, "
                "or say {kind: light, switched: no} if it has a switch of its own"
            )
            found = "a light that no control names"
            yield Fault(device.where, found, "a switch for every light (NEC 210.70, 404.2)", do)
        elif said.kind == "switch":
            naming = [one for one in named if one.key == "points" and one.name == device.box]
            if naming:
                found = f"more switches than the controls name: {name} is left over"
                do = f"name {device.box} in the points of one more control, or take a switch out"
            else:
                found, do = "a switch that no control names", f"name {name} in the points of a control, or delete it"
            yield Fault(device.where, found, "a switch that something follows", do)
        elif said.half:
            do = f"name {name} in the lights of a control, or delete half"
            yield Fault(device.where, "a half-switched receptacle that no control names", "a control for its half", do)

"""Every joint in every box: conductor ends and terminals that are one piece of metal, from nets and cables."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from barnloom.model.building import Building
from barnloom.model.wiring import Device, DeviceKind
from barnloom.routing.plan import Cable, Joint
from barnloom.routing.wiring.nets import CircuitNets

NO_GROUND = frozenset({DeviceKind.ALARM})
"""Kinds without a ground terminal."""


def joints_of(
    building: Building, cables: Sequence[Cable], nets: Mapping[str, CircuitNets], metal: Iterable[str]
) -> dict[str, tuple[Joint, ...]]:
    """Joints of every box that a cable reaches, and of the panels, by box.

    Parameters
    ----------
    cables : sequence of Cable
        With their conductors.
    nets : mapping of circuit to its nets
    metal : iterable of str
        Boxes of metal, which have a ground screw of their own.
    """
    ends: dict[tuple[str, str, str], list[tuple[str, str]]] = defaultdict(list)
    """Conductor ends by box, circuit and net; spares each under a net of its own."""
    grounds: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for cable in cables:
        for box in (cable.from_box, cable.to_box):
            for conductor in cable.conductors:
                end = (cable.id, conductor.colour)
                if conductor.net == "ground":
                    grounds[box].append(end)
                else:
                    spare = f" {cable.id} {conductor.colour}" if conductor.net == "spare" else ""
                    ends[box, cable.circuit, conductor.net + spare].append(end)
    reached = {(box, cable.circuit) for cable in cables for box in (cable.from_box, cable.to_box)}
    terminals: dict[tuple[str, str, str], list[tuple[str, str]]] = defaultdict(list)
    for circuit, its in nets.items():
        for net in its.nets.values():
            for terminal in net.terminals:
                if (terminal.box, circuit) in reached:
                    terminals[terminal.box, circuit, net.name].append((terminal.device, terminal.name))
    joined = {device for own in terminals.values() for device, _ in own}
    found: dict[str, list[Joint]] = defaultdict(list)
    for key in sorted({*ends, *terminals}, key=_order):
        box, circuit, name = key
        found[box].append(
            Joint(
                net="spare" if name.startswith("spare ") else name,
                circuit=circuit,
                ends=tuple(ends.get(key, ())),
                terminals=tuple(terminals.get(key, ())),
            )
        )
    devices: dict[str, list[Device]] = defaultdict(list)
    for device in building.devices:
        devices[device.box].append(device)
    panels = {box.id for box in building.boxes if box.kind == "panel"}
    with_screw = set(metal)
    for box in sorted(grounds):
        fed = (device for device in devices[box] if device.id in joined)
        screws = [(device.id, "ground") for device in fed if device.kind not in NO_GROUND]
        if box in panels:
            screws = [(box, "ground bar")]
        elif box in with_screw:
            screws.append((box, "box"))
        found[box].append(Joint(net="ground", circuit="", ends=tuple(grounds[box]), terminals=tuple(screws)))
    return {box: tuple(joints) for box, joints in sorted(found.items())}


_NETS = ("line", "protected line", "switched", "traveler", "interconnect", "neutral", "protected neutral", "spare")


def _order(key: tuple[str, str, str]) -> tuple[str, str, int, str]:
    box, circuit, net = key
    return box, circuit, next(n for n, word in enumerate(_NETS) if net.startswith(word)), net

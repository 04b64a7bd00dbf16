"""Wires, devices and cables in words: labels, what a conductor is for, lists with an "and"."""

from __future__ import annotations

from collections.abc import Sequence

from barnloom.model.building import Building
from barnloom.model.wiring import Control, Device
from barnloom.routing.plan import Cable, Conductor


def label(cable: Cable) -> str:
    """
    What is written on both ends of a cable, and at its first staple: circuit, from where to where, type.

    It names both boxes, so that a loose end says which box it came from.
    """
    return f"{cable.circuit} {cable.from_box}>{cable.to_box} {cable.type}"


def listed(items: Sequence[str]) -> str:
    """
    Name things one after the other, as a sentence does.

    Examples
    --------
    >>> listed(["the black"]), listed(["the black", "the red"]), listed(["a", "b", "c"])
    ('the black', 'the black and the red', 'a, b and c')
    """
    return " and ".join([", ".join(items[:-1]), items[-1]] if len(items) > 1 else items)


def insulated(cable: Cable) -> int | None:
    """Insulated conductors of a cable; None if its conductors are not planned."""
    return sum(conductor.net != "ground" for conductor in cable.conductors) if cable.conductors else None


def devices_by_box(building: Building) -> dict[str, list[Device]]:
    """Devices of every box, as written."""
    found: dict[str, list[Device]] = {box.id: [] for box in building.boxes}
    for device in building.devices:
        found.setdefault(device.box, []).append(device)
    return found


def devices_in(building: Building, box: str) -> list[Device]:
    """Devices of a box, as written."""
    return devices_by_box(building).get(box, [])


def net_words(net: str, controls: Sequence[Control]) -> str:
    """
    Say what a net is for.

    Examples
    --------
    >>> row = Control(id="ROW", title="bench row", circuit="L", points=("A", "B"), lights=("C",))
    >>> net_words("line 2", [row]), net_words("switched ROW", [row]), net_words("traveler ROW 1a", [row])
    ('always hot, second line', 'hot when ROW (bench row) is on', 'traveler 1a of ROW (bench row)')
    >>> net_words("protected line B1", []), net_words("protected neutral B1", [])
    ('hot behind B1', 'neutral behind B1')
    """
    first, _, rest = net.partition(" ")
    if first == "line":
        return "always hot" + {"": "", "1": ", first line", "2": ", second line"}[rest]
    if first == "protected":
        kind, _, guard = rest.partition(" ")
        return f"{'hot' if kind == 'line' else kind} behind {guard}"
    if first == "switched":
        return f"hot when {_titled(rest, controls)} is on"
    if first == "traveler":
        control, _, pair = rest.rpartition(" ")
        return f"traveler {pair} of {_titled(control, controls)}"
    return {"interconnect": "interconnect of the alarms", "spare": "spare, capped"}.get(net, net)


def conductor_words(conductor: Conductor, controls: Sequence[Control]) -> str:
    """Colour of a conductor, its tape, and what it is for."""
    tape = f" (taped {conductor.marked})" if conductor.marked else ""
    return f"{conductor.colour}{tape}: {net_words(conductor.net, controls)}"


def _titled(control: str, controls: Sequence[Control]) -> str:
    title = next((one.title for one in controls if one.id == control), "")
    return f"{control} ({title})" if title else control

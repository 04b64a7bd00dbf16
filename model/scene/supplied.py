"""Faults of circuits, panels, supply and answers: what they say against each other and against the code."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from barnloom.model.cables import conductors_named, default_cable_types
from barnloom.model.electrical.conductors import CABLE_SIZES, breaker_most
from barnloom.model.electrical.tables import TableError, motor_current, small_conductor_cap
from barnloom.model.errors import Fault
from barnloom.model.limits import at_least, at_most
from barnloom.model.scene.devices import (
    InBox,
    by_circuit,
    circuits_of,
    controls_of,
    devices_in,
    named_in_controls,
)
from barnloom.model.scene.electrical import CircuitSaid
from barnloom.model.scene.names import Names, anded, counted
from barnloom.model.scene.schema import Scene
from barnloom.model.scene.text import Where

PLAIN = "NM-B"
"""Family of plain sheathed cable."""
USUAL_RATING_A = {120: 15.0, 240: 20.0}
"""Of a receptacle that says none, by its volts."""


def circuit_faults(scene: Scene, names: Names) -> Iterator[Fault]:
    """Yield faults of breakers, conductors and pinned cables of circuits."""
    devices = devices_in(scene)
    controls = controls_of(named_in_controls(scene, devices))
    all_on = by_circuit(devices, scene)
    panels = [panel for panel, box in scene.boxes.items() if box.kind == "panel"]
    for name, said in scene.circuits.items():
        on_it = all_on.get(name, [])
        whole = "boxes" not in names.unsound
        yield from _words(name, said)
        yield from _motor_breaker(name, said, on_it, whole=whole)
        if said.multiwire and whole and "controls" not in names.unsound:
            yield from _two_lines(name, scene, on_it, controls)
        yield from _conductors(name, said, scene, on_it)
        yield from _lone_receptacle(name, said, on_it, whole=whole)
        yield from _listed_breaker(name, said, scene, panels)
    for device in devices:
        if device.said.hp is not None:
            try:
                motor_current(device.said.hp, device.said.volts)
            except TableError as err:
                do = err.do or "say its amperes instead"
                yield Fault((*device.where, "hp"), err.found, f"{err.expected} (NEC Table 430.248)", do)
    yield from _plain_cable(scene)


def supply_faults(scene: Scene) -> Iterator[Fault]:
    """Yield faults of panels, of the supply, and of answers that contradict each other."""
    supply, answers = scene.supply, scene.answers
    for name, box in scene.boxes.items():
        if box.panel is None:
            continue
        where: Where = ("boxes", name, "panel")
        for key in ("used", "tandem"):
            for number, space in enumerate(getattr(box.panel, key)):
                if space > box.panel.spaces:
                    do = "count them from 1 as the label does, or correct spaces"
                    found, expected = f"space {space}", f"at most {box.panel.spaces}, the panel's spaces (NEC 408.54)"
                    yield Fault((*where, key, number), found, expected, do)
        if box.panel.bonded and supply.separate:
            found = "neutral and ground joined in the panel of a separate building"
            do = (
                "take the bonding screw or strap out, give the grounds a bar of their own, and say bonded: no; "
                "if this is no building of its own, say supply: {separate: no}"
            )
            yield Fault((*where, "bonded"), found, "neutral and ground apart from each other (NEC 250.32(B))", do)
    if supply.separate and supply.kind == "feeder" and supply.wires is not None and supply.wires < 4:
        found = f"a feeder of {supply.wires} wires to a separate building"
        do = "run two lines, neutral and ground; leave what is there already to an electrician"
        yield Fault(("supply", "wires"), found, "4 wires: the ground on its own (NEC 250.32(B))", do)
    if supply.family == PLAIN and supply.method in ("buried", "conduit", "overhead"):
        found = f"{PLAIN}, indoor cable, {'in conduit' if supply.method == 'conduit' else supply.method}"
        do = "use UF-B where it is buried, or single conductors for wet places in conduit"
        expected = "cable for wet places: a conduit in the ground is one too (NEC 334.12, 300.5, 300.9)"
        yield Fault(("supply", "family"), found, expected, do)
    if answers.word("plain_cable") in ("yes", "concealed") and answers.word("surroundings") == "livestock":
        found = f"plain_cable {answers.word('plain_cable')} in a building for livestock"
        do = "say plain_cable: no, or correct surroundings"
        yield Fault(("answers", "plain_cable"), found, "no: animals' damp corrodes it (NEC 334.12, 547)", do)


def _words(name: str, said: CircuitSaid) -> Iterator[Fault]:
    """Yield a fault where somebody's word is wanted and nobody is named."""
    if said.because:
        return
    do = "add because: with who says so, and why"
    if said.ground_fault == "none":
        yield Fault(("circuits", name, "ground_fault"), "none, and no because", "who says so (NEC 210.8)", do)
    if said.motor_breaker:
        expected = "the electrician who has set it (NEC 430.52)"
        yield Fault(("circuits", name, "motor_breaker"), "motor_breaker, and no because", expected, do)


def _motor_breaker(name: str, said: CircuitSaid, on_it: list[InBox], *, whole: bool) -> Iterator[Fault]:
    if said.motor_breaker and whole and not _one_protected_motor(on_it):
        found = f"motor_breaker, with {anded(device.id for device in on_it) or 'no device'} on the circuit"
        do = "give the motor a circuit of its own with hp and protected: yes, or delete motor_breaker"
        expected = "one machine alone: a motor with hp, and protected: yes (NEC 240.4(G), 430.52)"
        yield Fault(("circuits", name, "motor_breaker"), found, expected, do)


def _two_lines(name: str, scene: Scene, on_it: list[InBox], controls: Mapping[str, str]) -> Iterator[Fault]:
    """Yield a fault of a multiwire circuit with too little for two lines; at a stub both wait for what will come."""
    loads = [device for device in on_it if device.said.kind != "switch"]
    if not loads or any(box.kind == "stub" and name in circuits_of(box) for box in scene.boxes.values()):
        return
    lines = {line for one in loads for line in ((1, 2) if one.said.volts == 240 else (one.said.leg,))} - {None}
    unsaid = {controls.get(one.id, one.id) for one in loads if one.said.volts == 120 and one.said.leg is None}
    if len(lines) + len(unsaid) < 2:
        found = f"multiwire, with nothing for one of its lines ({anded(one.id for one in loads)})"
        expected = "something on each of the two lines that share the neutral (NEC 210.4)"
        do = "delete multiwire, or put something on the other line (leg)"
        yield Fault(("circuits", name, "multiwire"), found, expected, do)


def _one_protected_motor(on_it: list[InBox]) -> bool:
    return [(one.said.kind, one.said.hp is not None, one.said.protected) for one in on_it] == [("machine", True, True)]


def _inside(scene: Scene, cable: str) -> tuple[int, int]:
    """Size of a cable's conductors and how many there are, 0 where that is not known."""
    awg, conductors = conductors_named(cable) or (0, 0)
    said = scene.cable_types.get(cable)
    return (said.awg or awg, said.conductors or conductors) if said else (awg, conductors)


def _cables_of(name: str, said: CircuitSaid, scene: Scene) -> Iterator[tuple[Where, str]]:
    """Yield every cable that is pinned for a circuit, or for one leg of it, with its place."""
    if said.cable:
        yield ("circuits", name, "cable"), said.cable
    for cable, rule in scene.cables.items():
        if rule.type and cable.startswith(f"{name}.") and cable.removeprefix(f"{name}.") in scene.boxes:
            yield ("cables", cable, "type"), rule.type


def _conductors(name: str, said: CircuitSaid, scene: Scene, on_it: list[InBox]) -> Iterator[Fault]:
    """Yield faults of the size and the number of conductors that are pinned."""
    sizes: list[tuple[Where, str, int]] = [] if said.awg is None else [(("circuits", name, "awg"), "", said.awg)]
    for where, cable in _cables_of(name, said, scene):
        awg, conductors = _inside(scene, cable)
        if awg:
            sizes.append((where, f" ({cable})", awg))
        if said.awg is not None and awg and awg > said.awg:
            do = f"leave awg out, or take a cable of {said.awg} AWG"
            yield Fault(where, f"{cable}, {awg} AWG", f"{said.awg} AWG, the circuit's awg, or thicker", do)
        if said.multiwire and where[0] == "circuits" and 0 < conductors < 3:
            do = "take a cable of 3 conductors, or leave cable out"
            expected = "3 at least: two lines and their neutral (NEC 210.4, 300.3(B))"
            yield Fault(
                where, f"{cable}, with {counted(conductors, 'conductor')}, for a multiwire circuit", expected, do
            )
    if said.breaker is None or (said.motor_breaker and _one_protected_motor(on_it)):
        return
    for where, words, awg in sizes:
        cap = small_conductor_cap(awg)
        if cap is not None and not at_most(said.breaker, cap):
            thicker = next((size for size in CABLE_SIZES if at_most(said.breaker, breaker_most(size))), None)
            found = f"{awg} AWG{words} on a {said.breaker:g} A breaker"
            do = f"take {thicker} AWG, or say breaker: {cap:g}" if thicker else f"say breaker: {cap:g}"
            yield Fault(where, found, f"at most {cap:g} A on {awg} AWG (NEC 240.4(D))", do)


def _lone_receptacle(name: str, said: CircuitSaid, on_it: list[InBox], *, whole: bool) -> Iterator[Fault]:
    """Yield a fault of a single receptacle, alone on its circuit, that is rated below the breaker."""
    if said.breaker is None or not whole or len(on_it) != 1:
        return
    device = on_it[0]
    rating = device.said.rating or USUAL_RATING_A[device.said.volts]
    if device.said.kind in ("receptacle", "opener") and device.said.single and not at_least(rating, said.breaker):
        where: Where = (*device.where, "rating") if device.said.rating else device.where
        found = f"a single receptacle of {rating:g} A, alone on a {said.breaker:g} A breaker"
        do = f"take one of the breaker's rating, or say breaker: {rating:g}"
        yield Fault(where, found, f"a rating of {said.breaker:g} A at least (NEC 210.21(B)(1))", do)


def _listed_breaker(name: str, said: CircuitSaid, scene: Scene, panels: list[str]) -> Iterator[Fault]:
    """Yield a fault of a breaker that the panel's label does not list."""
    box = scene.boxes.get(said.panel or (panels[0] if len(panels) == 1 else ""))
    sizes = box.panel.sizes if box is not None and box.panel is not None else None
    if said.breaker is not None and sizes and said.breaker not in sizes:
        do = "take one that it lists, or correct the panel's sizes"
        expected = f"one that the panel's label lists: {', '.join(f'{size:g}' for size in sizes)} (NEC 110.3(B))"
        yield Fault(("circuits", name, "breaker"), f"a {said.breaker:g} A breaker", expected, do)


def _plain_cable(scene: Scene) -> Iterator[Fault]:
    """Yield faults of plain sheathed cable that is pinned where an answer rules it out."""
    allowed, around = scene.answers.word("plain_cable"), scene.answers.word("surroundings")
    if allowed != "no" and around not in ("damp", "livestock"):
        return
    if allowed == "no":
        why = "cable that is allowed in this kind of building: plain_cable is answered no (NEC 334.10)"
    else:
        why = f"cable for where it is {'damp' if around == 'damp' else 'full of livestock'} (NEC 334.12)"
    plain = {kind.id for kind in default_cable_types() if kind.family == PLAIN}
    for name, said in scene.cable_types.items():
        if said.family:
            plain = plain | {name} if said.family == PLAIN else plain - {name}
    pins: list[tuple[Where, str]] = [(("circuits", name, "cable"), said.cable) for name, said in scene.circuits.items()]
    pins += [(("cables", name, "type"), rule.type) for name, rule in scene.cables.items()]
    for where, cable in pins:
        if cable in plain:
            do = "take UF-B (UF 12/2 and so on), or leave it out: the tool takes a cable that is allowed"
            yield Fault(where, f"{cable}, plain sheathed cable ({PLAIN})", why, do)

"""What is wanted of the wiring, resolved: circuits and feeds, cables, lengths and tools."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from barnloom.model.building import (
    Box,
    CableRule,
    CableType,
    Circuit,
    LengthRules,
    Tools,
)
from barnloom.model.cables import conductors_named, default_cable_types, usual_coils
from barnloom.model.errors import Fault
from barnloom.model.lengths import MILLIMETRE_IN, read_length
from barnloom.model.scene.names import did_you_mean
from barnloom.model.scene.schema import CableKind, CircuitSaid, Scene, ToolsSaid
from barnloom.model.scene.values import FT


def circuits_of(scene: Scene, boxes: Sequence[Box]) -> tuple[Circuit, ...]:
    """Return the circuits with the boxes on them; a circuit that names no panel has the only one there is."""
    on: dict[str, list[str]] = {}
    for box in boxes:
        for name in dict.fromkeys(box.circuits):
            on.setdefault(name, []).append(box.id)
    panels = {name: panel_of(said, boxes) for name, said in scene.circuits.items()}
    return tuple(
        Circuit(
            id=name,
            title=said.title,
            panel=panels[name],
            cable=said.cable,
            boxes=tuple(box for box in on.get(name, ()) if box != panels[name]),
            home_runs=None if said.home_runs == "any" else said.home_runs,
            breaker_a=said.breaker or 0.0,
            awg=said.awg or 0,
            ground_fault=said.ground_fault or "",
            multiwire=said.multiwire,
            because=said.because,
            motor_breaker=said.motor_breaker,
            phase=said.phase,
        )
        for name, said in scene.circuits.items()
    )


def panel_of(said: CircuitSaid, boxes: Sequence[Box]) -> str:
    """Return the panel of a circuit."""
    return said.panel or next((box.id for box in boxes if box.kind == "panel"), "")


def fed(boxes: Sequence[Box], scene: Scene) -> tuple[tuple[Box, ...], tuple[Fault, ...]]:
    """Return the boxes with what feeds them: as they say, or as a circuit's order does, which begins at the panel.

    A box that two of these give different feeders is a fault.
    """
    feeds = {box.id: box.fed_from for box in boxes if box.fed_from}
    faults: list[Fault] = []
    for name, said in scene.circuits.items():
        order = said.order or []
        for number, (feeder, box) in enumerate(zip((panel_of(said, boxes), *order), order, strict=False)):
            if feeds.setdefault(box, feeder) != feeder:
                found = f"{box} after {feeder}, but {feeds[box]} feeds it"
                do = "leave out its fed_from, or change one of the orders"
                faults.append(Fault(("circuits", name, "order", number), found, "one feeder for a box", do))
    return tuple(replace(box, fed_from=feeds.get(box.id, "")) for box in boxes), tuple(faults)


def in_phases(boxes: Sequence[Box], circuits: Sequence[Circuit], scene: Scene) -> tuple[Box, ...]:
    """Return the boxes, each in the phase of its circuit where it says none."""
    phase = {circuit.id: circuit.phase for circuit in circuits}
    usual = {box.id: min((phase[name] for name in box.circuits), default=1) for box in boxes}
    return tuple(replace(box, phase=scene.boxes[box.id].phase or usual[box.id]) for box in boxes)


def unknown_cables(scene: Scene, boxes: Sequence[Box]) -> Iterator[Fault]:
    """Yield a fault for each cable that the scene names and none of the circuits, once planned, has."""
    known = {f"{circuit}.{box.id}": None for box in boxes for circuit in box.circuits}
    for name in scene.cables:
        if name not in known:
            do = did_you_mean(name, known) or "plan without it first, and take the circuit from there"
            yield Fault(("cables", name), name, "the id of a cable: CIRCUIT.BOX", do)


def cable_rules(scene: Scene) -> tuple[CableRule, ...]:
    """Return what the scene fixes about single cables."""
    return tuple(
        CableRule(cable=name, through=tuple(said.through), avoid=tuple(said.avoid), done=said.done, type=said.type)
        for name, said in scene.cables.items()
    )


def cable_types(changes: Mapping[str, CableKind], bare: str | None = None) -> tuple[CableType, ...]:
    """Return the cables that can be bought: the usual ones with the scene's changes, and the scene's own."""
    usual = {cable.id: cable for cable in default_cable_types()}
    own = (_cable_type(name, said, usual.get(name), bare) for name, said in changes.items())
    return tuple((usual | {cable.id: cable for cable in own}).values())


def _cable_type(name: str, said: CableKind, usual: CableType | None, bare: str | None) -> CableType:
    awg, conductors = conductors_named(name) or (0, 0)
    base = usual or CableType(
        id=name, width_in=0.0, thickness_in=0.0, price_ft=0.0, source="", awg=awg, conductors=conductors
    )
    changed = [key for key in ("width", "thickness", "price") if getattr(said, key) is not None]
    rest = f"; the rest: {base.source}" if usual and len(changed) < 3 else ""
    price = base.price_ft if said.price is None else said.price
    # A price of the scene's own is that of its store's coils too, where it does not say them.
    usual_ones = (
        (base.coils, base.by_foot) if said.price is None and usual else usual_coils(price, said.awg or base.awg)
    )
    by_foot = usual_ones[1] if said.by_foot is None else 0.0 if said.by_foot == "no" else said.by_foot
    return CableType(
        id=name,
        width_in=base.width_in if said.width is None else said.width,
        thickness_in=base.thickness_in if said.thickness is None else said.thickness,
        price_ft=price,
        source=f"{', '.join(changed) or 'nothing'} as the scene says{rest}",
        conductors=base.conductors if said.conductors is None else said.conductors,
        awg=base.awg if said.awg is None else said.awg,
        family=said.family or base.family,
        coils=usual_ones[0] if said.coils is None else _coils(said.coils, bare),
        by_foot=by_foot,
    )


def _coils(said: Mapping[str, float], bare: str | None) -> tuple[tuple[float, float], ...]:
    """Return coils as (feet, price), the shortest first."""
    return tuple(sorted((read_length(length, bare=bare) / FT, price) for length, price in said.items()))


def length_rules(scene: Scene) -> LengthRules:
    """Return what a cut length is made of."""
    said = scene.lengths
    given = {
        "box_rise_in": said.box_rise,
        "entry_in": said.entry,
        "free_in": said.free,
        "panel_in": said.panel,
        "slack_share": said.slack,
    }
    return replace(LengthRules(), **{key: value for key, value in given.items() if value is not None})


def tools(said: ToolsSaid, *, metric: bool, bare: str | None) -> Tools:
    """Return bits, cables to a hole, drill and print grid; a count said for a bit replaces the usual one."""
    usual = Tools()
    per_hole = dict(usual.per_hole)
    per_hole |= {read_length(bit, bare=bare): count for bit, count in (said.per_hole or {}).items()}
    return Tools(
        bits_in=tuple(sorted(set(said.bits))) if said.bits is not None else usual.bits_in,
        per_hole=tuple(sorted(per_hole.items())),
        drill_in=said.drill if said.drill is not None else usual.drill_in,
        grid_in=MILLIMETRE_IN if metric else usual.grid_in,
    )

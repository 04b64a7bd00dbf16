"""What is wanted of the wiring, resolved: circuits and feeds, cables, lengths, tools, and the answers kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from barnloom.model.building import (
    EXPOSED_BELOW_IN,
    Answer,
    Box,
    CableRule,
    CableType,
    Circuit,
    LengthRules,
    Tools,
)
from barnloom.model.cables import default_cable_types
from barnloom.model.errors import Fault
from barnloom.model.lengths import MILLIMETRE_IN, format_length, read_length
from barnloom.model.scene.schema import CableKind, CircuitSaid, KeptAnswer, Scene, ToolsSaid

EXPOSED_STRICTER = "covered"
LINING_STRICTER = "none"
INSULATED_STRICTER = "yes"


def circuits_of(scene: Scene, boxes: Sequence[Box]) -> tuple[Circuit, ...]:
    """Return the circuits with the boxes on them; a circuit that names no panel has the only one there is."""
    return tuple(
        Circuit(
            id=name,
            title=said.title,
            panel=panel_of(said, boxes),
            cable=said.cable,
            boxes=tuple(box.id for box in boxes if name in box.circuits and box.id != panel_of(said, boxes)),
            home_runs=None if said.home_runs == "any" else said.home_runs,
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


def cable_rules(scene: Scene) -> tuple[CableRule, ...]:
    """Return what the scene fixes about single cables."""
    return tuple(
        CableRule(cable=name, through=tuple(said.through), avoid=tuple(said.avoid), done=said.done)
        for name, said in scene.cables.items()
    )


def cable_types(changes: Mapping[str, CableKind]) -> tuple[CableType, ...]:
    """Return the cables that can be bought: the usual ones with the scene's changes, and the scene's own."""
    usual = {cable.id: cable for cable in default_cable_types()}
    own = (_cable_type(name, said, usual.get(name)) for name, said in changes.items())
    return tuple((usual | {cable.id: cable for cable in own}).values())


def _cable_type(name: str, said: CableKind, usual: CableType | None) -> CableType:
    base = usual or CableType(id=name, width_in=0.0, thickness_in=0.0, price_ft=0.0, source="")
    changed = [key for key in ("width", "thickness", "price") if getattr(said, key) is not None]
    rest = f"; the rest: {base.source}" if usual and len(changed) < 3 else ""
    return CableType(
        id=name,
        width_in=base.width_in if said.width is None else said.width,
        thickness_in=base.thickness_in if said.thickness is None else said.thickness,
        price_ft=base.price_ft if said.price is None else said.price,
        source=f"{', '.join(changed) or 'nothing'} as the scene says{rest}",
    )


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


def exposed(scene: Scene) -> tuple[str, float]:
    """Return what is accepted for cable in sight, and below which height over the floor (inches)."""
    said = scene.answers.exposed
    if isinstance(said, KeptAnswer):
        return said.answer, said.below if said.below is not None else EXPOSED_BELOW_IN
    return said or EXPOSED_STRICTER, EXPOSED_BELOW_IN


def answers(scene: Scene) -> tuple[Answer, ...]:
    """Return the three questions that change routes, answered or assumed."""
    said = scene.answers
    word, below = exposed(scene)
    height = format_length(below, metric=scene.units == "metric")
    kept = said.exposed if isinstance(said.exposed, KeptAnswer) else None
    return (
        Answer(
            question="exposed: is cable in sight accepted in unlined walls within reach?",
            answer=word,
            assumed=said.exposed is None,
            detail=f"below {height} over the floor",
            who=kept.who if kept else "",
            when=kept.when if kept else "",
        ),
        Answer(
            question="lining: do walls get a lining (where a wall does not say)?",
            answer=said.lining or LINING_STRICTER,
            assumed=said.lining is None,
        ),
        Answer(
            question="insulated: is the building insulated, or will it be?",
            answer=said.insulated or INSULATED_STRICTER,
            assumed=said.insulated is None,
        ),
    )

"""A building from a scene: every part framed, every box hung, every default looked up, every fault told at once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from barnloom.model.building import Box, Building, Circuit, KeepClear, Member, Storey
from barnloom.model.electrical.boxes import default_box_types
from barnloom.model.errors import Fault, SceneError
from barnloom.model.framing.answers import answered, answers, exposed_below, wiring_rules
from barnloom.model.framing.boxes import Site, placed_box
from barnloom.model.framing.checks import (
    behind_doors,
    box_faults,
    holes_twice,
    member_overlaps,
    unknown_members,
)
from barnloom.model.framing.circuits import planned
from barnloom.model.framing.clashes import clash_warnings
from barnloom.model.framing.common import Context, Framed, Place
from barnloom.model.framing.corners import neighbours
from barnloom.model.framing.devices import controls, devices
from barnloom.model.framing.floors import frame_floor
from barnloom.model.framing.roofs import frame_roof
from barnloom.model.framing.supply import breakers, supply
from barnloom.model.framing.timbers import frame_board, frame_timber
from barnloom.model.framing.walls import frame_wall
from barnloom.model.framing.wiring import (
    cable_rules,
    cable_types,
    circuits_of,
    fed,
    in_phases,
    length_rules,
    tools,
    unknown_cables,
)
from barnloom.model.limits import Limits, load_limits
from barnloom.model.prices import resolved_prices
from barnloom.model.scene.refer import faults_between
from barnloom.model.scene.schema import KeepClearSaid, Scene
from barnloom.model.scene.values import PLAN_IT
from barnloom.model.wiring import Control, Device


def build(scene: Scene) -> Building:
    """
    Return the building that a scene describes, with nothing left to look up.

    Assemblies, members, boxes and circuits are sorted by id (numbers in it by value), so that the order in which a
    scene is written changes nothing but which wall runs through a corner.

    Raises
    ------
    SceneError
        With every fault that could be found: what refers to nothing, what cannot be framed, members in each other,
        boxes in members, in mid-air or in each other.
    """
    referring = faults_between(scene)
    if referring:
        raise SceneError(referring)
    context = context_of(scene)
    parts = dict(framed_parts(scene, context))
    framed = [fault for part in parts.values() for fault in part.faults]
    members = sorted((member for part in parts.values() for member in part.members), key=lambda m: _natural(m.id))
    assemblies = sorted((slab for part in parts.values() for slab in part.assemblies), key=lambda a: _natural(a.id))
    site = Site(
        assemblies={assembly.id: assembly for assembly in assemblies},
        members={member.id: member for member in members},
        floors=scene.floors,
        context=context,
        lengths=length_rules(scene),
        whole=not framed,
    )
    paths: dict[str, Place] = {
        name: where for where, part in parts.items() for name in (where[1], *(slab.id for slab in part.assemblies))
    }
    overlaps, overlap_warnings = member_overlaps(members, scene.joints, paths, context)
    keep_clear = tuple(_keep_clear(name, said) for name, said in scene.keep_clear.items())
    boxes, placing = _boxes(scene, site)
    boxes, feeding = fed(boxes, scene)
    faults = [
        *framed,
        *_twice(members),
        *holes_twice(members),
        *overlaps,
        *(unknown_members(_named(scene), _generated(scene, context, site)) if site.whole else ()),
        *placing,
        *box_faults(boxes, keep_clear, site),
        *feeding,
    ]
    if faults:
        raise SceneError(faults)
    limits = load_limits(scene.code, {name: (said.value, said.because) for name, said in scene.limits.items()})
    wired = _wired(scene, boxes, Limits(limits))
    built = Building(
        title=scene.title,
        about={"use": scene.about.use, "owner": scene.about.owner, "place": scene.about.place},
        metric=context.metric,
        storeys=tuple(
            Storey(id=name, title=said.title or name, floor_in=said.floor) for name, said in scene.storeys.items()
        ),
        assemblies=tuple(assemblies),
        members=tuple(members),
        keep_clear=keep_clear,
        boxes=wired.boxes,
        circuits=wired.circuits,
        cable_rules=tuple(sorted(cable_rules(scene), key=lambda rule: _natural(rule.cable))),
        cable_types=cable_types(scene.cable_types, scene.bare),
        limits=limits,
        prices=resolved_prices(scene.prices),
        lengths=site.lengths,
        tools=tools(scene.tools, metric=context.metric, bare=scene.bare),
        answers=answers(scene),
        exposed=answered(scene, "exposed"),
        exposed_below_in=exposed_below(scene),
        insulated=answered(scene, "insulated"),
        warnings=(
            *(warning for part in parts.values() for warning in part.warnings),
            *overlap_warnings,
            *behind_doors(boxes, scene.walls),
        ),
        devices=wired.devices,
        controls=wired.controls,
        box_types=default_box_types(),
        breakers=breakers(scene, boxes),
        supply=supply(scene.supply),
        wiring=wiring_rules(scene),
    )
    return replace(built, warnings=(*built.warnings, *clash_warnings(built)))


def context_of(scene: Scene) -> Context:
    """Return what each part of a scene has to know of the others."""
    return Context(
        floors={name: said.floor for name, said in scene.storeys.items()},
        walls=scene.walls,
        overrides=scene.members,
        lining=answered(scene, "lining"),
        metric=scene.units == "metric",
    )


def framed_parts(scene: Scene, context: Context) -> Iterator[tuple[tuple[str, str], Framed]]:
    """Yield every wall, floor, roof, timber and board as framed, by its place in the scene."""
    near = neighbours(scene.walls, context)
    for name, wall in scene.walls.items():
        yield ("walls", name), frame_wall(name, wall, replace(context, walls=near[name]))
    for name, floor in scene.floors.items():
        yield ("floors", name), frame_floor(name, floor, context)
    for name, roof in scene.roofs.items():
        yield ("roofs", name), frame_roof(name, roof, context)
    for name, timber in scene.timbers.items():
        yield ("timbers", name), frame_timber(name, timber, context)
    for name, board in scene.boards.items():
        yield ("boards", name), frame_board(name, board, context)


def _boxes(scene: Scene, site: Site) -> tuple[tuple[Box, ...], tuple[Fault, ...]]:
    placed = [placed_box(name, scene.boxes[name], site) for name in sorted(scene.boxes, key=_natural)]
    return tuple(box for box, _ in placed if box is not None), tuple(fault for _, its in placed for fault in its)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wired:
    """Boxes on their circuits, with what is in them; each sorted by id."""

    boxes: tuple[Box, ...]
    devices: tuple[Device, ...]
    controls: tuple[Control, ...]
    circuits: tuple[Circuit, ...]


def _wired(scene: Scene, boxes: tuple[Box, ...], limits: Limits) -> _Wired:
    """
    Return boxes, devices, controls and circuits, those that the tool puts together too.

    Raises
    ------
    SceneError
        If a cable is named that none of these circuits has.
    """
    all_devices = tuple(sorted(devices(scene, limits), key=lambda device: _natural(device.id)))
    all_controls = tuple(sorted(controls(scene), key=lambda control: _natural(control.id)))
    circuits = circuits_of(scene, boxes)
    to_plan = {name for name, said in scene.boxes.items() if said.circuit == PLAN_IT}
    if to_plan:
        panel = next(box.id for box in boxes if box.kind == "panel")
        boxes, all_devices, all_controls, circuits = planned(
            boxes, all_devices, all_controls, circuits, limits, panel=panel, to_plan=to_plan
        )
        faults = tuple(unknown_cables(scene, boxes))
        if faults:
            raise SceneError(faults)
    return _Wired(
        boxes=in_phases(boxes, circuits, scene),
        devices=all_devices,
        controls=all_controls,
        circuits=tuple(sorted(circuits, key=lambda circuit: _natural(circuit.id))),
    )


def _keep_clear(name: str, said: KeepClearSaid) -> KeepClear:
    low = [min(a, b) - said.clearance for a, b in zip(said.from_, said.to, strict=True)]
    high = [max(a, b) + said.clearance for a, b in zip(said.from_, said.to, strict=True)]
    return KeepClear(
        id=name,
        kind=said.kind,
        low=(low[0], low[1], low[2]),
        high=(high[0], high[1], high[2]),
        clearance_in=said.clearance,
    )


def _named(scene: Scene) -> Iterator[tuple[Place, str]]:
    """Yield every place in a scene where a member is named that framing makes."""
    for name in scene.members:
        yield ("members", name), name
    for number, pair in enumerate(scene.joints):
        for side, name in enumerate(pair):
            yield ("joints", number, side), name
    for cable, said in scene.cables.items():
        for key, names in (("through", said.through), ("avoid", said.avoid)):
            for number, name in enumerate(names):
                yield ("cables", cable, key, number), name


def _generated(scene: Scene, context: Context, site: Site) -> set[str]:
    """Return the ids of all members that framing makes, those too that the scene takes away again."""
    if not any(said.missing for said in scene.members.values()):
        return set(site.members)
    plain = framed_parts(scene, replace(context, overrides={}))
    return {member.id for _, part in plain for member in part.members} | set(site.members)


def _twice(members: Iterable[Member]) -> Iterator[Fault]:
    """Yield a fault for each id that two members, sorted by id, have: a timber called like a wall's stud."""
    for one, other in pairwise(members):
        if one.id == other.id:
            do = "give the timber or board another id"
            yield Fault(("timbers", one.id), f"{one.id}, the id of another member too", "an id of its own", do)


def _natural(name: str) -> tuple[tuple[int, str], ...]:
    """Return a key that sorts J2 before J10."""
    return tuple((int(part), "") if part.isdigit() else (-1, part) for part in re.split(r"([0-9]+)", name))

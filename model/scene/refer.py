"""Checks of a scene that need more than one value but no geometry: what refers to what, and what goes together.

Each check is a generator of faults; none looks at a place in space.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from itertools import pairwise

from barnloom.model.cables import CONDUCTORS_MOST, conductors_named, default_cable_types
from barnloom.model.errors import Fault, InputError
from barnloom.model.lengths import format_length
from barnloom.model.limits import load_limits
from barnloom.model.prices import resolved_prices
from barnloom.model.scene.devices import circuits_of
from barnloom.model.scene.names import Names, anded, counted, did_you_mean, listed
from barnloom.model.scene.schema import BoxSaid, Scene, Stations
from barnloom.model.scene.supplied import circuit_faults, supply_faults
from barnloom.model.scene.text import Where
from barnloom.model.scene.values import PLAN_IT
from barnloom.model.scene.wired import control_faults, device_faults

ONE_NAMESPACE = ("walls", "floors", "roofs", "timbers", "boards", "keep_clear", "boxes")
"""Parts whose ids people see on the same lists, and so may not share one."""
HOSTS = {"wall": "walls", "ceiling": "floors", "roof": "roofs", "on": ""}
NEEDS = {"wall": ("along", "height"), "ceiling": ("at",), "roof": ("at",), "on": ("along", "side")}
IDLE = {
    "wall": ("at", "side"),
    "ceiling": ("along", "height", "to", "above", "side"),
    "roof": ("along", "height", "to", "above", "side"),
    "on": ("height", "to", "above", "at"),
}
"""By what holds a box: what it needs said, and what would have no meaning."""

PANEL_CABLES = 60
"""Most cables in a panel where the scene does not say."""


def faults_between(
    scene: Scene, *, written: Mapping[str, Collection[str]] | None = None, broken: Collection[tuple[str, str]] = ()
) -> list[Fault]:
    """
    Faults of a scene that show only when values are seen together.

    Parameters
    ----------
    scene : Scene
        The scene, or what is sound of it.
    written : mapping of str to collection of str, optional
        Ids in each part of the file, where ``scene`` lacks some that have faults of their own.
    broken : collection of (str, str), optional
        Part and id of those; a check that concludes from something's absence leaves their parts alone.
    """
    ids = {part: list(getattr(scene, part)) for part in (*ONE_NAMESPACE, "storeys", "circuits", "controls")}
    names = Names({**ids, **(written or {})}, {part for part, _ in broken})
    return [
        *_ids(names),
        *_storeys(scene, names),
        *_framing(scene, names),
        *_rows(scene),
        *_spans(scene),
        *_boxes(scene, names),
        *_circuits(scene, names),
        *_orders(scene, names),
        *_feeds(scene, names),
        *_crowds(scene),
        *_cables(scene, names),
        *_data(scene),
        *device_faults(scene, names),
        *control_faults(scene, names),
        *circuit_faults(scene, names),
        *supply_faults(scene),
    ]


def _ids(names: Names) -> Iterator[Fault]:
    for parts in (ONE_NAMESPACE, ("storeys",), ("circuits",), ("controls",)):
        seen: dict[str, str] = {}
        for part in parts:
            for name in names.written.get(part, ()):
                first = seen.setdefault(name.casefold(), f"{part}/{name}")
                if first != f"{part}/{name}":
                    do = "give one of them another id: lists and drawings tell them apart by it, whatever the case"
                    yield Fault((part, name), f"{name}, the same id as {first}", "an id of its own", do)


def _storeys(scene: Scene, names: Names) -> Iterator[Fault]:
    for (low, below), (high, above) in pairwise(scene.storeys.items()):
        if above.floor <= below.floor:
            expected = f"a floor above {low}'s, which is at {_length(scene, below.floor)}"
            do = "write the storeys from the lowest up, each with the level of its floor"
            yield Fault(("storeys", high, "floor"), _length(scene, above.floor), expected, do)
    for part, fields in (
        ("walls", ("storey",)),
        ("floors", ("carries", "below")),
        ("roofs", ("storey",)),
        ("timbers", ("storey",)),
        ("boards", ("storey",)),
    ):
        for name, said in getattr(scene, part).items():
            for field in fields:
                storey = getattr(said, field)
                if storey is not None:
                    yield from names.unknown((part, name, field), storey, "storeys", "storey")


def _framing(scene: Scene, names: Names) -> Iterator[Fault]:
    for name, wall in scene.walls.items():
        where = ("walls", name)
        if wall.height is not None and wall.profile is not None:
            do = "keep height for a level top, profile for a sloped one"
            yield Fault((*where, "height"), "both height and profile", "one of the two", do)
        if wall.height is None and wall.profile is None:
            do = "add height: for a level top, or profile: for a sloped one"
            yield Fault(where, "neither height nor profile", "one of the two", do)
        for number, (one, two) in enumerate(pairwise(wall.profile or ()), start=1):
            if two[0] < one[0]:
                do = "write the corners of the top from the wall's start to its end"
                expected = f"a corner no nearer the start than {_length(scene, one[0])}"
                yield Fault((*where, "profile", number), _length(scene, two[0]), expected, do)
        for key, opening in wall.openings.items():
            if opening.top <= opening.bottom:
                expected = f"more than its bottom, {_length(scene, opening.bottom)}"
                do = "measure both from the sole plate's bottom"
                yield Fault((*where, "openings", key, "top"), _length(scene, opening.top), expected, do)
    for name, floor in scene.floors.items():
        given = [key for key in ("carries", "bottom") if getattr(floor, key) is not None]
        if len(given) != 1:
            do = "say which storey it carries, or for a ceiling that carries none the level of its bottom"
            place = ("floors", name, *given[1:])
            yield Fault(place, anded(given) or "neither carries nor bottom", "one of the two, for its level", do)
    for part in ("timbers", "boards"):
        for name, timber in getattr(scene, part).items():
            if timber.from_ == timber.to:
                do = "write both ends, each as [east, north, up]"
                yield Fault((part, name, "to"), "the same point as from", "its other end", do)
    for name, tape in scene.measured.items():
        for field, wall_id in (("from", tape.from_), ("to", tape.to)):
            yield from names.unknown(("measured", name, field), wall_id, "walls", "wall")
        if tape.from_ == tape.to:
            do = "name the wall that starts at the other corner"
            yield Fault(("measured", name, "to"), "the same corner as from", "another corner", do)
    for name, member in scene.members.items():
        if member.at is not None and member.centre is not None:
            found, do = "both at and centre", "keep the one you measured"
            yield Fault(("members", name, "centre"), found, "one of the two", do)


def _rows(scene: Scene) -> Iterator[Fault]:
    rows: list[tuple[Where, Stations]] = [
        *((("walls", name, "studs"), wall.studs) for name, wall in scene.walls.items()),
        *((("floors", name, "joists"), floor.joists) for name, floor in scene.floors.items()),
        *((("roofs", name, "rafters"), roof.rafters) for name, roof in scene.roofs.items()),
    ]
    for where, row in rows:
        given = [key for key in ("every", "centres", "at") if getattr(row, key) is not None]
        if len(given) != 1:
            found = anded(given) or "none of every, centres and at"
            do = 'say where they stand in one of the three ways: every: 16", or a measured list'
            yield Fault((*where, *given[1:2]), found, "exactly one of every, centres and at", do)


def _spans(scene: Scene) -> Iterator[Fault]:
    """Yield a fault for each stretch that ends before it begins."""
    spans: list[tuple[Where, float, float]] = []
    for name, wall in scene.walls.items():
        for number, row in enumerate(wall.blocking):
            if row.between is not None:
                spans.append((("walls", name, "blocking", number, "between"), *row.between))
    for name, floor in scene.floors.items():
        for number, blocks in enumerate(floor.blocking):
            if blocks.between is not None:
                spans.append((("floors", name, "blocking", number, "between"), *blocks.between))
    for name, member in scene.members.items():
        if member.start is not None and member.end is not None:
            spans.append((("members", name, "end"), member.start, member.end))
        for number, notch in enumerate(member.notches):
            spans.append((("members", name, "notches", number, "to"), notch.from_, notch.to))
        for number, ply in enumerate(member.plies if isinstance(member.plies, list) else ()):
            if ply.start is not None and ply.end is not None:
                spans.append((("members", name, "plies", number, "end"), ply.start, ply.end))
    for where, start, end in spans:
        if end <= start:
            do = "measure both from the same end"
            yield Fault(where, _length(scene, end), f"more than its beginning, {_length(scene, start)}", do)


def _boxes(scene: Scene, names: Names) -> Iterator[Fault]:
    for name, box in scene.boxes.items():
        where = ("boxes", name)
        hosts = [key for key in HOSTS if getattr(box, key) is not None]
        if len(hosts) != 1:
            found = anded(hosts) or "none of wall, ceiling, roof and on"
            do = "say what it is in or on: wall with along and height, ceiling or roof with at, on with along and side"
            yield Fault((*where, *hosts[1:2]), found, "exactly one of wall, ceiling, roof and on", do)
            continue
        host = hosts[0]
        if HOSTS[host] and host != "roof":
            yield from names.unknown((*where, host), getattr(box, host), HOSTS[host], host)
        for key in NEEDS[host]:
            if getattr(box, key) is None:
                yield Fault(where, f"no {key}", f"{anded(NEEDS[host])} with {host}", f"add {key}: with its value")
        for key in IDLE[host]:
            if key in box.model_fields_set:
                found, expected = f"{key} with {host}", f"only {anded(NEEDS[host])} with {host}"
                yield Fault((*where, key), found, expected, f"delete {key}, or say what else the box is in or on")
        if box.kind == "stub" and box.size is not None:
            do = "delete size, or make it kind: box"
            yield Fault((*where, "size"), "a size", "none: a stub is a cable's end, without a body", do)
        if box.circuit == PLAN_IT:
            yield from _to_plan(scene, box, (*where, "circuit"), names)
        for number, circuit in enumerate(circuits_of(box)):
            place = (*where, "circuit", number) if isinstance(box.circuit, list) else (*where, "circuit")
            yield from names.unknown(place, circuit, "circuits", "circuit")
        if box.kind == "box" and box.circuit in (None, []):
            do = f"add circuit: with the id of one, or circuit: {PLAN_IT}"
            yield Fault(where, "no circuit", "the circuit it is on", do)


def _to_plan(scene: Scene, box: BoxSaid, where: Where, names: Names) -> Iterator[Fault]:
    """Yield what stands against finding a box its circuit."""
    if box.kind != "box":
        found = f"{PLAN_IT} at a {box.kind}"
        yield Fault(where, found, "the circuit it is on", "name the circuit: only boxes are put on circuits")
    elif len(_panels(scene)) != 1 and "boxes" not in names.unsound:
        found = f"{PLAN_IT}, and {len(_panels(scene)) or 'no'} panels"
        yield Fault(where, found, "one panel that all such circuits come from", "name the circuit of each box")


def cables_most(box: BoxSaid) -> int:
    """Most cables in a box: as said, else 4; a panel takes as many as there are, a stub is the end of one."""
    if box.kind == "stub":
        return 1
    return PANEL_CABLES if box.kind == "panel" and "cables_max" not in box.model_fields_set else box.cables_max


def _panels(scene: Scene) -> list[str]:
    return [name for name, box in scene.boxes.items() if box.kind == "panel"]


def _circuits(scene: Scene, names: Names) -> Iterator[Fault]:
    panels, cables = _panels(scene), _sold(scene)
    served: dict[str, list[str]] = {}
    for box, on in scene.boxes.items():
        for name in dict.fromkeys(circuits_of(on) if on.kind != "panel" else ()):
            served.setdefault(name, []).append(box)
    for name, circuit in scene.circuits.items():
        where = ("circuits", name)
        if circuit.panel is not None:
            yield from names.unknown((*where, "panel"), circuit.panel, "boxes", "panel among the boxes")
            if circuit.panel in scene.boxes and circuit.panel not in panels:
                do = f"make it kind: panel, or name one of {listed(panels)}" if panels else "make it kind: panel"
                yield Fault((*where, "panel"), f"{circuit.panel}, a {scene.boxes[circuit.panel].kind}", "a panel", do)
        elif len(panels) != 1 and "boxes" not in names.unsound:
            found = f"no panel, and {len(panels) or 'none'} among the boxes"
            do = f"add panel: with one of {listed(panels)}" if panels else "add a box with kind: panel"
            yield Fault(where, found, "the panel it comes from", do)
        yield from _unknown_cable((*where, "cable"), circuit.cable, cables)
        serves = served.get(name, [])
        if not serves and "boxes" not in names.unsound:
            do = f"write circuit: {name} at the boxes it serves, or delete the circuit"
            yield Fault(where, "no box on this circuit", "at least one", do)
        elif circuit.home_runs != "any" and circuit.home_runs > len(serves) and "boxes" not in names.unsound:
            found = f"{circuit.home_runs} cables from the panel to {counted(len(serves), 'box', 'boxes')}"
            do = f"say {len(served)} or any, or write circuit: {name} at the other boxes it serves"
            yield Fault((*where, "home_runs"), found, "no more than the circuit has boxes: each leads to one", do)


def _sold(scene: Scene) -> set[str]:
    return {cable.id for cable in default_cable_types()} | set(scene.cable_types)


def _unknown_cable(where: Where, cable: str, cables: Collection[str]) -> Iterator[Fault]:
    if cable and cable not in cables:
        do = did_you_mean(cable, cables) or f"use one of {listed(cables, 40)}, or describe it in cable_types"
        yield Fault(where, cable, "a cable that the store sells", do)


def _orders(scene: Scene, names: Names) -> Iterator[Fault]:
    for name, circuit in scene.circuits.items():
        seen: set[str] = set()
        for number, box in enumerate(circuit.order or ()):
            where = ("circuits", name, "order", number)
            yield from names.unknown(where, box, "boxes", "box")
            if box in seen:
                yield Fault(where, f"{box} a second time", "each box once", "delete one of the two")
            seen.add(box)
            if box not in scene.boxes:
                continue
            if scene.boxes[box].kind == "panel":
                do = "leave it out: the order begins with the box that the panel feeds"
                yield Fault(where, f"{box}, a panel", "a box", do)
            elif name not in circuits_of(scene.boxes[box]):
                on = anded(circuits_of(scene.boxes[box])) or "none"
                do = f"leave it out, or write circuit: {name} at the box"
                yield Fault(where, f"{box}, which is on circuit {on}", f"boxes of circuit {name}", do)


def _feeds(scene: Scene, names: Names) -> Iterator[Fault]:
    """Yield faults of what feeds what: unknown feeders, feeders of other circuits, contradictions, rings."""
    ordered: dict[str, tuple[str, str]] = {}
    """Feeder that an order gives a box, and its circuit."""
    for name, circuit in scene.circuits.items():
        for one, fed in pairwise(circuit.order or ()):
            ordered.setdefault(fed, (one, name))
    feeder_of = {fed: one for fed, (one, _) in ordered.items()}
    for name, box in scene.boxes.items():
        feeder, where = box.fed_from, ("boxes", name, "fed_from")
        if feeder is None:
            continue
        yield from names.unknown(where, feeder, "boxes", "box or panel")
        if name in ordered and ordered[name][0] != feeder:
            found = f"{feeder}, while the order of circuit {ordered[name][1]} has {ordered[name][0]} before it"
            yield Fault(where, found, "one feeder", "keep the order, or fed_from")
        elif feeder in scene.boxes:
            feeder_of[name] = feeder
            own, other = set(circuits_of(box)), scene.boxes[feeder]
            if other.kind == "panel":
                homes = {scene.circuits[one].panel for one in own if one in scene.circuits} - {None, feeder}
                if homes and box.kind != "panel":
                    do = f"feed it from {listed(sorted(map(str, homes)))}"
                    yield Fault(where, f"{feeder}, another panel", "the panel of its own circuit", do)
            elif own and not own & set(circuits_of(other)):
                found = f"{feeder}, which is on circuit {anded(circuits_of(other)) or 'none'}"
                do = "feed it from a box of its own circuit, or correct the circuit of one of them"
                yield Fault(where, found, f"a box on circuit {anded(sorted(own))}", do)
    yield from _rings(scene, feeder_of, ordered)


def _rings(scene: Scene, feeder_of: Mapping[str, str], ordered: Mapping[str, tuple[str, str]]) -> Iterator[Fault]:
    done: set[str] = set()
    for start in feeder_of:
        path: list[str] = []
        box: str | None = start
        while box is not None and box not in done:
            done.add(box)
            path.append(box)
            box = feeder_of.get(box)
        if box in path:
            ring = path[path.index(box) :]
            fed = [one for one in ring if one in scene.boxes and scene.boxes[one].fed_from]
            pinned = next((one for one in fed if one not in ordered), next(iter(fed), None))
            where: Where = ("boxes", pinned, "fed_from") if pinned else ("circuits", ordered[ring[0]][1], "order")
            found = f"a ring: {' from '.join([*ring, ring[0]])}" if len(ring) > 1 else f"{ring[0]}, the box itself"
            yield Fault(where, found, "feeds that lead back to the panel", "take one of these feeds out")


def _crowds(scene: Scene) -> Iterator[Fault]:
    """Yield faults of boxes that must take more cables than they can: by their circuits, or by what they must feed."""
    for name, box in scene.boxes.items():
        own, most = len(set(circuits_of(box))), cables_most(box)
        if box.kind != "panel" and own > most:
            stub = box.kind == "stub"
            expected = f"at most {most}: a stub is a cable's end" if stub else f"at most {most}, one cable for each"
            do = "make it kind: box" if stub else f"say cables_max: {own} if it is large enough, or split it in two"
            yield Fault(("boxes", name, "circuit"), f"{own} circuits", expected, do)
    yield from _crowded_panels(scene)
    fed: dict[str, set[tuple[str, str]]] = {}
    """Circuit and box of each cable that a box must feed."""
    full: set[str] = set()
    for where, circuit, feeder, name in _pins(scene):
        box, cables = scene.boxes[feeder], fed.setdefault(feeder, set())
        cables.add((circuit, name))
        own, most = 0 if box.kind == "panel" else len(set(circuits_of(box))), cables_most(box)
        if feeder in full or own > most or own + len(cables) <= most:
            continue
        full.add(feeder)
        if box.kind == "stub":
            found, expected = f"{feeder}, a stub", "a box: a stub is a cable's end and feeds nothing"
            do = f"feed {name} from another box, or make {feeder} kind: box"
        else:
            feeds = f"{own} to feed it, " if own else ""
            found = f"{counted(own + len(cables), 'cable')} in {feeder}: {feeds}{len(cables)} from it to other boxes"
            expected = f"at most {most}, its cables_max"
            do = f"raise cables_max of {feeder} if it is large enough, or feed {name} from another box"
        yield Fault(where, found, expected, do)


def _crowded_panels(scene: Scene) -> Iterator[Fault]:
    panels = _panels(scene)
    for name in panels:
        own = {key: said for key, said in scene.circuits.items() if (said.panel or panels[0]) == name}
        runs, most = (
            sum(1 if c.home_runs == "any" else c.home_runs for c in own.values()),
            cables_most(scene.boxes[name]),
        )
        if runs > most:
            found = f"{counted(runs, 'cable')} at least, for {anded(own)}"
            yield Fault(
                ("boxes", name, "cables_max"), found, f"at most {most}", f"say cables_max: {runs} if it is so large"
            )


def _pins(scene: Scene) -> Iterator[tuple[Where, str, str, str]]:
    """Yield each feed that the scene fixes between boxes it holds: where it says so, circuit, feeder, box fed."""
    panels = _panels(scene)
    for circuit, said in scene.circuits.items():
        for number, (feeder, name) in enumerate(pairwise(said.order or ())):
            if feeder in scene.boxes and name in scene.boxes:
                yield ("circuits", circuit, "order", number), circuit, feeder, name
    for name, box in scene.boxes.items():
        feeder = box.fed_from or ""
        if feeder not in scene.boxes or feeder == name:
            continue
        for circuit in circuits_of(box):
            home = scene.circuits[circuit].panel or next(iter(panels), "") if circuit in scene.circuits else ""
            if circuit in circuits_of(scene.boxes[feeder]) or feeder == home:
                yield ("boxes", name, "fed_from"), circuit, feeder, name


def _cables(scene: Scene, names: Names) -> Iterator[Fault]:
    for name, cable in scene.cables.items():
        for number, member in enumerate(cable.avoid):
            if member in cable.through:
                found, expected = f"{member}, which it must use as well", "a member of one of the two lists"
                yield Fault(("cables", name, "avoid", number), found, expected, "take it out of through, or of avoid")
        yield from _unknown_cable(("cables", name, "type"), cable.type, _sold(scene))
    known = {f"{circuit}.{box}" for box, said in scene.boxes.items() for circuit in circuits_of(said)}
    if "boxes" in names.unsound:
        return
    open_ends = tuple(f".{box}" for box, said in scene.boxes.items() if said.circuit == PLAN_IT)
    for name in scene.cables:
        if name not in known and not name.endswith(open_ends):
            do = did_you_mean(name, known) or "write it as the circuit, a dot, and the box at its far end"
            yield Fault(("cables", name), name, "the id of a cable: CIRCUIT.BOX", do)


def _data(scene: Scene) -> Iterator[Fault]:
    """Yield faults of names that the program's own tables have to know: limits, prices, cables."""
    known = {cable.id for cable in default_cable_types()}
    for name, kind in scene.cable_types.items():
        missing = [key for key in ("width", "thickness", "price") if getattr(kind, key) is None]
        if name not in known and missing:
            do = did_you_mean(name, known) or f"add {anded(missing)}"
            yield Fault(("cable_types", name), f"no {anded(missing)}", "all three of a cable that is new", do)
        _, named = conductors_named(name) or (0, 0)
        if kind.conductors is None and named and not 2 <= named <= CONDUCTORS_MOST:
            do = "write conductors, or give it a name that does not count them"
            yield Fault(("cable_types", name), f"{named} insulated conductors, as its name says", "two to four", do)
    for name, change in scene.limits.items():
        try:
            load_limits(scene.code, {name: (change.value, change.because)})
        except InputError as err:
            yield Fault(("limits", name), err.found, err.expected, err.do or "look the limits up in the README")
    for name, price in scene.prices.items() if isinstance(scene.prices, dict) else ():
        try:
            resolved_prices({name: price})
        except InputError as err:
            yield Fault(("prices", name), err.found, err.expected, err.do or "look the prices up in the README")


def _length(scene: Scene, inches: float) -> str:
    return format_length(inches, metric=scene.units == "metric")

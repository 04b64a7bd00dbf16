"""From cables as they lie to a whole plan: lines and holes drawn, the electrical half put in, all of it told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from barnloom.model.building import Box, Building
from barnloom.model.errors import SceneError
from barnloom.routing.check import check
from barnloom.routing.cost import plan_cost
from barnloom.routing.explain import Lost, unreached_why
from barnloom.routing.feeds import plain_kind, switched
from barnloom.routing.holes import final_holes
from barnloom.routing.job import Job
from barnloom.routing.layout import Layout
from barnloom.routing.lengths import cable_of
from barnloom.routing.notes import plan_assumptions, plan_warnings
from barnloom.routing.plan import PLAN_VERSION, Bore, Cable, Plan
from barnloom.routing.runs import run_of
from barnloom.routing.settle import Settled, feeds_by_circuit, left_out, wires_of
from barnloom.routing.wiring.assembly import Assembled, assembled, twin
from barnloom.routing.wiring.growth import grown_sizes
from barnloom.routing.wiring.kinds import Sizes
from barnloom.routing.wiring.sizing import Rating
from barnloom.routing.wiring.told import wiring_warnings


def whole(job: Job, best: Settled, rated: Mapping[str, Rating], sizes: Sizes) -> tuple[Plan, Assembled]:
    """The plan of cables as they lie, and its electrical half.

    Raises
    ------
    SceneError
        If no cable has the conductors that a leg needs, a box is too small for what it must hold, or the panel has no
        room.
    """
    layout = best.layout
    wires = wires_of(job.building, feeds_by_circuit(job.building, layout), sizes, best.orders)
    cables, bores = _drawn(layout, job.earlier.bores if job.earlier else ())
    half = assembled(job.building, cables, wires, rated, job.rooms)
    if half.faults:
        raise SceneError(half.faults)
    two = {name: (name, twin(name)) for name in wires.parts}
    bores = [
        replace(bore, cables=tuple(one for cable in bore.cables for one in two.get(cable, (cable,)))) for bore in bores
    ]
    return _finished(job, layout, bores, half, sizes), half


def sound(job: Job, best: Settled, rated: Mapping[str, Rating], sizes: Sizes) -> tuple[Plan, Assembled] | None:
    """A state of the search as a whole plan; None if it breaks a limit, or would want larger conductors again.

    Both only show in the whole: what lies beside what in the end, and how much voltage is lost.
    """
    try:
        found, half = whole(job, best, rated, sizes)
        grown = grown_sizes(found, half, rated, sizes)
    except SceneError:
        return None
    return None if grown is not None or has_faults(found) else (found, half)


def has_faults(plan: Plan) -> bool:
    """Whether the check finds a fault in a plan."""
    return any(finding.severity == "fault" for finding in check(plan))


def _drawn(best: Layout, earlier: Sequence[Bore]) -> tuple[list[Cable], list[Bore]]:
    """Cables with their centre lines and lengths, and the holes they take."""
    tracks = best.tracks
    boxes: dict[str, Box] = {box.id: box for box in tracks.building.boxes}
    fed = feeds_by_circuit(tracks.building, best)
    legs = [best.legs[f"{circuit}.{box}"] for circuit, feeds in fed.items() for _, box in feeds]
    users: dict[int, list[str]] = {}
    for leg in legs:
        for _, _, edge in best.paths[leg.id]:
            bore = int(tracks.edges.bore[edge])
            if bore >= 0:
                users.setdefault(bore, []).append(leg.id)
    bores, drilled = final_holes(tracks, best.usage, {b: tuple(ids) for b, ids in users.items()}, earlier)
    cables = [
        cable_of(
            tracks,
            leg.id,
            leg.circuit,
            leg.kind,
            boxes[leg.from_box],
            boxes[leg.to_box],
            best.paths[leg.id],
            run_of(tracks, best.paths[leg.id], drilled),
            drilled,
            done=leg.rule.done,
        )
        for leg in legs
    ]
    return cables, bores


def _finished(job: Job, best: Layout, bores: list[Bore], half: Assembled, sizes: Sizes) -> Plan:
    building, limits = job.building, job.limits
    left = left_out(building, best)
    building = replace(building, cable_types=tuple(kind for kind in building.cable_types if not kind.parts))
    parts = plan_cost(building, half.cables, bores, half.makeups)
    lost = [_lost(best, box, name, sizes) for box, name in left]
    why = unreached_why(building, limits, best.network, best.usage, lost)
    return Plan(
        version=PLAN_VERSION,
        building=building,
        cables=half.cables,
        bores=tuple(bores),
        cost=round(sum(parts.values()), 6),
        cost_parts=parts,
        lower_bound=None,
        unreached=tuple(sorted({box for box, _ in left})),
        unreached_why=tuple(why),
        assumptions=plan_assumptions(building),
        warnings=(
            *plan_warnings(building, limits, best.tracks, bores),
            *fewer_runs(building, half.cables),
            *wiring_warnings(building, limits, half.circuits, half.cables),
        ),
        makeups=half.makeups,
        circuits=half.circuits,
    )


def _lost(best: Layout, box: str, name: str, sizes: Sizes) -> Lost:
    """What is known of a box of a circuit that no cable came to."""
    building, store, leg = best.tracks.building, best.store, best.legs.get(f"{name}.{box}")
    circuit = next(one for one in building.circuits if one.id == name)
    kinds = [plain_kind(store, circuit, sizes)]
    if leg is not None:
        kinds += [store.types[part] for part in leg.kind.parts or (leg.kind.id,)]
    elif switched(building, circuit) and (three := store.single(circuit, f"{name}.{box}", 3, sizes)) is not None:
        kinds.append(three)
    feeder = leg.from_box if leg is not None else ""
    return Lost(box=box, circuit=name, feeder=feeder, cables=tuple(dict.fromkeys(kinds)))


def fewer_runs(building: Building, cables: Sequence[Cable]) -> list[str]:
    """Circuits that have fewer home runs than they were to have, since no more found a way."""
    said = []
    for circuit in building.circuits:
        own = [cable for cable in cables if cable.circuit == circuit.id]
        runs = sum(cable.from_box == circuit.panel for cable in own)
        if circuit.home_runs is not None and own and runs < min(circuit.home_runs, len(own)):
            said.append(f"{circuit.id}: {circuit.home_runs} home runs wanted, {runs} found a way")
    return said

"""Why a box cannot be reached: the members that bound what can be, the rule each breaks, what would open it.

Every way out that is offered has been tried: the tracks are built again with the change, and the box is reached in
them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from barnloom.model.boring import reason
from barnloom.model.building import Building, Member, Right
from barnloom.model.lengths import format_length
from barnloom.model.limits import Limits
from barnloom.routing.graph import Tracks
from barnloom.routing.plan import Unreached
from barnloom.routing.search import distances, network_of, whole_prices
from barnloom.routing.tracks import tracks_of
from barnloom.routing.usage import Usage

SMALLER_BITS_IN = (0.625, 0.5)
NAMED_MOST = 6
"""Members named in full; the rest are counted."""


def unreached_why(
    building: Building, limits: Limits, tracks: Tracks, usage: Usage, lost: Sequence[tuple[str, str]]
) -> list[Unreached]:
    """What to say about each (box, circuit) without a route."""
    circuits = {circuit.id: circuit for circuit in building.circuits}
    results = []
    for box, circuit_id in lost:
        circuit = circuits[circuit_id]
        near = _reached(tracks, usage, circuit.cable, box)
        numbers = _boundary(tracks, near)
        names = tuple(building.members[n].id for n in numbers)
        results.append(
            Unreached(
                box=box,
                circuit=circuit_id,
                reason=_reason(building, limits, tracks, numbers, near),
                closed_by=names,
                would_open=tuple(_ways_out(building, limits, box, circuit.panel, circuit.cable, numbers)),
            )
        )
    return results


def _reached(tracks: Tracks, usage: Usage, cable: str, box: str) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Nodes that a cable from this box gets to, alone in the building."""
    network = network_of(tracks)
    price = np.where(np.isfinite(_alone(tracks, usage, cable)), 1.0, np.inf)
    found, _ = distances(network, whole_prices(network, price, 0.0), network.out_of(box))
    return np.isfinite(found)


def _alone(tracks: Tracks, usage: Usage, cable: str) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    bores = usage.alone_costs(cable)
    edges = tracks.edges
    if len(bores) == 0:
        return np.zeros(len(edges.bore))
    return np.where(edges.bore >= 0, bores[np.maximum(edges.bore, 0)], 0.0)


def _boundary(tracks: Tracks, near: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]) -> list[int]:
    """Members between a node that is reached and one that is not, by number."""
    closed = tracks.closed
    border = near[closed.a] != near[closed.b]
    return sorted({int(n) for n in closed.member[border]})


def _reason(
    building: Building,
    limits: Limits,
    tracks: Tracks,
    numbers: Sequence[int],
    near: np.ndarray[tuple[int, ...], np.dtype[np.bool_]],
) -> str:
    if not numbers:
        return "it lies in a space of its own: no member beside it could be bored into another bay"
    closed = tracks.closed
    border = near[closed.a] != near[closed.b]
    bit = building.tools.bits_in[0]
    said: dict[str, list[str]] = {}
    for number in numbers:
        member = building.members[number]
        places = closed.along[border & (closed.member == number)]
        middle = float(places[len(places) // 2])
        words = reason(member, limits, bit, middle, metric=building.metric)
        said.setdefault(words, []).append(member.id)
    parts = []
    for words, names in said.items():
        shown = ", ".join(names[:NAMED_MOST]) + (
            f" and {len(names) - NAMED_MOST} more" if len(names) > NAMED_MOST else ""
        )
        parts.append(f"{shown}: {words}")
    return "closed in by " + "; ".join(parts)


def _ways_out(
    building: Building, limits: Limits, box: str, panel: str, cable: str, numbers: Sequence[int]
) -> list[str]:
    """Changes that open a way to the panel, each tried."""
    found = []
    metric = building.metric
    for bit in SMALLER_BITS_IN:
        if bit < building.tools.bits_in[0]:
            smaller = replace(
                building,
                tools=replace(
                    building.tools,
                    bits_in=(bit, *building.tools.bits_in),
                    per_hole=((bit, 1), *building.tools.per_hole),
                ),
            )
            if _opens(smaller, limits, box, panel, cable):
                found.append(f"a smaller hole: with a {format_length(bit, metric=metric)} bit there is a way")
                break
    barred = [building.members[n] for n in numbers if building.members[n].bore is not Right.FREE]
    for member in barred[:NAMED_MOST]:
        freed = _with_member(building, replace(member, bore=Right.FREE))
        if _opens(freed, limits, box, panel, cable):
            what = (
                "its measured section"
                if member.bore is Right.UNKNOWN
                else "an engineer's or the maker's word that it may be bored"
            )
            found.append(f"{member.id}: {what} would open it")
            break
    for exposed in ("free",):
        if building.exposed != exposed and _opens(replace(building, exposed=exposed), limits, box, panel, cable):
            found.append("the inspector's word that cable in sight is accepted there (answers: exposed: free)")
    return found


def _with_member(building: Building, changed: Member) -> Building:
    return replace(building, members=tuple(changed if m.id == changed.id else m for m in building.members))


def _opens(building: Building, limits: Limits, box: str, panel: str, cable: str) -> bool:
    tracks = tracks_of(building, limits)
    usage = Usage(tracks)
    network = network_of(tracks)
    price = np.where(np.isfinite(_alone(tracks, usage, cable)), 1.0, np.inf)
    found, _ = distances(network, whole_prices(network, price, 0.0), network.out_of(panel))
    return bool(np.isfinite(found[network.into(box)]))

"""Why a box cannot be reached: the members that bound what can be, the rule each breaks, what would open it.

Every way out that is offered has been tried: the tracks are built again with the change, and the box is reached in
them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from barnloom.model.boring import reason
from barnloom.model.building import Assembly, Building, CableType, Member, Ply, Right, Role, Vec
from barnloom.model.cables import fill_ok, stack_diagonal
from barnloom.model.lengths import format_length
from barnloom.model.limits import Limits, at_least
from barnloom.routing.bores import single_bored
from barnloom.routing.graph import Tracks
from barnloom.routing.plan import Unreached
from barnloom.routing.search import Network, distances, network_of, whole_prices
from barnloom.routing.slab import Floats, Truths
from barnloom.routing.tracks import ground_of, tracks_of
from barnloom.routing.usage import Usage

SMALLER_BITS_IN = (0.625, 0.5)
LARGER_BITS_IN = (0.75, 0.875, 1.0, 1.25, 1.5)
BOARD_OFF_IN, BOARD_WIDTH_IN, BOARD_THICK_IN = 12.0, 3.5, 0.75
"""A board that is tried: how far from the box, and its size (1x4)."""
NEAR_IN = 8.0
"""A way through a plate this near along the wall is in the bay of a box."""
MILDER = {"free": (), "drops": ("free",), "covered": ("free",), "never": ("covered", "free")}
"""Answers that accept more cable in sight, those that ask least first; where drops may be, covered ones may."""
WORD = "the inspector's word that cable in sight is accepted there"
TRIED_MOST = 6
"""Closed spaces for which ways out are tried."""
FIXED = (
    "a cable alone would find a way: what stands in it is what the scene fixes (through, avoid; done goes through old "
    "holes only; the most cables in a box, a hole or a bay), or what the other cables have taken"
)
NAMED_MOST = 6
"""Members named in full; the rest are counted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lost:
    """A box of a circuit without a route, and where its cable was to come from ("" if that is not known)."""

    box: str
    circuit: str
    feeder: str
    cables: tuple[CableType, ...]
    """Those that may have to come to it, the plain one first."""


def unreached_why(
    building: Building,
    limits: Limits,
    network: Network,
    usage: Usage,
    lost: Sequence[Lost],
) -> list[Unreached]:
    """What to say about each box of a circuit without a route."""
    tracks = network.tracks
    circuits = {circuit.id: circuit for circuit in building.circuits}
    results = []
    tried: dict[tuple[object, ...], tuple[str, ...]] = {}
    out = {(one.box, one.circuit) for one in lost}
    for one in lost:
        box, circuit = one.box, circuits[one.circuit]
        ways = ((cable, _reached(network, usage, cable.id, box)) for cable in one.cables)
        stuck = next(((cable, near) for cable, near in ways if not near[network.into(circuit.panel)]), None)
        if stuck is None:
            behind = (one.feeder, one.circuit) in out
            words = f"its cable is to come from {one.feeder}, which is not reached" if behind else FIXED
            results.append(Unreached(box=box, circuit=one.circuit, reason=words, closed_by=(), would_open=()))
            continue
        cable, near = stuck
        numbers = _boundary(tracks, near)
        names = tuple(building.members[n].id for n in numbers)
        # Boxes closed in by the same members have the same ways out; each try plans tracks anew, so there is a bound.
        key = (names, circuit.panel, cable.id) if names else (box,)
        if key not in tried and len(tried) < TRIED_MOST:
            tried[key] = tuple(_ways_out(building, limits, box, circuit.panel, cable, numbers))
        opened = tried.get(key, ())
        if not _fits(building, limits, cable):
            words = _too_thick(building, limits, cable, one.cables[0])
        elif numbers:
            words = _closed_in(building, limits, tracks, numbers, near)
            words += f"; {_in_sight(building)}" if any(way.startswith(WORD) for way in opened) else ""
        else:
            words = _alone_in_bay(building, limits, tracks, box, near)
        results.append(Unreached(box=box, circuit=one.circuit, reason=words, closed_by=names, would_open=opened))
    return results


def _reached(network: Network, usage: Usage, cable: str, box: str) -> Truths:
    """Nodes that a cable from this box gets to, alone in the building."""
    price = np.where(np.isfinite(_alone(network.tracks, usage, cable)), 1.0, np.inf)
    found, _ = distances(network, whole_prices(network.tracks, price, 0.0), network.out_of(box))
    return np.isfinite(found)


def _alone(tracks: Tracks, usage: Usage, cable: str) -> Floats:
    bores = usage.alone_costs(cable)
    edges = tracks.edges
    if len(bores) == 0:
        return np.zeros(len(edges.bore))
    return np.where(edges.bore >= 0, bores[np.maximum(edges.bore, 0)], 0.0)


def _fits(building: Building, limits: Limits, cable: CableType) -> bool:
    """Whether some bit makes a hole that a cable goes through."""
    return any(fill_ok(bit, [cable], limits, building.tools.per_hole) for bit in building.tools.bits_in)


def _too_thick(building: Building, limits: Limits, cable: CableType, plain: CableType) -> str:
    """Return that a cable goes through no hole that can be bored, and whether the plain one would."""
    metric, share = building.metric, limits["hole.fill_share"]
    wanted, largest = stack_diagonal([cable]) / share, building.tools.bits_in[-1]
    hole, bit = format_length(wanted, metric=metric, rounding="up"), format_length(largest, metric=metric)
    words = f"{cable.id} wants a hole of {hole} (it may take {100 * share:g} % of it, own caution)"
    words += f", and the largest bit is {bit}"
    return words if cable == plain else f"{words}; {plain.id} would find a way"


def _boundary(tracks: Tracks, near: Truths) -> list[int]:
    """Members between a node that is reached and one that is not, by number."""
    closed = tracks.closed
    border = near[closed.a] != near[closed.b]
    return sorted({int(n) for n in closed.member[border]})


def _in_sight(building: Building) -> str:
    reach = format_length(building.exposed_below_in, metric=building.metric)
    return f"cable in sight below {reach}: answer '{building.exposed}'"


def _closed_in(building: Building, limits: Limits, tracks: Tracks, numbers: Sequence[int], near: Truths) -> str:
    """Return which members close in what can be reached, and by which rule."""
    closed = tracks.closed
    border = near[closed.a] != near[closed.b]
    bit = building.tools.bits_in[0]
    single = single_bored(building)
    said: dict[str, list[str]] = {}
    for number in numbers:
        member = building.members[number]
        places = closed.along[border & (closed.member == number)]
        middle = float(places[len(places) // 2])
        wide = member.id not in single
        words = reason(member, limits, bit, middle, metric=building.metric, doubled_ok=wide)
        words = words or "a hole where the cable could come would open against the wood beside it"
        said.setdefault(words, []).append(member.id)
    parts = []
    for words, names in said.items():
        shown = ", ".join(names[:NAMED_MOST]) + (
            f" and {len(names) - NAMED_MOST} more" if len(names) > NAMED_MOST else ""
        )
        parts.append(f"{shown}: {words}")
    return "closed in by " + "; ".join(parts)


def _alone_in_bay(building: Building, limits: Limits, tracks: Tracks, name: str, near: Truths) -> str:
    """Return why what can be reached has no way on though nothing in it is barred: what its plates would lead to."""
    box = next(b for b in building.boxes if b.id == name)
    slab = tracks.slab_of(box.host)
    if slab is None:
        return "nothing that its timber touches leads on: no bay, no board, no other timber"
    reached = [bool(near[tracks.base[n] : tracks.base[n + 1]].any()) for n in range(len(tracks.slabs))]
    bit = building.tools.bits_in[0]
    need = bit + 2 * limits["plate.member_gap"]
    said: dict[str, list[str]] = {}
    for gate in tracks.gates:
        member = building.members[gate.member]
        ends = [slab.local(np.array(member.origin) + np.array(member.along) * a) for a in gate.along]
        low, high = sorted(float(end[0]) for end in ends)
        beside = gate.near != slab.number or low - NEAR_IN <= box.u_in <= high + NEAR_IN
        if reached[gate.near] == reached[gate.far] or not beside:
            continue
        words = reason(member, limits, bit, sum(gate.along) / 2, metric=building.metric)
        room = min(gate.along[1] - gate.along[0], gate.across[1] - gate.across[0])
        edge = limits["plate.edge"] + limits["plate.member_gap"] + bit
        if not words and not at_least(room, max(need, edge)):
            gap, wanted = (format_length(x, metric=building.metric) for x in (room, max(need, edge)))
            words = f"{gap} is left beside what stands on it and behind it, a hole needs {wanted} (own caution)"
        said.setdefault(words or "its holes are taken, or out of reach of the bay", []).append(member.id)
    parts = [f"{', '.join(dict.fromkeys(names))}: {words}" for words, names in said.items()]
    if building.exposed != "free" and slab.assembly.lining == "none" and slab.assembly.kind == "wall":
        parts.append(_in_sight(building))
    return "no way out of what it reaches: " + ("; ".join(parts) or "no bay lies behind its plates")


def _ways_out(
    building: Building, limits: Limits, box: str, panel: str, cable: CableType, numbers: Sequence[int]
) -> list[str]:
    """Changes that open a way to the panel, each tried."""
    found = []
    metric = building.metric
    bits = building.tools.bits_in
    if _fits(building, limits, cable):
        size, others = "smaller", [bit for bit in SMALLER_BITS_IN if bit < bits[0]]
    else:
        size, others = "larger", [bit for bit in LARGER_BITS_IN if bit > bits[-1]]
    for bit in others:
        tools = replace(building.tools, bits_in=tuple(sorted((*bits, bit))))
        if _opens(replace(building, tools=tools), limits, box, panel, cable):
            found.append(f"a {size} hole: with a {format_length(bit, metric=metric)} bit there is a way")
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
    for answer in MILDER[building.exposed]:
        if _opens(replace(building, exposed=answer), limits, box, panel, cable):
            found.append(f"{WORD} (answers: exposed: {answer})")
            break
    for member in [building.members[n] for n in numbers]:
        unsized = [hole for hole in member.holes if hole.diameter_in is None]
        for hole in unsized:
            sized = replace(member, holes=tuple(replace(h, diameter_in=1.0) if h is hole else h for h in member.holes))
            if _opens(_with_member(building, sized), limits, box, panel, cable):
                found.append(f"the old hole {hole.id}, if it measures 1 in: measure it")
    for assembly in _assemblies(building, numbers)[:NAMED_MOST]:
        board, words = _board(building, assembly, box)
        if _opens(replace(building, members=(*building.members, board)), limits, box, panel, cable):
            found.append(words)
    return found


def _assemblies(building: Building, numbers: Sequence[int]) -> list[Assembly]:
    """Assemblies of the members that close a box in, once each."""
    names = {building.members[n].assembly for n in numbers}
    return [assembly for assembly in building.assemblies if assembly.id in names]


def _board(building: Building, assembly: Assembly, box: str) -> tuple[Member, str]:
    """Return a running board across an assembly's members, on the room's side, near a box; and its words."""
    hosts = {b.id: b for b in building.boxes}
    low, high = assembly.extent_v
    wished = hosts[box].v_in + BOARD_OFF_IN if hosts[box].host == assembly.id else (low + high) / 2
    # In a wall under the plates, over the doors; in a floor beside the box, clear of holes in the floor.
    places = (
        [high - BOARD_WIDTH_IN] if assembly.kind == "wall" else [wished, low + BOARD_WIDTH_IN, high - BOARD_WIDTH_IN]
    )
    kept = [min(max(place, low + BOARD_WIDTH_IN), high - BOARD_WIDTH_IN) for place in places]
    clear = [
        p
        for p in kept
        if not any(void.v[0] - BOARD_WIDTH_IN < p < void.v[1] + BOARD_WIDTH_IN for void in assembly.voids)
    ]
    v = (clear or kept)[0]
    room = 1.0 if assembly.kind == "wall" else -1.0
    axes = np.array([assembly.u, assembly.v, assembly.w])
    corner = (assembly.extent_u[0], v - BOARD_WIDTH_IN / 2, assembly.depth_in if room > 0 else 0.0)
    origin = np.array(assembly.origin) + np.array(corner) @ axes
    length = assembly.extent_u[1] - assembly.extent_u[0]
    spans = {"along": (0.0, length), "bit": (0.0, BOARD_THICK_IN), "across": (0.0, BOARD_WIDTH_IN)}
    board = Member(
        id="board?",
        role=Role.BOARD,
        assembly="board?",
        storey=assembly.storey,
        origin=_vec(origin),
        along=assembly.u,
        bit=_vec(axes[2] * room),
        across=assembly.v,
        length_in=length,
        thickness_in=BOARD_THICK_IN,
        depth_in=BOARD_WIDTH_IN,
        plies=(Ply(**spans),),
        section="1x4",
        along_from="its start",
        across_from="its edge",
        bore=Right.NEVER,
    )
    where = format_length(v, metric=building.metric)
    words = f"a running board across {assembly.title or assembly.id}, {where} along its members from their start"
    return board, f"{words} (boards:), if that is accepted there"


def _vec(array: Floats) -> Vec:
    return float(array[0]), float(array[1]), float(array[2])


def _with_member(building: Building, changed: Member) -> Building:
    return replace(building, members=tuple(changed if m.id == changed.id else m for m in building.members))


def _opens(building: Building, limits: Limits, box: str, panel: str, cable: CableType) -> bool:
    network = network_of(tracks_of(ground_of(building, limits)))
    return bool(_reached(network, Usage(network.tracks), cable.id, panel)[network.into(box)])

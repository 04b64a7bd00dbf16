"""The wiring switched through: every position of every switch, what is lit, fed, joined and grounded, what flows.

Switches that metal other than a breaker's or a bar's joins, or that share a control, are one group. A group is tried in
all of its states, up to 2^12 of them; a longer one is proven by its form, a chain of pairs between two commons with
four-way switches in it, where each single flip turns the light over, and by such flips from two states.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barnloom.model.wiring import Device, DeviceKind
from barnloom.routing.check.finding import Finding, Site
from barnloom.routing.check.flows import Draw, Flows, Numbers, Truths, Way
from barnloom.routing.check.joints import is_neutral
from barnloom.routing.check.metal import GROUND_BAR, NEUTRAL_BAR, Load, Metal, joined, loads_of

ALL_STATES = 12
"""Most switches of a group of which every state is tried."""
SAME_A = 1e-6
"""Currents smaller than this are none."""
NOMINAL_A = 1.0
"""Taken for what draws nothing, so that its conductors are followed too."""


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Live:
    """The graph with what always joins it: islands of pieces, and the source that each is fed from."""

    metal: Metal
    islands: tuple[int, ...]
    """For each node, what conductors, bars and ground-fault devices join it with, by its lowest node."""
    neutral: int
    """Island of the neutral bars, -1: there are none; likewise the ground bars."""
    ground: int
    poles: dict[tuple[str, int], int]
    """Island of each pole of each circuit's breaker; pole 0 of a single-pole one."""
    sources: dict[int, str]
    """Islands of breakers and bars, in words."""

    def island(self, device: str, terminal: str) -> int | None:
        """Return the island of a terminal; None if it is joined to nothing."""
        node = self.metal.terminals.get((device, terminal))
        return None if node is None else self.islands[node]

    def pole(self, circuit: str, leg: int) -> int | None:
        """Return the island of the pole that feeds a leg of a circuit."""
        return self.poles.get((circuit, leg), self.poles.get((circuit, 0)))


def live_of(site: Site, metal: Metal) -> Live:
    """Join what is joined in every state of the switches."""
    links = [(wire.near, wire.far) for wire in metal.wires]
    links += [(way.near, way.far) for way in metal.insides if way.throw is None]
    links += [(bar[0], other) for bar in metal.bars.values() for other in bar[1:]]
    islands, _ = joined(len(metal.nodes), links)
    poles = {}
    for circuit in site.circuits.values():
        for pole in (0, 1, 2):
            name = f"breaker {circuit.id} {pole}" if pole else f"breaker {circuit.id}"
            node = metal.terminals.get((circuit.panel, name))
            if node is not None:
                poles[circuit.id, pole] = islands[node]
    bars = {name: islands[at[0]] if at else -1 for name, at in metal.bars.items()}
    words = {bars[NEUTRAL_BAR]: "the neutral bar", bars[GROUND_BAR]: "the ground bar"}
    words |= {at: f"the breaker of {circuit}" for (circuit, _), at in poles.items()}
    return Live(
        metal=metal,
        islands=tuple(islands),
        neutral=bars[NEUTRAL_BAR],
        ground=bars[GROUND_BAR],
        poles=poles,
        sources={at: said for at, said in words.items() if at >= 0},
    )


class Simulation:
    """All findings of a plan's switching, and the current of each cable with everything on."""

    def __init__(self, site: Site, metal: Metal) -> None:
        """Switch everything through."""
        self._site, self._live = site, live_of(site, metal)
        nodes = [node for bar in metal.bars.values() for node in bar]
        nodes += [node for (_, name), node in metal.terminals.items() if name.startswith("breaker ")]
        self._flows = Flows(metal, nodes, [cable.id for cable in site.plan.cables])
        self._on = np.zeros((len(metal.nodes), 2))
        """Of a multiwire circuit the two lines by themselves: what loses voltage on one does not on the other."""
        self.findings = tuple(self._all())
        sizes = self._flows.sizes(self._on).max(axis=1)
        self.amps = {cable.id: float(size) for cable, size in zip(site.plan.cables, sizes, strict=True)}
        """What flows in each cable with everything on, out and back; of a multiwire circuit on the fuller line."""

    def _all(self) -> Iterator[Finding]:
        yield from _names(self._live)
        for device in self._site.devices.values():
            if device.box in self._site.makeups:
                yield from _fed(device, self._site, self._live)
        yield from _metal_parts(self._live)
        yield from _interconnect(self._site, self._live)
        yield from self._always_on()
        for group in _groups(self._site, self._live):
            yield from self._group(group)

    # --- what is always fed ------------------------------------------------------------------------------------------

    def _always_on(self) -> Iterator[Finding]:
        """One state for each load alone: nothing can then make up for anything else."""
        loads = [
            (load, device)
            for device in self._site.devices.values()
            for load in loads_of(device)
            if load.control not in self._site.controls and self._is_fed(load, device)
        ]
        alone = np.eye(len(loads))
        each = [
            self._draw(load, device, (load.amps or NOMINAL_A) * alone[row]) for row, (load, device) in enumerate(loads)
        ]
        ways = [
            Way(way.near, way.far, np.ones(len(loads), dtype=bool))
            for way in self._live.metal.insides
            if way.throw is None
        ]
        flow = self._flows.at_nodes(ways, each, len(loads))
        for row, (load, device) in enumerate(loads):
            if load.amps:
                self._on += np.outer(flow[:, row], self._lines(device))
        yield from self._sums(flow, lambda state: f"{loads[state][1].id} on")

    def _is_fed(self, load: Load, device: Device) -> bool:
        sources = self._live.sources
        ends = self._live.island(load.device, load.into), self._live.island(load.device, load.out)
        return ends[0] in sources and ends[1] in sources and device.box in self._site.makeups

    def _draw(self, load: Load, device: Device, amps: Numbers) -> Draw:
        """Current of a load in each state; what the second pole feeds flows the other way at the same time."""
        terminals, circuit = self._live.metal.terminals, self._site.circuits.get(device.circuit)
        from_second = device.volts != 240 and device.leg == 2 and circuit is not None and circuit.multiwire
        if device.volts == 240:
            second = self._live.poles.get((device.circuit, 2))
            from_second = second is not None and self._live.island(load.device, load.into) == second
        into, out = terminals[load.device, load.into], terminals[load.device, load.out]
        return Draw(into, out, -amps if from_second else amps)

    def _lines(self, device: Device) -> Numbers:
        """Return 1 for each line of a multiwire circuit that a load is on, else 0; of other circuits all is on one."""
        circuit = self._site.circuits.get(device.circuit)
        if circuit is None or not circuit.multiwire:
            return np.array([1.0, 0.0])
        return np.array([device.volts == 240 or device.leg == leg for leg in (1, 2)], dtype=np.float64)

    def _sums(self, flow: Numbers, said: Callable[[int], str]) -> Iterator[Finding]:
        """Return cables whose currents do not come to nought together (NEC 300.3(B)), each in its first such state."""
        sums = np.abs(self._flows.sums(flow))
        wrong = ~(sums <= SAME_A * np.maximum(1.0, np.abs(flow).max(axis=0, initial=0.0)))
        for row in np.flatnonzero(wrong.any(axis=1)):
            state = int(np.argmax(wrong[row]))
            words = f"its currents come to {sums[row, state]:.3g} A with {said(state)}, not to nought (NEC 300.3(B))"
            yield Finding("switching.sum", self._site.plan.cables[row].id, words)

    # --- what is switched --------------------------------------------------------------------------------------------

    def _group(self, group: Group) -> Iterator[Finding]:
        site, live = self._site, self._live
        if len(group.controls) > 1:
            words = "controls whose switches or lights are joined with each other"
            yield Finding("switching.touch", " ".join(sorted(group.controls)), words)
        count = len(group.switches)
        if count <= ALL_STATES:
            bits = (np.arange(2**count)[:, None] >> np.arange(count)) % 2 == 1
        else:
            bits = _single_flips(count)
            if not _is_chain(group, site, live):
                words = f"{count} switches, more than {ALL_STATES}, that are no chain of pairs between two commons"
                yield Finding("switching.form", group.switches[0], words)

        def said(state: int) -> str:
            return _positions(group.switches, bits[state])

        ways = [
            Way(way.near, way.far, np.ones(len(bits), dtype=bool))
            if way.throw is None
            else Way(way.near, way.far, bits[:, group.switches.index(way.device)] == bool(way.throw))
            for way in live.metal.insides
            if way.throw is None or way.device in group.switches
        ]
        labels = _labels(live, ways, len(bits))
        yield from _shorts(group, live, labels, said)
        lit = [self._lit(load, device, labels, len(bits)) for load, device in group.loads]
        for (load, device), on in zip(group.loads, lit, strict=True):
            yield from _follows(load, device, site, group, bits, on, said)
        yield from _agree(group, lit, site)
        seen = [(load, device, on) for (load, device), on in zip(group.loads, lit, strict=True) if on.any()]
        if not seen:
            return
        drawn = [self._draw(load, device, (load.amps or NOMINAL_A) * on) for load, device, on in seen]
        flow = self._flows.at_nodes(ways, drawn, len(bits))
        yield from self._sums(flow, said)
        brightest = [int(np.argmax(np.sum(lit, axis=0)))] * 2
        still = [Way(way.near, way.far, way.closed[brightest]) for way in ways]
        drawn = [self._draw(load, dev, load.amps * on[brightest] * self._lines(dev)) for load, dev, on in seen]
        self._on += self._flows.at_nodes(still, drawn, 2)

    def _lit(self, load: Load, device: Device, labels: dict[int, NDArray[np.intp]], states: int) -> Truths:
        """In which states a load has its breaker at one end and its neutral, or the other pole, at the other."""
        live = self._live
        into, out = live.island(load.device, load.into), live.island(load.device, load.out)
        wanted = _sources_of(load, device, live)
        if into is None or out is None:
            return np.zeros(states, dtype=bool)
        at_into, at_out = (labels.get(at, np.full(states, at)) for at in (into, out))
        lit = np.zeros(states, dtype=bool)
        for from_source, to_source in wanted:
            lit |= (at_into == from_source) & (at_out == to_source)
        return lit


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Switches that can work on each other, their controls, and what follows these."""

    switches: tuple[str, ...]
    controls: frozenset[str]
    loads: tuple[tuple[Load, Device], ...]


def _groups(site: Site, live: Live) -> list[Group]:
    """Return the groups of the plan's switches: those that share a control, or metal that no source feeds always."""
    sources = live.sources
    switches = [d for d in site.devices.values() if d.kind is DeviceKind.SWITCH and d.box in site.makeups]
    loads = [
        (load, device)
        for device in site.devices.values()
        if device.box in site.makeups
        for load in loads_of(device)
        if load.control in site.controls
    ]
    controls = [control.id for control in site.controls.values()]
    at = {name: len(live.islands) + row for row, name in enumerate(controls)}
    first_switch = len(live.islands) + len(controls)
    links = []
    for row, device in enumerate(switches):
        if device.control in at:
            links.append((first_switch + row, at[device.control]))
        for way in live.metal.insides:
            if way.device == device.id:
                links += [(first_switch + row, live.islands[node]) for node in (way.near, way.far)]
    for load, _ in loads:
        island = live.island(load.device, load.into)
        if island is not None:
            links.append((at[load.control], island))
    links = [link for link in links if link[1] not in sources]
    together, _ = joined(first_switch + len(switches), links)
    by_group: dict[int, list[int]] = defaultdict(list)
    for row in range(len(switches)):
        by_group[together[first_switch + row]].append(row)
    for control in controls:
        by_group[together[at[control]]] += []
    return [
        Group(
            switches=tuple(switches[row].id for row in rows),
            controls=frozenset(name for name in controls if together[at[name]] == group),
            loads=tuple((load, device) for load, device in loads if together[at[load.control]] == group),
        )
        for group, rows in sorted(by_group.items())
    ]


def _single_flips(count: int) -> Truths:
    """Return two states, and after each of them all that differ from it in one switch."""
    flips = np.vstack([np.zeros((1, count), dtype=bool), np.eye(count, dtype=bool)])
    return np.vstack([flips, flips ^ (np.arange(count) % 2 == 1)])


def _positions(switches: Sequence[str], row: Truths) -> str:
    return ", ".join(f"{name} {'up' if up else 'down'}" for name, up in zip(switches, row, strict=True)) or "no switch"


def _labels(live: Live, ways: Sequence[Way], states: int) -> dict[int, NDArray[np.intp]]:
    """
    Return for each island that switches touch, in each state, the source it is joined with, or an island if with none.

    Sources come first in the order of labels, so that the lowest label moves along what is closed until none changes.
    """
    ends = [(live.islands[way.near], live.islands[way.far], way.closed) for way in ways]
    ends = [end for end in ends if end[0] != end[1]]
    used = sorted({at for near, far, _ in ends for at in (near, far)}, key=lambda at: (at not in live.sources, at))
    rows = {at: row for row, at in enumerate(used)}
    label = np.repeat(np.arange(len(used), dtype=np.intp)[:, None], states, axis=1)
    moving = True
    while moving:
        moving = False
        for near, far, closed in ends:
            one, other = label[rows[near]], label[rows[far]]
            differ = closed & (one != other)
            if differ.any():
                low = np.minimum(one, other)
                one[differ], other[differ] = low[differ], low[differ]
                moving = True
    back = np.array(used, dtype=np.intp)
    return {at: back[label[row]] for at, row in rows.items()}


def _shorts(
    group: Group, live: Live, labels: dict[int, NDArray[np.intp]], said: Callable[[int], str]
) -> Iterator[Finding]:
    sources = live.sources
    for at, words in sources.items():
        wrong = labels[at] != at if at in labels else np.zeros(0, dtype=bool)
        if wrong.any():
            state = int(np.argmax(wrong))
            other = sources.get(int(labels[at][state]), "another source")
            subject = " ".join(group.switches) or " ".join(group.controls)
            yield Finding("switching.short", subject, f"{words} is joined with {other} with {said(state)}")


def _sources_of(load: Load, device: Device, live: Live) -> list[tuple[int, int]]:
    """Return the islands of sources for the two ends of a load; line to line it may be either way round."""
    if device.volts == 240:
        one, two = live.poles.get((device.circuit, 1)), live.poles.get((device.circuit, 2))
        return [] if one is None or two is None else [(one, two), (two, one)]
    pole = live.pole(device.circuit, device.leg)
    return [] if pole is None or live.neutral < 0 else [(pole, live.neutral)]


def _follows(
    load: Load, device: Device, site: Site, group: Group, bits: Truths, on: Truths, said: Callable[[int], str]
) -> Iterator[Finding]:
    """Return whether a load is turned over by each flip of each point of its control, and by no other switch."""
    points = [row for row, name in enumerate(group.switches) if name in site.controls[load.control].points]
    parity = np.bitwise_xor.reduce(bits[:, points], axis=1) if points else np.zeros(len(bits), dtype=bool)
    wrong = on != (on[0] ^ parity ^ parity[0])
    if wrong.any():
        state = int(np.argmax(wrong))
        words = f"it does not follow {load.control}: {'lit' if on[state] else 'dark'} with {said(state)}"
        yield Finding("switching.light", device.id, f"{words}, {'lit' if on[0] else 'dark'} with {said(0)}")
    elif not on.any():
        yield Finding("switching.light", device.id, f"it is never lit: {load.control} does not reach it")


def _agree(group: Group, lit: Sequence[Truths], site: Site) -> Iterator[Finding]:
    first: dict[str, tuple[str, Truths]] = {}
    for (load, device), on in zip(group.loads, lit, strict=True):
        name, other = first.setdefault(load.control, (device.id, on))
        if on[0] != other[0]:
            yield Finding("switching.light", device.id, f"it and {name}, on the same {load.control}, are lit in turn")


def _is_chain(group: Group, site: Site, live: Live) -> bool:
    """Whether a group's switches are two three-way ones with four-way ones between, pair to pair, by their metal."""
    pairs: dict[str, list[frozenset[int | None]]] = {}
    for name in group.switches:
        sides = (("traveler 1", "traveler 2"), ("in 1", "in 2"), ("out 1", "out 2"))
        found = [frozenset(live.island(name, terminal) for terminal in side) for side in sides]
        pairs[name] = [pair for pair in found if len(pair) == 2 and None not in pair]
    at = next((name for name, found in pairs.items() if len(found) == 1), "")
    seen: list[str] = []
    pair = pairs[at][0] if at else frozenset()
    while at:
        seen.append(at)
        at = next((name for name, found in pairs.items() if pair in found and name not in seen), "")
        pair = next((other for other in pairs.get(at, ()) if other != pair), frozenset())
    whole = len(seen) == len(group.switches) and len(pairs[seen[-1]]) == 1 if seen else False
    used = [at for found in pairs.values() for each in found for at in each]
    return whole and all(used.count(at) == 2 for at in used) and not set(used) & set(live.sources)


# --- what is the same in every state ---------------------------------------------------------------------------------


def _names(live: Live) -> Iterator[Finding]:
    """Return joints whose net has the name of a source that they are not joined with, and sources joined for good."""
    count: dict[int, list[str]] = defaultdict(list)
    for words, at in (
        ("the neutral bar", live.neutral),
        ("the ground bar", live.ground),
        *((f"pole {max(pole, 1)} of the breaker of {circuit}", at) for (circuit, pole), at in live.poles.items()),
    ):
        if at >= 0:
            count[at].append(words)
    for together in count.values():
        if len(together) > 1:
            yield Finding("switching.short", together[0], f"it is joined with {' and '.join(together[1:])} for good")
    told = set()
    for node, (box, net, circuit) in enumerate(live.metal.nodes):
        piece = live.metal.pieces[node]
        wanted: int | None
        if is_neutral(net):
            wanted = live.neutral
        elif net == "ground":
            wanted = live.ground
        elif net.startswith(("line", "protected line")):
            leg = net.removeprefix("line").strip()
            wanted = live.pole(circuit, int(leg)) if leg.isdigit() else live.islands[node]
            known = {at for (name, _), at in live.poles.items() if name == circuit}
            wanted = wanted if wanted in known else None
        else:
            continue
        if live.islands[node] != wanted and piece not in told:
            told.add(piece)
            yield Finding("switching.net", box, f"its joint called {net} is not joined with that at the panel")


def _fed(device: Device, site: Site, live: Live) -> Iterator[Finding]:
    """Return what a device lacks for good: a neutral that nothing switches, and a feed if it has no control."""
    for terminal in ("neutral", "line neutral", "load neutral"):
        island = live.island(device.id, terminal)
        if island is not None and island != live.neutral:
            words = f"its {terminal} is not joined with the neutral bar in every state (NEC 404.2(A))"
            yield Finding("switching.neutral", device.id, words)
    for load in loads_of(device):
        ends = live.island(device.id, load.into), live.island(device.id, load.out)
        if load.control not in site.controls and ends not in _sources_of(load, device, live):
            words = f"its {load.into} and {load.out} are not fed by circuit {device.circuit} in every state"
            yield Finding("switching.fed", device.id, words)


def _metal_parts(live: Live) -> Iterator[Finding]:
    for (owner, name), node in live.metal.terminals.items():
        if name in ("ground", "box") and live.islands[node] != live.ground:
            words = f"its {name} screw is not joined with the ground bar (NEC 250.148)"
            yield Finding("switching.ground", owner, words)


def _interconnect(site: Site, live: Live) -> Iterator[Finding]:
    """Return circuits whose alarms are not all on one piece of metal of their own."""
    owners: dict[int, set[tuple[str, str]]] = defaultdict(set)
    for terminal, node in live.metal.terminals.items():
        owners[live.islands[node]].add(terminal)
    alarms: dict[str, list[Device]] = defaultdict(list)
    for device in site.devices.values():
        if device.kind is DeviceKind.ALARM and device.box in site.makeups:
            alarms[device.circuit].append(device)
    for circuit, devices in alarms.items():
        wanted = {(device.id, "interconnect") for device in devices}
        islands = {live.island(*terminal) for terminal in wanted} - {None}
        found = {terminal for island in islands if island is not None for terminal in owners[island]}
        if len(devices) > 1 and (len(islands) != 1 or found != wanted):
            words = "the interconnect does not join all of its alarms, and nothing else"
            yield Finding("switching.interconnect", circuit, words)

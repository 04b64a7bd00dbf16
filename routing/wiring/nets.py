"""Which nets a circuit has, and which of them each cable carries: one rule for every way of switching.

A net is what is one piece of metal: the line, the neutral, every switched line, every traveler. It must join its
terminals through the tree of the circuit's cables, so a cable carries a net exactly if both of its sides hold something
of it. Where power enters, and how many points there are, needs no case of its own. As all conductors between the two
sides of a cable run in that cable, their currents add up to zero (NEC 300.3(B)).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise, permutations

import numpy as np
from numpy.typing import NDArray

from barnloom.model.building import Circuit
from barnloom.model.wiring import Control, Device, DeviceKind, WiringRules
from barnloom.routing.trees import Pair

ORDERS_TRIED = 5
"""Points of a control up to which every order of them is tried."""
RETURNS = (2, 2, 3, 5)
"""Least conductors of a cable without a neutral by how many nets return from switches in it; five: none is made."""
ROUNDS = 3
"""Most times that the orders of all controls are looked at again."""
PROTECTED = frozenset({DeviceKind.RECEPTACLE, DeviceKind.OPENER})
"""Kinds that a ground-fault device protects where it feeds them; lights and alarms stay off it."""

MOST = 12
"""Insulated conductors up to which a cable is weighed; what needs more costs as that."""
Costs = NDArray[np.float64]
"""(cables, MOST + 1): price of each cable of a tree, in the order of its feeds, by the conductors that it needs."""
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Terminal:
    """A terminal of a device in a box."""

    box: str
    device: str
    name: str


@dataclass(slots=True)
class Net:
    """Terminals that are to be joined, and boxes where it is wanted without a terminal (a neutral at a switch)."""

    name: str
    terminals: list[Terminal] = field(default_factory=list)
    boxes: set[str] = field(default_factory=set)

    def add(self, box: str, device: str, name: str) -> None:
        """Take a terminal in."""
        self.terminals.append(Terminal(box, device, name))
        self.boxes.add(box)


@dataclass(frozen=True, slots=True)
class CircuitNets:
    """Nets of a circuit over one tree."""

    circuit: str
    nets: dict[str, Net]
    carried: dict[str, tuple[str, ...]]
    """Far box to the nets in the cable that feeds it, ground left out."""
    orders: dict[str, tuple[str, ...]]
    """Points of each control, by device id, from the line to the lights."""


def synthesize(
    circuit: Circuit,
    devices: Sequence[Device],
    controls: Sequence[Control],
    feeds: Sequence[Pair],
    rules: WiringRules,
    *,
    orders: Mapping[str, Sequence[str]] | None = None,
) -> CircuitNets:
    """Nets of a circuit, and what each of its cables carries.

    Parameters
    ----------
    devices, controls : sequences
        Those of the circuit. What sits in a box that no feed reaches is left out, and so is all of a control of which
        no point or no light is reached.
    feeds : sequence of (feeding box, fed box)
        A tree from the panel, panel first.
    orders : mapping of control to its points, optional
        Orders that are settled; of the other controls the one with fewest conductors in all is taken.
    """
    circuitry = Circuitry(circuit, devices, controls, [fed for _, fed in feeds], rules)
    return circuitry.over(feeds, fewest(len(feeds)), orders or {})


def fewest(cables: int) -> Costs:
    """Costs that weigh nothing but conductors."""
    return np.tile(np.arange(MOST + 1, dtype=np.float64), (cables, 1))


def least_conductors(nets: Sequence[str]) -> int:
    """Insulated conductors that a cable needs for its nets.

    At least two; two neutrals need two white ones (NEC 200.6). Without a neutral, what returns from switches needs
    coloured ones (200.7(C)(1)), and no cable has more than two of those: three need one conductor more than are made.
    """
    neutrals = sum(is_neutral(net) for net in nets)
    returns = 0 if neutrals else sum(net.startswith("switched") for net in nets)
    return max(len(nets), 4 if neutrals > 1 else 2, RETURNS[min(returns, len(RETURNS) - 1)])


def is_neutral(net: str) -> bool:
    """Whether a net is a neutral."""
    return net == "neutral" or net.startswith("protected neutral")


@dataclass(frozen=True, eq=False, slots=True)
class _Orders:
    """Orders of one control's points: each with its first point's place, and how often it makes each kind of net."""

    points: tuple[tuple[str, ...], ...]
    firsts: Ints
    """(orders,) place of the box of each order's first point."""
    makes: Ints
    """(columns, orders): how many nets with the boxes of each column an order makes."""


@dataclass(frozen=True, eq=False, slots=True)
class _Crossed:
    """What crosses the cables of one tree, whatever order the points of controls have."""

    count: Ints
    """(cables,) nets, but what feeds controls and what comes from them."""
    whites: Ints
    """(cables,) neutrals among them."""
    made: Mapping[str, Ints]
    """By control, (cables, orders): nets that each of its orders makes."""


class Circuitry:
    """A circuit's devices and controls, ready to be laid over any tree of the same boxes."""

    def __init__(
        self,
        circuit: Circuit,
        devices: Sequence[Device],
        controls: Sequence[Control],
        boxes: Sequence[str],
        rules: WiringRules,
    ) -> None:
        """Take in what sits in these boxes (all but the panel)."""
        self.circuit, self.rules = circuit, rules
        self.places = {box: n for n, box in enumerate((circuit.panel, *boxes))}
        there = {device.id: device for device in devices if device.box in self.places}
        # Without a point nothing would ever be lit, and without a light a switch would end in the air.
        self.controls = {c.id: c for c in controls if all(there.keys() & own for own in (c.points, c.lights))}
        idle = {control.id for control in controls} - set(self.controls)
        self.devices = {name: device for name, device in there.items() if device.control not in idle}
        self.two_pole = circuit.multiwire or any(device.volts == 240 for device in devices)
        self.guards = {device.box: device for device in self.devices.values() if device.ground_fault}
        rows = {name: {*control.points, *control.lights} for name, control in self.controls.items()}
        alarms = {name for name, device in self.devices.items() if device.kind is DeviceKind.ALARM}
        self.together = [{self.devices[n].box for n in own & self.devices.keys()} for own in (*rows.values(), alarms)]
        """Boxes of each control, and of the alarms."""
        taken = {device.box for device in self.devices.values()}
        self.taken = self._vector(taken)
        self.bare = [box for box in boxes if box not in taken]
        self.columns: dict[frozenset[str], int] = {}
        """Sets of boxes that nets of controls may have, by number."""
        drafts = {name: self._drafts(control) for name, control in self.controls.items()}
        self.orders = {name: self._orders(draft) for name, draft in drafts.items()}
        self.sources = {name: self._source(name) for name in self.controls}
        """By control, the line that feeds it."""
        self.column_boxes = np.array([self._vector(boxes) for boxes in self.columns]).reshape(-1, len(self.places))
        self._steady = None if self.guards else self._vectors(self._fixed({}))

    def over(self, feeds: Sequence[Pair], costs: Costs, settled: Mapping[str, Sequence[str]]) -> CircuitNets:
        """Nets over a tree; orders that are not settled are the cheapest."""
        behind = self.behind(feeds)
        nets = self._fixed(self._guarding(feeds))
        bare = self._bare_ends(feeds, behind)
        for name in _feeding(nets):
            nets[name].boxes |= bare
        known = {
            name: order
            for name, points in settled.items()
            if name in self.controls and (order := tuple(point for point in points if point in self.devices))
        }
        vectors = self._vectors(nets)
        found = self._chosen(behind, vectors, self._crossed(behind, vectors), costs, set(known))
        orders = {name: known.get(name) or self.orders[name].points[found[name]] for name in self.controls}
        for name, order in orders.items():
            self._join(nets, self.controls[name], order)
        nets = {name: net for name, net in nets.items() if net.terminals}
        crossing = {name: _crossing(behind, vector) for name, vector in self._vectors(nets).items()}
        carried = {
            box: tuple(name for name, crosses in crossing.items() if crosses[leg]) for leg, (_, box) in enumerate(feeds)
        }
        return CircuitNets(self.circuit.id, nets, carried, orders)

    def conductors(self, feeds: Sequence[Pair], costs: Costs) -> Ints:
        """Insulated conductors that each cable needs, in the order of the feeds, orders being the cheapest.

        The same as in ``over``, without making the nets: a search over trees asks for nothing else.
        """
        behind = self.behind(feeds)
        vectors = self._steady if self._steady is not None else self._vectors(self._fixed(self._guarding(feeds)))
        bare = self._vector(self._bare_ends(feeds, behind))
        vectors = vectors | {name: np.maximum(vectors[name], bare) for name in _feeding(vectors)}
        crossed = self._crossed(behind, vectors)
        chosen = self._chosen(behind, vectors, crossed, costs, set())
        count, _ = self._rest(behind, vectors, crossed, chosen)
        needed = np.maximum(count, np.where(crossed.whites > 1, 4, 2))
        if not crossed.whites.all():
            returns = np.minimum(self._returns(behind, vectors, chosen), len(RETURNS) - 1)
            needed = np.maximum(needed, np.where(crossed.whites == 0, np.array(RETURNS)[returns], 0))
        return needed

    def _returns(self, behind: Ints, vectors: Mapping[str, Ints], chosen: Mapping[str, int]) -> Ints:
        """In each cable, how many nets come from switches."""
        count = np.zeros(len(behind), dtype=np.int64)
        for name, number in chosen.items():
            boxes = vectors[f"switched {name}"].copy()
            boxes[self.places[self.devices[self.orders[name].points[number][-1]].box]] = 1
            count += _crossing(behind, boxes)
        return count

    def behind(self, feeds: Sequence[Pair]) -> Ints:
        """(cables, places): 1 for each box behind a cable of the tree; feeds have the panel first."""
        rows = {fed: n for n, (_, fed) in enumerate(feeds)}
        found = np.zeros((len(feeds), len(self.places)), dtype=np.int64)
        for row, (_, fed) in enumerate(feeds):
            found[row, self.places[fed]] = 1
        for by, fed in reversed(feeds):
            if by in rows:
                found[rows[by]] += found[rows[fed]]
        return found

    def unguarded(self, feeds: Sequence[Pair]) -> int:
        """Receptacles that no ground-fault device feeds, on a circuit that has one for all of them.

        Where one is for 240 V, or on a line without such a device, no tree protects it: the breaker has to.
        """
        kinds = [
            one for one in self.devices.values() if one.kind in PROTECTED and not (one.ground_fault or one.control)
        ]
        lines = {guard.leg for guard in self.guards.values()}
        if any(one.volts == 240 or one.leg not in lines for one in kinds):
            return 0
        guarding = self._guarding(feeds)
        return sum(one.id not in guarding for one in kinds)

    def parted(self, feeds: Sequence[Pair]) -> int:
        """Controls, and alarms that set each other off, on more than one home run: joined with each other in the panel.

        Splices there are allowed (NEC 312.8), but nobody looks for those of a switch in it (common practice, no
        source).
        """
        run: dict[str, str] = {}
        for by, fed in feeds:
            run[fed] = run.get(by, fed)
        return sum(len({run[box] for box in boxes}) > 1 for boxes in self.together)

    def _vector(self, boxes: Iterable[str]) -> Ints:
        found = np.zeros(len(self.places), dtype=np.int64)
        for box in boxes:
            found[self.places[box]] = 1
        return found

    def _vectors(self, nets: Mapping[str, Net]) -> dict[str, Ints]:
        """Boxes of each net, as ones among the places."""
        return {name: self._vector(net.boxes) for name, net in nets.items()}

    # --- what does not follow a control ------------------------------------------------------------------------------

    def line(self, leg: int) -> str:
        """Name of the line that feeds a leg."""
        return f"line {leg}" if self.two_pole else "line"

    def _guarding(self, feeds: Sequence[Pair]) -> dict[str, Device]:
        """By device, the ground-fault device that feeds it: the nearest on the way from the panel."""
        found: dict[str, Device] = {}
        if not self.guards:
            return found
        feeder = {fed: by for by, fed in feeds}
        for device in self.devices.values():
            if device.kind in PROTECTED and not (device.ground_fault or device.volts == 240 or device.control):
                box: str | None = device.box
                while box is not None and not (box in self.guards and self.guards[box].leg == device.leg):
                    box = feeder.get(box)
                if box is not None:
                    found[device.id] = self.guards[box]
        return found

    def _fixed(self, guarding: Mapping[str, Device]) -> dict[str, Net]:
        """All nets but those that the order of a control's points decides."""
        circuit, panel, devices = self.circuit, self.circuit.panel, list(self.devices.values())
        nets: dict[str, Net] = {}

        def net(name: str) -> Net:
            return nets.setdefault(name, Net(name))

        for number in (1, 2) if self.two_pole else (1,):
            name = f"breaker {circuit.id} {number}" if self.two_pole else f"breaker {circuit.id}"
            net(self.line(number)).add(panel, panel, name)
        net("neutral").add(panel, panel, "neutral bar")
        for device in devices:
            if device.kind is not DeviceKind.SWITCH:
                self._fed(net, device, guarding.get(device.id))
        alarms = [device for device in devices if device.kind is DeviceKind.ALARM]
        if len(alarms) > 1:
            for alarm in alarms:
                net("interconnect").add(alarm.box, alarm.id, "interconnect")
        for control in self.controls.values():
            lights = (self.devices[name] for name in control.lights if name in self.devices)
            for light in lights:
                name = "hot top" if light.half_switched else "hot"
                net(f"switched {control.id}").add(light.box, light.id, name)
        if self.rules.switch_neutral:
            net("neutral").boxes |= {device.box for device in devices if device.kind is DeviceKind.SWITCH}
        if self.two_pole and nets["neutral"].boxes <= {panel}:
            del nets["neutral"]  # nothing asks for it
        return nets

    def _bare_ends(self, feeds: Sequence[Pair], behind: Ints) -> set[str]:
        """Boxes behind which no device is: places of something to come, so they have the line and its return."""
        if not self.bare:
            return set()
        empty = behind @ self.taken == 0
        return {fed for (_, fed), nothing in zip(feeds, empty, strict=True) if nothing}

    def _fed(self, net: Callable[[str], Net], device: Device, guard: Device | None) -> None:
        """Join what of a device does not follow a control."""
        box = device.box
        if device.volts == 240:
            for number in (1, 2):
                net(f"line {number}").add(box, device.id, f"hot {number}")
            if device.neutral:
                net("neutral").add(box, device.id, "neutral")
            return
        side = "line " if device.ground_fault else ""
        hot, neutral = self.line(device.leg), "neutral"
        if guard is not None:
            hot, neutral = f"protected line {guard.id}", f"protected neutral {guard.id}"
            if not net(hot).terminals:
                net(hot).add(guard.box, guard.id, "load hot")
                net(neutral).add(guard.box, guard.id, "load neutral")
        net(neutral).add(box, device.id, f"{side}neutral")
        if device.half_switched:
            net(hot).add(box, device.id, "hot bottom")
        elif not device.control:
            net(hot).add(box, device.id, f"{side}hot")

    # --- controls ----------------------------------------------------------------------------------------------------

    def _source(self, control: str) -> str:
        """The line that feeds a control: that of its lights."""
        lights = [self.devices[name] for name in self.controls[control].lights if name in self.devices]
        return self.line(lights[0].leg if lights else 1)

    def _join(self, nets: dict[str, Net], control: Control, order: Sequence[str]) -> None:
        """Join the points of a control in this order."""

        def net(name: str) -> Net:
            return nets.setdefault(name, Net(name))

        first, last = self.devices[order[0]], self.devices[order[-1]]
        single = len(order) == 1
        net(self.sources[control.id]).add(first.box, first.id, "line" if single else "common")
        net(f"switched {control.id}").add(last.box, last.id, "load" if single else "common")
        for number, (one, other) in enumerate(pairwise(order), 1):
            near, far = self.devices[one], self.devices[other]
            for letter, way in (("a", 1), ("b", 2)):
                pair = net(f"traveler {control.id} {number}{letter}")
                pair.add(near.box, near.id, f"traveler {way}" if number == 1 else f"out {way}")
                pair.add(far.box, far.id, f"traveler {way}" if number == len(order) - 1 else f"in {way}")

    def _drafts(self, control: Control) -> list[tuple[tuple[str, ...], Counter[int]]]:
        """Orders of a control's points that are tried, each with the columns of the nets that it makes."""
        points = tuple(point for point in control.points if point in self.devices)
        if control.in_order or len(points) == 1:
            tried = [points]
        elif len(points) <= ORDERS_TRIED:
            tried = list(permutations(points))
        else:  # of many points, as they are written, each of them first or last in turn
            turned = [points[n:] + points[:n] for n in range(len(points))]
            tried = [order for one in turned for order in (one, one[::-1])]
        lights = {self.devices[name].box for name in control.lights if name in self.devices}
        drafts = []
        for order in tried:
            boxes = [self.devices[point].box for point in order]
            makes = Counter({self._column(lights | {boxes[-1]}): 1})
            for one, other in pairwise(boxes):
                makes[self._column({one, other})] += 2
            drafts.append((order, makes))
        return drafts

    def _column(self, boxes: set[str]) -> int:
        return self.columns.setdefault(frozenset(boxes), len(self.columns))

    def _orders(self, drafts: Sequence[tuple[tuple[str, ...], Counter[int]]]) -> _Orders:
        makes = np.zeros((len(self.columns), len(drafts)), dtype=np.int64)
        for number, (_, columns) in enumerate(drafts):
            for column, count in columns.items():
                makes[column, number] = count
        firsts = np.array([self.places[self.devices[order[0]].box] for order, _ in drafts])
        return _Orders(tuple(order for order, _ in drafts), firsts, makes)

    def _column_crossings(self, behind: Ints) -> Ints:
        """(cables, columns): 1 where a cable has boxes of a column on both sides."""
        inside = behind @ self.column_boxes.T
        crossings: Ints = ((inside > 0) & (inside < self.column_boxes.sum(axis=1))).astype(np.int64)
        return crossings

    def _crossed(self, behind: Ints, vectors: Mapping[str, Ints]) -> _Crossed:
        """What crosses the cables of a tree, the orders of controls aside."""
        crossings = self._column_crossings(behind)
        count = np.zeros(len(behind), dtype=np.int64)
        whites = np.zeros(len(behind), dtype=np.int64)
        for name, vector in vectors.items():
            if not name.startswith("switched") and name not in self.sources.values():
                crosses = _crossing(behind, vector)
                count += crosses
                whites += crosses if is_neutral(name) else 0
        return _Crossed(count, whites, {name: crossings @ orders.makes for name, orders in self.orders.items()})

    def _rest(
        self, behind: Ints, vectors: Mapping[str, Ints], crossed: _Crossed, chosen: Mapping[str, int], but: str = ""
    ) -> tuple[Ints, Ints]:
        """Nets in each cable, without those of one control and its line; and the boxes of that line."""
        lines = {source: vectors[source].copy() for source in self.sources.values()}
        count = crossed.count.copy()
        for name, number in chosen.items():
            if name != but:
                lines[self.sources[name]][self.orders[name].firsts[number]] = 1
                count += crossed.made[name][:, number]
        line = lines.pop(self.sources[but]) if but else np.zeros(0, dtype=np.int64)
        for vector in lines.values():
            count += _crossing(behind, vector)
        return count, line

    def _chosen(
        self, behind: Ints, vectors: Mapping[str, Ints], crossed: _Crossed, costs: Costs, settled: Collection[str]
    ) -> dict[str, int]:
        """Number of an order for each control: the cheapest while the others stay as they are, in rounds."""
        chosen = dict.fromkeys(self.orders, 0)
        open_ones = [name for name, orders in self.orders.items() if len(orders.points) > 1 and name not in settled]
        for _ in range(ROUNDS if len(open_ones) > 1 else 1):
            before = dict(chosen)
            for name in open_ones:
                chosen[name] = self._cheapest(name, chosen, behind, vectors, crossed, costs)
            if chosen == before:
                break
        return chosen

    def _cheapest(
        self,
        name: str,
        chosen: Mapping[str, int],
        behind: Ints,
        vectors: Mapping[str, Ints],
        crossed: _Crossed,
        costs: Costs,
    ) -> int:
        """Number of the cheapest order of one control's points, the other controls as they are."""
        count, line = self._rest(behind, vectors, crossed, chosen, name)
        firsts = self.orders[name].firsts
        new = 1 - line[firsts]
        inside = (behind @ line)[:, None] + behind[:, firsts] * new
        fed = (inside > 0) & (inside < line.sum() + new)
        counts = count[:, None] + fed + crossed.made[name]
        needed = np.minimum(np.maximum(counts, np.where(crossed.whites > 1, 4, 2)[:, None]), MOST)
        total = costs[np.arange(len(behind))[:, None], needed].sum(axis=0)
        return int(np.argmin(np.round(total, 9)))


def _feeding(nets: Collection[str]) -> list[str]:
    """Names of the nets that feed what may come: the lines, and the neutral where there is one."""
    lines = [name for name in nets if name.startswith("line")]
    return [*lines, "neutral"] if "neutral" in nets else lines


def _crossing(behind: Ints, vector: Ints) -> NDArray[np.bool_]:
    """Which cables have boxes of a net on both sides."""
    inside = behind @ vector
    crosses: NDArray[np.bool_] = (inside > 0) & (inside < vector.sum())
    return crosses

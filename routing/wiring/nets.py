"""Which nets a circuit has, and which of them each cable carries: one rule for every way of switching.

A net is what is one piece of metal: the line, the neutral, every switched line, every traveler. It must join its
terminals through the tree of the circuit's cables, so a cable carries a net exactly if both of its sides hold something
of it. Where power enters, and how many points there are, needs no case of its own. As all conductors between the two
sides of a cable run in that cable, their currents add up to zero (NEC 300.3(B)).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise, permutations

import numpy as np
from numpy.typing import NDArray

from barnloom.model.building import Circuit
from barnloom.model.wiring import Control, Device, DeviceKind, WiringRules
from barnloom.routing.trees import Pair
from barnloom.routing.wiring.counting import MOST, RETURNS, Choices, Ints, conductors, subtrees

ORDERS_TRIED = 5
"""Points of a control up to which every order of them is tried."""
PROTECTED = frozenset({DeviceKind.RECEPTACLE, DeviceKind.OPENER})
"""Kinds that a ground-fault device protects where it feeds them; lights and alarms stay off it."""

Costs = NDArray[np.float64]
"""(cables, MOST + 1): price of each cable of a tree, in the order of its feeds, by the conductors that it needs."""


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
    return max(len(nets), 4 if neutrals > 1 else 2, int(RETURNS[min(returns, len(RETURNS) - 1)]))


def is_neutral(net: str) -> bool:
    """Whether a net is a neutral."""
    return net == "neutral" or net.startswith("protected neutral")


@dataclass(frozen=True, eq=False, slots=True)
class _Rows:
    """Boxes of nets as ones and noughts among the places, (n, places): fixed ones, and lines that feed controls."""

    nets: Ints
    whites: NDArray[np.bool_]
    feeding: NDArray[np.bool_]
    """Which of the fixed ones feed what may come at bare ends."""
    lines: Ints

    def with_bare(self, bare: Ints) -> _Rows:
        """The same with bare ends on what feeds them."""
        nets = np.where(self.feeding[:, None], np.maximum(self.nets, bare), self.nets)
        return replace(self, nets=nets, lines=np.maximum(self.lines, bare))


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
        self.orders = {name: self._tried(control) for name, control in self.controls.items()}
        """By control, the orders of its points that are tried."""
        self.sources = {name: self._source(name) for name in self.controls}
        """By control, the line that feeds it."""
        self._lines = list(dict.fromkeys(self.sources.values()))
        self._choices = self._all_choices()
        self._steady = None if self.guards else self._fixed({})
        self._matrices = None if self._steady is None else self._as_rows(self._steady)

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
        numbers = {name: self.orders[name].index(order) for name, order in known.items() if order in self.orders[name]}
        chosen = self._counted(behind, self._as_rows(nets), costs, dict.fromkeys(known, 0) | numbers)[1]
        orders = {name: known.get(name) or self.orders[name][chosen[name]] for name in self.controls}
        for name, order in orders.items():
            self._join(nets, self.controls[name], order)
        nets = {name: net for name, net in nets.items() if net.terminals}
        crossing = {name: _crossing(behind, self._vector(net.boxes)) for name, net in nets.items()}
        carried = {
            box: tuple(name for name, crosses in crossing.items() if crosses[leg]) for leg, (_, box) in enumerate(feeds)
        }
        return CircuitNets(self.circuit.id, nets, carried, orders)

    def conductors(self, feeds: Sequence[Pair], costs: Costs) -> Ints:
        """Insulated conductors that each cable needs, in the order of the feeds, orders being the cheapest.

        The same as in ``over``, without making the nets: a search over trees asks for nothing else.
        """
        behind = self.behind(feeds)
        rows = self._matrices or self._as_rows(self._fixed(self._guarding(feeds)))
        bare = self._bare_ends(feeds, behind)
        if bare:
            rows = rows.with_bare(self._vector(bare))
        return self._counted(behind, rows, costs, {})[0]

    def conductors_before(self, behind: Ints, orders: Sequence[int]) -> Ints:
        """Insulated conductors of cables with certain boxes behind them, (cables,), for certain orders of points.

        That no boxes are bare, and that no device protects others, is taken for granted.

        Parameters
        ----------
        behind : (cables, places) int
            1 for each box behind a cable; the panel is place 0.
        orders : sequence of int
            Number of each control's order among those that are tried.
        """
        rows = self._unguarded_rows()
        nothing = np.zeros((len(behind), MOST + 1))
        return self._counted(behind, rows, nothing, dict(zip(self.controls, orders, strict=True)))[0]

    def parts(self) -> Ints:
        """(boxes, n) the part of each box in all nets, the panel left out: boxes with equal rows may change places.

        That no boxes are bare, and that no device protects others, is taken for granted.
        """
        rows, choices = self._unguarded_rows(), self._choices
        ends = [np.equal.outer(places, np.arange(len(self.places))) for places in (choices.firsts, choices.lasts)]
        result: Ints = np.concatenate([rows.nets, rows.lines, choices.lit, choices.sets, *ends]).T[1:].astype(np.int64)
        return result

    def _unguarded_rows(self) -> _Rows:
        """Boxes of nets where no device protects others."""
        return self._matrices or self._as_rows(self._fixed({}))

    def _counted(
        self, behind: Ints, rows: _Rows, costs: Costs, known: Mapping[str, int]
    ) -> tuple[Ints, dict[str, int]]:
        """Conductors that each cable needs, and the number of each control's order: known, or the cheapest."""
        chosen = np.array([known.get(name, -1) for name in self.controls], dtype=np.int64)
        needed = conductors(behind, rows.nets, rows.whites, rows.lines, self._choices, costs, chosen)
        return needed, dict(zip(self.controls, chosen.tolist(), strict=True))

    def _as_rows(self, nets: Mapping[str, Net]) -> _Rows:
        """Boxes of nets as ones and noughts: those that no order changes, and the lines that feed controls."""
        fixed = [name for name in nets if not name.startswith("switched") and name not in self._lines]
        feeding = set(_feeding(nets))
        return _Rows(
            nets=self._matrix(nets[name].boxes for name in fixed),
            whites=np.array([is_neutral(name) for name in fixed], dtype=np.bool_),
            feeding=np.array([name in feeding for name in fixed], dtype=np.bool_),
            lines=self._matrix(nets[name].boxes for name in self._lines),
        )

    def _matrix(self, rows: Iterable[Iterable[str]]) -> Ints:
        return np.array([self._vector(boxes) for boxes in rows], dtype=np.int64).reshape(-1, len(self.places))

    def behind(self, feeds: Sequence[Pair]) -> Ints:
        """(cables, places): 1 for each box behind a cable of the tree; feeds have the panel first."""
        by, fed = self.numbers(feeds)
        return np.asarray(subtrees(by, fed, len(self.places)))

    def numbers(self, feeds: Sequence[Pair]) -> Ints:
        """(2, cables) places of feeders and of what they feed."""
        places = self.places
        return np.array([(places[by], places[fed]) for by, fed in feeds], dtype=np.int64).reshape(-1, 2).T

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
        return sum(len({run[box] for box in boxes if box in run}) > 1 for boxes in self.together)

    def _vector(self, boxes: Iterable[str]) -> Ints:
        found = np.zeros(len(self.places), dtype=np.int64)
        for box in boxes:
            found[self.places[box]] = 1
        return found

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

    def _tried(self, control: Control) -> list[tuple[str, ...]]:
        """Orders of a control's points that are tried."""
        points = tuple(point for point in control.points if point in self.devices)
        if control.in_order or len(points) == 1:
            return [points]
        if len(points) <= ORDERS_TRIED:
            return list(permutations(points))
        # Of many points, as they are written, each of them first or last in turn.
        turned = [points[n:] + points[:n] for n in range(len(points))]
        return [order for one in turned for order in (one, one[::-1])]

    def _all_choices(self) -> Choices:
        """Orders of all controls with the nets that they make, as numbers."""
        sets: dict[frozenset[str], int] = {}
        counts, firsts, lasts, made, times, ends = [0], [], [], [], [], [0]
        for name, control in self.controls.items():
            lights = {self.devices[light].box for light in control.lights if light in self.devices}
            for order in self.orders[name]:
                boxes = [self.devices[point].box for point in order]
                makes = Counter({frozenset(lights | {boxes[-1]}): 1})
                for pair in pairwise(boxes):
                    makes[frozenset(pair)] += 2  # two travelers
                made += [sets.setdefault(one, len(sets)) for one in makes]
                times += list(makes.values())
                ends.append(len(made))
                firsts.append(self.places[boxes[0]])
                lasts.append(self.places[boxes[-1]])
            counts.append(len(firsts))
        lit = [
            {self.devices[light].box for light in control.lights if light in self.devices}
            for control in self.controls.values()
        ]
        return Choices(
            first_order=np.array(counts),
            line=np.array([self._lines.index(self.sources[name]) for name in self.controls], dtype=np.int64),
            lit=self._matrix(lit),
            firsts=np.array(firsts, dtype=np.int64),
            lasts=np.array(lasts, dtype=np.int64),
            first_made=np.array(ends),
            made=np.array(made, dtype=np.int64),
            times=np.array(times, dtype=np.int64),
            sets=self._matrix(sets),
        )


def _feeding(nets: Collection[str]) -> list[str]:
    """Names of the nets that feed what may come: the lines, and the neutral where there is one."""
    lines = [name for name in nets if name.startswith("line")]
    return [*lines, "neutral"] if "neutral" in nets else lines


def _crossing(behind: Ints, vector: Ints) -> NDArray[np.bool_]:
    """Which cables have boxes of a net on both sides."""
    inside = behind @ vector
    crosses: NDArray[np.bool_] = (inside > 0) & (inside < vector.sum())
    return crosses

"""Which nets a circuit has, and which of them each cable carries: one rule for every way of switching.

A net is what is one piece of metal: the line, the neutral, every switched line, every traveler. It must join its terminals
through the tree of the circuit's cables, so a cable carries a net exactly if both of its sides hold something of it.
Where power enters, and how many points there are, needs no case of its own. As all conductors between the two sides of a
cable run in that cable, their currents add up to zero (NEC 300.3(B)).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import permutations

from barnloom.model.building import Circuit
from barnloom.model.wiring import Control, Device, DeviceKind, WiringRules
from barnloom.routing.trees import Pair

ORDERS_TRIED = 6
"""Points of a control up to which every order of them is tried; beyond, the orders in which one walks the tree."""
ROUNDS = 3
"""Most times that the orders of all controls are looked at again."""
PROTECTED = frozenset({DeviceKind.RECEPTACLE, DeviceKind.OPENER})
"""Kinds that a ground-fault device protects where it feeds them; lights and alarms stay off it."""

Weigh = Callable[[str, int], float]
"""Price of a cable by its far box and how many nets it carries."""


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
    weigh: Weigh | None = None,
) -> CircuitNets:
    """Nets of a circuit, and what each of its cables carries.

    Parameters
    ----------
    devices, controls : sequences
        Those of the circuit; what sits in a box that no feed reaches is left out.
    feeds : sequence of (feeding box, fed box)
        A tree from the panel.
    weigh : callable, optional
        Price of a cable by far box and number of nets: the order of a control's points is the cheapest by it. By
        default fewest conductors in all.
    """
    tree = Tree(circuit.panel, feeds)
    there = [device for device in devices if device.box in tree.places]
    wires = _Wires(circuit, there, tree, rules)
    points = {control.id: _points(control, there) for control in controls}
    held = {control.id: control for control in controls}
    orders = {name: tuple(one) for name, one in points.items() if one}
    price = weigh or (lambda _, count: float(count))
    masks = {net.name: tree.mask(net.boxes) for net in wires.nets.values()}
    for _ in range(ROUNDS):
        before = dict(orders)
        for name in orders:
            if len(orders[name]) > 1 and not held[name].in_order:
                orders[name] = _cheapest_order(name, points[name], orders, held, wires, tree, masks, price)
        if orders == before:
            break
    for name, order in orders.items():
        wires.control(held[name], order)
    nets = {net.name: net for net in wires.nets.values() if net.terminals}
    return CircuitNets(circuit.id, nets, tree.carried(nets.values()), orders)


def least_conductors(nets: Sequence[str]) -> int:
    """Insulated conductors that a cable needs for its nets: at least two; two neutrals need two white ones (200.6)."""
    whites = sum(is_neutral(net) for net in nets)
    return 4 if whites > 1 else max(len(nets), 2)


def is_neutral(net: str) -> bool:
    """Whether a net is a neutral."""
    return net == "neutral" or net.startswith("protected neutral")


class Tree:
    """Boxes of a circuit as bits, and for each cable the set of boxes behind it."""

    def __init__(self, panel: str, feeds: Sequence[Pair]) -> None:
        self.panel = panel
        self.feeder = {fed: by for by, fed in feeds}
        self.places = {box: n for n, box in enumerate([panel, *(fed for _, fed in feeds)])}
        self.behind = {box: 1 << n for box, n in self.places.items()}
        depth = {panel: 0}
        for by, fed in feeds:
            depth[fed] = depth[by] + 1
        self.order = sorted(self.feeder, key=lambda box: depth[box])
        for box in reversed(self.order):
            if self.feeder[box] != panel:
                self.behind[self.feeder[box]] |= self.behind[box]

    def mask(self, boxes: Iterable[str]) -> int:
        """Boxes as bits."""
        found = 0
        for box in boxes:
            found |= 1 << self.places[box]
        return found

    def above(self, box: str) -> Iterable[str]:
        """The box itself, and what feeds it, up to the panel."""
        while box != self.panel:
            yield box
            box = self.feeder[box]

    def crosses(self, box: str, mask: int) -> bool:
        """Whether the cable that feeds a box has some of these boxes on either side."""
        behind = self.behind[box]
        return bool(mask & behind) and bool(mask & ~behind)

    def carried(self, nets: Iterable[Net]) -> dict[str, tuple[str, ...]]:
        """Nets in the cable that feeds each box."""
        masks = [(net.name, self.mask(net.boxes)) for net in nets]
        return {box: tuple(name for name, mask in masks if self.crosses(box, mask)) for box in self.order}


class _Wires:
    """Nets in the making: everything but the controls, which hang on the order of their points."""

    def __init__(self, circuit: Circuit, devices: Sequence[Device], tree: Tree, rules: WiringRules) -> None:
        self.circuit = circuit
        self.devices = {device.id: device for device in devices}
        self.two_pole = circuit.multiwire or any(device.volts == 240 for device in devices)
        self.nets: dict[str, Net] = {}
        panel = circuit.panel
        for number in (1, 2) if self.two_pole else (1,):
            name = f"breaker {circuit.id} {number}" if self.two_pole else f"breaker {circuit.id}"
            self.net(self.line(number)).add(panel, panel, name)
        self.net("neutral").add(panel, panel, "neutral bar")
        guards = {device.box: device for device in devices if device.ground_fault}
        alarms = [device for device in devices if device.kind is DeviceKind.ALARM]
        for device in devices:
            self._fed(device, self._guard(device, guards, tree))
        if len(alarms) > 1:
            for alarm in alarms:
                self.net("interconnect").add(alarm.box, alarm.id, "interconnect")
        if rules.switch_neutral:
            self.net("neutral").boxes |= {device.box for device in devices if device.kind is DeviceKind.SWITCH}
        if not any(terminal.device != panel for terminal in self.nets["neutral"].terminals):
            wanted = rules.switch_neutral and any(device.kind is DeviceKind.SWITCH for device in devices)
            if not wanted:
                self.nets["neutral"] = Net("neutral")

    def net(self, name: str) -> Net:
        return self.nets.setdefault(name, Net(name))

    def line(self, leg: int) -> str:
        """The line of a leg."""
        return f"line {leg}" if self.two_pole else "line"

    def _guard(self, device: Device, guards: Mapping[str, Device], tree: Tree) -> Device | None:
        """The ground-fault device that feeds another: the nearest on the way from the panel."""
        if device.kind not in PROTECTED or device.ground_fault or device.volts == 240 or device.control:
            return None
        found = (guards[box] for box in tree.above(device.box) if box in guards)
        return next((guard for guard in found if guard.leg == device.leg), None)

    def _fed(self, device: Device, guard: Device | None) -> None:
        """Join what of a device does not follow a control."""
        if device.kind is DeviceKind.SWITCH:
            return
        box = device.box
        if device.volts == 240:
            for number in (1, 2):
                self.net(f"line {number}").add(box, device.id, f"hot {number}")
            if device.neutral:
                self.net("neutral").add(box, device.id, "neutral")
            return
        side = "line " if device.ground_fault else ""
        hot, neutral = self.line(device.leg), "neutral"
        if guard is not None:
            hot, neutral = f"protected line {guard.id}", f"protected neutral {guard.id}"
            if hot not in self.nets:
                self.net(hot).add(guard.box, guard.id, "load hot")
                self.net(neutral).add(guard.box, guard.id, "load neutral")
        self.net(neutral).add(box, device.id, f"{side}neutral")
        if device.half_switched:
            self.net(hot).add(box, device.id, "hot bottom")
        elif not device.control:
            self.net(hot).add(box, device.id, f"{side}hot")

    def control(self, control: Control, order: Sequence[str]) -> None:
        """Join the points of a control in this order, and its lights."""
        lights = [self.devices[name] for name in control.lights if name in self.devices]
        source = self.line(lights[0].leg if lights else 1)
        first, last = self.devices[order[0]], self.devices[order[-1]]
        single = len(order) == 1
        self.net(source).add(first.box, first.id, "line" if single else "common")
        switched = self.net(f"switched {control.id}")
        switched.add(last.box, last.id, "load" if single else "common")
        for light in lights:
            switched.add(light.box, light.id, "hot top" if light.half_switched else "hot")
        for number, (one, other) in enumerate(zip(order[:-1], order[1:], strict=True), 1):
            near, far = self.devices[one], self.devices[other]
            for letter, way in (("a", 1), ("b", 2)):
                pair = self.net(f"traveler {control.id} {number}{letter}")
                pair.add(near.box, near.id, f"traveler {way}" if number == 1 else f"out {way}")
                pair.add(far.box, far.id, f"traveler {way}" if number == len(order) - 1 else f"in {way}")


def _points(control: Control, devices: Sequence[Device]) -> tuple[str, ...]:
    there = {device.id for device in devices}
    return tuple(point for point in control.points if point in there)


def _control_masks(control: Control, order: Sequence[str], wires: _Wires, tree: Tree) -> list[tuple[int, int]]:
    """Boxes of the nets that a control adds, as bits, and how many nets have these boxes; the line's end last."""
    place = {name: 1 << tree.places[device.box] for name, device in wires.devices.items()}
    lights = 0
    for name in control.lights:
        lights |= place.get(name, 0)
    found = [(place[order[-1]] | lights, 1)]
    found += [(place[one] | place[other], 2) for one, other in zip(order[:-1], order[1:], strict=True)]
    return found


def _cheapest_order(
    name: str,
    points: Sequence[str],
    orders: Mapping[str, Sequence[str]],
    controls: Mapping[str, Control],
    wires: _Wires,
    tree: Tree,
    masks: Mapping[str, int],
    price: Weigh,
) -> tuple[str, ...]:
    """The cheapest order of one control's points, the other controls as they are."""
    others: list[tuple[int, int]] = []
    lines = dict(masks)
    for other, order in orders.items():
        if other != name:
            others += _control_masks(controls[other], order, wires, tree)
            source = _source(controls[other], wires)
            lines[source] = lines.get(source, 0) | tree.mask([wires.devices[order[0]].box])
    fixed = dict.fromkeys(tree.order, 0)
    source = _source(controls[name], wires)
    for box in tree.order:
        fixed[box] += sum(tree.crosses(box, mask) for net, mask in lines.items() if net != source)
        fixed[box] += sum(count for mask, count in others if tree.crosses(box, mask))
    best: tuple[float, tuple[int, ...], tuple[str, ...]] | None = None
    rank = {point: n for n, point in enumerate(points)}
    for order in _orders(points, wires, tree):
        own = _control_masks(controls[name], order, wires, tree)
        own.append((lines.get(source, 0) | tree.mask([wires.devices[order[0]].box]), 1))
        total = 0.0
        for box in tree.order:
            total += price(box, fixed[box] + sum(count for mask, count in own if tree.crosses(box, mask)))
        key = (round(total, 9), tuple(rank[point] for point in order), order)
        best = key if best is None or key < best else best
    assert best is not None  # noqa: S101 - there is at least one order
    return best[2]


def _source(control: Control, wires: _Wires) -> str:
    lights = [wires.devices[name] for name in control.lights if name in wires.devices]
    return wires.line(lights[0].leg if lights else 1)


def _orders(points: Sequence[str], wires: _Wires, tree: Tree) -> Iterable[tuple[str, ...]]:
    if len(points) <= ORDERS_TRIED:
        return permutations(points)
    walked = {box: n for n, box in enumerate(_walk(tree))}
    along = tuple(sorted(points, key=lambda point: walked[wires.devices[point].box]))
    return (along, along[::-1])


def _walk(tree: Tree) -> list[str]:
    """Boxes as one meets them going down one branch after the other."""
    below: dict[str, list[str]] = {}
    for box in tree.order:
        below.setdefault(tree.feeder[box], []).append(box)
    found: list[str] = []
    waiting = [tree.panel]
    while waiting:
        box = waiting.pop()
        found.append(box)
        waiting += sorted(below.get(box, []), reverse=True)
    return found

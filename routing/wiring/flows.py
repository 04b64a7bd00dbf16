"""What flows where with everything switched on: current of cables, voltage lost at boxes, conductors that carry.

A load's current goes out along its hot way and comes back along its neutral way; where a switch lies off the way, out
to it and back. Each stretch of a net in one cable is one conductor: adding up the loads' ways gives its current. What a
cable loses is 2 I R L (of two side by side the one that loses more), and what a box loses is the sum of that over the
cables to it and to its switches: a person with a pencil gets it from the list of cables.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from barnloom.model.building import Circuit
from barnloom.model.electrical.drop import drop_volts
from barnloom.model.electrical.loads import running_a
from barnloom.model.electrical.tables import resistance
from barnloom.model.wiring import Device
from barnloom.routing.plan import Cable
from barnloom.routing.trees import Pair
from barnloom.routing.wiring.nets import CircuitNets

NEUTRALS = ("neutral 1", "neutral 2")
"""The neutral that two lines share, as if each had its own; where both flow it carries only their difference."""
Stretch = tuple[str, str]
"""(far box of a cable, net); the two travelers of a pair are one, for only one of them carries."""


@dataclass(frozen=True, slots=True)
class Flows:
    """Of one circuit, by cable and by box: amperes, share of voltage lost, conductors that carry."""

    current_a: dict[str, float]
    """What goes out in the cable and comes back; of a multiwire circuit on the fuller line."""
    drop: dict[str, float]
    """Share (0 to 1) of the circuit's voltage that is lost at a box: over the cables to it and to what switches it."""
    way: dict[str, frozenset[str]]
    """Far boxes of those cables."""
    carrying: dict[str, int]
    """Insulated conductors of the cable that carry current at the same time; spares count (310.15(C)(1))."""


def flows_of(
    circuit: Circuit, devices: Sequence[Device], nets: CircuitNets, cables: Sequence[Cable], awg: Mapping[str, int]
) -> Flows:
    """Currents and losses of a circuit.

    Parameters
    ----------
    cables : sequence of Cable
        Those of the circuit; lengths are their cut lengths, for all of it is in the way of the current.
    awg : mapping of far box to int
        Size of their conductors.
    """
    legs: dict[str, list[Cable]] = defaultdict(list)
    for cable in cables:
        legs[cable.to_box].append(cable)
    ways = Ways(circuit, nets, feeds_of(circuit.panel, cables))
    loads = [device for device in devices if device.id in ways.on and running_a(device)]
    amps: dict[Stretch, float] = defaultdict(float)
    out: dict[str, list[float]] = {cable.id: [0.0, 0.0] for cable in cables}
    for device in loads:
        draws = running_a(device)
        lines = ((0, 1) if device.volts == 240 else (device.leg - 1,)) if circuit.multiwire else (0,)
        for stretch in ways.of(device):
            amps[stretch] += draws
            for line in lines:
                out[_holding(legs, stretch).id][line] += draws / 2
    current = {name: max(sides) for name, sides in out.items()}
    volts = 240 if any(device.volts == 240 for device in devices) and not circuit.multiwire else 120
    lost = {
        box: max(drop_volts(current[one.id], one.cut_in / 12, resistance(awg[box])) for one in its) / volts
        if awg[box]
        else 0.0
        for box, its in legs.items()
    }
    to = {box: [frozenset(path)] for box, path in ways.path.items()}
    for device in loads:
        to[device.box].append(ways.to(device))
    way = {box: max(its, key=lambda way: sum(lost[leg] for leg in sorted(way))) for box, its in to.items()}
    drop = {box: sum(lost[leg] for leg in sorted(its)) for box, its in way.items()}
    carrying = {cable.id: sum(one.net == "spare" for one in cable.conductors) for cable in cables}
    for (box, net), through in amps.items():
        unbalance_only = net in NEUTRALS and all(amps.get((box, each), 0.0) > 0 for each in NEUTRALS)
        carrying[_holding(legs, (box, net)).id] += bool(through) and not unbalance_only
    return Flows(current, drop, way, carrying)


class Fed(Protocol):
    """A cable, or what is to be one: the box on the panel's side, and the one at the far end."""

    @property
    def from_box(self) -> str:
        """Id of the box that feeds."""
        ...

    @property
    def to_box(self) -> str:
        """Id of the box that is fed."""
        ...


def feeds_of(panel: str, cables: Iterable[Fed]) -> list[Pair]:
    """Feeds that cables make, panel first; two side by side are one feed."""
    found: list[Pair] = []
    there, waiting = {panel}, list(dict.fromkeys((cable.from_box, cable.to_box) for cable in cables))
    while ready := [feed for feed in waiting if feed[0] in there]:
        found += ready
        there |= {fed for _, fed in ready}
        waiting = [feed for feed in waiting if feed not in ready]
    return found


def _holding(legs: Mapping[str, Sequence[Cable]], stretch: Stretch) -> Cable:
    """The cable that a stretch of a net lies in: of two side by side the one with a conductor for it."""
    box, net = stretch
    names = {f"{net}a", _real(net)}
    return next((c for c in legs[box] if any(one.net in names for one in c.conductors)), legs[box][0])


def _real(net: str) -> str:
    return "neutral" if net in NEUTRALS else net


class Ways:
    """Stretches of net that a load's current takes over a tree, whose feeds have the panel first."""

    def __init__(self, circuit: Circuit, nets: CircuitNets, feeds: Sequence[Pair]) -> None:
        self.nets, self.panel = nets, circuit.panel
        self.path: dict[str, tuple[str, ...]] = {circuit.panel: ()}
        """By box: far boxes of the cables from the panel to it."""
        for by, fed in feeds:
            self.path[fed] = (*self.path[by], fed)
        del self.path[circuit.panel]
        self.multiwire = circuit.multiwire
        self.on = {t.device: t.box for net in nets.nets.values() for t in net.terminals}
        self.guard: dict[str, str] = {}
        for net in nets.nets.values():
            if net.name.startswith("protected line "):
                self.guard |= {t.device: net.name.removeprefix("protected line ") for t in net.terminals}

    def between(self, one: str, other: str) -> tuple[str, ...]:
        """Far boxes of the cables between two boxes."""
        a, b = self.path.get(one, ()), self.path.get(other, ())
        shared = sum(1 for x, y in zip(a, b, strict=False) if x == y)
        return (*a[shared:], *b[shared:])

    def to(self, device: Device) -> frozenset[str]:
        """Far boxes of the cables on the way to a device, and to every switch that it follows."""
        boxes = [device.box, *(self.on[point] for point in self.nets.orders.get(device.control, ()))]
        return frozenset(leg for box in boxes for leg in self.path[box])

    def nets_in(self, leg: str, device: Device) -> set[str]:
        """Nets that a load's current uses in one cable, both travelers of a pair among them."""
        found: set[str] = set()
        for far, net in self.of(device):
            if far == leg:
                found |= {f"{net}a", f"{net}b"} if net.startswith("traveler") else {_real(net)}
        return found

    def of(self, device: Device) -> list[Stretch]:
        """All stretches that a load's current takes, out and back."""
        if device.volts == 240:
            return [(leg, net) for leg in self.path[device.box] for net in ("line 1", "line 2")]
        line = f"line {device.leg}" if "line 1" in self.nets.nets else "line"
        back = self._back(device.leg)
        guard = self.guard.get(device.id, "")
        if guard and guard != device.id:
            first = self.path[self.on[guard]]
            behind = self.path[device.box][len(first) :]
            return [
                *((leg, net) for leg in first for net in (line, back)),
                *((leg, f"protected {side} {guard}") for leg in behind for side in ("line", "neutral")),
            ]
        stops = [self.panel, *(self.on[point] for point in self.nets.orders.get(device.control, ())), device.box]
        last = len(stops) - 2
        found: list[Stretch] = []
        for number, (one, other) in enumerate(zip(stops[:-1], stops[1:], strict=True)):
            net = line if number == 0 else f"traveler {device.control} {number}"
            if number == last and number > 0:
                net = f"switched {device.control}"
            found += [(leg, net) for leg in self.between(one, other)]
        return [*found, *((leg, back) for leg in self.path[device.box])]

    def _back(self, leg: int) -> str:
        """The neutral; one that two lines share carries their difference, and is counted as if each had its own."""
        return f"neutral {leg}" if self.multiwire else "neutral"

"""What the boxes of a circuit ask for beyond two conductors a cable, and the cheapest tree with that counted.

What a cable carries is decided by the boxes behind it, and a box holds what its own cables carry. So the cheapest tree
over some boxes, hanging on one of them, is found from those over fewer: by dynamic programming over sets of boxes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod

import numpy as np

from barnloom.model.building import Box, Building, CableType
from barnloom.routing.bound.certain import Leg, box_price, thinnest
from barnloom.routing.bound.compiled import wired_tree
from barnloom.routing.cost import ends_price
from barnloom.routing.slab import Floats, Ints
from barnloom.routing.wiring.counting import MOST
from barnloom.routing.wiring.kinds import Sizes, Store
from barnloom.routing.wiring.nets import Circuitry
from barnloom.routing.wiring.room import Rooms

FEW_BOXES = 9
"""Boxes of a circuit up to which sets of them are gone through."""
FEW_ORDERS = 12
"""Orders of the points of all its controls up to which each is gone through."""
PLAIN = 2
"""Conductors that every cable has at least."""


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Wired:
    """Money beyond that of ways and ends. Boxes are numbered from 1, the panel is 0; a set of boxes is a number."""

    need: Ints
    """(orders, 2 ^ boxes) conductors of the cable before each set, by orders of points."""
    more: Floats
    """(boxes + 1, boxes + 1, MOST + 1) what a cable costs more with so many conductors; infinite: none is sold."""
    sheaths: Ints
    """(MOST + 1,) how many cables it is then."""
    inside: Ints
    """(MOST + 1,) conductors in them."""
    boxes: Floats
    """(boxes + 1, cables + 1, conductors + 1) what a box costs more with so much in it; infinite: none holds it."""

    def cheapest(self, price: Floats, home_runs: int | None) -> tuple[float, Ints]:
        """The cheapest tree, for prices of cables from row to column: its price, and the feeder of each box.

        The price is infinite if there is none. Feeders are (boxes + 1,), as in ``arborescence.cheapest``.

        ``home_runs``: so many cables leave the panel (one for each box at most); None: any number.
        """
        found = (
            wired_tree(price, need, self.more, self.sheaths, self.inside, self.boxes, home_runs or 0)
            for need in self.need
        )
        value, feeders = min(found, key=lambda one: float(one[0]))
        return float(value), np.asarray(feeders)


def wired_of(
    building: Building,
    rooms: Rooms,
    sizes: Sizes,
    legs: Sequence[Leg],
    counted: Mapping[str, tuple[float, float]],
    feet: Callable[[Sequence[str]], Floats],
) -> Wired | None:
    """What a circuit asks for; None if that is nothing, or if it has too many boxes or orders to go through.

    Parameters
    ----------
    legs : sequence of Leg
        The cables into its boxes.
    counted : mapping of box to (float, float)
        What is counted elsewhere for its first cable and for each further one. Of other boxes nothing is asked.
    feet : function of boxes
        Least length of a cable from each of some boxes to each other, (boxes, boxes).
    """
    if not 0 < len(legs) <= FEW_BOXES:
        return None
    circuit, names = legs[0].circuit, [leg.box for leg in legs]
    controls = [control for control in building.controls if control.circuit == circuit.id]
    devices = [device for device in building.devices if device.circuit == circuit.id]
    circuitry = Circuitry(circuit, devices, controls, names, building.wiring)
    if prod(len(orders) for orders in circuitry.orders.values()) > FEW_ORDERS:
        return None
    store = Store(building)
    kinds = [[store.cable(circuit, leg.id, count, sizes) for count in range(MOST + 1)] for leg in legs]
    # Where the scene names single cables, what is in a box is not known by conductors alone.
    alike = all(own == kinds[0] for own in kinds)
    held = [store.inside(kind) if kind is not None else [] for kind in kinds[0]]
    sheaths = np.array([max(len(one), 1) for one in held])
    inside = np.array([max(sum(number for _, number in one), PLAIN) for one in held])
    found = Wired(
        need=_needs(circuitry, len(legs)),
        more=_more(building, legs, kinds, feet([circuit.panel, *names])),
        sheaths=sheaths,
        inside=inside,
        boxes=_boxes(building, rooms, legs, counted if alike else {}, int(inside.max())),
    )
    asks = (found.need > PLAIN).any() or (np.isfinite(found.boxes) & (found.boxes > 0)).any()
    return found if asks else None


def _needs(circuitry: Circuitry, count: int) -> Ints:
    """Conductors before each set of boxes, by orders of points.

    Two where a device protects others: what their cables carry hangs on the tree.
    """
    if circuitry.guards:
        return np.full((1, 2**count), PLAIN)
    behind = np.zeros((2**count, count + 1), dtype=np.int64)
    behind[:, 1:] = (np.arange(2**count)[:, None] >> np.arange(count)) & 1
    orders = product(*(range(len(own)) for own in circuitry.orders.values()))
    needs = np.array([circuitry.conductors_before(behind, one) for one in orders])
    result: Ints = np.clip(needs, PLAIN, MOST)
    return result


def _more(building: Building, legs: Sequence[Leg], kinds: Sequence[Sequence[CableType | None]], feet: Floats) -> Floats:
    boxes = {box.id: box for box in building.boxes}
    ends = [boxes[legs[0].circuit.panel], *(boxes[leg.box] for leg in legs)]
    more = np.zeros((len(ends), len(ends), MOST + 1))
    for v, (leg, own) in enumerate(zip(legs, kinds, strict=True), 1):
        for count in range(PLAIN, MOST + 1):
            kind = own[count]
            if not leg.done:
                more[:, v, count] = np.inf if kind is None else _dearer(building, leg, kind, ends, ends[v], feet[:, v])
    return more


def _dearer(building: Building, leg: Leg, kind: CableType, feeders: Sequence[Box], end: Box, feet: Floats) -> Floats:
    """What a cable of a kind costs more than what its way is priced with, from each feeder."""
    slack = 1 + building.lengths.slack_share
    at_ends = [ends_price(building, kind, (by, end)) - ends_price(building, leg.kind, (by, end)) for by in feeders]
    result: Floats = np.maximum((kind.price_ft - leg.kind.price_ft) * feet * slack + np.array(at_ends), 0.0)
    return result


def _boxes(
    building: Building, rooms: Rooms, legs: Sequence[Leg], counted: Mapping[str, tuple[float, float]], largest: int
) -> Floats:
    boxes = {box.id: box for box in building.boxes}
    size = thinnest(legs)[legs[0].circuit.id]
    most = max(boxes[leg.box].cables_max for leg in legs)
    more = np.zeros((len(legs) + 1, most + 1, most * largest + 1))
    for v, leg in enumerate(legs, 1):
        more[v, boxes[leg.box].cables_max + 1 :] = np.inf
        for cables in range(1, boxes[leg.box].cables_max + 1 if leg.box in counted else 1):
            first, step = counted[leg.box]
            for conductors in range(PLAIN * cables, largest * cables + 1):
                last = (leg.circuit.id, size, conductors - PLAIN * (cables - 1))
                held = [(leg.circuit.id, size, PLAIN)] * (cables - 1) + [last]
                more[v, cables, conductors] = max(box_price(rooms, leg.box, held) - first - step * (cables - 1), 0.0)
    return more

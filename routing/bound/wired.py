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
from barnloom.routing.bound.alike import STATES, Alike, counts_of, grouped, states, strides_of
from barnloom.routing.bound.certain import Leg, box_price, thinnest
from barnloom.routing.bound.compiled import wired_tree
from barnloom.routing.cost import ends_price
from barnloom.routing.slab import Floats, Ints
from barnloom.routing.wiring.counting import MOST
from barnloom.routing.wiring.kinds import Sizes, Store
from barnloom.routing.wiring.nets import Circuitry
from barnloom.routing.wiring.room import Rooms

FEW_BOXES = 9
"""Boxes of a circuit up to which sets of them are gone through; of more it is counted how many of a group there are."""
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
) -> Wired | Alike | None:
    """What a circuit asks for; None if that is nothing, or if it has too many orders or groups to go through.

    Parameters
    ----------
    legs : sequence of Leg
        The cables into its boxes.
    counted : mapping of box to (float, float)
        What is counted elsewhere for its first cable and for each further one. Of other boxes nothing is asked.
    feet : function of boxes
        Least length of a cable from each of some boxes to each other, (boxes, boxes).
    """
    if not legs:
        return None
    circuit, names = legs[0].circuit, [leg.box for leg in legs]
    controls = [control for control in building.controls if control.circuit == circuit.id]
    devices = [device for device in building.devices if device.circuit == circuit.id]
    circuitry = Circuitry(circuit, devices, controls, names, building.wiring)
    few, orders = len(legs) <= FEW_BOXES, prod(len(own) for own in circuitry.orders.values())
    if few and orders > FEW_ORDERS:
        return None
    store = Store(building)
    kinds = [[store.cable(circuit, leg.id, count, sizes) for count in range(MOST + 1)] for leg in legs]
    # Where the scene names single cables, what is in a box is not known by conductors alone.
    alike = all(own == kinds[0] for own in kinds)
    held = [store.inside(kind) if kind is not None else [] for kind in kinds[0]]
    sheaths = np.array([max(len(one), 1) for one in held])
    inside = np.array([max(sum(number for _, number in one), PLAIN) for one in held])
    known = counted if alike else {}

    def costs() -> tuple[Floats, Floats]:
        return (
            _more(building, legs, kinds, feet([circuit.panel, *names])),
            _boxes(building, rooms, legs, known, int(inside.max())),
        )

    if not few:
        return _of_many(circuitry, orders, sheaths, inside, costs)
    more, boxes = costs()
    found = Wired(need=_needs(circuitry, len(legs)), more=more, sheaths=sheaths, inside=inside, boxes=boxes)
    asks = (found.need > PLAIN).any() or (np.isfinite(found.boxes) & (found.boxes > 0)).any()
    return found if asks else None


def _of_many(
    circuitry: Circuitry, orders: int, sheaths: Ints, inside: Ints, costs: Callable[[], tuple[Floats, Floats]]
) -> Alike | None:
    """The same for many boxes; None where no cable needs more than two conductors, or too much is to be gone through.

    What cables before some boxes need is the least that any order of points, and any boxes of the same groups, ask for.
    """
    if circuitry.guards:
        return None
    exact, group = grouped(circuitry.parts())
    sizes = np.bincount(exact)
    if states(sizes) * orders > STATES:
        return None
    fine = counts_of(sizes)
    rank = np.array([int((exact[:n] == own).sum()) for n, own in enumerate(exact)])
    needs = _all_needs(circuitry, (fine[:, exact] > rank).astype(np.int64)).min(axis=0)
    if needs.max() <= PLAIN:
        return None
    size = np.bincount(group)
    stride = strides_of(size)
    need = np.full(states(size), MOST)
    one_of = np.array([stride[group[np.flatnonzero(exact == own)[0]]] for own in range(len(sizes))])
    np.minimum.at(need, fine @ one_of, needs)
    need[0] = 0
    more, boxes = costs()
    return Alike(
        group=np.append(0, group),
        size=size,
        need=need,
        more=more,
        least=least_of(boxes, sheaths, inside),
    )


def least_of(boxes: Floats, sheaths: Ints, inside: Ints) -> Floats:
    """What a box costs more at least: (boxes + 1, MOST + 1, MOST + 1), as in ``Alike``.

    What hangs on it comes by one cable, or by several with at least two conductors each.
    """
    cables, wires = (np.arange(length) for length in boxes.shape[1:])
    can_be = (PLAIN * cables[:, None] <= wires) & (wires <= inside.max() * cables[:, None])
    low = np.where(can_be, boxes, np.inf)
    for axis in (1, 2):
        low = np.flip(np.minimum.accumulate(np.flip(low, axis), axis), axis)
    found = np.full((len(boxes), MOST + 1, MOST + 1), np.inf)
    for own in range(PLAIN, MOST + 1):
        for behind in (0, *range(PLAIN, MOST + 1)):
            k = sheaths[own] + (min(sheaths[behind], 2) if behind else 0)
            t = inside[own] + (min(inside[behind], 2 * PLAIN) if behind else 0)
            if k < low.shape[1] and t < low.shape[2]:
                found[:, own, behind] = low[:, k, t] if behind else boxes[:, k, t]
    return found


def _needs(circuitry: Circuitry, count: int) -> Ints:
    """Conductors before each set of boxes, by orders of points.

    Two where a device protects others: what their cables carry hangs on the tree.
    """
    if circuitry.guards:
        return np.full((1, 2**count), PLAIN)
    return _all_needs(circuitry, (np.arange(2**count)[:, None] >> np.arange(count)) & 1)


def _all_needs(circuitry: Circuitry, behind: Ints) -> Ints:
    """(orders, n) conductors of a cable before some boxes, (n, boxes) ones and noughts, by orders of points."""
    places = np.concatenate([np.zeros((len(behind), 1), dtype=np.int64), behind], axis=1)
    orders = product(*(range(len(own)) for own in circuitry.orders.values()))
    needs = np.array([circuitry.conductors_before(places, one) for one in orders])
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
    # Where no way leads the cable costs no less, but without end by itself.
    known = np.where(np.isfinite(feet), feet, 0.0)
    result: Floats = np.maximum((kind.price_ft - leg.kind.price_ft) * known * slack + np.array(at_ends), 0.0)
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

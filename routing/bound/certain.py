"""What any plan pays for boxes and devices, whatever its routes; and the cables that it has, each the cheapest one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from barnloom.model.building import Building, CableType, Circuit
from barnloom.model.electrical.fill import easy, fits
from barnloom.model.electrical.tables import conductor_volume
from barnloom.routing.cost import making_key
from barnloom.routing.wiring.kinds import Sizes, Store
from barnloom.routing.wiring.room import Inside, Rooms


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """The cable that feeds a box on a circuit, whatever box it comes from."""

    id: str
    circuit: Circuit
    box: str
    kind: CableType
    """No cable that could be this one costs less a foot."""
    done: bool
    """Pulled already: it costs nothing."""
    feeder: str
    """Box that must feed it; empty: any."""
    avoid: tuple[str, ...]


def legs_of(building: Building, sizes: Sizes) -> list[Leg]:
    """Every cable that a plan has, circuit by circuit."""
    store = Store(building)
    rules = {rule.cable: rule for rule in building.cable_rules}
    fed = {box.id: box.fed_from for box in building.boxes}
    legs = []
    for circuit in building.circuits:
        there = {circuit.panel, *circuit.boxes}
        for box in circuit.boxes:
            name = f"{circuit.id}.{box}"
            rule = rules.get(name)
            feeder = (rule.from_box if rule else "") or fed[box]
            legs.append(
                Leg(
                    id=name,
                    circuit=circuit,
                    box=box,
                    kind=_cheapest(store, circuit, name, sizes),
                    done=rule is not None and rule.done,
                    feeder=feeder if feeder in there else "",
                    avoid=rule.avoid if rule else (),
                )
            )
    return legs


def _cheapest(store: Store, circuit: Circuit, cable: str, sizes: Sizes) -> CableType:
    """Of all cables that this one may turn out to be the one with the lowest price."""
    pinned = store.types.get(store.pins.get(cable, ""))
    if pinned is not None:
        return pinned
    said = store.types.get(circuit.cable)
    family = said.family if said is not None else store.family
    size = said.awg if said is not None else sizes.of(circuit.id, cable)
    fewest = said.conductors if said is not None else 1
    fit = [k for k in store.types.values() if k.family == family and k.awg == size and not k.parts]
    fit = [k for k in fit if k.conductors > fewest]
    return min([*([said] if said is not None else []), *fit], key=lambda kind: (kind.price_ft, kind.id))


def devices(building: Building, legs: Sequence[Leg]) -> float:
    """Money for making up what is in boxes that are fed."""
    price, fed = building.prices, {leg.box for leg in legs}
    return price["minute"] * sum(price[making_key(building, one)] for one in building.devices if one.box in fed)


def boxes(building: Building, rooms: Rooms, legs: Sequence[Leg]) -> tuple[dict[str, float], dict[str, float]]:
    """
    What boxes cost at least, by box.

    Returns
    -------
    first : dict
        Money with one cable of each of its circuits.
    more : dict
        Money for each further cable, however many there are.
    """
    thin = thinnest(legs)
    first, more = {}, {}
    for box in (box for box in building.boxes if box.kind == "box"):
        own = [leg for leg in legs if leg.box == box.id]
        if not own or not is_known(rooms, box.id, legs):
            continue
        cables = [(leg.circuit.id, thin[leg.circuit.id], 2) for leg in own]
        least = box_price(rooms, box.id, cables)
        if not np.isfinite(least):
            continue
        first[box.id] = least
        if len(own) == 1:
            prices = [box_price(rooms, box.id, cables * count) for count in range(2, max(box.cables_max, 1) + 1)]
            step = min(((later - least) / n for n, later in enumerate(prices, 1)), default=0.0)
            if 0 < step < np.inf:
                more[box.id] = step
    return first, more


def thinnest(legs: Sequence[Leg]) -> dict[str, int]:
    """By circuit, the size (AWG) of its thinnest cable."""
    sizes: dict[str, int] = {}
    for leg in legs:
        sizes[leg.circuit.id] = max(sizes.get(leg.circuit.id, 0), leg.kind.awg)
    return sizes


def is_known(rooms: Rooms, box: str, legs: Sequence[Leg]) -> bool:
    """Whether it is known how large a box is, and all that may be in it."""
    circuits = {leg.circuit.id for leg in legs if leg.box == box}
    return box not in rooms.unknown and all(leg.kind.awg for leg in legs if leg.circuit.id in circuits)


def box_price(rooms: Rooms, box: str, cables: Sequence[Inside]) -> float:
    """Price of the cheapest box that holds cables, folding them in included; infinite if none does.

    More or larger cables never want a cheaper one: they fit into fewer, and into none more easily.
    """
    fill = sum(line.total_in3 for line in rooms.fill(box, cables, None))
    largest = max(conductor_volume(awg) for _, awg, _ in cables)
    prices = [0.0] if not rooms.offers[box] else []
    for offer in rooms.offers[box]:
        taken = rooms.limits["fill.clamps"] * offer.clamps_inside + rooms.limits["fill.stud"] * offer.stud
        held = fill + taken * largest
        if fits(held, offer.volume_in3):
            prices.append(offer.price + (0.0 if easy(held, offer.volume_in3, rooms.limits) else rooms.tight))
    return min(prices, default=np.inf)

"""What cables share and what is paid once: holes, the rows they are bored in, boards; with their least prices."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barnloom.model.building import Building, Role
from barnloom.model.cables import cables_per_hole
from barnloom.model.limits import Limits, at_most
from barnloom.routing.bores import PLATES
from barnloom.routing.cost import board_price, hole_prices
from barnloom.routing.graph import Tracks
from barnloom.routing.slab import Floats, Ints


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Items:
    """Things that a cable needs and others may share: new holes, and stretches of boards still to be put up.

    An item costs ``price`` once, however many cables use it, and ``room`` cables may at most. What has a ``group``
    (row of holes, or board) needs that group's ``shared`` price paid once more.
    """

    price: Floats
    """(items,) money."""
    room: Ints
    """(items,) cables."""
    group: Ints
    """(items,) number of the group, or -1."""
    shared: Floats
    """(groups,) money."""
    tired: Floats
    """(items,) money that a hole costs once overhead work tires; 0 where it is not overhead."""
    of_bore: Ints
    """(candidates,) item of each candidate, or -1: an old hole costs nothing."""
    of_edge: Ints
    """(edges,) item of each edge, or -1: of its hole, or of its stretch of a board."""


def items_of(tracks: Tracks) -> Items:
    """All items of a building's tracks."""
    table, edges, holes = tracks.bores, tracks.edges, hole_prices(tracks)
    price = tracks.building.prices
    new = np.flatnonzero(table.hole < 0)
    of_bore = np.full(len(table.hole), -1)
    of_bore[new] = np.arange(len(new))
    in_row = holes.row[new] >= 0
    group = np.full(len(new), -1)
    names, group[in_row] = np.unique(holes.row[new][in_row], return_inverse=True)
    rows = np.full(len(names), price["minute"] * price["row_setup"])
    stretches, boards, put_up = _boards(tracks)
    of_edge = np.where(edges.bore >= 0, np.append(of_bore, -1)[edges.bore], -1)
    of_edge[stretches] = len(new) + np.arange(len(stretches))
    return Items(
        price=np.concatenate([holes.each[new], np.zeros(len(stretches))]),
        room=np.concatenate([_rooms(tracks)[new], np.full(len(stretches), 10**6)]).astype(np.int64),
        group=np.concatenate([group, len(rows) + boards]).astype(np.int64),
        shared=np.concatenate([rows, put_up]),
        tired=np.concatenate([holes.tiring[new], np.zeros(len(stretches))]),
        of_bore=of_bore,
        of_edge=of_edge,
    )


def _rooms(tracks: Tracks) -> Ints:
    """(candidates,) the most cables that a hole there may hold, were all of them as thin as the thinnest sold."""
    building, limits, table = tracks.building, tracks.limits, tracks.bores
    bits = building.tools.bits_in
    held = np.array([_held(building, limits, bit) for bit in bits])
    room = np.where(table.legal, held, 0).max(axis=1, initial=0)
    if building.insulated != "no":
        plates = np.array([building.members[m].role in PLATES for m in table.member], dtype=bool)
        room = np.where(plates, np.minimum(room, int(limits["cable.sealed_together"])), room)
    found: Ints = np.maximum(room, 1)
    return found


def _held(building: Building, limits: Limits, bit: float) -> int:
    """The most cables that a bit's hole may hold: no cable sold is thinner or narrower than what is counted with."""
    single = [kind for kind in building.cable_types if not kind.parts]
    thin, narrow = min(kind.thickness_in for kind in single), min(kind.width_in for kind in single)
    count = cables_per_hole(bit, building.tools.per_hole)
    while count > 1 and not at_most(np.hypot(narrow, count * thin), limits["hole.fill_share"] * bit):
        count -= 1
    return count


def _boards(tracks: Tracks) -> tuple[Ints, Ints, Floats]:
    """Edges along boards still to be put up, the number of each one's board, and what each board costs."""
    building, edges = tracks.building, tracks.edges
    found: list[Ints] = []
    numbers: list[Ints] = []
    costs: dict[int, float] = {}
    places: dict[int, int] = {}
    for n, face in enumerate(tracks.faces):
        member = building.members[face.member]
        if member.role is not Role.BOARD or member.in_place:
            continue
        number = places.setdefault(face.member, len(places))
        costs[number] = board_price(building, member)
        low, high = int(tracks.face_base[n]), int(tracks.face_base[n + 1])
        on = np.flatnonzero((edges.a >= low) & (edges.a < high) & (edges.b >= low) & (edges.b < high))
        on = on[(edges.via[on] < 0) & (edges.length[on] > 1e-6)]
        found.append(on)
        numbers.append(np.full(len(on), number))
    none = np.empty(0, dtype=np.int64)
    return (
        np.concatenate([none, *found]),
        np.concatenate([none, *numbers]),
        np.array([costs[n] for n in range(len(costs))], dtype=np.float64),
    )

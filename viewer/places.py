"""Where each leg of a cable, each box and each member of a plan is: its storey, and its wall, floor or timber."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from barnloom.model.building import Assembly, Box, Member
from barnloom.routing.plan import Cable, Plan

_UNDER_IN, _BESIDE_IN = 16.0, 12.0
"""How far under a ceiling, and beyond its edges, a timber or board still carries its cable."""


@dataclass(frozen=True, slots=True)
class Place:
    """An assembly, or a single timber or board, by its id; and its storey."""

    assembly: str
    storey: str


class Places:
    """Places of a plan, and which of them belong together."""

    def __init__(self, plan: Plan) -> None:
        building = plan.building
        self._plan = plan
        self._assemblies = {a.id: a for a in building.assemblies}
        self._members = {m.id: m for m in building.members}
        self._bored = {bore.id: bore.member for bore in plan.bores}

    def of(self, host: str) -> Place:
        """Return the place of a member or an assembly."""
        assembly = self._assemblies.get(host)
        if assembly:
            return Place(assembly.id, assembly.storey)
        member = self._members[host]
        return Place(member.assembly, member.storey)

    def legs(self, cable: Cable) -> list[Place]:
        """Return the place of each leg of a cable."""
        return [self.of(self._host(track)) for track in cable.tracks]

    def of_box(self, box: Box) -> Place:
        """Return the place of a box, a panel or a stub."""
        return self.of(box.host)

    def storeys_of(self, circuit: str) -> tuple[str, ...]:
        """Return the storeys that the cables of a circuit are in, in the building's order."""
        cables = (cable for cable in self._plan.cables if circuit in cable.circuit.split())
        used = {place.storey for cable in cables for place in self.legs(cable)}
        return tuple(storey.id for storey in self._plan.building.storeys if storey.id in used)

    def holds(self, *, storeys: Sequence[str] = (), assemblies: Sequence[str] = ()) -> bool:
        """Whether boxes or cable are in any of these storeys, or in any of these assemblies."""
        own = (*assemblies, *self.carriers(assemblies))
        return any(place.storey in storeys or place.assembly in own for place in self._in_use())

    def holds_more_than(self, assemblies: Sequence[str]) -> bool:
        """Whether boxes or cable are anywhere but in these assemblies."""
        return any(place.assembly not in assemblies for place in self._in_use())

    def carriers(self, assemblies: Sequence[str]) -> tuple[str, ...]:
        """Return the single timbers and boards that lie in or close under ceilings, and carry cable or boxes."""
        used = {self._host(track) for cable in self._plan.cables for track in cable.tracks}
        used |= {box.host for box in self._plan.building.boxes}
        timbers = [self._members[name] for name in used if name in self._members]
        ceilings = [self._assemblies[name] for name in assemblies if self._assemblies[name].kind != "wall"]
        near = {t.id for t in timbers if t.assembly == t.id and any(_under(t, ceiling) for ceiling in ceilings)}
        return tuple(sorted(near))

    def _in_use(self) -> Iterator[Place]:
        yield from (self.of_box(box) for box in self._plan.building.boxes)
        yield from (place for cable in self._plan.cables for place in self.legs(cable))

    def _host(self, track: str) -> str:
        """Return the member or assembly that a leg is in, from its track."""
        first, *rest = track.split(" ")
        return self._bored[rest[0]] if first == "bore" else first


def _under(timber: Member, ceiling: Assembly) -> bool:
    axes = np.array([timber.along, timber.bit, timber.across])
    size = np.array([timber.length_in, timber.thickness_in, timber.depth_in])
    middle = np.array(timber.origin) + size / 2 @ axes - np.array(ceiling.origin)
    u, v, w = (float(far) for far in np.array([ceiling.u, ceiling.v, ceiling.w]) @ middle)
    return (
        -_UNDER_IN < w < ceiling.depth_in + ceiling.skin_in
        and ceiling.extent_u[0] - _BESIDE_IN < u < ceiling.extent_u[1] + _BESIDE_IN
        and ceiling.extent_v[0] - _BESIDE_IN < v < ceiling.extent_v[1] + _BESIDE_IN
    )

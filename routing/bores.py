"""Places where a bit may go: candidates for the router, each with the bits that are legal there.

One candidate is one place on one member. Its band comes from ``model.boring``; its aim is on the print grid. Prices are
looked up by its pose.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barnloom.model.boring import reusable
from barnloom.model.building import Building, Member, Right, Role
from barnloom.model.limits import Limits, at_least
from barnloom.routing.aims import AimBook
from barnloom.routing.slab import Floats, Ints
from barnloom.routing.wishes import KNEELING_IN, REACH_IN

STUDS = frozenset({Role.STUD, Role.KING, Role.JACK, Role.CRIPPLE, Role.POST})
PLATES = frozenset({Role.SOLE_PLATE, Role.TOP_PLATE, Role.SILL})
DOUBLED_IN = 2.75
"""A pack thicker than this is priced as doubled."""


def is_wood_row(role: Role) -> bool:
    """Whether holes in a member of this role are bored in rows (studs, joists), rather than one by one (plates)."""
    return role not in PLATES and role is not Role.BLOCK


def single_bored(building: Building) -> frozenset[str]:
    """Doubled studs that are bored as single ones: the third in a row, for two at most may be bored wide (R602.6)."""
    most = int(Limits(building.limits)["stud.doubled_run"])
    found = []
    for assembly in building.assemblies:
        studs = [m for m in building.members if m.assembly == assembly.id and m.role in STUDS]
        run = 0
        for stud in sorted(studs, key=lambda m: float(np.dot(m.origin, assembly.u))):
            run = run % (most + 1) + 1 if len(stud.plies) > 1 else 0
            if run > most:
                found.append(stud.id)
    return frozenset(found)


def pose_of(building: Building, member: Member, height_in: float) -> str:
    """Key of the price that a bore has: by member, height over the floor below it, and pose.

    ``height_in`` is over the floor of the storey that one stands on to bore it.
    """
    if member.corner and member.role in STUDS:
        return "corner"
    if member.role in STUDS:
        if member.thickness_in > DOUBLED_IN:
            return "stud_doubled"
        return "stud" if KNEELING_IN - 1e-6 <= height_in <= REACH_IN + 1e-6 else "stud_high"
    if member.role is Role.TOP_PLATE:
        return "plate_below"
    if member.role in (Role.SOLE_PLATE, Role.SILL):
        return "sole_plate"
    if member.role is Role.BLOCK:
        return "block"
    if member.role is Role.RIM:
        return "rim"
    return "joist_low" if height_in <= 96 + 1e-6 else "joist_mid" if height_in <= 120 + 1e-6 else "joist_high"


@dataclass(frozen=True, eq=False, slots=True)
class BoreTable:
    """All candidates, as parallel arrays (n,): ``legal`` is (n, bits), ``hole`` the number of an old hole or -1.

    ``strip`` (n, 2) narrows the band across (a plate beside a joist); infinite where nothing does.
    """

    member: Ints
    along: Floats
    across: Floats
    legal: NDArray[np.bool_]
    hole: Ints
    plates: Ints
    strip: Floats
    pose: tuple[str, ...]
    taken: NDArray[np.bool_]
    """Old holes that are only there for the cables that have been pulled through them."""


class BoreMaker:
    """Collects candidates while the tracks are built: the one thing here that has to remember, for parallel arrays."""

    def __init__(self, building: Building, limits: Limits, book: AimBook) -> None:
        """Begin with none; ``book`` holds the aims that have been worked out, and takes up what is now."""
        self.building, self.limits, self._book = building, limits, book
        self.bits = building.tools.bits_in
        self.grid = building.tools.grid_in
        self.floors = {storey.id: storey.floor_in for storey in building.storeys}
        self._member: list[Ints] = []
        self._along: list[Floats] = []
        self._across: list[Floats] = []
        self._legal: list[NDArray[np.bool_]] = []
        self._hole: list[Ints] = []
        self._plates: list[Ints] = []
        self._single = single_bored(building)
        self._strip: list[Floats] = []
        self._pose: list[str] = []
        self._taken: list[NDArray[np.bool_]] = []
        self.pulled_through = {hole for rule in building.cable_rules for hole in rule.holes or ()}
        self.count = 0

    def add(
        self,
        number: int,
        along_in: Floats,
        wish_in: float,
        strip: tuple[float, float] = (-np.inf, np.inf),
        room_in: Floats | float = np.inf,
    ) -> tuple[Ints, Floats]:
        """Candidates on one member at places along it.

        Parameters
        ----------
        strip : (float, float)
            What is free across it on both faces, inches.
        room_in : (n,) float
            How far it is along it, at each place, from the hole's middle to the next wood that stands on either face.

        Returns
        -------
        numbers : (n,) int
            Candidate numbers; -1 where no bit is legal.
        across : (n,) float
            Their aims (NaN where none).
        """
        member = self.building.members[number]
        steps = np.round(along_in / self.grid).astype(np.int64)
        along = steps.astype(np.float64) * self.grid
        legal, across, plates = self._looked_at(number, steps, wish_in, strip, room_in)
        hole, taken = np.full(len(along), -1), np.zeros(len(along), dtype=bool)
        for index, old in enumerate(member.holes):
            if old.diameter_in is None or not strip[0] <= old.across_in <= strip[1]:
                continue
            at = np.abs(along_in - old.along_in) < 0.75 * self.grid
            if not at.any():
                continue
            barred = bool(reusable(member, self.limits, old))
            if not barred or old.id in self.pulled_through:
                taken |= at & barred
                along = np.where(at, old.along_in, along)
                across = np.where(at, old.across_in, across)
                legal[at] = True
                hole = np.where(at, index, hole)
        # A place off the grid is no place for a new hole; one on the grid is beside it.
        legal &= (np.abs(along - along_in) < 1e-6)[:, None]
        ok = legal.any(axis=1)
        numbers = np.where(ok, self.count + np.cumsum(ok) - 1, -1)
        kept = np.flatnonzero(ok)
        self.count += len(kept)
        self._member.append(np.full(len(kept), number))
        self._along.append(along[kept])
        self._across.append(across[kept])
        self._legal.append(legal[kept])
        self._hole.append(hole[kept])
        self._taken.append(taken[kept])
        self._plates.append(plates[kept])
        self._strip.append(np.tile(np.array(strip), (len(kept), 1)))
        places = np.array(member.origin) + along[kept, None] * np.array(member.along)
        floor = self.floors.get(member.storey, 0.0)
        self._pose += [pose_of(self.building, member, float(z) - floor) for z in places[:, 2]]
        return numbers, across

    def legal(
        self,
        number: int,
        along_in: Floats,
        wish_in: float,
        strip: tuple[float, float] = (-np.inf, np.inf),
        room_in: Floats | float = np.inf,
    ) -> NDArray[np.bool_]:
        """Which bits may bore a member at places along it that are on the print grid, (n, bits); as for ``add``."""
        steps = np.round(along_in / self.grid).astype(np.int64)
        legal, _, _ = self._looked_at(number, steps, wish_in, strip, room_in)
        result: NDArray[np.bool_] = legal & (np.abs(steps * self.grid - along_in) < 1e-6)[:, None]
        return result

    def _looked_at(
        self, number: int, steps: Ints, wish: float, strip: tuple[float, float], room: Floats | float
    ) -> tuple[NDArray[np.bool_], Floats, Ints]:
        member = self.building.members[number]
        wide = member.id not in self._single
        found = self._book.looked_up(self.building, self.limits, member, steps, wish, strip, wide=wide)
        needed = np.array(self.bits) / 2 + self._beside(member)
        legal = np.isfinite(found.across) & at_least(np.broadcast_to(room, len(steps))[:, None], needed)
        # The smallest legal bit decides the aim that routes are priced with.
        smallest = (np.arange(len(steps)), legal.argmax(axis=1))
        some = legal[smallest]
        return legal, np.where(some, found.across[smallest], np.nan), np.where(some, found.plates[smallest], 0)

    def _beside(self, member: Member) -> float:
        """How far a hole's edge stays off the wood that stands on a face of its member."""
        plate = member.role in PLATES or member.role is Role.BLOCK
        return self.limits["plate.member_gap"] if plate else 0.0

    def table(self) -> BoreTable:
        """Everything collected."""
        none = np.empty(0)
        return BoreTable(
            member=np.concatenate([np.empty(0, dtype=np.int64), *self._member]),
            along=np.concatenate([none, *self._along]),
            across=np.concatenate([none, *self._across]),
            legal=np.concatenate([np.zeros((0, len(self.bits)), dtype=bool), *self._legal]),
            hole=np.concatenate([np.empty(0, dtype=np.int64), *self._hole]),
            plates=np.concatenate([np.empty(0, dtype=np.int64), *self._plates]),
            strip=np.concatenate([np.empty((0, 2)), *self._strip]),
            pose=tuple(self._pose),
            taken=np.concatenate([np.zeros(0, dtype=bool), *self._taken]),
        )


def borable(member: Member) -> bool:
    """Whether a new or an old hole in it could be used at all."""
    return member.bore is Right.FREE or (member.bore is Right.MAKER and bool(member.maker or member.holes))

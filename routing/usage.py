"""What the cables routed so far use: holes and bay sides, and what that makes of live prices.

A hole that is bored costs only the pulling, as long as one more cable fits with a bit that is legal there; places too
near it in the same member are closed; a bay side takes cables only as its width allows (300.4(D) as a capacity).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from barnloom.model.building import CableType
from barnloom.model.cables import fill_ok
from barnloom.model.limits import Limits
from barnloom.routing.bores import PLATES, STUDS
from barnloom.routing.cost import edge_prices, hole_prices
from barnloom.routing.graph import Tracks
from barnloom.routing.search import whole_money, whole_prices
from barnloom.routing.slab import Floats, Ints


@dataclass(eq=False, slots=True)
class _EdgePrices:
    """Prices of edges for one type of cable: with nothing in holes and lanes, as it is now, and what is out of date."""

    base: Floats
    live: Floats
    stale_members: set[int] = field(default_factory=set)
    stale_lanes: set[int] = field(default_factory=set)


class Index:
    """Where in an array each of its values stands."""

    def __init__(self, values: Ints) -> None:
        self.order = np.argsort(values, kind="stable")
        self.sorted = values[self.order]

    def of(self, wanted: Ints) -> Ints:
        """Places of all of these values, in their order; none of those that stand nowhere."""
        begin = np.searchsorted(self.sorted, wanted)
        count = np.searchsorted(self.sorted, wanted, side="right") - begin
        before = np.cumsum(count) - count
        result: Ints = self.order[np.repeat(begin - before, count) + np.arange(int(count.sum()))]
        return result


class Usage:
    """Loads on holes and lanes while cables come and go. It remembers what no caller could hold more simply."""

    def __init__(self, tracks: Tracks, *, tired: bool = False) -> None:
        """Begin with nothing in use.

        Parameters
        ----------
        tired : bool
            Whether overhead holes cost what they do after the first few.
        """
        self.tracks = tracks
        self.limits: Limits = tracks.limits
        self.tools = tracks.building.tools
        self.types = {kind.id: kind for kind in tracks.building.cable_types}
        table = tracks.bores
        order = np.argsort(table.member, kind="stable")
        cuts = np.flatnonzero(np.diff(table.member[order])) + 1
        groups = np.split(order, cuts) if len(order) else []
        self.of_member: dict[int, Ints] = {int(table.member[group[0]]): group for group in groups}
        self.holes = hole_prices(tracks)
        self.boring = self.holes.marginal(tired=tired)
        # A hole between floors that will be sealed keeps to as many cables as need no derating (NEC 334.80).
        self.sealed = tracks.building.insulated != "no"
        self.loads: dict[int, tuple[str, ...]] = {}
        self._alone: dict[str, Floats] = {}
        self._alone_bit: dict[str, Floats] = {}
        self._live: dict[str, Floats] = {}
        self._stale: dict[str, set[int]] = {}
        self._edges: dict[str, _EdgePrices] = {}
        self.bored: dict[int, set[int]] = {member: set() for member in self.of_member}
        """Candidates in use, by member."""
        self._states: dict[tuple[str, int, tuple[tuple[int, tuple[str, ...]], ...]], Floats] = {}
        self._held: dict[int, tuple[tuple[int, tuple[str, ...]], ...]] = {}
        """By member, candidates in use with what is in them, in order; none of those that have to be looked up anew."""
        self._sizes = np.zeros(len(table.hole))
        """(candidates,) size of the hole that is bored for what is in it; 0 where none is."""
        self._fills: dict[tuple[str, ...], list[bool]] = {}
        self._through, self._along = Index(tracks.edges.bore), Index(tracks.edges.lane)
        self.lane_count = np.zeros(len(tracks.lane_room_in), dtype=np.int64)
        self.lane_widest = np.zeros(len(tracks.lane_room_in))
        self.lane_loads: dict[int, list[str]] = {}

    def add(self, cable_type: str, bores: list[int], lanes: list[int], step: int = 1) -> None:
        """Put one cable through holes and lanes, or take it out again (``step`` -1)."""
        for bore in bores:
            member = int(self.tracks.bores.member[bore])
            for stale in self._stale.values():
                stale.add(member)
            self._held.pop(member, None)
            load = list(self.loads.get(bore, ()))
            load.append(cable_type) if step > 0 else load.remove(cable_type)
            if load:
                self.loads[bore] = tuple(sorted(load))
                self.bored[member].add(bore)
                self._sizes[bore] = self._size(bore, self.loads[bore])
            else:
                del self.loads[bore]
                self.bored[member].remove(bore)
                self._sizes[bore] = 0.0
        for lane in lanes:  # a cable that comes back through a bay is in it twice
            load = self.lane_loads.setdefault(lane, [])
            load.append(cable_type) if step > 0 else load.remove(cable_type)
            self.lane_count[lane] = sum(self.types[t].sheaths for t in load)
            self.lane_widest[lane] = max((self.types[t].width_in for t in load), default=0.0)
        for prices in self._edges.values():
            prices.stale_lanes.update(lanes)

    def bit_for(self, bore: int, cable_types: Sequence[str]) -> float | None:
        """Smallest bit (or the old hole's size) that takes all these cables at a candidate; None if none does."""
        table = self.tracks.bores
        old = int(table.hole[bore])
        if self.sealed or old >= 0:
            member = self.tracks.building.members[int(table.member[bore])]
            kinds = [self.types[t] for t in cable_types]
            if old >= 0:
                kinds += [self.types[t] for t in member.holes[old].holds if t in self.types]
            together = sum(kind.sheaths for kind in kinds)
            if self.sealed and member.role in PLATES and together > self.limits["cable.sealed_together"]:
                return None
            if old >= 0:
                diameter = member.holes[old].diameter_in or 0.0
                per_hole = max([(d, n) for d, n in self.tools.per_hole if d <= diameter + 1e-6] or [(0.0, 1)])[1]
                return diameter if fill_ok(diameter, kinds, self.limits, ((diameter, per_hole),)) else None
        # A hole that is there, as large as it is by now, keeps its distance.
        now = self._sizes[bore]
        for k, fits in enumerate(self._fits(tuple(sorted(cable_types)))):
            if fits and table.legal[bore, k]:
                bit = self.tools.bits_in[k]
                if bit == now or self._clear(bore, bit):
                    return bit
        return None

    def _fits(self, load: tuple[str, ...]) -> list[bool]:
        """Whether so many cables, by type in order, fit into a new hole, for each bit."""
        if load not in self._fills:
            kinds = [self.types[t] for t in load]
            self._fills[load] = [fill_ok(bit, kinds, self.limits, self.tools.per_hole) for bit in self.tools.bits_in]
        return self._fills[load]

    def bore_costs(self, cable_type: str) -> Floats:
        """Live price of each candidate for one more cable of a type, infinite where it is closed; not to be changed.

        Only the members whose loads have changed since the last time are looked at.
        """
        if cable_type not in self._live:
            self._live[cable_type] = self.alone_costs(cable_type)
            self._stale[cable_type] = {int(self.tracks.bores.member[bore]) for bore in self.loads}
        live, stale = self._live[cable_type], self._stale[cable_type]
        if cable_type in self._edges:
            self._edges[cable_type].stale_members |= stale
        for member in stale:
            # Cables are taken out and put back time and again, so the same loads come up again.
            if member not in self._held:
                self._held[member] = tuple((bore, self.loads[bore]) for bore in sorted(self.bored[member]))
            state = (cable_type, member, self._held[member])
            if state not in self._states:
                self._states[state] = self._member_costs(cable_type, member)
            live[self.of_member[member]] = self._states[state]
        stale.clear()
        return live

    def prices(self, cable_type: str) -> Floats:
        """Live whole-number price of every edge for one more cable of a type, (edges,), kept up as cables come and go.

        Whoever changes it puts it back (``search.barring``).
        """
        bores = self.bore_costs(cable_type)
        kind = self.types[cable_type]
        if cable_type not in self._edges:
            base = base_prices(self.tracks, kind)
            self._edges[cable_type] = _EdgePrices(base, self._priced(kind, base, bores))
            return self._edges[cable_type].live
        its = self._edges[cable_type]
        stale = self._stale_edges(its)
        its.live[stale] = self._priced(kind, its.base, bores, stale)
        return its.live

    def prices_of_empty_holes(self, cable_type: str) -> Floats:
        """The same, (edges,), as if no hole were bored yet, but bay sides taken as they are."""
        kind = self.types[cable_type]
        return self._priced(kind, base_prices(self.tracks, kind), self.alone_costs(cable_type))

    def _priced(self, kind: CableType, base: Floats, bores: Floats, at: Ints | None = None) -> Floats:
        """Prices of some edges, or of all, with those of their holes and bay sides."""
        chosen: Ints | slice = slice(None) if at is None else at
        price, bore, lane = base[chosen].copy(), self.tracks.edges.bore[chosen], self.tracks.edges.lane[chosen]
        price[bore >= 0] += whole_money(bores[bore[bore >= 0]])
        price[lane >= 0] += self.full_lanes(kind, lane[lane >= 0])
        return price

    def unbored(self, edges: Ints) -> NDArray[np.bool_]:
        """Which of these edges, that go through candidates, want a new hole."""
        bores = self.tracks.edges.bore[edges]
        there = self.tracks.bores.hole >= 0
        there[list(self.loads)] = True
        return ~there[bores]

    def _stale_edges(self, its: _EdgePrices) -> Ints:
        """Edges whose price may have changed, which count as up to date from now on."""
        bores = [self.of_member[member] for member in its.stale_members]
        found = [self._through.of(np.concatenate(bores))] if bores else []
        if its.stale_lanes:
            found.append(self._along.of(np.array(sorted(its.stale_lanes))))
        its.stale_members.clear()
        its.stale_lanes.clear()
        return np.concatenate(found) if found else np.empty(0, dtype=np.int64)

    def _member_costs(self, cable_type: str, member: int) -> Floats:
        """Live prices of one member's candidates: new holes keep off those bored, as large as these are by now."""
        table, group = self.tracks.bores, self.of_member[member]
        price = self._alone[cable_type][group]
        bit = self._alone_bit[cable_type][group]
        loaded = sorted(self.bored[member])
        new = np.array([one for one in loaded if table.hole[one] < 0], dtype=np.int64)
        if len(new):
            apart = np.hypot(table.along[group, None] - table.along[new], table.across[group, None] - table.across[new])
            near = (apart < self._least_apart(member, bit[:, None], self._sizes[new]) - 1e-6).any(axis=1)
            price[near & (table.hole[group] < 0)] = np.inf
        fits = [self.bit_for(bore, (*self.loads[bore], cable_type)) is not None for bore in loaded]
        price[np.searchsorted(group, loaded)] = np.where(fits, 0.0, np.inf)
        return price

    def alone_costs(self, cable_type: str) -> Floats:
        """Price of each candidate for a cable as if alone in the building."""
        if cable_type not in self._alone:
            table = self.tracks.bores
            kind = [self.types[cable_type]]
            fits = np.array([fill_ok(bit, kind, self.limits, self.tools.per_hole) for bit in self.tools.bits_in])
            ok = table.legal & fits
            price = np.where(ok.any(axis=1), self.boring, np.inf)
            for old in np.flatnonzero(table.hole >= 0):
                if self.bit_for(int(old), (cable_type,)) is None:
                    price[old] = np.inf
            self._alone[cable_type] = price
            self._alone_bit[cable_type] = (
                np.array(self.tools.bits_in)[np.argmax(ok, axis=1)] if len(ok) else np.empty(0)
            )
        return self._alone[cable_type].copy()

    def full_lanes(self, kind: CableType, lanes: Ints) -> Floats:
        """Price added to each of these lanes for one more cable: 0, or infinite where it is full."""
        widest = np.maximum(self.lane_widest[lanes], kind.width_in)
        side = np.floor((self.tracks.lane_room_in[lanes] + 1e-6) / widest)
        room = np.maximum(side, 1) * self.tracks.lane_sides[lanes]
        return np.where(self.lane_count[lanes] + kind.sheaths <= room, 0.0, np.inf)

    def _least_apart(self, member: int, one: Floats | float, other: Floats | float) -> Floats:
        """From middle to middle of two new holes of these sizes in a member."""
        larger = np.maximum(one, other)
        return np.asarray((np.asarray(one) + other) / 2 + self._gap(member, larger))

    def _gap(self, member_number: int, diameter_in: Floats | float) -> Floats | float:
        """Wood kept between two holes of a member, the larger of them of this size."""
        role = self.tracks.building.members[member_number].role
        if role in STUDS or role in PLATES:
            return diameter_in * self.limits["stud.hole_gap_diameters"]
        return self.limits["joist.hole_gap"]

    def _clear(self, bore: int, bit: float) -> bool:
        """Whether a hole of this size keeps its distance from the other loaded ones in its member."""
        table = self.tracks.bores
        member = int(table.member[bore])
        others = np.array([one for one in self.bored[member] if one != bore and table.hole[one] < 0], dtype=np.int64)
        if not len(others):
            return True
        apart = np.hypot(table.along[others] - table.along[bore], table.across[others] - table.across[bore])
        return bool((apart >= self._least_apart(member, bit, self._sizes[others]) - 1e-6).all())

    def _size(self, bore: int, load: tuple[str, ...]) -> float:
        """Size of the hole that has to be bored at a candidate for a load."""
        bits, legal = self.tools.bits_in, self.tracks.bores.legal[bore].tolist()
        fit = (bit for bit, may, fits in zip(bits, legal, self._fits(load), strict=True) if may and fits)
        return next(fit, bits[-1])

    def full_places(self) -> dict[str, tuple[float, ...]]:
        """Members with a hole that takes no further cable, and the places beside it for a second one."""
        table = self.tracks.bores
        wanted: dict[str, set[float]] = {}
        grid = self.tools.grid_in
        for bore, load in self.loads.items():
            member = self.tracks.building.members[int(table.member[bore])]
            if self.bit_for(bore, (*load, load[0])) is None:
                bored = float(self._sizes[bore]) if table.hole[bore] < 0 else 0.0
                size = max(bored, self.tools.bits_in[0])
                step = np.ceil((size + self._gap(int(table.member[bore]), size)) / grid) * grid
                for way in (-1, 1):
                    wanted.setdefault(member.id, set()).add(float(table.along[bore] + way * step))
        return {name: tuple(sorted(v for v in places if v > 0)) for name, places in sorted(wanted.items())}


def base_prices(tracks: Tracks, kind: CableType) -> Floats:
    """Whole-number edge prices of a type of cable, (edges,), without holes."""
    building = tracks.building
    pulling = building.prices["minute"] * building.prices["pull_ft"]
    per_foot = kind.price_ft * (1 + building.lengths.slack_share) + pulling
    return whole_prices(tracks, edge_prices(tracks, kind), per_foot / 12)

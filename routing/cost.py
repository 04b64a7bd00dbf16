"""The one cost: of a track edge for a cable, of holes that cables share, of a whole plan, by the same prices.

Prices are money, or minutes turned into money by ``minute``. The price of a path is a sum over its edges; what depends
on all holes together (setting up rows, tiring overhead work) is counted where they are all known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barnloom.model.building import Box, Building, CableType, Member, Role
from barnloom.model.electrical.fill import easy
from barnloom.model.limits import Limits
from barnloom.model.prices import plate_price
from barnloom.model.wiring import Device, DeviceKind
from barnloom.routing.bores import is_wood_row
from barnloom.routing.fastening import staples
from barnloom.routing.graph import ON_WALL, OVERHEAD, Tracks
from barnloom.routing.lengths import ends_ft, panel_part
from barnloom.routing.plan import Bore, Cable, Makeup
from barnloom.routing.slab import Floats, Ints

OVERHEAD_POSES = frozenset({"joist_low", "joist_mid", "joist_high", "plate_below"})
PLATE_POSES = frozenset({"plate_below", "plate_above", "sole_plate"})
JOIST_POSES = frozenset({"joist_low", "joist_mid", "joist_high", "joist_above", "rim"})
ROUGH = ("rough", "full-sawn")
CANNOT = 1e6
"""Counted in a search for each thing that cannot be, so that of two ways out of it the better one is known."""
LADDER_HOLES = 3
"""Overhead holes bored from one place of the ladder."""


def edge_prices(tracks: Tracks, cable: CableType) -> Floats:
    """Price of every edge for one cable of a type, (edges,), holes not included; what passing a hole costs is."""
    building = tracks.building
    price, edges = building.prices, tracks.edges
    minute = price["minute"]
    support = tracks.limits["cable.support"]
    feet = edges.length / 12
    total = feet * (cable.price_ft * (1 + building.lengths.slack_share) + minute * price["pull_ft"])
    total = total + minute * price["turn"] * edges.turn
    staples = edges.length / support
    for kind, name in ((ON_WALL, "staple_wall"), (OVERHEAD, "staple_overhead")):
        total += np.where(edges.staples == kind, staples * (minute * price[name] + price["staple_each"]), 0.0)
    total += np.where(edges.covered, feet * price["cover_ft"], 0.0)
    by_pose = {pose: minute * price[pass_key(pose)] for pose in set(tracks.bores.pose)}
    passing = np.array([by_pose[pose] for pose in tracks.bores.pose])
    through = edges.bore >= 0
    total[through] += passing[edges.bore[through]]
    return total


def pass_key(pose: str) -> str:
    """Price of pulling one cable through a hole that is there, by the hole's pose."""
    return "thread_plate" if pose in PLATE_POSES else "pass_joist" if pose in JOIST_POSES else "pass_stud"


@dataclass(frozen=True, eq=False, slots=True)
class HolePrices:
    """What new holes cost, as parallel arrays over candidates; old holes cost nothing and belong to no row."""

    building: Building
    each: Floats
    """A hole with its nail plates and its share of moving the ladder."""
    bare: Floats
    """The boring alone, which tires overhead."""
    overhead: NDArray[np.bool_]
    row: Ints
    """Holes of one number are bored in one row; -1: in none."""

    @property
    def tiring(self) -> Floats:
        """What each costs more after the first few overhead holes; 0 where it is not overhead."""
        return np.where(self.overhead, (self.building.prices["fatigue"] - 1) * self.bare, 0.0)

    def marginal(self, *, tired: bool) -> Floats:
        """Price of one more hole at each candidate; ``tired``: after the first few overhead."""
        return self.each + self.tiring if tired else self.each

    def tires(self, holes: Sequence[int]) -> bool:
        """Whether so many of these are overhead that one more tires."""
        after = self.building.prices["fatigue_after"]
        return bool(after > 0 and self.overhead[list(holes)].sum() >= after)

    def total(self, holes: Sequence[int]) -> float:
        """Price of holes together: each, the setting up of their rows, and what tires overhead (the mean of them)."""
        price, at = self.building.prices, np.array(holes, dtype=np.int64)
        rows = np.unique(self.row[at])
        overhead = self.bare[at[self.overhead[at]]]
        tiring = max(0, len(overhead) - int(price["fatigue_after"])) if price["fatigue_after"] > 0 else 0
        more = (price["fatigue"] - 1) * tiring * float(overhead.mean()) if tiring else 0.0
        return float(self.each[at].sum()) + price["minute"] * price["row_setup"] * int((rows >= 0).sum()) + more


def hole_prices(tracks: Tracks) -> HolePrices:
    """Prices of all candidates of a building."""
    building, table = tracks.building, tracks.bores
    price, new = building.prices, table.hole < 0
    bare = np.where(new, _boring(tracks), 0.0)
    overhead = np.array([pose in OVERHEAD_POSES for pose in table.pose], dtype=bool) & new
    each = bore_prices(tracks) + np.where(overhead, price["minute"] * price["ladder_move"] / LADDER_HOLES, 0.0)
    return HolePrices(building=building, each=each, bare=bare, overhead=overhead, row=_rows(tracks))


def bore_prices(tracks: Tracks) -> Floats:
    """Price of boring each candidate, (candidates,): its pose, a nail plate where needed; 0 for old holes."""
    table = tracks.bores
    return np.where(table.hole >= 0, 0.0, _boring(tracks) + table.plates * plate_price(tracks.building.prices))


def _boring(tracks: Tracks) -> Floats:
    building, table = tracks.building, tracks.bores
    kinds = list(zip(table.member.tolist(), table.pose, strict=True))
    known = {kind: bore_price(building.prices, building.members[kind[0]], kind[1]) for kind in set(kinds)}
    return np.array([known[kind] for kind in kinds])


def _rows(tracks: Tracks) -> Ints:
    """Number of the row that each candidate would be bored in, as ``holes.final_holes`` makes them."""
    table, members = tracks.bores, tracks.building.members
    slabs = {slab.assembly.id: slab for slab in tracks.slabs}
    count = len(table.member)
    slab_of, start, step = np.full(len(members), -1), np.zeros(len(members)), np.zeros(len(members))
    for number in np.unique(table.member).tolist():
        member, slab = members[number], slabs.get(members[number].assembly)
        if slab is not None and is_wood_row(member.role):
            slab_of[number] = slab.number
            start[number] = float((np.array(member.origin) - slab.origin) @ slab.axes[1])
            step[number] = float(np.array(member.along) @ slab.axes[1])
    into_other = np.asarray(np.isfinite(table.strip).all(axis=1))
    in_row = (slab_of[table.member] >= 0) & ~into_other
    level = np.round(start[table.member] + table.along * step[table.member], 3)
    alone = np.arange(count)  # a pass of its own
    keys = np.stack([np.where(in_row, slab_of[table.member], -1), np.where(in_row, level, alone)], axis=1)
    found = np.unique(keys, axis=0, return_inverse=True)[1].reshape(count)
    never = (table.hole >= 0) | np.isin(np.array(table.pose), sorted(PLATE_POSES))
    result: Ints = np.where(never, -1, found)
    return result


def ends_price(building: Building, kind: CableType, ends: Sequence[Box]) -> float:
    """Price of a cable's two ends: the work, and what lies in and before the boxes."""
    price = building.prices
    work = sum(price["panel_end"] if end.kind == "panel" else price["box_entry"] for end in ends)
    return price["minute"] * work + kind.price_ft * (ends_ft(building) + panel_part(building, ends) / 12)


def bore_price(price: dict[str, float], member: Member, pose: str) -> float:
    """Price of boring one hole: minutes of its pose, more in rough timber; a plate's is sealed as well."""
    rough = price["rough_timber"] if any(word in member.section for word in ROUGH) else 1.0
    seal = price["seal"] if pose in PLATE_POSES else 0.0
    return price["minute"] * (price[pose] * rough + seal)


def plan_cost(
    building: Building, cables: Sequence[Cable], bores: Sequence[Bore], makeups: Sequence[Makeup] = ()
) -> dict[str, float]:
    """What a plan costs, by part. Cables and holes that are done, and old holes, cost nothing more.

    Parts: cable (cut feet), pulling (feet, holes passed, turns), holes (new ones, in minutes of their pose), overhead
    (tiring after the first holes), rows (setting up each row, moving the ladder), nail plates, staples, boards,
    covers, ends, boxes (with their rings), making up (devices, in minutes of their kind).
    """
    price, minute = building.prices, building.prices["minute"]
    members = {member.id: member for member in building.members}
    types = {kind.id: kind for kind in building.cable_types}
    poses = {bore.id: bore.pose for bore in bores}
    new_cables = [cable for cable in cables if not cable.done]
    new = [bore for bore in bores if not bore.existing]
    overhead = [bore for bore in new if bore.pose in OVERHEAD_POSES]
    tiring = overhead[int(price["fatigue_after"]) :] if price["fatigue_after"] > 0 else []
    panels = {box.id for box in building.boxes if box.kind == "panel"}
    rows = {bore.drill_pass for bore in new if bore.pose not in PLATE_POSES}
    sold = {kind.id: kind.price for kind in building.box_types}
    reached = {made.box for made in makeups}
    filled, limits = [made for made in makeups if made.volume_in3], Limits(building.limits)
    parts = {
        "cable": sum(c.cut_in / 12 * types[c.type].price_ft for c in new_cables),
        "pulling": minute
        * sum(
            c.path_in / 12 * price["pull_ft"]
            + c.turns * price["turn"]
            + sum(price[pass_key(poses[b])] for b in c.bores)
            for c in new_cables
        ),
        "holes": sum(bore_price(price, members[b.member], b.pose) for b in new),
        "overhead": sum(bore_price(price, members[b.member], b.pose) for b in tiring) * (price["fatigue"] - 1),
        "rows": minute * (price["row_setup"] * len(rows) + price["ladder_move"] * (len(overhead) / LADDER_HOLES)),
        "nail plates": sum(len(b.nail_plates) for b in new) * plate_price(price),
        "staples": _staples(building, new_cables),
        "boards": sum(board_price(building, board) for board in boards_used(building, cables)),
        "covers": sum(c.covered_in for c in new_cables) / 12 * price["cover_ft"],
        "ends": minute
        * sum(
            price["panel_end"] if end in panels else price["box_entry"]
            for c in new_cables
            for end in (c.from_box, c.to_box)
        ),
        "boxes": sum(sold[part] for made in makeups for part in (made.box_type, made.ring) if part),
        "making up": minute
        * (
            sum(price[making_key(building, one)] for one in building.devices if one.box in reached)
            + price["tight_box"] * sum(not easy(made.fill_in3, made.volume_in3, limits) for made in filled)
        ),
    }
    return {name: round(value, 6) for name, value in parts.items()}


def making_price(building: Building) -> float:
    """Price of making up all devices, whatever the routes."""
    price = building.prices
    return price["minute"] * sum(price[making_key(building, device)] for device in building.devices)


def making_key(building: Building, device: Device) -> str:
    """Price of making up a device, by its kind and, of a switch, by how many points its control has."""
    if device.kind is DeviceKind.SWITCH:
        points = next((len(control.points) for control in building.controls if control.id == device.control), 1)
        return "make_switch" if points == 1 else "make_three_way"
    return "make_light" if device.kind in (DeviceKind.LIGHT, DeviceKind.ALARM) else "make_receptacle"


def _staples(building: Building, cables: Sequence[Cable]) -> float:
    price, minute = building.prices, building.prices["minute"]
    support = Limits(building.limits)["cable.support"]
    total = 0.0
    for cable in cables:
        wall, overhead = staples(building, cable.points, cable.tracks, support)
        total += minute * (wall * price["staple_wall"] + overhead * price["staple_overhead"])
        total += (wall + overhead) * price["staple_each"]
    return total


def board_price(building: Building, board: Member) -> float:
    """Price of a running board, put up whole; nothing for one that is there."""
    if board.in_place:
        return 0.0
    price = building.prices
    work = price["board_overhead_ft" if abs(board.bit[2]) > 0.5 else "board_wall_ft"]
    return board.length_in / 12 * (price["minute"] * work + price["board_ft"])


def boards_used(building: Building, cables: Sequence[Cable]) -> list[Member]:
    """Boards still to be put up that a cable still to be pulled runs on."""
    named = {track.split(" ")[0] for cable in cables if not cable.done for track in cable.tracks}
    return [
        member
        for member in building.members
        if member.role is Role.BOARD and not member.in_place and member.id in named
    ]


def is_overhead(bore: Bore) -> bool:
    """Whether a hole is bored from below, over one's head."""
    return bore.pose in OVERHEAD_POSES

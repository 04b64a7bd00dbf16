"""The one cost: of a track edge for a cable, and of a whole plan, out of the same quantities and prices.

Prices are money, or minutes turned into money by ``minute``. What depends on the whole plan (setting up rows, tiring
overhead work) is left to the totals, so that the price of a path stays a sum over its edges.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from barnloom.model.building import Building, CableType, Member, Role
from barnloom.model.electrical.fill import easy
from barnloom.model.limits import Limits
from barnloom.model.wiring import Device, DeviceKind
from barnloom.routing.bores import plate_price
from barnloom.routing.fastening import staples
from barnloom.routing.graph import ON_WALL, OVERHEAD, Tracks
from barnloom.routing.plan import Bore, Cable, Makeup
from barnloom.routing.slab import Floats

OVERHEAD_POSES = frozenset({"joist_low", "joist_mid", "joist_high", "plate_below"})
PLATE_POSES = frozenset({"plate_below", "plate_above", "sole_plate"})
JOIST_POSES = frozenset({"joist_low", "joist_mid", "joist_high", "joist_above", "rim"})
ROUGH = ("rough", "full-sawn")


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


def bore_prices(tracks: Tracks) -> Floats:
    """Price of boring each candidate, (candidates,): its pose, a nail plate where needed; 0 for old holes."""
    members = tracks.building.members
    price = tracks.building.prices
    table = tracks.bores
    boring = np.array([bore_price(price, members[m], pose) for m, pose in zip(table.member, table.pose, strict=True)])
    return np.where(table.hole >= 0, 0.0, boring + table.plates * plate_price(price))


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
        "rows": minute * (price["row_setup"] * len(rows) + price["ladder_move"] * (len(overhead) / 3)),
        "nail plates": sum(len(b.nail_plates) for b in new) * plate_price(price),
        "staples": _staples(building, new_cables),
        "boards": sum(
            board.length_in / 12 * (minute * price[key] + price["board_ft"])
            for board in boards_used(building, cables)
            for key in ["board_overhead_ft" if abs(board.bit[2]) > 0.5 else "board_wall_ft"]
        ),
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

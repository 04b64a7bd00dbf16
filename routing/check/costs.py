"""The cost added up again, from the plan's cables and holes and the building's prices alone."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import pairwise

from barnloom.model.building import Member, Role
from barnloom.model.limits import at_most
from barnloom.model.wiring import Device
from barnloom.routing.check.finding import Finding, Site
from barnloom.routing.check.shapes import product
from barnloom.routing.plan import Bore, Cable

SAME_MONEY = 1e-4
"""Sums of money must agree to this: parts are rounded to a millionth."""
STEP_IN = 2.0
"""Shorter stretches are steps: no turn, no staple (definition of the price of a turn)."""
FROM_BELOW = {"joist_low": 96.0, "joist_mid": 120.0, "joist_high": math.inf}
"""Height over the floor up to which a hole overhead has each price, inches."""
STUDS = {Role.STUD, Role.KING, Role.JACK, Role.CRIPPLE, Role.POST}
ROUGH = ("rough", "full-sawn")


def cost_findings(site: Site) -> Iterator[Finding]:
    """Return where a part of the cost, their sum, or a hole's price is not what the plan and the prices give."""
    plan = site.plan
    total = sum(plan.cost_parts.values())
    if not math.isclose(plan.cost, total, rel_tol=1e-9, abs_tol=SAME_MONEY):
        yield Finding("cost.sum", "plan", f"cost {plan.cost:.4f}, but its parts add up to {total:.4f}")
    if plan.lower_bound is not None and not at_most(plan.lower_bound, plan.cost):
        yield Finding("cost.bound", "plan", f"lower bound {plan.lower_bound:.4f} is above the cost {plan.cost:.4f}")
    for bore in plan.bores:
        member = site.members.get(bore.member)
        if member is not None and bore.pose != _pose(bore, member, site):
            words = f"priced as {bore.pose!r}, where it is it has the price of {_pose(bore, member, site)!r}"
            yield Finding("cost.pose", bore.id, words)
    for cable in plan.cables:
        if len(cable.tracks) != len(cable.points) - 1:
            return
        turns, staples = _turns(cable), sum(_staples(cable, site))
        if (turns, staples) != (cable.turns, cable.staples):
            words = f"{cable.turns} turns and {cable.staples} staples said, {turns} and {staples} found"
            yield Finding("cost.fastening", cable.id, words)
    priced = all(bore.member in site.members and bore.pose in plan.building.prices for bore in plan.bores)
    if not priced or any(cable.type not in site.types for cable in plan.cables):
        return
    found = dict(_parts(site))
    for name in sorted(set(found) | set(plan.cost_parts)):
        said = plan.cost_parts.get(name, 0.0)
        if not math.isclose(said, found.get(name, 0.0), rel_tol=1e-6, abs_tol=SAME_MONEY):
            yield Finding("cost.part", name, f"{said:.4f} said, {found.get(name, 0.0):.4f} found")


def _pose(bore: Bore, member: Member, site: Site) -> str:
    """Return the price that a hole has by what is bored, how thick it is, and how high over the floor."""
    storey = site.storeys.get(member.storey)
    height = member.origin[2] + bore.along_in * member.along[2] - (storey.floor_in if storey else 0.0)
    if member.role in STUDS:
        if member.corner:
            return "corner"
        doubled = member.thickness_in > 2.75
        return "stud_doubled" if doubled else "stud" if 24 - 1e-6 <= height <= 84 + 1e-6 else "stud_high"
    by_role = {Role.TOP_PLATE: "plate_below", Role.BLOCK: "block", Role.RIM: "rim"}
    by_role |= dict.fromkeys((Role.SOLE_PLATE, Role.SILL), "sole_plate")
    overhead = next(name for name, top in FROM_BELOW.items() if height <= top + 1e-6)
    return by_role.get(member.role, overhead)


def _turns(cable: Cable) -> int:
    """Count where the line bends, steps left out."""
    bends = 0
    before: list[float] | None = None
    for start, end in pairwise(cable.points):
        length = math.dist(end, start)
        if length >= STEP_IN:
            way = [(b - a) / length for a, b in zip(start, end, strict=True)]
            bends += before is not None and product(before, way) < 0.999
            before = way
    return bends


def _staples(cable: Cable, site: Site) -> tuple[int, int]:
    """Count staples on walls and overhead: one at least on each stretch along a member, two at least on a cable."""
    most = site.limits["cable.support"]
    counts = {False: 0, True: 0}
    for start, end, track in zip(cable.points[:-1], cable.points[1:], cable.tracks, strict=True):
        length = math.dist(end, start)
        name, _, face = track.partition(" ")
        if length < STEP_IN or name == "bore":
            continue
        if name in site.assemblies:
            slab = site.assemblies[name]
            way, overhead = slab.v, slab.kind != "wall"
        elif name in site.members:
            member = site.members[name]
            way = member.along
            overhead = abs((member.bit if face.endswith("bit") else member.across)[2]) > 0.5
        else:
            continue
        if abs(product(end, way) - product(start, way)) > length / 2:
            counts[overhead] += max(1, math.ceil(length / most - 1e-9))
    return counts[False] + max(0, 2 - sum(counts.values())), counts[True]


def _parts(site: Site) -> Iterator[tuple[str, float]]:
    """Return every part of the cost by name; what is done or was there before costs nothing."""
    plan, price = site.plan, site.plan.building.prices
    minute = price["minute"]
    cables = [cable for cable in plan.cables if not cable.done]
    new = [bore for bore in plan.bores if not bore.existing]
    plates = {"plate_below", "plate_above", "sole_plate"}
    joists = {"joist_low", "joist_mid", "joist_high", "joist_above", "rim"}

    def boring(bore: Bore) -> float:
        rough = any(word in site.members[bore.member].section for word in ROUGH)
        minutes = price[bore.pose] * (price["rough_timber"] if rough else 1.0)
        return minute * (minutes + (price["seal"] if bore.pose in plates else 0.0))

    def passing(name: str) -> float:
        pose = site.bores[name].pose if name in site.bores else ""
        return price["thread_plate" if pose in plates else "pass_joist" if pose in joists else "pass_stud"]

    overhead = [bore for bore in new if bore.pose in {*FROM_BELOW, "plate_below"}]
    after = int(price["fatigue_after"])
    tiring = overhead[after:] if after > 0 else []
    yield "cable", sum(c.cut_in / 12 * site.types[c.type].price_ft for c in cables)
    pulled = sum(c.path_in / 12 * price["pull_ft"] + c.turns * price["turn"] for c in cables)
    yield "pulling", minute * (pulled + sum(passing(name) for c in cables for name in c.bores))
    yield "holes", sum(boring(bore) for bore in new)
    yield "overhead", (price["fatigue"] - 1) * sum(boring(bore) for bore in tiring)
    rows = {bore.drill_pass for bore in new if bore.pose not in plates}
    yield "rows", minute * (len(rows) * price["row_setup"] + len(overhead) / 3 * price["ladder_move"])
    plate = minute * price["nail_plate"] + price["nail_plate_each"]
    yield "nail plates", plate * sum(len(bore.nail_plates) for bore in new)
    walls, above = (sum(counts) for counts in zip((0, 0), *(_staples(c, site) for c in cables), strict=True))
    hand = minute * (walls * price["staple_wall"] + above * price["staple_overhead"])
    yield "staples", hand + (walls + above) * price["staple_each"]
    used = {track.split(" ")[0] for c in cables for track in c.tracks}
    yield "boards", sum(_board(site.members[name], price) for name in used if name in site.members)
    yield "covers", sum(c.covered_in for c in cables) / 12 * price["cover_ft"]
    panels = {box.id for box in plan.building.boxes if box.kind == "panel"}
    ends = [end for c in cables for end in (c.from_box, c.to_box)]
    yield "ends", minute * sum(price["panel_end" if end in panels else "box_entry"] for end in ends)
    bought = {kind.id: kind.price for kind in plan.building.box_types}
    yield "boxes", sum(bought.get(made.box_type, 0.0) + bought.get(made.ring, 0.0) for made in plan.makeups)
    points = {control.id: len(control.points) for control in plan.building.controls}
    made_up = {made.box for made in plan.makeups}
    devices = [device for device in plan.building.devices if device.box in made_up]
    most = site.limits["fill.caution"] if devices or plan.makeups else 1.0
    tight = [made for made in plan.makeups if made.volume_in3 and not at_most(made.fill_in3, most * made.volume_in3)]
    minutes = sum(price[_making(device, points)] for device in devices) + len(tight) * price["tight_box"]
    yield "making up", minute * minutes


def _making(device: Device, points: Mapping[str, int]) -> str:
    """Return the price of making up a device."""
    if device.kind.value == "switch":
        return "make_three_way" if points.get(device.control, 1) > 1 else "make_switch"
    return "make_light" if device.kind.value in ("light", "alarm") else "make_receptacle"


def _board(member: Member, price: dict[str, float]) -> float:
    if member.role is not Role.BOARD or member.in_place:
        return 0.0
    key = "board_overhead_ft" if abs(member.bit[2]) > 0.5 else "board_wall_ft"
    return member.length_in / 12 * (price["minute"] * price[key] + price["board_ft"])

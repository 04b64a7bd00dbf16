"""What stands in a person's way once all is in place: at the panel, at a plug, at a switch.

None of it makes a plan impossible, so all of it is told as warnings. Boxes behind a door leaf are for ``checks``, which
knows the doors.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from barnloom.model.building import Assembly, Box, Building, Member, Role, Vec
from barnloom.model.framing.checks import TOUCH_IN
from barnloom.model.framing.solids import Solids, member_solids, near_pairs, overlap_in, solid_boxes
from barnloom.model.lengths import format_length
from barnloom.model.limits import Limits, at_least, at_most, cited
from barnloom.model.vectors import UP, dot, left_of, minus, moved, opposite
from barnloom.model.wiring import Device, DeviceKind

_WORLD = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), UP)
_LEVEL = 0.5
"""Most upward part of a direction that still points into the room."""
Footprint = tuple[tuple[float, float], tuple[float, float], float]


@dataclass(frozen=True, slots=True)
class _Site:
    """A building, and what of it is looked up by id."""

    building: Building
    limits: Limits
    assemblies: dict[str, Assembly]
    members: dict[str, Member]
    floors: dict[str, float]
    devices: dict[str, list[Device]]

    def text(self, inches: float) -> str:
        return format_length(inches, metric=self.building.metric)

    def limit(self, name: str) -> str:
        """Return a limit's value and where it comes from, in words."""
        return f"{self.text(self.limits[name])} ({cited(self.limits.limit(name))})"

    def floor(self, box: Box) -> float:
        """Return the level of the floor under a box; of one on a timber without a storey, 0."""
        return self.floors.get(box.storey, 0.0)

    def height(self, box: Box) -> float:
        """Return how high the middle of a box is over its floor (inches)."""
        return box.at[2] - self.floor(box)

    def out(self, box: Box) -> Vec | None:
        """Return the level direction that a box in a wall or on a timber faces; None where it faces up or down."""
        if not box.side:
            host = self.assemblies[box.host]
            return host.w if host.kind == "wall" else None
        member = self.members[box.host]
        face = member.across if box.side.endswith("across") else member.bit
        out = face if box.side.startswith("+") else opposite(face)
        return out if abs(out[2]) < _LEVEL else None

    def width(self, box: Box) -> float:
        """Return how wide a box on an upright face is (inches)."""
        upright = bool(box.side) and abs(self.members[box.host].along[2]) > _LEVEL
        return box.size_in[1] if upright else box.size_in[0]

    def tall(self, box: Box) -> float:
        """Return how high the body of a box on an upright face is (inches)."""
        upright = bool(box.side) and abs(self.members[box.host].along[2]) > _LEVEL
        return box.size_in[0] if upright else box.size_in[1]

    def having(self, *kinds: DeviceKind) -> Iterator[Box]:
        """Yield the boxes with a device of one of these kinds."""
        for box in self.building.boxes:
            if any(device.kind in kinds for device in self.devices[box.id]):
                yield box


def clash_warnings(building: Building) -> tuple[str, ...]:
    """
    Return what is in a person's way, in words for ``Building.warnings``.

    Timbers, keep-clear solids and machines in the working space of a panel (NEC 110.26(A)); handles of breakers and
    switches out of reach (240.24(A), 404.8(A)); receptacles behind a machine; heights out of the usual; ground-fault
    devices and panels that are not readily accessible (210.8, 240.24(A)).
    """
    devices: dict[str, list[Device]] = defaultdict(list)
    for device in building.devices:
        devices[device.box].append(device)
    site = _Site(
        building,
        Limits(building.limits),
        {assembly.id: assembly for assembly in building.assemblies},
        {member.id: member for member in building.members},
        {storey.id: storey.floor_in for storey in building.storeys},
        devices,
    )
    return (
        *_working_space(site),
        *_out_of_reach(site),
        *_behind_machines(site),
        *_unusual_heights(site),
        *_at_sheets(site),
    )


# --- the panel -------------------------------------------------------------------------------------------------------


def _working_space(site: _Site) -> Iterator[str]:
    """Yield a warning for each panel that has no clear space of the size wanted, with what is in the way.

    The space may reach to one side as long as it holds the whole width of the panel.
    """
    framing = [member for member in site.building.members if member.role is not Role.BOARD]  # boards carry its cables
    timber = member_solids(framing)
    owners = [framing[number].assembly for number in timber.owner]
    rest = list(_standing(site))
    others = solid_boxes([low for _, low, _ in rest], [_WORLD for _ in rest], [size for _, _, size in rest])
    for box in site.building.boxes:
        out = site.out(box) if box.kind == "panel" else None
        if out is None:
            continue
        half = site.width(box) / 2
        wide = max(site.limits["panel.space_width"], 2 * half)
        region = _space(site, box, out, 2 * wide - 2 * half)
        met = [
            *_met(region, timber, owners, box.at, left_of(out)),
            *_met(region, others, [name for name, _, _ in rest], box.at, left_of(out)),
        ]
        before = max((high for _, _, high in met if at_most(high, -half + TOUCH_IN)), default=-math.inf)
        after = min((low for _, low, _ in met if at_least(low, half - TOUCH_IN)), default=math.inf)
        inside = {name for name, low, high in met if low < half - TOUCH_IN and high > -half + TOUCH_IN}
        if inside or not at_least(after - before, wide):
            names = sorted(inside or {name for name, low, high in met if high == before or low == after})
            size = f"{site.text(wide)} wide, {site.text(site.limits['panel.space_depth'])} deep"
            clause = cited(site.limits.limit("panel.space_depth"))
            yield f"{', '.join(names)} in the working space of {box.id}: keep it clear, {size} ({clause})"


def _standing(site: _Site) -> Iterator[tuple[str, Vec, Vec]]:
    """Yield name, lowest corner and size of what stands about along the world's axes: keep-clear solids, machines."""
    for solid in site.building.keep_clear:
        (x, y, z), low = solid.high, solid.low
        yield solid.id, low, (x - low[0], y - low[1], z - low[2])
    for box, device, (east, north, tall) in _machines(site):
        yield device.id, (east[0], north[0], site.floor(box)), (east[1] - east[0], north[1] - north[0], tall)


def _machines(site: _Site) -> Iterator[tuple[Box, Device, Footprint]]:
    for box in site.building.boxes:
        for device in site.devices[box.id]:
            if device.footprint is not None:
                yield box, device, device.footprint


def _space(site: _Site, box: Box, out: Vec, wide: float) -> Solids:
    """Return the space in front of a panel, so wide, from the floor up."""
    along, floor = left_of(out), site.floor(box)
    top = max(site.limits["panel.space_height"], site.height(box) + site.tall(box) / 2)
    x, y, _ = moved(box.at, (along, -wide / 2), (out, box.size_in[2] / 2))
    return solid_boxes([(x, y, floor)], [(along, out, UP)], [(wide, site.limits["panel.space_depth"], top)])


def _met(
    region: Solids, solids: Solids, names: Sequence[str], start: Vec, along: Vec
) -> Iterator[tuple[str, float, float]]:
    """Yield what stands in a region: its name, from where to where it reaches along a direction."""
    rows, columns = near_pairs(region, solids)
    for column, deep in zip(columns, overlap_in(region, rows, solids, columns), strict=True):
        if deep > TOUCH_IN:
            middle = float((solids.centre[column] - np.asarray(start)) @ np.asarray(along))
            reach = float(solids.half[column] @ np.abs(solids.axes[column] @ np.asarray(along)))
            yield names[column], middle - reach, middle + reach


def _out_of_reach(site: _Site) -> Iterator[str]:
    """Yield a warning for handles that are too high, and for what has to be readily accessible and is not."""
    most = site.limits["reach.handle"]
    above = f"above {site.limit('reach.handle')}"
    for box in site.building.boxes:
        panel = box.kind == "panel"
        overhead = site.out(box) is None
        high = not at_most(site.height(box) + (site.tall(box) / 2 if panel and not overhead else 0.0), most)
        protects = any(device.ground_fault for device in site.devices[box.id])
        switches = any(device.kind is DeviceKind.SWITCH for device in site.devices[box.id])
        place = "overhead" if overhead else above
        if panel and (high or overhead):
            yield f"the top of {box.id} is {place}: hang it so that its highest breaker is within reach"
        elif protects and (high or overhead):
            yield f"{box.id} has a ground-fault device {place}, not readily accessible (210.8): protect at the breaker"
        elif switches and high:
            yield f"the switch {box.id} is {above}"


# --- plugs -----------------------------------------------------------------------------------------------------------


def _behind_machines(site: _Site) -> Iterator[str]:
    """Yield a warning for each receptacle that a machine stands before, too near to get at the plug."""
    for box in site.having(DeviceKind.RECEPTACLE):
        out = site.out(box)
        if out is None:
            continue
        front = moved(box.at, (out, box.size_in[2] / 2))
        for machine, device, (east, north, tall) in _machines(site):
            corners = [minus((x, y, front[2]), front) for x in east for y in north]
            away = [dot(corner, out) for corner in corners]
            aside = [dot(corner, left_of(out)) for corner in corners]
            gap = max(0.0, min(away))
            if (
                machine.id != box.id
                and machine.storey == box.storey
                and max(away) > TOUCH_IN
                and min(aside) < 0.0 < max(aside)
                and site.height(box) < tall
                and not at_least(gap, site.limits["reach.machine"])
            ):
                yield (
                    f"the receptacle {box.id} is behind {device.id}, which stands {site.text(gap)} before it: leave "
                    f"{site.limit('reach.machine')}, or move one of the two"
                )


# --- heights ---------------------------------------------------------------------------------------------------------


def _unusual_heights(site: _Site) -> Iterator[str]:
    """Yield a warning for receptacles, and one for switches, whose height is out of the usual."""
    for kind in (DeviceKind.RECEPTACLE, DeviceKind.SWITCH):
        low, high = (site.limits[f"height.{kind.value}_{end}"] for end in ("low", "high"))
        boxes = list(_in_walls(site, kind))
        odd = [box.id for box in boxes if not (at_least(site.height(box), low) and at_most(site.height(box), high))]
        if odd:
            yield f"{', '.join(odd)}: a {kind.value} is usually {site.text(low)} to {site.text(high)} over the floor"


def _at_sheets(site: _Site) -> Iterator[str]:
    """Yield a warning for boxes at the edge of a sheet: receptacles in any wall, switches where there is a lining."""
    sheet, clear = site.limits["height.sheet"], site.limits["height.sheet_plate"]
    lined = {name for name, wall in site.assemblies.items() if wall.lining != "none"}
    boxes = {box.id: box for box in _in_walls(site, DeviceKind.RECEPTACLE)}
    boxes |= {box.id: box for box in _in_walls(site, DeviceKind.SWITCH) if box.host in lined}
    there = [box.id for box in boxes.values() if not at_least(abs(site.height(box) - sheet), clear)]
    if there:
        ways = f"{site.text(sheet - 4)} or {site.text(sheet + 4)} to the middle clears it"
        yield f"{', '.join(there)}: the edge of a {site.text(sheet)} sheet, or a seam, comes behind the plate; {ways}"


def _in_walls(site: _Site, kind: DeviceKind) -> Iterator[Box]:
    return (box for box in site.having(kind) if not box.side and site.out(box) is not None)

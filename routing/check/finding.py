"""What the checker says, and the plan laid out so that its parts can be looked up by id."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from barnloom.model.building import Assembly, Box, CableType, Circuit, Member, Storey
from barnloom.model.limits import Limits, cited
from barnloom.model.wiring import BoxType, Control, Device
from barnloom.routing.plan import Bore, Cable, CircuitSheet, Makeup, Plan

Part = TypeVar("Part")

SAME_IN = 1e-4
"""Two places closer than this are one place: far above the rounding of a plan file, far below any tape."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is not right: a short code, the id of what it is about, words with the numbers and the rule."""

    code: str
    subject: str
    words: str
    severity: str = "fault"  # "fault" | "warning"

    def __str__(self) -> str:
        return f"{self.severity}: {self.subject}: {self.words} [{self.code}]"


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Site:
    """A plan with its building's parts by id, and its limits by name."""

    plan: Plan
    limits: Limits
    members: Mapping[str, Member]
    assemblies: Mapping[str, Assembly]
    boxes: Mapping[str, Box]
    circuits: Mapping[str, Circuit]
    storeys: Mapping[str, Storey]
    types: Mapping[str, CableType]
    bores: Mapping[str, Bore]
    cables: Mapping[str, Cable]
    cables_at: Mapping[str, Sequence[Cable]]
    """By the id of a box that they end at; in the plan's order, as all of these."""
    cables_of: Mapping[str, Sequence[Cable]]
    """By the id of a circuit that they carry."""
    devices_in: Mapping[str, Sequence[Device]]
    """By the id of their box: reached or not."""
    devices_on: Mapping[str, Sequence[Device]]
    """By the id of their circuit: reached or not."""
    devices: Mapping[str, Device]
    """Of those that a cable of their circuit reaches, all that are fed: not what follows a control left out."""
    controls: Mapping[str, Control]
    """With the points and lights that are reached; one without a point or without a light is left out."""
    box_types: Mapping[str, BoxType]
    makeups: Mapping[str, Makeup]
    """By the id of their box."""
    sheets: Mapping[str, CircuitSheet]
    """By the id of their circuit."""
    drilled: frozenset[str]
    """Holes that were drilled by this plan, or by one it came from."""

    def reached(self, devices: Iterable[Device]) -> list[Device]:
        """Return those of some devices that are in ``devices``."""
        return [device for device in devices if self.devices.get(device.id) is device]

    def text(self, inches: float) -> str:
        """Return a length finer than any tape: a verdict must not hide in rounding."""
        if self.plan.building.metric:
            return f"{inches * 25.4:.2f}".rstrip("0").rstrip(".") + " mm"
        return f"{inches:.4f}".rstrip("0").rstrip(".") + " in"

    def rule(self, name: str) -> str:
        """Return where a limit comes from: its clause, or that it is the tool's own caution."""
        return cited(self.limits.limit(name))


def wired(site: Site) -> bool:
    """Whether a plan says how anything is made up, or its building has devices: then all of that is checked."""
    return bool(site.plan.makeups or site.plan.circuits or site.plan.building.devices)


def site_of(plan: Plan) -> Site:
    """Lay a plan out for checking; of two parts with one id the later one is kept."""
    building = plan.building
    devices, controls = _reached(plan)
    return Site(
        plan=plan,
        limits=Limits(building.limits),
        members={member.id: member for member in building.members},
        assemblies={assembly.id: assembly for assembly in building.assemblies},
        boxes={box.id: box for box in building.boxes},
        circuits={circuit.id: circuit for circuit in building.circuits},
        storeys={storey.id: storey for storey in building.storeys},
        types={kind.id: kind for kind in building.cable_types},
        bores={bore.id: bore for bore in plan.bores},
        cables={cable.id: cable for cable in plan.cables},
        cables_at=_by(plan.cables, lambda cable: {cable.from_box, cable.to_box}),
        cables_of=_by(plan.cables, lambda cable: set(cable.circuit.split())),
        devices_in=_by(building.devices, lambda device: {device.box}),
        devices_on=_by(building.devices, lambda device: {device.circuit}),
        devices=devices,
        controls=controls,
        box_types={kind.id: kind for kind in building.box_types},
        makeups={makeup.box: makeup for makeup in plan.makeups},
        sheets={sheet.circuit: sheet for sheet in plan.circuits},
        drilled=frozenset(plan.as_built.drilled if plan.as_built else ()),
    )


def _by(parts: Iterable[Part], keys: Callable[[Part], set[str]]) -> Mapping[str, Sequence[Part]]:
    """Sort parts by what they belong to; none for what has none."""
    found: dict[str, list[Part]] = defaultdict(list)
    for part in parts:
        for key in keys(part):
            found[key].append(part)
    return found


def _reached(plan: Plan) -> tuple[dict[str, Device], dict[str, Control]]:
    """Return devices and controls as far as cables of their circuits reach: the rest is planned another time."""
    places = {(name, end) for c in plan.cables for name in c.circuit.split() for end in (c.from_box, c.to_box)}
    there = {device.id: device for device in plan.building.devices if (device.circuit, device.box) in places}
    controls, idle = {}, set()
    for control in plan.building.controls:
        points, lights = (tuple(name for name in own if name in there) for own in (control.points, control.lights))
        if points and lights:
            controls[control.id] = replace(control, points=points, lights=lights)
        else:
            idle.add(control.id)
    return {name: device for name, device in there.items() if device.control not in idle}, controls


def limits_missing(site: Site) -> list[Finding]:
    """Limits the checker needs and the building does not carry: without them nothing can be said."""
    return [
        Finding("limits", name, "the plan carries no such limit, so it cannot be checked against it")
        for name in (*NEEDED, *(NEEDED_WIRED if wired(site) else ()))
        if name not in site.limits
    ]


NEEDED = (
    "joist.hole_share",
    "joist.edge",
    "joist.hole_gap",
    "joist.notch_gap",
    "joist.bearing_depths",
    "member.end",
    "hole.unknown_diameter",
    "hole.fill_share",
    "stud.hole_share_bearing",
    "stud.hole_share_doubled",
    "stud.hole_share_nonbearing",
    "stud.doubled_run",
    "stud.edge",
    "stud.hole_gap_diameters",
    "plate.tie_share",
    "plate.edge",
    "plate.member_gap",
    "gap.passable",
    "cable.edge",
    "cable.face_edge",
    "cable.support",
    "cable.first_support",
    "joist.notch_share",
    "joist.notch_length_share",
    "joist.end_notch_share",
    "joist.notch_span_share",
    "joist.tension_notch_breadth",
    "stud.notch_share_bearing",
    "stud.notch_share_nonbearing",
    "cable.sealed_together",
)
NEEDED_WIRED = (
    "fill.conductor",
    "fill.clamps",
    "fill.stud",
    "fill.yoke",
    "fill.grounds",
    "fill.grounds_free",
    "fill.grounds_more",
    "fill.caution",
    "load.continuous",
    "load.heater",
)

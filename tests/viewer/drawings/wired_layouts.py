"""Plans with wiring and no routes: boxes put together from joints, and the published layouts of switching."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from typing import Any

from barnloom.model.building import Building, Circuit
from barnloom.model.wiring import Device
from barnloom.routing.plan import Cable, Conductor, Joint, Makeup, Plan
from barnloom.routing.wiring.colours import conductors_for
from barnloom.routing.wiring.joints import joints_of
from barnloom.routing.wiring.nets import least_conductors
from tests.routing.test_published_switching import LAYOUTS, cables_of, controls_of, device_of, wired
from tests.routing.wired_scenes import bay, building_of, wall_scene

__all__ = ["LAYOUTS", "cable_of", "layout_plan", "plan_of"]


@cache
def base() -> Building:
    return building_of(wall_scene({"A": f'{bay(3)}, height: 48", circuit: C'}, more="circuits: {C: {}}"))


def cable_of(name: str, ends: tuple[str, str], conductors: Sequence[Conductor], *, circuit: str = "C1") -> Cable:
    count = len(conductors) - 1
    return Cable(
        id=name, circuit=circuit, type=f"14/{count}", from_box=ends[0], to_box=ends[1], points=(), tracks=(), bores=(),
        path_in=0, entries_in=0, free_in=0, panel_in=0, slack_in=0, cut_in=0, floor="GROUND", staples=0, turns=0,
        board_in=0, covered_in=0, conductors=tuple(conductors),
    )  # fmt: skip


def plan_of(
    boxes: Sequence[str],
    cables: Sequence[Cable],
    devices: Sequence[Device],
    joints: dict[str, Sequence[Joint]],
    **more: Any,
) -> Plan:
    """A plan of a panel P and boxes; ``more`` replaces parts of the building."""
    panel, box = base().boxes[0], base().boxes[-1]
    building = replace(
        base(),
        boxes=(replace(panel, id="P", kind="panel"), *(replace(box, id=name, kind="box") for name in boxes)),
        devices=tuple(devices),
        circuits=more.pop("circuits", (Circuit(id="C1", title="", panel="P", boxes=tuple(boxes)),)),
        **more,
    )
    return Plan(
        version=2, building=building, cables=tuple(cables), bores=(), cost=0.0, cost_parts={}, lower_bound=None,
        unreached=(), unreached_why=(), assumptions=(), warnings=(),
        makeups=tuple(
            Makeup(box=name, box_type="", ring="", volume_in3=0, fill=(), joints=tuple(own))
            for name, own in joints.items()
        ),
    )  # fmt: skip


def layout_plan(layout: dict[str, Any], *, metal: bool = True) -> Plan:
    """A published layout, wired by the tool; all boxes of metal or none."""
    nets = wired(layout)
    controls = controls_of(layout, in_order=True)
    follows = {name: one.id for one in controls for name in (*one.points, *one.lights)}
    devices = []
    for box, words in layout["boxes"].items():
        held = [] if words == "junction" else words.split(", ")
        for number, one in enumerate(held, 1):
            name = box if len(held) == 1 else f"{box}.{number}"
            devices.append(device_of(one, name, box, follows.get(name, "")))
    cables = []
    for near, far, _ in cables_of(layout):
        carried = nets.carried[far]
        cables.append(cable_of(f"C1.{far}", (near, far), conductors_for(carried, least_conductors(carried))))
    boxes = list(layout["boxes"])
    plan = plan_of(boxes, cables, devices, {}, controls=tuple(controls))
    joints = joints_of(plan.building, cables, {"C1": nets}, boxes if metal else ())
    return plan_of(boxes, cables, devices, dict(joints), controls=tuple(controls))

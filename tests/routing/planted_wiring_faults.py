"""Faults to plant in wired plans: in words, the plan, the change, and codes that the check gives for it."""

from __future__ import annotations

from dataclasses import replace

from plan_changes import Change, both, building, cable, part, whole
from rejoined import (
    alone,
    also,
    apart,
    conductor,
    device,
    in_box,
    joint,
    makeup,
    merged,
    over,
    renetted,
    sheet,
    swapped,
)
from wired_plans import (
    PLASTIC,
    STEEL,
    alarms,
    behind_ground_fault,
    feed_carried_through,
    four_way,
    half_switched,
    heater,
    multiwire,
    power_at_light,
    power_at_switch,
    shared_box,
    switch_loop,
    three_way_light_between,
    three_way_power_at_switch,
)

from barnloom.model.wiring import Breakers, DeviceKind, WiringRules
from barnloom.routing.plan import Joint, Plan


def of_volume(box: str, volume: float) -> Change:
    """Let a steel box be of another volume."""
    return both(part("boxes", box, volume_in3=volume), makeup(box, volume_in3=volume))


def _spread_ground(joints: tuple[Joint, ...]) -> tuple[Joint, ...]:
    """Part the ground joint in two."""
    ground = next(one for one in joints if one.net == "ground")
    rest = tuple(one for one in joints if one is not ground)
    first = replace(ground, terminals=ground.terminals[:1])
    return (*rest, first, replace(ground, ends=(), terminals=ground.terminals[1:]))


# Each: what is wrong, the plan, the change, and codes of which all are given.
FAULTS: dict[str, tuple[Plan, Change, set[str]]] = {
    # --- joints
    "box not made up": (
        power_at_switch(),
        lambda plan: replace(plan, makeups=tuple(m for m in plan.makeups if m.box != "LAMP")),
        {"joint.makeup"},
    ),
    "box made up twice": (
        power_at_switch(),
        lambda plan: replace(plan, makeups=(*plan.makeups, plan.makeups[1])),
        {"joint.makeup"},
    ),
    "end joined nowhere": (power_at_switch(), apart("S1", "L1.S1 white"), {"joint.end"}),
    "end joined to two nets": (
        power_at_switch(),
        also("S1", "L1.S1 black", "S1: load"),
        {"joint.end", "joint.net"},
    ),
    "terminal left open": (power_at_switch(), apart("S1", "S1: line"), {"joint.terminal"}),
    "terminal of nothing": (power_at_switch(), also("S1", "S1: common", "S1: line"), {"joint.terminal"}),
    "terminal joined twice": (power_at_switch(), also("S1", "S1: line", "S1: load"), {"joint.terminal"}),
    "three three-way switches": (
        four_way(),
        in_box(
            "F1",
            lambda joints: tuple(
                replace(
                    one,
                    terminals=tuple(
                        (d, {"in 1": "common", "out 1": "traveler 1", "out 2": "traveler 2"}.get(n, n))
                        for d, n in one.terminals
                        if n != "in 2"
                    ),
                )
                for one in joints
            ),
        ),
        {"joint.points", "switching.light"},
    ),
    "net of a joint": (power_at_switch(), joint("LAMP", "LAMP: hot", net="line"), {"joint.net", "switching.net"}),
    "conductor under another net": (power_at_switch(), conductor("L1.LAMP", "black", net="line"), {"joint.net"}),
    "spare joined to a neutral": (shared_box(), over("BOX", "L1.LAMP red", "L1.LAMP white"), {"joint.net"}),
    "spare joined to a terminal": (
        shared_box(),
        also("BOX", "S1: load", "L1.LAMP red"),
        {"joint.spare", "joint.terminal"},
    ),
    "net in two pieces": (
        behind_ground_fault(),
        alone("R2", "P1.R3 black"),
        {"joint.alone", "joint.parts", "switching.fed", "switching.net"},
    ),
    "line left alone": (power_at_light(), apart("LAMP", "L1.S1 black"), {"joint.end", "joint.alone"}),
    "no neutral at a switch": (
        switch_loop(),
        building(wiring=WiringRules(switch_neutral=True)),
        {"joint.switch_neutral"},
    ),
    "neutrals of two circuits joined": (
        shared_box(),
        merged("BOX", "L1.BOX white", "P1.BOX white"),
        {"joint.circuits"},
    ),
    "light on another circuit's line": (
        shared_box(),
        over("BOX", "S1: line", "R1: hot"),
        {"joint.circuits", "switching.light"},
    ),
    "joint of a circuit that is not there": (
        power_at_switch(),
        joint("S1", "S1: load", circuit="L9"),
        {"joint.circuits"},
    ),
    "grounds of a box in two joints": (power_at_switch(), in_box("S1", _spread_ground), {"joint.ground"}),
    "bare on a neutral": (power_at_switch(), over("LAMP", "L1.LAMP bare", "LAMP: neutral"), {"joint.ground"}),
    "ground of a light left out": (
        power_at_switch(),
        apart("LAMP", "LAMP: ground"),
        {"joint.terminal"},
    ),
    "ground of a metal box left out": (power_at_switch(), apart("LAMP", "LAMP: box"), {"joint.terminal"}),
    "ground not at its bar": (
        power_at_switch(),
        apart("PANEL", "PANEL: ground bar"),
        {"joint.terminal", "switching.ground"},
    ),
    "ground of a cable left out": (
        power_at_switch(),
        apart("LAMP", "L1.LAMP bare"),
        {"joint.end", "switching.ground"},
    ),
    "loop": (
        shared_box(),
        lambda plan: renetted(
            both(over("BOX", "L1.LAMP red", "L1.LAMP white"), over("LAMP", "L1.LAMP red", "L1.LAMP white"))(plan)
        ),
        {"joint.loop"},
    ),
    # --- conductors
    "cable of too few conductors": (power_at_light(), cable("L1.S1", type="14/2"), {"wire.count"}),
    "cable without a bare one": (
        power_at_switch(),
        lambda plan: cable("L1.S1", conductors=plan.cables[0].conductors[:2])(plan),
        {"wire.count", "joint.end"},
    ),
    "wrong colour": (
        power_at_switch(),
        both(
            conductor("L1.LAMP", "black", colour="red"),
            apart("S1", "L1.LAMP black"),
            also("S1", "L1.LAMP red", "S1: load"),
            apart("LAMP", "L1.LAMP black"),
            also("LAMP", "L1.LAMP red", "LAMP: hot"),
        ),
        {"wire.colour"},
    ),
    "white hot not marked": (switch_loop(), conductor("L1.S1", "white", marked=""), {"wire.white"}),
    "white hot marked green": (switch_loop(), conductor("L1.S1", "white", marked="green"), {"wire.white"}),
    "neutral marked": (power_at_switch(), conductor("L1.S1", "white", marked="black"), {"wire.white"}),
    "black neutral": (
        power_at_switch(),
        lambda plan: renetted(
            both(
                swapped("S1", "L1.LAMP black", "L1.LAMP white"),
                swapped("LAMP", "L1.LAMP black", "L1.LAMP white"),
            )(plan)
        ),
        {"wire.white", "wire.return"},
    ),
    "white on the way from a switch to its light": (
        switch_loop(),
        lambda plan: conductor("L1.S1", "white", marked="black")(
            renetted(
                both(
                    swapped("S1", "L1.S1 black", "L1.S1 white"),
                    swapped("LAMP", "L1.S1 black", "L1.S1 white"),
                )(plan)
            )
        ),
        {"wire.return"},
    ),
    # --- switching
    "traveler and common changed": (
        three_way_power_at_switch(),
        swapped("B", "B: common", "B: traveler 1"),
        {"switching.light"},
    ),
    "traveler and common changed in the middle": (
        three_way_light_between(),
        swapped("A", "A: common", "A: traveler 2"),
        {"switching.light"},
    ),
    "four-way switch with one end crossed": (four_way(), swapped("F1", "F1: in 2", "F1: out 2"), {"switching.light"}),
    "neutral switched": (
        power_at_switch(),
        lambda plan: renetted(both(swapped("S1", "L1.S1 black", "L1.S1 white"))(plan)),
        {"switching.neutral", "switching.net"},
    ),
    "hot and neutral of a light changed": (
        power_at_switch(),
        swapped("LAMP", "LAMP: hot", "LAMP: neutral"),
        {"switching.neutral", "switching.light"},
    ),
    "light on the wrong control": (
        feed_carried_through(),
        lambda plan: renetted(swapped("S1", "L1.LAMP1 black", "L1.S2 black")(plan)),
        {"switching.light"},
    ),
    "light that another control is said to switch": (
        feed_carried_through(),
        both(device("LAMP2", control="ROW"), part("controls", "ROW", lights=("LAMP1", "LAMP2"))),
        {"switching.light", "switching.touch"},
    ),
    "switch across line and neutral": (
        power_at_switch(),
        lambda plan: over("S1", "S1: load", "L1.S1 white")(plan),
        {"switching.short", "switching.light"},
    ),
    "line on the neutral for good": (
        behind_ground_fault(),
        merged("R2", "R2: hot", "R2: neutral"),
        {"switching.short"},
    ),
    "outlet always on, behind a switch": (
        half_switched(),
        swapped("R1", "R1: hot top", "R1: hot bottom"),
        {"switching.fed", "switching.light"},
    ),
    "breaker not joined": (
        behind_ground_fault(),
        apart("PANEL", "PANEL: breaker P1"),
        {"joint.terminal", "switching.fed", "switching.net"},
    ),
    "neutral bar not joined": (
        behind_ground_fault(),
        apart("PANEL", "PANEL: neutral bar"),
        {"switching.neutral", "switching.fed", "switching.net"},
    ),
    "both poles of a heater on one line": (
        heater(),
        over("HEAT", "HEAT: hot 2", "HEAT: hot 1"),
        {"switching.fed"},
    ),
    "outlets of a multiwire circuit on each other's leg": (
        multiwire(),
        both(device("R1", leg=2), device("R2", leg=1)),
        {"switching.fed"},
    ),
    "interconnect on the line": (
        alarms(),
        merged("A1", "A1: hot", "A1: interconnect"),
        {"switching.interconnect"},
    ),
    "interconnect not joined": (
        alarms(),
        apart("A2", "A2: interconnect"),
        {"joint.terminal", "switching.interconnect"},
    ),
    # --- fill
    "sum of a fill": (power_at_switch(), makeup("S1", fill=power_at_switch().makeups[1].fill[1:]), {"fill.sum"}),
    "box too small": (power_at_switch(), of_volume("S1", 15.99), {"fill.over"}),
    "box nearly full": (power_at_switch(), of_volume("S1", 18.82), {"fill.tight"}),
    "volume that the box does not have": (power_at_switch(), makeup("S1", volume_in3=42.0), {"fill.volume"}),
    "volume that nobody knows": (
        power_at_switch(),
        makeup("LAMP", box_type="", volume_in3=0.0),
        {"fill.unknown"},
    ),
    "box that nobody sells": (power_at_switch(), makeup("S1", box_type="brass"), {"fill.type", "fill.volume"}),
    "ring for a box": (
        power_at_switch(),
        both(building(box_types=(STEEL, replace(STEEL, id="ring", what="ring"))), makeup("S1", box_type="ring")),
        {"fill.type"},
    ),
    "box other than pinned": (power_at_switch(), part("boxes", "S1", box_type="plastic"), {"fill.type"}),
    "box of another series": (power_at_switch(), part("boxes", "S1", series="square-4"), {"fill.type"}),
    "more yokes than gangs": (
        shared_box(),
        building(box_types=(STEEL, replace(PLASTIC, gangs=1))),
        {"fill.gangs"},
    ),
    "conductors of no size in the table": (
        power_at_switch(),
        building(cable_types=tuple(replace(t, awg=13) for t in power_at_switch().building.cable_types)),
        {"fill.size", "circuit.awg"},
    ),
    # --- circuits
    "circuit without a line in the schedule": (power_at_switch(), whole(circuits=()), {"circuit.sheet"}),
    "circuit that is not there": (
        power_at_switch(),
        whole(circuits=(*power_at_switch().circuits, replace(heater().circuits[0], spaces=(5, 7)))),
        {"circuit.sheet"},
    ),
    "14 AWG on 20 A": (power_at_switch(), sheet("L1", breaker_a=20.0), {"circuit.breaker"}),
    "12 AWG on 25 A": (behind_ground_fault(), sheet("P1", breaker_a=25.0), {"circuit.breaker"}),
    "10 AWG on 40 A": (heater(), sheet("H1", breaker_a=40.0), {"circuit.breaker"}),
    "breaker other than pinned": (power_at_switch(), part("circuits", "L1", breaker_a=20.0), {"circuit.breaker"}),
    "breaker that the label does not list": (
        power_at_switch(),
        building(breakers=(Breakers(panel="PANEL", sizes_a=(20.0,)),)),
        {"circuit.breaker"},
    ),
    "breaker smaller than its load": (power_at_switch(), sheet("L1", load_a=15.01), {"circuit.breaker"}),
    "cable thinner than its circuit": (behind_ground_fault(), sheet("P1", awg=10), {"circuit.awg"}),
    "load left out": (behind_ground_fault(), sheet("P1", load_va=360.0), {"circuit.load"}),
    "heater counted at 100 %": (heater(), sheet("H1", load_a=16.67), {"circuit.load"}),
    "continuous load counted at 100 %": (power_at_switch(), device("LAMP", continuous=True), {"circuit.load"}),
    "multiwire circuit sized for its emptier line": (multiwire(), sheet("P1", load_a=1.5), {"circuit.load"}),
    "one pole for a heater": (heater(), sheet("H1", poles=1, spaces=(1,), legs="A"), {"circuit.poles"}),
    "two poles, one space": (heater(), sheet("H1", spaces=(1,), legs="A"), {"circuit.spaces"}),
    "two poles on one leg": (multiwire(), sheet("P1", spaces=(1, 2), legs="A"), {"circuit.legs"}),
    "two poles not beside each other": (multiwire(), sheet("P1", spaces=(1, 7), legs="AB"), {"circuit.legs"}),
    "leg of another space": (power_at_switch(), sheet("L1", legs="B"), {"circuit.legs"}),
    "two breakers in one space": (shared_box(), sheet("P1", spaces=(1,), legs="A"), {"circuit.spaces"}),
    "three breakers in a tandem space": (
        shared_box(),
        both(
            building(breakers=(Breakers(panel="PANEL", tandem=(1,)),)),
            sheet("P1", spaces=(1,), legs="A"),
            lambda plan: replace(plan, circuits=(*plan.circuits, replace(plan.circuits[0], circuit="L2"))),
        ),
        {"circuit.spaces"},
    ),
    "space that is taken": (power_at_switch(), sheet("L1", spaces=(12,), legs="B"), {"circuit.spaces"}),
    "space that the panel has not": (power_at_switch(), sheet("L1", spaces=(13,), legs="A"), {"circuit.spaces"}),
    "other panel": (power_at_switch(), sheet("L1", panel="ELSEWHERE"), {"circuit.spaces"}),
    "outlets without ground-fault protection": (
        half_switched(),
        sheet("P1", breaker="plain"),
        {"circuit.ground_fault"},
    ),
    "heater without ground-fault protection": (heater(), sheet("H1", breaker="plain"), {"circuit.ground_fault"}),
    "outlet ahead of the device that should protect it": (
        behind_ground_fault(),
        both(
            swapped("G1", "G1: line hot", "G1: load hot"),
            swapped("G1", "G1: line neutral", "G1: load neutral"),
        ),
        {"circuit.ground_fault"},
    ),
    "light behind a ground-fault device": (
        behind_ground_fault(),
        device("R3", kind=DeviceKind.LIGHT),
        {"circuit.ground_fault"},
    ),
    "neutral past a ground-fault device": (
        behind_ground_fault(),
        swapped("G1", "G1: line neutral", "G1: load neutral"),
        {"circuit.zone"},
    ),
    "two circuits in a box unasked": (shared_box(), part("boxes", "BOX", shared=False), {"circuit.shared"}),
    "current of a cable": (feed_carried_through(), cable("L1.S2", current_a=0.52), {"circuit.current"}),
    "current of the fuller line forgotten": (multiwire(), cable("P1.R1", current_a=1.5), {"circuit.current"}),
    "drop of a cable": (behind_ground_fault(), cable("P1.R3", drop_percent=0.2), {"circuit.drop"}),
    "drop of a circuit": (behind_ground_fault(), sheet("P1", drop_percent=0.3), {"circuit.drop"}),
    "longest run": (behind_ground_fault(), sheet("P1", longest_ft=45.9), {"circuit.longest"}),
    "volts of a circuit": (heater(), sheet("H1", volts=120), {"circuit.poles"}),
}
WARNINGS = {"fill.tight", "fill.unknown"}

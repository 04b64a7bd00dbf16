"""Small wired plans made up by hand, joint by joint: no route and no wood, only what a circuit is electrically.

Boxes stand nowhere in particular, and cables have no way; the checks of wood and lengths are not meant for them. Who
makes one up writes every joint but the grounds: bare ends, ground terminals and the screws of metal boxes of a box are
joined by themselves. Currents are written by hand; drops are 2 I R L / 1000 along the legs from the panel to a box and
to the switches of what is in it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from barnloom.model.building import Box, Building, Circuit, LengthRules, Tools
from barnloom.model.cables import default_cable_types
from barnloom.model.electrical.fill import FillLine
from barnloom.model.limits import load_limits
from barnloom.model.wiring import BoxType, Breakers, Control, Device, DeviceKind, WiringRules
from barnloom.routing.plan import PLAN_VERSION, Cable, CircuitSheet, Conductor, Joint, Makeup, Plan

# NEC Table 314.16(B), synthmind.com/Electrical_Box_Sizing_Guide.htm; NEC chapter 9 Table 8, 75 C, solid, as
# /electrician2.com/weltrain05/lpage135.html and the sum 2.525 x 1.2162 = 3.07 for 14 AWG give it.
VOLUMES = {14: 2.0, 12: 2.25, 10: 2.5}
OHMS = {14: 3.07, 12: 1.93, 10: 1.21}
COLOURS = {
    2: ("black", "white"),
    3: ("black", "red", "white"),
    4: ("black", "red", "white", "white with a red stripe"),
}
# 30.3: NEC Table 314.16(A), 4 x 2-1/8 square, the same page; the other one is made up.
STEEL = BoxType(
    id="steel",
    series="steel",
    title="",
    what="box",
    material="metal",
    width_in=4.0,
    height_in=4.0,
    depth_in=2.125,
    volume_in3=30.3,
    gangs=2,
    clamps="inside",
)
PLASTIC = BoxType(
    id="plastic",
    series="plastic",
    title="",
    what="box",
    material="plastic",
    width_in=4.0,
    height_in=4.0,
    depth_in=3.0,
    volume_in3=42.0,
    gangs=2,
    clamps="none",
)


def light(name: str, control: str = "", **more: Any) -> Device:
    """100 VA: 0.8333 A at 120 V."""
    return Device(**{**_said(name, DeviceKind.LIGHT, control), "load_va": 100.0, **more})


def switch(name: str, control: str, **more: Any) -> Device:
    return Device(**{**_said(name, DeviceKind.SWITCH, control), **more})


def receptacle(name: str, control: str = "", **more: Any) -> Device:
    """180 VA: 1.5 A at 120 V."""
    return Device(**{**_said(name, DeviceKind.RECEPTACLE, control), "circuit": "P1", "load_va": 180.0, **more})


def alarm(name: str, **more: Any) -> Device:
    return Device(**{**_said(name, DeviceKind.ALARM, ""), "load_va": 12.0, "detects": "heat", **more})


def _said(name: str, kind: DeviceKind, control: str) -> dict[str, Any]:
    return {"id": name, "box": name, "kind": kind, "circuit": "L1", "control": control}


LIGHTS: dict[str, Any] = {"breaker_a": 15.0, "awg": 14, "spaces": (1,), "legs": "A", "breaker": "plain"}
OUTLETS: dict[str, Any] = {"breaker_a": 20.0, "awg": 12, "spaces": (3,), "legs": "B", "breaker": "plain"}


def wired(
    circuits: dict[str, dict[str, Any]],
    devices: tuple[Device, ...],
    cables: str,
    joints: str,
    *,
    boxes: dict[str, dict[str, Any]] | None = None,
    **building: Any,
) -> Plan:
    """
    A plan from its cables and joints.

    Cables, a line each: id, type, box that it comes from, feet, amperes, and the far box if the id does not say it.
    Joints, a line each: box, circuit, net, and what is joined: "CABLE COLOUR" or "DEVICE: TERMINAL", with commas.
    ``boxes``: what is not usual about some of them.
    """
    rows = [line.split() for line in cables.strip().splitlines()]
    said = [[part.strip() for part in line.split("|")] for line in joints.strip().splitlines()]
    by_box: dict[str, list[Joint]] = {name: [] for row in rows for name in (row[2], _far(row))}
    nets: dict[tuple[str, str, str], str] = {}
    for box, circuit, net, what in said:
        members = [member.strip() for member in what.split(",")]
        ends = tuple((one.split(" ", 1)[0], one.split(" ", 1)[1]) for one in members if ":" not in one)
        terminals = tuple((one.split(": ")[0], one.split(": ")[1]) for one in members if ":" in one)
        by_box[box].append(Joint(net=net, circuit=circuit, ends=ends, terminals=terminals))
        nets.update({(box, *end): net for end in ends})
    plan_cables = _cables(rows, nets, devices)
    steel = {"kind": "box", "shared": False, **dict.fromkeys(("box_type", "ring"), "")}
    plan_boxes = tuple(_box(name, plan_cables, {**steel, **(boxes or {}).get(name, {})}) for name in by_box)
    return Plan(
        version=PLAN_VERSION,
        building=_building(circuits, devices, plan_boxes, building),
        cables=plan_cables,
        bores=(),
        cost=0.0,
        cost_parts={},
        lower_bound=None,
        unreached=(),
        unreached_why=(),
        assumptions=(),
        warnings=(),
        makeups=tuple(_makeup(box, by_box[box.id], plan_cables, devices) for box in plan_boxes),
        circuits=tuple(_sheet(name, one, plan_cables, devices) for name, one in circuits.items()),
    )


def _cables(
    rows: list[list[str]], nets: dict[tuple[str, str, str], str], devices: tuple[Device, ...]
) -> tuple[Cable, ...]:
    made: list[Cable] = []
    for row in rows:
        name, kind, near, feet, amps = row[:5]
        circuit, far = name.partition(".")[0], _far(row)
        conductors = [
            Conductor(colour=colour, net=net, marked="black" if hot else "")
            for colour in COLOURS[int(kind.split("/")[1])]
            for net in [nets.get((near, name, colour), "not joined")]
            for hot in [colour.startswith("white") and "neutral" not in net and net != "spare"]
        ]
        made.append(
            Cable(
                id=name,
                circuit=circuit,
                type=kind,
                from_box=near,
                to_box=far,
                points=(),
                tracks=(),
                bores=(),
                path_in=0.0,
                entries_in=0.0,
                free_in=0.0,
                panel_in=0.0,
                slack_in=0.0,
                cut_in=12 * float(feet),
                floor="SHOP",
                staples=0,
                turns=0,
                board_in=0.0,
                covered_in=0.0,
                conductors=(*conductors, Conductor(colour="bare", net="ground")),
                current_a=float(amps),
            )
        )
    return tuple(replace(cable, drop_percent=_drop(cable, made, devices)) for cable in made)


def _drop(cable: Cable, cables: list[Cable], devices: tuple[Device, ...]) -> float:
    """Per cent: along the legs to the far box, and to the switches of what is in it."""
    at = {(one.circuit, one.to_box): one for one in cables}
    controls = {d.control for d in devices if d.box == cable.to_box and d.kind is not DeviceKind.SWITCH} - {""}
    boxes = [cable.to_box, *(d.box for d in devices if d.kind is DeviceKind.SWITCH and d.control in controls)]
    legs: dict[str, Cable] = {}
    for box in boxes:
        while (leg := at.get((cable.circuit, box))) is not None and leg.id not in legs:
            legs[leg.id] = leg
            box = leg.from_box
    lost = sum(2 * leg.current_a * OHMS[int(leg.type.split("/")[0])] * leg.cut_in / 12000 for leg in legs.values())
    return 100 * lost / (240 if any(d.volts == 240 and d.circuit == cable.circuit for d in devices) else 120)


def _far(row: list[str]) -> str:
    return row[5] if len(row) > 5 else row[0].partition(".")[2]


def _box(name: str, cables: tuple[Cable, ...], said: dict[str, Any]) -> Box:
    circuits = sorted({cable.circuit for cable in cables if name in (cable.from_box, cable.to_box)})
    return Box(
        id=name,
        title=name,
        circuits=tuple(circuits),
        storey="SHOP",
        host="SOUTH",
        side="",
        u_in=0.0,
        v_in=0.0,
        w_in=0.0,
        size_in=(4.0, 4.0, 2.125),
        at=(0.0, 0.0, 0.0),
        rise_in=8.0,
        cables_max=20,
        **{**said, **({"kind": "panel"} if name == "PANEL" else {})},
    )


def _building(
    circuits: dict[str, dict[str, Any]], devices: tuple[Device, ...], boxes: tuple[Box, ...], more: dict[str, Any]
) -> Building:
    of: dict[str, list[str]] = {name: [box.id for box in boxes if name in box.circuits] for name in circuits}
    follow: dict[str, list[Device]] = {}
    for device in devices:
        if device.control:
            follow.setdefault(device.control, []).append(device)
    controls = tuple(
        Control(
            id=name,
            title="",
            circuit=them[0].circuit,
            points=tuple(d.id for d in them if d.kind is DeviceKind.SWITCH),
            lights=tuple(d.id for d in them if d.kind is not DeviceKind.SWITCH),
        )
        for name, them in follow.items()
    )
    known: dict[str, Any] = {
        "cable_types": default_cable_types(),
        "limits": load_limits(),
        "box_types": (STEEL, PLASTIC),
        "breakers": (Breakers(panel="PANEL", used=(12,)),),
        "wiring": WiringRules(),
    }
    plain = dict.fromkeys(("storeys", "assemblies", "members", "keep_clear", "cable_rules", "answers"), ())
    return Building(
        title="",
        about={},
        metric=False,
        boxes=boxes,
        circuits=tuple(
            Circuit(
                id=name,
                title="",
                panel="PANEL",
                boxes=tuple(box for box in of[name] if box != "PANEL"),
                multiwire=said.get("multiwire", False),
            )
            for name, said in circuits.items()
        ),
        prices={},
        lengths=LengthRules(),
        tools=Tools(),
        devices=devices,
        controls=controls,
        **{**plain, **known, **more},
    )


def _makeup(box: Box, joints: list[Joint], cables: tuple[Cable, ...], devices: tuple[Device, ...]) -> Makeup:
    panel, kind = box.kind == "panel", PLASTIC if box.box_type == PLASTIC.id else STEEL
    inside = [device for device in devices if device.box == box.id]
    here = [cable for cable in cables if box.id in (cable.from_box, cable.to_box)]
    screws = [(device.id, "ground") for device in inside]
    screws += [(box.id, "ground bar")] if panel else [(box.id, "box")] if kind is STEEL else []
    bare = tuple((cable.id, "bare") for cable in here)
    ground = Joint(net="ground", circuit="", ends=bare, terminals=tuple(screws))
    if panel:
        return Makeup(box=box.id, box_type="", ring="", volume_in3=0.0, fill=(), joints=(*joints, ground))
    sizes = [int(cable.type.split("/")[0]) for cable in here]
    lines = [
        FillLine(what="", count=int(cable.type.split("/")[1]), awg=awg, each_in3=VOLUMES[awg], clause="")
        for cable, awg in zip(here, sizes, strict=True)
    ]
    lines += _others(sizes, clamps=kind is STEEL, yokes=[d for d in inside if d.yokes])
    return Makeup(
        box=box.id, box_type=kind.id, ring="", volume_in3=kind.volume_in3, fill=tuple(lines), joints=(*joints, ground)
    )


def _others(sizes: list[int], *, clamps: bool, yokes: list[Device]) -> list[FillLine]:
    """Grounds, clamps by the largest conductor (the smallest number), yokes by that of their circuit."""
    awg = min(sizes)
    grounds = 1 + 0.25 * max(0, len(sizes) - 4)
    of_circuit = {"L1": 14, "P1": 12}
    lines = [FillLine(what="", count=grounds, awg=awg, each_in3=VOLUMES[awg], clause="")]
    lines += [FillLine(what="", count=1, awg=awg, each_in3=VOLUMES[awg], clause="")] if clamps else []
    for device in yokes:
        own = of_circuit[device.circuit]
        lines.append(FillLine(what="", count=2, awg=own, each_in3=VOLUMES[own], clause=""))
    return lines


def _sheet(name: str, said: dict[str, Any], cables: tuple[Cable, ...], devices: tuple[Device, ...]) -> CircuitSheet:
    mine = {cable.to_box: cable for cable in cables if cable.circuit == name}
    on_it = [device for device in devices if device.circuit == name]

    def feet(cable: Cable) -> float:
        return cable.cut_in / 12 + (feet(mine[cable.from_box]) if cable.from_box in mine else 0.0)

    volts = 240 if any(device.volts == 240 for device in on_it) else 120
    usual: dict[str, Any] = {
        "volts": volts,
        "poles": len(said["spaces"]),
        "load_va": sum(device.load_va for device in on_it),
        "load_a": sum(device.load_va for device in on_it) / volts,
        "longest_ft": max(map(feet, mine.values())),
        "drop_percent": max(cable.drop_percent for cable in mine.values()),
    }
    return CircuitSheet(circuit=name, panel="PANEL", **{**usual, **{k: v for k, v in said.items() if k != "multiwire"}})


# --- one switch, one light -------------------------------------------------------------------------------------------

NO_NEUTRAL = WiringRules(switch_neutral=False)


def power_at_switch() -> Plan:
    return wired(
        {"L1": LIGHTS},
        (switch("S1", "ROW"), light("LAMP", "ROW")),
        """
        L1.S1 14/2 PANEL 20 0.8333
        L1.LAMP 14/2 S1 15 0.8333
        """,
        """
        PANEL | L1 | line | L1.S1 black, PANEL: breaker L1
        PANEL | L1 | neutral | L1.S1 white, PANEL: neutral bar
        S1 | L1 | line | L1.S1 black, S1: line
        S1 | L1 | switched ROW | L1.LAMP black, S1: load
        S1 | L1 | neutral | L1.S1 white, L1.LAMP white
        LAMP | L1 | switched ROW | L1.LAMP black, LAMP: hot
        LAMP | L1 | neutral | L1.LAMP white, LAMP: neutral
        """,
    )


def power_at_light() -> Plan:
    """The neutral goes on to the switch, for whatever may want one there."""
    return wired(
        {"L1": LIGHTS},
        (switch("S1", "ROW"), light("LAMP", "ROW")),
        """
        L1.LAMP 14/2 PANEL 20 0.8333
        L1.S1 14/3 LAMP 15 0.8333
        """,
        """
        PANEL | L1 | line | L1.LAMP black, PANEL: breaker L1
        PANEL | L1 | neutral | L1.LAMP white, PANEL: neutral bar
        LAMP | L1 | line | L1.LAMP black, L1.S1 black
        LAMP | L1 | switched ROW | L1.S1 red, LAMP: hot
        LAMP | L1 | neutral | L1.LAMP white, L1.S1 white, LAMP: neutral
        S1 | L1 | line | L1.S1 black, S1: line
        S1 | L1 | switched ROW | L1.S1 red, S1: load
        S1 | L1 | neutral | L1.S1 white
        """,
    )


def switch_loop() -> Plan:
    """Without a neutral at the switch: the white one, marked, is the supply to it (NEC 200.7(C)(1))."""
    return wired(
        {"L1": LIGHTS},
        (switch("S1", "ROW"), light("LAMP", "ROW")),
        """
        L1.LAMP 14/2 PANEL 20 0.8333
        L1.S1 14/2 LAMP 15 0.8333
        """,
        """
        PANEL | L1 | line | L1.LAMP black, PANEL: breaker L1
        PANEL | L1 | neutral | L1.LAMP white, PANEL: neutral bar
        LAMP | L1 | line | L1.LAMP black, L1.S1 white
        LAMP | L1 | switched ROW | L1.S1 black, LAMP: hot
        LAMP | L1 | neutral | L1.LAMP white, LAMP: neutral
        S1 | L1 | line | L1.S1 white, S1: line
        S1 | L1 | switched ROW | L1.S1 black, S1: load
        """,
        wiring=NO_NEUTRAL,
    )


# --- a light from several points -------------------------------------------------------------------------------------

PAIR = (switch("A", "ROW"), switch("B", "ROW"), light("LAMP", "ROW"))


def three_way_power_at_switch() -> Plan:
    return three_way_chain(0)


def four_way() -> Plan:
    return three_way_chain(1)


def three_way_chain(between: int) -> Plan:
    """Power at A, then so many four-way switches, B, and the lamp beyond it."""
    names = ["A", *(f"F{n}" for n in range(1, between + 1)), "B"]
    cables = ["L1.A 14/2 PANEL 20 0.8333"]
    joints = [
        "PANEL | L1 | line | L1.A black, PANEL: breaker L1",
        "PANEL | L1 | neutral | L1.A white, PANEL: neutral bar",
        "A | L1 | line | L1.A black, A: common",
    ]
    for n, (near, far) in enumerate(zip(names[:-1], names[1:], strict=True), 1):
        cables.append(f"L1.{far} 14/3 {near} 10 0.8333")
        out = ("out 1", "out 2") if near.startswith("F") else ("traveler 1", "traveler 2")
        into = ("in 1", "in 2") if far.startswith("F") else ("traveler 1", "traveler 2")
        for k, (colour, letter) in enumerate((("black", "a"), ("red", "b"))):
            joints.append(f"{near} | L1 | traveler ROW {n}{letter} | L1.{far} {colour}, {near}: {out[k]}")
            joints.append(f"{far} | L1 | traveler ROW {n}{letter} | L1.{far} {colour}, {far}: {into[k]}")
        joints.append(f"{near} | L1 | neutral | L1.{near} white, L1.{far} white")
    cables.append("L1.LAMP 14/2 B 15 0.8333")
    joints += [
        "B | L1 | switched ROW | L1.LAMP black, B: common",
        "B | L1 | neutral | L1.B white, L1.LAMP white",
        "LAMP | L1 | switched ROW | L1.LAMP black, LAMP: hot",
        "LAMP | L1 | neutral | L1.LAMP white, LAMP: neutral",
    ]
    devices = (*(switch(name, "ROW") for name in names), light("LAMP", "ROW"))
    return wired({"L1": LIGHTS}, devices, "\n".join(cables), "\n".join(joints))


def three_way_power_at_light() -> Plan:
    """Both switches beyond the light: line, switched line and neutral to A, travelers and the last two on to B."""
    return wired(
        {"L1": LIGHTS},
        PAIR,
        """
        L1.LAMP 14/2 PANEL 20 0.8333
        L1.A 14/3 LAMP 15 0.8333
        L1.B 14/4 A 10 0.8333
        """,
        """
        PANEL | L1 | line | L1.LAMP black, PANEL: breaker L1
        PANEL | L1 | neutral | L1.LAMP white, PANEL: neutral bar
        LAMP | L1 | line | L1.LAMP black, L1.A black
        LAMP | L1 | switched ROW | L1.A red, LAMP: hot
        LAMP | L1 | neutral | L1.LAMP white, L1.A white, LAMP: neutral
        A | L1 | line | L1.A black, A: common
        A | L1 | switched ROW | L1.A red, L1.B red
        A | L1 | neutral | L1.A white, L1.B white
        A | L1 | traveler ROW 1a | L1.B black, A: traveler 1
        A | L1 | traveler ROW 1b | L1.B white with a red stripe, A: traveler 2
        B | L1 | switched ROW | L1.B red, B: common
        B | L1 | neutral | L1.B white
        B | L1 | traveler ROW 1a | L1.B black, B: traveler 1
        B | L1 | traveler ROW 1b | L1.B white with a red stripe, B: traveler 2
        """,
    )


def three_way_light_between() -> Plan:
    return wired(
        {"L1": LIGHTS},
        PAIR,
        """
        L1.A 14/2 PANEL 20 0.8333
        L1.LAMP 14/3 A 10 0.8333
        L1.B 14/3 LAMP 10 0.8333
        """,
        """
        PANEL | L1 | line | L1.A black, PANEL: breaker L1
        PANEL | L1 | neutral | L1.A white, PANEL: neutral bar
        A | L1 | line | L1.A black, A: common
        A | L1 | neutral | L1.A white, L1.LAMP white
        A | L1 | traveler ROW 1a | L1.LAMP black, A: traveler 1
        A | L1 | traveler ROW 1b | L1.LAMP red, A: traveler 2
        LAMP | L1 | traveler ROW 1a | L1.LAMP black, L1.B white
        LAMP | L1 | traveler ROW 1b | L1.LAMP red, L1.B red
        LAMP | L1 | switched ROW | L1.B black, LAMP: hot
        LAMP | L1 | neutral | L1.LAMP white, LAMP: neutral
        B | L1 | traveler ROW 1a | L1.B white, B: traveler 1
        B | L1 | traveler ROW 1b | L1.B red, B: traveler 2
        B | L1 | switched ROW | L1.B black, B: common
        """,
        wiring=NO_NEUTRAL,
    )


def feed_carried_through() -> Plan:
    """The line goes unswitched through the box of S1 to that of S2."""
    return wired(
        {"L1": LIGHTS},
        (switch("S1", "ROW"), light("LAMP1", "ROW"), switch("S2", "STAIR"), light("LAMP2", "STAIR", load_va=60.0)),
        """
        L1.S1 14/2 PANEL 20 1.3333
        L1.LAMP1 14/2 S1 15 0.8333
        L1.S2 14/2 S1 12 0.5
        L1.LAMP2 14/2 S2 9 0.5
        """,
        """
        PANEL | L1 | line | L1.S1 black, PANEL: breaker L1
        PANEL | L1 | neutral | L1.S1 white, PANEL: neutral bar
        S1 | L1 | line | L1.S1 black, L1.S2 black, S1: line
        S1 | L1 | switched ROW | L1.LAMP1 black, S1: load
        S1 | L1 | neutral | L1.S1 white, L1.LAMP1 white, L1.S2 white
        LAMP1 | L1 | switched ROW | L1.LAMP1 black, LAMP1: hot
        LAMP1 | L1 | neutral | L1.LAMP1 white, LAMP1: neutral
        S2 | L1 | line | L1.S2 black, S2: line
        S2 | L1 | switched STAIR | L1.LAMP2 black, S2: load
        S2 | L1 | neutral | L1.S2 white, L1.LAMP2 white
        LAMP2 | L1 | switched STAIR | L1.LAMP2 black, LAMP2: hot
        LAMP2 | L1 | neutral | L1.LAMP2 white, LAMP2: neutral
        """,
    )


# --- outlets, a heater, alarms ---------------------------------------------------------------------------------------


def behind_ground_fault() -> Plan:
    """G1 protects R2 and R3."""
    return wired(
        {"P1": OUTLETS},
        (receptacle("G1", ground_fault=True), receptacle("R2"), receptacle("R3")),
        """
        P1.G1 12/2 PANEL 30 4.5
        P1.R2 12/2 G1 8 3
        P1.R3 12/2 R2 8 1.5
        """,
        """
        PANEL | P1 | line | P1.G1 black, PANEL: breaker P1
        PANEL | P1 | neutral | P1.G1 white, PANEL: neutral bar
        G1 | P1 | line | P1.G1 black, G1: line hot
        G1 | P1 | neutral | P1.G1 white, G1: line neutral
        G1 | P1 | protected line G1 | P1.R2 black, G1: load hot
        G1 | P1 | protected neutral G1 | P1.R2 white, G1: load neutral
        R2 | P1 | protected line G1 | P1.R2 black, P1.R3 black, R2: hot
        R2 | P1 | protected neutral G1 | P1.R2 white, P1.R3 white, R2: neutral
        R3 | P1 | protected line G1 | P1.R3 black, R3: hot
        R3 | P1 | protected neutral G1 | P1.R3 white, R3: neutral
        """,
    )


def half_switched() -> Plan:
    return wired(
        {"P1": {**OUTLETS, "breaker": "ground-fault"}},
        (switch("S1", "DESK", circuit="P1"), receptacle("R1", "DESK", half_switched=True)),
        """
        P1.S1 12/2 PANEL 30 1.5
        P1.R1 12/3 S1 12 1.5
        """,
        """
        PANEL | P1 | line | P1.S1 black, PANEL: breaker P1
        PANEL | P1 | neutral | P1.S1 white, PANEL: neutral bar
        S1 | P1 | line | P1.S1 black, P1.R1 black, S1: line
        S1 | P1 | switched DESK | P1.R1 red, S1: load
        S1 | P1 | neutral | P1.S1 white, P1.R1 white
        R1 | P1 | line | P1.R1 black, R1: hot bottom
        R1 | P1 | switched DESK | P1.R1 red, R1: hot top
        R1 | P1 | neutral | P1.R1 white, R1: neutral
        """,
    )


def half_switched_power_at_outlet() -> Plan:
    """All 1.5 A may be plugged into the half that goes by way of the switch."""
    return wired(
        {"P1": {**OUTLETS, "breaker": "ground-fault"}},
        (switch("S1", "DESK", circuit="P1"), receptacle("R1", "DESK", half_switched=True)),
        """
        P1.R1 12/2 PANEL 30 1.5
        P1.S1 12/3 R1 12 1.5
        """,
        """
        PANEL | P1 | line | P1.R1 black, PANEL: breaker P1
        PANEL | P1 | neutral | P1.R1 white, PANEL: neutral bar
        R1 | P1 | line | P1.R1 black, P1.S1 black, R1: hot bottom
        R1 | P1 | switched DESK | P1.S1 red, R1: hot top
        R1 | P1 | neutral | P1.R1 white, P1.S1 white, R1: neutral
        S1 | P1 | line | P1.S1 black, S1: line
        S1 | P1 | switched DESK | P1.S1 red, S1: load
        S1 | P1 | neutral | P1.S1 white
        """,
    )


def heater() -> Plan:
    """4 kW on 240 V: 16.67 A, 20.83 A at 125 %: 10 AWG on 25 A."""
    device = Device(
        id="HEAT", box="HEAT", kind=DeviceKind.HEATER, circuit="H1", volts=240, load_va=4000.0, neutral=False
    )
    sheet = {"breaker_a": 25.0, "awg": 10, "spaces": (1, 3), "legs": "AB", "breaker": "ground-fault", "load_a": 20.8333}
    return wired(
        {"H1": sheet},
        (device,),
        "H1.HEAT 10/2 PANEL 40 16.6667",
        """
        PANEL | H1 | line 1 | H1.HEAT black, PANEL: breaker H1 1
        PANEL | H1 | line 2 | H1.HEAT white, PANEL: breaker H1 2
        HEAT | H1 | line 1 | H1.HEAT black, HEAT: hot 1
        HEAT | H1 | line 2 | H1.HEAT white, HEAT: hot 2
        """,
    )


def multiwire() -> Plan:
    """R1 on one leg, R2 with twice as much on the other; the neutral carries the difference."""
    sheet = {**OUTLETS, "spaces": (1, 3), "legs": "AB", "breaker": "ground-fault", "multiwire": True, "load_a": 3.0}
    return wired(
        {"P1": sheet},
        (receptacle("R1", leg=1), receptacle("R2", leg=2, load_va=360.0)),
        """
        P1.R1 12/3 PANEL 30 3
        P1.R2 12/2 R1 8 3
        """,
        """
        PANEL | P1 | line 1 | P1.R1 black, PANEL: breaker P1 1
        PANEL | P1 | line 2 | P1.R1 red, PANEL: breaker P1 2
        PANEL | P1 | neutral | P1.R1 white, PANEL: neutral bar
        R1 | P1 | line 1 | P1.R1 black, R1: hot
        R1 | P1 | line 2 | P1.R1 red, P1.R2 black
        R1 | P1 | neutral | P1.R1 white, P1.R2 white, R1: neutral
        R2 | P1 | line 2 | P1.R2 black, R2: hot
        R2 | P1 | neutral | P1.R2 white, R2: neutral
        """,
    )


def alarms() -> Plan:
    return wired(
        {"L1": LIGHTS},
        (alarm("A1"), alarm("A2")),
        """
        L1.A1 14/2 PANEL 20 0.2
        L1.A2 14/3 A1 15 0.1
        """,
        """
        PANEL | L1 | line | L1.A1 black, PANEL: breaker L1
        PANEL | L1 | neutral | L1.A1 white, PANEL: neutral bar
        A1 | L1 | line | L1.A1 black, L1.A2 black, A1: hot
        A1 | L1 | neutral | L1.A1 white, L1.A2 white, A1: neutral
        A1 | L1 | interconnect | L1.A2 red, A1: interconnect
        A2 | L1 | line | L1.A2 black, A2: hot
        A2 | L1 | neutral | L1.A2 white, A2: neutral
        A2 | L1 | interconnect | L1.A2 red, A2: interconnect
        """,
    )


def shared_box() -> Plan:
    """A switch of L1 and an outlet of P1 in one box, on the person's word; a spare red one on the way to the lamp."""
    return wired(
        {"L1": LIGHTS, "P1": {**OUTLETS, "breaker": "ground-fault"}},
        (switch("S1", "ROW", box="BOX"), light("LAMP", "ROW"), receptacle("R1", box="BOX")),
        """
        L1.BOX 14/2 PANEL 20 0.8333
        P1.BOX 12/2 PANEL 20 1.5
        L1.LAMP 14/3 BOX 15 0.8333
        """,
        """
        PANEL | L1 | line | L1.BOX black, PANEL: breaker L1
        PANEL | L1 | neutral | L1.BOX white, PANEL: neutral bar
        PANEL | P1 | line | P1.BOX black, PANEL: breaker P1
        PANEL | P1 | neutral | P1.BOX white, PANEL: neutral bar
        BOX | L1 | line | L1.BOX black, S1: line
        BOX | L1 | switched ROW | L1.LAMP black, S1: load
        BOX | L1 | neutral | L1.BOX white, L1.LAMP white
        BOX | L1 | spare | L1.LAMP red
        BOX | P1 | line | P1.BOX black, R1: hot
        BOX | P1 | neutral | P1.BOX white, R1: neutral
        LAMP | L1 | switched ROW | L1.LAMP black, LAMP: hot
        LAMP | L1 | neutral | L1.LAMP white, LAMP: neutral
        LAMP | L1 | spare | L1.LAMP red
        """,
        boxes={"BOX": {"shared": True, "box_type": "plastic"}},
    )


PLANS = {
    plan.__name__: plan
    for plan in (
        *(power_at_switch, power_at_light, switch_loop, three_way_power_at_switch, three_way_power_at_light),
        *(three_way_light_between, four_way, feed_carried_through, behind_ground_fault, half_switched, heater),
        *(half_switched_power_at_outlet, multiwire, alarms, shared_box),
    )
}

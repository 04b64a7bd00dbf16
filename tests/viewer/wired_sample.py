"""The sample shed wired by hand: stair lights, a switch loop, outlets behind a ground-fault device, a saw on 240 V.

The wiring is spelled in ``JOINTS``, a line for each joint: box, circuit ("-" for the ground), net: conductor ends and
terminals. Cables, seen from the panel:

LIGHTS 14/2 to SW1 (three-way), 14/3 to SW2 (three-way), 14/2 to G1 (light), 14/2 to G2 (light);
LOOP   14/2 to L3 (light), 14/2 to SW3 without a neutral: its white is the line, taped red;
OUT    12/2 to O1 (ground-fault receptacle), 12/2 to O2 (receptacle behind it); O2 shares its box with L3, on purpose;
SAW    10/2 to SAW (240 V): its white is the second line, taped red.
"""

from __future__ import annotations

from dataclasses import replace

from sample_plan import box, cable, sample_building, sample_plan

from barnloom.model.building import Answer, Box, CableType, Circuit
from barnloom.model.electrical.fill import FillLine
from barnloom.model.wiring import BoxType, Breakers, Control, Device, DeviceKind, Supply, WiringRules
from barnloom.routing.plan import Cable, CircuitSheet, Conductor, Joint, Makeup, Plan, Resized

JOINTS = """
PANEL LIGHTS line: LIGHTS.SW1 black; PANEL breaker LIGHTS
PANEL LIGHTS neutral: LIGHTS.SW1 white; PANEL neutral bar
PANEL LOOP line: LOOP.MIX black; PANEL breaker LOOP
PANEL LOOP neutral: LOOP.MIX white; PANEL neutral bar
PANEL OUT line: OUT.O1 black; PANEL breaker OUT
PANEL OUT neutral: OUT.O1 white; PANEL neutral bar
PANEL SAW line 1: SAW.SAW black; PANEL breaker SAW 1
PANEL SAW line 2: SAW.SAW white; PANEL breaker SAW 2
PANEL - ground: LIGHTS.SW1 bare; LOOP.MIX bare; OUT.O1 bare; SAW.SAW bare; PANEL ground bar
SW1 LIGHTS line: LIGHTS.SW1 black; SW1 common
SW1 LIGHTS traveler STAIR 1a: LIGHTS.SW2 black; SW1 traveler 1
SW1 LIGHTS traveler STAIR 1b: LIGHTS.SW2 red; SW1 traveler 2
SW1 LIGHTS neutral: LIGHTS.SW1 white; LIGHTS.SW2 white
SW1 - ground: LIGHTS.SW1 bare; LIGHTS.SW2 bare; SW1 ground; SW1 box
SW2 LIGHTS switched STAIR: LIGHTS.G1 black; SW2 common
SW2 LIGHTS traveler STAIR 1a: LIGHTS.SW2 black; SW2 traveler 1
SW2 LIGHTS traveler STAIR 1b: LIGHTS.SW2 red; SW2 traveler 2
SW2 LIGHTS neutral: LIGHTS.SW2 white; LIGHTS.G1 white
SW2 - ground: LIGHTS.SW2 bare; LIGHTS.G1 bare; SW2 ground; SW2 box
G1 LIGHTS switched STAIR: LIGHTS.G1 black; LIGHTS.G2 black; G1 hot
G1 LIGHTS neutral: LIGHTS.G1 white; LIGHTS.G2 white; G1 neutral
G1 - ground: LIGHTS.G1 bare; LIGHTS.G2 bare; G1 ground; G1 box
G2 LIGHTS switched STAIR: LIGHTS.G2 black; G2 hot
G2 LIGHTS neutral: LIGHTS.G2 white; G2 neutral
G2 - ground: LIGHTS.G2 bare; G2 ground; G2 box
MIX LOOP line: LOOP.MIX black; LOOP.SW3 white
MIX LOOP switched BENCH: LOOP.SW3 black; MIX.1 hot
MIX LOOP neutral: LOOP.MIX white; MIX.1 neutral
MIX OUT protected line O1: OUT.MIX black; MIX.2 hot
MIX OUT protected neutral O1: OUT.MIX white; MIX.2 neutral
MIX - ground: LOOP.MIX bare; LOOP.SW3 bare; OUT.MIX bare; MIX.1 ground; MIX.2 ground; MIX box
SW3 LOOP line: LOOP.SW3 white; SW3 line
SW3 LOOP switched BENCH: LOOP.SW3 black; SW3 load
SW3 - ground: LOOP.SW3 bare; SW3 ground; SW3 box
O1 OUT line: OUT.O1 black; O1 line hot
O1 OUT neutral: OUT.O1 white; O1 line neutral
O1 OUT protected line O1: OUT.MIX black; O1 load hot
O1 OUT protected neutral O1: OUT.MIX white; O1 load neutral
O1 - ground: OUT.O1 bare; OUT.MIX bare; O1 ground; O1 box
SAW SAW line 1: SAW.SAW black; SAW hot 1
SAW SAW line 2: SAW.SAW white; SAW hot 2
SAW - ground: SAW.SAW bare; SAW ground; SAW box
"""

RUNS = {
    "LIGHTS.SW1": ("PANEL", "14/2"),
    "LIGHTS.SW2": ("SW1", "14/3"),
    "LIGHTS.G1": ("SW2", "14/2"),
    "LIGHTS.G2": ("G1", "14/2"),
    "LOOP.MIX": ("PANEL", "14/2"),
    "LOOP.SW3": ("MIX", "14/2"),
    "OUT.O1": ("PANEL", "12/2"),
    "OUT.MIX": ("O1", "12/2"),
    "SAW.SAW": ("PANEL", "10/2"),
}
"""Of each cable: the box at the panel's side, and its type."""
MARKED = {("LOOP.SW3", "white"): "red", ("SAW.SAW", "white"): "red"}
PLACES = {
    "SW1": (40, 1.75, 48),
    "SW2": (56, 1.75, 48),
    "SW3": (72, 1.75, 48),
    "O1": (88, 1.75, 20),
    "SAW": (104, 1.75, 20),
}
LAMPS = {"G1": (24, 60, 97), "G2": (72, 60, 97), "MIX": (88, 60, 97)}


def joints() -> dict[str, tuple[Joint, ...]]:
    """Joints by box, as spelled above."""
    found: dict[str, list[Joint]] = {}
    for line in JOINTS.strip().splitlines():
        head, _, said = line.partition(": ")
        box_id, circuit, net = head.split(" ", 2)
        pairs = [(first, rest) for first, _, rest in (one.partition(" ") for one in said.split("; "))]
        found.setdefault(box_id, []).append(
            Joint(
                net=net,
                circuit="" if circuit == "-" else circuit,
                ends=tuple(pair for pair in pairs if pair[0] in RUNS),
                terminals=tuple(pair for pair in pairs if pair[0] not in RUNS),
            )
        )
    return {name: tuple(own) for name, own in found.items()}


def _cables() -> tuple[Cable, ...]:
    made = []
    at = {**PLACES, **LAMPS, "PANEL": (24, 1.75, 60)}
    for name, (start, kind) in RUNS.items():
        far = name.partition(".")[2]
        ends = [
            (colour, joint.net)
            for joint in joints()[far]
            for cable_id, colour in joint.ends
            if cable_id == name
        ]  # fmt: skip
        ends.sort(key=lambda end: ("black", "red", "white", "bare").index(end[0]))
        conductors = tuple(
            Conductor(colour=colour, net=net, marked=MARKED.get((name, colour), "")) for colour, net in ends
        )
        one = cable(name, (start, far), (at[start], at[far]), ("SOUTH",), 36.0 if start == "PANEL" else 0.0, type=kind)
        made.append(replace(one, conductors=conductors, current_a=5.0, drop_percent=1.25))
    return tuple(made)


def wired_boxes() -> tuple[Box, ...]:
    """The panel, five boxes in the wall, three overhead."""
    circuits = {"MIX": ("LOOP", "OUT"), "SAW": ("SAW",), "O1": ("OUT",), "SW3": ("LOOP",)}
    return (
        box("PANEL", (), "SOUTH", (24, 1.75, 60), kind="panel", size_in=(12.0, 24.0, 3.5)),
        *(box(name, circuits.get(name, ("LIGHTS",)), "SOUTH", at) for name, at in PLACES.items()),
        *(
            box(name, circuits.get(name, ("LIGHTS",)), "LOFT", at, shared=name == "MIX", phase=2 if name == "G2" else 1)
            for name, at in LAMPS.items()
        ),
    )


DEVICES = (
    Device(id="SW1", box="SW1", kind=DeviceKind.SWITCH, circuit="LIGHTS", control="STAIR"),
    Device(id="SW2", box="SW2", kind=DeviceKind.SWITCH, circuit="LIGHTS", control="STAIR"),
    Device(id="G1", box="G1", kind=DeviceKind.LIGHT, circuit="LIGHTS", control="STAIR", load_va=100),
    Device(id="G2", box="G2", kind=DeviceKind.LIGHT, circuit="LIGHTS", control="STAIR", load_va=100),
    Device(id="MIX.1", box="MIX", kind=DeviceKind.LIGHT, circuit="LOOP", control="BENCH", load_va=100),
    Device(id="SW3", box="SW3", kind=DeviceKind.SWITCH, circuit="LOOP", control="BENCH"),
    Device(id="O1", box="O1", kind=DeviceKind.RECEPTACLE, circuit="OUT", ground_fault=True, load_va=180),
    Device(id="MIX.2", box="MIX", kind=DeviceKind.RECEPTACLE, circuit="OUT", load_va=180),
    Device(id="SAW", box="SAW", kind=DeviceKind.MACHINE, circuit="SAW", volts=240, neutral=False, load_va=3600),
)
CONTROLS = (
    Control(id="STAIR", title="stair light", circuit="LIGHTS", points=("SW1", "SW2"), lights=("G1", "G2")),
    Control(id="BENCH", title="", circuit="LOOP", points=("SW3",), lights=("MIX.1",)),
)
SHEETS = (
    ("LIGHTS", 15, 14, 200.0, 1.7, (1,), "A", "plain", 120),
    ("LOOP", 15, 14, 100.0, 0.8, (2,), "B", "plain", 120),
    ("OUT", 20, 12, 360.0, 3.0, (3,), "A", "ground-fault", 120),
    ("SAW", 30, 10, 3600.0, 18.75, (4, 6), "AB", "plain", 240),
)
FILL = {
    # NEC 314.16(B): 5 insulated 14 AWG at 2.00, clamps once, one yoke twice, grounds once: 5 + 1 + 2 + 1 = 9 at 2.00.
    "SW1": (("conductors", 5), ("clamps inside", 1), ("SW1", 2), ("grounds", 1)),
    "G2": (("conductors", 2), ("clamps inside", 1), ("grounds", 1)),
}
VOLUMES = {"SW1": 21.0, "G2": 15.5}


def makeups() -> tuple[Makeup, ...]:
    """Of every box; only two have a fill worked, the others' volume is not known."""
    return tuple(
        Makeup(
            box=name,
            box_type="square-4x1-1-2" if name == "SW1" else "",
            ring="square-4-mud-1x1-2" if name == "SW1" else "",
            volume_in3=VOLUMES.get(name, 0.0),
            fill=tuple(
                FillLine(what=what, count=float(count), awg=14, each_in3=2.0, clause="314.16(B)")
                for what, count in FILL.get(name, ())
            ),
            joints=own,
        )
        for name, own in joints().items()
    )


def wired_plan(**more: object) -> Plan:
    """All of it; ``more`` replaces fields of the plan."""
    building = sample_building(
        boxes=wired_boxes(),
        circuits=tuple(
            Circuit(
                id=name,
                title="Stair lights" if name == "LIGHTS" else "",
                panel="PANEL",
                boxes=tuple(one.id for one in wired_boxes() if name in one.circuits),
                phase=2 if name == "SAW" else 1,
            )
            for name in ("LIGHTS", "LOOP", "OUT", "SAW")
        ),
        cable_types=tuple(
            CableType(
                id=name, width_in=0.4, thickness_in=0.2, price_ft=1.0, source="", family="NM-B",
                awg=int(name.partition("/")[0]), conductors=int(name.partition("/")[2]),
            )
            for name in ("14/2", "14/3", "12/2", "10/2")
        ),
        devices=DEVICES,
        controls=CONTROLS,
        box_types=(
            BoxType(
                id="square-4x1-1-2", series="square-4", title="square box, 4 x 4 in", what="box", material="metal",
                width_in=4.0, height_in=4.0, depth_in=1.5, volume_in3=21.0, gangs=2, clamps="inside",
            ),
            BoxType(
                id="square-4-mud-1x1-2", series="square-4", title="mud ring, one gang", what="ring", material="metal",
                width_in=4.0, height_in=4.0, depth_in=0.5, volume_in3=0.0, gangs=1, clamps="none",
            ),
        ),
        breakers=(Breakers(panel="PANEL", spaces=12, used=(11,), main_a=60, said=True),),
        supply=Supply(
            from_where="the house", breaker_a=60, awg="6", length_in=1020.0, method="buried", family="UF-B", said=True
        ),
        wiring=WiringRules(phases=True),
        answers=(
            Answer(question="plain_cable: is plain sheathed cable allowed here?", answer="no", assumed=True),
            Answer(
                question="switch_neutral: must there be a neutral at every switch?", answer="no", assumed=False,
                who="building office", when="2026-03-12",
            ),
            Answer(question="Who keeps the key?", answer="Ada", assumed=False),
        ),
    )  # fmt: skip
    said: dict[str, object] = {
        "building": building,
        "cables": _cables(),
        "bores": (),
        "unreached": (),
        "unreached_why": (),
        "makeups": makeups(),
        "circuits": tuple(
            CircuitSheet(
                circuit=name, panel="PANEL", volts=volts, poles=len(legs), breaker_a=breaker, breaker=kind, awg=awg,
                load_va=va, load_a=amps, longest_ft=62.0, drop_percent=1.25, spaces=spaces, legs=legs,
                notes=("a note",) if name == "SAW" else (),
            )
            for name, breaker, awg, va, amps, spaces, legs, kind, volts in SHEETS
        ),
        "resized": (Resized(subject="SAW.SAW", before="12/2", after="10/2", because="the load"),),
    }  # fmt: skip
    return sample_plan(**{**said, **more})

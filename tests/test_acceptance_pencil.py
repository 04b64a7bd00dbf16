"""What an electrician with a pencil works out for the shipped scenes, against what their lists say.

Nothing here asks the program how it counts: the sums start from what the scene says of each device, from the lists' own
lengths and ends of cables, and from the published rule beside each sum. A cheaper tree may come out one day, so sums
follow the cables that enter a box, and are never copied from one plan.
"""

from __future__ import annotations

import csv
import itertools
import re
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from ruamel.yaml import YAML

from barnloom.viewer.command import main

SCENES = Path(__file__).parents[1] / "scenes"
NAMES = ("cider-mill", "garden-studio", "sail-loft", "sheep-shed")

# Table 314.16(B), in3 for each conductor: synthmind.com/Electrical_Box_Sizing_Guide.htm
VOLUME = {14: 2.00, 12: 2.25, 10: 2.50, 8: 3.00, 6: 5.00}
# Chapter 9, table 8, ohm per 1000 ft at 75 C, solid copper: 14 AWG is 2.525 at 20 C x 1.2162; the others from memory
OHMS = {14: 3.07, 12: 1.93, 10: 1.21}
# Table 430.248, amperes by horsepower and volts: paigewire.com/resources/430-148
MOTOR = {(1, 120): 16.0, (3, 240): 17.0}
# Table 310.16 at 60 C, which sheathed cable is held to (334.80, 340.80), and no more than 240.4(D):
# voltagelab.com/table-310-16-ampacity-of-conductors
CARRIES = {14: 15, 12: 20, 10: 30}
# Table 314.16(A), metal boxes: synthmind.com/Electrical_Box_Sizing_Guide.htm. An extension ring is a box without a back
METAL = {
    **{"octagon-4x1-1-4": 12.5, "octagon-4x1-1-2": 15.5, "octagon-4x2-1-8": 21.5, "octagon-4-extension": 15.5},
    **{"square-4x1-1-4": 18.0, "square-4x1-1-2": 21.0, "square-4x2-1-8": 30.3, "square-4-extension": 21.0},
}


@dataclass
class Case:
    """A scene as written, and its lists as rows."""

    scene: dict[str, Any]
    folder: Path
    tables: dict[str, list[dict[str, str]]] = field(default_factory=dict)

    def rows(self, name: str) -> list[dict[str, str]]:
        if name not in self.tables:
            with (self.folder / f"{name}.csv").open(encoding="utf-8", newline="") as stream:
                self.tables[name] = list(csv.DictReader(stream))
        return self.tables[name]

    def cables(self) -> dict[str, dict[str, str]]:
        return {row["cable"]: row for row in self.rows("cables")}

    def entering(self, box: str) -> list[dict[str, str]]:
        return [row for row in self.rows("cables") if box in (row["from"], row["to"])]

    def devices(self, box: str) -> list[dict[str, Any]]:
        said = self.scene["boxes"][box].get("device", [])
        listed = said if isinstance(said, list) else [said]
        return [{"kind": one} if isinstance(one, str) else one for one in listed]

    def boxes(self) -> list[str]:
        return [box for box, said in self.scene["boxes"].items() if said.get("kind", "box") == "box"]


@pytest.fixture(scope="module", params=NAMES)
def case(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Case:
    path = SCENES / f"{request.param}.yaml"
    folder = tmp_path_factory.mktemp(request.param) / "plan"
    assert main(["plan", str(path), "--out", str(folder), "--no-pictures", "--quiet"]) == 0
    return Case(scene=YAML(typ="safe").load(path), folder=folder)


# --- box fill --------------------------------------------------------------------------------------------------------


def sizes(case: Case, box: str) -> list[tuple[int, int]]:
    """Insulated conductors and size of each cable that enters, read off its name as bought: 12/2, UF 14/3."""
    found = []
    for row in case.entering(box):
        name = re.fullmatch(r"(?:UF )?(\d+)/(\d)", row["type"])
        assert name, row["type"]
        found.append((int(name[2]), int(name[1])))
    return found


def pencil_fill(case: Case, box: str) -> float:
    # coconote.app/notes/56e1c20d-d2f5-4ea9-bc75-546d8840e2e8, on 314.16(B): each conductor that enters and ends or is
    # spliced 1; clamps inside 1 in all, by the largest conductor; a yoke 2, by the largest conductor on the device.
    # Grounds (2020 on): forums.mikeholt.com/threads/egc-fill.2566828, 1 for up to four and 1/4 for each more
    entering = sizes(case, box)
    largest = min(awg for _, awg in entering)
    conductors = sum(count * VOLUME[awg] for count, awg in entering)
    yokes = sum(1 for device in case.devices(box) if device["kind"] in ("switch", "receptacle"))
    grounds = 1 + max(0, len(entering) - 4) / 4
    return conductors + VOLUME[largest] + 2 * yokes * VOLUME[largest] + grounds * VOLUME[largest]


def test_every_box_has_the_fill_that_a_pencil_finds(case: Case) -> None:
    told = {row["box"]: float(row["fill_in3"]) for row in case.rows("boxes") if row["fill_in3"]}
    assert told == pytest.approx({box: pencil_fill(case, box) for box in case.boxes()}, abs=1e-9)


def test_the_lines_of_a_fill_add_up_to_it(case: Case) -> None:
    lines: dict[str, float] = defaultdict(float)
    told = {}
    for row in case.rows("boxfill"):
        if row["what"] == "total":
            told[row["box"]] = float(row["total_in3"])
        elif row["what"] != "volume":
            assert float(row["count"]) * float(row["each_in3"]) == pytest.approx(float(row["total_in3"]))
            assert float(row["each_in3"]) == VOLUME[int(row["awg"])]
            lines[row["box"]] += float(row["total_in3"])
    assert dict(lines) == pytest.approx(told)
    assert set(told) == set(case.boxes())


def test_every_box_holds_it_by_the_volume_of_the_table(case: Case) -> None:
    for row in case.rows("boxes"):
        if row["kind"] != "box" or row["box_type"] not in METAL:
            continue
        extension = METAL.get(row["ring"], 0.0)  # a mud ring's own volume is marked on it, and is left out here
        assert float(row["volume_in3"]) >= METAL[row["box_type"]] + extension - 1e-9, row["box"]
        assert pencil_fill(case, row["box"]) <= METAL[row["box_type"]] + extension + 1e-9, row["box"]


# --- conductors ------------------------------------------------------------------------------------------------------

BARE = "bare"
CABLE_COLOURS = {
    2: {"black", "white"},
    3: {"black", "red", "white"},
    4: {"black", "red", "white", "white with a red stripe"},
}
"""What is in sheathed cable of so many insulated conductors: common practice, no source."""


def ends(joined: str, cables: dict[str, dict[str, str]]) -> list[str]:
    """The parts of a joint that are no conductors of cables: terminals, bars, breakers."""
    parts = [part for part in joined.split("; ") if part]
    return [part for part in parts if part.rsplit(" of ", 1)[-1] not in cables]


def test_a_cable_carries_the_nets_that_its_two_sides_share_and_no_other(case: Case) -> None:
    # A net is one piece of metal, and circuits are trees: a conductor is needed where, and only where, its net ends on
    # something on both sides. 404.2(C) adds the neutral up to each switch; a stub ends every net that reaches it.
    cables = case.cables()
    answer = case.scene["answers"].get("switch_neutral", "yes")
    neutral_at_switches = (answer["answer"] if isinstance(answer, dict) else answer) == "yes"
    ended: dict[tuple[str, str], set[str]] = defaultdict(set)
    carried: dict[str, dict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
    for row in case.rows("nets"):
        assert row["cable"] in cables
        if row["conductor"] == BARE:
            continue
        carried[row["cable"]][row["box"]].add(row["net"])
        stub = case.scene["boxes"][row["box"]].get("kind") == "stub"
        switch = any(device["kind"] == "switch" for device in case.devices(row["box"]))
        if ends(row["joined_with"], cables) or stub or (switch and neutral_at_switches and row["net"] == "neutral"):
            ended[row["circuit"], row["net"]].add(row["box"])
    for name, cable in cables.items():
        circuit = [other for other in cables.values() if other["circuit"] == cable["circuit"]]
        beyond = {cable["to"]}
        while more := {o["to"] for o in circuit if o["from"] in beyond and o["cable"] != name} - beyond:
            beyond |= more
        here = {
            net
            for (owner, net), boxes in ended.items()
            if owner == cable["circuit"] and boxes & beyond and boxes - beyond
        }
        assert carried[name][cable["from"]] == carried[name][cable["to"]] == here, name
        assert int(cable["conductors"]) == max(2, len(here)), name


def test_colours_of_every_cable(case: Case) -> None:
    # diychatroom.com/f18/wire-colors-switch-26814, on 200.7(C)(1): a white one that is no neutral is marked at both
    # ends, and brings power to a switch, never back from it. 200.6: white is the neutral
    cables = case.cables()
    at_end: dict[tuple[str, str], list[dict[str, str]]] = defaultdict(list)
    for row in case.rows("nets"):
        at_end[row["cable"], row["box"]].append(row)
    for (cable, _), rows in at_end.items():
        colours = [row["conductor"] for row in rows]
        assert sorted(colours) == sorted(CABLE_COLOURS[int(cables[cable]["conductors"])] | {BARE}), cable
        for row in rows:
            white = row["conductor"].startswith("white")
            neutral = "neutral" in row["net"]
            assert (row["net"] == "ground") == (row["conductor"] == BARE)
            assert not neutral or white, (cable, row)
            assert (row["marked"] != "") == (white and not neutral and row["net"] != "spare"), (cable, row)
            assert not (white and row["net"].startswith("switched")), (cable, row)


# --- loads, breakers, conductors' sizes ------------------------------------------------------------------------------


def amperes(device: dict[str, Any]) -> float:
    """What a device draws. 180 VA a yoke: g-wonlinetextbooks.com/cdn-1496400779960, on 220.14(I)."""
    volts = device.get("volts", 120)
    if "hp" in device:
        return MOTOR[device["hp"], volts]
    if "amps" in device:
        return float(device["amps"])
    usual = {"receptacle": 180, "light": 100, "switch": 0, "junction": 0}
    return float(device.get("watts", usual.get(device["kind"], 0)) / volts)


def sized_for(device: dict[str, Any]) -> float:
    # 125 % of a motor alone on its circuit, 430.22: ecmweb.com/national-electrical-code/code-basics/article/20904830/
    # motor-calculations-part-2; of a load of three hours, 210.20(A): grabsew.blogspot.com/2021/09/
    # 14-25-receptacle-outlets-22014i.html; of a heater, 424.4, from memory
    more = "hp" in device or device.get("continuous") == "yes" or device["kind"] == "heater"
    return amperes(device) * (1.25 if more else 1.0)


def test_breaker_and_conductors_of_every_circuit(case: Case) -> None:
    for row in case.rows("circuits"):
        devices = [
            device
            for box in case.boxes()
            if case.scene["boxes"][box]["circuit"] == row["circuit"]
            for device in case.devices(box)
        ]
        load = sum(sized_for(device) for device in devices)
        assert float(row["load_a"]) == pytest.approx(load, abs=5e-5), row["circuit"]
        breaker = float(row["breaker_a"])
        assert load <= breaker, row["circuit"]
        for cable in case.rows("cables"):
            if cable["circuit"] == row["circuit"]:
                assert breaker <= CARRIES[int(cable["awg"])], cable["cable"]


# --- voltage drop ----------------------------------------------------------------------------------------------------


def beyond_of(case: Case, cable: dict[str, str]) -> set[str]:
    circuit = [other for other in case.rows("cables") if other["circuit"] == cable["circuit"]]
    found = {cable["to"]}
    while more := {o["to"] for o in circuit if o["from"] in found} - found:
        found |= more
    return found


def test_drop_of_circuits_without_switches_is_two_i_r_l(case: Case) -> None:
    # electrician2.com/weltrain05/lpage135.html: 2 I R L / 1000, one way; summed from the panel, each load where it is
    volts = {row["circuit"]: float(row["volts"]) for row in case.rows("circuits")}
    tried = 0
    for name, cable in case.cables().items():
        if any(
            device["kind"] == "switch"
            for box in case.boxes()
            if case.scene["boxes"][box]["circuit"] == cable["circuit"]
            for device in case.devices(box)
        ):
            continue
        lost, here = 0.0, cable
        while True:
            current = sum(amperes(device) for box in beyond_of(case, here) for device in case.devices(box))
            assert float(here["current_a"]) == pytest.approx(current, abs=5e-5), here["cable"]
            lost += 2 * current * OHMS[int(here["awg"])] * float(here["length_ft"]) / 1000
            feeds = [other for other in case.entering(here["from"]) if other["to"] == here["from"]]
            feeds = [other for other in feeds if other["circuit"] == here["circuit"]]
            if not feeds:
                break
            (here,) = feeds
        assert float(cable["drop_percent"]) == pytest.approx(100 * lost / volts[cable["circuit"]], abs=2e-4), name
        tried += 1
    assert tried


def closed(case: Case, states: dict[str, int]) -> list[tuple[tuple[str, str], tuple[str, str]]]:
    """Pairs of terminals that switches join in these positions: a switch that is on or off, three-way, four-way."""
    found = []
    for box in case.boxes():
        names = {part for row in case.rows("nets") if row["box"] == box for part in row["joined_with"].split("; ")}
        for device in {part.rsplit(" of ", 1)[-1] for part in names if part}:
            state = states.get(device, 0)
            if {f"line of {device}", f"load of {device}"} <= names and state:
                found.append(((box, f"line of {device}"), (box, f"load of {device}")))
            if f"common of {device}" in names:
                found.append(((box, f"common of {device}"), (box, f"traveler {1 + state} of {device}")))
            if f"in 1 of {device}" in names:
                for way in (0, 1):
                    found.append(((box, f"in {1 + way} of {device}"), (box, f"out {1 + (way ^ state)} of {device}")))
            if f"line hot of {device}" in names and f"load hot of {device}" in names:
                for side in ("hot", "neutral"):
                    found.append(((box, f"line {side} of {device}"), (box, f"load {side} of {device}")))
    return found


def solved(case: Case, circuit: str, states: dict[str, int]) -> tuple[dict[str, float], dict[str, float]] | None:
    """Volts lost at each light, and what goes out, and comes back, in each cable, by Kirchhoff's laws.

    None where some light has no way to the breaker in these positions.
    """
    cables = case.cables()
    piece: dict[tuple[str, str], tuple[str, str]] = {}

    def root(node: tuple[str, str]) -> tuple[str, str]:
        while piece.setdefault(node, node) != node:
            node = piece[node]
        return node

    rows = [row for row in case.rows("nets") if row["circuit"] == circuit and row["conductor"] != BARE]
    for row in rows:
        for part in row["joined_with"].split("; "):
            if part:
                piece[root((row["box"], f"{row['conductor']} of {row['cable']}"))] = root((row["box"], part))
    for one, other in closed(case, states):
        if one in piece and other in piece:
            piece[root(one)] = root(other)
    wires = [
        (root((cables[c]["from"], f"{colour} of {c}")), root((cables[c]["to"], f"{colour} of {c}")), c)
        for c, colour in sorted({(row["cable"], row["conductor"]) for row in rows})
    ]
    nodes = {node: at for at, node in enumerate(sorted({node for a, b, _ in wires for node in (a, b)}))}
    matrix = np.zeros((len(nodes), len(nodes)))
    for a, b, cable in wires:
        conductance = 1000 / (OHMS[int(cables[cable]["awg"])] * float(cables[cable]["length_ft"]))
        i, j = nodes[a], nodes[b]
        matrix[[i, j], [i, j]] += conductance
        matrix[[i, j], [j, i]] -= conductance
    lights = {
        box: sum(amperes(device) for device in case.devices(box) if device["kind"] == "light")
        for box in case.boxes()
        if case.scene["boxes"][box]["circuit"] == circuit
    }
    lights = {box: current for box, current in lights.items() if current}
    injected = np.zeros(len(nodes))
    feed = [node for node in piece if node[1].startswith("breaker ")]
    bar = [node for node in piece if node[1].startswith("neutral bar")]
    hot_end, neutral_end = nodes[root(feed[0])], nodes[root(bar[0])]
    for box, current in lights.items():
        for end, sign in ((f"hot of {box}", -1), (f"neutral of {box}", 1)):
            injected[nodes[root((box, end))]] += sign * current
    injected[hot_end] += sum(lights.values())
    injected[neutral_end] -= sum(lights.values())
    volts = np.linalg.pinv(matrix) @ injected
    if not np.allclose(matrix @ volts, injected, atol=1e-6):
        return None  # some light hangs in the air
    lost = {}
    for box in lights:
        hot, back = nodes[root((box, f"hot of {box}"))], nodes[root((box, f"neutral of {box}"))]
        lost[box] = float(volts[hot_end] - volts[hot] + volts[back] - volts[neutral_end])
    flows: dict[str, float] = defaultdict(float)
    for a, b, cable in wires:
        ohms = OHMS[int(cables[cable]["awg"])] * float(cables[cable]["length_ft"]) / 1000
        flows[cable] += abs(float(volts[nodes[a]] - volts[nodes[b]])) / ohms / 2
    return lost, dict(flows)


def way(case: Case, box: str) -> set[str]:
    """The cables from the panel to a box of the circuit of lights, which leaves the panel as a tree."""
    found: set[str] = set()
    while feed := [row for row in case.entering(box) if row["to"] == box and row["circuit"] == "LIGHTS"]:
        found.add(feed[0]["cable"])
        box = feed[0]["from"]
    return found


def test_drop_of_lights(case: Case) -> None:
    # Kirchhoff's laws over the joints of nets.csv, all switches turned until everything is lit; ohms of table 8. With
    # these currents, 2 I R L (electrician2.com/weltrain05/lpage135.html) of every cable on the way to a light and to
    # its switches is what is told, and is never less than what the light truly loses
    if not any(row["circuit"] == "LIGHTS" for row in case.rows("circuits")):
        return  # the studio has no light of its own
    joined = {part for row in case.rows("nets") for part in row["joined_with"].split("; ")}
    switches = sorted(
        {part.rsplit(" of ", 1)[-1] for part in joined if part.startswith(("common of", "line of", "in 1 of"))}
    )
    tried = (
        solved(case, "LIGHTS", dict(zip(switches, positions, strict=True)))
        for positions in itertools.product((1, 0), repeat=len(switches))
    )
    lost, flows = next(found for found in tried if found)
    cables = case.cables()
    for cable, current in flows.items():
        assert float(cables[cable]["current_a"]) == pytest.approx(current, abs=5e-5), cable
    for box, volts in lost.items():
        points = {p for c in case.scene["controls"].values() if box in c["lights"] for p in c["points"]}
        passed = way(case, box).union(*(way(case, point.partition(".")[0]) for point in points))
        worked = sum(2 * flows[c] * OHMS[int(cables[c]["awg"])] * float(cables[c]["length_ft"]) / 1000 for c in passed)
        (feed,) = (row for row in case.entering(box) if row["to"] == box)
        assert float(feed["drop_percent"]) == pytest.approx(100 * worked / 120, abs=2e-4), box
        assert volts <= worked + 1e-9, box

"""Dead tests: what a meter must read, against parity, against networkx, and against a table worked by hand."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import product

import networkx as nx
import pytest
from crossings import Inspection, Mistake
from hand_plan import hand_building, hand_plan

from barnloom.model.building import Box, Circuit
from barnloom.model.wiring import Control, Device, DeviceKind
from barnloom.routing.plan import Cable, Conductor, Joint, Makeup, Plan
from barnloom.routing.wiring.deadtest import DeadTest, dead_tests
from barnloom.routing.wiring.probing import end_words, terminal_words

FEED = ("black", "white")
Joints = dict[str, list[Joint]]


def box(name: str, x: float, **more: object) -> Box:
    """A box in the wall, so far along it."""
    some = replace(hand_building().boxes[1], id=name, u_in=x, at=(x, 2.4375, 48.0), circuits=("C",))
    return replace(some, **more)  # type: ignore[arg-type]


def wire(name: str, start: str, nets: Sequence[tuple[str, str]], circuit: str = "C") -> Cable:
    """A cable from a box to the one that its id names, and its conductors as (colour, net)."""
    conductors = [Conductor(colour=colour, net=net) for colour, net in nets]
    some = hand_plan().cables[0]
    far = name.partition(".")[2]
    ground = Conductor(colour="bare", net="ground")
    return replace(some, id=name, circuit=circuit, from_box=start, to_box=far, conductors=(*conductors, ground))


def joint(net: str, ends: str = "", terminals: str = "", circuit: str = "C") -> Joint:
    """A joint from "CABLE colour, CABLE colour" and "DEVICE terminal, DEVICE terminal"."""

    def pairs(said: str) -> tuple[tuple[str, str], ...]:
        return tuple((one, rest) for one, _, rest in (part.partition(" ") for part in said.split(", ") if part))

    return Joint(net=net, circuit="" if net == "ground" else circuit, ends=pairs(ends), terminals=pairs(terminals))


def plan_of(
    cables: Iterable[Cable], joints: Joints, devices: Sequence[Device], controls: Sequence[Control] = (), **more: object
) -> Plan:
    """A plan that holds no more than these tests look at; the panel stands at the wall's start."""
    circuits = sorted({one.circuit for own in joints.values() for one in own if one.circuit})
    building = hand_building(
        boxes=(
            replace(hand_building().boxes[0], circuits=tuple(circuits), at=(0.0, 1.75, 55.0)),
            *(box(name, 10.0 * n, circuits=tuple(circuits)) for n, name in enumerate(joints, 1) if name != "PANEL"),
        ),
        circuits=tuple(Circuit(id=name, title="", panel="PANEL", boxes=()) for name in circuits),
        devices=tuple(devices),
        controls=tuple(controls),
    )
    made = tuple(
        Makeup(box=name, box_type="", ring="", volume_in3=0.0, fill=(), joints=tuple(own))
        for name, own in joints.items()
    )
    said: dict[str, object] = {"building": building, "cables": tuple(cables), "bores": (), "makeups": made}
    return replace(hand_plan(), **{**said, **more})  # type: ignore[arg-type]


def chain(count: int) -> Plan:
    """A light that follows so many points: panel, first point, ..., last point, light, each fed by the one before."""
    points = [f"S{n}" for n in range(1, count + 1)]
    cables = [wire("C.S1", "PANEL", [("black", "line"), ("white", "neutral")])]
    joints: Joints = {
        "PANEL": [
            joint("line", "C.S1 black", "PANEL breaker C"),
            joint("neutral", "C.S1 white", "PANEL neutral bar"),
            joint("ground", "C.S1 bare", "PANEL ground bar"),
        ]
    }
    for n, point in enumerate(points, 1):
        onward = f"C.{points[n]}" if n < count else "C.LAMP"
        first, last = n == 1, n == count
        own = [joint("neutral", f"C.{point} white, {onward} white")]
        own.append(joint("ground", f"C.{point} bare, {onward} bare", f"{point} ground, {point} box"))
        if first:
            own.append(joint("line", "C.S1 black", f"S1 {'line' if count == 1 else 'common'}"))
        if last:
            own.append(joint("switched ROW", f"{onward} black", f"{point} {'load' if count == 1 else 'common'}"))
        for letter, colour, way in (("a", "black", 1), ("b", "red", 2)):
            if not first:
                name = f"traveler {way}" if last else f"in {way}"
                own.append(joint(f"traveler ROW {n - 1}{letter}", f"C.{point} {colour}", f"{point} {name}"))
            if not last:
                name = f"traveler {way}" if first else f"out {way}"
                own.append(joint(f"traveler ROW {n}{letter}", f"{onward} {colour}", f"{point} {name}"))
        if not last:
            pair = [("black", f"traveler ROW {n}a"), ("red", f"traveler ROW {n}b"), ("white", "neutral")]
            cables.append(wire(onward, point, pair))
        joints[point] = own
    cables.append(wire("C.LAMP", points[-1], [("black", "switched ROW"), ("white", "neutral")]))
    joints["LAMP"] = [
        joint("switched ROW", "C.LAMP black", "LAMP hot"),
        joint("neutral", "C.LAMP white", "LAMP neutral"),
        joint("ground", "C.LAMP bare", "LAMP ground, LAMP box"),
    ]
    switches = [Device(id=one, box=one, kind=DeviceKind.SWITCH, circuit="C", control="ROW") for one in points]
    lamp = Device(id="LAMP", box="LAMP", kind=DeviceKind.LIGHT, circuit="C", control="ROW")
    control = Control(id="ROW", title="", circuit="C", points=tuple(points), lights=("LAMP",))
    return plan_of(cables, joints, [*switches, lamp], [control])


def rows_between(plan: Plan, a: str, b: str) -> list[DeadTest]:
    """Rows by what is held where."""
    return [row for row in dead_tests(plan) if (row.conductor_a, row.conductor_b) == (a, b)]


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5, 6])
def test_a_light_reads_joined_by_the_parity_of_its_switches(count: int) -> None:
    """Two-way lighting: of n points every change of one turns the light over (common knowledge of the trade)."""
    rows = rows_between(chain(count), "black of C.S1", "hot of LAMP")
    assert len(rows) == (2**count if count <= 4 else count + 1)
    at_rest = rows[0].expected
    assert at_rest == ("open" if count == 1 else "joined")  # a single-pole switch is down; the others are alike
    tried = set()
    for row in rows:
        turned = sum(words.endswith(("up", "position 2")) for words in row.positions.split(", "))
        tried.add(row.positions)
        assert (row.expected == at_rest) == (turned % 2 == 0), row
    assert len(tried) == len(rows)


@pytest.mark.parametrize("count", [2, 3, 4])
def test_from_one_row_to_the_next_one_switch_is_turned(count: int) -> None:
    rows = rows_between(chain(count), "black of C.S1", "hot of LAMP")
    for one, other in zip(rows, rows[1:], strict=False):
        pairs = zip(one.positions.split(", "), other.positions.split(", "), strict=True)
        assert sum(a != b for a, b in pairs) == 1


def test_a_pair_of_three_way_switches_worked_by_hand() -> None:
    """Position 1 joins the common to traveler 1, position 2 to traveler 2; so like positions light the lamp."""
    found = [(row.positions, row.expected) for row in rows_between(chain(2), "black of C.S1", "hot of LAMP")]
    assert sorted(found) == [
        ("S1 position 1, S2 position 1", "joined"),
        ("S1 position 1, S2 position 2", "open"),
        ("S1 position 2, S2 position 1", "open"),
        ("S1 position 2, S2 position 2", "joined"),
    ]


def test_switches_without_an_up_say_how_their_positions_are_named() -> None:
    for count in (1, 2, 3):
        rows = rows_between(chain(count), "black of C.S1", "hot of LAMP")
        assert {"does not say which is position 1" in row.why for row in rows} == {count > 1}


def test_a_single_switch_is_named_up_and_down() -> None:
    found = [(row.positions, row.expected) for row in rows_between(chain(1), "black of C.S1", "hot of LAMP")]
    assert found == [("S1 down", "open"), ("S1 up", "joined")]


CONTACTS = {
    # Terminals joined in the two positions of a switch, as any trade book draws it (common practice, no source).
    frozenset({"line", "load"}): ([], [("line", "load")]),
    frozenset({"common", "traveler 1", "traveler 2"}): ([("common", "traveler 1")], [("common", "traveler 2")]),
    frozenset({"in 1", "in 2", "out 1", "out 2"}): (
        [("in 1", "out 1"), ("in 2", "out 2")],
        [("in 1", "out 2"), ("in 2", "out 1")],
    ),
}


def as_graph(plan: Plan, positions: dict[str, int]) -> nx.Graph[tuple[str, ...]]:
    """The wiring as a graph, the panel's breakers and neutral bar taken off."""
    graph: nx.Graph[tuple[str, ...]] = nx.Graph()
    terminals: dict[str, set[str]] = {}
    for makeup in plan.makeups:
        for one in makeup.joints:
            own: list[tuple[str, ...]] = [("end", makeup.box, *end) for end in one.ends]
            if makeup.box != "PANEL" or one.net == "ground":
                own += [("terminal", *terminal) for terminal in one.terminals]
                for device, name in one.terminals:
                    terminals.setdefault(device, set()).add(name)
            graph.add_nodes_from(own)
            nx.add_path(graph, own)
    for cable in plan.cables:
        for conductor in cable.conductors:
            graph.add_edge(*(("end", end, cable.id, conductor.colour) for end in (cable.from_box, cable.to_box)))
    for device, names in terminals.items():
        kind = frozenset(names - {"ground", "box"})
        for one, other in CONTACTS.get(kind, ([], []))[positions.get(device, 0)]:
            graph.add_edge(("terminal", device, one), ("terminal", device, other))
    return graph


def node(box_id: str, words: str) -> tuple[str, ...]:
    """The place that a row names."""
    name, _, owner = words.partition(" of ")
    return ("end", box_id, owner, name) if owner.startswith("C.") else ("terminal", owner, name)


@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_every_row_of_single_positions_reads_as_networkx_joins_it(count: int) -> None:
    plan = chain(count)
    looked_at = 0
    for row in dead_tests(plan):
        if row.positions != "any" and "," not in row.positions and " position" not in row.positions and count > 1:
            continue
        if " and " in row.conductor_b or " in all " in row.positions or " and " in row.positions:
            continue
        said = {} if row.positions == "any" else dict(part.split(" ", 1) for part in row.positions.split(", "))
        at = {name: int(word in ("up", "position 2")) for name, word in said.items()}
        graph = as_graph(plan, at)
        a, b = node(row.box_a, row.conductor_a), node(row.box_b, row.conductor_b)
        assert nx.has_path(graph, a, b) == (row.expected == "joined"), row
        looked_at += 1
    assert looked_at > 2**count


@pytest.mark.parametrize("count", [1, 2, 3])
def test_at_the_panel_nothing_is_joined_in_any_position(count: int) -> None:
    plan = chain(count)
    rows = [
        row for row in dead_tests(plan) if row.box_a == row.box_b == "PANEL" and "ground bar" not in row.conductor_b
    ]
    assert [row.expected for row in rows] == ["open"] * len(rows)
    pairs = [("black of C.S1", "white of C.S1"), ("black of C.S1", "bare of C.S1"), ("white of C.S1", "bare of C.S1")]
    assert [(row.conductor_a, row.conductor_b) for row in rows[:3]] == pairs
    for at in product((0, 1), repeat=count):
        graph = as_graph(plan, {f"S{n}": one for n, one in enumerate(at, 1)})
        for a, b in pairs:
            assert not nx.has_path(graph, node("PANEL", a), node("PANEL", b))


def test_the_panel_is_tested_first_and_once_more_at_the_end() -> None:
    rows = dead_tests(chain(2))
    assert [row.box_b for row in rows][:3] == ["PANEL"] * 3
    assert (rows[-1].conductor_a, rows[-1].conductor_b, rows[-1].expected) == ("black of C.S1", "bare of C.S1", "open")
    assert rows[-1].why.startswith("once more")
    opened = [row for row in rows if row.box_b == "PANEL" and row.expected == "open"]
    assert {row.positions for row in opened} == {"S1 and S2 in all 4 ways"}


def test_boxes_are_met_once_each_in_the_order_of_a_walk() -> None:
    rows = [row.box_b for row in dead_tests(chain(3)) if row.box_b != "PANEL"]
    assert [box for n, box in enumerate(rows) if n == 0 or rows[n - 1] != box] == ["S1", "S2", "S3", "LAMP"]


def test_what_lies_in_two_boxes_says_how_it_is_read() -> None:
    for row in dead_tests(chain(3)):
        assert ("a long lead" in row.why) == (row.box_a != row.box_b), row
        from_bare = row.conductor_a == "bare of C.S1" and row.box_b != "PANEL"
        assert ("join another wire" in row.why) == from_bare, row


def test_travelers_go_through_and_touch_nowhere() -> None:
    rows = [row for row in dead_tests(chain(3)) if "traveler" in row.why]
    found = [(row.conductor_a, row.conductor_b, row.positions, row.expected) for row in rows]
    assert ("traveler 1 of S1", "in 1 of S2", "any", "joined") in found
    assert ("out 2 of S2", "traveler 2 of S3", "any", "joined") in found
    assert ("traveler 1 of S1", "traveler 2 of S1", "S1, S2 and S3 in all 8 ways", "open") in found
    assert len(found) == 4 + 4


def test_a_mistake_in_the_joints_shows_in_the_table() -> None:
    """A switch that breaks the neutral: hot and neutral crossed at the lamp."""
    plan = chain(1)
    wrong = [
        joint("switched ROW", "C.LAMP white", "LAMP hot"),
        joint("neutral", "C.LAMP black", "LAMP neutral"),
    ]
    made = tuple(replace(one, joints=(*wrong, one.joints[2])) if one.box == "LAMP" else one for one in plan.makeups)
    crossed = replace(plan, makeups=made)
    assert [row.expected for row in rows_between(crossed, "black of C.S1", "hot of LAMP")] == ["open", "open"]
    assert [row.expected for row in rows_between(crossed, "white of C.S1", "neutral of LAMP")] == ["open"]


def test_more_than_four_points_are_each_turned_alone() -> None:
    [row] = [row for row in dead_tests(chain(5)) if row.box_a == row.box_b == "PANEL"][:1]
    assert row.positions == "S1, S2, S3, S4 and S5: all in position 1, then each alone in position 2"


def outlets(*, on_load: bool = True) -> Plan:
    """A ground-fault receptacle, and another behind it."""
    side = "protected " if on_load else ""
    tail = " GF" if on_load else ""
    joints: Joints = {
        "PANEL": [
            joint("line", "C.GF black", "PANEL breaker C"),
            joint("neutral", "C.GF white", "PANEL neutral bar"),
            joint("ground", "C.GF bare", "PANEL ground bar"),
        ],
        "GF": [
            joint("line", "C.GF black", "GF line hot"),
            joint("neutral", "C.GF white", "GF line neutral"),
            joint(f"{side}line{tail}", "C.OUT black", "GF load hot"),
            joint(f"{side}neutral{tail}", "C.OUT white", "GF load neutral"),
            joint("ground", "C.GF bare, C.OUT bare", "GF ground, GF box"),
        ],
        "OUT": [
            joint(f"{side}line{tail}", "C.OUT black", "OUT hot"),
            joint(f"{side}neutral{tail}", "C.OUT white", "OUT neutral"),
            joint("ground", "C.OUT bare", "OUT ground, OUT box"),
        ],
    }
    cables = [
        wire("C.GF", "PANEL", [("black", "line"), ("white", "neutral")]),
        wire("C.OUT", "GF", [("black", f"{side}line{tail}"), ("white", f"{side}neutral{tail}")]),
    ]
    devices = [
        Device(id="GF", box="GF", kind=DeviceKind.RECEPTACLE, circuit="C", ground_fault=True),
        Device(id="OUT", box="OUT", kind=DeviceKind.RECEPTACLE, circuit="C"),
    ]
    return plan_of(cables, joints, devices)


def test_behind_a_ground_fault_device_it_is_named_as_reset() -> None:
    for a, b in (("black of C.GF", "hot of OUT"), ("white of C.GF", "neutral of OUT")):
        [row] = rows_between(outlets(), a, b)
        assert (row.positions, row.expected) == ("GF reset", "joined")
        assert "comes tripped" in row.why
    for a, b in (("black of C.GF", "line hot of GF"), ("white of C.GF", "line neutral of GF")):
        [row] = rows_between(outlets(), a, b)
        assert (row.positions, row.expected) == ("GF tripped", "joined")  # on its LOAD side it would read open


@pytest.mark.parametrize("both", [True, False])
def test_a_ground_fault_device_fed_on_its_load_side_shows(both: bool) -> None:
    # LINE and LOAD exchanged: it then protects nothing that hangs on it (maker's sheets: from memory)
    plan = outlets()
    turned = {"line hot": "load hot", "load hot": "line hot"}
    if both:
        turned |= {"line neutral": "load neutral", "load neutral": "line neutral"}
    made = [
        replace(one, terminals=tuple((device, turned.get(name, name)) for device, name in one.terminals))
        for one in plan.makeups[1].joints
    ]
    wrong = replace(plan, makeups=(plan.makeups[0], replace(plan.makeups[1], joints=tuple(made)), *plan.makeups[2:]))
    rows = dead_tests(plan)
    assert Inspection(plan, rows).noticed_by(Mistake("none")) is None
    assert Inspection(wrong, rows).noticed_by(Mistake("none")) is not None


def test_tripped_both_sides_of_a_ground_fault_device_are_apart() -> None:
    for side in ("hot", "neutral"):
        [row] = rows_between(outlets(), f"line {side} of GF", f"load {side} of GF")
        assert (row.positions, row.expected) == ("GF tripped", "open")


def test_two_lines_of_240_volts_are_apart_at_the_panel_and_at_the_machine() -> None:
    joints: Joints = {
        "PANEL": [
            joint("line 1", "C.SAW black", "PANEL breaker C 1"),
            joint("line 2", "C.SAW white", "PANEL breaker C 2"),
            joint("ground", "C.SAW bare", "PANEL ground bar"),
        ],
        "SAW": [
            joint("line 1", "C.SAW black", "SAW hot 1"),
            joint("line 2", "C.SAW white", "SAW hot 2"),
            joint("ground", "C.SAW bare", "SAW ground, SAW box"),
        ],
    }
    saw = Device(id="SAW", box="SAW", kind=DeviceKind.MACHINE, circuit="C", volts=240, neutral=False)
    plan = plan_of([wire("C.SAW", "PANEL", [("black", "line 1"), ("white", "line 2")])], joints, [saw])
    for a, b, expected in (
        ("black of C.SAW", "white of C.SAW", "open"),
        ("hot 1 of SAW", "hot 2 of SAW", "open"),
        ("black of C.SAW", "hot 1 of SAW", "joined"),
        ("white of C.SAW", "hot 2 of SAW", "joined"),
    ):
        [row] = rows_between(plan, a, b)
        assert row.expected == expected, row


def test_an_interconnect_joins_alarms_and_nothing_else() -> None:
    feed = [("black", "line"), ("red", "interconnect"), ("white", "neutral")]
    joints: Joints = {
        "PANEL": [
            joint("line", "C.A1 black", "PANEL breaker C"),
            joint("neutral", "C.A1 white", "PANEL neutral bar"),
            joint("ground", "C.A1 bare", "PANEL ground bar"),
        ],
        "A1": [
            joint("line", "C.A1 black, C.A2 black", "A1 hot"),
            joint("neutral", "C.A1 white, C.A2 white", "A1 neutral"),
            joint("interconnect", "C.A2 red", "A1 interconnect"),
            joint("ground", "C.A1 bare, C.A2 bare", "A1 box"),
        ],
        "A2": [
            joint("line", "C.A2 black", "A2 hot"),
            joint("neutral", "C.A2 white", "A2 neutral"),
            joint("interconnect", "C.A2 red", "A2 interconnect"),
            joint("ground", "C.A2 bare", "A2 box"),
        ],
    }
    cables = [wire("C.A1", "PANEL", [("black", "line"), ("white", "neutral")]), wire("C.A2", "A1", feed)]
    alarms = [Device(id=one, box=one, kind=DeviceKind.ALARM, circuit="C", detects="smoke") for one in ("A1", "A2")]
    rows = [row for row in dead_tests(plan_of(cables, joints, alarms)) if "interconnect" in row.conductor_a]
    found = [(row.conductor_a, row.conductor_b, row.expected) for row in rows]
    assert ("interconnect of A1", "interconnect of A2", "joined") in found
    assert {("interconnect of A1", f"{name} of A1", "open") for name in ("hot", "neutral")} <= set(found)


def test_circuits_that_meet_in_a_box_are_tested_against_each_other() -> None:
    def two(neutral_of_both: bool) -> Plan:
        cables = [wire(f"{one}.B", "PANEL", [("black", "line"), ("white", "neutral")], one) for one in ("C", "D")]
        joints: Joints = {"PANEL": [joint("ground", "C.B bare, D.B bare", "PANEL ground bar")]}
        joints["B"] = [joint("ground", "C.B bare, D.B bare", "B box")]
        for one in ("C", "D"):
            joints["PANEL"].append(joint("line", f"{one}.B black", f"PANEL breaker {one}", one))
            joints["PANEL"].append(joint("neutral", f"{one}.B white", "PANEL neutral bar", one))
            joints["B"].append(joint("line", f"{one}.B black", f"{one}1 hot", one))
            if not neutral_of_both:
                joints["B"].append(joint("neutral", f"{one}.B white", f"{one}1 neutral", one))
        if neutral_of_both:
            joints["B"].append(joint("neutral", "C.B white, D.B white", "C1 neutral, D1 neutral", "C"))
        devices = [Device(id=f"{one}1", box="B", kind=DeviceKind.RECEPTACLE, circuit=one) for one in ("C", "D")]
        return plan_of(cables, joints, devices)

    [row] = against_each_other(two(False))
    assert (row.expected, row.circuit) == ("open", "C D")
    assert row.conductor_a == "black of C.B and white of C.B, held together"
    assert row.conductor_b == "black of D.B and white of D.B, held together"
    assert "meet in B" in row.why
    assert "both breakers off, wires and neutrals of both off" in row.why
    [row] = rows_between(two(True), "white of C.B", "white of D.B")
    assert row.expected == "joined"  # the mistake that the row is there to find


def apart(names: Sequence[str], *, crossed: bool = False) -> Plan:
    """Circuits with a box each and nothing but the panel in common; crossed: the last takes the first one's neutral."""
    joints: Joints = {"PANEL": [joint("ground", ", ".join(f"{one}.{one}1 bare" for one in names), "PANEL ground bar")]}
    cables = []
    for one in names:
        run, outlet = f"{one}.{one}1", f"{one}1"
        cables.append(wire(run, "PANEL", [("black", "line"), ("white", "neutral")], one))
        joints["PANEL"].append(joint("line", f"{run} black", f"PANEL breaker {one}", one))
        joints["PANEL"].append(joint("neutral", f"{run} white", "PANEL neutral bar", one))
        joints[outlet] = [
            joint("line", f"{run} black", f"{outlet} hot", one),
            joint("neutral", f"{run} white", f"{outlet} neutral", one),
            joint("ground", f"{run} bare", f"{outlet} ground, {outlet} box"),
        ]
    devices = [Device(id=f"{one}1", box=f"{one}1", kind=DeviceKind.RECEPTACLE, circuit=one) for one in names]
    if crossed:
        # A cable between the two whose white is joined at both of its ends, told as the last circuit's there.
        first, last = names[0], names[-1]
        stray = f"{first}.{last}1"
        cables.append(wire(stray, f"{first}1", [("white", "neutral")], first))
        joints[f"{first}1"][1] = joint("neutral", f"{first}.{first}1 white, {stray} white", f"{first}1 neutral", first)
        joints[f"{last}1"][1] = joint("neutral", f"{last}.{last}1 white, {stray} white", f"{last}1 neutral", last)
    return plan_of(cables, joints, devices)


def against_each_other(plan: Plan) -> list[DeadTest]:
    """Rows between two circuits."""
    return [row for row in dead_tests(plan) if "two circuits" in row.why]


def test_every_two_circuits_of_a_panel_are_one_reading() -> None:
    rows = against_each_other(apart("CDEF"))
    assert [row.circuit for row in rows] == ["C D", "C E", "C F", "D E", "D F", "E F"]
    assert {(row.box_a, row.box_b, row.expected) for row in rows} == {("PANEL", "PANEL", "open")}
    assert rows[0].conductor_a == "black of C.C1 and white of C.C1, held together"
    assert rows[0].conductor_b == "black of D.D1 and white of D.D1, held together"
    # On the bar the whites would be joined; so they are off it.
    assert all("neutrals of both off their terminals" in row.why for row in rows)


@pytest.mark.parametrize("crossed", [False, True])
def test_circuits_are_apart_as_networkx_joins_them(crossed: bool) -> None:
    plan = apart("CDE", crossed=crossed)
    graph = as_graph(plan, {})
    ends = {
        one: [("end", "PANEL", f"{one}.{one}1", colour) for colour in ("black", "white")] for one in ("C", "D", "E")
    }
    for one, other in ("CD", "CE", "DE"):
        rows = [row for row in against_each_other(plan) if row.circuit == f"{one} {other}"]
        joined = [nx.has_path(graph, a, b) for a, b in product(ends[one], ends[other])]
        assert [row.expected == "joined" for row in rows] == (joined if any(joined) else [False])


def test_a_neutral_taken_from_another_circuit_shows_white_to_white() -> None:
    plan = apart("CDE", crossed=True)
    [row] = rows_between(plan, "white of C.C1", "white of E.E1")
    assert row.expected == "joined"
    [row] = rows_between(plan, "black of C.C1", "black of E.E1")
    assert row.expected == "open"


def test_circuits_of_two_panels_that_never_meet_are_not_read_against_each_other() -> None:
    plan = apart("CD")
    panel, *boxes = plan.building.boxes
    circuits = tuple(replace(one, panel="OTHER") if one.id == "D" else one for one in plan.building.circuits)
    building = replace(plan.building, circuits=circuits, boxes=(panel, replace(panel, id="OTHER"), *boxes))
    shared, *made = plan.makeups
    other = replace(shared, box="OTHER", joints=tuple(one for one in shared.joints if one.circuit == "D"))
    cables = tuple(replace(one, from_box="OTHER") if one.circuit == "D" else one for one in plan.cables)
    split = replace(plan, building=building, makeups=(shared, other, *made), cables=cables)
    assert [row.box_a for row in dead_tests(split) if row.circuit == "D"][0] == "OTHER"
    assert len(against_each_other(plan)) == 1
    assert against_each_other(split) == []


def test_against_another_circuit_a_ground_fault_device_is_reset_too() -> None:
    first, second = outlets(), apart("DE")
    made = {one.box: one for one in second.makeups}
    panel = [*first.makeups[0].joints, *(one for one in made["PANEL"].joints if one.circuit)]
    joints: Joints = {one.box: list(one.joints) for one in first.makeups} | {"PANEL": panel}
    joints |= {name: list(made[name].joints) for name in ("D1", "E1")}
    devices = [*first.building.devices, *second.building.devices]
    rows = against_each_other(plan_of([*first.cables, *second.cables], joints, devices))
    assert {row.circuit: row.positions for row in rows} == {
        "C D": "GF reset",
        "C E": "GF reset",
        "D E": "any",
    }


def test_two_home_runs_are_held_together() -> None:
    joints: Joints = {
        "PANEL": [
            joint("line", "C.A black, C.B black", "PANEL breaker C"),
            joint("neutral", "C.A white, C.B white", "PANEL neutral bar"),
            joint("ground", "C.A bare, C.B bare", "PANEL ground bar"),
        ],
    }
    for name in ("A", "B"):
        joints[name] = [
            joint("line", f"C.{name} black", f"{name} hot"),
            joint("neutral", f"C.{name} white", f"{name} neutral"),
            joint("ground", f"C.{name} bare", f"{name} box"),
        ]
    cables = [wire(f"C.{name}", "PANEL", [("black", "line"), ("white", "neutral")]) for name in ("A", "B")]
    devices = [Device(id=name, box=name, kind=DeviceKind.RECEPTACLE, circuit="C") for name in ("A", "B")]
    rows = dead_tests(plan_of(cables, joints, devices))
    assert rows[0].conductor_a == "black of C.A and black of C.B, held together"
    assert [row.expected for row in rows if row.conductor_b == "hot of B"] == ["joined"]


def test_a_plan_without_makeups_has_no_dead_tests() -> None:
    assert dead_tests(hand_plan()) == ()


def test_names_of_ends_and_terminals() -> None:
    assert end_words("C.S1", "black") == "black of C.S1"
    assert terminal_words("S1", "box") == "box S1"

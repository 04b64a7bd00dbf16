"""The check passes wired plans made by hand, and finds faults planted in their joints, colours, fills and circuits."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations, product
from pathlib import Path

import pytest
from hand_plan import hand_plan
from plan_changes import Change, both, building, part
from planted_wiring_faults import FAULTS, WARNINGS
from rejoined import apart, device, makeup, members, merged, over, renetted, swapped
from wired_plans import (
    LIGHTS,
    OUTLETS,
    PLANS,
    STEEL,
    alarms,
    behind_ground_fault,
    four_way,
    heater,
    light,
    power_at_switch,
    receptacle,
    switch,
    three_way_chain,
    three_way_power_at_light,
    wired,
)

import barnloom.routing.check
from barnloom.model.electrical.fill import FillLine
from barnloom.model.wiring import BoxType, Device, DeviceKind
from barnloom.routing.check import Finding, check
from barnloom.routing.check.electrical import electrical_findings
from barnloom.routing.check.finding import site_of
from barnloom.routing.check.metal import metal_of
from barnloom.routing.check.simulate import Simulation
from barnloom.routing.plan import Plan


def looked(plan: Plan) -> tuple[Finding, ...]:
    return tuple(electrical_findings(site_of(plan)))


def codes(plan: Plan) -> set[str]:
    return {finding.code for finding in looked(plan)}


@pytest.mark.parametrize("name", PLANS)
def test_a_plan_made_up_by_hand_has_no_findings(name: str) -> None:
    assert [str(finding) for finding in looked(PLANS[name]())] == []


# --- whatever is done to a joint -------------------------------------------------------------------------------------

SAME_EITHER_WAY = (
    {"line", "load"},
    {"traveler 1", "traveler 2"},
    {"in 1", "in 2"},
    {"out 1", "out 2"},
    {"hot 1", "hot 2"},
)
"""Terminals of one device that may change places: what it does stays as it was."""


def _rejoinings(plan: Plan) -> Iterator[tuple[str, Change]]:
    """Every member left out, put somewhere else in its box, or changed with another; every two joints made one."""
    for box in plan.makeups:
        for one in box.joints:
            for member in members(one):
                yield f"{box.box}: {member} left out", apart(box.box, member)
        for one, other in combinations(box.joints, 2):
            first, second = members(one), members(other)
            yield f"{box.box}: {first[0]} and {second[0]} merged", merged(box.box, first[0], second[0])
            for a in first:
                yield f"{box.box}: {a} moved to {second[0]}", over(box.box, a, second[0])
                for b in second:
                    yield f"{box.box}: {a} and {b} swapped", swapped(box.box, a, b)
            for b in second:
                yield f"{box.box}: {b} moved to {first[0]}", over(box.box, b, first[0])


def _harmless(words: str) -> bool:
    """Two equal ends of one device changed, two circuits' screws at one bar of the panel, an alarm with no ground."""
    if words in ("A1: A1: ground left out", "A2: A2: ground left out"):
        return True
    _, _, rest = words.removesuffix(" swapped").partition(": ")
    one, _, other = rest.partition(" and ")
    if not (words.endswith("swapped") and ": " in one and ": " in other):
        return False
    (owner, a), (owner_2, b) = one.split(": "), other.split(": ")
    return owner == owner_2 and (a == b or {a, b} in SAME_EITHER_WAY)


@pytest.mark.parametrize("name", PLANS)
def test_every_joint_made_up_another_way_is_found(name: str) -> None:
    plan = PLANS[name]()
    tried = 0
    for words, change in _rejoinings(plan):
        found = looked(change(plan))
        tried += 1
        if _harmless(words):
            assert not [finding for finding in found if finding.code.startswith("switching.")], words
        else:
            assert any(finding.severity == "fault" for finding in found), words
    assert tried > 30


@pytest.mark.parametrize("name", ["three_way_power_at_switch", "three_way_light_between", "four_way"])
def test_conductors_changed_at_one_end_are_found_by_switching_through_alone(name: str) -> None:
    plan, tried = PLANS[name](), 0
    for box in plan.makeups:
        for one, other in combinations(box.joints, 2):
            both_travel = one.net.startswith("traveler") and other.net.startswith("traveler")
            for a, b in product(one.ends, other.ends):
                if a[0] != b[0] or "bare" in (a[1], b[1]):
                    continue
                site = site_of(swapped(box.box, " ".join(a), " ".join(b))(plan))
                found = {finding.code for finding in Simulation(site, metal_of(site)).findings} - {"switching.net"}
                assert bool(found) != both_travel, (box.box, a, b)
                tried += 1
    assert tried >= 10


# --- single faults ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("words", FAULTS)
def test_a_planted_fault_of_the_wiring_is_found(words: str) -> None:
    plan, change, wanted = FAULTS[words]
    assert looked(plan) == ()
    found = looked(change(plan))
    assert wanted <= {finding.code for finding in found}, [str(finding) for finding in found]
    assert {finding.code for finding in found if finding.severity == "warning"} <= WARNINGS
    assert all(finding.subject and finding.words for finding in found)


def test_every_code_of_the_wiring_has_a_planted_fault() -> None:
    folder = Path(barnloom.routing.check.__file__).parent
    text = "".join(path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.py")))
    given = set(re.findall(r'Finding\(\s*"((?:joint|wire|switching|fill|circuit)\.[a-z_]+)"', text))
    planted = set().union(*(codes for _, _, codes in FAULTS.values()))
    # Currents that do not come to nought and chains without form are planted in tests of their own.
    assert given - planted == {"switching.sum", "switching.form"}


# --- long chains, currents -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("between", [0, 1, 2, 10, 11, 14])
def test_a_light_from_many_points_passes_however_many_there_are(between: int) -> None:
    assert looked(three_way_chain(between)) == ()


@pytest.mark.parametrize("between", [10, 11, 14])
def test_a_fault_in_a_long_chain_is_found(between: int) -> None:
    crossed = swapped("F7", "F7: in 1", "F7: out 2")(three_way_chain(between))
    assert ("switching.form" in codes(crossed)) == (between > 10)
    assert "switching.light" in codes(crossed)
    for change in (swapped("B", "B: common", "B: traveler 1"), over("F7", "F7: in 1", "F7: in 2")):
        assert {"switching.form", "switching.light"} & codes(change(three_way_chain(between)))


def test_two_lights_of_one_control_that_are_lit_in_turn_are_found() -> None:
    """A three-way switch, then a four-way one with a light at each end: each follows both, but never together."""
    plan = wired(
        {"L1": LIGHTS},
        (switch("A", "ROW"), switch("F", "ROW"), light("LAMP1", "ROW"), light("LAMP2", "ROW")),
        """
        L1.A 14/2 PANEL 20 0.8333
        L1.F 14/3 A 10 0.8333
        L1.LAMP1 14/2 F 10 0.8333
        L1.LAMP2 14/2 F 10 0
        """,
        """
        PANEL | L1 | line | L1.A black, PANEL: breaker L1
        PANEL | L1 | neutral | L1.A white, PANEL: neutral bar
        A | L1 | line | L1.A black, A: common
        A | L1 | neutral | L1.A white, L1.F white
        A | L1 | traveler ROW 1a | L1.F black, A: traveler 1
        A | L1 | traveler ROW 1b | L1.F red, A: traveler 2
        F | L1 | traveler ROW 1a | L1.F black, F: in 1
        F | L1 | traveler ROW 1b | L1.F red, F: in 2
        F | L1 | neutral | L1.F white, L1.LAMP1 white, L1.LAMP2 white
        F | L1 | switched ROW | L1.LAMP1 black, F: out 1
        F | L1 | switched ROW 2 | L1.LAMP2 black, F: out 2
        LAMP1 | L1 | switched ROW | L1.LAMP1 black, LAMP1: hot
        LAMP1 | L1 | neutral | L1.LAMP1 white, LAMP1: neutral
        LAMP2 | L1 | switched ROW 2 | L1.LAMP2 black, LAMP2: hot
        LAMP2 | L1 | neutral | L1.LAMP2 white, LAMP2: neutral
        """,
    )
    found = {finding.code: finding for finding in looked(plan)}
    assert set(found) == {"joint.points", "switching.light"}
    assert found["switching.light"].subject == "LAMP2"


def apart_cables() -> Plan:
    """The line goes to the switch in one cable, the neutral to the light in another: both work, neither balances."""
    return wired(
        {"L1": LIGHTS},
        (switch("S1", "ROW"), light("LAMP", "ROW")),
        """
        L1.S1 14/2 PANEL 20 0.4167
        L1.LAMP 14/2 S1 10 0.4167
        L1.BACK 14/2 PANEL 20 0.4167 LAMP
        """,
        """
        PANEL | L1 | line | L1.S1 black, PANEL: breaker L1
        PANEL | L1 | neutral | L1.BACK white, PANEL: neutral bar
        PANEL | L1 | spare | L1.S1 white
        PANEL | L1 | spare | L1.BACK black
        S1 | L1 | line | L1.S1 black, S1: line
        S1 | L1 | switched ROW | L1.LAMP black, S1: load
        S1 | L1 | neutral | L1.LAMP white
        S1 | L1 | spare | L1.S1 white
        LAMP | L1 | switched ROW | L1.LAMP black, LAMP: hot
        LAMP | L1 | neutral | L1.LAMP white, L1.BACK white, LAMP: neutral
        LAMP | L1 | spare | L1.BACK black
        """,
    )


def test_cables_whose_currents_do_not_come_to_nought_are_found() -> None:
    # NEC 300.3(B): all conductors of a circuit in one cable, from memory. 100 VA / 120 V = 0.833 A.
    found = [finding for finding in looked(apart_cables()) if finding.code != "circuit.drop"]
    assert {(finding.code, finding.subject) for finding in found} == {
        ("switching.sum", name) for name in ("L1.S1", "L1.LAMP", "L1.BACK")
    }
    assert all("0.833 A with S1 up" in finding.words for finding in found)


def test_what_draws_nothing_is_followed_all_the_same() -> None:
    nothing = device("LAMP", load_va=0.0)(apart_cables())
    assert "switching.sum" in codes(nothing)


def test_currents_and_drop_by_pencil() -> None:
    # Heater: 4000 / 240 = 16.667 A; 10 AWG is 1.21 ohm per 1000 ft (NEC chapter 9 Table 8, solid, two pages and
    # arithmetic): 2 x 16.667 x 1.21 x 40 / 1000 = 1.613 V, 0.672 % of 240 V.
    assert looked(replace(heater(), cables=(replace(heater().cables[0], drop_percent=0.672),))) == ()
    assert codes(replace(heater(), cables=(replace(heater().cables[0], drop_percent=0.682),))) == {"circuit.drop"}
    # Three outlets of 1.5 A, 12 AWG, 1.93 ohm: 30 ft x 4.5 A + 8 x 3 + 8 x 1.5 = 171 A ft; 2 x 1.93 x 171 / 1000 =
    # 0.660 V, 0.550 % of 120 V.
    last = behind_ground_fault().cables[2]
    assert last.drop_percent == pytest.approx(0.550, abs=5e-4)


# --- box fill, published ---------------------------------------------------------------------------------------------


def boxful(cables: str, kind: DeviceKind | None, box_type: BoxType, wanted: float) -> Plan:
    """One box into which cables come, whatever they are for, with a device in it or not; the fill that is said."""
    rows = [f"P1.{n} {cable} PANEL 10 0 BOX" for n, cable in enumerate(cables.split(), 1)]
    inside = () if kind is None else (Device(id="BOX", box="BOX", kind=kind, circuit="P1"),)
    plan = wired({"P1": OUTLETS}, inside, "\n".join(rows), "")
    line = FillLine(what="", count=1, awg=12, each_in3=wanted, clause="")
    said = makeup("BOX", box_type=box_type.id, volume_in3=box_type.volume_in3, fill=(line,))
    return both(building(box_types=(box_type,)), said)(plan)


NO_CLAMPS, STUDDED = replace(STEEL, clamps="outside"), replace(STEEL, stud=True, volume_in3=21.5)


@pytest.mark.parametrize(
    ("cables", "kind", "box_type", "wanted", "passes"),
    [
        # Two 12-2, stud, clamps: 4 + 1 + 1 + 1 = 7 x 2.25 = 15.75; the printed 18.75 has two fixture wires without a
        # canopy (3.00) on top.
        # stallcupeducation.learnworlds.com/blog/sizing-octagon-box-different-size-conductors-article
        ("12/2 12/2", None, STUDDED, 15.75, True),
        # 7 + 1 + 1 + 2 = 11 x 2.25 = 24.75 in a 4 x 1-1/2 square box of 21.0, by the rules of 314.16(B)
        ("12/2 12/2 12/3", DeviceKind.SWITCH, replace(STEEL, volume_in3=21.0), 24.75, False),
        # codestandardspracticeslevel1.passetra.com (four 12-2 cables): 24.75
        ("12/2 12/2 12/2 12/2", DeviceKind.RECEPTACLE, NO_CLAMPS, 24.75, True),
        # diychatroom.com/threads/box-fill-calculations.102858/: three 14/2 and a duplex just fit 18; one 14/3 does not
        ("14/2 14/2 14/2", DeviceKind.RECEPTACLE, replace(NO_CLAMPS, volume_in3=18.0), 18.0, True),
        ("14/2 14/2 14/3", DeviceKind.RECEPTACLE, replace(NO_CLAMPS, volume_in3=18.0), 20.0, False),
        # forums.mikeholt.com/threads/egc-fill.2566828: grounds 5 x 14 and 5 x 12: 2.5 x 2.25 = 5.625; with them
        # 10 x 2 + 10 x 2.25 = 42.5
        ("14/2 " * 5 + "12/2 " * 5, None, replace(NO_CLAMPS, volume_in3=60.0), 48.125, True),
    ],
)
def test_box_fill_as_published(
    cables: str, kind: DeviceKind | None, box_type: BoxType, wanted: float, *, passes: bool
) -> None:
    said = {code for code in codes(boxful(cables, kind, box_type, wanted)) if code.startswith("fill.")} - {"fill.tight"}
    assert said == (set() if passes else {"fill.over"})
    for wrong in (wanted - 0.01, wanted + 0.01):
        assert "fill.sum" in codes(boxful(cables, kind, box_type, wrong))


# --- what passes -----------------------------------------------------------------------------------------------------


def test_breakers_at_the_small_conductor_limits_pass() -> None:
    # NEC 240.4(D): 15, 20, 30 A on 14, 12, 10 AWG. voltagelab.com/table-310-16-ampacity-of-conductors
    assert power_at_switch().circuits[0].breaker_a == 15.0
    assert behind_ground_fault().circuits[0].breaker_a == 20.0
    assert looked(replace(heater(), circuits=(replace(heater().circuits[0], breaker_a=30.0),))) == ()
    pinned = both(part("circuits", "H1", motor_breaker=True), building())(heater())
    assert looked(replace(pinned, circuits=(replace(pinned.circuits[0], breaker_a=40.0),))) == ()


def test_a_tail_capped_in_a_covered_box_passes() -> None:
    """What a later phase goes on from: a box with no device, its one cable's conductors each alone."""
    plan = wired(
        {"P1": {**OUTLETS, "breaker": "ground-fault"}},
        (receptacle("R1"),),
        """
        P1.R1 12/2 PANEL 30 1.5
        P1.TAIL 12/2 R1 8 0
        """,
        """
        PANEL | P1 | line | P1.R1 black, PANEL: breaker P1
        PANEL | P1 | neutral | P1.R1 white, PANEL: neutral bar
        R1 | P1 | line | P1.R1 black, P1.TAIL black, R1: hot
        R1 | P1 | neutral | P1.R1 white, P1.TAIL white, R1: neutral
        TAIL | P1 | line | P1.TAIL black
        TAIL | P1 | neutral | P1.TAIL white
        """,
    )
    assert looked(plan) == ()
    assert "joint.alone" in codes(device("R1", box="TAIL")(plan))


def test_a_ground_fault_device_may_have_nothing_behind_it_and_an_alarm_may_be_alone() -> None:
    end = wired(
        {"P1": OUTLETS},
        (receptacle("G1", ground_fault=True),),
        "P1.G1 12/2 PANEL 30 1.5",
        """
        PANEL | P1 | line | P1.G1 black, PANEL: breaker P1
        PANEL | P1 | neutral | P1.G1 white, PANEL: neutral bar
        G1 | P1 | line | P1.G1 black, G1: line hot
        G1 | P1 | neutral | P1.G1 white, G1: line neutral
        """,
    )
    assert looked(end) == ()
    one = alarms().building.devices[0]
    assert "joint.terminal" not in {
        finding.code
        for finding in looked(building(devices=(one,))(apart("A1", "A1: interconnect")(alarms())))
        if finding.subject == "A1"
    }


def test_travelers_may_change_places_at_a_switch() -> None:
    assert looked(swapped("A", "A: traveler 1", "A: traveler 2")(four_way())) == ()
    assert looked(swapped("F1", "F1: out 1", "F1: out 2")(four_way())) == ()


def test_a_striped_white_comes_from_a_switch_only_where_its_cable_holds_no_supply() -> None:
    red, striped = "L1.B red", "L1.B white with a red stripe"
    changed = renetted(both(swapped("A", red, striped), swapped("B", red, striped))(three_way_power_at_light()))
    assert codes(changed) == {"wire.return"}
    assert codes(four_conductors_from_three_switches()) <= {"fill.tight"}


def four_conductors_from_three_switches() -> Plan:
    """Three switches in two boxes, three lights in one: no supply in the cable between."""
    names = (("S1", "ROW", "black"), ("S2", "STAIR", "red"), ("S3", "BENCH", "white with a red stripe"))
    joints = [
        "PANEL | L1 | line | L1.GANG black, PANEL: breaker L1",
        "PANEL | L1 | neutral | L1.GANG white, PANEL: neutral bar",
        "GANG | L1 | line | L1.GANG black, S1: line, S2: line, S3: line",
        "GANG | L1 | neutral | L1.GANG white, L1.TRIO white",
        "TRIO | L1 | neutral | L1.TRIO white, L1: neutral, L2: neutral, L3: neutral",
    ]
    for n, (name, control, colour) in enumerate(names, 1):
        joints.append(f"GANG | L1 | switched {control} | L1.TRIO {colour}, {name}: load")
        joints.append(f"TRIO | L1 | switched {control} | L1.TRIO {colour}, L{n}: hot")
    devices = [switch(name, control, box="GANG") for name, control, _ in names]
    devices += [light(f"L{n}", control, box="TRIO") for n, (_, control, _) in enumerate(names, 1)]
    plan = wired(
        {"L1": LIGHTS},
        tuple(devices),
        """
        L1.GANG 14/2 PANEL 20 2.5
        L1.TRIO 14/4 GANG 15 2.5
        """,
        "\n".join(joints),
    )
    return building(box_types=(replace(STEEL, gangs=3),))(plan)


def test_volumes_that_nobody_knows_are_told_once() -> None:
    plan = power_at_switch()
    for name in ("S1", "LAMP"):  # clamps inside count for a body that is no known box: the stricter reading
        plan = makeup(name, box_type="", volume_in3=0.0)(plan)
    assert [(f.code, f.subject, f.severity) for f in looked(plan)] == [("fill.unknown", "LAMP S1", "warning")]


def test_a_plan_without_wiring_passes_and_one_with_some_is_checked_wholly() -> None:
    hand = hand_plan()
    assert check(hand) == ()
    some = replace(hand, makeups=power_at_switch().makeups[:1])
    assert {"joint.makeup", "circuit.sheet"} <= {finding.code for finding in check(some)}


@pytest.mark.parametrize("name", PLANS)
def test_a_plan_with_parts_missing_is_judged_and_never_raises(name: str) -> None:
    plan = PLANS[name]()
    for field in ("boxes", "circuits", "devices", "controls", "cable_types", "box_types", "breakers", "limits"):
        for left_out in range(len(getattr(plan.building, field))):
            parts = getattr(plan.building, field)
            less = building(**{field: parts[:left_out] + parts[left_out + 1 :]})(plan)
            assert all(finding.words for finding in check(less))
        assert check(building(**{field: ()})(plan))
    for field in ("cables", "makeups", "circuits"):
        assert looked(replace(plan, **{field: getattr(plan, field)[:-1]}))

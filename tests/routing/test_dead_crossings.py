"""Dead tests against wiring done wrong: every two conductors of every box of the scenes, and boxes known to be hard."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from crossings import Inspection, Mistake
from wired_scenes import bay, building_of, wall_scene

from barnloom.model import read_building
from barnloom.routing import Plan, plan_building

SCENES = Path(__file__).parents[2] / "scenes"
NAMES = ("cider-mill", "garden-studio", "sail-loft", "sheep-shed")
AS_PLANNED = Mistake("none")
UNNOTICED = {
    # Wires that end in a cap, left for later: exchanged there, nothing is joined otherwise than before.
    "cider-mill": {"exchange YARD"},
    # A stair light is turned about: its always hot wire is what comes off the far switch, and the other way round. It
    # works as before, and what is fed beyond is live only while the stair's switches agree. With them at rest all reads
    # as it should; a row that says "any" shows it where they happen not to agree.
    "sail-loft": {"exchange LANTERN", "exchange SW4: LIGHTS.SW4 black | LIGHTS.U5 red"},
}
ROWS = {"cider-mill": 70, "garden-studio": 15, "sail-loft": 195, "sheep-shed": 75}
"""A person has to read them: no more than these."""


@cache
def planned(name: str) -> Plan:
    return plan_building(read_building(SCENES / f"{name}.yaml"), effort="quick")


@cache
def inspected(name: str) -> Inspection:
    return Inspection(planned(name))


def outlet(circuit: str) -> str:
    return f"{{kind: receptacle, circuit: {circuit}}}"


def boxes(text: str, *, controls: str = "", circuits: str = "") -> Plan:
    """A plan of a wall of boxes, a line for each."""
    said = dict(line.strip().split(": ", 1) for line in text.splitlines() if line.strip())
    return plan_building(building_of(wall_scene(said, more=f"{controls}\n{circuits}\n")))


@pytest.mark.parametrize("name", NAMES)
def test_every_row_reads_as_it_says_on_wiring_as_planned(name: str) -> None:
    assert inspected(name).noticed_by(AS_PLANNED) is None


@pytest.mark.parametrize("name", NAMES)
def test_every_two_joints_that_touch_in_a_box_are_noticed(name: str) -> None:
    inspection = inspected(name)
    assert len(list(inspection.touching())) > 10
    assert inspection.missed(inspection.touching()) == []


@pytest.mark.parametrize("name", NAMES)
def test_every_two_conductors_that_change_places_are_noticed(name: str) -> None:
    missed = inspected(name).missed(inspected(name).exchanged())
    known = UNNOTICED.get(name, set())
    assert [what for what in missed if not any(what.startswith(one) for one in known)] == []
    assert all(any(what.startswith(one) for what in missed) for one in known)


@pytest.mark.parametrize("name", NAMES)
def test_everything_that_comes_out_of_its_joint_is_noticed(name: str) -> None:
    assert inspected(name).missed(inspected(name).loose()) == []


@pytest.mark.parametrize("name", NAMES)
def test_the_rows_stay_as_many_as_a_person_reads(name: str) -> None:
    assert len(inspected(name).rows) <= ROWS[name]


def test_lights_of_one_row_are_read_against_the_first_of_them() -> None:
    rows = [row for row in inspected("sail-loft").rows if "hot of" in row.conductor_b and "LOFT" in row.why]
    assert [row.expected for row in rows].count("open") == 1  # the first: SW5 down, and up
    assert {row.conductor_a for row in rows if row.box_a != "PANEL"} == {rows[0].conductor_b}
    assert len(rows) == 2 + 3  # U1 to U4


def test_two_circuits_in_one_box_are_read_hot_against_white_too() -> None:
    plan = boxes(
        f"""
        R1: {bay(3)}, height: 52", circuit: [A, B], device: [{outlet("A")}, {outlet("B")}], shared: yes
        R2: {bay(6)}, height: 52", circuit: A, device: receptacle
        R3: {bay(9)}, height: 52", circuit: B, device: receptacle
        """,
        circuits="circuits: {A: {breaker: 20, order: [R1, R2]}, B: {breaker: 15, order: [R1, R3]}}",
    )
    inspection = Inspection(plan)
    assert len([what.what for what in inspection.touching() if what.what.startswith("touch R1")]) == 10
    assert inspection.missed(inspection.touching()) == []
    # A bare that is off the bar hides behind that of the other circuit: both are joined in R1.
    assert {what.split(" ")[-1] for what in inspection.missed(inspection.loose())} == {"bare"}


TWO_SWITCHES = "controls: {ONE: {lights: [L1], points: [SA]}, TWO: {lights: [L2], points: [SA]}}"
TWO_THREE_WAYS = "controls: {ONE: {lights: [L1], points: [SA, SB]}, TWO: {lights: [L2], points: [SA, SC]}}"


@pytest.mark.parametrize("circuit", ["C", "[C, D]"])
@pytest.mark.parametrize("controls", [TWO_SWITCHES, TWO_THREE_WAYS], ids=["two switches", "two three-way switches"])
def test_two_controls_in_one_box_are_apart_in_every_position(controls: str, circuit: str) -> None:
    shared = circuit != "C"
    second = "D" if shared else "C"
    pair = f"[{{kind: switch, circuit: C}}, {{kind: switch, circuit: {second}}}]{', shared: yes' if shared else ''}"
    far = [
        f'SB: {bay(5)}, height: 52", circuit: C, device: switch',
        f'SC: {bay(7)}, height: 52", circuit: {second}, device: switch',
    ]
    plan = boxes(
        f"""
        SA: {bay(3)}, height: 52", circuit: {circuit}, device: {pair}
        {far[0] if "SB" in controls else ""}
        {far[1] if "SC" in controls else ""}
        L1: {bay(8)}, height: 80", circuit: C, device: light
        L2: {bay(11)}, height: 80", circuit: {second}, device: light
        """,
        controls=controls,
        circuits=f"circuits: {{C: {{breaker: 15}}{', D: {breaker: 15}' if shared else ''}}}",
    )
    inspection = Inspection(plan)
    assert inspection.noticed_by(AS_PLANNED) is None
    assert inspection.missed(inspection.touching()) == []


def test_what_one_row_alone_does_not_show_another_does() -> None:
    """The rows as they are: with only the first half of them, mistakes go through."""
    whole = inspected("cider-mill")
    assert Inspection(planned("cider-mill"), whole.rows[: len(whole.rows) // 2]).missed(whole.touching())

"""The table of a switching group against the rule that every one-flip turns the light over."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest

from barnloom.model.errors import InputError
from barnloom.model.wiring import Control, Device, DeviceKind
from barnloom.routing.plan import Conductor, Joint
from barnloom.viewer.drawings.switching import Switching, switching_rows
from tests.viewer.drawings.wired_layouts import LAYOUTS, cable_of, layout_plan, plan_of


def parity_holds(table: Switching) -> bool:
    """Each switch turns each light over: on exactly with an odd number of flips from a dark row."""
    on = {row.positions: row.on for row in table.rows}
    first = next(iter(on))
    return all(
        lights
        == tuple(one ^ (sum(a != b for a, b in zip(positions, first, strict=True)) % 2 == 1) for one in on[first])
        for positions, lights in on.items()
    )


@pytest.mark.parametrize("layout", [one for one in LAYOUTS if "controls" in one], ids=lambda one: one["id"])
def test_every_published_group_turns_over_with_each_switch(layout):
    """Source: the definition of three- and four-way switching, as on the pages named in the TOML."""
    plan = layout_plan(layout)
    for control in plan.building.controls:
        table = switching_rows(plan, control.id)
        assert table.points == control.points
        assert table.lights == control.lights
        assert {row.positions for row in table.rows} == set(
            product(("down", "up") if len(table.points) == 1 else ("1", "2"), repeat=len(table.points))
        )
        assert parity_holds(table)
        assert "over" in table.words[0] or "up is on" in table.words[0]


def test_a_plain_switch_is_on_when_it_is_up():
    plan = layout_plan(LAYOUTS[0])
    table = switching_rows(plan, "A")
    assert [(row.positions, row.on) for row in table.rows] == [(("down",), (False,)), (("up",), (True,))]
    assert table.words == ("S turns L on and off: up is on.",)


def test_a_wire_on_the_wrong_screw_shows():
    """Common and a traveler changed over at one three-way switch: the classic mistake (common practice, no source)."""
    layout = next(one for one in LAYOUTS if one["id"] == "three-way-light-at-the-end")
    plan = layout_plan(layout)
    switch = plan.building.controls[0].points[1]
    swap = {(switch, "common"): (switch, "traveler 1"), (switch, "traveler 1"): (switch, "common")}
    makeups = tuple(
        replace(
            makeup,
            joints=tuple(
                replace(joint, terminals=tuple(swap.get(pin, pin) for pin in joint.terminals))
                for joint in makeup.joints
            ),
        )
        for makeup in plan.makeups
    )
    table = switching_rows(replace(plan, makeups=makeups), "A")
    assert not parity_holds(table)
    assert "see to the wiring" in table.words[0]


def test_lights_in_turn_are_not_said_to_be_all_on_or_all_off():
    layout = next(one for one in LAYOUTS if one["id"] == "one-switch-lights-in-a-row")
    plan = layout_plan(layout)
    assert "They are all on or all off." in switching_rows(plan, "A").words
    makeups = tuple(
        replace(makeup, joints=tuple(j for j in makeup.joints if not j.net.startswith("switched")))
        if makeup.box == "L3"
        else makeup
        for makeup in plan.makeups
    )
    broken = switching_rows(replace(plan, makeups=makeups), "A")
    assert [row.on for row in broken.rows] == [(False, False, False), (True, True, False)]
    assert "They are all on or all off." not in broken.words


def long_row(count: int):
    """A chain of switches in one box after another: three-way, four-way ..., three-way, then a light."""
    switches = [f"S{n}" for n in range(count)]
    devices = [Device(id=name, box=name, kind=DeviceKind.SWITCH, circuit="C1", control="A") for name in switches]
    devices.append(Device(id="L", box="L", kind=DeviceKind.LIGHT, circuit="C1", control="A", load_va=100))
    control = Control(id="A", title="long row", circuit="C1", points=tuple(switches), lights=("L",))
    joints = {box: [] for box in ("P", *switches, "L")}

    def joint(box, net, ends, *terminals):
        joints[box].append(Joint(net=net, circuit="C1", ends=tuple(ends), terminals=tuple(terminals)))

    cables = []
    for near, far in zip(["P", *switches], [*switches, "L"], strict=True):
        hot = "line" if near == "P" else "switched A" if far == "L" else f"traveler A {near[1:]}"
        nets = [hot] if near == "P" or far == "L" else [f"{hot}a", f"{hot}b"]
        wires = [Conductor(colour=c, net=n) for c, n in zip(("black", "red"), nets, strict=False)]
        wires += [Conductor(colour="white", net="neutral"), Conductor(colour="bare", net="ground")]
        cables.append(cable_of(f"C1.{far}", (near, far), wires))
    joint("P", "line", [("C1.S0", "black")], ("P", "breaker C1"))
    joint("P", "neutral", [("C1.S0", "white")], ("P", "neutral bar"))
    for n, name in enumerate(switches):
        after = f"C1.{switches[n + 1]}" if n + 1 < count else "C1.L"
        joint(name, "neutral", [(f"C1.{name}", "white"), (after, "white")])
        ways = {"in": ("in 1", "in 2"), "out": ("out 1", "out 2")}
        ways["in"] = ("common",) if n == 0 else ("traveler 1", "traveler 2") if n == count - 1 else ways["in"]
        ways["out"] = ("common",) if n == count - 1 else ("traveler 1", "traveler 2") if n == 0 else ways["out"]
        for cable, terminals in ((f"C1.{name}", ways["in"]), (after, ways["out"])):
            for colour, terminal in zip(("black", "red"), terminals, strict=False):
                joint(name, "traveler A", [(cable, colour)], (name, terminal))
    joint("L", "switched A", [("C1.L", "black")], ("L", "hot"))
    joint("L", "neutral", [("C1.L", "white")], ("L", "neutral"))
    return plan_of([*switches, "L"], cables, devices, joints, controls=(control,))


def test_five_points_are_a_table_and_six_are_told_in_words():
    five, six = switching_rows(long_row(5), "A"), switching_rows(long_row(6), "A")
    assert len(five.rows) == 32
    assert parity_holds(five)
    assert six.rows == ()
    assert six.words[0] == "Each of S0, S1, S2, S3, S4 and S5 turns L over, however the others stand."
    assert "64 combinations" in six.words[-1]


def test_a_control_that_is_not_there_is_refused():
    with pytest.raises(InputError, match="NONE"):
        switching_rows(long_row(2), "NONE")

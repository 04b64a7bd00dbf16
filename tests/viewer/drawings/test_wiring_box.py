"""Box diagrams, read back from their lines and words, say what the plan says."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barnloom.model.errors import InputError
from barnloom.model.wiring import Device, DeviceKind
from barnloom.routing.plan import CircuitSheet, Conductor, Joint, Plan
from barnloom.viewer.drawing import Drawing, Symbol, Text
from barnloom.viewer.drawings.wiring_box import CARD_IN, box_diagrams
from barnloom.viewer.symbols import SYMBOLS
from barnloom.viewer.wires import label
from tests.viewer.drawings.read_wiring import faults, joints, nearest
from tests.viewer.drawings.wired_layouts import LAYOUTS, cable_of, layout_plan, plan_of

CLEAR_IN = 0.04
"""Least distance between wires that are not joined: more than a wire's own width."""


def said_by_plan(plan: Plan, box_id: str) -> Counter[frozenset[tuple[str, str]]]:
    """Joints of a box in the words of the diagram: label of the cable and colour, device and terminal."""
    makeup = next(one for one in plan.makeups if one.box == box_id)
    cables = {cable.id: cable for cable in plan.cables}
    found: Counter[frozenset[tuple[str, str]]] = Counter()
    for joint in makeup.joints:
        alone = len(joint.ends) + len(joint.terminals) == 1
        pins = set()
        for cable_id, colour in joint.ends:
            cable = cables[cable_id]
            tape = next(one.marked for one in cable.conductors if one.colour == colour)
            words = {"white with a red stripe": "white, red stripe"}.get(colour, colour)
            words += (f" taped {tape}" if tape else "") + (", capped" if alone else "")
            way = f"from {cable.from_box}" if cable.to_box == box_id else f"on to {cable.to_box}"
            pins.add(((way + label(cable)).replace(" ", ""), words))
        for owner, name in joint.terminals:
            screw = (owner, name) == (box_id, "box")
            pins.add(("metalbox", "ground screw") if screw else (owner, f"{name} (empty)" if alone else name))
        found[frozenset(pins)] += 1
    return found


def said_by(drawings: tuple[Drawing, ...], plan: Plan) -> Counter[frozenset[tuple[str, str]]]:
    ids = {device.id for device in plan.building.devices}

    def owner(words: str) -> str:
        return max((name for name in ids if words.endswith(name)), key=len, default=words)

    return Counter(
        frozenset((owner(block), words) for block, words in pins)
        for drawing in drawings
        for pins in joints(drawing).values()
    )


def check(plan: Plan, box_id: str) -> tuple[Drawing, ...]:
    drawings = box_diagrams(plan, box_id)
    assert said_by(drawings, plan) == said_by_plan(plan, box_id)
    for drawing in drawings:
        assert faults(drawing) == []
        assert nearest(drawing) >= CLEAR_IN
        assert drawing.bounds.width_in == pytest.approx(CARD_IN[0])
        assert drawing.bounds.height_in <= CARD_IN[1] + 1e-9
        assert {item.height_in for item in drawing.items if isinstance(item, Text)} == {11 / 72}
        assert all(item.name in SYMBOLS for item in drawing.items if isinstance(item, Symbol))
    return drawings


@pytest.mark.parametrize("layout", LAYOUTS, ids=[layout["id"] for layout in LAYOUTS])
@pytest.mark.parametrize("metal", [True, False], ids=["metal", "plastic"])
def test_every_box_of_the_published_layouts_is_joined_as_the_plan_says(layout, metal):
    plan = layout_plan(layout, metal=metal)
    for makeup in plan.makeups:
        if makeup.box != "P":
            assert len(check(plan, makeup.box)) == 1


KINDS = {
    DeviceKind.RECEPTACLE: ("hot", "neutral", "ground"),
    DeviceKind.LIGHT: ("hot", "neutral", "ground"),
    DeviceKind.SWITCH: ("in 1", "in 2", "out 1", "out 2", "ground"),
    DeviceKind.ALARM: ("hot", "neutral", "interconnect"),
}
COLOURS = ("black", "white", "red", "white with a red stripe")


@st.composite
def boxes(draw):
    """Up to eight cables and three devices, tied in any way, but for two pins of one cable or device in one joint."""
    names = st.text("ABCDEFGHIJKLNOPQRSTUVXYZ0123456789-", min_size=1, max_size=4)
    far = draw(st.lists(names, min_size=1, max_size=8, unique=True))
    cables, pins = [], []
    for n, name in enumerate(far):
        count = draw(st.integers(2, 4))
        tapes = [draw(st.sampled_from(["", "red", "blue"])) if c.startswith("white") else "" for c in COLOURS[:count]]
        wires = [Conductor(colour=c, net="line", marked=t) for c, t in zip(COLOURS[:count], tapes, strict=True)]
        wires.append(Conductor(colour="bare", net="ground"))
        cables.append(cable_of(f"C1.{name}", (f"{name}x", "BOX") if n == 0 else ("BOX", f"{name}x"), wires))
        pins += [(f"C1.{name}", wire.colour) for wire in wires]
    devices = []
    for n in range(draw(st.integers(0, 3))):
        kind = draw(st.sampled_from(sorted(KINDS)))
        devices.append(Device(id=f"BOX.{n + 1}", box="BOX", kind=kind, circuit="C1"))
        pins += [(f"BOX.{n + 1}", terminal) for terminal in KINDS[kind]]
    count = draw(st.integers(5, 9))
    at = []
    for owner in dict.fromkeys(owner for owner, _ in pins):
        at += draw(st.permutations(range(1, count + 1)))[: sum(one == owner for one, _ in pins)]
    nets = ("ground", "neutral", "line", "switched A", "traveler A 1a", "traveler A 1b", "line 1", "line 2", "spare")
    ties = [
        Joint(
            net=nets[number - 1],
            circuit="C1",
            ends=tuple(pin for pin, own in zip(pins, at, strict=True) if own == number and pin[0].startswith("C1.")),
            terminals=tuple(
                pin for pin, own in zip(pins, at, strict=True) if own == number and pin[0].startswith("BOX.")
            ),
        )
        for number in sorted(set(at))
    ]
    return cables, devices, ties


@settings(max_examples=100, deadline=None)
@given(boxes())
def test_a_box_with_anything_in_it_is_joined_as_the_plan_says(box):
    cables, devices, ties = box
    check(plan_of(["BOX"], cables, devices, {"BOX": ties}), "BOX")


def crowded() -> Plan:
    """Eight cables of four and three four-way switches."""
    wires = [*(Conductor(colour=c, net="line") for c in COLOURS), Conductor(colour="bare", net="ground")]
    cables = [cable_of(f"C1.FAR-{n}", ("BOX", f"FAR-{n}"), wires) for n in range(8)]
    devices = [Device(id=f"BOX.{n}", box="BOX", kind=DeviceKind.SWITCH, circuit="C1") for n in (1, 2, 3)]
    rows = [
        Joint(
            net=net,
            circuit="C1",
            ends=tuple((cable.id, colour) for cable in cables),
            terminals=tuple((device.id, terminal) for device in devices),
        )
        for net, colour, terminal in zip(
            ("line", "neutral", "switched A", "switched B", "ground"),
            (*COLOURS, "bare"),
            KINDS[DeviceKind.SWITCH],
            strict=True,
        )
    ]
    return plan_of(["BOX"], cables, devices, {"BOX": rows})


def test_a_box_too_full_for_a_card_is_told_in_parts():
    drawings = check(crowded(), "BOX")
    assert len(drawings) > 1
    titles = [next(item.text for item in d.items if isinstance(item, Text) and item.layer == "title") for d in drawings]
    assert titles == [f"box BOX, part {n} of {len(drawings)}" for n in range(1, len(drawings) + 1)]


def test_a_size_that_holds_not_even_one_joint_is_refused():
    with pytest.raises(InputError, match="box BOX"):
        box_diagrams(crowded(), "BOX", size_in=(4.0, 1.0))


def test_a_box_without_a_cable_is_refused():
    with pytest.raises(InputError, match="NOWHERE"):
        box_diagrams(crowded(), "NOWHERE")


def test_long_names_neither_run_into_anything_nor_vanish():
    plan = crowded()
    name = "A" * 40
    cables = tuple(replace(cable, from_box="BOX", to_box=name[:39] + str(n)) for n, cable in enumerate(plan.cables))
    for drawing in box_diagrams(replace(plan, cables=cables), "BOX"):
        assert faults(drawing) == []
        assert any(isinstance(item, Text) and "AAAA" in item.text for item in drawing.items)


@pytest.mark.parametrize("kind", ["plain", "ground-fault"])
def test_a_circuit_at_its_panel_has_a_screw_for_each_wire(kind):
    """Neutral of a protective breaker: to the breaker, whose own white lead goes to the bar (from memory)."""
    plan = layout_plan(LAYOUTS[0])
    sheet = CircuitSheet(
        circuit="C1", panel="P", volts=120, poles=1, breaker_a=20, breaker=kind, awg=14, load_va=0, load_a=0,
        longest_ft=0, drop_percent=0, spaces=(3,), legs="A",
    )  # fmt: skip
    (drawing,) = box_diagrams(replace(plan, circuits=(sheet,)), "P", circuit="C1")
    assert faults(drawing) == []
    cable = label(plan.cables[0]).replace(" ", "")
    way = f"onto{plan.cables[0].to_box}{cable}"
    breaker = "breakerC120A,space3" if kind == "plain" else "breakerC120Aground-fault,space3"
    found = set(joints(drawing).values())
    wanted = {
        frozenset({(way, "black"), (breaker, "hot")}),
        frozenset({(way, "bare"), ("groundbar", "a screw")}),
    }
    if kind == "plain":
        wanted.add(frozenset({(way, "white"), ("neutralbar", "a screw")}))
    else:
        wanted.add(frozenset({(way, "white"), (breaker, "neutral")}))
        wanted.add(frozenset({(breaker, "own white lead"), ("neutralbar", "a screw")}))
    assert found == wanted


def test_the_tab_of_a_half_switched_receptacle_is_broken():
    layout = next(one for one in LAYOUTS if any("half" in words for words in one["boxes"].values()))
    plan = layout_plan(layout)
    box = next(device.box for device in plan.building.devices if device.half_switched)
    (drawing,) = box_diagrams(plan, box)
    words = [item.text for item in drawing.items if isinstance(item, Text)]
    assert words.index("- tab broken off -") == words.index("hot top") + 1

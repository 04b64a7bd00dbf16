"""Conductors of every cable as published for common layouts of switching; data and sources are in the TOML."""

from __future__ import annotations

import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from barnloom.model.building import Circuit
from barnloom.model.wiring import Control, Device, DeviceKind, WiringRules
from barnloom.routing.wiring.nets import CircuitNets, synthesize

LAYOUTS: list[dict[str, Any]] = tomllib.loads(
    (Path(__file__).parent / "published_switching.toml").read_text(encoding="utf-8")
)["layout"]

each_layout = pytest.mark.parametrize("layout", LAYOUTS, ids=[layout["id"] for layout in LAYOUTS])


def device_of(words: str, name: str, box: str, control: str) -> Device:
    """A device from its words in the TOML."""
    said = words.split()
    kind = next(word for word in said if word in set(DeviceKind))
    return Device(
        id=name,
        box=box,
        kind=DeviceKind(kind),
        circuit="C1",
        volts=240 if "240" in said else 120,
        neutral="240" not in said or "neutral" in said,
        ground_fault="protecting" in said,
        half_switched="half" in said,
        leg=2 if words.endswith("leg 2") else 1,
        control=control,
    )


def cables_of(layout: dict[str, Any]) -> list[tuple[str, str, int]]:
    """Feeding box, fed box, conductors."""
    found = []
    for line in layout["cables"]:
        ends, count = line.split(": ")
        near, far = ends.split(" > ")
        found.append((near, far, int(count)))
    return found


def controls_of(layout: dict[str, Any], *, in_order: bool) -> list[Control]:
    found = []
    for number, line in enumerate(layout.get("controls", ())):
        points, lights = line.split(" > ")
        found.append(
            Control(
                id=chr(ord("A") + number),
                title="",
                circuit="C1",
                points=tuple(points.split()),
                lights=tuple(lights.split()),
                in_order=in_order,
            )
        )
    return found


def wired(layout: dict[str, Any], *, in_order: bool = True) -> CircuitNets:
    """What the tool makes of a layout, power coming to the points as the page has it or in an order of its own."""
    controls = controls_of(layout, in_order=in_order)
    follows = {name: one.id for one in controls for name in (*one.points, *one.lights)}
    devices = []
    for box, words in layout["boxes"].items():
        held = [] if words == "junction" else words.split(", ")
        for number, one in enumerate(held, 1):
            name = box if len(held) == 1 else f"{box}.{number}"
            devices.append(device_of(one, name, box, follows.get(name, "")))
    feeds = [(near, far) for near, far, _ in cables_of(layout)]
    circuit = Circuit(
        id="C1", title="", panel="P", boxes=tuple(layout["boxes"]), multiwire=layout.get("multiwire", False)
    )
    return synthesize(circuit, devices, controls, feeds, WiringRules(switch_neutral=layout["neutral"]))


@each_layout
def test_every_cable_has_as_many_conductors_as_published(layout: dict[str, Any]) -> None:
    carried = wired(layout).carried
    assert {far: len(nets) for far, nets in carried.items()} == {far: count for _, far, count in cables_of(layout)}


@pytest.mark.parametrize(
    ("layout", "far"),
    [pytest.param(layout, far, id=f"{layout['id']}-{far}") for layout in LAYOUTS for far in layout.get("carries", ())],
)
def test_the_conductors_are_those_that_the_page_tells(layout: dict[str, Any], far: str) -> None:
    assert sorted(wired(layout).carried[far]) == sorted(layout["carries"][far])


@each_layout
def test_an_order_of_its_own_takes_no_more_conductors_than_the_published_one(layout: dict[str, Any]) -> None:
    chosen = wired(layout, in_order=False).carried.values()
    assert sum(len(nets) for nets in chosen) <= sum(count for _, _, count in cables_of(layout))


@each_layout
def test_a_layout_tells_its_source(layout: dict[str, Any]) -> None:
    if "practice" in layout:
        assert layout["practice"] == "common practice, no source"
        assert "sources" not in layout
    else:
        assert all(source["page"] and source["says"] for source in layout["sources"])


def test_layouts_of_two_three_and_four_way_switching_are_published_in_number() -> None:
    """At least ten with a source, of each number of points, and with power at switch, at light and between."""
    sourced = [layout for layout in LAYOUTS if "sources" in layout and "controls" in layout]
    points = Counter(len(layout["controls"][0].split(" > ")[0].split()) for layout in sourced)
    assert points[1] >= 5
    assert points[2] >= 10
    assert points[3] >= 5
    assert len({source["page"] for layout in sourced for source in layout["sources"]}) >= 10

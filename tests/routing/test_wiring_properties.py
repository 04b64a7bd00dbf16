"""Nets over random trees of boxes, with random devices and controls: what must hold whatever stands where."""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations

import networkx as nx
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from barnloom.model.building import Circuit
from barnloom.model.wiring import Control, Device, DeviceKind, WiringRules
from barnloom.routing.wiring.nets import CircuitNets, synthesize

PANEL = "P"

untimed = settings(max_examples=150, deadline=None)


@dataclass(frozen=True)
class Wish:
    """A circuit as a scene would want it."""

    feeds: tuple[tuple[str, str], ...]
    devices: tuple[Device, ...]
    controls: tuple[Control, ...]
    multiwire: bool = False
    switch_neutral: bool = True

    def wired(self) -> CircuitNets:
        boxes = tuple(far for _, far in self.feeds)
        circuit = Circuit(id="C1", title="", panel=PANEL, boxes=boxes, multiwire=self.multiwire)
        rules = WiringRules(switch_neutral=self.switch_neutral)
        return synthesize(circuit, self.devices, self.controls, self.feeds, rules)

    def of(self, control: str, *, switches: bool) -> list[Device]:
        """Switches of a control, or what follows it."""
        return [one for one in self.devices if one.control == control and (one.kind is DeviceKind.SWITCH) == switches]


@st.composite
def wishes(draw: st.DrawFn, *, most_controls: int = 3, most_points: int = 4) -> Wish:
    """A tree of up to eight boxes, devices that are always on, and controls whose points and lights stand anywhere."""
    boxes = [f"b{n}" for n in range(draw(st.integers(1, 8)))]
    feeds = [(PANEL, boxes[0])]  # one cable leaves the panel
    feeds += [(boxes[draw(st.integers(0, n - 1))], box) for n, box in enumerate(boxes) if n]
    multiwire = draw(st.booleans())
    legs = st.integers(1, 2) if multiwire else st.just(1)
    anywhere = st.sampled_from(boxes)
    devices: list[Device] = []
    controls: list[Control] = []
    guarded: set[str] = set()

    def put(box: str, kind: DeviceKind, leg: int, **more: object) -> str:
        name = f"d{len(devices)}"
        devices.append(Device(id=name, box=box, kind=kind, circuit="C1", leg=leg, **more))  # type: ignore[arg-type]
        return name

    steady = [DeviceKind.RECEPTACLE] * 4 + [DeviceKind.LIGHT, DeviceKind.OPENER, DeviceKind.ALARM, DeviceKind.HEATER]
    for box in draw(st.lists(anywhere, max_size=6)):
        kind = draw(st.sampled_from(steady))
        if kind is DeviceKind.HEATER:
            put(box, kind, 1, volts=240, neutral=draw(st.booleans()))
            continue
        protects = kind is DeviceKind.RECEPTACLE and box not in guarded and draw(st.booleans())
        guarded |= {box} if protects else set()
        put(box, kind, draw(legs), ground_fault=protects)
    for number in range(draw(st.integers(0, most_controls))):
        name, leg = f"K{number}", draw(legs)
        points = [put(box, DeviceKind.SWITCH, leg, control=name) for box in draw(_some(anywhere, most_points))]
        lights = []
        for box in draw(_some(anywhere, 3)):
            kind = draw(st.sampled_from([DeviceKind.LIGHT, DeviceKind.RECEPTACLE]))
            half = kind is DeviceKind.RECEPTACLE and draw(st.booleans())
            lights.append(put(box, kind, leg, control=name, half_switched=half))
        in_order = draw(st.booleans())
        controls.append(
            Control(id=name, title="", circuit="C1", points=tuple(points), lights=tuple(lights), in_order=in_order)
        )
    return Wish(tuple(feeds), tuple(devices), tuple(controls), multiwire, draw(st.booleans()))


def _some(one: st.SearchStrategy[str], most: int) -> st.SearchStrategy[list[str]]:
    return st.lists(one, min_size=1, max_size=most)


def conductors(made: CircuitNets) -> dict[str, int]:
    return {far: len(nets) for far, nets in made.carried.items()}


def net_boxes(wish: Wish, orders: Mapping[str, Sequence[str]]) -> dict[str, set[str]]:
    """Boxes that each net must join, from the devices alone: what the tool should have found, worked again."""
    found: dict[str, set[str]] = {}
    where = {device.id: device.box for device in wish.devices}
    feeder = {far: near for near, far in wish.feeds}
    alarms = [device.box for device in wish.devices if device.kind is DeviceKind.ALARM]
    two_lines = wish.multiwire or any(device.volts == 240 for device in wish.devices)

    def join(net: str, *boxes: str) -> None:
        found.setdefault(net, set()).update(boxes)

    def guard(device: Device) -> Device | None:
        box = device.box
        while box != PANEL:
            for one in wish.devices:
                if one.box == box and one.ground_fault and one.leg == device.leg:
                    return one
            box = feeder[box]
        return None

    def line(leg: int) -> str:
        return f"line {leg}" if two_lines else "line"

    for device in wish.devices:
        if device.kind is DeviceKind.SWITCH:
            if wish.switch_neutral:
                join("neutral", PANEL, device.box)
            continue
        if device.volts == 240:
            for net in ("line 1", "line 2", "neutral")[: 3 if device.neutral else 2]:
                join(net, PANEL, device.box)
            continue
        plug = device.kind in (DeviceKind.RECEPTACLE, DeviceKind.OPENER)
        behind = guard(device) if plug and not device.control and not device.ground_fault else None
        if behind is not None:
            join(f"protected line {behind.id}", behind.box, device.box)
            join(f"protected neutral {behind.id}", behind.box, device.box)
            continue
        join("neutral", PANEL, device.box)
        if not device.control or device.half_switched:
            join(line(device.leg), PANEL, device.box)
    for control in wish.controls:
        order = [where[point] for point in orders[control.id]]
        follow = wish.of(control.id, switches=False)
        join(line(follow[0].leg), PANEL, order[0])
        join(f"switched {control.id}", order[-1], *(one.box for one in follow))
        for number, (near, far) in enumerate(pairwise(order), 1):
            for letter in "ab":
                join(f"traveler {control.id} {number}{letter}", near, far)
    if len(alarms) > 1:
        join("interconnect", *alarms)
    for box in tails(wish):
        for net in ("line 1", "line 2") if two_lines else ("line",):
            join(net, PANEL, box)
        if not two_lines or "neutral" in found:
            join("neutral", PANEL, box)
    return found


def tails(wish: Wish) -> set[str]:
    """Boxes without a device that feed none either: the place of something to come, with what the circuit has."""
    tree = nx.DiGraph(wish.feeds)
    held = {device.box for device in wish.devices}
    return {box for _, box in wish.feeds if held.isdisjoint({box, *nx.descendants(tree, box)})}


def smallest_subtree(tree: nx.Graph, boxes: Iterable[str]) -> set[frozenset[str]]:
    """Cables of the smallest subtree that holds these boxes: on a tree, the ways from one of them to all others."""
    first, *others = sorted(boxes)
    return {frozenset(pair) for other in others for pair in pairwise(nx.shortest_path(tree, first, other))}


@untimed
@given(wishes())
def test_each_net_is_in_the_cables_of_the_smallest_subtree_that_holds_its_terminals(wish: Wish) -> None:
    """No conductor too many, and none too few: worked again from the devices, with the ways that networkx finds."""
    made = wish.wired()
    tree = nx.Graph(wish.feeds)
    wanted: dict[str, set[str]] = {far: set() for _, far in wish.feeds}
    for net, boxes in net_boxes(wish, made.orders).items():
        cables = smallest_subtree(tree, boxes)
        for near, far in wish.feeds:
            if frozenset((near, far)) in cables:
                wanted[far].add(net)
    assert {far: set(nets) for far, nets in made.carried.items()} == wanted
    assert all(len(set(nets)) == len(nets) for nets in made.carried.values())


@untimed
@given(wishes())
def test_terminals_of_each_net_are_joined_through_the_cables_that_carry_it(wish: Wish) -> None:
    """By the nets' own terminals: those of one net are connected, and each terminal is in one net only."""
    made = wish.wired()
    feeder = {far: near for near, far in wish.feeds}
    seen: set[tuple[str, str, str]] = set()
    for net in made.nets.values():
        graph = nx.Graph((feeder[far], far) for far, nets in made.carried.items() if net.name in nets)
        graph.add_nodes_from(terminal.box for terminal in net.terminals)
        assert nx.is_connected(graph)
        terminals = [(one.box, one.device, one.name) for one in net.terminals]
        assert seen.isdisjoint(terminals)
        seen.update(terminals)


@untimed
@given(wishes(), st.data())
def test_removing_a_switch_leaves_every_other_light_as_it_was(wish: Wish, data: st.DataObject) -> None:
    """Its lights are always on then; the switched lines and travelers of the others stay in the cables they were in."""
    assume(wish.controls)
    gone = data.draw(st.sampled_from(wish.controls))
    others = tuple(dataclasses.replace(one, in_order=True) for one in wish.controls if one != gone)
    freed = [
        dataclasses.replace(device, control="", half_switched=False) if device.control == gone.id else device
        for device in wish.devices
        if device.id not in gone.points
    ]
    before = dataclasses.replace(wish, controls=(*others, gone)).wired()
    after = dataclasses.replace(wish, controls=others, devices=tuple(freed)).wired()
    mine = {f"{what} {one.id}" for one in others for what in ("switched", "traveler")}

    def kept(made: CircuitNets) -> dict[str, set[str]]:
        return {far: {net for net in nets if net.startswith(tuple(mine))} for far, nets in made.carried.items()}

    assert kept(after) == kept(before)
    for one in others:
        net = f"switched {one.id}"
        assert set(after.nets[net].terminals) == set(before.nets[net].terminals)
        for light in one.lights:
            assert _feeds_of(after, light) == _feeds_of(before, light)


def _feeds_of(made: CircuitNets, device: str) -> set[tuple[str, str]]:
    """Nets on the terminals of a device."""
    return {(net.name, one.name) for net in made.nets.values() for one in net.terminals if one.device == device}


@untimed
@given(wishes(), st.randoms(use_true_random=False))
def test_another_naming_and_another_order_of_writing_change_no_conductor(wish: Wish, dice: random.Random) -> None:
    """A mirrored building has its boxes elsewhere and in another order, and the same cables between them."""
    boxes = [far for _, far in wish.feeds]
    new = {PANEL: PANEL, **{old: f"z{name}" for old, name in zip(boxes, dice.sample(boxes, len(boxes)), strict=True)}}
    devices = [dataclasses.replace(device, box=new[device.box]) for device in wish.devices]
    dice.shuffle(devices)
    feeds: list[tuple[str, str]] = []
    left = list(wish.feeds)
    while left:  # what feeds a box stays before what the box feeds
        near, far = left.pop(
            dice.choice([n for n, feed in enumerate(left) if feed[0] not in {pair[1] for pair in left}])
        )
        feeds.append((new[near], new[far]))
    mirrored = dataclasses.replace(wish, feeds=tuple(feeds), devices=tuple(devices)).wired()
    assert conductors(mirrored) == {new[far]: count for far, count in conductors(wish.wired()).items()}


@untimed
@given(wishes(most_controls=0))
def test_without_switches_every_cable_carries_line_and_neutral_alone(wish: Wish) -> None:
    """Alarms, ground-fault devices and a second line put aside; also to a box that waits for something to come."""
    plain = [
        dataclasses.replace(device, kind=DeviceKind.LIGHT, ground_fault=False, leg=1, volts=120, neutral=True)
        for device in wish.devices
    ]
    made = dataclasses.replace(wish, devices=tuple(plain), multiwire=False).wired()
    assert all(sorted(nets) == ["line", "neutral"] for nets in made.carried.values())
    assert set(made.carried) == {far for _, far in wish.feeds}


@untimed
@given(wishes(most_controls=1, most_points=4))
def test_the_order_of_one_control_is_the_cheapest_of_all(wish: Wish) -> None:
    """Against every order of its points, each pinned."""
    assume(wish.controls)
    (control,) = wish.controls
    free = dataclasses.replace(wish, controls=(dataclasses.replace(control, in_order=False),)).wired()
    pinned = []
    for points in permutations(control.points):
        one = dataclasses.replace(control, points=points, in_order=True)
        pinned.append(sum(conductors(dataclasses.replace(wish, controls=(one,)).wired()).values()))
    assert sum(conductors(free).values()) == min(pinned)


@untimed
@given(wishes())
def test_a_neutral_at_every_switch_takes_away_no_conductor_of_a_pinned_order(wish: Wish) -> None:
    """It adds at most the neutral to a cable, and then every switch has one."""
    controls = tuple(dataclasses.replace(one, in_order=True) for one in wish.controls)
    without = dataclasses.replace(wish, controls=controls, switch_neutral=False).wired()
    with_it = dataclasses.replace(wish, controls=controls, switch_neutral=True).wired()
    for far, nets in with_it.carried.items():
        assert set(nets) - set(without.carried[far]) <= {"neutral"}
        assert set(without.carried[far]) <= set(nets)
    ways = nx.DiGraph(wish.feeds)
    for control in controls:
        for switch in wish.of(control.id, switches=True):
            way = nx.shortest_path(ways, PANEL, switch.box)
            assert all("neutral" in with_it.carried[box] for box in way[1:])

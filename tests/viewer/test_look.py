"""Pictures that explain: which there are, what is asked for by ids, and whether each of them can be read."""

from __future__ import annotations

import os
import re
from dataclasses import replace
from functools import cache
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from picture_sample import sample_plan

from barnloom.model import read_building
from barnloom.model.building import Circuit
from barnloom.model.errors import InputError
from barnloom.routing import Plan, plan_building
from barnloom.viewer import pictures
from barnloom.viewer.drawing import Drawing, Polygon, Text
from barnloom.viewer.isometric import isometric
from barnloom.viewer.layout import CAUTION_PX, layout
from barnloom.viewer.lettering import width_in
from barnloom.viewer.look import Look, look_at, look_words, looks_from_json, looks_to_json, standard_looks
from barnloom.viewer.pictures import picture_set
from barnloom.viewer.svg import to_svg

SCENES = Path(__file__).parents[2] / "scenes"
NAMES = ("cider-mill", "garden-studio", "sail-loft", "sheep-shed")
CEILINGS = {
    "cider-mill": {"EAST", "WEST"},
    "garden-studio": set(),
    "sail-loft": {"DECK", "ROOF-B"},
    "sheep-shed": {"TRUSSES"},
}
"""Read off the scenes: what cable is in, or on boards and beams close under."""


@cache
def planned(name: str) -> Plan:
    return plan_building(read_building(SCENES / f"{name}.yaml"), effort="quick")


def texts(drawing: Drawing, layer: str) -> list[str]:
    return [item.text for item in drawing.items if isinstance(item, Text) and item.layer == layer]


def in_use(plan: Plan) -> set[str]:
    """Walls, floors, slopes and timbers that hold a box or a leg of cable."""
    of_member = {member.id: member.assembly for member in plan.building.members}
    of_bore = {bore.id: of_member[bore.member] for bore in plan.bores}
    hosts = {box.host for box in plan.building.boxes}
    for cable in plan.cables:
        for first, *rest in (track.split(" ") for track in cable.tracks):
            hosts.add(of_bore[rest[0]] if first == "bore" else first)
    return {of_member.get(host, host) for host in hosts}


@pytest.mark.parametrize("name", NAMES)
def test_there_is_a_picture_of_everything_that_holds_cable_and_of_nothing_else(name):
    plan = planned(name)
    names = set(standard_looks(plan))
    assert {n.removeprefix("circuit-") for n in names if n.startswith("circuit-")} == {
        circuit for cable in plan.cables for circuit in cable.circuit.split()
    }
    walls = {a.id for a in plan.building.assemblies if a.kind == "wall"}
    assert {n.removeprefix("wall-") for n in names if n.startswith("wall-")} == walls & in_use(plan)
    assert {n.removeprefix("below-") for n in names if n.startswith("below-")} == CEILINGS[name]
    storeys = {n.removeprefix("storey-") for n in names if n.startswith("storey-")}
    assert storeys == ({"SHOP", "LOFT"} if name == "sail-loft" else set())
    assert ("cut-away" in names, "cut-away-from-behind" in names) == (name == "sail-loft",) * 2
    assert "whole" in names


@pytest.mark.parametrize(("name", "look"), [(n, look) for n in NAMES for look in standard_looks(planned(n))])
def test_every_picture_can_be_read(name, look):
    plan = planned(name)
    drawing = isometric(plan, standard_looks(plan)[look])
    bounds = drawing.bounds
    px = layout(plan, standard_looks(plan)[look]).px
    plates = [
        (*np.min(item.points, axis=0), *np.max(item.points, axis=0))
        for item in drawing.items
        if isinstance(item, Polygon) and item.layer == "labels"
    ]
    assert plates
    for a, b in combinations(plates, 2):
        assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
    for left, bottom, right, top in plates:
        assert left >= bounds.left
        assert right <= bounds.right
        assert bottom >= bounds.bottom + CAUTION_PX * px
        assert top <= bounds.top
    for item in drawing.items:
        if isinstance(item, Text) and item.layer in {"title", "legend", "caution"}:
            assert item.at[0] + width_in(item.text, item.height_in, bold=item.bold) <= bounds.right, item.text
        if isinstance(item, Text) and item.layer == "legend":
            assert item.at[1] > bounds.bottom + CAUTION_PX * px, item.text
    assert not [text for text in texts(drawing, "legend") if text.startswith("No room")]
    assert "Dead before touching" in " ".join(texts(drawing, "caution"))


def test_every_box_of_a_part_is_named_and_no_other():
    plan = planned("sail-loft")
    boxes = {box.id for box in plan.building.boxes}
    for look in (Look(storeys=("LOFT",)), look_at(plan, wall="NORTH"), look_at(plan, circuits=["BENCH"])):
        drawing = isometric(plan, look)
        drawn = layout(plan, look)
        shown = {box.id for box in drawn.plan.building.boxes} - drawn.quiet_boxes
        circuits = {circuit.id for circuit in plan.building.circuits}
        assert boxes & set(texts(drawing, "labels")) - circuits == shown - circuits


def test_a_legend_holds_whatever_is_missing():
    plan = planned("cider-mill")
    lost = tuple(
        replace(plan.building.boxes[1], id=f"a-box-without-a-route-and-a-long-name-{i:02d}") for i in range(60)
    )
    many = replace(plan, unreached=tuple(box.id for box in lost))
    many = replace(many, building=replace(plan.building, boxes=(*plan.building.boxes, *lost)))
    for look in standard_looks(many).values():
        drawing = isometric(many, look)
        low = min(item.at[1] for item in drawing.items if isinstance(item, Text) and item.layer == "legend")
        assert low > drawing.bounds.bottom + CAUTION_PX * layout(many, look).px
    assert "and 57 more" in " ".join(texts(isometric(many), "legend"))


def test_only_boxes_of_the_picture_are_told_to_be_without_a_route():
    plan = replace(planned("sail-loft"), unreached=("N4", "L2"))

    def told(look: Look) -> str:
        return " ".join(texts(isometric(plan, look), "legend"))

    assert "Boxes without a route: N4, L2" in told(Look())
    assert "Boxes without a route: L2" in told(Look(storeys=("LOFT",)))
    assert "Boxes without a route" not in told(look_at(plan, wall="WEST"))
    assert "Boxes without a route" not in told(look_at(plan, circuits=["BENCH"]))


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"storey": "LOTF"}, "storey 'LOTF'.*one of LOFT, SHOP.*did you mean LOFT"),
        ({"circuits": ["lights"]}, "circuit 'lights'.*did you mean LIGHTS"),
        ({"circuits": ["LIGHTS", "BENCH-2"]}, "circuit 'BENCH-2'.*did you mean BENCH"),
        ({"below": "NORTH"}, "floor or roof slope 'NORTH'.*one of DECK, ROOF-A, ROOF-B"),
        ({"wall": "DECK"}, "wall 'DECK'.*one of EAST, GABLE-E"),
        ({"wall": "x\x1b[31m" + "y" * 90}, r"wall 'x \[31my{1,40}'"),
        ({"below": "DECK", "wall": "NORTH"}, "a ceiling from below together with a wall.*by themselves"),
        ({"wall": "NORTH", "cut_away": True}, "a wall together with a cut"),
        ({"below": "DECK", "storey": "SHOP"}, "a ceiling from below together with a storey"),
    ],
)
def test_what_is_not_there_is_said_with_what_is(asked, words):
    with pytest.raises(InputError, match=words):
        look_at(planned("sail-loft"), **asked)


def test_asked_for_by_ids():
    plan = planned("sail-loft")
    assert look_at(plan) == Look()
    assert look_at(plan, storey="LOFT", circuits=["BENCH", "BENCH"]) == Look(storeys=("LOFT",), circuits=("BENCH",))
    assert look_at(plan, below="DECK").view.elevation_deg < 0
    assert look_at(plan, cut_away=True).without == ("EAST", "GABLE-E", "KNEE-S", "SOUTH")
    assert look_words(plan, look_at(plan, below="DECK")).startswith("Wiring plan: ceiling DECK, seen from")
    assert look_words(plan, look_at(plan, below="DECK")).endswith("from below")
    assert "without walls EAST, GABLE-E, KNEE-S and SOUTH" in look_words(plan, look_at(plan, cut_away=True))


def test_a_wall_is_seen_from_its_room():
    plan = planned("sail-loft")
    places = np.array([corner for a in plan.building.assemblies for corner in [a.origin]])
    middle = (places.min(axis=0) + places.max(axis=0))[:2] / 2
    for wall in (a for a in plan.building.assemblies if a.kind == "wall"):
        toward = look_at(plan, wall=wall.id).view.axes[2][:2]
        centre = np.array(wall.origin)[:2] + np.mean(wall.extent_u) * np.array(wall.u)[:2]
        assert toward @ (middle - centre) > 0, wall.id


def test_the_same_look_gives_the_same_bytes_and_looks_survive_their_file():
    plan = planned("sail-loft")
    looks = dict(standard_looks(plan))
    assert looks_from_json(looks_to_json(looks)) == looks
    assert looks_to_json(standard_looks(plan)) == looks_to_json(looks)
    for look in looks.values():
        assert to_svg(isometric(plan, look), width_mm=200) == to_svg(isometric(plan, look), width_mm=200)


def test_plans_with_little_in_them_are_drawn():
    plan = planned("garden-studio")
    building = plan.building
    unwired = replace(plan, cables=(), bores=(), building=replace(building, circuits=()))
    unboxed = replace(unwired, building=replace(building, circuits=(), boxes=()))
    bare = replace(unboxed, building=replace(building, circuits=(), boxes=(), members=(), assemblies=()))
    assert set(standard_looks(unwired)) == {"whole", "wall-NORTH", "wall-WEST"}
    assert set(standard_looks(unboxed)) == set(standard_looks(bare)) == {"whole"}
    everything = Look(storeys=("GROUND",), assemblies=("NORTH",), without=("WEST",), circuits=("A",))
    for each in (unwired, unboxed, plan):
        for look in (*standard_looks(each).values(), everything):
            assert isometric(each, look).items


@pytest.fixture
def no_gl(monkeypatch):
    monkeypatch.setattr(pictures, "_environments", lambda: [])


def test_file_names_stay_in_their_folder_and_differ_in_any_case(no_gl):
    plan = sample_plan()
    names = ["../up", "a/b", "a\\b", "..", "CON", "Lamp", "lamp", "LAMP", "x" * 300, "x" * 300 + "y", "ɟ:*?"]
    circuits = tuple(Circuit(id=n, title="", panel="PANEL", cable="12/2", boxes=()) for n in names)
    cables = tuple(replace(plan.cables[0], id=f"c{i}", circuit=n, tracks=("W",)) for i, n in enumerate(names))
    cables = tuple(replace(cable, points=cable.points[:2]) for cable in cables)
    plan = replace(plan, cables=cables, bores=(), building=replace(plan.building, circuits=circuits))
    files = [name for name in picture_set(plan)[0] if name.startswith("circuit")]
    assert len({name.casefold() for name in files}) == len(names)
    for name in files:
        assert re.fullmatch(r"circuit-[A-Za-z0-9._-]{1,90}\.png", name)


def test_one_picture_that_fails_costs_only_itself(monkeypatch):
    monkeypatch.setattr(pictures, "_environments", lambda: [dict(os.environ)])
    stub = 'printf lit > "$2/whole.png"; printf lit > "$2/wall-WEST.png"; kill -SEGV $$'
    drawn, (line,) = picture_set(planned("garden-studio"), render=("sh", "-c", stub))
    assert set(drawn) == {"whole.png", "circuit-A.png", "wall-NORTH.png", "wall-WEST.png"}
    assert [name for name, png in drawn.items() if png == b"lit"] == ["whole.png", "wall-WEST.png"]
    assert "2 of 4 pictures are line drawings" in line
    assert "signal 11" in line

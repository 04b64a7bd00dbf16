"""Plans, elevations, members and drill sticks: to scale, readable, and the same as the plan's own numbers."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from read_drawing import box, painted, reading_faults

from barnloom.model import read_building
from barnloom.model.lengths import format_length, read_length
from barnloom.routing import Plan, plan_building
from barnloom.viewer.drawing import Circle, Dimension, Line, Polygon, Symbol, Text
from barnloom.viewer.drawings.elevations import elevation, face_size, in_use
from barnloom.viewer.drawings.faces import Face, faces
from barnloom.viewer.drawings.members import (
    bored_alike,
    hole_figures,
    member_face,
    member_size,
    stick_drawing,
    sticks,
)
from barnloom.viewer.drawings.paper import Paper
from barnloom.viewer.drawings.plans import plan_size, storey_plan, symbol_names
from barnloom.viewer.drawings.tags import spread
from barnloom.viewer.totals import to_bore

SCENES = Path(__file__).parents[3] / "scenes"
NAMES = ("cider-mill", "garden-studio", "sheep-shed")
SCALES = (24, 48, 96)


@cache
def planned(name: str) -> Plan:
    return plan_building(read_building(SCENES / f"{name}.yaml"), effort="quick")


def all_faces() -> list[tuple[str, str]]:
    return [(name, face.id) for name in NAMES for face in faces(read_building(SCENES / f"{name}.yaml"))]


def face_of(name: str, face: str) -> Face:
    return next(one for one in faces(planned(name).building) if one.id == face)


@pytest.mark.parametrize(("name", "face"), all_faces())
@pytest.mark.parametrize("scale", SCALES)
def test_an_elevation_is_readable_at_every_scale(name: str, face: str, scale: int) -> None:
    # No text over text, none over a hole, none off the sheet (issue and needs of those who read it)
    paper = Paper(scale=scale)
    drawing, left_out = elevation(planned(name), face_of(name, face), paper)
    assert reading_faults(drawing) == []
    width, height = face_size(face_of(name, face), paper)
    assert drawing.bounds.width_in <= width + 1e-6
    assert drawing.bounds.height_in <= height + 1e-6
    assert len(left_out) <= (0 if scale < 96 else 4), left_out


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("scale", SCALES)
def test_a_plan_is_readable_at_every_scale(name: str, scale: int) -> None:
    plan, paper = planned(name), Paper(scale=scale)
    for storey in plan.building.storeys:
        drawing, _ = storey_plan(plan, storey.id, paper)
        assert reading_faults(drawing) == []
        width, height = plan_size(plan.building, storey.id, paper)
        assert drawing.bounds.width_in <= width + 1e-6
        assert drawing.bounds.height_in <= height + 1e-6


@pytest.mark.parametrize("name", NAMES)
def test_every_new_hole_and_every_box_is_on_a_face_at_its_place(name: str) -> None:
    plan, paper = planned(name), Paper(scale=24)
    marks: list[np.ndarray] = []
    boxes: set[str] = set()
    for face in faces(plan.building):
        drawing, _ = elevation(plan, face, paper)
        drawn = [box(item) for item in painted(drawing) if item.layer == "holes" and isinstance(item, Polygon | Circle)]
        bores = [bore for bore in plan.bores if bore.member in face.hosts]
        assert len(drawn) == len(bores)
        marks += drawn
        members = {member.id: member for member in plan.building.members}
        for bore in bores:
            member = members[bore.member]
            axes = (member.along, bore.along_in), (member.bit, member.thickness_in / 2), (member.across, bore.across_in)
            place = np.array(member.origin) + sum(np.array(axis) * far for axis, far in axes)
            x, y = face.plane(place[None])[0]
            assert any(left <= x <= right and low <= y <= high for left, low, right, high in drawn), bore.id
        for one in face.boxes:
            boxes.add(one.id)
            assert any(isinstance(item, Text) and item.text.split()[0] == one.id for item in drawing.items), one.id
    assert boxes == {one.id for one in plan.building.boxes}
    assert len(marks) == len(plan.bores)


@pytest.mark.parametrize("name", NAMES)
def test_figures_at_rows_count_every_hole_that_lies_along_its_member_in_the_drawing(name: str) -> None:
    # Running dimensions: each hole's figure is how far it is along its member, as the lists print it
    plan = planned(name)
    for face in faces(plan.building):
        drawing, left_out = elevation(plan, face, Paper(scale=24))
        assert not left_out
        members = {member.id: member for member in face.members}
        expected: dict[str, int] = {}
        for bore in plan.bores:
            if bore.member in face.hosts:
                along = np.array(members[bore.member].along)
                if np.hypot(along @ np.array(face.right), along @ np.array(face.up)) > 0.999:
                    words = format_length(bore.along_in, metric=plan.building.metric)
                    expected[words] = expected.get(words, 0) + 1
        found: dict[str, int] = {}
        for item in drawing.items:
            if isinstance(item, Text) and item.layer == "dimensions":
                words, _, many = item.text.partition(" ×")
                found[words] = found.get(words, 0) + int(many or 1)
        assert found == expected, face.id


@pytest.mark.parametrize("name", NAMES)
def test_overall_dimensions_are_those_of_what_stands_there(name: str) -> None:
    plan = planned(name)
    for face in faces(plan.building):
        drawing, _ = elevation(plan, face, Paper(scale=48))
        for item in drawing.items:
            if isinstance(item, Dimension):
                long = float(np.hypot(item.end[0] - item.start[0], item.end[1] - item.start[1]))
                assert read_length(item.text) == pytest.approx(long, abs=0.04)


def test_a_wall_is_seen_from_its_room_and_a_ceiling_from_below() -> None:
    # Facing the south wall from inside, east is on the left; lying under a ceiling with the head to the north, too
    # (geometry). The studio's walls run against the clock with their room on the left.
    found = {face.id: face for name in NAMES for face in faces(planned(name).building) if face.assembly is not None}
    for face in found.values():
        towards = np.cross(face.up, face.right)
        inward = np.array(face.assembly.w)
        assert towards @ inward == pytest.approx(-1.0 if face.assembly.kind == "wall" else 1.0), face.id


@pytest.mark.parametrize("name", NAMES)
def test_each_device_has_its_symbol_on_the_plan(name: str) -> None:
    plan = planned(name)
    for storey in plan.building.storeys:
        drawing, _ = storey_plan(plan, storey.id, Paper(scale=48))
        symbols = [item.name for item in drawing.items if isinstance(item, Symbol)]
        expected = [s for one in plan.building.boxes if one.storey == storey.id for s in symbol_names(plan, one)]
        assert sorted(symbols) == sorted(expected)


def test_an_empty_face_is_not_in_use() -> None:
    plan = planned("cider-mill")
    used = {face.id for face in faces(plan.building) if in_use(plan, face)}
    hosts = {one.host for one in plan.building.boxes} | {bore.member for bore in plan.bores}
    for face in faces(plan.building):
        assert (face.id in used) or not (hosts & face.hosts)


# --- members and sticks ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("scale", [12, 24, 48])
def test_members_are_drawn_true_with_every_hole(name: str, scale: int) -> None:
    plan, paper = planned(name), Paper(scale=scale)
    metric = plan.building.metric
    count = 0
    for bored in bored_alike(plan):
        drawing = member_face(bored, paper, metric=metric)
        assert reading_faults(drawing) == []
        circles = {(item.centre, round(2 * item.radius_in, 6)) for item in drawing.items if isinstance(item, Circle)}
        assert circles == {((b.along_in, b.across_in), round(b.diameter_in, 6)) for b in bored.bores}
        assert drawing.bounds.height_in <= member_size(bored, paper, metric=metric)[1] + 1e-6
        words = "; ".join(hole_figures(bored, metric=metric))
        for bore in bored.bores:
            assert f"aim {format_length(bore.across_in, metric=metric, feet=False)}" in words
        count += len(bored.bores) * len(bored.members)
    assert count == len(plan.bores)


@pytest.mark.parametrize("name", NAMES)
def test_a_stick_shows_aim_and_band_at_full_size(name: str) -> None:
    plan = planned(name)
    found = sticks(plan)
    assert sum(stick.holes for stick in found) == len(to_bore(plan))
    for stick in found:
        drawing = stick_drawing(stick, metric=plan.building.metric)
        assert reading_faults(drawing) == []
        (aim,) = [item for item in drawing.items if item.layer == "aim"]
        assert isinstance(aim, Line)
        assert aim.start[1] == aim.end[1] == stick.aim_in
        bands = [item for item in drawing.items if item.layer == "allowed bands" and isinstance(item, Polygon)]
        for band in bands:
            assert (box(band)[1], box(band)[3]) == (stick.low_in, stick.high_in)
        assert stick.low_in - 1e-9 <= stick.aim_in <= stick.high_in + 1e-9


def test_places_are_spread_as_little_as_can_be() -> None:
    # Against scipy's least squares under the same order and distances
    from scipy.optimize import minimize

    wanted, apart = [0.0, 0.2, 0.3, 2.0, 2.1, 9.0], 0.5
    found = spread(wanted, apart)
    assert all(b - a >= apart - 1e-9 for a, b in zip(found, found[1:], strict=False))
    rules = [{"type": "ineq", "fun": lambda x, n=n: x[n + 1] - x[n] - apart} for n in range(len(wanted) - 1)]
    start = [n * apart for n in range(len(wanted))]
    best = minimize(lambda x: ((x - np.array(wanted)) ** 2).sum(), start, constraints=rules, method="SLSQP")
    assert found == pytest.approx(best.x, abs=1e-3)

"""A plan that follows its building: whole and sound after every change, and no dearer than one made from scratch."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from barnloom.model import read_building
from barnloom.model.building import Box, Building, Right
from barnloom.model.errors import SceneError
from barnloom.routing import edit
from barnloom.routing.check import check
from barnloom.routing.edit import Draft
from barnloom.routing.plan import Plan
from barnloom.routing.planner import plan_building

SCENES = Path(__file__).parents[2] / "scenes"
DRIFT = 1.01
"""A plan that was edited is at most this many times as dear as a fresh one (the aim of the search for edits)."""


def moved(building: Building, name: str, up_in: float) -> Building:
    """The building with a box of a wall higher or lower."""
    box = next(box for box in building.boxes if box.id == name)
    host = next(assembly for assembly in building.assemblies if assembly.id == box.host)
    at = tuple(float(x) for x in np.array(box.at) + up_in * np.array(host.v))
    other = replace(box, v_in=box.v_in + up_in, at=(at[0], at[1], at[2]))
    return replace(building, boxes=tuple(other if one.id == name else one for one in building.boxes))


def in_walls(building: Building) -> list[Box]:
    walls = {assembly.id for assembly in building.assemblies if assembly.kind == "wall"}
    return [box for box in building.boxes if box.kind == "box" and box.host in walls and not box.side]


def sound(plan: Plan) -> bool:
    return plan.unreached == () and not [one for one in check(plan) if one.severity == "fault"]


@pytest.fixture(scope="module")
def mill() -> Building:
    return read_building(SCENES / "cider-mill.yaml")


@pytest.fixture(scope="module")
def draft_of_the_mill(mill: Building) -> Draft:
    return Draft(mill)


def test_after_many_moves_the_plan_is_sound_and_no_dearer_than_a_fresh_one(
    draft_of_the_mill: Draft, monkeypatch: pytest.MonkeyPatch
) -> None:
    followed = []
    follow = edit._followed

    def counted(*given: object) -> object:
        found = follow(*given)  # type: ignore[arg-type]
        followed.append(found is not None)
        return found

    monkeypatch.setattr(edit, "_followed", counted)
    dice = random.Random(3)
    draft = draft_of_the_mill
    for _ in range(12):
        box = dice.choice(in_walls(draft.building))
        draft.change(moved(draft.building, box.id, dice.choice([-3.0, -1.5, 1.5, 3.0])))
        assert sound(draft.plan)
    assert sum(followed) >= 10, "most changes are followed, not planned from scratch"
    assert draft.plan.cost <= plan_building(draft.building, effort="quick").cost * DRIFT


def test_what_a_move_does_not_touch_lies_as_it_lay(mill: Building) -> None:
    draft = Draft(mill)
    before = {cable.id: cable.points for cable in draft.plan.cables}
    box = in_walls(mill)[0]
    after = {cable.id: cable.points for cable in draft.change(moved(mill, box.id, 2.0)).cables}
    assert set(after) == set(before)
    same = [name for name, points in after.items() if points == before[name]]
    assert len(same) >= len(after) - 4  # its own cables, and perhaps one that shared a hole


def test_a_move_and_back_is_the_same_plan(mill: Building) -> None:
    draft = Draft(mill)
    cost = draft.plan.cost
    box = in_walls(mill)[1]
    draft.change(moved(mill, box.id, 3.0))
    assert draft.change(mill).cost <= cost + 1e-6


def test_a_box_taken_out_and_put_back_is_fed_again(mill: Building) -> None:
    draft = Draft(mill)
    box = next(
        box for box in in_walls(mill) if any(device.box == box.id for device in mill.devices) and not box.fed_from
    )
    controls = {device.control for device in mill.devices if device.box == box.id} - {""}
    box = (
        next(
            one
            for one in in_walls(mill)
            if {device.control for device in mill.devices if device.box == one.id} == {""} and not one.fed_from
        )
        if controls
        else box
    )
    gone = replace(
        mill,
        boxes=tuple(one for one in mill.boxes if one.id != box.id),
        devices=tuple(device for device in mill.devices if device.box != box.id),
        circuits=tuple(replace(c, boxes=tuple(b for b in c.boxes if b != box.id)) for c in mill.circuits),
        cable_rules=tuple(rule for rule in mill.cable_rules if not rule.cable.endswith(f".{box.id}")),
    )
    without = draft.change(gone)
    assert sound(without)
    assert all(box.id not in (cable.from_box, cable.to_box) for cable in without.cables)
    again = draft.change(mill)
    assert sound(again)
    assert any(cable.to_box == box.id for cable in again.cables)


def test_a_member_that_is_barred_is_bored_no_more() -> None:
    building = read_building(SCENES / "garden-studio.yaml")
    draft = Draft(building)
    bored = draft.plan.bores[0].member
    barred = replace(
        building, members=tuple(replace(m, bore=Right.NEVER) if m.id == bored else m for m in building.members)
    )
    plan = draft.change(barred)
    assert all(bore.member != bored for bore in plan.bores)
    assert not [finding for finding in check(plan) if finding.severity == "fault"]
    assert {why.box for why in plan.unreached_why} == set(plan.unreached), "what the stud closed off is told"


def test_a_change_that_cannot_be_leaves_the_draft_as_it_was(mill: Building) -> None:
    draft = Draft(mill)
    plan = draft.plan
    thin = replace(mill, circuits=tuple(replace(circuit, breaker_a=100.0, awg=14) for circuit in mill.circuits))
    with pytest.raises(SceneError):
        draft.change(thin)
    assert draft.plan is plan
    assert draft.building == mill

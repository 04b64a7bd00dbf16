"""The boat shed with other tools and prices, and timber that may not be bored: what can be planned is planned."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from small_scenes import with_limit

import barnloom.routing.bound
from barnloom.model import read_building
from barnloom.model.building import Building, Right
from barnloom.model.errors import SceneError
from barnloom.model.limits import Limits
from barnloom.routing.check import check
from barnloom.routing.plan import Plan
from barnloom.routing.planner import plan_building
from barnloom.routing.whatif import plan_what_if, what_if_named

SCENES = Path(__file__).parents[2] / "scenes"
SHED, STUDIO = (read_building(SCENES / f"{name}.yaml") for name in ("sail-loft", "garden-studio"))
AROUND_THE_LANTERN = (
    *("DECK-J28-2", "EAST-S4", "EAST-TP1", "KNEE-N-S22", "KNEE-N-S27a", "ROOF-A-R6", "SOUTH-H1", "SOUTH-K6"),
)
"""Among them the timber through which alone a cable comes to it."""


def with_bits(building: Building, *bits_in: float) -> Building:
    return replace(building, tools=replace(building.tools, bits_in=bits_in))


def barred(building: Building, *members: str) -> Building:
    assert set(members) <= {member.id for member in building.members}
    return replace(
        building,
        members=tuple(
            replace(member, bore=Right.NEVER) if member.id in members else member for member in building.members
        ),
    )


def straight_down(building: Building) -> Building:
    return with_limit(building, "cable.fan", 0.0)


def fanning(plan: Plan, most_in: float) -> Plan:
    return replace(plan, building=with_limit(plan.building, "cable.fan", most_in))


def fans(plan: Plan) -> list[float]:
    """How far from the nearest box of its wall each cable gets that goes aside in sight and in reach."""
    walls = {part.id: part for part in plan.building.assemblies if part.kind == "wall" and part.lining == "none"}
    floors = {storey.id: storey.floor_in for storey in plan.building.storeys}
    found = []
    for cable in plan.cables:
        for a, b, track in zip(cable.points[:-1], cable.points[1:], cable.tracks, strict=True):
            wall = walls.get(track)
            if wall is None or max(a[2], b[2]) >= floors[wall.storey] + plan.building.exposed_below_in - 1e-6:
                continue
            ends = [float(np.dot(np.subtract(end, wall.origin), wall.u)) for end in (a, b)]
            if abs(ends[0] - ends[1]) > 1e-6:
                columns = [box.u_in for box in plan.building.boxes if box.host == wall.id and not box.side]
                found.append(min(max(abs(end - column) for end in ends) for column in columns))
    return found


def sound(plan: Plan) -> bool:
    return not [finding for finding in check(plan) if finding.severity == "fault"]


def feeder(plan: Plan, box: str) -> set[str]:
    return {cable.from_box for cable in plan.cables if cable.to_box == box}


def test_a_tree_drawn_in_rows_is_turned_until_what_the_scene_pins_is_kept() -> None:
    plan = plan_what_if(SHED, what_if_named("fewest-holes"))
    assert plan.unreached == ()
    assert sound(plan)
    assert feeder(plan, "SW5") == {"SW4"}  # fed_from, in the scene


def test_a_tree_that_no_one_exchange_brings_to_a_pin_is_turned_about_and_keeps_it() -> None:
    plan = plan_building(barred(SHED, "DECK-J27-2", "NORTH-S21", "SOUTH-K6"), effort="quick")
    assert sound(plan)
    assert feeder(plan, "SW5") == {"SW4"}


def test_another_feed_is_one_whose_conductors_are_sold_with_all_that_hangs_on_it() -> None:
    plan = plan_building(with_bits(straight_down(SHED), 0.75), effort="quick")
    assert len(plan.unreached) <= 1
    assert sound(plan)


def test_cables_fan_out_from_a_box_where_they_may_only_go_up_and_down() -> None:
    # Straight under a box there is room for one hole in the plate; with bits this small it does not hold all cables.
    tight = with_bits(SHED, 0.75)
    plan = plan_building(tight, effort="quick")
    assert plan.unreached == ()
    assert sound(plan)
    aside = max(fans(plan))
    assert 0 < aside <= Limits(tight.limits)["cable.fan"]
    assert sound(fanning(plan, aside))
    assert {f.code for f in check(fanning(plan, aside - 1e-3)) if f.severity == "fault"} == {"run.exposed"}
    closer = plan_building(with_limit(tight, "cable.fan", aside - 1e-3), effort="quick")
    assert max(fans(closer), default=0.0) < aside


def test_cables_go_aside_beside_a_box_alone() -> None:
    plan = plan_building(with_bits(SHED, 0.75), effort="quick")
    bare = replace(plan, building=replace(plan.building, boxes=tuple(replace(b, rise_in=0.0) for b in SHED.boxes)))
    assert "run.exposed" in {f.code for f in check(bare) if f.severity == "fault"}


def test_the_rest_is_searched_as_well_where_one_box_is_out_of_reach() -> None:
    # At SW4 three cables are one too many for holes of an inch: another tree is taken that has two there.
    closed = barred(with_bits(SHED, 0.75, 1.0), *AROUND_THE_LANTERN)
    quick, normal = (plan_building(closed, effort=effort) for effort in ("quick", "normal"))
    assert quick.unreached == normal.unreached == ("LANTERN",)
    assert sound(quick)
    assert sound(normal)
    assert normal.cost < 0.99 * quick.cost
    assert normal.lower_bound is None


@pytest.mark.parametrize("most", [1, 2])
def test_room_for_few_cables_in_boxes_is_told_and_no_traceback(most: int) -> None:
    boxes = (replace(box, cables_max=most) if box.kind == "box" else box for box in SHED.boxes)
    few = replace(straight_down(SHED), boxes=tuple(boxes))
    if most == 1:
        with pytest.raises(SceneError, match="cables_max: found 2 cables in B1; expected at most 1"):
            plan_building(few, effort="quick")
        return
    plan = plan_building(few, effort="quick")
    assert sound(plan)
    assert plan.unreached


def test_who_is_tired_of_waiting_for_the_proof_gets_the_plan_without(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(barnloom.routing.bound, "lower_bound", interrupted)
    said: list[str] = []
    plan = plan_building(STUDIO, progress=said.append)
    assert plan.lower_bound is None
    assert plan.searched is not None
    assert plan.searched.interrupted
    assert any("nothing is proven" in line for line in said)
    assert plan.unreached == ()
    assert sound(plan)

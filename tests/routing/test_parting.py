"""Two cables in place of a larger one: only with the scene's leave, and the currents of each come to nought.

NEC 300.3(B): all conductors of a circuit together, so that what goes out in a cable comes back in it. UF-B has two or
three conductors (standardscatalog.ul.com/standards/en/standard_493), so a dead-end three-way switch with a neutral
needs two of them.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barnloom.model.building import CableType
from barnloom.model.errors import SceneError
from barnloom.routing.check import check
from barnloom.routing.plan import Plan
from barnloom.routing.planner import plan_building
from barnloom.routing.wiring.nets import least_conductors
from barnloom.routing.wiring.parting import parted
from tests.routing.wired_scenes import ANSWERS, bay, building_of, wall_scene

DEAD_ENDS = {
    "L1": f'circuit: A, device: light, {bay(6)}, height: 80", fed_from: PANEL, cables_max: 5',
    "S1": f'circuit: A, device: switch, {bay(4)}, height: 48", fed_from: L1',
    "S2": f'circuit: A, device: switch, {bay(10)}, height: 48", fed_from: L1',
}
"""Power at the light, a three-way switch on either side: each needs four conductors, the neutral among them."""
CONTROLS = "controls: {ROW: {lights: [L1], points: [S1, S2]}}\ncircuits: {A: {}}\n"
DAMP = ANSWERS.replace("plain_cable: yes, surroundings: dry", "plain_cable: no, surroundings: damp")


def planned(allowed: str) -> Plan:
    return plan_building(
        building_of(wall_scene(DEAD_ENDS, more=f"{CONTROLS}wiring: {{two_cables: {allowed}}}\n", answers=DAMP))
    )


def test_without_leave_what_no_cable_carries_is_a_fault_at_its_control() -> None:
    with pytest.raises(SceneError, match="controls/ROW: found 4 conductors from L1 to S1"):
        planned("no")


def test_with_leave_three_conductors_go_in_one_and_the_neutral_in_another() -> None:
    plan = planned("yes")
    assert [finding for finding in check(plan) if finding.severity == "fault"] == []
    cables = {cable.id: cable for cable in plan.cables}
    assert sorted(cables) == ["A.L1", "A.S1", "A.S1/2", "A.S2", "A.S2/2"]
    for box in ("S1", "S2"):
        two = {cables[f"A.{box}"].type, cables[f"A.{box}/2"].type}
        assert two == {"UF 14/3", "UF 14/2"}
        for name in (f"A.{box}", f"A.{box}/2"):
            nets = {one.net for one in cables[name].conductors} - {"spare", "ground"}
            assert nets == {"neutral"} or "neutral" not in nets
    # Each is there in every list: two cables in every hole, two to buy.
    assert all({"A.S1", "A.S1/2"} <= set(bore.cables) for bore in plan.bores if "A.S1" in bore.cables)
    assert cables["A.S1"].cut_in == cables["A.S1/2"].cut_in
    assert all(not kind.parts for kind in plan.building.cable_types)


def test_more_cables_than_a_box_may_take_are_a_fault_and_no_rejected_plan() -> None:
    boxes = DEAD_ENDS | {"L1": DEAD_ENDS["L1"].replace(", cables_max: 5", "")}
    with pytest.raises(SceneError, match="boxes/L1/cables_max: found 5 cables in L1"):
        plan_building(building_of(wall_scene(boxes, more=f"{CONTROLS}wiring: {{two_cables: yes}}\n", answers=DAMP)))


def sold(count: int) -> CableType | None:
    """Cable of two and of three conductors."""
    if count > 3:
        return None
    return CableType(
        id=f"14/{count}", width_in=0.4, thickness_in=0.2, price_ft=float(count), source="", conductors=count
    )


NETS = ("line", "neutral", "switched R", "switched S", "traveler R 1a", "traveler R 1b")


@given(
    st.lists(st.sampled_from(NETS), min_size=1, max_size=6, unique=True),
    st.lists(st.sets(st.sampled_from(NETS), min_size=2, max_size=3), max_size=3),
)
def test_what_one_load_uses_stays_together_and_nothing_is_lost(nets: list[str], loads: list[set[str]]) -> None:
    found = parted(nets, loads, sold)
    if found is None:
        return
    (one, other), kinds = found
    assert sorted([*one, *other]) == sorted(nets)
    for load in loads:
        here = load & set(nets)
        assert here <= set(one) or here <= set(other)
    for part, kind in zip((one, other), kinds, strict=True):
        assert least_conductors(part) <= kind.conductors


def test_what_cannot_be_shared_out_is_none() -> None:
    assert parted(NETS[:5], [set(NETS[:5])], sold) is None  # one load uses all five

"""Larger conductors where a routed plan asks for them: long runs against voltage drop, warm bundles, and grounds.

Ohms per 1000 ft: 14 AWG 3.07, 12 AWG 1.93, 10 AWG 1.21 (chapter 9 Table 8, voltdropcalc.com/nec-chapter-9-table-8/).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import dist

import pytest
from hand_plan import hand_building, hand_plan

from barnloom.model.building import Building
from barnloom.model.errors import SceneError
from barnloom.routing.check import check
from barnloom.routing.plan import Bore, Cable, Plan
from barnloom.routing.planner import plan_building
from barnloom.routing.wiring.assembly import Assembled
from barnloom.routing.wiring.bundles import Together
from barnloom.routing.wiring.growth import warmest
from tests.routing.wired_scenes import ANSWERS, bay, building_of, wall_scene

OHMS = {14: 3.07, 12: 1.93, 10: 1.21}
DROP = "wiring: {drop: 3 %}\n"


def planned(building: Building) -> Plan:
    """The plan of a building, which the check must find no fault in; quick, so that cables lie as first routed."""
    plan = plan_building(building, effort="quick")
    assert [finding for finding in check(plan) if finding.severity == "fault"] == []
    return plan


def size(plan: Plan, name: str) -> int:
    return next(int(cable.type.partition("/")[0]) for cable in plan.cables if cable.id == name)


def sizes(plan: Plan) -> dict[str, int]:
    return {cable.id: size(plan, cable.id) for cable in plan.cables}


def told(plan: Plan) -> dict[str, tuple[str, str]]:
    return {one.subject: (one.before, one.after) for one in plan.resized}


# --- voltage drop ----------------------------------------------------------------------------------------------------


def long_wall(boxes: Mapping[str, str], *, circuit: str = "", more: str = DROP) -> Building:
    """A wall of 200 ft with things on one circuit C."""
    said = {name: f'{place}, height: 52", circuit: C, device: {device}' for name, place, device in _split(boxes)}
    return building_of(wall_scene(said, more=f"circuits: {{C: {{panel: PANEL{circuit}}}}}\n{more}", length="200'"))


def _split(boxes: Mapping[str, str]) -> list[tuple[str, str, str]]:
    """From "bay: device"."""
    return [(name, bay(int(said.split(": ", 1)[0])), said.split(": ", 1)[1]) for name, said in boxes.items()]


def fan(amps: float) -> str:
    return f"{{kind: machine, amps: {amps:g}, volts: 120}}"


def chain(amps: float) -> dict[str, str]:
    """Four fans along the wall."""
    return {f"F{n}": f"{at}: {fan(amps)}" for n, at in enumerate((40, 60, 90, 130), start=1)}


CHAIN = chain(2)


def lost(plan: Plan, awg: Mapping[str, int]) -> float:
    """Per cent lost at the end of a chain, from the plan's own feet and amperes: 2 I R L / 1000 of 120 V."""
    return sum(2 * c.current_a * OHMS[awg[c.id]] * c.cut_in / 12 / 1000 for c in plan.cables) / 1.2


@pytest.mark.parametrize(
    ("amps", "grown"), [(1.5, [12, 12, 14, 14]), (2, [10, 12, 12, 12])], ids=["some by a size", "the first by two"]
)
def test_a_long_chain_grows_from_the_panel_on_and_no_more_of_it_than_must(amps: float, grown: list[int]) -> None:
    plan = planned(long_wall(chain(amps)))
    feeds = {cable.to_box: cable.from_box for cable in plan.cables}
    assert feeds == {"F1": "PANEL", "F2": "F1", "F3": "F2", "F4": "F3"}
    awg = sizes(plan)
    assert lost(plan, dict.fromkeys(awg, 14)) > 3
    (sheet,) = plan.circuits
    assert sheet.drop_percent == pytest.approx(lost(plan, awg), abs=1e-3)
    assert sheet.drop_percent <= 3
    assert [awg[f"C.F{n}"] for n in (1, 2, 3, 4)] == grown
    # No more than must: with the last step not taken, more is lost than the scene asks.
    last = f"C.F{4 - grown[::-1].index(min(grown))}"
    assert lost(plan, awg | {last: min(grown) + 2}) > 3


def test_each_that_grew_is_told_with_before_and_after_and_why() -> None:
    plan = planned(long_wall(CHAIN))
    larger = {name: awg for name, awg in sizes(plan).items() if awg < 14}
    assert larger
    assert told(plan) == {name: ("14 AWG", f"{awg} AWG") for name, awg in larger.items()}
    assert {one.because for one in plan.resized} == {"the scene asks for no more than 3 % of voltage drop"}


def test_without_a_wish_nothing_grows_and_what_is_lost_is_told() -> None:
    plan = planned(long_wall(CHAIN, more=""))
    assert set(sizes(plan).values()) == {14}
    assert plan.resized == ()
    assert any("of the voltage is lost" in words and "wiring: {drop: 3 %}" in words for words in plan.warnings)


def test_a_wish_that_is_met_already_makes_nothing_larger() -> None:
    plan = planned(long_wall(CHAIN, more="wiring: {drop: 10 %}\n"))
    assert (plan.resized, set(sizes(plan).values())) == ((), {14})


@pytest.mark.parametrize("pin", ["awg: 14", "cable: 14/2"])
def test_a_pinned_circuit_does_not_grow(pin: str) -> None:
    plan = planned(long_wall(CHAIN, circuit=f", {pin}"))
    assert set(sizes(plan).values()) == {14}
    assert plan.resized == ()
    assert any("not where the scene pins them" in words for words in plan.warnings)


def test_a_pinned_leg_does_not_grow_and_the_others_do_the_more() -> None:
    free = sizes(planned(long_wall(CHAIN)))
    assert free["C.F1"] < 14
    plan = planned(long_wall(CHAIN, more=DROP + "cables: {C.F1: {type: 14/2}}\n"))
    assert size(plan, "C.F1") == 14
    assert "C.F1" not in told(plan)
    assert sum(sizes(plan)[f"C.F{n}"] for n in (2, 3, 4)) < sum(free[f"C.F{n}"] for n in (2, 3, 4))


def test_a_branch_that_loses_little_stays_as_it_is() -> None:
    # Two home runs; on the near one 10 A over some 15 ft: 2 x 10 x 3.07 x 15 / 1000 of 120 V is 0.8 %.
    boxes = {"NEAR": f"6: {fan(6)}", "FAR": f"120: {fan(6)}"}
    plan = planned(long_wall(boxes, circuit=", home_runs: 2"))
    assert size(plan, "C.NEAR") == 14
    assert size(plan, "C.FAR") < 14
    assert plan.circuits[0].drop_percent <= 3


def test_a_cable_whose_size_is_not_made_with_so_many_conductors_keeps_one_that_is() -> None:
    # Lights between two switches: beyond them two travelers, the line back and the switch's neutral. There is no 10/4.
    row = {"S1": "8: switch", "L": "80: {kind: light, watts: 700}", "S2": "140: switch"}
    plan = planned(long_wall(row, more=DROP + "controls: {ROW: {lights: [L], points: [S1, S2], in_order: yes}}\n"))
    four = next(cable for cable in plan.cables if cable.to_box == "S2")
    assert (four.from_box, four.type) == ("L", "12/4")


# --- the ground that grows with its conductors -----------------------------------------------------------------------


def test_cable_grows_no_farther_than_its_ground_and_it_is_told() -> None:
    # NEC 250.122(B): 14 to 8 AWG, 16,510 of 4,110 circular mils, wants a ground of 8 AWG; cable of 8 and 6 AWG has one
    # of 10 (6 AWG: doityourself.com/forum/electrical-ac-dc/270071-size-ground-wire.html; 8 AWG from memory).
    plan = planned(long_wall({"PUMP": f"120: {fan(14)}"}))
    assert size(plan, "C.PUMP") == 10
    (one,) = plan.resized
    assert (one.subject, one.before, one.after) == ("C.PUMP", "14 AWG", "10 AWG")
    left = plan.circuits[0].drop_percent
    assert left > 3
    assert f"{left:.1f} % is left" in one.because
    assert "250.122(B)" in one.because


def test_ten_gauge_behind_thirty_amperes_does_not_grow_at_all_for_drop() -> None:
    # 10 AWG with a ground of 10: any larger conductor wants a larger ground, and cable has none.
    plan = planned(long_wall({"PUMP": "120: {kind: machine, amps: 28, volts: 240}"}))
    assert (size(plan, "C.PUMP"), plan.resized) == (10, ())
    assert plan.circuits[0].drop_percent > 3
    assert any("as far as the ground in a cable that is sold allows" in words for words in plan.warnings)


def test_what_a_load_asks_for_is_no_growth() -> None:
    # NEC Table 250.122: 10 AWG to 60 A (brunsengineering.com/nec-table-250-122/), which 8 and 6 AWG cable has
    plan = planned(long_wall({"PUMP": "6: {kind: machine, amps: 50, volts: 240}"}))
    assert (size(plan, "C.PUMP"), plan.resized) == (6, ())


# --- bundles ---------------------------------------------------------------------------------------------------------

BUNDLED = ANSWERS.replace("bundled: no", "bundled: yes")


def home_runs(count: int, *, answers: str = BUNDLED, circuit: str = "") -> Building:
    """Circuits of two outlets each, all up one bay from a low panel and through one row of large holes."""
    boxes = {
        f"{name}{n}": f'{bay(4 + n)}, height: {height}", circuit: C{n}, device: receptacle'
        for n in range(count)
        for name, height in (("HIGH", 80), ("LOW", 66))
    }
    circuits = "".join(f"  C{n}: {{panel: PANEL{circuit}}}\n" for n in range(count))
    tools = 'tools: {bits: [1-1/2"], per_hole: {1-1/2": 6}}\n'
    text = wall_scene(boxes, more=f"circuits:\n{circuits}{tools}", answers=answers, length="40'")
    return building_of(text.replace('height: 54"', 'height: 20"'))


def test_six_home_runs_in_one_bay_are_derated() -> None:
    # 12 current-carrying conductors: 50 % (buildmyowncabin.com/nec/nec2014_table310.15(b)(3)(a).html), of 30 A 15,
    # which fails 20 A; 10 AWG keeps 20 (derived).
    plan = planned(home_runs(6))
    assert set(sizes(plan).values()) == {10}
    assert told(plan) == {f"C{n}": ("12 AWG", "10 AWG") for n in range(6)}
    assert {sheet.awg for sheet in plan.circuits} == {10}
    assert all("310.15(C)(1)" in one.because for one in plan.resized)
    # Each is told by what it lies beside, or that it lay so before all were made larger.
    assert sum("beside C" in one.because for one in plan.resized) >= 5
    assert all("beside C" in one.because or "as first routed" in one.because for one in plan.resized)
    assert not any(f"{one.subject}." in one.because for one in plan.resized)


def test_four_home_runs_keep_their_size() -> None:
    # 8 conductors: 70 %, of 30 A 21 (mikeholt.com/dailycodetipcalendar.php)
    plan = planned(home_runs(4))
    assert (set(sizes(plan).values()), plan.resized) == ({12}, ())


def test_where_nothing_counts_as_a_bundle_nothing_grows() -> None:
    plan = planned(home_runs(6, answers=ANSWERS))
    assert (set(sizes(plan).values()), plan.resized) == ({12}, ())


def test_a_pinned_size_that_a_bundle_leaves_too_thin_is_a_fault_that_says_where() -> None:
    with pytest.raises(SceneError) as raised:
        plan_building(home_runs(6, circuit=", awg: 12"))
    faults = raised.value.faults
    assert [fault.where for fault in faults] == [("circuits", f"C{n}", "awg") for n in range(6)]
    assert "in NORTH)" in faults[0].found
    assert faults[0].expected.startswith("10 AWG or larger")


# By hand: cables of a plan that was drawn, not routed.


def level(
    name: str, start: float, end: float, *, cut: float, height: float = 60.0, bores: tuple[str, ...] = ()
) -> Cable:
    points = ((start, 1.75, height), (end, 1.75, height))
    return replace(
        hand_plan().cables[0],
        id=f"{name}.FAR",
        circuit=name,
        points=points,
        tracks=("SOUTH",),
        bores=bores,
        path_in=dist(*points),
        cut_in=cut,
    )


def warm(
    *cables: Cable, bores: tuple[Bore, ...] = (), insulated: str = "no", bundled: bool = True
) -> dict[str, Together]:
    building = hand_building(insulated=insulated)
    building = replace(building, wiring=replace(building.wiring, bundled=bundled))
    plan = replace(hand_plan(), building=building, cables=cables, bores=bores)
    carrying = dict.fromkeys((cable.id for cable in cables), 2)
    return warmest(plan, Assembled((), (), (), {}, carrying, ()))


@pytest.mark.parametrize(
    ("beside", "cut", "counts"),
    # NEC 310.14(A)(2) exception, the lesser of 10 ft and 10 % of the circuit:
    # forums.mikeholt.com/threads/310-15-a-2-selection-of-ampacities.24785/
    [(60, 600, False), (60, 599, True), (120, 2000, False), (121, 2000, True), (100, 900, True), (24, 100, False)],
)
def test_a_bundle_shorter_than_ten_feet_and_a_tenth_of_the_circuit_is_left_out(
    beside: float, cut: float, counts: bool
) -> None:
    found = warm(level("A", 0, beside, cut=cut), level("B", 0, beside, cut=cut))
    assert set(found) == ({"A", "B"} if counts else set())
    assert {one.factor for one in found.values()} <= {0.8}


def test_the_whole_circuit_is_what_a_bundle_is_a_tenth_of() -> None:
    far = level("A", 300, 400, cut=400, height=20)
    assert set(warm(level("A", 0, 60, cut=200), replace(far, id="A.ON"), level("B", 0, 60, cut=700))) == set()
    assert set(warm(level("A", 0, 60, cut=200), level("B", 0, 60, cut=700))) == {"A"}


def test_of_all_places_of_a_circuit_the_warmest_counts() -> None:
    # Beside three others 8 conductors, 70 %; farther on beside one 4, 80 %
    four = [level(name, 0, 60, cut=100) for name in "ABCD"]
    farther = [replace(level(name, 200, 260, cut=100), id=f"{name}.ON") for name in "AE"]
    assert warm(*four, *farther)["A"].factor == warm(*farther, *four)["A"].factor == pytest.approx(0.7)


def test_a_sealed_hole_is_never_too_short() -> None:
    # NEC 334.80 (forums.mikeholt.com/goto/post?id=1294209)
    cables = tuple(
        level(name, 0, 60, cut=9000, height=high, bores=("TP",)) for name, high in zip("ABC", (10, 20, 30), strict=True)
    )
    plate = replace(hand_plan().bores[0], id="TP", member="SOUTH-TP1", cables=tuple(cable.id for cable in cables))
    assert warm(*cables, bores=(plate,)) == {}
    found = warm(*cables, bores=(plate,), insulated="yes")
    assert {name: one.factor for name, one in found.items()} == dict.fromkeys("ABC", 0.8)
    # What is worse of the two counts: six conductors in the hole, four beside each other.
    both = warm(cables[0], replace(cables[1], points=cables[0].points), cables[2], bores=(plate,), insulated="yes")
    assert both["A"].count == 6


def test_what_is_no_bundle_by_the_answer_is_none() -> None:
    assert warm(level("A", 0, 60, cut=100), level("B", 0, 60, cut=100), bundled=False) == {}

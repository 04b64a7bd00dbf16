"""Order of pulling, phases, the panel's schedule and one-line: in the lists, in the report, as plain data."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from decimal import Decimal

from sample_plan import bore, sample_plan
from wired_sample import wired_plan

from barnloom.model.wiring import Device, DeviceKind
from barnloom.routing.plan import Plan
from barnloom.viewer import totals
from barnloom.viewer.lists import cables_text
from barnloom.viewer.pulling import cable_phases, later_tails, only_phase, phases, pull_order
from barnloom.viewer.report import figures, summary
from barnloom.viewer.schedule import leg_loads
from barnloom.viewer.text import COLUMNS, width


def in_one_phase() -> Plan:
    """The wired sample, all of it at once."""
    plan = wired_plan()
    building = plan.building
    return replace(
        plan,
        building=replace(
            building,
            boxes=tuple(replace(box, phase=1) for box in building.boxes),
            circuits=tuple(replace(circuit, phase=1) for circuit in building.circuits),
        ),
    )


def test_home_runs_come_first_then_travelers_then_as_they_are_fed() -> None:
    """Common practice, no source."""
    plan = in_one_phase()
    order = [cable.id for cable in pull_order(plan)]
    lengths = {cable.id: cable.cut_in for cable in plan.cables}
    home = [name for name in order if name in ("LIGHTS.SW1", "LOOP.MIX", "OUT.O1", "SAW.SAW")]
    assert order[:4] == home == sorted(home, key=lambda name: -lengths[name])
    assert order[4:] == ["LIGHTS.SW2", "LIGHTS.G1", "LIGHTS.G2", "LOOP.SW3", "OUT.MIX"]


def test_of_equal_home_runs_the_larger_comes_first_and_then_the_one_through_most_holes() -> None:
    plan = in_one_phase()
    same = tuple(
        replace(cable, cut_in=100.0, bores=("X", "Y") if cable.id == "LOOP.MIX" else ()) for cable in plan.cables
    )
    order = [cable.id for cable in pull_order(replace(plan, cables=same))]
    assert order[:4] == ["SAW.SAW", "OUT.O1", "LOOP.MIX", "LIGHTS.SW1"]  # 10, 12, 14 and 14 AWG


def test_what_is_pulled_already_is_not_pulled_again() -> None:
    assert "L1.LAMP3" not in [cable.id for cable in pull_order(sample_plan())]
    assert len(pull_order(sample_plan())) == 5


def test_phase_one_is_pulled_before_phase_two() -> None:
    order = [cable.id for cable in pull_order(wired_plan())]
    assert order[-2:] == ["SAW.SAW", "LIGHTS.G2"]
    assert phases(wired_plan()) == (1, 2)
    assert phases(in_one_phase()) == (1,)


def test_a_cable_of_a_later_phase_is_said_to_wait_in_a_covered_box() -> None:
    assert [cable.id for cable in later_tails(wired_plan())] == ["LIGHTS.G2", "SAW.SAW"]
    assert later_tails(in_one_phase()) == ()
    text = " ".join(cables_text(wired_plan()).split())
    assert (
        "LIGHTS.G2 is of phase 2: pulled and joined then. Pulled earlier all the same, its end at G2 waits in a "
        "covered box, capped and tagged: buy that box then, and a blank cover that the takeoff does not list. At G1 it "
        "is capped and tagged too, joined to nothing."
    ) in text
    assert "At PANEL it is capped and tagged too, on no breaker." in text


def test_phases_share_out_feet_holes_and_circuits_without_loss() -> None:
    plan = wired_plan()
    bores = (
        bore("LOFT-J3.a", "LOFT-J3", 60.0, 4.625, ("LIGHTS.G1", "LIGHTS.G2")),
        bore("LOFT-J4.a", "LOFT-J4", 60.0, 4.625, ("LIGHTS.G2",)),
        bore("LOFT-J5.a", "LOFT-J5", 60.0, 4.625, ("LIGHTS.G2",), existing=True),
    )
    plan = replace(plan, bores=bores)
    parts = [only_phase(plan, phase) for phase in phases(plan)]
    feet = [share.feet for part in parts for share in totals.shares(part) if share.by == "total"]
    [total] = [share.feet for share in totals.shares(plan) if share.by == "total"]
    assert sum(feet, Decimal(0)) == total
    assert [[one.id for one in totals.to_bore(part)] for part in parts] == [["LOFT-J3.a"], ["LOFT-J4.a"]]
    assert [sorted(sheet.circuit for sheet in part.circuits) for part in parts] == [["LIGHTS", "LOOP", "OUT"], ["SAW"]]
    assert [len(part.building.boxes) for part in parts] == [7, 2]  # SAW's box comes with its cable
    assert set(cable_phases(plan)) == {cable.id for cable in plan.cables}


def test_the_pull_order_is_numbered_in_the_cable_list() -> None:
    text = cables_text(wired_plan()).split("PULL ORDER")[1]
    assert re.findall(r"^ +(\d+)  \[ \] (\S+ \S+)", text, re.M)[:2] == [("1", "LOOP PANEL>MIX"), ("2", "OUT PANEL>O1")]
    assert "(phase 1, " in text
    assert "phase" not in cables_text(in_one_phase()).split("PULL ORDER")[1]


def test_a_cable_shows_its_label_and_what_its_conductors_carry() -> None:
    text = " ".join(cables_text(wired_plan()).split())
    assert "label LOOP MIX>SW3 14/2 black: hot when BENCH is on; white (taped red): always hot; bare: ground" in text
    assert "at most 5.0 A, drop 1.2 %" in text


def test_what_was_made_larger_is_told_before_all_else() -> None:
    text = summary(wired_plan())
    assert text.index("MADE LARGER THAN USUAL") < text.index("PANEL PANEL") < text.index("BY CIRCUIT")
    assert "- SAW.SAW: 12/2 -> 10/2, because the load" in text


def test_the_panel_schedule_is_a_table_in_order_of_space() -> None:
    text = summary(wired_plan())
    rows = re.findall(r"^(\d[\d +]*?) +(AB|A|B) +(\d+ A.*?) {2,}(\w+) {2,}", text, re.M)
    assert rows == [
        ("1", "A", "15 A", "LIGHTS"),
        ("2", "B", "15 A", "LOOP"),
        ("3", "A", "20 A ground-fault", "OUT"),
        ("4 + 6", "AB", "30 A, 2 poles", "SAW"),
    ]
    # what is connected, and beside it what the breaker is sized for
    assert re.search(r"circuit +load; sized for +cable", text)
    assert re.search(r"SAW +3,600 VA; 18\.8 A +10/2 +62\.0 ft +1\.2 %\n +a note\n", text)
    # A: 200 + 360 + 3600 / 2 = 2360; B: 100 + 1800 = 1900; over 120 V
    assert "connected: leg A 2,360 VA (19.7 A), leg B 1,900 VA (15.8 A)" in text


def test_the_one_line_goes_from_the_supply_to_the_circuits() -> None:
    lines = summary(wired_plan()).split("ONE-LINE\n")[1].splitlines()
    assert lines[0].startswith("the house, feeder, breaker 60 A")
    assert lines[1] == "  -> panel PANEL: main 60 A, 12 spaces, 1 in use already"
    assert lines[2] == "     -> space 1, leg A: LIGHTS, 15 A plain, 14/2, 14/3, 4 boxes, 62.0 ft"
    assert "SAW, 30 A plain, 10/2, 1 box, " in lines[5]


def test_halves_of_a_tandem_breaker_are_told_apart() -> None:
    plan = wired_plan()
    sheets = tuple(replace(one, spaces=(2,)) if one.circuit == "LIGHTS" else one for one in plan.circuits)
    text = summary(replace(plan, circuits=sheets))
    assert re.findall(r"^(\d\w*) +\w+ +\d+ A.*? {2,}(\w+) {2,}", text, re.M) == [
        ("2a", "LIGHTS"),
        ("2b", "LOOP"),
        ("3", "OUT"),
    ]
    assert "-> space 2b, leg B: LOOP" in text
    assert "-> space 4 + 6, leg AB: SAW" in text
    assert "2a" not in summary(plan)


def test_on_a_multiwire_circuit_each_device_loads_its_own_line() -> None:
    plan = wired_plan()
    sheets = tuple(replace(one, legs="BA", load_va=900.0) for one in plan.circuits if one.circuit == "OUT")
    devices = (
        Device(id="X", box="O1", kind=DeviceKind.RECEPTACLE, circuit="OUT", leg=1, load_va=600),
        Device(id="Y", box="O1", kind=DeviceKind.RECEPTACLE, circuit="OUT", leg=2, load_va=300),
    )
    plan = replace(plan, circuits=sheets, building=replace(plan.building, devices=devices))
    assert leg_loads(plan, "PANEL") == {"A": 300.0, "B": 600.0}


def test_phases_are_reported_with_feet_holes_and_what_to_buy() -> None:
    text = summary(wired_plan())
    part = " ".join(text[text.index("PHASE 2") : text.index("PULL ORDER")].split())
    assert part.startswith("PHASE 2 21.7 ft, 0 holes to bore")
    assert "cable 10/2: 15.5 ft" in part
    assert "joined in this phase to boxes of an earlier one: LIGHTS.G2, SAW.SAW" in part
    assert "PHASE" not in summary(in_one_phase())


def test_the_figures_hold_the_same_as_plain_data() -> None:
    data = json.loads(json.dumps(figures(wired_plan())))
    assert list(data)[:2] == ["title", "resized"]
    assert data["resized"] == [{"subject": "SAW.SAW", "before": "12/2", "after": "10/2", "because": "the load"}]
    assert [one["circuit"] for one in data["circuits"]] == ["LIGHTS", "LOOP", "OUT", "SAW"]
    assert data["leg_loads_va"] == {"PANEL": {"A": 2360.0, "B": 1900.0}}
    assert data["pull_order"] == [cable.id for cable in pull_order(wired_plan())]
    assert data["phases"]["2"] == {"feet": 21.7, "holes_to_bore": 0, "cables": 2}
    assert len(data["one_line"]) == 6


def test_no_line_of_the_report_is_too_wide() -> None:
    plan = wired_plan()
    long = "Q" * 40
    sheets = tuple(
        replace(one, notes=("a long note " * 20,), breaker="dual-function", circuit=one.circuit)
        for one in plan.circuits
    )
    cables = tuple(replace(cable, type=long) for cable in plan.cables)
    for text in (summary(replace(plan, circuits=sheets, cables=cables)), cables_text(replace(plan, cables=cables))):
        for line in text.splitlines():
            assert width(line) <= COLUMNS, line

"""What of the supply is told plainly, and what of it falls short."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hand_plan import hand_building

from barnloom.model.wiring import Breakers, Device, DeviceKind, Supply
from barnloom.routing.wiring.supply import supply_shortfalls, supply_words

WHOLE: dict[str, Any] = {"said": True, "breaker_a": 60.0, "awg": "6", "electrodes": "two rods", "disconnect_a": 60.0}
"""A feeder that lacks nothing."""
HEATER = Device(id="H", box="H", kind=DeviceKind.HEATER, circuit="C", volts=240, load_va=9600.0)
"""40 A."""


def supply_text(circuits: int = 3, **supply: Any) -> str:
    whole = hand_building()
    return "\n".join(supply_words(replace(whole, circuits=whole.circuits[:circuits], supply=Supply(**supply))))


def test_what_a_feeder_wants() -> None:
    # forums.mikeholt.com/threads/detached-garage.39148 (225.30 to 225.39, 250.32); working space
    # ecmag.com/magazine/articles/article-detail/codes-standards-general-installation-requirements-part-xix
    words = supply_text()
    for clause in (
        "225.30",
        "225.31",
        "225.39",
        "250.32(A)",
        "250.32(B)",
        "110.26(A)",
        "240.24(A)",
        "334.30",
        "110.14(D)",
    ):
        assert clause in words
    for said in ("four wires", "at least 60 A", "6 AWG copper", "3' 0\" deep, 2' 6\" wide", "6' 6\" high", "6' 7\""):
        assert said in words
    assert "Table 300.5" not in words


def test_a_branch_circuit_needs_no_electrode_and_a_smaller_disconnect() -> None:
    words = supply_text(1, kind="branch circuit", disconnect_a=10.0)
    assert "needs no ground electrode" in words
    assert "at least 15 A" in words
    assert "the scene says 10 A, which is too little" in words
    assert "four wires" not in words
    assert "at least 30 A" in supply_text(2, disconnect_a=30.0)
    assert "too little" not in supply_text(2, disconnect_a=30.0)


def test_a_part_of_the_house_is_no_separate_building() -> None:
    words = supply_text(separate=False)
    assert "225.30" not in words
    assert "110.26(A)" in words


def test_cover_by_method() -> None:
    # Table 300.5, yard: studylib.net/doc/18633587/depth-requirements-for-residential-underground-electrical...
    assert 'a buried cable, from its top to finished grade: 24"' in supply_text(method="buried")
    assert 'a plastic conduit, from its top to finished grade: 18"' in supply_text(method="conduit")


# --- what falls short ------------------------------------------------------------------------------------------------


def short(*devices: Device, circuits: int = 3, main_a: float = 0.0, **supply: Any) -> tuple[str, ...]:
    whole = hand_building()
    return supply_shortfalls(
        replace(
            whole,
            circuits=whole.circuits[:circuits],
            devices=devices,
            breakers=(Breakers(panel="PANEL", main_a=main_a),),
            supply=Supply(**(WHOLE | supply)),
        )
    )


def test_a_whole_supply_falls_short_of_nothing() -> None:
    assert short() == ()
    assert short(HEATER, main_a=40.0, breaker_a=40.0) == ()
    assert supply_shortfalls(hand_building()) == ()


def test_breakers_that_do_not_carry_the_load() -> None:
    # 9,600 VA are 40 A at 240 V
    assert short(HEATER, main_a=30.0) == (
        "the main breaker of PANEL, 30 A, is too small for the building's 40.0 A (NEC 215.2; sum in questions.txt)",
    )
    (words,) = short(HEATER, breaker_a=35.0)
    assert words.startswith("the supply's breaker, 35 A, is too small for the building's 40.0 A")


@pytest.mark.parametrize(
    ("awg", "most"),
    # NEC Table 310.16, 60 C: 8 AWG 40 A, 6 AWG 55 A, 4 AWG 70 A (voltagelab.com/table-310-16-ampacity-of-conductors);
    # next size up for 55 A: 60 A (240.4(B), 240.6); 10 AWG: 30 A at most (240.4(D))
    [("10", 30), ("8", 40), ("6", 60), ("4", 70)],
)
def test_a_breaker_above_what_the_conductors_carry(awg: str, most: float) -> None:
    assert short(awg=awg, breaker_a=most) == ()
    (words,) = short(awg=awg, breaker_a=most + 5)
    assert f"the supply's breaker, {most + 5:g} A, is too large for {awg} AWG" in words
    assert f"{most} A at most" in words


def test_conductors_that_no_table_has_are_not_judged() -> None:
    assert short(awg="4/0", breaker_a=200.0) == ()


def test_a_feeder_without_electrodes_or_with_a_small_disconnect() -> None:
    # 250.32(A), 225.39: forums.mikeholt.com/threads/detached-garage.39148
    (words,) = short(electrodes="none")
    assert "250.32(A)" in words
    (words,) = short(disconnect_a=30.0)
    assert words == "the disconnect, 30 A, is too small: at least 60 A (NEC 225.39)"
    assert short(electrodes="none", disconnect_a=30.0, separate=False) == ()


def test_several_circuits_make_a_feeder_of_one_branch_circuit() -> None:
    # 225.30, 250.32(A) exception: forums.mikeholt.com/threads/detached-garage.39148
    assert short(circuits=1, kind="branch circuit", electrodes="none") == ()
    (words,) = short(kind="branch circuit", electrodes="none")
    assert "3 leave its panel" in words

"""Questions: who is asked, what hangs on it, the answer kept or what stands in for it; the supply told plainly."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from sample_plan import sample_plan
from wired_sample import wired_plan

import barnloom.viewer.questions
from barnloom.model.building import Answer
from barnloom.model.scene.schema import Answers
from barnloom.model.wiring import Supply
from barnloom.routing.plan import Plan
from barnloom.viewer.questions import panel_line, questions_text, supply_line
from barnloom.viewer.text import COLUMNS, width

DATA = tomllib.loads(Path(barnloom.viewer.questions.__file__).with_suffix(".toml").read_text(encoding="utf-8"))


def flat(plan: Plan) -> str:
    """The text on one line."""
    return " ".join(questions_text(plan).split())


def with_supply(**said: object) -> Plan:
    plan = wired_plan()
    supply = replace(Supply(from_where="the house", said=True), **said)  # type: ignore[arg-type]
    return replace(plan, building=replace(plan.building, supply=supply))


def test_every_question_of_a_scene_is_explained_with_each_of_its_answers() -> None:
    assert set(DATA["asked"]) == set(Answers.model_fields)
    schema = Answers.model_json_schema()
    text = str(schema)
    for said in DATA["asked"].values():
        assert said["whom"] in ("the inspector", "the owner")
        assert said["clause"].startswith("NEC ")
        for answer in said["planned"]:
            assert f"'{answer}'" in text


def test_an_unanswered_question_says_what_was_planned_and_leaves_room_to_write() -> None:
    text = flat(wired_plan())
    part = text[text.index("1 Is plain sheathed cable") : text.index("2 Must there be")]
    assert "why it matters: The same shed is" in part
    assert "[NEC 334.10(1) and (3), 334.12]" in part
    assert "not answered: planned as the stricter reading (no)" in part
    assert "planned because of it: cable for damp places (UF-B) throughout" in part
    assert "answer, who, when ____" in part


def test_an_answer_kept_says_who_and_when() -> None:
    text = flat(wired_plan())
    part = text[text.index("2 Must there be") : text.index("FOR THE OWNER")]
    assert "answer: no [building office, 2026-03-12]" in part
    assert "planned because of it: a neutral at a switch only where it passes anyway" in part
    assert "not answered" not in part
    assert "____" not in part


def test_an_answer_without_a_name_says_so_and_a_question_of_ones_own_is_kept() -> None:
    assert "3 Who keeps the key? answer: Ada [by whom and when is not kept]" in flat(wired_plan())


def test_questions_stand_in_the_order_of_how_much_hangs_on_them() -> None:
    plan = wired_plan()
    asked = [Answer(question=f"{key}: {key}?", answer="yes", assumed=True) for key in sorted(DATA["asked"])]
    text = flat(replace(plan, building=replace(plan.building, answers=tuple(asked))))
    places = [text.index(f" {key[:1].upper()}{key[1:]}? why") for key in DATA["asked"]]
    assert places == sorted(places)


def test_the_supply_is_told_as_far_as_it_is_said() -> None:
    assert supply_line(wired_plan()) == "the house, feeder, breaker 60 A, 4 wires of 6 AWG, 85' 0\", buried, UF-B"
    assert supply_line(sample_plan()) == "supply not said"
    text = flat(wired_plan())
    assert "disconnect: not said; electrodes: not said" in text
    assert "Load of the building:" in text
    assert "is left to licensed work" in text
    assert panel_line(wired_plan().building.breakers[0]) == "PANEL: main 60 A, 12 spaces, 1 in use already"


def test_the_load_is_told_line_by_line_and_adds_up() -> None:
    text = questions_text(wired_plan())
    total = re.search(r"Load of the building: ([\d,]+) VA", text)
    lines = re.findall(r"^ *([\d,]+) x ([\d.]+) = +([\d,]+)  \S", text, re.MULTILINE)
    assert total
    assert lines
    assert sum(int(counted.replace(",", "")) for _, _, counted in lines) == pytest.approx(
        int(total[1].replace(",", "")), abs=len(lines)
    )
    assert "The sum of it" not in questions_text(sample_plan())


def test_a_disconnect_too_small_is_told() -> None:
    """NEC 225.39: four circuits want 60 A (forums.mikeholt.com/threads/outbuilding-disconnect-rating.114864)."""
    assert "rated for at least 60 A: the switch gear, not the feeder (NEC 225.39)." in flat(
        with_supply(disconnect_a=60)
    )
    assert "(NEC 225.39); the scene says 30 A, which is too little." in flat(with_supply(disconnect_a=30))


@pytest.mark.parametrize(("method", "deep"), [("buried", '24"'), ("conduit", '18"')])
def test_what_lies_under_ground_lies_deep(method: str, deep: str) -> None:
    """NEC Table 300.5, general row: studylib.net/doc/18633587 (depth requirements)."""
    assert f"from its top to finished grade: {deep};" in flat(with_supply(method=method))
    assert "300.5" not in flat(with_supply(method="overhead"))


def test_electrodes_hang_on_how_the_building_is_supplied() -> None:
    """NEC 250.32(A) and exception: forums.mikeholt.com/threads/detached-garage.39148."""
    assert "It needs ground electrodes (NEC 250.32(A))" in flat(with_supply())
    assert "needs ground electrodes" not in flat(with_supply(kind="branch circuit"))
    assert "ground electrodes" not in flat(with_supply(separate=False))


@pytest.mark.parametrize("title", ["舟小屋の二階" * 30, "<b>\n\x1b[31m" * 10])
def test_every_line_stays_within_the_page(title: str) -> None:
    plan = wired_plan()
    asked = (Answer(question=title, answer=title, assumed=True, who=title),)
    supply = replace(plan.building.supply, from_where=title, electrodes=title)
    for line in questions_text(
        replace(plan, building=replace(plan.building, answers=asked, supply=supply))
    ).splitlines():
        assert width(line) <= COLUMNS, line
        assert "\x1b" not in line


def test_a_building_of_two_panels_says_what_is_not_worked() -> None:
    plan = wired_plan()
    words = "What a panel that is fed from another one carries"
    assert words not in flat(plan)
    breakers = (*plan.building.breakers, replace(plan.building.breakers[0], panel="SUB"))
    assert words in flat(replace(plan, building=replace(plan.building, breakers=breakers)))


@pytest.mark.parametrize(
    ("question", "answer", "words"),
    [
        # 340.10(4): indoors UF-B follows the rules of NM-B (from memory, as the fact tables have it)
        ("plain_cable: is it allowed?", "no", "UF-B follows the same article as plain cable (NEC 340.10(4))"),
        ("plain_cable: is it allowed?", "no", "metal-clad cable or conduit"),
        ("dwelling: does anybody live here?", "yes", "yours to check: spacing of outlets (210.52), smoke alarms"),
        ("dwelling: does anybody live here?", "yes", "tamper-resistant receptacles"),
    ],
)
def test_what_an_answer_does_not_settle_is_said(question: str, answer: str, words: str) -> None:
    plan = wired_plan()
    kept = (Answer(question=question, answer=answer, assumed=False),)
    assert words in flat(replace(plan, building=replace(plan.building, answers=kept)))

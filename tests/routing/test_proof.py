"""The bound beside the search: the same as by itself, and no trouble to whoever does not wait for it."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import pytest

import barnloom.routing.bound
from barnloom.model import read_building
from barnloom.routing.bound import lower_bound
from barnloom.routing.check import check
from barnloom.routing.first import rated_circuits, sizes_of
from barnloom.routing.job import Job, job_of
from barnloom.routing.planner import plan_building
from barnloom.routing.proof import Proof
from barnloom.routing.wiring.kinds import Sizes

STUDIO = Path(__file__).parents[2] / "scenes" / "garden-studio.yaml"


@pytest.fixture(scope="module")
def studio() -> tuple[Job, Sizes]:
    building = read_building(STUDIO)
    return job_of(building, lambda _: None, None), sizes_of(rated_circuits(building))


def test_beside_a_search_the_same_is_proven_as_without(studio: tuple[Job, Sizes]) -> None:
    with Proof(*studio, 100.0, "normal") as proof:
        found = proof.value()
    assert found == lower_bound(*studio, upper=100.0, effort="normal").value
    assert found is not None
    assert found > 50


def test_a_quick_effort_proves_nothing(studio: tuple[Job, Sizes]) -> None:
    with Proof(*studio, 100.0, "quick") as proof:
        assert proof.value() is None


def test_what_goes_wrong_is_told_to_who_asks(studio: tuple[Job, Sizes], monkeypatch: pytest.MonkeyPatch) -> None:
    def wrong(*_: Any, **__: Any) -> None:
        msg = "oh no"
        raise ZeroDivisionError(msg)

    monkeypatch.setattr(barnloom.routing.bound, "lower_bound", wrong)
    with Proof(*studio, 100.0, "normal") as proof, pytest.raises(ZeroDivisionError, match="oh no"):
        proof.value()


def test_it_ends_when_nobody_waits_any_more(studio: tuple[Job, Sizes], monkeypatch: pytest.MonkeyPatch) -> None:
    begun, ended = threading.Event(), threading.Event()

    def endless(*_: Any, progress: Any, **__: Any) -> None:
        try:
            while True:
                begun.set()
                progress(1, 50.0)
        finally:
            ended.set()

    monkeypatch.setattr(barnloom.routing.bound, "lower_bound", endless)
    with Proof(*studio, 100.0, "normal"):
        assert begun.wait(60)
        assert not ended.is_set()
    assert ended.wait(60)


def test_who_is_tired_of_waiting_gets_the_plan_without_a_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(_: Proof) -> float:
        raise KeyboardInterrupt

    monkeypatch.setattr(Proof, "value", interrupted)
    said: list[str] = []
    plan = plan_building(read_building(STUDIO), progress=said.append)
    assert plan.lower_bound is None
    assert plan.searched is not None
    assert plan.searched.interrupted
    assert any("nothing is proven" in line for line in said)
    assert plan.unreached == ()
    assert [finding for finding in check(plan) if finding.severity == "fault"] == []

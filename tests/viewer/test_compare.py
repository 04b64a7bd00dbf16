"""The comparison: its figures against the plans as files, read with json and csv alone."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from barnloom.model import read_building
from barnloom.model.errors import Fault, SceneError
from barnloom.routing import whatif
from barnloom.routing.check import check
from barnloom.routing.plan import Plan
from barnloom.routing.store import read_plan
from barnloom.routing.whatif import Chosen
from barnloom.viewer import compare
from barnloom.viewer.compare import compared, comparison_text, write_comparison

SCENES = Path(__file__).parents[2] / "scenes"
MILL = read_building(SCENES / "cider-mill.yaml")
STUDIO = read_building(SCENES / "garden-studio.yaml")
OVERHEAD = {"joist_low", "joist_mid", "joist_high", "plate_below"}


def quiet(_: str) -> None:
    """Say nothing."""


@pytest.fixture(scope="module")
def rows() -> tuple[Chosen, ...]:
    return compared(MILL, quiet)


@pytest.fixture(scope="module")
def folder(rows: tuple[Chosen, ...], tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("compare")
    write_comparison(place, MILL, rows)
    return place


@pytest.fixture(scope="module")
def studio() -> tuple[Chosen, ...]:
    return compared(STUDIO, quiet)


def table(folder: Path) -> list[dict[str, str]]:
    with (folder / "compare.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def recounted(data: dict[str, Any]) -> dict[str, float]:
    """What a plan.json comes to, from its plain data."""
    new = [bore for bore in data["bores"] if not bore["existing"]]
    return {
        "feet": sum(cable["cut_in"] for cable in data["cables"]) / 12,
        "holes": len(new),
        "overhead_holes": sum(bore["pose"] in OVERHEAD for bore in new),
        "nail_plates": sum(len(bore["nail_plates"]) for bore in new),
        "money": sum(data["cost_parts"].values()),
        "drop_percent": max(circuit["drop_percent"] for circuit in data["circuits"]),
    }


def test_every_figure_is_that_of_the_plan_beside_it(folder: Path) -> None:
    for row in table(folder):
        data = json.loads((folder / row["what_if"] / "plan.json").read_text(encoding="utf-8"))
        for column, value in recounted(data).items():
            assert float(row[column]) == pytest.approx(value, abs=0.0051), (row["what_if"], column)
        worst = max(data["circuits"], key=lambda circuit: round(circuit["drop_percent"], 2))
        assert row["drop_circuit"] == worst["circuit"]


def test_every_plan_is_sound_and_its_money_is_counted_with_the_scenes_prices(folder: Path) -> None:
    for row in table(folder):
        plan = read_plan(folder / row["what_if"])
        assert [str(one) for one in check(plan) if one.severity == "fault"] == []
        assert plan.building.prices == MILL.prices
        assert float(row["money"]) == pytest.approx(plan.cost, abs=0.0051)


def test_no_row_is_beaten_in_what_its_name_says(folder: Path) -> None:
    of = {row["what_if"]: row for row in table(folder)}
    for name, column in (
        ("scene", "money"),
        ("fewest-feet", "feet"),
        ("fewest-holes", "holes"),
        ("fewest-overhead", "overhead_holes"),
    ):
        assert float(of[name][column]) == min(float(row[column]) for row in of.values())


def test_differences_are_to_the_first_row(folder: Path) -> None:
    first, *others = table(folder)
    for row in others:
        for column in ("feet", "holes", "overhead_holes", "nail_plates", "money", "drop_percent"):
            assert float(row[f"{column}_more"]) == pytest.approx(float(row[column]) - float(first[column]), abs=1e-9)


def test_the_json_file_says_what_the_csv_file_says(folder: Path) -> None:
    data = json.loads((folder / "compare.json").read_text(encoding="utf-8"))
    assert data["title"] == MILL.title
    for row, way in zip(table(folder), data["what_ifs"], strict=True):
        for column, text in row.items():
            told = way[column]
            assert told == text if isinstance(told, str) else float(text) == told


def test_the_text_is_in_the_scenes_units_and_no_wider_than_a_terminal(
    rows: tuple[Chosen, ...], studio: tuple[Chosen, ...]
) -> None:
    mill, garden = comparison_text(MILL, rows), comparison_text(STUDIO, studio)
    assert " m " in mill
    assert " ft" not in mill
    assert " ft " in garden
    assert all(len(line) <= 100 for text in (mill, garden) for line in text.splitlines())
    for row in rows:
        assert row.what_if.title in mill


def test_what_is_traded_is_said_from_the_figures(folder: Path, rows: tuple[Chosen, ...]) -> None:
    row = next(row for row in table(folder) if row["what_if"] == "fewest-overhead")
    fewer = -int(row["overhead_holes_more"])
    assert fewer > 0
    less, more = row["words"].split(" less, for ")
    assert f"{fewer} overhead hole" in less
    assert f"{float(row['money_more']):.2f} in money" in more
    assert f"{float(row['feet_more']) * 0.3048:.1f} m of cable" in more


def test_where_nothing_can_be_otherwise_that_is_said(studio: tuple[Chosen, ...]) -> None:
    """In the studio one wall of studs is all there is; and no light follows a switch."""
    assert [row.what_if.id for row in studio] == ["scene", "fewest-feet", "fewest-holes", "fewest-overhead"]
    text = " ".join(comparison_text(STUDIO, studio).split())
    assert text.count("It comes to the same.") == 3


def test_the_same_bytes_again(studio: tuple[Chosen, ...], tmp_path: Path) -> None:
    for name, found in (("a", studio), ("b", compared(STUDIO, quiet))):
        write_comparison(tmp_path / name, STUDIO, found)
    files = sorted(path.relative_to(tmp_path / "a") for path in (tmp_path / "a").rglob("*") if path.is_file())
    assert len(files) == 3 + len(studio)
    for file in files:
        assert (tmp_path / "a" / file).read_bytes() == (tmp_path / "b" / file).read_bytes()


def test_a_search_that_fails_is_told_and_the_rest_stands(monkeypatch: pytest.MonkeyPatch) -> None:
    real = whatif.plan_what_if

    def failing(building: Any, what_if: Any, **more: Any) -> Plan:
        if what_if.id == "fewest-holes":
            raise SceneError([Fault(("boxes", "DESK"), "no room", "a larger box", "take one")])
        plan = real(building, what_if, **more)
        if what_if.id == "fewest-overhead":  # a plan with a fault in it: its sum is wrong
            return replace(plan, cost=plan.cost + 1)
        return plan

    monkeypatch.setattr(compare, "plan_what_if", failing)
    found = compared(STUDIO, quiet)
    text = " ".join(comparison_text(STUDIO, found).split())
    assert "its own search found none (boxes/DESK: found no room" in text
    assert "its own search found none (the checker rejects its plan, a bug in barnloom:" in text
    assert [row.found_by.id for row in found] == ["scene", "fewest-feet", "scene", "scene"]


def test_a_scene_that_cannot_be_planned_is_a_fault_of_the_scene(monkeypatch: pytest.MonkeyPatch) -> None:
    def failing(*_: Any, **__: Any) -> Plan:
        raise SceneError([Fault(("boxes", "DESK"), "no room", "a larger box", "take one")])

    monkeypatch.setattr(compare, "plan_what_if", failing)
    with pytest.raises(SceneError):
        compared(STUDIO, quiet)


def test_a_title_cannot_upset_a_terminal(studio: tuple[Chosen, ...]) -> None:
    hostile = replace(STUDIO, title="studio\x1b[31m\n\u202egone")
    text = comparison_text(hostile, studio)
    assert "\x1b" not in text
    assert "\u202e" not in text

"""Plan and ``plan.json``: there and back, the same bytes, clear refusals."""

from __future__ import annotations

import json
import math
import random
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from sample_plan import sample_building, sample_plan
from wired_sample import wired_plan

from barnloom.routing import store
from barnloom.routing.plan import PLAN_VERSION, Plan
from barnloom.routing.store import PlanError, plan_from_json, plan_json_schema, plan_to_json, read_plan


def shuffled(plan: Plan, seed: int) -> Plan:
    """The same plan with everything that has no order in another one."""
    mix = random.Random(seed)

    def other(values: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(mix.sample(values, len(values)))

    building = plan.building
    return replace(
        plan,
        cables=other(plan.cables),
        cost_parts=dict(other(tuple(plan.cost_parts.items()))),
        building=replace(
            building,
            members=other(building.members),
            boxes=other(building.boxes),
            circuits=other(building.circuits),
            assemblies=other(building.assemblies),
            limits=other(building.limits),
            about=dict(other(tuple(building.about.items()))),
        ),
    )


def test_a_plan_read_back_is_the_plan_that_was_written() -> None:
    plan = sample_plan()
    back = plan_from_json(plan_to_json(plan))
    assert {cable.id: cable for cable in back.cables} == {cable.id: cable for cable in plan.cables}
    assert {member.id: member for member in back.building.members} == {one.id: one for one in plan.building.members}
    assert back.bores == plan.bores
    assert (back.cost, back.cost_parts, back.lower_bound) == (plan.cost, plan.cost_parts, None)
    assert plan_to_json(back) == plan_to_json(plan)


@pytest.mark.parametrize("seed", range(5))
def test_the_bytes_do_not_hang_on_the_order_of_equals(seed: int) -> None:
    plan = sample_plan()
    assert plan_to_json(shuffled(plan, seed)) == plan_to_json(plan)


def test_bores_stay_in_walking_order() -> None:
    plan = sample_plan()
    turned = replace(plan, bores=plan.bores[::-1])
    assert [bore.id for bore in plan_from_json(plan_to_json(turned)).bores] == [bore.id for bore in plan.bores[::-1]]


def test_the_top_level_is_the_plan_as_it_is() -> None:
    data = json.loads(plan_to_json(sample_plan()))
    assert data["version"] == PLAN_VERSION
    assert data["cost"] == 123.456
    assert data["cost_parts"] == {"bores": 43.456, "cable": 80.0}
    assert data["lower_bound"] is None
    assert data["unreached"] == ["FAR"]


def test_numbers_are_written_to_a_billionth_without_minus_nought() -> None:
    data = json.loads(plan_to_json(sample_plan(cost=0.1 + 0.2, cost_parts={"a": -1e-15})))
    assert data["cost"] == 0.3
    assert math.copysign(1, data["cost_parts"]["a"]) == 1


def test_the_plan_keeps_its_schema_and_the_published_file_is_that_schema() -> None:
    schema = plan_json_schema()
    jsonschema.validate(json.loads(plan_to_json(sample_plan())), schema)
    assert store.SCHEMA_FILE.read_text(encoding="utf-8") == store.schema_text()
    with pytest.raises(jsonschema.ValidationError, match="was expected"):
        jsonschema.validate(json.loads(plan_to_json(sample_plan(version=99))), schema)


def test_the_schema_says_what_it_is_of_and_is_kept_by_a_wired_plan() -> None:
    schema = plan_json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    # JSON Schema core 2020-12, 8.2.1: $id is a URI without a fragment; RFC 8141 for urn:
    assert schema["$id"] == f"urn:barnloom:plan:{PLAN_VERSION}"
    assert schema["title"] == "Barnloom plan"
    assert "inches" in schema["description"]
    jsonschema.Draft202012Validator(schema).validate(json.loads(plan_to_json(wired_plan())))


def test_the_schema_describes_fields_by_their_source_with_choices_and_units() -> None:
    schema = plan_json_schema()
    parts = {**schema["$defs"], "Plan": schema}
    fields = {(name, key): said for name, part in parts.items() for key, said in part.get("properties", {}).items()}
    assert len(fields) > 300
    assert not [place for place, said in fields.items() if "title" in said]
    for (name, key), said in fields.items():
        if key.endswith(("_in", "_in3")):
            assert re.search("inch", said["description"]), (name, key)
    assert fields["Bore", "drill_pass"]["description"].startswith("Bores with the same pass are drilled in one go")
    assert fields["Box", "kind"]["description"] == 'One of: "box" | "panel" | "stub".'
    assert fields["CircuitSheet", "load_a"]["description"].endswith(" In amperes.")
    assert "description" not in fields["Box", "id"]


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_number_that_is_none_is_not_written(value: float) -> None:
    with pytest.raises(PlanError, match="plan/cost: found"):
        plan_to_json(sample_plan(cost=value))


@pytest.mark.parametrize("value", ["NaN", "Infinity", "1e999"])
def test_a_number_that_is_none_is_not_read(value: str) -> None:
    text = plan_to_json(sample_plan(cost=4321.5)).replace("4321.5", value)
    with pytest.raises(PlanError, match="is not a number"):
        plan_from_json(text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "not a plan's JSON"),
        ("[1]", "no plan version"),
        ("[" * 100_000, "not a plan's JSON"),
        ("{}", "no plan version"),
        ('{"version": "1"}', "no plan version"),
        ('{"version": true}', "no plan version"),
        ('{"version": 99}', "found plan version 99; expected 2"),
        ('{"version": 2}', "building: found nothing"),
    ],
)
def test_what_is_no_plan_of_this_version_is_refused_with_what_was_found(text: str, words: str) -> None:
    with pytest.raises(PlanError, match=words) as caught:
        plan_from_json(text, name="other.json")
    assert str(caught.value).startswith("other.json: ")


def test_a_wrong_value_is_named_by_its_place() -> None:
    data = json.loads(plan_to_json(sample_plan()))
    data["cables"][2]["cut_in"] = "long"
    with pytest.raises(PlanError, match="cables/2/cut_in: found 'long'"):
        plan_from_json(json.dumps(data))


def test_a_folder_stands_for_the_plan_in_it(tmp_path: Path) -> None:
    (tmp_path / "plan.json").write_text(plan_to_json(sample_plan()), encoding="utf-8")
    assert read_plan(tmp_path) == read_plan(tmp_path / "plan.json")
    with pytest.raises(PlanError, match="cannot be read"):
        read_plan(tmp_path / "other.json")
    (tmp_path / "bytes.json").write_bytes(b"\xff\xfe")
    with pytest.raises(PlanError, match="not UTF-8"):
        read_plan(tmp_path / "bytes.json")


def test_a_file_too_large_to_be_a_plan_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "LARGEST_FILE", 10)
    (tmp_path / "plan.json").write_text(plan_to_json(sample_plan()), encoding="utf-8")
    with pytest.raises(PlanError, match="at most 10"):
        read_plan(tmp_path)


def test_any_script_stays_readable_in_the_file() -> None:
    plan = sample_plan(building=sample_building(title="船小屋 <b>&"))
    text = plan_to_json(plan)
    assert "船小屋 <b>&" in text
    assert plan_from_json(text).building.title == "船小屋 <b>&"

"""A half-filled scene: what is not known is named with its line, and hides nothing beside it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from barnloom.model.scene.half import HalfScene, half_text
from barnloom.model.scene.text import Node, Where, parsed
from barnloom.model.survey.survey import survey_of

SCENES = sorted((Path(__file__).parents[2] / "scenes").glob("*.yaml"))
TEXTS = {path.stem: path.read_text(encoding="utf-8") for path in SCENES}
PER_SCENE = 35
"""Values that are blanked one by one in each scene, spread over it evenly."""


def half(text: str) -> HalfScene:
    return half_text(text, Path("half.yaml"))


def leaves(node: Node, where: Where = ()) -> Iterator[tuple[Where, Node]]:
    if isinstance(node.value, str):
        yield where, node
    elif node.value is not None:
        inner = node.value.items() if isinstance(node.value, dict) else enumerate(node.value)
        for key, child in inner:
            yield from leaves(child, (*where, key))


def blanks() -> Iterator[Any]:
    for name, text in TEXTS.items():
        found = list(leaves(parsed(text)[0]))
        for number, (where, node) in enumerate(found[:: max(1, len(found) // PER_SCENE)]):
            mark = ("?", "'?'")[number % 2]
            yield pytest.param(name, where, node, mark, id=f"{name}:{'/'.join(map(str, where))}")


def without(values: Any, where: Where) -> Any:
    """The same values with None at a place."""
    if not where:
        return None
    if isinstance(values, dict):
        return {key: without(inner, where[1:]) if key == where[0] else inner for key, inner in values.items()}
    kind = type(values)
    return kind(without(inner, where[1:]) if number == where[0] else inner for number, inner in enumerate(values))


@pytest.mark.parametrize(("name", "where", "node", "mark"), list(blanks()))
def test_one_value_blanked_is_the_one_that_is_missing(name: str, where: Where, node: Node, mark: str) -> None:
    text = TEXTS[name]
    blanked = half(text[: node.start] + mark + text[node.end :])
    assert [(gap.where, gap.line) for gap in blanked.missing] == [(where, text[: node.start].count("\n") + 1)]
    assert blanked.values == without(half(text).values, where)  # and all else is still known
    told = [finding for finding in survey_of(blanked).findings if finding.kind != "assumed"]
    assert [(finding.where, finding.kind in ("missing", "unsaid")) for finding in told] == [(where, True)]
    assert told[0].measure


@pytest.mark.parametrize("name", TEXTS)
def test_a_whole_scene_lacks_nothing(name: str) -> None:
    whole = half(TEXTS[name])
    assert (whole.missing, whole.faults) == ((), ())
    assert whole.scene is not None


@pytest.mark.parametrize(
    ("line", "place"),
    [
        ("    length: 12'      # outside\n", ("walls", "SOUTH", "length")),
        ("    height: 8'\n", ("walls", "SOUTH", "height")),
        ('    studs: {every: 16"}\n', ("walls", "SOUTH", "studs")),
        ("    carries: UP\n", ("floors", "LOFT", "carries")),
        ("title: Pump house\n", ("title",)),
    ],
)
def test_a_key_that_must_be_there_is_missing_when_it_is_not(line: str, place: Where) -> None:
    from scene_sample import SHED

    assert line in SHED
    assert [gap.where for gap in half(SHED.replace(line, "", 1)).missing] == [place]


def test_an_empty_value_is_not_known() -> None:
    (gap,) = half(TEXTS["sail-loft"].replace("    heading: east\n", "    heading:\n", 1)).missing
    assert (gap.where, gap.required) == (("walls", "SOUTH", "heading"), True)


def test_what_may_be_left_out_says_so() -> None:
    (gap,) = half(TEXTS["sail-loft"].replace("lining: now ", "lining: ? ", 1)).missing
    assert (gap.where, gap.required) == (("walls", "SOUTH", "lining"), False)


def test_a_value_of_a_list_cannot_be_left_out_alone() -> None:
    text = TEXTS["sail-loft"].replace("lining: now ", 'extra_studs: [40", ?] ', 1)
    (gap,) = half(text).missing
    assert (gap.where, gap.required) == (("walls", "SOUTH", "extra_studs", 1), True)


def test_a_survey_wants_no_boxes_yet() -> None:
    text = TEXTS["sail-loft"]
    bare = half(text[: text.index("# along: from the wall's start to the middle of the box")])
    assert (bare.missing, bare.faults) == ((), ())


def test_faults_of_other_values_are_told_beside_a_gap() -> None:
    text = TEXTS["sail-loft"].replace("    length: 36'\n", "    length: ?\n", 1).replace("pitch: 8/12", "pitch: steep")
    found = half(text)
    assert [gap.where for gap in found.missing] == [("walls", "SOUTH", "length")]
    assert [fault.where for fault in found.faults] == [("roofs", "ROOF", "pitch")]


def test_a_question_in_a_title_is_text() -> None:
    text = TEXTS["sail-loft"].replace("title: bench wall", "title: bench wall, or what?")
    assert half(text).missing == ()
    assert half(text).value("walls", "SOUTH", "title") == "bench wall, or what?"

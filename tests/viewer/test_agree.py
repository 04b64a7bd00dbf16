"""One hole, box or cable looked up by its id on the sheets, on its stick, on the phone and in 3D: all say the same.

Each output is read back as somebody has it in hand: the text of the sheets, the sticks as drawn, what the phone page's
script is given, the nodes of the 3D file. To 1/16 in (1 mm on metric sheets, plus half of what a print rounds by).
"""

from __future__ import annotations

import json
import re
import struct
from functools import cache
from html.parser import HTMLParser

import numpy as np
import pytest
from page_sample import SCENES, scene_page, scene_plan

from barnloom.model.lengths import read_length
from barnloom.routing.plan import Plan
from barnloom.viewer.drawing import Line
from barnloom.viewer.drawings.members import stick_drawing, sticks
from barnloom.viewer.glb import building_glb
from barnloom.viewer.sheets.blocks import TICK, Sheet, Table
from barnloom.viewer.sheets.pack import pack_sheets

SIXTEENTH = 1 / 16
FIELD = re.compile(rf"{TICK}\s*(\S+)\s")
NODE = dict[str, object]


class Scripts(HTMLParser):
    """Contents of the scripts of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.inside, self.found = False, [""]
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.inside = tag == "script"

    def handle_endtag(self, tag: str) -> None:
        if tag == "script":
            self.inside = False
            self.found.append("")

    def handle_data(self, data: str) -> None:
        if self.inside:
            self.found[-1] += data


@cache
def phone(name: str) -> dict[str, list[dict[str, object]]]:
    return json.loads(next(text for text in Scripts(scene_page(name)).found if text.startswith("{")))


@cache
def nodes(name: str) -> dict[str, dict[str, object]]:
    data = building_glb(scene_plan(name))
    (length,) = struct.unpack_from("<I", data, 12)
    return {node["name"]: node for node in json.loads(data[20 : 20 + length])["nodes"] if "extras" in node}


@cache
def pack(name: str) -> tuple[Sheet, ...]:
    return tuple(pack_sheets(scene_plan(name), "letter"))


def blocks(items: object) -> list[object]:
    """All blocks of a sheet, those within others too."""
    found = []
    for block in items:
        found.append(block)
        for inner in ("blocks", "left", "right"):
            found += blocks(getattr(block, inner, ()))
    return found


@cache
def on_sheets(name: str) -> dict[str, tuple[float, float, int]]:
    """Along, aim and number of the stick of every hole to bore, by id, from the rows of the drill sheets."""
    found: dict[str, tuple[float, float, int]] = {}
    for sheet in pack(name):
        if not sheet.number.startswith("E"):
            continue
        for table in (block for block in blocks(sheet.blocks) if isinstance(block, Table)):
            place = (0.0, 0.0, 0)
            for row in table.rows:
                if isinstance(row, str):
                    ids = FIELD.findall(row)
                    assert not found.keys() & set(ids)
                    found |= dict.fromkeys(ids, place)
                else:
                    place = read_length(row[2]), read_length(row[3]), int(row[5])
                    if row[0]:
                        assert row[1] not in found
                        found[row[1]] = place
    return found


@cache
def on_cards(name: str) -> dict[str, str]:
    """What the phone page says of each hole, by id."""
    sections = re.findall(r'<section class="hole".*?</section>', scene_page(name), re.DOTALL)
    return {re.search(r"<h3[^>]*>Hole (\S+?) ", section).group(1): section for section in sections}


def shown_in(plan: Plan) -> float:
    """How far a printed length may lie from what it stands for."""
    return 1 / 25.4 / 2 + 1e-6 if plan.building.metric else SIXTEENTH / 2 + 1e-6


@pytest.mark.parametrize("scene", SCENES)
def test_every_hole_is_at_one_place_on_sheet_stick_phone_and_in_3d(scene: str) -> None:
    plan = scene_plan(scene)
    near = shown_in(plan)
    members = {member.id: member for member in plan.building.members}
    page = {hole["id"]: hole for hole in phone(scene)["holes"]}
    sheets = on_sheets(scene)
    assert set(sheets) == {bore.id for bore in plan.bores if not bore.existing}
    assert set(page) == {bore.id for bore in plan.bores}
    gauges = {}
    for number, stick in enumerate(sticks(plan), 1):
        drawing = stick_drawing(stick, metric=plan.building.metric)
        (aim,) = (item for item in drawing.items if item.layer == "aim" and isinstance(item, Line))
        gauges[number] = stick.across_from, aim.start[1], stick.diameter_in
    cards = on_cards(scene)
    for name, (along, aim, number) in sheets.items():
        there = page[name]["place"]
        assert along == pytest.approx(there["along"], abs=near)
        assert aim == pytest.approx(there["across"], abs=near)
        extras = nodes(scene)[name]["extras"]
        assert extras["along_in"] == pytest.approx(there["along"], abs=1e-6)
        assert extras["across_in"] == pytest.approx(there["across"], abs=1e-6)
        member = members[extras["member"]]
        across_from, on_stick, bit = gauges[number]
        assert (across_from, bit) == (member.across_from, page[name]["diameter"])
        assert on_stick == pytest.approx(there["across"], abs=1e-6)
        assert f"drill stick No. {number} (" in cards[name]
        # In the world: on the phone both mouths, in the 3D file (metres, y up) the middle of the hole.
        middle = np.mean(page[name]["ends"], axis=0)
        turn = np.array(nodes(scene)[name]["matrix"]).reshape(4, 4).T if "matrix" in nodes(scene)[name] else np.eye(4)
        east, up, south = turn[:3, 3] if "matrix" in nodes(scene)[name] else nodes(scene)[name]["translation"]
        assert np.array([east, -south, up]) / 0.0254 == pytest.approx(middle, abs=SIXTEENTH)


@pytest.mark.parametrize("scene", SCENES)
def test_every_box_and_cable_is_the_same_on_sheet_phone_and_in_3d(scene: str) -> None:
    plan = scene_plan(scene)
    near = shown_in(plan)
    boxes = {box["id"]: box for box in phone(scene)["boxes"]}
    for name, box in boxes.items():
        extras = nodes(scene)[name]["extras"]
        assert [extras[f"{axis}_in"] for axis in "xyz"] == pytest.approx(box["solids"][0][:3], abs=SIXTEENTH)
    cuts = {}
    for sheet in (sheet for sheet in pack(scene) if sheet.number == "C1"):
        for table in (block for block in blocks(sheet.blocks) if isinstance(block, Table)):
            cuts |= {row[2]: read_length(row[6]) for row in table.rows if not isinstance(row, str)}
    assert set(cuts) == {cable.id for cable in plan.cables if not cable.done}
    for name, cut in cuts.items():
        assert cut == pytest.approx(nodes(scene)[name]["extras"]["cut_in"], abs=near)
        (told,) = (cable for cable in phone(scene)["cables"] if cable["id"] == name)
        assert told["circuit"] == nodes(scene)[name]["extras"]["circuit"]

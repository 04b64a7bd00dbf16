"""The page as a file: what it weighs, what it allows, what stands in it without a script."""

from __future__ import annotations

import json
import re
from base64 import b64encode
from hashlib import sha256
from html.parser import HTMLParser

import numpy as np
import pytest
from page_sample import SCENES, scene_page, scene_plan

from barnloom.model.lengths import format_length
from barnloom.viewer.cautions import CAUTIONS
from barnloom.viewer.page import page_html
from barnloom.viewer.page.data import CABLES_APART_IN
from barnloom.viewer.page.lists import THREE_LICENSE
from barnloom.viewer.page.markup import data_block, element
from barnloom.viewer.paths import framing, path_words
from barnloom.viewer.wires import label

LARGEST = 2_000_000


class Reader(HTMLParser):
    """Elements with their attributes, text without scripts and styles, and the text of each card by its heading."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.raw: dict[str, list[str]] = {"script": [], "style": []}
        self.cards: dict[tuple[str, str], str] = {}
        self.text = ""
        self._inside = ""
        self._card: list[str] | None = None
        self._kind, self._name, self._heading = "", "", False
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        said = dict(attrs)
        self.elements.append((tag, said))
        if tag in self.raw:
            self._inside = tag
            self.raw[tag].append("")
        if tag == "article":
            self._card, self._kind, self._name = [], said["data-kind"], ""
        self._heading = self._card is not None and tag == "h2"

    def handle_endtag(self, tag):
        self._inside = ""
        if tag == "h2":
            self._heading = False
        if tag == "article":
            self.cards[self._kind, self._name] = "".join(self._card)
            self._card = None

    def handle_data(self, data):
        if self._inside:
            self.raw[self._inside][-1] += data
            return
        self.text += data
        if self._heading:
            self._name += data
        if self._card is not None:
            self._card.append(data)


@pytest.fixture(scope="module", params=SCENES)
def scene(request):
    return request.param


def test_page_is_small_enough_for_a_phone(scene):
    assert len(scene_page(scene).encode()) <= LARGEST


def test_same_plan_same_bytes():
    assert page_html(scene_plan("garden-studio")) == scene_page("garden-studio")


def test_policy_allows_what_is_written_and_nothing_else(scene):
    read = Reader(scene_page(scene))
    policies = [said["content"] for tag, said in read.elements if said.get("http-equiv") == "Content-Security-Policy"]
    assert len(policies) == 1
    rules = dict(rule.strip().split(" ", 1) for rule in policies[0].split(";"))
    assert rules["default-src"] == rules["base-uri"] == rules["form-action"] == "'none'"
    assert set(rules) == {"default-src", "script-src", "style-src", "img-src", "base-uri", "form-action"}
    assert rules["img-src"] == "data:"
    run = [text for text in read.raw["script"] if not text.startswith("{")]
    for name, texts in (("script-src", run), ("style-src", read.raw["style"])):
        # W3C CSP level 3, 6.7.3.3: the hash of the text of the element, in base64.
        wanted = {f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'" for text in texts}
        assert set(rules[name].split()) == wanted
    inline = {key for _, said in read.elements for key in said if key.startswith("on") or key == "style"}
    assert not inline


def test_nothing_is_named_to_be_fetched(scene):
    read = Reader(scene_page(scene))
    for tag, said in read.elements:
        for key in ("src", "href", "action", "data", "poster", "xlink:href"):
            assert (said.get(key) or "#").startswith("#") or (tag, said[key]) == ("link", "data:,")
    # The names of XML vocabularies are no addresses that anything is fetched from.
    assert set(re.findall(r"https?://[^\s\"'`)<]+", scene_page(scene))) <= {
        "http://www.w3.org/2000/svg",
        "http://www.w3.org/1999/xhtml",
    }
    assert "url(" not in read.raw["style"][0]
    assert "@import" not in read.raw["style"][0]


def test_every_link_leads_somewhere_and_no_anchor_is_there_twice(scene):
    read = Reader(scene_page(scene))
    anchors = [said["id"] for _, said in read.elements if said.get("id")]
    assert len(anchors) == len(set(anchors))
    for tag, said in read.elements:
        if tag == "a":
            assert said["href"][1:] in anchors
        for key in ("aria-labelledby", "aria-describedby", "for"):
            assert key not in said or said[key] in anchors


def test_every_hole_box_and_cable_is_told_on_its_card(scene):
    plan, cards = scene_plan(scene), Reader(scene_page(scene)).cards
    metric = plan.building.metric
    assert {name for kind, name in cards if kind == "member"} == {member.id for member in plan.building.members}
    assert {name for kind, name in cards if kind == "box"} == {box.id for box in plan.building.boxes}
    for bore in plan.bores:
        card = cards["member", bore.member]
        own = card[card.index(f"Hole {bore.id} ") :]
        low = format_length(bore.across_min_in, metric=metric, feet=False, rounding="up")
        high = format_length(bore.across_max_in, metric=metric, feet=False, rounding="down")
        told = [
            format_length(bore.diameter_in, metric=metric, feet=False),
            format_length(bore.along_in, metric=metric),
            format_length(bore.across_in, metric=metric, feet=False),
            *([] if bore.existing else [f"{low} to {high}"]),
            *bore.nail_plates,
            bore.rule,
        ]
        places = [own.index(words) for words in told]
        assert max(places) < own.index("Cables through it")
        assert all(cable in own[own.index("Cables through it") :] for cable in bore.cables)
    names = framing(plan)
    for cable in plan.cables:
        card = cards["cable", cable.id]
        assert label(cable) in card
        assert all(step in card for step in path_words(names, cable, metric=metric))
        assert f"= cut {format_length(cable.cut_in, metric=metric)}" in card
    for makeup in plan.makeups:
        card = cards["box", makeup.box]
        for cable in plan.cables:
            assert (label(cable) in card) == (makeup.box in (cable.from_box, cable.to_box))
        for line in makeup.fill:
            assert f"{line.total_in3:.2f}" in card


def test_picture_has_every_hole_box_and_cable_where_the_plan_has_them(scene):
    plan = scene_plan(scene)
    data = json.loads(next(text for text in Reader(scene_page(scene)).raw["script"] if text.startswith("{")))
    members = {member.id: member for member in plan.building.members}
    holes = {hole["id"]: hole for hole in data["holes"]}
    assert len(holes) == len(plan.bores)
    for bore in plan.bores:
        hole, member = holes[bore.id], members[bore.member]
        axes = np.array([member.along, member.bit, member.across])
        for end, deep in zip(hole["ends"], (0.0, member.thickness_in), strict=True):
            assert np.array(member.origin) + np.array([bore.along_in, deep, bore.across_in]) @ axes == pytest.approx(
                end, abs=1 / 64
            )
        assert hole["place"] == {"along": bore.along_in, "across": bore.across_in}
        assert hole["diameter"] == bore.diameter_in
        assert hole["cables"] == list(bore.cables)
    boxes = {box["id"]: box for box in data["boxes"]}
    for box in plan.building.boxes:
        assert boxes[box.id]["solids"][0][:3] == pytest.approx(box.at, abs=1 / 64)
    cables = {cable["id"]: cable for cable in data["cables"]}
    for cable in plan.cables:
        # Drawn beside those it would lie on, by a few of the distances kept between them; a corner between two legs
        # that go nearly the same way in the picture moves farther than they do.
        drawn = np.array(cables[cable.id]["points"])
        assert np.abs(drawn - np.array(cable.points)).max() < 12 * CABLES_APART_IN
        assert cables[cable.id]["circuit"] == cable.circuit
    solids = [solid for member in data["members"] for solid in member["solids"]]
    volume = sum(
        (ply.along[1] - ply.along[0]) * (ply.bit[1] - ply.bit[0]) * (ply.across[1] - ply.across[0])
        for member in plan.building.members
        for ply in member.plies
    )
    assert sum(a * b * c for _, _, _, a, b, c, _ in solids) == pytest.approx(volume, rel=1e-3)


def test_cautions_and_licence_are_there_without_a_script(scene):
    read = Reader(scene_page(scene))
    text = " ".join(read.text.split())
    assert all(text.count(caution) >= 2 for caution in CAUTIONS)
    assert text.index(CAUTIONS[0]) < text.index("Which one?")
    assert all(" ".join(part.split()) in text for part in THREE_LICENSE.read_text(encoding="utf-8").split("\n\n"))
    assert "svg" in {tag for tag, _ in read.elements}


def test_text_cannot_leave_its_place():
    assert element("p", {"title": '"><b>'}, "<i>&") == '<p title="&quot;&gt;&lt;b&gt;">&lt;i&gt;&amp;</p>'
    assert element("p", None, "a\u202eb\x00\x1b[0m") == "<p>ab [0m</p>"
    block = data_block("x", {"a": "</script><!--<script>&\u2028"})
    assert re.fullmatch(r'<script type="application/json" id="x">[^<>&\u2028]*</script>', block)

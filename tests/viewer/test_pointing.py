"""Pointing at things: a line of sight through the middle of a thing meets it, or what is seen before it."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_look import planned

from barnloom.viewer.layout import CABLE_PX, RING_PX, Layout, layout
from barnloom.viewer.look import Look, look_at
from barnloom.viewer.pointing import Thing, pointed, words
from barnloom.viewer.solids import corners

NAME = "sail-loft"
LOOKS = ("whole", "below", "cut")
FAR_IN = 2000.0


@cache
def laid_out(look: str) -> Layout:
    plan = planned(NAME)
    looks = {"whole": Look(), "below": look_at(plan, below="DECK"), "cut": look_at(plan, cut_away=True)}
    return layout(plan, looks[look])


def aimed(laid: Layout, place) -> Thing | None:
    toward = laid.view.axes[2]
    return pointed(laid, np.array(place) + FAR_IN * toward, -toward, within_in=0.0)


def covers(laid: Layout, solids: np.ndarray, place) -> list[int]:
    """Which boxes of eight corners hide a place or lie behind it: their outline on the picture holds it."""
    x, y = laid.view.plane(np.array(place))
    found = []
    for i, points in enumerate(laid.view.plane(solids)):
        # A place outside a convex outline can be told from all corners by one straight line through it.
        turns = np.sort(np.arctan2(points[:, 1] - y, points[:, 0] - x))
        gaps = np.diff([*turns, turns[0] + 2 * np.pi])
        if gaps.max() < np.pi - 1e-9:
            found.append(i)
    return found


def far_from_line(laid: Layout, index: int, place) -> float:
    line = laid.view.plane(laid.paths[index])
    dense = np.concatenate([np.linspace(a, b, 400) for a, b in zip(line, line[1:], strict=False)])
    return float(np.hypot(*(dense - laid.view.plane(np.array(place))).T).min())


def expected(laid: Layout, place) -> set[tuple[str, str]]:
    """Everything that may be meant by a place, by the rule: holes before boxes before cables before framing."""
    at = laid.view.plane(np.array(place))
    far = [np.hypot(*(laid.view.plane(ring) - at).T).min() for ring in laid.rings]
    if far and min(far) <= RING_PX * laid.px:
        return {("hole", b.id) for b, d in zip(laid.plan.bores, far, strict=True) if d <= min(far) + 1e-6}
    boxes = covers(laid, laid.bodies, place)
    if boxes:
        near = laid.view.nearness(laid.bodies.mean(axis=1))
        best = max(near[boxes])
        return {("box", laid.plan.building.boxes[i].id) for i in boxes if near[i] > best - 12}
    lines = [far_from_line(laid, i, place) for i in range(len(laid.paths))]
    if min(lines) <= CABLE_PX / 2 * laid.px - 0.05:
        return {("cable", c.id) for c, d in zip(laid.plan.cables, lines, strict=True) if d <= min(lines) + 0.2}
    solids, owner = corners(laid.members)
    return {("member", laid.members[owner[i]].id) for i in covers(laid, solids, place)}


def near_an_edge(laid: Layout, place) -> bool:
    """Where a cable's edge or an outline is so near that the two ways of counting may differ."""
    lines = [far_from_line(laid, i, place) for i in range(len(laid.paths))]
    return abs(min(lines) - CABLE_PX / 2 * laid.px) < 0.1


@settings(deadline=None, max_examples=80)
@given(st.sampled_from(LOOKS), st.data())
def test_pointing_at_the_middle_of_a_thing_picks_it_or_what_is_before_it(look, data):
    laid = laid_out(look)
    kind = data.draw(st.sampled_from(["hole", "box", "cable", "member"]))
    if kind == "hole":
        i = data.draw(st.integers(0, len(laid.rings) - 1))
        own, place = laid.plan.bores[i].id, laid.rings[i][0]
    elif kind == "box":
        i = data.draw(st.integers(0, len(laid.bodies) - 1))
        own, place = laid.plan.building.boxes[i].id, laid.bodies[i].mean(axis=0)
    elif kind == "cable":
        i = data.draw(st.integers(0, len(laid.paths) - 1))
        path = laid.paths[i]
        leg = int(np.argmax(np.linalg.norm(np.diff(path, axis=0), axis=1)))
        own, place = laid.plan.cables[i].id, path[leg : leg + 2].mean(axis=0)
    else:
        solids, owner = corners(laid.members)
        i = data.draw(st.integers(0, len(solids) - 1))
        own, place = laid.members[owner[i]].id, solids[i].mean(axis=0)
        if near_an_edge(laid, place):
            return
    found = aimed(laid, place)
    right = expected(laid, place)
    assert found is not None
    assert (found.kind, found.id) in right
    # Nothing of a later kind is ever before it, so that what was aimed at is at least among what is there.
    order = ["hole", "box", "cable", "member"]
    assert order.index(found.kind) <= order.index(kind)
    if found.kind == kind and kind in {"hole", "cable"}:
        assert (kind, own) in right


@pytest.mark.parametrize("look", LOOKS)
def test_of_two_timbers_the_nearer_one_is_meant(look):
    laid = laid_out(look)
    solids, owner = corners(laid.members)
    tried = 0
    for i in range(0, len(solids), 7):
        place = solids[i].mean(axis=0)
        found = aimed(laid, place)
        if found is None or found.kind != "member":
            continue
        (hit,) = {m.id: m for m in laid.members if m.id == found.id}.values()
        mine = [solid for solid, at in zip(solids, owner, strict=True) if laid.members[at].id == hit.id]
        # Nothing that is wholly nearer to the eye than all of it covers the place.
        nearest = max(laid.view.nearness(solid).max() for solid in mine)
        before = [j for j in covers(laid, solids, place) if laid.view.nearness(solids[j]).min() > nearest + 1e-6]
        assert not before, (found, [laid.members[owner[j]].id for j in before])
        tried += 1
    assert tried >= 10


def test_beside_everything_there_is_nothing():
    laid = laid_out("whole")
    right, up, _ = laid.view.axes
    corner = right * (laid.area.left - 1000) + up * laid.area.top
    assert aimed(laid, corner) is None


def test_thin_things_count_a_little_beside_the_line():
    laid = laid_out("below")
    right, up, toward = laid.view.axes
    ring = laid.rings[0][0]
    reach = RING_PX * laid.px
    hole = Thing("hole", laid.plan.bores[0].id)
    alone = min(np.hypot(*(laid.view.plane(np.concatenate(laid.rings[1:])) - laid.view.plane(ring)).T))
    beside = ring + up * min(0.45 * alone, 0.9 * reach)
    assert aimed(laid, beside) == hole
    far = ring - right * 500 - up * 500
    assert pointed(laid, far + FAR_IN * toward, -toward, within_in=800.0).kind == "hole"


def test_what_is_said_of_a_thing_is_what_the_lists_say():
    plan = planned(NAME)
    for bore in plan.bores:
        said = words(plan, Thing("hole", bore.id))
        assert said.startswith(f"hole {bore.id}: ")
        assert said.endswith("cables " + ", ".join(bore.cables))
    for cable in plan.cables:
        said = words(plan, Thing("cable", cable.id))
        cut = re.search(rf"{cable.from_box} to {cable.to_box}, cut ([0-9.]+) ft", said)
        assert cut is not None
        assert abs(float(cut[1]) - cable.cut_in / 12) <= 0.05 + 1e-9
        assert f"{len(cable.bores)} hole" in said
    for box in plan.building.boxes:
        said = words(plan, Thing("box", box.id))
        assert f" {box.id}:" in said
        assert said.endswith("circuits " + ", ".join(box.circuits))
    for member in plan.building.members:
        said = words(plan, Thing("member", member.id))
        own = [bore.id for bore in plan.bores if bore.member == member.id]
        assert all(name in said for name in own)
        assert said.endswith("no holes") == (not own)


def test_the_allowed_band_is_said_inward():
    # 2-3/8 in is 2.375; a band from just over it is printed as 2-7/16, to just under 6-7/8 as 6-13/16.
    plan = planned(NAME)
    bore = replace(plan.bores[0], across_min_in=2.38, across_max_in=6.87, diameter_in=0.75)
    said = words(replace(plan, bores=(bore,)), Thing("hole", bore.id))
    assert 'allowed 2-7/16" to 6-13/16"' in said
    assert '3/4" bit' in said

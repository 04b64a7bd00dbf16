"""The line drawing of a plan."""

from __future__ import annotations

import time
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from picture_sample import sample_plan

from barnloom.viewer.axonometry import View
from barnloom.viewer.captions import NEAR_PX
from barnloom.viewer.drawing import Circle, Polygon, Polyline, Text
from barnloom.viewer.isometric import isometric
from barnloom.viewer.layout import layout, shown_members
from barnloom.viewer.palette import COLOURS, DASHES, styles
from barnloom.viewer.svg import to_svg
from barnloom.viewer.totals import shares

PLAN = sample_plan()
DRAWN = isometric(PLAN)


def of(layer: str, kind: type, drawing=DRAWN):
    return [item for item in drawing.items if item.layer == layer and isinstance(item, kind)]


def box_of(points):
    return (*np.min(points, axis=0), *np.max(points, axis=0))


def test_isometric_view_shortens_all_three_axes_alike():
    lengths = np.hypot(*View(azimuth_deg=-45).plane(np.eye(3)).T)
    assert lengths == pytest.approx([np.sqrt(2 / 3)] * 3)


def test_east_goes_right_and_down_and_up_goes_up():
    east, north, up = View().plane(np.eye(3))
    assert east[0] > 0 > east[1]
    assert north[0] > 0 < north[1]
    assert up == pytest.approx([0, np.sqrt(2 / 3)])


def test_labels_do_not_overlap_one_another():
    plates = [box_of(item.points) for item in of("labels", Polygon)]
    assert len(plates) >= 12 + 3 + 3 + 8
    for a, b in combinations(plates, 2):
        assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


def test_every_box_and_every_circuit_is_named():
    names = [item.text for item in of("labels", Text)]
    assert {box.id for box in PLAN.building.boxes} <= set(names)
    assert {circuit.id for circuit in PLAN.building.circuits} <= set(names)


def places_of_labels():
    plates = zip(of("labels", Text), of("labels", Polygon), strict=True)
    return [(text.text, np.mean(plate.points, axis=0)) for text, plate in plates]


def test_every_home_run_has_a_label_of_its_circuit_by_the_panel():
    laid = layout(PLAN)
    home_runs = [c for c in zip(laid.plan.cables, laid.lines(), strict=True) if c[0].from_box == "PANEL"]
    assert len(home_runs) == 3
    for cable, line in home_runs:
        far = min(np.hypot(*(place - line[0])) for name, place in places_of_labels() if name == cable.circuit)
        assert far < 130 * laid.px, cable.id


def test_every_cable_has_a_label_of_its_circuit_near_its_middle():
    laid = layout(PLAN)
    for cable, line in zip(laid.plan.cables, laid.lines(), strict=True):
        dense = np.concatenate([np.linspace(a, b, 50) for a, b in zip(line, line[1:], strict=False)])
        steps = np.concatenate([[0.0], np.hypot(*np.diff(dense, axis=0).T).cumsum()])
        middle = dense[np.searchsorted(steps, steps[-1] / 2)]
        far = min(np.hypot(*(place - middle)) for name, place in places_of_labels() if name == cable.circuit)
        assert far < (NEAR_PX + 120) * laid.px, cable.id


def test_legend_has_the_feet_and_holes_of_each_circuit():
    text = " | ".join(item.text for item in of("legend", Text))
    for share in shares(PLAN):
        if share.by in {"circuit", "total"}:
            assert f"{share.feet:.1f} ft, {share.holes} holes" in text
    assert "TOOLS | bench outlets" in text


def test_legend_of_a_metric_scene_is_in_metres():
    metric = isometric(replace(PLAN, building=replace(PLAN.building, metric=True)))
    total = float(next(share.feet for share in shares(PLAN) if share.by == "total"))
    assert f"Together {total * 0.3048:.1f} m, 69 holes" in [item.text for item in of("legend", Text, metric)]


def test_cautions_and_not_to_scale_are_on_the_picture():
    text = " ".join(item.text for item in of("caution", Text))
    assert "Not to scale" in text
    assert "Dead before touching" in text
    assert "storeys are drawn apart; roof timbers without cables are left out." in text


def test_only_what_was_done_to_the_picture_is_said():
    building = PLAN.building
    walls = tuple(m for m in building.members if m.id[0] in "SENW")
    low = replace(PLAN, building=replace(building, members=walls, storeys=building.storeys[:1]), bores=())
    text = " ".join(item.text for item in of("caution", Text, isometric(low)))
    assert "side by side where they run behind one another. Dead" in text


def test_boxes_without_a_route_are_named_in_the_legend():
    lost = isometric(replace(PLAN, unreached=("saw", "winch")))
    assert "Boxes without a route: saw, winch" in " ".join(item.text for item in of("legend", Text, lost))


def test_circuits_differ_in_colour_and_in_pattern():
    drawn = {(item.pen.colour, item.pen.dash) for item in of("cables", Polyline) if item.pen.colour != "#ffffff"}
    assert len(drawn) == len({dash for _, dash in drawn}) == len({colour for colour, _ in drawn}) == 3


def test_style_of_a_circuit_does_not_depend_on_the_cables():
    assert styles(replace(PLAN, cables=PLAN.cables[5:])) == styles(PLAN)
    assert np.lcm(len(COLOURS), len(DASHES)) == len(COLOURS) * len(DASHES) >= 42


def test_a_ring_on_every_cable_of_every_bore_joined_where_there_are_several():
    rings, joins = of("bores", Circle), of("bores", Polyline)
    assert len(PLAN.bores) == 69
    assert len(rings) == sum(len(bore.cables) for bore in PLAN.bores) > 69
    assert len(joins) == sum(len(bore.cables) > 1 for bore in PLAN.bores) > 0
    laid = layout(PLAN)
    by_cable = dict(zip([cable.id for cable in laid.plan.cables], laid.lines(), strict=True))
    for bore, places in zip(laid.plan.bores, laid.rings, strict=True):
        for cable, place in zip(bore.cables, laid.view.plane(places), strict=True):
            line = by_cable[cable]
            dense = np.concatenate([np.linspace(a, b, 300) for a, b in zip(line, line[1:], strict=False)])
            assert np.hypot(*(dense - place).T).min() < 2 * laid.px, (bore.id, cable)


def test_roofs_that_no_cable_uses_are_left_out():
    assert not {m.assembly for m in shown_members(PLAN)} & {"ROOFS", "ROOFN"}
    lamp = replace(PLAN.building.boxes[1], host="ROOFS-R3", id="roof-lamp")
    lit = replace(PLAN, building=replace(PLAN.building, boxes=(*PLAN.building.boxes, lamp)))
    assert {m.id for m in shown_members(lit)} - {m.id for m in shown_members(PLAN)} == {"ROOFS-R3"}


def test_everything_lies_within_the_picture():
    b = DRAWN.bounds
    for item in DRAWN.items:
        points = np.array(getattr(item, "points", ((b.left, b.bottom),)))
        assert (points >= [b.left - 1e-6, b.bottom - 1e-6]).all()
        assert (points <= [b.right + 1e-6, b.top + 1e-6]).all()


def test_a_plan_without_cables_or_members_is_still_a_picture():
    bare = replace(PLAN, cables=(), bores=(), building=replace(PLAN.building, boxes=(), circuits=()))
    empty = replace(bare, building=replace(bare.building, members=(), assemblies=()))
    for plan in (bare, empty):
        ET.fromstring(to_svg(isometric(plan), width_mm=200))


def test_the_same_plan_gives_the_same_bytes_whatever_the_order_of_its_parts():
    again = isometric(sample_plan())
    assert to_svg(again, width_mm=200) == to_svg(DRAWN, width_mm=200)
    building = PLAN.building
    mixed = {part: getattr(building, part)[::-1] for part in ("members", "boxes", "circuits", "assemblies")}
    turned = replace(PLAN, cables=PLAN.cables[::-1], building=replace(building, **mixed))
    assert to_svg(isometric(turned), width_mm=200) == to_svg(DRAWN, width_mm=200)


def test_hundreds_of_boxes_are_labelled_or_named_as_left_out_and_soon():
    boxes = tuple(
        replace(PLAN.building.boxes[1], id=f"crowded-box-{i:03d}", at=(i % 20 * 14.0, i // 20 * 9.0, 50.0))
        for i in range(400)
    )
    plan = replace(PLAN, building=replace(PLAN.building, boxes=boxes), cables=(), bores=())
    start = time.perf_counter()
    crowd = isometric(plan)
    assert time.perf_counter() - start < 10
    plates = [box_of(item.points) for item in of("labels", Polygon, crowd)]
    left, bottom, right, top = np.array(plates).T
    apart = (right[:, None] <= left) | (right <= left[:, None]) | (top[:, None] <= bottom) | (top <= bottom[:, None])
    assert (apart | np.eye(len(plates), dtype=bool)).all()
    labelled = [t.text for t in of("labels", Text, crowd) if t.text.startswith("crowded")]
    legend = " ".join(item.text for item in of("legend", Text, crowd))
    assert len(labelled) == 400 or "No room for the labels of" in legend

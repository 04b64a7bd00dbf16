"""What a picture of a part shows, against what the plan's places and lists say of that part."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import numpy as np
import pytest
from test_look import NAMES, planned, texts

from barnloom.model.building import Role
from barnloom.viewer.drawing import Circle
from barnloom.viewer.isometric import isometric
from barnloom.viewer.layout import layout
from barnloom.viewer.look import BEHIND, Look, look_at, standard_looks
from barnloom.viewer.seen import seen
from barnloom.viewer.tables import csv_tables

PARTS = [(n, look) for n in NAMES for look in standard_looks(planned(n)) if look != "whole"]


def rows(name: str, table: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(csv_tables(planned(name))[table])))


@pytest.mark.parametrize("storey", ["SHOP", "LOFT"])
def test_a_storey_is_what_lies_between_its_floor_and_the_next(storey):
    plan = planned("sail-loft")
    loft = next(s.floor_in for s in plan.building.storeys if s.id == "LOFT")
    part = seen(plan, Look(storeys=(storey,)))
    above = {box.id for box in plan.building.boxes if box.at[2] > loft}
    below = {box.id for box in plan.building.boxes} - above
    assert {box.id for box in part.plan.building.boxes} == (above if storey == "LOFT" else below) != set()
    for cable in part.plan.cables:
        heights = [z for _, _, z in cable.points]
        assert min(heights) > loft - 2 if storey == "LOFT" else max(heights) < loft + 2, cable.id
    assert {end.way for end in part.ends} == {"down" if storey == "LOFT" else "up"}


@pytest.mark.parametrize("name", NAMES)
def test_feet_and_cables_of_a_circuit_are_those_of_the_list(name):
    plan = planned(name)
    metric = plan.building.metric
    every = sum(float(row["cut_ft"]) for row in rows(name, "cables.csv"))
    for circuit in {row["circuit"] for row in rows(name, "cables.csv")}:
        own = [row for row in rows(name, "cables.csv") if row["circuit"] == circuit]
        feet = sum(float(row["cut_ft"]) for row in own)
        run, all_of_it = (f"{x * 0.3048:.1f} m" if metric else f"{x:.1f} ft" for x in (feet, every))
        drawing = isometric(plan, standard_looks(plan)[f"circuit-{circuit}"])
        legend = texts(drawing, "legend")
        assert any(t.startswith(f"{run}, ") and f", {len(own)} cable" in t for t in legend), (circuit, legend)
        assert f"Together {run} of {all_of_it}" in legend
        bored = {bore for row in own for bore in row["bores"].split()}
        assert any(t.startswith(f"{len(bored)} of {len(plan.bores)} hole") for t in legend)
        laid = layout(plan, standard_looks(plan)[f"circuit-{circuit}"])
        assert {bore.id for bore in laid.plan.bores} == bored
        # One ring a cable of this circuit in each hole: cables of others are drawn without.
        rings = [item for item in drawing.items if item.layer == "bores" and isinstance(item, Circle)]
        assert len(rings) == sum(len(row["bores"].split()) for row in own)


@pytest.mark.parametrize(("name", "ceiling"), [("sail-loft", "DECK"), ("sail-loft", "ROOF-B"), ("cider-mill", "WEST")])
def test_below_a_ceiling_only_its_own_holes_and_boxes_are_seen(name, ceiling):
    plan = planned(name)
    own = {member.id for member in plan.building.members if member.assembly == ceiling}
    laid = layout(plan, look_at(plan, below=ceiling))
    held = {box.id for box in plan.building.boxes if box.host in own | {ceiling}}
    assert held <= {box.id for box in laid.plan.building.boxes}
    bores = {row["hole"] for row in rows(name, "holes.csv") if row["member"] in own}
    shown = {bore.id for bore in laid.plan.bores}
    assert {bore for bore in shown if bore in bores} == bores
    others = {member.id: member for member in laid.members if member.id not in own}
    # What else is there carries cable close under the ceiling, and stands alone.
    assert all(member.assembly == member.id for member in others.values())
    assert all(bore.member in own or bore.member in others for bore in laid.plan.bores)
    if name == "sail-loft":
        assert shown == bores
        legend = " ".join(texts(isometric(plan, look_at(plan, below=ceiling)), "legend"))
        assert f"{len(bores)} of {len(plan.bores)} holes" in legend


@pytest.mark.parametrize("view", [Look().view, BEHIND])
def test_cut_open_the_walls_before_the_eye_are_gone(view):
    plan = planned("sail-loft")
    looks = [look for name, look in standard_looks(plan).items() if name.startswith("cut-away") and look.view == view]
    (look,) = looks
    walls = [a for a in plan.building.assemblies if a.kind == "wall"]
    spots = {a.id: np.array(a.origin)[:2] + np.mean(a.extent_u) * np.array(a.u)[:2] for a in walls}
    middle = np.mean([*spots.values()], axis=0)
    toward = view.axes[2][:2]
    # The building is a rectangle: what is before its middle is before the eye.
    before = {wall for wall, spot in spots.items() if (spot - middle) @ toward > 0}
    assert set(look.without) == before
    assert all(wall in texts(isometric(plan, look), "title")[1] for wall in before)
    laid = layout(plan, look)
    assert not {member.assembly for member in laid.members} & before
    assert not {box.host for box in laid.plan.building.boxes} & before
    assert not {f"wall {wall}" for wall in before} & set(texts(isometric(plan, look), "labels"))


@pytest.mark.parametrize(("name", "look"), PARTS)
def test_cables_are_cut_where_the_picture_ends_and_nowhere_else(name, look):
    plan = planned(name)
    part = seen(plan, standard_looks(plan)[look])
    whole = {cable.id: cable for cable in plan.cables}
    met: dict[str, list[int]] = {}
    for index, cable in enumerate(part.plan.cables):
        points = whole[cable.id].points
        (start,) = [i for i in range(len(points)) if points[i : i + len(cable.points)] == cable.points]
        end = start + len(cable.tracks)
        assert whole[cable.id].tracks[start:end] == cable.tracks
        met.setdefault(cable.id, []).extend(range(start, end))
        ends = {(e.last, e.to) for e in part.ends if e.cable == index}
        if cable.circuit in part.quiet_circuits:
            assert not ends
            continue
        expected = set()
        if start > 0:
            expected.add((False, cable.from_box))
        if end < len(points) - 1:
            expected.add((True, cable.to_box))
        assert ends == expected, cable.id
        assert cable.cut_in == whole[cable.id].cut_in
    assert all(len(legs) == len(set(legs)) for legs in met.values())
    # Nothing that bores a member of the picture is missing from it.
    shown = {member.id for member in part.plan.building.members}
    told = [bore for bore in plan.bores if bore.member in shown]
    for bore in told:
        circuits = {whole[cable].circuit for cable in bore.cables}
        assert (bore.id in {b.id for b in part.plan.bores}) == bool(circuits - part.quiet_circuits)


@pytest.mark.parametrize(("name", "look"), PARTS)
def test_every_cut_end_says_where_the_cable_goes(name, look):
    plan = planned(name)
    part = standard_looks(plan)[look]
    laid = layout(plan, part)
    labels = [text.split(" to ") for text in texts(isometric(plan, part), "labels") if " to " in text]
    assert {way for way, _ in labels} == {end.way for end in laid.ends}
    said = {(way, box) for way, boxes in labels for box in boxes.replace(" and ", ", ").split(", ")}
    more = {way for way, box in said if box.endswith(" more")}
    for end in laid.ends:
        assert (end.way, end.to) in said or end.way in more, end


def test_framing_that_is_hidden_leaves_its_cable():
    plan = planned("garden-studio")
    laid = layout(plan, Look(without_roles=(Role.STUD,)))
    assert Role.STUD not in {member.role for member in laid.members}
    assert Role.SOLE_PLATE in {member.role for member in laid.members}
    assert len(laid.plan.bores) == len(plan.bores)
    assert {cable.id: cable.points for cable in laid.plan.cables} == {cable.id: cable.points for cable in plan.cables}


def test_a_cable_of_several_circuits_stands_out_with_each():
    plan = planned("garden-studio")
    joint = replace(plan, cables=tuple(replace(cable, circuit="A B") for cable in plan.cables))
    assert not seen(joint, Look(circuits=("B",))).quiet_circuits
    assert seen(joint, Look(circuits=("C",))).quiet_circuits == {"A B"}

"""Corners, bores and tubes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from picture_sample import sample_plan

from barnloom.model.building import Box, Ply
from barnloom.viewer.apart import apart
from barnloom.viewer.solids import EDGES, FACES, bore_ends, box_corners, corners, rounded, tube

PLAN = sample_plan()
MEMBERS = {m.id: m for m in PLAN.building.members}


def test_corners_of_a_joist_are_where_its_axes_put_them():
    (solid,), (owner,) = corners([MEMBERS["FLOOR-J2"]])
    assert owner == 0
    assert solid.min(axis=0) == pytest.approx([16, 1.5, 96])
    assert solid.max(axis=0) == pytest.approx([17.5, 190.5, 105.25])


def test_plies_have_solids_of_their_own_even_in_left_handed_axes():
    joist = MEMBERS["FLOOR-J2"]
    pack = replace(
        joist,
        along=(0.0, -1.0, 0.0),
        plies=(Ply(along=(0, 100), bit=(0, 1.5), across=(0, 9)), Ply(along=(10, 60), bit=(1.5, 3), across=(2, 9))),
    )
    solids, owner = corners([joist, pack])
    assert list(owner) == [0, 1, 1]
    volumes = [trimesh.Trimesh(s, FACES[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3)).volume for s in solids]
    assert volumes == pytest.approx([189 * 1.5 * 9.25, 100 * 1.5 * 9, 50 * 1.5 * 7])


def test_edges_are_the_twelve_of_a_box():
    solid = corners([MEMBERS["S-S1"]])[0][0]
    lengths = sorted(np.linalg.norm(solid[EDGES[:, 0]] - solid[EDGES[:, 1]], axis=1))
    assert lengths == pytest.approx([1.5] * 4 + [3.5] * 4 + [91.5] * 4)


def test_no_members_boxes_or_bores_give_empty_arrays():
    assert corners([])[0].shape == (0, 8, 3)
    assert box_corners([], PLAN.building).shape == (0, 8, 3)
    assert bore_ends([], PLAN.building)[0].shape == (0, 3)


def test_a_box_in_a_wall_and_one_on_a_timber_have_their_bodies():
    panel = PLAN.building.boxes[0]
    body = box_corners([panel], PLAN.building)[0]
    assert np.ptp(body, axis=0) == pytest.approx([3.5, 14.5, 24.0])
    on: Box = replace(panel, host="FLOOR-J2", side="+bit", size_in=(4.0, 3.0, 2.0), at=(18.5, 50.0, 100.0))
    assert np.ptp(box_corners([on], PLAN.building)[0], axis=0) == pytest.approx([2.0, 4.0, 3.0])


def test_cables_go_through_the_middle_of_their_bores():
    bores = {bore.id: ends for bore, *ends in zip(PLAN.bores, *bore_ends(PLAN.bores, PLAN.building), strict=True)}
    for cable in PLAN.cables:
        path = np.array(cable.points)
        for name in cable.bores:
            middle = np.mean(bores[name], axis=0)
            a, b = path[:-1], path[1:]
            t = np.clip(((middle - a) * (b - a)).sum(axis=1) / ((b - a) ** 2).sum(axis=1), 0, 1)
            assert np.linalg.norm(a + t[:, None] * (b - a) - middle, axis=1).min() == pytest.approx(0, abs=1e-3)


def test_rounding_keeps_the_ends_and_stays_within_the_corner():
    path = np.array([[0.0, 0, 0], [10, 0, 0], [10, 10, 0], [10, 10, 0], [10, 10, 1]])
    smooth = rounded(path, 2.0)
    assert smooth[[0, -1]] == pytest.approx(path[[0, -1]])
    assert (smooth.min(axis=0) >= -1e-9).all()
    assert (smooth.max(axis=0) <= [10, 10, 1]).all()
    # A parabola that touches both legs 2 in from their corner passes it at 2 sqrt(2) / 4.
    assert np.linalg.norm(smooth - [10, 0, 0], axis=-1).min() == pytest.approx(np.sqrt(2) / 2)


def test_a_tube_is_closed_and_as_thick_as_asked():
    path = rounded(np.array([[0.0, 0, 0], [30, 0, 0], [30, 40, 0], [30, 40, -20]]), 2.0)
    mesh = trimesh.Trimesh(*tube(path, 0.5, sides=24))
    length = np.linalg.norm(np.diff(path, axis=0), axis=1).sum()
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(np.pi * 0.25 * length, rel=0.02)


def test_storeys_are_lifted_apart_with_their_cables_and_boxes():
    lifted = apart(PLAN, 100.0)
    before, after = PLAN.building, lifted.building

    def raised(old, new):
        return {a.id: round(b - a_z, 6) for a, (a_z, b) in zip(old, new, strict=True)}

    members = raised(
        before.members, [(a.origin[2], b.origin[2]) for a, b in zip(before.members, after.members, strict=True)]
    )
    assert {members[m.id] for m in before.members if m.id[0] in "SENW"} == {0.0}
    assert {members[m.id] for m in before.members if m.id[0] in "senwFR"} == {100.0}
    boxes = raised(before.boxes, [(a.at[2], b.at[2]) for a, b in zip(before.boxes, after.boxes, strict=True)])
    assert (boxes["PANEL"], boxes["lamp-1"], boxes["sewing"]) == (0.0, 100.0, 100.0)
    for bore, low, high in zip(
        PLAN.bores, bore_ends(PLAN.bores, before)[0], bore_ends(lifted.bores, after)[0], strict=True
    ):
        assert high - low == pytest.approx([0, 0, members[bore.member]])


def test_a_post_through_the_floor_is_stretched_and_its_bores_stay_on_its_cables():
    stud = MEMBERS["S-S3"]
    post = replace(stud, length_in=200.0, plies=(replace(stud.plies[0], along=(0.0, 200.0)),))
    building = replace(PLAN.building, members=tuple(post if m is stud else m for m in PLAN.building.members))
    bores = tuple(replace(PLAN.bores[0], id=f"b{at}", member=post.id, along_in=at) for at in (40.0, 150.0))
    lifted = apart(replace(PLAN, building=building, bores=bores), 100.0)
    new = next(m for m in lifted.building.members if m.id == post.id)
    assert (new.origin, new.length_in, new.plies[0].along) == (post.origin, 300.0, (0.0, 300.0))
    assert [bore.along_in for bore in lifted.bores] == [40.0, 250.0]


def test_a_floor_with_nothing_on_it_is_not_lifted():
    building = PLAN.building
    below = replace(
        building,
        assemblies=tuple(a for a in building.assemblies if a.id not in "senw"),
        boxes=tuple(box for box in building.boxes if box.storey == "ground"),
    )
    plan = replace(PLAN, building=below)
    assert apart(plan, 100.0) is plan


def test_a_building_of_one_storey_is_left_as_it_is():
    building = replace(PLAN.building, storeys=PLAN.building.storeys[:1])
    plan = replace(PLAN, building=building)
    assert apart(plan, 100.0) is plan

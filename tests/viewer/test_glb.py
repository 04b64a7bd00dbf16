"""The binary glTF file, read back by another program's reader."""

from __future__ import annotations

import hashlib
import math
import subprocess
import sys
from collections import defaultdict
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
import trimesh
from picture_sample import DEEP, FLOOR, LOFT, WIDE, sample_plan

from barnloom.model.building import Hole, Notch, Ply
from barnloom.viewer.glb import bored, building_glb
from barnloom.viewer.palette import styles

PLAN = sample_plan()
CUBIC = 0.0254**3


def read(glb: bytes) -> dict[str, trimesh.Trimesh]:
    scene = trimesh.load_scene(BytesIO(glb), file_type="glb")
    meshes = {}
    for node in scene.graph.nodes_geometry:
        matrix, name = scene.graph[node]
        meshes[node] = scene.geometry[name].copy()
        meshes[node].apply_transform(matrix)
        meshes[node].merge_vertices()
    return meshes


@pytest.fixture(scope="module")
def meshes() -> dict[str, trimesh.Trimesh]:
    return read(building_glb(PLAN))


def test_nodes_are_named_by_members_boxes_and_cables(meshes):
    building = PLAN.building
    assert set(meshes) == {p.id for p in (*building.members, *building.boxes, *PLAN.cables)}


def test_every_solid_is_watertight_and_turned_outside(meshes):
    assert [name for name, mesh in meshes.items() if not (mesh.is_watertight and mesh.volume > 0)] == []


def test_volumes_of_bored_members_are_wood_less_holes(meshes):
    drilled = defaultdict(list)
    for bore in PLAN.bores:
        drilled[bore.member].append(math.pi / 4 * bore.diameter_in**2)
    assert len(drilled) > 40
    for m in PLAN.building.members:
        wood = m.length_in * m.thickness_in * m.depth_in
        holes = sum(drilled[m.id]) * m.thickness_in
        assert meshes[m.id].volume / CUBIC == pytest.approx(wood - holes, rel=1e-5)
        # One hole is far less than 1 % of a stud, so what is missing is compared by itself too.
        assert wood - meshes[m.id].volume / CUBIC == pytest.approx(holes, rel=0.01, abs=wood * 2e-5)


def test_lengths_are_metres_and_y_is_up(meshes):
    walls = [meshes[m.id] for m in PLAN.building.members if m.id[0] in "SENWsenw"]
    low = np.min([m.bounds[0] for m in walls], axis=0)
    high = np.max([m.bounds[1] for m in walls], axis=0)
    assert low == pytest.approx([0, 0, -DEEP * 0.0254], abs=1e-4)
    assert high == pytest.approx([WIDE * 0.0254, (FLOOR + LOFT) * 0.0254, 0], abs=1e-4)
    assert meshes["FLOOR-J1"].extents[1] == pytest.approx(9.25 * 0.0254, abs=1e-5)


def test_cables_are_tubes_along_their_points_in_the_colour_of_their_circuit(meshes):
    for cable in PLAN.cables:
        points = np.array(cable.points) @ np.array([[1, 0, 0], [0, 0, -1], [0, 1, 0]]) * 0.0254
        low, high = meshes[cable.id].bounds
        assert low == pytest.approx(points.min(axis=0), abs=0.03)
        assert high == pytest.approx(points.max(axis=0), abs=0.03)
        length = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
        assert meshes[cable.id].volume == pytest.approx(math.pi * (0.15 * 0.0254) ** 2 * length, rel=0.15)
        colour = meshes[cable.id].visual.material.baseColorFactor
        assert "#" + bytes(colour[:3]).hex() == styles(PLAN)[cable.circuit].colour


def test_framing_is_see_through_and_cables_are_not(meshes):
    assert meshes["S-S2"].visual.material.alphaMode == "BLEND"
    assert meshes["S-S2"].visual.material.baseColorFactor[3] < 128
    assert meshes["TOOLS.saw"].visual.material.baseColorFactor[3] == 255


def test_a_pack_with_holes_and_notches_is_one_solid():
    joist = next(m for m in PLAN.building.members if m.id == "FLOOR-J2")
    pack = replace(
        joist,
        thickness_in=3.0,
        along=(0.0, -1.0, 0.0),
        plies=(
            Ply(along=(0, 100), bit=(0, 1.5), across=(0, 9.25)),
            Ply(along=(0, 100), bit=(1.5, 3), across=(0, 9.25)),
        ),
        notches=(
            Notch(along=(0, 3.5), edge="low", depth_in=1.0),
            Notch(along=(96, 100), edge="high", depth_in=2.0),
        ),
    )
    mesh = trimesh.Trimesh(*bored(pack, [(20, 4, 1.0), (50, 5, 0.75)]))
    notched = 3.5 * 3 * 1 + 4 * 3 * 2
    expected = 100 * 3 * 9.25 - notched - math.pi / 4 * (1 + 0.75**2) * 3
    assert mesh.is_watertight
    assert mesh.body_count == 1
    assert mesh.volume == pytest.approx(expected, rel=1e-6)
    # The hole is where its member's axes put it, in a left-handed member too.
    place = np.array(pack.origin) + 20 * np.array(pack.along) + 4 * np.array(pack.across) + 1.5 * np.array(pack.bit)
    place = np.array(pack.origin) + 20 * np.array(pack.along) + 4 * np.array(pack.across)
    off = np.linalg.norm(np.cross(mesh.vertices - place, pack.bit), axis=1)
    rim = mesh.vertices[np.abs(off - 0.5) < 0.01]
    assert len(rim) == 2 * 24
    assert sorted(set(np.round((rim - place) @ pack.bit, 6))) == [0.0, 3.0]


def test_old_holes_are_cut_once_and_unmeasured_ones_not():
    stud = next(m for m in PLAN.building.members if m.id == "S-S2")
    holes = (
        Hole(id="old", along_in=30, across_in=1.75, diameter_in=1.0),
        Hole(id="x", along_in=60, across_in=2, diameter_in=None),
    )
    members = (replace(stud, holes=holes),)
    reused = replace(
        PLAN.bores[0], id="old", member=stud.id, along_in=30, across_in=1.75, diameter_in=1.0, existing=True
    )
    plan = replace(PLAN, building=replace(PLAN.building, members=members, boxes=()), cables=(), bores=(reused,))
    mesh = read(building_glb(plan))[stud.id]
    assert mesh.volume / CUBIC == pytest.approx(91.5 * 1.5 * 3.5 - math.pi / 4 * 1.5, rel=1e-5)


def test_one_id_for_a_box_and_a_member_gives_two_nodes():
    boxes = (replace(PLAN.building.boxes[1], id="S-S2"), *PLAN.building.boxes[1:])
    names = read(building_glb(replace(PLAN, building=replace(PLAN.building, boxes=boxes))))
    assert {"S-S2", "S-S2 (box)"} <= set(names)


def test_the_same_plan_gives_the_same_bytes_in_another_process():
    code = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "import hashlib; from picture_sample import sample_plan; from barnloom.viewer.glb import building_glb\n"
        "print(hashlib.sha256(building_glb(sample_plan())).hexdigest())"
    )
    here = str(Path(__file__).parent)
    other = subprocess.run(
        [sys.executable, "-c", code, here], capture_output=True, text=True, check=True
    ).stdout.strip()
    assert other == hashlib.sha256(building_glb(PLAN)).hexdigest()

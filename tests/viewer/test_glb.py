"""The binary glTF file, read back by another program's reader."""

from __future__ import annotations

import hashlib
import json
import math
import struct
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
from wired_sample import wired_plan

from barnloom.model.building import Hole, Notch, Ply
from barnloom.viewer.cautions import CAUTIONS
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


def test_nodes_are_named_by_members_boxes_cables_and_holes(meshes):
    building = PLAN.building
    assert set(meshes) == {p.id for p in (*building.members, *building.boxes, *PLAN.cables, *PLAN.bores)}


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


def test_a_hole_is_a_dark_ring_round_its_bore(meshes):
    members = {member.id: member for member in PLAN.building.members}
    turn = np.array([[1, 0, 0], [0, 0, -1], [0, 1, 0]]) * 0.0254  # x, height up, north away
    for bore in PLAN.bores:
        member, ring = members[bore.member], meshes[bore.id]
        along, bit, across = (np.array(axis) for axis in (member.along, member.bit, member.across))
        middle = np.array(member.origin) + bore.along_in * along + bore.across_in * across
        middle = middle + bit * member.thickness_in / 2
        assert ring.centroid == pytest.approx(middle @ turn, abs=1e-5)
        # The bit's own direction: a little longer than the wood is thick, and not much wider than the hole.
        sizes = sorted(np.abs(ring.extents / 0.0254))
        assert np.abs((ring.vertices - ring.centroid) @ (bit @ turn) / 0.0254**2).max() == pytest.approx(
            member.thickness_in / 2 + 0.06, abs=1e-3
        )
        assert sizes[1] <= 1.13 * max(bore.diameter_in, member.thickness_in + 0.12)
        assert max(ring.visual.material.baseColorFactor[:3]) < 40


def chunks(glb: bytes) -> tuple[dict, bytes]:
    """The two parts of a GLB file, by the text of the standard (glTF 2.0, 4.4: binary glTF layout)."""
    magic, version, length = struct.unpack_from("<4sII", glb)
    assert (magic, version, length) == (b"glTF", 2, len(glb))
    size, kind = struct.unpack_from("<I4s", glb, 12)
    assert (kind, size % 4) == (b"JSON", 0)
    data = json.loads(glb[20 : 20 + size])
    rest, kind = struct.unpack_from("<I4s", glb, 20 + size)
    assert (kind, rest % 4, 28 + size + rest) == (b"BIN\0", 0, len(glb))
    return data, glb[28 + size :]


@pytest.fixture(scope="module", params=["picture", "wired"])
def parts(request) -> tuple:
    plan = PLAN if request.param == "picture" else wired_plan()
    return plan, *chunks(building_glb(plan))


def test_the_file_keeps_the_rules_of_gltf(parts):
    # glTF 2.0: 3.6.2 accessors (3.6.2.4 alignment, 3.6.2.5 bounds), 3.5.2 nodes in strict trees, 3.7.2 meshes
    _, data, binary = parts
    assert data["asset"]["version"] == "2.0"
    assert not data.get("extensionsRequired")
    (buffer,) = data["buffers"]
    assert "uri" not in buffer
    assert 0 <= len(binary) - buffer["byteLength"] < 4
    kinds = {5121: ("B", 1), 5123: ("H", 2), 5125: ("I", 4), 5126: ("f", 4)}
    width = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4}
    positions = {m["attributes"]["POSITION"] for mesh in data["meshes"] for m in mesh["primitives"]}
    indices = {m["indices"]: m["attributes"]["POSITION"] for mesh in data["meshes"] for m in mesh["primitives"]}
    for number, accessor in enumerate(data["accessors"]):
        view = data["bufferViews"][accessor["bufferView"]]
        sign, size = kinds[accessor["componentType"]]
        start = view.get("byteOffset", 0) + accessor.get("byteOffset", 0)
        count = accessor["count"] * width[accessor["type"]]
        assert start % size == 0
        assert count * size <= view["byteLength"]
        assert view.get("byteOffset", 0) + view["byteLength"] <= buffer["byteLength"]
        values = np.frombuffer(binary, dtype=f"<{sign if sign != 'I' else 'u4'}", count=count, offset=start)
        values = values.reshape(accessor["count"], -1)
        assert np.isfinite(values).all()
        if number in positions:
            assert accessor["min"] == pytest.approx(values.min(axis=0).tolist(), abs=1e-7)
            assert accessor["max"] == pytest.approx(values.max(axis=0).tolist(), abs=1e-7)
        if number in indices:
            assert values.max() < data["accessors"][indices[number]]["count"]
    children = [child for node in data["nodes"] for child in node.get("children", ())]
    assert len(children) == len(set(children))
    roots = data["scenes"][data["scene"]]["nodes"]
    assert sorted(children + roots) == list(range(len(data["nodes"])))
    for node in data["nodes"]:
        assert isinstance(node.get("extras", {}), dict)
        assert node.get("mesh", 0) < len(data["meshes"])
        if "matrix" in node:
            turn = np.array(node["matrix"]).reshape(4, 4).T
            assert turn[3].tolist() == [0, 0, 0, 1]
            assert np.linalg.det(turn[:3, :3]) == pytest.approx(1)  # no mirror, no stretching
    assert len({node["name"] for node in data["nodes"]}) == len(data["nodes"])


def test_everything_of_the_plan_is_a_named_node_that_says_what_the_plan_says(parts):
    plan, data, _ = parts
    nodes = {node["name"]: node.get("extras", {}) for node in data["nodes"] if "extras" in node}
    building = plan.building
    pieces = [*building.members, *building.boxes, *plan.bores, *(c for c in plan.cables if len(c.points) > 1)]
    assert sorted(nodes) == sorted(piece.id for piece in pieces)

    def lengths(extras: dict, **inches: float) -> None:
        for name, value in inches.items():
            assert extras[f"{name}_in"] == pytest.approx(value, abs=1e-9), name
            assert extras[f"{name}_m"] == pytest.approx(value * 0.0254, abs=1e-6), name

    for member in building.members:
        extras = nodes[member.id]
        assert (extras["id"], extras["what"], extras["role"]) == (member.id, "member", member.role.value)
        if not member.unmeasured:
            lengths(extras, length=member.length_in, thickness=member.thickness_in, depth=member.depth_in)
    for bore in plan.bores:
        extras = nodes[bore.id]
        assert (extras["what"], extras["member"], extras["rule"]) == ("hole", bore.member, bore.rule)
        assert sorted(extras["cables"].split()) == sorted(bore.cables)
        lengths(extras, along=bore.along_in, across=bore.across_in, diameter=bore.diameter_in, margin=bore.margin_in)
        lengths(extras, across_min=bore.across_min_in, across_max=bore.across_max_in)
    devices = {device.box: device.kind.value for device in building.devices}
    for box in building.boxes:
        extras = nodes[box.id]
        assert (extras["what"], extras.get("circuit", "")) == ("box", " ".join(box.circuits))
        assert devices.get(box.id, "") in extras.get("device", "")
        lengths(extras, x=box.at[0], y=box.at[1], z=box.at[2])
    for cable in (cable for cable in plan.cables if len(cable.points) > 1):
        extras = nodes[cable.id]
        ends = (extras["what"], extras["circuit"], extras["from"], extras["to"])
        assert ends == ("cable", cable.circuit, cable.from_box, cable.to_box)
        lengths(extras, path=cable.path_in, cut=cable.cut_in)
        assert extras.get("bores", "").split() == list(cable.bores)


def test_kinds_and_storeys_hang_together_and_the_file_says_its_title_and_cautions(parts):
    plan, data, _ = parts
    groups = {data["nodes"][n]["name"]: data["nodes"][n]["children"] for n in data["scenes"][0]["nodes"]}
    for member in plan.building.members:
        names = [data["nodes"][n]["name"] for n in groups[f"framing of {member.storey}"]]
        assert member.id in names
    said = data["scenes"][0]["extras"]
    assert (said["title"], tuple(said["cautions"])) == (plan.building.title, CAUTIONS)


def test_alike_holes_share_one_mesh(parts):
    plan, data, _ = parts
    thickness = {member.id: member.thickness_in for member in plan.building.members}
    kinds = {(bore.diameter_in, thickness[bore.member]) for bore in plan.bores}
    assert len(data["meshes"]) == len([n for n in data["nodes"] if "mesh" in n]) - len(plan.bores) + len(kinds)


def test_the_end_of_a_cable_for_later_is_a_point():
    stub = replace(PLAN.building.boxes[1], id="later", kind="stub", at=(10.0, 20.0, 30.0))
    plan = replace(PLAN, building=replace(PLAN.building, boxes=(*PLAN.building.boxes, stub)))
    data, _ = chunks(building_glb(plan))
    (node,) = (node for node in data["nodes"] if node["name"] == "later")
    assert "mesh" not in node
    assert node["matrix"][12:15] == pytest.approx([0.254, 0.762, -0.508])


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

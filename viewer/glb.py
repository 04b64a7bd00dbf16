"""The plan as one binary glTF file: bored members as real solids, cables as tubes, boxes, each with its name."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from barnloom.model.building import Member
from barnloom.routing.plan import Plan
from barnloom.viewer.axonometry import View
from barnloom.viewer.layout import side_by_side_runs
from barnloom.viewer.palette import styles
from barnloom.viewer.solids import FACES, Floats, Ints, box_corners, rounded, tube

if TYPE_CHECKING:
    from manifold3d import Manifold  # type: ignore[import-not-found]
    from trimesh import Trimesh
    from trimesh.visual.material import PBRMaterial

BORE_SIDES = 24
CABLE_IN, CABLE_APART_IN = 0.3, 0.3
"""Thickness of the tubes and how far those that share a hole are apart: two and more fit the holes that they share."""
WOOD, BODY = (0.79, 0.64, 0.42, 0.3), (0.35, 0.35, 0.35, 1.0)
_BEND_IN, _TUBE_SIDES = 1.0, 8
_METRES_Y_UP = 0.0254 * np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])
"""World inches (rows) times this: x stays, height becomes y, north goes away from the eye."""
_LANE_VIEW = View(azimuth_deg=17.3, elevation_deg=41.9)
"""From nowhere in particular, so that only cables that really run together come to lie on one line."""


def building_glb(plan: Plan) -> bytes:
    """
    Build the solids of a plan.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    bytes
        A GLB file, the same for the same plan. Nodes are named by the ids of members, boxes and cables; where two of
        these have one id, boxes and cables say in brackets what they are. Framing is see-through. Holes have 24 sides
        and the area of the round hole; a hole that was not measured is left out.
    """
    import trimesh

    scene = trimesh.Scene()
    for name, mesh in _named([*_members(plan), *_boxes(plan), *_cables(plan)]):
        mesh.vertices = mesh.vertices @ _METRES_Y_UP
        scene.add_geometry(mesh, node_name=name, geom_name=name)
    glb: bytes = scene.export(file_type="glb")  # type: ignore[no-untyped-call]
    return glb


def bored(member: Member, holes: Iterable[tuple[float, float, float]]) -> tuple[Floats, Ints]:
    """
    One member less its notches and holes.

    Parameters
    ----------
    member : Member
        Its plies become one body.
    holes : iterable of (along_in, across_in, diameter_in)
        Through its whole thickness.

    Returns
    -------
    (n, 3) float
        Corners in world inches.
    (m, 3) int
        Triangles, counter-clockwise seen from outside.
    """
    from manifold3d import Manifold, OpType

    solid = Manifold.batch_boolean([_block(p.along, p.bit, p.across) for p in member.plies], OpType.Add)
    cutters = [*_notch_cutters(member), *(_drill(member, *hole) for hole in holes)]
    if cutters:
        solid = Manifold.batch_boolean([solid, *cutters], OpType.Subtract)
    mesh = solid.to_mesh64()
    axes = np.array([member.along, member.bit, member.across])
    points = np.array(member.origin) + mesh.vert_properties[:, :3] @ axes
    triangles = mesh.tri_verts.astype(np.int64)
    return points, triangles[:, ::-1] if np.linalg.det(axes) < 0 else triangles


def _block(along: tuple[float, float], bit: tuple[float, float], across: tuple[float, float]) -> Manifold:
    from manifold3d import Manifold

    low = (along[0], bit[0], across[0])
    size = (along[1] - along[0], bit[1] - bit[0], across[1] - across[0])
    return Manifold.cube(size).translate(low)


def _notch_cutters(member: Member) -> Iterator[Manifold]:
    for notch in member.notches:
        low = (
            (-1.0, notch.depth_in) if notch.edge == "low" else (member.depth_in - notch.depth_in, member.depth_in + 1.0)
        )
        yield _block(notch.along, (-1.0, member.thickness_in + 1.0), low)


def _drill(member: Member, along_in: float, across_in: float, diameter_in: float) -> Manifold:
    from manifold3d import Manifold

    turn = 2 * np.pi / BORE_SIDES
    radius = diameter_in / 2 * float(np.sqrt(turn / np.sin(turn)))
    upright = Manifold.cylinder(member.thickness_in + 2, radius, circular_segments=BORE_SIDES)
    # A cylinder stands along its own z, which here is across: laid over, it points along +bit.
    return upright.rotate((-90.0, 0.0, 0.0)).translate((along_in, -1.0, across_in))


def _members(plan: Plan) -> Iterator[tuple[str, str, Trimesh]]:
    holes: dict[str, list[tuple[float, float, float]]] = defaultdict(list)
    for member in plan.building.members:
        holes[member.id] += [(h.along_in, h.across_in, h.diameter_in) for h in member.holes if h.diameter_in]
    for bore in plan.bores:
        holes[bore.member].append((bore.along_in, bore.across_in, bore.diameter_in))
    material = _material("framing", WOOD)
    for member in plan.building.members:
        yield member.id, "member", _mesh(*bored(member, dict.fromkeys(holes[member.id])), material)


def _boxes(plan: Plan) -> Iterator[tuple[str, str, Trimesh]]:
    bodies = [box for box in plan.building.boxes if box.kind != "stub"]
    triangles = FACES[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3)
    material = _material("box", BODY)
    for box, points in zip(bodies, box_corners(bodies, plan.building), strict=True):
        yield box.id, "box", _mesh(points, triangles, material)


def _cables(plan: Plan) -> Iterator[tuple[str, str, Trimesh]]:
    cables = [cable for cable in plan.cables if len(cable.points) > 1]
    runs = side_by_side_runs(replace(plan, cables=tuple(cables)), _LANE_VIEW, apart_in=CABLE_APART_IN, along_in=1.0)
    materials = {
        name: _material(f"circuit {name}", (*(int(style.colour[i : i + 2], 16) / 255 for i in (1, 3, 5)), 1.0))
        for name, style in styles(plan).items()
    }
    for cable, run in zip(cables, runs, strict=True):
        skin = tube(rounded(run, _BEND_IN, steps=3), CABLE_IN / 2, sides=_TUBE_SIDES)
        yield cable.id, "cable", _mesh(*skin, materials[cable.circuit])


def _named(pieces: Sequence[tuple[str, str, Trimesh]]) -> Iterator[tuple[str, Trimesh]]:
    taken: set[str] = set()
    for name, kind, mesh in pieces:
        name = f"{name} ({kind})" if name in taken else name
        taken.add(name)
        yield name, mesh


def _material(name: str, rgba: Sequence[float]) -> PBRMaterial:
    from trimesh.visual.material import PBRMaterial

    see_through = rgba[3] < 1
    return PBRMaterial(  # type: ignore[no-untyped-call]
        name=name,
        baseColorFactor=list(rgba),
        metallicFactor=0.0,
        roughnessFactor=0.8,
        alphaMode="BLEND" if see_through else "OPAQUE",
    )


def _mesh(points: Floats, triangles: Ints, material: PBRMaterial) -> Trimesh:
    import trimesh
    from trimesh.visual import TextureVisuals

    look = TextureVisuals(material=material)  # type: ignore[no-untyped-call]
    return trimesh.Trimesh(points, triangles, visual=look, process=False, validate=False)

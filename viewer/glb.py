"""The plan as one binary glTF file: bored members as real solids, cables as tubes, boxes and holes, each with its name.

What the lists say of a thing stands in the ``extras`` of its node, by the names of the columns in the CSV files.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from barnloom.model.building import Member
from barnloom.routing.plan import Plan
from barnloom.viewer.axonometry import View
from barnloom.viewer.cautions import CAUTIONS
from barnloom.viewer.layout import side_by_side_runs
from barnloom.viewer.palette import styles
from barnloom.viewer.rows import Row
from barnloom.viewer.solids import FACES, Floats, Ints, bore_ends, box_corners, rounded, tube
from barnloom.viewer.tables import box_rows, cable_rows, hole_rows, member_rows

if TYPE_CHECKING:
    from manifold3d import Manifold  # type: ignore[import-not-found]
    from trimesh import Trimesh
    from trimesh.visual.material import PBRMaterial

BORE_SIDES = 24
CABLE_IN, CABLE_APART_IN = 0.3, 0.3
"""Thickness of the tubes and how far those that share a hole are apart: two and more fit the holes that they share."""
RING_PROUD_IN, RING_INNER, RING_OUTER = 0.06, 0.94, 1.12
"""The ring that lines a hole: how far it stands out of the wood, and its radii, of the hole's own."""
WOOD, BODY, DARK = (0.79, 0.64, 0.42, 0.3), (0.35, 0.35, 0.35, 1.0), (0.05, 0.05, 0.05, 1.0)
_BEND_IN, _TUBE_SIDES = 1.0, 8
_STRAIGHT = 1e-6
"""Radians that a cable may turn and still go straight on."""
_METRE_IN = 0.0254
_METRES_Y_UP = _METRE_IN * np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])
"""World inches (rows) times this: x stays, height becomes y, north goes away from the eye."""
_LANE_VIEW = View(azimuth_deg=17.3, elevation_deg=41.9)
"""From nowhere in particular, so that only cables that really run together come to lie on one line."""
_DECIMALS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class _Piece:
    """One node in the making."""

    id: str
    what: str
    group: str
    row: Row
    mesh: Trimesh | None
    """None: a point, such as the end of a cable for later."""
    place: Floats | None = None
    """(4, 4) from the mesh's own axes to those of the file, metres; None: the mesh is in world inches."""
    shared: str = ""
    """Name of a mesh that other pieces have too."""


def building_glb(plan: Plan) -> bytes:
    """
    Build the solids of a plan.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    bytes
        A GLB file, the same for the same plan. Nodes are named by the ids of members, boxes, cables and holes; where
        two of these have one id, the later ones say in brackets what they are. They hang under a node for each kind and
        storey ("framing of SHOP"), so that a viewer can hide these. The ``extras`` of each have its id, what it is, and
        what the lists say of it, lengths in inches (``_in``) and in metres (``_m``). Framing is see-through. Holes have
        24 sides and the area of the round hole, and are lined by a dark ring; one that was not measured is left out.
    """
    import trimesh

    scene = trimesh.Scene()
    scene.metadata.update(title=plan.building.title, cautions=list(CAUTIONS), unit="metre, y up")
    pieces = [*_members(plan), *_boxes(plan), *_cables(plan), *_holes(plan)]
    for group in dict.fromkeys(piece.group for piece in pieces):
        scene.graph.update(frame_to=group)  # type: ignore[no-untyped-call]
    for name, piece in _named(pieces):
        mesh, geometry = piece.mesh, piece.shared or name
        if mesh is not None and geometry not in scene.geometry:
            if piece.place is None:
                mesh.vertices = mesh.vertices @ _METRES_Y_UP
            scene.geometry[geometry] = mesh
        scene.graph.update(  # type: ignore[no-untyped-call]
            frame_from=piece.group,
            frame_to=name,
            matrix=np.eye(4) if piece.place is None else piece.place,
            geometry=None if mesh is None else geometry,
            metadata=_extras(piece),
        )
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


def _members(plan: Plan) -> Iterator[_Piece]:
    holes: dict[str, list[tuple[float, float, float]]] = defaultdict(list)
    for member in plan.building.members:
        holes[member.id] += [(h.along_in, h.across_in, h.diameter_in) for h in member.holes if h.diameter_in]
    for bore in plan.bores:
        holes[bore.member].append((bore.along_in, bore.across_in, bore.diameter_in))
    material = _material("framing", WOOD)
    rows = _by_id(member_rows(plan), "member")
    for member in plan.building.members:
        mesh = _mesh(*bored(member, dict.fromkeys(holes[member.id])), material)
        group = f"framing of {member.storey}"
        yield _Piece(id=member.id, what="member", group=group, row=rows[member.id], mesh=mesh)


def _boxes(plan: Plan) -> Iterator[_Piece]:
    triangles = FACES[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3)
    material = _material("box", BODY)
    rows = _by_id(box_rows(plan), "box")
    boxes = plan.building.boxes
    for box, points in zip(boxes, box_corners(boxes, plan.building), strict=True):
        stub = box.kind == "stub"
        yield _Piece(
            id=box.id,
            what="box",
            group=f"boxes of {box.storey}",
            row=rows[box.id],
            mesh=None if stub else _mesh(points, triangles, material),
            place=_at(np.eye(3), np.array(box.at)) if stub else None,
        )


def _cables(plan: Plan) -> Iterator[_Piece]:
    cables = [cable for cable in plan.cables if len(cable.points) > 1]
    runs = side_by_side_runs(replace(plan, cables=tuple(cables)), _LANE_VIEW, apart_in=CABLE_APART_IN, along_in=1.0)
    materials = {
        name: _material(f"circuit {name}", (*(int(style.colour[i : i + 2], 16) / 255 for i in (1, 3, 5)), 1.0))
        for name, style in styles(plan).items()
    }
    rows = _by_id(cable_rows(plan), "cable")
    for cable, run in zip(cables, runs, strict=True):
        skin = tube(_bends(rounded(run, _BEND_IN, steps=3)), CABLE_IN / 2, sides=_TUBE_SIDES)
        mesh = _mesh(*skin, materials[cable.circuit])
        group = f"cables {'' if cable.floor.startswith('between ') else 'of '}{cable.floor}"
        yield _Piece(id=cable.id, what="cable", group=group, row=rows[cable.id], mesh=mesh)


def _bends(path: Floats) -> Floats:
    """Return a path without the points at which it goes straight on."""
    legs = np.diff(path, axis=0)
    legs /= np.linalg.norm(legs, axis=1, keepdims=True)
    turns: Floats = np.linalg.norm(np.diff(legs, axis=0), axis=1)
    kept: Floats = path[np.concatenate([[True], turns > _STRAIGHT, [True]])]
    return kept


def _holes(plan: Plan) -> Iterator[_Piece]:
    """Rings, one mesh for all that are alike."""
    members = {member.id: member for member in plan.building.members}
    material, rings = _material("hole", DARK), dict[str, "Trimesh"]()
    rows = _by_id(hole_rows(plan), "hole")
    for bore, start, end in zip(plan.bores, *bore_ends(plan.bores, plan.building), strict=True):
        member = members[bore.member]
        shared = f"hole of {bore.diameter_in:g} in through {member.thickness_in:g} in"
        if shared not in rings:
            rings[shared] = _ring(bore.diameter_in, member.thickness_in, material)
        axes = np.array([member.along, np.cross(member.bit, member.along), member.bit]).T
        yield _Piece(
            id=bore.id,
            what="hole",
            group=f"holes of {member.storey}",
            row=rows[bore.id],
            mesh=rings[shared],
            place=_at(axes, (start + end) / 2),
            shared=shared,
        )


def _ring(diameter_in: float, through_in: float, material: PBRMaterial) -> Trimesh:
    """Return a ring about its own z, in metres."""
    from trimesh.creation import annulus

    inner, outer = (part * diameter_in / 2 * _METRE_IN for part in (RING_INNER, RING_OUTER))
    height = (through_in + 2 * RING_PROUD_IN) * _METRE_IN
    ring = annulus(r_min=inner, r_max=outer, height=height, sections=BORE_SIDES)
    return _mesh(ring.vertices, ring.faces, material)


def _at(axes: Floats, point_in: Floats) -> Floats:
    """Matrix of a thing with these axes (columns) at a place in world inches."""
    matrix = np.eye(4)
    matrix[:3, :3] = _METRES_Y_UP.T @ axes / _METRE_IN
    matrix[:3, 3] = point_in @ _METRES_Y_UP
    return matrix


def _by_id(rows: Iterable[Row], key: str) -> dict[str, Row]:
    return {str(row[key]): row for row in rows}


def _extras(piece: _Piece) -> dict[str, str | float]:
    """What the lists say of a thing, without what is blank there."""
    found: dict[str, str | float] = {"id": piece.id, "what": piece.what}
    for key, value in piece.row.items():
        if value is None or value == "" or key == piece.what:
            continue
        found[key] = value if isinstance(value, str | int) else float(value)
        if key.endswith("_in"):
            found[f"{key[:-3]}_m"] = round(float(value) * _METRE_IN, _DECIMALS)
    return found


def _named(pieces: Sequence[_Piece]) -> Iterator[tuple[str, _Piece]]:
    taken: set[str] = set()
    for piece in pieces:
        name = f"{piece.id} ({piece.what})" if piece.id in taken else piece.id
        taken.add(name)
        yield name, piece


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

"""Two ways of telling whether a cable is in wood agree: clipping against boxes, and meshes with their holes cut out."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from hand_plan import hand_plan
from hypothesis import given, settings
from hypothesis import strategies as st
from planted_faults import FAULTS, HAND
from test_check import cornered, turned

from barnloom.model.building import Assembly, Member, Ply, Role
from barnloom.routing.check import check, check_deep
from barnloom.routing.check.deep import SECTIONS, STEP_IN, bored_block, contains
from barnloom.routing.check.finding import site_of
from barnloom.routing.check.legs import legs_of
from barnloom.routing.check.runs import blocked
from barnloom.routing.check.shapes import Floats, solids_of, stretches
from barnloom.routing.plan import Plan

MARGIN_IN = 0.06
"""Grazing a corner by less than this may be seen one way and not the other: samples stand 1/50 in aside of the line."""

side = st.floats(0.5, 12.0)


# --- meshes ---------------------------------------------------------------------------------------------------------


@settings(deadline=None, max_examples=40)
@given(thick=side, deep=st.floats(3.0, 12.0), holes=st.lists(st.floats(0.25, 1.5), min_size=1, max_size=4))
def test_a_bored_member_has_the_volume_of_its_block_less_its_holes(
    thick: float, deep: float, holes: list[float]
) -> None:
    spans = ((0.0, 40.0), (0.0, thick), (0.0, deep))
    lines = [
        (np.array([5.0 + 8 * n, -1.0, deep / 2]), np.array([5.0 + 8 * n, thick + 1.0, deep / 2]), diameter)
        for n, diameter in enumerate(holes)
    ]
    mesh = bored_block(spans, lines)
    # A regular polygon of n corners on a circle of radius r has the area n / 2 r^2 sin(2 pi / n).
    area = sum(SECTIONS / 2 * (d / 2) ** 2 * math.sin(2 * math.pi / SECTIONS) for d in holes)
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(40 * thick * deep - area * thick, rel=1e-5)
    assert mesh.volume > 40 * thick * deep - sum(math.pi * (d / 2) ** 2 for d in holes) * thick


def test_two_holes_that_meet_are_not_counted_twice() -> None:
    size, tall, radius = 3.0, 10.0, 0.5
    spans = ((0.0, size), (0.0, size), (0.0, tall))
    middle = np.array([size / 2, size / 2, tall / 2])
    one = (middle - (2.0, 0.0, 0.0), middle + (2.0, 0.0, 0.0), 2 * radius)
    other = (middle - (0.0, 2.0, 0.0), middle + (0.0, 2.0, 0.0), 2 * radius)
    removed = size * size * tall - bored_block(spans, [one, other]).volume
    # Two round bars of radius r that cross squarely share 16/3 r^3 (Archimedes); of 24 sides, a little less.
    exact = 2 * math.pi * radius**2 * size - 16 / 3 * radius**3
    assert 0.975 * exact < removed < exact


@settings(deadline=None, max_examples=40)
@given(
    point=st.tuples(st.floats(-1.0, 11.0), st.floats(-1.0, 4.0), st.floats(-1.0, 7.0)),
    diameter=st.floats(0.5, 2.0),
    turn=st.floats(0.0, 3.0),
)
def test_a_point_is_in_a_bored_mesh_if_it_is_in_the_block_and_not_in_the_hole(
    point: tuple[float, float, float], diameter: float, turn: float
) -> None:
    mesh = bored_block(
        ((0.0, 10.0), (0.0, 3.0), (0.0, 6.0)), [(np.array([4.0, -1.0, 3.0]), np.array([4.0, 4.0, 3.0]), diameter)]
    )
    where = np.array(point)
    from_axis = math.hypot(where[0] - 4.0, where[2] - 3.0)
    gap = float(np.min(np.abs(np.concatenate([where, where - (10.0, 3.0, 6.0)]))))
    if gap < 1e-3 or diameter / 2 * math.cos(math.pi / SECTIONS) - 1e-3 < from_axis < diameter / 2 + 1e-3:
        return  # on a face, or between the hole's circle and its 24 sides
    expected = bool(np.all(where > 0) and np.all(where < (10.0, 3.0, 6.0)) and from_axis > diameter / 2)
    assert contains(mesh, where[None])[0] == expected
    mesh.apply_transform(trimesh.transformations.rotation_matrix(turn, (1.0, 2.0, 3.0), (5.0, 5.0, 5.0)))
    moved = trimesh.transform_points(where[None], trimesh.transformations.rotation_matrix(turn, (1, 2, 3), (5, 5, 5)))
    assert contains(mesh, moved)[0] == expected


# --- random buildings -----------------------------------------------------------------------------------------------


def random_turn(rng: np.random.Generator) -> Floats:
    """Three perpendicular unit vectors, of either hand."""
    turn: Floats = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    return turn


def random_member(name: str, rng: np.random.Generator) -> Member:
    """A pack of one or two plies, the second shorter and deeper, anywhere and turned any way."""
    long, thick, deep = rng.uniform(10, 40), rng.uniform(1, 5), rng.uniform(2, 10)
    plies = (
        Ply(along=(0.0, long), bit=(0.0, thick / 2), across=(1.0, deep - 0.5)),
        Ply(along=(rng.uniform(0.0, long / 2), long), bit=(thick / 2, thick), across=(0.0, deep)),
    )
    along, bit, across = (tuple(row) for row in random_turn(rng))
    return Member(
        id=name,
        role=Role.BRACE,
        assembly=name,
        storey="",
        origin=tuple(rng.uniform(-20, 20, 3)),
        along=along,
        bit=bit,
        across=across,
        length_in=long,
        thickness_in=thick,
        depth_in=deep,
        plies=plies[: rng.integers(1, 3)],
        section="",
        along_from="",
        across_from="",
    )


def random_plan(seed: int) -> Plan:
    """Sticks at random in a great empty slab, and straight cables of one leg each at random through it."""
    rng = np.random.default_rng(seed)
    u, v, w = (tuple(row) for row in random_turn(rng))
    space = Assembly(
        id="SPACE",
        kind="floor",
        title="",
        storey="SHOP",
        origin=(0.0, 0.0, 0.0),
        u=u,
        v=v,
        w=w,
        extent_u=(-90.0, 90.0),
        extent_v=(-90.0, 90.0),
        depth_in=90.0,
    )
    building = replace(
        HAND.building,
        assemblies=(space,),
        members=tuple(random_member(f"M{n}", rng) for n in range(20)),
        keep_clear=(),
        boxes=(),
    )
    cables = []
    for n in range(25):
        start = rng.uniform(-25, 25, 3)
        way = np.array([u, v, w])[rng.integers(3)] if n % 2 else rng.normal(size=3)
        end = start + way / np.linalg.norm(way) * rng.uniform(2, 50)
        points = (tuple(start.tolist()), tuple(end.tolist()))
        cables.append(replace(HAND.cables[0], id=f"C{n}", points=points, tracks=("SPACE",), bores=()))
    return replace(HAND, building=building, cables=tuple(cables), bores=())


def in_wood_by_clipping(plan: Plan, grown_in: float, least_in: float) -> set[str]:
    """Cables that are inside some ply, grown by that much on every side, for at least that long."""
    solids = solids_of(plan.building)
    site = site_of(plan)
    legs, _ = legs_of(site)
    found = set()
    for solid in range(len(solids)):
        which = np.full(len(legs), solid)
        start, end = (solids.frames.local(which, points) for points in (legs.start, legs.end))
        inside = stretches(start, end, solids.low[solid] - grown_in, solids.high[solid] + grown_in)
        long = (inside[:, 1] - inside[:, 0]) * legs.length
        found |= {plan.cables[n].id for n in np.flatnonzero(long > least_in)}
    return found


@pytest.mark.parametrize("seed", range(10))
def test_clipping_and_meshes_agree_in_random_buildings(seed: int) -> None:
    plan = random_plan(seed)
    deep = {finding.subject for finding in check_deep(plan)}
    surely = in_wood_by_clipping(plan, -MARGIN_IN, STEP_IN + 2 * MARGIN_IN)
    perhaps = in_wood_by_clipping(plan, MARGIN_IN, 0.0)
    assert surely <= deep <= perhaps
    assert surely  # some cable is in wood
    assert len(perhaps) < len(plan.cables)  # and some is not
    site = site_of(plan)
    legs, _ = legs_of(site)
    ours = {plan.cables[leg].id for leg, _, _ in blocked(site, legs, solids_of(plan.building))}
    assert surely <= ours <= perhaps


# --- whole plans ----------------------------------------------------------------------------------------------------


def test_meshes_find_nothing_in_the_plan_worked_by_hand() -> None:
    assert check_deep(hand_plan()) == ()


def test_meshes_find_nothing_round_a_framed_corner() -> None:
    assert check_deep(cornered(corner=True)) == ()


@pytest.mark.parametrize(
    "words",
    [words for words, (_, codes) in FAULTS.items() if any(code.startswith("run.") for code in codes - {"run.track"})],
)
def test_clipping_and_meshes_agree_on_planted_runs(words: str) -> None:
    plan = turned(FAULTS[words][0](HAND), 1.1)
    clipped = {finding.subject for finding in check(plan) if finding.code == "run.wood"}
    assert {finding.subject for finding in check_deep(plan) if finding.code == "deep.wood"} == clipped

"""The scenes that people copy: each is planned, checked and written out, and says what its story says."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from barnloom.model import build, read_scene
from barnloom.model.building import Assembly, Vec
from barnloom.model.scene.schema import Scene
from barnloom.routing import Cable, Plan, plan_building, plan_from_json, plan_to_json, read_plan
from barnloom.routing.check import check
from barnloom.viewer.command import main

SCENES = Path(__file__).parents[1] / "scenes"
NAMES = ("cider-mill", "garden-studio", "sail-loft", "sheep-shed")
SIZES = {"cider-mill": (15, 3), "garden-studio": (4, 1), "sail-loft": (41, 5), "sheep-shed": (16, 4)}
"""Boxes (panels and stubs too) and circuits of each."""
LAMPS = ("U1", "U2", "U3", "U4")
"""The loft's lights on their board."""
LISTS = {
    *("plan.json", "members.csv", "boxes.csv", "holes.csv", "cables.csv", "feet.csv", "takeoff.csv", "coils.csv"),
    *("boxfill.csv", "circuits.csv", "nets.csv", "deadtest.csv"),
    *("holes.txt", "cables.txt", "boxes.txt", "questions.txt"),
}


@cache
def said(name: str) -> Scene:
    return read_scene(SCENES / f"{name}.yaml").scene


@cache
def planned(name: str) -> Plan:
    return plan_building(build(said(name)))


@pytest.fixture(scope="module", params=NAMES)
def written(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[str, int, Path]:
    """Name of a scene, exit code of planning it by the command, and the folder with what came out."""
    folder = tmp_path_factory.mktemp(request.param) / "plan"
    code = main(["plan", str(SCENES / f"{request.param}.yaml"), "--out", str(folder), "--no-pictures", "--quiet"])
    return request.param, code, folder


def table(folder: Path, name: str) -> list[dict[str, str]]:
    with (folder / name).open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def legs(plan: Plan) -> Iterator[tuple[Cable, str, Vec, Vec]]:
    """Every leg of every cable: the cable, the track it runs in, from where, to where."""
    for cable in plan.cables:
        for track, start, end in zip(cable.tracks, cable.points[:-1], cable.points[1:], strict=True):
            yield cable, track, start, end


def test_these_are_all_the_scenes_there_are() -> None:
    assert sorted(path.stem for path in SCENES.glob("*.yaml")) == sorted(NAMES)


# --- every scene -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_a_scene_says_use_owner_and_the_three_kept_answers(name: str) -> None:
    scene = said(name)
    assert "not said" not in (scene.about.use, scene.about.owner)
    assert None not in (scene.answers.exposed, scene.answers.lining, scene.answers.insulated)


@pytest.mark.parametrize("name", NAMES)
def test_a_scene_has_its_boxes_and_circuits_and_reaches_every_one(name: str) -> None:
    plan = planned(name)
    assert (len(plan.building.boxes), len(plan.building.circuits)) == SIZES[name]
    assert plan.unreached == ()
    fed = {(cable.circuit, cable.to_box) for cable in plan.cables}
    assert fed == {(circuit.id, box) for circuit in plan.building.circuits for box in circuit.boxes}
    assert len(plan.cables) == len(fed)


@pytest.mark.parametrize("name", NAMES)
def test_the_checker_finds_no_fault_in_a_scenes_plan(name: str) -> None:
    assert [finding for finding in check(planned(name)) if finding.severity == "fault"] == []


@pytest.mark.parametrize("name", NAMES)
def test_no_stub_is_a_splice(name: str) -> None:
    plan = planned(name)
    stubs = {box.id for box in plan.building.boxes if box.kind == "stub"}
    assert not stubs & {cable.from_box for cable in plan.cables}


@pytest.mark.parametrize("name", NAMES)
def test_the_order_in_which_boxes_and_circuits_are_written_changes_no_byte(name: str) -> None:
    scene = said(name)
    turned = scene.model_copy(
        update={part: dict(reversed(getattr(scene, part).items())) for part in ("boxes", "timbers", "boards")}
    )
    assert plan_to_json(plan_building(build(turned))) == plan_to_json(planned(name))


def test_the_command_plans_a_scene_and_writes_every_list(written: tuple[str, int, Path]) -> None:
    name, code, folder = written
    assert (name, code) == (name, 0)
    assert {path.name for path in folder.iterdir()} == LISTS
    plan, same = read_plan(folder), plan_from_json(plan_to_json(planned(name)))
    assert (plan.cables, plan.bores, plan.cost) == (same.cables, same.bores, same.cost)
    assert main(["check", str(folder)]) == 0


def test_parts_add_up_to_the_cut_and_cuts_to_the_feet(written: tuple[str, int, Path]) -> None:
    _, _, folder = written
    cables, feet = table(folder, "cables.csv"), table(folder, "feet.csv")
    for row in cables:
        parts = sum(float(row[f"{part}_in"]) for part in ("path", "entries", "free", "panel", "slack"))
        assert parts == pytest.approx(float(row["cut_in"]), abs=1e-9)
    total = sum(float(row["cut_in"]) for row in cables) / 12
    for kinds in (("circuit",), ("type",), ("floor", "between"), ("total",)):
        assert sum(float(row["feet"]) for row in feet if row["by"] in kinds) == pytest.approx(total, abs=0.01)


def test_every_hole_is_listed_once_under_its_member_and_cables(written: tuple[str, int, Path]) -> None:
    _, _, folder = written
    holes, members = table(folder, "holes.csv"), {row["member"]: row for row in table(folder, "members.csv")}
    assert len({row["hole"] for row in holes}) == len(holes)
    for row in table(folder, "cables.csv"):
        assert int(row["holes"]) == sum(row["cable"] in hole["cables"].split() for hole in holes)
    assert not [row["hole"] for row in holes if members[row["member"]]["boring"] not in ("free", "maker")]


# --- sail-loft -------------------------------------------------------------------------------------------------------


def test_what_is_pinned_is_fed_so() -> None:
    feeds: dict[str, list[tuple[str, str]]] = {}
    for cable in planned("sail-loft").cables:
        feeds.setdefault(cable.circuit, []).append((cable.from_box, cable.to_box))
    assert feeds["BENCH"] == list(pairwise(("PANEL", "B1", "B2", "B3", "B4", "B5", "B6")))
    assert ("SW4", "SW5") in feeds["LIGHTS"]


def test_in_unlined_walls_within_reach_cables_go_up_and_down_only() -> None:
    plan = planned("sail-loft")
    floors = {storey.id: storey.floor_in for storey in plan.building.storeys}
    open_walls: dict[str, Assembly] = {
        part.id: part for part in plan.building.assemblies if part.kind == "wall" and part.lining == "none"
    }
    assert {"EAST", "WEST", "KNEE-S", "GABLE-W"} <= set(open_walls)
    assert not {"SOUTH", "NORTH"} & set(open_walls)
    looked_at = 0
    for _, track, start, end in legs(plan):
        wall = open_walls.get(track)
        if wall is None or max(start[2], end[2]) >= floors[wall.storey] + 84 - 1e-6:
            continue
        looked_at += 1
        if abs(float(np.dot(np.subtract(end, start), wall.u))) > 1e-6:
            # They fan out from the clamps of a box: own caution, no source.
            columns = [box.u_in for box in plan.building.boxes if box.host == wall.id and not box.side]
            ends = [float(np.dot(np.subtract(end, wall.origin), wall.u)) for end in (start, end)]
            assert any(max(abs(end - column) for end in ends) <= 4 + 1e-6 for column in columns), (track, start, end)
    assert looked_at > 10


def test_loft_lights_hang_on_their_board_with_no_hole_between_them() -> None:
    between = {cable.id: cable for cable in planned("sail-loft").cables if {cable.from_box, cable.to_box} <= set(LAMPS)}
    assert len(between) == len(LAMPS) - 1
    assert all(cable.bores == () and set(cable.tracks) == {"TRAY +bit"} for cable in between.values())


def test_nothing_is_bored_in_the_girder_and_nothing_runs_in_the_stair_hole_or_the_flue() -> None:
    plan = planned("sail-loft")
    assert not [bore.id for bore in plan.bores if bore.member in ("GIRDER", "POST-W", "POST-E", "ROOF-RG1")]
    stair = ((312.0, 146.625, 109.125), (350.0, 254.625, 118.375))
    flue = (plan.building.keep_clear[0].low, plan.building.keep_clear[0].high)
    for _, track, start, end in legs(plan):
        for low, high in (stair, flue):
            apart = (np.minimum(start, end) >= np.array(high) - 1e-6) | (np.maximum(start, end) <= np.array(low) + 1e-6)
            assert apart.any(), (track, start, end)


# --- cider-mill ------------------------------------------------------------------------------------------------------


def test_joists_too_shallow_to_bore_are_passed_on_the_board() -> None:
    plan = planned("cider-mill")
    assert not [bore.id for bore in plan.bores if bore.member.startswith("EAST-")]
    over_board = [cable for cable in plan.cables if "UNDER-EAST +bit" in cable.tracks]
    assert {cable.circuit for cable in over_board} == {"LIGHTS"}
    assert all(cable.bores == () for cable in over_board if cable.from_box.startswith("E"))


def test_a_good_old_hole_is_used_again_and_bad_ones_are_reported() -> None:
    plan = planned("cider-mill")
    again = [bore for bore in plan.bores if bore.existing]
    assert "WEST-J4.old1" in [bore.id for bore in again]
    assert not {"WEST-J7.old1", "WEST-J8.old1"} & {bore.id for bore in plan.bores}
    told = " ".join((*plan.building.warnings, *plan.warnings, *map(str, check(plan))))
    assert all(name in told for name in ("WEST-J7", "WEST-J8", "WEST-J9"))


def test_the_hole_beside_the_old_one_passes_both_plies_of_the_sistered_joist() -> None:
    plan = planned("cider-mill")
    members = {member.id: member for member in plan.building.members}
    (bore,) = [bore for bore in plan.bores if bore.member == "WEST-J5"]
    joist = members["WEST-J5"]
    assert len(joist.plies) == 2
    assert bore.along_in == pytest.approx(2000 / 25.4, abs=1 / 25.4)
    for ply in joist.plies:
        assert ply.along[0] <= bore.along_in <= ply.along[1]
        low, high = ply.across[0] + 2 + bore.diameter_in / 2, ply.across[1] - 2 - bore.diameter_in / 2
        assert low - 1e-6 <= bore.across_in <= high + 1e-6


def test_what_may_not_be_bored_or_was_not_measured_is_not_bored() -> None:
    plan = planned("cider-mill")
    boring = {member.id: member.bore.value for member in plan.building.members}
    assert (boring["WEST-J11"], boring["WEST-J13"], boring["BEAM-M"]) == ("never", "unknown", "never")
    assert not {"WEST-J11", "WEST-J13", "BEAM-M"} & {bore.member for bore in plan.bores}


def test_a_cable_goes_over_the_beam_where_the_bays_of_two_floors_meet() -> None:
    plan = planned("cider-mill")
    assert [cable.id for cable in plan.cables if ("WEST", "EAST") in pairwise(cable.tracks)]


# --- sheep-shed ------------------------------------------------------------------------------------------------------


def test_no_truss_no_beam_and_no_post_is_bored() -> None:
    plan = planned("sheep-shed")
    assert {bore.member.split("-")[0] for bore in plan.bores} == {"FEED"}
    engineered = [member for member in plan.building.members if member.assembly == "TRUSSES"]
    assert len(engineered) == 25
    assert {(member.bore.value, member.maker) for member in engineered} == {("maker", None)}


def test_the_far_end_is_a_long_home_run() -> None:
    longest = max(planned("sheep-shed").cables, key=lambda cable: cable.cut_in)
    assert (longest.id, longest.from_box) == ("SHEARING.C1", "PANEL")
    assert longest.cut_in / 12 > 80


def test_cable_in_sight_within_the_sheeps_reach_is_covered() -> None:
    plan = planned("sheep-shed")
    for cable in plan.cables:
        low = sum(
            max(0.0, min(72.0, max(start[2], end[2])) - min(start[2], end[2]))
            for _, track, start, end in legs(plan)
            if _ is cable and not track.startswith("bore ")
        )
        assert cable.covered_in == pytest.approx(low, abs=1e-6), cable.id


# --- garden-studio ---------------------------------------------------------------------------------------------------


def test_the_shortest_scene_is_ten_lines() -> None:
    text = (SCENES / "garden-studio.yaml").read_text(encoding="utf-8")
    assert len([line for line in text.splitlines() if not line.startswith("#")]) == 10


def test_its_three_cables_are_as_worked_by_hand() -> None:
    """Panel's underside at 40 in, row at 28: down 12, along 48, down 8. Then round the corner and on."""
    paths = {cable.to_box: cable.path_in for cable in planned("garden-studio").cables}
    assert paths == {"HEATER": 12 + 48 + 8, "DESK": 8 + 38.25 + 54.25 + 8, "EASEL": 8 + 48 + 22}

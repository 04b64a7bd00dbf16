"""Sweeps over real processes: whatever becomes of one scene, the others are planned, and the files are the same."""

from __future__ import annotations

import csv
import json
import logging
import sys
import warnings
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from barnloom.model import read_building
from barnloom.model.errors import BarnloomError, InputError
from barnloom.routing.whatif import plan_what_if, what_if_named, what_ifs
from barnloom.viewer import sweep as sweeping
from barnloom.viewer.compare import figures_of
from barnloom.viewer.sweep import Outcome, run_sweep, sweep_json
from tests.routing.wired_scenes import bay, wall_scene

STUDIO = Path(__file__).parents[2] / "scenes" / "garden-studio.yaml"
ROW = "controls: {ROW: {lights: [L1], points: [S1]}}\ncircuits: {A: {}}\n"
LIT = wall_scene(
    {
        "L1": f'circuit: A, device: light, {bay(5)}, height: 80"',
        "S1": f'circuit: A, device: switch, {bay(8)}, height: 48"',
    },
    more=ROW,
)
SPLIT = "members: {NORTH-S6: {bore: never, because: split}}\n"
"""A stud that nothing passes: what is behind it cannot be reached."""
# Whatever Dask's own code warns of is not ours to put right.
pytestmark = pytest.mark.filterwarnings("ignore:::distributed", "ignore:::dask", "ignore:::tornado")


def quiet(_: str) -> None:
    """Say nothing."""


def swept(
    scenes: list[Path],
    out: Path | None,
    *names: str,
    jobs: int | None = 1,
    scheduler: str | None = None,
    show: Callable[[str], None] = quiet,
    say: Callable[[str], None] = quiet,
) -> tuple[Outcome, ...]:
    return run_sweep(scenes, names=names, jobs=jobs, scheduler=scheduler, out=out, show=show, say=say)


def table(folder: Path) -> list[dict[str, str]]:
    with (folder / "sweep.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def scenes(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """A studio, a scene with a light, one that cannot be read, one that is not there, one of which a box is cut off."""
    folder = tmp_path_factory.mktemp("scenes")
    texts = {"lit.yaml": LIT, "bad.yaml": LIT.replace("walls:", "wals:"), "cut.yaml": LIT + SPLIT}
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    return [STUDIO, *(folder / name for name in ("bad.yaml", "lit.yaml", "none.yaml", "cut.yaml"))]


@pytest.fixture(scope="module")
def two(scenes: list[Path], tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, tuple[Outcome, ...], list[str]]:
    """A sweep of two processes: its folder, its outcomes, its lines."""
    folder, lines = tmp_path_factory.mktemp("two"), []
    return folder, swept(scenes, folder, jobs=2, show=lines.append), lines


def test_every_scene_is_planned_in_every_way_in_the_order_asked(
    scenes: list[Path], two: tuple[Path, tuple[Outcome, ...], list[str]]
) -> None:
    folder, outcomes, _ = two
    wanted = [(str(scene), way.id) for scene in scenes for way in what_ifs()]
    assert [(row["scene"], row["what_if"]) for row in table(folder)] == wanted
    assert [(one.scene, one.what_if) for one in outcomes] == wanted


def test_what_fails_says_why_in_one_line_and_the_rest_goes_on(two: tuple[Path, tuple[Outcome, ...], list[str]]) -> None:
    rows: dict[str, list[dict[str, str]]] = {}
    for row in table(two[0]):
        rows.setdefault(Path(row["scene"]).stem, []).append(row)
    assert {row["outcome"] for row in rows["bad"] + rows["none"]} == {"failed"}
    assert all(row["words"].startswith(row["scene"]) and "\n" not in row["words"] for row in rows["bad"] + rows["none"])
    assert all("wals" in row["words"] or "boxes" in row["words"] for row in rows["bad"])
    assert {row["outcome"] for row in rows["lit"]} == {"planned"}
    assert [row["outcome"] for row in rows["garden-studio"]] == ["planned"] * 4 + ["does not apply"] * 2
    assert {(row["outcome"], row["words"]) for row in rows["cut"]} == {("not reached", "L1 S1")}


def test_a_sweep_is_well_only_where_all_is(two: tuple[Path, tuple[Outcome, ...], list[str]]) -> None:
    well = {(Path(one.scene).stem, one.well) for one in two[1]}
    assert well == {("garden-studio", True), ("lit", True), ("bad", False), ("none", False), ("cut", False)}


def test_figures_are_those_of_a_plan_made_alone(two: tuple[Path, tuple[Outcome, ...], list[str]]) -> None:
    building = read_building(STUDIO)
    begin = plan_what_if(building, what_ifs()[0])
    for name in ("scene", "fewest-holes"):
        way = what_if_named(name)
        plan = begin if name == "scene" else plan_what_if(building, way, begin=begin)
        [row] = [row for row in table(two[0]) if (row["scene"], row["what_if"]) == (str(STUDIO), name)]
        assert (Decimal(row["feet"]), int(row["holes"])) == (figures_of(plan).feet, figures_of(plan).holes)
        assert float(row["money"]) == pytest.approx(plan.cost, abs=0.0051)


def test_one_process_writes_the_same_bytes_as_two(
    scenes: list[Path], two: tuple[Path, tuple[Outcome, ...], list[str]], tmp_path: Path
) -> None:
    swept(scenes, tmp_path, jobs=1)
    for name in ("sweep.csv", "sweep.json"):
        assert (tmp_path / name).read_bytes() == (two[0] / name).read_bytes()


def test_the_json_file_says_what_the_csv_file_says(two: tuple[Path, tuple[Outcome, ...], list[str]]) -> None:
    rows = json.loads((two[0] / "sweep.json").read_text(encoding="utf-8"))
    assert sweep_json(two[1]) == (two[0] / "sweep.json").read_text(encoding="utf-8")
    for row, told in zip(table(two[0]), rows, strict=True):
        for column, text in row.items():
            value = told[column]
            assert text == "" if value is None else text == value if isinstance(value, str) else float(text) == value


def test_the_table_has_a_head_and_a_row_for_each_as_it_comes(two: tuple[Path, tuple[Outcome, ...], list[str]]) -> None:
    head, *rows = two[2]
    assert head.split()[:3] == ["SCENE", "WHAT", "IF"]
    assert len(rows) == len(two[1])
    assert {len(line) <= 100 for row in rows for line in row.splitlines()} == {True}


def test_a_gap_is_told_where_there_is_a_bound() -> None:
    building = read_building(STUDIO)
    figures = figures_of(plan_what_if(building, what_ifs()[0]))
    bound = float(figures.money) / 1.25
    one = Outcome(scene="s", what_if="scene", outcome="planned", figures=figures, lower_bound=bound)
    assert one.gap_percent == pytest.approx(Decimal(25), abs=Decimal("0.01"))
    assert Outcome(scene="s", what_if="scene", outcome="planned", figures=figures).gap_percent is None


def test_an_interrupt_leaves_what_is_done(scenes: list[Path], tmp_path: Path) -> None:
    shown: list[str] = []

    def show(line: str) -> None:
        shown.append(line)
        if len(shown) == 4:  # the head, and three rows
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        swept([STUDIO, scenes[2]], tmp_path, jobs=2, show=show)
    assert len(table(tmp_path)) == 3
    assert sorted(path.name for path in tmp_path.iterdir()) == ["sweep.csv", "sweep.json"]


def test_the_same_work_goes_to_a_scheduler_that_is_named(
    scenes: list[Path], two: tuple[Path, tuple[Outcome, ...], list[str]], tmp_path: Path
) -> None:
    from distributed import LocalCluster

    with (
        warnings.catch_warnings(),
        LocalCluster(
            n_workers=1, threads_per_worker=1, dashboard_address=None, silence_logs=logging.CRITICAL
        ) as cluster,
    ):
        swept(scenes, tmp_path, jobs=None, scheduler=cluster.scheduler_address)
    assert (tmp_path / "sweep.csv").read_bytes() == (two[0] / "sweep.csv").read_bytes()


def test_without_dask_one_line_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(BarnloomError, match="pip install distributed"):
        swept([STUDIO], None)


@pytest.mark.parametrize(
    ("address", "jobs", "words"),
    [("nonsense", None, "no scheduler at nonsense"), ("tcp://127.0.0.1:8786", 2, "--jobs with --scheduler")],
)
def test_an_address_that_cannot_be_is_told_at_once(address: str, jobs: int | None, words: str) -> None:
    with pytest.raises(InputError, match=words):
        swept([STUDIO], None, jobs=jobs, scheduler=address)


def test_a_what_if_that_is_none_is_told_before_any_work() -> None:
    with pytest.raises(InputError, match="did you mean fewest-feet"):
        swept([STUDIO], None, "fewest-feat")


def test_whatever_goes_wrong_in_a_process_is_an_outcome(monkeypatch: pytest.MonkeyPatch) -> None:
    def breaking(*_: Any, **__: Any) -> Any:
        msg = "a hole\nin the floor"
        raise ZeroDivisionError(msg)

    monkeypatch.setattr(sweeping, "tried", breaking)
    begun = sweeping._begun("studio.yaml", STUDIO.read_bytes())
    found = [sweeping._outcome(begun, "studio.yaml", way.id) for way in what_ifs()]
    assert [one.outcome for one in found] == ["failed"] * 4 + ["does not apply"] * 2
    assert {one.words for one in found[:4]} == {"ZeroDivisionError: a hole in the floor"}

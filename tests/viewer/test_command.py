"""The command: what it prints where, its exit codes, what it leaves behind, and how quickly help comes."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest
from sample_plan import sample_building, sample_plan

from barnloom.model.building import Building
from barnloom.model.errors import Fault, SceneError
from barnloom.routing.plan import Plan
from barnloom.routing.store import plan_json_schema, plan_to_json
from barnloom.viewer import files
from barnloom.viewer.command import main
from barnloom.viewer.tables import TABLES

LISTS = {"plan.json", "holes.txt", "cables.txt", "boxes.txt", "questions.txt", *TABLES}
PICTURES = {"picture.png", "building.glb"}


class Finding:
    """One verdict of the checker, as far as the command looks at it."""

    def __init__(self, severity: str, subject: str = "LOFT-J3.a", words: str = "is wrong") -> None:
        self.severity, self.subject, self.words, self.code = severity, subject, words, "a.code"

    def __str__(self) -> str:
        return f"{self.severity}: {self.subject}: {self.words}"


@pytest.fixture
def stage(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Put stand-ins where the command looks for the reader, the planner, the checker and the pictures."""

    def put(name: str, **functions: object) -> None:
        module = ModuleType(name)
        for key, function in functions.items():
            setattr(module, key, function)
        monkeypatch.setitem(sys.modules, name, module)

    def draw(plan: Plan, folder: Path) -> list[str]:
        for name in PICTURES:
            (folder / name).write_bytes(b"drawn")
        return ["a line of talk"]

    def set_stage(
        *,
        plan: Plan | Exception | type[BaseException] | None = None,
        findings: tuple[Finding, ...] = (),
        pictures: Callable[[Plan, Path], list[str]] = draw,
        building: Building | Exception | None = None,
    ) -> None:
        def read_building(path: Path) -> Building:
            if isinstance(building, Exception):
                raise building
            return building or sample_building()

        def plan_building(
            found: Building, *, effort: str = "normal", progress: Callable[[str], None] | None = None
        ) -> Plan:
            if progress:
                progress("thinking hard")
            if plan is not None and not isinstance(plan, Plan):
                raise plan
            return plan or sample_plan(unreached=(), unreached_why=(), building=found)

        import barnloom.model

        monkeypatch.setattr(barnloom.model, "read_building", read_building, raising=False)
        put("barnloom.routing.planner", plan_building=plan_building)
        put("barnloom.routing.check", check=lambda _: findings, check_deep=lambda _: (Finding("warning", "deep"),))
        put(
            "barnloom.viewer.pictures",
            make_pictures=pictures,
            picture=lambda plan, look: (b"drawn", ["a line of talk"]),
        )

    return set_stage


def names(folder: Path) -> set[str]:
    """Everything in a folder, hidden files too."""
    return {path.name for path in folder.iterdir()}


def test_a_planned_scene_leaves_all_files_and_exits_0(
    stage: Callable[..., None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stage()
    out = tmp_path / "a" / "plan"
    assert main(["plan", "shed.yaml", "--out", str(out)]) == 0
    assert names(out) == LISTS | PICTURES
    said = capsys.readouterr()
    assert "BY CIRCUIT" in said.out
    assert "thinking hard" in said.err
    assert "a line of talk" in said.err
    assert "thinking" not in said.out


def test_the_same_plan_twice_gives_the_same_bytes(stage: Callable[..., None], tmp_path: Path) -> None:
    stage()
    for name in ("a", "b"):
        main(["plan", "shed.yaml", "--out", str(tmp_path / name), "--no-pictures", "--quiet"])
    for name in LISTS:
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()
        assert not (tmp_path / "a" / name).read_bytes().startswith(b"\xef\xbb\xbf")


def test_something_unplanned_exits_1_and_is_named(
    stage: Callable[..., None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stage(plan=sample_plan())
    assert main(["plan", "shed.yaml", "--out", str(tmp_path)]) == 1
    assert "FAR (P1): GIRDER may not be bored" in capsys.readouterr().out
    assert names(tmp_path) == LISTS | PICTURES


def test_a_wrong_scene_exits_2_with_every_fault_located_and_writes_nothing(
    stage: Callable[..., None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    faults = [
        Fault(("walls", "SOUTH", name), "-3", "a length", "measure again", n, 7) for n, name in ((3, "x"), (9, "y"))
    ]
    stage(building=SceneError(faults))
    assert main(["plan", "shed.yaml", "--out", str(tmp_path / "plan")]) == 2
    said = capsys.readouterr()
    assert "shed.yaml:3:7" in said.err
    assert "shed.yaml:9:7" in said.err
    assert said.out == ""
    assert not (tmp_path / "plan").exists()


def test_a_plan_that_the_checker_rejects_exits_3_in_one_line_and_writes_nothing(
    stage: Callable[..., None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stage(findings=(Finding("warning"), Finding("fault", words="cuts too deep"), Finding("fault")))
    assert main(["plan", "shed.yaml", "--out", str(tmp_path / "plan"), "--quiet"]) == 3
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 1
    assert "cuts too deep and 1 more" in said.err
    assert not (tmp_path / "plan").exists()


def test_what_the_checker_warns_of_goes_into_the_outputs(stage: Callable[..., None], tmp_path: Path) -> None:
    stage(findings=(Finding("warning", "OLD1", "is near an end"),))
    assert main(["plan", "shed.yaml", "--out", str(tmp_path), "--quiet"]) == 0
    assert "- OLD1: is near an end" in (tmp_path / "holes.txt").read_text(encoding="utf-8")
    assert "OLD1: is near an end" in json.loads((tmp_path / "plan.json").read_text(encoding="utf-8"))["warnings"]


def test_a_bug_ends_in_one_line_and_exit_3(
    stage: Callable[..., None], tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    stage(plan=ZeroDivisionError("oh no"))
    monkeypatch.delenv("BARNLOOM_DEBUG", raising=False)
    assert main(["plan", "shed.yaml", "--out", str(tmp_path / "plan"), "--quiet"]) == 3
    said = capsys.readouterr().err
    assert len(said.splitlines()) == 1
    assert "ZeroDivisionError: oh no" in said
    assert not (tmp_path / "plan").exists()
    monkeypatch.setenv("BARNLOOM_DEBUG", "1")
    with pytest.raises(ZeroDivisionError):
        main(["plan", "shed.yaml", "--out", str(tmp_path / "plan")])


def test_an_interrupt_exits_130_and_leaves_what_was_there(stage: Callable[..., None], tmp_path: Path) -> None:
    (tmp_path / "holes.txt").write_text("of an earlier plan", encoding="utf-8")

    def interrupted(plan: Plan, folder: Path) -> list[str]:
        (folder / "picture.png").write_bytes(b"half")
        raise KeyboardInterrupt

    stage(pictures=interrupted)
    assert main(["plan", "shed.yaml", "--out", str(tmp_path)]) == 130
    assert names(tmp_path) == {"holes.txt"}
    assert (tmp_path / "holes.txt").read_text(encoding="utf-8") == "of an earlier plan"
    assert main(["plan", "shed.yaml", "--out", str(tmp_path / "new" / "plan")]) == 130
    assert not (tmp_path / "new").exists()


def test_a_request_to_end_cleans_up_too(stage: Callable[..., None], tmp_path: Path) -> None:
    before = signal.getsignal(signal.SIGTERM)

    def ended(plan: Plan, folder: Path) -> list[str]:
        signal.raise_signal(signal.SIGTERM)
        return []

    stage(pictures=ended)
    assert main(["plan", "shed.yaml", "--out", str(tmp_path)]) == 130
    assert names(tmp_path) == set()
    assert signal.getsignal(signal.SIGTERM) is before


def test_an_interrupt_while_files_are_renamed_waits_until_all_of_them_are(
    stage: Callable[..., None], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stage()
    rename, before = os.replace, signal.getsignal(signal.SIGINT)

    def interrupted(source: Path, target: Path) -> None:
        signal.raise_signal(signal.SIGINT)
        rename(source, target)

    monkeypatch.setattr(files.os, "replace", interrupted)
    assert main(["plan", "shed.yaml", "--out", str(tmp_path), "--quiet"]) == 130
    assert names(tmp_path) == LISTS | PICTURES
    assert signal.getsignal(signal.SIGINT) is before


def test_a_failing_picture_fails_no_plan(
    stage: Callable[..., None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def failing(plan: Plan, folder: Path) -> list[str]:
        msg = "no brush"
        raise RuntimeError(msg)

    stage(pictures=failing)
    assert main(["plan", "shed.yaml", "--out", str(tmp_path), "--quiet"]) == 0
    assert names(tmp_path) == LISTS
    assert "no pictures: RuntimeError: no brush" in capsys.readouterr().err


def test_without_pictures_none_is_drawn_and_old_ones_are_named(
    stage: Callable[..., None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stage()
    (tmp_path / "picture.png").write_bytes(b"old")
    assert main(["plan", "shed.yaml", "--out", str(tmp_path), "--no-pictures", "--quiet"]) == 0
    assert names(tmp_path) == LISTS | {"picture.png"}
    assert "picture.png is of an earlier plan" in capsys.readouterr().err


def test_quiet_leaves_stderr_empty_and_the_summary_on_stdout(
    stage: Callable[..., None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stage()
    main(["plan", "shed.yaml", "--out", str(tmp_path), "--no-pictures", "--quiet"])
    said = capsys.readouterr()
    assert said.err == ""
    assert "ALL CABLES" in said.out


def test_json_is_one_object_on_stdout(
    stage: Callable[..., None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stage(plan=sample_plan())
    assert main(["plan", "shed.yaml", "--out", str(tmp_path), "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert (data["cost"], data["unreached"], set(data["files"])) == (123.456, ["FAR"], LISTS | PICTURES)


def test_a_file_where_the_folder_should_be_is_refused_before_any_planning(
    stage: Callable[..., None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stage(plan=AssertionError("planned"))
    (tmp_path / "plan").write_text("mine", encoding="utf-8")
    for out in (tmp_path / "plan", tmp_path / "plan" / "deeper"):
        assert main(["plan", "shed.yaml", "--out", str(out)]) == 2
        assert "found a file; expected a folder" in capsys.readouterr().err
    assert (tmp_path / "plan").read_text(encoding="utf-8") == "mine"


def test_a_folder_where_a_file_should_go_is_refused_and_all_else_stays(
    stage: Callable[..., None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stage()
    (tmp_path / "feet.csv").mkdir()
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    assert main(["plan", "shed.yaml", "--out", str(tmp_path)]) == 2
    assert "feet.csv: found a folder where a file has to go" in capsys.readouterr().err
    assert names(tmp_path) == {"feet.csv", "mine.txt"}


def test_names_in_a_scene_become_no_file_names(stage: Callable[..., None], tmp_path: Path) -> None:
    path = "../../escape/<b>=1+1"
    building = sample_building(title=path, about={"use": path, "owner": path, "place": path})
    building = replace(building, boxes=tuple(replace(box, title=path) for box in building.boxes))
    stage(plan=sample_plan(building=building, unreached=(), unreached_why=()))
    assert main(["plan", "shed.yaml", "--out", str(tmp_path / "plan"), "--quiet"]) == 0
    assert names(tmp_path) == {"plan"}
    assert names(tmp_path / "plan") == LISTS | PICTURES


@pytest.mark.parametrize(
    "arguments",
    [
        ["plan", "shed.yaml", "--out", "x", "--speed"],
        ["plan", "shed.yaml", "--out", "x", "--no-pic"],
        ["plan", "shed.yaml"],
        ["paln"],
        [],
        ["schema", "other"],
        ["new", "x.yaml", "--width", "24'", "--depth", "16'"],
    ],
)
def test_unknown_or_missing_arguments_exit_2(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(arguments) == 2
    assert "usage:" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("findings", "unreached", "code"),
    [((), (), 0), ((Finding("warning"),), (), 0), ((), ("FAR",), 1), ((Finding("fault"),), ("FAR",), 3)],
)
def test_check_tells_by_its_exit_code_what_it_found(
    stage: Callable[..., None],
    tmp_path: Path,
    findings: tuple[Finding, ...],
    unreached: tuple[str, ...],
    code: int,
    capsys: pytest.CaptureFixture[str],
) -> None:
    stage(findings=findings)
    (tmp_path / "plan.json").write_text(plan_to_json(sample_plan(unreached=unreached)), encoding="utf-8")
    assert main(["check", str(tmp_path)]) == code
    out = capsys.readouterr().out
    faults = sum(finding.severity == "fault" for finding in findings)
    assert f"{faults} faults, {len(findings) - faults} warnings" in out
    assert main(["check", str(tmp_path / "plan.json"), "--json"]) == code
    data = json.loads(capsys.readouterr().out)
    assert (len(data["faults"]), len(data["warnings"]), data["unreached"]) == (
        (faults, len(findings) - faults, list(unreached))
    )


def test_check_deep_asks_for_the_second_opinion(
    stage: Callable[..., None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stage()
    (tmp_path / "plan.json").write_text(plan_to_json(sample_plan()), encoding="utf-8")
    main(["check", str(tmp_path), "--deep"])
    assert "warning: deep: is wrong" in capsys.readouterr().out


@pytest.mark.parametrize("command", ["check", "view"])
def test_what_is_no_plan_exits_2(command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "plan.json").write_text('{"version": 7}', encoding="utf-8")
    assert main([command, str(tmp_path)]) == 2
    assert "found plan version 7" in capsys.readouterr().err
    assert main([command, str(tmp_path / "nothing.json")]) == 2


def test_view_draws_a_picture_into_a_file(stage: Callable[..., None], tmp_path: Path) -> None:
    stage()
    (tmp_path / "plan.json").write_text(plan_to_json(sample_plan()), encoding="utf-8")
    assert main(["view", str(tmp_path), "--picture", str(tmp_path / "deep" / "a.png")]) == 0
    assert names(tmp_path / "deep") == {"a.png"}
    assert (tmp_path / "deep" / "a.png").read_bytes() == b"drawn"


def test_new_writes_a_scene_once_and_never_over_another(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "shed.yaml"
    sizes = ["--width", "24'", "--depth", "16'", "--height", "8'"]
    assert main(["new", str(file), *sizes]) == 0
    text = file.read_text(encoding="utf-8")
    assert "units: us" in text
    assert main(["new", str(file), *sizes]) == 2
    assert "is there already" in capsys.readouterr().err
    assert file.read_text(encoding="utf-8") == text
    assert names(tmp_path) == {"shed.yaml"}


def test_new_speaks_the_units_it_is_spoken_to_in(tmp_path: Path) -> None:
    file = tmp_path / "shed.yaml"
    assert main(["new", str(file), "--width", "7.2 m", "--depth", "500 cm", "--height", "2400mm"]) == 0
    assert "units: metric" in file.read_text(encoding="utf-8")


@pytest.mark.parametrize(("width", "words"), [("24", "--width: found 24"), ("wide", "--width: found"), ("1'", "found")])
def test_new_says_what_is_wrong_with_a_length(
    width: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["new", str(tmp_path / "a.yaml"), "--width", width, "--depth", "16'", "--height", "8'"]) == 2
    assert words in capsys.readouterr().err
    assert names(tmp_path) == set()


def test_set_changes_one_value_keeps_remarks_and_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "shed.yaml"
    main(["new", str(file), "--width", "24'", "--depth", "16'", "--height", "8'"])
    before = file.read_text(encoding="utf-8").splitlines()
    capsys.readouterr()
    assert main(["set", str(file), "title", "Net shed"]) == 0
    after = file.read_text(encoding="utf-8").splitlines()
    changed = [n for n, (old, new) in enumerate(zip(before, after, strict=True)) if old != new]
    assert [after[n] for n in changed] == ["title: Net shed"]
    assert capsys.readouterr().err == f"{file}:{changed[0] + 1}: title: My shed -> Net shed\n"
    assert main(["set", str(file), "titel", "x"]) == 2
    assert main(["set", str(file), "storeys/GROUND/floor", "nine"]) == 2
    assert file.read_text(encoding="utf-8").splitlines() == after


def test_schema_plan_prints_the_published_schema(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema", "plan"]) == 0
    assert json.loads(capsys.readouterr().out) == plan_json_schema()


def test_a_reader_that_goes_away_is_no_error() -> None:
    read, write = os.pipe()
    os.close(read)
    program = "import sys; from barnloom.viewer.command import main; sys.exit(main(['schema', 'plan']))"
    done = subprocess.run([sys.executable, "-c", program], stdout=write, stderr=subprocess.PIPE, check=False)
    os.close(write)
    assert done.stderr == b""
    assert done.returncode == 130


def test_help_imports_nothing_heavy() -> None:
    heavy = ("numpy", "scipy", "pydantic", "trimesh", "pyvista", "ruamel", "vtk", "typst")
    program = (
        "import sys, contextlib, io\n"
        "import barnloom.viewer.command\n"
        "with contextlib.redirect_stdout(io.StringIO()) as out:\n"
        "    assert barnloom.viewer.command.main(['--help']) == 0\n"
        "assert 'plan a scene' in out.getvalue()\n"
        f"print([name for name in {heavy!r} if name in sys.modules])\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_sheets_and_page_write_all_their_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    scene = Path(__file__).parents[2] / "scenes" / "garden-studio.yaml"
    assert main(["plan", str(scene), "--out", str(tmp_path / "plan"), "--no-pictures", "--quiet"]) == 0
    assert main(["sheets", str(tmp_path / "plan"), "--out", str(tmp_path / "sheets"), "--paper", "a4"]) == 0
    starts = {"sheets.pdf": b"%PDF", "permit.pdf": b"%PDF", "takeoff.xlsx": b"PK", "drawings.dxf": b"  0"}
    assert {path.name for path in (tmp_path / "sheets").iterdir()} == set(starts)
    for name, start in starts.items():
        assert (tmp_path / "sheets" / name).read_bytes().startswith(start), name
    assert main(["page", str(tmp_path / "plan"), "--out", str(tmp_path / "page")]) == 0
    assert (tmp_path / "page" / "index.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert "wrote index.html into" in capsys.readouterr().err


STUDIO = Path(__file__).parents[2] / "scenes" / "garden-studio.yaml"


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of a plan that was really made."""
    folder = tmp_path_factory.mktemp("studio") / "plan"
    assert main(["plan", str(STUDIO), "--out", str(folder), "--no-pictures", "--quiet"]) == 0
    return folder


def test_asbuilt_takes_a_report_in_and_writes_a_plan_with_its_record(
    studio: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "done.txt").write_text("all drilled\nA.DESK pulled\n", encoding="utf-8")
    arguments = ["asbuilt", str(studio), str(tmp_path / "done.txt"), "--out", str(tmp_path / "now"), "--no-pictures"]
    assert main(arguments) == 0
    assert names(tmp_path / "now") == LISTS | {"as-built.txt"}
    said = capsys.readouterr()
    assert "AS BUILT SO FAR" in said.out
    assert "0 to bore" in said.out
    record = (tmp_path / "now" / "as-built.txt").read_text(encoding="utf-8")
    assert "cables: 1 pulled, 2 still to pull" in record
    assert "A.DESK" not in {line.split(",")[0] for line in (tmp_path / "now" / "coils.csv").read_text().splitlines()}
    # What is recorded is a plan like any other: it is checked, printed, and reported on again.
    assert main(["check", str(tmp_path / "now")]) == 0
    assert main([*arguments[:1], str(tmp_path / "now"), *arguments[2:]]) == 0


def test_asbuilt_tells_every_wrong_line_and_writes_nothing(
    studio: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "done.txt").write_text("NORTH-S4.q drilled\nhello\n", encoding="utf-8")
    assert main(["asbuilt", str(studio), str(tmp_path / "done.txt"), "--out", str(tmp_path / "now")]) == 2
    said = capsys.readouterr().err
    assert "done.txt:1: found 'NORTH-S4.q'" in said
    assert "done.txt:2: found 'hello'" in said
    assert "Traceback" not in said
    assert not (tmp_path / "now").exists()


def test_asbuilt_tells_when_what_is_done_leaves_no_plan(
    studio: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # 8 in3: two cables of 12/2 with a receptacle want 4 x 2.25 + 2.25 + 4.5 at least (NEC 2023 314.16(B)).
    (tmp_path / "done.txt").write_text("DESK box octagon-4x1-1-4\nEASEL box octagon-4x1-1-4\n", encoding="utf-8")
    assert main(["asbuilt", str(studio), str(tmp_path / "done.txt"), "--out", str(tmp_path / "now")]) == 2
    assert "leaves no plan" in capsys.readouterr().err


def test_changes_says_what_is_otherwise_and_writes_it(
    studio: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["changes", str(studio), str(studio)]) == 0
    same = capsys.readouterr().out
    assert "othing" in same
    (tmp_path / "done.txt").write_text('NORTH-S4.a moved to 30"\n', encoding="utf-8")
    now = tmp_path / "now"
    main(["asbuilt", str(studio), str(tmp_path / "done.txt"), "--out", str(now), "--no-pictures", "--quiet"])
    capsys.readouterr()
    assert main(["changes", str(studio), str(now), "--json", "--out", str(tmp_path / "told")]) == 0
    assert names(tmp_path / "told") == {"changes.txt", "changes.json", "changes.pdf"}
    printed = capsys.readouterr().out
    assert json.loads(printed) == json.loads((tmp_path / "told" / "changes.json").read_text(encoding="utf-8"))
    assert "NORTH-S4.a" in printed


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--storey", "ATTIC"], "expected one of"),
        (["--circuit", "a"], "did you mean A?"),
        (["--below", "NORTH"], "floor or roof slope"),
        (["--wall", "NORHT"], "did you mean NORTH?"),
        (["--wall", "NORTH", "--cut-away"], "expected one of them"),
    ],
)
def test_view_tells_an_id_that_is_not_there(
    options: list[str], said: str, studio: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    picture = tmp_path / "part.png"
    assert main(["view", str(studio), "--picture", str(picture), *options]) == 2
    assert said in capsys.readouterr().err
    assert not picture.exists()


def test_view_draws_all_pictures_into_a_folder_or_one_part(
    studio: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["view", str(studio), "--pictures", str(tmp_path / "all")]) == 0
    drawn = names(tmp_path / "all")
    assert {"whole.png", "circuit-A.png", "wall-NORTH.png"} <= drawn
    assert all((tmp_path / "all" / name).read_bytes().startswith(b"\x89PNG") for name in drawn)
    assert main(["view", str(studio), "--pictures", str(tmp_path / "some"), "--wall", "NORTH"]) == 2
    assert "--pictures alone" in capsys.readouterr().err
    assert main(["view", str(studio), "--picture", str(tmp_path / "north.png"), "--wall", "NORTH"]) == 0
    assert (tmp_path / "north.png").read_bytes() == (tmp_path / "all" / "wall-NORTH.png").read_bytes()


def test_survey_prints_blank_sheets_and_a_scene_that_asks_the_same(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["survey", "--out", str(tmp_path / "blank"), "--width", "6 m", "--depth", "4.5 m"]) == 0
    assert names(tmp_path / "blank") == {"survey.pdf", "survey.yaml"}
    assert "units: metric" in (tmp_path / "blank" / "survey.yaml").read_text(encoding="utf-8")
    capsys.readouterr()
    assert main(["survey", str(tmp_path / "blank" / "survey.yaml"), "--out", str(tmp_path / "told")]) == 1
    assert names(tmp_path / "told") == {"survey.pdf", "survey.txt", "survey.json"}
    told = (tmp_path / "told" / "survey.txt").read_text(encoding="utf-8")
    assert capsys.readouterr().out == told
    assert "MISSING" in told
    assert json.loads((tmp_path / "told" / "survey.json").read_text(encoding="utf-8"))


def test_survey_of_a_whole_scene_says_what_was_assumed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["survey", str(STUDIO), "--out", str(tmp_path / "told")]) in (0, 1)
    assert "MISSING" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--width", "long"], "--width"),
        ([str(STUDIO), "--width", "20'"], "the scene alone"),
        (["nothing.yaml"], "nothing.yaml"),
    ],
)
def test_survey_tells_what_is_wrong(
    arguments: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["survey", *arguments, "--out", str(tmp_path / "told")]) == 2
    words = capsys.readouterr().err
    assert said in words
    assert "Traceback" not in words
    assert not (tmp_path / "told").exists()


def test_plan_of_a_half_filled_scene_names_the_survey(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    scene = tmp_path / "half.yaml"
    text = STUDIO.read_text(encoding="utf-8")
    scene.write_text(text.replace("height: 8'", "height: ?", 1), encoding="utf-8")
    assert scene.read_text(encoding="utf-8").count("?") == 1
    assert main(["plan", str(scene), "--out", str(tmp_path / "plan")]) == 2
    words = capsys.readouterr().err
    assert "1 value is not known yet" in words
    assert f"barnloom survey {scene}" in words

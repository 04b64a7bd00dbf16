"""The command ``barnloom``: reads arguments, calls the rest, prints. Results on stdout, talk on stderr.

Everything heavy is imported where it is used, so that help comes at once.
"""

from __future__ import annotations

import argparse
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from barnloom.viewer.arguments import parser

if TYPE_CHECKING:
    from barnloom.routing.plan import Plan
    from barnloom.viewer.look import Look

PLANNED, UNPLANNED, WRONG_INPUT, REJECTED, INTERRUPTED = 0, 1, 2, 3, 130
"""Exit codes: all planned; something stayed unplanned; input wrong; own plan rejected or a bug; interrupted."""


def main(argv: Sequence[str] | None = None) -> int:
    """
    Run the command and return its exit code; bad input and bugs end in one line on stderr, never in a traceback.

    With ``BARNLOOM_DEBUG=1`` in the environment a bug shows its traceback.
    """
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        arguments = parser().parse_args(argv)
    except SystemExit as stop:
        return int(stop.code or 0)
    try:
        with _end_like_interrupt():
            code = _run(arguments)
        sys.stdout.flush()
    except KeyboardInterrupt:
        _say("interrupted; no file is left half-written")
        return INTERRUPTED
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return INTERRUPTED
    except OSError as error:
        _say(f"{error.filename or 'file'}: {error.strerror or error}")
        return WRONG_INPUT
    except Exception as error:
        if os.environ.get("BARNLOOM_DEBUG") == "1":
            raise
        _say(f"a bug in barnloom: {type(error).__name__}: {error}; nothing was written. BARNLOOM_DEBUG=1 shows where")
        return REJECTED
    return code


@contextmanager
def _end_like_interrupt() -> Iterator[None]:
    """Let a request to end (SIGTERM) clean up as an interrupt from the keyboard does."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def _run(arguments: argparse.Namespace) -> int:
    from barnloom.model.errors import BarnloomError, SceneError

    commands: Mapping[str, Callable[[argparse.Namespace], int]] = {
        "plan": _plan,
        "check": _check,
        "view": _view,
        "sheets": _sheets,
        "page": _page,
        "asbuilt": _asbuilt,
        "changes": _changes,
        "compare": _compare,
        "sweep": _sweep,
        "new": _new,
        "survey": _survey,
        "set": _set,
        "schema": _schema,
    }
    try:
        return commands[arguments.command](arguments)
    except SceneError as error:
        from barnloom.model.scene.read import format_faults

        gaps = _gaps(arguments.scene)
        if gaps:  # a "?" is no YAML where a value stands, so what the reader says of it would only confuse
            known = "1 value is" if gaps == 1 else f"{gaps} values are"
            _say(
                f"{arguments.scene}: {known} not known yet (?); this says which measurement fills each: "
                f"barnloom survey {arguments.scene} --out survey"
            )
            return WRONG_INPUT
        _say(format_faults(arguments.scene, error.faults))
    except BarnloomError as error:
        _say(str(error))
    return WRONG_INPUT


def _gaps(scene: Path) -> int:
    """How many values of a scene are written as not known yet."""
    from barnloom.model.errors import SceneError
    from barnloom.model.scene.half import read_half

    try:
        return sum(value.marked for value in read_half(scene).missing)
    except SceneError:
        return 0


def _plan(arguments: argparse.Namespace) -> int:
    from barnloom.viewer.files import refuse_file

    talk = _silent if arguments.quiet else _say
    refuse_file(arguments.out)
    talk(f"reading {arguments.scene}")
    from barnloom.model import SceneError, read_building, read_scene

    building = read_building(arguments.scene)
    from barnloom.routing.planner import plan_building

    try:
        plan = _checked(plan_building(building, effort=arguments.effort, progress=talk), talk)
    except SceneError as error:  # found only while planning: an overfull box, a panel without a free space
        raise SceneError(read_scene(arguments.scene).placed(error.faults)) from error
    return REJECTED if plan is None else _written(plan, arguments, talk)


def _asbuilt(arguments: argparse.Namespace) -> int:
    from barnloom.model.errors import SceneError
    from barnloom.routing.asbuilt import as_built, read_moves
    from barnloom.routing.store import read_plan
    from barnloom.viewer.files import refuse_file

    talk = _silent if arguments.quiet else _say
    refuse_file(arguments.out)
    plan = read_plan(arguments.plan)
    moves = read_moves(arguments.moves, plan)
    try:
        why = "beside what is drilled there is no way that keeps the limits, or this is a bug in barnloom"
        again = _checked(as_built(plan, moves, effort=arguments.effort, progress=talk), talk, why)
    except SceneError as error:
        for fault in error.faults:
            _say(f"{arguments.moves}: what is done leaves no plan: {fault}")
        return WRONG_INPUT
    return REJECTED if again is None else _written(again, arguments, talk)


def _written(plan: Plan, arguments: argparse.Namespace, talk: Callable[[str], None]) -> int:
    """Write a plan with its lists and pictures, and print its summary."""
    from barnloom.viewer.files import staging

    with staging(arguments.out) as stage:
        talk("writing the lists")
        _write_lists(plan, stage)
        if not arguments.no_pictures:
            talk("drawing the pictures")
            _draw(plan, stage)
        written = sorted(path.name for path in stage.iterdir() if path.is_file())
    for name in ("picture.png", "building.glb"):
        if name not in written and (arguments.out / name).exists():
            _say(f"{arguments.out / name} is of an earlier plan")
    talk(f"wrote {', '.join(written)} into {arguments.out}")
    from barnloom.viewer.report import figures, summary

    _print_json({**figures(plan), "files": written}) if arguments.json else print(summary(plan), end="")
    if plan.searched and plan.searched.interrupted:
        return INTERRUPTED
    return UNPLANNED if plan.unreached else PLANNED


def _checked(plan: Plan, talk: Callable[[str], None], why: str = "a bug in barnloom") -> Plan | None:
    """Return the plan with what the checker warns of; None, and one line said, if it finds a fault."""
    from barnloom.viewer.checked import checked

    talk("checking the plan")
    plan, faults = checked(plan)
    if faults:
        more = f" and {len(faults) - 1} more" if len(faults) > 1 else ""
        _say(f"the checker rejected this plan ({faults[0]}{more}): {why}; nothing was written")
        return None
    return plan


def _compare(arguments: argparse.Namespace) -> int:
    from barnloom.model import SceneError, read_building, read_scene
    from barnloom.viewer.compare import compared, comparison_json, comparison_text, write_comparison
    from barnloom.viewer.files import refuse_file

    if arguments.out is not None:
        refuse_file(arguments.out)
    building = read_building(arguments.scene)
    try:
        rows = compared(building, _say)
    except SceneError as error:
        raise SceneError(read_scene(arguments.scene).placed(error.faults)) from error
    if arguments.out is not None:
        write_comparison(arguments.out, building, rows)
    print((comparison_json if arguments.json else comparison_text)(building, rows), end="")
    return PLANNED if all(row.plan and not row.plan.unreached for row in rows) else UNPLANNED


def _sweep(arguments: argparse.Namespace) -> int:
    from functools import partial

    from barnloom.viewer.sweep import run_sweep, sweep_json

    outcomes = run_sweep(
        arguments.scenes,
        names=arguments.what_if,
        jobs=arguments.jobs,
        scheduler=arguments.scheduler,
        out=arguments.out,
        show=_silent if arguments.json else partial(print, flush=True),
        say=_say,
    )
    if arguments.json:
        print(sweep_json(outcomes), end="")
    return PLANNED if all(one.well for one in outcomes) else UNPLANNED


def _write_lists(plan: Plan, folder: Path) -> None:
    from barnloom.routing.store import plan_to_json
    from barnloom.viewer.boxcards import boxes_text
    from barnloom.viewer.lists import cables_text, holes_text
    from barnloom.viewer.questions import questions_text
    from barnloom.viewer.tables import csv_tables

    texts = {
        "plan.json": plan_to_json(plan),
        "holes.txt": holes_text(plan),
        "cables.txt": cables_text(plan),
        "boxes.txt": boxes_text(plan),
        "questions.txt": questions_text(plan),
        **csv_tables(plan),
    }
    if plan.as_built:
        from barnloom.viewer.asbuilt import as_built_text

        texts["as-built.txt"] = as_built_text(plan)
    for name, text in texts.items():
        (folder / name).write_bytes(text.encode("utf-8"))


def _draw(plan: Plan, folder: Path) -> None:
    """Draw the pictures; where that fails the plan still stands, and one line says so."""
    try:
        from barnloom.viewer.pictures import make_pictures

        for line in make_pictures(plan, folder):
            _say(line)
    except Exception as error:
        if os.environ.get("BARNLOOM_DEBUG") == "1":
            raise
        _say(f"no pictures: {type(error).__name__}: {error}")


def _check(arguments: argparse.Namespace) -> int:
    from barnloom.routing.check import check, check_deep
    from barnloom.routing.store import read_plan

    plan = read_plan(arguments.plan)
    findings = check(plan)
    if arguments.deep:
        _say("asking solid geometry for a second opinion")
        findings += check_deep(plan)
    by_severity = {
        severity: [finding for finding in findings if finding.severity == severity] for severity in ("fault", "warning")
    }
    if arguments.json:
        _print_json(
            {
                f"{severity}s": [{"code": one.code, "subject": one.subject, "words": one.words} for one in found]
                for severity, found in by_severity.items()
            }
            | {"unreached": list(plan.unreached)}
        )
    else:
        for finding in (*by_severity["fault"], *by_severity["warning"]):
            print(finding)
        print(f"{len(by_severity['fault'])} faults, {len(by_severity['warning'])} warnings")
        if plan.unreached:
            print(f"not reached: {', '.join(plan.unreached)}")
    if by_severity["fault"]:
        return REJECTED
    return UNPLANNED if plan.unreached else PLANNED


def _view(arguments: argparse.Namespace) -> int:
    from barnloom.routing.store import read_plan
    from barnloom.viewer.look import look_at

    plan = read_plan(arguments.plan)
    look = look_at(
        plan,
        storey=arguments.storey,
        circuits=arguments.circuit,
        below=arguments.below,
        wall=arguments.wall,
        cut_away=arguments.cut_away,
    )
    if arguments.pictures is not None:
        return _draw_set(plan, look, arguments.pictures)
    if arguments.picture is None:
        from barnloom.viewer.window import show

        show(plan, look)
        return PLANNED
    from barnloom.viewer.files import write_file
    from barnloom.viewer.pictures import picture

    png, talk = picture(plan, look)
    for line in talk:
        _say(line)
    write_file(arguments.picture, png, replace=True)
    return PLANNED


def _draw_set(plan: Plan, look: Look, folder: Path) -> int:
    """Draw all pictures of a plan; one thing alone is not asked for together with all of them."""
    from barnloom.model.errors import InputError
    from barnloom.viewer.look import Look
    from barnloom.viewer.pictures import picture_set

    if look != Look():
        found = "--pictures with --storey, --circuit, --below, --wall or --cut-away"
        raise InputError(found, "--pictures alone, which draws them all, or one --picture")
    pictures, talk = picture_set(plan)
    for line in talk:
        _say(line)
    _write_files(folder, pictures)
    return PLANNED


def _sheets(arguments: argparse.Namespace) -> int:
    from barnloom.routing.store import read_plan

    plan = read_plan(arguments.plan)
    paper = arguments.paper or ("a4" if plan.building.metric else "letter")
    from barnloom.viewer.sheets.drawing_file import drawing_file
    from barnloom.viewer.sheets.pack import pack_pdf, permit_pdf
    from barnloom.viewer.workbook import workbook

    _write_files(
        arguments.out,
        {
            "sheets.pdf": pack_pdf(plan, paper=paper),
            "permit.pdf": permit_pdf(plan, paper=paper),
            "takeoff.xlsx": workbook(plan),
            "drawings.dxf": drawing_file(plan),
        },
    )
    return PLANNED


def _page(arguments: argparse.Namespace) -> int:
    from barnloom.routing.store import read_plan
    from barnloom.viewer.page import page_html

    _write_files(arguments.out, {"index.html": page_html(read_plan(arguments.plan)).encode("utf-8")})
    return PLANNED


def _write_files(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write all files, or none."""
    from barnloom.viewer.files import staging

    with staging(folder) as stage:
        for name, content in files.items():
            (stage / name).write_bytes(content)
    _say(f"wrote {', '.join(sorted(files))} into {folder}")


def _changes(arguments: argparse.Namespace) -> int:
    from barnloom.routing.store import read_plan
    from barnloom.viewer.changes import changes_json, changes_pdf, changes_text

    old, new = read_plan(arguments.old), read_plan(arguments.new)
    text, data = changes_text(old, new), changes_json(old, new)
    if arguments.out is not None:
        paper = "a4" if new.building.metric else "letter"
        files = {"changes.txt": text.encode("utf-8"), "changes.json": data.encode("utf-8")}
        _write_files(arguments.out, {**files, "changes.pdf": changes_pdf(old, new, paper=paper)})
    print(data if arguments.json else text, end="")
    return PLANNED


def _new(arguments: argparse.Namespace) -> int:
    from barnloom.model.scene.starter import new_scene
    from barnloom.viewer.files import write_file

    sides, metric = _sizes(arguments, "width", "depth", "height")
    text = new_scene(
        sides["width"],
        sides["depth"],
        sides["height"],
        storeys=arguments.storeys,
        units="metric" if metric else "us",
    )
    write_file(arguments.file, text.encode("utf-8"), replace=False)
    _say(f"wrote {arguments.file}; plan it with: barnloom plan {arguments.file} --out plan")
    return PLANNED


def _sizes(arguments: argparse.Namespace, *sides: str) -> tuple[dict[str, float], bool]:
    """Sizes in inches of those sides that are said, and whether they are said in metric units."""
    from barnloom.model.errors import BarnloomError, InputError
    from barnloom.model.lengths import read_length

    said = {side: getattr(arguments, side) for side in sides if getattr(arguments, side) is not None}
    found = {}
    for side, words in said.items():
        try:
            found[side] = read_length(words)
        except InputError as error:
            msg = f"--{side}: {error}"
            raise BarnloomError(msg) from error
    return found, bool(said) and all(words.rstrip().endswith("m") for words in said.values())


def _survey(arguments: argparse.Namespace) -> int:
    from barnloom.model.errors import InputError

    sizes = [size for size in (arguments.width, arguments.depth, arguments.storeys) if size is not None]
    if arguments.scene is None:
        return _survey_blank(arguments)
    if sizes:
        found = "--width, --depth or --storeys with a scene"
        raise InputError(found, "the scene alone, which says them itself")
    from barnloom.model.survey.survey import survey
    from barnloom.viewer.survey.sheets import survey_pdf
    from barnloom.viewer.survey.told import survey_data, survey_text

    seen = survey(arguments.scene)
    paper = arguments.paper or ("a4" if seen.metric else "letter")
    text = survey_text(seen) + "\n"
    files = {"survey.txt": text.encode("utf-8"), "survey.json": _json(survey_data(seen)).encode("utf-8")}
    _write_files(arguments.out, {**files, "survey.pdf": survey_pdf(seen, paper=paper)})
    print(text, end="")
    return PLANNED if all(finding.kind == "assumed" for finding in seen.findings) else UNPLANNED


def _survey_blank(arguments: argparse.Namespace) -> int:
    """Write blank sheets, and a scene that asks for just what they ask for."""
    from barnloom.model.survey.blank import blank_scene
    from barnloom.viewer.survey.sheets import blank_survey

    sides, metric = _sizes(arguments, "width", "depth")
    width, depth, storeys = sides.get("width"), sides.get("depth"), arguments.storeys or 1
    paper = arguments.paper or ("a4" if metric else "letter")
    pdf = blank_survey(storeys=storeys, width_in=width, depth_in=depth, paper=paper, metric=metric)
    scene = blank_scene(storeys=storeys, width_in=width, depth_in=depth, metric=metric)
    _write_files(arguments.out, {"survey.pdf": pdf, "survey.yaml": scene.encode("utf-8")})
    return PLANNED


def _set(arguments: argparse.Namespace) -> int:
    from barnloom.model.scene.write import set_value

    change = set_value(arguments.scene, arguments.where, arguments.value)
    _say(f"{arguments.scene}:{change.line}: {arguments.where}: {change.before or 'not said'} -> {change.after}")
    return PLANNED


def _schema(arguments: argparse.Namespace) -> int:
    if arguments.what == "plan":
        from barnloom.routing.store import plan_json_schema

        _print_json(plan_json_schema())
    else:
        from barnloom.model.scene.published import scene_json_schema

        _print_json(scene_json_schema())
    return PLANNED


def _print_json(data: Any) -> None:
    print(_json(data), end="")


def _json(data: Any) -> str:
    import json

    return json.dumps(data, ensure_ascii=False, indent=1) + "\n"


def _say(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


def _silent(text: str) -> None:
    """Say nothing."""

"""The arguments of the command ``barnloom``, with what its help says of them."""

from __future__ import annotations

import argparse
from pathlib import Path

_CODES = (
    "exit codes: 0 planned, 1 something stayed unplanned, 2 input wrong, "
    "3 the checker rejected the plan, 130 interrupted"
)


def parser() -> argparse.ArgumentParser:
    """Return what reads them; ``command`` is the one that was named."""
    whole = argparse.ArgumentParser(
        prog="barnloom",
        description="Plan the wiring of a timber outbuilding from its tape measurements.",
        epilog=_CODES,
        allow_abbrev=False,
    )
    commands = whole.add_subparsers(dest="command", metavar="COMMAND", required=True)

    def command(name: str, words: str) -> argparse.ArgumentParser:
        return commands.add_parser(name, help=words, description=words, epilog=_CODES, allow_abbrev=False)

    plan = command("plan", "plan a scene: routes, holes, lengths, lists, a picture and a 3D file")
    plan.add_argument("scene", metavar="SCENE", type=Path, help="the scene file (YAML)")
    _plan_options(plan)

    check = command("check", "check a plan again, from its geometry alone")
    check.add_argument("plan", metavar="PLAN", type=Path, help="a plan.json, or the folder that holds one")
    check.add_argument("--deep", action="store_true", help="ask a second opinion of solid geometry; slower")
    check.add_argument("--json", action="store_true", help="print what was found as JSON")

    view = command("view", "look at a plan in a window, or draw it into a file")
    view.add_argument("plan", metavar="PLAN", type=Path, help="a plan.json, or the folder that holds one")
    drawn = view.add_mutually_exclusive_group()
    drawn.add_argument("--picture", metavar="FILE", type=Path, help="draw a PNG instead; needs no screen")
    drawn.add_argument("--pictures", metavar="DIR", type=Path, help="draw all pictures that explain the plan into it")
    view.add_argument("--storey", metavar="ID", default="", help="this storey alone")
    view.add_argument("--circuit", metavar="ID", action="append", default=[], help="let it stand out; may come again")
    view.add_argument("--below", metavar="ID", default="", help="this floor or roof slope, seen from below")
    view.add_argument("--wall", metavar="ID", default="", help="this wall, seen from its room")
    view.add_argument("--cut-away", action="store_true", help="without the outer walls that stand before the eye")

    sheets = command("sheets", "write a plan to print: sheets to scale, a permit set, a workbook, a drawing file")
    sheets.add_argument("plan", metavar="PLAN", type=Path, help="a plan.json, or the folder that holds one")
    sheets.add_argument("--out", metavar="DIR", type=Path, required=True, help="folder to write into; made if missing")
    sheets.add_argument("--paper", choices=("letter", "a4"), help="default: letter, or a4 for a metric plan")

    page = command("page", "write a plan as one page for the phone, which needs no network")
    page.add_argument("plan", metavar="PLAN", type=Path, help="a plan.json, or the folder that holds one")
    page.add_argument("--out", metavar="DIR", type=Path, required=True, help="folder to write into; made if missing")

    asbuilt = command("asbuilt", "take in what is drilled, pulled and made up, and plan the rest around it")
    asbuilt.add_argument("plan", metavar="PLAN", type=Path, help="a plan.json, or the folder that holds one")
    asbuilt.add_argument("moves", metavar="MOVES", type=Path, help="as-built.json of the phone page, or lines by hand")
    _plan_options(asbuilt)

    changes = command("changes", "say what is otherwise between two plans, and what has to be done about it")
    changes.add_argument("old", metavar="OLD", type=Path, help="a plan.json, or the folder that holds one")
    changes.add_argument("new", metavar="NEW", type=Path, help="the later one")
    changes.add_argument("--json", action="store_true", help="print it as JSON")
    changes.add_argument("--out", metavar="DIR", type=Path, help="write text, JSON and a sheet into this folder")

    compare = command("compare", "plan a building in several ways, side by side")
    compare.add_argument("scene", metavar="SCENE", type=Path, help="the scene file (YAML)")
    compare.add_argument("--out", metavar="DIR", type=Path, help="write the table and every plan into this folder")
    compare.add_argument("--json", action="store_true", help="print it as JSON")

    sweep = command("sweep", "plan many scenes in many ways, over all cores")
    sweep.add_argument("scenes", metavar="SCENE", nargs="+", type=Path, help="scene files (YAML)")
    sweep.add_argument("--what-if", metavar="NAME", action="append", default=[], help="this way alone; may come again")
    sweep.add_argument("--out", metavar="DIR", type=Path, help="write sweep.csv and sweep.json into this folder")
    sweep.add_argument("--jobs", metavar="N", type=_at_least_one, help="processes; default: one for each core")
    sweep.add_argument("--scheduler", metavar="ADDRESS", help="send the work to this Dask scheduler instead")
    sweep.add_argument("--json", action="store_true", help="print it as JSON")

    new = command("new", "write a commented starter scene, ready to plan")
    new.add_argument("file", metavar="FILE", type=Path, help="the scene file to write; never overwritten")
    sides = {"width": "outside, west to east", "depth": "outside, south to north", "height": "of a wall"}
    for side, words in sides.items():
        new.add_argument(f"--{side}", metavar="LENGTH", required=True, help=f"{words}, like 24' or 7.2 m")
    new.add_argument("--storeys", type=int, default=1, choices=(1, 2), help="default 1")

    survey = command("survey", "print sheets to measure by; of a scene, what is missing or does not close")
    survey.add_argument("scene", metavar="SCENE", nargs="?", type=Path, help="a scene file, half-filled or whole")
    survey.add_argument("--out", metavar="DIR", type=Path, required=True, help="folder to write into; made if missing")
    survey.add_argument("--paper", choices=("letter", "a4"), help="default: letter, or a4 for a metric scene")
    for side in ("width", "depth"):
        words = f"without SCENE: {sides[side]}, if known"
        survey.add_argument(f"--{side}", metavar="LENGTH", help=words)
    survey.add_argument("--storeys", type=int, choices=(1, 2), help="without SCENE: default 1")

    change = command("set", "change one value of a scene; comments stay")
    change.add_argument("scene", metavar="SCENE", type=Path, help="the scene file (YAML)")
    change.add_argument("where", metavar="WHERE", help="keys with strokes between them, like walls/SOUTH/length")
    change.add_argument("value", metavar="VALUE", help="the new value, as it would stand in the file")

    schema = command("schema", "print the JSON Schema of scene files or of plan.json")
    schema.add_argument("what", choices=("scene", "plan"))
    return whole


def _at_least_one(text: str) -> int:
    number = int(text)
    if number < 1:
        msg = f"{text} is no number of processes: 1 or more"
        raise argparse.ArgumentTypeError(msg)
    return number


def _plan_options(command: argparse.ArgumentParser) -> None:
    command.add_argument("--out", metavar="DIR", type=Path, required=True, help="folder to write into; made if missing")
    command.add_argument("--effort", choices=("quick", "normal", "long"), default="normal", help="how long to search")
    command.add_argument("--json", action="store_true", help="print the summary as JSON")
    command.add_argument("--no-pictures", action="store_true", help="write no picture.png and no building.glb")
    command.add_argument("--quiet", action="store_true", help="say nothing on stderr unless something is wrong")

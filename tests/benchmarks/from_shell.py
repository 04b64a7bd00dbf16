"""The boat shed from the command line: the whole process, pictures left out."""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

from measuring import Cell, Table, spread, timed
from staged import SCENE

RUN = "import sys; from barnloom.viewer.command import main; sys.exit(main())"
AIM_S, HELP_AIM_S = 2.0, 0.15


def part(times: int, *, long: bool) -> Sequence[Table]:
    """Each effort, and help."""
    rows: list[list[Cell]] = []
    for effort in ("quick", "normal", *(["long"] if long else [])):
        figures = _planning(effort, 1 if effort == "long" else times)
        rows.append([f"barnloom plan --effort {effort}", *figures, AIM_S if effort == "normal" else None])
    figures = _figures(lambda: subprocess.run(_command("--help"), check=True, capture_output=True), times)
    rows.append(["barnloom --help", *figures, HELP_AIM_S])
    return [
        Table(
            "sail-loft from the command line, seconds",
            ("", "least", "median", "most", "of the processor", "runs", "aim"),
            rows,
            [
                "Start-up, reading, planning, bound, check and all files but picture.png and building.glb. 'Of the "
                "processor' is its time alone: on a busy machine it says more than the others."
            ],
        )
    ]


def _command(*words: str) -> list[str]:
    return [sys.executable, "-c", RUN, *words]


def _figures(work: Callable[[], object], times: int) -> list[Cell]:
    """Least, median and most seconds of processes, median of the processor's seconds, and how many there were."""
    took, busy = [], []
    for _ in range(times):
        before = _processor_s()
        took.append(timed(work)[0])
        busy.append(_processor_s() - before)
    seconds = spread(took)
    return [seconds.least, seconds.middle, seconds.most, spread(busy).middle, times]


def _processor_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _planning(effort: str, times: int) -> list[Cell]:
    with tempfile.TemporaryDirectory() as folder:
        words = ("plan", str(SCENE), "--out", folder, "--effort", effort, "--no-pictures", "--quiet")

        def once() -> None:
            done = subprocess.run(_command(*words), check=False, capture_output=True, text=True)
            if done.returncode not in (0, 1) or not (Path(folder) / "plan.json").exists():
                raise SystemExit(done.stderr)

        once()  # compiled loops are on disk
        return _figures(once, times)

"""Barns from 10 boxes on: time of each stage, memory, cost, bound; every size in a process of its own.

``python sizes.py LENGTHS EFFORTS TIMES`` is that process: it prints a line of JSON for everything that it has measured.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
from collections.abc import Iterable, Mapping, Sequence
from functools import partial
from typing import Any

from against_scipy import scipy_seconds
from growth import FROM, exponent
from measuring import Cell, Table, shown, spread, timed
from staged import STAGES, barn_of, boxes_of, plan_in_stages

from barnloom.routing.check import check

LENGTHS = {10: 0.25, 40: 1, 400: 10, 4000: 100}
"""Lengths of the barn, by boxes."""
SIZES, HUGE = (10, 40, 400), 4000
EFFORTS = ("quick", "normal", "long")
CHEAP_S = 10.0
"""What takes longer is measured once."""
SOURCES = 100
"""Boxes that scipy is asked for at most, counted up to all."""
WHOLE = "quick: whole plan s"
PLOTTED = (WHOLE, *(f"quick: {stage} s" for stage in STAGES if stage != "check while planning"))
"""Rows that are drawn, the first one heavier."""
Measured = dict[str, Any]


def main() -> None:
    """Measure one size."""
    lengths, efforts, times = float(sys.argv[1]), sys.argv[2].split(","), int(sys.argv[3])
    plan_in_stages(barn_of(0.25), "quick")  # compiled loops are loaded
    reading, building = timed(lambda: barn_of(lengths))
    _say(boxes=boxes_of(building), members=len(building.members), reading=reading)
    for effort in efforts:
        runs: list[Measured] = []
        for n in range(times):
            staged = plan_in_stages(building, effort)
            peak = _peak_mb()
            checking, findings = timed(partial(check, staged.plan))
            runs.append(staged.seconds | {"whole": staged.whole, "cpu": staged.cpu, "check": checking})
            if n == 0:
                plan, network = staged.plan, staged.job.network
                _say(nodes=network.nodes, core=len(network.core.origin), edges=len(network.tracks.edges.a))
                faults = sum(finding.severity == "fault" for finding in findings)
                first = {"peak": peak, "cost": plan.cost, "bound": plan.lower_bound}
                first |= {"unreached": len(plan.unreached), "faults": faults}
            if effort == "quick":
                by_scipy = scipy_seconds(network, most=SOURCES)
                runs[-1] |= {"scipy": by_scipy, "ratio": staged.searched() / by_scipy}
            if staged.whole > CHEAP_S or effort == "long":
                break
        names = sorted({name for run in runs for name in run})
        seconds = {name: spread([run.get(name, 0.0) for run in runs]).middle for name in names}
        wholes = spread([run["whole"] for run in runs])
        _say(**{effort: first | seconds | {"least": wholes.least, "most": wholes.most, "runs": len(runs)}})


def _say(**what: Any) -> None:
    print(json.dumps(what), flush=True)


def _peak_mb() -> float:
    """Most memory this process has had, MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def part(
    times: int, *, huge: bool, long: bool, patience_s: float
) -> tuple[Sequence[Table], dict[str, list[tuple[int, float]]]]:
    """All sizes, and the points of the plot: by stage of the quick effort, (boxes, seconds)."""
    notes: list[str] = []
    efforts = EFFORTS if long else EFFORTS[:2]
    found = {size: _measured(size, efforts, times, patience_s, notes) for size in SIZES}
    if huge:
        found[HUGE] = _measured(HUGE, EFFORTS[:1], times, patience_s, notes)
    found = {size: one for size, one in found.items() if "boxes" in one}
    rows = _rows(found)
    lines = {name: _points(found, values) for name, values in rows.items()}
    timed_rows = {name for name in rows if name.endswith(" s") or name.startswith(("nodes", "memory"))}
    cells: list[list[Cell]] = []
    for name, values in rows.items():
        if all(value is None for value in values):
            continue
        steady = [point for point in lines[name] if point[0] >= FROM]
        grows = exponent(steady) if name in timed_rows and len(steady) > 1 else None
        cells.append([name, *values, None if grows is None else f"{grows:.2f}"])
    head = ("", *(f"{one['boxes']:,} boxes" for one in found.values()), "n to the")
    notes[:0] = [
        f"Seconds are medians of up to {times} runs; what takes more than {CHEAP_S:g} s is run once. Each size has a "
        "process of its own, and memory is the most it ever had, a small plan to warm up included.",
        f"'n to the' is the growth from {FROM} boxes to the largest size, least squares on logarithms. Aim: at "
        "most 1.30 for the whole quick plan from 40 to 4,000 boxes; at 4,000 a quick plan within 60 s and 2 GB.",
        "Gap: how far the cost can be above the best possible, in percent of the bound. Aims at 40 boxes: 5 at normal "
        "effort, 1 at long; at 10 boxes 0; at 400 boxes 10 at long effort.",
    ]
    plotted = {name.removeprefix("quick: ").removesuffix(" s"): lines[name] for name in PLOTTED}
    return [Table("Sizes", head, cells, notes)], plotted


def _measured(size: int, efforts: Sequence[str], times: int, patience_s: float, notes: list[str]) -> Measured:
    """What the process for one size said until it ended, or patience did."""
    command = [sys.executable, __file__, str(LENGTHS[size]), ",".join(efforts), str(times)]
    try:
        done = subprocess.run(command, check=False, capture_output=True, timeout=patience_s)
        said = done.stdout
        if done.returncode:
            notes.append(f"{size:,} boxes: stopped with code {done.returncode}: {_last_line(done.stderr)}")
    except subprocess.TimeoutExpired as stopped:
        said = stopped.stdout or b""
        notes.append(f"{size:,} boxes: given up after {patience_s:g} s; what is missing had not been measured by then.")
    found: Measured = {}
    for line in said.decode().splitlines():
        found |= json.loads(line)
    return found


def _points(sizes: Iterable[int], values: Sequence[Cell]) -> list[tuple[int, float]]:
    """Sizes with a figure, for what grows."""
    return [(size, float(one)) for size, one in zip(sizes, values, strict=True) if isinstance(one, int | float) and one]


def _last_line(text: bytes) -> str:
    lines = text.decode(errors="replace").strip().splitlines()
    return lines[-1][:200] if lines else "nothing said"


def _rows(found: Mapping[int, Measured]) -> dict[str, list[Cell]]:
    """Figures by name, one for each size."""

    def of(*keys: str) -> list[Cell]:
        cells: list[Cell] = []
        for one in found.values():
            value: Any = one
            for key in keys:
                value = value.get(key) if value else None
            cells.append(value)
        return cells

    rows = {
        "members": of("members"),
        "nodes of the tracks": of("nodes"),
        "nodes of the core": of("core"),
        "reading and framing s": of("reading"),
    }
    for stage in STAGES:
        rows[f"quick: {stage} s"] = of("quick", stage)
    for effort in EFFORTS:
        if effort != "quick":
            rows |= {f"{effort}: {stage} s": of(effort, stage) for stage in ("search", "lower bound")}
        rows[f"{effort}: whole plan s"] = of(effort, "whole")
        rows[f"{effort}: from - to"] = _range(of(effort, "least"), of(effort, "most"))
        rows[f"{effort}: of the processor s"] = of(effort, "cpu")
    rows["checking the plan s"] = of("quick", "check")
    rows["scipy's trees of all boxes s"] = of("quick", "scipy")
    rows["quick trees, routing, search / scipy"] = of("quick", "ratio")
    rows["memory, quick MB"] = of("quick", "peak")
    rows["memory, then normal MB"] = of("normal", "peak")
    for effort in EFFORTS:
        costs, bounds = of(effort, "cost"), of(effort, "bound")
        rows[f"{effort}: cost"] = costs
        rows[f"{effort}: lower bound"] = bounds
        rows[f"{effort}: gap %"] = [
            100 * (cost / bound - 1) if isinstance(cost, float) and isinstance(bound, float) and bound > 0 else None
            for cost, bound in zip(costs, bounds, strict=True)
        ]
        rows[f"{effort}: boxes not reached"] = of(effort, "unreached")
        rows[f"{effort}: faults"] = of(effort, "faults")
    return rows


def _range(least: Sequence[Cell], most: Sequence[Cell]) -> list[Cell]:
    return [None if a is None else f"{shown(a)} - {shown(b)}" for a, b in zip(least, most, strict=True)]


if __name__ == "__main__":
    main()

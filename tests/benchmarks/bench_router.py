"""Measure the planner: the boat shed from the command line, a barn ten times as long, a grid of cubes for comparison.

Run it as ``python tests/benchmarks/bench_router.py``. ``--cube-in 2`` makes the cubes coarser (they then miss studs, so
that their costs mean little), ``--pairs 5`` routes more pairs, ``--skip-cubes`` leaves them out. Times are measured
several times and printed with their spread, for machines are noisy.
"""

from __future__ import annotations

import argparse
import math
import os
import platform
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

import numpy as np
import rustworkx as rx
from barns import barn
from voxels import grid_of

from barnloom.model.building import Building
from barnloom.model.framing import build
from barnloom.model.limits import Limits
from barnloom.model.scene.read import read_scene, read_text
from barnloom.routing.check import check
from barnloom.routing.plan import Plan
from barnloom.routing.planner import plan_building
from barnloom.routing.search import distances, money, network_of
from barnloom.routing.sharing import base_prices, prices_with
from barnloom.routing.tracks import ground_of, tracks_of
from barnloom.routing.usage import Usage

Result = TypeVar("Result")
SCENE = Path(__file__).resolve().parents[2] / "scenes" / "sail-loft.yaml"


def measured(what: str, work: Callable[[], Result], times: int) -> Result:
    """Do something several times and print how long it took."""
    took = []
    for _ in range(times):
        start = time.perf_counter()
        result = work()
        took.append(time.perf_counter() - start)
    spread = f"median {statistics.median(took):.3g} s, from {min(took):.3g} to {max(took):.3g} in {times}"
    print(f"  {what}: {spread}", flush=True)
    return result


def peak_mb() -> float:
    """Most memory this process has had, MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def planned(title: str, building: Building, times: int) -> None:
    """Plan a building, and print time, memory and cost."""
    print(f"{title}: {len(building.members)} members, {len(building.boxes)} boxes, {len(building.circuits)} circuits")
    plan: Plan = measured("plan", lambda: plan_building(building), times)
    faults = [f for f in check(plan) if f.severity == "fault"]
    print(
        f"  cost {plan.cost:.2f}, {len(plan.cables)} cables, {len(plan.bores)} holes, "
        f"{len(plan.unreached)} boxes unreached, {len(faults)} faults; memory {peak_mb():.0f} MB so far"
    )


def from_the_command_line(times: int) -> None:
    """Time the command itself, pictures left out."""
    run = "import sys; from barnloom.viewer.command import main; sys.exit(main())"
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-c", run, "plan", str(SCENE), "--out", folder, "--no-pictures", "--quiet"]

        def once() -> None:
            done = subprocess.run(command, check=False, capture_output=True, text=True)
            if done.returncode not in (0, 1) or not (Path(folder) / "plan.json").exists():
                raise SystemExit(done.stderr)

        measured("barnloom plan sail-loft, no pictures", once, times)
        measured(
            "barnloom --help", lambda: subprocess.run([*command[:3], "--help"], check=True, capture_output=True), times
        )


def plainly_priced(building: Building) -> Building:
    """The building with only feet, holes and pulls priced, and cables free to turn at the box: what cubes can count."""
    none = ("turn", "staple_wall", "staple_overhead", "staple_each", "nail_plate", "nail_plate_each")
    boxes = tuple(replace(box, rise_in=0.0) for box in building.boxes)
    return replace(building, boxes=boxes, prices=building.prices | dict.fromkeys(none, 0.0))


def against_cubes(building: Building, cube_in: float, pairs: int) -> None:
    """Search some pairs of boxes on the tracks and on a grid of cubes, at the same prices."""
    building = plainly_priced(building)
    limits = Limits(building.limits)
    start = time.perf_counter()
    network = network_of(tracks_of(ground_of(building, limits)))
    tracks = network.tracks
    print(
        f"  tracks: {tracks.node_count} nodes, {len(tracks.edges.a)} edges, laid in {time.perf_counter() - start:.3g} s"
    )
    kind = next(k for k in building.cable_types if k.id == "12/2")
    usage = Usage(tracks)
    none = np.empty(0, dtype=np.int64)
    bores, lanes = usage.alone_costs(kind.id), usage.full_lanes(kind)
    prices = prices_with(network, base_prices(network, kind), bores, lanes, none)
    pull = building.prices["minute"] * building.prices["pull_ft"]
    start = time.perf_counter()
    grid = grid_of(building, limits, cube_in, kind.price_ft * (1 + building.lengths.slack_share) + pull)
    took = time.perf_counter() - start
    size = f"{grid.graph.num_nodes()} nodes, {grid.graph.num_edges()} edges"
    print(f"  cubes of {cube_in:g} in: {size}, laid in {took:.3g} s, memory {peak_mb():.0f} MB", flush=True)
    boxes = {box.id: box for box in building.boxes}
    ratios = []
    for a, b in [(circuit.panel, circuit.boxes[-1]) for circuit in building.circuits][:pairs]:
        tries = []
        for _ in range(5):
            start = time.perf_counter()
            found, _ = distances(network, prices, network.out_of(a))
            tries.append(time.perf_counter() - start)
        start = time.perf_counter()
        goal = grid.node(boxes[b].at)
        theirs = rx.dijkstra_shortest_path_lengths(grid.graph, grid.node(boxes[a].at), float, goal=goal)
        took = time.perf_counter() - start
        ratios.append(took / statistics.median(tries))
        cost = money(float(found[network.into(b)]))
        print(
            f"  {a} to {b}: tracks {1000 * statistics.median(tries):.3g} ms, cost {cost:.2f}; "
            f"cubes {took:.3g} s, cost {dict(theirs).get(goal, math.inf):.2f}; {ratios[-1]:.0f} times as fast",
            flush=True,
        )


def main() -> None:
    """Measure and print."""
    said = argparse.ArgumentParser(description=__doc__)
    said.add_argument("--times", type=int, default=5)
    said.add_argument("--cube-in", type=float, default=1.0)
    said.add_argument("--pairs", type=int, default=3)
    said.add_argument("--skip-cubes", action="store_true")
    given = said.parse_args()
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    print(f"Python {platform.python_version()}, {os.cpu_count()} cores, load {load:.1f} before")
    from_the_command_line(given.times)
    if SCENE.exists():
        planned("sail-loft", build(read_scene(SCENE).scene), given.times)
    planned("barn of one length", build(read_text(barn(1), Path("barn")).scene), given.times)
    planned("barn of ten lengths", build(read_text(barn(10), Path("barn")).scene), 1)
    if not given.skip_cubes:
        print("cubes, barn of one length")
        against_cubes(build(read_text(barn(1), Path("barn")).scene), given.cube_in, given.pairs)


if __name__ == "__main__":
    main()

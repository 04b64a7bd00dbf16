"""A plan made by the planner itself, with a clock at each of its stages."""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from types import ModuleType
from typing import Any
from unittest.mock import patch

from barns import barn

from barnloom.model.building import Building
from barnloom.model.framing import build
from barnloom.model.scene.read import read_scene, read_text
from barnloom.routing import bound, finish, first, planner
from barnloom.routing.job import Effort, Job
from barnloom.routing.plan import Plan
from barnloom.routing.wiring.kinds import Sizes

SCENE = Path(__file__).resolve().parents[2] / "scenes" / "sail-loft.yaml"
STAGES: dict[str, tuple[tuple[ModuleType, str], ...]] = {
    "laying out": ((planner, "job_of"),),
    "trees": ((first, "chosen_trees"),),
    "routing": ((first, "settled"),),
    "search": ((planner, "improvements"),),
    "electrical half": ((first, "whole"), (finish, "whole")),
    "check while planning": ((finish, "check"),),
    "lower bound": ((bound, "lower_bound"),),
}
"""By stage, the function that does it, wherever the planner looks it up."""
SEARCHED = ("trees", "routing", "search")


@dataclass
class Staged:
    """A plan, what was laid out for it, its conductors, the seconds of each stage and of all.

    ``cpu`` is the processor's time for all of it, however busy the machine was. ``price`` is what the search counts for
    the plan's cables as they lie; the plan's cost counts besides what only the whole plan shows.
    """

    plan: Plan
    job: Job
    sizes: Sizes
    seconds: dict[str, float]
    whole: float
    cpu: float
    price: float

    def searched(self) -> float:
        """Seconds of trees, routes and search."""
        return sum(self.seconds.get(stage, 0.0) for stage in SEARCHED)


@dataclass
class _Clock:
    seconds: dict[str, float] = field(default_factory=lambda: defaultdict(float))
    jobs: list[Job] = field(default_factory=list)
    wholes: dict[float, tuple[float, Sizes]] = field(default_factory=dict)
    """By cost of a plan that was put together, the price of its layout, and its conductors."""

    def watching(self, stage: str, work: Callable[..., Any]) -> Callable[..., Any]:
        def watched(*given: Any, **named: Any) -> Any:
            start = time.perf_counter()
            result = work(*given, **named)
            self.seconds[stage] += time.perf_counter() - start
            if stage == "laying out":
                self.jobs.append(result)
            elif stage == "electrical half":
                self.wholes[result[0].cost] = given[1].layout.price(), given[3]
            return self._each(stage, result) if isinstance(result, Iterator) else result

        return watched

    def _each(self, stage: str, steps: Iterator[Any]) -> Iterator[Any]:
        while True:
            start = time.perf_counter()
            step = next(steps, None)
            self.seconds[stage] += time.perf_counter() - start
            if step is None:
                return
            yield step


def plan_in_stages(building: Building, effort: Effort) -> Staged:
    """Plan a building, and tell how long each stage took."""
    clock = _Clock()
    with ExitStack() as stack:
        for stage, places in STAGES.items():
            for module, name in places:
                stack.enter_context(patch.object(module, name, clock.watching(stage, getattr(module, name))))
        start, cpu = time.perf_counter(), time.process_time()
        plan = planner.plan_building(building, effort=effort)
        whole, cpu = time.perf_counter() - start, time.process_time() - cpu
    price, sizes = clock.wholes[plan.cost]
    return Staged(plan, clock.jobs[0], sizes, dict(clock.seconds), whole, cpu, price)


def barn_of(lengths: float) -> Building:
    """A barn of so many lengths, read and framed."""
    return build(read_text(barn(lengths), Path("barn")).scene)


def boat_shed() -> Building:
    """The boat shed of the scenes, read and framed."""
    return build(read_scene(SCENE).scene)


def boxes_of(building: Building) -> int:
    """How many boxes there are, panels not counted."""
    return sum(box.kind != "panel" for box in building.boxes)

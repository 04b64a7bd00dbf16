"""The plans of ten boxes against the best possible: branch and bound over the lower bound, until it meets the cost."""

from __future__ import annotations

from collections.abc import Sequence

from measuring import Cell, Table
from staged import barn_of, plan_in_stages

from barnloom.routing.job import Effort

MEET = 0.02
"""Money by which a bound that is rounded down may be below the cost that it is closed at."""


def part(*, long: bool) -> Sequence[Table]:
    """Each effort on the barn of a quarter length."""
    efforts: tuple[Effort, ...] = ("quick", "normal", "long") if long else ("quick", "normal")
    building = barn_of(0.25)
    rows: list[list[Cell]] = []
    for effort in efforts:
        staged = plan_in_stages(building, effort)
        cost, bound = staged.plan.cost, staged.plan.lower_bound
        gap = 100 * (cost / bound - 1) if bound else None
        met = "yes" if bound and cost - bound < MEET else "no"
        seconds = staged.seconds
        rows.append([effort, cost, bound, gap, met, seconds.get("search"), seconds.get("lower bound"), staged.whole])
    return [
        Table(
            "Ten boxes against the best possible",
            ("effort", "cost", "proven bound", "gap %", "they meet", "search s", "bound s", "whole plan s"),
            rows,
            [
                "By the bound of routing/bound, which branches at long effort. Where the two meet, the plan is "
                "optimal. Aim: 0 %.",
                "An exact integer program in a solver of its own (HiGHS) did not come so far in a minute and a half: "
                "see routing/bound/README.md, 7.",
            ],
        )
    ]

"""The summary that the command prints: what a plan comes to, what it warns of, what it takes for granted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from barnloom.model.lengths import format_length
from barnloom.routing.cost import is_overhead
from barnloom.routing.plan import Plan
from barnloom.viewer import totals
from barnloom.viewer.cautions import CAUTIONS, title_lines, warnings
from barnloom.viewer.lists import unreached_lines
from barnloom.viewer.text import counted, padded, paragraph, width

_KINDS = (("circuit", "BY CIRCUIT"), ("type", "BY CABLE TYPE"), ("floor", "BY FLOOR"), ("between", "BETWEEN FLOORS"))


def figures(plan: Plan) -> dict[str, Any]:
    """Return the summary as plain data, for a program to read: feet, holes, cost, what is lost or taken for granted."""
    feet: dict[str, dict[str, dict[str, float]]] = {}
    for share in totals.shares(plan):
        feet.setdefault(share.by, {})[share.name] = {"feet": float(share.feet), "holes": share.holes}
    to_bore = totals.to_bore(plan)
    longest = max(plan.cables, key=lambda cable: cable.cut_in, default=None)
    return {
        "title": plan.building.title,
        "feet": feet,
        "holes": {
            "to_bore": len(to_bore),
            "overhead": sum(map(is_overhead, to_bore)),
            "reused": len(plan.bores) - len(to_bore),
            "by_bit_in": {f"{diameter:g}": count for diameter, count in totals.holes_by_bit(to_bore).items()},
        },
        "longest_run": {"cable": longest.id, "cut_in": longest.cut_in} if longest else None,
        "cost": plan.cost,
        "cost_parts": dict(sorted(plan.cost_parts.items())),
        "lower_bound": plan.lower_bound,
        "unreached": list(plan.unreached),
        "unreached_why": [asdict(lost) for lost in plan.unreached_why],
        "warnings": list(warnings(plan)),
        "assumptions": list(plan.assumptions),
    }


def summary(plan: Plan) -> str:
    """Return the summary in words, as the command prints it."""
    metric = plan.building.metric
    lines = [line for text in title_lines(plan) for line in paragraph(text)]
    shares = totals.shares(plan)
    for kind, heading in _KINDS:
        rows = [share for share in shares if share.by == kind]
        if rows:
            lines += ["", heading, *_feet_lines([(share.name, share) for share in rows], metric=plan.building.metric)]
    lines += [
        "",
        *_feet_lines([("ALL CABLES", share) for share in shares if share.by == "total"], metric=plan.building.metric),
    ]

    to_bore = totals.to_bore(plan)
    lines += ["", "HOLES"]
    for diameter, count in totals.holes_by_bit(to_bore).items():
        lines.append(f"  bit {format_length(diameter, metric=metric, feet=False)}: {count}")
    old = len(plan.bores) - len(to_bore)
    lines.append(f"  {len(to_bore)} to bore, {sum(map(is_overhead, to_bore))} of them overhead")
    if old:
        lines.append(f"  {counted(old, 'old hole')} used again")
    if plan.cables:
        longest = max(plan.cables, key=lambda cable: cable.cut_in)
        lines += ["", "LONGEST RUN"]
        lines += paragraph(
            f"{longest.id}, {longest.from_box} to {longest.to_box}: {format_length(longest.cut_in, metric=metric)} cut",
            first="  ",
        )
    lines += ["", "COST", *_cost_lines(plan)]
    sections: tuple[tuple[str, Iterable[str]], ...] = (
        ("WARNINGS", warnings(plan)),
        ("ASSUMED, OR CHANGED BY THE SCENE", plan.assumptions),
    )
    for heading, texts in sections:
        found = [line for text in texts for line in paragraph(text, first="- ", later="  ")]
        if found:
            lines += ["", heading, *found]
    if plan.unreached:
        lines += ["", "NOT REACHED", *unreached_lines(plan)]
    lines += ["", "CAUTIONS", *(line for text in CAUTIONS for line in paragraph(text, first="- "))]
    return "\n".join(lines) + "\n"


def _feet_lines(rows: Iterable[tuple[str, totals.Share]], *, metric: bool) -> list[str]:
    lines = []
    for name, share in rows:
        *above, last = paragraph(name, first="  ", columns=_NAME_COLUMNS)
        lines += above
        run = totals.run_of(share.feet, metric=metric)
        lines.append(f"{padded(last, _NAME_COLUMNS)}  {run:>12}  {counted(share.holes, 'hole'):>10}")
    return lines


_NAME_COLUMNS = 46


def _cost_lines(plan: Plan) -> list[str]:
    parts = sorted(plan.cost_parts.items(), key=lambda part: (-part[1], part[0]))
    column = max((width(name) for name, _ in parts), default=0)
    lines = [f"  {padded(name, column)}  {value:>10.2f}" for name, value in parts if value]
    bound = "lower bound: not proven yet"
    if plan.lower_bound is not None:
        bound = f"lower bound {plan.lower_bound:.2f}: no plan can cost less"
    return [*lines, f"  {padded('total', column)}  {plan.cost:>10.2f}", f"  {bound}"]

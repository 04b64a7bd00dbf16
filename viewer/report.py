"""The summary that the command prints: what a plan comes to, what it warns of, what it takes for granted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from decimal import Decimal
from typing import Any

from barnloom.model.lengths import format_length
from barnloom.routing.cost import is_overhead
from barnloom.routing.plan import Plan
from barnloom.viewer import totals
from barnloom.viewer.cautions import CAUTIONS, title_lines, warnings
from barnloom.viewer.lists import unreached_lines
from barnloom.viewer.pulling import later_tails, only_phase, phases, pull_order
from barnloom.viewer.rows import Row
from barnloom.viewer.schedule import leg_loads, one_line, schedule_lines
from barnloom.viewer.takeoff import takeoff_rows
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
        "resized": [asdict(one) for one in plan.resized],
        "circuits": [asdict(sheet) for sheet in plan.circuits],
        "leg_loads_va": {panel: leg_loads(plan, panel) for panel in sorted({sheet.panel for sheet in plan.circuits})},
        "one_line": one_line(plan),
        "pull_order": [cable.id for cable in pull_order(plan)],
        "phases": {str(phase): _phase_figures(plan, phase) for phase in phases(plan)},
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
        "interrupted": bool(plan.searched and plan.searched.interrupted),
        "unreached": list(plan.unreached),
        "unreached_why": [asdict(lost) for lost in plan.unreached_why],
        "warnings": list(warnings(plan)),
        "assumptions": list(plan.assumptions),
    }


def summary(plan: Plan) -> str:
    """Return the summary in words, as the command prints it."""
    metric = plan.building.metric
    lines = [line for text in title_lines(plan) for line in paragraph(text)]
    if plan.resized:
        lines += ["", "MADE LARGER THAN USUAL"]
        for one in plan.resized:
            words = f"{one.subject}: {one.before} -> {one.after}, because {one.because}"
            lines += paragraph(words, first="- ", later="  ")
    if plan.circuits:
        lines += [*schedule_lines(plan), "", "ONE-LINE", *one_line(plan)]
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
        lines.append(f"  {counted(old, 'hole')} there already")
    if plan.cables:
        longest = max(plan.cables, key=lambda cable: cable.cut_in)
        lines += ["", "LONGEST RUN"]
        lines += paragraph(
            f"{longest.id}, {longest.from_box} to {longest.to_box}: {format_length(longest.cut_in, metric=metric)} cut",
            first="  ",
        )
    lines += _phase_lines(plan)
    order = pull_order(plan)
    if order:
        lines += ["", "PULL ORDER", *paragraph(", ".join(cable.id for cable in order), first="  ")]
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


def _phase_figures(plan: Plan, phase: int) -> dict[str, Any]:
    """One phase's share as plain data."""
    part = only_phase(plan, phase)
    [total] = [share for share in totals.shares(part) if share.by == "total"]
    return {"feet": float(total.feet), "holes_to_bore": len(totals.to_bore(part)), "cables": len(part.cables)}


def _phase_lines(plan: Plan) -> list[str]:
    """Feet, holes and what to buy, phase by phase; nothing where the work is done in one."""
    if len(phases(plan)) < 2:
        return []
    lines, bought = [], takeoff_rows(plan)
    for phase in phases(plan):
        part = only_phase(plan, phase)
        [total] = [share for share in totals.shares(part) if share.by == "total"]
        run = totals.run_of(total.feet, metric=plan.building.metric)
        lines += ["", f"PHASE {phase}", f"  {run}, {counted(len(totals.to_bore(part)), 'hole')} to bore"]
        lines += paragraph("; ".join(_bought_words(row) for row in bought if row["phase"] == phase), first="  ")
        tails = [cable.id for cable in later_tails(plan) if cable in part.cables]
        if tails:
            lines += paragraph(f"joined in this phase to boxes of an earlier one: {', '.join(tails)}", first="  ")
    return lines


def _bought_words(row: Row) -> str:
    quantity = row["quantity"]
    amount = f"{quantity:.1f}" if isinstance(quantity, Decimal) else quantity
    return f"{row['item']} {row['size']}".strip() + f": {amount} {row['unit']}"


def _feet_lines(rows: Iterable[tuple[str, totals.Share]], *, metric: bool) -> list[str]:
    lines = []
    for name, share in rows:
        *above, last = paragraph(name, first="  ", columns=_NAME_COLUMNS)
        lines += above
        run = totals.run_of(share.feet, metric=metric)
        lines.append(f"{padded(last, _NAME_COLUMNS)}  {run:>12}  {counted(share.holes, 'hole'):>10}")
    return lines


_NAME_COLUMNS = 46


def _within(cost: float, bound: float) -> str:
    if round(cost, 2) <= round(bound, 2):
        return "so this one is optimal"
    if bound <= 0:
        return "which says nothing"
    return f"so this one is at most {100 * (cost / bound - 1):.1f} % above the best"


def _cost_lines(plan: Plan) -> list[str]:
    parts = sorted(plan.cost_parts.items(), key=lambda part: (-part[1], part[0]))
    column = max((width(name) for name, _ in parts), default=0)
    lines = [f"  {padded(name, column)}  {value:>10.2f}" for name, value in parts if value]
    if plan.searched and plan.searched.interrupted:
        lines.append("  the search was interrupted: this is the best plan found until then")
    bound = "lower bound: none proven"
    if plan.lower_bound is not None:
        bound = f"lower bound {plan.lower_bound:.2f}: no plan can cost less, {_within(plan.cost, plan.lower_bound)}"
    return [*lines, f"  {padded('total', column)}  {plan.cost:>10.2f}", f"  {bound}"]

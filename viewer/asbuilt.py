"""What is done of a plan, for ``as-built.txt`` and the sheets: how much, what lies elsewhere, what breaks a limit."""

from __future__ import annotations

from dataclasses import dataclass

from barnloom.routing.check import check
from barnloom.routing.plan import Plan
from barnloom.viewer.lists import bullets, head_lines, ruled
from barnloom.viewer.paths import place_in
from barnloom.viewer.text import Column, heading_lines, row_lines

BROKEN = "hole.built"
"""Code of the check for a hole that is drilled and breaks a limit."""
_COLUMNS = (Column("hole", 16), Column("planned", 38), Column("drilled", 38))


@dataclass(frozen=True, slots=True, kw_only=True)
class Elsewhere:
    """A hole that was drilled elsewhere than planned, both places in words."""

    hole: str
    planned: str
    drilled: str


def done_words(plan: Plan) -> list[str]:
    """Say how much is done, a line for each kind of work; nothing where no report has been taken in."""
    done = plan.as_built
    if done is None:
        return []
    boxes = sum(makeup.box not in done.made_up for makeup in plan.makeups)
    return [
        f"holes: {len(done.drilled)} drilled, {sum(not bore.existing for bore in plan.bores)} still to bore",
        f"cables: {len(done.pulled)} pulled, {sum(not cable.done for cable in plan.cables)} still to pull",
        f"boxes and panels: {len(done.made_up)} made up, {boxes} still to make up",
        *([f"another box than planned: {', '.join(done.other_boxes)}"] if done.other_boxes else []),
    ]


def elsewhere(plan: Plan) -> list[Elsewhere]:
    """Return what was drilled elsewhere than planned."""
    if plan.as_built is None:
        return []
    members = {member.id: member for member in plan.building.members}
    there = {hole.id: (member.id, hole) for member in members.values() for hole in member.holes}
    rows, metric = [], plan.building.metric
    for moved in plan.as_built.moved:
        owner, hole = there[moved.hole]
        rows.append(
            Elsewhere(
                hole=moved.hole,
                planned=place_in(members[owner], moved.planned_along_in, moved.planned_across_in, metric=metric),
                drilled=place_in(members[owner], hole.along_in, hole.across_in, metric=metric),
            )
        )
    return rows


def broken(plan: Plan) -> list[str]:
    """Say which of the holes that are drilled break a limit, by which rule, and what would mend them."""
    return [f"{found.subject}: {found.words}" for found in check(plan) if found.code == BROKEN]


def as_built_text(plan: Plan) -> str:
    """Text of ``as-built.txt``."""
    lines = [*head_lines(plan, "AS BUILT"), *ruled("DONE"), *bullets(done_words(plan)), ""]
    rows = elsewhere(plan)
    if rows:
        lines += [*ruled("DRILLED ELSEWHERE THAN PLANNED"), *heading_lines(_COLUMNS)]
        for row in rows:
            lines += row_lines(_COLUMNS, [row.hole, row.planned, row.drilled])
        lines.append("")
    lines += ruled("DRILLED HOLES THAT BREAK A LIMIT")
    lines += bullets(broken(plan) or ["none"])
    return "\n".join(lines) + "\n"

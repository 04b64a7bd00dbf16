"""A plan with the checker's word on it: its faults apart, its warnings among the plan's own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from barnloom.routing.plan import Plan

if TYPE_CHECKING:
    from barnloom.routing.check import Finding

ALIKE_MOST = 2
"""More warnings than this that say the same are one line."""


def checked(plan: Plan) -> tuple[Plan, tuple[Finding, ...]]:
    """Return the plan with what the checker warns of, and the faults that it found."""
    from barnloom.routing.check import check

    findings = check(plan)
    faults = tuple(finding for finding in findings if finding.severity == "fault")
    return replace(plan, warnings=(*plan.warnings, *_grouped([one for one in findings if one not in faults]))), faults


def _grouped(findings: Sequence[Finding]) -> list[str]:
    """Return warnings in words: where many say the same of many things, the first and the names."""
    by_code: dict[str, list[Finding]] = {}
    for finding in findings:
        by_code.setdefault(finding.code, []).append(finding)
    words = []
    for same in by_code.values():
        if len(same) <= ALIKE_MOST:
            words += [f"{finding.subject}: {finding.words}" for finding in same]
        else:
            others = ", ".join(finding.subject for finding in same[1:])
            words.append(f"{same[0].subject}: {same[0].words}; alike: {others}")
    return words

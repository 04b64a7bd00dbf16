"""The cost added up again."""

from __future__ import annotations

import math
from collections.abc import Iterator

from barnloom.model.limits import at_most
from barnloom.routing.check.finding import Finding, Site

SAME_MONEY = 1e-6
"""Sums of money must agree to this."""


def cost_findings(site: Site) -> Iterator[Finding]:
    """Return where the cost is not the sum of its parts, or below what is said that no plan can beat."""
    plan = site.plan
    total = sum(plan.cost_parts.values())
    if not math.isclose(plan.cost, total, rel_tol=1e-9, abs_tol=SAME_MONEY):
        yield Finding("cost.sum", "plan", f"cost {plan.cost:.4f}, but its parts add up to {total:.4f}")
    if plan.lower_bound is not None and not at_most(plan.lower_bound, plan.cost):
        yield Finding("cost.bound", "plan", f"lower bound {plan.lower_bound:.4f} is above the cost {plan.cost:.4f}")

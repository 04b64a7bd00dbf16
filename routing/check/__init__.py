"""The independent check: every verdict on a plan worked out again from the building's geometry and limits alone.

It knows the model and the plan's types and nothing of how plans are made, so that a fault there cannot hide itself
here.
"""

from __future__ import annotations

from barnloom.routing.check.bays import bay_findings
from barnloom.routing.check.bores import bore_findings
from barnloom.routing.check.costs import cost_findings
from barnloom.routing.check.electrical import electrical_findings
from barnloom.routing.check.ends import end_findings
from barnloom.routing.check.finding import Finding, limits_missing, site_of
from barnloom.routing.check.legs import legs_of
from barnloom.routing.check.mouths import mouth_findings
from barnloom.routing.check.notches import notch_findings
from barnloom.routing.check.runs import run_findings
from barnloom.routing.check.shapes import solids_of
from barnloom.routing.check.sums import sum_findings
from barnloom.routing.check.trees import tree_findings
from barnloom.routing.plan import Plan

__all__ = ["Finding", "check", "check_deep"]


def check(plan: Plan) -> tuple[Finding, ...]:
    """
    Check a plan against its own building and limits.

    Returns
    -------
    tuple of Finding
        Faults and warnings, holes first, then runs, sums, trees and wiring; empty if all is well.

    Notes
    -----
    Nothing is sampled: segments are clipped against every box near them, so the verdicts are exact to 1e-4 in. Time
    grows with the legs of cables times the members near them.
    """
    site = site_of(plan)
    missing = limits_missing(site)
    if missing:
        return tuple(missing)
    legs, unreadable = legs_of(site)
    solids = solids_of(plan.building)
    return (
        *unreadable,
        *bore_findings(site),
        *notch_findings(site),
        *end_findings(site),
        *mouth_findings(site, solids),
        *run_findings(site, legs, solids),
        *bay_findings(site, legs, solids),
        *sum_findings(site, legs),
        *cost_findings(site),
        *tree_findings(site),
        *electrical_findings(site),
    )


def check_deep(plan: Plan) -> tuple[Finding, ...]:
    """
    Get a second opinion on cables in wood from meshes: bored members as trimesh solids, each cable sampled densely.

    Slow (seconds for a large building), and it says nothing on limits, sums or trees: use it beside ``check``.
    """
    from barnloom.routing.check.deep import deep_findings

    return tuple(deep_findings(plan))

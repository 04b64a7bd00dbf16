"""Notches that are there already, against the rules for notches: a fault in old work is a warning, with its numbers."""

from __future__ import annotations

from collections.abc import Iterator

from barnloom.model.building import Member, Notch, Right
from barnloom.model.limits import at_least, at_most
from barnloom.routing.check.bores import rule_of
from barnloom.routing.check.finding import SAME_IN, Finding, Site

NOMINAL_LESS_IN = 0.5
"""A nominal breadth is this much more than the dressed one, for the rule that speaks of nominal thickness."""


def notch_findings(site: Site) -> Iterator[Finding]:
    """Return every old notch deeper, longer or elsewhere than the rules allow; seats of rafters are no notches."""
    for member in site.plan.building.members:
        for notch in member.notches:
            words = "" if notch.seat else "; ".join(_broken(notch, member, site))
            if words:
                place = f"{site.text(notch.along[0])} to {site.text(notch.along[1])} along"
                yield Finding("notch.old", member.id, f"an old notch, {place}: {words}", "warning")


def _broken(notch: Notch, member: Member, site: Site) -> Iterator[str]:
    if member.bore not in (Right.FREE, Right.UNKNOWN):
        yield "cut into a member that only its maker, or an engineer, may allow to be cut"
        return
    kind = rule_of(member, site)
    if kind == "stud":
        name = "stud.notch_share_bearing" if member.bearing else "stud.notch_share_nonbearing"
        yield from _at_most(notch.depth_in, name, member.depth_in, "deep", site)
    elif kind == "joist":
        yield from _in_joist(notch, member, site)


def _in_joist(notch: Notch, member: Member, site: Site) -> Iterator[str]:
    depth = member.depth_in
    if notch.along[0] <= SAME_IN or notch.along[1] >= member.length_in - SAME_IN:
        yield from _at_most(notch.depth_in, "joist.end_notch_share", depth, "deep at the end", site)
        return
    yield from _at_most(notch.depth_in, "joist.notch_share", depth, "deep", site)
    yield from _at_most(notch.along[1] - notch.along[0], "joist.notch_length_share", depth, "long", site)
    ends = [place for span in member.bearings for place in span]
    start, stop = (min(ends), max(ends)) if len(member.bearings) > 1 else (0.0, member.length_in)
    reach = site.limits["joist.notch_span_share"] * (stop - start)
    if not (at_most(notch.along[1], start + reach) or at_least(notch.along[0], stop - reach)):
        yield f"in the middle third of the span ({site.rule('joist.notch_span_share')})"
    if notch.edge == "low" and at_least(
        member.thickness_in + NOMINAL_LESS_IN, site.limits["joist.tension_notch_breadth"]
    ):
        yield f"on the side in tension of so thick a timber ({site.rule('joist.tension_notch_breadth')})"


def _at_most(value_in: float, name: str, depth_in: float, what: str, site: Site) -> Iterator[str]:
    most = site.limits[name] * depth_in
    if not at_most(value_in, most):
        yield f"{site.text(value_in)} {what}, {site.text(most)} allowed ({site.rule(name)})"

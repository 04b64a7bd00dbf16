"""What stands at the head of everything that somebody could act on: cautions, assumptions, changed limits."""

from __future__ import annotations

from barnloom.model.building import Limit
from barnloom.model.lengths import format_length
from barnloom.model.limits import cited
from barnloom.routing.plan import Plan

CAUTIONS = (
    "Nothing live: prove dead before touching a wire or working near one.",
    "Permit and inspection first. The code adopted where it stands, and its inspector, decide; not this plan.",
    "Look what is behind and inside the wood before boring: old wires, pipes, nails.",
    "A licensed electrician does what the law there keeps for one: supply, panel, earthing.",
    "A member that is cut beyond the limits below, or that the plan may not bore, needs an engineer.",
    'Limits marked "own caution" are this tool\'s, and no code asks for them.',
)


def title_lines(plan: Plan) -> list[str]:
    """Title of the building, and what it is and whose."""
    about = plan.building.about
    return [plan.building.title, ", ".join(f"{key}: {about[key]}" for key in sorted(about))]


def assumption_lines(plan: Plan) -> list[str]:
    """Everything taken for granted, one a line."""
    return [*plan.assumptions]


def answer_lines(plan: Plan) -> list[str]:
    """Questions that somebody has answered, and who and when."""
    lines = []
    for kept in plan.building.answers:
        if kept.assumed:
            continue
        by = ", ".join(part for part in (kept.who, kept.when) if part)
        answer = f"{kept.answer} ({kept.detail})" if kept.detail else kept.answer
        question = kept.question if kept.question.endswith("?") else f"{kept.question}:"
        lines.append(f"{question} {answer}" + (f" [{by}]" if by else ""))
    return lines


def amended_lines(plan: Plan) -> list[str]:
    """Limits that the scene changes, with the reason."""
    metric = plan.building.metric
    return [
        f"{limit.name} is {limit_value(limit, metric=metric)}, {limit.amended} ({cited(limit)})"
        for limit in plan.building.limits
        if limit.amended
    ]


def limit_value(limit: Limit, *, metric: bool) -> str:
    """
    Value of a limit in words.

    Examples
    --------
    >>> from barnloom.model.limits import Limits, load_limits
    >>> limits = Limits(load_limits())
    >>> [limit_value(limits.limit(name), metric=False) for name in ("joist.hole_share", "joist.edge")]
    ['33.3 %', '2"']
    """
    if limit.unit == "in":
        return format_length(limit.value, metric=metric, feet=False)
    if limit.unit == "share":
        return f"{100 * limit.value:.3g} %"
    return f"{limit.value:g} {limit.unit}"

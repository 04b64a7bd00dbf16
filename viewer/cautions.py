"""What stands at the head of everything that somebody could act on: cautions, answers, warnings."""

from __future__ import annotations

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


def warnings(plan: Plan) -> tuple[str, ...]:
    """Return what the building and the plan warn of, each once."""
    return tuple(dict.fromkeys((*plan.building.warnings, *plan.warnings)))


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

"""``questions.txt``: what to ask the inspector and the owner, why, and what was planned; the supply, told plainly.

What is said of each question stands in ``questions.toml`` beside this file.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from barnloom.model.building import Answer
from barnloom.model.lengths import format_length
from barnloom.model.limits import Limits
from barnloom.model.wiring import Breakers
from barnloom.routing.plan import Plan
from barnloom.routing.wiring.load import LoadLine, load_sum, load_words
from barnloom.routing.wiring.supply import supply_words
from barnloom.viewer.lists import bullets, head_lines, ruled
from barnloom.viewer.text import COLUMNS, paragraph

_NOTE = "   "
_INSPECTOR, _OWNER = "the inspector", "the owner"


def questions_text(plan: Plan) -> str:
    """Questions by whom to ask, each with its answer or what stands in for it; then the supply; then room to write."""
    lines = head_lines(plan, "QUESTIONS, AND WHO HAS ANSWERED THEM")
    number = 0
    for whom in (_INSPECTOR, _OWNER):
        answers = sorted((kept for kept in plan.building.answers if _asked(kept)["whom"] == whom), key=_place)
        if answers:
            lines += ruled(f"FOR {whom.upper()}")
        for kept in answers:
            number += 1
            lines += [*_question_lines(number, kept), ""]
    lines += ruled("FOR THE INSPECTOR, EVERYWHERE")
    for question in _data()["always"]["inspector"]:
        number += 1
        lines += [*paragraph(question, first=f"{number:>2} "), _blank(""), ""]
    lines += ruled("FOR THE ELECTRICIAN: THE SUPPLY")
    load = load_sum(plan.building, Limits(plan.building.limits))
    lines += bullets([*_supply_words(plan), *load_words(plan.building, load)])
    lines += _load_lines(load)
    lines += ["", "Left to licensed work, and what it has to be", *bullets(supply_words(plan.building))]
    lines += ["", "To write in", *(_blank(what) for what in _data()["always"]["write_in"])]
    return "\n".join(lines) + "\n"


def supply_line(plan: Plan) -> str:
    """Say the supply in a line, as far as the scene says it."""
    supply = plan.building.supply
    if not supply.said:
        return "supply not said"
    parts = [supply.from_where or "source not said", supply.kind]
    parts += [f"breaker {supply.breaker_a:g} A"] if supply.breaker_a else []
    parts.append(f"{supply.wires} wires{f' of {supply.awg} AWG' if supply.awg else ''}")
    parts += [format_length(supply.length_in, metric=plan.building.metric)] if supply.length_in else []
    return ", ".join([*parts, *(word for word in (supply.method, supply.family) if word)])


def panel_line(breakers: Breakers) -> str:
    """Say a panel in a line: main, spaces, those in use already, and whether it is only assumed."""
    main = f"main {breakers.main_a:g} A" if breakers.main_a else "main not said"
    used = f", {len(breakers.used)} in use already" if breakers.used else ""
    said = "" if breakers.said else " (not said: a usual one)"
    return f"{breakers.panel}: {main}, {breakers.spaces} spaces{used}{said}"


@cache
def _data() -> dict[str, Any]:
    return tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))


def _key(kept: Answer) -> str:
    """Key of a question in the scene: what stands before its colon."""
    return kept.question.partition(":")[0]


def _asked(kept: Answer) -> dict[str, Any]:
    """What is said of a question; of one that is not known, that its owner put it."""
    found: dict[str, Any] = _data()["asked"].get(_key(kept), {"whom": _OWNER})
    return found


def _place(kept: Answer) -> int:
    """Order in which questions are put."""
    keys = list(_data()["asked"])
    return keys.index(_key(kept)) if _key(kept) in keys else len(keys)


def _question_lines(number: int, kept: Answer) -> list[str]:
    asked = _asked(kept)
    question = kept.question.partition(":")[2].strip() if "why" in asked else kept.question
    lines = paragraph(f"{question[:1].upper()}{question[1:]}", first=f"{number:>2} ")
    if "why" in asked:
        lines += paragraph(f"why it matters: {asked['why']} [{asked['clause']}]", first=_NOTE)
    answer = f"{kept.answer} {kept.detail}".strip()
    by = ", ".join(part for part in (kept.who, kept.when) if part)
    if kept.assumed:
        lines += paragraph(f"not answered: planned as the stricter reading ({answer})", first=_NOTE)
    else:
        lines += paragraph(f"answer: {answer} [{by or 'by whom and when is not kept'}]", first=_NOTE)
    planned = asked.get("planned", {}).get(kept.answer)
    if planned:
        lines += paragraph(f"planned because of it: {planned}", first=_NOTE)
    return [*lines, _blank("answer, who, when")] if kept.assumed else lines


def _blank(what: str) -> str:
    """A line to write on."""
    first = f"{_NOTE}{what:<22}" if what else _NOTE
    return first + "_" * (COLUMNS - len(first))


def _supply_words(plan: Plan) -> Iterator[str]:
    supply = plan.building.supply
    yield supply_line(plan)
    yield f"disconnect: {f'{supply.disconnect_a:g} A' if supply.disconnect_a else 'not said'}; electrodes: " + (
        supply.electrodes or "not said"
    )
    if len(plan.building.breakers) > 1:
        yield (
            "The load that follows is the whole building's, and is held against every panel. What a panel that is fed "
            "from another one carries, its own circuits alone, and the cable between the two, are not worked: ask."
        )
    for breakers in plan.building.breakers:
        yield f"panel {panel_line(breakers)}"
        sizes = ", ".join(f"{size:g}" for size in breakers.sizes_a)
        yield f"breakers that {'its label lists' if breakers.said else 'are taken as listed'}: {sizes} A"


def _load_lines(load: Sequence[LoadLine]) -> list[str]:
    """Return the sum behind the load of the building, line by line."""
    lines = ["", "The sum of it, VA"] if load else []
    for line in load:
        sum_words = f"{line.va:>9,.0f} x {line.factor:.3f} = {line.demand_va:>7,.0f}"
        lines += paragraph(f"{line.what} [{line.clause}]", first=f"{sum_words}  ", later=" " * 30)
    return lines

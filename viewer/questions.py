"""``questions.txt``: what to ask the inspector and the owner, why, and what was planned; the supply, told plainly.

What is said of each question stands in ``questions.toml`` beside this file.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import groupby
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
_EVERYWHERE = "the inspector, everywhere"


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A question; what it has not is empty."""

    number: int
    whom: str
    """To ask: "the inspector", "the owner"."""
    question: str
    why: str = ""
    """Why it matters, with its clause."""
    answer: str = ""
    """As kept, with by whom and when, or what stands in for it."""
    planned: str = ""
    """What was planned because of the answer."""
    to_write: str | None = None
    """What stands before the room to write in an answer; None where it is answered."""

    @property
    def under(self) -> tuple[str, ...]:
        """What stands under the question: why it matters, the answer, what was planned."""
        return tuple(words for words in (self.why, self.answer, self.planned) if words)


def asked(plan: Plan) -> tuple[Asked, ...]:
    """Return what to ask, by whom and in the order of how much hangs on it; last what is asked of every plan."""
    found: list[Asked] = []
    for whom in (_INSPECTOR, _OWNER):
        answers = sorted((kept for kept in plan.building.answers if _said_of(kept)["whom"] == whom), key=_place)
        found += [_asked(len(found) + n, kept) for n, kept in enumerate(answers, 1)]
    always = _data()["always"]["inspector"]
    return (
        *found,
        *(
            Asked(number=len(found) + n, whom=_EVERYWHERE, question=question, to_write="")
            for n, question in enumerate(always, 1)
        ),
    )


def to_write_in() -> tuple[str, ...]:
    """Return what to write down of whoever answers."""
    return tuple(_data()["always"]["write_in"])


def questions_text(plan: Plan) -> str:
    """Questions by whom to ask, each with its answer or what stands in for it; then the supply; then room to write."""
    lines = head_lines(plan, "QUESTIONS, AND WHO HAS ANSWERED THEM")
    for whom, questions in groupby(asked(plan), key=lambda one: one.whom):
        lines += ruled(f"FOR {whom.upper()}")
        for one in questions:
            lines += [*_question_lines(one), ""]
    lines += ruled("FOR THE ELECTRICIAN: THE SUPPLY")
    load = load_sum(plan.building, Limits(plan.building.limits))
    lines += bullets([*supply_facts(plan), *load_words(plan.building, load)])
    lines += _load_lines(load)
    lines += ["", "Left to licensed work, and what it has to be", *bullets(supply_words(plan.building))]
    lines += ["", "To write in", *map(_blank, to_write_in())]
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


def _said_of(kept: Answer) -> dict[str, Any]:
    """What is said of a question; of one that is not known, that its owner put it."""
    found: dict[str, Any] = _data()["asked"].get(_key(kept), {"whom": _OWNER})
    return found


def _place(kept: Answer) -> int:
    """Order in which questions are put."""
    keys = list(_data()["asked"])
    return keys.index(_key(kept)) if _key(kept) in keys else len(keys)


def _asked(number: int, kept: Answer) -> Asked:
    said = _said_of(kept)
    question = kept.question.partition(":")[2].strip() if "why" in said else kept.question
    answer = f"{kept.answer} {kept.detail}".strip()
    by = ", ".join(part for part in (kept.who, kept.when) if part) or "by whom and when is not kept"
    stands_in = f"not answered: planned as the stricter reading ({answer})"
    planned = said.get("planned", {}).get(kept.answer)
    return Asked(
        number=number,
        whom=said["whom"],
        question=f"{question[:1].upper()}{question[1:]}",
        why=f"why it matters: {said['why']} [{said['clause']}]" if "why" in said else "",
        answer=stands_in if kept.assumed else f"answer: {answer} [{by}]",
        planned=f"planned because of it: {planned}" if planned else "",
        to_write="answer, who, when" if kept.assumed else None,
    )


def _question_lines(one: Asked) -> list[str]:
    lines = paragraph(one.question, first=f"{one.number:>2} ")
    for words in one.under:
        lines += paragraph(words, first=_NOTE)
    return lines if one.to_write is None else [*lines, _blank(one.to_write)]


def _blank(what: str) -> str:
    """A line to write on."""
    first = f"{_NOTE}{what:<22}" if what else _NOTE
    return first + "_" * (COLUMNS - len(first))


def supply_facts(plan: Plan) -> Iterator[str]:
    """Yield the supply, its disconnect and electrodes, and the panels, as far as the scene says them."""
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

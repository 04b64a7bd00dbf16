"""What changed, in words, as tables under headings: one source for text and paper, what is to be done first."""

from __future__ import annotations

from collections.abc import Iterator

from barnloom.routing.plan import Plan
from barnloom.viewer import totals
from barnloom.viewer.changes.boxes import box_sections
from barnloom.viewer.changes.cables import cable_sections
from barnloom.viewer.changes.compare import Changes
from barnloom.viewer.changes.figures import bought, circuits, members, said, sums, unreached
from barnloom.viewer.changes.holes import hole_sections
from barnloom.viewer.changes.told import Section, Told, more

NOTHING = "Nothing has changed that is bored, pulled, made up or bought."
NOT_KNOWN = (
    "Bored or pulled already is here only what a plan has as such. Write other holes that are bored into the scene as "
    "old holes, and plan again: then they are used where they can be, and new ones keep clear of them.",
    "Joints are opened dead: breaker off, and proven dead.",
)
_KINDS = (("added", "new"), ("gone", "gone"), ("changed", "changed"))


def title_words(old: Plan, new: Plan) -> str:
    """Say which plan is told against which."""
    before, after = old.building.title, new.building.title
    return f"{after}: the new plan against the old one{'' if before == after else f', {before}'}"


def in_short(found: Changes, new: Plan) -> str:
    """All of it in one sentence, to see how much there is to do."""
    metric = new.building.metric
    words = []
    for name, changes in (
        ("hole", found.holes),
        ("cable", found.cables),
        ("box", found.boxes),
        ("circuit", found.circuits),
    ):
        kinds = [change.kind for change in changes]
        told = [f"{kinds.count(kind)} {kind_words}" for kind, kind_words in _KINDS if kind in kinds]
        if told:
            words.append(f"{'boxes' if name == 'box' else f'{name}s'}: {', '.join(told)}")
    total = next((amount for amount in found.feet if amount.name == "total"), None)
    if total:
        words.append(f"{totals.run_of(abs(total.more), metric=metric)} {more(total.more)} of cable")
    if found.more_money:
        words.append(f"{abs(found.more_money):.2f} {more(found.more_money)} to pay in the store")
    return "; ".join(words) + "." if words else f"{NOTHING} What the plan rests on or says has."


def sections(found: Changes, old: Plan, new: Plan) -> Iterator[Section]:
    """Yield what there is to tell, what has to be done first, lengths in the units of the new plan."""
    told = Told(found, old, new)
    for section in (
        *hole_sections(told),
        *cable_sections(told),
        *box_sections(told),
        circuits(told),
        unreached(told),
        bought(told),
        sums(told),
        members(told),
        said(told),
    ):
        if section.rows:
            yield section

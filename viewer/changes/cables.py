"""Cables that changed, in words: to cut new, to cut anew, to pull otherwise, those that stay, those that are gone."""

from __future__ import annotations

from collections.abc import Iterator

from barnloom.routing.plan import Cable
from barnloom.viewer.changes.compare import Change
from barnloom.viewer.changes.told import Row, Section, Told
from barnloom.viewer.paths import path_words, run_words
from barnloom.viewer.wires import conductor_words, label

_OTHER_PIECE = frozenset({"type", "longer"})
_OTHER_WAY = frozenset({"ends", "members", "way"})


def cable_sections(told: Told) -> Iterator[Section]:
    """Yield what is to be cut first: new ones, those that want another piece; then the others."""
    groups: dict[str, list[Change[Cable]]] = {"new": [], "again": [], "otherwise": [], "rest": [], "gone": []}
    for change in told.found.cables:
        groups[_cable_group(change)].append(change)
    columns = (("cable", 26), ("label", 48), ("cut", 14))
    rows: list[Row] = []
    for change in groups["new"]:
        if change.new:
            rows += [_cable(told, change.new), _way(told, change.new)]
    yield Section(heading="Cables to cut and pull new", columns=columns, rows=tuple(rows), ticks=True)
    for heading, how, changes, ticks in (
        (
            "Cables to cut anew",
            "A piece cut by the old plan is shorter than the new length, or of another type.",
            groups["again"],
            True,
        ),
        ("Cables to pull otherwise", "A piece cut by the old plan is long enough.", groups["otherwise"], True),
        (
            "Cables that stay, otherwise labelled or connected",
            "What is cut or pulled already stays.",
            groups["rest"],
            False,
        ),
    ):
        rows = []
        for change in changes:
            if change.new:
                notes = "; ".join(_cable_notes(told, change))
                rows += [_cable(told, change.new), *([notes] if notes else [])]
                rows += [_way(told, change.new, change.old)] if "way" in change.differs else []
        yield Section(heading=heading, columns=columns, rows=tuple(rows), how=(how,), ticks=ticks)
    yield Section(
        heading="Cables no longer in the plan",
        columns=columns,
        rows=tuple(_cable(told, change.old) for change in groups["gone"] if change.old),
        how=("Pulled already: nothing of the new plan joins its ends; ask the inspector whether it may stay.",),
    )


def _cable(told: Told, cable: Cable) -> tuple[str, ...]:
    return cable.id, label(cable), told.length(cable.cut_in)


def _way(told: Told, cable: Cable, was: Cable | None = None) -> str:
    """The way step by step; against an old one, the steps that are new in it."""
    steps = path_words(told.after, cable, metric=told.metric)
    before = path_words(told.before, was, metric=told.metric) if was else []
    fresh = [f"{number} {step}" for number, step in enumerate(steps, 1) if step not in before]
    if not fresh:
        return "way: some steps less, or in another order"
    return f"{'way' if len(fresh) == len(steps) else 'way, where it is new'}: {'; '.join(fresh)}"


def _cable_notes(told: Told, change: Change[Cable]) -> Iterator[str]:
    one, now = change.old, change.new
    if now is not None and one is None:
        yield "pulled already"
    if one is None or now is None:
        return
    if "type" in change.differs:
        yield f"{now.type}, was {one.type}"
    if "longer" in change.differs or "shorter" in change.differs:
        yield _length_words(told, one, now)
    if "ends" in change.differs:
        yield f"from {now.from_box} to {now.to_box}, was from {one.from_box} to {one.to_box}"
    if "direction" in change.differs:
        yield f"fed from {now.from_box} now, was from {one.from_box}"
    if one.id != now.id:
        yield f"renamed {one.id} to {now.id}"
    if label(one) != label(now):
        yield f"its label was {label(one)}"
    if "members" in change.differs:
        was, through = (
            list(dict.fromkeys(names.bored[hole] for hole in cable.bores if hole in names.bored))
            for names, cable in ((told.before, one), (told.after, now))
        )
        left = [name for name in was if name not in through]
        fresh = [name for name in through if name not in was]
        words = [f"no longer through {run_words(told.before, left)}"] if left else []
        words += [f"now through {run_words(told.after, fresh)}"] if fresh else []
        yield "; ".join(words) or "through the same members, in another order"
    if "conductors" in change.differs:
        controls = told.new.building.controls
        yield (
            "; ".join(conductor_words(each, controls) for each in now.conductors) or "its conductors are not planned"
        )
    if "pulled" in change.differs:
        yield "pulled already" if now.done else "to pull: the new plan does not have it as pulled"


def _length_words(told: Told, one: Cable, now: Cable) -> str:
    """How much longer or shorter, and whether the old piece would do at the cost of slack alone."""
    was, apart = (told.length(length) for length in (one.cut_in, abs(now.cut_in - one.cut_in)))
    if now.cut_in <= one.cut_in:
        return f"{apart} shorter: was {was}"
    words = f"{apart} longer: was {was}"
    left = one.cut_in - (now.cut_in - now.slack_in)
    if one.type == now.type and left >= 0:
        slack = (told.length(length) for length in (left, now.slack_in))
        words += "; the old piece would leave {} of slack instead of {}".format(*slack)
    return words


def _cable_group(change: Change[Cable]) -> str:
    """Where a cable is told: once, by the most work that it makes."""
    if change.new is None:
        return "gone"
    if change.new.done:
        return "rest"
    if change.old is None:
        return "new"
    if _OTHER_PIECE.intersection(change.differs):
        return "again"
    return "otherwise" if _OTHER_WAY.intersection(change.differs) else "rest"

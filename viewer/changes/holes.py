"""Holes that changed, in words: to bore new, moved, to bore larger, there already, otherwise used, no longer used."""

from __future__ import annotations

from collections.abc import Iterator

from barnloom.model.building import Member, Role
from barnloom.model.lengths import format_length
from barnloom.routing.plan import Bore
from barnloom.routing.store import natural_key
from barnloom.viewer.changes.compare import Change
from barnloom.viewer.changes.told import Row, Section, Told, names
from barnloom.viewer.lists import hole_notes
from barnloom.viewer.paths import hole_place
from barnloom.viewer.takeoff import SEALED

_WIDER = "its middle may lie in a wider band"
_STAYS = "Not bored yet: strike it off the list. Bored: it stays in the wood, and new ones have to keep clear of it."
_CLOSED = "One in a plate or rim that is bored is closed where the code asks for it (common practice, no source)."


def hole_sections(told: Told) -> Iterator[Section]:
    """Yield what is to be bored first: new ones, moved ones, larger ones; then the others."""
    groups: dict[str, list[Change[Bore]]] = {"new": [], "moved": [], "larger": [], "there": [], "rest": [], "gone": []}
    for change in told.found.holes:
        groups[_hole_group(change)].append(change)
    columns = (("hole", 15), ("bit", 9), ("along", 24), ("aim", 22), ("for", 17))
    rows: list[Row] = []
    for change in groups["new"]:
        rows += _hole(told, change.new) if change.new else []
    yield Section(heading="Holes to bore new", columns=columns, rows=tuple(rows), ticks=True)
    rows = []
    for change in groups["moved"]:
        one, now = change.old, change.new
        if one is not None and now is not None:
            rows += _hole(told, now)
            was = hole_place(one, told.members[0][one.member], metric=told.metric)
            moved_by = _shift(told, change, told.members[1][now.member])
            rows.append("; ".join([f"moved {moved_by}: was {was}", *_hole_notes(told, change)]))
    yield Section(
        heading="Holes that have moved",
        columns=columns,
        rows=tuple(rows),
        how=("One that is bored at the old place stays in the wood: see whether the new one keeps clear of it.",),
        ticks=True,
    )
    yield Section(
        heading="Holes to bore larger",
        columns=(("hole", 15), ("what", 78)),
        rows=tuple((change.new.id, _in_place(told, change)) for change in groups["larger"] if change.new),
        ticks=True,
    )
    yield Section(
        heading="Holes that are there already",
        columns=(("hole", 15), ("what", 83)),
        rows=tuple((change.new.id, _in_place(told, change)) for change in groups["there"] if change.new),
        how=("Nothing to bore.",),
    )
    yield Section(
        heading="Holes at the same place, otherwise used or named",
        columns=(("hole", 15), ("what", 83)),
        rows=tuple((change.new.id, _in_place(told, change)) for change in groups["rest"] if change.new),
        how=("A smaller bit: a hole that is bored already is larger than the new plan has checked.",),
        alike=True,
    )
    sealed = any(_role(told, change.old) in SEALED for change in groups["gone"])
    yield Section(
        heading="Holes no longer used",
        columns=(("hole", 15), ("where it was planned, and what for", 83)),
        rows=tuple((change.old.id, _gone(told, change.old)) for change in groups["gone"] if change.old),
        how=(_STAYS, *([_CLOSED] if sealed else [])),
        alike=True,
    )


def _role(told: Told, bore: Bore | None) -> Role | None:
    return told.members[0][bore.member].role if bore and not bore.existing else None


def _gone(told: Told, bore: Bore) -> str:
    place = hole_place(bore, told.members[0][bore.member], metric=told.metric)
    words = f"{place}; bit {told.inches(bore.diameter_in)}, for {names(bore.cables)}"
    if bore.existing:
        return f"{words}; an old hole"
    return f"{words}; in a plate or rim" if _role(told, bore) in SEALED else words


def _hole(told: Told, bore: Bore) -> Iterator[Row]:
    member = told.members[1][bore.member]
    along = f"{told.length(bore.along_in)} from the {member.along_from}"
    aim = f"{told.inches(bore.across_in)} from the {member.across_from}"
    yield bore.id, told.inches(bore.diameter_in), along, aim, _passing(bore)
    notes = hole_notes(told.new, told.after, [bore])
    if notes:
        yield "; ".join(notes)


def _in_place(told: Told, change: Change[Bore]) -> str:
    """What there is to say of a hole that is where it was, or that is there already."""
    now = change.new
    if now is None:
        return ""
    member = told.members[1][now.member]
    place = hole_place(now, member, metric=told.metric)
    if change.old is None:
        return f"{place}; for {names(now.cables)}"
    moved = [f"{place}: {_shift(told, change, member)} than planned"] if "place" in change.differs else []
    return "; ".join([*moved, *_hole_notes(told, change)]) or _WIDER


def _hole_notes(told: Told, change: Change[Bore]) -> list[str]:
    """What else is otherwise at a hole than its place."""
    one, now = change.old, change.new
    if one is None or now is None:
        return []
    notes = []
    if "bit" in change.differs:
        notes.append(f"bit {told.inches(now.diameter_in)}, was {told.inches(one.diameter_in)}")
    if "cables" in change.differs:
        was = {told.renamed.get(name, name) for name in one.cables}
        ways = (("no longer for", was - set(now.cables)), ("now for", set(now.cables) - was))
        notes += [f"{words} {names(which)}" for words, which in ways if which]
    if "plates" in change.differs:
        notes.append(
            f"nail plate on: {', '.join(now.nail_plates) or 'no face'}; was: {', '.join(one.nail_plates) or 'none'}"
        )
    if "from" in change.differs:
        notes.append(f"measured anew: {hole_place(now, told.members[1][now.member], metric=told.metric)}")
    if "band" in change.differs and (now.across_min_in > one.across_min_in or now.across_max_in < one.across_max_in):
        low = format_length(now.across_min_in, metric=told.metric, feet=False, rounding="up")
        high = format_length(now.across_max_in, metric=told.metric, feet=False, rounding="down")
        notes.append(f"band {low} to {high}: narrower than it was")
    if "there" in change.differs:
        notes.append("bored" if now.existing else "to bore: the new plan does not have it as there")
    if "id" in change.differs:
        notes.append(f"renamed {one.id} to {now.id}")
    return notes


def _shift(told: Told, change: Change[Bore], member: Member) -> str:
    words = []
    for step, end in zip(change.by_in, (member.along_from, member.across_from), strict=True):
        if told.inches(abs(step)) != told.inches(0):
            way = "farther from" if step > 0 else "nearer to"
            words.append(f"{told.length(abs(step))} {way} the {end}")
    return ", ".join(words)


def _hole_group(change: Change[Bore]) -> str:
    """Where a hole is told: once, by the most work that it makes."""
    if change.new is None:
        return "gone"
    if change.new.existing and (change.old is None or {"place", "there"}.intersection(change.differs)):
        return "there"
    if change.old is None:
        return "new"
    if "place" in change.differs:
        return "moved"
    return "larger" if "bit" in change.differs and change.new.diameter_in > change.old.diameter_in else "rest"


def _passing(bore: Bore) -> str:
    return " ".join(sorted(bore.cables, key=natural_key))

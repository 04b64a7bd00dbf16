"""What is read rather than done, in words: circuits, lost boxes, what to buy, sums, framing, what is said."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from barnloom.model.building import Member
from barnloom.routing.plan import CircuitSheet, Plan
from barnloom.viewer import totals
from barnloom.viewer.changes.compare import Amount, Bought
from barnloom.viewer.changes.told import Row, Section, Told
from barnloom.viewer.schedule import breaker_words, longest_words, poles_words, space_words

_PRINTED = Decimal("0.05")
"""Feet or metres of a line; less is printed as 0.0."""
_FACTS = {
    "place": "place", "length": "length", "section": "section", "role": "what it is", "bearing": "whether it bears",
    "rights": "what may be done to it", "holes": "holes in it already", "notches": "notches",
    "measured": "what of it is measured",
}  # fmt: skip


def circuits(told: Told) -> Section:
    """Breakers, conductors, spaces, load, drop."""
    rows: list[Row] = []
    for change in told.found.circuits:
        if change.new is None and change.old:
            rows.append((change.old.circuit, f"gone: {_circuit(_figures(told.old, told.new, change.old))}"))
        elif change.new and change.old is None:
            rows.append((change.new.circuit, f"new: {_circuit(_figures(told.new, told.new, change.new))}"))
        elif change.new and change.old:
            was, now = _figures(told.old, told.new, change.old), _figures(told.new, told.new, change.new)
            words = [f"{name} {now[name]}, was {was[name]}" for name in now if was[name] != now[name]]
            rows.append((change.new.circuit, "; ".join(words)))
    return Section(heading="Circuits in the panel", columns=(("circuit", 15), ("what", 78)), rows=tuple(rows))


def unreached(told: Told) -> Section:
    """Boxes that no cable reaches any more, and those that one reaches now."""
    why = {lost.box: lost.reason for lost in told.new.unreached_why}
    rows = []
    for change in told.found.unreached:
        if change.new:
            rows.append((change.new, f"no longer reached{f': {why[change.new]}' if change.new in why else ''}"))
        elif change.old:
            here = any(box.id == change.old for box in told.new.building.boxes)
            rows.append((change.old, "reached now" if here else "gone, and was not reached"))
    return Section(heading="Boxes without a route", columns=(("box", 15), ("what", 78)), rows=tuple(rows))


def bought(told: Told) -> Section:
    """What more and what less to buy, as far as it shows in print."""
    rows: list[Row] = [
        (
            _signed(line.more, line.unit),
            _item(line),
            _money(line.old_price),
            _money(line.new_price),
            _money(line.more_money, "+"),
        )
        for line in told.found.bought
        if line.more_money or abs(line.more) >= _PRINTED
    ]
    if rows:
        rows.append(("", "sum of what is known", "", "", _money(told.found.more_money, "+")))
    return Section(
        heading="To buy: more (+) and less (-)",
        columns=(("how many", 12), ("what", 46), ("price was", 9), ("is", 9), ("more", 9)),
        rows=tuple(rows),
        how=("Of all phases together. Prices are placeholders unless the scene gives its own store's.",),
        figures=3,
    )


def sums(told: Told) -> Section:
    """Feet by type as far as they show in print, holes by bit, cost."""
    rows: list[Row] = []
    for feet in (one for one in told.found.feet if not _more_run(told, one)[1:].startswith("0.0 ")):
        what = "all cables" if feet.name == "total" else f"cable {feet.name}"
        rows.append(
            (
                what,
                *(totals.run_of(value, metric=told.metric) for value in (feet.old, feet.new)),
                _more_run(told, feet),
            )
        )
    for bit in told.found.holes_by_bit:
        what = f"holes to bore, bit {told.inches(float(bit.name))}"
        rows.append((what, f"{bit.old}", f"{bit.new}", f"{bit.more:+}"))
    for part in told.found.cost:
        what = "cost of the plan" if part.name == "total" else f"cost: {part.name}"
        rows.append((what, f"{part.old:.2f}", f"{part.new:.2f}", f"{part.more:+.2f}"))
    return Section(
        heading="Sums", columns=(("of", 44), ("was", 14), ("is", 14), ("more", 14)), rows=tuple(rows), figures=3
    )


def _more_run(told: Told, amount: Amount) -> str:
    return f"{'+' if amount.more > 0 else '-'}{totals.run_of(abs(amount.more), metric=told.metric)}"


def members(told: Told) -> Section:
    """Members that are otherwise: what the rest follows from."""
    rows: list[Row] = []
    for change in told.found.members:
        if change.new is None and change.old:
            rows.append((change.old.id, f"gone: {change.old.role.value}, {change.old.section}"))
        elif change.new and change.old is None:
            rows.append((change.new.id, f"new: {change.new.role.value}, {change.new.section}"))
        elif change.new and change.old:
            words = [_member_words(told, change.old, change.new, change.by_in, name) for name in change.differs]
            rows.append((change.new.id, "; ".join(words)))
    return Section(heading="Framing that has changed", columns=(("member", 15), ("what", 78)), rows=tuple(rows))


def _member_words(told: Told, one: Member, now: Member, step: Sequence[float], name: str) -> str:
    if name == "place":
        return told.moved(step) or "lies another way"
    if name == "length":
        return "{} long, was {}".format(*(told.length(each.length_in) for each in (now, one)))
    if name == "section":
        return f"{now.section}, was {one.section}" if now.section != one.section else "its section, or its plies"
    return f"otherwise: {_FACTS[name]}"


def said(told: Told) -> Section:
    """Warnings, assumptions and answers that only one of the plans has."""
    rows = tuple((f"{said.about} {'gone' if said.gone else 'new'}", said.text) for said in told.found.said)
    return Section(heading="Warnings, assumptions, answers", columns=(("which", 15), ("words", 83)), rows=rows)


def _circuit(figures: Mapping[str, str]) -> str:
    return "; ".join(f"{name} {value}" for name, value in figures.items())


def _figures(own: Plan, units: Plan, sheet: CircuitSheet) -> dict[str, str]:
    """What the schedule says of a circuit, by the name of the figure."""
    return {
        "panel": sheet.panel,
        "breaker": breaker_words(sheet) + poles_words(sheet),
        "volts": f"{sheet.volts}",
        "conductors": f"{sheet.awg} AWG",
        "space": space_words(own)[sheet.circuit] or "?",
        "leg": sheet.legs,
        "load": f"{sheet.load_va:,.0f} VA",
        "sized for": f"{sheet.load_a:.1f} A",
        "longest run": longest_words(units, sheet),
        "drop": f"{sheet.drop_percent:.1f} %",
        "phase": f"{next((one.phase for one in own.building.circuits if one.id == sheet.circuit), 1)}",
    }


def _item(line: Bought) -> str:
    return f"{line.item}, {line.size}" if line.size else line.item


def _signed(more: Decimal, unit: str) -> str:
    """A quantity with its sign: whole, or to a tenth; an unchanged one where its price alone is otherwise."""
    if not more:
        return "same"
    return f"{more:+.1f} {unit}" if more % 1 else f"{more:+.0f} {unit}"


def _money(value: Decimal | None, sign: str = "") -> str:
    return "?" if value is None else f"{value:{sign}.2f}"

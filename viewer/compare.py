"""The same building planned in several ways, side by side: what each comes to, and what it gives up."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from barnloom.model.building import Building
from barnloom.model.errors import SceneError
from barnloom.routing.cost import is_overhead
from barnloom.routing.plan import Plan
from barnloom.routing.store import natural_key, plan_to_json
from barnloom.routing.whatif import Chosen, Tried, WhatIf, applies, chosen, plan_what_if, what_ifs
from barnloom.routing.wiring.entry import misfed_in
from barnloom.viewer import totals
from barnloom.viewer.checked import checked
from barnloom.viewer.files import staging
from barnloom.viewer.rows import Row
from barnloom.viewer.tables import csv_text
from barnloom.viewer.text import counted, padded, paragraph, width

Talk = Callable[[str], None]
CENT, TENTH = Decimal("0.01"), Decimal("0.1")
_GAP = "  "
_HEADS = ("", "CABLE", "HOLES", "OVERHEAD", "PLATES", "MONEY", "DROP")
COLUMNS = (
    ("what_if", "feet", "holes", "overhead_holes", "nail_plates", "money", "drop_percent", "drop_circuit")
    + ("feet_more", "holes_more", "overhead_holes_more", "nail_plates_more", "money_more", "drop_percent_more")
    + ("not_reached", "found_by", "words")
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """What a plan comes to; cables that are pulled and holes that are there left out."""

    feet: Decimal
    """Cut feet."""
    holes: int
    overhead: int
    plates: int
    money: Decimal
    drop_percent: Decimal
    drop_circuit: str
    """The circuit that loses most of its voltage."""
    unreached: tuple[str, ...]
    metric: bool

    def numbers(self) -> tuple[Decimal, ...]:
        """Return the figures in the order of the table."""
        counts = (Decimal(count) for count in (self.holes, self.overhead, self.plates))
        return (self.feet, *counts, self.money, self.drop_percent)

    def cells(self) -> tuple[str, ...]:
        """Return the figures in words, in the order of the table."""
        drop = f"{self.drop_percent:.1f} % {self.drop_circuit}".rstrip()
        feet, *counts, money, _ = self.numbers()
        return (totals.run_of(feet, metric=self.metric), *(f"{count}" for count in counts), f"{money:.2f}", drop)


def figures_of(plan: Plan) -> Figures:
    """Count a plan."""
    [total] = [share for share in totals.shares(plan) if share.by == "total"]
    holes = totals.to_bore(plan)
    sheets = sorted(plan.circuits, key=lambda sheet: (-round(sheet.drop_percent, 2), natural_key(sheet.circuit)))
    return Figures(
        feet=total.feet_to_buy,
        holes=len(holes),
        overhead=sum(map(is_overhead, holes)),
        plates=sum(len(bore.nail_plates) for bore in holes),
        money=_cents(plan.cost),
        drop_percent=_cents(sheets[0].drop_percent if sheets else 0.0),
        drop_circuit=sheets[0].circuit if sheets else "",
        unreached=plan.unreached,
        metric=plan.building.metric,
    )


def tried(building: Building, what_if: WhatIf, *, begin: Plan | None = None, talk: Talk | None = None) -> Tried:
    """Plan a what-if, and check the plan; one that the checker rejects is none.

    Raises
    ------
    SceneError
        As `plan_what_if`.
    """
    plan, faults = checked(plan_what_if(building, what_if, begin=begin, progress=talk))
    if faults:
        first = f"{faults[0].subject}: {faults[0].words}"
        return Tried(what_if=what_if, plan=None, why=f"the checker rejects its plan, a bug in barnloom: {first}")
    return Tried(what_if=what_if, plan=plan)


def compared(building: Building, talk: Talk) -> tuple[Chosen, ...]:
    """Plan a building in all ways that mean something in it, the scene's own first.

    Raises
    ------
    SceneError
        If it cannot be planned as the scene says. What only another way cannot do is told in its place.
    """
    found: list[Tried] = []
    for what_if in what_ifs():
        if not applies(what_if, building):
            continue
        talk(f"planning: {what_if.title}")
        begin = found[0].plan if found else None
        try:
            found.append(tried(building, what_if, begin=begin))
        except SceneError as error:
            if not found:
                raise
            found.append(Tried(what_if=what_if, plan=None, why=str(error.faults[0])))
    return chosen(building, found)


def comparison_text(building: Building, rows: Sequence[Chosen]) -> str:
    """Return the table, and under it a sentence for each way."""
    figures = [figures_of(row.plan) if row.plan is not None else None for row in rows]
    first = figures[0]
    lines = [(row.what_if.title, *(own.cells() if own else ())) for row, own in zip(rows, figures, strict=True)]
    more = [_more_cells(first, own) if own is not None and own is not first else () for own in figures]
    table = [_HEADS, *lines, *(("", *cells) for cells in more)]
    columns = [max((width(row[n]) for row in table if n < len(row)), default=0) for n in range(len(_HEADS))]
    words = "The same building planned in several ways, all counted with the prices of its scene."
    text = [*paragraph(building.title), words, ""]
    text.append(aligned(_HEADS, columns))
    for line, cells in zip(lines, more, strict=True):
        text.append(aligned(line, columns) if len(line) > 1 else f"{padded(line[0], columns[0])}  no plan")
        if cells:
            text.append(aligned(("", *cells), columns))
    text += ["", "The line under each is its difference to the first.", "", "WHAT EACH GIVES UP"]
    for row, own in zip(rows, figures, strict=True):
        sentences = " ".join(_sentences(row, own, first))
        text += paragraph(f"{row.what_if.title} ({row.what_if.how}): {sentences}", first="- ", later="  ")
    return "\n".join(text) + "\n"


def aligned(cells: Sequence[str], columns: Sequence[int], *, words: Iterable[int] = (0, 6)) -> str:
    """Return one line of a table: figures stand at the right of their columns, words at the left."""
    left = set(words)
    placed = (
        padded(cell, column) if n in left else " " * (column - width(cell)) + cell
        for n, (cell, column) in enumerate(zip(cells, columns, strict=False))
    )
    return _GAP.join(placed).rstrip()


def comparison_csv(rows: Sequence[Chosen]) -> str:
    """Return the comparison for a spreadsheet; lengths in feet, blank where there is no plan."""
    return csv_text(COLUMNS, _csv_rows(rows))


def comparison_json(building: Building, rows: Sequence[Chosen]) -> str:
    """Return the comparison for a program: the rows of the CSV file, each with its title."""
    ways = [
        {key: plain(value) for key, value in row.items()} | {"title": one.what_if.title, "how": one.what_if.how}
        for row, one in zip(_csv_rows(rows), rows, strict=True)
    ]
    return json.dumps({"title": building.title, "what_ifs": ways}, ensure_ascii=False, indent=1) + "\n"


def write_comparison(folder: Path, building: Building, rows: Sequence[Chosen]) -> None:
    """Write compare.txt, compare.csv and compare.json into a folder, and each plan into a folder of its own in it.

    Raises
    ------
    OutputError
        If that cannot be written.
    """
    for row in rows:
        if row.plan is not None:
            with staging(folder / row.what_if.id) as stage:
                (stage / "plan.json").write_bytes(plan_to_json(row.plan).encode("utf-8"))
    texts = {
        "compare.txt": comparison_text(building, rows),
        "compare.csv": comparison_csv(rows),
        "compare.json": comparison_json(building, rows),
    }
    with staging(folder) as stage:
        for name, text in texts.items():
            (stage / name).write_bytes(text.encode("utf-8"))


def _csv_rows(rows: Sequence[Chosen]) -> list[Row]:
    figures = [figures_of(row.plan) if row.plan is not None else None for row in rows]
    return [_csv_row(row, own, figures[0]) for row, own in zip(rows, figures, strict=True)]


def _csv_row(row: Chosen, own: Figures | None, first: Figures | None) -> Row:
    cells: Row = dict.fromkeys(COLUMNS)
    if own is not None:
        cells |= zip(COLUMNS[1:7], own.numbers(), strict=True)
        cells["drop_circuit"] = own.drop_circuit
        cells["not_reached"] = " ".join(own.unreached)
    if own is not None and first is not None:
        cells |= zip(COLUMNS[8:14], _more(first, own), strict=True)
    words = " ".join(_sentences(row, own, first))
    return cells | {"what_if": row.what_if.id, "found_by": row.found_by.id if own else "", "words": words}


def _more(first: Figures, own: Figures) -> tuple[Decimal, ...]:
    return tuple(b - a for a, b in zip(first.numbers(), own.numbers(), strict=True))


def _more_cells(first: Figures | None, own: Figures) -> tuple[str, ...]:
    if first is None:
        return ()
    feet, *counts, money, drop = _more(first, own)
    sign = "-" if feet < 0 else "+"
    drop = drop.quantize(TENTH) + 0  # no -0.0
    return (
        sign + totals.run_of(abs(feet), metric=own.metric),
        *(f"{count:+}" for count in counts),
        f"{money:+.2f}",
        f"{drop:+.1f}",
    )


def _sentences(row: Chosen, own: Figures | None, first: Figures | None) -> list[str]:
    """What a way gains and gives up against the first; what is to be known of how its plan was found."""
    said = []
    if own is None:
        return [f"no plan: {row.tried.why}."]
    if own is first:
        said.append("What the others are held against.")
    elif first is not None:
        said.append(_trade(first, own))
    if own.unreached:
        said.append(f"Not reached: {', '.join(own.unreached)}.")
    if row.plan is not None:
        feed_at = row.plan.building.wiring.feed_at
        otherwise = misfed_in(row.plan.building, row.plan.cables, feed_at)
        if otherwise:
            said.append(f"Not fed at the {feed_at}, as no such tree was found: {', '.join(otherwise)}.")
    if row.tried.plan is None:
        said.append(f"This is the plan of: {row.found_by.title}; its own search found none ({row.tried.why}).")
    elif row.found_by is not row.what_if:
        alone = figures_of(row.tried.plan)
        came = _sought_words(alone, row.what_if.seeks)
        if came == _sought_words(own, row.what_if.seeks):
            came = f"{came} too, for {alone.money:.2f} in money"
        said.append(f"Found by the search of: {row.found_by.title}; its own search came to {came}.")
    return said


def _trade(first: Figures, own: Figures) -> str:
    feet, holes, overhead, plates, money, drop = _more(first, own)
    either = first.overhead or own.overhead
    amounts = (
        (feet, f"{totals.run_of(abs(feet), metric=own.metric)} of cable"),
        (overhead, counted(abs(int(overhead)), "overhead hole")),
        (holes - overhead, counted(abs(int(holes - overhead)), "other hole" if either else "hole")),
        (plates, counted(abs(int(plates)), "nail plate")),
        (money, f"{abs(money):.2f} in money"),
        (drop.quantize(TENTH), f"{abs(drop):.1f} points of voltage drop"),
    )
    less, more = ([words for amount, words in amounts if amount * sign > 0] for sign in (-1, 1))
    if less and more:
        return f"{_anded(less)} less, for {_anded(more)} more."
    if less:
        return f"{_anded(less)} less, and nothing more."
    return f"{_anded(more)} more, and nothing less." if more else "It comes to the same."


def _sought_words(own: Figures, seeks: str) -> str:
    if seeks == "feet":
        return totals.run_of(own.feet, metric=own.metric)
    words = {"holes": counted(own.holes, "hole"), "overhead": counted(own.overhead, "overhead hole")}
    return words.get(seeks, f"{own.money:.2f} in money")


def _anded(words: Sequence[str]) -> str:
    return " and ".join(part for part in (", ".join(words[:-1]), words[-1]) if part)


def _cents(value: float) -> Decimal:
    return Decimal(f"{value:.6f}").quantize(CENT)


def plain(value: Any) -> Any:
    """A value as JSON has it: a whole number, or a number with its decimals."""
    if isinstance(value, Decimal):
        return int(value) if value == value.to_integral_value() else float(value)
    return value

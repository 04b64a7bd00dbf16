"""What every part measures with: times, the noise of the machine, and tables that are data as well."""

from __future__ import annotations

import os
import platform
import statistics
import textwrap
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any, TypeVar

WIDTH = 120
"""Most characters of a line."""
LOOP, LOOPS = 200_000, 25
"""Additions in the loop that the machine's noise is measured by, and how often it is timed."""
Result = TypeVar("Result")
Cell = str | int | float | None


@dataclass(frozen=True)
class Table:
    """Figures with what they say; a cell without a figure is None."""

    title: str
    head: tuple[str, ...]
    rows: list[list[Cell]]
    notes: list[str] = field(default_factory=list)

    def data(self) -> dict[str, Any]:
        """All of it as plain data, figures unrounded."""
        return asdict(self)

    def text(self) -> str:
        """All of it to be read: aligned columns, no line longer than ``WIDTH``."""
        lines = [self.title, ""]
        if self.rows:
            cells = [list(self.head), *([shown(cell) for cell in row] for row in self.rows)]
            wide = [max(len(row[k]) for row in cells) for k in range(len(self.head))]
            cells.insert(1, ["-" * width for width in wide])
            for row in cells:
                rest = (cell.rjust(width) for cell, width in zip(row[1:], wide[1:], strict=True))
                lines.append("  ".join([row[0].ljust(wide[0]), *rest]).rstrip())
            lines.append("")
        for note in self.notes:
            lines += textwrap.wrap(note, WIDTH, initial_indent="- ", subsequent_indent="  ")
        return "\n".join(lines).rstrip() + "\n"


def shown(cell: Cell) -> str:
    """A figure to be read: three digits, or two places from a hundred on; a dash for none."""
    if cell is None:
        return "-"
    if isinstance(cell, float):
        return f"{cell:,.2f}" if abs(cell) >= 100 else f"{cell:.3g}"
    return f"{cell:,}" if isinstance(cell, int) else cell


@dataclass(frozen=True)
class Spread:
    """Least, middle and most of several figures."""

    least: float
    middle: float
    most: float
    count: int


def spread(figures: Sequence[float]) -> Spread:
    """Least, median and most."""
    return Spread(min(figures), statistics.median(figures), max(figures), len(figures))


def timed(work: Callable[[], Result]) -> tuple[float, Result]:
    """Seconds that something takes, and what comes of it."""
    start = time.perf_counter()
    result = work()
    return time.perf_counter() - start, result


def times_of(work: Callable[[], object], times: int) -> Spread:
    """Seconds that something takes, several times over."""
    return spread([timed(work)[0] for _ in range(times)])


def noise() -> Spread:
    """Milliseconds that one and the same loop takes, time after time: on a quiet machine they are nearly equal."""

    def loop() -> int:
        total = 0
        for number in range(LOOP):
            total += number
        return total

    return spread([1000 * timed(loop)[0] for _ in range(LOOPS)])


def load() -> float | None:
    """Processes that wanted a core, on the average of the last minute; None where the system does not tell."""
    return os.getloadavg()[0] if hasattr(os, "getloadavg") else None


def machine(before: float | None, after: float | None, noises: dict[str, Spread]) -> Table:
    """Where it was measured, and how far a single figure can be trusted."""
    rows: list[list[Cell]] = [[part, one.least, one.middle, one.most] for part, one in noises.items()]
    best = min(one.least for one in noises.values())
    usual = statistics.median(one.middle for one in noises.values()) / best - 1
    worst = max(one.most for one in noises.values()) / best
    where = f"Python {platform.python_version()}, {platform.system()} {platform.machine()}, {os.cpu_count()} cores"
    return Table(
        "Machine",
        ("The same loop before each part, ms", "least", "median", "most"),
        rows,
        [
            f"{where}; load {shown(before)} before and {shown(after)} after.",
            f"At its best the loop takes {best:.3g} ms; the median is {100 * usual:.0f} % above that, the worst "
            f"{worst:.2g} times it: so far may a time that was measured once be off. Ratios are of one and the same "
            "run, and more steady; costs and counts are exact, the same in every run.",
        ],
    )

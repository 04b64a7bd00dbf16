"""Measure the planner: ``python tests/benchmarks/bench.py``. README.md beside this file says what the tables mean."""

from __future__ import annotations

import argparse
import datetime
import json
from collections.abc import Callable, Sequence
from pathlib import Path

import against_cubes
import against_exact
import against_plain
import against_scipy
import from_shell
import sizes
from growth import plot
from measuring import Table, load, machine, noise

HERE = Path(__file__).parent
README, PLOT = HERE / "README.md", HERE / "growth.svg"
BEGIN, END = "<!-- figures: begin -->", "<!-- figures: end -->"
PARTS = ("sizes", "command", "scipy", "cubes", "plain", "exact")


def main() -> None:
    """Measure what is asked for, and print it."""
    given = _arguments()
    before, noises = load(), {}
    tables: list[Table] = []
    for name in given.only:
        noises[name] = noise()
        for table in _part(name, given):
            tables.append(table)
            print(table.text(), flush=True)
    tables.insert(0, machine(before, load(), noises))
    print(tables[0].text())
    day = datetime.date.today().isoformat()
    if given.json:
        said = {"date": day, "tables": [table.data() for table in tables]}
        given.json.write_text(json.dumps(said, indent=1) + "\n")
    if given.write:
        _write(day, tables)


def _part(name: str, given: argparse.Namespace) -> Sequence[Table]:
    def of_sizes() -> Sequence[Table]:
        tables, lines = sizes.part(given.times, huge=given.huge, long=given.long, patience_s=given.patience)
        if given.write and any(lines.values()):
            PLOT.write_text(plot(lines))
        return tables

    parts: dict[str, Callable[[], Sequence[Table]]] = {
        "sizes": of_sizes,
        "command": lambda: from_shell.part(given.times, long=given.long),
        "scipy": lambda: against_scipy.part(given.times),
        "cubes": lambda: against_cubes.part(cube_in=given.cube_in, pairs=given.pairs),
        "plain": lambda: against_plain.part(long=given.long),
        "exact": lambda: against_exact.part(long=given.long),
    }
    return parts[name]()


def _write(day: str, tables: Sequence[Table]) -> None:
    """Put the tables between the two marks of the README; what stands around them stays."""
    text = README.read_text()
    head, rest = text.split(BEGIN)
    tail = rest.split(END)[1]
    body = "\n".join(table.text() for table in tables)
    README.write_text(f"{head}{BEGIN}\n\nMeasured on {day}.\n\n```text\n{body}```\n\n{END}{tail}")


def _arguments() -> argparse.Namespace:
    def chosen(text: str) -> list[str]:
        wrong = [name for name in text.split(",") if name not in PARTS]
        if wrong:
            msg = f"no part {', '.join(wrong)}: choose from {','.join(PARTS)}"
            raise argparse.ArgumentTypeError(msg)
        return text.split(",")

    said = argparse.ArgumentParser(description="Measure the planner, and print the figures.")
    said.add_argument("--only", type=chosen, default=list(PARTS), help=f"parts, of {','.join(PARTS)}")
    said.add_argument("--times", type=int, default=3, help="how often what is short is measured (3)")
    said.add_argument("--huge", action="store_true", help="4,000 boxes too, at quick effort")
    said.add_argument("--long", action="store_true", help="long effort too, once: takes many minutes")
    said.add_argument("--patience", type=float, default=1800, help="most seconds for one size (1800)")
    said.add_argument("--cube-in", type=float, default=1.0, help="size of a cube; coarser ones miss studs (1)")
    said.add_argument("--pairs", type=int, default=3, help="ways to look for among the cubes (3)")
    said.add_argument("--write", action="store_true", help="put the tables of this run, and the plot, into this folder")
    said.add_argument("--json", metavar="FILE", type=Path, help="write the tables as data")
    return said.parse_args()


if __name__ == "__main__":
    main()

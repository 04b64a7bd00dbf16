"""Running dimensions of rows: backwards, on top of each other, a member passed over, past the end."""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence
from itertools import pairwise
from statistics import median

from barnloom.model.framing.common import TAPE_IN
from barnloom.model.survey.finding import Finding
from barnloom.model.survey.parts import Row, Site

PASSED_OVER = 1.6
"""A gap of this many usual ones has room for a member that was passed over (own caution)."""
FEWEST = 3
"""Gaps from which one can say what is usual."""


def row_findings(site: Site) -> Iterator[Finding]:
    """Yield what does not close about every row of studs, joists and rafters."""
    for row in site.rows:
        yield from _row(site, row)
    for wall in site.walls.values():
        yield from _ends(site, wall.studs)


def member_words(row: Row, number: int) -> str:
    """What is measured of one member: "the near side of stud 7"."""
    return f"the {row.side} of {row.one} {number + 1}"


def _row(site: Site, row: Row) -> Iterator[Finding]:
    where = (*row.where, row.key)
    wrong = set()
    for number in _backwards(row.stations):
        wrong.add(number)
        before = row.stations[number - 1] if number else None
        said = row.stations[number]
        around = "" if before is None else f", after {site.text(before)} to {row.one} {number}"
        yield site.found(
            (*where, number),
            f"{row.one} {number + 1} of {row.of} at {site.text(said or 0.0)}{around}: running dimensions go backwards",
            "each farther from the hooked end than the one before",
            f"hook at {row.hook} and measure to {member_words(row, number)}",
            off_in=(before or 0.0) - (said or 0.0),
        )
    if row.breadth is None:
        return
    near = [(number, at) for number, at in enumerate(row.near) if number not in wrong]
    yield from _too_close(site, row, near)
    yield from _passed_over(site, row, near, wrong)
    last = next(((number, at) for number, at in reversed(near) if at is not None), None)
    if last is not None and last[1] is not None and row.length is not None:
        over = last[1] + row.breadth - row.length
        if over > TAPE_IN:
            yield site.found(
                (*where, last[0]),
                f"{row.one} {last[0] + 1} of {row.of} at {site.text(row.stations[last[0]] or 0.0)}: with its "
                f"{site.text(row.breadth)} it ends {site.text(over)} past the end",
                f"its far side at {site.text(row.length)} or before",
                f"hook at {row.hook} and measure to {member_words(row, last[0])}",
                off_in=over,
            )


def _backwards(stations: Sequence[float | None]) -> list[int]:
    """Numbers of the stations that break the order: of two that do, the one whose neighbours agree without it."""
    wrong: list[int] = []
    for number, (one, two) in enumerate(pairwise(stations), start=1):
        if one is None or two is None or two >= one or number - 1 in wrong:
            continue
        before = stations[number - 2] if number > 1 else None
        after = stations[number + 1] if number + 1 < len(stations) else None
        earlier = (before is None or before < two) and (after is not None and one > after)
        wrong.append(number - 1 if earlier else number)
    return wrong


def _too_close(site: Site, row: Row, near: Sequence[tuple[int, float | None]]) -> Iterator[Finding]:
    for (_, one), (number, two) in pairwise(near):
        if one is None or two is None or row.breadth is None or two - one >= row.breadth - 1 / 8:
            continue
        yield site.found(
            (*row.where, row.key, number),
            f"{row.one} {number + 1} of {row.of} begins {site.text(two - one)} after the one before, which is "
            f"{site.text(row.breadth)} wide",
            f"at least {site.text(row.breadth)} farther",
            f"hook at {row.hook} and measure to {member_words(row, number)}",
            off_in=row.breadth - (two - one),
        )


def _passed_over(
    site: Site, row: Row, near: Sequence[tuple[int, float | None]], wrong: Container[int]
) -> Iterator[Finding]:
    """Yield gaps that have room for a member that the list passed over."""
    pairs = [(one, two) for one, two in pairwise(near) if one[0] + 1 == two[0]]
    gaps = [(a, b) for (_, a), (_, b) in pairs if a is not None and b is not None]
    usual = [b - a for a, b in gaps if b - a > 2 * (row.breadth or 0.0)]
    if len(usual) < FEWEST:
        return
    step = median(usual)
    extra = [at for at in row.extra if at is not None]
    for (_, one), (number, two) in pairs:
        if one is None or two is None or two - one <= PASSED_OVER * step:
            continue
        if any(one < at < two for at in extra) or any(a < two and b > one for a, b in row.parted):
            continue
        if number - 2 in wrong or number + 1 in wrong:  # that one may well belong here
            continue
        low, high = (site.text(at or 0.0) for at in (row.stations[number - 1], row.stations[number]))
        yield site.found(
            (*row.where, row.key, number),
            f"{site.text(two - one)} between {row.one} {number} and {row.one} {number + 1} of {row.of}, where "
            f"{site.text(step)} is usual",
            f"likely a {row.one} between, near {site.text((row.stations[number - 1] or 0.0) + (two - one) / 2)}",
            f"hook at {row.hook} and measure to the {row.side} of what stands between {low} and {high}; "
            "if nothing does, write so beside it",
            off_in=two - one - step,
        )


def _ends(site: Site, row: Row) -> Iterator[Finding]:
    """Yield a wall whose last stud is not at its end: its length or that stud was misread."""
    near = row.near
    if len(near) < 2 or near[-1] is None or row.breadth is None or row.length is None:
        return
    left = row.length - near[-1] - row.breadth
    depths = [wall.depth for wall in site.walls.values() if wall.depth is not None]
    if left <= TAPE_IN or any(abs(left - depth) <= TAPE_IN for depth in depths):
        return
    yield site.found(
        (*row.where, row.key, len(near) - 1),
        f"the last stud of {row.of} ends {site.text(left)} before the wall's end",
        f"flush with the end at {site.text(row.length)}, or before it by the thickness of the wall it butts against",
        f"hook at {row.hook} and measure to the end of the wall's framing",
        off_in=left,
    )

"""Box fill: what each conductor, device, clamp and ground takes of a box's volume (NEC 314.16(B))."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from barnloom.model.electrical.tables import conductor_volume
from barnloom.model.limits import Limits, at_most


@dataclass(frozen=True, slots=True, kw_only=True)
class FillLine:
    """One contribution to the fill of a box."""

    what: str
    count: float
    """Allowances."""
    awg: int
    each_in3: float
    clause: str

    @property
    def total_in3(self) -> float:
        """Volume that it takes."""
        return self.count * self.each_in3


def fill_lines(
    *,
    conductors: Mapping[int, int],
    grounds: Sequence[int] = (),
    devices: Sequence[tuple[str, int, int]] = (),
    clamps_inside: bool = False,
    stud: bool = False,
    loops: Mapping[int, int] | None = None,
    fixture_wires: Mapping[int, int] | None = None,
    terminal_blocks: Sequence[int] = (),
    limits: Limits,
) -> tuple[FillLine, ...]:
    """
    Return what a box holds, one line for each contribution; what counts nothing has no line.

    Wire connectors, and conductors that never leave the box (pigtails), count nothing and are not given. Nor are the
    wires of a canopy (of a light, an alarm), up to four that are smaller than 14 AWG and their ground (314.16(B)(1),
    exception: from memory); leads of a machine or a heater that are joined in the box are conductors that enter it,
    those joined in its own housing are not.

    Parameters
    ----------
    conductors : mapping of int to int
        Insulated conductors that enter the box and end, are spliced, or pass through, by AWG.
    grounds : sequence of int
        AWG of each grounding conductor that enters.
    devices : sequence of (str, int, int)
        Id, yokes (or gangs, of a device wider than 2 in), and AWG of the largest conductor connected to it.
    clamps_inside : bool
        Whether a cable clamp is inside, one or many.
    stud : bool
        Whether a fixture stud or a hickey is inside.
    loops : mapping of int to int, optional
        Insulated conductors with an unbroken loop of 12 in or more, by AWG.
    fixture_wires : mapping of int to int, optional
        Wires of a light without such a canopy, by AWG.
    terminal_blocks : sequence of int
        AWG of the largest conductor that ends on each.
    limits : Limits
        Those of the group "fill".

    Raises
    ------
    TableError
        If a size has no volume in NEC Table 314.16(B), 18 to 6 AWG.

    Examples
    --------
    >>> from barnloom.model.limits import load_limits
    >>> lines = fill_lines(
    ...     conductors={12: 4}, grounds=[12, 12], devices=[("BENCH", 1, 12)], limits=Limits(load_limits())
    ... )
    >>> [(line.what, line.count, line.total_in3) for line in lines]
    [('conductors', 4.0, 9.0), ('BENCH', 2.0, 4.5), ('grounds', 1.0, 2.25)]
    """
    lines = []

    def add(what: str, count: float, awg: int, rule: str) -> None:
        if count:
            clause = limits.limit(rule).clause
            lines.append(FillLine(what=what, count=count, awg=awg, each_in3=conductor_volume(awg), clause=clause))

    looped, wired = loops or {}, fixture_wires or {}
    for what, entering, rule in (
        ("conductors", conductors, "fill.conductor"),
        ("unbroken loops", looped, "fill.loop"),
        ("wires of a light", wired, "fill.conductor"),
    ):
        for awg in sorted(entering):
            add(what, entering[awg] * limits[rule], awg, rule)
    present = [awg for entering in (conductors, looped, wired) for awg, count in entering.items() if count]
    largest = min([*present, *grounds], default=None)  # the less AWG, the larger
    if largest is not None:
        add("clamps inside", clamps_inside * limits["fill.clamps"], largest, "fill.clamps")
        add("fixture stud", stud * limits["fill.stud"], largest, "fill.stud")
    for device, yokes, awg in devices:
        add(device, yokes * limits["fill.yoke"], awg, "fill.yoke")
    if grounds:
        more = max(0.0, len(grounds) - limits["fill.grounds_free"]) * limits["fill.grounds_more"]
        add("grounds", limits["fill.grounds"] + more, min(grounds), "fill.grounds")
    for awg in terminal_blocks:
        add("terminal block", limits["fill.terminal_block"], awg, "fill.terminal_block")
    return tuple(lines)


def fits(fill_in3: float, volume_in3: float) -> bool:
    """Whether a box holds its fill: one exactly full does (NEC 314.16)."""
    return at_most(fill_in3, volume_in3)


def easy(fill_in3: float, volume_in3: float, limits: Mapping[str, float]) -> bool:
    """Whether a box is no fuller than this tool aims at (``fill.caution``)."""
    return at_most(fill_in3, limits["fill.caution"] * volume_in3)

"""Dressed sizes of softwood lumber: what a nominal 2x10 measures.

Minimum dressed (surfaced) sizes of the American softwood standard PS 20, dry (at most 19 % moisture) and green; tables
as printed at engineeringtoolbox.com/amp/softwood-lumber-standard-d_1270.html and
sizes.com/materials/lumberSoftDimen_US.htm.
"""

from __future__ import annotations

from barnloom.model.errors import InputError

_SIDE_DRY = {1: 0.75, 2: 1.5, 3: 2.5, 4: 3.5, 5: 4.5, 6: 5.5, 8: 7.25, 10: 9.25, 12: 11.25, 14: 13.25}
_SIDE_GREEN = {1: 25 / 32, 2: 1.5625, 3: 2.5625, 4: 3.5625, 5: 4.625, 6: 5.625, 8: 7.5, 10: 9.5, 12: 11.5, 14: 13.5}
_TIMBER_LEAST = 5
"""Both sides from here on: a timber, with a rule of its own."""
_TIMBER_MOST = 15


class LumberError(InputError):
    """A nominal size that the table does not hold."""


def dressed(nominal_breadth: int, nominal_depth: int, *, green: bool = False) -> tuple[float, float]:
    """
    Dressed breadth and depth (inches) of a nominal size, in the order given.

    Boards and dimension lumber (one side below 5) follow the table; timbers lose 1/2 in a side up to 6, and from 7 to
    15 they lose 3/4 in dry, 1/2 in green.

    Raises
    ------
    LumberError
        If the size is not in the table.

    Examples
    --------
    >>> dressed(2, 10), dressed(1, 6), dressed(6, 8), dressed(8, 8, green=True)
    ((1.5, 9.25), (0.75, 5.5), (5.5, 7.25), (7.5, 7.5))
    """
    sides = (nominal_breadth, nominal_depth)
    if min(sides) >= _TIMBER_LEAST:
        if max(sides) <= _TIMBER_MOST:
            breadth, depth = (side - (0.5 if green or side <= 6 else 0.75) for side in sides)
            return breadth, depth
    else:
        table = _SIDE_GREEN if green else _SIDE_DRY
        if all(side in table for side in sides):
            return table[nominal_breadth], table[nominal_depth]
    found = f"{nominal_breadth}x{nominal_depth}"
    raise LumberError(
        found,
        "a nominal size that the lumber table holds, like 2x10",
        f'write the measured section, like {nominal_breadth}" x {nominal_depth}"',
    )

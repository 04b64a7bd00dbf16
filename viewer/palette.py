"""One colour and one dash pattern for each circuit, the same in every picture, told apart in black and white too.

Colours: M. Okabe and K. Ito, "Color Universal Design" (2008), less its yellow, which is lost on white paper.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from barnloom.routing.plan import Plan
from barnloom.routing.store import natural_key

COLOURS = ("#0072b2", "#d55e00", "#009e73", "#000000", "#cc79a7", "#e69f00", "#56b4e9")
DASHES = ((), (5.0, 1.6), (1.5, 1.3), (6.0, 1.4, 1.2, 1.4), (3.0, 3.0), (6.0, 1.3, 1.2, 1.3, 1.2, 1.3))
"""On and off, in line widths. Not as many as colours, so that the two only repeat together after 42 circuits."""


@dataclass(frozen=True, slots=True)
class Style:
    """How a circuit's cables are drawn: ``#rrggbb``, and dashes in widths of the line."""

    colour: str
    dash: tuple[float, ...]
    thick: float = 1.0
    """Share of the usual width."""


QUIET = Style("#a6a6a6", (), 0.4)
"""Of circuits that a picture is not about."""


def styles(plan: Plan) -> Mapping[str, Style]:
    """
    Style of each circuit, by what `Cable.circuit` says (several ids together are one style of their own).

    In order of id, all the building's circuits first, so that a circuit keeps its style when others get or lose cables.
    """
    known = {circuit.id for circuit in plan.building.circuits}
    joint = {cable.circuit for cable in plan.cables} - known
    names = [*sorted(known, key=natural_key), *sorted(joint, key=natural_key)]
    return {name: Style(COLOURS[i % len(COLOURS)], DASHES[i % len(DASHES)]) for i, name in enumerate(names)}

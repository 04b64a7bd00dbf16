"""Two cables in place of a larger one: which nets go in which, so that the currents of each come to nought.

Nets that one load's current uses in a cable, out and back, have to stay in one sheath, for every load and so in every
position of the switches (NEC 300.3(B)). What carries no current may be in either.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import product

from barnloom.model.building import CableType
from barnloom.routing.wiring.nets import least_conductors

Parts = tuple[tuple[str, ...], tuple[str, ...]]


def parted(
    nets: Sequence[str], together: Iterable[set[str]], sold: Callable[[int], CableType | None]
) -> tuple[Parts, tuple[CableType, CableType]] | None:
    """Return the cheapest way to share nets out over two cables, and these; None if there is none.

    Parameters
    ----------
    nets : sequence of str
        All that go from box to box.
    together : iterable of sets of str
        Nets that stay in one sheath.
    sold : callable
        The single cable for so many insulated conductors, or None.

    Examples
    --------
    >>> two = CableType(id="14/2", width_in=0.4, thickness_in=0.2, price_ft=0.7, source="", conductors=2)
    >>> nets = ("line", "protected line B", "neutral", "protected neutral B")
    >>> loads = [{"line", "neutral"}, {"protected line B", "protected neutral B"}]
    >>> parted(nets, loads, lambda count: two if count < 3 else None)[0]
    (('line', 'neutral'), ('protected line B', 'protected neutral B'))
    """
    groups: list[set[str]] = [{net} for net in nets]
    for held in together:
        touched = [group for group in groups if group & held]
        groups = [group for group in groups if not group & held]
        if touched:
            groups.append(set().union(*touched))
    groups.sort(key=lambda group: min(nets.index(net) for net in group))
    best: tuple[tuple[float, tuple[int, ...]], Parts, tuple[CableType, CableType]] | None = None
    for sides in product((0, 1), repeat=max(len(groups) - 1, 0)):
        side = {net: where for group, where in zip(groups, (0, *sides), strict=True) for net in group}
        parts = tuple(tuple(net for net in nets if side[net] == where) for where in (0, 1))
        kinds = tuple(sold(least_conductors(part)) for part in parts)
        if not parts[1] or kinds[0] is None or kinds[1] is None:
            continue
        key = (round(kinds[0].price_ft + kinds[1].price_ft, 9), sides)
        if best is None or key < best[0]:
            best = (key, (parts[0], parts[1]), (kinds[0], kinds[1]))
    return None if best is None else best[1:]

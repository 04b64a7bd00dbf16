"""The cheapest tree that feeds every box of a circuit from its panel, for given prices of its cables."""

from __future__ import annotations

import numpy as np

from barnloom.routing.bound.compiled import cheapest_feeders
from barnloom.routing.slab import Floats, Ints

MUCH = 1e6
"""Money that decides how many arcs leave node 0, whatever else there is to pay."""
CHARGES = 30
"""Most charges for an arc from node 0 that are tried."""


def cheapest(price: Floats) -> Ints:
    """Feeder of every node in a cheapest arborescence from node 0.

    Parameters
    ----------
    price : (n, n) float
        Of the arc from row to column; infinite where there is none.

    Returns
    -------
    (n,) int
        Feeding node of each node; -1 for node 0.

    Raises
    ------
    ValueError
        If some node cannot be reached.

    Examples
    --------
    >>> inf = np.inf
    >>> cheapest(np.array([[inf, 5, 6], [inf, inf, 2], [inf, 1, inf]])).tolist()
    [-1, 0, 1]
    """
    cost = price.astype(np.float64).copy()
    np.fill_diagonal(cost, np.inf)
    cost[:, 0] = np.inf
    found = np.asarray(cheapest_feeders(cost))
    if (found[1:] < 0).any():
        message = "a box that no cable reaches"
        raise ValueError(message)
    return found


def cheapest_with(price: Floats, home_runs: int | None) -> tuple[float, Ints]:
    """A price that no arborescence with so many arcs from node 0 is below, and one that costs that or nearly.

    A charge for each arc from node 0 and as much taken off for each that there must be: the least price is then a bound
    for any charge, and as the cheapest arborescences have fewer such arcs the higher it is, the best one is closed in.

    Parameters
    ----------
    price : (n, n) float
        As for ``cheapest``.
    home_runs : int or None
        Arcs from node 0, one for each other node at most; None: any number.

    Returns
    -------
    (float, (n,) int)
        The price, infinite if there is no arborescence, and feeders.
    """
    n = len(price)
    wanted = min(home_runs or 0, n - 1)

    def charged(charge: float) -> tuple[float, Ints, int]:
        held = price.copy()
        held[0] += charge
        found = cheapest(held)
        value = float(held[found[1:], np.arange(1, n)].sum())
        return value - charge * wanted, found, int((found == 0).sum())

    try:
        best, chosen, runs = charged(MUCH if wanted == 1 else 0.0)
    except ValueError:
        return np.inf, np.full(n, -1, dtype=np.int64)
    if home_runs is None or wanted in (1, runs):
        return best, chosen
    way = 1.0 if runs > wanted else -1.0
    near, far, step = 0.0, np.inf, way
    for _ in range(CHARGES):
        charge = (near + far) / 2 if np.isfinite(far) else step
        value, found, runs = charged(charge)
        if value > best:
            best, chosen = value, found
        if runs == wanted:
            break
        if (runs - wanted) * way > 0:
            near, step = charge, 2 * charge
        else:
            far = charge
    return best, chosen

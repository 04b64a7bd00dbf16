"""The cheapest tree that feeds every box of a circuit from its panel, for given prices of its cables."""

from __future__ import annotations

import numpy as np

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
    n = len(price)
    cost = price.astype(np.float64).copy()
    np.fill_diagonal(cost, np.inf)
    cost[:, 0] = np.inf
    return np.array(_feeders(cost, 0), dtype=np.int64) if n > 1 else np.full(n, -1)


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
        feeders = cheapest(held)
        value = float(sum(held[feeders[v], v] for v in range(1, n)))
        return value - charge * wanted, feeders, int((feeders == 0).sum())

    try:
        best, feeders, runs = charged(MUCH if wanted == 1 else 0.0)
    except ValueError:
        return np.inf, np.full(n, -1, dtype=np.int64)
    if home_runs is None or wanted in (1, runs):
        return best, feeders
    way = 1.0 if runs > wanted else -1.0
    near, far, step = 0.0, np.inf, way
    for _ in range(CHARGES):
        charge = (near + far) / 2 if np.isfinite(far) else step
        value, found, runs = charged(charge)
        if value > best:
            best, feeders = value, found
        if runs == wanted:
            break
        if (runs - wanted) * way > 0:
            near, step = charge, 2 * charge
        else:
            far = charge
    return best, feeders


def _feeders(cost: Floats, root: int) -> list[int]:
    """Chu-Liu and Edmonds: take each node's cheapest arc; where these close a ring, shrink it and go on."""
    n = len(cost)
    feeder = [-1 if v == root else int(np.argmin(cost[:, v])) for v in range(n)]
    if any(v != root and not np.isfinite(cost[feeder[v], v]) for v in range(n)):
        message = "a box that no cable reaches"
        raise ValueError(message)
    ring = _ring(feeder, root)
    if not ring:
        return feeder
    inside = np.zeros(n, dtype=bool)
    inside[ring] = True
    outside = np.flatnonzero(~inside)
    new_root, size = int(np.searchsorted(outside, root)), len(outside) + 1
    members = np.array(ring)
    own = np.array([cost[feeder[v], v] for v in ring])
    small = np.full((size, size), np.inf)
    small[:-1, :-1] = cost[np.ix_(outside, outside)]
    into = cost[np.ix_(outside, members)] - own
    enter, leave = into.argmin(axis=1), cost[np.ix_(members, outside)].argmin(axis=0)
    small[:-1, -1] = into.min(axis=1)
    small[-1, :-1] = cost[np.ix_(members, outside)].min(axis=0)
    small[:, new_root] = np.inf
    np.fill_diagonal(small, np.inf)
    found = _feeders(small, new_root)
    for k, v in enumerate(outside):
        if v != root:
            feeder[v] = int(members[leave[k]]) if found[k] == size - 1 else int(outside[found[k]])
    by = found[-1]
    feeder[int(members[enter[by]])] = int(outside[by])
    return feeder


def _ring(feeder: list[int], root: int) -> list[int]:
    """Nodes of a ring that feeders close, if they close one."""
    state = [0] * len(feeder)
    state[root] = 2
    for begin in range(len(feeder)):
        way, at = [], begin
        while state[at] == 0:
            state[at] = 1
            way.append(at)
            at = feeder[at]
        if state[at] == 1:
            return way[way.index(at) :]
        for node in way:
            state[node] = 2
    return []

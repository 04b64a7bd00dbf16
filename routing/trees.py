"""Which box feeds which: the plain tree of a circuit, from prices of single cables.

A minimum spanning tree over pairwise prices, with as many cables leaving the panel as the circuit has home runs, what
the scene pins, and no box over its number of cables. Ties go by id.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

Pair = tuple[str, str]


def _key(a: str, b: str) -> Pair:
    return (a, b) if a < b else (b, a)


class _Parts:
    """Which boxes hang together already (union by id)."""

    def __init__(self, ids: Sequence[str]) -> None:
        self.parent = {i: i for i in ids}

    def root(self, box: str) -> str:
        while self.parent[box] != box:
            self.parent[box] = self.parent[self.parent[box]]
            box = self.parent[box]
        return box

    def join(self, a: str, b: str) -> bool:
        ra, rb = self.root(a), self.root(b)
        if ra == rb:
            return False
        self.parent[max(ra, rb)] = min(ra, rb)
        return True


def plain_tree(
    panel: str,
    boxes: Sequence[str],
    prices: Mapping[Pair, float],
    *,
    home_runs: int | None = 1,
    pins: Mapping[str, str] | None = None,
    cables_max: Mapping[str, int] | None = None,
) -> list[Pair]:
    """Feeds of a circuit as (feeding box, fed box), panel first.

    Parameters
    ----------
    boxes : sequence of str
        Boxes to connect, without the panel; all can be reached.
    prices : mapping of (id, id), ids in order, to money
        Missing pairs cannot be joined.
    home_runs : int or None
        Cables that leave the panel; None: as many as is cheapest.
    pins : mapping of fed box to feeding box
    cables_max : mapping of box to most cables in it

    Raises
    ------
    ValueError
        If what is pinned leaves no tree, or the panel has other home runs than asked for.

    Examples
    --------
    >>> plain_tree("P", ["a", "b"], {("P", "a"): 5.0, ("P", "b"): 6.0, ("a", "b"): 2.0})
    [('P', 'a'), ('a', 'b')]
    """
    most = dict(cables_max or {})
    parts = _Parts([panel, *boxes])
    degree = dict.fromkeys([panel, *boxes], 0)
    pinned = [_key(fed, feeder) for fed, feeder in sorted((pins or {}).items()) if fed in degree and feeder in degree]
    chosen: list[Pair] = []

    def take(a: str, b: str) -> None:
        parts.join(a, b)
        degree[a] += 1
        degree[b] += 1
        chosen.append(_key(a, b))

    def has_room(box: str) -> bool:
        return degree[box] < most.get(box, 10**9)

    for a, b in pinned:
        take(a, b)
    order = sorted(prices, key=lambda pair: (prices[pair], pair))
    any_number = home_runs is None
    for a, b in order:
        if (
            a in degree
            and b in degree
            and (any_number or panel not in (a, b))
            and has_room(a)
            and has_room(b)
            and parts.root(a) != parts.root(b)
        ):
            take(a, b)
    if not any_number:
        # Then the panel: first what hangs loose, then as many exchanges as there are further home runs.
        for a, b in order:
            loose = panel in (a, b) and a in degree and b in degree and parts.root(a) != parts.root(b)
            if loose and has_room(b if a == panel else a):
                take(a, b)
        while degree[panel] < (home_runs or 1):
            exchange = _best_exchange(panel, boxes, prices, chosen, set(pinned))
            if exchange is None:
                break
            added, removed = exchange
            chosen.remove(removed)
            chosen.append(added)
            for pair, step in ((added, 1), (removed, -1)):
                for end in pair:
                    degree[end] += step
    return _oriented(panel, chosen)


def _best_exchange(
    panel: str, boxes: Sequence[str], prices: Mapping[Pair, float], chosen: Sequence[Pair], pinned: set[Pair]
) -> tuple[Pair, Pair] | None:
    """Cheapest way to one more home run: a cable from the panel in, the dearest loose one of its ring out."""
    feeds = _oriented(panel, chosen)
    feeder = {fed: by for by, fed in feeds}
    best: tuple[float, Pair, Pair] | None = None
    for box in sorted(boxes):
        pair = _key(panel, box)
        if pair in chosen or pair not in prices:
            continue
        ring: list[Pair] = []
        at = box
        while at in feeder:
            ring.append(_key(at, feeder[at]))
            at = feeder[at]
        loose = [p for p in ring if p not in pinned and panel not in p]
        if loose:
            out = max(loose, key=lambda p: (prices[p], p))
            candidate = (prices[pair] - prices[out], pair, out)
            best = candidate if best is None or candidate < best else best
    return None if best is None else (best[1], best[2])


def _oriented(panel: str, chosen: Sequence[Pair]) -> list[Pair]:
    near: dict[str, list[str]] = {}
    for a, b in chosen:
        near.setdefault(a, []).append(b)
        near.setdefault(b, []).append(a)
    feeds: list[Pair] = []
    seen, queue = {panel}, [panel]
    while queue:
        box = queue.pop(0)
        for other in sorted(near.get(box, [])):
            if other not in seen:
                seen.add(other)
                feeds.append((box, other))
                queue.append(other)
    return feeds

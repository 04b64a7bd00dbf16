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
    """Which boxes hang together already (union by id), and by which of its boxes each part may still be fed."""

    def __init__(self, panel: str, ids: Sequence[str]) -> None:
        self.panel = panel
        self.parent = {i: i for i in (panel, *ids)}
        self.entries = {i: frozenset([i]) for i in (panel, *ids)}

    def root(self, box: str) -> str:
        while self.parent[box] != box:
            self.parent[box] = self.parent[self.parent[box]]
            box = self.parent[box]
        return box

    def entries_if(self, feeder: str, fed: str) -> frozenset[str]:
        """Boxes that may feed the two parts once one feeds the other; none: it turns something pinned round."""
        whole, part = self.entries[self.root(feeder)], self.entries[self.root(fed)]
        return whole if fed in part and fed != self.panel else frozenset()

    def join(self, a: str, b: str, entries: frozenset[str]) -> None:
        ra, rb = sorted((self.root(a), self.root(b)))
        self.parent[rb] = ra
        self.entries[ra] = entries


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
    parts = _Parts(panel, boxes)
    degree = dict.fromkeys([panel, *boxes], 0)
    pinned = [(feeder, fed) for fed, feeder in sorted((pins or {}).items()) if fed in degree and feeder in degree]
    chosen: list[Pair] = []

    def entries_if(a: str, b: str) -> frozenset[str]:
        either = parts.entries_if(a, b) | parts.entries_if(b, a)
        return either & {panel} or either

    def take(a: str, b: str, entries: frozenset[str]) -> None:
        parts.join(a, b, entries)
        degree[a] += 1
        degree[b] += 1
        chosen.append(_key(a, b))

    def has_room(box: str) -> bool:
        return degree[box] < most.get(box, 10**9)

    for feeder, fed in pinned:
        take(feeder, fed, parts.entries_if(feeder, fed))
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
            and entries_if(a, b)
        ):
            take(a, b, entries_if(a, b))
    if not any_number:
        # Then the panel: first what hangs loose, then as many exchanges as there are further home runs.
        for a, b in order:
            loose = panel in (a, b) and a in degree and b in degree and parts.root(a) != parts.root(b)
            if loose and has_room(b if a == panel else a) and entries_if(a, b):
                take(a, b, entries_if(a, b))
        while degree[panel] < (home_runs or 1):
            roomy = [box for box in boxes if has_room(box)]
            exchange = _best_exchange(panel, boxes, roomy, prices, chosen, {_key(*pair) for pair in pinned})
            if exchange is None:
                break
            added, removed = exchange
            chosen.remove(removed)
            chosen.append(added)
            for pair, step in ((added, 1), (removed, -1)):
                for end in pair:
                    degree[end] += step
    return turned(panel, chosen)


def _best_exchange(
    panel: str,
    boxes: Sequence[str],
    roomy: Sequence[str],
    prices: Mapping[Pair, float],
    chosen: Sequence[Pair],
    pinned: set[Pair],
) -> tuple[Pair, Pair] | None:
    """Cheapest way to one more home run: a cable from the panel in, the dearest loose one of its ring out."""
    feeds = turned(panel, chosen)
    feeder = {fed: by for by, fed in feeds}
    best: tuple[float, Pair, Pair] | None = None
    for box in sorted(boxes):
        pair = _key(panel, box)
        if pair in chosen or pair not in prices:
            continue
        ring: list[Pair] = []
        at = box
        # What lies between the new cable and the one taken out is fed the other way round then: nothing pinned may.
        while at in feeder and _key(at, feeder[at]) not in pinned:
            ring.append(_key(at, feeder[at]))
            at = feeder[at]
        loose = [p for p in ring if panel not in p and (box in roomy or box in p)]
        if loose:
            out = max(loose, key=lambda p: (prices[p], p))
            candidate = (prices[pair] - prices[out], pair, out)
            best = candidate if best is None or candidate < best else best
    return None if best is None else (best[1], best[2])


def turned(panel: str, feeds: Sequence[Pair]) -> list[Pair]:
    """Return a tree with every feed turned away from the panel, panel first."""
    near: dict[str, list[str]] = {}
    for one, other in feeds:
        near.setdefault(one, []).append(other)
        near.setdefault(other, []).append(one)
    found: list[Pair] = []
    seen, waiting = {panel}, [panel]
    for box in waiting:
        for other in sorted(near.get(box, ())):
            if other not in seen:
                seen.add(other)
                found.append((box, other))
                waiting.append(other)
    return found

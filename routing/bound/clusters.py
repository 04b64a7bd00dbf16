"""Sets of boxes of a circuit that lie together: some cable has to come into each from outside."""

from __future__ import annotations

import numpy as np

from barnloom.routing.slab import Floats, Truths


def clusters(apart: Floats) -> Truths:
    """Clusters of boxes by how far they are apart, (clusters, boxes + 1): all boxes first, then others of at least two.

    As boxes are joined, the nearest first, until all hang together: what has been joined at each time; and what hangs
    on each joint, seen from the panel.

    Parameters
    ----------
    apart : (boxes + 1, boxes + 1) float
        From one box to another, either way; the panel is 0.
    """
    count = len(apart)
    near = np.minimum(apart, apart.T)
    everything = np.arange(count) > 0
    found: dict[bytes, Truths] = {everything.tobytes(): everything}

    def take(members: Truths) -> None:
        if members.sum() > 1 and not members[0]:
            found.setdefault(members.tobytes(), members)

    part = np.arange(count)
    joints: list[tuple[int, int]] = []
    for one, other in _nearest_first(near):
        if part[one] != part[other]:
            part[part == part[other]] = part[one]
            joints.append((one, other))
            take(part == part[one])
    for left_out in range(len(joints)):
        part = np.arange(count)
        for number, (one, other) in enumerate(joints):
            if number != left_out:
                part[part == part[other]] = part[one]
        one, other = joints[left_out]
        take(part == part[other if part[one] == part[0] else one])
    return np.array(list(found.values()))


def _nearest_first(near: Floats) -> list[tuple[int, int]]:
    one, other = np.triu_indices(len(near), 1)
    order = np.lexsort((other, one, near[one, other]))
    kept = order[np.isfinite(near[one, other][order])]
    return list(zip(one[kept].tolist(), other[kept].tolist(), strict=True))

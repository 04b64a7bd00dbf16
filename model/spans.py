"""Which spans overlap, of many: found by sorting their ends, so that only those that do are ever looked at."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


def overlapping(a: Floats, b: Floats) -> tuple[Ints, Ints]:
    """
    Return the pairs (of a, of b) of spans that overlap or touch, in order of the first, then of the second.

    Parameters
    ----------
    a, b : (n, 2) and (m, 2) float
        From where to where; a span whose end comes before its start overlaps nothing that lies outside of the two.

    Examples
    --------
    >>> overlapping(np.array([[0.0, 2.0], [5.0, 6.0]]), np.array([[6.0, 9.0], [1.0, 5.0]]))
    (array([0, 1, 1]), array([1, 0, 1]))
    """
    rows, columns = _beginning_in(a, b[:, 0], "left")
    others, more = _beginning_in(b, a[:, 0], "right")
    rows, columns = np.concatenate([rows, more]), np.concatenate([columns, others])
    order = np.lexsort((columns, rows))
    return rows[order], columns[order]


def _beginning_in(spans: Floats, starts: Floats, side: Literal["left", "right"]) -> tuple[Ints, Ints]:
    """Pairs of a span and of a start in it; one at the span's own start counts if ``side`` is left."""
    order = np.argsort(starts)
    first = np.searchsorted(starts[order], spans[:, 0], side)
    counts = np.maximum(np.searchsorted(starts[order], spans[:, 1], "right") - first, 0)
    rows = np.repeat(np.arange(len(spans)), counts)
    return rows, order[np.arange(len(rows)) + np.repeat(first - np.cumsum(counts) + counts, counts)]

"""Where labels go, so that none covers another and few cover what is drawn: a greedy choice, with leader lines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from barnloom.viewer.drawing import Bounds, Point
from barnloom.viewer.solids import Floats

_TURNS = 24
_RINGS = (0.6, 1.2, 2.0, 3.0, 4.2, 5.6, 7.5, 10.0)
"""Distances tried between a label and what it names, in label heights; a longer leader could not be followed."""
_CELLS_PER_HEIGHT = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Something to be named: the size of its label, and the places it may point at, all as good as each other."""

    targets: tuple[Point, ...]
    width_in: float
    height_in: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where a label went: its rectangle, and what it points at."""

    left: float
    bottom: float
    right: float
    top: float
    target: Point

    @property
    def nearest(self) -> Point:
        """The point of the label's edge from which the leader goes to the target."""
        return (min(max(self.target[0], self.left), self.right), min(max(self.target[1], self.bottom), self.top))


def placed(
    labels: Sequence[Label],
    area: Bounds,
    *,
    busy: Floats,
    margin_in: float,
    leader_cost: float = 0.35,
    blocked: Floats | None = None,
) -> list[Spot | None]:
    """
    Place labels one after another, the first where it likes best.

    Parameters
    ----------
    labels : sequence of Label
        In order of importance.
    area : Bounds
        Labels stay inside.
    busy : (n, 2) float
        Points of what had better not be covered, evenly spread along it.
    margin_in : float
        Free edge that is kept between two labels.
    leader_cost : float
        Price of a leader as long as a label is high, in covered points.
    blocked : (n, 4) float, optional
        Left, bottom, right and top of what no label may cover.

    Returns
    -------
    list of Spot or None
        None where there is no free place for a label.
    """
    if not labels:
        return []
    cell = min(label.height_in for label in labels) / _CELLS_PER_HEIGHT
    covered = _Count(busy, area, cell)
    taken = np.empty((0, 4)) if blocked is None else blocked
    spots: list[Spot | None] = []
    for label in labels:
        targets, rectangles, far = _candidates(label)
        left, bottom, right, top = rectangles.T
        free = (left >= area.left) & (right <= area.right) & (bottom >= area.bottom) & (top <= area.top)
        if len(taken):
            l2, b2, r2, t2 = taken.T
            m = margin_in
            free &= ~(
                (left[:, None] < r2 + m)
                & (right[:, None] > l2 - m)
                & (bottom[:, None] < t2 + m)
                & (top[:, None] > b2 - m)
            ).any(axis=1)
        if not free.any():
            spots.append(None)
            continue
        price = covered.inside(rectangles) + leader_cost * far
        best = int(np.argmin(np.where(free, np.round(price, 6), np.inf)))
        taken = np.concatenate([taken, rectangles[best : best + 1]])
        sides = [float(side) for side in rectangles[best]]
        x, y = (float(value) for value in targets[best])
        spots.append(Spot(left=sides[0], bottom=sides[1], right=sides[2], top=sides[3], target=(x, y)))
    return spots


def _candidates(label: Label) -> tuple[Floats, Floats, Floats]:
    """Targets (n, 2), rectangles (n, 4) and leader lengths in label heights (n,) of every place to try."""
    turns = np.arange(_TURNS) * (2 * math.pi / _TURNS)
    ways = np.stack([np.cos(turns), np.sin(turns)], axis=-1)
    far = np.array(_RINGS)
    # The label's middle lies where its edge is `far` away from the target, in each direction.
    half = np.array([label.width_in, label.height_in]) / 2
    middle = ways[None] * (far[:, None, None] * label.height_in) + np.clip(ways * 2, -1, 1)[None] * half
    middle = middle.reshape(-1, 2)
    targets = np.repeat(np.array(label.targets), len(middle), axis=0)
    middles = targets + np.tile(middle, (len(label.targets), 1))
    rectangles = np.concatenate([middles - half, middles + half], axis=1)
    gap = np.maximum(np.abs(middles - targets) - half, 0)
    return targets, rectangles, np.hypot(*gap.T) / label.height_in


class _Count:
    """How many points lie in a rectangle, for many rectangles at once: a grid of running sums."""

    def __init__(self, points: Floats, area: Bounds, cell_in: float) -> None:
        self._corner = np.array([area.left, area.bottom])
        self._cell = cell_in
        self._shape = np.ceil(np.array([area.width_in, area.height_in]) / cell_in).astype(int) + 1
        at = ((points - self._corner) / cell_in).astype(int)
        at = at[((at >= 0) & (at < self._shape)).all(axis=1)]
        grid = np.zeros(self._shape + 1)
        np.add.at(grid, (at[:, 0] + 1, at[:, 1] + 1), 1.0)
        self._sums = grid.cumsum(axis=0).cumsum(axis=1)

    def inside(self, rectangles: Floats) -> Floats:
        """Points in each (left, bottom, right, top), to whole cells."""
        low = np.clip(np.floor((rectangles[:, :2] - self._corner) / self._cell).astype(int), 0, self._shape)
        high = np.clip(np.ceil((rectangles[:, 2:] - self._corner) / self._cell).astype(int), 0, self._shape)
        s = self._sums
        (left, b), (right, t) = low.T, high.T
        count: Floats = s[right, t] - s[left, t] - s[right, b] + s[left, b]
        return count

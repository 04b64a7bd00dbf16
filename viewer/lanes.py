"""Cables that lie on one line in a picture, drawn side by side so that each can be followed.

Real cables share bores and run one behind another. Each is given a lane: a small whole number of steps to the side by
which its whole line is moved.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from barnloom.viewer.solids import Floats

_DIRECTIONS = 180
"""Legs are compared within classes of direction, a degree wide."""
_MOST = 6


def lanes(lines: Sequence[Floats], *, step: Floats, apart_in: float, along_in: float) -> list[int]:
    """
    Give every line, one after another, the lane nearest the middle where it hides nothing that has a lane already.

    Parameters
    ----------
    lines : sequence of (n, 2) float
        Corners of each line on the picture's plane, inches; two or more.
    step : (2,) float
        How far a line is moved for lane 1; along no direction in which many lines run.
    apart_in : float
        Parallel legs nearer than this hide each other ...
    along_in : float
        ... if they run side by side for at least this far.

    Returns
    -------
    list of int
        0, 1, -1, 2, -2, ...; where none of the first few is free, the one where least is hidden.
    """
    placed = np.empty((0, 4))
    given = []
    for line in lines:
        legs = _legs(line, along_in)
        best, least = 0, np.inf
        for lane in (0, *(sign * k for k in range(1, _MOST + 1) for sign in (1, -1))):
            hidden = _hidden(_moved(legs, lane * step), placed, apart_in, along_in)
            if hidden < least:
                best, least = lane, hidden
            if not hidden:
                break
        given.append(best)
        placed = np.concatenate([placed, _moved(legs, best * step)])
    return given


def _legs(line: Floats, along_in: float) -> Floats:
    """Straight stretches, long enough to count, as (direction in degrees, level across it, from, to)."""
    ways = np.diff(line, axis=0)
    degrees = np.round(np.degrees(np.arctan2(ways[:, 1], ways[:, 0]))) % _DIRECTIONS
    moves = np.hypot(*ways.T) > 1e-9
    starts, ends, degrees = line[:-1][moves], line[1:][moves], degrees[moves]
    turns = np.concatenate([[True], degrees[1:] != degrees[:-1], [True]]).nonzero()[0]
    if not len(degrees):
        return np.empty((0, 4))
    direction = degrees[turns[:-1]]
    axis = np.stack([np.cos(np.radians(direction)), np.sin(np.radians(direction))], axis=-1)
    square = np.stack([-axis[:, 1], axis[:, 0]], axis=-1)
    first, last = starts[turns[:-1]], ends[turns[1:] - 1]
    at = np.sort(np.stack([(first * axis).sum(axis=1), (last * axis).sum(axis=1)], axis=-1), axis=1)
    legs = np.column_stack([direction, ((first + last) / 2 * square).sum(axis=1), at])
    return legs[legs[:, 3] - legs[:, 2] >= along_in]


def _moved(legs: Floats, by: Floats) -> Floats:
    turn = np.radians(legs[:, 0])
    across = by[1] * np.cos(turn) - by[0] * np.sin(turn)
    along = by[0] * np.cos(turn) + by[1] * np.sin(turn)
    return legs + np.column_stack([np.zeros(len(legs)), across, along, along])


def _hidden(legs: Floats, placed: Floats, apart_in: float, along_in: float) -> float:
    """Length of legs that lie on placed ones."""
    if not len(legs) or not len(placed):
        return 0.0
    shared = np.minimum(legs[:, None, 3], placed[:, 3]) - np.maximum(legs[:, None, 2], placed[:, 2])
    on = (legs[:, None, 0] == placed[:, 0]) & (np.abs(legs[:, None, 1] - placed[:, 1]) < apart_in)
    return float(shared[on & (shared >= along_in)].sum())

"""Cables that lie on one line in a picture, drawn side by side so that each can be followed.

Real cables share bores and run one behind another. Each is given a lane: a small whole number of steps to the side
by which its whole line is moved.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from barnloom.viewer.solids import Floats

_DIRECTIONS = 180
"""Legs are compared within classes of direction, a degree wide."""


def lanes(lines: Sequence[Floats], *, apart_in: float, along_in: float) -> list[int]:
    """
    Give every line the lane nearest the middle that no line it would hide, or be hidden by, has already.

    Parameters
    ----------
    lines : sequence of (n, 2) float
        Corners of each line on the picture's plane, inches; two or more.
    apart_in : float
        Parallel legs nearer than this hide each other ...
    along_in : float
        ... if they run side by side for at least this far.

    Returns
    -------
    list of int
        0, 1, -1, 2, -2, ...; earlier lines are nearer the middle.
    """
    hidden = _overlaps(lines, apart_in, along_in)
    taken: list[int] = []
    for i in range(len(lines)):
        used = {taken[j] for j in hidden[i] if j < i}
        lane = 0
        while lane in used:
            lane = -lane if lane > 0 else 1 - lane
        taken.append(lane)
    return taken


def _overlaps(lines: Sequence[Floats], apart_in: float, along_in: float) -> list[set[int]]:
    """For each line, the others that have a leg on one of its legs."""
    starts = np.concatenate([line[:-1] for line in lines]) if lines else np.empty((0, 2))
    ends = np.concatenate([line[1:] for line in lines]) if lines else np.empty((0, 2))
    owner = np.repeat(np.arange(len(lines)), [len(line) - 1 for line in lines])
    legs = ends - starts
    long = np.hypot(*legs.T) >= along_in
    starts, ends, owner, legs = starts[long], ends[long], owner[long], legs[long]
    angle = np.round(np.degrees(np.arctan2(legs[:, 1], legs[:, 0]))).astype(int) % _DIRECTIONS
    found: list[set[int]] = [set() for _ in lines]
    for direction in np.unique(angle):
        here = angle == direction
        turn = np.radians(direction)
        axis, square = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
        who = owner[here]
        s, e = starts[here] @ axis, ends[here] @ axis
        low, high = np.minimum(s, e), np.maximum(s, e)
        level = ((starts[here] + ends[here]) / 2) @ square
        for i in range(len(who)):
            close = (np.abs(level - level[i]) < apart_in) & (who != who[i])
            shared = np.minimum(high, high[i]) - np.maximum(low, low[i])
            for j in who[close & (shared >= along_in)]:
                found[who[i]].add(int(j))
                found[j].add(int(who[i]))
    return found

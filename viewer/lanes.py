"""Cables that lie on one line in a picture, drawn side by side so that each can be followed.

Real cables share bores and run one behind another. Every straight leg of a cable gets a lane: a small whole number of
steps to the side. Where legs of different lanes meet, the corner moves to where the moved legs meet.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from barnloom.viewer.solids import Floats, Ints

_DIRECTIONS = 180
"""Legs are compared within classes of direction, a degree wide."""
_MOST = 8
_MITRE = 0.25
"""Sine of the turn under which two legs are taken as going on straight, or straight back."""


def side_by_side(lines: Sequence[Floats], *, apart_in: float, along_in: float) -> list[Floats]:
    """
    Move the legs of lines off one another, earlier lines nearer to where they are.

    Parameters
    ----------
    lines : sequence of (n, 2) float
        Corners of each line on the picture's plane, inches; two or more.
    apart_in : float
        Distance between two lanes. Parallel legs nearer than this hide each other ...
    along_in : float
        ... if they run side by side for at least this far. Shorter legs are not moved.

    Returns
    -------
    list of (n, 2) float
        The same corners, moved. Where no lane near by is free, a leg takes the one where it hides least.
    """
    placed = np.empty((0, 4))
    moved = []
    for line in lines:
        legs, owner = _legs(line)
        shift = np.zeros(len(legs))
        for i in (legs[:, 3] - legs[:, 2] >= along_in).nonzero()[0]:
            tries = np.tile(legs[i], (2 * _MOST + 1, 1))
            tries[:, 1] += apart_in * _from_the_middle()
            hidden = _hidden(tries, placed, 0.9 * apart_in, along_in)
            best = int(np.argmin(hidden))
            shift[i] = tries[best, 1] - legs[i, 1]
            placed = np.concatenate([placed, tries[best : best + 1]])
        moved.append(_moved(line, legs[:, 0], shift, owner))
    return moved


def _from_the_middle() -> Floats:
    """0, 1, -1, 2, -2, ..."""
    return np.array([0.0, *(sign * k for k in range(1, _MOST + 1) for sign in (1.0, -1.0))])


def _legs(line: Floats) -> tuple[Floats, Ints]:
    """Straight legs as (direction in degrees, level across it, from, to), and the leg of each piece of line."""
    ways = np.diff(line, axis=0)
    degrees = np.round(np.degrees(np.arctan2(ways[:, 1], ways[:, 0]))) % _DIRECTIONS
    still = np.hypot(*ways.T) < 1e-9
    for i in still.nonzero()[0]:
        degrees[i] = degrees[i - 1] if i else degrees[~still][0] if not still.all() else 0.0
    owner = np.concatenate([[0], (degrees[1:] != degrees[:-1]).cumsum()]).astype(np.int64)
    legs = np.empty((owner[-1] + 1, 4))
    for leg in range(len(legs)):
        pieces = (owner == leg).nonzero()[0]
        points = line[pieces[0] : pieces[-1] + 2]
        turn = np.radians(degrees[pieces[0]])
        at = points @ [np.cos(turn), np.sin(turn)]
        level = (points @ [-np.sin(turn), np.cos(turn)]).mean()
        legs[leg] = degrees[pieces[0]], level, at.min(), at.max()
    return legs, owner


def _hidden(tries: Floats, placed: Floats, apart_in: float, along_in: float) -> Floats:
    """Length of each try that lies on placed legs."""
    shared = np.minimum(tries[:, None, 3], placed[:, 3]) - np.maximum(tries[:, None, 2], placed[:, 2])
    on = (tries[:, None, 0] == placed[:, 0]) & (np.abs(tries[:, None, 1] - placed[:, 1]) < apart_in)
    result: Floats = np.where(on & (shared >= along_in), shared, 0.0).sum(axis=1)
    return result


def _moved(line: Floats, degrees: Floats, shift: Floats, owner: Ints) -> Floats:
    """Corners of a line whose legs have moved sideways."""
    turn = np.radians(degrees)
    sideways = np.stack([-np.sin(turn), np.cos(turn)], axis=-1)
    before, after = np.concatenate([owner[:1], owner]), np.concatenate([owner, owner[-1:]])
    by = np.empty_like(line)
    for i, (a, b) in enumerate(zip(before, after, strict=True)):
        both = sideways[[a, b]]
        bends = abs(np.linalg.det(both)) > _MITRE
        by[i] = np.linalg.solve(both, shift[[a, b]]) if bends else (shift[[a, b]] @ both) / 2
    return line + by

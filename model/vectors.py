"""Places and directions in the world as plain tuples: sums, products, compass words, how far a member reaches."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from operator import mul

from barnloom.model.building import Member, Span, Vec

UP: Vec = (0.0, 0.0, 1.0)
COMPASS: Mapping[str, Vec] = {
    "east": (1.0, 0.0, 0.0),
    "north": (0.0, 1.0, 0.0),
    "west": (-1.0, 0.0, 0.0),
    "south": (0.0, -1.0, 0.0),
    "up": UP,
    "down": (0.0, 0.0, -1.0),
}
"""Directions by the words people have for them."""


def heading_vec(heading: str | float) -> Vec:
    """Return the level unit vector of a compass word or of degrees counter-clockwise from east.

    >>> heading_vec("north")
    (0.0, 1.0, 0.0)
    """
    right_angles = {0.0: "east", 90.0: "north", 180.0: "west", 270.0: "south"}
    word = heading if isinstance(heading, str) else right_angles.get(heading % 360.0)
    if word is not None:
        return COMPASS[word]
    turn = math.radians(float(heading))
    return (math.cos(turn), math.sin(turn), 0.0)


def left_of(direction: Vec) -> Vec:
    """Return the level unit vector a quarter turn counter-clockwise."""
    return (-direction[1] + 0.0, direction[0], 0.0)


def opposite(direction: Vec) -> Vec:
    """Return the vector the other way (without a negative zero)."""
    return (0.0 - direction[0], 0.0 - direction[1], 0.0 - direction[2])


def moved(place: Vec, *steps: tuple[Vec, float]) -> Vec:
    """Return the place reached from ``place`` by going each distance (inches) in each direction."""
    x, y, z = place
    for (dx, dy, dz), far in steps:
        x, y, z = x + dx * far, y + dy * far, z + dz * far
    return (x, y, z)


def dot(a: Sequence[float], b: Sequence[float]) -> float:
    """Return the scalar product."""
    product: float = sum(map(mul, a, b))
    return product


def minus(a: Vec, b: Vec) -> Vec:
    """Return a - b."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def compass(direction: Vec) -> str | None:
    """Return the compass word of a direction within half a degree of one ("up" and "down" too), else None.

    >>> compass((0.0, -1.0, 0.0))
    'south'
    """
    least = math.cos(math.radians(0.5))
    return next((word for word, axis in COMPASS.items() if dot(axis, direction) >= least), None)


def end_name(along: Vec, fallback: str = "start end") -> str:
    """Return what a person calls the end at along = 0: "south end", "bottom end", or ``fallback`` off the compass."""
    word = compass(opposite(along))
    return {"down": "bottom end", "up": "top end", None: fallback}.get(word, f"{word} end")


def reach(member: Member, origin: Vec, direction: Vec) -> Span:
    """Return from where to where a member lies along a direction from ``origin``."""
    start = dot(minus(member.origin, origin), direction)
    sizes = ((member.along, member.length_in), (member.bit, member.thickness_in), (member.across, member.depth_in))
    steps = [dot(axis, direction) * size for axis, size in sizes]
    return start + sum(step for step in steps if step < 0), start + sum(step for step in steps if step > 0)

"""Boxes and line segments as arrays: everything a cable must not go through, and which stretch is inside what."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from barnloom.model.building import Assembly, Box, Building, Member, Span, Vec

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Truths = NDArray[np.bool_]

HAIR_IN = 2e-6
"""A cable's own thickness counts nothing, but it is no line either: it is this far off a face that it runs along."""


@dataclass(frozen=True, eq=False, slots=True)
class Frames:
    """Right-angled axes with an origin: ``origin`` (n, 3), ``axes`` (n, 3, 3) one axis a row."""

    origin: Floats
    axes: Floats

    def local(self, which: Ints, points: Floats) -> Floats:
        """Return points (k, 3) in the axes of frames ``which`` (k,)."""
        result: Floats = np.einsum("kij,kj->ki", self.axes[which], points - self.origin[which])
        return result


@dataclass(frozen=True, eq=False, slots=True)
class Solids:
    """Boxes: spans ``low``, ``high`` (n, 3) in their own frames, ``world`` (n, 2, 3) the upright box round each."""

    kinds: tuple[str, ...]
    """ "member", "box" or "keep clear"."""
    names: tuple[str, ...]
    frames: Frames
    low: Floats
    high: Floats
    world: Floats

    def __len__(self) -> int:
        return len(self.names)


def member_axes(member: Member) -> tuple[Vec, Vec, Vec]:
    """Return a member's own axes, in the order of its coordinates."""
    return member.along, member.bit, member.across


def assembly_axes(assembly: Assembly) -> tuple[Vec, Vec, Vec]:
    """Return an assembly's own axes, in the order of its coordinates."""
    return assembly.u, assembly.v, assembly.w


def in_world(origin: Vec, axes: Sequence[Vec], place: Sequence[float]) -> Floats:
    """Return the world's coordinates (3,) of a place in a frame."""
    result: Floats = np.array(origin) + np.asarray(place, dtype=np.float64) @ np.array(axes)
    return result


Block = tuple[str, str, Vec, tuple[Vec, Vec, Vec], tuple[Span, Span, Span]]


def solids_of(building: Building) -> Solids:
    """Return everything in a building that a cable must not go through."""
    blocks: list[Block] = [
        ("member", member.id, member.origin, member_axes(member), (ply.along, ply.bit, ply.across))
        for member in building.members
        for ply in member.plies
    ]
    world: tuple[Vec, Vec, Vec] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    for solid in building.keep_clear:
        spans = ((solid.low[0], solid.high[0]), (solid.low[1], solid.high[1]), (solid.low[2], solid.high[2]))
        blocks.append(("keep clear", solid.id, (0.0, 0.0, 0.0), world, spans))
    hosts = {member.id: member_axes(member) for member in building.members}
    hosts.update({assembly.id: assembly_axes(assembly) for assembly in building.assemblies})
    blocks += [_body(box, hosts[box.host]) for box in building.boxes if box.kind != "stub" and box.host in hosts]
    return _stacked(blocks)


def _body(box: Box, axes: tuple[Vec, Vec, Vec]) -> Block:
    along, over, out = box.size_in
    sizes = (along, out, over) if box.side.endswith("bit") else (along, over, out)
    half = tuple(size / 2 for size in sizes)
    return ("box", box.id, box.at, axes, ((-half[0], half[0]), (-half[1], half[1]), (-half[2], half[2])))


def _stacked(blocks: Iterable[Block]) -> Solids:
    blocks = list(blocks)
    spans = np.array([block[4] for block in blocks], dtype=np.float64).reshape(-1, 3, 2)
    origin = np.array([block[2] for block in blocks], dtype=np.float64).reshape(-1, 3)
    axes = np.array([block[3] for block in blocks], dtype=np.float64).reshape(-1, 3, 3)
    middle = origin + np.einsum("ni,nij->nj", spans.mean(axis=2), axes)
    reach = np.einsum("ni,nij->nj", (spans[:, :, 1] - spans[:, :, 0]) / 2, np.abs(axes))
    return Solids(
        kinds=tuple(block[0] for block in blocks),
        names=tuple(block[1] for block in blocks),
        frames=Frames(origin, axes),
        low=spans[:, :, 0],
        high=spans[:, :, 1],
        world=np.stack([middle - reach, middle + reach], axis=1),
    )


def near_pairs(low: Floats, high: Floats, world: Floats) -> tuple[Ints, Ints]:
    """Return which boxes ``low`` to ``high`` (n, 3) come near which boxes ``world`` (m, 2, 3), as pairs of places."""
    order, rank = np.argsort(low[:, 0], kind="stable"), np.argsort(world[:, 0, 0], kind="stable")
    start, end = low[order, 0] - HAIR_IN, high[order, 0] + HAIR_IN
    begin, stop = world[rank, 0, 0], world[rank, 1, 0]
    # Along x either the one begins in the other, or the other begins later in the one.
    a, inner = _ranges(np.searchsorted(begin, start, "left"), np.searchsorted(begin, end, "right"))
    b, outer = _ranges(np.searchsorted(start, begin, "right"), np.searchsorted(start, stop, "right"))
    a, b = np.concatenate([a, outer]), np.concatenate([inner, b])
    pairs = np.lexsort((b, a))
    first, second = order[a[pairs]], rank[b[pairs]]
    near = np.all(
        (world[second, 0, 1:] <= high[first, 1:] + HAIR_IN) & (world[second, 1, 1:] >= low[first, 1:] - HAIR_IN), axis=1
    )
    return first[near], second[near]


def _ranges(first: Ints, last: Ints) -> tuple[Ints, Ints]:
    """Return every number from ``first`` (n,) up to ``last`` (n,), and of which of the n ranges it is one."""
    counts = np.maximum(last - first, 0)
    which = np.repeat(np.arange(len(counts)), counts)
    return which, np.arange(len(which)) + np.repeat(first - np.cumsum(counts) + counts, counts)


def product(a: Sequence[float], b: Sequence[float]) -> float:
    """Return the scalar product of two directions."""
    return math.fsum(p * q for p, q in zip(a, b, strict=True))


def stretches(start: Floats, end: Floats, low: Floats, high: Floats) -> Floats:
    """
    Return the stretch of each segment that is strictly inside a box; it starts after its end where there is none.

    Parameters
    ----------
    start, end : (..., 3) float
        Ends of the segments, each in its box's own axes.
    low, high : (..., 3) float
        Spans of the boxes.

    Returns
    -------
    (..., 2) float
        Start and end of the stretch, as shares of the segment.
    """
    step = end - start
    level = np.abs(step) < 1e-12
    with np.errstate(divide="ignore", invalid="ignore"):
        one, other = (low - start) / step, (high - start) / step
    inside = (start > low) & (start < high)
    one = np.where(level, np.where(inside, -np.inf, np.inf), one)
    other = np.where(level, np.where(inside, np.inf, -np.inf), other)
    enters = np.where(level, one, np.minimum(one, other)).max(axis=-1)
    leaves = np.where(level, other, np.maximum(one, other)).min(axis=-1)
    result: Floats = np.stack([np.maximum(enters, 0.0), np.minimum(leaves, 1.0)], axis=-1)
    return result


def distances(points: Floats, low: Floats, high: Floats) -> Floats:
    """Return the distance of points (..., 3) from boxes, each in its box's own axes; 0 inside."""
    beyond = np.maximum(np.maximum(low - points, points - high), 0.0)
    result: Floats = np.sqrt(np.sum(beyond * beyond, axis=-1))
    return result

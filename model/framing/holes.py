"""Holes in floors: whether they fit, where their trimmers and headers stand, and how they cut the joists."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from barnloom.model.building import Span
from barnloom.model.errors import Fault
from barnloom.model.framing.common import SAME_IN, Context, Place
from barnloom.model.framing.pieces import lap_in
from barnloom.model.scene.schema import FloorOpening

Pack = tuple[float, int]
"""Near face (inches) and number of plies."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """A floor as a hole needs it, inches: its size across (u) and along (v) its joists, and a joist's breadth.

    ``run`` is from where to where joists go, ``stops`` are the flush girders, both along v.
    """

    extent_u: float
    extent_v: float
    breadth: float
    run: Span
    stops: tuple[Span, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A hole in its floor's axes, with the packs round it; ``cut`` is what joists lose to it along v."""

    id: str
    u: Span
    v: Span
    cut: Span
    trimmers: tuple[Pack, Pack]
    headers: tuple[Pack, ...]
    """None at an end where the hole reaches a rim, a flush girder, or the end of joists without a rim."""


def gaps(
    openings: Mapping[str, FloorOpening], ground: Ground, *, where: Place, swap: bool, context: Context
) -> tuple[list[Gap], tuple[Fault, ...]]:
    """
    Return the holes of a floor and what is wrong with them.

    Parameters
    ----------
    swap : bool
        True where the joists run along the floor's width, so that (width, depth) are (v, u).

    Notes
    -----
    Trimmers stand just outside a hole's sides, headers just outside its ends. Where the edge of the floor leaves no
    room for all trimmers, the hole has to adjoin as many as there is room for: beside an end joist, that one.
    """
    found: list[Gap] = []
    faults: list[Fault] = []
    for name, said in openings.items():
        place = (*where, name)
        u, v = ((said.at[axis], said.at[axis] + said.size[axis]) for axis in ((1, 0) if swap else (0, 1)))
        slips = list(_outside(u, v, ground, place, swap=swap, context=context))
        if not slips and any(lap_in(v, stop) > SAME_IN for stop in ground.stops):
            do = "end the hole at the girder, or take the girder out of the floor"
            slips = [Fault(place, "a hole across a flush girder", "one between girders", do)]
        if not slips:
            slips = list(_tight(u, v, ground, said, place, context))
        if slips:
            faults += slips
            continue
        sides = [_plies(room, ground.breadth, said.trimmers, 1) or 0 for room in _side_rooms(u, ground)]
        ends = [_plies(room, ground.breadth, said.headers, 0) or 0 for room in _end_rooms(v, ground)]
        cut = (v[0] - ends[0] * ground.breadth, v[1] + ends[1] * ground.breadth)
        found.append(
            Gap(
                id=name,
                u=u,
                v=v,
                cut=cut,
                trimmers=((u[0] - sides[0] * ground.breadth, sides[0]), (u[1], sides[1])),
                headers=tuple((near, plies) for near, plies in ((cut[0], ends[0]), (v[1], ends[1])) if plies),
            )
        )
    return found, (*faults, *_crowded(found, ground.breadth, where))


def same_pack(a: Pack, b: Pack) -> bool:
    """Return whether two packs are one."""
    return abs(a[0] - b[0]) <= SAME_IN and a[1] == b[1]


def _plies(room: float, breadth: float, wanted: int, fewest: int) -> int | None:
    """Return how many plies stand in a room (inches) beside a hole: all wanted, or fewer that just fill it, or None."""
    if wanted * breadth <= room + SAME_IN:
        return wanted
    return next((few for few in range(fewest, wanted) if abs(room - few * breadth) <= SAME_IN), None)


def _side_rooms(u: Span, ground: Ground) -> Span:
    return (u[0], ground.extent_u - u[1])


def _end_rooms(v: Span, ground: Ground) -> Span:
    """Return how much of the joists is left between a hole's ends and what stops them."""
    low = max([ground.run[0], *(stop[1] for stop in ground.stops if stop[1] <= v[0] + SAME_IN)])
    high = min([ground.run[1], *(stop[0] for stop in ground.stops if stop[0] >= v[1] - SAME_IN)])
    return (v[0] - low, high - v[1])


def _outside(u: Span, v: Span, ground: Ground, place: Place, *, swap: bool, context: Context) -> Iterator[Fault]:
    """Yield a fault for each direction in which a hole leaves its floor."""
    directions = ("depth", "width") if swap else ("width", "depth")
    for word, span, extent in zip(directions, (u, v), (ground.extent_u, ground.extent_v), strict=True):
        if span[0] < -SAME_IN or span[1] > extent + SAME_IN or span[1] - span[0] <= SAME_IN:
            found = f"a hole from {context.text(span[0])} to {context.text(span[1])} of the floor's {word}"
            do = "measure its nearest corner from the datum corner, and its size, as (width, depth)"
            yield Fault(place, found, f"within the floor, 0 to {context.text(extent)}", do)


def _tight(u: Span, v: Span, ground: Ground, said: FloorOpening, place: Place, context: Context) -> Iterator[Fault]:
    """Yield a fault for each side of a hole where its trimmers or headers have no room."""
    cases = (
        ("trimmers", _side_rooms(u, ground), said.trimmers, 1, "the floor's edge"),
        ("headers", _end_rooms(v, ground), said.headers, 0, "what the joists end at (rim, flush girder or edge)"),
    )
    for word, rooms, wanted, fewest, beside in cases:
        for which, room in zip(("nearer", "farther"), rooms, strict=True):
            if _plies(room, ground.breadth, wanted, fewest) is None:
                needed = context.text(wanted * ground.breadth)
                exact = " or ".join(context.text(few * ground.breadth) for few in range(fewest, wanted))
                found = f"{context.text(room)} between its side {which} to the datum corner and {beside}"
                do = f"move or size the hole so, or say fewer {word}"
                expected = f"{needed} for its {word}" + (f", or exactly {exact}" if exact else "")
                yield Fault((*place, "at"), found, expected, do)


def _crowded(found: Sequence[Gap], breadth: float, where: Place) -> Iterator[Fault]:
    """Yield a fault for each two holes that overlap or whose trimmers do, unless they share the same ones."""
    for a, b in combinations(found, 2):
        over = lap_in(a.u, b.u) > SAME_IN and lap_in(a.cut, b.cut) > SAME_IN
        spans = [
            (lap_in(_over(own, breadth), _over(its, breadth)), same_pack(own, its))
            for own in a.trimmers
            for its in b.trimmers
        ]
        if over or any(overlap > SAME_IN and not same for overlap, same in spans):
            what = "overlaps" if over else "has trimmers in the way of those of"
            expected = "holes clear of each other with their trimmers and headers, or with the same trimmers"
            yield Fault((*where, b.id), f"a hole that {what} {a.id}", expected, "measure both again, or make them one")


def _over(pack: Pack, breadth: float) -> Span:
    return (pack[0], pack[0] + pack[1] * breadth)

"""Which hole and which cable of one plan is which of another: what lies where it lay is the same, whatever its id."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from typing import TypeVar

from barnloom.model.building import Member
from barnloom.model.limits import at_least
from barnloom.model.vectors import dot
from barnloom.routing.plan import Bore, Cable, Plan
from barnloom.routing.store import natural_key

Thing = TypeVar("Thing", Bore, Cable)
Key = TypeVar("Key", bound=Hashable)


def same(one: float, other: float, grid_in: float) -> bool:
    """Whether two lengths are one on paper: less than a step of the print grid apart (inches)."""
    return not at_least(abs(one - other), grid_in)


def hole_pairs(old: Plan, new: Plan, grid_in: float) -> list[tuple[Bore, Bore]]:
    """
    Holes that both plans have.

    Of each member, first those at the same place, the nearest first; then, of the others, those with the same id,
    which have moved.
    """
    before, after = members_of(old), members_of(new)
    olds, news = _grouped(old.bores, lambda bore: bore.member), _grouped(new.bores, lambda bore: bore.member)
    pairs: list[tuple[Bore, Bore]] = []
    for name in olds:
        if name in news and name in before and name in after:
            pairs += _in_member(before[name], after[name], olds[name], news[name], grid_in)
    return pairs


def cable_pairs(old: Plan, new: Plan) -> list[tuple[Cable, Cable]]:
    """
    Cables that both plans have.

    First those with the same id and ends; then those of one type between the same ends, whatever they are called now;
    then those with the same id.
    """

    def ends(cable: Cable) -> frozenset[str]:
        return frozenset((cable.from_box, cable.to_box))

    pairs: list[tuple[Cable, Cable]] = []
    olds, news = list(old.cables), list(new.cables)
    for key in (
        lambda cable: (cable.id, ends(cable)),
        lambda cable: (cable.type, ends(cable)),
        lambda cable: cable.id,
    ):
        found = list(_alike(olds, news, key))
        pairs += found
        olds = [cable for cable in olds if not any(cable is one for one, _ in found)]
        news = [cable for cable in news if not any(cable is one for _, one in found)]
    return pairs


def carried_over(bore: Bore, was: Member, now: Member) -> tuple[float, float]:
    """Return along and across of an old hole as the new plan measures them, which may hook on the other end or face."""
    along = was.length_in - bore.along_in if dot(was.along, now.along) < 0 else bore.along_in
    across = was.depth_in - bore.across_in if dot(was.across, now.across) < 0 else bore.across_in
    return along, across


def members_of(plan: Plan) -> Mapping[str, Member]:
    """Members by id."""
    return {member.id: member for member in plan.building.members}


def _in_member(
    was: Member, now: Member, olds: Sequence[Bore], news: Sequence[Bore], grid_in: float
) -> Iterator[tuple[Bore, Bore]]:
    near = []
    for one in olds:
        along, across = carried_over(one, was, now)
        for other in news:
            if same(along, other.along_in, grid_in) and same(across, other.across_in, grid_in):
                apart = round(math.hypot(along - other.along_in, across - other.across_in), 6)
                near.append((one.id != other.id, apart, sorted((one.id, other.id)), one, other))
    near.sort(key=lambda pair: pair[:3])
    left, right = list(olds), list(news)
    for *_, one, other in near:
        if one in left and other in right:
            left.remove(one)
            right.remove(other)
            yield one, other
    yield from _alike(left, right, lambda bore: bore.id)


def _alike(
    olds: Sequence[Thing], news: Sequence[Thing], key: Callable[[Thing], Hashable]
) -> Iterator[tuple[Thing, Thing]]:
    """Pair what has the same key; where several have it, in order of id."""
    others = _grouped(news, key)
    for name, group in _grouped(olds, key).items():
        yield from zip(_by_id(group), _by_id(others.get(name, [])), strict=False)


def _by_id(group: list[Thing]) -> list[Thing]:
    return sorted(group, key=lambda thing: natural_key(thing.id))


def _grouped(things: Sequence[Thing], key: Callable[[Thing], Key]) -> dict[Key, list[Thing]]:
    groups: dict[Key, list[Thing]] = defaultdict(list)
    for thing in things:
        groups[key(thing)].append(thing)
    return dict(groups)

"""What if: the same building planned by other prices, or with power at the switch or at the light; counted alike.

A what-if is data (``whatifs.toml``). Its prices steer the search and nothing else: the plan that is found is counted
with the scene's own, and is a plan of the scene like any other.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from functools import cache
from pathlib import Path

from barnloom.model.building import Building, CableType
from barnloom.model.errors import InputError
from barnloom.model.prices import HOLES, default_prices
from barnloom.routing.cost import OVERHEAD_POSES, is_overhead, plan_cost
from barnloom.routing.job import Talk
from barnloom.routing.plan import Plan
from barnloom.routing.planner import plan_building
from barnloom.routing.wiring.entry import entries, misfed_in

GROUPS: Mapping[str, Iterable[str]] = {"holes": HOLES, "overhead holes": sorted(OVERHEAD_POSES)}
"""Names that stand for several prices."""
SAME = 6
"""Decimals to which two plans are compared."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """Another way to plan a building; ``whatifs.toml`` says what its fields do."""

    id: str
    title: str
    seeks: str
    """"money", "feet", "holes" or "overhead"."""
    how: str
    prices: Mapping[str, float] = field(default_factory=dict)
    rest: float = 1.0
    feed_at: str = ""
    """"switch", "light", or as the scene says."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """What the search of a what-if came to: a plan, or why there is none."""

    what_if: WhatIf
    plan: Plan | None
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """The plan of a what-if: the best for what it seeks of all that were found; None if none was."""

    what_if: WhatIf
    plan: Plan | None
    tried: Tried
    """What its own search came to."""
    found_by: WhatIf
    """The one whose search found the plan."""


@cache
def what_ifs() -> tuple[WhatIf, ...]:
    """All what-ifs, the scene as it is first."""
    text = Path(__file__).with_name("whatifs.toml").read_text(encoding="utf-8")
    return tuple(WhatIf(id=name, **said) for name, said in tomllib.loads(text).items())


def what_if_named(name: str) -> WhatIf:
    """
    Return a what-if by its id.

    Raises
    ------
    InputError
        If there is none of that name.
    """
    known = {one.id: one for one in what_ifs()}
    if name not in known:
        near = get_close_matches(name, known, n=1, cutoff=0.4)
        found = f"the what-if {name!r}"
        raise InputError(found, "one of " + ", ".join(known), f"did you mean {near[0]}?" if near else "")
    return known[name]


def applies(what_if: WhatIf, building: Building) -> bool:
    """Whether a what-if means anything in a building: where power comes to first needs a light that has a switch."""
    devices = {device.id: device for device in building.devices}
    return not what_if.feed_at or bool(entries(what_if.feed_at, building.controls, devices))


def plan_what_if(
    building: Building, what_if: WhatIf, *, begin: Plan | None = None, progress: Talk | None = None
) -> Plan:
    """Plan a building by the prices of a what-if, and count that plan with the scene's own.

    The plan's building is the scene's, but for where power comes to first, if the what-if says that. A lower bound is
    kept only where the search went by the scene's own prices.

    Parameters
    ----------
    begin : Plan, optional
        Of the same building: its trees are among those to begin with, and its holes keep their ids.

    Raises
    ------
    SceneError
        As `plan_building`.
    """
    own = _fed(building, what_if)
    steering = _steering(own, what_if)
    if steering is own:
        return plan_building(own, earlier=begin, progress=progress)
    # What is proven of other prices says nothing of the scene's, and many looks at what they steer to gain little.
    plan = plan_building(steering, earlier=begin, effort="quick", progress=progress)
    parts = plan_cost(own, plan.cables, plan.bores, plan.makeups)
    return replace(plan, building=own, cost=round(sum(parts.values()), 6), cost_parts=parts, lower_bound=None)


def chosen(building: Building, tried: Sequence[Tried]) -> tuple[Chosen, ...]:
    """Return for each what-if the best plan for what it seeks, whichever search found it: no search finds all.

    First come plans that reach most boxes, then those that feed controls as they should, then what is sought, then
    money. So none of the plans is beaten by another one in what it is to be best at.

    Parameters
    ----------
    tried : sequence of Tried
        Their plans are sound plans of this building, as `plan_what_if` returns them.
    """
    return tuple(_best(_fed(building, one.what_if), one, tried) for one in tried)


def _best(building: Building, own: Tried, tried: Sequence[Tried]) -> Chosen:
    feed_at = building.wiring.feed_at
    like = [own, *(other for other in tried if other is not own and _keeps(other.plan, feed_at))]
    ranks = [(_rank(one.plan, own.what_if.seeks, feed_at), n) for n, one in enumerate(like) if one.plan is not None]
    best = like[min(ranks)[1]] if ranks else own
    plan = None if best.plan is None else replace(best.plan, building=building)
    return Chosen(what_if=own.what_if, plan=plan, tried=own, found_by=best.what_if)


def _keeps(plan: Plan | None, feed_at: str) -> bool:
    """Whether a plan brings power where it was to, and also where another plan wants it."""
    if plan is None:
        return False
    return not any(misfed_in(plan.building, plan.cables, rule) for rule in (plan.building.wiring.feed_at, feed_at))


def sought(plan: Plan, seeks: str) -> float:
    """How much of what a what-if wants least of a plan has: money, feet (cut, in inches), new holes, overhead ones."""
    if seeks == "money":
        return plan.cost
    if seeks == "feet":
        return sum(cable.cut_in for cable in plan.cables if not cable.done)
    return sum(seeks == "holes" or is_overhead(bore) for bore in plan.bores if not bore.existing)


def _rank(plan: Plan, seeks: str, feed_at: str) -> tuple[float, ...]:
    misfed = len(misfed_in(plan.building, plan.cables, feed_at))
    return len(plan.unreached), misfed, round(sought(plan, seeks), SAME), round(plan.cost, SAME)


def _fed(building: Building, what_if: WhatIf) -> Building:
    """The building with power where a what-if wants it."""
    if what_if.feed_at in ("", building.wiring.feed_at):
        return building
    return replace(building, wiring=replace(building.wiring, feed_at=what_if.feed_at))


def _steering(building: Building, what_if: WhatIf) -> Building:
    """The building with the prices that a search goes by."""
    if not what_if.prices and what_if.rest == 1.0:
        return building
    usual = default_prices()
    # A scene may count nothing but cable: work has to cost something where there is to be less of it.
    prices = building.prices | {"minute": building.prices["minute"] or usual["minute"]}
    for name, value in what_if.prices.items():
        prices |= dict.fromkeys(GROUPS.get(name, (name,)), value)
    if what_if.rest == 1.0:
        return replace(building, prices=prices)
    return replace(
        building,
        prices=prices | {key: what_if.rest * prices[key] for key in ("minute", *_MATERIAL)},
        cable_types=_alike(building.cable_types, what_if.rest),
        box_types=tuple(replace(kind, price=what_if.rest * kind.price) for kind in building.box_types),
    )


_MATERIAL = ("staple_each", "nail_plate_each", "board_ft", "cover_ft")
"""Prices in money."""


def _alike(types: Sequence[CableType], rest: float) -> tuple[CableType, ...]:
    """Cables that all cost what the dearest does, and a little of their own price, which breaks ties."""
    dearest = max((kind.price_ft for kind in types), default=0.0) or 1.0
    return tuple(replace(kind, price_ft=dearest + rest * kind.price_ft) for kind in types)

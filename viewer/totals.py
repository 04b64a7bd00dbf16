"""What a plan comes to: feet and holes by circuit, cable type and floor, nail plates, ties, boards; one place to count.

Feet are cut feet, to the ten-thousandth, rounded once for each cable: so any way of adding them gives the same total.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from barnloom.routing.plan import Bore, Cable, Plan
from barnloom.routing.store import natural_key

FOOT_STEP = Decimal("0.0001")


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """What part of a plan belongs to one circuit, cable type or floor."""

    by: str
    """"circuit", "type", "floor", "between" or "total"."""
    name: str
    feet: Decimal
    holes: int
    feet_to_buy: Decimal
    """Without the cables that are pulled already."""
    holes_to_bore: int
    """Without the holes that are there already."""


def feet(inches: float) -> Decimal:
    """Feet of a length in inches, to the ten-thousandth."""
    return (Decimal(f"{inches:.9f}") / 12).quantize(FOOT_STEP)


def shares(plan: Plan) -> tuple[Share, ...]:
    """
    Feet and holes by circuit, by cable type, by floor and between floors, and in total.

    The rows of a kind add up to the total (floors and between floors together). A hole counts once, for the first of
    its cables in order of id.
    """
    owner = {bore.id: min(bore.cables, key=natural_key) for bore in plan.bores if bore.cables}
    holes = Counter(owner[bore.id] for bore in plan.bores if bore.cables)
    to_bore = Counter(owner[bore.id] for bore in plan.bores if bore.cables and not bore.existing)

    def share(by: str, name: str, cables: Iterable[Cable]) -> Share:
        cables = tuple(cables)
        return Share(
            by=by,
            name=name,
            feet=sum((feet(cable.cut_in) for cable in cables), Decimal(0)),
            holes=sum(holes[cable.id] for cable in cables),
            feet_to_buy=sum((feet(cable.cut_in) for cable in cables if not cable.done), Decimal(0)),
            holes_to_bore=sum(to_bore[cable.id] for cable in cables),
        )

    def by_name(by: str, name_of: Callable[[Cable], str], cables: Iterable[Cable]) -> list[Share]:
        return [share(by, name, group) for name, group in _grouped(name_of, cables).items()]

    storeys = {storey.id for storey in plan.building.storeys}
    return (
        *by_name("circuit", lambda cable: cable.circuit, plan.cables),
        *by_name("type", lambda cable: cable.type, plan.cables),
        *by_name("floor", lambda cable: cable.floor, (cable for cable in plan.cables if cable.floor in storeys)),
        *by_name("between", lambda cable: cable.floor, (cable for cable in plan.cables if cable.floor not in storeys)),
        share("total", "total", plan.cables),
    )


def holes_by_bit(bores: Iterable[Bore]) -> Mapping[float, int]:
    """Count holes by diameter, the smallest first."""
    return dict(sorted(Counter(bore.diameter_in for bore in bores).items()))


def to_bore(plan: Plan) -> tuple[Bore, ...]:
    """Holes still to be bored, in walking order."""
    return tuple(bore for bore in plan.bores if not bore.existing)


def run_of(feet: Decimal, *, metric: bool) -> str:
    """A total of cable as a person of the scene's units buys it: "182.6 ft" or "55.7 m"."""
    return f"{feet * Decimal('0.3048'):.1f} m" if metric else f"{feet:.1f} ft"


def _grouped(name_of: Callable[[Cable], str], cables: Iterable[Cable]) -> dict[str, list[Cable]]:
    groups: dict[str, list[Cable]] = {}
    for cable in sorted(cables, key=lambda cable: (natural_key(name_of(cable)), natural_key(cable.id))):
        groups.setdefault(name_of(cable), []).append(cable)
    return groups

"""What to buy."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal

from barnloom.model.lengths import format_length
from barnloom.routing.cost import boards_used
from barnloom.routing.plan import Plan
from barnloom.viewer import totals
from barnloom.viewer.rows import Row

TAKEOFF_COLUMNS = ("item", "size", "quantity", "unit")


def takeoff_rows(plan: Plan) -> list[Row]:
    """List what the plan needs from the store: what is in place or pulled already is left out."""
    building = plan.building
    members = {member.id: member for member in building.members}
    open_cables = [cable for cable in plan.cables if not cable.done]
    open_ids = {cable.id for cable in open_cables}
    open_bores = [bore for bore in plan.bores if open_ids.intersection(bore.cables)]

    def size(inches: float) -> str:
        return format_length(inches, metric=building.metric, feet=False)

    items: list[tuple[str, str, int | Decimal, str]] = [
        ("cable", share.name, share.feet_to_buy, "ft")
        for share in totals.shares(plan)
        if share.by == "type" and share.feet_to_buy
    ]
    boxes = Counter(" x ".join(map(size, box.size_in)) for box in building.boxes if box.kind == "box")
    items += [("box", name, count, "each") for name, count in sorted(boxes.items())]
    items.append(("nail plate", "", sum(len(bore.nail_plates) for bore in open_bores), "each"))
    ties = Counter(
        size(members[bore.member].depth_in) for bore in open_bores if totals.needs_tie(plan, bore, members[bore.member])
    )
    items += [("plate tie", f"for a plate {width} wide", count, "each") for width, count in sorted(ties.items())]
    staples: Counter[str] = Counter()
    for cable in open_cables:
        staples[cable.type] += cable.staples
    items += [("staple", f"for {name}", count, "each") for name, count in sorted(staples.items())]
    boards: dict[str, Decimal] = {}
    for board in boards_used(building, plan.cables):
        name = f"{size(board.thickness_in)} x {size(board.depth_in)}"
        boards[name] = boards.get(name, Decimal(0)) + totals.feet(board.length_in)
    items += [("running board", name, feet, "ft") for name, feet in sorted(boards.items())]
    items.append(("cable cover", "", sum((totals.feet(cable.covered_in) for cable in open_cables), Decimal(0)), "ft"))
    items += [("bit", size(diameter), 1, "each") for diameter in totals.holes_by_bit(totals.to_bore(plan))]
    return [
        {"item": item, "size": name, "quantity": quantity, "unit": unit}
        for item, name, quantity, unit in items
        if quantity
    ]

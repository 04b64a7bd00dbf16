"""A plan after a report: what is done is put into the building for good, and the rest is planned anew around it.

Wood cannot be un-drilled: a hole stays where it is, whatever the limits say of it, and so does a cable in it. A hole
that breaks a limit takes no other cable. The check names the rule that it breaks, and what would mend it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import replace

from barnloom.model.building import Box, Building, CableRule, Hole, Member
from barnloom.model.cables import pairs_of
from barnloom.model.lengths import format_length
from barnloom.model.limits import Limits, at_least, cited
from barnloom.routing.asbuilt.moves import Moves, MovesError, Place
from barnloom.routing.job import Effort
from barnloom.routing.plan import AsBuilt, Bore, Cable, Moved, Plan
from barnloom.routing.planner import plan_building
from barnloom.routing.store import natural_key, plan_hash
from barnloom.routing.wiring.assembly import twin

_BUILT, _SO_FAR = "AS BUILT: ", "AS BUILT SO FAR: "
_NOTHING = AsBuilt(plans=(), drilled=(), moved=(), pulled=(), made_up=(), other_boxes=())


def as_built(
    plan: Plan, moves: Moves, *, effort: Effort = "normal", progress: Callable[[str], None] | None = None
) -> Plan:
    """
    Fix what is done of a plan, and plan the rest anew around it; nothing that stays is renamed.

    Parameters
    ----------
    plan : Plan
    moves : Moves
        As `read_moves` gives it for this plan: its ids are known. A pulled cable's holes count as drilled.

    Raises
    ------
    MovesError
        If it is a report on another plan, a hole cannot be where it is said to be, or a cable that is pulled has no way
        through its holes there.
    SceneError
        If what is left cannot be planned any more (a box too small for what is still to go into it).
    """
    before = plan.as_built or _NOTHING
    known = (*before.plans, plan_hash(plan))
    if moves.plan and moves.plan not in known:
        raise MovesError(["it is a report on another plan; expected one on this plan, or on one that it came from"])
    pulled = {name: cable for name, cable in _pulled(plan, moves).items() if name not in before.pulled}
    holes = _drilled(plan, pulled, moves)
    building = _fixed(plan, holes, pulled, moves)
    again = plan_building(building, earlier=plan, effort=effort, progress=progress)
    bores = {bore.id: bore for bore in plan.bores}
    moved = [bores[name] for name in _in_order(holes) if not _at_place(bores[name], holes[name])]
    lying = [cable for cable in plan.cables if cable.id in pulled or cable.id in before.pulled]
    _all_there(lying, again, moves, {bore.id for bore in moved})
    made_up = {name for name in moves.boxes if name not in before.made_up}
    planned = {makeup.box: makeup.box_type for makeup in plan.makeups}
    others = {name for name in made_up if moves.boxes[name] not in ("", planned.get(name))}
    record = AsBuilt(
        plans=known,
        drilled=_in_order({*before.drilled, *holes}),
        moved=(*before.moved, *map(_moved, moved)),
        pulled=_in_order({*before.pulled, *pulled}),
        made_up=_in_order({*before.made_up, *made_up}),
        other_boxes=_in_order({*before.other_boxes, *others}),
    )
    short = _too_short(pulled, again)
    return replace(
        again,
        building=replace(again.building, title=_title(again, record)),
        as_built=record,
        warnings=(*again.warnings, *short),
    )


def _title(plan: Plan, record: AsBuilt) -> str:
    """Return the title, marked so that whatever is printed of the plan shows that it is more than a plan."""
    title = plan.building.title.removeprefix(_SO_FAR).removeprefix(_BUILT)
    done = all(bore.existing for bore in plan.bores) and all(cable.done for cable in plan.cables)
    whole = done and {makeup.box for makeup in plan.makeups} <= set(record.made_up)
    return (_BUILT if whole else _SO_FAR) + title


def _in_order(names: Collection[str]) -> tuple[str, ...]:
    return tuple(sorted(names, key=natural_key))


def _pulled(plan: Plan, moves: Moves) -> dict[str, Cable]:
    """Cables that are reported as pulled; of two side by side, which are planned as one, both or none."""
    cables = {cable.id: cable for cable in plan.cables}
    alone = [n for n in moves.cables if (twin(n) in cables or n.endswith(twin(""))) and not _pair(n) <= moves.cables]
    if alone:
        faults = (f"{moves.said[n]}: {n} lies beside another and is pulled with it; say both" for n in sorted(alone))
        raise MovesError(faults)
    return {name: cables[name] for name in sorted(moves.cables, key=natural_key)}


def _pair(name: str) -> set[str]:
    first = name.removesuffix(twin(""))
    return {first, twin(first)}


def _drilled(plan: Plan, pulled: Mapping[str, Cable], moves: Moves) -> dict[str, Hole]:
    """Return every hole that is new in the wood, as it is there."""
    bores = {bore.id: bore for bore in plan.bores}
    members = {member.id: member for member in plan.building.members}
    there = {hole.id: hole for member in plan.building.members for hole in member.holes}
    places = {name: Place() for cable in pulled.values() for name in cable.bores} | dict(moves.holes)
    faults: list[str] = []
    found: dict[str, Hole] = {}
    for name, place in places.items():
        if name in there:
            fault = _moved_again(plan.building, there[name], _placed(plan.building, there[name], place))
        else:
            found[name] = _placed(plan.building, bores[name], place)
            fault = _outside(plan.building, members[bores[name].member], found[name])
        if fault:
            faults.append(f"{moves.said.get(name, name)}: {name}: {fault}")
    for name in (name for name in found if not _at_place(bores[name], found[name])):
        own = members[bores[name].member]
        others = [*own.holes, *(hole for other, hole in found.items() if bores[other].member == own.id)]
        fault = _beside(plan.building, found[name], others)
        if fault:
            faults.append(f"{moves.said.get(name, name)}: {name}: {fault}")
    if faults:
        raise MovesError(faults)
    return found


def _placed(building: Building, planned: Bore | Hole, place: Place) -> Hole:
    """Return a hole where it is; no farther off than a tape's mark is as planned."""
    near = building.tools.grid_in / 2
    ways = ((place.along_in, planned.along_in), (place.across_in, planned.across_in))
    along, across = (was if said is None or abs(said - was) < near else said for said, was in ways)
    return Hole(id=planned.id, along_in=along, across_in=across, diameter_in=planned.diameter_in)


def _at_place(planned: Bore | Hole, hole: Hole) -> bool:
    return (planned.along_in, planned.across_in) == (hole.along_in, hole.across_in)


def _moved_again(building: Building, there: Hole, hole: Hole) -> str:
    """Why a hole that is in the wood cannot be elsewhere; empty if it is not said to be."""
    if _at_place(there, hole):
        return ""
    return f"found {_place_words(building, hole)}, but it is in the wood already, at {_place_words(building, there)}"


def _outside(building: Building, member: Member, hole: Hole) -> str:
    """Why a hole cannot be where it is said to be; empty if it can."""
    radius = (hole.diameter_in or 0.0) / 2
    if any(
        ply.along[0] <= hole.along_in <= ply.along[1]
        and ply.across[0] + radius <= hole.across_in <= ply.across[1] - radius
        for ply in member.plies
    ):
        return ""
    size = [format_length(inches, metric=building.metric) for inches in (member.length_in, member.depth_in)]
    return (
        f"found {_place_words(building, hole)}; expected a place wholly in the wood of {member.id}, which is {size[0]} "
        f"long and {size[1]} across"
    )


def _beside(building: Building, hole: Hole, others: Collection[Hole]) -> str:
    """Why a hole cannot be where another one is; empty if it is by itself."""
    near = [
        one.id for one in others if one.id != hole.id and abs(one.along_in - hole.along_in) < building.tools.grid_in
    ]
    if not near:
        return ""
    return f"found {_place_words(building, hole)}, as far along as {near[0]}; expected holes that a tape tells apart"


def _place_words(building: Building, hole: Hole) -> str:
    along, across = (format_length(inches, metric=building.metric) for inches in (hole.along_in, hole.across_in))
    return f"{along} along, {across} across"


def _moved(bore: Bore) -> Moved:
    return Moved(hole=bore.id, planned_along_in=bore.along_in, planned_across_in=bore.across_in)


def _fixed(plan: Plan, holes: Mapping[str, Hole], pulled: Mapping[str, Cable], moves: Moves) -> Building:
    """Return the building with all that is done in it."""
    building = plan.building
    owner = {bore.id: bore.member for bore in plan.bores}
    by_member: dict[str, list[Hole]] = {}
    for name in sorted(holes, key=natural_key):
        by_member.setdefault(owner[name], []).append(holes[name])
    members = tuple(
        replace(member, holes=(*member.holes, *by_member[member.id])) if member.id in by_member else member
        for member in building.members
    )
    rules = {rule.cable: rule for rule in building.cable_rules}
    for name, cable in pulled.items():
        if not name.endswith(twin("")):
            rules[name] = CableRule(
                cable=name,
                done=True,
                type=_type(building, cable, pulled.get(twin(name))),
                from_box=cable.from_box,
                holes=cable.bores,
            )
    made = {makeup.box: makeup for makeup in plan.makeups}

    def put_up(box: Box) -> Box:
        if box.id not in moves.boxes or box.kind != "box":
            return box
        bought = moves.boxes[box.id]
        if bought:
            return replace(box, box_type=bought, ring="", volume_in3=0.0)
        return replace(box, box_type=made[box.id].box_type or box.box_type, ring=made[box.id].ring or box.ring)

    boxes = tuple(put_up(box) for box in building.boxes)
    return replace(building, members=members, boxes=boxes, cable_rules=tuple(rules.values()))


def _type(building: Building, cable: Cable, beside: Cable | None) -> str:
    """Type of a cable as the planner knows it; of two side by side that of the pair."""
    if beside is None:
        return cable.type
    parts = {(cable.type, beside.type), (beside.type, cable.type)}
    return next(kind.id for kind in pairs_of(building.cable_types) if kind.parts in parts)


def _all_there(lying: Collection[Cable], again: Plan, moves: Moves, moved: Collection[str]) -> None:
    """See that every cable that is pulled lies in the new plan as it was pulled."""
    found = {cable.id: cable.bores for cable in again.cables}
    missing = [cable for cable in lying if found.get(cable.id) != cable.bores]
    # What hangs on a box that is not reached is missing because of that, and is not to blame.
    first = [cable for cable in missing if cable.from_box not in again.unreached] or missing
    faults = []
    for cable in first:
        own = [hole for hole in cable.bores if hole in moved]
        look = f"look at {', '.join(own)}: is that place between the same two bays?" if own else "look at its holes"
        where = f"{moves.said[cable.id]}: " if cable.id in moves.said else ""
        words = f"found no way through its holes as they are now; {look}"
        if cable.from_box in again.unreached:
            words = f"found {cable.from_box}, which feeds it, without a way to the panel; look at the cables before it"
        faults.append(f"{where}{cable.id}: {words}")
    if faults:
        raise MovesError(faults)


def _too_short(pulled: Mapping[str, Cable], again: Plan) -> Iterator[str]:
    """Say which cables, cut as planned, leave less free at their ends than the code asks for, as their holes are."""
    building = again.building
    free = Limits(building.limits).limit("cable.free")
    now = {cable.id: cable for cable in again.cables}
    for name, cable in pulled.items():
        ends = cable.cut_in - now[name].path_in - now[name].entries_in - now[name].panel_in
        count = 1 if cable.panel_in else 2
        if not at_least(ends / count, free.value):
            left = format_length(max(ends / count, 0.0), metric=building.metric)
            yield (
                f"{name}: cut to {format_length(cable.cut_in, metric=building.metric)}, it leaves {left} of free "
                f"conductor at an end, its holes being where they are ({cited(free)}); no splice makes it longer: pull "
                "a new one"
            )

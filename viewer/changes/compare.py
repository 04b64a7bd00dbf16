"""What is otherwise in a new plan than in an old one, as plain values: lengths in inches, feet of cable, money.

Two lengths that are less than one step of the print grid apart (``Tools.grid_in``, 1/16 in or 1 mm; of two plans the
coarser one) are the same. Figures of the panel schedule are the same where they are printed alike; sums are exact.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Generic, TypeVar

from barnloom.model.building import Box, Member, Vec
from barnloom.model.wiring import Device
from barnloom.routing.plan import Bore, Cable, CircuitSheet, Joint, Plan
from barnloom.routing.store import natural_key
from barnloom.viewer import totals
from barnloom.viewer.cautions import answer_lines, warnings
from barnloom.viewer.changes.matching import cable_pairs, carried_over, hole_pairs, members_of, same
from barnloom.viewer.paths import framing, path_words
from barnloom.viewer.takeoff import takeoff_rows
from barnloom.viewer.wires import devices_in

Thing = TypeVar("Thing")
_RIGHTS = ("bore", "fasten", "mount")
_COUNTED = re.compile(r"[,;] for \d+ [a-z]+( of .*)?$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Change(Generic[Thing]):
    """One thing that is new (no ``old``), gone (no ``new``), or otherwise than it was."""

    old: Thing | None
    new: Thing | None
    differs: tuple[str, ...] = ()
    """In what it is otherwise, in words that stay the same: see the functions below."""
    by_in: tuple[float, ...] = ()
    """How far it has moved: a hole along and across as the new plan measures, a box or member east, north and up."""

    @property
    def kind(self) -> str:
        """One of "added", "gone", "changed"."""
        return "added" if self.old is None else "gone" if self.new is None else "changed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """A box with what is in it, as bought."""

    box: Box
    devices: tuple[Device, ...]
    box_type: str
    ring: str
    joints: tuple[Joint, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxChange(Change[Fitted]):
    """A box that is new, gone or otherwise; of one that is in both plans, the joints that are not the same."""

    opened: tuple[Joint, ...] = ()
    """Joints of the old plan that the new one has not."""
    made: tuple[Joint, ...] = ()
    """Joints of the new plan that the old one had not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """A total that is otherwise."""

    name: str
    old: Decimal
    new: Decimal

    @property
    def more(self) -> Decimal:
        """By how much it grew; negative: shrank."""
        return self.new - self.old


@dataclass(frozen=True, slots=True, kw_only=True)
class Bought:
    """A line of what to buy that is otherwise; phases are added together."""

    where: str
    item: str
    size: str
    unit: str
    old: Decimal
    new: Decimal
    """Quantities; 0: not on the list."""
    old_price: Decimal | None
    new_price: Decimal | None
    """Of all of it; None: not known."""

    @property
    def more(self) -> Decimal:
        """How much more of it; negative: less."""
        return self.new - self.old

    @property
    def more_money(self) -> Decimal | None:
        """How much more money; None: not known."""
        return None if self.old_price is None or self.new_price is None else self.new_price - self.old_price


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """A warning, assumption or kept answer that only one of the plans has."""

    about: str  # "warning" | "assumption" | "answer"
    text: str
    gone: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """All that is otherwise; every part is empty where nothing is."""

    holes: tuple[Change[Bore], ...]
    """In walking order of the new plan, then those that are gone in that of the old."""
    cables: tuple[Change[Cable], ...]
    boxes: tuple[BoxChange, ...]
    circuits: tuple[Change[CircuitSheet], ...]
    unreached: tuple[Change[str], ...]
    """Boxes without a route: new ones, and old ones that are reached now."""
    bought: tuple[Bought, ...]
    feet: tuple[Amount, ...]
    """Cut feet by cable type, and in total."""
    holes_by_bit: tuple[Amount, ...]
    """Holes to bore; the name is the bit in inches."""
    cost: tuple[Amount, ...]
    """Parts of the plan's cost, and the total."""
    members: tuple[Change[Member], ...]
    said: tuple[Said, ...]

    @property
    def nothing(self) -> bool:
        """Whether nothing is otherwise."""
        return not any(getattr(self, part.name) for part in fields(self))

    @property
    def more_money(self) -> Decimal:
        """What more is to be paid in the store, as far as prices are known; negative: less."""
        return sum((line.more_money for line in self.bought if line.more_money is not None), Decimal(0))


def compare(old: Plan, new: Plan) -> Changes:
    """
    Return what is otherwise in a new plan than in an old one.

    A hole that lies where one lay in the same member is that hole, whatever its id; a cable of the same type between
    the same boxes is that cable. All else goes by its id.

    Parameters
    ----------
    old, new : Plan
    """
    grid = max(old.building.tools.grid_in, new.building.tools.grid_in)
    cables = cable_pairs(old, new)
    renamed = {one.id: other.id for one, other in cables}
    return Changes(
        holes=tuple(_holes(old, new, renamed, grid)),
        cables=tuple(_cables(old, new, cables, grid)),
        boxes=tuple(_boxes(old, new, renamed, grid)),
        circuits=tuple(_circuits(old, new)),
        unreached=tuple(_unreached(old, new)),
        bought=tuple(_bought(old, new)),
        feet=tuple(_amounts(_feet(old), _feet(new))),
        holes_by_bit=tuple(_amounts(_bits(old), _bits(new))),
        cost=tuple(_amounts(_cost(old), _cost(new))),
        members=tuple(_members(old, new, grid)),
        said=tuple(_said(old, new)),
    )


def _holes(old: Plan, new: Plan, renamed: Mapping[str, str], grid: float) -> Iterator[Change[Bore]]:
    """
    Holes that differ.

    "place"; "id"; "bit"; "cables" that pass it; "from": the end or face that it is measured from; "plates"; "band" that
    its middle may lie in; "there": one of the plans has it as bored already.
    """
    pairs = hole_pairs(old, new, grid)
    was, kept = {id(other): one for one, other in pairs}, {id(one) for one, _ in pairs}
    before, after = members_of(old), members_of(new)
    for bore in new.bores:
        one = was.get(id(bore))
        if one is None:
            yield Change(old=None, new=bore)
            continue
        first, second = before[one.member], after[bore.member]
        along, across = carried_over(one, first, second)
        apart = (bore.along_in - along, bore.across_in - across)
        hooks = [(member.along_from, member.across_from) for member in (first, second)]
        band = [
            (low, high) if hooks[0] == hooks[1] else ()
            for low, high in ((b.across_min_in, b.across_max_in) for b in (one, bore))
        ]
        differs = _named(
            place=not all(same(step, 0.0, grid) for step in apart),
            id=one.id != bore.id,
            bit=not same(one.diameter_in, bore.diameter_in, grid),
            cables={renamed.get(name, name) for name in one.cables} != set(bore.cables),
            plates=set(one.nail_plates) != set(bore.nail_plates),
            band=not all(same(a, b, grid) for a, b in zip(*band, strict=True)),
            there=one.existing != bore.existing,
            **{"from": hooks[0] != hooks[1]},
        )
        if differs:
            yield Change(old=one, new=bore, differs=differs, by_in=apart if "place" in differs else ())
    for bore in old.bores:
        if id(bore) not in kept:
            yield Change(old=bore, new=None)


def _cables(old: Plan, new: Plan, pairs: Sequence[tuple[Cable, Cable]], grid: float) -> Iterator[Change[Cable]]:
    """
    Cables that differ.

    "id"; "circuit"; "type"; "ends"; "direction": the panel's side is the other end; "longer" or "shorter" to cut;
    "members" that it is bored through; "way" in words; "conductors": what they are for, or their tape; "pulled": one of
    the plans has it as pulled already.
    """
    was, kept = {id(other): one for one, other in pairs}, {id(one) for one, _ in pairs}
    metric = new.building.metric
    first, second = framing(old), framing(new)
    for cable in sorted(new.cables, key=lambda cable: natural_key(cable.id)):
        one = was.get(id(cable))
        if one is None:
            yield Change(old=None, new=cable)
            continue
        ends = [(each.from_box, each.to_box) for each in (one, cable)]
        turned = ends[0] == ends[1][::-1] != ends[1]
        through = [
            [names.bored[hole] for hole in each.bores if hole in names.bored]
            for names, each in ((first, one), (second, cable))
        ]
        ways = [path_words(names, each, metric=metric) for names, each in ((first, one), (second, cable))]
        alike = same(one.cut_in, cable.cut_in, grid)
        differs = _named(
            id=one.id != cable.id,
            circuit=one.circuit != cable.circuit,
            type=one.type != cable.type,
            ends=set(ends[0]) != set(ends[1]),
            direction=turned,
            longer=not alike and cable.cut_in > one.cut_in,
            shorter=not alike and cable.cut_in < one.cut_in,
            members=through[0] != (through[1][::-1] if turned else through[1]),
            # Seen from the other end, the same way reads otherwise: then the holes alone tell.
            way=not turned and ways[0] != ways[1],
            conductors=one.conductors != cable.conductors,
            pulled=one.done != cable.done,
        )
        if differs:
            yield Change(old=one, new=cable, differs=differs)
    for cable in sorted(old.cables, key=lambda cable: natural_key(cable.id)):
        if id(cable) not in kept:
            yield Change(old=cable, new=None)


def _boxes(old: Plan, new: Plan, renamed: Mapping[str, str], grid: float) -> Iterator[BoxChange]:
    """
    Boxes, panels and stubs that differ.

    "place"; "host" that it hangs on; "size"; "bought": the box or its ring; "devices"; "circuits"; "phase"; "joints".
    """
    before, after = _fitted(old), _fitted(new)
    for name in sorted({*before, *after}, key=natural_key):
        one, other = before.get(name), after.get(name)
        if one is None or other is None:
            yield BoxChange(old=one, new=other)
            continue
        first, second = one.box, other.box
        apart = _step(first.at, second.at)
        joints = (
            {_metal(joint, renamed): joint for joint in one.joints},
            {_metal(joint, {}): joint for joint in other.joints},
        )
        opened = tuple(joint for key, joint in joints[0].items() if key not in joints[1])
        made = tuple(joint for key, joint in joints[1].items() if key not in joints[0])
        differs = _named(
            place=not all(same(step, 0.0, grid) for step in apart),
            host=(first.host, first.side) != (second.host, second.side),
            size=not all(same(a, b, grid) for a, b in zip(first.size_in, second.size_in, strict=True)),
            bought=(one.box_type, one.ring) != (other.box_type, other.ring),
            devices=[_handled(device) for device in one.devices] != [_handled(device) for device in other.devices],
            circuits=set(first.circuits) != set(second.circuits),
            phase=first.phase != second.phase,
            joints=bool(opened or made),
        )
        if differs:
            moved = apart if "place" in differs else ()
            yield BoxChange(old=one, new=other, differs=differs, by_in=moved, opened=opened, made=made)


def _circuits(old: Plan, new: Plan) -> Iterator[Change[CircuitSheet]]:
    """Circuits that differ, by the names of the fields of a ``CircuitSheet``; and "phase"."""
    before, after = ({sheet.circuit: sheet for sheet in plan.circuits} for plan in (old, new))
    phases = [{circuit.id: circuit.phase for circuit in plan.building.circuits} for plan in (old, new)]
    for name in sorted({*before} ^ {*after}, key=natural_key):
        yield Change(old=before.get(name), new=after.get(name))
    for name in sorted({*before} & {*after}, key=natural_key):
        one, other = _schedule(before[name]), _schedule(after[name])
        differs = tuple(key for key in one if one[key] != other[key])
        if phases[0].get(name) != phases[1].get(name):
            differs = (*differs, "phase")
        if differs:
            yield Change(old=before[name], new=after[name], differs=differs)


def _members(old: Plan, new: Plan, grid: float) -> Iterator[Change[Member]]:
    """
    Members that differ.

    "place": where it begins, or which way it lies; "length"; "section": its thickness and depth, or its plies; "role";
    "bearing"; "rights": whether it may be bored, fastened to, mounted on; "holes" and "notches" that are in it already;
    "measured": what of it is.
    """
    before, after = members_of(old), members_of(new)
    for name in sorted({*before, *after}, key=natural_key):
        one, other = before.get(name), after.get(name)
        if one is None or other is None:
            yield Change(old=one, new=other)
            continue
        apart = _step(one.origin, other.origin)
        sides = [(member.thickness_in, member.depth_in) for member in (one, other)]
        differs = _named(
            place=not all(same(step, 0.0, grid) for step in apart) or not _lies(one, other, grid),
            length=not same(one.length_in, other.length_in, grid),
            section=not all(same(a, b, grid) for a, b in zip(*sides, strict=True))
            or len(one.plies) != len(other.plies),
            role=one.role != other.role,
            bearing=one.bearing != other.bearing,
            rights=any(getattr(one, right) != getattr(other, right) for right in _RIGHTS),
            holes=one.holes != other.holes,
            notches=one.notches != other.notches,
            measured=set(one.unmeasured) != set(other.unmeasured),
        )
        if differs:
            yield Change(old=one, new=other, differs=differs, by_in=apart if "place" in differs else ())


def _unreached(old: Plan, new: Plan) -> Iterator[Change[str]]:
    """Ids that only one of the plans has."""
    for name in sorted({*old.unreached} ^ {*new.unreached}, key=natural_key):
        yield Change(old=name if name in old.unreached else None, new=name if name in new.unreached else None)


def _bought(old: Plan, new: Plan) -> Iterator[Bought]:
    before, after = _store(old), _store(new)
    nothing = (Decimal(0), Decimal(0))
    for key in dict.fromkeys((*after, *before)):
        (count, price), (count_now, price_now) = before.get(key, nothing), after.get(key, nothing)
        if (count, price) != (count_now, price_now):
            where, item, size, unit = key
            yield Bought(
                where=where, item=item, size=size, unit=unit, old=count, new=count_now, old_price=price,
                new_price=price_now,
            )  # fmt: skip


def _store(plan: Plan) -> dict[tuple[str, str, str, str], tuple[Decimal, Decimal | None]]:
    """
    Quantity and price of everything on the list, phases added together.

    What a size says of a count of its own ("for 13 pigtails of 8 in") is left out, or nothing could be compared.
    """
    found: dict[tuple[str, str, str, str], tuple[Decimal, Decimal | None]] = {}
    for row in takeoff_rows(plan):
        where, item, size, unit = (str(row[name]) for name in ("where", "item", "size", "unit"))
        size = _COUNTED.sub("", size)
        count, price = found.get((where, item, size, unit), (Decimal(0), Decimal(0)))
        more = None if row["price"] is None else Decimal(str(row["price"]))
        both = None if price is None or more is None else price + more
        found[where, item, size, unit] = count + Decimal(str(row["quantity"])), both
    return found


def _feet(plan: Plan) -> dict[str, Decimal]:
    return {share.name: share.feet for share in totals.shares(plan) if share.by in {"type", "total"}}


def _bits(plan: Plan) -> dict[str, Decimal]:
    return {f"{bit:g}": Decimal(count) for bit, count in totals.holes_by_bit(totals.to_bore(plan)).items()}


def _cost(plan: Plan) -> dict[str, Decimal]:
    parts = {name: Decimal(f"{value:.2f}") for name, value in sorted(plan.cost_parts.items())}
    return {**parts, "total": Decimal(f"{plan.cost:.2f}")}


def _amounts(before: Mapping[str, Decimal], after: Mapping[str, Decimal]) -> Iterator[Amount]:
    names = sorted({*before, *after}, key=lambda name: (name == "total", natural_key(name)))
    for name in names:
        one, other = before.get(name, Decimal(0)), after.get(name, Decimal(0))
        if one != other:
            yield Amount(name=name, old=one, new=other)


def _said(old: Plan, new: Plan) -> Iterator[Said]:
    kinds: tuple[tuple[str, Iterable[str], Iterable[str]], ...] = (
        ("warning", warnings(old), warnings(new)),
        ("assumption", old.assumptions, new.assumptions),
        ("answer", answer_lines(old), answer_lines(new)),
    )
    for about, before, after in kinds:
        first, second = dict.fromkeys(before), dict.fromkeys(after)
        yield from (Said(about=about, text=text, gone=False) for text in second if text not in first)
        yield from (Said(about=about, text=text, gone=True) for text in first if text not in second)


def _fitted(plan: Plan) -> dict[str, Fitted]:
    made = {makeup.box: makeup for makeup in plan.makeups}
    return {
        box.id: Fitted(
            box=box,
            devices=tuple(devices_in(plan.building, box.id)),
            box_type=made[box.id].box_type if box.id in made else box.box_type,
            ring=made[box.id].ring if box.id in made else box.ring,
            joints=made[box.id].joints if box.id in made else (),
        )
        for box in plan.building.boxes
    }


def _metal(joint: Joint, renamed: Mapping[str, str]) -> tuple[object, ...]:
    """What a joint joins, in no order."""
    ends = Counter((renamed.get(cable, cable), colour) for cable, colour in joint.ends)
    return joint.net, joint.circuit, frozenset(ends.items()), frozenset(joint.terminals)


def _handled(device: Device) -> tuple[object, ...]:
    """What of a device somebody at the box has in his hands; its load is told with the circuit."""
    return (
        device.id, device.kind, device.volts, device.rating_a, device.ground_fault, device.half_switched, device.single,
        device.control, device.detects, device.linked,
    )  # fmt: skip


def _schedule(sheet: CircuitSheet) -> dict[str, object]:
    """Fields of a circuit as they are printed."""
    return {
        "panel": sheet.panel,
        "volts": sheet.volts,
        "poles": sheet.poles,
        "breaker_a": f"{sheet.breaker_a:g}",
        "breaker": sheet.breaker,
        "awg": sheet.awg,
        "spaces": sheet.spaces,
        "legs": sheet.legs,
        "load_va": f"{sheet.load_va:.0f}",
        "load_a": f"{sheet.load_a:.1f}",
        "longest_ft": f"{sheet.longest_ft:.1f}",
        "drop_percent": f"{sheet.drop_percent:.1f}",
    }


def _step(one: Vec, other: Vec) -> Vec:
    return other[0] - one[0], other[1] - one[1], other[2] - one[2]


def _lies(one: Member, other: Member, grid: float) -> bool:
    """Whether two members lie the same way: their axes, at the far end of the member, are the same on paper."""
    share = grid / max(one.length_in, other.length_in, grid)
    axes = ((one.along, other.along), (one.bit, other.bit), (one.across, other.across))
    return all(same(a, b, share) for axis, turned in axes for a, b in zip(axis, turned, strict=True))


def _named(**differs: bool) -> tuple[str, ...]:
    return tuple(name for name, yes in differs.items() if yes)

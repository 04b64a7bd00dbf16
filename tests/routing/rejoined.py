"""Small changes to how boxes are made up, to be planted as faults: "CABLE COLOUR" or "DEVICE: TERMINAL" is a member."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from plan_changes import Change

from barnloom.routing.plan import Conductor, Joint, Plan

Joints = tuple[Joint, ...]


def members(joint: Joint) -> list[str]:
    return [f"{cable} {colour}" for cable, colour in joint.ends] + [f"{d}: {name}" for d, name in joint.terminals]


def in_box(box: str, change: Callable[[Joints], Joints]) -> Change:
    def changed(plan: Plan) -> Plan:
        assert any(makeup.box == box for makeup in plan.makeups), box
        return replace(
            plan,
            makeups=tuple(replace(m, joints=change(m.joints)) if m.box == box else m for m in plan.makeups),
        )

    return changed


def without(joint: Joint, *gone: str) -> Joint:
    return replace(
        joint,
        ends=tuple((c, colour) for c, colour in joint.ends if f"{c} {colour}" not in gone),
        terminals=tuple((d, name) for d, name in joint.terminals if f"{d}: {name}" not in gone),
    )


def with_also(joint: Joint, member: str) -> Joint:
    if ": " in member:
        device, _, name = member.partition(": ")
        return replace(joint, terminals=(*joint.terminals, (device, name)))
    cable, _, colour = member.partition(" ")
    return replace(joint, ends=(*joint.ends, (cable, colour)))


def apart(box: str, member: str) -> Change:
    """Leave a member out of its joint."""
    return in_box(box, lambda joints: tuple(without(joint, member) for joint in joints))


def alone(box: str, member: str) -> Change:
    """Give a member a joint of its own."""

    def change(joints: Joints) -> Joints:
        old = next(one for one in joints if member in members(one))
        new = with_also(replace(old, ends=(), terminals=()), member)
        return (*(without(one, member) for one in joints), new)

    return in_box(box, change)


def over(box: str, member: str, beside: str) -> Change:
    """Move a member into the joint of another."""

    def change(joints: Joints) -> Joints:
        assert any(member in members(joint) for joint in joints), member
        assert any(beside in members(joint) for joint in joints), beside
        moved = []
        for joint in joints:
            left = without(joint, member)
            moved.append(with_also(left, member) if beside in members(joint) else left)
        return tuple(moved)

    return in_box(box, change)


def also(box: str, member: str, beside: str) -> Change:
    """Put a member into the joint of another and leave it where it is."""
    return in_box(box, lambda joints: tuple(with_also(j, member) if beside in members(j) else j for j in joints))


def swapped(box: str, one: str, other: str) -> Change:
    """Change the places of two members."""

    def change(joints: Joints) -> Joints:
        moved = []
        for joint in joints:
            here = members(joint)
            left = without(joint, one, other)
            left = with_also(left, other) if one in here else left
            moved.append(with_also(left, one) if other in here else left)
        return tuple(moved)

    return in_box(box, change)


def merged(box: str, one: str, other: str) -> Change:
    """Make one joint of those of two members."""

    def change(joints: Joints) -> Joints:
        into = next(joint for joint in joints if one in members(joint))
        more = next(joint for joint in joints if other in members(joint))
        whole = replace(into, ends=(*into.ends, *more.ends), terminals=(*into.terminals, *more.terminals))
        return tuple(whole if joint is into else joint for joint in joints if joint is not more)

    return in_box(box, change)


def joint(box: str, member: str, **changes: Any) -> Change:
    """Change what is said of a joint."""
    return in_box(box, lambda joints: tuple(replace(j, **changes) if member in members(j) else j for j in joints))


def conductor(cable: str, of: str, **changes: Any) -> Change:
    """Change a conductor, named by its cable and its colour."""

    def change(plan: Plan) -> Plan:
        def new(one: Conductor) -> Conductor:
            return replace(one, **changes) if one.colour == of else one

        return replace(
            plan,
            cables=tuple(
                replace(c, conductors=tuple(map(new, c.conductors))) if c.id == cable else c for c in plan.cables
            ),
        )

    return change


def makeup(box: str, **changes: Any) -> Change:
    return lambda plan: replace(plan, makeups=tuple(replace(m, **changes) if m.box == box else m for m in plan.makeups))


def sheet(circuit: str, **changes: Any) -> Change:
    return lambda plan: replace(
        plan, circuits=tuple(replace(s, **changes) if s.circuit == circuit else s for s in plan.circuits)
    )


def device(name: str, **changes: Any) -> Change:
    def change(plan: Plan) -> Plan:
        devices = tuple(replace(d, **changes) if d.id == name else d for d in plan.building.devices)
        return replace(plan, building=replace(plan.building, devices=devices))

    return change


def renetted(plan: Plan) -> Plan:
    """Let every conductor and joint say the net that the other joints of its box's metal would give it: the names agree
    with the metal again, so that only what the metal does can tell."""
    nets = {(makeup.box, *end): one.net for makeup in plan.makeups for one in makeup.joints for end in one.ends}
    cables = tuple(
        replace(
            cable,
            conductors=tuple(
                replace(c, net=nets.get((cable.from_box, cable.id, c.colour), c.net)) for c in cable.conductors
            ),
        )
        for cable in plan.cables
    )
    return replace(plan, cables=cables)

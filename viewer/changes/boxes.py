"""Boxes that changed, in words: to put up new, moved, to swap, with other joints, in another phase, gone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from barnloom.routing.plan import Joint, Plan
from barnloom.viewer.cards import Card
from barnloom.viewer.changes.compare import BoxChange, Fitted
from barnloom.viewer.changes.told import Row, Section, Told
from barnloom.viewer.joining import folding_order, joint_sentence
from barnloom.viewer.wires import listed

_SWAPPED = frozenset({"size", "bought", "devices", "circuits"})


def box_sections(told: Told) -> Iterator[Section]:
    """Yield what is the most work first; a box is told once."""
    groups: dict[str, list[BoxChange]] = {
        "new": [],
        "moved": [],
        "swapped": [],
        "joints": [],
        "phase": [],
        "gone": [],
    }
    for change in told.found.boxes:
        groups[_box_group(change)].append(change)
    columns = (("box", 15), ("what", 78))
    for group, heading, how in (
        ("new", "Boxes to put up new", ("How each is made up is on its card.",)),
        ("moved", "Boxes that have moved", ()),
        ("swapped", "Boxes to swap, or with other devices", ()),
        ("joints", "Joints to open and make again", ()),
        ("phase", "Boxes in another phase", ()),
        ("gone", "Boxes no longer in the plan", ()),
    ):
        rows: list[Row] = []
        for change in groups[group]:
            first, *more = _box(told, change)
            rows += [(_name(change), first), *more]
        yield Section(heading=heading, columns=columns, rows=tuple(rows), how=how, ticks=group != "gone")


def _box(told: Told, change: BoxChange) -> list[str]:
    one, now = change.old, change.new
    if now is None:
        return [told.cards[0][_name(change)].place]
    card = told.cards[1][_name(change)]
    if one is None:
        return [card.place, *(words for words in (_devices(now, card), card.buy) if words)]
    was, words = told.cards[0][_name(change)], []
    if "place" in change.differs:
        words.append(f"{told.moved(change.by_in)}: {card.place}")
    elif "host" in change.differs:
        words.append(card.place)
    if "size" in change.differs:
        words.append(f"{_size(told, now)}, was {_size(told, one)}")
    if "bought" in change.differs:
        words.append(f"{card.buy or 'not known what to buy'}; it was {was.buy.removeprefix('to buy: ') or 'not known'}")
    if "devices" in change.differs:
        words.append(f"in it: {_devices(now, card)}; was: {_devices(one, was)}")
    if "circuits" in change.differs:
        words.append(f"circuit {listed(now.box.circuits) or 'none'}, was {listed(one.box.circuits) or 'none'}")
    if "phase" in change.differs:
        words.append(f"phase {now.box.phase}, was {one.box.phase}")
    words += [f"was: {line}" for line in _joints(told.old, one, change.opened)]
    words += [f"now: {line}" for line in _joints(told.new, now, change.made)]
    return words


def _joints(plan: Plan, fitted: Fitted, joints: Sequence[Joint]) -> list[str]:
    tape = {(cable.id, each.colour): each.marked for cable in plan.cables for each in cable.conductors}
    return [joint_sentence(joint, fitted.devices, tape) for joint in folding_order(joints)]


def _size(told: Told, fitted: Fitted) -> str:
    return " x ".join(map(told.inches, fitted.box.size_in))


def _box_group(change: BoxChange) -> str:
    """Where a box is told: once, by the most work that it makes."""
    if change.kind != "changed":
        return "new" if change.old is None else "gone"
    if {"place", "host"}.intersection(change.differs):
        return "moved"
    if _SWAPPED.intersection(change.differs):
        return "swapped"
    return "joints" if "joints" in change.differs else "phase"


def _name(change: BoxChange) -> str:
    fitted = change.new or change.old
    return fitted.box.id if fitted else ""


def _devices(fitted: Fitted, card: Card) -> str:
    """What is in a box, in words; of one that is not made up, kinds and ids alone."""
    return card.devices or listed([f"{device.kind.value} {device.id}" for device in fitted.devices]) or "no device"

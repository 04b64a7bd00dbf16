"""``changes.json``: what changed between two plans, for programs. Lengths in inches, feet of cable, money."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from decimal import Decimal
from typing import Any

from barnloom.model.building import Member
from barnloom.routing.plan import Bore, Cable, CircuitSheet, Joint, Plan
from barnloom.routing.store import DECIMALS
from barnloom.viewer.changes.compare import Amount, BoxChange, Change, Changes, Fitted, compare
from barnloom.viewer.changes.matching import members_of

FORMAT, VERSION = "barnloom changes", 1
_HOLE = (
    "id", "member", "along_in", "across_in", "across_min_in", "across_max_in", "diameter_in", "cables", "nail_plates",
    "existing",
)  # fmt: skip
_CABLE = ("id", "circuit", "type", "from_box", "to_box", "cut_in", "slack_in", "bores", "done")
_MEMBER = ("id", "role", "assembly", "origin", "length_in", "thickness_in", "depth_in", "section")


def changes_json(old: Plan, new: Plan) -> str:
    """
    Return what changed as JSON text.

    ``format`` is "barnloom changes", ``version`` 1, ``nothing`` whether nothing changed, ``titles`` those of the two
    plans, ``counts`` how many of each are added, gone and changed. ``holes``, ``cables``, ``boxes``, ``circuits`` and
    ``members`` are lists of one form: ``change`` ("added", "gone", "changed"), ``id`` (in the new plan; of what is gone
    in the old), ``differs`` (in what: words listed at the functions of ``compare``), ``moved_in`` (holes: along and
    across as the new plan measures; boxes and members: east, north, up; else empty), ``old`` and ``new`` (null where it
    is not). Boxes have also ``opened`` and ``made``: joints. ``unreached`` is ``now`` and ``no_longer``, ids of boxes.
    ``bought`` has quantities ``old`` and ``new`` and prices (null: not known), ``more_money`` their sum; ``feet``,
    ``holes_by_bit`` and ``cost`` have ``name``, ``old``, ``new``, ``more``; ``said`` has ``about``, ``text``, ``gone``.

    Parameters
    ----------
    old, new : Plan
    """
    found = compare(old, new)
    data = {
        "format": FORMAT,
        "version": VERSION,
        "nothing": found.nothing,
        "titles": {"old": old.building.title, "new": new.building.title},
        "counts": _counts(found),
        "holes": [_change(one, _hole(old, one.old), _hole(new, one.new)) for one in found.holes],
        "cables": [_change(one, _fields(one.old, _CABLE), _fields(one.new, _CABLE)) for one in found.cables],
        "boxes": [_box_change(one) for one in found.boxes],
        "circuits": [_change(one, _circuit(one.old), _circuit(one.new)) for one in found.circuits],
        "unreached": {
            "now": [one.new for one in found.unreached if one.new],
            "no_longer": [one.old for one in found.unreached if one.old],
        },
        "bought": [asdict(line) | {"more": line.more, "more_money": line.more_money} for line in found.bought],
        "more_money": found.more_money,
        "feet": _amounts(found.feet),
        "holes_by_bit": _amounts(found.holes_by_bit),
        "cost": _amounts(found.cost),
        "members": [_change(one, _fields(one.old, _MEMBER), _fields(one.new, _MEMBER)) for one in found.members],
        "said": [asdict(one) for one in found.said],
    }
    return json.dumps(_plain(data), ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def _counts(found: Changes) -> dict[str, dict[str, int]]:
    kinds: dict[str, Sequence[Change[Any]]] = {
        "holes": found.holes,
        "cables": found.cables,
        "boxes": found.boxes,
        "circuits": found.circuits,
        "members": found.members,
    }
    return {
        name: {kind: sum(one.kind == kind for one in changes) for kind in ("added", "gone", "changed")}
        for name, changes in kinds.items()
    }


def _change(change: Change[Any], old: dict[str, Any] | None, new: dict[str, Any] | None) -> dict[str, Any]:
    return {
        "change": change.kind,
        "id": (new or old or {}).get("id"),
        "differs": change.differs,
        "moved_in": change.by_in,
        "old": old,
        "new": new,
    }


def _fields(thing: Cable | Member | Bore | None, names: Sequence[str]) -> dict[str, Any] | None:
    return None if thing is None else {name: getattr(thing, name) for name in names}


def _hole(plan: Plan, bore: Bore | None) -> dict[str, Any] | None:
    if bore is None:
        return None
    member = members_of(plan)[bore.member]
    from_words = {"along_from": member.along_from, "across_from": member.across_from}
    return {name: getattr(bore, name) for name in _HOLE} | from_words


def _box_change(change: BoxChange) -> dict[str, Any]:
    joints = {"opened": [_joint(joint) for joint in change.opened], "made": [_joint(joint) for joint in change.made]}
    return _change(change, _box(change.old), _box(change.new)) | joints


def _box(fitted: Fitted | None) -> dict[str, Any] | None:
    if fitted is None:
        return None
    box = fitted.box
    return {
        "id": box.id,
        "kind": box.kind,
        "host": box.host,
        "at": box.at,
        "size_in": box.size_in,
        "circuits": box.circuits,
        "phase": box.phase,
        "box_type": fitted.box_type,
        "ring": fitted.ring,
        "devices": [{"id": device.id, "kind": device.kind} for device in fitted.devices],
    }


def _joint(joint: Joint) -> dict[str, Any]:
    return {"net": joint.net, "circuit": joint.circuit, "ends": joint.ends, "terminals": joint.terminals}


def _circuit(sheet: CircuitSheet | None) -> dict[str, Any] | None:
    return None if sheet is None else {"id": sheet.circuit} | asdict(sheet)


def _amounts(amounts: Sequence[Amount]) -> list[dict[str, Any]]:
    return [asdict(amount) | {"more": amount.more} for amount in amounts]


def _plain(value: Any) -> Any:
    """Numbers as JSON has them, rounded as in ``plan.json``."""
    if isinstance(value, dict):
        return {key: _plain(part) for key, part in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(part) for part in value]
    if isinstance(value, Decimal):
        return int(value) if value == value.to_integral_value() else float(value)
    return round(value, DECIMALS) + 0.0 if isinstance(value, float) else value

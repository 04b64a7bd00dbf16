"""The lists for programs and spreadsheets: rows of plain values, and the one writer that makes CSV of them.

First columns are fixed; further ones may be added after them. Lengths are inches with all their decimals; a cable's
parts add up to its cut exactly as printed.
"""

from __future__ import annotations

import csv
import io
import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal

from barnloom.model.building import Member
from barnloom.routing.plan import Bore, Cable, Plan
from barnloom.routing.store import natural_key
from barnloom.viewer import totals
from barnloom.viewer.paths import Framing, framing, hole_place, path_words, side_words
from barnloom.viewer.pulling import cable_phases
from barnloom.viewer.rows import Row, Value
from barnloom.viewer.takeoff import COILS_COLUMNS, TAKEOFF_COLUMNS, coil_rows, takeoff_rows
from barnloom.viewer.wired_tables import (
    CIRCUIT_COLUMNS,
    DEAD_COLUMNS,
    FILL_COLUMNS,
    NET_COLUMNS,
    circuit_rows,
    dead_rows,
    fill_rows,
    net_rows,
)
from barnloom.viewer.wires import devices_by_box, insulated, label

_FORMULA_STARTS = tuple("=+-@\t＝＋－＠")
_STEP = Decimal("0.000000001")


def member_rows(plan: Plan) -> list[Row]:
    """All members, in order of id; what was not measured is blank."""
    rows: list[Row] = []
    for member in sorted(plan.building.members, key=lambda member: natural_key(member.id)):
        measured = "section" not in member.unmeasured
        bearing = "yes" if member.bearing else "no"
        rows.append(
            {
                "member": member.id,
                "role": member.role.value,
                "bearing": "" if "bearing" in member.unmeasured else bearing,
                "thickness_in": member.thickness_in if measured else None,
                "depth_in": member.depth_in if measured else None,
                "length_in": None if "ends" in member.unmeasured else member.length_in,
                "boring": member.bore.value,
                "fastening": member.fasten.value,
                "mounting": member.mount.value,
                "reason": member.reason,
                "section": member.section,
                "plies": len(member.plies),
                "storey": member.storey,
                "part_of": member.assembly,
                "not_measured": " ".join(member.unmeasured),
            }
        )
    return rows


def box_rows(plan: Plan) -> list[Row]:
    """All boxes, panels and stubs, in order of id; x, y, z are the centre of the body."""
    members = {member.id: member for member in plan.building.members}
    floors = {storey.id: storey.floor_in for storey in plan.building.storeys}
    devices = devices_by_box(plan.building)
    ends = Counter(end for cable in plan.cables for end in (cable.from_box, cable.to_box))
    makeups = {makeup.box: makeup for makeup in plan.makeups}
    feeders: dict[str, set[str]] = {}
    for cable in plan.cables:
        feeders.setdefault(cable.to_box, set()).add(cable.from_box)
    rows: list[Row] = []
    for box in sorted(plan.building.boxes, key=lambda box: natural_key(box.id)):
        made = makeups.get(box.id)
        rows.append(
            {
                "box": box.id,
                "circuit": " ".join(box.circuits),
                "x_in": box.at[0],
                "y_in": box.at[1],
                "z_in": box.at[2],
                "kind": box.kind,
                "title": box.title,
                "storey": box.storey,
                "host": box.host,
                "side": side_words(members[box.host], box.side) if box.side else "",
                "cables": ends[box.id],
                "reached": "no" if box.id in plan.unreached else "yes",
                "device": " + ".join(device.kind.value for device in devices[box.id])
                or ("junction" if box.kind == "box" else ""),
                "volume_in3": (made and made.volume_in3) or None,
                "fill_in3": made.fill_in3 if made and made.fill else None,
                "box_type": made.box_type if made else box.box_type,
                "height_in": box.at[2] - floors[box.storey],
                "fed_from": " ".join(sorted(feeders.get(box.id, ()), key=natural_key)),
                "ring": made.ring if made else box.ring,
                "phase": box.phase,
            }
        )
    return rows


def hole_rows(plan: Plan) -> list[Row]:
    """All holes that a cable of the plan passes, in walking order."""
    members = {member.id: member for member in plan.building.members}
    return [_hole_row(plan, bore, members[bore.member]) for bore in plan.bores]


def cable_rows(plan: Plan) -> list[Row]:
    """All cables, in order of id; the parts of a length add up to ``cut_in`` as printed."""
    names, phases = framing(plan), cable_phases(plan)
    return [
        _cable_row(plan, names, cable, phases[cable.id])
        for cable in sorted(plan.cables, key=lambda cable: natural_key(cable.id))
    ]


def feet_rows(plan: Plan) -> list[Row]:
    """Feet and holes by circuit, type, floor and between floors; the rows of a kind add up to the total."""
    return [
        {
            "by": share.by,
            "name": share.name,
            "feet": share.feet,
            "holes": share.holes,
            "feet_to_buy": share.feet_to_buy,
            "holes_to_bore": share.holes_to_bore,
        }
        for share in totals.shares(plan)
    ]


TABLES: Mapping[str, tuple[tuple[str, ...], Callable[[Plan], list[Row]]]] = {
    "members.csv": (
        ("member", "role", "bearing", "thickness_in", "depth_in", "length_in", "boring", "fastening", "mounting")
        + ("reason", "section", "plies", "storey", "part_of", "not_measured"),
        member_rows,
    ),
    "boxes.csv": (
        ("box", "circuit", "x_in", "y_in", "z_in", "kind", "title", "storey", "host", "side", "cables", "reached")
        + ("device", "volume_in3", "fill_in3", "box_type", "height_in", "fed_from", "ring", "phase"),
        box_rows,
    ),
    "holes.csv": (
        ("hole", "member", "along_from", "along_in", "across_from", "across_in", "across_min_in", "across_max_in")
        + ("diameter_in", "cables", "nail_plates", "rule", "margin_in", "existing", "pass", "pose", "words"),
        hole_rows,
    ),
    "cables.csv": (
        ("cable", "circuit", "type", "from", "to", "path_in", "entries_in", "free_in", "panel_in", "slack_in", "cut_in")
        + ("holes", "cut_ft", "floor", "done", "staples", "turns", "board_in", "covered_in", "bores", "path")
        + ("conductors", "awg", "family", "length_ft", "current_a", "drop_percent", "label", "phase"),
        cable_rows,
    ),
    "feet.csv": (("by", "name", "feet", "holes", "feet_to_buy", "holes_to_bore"), feet_rows),
    "takeoff.csv": (TAKEOFF_COLUMNS, takeoff_rows),
    "coils.csv": (COILS_COLUMNS, coil_rows),
    "boxfill.csv": (FILL_COLUMNS, fill_rows),
    "circuits.csv": (CIRCUIT_COLUMNS, circuit_rows),
    "nets.csv": (NET_COLUMNS, net_rows),
    "deadtest.csv": (DEAD_COLUMNS, dead_rows),
}
"""By file name: the columns in order, and the rows of a plan."""


def csv_tables(plan: Plan) -> dict[str, str]:
    """Return the text of every CSV file of a plan, by file name."""
    return {name: csv_text(columns, rows(plan)) for name, (columns, rows) in TABLES.items()}


def csv_text(columns: Sequence[str], rows: Sequence[Row]) -> str:
    r"""
    Return rows as CSV text; a text cell that a spreadsheet would take for a formula gets an apostrophe in front.

    Raises
    ------
    ValueError
        If a number is not finite, or a row has other columns.

    Examples
    --------
    >>> csv_text(["name", "depth_in"], [{"name": "=1+1", "depth_in": -9.25}])
    "name,depth_in\n'=1+1,-9.25\n"
    """
    stream = io.StringIO()
    writer = csv.DictWriter(stream, columns, lineterminator="\n")
    writer.writeheader()
    for row in rows:
        writer.writerow({column: _cell(value) for column, value in row.items()})
    return stream.getvalue()


def decimal(inches: float) -> Decimal:
    """Return a length as it is printed: to a billionth of an inch, no more digits than it needs."""
    return Decimal(f"{inches:.9f}").quantize(_STEP)


def _hole_row(plan: Plan, bore: Bore, member: Member) -> Row:
    return {
        "hole": bore.id,
        "member": bore.member,
        "along_from": member.along_from,
        "along_in": bore.along_in,
        "across_from": member.across_from,
        "across_in": bore.across_in,
        "across_min_in": bore.across_min_in,
        "across_max_in": bore.across_max_in,
        "diameter_in": bore.diameter_in,
        "cables": " ".join(sorted(bore.cables, key=natural_key)),
        "nail_plates": ", ".join(bore.nail_plates),
        "rule": bore.rule,
        "margin_in": bore.margin_in,
        "existing": "yes" if bore.existing else "no",
        "pass": bore.drill_pass,
        "pose": bore.pose,
        "words": hole_place(bore, member, metric=plan.building.metric),
    }


def _cable_row(plan: Plan, names: Framing, cable: Cable, phase: int) -> Row:
    kind = next((kind for kind in plan.building.cable_types if kind.id == cable.type), None)
    names_of_parts = ("path_in", "entries_in", "free_in", "panel_in", "slack_in")
    parts = {part: decimal(getattr(cable, part)) for part in names_of_parts}
    return {
        "cable": cable.id,
        "circuit": cable.circuit,
        "type": cable.type,
        "from": cable.from_box,
        "to": cable.to_box,
        **parts,
        "cut_in": sum(parts.values(), Decimal(0)),
        "holes": len(cable.bores),
        "cut_ft": totals.feet(cable.cut_in),
        "floor": cable.floor,
        "done": "yes" if cable.done else "no",
        "staples": cable.staples,
        "turns": cable.turns,
        "board_in": cable.board_in,
        "covered_in": cable.covered_in,
        "bores": " ".join(cable.bores),
        "path": "; ".join(path_words(names, cable, metric=plan.building.metric)),
        "conductors": insulated(cable),
        "awg": (kind and kind.awg) or None,
        "family": kind.family if kind else "",
        "length_ft": totals.feet(cable.cut_in),
        "current_a": cable.current_a if cable.conductors else None,
        "drop_percent": cable.drop_percent if cable.conductors else None,
        "label": label(cable),
        "phase": phase,
    }


def _cell(value: Value) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        text = value.replace("\r", " ").replace("\n", " ")
        return f"'{text}" if text.lstrip(" ").startswith(_FORMULA_STARTS) else text
    if isinstance(value, float):
        if not math.isfinite(value):
            msg = f"found {value} in a list; expected a number"
            raise ValueError(msg)
        value = decimal(value)
    if isinstance(value, Decimal):
        text = f"{value:f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return "0" if text == "-0" else text
    return str(value)

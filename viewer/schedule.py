"""The panel on paper: its schedule, the load on each leg, the one-line, for the report and for programs."""

from __future__ import annotations

from decimal import Decimal

from barnloom.routing.plan import CircuitSheet, Plan
from barnloom.routing.store import natural_key
from barnloom.viewer import totals
from barnloom.viewer.questions import panel_line, supply_line
from barnloom.viewer.text import Column, heading_lines, paragraph, row_lines

_LEG_VOLTS = 120
_COLUMNS = (
    Column("space", 6),
    Column("leg", 3),
    Column("breaker", 17),
    Column("circuit", 16),
    Column("load; sized for", 16),
    Column("cable", 11),
    Column("longest", 8),
    Column("drop", 6),
)


def schedule_lines(plan: Plan) -> list[str]:
    """
    Panel schedule as a table, panel by panel, in order of space; under it the load on each leg.

    "load" is what is connected, "sized for" the current that the breaker is sized for.
    """
    lines: list[str] = []
    for panel in _panels(plan):
        sheets = sheets_of(plan, panel)
        lines += ["", f"PANEL {panel}", *heading_lines(_COLUMNS)]
        for sheet in sheets:
            lines += row_lines(_COLUMNS, schedule_cells(plan, sheet))
            for note in sheet.notes:
                lines += paragraph(note, first=" " * 13)
        legs = leg_loads(plan, panel)
        words = ", ".join(f"leg {leg} {va:,.0f} VA ({va / _LEG_VOLTS:.1f} A)" for leg, va in legs.items())
        lines += paragraph(f"connected: {words}")
    return lines


def one_line(plan: Plan) -> list[str]:
    """The way of the current as a few lines: supply, panel, circuits."""
    lines = paragraph(supply_line(plan))
    known = {breakers.panel: breakers for breakers in plan.building.breakers}
    boxes = {circuit.id: len(circuit.boxes) for circuit in plan.building.circuits}
    places = space_words(plan)
    for panel in _panels(plan):
        lines += paragraph(f"-> panel {panel_line(known[panel]) if panel in known else panel}", first="  ")
        for sheet in sheets_of(plan, panel):
            count = boxes.get(sheet.circuit, 0)
            words = (
                f"-> space {places[sheet.circuit] or '?'}, leg {sheet.legs}: {sheet.circuit}, "
                f"{sheet.breaker_a:g} A {sheet.breaker}, "
                f"{cable_words(plan, sheet)}, {count} {'box' if count == 1 else 'boxes'}, {longest_words(plan, sheet)}"
            )
            lines += paragraph(words, first="     ", later=" " * 8)
    return lines


def space_words(plan: Plan) -> dict[str, str]:
    """
    By circuit, the space of its breaker as a person reads it: "4", "1 + 3" of two poles, "5a" of half a tandem breaker.

    Empty: none was found. The halves of a tandem are lettered in the order of their circuits.
    """
    words = {sheet.circuit: " + ".join(map(str, sheet.spaces)) for sheet in plan.circuits}
    for halves in tandems(plan):
        for letter, sheet in zip("ab", halves, strict=True):
            words[sheet.circuit] += letter
    return words


def place_words(plan: Plan) -> dict[str, str]:
    """By circuit, where its breaker is: "space 5a", "spaces 1 + 3", "space ?" where none was found."""
    words = space_words(plan)
    return {
        sheet.circuit: f"space{'s' if len(sheet.spaces) > 1 else ''} {words[sheet.circuit] or '?'}"
        for sheet in plan.circuits
    }


def tandems(plan: Plan) -> list[tuple[CircuitSheet, CircuitSheet]]:
    """Pairs of circuits whose breakers are the halves of a tandem breaker: they have one and the same space."""
    found: dict[tuple[str, tuple[int, ...]], list[CircuitSheet]] = {}
    for sheet in sorted(plan.circuits, key=lambda sheet: natural_key(sheet.circuit)):
        if sheet.spaces:
            found.setdefault((sheet.panel, sheet.spaces), []).append(sheet)
    return [(one, other) for one, other in (pair for pair in found.values() if len(pair) == 2)]


def leg_loads(plan: Plan, panel: str) -> dict[str, float]:
    """
    Connected load (VA) on each leg of a panel.

    What runs from line to line loads both legs by half; on a multiwire circuit each device loads its own line.
    """
    found = {"A": 0.0, "B": 0.0}
    for sheet in sheets_of(plan, panel):
        if len(sheet.legs) < 2:
            found[sheet.legs or "A"] += sheet.load_va
            continue
        devices = [device for device in plan.building.devices if device.circuit == sheet.circuit and device.load_va]
        own = dict.fromkeys(found, 0.0)
        for device in devices:
            if device.volts == 2 * _LEG_VOLTS:
                for leg in sheet.legs:
                    own[leg] += device.load_va / 2
            else:
                own[sheet.legs[device.leg - 1]] += device.load_va
        share = sheet.load_va / sum(own.values()) if any(own.values()) else 0.0
        for leg in found:
            found[leg] += own[leg] * share if share else sheet.load_va / 2
    return found


def _panels(plan: Plan) -> list[str]:
    return sorted({sheet.panel for sheet in plan.circuits}, key=natural_key)


def sheets_of(plan: Plan, panel: str) -> list[CircuitSheet]:
    """Circuits of a panel in order of space; those without one last."""
    own = (sheet for sheet in plan.circuits if sheet.panel == panel)
    return sorted(own, key=lambda sheet: (sheet.spaces or (1000,), natural_key(sheet.circuit)))


def schedule_cells(plan: Plan, sheet: CircuitSheet) -> list[str]:
    """Return a circuit's row: space, leg, breaker, circuit, load with current, cable, longest run, drop."""
    return [
        space_words(plan)[sheet.circuit] or "none",
        sheet.legs,
        breaker_words(sheet) + poles_words(sheet),
        sheet.circuit,
        f"{sheet.load_va:,.0f} VA; {sheet.load_a:.1f} A",
        cable_words(plan, sheet),
        longest_words(plan, sheet),
        f"{sheet.drop_percent:.1f} %",
    ]


def breaker_words(sheet: CircuitSheet) -> str:
    """Say the breaker of a circuit: "20 A ground-fault"."""
    return f"{sheet.breaker_a:g} A" + ("" if sheet.breaker == "plain" else f" {sheet.breaker}")


def poles_words(sheet: CircuitSheet) -> str:
    """Say how many poles a breaker has, to go on with after what it is; empty for one."""
    return "" if sheet.poles == 1 else f", {sheet.poles} poles"


def longest_words(plan: Plan, sheet: CircuitSheet) -> str:
    """Say how far it is from the panel to the farthest box of a circuit."""
    return totals.run_of(Decimal(f"{sheet.longest_ft:.4f}"), metric=plan.building.metric)


def cable_words(plan: Plan, sheet: CircuitSheet) -> str:
    """Types of a circuit's cables; of one without cables, the size of its conductors."""
    types = {cable.type for cable in plan.cables if sheet.circuit in cable.circuit.split()}
    return ", ".join(sorted(types, key=natural_key)) or f"{sheet.awg} AWG"

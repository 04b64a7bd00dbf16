"""The lists of the electrical half for programs and spreadsheets: fill of boxes, circuits, nets, dead tests."""

from __future__ import annotations

from barnloom.routing.plan import Joint, Plan
from barnloom.routing.store import natural_key
from barnloom.routing.wiring.deadtest import dead_tests
from barnloom.routing.wiring.probing import end_words, terminal_words
from barnloom.viewer.rows import Row

FILL_COLUMNS = ("box", "what", "count", "awg", "each_in3", "total_in3", "clause")
CIRCUIT_COLUMNS = (
    ("circuit", "title", "panel", "space", "leg", "breaker_a", "breaker", "poles", "volts", "load_va", "load_a")
    + ("awg", "longest_run_ft", "drop_percent", "phase", "notes")
)  # fmt: skip
NET_COLUMNS = ("box", "circuit", "cable", "conductor", "marked", "net", "joined_with")
DEAD_COLUMNS = (
    ("test", "circuit", "box_a", "conductor_a", "box_b", "conductor_b", "positions", "expected", "why")
)  # fmt: skip


def fill_rows(plan: Plan) -> list[Row]:
    """What fills each box, line by line; then its total, and the volume it has (blank: not known)."""
    rows: list[Row] = []
    for makeup in sorted(plan.makeups, key=lambda makeup: natural_key(makeup.box)):
        if not makeup.fill:
            continue
        rows += [
            {
                "box": makeup.box,
                "what": line.what,
                "count": line.count,
                "awg": line.awg or None,
                "each_in3": line.each_in3,
                "total_in3": line.total_in3,
                "clause": line.clause,
            }
            for line in makeup.fill
        ]
        for what, value in (("total", makeup.fill_in3), ("volume", makeup.volume_in3 or None)):
            rows.append(
                dict.fromkeys(FILL_COLUMNS) | {"box": makeup.box, "what": what, "total_in3": value, "clause": ""}
            )
    return rows


def circuit_rows(plan: Plan) -> list[Row]:
    """Panel schedule, in order of circuit."""
    circuits = {circuit.id: circuit for circuit in plan.building.circuits}
    return [
        {
            "circuit": sheet.circuit,
            "title": circuits[sheet.circuit].title,
            "panel": sheet.panel,
            "space": " ".join(map(str, sheet.spaces)),
            "leg": sheet.legs,
            "breaker_a": sheet.breaker_a,
            "breaker": sheet.breaker,
            "poles": sheet.poles,
            "volts": sheet.volts,
            "load_va": sheet.load_va,
            "load_a": sheet.load_a,
            "awg": sheet.awg,
            "longest_run_ft": sheet.longest_ft,
            "drop_percent": sheet.drop_percent,
            "phase": circuits[sheet.circuit].phase,
            "notes": "; ".join(sheet.notes),
        }
        for sheet in sorted(plan.circuits, key=lambda sheet: natural_key(sheet.circuit))
    ]


def net_rows(plan: Plan) -> list[Row]:
    """Every conductor's end in every box, in order of box and cable, and what else is joined with it."""
    cables = {cable.id: cable for cable in plan.cables}
    marked = {(cable.id, one.colour): one.marked for cable in plan.cables for one in cable.conductors}
    guarded = {sheet.circuit for sheet in plan.circuits if sheet.breaker != "plain"}
    rows: list[Row] = []
    for makeup in sorted(plan.makeups, key=lambda makeup: natural_key(makeup.box)):
        own: list[Row] = []
        for joint in makeup.joints:
            terminals = [_terminal_words(joint, *terminal, guarded) for terminal in joint.terminals]
            for end in joint.ends:
                others = [end_words(*other) for other in joint.ends if other != end]
                own.append(
                    {
                        "box": makeup.box,
                        "circuit": cables[end[0]].circuit,
                        "cable": end[0],
                        "conductor": end[1],
                        "marked": marked[end],
                        "net": joint.net,
                        "joined_with": "; ".join([*others, *terminals]),
                    }
                )
        rows += sorted(own, key=lambda row: (natural_key(str(row["cable"])), str(row["conductor"])))
    return rows


def _terminal_words(joint: Joint, owner: str, name: str, guarded: set[str]) -> str:
    """A terminal in words. A breaker that protects takes the neutral: on the bar it would trip, or not protect."""
    if name == "neutral bar" and joint.circuit in guarded:
        return f"neutral terminal of breaker {joint.circuit} of {owner}"
    return terminal_words(owner, name)


def dead_rows(plan: Plan) -> list[Row]:
    """What a meter must read before power comes on, in the order of one walk."""
    return [
        {
            "test": number,
            "circuit": test.circuit,
            "box_a": test.box_a,
            "conductor_a": test.conductor_a,
            "box_b": test.box_b,
            "conductor_b": test.conductor_b,
            "positions": test.positions,
            "expected": test.expected,
            "why": test.why,
        }
        for number, test in enumerate(dead_tests(plan), 1)
    ]

"""``takeoff.xlsx``: the lists of a plan as one workbook, real numbers with their units, sums as formulas.

A formula is written with the value that it has, so that a viewer that does not calculate shows it. Prices stand in one
place, the takeoff, and are a person's to change.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby

from barnloom.model.lengths import format_length
from barnloom.routing.plan import Plan
from barnloom.viewer import tables, totals
from barnloom.viewer.cautions import CAUTIONS, title_lines, warnings
from barnloom.viewer.lists import unreached_lines
from barnloom.viewer.rows import Value
from barnloom.viewer.takeoff import BY_FOOT, coil_rows, takeoff_rows
from barnloom.viewer.wired_tables import circuit_rows, fill_rows
from barnloom.viewer.xlsx import Cell, Cells, Column, Formula, Place, Sheet, to_xlsx


@dataclass(frozen=True, slots=True)
class _Units:
    """Units of the scene: small ones for places and parts, large ones for what is bought."""

    metric: bool

    @property
    def small(self) -> str:
        """What places are measured in."""
        return "mm" if self.metric else "in"

    @property
    def large(self) -> str:
        """What cable is measured in."""
        return "m" if self.metric else "ft"

    @property
    def small_look(self) -> str:
        """As precise as a length comes."""
        return "one" if self.metric else "plain"

    @property
    def in_large(self) -> int:
        """Small ones in a large one."""
        return 1000 if self.metric else 12

    def of(self, inches: object) -> float | None:
        """Turn inches into small units, to a millionth."""
        if inches is None:
            return None
        return round(float(str(inches)) * (25.4 if self.metric else 1.0), 6)

    def tape(self, inches: object) -> str:
        """Return inches as a tape is read."""
        return "" if inches is None else format_length(float(str(inches)), metric=self.metric)


def workbook(plan: Plan) -> bytes:
    """
    Write the lists of a plan as one workbook.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    bytes
        An Office Open XML workbook, the same for the same plan. Sheets: Read first, Takeoff, Coils, Totals, Cables,
        Holes, Boxes, Fill, Circuits. Lengths are in inches and feet, or in millimetres and metres where the scene is
        metric; what a store sells by the foot stays in feet.
    """
    units = _Units(plan.building.metric)
    cables, fill = _cables(plan, units), _fill(plan)
    sheets = (
        _read_first(plan),
        _takeoff(plan),
        _coils(plan),
        _totals(plan, units, cables),
        cables,
        _holes(plan, units),
        _boxes(plan, units, fill),
        fill,
        _circuits(plan),
    )
    return to_xlsx(plan.building.title, sheets, metric=plan.building.metric)


def _read_first(plan: Plan) -> Sheet:
    """Cautions, questions with their answers and room to answer, assumptions, warnings, what is not reached."""

    def row(what: str, words: str, answer: str = "", who: str = "", when: str = "") -> Cells:
        return {"what": what, "words": words, "answer": answer, "who": who, "when": when}

    rows = [row("caution", words) for words in CAUTIONS]
    for kept in sorted(plan.building.answers, key=lambda kept: not kept.assumed):
        answer = f"{kept.answer} {kept.detail}".strip()
        if kept.assumed:
            rows.append(row("open question", kept.question, f"not answered; planned as: {answer}"))
        else:
            rows.append(row("question", kept.question, answer, kept.who, kept.when))
    rows += [row("assumed", words) for words in plan.assumptions]
    rows += [row("warning", words) for words in warnings(plan)]
    rows += [row("not reached", words) for words in unreached_lines(plan)]
    columns = (
        Column(key="what", heading="what"),
        Column(key="words", heading="in words", widest=70),
        Column(key="answer", heading="answer"),
        Column(key="who", heading="who says so"),
        Column(key="when", heading="when"),
    )
    above = (*title_lines(plan), "Prices with a dotted border (sheet Takeoff) are yours to change: sums follow them.")
    return Sheet(name="Read first", columns=columns, rows=rows, above=above)


def _takeoff(plan: Plan) -> Sheet:
    rows: list[Cells] = []
    for row in takeoff_rows(plan):
        # Cable as it is cut is bought as coils and by the foot, in rows of its own: a price here would count twice.
        bought = row["item"] != "cable"
        price = Formula(text=_price, value=_number(row["price"]) if row["price"] is not None else "")
        rows.append({**row, "price": price if bought else None})
    columns = (
        Column(key="where", heading="aisle"),
        Column(key="item", heading="item"),
        Column(key="size", heading="size"),
        Column(key="quantity", heading="quantity", look="plain"),
        Column(key="unit", heading="unit"),
        Column(key="unit_price", heading="price of one (yours to change)", look="yours"),
        Column(key="price", heading="price", look="money", foot="sum"),
        Column(key="phase", heading="phase", look="whole"),
    )
    return Sheet(name="Takeoff", columns=columns, rows=rows)


def _price(at: Place) -> str:
    each = at("unit_price")
    return f'=IF({each}="","",ROUND({at("quantity")}*{each},2))'


def _coils(plan: Plan) -> Sheet:
    """What is cut off each coil, the longest first; what they cost stands in the takeoff."""
    rows: list[Cells] = []
    for (_, coil), found in groupby(coil_rows(plan), key=lambda row: (row["type"], row["coil"])):
        cuts = list(found)
        for row in cuts:
            alone = coil == BY_FOOT
            ends = row if alone else cuts[-1]
            left = None
            if ends["left_ft"] is not None:
                left = Formula(text=_left_of_cut if alone else _left_of_coil, value=_number(ends["left_ft"]))
            rows.append({**row, "coil": _counted(coil), "left": left})
    columns = (
        Column(key="type", heading="type"),
        Column(key="coil", heading="coil, number"),
        Column(key="coil_ft", heading="coil, ft", look="plain"),
        Column(key="cable", heading="cut for cable"),
        Column(key="cut_ft", heading="cut, ft", look="two", foot="sum"),
        Column(key="left", heading="left of it in the end, ft", look="two"),
    )
    return Sheet(name="Coils", columns=columns, rows=rows)


def _left_of_cut(at: Place) -> str:
    return f"=ROUND({at('coil_ft')}-{at('cut_ft')},3)"


def _left_of_coil(at: Place) -> str:
    same = f"EXACT({at.whole('type')},{at('type')})*({at.whole('coil')}={at('coil')})"
    return f"=ROUND({at('coil_ft')}-SUMPRODUCT({same}*{at.whole('cut_ft')}),3)"


def _totals(plan: Plan, units: _Units, cables: Sheet) -> Sheet:
    """Cable and holes by circuit, type and floor; the rows of a kind add up to the total."""
    columns_of = {"circuit": "circuit", "type": "type", "floor": "floor", "between": "floor"}
    rows: list[Cells] = []
    for share in totals.shares(plan):
        row: Cells = {"by": share.by, "name": share.name, "holes": share.holes, "holes_to_bore": share.holes_to_bore}
        for key, feet in (("cut", share.feet), ("buy", share.feet_to_buy)):
            value = float(feet * Decimal("0.3048")) if units.metric else float(feet)
            by = columns_of.get(share.by, "")
            row[key] = Formula(text=_summed(cables, by, to_buy=key == "buy"), value=value) if cables.rows else value
        rows.append(row)
    columns = (
        Column(key="by", heading="by"),
        Column(key="name", heading="name"),
        Column(key="cut", heading=f"cable, {units.large}", look="two"),
        Column(key="buy", heading=f"of it to buy, {units.large}", look="two"),
        Column(key="holes", heading="holes", look="whole"),
        Column(key="holes_to_bore", heading="of them to bore", look="whole"),
    )
    return Sheet(name="Totals", columns=columns, rows=rows)


def _summed(cables: Sheet, by: str, *, to_buy: bool) -> Callable[[Place], str]:
    """
    Sum the cables whose text in a column is the name in this row.

    Not by SUMIF, which takes "12/2" for a date and "*" for anything.
    """

    def text(at: Place) -> str:
        parts = [f"EXACT({cables.abroad(by)},{at('name')})"] if by else []
        parts += [f'EXACT({cables.abroad("done")},"no")'] if to_buy else []
        return f"=SUMPRODUCT({'*'.join([*parts, cables.abroad('cut_large')])})"

    return text


def _cables(plan: Plan, units: _Units) -> Sheet:
    parts = {"path_in": "path", "entries_in": "entries", "free_in": "free ends", "panel_in": "at panel"}
    parts |= {"slack_in": "slack"}
    rows: list[Cells] = []
    for row in tables.cable_rows(plan):
        cut = Formula(text=lambda at: f"=SUM({at('path_in')}:{at('slack_in')})", value=units.of(row["cut_in"]) or 0.0)
        feet = Decimal(str(row["cut_ft"]))
        large = float(feet * Decimal("0.3048")) if units.metric else float(feet)
        rows.append(
            {
                **row,
                **{part: units.of(row[part]) for part in parts},
                "cut_in": cut,
                "cut_large": Formula(text=lambda at: f"=ROUND({at('cut_in')}/{units.in_large},4)", value=large),
                "cut_tape": units.tape(row["cut_in"]),
            }
        )
    columns = (
        Column(key="cable", heading="cable"),
        Column(key="circuit", heading="circuit"),
        Column(key="type", heading="type"),
        Column(key="from", heading="from"),
        Column(key="to", heading="to"),
        *(
            Column(key=key, heading=f"{words}, {units.small}", look=units.small_look, foot="sum")
            for key, words in parts.items()
        ),
        Column(key="cut_in", heading=f"cut, {units.small}", look=units.small_look, foot="sum"),
        Column(key="cut_large", heading=f"cut, {units.large}", look="two", foot="sum"),
        Column(key="cut_tape", heading="cut, on the tape"),
        Column(key="holes", heading="holes", look="whole"),
        Column(key="staples", heading="staples", look="whole", foot="sum"),
        Column(key="phase", heading="phase", look="whole"),
        Column(key="done", heading="pulled already"),
        Column(key="floor", heading="floor"),
        Column(key="current_a", heading="most current, A", look="two"),
        Column(key="drop_percent", heading="voltage drop, %", look="two"),
        Column(key="path", heading="path (not printed)", look="plain", printed=False),
    )
    return Sheet(name="Cables", columns=columns, rows=rows)


def _holes(plan: Plan, units: _Units) -> Sheet:
    rows: list[Cells] = []
    for row, bore in zip(tables.hole_rows(plan), plan.bores, strict=True):
        places = ("along_in", "across_in", "across_min_in", "across_max_in", "diameter_in", "margin_in")
        rows.append(
            {
                **row,
                **{place: units.of(row[place]) for place in places},
                "along_tape": units.tape(row["along_in"]),
                "across_tape": units.tape(row["across_in"]),
                "diameter_tape": units.tape(row["diameter_in"]),
                "plates": len(bore.nail_plates),
            }
        )
    small, look = units.small, units.small_look
    columns = (
        Column(key="hole", heading="hole"),
        Column(key="member", heading="member", foot="count"),
        Column(key="diameter_in", heading=f"bit, {small}", look="plain"),
        Column(key="diameter_tape", heading="bit"),
        Column(key="along_in", heading=f"along, {small}", look=look),
        Column(key="along_tape", heading="along, on the tape"),
        Column(key="along_from", heading="along from"),
        Column(key="across_in", heading=f"aim across, {small}", look=look),
        Column(key="across_tape", heading="aim across, on the tape"),
        Column(key="across_from", heading="across from"),
        Column(key="across_min_in", heading=f"allowed from, {small}", look=look),
        Column(key="across_max_in", heading=f"allowed to, {small}", look=look),
        Column(key="cables", heading="cables"),
        Column(key="plates", heading="nail plates", look="whole", foot="sum"),
        Column(key="nail_plates", heading="plates on"),
        Column(key="existing", heading="there already"),
        Column(key="margin_in", heading=f"to spare, {small}", look=look),
        Column(key="rule", heading="rule"),
    )
    return Sheet(name="Holes", columns=columns, rows=rows)


def _boxes(plan: Plan, units: _Units, fill: Sheet) -> Sheet:
    rows: list[Cells] = []
    for row in tables.box_rows(plan):
        filled: Cell = None
        room: Cell = None
        if row["fill_in3"] is not None:
            filled = Formula(text=_filled_by(fill), value=_number(row["fill_in3"]))
            if row["volume_in3"] is not None:
                left = _number(row["volume_in3"]) - _number(row["fill_in3"])
                room = Formula(text=lambda at: f"={at('volume_in3')}-{at('fill_in3')}", value=left)
        places = {place: units.of(row[place]) for place in ("height_in", "x_in", "y_in", "z_in")}
        rows.append({**row, **places, "fill_in3": filled, "room": room, "height_tape": units.tape(row["height_in"])})
    small, look = units.small, units.small_look
    columns = (
        Column(key="box", heading="box", foot="count"),
        Column(key="title", heading="title"),
        Column(key="circuit", heading="circuit"),
        Column(key="device", heading="device"),
        Column(key="storey", heading="storey"),
        Column(key="host", heading="in or on"),
        Column(key="side", heading="side"),
        Column(key="height_in", heading=f"height over floor, {small}", look=look),
        Column(key="height_tape", heading="height, on the tape"),
        Column(key="x_in", heading=f"east, {small}", look=look),
        Column(key="y_in", heading=f"north, {small}", look=look),
        Column(key="z_in", heading=f"up, {small}", look=look),
        Column(key="fed_from", heading="fed from"),
        Column(key="cables", heading="cables", look="whole"),
        Column(key="box_type", heading="box to buy"),
        Column(key="ring", heading="ring"),
        Column(key="volume_in3", heading="volume, cu in", look="two"),
        Column(key="fill_in3", heading="filled, cu in", look="two"),
        Column(key="room", heading="to spare, cu in", look="two"),
        Column(key="phase", heading="phase", look="whole"),
        Column(key="reached", heading="reached"),
    )
    return Sheet(name="Boxes", columns=columns, rows=rows)


def _fill(plan: Plan) -> Sheet:
    """Every box: what fills it, the sum of that, and its volume."""
    rows: list[Cells] = []
    for row in fill_rows(plan):
        total: Cell = row["total_in3"]
        if row["what"] == "total":
            total = Formula(text=_filled, value=_number(row["total_in3"]))
        elif row["each_in3"] is not None:
            total = Formula(text=lambda at: f"={at('count')}*{at('each_in3')}", value=_number(row["total_in3"]))
        rows.append({**row, "total_in3": total})
    columns = (
        Column(key="box", heading="box"),
        Column(key="what", heading="what"),
        Column(key="count", heading="allowances", look="plain"),
        Column(key="awg", heading="AWG", look="whole"),
        Column(key="each_in3", heading="each, cu in", look="two"),
        Column(key="total_in3", heading="together, cu in", look="two"),
        Column(key="clause", heading="clause"),
    )
    return Sheet(name="Fill", columns=columns, rows=rows)


def _filled(at: Place) -> str:
    return f"=SUMPRODUCT(EXACT({at.whole('box')},{at('box')})*{at.whole('count')}*{at.whole('each_in3')})"


def _filled_by(fill: Sheet) -> Callable[[Place], str]:
    box, count, each = (fill.abroad(key) for key in ("box", "count", "each_in3"))
    return lambda at: f"=SUMPRODUCT(EXACT({box},{at('box')})*{count}*{each})"


def _circuits(plan: Plan) -> Sheet:
    rows: list[Cells] = [{**row, "space": _counted(row["space"])} for row in circuit_rows(plan)]
    columns = (
        Column(key="circuit", heading="circuit"),
        Column(key="title", heading="title"),
        Column(key="panel", heading="panel"),
        Column(key="space", heading="space"),
        Column(key="leg", heading="leg"),
        Column(key="breaker_a", heading="breaker, A", look="plain"),
        Column(key="breaker", heading="kind of breaker"),
        Column(key="poles", heading="poles", look="whole"),
        Column(key="volts", heading="volts", look="whole"),
        Column(key="load_va", heading="connected load, VA", look="plain", foot="sum"),
        Column(key="load_a", heading="load that sizes it, A", look="two"),
        Column(key="awg", heading="AWG", look="whole"),
        Column(key="longest_run_ft", heading="longest run, ft", look="two"),
        Column(key="drop_percent", heading="voltage drop, %", look="two"),
        Column(key="phase", heading="phase", look="whole"),
        Column(key="notes", heading="notes"),
    )
    return Sheet(name="Circuits", columns=columns, rows=rows)


def _number(value: Value) -> float:
    return float(value or 0)


def _counted(value: Value) -> Value:
    """Return a number that is written in letters as a number."""
    return int(value) if isinstance(value, str) and value.isascii() and value.isdecimal() else value

"""The way of the current on one sheet: source, feeder, disconnect, panel, breakers with their circuits, bars, ground.

At full size. One line stands for all wires of a cable. Breakers and the ground are drawn in the tradition of ANSI Y32.2
(from memory): a gap with an arc over it, three strokes each shorter than the one above.
"""

from __future__ import annotations

from barnloom.model.errors import InputError
from barnloom.model.lengths import format_length
from barnloom.routing.plan import CircuitSheet, Plan
from barnloom.viewer.drawing import Arc, Bounds, Circle, Drawing, Fill, Item, Line, Pen, Point, Polygon, Text
from barnloom.viewer.drawings.wiring_circuit import PAGE_IN
from barnloom.viewer.lettering import lines, shortened
from barnloom.viewer.schedule import (
    breaker_words,
    cable_words,
    longest_words,
    place_words,
    poles_words,
    sheets_of,
)
from barnloom.viewer.text import clean

EM_IN = 9.0 / 72.0
_LINE_IN, _STEP_IN, _TITLE_IN = 0.155, 0.5, 0.4
_MAIN_X, _BUS_X, _BREAKER_X = 0.35, 0.9, 1.5
_CIRCUIT_X = 2.0
_PEN, _BUS, _THIN = Pen(width_in=0.018), Pen(width_in=0.05), Pen(width_in=0.012, dash=(0.06, 0.04))
_WHITE = Fill(colour="#ffffff")


def one_line(plan: Plan, panel: str, *, size_in: tuple[float, float] = PAGE_IN) -> tuple[Drawing, ...]:
    """
    Draw the one-line of a panel.

    Parameters
    ----------
    plan : Plan
    panel : str
        Its box's id.
    size_in : (width, height)
        Inches of one page.

    Returns
    -------
    tuple of Drawing
        At full size, as many as the circuits need; bars and electrodes are on the last.

    Raises
    ------
    InputError
        If there is no such panel.
    """
    if not any(box.id == panel and box.kind == "panel" for box in plan.building.boxes):
        raise InputError(panel, "the id of a panel")
    pages: list[_Page] = [_Page(plan, panel, size_in)]
    pages[0].supply()
    for sheet in sheets_of(plan, panel):
        if not pages[-1].room(_circuit_rows(plan, sheet, size_in[0])):
            pages.append(_Page(plan, panel, size_in))
            pages[-1].goes_on()
        pages[-1].circuit(sheet)
    if not pages[-1].room(6):
        pages.append(_Page(plan, panel, size_in))
        pages[-1].goes_on()
    pages[-1].bars()
    return tuple(page.drawing(n, len(pages)) for n, page in enumerate(pages, 1))


class _Page:
    """One page, filled from the top down; ``y`` is where the next thing goes, 0 being the top."""

    def __init__(self, plan: Plan, panel: str, size: tuple[float, float]) -> None:
        self.plan, self.panel, self.size = plan, panel, size
        self.items: list[Item] = []
        self.y = -_TITLE_IN
        self.bus_top = self.frame_top = self.y
        self.bus_foot = self.frame_foot = 0.0
        """0: they go on to the foot of the page."""

    def room(self, rows: float) -> bool:
        """Whether so many rows of words still fit."""
        return self.y - rows * _LINE_IN - 0.2 >= -self.size[1]

    def drawing(self, number: int, count: int) -> Drawing:
        title = clean(f"one-line of panel {self.panel}") + (f", part {number} of {count}" if count > 1 else "")
        head = _text(0, -0.13, shortened(title, EM_IN, self.size[0], bold=True), "title", bold=True)
        bus = Line(start=(_BUS_X, self.bus_top + 0.02), end=(_BUS_X, self.bus_foot or self.y), pen=_BUS, layer="bus")
        left, right, foot = 0.05, self.size[0] - 0.02, self.frame_foot or self.y
        corners = ((left, self.frame_top), (right, self.frame_top), (right, foot), (left, foot))
        frame = Polygon(points=corners, pen=_THIN, fill=None, layer="panel")
        bounds = Bounds(left=0, bottom=self.y - 0.02, right=self.size[0], top=0)
        return Drawing(title=title, items=(head, frame, bus, *self.items), bounds=bounds)

    # --- from the source to the bus ----------------------------------------------------------------------------------

    def supply(self) -> None:
        """Source, its breaker, feeder, disconnect, main breaker."""
        supply = self.plan.building.supply
        source = supply.from_where if supply.said else ""
        self._circle("S", f"source: {source or 'not said'}")
        if supply.said:
            self._breaker(f"its breaker: {_amps(supply.breaker_a)}")
        self._run(self._feeder_words())
        disconnect = _amps(supply.disconnect_a) if supply.said else "not said"
        self._breaker(f"disconnect: {disconnect}{', nearest to where the supply comes in' if supply.separate else ''}")
        self.frame_top = self.y
        breakers = next((one for one in self.plan.building.breakers if one.panel == self.panel), None)
        main = _amps(breakers.main_a) if breakers else "not said"
        self._breaker(f"panel {self.panel}, main: {main}{f', {breakers.spaces} spaces' if breakers else ''}", bold=True)
        self.items.append(_line((_MAIN_X, self.y), (_MAIN_X, self.y - 0.12)))
        self.y -= 0.12
        self.items.append(_line((_MAIN_X, self.y), (_BUS_X, self.y)))
        self.bus_top = self.y

    def goes_on(self) -> None:
        """The bus of a page before."""
        self.frame_top = self.y
        self.y -= 0.1
        self.bus_top = self.y

    def _feeder_words(self) -> str:
        supply = self.plan.building.supply
        if not supply.said:
            return "feeder: not said"
        words = [f"{supply.wires} wires{f' of {supply.awg} AWG' if supply.awg else ', size not said'}"]
        length = format_length(supply.length_in, metric=self.plan.building.metric) if supply.length_in else ""
        words += [part for part in (supply.family, length or "length not said", supply.method) if part]
        return f"{supply.kind}: {', '.join(words)}"

    def _circle(self, letter: str, words: str) -> None:
        middle = (_MAIN_X, self.y - 0.15)
        self.items.append(Circle(centre=middle, radius_in=0.15, pen=_PEN, fill=_WHITE, layer="symbols"))
        self.items.append(_text(middle[0], middle[1], letter, "symbols", anchor="middle", bold=True))
        self._beside(middle[1], words)
        self.y -= 0.3

    def _run(self, words: str) -> None:
        """A length of cable with a stroke through it."""
        self.items.append(_line((_MAIN_X, self.y), (_MAIN_X, self.y - _STEP_IN)))
        middle = self.y - _STEP_IN / 2
        self.items.append(_line((_MAIN_X - 0.07, middle - 0.07), (_MAIN_X + 0.07, middle + 0.07)))
        self._beside(middle, words)
        self.y -= _STEP_IN

    def _breaker(self, words: str, *, bold: bool = False) -> None:
        """A breaker in the upright line."""
        lead, gap = 0.09, 0.24
        ends = self.y - lead, self.y - lead - gap
        self.items += [
            _line((_MAIN_X, self.y), (_MAIN_X, ends[0])),
            Arc(
                centre=(_MAIN_X, (ends[0] + ends[1]) / 2),
                radius_in=gap / 2,
                from_deg=90,
                to_deg=270,
                pen=_PEN,
                layer="symbols",
            ),
            _line((_MAIN_X, ends[1]), (_MAIN_X, ends[1] - lead)),
        ]
        self._beside((ends[0] + ends[1]) / 2, words, bold=bold)
        self.y = ends[1] - lead

    def _beside(self, middle: float, words: str, *, bold: bool = False) -> None:
        said = shortened(clean(words), EM_IN, self.size[0] - _BUS_X, bold=bold)
        self.items.append(_text(_MAIN_X + 0.3, middle, said, "words", bold=bold))

    # --- circuits ----------------------------------------------------------------------------------------------------

    def circuit(self, sheet: CircuitSheet) -> None:
        """A breaker off the bus, and what it feeds."""
        said = _circuit_lines(self.plan, sheet, self.size[0])
        middle = self.y - 0.16
        self.items += [
            _line((_BUS_X, middle), (_BREAKER_X - 0.11, middle)),
            Arc(centre=(_BREAKER_X, middle), radius_in=0.11, from_deg=0, to_deg=180, pen=_PEN, layer="symbols"),
            _line((_BREAKER_X + 0.11, middle), (_CIRCUIT_X - 0.08, middle)),
        ]
        for n, line in enumerate(said):
            self.items.append(_text(_CIRCUIT_X, middle - n * _LINE_IN, line, "circuits", bold=n == 0))
        self.y -= 0.16 + len(said) * _LINE_IN

    # --- bars --------------------------------------------------------------------------------------------------------

    def bars(self) -> None:
        """End of the bus; the neutral bar; the ground bar with the electrodes."""
        supply = self.plan.building.supply
        self.y -= 0.1
        self.bus_foot = self.y
        bonded = any(one.panel == self.panel and one.neutral_bonded for one in self.plan.building.breakers)
        apart = "the two bars are joined here, as the scene says" if bonded else "apart from the ground bar: no strap"
        self.y -= 0.25
        neutral = self.y
        self._bar(f"neutral bar: {apart if supply.separate or bonded else 'as the supply needs it'}")
        self.y -= 0.3
        ground = self.y
        self._bar("ground bar: bare wires of all cables")
        if bonded:
            self.items.append(_line((_BUS_X + 0.5, neutral), (_BUS_X + 0.5, ground)))
        self.frame_foot = ground - 0.13
        electrodes = supply.electrodes if supply.said and supply.electrodes else "not said"
        self.items.append(_line((_BUS_X + 0.1, ground), (_BUS_X + 0.1, ground - 0.25)))
        for n, half in enumerate((0.13, 0.085, 0.04)):
            level = ground - 0.25 - n * 0.055
            self.items.append(_line((_BUS_X + 0.1 - half, level), (_BUS_X + 0.1 + half, level)))
        self.items.append(
            _text(
                _CIRCUIT_X,
                ground - 0.28,
                shortened(clean(f"electrodes: {electrodes}"), EM_IN, self.size[0] - _CIRCUIT_X),
                "words",
            )
        )
        self.y = ground - 0.52
        self.items.append(
            _text(
                0,
                self.y + 0.03,
                "From the source to the main is licensed work, and so is the panel where the law says so.",
                "words",
            )
        )
        self.y -= 0.08

    def _bar(self, words: str) -> None:
        corners = (
            (_BUS_X, self.y - 0.04),
            (_BREAKER_X + 0.2, self.y - 0.04),
            (_BREAKER_X + 0.2, self.y + 0.04),
            (_BUS_X, self.y + 0.04),
        )
        self.items.append(Polygon(points=corners, pen=_PEN, fill=_WHITE, layer="bars"))
        self.items.append(_text(_CIRCUIT_X, self.y, words, "words"))


def _amps(amps: float) -> str:
    return f"{amps:g} A" if amps else "not said"


def _circuit_lines(plan: Plan, sheet: CircuitSheet, width: float) -> list[str]:
    title = next((one.title for one in plan.building.circuits if one.id == sheet.circuit), "")
    boxes = next((len(one.boxes) for one in plan.building.circuits if one.id == sheet.circuit), 0)
    named = f" ({title})" if title and title != sheet.circuit else ""
    place = f"{place_words(plan)[sheet.circuit]}, leg {sheet.legs or '?'}"
    head = f"{sheet.circuit}{named}: {breaker_words(sheet)}{poles_words(sheet)}, {place}"
    fed = (
        f"{cable_words(plan, sheet)}; {boxes} {'box' if boxes == 1 else 'boxes'}; "
        f"{sheet.load_va:,.0f} VA, {sheet.load_a:.1f} A; longest {longest_words(plan, sheet)}; "
        f"drop {sheet.drop_percent:.1f} %"
    )
    room = width - _CIRCUIT_X
    return [shortened(clean(head), EM_IN, room, bold=True), *lines(fed, EM_IN, room)]


def _circuit_rows(plan: Plan, sheet: CircuitSheet, width: float) -> float:
    return 1.2 + len(_circuit_lines(plan, sheet, width))


def _line(start: Point, end: Point) -> Line:
    return Line(start=start, end=end, pen=_PEN, layer="lines")


def _text(x: float, middle: float, text: str, layer: str, *, anchor: str = "start", bold: bool = False) -> Text:
    at = (x, middle - 0.365 * EM_IN)
    return Text(at=at, text=text, height_in=EM_IN, layer=layer, anchor=anchor, bold=bold)

"""A drawn wiring diagram of one box: the cables that enter it, its devices, and every joint as a line to follow.

At full size: an inch of the drawing is an inch of the paper. Every joint has a number, which stands at each of its pins
too, so that no line has to be followed by eye alone. Dots are joints; a line that passes over another is not joined
with it.
"""

from __future__ import annotations

from collections.abc import Iterator

from barnloom.model.errors import InputError
from barnloom.routing.plan import Plan
from barnloom.viewer.drawing import BLACK, Bounds, Circle, Drawing, Fill, Item, Line, Pen, Point, Polygon, Symbol, Text
from barnloom.viewer.drawings.box_blocks import Contents, Pin, Tie, contents
from barnloom.viewer.drawings.box_layout import (
    EDGE_IN,
    EM_IN,
    GAP_IN,
    JACKET_IN,
    ROW_IN,
    STUB_IN,
    BoxLayout,
    Placed,
    laid_out,
)
from barnloom.viewer.drawings.conductors import TAPES, crossing, strokes
from barnloom.viewer.lettering import shortened, width_in

CARD_IN = (190.0 / 25.4, 120.0 / 25.4)
"""Width and greatest height of a diagram."""
_TITLE_IN, _PAD_IN, _KEY_IN = 0.28, 0.1, 0.175
_ABOVE_KEY_IN = 0.05
_DOT_IN, _SCREW_IN = 0.042, 0.036
_THIN, _FIRM = Pen(width_in=0.012), Pen(width_in=0.03)
_JACKET = Fill(colour="#dddddd")
_PAPER = Fill(colour="#ffffff")
_BASE = 0.365
"""Of the em: half the height of capitals, which is how far the base line lies under the middle of a line of words."""


def box_diagrams(
    plan: Plan, box_id: str, *, circuit: str = "", size_in: tuple[float, float] = CARD_IN
) -> tuple[Drawing, ...]:
    """
    Draw how a box is made up.

    Parameters
    ----------
    plan : Plan
    box_id : str
        A box, or a panel.
    circuit : str
        Of a panel: the circuit whose part is drawn.
    size_in : (width, height)
        Inches. Drawings are as wide as this, and no higher.

    Returns
    -------
    tuple of Drawing
        At full size, with letters of 11 pt. One; or more, each with some of the joints in the order in which they are
        made up and with its title on it, where one would be too high.

    Raises
    ------
    InputError
        If nothing is made up there, or a single joint is too much for the size.
    """
    what = contents(plan, box_id, circuit)
    parts = list(_parts(what, size_in))
    titles = [
        f"{what.title}, part {n} of {len(parts)}" if len(parts) > 1 else what.title for n in range(1, len(parts) + 1)
    ]
    several = len(parts) > 1
    return tuple(
        _drawing(part, layout, title, size_in[0], part=several)
        for (part, layout), title in zip(parts, titles, strict=True)
    )


def _parts(what: Contents, size: tuple[float, float]) -> Iterator[tuple[Contents, BoxLayout]]:
    """As many joints in each part as fit."""
    first, last = 1, len(what.ties)
    while first <= last:
        for end in range(last, first - 1, -1):
            part = what.of(range(first, end + 1))
            around = _TITLE_IN + 2 * _PAD_IN + 2 * EDGE_IN + _ABOVE_KEY_IN + len(_key(part, size[0])) * _KEY_IN
            layout = laid_out(part, size[0], (size[1] - around) / ROW_IN)
            if layout is not None:
                yield part, layout
                break
        else:
            raise InputError(what.title, f"joints that fit into {size[0]:.1f} x {size[1]:.1f} in")
        first = end + 1


def _drawing(what: Contents, layout: BoxLayout, title: str, width: float, *, part: bool) -> Drawing:
    key = _key(what, width)
    foot = EDGE_IN + len(key) * _KEY_IN + _ABOVE_KEY_IN
    sheet = _Sheet(what, layout, foot + _PAD_IN + layout.rows * ROW_IN)
    top = sheet.top + _PAD_IN + EDGE_IN + (_TITLE_IN if part else 0.0)
    items: list[Item] = []
    if part:
        words = shortened(title, EM_IN, width - 2 * EDGE_IN, bold=True)
        items.append(_text((EDGE_IN, top - EDGE_IN - 0.13), words, "title", bold=True))
    items += [*sheet.outline(), *sheet.cables(), *sheet.devices(), *sheet.tags(), *sheet.wires()]
    for n, line in enumerate(key):
        items += _key_line(line, EDGE_IN + (len(key) - n - 1) * _KEY_IN)
    return Drawing(title=title, items=tuple(items), bounds=Bounds(left=0, bottom=0, right=width, top=top))


class _Sheet:
    """One diagram being drawn."""

    def __init__(self, what: Contents, layout: BoxLayout, top: float) -> None:
        self.what, self.layout, self.top = what, layout, top
        self.x1, self.x2 = layout.outline
        self._starts = self._wire_starts()

    def y(self, row: float) -> float:
        """Middle of a row."""
        return self.top - (row + 0.5) * ROW_IN

    def outline(self) -> Iterator[Item]:
        high, low = self.top + _PAD_IN, self.top - self.layout.rows * ROW_IN - _PAD_IN
        yield _rectangle(self.x1, low, self.x2, high, _FIRM, _PAPER, "outline")

    def cables(self) -> Iterator[Item]:
        """Jackets outside the box, and labels beside them."""
        for one in self.layout.blocks:
            if one.block.cable:
                high, low = self.y(one.first) + ROW_IN / 2, self.y(one.first + one.size - 1) - ROW_IN / 2
                near, side = (self.x1, -1) if one.left else (self.x2, 1)
                ends = sorted((near, near + side * JACKET_IN))
                yield _rectangle(ends[0], low + 0.02, ends[1], high - 0.02, _THIN, _JACKET, "cable")
                x, anchor = near + side * (JACKET_IN + GAP_IN), "end" if one.left else "start"
                for n, line in enumerate(one.heads):
                    yield _text((x, self.y(one.first + n)), line, "label", anchor=anchor, bold=n == 0)

    def devices(self) -> Iterator[Item]:
        for one in self.layout.blocks:
            if not one.block.cable:
                yield from self._device(one)

    def _device(self, one: Placed) -> Iterator[Item]:
        left, right = self.layout.wires[1], self.x2 - EDGE_IN
        high, low = self.y(one.first) + ROW_IN / 2, self.y(one.first + one.size - 1) - ROW_IN / 2
        yield _rectangle(left, low - 0.01, right, high + 0.01, _THIN, _PAPER, "device")
        for n, line in enumerate(one.heads):
            yield _text((left + GAP_IN, self.y(one.first + n)), line, "device", bold=True)
        if one.block.symbol:
            rows = len(one.rows)
            size = min(0.34, rows * ROW_IN - 0.04)
            at = (right - GAP_IN - size / 2, (self.y(one.rows[0]) + self.y(one.rows[-1])) / 2)
            yield Symbol(name=one.block.symbol, at=at, size_in=size, layer="symbol")

    def tags(self) -> Iterator[Item]:
        """What stands at each pin: the number of its joint, and what it is."""
        for one in self.layout.blocks:
            for line, at in zip(one.block.rows, one.rows, strict=True):
                y, number = self.y(at), str(line.number)
                if line.pin is None:
                    yield _text((self.layout.wires[1] + GAP_IN, y), line.text, "tag")
                elif one.left:
                    yield from self._stub(line.pin, self.x1, 1, y)
                    x = self.x1 + STUB_IN + GAP_IN
                    yield _text((x, y), line.text, "tag")
                    x += width_in(line.text, EM_IN) + GAP_IN
                    yield _text((x, y), number, "number", bold=True)
                else:
                    x = self.layout.wires[1] + GAP_IN
                    yield _text((x, y), number, "number", bold=True)
                    x += self.layout.numbers_in + GAP_IN
                    yield _text((x, y), line.text, "tag")
                    if one.block.cable:
                        room = self.x2 - x - width_in(line.text, EM_IN) - GAP_IN
                        yield from self._stub(line.pin, self.x2, -1, y, room)
                    else:
                        at_edge = (self.layout.wires[1], y)
                        yield Circle(centre=at_edge, radius_in=_SCREW_IN, pen=_THIN, fill=_PAPER, layer="terminal")

    def _stub(self, pin: Pin, x: float, side: int, y: float, room: float = STUB_IN) -> Iterator[Item]:
        """A conductor between its jacket and its tag, with the tape it wears."""
        yield from strokes(((x, y), (x + side * room, y)), self.what.colours[pin], "stub")
        if pin in self.what.tapes:
            ends = sorted((x + side * 0.04, x + side * 0.11))
            fill = Fill(colour=TAPES.get(self.what.tapes[pin], BLACK))
            yield _rectangle(ends[0], y - 0.045, ends[1], y + 0.045, None, fill, "tape")

    def _wire_starts(self) -> dict[Pin, float]:
        """Where the wire of each pin begins: behind its words, at its screw."""
        found = {}
        for one in self.layout.blocks:
            for line in one.block.rows:
                if line.pin is not None and one.left:
                    words = width_in(line.text, EM_IN) + GAP_IN + width_in(str(line.number), EM_IN, bold=True)
                    found[line.pin] = self.x1 + STUB_IN + 2 * GAP_IN + words
                elif line.pin is not None:
                    found[line.pin] = self.layout.wires[1] - (0.0 if one.block.cable else _SCREW_IN)
        return found

    # --- joints -------------------------------------------------------------------------------------------------------

    def wires(self) -> Iterator[Item]:
        """Level wires first, lanes where they pass over them next, dots last."""
        lanes = self.layout.lanes
        for tie in self.what.ties:
            yield from self._capped(tie.pins[0]) if len(tie.pins) == 1 else self._tied(tie, lanes[tie.number])
        for tie in self.what.ties:
            if tie.number in lanes:
                yield from self._passing(tie, lanes[tie.number])
        for tie in self.what.ties:
            if tie.spliced:
                for pin in tie.pins:
                    at = (lanes[tie.number], self.y(self.layout.row[pin]))
                    yield Circle(centre=at, radius_in=_DOT_IN, pen=None, fill=Fill(colour=BLACK), layer="joint")

    def _start(self, pin: Pin) -> Point:
        return self._starts[pin], self.y(self.layout.row[pin])

    def _capped(self, pin: Pin) -> Iterator[Item]:
        """A short end with a bar across; of an empty terminal nothing."""
        if pin in self.what.colours:
            x, y = self._start(pin)
            end = x + (0.08 if self.layout.left[pin] else -0.08)
            yield from strokes(((x, y), (end, y)), self.what.colours[pin], "conductor")
            yield Line(start=(end, y - 0.05), end=(end, y + 0.05), pen=_FIRM, layer="cap")

    def _tied(self, tie: Tie, lane: float) -> Iterator[Item]:
        starts = {pin: self._start(pin) for pin in tie.pins}
        if not tie.spliced:  # one wire from its jacket to its screw
            (near, y1), (far, y2) = (starts[pin] for pin in tie.pins)
            colour = self._lane_colour(tie)
            yield from strokes(((near, y1), (lane, y1), (lane, y2), (far, y2)), colour, "conductor")
            return
        heights = sorted(y for _, y in starts.values())
        yield from strokes(((lane, heights[0]), (lane, heights[-1])), tie.colour, "conductor")
        for pin, (x, y) in starts.items():
            yield from strokes(((x, y), (lane, y)), self.what.colours.get(pin, tie.colour), "conductor")

    def _lane_colour(self, tie: Tie) -> str:
        """A wire that goes straight to a screw keeps its own."""
        own = next((self.what.colours[pin] for pin in tie.pins if pin in self.what.colours), tie.colour)
        return tie.colour if tie.spliced else own

    def _passing(self, tie: Tie, lane: float) -> Iterator[Item]:
        """Where the level wires of other joints cross a lane."""
        layout = self.layout
        heights = [layout.row[pin] for pin in tie.pins]
        for other in self.what.ties:
            if other.number == tie.number or other.number not in layout.lanes:
                continue
            for pin in other.pins:
                beyond = layout.lanes[other.number] > lane if layout.left[pin] else layout.lanes[other.number] < lane
                if beyond and min(heights) < layout.row[pin] < max(heights):
                    yield from crossing((lane, self.y(layout.row[pin])), self._lane_colour(tie), "bridge")


# --- words -----------------------------------------------------------------------------------------------------------

_Key = list[tuple[float, str, str]]
"""One line: place from the left, number, words."""


def _key(what: Contents, width: float) -> list[_Key]:
    """What each joint is for, entries side by side."""
    found: list[_Key] = []
    x = width
    for tie in what.ties:
        number = str(tie.number)
        before = width_in(number, EM_IN, bold=True) + GAP_IN
        words = shortened(tie.words, EM_IN, width - 2 * EDGE_IN - before)
        size = before + width_in(words, EM_IN)
        if x + size > width - EDGE_IN:
            x = EDGE_IN
            found.append([])
        found[-1].append((x, number, words))
        x += size + 3 * GAP_IN
    return found


def _key_line(line: _Key, base: float) -> Iterator[Item]:
    for x, number, words in line:
        y = base + _KEY_IN / 2
        yield _text((x, y), number, "key", bold=True)
        yield _text((x + width_in(number, EM_IN, bold=True) + GAP_IN, y), words, "key")


def _text(middle: Point, text: str, layer: str, *, anchor: str = "start", bold: bool = False) -> Text:
    """Words whose capitals have their middle at this height."""
    at = (middle[0], middle[1] - _BASE * EM_IN)
    return Text(at=at, text=text, height_in=EM_IN, layer=layer, anchor=anchor, bold=bold)


def _rectangle(x1: float, y1: float, x2: float, y2: float, pen: Pen | None, fill: Fill, layer: str) -> Polygon:
    return Polygon(points=((x1, y1), (x2, y1), (x2, y2), (x1, y2)), pen=pen, fill=fill, layer=layer)

"""The legend of a picture: how each circuit is drawn, its feet and holes, what the signs mean, what is missing."""

from __future__ import annotations

import math
from collections import Counter
from itertools import accumulate

import numpy as np

from barnloom.routing.plan import Plan
from barnloom.viewer.drawing import BLACK, Circle, Fill, Item, Line, Pen, Point, Polygon, Polyline, Text
from barnloom.viewer.layout import CABLE_PX, LEGEND_PX, LEGEND_ROW_PX, MARGIN_PX, RING_PX, TITLE_PX, Layout
from barnloom.viewer.lettering import lines, shortened
from barnloom.viewer.palette import QUIET
from barnloom.viewer.text import clean
from barnloom.viewer.totals import Share, run_of, shares

GREY = "#555555"
_BIG_PX, _SMALL_PX = 17.0, 14.5
_SAMPLE_PX, _INDENT_PX = 64.0, 80.0
_MOST_LETTERS = 150
"""Of a list of names."""


def legend(layout: Layout, unlabelled: list[str]) -> tuple[Item, ...]:
    """
    Draw the column to the right of the building, from the top down.

    Parameters
    ----------
    layout : Layout
    unlabelled : list of str
        Names for which the picture had no room.
    """
    column = _Column(layout)
    plan = layout.plan
    column.text("Circuits", _BIG_PX, bold=True, down_px=26)
    titles = {circuit.id: circuit.title for circuit in plan.building.circuits}
    cables = Counter(circuit for _, circuit in {(cable.id, cable.circuit) for cable in plan.cables})
    by_circuit = {share.name: share for share in layout.shares if share.by == "circuit"}
    for name, style in layout.styles.items():
        if name in by_circuit:
            words = f"{share_words(by_circuit[name], plan)}, {_count(cables[name], 'cable')}"
            column.circuit(name, titles.get(name, ""), words, style.colour, style.dash)
    column.rule()
    for line in total_lines(layout):
        column.text(line, _BIG_PX, bold=True)
    column.text("Cut lengths. A hole that circuits share counts once.", _SMALL_PX, colour=GREY, down_px=34)
    column.signs(holes=bool(plan.bores), quiet=bool(layout.quiet_circuits))
    for words in (*_left_out(layout), *_missing(layout, unlabelled)):
        column.paragraph(words)
    return tuple(column.items)


def total_lines(layout: Layout) -> list[str]:
    """Feet and holes of what is shown, and of how many where that is not all."""
    total = _total(layout.shares)
    if layout.look.whole:
        return [f"Together {share_words(total, layout.plan)}"]
    every = _total(shares(layout.whole))
    run, all_of_it = (run_of(each.feet, metric=layout.whole.building.metric) for each in (total, every))
    return [f"Together {run} of {all_of_it}", f"{_used(layout.plan)} of {_count(every.holes, 'hole')}"]


def _total(rows: tuple[Share, ...]) -> Share:
    return next(share for share in rows if share.by == "total")


def _used(plan: Plan) -> int:
    """How many holes have cables in them."""
    return sum(bool(bore.cables) for bore in plan.bores)


def _left_out(layout: Layout) -> list[str]:
    """Say what a picture of a part does not show, and what its figures mean then."""
    if layout.look.whole:
        return []
    plan, whole = layout.plan, layout.whole
    found = []
    shared = _used(plan) - _total(layout.shares).holes
    if shared:
        words = f"{_count(shared, 'hole')} of these {'is' if shared == 1 else 'are'} shared"
        found.append(f"{words}, and counted with other circuits.")
    cut = len({plan.cables[end.cable].id for end in layout.ends})
    if cut:
        found.append(
            f"{_count(cut, 'cable')} {'goes' if cut == 1 else 'go'} on beyond the picture; "
            f"all {'its' if cut == 1 else 'their'} feet are counted."
        )
    storeys = {storey.id for storey in plan.building.storeys}
    away = [f"storey {storey.id}" for storey in whole.building.storeys if storey.id not in storeys]
    away += [f"{a.kind} {a.id}" for a in whole.building.assemblies if a.id in layout.look.without]
    away += [role.replace("_", " ") + "s" for role in layout.look.without_roles]
    hidden = [_names(away)] if away else []
    boxes = len(whole.building.boxes) - len(plan.building.boxes)
    if boxes:
        hidden.append(f"{boxes} of {len(whole.building.boxes)} boxes")
    bores = _used(whole) - _used(plan)
    if bores:
        hidden.append(f"{bores} of {_used(whole)} holes")
    if hidden:
        found.append("Not shown: " + ", ".join(hidden) + ".")
    return found


def _missing(layout: Layout, unlabelled: list[str]) -> list[str]:
    found = []
    shown = {box.id for box in layout.plan.building.boxes} - layout.quiet_boxes
    lost = [name for name in layout.plan.unreached if name in shown]
    if lost:
        found.append("Boxes without a route: " + _names(lost))
    if unlabelled:
        found.append("No room for the labels of: " + _names(unlabelled))
    return found


def _names(names: list[str]) -> str:
    """As many names as fit into a few lines, and how many more there are."""
    length = accumulate(len(name) + 2 for name in names)
    most = max(1, sum(far <= _MOST_LETTERS for far in length))
    rest = len(names) - most
    return ", ".join(names[:most]) + (f" and {rest} more" if rest > 0 else "")


def share_words(share: Share, plan: Plan) -> str:
    """Feet (or metres) to a tenth, and holes."""
    return f"{run_of(share.feet, metric=plan.building.metric)}, {_count(share.holes, 'hole')}"


def _count(number: int, what: str) -> str:
    return f"{number} {what}" + ("" if number == 1 else "s")


class _Column:
    """Items stacked from the top of the legend's column downwards."""

    def __init__(self, layout: Layout) -> None:
        self.items: list[Item] = []
        self._layout = layout
        self._px = layout.px
        self._left = layout.bounds.right - (LEGEND_PX + MARGIN_PX) * layout.px
        self._room = LEGEND_PX * layout.px
        self._y = layout.bounds.top - (TITLE_PX + 24) * layout.px

    def text(self, text: str, size_px: float, *, bold: bool = False, colour: str = BLACK, down_px: float = 24) -> None:
        self._write(text, size_px, 0, bold=bold, colour=colour)
        self._y -= down_px * self._px

    def paragraph(self, text: str) -> None:
        for line in lines(text, _SMALL_PX * self._px, self._room, bold=True):
            self.text(line, _SMALL_PX, bold=True, down_px=19)
        self._y -= 8 * self._px

    def rule(self) -> None:
        y = self._y + 14 * self._px
        pen = Pen(width_in=self._px, colour=GREY)
        self.items.append(Line(start=(self._left, y), end=(self._left + self._room, y), pen=pen, layer="legend"))
        self._y -= 12 * self._px

    def circuit(self, name: str, title: str, words: str, colour: str, dash: tuple[float, ...]) -> None:
        px, width = self._px, CABLE_PX * self._px
        y = self._y + 1 * px
        pen = Pen(width_in=width, colour=colour, dash=tuple(width * part for part in dash))
        ends = ((self._left, y), (self._left + _SAMPLE_PX * px, y))
        self.items.append(Polyline(points=ends, pen=pen, layer="legend"))
        self._write(name, _BIG_PX, _INDENT_PX, bold=True)
        self._write(clean(title), _SMALL_PX, _INDENT_PX, colour=GREY, down_px=20)
        self._write(words, _SMALL_PX, _INDENT_PX, down_px=39 if title else 20)
        self._y -= LEGEND_ROW_PX * px

    def signs(self, *, holes: bool, quiet: bool) -> None:
        px = self._px
        if holes:
            pen = Pen(width_in=1.5 * px)
            ring = Circle(centre=self._sign(), radius_in=RING_PX * px, pen=pen, fill=None, layer="legend")
            self._named(ring, "a hole; joined rings are one hole")
        x, y = self._sign()
        half = 6 * px
        square = ((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half))
        pen, fill = Pen(width_in=1.4 * px), Fill(colour="#e4e4e4")
        self._named(Polygon(points=square, pen=pen, fill=fill, layer="legend"), "a box")
        if quiet:
            x, y = self._sign()
            reach = _SAMPLE_PX / 2 * px
            pen = Pen(width_in=CABLE_PX * QUIET.thick * px, colour=QUIET.colour)
            line = Line(start=(x - reach, y), end=(x + reach, y), pen=pen, layer="legend")
            self._named(line, "other circuits, without their holes")
        self._north()
        self._y -= 10 * px

    def _north(self) -> None:
        """Draw an arrow on the ground that points north."""
        px, (x, y) = self._px, self._sign()
        way = self._layout.view.plane(np.array([0.0, 1.0, 0.0]))
        way = way / math.hypot(*way) * 15 * px
        tip, tail = (x + float(way[0]), y + float(way[1])), (x - float(way[0]), y - float(way[1]))
        side = (-float(way[1]) * 0.35, float(way[0]) * 0.35)
        base = (x + float(way[0]) * 0.15, y + float(way[1]) * 0.15)
        head: tuple[Point, ...] = (tip, (base[0] + side[0], base[1] + side[1]), (base[0] - side[0], base[1] - side[1]))
        self.items.append(Line(start=tail, end=tip, pen=Pen(width_in=1.6 * px), layer="legend"))
        self._named(Polygon(points=head, pen=None, fill=Fill(colour=BLACK), layer="legend"), "north")

    def _sign(self) -> Point:
        return (self._left + _SAMPLE_PX / 2 * self._px, self._y + 5 * self._px)

    def _named(self, item: Item, words: str) -> None:
        self.items.append(item)
        self._write(words, _SMALL_PX, _INDENT_PX)
        self._y -= 30 * self._px

    def _write(
        self,
        text: str,
        size_px: float,
        indent_px: float,
        *,
        bold: bool = False,
        colour: str = BLACK,
        down_px: float = 0.0,
    ) -> None:
        size, indent = size_px * self._px, indent_px * self._px
        text = shortened(text, size, self._room - indent, bold=bold)
        at = (self._left + indent, self._y - down_px * self._px)
        self.items.append(Text(at=at, text=text, height_in=size, bold=bold, colour=colour, layer="legend"))

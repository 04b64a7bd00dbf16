"""The legend of a sheet: symbols that are on it, how circuits are drawn, what the other marks mean."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain

from barnloom.routing.plan import Plan
from barnloom.viewer.drawing import BLACK, WHITE, Bounds, Drawing, Fill, Hatch, Item, Line, Polygon, Polyline, Symbol
from barnloom.viewer.drawings.elevations import CABLE_MM
from barnloom.viewer.drawings.paper import MM_PER_INCH, Paper
from barnloom.viewer.palette import styles
from barnloom.viewer.sheets.blocks import Key, symbols_in
from barnloom.viewer.symbols import SYMBOLS

_WIDE_MM, _HIGH_MM = 12.0, 5.0
_PAPER = Paper(scale=1)
_MARKS = {
    "controls": "what controls what: never the way of a cable",
    "no-screw bands": "no screws here when it is lined",
    "holes": "hole; dark: it wants a nail plate (the list says on which face)",
    "allowed bands": "allowed band of a hole's middle",
    "match lines": "match line: the next sheet goes on here",
    "openings": "opening",
    "keep clear": "to be kept clear",
}


def key(plan: Plan, drawings: Sequence[Drawing], *, columns: int = 1) -> Key:
    """Return the legend of what is on these drawings."""
    layers = {item.layer for one in drawings for item in one.items}
    entries = [(_sample([_symbol(name)]), SYMBOLS[name].words) for name in symbols_in(drawings)]
    titles = {circuit.id: circuit.title for circuit in plan.building.circuits}
    for name, style in styles(plan).items():
        if f"cables {name}" in layers:
            line = Polyline(
                points=((0.0, 0.0), (_WIDE_MM / MM_PER_INCH, 0.0)),
                pen=_PAPER.pen(CABLE_MM, colour=style.colour, dash=style.dash),
                layer="key",
            )
            title = titles.get(name, "")
            entries.append((_sample([line]), f"{name}{f': {title}' if title and title != name else ''}"))
    entries += [(_sample(_mark(layer)), words) for layer, words in _MARKS.items() if layer in layers]
    return Key(entries=entries, columns=columns)


def _symbol(name: str) -> Symbol:
    return Symbol(name=name, at=(_WIDE_MM / 2 / MM_PER_INCH, 0.0), size_in=4.6 / MM_PER_INCH, layer="key")


def _sample(items: Sequence[Item]) -> Drawing:
    half = _HIGH_MM / 2 / MM_PER_INCH
    bounds = Bounds(left=0.0, bottom=-half, right=_WIDE_MM / MM_PER_INCH, top=half)
    return Drawing(title="sample", items=tuple(items), bounds=bounds)


def _mark(layer: str) -> list[Item]:
    mm = _PAPER.mm
    wide, half = mm(_WIDE_MM), mm(1.6)
    frame = ((0.0, -half), (wide, -half), (wide, half), (0.0, half))
    if layer == "controls":
        pen = _PAPER.pen(0.13, dash=(9.0, 7.0))
        curve = tuple((wide * t, mm(3.2) * t * (1 - t) * 2 - mm(0.8)) for t in (n / 10 for n in range(11)))
        return [Polyline(points=curve, pen=pen, layer="key")]
    if layer in ("no-screw bands", "allowed bands"):
        spacing = mm(1.6) if layer == "no-screw bands" else mm(0.7)
        pen = _PAPER.pen(0.1, colour="#888888" if layer == "no-screw bands" else BLACK)
        return [Hatch(points=frame, angle_deg=45.0, spacing_in=spacing, pen=pen, layer="key")]
    if layer == "holes":
        size = mm(1.3)
        return list(
            chain.from_iterable(
                [
                    Polygon(
                        points=(
                            (x - size, -size / 2), (x + size, -size / 2), (x + size, size / 2), (x - size, size / 2)
                        ),
                        pen=_PAPER.pen(0.25),
                        fill=Fill(colour=colour),
                        layer="key",
                    )
                ]
                for x, colour in ((wide * 0.3, WHITE), (wide * 0.7, BLACK))
            )
        )  # fmt: skip
    if layer == "match lines":
        return [Line(start=(0.0, 0.0), end=(wide, 0.0), pen=_PAPER.pen(0.4, dash=(12.0, 4.0, 3.0, 4.0)), layer="key")]
    dash = (2.0, 4.0) if layer == "keep clear" else (8.0, 6.0)
    pen = _PAPER.pen(0.13, colour="#666666", dash=dash)
    found: list[Item] = [Polygon(points=frame, pen=pen, fill=None, layer="key")]
    if layer == "openings":
        found.append(Line(start=frame[0], end=frame[2], pen=pen, layer="key"))
    return found

"""A whole circuit: its boxes from the panel on as a tree, and what every cable between them carries.

At full size. Every box has a line of its own; what goes on from it most keeps its column, what branches off gets one to
the right. Beside it stand its devices, and the cable that feeds it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from barnloom.model.errors import InputError
from barnloom.routing.plan import Cable, Plan
from barnloom.routing.store import natural_key
from barnloom.viewer.drawing import BLACK, Bounds, Drawing, Fill, Item, Pen, Point, Polygon, Polyline, Symbol, Text
from barnloom.viewer.drawings.conductors import Sort, conductor_tag, sort_of
from barnloom.viewer.lettering import lines, shortened, width_in
from barnloom.viewer.text import clean
from barnloom.viewer.wires import devices_in, label, net_words

PAGE_IN = (10.0, 7.2)
"""Room on a landscape letter page."""
EM_IN = 9.0 / 72.0
_LINE_IN, _PAD_IN, _LEAST_ROW_IN = 0.15, 0.045, 0.28
_COLUMN_IN, _NODE_IN, _SYMBOL_IN, _GAP_IN = 0.22, 0.12, 0.24, 0.07
_BOX_SHARE = 0.4
"""Of the room for words: that for a box; the rest is for its cable."""
_TITLE_IN, _FOOT_IN = 0.3, 0.05
_CABLE = Pen(width_in=0.022)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """One box of the tree."""

    box: str
    column: int
    cable: Cable | None
    """What feeds it."""
    parent: int
    """Row of the box that it is fed from."""
    branch: int
    """0: it goes on below the box before it; 1, 2, ...: it branches off."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Words:
    sorts: tuple[Sort, ...]
    name: str
    box: tuple[str, ...]
    cable: tuple[str, ...]
    height_in: float


def circuit_diagrams(plan: Plan, circuit_id: str, *, size_in: tuple[float, float] = PAGE_IN) -> tuple[Drawing, ...]:
    """
    Draw all boxes of a circuit and the cables between them.

    Parameters
    ----------
    plan : Plan
    circuit_id : str
    size_in : (width, height)
        Inches of one page.

    Returns
    -------
    tuple of Drawing
        At full size, as many as are needed; all as wide as the page, the last one no higher than it has to be.

    Raises
    ------
    InputError
        If no cable of the circuit is planned.
    """
    rows = _tree(plan, circuit_id)
    graph = (1 + max(row.column for row in rows)) * _COLUMN_IN + _GAP_IN
    words = [_words(plan, row, size_in[0] - graph) for row in rows]
    title = next((one.title for one in plan.building.circuits if one.id == circuit_id), "")
    head = clean(f"circuit {circuit_id}: {title}" if title and title != circuit_id else f"circuit {circuit_id}")
    tops = [0.0]
    for one in words:
        tops.append(tops[-1] + one.height_in)
    breaks = [0]
    for n in range(1, len(rows) + 1):
        if tops[n] - tops[breaks[-1]] > size_in[1] - _TITLE_IN - _FOOT_IN and n - 1 > breaks[-1]:
            breaks.append(n - 1)
    pages = [*zip(breaks, [*breaks[1:], len(rows)], strict=True)]
    return tuple(
        _page(
            rows, words, tops, page, f"{head}, part {n} of {len(pages)}" if len(pages) > 1 else head, graph, size_in[0]
        )
        for n, page in enumerate(pages, 1)
    )


# --- the tree --------------------------------------------------------------------------------------------------------


def _tree(plan: Plan, circuit_id: str) -> list[_Row]:
    own = [cable for cable in plan.cables if circuit_id in cable.circuit.split()]
    panel = next((one.panel for one in plan.building.circuits if one.id == circuit_id), "")
    after: dict[str, list[Cable]] = {}
    for cable in sorted(own, key=lambda cable: natural_key(cable.id)):
        after.setdefault(cable.from_box, []).append(cable)
    if panel not in after:
        raise InputError(circuit_id, "a circuit of which a cable is planned")
    order = [panel]
    for box in order:
        order += [cable.to_box for cable in after.get(box, ())]
    size: dict[str, int] = {}
    for box in reversed(order):
        size[box] = 1 + sum(size[cable.to_box] for cable in after.get(box, ()))
    rows: list[_Row] = []
    waiting: list[tuple[str, int, Cable | None, int, int]] = [(panel, 0, None, 0, 0)]
    while waiting:
        box, column, feed, parent, branch = waiting.pop()
        at = len(rows)
        rows.append(_Row(box=box, column=column, cable=feed, parent=parent, branch=branch))
        onward = sorted(after.get(box, ()), key=lambda cable: -size[cable.to_box])
        waiting += [(one.to_box, column + n, one, at, n) for n, one in enumerate(onward)]
    return rows


def _words(plan: Plan, row: _Row, room: float) -> _Words:
    makeup = next((one for one in plan.makeups if one.box == row.box), None)
    pins = [pin for joint in makeup.joints for pin in joint.terminals] if makeup else []
    sorts, said = [], []
    for device in devices_in(plan.building, row.box):
        sort = sort_of(device, [name for owner, name in pins if owner == device.id])
        sorts.append(sort)
        named = sort.words if device.id == row.box else f"{sort.words} {device.id}"
        said.append(f"{named} ({device.control})" if device.control else named)
    box = next((one for one in plan.building.boxes if one.id == row.box), None)
    kind = box.kind if box is not None else "box"
    if not said:
        sorts = [Sort(kind, kind)] if kind in ("panel", "stub") else [Sort("junction", "junction")]
        said = [{"panel": "panel", "stub": "end of a cable, for later"}.get(kind, "covered junction")]
    title = clean(box.title) if box is not None and box.title != row.box else ""
    named = f"{', '.join(said)}{f': {title}' if title else ''}"
    signs = len(sorts) * (_SYMBOL_IN + _GAP_IN)
    own_room = room * _BOX_SHARE - signs - _GAP_IN
    name = shortened(row.box, EM_IN, own_room, bold=True)
    lead = width_in(name, EM_IN, bold=True) + _GAP_IN
    own = lines(named, EM_IN, own_room - lead) if lead < 0.5 * own_room else ["", *lines(named, EM_IN, own_room)]
    fed = lines(_cable_words(row.cable), EM_IN, room * (1 - _BOX_SHARE)) if row.cable else []
    height = max(len(own), len(fed)) * _LINE_IN + _PAD_IN
    return _Words(sorts=tuple(sorts), name=name, box=tuple(own), cable=tuple(fed), height_in=max(height, _LEAST_ROW_IN))


def _cable_words(cable: Cable) -> str:
    carried = "; ".join(
        f"{conductor_tag(one)} {net_words(one.net, ())}" for one in cable.conductors if one.net != "ground"
    )
    return f"{label(cable)}: {carried}" if carried else label(cable)


# --- the page --------------------------------------------------------------------------------------------------------


def _page(
    rows: Sequence[_Row],
    words: Sequence[_Words],
    tops: Sequence[float],
    page: tuple[int, int],
    title: str,
    graph: float,
    width: float,
) -> Drawing:
    first, last = page
    high, low = tops[first], tops[last]
    height = low - high + _TITLE_IN

    def y(down: float) -> float:
        """From the top of the first row on."""
        return height - _TITLE_IN - (down - high)

    def place(row: int) -> Point:
        """Middle of a box's sign, beside its first line of words."""
        return (rows[row].column + 0.5) * _COLUMN_IN, tops[row] + _LEAST_ROW_IN / 2

    items: list[Item] = [_text(0, height - 0.14, shortened(title, EM_IN, 0.6 * width, bold=True), "title", bold=True)]
    items.append(_text(width, height - 0.14, "every cable has a bare ground too", "title", anchor="end"))
    for n, row in enumerate(rows):
        if n:
            for piece in _clipped(_way(place(row.parent), place(n), row.branch), high, low):
                points = tuple((x, y(down)) for x, down in piece)
                items.append(Polyline(points=points, pen=_CABLE, layer="cables"))
    for n in range(first, last):
        x, down = place(n)
        items.append(_square((x, y(down)), _NODE_IN / 2))
        items += _row_words(words[n], graph, width, y(tops[n]))
    return Drawing(title=title, items=tuple(items), bounds=Bounds(left=0, bottom=-_FOOT_IN, right=width, top=height))


def _way(near: Point, far: Point, branch: int) -> list[Point]:
    """Way of a cable between two boxes: straight down, or out to the side first."""
    if not branch:
        return [(near[0], near[1] + _NODE_IN / 2), (far[0], far[1] - _NODE_IN / 2)]
    out = near[1] + 0.03 * (2 - branch)  # what goes farthest leaves highest, and so crosses nothing
    return [(near[0] + _NODE_IN / 2, out), (far[0], out), (far[0], far[1] - _NODE_IN / 2)]


def _clipped(way: Sequence[Point], high: float, low: float) -> Iterator[list[Point]]:
    """What of a way lies between two heights."""
    for (x1, y1), (x2, y2) in zip(way, way[1:], strict=False):
        top, foot = max(min(y1, y2), high), min(max(y1, y2), low)
        if top <= foot:
            yield [(x1, top if y1 <= y2 else foot), (x2, foot if y1 <= y2 else top)]


def _row_words(words: _Words, left: float, width: float, top: float) -> Iterator[Item]:
    x = left
    middle = top - _LEAST_ROW_IN / 2
    for sort in words.sorts:
        yield Symbol(name=sort.symbol, at=(x + _SYMBOL_IN / 2, middle), size_in=_SYMBOL_IN, layer="symbols")
        x += _SYMBOL_IN + _GAP_IN
    yield _text(x, middle, words.name, "boxes", bold=True)
    indent = width_in(words.name, EM_IN, bold=True) + _GAP_IN if words.box[0] else 0.0
    for n, line in enumerate(words.box):
        if line:
            yield _text(x + indent, middle - n * _LINE_IN, line, "boxes")
    for n, line in enumerate(words.cable):
        yield _text(left + (width - left) * _BOX_SHARE, middle - n * _LINE_IN, line, "cables")


def _square(at: Point, half: float) -> Polygon:
    x, y = at
    corners = ((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half))
    return Polygon(points=corners, pen=None, fill=Fill(colour=BLACK), layer="nodes")


def _text(x: float, middle: float, text: str, layer: str, *, anchor: str = "start", bold: bool = False) -> Text:
    at = (x, middle - 0.365 * EM_IN)
    return Text(at=at, text=text, height_in=EM_IN, layer=layer, anchor=anchor, bold=bold)

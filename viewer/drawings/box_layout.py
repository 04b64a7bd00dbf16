"""Where everything of a box diagram lies: blocks in two columns, and between them one upright lane for each joint.

A pin's wire runs level from its row to the lane of its joint. No two rows share a height, as the right column is half a
row lower, and no two joints share a lane: so wires of different joints can cross, and never touch. The order of lanes
is the one with fewest crossings that moving one lane at a time finds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from barnloom.viewer.drawings.box_blocks import Block, Contents, Pin, Tie
from barnloom.viewer.lettering import shortened, width_in

EM_IN = 11.0 / 72.0
"""Letters: 11 pt on paper."""
ROW_IN = 0.17
EDGE_IN = 0.04
JACKET_IN = 0.11
"""How far the jacket of a cable shows outside the box."""
GAP_IN = 0.06
"""Between letters and what stands beside them."""
STUB_IN = 0.14
"""A conductor between jacket and tag."""
_LANE_MARGIN_IN = 0.2
_LANES_IN = (0.1, 0.4)
"""Between two lanes: least, and most."""
_LABELS_IN = (1.25, 2.3)
"""Room for the label of a cable: least, and most."""
_TRIED = ((1, (3, 5)), (0, (3, 5)), (0, (1, 2)))
"""From the roomiest on: rows between blocks, and most lines for where a cable leads and for its label."""
_SYMBOL_IN = 0.34
_DEVICE_IN = 1.85
"""A device's head is broken into lines no wider than this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A block in its column: its lines of words, the row of each of its own rows, and how many rows it takes."""

    block: Block
    left: bool
    heads: tuple[str, ...]
    first: float
    """Row where it begins; of the right column rows lie between those of the left."""
    rows: tuple[float, ...]
    size: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxLayout:
    """Places in inches from the left edge, and in rows from the top of the box."""

    blocks: tuple[Placed, ...]
    rows: float
    """Height of the columns."""
    outline: tuple[float, float]
    """Left and right side of the box."""
    wires: tuple[float, float]
    """Where the words of left pins end at the latest, and the devices and the words of right pins begin."""
    numbers_in: float
    """Width of the widest number of a joint."""
    lanes: dict[int, float]
    """Of each joint with more than one pin, by its number."""
    row: dict[Pin, float]
    left: dict[Pin, bool]


def laid_out(what: Contents, width_in_: float, rows_most: float) -> BoxLayout | None:
    """Lay a box out in a drawing of this width with at most so many rows; None if it does not fit."""
    for gap, most in _TRIED:
        best: BoxLayout | None = None
        cables = sum(block.cable for block in what.blocks)
        for right in range(cables):
            found = _columns(what, right, gap, most, width_in_)
            if found is not None and found.rows <= rows_most and (best is None or found.rows < best.rows):
                best = found
        if best is not None:
            return best
    return None


def _columns(what: Contents, right: int, gap: int, most: tuple[int, int], width: float) -> BoxLayout | None:
    """With so many cables, the last ones, in the right column below the devices."""
    cables = [block for block in what.blocks if block.cable]
    columns = (
        cables[: len(cables) - right],
        [*(block for block in what.blocks if not block.cable), *cables[len(cables) - right :]],
    )
    numbers = max(width_in(str(tie.number), EM_IN, bold=True) for tie in what.ties)
    wired = [tie for tie in what.ties if len(tie.pins) > 1]
    inner_left = STUB_IN + GAP_IN + _widest(columns[0]) + GAP_IN + numbers + GAP_IN
    inner_right = GAP_IN + numbers + GAP_IN + _right_width(columns[1]) if columns[1] else EDGE_IN
    sides = 1 + bool(right)
    fixed = 2 * EDGE_IN + sides * (JACKET_IN + GAP_IN) + inner_left + inner_right + 2 * _LANE_MARGIN_IN
    lanes = max(len(wired) - 1, 0)
    labels = (width - fixed - lanes * 0.22) / sides
    labels = min(max(labels, _LABELS_IN[0]), _LABELS_IN[1])
    free = width - fixed - sides * labels
    if free < lanes * _LANES_IN[0]:
        return None
    x1 = EDGE_IN + labels + GAP_IN + JACKET_IN
    x2 = width - EDGE_IN - (labels + GAP_IN + JACKET_IN if right else 0.0)
    placed = [*_stacked(columns[0], True, labels, gap, most), *_stacked(columns[1], False, labels, gap, most)]
    height = [max((one.first + one.size for one in placed if one.left is side), default=0.0) for side in (True, False)]
    placed = _centred(placed, height)
    row = {
        line.pin: at
        for one in placed
        for line, at in zip(one.block.rows, one.rows, strict=True)
        if line.pin is not None
    }
    left = {line.pin: one.left for one in placed for line in one.block.rows if line.pin is not None}
    wires = x1 + inner_left, x2 - inner_right
    pitch = min(free / max(lanes, 1), _LANES_IN[1])
    middle = (wires[0] + wires[1]) / 2
    order = _fewest_crossings(wired, row, left)
    return BoxLayout(
        blocks=tuple(placed),
        rows=max(height),
        outline=(x1, x2),
        wires=wires,
        numbers_in=numbers,
        lanes={tie.number: middle + (n - lanes / 2) * pitch for n, tie in enumerate(order)},
        row=row,
        left=left,
    )


def _widest(blocks: Sequence[Block]) -> float:
    return max((width_in(row.text, EM_IN) for block in blocks for row in block.rows), default=0.0)


def _right_width(blocks: Sequence[Block]) -> float:
    """From the numbers of joints to the right side of the box."""
    devices = [block for block in blocks if not block.cable]
    cables = [block for block in blocks if block.cable]
    heads = (line for block in devices for head in block.heads for line in broken(head, _DEVICE_IN, bold=True))
    head = max((width_in(line, EM_IN, bold=True) for line in heads), default=0.0)
    symbol = _SYMBOL_IN + GAP_IN if any(block.symbol for block in devices) else 0.0
    return max(head, _widest(devices) + symbol, _widest(cables) + STUB_IN) + 3 * GAP_IN


def _stacked(blocks: Sequence[Block], left: bool, labels: float, gap: int, most: tuple[int, int]) -> list[Placed]:
    found: list[Placed] = []
    at = 0.0 if left else 0.5
    for block in blocks:
        if block.cable:
            heads = tuple(
                line for n, head in enumerate(block.heads) for line in broken(head, labels, bold=n == 0, most=most[n])
            )
            size, first = max(len(heads), len(block.rows)), at
        else:
            heads = tuple(line for head in block.heads for line in broken(head, _DEVICE_IN, bold=True))
            size, first = len(heads) + len(block.rows), at + len(heads)
        rows = tuple(first + n for n in range(len(block.rows)))
        found.append(Placed(block=block, left=left, heads=heads, first=at, rows=rows, size=size))
        at += size + gap
    return found


def broken(text: str, room: float, *, bold: bool = False, most: int = 4) -> list[str]:
    """
    Break words into lines, a word that is too wide alone behind a hyphen, point or arrow, or wherever it has to be.

    Names are what has to be found again on a cable or a screw, so they are whole wherever ``most`` lines hold them.
    """
    found: list[str] = []
    for word in text.split():
        if found and width_in(f"{found[-1]} {word}", EM_IN, bold=bold) <= room:
            found[-1] += f" {word}"
            continue
        rest = word
        while width_in(rest, EM_IN, bold=bold) > room:
            fits = next(n for n in range(len(rest), 0, -1) if n == 1 or width_in(rest[:n], EM_IN, bold=bold) <= room)
            at = max(rest.rfind(mark, 0, fits) for mark in "-./_>") + 1 or fits
            found.append(rest[:at])
            rest = rest[at:]
        found += [rest] if rest else []
    if len(found) <= most:
        return found
    return [*found[: most - 1], shortened(f"{found[most - 1]} {found[most]}", EM_IN, room, bold=bold)]


def _centred(placed: list[Placed], height: list[float]) -> list[Placed]:
    """Move the lower column down by whole rows, so that both have their middle at one height."""
    found = []
    for one in placed:
        down = float(int(max(height) - height[0 if one.left else 1]) // 2)
        rows = tuple(row + down for row in one.rows)
        found.append(
            Placed(block=one.block, left=one.left, heads=one.heads, first=one.first + down, rows=rows, size=one.size)
        )
    return found


def _fewest_crossings(ties: Sequence[Tie], row: dict[Pin, float], left: dict[Pin, bool]) -> list[Tie]:
    """Move one lane at a time to where it makes fewest crossings, until none gets better."""

    def within(tie: Tie, other: Tie, side: bool) -> int:
        """Count pins of one side whose wire meets the lane of the other tie if it has to pass it."""
        heights = [row[pin] for pin in other.pins]
        return sum(left[pin] is side and min(heights) < row[pin] < max(heights) for pin in tie.pins)

    count = len(ties)
    cost = [
        [within(ties[b], ties[a], True) + within(ties[a], ties[b], False) if a != b else 0 for b in range(count)]
        for a in range(count)
    ]
    """What it costs that lane a is to the left of lane b."""
    order = sorted(range(count), key=lambda n: (min(row[pin] for pin in ties[n].pins), n))

    def total(tried: Sequence[int]) -> int:
        return sum(cost[a][b] for n, a in enumerate(tried) for b in tried[n + 1 :])

    best = total(order)
    better = True
    while better:
        better = False
        for lane in range(count):
            rest = [other for other in order if other != lane]
            for at in range(count):
                tried = [*rest[:at], lane, *rest[at:]]
                crossings = total(tried)
                if crossings < best:
                    order, best, better = tried, crossings, True
    return [ties[n] for n in order]

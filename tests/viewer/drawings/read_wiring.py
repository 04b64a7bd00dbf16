"""A reader of box diagrams that knows nothing of how they are made: lines that meet, words beside their ends.

Two wires are joined where an end of one lies on the other; where they only cross, they are not.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations, pairwise

from barnloom.viewer.drawing import Drawing, Point, Polygon, Polyline, Text
from barnloom.viewer.lettering import width_in

NEAR = 1e-6
Segment = tuple[Point, Point]
Pin = tuple[str, str]
"""Words of its block without blanks, and its own words."""


def segments(drawing: Drawing) -> list[Segment]:
    found = {
        pair
        for item in drawing.items
        if isinstance(item, Polyline) and item.layer == "conductor"
        for pair in pairwise(item.points)
    }
    return sorted(found)


def on(point: Point, segment: Segment) -> bool:
    (x1, y1), (x2, y2) = segment
    x, y = point
    return min(x1, x2) - NEAR <= x <= max(x1, x2) + NEAR and min(y1, y2) - NEAR <= y <= max(y1, y2) + NEAR


def groups(lines: list[Segment]) -> list[int]:
    """For each line the first of those that it is joined with."""
    group = list(range(len(lines)))

    def root(at: int) -> int:
        while group[at] != at:
            at = group[at]
        return at

    for a, b in combinations(range(len(lines)), 2):
        if any(on(end, lines[b]) for end in lines[a]) or any(on(end, lines[a]) for end in lines[b]):
            low, high = sorted((root(a), root(b)))
            group[high] = low
    return [root(at) for at in range(len(lines))]


def box_of(text: Text) -> tuple[float, float, float, float]:
    """Left, foot, right, head: from below the descenders to the top of the em."""
    width = width_in(text.text, text.height_in, bold=text.bold)
    left = text.at[0] - {"start": 0.0, "middle": width / 2, "end": width}[text.anchor]
    return left, text.at[1] - 0.236 * text.height_in, left + width, text.at[1] + 0.764 * text.height_in


def middle(text: Text) -> float:
    return text.at[1] + 0.365 * text.height_in


def pins(drawing: Drawing) -> list[tuple[Pin, int, Point | None]]:
    """Every pin with the number beside it, and the end of the wire there."""
    lines = segments(drawing)
    ends = [end for line in lines for end in line]
    tags = [item for item in drawing.items if isinstance(item, Text) and item.layer == "tag"]
    found = []
    for number in (item for item in drawing.items if isinstance(item, Text) and item.layer == "number"):
        left, _, right, _ = box_of(number)
        y = middle(number)
        beside = [(tag, box_of(tag)) for tag in tags if abs(middle(tag) - y) < NEAR]
        on_left = [tag for tag, box in beside if 0 < left - box[2] < 0.1]
        on_right = [tag for tag, box in beside if 0 < box[0] - right < 0.3]
        assert len(on_left) + len(on_right) == 1, number
        tag = (on_left or on_right)[0]
        wire = {
            end
            for end in ends
            if abs(end[1] - y) < NEAR and (0 < end[0] - right < 0.1 if on_left else 0 < left - end[0] < 0.13)
        }
        assert len(wire) <= 1, number
        found.append(((_block(drawing, tag, bool(on_left)), tag.text), int(number.text), next(iter(wire), None)))
    return found


def _block(drawing: Drawing, tag: Text, on_left: bool) -> str:
    """Words of the jacket or the device that a tag belongs to, without blanks."""
    y, (x1, _, x2, _) = middle(tag), box_of(tag)
    owners = []
    for item in drawing.items:
        if not isinstance(item, Polygon) or item.layer not in ("cable", "device"):
            continue
        xs, ys = [p[0] for p in item.points], [p[1] for p in item.points]
        if not min(ys) < y < max(ys):
            continue
        beside = max(xs) < x1 if on_left else (min(xs) > x2 if item.layer == "cable" else min(xs) < x1 < max(xs))
        if beside:
            owners.append((item.layer, min(xs), max(xs), min(ys), max(ys)))
    assert len(owners) == 1, tag
    layer, low_x, high_x, low_y, high_y = owners[0]
    words = []
    for item in drawing.items:
        if isinstance(item, Text) and item.layer == ("label" if layer == "cable" else "device"):
            left, _, right, _ = box_of(item)
            outside = right < low_x if on_left else left > high_x
            if low_y < middle(item) < high_y and (outside if layer == "cable" else low_x < left < high_x):
                words.append((-item.at[1], item.text))
    return "".join(text for _, text in sorted(words)).replace(" ", "")


def joints(drawing: Drawing) -> dict[int, frozenset[Pin]]:
    """By number: pins that lines join. A pin without a wire is a joint of its own."""
    lines = segments(drawing)
    group = groups(lines)
    joined: defaultdict[int, set[Pin]] = defaultdict(set)
    numbers: defaultdict[int, set[int]] = defaultdict(set)
    for n, (pin, number, end) in enumerate(pins(drawing)):
        at = {group[k] for k, line in enumerate(lines) if end is not None and on(end, line)} or {-1 - n}
        assert len(at) == 1
        joined[min(at)].add(pin)
        numbers[min(at)].add(number)
    assert set(group) <= set(joined), "a wire that leads to no pin"
    assert all(len(own) == 1 for own in numbers.values()), numbers
    assert len({min(own) for own in numbers.values()}) == len(numbers), "one number for two joints"
    return {min(numbers[at]): frozenset(own) for at, own in joined.items()}


def nearest(drawing: Drawing) -> float:
    """Least distance between wires of different joints that run side by side, or of an end from a foreign wire."""
    lines = segments(drawing)
    group = groups(lines)
    least = 1.0
    for (a, one), (b, other) in combinations(enumerate(lines), 2):
        if group[a] != group[b]:
            for near, far in ((one, other), (other, one)):
                least = min(least, *(_distance(end, far) for end in near))
    return least


def _distance(point: Point, segment: Segment) -> float:
    (x1, y1), (x2, y2) = segment
    dx = max(min(x1, x2) - point[0], 0, point[0] - max(x1, x2))
    dy = max(min(y1, y2) - point[1], 0, point[1] - max(y1, y2))
    return float((dx * dx + dy * dy) ** 0.5)


def faults(drawing: Drawing) -> list[str]:
    """Text over text, text under a wire, anything outside."""
    b = drawing.bounds
    found = []
    texts = [(item, box_of(item)) for item in drawing.items if isinstance(item, Text)]
    for (one, p), (other, q) in combinations(texts, 2):
        if p[0] < q[2] and q[0] < p[2] and p[1] < q[3] - NEAR and q[1] < p[3] - NEAR:
            found.append(f"{one.text!r} over {other.text!r}")
    for text, (left, foot, right, head) in texts:
        if not (b.left <= left and right <= b.right + NEAR and b.bottom <= foot and head <= b.top + NEAR):
            found.append(f"{text.text!r} is outside")
        for (x1, y1), (x2, y2) in segments(drawing):
            if min(x1, x2) < right and max(x1, x2) > left and min(y1, y2) < head and max(y1, y2) > foot:
                found.append(f"a wire through {text.text!r}")
    points = [point for item in drawing.items if isinstance(item, Polyline | Polygon) for point in item.points]
    found += [f"{p} is outside" for p in points if not (b.left <= p[0] <= b.right and b.bottom <= p[1] <= b.top)]
    return found

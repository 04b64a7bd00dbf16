"""Members as they lie before the drill: the bored face from the hooked end, each hole with its aim and allowed band."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from barnloom.model.building import Member
from barnloom.model.lengths import Rounding, format_length
from barnloom.routing.plan import Bore, Plan
from barnloom.routing.store import natural_key
from barnloom.viewer.drawing import (
    BLACK,
    WHITE,
    Bounds,
    Circle,
    Drawing,
    Fill,
    Hatch,
    Item,
    Line,
    Polygon,
    Polyline,
    Text,
)
from barnloom.viewer.drawings.paper import LADDER_PT, Paper
from barnloom.viewer.drawings.tags import spread
from barnloom.viewer.lettering import drawable, width_in
from barnloom.viewer.paths import Framing, framing, run_words
from barnloom.viewer.text import clean

HOOK_MM = 4.0
BAND_MM = 1.6
"""Least width of a band on paper."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bored:
    """Members that are bored alike: neighbours with the same holes."""

    words: str
    members: tuple[str, ...]
    first: Member
    bores: tuple[Bore, ...]
    """Of the first, by how far along they are."""


def bored_alike(plan: Plan) -> tuple[Bored, ...]:
    """Every bored member in order of id, those with the same holes, lengths and hooks together."""
    names = framing(plan)
    on: dict[str, list[Bore]] = {}
    for bore in plan.bores:
        on.setdefault(bore.member, []).append(bore)
    groups: dict[tuple[object, ...], list[str]] = {}
    for name in sorted(on, key=natural_key):
        groups.setdefault(_pattern(names.members[name], on[name]), []).append(name)
    return tuple(_alike(names, members, on[members[0]]) for members in groups.values())


def _pattern(member: Member, bores: Sequence[Bore]) -> tuple[object, ...]:
    holes = sorted(
        (b.along_in, b.across_in, b.across_min_in, b.across_max_in, b.diameter_in, b.nail_plates, b.existing)
        for b in bores
    )
    return (
        member.assembly, member.role, member.along_from, member.across_from, round(member.length_in, 2),
        round(member.depth_in, 3), tuple(holes),
    )  # fmt: skip


def _alike(names: Framing, members: Sequence[str], bores: Sequence[Bore]) -> Bored:
    return Bored(
        words=run_words(names, members),
        members=tuple(members),
        first=names.members[members[0]],
        bores=tuple(sorted(bores, key=lambda bore: (bore.along_in, bore.across_in))),
    )


def member_size(bored: Bored, paper: Paper, *, metric: bool) -> tuple[float, float]:
    """Width and height (inches) of the drawing of a member."""
    figures = max(width_in(words, paper.points(LADDER_PT)) for words in _figures(bored, metric=metric))
    return bored.first.length_in + paper.mm(2 * HOOK_MM + 8), bored.first.depth_in + figures + paper.mm(14)


def member_face(bored: Bored, paper: Paper, *, metric: bool) -> Drawing:
    """Draw the bored face, the hooked end on the left and the edge that is measured from at the bottom (inches)."""
    member = bored.first
    size = paper.points(LADDER_PT)
    items: list[Item] = [*_wood(member, paper), *_bands(bored, paper), *_holes(bored, paper)]
    items += _hook(member, paper)
    figures = _figures(bored, metric=metric)
    places = spread([bore.along_in for bore in bored.bores], 1.1 * size)
    shift = max(0.0, -places[0])
    foot = -paper.mm(5)
    for bore, words, place in zip(bored.bores, figures, places, strict=True):
        at = place + shift
        leader = ((bore.along_in, bore.across_in), (bore.along_in, foot + paper.mm(2.5)), (at, foot + paper.mm(0.5)))
        items.append(Polyline(points=leader, pen=paper.pen(0.13), layer="dimensions"))
        items.append(
            Text(
                at=(at + 0.36 * size, foot), text=words, height_in=size, anchor="end", turn_deg=90.0, layer="dimensions"
            )
        )
    width, height = member_size(bored, paper, metric=metric)
    bounds = Bounds(
        left=-paper.mm(HOOK_MM + 4),
        right=max(width - paper.mm(HOOK_MM + 4), places[-1] + shift + size),
        bottom=member.depth_in + paper.mm(6) - height,
        top=member.depth_in + paper.mm(6),
    )
    return Drawing(title=bored.words, items=tuple(items), bounds=bounds)


def _figures(bored: Bored, *, metric: bool) -> list[str]:
    """How far along each hole is."""
    return [format_length(bore.along_in, metric=metric) + (" (old)" if bore.existing else "") for bore in bored.bores]


def hole_figures(bored: Bored, *, metric: bool) -> list[str]:
    """Return aim, band, bit and nail plates in words: once for holes that have them alike."""

    def length(inches: float, rounding: Rounding = "nearest") -> str:
        return format_length(inches, metric=metric, feet=False, rounding=rounding)

    found: dict[str, list[str]] = {}
    for bore, along in zip(bored.bores, _figures(bored, metric=metric), strict=True):
        band = f"{length(bore.across_min_in, 'up')} to {length(bore.across_max_in, 'down')}"
        plates = f", nail plate on {' and '.join(bore.nail_plates)}" if bore.nail_plates else ""
        words = f"aim {length(bore.across_in)}, allowed {band}, bit {length(bore.diameter_in)}{plates}"
        found.setdefault(words, []).append(along)
    if len(found) == 1:
        return list(found)
    return [f"{', '.join(along)}: {words}" for words, along in found.items()]


def _wood(member: Member, paper: Paper) -> Iterator[Item]:
    for ply in sorted(member.plies, key=lambda ply: (ply.along, ply.across)):
        (x1, x2), (y1, y2) = ply.along, ply.across
        pen = paper.pen(0.3)
        yield Polygon(
            points=((x1, y1), (x2, y1), (x2, y2), (x1, y2)), pen=pen, fill=Fill(colour=WHITE), layer="framing"
        )
    for notch in member.notches:
        x1, x2 = notch.along
        y1, y2 = (0.0, notch.depth_in) if notch.edge == "low" else (member.depth_in - notch.depth_in, member.depth_in)
        yield Polygon(
            points=((x1, y1), (x2, y1), (x2, y2), (x1, y2)),
            pen=paper.pen(0.2, dash=(3.0, 3.0)),
            fill=Fill(colour="#eeeeee"),
            layer="framing",
        )


def _hook(member: Member, paper: Paper) -> Iterator[Item]:
    """The tape's hook over the end that everything is measured from."""
    out, deep = paper.mm(HOOK_MM), member.depth_in
    hook = ((-out, deep + paper.mm(3)), (0.0, deep + paper.mm(3)), (0.0, deep), (-paper.mm(1.2), deep))
    yield Polyline(points=hook, pen=paper.pen(0.5), layer="dimensions")


def _bands(bored: Bored, paper: Paper) -> Iterator[Item]:
    for bore in bored.bores:
        if bore.existing:
            continue
        half = max(bore.diameter_in, paper.mm(BAND_MM)) / 2
        low, high = bore.across_min_in, bore.across_max_in
        if high - low < 1e-6:
            continue
        x1, x2 = bore.along_in - half, bore.along_in + half
        yield Hatch(
            points=((x1, low), (x2, low), (x2, high), (x1, high)),
            angle_deg=45.0,
            spacing_in=paper.mm(0.7),
            pen=paper.pen(0.1),
            layer="allowed bands",
        )


def _holes(bored: Bored, paper: Paper) -> Iterator[Item]:
    for bore in bored.bores:
        yield Circle(
            centre=(bore.along_in, bore.across_in),
            radius_in=bore.diameter_in / 2,
            pen=paper.pen(0.25, dash=(3.0, 2.0) if bore.existing else ()),
            fill=Fill(colour=BLACK if bore.nail_plates else WHITE),
            layer="holes",
        )
        cross = max(bore.diameter_in / 2, paper.mm(0.8)) * 1.4
        for dx, dy in ((1, 0), (0, 1)):
            start = (bore.along_in - dx * cross, bore.across_in - dy * cross)
            end = (bore.along_in + dx * cross, bore.across_in + dy * cross)
            yield Line(start=start, end=end, pen=paper.pen(0.1), layer="holes")


# --- drill sticks ----------------------------------------------------------------------------------------------------

STICK_MM = 27.0
"""Width of a drill stick."""
OVER_IN = 0.4
"""Of a stick above its band."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stick:
    """A gauge at full size: hooked on an edge it shows aim and band of all holes that are alike across."""

    across_from: str
    aim_in: float
    low_in: float
    high_in: float
    diameter_in: float
    words: str
    bores: tuple[str, ...]
    """Ids of the holes."""

    @property
    def holes(self) -> int:
        """How many holes it is for."""
        return len(self.bores)

    @property
    def height_in(self) -> float:
        """Height of the stick on paper, at full size."""
        return self.high_in + OVER_IN


def sticks(plan: Plan) -> tuple[Stick, ...]:
    """Every gauge that the new holes of a plan want, those with most holes first."""
    names = framing(plan)
    alike: dict[tuple[str, float, float, float, float], list[Bore]] = {}
    for bore in plan.bores:
        if not bore.existing:
            edge = names.members[bore.member].across_from
            key = (edge, bore.across_in, bore.across_min_in, bore.across_max_in, bore.diameter_in)
            alike.setdefault(key, []).append(bore)
    found = []
    for (edge, aim, low, high, bit), bores in alike.items():
        members = sorted({bore.member for bore in bores}, key=natural_key)
        found.append(
            Stick(
                across_from=edge,
                aim_in=aim,
                low_in=low,
                high_in=high,
                diameter_in=bit,
                words=run_words(names, members),
                bores=tuple(bore.id for bore in bores),
            )
        )
    return tuple(sorted(found, key=lambda one: (-one.holes, one.across_from, one.aim_in, one.low_in, one.diameter_in)))


def stick_numbers(plan: Plan) -> dict[str, int]:
    """By hole to bore, the number of its stick."""
    return {bore: number for number, stick in enumerate(sticks(plan), 1) for bore in stick.bores}


def stick_drawing(stick: Stick, *, metric: bool) -> Drawing:
    """Draw a gauge at full size (inches of paper): foot: the hooked edge; shaded: the band; thick line: the aim."""
    paper = Paper(scale=1, metric=metric)
    width, top = paper.mm(STICK_MM), stick.height_in
    items: list[Item] = [
        Polygon(points=((0, 0), (width, 0), (width, top), (0, top)), pen=paper.pen(0.2), fill=None, layer="outline")
    ]
    low, high = stick.low_in, stick.high_in
    if high - low > 1e-6:
        band = ((0.0, low), (width * 0.45, low), (width * 0.45, high), (0.0, high))
        items.append(
            Hatch(points=band, angle_deg=45.0, spacing_in=paper.mm(1.5), pen=paper.pen(0.15), layer="allowed bands")
        )
        items.append(Polygon(points=band, pen=paper.pen(0.2), fill=None, layer="allowed bands"))
    items.append(Line(start=(0, stick.aim_in), end=(width * 0.45, stick.aim_in), pen=paper.pen(0.8), layer="aim"))
    items += _ticks(stick, width, paper, metric=metric)
    items.append(Line(start=(0, 0), end=(width, 0), pen=paper.pen(1.2), layer="hook"))
    items += _stick_words(stick, width, paper, metric=metric)
    margin = paper.mm(1.0)
    bounds = Bounds(left=-margin, bottom=-margin, right=width + margin, top=top + margin)
    return Drawing(title=f"drill stick, {stick.words}", items=tuple(items), bounds=bounds)


def _ticks(stick: Stick, width: float, paper: Paper, *, metric: bool) -> Iterator[Item]:
    """Whole inches, or tens of millimetres, on the right edge."""
    step = paper.mm(10) if metric else 1.0
    for level in np.arange(step, stick.height_in, step):
        yield Line(
            start=(width, float(level)), end=(width - paper.mm(3), float(level)), pen=paper.pen(0.2), layer="ticks"
        )


def _stick_words(stick: Stick, width: float, paper: Paper, *, metric: bool) -> Iterator[Item]:
    """Lines that run up the stick, beside the band: what it is for, from where, aim and band, the bit."""

    def length(inches: float) -> str:
        return format_length(inches, metric=metric, feet=False)

    size = paper.points(LADDER_PT)
    band = f"{length(stick.low_in)} to {length(stick.high_in)}"
    texts = [
        f"foot on the {stick.across_from}",
        f"aim {length(stick.aim_in)}, {band}; bit {length(stick.diameter_in)}",
    ]
    for row, text in enumerate(texts):
        shown = drawable(clean(text))
        fitting = min(size, size * (stick.height_in - paper.mm(2)) / max(width_in(shown, size), 1e-6))
        at = (width * 0.45 + paper.mm(1.2) + (row + 0.8) * 1.1 * size, paper.mm(1))
        yield Text(at=at, text=shown, height_in=fitting, turn_deg=90.0, layer="words")

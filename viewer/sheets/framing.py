"""Sheets to drill and to place boxes by: plans, elevations with their holes, members, drill sticks at full size."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from barnloom.model.building import Member, Role
from barnloom.model.lengths import format_length
from barnloom.routing.plan import Bore, Plan
from barnloom.viewer import totals
from barnloom.viewer.drawing import Drawing
from barnloom.viewer.drawings.elevations import elevation, face_size, in_use
from barnloom.viewer.drawings.faces import Face, faces
from barnloom.viewer.drawings.members import (
    Bored,
    bored_alike,
    hole_figures,
    member_face,
    member_size,
    stick_drawing,
    stick_numbers,
    sticks,
)
from barnloom.viewer.drawings.paper import LADDER_PT, SCALES_METRIC, SCALES_US, Paper
from barnloom.viewer.drawings.plans import plan_size, storey_plan
from barnloom.viewer.lists import equal_bores, hole_cells, hole_notes
from barnloom.viewer.paths import framing
from barnloom.viewer.sheets.blocks import (
    BLANK,
    TICK,
    Beside,
    Block,
    Bullets,
    Column,
    Figure,
    Heading,
    Row,
    Sheet,
    Table,
    Together,
    Words,
)
from barnloom.viewer.sheets.legend import key
from barnloom.viewer.sheets.typeset import room_mm
from barnloom.viewer.sheets.windows import parts, windows
from barnloom.viewer.text import counted

KEY_MM = 56.0
"""Width of a legend beside a drawing."""
KEY_BELOW_MM = 34.0
"""Height of one below it."""
KEY_COLUMNS = 4
WITH_HOLES = 0.66
"""Of a page's height, for a drawing that its holes follow."""
CAPTION_MM = 8.0
SMALLEST_US, SMALLEST_METRIC = 64, 50
"""Scale down to which plans and elevations go; what is larger is broken over sheets."""
_UPRIGHT = frozenset({Role.STUD, Role.KING, Role.JACK, Role.CRIPPLE})
HOLE_COLUMNS = (
    Column(title=TICK),
    Column(title="hole", share=1.5),
    Column(title="along", align="right"),
    Column(title="aim", align="right"),
    Column(title="allowed"),
    Column(title="stick", align="right"),
    Column(title="cables", share=1.2),
    Column(title="moved to", share=0.7),
)


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a drawing goes: its scale, the room that it has, and whether its legend is beside it or below."""

    scale: Paper
    room: tuple[float, float]
    beside: bool


def plan_sheets(plan: Plan, paper: str) -> Iterator[Sheet]:
    """Yield a sheet for each storey that has a box."""
    for number, storey in enumerate(plan.building.storeys, 1):
        if any(box.storey == storey.id for box in plan.building.boxes):
            place = _place(partial(plan_size, plan.building, storey.id), paper, metric=plan.building.metric)
            drawing, left_out = storey_plan(plan, storey.id, place.scale)
            yield from _drawn(plan, f"P{number}", f"plan of {storey.title or storey.id}", drawing, place, left_out, ())


def face_sheets(plan: Plan, paper: str) -> Iterator[Sheet]:
    """Yield a sheet for each wall, ceiling, slope or frame in use: its elevation, and its holes by bit."""
    used = [face for face in faces(plan.building) if in_use(plan, face)]
    for number, face in enumerate(used, 1):
        holes = tuple(hole_blocks(plan, face))
        share = WITH_HOLES if holes else 1.0
        place = _place(partial(face_size, face), paper, share=share, metric=plan.building.metric)
        drawing, left_out = elevation(plan, face, place.scale)
        title = f"{face.id}, {face.title}" if face.title != face.id else face.title
        yield from _drawn(plan, f"E{number}", f"{title}: {face.seen}", drawing, place, left_out, holes)


def _place(size_at: Callable[[Paper], tuple[float, float]], paper: str, *, metric: bool, share: float = 1.0) -> _Place:
    """The larger of the scales at which a drawing fits with its legend beside it or below."""
    width, height = room_mm(paper, landscape=True)
    height *= share
    rooms = ((True, (width - KEY_MM - 5.0, height - CAPTION_MM)), (False, (width, height - KEY_BELOW_MM)))
    options = [_Place(_scale(size_at, room, metric=metric), room, beside) for beside, room in rooms]

    def order(one: _Place) -> tuple[int, int, bool]:
        return one.scale.scale, parts(size_at(one.scale), one.scale, one.room), not one.beside

    return min(options, key=order)


def _scale(size_at: Callable[[Paper], tuple[float, float]], room: tuple[float, float], *, metric: bool) -> Paper:
    """The largest scale at which a drawing fits with its margins, which are as wide on paper at any scale."""
    smallest = SMALLEST_METRIC if metric else SMALLEST_US
    for scale in SCALES_METRIC if metric else SCALES_US:
        paper = Paper(scale=scale, metric=metric)
        if scale <= smallest and parts(size_at(paper), paper, room) == 1:
            return paper
    return Paper(scale=smallest, metric=metric)


def _drawn(
    plan: Plan, number: str, title: str, drawing: Drawing, place: _Place, left_out: Sequence[str], more: Sequence[Block]
) -> Iterator[Sheet]:
    """A drawing with its legend, over several sheets where it is too large, and what follows it."""
    pieces = windows(drawing, place.scale, place.room)
    missing = [Words(text=f"No room for: {', '.join(left_out)}")] if left_out else []
    for index, piece in enumerate(pieces, 1):
        figure = Figure(drawing=piece, paper=place.scale)
        legend: list[Block] = [key(plan, [piece], columns=1 if place.beside else KEY_COLUMNS), *missing]
        blocks: list[Block] = [figure, *legend]
        if place.beside:
            blocks = [Beside(left=[figure], right=legend, right_mm=KEY_MM)]
        yield Sheet(
            number=number if len(pieces) == 1 else f"{number}.{index}",
            title=title,
            scale=place.scale.words,
            landscape=True,
            blocks=[*blocks, *(more if index == len(pieces) else ())],
        )


def hole_blocks(plan: Plan, face: Face) -> Iterator[Block]:
    """Tables of the new holes of a face by bit and hook, in walking order."""
    names, stick = framing(plan), stick_numbers(plan)
    own = [bore for bore in totals.to_bore(plan) if bore.member in face.hosts]
    for diameter in totals.holes_by_bit(own):
        bit = format_length(diameter, metric=plan.building.metric, feet=False)
        bores = [bore for bore in own if bore.diameter_in == diameter]
        for hooks, group in _by_hook(names.members, bores).items():
            along_from, across_from = hooks
            rows: list[Sequence[str] | str] = []
            for equal in equal_bores(names, group):
                cells = hole_cells(plan, names, equal)
                rows.append([cells[0] and TICK, *cells[1:5], str(stick[equal[0].id]), cells[5], ""])
                if len(equal) > 1:
                    rows.append("    ".join(f"{TICK} {bore.id} {BLANK}" for bore in equal))
                rows += hole_notes(plan, names, equal)
            yield Together(
                blocks=[
                    Heading(text=f"Bit {bit}: {counted(len(group), 'hole')}"),
                    Words(
                        text=f"hook the tape on the {along_from}; aim and allowed from the {across_from}; "
                        "stick: its number on sheet S1"
                    ),
                ],
                with_next=True,
            )
            yield Table(columns=HOLE_COLUMNS, rows=rows, points=LADDER_PT)


def _by_hook(members: Mapping[str, Member], bores: Sequence[Bore]) -> dict[tuple[str, str], list[Bore]]:
    found: dict[tuple[str, str], list[Bore]] = {}
    for bore in bores:
        member = members[bore.member]
        found.setdefault((member.along_from, member.across_from), []).append(bore)
    return found


def member_sheets(plan: Plan, paper: str) -> Iterator[Sheet]:
    """Yield members that are bored, seen from the drill; short ones with a single hole are in the hole tables alone."""
    width, _ = room_mm(paper, landscape=False)
    metric = plan.building.metric
    blocks: list[Block] = []
    for bored in bored_alike(plan):
        if len(bored.bores) < 2 and bored.first.role in _UPRIGHT:
            continue
        scale = _member_scale(bored, width, metric=metric)
        figure = Figure(
            drawing=member_face(bored, scale, metric=metric),
            paper=scale,
            caption=(
                f"Hook the tape on the {bored.first.along_from}; aim from the {bored.first.across_from}. "
                f"{'; '.join(hole_figures(bored, metric=metric))}. Scale {scale.words}"
            ),
        )
        blocks.append(Together(blocks=[Heading(text=f"{bored.words} ({bored.first.section})"), figure]))
    if blocks:
        how = Words(text="Dark holes want a nail plate. Shaded: where the middle of the hole may be.")
        yield Sheet(number="M1", title="members as they are bored", blocks=[how, *blocks])


def _member_scale(bored: Bored, width_mm: float, *, metric: bool) -> Paper:
    scales = SCALES_METRIC if metric else SCALES_US
    for scale in scales:
        paper = Paper(scale=scale, metric=metric)
        if member_size(bored, paper, metric=metric)[0] <= paper.mm(width_mm):
            return paper
    return Paper(scale=scales[-1], metric=metric)


def stick_sheets(plan: Plan) -> Iterator[Sheet]:
    """Gauges at full size, to glue on a scrap of wood."""
    found = sticks(plan)
    if not found:
        return
    metric = plan.building.metric
    how = Bullets(
        items=(
            "Print at 100 % and measure the line at the foot of this page before you trust a stick.",
            "Glue it on a scrap, its foot flush with the scrap's end; add a lip to hook it on the edge named on it.",
            "Thick line: the aim. Shaded: where the middle of the hole may be. How far along, the drill sheets say.",
        )
    )
    figures = []
    for number, stick in enumerate(found, 1):
        words = f"No. {number}, {counted(stick.holes, 'hole')}: {stick.words}"
        figures.append(
            Figure(drawing=stick_drawing(stick, metric=metric), paper=Paper(scale=1, metric=metric), caption=words)
        )
    yield Sheet(number="S1", title="drill sticks at full size", scale="1:1", blocks=[how, Row(blocks=figures)])

"""The sheets of a survey that are filled in part by part: outline, walls, ceilings, roofs, timbers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from barnloom.model.framing.floors import PLATE_IN
from barnloom.model.scene.text import Where
from barnloom.model.scene.values import Section
from barnloom.model.survey.finding import Finding
from barnloom.model.survey.parts import FloorPart, Row, Said, WallPart
from barnloom.model.survey.survey import Survey
from barnloom.viewer.sheets.blocks import Block, Break, Bullets, Column, Figure, Heading, Sheet, Table, Together, Words
from barnloom.viewer.sheets.typeset import room_mm
from barnloom.viewer.survey.marks import ASSUMED, LEGEND, Marks
from barnloom.viewer.survey.rows import Listed, listed
from barnloom.viewer.survey.sketch import Upright, floor_sketch, outline_sketch, wall_sketch

WRITING_MM = 8.5
"""A row to write in with a pencil, gloves on (common practice, no source)."""
WALL_MM, FLOOR_MM, OUTLINE_MM = 96.0, 112.0, 102.0
"""Height of a drawing on its sheet."""
ROWS_BLANK = {"stud": 50, "joist": 36, "rafter": 34}
ROWS_PAGE = 50
ROWS_LEAST, ROWS_MORE = 20, 4
"""Rows of a list at least, and empty ones after those that are known, for what is found besides."""
TOLD_MOST = 8
OF_FLOOR = (
    "Drawn from above, north up where width goes east. Hook the tape at the datum corner and read off the near side of "
    "every joist; then look at both ends of each: what does it bear on, and how much?"
)
OF_ROOF = (
    "Hook the tape at the datum corner along the eave and read off the near side of every rafter. Trusses are never "
    "bored: write down that they are trusses, and how far apart."
)
OF_TIMBERS = (
    "Each timber by the two ends of its middle line (or of the middle of its upper or lower face: say which), from the "
    "corner that is [0, 0] and from the lowest floor."
)


class Forms:
    """Sheets of one survey."""

    def __init__(self, survey: Survey, paper: str, *, blank: bool) -> None:
        self.survey, self.site, self.half = survey, survey.site, survey.site.half
        self.blank = blank
        self.marks = Marks(survey, blank=blank)
        self.room = room_mm(paper, landscape=False)

    def outlines(self) -> Iterator[Sheet]:
        """A storey from above: sides, diagonals, heights."""
        for number, storey in enumerate(self.site.storeys or {"": None}, start=1):
            walls = [wall for wall in self.site.walls.values() if wall.storey == storey]
            signs = {wall.id: self.marks.of(self._closing(("walls", wall.id))) for wall in walls}
            drawing, scale = outline_sketch(self.site, storey, signs, (self.room[0], OUTLINE_MM))
            rows = [
                [
                    wall.id,
                    self._two(("walls", wall.id, "start"), wall.start),
                    self._value(("walls", wall.id, "heading")),
                    self._value(("walls", wall.id, "length")),
                    "",
                ]
                for wall in walls
            ]
            sides = (
                Column(title="side", share=1.2),
                Column(title="starts at [east, north]", share=1.5),
                Column(title="goes", share=0.8),
                Column(title="outside corner to outside corner", share=1.5),
                Column(title="measured, by whom", share=1.3),
            )
            yield Sheet(
                number=f"S{number + 1}",
                title=f"outline of {storey}" if storey else "outline",
                scale="" if scale.scale == 1 else scale.words,
                blocks=[
                    Words(text=self._above(storey)),
                    Figure(drawing=drawing, paper=scale),
                    *self._told([("walls", wall.id) for wall in walls], kinds=("open",)),
                    Table(columns=sides, rows=[*rows, *_empty(1, 5)], row_mm=WRITING_MM),
                    Heading(text="Diagonals, both ways, outside corner to outside corner"),
                    self._diagonals(walls),
                    Together(
                        blocks=[
                            Heading(text="Heights at two corners, floor to underside of joists, floor to floor"),
                            self._heights(),
                        ]
                    ),
                ],
            )

    def walls(self) -> Iterator[Sheet]:
        """A wall a sheet."""
        for number, wall in enumerate(self.site.walls.values(), start=1):
            rows = listed(self.site, wall.studs, self.marks, self.survey.building, wall.id)
            drawing, scale = wall_sketch(self.site, wall, _drawn(rows), (self.room[0], WALL_MM))
            where = ("walls", wall.id)
            yield Sheet(
                number=f"W{number}",
                title=f"wall {wall.id}" + (f", {wall.storey}" if len(self.site.storeys) > 1 else ""),
                scale="" if scale.scale == 1 else scale.words,
                blocks=[
                    Words(text=self._of_wall(wall)),
                    _facts(
                        (
                            ("starts at [east, north]", self._two((*where, "start"), wall.start)),
                            ("goes", self._value((*where, "heading"))),
                            ("length", self._value((*where, "length"))),
                            ("height under sole to top of plates", self._height(wall)),
                            ("studs, breadth x depth", self._value((*where, "section"))),
                            ("plates: sole, top", self._plates(where)),
                            ("lining: now, later, none", self._value((*where, "lining"), needed=False)),
                            ("floor or roof bears on it", self._bears(where)),
                        )
                    ),
                    Figure(drawing=drawing, paper=scale),
                    *self._told([where]),
                    Heading(text="Openings: near side from the hooked end, heights from under the sole plate"),
                    self._openings(wall),
                    _behind(),
                    *self._members(wall.studs, rows),
                ],
            )

    def floors(self) -> Iterator[Sheet]:
        """A ceiling or floor a sheet."""
        for number, floor in enumerate(self.site.floors.values(), start=1):
            rows = listed(self.site, floor.joists, self.marks, self.survey.building, floor.id)
            drawing, scale = floor_sketch(self.site, floor, _drawn(rows), (self.room[0], FLOOR_MM))
            where = ("floors", floor.id)
            level = ("underside of joists at", self._value((*where, "bottom")))
            if floor.carries:
                known = self._value(("storeys", floor.carries, "floor"))
                level = ("floor of storey, its level", f"{floor.carries}, {known}" if known else floor.carries)
            yield Sheet(
                number=f"C{number}",
                title=f"ceiling and floor {floor.id}",
                scale="" if scale.scale == 1 else scale.words,
                blocks=[
                    Words(text=OF_FLOOR),
                    _facts(
                        (
                            ("datum corner [east, north]", self._two((*where, "corner"), floor.shape.corner)),
                            ("width, depth", self._two((*where, "size"), floor.shape.size)),
                            ("joists run along its width or depth", self._value((*where, "joists", "run"))),
                            ("joists, breadth x depth", self._value((*where, "joists", "section"))),
                            level,
                            ("boards on them", self._value((*where, "subfloor"), needed=False)),
                            ("rims: both, none, near, far", self._value((*where, "rims"), needed=False)),
                            ("span between bearings", ""),
                        )
                    ),
                    Figure(drawing=drawing, paper=scale),
                    *self._told([where, *([("storeys", floor.carries)] if floor.carries else [])]),
                    Heading(text="What joists bear on: along the joists, from their near end"),
                    self._bearings(floor),
                    _behind(),
                    *self._members(floor.joists, rows),
                    Heading(text="Holes and notches that are there already"),
                    self._holes(floor.id),
                ],
            )

    def roofs(self) -> Iterator[Sheet]:
        """A roof a sheet."""
        for number, roof in enumerate(self.site.roofs.values(), start=1):
            where = ("roofs", roof.id)
            rows = listed(self.site, roof.rafters, self.marks, self.survey.building, f"{roof.id}-A")
            facts = (
                ("gable or shed", self._value((*where, "kind"))),
                ("datum corner [east, north]", self._two((*where, "corner"), roof.shape.corner)),
                ("width, depth, outside of plates", self._two((*where, "size"), roof.shape.size)),
                ("ridge along its width or depth", self._value((*where, "ridge"), needed=False)),
                ("top of the plates", self._value((*where, "plate"))),
                ("rises in 12", self._value((*where, "pitch"))),
                ("overhang, level", self._value((*where, "overhang"), needed=False)),
                ("rafters, breadth x depth", self._value((*where, "rafters", "section"))),
                ("ridge board", self._value((*where, "ridge_section"), needed=False)),
                ("collar ties: size", self._value((*where, "collar_ties", "section"), needed=False)),
                ("collar ties: over the plates", self._value((*where, "collar_ties", "height"), needed=False)),
                ("collar ties: at every n-th pair", self._value((*where, "collar_ties", "each"), needed=False)),
            )
            yield Sheet(
                number=f"R{number}",
                title=f"roof {roof.id}",
                blocks=[
                    Words(text=OF_ROOF),
                    _facts(facts),
                    *self._told([where]),
                    *self._members(roof.rafters, rows),
                    _behind(),
                ],
            )

    def timbers(self) -> Iterator[Sheet]:
        """Posts, girders, braces: one list."""
        rows = [
            [
                name,
                self._value(("timbers", name, "role")),
                self._three(("timbers", name, "from")),
                self._three(("timbers", name, "to")),
                self._value(("timbers", name, "section")),
                self._value(("timbers", name, "line"), needed=False) or ("" if self.blank else "centre"),
                "",
            ]
            for name in self.half.ids("timbers")
        ]
        columns = (
            Column(title="timber", share=1.0),
            Column(title="post, girder, brace, girt, purlin", share=0.9),
            Column(title="from [east, north, up]", share=1.7),
            Column(title="to [east, north, up]", share=1.7),
            Column(title="breadth x depth", share=1.2),
            Column(title="points on its centre, bottom, top", share=0.9),
            Column(title="bears on; joints, pegs, iron", share=1.1),
        )
        parts = [("timbers", name) for name in self.half.ids("timbers")]
        yield Sheet(
            number="T1",
            title="posts, girders, braces",
            landscape=True,
            blocks=[
                Words(text=OF_TIMBERS),
                *self._told(parts),
                Table(columns=columns, rows=[*rows, *_empty(ROWS_MORE - 1 if rows else 14, 7)], row_mm=WRITING_MM),
            ],
        )

    # --- pieces ------------------------------------------------------------------------------------------------------

    def _above(self, storey: str) -> str:
        level = self.site.storeys.get(storey)
        known = "" if level is None else f"Floor at {self.site.text(level)}. "
        return (
            f"{known}From above, north up; go round against the clock, the room on your left. Every length is from "
            "outside framing corner to outside framing corner: the sheathing is not in it. A dot is where a "
            "wall starts."
        )

    def _of_wall(self, wall: WallPart) -> str:
        title = self._value(("walls", wall.id, "title"), needed=False)
        side = "right" if wall.room == "left" else "left"
        return (
            (f"{title[:1].upper()}{title[1:]}. " if title else "")
            + f"Drawn from its room: {wall.starts_at} is on the {side}. Hook the tape there, leave it alone, and read "
            "off the near side (nearer the hook) of every stud. Middles instead? Then all of them: write centres."
        )

    def _height(self, wall: WallPart) -> str:
        if wall.profile:
            tops = ", ".join(
                f"{self.site.text(y) if y is not None else '?'} at {self.site.text(x) if x is not None else '?'}"
                for x, y in wall.profile
            )
            return f"sloped: {tops}"
        return self._value(("walls", wall.id, "height"))

    def _plates(self, where: Where) -> str:
        counts = [self.half.value(*where, key) for key in ("sole_plates", "top_plates")]
        if self.blank:
            return ""
        return ", ".join(
            str(count) if count is not None else f"{usual} {ASSUMED}"
            for count, usual in zip(counts, (1, 2), strict=True)
        )

    def _bears(self, where: Where) -> str:
        said = self._value((*where, "bearing"), needed=False)
        return said or ("" if self.blank else f"yes {ASSUMED}")

    def _diagonals(self, walls: Sequence[WallPart]) -> Table:
        ids = {wall.id for wall in walls}
        rows = [
            [
                name,
                str(self.half.value("measured", name, "from") or ""),
                str(self.half.value("measured", name, "to") or ""),
                self._value(("measured", name, "length")),
                "",
            ]
            for name in self.half.ids("measured")
            if self.half.value("measured", name, "from") in ids
        ]
        columns = (
            Column(title="name", share=1.2),
            Column(title="from the start of", share=1.1),
            Column(title="to the start of", share=1.1),
            Column(title="reads", share=1.3),
            Column(title="measured, by whom", share=1.3),
        )
        return Table(columns=columns, rows=[*rows, *_empty(max(1, 2 - len(rows)), 5)], row_mm=WRITING_MM)

    def _heights(self) -> Table:
        columns = (
            Column(title="at the corner of", share=1.4),
            Column(title="floor to underside of joists", share=1.3),
            Column(title="floor to floor above", share=1.3),
            Column(title="thickness of floor there", share=1.3),
        )
        return Table(columns=columns, rows=_empty(2, 4), row_mm=WRITING_MM)

    def _members(self, row: Row, rows: Sequence[Listed]) -> Iterator[Block]:
        """The members of a row, two columns of them to a table."""
        known, one, what = [] if self.blank else list(rows), row.one, f"{row.side} of each {row.one}"
        more = max(ROWS_MORE + len(known) % 2, ROWS_LEAST - len(known)) if known else ROWS_BLANK[one]
        cells = [[member.name, member.said, "", member.size, member.note] for member in known] + _empty(more, 5)
        titles: tuple[tuple[str, float], ...] = (
            ("no.", 0.7),
            ("said", 1.3),
            (f"{what}: measured" if not known else "measured", 1.25),
            ("b x d, if other", 1.05),
            ("bears on, holes, notes", 1.2),
        )
        if not known:
            cells = [[str(number), *cell[2:]] for number, cell in enumerate(cells, start=1)]
            titles = (("no.", 0.3), (f"{what}, running", 1.3), *titles[3:])
        columns = tuple(Column(title=title, share=share) for title, share in titles)
        if one != "rafter":
            yield Break()  # the back of its sheet
        if not self.blank:
            said = f"said: {what}, as the scene has it"
            said += "" if row.every is None else f" ({one}s every {self.site.text(row.every)})"
            yield Words(text=f"{LEGEND} · {said}", points=8.5)
        for begin in range(0, len(cells), ROWS_PAGE):
            part = cells[begin : begin + ROWS_PAGE]
            half = (len(part) + 1) // 2
            right = [*part[half:], *_empty(2 * half - len(part), len(columns))]
            both = [[*a, *b] for a, b in zip(part[:half], right, strict=True)]
            yield Table(columns=columns * 2, rows=both, row_mm=WRITING_MM - 1.0)

    def _openings(self, wall: WallPart) -> Table:
        where = ("walls", wall.id, "openings")
        rows = []
        for name in wall.openings:
            leaf = self.half.value(*where, name, "door")
            rows.append(
                [
                    name,
                    *(self._value((*where, name, key)) for key in ("at", "width")),
                    self._value((*where, name, "bottom"), needed=False) or "0",
                    self._value((*where, name, "top")),
                    self._value((*where, name, "header"), needed=False),
                    f"{leaf.get('hinge') or '?'}, {leaf.get('swings') or 'in'}" if isinstance(leaf, Mapping) else "",
                ]
            )
        columns = (
            Column(title="opening", share=1.1),
            Column(title="near side", share=1.0),
            Column(title="width", share=0.9),
            Column(title="bottom", share=0.9),
            Column(title="top", share=0.9),
            Column(title="header: plies, size", share=1.2),
            Column(title="door: hinge, swings", share=1.0),
        )
        return Table(columns=columns, rows=[*rows, *_empty(4 if not rows else 1, 7)], row_mm=WRITING_MM)

    def _bearings(self, floor: FloorPart) -> Table:
        rows = []
        for key in ("bearings", "girders"):
            for number, said in enumerate(self.half.value("floors", floor.id, key) or ()):
                if isinstance(said, Mapping):
                    cells = [self._value(("floors", floor.id, key, number, one)) for one in ("at", "width")]
                    rows.append([*cells, "flush girder" if key == "girders" else "", ""])
        if not rows and not self.blank:
            plate = f"{self.site.text(PLATE_IN)} {ASSUMED}"
            rows = [["0", plate, "plate, near end", ""], ["", plate, "plate, far end", ""]]
        columns = (
            Column(title="near face", share=1.0),
            Column(title="width", share=1.0),
            Column(title="what it is: plate, girder, ledger, hanger", share=2.0),
            Column(title="measured", share=1.0),
        )
        return Table(columns=columns, rows=[*rows, *_empty(4 if self.blank else 2, 4)], row_mm=WRITING_MM)

    def _holes(self, part: str) -> Table:
        rows = []
        for name in self.half.ids("members"):
            if not name.startswith(f"{part}-"):
                continue
            for key, first, second in (("holes", "along", "across"), ("notches", "from", "depth")):
                for number, keys in enumerate(self.half.value("members", name, key) or ()):
                    where = ("members", name, key, number)
                    last = "diameter" if key == "holes" else "to"
                    has = Said(keys).list("has")
                    cells = [self._value((*where, one)) for one in (first, second, last)]
                    rows.append(
                        [name, key.removesuffix("s") if key == "holes" else "notch", *cells, ", ".join(map(str, has))]
                    )
        columns = (
            Column(title="joist", share=1.1),
            Column(title="hole or notch", share=0.9),
            Column(title="along (notch: from)", share=1.1),
            Column(title="up from lower edge (notch: depth)", share=1.3),
            Column(title="diameter (notch: to)", share=1.1),
            Column(title="what runs in it", share=1.4),
        )
        return Table(columns=columns, rows=[*rows, *_empty(5 if not rows else 2, 6)], row_mm=WRITING_MM)

    def _told(
        self,
        parts: Sequence[tuple[str, str]],
        kinds: Sequence[str] = ("unsound", "missing", "open", "unbuilt", "unsaid"),
    ) -> list[Block]:
        """What is to be settled about some parts, in words."""
        if self.blank:
            return []
        own = [one for one in self.survey.findings if set(one.parts) & set(parts) and one.kind in kinds]
        if not own:
            return []
        items = [f"{self.marks.sign(one)}  {sentence(one)}" for one in own[:TOLD_MOST]]
        if len(own) > TOLD_MOST:
            items.append(f"and {len(own) - TOLD_MOST} more: see the list on the first sheets")
        return [Bullets(items=items, framed=True, points=8.5)]

    def _closing(self, part: tuple[str, str]) -> list[Finding]:
        return [one for one in self.survey.findings if part in one.parts and one.kind == "open"]

    def _value(self, where: Where, *, needed: bool = True) -> str:
        """Words of the value at a place, with its marks."""
        value = self.half.value(*where)
        words = f"{value:g} degrees" if where[-1] == "heading" and isinstance(value, float) else self._words(value)
        if not words and not needed and not any(one.where == where for one in self.half.missing):
            return ""
        return self.marks.cell(where, words, assumed=isinstance(value, Section) and "dressed" in value.said)

    def _words(self, value: Any) -> str:
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, Section):
            if not value.measured:
                return ""
            return f"{self.site.text(value.breadth_in)} x {self.site.text(value.depth_in)}"
        if isinstance(value, int):
            return str(value)
        if isinstance(value, float):
            return self.site.text(value)
        return value if isinstance(value, str) else ""

    def _two(self, where: Where, pair: tuple[float | None, float | None]) -> str:
        return self._list(where, pair)

    def _three(self, where: Where) -> str:
        value = self.half.value(*where)
        return self._list(where, value if isinstance(value, tuple) else (None, None, None))

    def _list(self, where: Where, values: Sequence[float | None]) -> str:
        """Several lengths, each with its own marks; those of the whole behind them."""
        if all(value is None for value in values):
            return self.marks.cell(where, "")
        words = ", ".join(
            self.marks.cell((*where, number), "" if value is None else self.site.text(value))
            for number, value in enumerate(values)
        )
        return self.marks.cell(where, words)


def sentence(finding: Finding) -> str:
    """A finding as a sentence, with the one measurement behind it."""
    known = finding.found if finding.found not in ("?", "nothing is said") else f"{finding.place} is not known"
    expected = f"; expected: {finding.expected}" if finding.expected else ""
    return f"{known}{expected}. Take one measurement: {finding.measure}." if finding.measure else f"{known}{expected}."


def _facts(pairs: Sequence[tuple[str, str]]) -> Table:
    """Facts, two to a row, each with room to write."""
    rows = [[*one, *two] for one, two in zip(pairs[::2], pairs[1::2], strict=True)]
    columns = tuple(
        Column(title=title, share=share)
        for title, share in zip(("what", "it is") * 2, (1.1, 1.3, 1.1, 1.0), strict=True)
    )
    return Table(columns=columns, rows=rows, row_mm=WRITING_MM)


def _behind() -> Table:
    columns = (
        Column(title="behind it and in it: lining, insulation, pipes, cables, nails, chimney", share=3.0),
        Column(title="photographs, numbers", share=1.2),
    )
    return Table(columns=columns, rows=_empty(2, 2), row_mm=WRITING_MM)


def _drawn(rows: Sequence[Listed]) -> list[Upright]:
    return [row.drawn for row in rows if row.drawn is not None]


def _empty(count: int, columns: int) -> list[list[str]]:
    return [[""] * columns for _ in range(count)]

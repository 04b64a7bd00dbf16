"""The neutral drawing as DXF: true inches, layers, real dimensions, hatches and blocks, the same bytes each time.

DXF R2010 as Autodesk's "DXF Reference" describes it. What only hides what lies below (white lines and areas) is left
out: a CAD reader's background may be any colour, and there everything is to be seen and picked.
"""

from __future__ import annotations

import io
import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, TypeVar

from barnloom.viewer.drawing import (
    BLACK,
    WHITE,
    Arc,
    Bounds,
    Circle,
    Dimension,
    Drawing,
    Fill,
    Hatch,
    Item,
    Line,
    Pen,
    Point,
    Polygon,
    Polyline,
    Symbol,
    Text,
)
from barnloom.viewer.lettering import lines, width_in
from barnloom.viewer.primitives import primitives
from barnloom.viewer.symbols import SYMBOLS

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.entities import Hatch as HatchEntity
    from ezdxf.layouts.base import BaseLayout

Key = TypeVar("Key")

NAMES_LAYER, NOTES_LAYER = "DRAWING-NAMES", "NOTES"
CAPITALS = 0.73
"""Height of capitals, by which CAD measures letters, in ems."""
WEIGHTS = (0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100, 106, 120, 140, 158, 200, 211)
"""Widths that a line can have, 1/100 mm on paper (DXF Reference, common group code 370)."""
_FONTS = {False: ("TEXT", "arial.ttf"), True: ("TEXT-BOLD", "arialbd.ttf")}
"""By whether the text is bold. Narrower than the letters that the drawing was laid out with, and found everywhere."""
_ANSI31_IN = 0.125
"""Distance of the lines of this pattern, which stand at 45 degrees; some readers know patterns by name alone."""
_BOUNDARY, _LETTERS = "0", "LETTERS"
_WIDE_IN_SYMBOL = 0.1
"""Of a symbol's own size: a pen wider than this is part of its shape, and not a line weight."""
_INCHES, _BY_BLOCK, _BY_LAYER, _FOREGROUND = 1, 0, 256, 7
_ALIGNED, _OWN_BLOCK, _MIDDLE_BELOW, _DASHES_ROUND_CORNERS = 1, 32, 8, 128
_MM = 25.4
_NOTE_MM, _NAME_MM, _NAME_ROOM_MM, _GAP_MM = 3.0, 4.0, 60.0, 20.0
_LINE_EM = 1.5
_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]")
_NO_SIGN = re.compile("[\ud800-\udfff\ufffe\uffff]")


def to_dxf(drawings: Sequence[tuple[Drawing, float]], *, notes: Sequence[str] = ()) -> bytes:
    """
    Write drawings as one DXF file: all of them in model space, beside and below each other, each with its title.

    Parameters
    ----------
    drawings : sequence of (Drawing, float)
        Each with the scale that it was laid out for (24 for 1:24), which turns the widths of its pens into line
        weights. The first keeps its coordinates, the others are moved by whole feet.
    notes : sequence of str, optional
        Lines to stand below all of it, such as cautions.

    Returns
    -------
    bytes
        UTF-8 text, in inches. Lines and letters take colour, weight and dashes from their layer wherever they are as
        most of that layer; a dimension says what the drawing says; a symbol is a block of its name, one inch wide.
    """
    import ezdxf

    options = ezdxf.options  # type: ignore[attr-defined]
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # no dates and no ids that vary
    try:
        file = _File(drawings)
        for (drawing, scale), shift in zip(drawings, _shifts(drawings), strict=True):
            file.add(drawing, scale, shift)
        file.write_below(notes)
        return file.text().encode("utf-8")
    finally:
        options.write_fixed_meta_data_for_testing = before


def plain(text: str) -> str:
    r"""
    Text as a TEXT entity holds it, so that nothing in it is read as a code.

    Examples
    --------
    >>> plain("50%%d ^J"), plain("a" + chr(92) + "U+0041"), plain("one" + chr(10) + "two")
    ('50%%%%%%d ^ J', 'a\\U+005CU+0041', 'one two')
    """
    return re.sub(r"\\(?=U\+)", r"\\U+005C", _common(text))


def rich(text: str) -> str:
    r"""
    Text as a DIMENSION holds it, where backslash and braces are codes, and <> and [] what is measured.

    Examples
    --------
    >>> rich("4' 2\"{<>}"), rich(chr(92) + "Pa")
    ('4\' 2"\\{<{>}\\}', '\\\\Pa')
    """
    text = re.sub(r"[\\{}]", r"\\\g<0>", _common(text))
    text = re.sub(r"\\(?=U\+)", r"\\{}", text)
    return text.replace("<>", "<{>}").replace("[]", "[{]}")


def _common(text: str) -> str:
    """With percent signs and carets that are no codes; a code for signs of old code pages is broken by a blank."""
    text = _NO_SIGN.sub("\ufffd", _CONTROL.sub(" ", text)).replace("\\M+", "\\M +")
    return re.sub("%%+", lambda found: "%%%" * len(found[0]), text).replace("^", "^ ")


def layer_names(layers: Iterable[str]) -> dict[str, str]:
    """
    Names of layers that every CAD reader takes, by ours.

    Examples
    --------
    >>> layer_names(["cables", "Cables", "wall: \N{GREEK SMALL LETTER ALPHA}"])
    {'cables': 'CABLES', 'Cables': 'CABLES-2', 'wall: α': 'WALL_'}
    """
    return _named(dict.fromkeys(layers), taken={"DEFPOINTS", NAMES_LAYER, NOTES_LAYER})


def _named(names: Iterable[str], taken: set[str]) -> dict[str, str]:
    found = {}
    for name in names:
        plainly = re.sub("[^A-Z0-9-]+", "_", name.upper())[:60].strip(" ") or "_"
        other, number = plainly, 1
        while other in taken:
            number += 1
            other = f"{plainly}-{number}"
        taken.add(other)
        found[name] = other
    return found


def _shifts(drawings: Sequence[tuple[Drawing, float]]) -> Iterator[Point]:
    """Put the drawings into rows about as long as the rows are high together; a row hangs by its upper edge."""
    if not drawings:
        return
    gap = max(_GAP_MM * scale / _MM for _, scale in drawings)
    first = drawings[0][0].bounds
    sizes = [_with_name(drawing, scale) for drawing, scale in drawings]
    widest = max(size.width_in for size in sizes)
    area = sum((size.width_in + gap) * (size.height_in + gap) for size in sizes)
    room = max(widest, math.sqrt(area) * 1.2)
    x, y, lowest = first.left, first.top, first.top
    for b in sizes:
        if x > first.left and x + b.width_in > first.left + room:
            x, y = first.left, lowest - gap
        right, down = (12.0 * math.ceil((to - 1e-6) / 12) for to in (x - b.left, b.top - y))
        yield right, -down
        x, lowest = b.right + right + gap, min(lowest, b.bottom - down)


def _name(drawing: Drawing, scale: float) -> list[Text]:
    """Title of a drawing in lines under it, about as wide as it."""
    b, em = drawing.bounds, _NAME_MM / _MM * scale / CAPITALS
    words = lines(drawing.title, em, max(b.width_in, _NAME_ROOM_MM / _MM * scale))
    places = [(b.left, b.bottom - (number + 1) * _LINE_EM * em) for number in range(len(words))]
    return [Text(at=at, text=line, height_in=em, layer=NAMES_LAYER) for at, line in zip(places, words, strict=True)]


def _with_name(drawing: Drawing, scale: float) -> Bounds:
    """What a drawing takes up with its title."""
    b, name = drawing.bounds, _name(drawing, scale)
    right = max([b.right, *(b.left + width_in(line.text, line.height_in) for line in name)])
    low = min([b.bottom, *(line.at[1] - line.height_in / 2 for line in name)])
    return Bounds(left=b.left, bottom=low, right=right, top=b.top)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Look:
    """What an entity can take from its layer."""

    colour: str = BLACK
    weight: int = 25
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Canvas:
    """What is drawn on, moved by how much, at which scale; None: into a symbol's block."""

    layout: BaseLayout
    shift: Point = (0.0, 0.0)
    scale: float | None = None

    @property
    def widest_in(self) -> float:
        """Widest pen that is a line weight."""
        return _WIDE_IN_SYMBOL if self.scale is None else WEIGHTS[-1] / 100 / _MM * self.scale

    def at(self, point: Point) -> Point:
        """Return a place of the drawing in the file."""
        return point[0] + self.shift[0], point[1] + self.shift[1]


def _look(pen: Pen, scale: float) -> _Look:
    hundredths = pen.width_in * _MM / scale * 100
    weight = min(WEIGHTS, key=lambda weight: abs(weight - hundredths))
    return _Look(colour=pen.colour, weight=weight, dash=pen.dash)


class _File:
    """A DXF file in the making."""

    def __init__(self, drawings: Sequence[tuple[Drawing, float]]) -> None:
        import ezdxf

        self.doc: Document = ezdxf.new("R2010")  # type: ignore[attr-defined]
        self.doc.units = _INCHES
        self.doc.header["$MEASUREMENT"] = 0
        self.doc.header["$LTSCALE"] = 1.0
        self.dashes: dict[tuple[float, ...], str] = {}
        self.blocks: dict[str, str] = {}
        self.block_names = _named(SYMBOLS, set())
        self.low, self.high = (math.inf, math.inf), (-math.inf, -math.inf)
        self.largest = max((scale for _, scale in drawings), default=1.0)
        self.looks: dict[str, _Look] = {}
        for name, font in _FONTS.values():
            self.doc.styles.add(name, font=font)
        self.layers = layer_names(item.layer for drawing, _ in drawings for item in drawing.items)
        pens: dict[str, Counter[_Look]] = {layer: Counter() for layer in self.layers}
        for drawing, scale in drawings:
            for item in drawing.items:
                pen = getattr(item, "pen", None)
                if pen is not None and pen.colour != WHITE:
                    pens[item.layer][_look(pen, scale)] += 1
        for layer, counted in pens.items():
            self._add_layer(layer, counted.most_common(1)[0][0] if counted else _Look())
        for layer in (NAMES_LAYER, NOTES_LAYER):
            self.layers[layer] = layer
            self._add_layer(layer, _Look())

    def add(self, drawing: Drawing, scale: float, shift: Point) -> None:
        """Draw a drawing, and its title under it."""
        canvas = _Canvas(layout=self.doc.modelspace(), shift=shift, scale=scale)
        for item in drawing.items:
            self._draw(canvas, item)
        for line in _name(drawing, scale):
            self._draw(canvas, line)
        b = _with_name(drawing, scale)
        low, high = canvas.at((b.left, b.bottom)), canvas.at((b.right, b.top))
        self.low = min(self.low[0], low[0]), min(self.low[1], low[1])
        self.high = max(self.high[0], high[0]), max(self.high[1], high[1])

    def write_below(self, notes: Sequence[str]) -> None:
        """Write lines below everything."""
        if not math.isfinite(self.low[0]):
            self.low = self.high = (0.0, 0.0)
        canvas = _Canvas(layout=self.doc.modelspace(), scale=self.largest)
        em = _NOTE_MM / _MM * self.largest / CAPITALS
        left, y = self.low
        for note in notes:
            y -= _LINE_EM * em
            self._draw(canvas, Text(at=(left, y), text=note, height_in=em, layer=NOTES_LAYER))
        self.low = left, y

    def text(self) -> str:
        """All of it, opening with everything in sight."""
        (left, bottom), (right, top) = self.low, self.high
        height = max(top - bottom, (right - left) / 1.6, 1.0)
        self.doc.set_modelspace_vport(1.05 * height, ((left + right) / 2, (bottom + top) / 2))
        self.doc.modelspace().reset_extents((left, bottom, 0), (right, top, 0))
        for kind in sorted(self.doc.entitydb.dxf_types_in_use()):  # else in the order of a set
            self.doc.classes.add_class(kind)
        stream = io.StringIO()
        self.doc.write(stream)
        return stream.getvalue()

    def _draw(self, canvas: _Canvas, item: Item) -> None:
        match item:
            case Line():
                self._path(canvas, [item.start, item.end], item.pen, item.layer)
            case Polyline():
                self._path(canvas, item.points, item.pen, item.layer)
            case Polygon():
                self._filled(canvas, [(*point, 0.0) for point in item.points], item.fill, item.layer)
                if item.pen:
                    self._path(canvas, item.points, item.pen, item.layer, closed=True)
            case Circle():
                self._circle(canvas, item)
            case Arc():
                self._arc(canvas, item)
            case Text():
                self._text(canvas, item)
            case Hatch():
                self._hatch(canvas, item)
            case Dimension():
                self._dimension(canvas, item)
            case Symbol():
                self._symbol(canvas, item)

    def _path(
        self,
        canvas: _Canvas,
        points: Sequence[Point],
        pen: Pen,
        layer: str,
        *,
        closed: bool = False,
        bulge: float = 0.0,
    ) -> None:
        """Draw a line through points; ``bulge`` is the tangent of a quarter of the angle of each piece."""
        if pen.colour == WHITE:
            return
        attribs = self._pen_attribs(canvas, pen, layer)
        places = [canvas.at(point) for point in points]
        wide = pen.width_in > canvas.widest_in
        if len(places) == 2 and not (wide or closed or bulge):
            canvas.layout.add_line(places[0], places[1], dxfattribs=attribs)
            return
        width = {"const_width": pen.width_in} if wide else {}
        vertices = [(*place, bulge) for place in places]
        line = canvas.layout.add_lwpolyline(vertices, format="xyb", close=closed, dxfattribs=attribs | width)
        line.dxf.flags |= _DASHES_ROUND_CORNERS

    def _circle(self, canvas: _Canvas, item: Circle) -> None:
        (x, y), radius = item.centre, item.radius_in
        sides = ((x - radius, y), (x + radius, y))
        self._filled(canvas, [(*side, 1.0) for side in sides], item.fill, item.layer)
        if item.pen and item.pen.width_in > canvas.widest_in:
            self._path(canvas, sides, item.pen, item.layer, closed=True, bulge=1.0)
        elif item.pen and item.pen.colour != WHITE:
            attribs = self._pen_attribs(canvas, item.pen, item.layer)
            canvas.layout.add_circle(canvas.at(item.centre), radius, dxfattribs=attribs)

    def _arc(self, canvas: _Canvas, item: Arc) -> None:
        if item.pen.width_in > canvas.widest_in:
            (x, y), r = item.centre, item.radius_in
            angles = [math.radians(angle) for angle in (item.from_deg, item.to_deg)]
            ends = [(x + r * math.cos(angle), y + r * math.sin(angle)) for angle in angles]
            bulge = math.tan(math.radians((item.to_deg - item.from_deg) % 360) / 4)
            self._path(canvas, ends, item.pen, item.layer, bulge=bulge)
        elif item.pen.colour != WHITE:
            attribs = self._pen_attribs(canvas, item.pen, item.layer)
            start, end = item.from_deg % 360, item.to_deg % 360
            canvas.layout.add_arc(canvas.at(item.centre), item.radius_in, start, end, dxfattribs=attribs)

    def _text(self, canvas: _Canvas, item: Text) -> None:
        from ezdxf.enums import TextEntityAlignment

        text = plain(item.text)
        if not text.strip():
            return
        sides = {"middle": TextEntityAlignment.CENTER, "end": TextEntityAlignment.RIGHT}
        entity = canvas.layout.add_text(text, dxfattribs=self._letters(canvas, item))
        entity.set_placement(canvas.at(item.at), align=sides.get(item.anchor, TextEntityAlignment.LEFT))

    def _letters(self, canvas: _Canvas, item: Text) -> dict[str, Any]:
        """Attributes of a text, whose height and style are its own."""
        return {
            **self._colour_attribs(canvas, item.colour, item.layer),
            "height": CAPITALS * item.height_in,
            "rotation": item.turn_deg % 360,
            "style": _FONTS[item.bold][0],
        }

    def _filled(
        self, canvas: _Canvas, corners: Sequence[tuple[float, float, float]], fill: Fill | None, layer: str
    ) -> None:
        if fill is None or fill.colour == WHITE or fill.opacity <= 0:
            return
        area = self._area(canvas, corners, fill.colour, layer)
        if fill.opacity < 1:
            area.transparency = 1 - fill.opacity

    def _area(
        self, canvas: _Canvas, corners: Sequence[tuple[float, float, float]], colour: str, layer: str
    ) -> HatchEntity:
        """Return a solid area of a colour; its corners each with a bulge."""
        attribs = self._colour_attribs(canvas, colour, layer)
        area = canvas.layout.add_hatch(attribs.pop("color", _BY_LAYER), dxfattribs=attribs)
        area.paths.add_polyline_path([(*canvas.at((x, y)), bulge) for x, y, bulge in corners], is_closed=True)
        return area

    def _hatch(self, canvas: _Canvas, item: Hatch) -> None:
        """Draw parallel lines where `primitives` has them: the first at half their distance inside the area."""
        if item.pen.colour == WHITE:
            return
        area = self._area(canvas, [(*point, 0.0) for point in item.points], item.pen.colour, item.layer)
        turn = math.radians(item.angle_deg)
        up = (-math.sin(turn), math.cos(turn))
        places = [canvas.at(point) for point in item.points]
        level = min(x * up[0] + y * up[1] for x, y in places) + item.spacing_in / 2
        base = (level * up[0], level * up[1])
        step = (item.spacing_in * up[0], item.spacing_in * up[1])
        colour = area.dxf.color
        scale = item.spacing_in / _ANSI31_IN
        area.set_pattern_fill("ANSI31", color=colour, angle=item.angle_deg - 45, scale=scale, style=0)
        area.set_pattern_definition([[item.angle_deg, base, step, []]])
        area.dxf.pattern_angle, area.dxf.pattern_scale = item.angle_deg - 45, scale

    def _dimension(self, canvas: _Canvas, item: Dimension) -> None:
        """Put in a real dimension with our text, and the picture of it that the sheets show."""
        block = self.doc.blocks.new_anonymous_block(type_char="D")
        parts = list(primitives([item]))
        for part in parts:
            self._draw(replace(canvas, layout=block), part)
        (text,) = (part for part in parts if isinstance(part, Text))
        (x1, y1), (x2, y2) = item.start, item.end
        length = math.hypot(x2 - x1, y2 - y1)
        aside = (-(y2 - y1) / length * item.offset_in, (x2 - x1) / length * item.offset_in)
        canvas.layout.new_entity(
            "DIMENSION",
            {
                **self._pen_attribs(canvas, item.pen, item.layer),
                "dimtype": _ALIGNED + _OWN_BLOCK,
                "dimstyle": self._dimension_style(item.height_in),
                "geometry": block.name,
                "defpoint": canvas.at((x2 + aside[0], y2 + aside[1])),
                "defpoint2": canvas.at(item.start),
                "defpoint3": canvas.at(item.end),
                "text_midpoint": canvas.at(text.at),
                "attachment_point": _MIDDLE_BELOW,
                "actual_measurement": length,
                "text": rich(item.text) or " ",
            },
        )

    def _dimension_style(self, height_in: float) -> str:
        """Name of the style in which a reader draws dimensions anew as they are drawn here: strokes, text above."""
        name = re.sub("[^0-9A-Z]", "_", f"TEXT_{height_in:.4f}")
        if name not in self.doc.dimstyles:
            sizes = {"dimtxt": CAPITALS, "dimtsz": 0.4, "dimexo": 0.35, "dimexe": 0.45, "dimgap": 0.25}
            ours = {key: part * height_in for key, part in sizes.items()}
            flat = {"dimtad": 1, "dimtih": 0, "dimtoh": 0, "dimscale": 1.0, "dimtxsty": _FONTS[False][0]}
            self.doc.dimstyles.new(name, dxfattribs={**ours, **flat})
        return name

    def _symbol(self, canvas: _Canvas, item: Symbol) -> None:
        """Insert a symbol's block; its letters are attributes, since they stay upright."""
        if item.name not in self.blocks:
            self._define(item.name)
        pen = next(part.pen for part in SYMBOLS[item.name].items if not isinstance(part, Text) and part.pen)
        drawn = replace(pen, width_in=pen.width_in * item.size_in)
        size = dict.fromkeys(("xscale", "yscale", "zscale"), item.size_in)
        attribs = self._pen_attribs(canvas, drawn, item.layer)
        insert = canvas.layout.add_blockref(
            self.blocks[item.name],
            canvas.at(item.at),
            dxfattribs={**attribs, **size, "rotation": item.turn_deg % 360},
        )
        for letters in (part for part in primitives([item]) if isinstance(part, Text)):
            from ezdxf.enums import TextEntityAlignment

            own = self._letters(canvas, letters)
            attribute = insert.add_attrib(_LETTERS, plain(letters.text), dxfattribs=own)
            attribute.set_placement(canvas.at(letters.at), align=TextEntityAlignment.CENTER)

    def _define(self, name: str) -> None:
        """Make the block of a symbol."""
        from ezdxf.enums import TextEntityAlignment

        block = self.doc.blocks.new(self.block_names[name])
        block.block.dxf.description = SYMBOLS[name].words  # type: ignore[union-attr]
        canvas = _Canvas(layout=block)
        for item in SYMBOLS[name].items:
            if isinstance(item, Text):
                own = self._letters(canvas, item)
                attribute = block.add_attdef(_LETTERS, text=plain(item.text), dxfattribs=own)
                attribute.set_placement(item.at, align=TextEntityAlignment.CENTER)
            else:
                self._draw(canvas, item)
        self.blocks[name] = block.name

    def _pen_attribs(self, canvas: _Canvas, pen: Pen, layer: str) -> dict[str, Any]:
        """Layer, colour, weight and dashes, as far as they are not the layer's own."""
        attribs = self._colour_attribs(canvas, pen.colour, layer)
        if canvas.scale is None:
            return attribs | {"lineweight": -2}
        look, usual = _look(pen, canvas.scale), self.looks[layer]
        if look.weight != usual.weight:
            attribs["lineweight"] = look.weight
        if look.dash != usual.dash:
            attribs["linetype"] = self._linetype(look.dash)
        return attribs

    def _colour_attribs(self, canvas: _Canvas, colour: str, layer: str) -> dict[str, Any]:
        if canvas.scale is None:
            return {"layer": "0", "color": _BY_BLOCK}
        attribs: dict[str, Any] = {"layer": self.layers[layer]}
        return attribs if colour == self.looks[layer].colour else attribs | _colour(colour)

    def _add_layer(self, layer: str, look: _Look) -> None:
        self.looks[layer] = look
        name = self.layers[layer]
        entry = self.doc.layers.get(name) if name in self.doc.layers else self.doc.layers.add(name)
        entry.dxf.lineweight = look.weight
        entry.dxf.linetype = self._linetype(look.dash)
        entry.dxf.update(_colour(look.colour))

    def _linetype(self, dash: tuple[float, ...]) -> str:
        """Name of a linetype: pieces on and off in turn, in inches as they are drawn."""
        if not dash:
            return "CONTINUOUS"
        if dash not in self.dashes:
            self.dashes[dash] = f"DASHED-{len(self.dashes) + 1}"
            pieces = dash if len(dash) % 2 == 0 else dash * 2
            signed = [-piece if number % 2 else piece for number, piece in enumerate(pieces)]
            self.doc.linetypes.add(self.dashes[dash], [sum(pieces), *signed])
        return self.dashes[dash]


def _colour(colour: str) -> dict[str, int]:
    """Black is the foreground, which is white on a dark screen; every other colour is itself."""
    return {"color": _FOREGROUND} if colour == BLACK else {"true_color": int(colour[1:], 16)}

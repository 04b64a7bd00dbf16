"""Symbols of plans, drawn from lines: plain ones in the tradition of ANSI Y32.9 and IEC 60617, from memory.

Each is drawn about its middle, one unit wide, and says what it is in words for the legend.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from barnloom.viewer.drawing import BLACK, WHITE, Arc, Circle, Fill, Line, Pen, Point, Polygon, Primitive, Text

LAYER = "0"
"""Placeholder: a symbol is drawn on the layer that it is put on."""
_PEN = Pen(width_in=0.06)
_WHITE, _BLACK = Fill(colour=WHITE), Fill(colour=BLACK)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A symbol: what it stands for, and its lines."""

    words: str
    items: tuple[Primitive, ...]


def _line(*ends: float) -> Line:
    x1, y1, x2, y2 = ends
    return Line(start=(x1, y1), end=(x2, y2), pen=_PEN, layer=LAYER)


def _circle(radius: float = 0.36, fill: Fill | None = _WHITE) -> Circle:
    return Circle(centre=(0, 0), radius_in=radius, pen=_PEN, fill=fill, layer=LAYER)


def _letters(text: str, height: float = 0.42) -> Text:
    """Capitals are about 0.73 of the em: half of that under the middle."""
    return Text(at=(0, -0.365 * height), text=text, height_in=height, layer=LAYER, anchor="middle", bold=True)


def _shape(*points: Point, fill: Fill | None = _WHITE) -> Polygon:
    return Polygon(points=points, pen=_PEN, fill=fill, layer=LAYER)


_RAYS = (_line(0.36, 0, 0.5, 0), _line(-0.36, 0, -0.5, 0), _line(0, 0.36, 0, 0.5), _line(0, -0.36, 0, -0.5))
_PAIR = (_line(-0.5, 0.1, 0.5, 0.1), _line(-0.5, -0.1, 0.5, -0.1))
_SQUARE = ((-0.4, -0.4), (0.4, -0.4), (0.4, 0.4), (-0.4, 0.4))
_BODY = ((-0.5, -0.18), (0.5, -0.18), (0.5, 0.18), (-0.5, 0.18))
_UPPER_HALF = Arc(centre=(0, 0), radius_in=0.28, from_deg=0, to_deg=180, pen=Pen(width_in=0.16), layer=LAYER)

SYMBOLS: Mapping[str, Drawn] = MappingProxyType(
    {
        "receptacle": Drawn(words="receptacle, two outlets", items=(_circle(), *_PAIR)),
        "single receptacle": Drawn(words="receptacle, one outlet", items=(_circle(), _line(-0.5, 0, 0.5, 0))),
        "half-switched receptacle": Drawn(
            words="receptacle, one half switched (dark side)", items=(_circle(), _UPPER_HALF, *_PAIR)
        ),
        "protected receptacle": Drawn(
            words="receptacle with ground-fault protection of its own",
            items=(_circle(), *_PAIR, _line(0, -0.36, 0, 0.36)),
        ),
        "240 V receptacle": Drawn(
            words="receptacle for 240 V",
            items=(_circle(), _shape((-0.28, -0.18), (0.28, -0.18), (0, 0.32), fill=_BLACK)),
        ),
        "light": Drawn(words="light", items=(_circle(), *_RAYS)),
        "switch": Drawn(words="switch", items=(_shape(*_SQUARE), _letters("S", 0.62))),
        "three-way switch": Drawn(words="three-way switch", items=(_shape(*_SQUARE), _letters("S3", 0.5))),
        "four-way switch": Drawn(words="four-way switch", items=(_shape(*_SQUARE), _letters("S4", 0.5))),
        "machine": Drawn(words="machine, wired up directly", items=(_circle(0.42), _letters("M"))),
        "heater": Drawn(words="heater, wired up directly", items=(_shape(*_BODY), _letters("H", 0.3))),
        "opener": Drawn(words="door opener", items=(_circle(0.42), _letters("D"))),
        "alarm": Drawn(words="alarm", items=(_circle(0.42), _letters("A"))),
        "junction": Drawn(words="covered junction", items=(_circle(0.42), _letters("J"))),
        "stub": Drawn(words="end of a cable, for later", items=(_circle(0.2, _BLACK),)),
        "panel": Drawn(
            words="panel",
            items=(_shape(*_BODY), _shape((-0.5, -0.18), (0.5, -0.18), (0.5, 0.18), fill=_BLACK)),
        ),
        "hole": Drawn(words="hole", items=(_circle(0.3, None), _line(-0.5, 0, 0.5, 0), _line(0, -0.5, 0, 0.5))),
    }
)

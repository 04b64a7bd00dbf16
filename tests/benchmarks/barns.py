"""Barns of any length for measuring: two storeys, framed in sticks, boxes and circuits in proportion.

One length is 36 ft by 24 ft with 40 boxes in 6 circuits, much like the boat shed of the scenes; a quarter of a length
is 9 ft with 10 boxes in 2 circuits; ten lengths are one barn of 360 ft with 400 boxes in 60 circuits from one panel. A
panel has no more than 84 spaces and 60 cables, so that every ten lengths have a panel of their own; and no scene is
longer than 1,000 ft, so that a hundred lengths are five barns of 720 ft side by side, planned as one building.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

LENGTH_FT, DEPTH_FT, GAP_FT = 36, 24, 12
LENGTH_IN, DEPTH_IN = 12 * LENGTH_FT, 12 * DEPTH_FT
STRETCH, RANGE = 10, 20
"""Most lengths that share a panel; most lengths of one barn."""
LOFT_IN = 109.125 + 9.25 + 0.75
Parts = dict[str, Any]


@dataclass(frozen=True)
class Range:
    """One barn of a scene: its number, its size, and where its corner is north of the first one's."""

    number: int
    first: int
    lengths: int
    long_in: int

    @property
    def north_in(self) -> int:
        """How far north its south side lies."""
        return 12 * (DEPTH_FT + GAP_FT) * self.number

    def name(self, letters: str) -> str:
        """Id of one of its parts."""
        return f"{letters}-{self.number}" if self.number else letters


def barn(times: float) -> str:
    """The scene, as text, of a barn that many lengths long: a quarter, or any whole number."""
    if times < 1:
        ranges = [Range(0, 0, 1, int(LENGTH_IN * times))]
    else:
        firsts = range(0, int(times), RANGE)
        counts = [min(RANGE, int(times) - first) for first in firsts]
        ranges = [Range(n, RANGE * n, count, LENGTH_IN * count) for n, count in enumerate(counts)]
    scene: Parts = {"walls": {}, "floors": {}, "boxes": {}, "circuits": {}}
    for one in ranges:
        scene["walls"] |= _walls(one, openings=times >= 1)
        scene["floors"] |= {one.name("F"): _floor(one, openings=times >= 1)}
        boxes, circuits = _whole_lengths(one) if times >= 1 else _quarter(one)
        scene["boxes"] |= boxes
        scene["circuits"] |= circuits
    return json.dumps({
        "barnloom": 1,
        "title": f"A barn {LENGTH_FT * times:g} ft long",
        "answers": {"exposed": "free", "lining": "none", "insulated": "no"},
        "storeys": {"ground": {"floor": 0}, "loft": {"floor": f'{LOFT_IN}"'}},
        **scene,
    })  # fmt: skip


def _walls(one: Range, *, openings: bool) -> Parts:
    long, south, north = one.long_in, one.north_in, one.north_in + DEPTH_IN
    sides = {
        "S": ((0, south), "east", long),
        "E": ((long, south), "north", DEPTH_IN),
        "N": ((long, north), "west", long),
        "W": ((0, north), "south", DEPTH_IN),
    }
    walls: Parts = {}
    for storey, prefix, height in (("ground", "", 109.125), ("loft", "U", 84.0)):
        for side, (start, heading, length) in sides.items():
            walls[one.name(prefix + side)] = {
                "storey": storey,
                "start": [f'{x}"' for x in start],
                "heading": heading,
                "length": f'{length}"',
                "height": f'{height}"',
                "section": "2x6",
                "studs": {"every": '16"'},
                "bearing": "yes",
            }
    if openings:
        for side in ("S", "N"):
            walls[one.name(side)]["openings"] = {
                f"D{n}": {"at": f'{LENGTH_IN * n + 272}"', "width": '32"', "top": '82-1/2"', "header": "2x10"}
                for n in range(one.lengths)
            }
    return walls


def _floor(one: Range, *, openings: bool) -> Parts:
    floor: Parts = {
        "carries": "loft",
        "corner": [0, f'{one.north_in}"'],
        "size": [f'{one.long_in}"', f'{DEPTH_IN}"'],
        "subfloor": '3/4"',
        "joists": {"section": "2x10", "every": '16"', "run": "depth"},
        "bearings": [
            {"at": 0, "width": '5-1/2"'},
            {"at": '141"', "width": '6"'},
            {"at": f'{DEPTH_IN - 5.5}"', "width": '5-1/2"'},
        ],
    }
    if openings:
        floor["openings"] = {
            f"H{n}": {"at": [f'{LENGTH_IN * n + 200}"', '100"'], "size": ['36"', '120"']} for n in range(one.lengths)
        }
    return floor


def _panel(spaces: int, wall: str, along: str) -> Parts:
    return {
        "kind": "panel",
        "wall": wall,
        "along": along,
        "height": '60"',
        "cables_max": 60,
        "panel": {"spaces": spaces},
    }


def _whole_lengths(one: Range) -> tuple[Parts, Parts]:
    """Boxes and circuits of a barn: six circuits a length, the panel of each stretch where it begins."""
    boxes: Parts = {}
    circuits: Parts = {}
    for n in range(one.lengths):
        at, number = LENGTH_IN * n, one.first + n
        if n % STRETCH == 0:
            panel = f"P{number // STRETCH}" if number else "P"
            spaces = max(12, 2 * (3 * min(STRETCH, one.lengths - n) + 2))
            # In the west wall if there is one, else in the first bay of its stretch.
            boxes[panel] = (
                _panel(spaces, one.name("W"), '136"') if n == 0 else _panel(spaces, one.name("S"), f'{at + 8}"')
            )
        ceiling = {"ceiling": one.name("F"), "size": ['4"', '4"', '1-1/2"']}
        for k in range(6):
            circuits[f"C{number}-{k}"] = {"cable": "12/2" if k < 4 else "14/2", "panel": panel}
        for k in range(8):
            place = {"along": f'{at + 24 + 48 * k}"', "height": '48"'}
            boxes[f"S{number}-{k}"] = {"circuit": f"C{number}-0", "wall": one.name("S"), **place}
            away = {"along": f'{one.long_in - at - 24 - 48 * k}"', "height": '44"'}
            boxes[f"N{number}-{k}"] = {"circuit": f"C{number}-1", "wall": one.name("N"), **away}
        for k in range(6):
            low = {"along": f'{at + 40 + 64 * k}"', "height": '18"'}
            boxes[f"US{number}-{k}"] = {"circuit": f"C{number}-2", "wall": one.name("US"), **low}
            boxes[f"UN{number}-{k}"] = {"circuit": f"C{number}-3", "wall": one.name("UN"), **low}
            along = f'{at + 40 + 64 * k}"'
            boxes[f"L{number}-{k}"] = {"circuit": f"C{number}-4", "at": [along, '60"'], **ceiling}
            boxes[f"M{number}-{k}"] = {"circuit": f"C{number}-5", "at": [along, '230"'], **ceiling}
    return boxes, circuits


def _quarter(one: Range) -> tuple[Parts, Parts]:
    """Ten boxes in two circuits: receptacles low in the walls, lights in the ceiling."""
    boxes: Parts = {"P": _panel(12, "W", '136"')}
    for k, (wall, along) in enumerate((("S", 24), ("S", 72), ("N", 24), ("N", 72), ("US", 40), ("UN", 56))):
        height = '48"' if k < 4 else '18"'
        boxes[f"R{k}"] = {"circuit": "C0", "wall": wall, "along": f'{along}"', "height": height}
    for k, place in enumerate(((40, 60), (72, 60), (40, 230), (72, 230))):
        ceiling = {"ceiling": "F", "size": ['4"', '4"', '1-1/2"']}
        boxes[f"L{k}"] = {"circuit": "C1", "at": [f'{x}"' for x in place], **ceiling}
    return boxes, {"C0": {"cable": "12/2", "panel": "P"}, "C1": {"cable": "14/2", "panel": "P"}}

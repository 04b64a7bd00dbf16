"""Barns of any length for measuring: two storeys, framed in sticks, boxes and circuits in proportion.

One length is 36 ft by 24 ft with 40 boxes in 6 circuits, much like the boat shed of the scenes; ten lengths are one
barn of 360 ft with 400 boxes in 60 circuits.
"""

from __future__ import annotations

import json
from typing import Any

LENGTH_FT, DEPTH_FT = 36, 24


def barn(times: int) -> str:
    """The scene, as text, of a barn that many lengths long."""
    long, deep = 12 * LENGTH_FT * times, 12 * DEPTH_FT
    loft = 109.125 + 9.25 + 0.75
    sides = {
        "S": ((0, 0), "east", long),
        "E": ((long, 0), "north", deep),
        "N": ((long, deep), "west", long),
        "W": ((0, deep), "south", deep),
    }
    walls: dict[str, Any] = {}
    for storey, prefix, height in (("ground", "", 109.125), ("loft", "U", 84.0)):
        for name, (start, heading, length) in sides.items():
            walls[prefix + name] = {
                "storey": storey,
                "start": [f'{x}"' for x in start],
                "heading": heading,
                "length": f'{length}"',
                "height": f'{height}"',
                "section": "2x6",
                "studs": {"every": '16"'},
                "bearing": "yes",
            }
    for name in ("S", "N"):
        walls[name]["openings"] = {
            f"D{n}": {"at": f'{432 * n + 272}"', "width": '32"', "top": '82-1/2"', "header": "2x10"}
            for n in range(times)
        }
    stairs = {f"H{n}": {"at": [f'{432 * n + 200}"', '100"'], "size": ['36"', '120"']} for n in range(times)}
    floor = {
        "carries": "loft",
        "corner": [0, 0],
        "size": [f'{long}"', f'{deep}"'],
        "subfloor": '3/4"',
        "joists": {"section": "2x10", "every": '16"', "run": "depth"},
        "openings": stairs,
        "bearings": [
            {"at": 0, "width": '5-1/2"'},
            {"at": '141"', "width": '6"'},
            {"at": f'{deep - 5.5}"', "width": '5-1/2"'},
        ],
    }
    boxes: dict[str, Any] = {}
    circuits: dict[str, Any] = {}
    boxes["P"] = {"kind": "panel", "wall": "W", "along": '136"', "height": '60"', "cables_max": 60}
    boxes["P"]["panel"] = {"spaces": max(12, 2 * (3 * times + 2))}
    for n in range(times):
        at = 432 * n
        for k in range(6):
            circuits[f"C{n}-{k}"] = {"cable": "12/2" if k < 4 else "14/2", "panel": "P"}
        for k in range(8):
            place = {"along": f'{at + 24 + 48 * k}"', "height": '48"'}
            boxes[f"S{n}-{k}"] = {"circuit": f"C{n}-0", "wall": "S", **place}
            away = {"along": f'{long - at - 24 - 48 * k}"', "height": '44"'}
            boxes[f"N{n}-{k}"] = {"circuit": f"C{n}-1", "wall": "N", **away}
        for k in range(6):
            low = {"along": f'{at + 40 + 64 * k}"', "height": '18"'}
            boxes[f"US{n}-{k}"] = {"circuit": f"C{n}-2", "wall": "US", **low}
            boxes[f"UN{n}-{k}"] = {"circuit": f"C{n}-3", "wall": "UN", **low}
            light = {"ceiling": "F", "size": ['4"', '4"', '1-1/2"']}
            boxes[f"L{n}-{k}"] = {"circuit": f"C{n}-4", "at": [f'{at + 40 + 64 * k}"', '60"'], **light}
            boxes[f"M{n}-{k}"] = {"circuit": f"C{n}-5", "at": [f'{at + 40 + 64 * k}"', '230"'], **light}
    return json.dumps({
        "barnloom": 1,
        "title": f"A barn {LENGTH_FT * times} ft long",
        "answers": {"exposed": "free", "lining": "none", "insulated": "no"},
        "storeys": {"ground": {"floor": 0}, "loft": {"floor": f'{loft}"'}},
        "walls": walls,
        "floors": {"F": floor},
        "boxes": boxes,
        "circuits": circuits,
    })  # fmt: skip

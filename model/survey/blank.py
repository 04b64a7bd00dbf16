"""A scene with nothing in it yet but questions: what a survey fills in, line by line."""

from __future__ import annotations

from barnloom.model.errors import InputError
from barnloom.model.lengths import format_length

_SIDES = ("SOUTH", "EAST", "NORTH", "WEST")
_HEADINGS = ("east", "north", "west", "south")
STOREYS_MOST, WALLS_MOST = 4, 24
_HEAD = """\
# A survey to fill in. ? is what nobody has measured yet: put the number in its place, as your tape says it.
# Delete what the building does not have, copy what it has more of. Walls go round against the clock, from outside
# framing corner to outside framing corner. Then: barnloom survey THIS-FILE --out survey
"""


def blank_scene(
    *,
    storeys: int = 1,
    walls: int = 4,
    width_in: float | None = None,
    depth_in: float | None = None,
    metric: bool = False,
    title: str = "",
) -> str:
    """
    Text of a scene to fill in.

    Parameters
    ----------
    storeys : int
        Floors that people stand on, 1 to 4.
    walls : int
        Outside walls of each, 3 to 24; four are SOUTH, EAST, NORTH and WEST.
    width_in, depth_in : float, optional
        Outside length of the south and of the west wall, as far as it is known; of four walls only.
    metric : bool
        Lengths in millimetres.

    Raises
    ------
    InputError
        If there are fewer or more storeys or walls than that.
    """
    for count, least, most, what in ((storeys, 1, STOREYS_MOST, "storeys"), (walls, 3, WALLS_MOST, "walls")):
        if not least <= count <= most:
            found = f"{count} {what}"
            raise InputError(found, f"{least} to {most}", "print the sheets of one part of the building")
    names = [f"STOREY-{number}" for number in range(1, storeys + 1)]
    lines = [
        _HEAD + "barnloom: 1",
        f"title: {_quoted(title) if title else '?'}",
        f"units: {'metric' if metric else 'us'}",
        "storeys:",
        *(f"  {name}: {{floor: {'?' if number else 0}}}" for number, name in enumerate(names)),
        "walls:",
    ]
    sides = [_length(side, metric) if walls == 4 else "?" for side in (width_in, depth_in)]
    for number, name in enumerate(names):
        for side in range(walls):
            heading = _HEADINGS[side] if walls == 4 else "?"
            start = "[0, 0]" if side == 0 else "?"
            lines += [
                f"  {_wall(number, side, walls)}:",
                f"    storey: {name}",
                f"    start: {start}",
                f"    heading: {heading}",
                f"    length: {sides[side % 2]}",
                "    height: ?",
                "    section: ?",
                "    studs: {at: [?]}",
                "    bearing: ?",
            ]
    lines.append("floors:")
    for number, name in enumerate(names):
        level = f"carries: {names[number + 1]}" if number + 1 < storeys else "bottom: ?"
        lines += [
            f"  CEILING-{number + 1}:",
            f"    {level}",
            f"    below: {name}",
            "    corner: [0, 0]",
            f"    size: [{sides[0]}, {sides[1]}]",
            "    joists: {section: ?, run: ?, at: [?]}",
            "    subfloor: ?",
            "    bearings: [{at: ?, width: ?}, {at: ?, width: ?}]",
        ]
    lines += [
        "roofs:",
        "  ROOF:",
        f"    storey: {names[-1]}",
        "    kind: ?",
        "    corner: [0, 0]",
        f"    size: [{sides[0]}, {sides[1]}]",
        "    plate: ?",
        "    pitch: ?",
        "    overhang: ?",
        "    rafters: {section: ?, at: [?]}",
    ]
    if walls == 4:
        lines.append("measured:")
        for number in range(storeys):
            one, two, three, four = (_wall(number, side, walls) for side in range(4))
            lines.append(f"  DIAGONAL-{number + 1}A: {{from: {one}, to: {three}, length: ?}}")
            lines.append(f"  DIAGONAL-{number + 1}B: {{from: {two}, to: {four}, length: ?}}")
    return "\n".join(lines) + "\n"


def _wall(storey: int, side: int, walls: int) -> str:
    name = _SIDES[side] if walls == 4 else f"WALL-{side + 1}"
    return name if storey == 0 else f"{name}-{storey + 1}"


def _length(inches: float | None, metric: bool) -> str:
    return "?" if inches is None else format_length(inches, metric=metric)


def _quoted(text: str) -> str:
    return "'" + " ".join(text.split()).replace("'", "''") + "'"

"""A starter scene: a rectangular shed of the size somebody asks for, small, commented, ready to plan."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from string import Template
from typing import Literal

from barnloom.model.errors import InputError
from barnloom.model.lengths import MILLIMETRE_IN, SIXTEENTH_IN, format_length, snap
from barnloom.model.limits import at_least, at_most

SIDE_IN = (96.0, 1200.0)
HEIGHT_IN = (80.0, 192.0)
"""Least and most of a starter's sides and of its walls' height, inches."""
HATCH_LEAST_IN = 144.0
"""Shortest side of a loft that gets a hatch."""
OVER_HEADER_IN = 5.0
"""Plates over a header and under it the sole plate, with a little to spare."""
BESIDE_OPENING_IN = 5.0
"""King and jack stud at each side of an opening, with a little to spare."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sizes:
    """What a starter is made of, in one system of units (inches, and sections as said)."""

    every: float
    door: float
    door_top: float
    window: float
    sill: float
    header_depth: float
    stud: str
    header: str
    joists: tuple[tuple[float, str, float], ...]
    """Span up to which a joist is offered, its section, its depth."""
    subfloor: float
    hatch: tuple[float, float]
    switch: float
    outlet: float
    panel: float
    panel_size: tuple[float, float, float]
    loft_wall: float


_US = _Sizes(
    every=16,
    door=38,
    door_top=82.5,
    window=36,
    sill=40,
    header_depth=5.5,
    stud="2x4",
    header="2x6",
    joists=((108, "2x6", 5.5), (144, "2x8", 7.25), (192, "2x10", 9.25), (9999, "2x12", 11.25)),
    subfloor=0.75,
    hatch=(30, 48),
    switch=52,
    outlet=52,
    panel=54,
    panel_size=(14, 30, 3.5),
    loft_wall=60,
)
_MM = MILLIMETRE_IN
_METRIC = _Sizes(
    every=400 * _MM,
    door=950 * _MM,
    door_top=2100 * _MM,
    window=900 * _MM,
    sill=1000 * _MM,
    header_depth=140 * _MM,
    stud="38 x 89 mm",
    header="38 x 140 mm",
    joists=(
        (2700 * _MM, "38 x 140 mm", 140 * _MM),
        (3600 * _MM, "38 x 184 mm", 184 * _MM),
        (4800 * _MM, "38 x 235 mm", 235 * _MM),
        (99999 * _MM, "38 x 286 mm", 286 * _MM),
    ),
    subfloor=18 * _MM,
    hatch=(750 * _MM, 1200 * _MM),
    switch=1320 * _MM,
    outlet=1300 * _MM,
    panel=1400 * _MM,
    panel_size=(350 * _MM, 750 * _MM, 89 * _MM),
    loft_wall=1500 * _MM,
)


def new_scene(
    width_in: float,
    depth_in: float,
    height_in: float,
    *,
    storeys: Literal[1, 2] = 1,
    units: Literal["us", "metric"] = "us",
) -> str:
    """
    Text of a commented scene of a rectangular shed.

    Parameters
    ----------
    width_in, depth_in : float
        Outside of the framing, west to east and south to north, inches; rounded to what a tape shows.
    height_in : float
        Of the walls of the lower storey, from the sole plate's bottom to the top plate's top, inches.
    storeys : {1, 2}
        With two there is a loft with low walls over the lower storey.
    units : {"us", "metric"}
        How lengths are written, and which sizes of timber.

    Raises
    ------
    InputError
        If the shed would be too small or too large for a starter.
    """
    for name, side, (low, high) in (
        ("width", width_in, SIDE_IN),
        ("depth", depth_in, SIDE_IN),
        ("height", height_in, HEIGHT_IN),
    ):
        if not (at_least(side, low) and at_most(side, high)):
            metric = units == "metric"
            found, *bounds = (format_length(length, metric=metric) for length in (side, low, high))
            expected = f"a {name} from {bounds[0]} to {bounds[1]} for a starter"
            raise InputError(found, expected, "begin with a size in that range, and change the scene")
    values = _values(width_in, depth_in, height_in, storeys == 2, units)
    parts = {"storeys": "", "upper_walls": "", "loft_boxes": "", "floor": _CEILING}
    if storeys == 2:
        parts = {"storeys": _LOFT_STOREY, "upper_walls": _UPPER_WALLS, "loft_boxes": _LOFT_BOXES, "floor": _LOFT}
    return Template(_SCENE).substitute(
        values, **{name: Template(part).substitute(values) for name, part in parts.items()}
    )


def _values(width_in: float, depth_in: float, height_in: float, loft: bool, units: str) -> dict[str, str]:
    """Return everything that a starter says which hangs on its size."""
    metric = units == "metric"
    sizes = _METRIC if metric else _US
    grid = MILLIMETRE_IN if metric else SIXTEENTH_IN
    width, depth, height = (snap(side, grid) for side in (width_in, depth_in, height_in))
    along_depth = depth <= width
    joist, joist_depth = next((joist[1], joist[2]) for joist in sizes.joists if min(width, depth) <= joist[0])
    across, along = (width, depth) if along_depth else (depth, width)
    every = sizes.every

    def said(inches: float) -> str:
        return format_length(inches, metric=metric).replace("' 0\"", "'")

    def small(inches: float) -> str:
        return format_length(inches, metric=metric, feet=False)

    def pair(*lengths: float) -> str:
        return f"[{', '.join(said(length) if length else '0' for length in lengths)}]"

    def in_floor(over_joists: float, on_joists: float) -> str:
        return pair(over_joists, on_joists) if along_depth else pair(on_joists, over_joists)

    top = min(sizes.door_top, snap(height - OVER_HEADER_IN - sizes.header_depth, grid, "down"))
    door_at, window_at = (snap((width - opening) / 2, grid) for opening in (sizes.door, sizes.window))
    loft_wall = min(height, sizes.loft_wall)
    hatch = ""
    if min(width, depth) >= HATCH_LEAST_IN:
        hatch = Template(_HATCH).substitute(at=in_floor(every, snap(every / 2, grid)), size=in_floor(*sizes.hatch))
    return {
        "kind": "two-storey" if loft else "one-storey",
        "units": units,
        "width": said(width),
        "depth": said(depth),
        "height": said(height),
        "south_east": pair(width, 0),
        "north_east": pair(width, depth),
        "north_west": pair(0, depth),
        "size": pair(width, depth),
        "stud": sizes.stud,
        "header": sizes.header,
        "every": small(every),
        "door_at": said(door_at),
        "door": small(sizes.door),
        "top": said(top),
        "window_at": said(window_at),
        "window": small(sizes.window),
        "sill": small(min(sizes.sill, snap(top / 2, grid))),
        "joist": joist,
        "run": "depth" if along_depth else "width",
        "joists_run": "south to north" if along_depth else "west to east",
        "overhead": "LOFT" if loft else "CEILING",
        "points": "S1, S2" if loft else "S1",
        "joist_id": "LOFT-J3" if loft else "CEILING-CJ3",
        "panel_along": said(_bay(depth / 2, depth, every)),
        "panel_height": small(min(sizes.panel, snap(height / 2, grid))),
        "panel_size": f"[{', '.join(map(small, sizes.panel_size))}]",
        "switch_along": said(_bay_after(door_at + sizes.door + BESIDE_OPENING_IN, every)),
        "switch": small(sizes.switch),
        "outlet": small(sizes.outlet),
        "east_1": said(_bay(depth * 0.3, depth, every)),
        "east_2": said(_bay(depth * 0.7, depth, every)),
        "north_along": said(_bay(window_at / 2, window_at - BESIDE_OPENING_IN, every)),
        "light_1": in_floor(_bay(across * 0.36, across, every), snap(along / 2, grid)),
        "light_2": in_floor(_bay(across * 0.72, across, every), snap(along / 2, grid)),
        "loft_level": said(height + joist_depth + sizes.subfloor),
        "subfloor": small(sizes.subfloor),
        "hatch": hatch,
        "loft_wall": said(loft_wall),
        "loft_outlet": small(snap(loft_wall / 2, grid)),
        "loft_switch": small(snap(loft_wall * 2 / 3, grid)),
        "loft_along": said(_bay(depth / 2, depth, every)),
    }


def _bay(wanted: float, end: float, every: float) -> float:
    """Middle of the bay nearest a wish, but for the first and the last bay."""
    middles: Iterable[float] = [(number + 0.5) * every for number in range(1, max(2, int(end / every)))]
    inner = [middle for middle in middles if middle < end - every / 2] or [1.5 * every]
    return min(inner, key=lambda middle: abs(middle - wanted))


def _bay_after(least: float, every: float) -> float:
    """Middle of the first bay that begins where ``least`` is, or later."""
    number = 1
    while number * every < least:
        number += 1
    return (number + 0.5) * every


_SCENE = """\
# A $kind shed, $width by $depth: a scene to start from. Change it to what your own tape says.
#
# How to read it: one `key: value` a line, parts indented by two spaces; whatever follows a # is a remark.
# Lengths are written as people say them: 12' 6-1/2"  or 150 1/2"  or 12ft 6 1/2in  or 3.81 m  or 3810 mm.
# No quotes round them: an inch mark would end the quote. A space after every colon.
# x goes east, y goes north, so [3', 10'] is 3 feet east and 10 feet north of the south-west corner.
# All keys are explained in scenes/README.md of the program.

barnloom: 1            # version of this format
title: My shed
about:                 # printed on every sheet: local rules hang on it
  use: workshop and storage
  owner: not said
  place: not said
units: $units              # how lengths are printed: us or metric

# Questions to put to your inspector before you drill. As long as one is not answered, the stricter reading
# is planned, and said so on every list. An answer can be kept with its story: {answer: no, who: ..., when: ...}
answers:
  lining: later        # will the walls get boards or plasterboard? now, later or none
  # exposed: covered   # cable in sight on open studs: free, drops (up and down only), covered, or never
  # insulated: no
  # plain_cable: yes   # is plain sheathed cable (NM-B) allowed in such a building? yes, concealed, or no
  # dwelling: no       # does anybody sleep or live here?
  # surroundings: dry  # what cables and boxes live in: dry, damp, or livestock
  # bundled: yes       # do cables beside each other for over 24 in count as a bundle?
  # switch_neutral: yes            # must there be a neutral at every switch?
  # hardwired_ground_fault: yes    # must what is wired up directly be protected against ground faults?

storeys:               # from the lowest up; floor: the level that people stand on
  GROUND: {floor: 0, title: Ground floor}
$storeys
# Walls go round against the clock, each from corner to corner of the framing, with the room on its left.
# The one written first runs through at a corner, the next one butts against it.
walls:
  SOUTH:
    start: [0, 0]
    heading: east
    length: $width
    height: $height      # from the bottom of the sole plate to the top of the top plate
    section: $stud
    studs: {every: $every}   # or as measured, each one's near face: studs: {at: [0, 15-1/2", 2' 8"]}
    bearing: yes
    openings:
      DOOR:
        at: $door_at       # near side of the rough opening, from the wall's start
        width: $door
        top: $top        # heights count from the bottom of the sole plate
        header: $header
        door: {hinge: start, swings: in}   # no switch goes behind it
  EAST:
    start: $south_east
    heading: north
    length: $depth
    height: $height
    section: $stud
    studs: {every: $every}
    bearing: yes
  NORTH:
    start: $north_east
    heading: west
    length: $width
    height: $height
    section: $stud
    studs: {every: $every}
    bearing: yes
    openings:
      WINDOW: {at: $window_at, width: $window, bottom: $sill, top: $top, header: $header}
  WEST:
    start: $north_west
    heading: south
    length: $depth
    height: $height
    section: $stud
    studs: {every: $every}
    bearing: yes
$upper_walls
$floor
# What is different about single members, by the ids in members.csv of your first plan. Remove the # to use one.
# members:
#   $joist_id: {bore: never, because: split at the knot}
#   SOUTH-S2: {at: 2' 9-1/4"}                      # moved: its near face is there
#   EAST-S4: {holes: [{along: 3', across: 1-3/4", diameter: 3/4"}]}   # a hole that is there already

# Boxes stand where you say, and are never moved. along: from the wall's start to the middle of the box.
# To screw one to a stud instead, say on which: {on: EAST-S3, side: end, along: 4' 4"}
# device: what is in it: switch, light, receptacle, machine, heater, opener, alarm; left out, a covered junction.
boxes:
  PANEL: {kind: panel, wall: WEST, along: $panel_along, height: $panel_height, size: $panel_size}
  S1: {title: switch by the door, circuit: LIGHTS, device: switch, wall: SOUTH, along: $switch_along, height: $switch}
  L1: {title: light, circuit: LIGHTS, device: light, ceiling: $overhead, at: $light_1}
  L2: {title: light, circuit: LIGHTS, device: light, ceiling: $overhead, at: $light_2}
  R1: {title: outlet, circuit: OUTLETS, device: receptacle, wall: EAST, along: $east_1, height: $outlet}
  R2: {title: outlet, circuit: OUTLETS, device: receptacle, wall: EAST, along: $east_2, height: $outlet}
  R3: {title: outlet beside the window, circuit: OUTLETS, device: receptacle, wall: NORTH, along: $north_along,
    height: $outlet}
$loft_boxes
# Which lights follow which switches; with two switches or more, each of them turns the lights on and off.
controls:
  ROOM: {title: lights of the room, lights: [L1, L2], points: [$points]}

# Say cable: 14/2 to have that cable for every leg. Left out, what is switched and what is drawn decide.
circuits:
  LIGHTS: {title: lights, breaker: 15}
  OUTLETS: {title: outlets, breaker: 20}
"""

_LOFT_STOREY = """\
  UPPER: {floor: $loft_level, title: Loft}
"""

_UPPER_WALLS = """\
  # The loft's low walls stand on its floor.
  UP-SOUTH: {storey: UPPER, start: [0, 0], heading: east, length: $width, height: $loft_wall, section: $stud,
    studs: {every: $every}, bearing: yes}
  UP-EAST: {storey: UPPER, start: $south_east, heading: north, length: $depth, height: $loft_wall, section: $stud,
    studs: {every: $every}, bearing: yes}
  UP-NORTH: {storey: UPPER, start: $north_east, heading: west, length: $width, height: $loft_wall, section: $stud,
    studs: {every: $every}, bearing: yes}
  UP-WEST: {storey: UPPER, start: $north_west, heading: south, length: $depth, height: $loft_wall, section: $stud,
    studs: {every: $every}, bearing: yes}
"""

_CEILING = """\
# Joists over the rectangle that begins at its corner; here they run $joists_run.
floors:
  CEILING:
    ceiling: yes
    bottom: $height      # level of the joists' underside: the top of the walls
    corner: [0, 0]
    size: $size
    joists: {section: $joist, every: $every, run: $run}
"""

_LOFT = """\
# Joists over the rectangle that begins at its corner; here they run $joists_run.
floors:
  LOFT:
    carries: UPPER     # its subfloor's top is that storey's floor
    corner: [0, 0]
    size: $size
    joists: {section: $joist, every: $every, run: $run}
    subfloor: $subfloor
$hatch"""

_HATCH = """\
    openings:
      HATCH: {at: $at, size: $size}   # where the ladder comes up
"""

_LOFT_BOXES = """\
  S2: {title: switch in the loft, circuit: LIGHTS, device: switch, wall: UP-WEST, along: $loft_along,
    height: $loft_switch}
  R4: {title: outlet in the loft, circuit: OUTLETS, device: receptacle, wall: UP-EAST, along: $loft_along,
    height: $loft_outlet}
"""

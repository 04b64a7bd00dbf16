"""One cable in a small random building, priced by feet only, is exactly as long as a plain lattice says."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from lattice import has_room, shortest
from small_scenes import FEET_ONLY, box, built, cable, inches, panel, planned, scene, wall

from barnloom.model.building import Building
from barnloom.model.errors import SceneError

Said = dict[str, Any]


def one_wall(dice: random.Random, section: str = "2x4", **changes: Any) -> Said:
    """A wall alone."""
    length = dice.randrange(72, 200)
    studs = {"every": inches(dice.choice([12, 16, 19, 24]))}
    height = inches(dice.choice([84, 96.5, 97.125]))
    return {"walls": {"S": wall((0, 0), "east", length, studs=studs, height=height, section=section, **changes)}}


def with_blocks(dice: random.Random) -> Said:
    """A wall with a row of blocks, whole or in part."""
    row: Said = {"height": inches(dice.choice([12, 63, 66.5, 70]))}  # boxes are between, and 6 in off at least
    if dice.random() < 0.5:
        row["between"] = [inches(20), inches(dice.randrange(40, 70))]
    return one_wall(dice, blocking=[row])


def with_opening(dice: random.Random) -> Said:
    """A wall with a door or a window."""
    bottom, top = dice.choice([(0, 80), (36, 80), (40, 70)])
    opening = {"at": inches(dice.randrange(24, 36)), "width": inches(dice.choice([24, 38])), "top": inches(top)}
    return one_wall(dice, openings={"D": {**opening, "bottom": inches(bottom)}})


def corner(dice: random.Random) -> Said:
    """Two walls with a framed corner, either of which runs through."""
    a, b = dice.randrange(60, 120), dice.randrange(60, 120)
    spacing = {"studs": {"every": inches(dice.choice([16, 19, 24]))}, "section": dice.choice(["2x4", "2x6"])}
    walls = {"S": wall((0, 0), "east", a, **spacing), "E": wall((a, 0), "north", b, **spacing)}
    return {"walls": walls if dice.random() < 0.5 else dict(reversed(walls.items()))}


def storeys(dice: random.Random) -> Said:
    """Walls, a floor on them, and walls on that; perhaps with a stair hole."""
    width, depth = dice.randrange(96, 180), dice.randrange(84, 140)
    every = inches(dice.choice([16, 19, 24]))
    low = {"studs": {"every": inches(dice.choice([16, 24]))}, "storey": "ground"}
    high = {**low, "storey": "loft", "height": inches(72)}
    section = dice.choice(["2x8", "2x10"])
    depth_in = {"2x8": 7.25, "2x10": 9.25}[section]
    floor: Said = {
        "carries": "loft", "corner": [0, 0], "size": [inches(width), inches(depth)], "subfloor": '3/4"',
        "joists": {"section": section, "every": every, "run": dice.choice(["width", "depth"])},
    }  # fmt: skip
    if dice.random() < 0.5:
        at, size = [inches(width // 3), inches(depth // 3)], [inches(30), inches(dice.randrange(24, 40))]
        floor["openings"] = {"STAIR": {"at": at, "size": size}}
    return {
        "storeys": {"ground": {"floor": 0}, "loft": {"floor": inches(97.125 + depth_in + 0.75)}},
        "walls": {
            "S": wall((0, 0), "east", width, **low),
            "N": wall((width, depth), "west", width, **low),
            "E": wall((width, 0), "north", depth, **low),
            "US": wall((0, 0), "east", width, **high),
            "UN": wall((width, depth), "west", width, **high),
        },
        "floors": {"F": floor},
    }


def with_boxes(said: Said, dice: random.Random, rise: float) -> Building | None:
    """The building with a panel and a box somewhere in it; None where they do not fit."""

    def anywhere(make: Callable[..., Said], **more: Any) -> Said:
        floors = list(said.get("floors", {}))
        if make is box and floors and dice.random() < 0.3:
            size = [float(x.rstrip('"')) for x in said["floors"][floors[0]]["size"]]
            at = [inches(dice.randrange(8, int(x) - 8)) for x in size]
            return {"circuit": "A", "ceiling": floors[0], "at": at, "size": ['4"', '4"', '1-1/2"']}
        name = dice.choice(list(said["walls"]))
        length = float(said["walls"][name]["length"].rstrip('"'))
        return make(name, dice.randrange(4, int(length) - 4), dice.randrange(20, 56), **more)

    boxes = {"P": anywhere(panel), "B": anywhere(box)}
    try:
        return built(scene(**said, boxes=boxes, **{**FEET_ONLY, "lengths": {"slack": 0, "box_rise": inches(rise)}}))
    except SceneError:
        return None


def crowded(building: Building) -> bool:
    """Whether the two hang so near each other that nothing is between them for a cable to be fastened to."""
    a, b = building.boxes
    return a.host == b.host and abs(a.u_in - b.u_in) < 8 and abs(a.v_in - b.v_in) < 8


KINDS = [one_wall, with_blocks, with_opening, corner, storeys]


@pytest.mark.parametrize("rise", [0, 8])
@pytest.mark.parametrize("kind", KINDS, ids=[kind.__name__ for kind in KINDS])
def test_a_cable_is_as_long_as_on_a_plain_lattice(kind: Callable[[random.Random], Said], rise: int) -> None:
    dice = random.Random(f"{kind.__name__} {rise}")
    found = 0
    for _ in range(200):
        building = with_boxes(kind(dice), dice, rise)
        if building is None or crowded(building) or not all(has_room(building, name) for name in ("P", "B")):
            continue
        found += 1
        expected = shortest(building, "P", "B")
        plan = planned(building)
        if np.isfinite(expected):
            assert plan.unreached == ()
            assert cable(plan, "A.B").path_in == pytest.approx(expected, abs=1e-5)
        else:
            assert plan.unreached == ("B",)
        if found == (2 if kind is storeys else 8):
            break
    assert found >= 2

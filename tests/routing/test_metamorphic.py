"""What must not change a plan does not, and what can only make it dearer or cheaper does only that."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from small_scenes import FEET_ONLY, box, built, inches, panel, planned, scene

from barnloom.model.building import Building
from barnloom.routing.plan import Plan

Said = dict[str, Any]


def two_storeys(turn: float = 0.0, shift: tuple[float, float, float] = (0.0, 0.0, 0.0), **more: Any) -> Said:
    """A shed of 12 by 10 ft with a loft and a stair hole, turned about its corner and moved: 8 boxes, 2 circuits."""
    x, y = math.cos(math.radians(turn)), math.sin(math.radians(turn))

    def at(u: float, v: float) -> list[str]:
        return [inches(round(shift[0] + u * x - v * y, 9)), inches(round(shift[1] + u * y + v * x, 9))]

    def side(u: float, v: float, way: float, length: float, **said: Any) -> Said:
        usual = {"section": "2x4", "studs": {"every": '16"'}, "bearing": "yes", "height": '97-1/8"', "storey": "ground"}
        return {**usual, "start": at(u, v), "heading": (turn + way) % 360, "length": inches(length), **said}

    opening = {"D": {"at": '60"', "width": '38"', "top": '82"', "door": {"hinge": "start"}}}
    high = {"storey": "loft", "height": '72"'}
    loft_in = 97.125 + 9.25 + 0.75 + shift[2]
    boxes = {
        "P": panel("E", 24, 60, cables_max=12),
        "B1": box("S", 40, 48), "B2": box("S", 120, 48), "B3": box("W", 56, 48), "B4": box("N", 70, 44),
        "C1": {"circuit": "L", "ceiling": "F", "at": ['40"', '30"'], "size": ['4"', '4"', '1-1/2"']},
        "C2": {"circuit": "L", "ceiling": "F", "at": ['104"', '90"'], "size": ['4"', '4"', '1-1/2"']},
        "U1": box("US", 72, 30, "L"),
    }  # fmt: skip
    return scene(
        storeys={"ground": {"floor": inches(shift[2])}, "loft": {"floor": inches(loft_in)}},
        walls={
            "S": side(0, 0, 0, 144, openings=opening),
            "E": side(144, 0, 90, 120),
            "N": side(144, 120, 180, 144),
            "W": side(0, 120, 270, 120),
            "US": side(0, 0, 0, 144, **high),
        },
        floors={
            "F": {
                "carries": "loft", "corner": at(0, 0), "heading": turn, "size": ["12'", "10'"], "subfloor": '3/4"',
                "joists": {"section": "2x10", "every": '16"', "run": "depth"},
                "openings": {"STAIR": {"at": ['56"', '40"'], "size": ['30"', '40"']}},
            }
        },
        boxes=boxes,
        circuits={"A": {"cable": "12/2", "panel": "P"}, "L": {"cable": "14/2", "panel": "P"}},
        **more,
    )  # fmt: skip


def lengths(plan: Plan) -> dict[str, tuple[float, int]]:
    """Path and holes of each cable."""
    return {c.id: (round(c.path_in, 5), len(c.bores)) for c in plan.cables}


PLAIN = planned(two_storeys())


@pytest.mark.parametrize("turn", [90, 180, 270, 30, 217.3])
def test_a_building_turned_has_the_same_cables_and_holes(turn: float) -> None:
    turned = planned(two_storeys(turn=turn))
    assert lengths(turned) == lengths(PLAIN)
    assert turned.cost == pytest.approx(PLAIN.cost, abs=1e-4)
    # Holes are measured from the members themselves, so they are the very same (their order too).
    assert {(b.id, b.along_in, b.across_in, b.diameter_in, b.cables) for b in turned.bores} == {
        (b.id, b.along_in, b.across_in, b.diameter_in, b.cables) for b in PLAIN.bores
    }


@pytest.mark.parametrize("shift", [(1200.0, -360.0, 0.0), (0.0, 0.0, 48.0), (-17.25, 3.5, -36.0)])
def test_a_shifted_datum_changes_nothing(shift: tuple[float, float, float]) -> None:
    shifted = planned(two_storeys(shift=shift))
    assert lengths(shifted) == lengths(PLAIN)
    assert shifted.cost == pytest.approx(PLAIN.cost, abs=1e-6)


def test_the_order_in_which_a_scene_is_written_changes_nothing() -> None:
    said = two_storeys()
    # Not the walls: of two walls at a corner the one written first runs through.
    mixed = {**said, **{part: dict(reversed(said[part].items())) for part in ("boxes", "circuits", "floors")}}
    assert planned(mixed) == PLAIN


def test_members_and_boxes_in_any_order_give_the_same_lengths_and_ids() -> None:
    building = built(two_storeys())
    mixed = replace(
        building, members=building.members[::-1], boxes=building.boxes[::-1], assemblies=building.assemblies[::-1]
    )
    plan = planned(mixed)
    assert lengths(plan) == lengths(PLAIN)
    assert plan.cost == pytest.approx(PLAIN.cost)
    assert {(b.member, b.along_in, b.across_in) for b in plan.bores} == {
        (b.member, b.along_in, b.across_in) for b in PLAIN.bores
    }


@pytest.mark.parametrize(("start", "end"), [("B1", "B2"), ("B1", "C2"), ("U1", "B4"), ("C1", "C2")])
def test_a_cable_is_as_long_one_way_as_the_other(start: str, end: str) -> None:
    def between(a: str, b: str) -> float:
        said = two_storeys()
        boxes = {name: dict(said["boxes"][name]) for name in (a, b)}
        boxes[a] = {k: v for k, v in boxes[a].items() if k != "circuit"} | {"kind": "panel"}
        boxes[b]["circuit"] = "A"
        return planned({**said, "boxes": boxes, "circuits": {"A": {"cable": "12/2", "panel": a}}}).cables[0].path_in

    assert between(start, end) == pytest.approx(between(end, start))


def one_cable(change: Callable[[Building], Building] = lambda building: building, prices: str = "fewest feet") -> Plan:
    """The plan of one cable from the panel to a box at the far end, in a building that is changed."""
    said = two_storeys(prices=prices)
    boxes = {name: said["boxes"][name] for name in ("P", "B4")}
    return planned(change(built({**said, "boxes": boxes, "circuits": {"A": {"cable": "12/2", "panel": "P"}}})))


@pytest.mark.parametrize("place", [(20, 40), (70, 100), (120, 20), (100, 60)])
def test_an_obstacle_never_makes_a_cable_shorter(place: tuple[float, float]) -> None:
    said = two_storeys(**FEET_ONLY)
    low = [inches(place[0]), inches(place[1]), 0]
    high = [inches(place[0] + 16), inches(place[1] + 14), '200"']
    blocked = planned(
        {**said, "keep_clear": {"CHIMNEY": {"kind": "chimney", "from": low, "to": high, "clearance": '2"'}}}
    )
    free = planned(said)
    assert sum(c.path_in for c in blocked.cables) >= sum(c.path_in for c in free.cables) - 1e-6 or blocked.unreached


def test_an_obstacle_in_the_way_makes_a_cable_longer() -> None:
    # The cable from C1 to C2 must leave the bays that a chimney fills.
    said = two_storeys(**FEET_ONLY)
    chimney = {"kind": "chimney", "from": ['100"', '30"', 0], "to": ['110"', '80"', '200"'], "clearance": '2"'}
    assert lengths(planned({**said, "keep_clear": {"CHIMNEY": chimney}})) != lengths(planned(said))


@pytest.mark.parametrize("prices", ["money", "fewest feet", "fewest holes"])
def test_an_old_hole_never_makes_a_cable_dearer(prices: str) -> None:
    free = one_cable(prices=prices)
    said = two_storeys(prices=prices)
    for name, along in (("E-S4", '46-1/2"'), ("N-S4", '30"'), ("N-S5", '30"')):
        said.setdefault("members", {})[name] = {"holes": [{"along": along, "across": '1-3/4"', "diameter": '1"'}]}
    boxes = {name: said["boxes"][name] for name in ("P", "B4")}
    drilled = planned({**said, "boxes": boxes, "circuits": {"A": {"cable": "12/2", "panel": "P"}}})
    assert drilled.cost <= free.cost + 1e-6


@pytest.mark.parametrize(
    ("limit", "value"),
    [("joist.edge", 3.5), ("joist.hole_share", 0.07), ("stud.edge", 1.45), ("member.end", 12.0), ("plate.edge", 1.2)],
)
def test_a_tighter_limit_never_makes_a_cable_cheaper(limit: str, value: float) -> None:
    def tighter(building: Building) -> Building:
        assert any(known.name == limit and known.value != value for known in building.limits)
        return replace(building, limits=tuple(
            replace(known, value=value, amended="tightened in a test") if known.name == limit else known
            for known in building.limits
        ))  # fmt: skip

    free, tight = one_cable(), one_cable(tighter)
    assert tight.unreached or tight.cables[0].path_in >= free.cables[0].path_in - 1e-6

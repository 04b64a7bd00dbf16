"""Which box or ring is taken, from scenes: linings."""

from __future__ import annotations

from barnloom.model.limits import Limits
from barnloom.routing.wiring.room import Rooms
from tests.routing.wired_scenes import ANSWERS, bay, building_of, wall_scene


def rings(lining: str) -> set[tuple[str, float]]:
    """Gangs, and whether it adds volume, of the rings that a receptacle's square box is offered with."""
    text = wall_scene(
        {"B1": f'{bay(3)}, height: 52", circuit: C, device: receptacle'},
        more="circuits: {C: {}}",
        answers=ANSWERS.replace("lining: none", f"lining: {lining}"),
        length="20'",
    )
    building = building_of(text)
    offers = Rooms(building, Limits(building.limits)).offers["B1"]
    return {("", 0.0) if one.ring is None else (one.ring.what, one.ring.volume_in3) for one in offers}


def test_in_a_lined_wall_a_device_comes_forward_on_a_ring_for_that_and_not_on_an_extension() -> None:
    # A mud ring's depth is the lining's; an extension ring's cover would stand on it: common practice, no source
    assert any(volume > 0 for _, volume in rings("none"))
    assert not any(volume > 0 for _, volume in rings("later"))
    assert rings("later")


def test_a_ring_that_the_scene_pins_stands() -> None:
    pinned = "box: square-4x1-1-2, ring: square-4-extension, device: receptacle"
    text = wall_scene(
        {"B1": f'{bay(3)}, height: 52", circuit: C, {pinned}'},
        more="circuits: {C: {}}",
        answers=ANSWERS.replace("lining: none", "lining: later"),
        length="20'",
    )
    building = building_of(text)
    (offer,) = Rooms(building, Limits(building.limits)).offers["B1"]
    assert offer.ring is not None
    assert offer.ring.id == "square-4-extension"


def test_the_ground_in_cable_of_thick_conductors_counts_as_what_it_is() -> None:
    # NM-B of 8 and 6 AWG has a ground of 10 AWG (from memory): 2.50 in3 (Table 314.16(B)(1)), and not 3.00 or 5.00
    building = building_of(
        wall_scene(
            {"B1": f'{bay(3)}, height: 52", circuit: C, device: receptacle'}, more="circuits: {C: {}}", length="20'"
        )
    )
    rooms = Rooms(building, Limits(building.limits))
    for awg in (10, 8, 6):
        (ground,) = [line for line in rooms.fill("B1", [("C", awg, 2)], None) if "ground" in line.what]
        assert (ground.awg, ground.total_in3) == (10, 2.5)

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

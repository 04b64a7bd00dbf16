"""How firmly each piece of framing is drawn: what is bored stands out, what shapes the frame stays, the rest fades."""

from __future__ import annotations

from collections.abc import Sequence
from enum import IntEnum

from barnloom.model.building import Member, Role
from barnloom.routing.plan import Bore
from barnloom.viewer.look import Look

_SHAPE = {Role.SOLE_PLATE, Role.TOP_PLATE, Role.POST, Role.GIRDER, Role.RIM, Role.HEADER, Role.RIDGE, Role.BOARD}


class Weight(IntEnum):
    """Three ways to draw framing, all of them see-through."""

    FAINT = 0
    PLAIN = 1
    FIRM = 2


def weights(members: Sequence[Member], bores: Sequence[Bore], look: Look) -> tuple[Weight, ...]:
    """
    Return the weight of each member: on a picture of everything all are alike.

    Parameters
    ----------
    members : sequence of Member
    bores : sequence of Bore
        Those that the picture shows.
    look : Look
    """
    if look.whole:
        return (Weight.PLAIN,) * len(members)
    bored = {bore.member for bore in bores}
    return tuple(Weight.FIRM if m.id in bored else Weight.PLAIN if m.role in _SHAPE else Weight.FAINT for m in members)

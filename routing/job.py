"""A building laid out for planning: what is worked out of it once, whatever is planned then."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from barnloom.model.building import Building, Circuit
from barnloom.model.cables import pairs_of
from barnloom.model.limits import Limits
from barnloom.routing.plan import Plan
from barnloom.routing.search import Network, network_of
from barnloom.routing.tracks import Ground, ground_of, tracks_of
from barnloom.routing.wiring.room import Rooms

Talk = Callable[[str], None]
Effort = Literal["quick", "normal", "long"]
"""How long is searched, and proven."""


@dataclass(frozen=True, eq=False, slots=True)
class Job:
    """A building, and what is worked out of it once."""

    building: Building
    limits: Limits
    ground: Ground
    network: Network
    rooms: Rooms
    talk: Talk
    earlier: Plan | None

    def one_circuit(self, circuit: Circuit) -> Building:
        """The building with this circuit alone."""
        return replace(self.building, circuits=(circuit,))


def job_of(building: Building, talk: Talk, earlier: Plan | None, *, like: Job | None = None) -> Job:
    """Lay a building out for planning; where two cables may stand in for one, pairs are among those that are sold.

    Parameters
    ----------
    like : Job, optional
        Of much the same building: what was worked out of its members holds for those that are alike.
    """
    if building.wiring.two_cables:
        building = replace(building, cable_types=(*building.cable_types, *pairs_of(building.cable_types)))
    talk("looking for bays, ways through and legal places")
    limits = Limits(building.limits)
    ground = ground_of(building, limits, like.ground if like is not None else None)
    return Job(building, limits, ground, network_of(tracks_of(ground)), Rooms(building, limits), talk, earlier)

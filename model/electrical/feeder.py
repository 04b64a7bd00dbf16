"""The supply of a separate building, as far as it is told: its disconnect and whether it needs an electrode."""

from __future__ import annotations

from collections.abc import Mapping


def disconnect_least_a(circuits: int, limits: Mapping[str, float], *, house: bool = False) -> float:
    """
    Least rating (A) of a building's disconnect (NEC 225.39): of the switch gear, not of the feeder.

    Parameters
    ----------
    circuits : int
        Two-wire branch circuits in the building.
    limits : mapping of str to float
        The ``feeder.disconnect_...`` of them count.
    house : bool
        A one-family dwelling itself; not an outbuilding of one.
    """
    if house:
        return limits["feeder.disconnect_house"]
    few = {1: "feeder.disconnect_one", 2: "feeder.disconnect_two"}
    return limits[few.get(circuits, "feeder.disconnect_other")]


def electrode_needed(kind: str) -> bool:
    """Whether a building needs an electrode: not where one branch circuit with a ground supplies it (NEC 250.32(A))."""
    return kind != "branch circuit"

"""What of the supply is told plainly and left to licensed work, and what of it falls short."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from barnloom.model.building import Building
from barnloom.model.electrical.feeder import disconnect_least_a, electrode_needed
from barnloom.model.electrical.tables import TableError, ampacity, cover_in, next_breaker, small_conductor_cap
from barnloom.model.lengths import format_length
from barnloom.model.limits import Limits, at_least, at_most
from barnloom.routing.wiring.load import load_amps, load_sum

COLUMN_C = 60
"""Column (C) of the ampacity table for a supply of at most 100 A, unless its terminals are marked for 75 (NEC
110.14(C)(1))."""
NO_ELECTRODE = ("none", "no")


def supply_shortfalls(building: Building) -> tuple[str, ...]:
    """Return warnings of a supply that is too small for the building, or for its own breaker, or lacks a part."""
    limits = Limits(building.limits)
    return tuple(chain(_load(building, limits), _conductors(building), _parts(building, limits)))


def supply_words(building: Building) -> tuple[str, ...]:
    """Return what holds of the supply, each with its clause: told plainly, left to licensed work."""
    limits = Limits(building.limits)
    return (
        "Everything from the source to the panel's main terminals, connections and all, is left to licensed work.",
        *(_separate(building, limits) if building.supply.separate else ()),
        *_underground(building),
        *_at_panel(building, limits),
    )


# --- what falls short ------------------------------------------------------------------------------------------------


def _load(building: Building, limits: Limits) -> Iterator[str]:
    """Main and supply breakers that do not carry what the building asks for."""
    amps = load_amps(building, load_sum(building, limits))
    guards = [(f"the main breaker of {one.panel}", one.main_a) for one in building.breakers]
    for what, size in (*guards, ("the supply's breaker", building.supply.breaker_a)):
        if size and not at_most(amps, size):
            yield f"{what}, {size:g} A, is too small for the building's {amps:.1f} A (NEC 215.2; sum in questions.txt)"


def _conductors(building: Building) -> Iterator[str]:
    """A supply's breaker above what its conductors carry, next size up allowed but for the small ones."""
    supply = building.supply
    if not (supply.breaker_a and supply.awg):
        return
    try:
        carried = ampacity(supply.awg, COLUMN_C)
    except TableError:  # larger than the tables go: questions.txt says that nothing is worked
        return
    most = small_conductor_cap(supply.awg) or next_breaker(carried)
    if not at_most(supply.breaker_a, most):
        yield (
            f"the supply's breaker, {supply.breaker_a:g} A, is too large for {supply.awg} AWG: {carried:g} A in the "
            f"{COLUMN_C} C column, {most:g} A at most (NEC 110.14(C), 240.4, 310.16)"
        )


def _parts(building: Building, limits: Limits) -> Iterator[str]:
    supply = building.supply
    if not (supply.separate and supply.said):
        return
    least = disconnect_least_a(len(building.circuits), limits)
    if supply.disconnect_a and not at_least(supply.disconnect_a, least):
        yield f"the disconnect, {supply.disconnect_a:g} A, is too small: at least {least:g} A (NEC 225.39)"
    if electrode_needed(supply.kind) and supply.electrodes.strip().lower() in NO_ELECTRODE:
        yield "a feeder to a separate building needs ground electrodes there, and there are none (NEC 250.32(A))"
    if not electrode_needed(supply.kind) and len(building.circuits) > 1:
        yield (
            f"one branch circuit is said to supply the building, and {len(building.circuits)} leave its panel: that "
            "makes it a feeder, with ground electrodes (NEC 225.30, 250.32(A))"
        )


# --- the supply -------------------------------------------------------------------------------------------------------


def _separate(building: Building, limits: Limits) -> Iterator[str]:
    supply = building.supply
    yield "One feeder or one branch circuit supplies a separate building (NEC 225.30)."
    least = disconnect_least_a(len(building.circuits), limits)
    short = supply.disconnect_a and not at_least(supply.disconnect_a, least)
    yield (
        "It has a disconnect, readily accessible, nearest to where the supply comes in (NEC 225.31, 225.32), rated for "
        f"at least {least:g} A: the switch gear, not the feeder (NEC 225.39)"
        + (f"; the scene says {supply.disconnect_a:g} A, which is too little." if short else ".")
    )
    if not electrode_needed(supply.kind):
        yield "One branch circuit with a ground wire needs no ground electrode there (NEC 250.32(A) exception)."
        return
    yield (
        "A feeder has four wires, two hots, neutral and ground; neutral and ground stay apart in the building's panel: "
        "no bonding screw or strap, a ground bar of its own (NEC 250.32(B))."
    )
    yield (
        f"It needs ground electrodes (NEC 250.32(A)); {limits['feeder.rod']:g} AWG copper is always enough to a rod, "
        f"and a second rod is driven unless one has at most {limits['feeder.rod_ohms']:g} ohm (NEC 250.66(A), "
        "250.53(A)(2), from memory)."
    )


def _underground(building: Building) -> Iterator[str]:
    method = building.supply.method
    if method not in ("buried", "conduit"):
        return

    def deep(place: str) -> str:
        return format_length(cover_in(method, place), metric=building.metric, feet=False, rounding="up")

    what = "a buried cable" if method == "buried" else "a plastic conduit"
    yield (
        f"Least cover over {what}, from its top to finished grade: {deep('yard')}; under a dwelling's driveway "
        f"{deep('under a driveway of a dwelling')}, under a road {deep('under a road')} (NEC Table 300.5)."
    )
    yield "Plain sheathed cable never goes under ground, not even in a conduit (NEC 334.12)."


def _at_panel(building: Building, limits: Limits) -> Iterator[str]:
    def text(name: str) -> str:
        return format_length(limits[name], metric=building.metric)

    yield (
        f"Working space before the panel: {text('panel.space_depth')} deep, {text('panel.space_width')} wide or the "
        f"panel's width, {text('panel.space_height')} high; its door opens a quarter turn; no store (NEC 110.26(A))."
    )
    yield f"The middle of its highest handle is at most {text('reach.handle')} over the floor (NEC 240.24(A))."
    yield (
        "One connector a cable unless it is listed for more; every cable fastened within "
        f"{text('cable.first_support')} of the panel (NEC 312.5(C), from memory, and 334.30)."
    )
    yield (
        "Torque as marked on each part (NEC 110.14(D), from memory): main ______ neutral bar ______ ground bar ______ "
        "breakers ______"
    )

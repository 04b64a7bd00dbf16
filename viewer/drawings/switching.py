"""A group of switches told as a table: every combination of their positions, and which lights are on.

Worked out from joints, conductors and the insides of switches alone, as the check does it: not from what was meant.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

from barnloom.model.errors import InputError
from barnloom.model.wiring import Device
from barnloom.routing.check.finding import site_of
from barnloom.routing.check.metal import Load, joined, loads_of, metal_of
from barnloom.routing.check.simulate import Live, live_of
from barnloom.routing.plan import Plan
from barnloom.viewer.text import clean
from barnloom.viewer.wires import listed

ALL_POSITIONS_OF = 5
"""Points of a control up to which every combination is a row."""
_TRIED_OF = 10
"""Points up to which every combination is tried; of more, each switch alone from one position of them all."""
_WAYS = ("down", "up")
_MARKLESS = ("1", "2")
"""Positions of switches that do not say which of them is on."""


@dataclass(frozen=True, slots=True)
class SwitchingRow:
    """One combination."""

    positions: tuple[str, ...]
    """Of each point: "down" or "up" of a plain switch; "1" or "2" of one that has no mark for on and off."""
    on: tuple[bool, ...]
    """Of each light."""


@dataclass(frozen=True, slots=True)
class Switching:
    """A control as a table."""

    control: str
    title: str
    points: tuple[str, ...]
    """Switches, by device id."""
    lights: tuple[str, ...]
    """Lights and switched receptacles, by device id."""
    rows: tuple[SwitchingRow, ...]
    """Empty where there are more points than `ALL_POSITIONS_OF`."""
    words: tuple[str, ...]
    """The same as sentences."""


def switching_rows(plan: Plan, control_id: str) -> Switching:
    """
    Try a group of switches in all of its positions.

    Parameters
    ----------
    plan : Plan
    control_id : str

    Raises
    ------
    InputError
        If there is no such control, or no cable reaches a point and a light of it.
    """
    site = site_of(plan)
    control = site.controls.get(control_id)
    if control is None:
        raise InputError(control_id, "a control of which a point and a light are reached")
    live = live_of(site, metal_of(site))
    loads = [
        (load, site.devices[name])
        for name in control.lights
        for load in loads_of(site.devices[name])
        if load.control == control_id
    ]
    count = len(control.points)
    whole = count <= _TRIED_OF
    rest = (0,) * count
    flips = [(*rest[:k], 1, *rest[k + 1 :]) for k in range(count)]
    throws = list(product((0, 1), repeat=count)) if whole else [rest, *flips]
    lit = [_lit(live, dict(zip(control.points, throw, strict=True)), loads) for throw in throws]
    marked = count == 1
    names = _WAYS if marked else _MARKLESS
    rows = tuple(SwitchingRow(tuple(names[at] for at in throw), on) for throw, on in zip(throws, lit, strict=True))
    lights = tuple(load.device for load, _ in loads)
    every = all(all(on) or not any(on) for on in lit)
    turned = {throw: on for throw, on in zip(throws, lit, strict=True)}
    over = all(
        turned[flip] == tuple(not one for one in turned[throw])
        for throw in turned
        for k in range(count)
        for flip in [(*throw[:k], 1 - throw[k], *throw[k + 1 :])]
        if flip in turned
    )
    return Switching(
        control=control_id,
        title=clean(control.title),
        points=control.points,
        lights=lights,
        rows=rows if count <= ALL_POSITIONS_OF else (),
        words=tuple(_words(control.points, lights, marked=marked, whole=whole, every=every, over=over)),
    )


def _lit(live: Live, throws: dict[str, int], loads: list[tuple[Load, Device]]) -> tuple[bool, ...]:
    """Which loads have their feed at one end and its return at the other; switches that are not named rest at 0."""
    links = [
        (live.islands[way.near], live.islands[way.far])
        for way in live.metal.insides
        if way.throw is None or way.throw == throws.get(way.device, 0)
    ]
    at, _ = joined(len(live.islands), links)

    def same(one: int | None, other: int | None) -> bool:
        return one is not None and other is not None and one >= 0 and other >= 0 and at[one] == at[other]

    found = []
    for load, device in loads:
        into, out = live.island(load.device, load.into), live.island(load.device, load.out)
        if device.volts == 240:
            one, two = live.poles.get((device.circuit, 1)), live.poles.get((device.circuit, 2))
            found.append((same(into, one) and same(out, two)) or (same(into, two) and same(out, one)))
        else:
            found.append(same(into, live.pole(device.circuit, device.leg)) and same(out, live.neutral))
    return tuple(found)


def _words(
    points: tuple[str, ...], lights: tuple[str, ...], *, marked: bool, whole: bool, every: bool, over: bool
) -> list[str]:
    what = listed(lights)
    if not over:
        words = [f"Not every one of {listed(points)} turns {what} over in each position: see to the wiring."]
    elif marked:
        words = [f"{points[0]} turns {what} on and off: up is on."]
    else:
        words = [f"Each of {listed(points)} turns {what} over, however the others stand."]
    if len(lights) > 1 and every:
        words.append("They are all on or all off.")
    if marked:
        return words
    if len(points) > ALL_POSITIONS_OF:
        tried = "all of them were tried" if whole else "each switch was tried alone"
        words.append(f"{len(points)} points have {2 ** len(points)} combinations; {tried}.")
    else:
        words.append(
            "These switches have no mark for on and off, so which position is 1 is chosen when they are tried: turn "
            "one of them until one row agrees, then all do."
        )
    return words

"""Boxes as bought: the catalogue, and the cheapest that holds a fill.

Volumes, sizes and prices are in ``boxes.toml`` beside this file, with how sure they are.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from barnloom.model.electrical.fill import easy, fits
from barnloom.model.limits import at_most
from barnloom.model.wiring import BoxType


@dataclass(frozen=True, slots=True, kw_only=True)
class Accessory:
    """What goes with a box: a bracket, a bar, a cover, a plate or a blank, at a placeholder price."""

    id: str
    title: str
    what: str  # "bracket" | "bar" | "cover" | "plate" | "blank"
    series: tuple[str, ...] = ()
    """Boxes that it fits; empty: any."""
    gangs: int = 0
    price: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A box, perhaps with a ring on it, that may stand in one place."""

    box: BoxType | None
    """None: nothing is known of it but the volume marked in it."""
    ring: BoxType | None
    volume_in3: float
    clamps_inside: bool
    stud: bool

    @property
    def price(self) -> float:
        """Of box and ring."""
        return sum(part.price for part in (self.box, self.ring) if part)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """An offer that holds the fill."""

    offer: Offer
    fill_in3: float
    """With what the box itself takes."""
    easy: bool
    """No fuller than this tool aims at."""


@cache
def _catalogue() -> dict[str, Any]:
    return tomllib.loads(Path(__file__).with_name("boxes.toml").read_text(encoding="utf-8"))


@cache
def default_box_types() -> tuple[BoxType, ...]:
    """
    Boxes of all series, each series followed by the rings that fit it (a ring has the series of its boxes).

    Examples
    --------
    >>> [(box.id, box.volume_in3) for box in default_box_types() if box.series == "octagon-4"][:2]
    [('octagon-4x1-1-4', 12.5), ('octagon-4x1-1-2', 15.5)]
    """
    types = []
    for series, said in _catalogue()["series"].items():
        types += [_type(name, series, said, said, size, what="box") for name, size in said["boxes"].items()]
        for ring in said.get("rings", {}).values():
            types += [_type(name, series, said, ring, size, what="ring") for name, size in ring["sizes"].items()]
    return tuple(types)


def _type(
    name: str, series: str, face: dict[str, Any], kind: dict[str, Any], size: dict[str, float], *, what: str
) -> BoxType:
    """Return a box or a ring: ``face`` says what it shares with all its series, ``kind`` with others like it."""
    return BoxType(
        id=name,
        series=series,
        title=kind["title"],
        what=what,
        material=face["material"],
        width_in=face["face"][0],
        height_in=face["face"][1],
        depth_in=size["depth"],
        volume_in3=float(size["in3"]),
        gangs=kind["gangs"],
        clamps=kind.get("clamps", "none"),
        price=size["price"],
        confidence=kind["confidence"],
        source=f"{kind['source']}; price a placeholder",
    )


@cache
def accessories() -> tuple[Accessory, ...]:
    """
    What goes with boxes, as the catalogue lists it.

    Examples
    --------
    >>> [(part.id, part.price) for part in accessories() if part.what == "plate"][:2]
    [('plate-1', 0.7), ('plate-2', 1.4)]
    """
    return tuple(
        Accessory(id=name, **{**said, "series": tuple(said.get("series", ()))})
        for name, said in _catalogue()["accessories"].items()
    )


def offers(
    types: Sequence[BoxType],
    series: str,
    *,
    gangs: int = 0,
    deepest_in: float | None = None,
    pinned_box: str = "",
    pinned_ring: str = "",
    marked_in3: float = 0.0,
) -> tuple[Offer, ...]:
    """
    Return what may stand in one place, in the order in which it is taken: without an added ring first, then by price.

    It depends on the place alone, so it is asked once for a box; ``choose`` then takes from it for every fill.

    Parameters
    ----------
    types : sequence of BoxType
        Boxes and rings that the store sells.
    series : str
        Face of the place. Empty: no box that is known; then only a marked volume is offered, taken with clamps inside
        (own caution), and nothing where none is marked.
    gangs : int
        Yokes that it has to take.
    deepest_in : float, optional
        Room behind the face, inches; what is deeper is left out. What is pinned is there on the person's word.
    pinned_box, pinned_ring : str
        Ids. A pinned ring is the only one, and a pinned box has no other; else every ring that adds volume is tried.
    marked_in3 : float
        Volume marked in the box, which counts then instead of the catalogue's. Without a pinned box it is that of the
        series with the volume nearest to it.

    Raises
    ------
    KeyError
        If there is no box or ring of a pinned id.

    Examples
    --------
    >>> [offer.box.id for offer in offers(default_box_types(), "octagon-4") if offer.ring is None]
    ['octagon-4x1-1-4', 'octagon-4x1-1-2', 'octagon-4x2-1-8']
    """
    if not (series or pinned_box):
        unknown = Offer(box=None, ring=None, volume_in3=marked_in3, clamps_inside=True, stud=False)
        return (unknown,) if marked_in3 else ()
    by_id = {kind.id: kind for kind in types}
    if pinned_box:
        boxes = [by_id[pinned_box]]
    else:
        boxes = [kind for kind in types if kind.series == series and kind.what == "box" and _has_room(kind, deepest_in)]
    boxes = [box for box in boxes if box.gangs >= gangs]
    if marked_in3:
        boxes = sorted(boxes, key=lambda box: (abs(box.volume_in3 - marked_in3), box.price))[:1]
    found = [
        Offer(
            box=box,
            ring=ring,
            volume_in3=(marked_in3 or box.volume_in3) + (ring.volume_in3 if ring else 0.0),
            clamps_inside=box.clamps == "inside",
            stud=box.stud,
        )
        for box in boxes
        for ring in ([by_id[pinned_ring]] if pinned_ring else [None] if pinned_box else _rings(box, types, deepest_in))
        if ring is None or ring.gangs >= gangs
    ]
    return tuple(sorted(found, key=lambda offer: (offer.ring is not None, offer.price, -offer.volume_in3)))


def _has_room(box: BoxType, deepest_in: float | None, ring: BoxType | None = None) -> bool:
    return deepest_in is None or at_most(box.depth_in + (ring.depth_in if ring else 0.0), deepest_in)


def _rings(box: BoxType, types: Sequence[BoxType], deepest_in: float | None) -> Iterator[BoxType | None]:
    """Yield None, and the rings that give a box more volume and leave room behind the face."""
    yield None
    for ring in types:
        if ring.what == "ring" and ring.series == box.series and ring.volume_in3 and _has_room(box, deepest_in, ring):
            yield ring


def choose(offered: Sequence[Offer], fill_in3: float, largest_in3: float, limits: Mapping[str, float]) -> Chosen | None:
    """
    Return the cheapest of some offers that this tool's caution calls easy, else the cheapest that holds the fill.

    A ring is added only where no box alone is easy. None: nothing holds it.

    Parameters
    ----------
    offered : sequence of Offer
        As ``offers`` gives them.
    fill_in3 : float
        Fill without clamps and stud, cubic inches: what the box itself takes is added.
    largest_in3 : float
        Volume of the largest conductor in the box, by which clamps and stud count.
    limits : mapping of str to float
        ``fill.clamps``, ``fill.stud`` and ``fill.caution`` count.

    Examples
    --------
    >>> from barnloom.model.limits import Limits, load_limits
    >>> chosen = choose(offers(default_box_types(), "square-4"), 22.5, 2.25, Limits(load_limits()))
    >>> chosen.offer.box.id, chosen.fill_in3, chosen.easy
    ('square-4x2-1-8', 24.75, True)
    """
    clamps_in3, stud_in3 = limits["fill.clamps"] * largest_in3, limits["fill.stud"] * largest_in3
    full: Chosen | None = None
    for offer in offered:
        fill = fill_in3 + offer.clamps_inside * clamps_in3 + offer.stud * stud_in3
        if easy(fill, offer.volume_in3, limits):
            return Chosen(offer=offer, fill_in3=fill, easy=True)
        if full is None and fits(fill, offer.volume_in3):
            full = Chosen(offer=offer, fill_in3=fill, easy=False)
    return full

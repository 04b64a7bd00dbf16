"""One straight piece of timber, or a pack of equal ones: floors, roofs and single timbers are made of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from barnloom.model.building import ENGINEERED, Member, Right, Role, Span, Vec
from barnloom.model.framing.common import pack, section_text
from barnloom.model.scene.schema import Section
from barnloom.model.vectors import compass, opposite

STAND_IN = (1.5, 7.25)
"""Breadth and depth drawn for a joist or rafter whose section is not measured: a 2x8, and never bored."""
TIMBER_STAND_IN = (5.5, 5.5)
"""The same for a single timber: a 6x6."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lie:
    """How a piece lies: its corner at along = bit = across = 0, and its three directions."""

    origin: Vec
    along: Vec
    bit: Vec
    across: Vec


def sides(section: Section, stand_in: tuple[float, float] = STAND_IN) -> tuple[float, float]:
    """Return breadth and depth (inches), or the stand-in of a section that is not measured."""
    return (section.breadth_in, section.depth_in) if section.measured else stand_in


def piece(
    name: str,
    role: Role,
    lie: Lie,
    length_in: float,
    section: Section,
    *,
    assembly: str,
    storey: str,
    along_from: str,
    across_from: str = "bottom edge",
    plies: int = 1,
    bearings: tuple[Span, ...] = (),
    never: str = "",
    engineered: bool = False,
    stand_in: tuple[float, float] = STAND_IN,
) -> Member:
    """
    Return a pack of equal plies as a member.

    Parameters
    ----------
    length_in : float
        Inches along.
    plies : int
        Side by side in the direction of the bit.
    never : str
        Reason why it is not bored unless the scene says so; empty where it may be. A section that is not measured makes
        boring unknown either way.
    engineered : bool
        Bored only by its maker's data, whatever its section.
    stand_in : pair of float
        Breadth and depth (inches) of a section that is not measured.
    """
    breadth, depth = sides(section, stand_in)
    bore, reason = (Right.NEVER, never) if never else (Right.FREE, "")
    if engineered:
        bore, reason = Right.MAKER, ENGINEERED
    elif not section.measured and not never:
        bore, reason = Right.UNKNOWN, "its section is not measured"
    return Member(
        id=name,
        role=role,
        assembly=assembly,
        storey=storey,
        origin=lie.origin,
        along=lie.along,
        bit=lie.bit,
        across=lie.across,
        length_in=length_in,
        thickness_in=plies * breadth,
        depth_in=depth,
        plies=pack(length_in, breadth, depth, plies),
        section=section_text(section),
        along_from=along_from,
        across_from=across_from,
        bearings=bearings,
        bore=bore,
        reason=reason,
        unmeasured=() if section.measured else ("section",),
    )


def lap_in(a: Span, b: Span) -> float:
    """Return how far two spans lie over each other (inches); negative: how far apart they are."""
    return min(a[1], b[1]) - max(a[0], b[0])


def edge_name(across: Vec) -> str:
    """Return what a person calls the face at across = 0: "bottom edge", "south face"."""
    word = compass(opposite(across))
    if word is None:
        return "lower edge" if across[2] >= 0 else "upper edge"
    return {"down": "bottom edge", "up": "top edge"}.get(word, f"{word} face")


def storey_at(level_in: float, floors: Mapping[str, float]) -> str:
    """Return the storey that a level (inches) belongs to: the highest whose floor is not above it, else the lowest."""
    if not floors:
        return ""
    under = {name: floor for name, floor in floors.items() if floor <= level_in + 1e-6}
    return max(under, key=lambda name: under[name]) if under else min(floors, key=lambda name: floors[name])

"""A rough opening in a wall: kings and jacks at its sides, a header on the jacks, a sill, cripples over and under."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from barnloom.model.building import Span
from barnloom.model.errors import Fault
from barnloom.model.framing.common import SAME_IN, TAPE_IN, Context, Place
from barnloom.model.framing.slab import Segment, lowest
from barnloom.model.lumber import dressed
from barnloom.model.scene.schema import Opening, Section

USUAL_HEADERS = ((2, 8), (2, 6), (2, 4))
"""Nominal sizes tried for a header that the scene does not describe, largest first (own choice: drawn, never bored)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Framing:
    """What frames one opening, as distances in its wall (inches).

    ``kings`` and ``jacks`` are near faces. ``within`` is the clear width between the kings, ``zone`` what they and the
    opening take up together. ``header`` is (breadth of a ply, depth), None where the opening reaches the plates;
    ``header_known`` False where it is assumed.
    """

    id: str
    said: Opening
    wide: Span
    within: Span
    zone: Span
    kings: tuple[float, ...]
    jacks: tuple[float, ...]
    header: tuple[float, float] | None
    header_section: str
    header_known: bool
    sill: bool

    @property
    def over(self) -> float:
        """Level from which cripples stand over the opening."""
        return self.said.top + (self.header[1] if self.header else 0.0)


def framing(name: str, said: Opening, *, breadth: float, sole: float, underside: Sequence[Segment]) -> Framing:
    """Return how an opening is framed in studs of ``breadth``, between plates at ``sole`` and ``underside``.

    A header that the scene does not describe is a doubled 2x8, or the deepest of 2x6 and 2x4 that has room over the
    opening; where there is no room for any, none.
    """
    wide = (said.at, said.at + said.width)
    jacks, kings = said.jacks * breadth, said.kings * breadth
    within = (wide[0] - jacks, wide[1] + jacks)
    room = lowest(underside, within) - said.top
    header, words = _header(said.header, room)
    return Framing(
        id=name,
        said=said,
        wide=wide,
        within=within,
        zone=(within[0] - kings, within[1] + kings),
        kings=tuple(side + n * breadth for side in (within[0] - kings, within[1]) for n in range(said.kings)),
        jacks=tuple(side + n * breadth for side in (within[0], wide[1]) for n in range(said.jacks)),
        header=header,
        header_section=words,
        header_known=said.header is not None and said.header.measured,
        sill=said.bottom - breadth >= sole - SAME_IN,
    )


def _header(said: Section | None, room: float) -> tuple[tuple[float, float] | None, str]:
    if said is not None and said.measured:
        return (said.breadth_in, said.depth_in), said.said
    for nominal in USUAL_HEADERS:
        breadth, depth = dressed(*nominal)
        if depth <= room + SAME_IN:
            return (breadth, depth), f"{nominal[0]}x{nominal[1]} (assumed)" if said is None else said.said
    return None, ""


def opening_faults(
    frames: Mapping[str, Framing],
    *,
    where: Place,
    wall: Span,
    depth: float,
    sole: float,
    underside: Sequence[Segment],
    context: Context,
) -> tuple[Fault, ...]:
    """Return what cannot be built: an opening too high, past the wall's ends, upside down, or into another."""
    faults: list[Fault] = []
    text = context.text
    for name, frame in frames.items():
        said, place = frame.said, (*where, name)
        roof = lowest(underside, frame.within)
        if said.top > roof + SAME_IN:
            expected = f"at most {text(roof, 'down')}, the underside of the wall's top plates there"
            faults.append(Fault((*place, "top"), text(said.top), expected, "lower its top, or make the wall higher"))
        elif frame.over > roof + SAME_IN:
            found = f"a header up to {text(frame.over)}"
            do = "give a smaller header, or lower the opening's top"
            faults.append(
                Fault((*place, "header"), found, f"at most {text(roof, 'down')}, the plates' underside there", do)
            )
        if said.bottom > SAME_IN and said.bottom < sole - SAME_IN:
            do = "write 0 for a door (its sole plate is cut), or the height of the sill"
            faults.append(
                Fault(
                    (*place, "bottom"),
                    text(said.bottom),
                    f"0, or the sole plate's top at {text(sole, 'up')} or more",
                    do,
                )
            )
        if said.top - max(said.bottom, 0.0) <= SAME_IN:
            faults.append(
                Fault((*place, "top"), text(said.top), f"more than its bottom, {text(said.bottom)}", "swap the two")
            )
        if frame.zone[0] < wall[0] - TAPE_IN or frame.zone[1] > wall[1] + TAPE_IN:
            found = f"{text(frame.zone[0])} to {text(frame.zone[1])} with its kings and jacks"
            expected = f"between {text(wall[0])} and {text(wall[1])}, where the wall's framing begins and ends"
            faults.append(
                Fault((*place, "at"), found, expected, "move it, make it narrower, or say fewer kings or jacks")
            )
        if frame.header is not None and frame.header[0] * said.header_plies > depth + TAPE_IN:
            found = f"{text(frame.header[0] * said.header_plies)} through the wall"
            do = "say fewer header_plies, or the measured section"
            faults.append(Fault((*place, "header"), found, f"at most the wall's depth, {text(depth, 'down')}", do))
    ordered = sorted(frames.values(), key=lambda frame: (frame.zone, frame.id))
    for low, high in zip(ordered, ordered[1:], strict=False):
        if high.zone[0] < low.zone[1] - TAPE_IN:
            found = f"its framing from {text(high.zone[0])}, in that of {low.id}, which ends at {text(low.zone[1])}"
            do = "move one of the two; where they share a king, say kings: 0 of one"
            faults.append(Fault((*where, high.id, "at"), found, "openings side by side, each with its own framing", do))
    return tuple(faults)

"""What a picture shows and from where: the whole, a storey, a circuit, a ceiling from below, the building cut open."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING

from barnloom.model.building import Assembly, Role
from barnloom.model.errors import InputError
from barnloom.routing.plan import Plan
from barnloom.routing.store import natural_key
from barnloom.viewer.axonometry import View
from barnloom.viewer.places import Places
from barnloom.viewer.text import clean

if TYPE_CHECKING:
    from pydantic import TypeAdapter

BELOW = View(elevation_deg=-58.0)
"""From where a ceiling is seen: steep enough that its holes stand apart, and they do not vanish in the joists."""
BEHIND = View(azimuth_deg=View().azimuth_deg + 180)
_ASIDE_DEG, _OVER_DEG = 24.0, 20.0
"""How far from square to a wall its picture is seen; at 0 the holes would be hidden in the studs."""
_FACING = 0.2
"""Least cosine between the eye's direction over the ground and a wall's outside at which it stands before the eye."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What a picture shows, and from where. As it stands: all of the plan, from the south-east.

    What is taken away goes with its boxes and with the cable in it.
    """

    view: View = View()
    storeys: tuple[str, ...] = ()
    """Those that are shown; empty: all."""
    circuits: tuple[str, ...] = ()
    """Those that stand out; the others are thin, grey, and without holes. Empty: all."""
    assemblies: tuple[str, ...] = ()
    """Walls, floors and roof slopes that are shown, with the boards and timbers that carry their cable; empty: all."""
    without: tuple[str, ...] = ()
    """Walls, floors and roof slopes that are taken away."""
    without_roles: tuple[Role, ...] = ()
    """Framing that is taken away; its cable and its boxes stay."""

    @property
    def whole(self) -> bool:
        """Whether nothing is left out and nothing stands out."""
        return not (self.storeys or self.circuits or self.assemblies or self.without or self.without_roles)


def look_at(
    plan: Plan,
    *,
    storey: str = "",
    circuits: Sequence[str] = (),
    below: str = "",
    wall: str = "",
    cut_away: bool = False,
) -> Look:
    """
    Return the look that a person asks for by ids.

    Parameters
    ----------
    plan : Plan
    storey : str
        The only storey that is shown; empty: all.
    circuits : sequence of str
        Circuits that stand out; empty: all.
    below : str
        Floor or roof slope that is seen from below, with nothing else; empty: the building is seen from above.
    wall : str
        Wall that is seen from its room, with nothing else.
    cut_away : bool
        Take away the outer walls that stand before the eye.

    Raises
    ------
    InputError
        For an id that the plan does not have, and for more than one of a ceiling, a wall, and a storey or a cut.
    """
    building = plan.building
    asked = {"a ceiling from below": below, "a wall": wall, "a storey": storey, "a cut": cut_away}
    together = [what for what, wanted in asked.items() if wanted]
    if (below or wall) and len(together) > 1:
        raise InputError(
            " together with ".join(together), "one of them", "a ceiling and a wall are shown by themselves"
        )
    if storey:
        _known("storey", storey, [each.id for each in building.storeys])
    for circuit in circuits:
        _known("circuit", circuit, [each.id for each in building.circuits])
    if below:
        _known("floor or roof slope", below, [a.id for a in building.assemblies if a.kind != "wall"])
    if wall:
        _known("wall", wall, [a.id for a in building.assemblies if a.kind == "wall"])
    alone = next((a for a in building.assemblies if a.id in {below, wall}), None)
    return Look(
        view=view_of(alone) if alone else View(),
        storeys=(storey,) if storey else (),
        circuits=tuple(dict.fromkeys(circuits)),
        assemblies=(alone.id,) if alone else (),
        without=before_the_eye(plan, View()) if cut_away else (),
    )


def _known(what: str, found: str, ids: Iterable[str]) -> None:
    known = sorted(ids, key=natural_key)
    if found in known:
        return
    by_fold = {name.casefold(): name for name in reversed(known)}
    near = get_close_matches(found.casefold(), by_fold, n=1, cutoff=0.4)
    expected = f"one of {', '.join(known)}" if known else f"none: the plan has no {what}"
    what_was_found = f"{what} {clean(found)[:40]!r}"
    raise InputError(what_was_found, expected, f"did you mean {by_fold[near[0]]}?" if near else "")


def view_of(assembly: Assembly) -> View:
    """Return from where a wall, floor or roof slope is seen by itself: from its room, a little from the side."""
    if assembly.kind != "wall":
        return BELOW
    return View(
        azimuth_deg=math.degrees(math.atan2(assembly.w[1], assembly.w[0])) + _ASIDE_DEG, elevation_deg=_OVER_DEG
    )


def before_the_eye(plan: Plan, view: View) -> tuple[str, ...]:
    """Ids of the outer walls that a building is seen through from outside."""
    right, _, _ = view.axes
    toward = (float(right[1]), -float(right[0]))

    def facing(wall: Assembly) -> bool:
        return -wall.w[0] * toward[0] - wall.w[1] * toward[1] > _FACING

    walls = (a for a in plan.building.assemblies if a.kind == "wall" and a.exterior and facing(a))
    return tuple(sorted((wall.id for wall in walls), key=natural_key))


def standard_looks(plan: Plan) -> Mapping[str, Look]:
    """
    Return the pictures that explain a plan, by name.

    The whole; each storey, where there are several; each circuit with the storeys it is in; each floor and roof slope
    that holds cable, from below; each such wall, from its room; the building cut open, from two sides.
    """
    places = Places(plan)
    storeys = {storey.id: places.holds(storeys=(storey.id,)) for storey in plan.building.storeys}
    looks = {"whole": Look()}
    in_use = [name for name, used in storeys.items() if used]
    if len(in_use) > 1:
        looks |= {f"storey-{name}": Look(storeys=(name,)) for name in in_use}
    for circuit in sorted((c.id for c in plan.building.circuits), key=natural_key):
        used = places.storeys_of(circuit)
        if used:
            some = () if len(used) == len(storeys) else used
            looks[f"circuit-{circuit}"] = Look(storeys=some, circuits=(circuit,))
    for alone in sorted(plan.building.assemblies, key=lambda a: (a.kind == "wall", natural_key(a.id))):
        if places.holds(assemblies=(alone.id,)):
            kind = "wall" if alone.kind == "wall" else "below"
            looks[f"{kind}-{alone.id}"] = Look(view=view_of(alone), assemblies=(alone.id,))
    for name, view in (("cut-away", View()), ("cut-away-from-behind", BEHIND)):
        walls = before_the_eye(plan, view)
        if walls and places.holds_more_than(walls):
            looks[name] = Look(view=view, without=walls)
    return looks


def looks_to_json(looks: Mapping[str, Look]) -> str:
    """Return looks by name as JSON."""
    return _looks().dump_json(dict(looks)).decode()


def looks_from_json(text: str) -> dict[str, Look]:
    """Return looks by name from what `looks_to_json` gave."""
    return _looks().validate_json(text)


def _looks() -> TypeAdapter[dict[str, Look]]:
    from pydantic import TypeAdapter

    return TypeAdapter(dict[str, Look])


def look_words(plan: Plan, look: Look) -> str:
    """Say in a line what is shown, and from where."""
    return f"{_subject(plan, look)}, {look.view.words}"


def _subject(plan: Plan, look: Look) -> str:
    kinds = {a.id: a.kind for a in plan.building.assemblies}
    parts = []
    if look.circuits:
        parts.append("circuit" + _names(look.circuits))
    if look.storeys:
        parts.append("storey" + _names(look.storeys))
    if look.assemblies:
        parts.append(" and ".join(f"{_ceiling(kinds[name], look.view)} {name}" for name in look.assemblies))
    if look.without:
        parts.append("cut open, without wall" + _names(look.without))
    if look.without_roles:
        parts.append(f"framing without {', '.join(role.replace('_', ' ') for role in look.without_roles)}")
    return f"Wiring plan: {', '.join(parts)}" if parts else "Wiring plan"


def _names(ids: Sequence[str]) -> str:
    """Ids after a noun, with the noun's plural: " A", "s A, B and C"."""
    *before, last = ids
    return f"s {', '.join(before)} and {last}" if before else f" {last}"


def _ceiling(kind: str, view: View) -> str:
    return "ceiling" if kind == "floor" and view.elevation_deg < 0 else kind

"""Members of a row as a sheet lists them: as the building has them, else as far as the scene says them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from barnloom.model.building import Assembly, Building, Member, Role
from barnloom.model.survey.parts import Row, Site
from barnloom.model.vectors import dot
from barnloom.model.vectors import minus as between
from barnloom.routing.store import natural_key
from barnloom.viewer.survey.marks import ASSUMED, Marks
from barnloom.viewer.survey.sketch import Upright

_IN_ROWS = (Role.STUD, Role.KING, Role.JACK, Role.CRIPPLE, Role.JOIST, Role.CEILING_JOIST, Role.TRIMMER, Role.RAFTER)


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """A member on a sheet."""

    name: str
    said: str
    """Its station with its marks; empty on a blank sheet."""
    size: str
    note: str
    drawn: Upright | None


def listed(site: Site, row: Row, marks: Marks, building: Building | None, assembly: str) -> list[Listed]:
    """Members of a row, in order from the hooked end."""
    slabs = [] if building is None else [slab for slab in building.assemblies if slab.id == assembly]
    if building is not None and slabs:
        return list(_built(site, row, building, slabs[0]))
    return [*_said(site, row, marks), *_extra(site, row)]


def _built(site: Site, row: Row, building: Building, slab: Assembly) -> Iterator[Listed]:
    own = [member for member in building.members if member.assembly == slab.id and member.role in _IN_ROWS]
    placed: dict[tuple[float, Role], list[Member]] = {}
    for member in own:
        placed.setdefault((round(_near(member, slab), 3), member.role), []).append(member)
    for (near, _), pieces in sorted(placed.items(), key=lambda one: (one[0][0], natural_key(one[1][0].id))):
        member = min(pieces, key=lambda one: natural_key(one.id))
        station = near + member.thickness_in / 2 if row.key == "centres" else near
        measured = row.key in ("at", "centres") and member.role in (
            Role.STUD,
            Role.JOIST,
            Role.CEILING_JOIST,
            Role.RAFTER,
        )
        said = site.text(station) + ("" if measured else f" {ASSUMED}")
        yield Listed(
            name=member.id.removeprefix(f"{slab.id}-"),
            said=said,
            size=_size(site, row, member),
            note=", ".join([*([f"{len(pieces)} pieces"] if len(pieces) > 1 else []), *_notes(member)]),
            drawn=Upright(near, member.thickness_in, site.text(station)) if member.role is not Role.CRIPPLE else None,
        )


def _near(member: Member, slab: Assembly) -> float:
    """Station of a member's near face in its assembly."""
    at = dot(between(member.origin, slab.origin), slab.u)
    return at if dot(member.bit, slab.u) > 0 else at - member.thickness_in


def _size(site: Site, row: Row, member: Member) -> str:
    """Breadth and depth where they are not those of the row."""
    usual = row.breadth is not None and abs(member.thickness_in - row.breadth) < 1e-6
    if "section" in member.unmeasured or usual:
        return ""
    plies = f"{len(member.plies)}: " if len(member.plies) > 1 else ""
    return f"{plies}{site.text(member.thickness_in)} x {site.text(member.depth_in)}"


def _notes(member: Member) -> list[str]:
    words = (
        [member.role.value.replace("_", " ")]
        if member.role in (Role.KING, Role.JACK, Role.CRIPPLE, Role.TRIMMER)
        else []
    )
    words += [f"{len(member.holes)} hole{'s' if len(member.holes) > 1 else ''}"] if member.holes else []
    words += ["notch"] if member.notches and member.role is not Role.RAFTER else []
    words += ["not measured: " + ", ".join(member.unmeasured)] if member.unmeasured else []
    return words


def _said(site: Site, row: Row, marks: Marks) -> Iterator[Listed]:
    if row.key in ("at", "centres"):
        for number, (station, near) in enumerate(zip(row.stations, row.near, strict=True)):
            words = "" if station is None else site.text(station)
            yield Listed(
                name=str(number + 1),
                said=marks.cell((*row.where, row.key, number), words),
                size="",
                note="",
                drawn=None if near is None else Upright(near, row.breadth or 1.5, words),
            )
        return
    for number, near in enumerate(_regular(row)):
        words = site.text(near)
        drawn = Upright(near, row.breadth or 0.0, words)
        yield Listed(name=str(number + 1), said=f"{words} {ASSUMED}", size="", note="", drawn=drawn)


def _extra(site: Site, row: Row) -> Iterator[Listed]:
    for near in row.extra:
        if near is not None:
            drawn = Upright(near, row.breadth or 1.5, site.text(near))
            yield Listed(name="extra", said=site.text(near), size="", note="", drawn=drawn)


def _regular(row: Row) -> Sequence[float]:
    """Near faces of a regular row: one flush at the start, centres at the multiples, the last flush at the end."""
    if row.every is None or row.length is None or row.breadth is None:
        return ()
    last = row.length - row.breadth
    between_in = [n * row.every - row.breadth / 2 for n in range(1, int(row.length / row.every) + 1)]
    return (0.0, *(near for near in between_in if near + row.breadth <= last), last)

"""Where boxes, panels and stubs hang: in a wall, a ceiling, a roof slope, or on the side of a member."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from barnloom.model.building import Assembly, Box, LengthRules, Member, Right, Vec
from barnloom.model.electrical.boxes import default_box_types
from barnloom.model.errors import Fault
from barnloom.model.framing.common import SAME_IN, Context, Place
from barnloom.model.lengths import SIXTEENTH_IN
from barnloom.model.limits import at_most
from barnloom.model.scene.devices import YOKED, circuits_of, said_devices
from barnloom.model.scene.refer import cables_most
from barnloom.model.scene.schema import BoxSaid, FloorSaid
from barnloom.model.vectors import COMPASS, dot, heading_vec, left_of, minus, moved, opposite
from barnloom.model.wiring import BoxType

PANEL_SIZE: Vec = (14.25, 28.0, 3.5)
"""Width, height, depth (inches) of a panel that says no size: fits a bay of 14-1/2 in (common practice, no source)."""
_TURNED = math.sqrt(0.5) - 1e-9
"""Cosine of the angle up to which a side still has a compass word's name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """What boxes hang on: the framing as built, and the floors as said (for their two dimensions).

    ``whole`` False: some of the framing has faults and is not there, so that what hangs on it cannot be judged.
    """

    assemblies: Mapping[str, Assembly]
    members: Mapping[str, Member]
    floors: Mapping[str, FloorSaid]
    context: Context
    lengths: LengthRules
    whole: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class _Hung:
    """Where a box came to hang: its centre in its host's axes and in the world, its sizes along the host's axes."""

    host: str
    storey: str
    side: str
    centre: Vec
    size: Vec
    at: Vec


def box_axes(box: Box, site: Site) -> tuple[Vec, Vec, Vec]:
    """Return the directions that ``box.size_in`` is measured in."""
    if not box.side:
        host = site.assemblies[box.host]
        return host.u, host.v, host.w
    member = site.members[box.host]
    return member.along, member.bit if box.side.endswith("across") else member.across, _face(member, box.side)


def placed_box(name: str, said: BoxSaid, site: Site) -> tuple[Box | None, tuple[Fault, ...]]:
    """Return a box where the scene puts it, or what is wrong with that; None without a fault where its host has faults.

    That the box says exactly one place, with the lengths this needs, was checked before; whether it is free there is
    for ``checks``.
    """
    series, box_type = bought(said)
    size = said.size or _usual_size(said.kind, series, box_type)
    where: Place = ("boxes", name)
    hung: _Hung | Fault | None
    if said.wall is not None:
        hung = _in_wall(said, size, site)
    elif said.ceiling is not None:
        hung = _in_ceiling(said, size, site)
    elif said.roof is not None:
        hung = _in_roof(said, size, site, where)
    else:
        hung = _on_member(said, size, site, where)
    if not isinstance(hung, _Hung):
        return None, () if hung is None else (hung,)
    usual_rise = 0.0 if said.kind == "stub" else site.lengths.box_rise_in
    box = Box(
        id=name,
        title=said.title,
        kind=said.kind,
        circuits=circuits_of(said),
        storey=hung.storey,
        host=hung.host,
        side=hung.side,
        u_in=hung.centre[0],
        v_in=hung.centre[1],
        w_in=hung.centre[2],
        size_in=hung.size,
        at=hung.at,
        size_known=said.size is not None or said.kind == "stub",
        rise_in=said.rise if said.rise is not None else usual_rise,
        cables_max=cables_most(said),
        fed_from=said.fed_from or "",
        series=series,
        box_type=box_type,
        ring=said.ring or "",
        volume_in3=said.volume or 0.0,
        shared=said.shared,
        phase=said.phase or 1,
    )
    return box, ()


def bought(said: BoxSaid) -> tuple[str, str]:
    """
    Return the series of a box as bought, and the box itself where it is pinned; both empty where nothing is known.

    A size that is one box of the catalogue's pins that; of two, the one of the series that would be taken anyway.
    """
    if said.kind != "box":
        return "", ""
    boxes = {kind.id: kind for kind in default_box_types() if kind.what == "box"}
    if said.box is not None:
        return (boxes[said.box].series, said.box) if said.box in boxes else (said.box, "")
    usual = _usual_series(said)
    if said.size is None:
        return usual, ""
    like = [kind for kind in boxes.values() if _same_body(kind, said.size)]
    chosen = [kind for kind in like if kind.series == usual] or like
    return (chosen[0].series, chosen[0].id) if len(chosen) == 1 else ("", "")


def _usual_series(said: BoxSaid) -> str:
    """Return the series of a box that says none: by its yokes; octagonal for lights, and for alarms overhead."""
    kinds = [device.kind for device in said_devices(said)]
    yokes = sum(kind in YOKED for kind in kinds)
    if yokes > 2:
        return f"plastic-{yokes}"
    round_ones = {"light"} if said.wall is not None else {"light", "alarm"}
    return "octagon-4" if round_ones & set(kinds) and not yokes else "square-4"


def _usual_size(kind: str, series: str, box_type: str) -> Vec:
    """Return the body of what says no size: the box that is pinned, or the deepest of its series."""
    if kind != "box":
        return PANEL_SIZE if kind == "panel" else (0.0, 0.0, 0.0)
    boxes = [one for one in default_box_types() if one.what == "box" and one.series == series]
    body = max(boxes, key=lambda one: (one.id == box_type, one.depth_in))
    return body.width_in, body.height_in, body.depth_in


def _same_body(kind: BoxType, size: Vec) -> bool:
    """Whether a box has these sides, to a sixteenth."""
    sides = (kind.width_in, kind.height_in, kind.depth_in)
    return all(at_most(abs(one - other), SIXTEENTH_IN / 2) for one, other in zip(sides, size, strict=True))


def unknown(where: Place, found: str, known: Mapping[str, object], what: str) -> Fault:
    """Return the fault of a name that nothing has, with the nearest that something has."""
    near = get_close_matches(found, known, n=1, cutoff=0.4)
    return Fault(where, found, f"the id of {what}", f"did you mean {near[0]}?" if near else "correct the id")


def in_assembly(host: Assembly, centre: Vec) -> Vec:
    """Return the world's coordinates of a place in an assembly's axes."""
    return moved(host.origin, (host.u, centre[0]), (host.v, centre[1]), (host.w, centre[2]))


def _hung_in(host: Assembly, centre: Vec, size: Vec) -> _Hung:
    at = in_assembly(host, centre)
    return _Hung(host=host.id, storey=host.storey, side="", centre=centre, size=size, at=at)


def _through(host: Assembly, deep: float) -> float:
    """Return w of the centre of a body ``deep`` in: flush with the room side; a stub lies at mid-depth."""
    if deep == 0.0:
        return host.depth_in / 2
    return host.depth_in - deep / 2 if host.kind == "wall" else deep / 2


def _in_wall(said: BoxSaid, size: Vec, site: Site) -> _Hung | None:
    host = site.assemblies.get(said.wall or "")
    if host is None:
        return None
    shift = {"centre": 0.0, "top": -size[1] / 2, "bottom": size[1] / 2}[said.to]
    level = site.context.floors.get(host.storey, 0.0) + said.above + (said.height or 0.0) + shift
    return _hung_in(host, (said.along or 0.0, level - host.origin[2], _through(host, size[2])), size)


def _in_ceiling(said: BoxSaid, size: Vec, site: Site) -> _Hung | None:
    host, floor = site.assemblies.get(said.ceiling or ""), site.floors.get(said.ceiling or "")
    if host is None or floor is None:
        return None
    wide, at = heading_vec(floor.heading), said.at or (0.0, 0.0)
    corner = (*floor.corner, host.origin[2])
    place = minus(moved(corner, (wide, at[0]), (left_of(wide), at[1])), host.origin)
    turned = abs(dot(host.u, wide)) < _TURNED
    body = (size[1], size[0], size[2]) if turned else size
    return _hung_in(host, (dot(place, host.u), dot(place, host.v), _through(host, size[2])), body)


def _in_roof(said: BoxSaid, size: Vec, site: Site, where: Place) -> _Hung | Fault | None:
    slopes = {name: slope for name, slope in site.assemblies.items() if slope.kind == "roof"}
    host = slopes.get(said.roof or "")
    if host is None:
        return unknown((*where, "roof"), said.roof or "", slopes, "a roof slope") if site.whole else None
    return _hung_in(host, (*(said.at or (0.0, 0.0)), _through(host, size[2])), size)


def _on_member(said: BoxSaid, size: Vec, site: Site, where: Place) -> _Hung | Fault | None:
    member = site.members.get(said.on or "")
    if member is None:
        return unknown((*where, "on"), said.on or "", site.members, "a member") if site.whole else None
    if member.mount is not Right.FREE:
        reason = f" ({member.reason})" if member.reason else ""
        found = f"{member.id}, whose mount is {member.mount.value}{reason}"
        do = "hang it on another member, or say mount: free once that is settled"
        return Fault((*where, "on"), found, "a member that may carry a box", do)
    host = site.assemblies.get(member.assembly)
    if host is None:
        return _on_timber(said, size, member, where)
    return _beside(said, size, member, host, where)


def _beside(said: BoxSaid, size: Vec, member: Member, host: Assembly, where: Place) -> _Hung | Fault:
    """Return the place beside a stud, joist or rafter, in the bay on that side of it."""
    if abs(dot(member.bit, host.u)) < 1.0 - SAME_IN:
        found = f"{member.id}, a {member.role.value.replace('_', ' ')}"
        do = f"put it in {host.id} with {'wall' if host.kind == 'wall' else 'ceiling'}:, or on a member beside it"
        return Fault((*where, "on"), found, "a stud, joist, rafter or single timber", do)
    sign = _bay_side(said.side, host)
    if sign is None:
        expected = "start or end: which of its two sides, along the row"
        return Fault((*where, "side"), said.side or "no side", expected, "or a compass word that fits one of them")
    edges = [dot(minus(place, host.origin), host.u) for place in _ends_of_bit(member)]
    u = max(edges) + size[0] / 2 if sign > 0 else min(edges) - size[0] / 2
    v = dot(minus(moved(member.origin, (member.along, said.along or 0.0)), host.origin), host.v)
    return _hung_in(host, (u, v, _through(host, size[2])), size)


def _ends_of_bit(member: Member) -> tuple[Vec, Vec]:
    return member.origin, moved(member.origin, (member.bit, member.thickness_in))


def _bay_side(side: str | None, host: Assembly) -> int | None:
    """Return -1 for the side of a member nearer the row's start, +1 for the other, None if the word fits neither."""
    if side in ("start", "end"):
        return 1 if side == "end" else -1
    toward = dot(COMPASS.get(side or "", (0.0, 0.0, 0.0)), host.u)
    return None if abs(toward) < _TURNED else 1 if toward > 0 else -1


def _on_timber(said: BoxSaid, size: Vec, member: Member, where: Place) -> _Hung | Fault:
    """Return the place on a long face of a single timber or board."""
    side = _timber_side(said.side, member)
    if side is None:
        faces = sorted(word for word in COMPASS if _timber_side(word, member) is not None)
        return Fault((*where, "side"), said.side or "no side", " or ".join(faces), f"say which side of {member.id}")
    out, along = _face(member, side), said.along or 0.0
    half = (member.depth_in if side.endswith("across") else member.thickness_in) / 2
    middle = moved(
        member.origin,
        (member.along, along),
        (member.bit, member.thickness_in / 2),
        (member.across, member.depth_in / 2),
        (out, half + size[2] / 2),
    )
    body = (size[1], size[0], size[2]) if abs(member.along[2]) >= _TURNED else size
    return _Hung(host=member.id, storey=member.storey, side=side, centre=(along, 0.0, 0.0), size=body, at=middle)


def _face(member: Member, side: str) -> Vec:
    out = member.across if side.endswith("across") else member.bit
    return out if side.startswith("+") else opposite(out)


def _timber_side(side: str | None, member: Member) -> str | None:
    """Return the face of a timber that looks where a compass word says; None if none does."""
    word = COMPASS.get(side or "")
    if word is None:
        return None
    sides = {name: dot(_face(member, name), word) for name in ("+across", "-across", "+bit", "-bit")}
    best = max(sides, key=lambda name: sides[name])
    return best if sides[best] >= _TURNED else None

"""Where cables begin and end: at the entry points of their boxes, and straight out of them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from barnloom.model.building import Assembly, Box, Member, Vec
from barnloom.model.limits import at_least
from barnloom.routing.check.finding import SAME_IN, Finding, Site
from barnloom.routing.check.shapes import Floats, assembly_axes, in_world, member_axes
from barnloom.routing.plan import Cable


@dataclass(frozen=True, slots=True)
class Entry:
    """A place where a cable may enter a box, and the way it leaves (None: any)."""

    place: Floats
    way: Floats | None


def entries_of(box: Box, site: Site) -> list[Entry]:
    """Return every place at which a cable may enter a box; none if what the box hangs in is not there."""
    if box.kind == "stub":
        return [Entry(np.array(box.at), None)]
    slab, member = site.assemblies.get(box.host), site.members.get(box.host)
    if slab is not None and not box.side:
        return _in_slab(box, slab)
    return _on_side(box, member) if member is not None and box.side else []


def _in_slab(box: Box, slab: Assembly) -> list[Entry]:
    axes, middle = assembly_axes(slab), slab.depth_in / 2
    if slab.kind != "wall":
        return [Entry(in_world(slab.origin, axes, (box.u_in, box.v_in, middle)), None)]
    return [
        Entry(
            in_world(slab.origin, axes, (box.u_in, box.v_in + side * box.size_in[1] / 2, middle)),
            side * np.array(slab.v),
        )
        for side in (1.0, -1.0)
    ]


def _on_side(box: Box, member: Member) -> list[Entry]:
    middle = [0.0, member.thickness_in / 2, member.depth_in / 2]
    axis, size = (1, member.thickness_in) if box.side.endswith("bit") else (2, member.depth_in)
    middle[axis] = size if box.side.startswith("+") else 0.0
    return [
        Entry(
            in_world(member.origin, member_axes(member), (box.u_in + side * box.size_in[0] / 2, middle[1], middle[2])),
            side * np.array(member.along),
        )
        for side in (1.0, -1.0)
    ]


def body_centre(box: Box, site: Site) -> Vec | None:
    """Return the middle of a box's body from its place in its host; None if the host is not there."""
    slab, member = site.assemblies.get(box.host), site.members.get(box.host)
    if slab is not None and not box.side:
        place = in_world(slab.origin, assembly_axes(slab), (box.u_in, box.v_in, box.w_in))
    elif member is not None and box.side:
        middle = [box.u_in, member.thickness_in / 2, member.depth_in / 2]
        axis, size = (1, member.thickness_in) if box.side.endswith("bit") else (2, member.depth_in)
        out = box.size_in[2] / 2
        middle[axis] = size + out if box.side.startswith("+") else -out
        place = in_world(member.origin, member_axes(member), middle)
    else:
        return None
    return (float(place[0]), float(place[1]), float(place[2]))


def end_findings(site: Site) -> Iterator[Finding]:
    """Return which cables do not begin and end at their boxes as they should."""
    for box in site.plan.building.boxes:
        centre = body_centre(box, site)
        if centre is None:
            yield Finding("box.host", box.id, f"it hangs in {box.host}, which is not there")
        elif float(np.max(np.abs(np.array(centre) - box.at))) > SAME_IN:
            yield Finding(
                "box.at", box.id, f"its centre is said to be at {box.at}, but its place in {box.host} gives {centre}"
            )
    for cable in site.plan.cables:
        if len(cable.points) < 2 or len(cable.tracks) != len(cable.points) - 1:
            continue  # reported with the legs
        bored = [track.startswith("bore ") for track in cable.tracks]
        yield from _end(cable, cable.from_box, np.array(cable.points), bored, site)
        yield from _end(cable, cable.to_box, np.array(cable.points[::-1]), bored[::-1], site)


def _end(cable: Cable, name: str, points: Floats, bored: list[bool], site: Site) -> Iterator[Finding]:
    box = site.boxes.get(name)
    if box is None:
        yield Finding("cable.box", cable.id, f"there is no box {name}")
        return
    entries = entries_of(box, site)
    entry = next((entry for entry in entries if float(np.max(np.abs(entry.place - points[0]))) <= SAME_IN), None)
    if entry is None:
        nearest = min((float(np.linalg.norm(entry.place - points[0])) for entry in entries), default=np.inf)
        yield Finding("run.end", cable.id, f"it ends {site.text(nearest)} from the nearest entry point of {name}")
        return
    if box.rise_in <= 0:
        return
    way, straight, whole = _straight(points, bored)
    if entry.way is not None and float(np.dot(way, entry.way)) < 1 - SAME_IN:
        yield Finding("run.rise", cable.id, f"it does not leave {name} straight out of its face")
    elif not whole and not at_least(straight, box.rise_in):
        known = any(re.search(rf"(?<![\w.-]){re.escape(name)}(?![\w-])", words) for words in site.plan.warnings)
        words = f"it turns or enters a bore {site.text(straight)} from {name}"
        words += f", {site.text(box.rise_in)} straight wanted (own caution)"
        yield Finding("run.rise", cable.id, words, "warning" if known else "fault")


def _straight(points: Floats, bored: list[bool]) -> tuple[Floats, float, bool]:
    """Return the way a cable sets out, how far it goes so before a turn or a bore, and whether that is all of it."""
    steps = np.diff(points, axis=0)
    lengths = np.sqrt(np.sum(steps * steps, axis=1))
    way, total = np.zeros(3), 0.0
    for step, length, bore in zip(steps, lengths, bored, strict=True):
        if length <= SAME_IN:
            continue
        if bore or (total > 0 and float(np.dot(way, step)) < length * (1 - SAME_IN)):
            return way, total, False
        way = step / length if total == 0 else way
        total += float(length)
    return way, total, True

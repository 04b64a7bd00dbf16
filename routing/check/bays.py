"""Cables along the members of a bay, and on faces and boards: support within reach, lanes enough, gaps wide enough."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from barnloom.model.building import Assembly, Right, Role
from barnloom.model.limits import at_least, at_most
from barnloom.routing.check.finding import SAME_IN, Finding, Site
from barnloom.routing.check.legs import Legs
from barnloom.routing.check.shapes import Floats, Ints, Solids, assembly_axes
from barnloom.routing.plan import Cable

UPRIGHT = 0.707
"""A run steeper than this is vertical: a bore in it does not count as support."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A piece of a leg along a bay, from ``low`` to ``high`` (v), the members beside it ("" if none), how far off."""

    leg: int
    slab: str
    low: float
    high: float
    sides: tuple[str, str]
    off_in: tuple[float, float]
    deep_in: tuple[float, float]
    """How deep the wood beside it is, which is what lanes are counted on."""


def bay_findings(site: Site, legs: Legs, solids: Solids) -> Iterator[Finding]:
    """Return where cables are not supported, too many beside each other, or in too narrow a gap."""
    pieces = list(stretches_along(site, legs, solids))
    yield from _gaps(site, legs, pieces)
    yield from _bay_lanes(site, legs, pieces)
    yield from _face_lanes(site, legs)
    yield from _supports(site, legs, pieces)


def stretches_along(site: Site, legs: Legs, solids: Solids) -> Iterator[Stretch]:
    """Return every piece of a leg that runs along the members of its assembly, cut where what is beside it changes."""
    for slab in site.plan.building.assemblies:
        rows = [leg for leg, track in enumerate(legs.tracks) if track.assembly is slab]
        own = np.array(rows, dtype=np.int64)
        if len(own):
            own = own[np.abs(legs.steps[own, 1]) > SAME_IN]
        if len(own):
            yield from _in_slab(slab, own, legs, solids)


def _in_slab(slab: Assembly, own: Ints, legs: Legs, solids: Solids) -> Iterator[Stretch]:
    spans, names = _rails(slab, solids)
    u, low, high = legs.local_start[own, 0], legs.low()[own, 1], legs.high()[own, 1]
    stops = np.unique(np.concatenate([spans[:, 1].ravel(), low, high]))
    stops = stops[np.append(True, np.diff(stops) > SAME_IN)]
    middle = (stops[1:] + stops[:-1]) / 2
    leg, cell = np.nonzero((middle > low[:, None]) & (middle < high[:, None]))
    beside = (spans[:, 1, 0] < middle[cell, None]) & (spans[:, 1, 1] > middle[cell, None])
    left = np.where(beside & (spans[:, 0, 1] <= u[leg, None] + SAME_IN), spans[:, 0, 1], -np.inf)
    right = np.where(beside & (spans[:, 0, 0] >= u[leg, None] - SAME_IN), spans[:, 0, 0], np.inf)
    deep = spans[:, 2, 1] - spans[:, 2, 0]
    if not names:
        left, right = np.full((len(leg), 1), -np.inf), np.full((len(leg), 1), np.inf)
        names, deep = ("",), np.zeros(1)
    nearest = left.argmax(axis=1), right.argmin(axis=1)
    every = np.arange(len(leg))
    off = u[leg] - left[every, nearest[0]], right[every, nearest[1]] - u[leg]
    for k in every:
        sides = tuple(names[nearest[side][k]] if np.isfinite(off[side][k]) else "" for side in (0, 1))
        yield Stretch(
            leg=int(own[leg[k]]),
            slab=slab.id,
            low=float(stops[cell[k]]),
            high=float(stops[cell[k] + 1]),
            sides=(sides[0], sides[1]),
            off_in=(float(off[0][k]), float(off[1][k])),
            deep_in=(float(deep[nearest[0][k]]), float(deep[nearest[1][k]])),
        )


def _rails(slab: Assembly, solids: Solids) -> tuple[Floats, tuple[str, ...]]:
    """Return the plies that lie in an assembly along its v: spans (n, 3, 2) in its axes, and their members' ids."""
    axes = np.array(assembly_axes(slab))
    turn = np.abs(np.einsum("nij,kj->nik", solids.frames.axes, axes))
    square = np.all((turn < 1e-6) | (turn > 1 - 1e-6), axis=(1, 2))
    half = np.einsum("ni,nik->nk", (solids.high - solids.low) / 2, turn)
    place = np.einsum("ni,nij->nj", (solids.low + solids.high) / 2, solids.frames.axes) + solids.frames.origin
    middle = (place - np.array(slab.origin)) @ axes.T
    spans = np.stack([middle - half, middle + half], axis=2)
    # A rail lies along v: a ply whose longest side is its member's "along", and that is the assembly's v.
    along = turn[:, 0, 1] > 1 - 1e-6
    across_slab = (spans[:, 2, 1] > SAME_IN) & (spans[:, 2, 0] < slab.depth_in - SAME_IN)
    wood = np.array([kind == "member" for kind in solids.kinds], dtype=bool)
    chosen = np.flatnonzero(square & along & across_slab & wood)
    return spans[chosen], tuple(solids.names[n] for n in chosen)


# --- gaps and lanes --------------------------------------------------------------------------------------------------


def _gaps(site: Site, legs: Legs, pieces: Iterable[Stretch]) -> Iterator[Finding]:
    least = site.limits["gap.passable"]
    for piece in pieces:
        gap = sum(piece.off_in)
        if not at_least(gap, least):
            words = f"it runs in a gap of {site.text(gap)} between {' and '.join(piece.sides)}"
            words += f", {site.text(least)} needed ({site.rule('gap.passable')})"
            yield Finding("run.gap", site.plan.cables[legs.cable[piece.leg]].id, words)


def _bay_lanes(site: Site, legs: Legs, pieces: Iterable[Stretch]) -> Iterator[Finding]:
    crowd: dict[tuple[str, tuple[str, str], float], list[Stretch]] = defaultdict(list)
    for piece in pieces:
        if not _fans_out(piece, site, legs):
            crowd[piece.slab, piece.sides, piece.low].append(piece)
    worst: dict[tuple[str, tuple[str, str]], tuple[int, Finding]] = {}
    for (slab, sides, low), here in crowd.items():
        rooms = [
            deep - 2 * site.limits["cable.face_edge"]
            for name, deep in zip(sides, here[0].deep_in, strict=True)
            if name and site.members[name].fasten is Right.FREE
        ]
        cables = sorted(site.plan.cables[legs.cable[piece.leg]].id for piece in here)
        if not rooms or fits(_widths(here, site, legs), rooms) or len(cables) <= worst.get((slab, sides), (0,))[0]:
            continue
        # Wood too shallow for the distance on both edges takes a cable a side, with plates or a sleeve: a warning.
        shallow = len(cables) <= len(rooms)
        between = " and ".join(name or "nothing" for name in sides)
        edge = site.text(site.limits["cable.face_edge"])
        words = f"{' '.join(cables)} along the bay of {slab} between {between} at {site.text(low)}: "
        words += (
            f"the wood is too shallow to keep {edge} from both edges, so they need plates or sleeves there"
            if shallow
            else f"{len(cables)} cables, too many side by side {edge} from the edges"
        )
        severity = "warning" if shallow else "fault"
        fault = Finding("lanes.bay", cables[0], f"{words} ({site.rule('cable.face_edge')})", severity)
        worst[slab, sides] = (len(cables), fault)
    for _, fault in worst.values():
        yield fault


def _fans_out(piece: Stretch, site: Site, legs: Legs) -> bool:
    """Whether a piece lies in a cable's straight start at a box, where cables spread from one entry."""
    cable = site.plan.cables[legs.cable[piece.leg]]
    middle = (piece.low + piece.high) / 2
    starts = []
    if legs.number[piece.leg] == 0:
        starts.append((cable.from_box, float(legs.local_start[piece.leg, 1])))
    if legs.number[piece.leg] == len(cable.tracks) - 1:
        starts.append((cable.to_box, float(legs.local_end[piece.leg, 1])))
    return any(abs(middle - at) <= site.boxes[box].rise_in for box, at in starts if box in site.boxes)


def _widths(here: Iterable[Stretch], site: Site, legs: Legs) -> list[float]:
    kinds = [site.plan.cables[legs.cable[piece.leg]].type for piece in here]
    return [site.types[kind].width_in for kind in kinds if kind in site.types]


def fits(widths: Iterable[float], rooms: Iterable[float]) -> bool:
    """Whether cables lie side by side on sides with that much room: the widest first, each where it first fits."""
    left = list(rooms)
    for width in sorted(widths, reverse=True):
        place = next((n for n, room in enumerate(left) if at_most(width, room)), None)
        if place is None:
            return False
        left[place] -= width
    return True


def _face_lanes(site: Site, legs: Legs) -> Iterator[Finding]:
    """Return the faces and boards that carry more cables beside each other than they have room for."""
    runs: dict[tuple[str, str], list[int]] = defaultdict(list)
    for leg, track in enumerate(legs.tracks):
        if track.member is not None and track.bore is None and abs(legs.steps[leg, 0]) > SAME_IN:
            runs[track.member.id, track.face].append(leg)
    for (name, face), rows in runs.items():
        member = site.members[name]
        wide = member.thickness_in if face.endswith("across") else member.depth_in
        edge = 0.0 if member.role is Role.BOARD else site.limits["cable.face_edge"]
        low, high = legs.low()[rows, 0], legs.high()[rows, 0]
        for stop in np.unique(low):
            here = [
                leg for leg, a, b in zip(rows, low, high, strict=True) if a <= stop + SAME_IN and b > stop + SAME_IN
            ]
            cables = [site.plan.cables[legs.cable[leg]] for leg in here]
            total = sum(site.types[cable.type].width_in for cable in cables if cable.type in site.types)
            if not at_most(total, wide - 2 * edge):
                names = " ".join(sorted(cable.id for cable in cables))
                words = f"{names}: {site.text(total)} of cable side by side on {name} {face}".rstrip()
                words += f", which has room for {site.text(wide - 2 * edge)} ({site.rule('cable.face_edge')})"
                yield Finding("lanes.face", cables[0].id, words)
                break


# --- support ---------------------------------------------------------------------------------------------------------


def _supports(site: Site, legs: Legs, pieces: Iterable[Stretch]) -> Iterator[Finding]:
    """Return the cables that go further without a place to be fastened than they may."""
    most = site.limits["cable.support"]
    held: dict[int, list[tuple[float, float]]] = defaultdict(list)
    for piece in pieces:
        if any(
            name and site.members[name].fasten is Right.FREE and at_most(off, most / 2)
            for name, off in zip(piece.sides, piece.off_in, strict=True)
        ):
            start = float(legs.local_start[piece.leg, 1])
            held[piece.leg].append((abs(piece.low - start), abs(piece.high - start)))
    rise = np.abs(legs.end[:, 2] - legs.start[:, 2])
    for index, cable in enumerate(site.plan.cables):
        rows = np.flatnonzero(legs.cable == index)
        if not len(rows):
            continue
        at, spans = 0.0, []
        for leg in rows.tolist():
            track, length = legs.tracks[leg], float(legs.length[leg])
            if track.bore is not None:
                if rise[leg] < UPRIGHT * length:
                    spans.append((at, at + length))
            elif track.member is not None:
                spans.append((at, at + length))
            else:
                spans += [(at + min(ends), at + max(ends)) for ends in held[leg]]
            at += length
        yield from _unheld(cable, spans, at, site)


def _unheld(cable: Cable, spans: list[tuple[float, float]], total: float, site: Site) -> Iterator[Finding]:
    most, first = site.limits["cable.support"], site.limits["cable.first_support"]
    reached, longest, where = 0.0, 0.0, 0.0
    for low, high in [*sorted(spans), (total, total)]:
        if low - reached > longest:
            longest, where = low - reached, reached
        reached = max(reached, high)
    if not at_most(longest, most):
        words = f"{site.text(longest)} without support from {site.text(where)} on, at most {site.text(most)}"
        yield Finding("run.support", cable.id, f"{words} ({site.rule('cable.support')})")
        return
    ends = (min((low for low, _ in spans), default=total), total - max((high for _, high in spans), default=0.0))
    for name, off in zip((cable.from_box, cable.to_box), ends, strict=True):
        box = site.boxes.get(name)
        if box is not None and box.kind != "stub" and not at_most(off, first):
            words = f"its first support is {site.text(off)} from {name}, at most {site.text(first)}"
            yield Finding("run.first_support", cable.id, f"{words} ({site.rule('cable.first_support')})", "warning")

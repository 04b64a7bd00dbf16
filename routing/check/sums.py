"""Lengths added up again: each part of every cut, boards, covers, labels."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from barnloom.model.building import Box, Role, Vec
from barnloom.model.limits import at_least, at_most
from barnloom.routing.check.finding import SAME_IN, Finding, Site
from barnloom.routing.check.legs import Legs, Track
from barnloom.routing.plan import PLAN_VERSION, Cable

TAPE_IN = 0.5
"""A step between two timbers that are flush only as far as a tape goes is no run."""
EXACT = 1e-6
"""Sums of parts must agree to this; lengths taken from points to ``SAME_IN``, for a plan file rounds its points."""
PANEL_LESS_IN = 2.0
"""At a panel of known size the extra is its height + its width - 2 in (common practice, no source)."""


def sum_findings(site: Site, legs: Legs) -> Iterator[Finding]:
    """Return which lengths, labels and totals are not what the points and the scene's rules give."""
    plan = site.plan
    if plan.version != PLAN_VERSION:
        yield Finding("plan.version", "plan", f"version {plan.version}, {PLAN_VERSION} expected")
    path = np.abs(legs.steps).sum(axis=1)
    for index, cable in enumerate(plan.cables):
        rows = np.flatnonzero(legs.cable == index)
        yield from _lengths(cable, float(path[rows].sum()) if len(rows) else cable.path_in, site)
        boards = float(sum(path[leg] for leg in rows if _is_board(legs.tracks[leg])))
        if len(rows) and abs(boards - cable.board_in) > SAME_IN:
            words = f"{site.text(cable.board_in)} on boards said, {site.text(boards)} found"
            yield Finding("length.board", cable.id, words)
        yield from _sight(cable, legs, [int(leg) for leg in rows], site)


def _is_board(track: Track) -> bool:
    return track.member is not None and track.bore is None and track.member.role is Role.BOARD


# --- lengths ---------------------------------------------------------------------------------------------------------


def _lengths(cable: Cable, path: float, site: Site) -> Iterator[Finding]:
    rules = site.plan.building.lengths
    ends = [box for box in (site.boxes.get(cable.from_box), site.boxes.get(cable.to_box)) if box]
    panel = sum(_panel_extra(box, site) for box in ends if box.kind == "panel")
    parts = cable.path_in + cable.entries_in + cable.free_in + cable.panel_in + cable.slack_in
    for code, what, said, found, slack in (
        ("length.path", "path", cable.path_in, path, SAME_IN),
        ("length.entries", "entries", cable.entries_in, 2 * rules.entry_in, EXACT),
        ("length.free", "free conductor", cable.free_in, 2 * rules.free_in, EXACT),
        ("length.panel", "panel's part", cable.panel_in, panel, EXACT),
        ("length.slack", "slack", cable.slack_in, rules.slack_share * cable.path_in, EXACT),
        ("length.cut", "cut", cable.cut_in, parts, EXACT),
    ):
        if not abs(said - found) <= slack:
            yield Finding(code, cable.id, f"{what} {site.text(said)} said, {site.text(found)} found")
    label = _label(ends, site)
    if len(ends) == 2 and cable.floor != label:
        yield Finding("length.floor", cable.id, f"counted under {cable.floor!r}, its ends are on {label!r}")


def _panel_extra(panel: Box, site: Site) -> float:
    known = panel.size_in[0] + panel.size_in[1] - PANEL_LESS_IN
    return known if panel.size_known else site.plan.building.lengths.panel_in


def _label(ends: list[Box], site: Site) -> str:
    order = [storey.id for storey in site.plan.building.storeys]
    names = sorted({box.storey for box in ends}, key=lambda name: order.index(name) if name in order else len(order))
    return names[0] if len(names) == 1 else f"between {' and '.join(names)}"


# --- cable in sight --------------------------------------------------------------------------------------------------


def _seen(track: Track, site: Site) -> tuple[str, str, Vec | None] | None:
    """Return where a leg would be in sight: id, storey, and the direction that is across (None: any level one)."""
    wall = site.assemblies.get(track.wall)
    if wall is not None:
        return (wall.id, wall.storey, wall.u) if wall.kind == "wall" and wall.lining == "none" else None
    member = track.member
    if member is None or not track.face or track.bore is not None or member.role is Role.BOARD:
        return None
    return member.id, member.storey, None


def _fans(legs: Legs, leg: int, site: Site) -> bool:
    """Whether a leg in a wall is no farther from one of its boxes than cables fan out from the clamps of one."""
    track = legs.tracks[leg]
    wall = site.assemblies.get(track.wall)
    if wall is None or track.bore is not None or site.plan.building.exposed == "never":
        return False
    places = np.stack([legs.local_start[leg], legs.local_end[leg]])[:, :2]
    for box in site.plan.building.boxes:
        if box.host == wall.id and not box.side:
            aside, away = np.abs(places - (box.u_in, box.v_in)).max(axis=0).tolist()
            straight = box.size_in[1] / 2 + box.rise_in + TAPE_IN
            if at_most(aside, site.limits["cable.fan"]) and at_most(away, straight):
                return True
    return False


def _sight(cable: Cable, legs: Legs, rows: list[int], site: Site) -> Iterator[Finding]:
    """Return where a cable is in sight and in reach as the kept answer does not accept, and wrong covers."""
    building = site.plan.building
    pulled = site.plan.as_built.pulled if site.plan.as_built else ()
    severity = "warning" if cable.id in pulled else "fault"
    covered = 0.0
    for leg in rows:
        place = _seen(legs.tracks[leg], site)
        if building.exposed == "free" or place is None:
            continue
        name, floor, way = place
        storey = site.storeys.get(floor)
        level = (storey.floor_in if storey else 0.0) + building.exposed_below_in
        low, high = sorted((float(legs.start[leg, 2]), float(legs.end[leg, 2])))
        upright = high - low > legs.length[leg] * (1 - SAME_IN)
        step = legs.end[leg] - legs.start[leg]
        across = abs(float(np.dot(step, way))) > SAME_IN if way else not upright and legs.length[leg] > TAPE_IN
        below = min(high, level) - low if upright else 0.0
        if across and not at_least(low, level) and not _fans(legs, leg, site):
            words = f"it runs across {name} in sight, {site.text(low)} up, below {site.text(level)}"
            yield Finding("run.exposed", cable.id, f"{words}; the kept answer is {building.exposed!r}", severity)
        elif building.exposed == "never" and below > SAME_IN:
            words = f"it drops in {name} in sight to {site.text(low)} up, below {site.text(level)}"
            yield Finding("run.exposed", cable.id, f"{words}; the kept answer is 'never'", severity)
        if building.exposed == "covered" and legs.tracks[leg].bore is None and upright:
            covered += max(below, 0.0)
    if rows and abs(covered - cable.covered_in) > SAME_IN:
        words = f"{site.text(cable.covered_in)} to cover said, {site.text(covered)} found in sight and in reach"
        yield Finding("length.covered", cable.id, words)

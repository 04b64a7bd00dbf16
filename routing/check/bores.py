"""Every hole against the wood it is in: right to bore, section, edges, ends, neighbours, band, nail plates, fill."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from barnloom.model.building import Hole, Member, Notch, Ply, Right, Role
from barnloom.model.limits import at_least, at_most
from barnloom.model.mends import mend
from barnloom.routing.check.finding import SAME_IN, Finding, Site
from barnloom.routing.plan import Bore

GRID_SLACK_IN = 1e-6
STUDS = {Role.STUD, Role.KING, Role.JACK, Role.CRIPPLE, Role.POST}
PLATES = {Role.SOLE_PLATE, Role.TOP_PLATE, Role.SILL}
FACES = {"joist": ("bottom edge", "top edge"), "stud": ("room side", "far side"), "plate": ("room side", "far side")}
"""What the low and the high face of a member are called where a nail plate goes."""


@dataclass(frozen=True, slots=True)
class Circle:
    """A hole as its member sees it; ``id`` for messages."""

    id: str
    along_in: float
    across_in: float
    diameter_in: float


def rule_of(member: Member, site: Site) -> str:
    """Which rule a member's holes follow: "joist", "stud" or "plate"; what nobody wrote one for follows the joists'."""
    if member.role in STUDS:
        return "stud"
    host = site.assemblies.get(member.assembly)
    if member.role in PLATES or (member.role is Role.BLOCK and host is not None and host.kind == "wall"):
        return "plate"
    return "joist"


def bore_findings(site: Site) -> Iterator[Finding]:
    """Return what is wrong with the holes, new ones and old."""
    circles: dict[str, list[Circle]] = defaultdict(list)
    for bore in site.plan.bores:
        member = site.members.get(bore.member)
        if member is None:
            yield Finding("bore.member", bore.id, f"there is no member {bore.member}")
            continue
        if not bore.cables:
            yield Finding("bore.cables", bore.id, "a hole that no cable passes")
        yield from _right(bore, member)
        yield from _kept(bore, member, site) if bore.existing else _made(bore, member, site)
        yield from _nail_plates(bore, member, site)
        yield from _fill(bore, member, site)
        if not bore.existing:
            circles[member.id].append(Circle(bore.id, bore.along_in, bore.across_in, bore.diameter_in))
    for name in sorted(circles):
        yield from _neighbours(site.members[name], circles[name], site)
    yield from _doubled_runs(site)
    yield from _old_holes(site)
    yield from _as_built(site)


# --- one hole --------------------------------------------------------------------------------------------------------


def _right(bore: Bore, member: Member) -> Iterator[Finding]:
    if bore.existing:
        return
    unknown = [part for part in ("section", "ends", "holes") if part in member.unmeasured]
    if unknown:
        yield Finding("bore.right", bore.id, f"{member.id} may not be bored: not measured: {', '.join(unknown)}")
    if member.role is Role.BOARD or member.bore not in (Right.FREE, Right.MAKER):
        why = f": {member.reason}" if member.reason else ""
        yield Finding("bore.right", bore.id, f"{member.id} may not be bored ({member.bore.value}){why}")
    elif member.bore is Right.MAKER and member.maker is None:
        yield Finding("bore.right", bore.id, f"{member.id} may be bored by its maker's data only, and there is none")


def _kept(bore: Bore, member: Member, site: Site) -> Iterator[Finding]:
    """Return what is wrong with an old hole that is used again."""
    old = next((hole for hole in member.holes if hole.id == bore.id), None)
    if old is None:
        yield Finding("bore.old", bore.id, f"{member.id} has no old hole of that id")
        return
    if old.diameter_in is None:
        yield Finding("bore.old", bore.id, "an old hole that was not measured is not used again")
        return
    for what, ours, there in (
        ("along", bore.along_in, old.along_in),
        ("across", bore.across_in, old.across_in),
        ("diameter", bore.diameter_in, old.diameter_in),
    ):
        if abs(ours - there) > GRID_SLACK_IN:
            yield Finding(
                "bore.old", bore.id, f"{what} {site.text(ours)}, but the hole in {member.id} has {site.text(there)}"
            )
    if not bore.across_min_in - SAME_IN <= bore.across_in <= bore.across_max_in + SAME_IN:
        yield Finding("bore.band", bore.id, _outside_band(bore, site))
    if bore.id in site.drilled:
        return  # it stays as it is: `_as_built` says what it breaks
    circle = Circle(bore.id, bore.along_in, bore.across_in, bore.diameter_in)
    wood = _wood(circle, member)
    gaps = [min(circle.across_in - ply.across[0], ply.across[1] - circle.across_in) for ply in wood]
    if not wood or not at_least(min(gaps), circle.diameter_in / 2):
        yield Finding("bore.off", bore.id, f"it is not wholly inside the wood of {member.id}")
    elif "section" in member.unmeasured:
        yield Finding("bore.old", bore.id, f"the section of {member.id} is not measured, so its holes are not used")
    elif member.bore not in (Right.FREE, Right.MAKER):
        why = f": {member.reason}" if member.reason else ""
        words = f"{member.id} may not be bored ({member.bore.value}){why}; its old holes are not used either"
        yield Finding("bore.right", bore.id, words)
    elif _has_rules(member):
        for fault in _section(circle, member, site):
            # Its distance from an end is as it is; its size and its edges must keep the rules, as for a new hole.
            severity = "warning" if fault.code == "bore.end" else fault.severity
            yield Finding(fault.code, fault.subject, fault.words, severity)


def _has_rules(member: Member) -> bool:
    """Whether its holes can be held against anything: an engineered member has no rules but its maker's."""
    return member.bore is Right.FREE or (member.bore is Right.MAKER and member.maker is not None)


def _made(bore: Bore, member: Member, site: Site) -> Iterator[Finding]:
    """Return what is wrong with a new hole by itself."""
    tools = site.plan.building.tools
    circle = Circle(bore.id, bore.along_in, bore.across_in, bore.diameter_in)
    yield from _section(circle, member, site)
    if not any(abs(bore.diameter_in - bit) <= GRID_SLACK_IN for bit in tools.bits_in):
        owned = ", ".join(site.text(bit) for bit in tools.bits_in)
        yield Finding("bore.bit", bore.id, f"diameter {site.text(bore.diameter_in)}; the bits owned are {owned}")
    for what, value in (
        ("along", bore.along_in),
        ("across", bore.across_in),
        ("least across", bore.across_min_in),
        ("most across", bore.across_max_in),
    ):
        if abs(value - round(value / tools.grid_in) * tools.grid_in) > GRID_SLACK_IN:
            yield Finding("bore.grid", bore.id, f"{what} {value:.6f} in is not on the grid of {tools.grid_in:.6f} in")
    if not bore.across_min_in - SAME_IN <= bore.across_in <= bore.across_max_in + SAME_IN:
        yield Finding("bore.band", bore.id, _outside_band(bore, site))
    wood = _wood(circle, member)
    for end in (bore.across_min_in, bore.across_max_in):
        for words in _edges(Circle(bore.id, bore.along_in, end, bore.diameter_in), member, wood, site):
            yield Finding("bore.band", bore.id, f"its band reaches {site.text(end)} across: {words}")
        beyond = [face for face in _needed(bore, end, member, wood, site) if face not in bore.nail_plates]
        if beyond and end != bore.across_in:
            words = (
                f"its band reaches {site.text(end)} across, where it needs a nail plate on the {' and '.join(beyond)}"
            )
            yield Finding("bore.band", bore.id, f"{words} ({site.rule('cable.edge')})")
    if bore.pose not in site.plan.building.prices:
        yield Finding("bore.pose", bore.id, f"there is no price for a hole in the pose {bore.pose!r}")
    if not bore.rule.strip():
        yield Finding("bore.rule", bore.id, "no rule is named")
    if not at_least(bore.margin_in, 0.0):
        yield Finding("bore.rule", bore.id, f"its margin is {site.text(bore.margin_in)}: it breaks the rule it names")


def _outside_band(bore: Bore, site: Site) -> str:
    low, high = site.text(bore.across_min_in), site.text(bore.across_max_in)
    return f"aim {site.text(bore.across_in)} across is outside its own band, {low} to {high}"


def _wood(circle: Circle, member: Member) -> list[Ply]:
    """Return the plies that a bit at that place along the member goes into."""
    low, high = circle.along_in - circle.diameter_in / 2, circle.along_in + circle.diameter_in / 2
    return [ply for ply in member.plies if ply.along[0] < high - SAME_IN and ply.along[1] > low + SAME_IN]


def _section(circle: Circle, member: Member, site: Site) -> Iterator[Finding]:
    """Return where a hole breaks the rules of size, edges and ends in any ply, needs a tie, or lies near a bearing."""
    wood = _wood(circle, member)
    if not wood:
        yield Finding("bore.off", circle.id, f"{member.id} has no wood at {site.text(circle.along_in)} along")
        return
    radius = circle.diameter_in / 2
    end = member.maker.end_min_in if member.maker else site.limits["member.end"]
    rule = f"the maker's data, {member.maker.source}" if member.maker else site.rule("member.end")
    gap = min(min(circle.along_in - ply.along[0], ply.along[1] - circle.along_in) for ply in wood) - radius
    if not at_least(gap, end):
        words = f"{site.text(gap)} from the end of a ply of {member.id}, {site.text(end)} needed ({rule})"
        yield Finding("bore.end", circle.id, words)
    for words in _edges(circle, member, wood, site):
        yield Finding("bore.edge", circle.id, words)
    yield from _size(circle, member, wood, site)
    if rule_of(member, site) == "joist" and not member.maker:
        depths = site.limits["joist.bearing_depths"]
        for span in member.bearings:
            gap = max(span[0] - circle.along_in - radius, circle.along_in - radius - span[1])
            if not at_least(gap, depths * member.depth_in):
                where = f"{site.text(gap)} from" if gap > 0 else "over"
                words = f"{where} a bearing of {member.id}, nearer than {depths:g} x its depth"
                rule = site.rule("joist.bearing_depths")
                yield Finding("bore.bearing", circle.id, f"{words} ({rule})", "warning")


def _edges(circle: Circle, member: Member, wood: Iterable[Ply], site: Site) -> Iterator[str]:
    """Return in words where a hole is too near the low or the high edge of a ply."""
    name = f"{rule_of(member, site)}.edge"
    least = member.maker.edge_min_in if member.maker else site.limits[name]
    rule = f"the maker's data, {member.maker.source}" if member.maker else site.rule(name)
    gaps = [min(circle.across_in - ply.across[0], ply.across[1] - circle.across_in) for ply in wood]
    gap = min(gaps, default=math.inf) - circle.diameter_in / 2
    if not at_least(gap, least):
        yield f"{site.text(gap)} from hole edge to the edge of {member.id}, {site.text(least)} needed ({rule})"


def _size(circle: Circle, member: Member, wood: list[Ply], site: Site) -> Iterator[Finding]:
    if member.maker:
        if not at_most(circle.diameter_in, member.maker.diameter_max_in):
            most = site.text(member.maker.diameter_max_in)
            words = f"diameter {site.text(circle.diameter_in)} in {member.id}, at most {most} (the maker's data)"
            yield Finding("bore.size", circle.id, words)
        return
    kind = rule_of(member, site)
    depth = min(ply.across[1] - ply.across[0] for ply in wood)
    name = (
        "plate.tie_share" if kind == "plate" else "joist.hole_share" if kind == "joist" else _stud_share(member, wood)
    )
    share = site.limits[name]
    if at_most(circle.diameter_in, share * depth):
        return
    over = f"diameter {site.text(circle.diameter_in)} is more than {share:.3g} of {member.id}'s {site.text(depth)}"
    if kind != "plate":
        yield Finding("bore.size", circle.id, f"{over} ({site.rule(name)})")
    elif member.role is Role.TOP_PLATE and member.bearing:
        yield Finding("plate.tie", circle.id, f"{over}: it needs a steel tie ({site.rule(name)})", "warning")


def _stud_share(member: Member, wood: list[Ply]) -> str:
    if not member.bearing:
        return "stud.hole_share_nonbearing"
    return "stud.hole_share_doubled" if len(wood) > 1 else "stud.hole_share_bearing"


# --- nail plates and fill --------------------------------------------------------------------------------------------


def _needed(bore: Bore, across: float, member: Member, wood: list[Ply], site: Site) -> list[str]:
    """Return the faces that need a nail plate were the hole at ``across``; a framed corner always wants one inside."""
    radius, least = bore.diameter_in / 2, site.limits["cable.edge"]
    low, high = FACES[rule_of(member, site)]
    faces = []
    if member.corner or any(not at_least(across - radius - ply.across[0], least) for ply in wood):
        faces.append(low)
    if any(not at_least(ply.across[1] - across - radius, least) for ply in wood):
        faces.append(high)
    return faces


def _nail_plates(bore: Bore, member: Member, site: Site) -> Iterator[Finding]:
    wood = _wood(Circle(bore.id, bore.along_in, bore.across_in, bore.diameter_in), member)
    needed = _needed(bore, bore.across_in, member, wood, site)
    if sorted(needed) != sorted(bore.nail_plates):
        has, wants = " and ".join(bore.nail_plates) or "none", " and ".join(needed) or "none"
        words = f"nail plates: {has}; {wants} needed in {member.id} at {site.text(bore.across_in)} across"
        yield Finding("bore.nail_plates", bore.id, f"{words} ({site.rule('cable.edge')})")


def _fill(bore: Bore, member: Member, site: Site) -> Iterator[Finding]:
    old = next((hole for hole in member.holes if hole.id == bore.id), None) if bore.existing else None
    held = old.holds if old else ()
    names = [*(site.cables[name].type for name in bore.cables if name in site.cables), *held]
    unknown = sorted({name for name in names if name not in site.types})
    if unknown:
        yield Finding("bore.fill", bore.id, f"no size is known of {', '.join(unknown)}, so its fill is not known")
        return
    kinds = [site.types[name] for name in names]
    most = cables_per_hole(bore.diameter_in, site)
    if len(kinds) > most:
        yield Finding("bore.fill", bore.id, f"{len(kinds)} cables in {site.text(bore.diameter_in)}, at most {most}")
    together = site.limits["cable.sealed_together"]
    if member.role in PLATES and site.plan.building.insulated != "no" and not at_most(len(kinds), together):
        words = f"{len(kinds)} cables in a hole that will be sealed, at most {together:g} without derating"
        yield Finding("bore.sealed", bore.id, f"{words} ({site.rule('cable.sealed_together')})")
    if kinds:
        diagonal = math.hypot(max(kind.width_in for kind in kinds), sum(kind.thickness_in for kind in kinds))
        share = site.limits["hole.fill_share"]
        if not at_most(diagonal, share * bore.diameter_in):
            words = f"cables of {site.text(diagonal)} over the corners in {site.text(bore.diameter_in)}"
            yield Finding("bore.fill", bore.id, f"{words}, at most {share:g} of it ({site.rule('hole.fill_share')})")


def cables_per_hole(diameter_in: float, site: Site) -> int:
    """Return how many cables a hole may hold: as many as the largest bit no larger than it; below all bits one."""
    allowed = sorted(site.plan.building.tools.per_hole)
    fitting = [count for bit, count in allowed if at_most(bit, diameter_in)]
    return fitting[-1] if fitting else 1


# --- holes and notches in one member ---------------------------------------------------------------------------------


def _neighbours(member: Member, circles: list[Circle], site: Site) -> Iterator[Finding]:
    """Return which new holes of a member are too near another hole or a notch."""
    unknown = site.limits["hole.unknown_diameter"]
    yield from _near(circles, [_circle(hole, hole.diameter_in or unknown) for hole in member.holes], member, site)


def _near(circles: list[Circle], old: list[Circle], member: Member, site: Site) -> Iterator[Finding]:
    """Return which of some holes are too near each other, other ones or a notch."""
    for number, one in enumerate(circles):
        for other in [*circles[number + 1 :], *old]:
            least, rule = _gap_needed(member, max(one.diameter_in, other.diameter_in), site)
            between = math.hypot(one.along_in - other.along_in, one.across_in - other.across_in)
            gap = between - (one.diameter_in + other.diameter_in) / 2
            if not at_least(gap, least):
                words = f"{site.text(gap)} from hole {other.id} in {member.id}, {site.text(least)} needed ({rule})"
                yield Finding("bore.spacing", one.id, words)
        for notch in member.notches:
            yield from _notch(one, notch, member, site)


def _gap_needed(member: Member, larger_in: float, site: Site) -> tuple[float, str]:
    if member.maker:
        return member.maker.spacing_min_in, f"the maker's data, {member.maker.source}"
    if rule_of(member, site) == "joist":
        return site.limits["joist.hole_gap"], site.rule("joist.hole_gap")
    return site.limits["stud.hole_gap_diameters"] * larger_in, site.rule("stud.hole_gap_diameters")


def _notch(one: Circle, notch: Notch, member: Member, site: Site) -> Iterator[Finding]:
    kind, radius = rule_of(member, site), one.diameter_in / 2
    beside = max(notch.along[0] - one.along_in, one.along_in - notch.along[1], 0.0)
    if kind != "joist" and not member.maker:
        if not at_least(beside, radius):
            span = f"{site.text(notch.along[0])} to {site.text(notch.along[1])} along"
            words = f"at the cross-section of a notch in {member.id}, {span}"
            yield Finding("bore.notch", one.id, f"{words} ({site.rule('stud.notch_share_bearing')})")
        return
    bottom = notch.depth_in if notch.edge == "low" else member.depth_in - notch.depth_in
    over = one.across_in - bottom if notch.edge == "low" else bottom - one.across_in
    gap = math.hypot(beside, max(over, 0.0)) - radius
    least = member.maker.spacing_min_in if member.maker else site.limits["joist.notch_gap"]
    rule = f"the maker's data, {member.maker.source}" if member.maker else site.rule("joist.notch_gap")
    if not at_least(gap, least):
        yield Finding(
            "bore.notch", one.id, f"{site.text(gap)} from a notch in {member.id}, {site.text(least)} needed ({rule})"
        )


def _doubled_runs(site: Site) -> Iterator[Finding]:
    """Return the doubled studs that are one too many of a row bored wider than a single stud may be."""
    wide: dict[str, list[str]] = defaultdict(list)
    for bore in site.plan.bores:
        member = site.members.get(bore.member)
        if member is None or not member.bearing or member.maker or rule_of(member, site) != "stud":
            continue
        wood = _wood(Circle(bore.id, bore.along_in, bore.across_in, bore.diameter_in), member)
        if len(wood) < 2:
            continue
        depth = min(ply.across[1] - ply.across[0] for ply in wood)
        if not at_most(bore.diameter_in, site.limits["stud.hole_share_bearing"] * depth):
            wide[member.id].append(bore.id)
    most = int(site.limits["stud.doubled_run"])
    for wall in sorted({site.members[name].assembly for name in wide}):
        host = site.assemblies.get(wall)
        if host is None:
            continue
        run: list[str] = []
        for member in _row(host.u, wall, site):
            run = [*run, member.id] if member.id in wide else []
            if len(run) > most:
                words = f"{', '.join(run)}: {len(run)} successive doubled studs with a hole above a single stud's share"
                yield Finding(
                    "stud.doubled", wide[member.id][0], f"{words}, at most {most} ({site.rule('stud.doubled_run')})"
                )


def _row(u: tuple[float, float, float], wall: str, site: Site) -> list[Member]:
    """Return the studs of a wall by station."""

    def station(member: Member) -> float:
        return sum(p * (o + b * member.thickness_in / 2) for p, o, b in zip(u, member.origin, member.bit, strict=True))

    studs = [m for m in site.plan.building.members if m.assembly == wall and rule_of(m, site) == "stud"]
    return sorted(studs, key=lambda member: (station(member), member.id))


def _old_holes(site: Site) -> Iterator[Finding]:
    """Return which old holes break a rule: nothing can be done about them, so they are warnings."""
    used = {bore.id for bore in site.plan.bores if bore.existing} | site.drilled
    for member in site.plan.building.members:
        if not member.holes or not _has_rules(member):
            continue
        for hole in member.holes:
            if hole.diameter_in is not None and hole.id not in used:
                for fault in _section(_circle(hole, hole.diameter_in), member, site):
                    yield Finding("hole.old", hole.id, f"an old hole: {fault.words}", "warning")


def _circle(hole: Hole, diameter_in: float) -> Circle:
    return Circle(hole.id, hole.along_in, hole.across_in, diameter_in)


def _as_built(site: Site) -> Iterator[Finding]:
    """Return which of the holes that were drilled break a limit, where they are now, and what would mend it."""
    recorded, there = site.drilled, set()
    for member in site.plan.building.members:
        drilled = [_circle(hole, hole.diameter_in) for hole in member.holes if hole.id in recorded and hole.diameter_in]
        there |= {one.id for one in drilled}
        for one in drilled:
            if _has_rules(member):
                yield from (_stays(found, member, site) for found in _section(one, member, site))
            if member.bore not in (Right.FREE, Right.MAKER):
                words = f"{member.id} may not be bored ({member.bore.value})"
                yield _stays(Finding("bore.right", one.id, words), member, site)
        others = [_circle(hole, hole.diameter_in or 0.0) for hole in member.holes if hole.id not in recorded]
        for fault in _near(drilled, others, member, site):
            yield _stays(fault, member, site)
    for name in sorted(recorded - there):
        yield Finding("plan.as_built", name, "it is recorded as drilled, and no member has it")


def _stays(fault: Finding, member: Member, site: Site) -> Finding:
    if fault.code in ("plate.tie", "bore.bearing", "bore.off"):
        return fault
    broken = fault.code.removeprefix("bore.")
    words = f"as built: {fault.words}; it stays as it is. To mend it: {mend(broken, rule_of(member, site))}"
    return Finding("hole.built", fault.subject, words, "warning")

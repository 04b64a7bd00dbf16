"""Box fill worked again from what comes into each box and what is in it (NEC 314.16(B))."""

from __future__ import annotations

from collections.abc import Iterator

from barnloom.model.building import Box
from barnloom.model.electrical.tables import TableError, cable_ground, conductor_volume
from barnloom.model.limits import at_most
from barnloom.model.wiring import BoxType
from barnloom.routing.check.finding import Finding, Site
from barnloom.routing.check.joints import BARE, GROUND
from barnloom.routing.plan import Makeup

SAME_IN3 = 1e-6


def fill_findings(site: Site) -> Iterator[Finding]:
    """Return boxes that are too full or whose sums are wrong; those of which no volume is known once, together."""
    unknown = []
    for makeup in site.makeups.values():
        box = site.boxes.get(makeup.box)
        if box is None or box.kind != "box":
            continue
        yield from _bought(makeup, box, site)
        try:
            wanted = _wanted(makeup, site)
        except TableError as error:
            yield Finding("fill.size", box.id, str(error))
            continue
        if not abs(makeup.fill_in3 - wanted) <= SAME_IN3:
            yield Finding("fill.sum", box.id, f"{makeup.fill_in3:.4g} in3 wanted said, {wanted:.4g} in3 found")
        caution = site.limits["fill.caution"]
        if makeup.volume_in3 <= 0:
            unknown.append(box.id)
        elif not at_most(wanted, makeup.volume_in3):
            words = f"{wanted:.4g} in3 wanted, it has {makeup.volume_in3:.4g} ({site.rule('fill.conductor')})"
            yield Finding("fill.over", box.id, words)
        elif not at_most(wanted, caution * makeup.volume_in3):
            words = f"{wanted / makeup.volume_in3:.0%} full, over {caution:.0%} ({site.rule('fill.caution')})"
            yield Finding("fill.tight", box.id, words, "warning")
    if unknown:
        words = "their volume is not known, so nobody can say whether they are large enough (NEC 314.16)"
        yield Finding("fill.unknown", " ".join(sorted(unknown)), words, "warning")


def _bought(makeup: Makeup, box: Box, site: Site) -> Iterator[Finding]:
    """Return what is wrong with the box and the ring that the plan takes, and with the volume it counts for them."""
    kind, ring = site.box_types.get(makeup.box_type), site.box_types.get(makeup.ring)
    for said, found, what in ((makeup.box_type, kind, "box"), (makeup.ring, ring, "ring")):
        if said and (found is None or found.what != what):
            yield Finding("fill.type", box.id, f"there is no {what} {said!r}")
    for pinned, taken, what in ((box.box_type, makeup.box_type, "box"), (box.ring, makeup.ring, "ring")):
        if pinned and pinned != taken:
            yield Finding("fill.type", box.id, f"the scene pins the {what} {pinned}, the plan takes {taken or 'none'}")
    for found in (kind, ring):
        if found is not None and box.series and found.series != box.series:
            yield Finding("fill.type", box.id, f"{found.id} is of the series {found.series}, not {box.series}")
    volume = (box.volume_in3 or (kind.volume_in3 if kind else 0.0)) + (ring.volume_in3 if ring else 0.0)
    if not abs(makeup.volume_in3 - volume) <= SAME_IN3:
        yield Finding("fill.volume", box.id, f"{makeup.volume_in3:.4g} in3 said, {volume:.4g} in3 found")
    yield from _gangs(box, ring or kind, site)


def _gangs(box: Box, front: BoxType | None, site: Site) -> Iterator[Finding]:
    yokes = sum(device.yokes for device in site.devices_in[box.id])
    if front is not None and yokes > front.gangs:
        yield Finding("fill.gangs", box.id, f"{yokes} devices on yokes, {front.id} takes {front.gangs}")


def _wanted(makeup: Makeup, site: Site) -> float:
    """Return the volume that a box needs (cubic inches). TableError for conductors of a size that the table has not."""
    sizes: dict[str, int] = {}
    of_circuit: dict[str, float] = {}
    """Volume of the largest conductor of each circuit here."""
    grounds: list[float] = []
    insulated: list[float] = []
    for cable in site.cables_at[makeup.box]:
        kind = site.types.get(cable.type)
        if kind is not None and kind.awg:
            sizes[cable.id] = kind.awg
            for name in cable.circuit.split():
                of_circuit[name] = max(of_circuit.get(name, 0.0), conductor_volume(kind.awg))
            for conductor in cable.conductors:
                if conductor.colour == BARE:
                    grounds.append(conductor_volume(cable_ground(kind.awg)))
                else:
                    insulated.append(conductor_volume(kind.awg))
    limits, largest = site.limits, max([*insulated, *grounds], default=0.0)
    total: float = limits["fill.conductor"] * sum(insulated)
    more = max(0.0, len(grounds) - limits["fill.grounds_free"])
    if grounds:
        total += (limits["fill.grounds"] + limits["fill.grounds_more"] * more) * max(grounds)
    types = [kind for kind in (site.box_types.get(makeup.box_type), site.box_types.get(makeup.ring)) if kind]
    # Of a body that is no known box nobody knows where its clamps are: inside is the stricter reading.
    clamps = not makeup.box_type or any(kind.clamps == "inside" for kind in types)
    total += limits["fill.clamps"] * largest * clamps
    total += limits["fill.stud"] * largest * any(kind.stud for kind in types)
    for device in site.devices_in[makeup.box]:
        if device.yokes and device.circuit in of_circuit:
            # The ground's joint has the screw of the box in it, and a box may have the id of the device in it.
            at_it = [
                conductor_volume(sizes[cable])
                for joint in makeup.joints
                if joint.net != GROUND and any(owner == device.id for owner, _ in joint.terminals)
                for cable, _ in joint.ends
                if cable in sizes
            ]
            total += limits["fill.yoke"] * device.yokes * max(at_it, default=of_circuit[device.circuit])
    return total

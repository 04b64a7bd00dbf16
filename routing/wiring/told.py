"""What a person should be told of the wiring that breaks no rule: voltage lost, spaces left, what runs together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from barnloom.model.building import Building
from barnloom.model.electrical.drop import drop_volts
from barnloom.model.electrical.tables import resistance
from barnloom.model.limits import Limits, at_least, at_most, cited
from barnloom.model.wiring import DeviceKind
from barnloom.routing.plan import Cable, CircuitSheet, Makeup, Resized
from barnloom.routing.wiring.entry import misfed_in
from barnloom.routing.wiring.panel import spare_words
from barnloom.routing.wiring.supply import supply_shortfalls


def wiring_warnings(
    building: Building, limits: Limits, circuits: Sequence[CircuitSheet], cables: Sequence[Cable]
) -> tuple[str, ...]:
    """Return warnings of circuits and panels, the worst voltage drop first."""
    return (
        *_drops(building, limits, circuits),
        *_starts(building, limits, cables),
        *_together(building),
        *_wired_directly(building, limits),
        *_screws(building, limits, cables),
        *_surroundings(building),
        *_in_sight(building, cables),
        *_fed_elsewhere(building, cables),
        *_alarms(building),
        *supply_shortfalls(building),
        *(words for panel in building.breakers for words in spare_words(panel, _seats(panel.panel, circuits), limits)),
    )


def stepped_up(building: Building, cables: Sequence[Cable], makeups: Sequence[Makeup]) -> tuple[Resized, ...]:
    """Return cables with more conductors than their circuit's, and boxes that need a ring to hold what is in them."""
    circuits = {circuit.id: circuit.cable for circuit in building.circuits}
    pinned = {rule.cable for rule in building.cable_rules if rule.type}
    rings = {kind.id: kind for kind in building.box_types if kind.what == "ring"}
    found = []
    for cable in cables:
        said = circuits[cable.circuit]
        if said and cable.type != said and cable.id not in pinned:
            nets = ", ".join(one.net for one in cable.conductors if one.net not in ("spare", "ground"))
            found.append(Resized(subject=cable.id, before=said, after=cable.type, because=f"it carries {nets}"))
    for made in makeups:
        ring = rings.get(made.ring)
        if ring is not None and ring.volume_in3:
            words = f"{made.fill_in3:g} in3 of conductors and devices, and no box is filled over 85 % (own caution)"
            after = f"{made.box_type} with {made.ring}, {made.volume_in3:g} in3"
            found.append(Resized(subject=made.box, before="a box alone", after=after, because=words))
    return tuple(found)


def _fed_elsewhere(building: Building, cables: Sequence[Cable]) -> Iterator[str]:
    """Controls that power comes to otherwise than the scene says."""
    said = building.wiring.feed_at
    first, last = ("switch", "light") if said == "switch" else ("light", "switch")
    for control in misfed_in(building, cables, said):
        yield (
            f"{control}: power comes to a {last} of it before any {first} (wiring: {{feed_at: {said}}}); no other tree "
            "was found that pins, phases, boxes and the cables that are sold allow"
        )


def _seats(panel: str, circuits: Sequence[CircuitSheet]) -> Mapping[str, tuple[tuple[int, ...], str]]:
    return {sheet.circuit: (sheet.spaces, sheet.legs) for sheet in circuits if sheet.panel == panel}


def _drops(building: Building, limits: Limits, circuits: Sequence[CircuitSheet]) -> Iterator[str]:
    """Circuits that lose more than is recommended: never a rule (NEC 210.19, informational note)."""
    most = limits["drop.branch"]
    over = [sheet for sheet in circuits if not at_most(sheet.drop_percent / 100, most)]
    if over:
        worst = sorted(over, key=lambda sheet: (-sheet.drop_percent, sheet.circuit))
        said = ", ".join(f"{sheet.circuit} {sheet.drop_percent:.1f} %" for sheet in worst)
        asked = building.wiring.drop_share
        do = (
            f"over {100 * asked:g} % cables are made larger, as far as the ground in a cable that is sold allows "
            "(NEC 250.122(B)), and not where the scene pins them"
        )
        yield (
            f"more than {most:.0%} of the voltage is lost with everything on: {said} (a recommendation and no rule, "
            f"{cited(limits.limit('drop.branch'))}); "
            f"{do if asked else 'wiring: {drop: 3 %} makes cables larger where that is so'}"
        )


def _starts(building: Building, limits: Limits, cables: Sequence[Cable]) -> Iterator[str]:
    """Motors whose starting current makes the voltage dip."""
    sizes = {kind.id: kind.awg for kind in building.cable_types}
    feeding = {(cable.circuit, cable.to_box): cable for cable in cables}
    for device in building.devices:
        box, lost = device.box, 0.0
        while device.starting_a and (cable := feeding.get((device.circuit, box))) is not None:
            if sizes[cable.type]:
                lost += drop_volts(device.starting_a, cable.cut_in / 12, resistance(sizes[cable.type]))
            box = cable.from_box
        if not at_most(lost / device.volts, limits["drop.starting"]):
            yield (
                f"{device.id}: while it starts at {device.starting_a:g} A, {lost / device.volts:.0%} of the voltage is "
                f"lost in its circuit; lamps dip and it may not start ({cited(limits.limit('drop.starting'))})"
            )


def _together(building: Building) -> Iterator[str]:
    """Things that run at the same time and are on one circuit."""
    circuit = {device.id: device.circuit for device in building.devices}
    pairs = {
        (*sorted((device.id, other)), device.circuit)
        for device in building.devices
        for other in device.together
        if circuit.get(other) == device.circuit
    }
    for one, other, name in sorted(pairs):
        yield f"{one} and {other} run together, and both are on {name}: one of them on another circuit is better"


def _wired_directly(building: Building, limits: Limits) -> Iterator[str]:
    """What motors and fixed machines need besides breaker and cable."""
    bare = [
        one.id
        for one in building.devices
        if not one.overload_protected and not at_most(one.horsepower, limits["motor.small_hp"])
    ]
    if bare:
        yield (
            f"{', '.join(bare)}: a breaker guards the cable and not the motor, which needs overload protection of its "
            f"own (say protected: yes where its plate or its starter says so; {cited(limits.limit('motor.small_hp'))})"
        )
    fixed = [one.id for one in building.devices if one.kind in (DeviceKind.MACHINE, DeviceKind.HEATER)]
    if fixed:
        yield (
            f"{', '.join(fixed)}: wired up directly, which needs a switch that parts all of the hot wires, in sight of "
            "what it feeds, or a breaker that locks open (NEC 422.31, 424.19, 430.102(B), from memory)"
        )


def _screws(building: Building, limits: Limits, cables: Sequence[Cable]) -> Iterator[str]:
    """Conductors that are too thick for the screws of a switch or a usual receptacle."""
    sizes = {kind.id: kind.awg for kind in building.cable_types}
    thickest: dict[tuple[str, str], int] = {}
    for cable in cables:
        for box in (cable.from_box, cable.to_box):
            at = (cable.circuit, box)
            thickest[at] = min(thickest.get(at, sizes[cable.type]), sizes[cable.type])
    least, usual = limits.limit("terminal.receptacle_awg"), limits["terminal.receptacle_a"]
    thick = [
        one.id
        for one in building.devices
        if one.kind in (DeviceKind.RECEPTACLE, DeviceKind.SWITCH)
        and at_most(one.rating_a, usual)
        and thickest.get((one.circuit, one.box), 0)
        and not at_least(thickest[one.circuit, one.box], least.value)
    ]
    if thick:
        yield (
            f"{', '.join(thick)}: conductors thicker than {least.value:g} AWG do not go under its screws: join each to "
            f"a short end of 12 AWG with a connector listed for both ({cited(least)})"
        )


def _surroundings(building: Building) -> Iterator[str]:
    around = building.wiring.surroundings
    if around == "dry" or not building.devices:
        return
    yield (
        f"{around}: boxes, connectors and covers are to be listed for damp places, receptacles "
        "weather-resistant behind weatherproof covers; the list of material does not say so of each "
        "(NEC 314.15, 406.9, from memory)"
        + (
            "; in a building for animals no metal that rusts, and an equipotential plane where they stand on concrete "
            "(NEC 547, from memory)"
            if around == "livestock"
            else ""
        )
    )


def _in_sight(building: Building, cables: Sequence[Cable]) -> Iterator[str]:
    """Plain cables that are not behind a lining, where the kind of building allows them only there."""
    if building.wiring.plain_cable != "concealed":
        return
    families = {kind.id: kind.family for kind in building.cable_types}
    lined = {slab.id for slab in building.assemblies if slab.lining != "none"}
    lined |= {member.id for member in building.members if member.assembly in lined}
    open_ones = [
        cable.id
        for cable in cables
        if families[cable.type] == "NM-B"
        and any(track.partition(" ")[0] not in lined for track in cable.tracks if not track.startswith("bore "))
    ]
    if open_ones:
        yield (
            f"{', '.join(open_ones)}: plain cable (NM-B) that is in part not behind a lining, and the answer to "
            "plain_cable is concealed: line it with what holds a fire back for 15 minutes, or answer no (NEC 334.10(3))"
        )


def _alarms(building: Building) -> Iterator[str]:
    """Alarms that cannot set each other off since no cable joins them."""
    alarms = [device for device in building.devices if device.kind is DeviceKind.ALARM]
    circuits = sorted({alarm.circuit for alarm in alarms})
    if len(circuits) > 1:
        yield (
            f"{', '.join(alarm.id for alarm in alarms)}: alarms on {', '.join(circuits)} do not set each other off: "
            "put all of them on one circuit (IRC R314.4, from memory)"
        )

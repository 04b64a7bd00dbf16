"""Joints looked at one by one: every conductor end and every terminal in one of them, nets, colours, grounds, loops."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator

from barnloom.model.wiring import Device, DeviceKind
from barnloom.routing.check.finding import Finding, Site
from barnloom.routing.check.metal import GROUND_BAR, NEUTRAL_BAR, Metal, loads_of, own_protection
from barnloom.routing.plan import Cable, Conductor, Joint, Makeup

COLOURS = {
    2: {"black", "white"},
    3: {"black", "red", "white"},
    4: {"black", "red", "white", "white with a red stripe"},
}
"""Insulation in cables of that many conductors (common practice, no source)."""
BARE, SPARE, GROUND = "bare", "spare", "ground"
TAPES = {"black", "red", "blue"}
"""Colours of tape; white, grey and green mark other things (NEC 200.7(C)(1))."""
ONE_POINT = {"line", "load", GROUND}
THREE_WAY = {"common", "traveler 1", "traveler 2", GROUND}
FOUR_WAY = {"in 1", "in 2", "out 1", "out 2", GROUND}


def is_neutral(net: str) -> bool:
    """Whether a net is a neutral, behind a ground-fault device or not."""
    return net == "neutral" or net.startswith("protected neutral")


def joint_findings(site: Site, metal: Metal) -> Iterator[Finding]:
    """Return what is wrong with the joints of a plan, whatever they do together."""
    yield from _makeups(site)
    for makeup in site.makeups.values():
        yield from _ends(makeup, site)
        yield from _terminals(makeup, site)
        yield from _grounds(makeup)
        for joint in makeup.joints:
            yield from _joint(joint, makeup, site)
    yield from _switch_neutral(site)
    yield from _points(site)
    for cable in site.plan.cables:
        yield from _conductors(cable, site)
    yield from _pieces(metal)
    yield from _returns(site, metal)


def _makeups(site: Site) -> Iterator[Finding]:
    reached = {end for cable in site.plan.cables for end in (cable.from_box, cable.to_box)}
    counts = Counter(makeup.box for makeup in site.plan.makeups)
    for name in sorted(reached & set(site.boxes)):
        if not counts[name]:
            yield Finding("joint.makeup", name, "cables reach it, and the plan does not say how it is made up")
    for name, count in sorted(counts.items()):
        if name not in site.boxes:
            yield Finding("joint.makeup", name, "it is made up, and there is no such box")
        if count > 1:
            yield Finding("joint.makeup", name, f"it is made up {count} times")


# --- what has to be in the joints of a box ---------------------------------------------------------------------------


def _ends(makeup: Makeup, site: Site) -> Iterator[Finding]:
    counts = Counter(end for joint in makeup.joints for end in joint.ends)
    wanted = {(cable.id, conductor.colour) for cable in site.cables_at[makeup.box] for conductor in cable.conductors}
    for cable, colour in sorted(wanted - set(counts)):
        yield Finding("joint.end", makeup.box, f"{colour} of {cable} is in no joint")
    for (cable, colour), count in sorted(counts.items()):
        if (cable, colour) not in wanted:
            yield Finding("joint.end", makeup.box, f"{colour} of {cable} is joined, and does not come in")
        elif count > 1:
            yield Finding("joint.end", makeup.box, f"{colour} of {cable} is in {count} joints")


def _terminals(makeup: Makeup, site: Site) -> Iterator[Finding]:
    """Each terminal of each device once; a panel's bars take any number of screws."""
    counts = Counter(terminal for joint in makeup.joints for terminal in joint.terminals)
    wanted, may = _wanted(makeup, site)
    for owner, name in sorted(wanted - set(counts)):
        yield Finding("joint.terminal", owner, f"its terminal {name!r} is joined to nothing in {makeup.box}")
    for (owner, name), count in sorted(counts.items()):
        if (owner, name) not in wanted | may:
            yield Finding("joint.terminal", owner, f"it has no terminal {name!r} in {makeup.box}")
        elif count > 1 and name not in (NEUTRAL_BAR, GROUND_BAR):
            yield Finding("joint.terminal", owner, f"its terminal {name!r} is in {count} joints of {makeup.box}")


def _wanted(makeup: Makeup, site: Site) -> tuple[set[tuple[str, str]], set[tuple[str, str]]]:
    """Return terminals that have to be joined in a box, and further ones that may be."""
    box = site.boxes.get(makeup.box)
    if box is not None and box.kind == "panel":
        return _panel_terminals(makeup.box, site), {(makeup.box, NEUTRAL_BAR)}
    wanted: set[tuple[str, str]] = set()
    may: set[tuple[str, str]] = set()
    kind = site.box_types.get(makeup.box_type)
    if kind is None:
        may.add((makeup.box, "box"))
    elif kind.material == "metal":
        wanted.add((makeup.box, "box"))
    used = {terminal for joint in makeup.joints for terminal in joint.terminals}
    for device in site.reached(site.devices_in[makeup.box]):
        has = {name for owner, name in used if owner == device.id}
        must, more = _device_terminals(device, has, site)
        wanted |= {(device.id, name) for name in must}
        may |= {(device.id, name) for name in more}
    return wanted, may


def _panel_terminals(panel: str, site: Site) -> set[tuple[str, str]]:
    leave = {name for cable in site.cables_at[panel] if cable.from_box == panel for name in cable.circuit.split()}
    wanted = {(panel, GROUND_BAR)} if leave else set()
    for name in leave & set(site.circuits):
        sheet = site.sheets.get(name)
        two = site.circuits[name].multiwire or (sheet.poles == 2 if sheet else False)
        wanted |= {(panel, f"breaker {name} {pole}") for pole in (1, 2)} if two else {(panel, f"breaker {name}")}
    return wanted


def _device_terminals(device: Device, has: set[str], site: Site) -> tuple[set[str], set[str]]:
    """Return terminals of a device that have to be joined, and further ones that may be; ``has``: those that are."""
    if device.kind is DeviceKind.SWITCH:
        if not (device.control in site.controls and len(site.controls[device.control].points) > 1):
            return ONE_POINT, set()
        return (FOUR_WAY if has & (FOUR_WAY - {GROUND}) else THREE_WAY), set()
    must = {GROUND, *(terminal for load in loads_of(device) for terminal in (load.into, load.out))}
    if device.volts == 240 and device.neutral:
        must.add("neutral")
    if own_protection(device) and not device.half_switched:
        passed_on = {"load hot", "load neutral"}
        return (must | passed_on if has & passed_on else must), set()
    if device.kind is DeviceKind.ALARM:
        alone = sum(other.kind is DeviceKind.ALARM for other in _beside(device, site)) == 1
        leads = must - {GROUND}  # many have three leads and no ground (common practice, no source)
        return (leads, {GROUND, "interconnect"}) if alone else (leads | {"interconnect"}, {GROUND})
    return must, set()


def _beside(device: Device, site: Site) -> list[Device]:
    """Return the devices of a device's circuit that a cable reaches, itself among them."""
    return [other for other in site.reached(site.devices_on[device.circuit]) if other.box in site.makeups]


def _points(site: Site) -> Iterator[Finding]:
    """Return which controls do not have three-way switches at their two ends and four-way ones between."""
    ways: dict[str, list[set[str]]] = defaultdict(list)
    used = [terminal for makeup in site.makeups.values() for joint in makeup.joints for terminal in joint.terminals]
    for control in site.controls.values():
        for point in control.points:
            ways[control.id].append({name for owner, name in used if owner == point})
        three = sum(bool(has & {"common"}) for has in ways[control.id])
        if len(control.points) > 1 and three != 2 and all(ways[control.id]):
            yield Finding("joint.points", control.id, f"{three} three-way switches among its points, 2 wanted")


def _grounds(makeup: Makeup) -> Iterator[Finding]:
    """Return where the grounds of a box are in more than one joint (NEC 250.148), or something else is with them."""
    joints = [joint for joint in makeup.joints if joint.net == GROUND]
    at_bar = all((makeup.box, GROUND_BAR) in joint.terminals for joint in joints)
    if len(joints) > 1 and not at_bar:
        yield Finding("joint.ground", makeup.box, f"its grounds are in {len(joints)} joints apart (NEC 250.148)")
    for joint in makeup.joints:
        grounding = {colour == BARE for _, colour in joint.ends}
        grounding |= {name in (GROUND, "box", GROUND_BAR) for _, name in joint.terminals}
        if (joint.net == GROUND) in {not one for one in grounding}:
            words = f"its joint called {joint.net}: grounds are joined with grounds and nothing else (NEC 250.148)"
            yield Finding("joint.ground", makeup.box, words)


def _switch_neutral(site: Site) -> Iterator[Finding]:
    """Return switches without a neutral in their box, on circuits that have one, where each has to have it."""
    if not site.plan.building.wiring.switch_neutral:
        return
    found = {
        (joint.circuit, box) for box, made in site.makeups.items() for joint in made.joints if is_neutral(joint.net)
    }
    circuits = {circuit for circuit, _ in found}
    for device in site.devices.values():
        here = device.kind is DeviceKind.SWITCH and device.box in site.makeups and device.circuit in circuits
        if here and (device.circuit, device.box) not in found:
            yield Finding("joint.switch_neutral", device.id, f"no neutral in {device.box} (NEC 404.2(C))")


# --- one joint -------------------------------------------------------------------------------------------------------


def _joint(joint: Joint, makeup: Makeup, site: Site) -> Iterator[Finding]:
    for name, colour in joint.ends:
        cable = site.cables.get(name)
        conductor = next((c for c in cable.conductors if c.colour == colour), None) if cable else None
        if cable is None or conductor is None:
            continue
        if conductor.net != joint.net:
            words = f"{colour} of {name} carries {conductor.net}, and is joined as {joint.net}"
            yield Finding("joint.net", makeup.box, words)
        if joint.circuit not in cable.circuit.split() and joint.net not in (GROUND, SPARE):
            words = f"{colour} of {name}, circuit {cable.circuit}, is in a joint of circuit {joint.circuit!r}"
            yield Finding("joint.circuits", makeup.box, words)
    for owner, name in joint.terminals:
        device = site.devices.get(owner)
        if device is not None and joint.net != GROUND and device.circuit != joint.circuit:
            words = f"{name} of {owner}, circuit {device.circuit}, is in a joint of circuit {joint.circuit!r}"
            yield Finding("joint.circuits", makeup.box, words)
    many = len(joint.ends) + len(joint.terminals)
    if joint.net == SPARE and (many > 1 or joint.terminals):
        yield Finding("joint.spare", makeup.box, "a spare conductor is joined to something; it is capped alone")
    elif many < 2 and not _may_end(joint, makeup, site):
        what = [f"{colour} of {name}" for name, colour in joint.ends]
        what += [f"{name} of {owner}" for owner, name in joint.terminals]
        yield Finding("joint.alone", makeup.box, f"{' '.join(what) or 'a joint of ' + joint.net} is joined to nothing")


def _may_end(joint: Joint, makeup: Makeup, site: Site) -> bool:
    """Whether a joint may have one thing in it: a neutral kept at a switch, a circuit's tail, a side not used."""
    if joint.ends:
        inside = site.reached(site.devices_in[makeup.box])
        for_switch = is_neutral(joint.net) and any(device.kind is DeviceKind.SWITCH for device in inside)
        own = [device for device in inside if device.circuit == joint.circuit]
        cables = {name for other in makeup.joints if other.circuit == joint.circuit for name, _ in other.ends}
        return joint.net in (SPARE, GROUND) or for_switch or (not own and len(cables) == 1)
    return bool(joint.terminals) and joint.terminals[0][1] in ("load hot", "load neutral", "interconnect")


# --- the conductors of a cable ---------------------------------------------------------------------------------------


def _conductors(cable: Cable, site: Site) -> Iterator[Finding]:
    kind = site.types.get(cable.type)
    colours = [conductor.colour for conductor in cable.conductors]
    insulated = [colour for colour in colours if colour != BARE]
    if kind is not None and kind.conductors and len(insulated) != kind.conductors:
        words = f"{cable.type} has {kind.conductors} insulated conductors, the plan uses {len(insulated)}"
        yield Finding("wire.count", cable.id, words)
    if colours.count(BARE) != 1:
        yield Finding("wire.count", cable.id, f"{colours.count(BARE)} bare conductors, 1 wanted")
    wanted = COLOURS.get(len(insulated))
    if len(set(colours)) != len(colours) or (wanted is not None and set(insulated) != wanted):
        words = f"colours {', '.join(insulated)}; a cable of {len(insulated)} has {', '.join(sorted(wanted or ()))}"
        yield Finding("wire.colour", cable.id, words)
    for conductor in cable.conductors:
        yield from _colour(conductor, cable)


def _colour(conductor: Conductor, cable: Cable) -> Iterator[Finding]:
    white, neutral = conductor.colour.startswith("white"), is_neutral(conductor.net)
    if (conductor.colour == BARE) != (conductor.net == GROUND):
        yield Finding("wire.colour", cable.id, f"{conductor.colour} carries {conductor.net} (NEC 250.119)")
    elif neutral and not white:
        yield Finding("wire.white", cable.id, f"{conductor.colour} carries {conductor.net} (NEC 200.6)")
    elif white and not neutral and conductor.net != SPARE and conductor.marked not in TAPES:
        how = f"marked {conductor.marked}" if conductor.marked else "not marked"
        yield Finding("wire.white", cable.id, f"{conductor.colour} carries {conductor.net}, {how} (NEC 200.7(C)(1))")
    elif conductor.marked and (not white or neutral):
        yield Finding("wire.white", cable.id, f"{conductor.colour} carries {conductor.net}: no mark wanted (NEC 200.7)")


# --- pieces of metal -------------------------------------------------------------------------------------------------


def _pieces(metal: Metal) -> Iterator[Finding]:
    """Return loops, nets that are not one piece, and pieces that two circuits share; the bars join on their own."""
    for place in metal.loops:
        wire = metal.wires[place]
        if wire.colour != BARE:
            words = f"{wire.colour} closes a loop: its two ends are joined without it"
            yield Finding("joint.loop", wire.cable, words)
    parts: dict[tuple[str, str], set[int]] = defaultdict(set)
    circuits: dict[int, set[str]] = defaultdict(set)
    at_bar = {metal.pieces[node] for node in metal.bars[NEUTRAL_BAR]}
    for node, piece in zip(metal.nodes, metal.pieces, strict=True):
        if node.net not in (GROUND, SPARE):
            parts[node.circuit, node.net].add(-1 if piece in at_bar else piece)
            circuits[piece].add(node.circuit)
    for (circuit, net), found in sorted(parts.items()):
        if len(found) > 1:
            yield Finding("joint.parts", circuit, f"its {net} is in {len(found)} pieces")
    for piece, names in sorted(circuits.items()):
        if len(names) > 1:
            words = f"circuits {' and '.join(sorted(names))} are one piece of metal here"
            yield Finding("joint.circuits", metal.nodes[piece].box, words)


def _returns(site: Site, metal: Metal) -> Iterator[Finding]:
    """
    Return where a white conductor goes from a switch to what it switches: it may be the supply to one alone.

    One with a stripe may, where all others of its cable go from switches too or are neutral: that is no switch loop.
    """
    switched = {
        metal.pieces[node]
        for device in site.devices.values()
        for load in loads_of(device)
        for node in [metal.terminals.get((device.id, load.into))]
        if load.control and node is not None
    }
    supplied = {
        wire.cable
        for wire in metal.wires
        if wire.colour != BARE
        for net in [metal.nodes[wire.near].net]
        if metal.pieces[wire.near] not in switched and net != SPARE and not is_neutral(net)
    }
    for wire in metal.wires:
        loop = wire.colour == "white" or wire.cable in supplied
        if metal.pieces[wire.near] in switched and wire.colour.startswith("white") and loop:
            words = f"{wire.colour} is the way from a switch to what it switches (NEC 200.7(C)(1))"
            yield Finding("wire.return", wire.cable, words)

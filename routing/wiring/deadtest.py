"""What a cheap meter must read before power comes on: pairs of places, from a plan's joints and devices alone.

As it is tested: the circuit's breaker is off and its wires, the neutral too, are off their terminals at the panel
(neutral and ground meet where the supply begins, so a white on its bar would always read joined to the ground); lamps
are out, plugs are out, what is wired up directly is off or not connected yet; a ground-fault device is reset. "Joined"
is a reading near 0 ohm, "open" is none.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product

from barnloom.model.wiring import Device
from barnloom.routing.plan import Joint, Plan
from barnloom.routing.store import natural_key
from barnloom.routing.wiring.probing import (
    ALL_POSITIONS_OF,
    ANY,
    Place,
    Positions,
    Work,
    end_words,
    follows,
    held_together,
    places_of,
    terminal_words,
)

JOINED, OPEN = "joined", "open"
_ORDER = ("ground", "neutral", "protected neutral", "line", "protected line", "switched", "traveler", "interconnect")
_RETURN = "between two boxes: a long lead, or join this one to the bare at {a} and read it against the bare here"
_RETURN_OF_GROUND = (
    "between two boxes: a long lead, or join another wire of the circuit to the bare at {a} and read the two here"
)
_AS_TESTED = "breaker off, its wires and the neutral off their terminals, lamps and plugs out"
_BOTH_AS_TESTED = "both breakers off, wires and neutrals of both off their terminals, lamps and plugs out"
_EACH_WITH_EACH = "each way of one control with each way of the others"
_EITHER_WAY = (
    "such a switch does not say which is position 1: turn one so that the row with all in position 1 reads joined"
)
_AS_NEW = "a new ground-fault device comes tripped, and resets only with power (from memory): then open is right"


@dataclass(frozen=True, slots=True, kw_only=True)
class DeadTest:
    """One reading: between which two conductors or terminals, in which positions, and what it must be."""

    circuit: str
    box_a: str
    conductor_a: str
    box_b: str
    conductor_b: str
    positions: str
    expected: str
    """"joined" or "open"."""
    why: str


def dead_tests(plan: Plan) -> tuple[DeadTest, ...]:
    """
    Readings in the order of one walk: at the panels, from box to box, at the panels once more.

    At a panel: circuit by circuit, then circuit against circuit. At every box: ground, neutral, hot, what follows a
    switch, travelers, interconnect. Of what follows one control the first on the walk is read in each position of its
    switches, the others against that one.
    """
    work = Work(plan)
    rows = [row for circuit in work.circuits for row in _at_the_panel(work, circuit)]
    rows += [row for one, other in combinations(work.circuits, 2) for row in _apart(work, one, other)]
    for place, box in enumerate(work.walk):
        rows += _in_a_box(work, box, work.walk[:place])
    for circuit in work.circuits:
        rows += _at_the_end(work, circuit)
    return tuple(rows)


def _row(
    work: Work, circuit: str, a: Place, b: Place, positions: Positions, why: str, *, way_back: str = _RETURN
) -> DeadTest:
    """One reading; where only a reset ground-fault device joins the two, its position is named."""
    joined = work.network.joined(a.metal, b.metal, positions)
    through = [
        guard
        for guard, its in work.guards.items()
        if joined and its in circuit.split() and not work.network.joined(a.metal, b.metal, {**positions, guard: 1})
    ]
    shown = {**positions, **dict.fromkeys(through, 0)}
    notes = [why, *([way_back.format(a=a.box)] if a.box != b.box else []), *([_AS_NEW] if through else [])]
    return DeadTest(
        circuit=circuit,
        box_a=a.box,
        conductor_a=a.words,
        box_b=b.box,
        conductor_b=b.words,
        positions=work.words(shown),
        expected=JOINED if joined else OPEN,
        why="; ".join(notes),
    )


def _at_the_panel(work: Work, circuit: str) -> Iterator[DeadTest]:
    """Nothing of a circuit may touch anything else of it, whatever its switches do."""
    hots, neutrals, grounds = (work.at_panel(circuit, name) for name in ("breaker", "neutral bar", "ground bar"))
    pairs = [(hot, neutral, "no short from hot to neutral") for hot in hots for neutral in neutrals]
    pairs += [(hot, ground, "no hot touches metal or ground") for hot in hots for ground in grounds]
    pairs += [
        (neutral, ground, "neutral and ground meet nowhere in this building")
        for neutral in neutrals
        for ground in grounds
    ]
    pairs += [(one, other, "no short from line to line") for one, other in zip(hots, hots[1:], strict=False)]
    for a, b, why in pairs:
        yield from _alike(work, circuit, a, b, work.controls_of(circuit), f"{why}; {_AS_TESTED}")
    yield from _on_the_bar(work, circuit)


def _on_the_bar(work: Work, circuit: str) -> Iterator[DeadTest]:
    """Every bare of a circuit is on the ground bar: all that is grounded further on hangs on it."""
    panel = work.panels[circuit]
    for joint in work.joints.get(panel, ()):
        own = [end for end in joint.ends if joint.net == "ground" and circuit in work.carried[end[0]]]
        bars = [terminal for terminal in joint.terminals if terminal[1].startswith("ground bar")]
        for end, bar in product(own, bars):
            a, b = Place(panel, (panel, *end), end_words(*end)), Place(panel, bar, terminal_words(*bar))
            yield _row(work, circuit, a, b, {}, "the bare is on the ground bar")


def _apart(work: Work, one: str, other: str) -> Iterator[DeadTest]:
    """
    Two circuits are joined nowhere but at their grounds.

    All of the one against all of the other is one reading, unless some of it would read joined: then that is told.
    Where they share a box, what follows a switch of the one has to be apart from what follows one of the other too.
    That wants both on at once, so of the switches only those whose wires are there are turned.
    """
    shared = work.shared(one, other)
    if not shared and work.panels[one] != work.panels[other]:
        return
    turned = [work.controls_in(circuit, shared) if shared else work.controls_of(circuit) for circuit in (one, other)]
    why = f"two circuits{f' meet in {shared[0]} and' if shared else ''} are joined nowhere; {_BOTH_AS_TESTED}"
    of_one, of_other = (
        [place for name in ("breaker", "neutral bar") for place in work.at_panel(circuit, name)]
        for circuit in (one, other)
    )
    controls, together = [control for own in turned for control in own], bool(shared) and all(turned)
    rows = [
        row
        for a, b in product(of_one, of_other)
        for row in _alike(work, f"{one} {other}", a, b, controls, why, each_with_each=together)
    ]
    if any(row.expected == JOINED for row in rows):
        yield from rows
    elif rows:
        a, b = (held_together([place.words for place in own]) for own in (of_one, of_other))
        yield replace(rows[0], conductor_a=a, conductor_b=b)


def _alike(
    work: Work,
    circuit: str,
    a: Place,
    b: Place,
    controls: Sequence[str],
    why: str,
    *,
    each_with_each: bool = False,
) -> Iterator[DeadTest]:
    """
    One row where the reading is the same in all positions of these controls, else one for each.

    Controls are turned one after the other, or ``each_with_each``.
    """
    ways = [work.combinations(control) for control in controls]
    if each_with_each:
        why = f"{why}; {_EACH_WITH_EACH}"
        tried = [{name: at for way in chosen for name, at in way.items()} for chosen in product(*ways)]
    else:
        tried = [positions for own in ways for positions in own] or [{}]
    rows = [_row(work, circuit, a, b, positions, why) for positions in tried]
    if len({row.expected for row in rows}) > 1:
        yield from rows
        return
    said = [_ways(work, control) for control in controls]
    resets = [f"{guard} reset" for guard, its in work.guards.items() if its in circuit.split()]
    yield replace(rows[0], positions="; ".join([*said, *resets]) or ANY)


def _ways(work: Work, control: str) -> str:
    """Say which positions of a control to try."""
    points, count = work.points[control], len(work.combinations(control))
    if len(points) == 1:
        return f"{points[0]} {' and '.join(work.network.position_words[points[0]])}"
    names = f"{', '.join(points[:-1])} and {points[-1]}"
    if len(points) <= ALL_POSITIONS_OF:
        return f"{names} in all {count} ways"
    return f"{names}: all in position 1, then each alone in position 2"


def _in_a_box(work: Work, box: str, before: Sequence[str]) -> Iterator[DeadTest]:
    for joint in sorted(work.joints[box], key=lambda joint: (_rank(joint.net), natural_key(joint.circuit), joint.net)):
        if joint.net == "ground":
            yield from _grounded(work, box, joint)
        elif joint.net.startswith("traveler"):
            yield from _traveler(work, box, joint, before)
        elif joint.net == "interconnect":
            yield from _interconnect(work, box, joint, before)
        elif joint.net != "spare":
            yield from _fed(work, box, joint)
    for device in work.devices.values():
        if device.box == box:
            yield from _in_a_device(work, device)


def _grounded(work: Work, box: str, joint: Joint) -> Iterator[DeadTest]:
    """Every metal part of a box is joined to the ground bar."""
    circuits = [circuit for circuit in work.boxes[box].circuits if circuit in work.panels]
    bars = [place for circuit in circuits for place in work.at_panel(circuit, "ground bar")]
    places = places_of(box, joint)
    if bars and places:
        here = Place(box, places[0].metal, " and ".join(place.words for place in places))
        why = "every metal part is grounded"
        yield _row(work, " ".join(circuits), bars[0], here, {}, why, way_back=_RETURN_OF_GROUND)


def _fed(work: Work, box: str, joint: Joint) -> Iterator[DeadTest]:
    """Neutrals and lines are joined to the panel's; a switched line is where its switches say so."""
    kind = "neutral bar" if "neutral" in joint.net else "breaker"
    ends = work.at_panel(joint.circuit, kind)
    if not ends:
        return
    if joint.net.startswith("switched "):
        yield from _switched(work, box, joint, ends)
        return
    for place in places_of(box, joint):
        near = next((a for a in ends if work.network.joined(a.metal, place.metal, {})), ends[0])
        # Tripped, a ground-fault device shows whether the feed is on its LINE side.
        tripped = {place.metal[0]: 1} if place.metal[-1] in ("line hot", "line neutral") else {}
        yield _row(work, joint.circuit, near, place, tripped, _why_fed(joint.net))


def _switched(work: Work, box: str, joint: Joint, ends: Sequence[Place]) -> Iterator[DeadTest]:
    """
    The first on the walk that follows a control, in each position of its switches; any other, against that one.

    Others are on while it is off, and off while it is on, so that none of them does what it should. What hangs on a
    line that is always hot, or on another control, reads open against the first one while that is off.
    """
    control = joint.net.removeprefix("switched ")
    tried, first = work.combinations(control), work.first.get(control)
    why = f"follows {control} and nothing else"
    for place in places_of(box, joint):
        if first is None or not follows(work, place):
            continue
        near = next((a for a in ends if any(work.network.joined(a.metal, place.metal, at) for at in tried)), ends[0])
        if place != first:
            off = next((at for at in tried if not work.network.joined(near.metal, first.metal, at)), tried[0])
            yield _row(work, joint.circuit, first, place, off, f"follows {control} as {first.words} does")
            continue
        how = f"{why}; {_EITHER_WAY}" if len(work.points[control]) > 1 else why
        for positions in tried:
            joined = work.network.joined(near.metal, place.metal, positions)
            for others in work.others(control, on=not joined):
                yield _row(work, joint.circuit, near, place, {**positions, **others}, how)


def _why_fed(net: str) -> str:
    if net.startswith("protected"):
        return f"fed through the ground-fault device {net.rpartition(' ')[2]}"
    return "the neutral is never switched" if net == "neutral" else "always fed"


def _traveler(work: Work, box: str, joint: Joint, before: Sequence[str]) -> Iterator[DeadTest]:
    """At the second of its two switches a traveler is joined to the first; at the first, to its twin it is not."""
    for here in _at_switch(work, [box], joint.circuit, joint.net):
        for there in _at_switch(work, before, joint.circuit, joint.net):
            yield _row(work, joint.circuit, there, here, {}, "a traveler goes from switch to switch unbroken")
        if joint.net.endswith("a"):
            for there in _at_switch(work, [box], joint.circuit, f"{joint.net[:-1]}b"):
                controls = [joint.net.split(" ")[1]]
                yield from _alike(work, joint.circuit, here, there, controls, "the two travelers touch nowhere")


def _at_switch(work: Work, boxes: Sequence[str], circuit: str, net: str) -> list[Place]:
    """Terminals of switches on a net in these boxes."""
    joints = [(box, joint) for box in boxes for joint in work.joints[box]]
    return [
        Place(box, terminal, terminal_words(*terminal))
        for box, joint in joints
        if (joint.circuit, joint.net) == (circuit, net)
        for terminal in joint.terminals
    ]


def _interconnect(work: Work, box: str, joint: Joint, before: Sequence[str]) -> Iterator[DeadTest]:
    """From the first alarm on the walk to every other; there, to nothing else."""
    [here, *_] = places_of(box, joint)
    met = [(other, one) for other in before for one in work.joints[other]]
    for other, one in met:
        if (one.circuit, one.net) == (joint.circuit, joint.net):
            [there, *_] = places_of(other, one)
            yield _row(work, joint.circuit, there, here, {}, "an alarm sets off the others")
            return
    for one in work.joints[box]:
        if one.circuit in (joint.circuit, "") and one is not joint and one.net != "spare":
            [there, *_] = places_of(box, one)
            yield _row(work, joint.circuit, here, there, {}, "the interconnect is a net of its own")


def _in_a_device(work: Work, device: Device) -> Iterator[DeadTest]:
    """Line to line of what runs on 240 V; both sides of a ground-fault device that has tripped."""
    pairs: list[tuple[str, str, Positions, str]] = [("hot 1", "hot 2", {}, "no short from line to line at the device")]
    if device.id in work.guards:
        tripped, why = {device.id: 1}, "what it protects hangs on its LOAD side alone"
        pairs += [("line hot", "load hot", tripped, why), ("line neutral", "load neutral", tripped, why)]
    own = {name for joint in work.joints.get(device.box, ()) for owner, name in joint.terminals if owner == device.id}
    for one, other, positions, why in pairs:
        if own.issuperset((one, other)):
            a, b = (Place(device.box, (device.id, name), terminal_words(device.id, name)) for name in (one, other))
            yield _row(work, device.circuit, a, b, positions, why)


def _at_the_end(work: Work, circuit: str) -> Iterator[DeadTest]:
    """The walk may have left a test wire behind."""
    for hot in work.at_panel(circuit, "breaker"):
        for ground in work.at_panel(circuit, "ground bar"):
            why = "once more, before the wires go back: nothing joined for a test was left so"
            yield from _alike(work, circuit, hot, ground, work.controls_of(circuit), why)


def _rank(net: str) -> int:
    return max((n for n, word in enumerate(_ORDER) if net == word or net.startswith(f"{word} ")), default=len(_ORDER))

"""How a joint is made: as one sentence, and in which order the joints of a box are made up and folded."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from barnloom.model.wiring import Device, DeviceKind
from barnloom.routing.plan import Joint
from barnloom.viewer.wires import listed

SCREWED = frozenset({DeviceKind.SWITCH, DeviceKind.RECEPTACLE, DeviceKind.OPENER})
"""Kinds with screws, which a pigtail reaches; the others have leads, which are joined like wires."""
_SCREWS = {
    "hot": "hot (brass) screw",
    "hot top": "upper hot (brass) screw",
    "hot bottom": "lower hot (brass) screw",
    "hot 1": "first hot screw",
    "hot 2": "second hot screw",
    "neutral": "neutral (silver) screw",
    "line hot": "hot screw marked LINE",
    "line neutral": "neutral screw marked LINE",
    "load hot": "hot screw marked LOAD",
    "load neutral": "neutral screw marked LOAD",
    "line": "first brass screw",
    "load": "second brass screw",
    "common": "common screw",
    "traveler 1": "first traveler screw",
    "traveler 2": "second traveler screw",
    "in 1": "first IN screw",
    "in 2": "second IN screw",
    "out 1": "first OUT screw",
    "out 2": "second OUT screw",
    "ground": "green screw",
}
_LEADS = {"hot 1": "first hot lead", "hot 2": "second hot lead"}
_FIRST = ("ground", "neutral", "protected neutral")
"""What is made up and folded first; the rest after it."""


def folding_order(joints: Sequence[Joint]) -> list[Joint]:
    """Joints in the order in which they are made up and folded: grounds, neutrals, the rest, spares last."""

    def rank(joint: Joint) -> tuple[int, str, str]:
        kinds = [n for n, net in enumerate(_FIRST) if joint.net == net or joint.net.startswith(f"{net} ")]
        return kinds[0] if kinds else len(_FIRST) + (joint.net == "spare"), joint.circuit, joint.net

    return sorted(joints, key=rank)


def joint_sentence(
    joint: Joint,
    devices: Sequence[Device],
    tape: Mapping[tuple[str, str], str],
    later: Mapping[str, int] = MappingProxyType({}),
) -> str:
    """
    Say one joint as one sentence.

    Parameters
    ----------
    joint : Joint
    devices : sequence of Device
        Those of the box.
    tape : mapping of (cable id, colour) to str
        Colour of the tape on a conductor, empty for none.
    later : mapping of cable id to int
        Phase of the cables that come after the box itself.

    Examples
    --------
    >>> switch = Device(id="SW1", box="SW1", kind=DeviceKind.SWITCH, circuit="LIGHTS")
    >>> joint = Joint(
    ...     net="line",
    ...     circuit="LIGHTS",
    ...     ends=(("LIGHTS.G1", "black"), ("LIGHTS.SW2", "black")),
    ...     terminals=(("SW1", "common"),),
    ... )
    >>> joint_sentence(joint, [switch], {})
    'Join the black of LIGHTS.G1 and the black of LIGHTS.SW2, with a pigtail to the common screw of the switch.'
    """
    ends = []
    for cable, colour in joint.ends:
        notes = [f"taped {tape[cable, colour]}"] if tape.get((cable, colour)) else []
        notes += [f"phase {later[cable]}"] if cable in later else []
        ends.append(f"the {colour} of {cable}" + (f" ({', '.join(notes)})" if notes else ""))
    screws: list[str] = []
    leads: list[str] = []
    for owner, name in joint.terminals:
        words, screwed = _terminal(owner, name, devices)
        (screws if screwed else leads).append(words)
    wires = [*ends, *leads]
    if not wires:
        return f"Link {listed(screws)} with a short wire." if len(screws) > 1 else f"Leave {listed(screws)} empty."
    if len(wires) == 1 and not screws:
        return f"Cap {wires[0]}; nothing else goes with it here."
    if len(wires) == 1 and len(screws) == 1:
        return f"Put {wires[0]} on {screws[0]}."
    pigtails = f"{'a pigtail' if len(screws) == 1 else 'pigtails'} to {listed(screws)}" if screws else ""
    if len(wires) == 1:
        return f"Join {wires[0]} and {pigtails}."
    return f"Join {listed(wires)}{f', with {pigtails}' if pigtails else ''}."


def _terminal(owner: str, name: str, devices: Sequence[Device]) -> tuple[str, bool]:
    """A terminal in words, and whether it is a screw."""
    if name == "box":
        return "the ground screw of the box", True
    device = next((device for device in devices if device.id == owner), None)
    if device is None:
        return f"the {name} of {owner}", True
    alike = sum(other.kind is device.kind for other in devices)
    named = f"the {device.kind.value}" if alike == 1 else f"the {device.kind.value} {device.id}"
    if device.kind in SCREWED:
        return f"the {_SCREWS.get(name, f'{name} screw')} of {named}", True
    return f"the {_LEADS.get(name, f'{name} lead')} of {named}", False

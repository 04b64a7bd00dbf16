"""How the wires of a joint come together: how many ends of which size its connectors take."""

from __future__ import annotations

from collections.abc import Mapping

from barnloom.model.wiring import Device, DeviceKind
from barnloom.routing.plan import CircuitSheet, Joint

LEADS = frozenset({DeviceKind.LIGHT, DeviceKind.HEATER, DeviceKind.MACHINE, DeviceKind.ALARM})
"""Kinds that come with wires of their own instead of screws: one cable end and such a wire want a connector."""
USUAL_AWG = 12
"""Size of the conductors of a cable that does not say it (own caution)."""


def terminals_of(joint: Joint, devices: Mapping[str, Device]) -> tuple[int, int, int]:
    """
    Count a joint's terminals: ground screws of the box, which come with a pigtail; screws of devices; leads of devices.

    Parameters
    ----------
    joint : Joint
    devices : mapping of device id to Device
    """
    own = sum(terminal == "box" for _, terminal in joint.terminals)
    leads = sum(
        terminal != "box" and name in devices and devices[name].kind in LEADS for name, terminal in joint.terminals
    )
    return own, len(joint.terminals) - own - leads, leads


def connected_sizes(joint: Joint, devices: Mapping[str, Device], awg: Mapping[str, int]) -> list[int]:
    """
    Sizes (AWG) of the wires that a connector has to take in a joint of a box; none where there is nothing to connect.

    Every terminal hangs on a wire of its own, as thick as the thickest that comes in; only a single wire goes straight
    to a single screw. An end that is left over is capped.

    Parameters
    ----------
    joint : Joint
    devices : mapping of device id to Device
    awg : mapping of cable id to int

    Examples
    --------
    >>> whites = (("C.A", "white"), ("C.B", "white"))
    >>> joint = Joint(net="neutral", circuit="C", ends=whites, terminals=(("A", "neutral"),))
    >>> connected_sizes(joint, {}, {"C.A": 12, "C.B": 14})
    [12, 14, 12]
    """
    sizes = [awg[cable] for cable, _ in joint.ends]
    _, _, leads = terminals_of(joint, devices)
    if not sizes or len(sizes) + leads == len(joint.terminals) == 1:
        return []
    return sizes + [min(sizes)] * len(joint.terminals)


def on_breaker(joint: Joint, sheet: CircuitSheet | None) -> bool:
    """
    Whether a joint of a panel is made at a terminal of its breaker, not on a bar.

    A breaker that protects against faults takes the neutral too. (Common practice, no source.)
    """
    protective = sheet is not None and sheet.breaker != "plain"
    return any(name.startswith("breaker ") or (name == "neutral bar" and protective) for _, name in joint.terminals)

"""Voltage drop along a cable: one formula, and three ways to a conductor's ohms.

Take ``tables.resistance`` for cable; ``mil_ohms`` and ``effective_ohms`` are the two other ways that are taught.
"""

from __future__ import annotations

import math

from barnloom.model.electrical.tables import Size, circular_mils, impedance


def drop_volts(amps: float, feet_one_way: float, ohms: float) -> float:
    """
    Voltage drop (V) of a single-phase circuit, out and back: 2 I R L / 1000.

    Parameters
    ----------
    amps : float
        Current in the conductors.
    feet_one_way : float
        Length of the cable.
    ohms : float
        Of one conductor, ohm per 1000 ft.

    Examples
    --------
    >>> from barnloom.model.electrical.tables import resistance
    >>> round(drop_volts(16, 100, resistance(12)), 2)
    6.18
    """
    return 2 * amps * ohms * feet_one_way / 1000


def mil_ohms(awg: Size, constant: float) -> float:
    """Ohms per 1000 ft by the constant method: a constant (ohm circular mils per foot, about 12.9) over the area."""
    return 1000 * constant / circular_mils(awg)


def effective_ohms(awg: Size, power_factor: float = 0.8) -> float:
    """
    Ohms per 1000 ft that count at a power factor: R cos + X sin (UFC 3-520-01, B-2; 0.8 where it is not known).

    The code's own column of this is rounded and cannot be worked again from its rounded R and X.
    """
    ohms = impedance(awg)
    return ohms.real * power_factor + ohms.imag * math.sqrt(1 - power_factor**2)

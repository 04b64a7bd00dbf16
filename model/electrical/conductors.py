"""Which conductor a circuit needs: ampacity of cable, the limits of its breaker, and the ground that grows with it."""

from __future__ import annotations

from collections.abc import Mapping

from barnloom.model.electrical.tables import (
    Size,
    ampacity,
    cable_ground,
    circular_mils,
    grounding_awg,
    least_size,
    next_breaker,
)
from barnloom.model.limits import at_least, at_most

CABLE_SIZES = (14, 12, 10, 8, 6)
"""Sizes of branch-circuit cable, thin to thick."""


def cable_ampacity(awg: Size, factor: float = 1.0) -> float:
    """
    Ampacity (A) of sheathed cable: adjusted from the 90 C column, never above the 60 C one (NEC 334.80, 340.80).

    That the 90 C column may be the start for UF-B too is from memory.

    Parameters
    ----------
    awg : int or str
        Size.
    factor : float
        Product of what bundling and ambient temperature leave, 0 to 1.

    Examples
    --------
    >>> cable_ampacity(12), cable_ampacity(12, 0.7), cable_ampacity(12, 0.5)
    (20.0, 20.0, 15.0)
    """
    return min(ampacity(awg, 90) * factor, ampacity(awg, 60))


def breaker_most(awg: Size, *, factor: float = 1.0, one_receptacle_or_fixed: bool = False) -> float:
    """
    Largest breaker (A) that guards a conductor by its ampacity in cable (NEC 240.4).

    The small-conductor limits (240.4(D)) are kept by that: they are the 60 C column of 14, 12 and 10 AWG.
    With ``one_receptacle_or_fixed`` the standard size above an ampacity that is none itself will do (240.4(B)): never
    on a circuit of several receptacles for cord and plug.

    Examples
    --------
    >>> breaker_most(6), breaker_most(6, one_receptacle_or_fixed=True), breaker_most(10, factor=0.7)
    (55.0, 60.0, 28.0)
    """
    carried = cable_ampacity(awg, factor)
    return next_breaker(carried) if one_receptacle_or_fixed else carried


def least_awg(
    breaker_a: float,
    load_a: float,
    *,
    lasting_a: float | None = None,
    factor: float = 1.0,
    one_receptacle_or_fixed: bool = False,
    motor: bool = False,
) -> int | None:
    """
    Smallest size of cable (AWG, 14 to 6) for a breaker and a load; None if none will do.

    Parameters
    ----------
    breaker_a : float
        The breaker, A.
    load_a : float
        What breaker and conductor are sized for, A (``loads.sizing_a``). It is asked of the 60 C column before any
        factor (NEC 210.19(A)(1)).
    lasting_a : float, optional
        What the conductor carries under its factor, A (``loads.lasting_a``); as ``load_a`` if left out.
    factor : float
        What bundling and ambient temperature leave of the ampacity, 0 to 1.
    one_receptacle_or_fixed : bool
        No more than one receptacle for cord and plug: the next standard size up will do (240.4(B)).
    motor : bool
        One motor with overload protection whose breaker is pinned: that breaker may be above what the conductor
        carries (240.4(G), 430.22, 430.52), see ``loads.motor_breaker_most``.

    Examples
    --------
    >>> least_awg(20, 16), least_awg(25, 20.8), least_awg(40, 20, motor=True)
    (12, 10, 12)
    """
    lasting = load_a if lasting_a is None else lasting_a
    for awg in CABLE_SIZES:
        carries = at_most(load_a, ampacity(awg, 60)) and at_most(lasting, cable_ampacity(awg, factor))
        if carries and (
            motor
            or at_most(breaker_a, breaker_most(awg, factor=factor, one_receptacle_or_fixed=one_receptacle_or_fixed))
        ):
            return awg
    return None


def short_enough(lower_in: float, circuit_in: float, limits: Mapping[str, float]) -> bool:
    """
    Whether a part of lower ampacity may be left out of account (NEC 310.14(A)(2) exception).

    Never for the sealed holes of 334.80.

    Parameters
    ----------
    lower_in, circuit_in : float
        Length of the parts of lower ampacity, and of the whole circuit (inches).
    limits : mapping of str to float
        ``conductor.short_length`` and ``conductor.short_share`` of them count.
    """
    return at_most(lower_in, min(limits["conductor.short_length"], limits["conductor.short_share"] * circuit_in))


def grown_grounding(awg_before: Size, awg_after: Size, ground_awg: Size) -> Size:
    """
    Size of the ground once the circuit's conductors are made larger: it grows by circular mils (NEC 250.122(A), (B)).

    Never larger than those conductors, never smaller than it was.

    Examples
    --------
    >>> grown_grounding(12, 10, 12), grown_grounding(10, 6, 10)
    (10, 6)
    """
    grown = circular_mils(ground_awg) * circular_mils(awg_after) / circular_mils(awg_before)
    return least_size(max(min(grown, circular_mils(awg_after)), circular_mils(ground_awg)))


def ground_keeps_up(awg_before: int, awg_after: int, breaker_a: float) -> bool:
    """
    Whether the ground in a larger cable is as large as it must be there, if its conductors grow for voltage drop.

    They grow from what breaker, load and bundles ask for, and the ground from what the breaker asks for (NEC
    250.122(A), (B)). Growth that heat asks for does not count: it is in ``awg_before`` (from memory).

    Examples
    --------
    >>> ground_keeps_up(12, 10, 20), ground_keeps_up(12, 8, 20)
    (True, False)
    """
    before = max(grounding_awg(breaker_a), awg_before)
    wanted = grown_grounding(awg_before, awg_after, before)
    return at_least(circular_mils(cable_ground(awg_after)), circular_mils(wanted))

"""Insulation of a cable's conductors, and which of its nets each one takes: by the code, never for looks.

NEC 200.6 and 200.7 (diychatroom.com/f18/wire-colors-switch-26814/): white is the neutral; in a cable without one, a
white may be a line if it is marked, and in a switch loop it supplies the switch and does not return from it. 250.119:
the ground is bare.
"""

from __future__ import annotations

from collections.abc import Sequence

from barnloom.routing.plan import Conductor
from barnloom.routing.wiring.nets import is_neutral

STRIPED = "white with a red stripe"
INSULATED = {
    2: ("black", "white"),
    3: ("black", "red", "white"),
    4: ("black", "red", "white", STRIPED),
}
"""Insulation by how many there are, as cable is made (four: two pairs; from memory)."""
TAPES = ("black", "red", "blue")
"""Colours of tape on a white that is no neutral: any but white, grey and green will do (200.7(C)(1))."""
BLACKEST = ("line", "protected line", "switched", "traveler", "interconnect")
"""Order in which the coloured conductors are given out: black to the line."""
WHITEST = ("line 2", "line", "protected line", "traveler", "interconnect", "switched")
WHITEST_BESIDE_NEUTRAL = ("traveler", "interconnect", "line 2", "line", "protected line", "switched")
"""Order in which a marked white is given out, without and with a neutral in the cable."""
BARE = Conductor(colour="bare", net="ground")


def conductors_for(nets: Sequence[str], count: int) -> tuple[Conductor, ...]:
    """Conductors of a cable with so many insulated ones that carries these nets, the bare ground last.

    Raises
    ------
    ValueError
        If the cable has too few conductors, or too few white ones for the neutrals.

    Examples
    --------
    >>> [(one.colour, one.net, one.marked) for one in conductors_for(["line", "switched ROW"], 2)]
    [('black', 'switched ROW', ''), ('white', 'line', 'red'), ('bare', 'ground', '')]
    """
    colours = list(INSULATED[count])
    whites = [colour for colour in colours if colour.startswith("white")]
    others = [colour for colour in colours if colour not in whites]
    neutrals = sorted((net for net in nets if is_neutral(net)), key=lambda net: net != "neutral")
    if len(nets) > count or len(neutrals) > len(whites):
        msg = f"{count} conductors for {', '.join(nets)}"
        raise ValueError(msg)
    taken = dict(zip(whites, neutrals, strict=False))
    free = [colour for colour in whites if colour not in taken]
    hots = sorted((net for net in nets if not is_neutral(net)), key=lambda net: _place(net, BLACKEST))
    short = len(hots) - len(others)
    # In a switch loop the white that has to be hot is the supply; beside a neutral black stays the line, as expected.
    # What returns from a switch takes it last.
    order = WHITEST_BESIDE_NEUTRAL if neutrals else WHITEST
    for net in sorted(hots, key=lambda net: _place(net, order))[: max(short, 0)]:
        taken[free.pop(0)] = net
        hots.remove(net)
    taken |= dict(zip(others, hots, strict=False))
    tapes = [tape for tape in TAPES if tape not in taken] + [*TAPES]
    found = []
    for colour in colours:
        net = taken.get(colour, "spare")
        marked = tapes.pop(0) if colour in whites and net != "spare" and not is_neutral(net) else ""
        found.append(Conductor(colour=colour, net=net, marked=marked))
    return (*found, BARE)


def _place(net: str, order: Sequence[str]) -> tuple[int, str]:
    return next(n for n, word in enumerate(order) if net.startswith(word)), net

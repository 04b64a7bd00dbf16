"""Names in a scene: which there are, the likeliest of them for one that there is not, and lists of them in words."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from barnloom.model.errors import Fault
from barnloom.model.scene.text import Where

LOOKED_THROUGH = 1000
"""Looking for a likely name among more than this takes too long."""


@dataclass(frozen=True, slots=True)
class Names:
    """Ids that are written in each part of the scene, sound or not, and the parts of which some are not sound."""

    written: Mapping[str, Collection[str]]
    unsound: Collection[str]

    def unknown(self, where: Where, name: str, part: str, what: str) -> Iterator[Fault]:
        """Yield a fault if no ``part`` of the scene has the id."""
        ids = self.written.get(part, ())
        if name not in ids:
            do = did_you_mean(name, ids) or (
                f"write it under {part}, or use one of {listed(ids)}" if ids else f"write one under {part}"
            )
            yield Fault(where, name, f"the id of a {what}", do)


def did_you_mean(name: str, names: Iterable[str]) -> str:
    """Words that suggest the likeliest of some names; empty if none is like it."""
    folded = {known.casefold(): known for known in names}
    if len(folded) > LOOKED_THROUGH:
        return ""
    near = get_close_matches(name.casefold(), folded, n=1, cutoff=0.6)
    return f"did you mean {folded[near[0]]}?" if near else ""


def listed(names: Iterable[str], most: int = 12) -> str:
    """Words for names, the first ``most`` of them."""
    known = list(names)
    return ", ".join(known[:most]) + (", ..." if len(known) > most else "")


def anded(names: Iterable[str]) -> str:
    """Words for names: "A, B and C"."""
    known = list(names)
    return " and ".join([", ".join(known[:-1]), known[-1]] if len(known) > 1 else known)


def counted(number: int, one: str, more: str = "") -> str:
    """Words for a number of things: "1 box", "2 boxes"."""
    return f"{number} {one if number == 1 else more or one + 's'}"

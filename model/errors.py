"""What can go wrong that a person can put right.

::

    BarnloomError                  all of ours; the command prints it, never a traceback
    ├── InputError (ValueError)    one value that cannot be (LengthError, LumberError, LimitError, PriceError)
    └── SceneError (ValueError)    the scene says something that cannot be; holds every fault, not the first only

A fault names its place as keys of the scene file, ``("walls", "SOUTH", "openings", "D1", "top")``; the reader, which
alone knows the file, turns that into a line and a column.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

KEY_LONGEST = 40
"""Letters of a key that are shown; no right key is longer."""


def _words(found: str, expected: str, do: str) -> str:
    return "; ".join(part for part in (f"found {found}", expected and f"expected {expected}", do) if part)


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in a scene: where, what was found there, what was expected, and a way out."""

    where: tuple[str | int, ...]
    """Keys from the top of the scene; empty for the whole file."""
    found: str
    expected: str
    do: str
    line: int = 0
    """Counted from 1; 0 while nobody has looked the place up."""
    column: int = 0

    def __str__(self) -> str:
        place = "/".join(str(key)[:KEY_LONGEST] for key in self.where) or "scene"
        return f"{place}: {_words(self.found, self.expected, self.do)}"


class BarnloomError(Exception):
    """Base of all errors raised on purpose."""


class InputError(BarnloomError, ValueError):
    """One value that cannot be, in the words of a fault; who read it knows where it stands."""

    def __init__(self, found: str, expected: str, do: str = "") -> None:
        self.found, self.expected, self.do = found, expected, do
        super().__init__(_words(found, expected, do))


class SceneError(BarnloomError, ValueError):
    """A scene that cannot be read or built; ``faults`` holds everything that is wrong with it."""

    faults: tuple[Fault, ...]

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))

"""One thing that a survey found: what is said, what was expected, and the one measurement that settles it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from barnloom.model.scene.text import Where

Kind = Literal["unsound", "missing", "open", "unbuilt", "unsaid", "assumed"]
KINDS: dict[Kind, str] = {
    "unsound": "cannot be as it is written",
    "missing": "missing",
    "open": "does not close",
    "unbuilt": "cannot be built so",
    "unsaid": "not said, so a default would hold",
    "assumed": "assumed, measure",
}
"""Kinds in the order in which they stop planning, with their words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something to settle on site."""

    kind: Kind
    where: Where
    """Keys from the top of the scene."""
    line: int
    """In the file, from 1; 0: the whole file."""
    found: str
    """What the scene says, with its numbers."""
    expected: str
    """What was expected, with its numbers; may be empty."""
    measure: str
    """The one measurement that settles it."""
    parts: tuple[tuple[str, str], ...]
    """Parts of the scene whose sheets show it, as ("walls", "SOUTH")."""
    off_in: float = 0.0
    """By how much it does not close."""

    @property
    def place(self) -> str:
        """Keys with slashes between them."""
        return "/".join(map(str, self.where))

"""Box fill: what each conductor, device, clamp and ground takes of a box's volume (NEC 314.16(B))."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class FillLine:
    """One contribution to the fill of a box."""

    what: str
    count: float
    """Allowances."""
    awg: int
    each_in3: float
    clause: str

    @property
    def total_in3(self) -> float:
        """Volume that it takes."""
        return self.count * self.each_in3

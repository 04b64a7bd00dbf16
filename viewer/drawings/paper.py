"""What a drawing needs to know of the paper it will be on: its scale, and sizes that are measured on paper."""

from __future__ import annotations

from dataclasses import dataclass

from barnloom.viewer.drawing import Bounds, Pen

MM_PER_INCH = 25.4
POINT_MM = MM_PER_INCH / 72
LADDER_PT = 11.0
"""Least size of letters on whatever is used on a ladder (needs of the people who use it)."""
LABEL_PT = 8.5
"""Letters of plans that are read at a table."""
SCALES_US = (12, 16, 24, 32, 48, 64, 96)
SCALES_METRIC = (10, 20, 25, 50, 100)
"""Scales that rulers have."""
_WORDS_US = {
    12: '1" = 1\' 0"',
    16: '3/4" = 1\' 0"',
    24: '1/2" = 1\' 0"',
    32: '3/8" = 1\' 0"',
    48: '1/4" = 1\' 0"',
    64: '3/16" = 1\' 0"',
    96: '1/8" = 1\' 0"',
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A scale: so many inches of the building to one of the paper."""

    scale: int
    metric: bool = False

    def mm(self, millimetres: float) -> float:
        """Inches in the drawing of what is to measure so many millimetres on paper."""
        return millimetres / MM_PER_INCH * self.scale

    def points(self, points: float) -> float:
        """Inches in the drawing of letters of so many points on paper."""
        return self.mm(points * POINT_MM)

    def pen(self, millimetres: float, *, colour: str = "#000000", dash: tuple[float, ...] = ()) -> Pen:
        """A pen so wide on paper; dashes in widths of the line."""
        width = self.mm(millimetres)
        return Pen(width_in=width, colour=colour, dash=tuple(part * width for part in dash))

    @property
    def words(self) -> str:
        r"""The scale as people write it.

        >>> Paper(scale=48).words, Paper(scale=50, metric=True).words
        ('1/4" = 1\' 0" (1:48)', '1:50')
        """
        ratio = f"1:{self.scale}"
        return ratio if self.metric or self.scale not in _WORDS_US else f"{_WORDS_US[self.scale]} ({ratio})"

    def width_mm(self, bounds: Bounds) -> float:
        """Millimetres that a drawing is wide on paper."""
        return bounds.width_in * MM_PER_INCH / self.scale

    def height_mm(self, bounds: Bounds) -> float:
        """Millimetres that a drawing is high on paper."""
        return bounds.height_in * MM_PER_INCH / self.scale

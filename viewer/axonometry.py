"""Looking at the building from a corner in the sky: world inches to the picture's plane, and back to front."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from barnloom.viewer.solids import Floats

ISOMETRIC_DEG = math.degrees(math.asin(1 / math.sqrt(3)))
"""Height of the eye over the horizon at which x, y and z are all shortened alike."""


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """Where the eye is: degrees from east, counter-clockwise, and over the horizon. Parallel projection."""

    azimuth_deg: float = -37.0
    """A little off the corner: seen at exactly 45 degrees, what stands on a square grid stands behind one another."""
    elevation_deg: float = ISOMETRIC_DEG

    @property
    def axes(self) -> Floats:
        """Unit vectors of the picture, as rows: right, up, towards the eye."""
        a, e = math.radians(self.azimuth_deg), math.radians(self.elevation_deg)
        return np.array(
            [
                [-math.sin(a), math.cos(a), 0.0],
                [-math.cos(a) * math.sin(e), -math.sin(a) * math.sin(e), math.cos(e)],
                [math.cos(a) * math.cos(e), math.sin(a) * math.cos(e), math.sin(e)],
            ]
        )

    def plane(self, points: Floats) -> Floats:
        """World points (..., 3) as right and up on the picture (..., 2), inches."""
        result: Floats = np.einsum("...x,kx->...k", points, self.axes[:2])
        return result

    def nearness(self, points: Floats) -> Floats:
        """How far world points (..., 3) are towards the eye (...), inches."""
        result: Floats = np.einsum("...x,x->...", points, self.axes[2])
        return result

    @property
    def words(self) -> str:
        """Where the building is seen from."""
        names = ("east", "north-east", "north", "north-west", "west", "south-west", "south", "south-east")
        side = "above" if self.elevation_deg >= 0 else "below"
        return f"seen from the {names[round(self.azimuth_deg / 45) % 8]}, from {side}"

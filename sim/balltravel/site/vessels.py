"""Vessels from which a lower draws: how much is in them up to a level, and how wide their surface is."""

import math
from typing import NamedTuple


class Vessel(NamedTuple):
    """A pail or drum (``cone`` false) or a hopper, a cone with its point down; inside diameter at the top and
    depth [m]."""

    cone: bool
    diameter: float
    depth: float

    def surface(self, level: float) -> float:
        """Area of the surface [m2] at a level [m] above the bottom (of a cone its point)."""
        across = self.diameter * level / self.depth if self.cone else self.diameter
        return math.pi / 4.0 * across**2

    def volume(self, level: float) -> float:
        """Volume below a level [m3]."""
        return self.surface(level) * level / (3.0 if self.cone else 1.0)

"""Edge and cage in series (M9a) a second time, straight from the columns of the core's table."""

import math
from typing import NamedTuple

from balltravel.core.parameters import (
    CAGE,
    CAGE_ALPHA,
    CAGE_RATE,
    CAGE_SECOND,
    CAGE_SLIP,
    CONDUCTANCE,
    EDGE_RATE,
    EDGE_SECOND,
)
from balltravel.core.rheology import viscosity
from balltravel.core.thinning import CAGE_BALL, CAGE_SHARE, EDGE_BALL, EDGE_SHARE


class Part(NamedTuple):
    """A resistance at viscosity 1, lengths in seat radii, and what makes its two shear rates."""

    R: float
    alpha: float
    S: float
    rate: float
    second: float
    share: float
    ball: float


def parts_of(column, gap, s):
    """Edge and cage of a check; ``s``: the closures of creeping flow at that lift."""
    G = column[CONDUCTANCE] * gap**2
    R_c, alpha_c = column[CAGE] / column[CONDUCTANCE], column[CAGE_ALPHA]
    R_e = 1.0 / G - R_c
    alpha_e = (s.alpha / G - R_c * alpha_c) / R_e
    S_e = s.S - column[CAGE_SLIP] - R_e * R_c * G * (alpha_e - alpha_c) ** 2
    rate = column[EDGE_RATE] / gap**2
    return (
        Part(R_e, alpha_e, S_e, rate, column[EDGE_SECOND], EDGE_SHARE, EDGE_BALL),
        Part(R_c, alpha_c, column[CAGE_SLIP], column[CAGE_RATE], column[CAGE_SECOND], CAGE_SHARE, CAGE_BALL),
    )


def mean(rheology, part, flow, turn):
    """Mean viscosity of a part at a flow past it and the ball's speed over its radius."""
    one, two = (
        viscosity(rheology, math.hypot(c * part.rate * flow, part.ball * turn)) for c in (1.0, part.second)
    )
    return part.share * one + (1.0 - part.share) * two

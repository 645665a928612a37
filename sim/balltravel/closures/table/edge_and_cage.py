"""A check taken apart into what lies at the edge and what lies in the cage, each with the shear rates at
which a liquid's viscosity counts there (M9a).

In creeping flow they are in series: matrices add. The cage's is that of a ball in a tube with the tube's own
loss over the ball's height, and the straight bores; the edge's is the rest. The numbers of the rates are fits
to own solves of liquids that thin or have a yield stress (``tests/thinning_fitted.py``; docs/closures.md).
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import CheckGeometry, beside_ball, bores, rough_gap
from balltravel.closures.lift_table import edge_gap
from balltravel.closures.off_axis import cage_gain
from balltravel.closures.resistance import Matrix, scalar, series

Array = NDArray[np.float64]

BORE_SHEAR = 1.0
"""Shear rate in a bore at which its loss counts, over Q/R^3: 0.785 (pi/4, the representative viscosity; from
memory after Schuemmer and Worthoff 1978) times 8 U/d; within 3.3 % of the loss for exponents 0.3 to 1."""

MOST_OF_CAGE = 0.999
"""Of the whole loss at most: high above the seat the parts are the difference of two nearly equal numbers."""


class CagePart(NamedTuple):
    """The cage's part at lifts, lengths in contact radii: R G/gap^2, alpha, S; first shear rate at the edge
    for unit flow over gap^2 and in the cage for unit flow, and the second over the first."""

    R: Array
    alpha: Array
    S: Array
    edge_rate: Array
    edge_second: Array
    cage_rate: Array
    cage_second: Array


class Rates(NamedTuple):
    """The numbers of the shear rates (docs/closures.md); with the core's two shares and two rates of the ball
    a fit by ``tests/thinning_fitted.py``."""

    cage: float = 0.547
    cage_clear: float = 0.274
    cage_second: float = 0.0762
    cage_second_clear: float = 2.686
    edge: float = 0.4095
    edge_gap: float = 2.656
    edge_ball: float = -0.4955
    edge_second: float = 0.1564
    edge_second_gap: float = 0.184
    edge_second_cage: float = -0.272
    edge_second_ball: float = 0.845


FITTED = Rates()


def edge_rates(ball: float, cage: float, gap: Array, rates: Rates = FITTED) -> tuple[Array, Array]:
    """First shear rate at an edge times gap^2 over the flow, and the second over the first; ball, cage and
    gap over the edge's radius."""
    first = rates.edge * (1.0 + rates.edge_gap * gap) * ball**rates.edge_ball
    second = rates.edge_second * gap**rates.edge_second_gap
    second = second * (cage - 1.0) ** rates.edge_second_cage * ball**rates.edge_second_ball
    return first, np.minimum(second, 1.0)


def cage_rates(ratio: float, rates: Rates = FITTED) -> tuple[float, float]:
    """First shear rate beside a ball in a tube of radius 1 over the flow, and the second over the first; the
    first from that at the walls of a slot."""
    slot = 6.0 / (math.pi * (1.0 + ratio) * (1.0 - ratio) ** 2)
    first = rates.cage * math.exp(rates.cage_clear * (1.0 - ratio)) * slot
    return first, min(rates.cage_second * math.exp(rates.cage_second_clear * (1.0 - ratio)), 1.0)


def ball_in_cage(geometry: CheckGeometry, gain: Array) -> Matrix:
    """The ball in its cage with the cage's own loss over the ball's height; ``gain``: how many times more
    passes beside the ball than on its axis."""
    r, R, Rc = geometry.contact_radius, geometry.ball_radius, geometry.cage_radius
    along = np.full(gain.shape, 16.0 / math.pi * R / Rc * (r / Rc) ** 3)
    return series(beside_ball(geometry, gain), scalar(along))


def cage_part(geometry: CheckGeometry, lift: Array, whole: Matrix) -> CagePart:
    """The part of the cage and of the bores in a check's resistance ``whole`` at lifts [m]."""
    r, R, Rc = geometry.contact_radius, geometry.ball_radius, geometry.cage_radius
    top = math.sqrt(R * R - r * r) + lift + R
    length = np.maximum(geometry.cage_length - top, 0.0)
    straight = np.asarray(bores(geometry, length)) * np.ones(lift.shape)
    part = series(ball_in_cage(geometry, cage_gain(geometry, lift)), scalar(straight))
    less = np.minimum(MOST_OF_CAGE * whole.Rqq / part.Rqq, 1.0)
    Rqq, alpha = less * part.Rqq, part.Rqw / part.Rqq
    # What the edge has of S, whose alpha is another, must not be less than nothing.
    of_edge = 1.0 - Rqq / whole.Rqq
    unlike = Rqq / of_edge * (whole.Rqw / whole.Rqq - alpha) ** 2
    S = np.clip(whole.S - unlike, 0.0, part.S)
    gap = edge_gap(geometry, lift)
    edge_first, edge_second = edge_rates(R / r, Rc / r, gap)
    in_cage, second = cage_rates(R / Rc)
    of_bores = straight / part.Rqq
    # The seat bore's radius stands for both bores: it has the larger loss.
    in_bore = BORE_SHEAR * (r / geometry.seat_radius) ** 3
    in_cage *= (r / Rc) ** 3
    mixed = np.exp((1.0 - of_bores) * math.log(in_cage) + of_bores * math.log(in_bore))
    return CagePart(
        Rqq / (whole.Rqq * rough_gap(geometry, lift) ** 2),
        alpha,
        S,
        edge_first * (rough_gap(geometry, lift) / gap) ** 2,
        edge_second,
        mixed,
        second ** (1.0 - of_bores),
    )

"""What every family of closures puts a check together with, and the spline by which it reaches the core.

The edge with the ball in its cage is the family's own; on a cone the film comes before it; then the bores.
"""

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import CheckGeometry, bores, loss_coefficient, rough_gap
from balltravel.closures.cubic import spline
from balltravel.closures.family import Resistance
from balltravel.closures.film import film_of
from balltravel.closures.off_axis import Gain, gain_of
from balltravel.closures.resistance import Matrix, scalar, series
from balltravel.core.parameters import (
    ALPHA,
    BACKWARD,
    CONDUCTANCE,
    COUPLING,
    FORWARD,
    FUNCTIONS,
    LIFT_INTERVALS,
    MASS,
    OPENING_SLIP,
    SLIP,
    STREAM,
)

Array = NDArray[np.float64]

TABLE_ORIGIN = 0.02
"""Lift in seat radii below which the table's nodes are evenly spaced rather than in ratio."""

TABLE_INTERVALS = LIFT_INTERVALS


def table_origin(geometry: CheckGeometry) -> float:
    """Lift [m] below which the nodes are evenly spaced: a share of the seat radius, and on a cone not more
    than where the film is cut off, for it grows with a high power of the gap down to there."""
    origin = TABLE_ORIGIN * geometry.contact_radius
    return min(origin, math.hypot(geometry.roughness, geometry.leak_gap)) if geometry.half_angle else origin


def with_bores(geometry: CheckGeometry, part: Matrix, lift: Array, length: float | Array) -> Matrix:
    """A resistance at lifts [m] with the laminar loss of the seat bore and of a length of the cage [m]."""
    laminar = np.broadcast_to(np.asarray(bores(geometry, length)), lift.shape)
    return series(part, scalar(laminar))


def on_seat(
    geometry: CheckGeometry,
    lift: Array,
    opening: bool,
    edge_and_cage: Callable[[CheckGeometry, Array, Gain], Matrix],
    narrower_bore: float = 0.0,
) -> Matrix:
    """The seat and the ball in its cage, from those of an edge at gaps over its radius; off its axis the ball
    changes both (M5k). On a cone the film comes first, which does not pull at a ball that leaves (M5i), then
    what its bore costs beyond that of the edge's, and an edge at the circle of contact as far from the ball
    as the film's ends are, on the mean (docs/closures.md)."""
    gain = gain_of(geometry, lift)
    if not geometry.half_angle:
        return edge_and_cage(geometry, rough_gap(geometry, lift), gain)
    narrow, _ = film_of(geometry, lift * math.sin(geometry.half_angle))
    S = np.zeros_like(narrow.S) if opening else narrow.S
    narrow = Matrix(narrow.Rqq / gain.seat, narrow.Rqw / gain.seat, S)
    beside = edge_gap(geometry, lift)
    rest = series(edge_and_cage(geometry, beside, gain), scalar(np.full(lift.shape, narrower_bore)))
    return series(narrow, rest)


def edge_gap(geometry: CheckGeometry, lift: Array) -> Array:
    """Gap of the sharp edge that a check is put together with, over the radius of the circle of contact: its
    own, or on a cone the mean of the film's ends."""
    if not geometry.half_angle:
        return rough_gap(geometry, lift)
    ends = film_of(geometry, lift * math.sin(geometry.half_angle))[1]
    return np.asarray(0.5 * (ends.bore + ends.mouth) / geometry.contact_radius)


def creeping_functions(geometry: CheckGeometry, lift: Array, whole: Resistance) -> Array:
    """All functions of lift [m] of a check of which only its resistance is known, and a jet's loss."""
    total, gap = whole(geometry, lift, False), rough_gap(geometry, lift)
    opening = whole(geometry, lift, True).S if geometry.half_angle else None
    loss = loss_coefficient(geometry, lift)
    return simplest(1.0 / (total.Rqq * gap**2), total.Rqw / total.Rqq, total.S, loss, opening)


def simplest(g: Array, alpha: Array, S: Array, k: Array, opening: Array | None = None) -> Array:
    """All functions of lift where only these are known: a loss without Reynolds number, the same both ways,
    the liquid's inertia as far from the seat, no shear (FUNCTIONS, lifts)."""
    values = np.zeros((FUNCTIONS, g.size))
    values[[CONDUCTANCE, ALPHA, SLIP]] = g, alpha, S
    values[OPENING_SLIP] = S if opening is None else opening
    values[[FORWARD, FORWARD + 1, BACKWARD, BACKWARD + 1]] = k
    values[[STREAM, MASS, COUPLING]] = 1.0
    return values


def closure_table(
    travel: float, origin: float, closures: Callable[[Array], tuple[Array, ...]]
) -> tuple[Array, float]:
    """One spline in u = ln(1 + lift/origin) through the closures, from lift 0 to a little above the travel.

    ``closures``: lifts [m] -> all functions of lift, or G/gap^2, alpha, S, K_p gap^2 alone and, where it is
    another, S of an opening ball. Returns coefficients of shape (n, FUNCTIONS, 4) (interval, function, power
    from 3 to 0) and the step in u.
    """
    top = math.log1p(1.02 * travel / origin)
    u = np.linspace(0.0, top, TABLE_INTERVALS + 1)
    functions = closures(origin * np.expm1(u))
    values = np.stack(functions) if len(functions) == FUNCTIONS else simplest(*functions)
    powers = spline(u, values.T).powers
    return np.ascontiguousarray(powers.transpose(1, 2, 0)), float(u[1])

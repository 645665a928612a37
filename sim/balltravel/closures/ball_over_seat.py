"""The closure table of a ball over a sharp-edged seat in a plain cage, from closed forms.

The check is two resistances in series (M5e): the gap at the seat and the annulus in the cage, each with a
symmetric positive matrix in (flow, ball speed). Their sum is symmetric and positive too, so S > 0 at every
lift, and both limits are met.
"""

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from balltravel.closures.resistance import Matrix, series
from balltravel.closures.tube import tube_resistance
from balltravel.core.ranges import Range

Array = NDArray[np.float64]

SEAT_CONDUCTANCE = 3.1
"""Rqq gap^2 at a sharp edge, gap in seat radii; own first finite-element study (about 3.1)."""

SEAT_FILM = 110.0
"""k in S = S_0 + k ln(r_s/gap) at a sharp edge; own first finite-element study (85 to 140: the middle)."""

OVER_SEAT = Range("gap at the seat", "ball over seat diameter", ((1.12, 1.8),), "own first study")
LIFTS = Range("seat and cage in series", "lift over seat radius", ((-math.inf, 1.2),), "own first study")
SEAT_REYNOLDS = Range(
    "check in creeping flow",
    "Reynolds number at the seat",
    ((0.0, 50.0),),
    "own first study: inertia changes the loss by less than about 6 %; beyond, a discharge coefficient",
)

TABLE_ORIGIN = 0.02
"""Lift in seat radii below which the table's nodes are evenly spaced rather than in ratio."""

TABLE_INTERVALS = 240


class CheckGeometry(NamedTuple):
    """Sizes of a check [m] with its discharge coefficient [-], the roughness of its surfaces and the even gap
    under a seated ball, if its seat is worn [m]."""

    seat_radius: float
    seat_length: float
    ball_radius: float
    cage_radius: float
    cage_length: float
    discharge_coefficient: float
    roughness: float
    leak_gap: float = 0.0


def gap_over_seat_radius(geometry: CheckGeometry, lift: Array) -> Array:
    """Shortest distance between ball and seat edge over the seat radius, a worn seat's gap in it (M5a)."""
    R, r = geometry.ball_radius, geometry.seat_radius
    z0 = math.sqrt(R * R - r * r)
    gap = lift * (2.0 * z0 + lift) / (np.sqrt(r * r + (z0 + lift) ** 2) + R) / r
    return np.asarray(np.hypot(gap, geometry.leak_gap / r) if geometry.leak_gap > 0.0 else gap)


def seat_matrix(geometry: CheckGeometry, lift: Array) -> Matrix:
    """Gap at a sharp edge: Rqq = 3.1 (r_s/gap)^2, Rqw = pi Rqq, S = k ln(1 + r_s/gap) (M5f).

    The gap is not less than the roughness; the ball stays a smooth function of lift through 0.
    """
    gap = np.hypot(gap_over_seat_radius(geometry, lift), geometry.roughness / geometry.seat_radius)
    Rqq = SEAT_CONDUCTANCE / gap**2
    return Matrix(Rqq, math.pi * Rqq, SEAT_FILM * np.log1p(1.0 / gap))


def passage_matrix(geometry: CheckGeometry) -> Matrix:
    """Cage around the ball (tube values), with laminar flow in the seat bore and in the whole cage (M5g).

    The tube's Rqq is the excess over the loss of the same tube without the ball, so the cage's full length
    counts for the laminar loss.
    """
    r, R, Rc = geometry.seat_radius, geometry.ball_radius, geometry.cage_radius
    tube = tube_resistance(R / Rc)
    Rqq = tube.Rqq * (r / Rc) ** 3
    cage = Matrix(np.array([Rqq]), np.array([tube.Rqw * r / Rc]), np.array([tube.S * Rc / r]))
    bores = 8.0 / math.pi * (geometry.seat_length / r + geometry.cage_length / r * (r / Rc) ** 4)
    return series(cage, Matrix(np.array([bores]), np.zeros(1), np.zeros(1)))


def loss_coefficient(geometry: CheckGeometry, lift: Array) -> Array:
    """K_p gap^2 (M5h): the jet through the gap by the discharge coefficient, and the sudden expansion behind
    the ball (Borda and Carnot), both on the velocity in the seat bore."""
    r, R, Rc = geometry.seat_radius, geometry.ball_radius, geometry.cage_radius
    z0 = math.sqrt(R * R - r * r)
    L = np.sqrt(r * r + (z0 + lift) ** 2)
    jet = 1.0 / (geometry.discharge_coefficient * (1.0 + R / L)) ** 2
    annulus, cage = Rc * Rc - R * R, Rc * Rc
    expansion = (r * r / annulus * (1.0 - annulus / cage)) ** 2
    return np.asarray(jet + expansion * gap_over_seat_radius(geometry, lift) ** 2)


def closures_at(geometry: CheckGeometry, lift: Array) -> tuple[Array, Array, Array, Array]:
    """G/gap^2, alpha, S and K_p gap^2 at the given lifts [m]; gap and lengths in seat radii."""
    total = series(seat_matrix(geometry, lift), passage_matrix(geometry))
    gap = np.hypot(gap_over_seat_radius(geometry, lift), geometry.roughness / geometry.seat_radius)
    return 1.0 / (total.Rqq * gap**2), total.Rqw / total.Rqq, total.S, loss_coefficient(geometry, lift)


def closure_table(
    travel: float, origin: float, closures: Callable[[Array], tuple[Array, Array, Array, Array]]
) -> tuple[Array, float]:
    """One spline in u = ln(1 + lift/origin) through the closures, from lift 0 to a little above the travel.

    Returns coefficients of shape (n, 4, 4) (interval, function, power from 3 to 0) and the step in u.
    """
    top = math.log1p(1.02 * travel / origin)
    u = np.linspace(0.0, top, TABLE_INTERVALS + 1)
    values = np.stack(closures(origin * np.expm1(u)))
    spline = CubicSpline(u, values, axis=1)
    return np.ascontiguousarray(spline.c.transpose(1, 2, 0)), float(u[1])

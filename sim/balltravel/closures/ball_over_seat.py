"""Closed forms of a ball over a sharp-edged seat in a plain cage.

The check is two resistances in series (M5e): the gap at the seat and the annulus in the cage, each with a
symmetric positive matrix in (flow, ball speed). Their sum is symmetric and positive too, so S > 0 at every
lift, and both limits are met.
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.own.record import CheckTable
from balltravel.closures.passages import off_axis_gain
from balltravel.closures.resistance import Matrix, scalar, series
from balltravel.closures.tube import tube_resistance
from balltravel.core.ranges import Range

Array = NDArray[np.float64]

SEAT_CONDUCTANCE = 3.1
"""Rqq gap^2 at a sharp edge, gap in seat radii; own first finite-element study (about 3.1)."""

SEAT_FILM = 110.0
"""k in S = S_0 + k ln(r_s/gap) at a sharp edge; own first finite-element study (85 to 140: the middle)."""

OVER_SEAT = Range("gap at the seat", "ball over seat diameter", ((1.12, 1.8),), "own finite elements")
LIFTS = Range("seat and cage in series", "lift over seat radius", ((-math.inf, 1.2),), "own study")
SEAT_REYNOLDS = Range(
    "check in creeping flow",
    "Reynolds number at the seat",
    ((0.0, 50.0),),
    "own study: inertia changes the loss by less than about 6 %; beyond, a discharge coefficient",
)


class CheckGeometry(NamedTuple):
    """Sizes of a check [m] with its discharge coefficient [-], the roughness of its surfaces and the even gap
    under a seated ball, if its seat is worn [m]. ``half_angle`` [rad] between axis and cone, 0 for a sharp
    edge, with the radius of the cone's mouth and the width of a band lapped to the ball; ``offset``: how far
    off its axis the cage lets the ball stand, 0 for a ball held on it (``off_axis``: the seat may let it less
    far); ``family``: of the closures that it is computed by; ``table``: its own solves, which go before.
    """

    seat_radius: float
    seat_length: float
    ball_radius: float
    cage_radius: float
    cage_length: float
    discharge_coefficient: float
    roughness: float
    leak_gap: float = 0.0
    half_angle: float = 0.0
    mouth_radius: float = 0.0
    land_width: float = 0.0
    offset: float = 0.0
    family: str = "closed form"
    table: CheckTable | None = None

    @property
    def contact_radius(self) -> float:
        """Radius of the circle on which the ball sits: the edge's, or R cos(half angle) on a cone [m]."""
        return self.ball_radius * math.cos(self.half_angle) if self.half_angle else self.seat_radius


def gap_over_seat_radius(geometry: CheckGeometry, lift: Array) -> Array:
    """Shortest distance between ball and seat edge (or circle of contact) over its radius, a worn seat's gap
    in it (M5a)."""
    R, r = geometry.ball_radius, geometry.contact_radius
    z0 = math.sqrt(R * R - r * r)
    gap = lift * (2.0 * z0 + lift) / (np.sqrt(r * r + (z0 + lift) ** 2) + R) / r
    return np.asarray(np.hypot(gap, geometry.leak_gap / r) if geometry.leak_gap > 0.0 else gap)


def rough_gap(geometry: CheckGeometry, lift: Array) -> Array:
    """The gap over the seat radius, not less than the roughness: a smooth function of lift through 0."""
    roughness = geometry.roughness / geometry.contact_radius
    return np.asarray(np.hypot(gap_over_seat_radius(geometry, lift), roughness))


def edge(gap: Array, gain: Array | float = 1.0) -> Matrix:
    """A sharp edge at gaps over its radius: Rqq = 3.1/gap^2, Rqw = pi Rqq, S = k ln(1 + 1/gap) (M5f);
    ``gain``: how many times more passes, with the same S."""
    Rqq = SEAT_CONDUCTANCE / gap**2 / gain
    return Matrix(Rqq, math.pi * Rqq, SEAT_FILM * np.log1p(1.0 / gap))


def passage_matrix(geometry: CheckGeometry) -> Matrix:
    """Cage around the ball (tube values), with laminar flow in the seat bore and in the whole cage (M5g).

    The tube's Rqq is the excess over the loss of the same tube without the ball, so the cage's full length
    counts for the laminar loss.
    """
    return series(cage_matrix(geometry), scalar(np.array([bores(geometry, geometry.cage_length)])))


def cage_matrix(geometry: CheckGeometry) -> Matrix:
    """The ball in its cage alone, so far from the seat that only the cage holds it near its axis."""
    gain = off_axis_gain(geometry.ball_radius, geometry.cage_radius, geometry.offset)
    return beside_ball(geometry, gain[None])


def beside_ball(geometry: CheckGeometry, gain: Array) -> Matrix:
    """The ball in its cage alone where ``gain`` times more passes it than on its axis, with the same S."""
    r, Rc = geometry.contact_radius, geometry.cage_radius
    tube = tube_resistance(geometry.ball_radius / Rc)
    Rqq, Rqw = tube.Rqq * (r / Rc) ** 3 / gain, tube.Rqw * r / Rc / gain
    return Matrix(Rqq, Rqw, np.full(gain.shape, tube.S * Rc / r))


def bores(geometry: CheckGeometry, cage_length: float | Array) -> float | Array:
    """Laminar loss of the seat bore and of a length of the cage [m], over mu Q/r^3 (Poiseuille)."""
    r = geometry.contact_radius
    per_length = geometry.seat_length / geometry.seat_radius**4 + cage_length / geometry.cage_radius**4
    return 8.0 / math.pi * r**3 * per_length


def loss_coefficient(geometry: CheckGeometry, lift: Array) -> Array:
    """K_p gap^2 (M5h): the jet through the gap by the discharge coefficient, and the sudden expansion behind
    the ball (Borda and Carnot), both on the velocity in the seat bore."""
    r, R, Rc = geometry.contact_radius, geometry.ball_radius, geometry.cage_radius
    z0 = math.sqrt(R * R - r * r)
    L = np.sqrt(r * r + (z0 + lift) ** 2)
    jet = 1.0 / (geometry.discharge_coefficient * (1.0 + R / L)) ** 2
    annulus, cage = Rc * Rc - R * R, Rc * Rc
    expansion = (r * r / annulus * (1.0 - annulus / cage)) ** 2
    return np.asarray(jet + expansion * gap_over_seat_radius(geometry, lift) ** 2)

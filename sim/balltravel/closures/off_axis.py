"""A ball off its axis: how far seat and cage let it stand, and how much more then passes (M5k).

It leaves both passages eccentric, the gap at the seat and the annulus in the cage: a rule. What resists a
ball that moves at no pressure drop, S, rises: solves in space have it, over an edge
(``table/off_axis_gains``); where only the rule is known it stays that of the ball on its axis.
"""

import math
from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import SEAT_CONDUCTANCE, CheckGeometry
from balltravel.closures.cubic import Cubic, spline
from balltravel.closures.family import Resistance
from balltravel.closures.film import film_of
from balltravel.closures.passages import off_axis_gain
from balltravel.closures.resistance import Matrix

Array = NDArray[np.float64]

ANGLES = 16
"""Directions, evenly over half a turn, in which gaps are taken; a mean over a turn settles fast with them."""

COSINES = np.cos((np.arange(ANGLES) + 0.5) * math.pi / ANGLES)

GAPS = 480
"""Intervals in the gap over which what passes a cone is interpolated."""

SHARES = 40
"""Nodes in the share of the clearance over which the cage's factor is interpolated."""


class Gain(NamedTuple):
    """How many times more passes than around a ball on its axis at equal pressure drop, at lifts: through the
    gap at the seat, and beside the ball in its cage."""

    seat: Array
    cage: Array


def offset_at(geometry: CheckGeometry, lift: Array) -> Array:
    """Distance of the ball from its axis [m] at lifts [m] >= 0: as far as the cage lets it
    (``geometry.offset``), or less where it meets the seat first; 0 on the seat, which centres it.

    A sharp edge is met where (r - e)^2 + (z0 + lift)^2 = R^2. A ball whose lowest point is above the edge
    stands at most over it. A cone is met at lift tan(half angle).
    """
    if geometry.half_angle:
        reach = lift * math.tan(geometry.half_angle)
    else:
        r, R = geometry.seat_radius, geometry.ball_radius
        height = math.sqrt(R * R - r * r) + lift
        reach = r - np.sqrt(np.maximum(R * R - height * height, 0.0))
    return np.clip(reach, 0.0, geometry.offset)


def gain_of(geometry: CheckGeometry, lift: Array) -> Gain:
    """How many times more passes at lifts [m]; 1 of a ball on its axis."""
    if not geometry.offset:
        return Gain(np.ones(lift.shape), np.ones(lift.shape))
    return _known_gain(geometry, np.ascontiguousarray(lift, np.float64).tobytes())


@lru_cache(maxsize=16)
def _known_gain(geometry: CheckGeometry, lifts: bytes) -> Gain:
    """The gain at lifts [m] by their bytes: a check's table asks for the same one several times."""
    lift = np.frombuffer(lifts)
    gain = Gain(_seat_gain(geometry, lift, offset_at(geometry, lift)), cage_gain(geometry, lift))
    for array in gain:
        array.setflags(write=False)
    return gain


def cage_gain(geometry: CheckGeometry, lift: Array) -> Array:
    """The same of the ball in its cage alone."""
    ball, cage = geometry.ball_radius, geometry.cage_radius
    if not geometry.offset:
        return np.ones(lift.shape)
    return _gain_over_share(ball / cage)(offset_at(geometry, lift) / (cage - ball))


def slip_on_axis_of(cones: bool) -> Callable[[Resistance], Resistance]:
    """A check's resistance with the S of its ball on the axis; ``cones``: of a cone alone."""

    def decorate(resistance: Resistance) -> Resistance:
        def with_it(geometry: CheckGeometry, lift: Array, opening: bool = False) -> Matrix:
            matrix = resistance(geometry, lift, opening)
            if not geometry.offset or (cones and not geometry.half_angle):
                return matrix
            return matrix._replace(S=resistance(geometry._replace(offset=0.0), lift, opening).S)

        return with_it

    return decorate


def _seat_gain(geometry: CheckGeometry, lift: Array, offset: Array) -> Array:
    """Mean over the directions of what passes there, over what passes a ball on its axis."""
    passes = _cone_passes if geometry.half_angle else _edge_passes
    around = passes(geometry, lift[:, None], offset[:, None], COSINES).mean(axis=1)
    on_axis = passes(geometry, lift[:, None], np.zeros((lift.size, 1)), np.ones(1))[:, 0]
    return np.asarray(around / on_axis)


def _edge_passes(geometry: CheckGeometry, lift: Array, offset: Array, cosine: Array) -> Array:
    """Square of the gap [m2] between ball and sharp edge, roughness and a worn seat's gap in it, in
    directions of these cosines from that of the offset."""
    r, R = geometry.seat_radius, geometry.ball_radius
    height = math.sqrt(R * R - r * r) + lift
    nearer = lift * (height + height - lift) + offset * (offset - 2.0 * r * cosine)
    gap = nearer / (np.sqrt(R * R + nearer) + R)
    return np.asarray(gap**2 + geometry.roughness**2 + geometry.leak_gap**2)


def _cone_passes(geometry: CheckGeometry, lift: Array, offset: Array, cosine: Array) -> Array:
    """What passes the film and the edge behind it in series [1/resistance], in directions as before; in each
    as if the ball were so near its cone all around. By a spline in the gap: within 1e-3 where the film ends
    before the cone does (a kink), else within 1e-6."""
    nearest = lift * math.sin(geometry.half_angle) - offset * math.cos(geometry.half_angle) * cosine
    scale = math.hypot(geometry.roughness, geometry.leak_gap)
    knots = np.linspace(0.0, np.arcsinh(max(float(nearest.max()) / scale, 1.0)), GAPS + 1)
    narrow, ends = film_of(geometry, scale * np.sinh(knots))
    edge_gap = 0.5 * (ends.bore + ends.mouth) / geometry.contact_radius
    resists = spline(knots, np.log(narrow.Rqq + SEAT_CONDUCTANCE / edge_gap**2))
    return np.asarray(np.exp(-resists(np.arcsinh(np.maximum(nearest, 0.0) / scale))))


@lru_cache(maxsize=256)
def _gain_over_share(ratio: float) -> Cubic:
    """``off_axis_gain`` over the offset's share of the clearance in the plain bore, at a ratio of radii;
    within 1e-7 of it."""
    share = np.linspace(0.0, 1.0, SHARES + 1)
    return spline(share, off_axis_gain(ratio, 1.0, share * (1.0 - ratio)))

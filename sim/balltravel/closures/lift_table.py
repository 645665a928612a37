"""The four functions of lift by which a check reaches the core, and the spline through them.

A check is put together here: the edge (from the table or by closed forms), on a cone the film before it, the
bores, the ball off its axis.
"""

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import (
    CheckGeometry,
    bores,
    cage_matrix,
    edge,
    loss_coefficient,
    rough_gap,
)
from balltravel.closures.cubic import spline
from balltravel.closures.film import ConeSeat, Ends, film
from balltravel.closures.resistance import Matrix, scalar, series
from balltravel.closures.tabulated import edge_matrix, widening
from balltravel.core.parameters import (
    ALPHA,
    BACKWARD,
    CONDUCTANCE,
    COUPLING,
    FORWARD,
    FUNCTIONS,
    MASS_OPEN,
    MASS_SHUT,
    OPENING_SLIP,
    SLIP,
)

Array = NDArray[np.float64]

TABLE_ORIGIN = 0.02
"""Lift in seat radii below which the table's nodes are evenly spaced rather than in ratio."""

TABLE_INTERVALS = 240


def table_origin(geometry: CheckGeometry) -> float:
    """Lift [m] below which the nodes are evenly spaced: a share of the seat radius, and on a cone not more
    than where the film is cut off, for it grows with a high power of the gap down to there."""
    origin = TABLE_ORIGIN * geometry.contact_radius
    return min(origin, math.hypot(geometry.roughness, geometry.leak_gap)) if geometry.half_angle else origin


def resistance_of(geometry: CheckGeometry, lift: Array, opening: bool = False) -> Matrix:
    """Resistance of a whole check at lifts [m], lengths in its contact radius; ``opening``: of a ball that
    leaves its seat, where the film of a cone does not pull (M5i)."""
    length: float | Array = geometry.cage_length
    if geometry.tabulated:
        top = math.sqrt(geometry.ball_radius**2 - geometry.contact_radius**2) + lift + geometry.ball_radius
        length = np.maximum(geometry.cage_length - top, 0.0)
    laminar = np.broadcast_to(np.asarray(bores(geometry, length)), lift.shape)
    return series(seat_and_cage(geometry, lift, opening), scalar(laminar))


def _narrower_bore(geometry: CheckGeometry) -> float:
    """What the opening of a cone's bore costs beyond that of the circle of contact, which the table has."""
    if not geometry.tabulated:
        return 0.0
    r, bore, cage = geometry.contact_radius, geometry.seat_radius, geometry.cage_radius
    return widening(cage / bore) * (r / bore) ** 3 - widening(cage / r)


def seat_and_cage(geometry: CheckGeometry, lift: Array, opening: bool = False) -> Matrix:
    """The seat and the ball in its cage. On a cone the film comes first, and an edge at the circle of contact
    as far from the ball as the film's ends are, on the mean (docs/closures.md)."""
    if not geometry.half_angle:
        return _edge_and_cage(geometry, rough_gap(geometry, lift))
    narrow, _ = _film(geometry, lift)
    if opening:
        narrow = narrow._replace(S=np.zeros_like(narrow.S))
    beside = edge_gap(geometry, lift)
    rest = series(_edge_and_cage(geometry, beside), scalar(np.full(lift.shape, _narrower_bore(geometry))))
    return series(narrow, rest)


def edge_gap(geometry: CheckGeometry, lift: Array) -> Array:
    """Gap of the sharp edge that a check is put together with, over the radius of the circle of contact: its
    own, or on a cone the mean of the film's ends."""
    if not geometry.half_angle:
        return rough_gap(geometry, lift)
    ends = _film(geometry, lift)[1]
    return np.asarray(0.5 * (ends.bore + ends.mouth) / geometry.contact_radius)


def _film(geometry: CheckGeometry, lift: Array) -> tuple[Matrix, Ends]:
    seat = ConeSeat(
        geometry.seat_radius,
        geometry.mouth_radius,
        geometry.ball_radius,
        geometry.half_angle,
        geometry.land_width,
    )
    gap = np.hypot(lift * math.sin(seat.half_angle), math.hypot(geometry.leak_gap, geometry.roughness))
    return film(seat, gap)


def _edge_and_cage(geometry: CheckGeometry, gap: Array) -> Matrix:
    """An edge at gaps over its radius with the ball in its cage. A ball off its axis changes the tabulated
    numbers by the factors by which it changes the closed forms."""
    form = series(edge(gap), cage_matrix(geometry))
    if not geometry.tabulated:
        return form
    ratio = geometry.ball_radius / geometry.cage_radius
    table = edge_matrix(geometry.ball_radius / geometry.contact_radius, ratio, gap)
    if not geometry.offset:
        return table
    centred = series(edge(gap), cage_matrix(geometry._replace(offset=0.0)))
    return Matrix(
        table.Rqq * form.Rqq / centred.Rqq, table.Rqw * form.Rqw / centred.Rqw, table.S * form.S / centred.S
    )


def closures_at(geometry: CheckGeometry, lift: Array) -> tuple[Array, Array, Array, Array]:
    """G/gap^2, alpha, S and K_p gap^2 at the given lifts [m]; gap and lengths in contact radii."""
    total, gap = resistance_of(geometry, lift), rough_gap(geometry, lift)
    return 1.0 / (total.Rqq * gap**2), total.Rqw / total.Rqq, total.S, loss_coefficient(geometry, lift)


def simplest(g: Array, alpha: Array, S: Array, k: Array, opening: Array | None = None) -> Array:
    """All functions of lift where only these are known: a loss without Reynolds number, the same both ways,
    the liquid's inertia as far from the seat, no shear (FUNCTIONS, lifts)."""
    values = np.zeros((FUNCTIONS, g.size))
    values[[CONDUCTANCE, ALPHA, SLIP]] = g, alpha, S
    values[OPENING_SLIP] = S if opening is None else opening
    values[[FORWARD, FORWARD + 1, BACKWARD, BACKWARD + 1]] = k
    values[[MASS_SHUT, MASS_OPEN, COUPLING]] = 1.0
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

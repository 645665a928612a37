"""A check by tables of solves: creeping resistance, inertia, the liquid's mass, shear thinning.

What the tables know is a sharp edge; on a cone they are entered by the edge on the circle of contact that the
resistance is put together with.
"""

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import CheckGeometry, rough_gap
from balltravel.closures.family import Family, Resistance
from balltravel.closures.lift_table import creeping_functions, edge_gap, on_seat, with_bores
from balltravel.closures.off_axis import Gain, slip_on_axis_of
from balltravel.closures.resistance import Matrix
from balltravel.closures.table.beyond_creeping import (
    SOLVED_LIFTS,
    SOLVED_REYNOLDS,
    Inertia,
    Mass,
    gap_area,
    inertia_at,
    jet_loss,
    mass_at,
)
from balltravel.closures.table.cones import as_solved, narrower_bore
from balltravel.closures.table.edge_and_cage import cage_part
from balltravel.closures.table.off_axis_gains import over_rule
from balltravel.closures.table.tabulated import closed_forms, edge_matrix, grid, lift_of_gap
from balltravel.closures.tube import ADDED_MASS_LAMBDA_MAX, added_mass_coefficient
from balltravel.core.parameters import (
    ALPHA,
    BACKWARD,
    CAGE,
    CAGE_ALPHA,
    CAGE_RATE,
    CAGE_SECOND,
    CAGE_SLIP,
    COUPLING,
    EDGE_RATE,
    EDGE_SECOND,
    FORWARD,
    LIFT_FORCE,
    MASS,
    OFFSET,
    STREAM,
)
from balltravel.core.ranges import Range

Array = NDArray[np.float64]

SHARPNESS = 8.0
"""Power of the smooth maximum of laminar and turbulent loss."""


def edge_and_cage(geometry: CheckGeometry, gap: Array, gain: Gain) -> Matrix:
    """An edge at gaps over its radius with the ball in its cage. A ball off its axis changes the tabulated
    loss and force by the factors by which it changes the closed forms that the table is held against."""
    ball, ratio = _ratios(geometry)
    table = edge_matrix(ball, ratio, gap)
    if not geometry.offset:
        return table
    off, centred = (closed_forms(ball, ratio, lift_of_gap(ball, gap), more) for more in (gain, None))
    return Matrix(table.Rqq * off.Rqq / centred.Rqq, table.Rqw * off.Rqw / centred.Rqw, table.S)


def _top(geometry: CheckGeometry, lift: Array | float) -> Array | float:
    """Height of the ball's top over the circle of contact [m], up to which the table reaches."""
    return math.sqrt(geometry.ball_radius**2 - geometry.contact_radius**2) + lift + geometry.ball_radius


def put_together(geometry: CheckGeometry, lift: Array, opening: bool = False) -> Matrix:
    """An edge, or on a cone its film and an edge, with the ball in its cage."""
    r = geometry.contact_radius
    narrower = narrower_bore(geometry.seat_radius / r, geometry.cage_radius / r)
    return on_seat(geometry, lift, opening, edge_and_cage, narrower)


@slip_on_axis_of(cones=True)
def seat_and_cage(geometry: CheckGeometry, lift: Array, opening: bool = False) -> Matrix:
    """The seat and the ball in its cage; see Family. Off its axis over an edge as the solves in space have
    it; on a cone by the rule alone."""
    matrix = put_together(geometry, lift, opening)
    if geometry.half_angle:
        return as_solved(put_together, geometry, lift, matrix)
    return over_rule(geometry, lift, matrix) if geometry.offset else matrix


def smooth_lift(geometry: CheckGeometry, lift: Array) -> Array:
    """Lifts over the contact radius at which a smooth ball on a tight seat is as far away as this one is at
    lifts [m]."""
    return lift_of_gap(geometry.ball_radius / geometry.contact_radius, rough_gap(geometry, lift))


def _mass_over_edge(geometry: CheckGeometry, lift: Array) -> Mass:
    """Inertia of the liquid at lifts [m], lengths in contact radii, density 1."""
    return mass_at(*_ratios(geometry), edge_gap(geometry, lift))


def solved(geometry: CheckGeometry, lift: Array) -> bool:
    """Whether the table has the ratios of a check and all these lifts [m]."""
    (ball, ratio), table = _ratios(geometry), grid()
    in_ratios = table.ball[0] <= ball <= table.ball[-1] and table.ratio[0] <= ratio <= table.ratio[-1]
    return bool(in_ratios and lift.max() <= table.lift[-1] * geometry.contact_radius)


def _ratios(geometry: CheckGeometry) -> tuple[float, float]:
    ball = geometry.ball_radius
    return ball / geometry.contact_radius, ball / geometry.cage_radius


def _with_cage(geometry: CheckGeometry, lift: Array, values: Array, whole: Resistance) -> None:
    part = cage_part(geometry, lift, whole(geometry, lift, False))
    values[CAGE], values[CAGE_ALPHA], values[CAGE_SLIP] = part.R, part.alpha, part.S
    values[EDGE_RATE], values[EDGE_SECOND] = part.edge_rate, part.edge_second
    values[CAGE_RATE], values[CAGE_SECOND] = part.cage_rate, part.cage_second


def _with_inertia(geometry: CheckGeometry, lift: Array, values: Array, whole: Resistance) -> None:
    ball, ratio = _ratios(geometry)
    gap, gap_e = rough_gap(geometry, lift), edge_gap(geometry, lift)
    known = inertia_at(ball, ratio, gap_e)
    annulus = (ball / ratio) ** 2 - ball**2
    for first, laminar, onset, beyond in (
        (FORWARD, known.forward, known.forward_onset, annulus),
        (BACKWARD, known.backward, known.backward_onset, 1.0),
    ):
        K = laminar / gap_e**2
        turbulent = _turbulent(geometry, gap_e, beyond)
        most = np.maximum(K, turbulent)
        smooth = most * ((K / most) ** SHARPNESS + (turbulent / most) ** SHARPNESS) ** (1.0 / SHARPNESS)
        values[first], values[first + 1], values[first + 2] = K * gap**2, smooth * gap**2, onset
    values[OFFSET] = (values[ALPHA] - _kappa(geometry, lift, known, whole)) / gap
    values[LIFT_FORCE] = known.lift_force * gap / gap_e


def _turbulent(geometry: CheckGeometry, gap: Array, beyond: float) -> Array:
    """The jet from the gap by the check's own contraction, and behind the ball the annulus into the cage
    (M5h)."""
    ball = _ratios(geometry)[0]
    areas = gap_area(ball, lift_of_gap(ball, gap))
    return jet_loss(areas, geometry.discharge_coefficient, beyond)


def _kappa(geometry: CheckGeometry, lift: Array, known: Inertia, whole: Resistance) -> Array:
    """Force over area for each pressure that is lost at the ball; the bores have no part in it."""
    alone = whole(geometry._replace(seat_length=0.0, cage_length=0.0), lift, False)
    return np.asarray(known.kappa * alone.Rqw / alone.Rqq)


def _with_mass(geometry: CheckGeometry, values: Array, mass: Mass) -> None:
    ball, ratio = _ratios(geometry)
    volume = 4.0 / 3.0 * math.pi * ball**3
    added = added_mass_coefficient(min(ratio, ADDED_MASS_LAMBDA_MAX))
    values[STREAM] = math.pi**2 * mass.Mqq / (volume * added)
    values[MASS] = mass.Mww / (volume * added)
    values[COUPLING] = -mass.Mqw * math.pi * (ball / ratio) ** 2 / (volume * (1.0 + added))


def family_by(
    name: str,
    seat_and_cage: Resistance,
    mass_of: Callable[[CheckGeometry, Array], Mass],
    lifts: Range,
    solved: Callable[[CheckGeometry, Array], bool],
) -> Family:
    """A family of closures by the creeping resistance of seat and cage and the liquid's inertia around the
    ball, at lifts [m], lengths in contact radii; all else as over the edge of the tables."""

    @slip_on_axis_of(cones=True)
    def whole(geometry: CheckGeometry, lift: Array, opening: bool = False) -> Matrix:
        """With the bores: of the cage what lies above the ball's top."""
        above = np.maximum(geometry.cage_length - _top(geometry, lift), 0.0)
        return with_bores(geometry, seat_and_cage(geometry, lift, opening), lift, above)

    def lift_functions(geometry: CheckGeometry, lift: Array) -> Array:
        """All functions of lift (FUNCTIONS, lifts), in the order of the core's parameters."""
        values = creeping_functions(geometry, lift, whole)
        _with_cage(geometry, lift, values, whole)
        _with_inertia(geometry, lift, values, whole)
        _with_mass(geometry, values, mass_of(geometry, lift))
        return values

    def inertance(geometry: CheckGeometry, lift: float) -> float:
        """Of the passage (M4): by the solves up to the ball's top, then the cage."""
        seat, cage = math.pi * geometry.seat_radius**2, math.pi * geometry.cage_radius**2
        near = float(mass_of(geometry, np.array([lift])).Mqq[0]) / geometry.contact_radius
        above = max(geometry.cage_length - float(_top(geometry, lift)), 0.0)
        return geometry.seat_length / seat + near + above / cage

    return Family(
        name, seat_and_cage, whole, lift_functions, inertance, lifts, SOLVED_REYNOLDS, solved, None, True
    )


TABULATED = family_by("tabulated", seat_and_cage, _mass_over_edge, SOLVED_LIFTS, solved)

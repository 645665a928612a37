"""A check by tables of solves: creeping resistance, inertia, the liquid's mass, shear thinning.

What the tables know is a sharp edge; on a cone they are entered by the edge on the circle of contact that the
resistance is put together with.
"""

import math

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import CheckGeometry, rough_gap
from balltravel.closures.family import Family
from balltravel.closures.lift_table import creeping_functions, edge_gap, on_seat, with_bores
from balltravel.closures.off_axis import Gain, slip_on_axis
from balltravel.closures.resistance import Matrix
from balltravel.closures.table.beyond_creeping import (
    SOLVED_LIFTS,
    SOLVED_REYNOLDS,
    Inertia,
    gap_area,
    inertia_at,
    jet_loss,
    mass_at,
)
from balltravel.closures.table.edge_and_cage import cage_part
from balltravel.closures.table.tabulated import closed_forms, edge_matrix, grid, lift_of_gap, widening
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


def _narrower_bore(geometry: CheckGeometry) -> float:
    """What the opening of a cone's bore costs beyond that of the circle of contact, which the table has."""
    r, bore, cage = geometry.contact_radius, geometry.seat_radius, geometry.cage_radius
    return widening(cage / bore) * (r / bore) ** 3 - widening(cage / r)


def _top(geometry: CheckGeometry, lift: Array | float) -> Array | float:
    """Height of the ball's top over the circle of contact [m], up to which the table reaches."""
    return math.sqrt(geometry.ball_radius**2 - geometry.contact_radius**2) + lift + geometry.ball_radius


@slip_on_axis
def seat_and_cage(geometry: CheckGeometry, lift: Array, opening: bool = False) -> Matrix:
    """The seat and the ball in its cage; see Family."""
    return on_seat(geometry, lift, opening, edge_and_cage, _narrower_bore(geometry))


@slip_on_axis
def whole(geometry: CheckGeometry, lift: Array, opening: bool = False) -> Matrix:
    """With the bores: of the cage what lies above the ball's top."""
    above = np.maximum(geometry.cage_length - _top(geometry, lift), 0.0)
    return with_bores(geometry, seat_and_cage(geometry, lift, opening), lift, above)


def lift_functions(geometry: CheckGeometry, lift: Array) -> Array:
    """All functions of lift (FUNCTIONS, lifts), in the order of the core's parameters."""
    values = creeping_functions(geometry, lift, whole)
    _with_cage(geometry, lift, values)
    _with_inertia(geometry, lift, values)
    _with_mass(geometry, lift, values)
    return values


def inertance(geometry: CheckGeometry, lift: float) -> float:
    """Inertance over density of the passage [1/m] (M4): by the table up to the ball's top, then the cage."""
    ball, ratio = _ratios(geometry)
    seat, cage = math.pi * geometry.seat_radius**2, math.pi * geometry.cage_radius**2
    near = mass_at(ball, ratio, edge_gap(geometry, np.array([lift]))).Mqq[0] / geometry.contact_radius
    above = max(geometry.cage_length - float(_top(geometry, lift)), 0.0)
    return geometry.seat_length / seat + float(near) + above / cage


def solved(geometry: CheckGeometry, lift: Array) -> bool:
    """Whether the table has the ratios of a check and all these lifts [m]."""
    (ball, ratio), table = _ratios(geometry), grid()
    in_ratios = table.ball[0] <= ball <= table.ball[-1] and table.ratio[0] <= ratio <= table.ratio[-1]
    return bool(in_ratios and lift.max() <= table.lift[-1] * geometry.contact_radius)


def _ratios(geometry: CheckGeometry) -> tuple[float, float]:
    ball = geometry.ball_radius
    return ball / geometry.contact_radius, ball / geometry.cage_radius


def _with_cage(geometry: CheckGeometry, lift: Array, values: Array) -> None:
    part = cage_part(geometry, lift, whole(geometry, lift, False))
    values[CAGE], values[CAGE_ALPHA], values[CAGE_SLIP] = part.R, part.alpha, part.S
    values[EDGE_RATE], values[EDGE_SECOND] = part.edge_rate, part.edge_second
    values[CAGE_RATE], values[CAGE_SECOND] = part.cage_rate, part.cage_second


def _with_inertia(geometry: CheckGeometry, lift: Array, values: Array) -> None:
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
    values[OFFSET] = (values[ALPHA] - _kappa(geometry, lift, known)) / gap
    values[LIFT_FORCE] = known.lift_force * gap / gap_e


def _turbulent(geometry: CheckGeometry, gap: Array, beyond: float) -> Array:
    """The jet from the gap by the check's own contraction, and behind the ball the annulus into the cage
    (M5h)."""
    ball = _ratios(geometry)[0]
    areas = gap_area(ball, lift_of_gap(ball, gap))
    return jet_loss(areas, geometry.discharge_coefficient, beyond)


def _kappa(geometry: CheckGeometry, lift: Array, known: Inertia) -> Array:
    """Force over area for each pressure that is lost at the ball; the bores have no part in it."""
    alone = whole(geometry._replace(seat_length=0.0, cage_length=0.0), lift, False)
    return np.asarray(known.kappa * alone.Rqw / alone.Rqq)


def _with_mass(geometry: CheckGeometry, lift: Array, values: Array) -> None:
    ball, ratio = _ratios(geometry)
    mass = mass_at(ball, ratio, edge_gap(geometry, lift))
    volume = 4.0 / 3.0 * math.pi * ball**3
    added = added_mass_coefficient(min(ratio, ADDED_MASS_LAMBDA_MAX))
    values[STREAM] = math.pi**2 * mass.Mqq / (volume * added)
    values[MASS] = mass.Mww / (volume * added)
    values[COUPLING] = -mass.Mqw * math.pi * (ball / ratio) ** 2 / (volume * (1.0 + added))


TABULATED = Family(
    name="tabulated",
    seat_and_cage=seat_and_cage,
    whole=whole,
    lift_functions=lift_functions,
    inertance=inertance,
    lifts=SOLVED_LIFTS,
    reynolds=SOLVED_REYNOLDS,
    solved=solved,
    flows=None,
    measured_force=True,
)

"""All functions of lift of a check: creeping resistance, inertia, the liquid's mass, shear thinning.

What the tables know is a sharp edge; on a cone they are entered by the edge on the circle of contact that the
resistance is put together with.
"""

import math

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import CheckGeometry, rough_gap
from balltravel.closures.beyond_creeping import (
    Inertia,
    gap_area,
    inertia_at,
    jet_loss,
    mass_at,
)
from balltravel.closures.edge_and_cage import cage_part
from balltravel.closures.lift_table import closures_at, edge_gap, resistance_of, simplest
from balltravel.closures.tabulated import lift_of_gap
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
    MASS_OPEN,
    MASS_SHUT,
    OFFSET,
)

Array = NDArray[np.float64]

SHARPNESS = 8.0
"""Power of the smooth maximum of laminar and turbulent loss."""


def lift_functions(geometry: CheckGeometry, lift: Array) -> Array:
    """All functions of lift (FUNCTIONS, lifts), in the order of the core's parameters."""
    opening = resistance_of(geometry, lift, opening=True).S if geometry.half_angle else None
    values = simplest(*closures_at(geometry, lift), opening)
    if geometry.tabulated:
        _with_cage(geometry, lift, values)
        _with_inertia(geometry, lift, values)
        _with_mass(geometry, lift, values)
    return values


def _ratios(geometry: CheckGeometry) -> tuple[float, float]:
    ball = geometry.ball_radius
    return ball / geometry.contact_radius, ball / geometry.cage_radius


def _with_cage(geometry: CheckGeometry, lift: Array, values: Array) -> None:
    part = cage_part(geometry, lift, resistance_of(geometry, lift))
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
    alone = resistance_of(geometry._replace(seat_length=0.0, cage_length=0.0), lift)
    return np.asarray(known.kappa * alone.Rqw / alone.Rqq)


def _with_mass(geometry: CheckGeometry, lift: Array, values: Array) -> None:
    ball, ratio = _ratios(geometry)
    mass = mass_at(ball, ratio, edge_gap(geometry, lift))
    volume = 4.0 / 3.0 * math.pi * ball**3
    added = added_mass_coefficient(min(ratio, ADDED_MASS_LAMBDA_MAX))
    # On its seat the ball takes the liquid of the seat's area along, Q = pi r^2 w.
    shut = mass.Mww + 2.0 * math.pi * mass.Mqw + math.pi**2 * mass.Mqq
    values[MASS_SHUT] = shut / (volume * added)
    values[MASS_OPEN] = mass.Mww / (volume * added)
    values[COUPLING] = -mass.Mqw * math.pi * (ball / ratio) ** 2 / (volume * (1.0 + added))

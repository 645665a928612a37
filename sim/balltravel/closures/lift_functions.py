"""All functions of lift of a check: creeping resistance, inertia, the liquid's mass, shear thinning.

What the tables know is a sharp edge; on a cone they are entered by the edge on the circle of contact that the
resistance is put together with.
"""

import math

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import CheckGeometry, bores, rough_gap
from balltravel.closures.beyond_creeping import (
    Inertia,
    gap_area,
    inertia_at,
    jet_loss,
    mass_at,
    thinning_at,
)
from balltravel.closures.lift_table import closures_at, edge_gap, resistance_of, simplest
from balltravel.closures.tabulated import lift_of_gap
from balltravel.closures.tube import ADDED_MASS_LAMBDA_MAX, added_mass_coefficient
from balltravel.core.parameters import (
    ALPHA,
    BACKWARD,
    CONDUCTANCE,
    COUPLING,
    FORWARD,
    LIFT_FORCE,
    MASS_OPEN,
    MASS_SHUT,
    OFFSET,
    SHEAR_OF_BALL,
    SHEAR_OF_FLOW,
)
from balltravel.core.rheology import Rheology, flow_curve, is_newtonian, local_exponent

Array = NDArray[np.float64]

BORE_SHEAR = 1.0
"""Shear rate in a bore at which its loss counts, over Q/R^3: a liquid that loses as much (MEAN_OF_A_TUBE)."""

LEAN_RATE = 0.5
"""Share of the shear rate at which the exponent for alpha's lean is taken: it comes from how much thinner the
liquid is in the gap than in the cage, where it is sheared less. Our choice of 1, 0.5 and 0.3 by direct solves
with a Carreau liquid; a power law does not care."""

SHARPNESS = 8.0
"""Power of the smooth maximum of laminar and turbulent loss."""


def lift_functions(geometry: CheckGeometry, lift: Array, rheology: Rheology, flow: float) -> Array:
    """All functions of lift (FUNCTIONS, lifts), in the order of the core's parameters.

    ``flow`` [m3/s]: of the piston at its fastest, at which a shear-thinning liquid's exponent is taken.
    """
    opening = resistance_of(geometry, lift, opening=True).S if geometry.half_angle else None
    values = simplest(*closures_at(geometry, lift), opening)
    if not is_newtonian(rheology):
        _thin(geometry, lift, rheology, flow, values)
    if geometry.tabulated:
        _with_inertia(geometry, lift, values)
        _with_mass(geometry, lift, values)
    return values


def _ratios(geometry: CheckGeometry) -> tuple[float, float]:
    ball = geometry.ball_radius
    return ball / geometry.contact_radius, ball / geometry.cage_radius


def _thin(geometry: CheckGeometry, lift: Array, rheology: Rheology, flow: float, values: Array) -> None:
    """The shear rates, and alpha of the liquid's exponent, which is taken at each lift where the piston's
    flow would shear it (M9a)."""
    ball, ratio = _ratios(geometry)
    gap, r = edge_gap(geometry, lift), geometry.contact_radius
    # The seat bore's radius stands for both bores: it has the larger loss.
    straight = np.full(lift.shape, float(np.max(bores(geometry, geometry.cage_length))))
    total = 1.0 / (values[CONDUCTANCE] * rough_gap(geometry, lift) ** 2)
    share = np.clip(straight / total, 0.0, 1.0)
    in_bore = BORE_SHEAR * (r / geometry.seat_radius) ** 3
    bent = np.ones(lift.shape)
    for _ in range(4):
        thin = thinning_at(ball, ratio, gap, bent)
        k_q = thin.k_q / gap**2
        k = np.exp((1.0 - share) * np.log(k_q) + share * math.log(in_bore))
        bent = np.array([_bent_exponent(rheology, float(x)) for x in k * flow / r**3])
    n, slower = (
        np.array([local_exponent(rheology, float(x), 293.15) for x in share_of * k * flow / r**3])
        for share_of in (1.0, LEAN_RATE)
    )
    lean = thinning_at(ball, ratio, gap, slower).lean
    shift = (1.0 - share) * (k_q / k) ** (n - 1.0) + share * (in_bore / k) ** (n - 1.0)
    k = k * shift ** (1.0 / np.minimum(n - 1.0, -1e-6))
    values[ALPHA] *= lean * (k_q / k) ** (n - 1.0)
    values[SHEAR_OF_FLOW] = k / total
    values[SHEAR_OF_BALL] = thin.k_w


def _bent_exponent(rheology: Rheology, rate: float) -> float:
    """Exponent of the power law which, with a constant viscosity beside it, touches the flow curve in slope
    and bend: what is constant counts everywhere alike and moves no shear rate."""
    step = 1e-3
    falls = [-x * flow_curve(rheology, x, 293.15)[1] for x in (rate * math.exp(-step), rate * math.exp(step))]
    return 1.0 + math.log(falls[1] / falls[0]) / (2.0 * step)


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
    lifts = lift_of_gap(_ratios(geometry)[0], gap)
    return np.array(
        [
            jet_loss(gap_area(_ratios(geometry)[0], float(z)), geometry.discharge_coefficient, beyond)
            for z in lifts
        ]
    )


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

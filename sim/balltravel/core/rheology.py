"""Viscosity of the material at its own shear rate (M9)."""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.core.jit import formula
from balltravel.core.shared import Shared, lookup

Array = NDArray[np.float64]

INTERVALS = 480
"""Of every flow curve's table: so that all materials are of one type for the compiled core."""

FLAT = np.zeros((INTERVALS, 4))

curve_rows = lookup(INTERVALS, 4)
"""A kernel's way to a flow curve's table."""


class Rheology(NamedTuple):
    """A liquid's viscosity [Pa s] over the shear rate [1/s], whatever law it follows: a cubic spline in

        x = ln sqrt(rate^2 + floor^2),

    so that it is even and smooth at rest; ``floor`` lies far below the rates that count. ``viscosity``: at
    rest; ``yield_stress`` [Pa], which the table has in it, blunted at the floor; ``square``: of the floor;
    ``first``: ln of the floor; ``table``: shape (INTERVALS, 4), powers from 3 to 0 of the place within an
    interval, 0 to 1. ``step`` in x; 0 for a Newtonian liquid, which has no table. Beyond the last interval
    the viscosity stays.
    """

    viscosity: float
    yield_stress: float = 0.0
    square: float = 1.0
    first: float = 0.0
    step: float = 0.0
    table: Shared = FLAT


@formula
def at_square(rheology: Rheology, square: float) -> tuple[float, float]:
    """Viscosity [Pa s] and its slope over the square of the shear rate, at that square [1/s2] >= 0."""
    if rheology.step == 0.0:
        return rheology.viscosity, 0.0
    whole = square + rheology.square
    x = (0.5 * math.log(whole) - rheology.first) / rheology.step
    if x >= INTERVALS:
        return curve_rows(rheology.table)[INTERVALS - 1].sum(), 0.0
    i = max(int(x), 0)
    t = x - i
    c = curve_rows(rheology.table)[i]
    slope = (3.0 * c[0] * t + 2.0 * c[1]) * t + c[2]
    return ((c[0] * t + c[1]) * t + c[2]) * t + c[3], 0.5 * slope / (rheology.step * whole)


@formula
def flow_curve(rheology: Rheology, shear_rate: float) -> tuple[float, float]:
    """Viscosity [Pa s] and its slope over the shear rate [Pa s2], at a shear rate [1/s] >= 0."""
    eta, by_square = at_square(rheology, shear_rate * shear_rate)
    return eta, 2.0 * shear_rate * by_square


@formula
def viscosity(rheology: Rheology, shear_rate: float) -> float:
    """Viscosity [Pa s] at a shear rate [1/s] >= 0."""
    return at_square(rheology, shear_rate * shear_rate)[0]


def is_newtonian(rheology: Rheology) -> bool:
    """Whether the viscosity is the same at every shear rate."""
    return rheology.step == 0.0


@formula
def local_exponent(rheology: Rheology, shear_rate: float) -> float:
    """Slope of ln stress over ln shear rate, which is the exponent of the power law that touches the flow
    curve there; 1 for a Newtonian liquid, > 0."""
    eta, slope = flow_curve(rheology, shear_rate)
    return 1.0 + shear_rate * slope / eta

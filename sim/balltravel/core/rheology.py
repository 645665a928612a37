"""Viscosity of the material at its own shear rate and temperature (M9)."""

import math
from typing import NamedTuple

from balltravel.jit import kernel

MEAN_OF_A_TUBE = 0.785
"""Shear rate in a tube, over 8 U/d, at which a liquid of constant viscosity would lose as much: right for
exponents from 0.3 to 1 within 3.3 % of the loss (pi/4, the representative viscosity; from memory after
Schuemmer and Worthoff 1978)."""


class Rheology(NamedTuple):
    """A generalised Newtonian liquid, one smooth law:

        eta(rate) = least + (viscosity - least) (1 + (rate/onset)^2)^((exponent - 1)/2)
                    + yield_stress/sqrt(rate^2 + blunt^2)

    viscosity [Pa s], > 0, at rest; exponent [-], 0 to 1, of the stress over the shear rate far above the
    ``onset`` [1/s]; least viscosity [Pa s] at rates beyond; yield_stress [Pa], blunted at the rate ``blunt``
    [1/s]. Exponent 1 without yield stress is a Newtonian liquid exactly; a low onset a power law (Carreau
    1972), with a yield stress that of Herschel and Bulkley (1926).
    """

    viscosity: float
    exponent: float = 1.0
    onset: float = 1.0
    least: float = 0.0
    yield_stress: float = 0.0
    blunt: float = 1.0


@kernel
def flow_curve(
    rheology: Rheology,
    shear_rate: float,
    temperature: float,  # noqa: ARG001
) -> tuple[float, float]:
    """Viscosity [Pa s] and its slope over the shear rate [Pa s2], at a shear rate [1/s] >= 0 and a
    temperature [K], which has its place here though no law asks for it yet."""
    if rheology.exponent == 1.0 and rheology.yield_stress == 0.0:
        return rheology.viscosity, 0.0
    over = shear_rate / rheology.onset
    base = 1.0 + over * over
    thin = (rheology.viscosity - rheology.least) * math.pow(base, 0.5 * (rheology.exponent - 1.0))
    thin_slope = (rheology.exponent - 1.0) * thin * over / (base * rheology.onset)
    square = shear_rate * shear_rate + rheology.blunt * rheology.blunt
    stiff = rheology.yield_stress / math.sqrt(square)
    return rheology.least + thin + stiff, thin_slope - stiff * shear_rate / square


@kernel
def viscosity(rheology: Rheology, shear_rate: float, temperature: float) -> float:
    """Viscosity [Pa s] at a shear rate [1/s] >= 0 and a temperature [K]."""
    return flow_curve(rheology, shear_rate, temperature)[0]


def is_newtonian(rheology: Rheology) -> bool:
    """Whether the viscosity is the same at every shear rate."""
    return rheology.exponent == 1.0 and rheology.yield_stress == 0.0


def local_exponent(rheology: Rheology, shear_rate: float, temperature: float) -> float:
    """Slope of ln stress over ln shear rate, which is the exponent of the power law that touches the flow
    curve there; 1 for a Newtonian liquid, > 0."""
    eta, slope = flow_curve(rheology, shear_rate, temperature)
    return 1.0 + shear_rate * slope / eta

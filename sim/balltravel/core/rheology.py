"""Viscosity of the material at its own shear rate and temperature (M9)."""

from typing import NamedTuple

from balltravel.jit import kernel


class Rheology(NamedTuple):
    """A Newtonian liquid of constant viscosity.

    viscosity: Pa s, > 0; the same at every shear rate and temperature.
    """

    viscosity: float


@kernel
def viscosity(rheology: Rheology, shear_rate: float, temperature: float) -> float:  # noqa: ARG001
    """Viscosity [Pa s] at a shear rate [1/s] and a temperature [K].

    Both are taken although a Newtonian law at one temperature needs neither: every resistance asks for
    the viscosity at its own shear rate, so that a new law is written here alone.
    """
    return rheology.viscosity

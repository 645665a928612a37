"""A law of flow as the finite elements ask for it: viscosity with its slope, and developed flow in a tube.

Set-up code for tables and tests; the compiled core knows a law by its table (`core/rheology.py`).
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import singledispatch

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

from balltravel.material.flow_laws import FlowLaw, Newtonian, PowerLaw

Array = NDArray[np.float64]
Profile = Callable[[Array], Array]


@dataclass(frozen=True)
class Liquid:
    """A law with sqrt(rate^2 + floor^2) for the shear rate; the ``floor``, far below the rates that count,
    keeps the viscosity finite. Newton's method needs it near to them where a yield stress holds."""

    law: FlowLaw
    floor: float = 1e-5

    def viscosity(self, rate: Array) -> tuple[Array, Array]:
        """Viscosity at shear rates, and its slope over the shear rate; nan at a rate that is none, as of a
        solve that strays."""
        square = rate**2 + self.floor**2
        blunted = np.sqrt(square)
        # A complex step gives the slope of the stress to rounding (`FlowLaw.slope`).
        stress = self.law.curve(blunted * (1.0 + 1e-30j), self.law.parameters)
        eta = stress.real / blunted
        return eta, (stress.imag / (1e-30 * blunted) - eta) / square

    def stress(self, rate: Array) -> Array:
        """Stress at shear rates."""
        return rate * self.viscosity(rate)[0]

    def developed(self, through: float, radius: float) -> tuple[Profile, float]:
        """Velocity over the distance from a tube's axis, and pressure lost per length, at a flow."""
        if through == 0.0:
            return lambda r: np.zeros_like(r), 0.0
        return _developed(self.law, self, through, radius)


NEWTONIAN = Liquid(Newtonian(1.0))
"""Viscosity 1."""


@singledispatch
def _developed(_law: FlowLaw, liquid: Liquid, through: float, radius: float) -> tuple[Profile, float]:
    """Of a law without a closed form: wall rate by bracketing; velocity by integrating the rate from the
    wall."""
    place = radius * np.linspace(0.0, 1.0, 801)

    def rates(at_wall: float) -> Array:
        grid = np.concatenate(([0.0], at_wall * np.logspace(-9.0, 0.0, 3000)))
        stress = liquid.stress(grid)
        return np.asarray(np.interp(stress[-1] * place / radius, stress, grid))

    def flow(log_rate: float) -> float:
        # Q = pi * integral of r^2 (-du/dr) dr
        return float(math.pi * np.trapezoid(place**2 * rates(math.exp(log_rate)), place)) - abs(through)

    mean = abs(through) / (math.pi * radius**3)
    at_wall = math.exp(float(brentq(flow, math.log(mean), math.log(1e4 * mean), xtol=1e-12)))
    falling = CubicSpline(place, rates(at_wall)).antiderivative()
    sign = math.copysign(1.0, through)
    profile = lambda r: sign * (falling(radius) - falling(r))  # noqa: E731
    return profile, sign * 2.0 * float(liquid.stress(np.array([at_wall]))[0]) / radius


@_developed.register
def _(law: Newtonian, _liquid: Liquid, through: float, radius: float) -> tuple[Profile, float]:
    """Poiseuille's parabola."""
    middle = 2.0 * through / (math.pi * radius**2)
    return lambda r: middle * (1.0 - (r / radius) ** 2), law.constant * 8.0 / math.pi * through / radius**4


@_developed.register
def _(law: PowerLaw, _liquid: Liquid, through: float, radius: float) -> tuple[Profile, float]:
    """The closed form, without the floor."""
    n = law.exponent
    mean = through / (math.pi * radius**2)
    at_wall = abs(mean) * (3.0 * n + 1.0) / (n * radius)
    profile = lambda r: mean * (3 * n + 1) / (n + 1) * (1 - (r / radius) ** (1 + 1 / n))  # noqa: E731
    return profile, math.copysign(2.0 * law.consistency * at_wall**n / radius, through)

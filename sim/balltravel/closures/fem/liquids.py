"""Liquids for the finite elements: viscosity over shear rate, and their developed flow in a tube.

Set-up code for tables and tests; the compiled core has its own law (`core/rheology.py`).
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

Array = NDArray[np.float64]
Profile = Callable[[Array], Array]


class Liquid(Protocol):
    """What a solve asks of a liquid."""

    def viscosity(self, rate: Array) -> tuple[Array, Array]:
        """Viscosity at shear rates, and its slope over the shear rate."""

    def developed(self, through: float, radius: float) -> tuple[Profile, float]:
        """Velocity over the distance from a tube's axis, and pressure lost per length, at a flow."""


@dataclass(frozen=True)
class Newtonian:
    """Viscosity 1."""

    def viscosity(self, rate: Array) -> tuple[Array, Array]:
        """1 and 0."""
        return np.ones_like(rate), np.zeros_like(rate)

    def developed(self, through: float, radius: float) -> tuple[Profile, float]:
        """Poiseuille's parabola."""
        middle = 2.0 * through / (math.pi * radius**2)
        return lambda r: middle * (1.0 - (r / radius) ** 2), 8.0 / math.pi * through / radius**4


@dataclass(frozen=True)
class PowerLaw:
    """Viscosity (rate^2 + floor^2)^((n - 1)/2); the floor, far below the rates that count, keeps it
    finite."""

    n: float
    floor: float = 1e-5

    def viscosity(self, rate: Array) -> tuple[Array, Array]:
        """Viscosity and slope over rate."""
        square = rate**2 + self.floor**2
        eta = square ** (0.5 * (self.n - 1.0))
        return eta, (self.n - 1.0) * eta / square

    def developed(self, through: float, radius: float) -> tuple[Profile, float]:
        """The closed form, without the floor."""
        n = self.n
        mean = through / (math.pi * radius**2)
        at_wall = abs(mean) * (3.0 * n + 1.0) / (n * radius)
        profile = lambda r: mean * (3 * n + 1) / (n + 1) * (1 - (r / radius) ** (1 + 1 / n))  # noqa: E731
        return profile, math.copysign(2.0 * at_wall**n / radius, through)


class _Numerical:
    """Developed flow by quadrature, for a law without a closed form."""

    def viscosity(self, rate: Array) -> tuple[Array, Array]:
        raise NotImplementedError

    def _stress(self, rate: Array) -> Array:
        return rate * self.viscosity(rate)[0]

    def developed(self, through: float, radius: float) -> tuple[Profile, float]:
        """Wall rate by bracketing; velocity by integrating the rate from the wall."""
        if through == 0.0:
            return lambda r: np.zeros_like(r), 0.0
        place = radius * np.linspace(0.0, 1.0, 801)

        def rates(at_wall: float) -> Array:
            grid = np.concatenate(([0.0], at_wall * np.logspace(-9.0, 0.0, 3000)))
            return np.asarray(np.interp(self._stress(grid)[-1] * place / radius, self._stress(grid), grid))

        def flow(log_rate: float) -> float:
            # Q = pi * integral of r^2 (-du/dr) dr
            return float(math.pi * np.trapezoid(place**2 * rates(math.exp(log_rate)), place)) - abs(through)

        mean = abs(through) / (math.pi * radius**3)
        at_wall = math.exp(float(brentq(flow, math.log(mean), math.log(1e4 * mean), xtol=1e-12)))
        falling = CubicSpline(place, rates(at_wall)).antiderivative()
        sign = math.copysign(1.0, through)
        profile = lambda r: sign * (falling(radius) - falling(r))  # noqa: E731
        return profile, sign * 2.0 * float(self._stress(np.array([at_wall]))[0]) / radius


@dataclass(frozen=True)
class Carreau(_Numerical):
    """Viscosity (1 + (rate/onset)^2)^((n - 1)/2): 1 at rest, a power law far above the onset."""

    n: float
    onset: float

    def viscosity(self, rate: Array) -> tuple[Array, Array]:
        """Viscosity and slope over rate."""
        square = 1.0 + (rate / self.onset) ** 2
        eta = square ** (0.5 * (self.n - 1.0))
        return eta, (self.n - 1.0) * eta / (square * self.onset**2)


@dataclass(frozen=True)
class HerschelBulkley(_Numerical):
    """Viscosity rate^(n - 1) + yield/rate; both with rate^2 + floor^2 for rate^2."""

    n: float
    yield_stress: float
    floor: float = 1e-3

    def viscosity(self, rate: Array) -> tuple[Array, Array]:
        """Viscosity and slope over rate."""
        square = rate**2 + self.floor**2
        thin, stiff = square ** (0.5 * (self.n - 1.0)), self.yield_stress / np.sqrt(square)
        return thin + stiff, ((self.n - 1.0) * thin - stiff) / square

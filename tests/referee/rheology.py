"""M9 a second time: the flow curve, and what a pipe makes of it, both from the law itself, without tables."""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.optimize import brentq

BLUNT = 0.05
HOSE_BLUNT = 0.1
FASTEST = 1e7
PANELS, POINTS = 24, 12
_x, _w = np.polynomial.legendre.leggauss(POINTS)
LOGS = (np.arange(-PANELS, 0)[:, None] + (1 + _x) / 2).ravel()
WEIGHTS = np.tile(_w / 2, PANELS)
"""Nodes in ln(rate/rate at the wall) and weights: below e^-24 of the wall's rate less than 1e-20 flows."""


@dataclass(frozen=True)
class FlowCurve:
    """Viscosity at rest, exponent, onset, yield stress and the rate at which the law is blunted."""

    mu: float
    n: float = 1.0
    onset: float = 1.0
    tau_y: float = 0.0
    blunt: float = 1.0

    @property
    def newtonian(self):
        """Exponent 1 and no yield stress."""
        return self.n == 1 and self.tau_y == 0

    def viscosity(self, rate):
        """Viscosity at a shear rate >= 0 [Pa s]: the law's at the blunted rate, constant beyond 1e7 1/s."""
        if self.newtonian:
            return self.mu
        g = min(math.hypot(rate, self.blunt), FASTEST)
        return self.mu * (1 + (g / self.onset) ** 2) ** ((self.n - 1) / 2) + self.tau_y / g

    def in_pipe(self, W):
        """Viscosity of the Newtonian liquid that loses as much in laminar pipe flow at W = 8 U/d >= 0 [Pa s].

        The law's own profile; only W is blunted.
        """
        if self.newtonian:
            return self.mu
        W = math.hypot(W, HOSE_BLUNT * self.blunt)
        return self._stress(wall_rate(self, W)) / W

    def _stress(self, rate):
        """The law's stress at rates > 0, not blunted."""
        return self.mu * rate * (1 + (rate / self.onset) ** 2) ** ((self.n - 1) / 2) + self.tau_y

    def _slope(self, rate):
        """Slope of the stress over the rate."""
        s = (rate / self.onset) ** 2
        return self.mu * (1 + s) ** ((self.n - 3) / 2) * (1 + self.n * s)

    def eight_U_over_d(self, wall):
        """4/tau_w^3 times the integral of tau^2 rate over tau up to the wall's (Rabinowitsch 1929)."""
        rate = wall * np.exp(LOGS)
        tau = self._stress(rate) / self._stress(wall)
        # d tau = slope rate d ln rate
        return 4 * float(np.sum(WEIGHTS * tau**2 * rate**2 * self._slope(rate))) / self._stress(wall)


@lru_cache(maxsize=64)
def wall_rate(curve, W):
    """Shear rate at the wall of a pipe at 8 U/d; kept, for a Jacobian asks for most of them again."""

    def short(x):
        return math.log(curve.eight_U_over_d(W * math.exp(x)) / W)

    # Thinning blunts the profile: the wall is sheared at least as fast as a Newtonian liquid would be.
    high = 1.0
    while short(high) < 0:
        high += 1.0
    return W * math.exp(brentq(short, -1e-9, high, xtol=1e-14, rtol=1e-14))


def flow_curve(material, cycle_rate):
    """The flow curve of a scenario's material."""
    if material.flow == "Newtonian":
        return FlowCurve(material.viscosity)
    return FlowCurve(
        material.viscosity,
        material.thinning_exponent or 1.0,
        material.thinning_onset or 1.0,
        material.yield_stress or 0.0,
        BLUNT * cycle_rate,
    )

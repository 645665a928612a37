"""Laminar flow of a material of any law through a round pipe, developed and steady.

Rabinowitsch (1929) and Mooney (1931): with no slip at the wall

    Q = pi R^3/tau_w^3 integral_0^tau_w tau^2 rate dtau

whatever the law is. Here the shear rate at the wall is the unknown, of which stress, drop and flow follow
without an inverse of the law. Laminar only: the caller watches the Reynolds number. SI units.
"""

import math
from functools import singledispatch

import numpy as np

from balltravel.material.flow_laws import Casson, FlowLaw, HerschelBulkley, Newtonian, PowerLaw, above_zero

# Of the quadrature: e-foldings below the wall's rate that it covers, a panel of ten points each. What is left
# out is below exp(-40) of the flow; ten points are exact to rounding on a law whose nearest singular point is
# pi/2 from the real logarithm of the rate (Carreau's; Cross's is pi or more).
PANELS = 40
_points, _weights = np.polynomial.legendre.leggauss(10)
LOGS = (np.arange(-PANELS, 0)[:, None] + 0.5 * (_points + 1.0)).ravel()
WEIGHTS = np.tile(0.5 * _weights, PANELS)


@singledispatch
def reduced_flow(law: FlowLaw, rate: float) -> float:
    """Q/(pi R^3) [1/s] where the shear rate at the wall is ``rate`` [1/s] > 0.

    Of a law without a closed form by Gauss and Legendre's quadrature over the logarithm of the rate.
    """
    rates = rate * np.exp(LOGS)
    stress = law.stress(rates) / law.stress(rate)
    slope = law.slope(rates) / law.stress(rate)
    return float(np.sum(WEIGHTS * stress**2 * slope * rates**2))


@reduced_flow.register
def _(_law: Newtonian, rate: float) -> float:
    """Hagen and Poiseuille: rate/4."""
    return 0.25 * rate


@reduced_flow.register
def _(law: PowerLaw, rate: float) -> float:
    n = law.exponent
    return rate * n / (3.0 * n + 1.0)


@reduced_flow.register
def _(law: HerschelBulkley, rate: float) -> float:
    """The integral term by term (textbooks, from memory); at exponent 1 Buckingham (1921), Reiner (1926)."""
    n, wall = law.exponent, float(law.stress(rate))
    held = law.yield_stress / wall
    flows = float(law.consistency * rate**n) / wall
    terms = flows**2 / (3.0 * n + 1.0) + 2.0 * held * flows / (2.0 * n + 1.0) + held**2 / (n + 1.0)
    return n * rate * flows * terms


@reduced_flow.register
def _(law: Casson, rate: float) -> float:
    """1 - 16/7 s + 4/3 s^2 - s^8/21 with s^2 = yield stress over wall stress (textbooks, from memory).

    Times 21 that is (1 - s)^3 (21 + 15 s + 10 s^2 + 6 s^3 + 3 s^4 + s^5), which loses no digits near s = 1.
    """
    held, flows = math.sqrt(law.yield_stress), math.sqrt(law.plastic * rate)
    s = held / (held + flows)
    poly = 21.0 + s * (15.0 + s * (10.0 + s * (6.0 + s * (3.0 + s))))
    return 0.25 * rate * flows / (held + flows) * poly / 21.0


def _pipe(radius: float, length: float) -> None:
    above_zero("pipe radius", "m", radius, 0.0125)
    above_zero("pipe length", "m", length, 3.0)


def wall_rate(law: FlowLaw, radius: float, length: float, drop: float) -> float:
    """Shear rate at the wall [1/s] of a pipe of a radius and length [m] > 0 at a pressure drop [Pa] >= 0.

    0 where the yield stress holds the material. Raises ValueError at other numbers.
    """
    _pipe(radius, length)
    above_zero("pressure drop", "Pa", drop, 5e4, zero=True)
    return float(law.rate_of(0.5 * drop * radius / length))


def flow(law: FlowLaw, radius: float, length: float, drop: float) -> float:
    """Flow [m3/s] through a pipe of a radius and length [m] > 0 at a pressure drop [Pa] >= 0.

    0 where the yield stress holds the material. Closed forms, exact to rounding; Carreau, Cross and
    the thinning paste by quadrature, 1e-12. Raises ValueError at other numbers.
    """
    rate = wall_rate(law, radius, length, drop)
    return math.pi * radius**3 * reduced_flow(law, rate) if rate > 0.0 else 0.0


def starting_drop(law: FlowLaw, radius: float, length: float) -> float:
    """Pressure drop [Pa] below which the yield stress lets nothing through: 2 L tau_y/R; 0 without one."""
    _pipe(radius, length)
    return 2.0 * length * law.yield_stress / radius


def drop(law: FlowLaw, radius: float, length: float, flow: float) -> float:
    """Pressure drop [Pa] of a flow [m3/s] >= 0 through a pipe of a radius and length [m] > 0.

    The inverse of `flow`; at no flow the drop at which it starts. Raises ValueError at other numbers.
    """
    _pipe(radius, length)
    above_zero("flow", "m3/s", flow, 1e-4, zero=True)
    from scipy.optimize import brentq

    if flow == 0.0:
        return starting_drop(law, radius, length)
    goal = flow / (math.pi * radius**3)

    def missing(log_rate: float) -> float:
        return math.log(reduced_flow(law, math.exp(log_rate)) / goal)

    # The integral by parts: Q is pi R^3/3 times the wall's rate less something, so the bracket starts below.
    low = high = math.log(3.0 * goal) - 1e-6
    step = 1.0
    while missing(high) < 0.0:
        low, high, step = high, high + step, 2.0 * step
    rate = math.exp(float(brentq(missing, low, high, xtol=1e-14, rtol=1e-14)))
    return 2.0 * length / radius * float(law.stress(rate))

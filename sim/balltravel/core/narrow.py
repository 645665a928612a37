"""Narrow passages: a spray tip, the gap of a packing (M8b)."""

import math

from balltravel.core.jit import formula
from balltravel.core.parameters import Narrow
from balltravel.core.rheology import Rheology, flow_curve

MOST_TURNS = 100
LARGEST_EXPONENT = 700.0

FASTEST = 1e30
"""A shear rate [1/s] beyond every flow curve, where its viscosity is least."""


@formula
def with_viscosity(passage: Narrow, mu: float, size: float) -> float:
    """Flow [m3/s] of a liquid of one viscosity at a pressure drop [Pa] >= 0."""
    a = mu * passage.laminar
    return 2.0 * size / (a + math.sqrt(a * a + 4.0 * passage.head * size))


@formula
def narrow_flow(passage: Narrow, rheology: Rheology, dp: float) -> tuple[float, float]:
    """Flow through a passage [m3/s] and its slope with the pressure drop [m3/(s Pa)]; 0 without a passage.

    dp = mu(rate |Q|) laminar Q + head Q|Q|, whose right side rises with Q: Newton's method in logarithms, in
    which a power law is straight, between the flows at the largest and the least viscosity.
    """
    if passage.laminar == 0.0:
        return 0.0, 0.0
    size = abs(dp)
    thickest, _ = flow_curve(rheology, 0.0)
    if size == 0.0:
        return 0.0, 1.0 / (thickest * passage.laminar)
    thinnest, _ = flow_curve(rheology, FASTEST)
    low, high = with_viscosity(passage, thickest, size), with_viscosity(passage, thinnest, size)
    Q, slope = low, 1.0
    for _ in range(MOST_TURNS):
        mu, mu_rate = flow_curve(rheology, passage.rate * Q)
        lost = (mu * passage.laminar + passage.head * Q) * Q
        slope = (mu + mu_rate * passage.rate * Q) * passage.laminar + 2.0 * passage.head * Q
        if lost < size:
            low = Q
        else:
            high = Q
        # As plain Python a larger exponent is an error; compiled it gives inf, which is out of bounds too.
        wanted = Q * math.exp(min(math.log(size / lost) * lost / (slope * Q), LARGEST_EXPONENT))
        if abs(wanted - Q) <= 1e-13 * Q or high - low <= 1e-15 * high:
            break
        Q = wanted if low < wanted < high else math.sqrt(low * high)
    return math.copysign(Q, dp), 1.0 / slope

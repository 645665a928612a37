"""Narrow passages: a spray tip, the gap of a packing (M8b)."""

import math

from balltravel.core.parameters import Narrow
from balltravel.core.rheology import Rheology, flow_curve
from balltravel.jit import kernel

MOST_TURNS = 50


@kernel
def narrow_flow(passage: Narrow, rheology: Rheology, dp: float) -> tuple[float, float]:
    """Flow through a passage [m3/s] and its slope with the pressure drop [m3/(s Pa)]; 0 without a passage.

    dp = mu(rate |Q|) laminar Q + head Q|Q|, whose right side rises with Q: Newton's method between bounds.
    """
    if passage.laminar == 0.0:
        return 0.0, 0.0
    size = abs(dp)
    mu, mu_rate = flow_curve(rheology, 0.0)
    # At rest the liquid is thickest: a flow that is too small to begin with.
    a = mu * passage.laminar
    Q = 2.0 * size / (a + math.sqrt(a * a + 4.0 * passage.head * size))
    low, high = 0.0, math.inf
    slope = a
    for _ in range(MOST_TURNS):
        mu, mu_rate = flow_curve(rheology, passage.rate * Q)
        lost = (mu * passage.laminar + passage.head * Q) * Q
        slope = (mu + mu_rate * passage.rate * Q) * passage.laminar + 2.0 * passage.head * Q
        step = (size - lost) / slope
        if abs(step) <= 1e-12 * Q:
            break
        if step > 0.0:
            low = Q
        else:
            high = Q
        Q = Q + step if low < Q + step < high else min(0.5 * (low + high), 10.0 * Q)
    return math.copysign(Q, dp), 1.0 / slope

"""Wall friction of a round pipe or hose at every Reynolds number."""

import math

from balltravel.core.jit import formula
from balltravel.core.ranges import Range

STOKES_END = 200.0
"""Reynolds number below which the whole formula gives 1 to the last bit, and a slope below 1e-30."""

HOSE_REYNOLDS = Range(
    "hose friction",
    "Reynolds number in the hose",
    ((0.0, 2000.0), (4000.0, math.inf)),
    "between, a real hose jumps between laminar and turbulent; Churchill (1977) is a mean",
)
HOSE_ROUGHNESS = Range("hose friction", "hose roughness over diameter", ((0.0, 0.05),), "Churchill (1977)")


@formula
def friction_ratio(reynolds: float, relative_roughness: float) -> tuple[float, float]:
    """Darcy friction factor over its laminar value, f Re/64 [-], and its derivative with Re.

    ``reynolds``: on the diameter, >= 0 (pass the size of a reverse flow's); ``relative_roughness``: 0 to
    0.05. The pressure loss is the laminar one times this ratio, so it stays regular at rest. Exactly 1
    below Re 500, where what Churchill adds is less than a double can hold. Smooth through transition,
    which a real hose is not: between Re 2000 and 4000 take it as a mean (about 30 %).
    Source: Churchill (1977), ``f = 8 ((8/Re)^12 + (A + B)^-1.5)^(1/12)`` with
    ``A = (2.457 ln(1/((7/Re)^0.9 + 0.27 eps)))^16`` and ``B = (37530/Re)^16``, for Darcy's f.
    """
    if reynolds < STOKES_END:
        return 1.0, 0.0
    # Divided by 8/Re and with B in front of the sum, no power overflows at either end.
    viscous = (7.0 / reynolds) ** 0.9
    inner = viscous + 0.27 * relative_roughness
    log_term = -2.457 * math.log(inner)
    y = log_term * reynolds / 37530.0
    dy = (log_term + 2.457 * 0.9 * viscous / inner) / 37530.0
    y2 = y * y
    y4 = y2 * y2
    y8 = y4 * y4
    a = y8 * y8
    da = 16.0 * (y * y2 * y4 * y8) * dy
    share = reynolds / 37530.0
    root = reynolds / 8.0 * (share * share) * (1.0 + a) ** -0.125
    root4 = (root * root) * (root * root)
    t = root4 * (root4 * root4)
    growth = 3.0 / reynolds - 0.125 * da / (1.0 + a)
    ratio = (1.0 + t) ** (1.0 / 12.0)
    return ratio, ratio * t / (1.0 + t) * growth

"""A ball that settles along the axis of a tube of still liquid that thins or has a yield stress (M9).

Creeping flow. Set-up code, not a kernel. Lengths over the tube's diameter; ``ratio`` is ball over tube
diameter, 0 in open liquid.
"""

import csv
import math
from functools import cache
from importlib import resources
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.cubic import Cubic, spline
from balltravel.closures.drag import cage_fall_speed, drag_factor
from balltravel.closures.tube import LAMBDA_MIN, tube_resistance
from balltravel.core.ranges import Range
from balltravel.core.rheology import Rheology, is_newtonian, local_exponent, viscosity
from balltravel.core.roots import root

Array = NDArray[np.float64]

RATIO_MAX = 0.95

NARROW = {
    0.0: 0.8109302162163288,
    0.2: 0.8368681741385781,
    0.3: 0.8720553578066109,
    0.4: 0.9024937746667154,
    0.5: 0.9287132518727121,
    0.6: 0.9514805613115246,
    0.8: 0.9891377131212522,
}
"""Limit of ln k + 2 ln(1 - ratio) in a narrow gap at the table's exponents: (ln C(n) - ln C(1))/(n - 1).

Lubrication of a power-law liquid that the ball pushes through the gap h0 + z^2/(2R) beside it:
X -> C(n) (1 - ratio)^-(2n + 1/2), C = sqrt(2)/6 2^n (2 + 1/n)^n sqrt(pi) Gamma(2n + 1/2)/Gamma(2n + 1).
"""

SETTLING = Range(
    "settling ball", "exponent of the liquid at the ball", ((0.1, 1.0),), "own solves of power-law liquids"
)


class _Table(NamedTuple):
    """Logarithm of the rate factor k, over ratios (rows) and exponents (columns)."""

    ratios: Array
    exponents: Array
    rate: Array


def wall_factor(ratio: float) -> float:
    """K1 of a ball on the axis of a tube of still Newtonian liquid, ``Rww/(6 pi ratio)``; 1 in open liquid.

    Below the range of the table of the tube Faxen's series (1923, from memory), with which it agrees there
    within 1e-5. Raises ValueError outside 0 to 0.95.
    """
    _refuse_ratio(ratio)
    if ratio < LAMBDA_MIN:
        return 1.0 / (1.0 - 2.10444 * ratio + 2.08877 * ratio**3 - 0.94813 * ratio**5)
    return tube_resistance(ratio).Rww / (6.0 * math.pi * ratio)


def _refuse_ratio(ratio: float) -> None:
    if not 0.0 <= ratio <= RATIO_MAX * (1.0 + 1e-12):  # a ratio of two lengths may be off by rounding
        raise ValueError(f"ball over cage diameter: got {ratio!r}, allowed 0 to {RATIO_MAX}, for example 0.7")


@cache
def _table() -> _Table:
    """The solves shipped with the package."""
    text = resources.files(__package__).joinpath("ball_in_power_law.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
    X = {(float(row["ratio"]), float(row["n"])): float(row["X"]) for row in rows}
    ratios, exponents = (np.array(sorted(set(column))) for column in zip(*X, strict=True))
    rate = np.array([[math.log(X[r, n] / wall_factor(r)) / (n - 1.0) for n in exponents] for r in ratios])
    return _Table(ratios, exponents, rate)


def _over_exponent(table: _Table, ratio: float) -> Cubic:
    """ln k over the exponent: at every exponent of the table ln k + 2 ln(1 - ratio) over the ratio, to the
    limit of a narrow gap."""
    reduced = table.rate + 2.0 * np.log(1.0 - table.ratios)[:, None]
    limits = np.array([NARROW[n] for n in table.exponents.tolist()])
    over_ratio = spline(np.append(table.ratios, 1.0), np.vstack((reduced, limits)))
    return spline(table.exponents, over_ratio(ratio) - 2.0 * math.log(1.0 - ratio))


@cache
def _rate_spline(ratio: float) -> Cubic:
    _refuse_ratio(ratio)
    return _over_exponent(_table(), ratio)


def rate_factor(n: float, ratio: float) -> float:
    """Shear rate of a settling ball over w/d: a Newtonian liquid of the viscosity there has the same drag.

    ``(X/K1)^(1/(n - 1))``, finite at n = 1, where it is the limit. ``n``: exponent 0 to 1; ``ratio``: 0 to
    0.95. Raises ValueError outside.
    """
    if not 0.0 <= n <= 1.0:
        raise ValueError(f"exponent of a power law: got {n!r}, allowed 0 to 1, for example 0.5")
    return math.exp(float(_rate_spline(ratio)(n)))


def power_law_drag(n: float, ratio: float) -> float:
    """X: drag 3 pi m w^n d^(2-n) X of a ball in a power-law liquid of stress m rate^n, creeping, still.

    K1 at n = 1; at n = 0 a perfectly plastic body of yield stress m. ``n``: 0 to 1; ``ratio``: 0 to 0.95.
    Raises ValueError outside.
    """
    return wall_factor(ratio) * math.pow(rate_factor(n, ratio), n - 1.0)


def settling_rate(rheology: Rheology, speed: float, diameter: float, ratio: float) -> float:
    """Shear rate [1/s] whose viscosity decides the drag of a ball at a speed [m/s]: k w/d, with k at the
    liquid's exponent at that very rate."""
    shear = abs(speed) / diameter
    if shear == 0.0:
        return 0.0
    log_factor = _rate_spline(ratio)

    def off(log_k: float) -> float:
        n = local_exponent(rheology, math.exp(log_k) * shear)
        return log_k - float(log_factor(min(max(n, 0.0), 1.0)))

    ends = log_factor(np.linspace(0.0, 1.0, 41))
    return shear * math.exp(float(root(off, ends.min() - 0.1, ends.max() + 0.1, xtol=1e-13)))


def drag(
    rheology: Rheology,
    speed: float,
    diameter: float,
    ratio: float,
    density: float = 0.0,
) -> float:
    """Drag [N] of a ball of a diameter [m] at a speed [m/s] >= 0: 3 pi d w eta(k w/d) K1 in creeping flow; of
    a liquid with a ``density`` [kg/m3] inertia's share as of a Newtonian liquid of that viscosity."""
    rate = settling_rate(rheology, speed, diameter, ratio)
    eta = float(viscosity(rheology, rate))
    factor = float(drag_factor(density * speed * diameter / eta, wall_factor(ratio), ratio))
    return 3.0 * math.pi * diameter * speed * eta * factor


def largest_yield_stress(weight: float, diameter: float, ratio: float = 0.0) -> float:
    """Yield stress [Pa] that just holds a ball of a net weight [N]: F/(3 pi d^2 X(0, ratio)).

    In open liquid that is Y_g = 2 pi R^2 tau_y/F = 0.143 (Beris, Tsamopoulos, Armstrong and Brown 1985); in a
    cage own solves, a few per cent. With ``ratio`` left at 0 it is the criterion of open liquid, which in a
    close cage promises too much: the cage holds a ball at a lower yield stress.
    """
    return abs(weight) / (3.0 * math.pi * diameter**2 * power_law_drag(0.0, ratio))


def held(rheology: Rheology, weight: float, diameter: float, ratio: float = 0.0) -> bool:
    """Whether the yield stress holds a ball of a net weight [N]."""
    return rheology.yield_stress >= largest_yield_stress(weight, diameter, ratio) or weight == 0.0


def settling_speed(
    rheology: Rheology,
    diameter: float,
    ball_density: float,
    density: float,
    gravity: float,
    ratio: float,
) -> float:
    """Steady speed of a ball let go on the axis of its cage in still liquid [m/s], positive downwards.

    ``diameter`` [m], densities [kg/m3], ``gravity`` [m/s2], all > 0; ``ratio``: ball over cage diameter, 0
    (open liquid) to 0.95. With inertia, which of a liquid that thins is taken as of a Newtonian one of its
    viscosity at the ball; 0 if the yield stress holds the ball. A ball lighter than the liquid rises
    (negative).
    """
    _refuse_ratio(ratio)
    if is_newtonian(rheology):
        K1 = wall_factor(ratio)
        return float(cage_fall_speed(diameter, ball_density, density, rheology.viscosity, gravity, K1, ratio))
    weight = (ball_density - density) * math.pi / 6.0 * diameter**3 * gravity
    if held(rheology, weight, diameter, ratio):
        return 0.0

    def missing(log_speed: float) -> float:
        force = drag(rheology, math.exp(log_speed), diameter, ratio, density)
        return math.log(force / abs(weight))

    # The liquid is nowhere thicker than at rest, so a creeping ball is no slower than there.
    at_rest = float(viscosity(rheology, 0.0))
    low = math.log(abs(weight) / (3.0 * math.pi * at_rest * diameter * wall_factor(ratio))) - 1e-6
    while missing(low) > 0.0:
        low -= 2.0
    high = low + 1.0
    while missing(high) < 0.0:
        low, high = high, high + 2.0 * (high - low)
    return math.copysign(math.exp(float(root(missing, low, high, xtol=1e-13))), weight)

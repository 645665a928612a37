"""Fits the numbers by which a check shears a liquid that thins (docs/closures.md, shear thinning).

``python tests/thinning_fitted.py`` prints them beside those in use, and what is left. To: power laws at an
edge (``ball_over_edge_thinning.csv``) and beside a ball in a tube, and the rows of
``own_solves_of_thinning.csv`` that say so. Rows held back are not read.
"""

import math
from functools import partial
from typing import NamedTuple

import numpy as np
from helpers.edge_alone import Place, creeping
from scipy.optimize import least_squares
from thinning_compared import DATA, read, rows_of

from balltravel.closures.table.beyond_creeping import table
from balltravel.closures.table.edge_and_cage import FITTED, Rates, cage_rates, edge_rates
from balltravel.closures.table.tabulated import gap_of_lift
from balltravel.closures.tube import tube_resistance
from balltravel.core.thinning import CAGE_BALL, CAGE_SHARE, EDGE_BALL, EDGE_SHARE

POWER = 1.5
"""Errors count to this power before they are squared: the worst count more."""
CARRIED = 0.06
"""Weight of the flow that carries a ball, which errs by tens of per cent."""
FIRST_RATIO = 0.55


class Numbers(NamedTuple):
    """All that is fitted."""

    rates: Rates
    edge_share: float
    cage_share: float
    edge_ball: float
    cage_ball: float


SHIPPED = Numbers(FITTED, EDGE_SHARE, CAGE_SHARE, EDGE_BALL, CAGE_BALL)
# Positive numbers by their logarithm, shares by that of share/(1 - share).
POSITIVE = ("cage", "cage_second", "edge", "edge_gap", "edge_second")
SIGNED = {i for i, name in enumerate(Rates._fields) if name not in POSITIVE}


def coded(numbers):
    plain = [x if i in SIGNED else math.log(x) for i, x in enumerate(numbers.rates)]
    shares = [math.log(x / (1.0 - x)) for x in (numbers.edge_share, numbers.cage_share)]
    return np.array([*plain, *shares, math.log(numbers.edge_ball), math.log(numbers.cage_ball)])


def decoded(x):
    plain = [v if i in SIGNED else math.exp(v) for i, v in enumerate(x[:-4])]
    shares = [1.0 / (1.0 + math.exp(-v)) for v in x[-4:-2]]
    return Numbers(Rates(*plain), *shares, math.exp(x[-2]), math.exp(x[-1]))


class Part(NamedTuple):
    """A resistance at viscosity 1 and what makes its shear rates."""

    R: float
    alpha: float
    S: float
    rate: float
    second: float
    share: float
    ball: float


def tube_part(ratio, numbers, size=1.0):
    """A ball in a tube of radius ``size``, with the tube's own loss over its height."""
    t = tube_resistance(ratio)
    R = t.Rqq + 16.0 / math.pi * ratio
    S = t.S + t.Rqw**2 * (1.0 / t.Rqq - 1.0 / R)
    rate, second = cage_rates(ratio, numbers.rates)
    return Part(
        R / size**3, t.Rqw / R * size**2, S * size, rate / size**3, second, numbers.cage_share,
        numbers.cage_ball / (ratio * size),
    )  # fmt: skip


def parts(place, numbers):
    """Cage and edge of a place, lengths in seat radii."""
    known, size = creeping(place), place.ball / place.ratio
    cage = tube_part(place.ratio, numbers, size)
    R = known.Rqq - cage.R
    alpha = (known.alpha * known.Rqq - cage.alpha * cage.R) / R
    S = known.S - cage.S - cage.R * R / known.Rqq * (alpha - cage.alpha) ** 2
    gap = gap_of_lift(place.ball, np.array([place.lift]))
    rate, second = edge_rates(place.ball, size, gap, numbers.rates)
    edge = Part(
        R, alpha, max(S, 0.0), float((rate / gap**2)[0]), float(second[0]), numbers.edge_share,
        numbers.edge_ball / place.ball,
    )  # fmt: skip
    return cage, edge


def law(found, eta, Q, w):
    """dp and F at a flow and a speed, and the sizes of their terms; ``eta``: viscosity over shear rate."""
    dp = F = drop = force = 0.0
    for p in found:
        flow = Q - p.alpha * w
        both = (math.hypot(c * p.rate * flow, p.ball * w) for c in (1.0, p.second))
        one, two = (eta(rate) for rate in both)
        mu = p.share * one + (1.0 - p.share) * two
        lost, size = mu * p.R * flow, mu * p.R * (abs(Q) + p.alpha * abs(w))
        dp, F = dp + lost, F + p.alpha * lost - mu * p.S * w
        drop, force = drop + size, force + p.alpha * size + mu * p.S * abs(w)
    return dp, F, drop, force


def power_law(n, rate):
    return max(rate, 1e-9) ** (n - 1.0)


def liquid_of(row, rate):
    names = ("viscosity", "exponent", "onset", "yield_stress", "blunt")
    viscosity, n, onset, tau, blunt = (float(row[name]) for name in names)
    if tau > 0.0:
        rate = math.hypot(rate, blunt)
    return viscosity * (1.0 + (rate / onset) ** 2) ** (0.5 * (n - 1.0)) + tau / max(rate, 1e-12)


def of_edge(numbers):
    """Power laws at the edge: drop and force of the held ball, force of one that moves with its flow."""
    t = table("ball_over_edge_thinning", 3)
    exponents = [float(name[3:]) for name in t.names[::3]]
    for at in np.ndindex(t.values.shape[:3]):
        place = Place(*(float(axis[i]) for axis, i in zip(t.axes, at, strict=True)))
        known, found = creeping(place), parts(place, numbers)
        for n, (kq, lean, kw) in zip(exponents, t.values[at].reshape(-1, 3), strict=True):
            eta = partial(power_law, n)
            drop, alpha = known.Rqq * kq ** (n - 1.0), lean * known.alpha
            dp, F, _, _ = law(found, eta, 1.0, 0.0)
            yield dp / drop - 1.0
            yield F / (alpha * drop) - 1.0
            dp, F, _, force = law(found, eta, alpha, 1.0)
            yield (alpha * dp - F - known.S * kw ** (n - 1.0)) / force


def of_tube(numbers):
    """Power laws beside a ball in a tube."""
    for row in read(DATA.with_name("own_solves_of_power_laws_in_a_tube.csv")):
        if float(row["ratio"]) > FIRST_RATIO:
            found = (tube_part(float(row["ratio"]), numbers),)
            Q, w, seen, pushed = (float(row[name]) for name in ("Q", "w", "dp", "F"))
            dp, F, drop, force = law(found, partial(power_law, float(row["n"])), Q, w)
            yield (dp - seen) / drop
            yield (F - pushed) / force


def of_liquids(numbers, carried):
    """Carreau and Herschel-Bulkley liquids: drop and force; or what the flow of a carried ball is off by."""
    for one in rows_of():
        if not one.fitted or (one.motion == "carried") != carried:
            continue
        found, eta = parts(one.place, numbers), partial(liquid_of, one.row)
        dp, F, drop, force = law(found, eta, one.Q, one.w)
        if carried:
            beside = law(found, eta, 1.001 * one.Q, one.w)[1]
            yield CARRIED * (one.F - F) / (beside - F) * 0.001
        else:
            yield (dp - one.dp) / drop
            yield (F - one.F) / force


def errors(numbers):
    """All errors, by where they are from."""
    return {
        "power laws at an edge": np.array(list(of_edge(numbers))),
        "power laws in a tube": np.array(list(of_tube(numbers))),
        "other liquids": np.array(list(of_liquids(numbers, carried=False))),
        "carried balls, weighted": np.array(list(of_liquids(numbers, carried=True))),
    }


def counted(x):
    v = np.concatenate(list(errors(decoded(x)).values()))
    return np.sign(v) * np.abs(v) ** POWER


def main():
    numbers = decoded(least_squares(counted, coded(SHIPPED)).x)
    for name, new, old in zip(Rates._fields, numbers.rates, SHIPPED.rates, strict=True):
        print(f"{name:20} {new:8.4f}  in use {old:8.4f}")
    for name, new, old in zip(Numbers._fields[1:], numbers[1:], SHIPPED[1:], strict=True):
        print(f"{name:20} {new:8.4f}  in use {old:8.4f}")
    for name, found in errors(SHIPPED).items():
        size = 100.0 * np.abs(found)
        print(f"{name}: median {np.median(size):.1f} %, worst {size.max():.1f} %")


if __name__ == "__main__":
    main()

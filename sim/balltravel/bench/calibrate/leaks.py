"""Leaks: gaps, of which readings may say only that they are small, and what leaks at a stall in all."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from balltravel.bench.calibrate.posterior import FARTHEST, Marginal
from balltravel.bench.calibrate.ranges import NOT_LEARNT
from balltravel.bench.fit import CREEP, Row
from balltravel.scenario.model import Scenario
from balltravel.units.spread import SURE

if TYPE_CHECKING:
    from balltravel.bench.calibrate.calibrate import Fit

SEEN_AT_ALL = 0.95
"""Width over the prior's from which on a gap is not looked at closer."""

PLACES = np.array([-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0])
NEAR = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])
"""Where a gap is looked at: in standard deviations of its prior, and about the best fit in those after."""


@dataclass(frozen=True)
class LeakSum:
    """What leaks in a stall past several places together [m3/s], before and after, 95 of 100 between low and
    high: single leaks cannot be told apart by a creep. ``learnt`` as of an input."""

    name: str
    before: tuple[float, float]
    after: tuple[float, float, float]
    share: float
    learnt: bool


FOLLOW = 2.5
"""How far the others follow a gap that is looked at, in its standard deviations after (our choice)."""


def marginals_of(fit: "Fit") -> dict[int, Marginal]:
    """The marginal laws of the gaps that were fitted, by the number of their unknown: a gap that leaks less
    than anybody sees may be as small as it likes, which no normal law says."""
    gaps = fit.unknowns.leaks & fit.posterior.fitted & (fit.posterior.widths < SEEN_AT_ALL)
    return {int(i): _marginal(fit, int(i)) for i in np.flatnonzero(gaps)}


def _marginal(fit: "Fit", i: int) -> Marginal:
    """By the cost along a line on which the other unknowns follow, as far as they are correlated."""
    from scipy.interpolate import PchipInterpolator

    p = fit.posterior
    width = p.widths[i]
    at = np.unique(np.round(np.concatenate([PLACES, p.best[i] + width * NEAR]), 6))
    at = at[np.abs(at) <= FARTHEST]
    reach = FOLLOW * width
    along = np.clip(at - p.best[i], -reach, reach)
    points = p.best + np.outer(along, p.covariance[i] / p.covariance[i, i])
    points[:, i] = at
    off = fit.values - fit.bench.expected(fit.rows, points)
    cost = np.einsum("ni,ni->n", off, np.linalg.solve(p.errors, off.T).T) + (points**2).sum(axis=1)
    runs = np.isfinite(cost)
    fine = np.linspace(at[runs][0], at[runs][-1], 1001)
    fine_cost = PchipInterpolator(at[runs], cost[runs])(fine)
    share = np.cumsum(np.exp(-0.5 * (fine_cost - fine_cost.min())))
    middle, low, high = np.interp([0.5, 0.025, 0.975], share / share[-1], fine)
    return Marginal(float(middle), float(low), float(high))


_PAST = {
    "seconds_per_stroke_up": "piston seat, piston packing and rod packing together",
    "seconds_per_stroke_down": "foot valve and rod packing together",
}


def sums_of(fit: "Fit", scenario: Scenario) -> tuple[LeakSum, ...]:
    """What each creep that was read says of the leaks behind it."""
    lower, p = scenario.lower, fit.posterior
    rod = math.pi / 4.0 * lower.rod**2
    areas = dict(zip(CREEP, (math.pi / 4.0 * lower.bore**2 - rod, rod), strict=True))
    sums = []
    for i, row in enumerate(fit.rows):
        if row.key in CREEP:
            prior = float(np.linalg.norm(fit.first.slopes[i]))
            left = math.sqrt(float(p.slopes[i] @ p.covariance @ p.slopes[i]))
            wide = _flows(areas[row.key], row, fit.first.expected[i], prior)
            after = _flows(areas[row.key], row, p.expected[i], left)
            share = left / max(prior, 1e-12)
            sums.append(LeakSum(_PAST[row.key], wide[1:], after, share, share <= NOT_LEARNT))
    return tuple(sums)


def _flows(area: float, row: Row, middle: float, sd: float) -> tuple[float, float, float]:
    """What leaks [m3/s] at a creep, given as its sign has it, and at both ends of 95 of 100."""
    ends = (middle, middle - SURE * sd, middle + SURE * sd)
    first, low, high = (area * max(math.exp(end) - row.floor, 0.0) for end in ends)
    return first, low, high

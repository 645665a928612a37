"""Leaks: which gaps a stall leaves possible, and what leaks past several of them together.

What leaks past one place adds to what leaks past another, so that readings of a stall know sums: a normal law
about one best fit would name one of the places. So the gaps are drawn from their ranges, and each draw weighs
as much as it fits the readings.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from balltravel.bench.calibrate.expected import STALL
from balltravel.bench.calibrate.posterior import Array
from balltravel.bench.calibrate.ranges import NOT_LEARNT, Marginal
from balltravel.bench.fit import BY_THE_CUBE, CREEP, Row
from balltravel.bench.one_sided import log_likelihood, taken

if TYPE_CHECKING:
    from balltravel.bench.calibrate.calibrate import Fit

DRAWS = 1 << 18
GRID = np.linspace(-3.5, 3.5, 9)
"""Sizes of a gap that are run, in standard deviations of its range."""

ENDS = (0.025, 0.5, 0.975)


@dataclass(frozen=True)
class LeakSum:
    """What leaks in a stall past several places together [m3/s], before (low, high) and after (middle, low,
    high), 95 of 100 between: single leaks cannot be told apart by a creep. ``learnt`` as of an input, by the
    widths of the logarithm."""

    name: str
    before: tuple[float, float]
    after: tuple[float, float, float]
    share: float
    learnt: bool


@dataclass(frozen=True)
class Leaks:
    """The marginal laws of the gaps by the number of their unknown, and the sums."""

    marginals: Mapping[int, Marginal] = field(default_factory=dict)
    sums: tuple[LeakSum, ...] = ()


_PAST = {
    "seconds_per_stroke_up": "piston seat, piston packing and rod packing together",
    "seconds_per_stroke_down": "foot valve and rod packing together",
}


def leaks_of(fit: "Fit") -> Leaks:
    """What a stall says of leaks; nothing where no creep and no weep was read, or no gap is unknown."""
    gaps = np.flatnonzero(fit.unknowns.leaks)
    places = [i for i, row in enumerate(fit.rows) if row.key in BY_THE_CUBE]
    if not len(gaps) or not places:
        return Leaks()
    rows = [fit.rows[i] for i in places]
    draws = np.clip(np.random.default_rng(0).normal(size=(DRAWS, len(gaps))), GRID[0], GRID[-1])
    flows = _flows(fit, gaps, rows, draws)
    floors = np.array([row.floor for row in rows])
    off = np.array([row.value for row in rows]) - np.log(flows + floors)
    at_most = np.array([row.at_most for row in rows], bool)
    reading, others = _errors(fit, places)
    both = np.linalg.inv(reading + others)
    likely = log_likelihood(off, reading + others, at_most)
    weights = np.exp(likely - likely.max())
    off = taken(off, both, at_most)
    marginals = {}
    for k, gap in enumerate(gaps.tolist()):
        low, _, high = _quantiles(draws[:, k], weights)
        marginals[gap] = Marginal(low, high)
    # What leaks in all hangs on the other unknowns too: of what a draw is off, their share is theirs.
    noise = np.random.default_rng(1).normal(size=off.shape)
    before = np.log(flows + floors) + noise @ _root(others).T
    after = (
        np.log(flows + floors) + off @ (others @ both).T + noise @ _root(others - others @ both @ others).T
    )
    sums = [
        _sum(fit, row, before[:, i], after[:, i], weights) for i, row in enumerate(rows) if row.key in CREEP
    ]
    return Leaks(marginals, tuple(sums))


def _root(covariance: Array) -> Array:
    """A matrix whose square is a covariance, which may be singular."""
    sizes, vectors = np.linalg.eigh(covariance)
    return np.asarray(vectors * np.sqrt(np.maximum(sizes, 0.0)))


def _flows(fit: "Fit", gaps: NDArray[np.intp], rows: list[Row], draws: Array) -> Array:
    """Signs of the stall [SI] (draws, rows) as sums over the gaps (draws, gaps), each run alone over a grid
    with all other unknowns at their best fit."""
    points = np.repeat(fit.posterior.best[None], 1 + len(gaps) * len(GRID), axis=0)
    points[:, gaps] = GRID[0]
    for k, gap in enumerate(gaps):
        points[1 + k * len(GRID) : 1 + (k + 1) * len(GRID), gap] = GRID
    signs = fit.bench.signs(STALL, points)
    total = np.zeros((len(draws), len(rows)))
    for i, row in enumerate(rows):
        values = np.nan_to_num(signs[row.key])
        total[:, i] = values[0]
        for k in range(len(gaps)):
            more = values[1 + k * len(GRID) : 1 + (k + 1) * len(GRID)] - values[0]
            total[:, i] += _over_grid(np.maximum(more, 0.0), draws[:, k])
    return total


def _over_grid(values: Array, at: Array) -> Array:
    """Between the sizes that were run: even in the logarithm of the size and of what leaks."""
    from scipy.interpolate import PchipInterpolator

    least = 1e-6 * max(float(values.max()), 1e-30)
    fine = np.linspace(GRID[0], GRID[-1], 1001)
    curve = np.exp(PchipInterpolator(GRID, np.log(values + least))(fine)) - least
    return np.asarray(np.interp(at, fine, np.maximum(curve, 0.0)))


def _errors(fit: "Fit", places: list[int]) -> tuple[Array, Array]:
    """Covariances of the errors of what leaks: of reading, and by all unknowns but the gaps, as the readings
    of the pump at work leave them."""
    p = fit.posterior
    fitted = np.flatnonzero(p.fitted & ~fit.unknowns.leaks)
    at_work = [i for i in range(len(fit.rows)) if i not in places]
    slopes = p.slopes[:, fitted]
    own = slopes[at_work]
    errors = p.errors[np.ix_(at_work, at_work)]
    information = np.eye(len(fitted)) + own.T @ np.linalg.solve(errors, own)
    moved = slopes[places]
    by_others = np.asarray(moved @ np.linalg.solve(information, moved.T))
    return p.errors[np.ix_(places, places)], by_others


def _quantiles(values: Array, weights: Array) -> tuple[float, float, float]:
    order = np.argsort(values)
    share = np.cumsum(weights[order])
    low, middle, high = np.interp(ENDS, share / share[-1], values[order])
    return float(low), float(middle), float(high)


def _sum(fit: "Fit", row: Row, before: Array, after: Array, weights: Array) -> LeakSum:
    """What leaks behind a creep, of draws of its sign before and after, on the sign's scale: upwards it
    empties the ring around the rod, downwards the rod fills both chambers."""
    lower = fit.unknowns.scenario.lower
    rod = math.pi / 4.0 * lower.rod**2
    area = rod if row.key == CREEP[1] else math.pi / 4.0 * lower.bore**2 - rod
    ends = _quantiles(before, np.ones(len(before))), _quantiles(after, weights)
    share = (ends[1][2] - ends[1][0]) / max(ends[0][2] - ends[0][0], 1e-12)
    wide, left = ([area * max(math.exp(end) - row.floor, 0.0) for end in each] for each in ends)
    return LeakSum(
        _PAST[row.key], (wide[0], wide[2]), (left[1], left[0], left[2]), share, share <= NOT_LEARNT
    )

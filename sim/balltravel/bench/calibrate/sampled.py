"""The posterior where signs bend: of a lower that fills, delivery says nothing of what would starve it.

Along each principal axis of the normal law about the best fit the signs are run on both sides, and taken as
straight on each. What this leaves is sampled.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from balltravel.bench.calibrate.posterior import FARTHEST, Array
from balltravel.bench.one_sided import chi_square_of

if TYPE_CHECKING:
    from balltravel.bench.calibrate.calibrate import Fit

REACH = 1.5
"""How far signs are run along an axis, in its standard deviations (our choice)."""

CHAINS, STEPS, DROPPED, EVERY = 256, 1200, 300, 4
"""Walkers, their steps, the steps that are dropped first, and of the others which are kept."""


IMPOSSIBLE = 1e9
"""Cost of what lies farther off than an unknown may go."""


def samples_of(fit: "Fit") -> Array:
    """Points (samples, unknowns) of the posterior; unknowns that were not fitted stay in their middle. Leaks
    are taken as normal here (``leaks`` does better)."""
    p = fit.posterior
    fitted = np.flatnonzero(p.fitted)
    if not len(fitted):
        return p.best[None]
    axes = np.zeros((len(p.best), len(fitted)))
    sizes, vectors = np.linalg.eigh(p.covariance[np.ix_(fitted, fitted)])
    axes[fitted] = vectors * np.sqrt(np.maximum(sizes, 0.0))
    up, down = _bent(fit, axes)
    inverse = np.linalg.inv(p.errors)
    left = fit.values - p.expected

    def cost(at: Array) -> Array:
        points = p.best + at @ axes.T
        off = left - np.maximum(at, 0.0) @ up.T - np.minimum(at, 0.0) @ down.T
        total = chi_square_of(off, inverse, fit.at_most) + (points**2).sum(axis=1)
        return np.where(np.abs(points).max(axis=1) <= FARTHEST, total, IMPOSSIBLE)

    return np.asarray(p.best + _walked(cost, len(fitted)) @ axes.T)


def _bent(fit: "Fit", axes: Array) -> tuple[Array, Array]:
    """Slopes (readings, axes) of the pump at work on both sides of the best fit, of a stall and where a run
    fails those at the best fit."""
    p, count = fit.posterior, axes.shape[1]
    straight = p.slopes @ axes
    at_work = np.array([row.situation.startswith("seen") for row in fit.rows])
    rows = [row for row in fit.rows if row.situation.startswith("seen")]
    both = [straight.copy(), straight.copy()]
    if rows:
        ways = np.vstack([axes.T, -axes.T]) * REACH
        points = np.clip(p.best + ways, -FARTHEST, FARTHEST)
        moved = (fit.bench.expected(rows, points) - p.expected[at_work]).T / REACH
        for side, sign, slopes in ((both[0], 1.0, moved[:, :count]), (both[1], -1.0, moved[:, count:])):
            side[at_work] = np.where(np.isfinite(slopes), sign * slopes, straight[at_work])
    return both[0], both[1]


def _walked(cost: Callable[[Array], Array], count: int) -> Array:
    """Points that many walkers with Metropolis' rule come by, of a law about as wide as one each way."""
    rng = np.random.default_rng(0)
    at = rng.normal(size=(CHAINS, count))
    now, kept = cost(at), []
    size = 2.0 / np.sqrt(max(count, 1))
    for step in range(STEPS):
        there = at + size * rng.normal(size=at.shape)
        further = cost(there)
        better = np.log(rng.uniform(size=CHAINS)) < 0.5 * (now - further)
        at, now = np.where(better[:, None], there, at), np.where(better, further, now)
        if step >= DROPPED and step % EVERY == 0:
            kept.append(at)
    return np.concatenate(kept)

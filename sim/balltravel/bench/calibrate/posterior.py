"""What readings leave of unknowns: Gauss-Newton with priors, and a normal law about the best fit (Laplace).

Every unknown stands in a coordinate in which its prior is the standard normal law.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

STEP = 0.3
"""Step of a difference, in standard deviations of the prior (our choice)."""

MOST_ROUNDS = 5
SETTLED = 0.05
"""Change of every coordinate below which a fit has settled, of a standard deviation of the prior."""

FARTHEST = 4.0
"""Standard deviations of the prior up to which an unknown may go."""

SHARES_OF_A_STEP = (1.0, 0.5, 0.25)

SHOWS = 0.2
"""By how many of its errors of reading an unknown must move one to be fitted (our choice); those that move
less are taken together as a further error."""

Signs = Callable[[Array], Array]
"""Points (n, unknowns) to what is expected of the readings there (n, readings), nan where a run failed."""


@dataclass(frozen=True)
class Posterior:
    """What is known after the readings: the best fit (unknowns), its covariance, which unknowns were fitted,
    what is expected there of the readings and their slopes (readings, unknowns), the covariance of their
    errors (with what is not fitted), and chi-square, that of the priors included: as many degrees of freedom
    as readings."""

    best: Array
    covariance: Array
    fitted: Flags
    expected: Array
    slopes: Array
    errors: Array
    chi_square: float

    @property
    def widths(self) -> Array:
        """Standard deviations, of those of the prior."""
        return np.sqrt(np.diag(self.covariance))


@dataclass(frozen=True)
class Linear:
    """What is expected of the readings at a point, and their slopes (readings, unknowns)."""

    expected: Array
    slopes: Array


def posterior_of(
    values: Array, sds: Array, signs: Signs, begin: Array, first: Linear, always: Flags | None = None
) -> Posterior:
    """Fit unknowns to readings with independent errors (standard deviations). ``first``: what is expected
    where it is to ``begin``; ``always``: unknowns to be fitted even if they show in nothing there."""
    best, expected, slopes = begin, first.expected, first.slopes
    fitted: Flags = np.asarray((np.abs(slopes) > SHOWS * sds[:, None]).any(axis=0))
    if always is not None:
        fitted |= always
    rest = slopes * ~fitted
    errors = np.diag(sds**2) + rest @ rest.T
    for _ in range(MOST_ROUNDS):
        step = _step(values - expected, slopes * fitted, errors, best)
        there = _best_along(best, step, values, errors, signs)
        settled = bool(np.abs(there - best).max(initial=0.0) < SETTLED)
        if (there != best).any():
            best = there
            linear = linear_at(best, fitted, signs)
            expected, slopes = linear.expected, linear.slopes
        if settled:
            break
    slopes = slopes * fitted
    information = np.eye(len(best)) + slopes.T @ np.linalg.solve(errors, slopes)
    off = values - expected
    chi_square = float(off @ np.linalg.solve(errors, off) + best @ best)
    covariance = np.asarray(np.linalg.inv(information))
    return Posterior(best, covariance, fitted, expected, slopes, errors, chi_square)


def linear_at(at: Array, moved: Flags, signs: Signs) -> Linear:
    """By one-sided differences in the unknowns that are ``moved``; where a run fails on one side by
    the other, else nothing."""
    count, places = len(at), np.flatnonzero(moved)
    ways = np.where(at > 1.0, -STEP, STEP)  # inwards, where the laws of chance are not cut
    values = signs(at + np.vstack([np.zeros(count), *(np.eye(count)[places] * ways[places][:, None])]))
    slopes = np.zeros((values.shape[1], count))
    slopes[:, places] = ((values[1:] - values[0]) / ways[places][:, None]).T
    failed = places[~np.isfinite(slopes[:, places]).all(axis=0)]
    if len(failed):
        again = signs(at - np.eye(count)[failed] * ways[failed][:, None])
        slopes[:, failed] = ((values[0] - again) / ways[failed][:, None]).T
    return Linear(values[0], np.nan_to_num(slopes, nan=0.0))


def _step(off: Array, slopes: Array, errors: Array, at: Array) -> Array:
    weighed = np.linalg.solve(errors, slopes)
    information = np.eye(len(at)) + slopes.T @ weighed
    there = np.linalg.solve(information, weighed.T @ (off + slopes @ at))
    return np.asarray(np.clip(there, -FARTHEST, FARTHEST) - at)


def _best_along(at: Array, step: Array, values: Array, errors: Array, signs: Signs) -> Array:
    """The best of some points along a step; where it began if none is better."""
    points = at + np.outer((0.0, *SHARES_OF_A_STEP), step)
    off = values - signs(points)
    with np.errstate(invalid="ignore"):
        cost = np.einsum("ni,ni->n", off, np.linalg.solve(errors, off.T).T) + (points**2).sum(axis=1)
    return np.asarray(points[int(np.argmin(np.where(np.isfinite(cost), cost, np.inf)))])

"""What readings leave of unknowns: Gauss-Newton with priors, and a normal law about the best fit (Laplace).

Every unknown stands in a coordinate in which its prior is the standard normal law.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from balltravel.bench.one_sided import chi_square_of

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

STEP = 0.3
"""Step of a difference, in standard deviations of the prior (our choice)."""

MOST_STEPS = 10
SETTLED = 0.05
"""Change of every coordinate below which a fit has settled, of a standard deviation of the prior."""

FARTHEST = 4.0
"""Standard deviations of the prior up to which an unknown may go."""

SHORTER = (0.5, 0.25, 0.1)
"""Shares of a step that are tried where the whole of it does not help."""

SHOWS = 0.2
"""By how many of its errors of reading an unknown must move one to be fitted (our choice); those that move
less are taken together as a further error."""

Signs = Callable[[Array], Array]
"""Points (n, unknowns) to what is expected of the readings there (n, readings), nan where a run failed."""


@dataclass(frozen=True)
class Read:
    """What was read, on the scales of the signs, and the standard deviations of its errors; ``at_most``:
    which values are bounds."""

    values: Array
    sds: Array
    at_most: Flags

    def pulling(self, expected: Array) -> Flags:
        """Which readings say something at what is expected of them: all but bounds that are kept."""
        return np.asarray(~self.at_most | (expected > self.values))


@dataclass(frozen=True)
class Posterior:
    """What is known after the readings: the best fit (unknowns), its covariance, which unknowns were fitted,
    what is expected there of the readings and their slopes (readings, unknowns), the covariance of their
    errors (with what is not fitted), and chi-square, that of the priors included: as many degrees of freedom
    as readings that are no bounds. A bound holds on one side alone, so that the covariance leaves it out."""

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


def approached(
    read: Read, signs: Signs, begin: Array, first: Linear, always: Flags | None = None
) -> tuple[Array, Flags]:
    """About where the best fit lies, and which unknowns were fitted, by slopes that are never made anew."""
    fitted, errors = _fitted(read.sds, first, always)
    best, *_ = _descended(read, errors, signs, begin, first, fitted, anew=False)
    return best, fitted


def posterior_of(
    read: Read, signs: Signs, begin: Array, first: Linear, always: Flags | None = None
) -> Posterior:
    """Fit unknowns to readings with independent errors (standard deviations). ``first``: what is expected
    where it is to ``begin``; ``always``: unknowns to be fitted even if they show in nothing there."""
    fitted, errors = _fitted(read.sds, first, always)
    best, linear, made_at = _descended(read, errors, signs, begin, first, fitted)
    if np.abs(best - made_at).max(initial=0.0) > STEP:
        linear = linear_at(best, fitted, signs)
    expected, slopes = linear.expected, linear.slopes * fitted
    valued = np.flatnonzero(~read.at_most)
    own = slopes[valued]
    information = np.eye(len(best)) + own.T @ np.linalg.solve(errors[np.ix_(valued, valued)], own)
    misfit = chi_square_of(read.values - expected, np.linalg.inv(errors), read.at_most)
    chi_square = float(misfit + best @ best)
    covariance = np.asarray(np.linalg.inv(information))
    return Posterior(best, covariance, fitted, expected, slopes, errors, chi_square)


def _fitted(sds: Array, first: Linear, always: Flags | None) -> tuple[Flags, Array]:
    """Which unknowns are fitted, and the covariance of the errors of reading and of all others."""
    fitted: Flags = np.asarray((np.abs(first.slopes) > SHOWS * sds[:, None]).any(axis=0))
    if always is not None:
        fitted |= always
    rest = first.slopes * ~fitted
    return fitted, np.diag(sds**2) + rest @ rest.T


def _descended(
    read: Read, errors: Array, signs: Signs, best: Array, linear: Linear, fitted: Flags, anew: bool = True
) -> tuple[Array, Linear, Array]:
    """The best fit, what is expected there with its slopes, and where these were made.

    Gauss-Newton. A run for each unknown at every step would cost most of all, so each step corrects the
    slopes by what it saw (Broyden's rank-one update); they are made ``anew`` where they do not lead on.
    """
    linear, made_at = Linear(linear.expected, linear.slopes * fitted), best
    for _ in range(MOST_STEPS):
        step = _step(read, linear, errors, best)
        there, expected = _better(best, step, linear.expected, read, errors, signs)
        moved, missed = there - best, expected - linear.expected - linear.slopes @ (there - best)
        best, linear = there, Linear(expected, linear.slopes)
        if np.abs(moved).max(initial=0.0) >= SETTLED:  # a smaller step sees more noise than slope
            linear = Linear(expected, linear.slopes + np.outer(missed, moved) / (moved @ moved))
        elif anew and np.abs(best - made_at).max(initial=0.0) > STEP:
            linear, made_at = linear_at(best, fitted, signs), best
        else:
            break
    return best, linear, made_at


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


def _step(read: Read, linear: Linear, errors: Array, at: Array) -> Array:
    """By the readings that say something here."""
    places = np.flatnonzero(read.pulling(linear.expected))
    off, slopes = (read.values - linear.expected)[places], linear.slopes[places]
    weighed = np.linalg.solve(errors[np.ix_(places, places)], slopes)
    information = np.eye(len(at)) + slopes.T @ weighed
    there = np.linalg.solve(information, weighed.T @ (off + slopes @ at))
    return np.asarray(np.clip(there, -FARTHEST, FARTHEST) - at)


def _better(
    at: Array, step: Array, expected: Array, read: Read, errors: Array, signs: Signs
) -> tuple[Array, Array]:
    """The end of a step and what is expected there; where that is no better the best of shorter ones, or
    where it began."""

    precision = np.linalg.inv(errors)

    def costs(points: Array, there: Array) -> Array:
        with np.errstate(invalid="ignore"):
            misfit = chi_square_of(read.values - there, precision, read.at_most)
            cost = misfit + (points**2).sum(axis=1)
        return np.where(np.isfinite(cost), cost, np.inf)

    now = float(costs(at[None], expected[None])[0])
    for shares in ((1.0,), SHORTER):
        points = at + np.outer(shares, step)
        there = signs(points)
        cost = costs(points, there)
        if cost.min() < now:
            place = int(np.argmin(cost))
            return points[place], there[place]
    return at, expected

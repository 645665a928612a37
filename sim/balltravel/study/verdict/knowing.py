"""What it would save to know something: of an input, or of what a measurement says.

Who knows x chooses by what is expected there: the losses of all arrangements are regressed on x, after
Strong, Oakley and Brennan (2014, doi 10.1177/0272989X13505910), by a smooth curve over its rank; of names
each has its own mean. What is saved is counted by the losses themselves, not by the curve. What chance alone
would show is found with x in other orders.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Known = NDArray[np.float64] | NDArray[np.object_]

KNOTS = (0.0, 1.0 / 3.0, 2.0 / 3.0, 1.0)
"""Knots of the curve over the rank of x (our choice: of two to five the nearest to known values)."""

ORDERS = 200
"""Other orders of x by which chance is judged."""

CLEARLY = 2.0
"""Times its noise that a saving must be to be told: of twenty inputs that play no part one lies above its
noise, and fewer than one in 1000 above twice that (measured on four jobs; docs/verdict.md)."""

LEAST_NOISE = 0.0003
"""Noise below which no number of draws is trusted, over swept (our choice)."""


class Saving(NamedTuple):
    """What knowing saves on average, over swept, and what chance alone would show in 95 of 100."""

    saved: float
    noise: float

    @property
    def is_clear(self) -> bool:
        """Whether it is more than chance would show."""
        return self.saved > CLEARLY * self.noise


def saving(loss: Array, x: Known, seed: int = 0) -> Saving:
    """What is saved by choosing by x (one number or name a draw) what costs ``loss`` [draw, arrangement],
    against the arrangement that costs least on average."""
    columns = _columns(x)
    if columns.shape[1] < 2:
        return Saving(0.0, LEAST_NOISE)
    rng = np.random.default_rng(seed)
    axes = np.linalg.qr(columns)[0]
    by_chance = [_saved(loss, axes[rng.permutation(len(loss))]) for _ in range(ORDERS)]
    saved = max(0.0, _saved(loss, axes))
    return Saving(saved, max(LEAST_NOISE, float(np.quantile(by_chance, 0.95))))


def _saved(loss: Array, axes: Array) -> float:
    """Loss of the one arrangement that costs least on average, less that of the one that the curve names."""
    by_x = np.argmin(axes @ (axes.T @ loss), axis=1)
    return float(loss.mean(axis=0).min() - np.take_along_axis(loss, by_x[:, None], 1).mean())


def _columns(x: Known) -> Array:
    """What a curve over x is made of, a line a draw: of numbers a natural cubic spline over the rank, of
    names one column each."""
    if x.dtype == object:
        names = sorted(set(x.tolist()))
        return np.array([[float(value == name) for name in names] for value in x]).reshape(len(x), -1)
    share = _rank(np.asarray(x, np.float64))
    if np.ptp(share) == 0.0:
        return np.ones((len(x), 1))
    return np.column_stack([np.ones_like(share), share, *_natural(share, np.array(KNOTS))])


def _rank(x: NDArray[np.float64]) -> Array:
    """The share of draws below each, equal ones alike."""
    values, place, count = np.unique(x, return_inverse=True, return_counts=True)
    middle = np.cumsum(count) - 0.5 * count
    return np.asarray(middle[place] / len(x)) if len(values) > 1 else np.zeros(len(x))


def _natural(share: Array, knots: Array) -> list[Array]:
    """Columns of a natural cubic spline beyond the straight line (Hastie, Tibshirani and Friedman 2009,
    eq. 5.4)."""

    def hinge(k: int) -> Array:
        ends = np.maximum(share - knots[k], 0.0) ** 3 - np.maximum(share - knots[-1], 0.0) ** 3
        return np.asarray(ends / (knots[-1] - knots[k]))

    last = hinge(len(knots) - 2)
    return [hinge(k) - last for k in range(len(knots) - 2)]

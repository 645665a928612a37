"""Readings that say only that there was less than something, as a creep that nobody saw in a time.

Such a reading has no value but a bound. It says nothing of an expectation that lies below; of one above it
says as much as a reading of the bound would.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Inverse = NDArray[np.floating[Any]]

PASSES = 8
"""Passes over several bounds, each of which moves the others where their errors go together (our choice)."""


def taken(off: Array, precision: Inverse, at_most: Flags) -> Array:
    """Readings less what is expected of them (..., readings), those that are ``at_most`` their bound as it is
    likeliest: what all others make of their error, or the bound less what is expected where that is lower.

    ``precision``: the inverse of the covariance of the errors (..., readings, readings).
    """
    places = np.flatnonzero(at_most)
    left = np.array(off)
    left[..., places] = np.minimum(left[..., places], 0.0)
    for _ in range(PASSES if len(places) > 1 else 1):
        for i in places:
            own = precision[..., i, i]
            by_others = left[..., i] - (precision[..., i, :] * left).sum(axis=-1) / own
            left[..., i] = np.minimum(off[..., i], by_others)
    return left


def chi_square_of(off: Array, precision: Inverse, at_most: Flags) -> Array:
    """Chi-square of readings less what is expected of them: a bound that is kept adds nothing."""
    left = taken(off, precision, at_most)
    return np.asarray((left * (precision @ left[..., None])[..., 0]).sum(axis=-1))


def log_likelihood(off: Array, covariance: Array, at_most: Flags) -> Array:
    """Logarithm of the density of readings less what is expected of them (..., readings) by a covariance
    (..., readings, readings), but for a constant; of a bound the chance of less, given all that was read.
    Several bounds are taken as independent of one another then."""
    from scipy.special import log_ndtr

    read, bounds = np.flatnonzero(~at_most), np.flatnonzero(at_most)
    own = covariance[..., read[:, None], read]
    values = off[..., read]
    weighed = np.linalg.solve(np.broadcast_to(own, (*values.shape, len(read))), values[..., None])[..., 0]
    total = -0.5 * ((values * weighed).sum(axis=-1) + np.linalg.slogdet(own)[1])
    if len(bounds):
        cross = covariance[..., read[:, None], bounds]
        middle = (weighed[..., None] * cross).sum(axis=-2)
        less = (cross * np.linalg.solve(own, cross)).sum(axis=-2)
        spread = np.sqrt(covariance[..., bounds, bounds] - less)
        total = total + log_ndtr((off[..., bounds] - middle) / spread).sum(axis=-1)
    return np.asarray(total)

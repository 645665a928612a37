"""Piecewise cubics: the spline through a table's points, evaluated without loading a library.

The same numbers as scipy's CubicSpline, to the last bit where the machine fuses no multiplication with an
addition (tests/closures/test_cubic.py).
"""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


class Cubic(NamedTuple):
    """``knots``, rising (n + 1), and ``powers``: coefficients (4, n, ...) of the powers from 3 to 0 of the
    place in each interval. Beyond the ends the outer intervals go on."""

    knots: Array
    powers: Array

    def __call__(self, at: ArrayLike) -> Array:
        """Values at places of any shape: (..., more axes of the values)."""
        places = np.asarray(at, dtype=float)
        last = self.knots.size - 2
        interval = np.clip(np.searchsorted(self.knots, places, side="right") - 1, 0, last)
        s = (places - self.knots[interval]).reshape(places.shape + (1,) * (self.powers.ndim - 2))
        c = self.powers[:, interval]
        square = s * s
        return np.asarray(c[3] + c[2] * s + c[1] * square + c[0] * (square * s))


def spline(x: ArrayLike, y: ArrayLike) -> Cubic:
    """The cubic spline through values (n, ...) at rising knots, n > 3; of the two intervals at each end both
    are one cubic (not-a-knot: de Boor 1978, from memory)."""
    knots, values = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    h = np.diff(knots)
    wide = h.reshape((-1,) + (1,) * (values.ndim - 1))
    rise = np.diff(values, axis=0) / wide
    right = np.empty_like(values)
    right[1:-1] = 3.0 * (wide[1:] * rise[:-1] + wide[:-1] * rise[1:])
    first, last = knots[2] - knots[0], knots[-1] - knots[-3]
    right[0] = ((wide[0] + 2.0 * first) * wide[1] * rise[0] + wide[0] ** 2 * rise[1]) / first
    right[-1] = (wide[-1] ** 2 * rise[-2] + (2.0 * last + wide[-1]) * wide[-2] * rise[-1]) / last
    below = [*h[1:].tolist(), float(last)]
    middle = [float(h[1]), *(2.0 * (h[:-1] + h[1:])).tolist(), float(h[-2])]
    above = [float(first), *h[:-1].tolist()]
    slopes = _tridiagonal(below, middle, above, right)
    bend = (slopes[:-1] + slopes[1:] - 2.0 * rise) / wide
    return Cubic(knots, np.stack([bend / wide, (rise - slopes[:-1]) / wide - bend, slopes[:-1], values[:-1]]))


def _tridiagonal(below: list[float], middle: list[float], above: list[float], right: Array) -> Array:
    """Solution of a tridiagonal system by elimination, rows exchanged where the lower one is larger."""
    n = len(middle)
    far = [0.0] * n
    # Of a single function plain numbers, which Python adds far faster than arrays of one.
    b: list[Any] = right.tolist() if right.ndim == 1 else list(right.reshape(n, -1).copy())
    for i in range(n - 1):
        if abs(middle[i]) >= abs(below[i]):
            share = below[i] / middle[i]
            middle[i + 1] -= share * above[i]
            b[i + 1] = b[i + 1] - share * b[i]
            continue
        share = middle[i] / below[i]
        middle[i], over = below[i], middle[i + 1]
        middle[i + 1] = above[i] - share * over
        if i < n - 2:
            far[i], above[i + 1] = above[i + 1], -share * above[i + 1]
        above[i] = over
        b[i], b[i + 1] = b[i + 1], b[i] - share * b[i + 1]
    b[-1] = b[-1] / middle[-1]
    b[-2] = (b[-2] - above[-1] * b[-1]) / middle[-2]
    for i in range(n - 3, -1, -1):
        rest = b[i] - above[i] * b[i + 1]
        b[i] = (rest - far[i] * b[i + 2] if far[i] else rest) / middle[i]
    return np.array(b).reshape(right.shape)

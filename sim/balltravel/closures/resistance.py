"""The symmetric resistance of a check, and two of them in series."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
TINY = 1e-300


class Matrix(NamedTuple):
    """Symmetric resistance of a check (M5): Rqq, Rqw, S = Rww - Rqw^2/Rqq, lengths in seat radii; arrays."""

    Rqq: Array
    Rqw: Array
    S: Array


def series(first: Matrix, second: Matrix) -> Matrix:
    """Two resistances in series carry the same flow and ball: their matrices add.

    S of the sum is written without the small difference: S_1 + S_2 + (Rqq_1 Rqq_2/Rqq) (alpha_1 - alpha_2)^2,
    a sum of positive terms.
    """
    Rqq = first.Rqq + second.Rqq
    # A resistance of 0 (no bore to speak of) has no alpha of its own, and adds nothing.
    unlike = first.Rqw / np.maximum(first.Rqq, TINY) - second.Rqw / np.maximum(second.Rqq, TINY)
    # One of the two may be far larger (a shut seat): the product over the sum, without overflow.
    parallel = first.Rqq / Rqq * second.Rqq
    return Matrix(Rqq, first.Rqw + second.Rqw, first.S + second.S + parallel * unlike**2)


def scalar(loss: Array) -> Matrix:
    """A loss [1/r^3] that the ball has no part in."""
    return Matrix(np.asarray(loss), np.zeros_like(loss), np.zeros_like(loss))

"""What a ball off its axis changes, by the solves in space: more than the rule knows (M5k).

Interpolated are the logarithms of the factors by which Rqq, Rqw and S change off the axis; of the first two
over those of the rule, so that little is left. Lengths in seat radii. Set-up code, not a kernel.
"""

from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.off_axis import gain_of, offset_at
from balltravel.closures.resistance import Matrix
from balltravel.closures.table.off_axis_grid import Grid, Row, Spin, grid_of, matrix, meeting, reach, solves
from balltravel.closures.table.tabulated import closed_forms

Array = NDArray[np.float64]

SMOOTH = 1e-9
"""Roughness of a check that is given by ratios alone."""

HELD, FREE = 0, 1

TURNING = 0.1
"""Lift over the lowest solved, about at which what turning adds to the flow is half of that there: it fades
slowly, as it has films to overcome, while S follows the lift (two solves at half the lowest lift)."""


def rule(ball: float, ratio: float, lift: float, offset: float) -> Array:
    """Factors by which the rule changes Rqq, Rqw and S off the axis."""
    at = np.array([lift])
    check = CheckGeometry(1.0, 0.0, ball, ball / ratio, 0.0, 0.7, SMOOTH, offset=offset)
    off, on = (closed_forms(ball, ratio, at, gain) for gain in (gain_of(check, at), None))
    return np.array([off.Rqq[0] / on.Rqq[0], off.Rqw[0] / on.Rqw[0], 1.0])


def factors(ball: float, ratio: float, lift: float, offset: float, spin: Spin) -> Array | None:
    """Factors by which Rqq, Rqw and S of the ball on its axis change; None outside the solves."""
    return factors_of(gains(), ball, ratio, lift, offset, spin)


def factors_of(
    known: Grid, ball: float, ratio: float, lift: float, offset: float, spin: Spin
) -> Array | None:
    """The same by given nodes."""
    share, lean = lift / meeting(ball, ratio), offset / float(reach(ball, ratio, lift))
    if not known.has(ball, ratio, share, lean):
        return None
    excess = known.at(ball, ratio, np.array([share]), np.array([lean]))[0]
    return np.asarray(np.exp(excess[FREE if spin == "free" else HELD]) * rule(ball, ratio, lift, offset))


def over_rule(geometry: CheckGeometry, lift: Array, by_rule: Matrix) -> Matrix:
    """The resistance of an edge at lifts [m] whose ball is off its axis and free to turn, from that by the
    rule with the S of the ball on its axis. Below the solves what they have over the rule goes to nothing at
    the seat, which centres the ball; beyond them it stays as at the nearest."""
    excess = _excess_at(geometry, np.ascontiguousarray(lift, np.float64).tobytes())
    return Matrix(*(of_rule * np.exp(more) for of_rule, more in zip(by_rule, excess.T, strict=True)))


@lru_cache(maxsize=16)
def _excess_at(geometry: CheckGeometry, lifts: bytes) -> Array:
    """Logarithms of the factors over the rule, (n, 3), at lifts [m] by their bytes: a check's table asks for
    the same one several times."""
    lift, r = np.frombuffer(lifts), geometry.seat_radius
    ball, ratio = geometry.ball_radius / r, geometry.ball_radius / geometry.cage_radius
    share = np.maximum(lift / r, 0.0) / meeting(ball, ratio)
    most = reach(ball, ratio, lift / r)
    lean = np.divide(offset_at(geometry, lift) / r, most, out=np.zeros(lift.shape), where=most > 0.0)
    known = gains()
    excess = known.at(ball, ratio, share, lean)[:, FREE]
    below = np.minimum(share / known.shares[0], 1.0)
    excess[:, :2] *= (below * (1.0 + TURNING) / (below + TURNING))[:, None]
    excess[:, 2] *= below
    excess.setflags(write=False)
    return excess


@cache
def gains() -> Grid:
    """Of the shipped rows."""
    return gains_of(solves())


def gains_of(rows: tuple[Row, ...]) -> Grid:
    """At (lift, lean, spin, 3) logarithms of the factors of Rqq and Rqw over the rule's and of S, spin held
    and free."""
    return grid_of(rows, _excess, tuple(sorted({row["lean"] for row in rows})))


def _excess(row: Row, on_axis: Row) -> Array:
    """Of a row over the ball on its axis and over the rule, held and free."""
    centred = matrix(on_axis)
    by_rule = rule(*(row[name] for name in ("ball", "ratio", "lift", "offset")))
    return np.log([matrix(row, "held") / centred / by_rule, matrix(row, "free") / centred / by_rule])

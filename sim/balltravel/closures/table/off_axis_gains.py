"""What a ball off its axis changes, by the solves in space: more than the rule knows (M5k).

Interpolated are the logarithms of the factors by which Rqq, Rqw and S change off the axis; of the first two
over those of the rule, of S without what the film beside the edge adds, so that little is left. Lengths in
seat radii. Set-up code, not a kernel.
"""

import math
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.off_axis import gain_of, offset_at
from balltravel.closures.resistance import Matrix
from balltravel.closures.table.off_axis_grid import Grid, Row, Spin, grid_of, matrix, meeting, reach, solves
from balltravel.closures.table.tabulated import closed_forms, edge_matrix, gap_of_lift

Array = NDArray[np.float64]

SMOOTH = 1e-9
"""Roughness of a check that is given by ratios alone."""

HELD, FREE = 0, 1

SQUEEZED = (8.76, 12.06, 4.08)
"""How gap, both and slope of a film divide what it resists."""

TURNING = 0.1
"""Lift over the lowest solved, about at which what turning adds to the flow is half of that there: it fades
slowly, as it has films to overcome, while S follows the lift (two solves at half the lowest lift)."""


def rule(ball: float, ratio: float, lift: float, offset: float) -> Array:
    """Factors by which the rule changes Rqq, Rqw and S off the axis."""
    at = np.array([lift])
    check = CheckGeometry(1.0, 0.0, ball, ball / ratio, 0.0, 0.7, SMOOTH, offset=offset)
    off, on = (closed_forms(ball, ratio, at, gain) for gain in (gain_of(check, at), None))
    return np.array([off.Rqq[0] / on.Rqq[0], off.Rqw[0] / on.Rqw[0], 1.0])


def by_film(ball: float, ratio: float, lift: float, offset: float) -> Array:
    """What the film adds to the factors of Rqq, Rqw (nothing) and S of a smooth ball off the axis."""
    at = np.array([lift])
    on_axis = edge_matrix(ball, ratio, gap_of_lift(ball, at)).S
    return np.array([0.0, 0.0, film_more(ball, at, np.array([offset]), SMOOTH)[0] / on_axis[0]])


def film_more(ball: float, lift: Array, offset: Array, rough: float) -> Array:
    """How much more than on its axis the film under a ball resists it, by the point of the edge that is
    nearest, beside which the plate lies below the ball; ``rough``: gap that is left where it touches."""
    height = math.sqrt(ball * ball - 1.0) + lift
    off, on = (
        squeezed(ball, np.hypot(np.hypot(aside, height) - ball, rough), aside / height)
        for aside in (1.0 - offset, np.ones(lift.shape))
    )
    return np.asarray(off - on)


def squeezed(ball: float, gap: Array, slope: Array) -> Array:
    """What a film resists a ball that leaves its wall, over the viscosity, by Reynolds' equation: thick gap +
    slope x + (x^2 + y^2)/(2 ball) over the wall x > 0, without pressure at its end x = 0. A fit to solves,
    1 % for slope sqrt(ball/(2 gap)) to 12."""
    of_gap, of_both, of_slope = SQUEEZED
    bend = 0.5 * ball
    resists = of_gap * gap + of_both * slope * np.sqrt(bend * gap) + of_slope * bend * slope**2
    return np.asarray(48.0 * ball**2 / resists)


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
    grown = np.exp(excess[FREE if spin == "free" else HELD]) * rule(ball, ratio, lift, offset)
    return np.asarray(grown + by_film(ball, ratio, lift, offset))


def over_rule(geometry: CheckGeometry, lift: Array, by_rule: Matrix) -> Matrix:
    """The resistance of an edge at lifts [m] whose ball is off its axis and free to turn, from that by the
    rule with the S of the ball on its axis. Below the solves what they have over rule and film goes to
    nothing at the seat, which centres the ball; beyond them it stays as at the nearest."""
    excess = _excess_at(geometry, np.ascontiguousarray(lift, np.float64).tobytes())
    r, rough = geometry.seat_radius, math.hypot(geometry.roughness, geometry.leak_gap)
    film = film_more(geometry.ball_radius / r, lift / r, offset_at(geometry, lift) / r, rough / r)
    grown = Matrix(*(of_rule * np.exp(more) for of_rule, more in zip(by_rule, excess.T, strict=True)))
    return grown._replace(S=grown.S + film)


@lru_cache(maxsize=16)
def _excess_at(geometry: CheckGeometry, lifts: bytes) -> Array:
    """Logarithms of what is interpolated, (n, 3), at lifts [m] by their bytes: a check's table asks for
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
    """At (lift, lean, spin, 3) logarithms of the factors of Rqq and Rqw over the rule's and of S without its
    film, spin held and free."""
    return grid_of(rows, _excess, tuple(sorted({row["lean"] for row in rows})))


def _excess(row: Row, on_axis: Row) -> Array:
    """Of a row over the ball on its axis, over the rule and without the film, held and free."""
    centred, place = matrix(on_axis), [row[name] for name in ("ball", "ratio", "lift", "offset")]
    by_rule, film = rule(*place), by_film(*place)
    return np.log([(matrix(row, spin) / centred - film) / by_rule for spin in ("held", "free")])

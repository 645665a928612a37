"""The ball over a sharp edge in a plain cage from the shipped table of finite-element solves.

Interpolated is what the solves have over the closed forms in series, as logarithms of Rqq, alpha and S: so
the two diagonal terms stay positive everywhere, and the table's ends go over into the asymptotes. Lengths in
seat radii. Set-up code, not a kernel.
"""

import csv
import math
from functools import cache, lru_cache
from importlib import resources
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.closures.ball_over_seat import edge
from balltravel.closures.cubic import Cubic, spline
from balltravel.closures.off_axis import Gain
from balltravel.closures.resistance import Matrix, scalar, series
from balltravel.closures.tube import tube_resistance

Array = NDArray[np.float64]

FADE = 4.466
"""First eigenvalue of creeping flow in a tube, from memory: a disturbance fades as exp(-4.466 x/R_c). Own
solves above the table's last lift are met with it within 0.8 %."""

WIDENING = 1.475
"""Loss of a bore that opens into a far wider cage [mu Q/r^3]: half of Sampson's 3 for a hole in a plate, less
what the bore's own developed flow saves; own solves (1.473 at R_c = 13)."""


class Grid(NamedTuple):
    """Nodes of ball radius, ratio R/R_c and lift, and ln(solve/closed forms) of Rqq, alpha, S there."""

    ball: Array
    ratio: Array
    lift: Array
    excess: Array


class Column(NamedTuple):
    """The table at one ball and ratio: spline over ln lift, and k of S = ... + k ln(1/gap) below it."""

    excess: Cubic
    film: float


def gap_of_lift(ball: float, lift: Array) -> Array:
    """Distance of the ball from the edge (M5a)."""
    z0 = math.sqrt(ball * ball - 1.0)
    return np.asarray(lift * (2.0 * z0 + lift) / (np.sqrt(1.0 + (z0 + lift) ** 2) + ball))


def lift_of_gap(ball: float, gap: Array) -> Array:
    """The lift at which the ball has that distance from the edge."""
    z0 = math.sqrt(ball * ball - 1.0)
    root = np.sqrt((ball + gap) ** 2 - 1.0)
    return np.asarray(gap * (2.0 * ball + gap) / (root + z0))


def widening(cage: float) -> float:
    """Loss of the bore's opening into the cage, beyond Poiseuille; a fit to own solves, 4 %."""
    return WIDENING * (cage**3 - 1.0) / (cage**3 + 0.75)


def closed_forms(ball: float, ratio: float, lift: Array, gain: Gain | None = None) -> Matrix:
    """What the table is held against: gap, ball in a tube, and the losses up to the ball's top, in series;
    ``gain``: how many times more passes gap and tube for a ball off its axis."""
    cage, gap = ball / ratio, gap_of_lift(ball, lift)
    in_gap, in_tube = gain or (1.0, 1.0)
    return series(edge(gap, in_gap), _beyond(ball, ratio, lift, widening(cage), in_tube))


def _beyond(ball: float, ratio: float, lift: Array, opening: float, gain: Array | float = 1.0) -> Matrix:
    """The ball in its cage, the cage up to its top and the bore's opening: what is left far from the seat."""
    cage, tube = ball / ratio, tube_resistance(ratio)
    far = Matrix(*(np.full(lift.shape, x) for x in (tube.Rqq / cage**3, tube.Rqw / cage, tube.S * cage)))
    far = Matrix(far.Rqq / gain, far.Rqw / gain, far.S)
    top = math.sqrt(ball * ball - 1.0) + lift + ball
    return series(far, scalar(8.0 / math.pi * top / cage**4 + opening))


@cache
def grid() -> Grid:
    """The shipped table."""
    text = resources.files(__package__).joinpath("ball_over_edge.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
    names = ("ball", "ratio", "lift", "Rqq", "Rqw", "S")
    values = np.array([[float(row[name]) for name in names] for row in rows])
    ball, ratio, lift = (np.unique(values[:, i]) for i in range(3))
    solved = values[np.lexsort(values[:, 2::-1].T)][:, 3:].reshape(ball.size, ratio.size, lift.size, 3)
    excess = np.empty_like(solved)
    for i, j in np.ndindex(ball.size, ratio.size):
        Rqq, Rqw, S = solved[i, j].T
        form = closed_forms(float(ball[i]), float(ratio[j]), lift)
        excess[i, j] = np.log([Rqq / form.Rqq, Rqw / Rqq * form.Rqq / form.Rqw, S / form.S]).T
    return Grid(ball, ratio, lift, excess)


def solves(ball: float, ratio: float) -> tuple[Array, Array, Array, Array]:
    """Lift, Rqq, Rqw, S of a line of the table, as they were solved. Raises ValueError for another line."""
    g = grid()
    if ball not in g.ball or ratio not in g.ratio:
        raise ValueError(f"no line of the table: ball {ball!r} of {g.ball}, ratio {ratio!r} of {g.ratio}")
    here = np.exp(g.excess[np.flatnonzero(g.ball == ball)[0], np.flatnonzero(g.ratio == ratio)[0]])
    form = closed_forms(ball, ratio, g.lift)
    Rqq = form.Rqq * here[:, 0]
    return g.lift, Rqq, Rqq * form.Rqw / form.Rqq * here[:, 1], form.S * here[:, 2]


def ball_axis(ball: Array | float) -> Array:
    return np.log(np.asarray(ball) - 0.95)


def ratio_axis(ratio: Array | float) -> Array:
    return -np.log(1.0 - np.asarray(ratio))


@lru_cache(maxsize=256)
def _column(ball: float, ratio: float) -> Column:
    """Outside its ball and ratio the table's end is used; the caller flags it."""
    g = grid()
    inside_ball = min(max(ball, g.ball[0]), g.ball[-1])
    inside_ratio = min(max(ratio, g.ratio[0]), g.ratio[-1])
    by_ratio = spline(ball_axis(g.ball), g.excess)(ball_axis(inside_ball))
    excess = spline(ratio_axis(g.ratio), by_ratio)(ratio_axis(inside_ratio))
    first = g.lift[:2]
    S = closed_forms(ball, ratio, first).S * np.exp(excess[:2, 2])
    gap = gap_of_lift(ball, first)
    return Column(spline(np.log(g.lift), excess), float((S[0] - S[1]) / math.log(gap[1] / gap[0])))


def edge_matrix(ball: float, ratio: float, gap: Array) -> Matrix:
    """Resistance up to the plane of the ball's top at gaps > 0, all lengths in seat radii.

    ``ball``: R/r_s, ``ratio``: R/R_c; dp less Poiseuille of the bore up to the seat plane and of the cage
    from the ball's top on. Within 0.5 % of a solve for ball 1.12 to 1.8, ratio 0.5 to 0.95, lift 0.001 to 3.
    Below, the asymptote of the gap; above, towards the ball in its tube; outside the ratios the table's end.
    Source: own finite elements, ``ball_over_edge.csv``.
    """
    return _known_edge(ball, ratio, np.ascontiguousarray(gap, np.float64).tobytes())


@lru_cache(maxsize=16)
def _known_edge(ball: float, ratio: float, gaps: bytes) -> Matrix:
    """The same at gaps by their bytes: a check's table asks for the same one several times."""
    matrix = _edge_matrix(ball, ratio, np.frombuffer(gaps))
    for array in matrix:
        array.setflags(write=False)
    return matrix


def _edge_matrix(ball: float, ratio: float, gap: Array) -> Matrix:
    """See ``edge_matrix``."""
    lifts = grid().lift
    lift = lift_of_gap(ball, np.asarray(gap, dtype=float))
    column = _column(ball, ratio)
    inside = np.clip(lift, lifts[0], lifts[-1])
    form = closed_forms(ball, ratio, inside)
    factor = np.exp(column.excess(np.log(inside)))
    Rqq, alpha, S = form.Rqq * factor[:, 0], form.Rqw / form.Rqq * factor[:, 1], form.S * factor[:, 2]
    nearer = np.maximum(gap_of_lift(ball, inside) / gap, 1.0)
    Rqq, S = Rqq * nearer**2, S + column.film * np.log(nearer)
    farther = lift > lifts[-1]
    if farther.any():
        last = Matrix(*(np.array([x[farther][0]]) for x in (Rqq, alpha, S)))
        Rqq[farther], alpha[farther], S[farther] = _farther(ball, ratio, lift[farther], last)
    return Matrix(Rqq, alpha * Rqq, S)


def _farther(ball: float, ratio: float, lift: Array, last: Matrix) -> tuple[Array, Array, Array]:
    """Rqq, alpha, S above the table's last lift, where (Rqq, alpha, S) are ``last``: what the seat still does
    to alpha and S fades, and the loss of the bore's opening stays."""
    cage, top = ball / ratio, np.array([grid().lift[-1]])
    opening = float(last.Rqq[0] - _beyond(ball, ratio, top, 0.0).Rqq[0])
    here, there = _beyond(ball, ratio, top, opening), _beyond(ball, ratio, lift, opening)
    fade = np.exp(-FADE * (lift - top) / cage)
    alpha = there.Rqw / there.Rqq * (last.Rqw * here.Rqq / here.Rqw) ** fade
    return there.Rqq, alpha, there.S * (last.S / here.S) ** fade

"""A ball over a sharp edge alone, lengths in seat radii: the check's compiled law, and direct solves of the
same places. For the tests beside it and for the scripts that compare more of them."""

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import lift_functions
from balltravel.closures.lift_table import TABLE_ORIGIN, closure_table
from balltravel.closures.table.beyond_creeping import table
from balltravel.closures.table.tabulated import edge_matrix, gap_of_lift
from balltravel.core.check import Law, law
from balltravel.core.lift import cubic, gap_of, place_of, shape
from balltravel.core.parameters import FUNCTIONS, Check
from balltravel.core.rheology import Rheology

from .boxes import boxed, liquid
from .in_series import mean, parts_of

TRAVEL = 3.05
DISCHARGE = 0.7
NO_DENSITY = 1e-12


class Place(NamedTuple):
    """R/r_s, R/R_c, lift over r_s."""

    ball: float
    ratio: float
    lift: float


class Creeping(NamedTuple):
    """Rqq, alpha and S of a place at viscosity 1."""

    Rqq: float
    alpha: float
    S: float


def creeping(place):
    gap = gap_of_lift(place.ball, np.array([place.lift]))
    matrix = edge_matrix(place.ball, place.ratio, gap)
    Rqq = float(matrix.Rqq[0])
    return Creeping(Rqq, float(matrix.Rqw[0]) / Rqq, float(matrix.S[0]))


@lru_cache(maxsize=64)
def edge_check(ball, ratio):
    """The core's check without bores."""
    size = CheckGeometry(1.0, 0.0, ball, ball / ratio, 0.0, DISCHARGE, 1e-9, family="tabulated")
    table, step = closure_table(TRAVEL, TABLE_ORIGIN, lambda z: tuple(lift_functions(size, z)))
    return boxed(
        Check(
            1.0, ball, TRAVEL, 1.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 1e-9, 1e-6, TABLE_ORIGIN, step,
            table, 1.0,
        )
    )  # fmt: skip


class EdgeLaw:
    """The compiled law at a place, with a liquid."""

    def __init__(self, place, rheology=Rheology(1.0), density=NO_DENSITY):  # noqa: B008
        self.check, self.lift = edge_check(place.ball, place.ratio), place.lift
        self.rheology = boxed(rheology)
        self.material = liquid(rheology, density)
        self.alpha = creeping(place).alpha

    def given_drop(self, dp, w):
        """Flow and force as the core asks for them."""
        out = boxed(Law())
        law(self.check, self.material, self.lift, w, dp, out)
        return float(out.flow), float(out.force)

    def given_flow(self, Q, w):
        """Pressure drop and force: the root of the law's flow, which rises with the drop."""
        high = 1.0
        while not self.given_drop(-high, w)[0] < Q < self.given_drop(high, w)[0]:
            high *= 4.0
        dp = float(brentq(lambda x: self.given_drop(x, w)[0] - Q, -high, high, xtol=1e-13 * high, rtol=1e-14))
        return dp, self.given_drop(dp, w)[1]

    def carried(self):
        """Flow over speed of a ball of unit speed on which no force acts."""
        high = 1.0
        while self.given_drop(high, 1.0)[1] < 0.0:
            high *= 4.0
        return self.given_drop(brentq(lambda x: self.given_drop(x, 1.0)[1], -high, high, rtol=1e-12), 1.0)[0]

    def terms(self, Q, w):
        """Sizes of dp and F: the sums of those of the flow's and the ball's terms at edge and cage, at the
        law's viscosities there."""
        place, (gap, _) = place_of(self.check, self.lift), gap_of(self.check, self.lift)
        column = {c: cubic(self.check, place, c)[0] for c in range(FUNCTIONS)}
        drop = force = 0.0
        for part in parts_of(column, gap, shape(self.check, self.lift, w)):
            eta = mean(self.rheology, part, Q - part.alpha * w, w / self.check.ball_radius)
            lost = eta * part.R * (abs(Q) + part.alpha * abs(w))
            drop, force = drop + lost, force + part.alpha * lost + eta * part.S * abs(w)
        return drop, force


def inertia_misses(place, way, reynolds, losses, forces):
    """Errors of dp and of F by the law, given loss and force on the held ball over their creeping values at
    Reynolds numbers of the bore, unit flow; over dp, and over the creeping force and the size of inertia's.

    Shape (Reynolds numbers, 2).
    """
    known = creeping(place)
    found = []
    for number, loss, pushed in zip(reynolds, losses, forces, strict=True):
        one = EdgeLaw(place, density=density_of(number))
        dp, F = one.given_flow(way, 0.0)
        push, pushed_by_law = known.alpha * known.Rqq, way * F
        over = push * (1.0 + abs(pushed - 1.0))
        found.append((way * dp / (known.Rqq * loss) - 1.0, (pushed_by_law - push * pushed) / over))
    return np.array(found)


def density_of(reynolds):
    """That gives unit flow of viscosity 1 in a bore of radius 1 a Reynolds number 4 rho Q/(pi d_s mu)."""
    return 0.5 * math.pi * reynolds


def table_misses():
    """The same at every row of the shipped table of inertia: places and ways, Reynolds numbers, errors of
    shape (rows, Reynolds numbers, 2), nan where no steady flow was found."""
    t = table("ball_over_edge_inertia", 4)
    reynolds = np.array([float(name[3:]) for name in t.names[::2]])
    rows, errors = [], []
    for i, j, k, m in np.ndindex(t.values.shape[:4]):
        place, way = Place(*(float(t.axes[n][at]) for n, at in enumerate((i, j, k)))), float(t.axes[3][m])
        both = t.values[i, j, k, m].reshape(-1, 2)
        here = np.full(both.shape, np.nan)
        known = ~np.isnan(both[:, 0])
        here[known] = inertia_misses(place, way, reynolds[known], *both[known].T)
        rows.append((place, way))
        errors.append(here)
    return rows, reynolds, np.array(errors)

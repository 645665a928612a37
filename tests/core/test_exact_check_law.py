"""Law of a check (M5) against the two equations it stands for, with closures that are known polynomials."""

import math
from itertools import pairwise

import numpy as np
import pytest
from numpy.polynomial import Polynomial
from scipy.optimize import brentq

from balltravel.closures.lift_table import closure_table
from balltravel.core.check import Law, law
from balltravel.core.lift import cubic, gap_of, place_of, shape
from balltravel.core.parameters import FORWARD, OPENING_SLIP, Check

from ..helpers.boxes import boxed, liquid

R, SEAT, TRAVEL, LEAK = 0.0147, 0.0105, 0.005, 3e-5
ORIGIN = 2.1e-4
# In u = ln(1 + z/origin): cubic, so that the spline is exact, and of unlike slopes.
G = Polynomial([0.3, -0.04, 0.003, -0.0004])
ALPHA = Polynomial([3.1, -0.3, 0.05, 0.004])
S = Polynomial([900.0, -150.0, 9.0, -0.6])
K = Polynomial([0.8, 0.1, 0.05, 0.006])


def closures(lift):
    u = np.log1p(lift / ORIGIN)
    return G(u), ALPHA(u), S(u), K(u)


def check(**other):
    table, step = closure_table(TRAVEL, ORIGIN, closures)
    sizes = Check(SEAT, R, TRAVEL, 0.1, 0.02, 3.0, 0.9, 0.0, 0.0, LEAK, 0.0, 1e-6, 1e-4, ORIGIN, step, table)
    return sizes._replace(**other)


CHECK = check()


def gap2_at(z):
    """Square of the distance from ball to seat edge, with the worn seat's, over the seat radius."""
    distance = math.hypot(SEAT, math.sqrt(R * R - SEAT * SEAT) + z) - R
    return (distance**2 + LEAK**2) / SEAT**2


def closures_of(z):
    """G, alpha, S and K_p gap^2 at a lift, from the polynomials."""
    u = math.log1p(max(z, -0.5 * ORIGIN) / ORIGIN)
    return G(u) * gap2_at(z), ALPHA(u), S(u), K(u)


def slope(function, x, h):
    """Central differences, twice extrapolated: error of order h^6."""
    rows = [
        (np.array(function(x + s)) - np.array(function(x - s))) / (2.0 * s) for s in (h, h / 2.0, h / 4.0)
    ]
    first = [(4.0 * b - a) / 3.0 for a, b in pairwise(rows)]
    return (16.0 * first[1] - first[0]) / 15.0


@pytest.mark.parametrize("z", [-5e-5, 0.0, 1e-5, 2e-4, 1.7e-3, 0.005, 0.0053])
def test_the_closures_and_their_slopes_are_those_of_the_table(z):
    """1e-9 for the spline's rounding, 1e-6 for the differences; a little below 0 and above the travel too."""
    got = shape(boxed(CHECK), z, -1.0)
    k, k_z = cubic(boxed(CHECK), place_of(boxed(CHECK), z), FORWARD)
    assert [got.G, got.alpha, got.S, k] == pytest.approx(closures_of(z), rel=1e-8)
    seen = slope(closures_of, z, 0.02 * (z + ORIGIN))
    assert [got.G_z, got.alpha_z, got.S_z, k_z] == pytest.approx(list(seen), rel=1e-5)


def test_far_below_the_seat_the_closures_stay_as_at_half_an_origin_below():
    low, half = shape(boxed(CHECK), -0.9 * ORIGIN, -1.0), shape(boxed(CHECK), -0.5 * ORIGIN, -1.0)
    assert (low.alpha, low.S) == (half.alpha, half.S)
    assert half.alpha == pytest.approx(ALPHA(math.log(0.5)), rel=1e-9)


def test_each_interval_of_the_table_has_its_own_row():
    """Rows that hold their own number (and a slope): the first below the seat, the last above the travel."""
    table = np.zeros_like(CHECK.table)
    table[:, 1, 3] = np.arange(len(table)) + 1.0
    table[:, 1, 2] = 0.5
    numbered = boxed(check(table=table))
    step = CHECK.table_step
    for u, row in ((-0.3, 0), (0.25 * step, 0), (1.5 * step, 1), (100.25 * step, 100), (238.5 * step, 238),
                   (239.5 * step, 239), (241.5 * step, 239)):  # fmt: skip
        got = shape(numbered, ORIGIN * math.expm1(u), -1.0)
        assert got.alpha == pytest.approx(row + 1.0 + 0.5 * (u - row * step), rel=1e-9)
        assert got.alpha_z == pytest.approx(0.5 / (ORIGIN * math.exp(u)), rel=1e-9)


@pytest.mark.parametrize("z", [-1e-4, 0.0, 1e-9, 3e-4, 0.005])
def test_the_gap_is_that_of_the_ball_over_the_edge_and_the_worn_seat(z):
    got, got_z = gap_of(boxed(CHECK), z)
    assert got**2 == pytest.approx(gap2_at(z), rel=1e-12, abs=1e-17)
    assert 2.0 * got * got_z == pytest.approx(float(slope(gap2_at, z, 1e-5)), rel=1e-8, abs=1e-9)
    if z == 0.0:
        assert (got, got_z) == (pytest.approx(LEAK / SEAT, rel=1e-15), 0.0)
    sound, sound_z = gap_of(boxed(check(leak_gap=0.0)), z)
    assert sound == pytest.approx(
        (math.hypot(SEAT, math.sqrt(R * R - SEAT * SEAT) + z) - R) / SEAT, abs=1e-14
    )
    assert sound_z > 0.0


MU, RHO = 0.4, 1200.0


def equations(z, w, dp):
    """Flow and force by the equations of M5, the flow past a freely carried ball found by a root search."""
    g, alpha, s, k = closures_of(z)
    drop = dp - MU * s * w / (alpha * SEAT)
    head = RHO / (2.0 * (math.pi * SEAT**2) ** 2) * k * g * g / gap2_at(z)
    limit = abs(drop) * SEAT**3 / MU + 1e-30
    X = brentq(lambda x: MU / SEAT**3 * x + head * x * abs(x) - drop, -limit, limit, xtol=1e-300, rtol=1e-14)
    carried = (alpha + s * g / alpha) * SEAT**2 * w
    return g * X + carried, alpha * SEAT**2 * drop + s * g / alpha * SEAT**2 * head * X * abs(X)


@pytest.mark.parametrize("z", [1e-4, 1.3e-3, 0.0048])
@pytest.mark.parametrize(("w", "dp"), [(0.0, 3e3), (0.07, 4e4), (-0.4, -9e2), (0.2, -1e5), (-0.02, 2e6)])
def test_flow_and_force_solve_the_equations_and_their_derivatives_agree(z, w, dp):
    """1e-8 for the root, 1e-5 of the largest term for differences."""
    out = boxed(Law())
    law(boxed(CHECK), liquid(MU, RHO), z, w, dp, out)
    assert (out.flow, out.force) == pytest.approx(equations(z, w, dp), rel=1e-7)
    drop = abs(dp - MU * closures_of(z)[2] * w / (closures_of(z)[1] * SEAT))
    by_dp = slope(lambda x: equations(z, w, x), dp, 0.02 * drop)
    by_z = slope(lambda x: equations(x, w, dp), z, min(0.01 * z, 0.005 * z * drop / max(abs(dp), drop)))
    film = MU * closures_of(z)[2] / (closures_of(z)[1] * SEAT)
    by_w = slope(lambda x: equations(z, x, dp), w, 0.02 * drop / film)
    assert (out.flow_dp, out.force_dp) == pytest.approx(tuple(by_dp), rel=1e-5)
    assert (out.flow_z, out.force_z) == pytest.approx(tuple(by_z), rel=1e-4)
    assert (out.flow_w, out.force_w) == pytest.approx(tuple(by_w), rel=1e-5)


@pytest.mark.parametrize(("w", "function"), [(-0.3, 2), (0.0, 2), (1e-300, 3), (0.3, 3)])
def test_a_ball_that_opens_has_a_slip_of_its_own(w, function):
    """S of the fourth function for a ball on its way up, of the third for one at rest or on its way home."""
    table = CHECK.table.copy()
    table[:, OPENING_SLIP] *= 0.25
    own = shape(boxed(check(table=table)), 3e-4, w)
    usual = shape(boxed(CHECK), 3e-4, -1.0)
    share = 0.25 if function == OPENING_SLIP else 1.0
    assert pytest.approx(share * usual.S, rel=1e-12) == own.S
    assert own.S_z == pytest.approx(share * usual.S_z, rel=1e-12)
    assert own[:6] == pytest.approx(usual[:6], rel=1e-12)

"""Closures of a check (M5e to M5h) on one geometry, written out in SI units, and the ranges that they
carry."""

import math

import numpy as np
import pytest

from balltravel.closures import ball_over_seat, tube
from balltravel.closures.ball_over_seat import (
    CheckGeometry,
    edge,
    gap_over_seat_radius,
    loss_coefficient,
    passage_matrix,
    rough_gap,
)
from balltravel.closures.families import closures_at
from balltravel.closures.lift_table import TABLE_INTERVALS, TABLE_ORIGIN, closure_table
from balltravel.closures.resistance import Matrix, series
from balltravel.core import contents, friction
from balltravel.core.parameters import ALPHA, CONDUCTANCE, FORWARD, FUNCTIONS, SLIP

r, R, RC, BORE, CAGE, CD, ROUGH = 0.0105, 0.0147, 0.0189, 0.009, 0.045, 0.7, 4e-6
SIZE = CheckGeometry(r, BORE, R, RC, CAGE, CD, ROUGH)
WORN = SIZE._replace(leak_gap=5e-5)
LIFTS = np.array([1e-5, 2e-4, 1.5e-3, 5e-3])


def distance(z):
    """From the ball's surface to the seat's edge."""
    return np.hypot(r, math.sqrt(R * R - r * r) + z) - R


@pytest.mark.parametrize(("size", "leak"), [(SIZE, 0.0), (WORN, 5e-5)])
def test_the_gap_is_the_balls_distance_from_the_edge_with_the_worn_seats_at_right_angles(size, leak):
    got = gap_over_seat_radius(size, LIFTS)
    assert got * r == pytest.approx(np.hypot(distance(LIFTS), leak), rel=1e-9)
    assert gap_over_seat_radius(size, np.array([0.0]))[0] == leak / r
    # Below the seat the gap keeps its sign where the seat is sound.
    assert gap_over_seat_radius(SIZE, np.array([-1e-5]))[0] * r == pytest.approx(distance(-1e-5), rel=1e-8)


def test_a_worn_seat_of_a_hair_is_worn():
    hair = gap_over_seat_radius(SIZE._replace(leak_gap=1e-9), np.array([0.0]))[0]
    assert hair == pytest.approx(1e-9 / r, rel=1e-12)


@pytest.mark.parametrize("size", [SIZE, WORN])
def test_the_seat_resists_by_its_gap(size):
    """dp = 3.1 mu Q r/(r gap^2)..., in seat radii: 3.1 (r/gap)^2, pi of it, 110 ln(1 + r/gap)."""
    gap = np.sqrt(distance(LIFTS) ** 2 + size.leak_gap**2 + ROUGH**2) / r
    m = edge(rough_gap(size, LIFTS))
    assert m.Rqq == pytest.approx(3.1 / gap**2, rel=1e-9)
    assert m.Rqw == pytest.approx(3.1 * math.pi / gap**2, rel=1e-9)
    assert pytest.approx(110.0 * np.log((1.0 + gap) / gap), rel=1e-9) == m.S


def test_small_resistances_in_series_add_as_matrices_too():
    """Whole matrices of a wide cage, far below 1: Rww = S + Rqw^2/Rqq of both added."""
    one, two = ((0.02, 0.03, 0.4), (0.05, 0.01, 0.3))
    m = series(*(Matrix(*(np.array([value]) for value in parts)) for parts in (one, two)))
    Rww = sum(S + Rqw**2 / Rqq for Rqq, Rqw, S in (one, two))
    assert m.S[0] == pytest.approx(Rww - 0.04**2 / 0.07, rel=1e-13)


def test_resistances_in_series_add_as_matrices():
    """Rww of each is S + Rqw^2/Rqq; the sum's S from the sum of these."""
    one, two = Matrix(*np.array([[2.0], [3.0], [5.0]])), Matrix(*np.array([[7.0], [11.0], [13.0]]))
    m = series(one, two)
    Rww = 5.0 + 9.0 / 2.0 + 13.0 + 121.0 / 7.0
    assert (m.Rqq[0], m.Rqw[0]) == (9.0, 14.0)
    assert m.S[0] == pytest.approx(Rww - 14.0**2 / 9.0, rel=1e-13)
    for empty in (0.0, 1e-310):
        nothing = Matrix(np.array([empty]), np.zeros(1), np.array([13.0]))
        for m in (series(one, nothing), series(nothing, one)):
            assert (m.Rqq[0], m.Rqw[0], m.S[0]) == pytest.approx((2.0, 3.0, 18.0), rel=1e-15)


def test_the_passage_is_the_tube_and_the_poiseuille_loss_of_both_bores():
    """In SI, mu = 1: pressure 8 L/(pi a^4) Q of each bore on top of the tube's; the force has none of it."""
    t, m = tube.tube_resistance(R / RC), passage_matrix(SIZE)
    bores = 8.0 / math.pi * (BORE / r**4 + CAGE / RC**4)
    assert m.Rqq[0] / r**3 == pytest.approx(t.Rqq / RC**3 + bores, rel=1e-12)
    assert m.Rqw[0] / r == pytest.approx(t.Rqw / RC, rel=1e-12)
    assert (m.S[0] + m.Rqw[0] ** 2 / m.Rqq[0]) * r == pytest.approx(t.Rww * RC, rel=1e-9)


@pytest.mark.parametrize("size", [SIZE, WORN])
def test_the_loss_is_the_jets_and_that_of_a_sudden_expansion(size):
    """Jet: the frustum between edge and ball by the discharge coefficient; then Borda and Carnot, from the
    annulus around the ball into the cage."""
    L = np.hypot(r, math.sqrt(R * R - r * r) + LIFTS)
    frustum = math.pi * r * L * (1.0 - (R / L) ** 2)
    seat, annulus, cage = math.pi * r * r, math.pi * (RC**2 - R**2), math.pi * RC**2
    got = loss_coefficient(size, LIFTS)
    sound = distance(LIFTS) / r
    borda = (seat / annulus - seat / cage) ** 2
    gap = np.hypot(sound, size.leak_gap / r)
    assert got == pytest.approx((seat / (CD * frustum)) ** 2 * sound**2 + borda * gap**2, rel=1e-7)


@pytest.mark.parametrize("size", [SIZE, WORN])
def test_the_four_functions_are_those_of_seat_and_passage_in_series(size):
    seat, passage = edge(rough_gap(size, LIFTS)), passage_matrix(size)
    total = seat.Rqq + passage.Rqq
    Rww = seat.S + seat.Rqw**2 / seat.Rqq + passage.S + passage.Rqw**2 / passage.Rqq
    gap2 = (distance(LIFTS) ** 2 + size.leak_gap**2 + ROUGH**2) / r**2
    G, alpha, S, loss = closures_at(size, LIFTS)
    assert pytest.approx(1.0 / total / gap2, rel=1e-9) == G
    assert alpha == pytest.approx((seat.Rqw + passage.Rqw) / total, rel=1e-12)
    assert pytest.approx(Rww - (seat.Rqw + passage.Rqw) ** 2 / total, rel=1e-5) == S
    assert (loss == loss_coefficient(size, LIFTS)).all()


def test_the_table_is_even_in_the_logarithm_up_to_a_fiftieth_above_the_travel():
    """A cubic in u comes back exactly; order of intervals, functions and falling powers; 240 intervals."""
    travel, origin = 0.005, 2e-4
    calls = []

    def cubics(lift):
        calls.append(lift)
        u = np.log(1.0 + lift / origin)
        return 1.0 + u**3, 2.0 * u**2 - u, 3.0 - u, 4.0 + 0.0 * u

    table, step = closure_table(travel, origin, cubics)
    assert table.shape == (240, FUNCTIONS, 4)
    assert TABLE_INTERVALS == 240
    assert TABLE_ORIGIN == 0.02
    assert (calls[0][0], calls[0][-1]) == pytest.approx((0.0, 1.02 * travel), rel=1e-12)
    assert step == pytest.approx(math.log(1.0 + 1.02 * travel / origin) / 240, rel=1e-12)
    a, t = 17 * step, 0.3 * step
    values = (1.0 + (a + t) ** 3, 2.0 * (a + t) ** 2 - (a + t), 3.0 - a - t, 4.0)
    for column, value in zip((CONDUCTANCE, ALPHA, SLIP, FORWARD), values, strict=True):
        assert np.polyval(table[17, column], t) == pytest.approx(value, rel=1e-9)


# The series of Bungay and Brenner with the coefficients as Deen (1987) prints them; from memory.
DEEN = {
    "moving": ((-73 / 60, 77293 / 50400), (-22.5083, -5.6117, -0.3363, -1.216, 1.647), 6.0),
    "held": ((7 / 60, -2227 / 50400), (4.0180, -3.9788, -1.9215, 4.392, 5.006), 12.0),
}


@pytest.mark.parametrize("which", DEEN)
@pytest.mark.parametrize("lam", [0.02, 0.3, 0.7, 0.95, 0.99])
def test_a_wall_factor_is_the_lubrication_limit_and_a_polynomial(which, lam):
    (a1, a2), rest, share = DEEN[which]
    e = 1.0 - lam
    limit = 9.0 / 4.0 * math.pi**2 * math.sqrt(2.0) * e**-2.5 * (1.0 + a1 * e + a2 * e**2)
    polynomial = sum(c * lam**n for n, c in enumerate(rest))
    got = (tube.moving_wall_factor if which == "moving" else tube.held_wall_factor)(lam)
    assert got == pytest.approx((limit + polynomial) / (share * math.pi), rel=1e-12)


def test_the_matrix_of_a_tube_is_consistent_and_its_slip_meets_both_limits():
    """S tends to 4 pi lam^5 (0.02: 1e-3) and at the wall to 4 pi^2 sqrt(2)/sqrt(1 - lam) with a term of its
    root."""
    for lam in (0.02, 0.5, 0.985):
        m = tube.tube_resistance(lam)
        assert m.Rqq * (m.Rww - m.S) == pytest.approx(m.Rqw**2, rel=1e-12)
    assert pytest.approx(4.0 * math.pi * 0.02**5, rel=2e-3) == tube.tube_resistance(0.02).S
    root = math.sqrt(0.01)
    wall = 4.0 * math.pi**2 * math.sqrt(2.0) / root
    assert tube.tube_resistance(0.99).S / wall == pytest.approx(1.0 - 2.5 * root, abs=0.02)


@pytest.mark.parametrize("lam", [0.0199, 0.9901, math.nan])
def test_a_ratio_outside_is_refused_and_the_ends_are_not(lam):
    for function in (tube.moving_wall_factor, tube.held_wall_factor, tube.tube_resistance):
        with pytest.raises(ValueError, match=r"allowed 0\.02 to 0\.99, for example 0\.7"):
            function(lam)
        assert function(0.02)
        assert function(0.99)


def test_the_added_mass_has_a_range_of_its_own():
    assert tube.added_mass_coefficient(0.0) == 0.5
    assert tube.added_mass_coefficient(0.95) == pytest.approx(4.7915429, rel=1e-9)
    for lam in (-1e-6, 0.9501, math.nan):
        with pytest.raises(ValueError, match=r"allowed 0\.0 to 0\.95"):
            tube.added_mass_coefficient(lam)


def test_each_closure_carries_the_range_that_the_documents_tell():
    """docs/closures.md and docs/model.md; both ends inside."""
    inside = {
        ball_over_seat.OVER_SEAT: ((1.12, 1.8),),
        ball_over_seat.LIFTS: ((-math.inf, 1.2),),
        ball_over_seat.SEAT_REYNOLDS: ((0.0, 50.0),),
        tube.IN_CAGE: ((0.5, 0.95),),
        contents.COMPRESSION: ((0.0, 0.05),),
        contents.GAS_EXPANSION: ((-math.inf, 0.05),),
        friction.HOSE_REYNOLDS: ((0.0, 2000.0), (4000.0, math.inf)),
        friction.HOSE_ROUGHNESS: ((0.0, 0.05),),
    }
    assert {closure: closure.inside for closure in inside} == inside

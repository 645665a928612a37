"""The closure table of a ball over a sharp edge (M5e to M5h) against its parts and limits."""

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from balltravel.closures.ball_over_seat import edge, loss_coefficient, passage_matrix, rough_gap
from balltravel.closures.families import closures_at
from balltravel.closures.lift_table import TABLE_ORIGIN, closure_table, simplest
from balltravel.closures.resistance import Matrix, series
from balltravel.closures.tube import tube_resistance
from balltravel.core.parameters import ALPHA, BACKWARD, CONDUCTANCE, FORWARD, OPENING_SLIP, SLIP

steady = settings(deadline=None, derandomize=True, max_examples=200)

positive = st.floats(-6.0, 8.0).map(lambda x: 10.0**x)
forms = st.tuples(st.floats(2e-3, 0.05), st.floats(1.1, 2.0), st.floats(1.06, 2.0))


def form_of(geometry, numbers):
    r, ball, cage = numbers
    return geometry(r, ball, ball * cage)


@steady
@given(*[positive] * 6)
def test_two_resistances_in_series_add_as_matrices(a, b, c, d, e, f):
    """Against exact fractions of Rqq, Rqw and Rww = S + Rqw^2/Rqq; 1e-13: some roundings."""
    one = Matrix(np.array([a]), np.array([b]), np.array([c]))
    two = Matrix(np.array([d]), np.array([e]), np.array([f]))
    a, b, c, d, e, f = (Fraction(x) for x in (a, b, c, d, e, f))
    Rqq, Rqw, Rww = a + d, b + e, c + b * b / a + f + e * e / d
    both = series(one, two)
    assert both.Rqq[0] == pytest.approx(float(Rqq), rel=1e-14)
    assert both.Rqw[0] == pytest.approx(float(Rqw), rel=1e-14)
    unlike = abs(float(b / a)) + abs(float(e / d))
    rounding = 1e-15 * float(a * d / Rqq) * unlike**2
    assert both.S[0] == pytest.approx(float(Rww - Rqw * Rqw / Rqq), rel=1e-13, abs=rounding)


@steady
@given(forms, st.floats(-4.0, 0.5))
def test_the_jet_goes_through_the_cone_between_edge_and_ball(geometry, numbers, lift):
    """Gap area pi r L (1 - R^2/L^2), the frustum's mantle; 1e-9: 1 - R^2/L^2 cancels at small lift."""
    size = form_of(geometry, numbers)
    r, R, Rc = size.seat_radius, size.ball_radius, size.cage_radius
    z = 10.0**lift * r
    L = math.sqrt(r * r + (math.sqrt(R * R - r * r) + z) ** 2)
    area = math.pi * r * L * (1.0 - (R / L) ** 2)
    annulus = math.pi * (Rc * Rc - R * R)
    seat = math.pi * r * r
    jet = (seat / (size.discharge_coefficient * area)) ** 2
    borda = (seat / annulus - seat / (math.pi * Rc * Rc)) ** 2
    gap = (L - R) / r
    (got,) = loss_coefficient(size, np.array([z]))
    assert got / gap**2 == pytest.approx(jet + borda, rel=1e-9)


@settings(steady, max_examples=40)
@given(forms, st.floats(0.02, 1.5))
def test_the_splines_keep_to_the_closures_between_their_nodes(geometry, numbers, travel):
    """Halfway between two nodes: 1e-6 (1.2e-7 seen). S in the layer where the roughness (2e-4 of the
    radius, less than a node's distance) rounds its logarithm: 1 % (0.8 % seen), above 1 % lift 1e-6."""
    size = form_of(geometry, numbers)
    origin = TABLE_ORIGIN * size.seat_radius
    table, step = closure_table(travel * size.seat_radius, origin, lambda lift: closures_at(size, lift))
    middle = step * (np.arange(len(table)) + 0.5)
    exact = closures_at(size, origin * np.expm1(middle))
    exact = simplest(*exact)
    spline = (table @ (0.5 * step) ** np.arange(3.0, -1.0, -1.0)).T
    assert spline[exact == 0.0] == pytest.approx(0.0)
    error = np.abs(spline / np.where(exact == 0.0, 1.0, exact) - 1.0)
    assert float(error[[CONDUCTANCE, ALPHA, FORWARD, BACKWARD]].max()) < 1e-6
    assert float(error[[SLIP, OPENING_SLIP]].max()) < 1e-2
    assert float(error[SLIP][origin * np.expm1(middle) > 0.01 * size.seat_radius].max()) < 1e-6


@steady
@given(forms)
def test_far_from_the_seat_the_passage_is_left(geometry, numbers):
    """Rqq and Rqw of the edge fall as gap^-2 and S as 1/gap; a gap of 1e6 seat radii leaves 1e-4 of S."""
    size = form_of(geometry, numbers)
    G, alpha, S, _ = (x[0] for x in closures_at(size, np.array([1e6 * size.seat_radius])))
    passage = passage_matrix(size)
    gap = 1e6 - size.ball_radius / size.seat_radius
    assert G * gap**2 == pytest.approx(1.0 / passage.Rqq[0], rel=1e-5)
    assert alpha == pytest.approx(passage.Rqw[0] / passage.Rqq[0], rel=1e-6)
    assert pytest.approx(passage.S[0], abs=2e-4) == S


@steady
@given(forms)
def test_the_passage_is_the_tube_and_the_poiseuille_losses_of_its_bores(geometry, numbers):
    """In SI units: pressure, flow, force and speed of a ball in its cage; 1e-9: S is a small difference."""
    size = form_of(geometry, numbers)
    r, Rc, mu = size.seat_radius, size.cage_radius, 3.0
    tube, m = tube_resistance(size.ball_radius / Rc), passage_matrix(size)
    Rww = m.S[0] + m.Rqw[0] ** 2 / m.Rqq[0]
    for Q, w in ((1e-4, 0.0), (0.0, 0.2), (2e-4, -0.1)):
        bores = 8.0 * mu / math.pi * (size.seat_length / r**4 + size.cage_length / Rc**4) * Q
        dp = mu * (tube.Rqq * Q / Rc**3 - tube.Rqw * w / Rc) + bores
        F = mu * (tube.Rqw * Q / Rc - tube.Rww * Rc * w)
        assert mu * (m.Rqq[0] * Q / r**3 - m.Rqw[0] * w / r) == pytest.approx(dp, rel=1e-9)
        assert mu * (m.Rqw[0] * Q / r - Rww * r * w) == pytest.approx(F, rel=1e-9)


@steady
@given(forms)
def test_near_the_edge_the_seat_alone_decides(geometry, numbers):
    """Gap much above the roughness and much below the radius: Rqq gap^2 3.1, alpha pi, S rising by k a
    factor of e; the passage leaves a share of the order of (gap/r)^2."""
    r, ball, cage = numbers
    size = geometry(r, ball, ball * cage, 1e-7)
    slope = math.sqrt(ball**2 - 1.0) / ball
    lifts = np.array([1e-4, 1e-4 / math.e]) / slope * r
    one = edge(rough_gap(size, lifts))
    assert one.Rqq * 1e-8 * np.array([1.0, math.e**-2]) == pytest.approx(3.1, rel=2e-3)
    assert one.Rqw / one.Rqq == pytest.approx(math.pi)
    assert one.S[1] - one.S[0] == pytest.approx(110.0, rel=1e-3)
    G, alpha, S, _ = closures_at(size, lifts)
    passage = passage_matrix(size)
    share = 1e-8 * (passage.Rqq[0] + passage.Rqw[0]) / 3.1
    assert pytest.approx(1.0 / 3.1, rel=2.0 * share + 1e-9) == G[0]
    assert alpha[0] == pytest.approx(math.pi, rel=2.0 * share + 1e-9)
    assert S[1] > S[0] > one.S[0]


@steady
@given(forms, st.floats(0.0, 3.0))
def test_the_matrix_is_definite_at_any_lift(geometry, numbers, lift):
    size = form_of(geometry, numbers)
    """And alpha lies between that of the edge and that of the passage, of which it is a weighted mean."""
    G, alpha, S, loss = closures_at(size, np.array([lift * size.seat_radius]))
    passage = passage_matrix(size)
    low, high = sorted((math.pi, passage.Rqw[0] / passage.Rqq[0]))
    assert G[0] > 0.0
    assert low * (1.0 - 1e-12) <= alpha[0] <= high * (1.0 + 1e-12)
    assert S[0] > 0.0
    assert loss[0] > 0.0

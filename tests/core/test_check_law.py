"""Flow through a check and force on its ball (M5): the mixed form against the two equations it stands for."""

import math
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from balltravel.core.check import Law, law
from balltravel.core.lift import cubic, gap_of, place_of, shape
from balltravel.core.parameters import FORWARD
from balltravel.core.records import as_record
from balltravel.core.shared import behind

from ..helpers.boxes import liquid

# The first call compiles; the examples are the same in every run.
steady = settings(deadline=None, derandomize=True, max_examples=200)

DENSITY = 1200.0


class State(NamedTuple):
    """What the law is asked for: viscosity [Pa s], lift over travel, ball speed [m/s], pressure drop [Pa]."""

    viscosity: float
    share: float
    w: float
    dp: float


def signed(low, high):
    """Zero or a number of either sign, its size between 10**low and 10**high."""
    size = st.floats(low, high).map(lambda x: 10.0**x)
    return st.one_of(st.just(0.0), size, size.map(lambda x: -x))


# Seat radius [m], ball over seat radius, cage over ball radius, travel over seat radius, log10 of roughness.
sizes = st.tuples(
    st.floats(2e-3, 0.05),
    st.floats(1.1, 2.0),
    st.floats(1.06, 2.0),
    st.floats(0.02, 1.5),
    st.floats(-5.0, -2.0),
)
states = st.builds(
    State,
    st.floats(-3.0, 3.0).map(lambda x: 10.0**x),
    st.one_of(st.floats(0.0, 1.0), st.floats(-8.0, 0.0).map(lambda x: 10.0**x)),
    signed(-5.0, 1.0),
    signed(-2.0, 7.0),
)


@pytest.fixture(scope="session")
def check_of(geometry, make_check):
    def build(size, **other):
        r, ball, cage, travel, roughness = size
        form = geometry(r, ball, ball * cage, 10.0**roughness)
        return as_record(make_check(form, travel * r, DENSITY, **other))

    return build


def law_at(check, viscosity, z, w, dp):
    out = as_record(Law())
    law(check, liquid(viscosity, DENSITY), z, w, dp, out)
    return np.array([out.flow, out.force])


class Matrix(NamedTuple):
    Rqq: float
    Rqw: float
    Rww: float
    Kp: float


def matrix_at(check, z):
    """The symmetric matrix and K_p that the tabulated G, alpha, S and K_p gap^2 stand for."""
    s = shape(check, z, -1.0)
    return Matrix(1.0 / s.G, s.alpha / s.G, s.S + s.alpha**2 / s.G, loss_coefficient(check, z))


def loss_coefficient(check, z):
    return cubic(check, place_of(check, z), FORWARD)[0] / gap_of(check, z)[0] ** 2


@steady
@given(sizes, states)
def test_flow_and_force_solve_the_two_equations_of_the_check(check_of, size, state):
    """1e-12 of the sum of the terms' sizes: rounding; q is a difference, so q|q| counts with |q| |Q|."""
    mu, share, w, dp = state
    check = check_of(size)
    z = max(share, 1e-9) * check.travel
    Q, F = law_at(check, mu, z, w, dp)
    m, r = matrix_at(check, z), check.seat_radius
    area = math.pi * r * r
    q = Q - m.Rww / m.Rqw * r * r * w
    loss = 0.5 * DENSITY * m.Kp * q * abs(q) / area**2
    loss_size = 0.5 * DENSITY * m.Kp * abs(q) * (abs(Q) + abs(m.Rww / m.Rqw * r * r * w)) / area**2
    terms = mu * m.Rqq * Q / r**3, -mu * m.Rqw * w / r
    size_of = abs(terms[0]) + abs(terms[1]) + loss_size
    assert dp == pytest.approx(sum(terms) + loss, rel=1e-12, abs=1e-12 * size_of)
    KF_over_Kp = m.Rww / (math.pi * m.Rqw)
    terms = mu * m.Rqw * Q / r, -mu * m.Rww * r * w
    size_of = abs(terms[0]) + abs(terms[1]) + loss_size * KF_over_Kp * area
    assert pytest.approx(sum(terms) + loss * KF_over_Kp * area, rel=1e-12, abs=1e-12 * size_of) == F


@steady
@given(sizes, states)
def test_the_check_never_feeds_energy_to_ball_or_flow(check_of, size, state):
    """dp Q - F w >= 0 but for rounding of the two products."""
    mu, share, w, dp = state
    check = check_of(size)
    Q, F = law_at(check, mu, share * check.travel, w, dp)
    assert dp * Q - F * w >= -1e-12 * (abs(dp * Q) + abs(F * w))


@settings(steady, max_examples=60)
@given(sizes)
def test_conductance_and_slip_resistance_are_positive_between_the_nodes(check_of, size):
    """G > 0 above lift 0 and S > 0 everywhere: the matrix is definite wherever the ball can be."""
    check = check_of(size)
    lifts = check.travel * np.concatenate(([0.0], np.geomspace(1e-9, 1.0, 60), np.linspace(0.0, 1.01, 60)))
    for z in lifts:
        s = shape(check, z, -1.0)
        assert s.S > 0.0
        assert cubic(check, place_of(check, z), FORWARD)[0] >= 0.0
        assert s.alpha > 0.0
        assert s.G > 0.0 if z > 0.0 else s.G == 0.0


@steady
@given(sizes, states)
def test_on_its_seat_a_ball_carries_what_it_sweeps_and_feels_the_pressure(check_of, size, state):
    """At lift 0 G = 0: Q = alpha r^2 w and F = alpha r^2 dp - mu S r w; alpha is pi where the surfaces are
    smooth against the passage."""
    mu, _, w, dp = state
    check = check_of(size)
    Q, F = law_at(check, mu, 0.0, w, dp)
    s, r = shape(check, 0.0, -1.0), check.seat_radius
    assert pytest.approx(s.alpha * r * r * w, rel=1e-14) == Q
    terms = s.alpha * r * r * dp, -mu * s.S * r * w
    assert pytest.approx(sum(terms), rel=1e-13, abs=1e-14 * (abs(terms[0]) + abs(terms[1]))) == F
    seated, force = law_at(check, mu, 0.0, 0.0, dp)
    assert seated == 0.0
    assert force == pytest.approx(s.alpha * r * r * dp, rel=1e-14)
    smooth = check_of((size[0], 1.4, 1.3, size[3], -5.0))
    assert shape(smooth, 0.0, -1.0).alpha == pytest.approx(math.pi, rel=1e-6)


def steps(check, state, z):
    """Steps for differences by dp, lift and speed: small against what bends the law. Where dp and the film
    just balance, |D| has a corner, and only a share of the pressure at which inertia equals viscosity is
    left."""
    mu, _, w, dp = state
    s, r = shape(check, z, -1.0), check.seat_radius
    area = math.pi * r * r
    ratio = mu * s.S / s.alpha / r
    k = cubic(check, place_of(check, z), FORWARD)[0]
    B = DENSITY / (2.0 * area * area) * k * (s.G / s.gap) ** 2
    bend = (mu / r**3) ** 2 / (4.0 * B) if B > 0.0 else 1e9
    by_dp = 0.02 * max(abs(dp - ratio * w), 1e-6 * bend)
    by_z = 1e-3 * (z + 0.05 * check.table_origin)
    slope = abs(ratio * w) * (abs(s.S_z / s.S) + abs(s.alpha_z / s.alpha))
    return by_dp, min(by_z, by_dp / slope) if slope > 0.0 else by_z, by_dp / ratio


@steady
@given(sizes, states)
def test_all_six_derivatives_agree_with_differences(check_of, difference, size, state):
    """3e-6: the differences cross knots of the splines, whose third derivative jumps; below that the rounding
    of the sum of terms over the step counts."""
    mu, share, w, dp = state
    check = check_of(size, leak_gap=2e-5 * size[0])
    z = share * check.travel
    out = as_record(Law())
    law(check, liquid(mu, DENSITY), z, w, dp, out)
    s, r = shape(check, z, -1.0), check.seat_radius
    by_dp, by_z, by_w = steps(check, state, z)
    ratio = mu * s.S / s.alpha / r
    carried = (s.alpha + s.S * s.G / s.alpha) * r * r
    flow_size = abs(out.flow) + 2.0 * carried * abs(w) + s.G * (abs(dp) + abs(ratio * w)) * r**3 / mu
    force_size = (s.alpha + s.S * s.G / s.alpha) * r * r * (abs(dp) + abs(ratio * w))
    cases = (
        (lambda x: law_at(check, mu, z, w, x), dp, by_dp, out.flow_dp, out.force_dp),
        (lambda x: law_at(check, mu, x, w, dp), z, by_z, out.flow_z, out.force_z),
        (lambda x: law_at(check, mu, z, x, dp), w, by_w, out.flow_w, out.force_w),
    )
    for function, x, h, flow, force in cases:
        if h < 1e-7 * abs(x):
            continue  # the law bends within the rounding of its argument: nothing to compare
        seen_flow, seen_force = difference(function, x, h)
        noise = 4e-15 * (1.0 / h + abs(x) / h**2 * 1e-6)
        assert flow == pytest.approx(seen_flow, rel=3e-6, abs=noise * flow_size)
        assert force == pytest.approx(seen_force, rel=3e-6, abs=noise * force_size)


@steady
@given(sizes, st.floats(0.0, 1.0))
def test_the_derivatives_of_the_closures_agree_with_differences(check_of, difference, size, share):
    """1e-6 of the function over its own scale of lift: knots of the splines. The step is a tenth of a
    thousandth of that: a worn seat's gap bends within a thousandth of the seat."""
    check = check_of(size, leak_gap=1e-3 * size[0])
    z = share * check.travel
    s = shape(check, z, -1.0)
    scale = z + check.table_origin
    seen = difference(lambda x: np.array(shape(check, x, -1.0))[::2], z, 1e-4 * scale)
    for value, slope, other in zip(np.array(s)[::2], np.array(s)[1::2], seen, strict=True):
        assert slope == pytest.approx(other, rel=1e-6, abs=1e-6 * abs(value) / scale)


@steady
@given(sizes, st.floats(0.0, 1.0))
def test_the_gap_is_the_shortest_way_from_ball_to_edge(check_of, size, share):
    """By coordinates: centre at z_0 + z on the axis, edge at (r, 0); 1e-13 of R: L - R cancels."""
    check = check_of(size)
    r, R, z = check.seat_radius, check.ball_radius, share * check.travel
    distance = math.hypot(r, math.sqrt(R * R - r * r) + z) - R
    gap, _ = gap_of(check, z)
    assert gap * r == pytest.approx(distance, abs=1e-13 * R)


def test_a_worn_seat_leaks_as_its_equivalent_gap(check_of):
    """At lift 0 the flow is that through an even gap of the stated width; a sound seat is tight."""
    size = (0.0105, 1.4, 1.3, 0.5, -5.0)
    worn, sound = check_of(size, leak_gap=1e-4), check_of(size)
    s = shape(worn, 0.0, -1.0)
    assert pytest.approx(behind(worn.table)[0, 0, 3] * (1e-4 / 0.0105) ** 2, rel=1e-12) == s.G
    assert law_at(worn, 100.0, 0.0, 0.0, -1e5)[0] == pytest.approx(-s.G * 0.0105**3 * 1e5 / 100.0, rel=1e-3)
    assert law_at(sound, 100.0, 0.0, 0.0, -1e5)[0] == 0.0

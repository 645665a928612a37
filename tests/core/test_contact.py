"""Seat and stop (M7): rebound, the film of a flat stop, the spring."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from balltravel.core.contact import film, rebound_speed, spring
from balltravel.core.records import as_record

steady = settings(deadline=None, derandomize=True, max_examples=200)

TRAVEL = 0.005


@pytest.fixture(scope="session")
def check(geometry, make_check):
    return make_check(geometry(), TRAVEL)


@pytest.fixture(scope="session")
def ball(check):
    return as_record(check)


def stokes(check, viscosity, speed):
    """2/9 rho R w/mu of a ball whose mean density has the added mass in it."""
    density = (check.ball_mass + check.added_mass) / (4.0 / 3.0 * math.pi * check.ball_radius**3)
    return 2.0 / 9.0 * density * check.ball_radius * speed / viscosity


@steady
@given(st.floats(-3.0, 3.0), st.floats(-6.0, 1.0))
def test_a_ball_rebounds_only_above_stokes_ten(ball, viscosity, speed):
    mu, w = 10.0**viscosity, 10.0**speed
    back = rebound_speed(ball, mu, w)
    if stokes(ball, mu, w) < 9.999999:
        assert back == 0.0
    elif stokes(ball, mu, w) > 10.000001:
        assert 0.0 < back <= 0.97 * w


@steady
@given(st.floats(-3.0, 3.0), st.floats(-6.0, 1.0), st.floats(1.0, 100.0))
def test_restitution_rises_with_the_stokes_number(ball, viscosity, speed, factor):
    mu, w = 10.0**viscosity, 10.0**speed
    slower = rebound_speed(ball, mu, w) / w
    assert rebound_speed(ball, mu, w * factor) / (w * factor) >= slower
    assert rebound_speed(ball, mu / factor, w) / w == pytest.approx(
        rebound_speed(ball, mu, w * factor) / (w * factor), rel=1e-10, abs=0.03
    )


def test_restitution_tends_to_that_of_a_dry_ball(ball):
    """e = 0.97 exp(-35/St): 3.5e-5 below at St = 1e6; nothing left at the threshold but 3 %."""
    w = 1e6 * 1e-3 / stokes(ball, 1.0, 1.0)
    assert rebound_speed(ball, 1e-3, w) / w == pytest.approx(0.97, rel=4e-5)
    w = 10.0001 / stokes(ball, 1.0, 1.0)
    assert rebound_speed(ball, 1.0, w) / w == pytest.approx(0.97 * math.exp(-3.5), rel=1e-4)


def film_by_quadrature(R, a, h):
    """Drag over viscosity and speed: the thin-film equation d/dr(r h^3 dp/dr) = 12 mu r w under a parabola,
    p = 0 at the pad's edge, integrated twice."""

    def pressure(r):
        return quad(lambda s: 6.0 * s / (h + s * s / (2.0 * R)) ** 3, r, a, epsabs=0.0, epsrel=1e-11)[0]

    corner = min(a, 3.0 * math.sqrt(2.0 * R * h))
    ring = lambda r: 2.0 * math.pi * r * pressure(r)  # noqa: E731
    return quad(ring, 0.0, a, points=[corner], epsabs=0.0, epsrel=1e-9)[0]


@pytest.mark.parametrize("pad", [0.002, 0.006, 0.012])
@pytest.mark.parametrize("clear", [2e-6, 1e-4, 2e-3])
def test_the_film_of_a_pad_is_the_lubrication_force_on_its_disc(check, pad, clear):
    """1e-7: quadrature, and the cancellation 1/h - 1/h_a of a wide gap."""
    padded = as_record(check._replace(pad_radius=pad, roughness=1e-12))
    value, _ = film(padded, TRAVEL - clear)
    assert value == pytest.approx(film_by_quadrature(check.ball_radius, pad, clear), rel=1e-7)


def test_the_film_of_a_narrow_gap_is_that_of_a_ball_on_a_plane(check):
    """6 pi R^2/h; the pad's edge leaves a share of 2 h/h_a."""
    padded = as_record(check._replace(pad_radius=0.01, roughness=1e-9))
    R = check.ball_radius
    value, _ = film(padded, TRAVEL - 1e-6)
    share = 2e-6 / (1e-6 + 0.01**2 / (2.0 * R))
    assert value == pytest.approx(6.0 * math.pi * R * R / 1e-6, rel=1.1 * share)


@steady
@given(st.floats(1e-4, 0.02), st.floats(0.0, 1.05), st.floats(-8.0, -4.0))
def test_the_slope_of_the_film_agrees_with_differences(check, difference, pad, share, roughness):
    """1e-6 of value over clearance: the differences' step is 2 % of it."""
    rough = 10.0**roughness
    padded = as_record(check._replace(pad_radius=pad, roughness=rough))
    z = share * TRAVEL
    h = math.hypot(TRAVEL - z, rough)
    value, slope = film(padded, z)
    seen = difference(lambda x: film(padded, x)[0], z, 0.02 * h)
    # 1/h - 1/h_a loses digits where the pad is small against the gap.
    noise = 1e-13 * 6.0 * math.pi * check.ball_radius**2 / h**2
    assert value > 0.0
    assert slope == pytest.approx(float(seen), abs=1e-6 * value / h + noise)


def test_a_ball_at_its_stop_stands_off_by_the_roughness(check):
    padded = as_record(check._replace(pad_radius=0.01, roughness=2e-6))
    apart = as_record(check._replace(pad_radius=0.01, roughness=1e-12))
    assert film(padded, TRAVEL)[0] == pytest.approx(film(apart, TRAVEL - 2e-6)[0], rel=1e-9)
    assert film(padded, TRAVEL)[1] == 0.0


@steady
@given(st.floats(-1e-5, TRAVEL))
def test_pins_have_no_film(ball, z):
    assert film(ball, z) == (0.0, 0.0)


@steady
@given(st.floats(0.0, 100.0), st.floats(0.0, 1e5), st.floats(0.0, TRAVEL))
def test_the_spring_pushes_towards_the_seat_by_preload_and_rate(check, preload, rate, z):
    sprung = as_record(check._replace(spring_preload=preload, spring_rate=rate))
    assert spring(sprung, z) == preload + rate * z

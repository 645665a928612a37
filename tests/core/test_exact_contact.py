"""Seat, stop and spring (M7) on numbers worked out beside the code."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from balltravel.core.contact import FREE, ON_STOP, SEATED, film, film_rate, rebound_speed, spring
from balltravel.core.parameters import Check

from ..helpers.boxes import boxed

R, TRAVEL = 0.0147, 0.005


def check(**other):
    sizes = {
        "seat_radius": 0.0105, "ball_radius": R, "travel": TRAVEL, "ball_mass": 0.1, "added_mass": 0.02,
        "coupling_mass": 3.0, "net_weight": 0.9, "spring_preload": 2.0, "spring_rate": 500.0, "leak_gap": 0.0,
        "pad_radius": 0.006, "roughness": 2e-6, "landing_gap": 1e-4, "table_origin": 2e-4, "table_step": 0.01,
        "table": np.full((240, 22, 4), math.nan),
    }  # fmt: skip
    return boxed(Check(**{**sizes, **other}))


@pytest.mark.parametrize("gap", [1e-6, 2e-4, 2e-3])
@pytest.mark.parametrize("pad", [0.006, 5e-4])
def test_a_film_is_sheared_by_what_it_pushes_out_over_its_height(gap, pad):
    """a/h^2 at the distance sqrt(2 R h) or at the pad's edge, h not less than the roughness; its slope by a
    central difference, 1e-6."""
    found, slope = film_rate(check(pad_radius=pad), TRAVEL - gap)
    h = math.hypot(gap, 2e-6)
    assert found == pytest.approx(min(math.sqrt(2.0 * R * h), pad) / h**2, rel=1e-12)
    step = 1e-6 * h
    high, low = (film_rate(check(pad_radius=pad), TRAVEL - gap + side * step)[0] for side in (1, -1))
    assert slope == pytest.approx((high - low) / (2.0 * step), rel=1e-5)


def test_the_three_modes_differ():
    assert (SEATED, FREE, ON_STOP) == (0, 1, 2)


@pytest.mark.parametrize(
    ("stokes", "restitution"),
    [(9.99, 0.0), (10.01, 0.97 * math.exp(-35.0 / 10.01)), (70.0, 0.97 * math.exp(-0.5)), (3.5e9, 0.97)],
)
def test_a_ball_comes_back_by_its_stokes_number(stokes, restitution):
    """St = m w/(6 pi mu R^2), m with the added mass; e = 0.97 exp(-35/St), nothing below 10."""
    viscosity = 0.3
    speed = stokes * 6.0 * math.pi * viscosity * R**2 / 0.12
    assert rebound_speed(check(), viscosity, speed) == pytest.approx(restitution * speed, rel=1e-7)


def squeeze(pad, h):
    """Force over viscosity and speed: p = 3 mu R w (1/h(r)^2 - 1/h_a^2) over the pad's disc."""
    edge = h + pad * pad / (2.0 * R)

    def ring(r):
        return 2.0 * math.pi * r * 3.0 * R * ((h + r * r / (2.0 * R)) ** -2 - edge**-2)

    return quad(ring, 0.0, pad, epsabs=0.0, epsrel=1e-12)[0]


@pytest.mark.parametrize("pad", [0.003, 0.008])
@pytest.mark.parametrize(("clear", "rough"), [(1e-3, 2e-6), (2e-4, 1e-4), (-2e-4, 3e-4)])
def test_the_film_is_the_pressure_under_the_ball_and_its_slope_agrees_with_differences(pad, clear, rough):
    """The gap: clearance and roughness at right angles. 1e-9 for the quadrature, 1e-6 for differences."""
    padded = check(pad_radius=pad, roughness=rough)
    value, slope = film(padded, TRAVEL - clear)
    assert value == pytest.approx(squeeze(pad, math.hypot(clear, rough)), rel=1e-8)
    h = 1e-3 * math.hypot(clear, rough)
    high, low = squeeze(pad, math.hypot(clear - h, rough)), squeeze(pad, math.hypot(clear + h, rough))
    assert slope == pytest.approx((high - low) / (2.0 * h), rel=1e-5)


def test_pins_have_no_film_and_the_smallest_pad_has_one():
    assert film(check(pad_radius=0.0), 0.004) == (0.0, 0.0)
    assert film(check(pad_radius=1e-3), 0.004)[0] > 0.0
    # A pad of 1.5 m: the ball's own film, 6 pi R^2/h less 12 pi R^3/a^2.
    assert film(check(pad_radius=1.5, roughness=0.0), 0.0049)[0] == pytest.approx(
        6e4 * math.pi * R * R, rel=1e-4
    )


def test_the_spring_pushes_by_preload_and_rate():
    assert spring(check(), 0.003) == 3.5

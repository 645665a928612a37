"""Drag of a ball and friction of a pipe: every branch of the published formulas, beside its bounds too.

Clift, Grace and Weber (1978), table 5.2, and Churchill (1977), in the form in which they are printed.
"""

import math

import pytest

from balltravel.closures.drag import (
    DRAG_REYNOLDS_MAX,
    cage_fall_speed,
    drag_factor,
    sphere_drag_coefficient,
)
from balltravel.core.friction import friction_ratio

from ..helpers.open_liquid import terminal_speed


def oseen(re):
    return 24.0 / re + 4.5


def small(re):
    return 24.0 / re * (1.0 + 0.1315 * re ** (0.82 - 0.05 * math.log10(re)))


def middle(re):
    return 24.0 / re * (1.0 + 0.1935 * re**0.6305)


def power(*coefficients):
    return lambda re: 10.0 ** sum(c * math.log10(re) ** n for n, c in enumerate(coefficients))


BRANCHES = [
    (1e-6, 0.01, oseen),
    (0.01, 20.0, small),
    (20.0, 260.0, middle),
    (260.0, 1500.0, power(1.6435, -1.1242, 0.1558)),
    (1500.0, 1.2e4, power(-2.4571, 2.5558, -0.9295, 0.1049)),
    (1.2e4, 4.4e4, power(-1.9181, 0.6370, -0.0636)),
    (4.4e4, 3.38e5, power(-4.3390, 1.5809, -0.1546)),
]


@pytest.mark.parametrize(("low", "high", "formula"), BRANCHES)
def test_the_drag_coefficient_is_that_of_the_printed_table(low, high, formula):
    """A branch holds from beyond its lower bound up to its upper one, which belongs to it (0.01 does not)."""
    last = high * (1.0 - 1e-12) if high == 0.01 else high
    for re in (low * (1.0 + 1e-12) if low > 0.01 else low, math.sqrt(low * high), last):
        assert sphere_drag_coefficient(re) == pytest.approx(formula(re), rel=1e-9)


def test_the_drag_coefficient_is_known_up_to_the_drag_crisis():
    assert DRAG_REYNOLDS_MAX == 3.38e5
    assert sphere_drag_coefficient(2.0 * DRAG_REYNOLDS_MAX) == pytest.approx(
        BRANCHES[-1][2](6.76e5), rel=1e-9
    )


@pytest.mark.parametrize(("wall", "ratio"), [(1.0, 0.0), (7.5, 0.5), (25.0, 0.7)])
def test_the_drag_in_a_cage_blends_the_walls_share_with_the_inertias(wall, ratio):
    """1e-12; in open liquid the drag coefficient alone."""
    assert drag_factor(0.0, wall, ratio) == wall
    assert drag_factor(-1.0, wall, ratio) == wall
    m = 2.3 + 0.36 * ratio / (1.0 - ratio)
    for re in (0.5, 30.0, 200.0):
        open_liquid = (small if re < 20.0 else middle)(re) * re / 24.0
        inertia = (open_liquid - 1.0) * (1.0 - ratio**2) ** -2.8
        expected = 1.0 + ((wall - 1.0) ** m + inertia**m) ** (1.0 / m)
        assert drag_factor(re, wall, ratio) == pytest.approx(expected, rel=1e-12)
        if ratio == 0.0:
            assert drag_factor(re, wall, ratio) == pytest.approx(open_liquid, rel=1e-12)


@pytest.mark.parametrize("viscosity", [1e-3, 0.05, 2.0, 300.0])
@pytest.mark.parametrize(("wall", "ratio"), [(1.0, 0.0), (6.0, 0.5), (2900.0, 0.95)])
@pytest.mark.parametrize("ball", [7800.0, 900.0])
def test_a_ball_falls_or_rises_at_the_speed_at_which_its_drag_is_its_weight(viscosity, wall, ratio, ball):
    """Net weight = 3 pi mu d w times the drag factor at its Re; but for the steps of the drag's branches,
    1e-12."""
    d, rho, g = 0.02, 1200.0, 9.81
    speed = cage_fall_speed(d, ball, rho, viscosity, g, wall, ratio)
    weight = (ball - rho) * math.pi * d**3 / 6.0 * g
    assert speed * weight > 0.0
    re = rho * abs(speed) * d / viscosity
    drag = 3.0 * math.pi * viscosity * d * speed * drag_factor(re, wall, ratio)
    assert drag == pytest.approx(weight, rel=1e-12)
    if wall == 1.0:
        assert terminal_speed(d, ball, rho, viscosity, g) == speed


def test_a_ball_as_dense_as_the_liquid_stays():
    assert cage_fall_speed(0.02, 1200.0, 1200.0, 1.0, 9.81, 3.0, 0.3) == 0.0


def test_where_two_branches_leave_a_step_the_fall_ends_on_it():
    """At Re 20 the drag factor steps by 0.8 %: a target within the step has no root; the search must end
    there."""
    for share in (0.999999, 1.0, 1.000001):
        target = share * 20.0 * 0.5 * (small(20.0) + middle(20.0)) * 20.0 / 24.0
        weight = target * 18.0 / (1000.0 * 10.0 * 1e-3)
        speed = cage_fall_speed(0.1, 1000.0 + weight, 1000.0, 1.0, 10.0, 1.0, 0.0)
        assert speed * 100.0 == pytest.approx(20.0, rel=1e-9)


def churchill(re, eps):
    """Darcy's factor as printed: f = 8 ((8/Re)^12 + (A + B)^-1.5)^(1/12)."""
    A = (2.457 * math.log(1.0 / ((7.0 / re) ** 0.9 + 0.27 * eps))) ** 16
    B = (37530.0 / re) ** 16
    return 8.0 * ((8.0 / re) ** 12 + (A + B) ** -1.5) ** (1.0 / 12.0)


@pytest.mark.parametrize("eps", [0.0, 1e-3, 0.05])
@pytest.mark.parametrize("re", [0.5, 300.0, 2100.0, 4000.0, 3e4, 2e6])
def test_friction_over_its_laminar_value_is_churchills_and_its_slope_agrees(re, eps):
    """1e-10 of the ratio; 1e-6 of the slope by central differences of the printed formula."""

    def ratio(x):
        return churchill(x, eps) * x / 64.0

    got, slope = friction_ratio(re, eps)
    assert got == pytest.approx(ratio(re), rel=1e-10)
    if re > 1000.0:
        h = 1e-4 * re
        seen = (8.0 * (ratio(re + h) - ratio(re - h)) - ratio(re + 2.0 * h) + ratio(re - 2.0 * h)) / (
            12.0 * h
        )
        assert slope == pytest.approx(seen, rel=1e-6)


@pytest.mark.parametrize("re", [0.0, 5e-324, 1e-300, 1e-9, 1e-3])
def test_a_line_at_rest_has_the_laminar_loss_and_no_number_too_large(re):
    ratio, slope = friction_ratio(re, 0.01)
    assert ratio == 1.0
    assert abs(slope) <= 1e-200

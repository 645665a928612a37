"""Falling spheres: worked examples of GPSA (section 13), Rushton et al. (1996) and, from memory, Coulson and
Richardson (vol. 2) and Bird, Stewart and Lightfoot (6.3-1); the library ``fluids`` as independent solver."""

import math

import numpy as np
import pytest

from balltravel.closures.drag import sphere_drag_coefficient

from ..helpers.open_liquid import terminal_speed

GRAVITY = 9.80665


def _speed(row):
    return terminal_speed(row["D_m"], row["rho_p"], row["rho_f"], row["mu_Pa_s"], GRAVITY)


def test_terminal_speeds_agree_with_an_independent_solver_of_the_same_drag(table, agree):
    """1e-6: the column carries seven digits. Below Re 0.01 the library has another first term: 5e-5."""
    rows = table("terminal_velocity_cases.csv")
    assert len(rows) == 10
    for row in rows:
        tolerance = 1e-6 if row["Re_BrownLawler"] > 0.01 else 5e-5
        agree(_speed(row), row["v_CliftGraceWeber"], rel=tolerance)


def test_terminal_speeds_agree_with_the_printed_answers(table, agree):
    """5 %: the examples' own charts and correlations differ by that much."""
    rows = [row for row in table("terminal_velocity_cases.csv") if not math.isnan(row["v_published_m_s"])]
    assert len(rows) == 5
    for row in rows:
        agree(_speed(row), row["v_published_m_s"], rel=0.05)


@pytest.mark.parametrize("viscosity", np.geomspace(1e-3, 1e3, 13))
@pytest.mark.parametrize("diameter", [0.003, 0.025, 0.06])
@pytest.mark.parametrize("ball_density", [900.0, 1199.9, 1200.1, 7800.0, 14900.0])
def test_at_terminal_speed_the_drag_carries_the_net_weight(viscosity, diameter, ball_density):
    """1e-12, or 8e-3 across one of the steps of the drag coefficient, where no speed balances exactly."""
    speed = terminal_speed(diameter, ball_density, 1200.0, viscosity, GRAVITY)
    assert math.copysign(1.0, speed) == math.copysign(1.0, ball_density - 1200.0)
    reynolds = 1200.0 * abs(speed) * diameter / viscosity
    drag = sphere_drag_coefficient(reynolds) * 600.0 * speed**2 * math.pi / 4 * diameter**2
    weight = math.pi / 6 * diameter**3 * abs(ball_density - 1200.0) * GRAVITY
    at_a_step = any(abs(reynolds / edge - 1) < 1e-9 for edge in (0.01, 20.0, 260.0, 1500.0, 1.2e4, 4.4e4))
    assert drag == pytest.approx(weight, rel=8e-3 if at_a_step else 1e-12)


def test_a_ball_as_heavy_as_the_liquid_stays():
    assert terminal_speed(0.025, 1200.0, 1200.0, 1.0, GRAVITY) == 0.0

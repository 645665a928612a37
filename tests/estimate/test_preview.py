"""What follows from a scenario without a run, against the compiled law and hand calculation."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from balltravel.closures.families import closures_at
from balltravel.estimate.preview import OIL_DENSITY, bench_fall, preview
from balltravel.setup.parameters import geometry_of

GRAVITY = 9.80665


def fall_with_inertia(check, travel, viscosity):
    """m dw/dt = -W' - mu S r w from the stop to the seat; the ball's own mass alone."""
    volume = math.pi * check.ball_diameter**3 / 6.0
    mass, weight = check.ball_density * volume, (check.ball_density - OIL_DENSITY) * volume * GRAVITY
    geometry = geometry_of(check)

    def rate(_, y):
        S = float(closures_at(geometry, np.array([max(y[0], 0.0)]))[2][0])
        return [y[1], (-weight - viscosity * S * geometry.seat_radius * y[1]) / mass]

    def home(_, y):
        return y[0] - 0.01 * geometry.contact_radius

    home.terminal = True
    found = solve_ivp(rate, (0.0, 1e3), [travel, 0.0], "Radau", events=home, rtol=1e-9, atol=1e-12)
    return found.t_events[0][0]


@pytest.mark.parametrize(("viscosity", "tolerance"), [(10.0, 0.05), (100.0, 2e-3)])
def test_the_bench_test_is_the_fall_without_inertia(story, viscosity, tolerance):
    """What inertia adds goes with 1/mu^2 of the time: per cent at 10 Pa s, a thousandth at 100."""
    check = story("primer").inlet_check
    found = bench_fall(check, 0.005, viscosity, OIL_DENSITY)
    assert found.time == pytest.approx(fall_with_inertia(check, 0.005, viscosity), rel=tolerance)


def test_the_bench_time_goes_with_the_viscosity(story):
    check = story("primer").inlet_check
    ten, hundred = (bench_fall(check, 0.005, mu, OIL_DENSITY).time for mu in (10.0, 100.0))
    assert hundred == pytest.approx(10.0 * ten, rel=1e-12)


def test_a_ball_no_denser_than_the_oil_does_not_fall(story):
    check = story("primer", f"inlet_check.ball_density={OIL_DENSITY} kg/m3").inlet_check
    assert bench_fall(check, 0.005, 10.0, OIL_DENSITY).time is None


def test_swept_volume_and_speed_by_hand(story):
    """Bore 48 mm, stroke 90 mm, 30 cycles/min, ramps 30 ms, dwell 40 ms: v = S/(T/2 - t_d - t_r)."""
    found = preview(story("primer"))
    assert found.swept_volume == pytest.approx(math.pi / 4 * 0.048**2 * 0.09, rel=1e-12)
    assert found.piston_speed == pytest.approx(0.09 / (1.0 - 0.04 - 0.03), rel=1e-12)
    flow = math.pi / 4 * 0.048**2 * found.piston_speed
    assert found.inlet.seat_reynolds == pytest.approx(4 * 1350 * flow / (math.pi * 5.0 * 0.021), rel=1e-12)


def test_a_light_ball_rises_in_the_material(story):
    found = preview(story("primer", "inlet_check.ball_density=1000 kg/m3"))
    assert found.inlet.fall_speed < 0.0 < found.piston.fall_speed

"""A ball without mass in a liquid without viscosity (limit 3): Westphal's and Bach's closing angle."""

import math

import numpy as np
import pytest

from balltravel.core.events import Event
from balltravel.core.parameters import Parameters
from balltravel.core.status import Status

from ..helpers.boxes import with_viscosity
from ..helpers.lowers import (
    INLET,
    Array,
    column,
    harmonic,
    inertialess,
    lower,
    quick,
    run_cycles,
    steady_port,
    stiff,
    times,
    with_closures,
)

VISCOSITY = 1e-7


def thin(angle: float, weight: float) -> Parameters:
    """A plate-like valve in the inlet: F = pi r_s^2 dp, and gap area per lift u such that
    arctan(omega f/(u c1)) = ``angle``, with dp = W'/f and c1 = sqrt(2 dp/rho)."""
    p = lower(
        material={"viscosity": 1e-4, "vapour_pressure": 0.0},
        drive=harmonic(1.0),
        inlet_check={"base_travel": 0.19},
        suction={"tank_gauge_pressure": 9e6},
    )
    check = inertialess(p.inlet, 1e-9)._replace(net_weight=weight)
    r, R = check.seat_radius, check.ball_radius
    f, z0 = math.pi * r * r, math.sqrt(R * R - r * r)
    c1 = math.sqrt(2.0 * weight / (f * p.material.density))
    u = p.drive.angular_speed * f / (c1 * math.tan(angle))

    def closures(z: Array) -> tuple[Array, Array, Array, Array]:
        gap_per_lift = (2.0 * z0 + z) / (np.sqrt(r * r + (z0 + z) ** 2) + R) / r
        one = np.ones_like(z)
        # A_s^2/(u z)^2 = K_p, the gap's square taken out.
        return one, math.pi * one, 1e-9 * one, (f / u * gap_per_lift) ** 2

    p = with_viscosity(steady_port(stiff(p)), VISCOSITY)
    piston = inertialess(quick(p.piston), 1e-9)
    return p._replace(inlet=with_closures(check, closures), piston=piston)


@pytest.mark.parametrize("weight", [0.2, 0.9])
@pytest.mark.parametrize("angle", [0.05, 0.1, 0.2, 0.3])
def test_closing_angle_of_a_massless_valve_in_a_thin_liquid(agree, angle: float, weight: float) -> None:
    p = thin(angle, weight)
    run = run_cycles(p, 2)
    assert not run.status.failed
    assert run.status in (Status.OK, Status.NOT_PERIODIC)
    assert not times(run, Event.STOPPED, INLET).size  # it floats below its stop, as the formula wants
    seated = times(run, Event.SEATED, INLET, after=0.5 * p.drive.period)[0]
    lag = p.drive.angular_speed * (seated - 0.5 * p.drive.period)
    # What is left of the opening transient, exp(-pi/tan(0.3)) = 4e-5, over the angle.
    agree(lag, angle, 2e-4)


@pytest.mark.parametrize("angle", [0.05, 0.1, 0.2])
def test_lift_of_a_massless_valve_in_a_thin_liquid_lags_the_flow(angle: float) -> None:
    """z = A_c S omega/2 sin(omega t - angle)/sqrt((u c1)^2 + (omega f)^2), once the opening is over."""
    p = thin(angle, 0.9)
    run = run_cycles(p, 2)
    omega, f = p.drive.angular_speed, math.pi * p.inlet.seat_radius**2
    clock = column(run, "time")
    during = (clock > 0.3) & (clock < 0.5)
    amplitude = p.lower.area * 0.5 * p.drive.stroke * math.sin(angle) / f
    expected = amplitude * np.sin(omega * clock[during] - angle)
    # The opening's transient at t = 0.3: exp(-0.6 pi/tan(0.2)) = 1e-4.
    assert column(run, "inlet_lift")[during] == pytest.approx(expected, abs=3e-4 * amplitude)

"""Westphal's closing angle out of the full model (limit 3): the check's own table, a ball without mass in a
liquid so thin that only the jet's loss is left, at lifts small against the seat."""

import math

import pytest

from balltravel.core.events import Event
from balltravel.core.status import Status

from ..helpers.boxes import with_viscosity
from ..helpers.lowers import INLET, harmonic, inertialess, lower, quick, run_cycles, steady_port, stiff, times

DENSITY, CONTRACTION = 1000.0, 0.7


def floating(angle):
    """A lower of a small stroke, so that the ball floats within some hundredths of the seat radius; its
    weight such that arctan(omega f/(u c1)) is ``angle``: f seat area, u gap area per lift 2 pi r z0/R, c1 the
    speed
    C sqrt(2 W/(f rho)) of a jet in the gap."""
    p = lower(
        material={"viscosity": 1e-4, "vapour_pressure": 0.0, "density": DENSITY},
        drive=harmonic(1.0),
        lower={"stroke": 0.005},
        inlet_check={"base_travel": 0.01, "discharge_coefficient": CONTRACTION},
        suction={"tank_gauge_pressure": 9e6},
    )
    r, R = p.inlet.seat_radius, p.inlet.ball_radius
    f, u = math.pi * r * r, 2.0 * math.pi * r * math.sqrt(R * R - r * r) / R
    c1 = p.drive.angular_speed * f / (u * math.tan(angle))
    weight = 0.5 * DENSITY * f * (c1 / CONTRACTION) ** 2
    p = with_viscosity(steady_port(stiff(p)), 1e-7)
    check = inertialess(p.inlet, 1e-9)._replace(net_weight=weight)
    return p._replace(inlet=check, piston=inertialess(quick(p.piston), 1e-9))


@pytest.mark.parametrize("angle", [0.005, 0.01, 0.02])
def test_the_full_model_has_westphals_closing_angle(agree, angle):
    """3 %: the lift is up to some hundredths of the seat radius, over which the lift force and the spread of
    the jet grow."""
    p = floating(angle)
    assert p.inlet.measured_force == 1.0
    run = run_cycles(p, 2)
    assert run.status in (Status.OK, Status.NOT_PERIODIC)
    assert not times(run, Event.STOPPED, INLET).size
    seated = times(run, Event.SEATED, INLET, after=0.5 * p.drive.period)[0]
    found = p.drive.angular_speed * (seated - 0.5 * p.drive.period)
    agree(found, angle, 0.03)

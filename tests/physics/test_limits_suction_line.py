"""Inertance and friction of the suction line (limit 5)."""

import math

import numpy as np
import pytest

from balltravel.core.parameters import Chamber, Parameters
from balltravel.setup.parameters import control_for
from balltravel.setup.runs import run_core
from balltravel.site.fittings import FITTINGS, losses

from ..helpers.boxes import with_viscosity
from ..helpers.lowers import column, creeping, harmonic, inertialess, lower, quick, run_cycles, stiff

RATE = 0.5


def line(viscosity: float, length: float, diameter: float, compliance: float) -> Parameters:
    """A harmonic drive on a line of its own sizes, stiff chambers, no minor losses, fed to be full."""
    p = lower(
        material={"viscosity": viscosity},
        drive=harmonic(RATE),
        suction={
            "hose_length": length,
            "hose_diameter": diameter,
            "loss_coefficient": 0.0,
            "tank_gauge_pressure": 9e6,
        },
    )
    p = stiff(p)
    return p._replace(port=Chamber(1e-9, 0.0, compliance), piston=quick(p.piston))


def held_open(p: Parameters) -> Parameters:
    """The inlet ball pressed on its stop for good: the line breathes with the piston, a continuous sine."""
    return p._replace(inlet=creeping(p.inlet)._replace(spring_preload=-100.0))


def amplitudes(p: Parameters, viscosity: float) -> tuple[float, float]:
    """Of the acceleration's and of the friction's pressure [Pa], by Newton and by Hagen and Poiseuille."""
    omega = p.drive.angular_speed
    flow = 0.5 * p.lower.area * p.drive.stroke * omega
    return p.suction.inertance * flow * omega, viscosity * p.suction.laminar * flow


@pytest.mark.parametrize(("viscosity", "ratio"), [(0.1, 3.0), (0.3, 1.0), (1.0, 0.3), (3.0, 0.1)])
def test_peak_depression_of_a_sine_is_the_root_of_the_squares(within, viscosity: float, ratio: float) -> None:
    p = held_open(line(viscosity, 3.0, 0.05, 1e-12))
    acceleration, friction = amplitudes(p, viscosity)
    assert acceleration / friction == pytest.approx(ratio, rel=0.1)
    # The line's own ring, struck when the ball leaves its seat, dies by exp(-pi/ratio) a cycle.
    run = run_core(p, control_for(p, 1e-6, 12)._replace(periodic_tolerance=0.0))
    assert not run.status.failed
    assert (column(run, "inlet_lift") == p.inlet.travel).all()
    depression, whole = p.suction.pressure - column(run, "port_pressure"), math.hypot(acceleration, friction)
    # Rows at most 1/200 of a cycle apart, 1 - cos(pi/200) = 1.2e-4; the port's spring, (omega/nu)^2 = 2e-5.
    assert depression.max() == pytest.approx(whole, rel=2e-4)
    assert depression.min() == pytest.approx(-whole, rel=2e-4)
    # And the phase: friction with the piston's speed, acceleration with its own, at every row.
    phase = p.drive.angular_speed * column(run, "time")
    wanted = acceleration * np.cos(phase) + friction * np.sin(phase)
    within((depression - wanted) / whole, 1e-3)


@pytest.mark.parametrize("names", [("globe valve",) * 3, ("elbow 90 screwed",) * 20 + ("sharp entry",)])
def test_fittings_in_heavy_material_add_to_the_friction_of_that_sine(within, names: tuple[str, ...]) -> None:
    """Their turbulent part, which is no sine, is taken out; K1/Re velocity heads are K1 mu Q/(2 d A)."""
    viscosity, diameter = 0.3, 0.05
    p = held_open(line(viscosity, 3.0, diameter, 1e-12))
    area = math.pi * diameter**2 / 4.0
    in_line = losses(names, diameter).laminar
    assert in_line == pytest.approx(sum(FITTINGS[one].laminar for one in names) / (2.0 * diameter * area))
    p = p._replace(suction=p.suction._replace(fittings=in_line))
    acceleration, hose = amplitudes(p, viscosity)
    flow = 0.5 * p.lower.area * p.drive.stroke * p.drive.angular_speed
    friction = hose + viscosity * in_line * flow
    assert friction > 1.2 * hose
    run = run_core(p, control_for(p, 1e-6, 12)._replace(periodic_tolerance=0.0))
    assert not run.status.failed
    depression, whole = p.suction.pressure - column(run, "port_pressure"), math.hypot(acceleration, friction)
    assert depression.max() == pytest.approx(whole, rel=2e-4)
    phase = p.drive.angular_speed * column(run, "time")
    wanted = acceleration * np.cos(phase) + friction * np.sin(phase)
    within((depression - wanted) / whole, 1e-3)


@pytest.mark.parametrize("compliance", [1e-11, 1e-10])
def test_a_stroke_behind_a_shut_check_rings_to_twice_the_acceleration_part(within, compliance: float) -> None:
    """From rest, the port's own spring must bring up the line's flow: I A a (cos omega t - cos nu t)."""
    viscosity = 1e-5
    p = with_viscosity(line(1e-3, 3.0, 0.1, compliance), viscosity)
    p = p._replace(inlet=inertialess(creeping(p.inlet))._replace(net_weight=0.0))
    acceleration, friction = amplitudes(p, viscosity)
    assert friction < 1e-3 * acceleration
    own = 1.0 / math.sqrt(p.suction.inertance * compliance)
    assert own > 10.0 * p.drive.angular_speed
    run = run_cycles(p, 1)
    first = column(run, "time") < 1.5 * math.pi / own
    depression = p.suction.pressure - column(run, "port_pressure")[first]
    # omega/nu squared, up to 1 %, and how far the sine has turned meanwhile are both in the closed form.
    clock = column(run, "time")[first]
    omega = p.drive.angular_speed
    wanted = acceleration * (np.cos(omega * clock) - np.cos(own * clock)) / (1.0 - (omega / own) ** 2)
    within((depression - wanted) / acceleration, 0.01)
    assert depression.max() == pytest.approx(2.0 * acceleration, rel=0.02)

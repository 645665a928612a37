"""A ball let go in still liquid in its cage (limit 1), in the whole model while the piston stands still."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from balltravel.closures.ball_over_seat import CheckGeometry
from balltravel.closures.families import closures_at
from balltravel.closures.tube import added_mass_coefficient, moving_wall_factor, tube_resistance
from balltravel.core.check import terms_at
from balltravel.core.events import Event
from balltravel.core.inertia import STILL
from balltravel.core.lift import place_of
from balltravel.core.liquid import inertia_at
from balltravel.core.parameters import Parameters

from ..helpers.boxes import boxed, with_viscosity
from ..helpers.lowers import (
    INLET,
    column,
    creeping,
    far_from_its_seat,
    lower,
    quick,
    run_cycles,
    steady_port,
    stiff,
    times,
    with_travel,
)

RADIUS = 1e-3
SEAT = 0.7 * RADIUS
FAR = 4.0  # m, some 5700 seat radii: what the seat adds to the drag, 110 r_s/z, is 0.1 % at most
PERIOD = 20.0


def still(p: Parameters) -> Parameters:
    """The lower with a stiff full chamber and a piston check that shuts at once: while the piston rests
    nothing flows through the inlet check, whatever the line below it does (it rings on its own port)."""
    return stiff(p)._replace(piston=quick(p.piston))


def falling(radius_ratio: float, viscosity: float) -> Parameters:
    """A small ball in a very long cage, far from its seat when the piston comes to rest at the top."""
    cage = RADIUS / radius_ratio
    small = {
        "ball_diameter": 2.0 * RADIUS,
        "seat_diameter": 2.0 * SEAT,
        "cage_diameter": 2.0 * cage,
        "base_travel": 0.05,
    }
    p = lower(
        material={"viscosity": viscosity},
        inlet_check=small,
        suction={"tank_gauge_pressure": 9e6},
        drive={"cycle_rate": 1.0 / PERIOD, "ramp_time": 0.1, "dwell_time": 0.25 * PERIOD},
    )
    geometry = CheckGeometry(SEAT, 0.01, RADIUS, cage, 0.045, 0.7, 2e-6)
    inlet = with_travel(p.inlet, FAR, lambda lift: closures_at(geometry, lift))
    return still(p)._replace(inlet=creeping(inlet))


@pytest.mark.parametrize("ringing", [False, True])
@pytest.mark.parametrize(
    ("radius_ratio", "viscosity"), [(0.5, 0.05), (0.778, 0.05), (0.778, 0.5), (0.9, 0.05), (0.94, 0.02)]
)
def test_a_ball_falls_in_its_cage_at_the_speed_of_creeping_flow(
    agree, radius_ratio: float, viscosity: float, ringing: bool
) -> None:
    p = falling(radius_ratio, viscosity)
    if not ringing:
        p = steady_port(p)
    run = run_cycles(p, 1)
    clock, speed = column(run, "time"), -column(run, "inlet_ball_speed")
    resting = (clock > 0.5 * PERIOD) & (clock < 0.6 * PERIOD)
    # What passes is the line's ring on the stiff liquid: too little to carry the ball along.
    flow = np.abs(column(run, "inlet_flow")[resting]).max()
    assert flow < 1e-3 * math.pi * RADIUS**2 * speed[resting].min()
    wall = tube_resistance(radius_ratio).Rww / (6.0 * math.pi * radius_ratio)
    stokes = p.inlet.net_weight / (6.0 * math.pi * viscosity * RADIUS)
    # What the seat still adds in the widest cage, 1.3e-4 measured; and the ring's flow.
    agree(speed[resting], stokes / wall, 1.3e-3 if ringing else 3e-4)
    # Bungay and Brenner (1973) by themselves, good to 0.2 %.
    assert speed[resting] == pytest.approx(stokes / moving_wall_factor(radius_ratio), rel=2e-3)


def fall_time(check, ball_mass, weight, height):
    """Time to a lift from rest at the seat, by the energy w^2/2 over the lift."""

    def rates(z, y):
        place, energy = place_of(check, z), y[0]
        i, terms = inertia_at(check, place, z), terms_at(check, place, z, 1.0, STILL)
        swept = (terms.alpha - terms.e * terms.gap) / math.pi
        squeezed = 2.0 * swept * swept * max(i.stream_z, 0.0)
        slope = (weight - (i.own_z - i.stream_z + squeezed) * energy) / (ball_mass + i.mass)
        return [slope, 1.0 / math.sqrt(2.0 * energy)]

    first = 1e-9 * height
    still = weight / (ball_mass + inertia_at(check, place_of(check, 0.0), 0.0).mass)
    start = [still * first, math.sqrt(2.0 * first / still)]
    return float(solve_ivp(rates, (first, height), start, rtol=1e-10, atol=1e-16).y[1, -1])


@pytest.mark.parametrize("ball_density", [600.0, 2700.0, 7800.0, 19000.0])
@pytest.mark.parametrize("near", [False, True])
def test_a_ball_without_drag_falls_with_its_own_and_its_added_mass(
    agree, ball_density: float, near: bool
) -> None:
    """Upside down, so that the ball falls from the seat into the cage from the start; a worn seat lets it go,
    on a tight one it would stick. Nothing flows, so that M dw/dt + (m' - N') w^2/2 = W' (M6b), with N' w^2 by
    kappa^2/pi^2 more where the passage narrows again (N' > 0); linear in w^2/2 over the lift. ``near``: with
    the added mass of each lift."""
    height, rho = 0.03, 1250.0
    p = lower(
        material={"viscosity": 1e-4, "density": rho},
        inlet_check={"ball_density": ball_density, "base_travel": height},
        drive={"cycle_rate": 0.1, "ramp_time": 0.1, "dwell_time": 3.0},
    )
    p = still(p)
    inlet = creeping(p.inlet if near else far_from_its_seat(p.inlet))._replace(
        net_weight=-abs(p.inlet.net_weight), leak_gap=1e-4
    )
    run = run_cycles(with_viscosity(p._replace(inlet=inlet), 1e-9), 1)
    start = times(run, Event.RELEASED, INLET)[0]
    fall = times(run, Event.BOUNCED_ON_STOP, INLET)[0] - start
    added = added_mass_coefficient(0.0294 / 0.0378)
    assert added > 1.3  # the cage's, not the 1/2 of open liquid
    expected = math.sqrt(2.0 * height * (ball_density + added * rho) / (abs(ball_density - rho) * 9.80665))
    slow, expected = expected, fall_time(boxed(inlet), inlet.ball_mass, -inlet.net_weight, height)
    assert abs(expected / slow - 1.0) < 0.1
    # The integrator's tolerance; drag at 1e-9 Pa s is 1e-7 of the weight. Near: the pressure of a squeezed
    # stream moves the line a little, 1.9e-5 measured.
    agree(fall, expected, 3e-5 if near else 1e-5)

"""Limits 4 and 5 with a measured stroke and with a motor: lowers starve and breathe by the same formulas."""

import math
from typing import Any

import numpy as np
import pytest

from balltravel.core.parameters import Parameters
from balltravel.core.status import Status
from balltravel.setup.parameters import control_for
from balltravel.setup.runs import run_core

from ..helpers.lowers import Array, at, column, creeping, harmonic, lower, quick, run_cycles, swept
from .test_limits_starved import PERIOD, SIZES, constant_speed_shares, harmonic_fill, settled, starved
from .test_limits_suction_line import amplitudes, held_open, line

PRESSURE = 1e7
"""Outlet pressure of the invented lower [Pa]."""


def traced(time: Array, position: Array) -> dict[str, Any]:
    """A measured stroke as a drive."""
    samples = tuple(zip(time.tolist(), position.tolist(), strict=True))
    return {"profile": "trace", "trace": samples, "cycle_rate": None, "ramp_time": None, "dwell_time": None}


def crank_trace(period: float, samples: int = 2001) -> dict[str, Any]:
    """A crank's stroke as one would have measured it."""
    t = np.linspace(0.0, period, samples)
    return traced(t, 0.03 * (1.0 - np.cos(2.0 * math.pi * t / period)))


@pytest.mark.parametrize("r", [0.1, 0.3, 0.5, 0.7])
def test_a_measured_crank_fills_by_the_formula(r: float) -> None:
    p = starved(r, harmonic(1.0 / PERIOD))
    measured = lower(lower=SIZES, drive=crank_trace(PERIOD)).drive
    run = settled(p._replace(drive=measured))
    fill = at(run, "drawn_volume", run.clock[measured.turn]) / swept(p)
    # 64 cubics a stroke through a sine, their slopes by Fritsch and Carlson: 1e-4 of the stroke.
    assert fill == pytest.approx(harmonic_fill(r), abs=5e-4)


@pytest.mark.parametrize("r", [0.2, 0.5, 0.8])
def test_a_measured_stroke_of_unequal_halves_starves_by_the_speed_of_its_upstroke(r: float) -> None:
    """Constant speeds, up in 0.3 of the period and down in 0.7: min(1, r) at the top, and after it the void
    closes where r/0.3 t = 1 - t/0.7 of the swept volume is left."""
    p = starved(r, harmonic(1.0 / PERIOD))
    drive = lower(lower=SIZES, drive=traced(PERIOD * np.array(UNEVEN[0]), np.array(UNEVEN[1]))).drive
    up = p.lower.area * p.drive.stroke / (0.3 * PERIOD)
    peak = 0.5 * swept(p) * p.drive.angular_speed
    at_stop = p.suction.pressure / (r * peak) - p.suction.laminar * 5.0
    p = p._replace(suction=p.suction._replace(laminar=(p.suction.pressure / (r * up) - at_stop) / 5.0))
    run = settled(p._replace(drive=drive))
    top = at(run, "drawn_volume", run.clock[drive.turn]) / swept(p)
    # The ends of the strokes are rounded over their first and last piece, 1/64 of a stroke.
    assert top == pytest.approx(r, abs=6e-3)
    later = r * (1.0 - r) * (0.7 / 0.3) / (1.0 + r * 0.7 / 0.3)
    assert column(run, "drawn_volume").max() / swept(p) == pytest.approx(top + later, abs=6e-3)


UNEVEN = (
    [*np.linspace(0.0, 0.3, 65).tolist(), *np.linspace(0.3, 1.0, 65).tolist()[1:]],
    [*np.linspace(0.0, 1.0, 65).tolist(), *np.linspace(1.0, 0.0, 65).tolist()[1:]],
)


def motor(strength: float, period: float) -> dict[str, Any]:
    """A hydraulic motor of ``strength`` times the force that an upstroke over a void takes, without friction
    and dwell, next to no ramps."""
    force = strength * load()
    return {
        "profile": "motor",
        "cycle_rate": None,
        "motor": "hydraulic",
        "supply_gauge_pressure": force / (math.pi / 8.0 * SIZES["bore"] ** 2),
        "area_ratio": 1.0,
        "free_cycle_rate": 1.0 / period,
        "friction": 0.0,
        "ramp_time": 1e-4 * period,
        "dwell_time": 0.0,
        "moving_mass": MASS,
    }


MASS = 50.0


def load() -> float:
    """What outlet, atmosphere and its weight push the piston down with, over a void [N]."""
    bore, rod = (math.pi / 4.0 * SIZES[name] ** 2 for name in ("bore", "rod"))
    return (PRESSURE + 101325.0) * (bore - rod) + 101325.0 * rod + 9.80665 * MASS


def driven(r: float, strength: float) -> Parameters:
    """A lower starved to a share r of the speed of its own motor's upstroke."""
    p = starved(0.5, harmonic(1.0 / PERIOD))
    peak = 0.5 * swept(p) * p.drive.angular_speed
    at_stop = p.suction.pressure / (0.5 * peak) - p.suction.laminar * 5.0
    q = lower(lower=SIZES, drive=motor(strength, PERIOD))
    up = q.motor.free_speed * math.sqrt(1.0 - 1.0 / strength)
    hose = p.suction.pressure / (r * p.lower.area * up) - at_stop
    assert hose > 0.0
    suction = p.suction._replace(laminar=hose / 5.0)
    # A piston that is free to move rings on a liquid that does not yield: one that yields a little, and balls
    # with their own mass.
    return p._replace(
        drive=q.drive,
        motor=q.motor._replace(limit=1e3 * PERIOD),
        more=1,
        suction=suction,
        outlet_resistance=0.01 * p.outlet_resistance,
        material=p.material._replace(bulk_modulus=1e10),
        inlet=creeping(q.inlet)._replace(coupling_mass=0.0),
        piston=quick(q.piston),
    )


@pytest.mark.parametrize("strength", [3.0, 1.5, 1.1, 1.01])
@pytest.mark.parametrize("r", [0.2, 0.5, 0.8])
def test_a_motor_dives_through_the_void_and_takes_in_the_less_the_faster_it_dives(
    r: float, strength: float
) -> None:
    """Up at v_0 sqrt(1 - 1/strength), through the void at v_0 sqrt(1 + 1/strength): q times as fast. At the
    top r, and after it the void closes where r t = 1 - r - q t: r + r (1 - r)/(q + r) in all."""
    q = math.sqrt((strength + 1.0) / (strength - 1.0))
    p = driven(r, strength)
    run = settled(p)
    top = at(run, "drawn_volume", run.clock[p.drive.turn]) / swept(p)
    whole = column(run, "drawn_volume").max() / swept(p)
    # Ramps of 1e-3 of a stroke, the valve's shifting, and what 1e7 Pa squeeze the liquid by.
    assert top == pytest.approx(r, abs=3e-3)
    assert whole == pytest.approx(r + r * (1.0 - r) / (q + r), abs=4e-3)
    assert whole < constant_speed_shares(r, 0.0)[1]


def test_a_motor_that_dives_at_once_takes_in_no_more_than_on_the_way_up() -> None:
    shares = []
    for strength in (1.1, 1.01, 1.001):
        p = driven(0.5, strength)
        shares.append(column(settled(p), "drawn_volume").max() / swept(p))
    assert shares[0] > shares[1] > shares[2]
    assert shares[2] == pytest.approx(0.5, abs=0.01)  # min(1, r); 0.25/(q + 0.5) = 0.006 is left


def test_a_measured_crank_breathes_like_a_crank() -> None:
    """Peak depression of a sine, the root of the squares, with a stroke put through samples of it."""
    p = held_open(line(0.3, 3.0, 0.05, 1e-12))
    acceleration, friction = amplitudes(p, 0.3)
    traced_drive = lower(drive=crank_trace(1.0 / 0.5)).drive
    # The line's own ring, struck when the ball leaves its seat, dies by exp(-pi) a cycle.
    run = run_core(p._replace(drive=traced_drive), control_for(p, 1e-6, 12)._replace(periodic_tolerance=0.0))
    depression = p.suction.pressure - column(run, "port_pressure")
    time = column(run, "time")
    phase = p.drive.angular_speed * time
    wanted = acceleration * np.cos(phase) + friction * np.sin(phase)
    whole = math.hypot(acceleration, friction)
    middle = (
        np.abs((time % 1.0) - 0.5) < 0.45
    )  # at the ends of the strokes the pieces are held to be monotone
    assert depression[middle] == pytest.approx(wanted[middle], abs=5e-3 * whole)


@pytest.mark.parametrize("kind", ["hydraulic", "air"])
def test_momentum_of_a_motors_suction_line_is_what_friction_and_acceleration_take(kind: str) -> None:
    """Held open and stiff, the line's flow is the piston's: the integral of the depression over any time is
    inertance times the change of flow and friction times the volume (limit 5 for any motion at all)."""
    p = held_open(line(1.0, 3.0, 0.05, 1e-12))
    drive = {
        "profile": "motor", "cycle_rate": None, "motor": kind,
        "area_ratio": 3.0 if kind == "hydraulic" else 40.0,
        "supply_gauge_pressure": 6e6 if kind == "hydraulic" else 6e5, "free_cycle_rate": 1.0,
    }  # fmt: skip
    q = lower(drive=drive)
    real = q.material._replace(gas_fraction=1e-9)  # a free piston rings on a liquid that does not yield
    run = run_core(p._replace(drive=q.drive, motor=q.motor, more=1, material=real))
    assert run.status in (Status.OK, Status.NOT_PERIODIC)
    time, x = column(run, "time"), column(run, "piston_position")
    assert (column(run, "inlet_lift") == p.inlet.travel).all()
    up = (time > 0.5 * run.clock[4]) & (time < 0.95 * run.clock[4]) & (x < 0.9 * p.drive.stroke)
    t = time[up]
    depression = (p.suction.pressure - column(run, "port_pressure"))[up]
    impulse = float(np.trapezoid(depression, t))
    flow, volume = column(run, "line_flow")[up], column(run, "line_volume")[up]
    friction = 1.0 * p.suction.laminar * (volume[-1] - volume[0])
    wanted = p.suction.inertance * (flow[-1] - flow[0]) + friction
    assert impulse == pytest.approx(wanted, rel=2e-3)
    # And the line's volume is the piston's, counted at the atmosphere: the feed squeezes it by p/beta.
    squeezed = 1.0 + p.suction.pressure / real.bulk_modulus
    swept_by_it = p.lower.area * (x[up][-1] - x[up][0])
    assert volume[-1] - volume[0] == pytest.approx(squeezed * swept_by_it, rel=2e-3)


def test_a_lower_with_a_quick_piston_check_is_full_by_a_motor_too() -> None:
    q = lower(drive={"profile": "motor", "cycle_rate": None, "motor": "hydraulic", "area_ratio": 3.0,
                     "supply_gauge_pressure": 6e6, "free_cycle_rate": 0.5},
              material={"viscosity": 0.1})  # fmt: skip
    p = q._replace(piston=quick(q.piston), material=q.material._replace(gas_fraction=1e-9))
    run = run_cycles(p)
    assert run.status is Status.OK
    # 1e7 Pa over 1.5 GPa squeeze the dead volume and the stroke's liquid by up to 1 % of swept.
    assert column(run, "drawn_volume").max() / swept(p) == pytest.approx(1.0, abs=1e-2)

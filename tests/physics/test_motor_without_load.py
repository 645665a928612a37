"""A motor (M1b) that is run without load: the speed that it has and the time that its cycle takes."""

import numpy as np
import pytest

from balltravel.core.motor import DRIVE, MOTOR_SEGMENTS
from balltravel.core.parameters import Parameters
from balltravel.setup.parameters import control_for
from balltravel.setup.runs import Run, run_core

from ..helpers.lowers import column, lower

UP, DOWN = DRIVE, MOTOR_SEGMENTS // 2 + DRIVE


def without_load(kind: str, rate: float, viscosity: float) -> Parameters:
    """A motor without friction, so strong that what the material at the atmosphere asks of it is nothing."""
    drive = {
        "profile": "motor", "motor": kind, "cycle_rate": None, "ramp_time": 0.03, "dwell_time": 0.04,
        "supply_gauge_pressure": 1e6, "area_ratio": 100.0, "free_cycle_rate": rate, "friction": 0.0,
    }  # fmt: skip
    return lower(material={"viscosity": viscosity}, drive=drive, outlet={"gauge_pressure": 0.0})


def one_cycle(p: Parameters) -> Run:
    return run_core(p, control_for(p, max_cycles=3))


def speeds_at_the_brake(run: Run) -> list[float]:
    """Piston speeds at the ends of both driven segments."""
    time, v = column(run, "time"), column(run, "piston_speed")
    return [float(abs(v[np.flatnonzero(time == run.clock[k + 1])[0]])) for k in (UP, DOWN)]


def test_a_hydraulic_motor_without_load_has_its_free_speed_when_run(agree):
    """5e-4: the load counts by half."""
    p = without_load("hydraulic", 0.5, 0.01)
    free = 0.09 / (1.0 - 0.04 - 0.03)
    assert p.motor.free_speed == pytest.approx(free, rel=1e-12)
    for speed in speeds_at_the_brake(one_cycle(p)):
        agree(speed, free, 5e-4)


def test_a_hydraulic_motor_without_load_takes_seven_sixths_of_a_ramp_beside_stroke_and_dwell(agree):
    """Without load and mass it moves at the root of the valve's opening: nothing for half a ramp, a third of
    a ramp's way in the other half; then even, and half a ramp's way in the brake: 1/2 + 1/2 + 1 - 1/3 - 1/2
    of a ramp more than the stroke at the free speed."""
    p = without_load("hydraulic", 0.5, 0.01)
    half = 0.09 / p.motor.free_speed + 0.04 + 7.0 / 6.0 * 0.03
    run = one_cycle(p)
    agree(float(run.clock[-1]), 2.0 * half, 2e-4)
    assert float(run.clock[4]) == pytest.approx(half, rel=5e-4)


def test_an_air_motor_without_load_comes_to_its_free_speed_by_the_end_of_its_stroke(agree):
    """It starts faster, on the air that is left in it; 1e-3. (In thinner material the balls that bounce keep
    it swinging on its air.)"""
    p = without_load("air", 0.25, 0.5)
    run = one_cycle(p)
    assert float(np.abs(column(run, "piston_speed")).max()) > 1.2 * p.motor.free_speed
    agree(speeds_at_the_brake(run), p.motor.free_speed, 1e-3)


def with_exhaust(of_supply: float) -> Parameters:
    """The air motor with an exhaust of so many times its supply's conductance."""
    p = without_load("air", 0.25, 0.5)
    return p._replace(motor=p.motor._replace(exhaust=of_supply * p.motor.conductance))


def test_behind_a_very_wide_exhaust_an_air_motors_exhaust_side_is_at_the_atmosphere(agree):
    """From the middle of each stroke on; 1e-3 of it is what the exhaust's straight end leaves at a thousand
    times the supply's conductance."""
    p = with_exhaust(1e3)
    run = one_cycle(p)
    time = column(run, "time")
    for segment, side in ((UP, "air_above"), (DOWN, "air_below")):
        begin, end = float(run.clock[segment]), float(run.clock[segment + 1])
        late = (time > 0.5 * (begin + end)) & (time < end)
        assert late.any()
        agree(column(run, side)[late], p.reference_pressure, 1e-3)
    # What the exhaust no longer holds back is speed.
    assert min(speeds_at_the_brake(run)) > 1.05 * p.motor.free_speed


def test_a_narrow_exhaust_slows_an_air_motor_to_its_conductance_over_the_area(agree):
    """Choked (11 bar against 1), it passes p C and the piston pushes out p A v: v = C/A; 1e-2 is the
    pressure of the other side, which the supply still fills."""
    p = with_exhaust(0.05)
    run = one_cycle(p)
    agree(speeds_at_the_brake(run), p.motor.exhaust / p.motor.area, 1e-2)
    even = one_cycle(without_load("air", 0.25, 0.5))
    assert float(run.clock[-1]) > 5.0 * float(even.clock[-1])

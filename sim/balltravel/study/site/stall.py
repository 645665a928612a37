"""How fast a stalled piston creeps: what leaks past checks and packings when nothing is sprayed (M1d)."""

import math
from typing import NamedTuple

import numpy as np

from balltravel.core.parameters import Parameters
from balltravel.core.recording import COLUMNS
from balltravel.core.status import Status
from balltravel.core.workspace import MOST_ROWS
from balltravel.estimate.suction_losses import outlet_load
from balltravel.scenario.model import Scenario, with_choices
from balltravel.setup.parameters import RTOL, control_for, core_parameters
from balltravel.setup.runs import run_stall

SHIFTED = 1e-4
"""Time in which the valve of a motor that stands for another drive shifts [s]: at a stall it has shifted
long ago, and while it shifts the piston would be pushed back first (our choice)."""


class Creep(NamedTuple):
    """A piston pushed from mid-stroke against a closed outlet: its speed by what leaks [m/s], the pressure in
    the upper chamber [Pa absolute], whether it ran through to the end of the stroke; how far it gave before
    by compression [m], and what left past the rod packing meanwhile [m3/s, reference volume].

    ``held``: whether the pressure came to at least half of what holds the motor. Where it did not (much gas),
    the piston ran through by compression: the speed is no creep, and the give at least half the stroke.
    """

    speed: float
    pressure: float
    ran_through: bool
    give: float = math.nan
    weep: float = math.nan
    held: bool = True


def with_closed_outlet(scenario: Scenario, pressure: float | None = None) -> Scenario:
    """The scenario with its outlet closed; a prescribed piston motion is replaced by a hydraulic motor that
    stalls at the outlet's pressure, as the mean of both strokes; at a tip, what a full lower makes there.
    ``pressure``: the gauge pressure [Pa] at which any drive is to stall instead."""
    closed = {"outlet.form": "closed", "outlet.resistance": None}
    drive = scenario.drive
    if drive.profile == "motor" and pressure is None:
        return with_choices(scenario, closed)
    pressure = max(outlet_load(scenario), 1e5) if pressure is None else pressure
    rate = drive.cycle_rate or drive.free_cycle_rate or 1.0
    motor = {
        "drive.profile": "motor",
        "drive.motor": "hydraulic",
        "drive.supply_gauge_pressure": pressure,
        "drive.area_ratio": 1.0,
        "drive.friction": 0.0,
        "drive.free_cycle_rate": rate,
        "drive.ramp_time": SHIFTED,
        "drive.dwell_time": drive.dwell_time,
    }
    return with_choices(scenario, {**closed, **motor})


def creep_of(
    scenario: Scenario, upward: bool, pressure: float | None = None, rtol: float = RTOL
) -> Creep | None:
    """Creep from the middle of a stroke against a closed outlet; None where the run fails.

    ``pressure``: gauge pressure of the stall [Pa], that of ``with_closed_outlet`` by default. The speed is
    that of the last half of the time until the stroke ends or counts as stalled; what the piston moved
    before beyond that speed, all at once, is its give.
    """
    p = core_parameters(with_closed_outlet(scenario, pressure))
    status, rows = run_stall(p, upward, control_for(p, rtol, most_steps=MOST_ROWS))
    if status not in (Status.OK, Status.STALLED):
        return None
    names = ("time", "piston_position", "upper_pressure", "rod_volume")
    time, x, upper, rod = (rows[:, COLUMNS.index(name)] for name in names)
    half, late = 0.5 * time[-1], time >= 0.5 * time[-1]
    moved, rod_before = abs(np.interp(half, time, x) - x[0]), np.interp(half, time, rod)
    on = (1.0 if upward else -1.0) * (x[-1] - np.interp(half, time, x))
    pressed = float(upper[late].mean())
    return Creep(
        float(on / half),
        pressed,
        status == Status.OK,
        float(moved - on),
        float((rod[-1] - rod_before) / half),
        pressed - p.reference_pressure >= 0.5 * _holds(p, upward),
    )


def _holds(p: Parameters, upward: bool) -> float:
    """Gauge pressure in the upper chamber [Pa] that holds the motor: on the upstroke it bears on the annulus,
    on the downstroke, where it stands in both chambers, on the rod."""
    force = p.motor.area * (p.motor.supply - p.reference_pressure) - p.motor.friction
    return float(force / (-p.upper.area if upward else p.lower.area + p.upper.area))

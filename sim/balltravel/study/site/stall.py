"""How fast a stalled piston creeps: what leaks past checks and packings when nothing is sprayed (M1d)."""

from typing import NamedTuple

import numpy as np

from balltravel.core.recording import COLUMNS
from balltravel.core.status import Status
from balltravel.estimate.suction_losses import outlet_load
from balltravel.scenario.model import Scenario, with_choices
from balltravel.setup.parameters import core_parameters
from balltravel.setup.runs import run_stall


class Creep(NamedTuple):
    """A piston pushed against a closed outlet: its speed towards the end of the stroke [m/s], the
    pressure in the upper chamber [Pa absolute], and whether it ran through to that end."""

    speed: float
    pressure: float
    ran_through: bool


def with_closed_outlet(scenario: Scenario) -> Scenario:
    """The scenario with its outlet closed; a prescribed piston motion is replaced by a hydraulic motor that
    stalls at the outlet's pressure, as the mean of both strokes; at a tip, what a full lower makes there."""
    closed = {"outlet.form": "closed", "outlet.resistance": None}
    drive = scenario.drive
    if drive.profile == "motor":
        return with_choices(scenario, closed)
    pressure = max(outlet_load(scenario), 1e5)
    motor = {
        "drive.profile": "motor",
        "drive.motor": "hydraulic",
        "drive.supply_gauge_pressure": pressure,
        "drive.area_ratio": 1.0,
        "drive.friction": 0.0,
        "drive.free_cycle_rate": drive.cycle_rate or 1.0,
        "drive.ramp_time": drive.ramp_time or 0.05 / (drive.cycle_rate or 1.0),
        "drive.dwell_time": drive.dwell_time,
    }
    return with_choices(scenario, {**closed, **motor})


def creep_of(scenario: Scenario, upward: bool) -> Creep | None:
    """Creep from the middle of a stroke against a closed outlet, over the last half of the time until the
    stroke counts as stalled; None where the run fails."""
    status, rows = run_stall(core_parameters(with_closed_outlet(scenario)), upward)
    if status not in (Status.OK, Status.STALLED):
        return None
    time, x, upper = (rows[:, COLUMNS.index(name)] for name in ("time", "piston_position", "upper_pressure"))
    late = time >= 0.5 * time[-1]
    if status == Status.OK:
        return Creep(float(abs(x[-1] - x[0]) / (time[-1] - time[0])), float(upper[-1]), True)
    moved = (x[-1] - np.interp(0.5 * time[-1], time, x)) / (0.5 * time[-1])
    return Creep(float(moved if upward else -moved), float(upper[late].mean()), False)

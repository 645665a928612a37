"""What a motor would do where a prescribed piston motion hides it: dive through the void (M1b)."""

import math
from typing import NamedTuple

from balltravel.cycle.metrics import Metrics
from balltravel.estimate.suction_losses import outlet_load
from balltravel.scenario.model import Scenario, ScenarioError, with_choices
from balltravel.sweeps.cases import Case, run_case

NOTICEABLE = 0.01
"""Void at top dead centre, over the swept volume, above which the dive is worked out (our choice)."""

STRENGTH = 1.5
"""Force at stall of the motor that is tried, over the larger of both loads (our choice)."""

LEAST_PRESSURE = 5e5
"""Outlet pressure [Pa] that its strength is taken for at least (our choice)."""


class Dive(NamedTuple):
    """The same lower by a motor: its fill fraction, volumetric efficiency and cycle rate [1/s]."""

    fill_fraction: float
    volumetric_efficiency: float
    cycle_rate: float


def with_motor(scenario: Scenario) -> Scenario:
    """The scenario driven by a hydraulic motor that would stroke at its cycle rate in a full lower.

    Raises ScenarioError where there is no such motor.
    """
    drive, lower = scenario.drive, scenario.lower
    bore, rod = lower.bore**2, lower.rod**2
    outlet = outlet_load(scenario)
    pressure = max(outlet, LEAST_PRESSURE)
    supply = STRENGTH * pressure * 2.0 * max(bore - rod, rod) / bore / (1.0 - drive.friction)
    half = 0.5 / (drive.cycle_rate or math.nan)
    rest = min(drive.dwell_time + drive.ramp_time, 0.5 * half)
    loads = [outlet * 2.0 * part / bore for part in (bore - rod, rod)]
    slowed = [1.0 / math.sqrt(1.0 - load / supply - drive.friction) for load in loads]
    # A stroke takes its rest and the rest of the time over the share of the speed without load.
    free_half = rest + (half - rest) / (0.5 * sum(slowed))
    changes = {
        "drive.profile": "motor",
        "drive.motor": "hydraulic",
        "drive.supply_gauge_pressure": supply,
        "drive.area_ratio": 1.0,
        "drive.free_cycle_rate": 0.5 / free_half,
        "drive.ramp_time": drive.ramp_time or 0.05 * half,
        "drive.dwell_time": drive.dwell_time,
    }
    return with_choices(scenario, changes)


def as_it_ran(scenario: Scenario, metrics: Metrics) -> Scenario:
    """The scenario at the rate that a run found, where it found one: the pressure is then a result."""
    if scenario.outlet.form != "tip at pressure":
        return scenario
    return with_choices(scenario, {"outlet.form": "tip", "drive.cycle_rate": metrics.cycle_rate})


def dive_of(scenario: Scenario, metrics: Metrics) -> Dive | None:
    """What a motor would take in instead, where a void shows at top dead centre; None where there is none, or
    where it has a motor already, or its run fails."""
    if scenario.drive.profile == "motor" or metrics.void_volume <= NOTICEABLE * metrics.loss_budget.swept:
        return None
    try:
        case: Case = run_case(with_motor(as_it_ran(scenario, metrics)))
    except ScenarioError:
        return None
    if case.metrics is None:
        return None
    m = case.metrics
    return Dive(m.fill_fraction, m.volumetric_efficiency, m.cycle_rate)


def dive_caution(scenario: Scenario, metrics: Metrics | None) -> tuple[str, ...]:
    """The warning that a motor would dive, with the size of it."""
    if metrics is None or metrics.void_volume <= NOTICEABLE * metrics.loss_budget.swept:
        return ()
    if metrics.fill_fraction < NOTICEABLE:  # nothing comes in, by whatever drive
        return ()
    if scenario.drive.profile == "motor":
        return ()
    void = 100.0 * metrics.void_volume / metrics.loss_budget.swept
    observed = (
        f"a void (cavitation) of {void:.0f} % of swept at top dead centre, with a prescribed piston motion"
    )
    dive = dive_of(scenario, metrics)
    if dive is None:
        return (f"{observed}: a motor would dive through the void and draw in less.",)
    if abs(dive.fill_fraction - metrics.fill_fraction) < NOTICEABLE / 2.0:
        return ()
    rate, fill, filled = 60.0 * metrics.cycle_rate, 100.0 * metrics.fill_fraction, 100.0 * dive.fill_fraction
    return (
        f"{observed}: a hydraulic motor that runs at {rate:.3g} cycles/min in a full lower would dive "
        f"through the void: fill {filled:.1f} % instead of {fill:.1f} %, at "
        f"{60.0 * dive.cycle_rate:.3g} cycles/min.",
    )

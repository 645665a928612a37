"""What a scenario says of readings before anything is run: pressure of a stall, rate, inlet at rest."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from balltravel.scenario.model import Scenario, ScenarioError, with_values
from balltravel.scenario.rules.all import STANDARD_GRAVITY
from balltravel.scenario.unknowns import spreads_of

FAR_OFF = 4.0
"""Standard deviations, of reading and of what the scenario says, from which on a rate that the drive imposes
was set otherwise (our choice): no fault moves it."""


def rate_contradicted(scenario: Scenario, rate: float, error: float) -> float | None:
    """The cycle rate [1/s] that the drive imposes, if one that was read is too far off for it to be that;
    ``error``: the standard deviation of the reading. None of a motor, which runs as it can."""
    imposed = scenario.drive.cycle_rate
    if imposed is None or scenario.drive.profile == "motor":
        return None
    spread = spreads_of(scenario).get("drive.cycle_rate")
    own = 0.0 if spread is None else 0.5 * float(spread.at(0.84) - spread.at(0.16))
    return imposed if abs(rate - imposed) > FAR_OFF * math.hypot(own, error) else None


def pressure_at_stall(scenario: Scenario, tip_pressures: Sequence[float]) -> tuple[float, str] | None:
    """The gauge pressure [Pa] that a piston pushes against with the outlet closed, where nobody read it, and
    where it is from; None where nothing tells it. ``tip_pressures``: what was read before the tip [Pa]."""
    drive = scenario.drive
    if drive.profile == "motor" and drive.supply_gauge_pressure and drive.area_ratio:
        return drive.supply_gauge_pressure * drive.area_ratio, "the motor's supply times its ratio"
    if tip_pressures:
        return max(tip_pressures), "the highest tip_pressure that was read"
    gauge = scenario.outlet.gauge_pressure
    return (gauge, "the scenario's outlet.gauge_pressure") if gauge else None


def highest_at_inlet(scenario: Scenario, changes: Mapping[str, Any]) -> float:
    """The highest gauge pressure [Pa] that the inlet can have, at rest, under what was set; 0 or more."""
    if scenario.suction.feed == "ram plate":
        return math.inf
    try:
        there = with_values(scenario, changes)
    except ScenarioError:  # refused elsewhere
        there = scenario
    spread = spreads_of(there).get("suction.lift")
    lift = there.suction.lift if spread is None else min(there.suction.lift, float(spread.at(0.025)))
    head = there.material.density * STANDARD_GRAVITY * lift
    return max(there.suction.tank_gauge_pressure - head, 0.0)

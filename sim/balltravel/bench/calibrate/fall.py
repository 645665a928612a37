"""How long a ball takes from its stop to its seat in still oil, by the law that a run uses (M5)."""

import math

import numpy as np

from balltravel.bench.signs import Sign
from balltravel.closures.families import seat_and_cage
from balltravel.scenario.model import Check, Scenario
from balltravel.scenario.rules.all import STANDARD_GRAVITY
from balltravel.setup.parameters import geometry_of
from balltravel.units.keys import Quantity

FALL = "ball_fall"

FALL_SIGN = Sign("fall of the ball", Quantity("time", 1e-3, 1e4, "317 ms"), 0.05, effort=5.0,
                 how="time the ball's fall from its stop to its seat in a known oil")  # fmt: skip
"""Read within 5 % (one standard deviation), the viscosity of the oil included (our choice)."""

PLACES = 80
"""Lifts over which the time is summed, evenly in their logarithm."""


def fall_time(scenario: Scenario, check: str, viscosity: float, density: float) -> float:
    """Time [s] of a ball of the ``inlet`` or ``piston`` check that is let go at its stop, the check upright
    and open below and above, in oil of a viscosity [Pa s] and a density [kg/m3]; nan if it does not sink.

    Creeping: a drag mu r S(lift) w against its net weight, from the travel to the height of the
    roughness. A ball off its axis has the S of one on it (closures/off_axis.py).
    """
    part: Check = getattr(scenario, f"{check}_check")
    travel = scenario.inlet_travel if check == "inlet" else scenario.piston_check.travel
    weight = (part.ball_density - density) * math.pi / 6.0 * part.ball_diameter**3 * STANDARD_GRAVITY
    if weight <= 0.0:
        return math.nan
    geometry = geometry_of(part, scenario.closures)
    lift = np.geomspace(min(part.surface_roughness, 0.1 * travel), travel, PLACES)
    slowness = viscosity * geometry.contact_radius * seat_and_cage(geometry, lift).S / weight
    return float(np.trapezoid(slowness * lift, np.log(lift)))

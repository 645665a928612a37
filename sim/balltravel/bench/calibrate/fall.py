"""The timed fall of a ball from its stop to its seat in a known oil, as ``check`` expects it."""

import math
from collections.abc import Mapping
from typing import Any

from balltravel.bench.signs import Sign
from balltravel.estimate.preview import BenchFall, bench_fall
from balltravel.scenario.model import Scenario
from balltravel.units.keys import Quantity

FALL = "ball_fall"

FALL_SIGN = Sign("fall of the ball", Quantity("time", 1e-3, 1e4, "317 ms"), 0.05, effort=5.0,
                 how="time the ball's fall from its stop to its seat in a known oil")  # fmt: skip
"""Read within 5 % (one standard deviation), the viscosity of the oil included (our choice)."""


def fall_of(scenario: Scenario, told: Mapping[str, Any]) -> BenchFall:
    """The bench test that somebody made; ``told``: ``ball_fall`` of the observations."""
    inlet = told["check"] == "inlet"
    check = scenario.inlet_check if inlet else scenario.piston_check
    travel = scenario.inlet_travel if inlet else scenario.piston_check.travel
    return bench_fall(check, travel, told["oil_viscosity"], told["oil_density"], scenario.closures)


def fall_time(scenario: Scenario, told: Mapping[str, Any]) -> float:
    """Its time [s]; nan where the ball does not sink."""
    time = fall_of(scenario, told).time
    return math.nan if time is None else time


def fall_notes(scenario: Scenario, told: Mapping[str, Any]) -> list[str]:
    """What to know of it."""
    notes = ["the ball's fall does not tell whether the ball leans: in the law its drag is the same then"]
    if fall_of(scenario, told).too_thin:
        notes.append("the oil is too thin for the ball's fall: what it takes to gain speed is not counted")
    return notes

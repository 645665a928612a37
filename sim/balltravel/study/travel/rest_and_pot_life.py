"""What rest before the first stroke and the time since mixing do to a lower: the first stroke after a break,
and the latest age at which the targets still hold."""

import math
from dataclasses import dataclass

from balltravel.cycle.metrics import Metrics
from balltravel.material.model import material_model
from balltravel.scenario.model import Scenario, with_value
from balltravel.study.travel.trials import MOST_FACTOR, missed
from balltravel.sweeps.cases import run_case

LATEST = 1e6
"""The latest age [s] that is looked at: eleven days."""

STEPS = 4
"""Ages that are looked at while the viscosity doubles (our choice)."""

AGE_WITHIN = 0.01
"""How near the latest age is found, over the time in which the viscosity doubles (our choice)."""


@dataclass(frozen=True)
class FirstStroke:
    """The first cycle after a break from standstill in the rested material: the viscosity it was run with
    over that of the worked material, and its metrics, None where the run failed."""

    ratio: float
    metrics: Metrics | None


@dataclass(frozen=True)
class PotLife:
    """The latest age [s] at which the targets hold, with the viscosity there over that at age 0, and what is
    missed a little later; ``age`` is None where they do not hold now, and inf where nothing ends them within
    a viscosity a hundred times higher or eleven days, with the growth until then."""

    age: float | None
    growth: float
    missed: str


def first_stroke(scenario: Scenario) -> FirstStroke | None:
    """The first cycle with the rested material; None of a material that is not said to thicken at rest.

    The worked material's whole flow curve, times the ratio: how fast it thins again is not known, so the
    whole first cycle is run with it.
    """
    ratio = material_model(scenario.material).rested
    if ratio <= 1.0:
        return None
    own = scenario.material.viscosity_factor
    factor = min(ratio * own, MOST_FACTOR)
    rested = with_value(scenario, "material.viscosity_factor", factor)
    return FirstStroke(factor / own, run_case(rested, max_cycles=1).metrics)


def _missed_at(scenario: Scenario, age: float) -> str:
    """The first target that is missed at an age, in words; empty where all hold."""
    aged = with_value(scenario, "material.age", age)
    metrics = run_case(aged).metrics
    if metrics is None:
        return "the run fails"
    found = missed(aged, metrics)
    return found[0].text if found else ""


def pot_life(scenario: Scenario) -> PotLife | None:
    """The latest age at which the targets hold; None of a material whose viscosity does not grow.

    Age by age, each a quarter of a doubling later, for a landing that is too fast in one viscosity may be
    gentle again in a thicker one; then by bisection between the last that holds and the first that does not.
    """
    known = material_model(scenario.material)
    if known.growth <= 0.0:
        return None
    now, doubling = scenario.material.age, math.log(2.0) / known.growth
    why = _missed_at(scenario, now)
    if why:
        return PotLife(None, math.exp(known.growth * now), why)
    low = high = now
    last = min(now + doubling * math.log2(MOST_FACTOR), LATEST)
    while not why:
        if high >= last:
            return PotLife(math.inf, math.exp(known.growth * (last - now)), "")
        low, high = high, min(high + doubling / STEPS, last)
        why = _missed_at(scenario, high)
    while high - low > AGE_WITHIN * doubling:
        middle = 0.5 * (low + high)
        there = _missed_at(scenario, middle)
        low, high, why = (middle, high, why) if not there else (low, middle, there)
    return PotLife(low, math.exp(known.growth * low), why)

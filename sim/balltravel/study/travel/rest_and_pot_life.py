"""What rest before the first stroke and the time since mixing do to a lower: the first stroke after a break,
and the latest age at which the targets still hold."""

import math
from dataclasses import dataclass

from balltravel.cycle.metrics import Metrics
from balltravel.material.model import material_model
from balltravel.scenario.model import Scenario, with_value
from balltravel.study.search.crossing import Scale
from balltravel.study.search.inputs import Input
from balltravel.study.search.walk import Base, reader_of, walk
from balltravel.study.travel.trials import MOST_FACTOR, missed
from balltravel.sweeps.cases import Case, run_case

LATEST = 1e6
"""The latest age [s] that is searched: eleven days."""

STEPS = 4
"""Ages that are tried while the viscosity doubles (our choice)."""

A_SECOND = 1.0
"""The finest age that is tried [s]."""


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
    now = scenario.material.viscosity_factor
    factor = min(ratio * now, MOST_FACTOR)
    rested = with_value(scenario, "material.viscosity_factor", factor)
    return FirstStroke(factor / now, run_case(rested, max_cycles=1).metrics)


def pot_life(scenario: Scenario) -> PotLife | None:
    """The latest age at which the targets hold; None of a material whose viscosity does not grow.

    Age by age, each a quarter of a doubling later, for a landing that is too fast in one viscosity may be
    gentle again in a thicker one.
    """
    model = material_model(scenario.material)
    if model.growth <= 0.0:
        return None
    now, doubling = scenario.material.age, math.log(2.0) / model.growth
    last = min(now + doubling * math.log2(MOST_FACTOR), LATEST)
    ages = Scale(doubling / STEPS, last - now, geometric=False, quantum=A_SECOND, growth=1.0)
    base = Base(reader_of(scenario))
    if not base.meets:
        return PotLife(None, math.exp(model.growth * now), _missed(scenario, base.case))
    walked = walk(base, Input("material.age", "age", "s", "younger", "older", ages, 1), 1)
    if walked is None or (walked.meets_now and walked.fails is None):
        return PotLife(math.inf, math.exp(model.growth * (last - now)), "")
    fails = walked.fails
    assert fails is not None
    # Where the given age lies within its last digit of the limit, the limit is the given age.
    age = walked.holds if walked.meets_now and walked.holds is not None else now
    return PotLife(age, math.exp(model.growth * age), _missed(*walked.runs[fails]))


def _missed(scenario: Scenario, case: Case) -> str:
    """The first target that is missed, in words."""
    return "the run fails" if case.metrics is None else missed(scenario, case.metrics)[0].text

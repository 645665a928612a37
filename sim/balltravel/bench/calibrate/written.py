"""What was learnt as a scenario has it: ranges of its keys, readings, a law of flow that nobody stated."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from balltravel.bench.calibrate.posterior import Array, Posterior
from balltravel.bench.calibrate.ranges import Learnt
from balltravel.bench.calibrate.unknowns import Unknowns
from balltravel.material.flow_laws import ANY_RATE, PowerLaw
from balltravel.material.viscosity_reading import UNCERTAINTIES, ViscosityReading
from balltravel.scenario.model import FIELDS, Scenario, with_values
from balltravel.scenario.ranges import with_ranges
from balltravel.study.verdict.materials import EXPONENT, FLOW, READINGS, VISCOSITY, reading_key
from balltravel.sweeps.with_density import DENSITY, is_kinematic_in
from balltravel.units.spread import SURE, Spread


@dataclass(frozen=True)
class Written:
    """Ranges by key, values by key that go with them, readings by their number (from 1), the names of inputs
    of which something was learnt that a scenario cannot say, and the density [kg/m3] at which viscosities
    are that go with it."""

    ranges: Mapping[str, Spread] = field(default_factory=dict)
    values: Mapping[str, Any] = field(default_factory=dict)
    readings: Mapping[int, ViscosityReading] = field(default_factory=dict)
    left: tuple[str, ...] = ()
    density: float = math.nan

    def __len__(self) -> int:
        return len(self.ranges) + len(self.readings)


def written_of(unknowns: Unknowns, posterior: Posterior, inputs: Sequence[Learnt]) -> Written:
    """What a scenario can hold of what was learnt; an input of one setting alone is none of its own."""
    scenario = unknowns.scenario
    learnt = {item.key: item for item in inputs if item.learnt and not item.own}
    ranges = {key: replace(item.after, limits=()) for key, item in learnt.items() if key in FIELDS}
    values: dict[str, Any] = {}
    left: tuple[str, ...] = ()
    if EXPONENT in ranges and "flow" not in scenario.material.model_fields_set:
        exponent = ranges.pop(EXPONENT)
        if scenario.material.viscosity is None:
            left = (learnt[EXPONENT].name,)
        else:
            ranges |= {VISCOSITY: _at_one(unknowns, posterior), EXPONENT: exponent}
            values = {FLOW: PowerLaw.NAME}
    if VISCOSITY in ranges and is_kinematic_in(scenario):
        ranges[VISCOSITY] = replace(ranges[VISCOSITY], follows=DENSITY)
    return Written(ranges, values, _readings(scenario, learnt), left, scenario.material.density)


def _at_one(unknowns: Unknowns, posterior: Posterior) -> Spread:
    """The viscosity at 1 1/s of a material whose exponent nobody stated, from that at 10 1/s and both their
    uncertainties, which go together."""
    keys = [unknown.key for unknown in unknowns.each]
    places = [keys.index(key) for key in (VISCOSITY, EXPONENT) if key in keys]

    def log_at_one(point: Array) -> float:
        values = {keys[i]: unknowns.each[i].value(float(point[i])) for i in places}
        thick = values.get(VISCOSITY, unknowns.scenario.material.viscosity or math.nan)
        return math.log(thick) + (1.0 - values[EXPONENT]) * math.log(ANY_RATE)

    best = posterior.best
    steps = 0.1 * np.eye(len(best))
    slopes = [(log_at_one(best + steps[i]) - log_at_one(best - steps[i])) / 0.2 for i in places]
    spread = math.sqrt(slopes @ posterior.covariance[np.ix_(places, places)] @ np.array(slopes))
    return Spread("normal", (math.exp(log_at_one(best)), math.exp(SURE * spread)), logarithmic=True)


def _readings(scenario: Scenario, learnt: Mapping[str, Learnt]) -> dict[int, ViscosityReading]:
    """Readings with the viscosity and the uncertainty that were learnt."""
    made = {}
    for number, reading in enumerate(scenario.material.readings, 1):
        item = learnt.get(reading_key(number))
        if item is not None:
            viscosity, factor = item.after.numbers
            sd = min(max(math.log(factor) / SURE, UNCERTAINTIES[0]), UNCERTAINTIES[1])
            made[number] = reading._replace(viscosity=viscosity, relative_uncertainty=sd)
    return made


def narrowed(scenario: Scenario, written: Written) -> Scenario:
    """The scenario with what was learnt. Raises ScenarioError where that cannot be."""
    readings = tuple(written.readings.get(n, r) for n, r in enumerate(scenario.material.readings, 1))
    values = {**written.values, **({READINGS: readings} if written.readings else {})}
    if written.values:
        values |= {key: written.ranges[key].likely for key in (VISCOSITY, EXPONENT)}
    return with_ranges(with_values(scenario, values) if values else scenario, written.ranges)

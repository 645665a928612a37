"""What may be wrong where readings contradict the scenario: what mends the misfit if it is taken to be so."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from balltravel.bench.calibrate.expected import Bench, readings_of, sign_of
from balltravel.bench.calibrate.unknowns import unknowns_of
from balltravel.bench.observed import Observations
from balltravel.material.flow_laws import Newtonian, PowerLaw
from balltravel.scenario.model import Scenario, ScenarioError, with_choices
from balltravel.scenario.unknowns import changes_of
from balltravel.units import to_text
from balltravel.units.spread import Spread

if TYPE_CHECKING:
    from balltravel.bench.calibrate.calibrate import Fit

MENDS = 0.01
"""Chance from which on what is taken to be otherwise mends a misfit."""

BETTER = 9.0
"""By how much chi-square must fall for it to be named at all (our choice)."""

FAR = 2.5
"""Standard deviations of its prior by which an input that fits must be off to be named (our choice)."""

MATCHED = 10.0
"""Shear rate [1/s] at which material that is taken to thin is as thick as the scenario says (our choice)."""

MUCH = 4.0
"""Factor within which the viscosity then lies in 95 of 100 (our choice)."""

VISCOSITY, EXPONENT = "material.viscosity", "material.thinning_exponent"


@dataclass(frozen=True)
class Contradiction:
    """Something that may be otherwise than the scenario or the file says: what, the chi-square that it
    leaves, the chance of a larger one, and whether that mends the misfit."""

    what: str
    chi_square: float
    chance: float
    mends: bool


@dataclass(frozen=True)
class _Alternative:
    what: str
    scenario: Scenario
    spreads: dict[str, Spread]


def contradictions_of(fit: "Fit", observed: Observations, workers: int | None) -> tuple[Contradiction, ...]:
    """What makes chi-square fall most, the best first: refits of the scenario with something else in it, and
    one reading left out."""
    named = [*_single_readings(fit), *_refits(fit, observed, workers)]
    better = [each for each in named if each.chi_square < fit.posterior.chi_square - BETTER]
    return tuple(sorted(better, key=lambda each: (not each.mends, each.chi_square)))


def _named(what: str, chi_square: float, readings: int) -> Contradiction:
    from scipy.special import chdtrc

    chance = float(chdtrc(max(readings, 1), chi_square))
    return Contradiction(what, chi_square, chance, chance >= MENDS)


def _single_readings(fit: "Fit") -> Iterator[Contradiction]:
    """Each reading left out, by the slopes at the best fit."""
    p, pulls = fit.posterior, np.flatnonzero(~fit.at_most | (fit.posterior.expected > fit.values))
    inverse = np.linalg.inv((p.errors + p.slopes @ p.slopes.T)[np.ix_(pulls, pulls)])
    weighed = inverse @ (fit.values - p.expected + p.slopes @ p.best)[pulls]
    for i, row in enumerate(fit.rows[place] for place in pulls):
        less = weighed[i] ** 2 / inverse[i, i]
        where = f" ({row.situation})" if row.situation.startswith("seen") else ""
        what = f"{sign_of(row.key).name}{where} was read wrongly"
        yield _named(what, max(p.chi_square - float(less), 0.0), fit.freedom - (not row.at_most))


def far_inputs(fit: "Fit") -> Iterator[str]:
    """Inputs that fit only far from their ranges, in words."""
    for unknown, best in zip(fit.unknowns.each, fit.posterior.best, strict=True):
        if abs(best) > FAR:
            value = to_text(unknown.value(float(best)), unknown.dimension, 3)
            yield f"{unknown.name} fits best at {value}, {abs(best):.1f} standard deviations off its middle"


def _refits(fit: "Fit", observed: Observations, workers: int | None) -> Iterator[Contradiction]:
    from balltravel.bench.calibrate.calibrate import fit_by

    settings = [condition.changes for condition in observed.seen]
    keys = {u.key for u, known in zip(fit.unknowns.each, fit.posterior.fitted, strict=True) if known}
    for other in _alternatives(fit.unknowns.scenario):
        unknowns = unknowns_of(other.scenario, settings, other.spreads).only(keys | other.spreads.keys())
        bench = Bench(unknowns, observed, workers, fit.bench.count)
        try:
            again, _ = fit_by(bench, readings_of(observed, other.scenario.lower.stroke), observed)
        except ScenarioError:  # does not run
            continue
        if len(again.rows) == len(fit.rows):
            yield _named(other.what, again.posterior.chi_square, again.freedom)


def _alternatives(scenario: Scenario) -> Iterator[_Alternative]:
    """What may be otherwise, one at a time."""
    yield from _thinning(scenario)
    for name in ("inlet", "piston"):
        key, check = f"{name}_check.seat", getattr(scenario, f"{name}_check")
        if check.table:  # its seat is known
            continue
        other = "cone" if check.seat == "edge" else "edge"
        what = f"the seat of the {name} check is a{'n edge' if other == 'edge' else ' cone'}"
        yield from _changed(what, scenario, {key: other})
    other = "touching" if scenario.closures.ball_position == "centred" else "centred"
    what = "the balls lean against cage or seat" if other == "touching" else "the balls do not lean"
    yield from _changed(what, scenario, {"closures.ball_position": other})
    hose = scenario.suction.hose_diameter
    spread = Spread("normal", (hose, 2.0), logarithmic=True)
    yield _Alternative(
        "the suction hose or strainer is choked, or wider", scenario, {"suction.hose_diameter": spread}
    )


def _thinning(scenario: Scenario) -> Iterator[_Alternative]:
    m = scenario.material
    if m.viscosity is None or m.flow not in (Newtonian.NAME, PowerLaw.NAME):
        return
    thick = Spread("normal", (m.viscosity, MUCH), logarithmic=True)
    yield _Alternative("the viscosity lies outside its range", scenario, {VISCOSITY: thick})
    if m.flow == PowerLaw.NAME:
        spreads = {VISCOSITY: thick, EXPONENT: Spread("even", (0.2, 1.0))}
        yield _Alternative("the material thins more or less than its range says", scenario, spreads)
        return
    at_one = m.viscosity * MATCHED**0.3
    changes = {"material.flow": PowerLaw.NAME, EXPONENT: 0.7, VISCOSITY: at_one}
    thick = Spread("normal", (at_one, MUCH), logarithmic=True)
    what = "the material thins"
    for other in _changed(what, scenario, changes):
        yield _Alternative(what, other.scenario, {VISCOSITY: thick, EXPONENT: Spread("even", (0.3, 1.0))})


def _changed(what: str, scenario: Scenario, changes: dict[str, Any]) -> Iterator[_Alternative]:
    try:
        yield _Alternative(what, with_choices(scenario, changes_of(scenario, changes)), {})
    except ScenarioError:  # cannot be in this lower
        return

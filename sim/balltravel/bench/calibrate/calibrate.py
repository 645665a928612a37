"""What a pump's readings say of its scenario: ranges before and after, and whether they fit at all."""

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from balltravel.bench.calibrate.contradictions import Contradiction, contradictions_of, far_inputs
from balltravel.bench.calibrate.expected import STALL, Bench, Count, readings_of, sign_of
from balltravel.bench.calibrate.fall import fall_notes
from balltravel.bench.calibrate.leaks import LeakSum, leaks_of
from balltravel.bench.calibrate.next_reading import NextReading, next_reading_of
from balltravel.bench.calibrate.posterior import (
    Array,
    Flags,
    Linear,
    Posterior,
    Read,
    approached,
    linear_at,
    posterior_of,
)
from balltravel.bench.calibrate.ranges import Learnt, correlated, learnt_of
from balltravel.bench.calibrate.sampled import samples_of
from balltravel.bench.calibrate.unknowns import Unknowns, unknowns_of
from balltravel.bench.calibrate.written import Written, narrowed, written_of
from balltravel.bench.fit import CREEP, Row
from balltravel.bench.observed import Observations
from balltravel.bench.read_observed import read_observations
from balltravel.scenario.arguments import refused, scenario_given
from balltravel.scenario.model import Scenario
from balltravel.sweeps.cases import Progress

MISFIT = 0.01
"""Chance below which readings are taken to contradict the scenario (our choice)."""

RUNS_ABOUT = 140
"""Runs of each situation, about: two for each input, two for each that is fitted, and a few for each step."""


@dataclass(frozen=True)
class SignRead:
    """A reading: what was seen, what was expected before and is after [SI] (of creep the time of a stroke,
    without end where nothing creeps), and by how many standard deviations it is off: before of all that was
    not known, after of its error of reading. ``none_in``: for how long [s] nobody saw a creep."""

    key: str
    name: str
    situation: str
    seen: float
    before: float
    after: float
    off_before: float
    off_after: float
    none_in: float | None = None


@dataclass(frozen=True)
class Calibration:
    """What was learnt: inputs by how narrow they became, sums of leaks, pairs of inputs that the readings
    tell only together (names and correlation), readings, chi-square with as many degrees of freedom as
    readings and the chance of a larger one, what contradicts what where that is below 1 in 100, the next
    reading, the scenario with its new ranges, the number of runs, and notes."""

    inputs: tuple[Learnt, ...]
    unmoved: tuple[str, ...]
    sums: tuple[LeakSum, ...]
    pairs: tuple[tuple[str, str, float], ...]
    readings: tuple[SignRead, ...]
    chi_square: float
    chance: float
    contradictions: tuple[Contradiction, ...]
    next_reading: NextReading | None
    written: Written
    scenario: Scenario = field(repr=False)
    runs: int = 0
    notes: tuple[str, ...] = ()

    @property
    def misfit(self) -> bool:
        """Whether the readings contradict the scenario: chance leaves as much in fewer than 1 of 100."""
        return self.chance < MISFIT

    @property
    def learnt(self) -> tuple[Learnt, ...]:
        """The inputs of which something was learnt."""
        return tuple(item for item in self.inputs if item.learnt)

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts, lists and dictionaries, SI units; the scenario is left out."""
        values = {
            name: getattr(self, name)
            for name in self.__dataclass_fields__
            if name not in ("scenario", "written")
        }
        plain = {name: _plain(value) for name, value in values.items()}
        return {**plain, "misfit": self.misfit}


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return asdict(value) if hasattr(value, "__dataclass_fields__") else value


@dataclass(frozen=True)
class Fit:
    """A posterior with what it is of."""

    unknowns: Unknowns
    rows: tuple[Row, ...]
    bench: Bench
    first: Linear
    posterior: Posterior

    @property
    def values(self) -> Array:
        """What was read, on the scales of the signs."""
        return np.array([row.value for row in self.rows])

    @property
    def at_most(self) -> Flags:
        """Which of them are bounds."""
        return np.array([row.at_most for row in self.rows], bool)

    @property
    def freedom(self) -> int:
        """Degrees of freedom of chi-square: the readings that are no bounds."""
        return max(int((~self.at_most).sum()), 1)

    @property
    def chance(self) -> float:
        """Chance of a larger chi-square."""
        from scipy.special import chdtrc

        return float(chdtrc(self.freedom, self.posterior.chi_square))


def calibrate(
    scenario: Scenario,
    observed: Observations | str | Path,
    *,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Calibration:
    """Narrow the ranges of a scenario by what was read of the pump.

    ``observed``: observations, or the name of their file (docs/calibrate.md). Some 100 to 200 runs for each
    condition in it and for a stall, on ``workers`` threads (all cores by default), three times as many where
    the readings contradict the scenario; ``progress`` is called with (runs done, runs in all, about). Raises
    ScenarioError for a file or arguments that cannot be, where the scenario does not run, and where nothing
    is learnt.
    """
    scenario_given(scenario)
    if not isinstance(observed, Observations):
        observed = read_observations(observed, scenario)
    count = Count(progress, RUNS_ABOUT * (len(observed.seen) + 1))
    count.begin()
    fit, notes = fitted(scenario, observed, workers, count)
    leaks = leaks_of(fit)
    samples = samples_of(fit)
    inputs = learnt_of(fit.unknowns, fit.posterior.fitted, samples, leaks.marginals)
    misfit = fit.chance < MISFIT
    named = contradictions_of(fit, observed, workers) if misfit else ()
    if not misfit and not any(item.learnt for item in inputs):
        allowed, example = "readings that move an input by more than their error", 'tip_pressure = "113 bar"'
        raise refused("observed", _nothing(fit), allowed, example)
    unmoved = [u.name for u, known in zip(fit.unknowns.each, fit.posterior.fitted, strict=True) if not known]
    written = written_of(fit.unknowns, fit.posterior, inputs)
    result = Calibration(
        inputs=inputs,
        unmoved=tuple(unmoved),
        sums=leaks.sums,
        pairs=correlated(fit.unknowns, fit.posterior.fitted, samples),
        readings=_readings(fit, scenario.lower.stroke),
        chi_square=fit.posterior.chi_square,
        chance=fit.chance,
        contradictions=named,
        next_reading=None if misfit else next_reading_of(fit, scenario.lower.stroke),
        written=written,
        scenario=narrowed(scenario, written),
        runs=count.done,
        notes=(*notes, *(far_inputs(fit) if misfit else ()), *_not_written(written)),
    )
    count.finish()
    return result


def _not_written(written: Written) -> list[str]:
    return [
        f"{name}: learnt, but no new scenario holds it, for the material is given by readings at one rate"
        for name in written.left
    ]


def _nothing(fit: Fit) -> str:
    count = len(fit.rows)
    return f"{count} reading{'s' * (count > 1)} by which no range gets narrower: nothing is learnt"


def fitted(
    scenario: Scenario, observed: Observations, workers: int | None = None, count: Count | None = None
) -> tuple[Fit, list[str]]:
    """The fit alone, and notes of readings that the scenario does not have."""
    unknowns = unknowns_of(scenario, [condition.changes for condition in observed.seen])
    bench = Bench(unknowns, observed, workers, count)
    return fit_by(bench, readings_of(observed, scenario.lower.stroke), observed)


def fit_by(bench: Bench, readings: Sequence[Row], observed: Observations) -> tuple[Fit, list[str]]:
    """The same with runs that may be there already."""
    unknowns = bench.unknowns
    middle = np.zeros(len(unknowns))
    there = bench.expected(readings, middle[None])[0]
    rows = [row for row, value in zip(readings, there, strict=True) if math.isfinite(value)]
    if not rows:
        given = "nothing that was seen can be compared: the scenario does not run, or has no such sign"
        raise refused("scenario", given, "one whose simulate ends well", "balltravel simulate FILE")
    left = sorted({sign_of(row.key).name for row in readings if row not in rows})
    notes = [f"{name}: not compared, the scenario has none" for name in left]
    notes += observed.notes
    if observed.good_days or observed.good_stall:
        notes.append(
            "good days are not used: put their readings, like those of any other day, in a file of their own"
        )
    if observed.ball_fall:
        notes += fall_notes(unknowns.scenario, observed.ball_fall)
    stalled = any(row.situation == STALL for row in rows)
    first, posterior = _fitted(bench, rows, middle, unknowns.leaks & stalled)
    return Fit(unknowns, tuple(rows), bench, first, posterior), notes


def _fitted(bench: Bench, rows: Sequence[Row], middle: Array, always: Flags) -> tuple[Linear, Posterior]:
    """What is expected at the middle of all ranges, and the fit: by what shows there, and once more by what
    shows where that ends, for in a lower that starves other inputs show than in one that fills."""
    values, sds = (np.array([getattr(row, name) for row in rows]) for name in ("value", "sd"))
    read = Read(values, sds, np.array([row.at_most for row in rows], bool))
    signs = partial(bench.expected, rows)
    every = np.ones(len(middle), bool)
    first = linear_at(middle, every, signs)
    bench.focus(rows, first.slopes)
    near, fitted = approached(read, signs, middle, first, always)
    bench.focus(rows, None)
    again = linear_at(near, every, signs)
    bench.focus(rows, np.maximum(np.abs(first.slopes), np.abs(again.slopes)))
    return first, posterior_of(read, signs, near, again, always | fitted)


def back(row: Row, value: float, stroke: float) -> float:
    """A value on a sign's scale in SI again; of creep the time of a stroke."""
    sign = sign_of(row.key)
    plain = max(math.exp(value) - row.floor, 0.0) if sign.share else value
    if row.key not in CREEP:
        return float(plain)
    return stroke / plain if plain > 1e-3 * row.floor else math.inf


def _readings(fit: Fit, stroke: float) -> tuple[SignRead, ...]:
    p, first = fit.posterior, fit.first
    before = p.errors + first.slopes @ first.slopes.T
    made = []
    for i, row in enumerate(fit.rows):
        off = row.value - first.expected[i], row.value - p.expected[i]
        if row.at_most:
            off = min(off[0], 0.0), min(off[1], 0.0)
        made.append(
            SignRead(
                row.key, sign_of(row.key).name, row.situation,
                math.inf if row.at_most else back(row, row.value, stroke),
                back(row, first.expected[i], stroke), back(row, p.expected[i], stroke),
                float(off[0] / math.sqrt(before[i, i])), float(off[1] / math.sqrt(p.errors[i, i])),
                row.none_in,
            )
        )  # fmt: skip
    return tuple(made)

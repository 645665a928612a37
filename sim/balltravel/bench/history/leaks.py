"""How large each leak would be, were it the only one, by what was seen on a day."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from balltravel.bench.causes import Cause, causes_of
from balltravel.bench.fit import Curve, Model, Row, rows_of
from balltravel.bench.history.entries import FOOT_VALVE, LEAKS, PISTON, ROD_PACKING
from balltravel.bench.observed import Condition, Observations
from balltravel.bench.runs import Answers, answers_of, at_stall, at_work
from balltravel.bench.signs import Array
from balltravel.scenario.model import Scenario, with_values
from balltravel.sweeps.cases import Batches, Progress

WITHIN = 0.95
"""Chance with which a size lies in its band."""

CURVE_ERROR = 0.05
"""How far a leak's curve may be off, over how far it moves a reading (our choice): less than in a diagnosis,
for it goes through more sizes."""

SIZES = 1200
"""Sizes at which a likelihood is looked at, beside none."""

SHARES_RUN = (0.03, 0.1, 0.25, 0.5, 1.0)
"""Sizes that are run, as shares of the largest: small ones too, for a history begins with them."""

OWN = {
    FOOT_VALVE: ("inlet_check.leak_gap",),
    PISTON: ("piston_check.leak_gap", "lower.piston_packing_gap"),
    ROD_PACKING: ("lower.rod_packing_gap",),
}
"""What a leak is a gap of; the two of the piston look alike."""

LEARNT = 0.8
"""Spread of a size after the readings, over that before, above which nothing was learnt (our choice)."""

MISFIT = 0.01
"""Chance below which a leak alone is taken not to explain what was seen (our choice)."""

BEHIND = math.log(20.0)
"""By how much likelier another leak must make what was seen, for this one not to explain it: 20 to 1 (our
choice)."""


@dataclass(frozen=True)
class LeakFit:
    """A leak as the only fault: the even gap [m] that fits best, its standard deviation, the ends of the band
    in which it lies in 95 of 100, the chance of a misfit as large, whether the readings say anything of it,
    the logarithm of its best likelihood, and how far that is below the best of any leak of the day."""

    size: float
    sd: float
    low: float
    high: float
    chance: float
    learnt: bool
    likelihood: float
    behind: float = 0.0

    @property
    def explains(self) -> bool:
        """Whether this leak alone may be what was seen."""
        return self.chance >= MISFIT and self.behind <= BEHIND


@dataclass(frozen=True)
class Day:
    """What was seen, with the shims that lay below the cage (None: as in the scenario)."""

    observed: Observations
    shims_below: tuple[int, ...] | None = None


def fitted_leaks(
    scenario: Scenario, days: Sequence[Day], workers: int | None = None, progress: Progress | None = None
) -> tuple[list[dict[str, LeakFit]], int]:
    """Of each day its leaks by name (those that could not be run are missing), and the number of runs.

    Days with the same setting share their runs.
    """
    situations = _situations(days)
    batches = Batches(progress, len(situations))
    causes = leaks_of(scenario)
    answers = {}
    for key, (changes, pressure) in situations.items():
        news = batches.next()
        run = at_work(workers, news) if pressure is None else at_stall(pressure, workers, news)
        answers[key] = answers_of(with_values(scenario, changes), causes, run)
    batches.finish()
    runs = sum(1 + len(a.causes) * len(SHARES_RUN) + len(a.unknowns) for a in answers.values())
    fits = [_fits_of(scenario, day, {name: answers[key] for name, key in _keys(day).items()}) for day in days]
    return fits, runs


Key = tuple[object, ...]


def _keys(day: Day) -> dict[str, Key]:
    """Name of each situation of a day -> what tells its runs from others."""
    keys: dict[str, Key] = {
        f"seen {number}": ("work", day.shims_below, _frozen(condition))
        for number, condition in enumerate(day.observed.seen, 1)
    }
    if day.observed.stall or day.observed.good_stall:
        keys["stall"] = ("stall", day.shims_below, day.observed.stall_pressure)
    return keys


def _frozen(condition: Condition) -> tuple[tuple[str, str], ...]:
    return tuple(sorted((key, repr(value)) for key, value in condition.changes.items()))


def _situations(days: Sequence[Day]) -> dict[Key, tuple[dict[str, Any], float | None]]:
    """All situations of all days, each once: what is set, and the gauge pressure [Pa] of a stall."""
    wanted: dict[Key, tuple[dict[str, Any], float | None]] = {}
    for day in days:
        shims = {} if day.shims_below is None else {"shims.below": day.shims_below}
        keys = _keys(day)
        for number, condition in enumerate(day.observed.seen, 1):
            wanted.setdefault(keys[f"seen {number}"], ({**shims, **condition.changes}, None))
        if "stall" in keys:
            wanted.setdefault(keys["stall"], (shims, day.observed.stall_pressure))
    return wanted


def leaks_of(scenario: Scenario) -> tuple[Cause, ...]:
    """The leaks among the causes of a scenario, to be run at sizes of our own."""
    return tuple(replace(cause, shares=SHARES_RUN) for cause in causes_of(scenario) if cause.name in LEAKS)


def _fits_of(scenario: Scenario, day: Day, answers: Mapping[str, Answers]) -> dict[str, LeakFit]:
    rows = rows_of(day.observed, scenario.lower.stroke)
    rows = [row for row in rows if math.isfinite(answers[row.situation].sound[row.key])]
    if not rows:
        return {}
    made = {cause.name: leak_fit(rows, answers, cause) for cause in leaks_of(scenario)}
    fits = {name: fit for name, fit in made.items() if fit is not None}
    top = max((fit.likelihood for fit in fits.values()), default=0.0)
    return {name: replace(fit, behind=top - fit.likelihood) for name, fit in fits.items()}


def leak_fit(rows: Sequence[Row], answers: Mapping[str, Answers], cause: Cause) -> LeakFit | None:
    """A leak by readings, each size as likely as another before; None where it could not be run. Other places
    may leak a little, as in a sound lower.

    The band is the narrowest that holds 95 of 100: of a sound place it begins at none.
    """
    from scipy.special import chdtrc

    model = Model(rows, {name: _without(OWN[cause.name], each) for name, each in answers.items()})
    curve = model.curve(cause.name, SIZES)
    if curve is None:
        return None
    curve = Curve(np.array([0.0, *curve.shares]), np.array([model.sound, *curve.expected]))
    chi_square, likely = model.by_size(curve, CURVE_ERROR)
    density = np.exp(likely - likely.max())
    density /= np.trapezoid(density, curve.shares)
    mean = float(np.trapezoid(curve.shares * density, curve.shares))
    sd = math.sqrt(max(float(np.trapezoid((curve.shares - mean) ** 2 * density, curve.shares)), 0.0))
    before = float(curve.shares[-1]) / math.sqrt(12.0)
    chance = float(chdtrc(model.freedom, float(chi_square.min())))
    at = (float(curve.shares[int(np.argmax(density))]), *_narrowest(curve.shares, density))
    size, least, most = (cause.size(share) for share in at)
    return LeakFit(
        size, sd * (cause.end - cause.start), least, most, chance, sd < LEARNT * before, float(likely.max())
    )


def _without(keys: Sequence[str], answers: Answers) -> Answers:
    """The same with the leak's own gap as what is looked for, and not among what is not known."""
    return replace(answers, unknowns={key: of for key, of in answers.unknowns.items() if key not in keys})


def _narrowest(shares: Array, density: Array) -> tuple[float, float]:
    """Ends of the narrowest range that holds WITHIN of a density."""
    below = np.concatenate([[0.0], np.cumsum(0.5 * (density[1:] + density[:-1]) * np.diff(shares))])
    below /= below[-1]
    begin = shares[below <= 1.0 - WITHIN]
    end = np.interp(np.interp(begin, shares, below) + WITHIN, below, shares)
    narrow = int(np.argmin(end - begin))
    return float(begin[narrow]), float(end[narrow])

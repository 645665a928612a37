"""The cycle rate that a tip and its pressure ask for (M8d)."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq

from balltravel.core.recording import COLUMNS
from balltravel.core.status import Status
from balltravel.scenario import model as described
from balltravel.scenario.model import FIELDS, quantity_of
from balltravel.setup.drive import cycle_rate_of
from balltravel.setup.parameters import RTOL, control_for, core_parameters
from balltravel.setup.runs import mean_over, run_core

RATE_TOLERANCE = 1e-4
"""How near the cycle rate at a tip is found, over itself."""

MOST_RUNS = 60
"""Rates that are run at most to find it: from the slowest rate to the fastest in steps of a quarter is 41."""

MOST_STEPS_IN_ALL = 3_000_000
"""Steps after which no further rate is run: about half a minute (our choice)."""

TOO_FAST = 1.0
"""What counts as missing of the pressure, over it, where the changeover does not fit or a run fails."""

Progress = Callable[[int, int], None]


class FoundRate(NamedTuple):
    """The scenario at the rate that was found, its outlet a tip whose pressure is a result; where the search
    ended at its bounds (``found`` False), at the rate that came nearest to the pressure; and about how many
    steps that took."""

    scenario: described.Scenario
    found: bool
    steps: int


class RateNotFoundError(Exception):
    """The search for the rate ended at its bounds; the message says what to do."""


class _SpentError(Exception):
    """The search has used up its runs or steps."""


class _Search:
    """Runs rates, each once, and knows how many runs and steps are left."""

    def __init__(self, scenario: described.Scenario, progress: Progress | None, rtol: float) -> None:
        self.scenario, self.progress, self.rtol = scenario, progress, rtol
        self.wanted = scenario.suction.barometric_pressure + (scenario.outlet.gauge_pressure or 0.0)
        self.tried: dict[float, float] = {}
        self.steps = 0

    def at_rate(self, rate: float) -> described.Scenario:
        """The scenario at a rate [1/s]."""
        return described.with_choices(self.scenario, {"outlet.form": "tip", "drive.cycle_rate": rate})

    def missing(self, rate: float) -> float:
        """What a rate makes above the pressure that is wanted, over that."""
        if rate not in self.tried:
            if len(self.tried) >= MOST_RUNS or self.steps >= MOST_STEPS_IN_ALL:
                raise _SpentError
            self.tried[rate] = self._run(rate)
            if self.progress is not None:
                self.progress(len(self.tried), MOST_RUNS)
        return self.tried[rate]

    def _run(self, rate: float) -> float:
        try:
            p = core_parameters(self.at_rate(rate))._replace(outlet_pressure=self.wanted)
        except described.ScenarioError:  # the changeover does not fit into so short a cycle
            return TOO_FAST
        result = run_core(p, control_for(p, self.rtol))
        self.steps += max(result.cycles, 1) * len(result.rows)
        if result.status.failed:
            return TOO_FAST
        rows = dict(zip(COLUMNS, result.rows.T, strict=True))
        return mean_over(rows["time"], rows["upper_pressure"]) / self.wanted - 1.0

    def rate(self, start: float, slow: float, fast: float) -> float:
        """By bracketing: the more often a lower strokes, the more passes its tip."""
        missing, low, high = self.missing, start, start
        while missing(low) > 0.0 and low > slow:
            high, low = low, max(0.8 * low, slow)
        while missing(high) < 0.0 and high < fast:
            low, high = high, min(1.25 * high, fast)
        if missing(low) >= 0.0 or missing(high) <= 0.0:
            return low if missing(low) >= 0.0 else high
        root = float(brentq(missing, low, high, rtol=RATE_TOLERANCE))
        # Where the search ended at what is too fast, the root may lie on the wrong side of that edge.
        return root if missing(root) < TOO_FAST else root * (1.0 - 2.0 * RATE_TOLERANCE)

    def nearest(self) -> float:
        """Of all rates that were run the one that came nearest."""
        return min(self.tried, key=lambda rate: abs(self.tried[rate]))


def find_rate(
    scenario: described.Scenario, progress: Progress | None = None, rtol: float = RTOL
) -> FoundRate:
    """The scenario at the cycle rate at which the mean pressure at the outlet is the given one, by runs of a
    relative tolerance.

    Where no rate that a scenario may have makes the pressure, the nearest of them: the slowest, or the
    fastest that runs. No more than MOST_RUNS rates are run, and no further one after MOST_STEPS_IN_ALL steps;
    ``progress`` is called with (rates run, MOST_RUNS).
    """
    search, (slow, fast) = _Search(scenario, progress, rtol), _limits()
    try:
        rate = search.rate(float(np.clip(cycle_rate_of(scenario), slow, fast)), slow, fast)
    except _SpentError:
        return FoundRate(search.at_rate(search.nearest()), False, search.steps)
    return FoundRate(search.at_rate(rate), True, search.steps)


def at_found_rate(scenario: described.Scenario) -> described.Scenario:
    """As find_rate, where nothing can be said without the rate; raises RateNotFoundError."""
    at_rate, found, _ = find_rate(scenario)
    if not found:
        raise RateNotFoundError(Status.RATE_NOT_FOUND.advice)
    return at_rate


def _limits() -> tuple[float, float]:
    """Slowest and fastest cycle rate that a scenario may have [1/s]."""
    quantity = quantity_of(FIELDS["drive.cycle_rate"])
    assert quantity is not None
    return quantity.low, quantity.high

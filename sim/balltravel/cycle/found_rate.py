"""The cycle rate that a tip and its pressure ask for (M8d)."""

from functools import cache

import numpy as np
from scipy.optimize import brentq

from balltravel.core.recording import COLUMNS
from balltravel.scenario import model as described
from balltravel.scenario.model import FIELDS, quantity_of
from balltravel.setup.drive import cycle_rate_of
from balltravel.setup.parameters import core_parameters
from balltravel.setup.runs import mean_over, run_core

RATE_TOLERANCE = 1e-4
"""How near the cycle rate at a tip is found, over itself."""


TOO_FAST = 1.0
"""What counts as missing of the pressure, over it, where the changeover does not fit or a run fails."""


def at_found_rate(scenario: described.Scenario) -> described.Scenario:
    """The scenario at the cycle rate at which the mean pressure at the outlet is the given one; the outlet is
    then a tip whose pressure is a result.

    By bracketing: the more often a lower strokes, the more passes its tip. Where no rate that a scenario may
    have makes the pressure, the nearest of them: the slowest, or the fastest that runs.
    """
    wanted = scenario.suction.barometric_pressure + (scenario.outlet.gauge_pressure or 0.0)
    slow, fast = _limits()

    def at_rate(rate: float) -> described.Scenario:
        return described.with_choices(scenario, {"outlet.form": "tip", "drive.cycle_rate": rate})

    @cache
    def missing(rate: float) -> float:
        try:
            p = core_parameters(at_rate(rate))
        except described.ScenarioError:  # the changeover does not fit into so short a cycle
            return TOO_FAST
        result = run_core(p._replace(outlet_pressure=wanted))
        if result.status.failed:
            return TOO_FAST
        rows = dict(zip(COLUMNS, result.rows.T, strict=True))
        return mean_over(rows["time"], rows["upper_pressure"]) / wanted - 1.0

    rate = float(np.clip(cycle_rate_of(scenario), slow, fast))
    low, high = rate, rate
    while missing(low) > 0.0 and low > slow:
        high, low = low, max(0.8 * low, slow)
    while missing(high) < 0.0 and high < fast:
        low, high = high, min(1.25 * high, fast)
    if missing(low) >= 0.0 or missing(high) <= 0.0:
        return at_rate(low if missing(low) >= 0.0 else high)
    root = float(brentq(missing, low, high, rtol=RATE_TOLERANCE))
    # Where the search ended at what is too fast, the root may lie on the wrong side of that edge.
    return at_rate(root if missing(root) < TOO_FAST else root * (1.0 - 2.0 * RATE_TOLERANCE))


def _limits() -> tuple[float, float]:
    """Slowest and fastest cycle rate that a scenario may have [1/s]."""
    quantity = quantity_of(FIELDS["drive.cycle_rate"])
    assert quantity is not None
    return quantity.low, quantity.high

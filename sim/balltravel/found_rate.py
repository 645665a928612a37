"""The cycle rate that a tip and its pressure ask for (M8d)."""

import numpy as np
from scipy.optimize import brentq

from balltravel import scenario as described
from balltravel.core.recording import COLUMNS
from balltravel.core_runs import mean_over, run_core
from balltravel.drives import cycle_rate_of
from balltravel.outlets import outlet_pressure_of
from balltravel.parameters import core_parameters
from balltravel.scenario import FIELDS, quantity_of

RATE_TOLERANCE = 1e-4
"""How near the cycle rate at a tip is found, over itself."""


def at_found_rate(scenario: described.Scenario) -> described.Scenario:
    """The scenario at the cycle rate at which the mean pressure at the outlet is the given one; the outlet is
    then a tip whose pressure is a result.

    By bracketing: the more often a lower strokes, the more passes its tip. Where the lower cannot make the
    pressure at any rate that a scenario may have, the fastest of them.
    """
    wanted = outlet_pressure_of(scenario)
    slow, fast = _limits()

    def there(rate: float) -> described.Scenario:
        changes = {"outlet.form": "tip", "outlet.gauge_pressure": None, "drive.cycle_rate": rate}
        return described.with_values(scenario, changes)

    def missing(rate: float) -> float:
        try:
            p = core_parameters(there(rate))
        except described.ScenarioError:  # the changeover does not fit into so short a cycle
            return 1.0
        result = run_core(p._replace(outlet_pressure=wanted))
        rows = dict(zip(COLUMNS, result.rows.T, strict=True))
        return mean_over(rows["time"], rows["upper_pressure"]) / wanted - 1.0

    rate = float(np.clip(cycle_rate_of(scenario), slow, fast))
    low, high = rate, rate
    while missing(low) > 0.0 and low > slow:
        high, low = low, max(0.8 * low, slow)
    while missing(high) < 0.0 and high < fast:
        low, high = high, min(1.25 * high, fast)
    if low == high:
        return there(rate)
    return there(float(brentq(missing, low, high, rtol=RATE_TOLERANCE)))


def _limits() -> tuple[float, float]:
    """Slowest and fastest cycle rate that a scenario may have [1/s]."""
    quantity = quantity_of(FIELDS["drive.cycle_rate"])
    assert quantity is not None
    return quantity.low, quantity.high

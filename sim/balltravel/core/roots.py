"""A root of a continuous function between two ends of opposite sign."""

import math
import sys
from collections.abc import Callable

MOST_TURNS = 100
ROUNDING = 4.0 * sys.float_info.epsilon


def root(
    function: Callable[[float], float], low: float, high: float, xtol: float = 2e-12, rtol: float = ROUNDING
) -> float:
    """Where ``function`` is 0 between ``low`` and ``high``, within ``xtol`` and, of the root, ``rtol``.

    Brent's method (Brent 1973, chapter 4, from memory): a chord or an inverse parabola where its step is less
    than half of the step before the last, else the bracket's middle. Raises ValueError if both ends have one
    sign, ArithmeticError if MOST_TURNS are not enough.
    """
    before, best = low, high
    f_before, f_best = function(before), function(best)
    if f_before == 0.0:
        return before
    if f_best == 0.0:
        return best
    if (f_before < 0.0) == (f_best < 0.0):
        raise ValueError(f"no change of sign from {low!r} to {high!r}")
    across, f_across, earlier, step = before, f_before, 0.0, 0.0
    for _ in range(MOST_TURNS):
        if f_before != 0.0 and f_best != 0.0 and (f_before < 0.0) != (f_best < 0.0):
            across, f_across = before, f_before
            earlier = step = best - before
        if abs(f_across) < abs(f_best):
            before, best, across = best, across, best
            f_before, f_best, f_across = f_best, f_across, f_best
        near, half = 0.5 * (xtol + rtol * abs(best)), 0.5 * (across - best)
        if f_best == 0.0 or abs(half) < near:
            return best
        trial = math.inf
        if abs(earlier) > near and abs(f_best) < abs(f_before):
            trial = _towards(before, best, across, f_before, f_best, f_across)
        if 2.0 * abs(trial) < min(abs(earlier), 3.0 * abs(half) - near):
            earlier, step = step, trial
        else:
            earlier = step = half
        before, f_before = best, f_best
        best += step if abs(step) > near else math.copysign(near, half)
        f_best = function(best)
    raise ArithmeticError(f"no root in {MOST_TURNS} turns from {low!r} to {high!r}")


def _towards(
    before: float, best: float, across: float, f_before: float, f_best: float, f_across: float
) -> float:
    """Step from the best point by the chord through the last two, or the inverse parabola through three."""
    if before == across:
        return -f_best * (best - before) / (f_best - f_before)
    by_before = (f_before - f_best) / (before - best)
    by_across = (f_across - f_best) / (across - best)
    return (
        -f_best
        * (f_across * by_across - f_before * by_before)
        / (by_across * by_before * (f_across - f_before))
    )

"""The largest cycle rate at which one arrangement still meets its targets, by the full model."""

import math
from dataclasses import dataclass

from balltravel.cycle.validity import is_indication
from balltravel.scenario.model import Scenario, ScenarioError, with_value
from balltravel.study.travel.trials import Judge, missed
from balltravel.sweeps.cases import run_case
from balltravel.units import from_si, to_si

SPAN = 4.0
"""Rates are looked at up to this many times the given one and down to the given one over it (our choice)."""

STEPS = 36
"""Rates that are looked at on the way to either end (our choice): steps of 4 %, for the landing of a ball
that bounces in thin material jumps from rate to rate."""

RATE_WITHIN = 0.01
"""How near the last rate that holds and the first that does not are brought (our choice)."""

DIGITS = 3
"""Digits of the rates that are run [/min], so that what is printed is what was run."""


@dataclass(frozen=True)
class RateLimit:
    """Cycle rates [1/s] on both sides of the limit: ``holds`` was run and meets what is asked, ``fails`` was
    run and does not, for the reason ``missed``. ``holds`` None: not even the lowest looked at does; ``fails``
    None: the highest looked at does. ``indication``: closures are outside their range at one of them."""

    holds: float | None
    fails: float | None
    missed: str
    lowest: float
    highest: float
    indication: bool


def largest_rate(scenario: Scenario, judge: Judge = missed) -> RateLimit | None:
    """The limit that is nearest to the given cycle rate: upward where it meets what is asked, else downward;
    None where a motor finds its own rate.

    Step by step, for a landing that is too fast at one rate may be gentle again at the next; then by
    bisection. A window that is narrower than a step, ``SPAN ** (1 / STEPS)``, may be missed.
    """
    now = scenario.drive.cycle_rate
    if now is None:
        return None
    looked: dict[float, tuple[str, bool]] = {}

    def why_not(rate: float) -> str:
        if rate not in looked:
            looked[rate] = _look(scenario, rate, judge)
        return looked[rate][0]

    rates = {sign: [_told(now * SPAN ** (sign * k / STEPS)) for k in range(1, STEPS + 1)] for sign in (1, -1)}
    holds: float | None = None
    fails: float | None = None
    if why_not(now):
        fails = now
        for rate in rates[-1]:
            if not why_not(rate):
                holds = rate
                break
            fails = rate
    else:
        holds = now
        for rate in rates[1]:
            if why_not(rate):
                fails = rate
                break
            holds = rate
    while holds is not None and fails is not None and fails > holds * (1.0 + RATE_WITHIN):
        middle = _told(math.sqrt(holds * fails))
        if not holds < middle < fails:
            break
        holds, fails = (holds, middle) if why_not(middle) else (middle, fails)
    ends = [looked[rate] for rate in (holds, fails) if rate is not None]
    return RateLimit(
        holds,
        fails,
        looked[fails][0] if fails is not None else "",
        rates[-1][-1],
        rates[1][-1],
        any(guess for _, guess in ends),
    )


def _told(rate: float) -> float:
    """The rate [1/s] with so many digits as are printed of it in cycles per minute."""
    shown = f"{from_si(rate, 'frequency', '/min'):.{DIGITS}g}"
    return to_si(f"{float(shown):.10g} /min", "frequency")


def _look(scenario: Scenario, rate: float, judge: Judge) -> tuple[str, bool]:
    """What is missed at a rate, in words, empty where nothing is; and whether that is an indication only."""
    try:
        there = with_value(scenario, "drive.cycle_rate", rate)
    except ScenarioError as error:
        return f"not possible: {error.faults[0].given}", False
    case = run_case(there)
    if case.metrics is None:
        return f"the run fails ({case.status.name.lower()})", False
    misses = judge(there, case.metrics)
    return "; ".join(miss.text for miss in misses), is_indication(case.excursions)

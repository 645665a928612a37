"""Bars of a page: what each is called, from where to where it reaches of its track, and what it says."""

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from balltravel.report.text.card.front import limit_name, limit_shown, limit_words
from balltravel.report.worth_knowing import measured_in_words, not_measured_itself
from balltravel.study.limits.job import TEMPERATURE, VISCOSITY
from balltravel.study.travel.reasons import LEAST_LOSS

if TYPE_CHECKING:
    from balltravel.cycle.metrics import LossBudget
    from balltravel.study.limits.find import Limit
    from balltravel.study.limits.job import Job
    from balltravel.study.verdict.record import Verdict

MOST_WORTH = 6
"""Measurements, and inputs known exactly, that have a bar."""

LEAST_SCALE = 0.01
"""Of swept: losses are drawn on a track at least so long, so that a tenth of a percent does not fill it."""


class Bar(NamedTuple):
    """``start``, ``end`` and ``mark``, a line across the track, in percent of it; a mark of None is not
    there."""

    name: str
    said: str
    start: float
    end: float
    mark: float | None = None


class Span(NamedTuple):
    """How far an input may go: its ``name``, the sentence, bars from where it is now, the longest first, and
    what both ends of the track are."""

    name: str
    said: str
    bars: tuple[Bar, ...]
    now: float
    ends: tuple[str, str]


def worth_knowing(verdict: "Verdict") -> list[Bar]:
    """What each measurement, and each other input if it were known exactly, saves of what is given up on
    average; the mark is what chance alone would show."""
    rows = [
        (f"{measured_in_words(worth)}, measured", worth.saved, worth.noise) for worth in verdict.measurements
    ]
    rows += [
        (f"{known.name}, if known exactly", known.saved, known.noise)
        for known in not_measured_itself(verdict)
    ]
    rows = rows[:MOST_WORTH]
    whole = max([verdict.regret_mean, *(max(saved, noise) for _, saved, noise in rows)])
    return [
        Bar(name, f"{100.0 * saved:.2f} %", 0.0, _share(saved, whole), _share(noise, whole))
        for name, saved, noise in rows
    ]


_LOSSES = {
    "underfill": "the chamber does not fill (underfill)",
    "inlet_backflow": "flows back past the inlet ball (foot valve)",
    "piston_backflow": "flows back past the piston ball",
    "leak": "leaks past seats and packing",
    "compression_and_gas": "compression and gas",
}


def losses(budget: "LossBudget") -> list[Bar]:
    """What of the swept volume is not delivered, over the largest part of it; none that would read 0.0 %."""
    shares = {name: getattr(budget, part) / budget.swept for part, name in _LOSSES.items()}
    whole = max(LEAST_SCALE, *shares.values())
    return [
        Bar(name, f"{100.0 * share:.1f} %", 0.0, _share(share, whole))
        for name, share in shares.items()
        if abs(share) >= LEAST_LOSS
    ]


def spans(job: "Job", stated: str = "") -> Iterator[Span]:
    """How far rate and temperature, or viscosity, may go; ``stated``: where a viscosity holds."""
    for limit in job.limits:
        known = [limit.searched.value, *(end.value for end in (limit.holds, limit.beyond) if end is not None)]
        known += [] if limit.holds_in_95 is None else [limit.holds_in_95]
        low, high = _beyond(limit, min(limit.now, *known), max(limit.now, *known))
        yield Span(
            limit_name(limit, stated),
            limit_words(limit, job),
            tuple(_reaches(limit, low, high)),
            _place(limit, limit.now, low, high),
            (limit_shown(limit, low), limit_shown(limit, high)),
        )


def _reaches(limit: "Limit", low: float, high: float) -> Iterator[Bar]:
    """Where all targets hold: at the likely values, and in 95 of 100 draws."""
    begins = limit.now if limit.meets_now else limit.searched.value
    ends = [("at the likely values", limit.holds.value)] if limit.holds is not None else []
    if limit.holds is None and limit.meets_now:
        ends = [("at the likely values", limit.searched.value)]
    if limit.holds_in_95 is not None:
        ends.append(("in 95 of 100", limit.holds_in_95))
    for name, value in ends:
        start, end = sorted(_place(limit, each, low, high) for each in (begins, value))
        yield Bar(name, limit_shown(limit, value), start, end)


BEYOND = 0.15
"""Of the span, what the track has on either side, so that one sees where a bar ends."""


def _beyond(limit: "Limit", low: float, high: float) -> tuple[float, float]:
    """Both ends of the track."""
    if _is_logarithmic(limit, low):
        factor = (high / low) ** BEYOND
        return low / factor, high * factor
    more = BEYOND * (high - low)
    return low - more if low > more or limit.key == TEMPERATURE else 0.0, high + more


def _is_logarithmic(limit: "Limit", low: float) -> bool:
    return limit.key == VISCOSITY and low > 0.0


def _place(limit: "Limit", value: float, low: float, high: float) -> float:
    """On the track, in percent of it; a viscosity by its logarithm."""
    if high <= low:
        return 0.0
    if _is_logarithmic(limit, low):
        return 100.0 * math.log(value / low) / math.log(high / low)
    return 100.0 * (value - low) / (high - low)


def _share(part: float, whole: float) -> float:
    return 100.0 * min(max(part / whole, 0.0), 1.0) if whole > 0.0 else 0.0

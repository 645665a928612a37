"""Readings that cannot all be true: a slip of the pen, or of what was set."""

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from typing import Any, NamedTuple

from balltravel.bench.known_before import rate_contradicted
from balltravel.bench.observed import Condition, Reading
from balltravel.bench.signs import CYCLE_SIGNS, Sign
from balltravel.scenario.lower import Lower
from balltravel.scenario.model import Scenario
from balltravel.units import to_texts

APART = 0.15
"""By what share cycle rate and stroke times may contradict each other, as may what is weighed and what the
lower sweeps (our choice)."""

TOO_FAR = 6.0
"""Standard deviations by which two readings of one setting may differ (our choice): one of them is a slip."""


class Slip(NamedTuple):
    """A reading that another contradicts: its key, what was given, what is allowed, an example."""

    key: str
    given: str
    allowed: str
    example: str = ""


def slips_between(seen: Sequence[Condition]) -> Iterator[tuple[int, Slip]]:
    """Readings of the same sign, day and setting that cannot both be true; each with the number of its
    condition, from 1."""
    for (first, here), (second, there) in combinations(enumerate(seen, 1), 2):
        if here.changes != there.changes or here.day != there.day:
            continue
        for key in here.readings.keys() & there.readings.keys():
            pair = here.readings[key], there.readings[key]
            apart = abs(pair[0].value - pair[1].value)
            if apart > TOO_FAR * math.hypot(*(_usual_sd(CYCLE_SIGNS[key], each) for each in pair)):
                texts = to_texts([each.value for each in pair], CYCLE_SIGNS[key].quantity.dimension)
                given = f"{texts[1]}, and {texts[0]} in table {first} of the same setting"
                allowed = "readings that fit together, or what was set otherwise in set"
                yield second, Slip(key, given, allowed)


def slips_within(
    scenario: Scenario, readings: Mapping[str, Reading], changes: Mapping[str, Any]
) -> Iterator[Slip]:
    """Readings of one condition that cannot all be true; ``changes``: what was set there."""
    up, down, rate, weighed = (
        readings[key].value if key in readings else math.nan
        for key in ("upstroke_time", "downstroke_time", "cycle_rate", "weighed_per_cycle")
    )
    yield from _times(up, down, rate)
    set_rate = changes.get("drive.cycle_rate", math.nan)
    if abs(set_rate / rate - 1.0) > APART:
        given = f"{60.0 * rate:.3g} /min, and {60.0 * set_rate:.3g} /min in set"
        yield Slip("cycle_rate", given, "the rate that was set")
    yield from _more_than_swept(scenario.lower, weighed)
    yield from _not_the_rate_set(scenario, readings.get("cycle_rate"), changes)


def _times(up: float, down: float, rate: float) -> Iterator[Slip]:
    """Times of strokes [s] that a rate [1/s] contradicts; nan: not read."""
    cycle = f"{60.0 * rate:.3g} /min is {1.0 / rate:.3g} s a cycle"
    if abs((up + down) * rate - 1.0) > APART:
        given = f"both strokes take {up + down:.3g} s, and {cycle}"
        yield Slip("cycle_rate", given, "a rate and times of strokes that fit together")
    for key, time in (("upstroke_time", up), ("downstroke_time", down)):
        if time * rate > 1.0 + APART and math.isnan(up + down):
            yield Slip(key, f"{time:.3g} s, and {cycle}", "less than the time of a cycle")


def _more_than_swept(lower: Lower, weighed: float) -> Iterator[Slip]:
    swept = math.pi / 4.0 * lower.bore**2 * lower.stroke
    if weighed > (1.0 + APART) * swept:
        given = f"{1e6 * weighed:.3g} cc a cycle, and the lower sweeps {1e6 * swept:.3g} cc"
        yield Slip("weighed_per_cycle", given, "at most what it sweeps", '"152 cc"')


def _not_the_rate_set(
    scenario: Scenario, reading: Reading | None, changes: Mapping[str, Any]
) -> Iterator[Slip]:
    """A rate far from that which the scenario's drive imposes was set, and no fault explains it."""
    if reading is None or any(key.startswith("drive.") for key in changes):
        return
    imposed = rate_contradicted(scenario, reading.value, _usual_sd(CYCLE_SIGNS["cycle_rate"], reading))
    if imposed is not None:
        given = (
            f"{60.0 * reading.value:.3g} /min, and the scenario runs at {60.0 * imposed:.3g} /min, "
            "which no fault changes"
        )
        example = f'set = {{ "drive.cycle_rate" = "{60.0 * reading.value:.3g} /min" }}'
        yield Slip("cycle_rate", given, "the scenario's rate, or what was set", example)


def _usual_sd(sign: Sign, reading: Reading) -> float:
    """Standard deviation of a reading [SI]."""
    return reading.sd or sign.sd * (reading.value if sign.share else 1.0)

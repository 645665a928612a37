"""When a film of a cycle shows what: slowly where something happens, with a stop at each moment."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.cycle.run import Cycle
from balltravel.report.section.moments import moments_of

Array = NDArray[np.float64]

AROUND = 0.02
"""Share of the cycle before and after a moment that is slow."""

BETWEEN = 0.08
"""Share of the cycle between two slow parts below which they are one."""

SLOW_PART, FAST_PART = 8.0, 4.0
"""About how long [s] all slow parts last together, stops apart, and the rest at most."""

FACTORS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)


class Stop(NamedTuple):
    """A moment in a film: its picture, the number of its lower, and what happens there."""

    picture: int
    lower: int
    said: str


@dataclass(frozen=True)
class Film:
    """Pictures of one cycle, arrays of equal length: ``share`` of the cycle, how long each is ``shown`` [s],
    and how many times the way to the next one is ``slowed`` (0.5: twice as fast); the stops in order."""

    share: Array
    shown: Array
    slowed: Array
    stops: tuple[Stop, ...]

    @property
    def length(self) -> float:
        """Of the whole film [s]."""
        return float(self.shown.sum())

    def said(self, lower: int, picture: int) -> str:
        """The sentence of a lower in a picture: of its last moment, in the cycle before if need be."""
        own = [stop for stop in self.stops if stop.lower == lower]
        before = [stop for stop in own if stop.picture <= picture]
        return (before or own)[-1].said


def reading_time(said: str) -> float:
    """How long [s] a film stops for a sentence: five words a second after half a second (our choice)."""
    return 0.5 + 0.2 * len(said.split())


def film_of(cycles: Sequence[Cycle], pictures_per_second: float, stopping: bool = True) -> Film:
    """The film of one cycle, or of several on one clock: each is shown at the same share of its own cycle.

    The scale of time is that of the first cycle; without ``stopping`` no picture waits for its sentence to be
    read. Not of failed runs.
    """
    said: dict[float, list[tuple[int, str]]] = {}
    for lower, cycle in enumerate(cycles):
        for moment in moments_of(cycle):
            share = round(moment.time / cycle.motion.period, 9) % 1.0
            said.setdefault(share, []).append((lower, moment.said))
    period = cycles[0].motion.period
    slow = _slow_parts(sorted(said))
    knots = sorted({0.0, 1.0, *said, *(edge for part in slow for edge in part)})
    shares, shown, slowed = _pictures(knots, slow, period, pictures_per_second)
    stops = []
    for at in sorted(said):
        picture = int(np.argmin(np.abs(shares - at)))
        if stopping:
            shown[picture] += reading_time(" ".join(dict.fromkeys(words for _, words in said[at])))
        stops += [Stop(picture, lower, words) for lower, words in said[at]]
    return Film(shares, shown, slowed, tuple(stops))


def _slow_parts(shares: Sequence[float]) -> list[tuple[float, float]]:
    """The parts of the cycle, between 0 and 1, around these shares of it."""
    joined: list[tuple[float, float]] = []
    for low in sorted(share + turn - AROUND for share in shares for turn in (-1.0, 0.0, 1.0)):
        if joined and low - joined[-1][1] < BETWEEN:
            joined[-1] = joined[-1][0], low + 2.0 * AROUND
        else:
            joined.append((low, low + 2.0 * AROUND))
    return [(max(low, 0.0), min(high, 1.0)) for low, high in joined if low < 1.0 and high > 0.0]


def _pictures(
    knots: Sequence[float], slow: Sequence[tuple[float, float]], period: float, per_second: float
) -> tuple[Array, Array, Array]:
    """Share, duration and scale of each picture; every knot has one."""
    total = sum(high - low for low, high in slow)
    most = max(factor for factor in FACTORS if factor == 1 or factor * total * period <= SLOW_PART)
    rest = (1.0 - total) * period
    least = min(1.0, 1.0 / min((f for f in FACTORS if rest / f <= FAST_PART), default=FACTORS[-1]))
    share: list[float] = []
    shown: list[float] = []
    slowed: list[float] = []
    for begin, end in pairwise(knots):
        middle = 0.5 * (begin + end)
        factor = float(most) if any(low < middle < high for low, high in slow) else least
        lasts = factor * (end - begin) * period
        count = max(1, round(lasts * per_second))
        share += [begin + (end - begin) * k / count for k in range(count)]
        shown += [lasts / count] * count
        slowed += [factor] * count
    return np.array(share), np.array(shown), np.array(slowed)


def scale_in_words(slowed: float) -> str:
    """The scale of time: ``slowed 20 times``, ``real time`` or ``2 times as fast``."""
    if slowed == 1.0:
        return "real time"
    return f"slowed {slowed:.0f} times" if slowed > 1.0 else f"{1.0 / slowed:.0f} times as fast"

"""A line through readings, told only where they carry one, and when it will have fallen by a tenth."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from balltravel.bench.signs import Array

FEWEST = 3
"""Readings without which there is no trend."""

TWO_SD = 0.9544997361036416
"""Chance with which a normal law is within two standard deviations."""

FALL = 0.1
"""Share by which delivery falls until a pump is due (our choice)."""


@dataclass(frozen=True)
class Trend:
    """A line y = level + slope (x - middle) by least squares through ``count`` readings from ``begin`` to
    ``end``, with the standard errors of slope and level, and how many of them count for two: a few readings
    know their own scatter badly, so Student's law has it (4.5 of five readings, 2 of very many).

    ``carried``: whether the slope is farther from none than that; ``due``: where the line has fallen by a
    tenth from ``begin``, least and most, None where it does not fall or is not carried.
    """

    count: int
    begin: float
    end: float
    middle: float
    level: float
    slope: float
    slope_error: float
    level_error: float
    counts_for_two: float
    carried: bool
    due: tuple[float, float, float] | None = None

    def at(self, x: float | Array) -> tuple[Array, Array]:
        """The line, and how far its band reaches to either side."""
        away = np.asarray(x, np.float64) - self.middle
        error = np.hypot(self.level_error, self.slope_error * away)
        return self.level + self.slope * away, self.counts_for_two * error


def trend(x: Sequence[float], y: Sequence[float]) -> Trend | None:
    """The line through readings; None where there are fewer than three, or all at one place."""
    from scipy.stats import linregress
    from scipy.stats import t as student

    if len(x) < FEWEST or max(x) == min(x):
        return None
    line = linregress(x, y)
    middle, freedom = float(np.mean(x)), len(x) - 2
    level = float(line.intercept + line.slope * middle)
    spread = float(np.sqrt(np.sum((np.asarray(x) - middle) ** 2)))
    counts = float(student.ppf(0.5 + 0.5 * TWO_SD, freedom))
    slope, error = float(line.slope), float(line.stderr)
    carried = slope != 0.0 and abs(slope) > counts * error
    made = Trend(
        len(x), float(min(x)), float(max(x)), middle, level, slope, error,
        error * spread / math.sqrt(len(x)), counts, carried,
    )  # fmt: skip
    return Trend(**{**made.__dict__, "due": _due(made)}) if carried and slope < 0.0 else made


def _due(line: Trend) -> tuple[float, float, float] | None:
    """Where a line has fallen by FALL of what it has at its begin, with its band.

    There level FALL + slope (x - middle - (1 - FALL)(begin - middle)) = 0, so x depends on the ratio of level
    and slope, whose errors are independent about the middle: Fieller's limits of a ratio (from memory:
    E. C. Fieller, 1954, Some problems in interval estimation).
    """
    ratio = line.level / line.slope
    g = (line.counts_for_two * line.slope_error / line.slope) ** 2
    reach = (
        line.counts_for_two
        / abs(line.slope)
        * math.sqrt((1.0 - g) * line.level_error**2 + (ratio * line.slope_error) ** 2)
    )
    ratios = (ratio, (ratio + reach) / (1.0 - g), (ratio - reach) / (1.0 - g))
    from_middle = (1.0 - FALL) * (line.begin - line.middle)
    at, least, most = (line.middle + from_middle - FALL * each for each in ratios)
    return at, least, most

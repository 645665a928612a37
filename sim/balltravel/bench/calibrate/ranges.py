"""Ranges before and after, and inputs that the readings tell only together."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from balltravel.bench.calibrate.posterior import Array, Flags
from balltravel.bench.calibrate.unknowns import Unknown, Unknowns
from balltravel.bench.causes import GAP_KEYS
from balltravel.units.spread import SURE, Spread

NOT_LEARNT = 0.8
"""Width over the prior's above which nothing was learnt of an input."""

TOGETHER = 0.7
"""Correlation from which on two inputs are told together."""


@dataclass(frozen=True)
class Marginal:
    """The law of one unknown by itself, in its coordinate: the ends between which 95 of 100 lie."""

    low: float
    high: float


@dataclass(frozen=True)
class Learnt:
    """An input: its key, name and dimension, its law before and after [SI], the middle and the ends between
    which 95 of 100 lie, before and after, its width over that before, whether that counts as learnt, and
    whether it is of one setting alone."""

    key: str
    name: str
    dimension: str
    before: Spread
    after: Spread
    before_range: tuple[float, float, float]
    after_range: tuple[float, float, float]
    share: float
    learnt: bool
    own: bool

    @property
    def at_most(self) -> bool:
        """Whether it is a leak of which the readings say only that it is no larger: its lower end is at least
        as low as before."""
        return self.key in GAP_KEYS and self.after_range[1] <= self.before_range[1]


def learnt_of(
    unknowns: Unknowns, fitted: Flags, samples: Array, leaks: Mapping[int, Marginal]
) -> tuple[Learnt, ...]:
    """Of each input that was fitted, the narrowest first: by ``samples`` (n, unknowns) of what is left, and
    of gaps by their own marginal laws."""
    ends = np.quantile(samples, [0.025, 0.975], axis=0)
    made = [
        _learnt(unknown, leaks.get(i, Marginal(float(ends[0, i]), float(ends[1, i]))))
        for i, unknown in enumerate(unknowns.each)
        if fitted[i]
    ]
    return tuple(sorted(made, key=lambda item: item.share))


def _learnt(unknown: Unknown, law: Marginal) -> Learnt:
    before = unknown.value(0.0), unknown.value(-SURE), unknown.value(SURE)
    low, high = unknown.value(law.low), unknown.value(law.high)
    after = _law(unknown.spread, low, high)
    share = (law.high - law.low) / (2.0 * SURE)
    return Learnt(
        unknown.key, unknown.name, unknown.dimension, unknown.spread, after, before,
        (after.likely, low, high),
        share, share <= NOT_LEARNT, bool(unknown.only),
    )  # fmt: skip


def _law(before: Spread, low: float, high: float) -> Spread:
    """A normal law with these ends, of the logarithm where the one before is."""
    if before.logarithmic:
        reach = float(np.sqrt(high / low))
        return Spread("normal", (low * reach, reach), logarithmic=True, limits=before.limits)
    return Spread("normal", (0.5 * (low + high), 0.5 * (high - low)), limits=before.limits)


def correlated(unknowns: Unknowns, fitted: Flags, samples: Array) -> tuple[tuple[str, str, float], ...]:
    """Pairs of inputs that the readings tell only together, the closest first."""
    places = np.flatnonzero(fitted)
    shares = np.atleast_2d(np.corrcoef(samples[:, places], rowvar=False))
    pairs = [
        (unknowns.each[i].name, unknowns.each[k].name, float(shares[a, b]))
        for a, i in enumerate(places)
        for b, k in enumerate(places[:a])
        if abs(shares[a, b]) > TOGETHER
    ]
    return tuple(sorted(pairs, key=lambda pair: -abs(pair[2])))

"""Ranges before and after, and inputs that the readings tell only together."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from balltravel.bench.calibrate.posterior import Marginal, Posterior
from balltravel.bench.calibrate.unknowns import Unknown, Unknowns
from balltravel.units.spread import SURE, Spread

NOT_LEARNT = 0.8
"""Width over the prior's above which nothing was learnt of an input."""

TOGETHER = 0.7
"""Correlation from which on two inputs are told together."""


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


def learnt_of(
    unknowns: Unknowns, posterior: Posterior, marginals: Mapping[int, Marginal]
) -> tuple[Learnt, ...]:
    """Of each input that was fitted, the narrowest first; ``marginals``: of those that no normal law has, by
    their number."""
    normal = zip(posterior.best, SURE * posterior.widths, strict=True)
    laws = [Marginal(float(best), float(best - reach), float(best + reach)) for best, reach in normal]
    made = [
        _learnt(unknown, marginals.get(i, laws[i]))
        for i, unknown in enumerate(unknowns.each)
        if posterior.fitted[i]
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


def correlated(unknowns: Unknowns, posterior: Posterior) -> tuple[tuple[str, str, float], ...]:
    """Pairs of inputs that the readings tell only together, the closest first."""
    shares = posterior.covariance / np.outer(posterior.widths, posterior.widths)
    pairs: list[tuple[str, str, Any]] = [
        (unknowns.each[i].name, unknowns.each[k].name, float(shares[i, k]))
        for i in range(len(unknowns))
        for k in range(i)
        if abs(shares[i, k]) > TOGETHER
    ]
    return tuple(sorted(pairs, key=lambda pair: -abs(pair[2])))

"""Ranges before and after, and the scenario that has the narrower ones."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from balltravel.bench.calibrate.posterior import Marginal, Posterior
from balltravel.bench.calibrate.unknowns import Unknown, Unknowns
from balltravel.scenario.model import FIELDS, Scenario
from balltravel.scenario.ranges import with_ranges
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


def is_written(item: Learnt) -> bool:
    """Whether a range goes into a scenario: it was learnt, and it is of one of its keys."""
    return item.learnt and not item.own and item.key in FIELDS


def narrowed(scenario: Scenario, inputs: Sequence[Learnt]) -> Scenario:
    """The scenario with the ranges that were learnt."""
    ranges = {item.key: replace(item.after, limits=()) for item in inputs if is_written(item)}
    return with_ranges(scenario, ranges) if ranges else scenario


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

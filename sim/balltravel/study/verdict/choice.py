"""The rule of choice, over draws of all that is not known: which arrangement is named.

The one that costs least in the half of the draws where it does worst, delivery given up and avoidable
misses together: what is best on average may be far off where material is heavier than believed, and what
holds in 95 of 100 draws may fall off a cliff in the rest. Other rules were tried on truths that they had not
seen (docs/verdict.md).
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from balltravel.study.travel.trials import EQUAL_DELIVERY, NO_DELIVERY

Array = NDArray[np.float64]
Truths = NDArray[np.bool_]

WORSE = 0.5
"""Share of the draws by which an arrangement is judged: those that are worse for it."""

WORST = 0.2
"""Share of the draws in which a cliff must show before arrangements count as equal (our choice)."""

WITHIN = 0.01
"""Share of the swept volume that an arrangement may give up and still hold."""

NOTHING = 0.001
"""Costs over swept, in the worse half, below which arrangements count as equal (our choice)."""

NONE_MEETS_FIRST = 0.5
"""Share of draws in which no travel meets the targets, from which on that is said first (our choice)."""

MISS = 0.08
"""What a target that another arrangement meets counts, over swept, where losses are averaged: three such in
100 draws are told like 0.25 % of swept (our choice)."""

HIGH = 0.95


@dataclass(frozen=True)
class Reach:
    """What every arrangement reaches in every draw: arrays [draw, arrangement], arrangements by their travel.

    ``delivered``: over swept, nan where the run failed, 0 where the feed runs through; ``met``: target that
    somebody set -> whether it is met, False where the run failed.
    """

    delivered: Array
    met: Mapping[str, Truths]

    @cached_property
    def delivery(self) -> Array:
        """Delivered over swept; a run that failed delivers nothing that one could count on."""
        return np.nan_to_num(self.delivered, nan=0.0)

    @cached_property
    def meets(self) -> Truths:
        """Whether all targets are met."""
        every = np.isfinite(self.delivered)
        for met in self.met.values():
            every = every & met
        return every

    @cached_property
    def regret(self) -> Array:
        """Delivery given up against the best arrangement of the draw, over swept."""
        return np.asarray(self.delivery.max(axis=1, keepdims=True) - self.delivery)

    @cached_property
    def avoidable(self) -> Truths:
        """Whether a target is missed that another arrangement meets: all its targets."""
        return np.asarray(self.meets.any(axis=1, keepdims=True) & ~self.meets)

    @cached_property
    def loss(self) -> Array:
        """What choosing an arrangement costs in a draw, over swept: delivery given up, and misses."""
        return np.asarray(self.regret + MISS * self.avoidable)

    @cached_property
    def pumps(self) -> Truths:
        """Whether it delivers anything that one could count on."""
        return np.asarray(self.delivery >= NO_DELIVERY)

    @cached_property
    def holds(self) -> Truths:
        """Whether it pumps, gives up at most WITHIN and misses no target that another meets."""
        return np.asarray(self.pumps & (self.regret <= WITHIN) & ~self.avoidable)

    @cached_property
    def best(self) -> Truths:
        """Whether it pumps and nothing delivers more, within what counts as equal."""
        return np.asarray(self.pumps & (self.regret <= EQUAL_DELIVERY))

    def of(self, draws: NDArray[np.intp] | slice) -> "Reach":
        """The same of some draws."""
        return Reach(self.delivered[draws], {name: met[draws] for name, met in self.met.items()})


def regret_95(reach: Reach) -> Array:
    """What each arrangement gives up at most in 95 of 100 draws, over swept."""
    return np.asarray(np.quantile(reach.regret, HIGH, axis=0))


def all_equal(reach: Reach) -> bool:
    """Whether the arrangements differ by nothing that counts, be it in 95 of 100 draws or in the fifth that
    is worst for each: one that falls off a cliff in a single draw of 32 is no equal."""
    if reach.avoidable.any():
        return False
    least = np.maximum(regret_95(reach), in_the_worst(reach, WORST))
    return bool(np.all(least <= EQUAL_DELIVERY))


def in_the_worst(reach: Reach, share: float) -> Array:
    """What each arrangement costs on average in that share of the draws that is worst for it, over swept."""
    count = math.ceil(share * len(reach.loss))
    by_size = np.sort(np.ascontiguousarray(reach.loss), axis=0)  # one order of adding up, one sum
    return np.asarray(by_size[-count:].mean(axis=0))


def chosen(reach: Reach) -> int | None:
    """The place of the arrangement that the rule names; None where none pumps in any draw.

    Among those that cost next to nothing the shortest; else never the shorter one for its own sake: too
    short falls off a cliff, too long slopes gently.
    """
    if reach.delivery.max(initial=0.0) < NO_DELIVERY:
        return None
    if all_equal(reach):
        return 0
    cost = in_the_worst(reach, WORSE)
    return int(np.flatnonzero(cost <= max(float(cost.min()), NOTHING))[0])

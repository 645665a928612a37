"""The rule of choice, over draws of all that is not known: which arrangement is named.

Of those that meet the targets as often as any, within EQUAL_CHANCE, the one that gives up least in 95 of 100
draws: an arrangement that is right on average may be far wrong where material is heavier than believed. Other
rules were tried on truths that they had not seen (docs/ranges.md).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from balltravel.study.travel.trials import EQUAL_DELIVERY, NO_DELIVERY

Array = NDArray[np.float64]
Truths = NDArray[np.bool_]

EQUAL_CHANCE = 0.05
"""Chances this far below the best one count as equal to it (our choice)."""

WITHIN = 0.01
"""Share of the swept volume that an arrangement may give up and still hold."""

NOTHING_GIVEN_UP = 0.001
"""Shares of the swept volume given up in 95 of 100 draws below which arrangements count as equal."""

MISS = 0.08
"""What a target that another arrangement meets counts, over swept, where losses are averaged: three such in
100 draws are told like 0.25 % of swept (our choice)."""

HIGH = 0.95


@dataclass(frozen=True)
class Reach:
    """What every arrangement reaches in every draw: arrays [draw, arrangement], arrangements by their travel.

    ``delivered``: over swept, nan where the run failed; ``met``: target that somebody set -> whether it is
    met, False where the run failed.
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
    def holds(self) -> Truths:
        """Whether it gives up at most WITHIN and misses no target that another meets."""
        return np.asarray((self.regret <= WITHIN) & ~self.avoidable)

    @cached_property
    def best(self) -> Truths:
        """Whether nothing delivers more, within what counts as equal."""
        return np.asarray(self.regret <= EQUAL_DELIVERY)

    def of(self, draws: NDArray[np.intp] | slice) -> "Reach":
        """The same of some draws."""
        return Reach(self.delivered[draws], {name: met[draws] for name, met in self.met.items()})


def regret_95(reach: Reach) -> Array:
    """What each arrangement gives up at most in 95 of 100 draws, over swept."""
    return np.asarray(np.quantile(reach.regret, HIGH, axis=0))


def _chance(reach: Reach) -> Array:
    """In which share of draws each meets the targets, draws in which none does counting for all alike."""
    return np.asarray((~reach.avoidable).mean(axis=0))


def all_equal(reach: Reach) -> bool:
    """Whether the arrangements differ by nothing that counts."""
    chance = _chance(reach)
    even = float(chance.max() - chance.min()) < 0.5 / len(reach.meets)
    return even and bool(np.all(regret_95(reach) <= EQUAL_DELIVERY))


def chosen(reach: Reach) -> int | None:
    """The place of the arrangement that the rule names; None where none pumps in any draw.

    Among those that give up next to nothing the shortest; else never the shorter one for its own sake: too
    short falls off a cliff, too long slopes gently.
    """
    if reach.delivery.max(initial=0.0) < NO_DELIVERY:
        return None
    chance, given_up = _chance(reach), regret_95(reach)
    often = chance >= chance.max() - EQUAL_CHANCE
    limit = EQUAL_DELIVERY if all_equal(reach) else NOTHING_GIVEN_UP
    least = max(float(given_up[often].min()), limit)
    among = np.flatnonzero(often & (given_up <= least))
    if given_up[among].min() > limit:
        among = among[np.argsort(reach.loss.mean(axis=0)[among], kind="stable")]
    return int(among[0])

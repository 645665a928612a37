"""What one arrangement reaches with all materials of a week, draw by draw: the rule of choice over draws is
asked of this as it is of a single material's."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from balltravel.study.travel.trials import EQUAL_DELIVERY
from balltravel.study.verdict.choice import WITHIN, Array, Reach, Truths


@dataclass(frozen=True)
class WeekReach(Reach):
    """``materials``: what is reached with each, flushes with their landing alone; ``flushes``: their names.

    In a draw an arrangement gives up as much as the material that gives up most, each against its own best
    arrangement, flushes apart; it delivers what the material with the least delivers.
    """

    materials: Mapping[str, Reach]
    flushes: frozenset[str]

    @cached_property
    def pumped(self) -> dict[str, Reach]:
        """Materials that are asked for their delivery."""
        return {name: reach for name, reach in self.materials.items() if name not in self.flushes}

    @cached_property
    def regret(self) -> Array:
        """Delivery that some material gives up against its own best arrangement of the draw, over swept."""
        return np.asarray(np.max([reach.regret for reach in self.pumped.values()], axis=0))

    @cached_property
    def avoidable(self) -> Truths:
        """Whether a target is missed that another arrangement meets without missing one elsewhere.

        A material whose targets no arrangement meets in a draw asks nothing there: it is no reason to miss
        those of the others.
        """
        content = np.logical_and.reduce([~reach.avoidable for reach in self.materials.values()])
        return np.asarray(content.any(axis=1, keepdims=True) & ~content)

    @cached_property
    def behind(self) -> Array:
        """What it gives up beyond the arrangement that gives up least in the draw: materials that want
        different travels cost any arrangement something, which is no fault of the choice."""
        return np.asarray(self.regret - self.regret.min(axis=1, keepdims=True))

    @cached_property
    def holds(self) -> Truths:
        """Whether it pumps every material, no other arrangement gives up less by more than WITHIN, and it
        misses nothing avoidable."""
        return np.asarray(self.pumps & (self.behind <= WITHIN) & ~self.avoidable)

    @cached_property
    def best(self) -> Truths:
        """Whether it pumps every material and nothing gives up less, within what counts as equal."""
        return np.asarray(self.pumps & (self.behind <= EQUAL_DELIVERY))

    def of(self, draws: NDArray[np.intp] | slice) -> "WeekReach":
        """The same of some draws."""
        return week_reach({name: reach.of(draws) for name, reach in self.materials.items()}, self.flushes)

    def without(self, name: str) -> "WeekReach | None":
        """The same of the other materials; None where nothing else is pumped."""
        if self.pumped.keys() <= {name}:
            return None
        others = {other: reach for other, reach in self.materials.items() if other != name}
        return week_reach(others, self.flushes - {name})


def week_reach(materials: Mapping[str, Reach], flushes: frozenset[str]) -> WeekReach:
    """Of each material's own; ``met`` is, material by material, whether all its targets are."""
    delivered = np.min([reach.delivered for name, reach in materials.items() if name not in flushes], axis=0)
    return WeekReach(delivered, {name: reach.meets for name, reach in materials.items()}, materials, flushes)

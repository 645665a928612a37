"""Arrangements of a fixed set of shims: which lie below the cage and what ball travel that gives."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from balltravel.scenario.model import Scenario


@dataclass(frozen=True)
class Arrangement:
    """Shim numbers, counted from 1, below and above the cage, and the ball travel that follows [m]."""

    below: tuple[int, ...]
    above: tuple[int, ...]
    travel: float


def arrangements(thicknesses: Sequence[float], base_travel: float) -> tuple[Arrangement, ...]:
    """All arrangements of the set, by rising travel, of equal travels those with fewest shims below first.

    ``thicknesses`` and ``base_travel`` in m. Every shim is fitted, below or above, so that the stack's height
    never changes. Equal shims are interchangeable and give one arrangement (the one with the lowest numbers);
    1 mm + 1 mm and 2 mm are two arrangements of equal travel. Without shims there is one.
    """
    numbers = range(1, len(thicknesses) + 1)
    by_stack: dict[tuple[float, ...], Arrangement] = {}
    for count in range(len(thicknesses) + 1):
        for below in combinations(numbers, count):
            stack = tuple(sorted(thicknesses[number - 1] for number in below))
            above = tuple(number for number in numbers if number not in below)
            by_stack.setdefault(stack, Arrangement(below, above, math.fsum((base_travel, *stack))))
    return tuple(sorted(by_stack.values(), key=lambda a: (_tied(a), len(a.below), a.below)))


def distinct_travels(candidates: Sequence[Arrangement]) -> tuple[Arrangement, ...]:
    """Of arrangements with the same travel the first: the lower is the same whichever shims make it."""
    first: dict[float, Arrangement] = {}
    for arrangement in candidates:
        first.setdefault(_tied(arrangement), arrangement)
    return tuple(first.values())


def travel_of(base_travel: float, thicknesses: Sequence[float], below: Sequence[int]) -> float:
    """Ball travel with these shims below the cage, as the sum says it, be it possible or not [m]."""
    return base_travel + math.fsum(thicknesses[number - 1] for number in below)


def travels_of(scenario: "Scenario") -> tuple[Arrangement, ...]:
    """All travels that a scenario's shims give, each by the fewest shims below the cage."""
    return distinct_travels(arrangements(scenario.shims.thicknesses, scenario.inlet_check.base_travel))


def _tied(arrangement: Arrangement) -> float:
    """The travel to a picometre, so that 1 + 2 and 3 mm tie whatever their last bits are."""
    return round(arrangement.travel, 12)

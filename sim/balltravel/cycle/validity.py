"""Whether the closures were used within their validated ranges: how long in the cycle, and how far beyond."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from balltravel.core.excursions import USES, excursions
from balltravel.core.parameters import Parameters
from balltravel.core.records import as_record
from balltravel.cycle.motion import Motion, rows_in
from balltravel.scenario.model import Scenario
from balltravel.setup.parameters import core_parameters
from balltravel.setup.ranges import ranges_parameters, uses_of

Array = NDArray[np.float64]

INDICATION_SHARE = 0.01
"""Share of the cycle outside a range from which on the numbers are an indication only (our choice)."""


@dataclass(frozen=True)
class Excursion:
    """A closure used outside its range: where, which, by which quantity; share of the cycle [-], the value
    farthest out, and the end of the range that is nearest to it."""

    place: str
    closure: str
    quantity: str
    share: float
    worst: float
    limit: float
    basis: str

    @property
    def counts(self) -> bool:
        """Whether it lasts long enough to make the numbers an indication."""
        return self.share >= INDICATION_SHARE

    def __str__(self) -> str:
        where = f"{self.place}: " if self.place else ""
        when = "always" if self.share >= 1.0 else f"for {100.0 * self.share:.2g} % of the cycle"
        side, way = ("above", "up to") if self.worst > self.limit else ("below", "down to")
        limit, worst = (f"{float(f'{value:.3g}'):.10g}" for value in (self.limit, self.worst))
        return f"{where}{self.quantity} {side} {limit} {when}, {way} {worst} ({self.closure}: {self.basis})"


def is_indication(excursions: Sequence[Excursion]) -> bool:
    """Whether these make the numbers an indication rather than a recommendation."""
    return any(excursion.counts for excursion in excursions)


class RangeCheck(NamedTuple):
    """For each row, whether any closure is outside its range there; and all excursions of the cycle."""

    outside: NDArray[np.bool_]
    excursions: tuple[Excursion, ...]


def check_ranges(scenario: Scenario, motion: Motion, p: Parameters | None = None) -> RangeCheck:
    """Hold a cycle against the range of every closure; ``p``: the scenario's parameters, as they were run."""
    rows, out = rows_in(motion), np.zeros((USES, 3))
    outside = np.zeros(len(rows), dtype=np.int8)
    record = as_record(core_parameters(scenario) if p is None else p)
    excursions(record, as_record(ranges_parameters(scenario)), rows, len(rows), True, outside, out)
    return RangeCheck(outside.astype(bool), excursions_from(scenario, out))


def excursions_from(scenario: Scenario, out: Array) -> tuple[Excursion, ...]:
    """The excursions of which the core tells (``core.excursions``), shape (USES, 3)."""
    told = zip(uses_of(scenario), out.tolist(), strict=True)
    return tuple(
        Excursion(place, limits.closure, limits.quantity, share, worst, nearest, limits.basis)
        for (place, limits, _), (share, worst, nearest) in told
        if share > 0.0
    )

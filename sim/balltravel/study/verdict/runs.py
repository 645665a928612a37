"""All arrangements of the shims on all draws, and which targets each meets: arrays [draw, arrangement]."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from balltravel.core.status import Status
from balltravel.estimate.cautions import seat_gap
from balltravel.estimate.suction_losses import feed_excess
from balltravel.scenario.changes import Sound
from balltravel.scenario.model import Scenario, ScenarioError, with_shims_below
from balltravel.scenario.shims import Arrangement
from balltravel.setup.outlet import has_tip
from balltravel.setup.parameters import MAX_CYCLES
from balltravel.study.travel.trials import Asked, Choice, Reached, asked_of, is_default, shortfalls
from balltravel.study.verdict.draws import Draws
from balltravel.study.verdict.record import ALL
from balltravel.sweeps.cases import Progress
from balltravel.sweeps.columns import Columns, compute, empty
from balltravel.sweeps.engine import run_plan

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

TOLERANCE = 1e-4
"""Relative tolerance of the runs: delivery changes by less than 1e-5 against 1e-6 (tests)."""

AT_ONCE = 16
"""Cases of a chunk, about: whole draws, whose arrangements share most of what is set up."""

RUN, POSSIBLE = "run", "travel"
"""What is not met where the run failed, and where the shims leave no travel that can be."""


@dataclass(frozen=True)
class Runs:
    """What came of every arrangement in every draw.

    ``columns``: numbers of all cases (``sweeps/columns.py:schema``), arrays [draw, arrangement]; nan where
    nothing ran. ``possible``: whether draw and arrangement make a scenario; ``gap`` under the ball [m].
    """

    draws: Draws
    arrangements: tuple[Arrangement, ...]
    columns: Columns
    possible: Flags
    gap: Array

    def __len__(self) -> int:
        return len(self.draws)

    @property
    def choices(self) -> tuple[Choice, ...]:
        """The arrangements as a verdict names them."""
        return tuple(Choice(a.below, a.above, a.travel) for a in self.arrangements)

    @property
    def delivery(self) -> Array:
        """Delivered over swept; nan where the run failed."""
        return self.columns["volumetric_efficiency"]

    @property
    def fill(self) -> Array:
        """Fill fraction."""
        return self.columns["fill_fraction"]

    @property
    def landing(self) -> Array:
        """Landing speed of the inlet ball [m/s]."""
        return self.columns["inlet_landing_speed"]

    @property
    def dip(self) -> Array | None:
        """Dip of the spray pressure at changeover over its mean; None without a tip."""
        return self.columns["pressure_dip"] if has_tip(self.draws.scenario.outlet) else None

    @property
    def status(self) -> NDArray[np.int32]:
        """How each case ended (``core.status.Status``); UNFORESEEN where nothing ran."""
        return self.columns["status"]

    @cached_property
    def failed(self) -> Flags:
        """Cases without numbers: the run failed, or draw and arrangement make no scenario."""
        return np.asarray(~self.possible | (self.status > Status.NOT_PERIODIC))

    @cached_property
    def feed(self) -> Array:
        """Pressure of the feed above the outlet's [Pa], one a draw; nan where it was refused."""
        return _of_draws(self.draws, feed_excess)

    @cached_property
    def shortfalls(self) -> dict[str, Array]:
        """Target -> how far it is missed, over the target; 0 where it is met, nan where the run failed.

        A cycle that does not repeat counts with what its last one changed against it: as much less fill and
        delivery.
        """
        scatter = np.where(self.status == Status.NOT_PERIODIC, self.columns["scatter"], 0.0)
        asked = Asked(
            *(_of_draws(self.draws, lambda s, k=k: float(asked_of(s)[k]))[:, None] for k in range(4))
        )
        reached = Reached(
            self.fill - scatter, self.delivery - scatter, self.landing, self.gap, self.feed[:, None]
        )
        with np.errstate(invalid="ignore"):
            short = shortfalls(asked, reached)
        return {name: np.where(self.failed, np.nan, by) for name, by in short.items()}

    @cached_property
    def met(self) -> dict[str, Flags]:
        """Target -> whether it is met, of those that were set and those that always hold; ``run``: whether it
        came to an end; ``all`` of them last. A case that failed meets none."""
        met = {name: by == 0.0 for name, by in self.shortfalls.items() if name in self.targets}
        met[RUN] = ~self.failed
        return {**met, ALL: np.logical_and.reduce([*met.values()])}

    @cached_property
    def defaults_met(self) -> dict[str, Flags]:
        """The same of targets that nobody set, which refuse nothing."""
        short = self.shortfalls
        return {name: by == 0.0 for name, by in short.items() if is_default(self.draws.scenario, name)}

    @property
    def targets(self) -> tuple[str, ...]:
        """Targets that refuse an arrangement: those that somebody set, and those that always hold where they
        say something."""
        asked, scenario = asked_of(self.draws.scenario), self.draws.scenario
        idle = {name for name in ("delivery", "gap") if not getattr(asked, name)}
        return tuple(name for name in self.shortfalls if name not in idle and not is_default(scenario, name))

    def first(self, count: int) -> "Runs":
        """Those of the first draws alone."""
        cut = {name: values[:count] for name, values in self.columns.items()}
        return Runs(self.draws.first(count), self.arrangements, cut, self.possible[:count], self.gap[:count])


def _of_draws(draws: Draws, number: Any) -> Array:
    """A number of each draw's scenario; nan where it makes none."""
    return np.array([np.nan if s is None else number(s) for s in draws.scenarios])


class _Plan:
    """The cases that can be, draw by draw, so that what a draw's arrangements share is set up once."""

    def __init__(self, runs: Runs, start: int) -> None:
        self.scenario = runs.draws.scenario
        self._changes, self._arrangements = runs.draws.changes, runs.arrangements
        self.places = np.argwhere(runs.possible & (np.arange(len(runs)) >= start)[:, None])

    def __len__(self) -> int:
        return len(self.places)

    def changes(self, start: int, stop: int) -> Sound:
        """Of the cases ``start`` to ``stop - 1``; each is known to make a scenario."""
        return Sound(
            {**self._changes[draw], "shims.below": self._arrangements[k].below}
            for draw, k in self.places[start:stop].tolist()
        )


def run_draws(
    draws: Draws,
    arrangements: Sequence[Arrangement],
    progress: Progress | None = None,
    workers: int | None = None,
    rtol: float = TOLERANCE,
    known: Runs | None = None,
    max_cycles: int = MAX_CYCLES,
) -> Runs:
    """Run every arrangement in every draw, on ``workers`` threads (all cores by default): the same bits for
    any number of them.

    ``known``: runs of the first draws of the same set with the same arrangements, which are not run again.
    ``progress`` is called with (runs done, runs in all), of the further ones. ``max_cycles``: after how many
    a cycle counts as one that does not repeat. An interrupt drops what waits.
    """
    start = 0 if known is None else len(known)
    shape = (len(draws), len(arrangements))
    possible, gap = np.zeros(shape, bool), np.full(shape, np.nan)
    columns = {name: values.reshape(shape) for name, values in empty(len(draws) * len(arrangements)).items()}
    columns["status"][:] = Status.UNFORESEEN
    if known is not None:
        possible[:start], gap[:start] = known.possible, known.gap
        for name, values in columns.items():
            values[:start] = known.columns[name]
    for i in range(start, len(draws)):
        for k, arrangement in enumerate(arrangements):
            gap[i, k] = _gap(draws.scenarios[i], arrangement)
            possible[i, k] = gap[i, k] == gap[i, k]
    runs = Runs(draws, tuple(arrangements), columns, possible, gap)
    plan = _Plan(runs, start)
    if len(plan):
        whole_draws = len(arrangements) * max(1, AT_ONCE // len(arrangements))
        some_cycles = partial(compute, max_cycles=max_cycles)
        done = run_plan(plan, rtol, workers, progress, compute=some_cycles, block=whole_draws)
        for name, values in columns.items():
            values[tuple(plan.places.T)] = done[name]
    return runs


def _gap(scenario: Scenario | None, arrangement: Arrangement) -> float:
    """Gap under the ball with an arrangement [m]; nan where it makes no scenario."""
    if scenario is None:
        return np.nan
    try:
        s = with_shims_below(scenario, arrangement.below)
    except ScenarioError:
        return np.nan
    return seat_gap(s.inlet_check, s.inlet_travel)

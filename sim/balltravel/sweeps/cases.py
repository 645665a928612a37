"""Many cases at once, on all cores: each a run of which the numbers are kept and not the trajectory."""

import os
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, as_completed
from contextvars import copy_context
from functools import partial
from typing import NamedTuple, TypeVar

from balltravel.core.status import Status
from balltravel.cycle.metrics import Metrics
from balltravel.cycle.run import run_cycle
from balltravel.cycle.validity import Excursion
from balltravel.scenario.arguments import WORKERS, progress_given
from balltravel.scenario.model import Scenario
from balltravel.setup.parameters import MAX_CYCLES, MOST_STEPS, RTOL
from balltravel.setup.runs import TOLERANCE

Progress = Callable[[int, int], None]

T = TypeVar("T")


class Batches:
    """One progress for several batches of cases, one after the other, taken to be as large as the first one
    until they begin."""

    def __init__(self, progress: Progress | None, count: int) -> None:
        self._progress, self._to_come = progress, count
        self._done = self._size = 0

    def next(self) -> Progress | None:
        """The progress of the next batch by itself."""
        if self._progress is None:
            return None
        self._done, self._size, self._to_come = self._done + self._size, 0, max(self._to_come - 1, 0)
        return self._tell

    def _tell(self, done: int, size: int) -> None:
        assert self._progress is not None
        self._size = size
        self._progress(self._done + done, self._done + size * (1 + self._to_come))

    def finish(self) -> None:
        """Batches that have not begun are left out."""
        if self._progress is not None and self._to_come and self._size:
            self._to_come = 0
            self._tell(self._size, self._size)


class Case(NamedTuple):
    """How one case ended: its status, its metrics unless it failed, closures outside their range, how much
    delivery changed over the last cycle, over swept, about how many steps it took and its cycles."""

    status: Status
    metrics: Metrics | None
    excursions: tuple[Excursion, ...] = ()
    scatter: float = 0.0
    steps: int = 0
    cycles: int = 0

    @property
    def outside_range(self) -> float:
        """Largest share of the cycle that a closure spends outside its range; nan for a failed case."""
        if self.metrics is None:
            return float("nan")
        return max((excursion.share for excursion in self.excursions), default=0.0)


def run_case(
    scenario: Scenario, rtol: float = RTOL, most_steps: int = MOST_STEPS, max_cycles: int = MAX_CYCLES
) -> Case:
    """Simulate one scenario and keep its numbers, not its trajectory."""
    cycle = run_cycle(scenario, rtol, max_cycles, most_steps)
    return Case(
        cycle.status, cycle.metrics, cycle.excursions, cycle.delivered_change, cycle.steps, cycle.cycles
    )


def run_cases(
    scenarios: Sequence[Scenario],
    *,
    rtol: float = RTOL,
    workers: int | None = None,
    progress: Progress | None = None,
) -> list[Case]:
    """Run scenarios on ``workers`` threads (all cores by default); results in the order given.

    A case is a single thread's work from end to end, so that the results do not depend on their number.
    ``progress`` is called with (cases done, cases in all). An interrupt drops what has not begun.
    """
    rtol = TOLERANCE.checked(rtol)
    tasks = (partial(run_case, scenario, rtol) for scenario in scenarios)
    return in_threads(tasks, len(scenarios), workers, progress)


def in_threads(
    tasks: Iterable[Callable[[], T]], total: int, workers: int | None = None, progress: Progress | None = None
) -> list[T]:
    """Results of ``total`` independent tasks in their order, by ``workers`` threads (all cores by default).

    What they say is in the units in use (``units.systems``). ``progress`` is called with (tasks done, tasks
    in all). An interrupt drops what has not begun. Raises ScenarioError for a number of threads that cannot
    be.
    """
    workers = (os.cpu_count() or 1) if workers is None else WORKERS.checked(workers)
    progress_given(progress)
    results: dict[int, T] = {}
    with ThreadPoolExecutor(workers) as pool:
        waiting: dict[Future[T], int] = {}
        try:
            # Here too an interrupt must drop what waits: to hand out a thousand cases takes a while.
            for i, task in enumerate(tasks):
                waiting[pool.submit(copy_context().run, task)] = i
            for future in as_completed(waiting):
                results[waiting[future]] = future.result()
                if progress is not None:
                    progress(len(results), total)
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise
    return [results[i] for i in range(total)]

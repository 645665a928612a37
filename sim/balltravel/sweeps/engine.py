"""Computes the cases of a plan chunk by chunk, on threads, processes or a cluster: the same bits on each.

A chunk is a pure function of the scenario, its changes and the tolerance, and knows nothing of other chunks.
"""

import math
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, CancelledError, Future, wait
from typing import Any, NamedTuple, Protocol

from balltravel.core.device import NoGpuError
from balltravel.core.status import Status
from balltravel.cycle.motion import CHECKS
from balltravel.scenario.arguments import progress_given
from balltravel.scenario.model import Scenario
from balltravel.setup.parameters import RTOL
from balltravel.setup.runs import TOLERANCE
from balltravel.sweeps import columns as one_thread
from balltravel.sweeps.cases import Progress
from balltravel.sweeps.columns import FLAGS, Columns, empty
from balltravel.sweeps.origin import origin
from balltravel.sweeps.pools import GoneError, Pool, pool_for, refuse_another

SHORTEST, LONGEST = 0.2, 1.0
"""Seconds that a chunk should take: a shorter one costs more than it brings, a longer one keeps waiting who
interrupts a sweep or looks how far it is."""

FIRST, LARGEST = 8, 4096
"""Cases of a chunk: while nobody knows how long a case takes, and at most; so many fit into any memory."""

GROWTH = 4
"""How much larger a chunk may be than the one before: a few cases that are over at once tell little."""

IN_FLIGHT = 2
"""Chunks handed out for each worker: one that it works on and one that waits for it."""

Compute = Callable[[Scenario, Sequence[Mapping[str, Any]], float], Columns]
"""What computes a chunk; it must be importable where it runs."""


class CasesLike(Protocol):
    """Cases that are made when they are asked for."""

    @property
    def scenario(self) -> Scenario:
        """What all cases start from."""

    def __len__(self) -> int:
        """How many cases there are."""

    def changes(self, start: int, stop: int) -> list[dict[str, Any]]:
        """Dotted key -> SI value, of the cases from ``start`` to before ``stop``."""


class PlanLike(CasesLike, Protocol):
    """The cases of a study, which a folder tells from those of another."""

    def digest(self) -> str:
        """The same for the same cases, another one for others."""

    def described(self) -> dict[str, tuple[str, str]]:
        """Dotted key -> its values in some words, and a digest of them."""


class Chunk(NamedTuple):
    """Cases from ``start`` to before ``stop``."""

    start: int
    stop: int


class Answer(NamedTuple):
    """What a worker gives back: a chunk's numbers, how long they took [s], and which program it ran."""

    columns: Columns
    seconds: float
    origin: str


class Done(NamedTuple):
    """A chunk and its numbers; how long they took [s], nan where that is not known."""

    chunk: Chunk
    columns: Columns
    seconds: float = math.nan


def run_plan(
    plan: CasesLike,
    rtol: float = RTOL,
    workers: int | None = None,
    progress: Progress | None = None,
    *,
    executor: Any = None,
    client: Any = None,
    scheduler: str | None = None,
    compute: Compute = one_thread.compute,
    block: int | None = None,
) -> Columns:
    """Compute all cases of a plan and keep them in memory: one array a number, in the plan's order.

    workers, executor, client, scheduler: where (see pool_for); all cores by default. ``progress`` is called
    with (cases done, cases in all); ``block``: cases of a chunk, by the time that they take by default. A
    chunk that meets an error that nobody foresaw, or at which workers are lost twice, is flagged
    ``unforeseen``; the others are not touched by it. Raises ScenarioError for arguments that cannot be and
    GoneError where the cluster goes away; see run_plan_into (folder/resumable) for a sweep that goes on
    after that.
    """
    rtol = TOLERANCE.checked(rtol)
    progress_given(progress)
    columns, finished, sizes = empty(len(plan)), 0, Sizes(block)
    with pool_for(workers, executor, client, scheduler) as pool:
        for done in computed(plan, sizes.chunks(len(plan), pool), pool, rtol, compute):
            chunk = done.chunk
            for name, values in done.columns.items():
                columns[name][chunk.start : chunk.stop] = values
            sizes.measured(done)
            finished += chunk.stop - chunk.start
            if progress is not None:
                progress(finished, len(plan))
    return columns


def sensible_size(seconds_a_case: float, left: int, workers: int) -> int:
    """Cases of a chunk, by how long a case takes: neither too short nor too long, some for each worker."""
    enough = math.ceil(SHORTEST / max(seconds_a_case, 1e-9))
    most = int(LONGEST / max(seconds_a_case, 1e-9))
    fair = math.ceil(left / (2 * IN_FLIGHT * workers))
    return max(1, min(max(enough, min(most, fair)), LARGEST, left))


class Sizes:
    """How many cases the next chunk gets: few at first, then by the time that a case took."""

    def __init__(self, fixed: int | None = None) -> None:
        self._seconds_a_case = math.nan
        self._last, self._fixed = FIRST, fixed

    def chunks(self, count: int, pool: Pool) -> Iterator[Chunk]:
        """So many cases, cut when they are asked for."""
        start = 0
        while start < count:
            stop = start + self._next(count - start, pool.workers())
            yield Chunk(start, stop)
            start = stop

    def _next(self, left: int, workers: int) -> int:
        if self._fixed:
            return min(self._fixed, left)
        if math.isnan(self._seconds_a_case):
            return min(FIRST, math.ceil(left / (IN_FLIGHT * workers)))
        self._last = min(sensible_size(self._seconds_a_case, left, workers), GROWTH * self._last)
        return self._last

    def measured(self, done: Done) -> None:
        """Learn from a chunk; the newest counts, for the first ones may have waited for a compiler."""
        if not math.isnan(done.seconds):
            self._seconds_a_case = done.seconds / (done.chunk.stop - done.chunk.start)


def computed(
    plan: CasesLike, chunks: Iterable[Chunk], pool: Pool, rtol: float, compute: Compute
) -> Iterator[Done]:
    """Chunks as they get done, in any order; no more of them are made or held than the workers need.

    An interrupt, or an end of the loop over them, drops what waits.
    """
    waiting: dict[Future[Answer], Chunk] = {}
    coming = iter(chunks)
    try:
        while True:
            lost = _hand_out(plan, coming, waiting, pool, rtol, compute)
            if not (waiting or lost):
                return
            # With a time limit, so that Windows hears an interrupt and workers that join get their share.
            for future in wait(waiting, timeout=1.0, return_when=FIRST_COMPLETED).done if waiting else ():
                chunk = waiting.pop(future)
                done = _done(chunk, future)
                if done is None:
                    lost.append(chunk)
                else:
                    yield done
            if lost:
                lost += waiting.values()  # a pool that lost a worker drops all that it had
                waiting.clear()
                pool.renew()
                for chunk in lost:
                    yield _second_try(plan, chunk, pool, rtol, compute)
    finally:
        for future in waiting:
            future.cancel()


def _hand_out(
    plan: CasesLike,
    coming: Iterator[Chunk],
    waiting: dict[Future[Answer], Chunk],
    pool: Pool,
    rtol: float,
    compute: Compute,
) -> list[Chunk]:
    """Keep the workers busy; the chunk at which the pool proved to be broken, if it is."""
    most = IN_FLIGHT * pool.workers()
    while len(waiting) < most and (chunk := next(coming, None)):
        try:
            waiting[_submit(plan, chunk, pool.executor, rtol, compute)] = chunk
        except BrokenExecutor:
            return [chunk]
    return []


def _submit(plan: CasesLike, chunk: Chunk, executor: Any, rtol: float, compute: Compute) -> Future[Answer]:
    changes = plan.changes(chunk.start, chunk.stop)
    future: Future[Answer] = executor.submit(_work, compute, plan.scenario, changes, rtol)
    return future


def _work(compute: Compute, scenario: Scenario, changes: Sequence[Mapping[str, Any]], rtol: float) -> Answer:
    """What a worker does."""
    begun = time.perf_counter()
    columns = compute(scenario, changes, rtol)
    return Answer(columns, time.perf_counter() - begun, origin())


def _done(chunk: Chunk, future: Future[Answer]) -> Done | None:
    """What became of a chunk; None if its worker was lost."""
    try:
        answer = future.result()
    except BrokenExecutor:
        return None
    except CancelledError:
        raise GoneError("the cluster went away") from None
    except NoGpuError as error:
        raise GoneError(str(error)) from None
    except Exception as error:  # whatever it is, it is told of and the others go on
        return Done(chunk, flagged(chunk, f"{type(error).__name__}: {error}"))
    refuse_another(answer.origin, "a worker")
    return Done(chunk, answer.columns, answer.seconds)


def _second_try(plan: CasesLike, chunk: Chunk, pool: Pool, rtol: float, compute: Compute) -> Done:
    """A chunk that was in hand when a worker was lost, once more in a process by itself: the one at which
    workers are lost must not take others with it."""
    with pool.alone() as executor:
        done = _done(chunk, _submit(plan, chunk, executor, rtol, compute))
    return done or Done(chunk, flagged(chunk, "the process that computed it was lost, twice"))


def flagged(chunk: Chunk, text: str) -> Columns:
    """The numbers of cases that an error ended that nobody foresaw."""
    columns = empty(chunk.stop - chunk.start)
    columns["status"][:] = Status.UNFORESEEN
    columns["error"][:] = text
    for check in CHECKS:
        columns[f"{check}_flags"][:] = FLAGS.index("no_cycle")
    return columns

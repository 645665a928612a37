"""Where the chunks of a plan are computed: threads of this process, an executor of the user's, or a cluster
of dask. Each is used as an executor of ``concurrent.futures``."""

import multiprocessing
import os
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from balltravel.scenario.arguments import WORKERS, refused
from balltravel.sweeps.origin import origin
from balltravel.units import kind_of, shown

PATIENCE = 60
"""Seconds that a scheduler may take to answer, and its first worker to join."""

EXAMPLE = "tcp://10.0.0.5:8786"


class GoneError(RuntimeError):
    """The cluster went away; what was finished stays."""


@dataclass
class Pool:
    """An executor, how many chunks it works on at a time, and what a process that replaces it starts from."""

    executor: Executor
    workers: Callable[[], int]
    own: bool = False

    def alone(self) -> ProcessPoolExecutor:
        """A process by itself, for a chunk at which a worker may have been lost."""
        return ProcessPoolExecutor(1, mp_context=self._context())

    def renew(self) -> None:
        """Put processes of our own in the place of an executor that broke: it takes no more work."""
        count, context = self.workers(), self._context()
        self.close()
        self.executor, self.own = ProcessPoolExecutor(count, mp_context=context), True

    def _context(self) -> Any:
        """How the executor starts its processes; else afresh, for a fork of one with threads may hang."""
        return getattr(self.executor, "_mp_context", None) or multiprocessing.get_context("spawn")

    def close(self) -> None:
        """End what is ours; an executor of the user's stays open."""
        if self.own:
            self.executor.shutdown(wait=False, cancel_futures=True)


@contextmanager
def pool_for(
    workers: int | None = None, executor: Any = None, client: Any = None, scheduler: Any = None
) -> Iterator[Pool]:
    """The pool that the arguments ask for: at most one of ``executor`` (any of ``concurrent.futures``),
    ``client`` (of dask.distributed) and ``scheduler`` (the address of one); without them ``workers`` threads,
    all cores by default. With an executor ``workers`` says how many chunks it works on at a time.

    Raises ScenarioError for what cannot be, and for a cluster that cannot be used.
    """
    count = None if workers is None else WORKERS.checked(workers)
    _at_most_one(executor=executor, client=client, scheduler=scheduler)
    if client is not None:
        yield _cluster(client)
    elif scheduler is not None:
        with _client_at(scheduler) as connected:
            yield _cluster(connected)
    else:
        pool = _given(executor, count) if executor is not None else _threads(count)
        try:
            yield pool
        finally:
            pool.close()


def _at_most_one(**places: Any) -> None:
    given = [name for name, value in places.items() if value is not None]
    if len(given) > 1:
        raise refused(" and ".join(given), "given together", "one of them", f"{given[0]} alone")


def _threads(count: int | None) -> Pool:
    threads = count or os.cpu_count() or 1
    return Pool(ThreadPoolExecutor(threads, "balltravel"), lambda: threads, own=True)


def _given(executor: Any, count: int | None) -> Pool:
    if not callable(getattr(executor, "submit", None)):
        allowed = "an executor as those of concurrent.futures"
        raise refused("executor", kind_of(executor), allowed, "ProcessPoolExecutor(8)")
    at_a_time = count or getattr(executor, "_max_workers", None) or os.cpu_count() or 1
    return Pool(executor, lambda: at_a_time)


def _cluster(client: Any) -> Pool:
    """The workers of a client of dask, which must all run this program."""
    if not callable(getattr(client, "get_executor", None)) or getattr(client, "asynchronous", False):
        allowed = "a Client of dask.distributed that is not asynchronous"
        raise refused("client", kind_of(client), allowed, f'distributed.Client("{EXAMPLE}")')
    try:
        client.wait_for_workers(1, timeout=PATIENCE)
    except TimeoutError:
        given = f"a scheduler without workers given, and none joined within {PATIENCE} s"
        raise refused("scheduler", given, "one with a worker or more", f"dask worker {EXAMPLE}") from None
    for worker, told in client.run(origin, on_error="return").items():
        refuse_another(told, f"the worker {worker}")
    return Pool(client.get_executor(pure=False), lambda: _threads_of(client))


def _threads_of(client: Any) -> int:
    """How many chunks a cluster works on at this moment: workers come and go."""
    try:
        threads: dict[str, int] = client.nthreads()
        return max(1, sum(threads.values()))
    except (OSError, RuntimeError, ValueError):  # what dask raises depends on what it was doing
        raise GoneError("the cluster went away") from None


def refuse_another(told: object, who: str) -> None:
    """Refuse what is not computed by this very program: its numbers might differ in their last digits."""
    if told != origin():
        runs = f"runs {told}" if isinstance(told, str) else f"cannot run balltravel: {shown(str(told))}"
        allowed = f"what runs here: {origin()}"
        raise refused("workers", f"{who} {runs}", allowed, "one environment, copied to all machines")


@contextmanager
def _client_at(address: Any) -> Iterator[Any]:
    try:
        from distributed import Client
    except ImportError:
        given = f"{shown(address)} given, but distributed is not installed here"
        allowed = "an address of dask, where it is"
        raise refused("scheduler", given, allowed, 'pip install "balltravel[cluster]"') from None
    allowed = "the address of a running dask scheduler"
    if not isinstance(address, str):
        raise refused("scheduler", f"{shown(address)} given", allowed, EXAMPLE)
    try:
        client = Client(address, set_as_default=False, timeout=PATIENCE)
    except (OSError, ValueError) as error:
        raise refused("scheduler", f"{shown(address)} does not answer ({error})", allowed, EXAMPLE) from None
    with client:
        yield client

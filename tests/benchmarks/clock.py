"""CPU times side by side: contenders take turns, and the least of several counts."""

import math
import time
from collections.abc import Callable, Hashable, Mapping
from typing import TypeVar

Name = TypeVar("Name", bound=Hashable)

SLOW, FEW_ROUNDS = 1.0, 2
"""What takes longer than so many seconds takes part in so many rounds only."""


def least_of_turns(
    runs: Mapping[Name, Callable[[], object]],
    rounds: int,
    clock: Callable[[], float] = time.thread_time,
) -> dict[Name, float]:
    """Least time of each [s]: all are called once to warm up, then they take turns. ``clock``: CPU time of
    this thread, unless another is given (``time.process_time`` for all threads, ``time.perf_counter`` for
    the wall's)."""
    best = dict.fromkeys(runs, math.inf)
    slow = {name for name, run in runs.items() if _seconds(run, clock) > SLOW}
    for turn in range(rounds):
        for name, run in runs.items():
            if turn < FEW_ROUNDS or name not in slow:
                best[name] = min(best[name], _seconds(run, clock))
    return best


def _seconds(run: Callable[[], object], clock: Callable[[], float]) -> float:
    began = clock()
    run()
    return clock() - began

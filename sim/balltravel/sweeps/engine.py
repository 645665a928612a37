"""Runs the cases of a plan, a chunk of them at a time, on threads."""

import os
from functools import partial

import numpy as np

from balltravel.scenario.arguments import WORKERS
from balltravel.sweeps.cases import Progress, in_threads
from balltravel.sweeps.columns import Columns, compute, schema
from balltravel.sweeps.plan import Plan

LARGEST_CHUNK = 256
PARTS_A_WORKER = 16
"""Chunks that a worker gets at least, so that none waits long for the last."""


def run_plan(
    plan: Plan, rtol: float, workers: int | None = None, progress: Progress | None = None
) -> Columns:
    """All cases of a plan in its order, by ``workers`` threads; ``progress`` is called with (cases done,
    cases in all). The numbers do not depend on how many threads there are."""
    threads = (os.cpu_count() or 1) if workers is None else WORKERS.checked(workers)
    size = min(LARGEST_CHUNK, max(1, len(plan) // (PARTS_A_WORKER * threads)))
    starts = range(0, len(plan), size)

    def chunk(start: int) -> Columns:
        return compute(plan.scenario, plan.changes(start, start + size), rtol)

    def tell(done: int, _: int) -> None:
        if progress is not None:
            progress(min(done * size, len(plan)), len(plan))

    parts = in_threads((partial(chunk, start) for start in starts), len(starts), threads, progress and tell)
    return {name: np.concatenate([part[name] for part in parts]) for name, _, _ in schema()}

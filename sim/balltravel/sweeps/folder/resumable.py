"""A plan computed into a folder: what is finished stays, and the same call goes on where the last ended."""

import math
import time
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import BrokenExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Any

from balltravel.core.notices import notice
from balltravel.files.read_write import is_sealed, open_lazily
from balltravel.scenario.arguments import path_given, progress_given
from balltravel.scenario.model import Scenario
from balltravel.setup.parameters import RTOL
from balltravel.setup.runs import TOLERANCE
from balltravel.sweeps import columns as one_thread
from balltravel.sweeps.cases import Progress
from balltravel.sweeps.engine import FIRST, Compute, PlanLike, computed, sensible_size
from balltravel.sweeps.folder.result_file import write_result
from balltravel.sweeps.folder.store import RESULT, Store, opened, study_of
from balltravel.sweeps.pools import Pool, pool_for

if TYPE_CHECKING:
    import xarray as xr

MOST_FILES = 10_000
"""Chunks of a study, for a folder with many more files is slow."""

PROBES = 4
"""Cases that are tried before the chunks of a new folder are cut, from all over the plan."""


def run_plan_into(
    plan: PlanLike,
    folder: str | Path,
    frame: "xr.Dataset | None" = None,
    shape: Mapping[str, int] | None = None,
    *,
    rtol: float = RTOL,
    workers: int | None = None,
    executor: Any = None,
    client: Any = None,
    scheduler: str | None = None,
    progress: Progress | None = None,
    tell: Callable[[str], object] = notice,
    compute: Compute = one_thread.compute,
    block: int | None = None,
    device: str = "cpu",
) -> "xr.Dataset":
    """Compute all cases of a plan into a folder; returns its ``result.nc`` as a Dataset that is read lazily.

    A folder that has chunks of this very study (scenario, values, rtol, program) is gone on with: what is
    sound in it stays, what is damaged is computed again, and ``tell`` gets a line for each, and one when the
    result is written.
    frame: coordinates and attributes of the result; shape: name -> size of its dimensions, ``case`` alone by
    default. All else as for engine.run_plan. Raises ScenarioError for a folder of another study, with other
    files or in which another run is at work, FileError where the disk does not do, GoneError where the
    cluster goes away.
    """
    rtol, place = TOLERANCE.checked(rtol), path_given(folder, '"primer_sweep"')
    progress_given(progress)
    with opened(place, study_of(plan, rtol, device)) as store:
        _tell_found(store, tell)
        if store.cases < len(plan):
            with pool_for(workers, executor, client, scheduler) as pool:
                _compute_missing(store, plan, pool, compute, progress, block)
        return _result(store, plan, frame, shape or {"case": len(plan)}, tell)


def _tell_found(store: Store, tell: Callable[[str], object]) -> None:
    if store.cases:
        tell(f"{store.folder}: {store.cases} of {store.study.cases} cases are there already")
    if store.damaged:
        chunks = "1 chunk is" if store.damaged == 1 else f"{store.damaged} chunks are"
        tell(f"{store.folder}: {chunks} damaged and computed again")


def _compute_missing(
    store: Store,
    plan: PlanLike,
    pool: Pool,
    compute: Compute,
    progress: Progress | None,
    block: int | None = None,
) -> None:
    rtol = store.study.rtol
    if not store.block:
        store.begin(min(block, len(plan)) if block else _chosen_block(plan, pool, rtol, compute))
    if progress is not None:
        progress(store.cases, len(plan))
    for done in computed(plan, store.missing(), pool, rtol, compute):
        store.put(done.chunk, done.columns)
        if progress is not None:
            progress(store.cases, len(plan))


def _chosen_block(plan: PlanLike, pool: Pool, rtol: float, compute: Compute) -> int:
    """How many cases a chunk of a new folder gets, by how long some cases take. It is set once: chunks are
    files, and their names must be the same in every run."""
    count, workers = len(plan), pool.workers()
    if count <= FIRST * workers:
        return math.ceil(count / (2 * workers))
    places = [count * i // PROBES for i in range(PROBES)]
    changes = [values for i in places for values in plan.changes(i, i + 1)]
    try:
        seconds = pool.executor.submit(_seconds_a_case, compute, plan.scenario, changes, rtol).result()
    except BrokenExecutor:
        pool.renew()
        return FIRST
    except Exception:  # the chunks will tell of it
        return FIRST
    return max(sensible_size(seconds, count, workers), math.ceil(count / MOST_FILES))


def _seconds_a_case(
    compute: Compute, scenario: Scenario, changes: Sequence[Mapping[str, Any]], rtol: float
) -> float:
    """What a case takes on a worker once all is loaded and compiled there."""
    compute(scenario, changes[:1], rtol)
    begun = time.perf_counter()
    compute(scenario, changes, rtol)
    return (time.perf_counter() - begun) / len(changes)


def _result(
    store: Store,
    plan: PlanLike,
    frame: "xr.Dataset | None",
    shape: Mapping[str, int],
    tell: Callable[[str], object],
) -> "xr.Dataset":
    """The one file of all chunks, made unless it is there and sound."""
    import xarray as xr

    path = store.folder / RESULT
    with store.told("read"):
        if is_sealed(path):
            data = open_lazily(str(path))
            if data.attrs.get("study") == store.study.digest:
                return data
            data.close()
    if frame is None:
        from balltravel.cycle.dataset import provenance

        frame = xr.Dataset(attrs=provenance(plan.scenario, store.study.rtol))
    with store.told():
        write_result(path, frame.assign_attrs(study=store.study.digest), shape, store.blocks())
    tell(f"{path}: written")
    return open_lazily(str(path))

"""kill -9 at any instant of a sweep into a folder loses no finished chunk: the next run goes on, and ends in
the arrays of a sweep that nobody killed."""

import shutil
import time

import numpy as np
import pytest
import xarray as xr
from helpers.plans import Viscosities, same_bits
from robustness.processes import NEEDS_FORK, ended, fork, kill_after
from robustness.tally import COUNTS

from balltravel.sweeps.columns import compute
from balltravel.sweeps.folder.resumable import run_plan_into
from balltravel.sweeps.folder.store import CHUNK, RESULT, STUDY

pytestmark = NEEDS_FORK

SOAK = pytest.mark.soak
RTOL = 1e-3
PLAN = Viscosities(48)

EARLY = 0.2
"""Share of the kills that may come before the sweep has begun its folder."""


def sweep_into(folder):
    """A child's work: the sweep, or what is left of it."""
    run_plan_into(PLAN, folder, rtol=RTOL, workers=2, tell=lambda _: None).close()
    return 0


def begun(folder):
    """A child that sweeps, once its folder says which study it has."""
    child = fork(lambda: sweep_into(folder))
    while not (folder / STUDY).exists():
        time.sleep(1e-3)
    return child


def seconds_of(folder):
    """How long a sweep takes that nobody kills, from its folder's name on and in all."""
    start = time.perf_counter()
    child = begun(folder)
    named = time.perf_counter()
    assert ended(child) == 0
    end = time.perf_counter()
    return end - named, end - start


def killed(folder, at_once, seconds):
    """Kill a sweep some time after its start, or after its folder has got its name; how it ended."""
    child = fork(lambda: sweep_into(folder)) if at_once else begun(folder)
    return kill_after(child, seconds)


def state_of(folder):
    """How far the run was that was killed, and how many chunks it had kept."""
    names = {path.name for path in folder.iterdir()} if folder.exists() else set()
    chunks = sum(CHUNK.fullmatch(name) is not None for name in names)
    if RESULT in names:
        return "its result was written", chunks
    if chunks:
        return "it had kept chunks", chunks
    return ("it had begun its folder" if STUDY in names else "it had written nothing"), 0


@pytest.mark.parametrize(("seed", "kills"), [(7, 12), pytest.param(8, 300, marks=SOAK)])
def test_a_killed_sweep_goes_on_and_ends_in_the_same_arrays(folder, seed, kills):
    whole = compute(PLAN.scenario, PLAN.changes(0, len(PLAN)), RTOL)  # compiles what the children use
    spans = min(seconds_of(folder / f"reference {i}") for i in range(3))
    chance, seen = np.random.default_rng(seed), set()
    for number in range(kills):
        place, at_once = folder / str(number), bool(chance.random() < EARLY)
        while killed(place, at_once, chance.uniform(0.0, spans[at_once])) != -9:
            shutil.rmtree(place)  # it was done before the kill
        state, chunks = state_of(place)
        seen.add(state)
        COUNTS[f"sweeps into a folder killed when {state}"] += 1
        COUNTS["chunks that killed sweeps had kept"] += chunks
        before = {path: path.stat().st_mtime_ns for path in place.glob("cases_*.npz")}
        assert ended(fork(lambda place=place: sweep_into(place))) == 0, f"seed {seed}, kill {number}"
        assert all(path.stat().st_mtime_ns == when for path, when in before.items())  # nothing was lost
        assert not list(place.glob(".*.part"))
        with xr.open_dataset(place / RESULT, engine="h5netcdf") as data:
            assert same_bits(whole, data), f"seed {seed}, kill {number}"
        shutil.rmtree(place)
    assert "it had kept chunks" in seen

"""A plan gives the same bits on any number of threads, in chunks of any size, on processes and on a cluster;
what happens to one chunk touches no other."""

import multiprocessing
import sys
import threading
import time
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from balltravel import ScenarioError, read_dataset, write_dataset
from balltravel.core.status import Status
from balltravel.sweeps import pools
from balltravel.sweeps.columns import compute
from balltravel.sweeps.engine import (
    FIRST,
    LARGEST,
    LONGEST,
    SHORTEST,
    Chunk,
    computed,
    run_plan,
    sensible_size,
)
from balltravel.sweeps.folder.resumable import run_plan_into
from balltravel.sweeps.pools import GoneError, pool_for

from ..helpers.plans import FATAL, Viscosities, fails_at_three, kills_its_worker_at_three, same_bits, stand_in

RTOL = 1e-4


@pytest.fixture(scope="module")
def plan():
    """Cases of which the first has no cycle that can be reported."""
    return Viscosities(12, first=0.02, step=1.1)


@pytest.fixture(scope="module")
def in_one_thread(plan):
    return compute(plan.scenario, plan.changes(0, len(plan)), RTOL)


@pytest.mark.parametrize("threads", [1, 2, 3, 4])
def test_any_number_of_threads_gives_the_same_bits(plan, in_one_thread, threads):
    assert same_bits(in_one_thread, run_plan(plan, RTOL, threads))


@pytest.mark.parametrize("size", [1, 3, 7])
def test_chunks_of_any_size_give_the_same_bits(plan, in_one_thread, size):
    chunks = [Chunk(start, min(start + size, len(plan))) for start in range(0, len(plan), size)]
    done = []
    with pool_for(2) as pool:
        for chunk, columns, _ in computed(plan, chunks, pool, RTOL, compute):
            part = {name: values[chunk.start : chunk.stop] for name, values in in_one_thread.items()}
            assert same_bits(part, columns)
            done.append(chunk)
    assert sorted(done) == chunks


def test_a_pool_of_processes_gives_the_same_bits(plan, in_one_thread):
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as executor:
        assert same_bits(in_one_thread, run_plan(plan, RTOL, executor=executor))
        assert executor.submit(int, "7").result() == 7  # it is the caller's, and stays open


@pytest.fixture(scope="module")
def cluster():
    distributed = pytest.importorskip("distributed", reason="no dask here: pip install 'balltravel[cluster]'")
    settings = {"n_workers": 2, "threads_per_worker": 1, "dashboard_address": None}
    with distributed.LocalCluster(**settings) as local, distributed.Client(local) as client:
        yield client


def test_a_cluster_gives_the_same_bits(plan, in_one_thread, cluster):
    assert same_bits(in_one_thread, run_plan(plan, RTOL, client=cluster))


def test_a_cluster_is_reached_by_the_address_of_its_scheduler(plan, in_one_thread, cluster):
    address = cluster.scheduler_info()["address"]
    assert same_bits(in_one_thread, run_plan(plan, RTOL, scheduler=address))


def test_a_folder_is_filled_by_a_cluster_that_the_caller_is_connected_to(
    plan, in_one_thread, cluster, tmp_path
):
    with run_plan_into(plan, tmp_path / "sweep", rtol=RTOL, client=cluster) as data:
        assert same_bits(in_one_thread, data)
        write_dataset(data, tmp_path / "copy.nc")
    assert same_bits(in_one_thread, read_dataset(tmp_path / "copy.nc"))


def test_a_case_at_which_the_workers_of_a_cluster_are_lost_flags_its_chunk_and_no_other(cluster):
    by_value = pytest.importorskip("cloudpickle").register_pickle_by_value
    by_value(sys.modules[kills_its_worker_at_three.__module__])  # the workers cannot import tests
    plan = Viscosities(40)
    columns = run_plan(plan, RTOL, client=cluster, compute=kills_its_worker_at_three)
    assert 1 <= flagged_alone(columns, plan, "KilledWorker: ") <= FIRST


# Chunks.


class Watched(Executor):
    """Computes a chunk when it is asked for its result, and counts those that are in hand."""

    def __init__(self):
        self.threads = ThreadPoolExecutor(3)
        self.in_hand = self.most = self.sent = 0
        self.lock = threading.Lock()

    def submit(self, work, *arguments):
        with self.lock:
            self.sent += 1
            self.in_hand += 1
            self.most = max(self.most, self.in_hand)
        future = self.threads.submit(work, *arguments)
        future.add_done_callback(self.done)
        return future

    def done(self, _):
        with self.lock:
            self.in_hand -= 1


def test_no_more_than_two_chunks_a_worker_are_in_hand():
    executor = Watched()
    with pool_for(3, executor) as pool:
        chunks = [Chunk(i, i + 1) for i in range(60)]
        assert len(list(computed(Viscosities(60), chunks, pool, RTOL, stand_in))) == 60
    assert executor.sent == 60
    assert 3 <= executor.most <= 6


@pytest.mark.parametrize("seconds", [1e-5, 1e-3, 0.03, 0.3, 5.0])
@pytest.mark.parametrize("workers", [1, 4, 64])
def test_a_chunk_lasts_neither_too_short_nor_too_long(seconds, workers):
    size = sensible_size(seconds, 10_000_000, workers)
    assert 1 <= size <= LARGEST
    assert size * seconds <= max(LONGEST, seconds)
    assert size * seconds >= SHORTEST or size == LARGEST


def test_the_last_cases_are_shared_out_among_the_workers():
    assert sensible_size(0.5, 12, 4) == 1
    assert sensible_size(1e-5, 12, 4) == 12  # all of them last no time


def test_the_first_chunks_are_small_and_later_ones_follow_from_the_time_of_a_case():
    sizes = []

    def slow(scenario, changes, rtol):
        sizes.append(len(changes))
        time.sleep(2e-3 * len(changes))
        return stand_in(scenario, changes, rtol)

    run_plan(Viscosities(1000), RTOL, 1, compute=slow)
    assert sizes[0] == FIRST
    assert max(sizes) > 50
    assert all(size >= 0.5 * SHORTEST / 2e-3 for size in sizes[4:-1])


def test_progress_rises_to_all_cases():
    told = []
    run_plan(Viscosities(300), RTOL, 3, lambda *counts: told.append(counts), compute=stand_in)
    done = [count for count, _ in told]
    assert done == sorted(done)
    assert told[-1] == (300, 300)
    assert {whole for _, whole in told} == {300}


# What goes wrong.


def flagged_alone(columns, plan, text):
    """Asserts that the cases of one chunk are flagged, that of the fatal viscosity among them, and no others;
    how many those are."""
    flagged = columns["status"] == Status.UNFORESEEN
    fatal = [values["material.viscosity"] == FATAL for values in plan.changes(0, len(plan))]
    assert flagged[np.flatnonzero(fatal)].all()
    assert all(text in error for error in columns["error"][flagged])
    assert np.isnan(columns["fill_fraction"][flagged]).all()
    sound = {name: values[~flagged] for name, values in columns.items()}
    expected = stand_in(plan.scenario, plan.changes(0, len(plan)), RTOL)
    assert same_bits(sound, {name: values[~flagged] for name, values in expected.items()})
    return flagged.sum()


def test_an_error_that_nobody_foresaw_flags_its_chunk_and_no_other():
    plan = Viscosities(100)
    columns = run_plan(plan, RTOL, 2, compute=fails_at_three)
    assert 1 <= flagged_alone(columns, plan, "ZeroDivisionError: nobody foresaw this") <= FIRST


def test_a_case_that_ends_its_process_flags_its_chunk_and_no_other(monkeypatch):
    """Processes that begin afresh: a fork of one that has threads may hang, and this one has."""
    monkeypatch.syspath_prepend(Path(__file__).parents[2])  # where the new processes find the stand-in
    plan, context = Viscosities(100), multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(2, mp_context=context) as executor:
        columns = run_plan(plan, RTOL, executor=executor, compute=kills_its_worker_at_three)
    assert 1 <= flagged_alone(columns, plan, "was lost, twice") <= FIRST


class LosesOne(Executor):
    """Loses a worker at its third chunk, and is broken from then on."""

    def __init__(self):
        self.sent = 0

    def submit(self, work, *arguments):
        self.sent += 1
        future = Future()
        if self.sent < 3:
            future.set_result(work(*arguments))
        else:
            future.set_exception(pools_broken())
        return future


def pools_broken():
    from concurrent.futures.process import BrokenProcessPool

    return BrokenProcessPool("a process ended")


def test_chunks_of_a_worker_that_was_lost_once_are_computed_again():
    plan = Viscosities(6, first=0.5, step=2.0)
    in_one_thread = compute(plan.scenario, plan.changes(0, 6), RTOL)
    assert same_bits(in_one_thread, run_plan(plan, RTOL, 1, executor=LosesOne()))


class Gone(Executor):
    """A cluster of which nothing comes back."""

    def submit(self, *_):
        future = Future()
        future.cancel()
        future.set_running_or_notify_cancel()
        return future


def test_a_cluster_that_goes_away_is_told():
    with pytest.raises(GoneError, match="went away"):
        run_plan(Viscosities(20), RTOL, executor=Gone(), compute=stand_in)


class LostClient:
    """A client whose scheduler is gone when the first chunks are to be handed out."""

    def wait_for_workers(self, *_, **__):
        pass

    def run(self, work, **_):
        return {"tcp://10.0.0.7:4001": work()}

    def get_executor(self, **_):
        return Gone()

    def nthreads(self):
        raise OSError("Timed out trying to connect")


def test_a_scheduler_that_does_not_answer_any_more_is_told():
    with pytest.raises(GoneError, match="went away"):
        run_plan(Viscosities(20), RTOL, client=LostClient(), compute=stand_in)


def test_a_worker_on_which_the_program_is_missing_is_refused(monkeypatch):
    missing = ModuleNotFoundError("No module named 'balltravel'")
    monkeypatch.setattr(LostClient, "run", lambda *_, **__: {"tcp://10.0.0.7:4001": missing})
    with pytest.raises(
        ScenarioError, match=r"tcp://10\.0\.0\.7:4001 cannot run balltravel: .*No module named"
    ):
        run_plan(Viscosities(20), RTOL, client=LostClient(), compute=stand_in)


def test_an_interrupt_drops_what_has_not_begun():
    begun, lock = [], threading.Lock()

    def slow(scenario, changes, rtol):
        with lock:
            begun.append(len(changes))
        time.sleep(0.1)
        return stand_in(scenario, changes, rtol)

    def pressed(*_):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_plan(Viscosities(500), RTOL, 2, pressed, compute=slow)
    time.sleep(0.3)
    assert len(begun) <= 4


# What is refused.


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ({"executor": 4}, "executor: "),
        ({"client": "tcp://127.0.0.1:1"}, "client: "),
        ({"workers": 0}, "workers: "),
        ({"executor": ThreadPoolExecutor(1), "scheduler": "tcp://127.0.0.1:1"}, "executor and scheduler: "),
        ({"progress": 3}, "progress: "),
        ({"rtol": 1.0}, "rtol: "),
    ],
)
def test_arguments_that_cannot_be_are_refused(arguments, words):
    with pytest.raises(ScenarioError) as refusal:
        run_plan(Viscosities(4), compute=stand_in, **arguments)
    assert str(refusal.value).startswith(words)
    assert "allowed: " in str(refusal.value)


def test_without_dask_an_address_is_refused_with_what_to_install(monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "distributed", None)
    with pytest.raises(ScenarioError, match=r"not installed here; .*pip install \"balltravel\[cluster\]\""):
        run_plan(Viscosities(4), scheduler="tcp://127.0.0.1:1")


def test_an_address_at_which_no_scheduler_answers_is_refused(monkeypatch):
    pytest.importorskip("distributed", reason="no dask here: pip install 'balltravel[cluster]'")
    monkeypatch.setattr(pools, "PATIENCE", 1)
    with pytest.raises(ScenarioError, match="does not answer"):
        run_plan(Viscosities(4), scheduler="tcp://127.0.0.1:1")
    with pytest.raises(ScenarioError, match="does not answer"):
        run_plan(Viscosities(4), scheduler="a machine")


class OtherProgram(Executor):
    """A worker on which another release of the program is installed."""

    def submit(self, work, *arguments):
        future = Future()
        future.set_result(work(*arguments)._replace(origin="balltravel 0.0.1"))
        return future


def test_a_worker_with_another_program_is_refused():
    with pytest.raises(ScenarioError, match=r"workers: a worker runs balltravel 0\.0\.1"):
        run_plan(Viscosities(4), executor=OtherProgram(), compute=stand_in)
